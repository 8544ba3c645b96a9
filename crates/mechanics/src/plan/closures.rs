//! The equations of a block: where its bodies stand for given unknowns, and what is left open there.

use super::block::{Block, Seating};
use super::draft::{Draft, Seat};
use super::dual::{Dual, DualPair, known};
use super::newton::{State, Unknown};
use super::tape::{Pair, Value};
use crate::model::{AnchorId, BodyId, Constraint};

/// Turn of a body of the block: unit vector, the unknown it turns with, and the angle with its derivative.
#[derive(Clone, Debug)]
pub(super) struct Turned {
    pub(super) z: Pair,
    /// With the scale that its changes are solved for.
    unknown: Option<(usize, f64)>,
    pub(super) angle: Option<Value>,
}

/// Turns and places of the block's bodies.
pub(super) struct Stand {
    pub(super) turns: Vec<(BodyId, Turned)>,
    pub(super) places: Vec<(BodyId, DualPair)>,
}

impl Draft<'_> {
    pub(super) fn stand(&mut self, block: &Block, states: &[State]) -> Stand {
        let mut turns: Vec<(BodyId, Turned)> = Vec::new();
        for (u, (unknown, state)) in block.unknowns.iter().zip(states).enumerate() {
            if let Unknown::Turn(b) | Unknown::Angle(b) = *unknown {
                turns.push((
                    b,
                    Turned {
                        z: state.z,
                        unknown: Some((u, block.scales[u])),
                        angle: state.angle,
                    },
                ));
            }
        }
        for &(body, c, from) in &block.ties {
            let Constraint::Angle { body: b, angle, .. } = self.mechanism.constraints[c] else {
                continue;
            };
            let Some(other) = turns.iter().find(|t| t.0 == from).map(|t| t.1.clone()) else {
                continue;
            };
            let add = self.param(angle);
            let add = if b == body { add } else { self.tape.neg(add) };
            let by = self.tape.cos_sin(add);
            let z = self.tape.turn(other.z, by);
            let angle = other.angle.map(|a| self.tape.sum(a, add));
            turns.push((
                body,
                Turned {
                    z,
                    unknown: other.unknown,
                    angle,
                },
            ));
        }
        let mut stand = Stand {
            turns,
            places: Vec::new(),
        };
        for &(body, seating) in &block.bodies {
            let place = match seating {
                Seating::Known => match self.seat[body] {
                    Seat::Known(p) => known(p),
                    _ => continue,
                },
                Seating::Free => {
                    let find = |wanted| block.unknowns.iter().position(|u| *u == wanted);
                    let (Some(x), Some(y)) = (find(Unknown::X(body)), find(Unknown::Y(body)))
                    else {
                        continue;
                    };
                    [x, y].map(|u| Dual {
                        value: states[u].z[0],
                        by: vec![(u, Value::ONE)],
                    })
                }
                Seating::Pin(c) => {
                    let Constraint::Pin { a, b } = self.mechanism.constraints[c] else {
                        continue;
                    };
                    let (own, other) = if self.body_of(a) == body {
                        (a, b)
                    } else {
                        (b, a)
                    };
                    let pin = self.point(&stand, other);
                    let arm = self.arm(&stand, own);
                    self.tape.dual_minus(&pin, &arm)
                }
            };
            stand.places.push((body, place));
        }
        stand
    }

    fn turned(&mut self, stand: &Stand, body: BodyId) -> Turned {
        match stand.turns.iter().find(|t| t.0 == body) {
            Some((_, t)) => t.clone(),
            None => Turned {
                z: self.z(body),
                unknown: None,
                angle: None,
            },
        }
    }

    /// From a body's origin to its anchor.
    fn arm(&mut self, stand: &Stand, anchor: AnchorId) -> DualPair {
        let t = self.turned(stand, self.body_of(anchor));
        let own = self.own(anchor);
        self.tape.dual_turn(own, t.z, t.unknown)
    }

    fn point(&mut self, stand: &Stand, anchor: AnchorId) -> DualPair {
        // A body of the block stands where the block puts it, even if a pin of it has been seen before: that pin may be the one
        // that closes the block.
        let body = self.body_of(anchor);
        if let Some((_, place)) = stand.places.iter().find(|p| p.0 == body) {
            let arm = self.arm(stand, anchor);
            return self.tape.dual_plus(place, &arm);
        }
        match self.at(anchor) {
            Seat::Known(p) => known(p),
            _ => self.arm(stand, anchor),
        }
    }

    /// `pin − through` and the direction of the line.
    fn line_duals(
        &mut self,
        stand: &Stand,
        pin: AnchorId,
        through: AnchorId,
        direction: usize,
    ) -> (DualPair, DualPair) {
        let (p, q) = (self.point(stand, pin), self.point(stand, through));
        let f = self
            .tape
            .dual_minus(&p, &q)
            .map(|x| self.tape.dual_gather(x));
        let direction = self.param(direction);
        let own = self.tape.cos_sin(direction);
        let host = self.turned(stand, self.body_of(through));
        (f, self.tape.dual_turn(own, host.z, host.unknown))
    }

    fn angle_dual(&mut self, stand: &Stand, body: BodyId) -> Dual {
        let t = self.turned(stand, body);
        match (t.unknown, t.angle) {
            (Some((u, scale)), angle) => Dual {
                value: angle.unwrap_or(Value::ZERO),
                by: vec![(u, Value::Fixed(1.0 / scale))],
            },
            (None, _) => Dual::from(self.angle(body)),
        }
    }

    fn row(&mut self, stand: &Stand, c: usize, row: usize) -> Dual {
        match self.mechanism.constraints[c] {
            Constraint::Pin { a, b } => {
                let (p, q) = (self.point(stand, a), self.point(stand, b));
                let off = self.tape.dual_diff(&p[row], &q[row]);
                self.tape.dual_gather(off)
            }
            Constraint::Arc {
                pin,
                centre,
                radius,
            } => {
                let (p, q) = (self.point(stand, pin), self.point(stand, centre));
                let f = self
                    .tape
                    .dual_minus(&p, &q)
                    .map(|x| self.tape.dual_gather(x));
                self.stretch(&f, radius)
            }
            Constraint::Rod { a, b, length } => {
                let (here, there) = (&self.mechanism.anchors[a], &self.mechanism.anchors[b]);
                let (plane, other) = (
                    self.mechanism.planes[here.plane],
                    self.mechanism.planes[there.plane],
                );
                let same = here.plane == there.plane;
                let (p, q) = (self.point(stand, a), self.point(stand, b));
                let (w, v) = (self.param(here.w), self.param(there.w));
                if same {
                    let [x, y] = self
                        .tape
                        .dual_minus(&p, &q)
                        .map(|x| self.tape.dual_gather(x));
                    let height = Dual::from(self.tape.diff(w, v));
                    self.stretch(&[x, y, height], length)
                } else {
                    let (p, q) = (
                        self.dual_in_space(&plane, &p, w),
                        self.dual_in_space(&other, &q, v),
                    );
                    let f: [Dual; 3] = std::array::from_fn(|i| self.tape.dual_diff(&p[i], &q[i]));
                    self.stretch(&f, length)
                }
            }
            Constraint::OnLine {
                pin,
                through,
                direction,
                offset,
            } => {
                let (f, t) = self.line_duals(stand, pin, through, direction);
                let off = self.tape.dual_cross(&t, &f);
                let offset = Dual::from(self.param(offset));
                self.tape.dual_diff(&off, &offset)
            }
            Constraint::Along {
                pin,
                through,
                direction,
                distance,
            } => {
                let (f, t) = self.line_duals(stand, pin, through, direction);
                let along = self.tape.dual_dot(&t, &f);
                let distance = Dual::from(self.param(distance));
                self.tape.dual_diff(&along, &distance)
            }
            Constraint::Angle {
                body,
                against,
                angle,
            } => {
                let (a, b) = (
                    self.angle_dual(stand, body),
                    self.angle_dual(stand, against),
                );
                let off = self.tape.dual_diff(&a, &b);
                let angle = Dual::from(self.param(angle));
                self.tape.dual_diff(&off, &angle)
            }
            Constraint::Ratio {
                a,
                b,
                carrier,
                sizes,
                offset,
            } => {
                let offset = self.param(offset);
                let mut off = Dual::from(self.tape.neg(offset));
                for (body, weight) in [
                    (a, sizes[0]),
                    (b, sizes[1]),
                    (carrier, -sizes[0] - sizes[1]),
                ] {
                    let angle = self.angle_dual(stand, body);
                    let part = self.tape.dual_scale(Value::Fixed(weight), &angle);
                    off = self.tape.dual_sum(&off, &part);
                }
                off
            }
            Constraint::Course {
                cam,
                a,
                b,
                carrier,
                offset,
            } => {
                let [a, b, carrier] = [a, b, carrier].map(|x| self.angle_dual(stand, x));
                let turn = self.tape.dual_diff(&a, &carrier);
                let [goes, rate] = self.tape.course(cam, turn.value);
                let by = Dual {
                    value: Value::ZERO,
                    by: turn.by,
                };
                let goes = Dual {
                    value: goes,
                    by: self.tape.dual_scale(rate, &by).by,
                };
                let off = self.tape.dual_diff(&b, &carrier);
                let off = self.tape.dual_diff(&off, &goes);
                let offset = Dual::from(self.param(offset));
                self.tape.dual_diff(&off, &offset)
            }
            Constraint::Rack {
                gear,
                pin,
                through,
                direction,
                radius,
                offset,
            } => {
                let (f, t) = self.line_duals(stand, pin, through, direction);
                let along = self.tape.dual_dot(&t, &f);
                let (gear, host) = (
                    self.angle_dual(stand, gear),
                    self.angle_dual(stand, self.body_of(through)),
                );
                let turn = self.tape.dual_diff(&gear, &host);
                let radius = self.param(radius);
                let way = self.tape.dual_scale(radius, &turn);
                let off = self.tape.dual_diff(&along, &way);
                let offset = Dual::from(self.param(offset));
                self.tape.dual_diff(&off, &offset)
            }
            Constraint::Cam {
                cam,
                centre,
                pin,
                clock,
                swell,
                roller,
            } => {
                let (f, t) = self.line_duals(stand, pin, centre, clock);
                let place = [self.tape.dual_dot(&t, &f), self.tape.dual_cross(&t, &f)];
                let swell = self.swell(cam, swell, roller);
                let [off, by_a, by_b] = self.tape.cam(cam, [place[0].value, place[1].value], swell);
                let rate = place.map(|p| Dual {
                    value: Value::ZERO,
                    by: p.by,
                });
                let along = self.tape.dual_scale(by_a, &rate[0]);
                let aside = self.tape.dual_scale(by_b, &rate[1]);
                Dual {
                    value: off,
                    by: self.tape.dual_sum(&along, &aside).by,
                }
            }
        }
    }

    /// Half of `|f|² − length²`.
    fn stretch(&mut self, f: &[Dual], length: usize) -> Dual {
        let length = self.param(length);
        let square = self.tape.prod(length, length);
        let mut value = self.tape.neg(square);
        let mut rate = Dual::from(Value::ZERO);
        for part in f {
            let square = self.tape.prod(part.value, part.value);
            value = self.tape.sum(value, square);
            let own = Dual {
                value: Value::ZERO,
                by: part.by.clone(),
            };
            let own = self.tape.dual_scale(part.value, &own);
            rate = self.tape.dual_sum(&rate, &own);
        }
        Dual {
            value: self.tape.prod(Value::Fixed(0.5), value),
            by: rate.by,
        }
    }

    pub(super) fn block_rows(&mut self, block: &Block, states: &[State]) -> Vec<Dual> {
        let stand = self.stand(block, states);
        block
            .rows
            .iter()
            .map(|(c, row)| self.row(&stand, *c, *row))
            .collect()
    }
}
