//! The closed forms: each move uses up constraints and makes bodies known.
//!
//! A turn z is found from `w · to = |to|²/2 + k` with w = q z (circle and circle: rods, arcs, two bodies that share a pin), from
//! `n · w = k` (circle and line) or from `(m z) · f = c` (a pin on a line that turns); a travel from a line or a circle. Which of two
//! ways to assemble is read off the drawn pose once.

use super::block::Block;
use super::draft::{Draft, Group, Pen, Seat, Spin};
use super::tape::{Node, Pair, Start, Value};
use crate::lanes::op::NEAR;
use crate::model::BodyId;

/// Closing error at which a lane is given up, as a share of the size.
pub(super) const CLOSED: f64 = 1e-10;

/// One step of a plan. Numbers are indices of constraints.
#[derive(Clone, Debug)]
pub(super) enum Move {
    /// An angle, ratio or rack gives the turn of a body.
    Turn(usize, BodyId),
    /// An angle ties the turn of a body to a group, or one group to another.
    Tie(usize),
    /// A pin holds the second body, of which only the place was open (or nothing known at all: a new turning group).
    Hang(usize, BodyId),
    /// A pin gives the turn or travel of a group whose other side stands; one of its equations is left over.
    Aim(usize, Group),
    /// One equation gives the turn or travel of a group.
    Solve(usize, Group),
    /// One line leaves a body that does not turn one travel.
    Line(usize, BodyId),
    /// Two rods hold a body that does not turn.
    Circles(usize, usize, BodyId),
    /// A pin that two groups share gives both.
    Dyad(usize, Group, Group),
    /// A constraint between bodies that stand: left over, checked.
    Check(usize),
    /// A group of bodies that no closed form splits.
    Newton(Box<Block>),
}

/// A move that cannot be made at the drawn pose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Refused {
    /// Its equation does not depend on the unknown there.
    Slack,
    /// Two ways of assembling meet there.
    DeadCentre,
}

impl Draft<'_> {
    /// Makes a move. The first time it may be refused; nothing is changed then.
    pub(super) fn make(&mut self, mv: &Move) -> Result<(), Refused> {
        match mv {
            Move::Turn(c, body) => self.turn_of(*c, *body),
            Move::Tie(c) => self.tie(*c),
            Move::Hang(c, body) => {
                self.hang(*c, *body);
                Ok(())
            }
            Move::Aim(c, group) => self.aim(*c, *group),
            Move::Solve(c, group) => self.solve(*c, *group),
            Move::Line(c, body) => self.line(*c, *body),
            Move::Circles(c, d, body) => self.circles(*c, *d, *body),
            Move::Dyad(c, g, h) => self.dyad(*c, *g, *h),
            Move::Check(c) => {
                self.check(*c);
                Ok(())
            }
            Move::Newton(block) => {
                self.newton(block);
                Ok(())
            }
        }
    }

    pub(super) fn first(&self) -> bool {
        matches!(self.pen, Pen::First(_))
    }

    /// The side on which the drawn pose stands: `drawn` is the root there, `greatest` its greatest value.
    pub(super) fn side(&mut self, drawn: Option<f64>, greatest: f64) -> Result<f64, Refused> {
        if let Some(root) = drawn {
            if root.is_nan() || root * root <= 4.0 * NEAR * greatest * greatest {
                return Err(Refused::DeadCentre);
            }
            self.sides.push(root.signum());
        }
        let side = self.sides.get(self.next_side).copied().unwrap_or(1.0);
        self.next_side += 1;
        Ok(side)
    }

    pub(super) fn memory(&mut self) -> Option<u16> {
        self.remembers.then(|| self.tape.cell(Start::Unset))
    }

    /// z of a turning group in the drawn pose; travel of a sliding one in its first entry.
    pub(super) fn drawn_freedom(&self, group: Group) -> Option<[f64; 2]> {
        let Pen::First(drawn) = self.pen else {
            return None;
        };
        for (body, pose) in drawn.iter().enumerate() {
            if let Spin::On { group: g, rho } = self.spin[body]
                && g == group
            {
                let (s, c) = pose.angle.sin_cos();
                let [a, b] = fixed(rho);
                return Some([c * a + s * b, s * a - c * b]);
            }
            if let Seat::Travel { group: g, p, d } = self.seat[body]
                && g == group
            {
                let (p, d) = (fixed(p), fixed(d));
                return Some([(pose.x - p[0]) * d[0] + (pose.y - p[1]) * d[1], 0.0]);
            }
        }
        None
    }

    /// Compares a number with its last value; see `Op::Steady`.
    pub(super) fn steady(&mut self, a: Value) {
        if let Some(memory) = self.memory() {
            self.tape.act(Node::Steady { a, memory });
        }
    }
}

/// The group a place depends on.
pub(super) fn group_of(seat: Seat) -> Option<Group> {
    match seat {
        Seat::Turn { group, .. } | Seat::Travel { group, .. } => Some(group),
        _ => None,
    }
}

/// Both places as p + q z of one group; `None` when neither turns or one travels.
pub(super) fn turning(a: Seat, b: Seat) -> Option<([Pair; 2], [Pair; 2])> {
    let zero = [Value::ZERO; 2];
    match (a, b) {
        (Seat::Turn { p, q, .. }, Seat::Known(k)) => Some(([p, k], [q, zero])),
        (Seat::Known(k), Seat::Turn { p, q, .. }) => Some(([k, p], [zero, q])),
        (Seat::Turn { p, q, .. }, Seat::Turn { p: p_b, q: q_b, .. }) => Some(([p, p_b], [q, q_b])),
        // A line that turns about a known point of itself.
        (Seat::Known(k), Seat::Known(l)) => Some(([k, l], [zero, zero])),
        _ => None,
    }
}

/// Both places as p + t d of one group.
pub(super) fn travelling(a: Seat, b: Seat) -> Option<([Pair; 2], [Pair; 2])> {
    let zero = [Value::ZERO; 2];
    match (a, b) {
        (Seat::Travel { p, d, .. }, Seat::Known(k)) => Some(([p, k], [d, zero])),
        (Seat::Known(k), Seat::Travel { p, d, .. }) => Some(([k, p], [zero, d])),
        (Seat::Travel { p, d, .. }, Seat::Travel { p: p_b, d: d_b, .. }) => {
            Some(([p, p_b], [d, d_b]))
        }
        _ => None,
    }
}

/// Numbers of the first writing; zero where they vary.
pub(super) fn fix(v: Value) -> f64 {
    v.fixed().unwrap_or(0.0)
}

pub(super) fn fixed(p: Pair) -> [f64; 2] {
    [fix(p[0]), fix(p[1])]
}

pub(super) fn length(p: Pair) -> f64 {
    fix(p[0]).hypot(fix(p[1]))
}

pub(super) fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

pub(super) fn times(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}
