//! The arithmetic of a plan, written down once: numbers, how each comes from others, and what is checked on the way.
//!
//! What does not vary is worked out while writing. What is written twice is kept once. Inside a Newton loop, what does not depend on the
//! loop's own unknowns is moved before it.

use std::collections::HashMap;
use std::sync::Arc;

use crate::cam::Cam;
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
    /// Always in the cell after the cosine's.
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
    /// A pin's place on a cam, along its reference and to the left of it, and the swell; see [`crate::cam::Touch`].
    Cam {
        cam: u16,
        pin: Pair,
        swell: Value,
    },
    /// How far a wheel has gone, and its rate, for a turn of its driver.
    Course {
        cam: u16,
        turn: Value,
    },
    Reach {
        to: Pair,
        k: Value,
        q: Value,
        side: f64,
        memory: Option<Cell>,
    },
    Meet {
        to: Pair,
        c: Value,
        side: f64,
        tiny: f64,
        memory: Option<Cell>,
    },
    Fold {
        a: Value,
        q: Value,
        side: f64,
        memory: Option<Cell>,
    },
    Wind {
        z: Pair,
        angle: Cell,
        z_cells: [Cell; 2],
    },
    Within {
        a: Value,
        limit: f64,
    },
    Above {
        a: Value,
        k: f64,
        limit: f64,
    },
    Steady {
        a: Value,
        memory: Cell,
    },
    Begin {
        busy: Cell,
    },
    Clear {
        worst: Cell,
    },
    ForeseeTurn {
        z: [Cell; 2],
        now: Cell,
        last: Cell,
    },
    ForeseeMove {
        x: Cell,
        now: Cell,
        last: Cell,
    },
    Turn {
        z: [Cell; 2],
        by: Value,
        f: f64,
        busy: Cell,
        worst: Cell,
        k: f64,
        now: Option<Cell>,
    },
    Move {
        x: Cell,
        by: Value,
        f: f64,
        busy: Cell,
        worst: Cell,
        k: f64,
        now: Option<Cell>,
    },
    Again {
        busy: Cell,
        worst: Cell,
        wild: f64,
    },
}

impl Node {
    /// Numbers it makes.
    pub(crate) fn outs(&self) -> u32 {
        match self {
            Self::CosSin(_) | Self::Course { .. } | Self::Reach { .. } | Self::Meet { .. } => 2,
            Self::Cam { .. } => 3,
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
        self.outs() == 0
            || matches!(
                self,
                Self::Reach { .. } | Self::Meet { .. } | Self::Fold { .. }
            )
    }

    /// Numbers it uses.
    pub(crate) fn operands(&self) -> impl Iterator<Item = Value> {
        let none = Value::ZERO;
        let (list, count) = match *self {
            Self::Sum(a, b) | Self::Diff(a, b) | Self::Prod(a, b) | Self::Quot(a, b) => {
                ([a, b, none, none], 2)
            }
            Self::AddSize(a, _, b) => ([a, b, none, none], 2),
            Self::Root(a)
            | Self::CosSin(a)
            | Self::Course { turn: a, .. }
            | Self::Within { a, .. }
            | Self::Above { a, .. } => ([a, none, none, none], 1),
            Self::Steady { a, .. } | Self::Turn { by: a, .. } | Self::Move { by: a, .. } => {
                ([a, none, none, none], 1)
            }
            Self::Cam { pin, swell, .. } => ([pin[0], pin[1], swell, none], 3),
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
    /// Columns are departures from the base, not the numbers themselves.
    departures: bool,
    pub(crate) lines: Vec<Line>,
    /// The line that makes each number.
    pub(crate) maker: Vec<u32>,
    order: Vec<u32>,
    inside: Vec<u32>,
    region: u32,
    open: bool,
    seen: HashMap<[u64; 6], u32>,
    pub(crate) cells: Vec<Start>,
    /// A check failed on numbers that do not vary: no lane can be good.
    pub(crate) failed: bool,
    /// Cams of all plans that are written here.
    pub(crate) cams: Vec<Cam>,
    /// The first of them that belongs to the present plan.
    own_cams: usize,
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
        Self {
            base: base.to_vec(),
            columns,
            ..Self::default()
        }
    }

    /// The same, where the lanes hold by how much the parameters are off the base.
    pub(crate) fn of_departures(base: &[f64], varied: &[ParamId]) -> Self {
        Self {
            departures: true,
            ..Self::new(base, varied)
        }
    }

    /// From here on cams are those of this plan.
    pub(crate) fn take_cams(&mut self, cams: &[Cam]) {
        // Plans of one machine have the same; they are kept once, so that what comes out the same is.
        let same = |a: &Cam, b: &Cam| {
            Arc::ptr_eq(&a.lift, &b.lift) && (a.ride, a.sense) == (b.ride, b.sense)
        };
        let known = self
            .cams
            .windows(cams.len().max(1))
            .position(|w| w.len() == cams.len() && w.iter().zip(cams).all(|(a, b)| same(a, b)));
        self.own_cams = known.unwrap_or(self.cams.len());
        if known.is_none() {
            self.cams.extend_from_slice(cams);
        }
    }

    /// Number of a cam of the present plan among all; a machine with 65,536 cams is too large for the slots anyway.
    pub(crate) fn cam_number(&self, cam: usize) -> u16 {
        (self.own_cams + cam) as u16
    }

    /// From here on all parameters stand as in another base. What comes out the same is still kept once.
    pub(crate) fn rebase(&mut self, base: &[f64]) {
        self.base = base.to_vec();
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
            Some(column) => {
                let input = self.pure(Node::Input(column));
                if self.departures {
                    self.sum(input, Fixed(self.base[id]))
                } else {
                    input
                }
            }
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

    pub(super) fn region_of(&self, value: Value) -> u32 {
        match value {
            Fixed(_) => 0,
            Lane(v) => self.line_of(v).region,
        }
    }

    fn push(&mut self, node: Node, region: u32) -> u32 {
        let line = self.lines.len() as u32;
        let first = self.maker.len() as u32;
        self.maker
            .extend(std::iter::repeat_n(line, node.outs() as usize));
        self.lines.push(Line {
            node,
            first,
            region,
        });
        if region == 0 || !self.open {
            self.order.push(line);
        } else {
            self.inside.push(line);
        }
        first
    }

    /// A node without effect: kept once, and moved before the loop when it can be.
    pub(super) fn pure(&mut self, node: Node) -> Value {
        let region = node
            .operands()
            .map(|v| self.region_of(v))
            .max()
            .unwrap_or(0);
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

    /// A node that checks what it works out and remembers nothing: outside loops the same twice is kept once.
    pub(super) fn once(&mut self, node: Node) -> u32 {
        let key = if self.open { None } else { key(&node) };
        if let Some(key) = key
            && let Some(&first) = self.seen.get(&key)
        {
            return first;
        }
        let first = self.act(node);
        if let Some(key) = key {
            self.seen.insert(key, first);
        }
        first
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
}

fn key(node: &Node) -> Option<[u64; 6]> {
    let bits = |v: Value| match v {
        Fixed(x) => x.to_bits(),
        // A signalling pattern that no result of arithmetic has.
        Lane(v) => 0xfff0_dead_0000_0000 | u64::from(v),
    };
    Some(match *node {
        Node::Input(c) => [0, u64::from(c), 0, 0, 0, 0],
        Node::Sum(a, b) => [1, bits(a), bits(b), 0, 0, 0],
        Node::Diff(a, b) => [2, bits(a), bits(b), 0, 0, 0],
        Node::Prod(a, b) => [3, bits(a), bits(b), 0, 0, 0],
        Node::Quot(a, b) => [4, bits(a), bits(b), 0, 0, 0],
        Node::Root(a) => [5, bits(a), 0, 0, 0, 0],
        Node::AddSize(a, k, b) => [6, bits(a), k.to_bits(), bits(b), 0, 0],
        Node::CosSin(a) => [7, bits(a), 0, 0, 0, 0],
        Node::Course { cam, turn } => [14, u64::from(cam), bits(turn), 0, 0, 0],
        Node::Cam {
            cam,
            pin: [a, b],
            swell,
        } => [13, u64::from(cam), bits(a), bits(b), bits(swell), 0],
        Node::Reach {
            to: [a, b],
            k,
            q,
            side,
            memory: None,
        } => [8, bits(a), bits(b), bits(k), bits(q), side.to_bits()],
        Node::Meet {
            to: [a, b],
            c,
            side,
            tiny,
            memory: None,
        } => [9, bits(a), bits(b), bits(c), side.to_bits(), tiny.to_bits()],
        Node::Fold {
            a,
            q,
            side,
            memory: None,
        } => [10, bits(a), bits(q), side.to_bits(), 0, 0],
        Node::Within { a, limit } => [11, bits(a), limit.to_bits(), 0, 0, 0],
        Node::Above { a, k, limit } => [12, bits(a), k.to_bits(), limit.to_bits(), 0, 0],
        _ => return None,
    })
}
