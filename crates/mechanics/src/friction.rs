//! Coulomb friction in joints, solved by fixed point over the reactions for a given sense of incipient motion.
//!
//! A joint that rubs turns or slides by some *slip*; its friction is a load against that slip whose size follows from the
//! joint's reaction. Pins and rod ends use the friction circle (radius `r sin(atan µ)`), so an eccentric is just a very large
//! pin; slides carry a couple on the two ends of their guide; a pin in a slot rubs on the side it is pressed to.

use crate::jacobian::{cross, dot};
use crate::model::{BodyId, Constraint, Measure, Mechanism};
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

/// A place that rubs. Constraints are named by index.
#[derive(Clone, Copy, Debug, PartialEq)]
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
}

/// A place that rubs and its coefficient of friction (for a mesh: the share of power lost).
#[derive(Clone, Copy, Debug, PartialEq)]
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

const ROUNDS: usize = 400;
/// Rounds agree to this share of the largest reaction.
const AGREED: f64 = 1e-13;

/// One place's slip as a linear form on the unknowns, and the size of its friction.
struct Slip {
    by_pose: Vec<f64>,
    friction: f64,
    /// For a rod end: its constraint, and the force across the rod on the body of `a` for a unit of friction.
    across: Option<(usize, [f64; 3])>,
}

impl Slip {
    fn new(by_pose: Vec<f64>, friction: f64) -> Option<Self> {
        Some(Self { by_pose, friction, across: None })
    }
}

/// Balances `forces` on the unknowns with friction, for a machine about to move by `rates` (from [`Tangent::rates`]).
///
/// # Errors
/// [`Stuck`].
pub fn balance(tangent: &Tangent, forces: &[f64], rates: &Rates, rubbing: &[Rubbing]) -> Result<RubbedBalance, Stuck> {
    let mut reactions = tangent.reactions(forces)?;
    let mut places = vec![Rubbed::default(); rubbing.len()];
    let first_largest = largest(&reactions.rows);
    let mut relax = 1.0;
    let mut last_change = f64::INFINITY;
    // The friction moments at a rod's ends make its ends press a little across the rod too.
    let mut across = vec![[0.0; 3]; tangent.pose().0.constraints.len()];
    for round in 1..=ROUNDS {
        let mut total = forces.to_vec();
        let mut next_across = vec![[0.0; 3]; across.len()];
        for (place, rub) in places.iter_mut().zip(rubbing) {
            *place = Rubbed::default();
            let Some(slip) = slip(tangent, &reactions, &across, rates, rub) else { continue };
            let rate = dot_rates(&slip.by_pose, &rates.first);
            *place = Rubbed { slip: rate, friction: slip.friction };
            if rate != 0.0 {
                let f = slip.friction * rate.signum();
                total.iter_mut().zip(&slip.by_pose).for_each(|(q, d)| *q -= f * d);
                if let Some((rod, unit)) = slip.across {
                    next_across[rod].iter_mut().zip(unit).for_each(|(sum, u)| *sum += f * u);
                }
            }
        }
        across = next_across;
        let next = tangent.reactions(&total)?;
        let top = largest(&next.rows);
        let change = next.rows.iter().zip(&reactions.rows).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        if !top.is_finite() || top > 1e9 * (first_largest + 1.0) {
            return Err(Stuck::Jams(worst(&places)));
        }
        for (r, n) in reactions.rows.iter_mut().zip(&next.rows) {
            *r += relax * (n - *r);
        }
        if change <= AGREED * top {
            return Ok(RubbedBalance { reactions, places, rounds: round });
        }
        // A round that does not come closer swings to and fro; half steps damp that.
        if change > 0.9 * last_change && relax > 0.05 && round > 8 {
            relax *= 0.7;
        }
        last_change = change;
    }
    Err(Stuck::Jams(worst(&places)))
}

fn largest(v: &[f64]) -> f64 {
    v.iter().fold(0.0, |m: f64, x| m.max(x.abs()))
}

fn worst(places: &[Rubbed]) -> usize {
    let power = |p: &Rubbed| (p.slip * p.friction).abs();
    (0..places.len()).fold(0, |w, i| if power(&places[i]) > power(&places[w]) { i } else { w })
}

fn dot_rates(by_pose: &[f64], rates: &[[f64; 3]]) -> f64 {
    by_pose.iter().zip(rates.iter().skip(1).flatten()).map(|(a, b)| a * b).sum()
}

/// Radius of the friction circle of a dry journal.
pub fn friction_circle(radius: f64, mu: f64) -> f64 {
    radius * mu / (1.0 + mu * mu).sqrt()
}

fn slip(
    tangent: &Tangent,
    reactions: &Reactions,
    across: &[[f64; 3]],
    rates: &Rates,
    rub: &Rubbing,
) -> Option<Slip> {
    let (m, params, poses) = tangent.pose();
    match rub.rubs {
        Rubs::Pin { constraint, radius } => {
            let Some(&Constraint::Pin { a, b }) = m.constraints.get(constraint) else { return None };
            let [x, y] = reactions.of(m, constraint);
            let by_pose = turn(m, m.anchors[a].body, m.anchors[b].body, 1.0);
            Slip::new(by_pose, friction_circle(radius, rub.mu) * x.hypot(y))
        }
        Rubs::RodEnd { constraint, end, radius } => {
            let Some(&Constraint::Rod { a, b, .. }) = m.constraints.get(constraint) else { return None };
            let (near, far) = if end == End::A { (a, b) } else { (b, a) };
            let (p, q) = (m.in_space(params, poses, near), m.in_space(params, poses, far));
            let d: [f64; 3] = std::array::from_fn(|i| q[i] - p[i]);
            let length = dot(d, d).sqrt();
            let along = d.map(|x| x / length);
            let body = m.anchors[near].body;
            let normal = m.planes[m.anchors[near].plane].normal();
            let spin = if body == 0 { 0.0 } else { rates.first[body][2] };
            let velocity = |anchor| -> [f64; 3] {
                std::array::from_fn(|i| {
                    let mut axis = [0.0; 3];
                    axis[i] = 1.0;
                    let g = m.gradient_of_place(params, poses, anchor, axis);
                    dot_rates(&g, &rates.first)
                })
            };
            let (vp, vq) = (velocity(near), velocity(far));
            let relative: [f64; 3] = std::array::from_fn(|i| (vq[i] - vp[i]) / length);
            let rod_turn = cross(along, relative);
            let tilt = dot(normal, along);
            let w: [f64; 3] = std::array::from_fn(|i| spin * (normal[i] - tilt * along[i]) - rod_turn[i]);
            let size = dot(w, w).sqrt();
            if !(size > 0.0) {
                return None;
            }
            let unit = w.map(|x| x / size);
            let lever = cross(unit, along).map(|x| x / length);
            let mut by_pose = m.gradient_of_place(params, poses, near, lever);
            let far_part = m.gradient_of_place(params, poses, far, lever);
            by_pose.iter_mut().zip(&far_part).for_each(|(g, f)| *g -= f);
            if body != 0 {
                by_pose[3 * (body - 1) + 2] += dot(unit, normal);
            }
            let side = across.get(constraint).map_or(0.0, |f| dot(*f, *f).sqrt());
            let force = reactions.of(m, constraint)[0].hypot(side);
            let on_a = if end == End::A { lever.map(|x| -x) } else { lever };
            let friction = friction_circle(radius, rub.mu) * force;
            Some(Slip { by_pose, friction, across: Some((constraint, on_a)) })
        }
        Rubs::Slide { on_line, angle, length } => {
            let Some(&Constraint::OnLine { pin, through, direction, .. }) = m.constraints.get(on_line) else {
                return None;
            };
            let by_pose = m.gradient_along(params, poses, pin, through, direction);
            let normal = reactions.of(m, on_line)[0].abs();
            let couple = reactions.of(m, angle)[0].abs();
            // Two ends of the guide: both press the same way while the couple is small, opposite ways beyond.
            let pressed = if length > 0.0 { normal.max(2.0 * couple / length) } else { normal };
            Slip::new(by_pose, rub.mu * pressed)
        }
        Rubs::Slot { constraint, radius } => slot_slip(tangent, reactions, constraint, radius, rub.mu),
        Rubs::Mesh { constraint } => {
            let Some(&Constraint::Ratio { a, b, carrier, sizes, .. }) = m.constraints.get(constraint) else { return None };
            let body = if sizes[0].abs() >= sizes[1].abs() { a } else { b };
            let moment = reactions.of(m, constraint)[0].abs();
            Slip::new(turn(m, body, carrier, 1.0), rub.mu * moment)
        }
    }
}

/// Slip at the side of the slot that the pin is pressed to: the pin's travel, plus its own turn on that side.
fn slot_slip(tangent: &Tangent, reactions: &Reactions, constraint: usize, radius: f64, mu: f64) -> Option<Slip> {
    let (m, params, poses) = tangent.pose();
    let force = reactions.of(m, constraint)[0];
    let (pin, host, mut by_pose) = match *m.constraints.get(constraint)? {
        Constraint::OnLine { pin, through, direction, .. } => {
            (pin, m.anchors[through].body, m.gradient_along(params, poses, pin, through, direction))
        }
        Constraint::Arc { pin, centre, .. } => {
            let (p, c) = (m.in_plane(params, poses, pin), m.in_plane(params, poses, centre));
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
            (pin, host, g)
        }
        _ => return None,
    };
    let inwards = if matches!(m.constraints[constraint], Constraint::Arc { .. }) { -1.0 } else { 1.0 };
    let side = radius * (inwards * force).signum();
    let turning = turn(m, m.anchors[pin].body, host, side);
    by_pose.iter_mut().zip(&turning).for_each(|(g, t)| *g += t);
    Slip::new(by_pose, mu * force.abs())
}

fn turn(m: &Mechanism, a: BodyId, b: BodyId, factor: f64) -> Vec<f64> {
    m.gradient(&m.params, &m.drawn, &Measure::Angle { body: a, against: b, offset: 0.0 })
        .by_pose
        .into_iter()
        .map(|x| factor * x)
        .collect()
}
