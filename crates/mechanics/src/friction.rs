//! Coulomb friction in joints, solved by fixed point over the reactions for a given sense of incipient motion.
//!
//! A joint that rubs turns or slides by some *slip*; its friction is a load against that slip whose size follows from the
//! joint's reaction. Pins and rod ends use the friction circle (radius `r sin(atan µ)`), so an eccentric is just a very large
//! pin; slides carry a couple on the two ends of their guide; a pin in a slot rubs on the side it is pressed to.
//!
//! What a unit of friction at each place does to all reactions is worked out once for a motion ([`Sliding`]); a round of the
//! fixed point is then a few sums, and both senses and every coefficient of friction share it.

use crate::jacobian::{cross, dot};
use crate::model::{AnchorId, BodyId, Constraint, Measure, Mechanism, Pose};
use crate::statics::Reactions;
use crate::tangent::{Rates, Singular, Tangent};

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
    },
    /// A pin that slides and turns in a slot.
    Slot {
        /// A [`Constraint::OnLine`] or [`Constraint::Arc`].
        constraint: usize,
        /// Radius of the pin, mm; 0 for a roller that turns freely on it.
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
    /// Rounds of the fixed point.
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

/// Slower than this share of the fastest body a place does not slip: rounding must not decide which way it rubs.
const STILL: f64 = 1e-9;
const ROUNDS: usize = 400;
/// Rounds agree to this share of the largest reaction.
const AGREED: f64 = 1e-13;

/// How the size of a place's friction follows from the reactions.
#[derive(Clone, Debug)]
enum Press {
    /// Two rows as one force.
    Pin {
        rows: [usize; 2],
        radius: f64,
    },
    /// A rod, its push or pull and what presses across it.
    RodEnd {
        row: usize,
        rod: usize,
        radius: f64,
    },
    Slide {
        on_line: usize,
        angle: usize,
        length: f64,
    },
    /// A slot's force; its sign says which side is pressed: `inwards` turns it into the left side of the slot.
    Slot {
        row: usize,
        inwards: f64,
    },
    Mesh {
        row: usize,
    },
    Journal {
        radius: f64,
        bearings: Vec<BearingLoad>,
    },
}

/// One slip: its rate, and the reactions to a unit of friction against its positive sense.
#[derive(Clone, Debug)]
struct Share {
    rate: f64,
    response: Vec<f64>,
}

#[derive(Clone, Debug)]
struct Place {
    press: Press,
    slip: Share,
    /// Of a pin in a slot: its turn on the side it is pressed to.
    turn: Option<Share>,
    /// Of a rod end: force across the rod on the body of `a`, for a unit of friction.
    across: [f64; 3],
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
        let places = rubs
            .into_iter()
            .map(|r| place(tangent, &rows, rates, r))
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

    /// Balances with friction: `free` are the reactions without friction as [`Sliding::free`] gives them, `mu` one coefficient a
    /// place, `sense` −1 for the motion run backwards.
    ///
    /// # Errors
    /// [`Stuck`].
    pub fn balance(
        &self,
        free: &Reactions,
        mu: &[f64],
        sense: f64,
    ) -> Result<RubbedBalance, Stuck> {
        let mut reactions = free.clone();
        let mut places = vec![Rubbed::default(); self.places.len()];
        let first_largest = largest(&free.rows);
        let mut relax = 1.0;
        let mut last_change = f64::INFINITY;
        // The friction moments at a rod's ends make its ends press a little across the rod too.
        let mut across = vec![[0.0; 3]; self.rods];
        let mut next_across = across.clone();
        let mut next = free.rows.clone();
        for round in 1..=ROUNDS {
            next.copy_from_slice(&free.rows);
            next_across.fill([0.0; 3]);
            for ((rubbed, place), &mu) in places.iter_mut().zip(&self.places).zip(mu) {
                *rubbed = Rubbed::default();
                let Some(place) = place else { continue };
                let (friction, side) = place.press.friction(&reactions.rows, &across, mu);
                let turn = place.turn.as_ref();
                let slip = sense * (place.slip.rate + side * turn.map_or(0.0, |t| t.rate));
                *rubbed = Rubbed { slip, friction };
                if slip == 0.0 || friction == 0.0 {
                    continue;
                }
                let f = friction * slip.signum();
                add(&mut next, f, &place.slip.response);
                if let Some(turn) = turn {
                    add(&mut next, f * side, &turn.response);
                }
                if let Press::RodEnd { rod, .. } = place.press {
                    next_across[rod]
                        .iter_mut()
                        .zip(place.across)
                        .for_each(|(sum, u)| *sum += f * u);
                }
            }
            std::mem::swap(&mut across, &mut next_across);
            let top = largest(&next);
            let change = next
                .iter()
                .zip(&reactions.rows)
                .map(|(a, b)| (a - b).abs())
                .fold(0.0, f64::max);
            if !top.is_finite() || top > 1e9 * (first_largest + 1.0) {
                return Err(Stuck::Jams(worst(&places)));
            }
            for (r, n) in reactions.rows.iter_mut().zip(&next) {
                *r += relax * (n - *r);
            }
            if change <= AGREED * top {
                return Ok(RubbedBalance {
                    reactions,
                    places,
                    rounds: round,
                });
            }
            // A round that does not come closer swings to and fro; half steps damp that.
            if change > 0.9 * last_change && relax > 0.05 && round > 8 {
                relax *= 0.7;
            }
            last_change = change;
        }
        Err(Stuck::Jams(worst(&places)))
    }
}

impl Press {
    /// Size of the friction, and for a slot how its pin's turn adds to the slip (radius included by the turn itself).
    fn friction(&self, rows: &[f64], across: &[[f64; 3]], mu: f64) -> (f64, f64) {
        match self {
            Self::Pin {
                rows: [x, y],
                radius,
            } => (friction_circle(*radius, mu) * norm(rows[*x], rows[*y]), 0.0),
            Self::RodEnd { row, rod, radius } => {
                let side = across[*rod];
                (
                    friction_circle(*radius, mu)
                        * (rows[*row] * rows[*row] + dot(side, side)).sqrt(),
                    0.0,
                )
            }
            Self::Slide {
                on_line,
                angle,
                length,
            } => {
                let (normal, couple) = (rows[*on_line].abs(), rows[*angle].abs());
                // Two ends of the guide: both press the same way while the couple is small, opposite ways beyond.
                (
                    mu * if *length > 0.0 {
                        normal.max(2.0 * couple / length)
                    } else {
                        normal
                    },
                    0.0,
                )
            }
            Self::Slot { row, inwards } => {
                let force = rows[*row];
                (
                    mu * force.abs(),
                    if force == 0.0 {
                        0.0
                    } else {
                        (inwards * force).signum()
                    },
                )
            }
            Self::Mesh { row } => (mu * rows[*row].abs(), 0.0),
            Self::Journal { radius, bearings } => {
                let load = |b: &BearingLoad| {
                    let sum = b.rows.iter().fold(b.fixed, |s, (row, v)| {
                        [s[0] + rows[*row] * v[0], s[1] + rows[*row] * v[1]]
                    });
                    norm(sum[0], sum[1])
                };
                (
                    friction_circle(*radius, mu) * bearings.iter().map(load).sum::<f64>(),
                    0.0,
                )
            }
        }
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

/// Length of a vector of forces; these are far from where squares overflow.
fn norm(x: f64, y: f64) -> f64 {
    (x * x + y * y).sqrt()
}

fn largest(v: &[f64]) -> f64 {
    v.iter().fold(0.0, |m: f64, x| m.max(x.abs()))
}

fn worst(places: &[Rubbed]) -> usize {
    let power = |p: &Rubbed| (p.slip * p.friction).abs();
    (0..places.len()).fold(0, |w, i| {
        if power(&places[i]) > power(&places[w]) {
            i
        } else {
            w
        }
    })
}

fn dot_rates(by_pose: &[f64], rates: &[[f64; 3]]) -> f64 {
    by_pose
        .iter()
        .zip(rates.iter().skip(1).flatten())
        .map(|(a, b)| a * b)
        .sum()
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

fn place(
    tangent: &Tangent,
    rows: &[usize],
    rates: &Rates,
    rubs: &Rubs,
) -> Result<Option<Place>, Singular> {
    let (m, params, poses) = tangent.pose();
    let size = m.size(params);
    let fastest = rates
        .first
        .iter()
        .map(|[x, y, turn]| (x.hypot(*y) / size).max(turn.abs()))
        .fold(0.0, f64::max);
    // `unit` is how far a body of the machine's size slips there while it turns by one.
    let share = |by_pose: &[f64], unit: f64| -> Result<Share, Singular> {
        let rate = dot_rates(by_pose, &rates.first);
        let rate = if rate.abs() <= STILL * fastest * unit {
            0.0
        } else {
            rate
        };
        Ok(Share {
            rate,
            response: tangent.balance(&by_pose.iter().map(|d| -d).collect::<Vec<_>>())?,
        })
    };
    let plain = |press: Press, by_pose: &[f64], unit: f64| -> Result<Option<Place>, Singular> {
        Ok(Some(Place {
            press,
            slip: share(by_pose, unit)?,
            turn: None,
            across: [0.0; 3],
        }))
    };
    match rubs {
        &Rubs::Pin { constraint, radius } => {
            let Some(&Constraint::Pin { a, b }) = m.constraints.get(constraint) else {
                return Ok(None);
            };
            let row = rows[constraint];
            plain(
                Press::Pin {
                    rows: [row, row + 1],
                    radius,
                },
                &turn(m, m.anchors[a].body, m.anchors[b].body, 1.0),
                1.0,
            )
        }
        &Rubs::RodEnd {
            constraint,
            end,
            radius,
        } => {
            let Some(&Constraint::Rod { a, b, .. }) = m.constraints.get(constraint) else {
                return Ok(None);
            };
            let (near, far) = if end == End::A { (a, b) } else { (b, a) };
            let (p, q) = (
                m.in_space(params, poses, near),
                m.in_space(params, poses, far),
            );
            let d: [f64; 3] = std::array::from_fn(|i| q[i] - p[i]);
            let length = dot(d, d).sqrt();
            let along = d.map(|x| x / length);
            let body = m.anchors[near].body;
            let normal = m.planes[m.anchors[near].plane].normal();
            let spin = if body == 0 { 0.0 } else { rates.first[body][2] };
            let velocity = |anchor| m.rate_of_place(params, poses, anchor, &rates.first);
            let (vp, vq) = (velocity(near), velocity(far));
            let relative: [f64; 3] = std::array::from_fn(|i| (vq[i] - vp[i]) / length);
            let rod_turn = cross(along, relative);
            let tilt = dot(normal, along);
            let w: [f64; 3] =
                std::array::from_fn(|i| spin * (normal[i] - tilt * along[i]) - rod_turn[i]);
            let size = dot(w, w).sqrt();
            if size.is_nan() || size <= STILL * fastest {
                return Ok(None);
            }
            let unit = w.map(|x| x / size);
            let lever = cross(unit, along).map(|x| x / length);
            let mut by_pose = m.gradient_of_place(params, poses, near, lever);
            let far_part = m.gradient_of_place(params, poses, far, lever);
            by_pose.iter_mut().zip(&far_part).for_each(|(g, f)| *g -= f);
            if body != 0 {
                by_pose[3 * (body - 1) + 2] += dot(unit, normal);
            }
            let across = if end == End::A {
                lever.map(|x| -x)
            } else {
                lever
            };
            let press = Press::RodEnd {
                row: rows[constraint],
                rod: constraint,
                radius,
            };
            Ok(Some(Place {
                press,
                slip: share(&by_pose, 1.0)?,
                turn: None,
                across,
            }))
        }
        &Rubs::Slide {
            on_line,
            angle,
            length,
        } => {
            let Some(&Constraint::OnLine {
                pin,
                through,
                direction,
                ..
            }) = m.constraints.get(on_line)
            else {
                return Ok(None);
            };
            let Some(&angle) = rows.get(angle) else {
                return Ok(None);
            };
            let press = Press::Slide {
                on_line: rows[on_line],
                angle,
                length,
            };
            plain(
                press,
                &m.gradient_along(params, poses, pin, through, direction),
                size,
            )
        }
        &Rubs::Slot { constraint, radius } => {
            let Some((pin, host, by_pose, inwards)) = slot(tangent, constraint) else {
                return Ok(None);
            };
            // The pin also turns on the side that it is pressed to.
            let turning = turn(m, m.anchors[pin].body, host, radius);
            let press = Press::Slot {
                row: rows[constraint],
                inwards,
            };
            Ok(Some(Place {
                press,
                slip: share(&by_pose, size)?,
                turn: Some(share(&turning, size)?),
                across: [0.0; 3],
            }))
        }
        &Rubs::Mesh { constraint } => {
            let Some(&Constraint::Ratio {
                a,
                b,
                carrier,
                sizes,
                ..
            }) = m.constraints.get(constraint)
            else {
                return Ok(None);
            };
            let body = if sizes[0].abs() >= sizes[1].abs() {
                a
            } else {
                b
            };
            plain(
                Press::Mesh {
                    row: rows[constraint],
                },
                &turn(m, body, carrier, 1.0),
                1.0,
            )
        }
        Rubs::Journal {
            body,
            against,
            radius,
            bearings,
        } => {
            let known = bearings
                .iter()
                .flat_map(|b| &b.rows)
                .all(|(row, _)| *row < m.equations());
            if !known || *body >= m.bodies.len() || *against >= m.bodies.len() {
                return Ok(None);
            }
            plain(
                Press::Journal {
                    radius: *radius,
                    bearings: bearings.clone(),
                },
                &turn(m, *body, *against, 1.0),
                1.0,
            )
        }
    }
}

/// A slot's pin, the body with the slot, the pin's travel along it, and which way the force of its row counts as inwards.
fn slot(tangent: &Tangent, constraint: usize) -> Option<(usize, BodyId, Vec<f64>, f64)> {
    let (m, params, poses) = tangent.pose();
    match *m.constraints.get(constraint)? {
        Constraint::OnLine {
            pin,
            through,
            direction,
            ..
        } => Some((
            pin,
            m.anchors[through].body,
            m.gradient_along(params, poses, pin, through, direction),
            1.0,
        )),
        Constraint::Arc { pin, centre, .. } => {
            let (p, c) = (
                m.in_plane(params, poses, pin),
                m.in_plane(params, poses, centre),
            );
            let d = [p[0] - c[0], p[1] - c[1]];
            let r = d[0].hypot(d[1]);
            // The slot's direction at the pin, square to the radius; plus is counter-clockwise. Its left normal points inwards.
            let t = [-d[1] / r, d[0] / r];
            let host = m.anchors[centre].body;
            let mut g = m.gradient_in_plane(params, poses, pin, t);
            let c = m.gradient_in_plane(params, poses, centre, t);
            g.iter_mut().zip(&c).for_each(|(g, c)| *g -= c);
            if host != 0 {
                g[3 * (host - 1) + 2] -= r;
            }
            Some((pin, host, g, -1.0))
        }
        _ => None,
    }
}

fn turn(m: &Mechanism, a: BodyId, b: BodyId, factor: f64) -> Vec<f64> {
    let mut by_pose = vec![0.0; m.unknowns()];
    for (body, sign) in [(a, factor), (b, -factor)] {
        if body != 0 {
            by_pose[3 * (body - 1) + 2] += sign;
        }
    }
    by_pose
}

impl Mechanism {
    /// Velocity in space of an anchor while the bodies move with these rates.
    fn rate_of_place(
        &self,
        params: &[f64],
        poses: &[Pose],
        anchor: AnchorId,
        rates: &[[f64; 3]],
    ) -> [f64; 3] {
        let a = self.anchors[anchor];
        if a.body == 0 {
            return [0.0; 3];
        }
        let plane = &self.planes[a.plane];
        let [x, y, turn] = rates[a.body];
        let place = self.in_plane(params, poses, anchor);
        let v = [
            x - turn * (place[1] - poses[a.body].y),
            y + turn * (place[0] - poses[a.body].x),
        ];
        std::array::from_fn(|i| v[0] * plane.right[i] + v[1] * plane.up[i])
    }
}
