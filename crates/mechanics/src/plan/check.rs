//! Constraints that are left over: between bodies that stand already.

use super::draft::{Draft, Spin};
use super::moves::CLOSED;
use super::tape::Value;
use crate::model::Constraint;

impl Draft<'_> {
    /// A constraint between bodies that stand.
    pub(super) fn check(&mut self, c: usize) {
        let limit = CLOSED * self.size;
        match self.mechanism.constraints[c] {
            Constraint::Pin { a, b } => {
                let (p, q) = (self.place(a), self.place(b));
                let off = self.tape.minus(p, q);
                self.tape.within(off[0], limit);
                self.tape.within(off[1], limit);
            }
            Constraint::Rod { .. } | Constraint::Arc { .. } => {
                let Some((a, b, length, space)) = self.rod_of(c) else {
                    return;
                };
                let (p, q) = (self.place(a), self.place(b));
                let (q, square) = self.rod_seen(a, b, q, length, space);
                let off = self.tape.minus(p, q);
                let far = self.tape.square(off);
                let off = self.tape.diff(far, square);
                let off = self.tape.quot(off, length);
                self.tape.within(off, 2.0 * limit);
            }
            Constraint::Angle {
                body,
                against,
                angle,
            } => {
                let angle = self.param(angle);
                if let (Spin::Known { angle: Some(a), .. }, Spin::Known { angle: Some(b), .. }) =
                    (self.spin[body], self.spin[against])
                {
                    let off = self.tape.diff(a, b);
                    let off = self.tape.diff(off, angle);
                    self.tape.within(off, CLOSED);
                } else {
                    let by = self.tape.cos_sin(angle);
                    let z = self.tape.turn(self.z(against), by);
                    let off = self.tape.cross(z, self.z(body));
                    self.tape.within(off, CLOSED);
                    let along = self.tape.dot(z, self.z(body));
                    self.tape.above(along, 1.0, 0.0);
                }
            }
            Constraint::Ratio {
                a,
                b,
                carrier,
                sizes,
                offset,
            } => {
                let (a, b, carrier) = (self.angle(a), self.angle(b), self.angle(carrier));
                let offset = self.param(offset);
                let mut off = self.tape.neg(offset);
                for (angle, weight) in [
                    (a, sizes[0]),
                    (b, sizes[1]),
                    (carrier, -sizes[0] - sizes[1]),
                ] {
                    let part = self.tape.prod(Value::Fixed(weight), angle);
                    off = self.tape.sum(off, part);
                }
                self.tape
                    .within(off, CLOSED * sizes[0].abs().max(sizes[1].abs()));
            }
            Constraint::Course {
                cam,
                a,
                b,
                carrier,
                offset,
            } => {
                let [a, b, carrier] = [a, b, carrier].map(|x| self.angle(x));
                let turn = self.tape.diff(a, carrier);
                let [goes, _] = self.tape.course(cam, turn);
                let offset = self.param(offset);
                let off = self.tape.diff(b, carrier);
                let off = self.tape.diff(off, goes);
                let off = self.tape.diff(off, offset);
                self.tape.within(off, CLOSED);
            }
            Constraint::OnLine { .. } | Constraint::Along { .. } | Constraint::Rack { .. } => {
                let Some((pin, through, direction, off_line, distance)) = self.line_of(c) else {
                    return;
                };
                let (f, t) = self.on_known_line(pin, through, direction);
                let off = if off_line {
                    self.tape.cross(t, f)
                } else {
                    self.tape.dot(t, f)
                };
                let off = self.tape.diff(off, distance);
                self.tape.within(off, limit);
            }
            Constraint::Cam {
                cam,
                centre,
                pin,
                clock,
                swell,
                roller,
            } => {
                let (f, t) = self.on_known_line(pin, centre, clock);
                let place = [self.tape.dot(t, f), self.tape.cross(t, f)];
                let swell = self.swell(cam, swell, roller);
                let [off, ..] = self.tape.cam(cam, place, swell);
                self.tape.within(off, limit);
            }
        }
    }
}
