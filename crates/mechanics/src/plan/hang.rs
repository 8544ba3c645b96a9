//! What is given outright: turns by angles and gears, and bodies that hang on a pin.

use super::draft::{Draft, Group, Seat, Spin};
use super::moves::{CLOSED, Refused, length, travelling, turning};
use super::tape::{Pair, Value};
use crate::model::{AnchorId, BodyId, Constraint};

impl Draft<'_> {
    pub(super) fn turn_of(&mut self, c: usize, body: BodyId) -> Result<(), Refused> {
        let mechanism = self.mechanism;
        match mechanism.constraints[c] {
            Constraint::Angle {
                body: b,
                against,
                angle,
            } => {
                let add = self.param(angle);
                let (other, add) = if b == body {
                    (against, add)
                } else {
                    (b, self.tape.neg(add))
                };
                if let Spin::Known {
                    angle: Some(angle), ..
                } = self.spin[other]
                {
                    let angle = self.tape.sum(angle, add);
                    self.set_angle(body, angle);
                } else {
                    let by = self.tape.cos_sin(add);
                    let z = self.tape.turn(self.z(other), by);
                    self.set_spin(body, z, None);
                }
            }
            Constraint::Ratio {
                a,
                b,
                carrier,
                sizes,
                offset,
            } => {
                // sizes[0] a + sizes[1] b − (sizes[0] + sizes[1]) carrier = offset
                let weights = [
                    (a, sizes[0]),
                    (b, sizes[1]),
                    (carrier, -sizes[0] - sizes[1]),
                ];
                let own = weights
                    .iter()
                    .filter(|w| w.0 == body)
                    .map(|w| w.1)
                    .sum::<f64>();
                if own.abs() < 1e-9 * sizes[0].abs().max(sizes[1].abs()) {
                    return Err(Refused::Slack);
                }
                let mut sum = self.param(offset);
                for (other, weight) in weights {
                    if other != body {
                        let angle = self.angle(other);
                        let part = self.tape.prod(Value::Fixed(weight), angle);
                        sum = self.tape.diff(sum, part);
                    }
                }
                let angle = self.tape.prod(Value::Fixed(1.0 / own), sum);
                self.set_angle(body, angle);
            }
            Constraint::Course {
                cam,
                a,
                carrier,
                offset,
                ..
            } => {
                let (driver, carrier) = (self.angle(a), self.angle(carrier));
                let turn = self.tape.diff(driver, carrier);
                let [goes, _] = self.tape.course(cam, turn);
                let offset = self.param(offset);
                let angle = self.tape.sum(goes, offset);
                let angle = self.tape.sum(angle, carrier);
                self.set_angle(body, angle);
            }
            Constraint::Rack {
                gear,
                pin,
                through,
                direction,
                radius,
                offset,
            } => {
                let host = self.body_of(through);
                let (f, t) = self.on_known_line(pin, through, direction);
                let along = self.tape.dot(t, f);
                let offset = self.param(offset);
                let along = self.tape.diff(along, offset);
                let radius = self.param(radius);
                if self.first() && radius.fixed().is_none_or(|r| r.abs() < 1e-9 * self.size) {
                    return Err(Refused::Slack);
                }
                let by = self.tape.quot(along, radius);
                let host = self.angle(host);
                let angle = self.tape.sum(host, by);
                self.set_angle(gear, angle);
            }
            _ => return Err(Refused::Slack),
        }
        Ok(())
    }

    pub(super) fn tie(&mut self, c: usize) -> Result<(), Refused> {
        let Constraint::Angle {
            body,
            against,
            angle,
        } = self.mechanism.constraints[c]
        else {
            return Err(Refused::Slack);
        };
        let angle = self.param(angle);
        let by = self.tape.cos_sin(angle);
        match (self.spin[body], self.spin[against]) {
            (Spin::Open, Spin::On { group, rho }) => {
                self.spin[body] = Spin::On {
                    group,
                    rho: self.tape.turn(rho, by),
                };
            }
            (Spin::On { group, rho }, Spin::Open) => {
                self.spin[against] = Spin::On {
                    group,
                    rho: self.tape.turn_back(rho, by),
                };
            }
            (
                Spin::On { group: g, rho },
                Spin::On {
                    group: h,
                    rho: other,
                },
            ) => {
                // z_g rho = z_h other by, so z_g = m z_h.
                let turned = self.tape.turn(other, by);
                let m = self.tape.turn_back(turned, rho);
                for b in 1..self.spin.len() {
                    if let Spin::On { group, rho } = self.spin[b]
                        && group == g
                    {
                        self.spin[b] = Spin::On {
                            group: h,
                            rho: self.tape.turn(rho, m),
                        };
                    }
                    if let Seat::Turn { group, p, q } = self.seat[b]
                        && group == g
                    {
                        self.seat[b] = Seat::Turn {
                            group: h,
                            p,
                            q: self.tape.turn(q, m),
                        };
                    }
                }
            }
            _ => return Err(Refused::Slack),
        }
        Ok(())
    }

    /// The two anchors of a pin, that of `body` first.
    pub(super) fn pin_of(&self, c: usize, body: BodyId) -> (AnchorId, AnchorId) {
        match self.mechanism.constraints[c] {
            Constraint::Pin { a, b } if self.body_of(a) == body => (a, b),
            Constraint::Pin { a, b } => (b, a),
            _ => (0, 0),
        }
    }

    pub(super) fn hang(&mut self, c: usize, body: BodyId) {
        let (own, other) = self.pin_of(c, body);
        let at = self.at(other);
        if let (Spin::Open, Seat::Known(_)) = (self.spin[body], at) {
            let group = self.new_group();
            self.spin[body] = Spin::On {
                group,
                rho: [Value::ONE, Value::ZERO],
            };
        }
        let arm = self.own(own);
        self.seat[body] = match (at, self.spin[body]) {
            (Seat::Known(p), Spin::Known { z, .. }) => Seat::Known(self.less_turn(p, arm, z)),
            (Seat::Known(p), Spin::On { group, rho }) => {
                let q = self.tape.turn(arm, rho);
                Seat::Turn {
                    group,
                    p,
                    q: self.tape.opposite(q),
                }
            }
            (Seat::Turn { group, p, q }, Spin::Known { z, .. }) => Seat::Turn {
                group,
                p: self.less_turn(p, arm, z),
                q,
            },
            (Seat::Turn { group, p, q }, Spin::On { rho, .. }) => Seat::Turn {
                group,
                p,
                q: self.less_turn(q, arm, rho),
            },
            (Seat::Travel { group, p, d }, Spin::Known { z, .. }) => Seat::Travel {
                group,
                p: self.less_turn(p, arm, z),
                d,
            },
            _ => Seat::Open,
        };
        if let Seat::Known(p) = at {
            self.note(own, p);
        }
    }

    /// start − a b
    pub(super) fn less_turn(&mut self, start: Pair, a: Pair, b: Pair) -> Pair {
        let a = self.tape.opposite(a);
        self.tape.plus_turn(start, a, b)
    }

    /// A turning group from w = q z.
    pub(super) fn settle_arm(&mut self, group: Group, w: Pair, q: Pair) {
        let square = self.tape.square(q);
        let inverse = self.tape.quot(Value::ONE, square);
        let back = self.tape.times(inverse, q);
        let z = self.tape.turn_back(w, back);
        self.settle_turn(group, z);
    }

    pub(super) fn aim(&mut self, c: usize, group: Group) -> Result<(), Refused> {
        let Constraint::Pin { a, b } = self.mechanism.constraints[c] else {
            return Err(Refused::Slack);
        };
        let (at_a, at_b) = (self.at(a), self.at(b));
        if let Some((p, q)) = turning(at_a, at_b) {
            let (f, q) = (self.tape.minus(p[1], p[0]), self.tape.minus(q[0], q[1]));
            if self.first() && length(q) < 1e-6 * self.size {
                return Err(Refused::Slack);
            }
            let (f2, q2) = (self.tape.square(f), self.tape.square(q));
            let off = self.tape.diff(f2, q2);
            let off = self.tape.quot(off, q2);
            self.tape.within(off, CLOSED);
            self.settle_arm(group, f, q);
        } else if let Some((p, d)) = travelling(at_a, at_b) {
            let (f, d) = (self.tape.minus(p[1], p[0]), self.tape.minus(d[0], d[1]));
            let off = self.tape.cross(d, f);
            self.tape.within(off, CLOSED * self.size);
            let t = self.tape.dot(d, f);
            self.settle_travel(group, t);
        } else {
            return Err(Refused::Slack);
        }
        Ok(())
    }

    /// `pin − through` where both stand, and the direction of the line on its standing body.
    pub(super) fn on_known_line(
        &mut self,
        pin: AnchorId,
        through: AnchorId,
        direction: usize,
    ) -> (Pair, Pair) {
        let (p, q) = (self.place(pin), self.place(through));
        let t = self.line_direction(self.z(self.body_of(through)), direction);
        (self.tape.minus(p, q), t)
    }

    pub(super) fn line_direction(&mut self, z: Pair, direction: usize) -> Pair {
        let direction = self.param(direction);
        let own = self.tape.cos_sin(direction);
        self.tape.turn(own, z)
    }
}
