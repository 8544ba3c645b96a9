//! The closed forms: each move uses up constraints and makes bodies known.
//!
//! A turn z is found from `w · to = |to|²/2 + k` with w = q z (circle and circle: rods, arcs, two bodies that share a pin), from
//! `n · w = k` (circle and line) or from `(m z) · f = c` (a pin on a line that turns); a travel from a line or a circle. Which of two
//! ways to assemble is read off the drawn pose once.

use super::block::Block;
use super::draft::{Draft, Group, Pen, Seat, Spin};
use super::tape::{Node, Pair, Start, Value};
use crate::lanes::op::NEAR;
use crate::model::{AnchorId, BodyId, Constraint};

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

    fn first(&self) -> bool {
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

    fn memory(&mut self) -> Option<u16> {
        self.remembers.then(|| self.tape.cell(Start::Unset))
    }

    /// z of a turning group in the drawn pose; travel of a sliding one in its first entry.
    fn drawn_freedom(&self, group: Group) -> Option<[f64; 2]> {
        let Pen::First(drawn) = self.pen else { return None };
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

    fn turn_of(&mut self, c: usize, body: BodyId) -> Result<(), Refused> {
        let mechanism = self.mechanism;
        match mechanism.constraints[c] {
            Constraint::Angle { body: b, against, angle } => {
                let add = self.param(angle);
                let (other, add) = if b == body { (against, add) } else { (b, self.tape.neg(add)) };
                if let Spin::Known { angle: Some(angle), .. } = self.spin[other] {
                    let angle = self.tape.sum(angle, add);
                    self.set_angle(body, angle);
                } else {
                    let by = self.tape.cos_sin(add);
                    let z = self.tape.turn(self.z(other), by);
                    self.set_spin(body, z, None);
                }
            }
            Constraint::Ratio { a, b, carrier, sizes, offset } => {
                // sizes[0] a + sizes[1] b − (sizes[0] + sizes[1]) carrier = offset
                let weights = [(a, sizes[0]), (b, sizes[1]), (carrier, -sizes[0] - sizes[1])];
                let own = weights.iter().filter(|w| w.0 == body).map(|w| w.1).sum::<f64>();
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
            Constraint::Rack { gear, pin, through, direction, radius, offset } => {
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

    fn tie(&mut self, c: usize) -> Result<(), Refused> {
        let Constraint::Angle { body, against, angle } = self.mechanism.constraints[c] else { return Err(Refused::Slack) };
        let angle = self.param(angle);
        let by = self.tape.cos_sin(angle);
        match (self.spin[body], self.spin[against]) {
            (Spin::Open, Spin::On { group, rho }) => {
                self.spin[body] = Spin::On { group, rho: self.tape.turn(rho, by) };
            }
            (Spin::On { group, rho }, Spin::Open) => {
                self.spin[against] = Spin::On { group, rho: self.tape.turn_back(rho, by) };
            }
            (Spin::On { group: g, rho }, Spin::On { group: h, rho: other }) => {
                // z_g rho = z_h other by, so z_g = m z_h.
                let turned = self.tape.turn(other, by);
                let m = self.tape.turn_back(turned, rho);
                for b in 1..self.spin.len() {
                    if let Spin::On { group, rho } = self.spin[b]
                        && group == g
                    {
                        self.spin[b] = Spin::On { group: h, rho: self.tape.turn(rho, m) };
                    }
                    if let Seat::Turn { group, p, q } = self.seat[b]
                        && group == g
                    {
                        self.seat[b] = Seat::Turn { group: h, p, q: self.tape.turn(q, m) };
                    }
                }
            }
            _ => return Err(Refused::Slack),
        }
        Ok(())
    }

    /// The two anchors of a pin, that of `body` first.
    fn pin_of(&self, c: usize, body: BodyId) -> (AnchorId, AnchorId) {
        match self.mechanism.constraints[c] {
            Constraint::Pin { a, b } if self.body_of(a) == body => (a, b),
            Constraint::Pin { a, b } => (b, a),
            _ => (0, 0),
        }
    }

    fn hang(&mut self, c: usize, body: BodyId) {
        let (own, other) = self.pin_of(c, body);
        let at = self.at(other);
        if let (Spin::Open, Seat::Known(_)) = (self.spin[body], at) {
            let group = self.new_group();
            self.spin[body] = Spin::On { group, rho: [Value::ONE, Value::ZERO] };
        }
        let arm = self.own(own);
        self.seat[body] = match (at, self.spin[body]) {
            (Seat::Known(p), Spin::Known { z, .. }) => Seat::Known(self.less_turn(p, arm, z)),
            (Seat::Known(p), Spin::On { group, rho }) => {
                let q = self.tape.turn(arm, rho);
                Seat::Turn { group, p, q: self.tape.opposite(q) }
            }
            (Seat::Turn { group, p, q }, Spin::Known { z, .. }) => {
                Seat::Turn { group, p: self.less_turn(p, arm, z), q }
            }
            (Seat::Turn { group, p, q }, Spin::On { rho, .. }) => {
                Seat::Turn { group, p, q: self.less_turn(q, arm, rho) }
            }
            (Seat::Travel { group, p, d }, Spin::Known { z, .. }) => {
                Seat::Travel { group, p: self.less_turn(p, arm, z), d }
            }
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
    fn settle_arm(&mut self, group: Group, w: Pair, q: Pair) {
        let square = self.tape.square(q);
        let inverse = self.tape.quot(Value::ONE, square);
        let back = self.tape.times(inverse, q);
        let z = self.tape.turn_back(w, back);
        self.settle_turn(group, z);
    }

    fn aim(&mut self, c: usize, group: Group) -> Result<(), Refused> {
        let Constraint::Pin { a, b } = self.mechanism.constraints[c] else { return Err(Refused::Slack) };
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
    pub(super) fn on_known_line(&mut self, pin: AnchorId, through: AnchorId, direction: usize) -> (Pair, Pair) {
        let (p, q) = (self.place(pin), self.place(through));
        let t = self.line_direction(self.z(self.body_of(through)), direction);
        (self.tape.minus(p, q), t)
    }

    pub(super) fn line_direction(&mut self, z: Pair, direction: usize) -> Pair {
        let direction = self.param(direction);
        let own = self.tape.cos_sin(direction);
        self.tape.turn(own, z)
    }

    /// Pin, anchor of the line, its direction, whether it is the distance off the line (or along it) that is given, and that distance.
    pub(super) fn line_of(&mut self, c: usize) -> Option<(AnchorId, AnchorId, usize, bool, Value)> {
        match self.mechanism.constraints[c] {
            Constraint::OnLine { pin, through, direction, offset } => {
                Some((pin, through, direction, true, self.param(offset)))
            }
            Constraint::Along { pin, through, direction, distance } => {
                Some((pin, through, direction, false, self.param(distance)))
            }
            Constraint::Rack { gear, pin, through, direction, radius, offset } => {
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
    fn rod_of(&mut self, c: usize) -> Option<(AnchorId, AnchorId, Value, bool)> {
        match self.mechanism.constraints[c] {
            Constraint::Rod { a, b, length } => Some((a, b, self.param(length), true)),
            Constraint::Arc { pin, centre, radius } => Some((pin, centre, self.param(radius), false)),
            _ => None,
        }
    }

    /// Square of a rod's length as seen in the plane of `anchor`, with the other end at `place`; and that end as seen there.
    fn rod_seen(&mut self, anchor: AnchorId, other: AnchorId, place: Pair, length: Value, space: bool) -> (Pair, Value) {
        let square = self.tape.prod(length, length);
        if !space {
            return (place, square);
        }
        let (place, height) = self.seen_from(anchor, other, place);
        let height = self.tape.prod(height, height);
        (place, self.tape.diff(square, height))
    }

    fn solve(&mut self, c: usize, group: Group) -> Result<(), Refused> {
        if let Some((a, b, length, space)) = self.rod_of(c) {
            // The end that moves with the group first.
            let (a, b) = if group_of(self.kind(a)) == Some(group) { (a, b) } else { (b, a) };
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
    fn turn_by_rod(&mut self, group: Group, p: Pair, q: Pair, target: Pair, square: Value) -> Result<Pair, Refused> {
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
    fn travel_by_rod(&mut self, group: Group, p: Pair, d: Pair, target: Pair, square: Value) -> Result<(), Refused> {
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

    fn solve_line(&mut self, c: usize, group: Group) -> Result<(), Refused> {
        let Some((pin, through, direction, off_line, distance)) = self.line_of(c) else { return Err(Refused::Slack) };
        let host = self.body_of(through);
        let (at_pin, at_through) = (self.at(pin), self.at(through));
        if let Spin::On { rho, .. } = self.spin[host] {
            // The line turns with the group.
            let Some((p, q)) = turning(at_pin, at_through) else { return Err(Refused::Slack) };
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
            let w = self.tape.meet(f, c, side, NEAR * self.size * self.size, memory);
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
            match (at_pin, at_through) {
                (Seat::Turn { p, .. }, Seat::Known(_)) => {
                    let place = self.tape.plus(p, w);
                    self.note(pin, place);
                }
                _ => {}
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
    fn arm_on_line(&mut self, group: Group, q: Pair, n: Pair, along: Value) -> Result<Pair, Refused> {
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
    fn travel_on_line(&mut self, f: Pair, d: Pair, n: Pair, distance: Value) -> Result<Value, Refused> {
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

    fn line(&mut self, c: usize, body: BodyId) -> Result<(), Refused> {
        let Some((pin, through, direction, off_line, distance)) = self.line_of(c) else { return Err(Refused::Slack) };
        let t = self.line_direction(self.z(self.body_of(through)), direction);
        let (n, d) = if off_line { (self.tape.left(t), t) } else { (t, self.tape.left(t)) };
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

    fn circles(&mut self, c: usize, d: usize, body: BodyId) -> Result<(), Refused> {
        let mut ends = [[Value::ZERO; 2]; 2];
        let mut squares = [Value::ZERO; 2];
        for (i, rod) in [c, d].into_iter().enumerate() {
            let Some((a, b, length, space)) = self.rod_of(rod) else { return Err(Refused::Slack) };
            let (own, other) = if self.body_of(a) == body { (a, b) } else { (b, a) };
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
                Some(cross(fixed(to), [drawn[body].x - start[0], drawn[body].y - start[1]]))
            }
            Pen::Again => None,
        };
        let side = self.side(drawn, length(to) * fix(squares[0]).abs().sqrt())?;
        let memory = self.memory();
        let w = self.tape.reach(to, k, squares[0], side, memory);
        self.seat[body] = Seat::Known(self.tape.plus(ends[0], w));
        Ok(())
    }

    fn dyad(&mut self, c: usize, g: Group, h: Group) -> Result<(), Refused> {
        let Constraint::Pin { a, b } = self.mechanism.constraints[c] else { return Err(Refused::Slack) };
        let (a, b) = if group_of(self.kind(a)) == Some(g) { (a, b) } else { (b, a) };
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

    fn note_pin(&mut self, a: AnchorId, b: AnchorId, p: Pair, w: Pair) {
        let place = self.tape.plus(p, w);
        self.note(a, place);
        self.note(b, place);
    }

    /// A constraint between bodies that stand.
    fn check(&mut self, c: usize) {
        let limit = CLOSED * self.size;
        match self.mechanism.constraints[c] {
            Constraint::Pin { a, b } => {
                let (p, q) = (self.place(a), self.place(b));
                let off = self.tape.minus(p, q);
                self.tape.within(off[0], limit);
                self.tape.within(off[1], limit);
            }
            Constraint::Rod { .. } | Constraint::Arc { .. } => {
                let Some((a, b, length, space)) = self.rod_of(c) else { return };
                let (p, q) = (self.place(a), self.place(b));
                let (q, square) = self.rod_seen(a, b, q, length, space);
                let off = self.tape.minus(p, q);
                let far = self.tape.square(off);
                let off = self.tape.diff(far, square);
                let off = self.tape.quot(off, length);
                self.tape.within(off, 2.0 * limit);
            }
            Constraint::Angle { body, against, angle } => {
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
            Constraint::Ratio { a, b, carrier, sizes, offset } => {
                let (a, b, carrier) = (self.angle(a), self.angle(b), self.angle(carrier));
                let offset = self.param(offset);
                let mut off = self.tape.neg(offset);
                for (angle, weight) in [(a, sizes[0]), (b, sizes[1]), (carrier, -sizes[0] - sizes[1])] {
                    let part = self.tape.prod(Value::Fixed(weight), angle);
                    off = self.tape.sum(off, part);
                }
                self.tape.within(off, CLOSED * sizes[0].abs().max(sizes[1].abs()));
            }
            Constraint::OnLine { .. } | Constraint::Along { .. } | Constraint::Rack { .. } => {
                let Some((pin, through, direction, off_line, distance)) = self.line_of(c) else { return };
                let (f, t) = self.on_known_line(pin, through, direction);
                let off = if off_line { self.tape.cross(t, f) } else { self.tape.dot(t, f) };
                let off = self.tape.diff(off, distance);
                self.tape.within(off, limit);
            }
        }
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
fn turning(a: Seat, b: Seat) -> Option<([Pair; 2], [Pair; 2])> {
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
fn travelling(a: Seat, b: Seat) -> Option<([Pair; 2], [Pair; 2])> {
    let zero = [Value::ZERO; 2];
    match (a, b) {
        (Seat::Travel { p, d, .. }, Seat::Known(k)) => Some(([p, k], [d, zero])),
        (Seat::Known(k), Seat::Travel { p, d, .. }) => Some(([k, p], [zero, d])),
        (Seat::Travel { p, d, .. }, Seat::Travel { p: p_b, d: d_b, .. }) => Some(([p, p_b], [d, d_b])),
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

fn length(p: Pair) -> f64 {
    fix(p[0]).hypot(fix(p[1]))
}

fn cross(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

fn times(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]]
}
