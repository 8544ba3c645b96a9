//! Following a machine from one setting of its parameters to another without ever jumping to another way of assembling it.
//!
//! Steps are predicted to second order and corrected by Newton. A step is taken only when the correction is small against the
//! movement itself; the mirror assembly, which near a dead centre lies a like distance on the other side, is out of reach then.
//! Where the parameters cannot go on, the path is followed by its length instead, over the dead centre, and the turning point of
//! the parameters is found on it (pseudo-arclength continuation; Keller, "Numerical solution of bifurcation and nonlinear
//! eigenvalue problems", 1977).

use crate::dense::{NotClosed, Solver};
use crate::model::{Mechanism, Pose};
use crate::tangent::{Rates, Tangent};
use nalgebra::{DMatrix, DVector};

/// Parameters with a closed pose.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// Parameters.
    pub params: Vec<f64>,
    /// Poses of all bodies.
    pub poses: Vec<Pose>,
}

/// Why following ended.
#[derive(Clone, Debug, PartialEq)]
pub enum Ended {
    /// The target parameters stand.
    Reached,
    /// The parameters cannot go on: the machine is at a dead centre.
    DeadCentre {
        /// The motion that folds there: (x, y, angle) of every body, largest entry 1 (mm; angles × size).
        folding: Vec<[f64; 3]>,
    },
    /// The start itself could not be closed, or is loose.
    NotClosed(NotClosed),
    /// The start is a dead centre; no direction to go on in.
    StartsSingular,
    /// The path could not be followed any further, though no dead centre was found.
    Lost,
}

/// Result of [`follow`].
#[derive(Clone, Debug, PartialEq)]
pub struct Followed {
    /// Last state on the path: the target, the dead centre, or the last good state.
    pub state: State,
    /// Share of the way, 0 to 1.
    pub share: f64,
    /// Why it ended.
    pub ended: Ended,
    /// Shares at which two assemblies met and the path went straight through (change points).
    pub change_points: Vec<f64>,
}

/// Largest movement of a step, as a share of the size (and rad).
const STRIDE: f64 = 0.25;
/// Largest correction, as a share of the predicted movement.
const TRUST: f64 = 0.1;
/// Below this share of the way the path is followed by length.
const SHORTEST: f64 = 1e-6;
/// A dead centre as near to the target as this share of the way is the target.
const AT_TARGET: f64 = 1e-13;

/// Follows the machine from `from` along the straight line of parameters to `to`.
pub fn follow(mechanism: &Mechanism, from: &State, to: &[f64]) -> Followed {
    let mut followed = Followed { state: from.clone(), share: 0.0, ended: Ended::Reached, change_points: Vec::new() };
    let solver = match Solver::new(mechanism, &from.params, &from.poses) {
        Ok(s) => s,
        Err(e) => {
            followed.ended = Ended::NotClosed(e);
            return followed;
        }
    };
    let path = Path { solver, from: &from.params, to };
    followed.ended = path.run(&mut followed);
    followed
}

struct Path<'a> {
    solver: Solver<'a>,
    from: &'a [f64],
    to: &'a [f64],
}

impl Path<'_> {
    fn params(&self, share: f64) -> Vec<f64> {
        // Exact at both ends; beyond the target the line goes on, so that a dead centre just behind it can be met.
        if share == 1.0 {
            return self.to.to_vec();
        }
        self.from.iter().zip(self.to).map(|(a, b)| a + share * (b - a)).collect()
    }

    fn direction(&self) -> Vec<f64> {
        self.from.iter().zip(self.to).map(|(a, b)| b - a).collect()
    }

    fn run(&self, followed: &mut Followed) -> Ended {
        let mut poses = followed.state.poses.clone();
        if let Err(e) = self.solver.close(self.from, &mut poses) {
            return Ended::NotClosed(e);
        }
        followed.state.poses.clone_from(&poses);
        let direction = self.direction();
        if direction.iter().all(|d| *d == 0.0) {
            followed.share = 1.0;
            return Ended::Reached;
        }
        let m = self.solver.mechanism;
        let mut share = 0.0;
        let mut step: f64 = 1.0;
        let mut params = self.params(0.0);
        let Ok(tangent) = Tangent::new(m, &params, &poses) else { return Ended::StartsSingular };
        let Ok(mut rates) = tangent.rates(&direction) else { return Ended::StartsSingular };
        let mut side = self.side(&params, &poses);
        while share < 1.0 {
            let speed = self.longest(&rates.first);
            let mut h = step.min(1.0 - share);
            if speed * h > STRIDE * self.solver.size {
                h = STRIDE * self.solver.size / speed;
            }
            let next_share = if share + h >= 1.0 - 1e-15 { 1.0 } else { share + h };
            let next_params = self.params(next_share);
            match self.try_step(&poses, &rates, next_share - share, &next_params) {
                Some(next) => {
                    params = next_params;
                    let next_rates = Tangent::new(m, &params, &next).and_then(|t| t.rates(&direction));
                    let next_side = self.side(&params, &next);
                    if next_side * side < 0.0 {
                        followed.change_points.push(0.5 * (share + next_share));
                    }
                    if next_side != 0.0 {
                        side = next_side;
                    }
                    share = next_share;
                    step = h * 1.6;
                    poses = next;
                    followed.state = State { params: params.clone(), poses: poses.clone() };
                    followed.share = share;
                    // On a change point itself there is no tangent; the one before still points the right way.
                    if let Ok(r) = next_rates {
                        rates = r;
                    }
                }
                None => step = 0.5 * h,
            }
            if step < SHORTEST && share < 1.0 {
                match self.over_the_top(share, &poses) {
                    Top::DeadCentre { share, poses, folding } => {
                        followed.state = State { params: self.params(share), poses };
                        followed.share = share;
                        return Ended::DeadCentre { folding };
                    }
                    Top::Past { share: s, poses: p } => {
                        share = s;
                        poses = p;
                        params = self.params(share);
                        followed.state = State { params: params.clone(), poses: poses.clone() };
                        followed.share = share;
                        if share >= 1.0 {
                            return Ended::Reached;
                        }
                        step = 10.0 * SHORTEST;
                        let Ok(r) = Tangent::new(m, &params, &poses).and_then(|t| t.rates(&direction)) else {
                            return Ended::Lost;
                        };
                        rates = r;
                        side = self.side(&params, &poses);
                    }
                    Top::Lost => return Ended::Lost,
                }
            }
        }
        Ended::Reached
    }

    /// Predicts and corrects one step; `None` when the correction is too large to be sure of the branch.
    fn try_step(&self, poses: &[Pose], rates: &Rates, h: f64, params: &[f64]) -> Option<Vec<Pose>> {
        let predicted = predict(poses, rates, h);
        let mut next = predicted.clone();
        if self.solver.close(params, &mut next).is_err() {
            // Exactly on a change point Newton cannot settle, but the prediction of a short step already closes.
            let r = self.solver.mechanism.residuals(params, &predicted);
            let closed = r.iter().all(|r| r.abs() <= 1e-12 * self.solver.size);
            return closed.then_some(predicted);
        }
        let moved = self.distance(&next, poses);
        let corrected = self.distance(&next, &predicted);
        (corrected <= TRUST * moved + 1e-9 * self.solver.size).then_some(next)
    }

    /// Sign of the determinant: changes only where two assemblies meet.
    fn side(&self, params: &[f64], poses: &[Pose]) -> f64 {
        let det = self.solver.matrix(params, poses).lu();
        let u = det.u();
        let sign = if det.p().determinant::<f64>() < 0.0 { -1.0 } else { 1.0 };
        u.diagonal().iter().fold(sign, |s, d| if *d == 0.0 { 0.0 } else { s * d.signum() })
    }

    fn distance(&self, a: &[Pose], b: &[Pose]) -> f64 {
        let size = self.solver.size;
        let far = |p: &Pose, q: &Pose| {
            (p.x - q.x).abs().max((p.y - q.y).abs()).max(size * (p.angle - q.angle).abs())
        };
        a.iter().zip(b).map(|(p, q)| far(p, q)).fold(0.0, f64::max)
    }

    fn longest(&self, rates: &[[f64; 3]]) -> f64 {
        let size = self.solver.size;
        rates.iter().flat_map(|r| [r[0].abs(), r[1].abs(), size * r[2].abs()]).fold(0.0, f64::max)
    }

    /// Follows the path by its length from a state close before a dead centre.
    fn over_the_top(&self, share: f64, poses: &[Pose]) -> Top {
        let n = self.solver.mechanism.unknowns();
        let mut z = Long { share, poses: poses.to_vec() };
        let mut forward = DVector::zeros(n + 1);
        forward[n] = 1.0;
        let Some(mut tangent) = self.unit_tangent(&z, &forward) else { return Top::Lost };
        let mut stride = 1e-3 * self.solver.size;
        for _ in 0..400 {
            let Some(next) = self.long_step(&z, &tangent, stride) else {
                stride *= 0.5;
                if stride < 1e-12 * self.solver.size {
                    return Top::Lost;
                }
                continue;
            };
            let Some(t) = self.unit_tangent(&next, &tangent) else {
                stride *= 0.7;
                continue;
            };
            if t[n] <= 0.0 {
                let Some((top, t, at)) = self.turning_point(&z, &tangent, stride) else { return Top::Lost };
                if top.share < 1.0 - AT_TARGET {
                    let most = t.rows(0, n).amax().max(f64::MIN_POSITIVE);
                    let mut folding = vec![[0.0; 3]];
                    folding.extend(t.as_slice()[..n].chunks_exact(3).map(|c| [c[0], c[1], c[2]].map(|x| x / most)));
                    return Top::DeadCentre { share: top.share, poses: top.poses, folding };
                }
                // The target lies before the dead centre, or on it.
                return self.target(&z, &tangent, at, top);
            }
            if next.share >= 1.0 {
                return self.target(&z, &tangent, stride, next);
            }
            if next.share >= share + 20.0 * SHORTEST {
                let share = next.share;
                let mut poses = next.poses;
                return match self.solver.close(&self.params(share), &mut poses) {
                    Ok(_) => Top::Past { share, poses },
                    Err(_) => Top::Lost,
                };
            }
            (z, tangent) = (next, t);
            stride = (stride * 1.5).min(0.02 * self.solver.size);
        }
        Top::Lost
    }

    /// The state at the target itself, between `z` and `beyond`, which is `z + stride` along `tangent`.
    fn target(&self, z: &Long, tangent: &DVector<f64>, stride: f64, beyond: Long) -> Top {
        let (mut low, mut high, mut at) = (0.0, stride, beyond);
        for _ in 0..80 {
            if (at.share - 1.0).abs() <= 1e-15 || high - low < 1e-15 * self.solver.size {
                break;
            }
            let s = 0.5 * (low + high);
            let Some(next) = self.long_step(z, tangent, s) else { return Top::Lost };
            if next.share < 1.0 { low = s } else { high = s }
            at = next;
        }
        let to = self.params(1.0);
        // So near a dead centre plain Newton may stray; it is only asked for the last digits.
        let mut poses = at.poses.clone();
        if self.solver.close(&to, &mut poses).is_ok() && self.distance(&poses, &at.poses) <= 1e-6 * self.solver.size {
            return Top::Past { share: 1.0, poses };
        }
        let left = self.solver.kept(&self.solver.mechanism.residuals(&to, &at.poses)).amax();
        if left <= 1e-11 * self.solver.size { Top::Past { share: 1.0, poses: at.poses } } else { Top::Lost }
    }

    /// The state between `z` and `z + stride` along `tangent` at which the share turns round, its tangent, and how far it is.
    fn turning_point(&self, z: &Long, tangent: &DVector<f64>, stride: f64) -> Option<(Long, DVector<f64>, f64)> {
        let n = tangent.len() - 1;
        let at = |s: f64| {
            let next = self.long_step(z, tangent, s)?;
            let t = self.unit_tangent(&next, tangent)?;
            Some((next, t, s))
        };
        let (mut low, mut high) = (0.0, stride);
        let mut best = at(stride)?;
        let (mut f_low, mut f_high) = (tangent[n], best.1[n]);
        for _ in 0..80 {
            // Illinois rule of false position: quick on the near-straight function, safe on any.
            let mut s = (low * f_high - high * f_low) / (f_high - f_low);
            if !(s > low && s < high) {
                s = 0.5 * (low + high);
            }
            best = at(s)?;
            let f = best.1[n];
            if f.abs() < 1e-14 || high - low < 1e-15 * self.solver.size {
                break;
            }
            if f > 0.0 {
                (low, f_low, f_high) = (s, f, 0.5 * f_high);
            } else {
                (high, f_high, f_low) = (s, f, 0.5 * f_low);
            }
        }
        Some(best)
    }

    /// One step by length: predict along the tangent, correct square to it.
    fn long_step(&self, z: &Long, tangent: &DVector<f64>, stride: f64) -> Option<Long> {
        let n = tangent.len() - 1;
        let mut next = z.clone();
        self.add(&mut next, tangent, stride);
        let start = next.clone();
        for _ in 0..12 {
            let params = self.params(next.share);
            let r = self.solver.kept(&self.solver.mechanism.residuals(&params, &next.poses));
            let matrix = self.bordered(&next, tangent)?;
            let mut right = DVector::zeros(n + 1);
            right.rows_mut(0, n).copy_from(&r);
            right[n] = self.apart(&start, &next).dot(tangent);
            let step = matrix.lu().solve(&right)?;
            self.add(&mut next, &step, -1.0);
            let moved = step.amax();
            if !moved.is_finite() {
                return None;
            }
            if moved <= 1e-13 * self.solver.size {
                break;
            }
        }
        let r = self.solver.kept(&self.solver.mechanism.residuals(&self.params(next.share), &next.poses));
        let closed = r.amax() <= 1e-11 * self.solver.size;
        let corrected = self.apart(&start, &next).amax();
        (closed && corrected <= 0.1 * stride).then_some(next)
    }

    /// Jacobian by poses and by share (weighed so that the whole way is as long as the size), with one more row.
    fn bordered(&self, z: &Long, last: &DVector<f64>) -> Option<DMatrix<f64>> {
        let n = last.len() - 1;
        let params = self.params(z.share);
        let mut j = DMatrix::zeros(n + 1, n + 1);
        j.view_mut((0, 0), (n, n)).copy_from(&self.solver.matrix(&params, &z.poses));
        let by_param = self.solver.mechanism.jacobian(&params, &z.poses).by_param;
        let by_share = by_param * DVector::from_vec(self.direction());
        let by_share = self.solver.kept(by_share.as_slice()) / self.solver.size;
        j.view_mut((0, n), (n, 1)).copy_from(&by_share);
        j.row_mut(n).copy_from(&last.transpose());
        j.iter().all(|x| x.is_finite()).then_some(j)
    }

    fn unit_tangent(&self, z: &Long, last: &DVector<f64>) -> Option<DVector<f64>> {
        let mut right = DVector::zeros(last.len());
        right[last.len() - 1] = 1.0;
        let t = self.bordered(z, last)?.lu().solve(&right)?;
        let length = t.norm();
        (length.is_finite() && length > 0.0).then(|| t / length)
    }

    fn add(&self, z: &mut Long, step: &DVector<f64>, factor: f64) {
        self.solver.shift(&mut z.poses, step, factor);
        z.share += factor * step[step.len() - 1] / self.solver.size;
    }

    /// `b − a`, weighed.
    fn apart(&self, a: &Long, b: &Long) -> DVector<f64> {
        let size = self.solver.size;
        let poses = a.poses.iter().zip(&b.poses).skip(1);
        let mut v: Vec<f64> =
            poses.flat_map(|(p, q)| [q.x - p.x, q.y - p.y, size * (q.angle - p.angle)]).collect();
        v.push(size * (b.share - a.share));
        DVector::from_vec(v)
    }
}

#[derive(Clone)]
struct Long {
    share: f64,
    poses: Vec<Pose>,
}

enum Top {
    DeadCentre { share: f64, poses: Vec<Pose>, folding: Vec<[f64; 3]> },
    Past { share: f64, poses: Vec<Pose> },
    Lost,
}

fn predict(poses: &[Pose], rates: &Rates, h: f64) -> Vec<Pose> {
    let q = 0.5 * h * h;
    poses
        .iter()
        .zip(rates.first.iter().zip(&rates.second))
        .map(|(p, (f, s))| Pose {
            x: p.x + h * f[0] + q * s[0],
            y: p.y + h * f[1] + q * s[1],
            angle: p.angle + h * f[2] + q * s[2],
        })
        .collect()
}
