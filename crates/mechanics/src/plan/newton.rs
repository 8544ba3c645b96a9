//! A block of bodies by Newton: the loop around the closures, its elimination written out once.
//!
//! A body's place follows from its neighbour's along a pin, so the unknowns are turns and the few places that no pin gives. The turn
//! step is an exact rotation; what a closure can still be off after a step of δ in all is then no more than δ² times a length, so the
//! step itself says when a pose has settled and nobody need look again.

use super::block::Block;
use super::draft::{Draft, Pen, Seat};
use super::dual::Dual;
use super::tape::{Cell, Node, Pair, Start, Value};
use crate::model::{BodyId, Constraint, Pose};

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
    pub(super) z: Pair,
    pub(super) angle: Option<Value>,
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
                    let angle =
                        matches!(u, Unknown::Angle(_)).then_some(Value::Fixed(drawn[b].angle));
                    State {
                        z: [Value::Fixed(c), Value::Fixed(s)],
                        angle,
                    }
                }
                Unknown::X(b) => State {
                    z: [Value::Fixed(drawn[b].x), Value::ZERO],
                    angle: None,
                },
                Unknown::Y(b) => State {
                    z: [Value::Fixed(drawn[b].y), Value::ZERO],
                    angle: None,
                },
            })
            .collect()
    }
}

impl Draft<'_> {
    /// Pivots at the drawn pose.
    pub(super) fn drawn_pivots(&mut self, block: &Block) -> Vec<f64> {
        let Pen::First(drawn) = self.pen else {
            return Vec::new();
        };
        let rows = self.block_rows(block, &block.drawn_states(drawn));
        self.eliminate(block, &rows)
            .1
            .into_iter()
            .map(|(pivot, _)| pivot.fixed().unwrap_or(0.0))
            .collect()
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
        let turns: Vec<NewtonCells> = block
            .unknowns
            .iter()
            .map(|u| self.newton_cells(*u))
            .collect();
        if self.remembers {
            for cells in &turns {
                if let Some([now, last]) = cells.steps {
                    self.tape.act(match cells.state {
                        (c, Some(s)) => Node::ForeseeTurn {
                            z: [c, s],
                            now,
                            last,
                        },
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
        for (((unknown, cells), by), scale) in block
            .unknowns
            .iter()
            .zip(&turns)
            .zip(&step)
            .zip(&block.scales)
        {
            let k = 1.0 / (block.limit * if unknown.is_turn() { 1.0 } else { self.size });
            let (by, f) = (*by, 1.0 / scale);
            let now = cells.steps.map(|s| s[0]);
            self.tape.act(match cells.state {
                (c, Some(s)) => Node::Turn {
                    z: [c, s],
                    by,
                    f,
                    busy,
                    worst,
                    k,
                    now,
                },
                (x, None) => Node::Move {
                    x,
                    by,
                    f,
                    busy,
                    worst,
                    k,
                    now,
                },
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
                Constraint::Ratio { a, b, carrier, .. }
                | Constraint::Course { a, b, carrier, .. } => [a, b, carrier],
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
            Unknown::Turn(b) => (
                self.tape.cell(Start::Cos(b)),
                Some(self.tape.cell(Start::Sin(b))),
            ),
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
                    (Unknown::Angle(_), _) => State {
                        z: self.tape.cos_sin(first),
                        angle: Some(first),
                    },
                    (_, Some(second)) => State {
                        z: [first, self.tape.read(second)],
                        angle: None,
                    },
                    _ => State {
                        z: [first, Value::ZERO],
                        angle: None,
                    },
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
