//! Arithmetic on a tape: what is known is worked out, signs are moved to where they cost nothing.

use pulp::Scalar;

use super::tape::{Cell, Node, Pair, Tape, Value};
use crate::lanes::run;
use crate::lanes::sine::{GREATEST_ANGLE, cos_sin};
use Value::{Fixed, Lane};

impl Tape {
    /// `k` of `k · x`, when `value` is that and was just written so.
    fn negated(&self, value: Value) -> Option<Value> {
        let Lane(v) = value else { return None };
        match self.line_of(v).node {
            Node::Prod(Fixed(-1.0), x) => Some(x),
            _ => None,
        }
    }

    pub(crate) fn sum(&mut self, a: Value, b: Value) -> Value {
        match (a, b) {
            (Fixed(x), Fixed(y)) => Fixed(x + y),
            (Fixed(0.0), x) | (x, Fixed(0.0)) => x,
            (Fixed(_), Lane(_)) => self.sum(b, a),
            _ => {
                if let Some(x) = self.negated(b) {
                    return self.diff(a, x);
                }
                if let Some(x) = self.negated(a) {
                    return self.diff(b, x);
                }
                self.pure(Node::Sum(a, b))
            }
        }
    }

    pub(crate) fn diff(&mut self, a: Value, b: Value) -> Value {
        match (a, b) {
            (Fixed(x), Fixed(y)) => Fixed(x - y),
            (x, Fixed(0.0)) => x,
            (x, Fixed(y)) => self.pure(Node::Sum(x, Fixed(-y))),
            (Fixed(0.0), x) => self.neg(x),
            (Lane(x), Lane(y)) if x == y => Value::ZERO,
            _ => match self.negated(b) {
                Some(x) => self.sum(a, x),
                None => self.pure(Node::Diff(a, b)),
            },
        }
    }

    pub(crate) fn neg(&mut self, a: Value) -> Value {
        if let Some(x) = self.negated(a) {
            return x;
        }
        if let Lane(v) = a
            && let Node::Diff(x, y) = self.line_of(v).node
        {
            return self.diff(y, x);
        }
        self.prod(Fixed(-1.0), a)
    }

    pub(crate) fn prod(&mut self, a: Value, b: Value) -> Value {
        match (a, b) {
            (Fixed(x), Fixed(y)) => Fixed(x * y),
            (Fixed(0.0), _) | (_, Fixed(0.0)) => Value::ZERO,
            (Fixed(1.0), x) | (x, Fixed(1.0)) => x,
            (Lane(_), Fixed(_)) => self.prod(b, a),
            (Fixed(k), Lane(v)) => match self.line_of(v).node {
                Node::Prod(Fixed(m), x) => self.prod(Fixed(k * m), x),
                _ => self.pure(Node::Prod(a, b)),
            },
            (Lane(x), Lane(y)) => {
                if let Some(p) = self.negated(a) {
                    let p = self.prod(p, b);
                    return self.neg(p);
                }
                if let Some(p) = self.negated(b) {
                    let p = self.prod(a, p);
                    return self.neg(p);
                }
                self.pure(Node::Prod(Lane(x.min(y)), Lane(x.max(y))))
            }
        }
    }

    pub(crate) fn quot(&mut self, a: Value, b: Value) -> Value {
        match (a, b) {
            (Fixed(x), Fixed(y)) => Fixed(x / y),
            (Fixed(0.0), _) => Value::ZERO,
            (_, Fixed(y)) => self.prod(Fixed(1.0 / y), a),
            _ => self.pure(Node::Quot(a, b)),
        }
    }

    pub(crate) fn root(&mut self, a: Value) -> Value {
        match a {
            Fixed(x) => Fixed(x.sqrt()),
            Lane(_) => self.pure(Node::Root(a)),
        }
    }

    /// a + k |b|
    pub(crate) fn add_size(&mut self, a: Value, k: f64, b: Value) -> Value {
        match (a, b) {
            (Fixed(a), Fixed(b)) => Fixed(a + (k * b).abs()),
            _ => self.pure(Node::AddSize(a, k, b)),
        }
    }

    /// (cos, sin) of an angle.
    pub(crate) fn cos_sin(&mut self, a: Value) -> Pair {
        match a {
            Fixed(x) => {
                self.failed |= x.is_nan() || x.abs() > GREATEST_ANGLE;
                let (c, s) = cos_sin(Scalar, x);
                // A right angle is meant as one.
                let clean = |x: f64| {
                    Fixed(if x.abs() <= 2.0 * f64::EPSILON {
                        0.0
                    } else {
                        x
                    })
                };
                [clean(c), clean(s)]
            }
            Lane(_) => match self.pure(Node::CosSin(a)) {
                Lane(v) => [Lane(v), Lane(v + 1)],
                fixed @ Fixed(_) => [fixed, fixed],
            },
        }
    }

    /// How far a pin is off a cam's path, and the derivatives by its place.
    pub(crate) fn cam(&mut self, cam: usize, pin: Pair, swell: Value) -> [Value; 3] {
        let number = self.cam_number(cam);
        if let ([Fixed(a), Fixed(b)], Fixed(swell)) = (pin, swell)
            && let Some(cam) = self.cams.get(usize::from(number))
        {
            let touch = cam.touch([a, b], swell);
            self.failed |= !touch.off.is_finite();
            return [touch.off, touch.by[0], touch.by[1]].map(Fixed);
        }
        match self.pure(Node::Cam {
            cam: number,
            pin,
            swell,
        }) {
            Lane(v) => [Lane(v), Lane(v + 1), Lane(v + 2)],
            fixed @ Fixed(_) => [fixed; 3],
        }
    }

    /// How far a wheel has gone, and its rate, for a turn of its driver.
    pub(crate) fn course(&mut self, cam: usize, turn: Value) -> [Value; 2] {
        let number = self.cam_number(cam);
        if let (Fixed(turn), Some(cam)) = (turn, self.cams.get(usize::from(number))) {
            let [goes, rate, ..] = cam.lift.at(turn);
            self.failed |= !goes.is_finite();
            return [goes, rate].map(Fixed);
        }
        match self.pure(Node::Course { cam: number, turn }) {
            Lane(v) => [Lane(v), Lane(v + 1)],
            fixed @ Fixed(_) => [fixed; 2],
        }
    }

    /// See `Op::Reach`.
    pub(crate) fn reach(
        &mut self,
        to: Pair,
        k: Value,
        q: Value,
        side: f64,
        memory: Option<Cell>,
    ) -> Pair {
        if let ([Fixed(a), Fixed(b)], Fixed(k), Fixed(q)) = (to, k, q) {
            let [x, y, well] = run::reach(Scalar, [a, b, k, q], side, 1.0).0;
            self.failed |= well == 0.0;
            return [Fixed(x), Fixed(y)];
        }
        let v = self.once(Node::Reach {
            to,
            k,
            q,
            side,
            memory,
        });
        [Lane(v), Lane(v + 1)]
    }

    /// See `Op::Meet`.
    pub(crate) fn meet(
        &mut self,
        to: Pair,
        c: Value,
        side: f64,
        tiny: f64,
        memory: Option<Cell>,
    ) -> Pair {
        if let ([Fixed(a), Fixed(b)], Fixed(c)) = (to, c) {
            let [x, y, well] = run::meet(Scalar, [a, b, c, tiny], side, 1.0).0;
            self.failed |= well == 0.0;
            return [Fixed(x), Fixed(y)];
        }
        let v = self.once(Node::Meet {
            to,
            c,
            side,
            tiny,
            memory,
        });
        [Lane(v), Lane(v + 1)]
    }

    /// See `Op::Fold`.
    pub(crate) fn fold(&mut self, a: Value, q: Value, side: f64, memory: Option<Cell>) -> Value {
        if let (Fixed(a), Fixed(q)) = (a, q) {
            let [x, well] = run::fold(Scalar, a, q, side, 1.0).0;
            self.failed |= well == 0.0;
            return Fixed(x);
        }
        Lane(self.once(Node::Fold { a, q, side, memory }))
    }

    /// Gives up lanes with |a| beyond `limit`.
    pub(crate) fn within(&mut self, a: Value, limit: f64) {
        match a {
            Fixed(x) => self.failed |= x.is_nan() || x.abs() > limit,
            Lane(_) => {
                self.once(Node::Within { a, limit });
            }
        }
    }

    /// Gives up lanes with k a not above `limit`.
    pub(crate) fn above(&mut self, a: Value, k: f64, limit: f64) {
        match a {
            Fixed(x) => self.failed |= x.is_nan() || k * x <= limit,
            Lane(_) => {
                self.once(Node::Above { a, k, limit });
            }
        }
    }

    /// The same number with its sum of sums taken apart: what a loop does not change is summed before it, equal parts are joined. What
    /// is left takes one instruction for two parts.
    pub(crate) fn gather(&mut self, value: Value) -> Value {
        let mut parts: Vec<(f64, Value)> = Vec::new();
        self.take_apart(1.0, value, &mut parts);
        let mut fixed = 0.0;
        let (mut before, mut inside): (Vec<(f64, Value)>, Vec<(f64, Value)>) =
            (Vec::new(), Vec::new());
        for (k, v) in parts {
            match v {
                Fixed(x) => fixed += k * x,
                Lane(_) if self.region_of(v) == 0 => before.push((k, v)),
                Lane(_) => inside.push((k, v)),
            }
        }
        let mut sum = Fixed(fixed);
        for (k, v) in before.into_iter().chain(inside) {
            let part = self.prod(Fixed(k), v);
            sum = self.sum(sum, part);
        }
        sum
    }

    fn take_apart(&self, k: f64, value: Value, parts: &mut Vec<(f64, Value)>) {
        // What the loop does not change stays as it is: others use it too.
        if let Lane(v) = value
            && self.region_of(value) != 0
        {
            match self.line_of(v).node {
                Node::Sum(a, b) => {
                    self.take_apart(k, a, parts);
                    return self.take_apart(k, b, parts);
                }
                Node::Diff(a, b) => {
                    self.take_apart(k, a, parts);
                    return self.take_apart(-k, b, parts);
                }
                Node::Prod(Fixed(m), x) => return self.take_apart(k * m, x, parts),
                _ => {}
            }
        }
        match parts.iter_mut().find(|p| p.1 == value) {
            Some(same) => same.0 += k,
            None => parts.push((k, value)),
        }
    }
}

/// Pairs, as points of a plane or as complex numbers.
impl Tape {
    pub(crate) fn plus(&mut self, a: Pair, b: Pair) -> Pair {
        [self.sum(a[0], b[0]), self.sum(a[1], b[1])]
    }

    pub(crate) fn minus(&mut self, a: Pair, b: Pair) -> Pair {
        [self.diff(a[0], b[0]), self.diff(a[1], b[1])]
    }

    pub(crate) fn times(&mut self, k: Value, a: Pair) -> Pair {
        [self.prod(k, a[0]), self.prod(k, a[1])]
    }

    /// a b.
    pub(crate) fn turn(&mut self, a: Pair, b: Pair) -> Pair {
        let (p, q) = (self.prod(a[0], b[0]), self.prod(a[1], b[1]));
        let (r, t) = (self.prod(a[0], b[1]), self.prod(a[1], b[0]));
        [self.diff(p, q), self.sum(r, t)]
    }

    /// start + a b, summed in that order so that it becomes one instruction.
    pub(crate) fn plus_turn(&mut self, start: Pair, a: Pair, b: Pair) -> Pair {
        let (p, q) = (self.prod(a[0], b[0]), self.prod(a[1], b[1]));
        let (r, t) = (self.prod(a[0], b[1]), self.prod(a[1], b[0]));
        let x = self.sum(start[0], p);
        let y = self.sum(start[1], r);
        [self.diff(x, q), self.sum(y, t)]
    }

    /// a times the mirror image of b: turned back by b.
    pub(crate) fn turn_back(&mut self, a: Pair, b: Pair) -> Pair {
        let mirrored = self.mirrored(b);
        self.turn(mirrored, a)
    }

    pub(crate) fn mirrored(&mut self, a: Pair) -> Pair {
        [a[0], self.neg(a[1])]
    }

    pub(crate) fn opposite(&mut self, a: Pair) -> Pair {
        [self.neg(a[0]), self.neg(a[1])]
    }

    /// A quarter turn counter-clockwise.
    pub(crate) fn left(&mut self, a: Pair) -> Pair {
        [self.neg(a[1]), a[0]]
    }

    pub(crate) fn dot(&mut self, a: Pair, b: Pair) -> Value {
        let (p, q) = (self.prod(a[0], b[0]), self.prod(a[1], b[1]));
        self.sum(p, q)
    }

    /// a × b.
    pub(crate) fn cross(&mut self, a: Pair, b: Pair) -> Value {
        let (p, q) = (self.prod(a[0], b[1]), self.prod(a[1], b[0]));
        self.diff(p, q)
    }

    pub(crate) fn square(&mut self, a: Pair) -> Value {
        self.dot(a, a)
    }
}
