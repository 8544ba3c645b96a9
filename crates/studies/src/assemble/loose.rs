//! Freedoms that no drive holds. They are found when the machine is put together and held as drawn, so that everything else
//! can still be worked out; `check` tells of them.

use super::{Group, Joint};
use mechanics::mobility;
use mechanics::model::{BodyId, Constraint, Mechanism};

/// A freedom left with every drive held, and how it was held.
#[derive(Clone, Debug)]
pub(crate) struct Loose {
    /// Bodies that move, and whether each turns.
    pub(crate) moves: Vec<(BodyId, bool)>,
}

/// Bodies move in a free motion when their share of it is above this.
const MOVES: f64 = 1e-6;

/// Adds constraints that hold what is loose.
pub(super) fn hold(
    mechanism: &mut Mechanism,
    joints: &mut Vec<Joint>,
    groups: &[Group],
) -> Vec<Loose> {
    let mut loose = Vec::new();
    for group in groups {
        let mut own = group.mechanism.clone();
        // Each turn holds one freedom, so the count of unknowns bounds the loop.
        for _ in 0..own.unknowns() {
            let found = mobility(&own, &own.params, &own.drawn);
            let Some(motion) = found.free.first() else {
                break;
            };
            let moves =
                (1..own.bodies.len()).filter(|&b| motion[b].iter().any(|x| x.abs() > MOVES));
            let moves = moves
                .map(|b| (group.bodies[b], motion[b][2].abs() > MOVES))
                .collect();
            let held = lock(&mut own, motion);
            // The same lock in the whole mechanism; the group's anchors and parameters have other numbers there.
            let whole = match held {
                Lock::Turn { body, against } => {
                    mechanism.hold_angle(group.bodies[body], group.bodies[against]);
                    true
                }
                Lock::Shift { body, along } => {
                    shift(mechanism, group.bodies[body], along);
                    true
                }
                Lock::None => false,
            };
            if !whole {
                break;
            }
            joints.push(Joint::Held(loose.len()));
            loose.push(Loose { moves });
        }
    }
    loose
}

enum Lock {
    Turn { body: BodyId, against: BodyId },
    Shift { body: BodyId, along: f64 },
    None,
}

/// Holds one free motion: the turn of a part against the part it is pinned to, or else a shift.
fn lock(own: &mut Mechanism, motion: &[[f64; 3]]) -> Lock {
    let mut best = (0.0, 0, 0);
    for c in &own.constraints {
        let Constraint::Pin { a, b } = *c else {
            continue;
        };
        let (p, q) = (own.anchors[a].body, own.anchors[b].body);
        let turn = (motion[p][2] - motion[q][2]).abs();
        if turn > best.0 + MOVES {
            let (body, against) = if q != 0 { (q, p) } else { (p, q) };
            best = (turn, body, against);
        }
    }
    if best.0 <= MOVES {
        // Not pinned to anything, but turning: hold it against the frame.
        for (b, m) in motion.iter().enumerate().skip(1) {
            if m[2].abs() > best.0 + MOVES {
                best = (m[2].abs(), b, 0);
            }
        }
    }
    if best.0 > 0.01 {
        own.hold_angle(best.1, best.2);
        return Lock::Turn {
            body: best.1,
            against: best.2,
        };
    }
    let far = |m: &[f64; 3]| m[0].hypot(m[1]);
    let mut body = 0;
    for (b, m) in motion.iter().enumerate() {
        if far(m) > far(&motion[body]) {
            body = b;
        }
    }
    if body == 0 {
        return Lock::None;
    }
    let along = motion[body][1].atan2(motion[body][0]);
    shift(own, body, along);
    Lock::Shift { body, along }
}

/// Holds a body's origin along a direction of its plane.
fn shift(m: &mut Mechanism, body: BodyId, along: f64) {
    let plane = m.bodies[body].plane;
    let (pin, through) = (
        m.anchor(body, plane, [0.0; 3]),
        m.anchor(0, plane, [0.0; 3]),
    );
    let place = m.drawn[body];
    let (direction, distance) = (
        m.param(along),
        m.param(place.x * along.cos() + place.y * along.sin()),
    );
    m.constrain(Constraint::Along {
        pin,
        through,
        direction,
        distance,
    });
}
