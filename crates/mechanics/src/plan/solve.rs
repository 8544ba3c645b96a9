//! One equation for one freedom: rods, arcs and lines.

use super::draft::{Draft, Group, Pen, Seat, Spin};
use super::moves::{Refused, cross, fix, fixed, group_of, length, times, travelling, turning};
use super::tape::{Pair, Value};
use crate::lanes::op::NEAR;
use crate::model::{AnchorId, BodyId, Constraint};

impl Draft<'_> {
    /// Pin, anchor of the line, its direction, whether it is the distance off the line (or along it) that is given, and that distance.
    pub(super) fn line_of(&mut self, c: usize) -> Option<(AnchorId, AnchorId, usize, bool, Value)> {
        match self.mechanism.constraints[c] {
            Constraint::OnLine {
                pin,
                through,
                direction,
                offset,
            } => Some((pin, through, direction, true, self.param(offset))),
            Constraint::Along {
                pin,
                through,
                direction,
                distance,
            } => Some((pin, through, direction, false, self.param(distance))),
            Constraint::Rack {
                gear,
                pin,
                through,
                direction,
                radius,
                offset,
            } => {
                let (gear, host) = (self.angle(gear), self.angle(self.body_of(through)));
                let turn = self.tape.diff(gear, host);
                let (radius, offset) = (self.param(radius), self.param(offset));
                let way = self.tape.prod(radius, turn);
                Some((pin, through, direction, false, self.tape.sum(way, offset)))
            }
            _ => None,
        }
    }

    /// The two anchors of a rod or an arc, its length, and whether stations count.
    pub(super) fn rod_of(&mut self, c: usize) -> Option<(AnchorId, AnchorId, Value, bool)> {
        match self.mechanism.constraints[c] {
            Constraint::Rod { a, b, length } => Some((a, b, self.param(length), true)),
            Constraint::Arc {
                pin,
                centre,
                radius,
            } => Some((pin, centre, self.param(radius), false)),
            _ => None,
        }
    }

    /// Square of a rod's length as seen in the plane of `anchor`, with the other end at `place`; and that end as seen there.
    pub(super) fn rod_seen(
        &mut self,
        anchor: AnchorId,
        other: AnchorId,
        place: Pair,
        length: Value,
        space: bool,
    ) -> (Pair, Value) {
        let square = self.tape.prod(length, length);
        if !space {
            return (place, square);
        }
        let (place, height) = self.seen_from(anchor, other, place);
        let height = self.tape.prod(height, height);
        (place, self.tape.diff(square, height))
    }

    pub(super) fn solve(&mut self, c: usize, group: Group) -> Result<(), Refused> {
        if let Some((a, b, length, space)) = self.rod_of(c) {
            // The end that moves with the group first.
            let (a, b) = if group_of(self.kind(a)) == Some(group) {
                (a, b)
            } else {
                (b, a)
            };
            let (at_a, at_b) = (self.at(a), self.at(b));
            let (target, square) = match at_b {
                Seat::Known(place) => self.rod_seen(a, b, place, length, space),
                Seat::Turn { p, .. } => self.rod_seen(a, b, p, length, space),
                _ => return Err(Refused::Slack),
            };
            match (at_a, at_b) {
                (Seat::Travel { p, d, .. }, _) => self.travel_by_rod(group, p, d, target, square),
                (Seat::Turn { p, q, .. }, Seat::Turn { q: q_b, .. }) => {
                    let q = self.tape.minus(q, q_b);
                    self.turn_by_rod(group, p, q, target, square).map(|_| ())
                }
                (Seat::Turn { p, q, .. }, _) => {
                    let w = self.turn_by_rod(group, p, q, target, square)?;
                    let place = self.tape.plus(p, w);
                    self.note(a, place);
                    Ok(())
                }
                _ => Err(Refused::Slack),
            }
        } else {
            self.solve_line(c, group)
        }
    }

    /// z from |p + q z − target|² = square. Gives w = q z.
    pub(super) fn turn_by_rod(
        &mut self,
        group: Group,
        p: Pair,
        q: Pair,
        target: Pair,
        square: Value,
    ) -> Result<Pair, Refused> {
        let to = self.tape.minus(target, p);
        let q2 = self.tape.square(q);
        let k = self.tape.diff(q2, square);
        let k = self.tape.prod(Value::Fixed(0.5), k);
        let drawn = match self.drawn_freedom(group) {
            Some(z) => {
                if length(q) < 1e-6 * self.size || length(to) < 1e-6 * self.size {
                    return Err(Refused::Slack);
                }
                Some(cross(fixed(to), times(fixed(q), z)))
            }
            None => None,
        };
        let side = self.side(drawn, length(to) * length(q))?;
        let memory = self.memory();
        let w = self.tape.reach(to, k, q2, side, memory);
        self.settle_arm(group, w, q);
        Ok(w)
    }

    /// t from |p + t d − target|² = square.
    pub(super) fn travel_by_rod(
        &mut self,
        group: Group,
        p: Pair,
        d: Pair,
        target: Pair,
        square: Value,
    ) -> Result<(), Refused> {
        let f = self.tape.minus(p, target);
        let off = self.tape.cross(d, f);
        let off = self.tape.prod(off, off);
        let rest = self.tape.diff(square, off);
        let along = self.tape.dot(d, f);
        let drawn = self.drawn_freedom(group).map(|t| t[0] + fix(along));
        let side = self.side(drawn, fix(square).abs().sqrt())?;
        let memory = self.memory();
        let root = self.tape.fold(rest, square, side, memory);
        let t = self.tape.diff(root, along);
        self.settle_travel(group, t);
        Ok(())
    }

    pub(super) fn solve_line(&mut self, c: usize, group: Group) -> Result<(), Refused> {
        let Some((pin, through, direction, off_line, distance)) = self.line_of(c) else {
            return Err(Refused::Slack);
        };
        let host = self.body_of(through);
        let (at_pin, at_through) = (self.at(pin), self.at(through));
        if let Spin::On { rho, .. } = self.spin[host] {
            // The line turns with the group.
            let Some((p, q)) = turning(at_pin, at_through) else {
                return Err(Refused::Slack);
            };
            let (f, q) = (self.tape.minus(p[0], p[1]), self.tape.minus(q[0], q[1]));
            let m = self.line_direction(rho, direction);
            let m = if off_line { self.tape.left(m) } else { m };
            let own = self.tape.dot(m, q);
            let c = self.tape.diff(distance, own);
            let drawn = match self.drawn_freedom(group) {
                Some(z) => {
                    if length(f) < 1e-6 * self.size {
                        return Err(Refused::Slack);
                    }
                    Some(cross(fixed(f), times(fixed(m), z)))
                }
                None => None,
            };
            let side = self.side(drawn, length(f))?;
            let memory = self.memory();
            let w = self
                .tape
                .meet(f, c, side, NEAR * self.size * self.size, memory);
            let z = self.tape.turn_back(w, m);
            self.settle_turn(group, z);
            return Ok(());
        }
        let t = self.line_direction(self.z(host), direction);
        let n = if off_line { self.tape.left(t) } else { t };
        if let Some((p, q)) = turning(at_pin, at_through) {
            let (f, q) = (self.tape.minus(p[0], p[1]), self.tape.minus(q[0], q[1]));
            let along = self.tape.dot(n, f);
            let along = self.tape.diff(distance, along);
            let w = self.arm_on_line(group, q, n, along)?;
            if let (Seat::Turn { p, .. }, Seat::Known(_)) = (at_pin, at_through) {
                let place = self.tape.plus(p, w);
                self.note(pin, place);
            }
        } else if let Some((p, d)) = travelling(at_pin, at_through) {
            let (f, d) = (self.tape.minus(p[0], p[1]), self.tape.minus(d[0], d[1]));
            let t = self.travel_on_line(f, d, n, distance)?;
            self.settle_travel(group, t);
        } else {
            return Err(Refused::Slack);
        }
        Ok(())
    }

    /// w = q z from n · w = along; z of the group.
    pub(super) fn arm_on_line(
        &mut self,
        group: Group,
        q: Pair,
        n: Pair,
        along: Value,
    ) -> Result<Pair, Refused> {
        let q2 = self.tape.square(q);
        let along2 = self.tape.prod(along, along);
        let rest = self.tape.diff(q2, along2);
        let drawn = match self.drawn_freedom(group) {
            Some(z) => {
                if length(q) < 1e-6 * self.size {
                    return Err(Refused::Slack);
                }
                Some(cross(fixed(n), times(fixed(q), z)))
            }
            None => None,
        };
        let side = self.side(drawn, length(q))?;
        let memory = self.memory();
        let root = self.tape.fold(rest, q2, side, memory);
        let left = self.tape.left(n);
        let across = self.tape.times(root, left);
        let on = self.tape.times(along, n);
        let w = self.tape.plus(on, across);
        self.settle_arm(group, w, q);
        Ok(w)
    }

    /// t from n · (f + t d) = distance.
    pub(super) fn travel_on_line(
        &mut self,
        f: Pair,
        d: Pair,
        n: Pair,
        distance: Value,
    ) -> Result<Value, Refused> {
        let rate = self.tape.dot(n, d);
        let drawn = self.first().then(|| fix(rate));
        let side = match self.side(drawn, 1.0) {
            Err(Refused::DeadCentre) => return Err(Refused::Slack),
            other => other?,
        };
        self.tape.above(rate, side, NEAR.sqrt());
        let along = self.tape.dot(n, f);
        let rest = self.tape.diff(distance, along);
        Ok(self.tape.quot(rest, rate))
    }

    pub(super) fn line(&mut self, c: usize, body: BodyId) -> Result<(), Refused> {
        let Some((pin, through, direction, off_line, distance)) = self.line_of(c) else {
            return Err(Refused::Slack);
        };
        let t = self.line_direction(self.z(self.body_of(through)), direction);
        let (n, d) = if off_line {
            (self.tape.left(t), t)
        } else {
            (t, self.tape.left(t))
        };
        let step = self.tape.times(distance, n);
        let (own, start) = if self.body_of(pin) == body {
            let start = self.place(through);
            (pin, self.tape.plus(start, step))
        } else {
            let start = self.place(pin);
            (through, self.tape.minus(start, step))
        };
        let arm = self.own(own);
        let p = self.less_turn(start, arm, self.z(body));
        let group = self.new_group();
        self.seat[body] = Seat::Travel { group, p, d };
        Ok(())
    }

    pub(super) fn circles(&mut self, c: usize, d: usize, body: BodyId) -> Result<(), Refused> {
        let mut ends = [[Value::ZERO; 2]; 2];
        let mut squares = [Value::ZERO; 2];
        for (i, rod) in [c, d].into_iter().enumerate() {
            let Some((a, b, length, space)) = self.rod_of(rod) else {
                return Err(Refused::Slack);
            };
            let (own, other) = if self.body_of(a) == body {
                (a, b)
            } else {
                (b, a)
            };
            let place = self.place(other);
            let (place, square) = self.rod_seen(own, other, place, length, space);
            let arm = self.own(own);
            ends[i] = self.less_turn(place, arm, self.z(body));
            squares[i] = square;
        }
        let to = self.tape.minus(ends[1], ends[0]);
        let k = self.tape.diff(squares[0], squares[1]);
        let k = self.tape.prod(Value::Fixed(0.5), k);
        let drawn = match self.pen {
            Pen::First(drawn) => {
                if length(to) < 1e-6 * self.size {
                    return Err(Refused::Slack);
                }
                let start = fixed(ends[0]);
                Some(cross(
                    fixed(to),
                    [drawn[body].x - start[0], drawn[body].y - start[1]],
                ))
            }
            Pen::Again => None,
        };
        let side = self.side(drawn, length(to) * fix(squares[0]).abs().sqrt())?;
        let memory = self.memory();
        let w = self.tape.reach(to, k, squares[0], side, memory);
        self.seat[body] = Seat::Known(self.tape.plus(ends[0], w));
        Ok(())
    }

    pub(super) fn dyad(&mut self, c: usize, g: Group, h: Group) -> Result<(), Refused> {
        let Constraint::Pin { a, b } = self.mechanism.constraints[c] else {
            return Err(Refused::Slack);
        };
        let (a, b) = if group_of(self.kind(a)) == Some(g) {
            (a, b)
        } else {
            (b, a)
        };
        match (self.at(a), self.at(b)) {
            (Seat::Turn { p, q, .. }, Seat::Turn { p: p_b, q: q_b, .. }) => {
                if self.first() && length(q_b) < 1e-6 * self.size {
                    return Err(Refused::Slack);
                }
                let square = self.tape.square(q_b);
                let w = self.turn_by_rod(g, p, q, p_b, square)?;
                let to = self.tape.minus(p_b, p);
                let v = self.tape.minus(w, to);
                self.settle_arm(h, v, q_b);
                self.note_pin(a, b, p, w);
            }
            (Seat::Turn { p, q, .. }, Seat::Travel { p: p_b, d, .. }) => {
                let n = self.tape.left(d);
                let f = self.tape.minus(p_b, p);
                let along = self.tape.dot(n, f);
                let w = self.arm_on_line(g, q, n, along)?;
                let v = self.tape.minus(w, f);
                let t = self.tape.dot(d, v);
                self.settle_travel(h, t);
                self.note_pin(a, b, p, w);
            }
            (Seat::Travel { p, d, .. }, Seat::Travel { p: p_b, d: d_b, .. }) => {
                let n = self.tape.left(d_b);
                let f = self.tape.minus(p, p_b);
                let t = self.travel_on_line(f, d, n, Value::ZERO)?;
                self.settle_travel(g, t);
                let way = self.tape.times(t, d);
                let v = self.tape.plus(f, way);
                let t = self.tape.dot(d_b, v);
                self.settle_travel(h, t);
                self.note_pin(a, b, p, way);
            }
            _ => return Err(Refused::Slack),
        }
        Ok(())
    }

    pub(super) fn note_pin(&mut self, a: AnchorId, b: AnchorId, p: Pair, w: Pair) {
        let place = self.tape.plus(p, w);
        self.note(a, place);
        self.note(b, place);
    }
}
