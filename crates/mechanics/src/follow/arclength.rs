//! Following a path by its length instead of its parameters: over a dead centre, to the place where the parameters turn round.

use super::Path;
use crate::model::Pose;
use crate::rows::worst;
use nalgebra::{DMatrix, DVector};

/// A dead centre as near to the target as this share of the way is the target.
const AT_TARGET: f64 = 1e-13;

#[derive(Clone)]
struct Long {
    share: f64,
    poses: Vec<Pose>,
}

/// How following by length ended.
pub(super) enum Top {
    DeadCentre {
        share: f64,
        poses: Vec<Pose>,
        folding: Vec<[f64; 3]>,
    },
    Past {
        share: f64,
        poses: Vec<Pose>,
    },
    Lost,
}

impl Path<'_> {
    /// Follows the path by its length from a state close before a dead centre.
    pub(super) fn over_the_top(&self, share: f64, poses: &[Pose]) -> Top {
        let n = self.solver.mechanism.unknowns();
        let mut z = Long {
            share,
            poses: poses.to_vec(),
        };
        let mut forward = DVector::zeros(n + 1);
        forward[n] = 1.0;
        let Some(mut tangent) = self.unit_tangent(&z, &forward) else {
            return Top::Lost;
        };
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
                let Some((top, t, at)) = self.turning_point(&z, &tangent, stride) else {
                    return Top::Lost;
                };
                if top.share < 1.0 - AT_TARGET {
                    let most = t.rows(0, n).amax().max(f64::MIN_POSITIVE);
                    let mut folding = vec![[0.0; 3]];
                    folding.extend(
                        t.as_slice()[..n]
                            .chunks_exact(3)
                            .map(|c| [c[0], c[1], c[2]].map(|x| x / most)),
                    );
                    return Top::DeadCentre {
                        share: top.share,
                        poses: top.poses,
                        folding,
                    };
                }
                // The target lies before the dead centre, or on it.
                return self.target(&z, &tangent, at, top);
            }
            if next.share >= 1.0 {
                return self.target(&z, &tangent, stride, next);
            }
            if next.share >= share + 20.0 * self.shortest {
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
            let Some(next) = self.long_step(z, tangent, s) else {
                return Top::Lost;
            };
            if next.share < 1.0 {
                low = s;
            } else {
                high = s;
            }
            at = next;
        }
        let to = self.params(1.0);
        // So near a dead centre plain Newton may stray; it is only asked for the last digits.
        let mut poses = at.poses.clone();
        if self.solver.close(&to, &mut poses).is_ok()
            && self.distance(&poses, &at.poses) <= 1e-6 * self.solver.size
        {
            return Top::Past { share: 1.0, poses };
        }
        let left = self.solver.mechanism.residuals(&to, &at.poses);
        if worst(&self.solver.kept(&left)) <= 1e-11 * self.solver.size {
            Top::Past {
                share: 1.0,
                poses: at.poses,
            }
        } else {
            Top::Lost
        }
    }

    /// The state between `z` and `z + stride` along `tangent` at which the share turns round, its tangent, and how far it is.
    fn turning_point(
        &self,
        z: &Long,
        tangent: &DVector<f64>,
        stride: f64,
    ) -> Option<(Long, DVector<f64>, f64)> {
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
        self.tried();
        let n = tangent.len() - 1;
        let mut next = z.clone();
        self.add(&mut next, tangent, stride);
        let start = next.clone();
        for _ in 0..12 {
            let params = self.params(next.share);
            let r = self
                .solver
                .kept(&self.solver.mechanism.residuals(&params, &next.poses));
            let matrix = self.bordered(&next, tangent)?;
            let mut right = DVector::zeros(n + 1);
            right.rows_mut(0, n).copy_from(&r);
            right[n] = self.apart(&start, &next).dot(tangent);
            let step = matrix.lu().solve(&right)?;
            self.add(&mut next, &step, -1.0);
            let moved = worst(&step);
            if !moved.is_finite() {
                return None;
            }
            if moved <= 1e-13 * self.solver.size {
                break;
            }
        }
        let r = self.solver.kept(
            &self
                .solver
                .mechanism
                .residuals(&self.params(next.share), &next.poses),
        );
        let closed = worst(&r) <= 1e-11 * self.solver.size;
        let corrected = worst(&self.apart(&start, &next));
        (closed && corrected <= 0.1 * stride).then_some(next)
    }

    /// Jacobian by poses and by share (weighed so that the whole way is as long as the size), with one more row.
    fn bordered(&self, z: &Long, last: &DVector<f64>) -> Option<DMatrix<f64>> {
        let n = last.len() - 1;
        let params = self.params(z.share);
        let mut j = DMatrix::zeros(n + 1, n + 1);
        j.view_mut((0, 0), (n, n))
            .copy_from(&self.solver.matrix(&params, &z.poses));
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
        let mut v: Vec<f64> = poses
            .flat_map(|(p, q)| [q.x - p.x, q.y - p.y, size * (q.angle - p.angle)])
            .collect();
        v.push(size * (b.share - a.share));
        DVector::from_vec(v)
    }
}
