//! The arithmetic of a plan, written down once: numbers, how each comes from others, and what is checked on the way.
//!
//! What does not vary is worked out while writing. What is written twice is kept once. Inside a Newton loop, what does not depend on the
//! loop's own unknowns is moved before it.

use std::collections::HashMap;

use pulp::Scalar;

use crate::lanes::run;
use crate::lanes::sine::{GREATEST_ANGLE, cos_sin};
use crate::model::{BodyId, ParamId};

/// A number: known while planning, or one for every lane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Value {
    Fixed(f64),
    Lane(u32),
}

use Value::{Fixed, Lane};

impl Value {
    pub(crate) const ZERO: Self = Fixed(0.0);
    pub(crate) const ONE: Self = Fixed(1.0);

    /// The number, if it is known while planning.
    pub(crate) fn fixed(self) -> Option<f64> {
        if let Fixed(x) = self { Some(x) } else { None }
    }
}

/// Two numbers: a point, a vector or a turn (cos, sin) of one plane.
pub(crate) type Pair = [Value; 2];

/// A number kept from pose to pose.
pub(crate) type Cell = u16;

/// What a cell holds at the start of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Start {
    Cos(BodyId),
    Sin(BodyId),
    Angle(BodyId),
    X(BodyId),
    Y(BodyId),
    Zero,
    /// Not a number: nothing to compare with yet.
    Unset,
}

/// Where a number comes from, or what is done.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Node {
    Input(u16),
    Read(Cell),
    Sum(Value, Value),
    Diff(Value, Value),
    Prod(Value, Value),
    Quot(Value, Value),
    Root(Value),
    /// a + k |b|
    AddSize(Value, f64, Value),
    CosSin(Value),
    Reach { to: Pair, k: Value, q: Value, side: f64, memory: Option<Cell> },
    Meet { to: Pair, c: Value, side: f64, tiny: f64, memory: Option<Cell> },
    Fold { a: Value, q: Value, side: f64, memory: Option<Cell> },
    Wind { z: Pair, angle: Cell, z_cells: [Cell; 2] },
    Within { a: Value, limit: f64 },
    Above { a: Value, k: f64, limit: f64 },
    Steady { a: Value, memory: Cell },
    Begin { busy: Cell },
    Clear { worst: Cell },
    ForeseeTurn { z: [Cell; 2], now: Cell, last: Cell },
    ForeseeMove { x: Cell, now: Cell, last: Cell },
    Turn { z: [Cell; 2], by: Value, f: f64, busy: Cell, worst: Cell, k: f64, now: Option<Cell> },
    Move { x: Cell, by: Value, f: f64, busy: Cell, worst: Cell, k: f64, now: Option<Cell> },
    Again { busy: Cell, worst: Cell, wild: f64 },
}

impl Node {
    /// Numbers it makes.
    pub(crate) fn outs(&self) -> u32 {
        match self {
            Self::CosSin(_) | Self::Reach { .. } | Self::Meet { .. } => 2,
            Self::Input(_)
            | Self::Read(_)
            | Self::Sum(..)
            | Self::Diff(..)
            | Self::Prod(..)
            | Self::Quot(..)
            | Self::Root(_)
            | Self::AddSize(..)
            | Self::Fold { .. }
            | Self::Wind { .. } => 1,
            _ => 0,
        }
    }

    /// Whether it must be kept although nothing uses its numbers.
    pub(crate) fn acts(&self) -> bool {
        self.outs() == 0 || matches!(self, Self::Reach { .. } | Self::Meet { .. } | Self::Fold { .. })
    }

    /// Numbers it uses.
    pub(crate) fn operands(&self) -> impl Iterator<Item = Value> {
        let none = Value::ZERO;
        let (list, count) = match *self {
            Self::Sum(a, b) | Self::Diff(a, b) | Self::Prod(a, b) | Self::Quot(a, b) => ([a, b, none, none], 2),
            Self::AddSize(a, _, b) => ([a, b, none, none], 2),
            Self::Root(a) | Self::CosSin(a) | Self::Within { a, .. } | Self::Above { a, .. } => {
                ([a, none, none, none], 1)
            }
            Self::Steady { a, .. } | Self::Turn { by: a, .. } | Self::Move { by: a, .. } => ([a, none, none, none], 1),
            Self::Reach { to, k, q, .. } => ([to[0], to[1], k, q], 4),
            Self::Meet { to, c, .. } => ([to[0], to[1], c, none], 3),
            Self::Fold { a, q, .. } => ([a, q, none, none], 2),
            Self::Wind { z, .. } => ([z[0], z[1], none, none], 2),
            _ => ([none; 4], 0),
        };
        list.into_iter().take(count)
    }
}

/// One line of the tape.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Line {
    pub(crate) node: Node,
    /// Its first number; others follow.
    pub(crate) first: u32,
    /// 0 outside loops, else the loop it belongs to.
    pub(crate) region: u32,
}

/// The tape while it is written.
#[derive(Debug, Default)]
pub(crate) struct Tape {
    base: Vec<f64>,
    columns: Vec<Option<u16>>,
    pub(crate) lines: Vec<Line>,
    /// The line that makes each number.
    pub(crate) maker: Vec<u32>,
    order: Vec<u32>,
    inside: Vec<u32>,
    region: u32,
    open: bool,
    seen: HashMap<[u64; 3], u32>,
    pub(crate) cells: Vec<Start>,
    /// A check failed on numbers that do not vary: no lane can be good.
    pub(crate) failed: bool,
}

impl Tape {
    /// A tape on which the parameters `varied` come in lanes, in that order, and all others stand as in `base`.
    pub(crate) fn new(base: &[f64], varied: &[ParamId]) -> Self {
        let mut columns = vec![None; base.len()];
        for (column, &param) in varied.iter().enumerate() {
            if let Some(c) = columns.get_mut(param) {
                *c = u16::try_from(column).ok();
            }
        }
        Self { base: base.to_vec(), columns, ..Self::default() }
    }

    /// Lines in the order in which they are carried out.
    pub(crate) fn order(&self) -> &[u32] {
        &self.order
    }

    pub(crate) fn line_of(&self, value: u32) -> &Line {
        &self.lines[self.maker[value as usize] as usize]
    }

    /// A parameter.
    pub(crate) fn param(&mut self, id: ParamId) -> Value {
        match self.columns[id] {
            Some(column) => self.pure(Node::Input(column)),
            None => Fixed(self.base[id]),
        }
    }

    /// A parameter as it stands in the base.
    pub(crate) fn base(&self, id: ParamId) -> f64 {
        self.base[id]
    }

    /// A new cell.
    pub(crate) fn cell(&mut self, start: Start) -> Cell {
        self.cells.push(start);
        // A mechanism with 65,536 cells has more than ten thousand bodies; the lowering refuses it by its slots.
        (self.cells.len() - 1) as Cell
    }

    fn region_of(&self, value: Value) -> u32 {
        match value {
            Fixed(_) => 0,
            Lane(v) => self.line_of(v).region,
        }
    }

    fn push(&mut self, node: Node, region: u32) -> u32 {
        let line = self.lines.len() as u32;
        let first = self.maker.len() as u32;
        self.maker.extend(std::iter::repeat_n(line, node.outs() as usize));
        self.lines.push(Line { node, first, region });
        if region == 0 || !self.open {
            self.order.push(line);
        } else {
            self.inside.push(line);
        }
        first
    }

    /// A node without effect: kept once, and moved before the loop when it can be.
    fn pure(&mut self, node: Node) -> Value {
        let region = node.operands().map(|v| self.region_of(v)).max().unwrap_or(0);
        let key = key(&node);
        if let Some(key) = key
            && let Some(&first) = self.seen.get(&key)
        {
            return Lane(first);
        }
        let first = self.push(node, region);
        if let Some(key) = key {
            self.seen.insert(key, first);
        }
        Lane(first)
    }

    /// A node with effect, at its place.
    pub(crate) fn act(&mut self, node: Node) -> u32 {
        let region = if self.open { self.region } else { 0 };
        self.push(node, region)
    }

    /// Opens a Newton loop. Loops do not nest.
    pub(crate) fn open_loop(&mut self, busy: Cell) {
        self.region += 1;
        self.open = true;
        self.act(Node::Begin { busy });
    }

    /// Closes the loop. Numbers made inside it may still be read: they are those of the last round.
    pub(crate) fn close_loop(&mut self, busy: Cell, worst: Cell, wild: f64) {
        self.act(Node::Again { busy, worst, wild });
        self.open = false;
        let inside = std::mem::take(&mut self.inside);
        self.order.extend(inside);
    }

    /// The number in a cell as it stands here.
    pub(crate) fn read(&mut self, cell: Cell) -> Value {
        Lane(self.act(Node::Read(cell)))
    }

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
                let clean = |x: f64| Fixed(if x.abs() < f64::EPSILON { 0.0 } else { x });
                [clean(c), clean(s)]
            }
            Lane(_) => match self.pure(Node::CosSin(a)) {
                Lane(v) => [Lane(v), Lane(v + 1)],
                fixed @ Fixed(_) => [fixed, fixed],
            },
        }
    }

    /// See `Op::Reach`.
    pub(crate) fn reach(&mut self, to: Pair, k: Value, q: Value, side: f64, memory: Option<Cell>) -> Pair {
        if let ([Fixed(a), Fixed(b)], Fixed(k), Fixed(q)) = (to, k, q) {
            let [x, y, well] = run::reach(Scalar, [a, b, k, q], side, 1.0).0;
            self.failed |= well == 0.0;
            return [Fixed(x), Fixed(y)];
        }
        let v = self.act(Node::Reach { to, k, q, side, memory });
        [Lane(v), Lane(v + 1)]
    }

    /// See `Op::Meet`.
    pub(crate) fn meet(&mut self, to: Pair, c: Value, side: f64, tiny: f64, memory: Option<Cell>) -> Pair {
        if let ([Fixed(a), Fixed(b)], Fixed(c)) = (to, c) {
            let [x, y, well] = run::meet(Scalar, [a, b, c, tiny], side, 1.0).0;
            self.failed |= well == 0.0;
            return [Fixed(x), Fixed(y)];
        }
        let v = self.act(Node::Meet { to, c, side, tiny, memory });
        [Lane(v), Lane(v + 1)]
    }

    /// See `Op::Fold`.
    pub(crate) fn fold(&mut self, a: Value, q: Value, side: f64, memory: Option<Cell>) -> Value {
        if let (Fixed(a), Fixed(q)) = (a, q) {
            let [x, well] = run::fold(Scalar, a, q, side, 1.0).0;
            self.failed |= well == 0.0;
            return Fixed(x);
        }
        Lane(self.act(Node::Fold { a, q, side, memory }))
    }

    /// Gives up lanes with |a| beyond `limit`.
    pub(crate) fn within(&mut self, a: Value, limit: f64) {
        match a {
            Fixed(x) => self.failed |= x.is_nan() || x.abs() > limit,
            Lane(_) => {
                self.act(Node::Within { a, limit });
            }
        }
    }

    /// Gives up lanes with k a not above `limit`.
    pub(crate) fn above(&mut self, a: Value, k: f64, limit: f64) {
        match a {
            Fixed(x) => self.failed |= x.is_nan() || k * x <= limit,
            Lane(_) => {
                self.act(Node::Above { a, k, limit });
            }
        }
    }

    /// The same number with its sum of sums taken apart: what a loop does not change is summed before it, equal parts are joined. What
    /// is left takes one instruction for two parts.
    pub(crate) fn gather(&mut self, value: Value) -> Value {
        let mut parts: Vec<(f64, Value)> = Vec::new();
        self.take_apart(1.0, value, &mut parts);
        let mut fixed = 0.0;
        let (mut before, mut inside): (Vec<(f64, Value)>, Vec<(f64, Value)>) = (Vec::new(), Vec::new());
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
        if let Lane(v) = value {
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

fn key(node: &Node) -> Option<[u64; 3]> {
    let bits = |v: Value| match v {
        Fixed(x) => x.to_bits(),
        // A signalling pattern that no result of arithmetic has.
        Lane(v) => 0xfff0_dead_0000_0000 | u64::from(v),
    };
    Some(match *node {
        Node::Input(c) => [0, u64::from(c), 0],
        Node::Sum(a, b) => [1, bits(a), bits(b)],
        Node::Diff(a, b) => [2, bits(a), bits(b)],
        Node::Prod(a, b) => [3, bits(a), bits(b)],
        Node::Quot(a, b) => [4, bits(a), bits(b)],
        Node::Root(a) => [5, bits(a), 0],
        Node::AddSize(a, k, b) => [8 | k.to_bits() << 8, bits(a), bits(b) ^ k.to_bits().rotate_left(32)],
        Node::CosSin(a) => [7, bits(a), 0],
        _ => return None,
    })
}
