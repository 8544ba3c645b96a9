//! Coulomb friction in joints, for a given sense of incipient motion.
//!
//! A joint that rubs turns or slides by some *slip*; its friction is a load against that slip whose size follows from the
//! joint's reaction. Pins and rod ends use the friction circle (radius `r sin(atan µ)`), so an eccentric is just a very large
//! pin; slides carry a couple on the two ends of their guide; a pin in a slot rubs on the side it is pressed to.
//!
//! What a unit of friction at each place does to all reactions is worked out once for a motion ([`Sliding`]); reactions and
//! friction then agree by Newton's method on the frictions alone, and both senses and every coefficient share what was worked out.

mod place;
mod press;
mod solve;

#[cfg(doc)]
use crate::model::Constraint;
use crate::model::{BodyId, Measure, Mechanism};
use crate::statics::Reactions;
use crate::tangent::{Rates, Singular, Tangent};
use place::{Measured, Place, place};

/// Which end of a rod.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The end at anchor `a`.
    A,
    /// The end at anchor `b`.
    B,
}

/// Load on one bearing of a shaft, in its plane: a fixed part and reaction rows, each pushing along its own vector.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BearingLoad {
    /// Part that does not depend on the reactions, N.
    pub fixed: [f64; 2],
    /// Residual rows and the load on the bearing for a unit of each.
    pub rows: Vec<(usize, [f64; 2])>,
}

/// A place that rubs. Constraints are named by index.
#[derive(Clone, Debug, PartialEq)]
pub enum Rubs {
    /// A pin joint of this radius, mm.
    Pin {
        /// A [`Constraint::Pin`].
        constraint: usize,
        /// Radius of the pin or journal, mm.
        radius: f64,
    },
    /// One end of a rod, on a pin or ball of this radius.
    RodEnd {
        /// A [`Constraint::Rod`].
        constraint: usize,
        /// Which end.
        end: End,
        /// Radius of the pin or ball, mm.
        radius: f64,
    },
    /// A part on a straight guide.
    Slide {
        /// Its [`Constraint::OnLine`]; the normal force.
        on_line: usize,
        /// Its [`Constraint::Angle`]; the couple the guide's ends take.
        angle: usize,
        /// Length of the guide, mm; the couple is taken at its two ends. Its middle is where the slide's pin is.
        length: f64,
        /// Rows of teeth on the part and what a unit of each adds to the normal force and to the couple.
        teeth: Vec<(usize, [f64; 2])>,
    },
    /// A pin that slides and turns in a slot or on a cam.
    Slot {
        /// A [`Constraint::OnLine`], [`Constraint::Arc`] or [`Constraint::Cam`].
        constraint: usize,
        /// Radius of the pin, mm; 0 for a roller that turns freely on it. A roller on a cam that rubs on its own pin is a pin of the
        /// roller's radius, with friction as much less as its own pin is smaller.
        radius: f64,
    },
    /// Teeth or belt: a share of the power is lost.
    Mesh {
        /// A [`Constraint::Ratio`].
        constraint: usize,
    },
    /// A shaft whose load is shared by bearings apart from one another: each rubs under its own load.
    Journal {
        /// The shaft.
        body: BodyId,
        /// The body that carries its bearings.
        against: BodyId,
        /// Radius of the journal, mm.
        radius: f64,
        /// Its bearings.
        bearings: Vec<BearingLoad>,
    },
}

/// A place that rubs and its coefficient of friction (for a mesh: the share of power lost).
#[derive(Clone, Debug, PartialEq)]
pub struct Rubbing {
    /// Where.
    pub rubs: Rubs,
    /// Coefficient of friction.
    pub mu: f64,
}

/// How much one place rubs.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Rubbed {
    /// Rate of slip, rad or mm per unit of the motion.
    pub slip: f64,
    /// Friction moment or force against it, N·mm or N.
    pub friction: f64,
}

/// Forces with friction.
#[derive(Clone, Debug, PartialEq)]
pub struct RubbedBalance {
    /// Reactions in all constraints.
    pub reactions: Reactions,
    /// One a place that rubs.
    pub places: Vec<Rubbed>,
    /// Rounds of Newton's method.
    pub rounds: usize,
}

/// Friction could not be balanced.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stuck {
    /// No finite forces balance: the machine jams in this sense. Index of the place whose friction grows most.
    Jams(usize),
    /// The pose is a dead centre.
    Singular,
}

impl From<Singular> for Stuck {
    fn from(_: Singular) -> Self {
        Self::Singular
    }
}

/// A motion that is about to happen, with everything friction needs of it worked out.
#[derive(Clone, Debug)]
pub struct Sliding {
    places: Vec<Option<Place>>,
    /// Row of the drive's constraint and the reactions to a unit of the force that moves it instead.
    mover: Option<(usize, Vec<f64>)>,
    rods: usize,
}

impl Sliding {
    /// For a machine about to move by `rates` (from [`Tangent::rates`]).
    ///
    /// # Errors
    /// [`Singular`] when the solve breaks down.
    pub fn new<'r>(
        tangent: &Tangent,
        rates: &Rates,
        rubs: impl IntoIterator<Item = &'r Rubs>,
    ) -> Result<Self, Singular> {
        let rows = first_rows(tangent.pose().0);
        let measured = Measured::of(tangent, rates);
        let places = rubs
            .into_iter()
            .map(|r| place(tangent, &rows, rates, measured, r))
            .collect::<Result<_, _>>()?;
        Ok(Self {
            places,
            mover: None,
            rods: tangent.pose().0.constraints.len(),
        })
    }

    /// The same machine moved by a force on `at` (a hand on a lever) in place of the drive whose constraint is `drive`. In all
    /// balances the drive's row is then that force, N, positive along the measure. `None` when the force cannot move the drive.
    ///
    /// # Errors
    /// [`Singular`] when the solve breaks down.
    pub fn moved_by(
        &self,
        tangent: &Tangent,
        drive: usize,
        at: &Measure,
    ) -> Result<Option<Self>, Singular> {
        let (m, params, poses) = tangent.pose();
        let Some(&row) = first_rows(m).get(drive) else {
            return Ok(None);
        };
        let unit = tangent.balance(&m.gradient(params, poses, at).by_pose)?;
        if unit[row].is_nan() || unit[row].abs() <= 1e-9 * largest(&unit) {
            return Ok(None);
        }
        let mut moved = self.clone();
        for place in moved.places.iter_mut().flatten() {
            hand_over(&mut place.slip.response, row, &unit);
            if let Some(turn) = &mut place.turn {
                hand_over(&mut turn.response, row, &unit);
            }
        }
        moved.mover = Some((row, unit));
        Ok(Some(moved))
    }

    /// The reactions without friction, the drive's row handed over to the force that moves it.
    pub fn free(&self, reactions: &Reactions) -> Reactions {
        let mut free = reactions.clone();
        if let Some((row, unit)) = &self.mover {
            hand_over(&mut free.rows, *row, unit);
        }
        free
    }
}

/// Balances `forces` on the unknowns with friction, for a machine about to move by `rates` (from [`Tangent::rates`]).
///
/// # Errors
/// [`Stuck`].
pub fn balance(
    tangent: &Tangent,
    forces: &[f64],
    rates: &Rates,
    rubbing: &[Rubbing],
) -> Result<RubbedBalance, Stuck> {
    let sliding = Sliding::new(tangent, rates, rubbing.iter().map(|r| &r.rubs))?;
    let mu: Vec<f64> = rubbing.iter().map(|r| r.mu).collect();
    sliding.balance(&tangent.reactions(forces)?, &mu, 1.0)
}

/// Takes the reactions of the drive's row off and has the moving force do its work instead.
fn hand_over(rows: &mut [f64], row: usize, unit: &[f64]) {
    let force = -rows[row] / unit[row];
    add(rows, force, unit);
    rows[row] = force;
}

fn add(sum: &mut [f64], factor: f64, to_add: &[f64]) {
    sum.iter_mut()
        .zip(to_add)
        .for_each(|(s, a)| *s += factor * a);
}

fn largest(v: &[f64]) -> f64 {
    v.iter().fold(0.0, |m: f64, x| m.max(x.abs()))
}

/// Radius of the friction circle of a dry journal.
pub fn friction_circle(radius: f64, mu: f64) -> f64 {
    radius * mu / (1.0 + mu * mu).sqrt()
}

/// First residual row of every constraint.
fn first_rows(m: &Mechanism) -> Vec<usize> {
    let ends = m.constraints.iter().scan(0, |next, c| {
        let first = *next;
        *next += c.equations();
        Some(first)
    });
    ends.collect()
}
