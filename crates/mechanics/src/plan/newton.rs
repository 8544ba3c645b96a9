//! A block of bodies by Newton: the loop around the closures, its elimination written out once.
//!
//! A body's place follows from its neighbour's along a pin, so the unknowns are turns and the few places that no pin gives. The turn
//! step is an exact rotation; what a closure can still be off after a step of δ in all is then no more than δ² times a length, so the
//! step itself says when a pose has settled and nobody need look again.

use super::block::{Block, Seating};
use super::draft::{Draft, Pen, Seat};
use super::dual::{Dual, DualPair, known};
use super::tape::{Cell, Node, Pair, Start, Value};
use crate::model::{AnchorId, BodyId, Constraint, Pose};

/// An unknown of a block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Unknown {
    /// Turn of a body as a unit vector.
    Turn(BodyId),
    /// Turn of a body as an angle.
    Angle(BodyId),
    X(BodyId),
    Y(BodyId),
}

impl Unknown {
    pub(super) fn is_turn(self) -> bool {
        matches!(self, Self::Turn(_) | Self::Angle(_))
    }
}

/// What an unknown is at present: the unit vector and, if it is unknown as such, the angle; or a coordinate in the first entry.
#[derive(Clone, Copy, Debug)]
pub(super) struct State {
    z: Pair,
    angle: Option<Value>,
}

/// Total change, rad or sizes, beyond which a step is not trusted to stay on its branch.
const WILD: f64 = 0.5;

/// Determinant, as a share of its value in the drawn pose, below which a pose is too near to a dead centre.
const FLAT: f64 = 1e-4;

/// Sum of the shares by which pivots may be smaller than drawn.
const STRAIN: f64 = 1e6;

impl Block {
    pub(super) fn drawn_states(&self, drawn: &[Pose]) -> Vec<State> {
        self.unknowns
            .iter()
            .map(|u| match *u {
                Unknown::Turn(b) | Unknown::Angle(b) => {
                    let (s, c) = drawn[b].angle.sin_cos();
                    let angle = matches!(u, Unknown::Angle(_)).then_some(Value::Fixed(drawn[b].angle));
                    State { z: [Value::Fixed(c), Value::Fixed(s)], angle }
                }
                Unknown::X(b) => State { z: [Value::Fixed(drawn[b].x), Value::ZERO], angle: None },
                Unknown::Y(b) => State { z: [Value::Fixed(drawn[b].y), Value::ZERO], angle: None },
            })
            .collect()
    }
}

/// Turn of a body of the block: unit vector, the unknown it turns with, and the angle with its derivative.
#[derive(Clone, Debug)]
struct Turned {
    z: Pair,
    /// With the scale that its changes are solved for.
    unknown: Option<(usize, f64)>,
    angle: Option<Value>,
}

/// Turns and places of the block's bodies.
struct Stand {
    turns: Vec<(BodyId, Turned)>,
    places: Vec<(BodyId, DualPair)>,
}

impl Draft<'_> {
    fn stand(&mut self, block: &Block, states: &[State]) -> Stand {
        let mut turns: Vec<(BodyId, Turned)> = Vec::new();
        for (u, (unknown, state)) in block.unknowns.iter().zip(states).enumerate() {
            if let Unknown::Turn(b) | Unknown::Angle(b) = *unknown {
                turns.push((b, Turned { z: state.z, unknown: Some((u, block.scales[u])), angle: state.angle }));
            }
        }
        for &(body, c, from) in &block.ties {
            let Constraint::Angle { body: b, angle, .. } = self.mechanism.constraints[c] else { continue };
            let Some(other) = turns.iter().find(|t| t.0 == from).map(|t| t.1.clone()) else { continue };
            let add = self.param(angle);
            let add = if b == body { add } else { self.tape.neg(add) };
            let by = self.tape.cos_sin(add);
            let z = self.tape.turn(other.z, by);
            let angle = other.angle.map(|a| self.tape.sum(a, add));
            turns.push((body, Turned { z, unknown: other.unknown, angle }));
        }
        let mut stand = Stand { turns, places: Vec::new() };
        for &(body, seating) in &block.bodies {
            let place = match seating {
                Seating::Known => match self.seat[body] {
                    Seat::Known(p) => known(p),
                    _ => continue,
                },
                Seating::Free => {
                    let find = |wanted| block.unknowns.iter().position(|u| *u == wanted);
                    let (Some(x), Some(y)) = (find(Unknown::X(body)), find(Unknown::Y(body))) else { continue };
                    [x, y].map(|u| Dual { value: states[u].z[0], by: vec![(u, Value::ONE)] })
                }
                Seating::Pin(c) => {
                    let Constraint::Pin { a, b } = self.mechanism.constraints[c] else { continue };
                    let (own, other) = if self.body_of(a) == body { (a, b) } else { (b, a) };
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
            None => Turned { z: self.z(body), unknown: None, angle: None },
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
    fn line_duals(&mut self, stand: &Stand, pin: AnchorId, through: AnchorId, direction: usize) -> (DualPair, DualPair) {
        let (p, q) = (self.point(stand, pin), self.point(stand, through));
        let f = self.tape.dual_minus(&p, &q).map(|x| self.tape.dual_gather(x));
        let direction = self.param(direction);
        let own = self.tape.cos_sin(direction);
        let host = self.turned(stand, self.body_of(through));
        (f, self.tape.dual_turn(own, host.z, host.unknown))
    }

    fn angle_dual(&mut self, stand: &Stand, body: BodyId) -> Dual {
        let t = self.turned(stand, body);
        match (t.unknown, t.angle) {
            (Some((u, scale)), angle) => {
                Dual { value: angle.unwrap_or(Value::ZERO), by: vec![(u, Value::Fixed(1.0 / scale))] }
            }
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
            Constraint::Arc { pin, centre, radius } => {
                let (p, q) = (self.point(stand, pin), self.point(stand, centre));
                let f = self.tape.dual_minus(&p, &q).map(|x| self.tape.dual_gather(x));
                self.stretch(&f, radius)
            }
            Constraint::Rod { a, b, length } => {
                let (here, there) = (&self.mechanism.anchors[a], &self.mechanism.anchors[b]);
                let (plane, other) = (self.mechanism.planes[here.plane], self.mechanism.planes[there.plane]);
                let same = here.plane == there.plane;
                let (p, q) = (self.point(stand, a), self.point(stand, b));
                let (w, v) = (self.param(here.w), self.param(there.w));
                if same {
                    let [x, y] = self.tape.dual_minus(&p, &q).map(|x| self.tape.dual_gather(x));
                    let height = Dual::from(self.tape.diff(w, v));
                    self.stretch(&[x, y, height], length)
                } else {
                    let (p, q) = (self.dual_in_space(&plane, &p, w), self.dual_in_space(&other, &q, v));
                    let f: [Dual; 3] = std::array::from_fn(|i| self.tape.dual_diff(&p[i], &q[i]));
                    self.stretch(&f, length)
                }
            }
            Constraint::OnLine { pin, through, direction, offset } => {
                let (f, t) = self.line_duals(stand, pin, through, direction);
                let off = self.tape.dual_cross(&t, &f);
                let offset = Dual::from(self.param(offset));
                self.tape.dual_diff(&off, &offset)
            }
            Constraint::Along { pin, through, direction, distance } => {
                let (f, t) = self.line_duals(stand, pin, through, direction);
                let along = self.tape.dual_dot(&t, &f);
                let distance = Dual::from(self.param(distance));
                self.tape.dual_diff(&along, &distance)
            }
            Constraint::Angle { body, against, angle } => {
                let (a, b) = (self.angle_dual(stand, body), self.angle_dual(stand, against));
                let off = self.tape.dual_diff(&a, &b);
                let angle = Dual::from(self.param(angle));
                self.tape.dual_diff(&off, &angle)
            }
            Constraint::Ratio { a, b, carrier, sizes, offset } => {
                let offset = self.param(offset);
                let mut off = Dual::from(self.tape.neg(offset));
                for (body, weight) in [(a, sizes[0]), (b, sizes[1]), (carrier, -sizes[0] - sizes[1])] {
                    let angle = self.angle_dual(stand, body);
                    let part = self.tape.dual_scale(Value::Fixed(weight), &angle);
                    off = self.tape.dual_sum(&off, &part);
                }
                off
            }
            Constraint::Rack { gear, pin, through, direction, radius, offset } => {
                let (f, t) = self.line_duals(stand, pin, through, direction);
                let along = self.tape.dual_dot(&t, &f);
                let (gear, host) = (self.angle_dual(stand, gear), self.angle_dual(stand, self.body_of(through)));
                let turn = self.tape.dual_diff(&gear, &host);
                let radius = self.param(radius);
                let way = self.tape.dual_scale(radius, &turn);
                let off = self.tape.dual_diff(&along, &way);
                let offset = Dual::from(self.param(offset));
                self.tape.dual_diff(&off, &offset)
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
            let own = Dual { value: Value::ZERO, by: part.by.clone() };
            let own = self.tape.dual_scale(part.value, &own);
            rate = self.tape.dual_sum(&rate, &own);
        }
        Dual { value: self.tape.prod(Value::Fixed(0.5), value), by: rate.by }
    }

    pub(super) fn block_rows(&mut self, block: &Block, states: &[State]) -> Vec<Dual> {
        let stand = self.stand(block, states);
        block.rows.iter().map(|(c, row)| self.row(&stand, *c, *row)).collect()
    }

    /// Pivots at the drawn pose.
    pub(super) fn drawn_pivots(&mut self, block: &Block) -> Vec<f64> {
        let Pen::First(drawn) = self.pen else { return Vec::new() };
        let rows = self.block_rows(block, &block.drawn_states(drawn));
        self.eliminate(block, &rows).1.into_iter().map(|(pivot, _)| pivot.fixed().unwrap_or(0.0)).collect()
    }

    /// Solves `rows = 0` to first order: the changes of the unknowns, and each pivot with its reciprocal.
    fn eliminate(&mut self, block: &Block, rows: &[Dual]) -> (Vec<Value>, Vec<(Value, Value)>) {
        let n = block.unknowns.len();
        let mut m: Vec<Vec<Option<Value>>> = rows
            .iter()
            .map(|row| {
                let mut line = vec![None; n];
                for (u, v) in &row.by {
                    if *v != Value::ZERO {
                        line[*u] = Some(*v);
                    }
                }
                line
            })
            .collect();
        let mut right: Vec<Value> = rows.iter().map(|row| self.tape.neg(row.value)).collect();
        let mut pivots = Vec::new();
        let single = if n == 1 { 1 } else { n.saturating_sub(2) };
        for k in 0..single {
            let (r, c) = block.pivots[k];
            let pivot = m[r][c].unwrap_or(Value::ZERO);
            let inverse = self.tape.quot(Value::ONE, pivot);
            pivots.push((pivot, inverse));
            for &(i, _) in &block.pivots[k + 1..] {
                let Some(x) = m[i][c] else { continue };
                let factor = self.tape.prod(x, inverse);
                for &(_, j) in &block.pivots[k + 1..] {
                    if let Some(y) = m[r][j] {
                        let part = self.tape.prod(factor, y);
                        let old = m[i][j].unwrap_or(Value::ZERO);
                        m[i][j] = Some(self.tape.diff(old, part));
                    }
                }
                let part = self.tape.prod(factor, right[r]);
                right[i] = self.tape.diff(right[i], part);
            }
        }
        let mut step = vec![Value::ZERO; n];
        if let [.., (r, c), (q, d)] = block.pivots[..] {
            let [a, b] = [m[r][c], m[r][d]].map(|x| x.unwrap_or(Value::ZERO));
            let [e, f] = [m[q][c], m[q][d]].map(|x| x.unwrap_or(Value::ZERO));
            let det = self.tape.cross([a, b], [e, f]);
            let inverse = self.tape.quot(Value::ONE, det);
            pivots.push((det, inverse));
            let first = self.tape.cross([right[r], b], [right[q], f]);
            let second = self.tape.cross([a, right[r]], [e, right[q]]);
            step[c] = self.tape.prod(first, inverse);
            step[d] = self.tape.prod(second, inverse);
        }
        for k in (0..single).rev() {
            let (r, c) = block.pivots[k];
            let mut rest = right[r];
            for &(_, j) in &block.pivots[k + 1..] {
                if let Some(y) = m[r][j] {
                    let part = self.tape.prod(y, step[j]);
                    rest = self.tape.diff(rest, part);
                }
            }
            step[c] = self.tape.prod(rest, pivots[k].1);
        }
        (step, pivots)
    }

    /// Solves a block.
    pub(super) fn newton(&mut self, block: &Block) {
        let states = match self.pen {
            Pen::First(drawn) => block.drawn_states(drawn),
            Pen::Again => self.newton_loop(block),
        };
        let stand = self.stand(block, &states);
        for (body, t) in &stand.turns {
            self.set_spin(*body, t.z, t.angle);
        }
        for (body, place) in &stand.places {
            let place: Pair = [place[0].value, place[1].value];
            self.seat[*body] = Seat::Known(place);
        }
    }

    fn newton_loop(&mut self, block: &Block) -> Vec<State> {
        self.follows = true;
        self.wind_before(block);
        let turns: Vec<NewtonCells> = block.unknowns.iter().map(|u| self.newton_cells(*u)).collect();
        if self.remembers {
            for cells in &turns {
                if let Some([now, last]) = cells.steps {
                    self.tape.act(match cells.state {
                        (c, Some(s)) => Node::ForeseeTurn { z: [c, s], now, last },
                        (x, None) => Node::ForeseeMove { x, now, last },
                    });
                }
            }
        }
        let (busy, worst) = (self.tape.cell(Start::Zero), self.tape.cell(Start::Zero));
        self.tape.open_loop(busy);
        self.tape.act(Node::Clear { worst });
        let states = self.read_states(block, &turns);
        let rows = self.block_rows(block, &states);
        let (step, pivots) = self.eliminate(block, &rows);
        let mut det = Value::ONE;
        let mut share = 1.0;
        let mut strain = Value::ZERO;
        for ((pivot, inverse), drawn) in pivots.iter().zip(&block.drawn) {
            det = self.tape.prod(det, *pivot);
            share /= drawn;
            strain = self.tape.add_size(strain, *drawn, *inverse);
        }
        for (((unknown, cells), by), scale) in block.unknowns.iter().zip(&turns).zip(&step).zip(&block.scales) {
            let k = 1.0 / (block.limit * if unknown.is_turn() { 1.0 } else { self.size });
            let (by, f) = (*by, 1.0 / scale);
            let now = cells.steps.map(|s| s[0]);
            self.tape.act(match cells.state {
                (c, Some(s)) => Node::Turn { z: [c, s], by, f, busy, worst, k, now },
                (x, None) => Node::Move { x, by, f, busy, worst, k, now },
            });
        }
        self.tape.close_loop(busy, worst, WILD / block.limit);
        self.tape.above(det, share, FLAT);
        if pivots.len() > 1 {
            self.tape.within(strain, STRAIN);
        }
        self.steady(det);
        self.read_states(block, &turns)
    }

    /// Unwrapped angles of standing bodies that the loop needs are followed once, before it.
    fn wind_before(&mut self, block: &Block) {
        for (c, _) in &block.rows {
            let bodies = match self.mechanism.constraints[*c] {
                Constraint::Angle { body, against, .. } => [body, against, against],
                Constraint::Ratio { a, b, carrier, .. } => [a, b, carrier],
                Constraint::Rack { gear, through, .. } => [gear, self.body_of(through), gear],
                _ => continue,
            };
            for body in bodies {
                self.angle(body);
            }
        }
    }

    fn newton_cells(&mut self, unknown: Unknown) -> NewtonCells {
        let state = match unknown {
            Unknown::Turn(b) => (self.tape.cell(Start::Cos(b)), Some(self.tape.cell(Start::Sin(b)))),
            Unknown::Angle(b) => (self.tape.cell(Start::Angle(b)), None),
            Unknown::X(b) => (self.tape.cell(Start::X(b)), None),
            Unknown::Y(b) => (self.tape.cell(Start::Y(b)), None),
        };
        let steps = self.remembers.then(|| {
            let pair = [self.tape.cell(Start::Zero), self.tape.cell(Start::Zero)];
            self.foresights.push(pair);
            pair
        });
        NewtonCells { state, steps }
    }

    fn read_states(&mut self, block: &Block, cells: &[NewtonCells]) -> Vec<State> {
        block
            .unknowns
            .iter()
            .zip(cells)
            .map(|(unknown, cells)| {
                let first = self.tape.read(cells.state.0);
                match (unknown, cells.state.1) {
                    (Unknown::Angle(_), _) => State { z: self.tape.cos_sin(first), angle: Some(first) },
                    (_, Some(second)) => State { z: [first, self.tape.read(second)], angle: None },
                    _ => State { z: [first, Value::ZERO], angle: None },
                }
            })
            .collect()
    }
}

/// Cells of an unknown: its state, and its two latest steps where poses follow one another.
struct NewtonCells {
    state: (Cell, Option<Cell>),
    steps: Option<[Cell; 2]>,
}
