//! Following a machine from one setting of its parameters to another without ever jumping to another way of assembling it.
//!
//! Steps are predicted to second order and corrected by Newton. A step is taken only when the correction is small against the
//! movement itself, and when no block of equations (crank, dyad, larger group) has turned to the other side: its determinant keeps
//! its sign on one way of assembling. Where it does turn, the step is shortened until the two assemblies are told apart; when they
//! meet within the closing error it is a change point, and the path goes straight through.
//! Where the parameters cannot go on, the path is followed by its length instead, over the dead centre, and the turning point of
//! the parameters is found on it (pseudo-arclength continuation; Keller, "Numerical solution of bifurcation and nonlinear
//! eigenvalue problems", 1977).

mod arclength;

use crate::blocks::{Block, blocks};
use crate::dense::{NotClosed, Solver};
use crate::model::{Anchor, Constraint, Mechanism, Pose};
use crate::rows::worst;
use crate::tangent::{Rates, Tangent};
use arclength::Top;
use std::cell::Cell;

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
    /// How far the last state is from a place where two assemblies meet: the least pivot of a block of equations over the greatest
    /// number in it. 1 at most; nought where they meet.
    pub apart: f64,
    /// Steps that were tried, those that were refused among them: the work it took.
    pub steps: usize,
}

/// Largest movement of a step, as a share of the size (and rad).
const STRIDE: f64 = 0.25;
/// Largest correction, as a share of the predicted movement.
const TRUST: f64 = 0.1;
/// Below this part of the longest step the path is followed by length.
const SHORTEST: f64 = 1e-6;
/// A movement, as a share of the size, so short that what happens in it happens at one place. Two assemblies that come no nearer to
/// one another than this are kept apart.
const ONE_PLACE: f64 = 1e-5;
/// A block whose least pivot is this share of the greatest number in its equations is as good as folded: ten times what Newton, which
/// sees only the square of it there, can leave.
const FOLDED: f64 = 1e-4;
/// Below this share it is worth looking for others among equations that repeat one another.
const POOR: f64 = 0.1;
/// The same for the start, where nothing before tells the way: two arcs drawn to touch meet as near as this, by rounding.
const STARTS_FOLDED: f64 = 1e-6;
/// Steps after which the target is given up: some thousands of turns.
const MOST_STEPS: usize = 60_000;
/// So many steps of [`ONE_PLACE`] one after another, and it is given up: a twentieth of the machine's size has been crept along.
const MOST_CREPT: usize = 4_000;
/// So many sizes away from where it started a body has run away, as the crossing of two slots does that turn parallel.
const RUN_AWAY: f64 = 1e3;

/// Follows the machine from `from` along the straight line of parameters to `to`.
pub fn follow(mechanism: &Mechanism, from: &State, to: &[f64]) -> Followed {
    let mut followed = Followed {
        state: from.clone(),
        share: 0.0,
        ended: Ended::Reached,
        change_points: Vec::new(),
        apart: 1.0,
        steps: 0,
    };
    let poses = from.poses.iter().flat_map(|p| [p.x, p.y, p.angle]);
    if !from
        .params
        .iter()
        .chain(to)
        .copied()
        .chain(poses)
        .all(f64::is_finite)
    {
        followed.ended = Ended::NotClosed(NotClosed::NotSettled {
            steps: 0,
            residual: f64::INFINITY,
        });
        return followed;
    }
    let solver = match Solver::new(mechanism, &from.params, &from.poses) {
        Ok(s) => s,
        Err(e) => {
            followed.ended = Ended::NotClosed(e);
            return followed;
        }
    };
    let blocks = blocks(mechanism, &solver.rows.keep);
    let spare = solver.rows.dependent.first();
    let spare = spare.map(|d| mechanism.constraint_of_row(d.row));
    let mut path = Path {
        solver,
        blocks,
        from: &from.params,
        to,
        shortest: SHORTEST,
        spins: spins(mechanism),
        steps: Cell::new(0),
    };
    let ended = path.run(&mut followed);
    followed.steps = path.steps.get();
    followed.ended = match (ended, spare) {
        // Whichever equation was left out when they came to disagree: the one in question is the last in the order given.
        (Ended::NotClosed(NotClosed::Disagrees { residual, .. }), Some(constraint)) => {
            Ended::NotClosed(NotClosed::Disagrees {
                constraint,
                residual,
            })
        }
        (ended, _) => ended,
    };
    followed
}

struct Path<'a> {
    solver: Solver<'a>,
    /// Each keeps to its own way of assembling, so that each is watched by itself.
    blocks: Vec<Block>,
    from: &'a [f64],
    to: &'a [f64],
    /// Share below which the path is followed by its length.
    shortest: f64,
    /// Per body: how it is turned enters every equation straight, so that any number of turns is one step.
    spins: Vec<bool>,
    /// Steps tried so far.
    steps: Cell<usize>,
}

/// How each block stands in one pose.
struct Footing {
    /// Sign of its determinant: changes only where two of its assemblies meet. Nought there.
    sides: Vec<f64>,
    /// Least pivot of a block over the greatest number in its equations: how far from folded the nearest one is.
    least: f64,
}

impl Footing {
    fn turned(&self, next: &Self) -> bool {
        self.sides.iter().zip(&next.sides).any(|(a, b)| a * b < 0.0)
    }

    /// Takes over the sides that can be told.
    fn update(&mut self, next: &Self) {
        self.least = next.least;
        for (a, b) in self.sides.iter_mut().zip(&next.sides) {
            if *b != 0.0 {
                *a = *b;
            }
        }
    }
}

impl Path<'_> {
    fn params(&self, share: f64) -> Vec<f64> {
        // Exact at both ends; beyond the target the line goes on, so that a dead centre just behind it can be met.
        if share == 1.0 {
            return self.to.to_vec();
        }
        self.from
            .iter()
            .zip(self.to)
            .map(|(a, b)| a + share * (b - a))
            .collect()
    }

    fn direction(&self) -> Vec<f64> {
        self.from.iter().zip(self.to).map(|(a, b)| b - a).collect()
    }

    fn run(&mut self, followed: &mut Followed) -> Ended {
        let mut poses = followed.state.poses.clone();
        if self.solver.has_spare() {
            let mut footing = self.footing(self.from, &poses);
            if footing.least < POOR {
                self.choose_again(self.from, &poses, &poses.clone(), &mut footing);
            }
        }
        if let Err(e) = self.solver.close(self.from, &mut poses) {
            return Ended::NotClosed(e);
        }
        followed.state.poses.clone_from(&poses);
        let start = poses.clone();
        let direction = self.direction();
        if direction.iter().all(|d| *d == 0.0) {
            followed.state.params.copy_from_slice(self.to);
            followed.share = 1.0;
            return Ended::Reached;
        }
        let m = self.solver.mechanism;
        let size = self.solver.size;
        let rates_at = |params: &[f64], poses: &[Pose]| {
            Tangent::near_folded(m, params, poses).and_then(|t| t.rates(&direction))
        };
        let mut share = 0.0;
        let mut step: f64 = 1.0;
        let mut params = self.params(0.0);
        let Ok(mut rates) = rates_at(&params, &poses) else {
            return Ended::StartsSingular;
        };
        let mut footing = self.footing(&params, &poses);
        followed.apart = footing.least;
        if footing.least <= STARTS_FOLDED {
            return Ended::StartsSingular;
        }
        self.shortest = SHORTEST * (STRIDE * size / self.longest(&rates.first)).min(1.0);
        let mut again = false;
        let mut crept = 0;
        for _ in 0..MOST_STEPS {
            let speed = self.longest(&rates.first);
            let mut h = step.min(1.0 - share);
            if speed * h > STRIDE * size {
                h = STRIDE * size / speed;
            }
            let next_share = if share + h >= 1.0 - 1e-15 {
                1.0
            } else {
                share + h
            };
            if next_share <= share {
                return Ended::Lost;
            }
            if footing.least > FOLDED && (again || footing.least < POOR) {
                let ahead = predict(&poses, &rates, 0.5 * h);
                self.choose_again(&params, &poses, &ahead, &mut footing);
            }
            let one_place = speed * h <= ONE_PLACE * size;
            crept = if one_place { crept + 1 } else { 0 };
            if crept > MOST_CREPT {
                return Ended::Lost;
            }
            let next_params = self.params(next_share);
            let refused =
                match self.try_step(&poses, &rates, next_share - share, &next_params, one_place) {
                    Ok((next, as_predicted)) => {
                        let next_footing = self.footing(&next_params, &next);
                        let turned = footing.turned(&next_footing);
                        if as_predicted || !(turned || next_footing.least <= FOLDED) {
                            if turned {
                                followed.change_points.push(0.5 * (share + next_share));
                            }
                            footing.update(&next_footing);
                            followed.apart = next_footing.least;
                            again = false;
                            (params, share, poses, step) = (next_params, next_share, next, h * 1.6);
                            followed.state = State {
                                params: params.clone(),
                                poses: poses.clone(),
                            };
                            followed.share = share;
                            if share >= 1.0 {
                                return Ended::Reached;
                            }
                            if self.run_away(&start, &poses) {
                                return Ended::Lost;
                            }
                            // On a change point itself there is no tangent; the one before still points the right way.
                            if let Ok(r) = rates_at(&params, &poses) {
                                rates = r;
                            }
                            continue;
                        }
                        // A long step across the place where two assemblies meet may have landed on the other one, and Newton
                        // is not sure of the last digits there.
                        again = true;
                        None
                    }
                    Err(refused) => refused,
                };
            step = 0.5 * h;
            if step >= self.shortest {
                continue;
            }
            if let Some(e @ NotClosed::Disagrees { .. }) = refused {
                return Ended::NotClosed(e);
            }
            match self.over_the_top(share, &poses) {
                Top::DeadCentre {
                    share,
                    poses,
                    folding,
                } => {
                    followed.state = State {
                        params: self.params(share),
                        poses,
                    };
                    followed.share = share;
                    followed.apart = 0.0;
                    return Ended::DeadCentre { folding };
                }
                Top::Past { share: s, poses: p } => {
                    (params, share, poses, step) = (self.params(s), s, p, 10.0 * self.shortest);
                    followed.state = State {
                        params: params.clone(),
                        poses: poses.clone(),
                    };
                    followed.share = share;
                    footing = self.footing(&params, &poses);
                    followed.apart = footing.least;
                    if share >= 1.0 {
                        return Ended::Reached;
                    }
                    let Ok(r) = rates_at(&params, &poses) else {
                        return Ended::Lost;
                    };
                    rates = r;
                }
                Top::Lost => return Ended::Lost,
            }
        }
        Ended::Lost
    }

    /// Predicts and corrects one step; true when no correction was needed. An error when it does not close, with none when the
    /// correction is too large to be sure of the branch.
    fn try_step(
        &self,
        poses: &[Pose],
        rates: &Rates,
        h: f64,
        params: &[f64],
        one_place: bool,
    ) -> Result<(Vec<Pose>, bool), Option<NotClosed>> {
        let predicted = predict(poses, rates, h);
        self.tried();
        // Beside a fold the second rates are out of all measure, and would throw the machine any number of turns off.
        if self.distance(&predicted, poses) > 2.0 * STRIDE * self.solver.size {
            return Err(None);
        }
        // Close to a change point Newton strays along the two assemblies; a short step that closes as predicted needs none.
        if one_place {
            let r = self.solver.mechanism.residuals(params, &predicted);
            if worst(&self.solver.kept(&r)) <= 1e-13 * self.solver.size {
                return self
                    .solver
                    .agree(&r)
                    .map(|()| (predicted, true))
                    .map_err(Some);
            }
        }
        let mut next = predicted.clone();
        self.solver.close(params, &mut next).map_err(Some)?;
        let moved = self.distance(&next, poses);
        let corrected = self.distance(&next, &predicted);
        if corrected <= TRUST * moved + 1e-9 * self.solver.size {
            Ok((next, false))
        } else {
            Err(None)
        }
    }

    /// Where equations repeat others, those are taken that stand farthest apart on the way ahead: of two that fix the same the one
    /// may come to fix nothing where the other still does.
    fn choose_again(
        &mut self,
        params: &[f64],
        poses: &[Pose],
        ahead: &[Pose],
        footing: &mut Footing,
    ) {
        if !self.solver.has_spare() {
            return;
        }
        let Some(rows) = self.solver.apart(params, ahead) else {
            return;
        };
        if rows.keep == self.solver.rows.keep {
            return;
        }
        let blocks = blocks(self.solver.mechanism, &rows.keep);
        let (rows, blocks) = (
            self.solver.choose(rows),
            std::mem::replace(&mut self.blocks, blocks),
        );
        let new = self.footing(params, poses);
        if new.least > footing.least.min(FOLDED) {
            *footing = new;
        } else {
            self.solver.choose(rows);
            self.blocks = blocks;
        }
    }

    fn footing(&self, params: &[f64], poses: &[Pose]) -> Footing {
        let mut all = self.solver.matrix(params, poses);
        // A steep flank of a cam folds nothing: its equation is taken square to the flank and not along the follower's way.
        for (i, &row) in self.solver.rows.keep.iter().enumerate() {
            let constraint = self.solver.mechanism.constraint_of_row(row);
            if let Some(Constraint::Cam { .. }) = self.solver.mechanism.constraints.get(constraint)
            {
                let places = (0..all.ncols()).filter(|c| c % 3 < 2);
                let pull = places.fold(1.0_f64, |m, c| m.max(all[(i, c)].abs()));
                all.row_mut(i).scale_mut(1.0 / pull);
            }
        }
        let mut footing = Footing {
            sides: Vec::with_capacity(self.blocks.len()),
            least: 1.0,
        };
        for block in &self.blocks {
            let rows = all.select_rows(&block.rows);
            let lu = rows.select_columns(&block.columns).lu();
            let pivots = lu.u().diagonal();
            let sign = if lu.p().determinant::<f64>() < 0.0 {
                -1.0
            } else {
                1.0
            };
            let side = pivots
                .iter()
                .fold(sign, |s, d| if *d == 0.0 { 0.0 } else { s * d.signum() });
            // An arm is no longer than the machine; what is greater is a steep flank of a cam, which folds nothing.
            let greatest = rows
                .amax()
                .clamp(f64::MIN_POSITIVE, self.solver.size.max(1.0));
            footing.least = footing.least.min(pivots.abs().min() / greatest);
            footing.sides.push(side);
        }
        footing
    }

    fn run_away(&self, start: &[Pose], now: &[Pose]) -> bool {
        let far = |(p, q): (&Pose, &Pose)| (p.x - q.x).abs().max((p.y - q.y).abs());
        start
            .iter()
            .zip(now)
            .any(|pair| far(pair) > RUN_AWAY * self.solver.size)
    }

    /// One more step is tried.
    fn tried(&self) {
        self.steps.set(self.steps.get() + 1);
    }

    /// What a turn of each body counts for, mm a rad.
    fn arms(&self) -> impl Iterator<Item = f64> {
        let size = self.solver.size;
        self.spins.iter().map(move |s| if *s { 0.0 } else { size })
    }

    fn distance(&self, a: &[Pose], b: &[Pose]) -> f64 {
        let far = |((p, q), arm): ((&Pose, &Pose), f64)| {
            (p.x - q.x)
                .abs()
                .max((p.y - q.y).abs())
                .max(arm * (p.angle - q.angle).abs())
        };
        a.iter()
            .zip(b)
            .zip(self.arms())
            .map(far)
            .fold(0.0, f64::max)
    }

    fn longest(&self, rates: &[[f64; 3]]) -> f64 {
        rates
            .iter()
            .zip(self.arms())
            .flat_map(|(r, arm)| [r[0].abs(), r[1].abs(), arm * r[2].abs()])
            .fold(0.0, f64::max)
    }
}

/// Bodies that only spin: gears, belts and drives turn them about their own origin, and nothing is pinned, guided or led off it. How they
/// are turned bends no equation, so that a fast shaft need not be followed turn by turn.
fn spins(m: &Mechanism) -> Vec<bool> {
    let mut spins = vec![true; m.bodies.len()];
    let mut leads = |body: usize| {
        if let Some(spins) = spins.get_mut(body) {
            *spins = false;
        }
    };
    let anchor = |a: usize| m.anchors.get(a).copied();
    let off = |a: &Anchor| [a.u, a.v].iter().any(|&p| m.params.get(p) != Some(&0.0));
    for constraint in &m.constraints {
        match *constraint {
            Constraint::Pin { a, b } => {
                for anchor in [anchor(a), anchor(b)].into_iter().flatten().filter(off) {
                    leads(anchor.body);
                }
            }
            Constraint::Angle { .. } | Constraint::Ratio { .. } => {}
            Constraint::Course { a, b, carrier, .. } => {
                [a, b, carrier].into_iter().for_each(&mut leads)
            }
            Constraint::Rod { a, b, .. }
            | Constraint::Arc {
                pin: a, centre: b, ..
            }
            | Constraint::OnLine {
                pin: a, through: b, ..
            }
            | Constraint::Along {
                pin: a, through: b, ..
            }
            | Constraint::Cam {
                centre: a, pin: b, ..
            } => {
                for anchor in [anchor(a), anchor(b)].into_iter().flatten() {
                    leads(anchor.body);
                }
            }
            Constraint::Rack {
                gear, pin, through, ..
            } => {
                leads(gear);
                for anchor in [anchor(pin), anchor(through)].into_iter().flatten() {
                    leads(anchor.body);
                }
            }
        }
    }
    spins
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
