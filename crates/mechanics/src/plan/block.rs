//! Bodies that no closed form splits: which of them must be solved together, by which unknowns and equations, in which order.

use nalgebra::DMatrix;

use super::draft::{Draft, Pen, Seat, Spin};
use super::dual::Dual;
use super::moves::Move;
use super::newton::Unknown;
use crate::blocks::{matching, unknowns_of_rows};
use crate::model::{BodyId, Constraint, Pose};
use crate::rows::{independent, scale_columns};

/// An equation: constraint and which of its equations.
pub(super) type Row = (usize, usize);

/// How a body of a block gets its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Seating {
    /// It hangs on the other body of this pin.
    Pin(usize),
    /// Its place is unknown.
    Free,
    /// Its place is known already.
    Known,
}

/// A group of bodies solved together.
#[derive(Clone, Debug, Default)]
pub(super) struct Block {
    /// Bodies in the order in which they get their places.
    pub(super) bodies: Vec<(BodyId, Seating)>,
    /// Ties: (body, its constraint, the body it is tied to), in order; the other bodies with an open turn have an unknown each.
    pub(super) ties: Vec<(BodyId, usize, BodyId)>,
    pub(super) unknowns: Vec<Unknown>,
    /// Each unknown is solved for times this: the length of its arm, or 1.
    pub(super) scales: Vec<f64>,
    pub(super) rows: Vec<Row>,
    /// Row and unknown of each pivot, in order; the last two are solved together.
    pub(super) pivots: Vec<(usize, usize)>,
    /// Pivots in the drawn pose; the last is the determinant of the last two.
    pub(super) drawn: Vec<f64>,
    /// Sum of the unknowns' changes, rad or sizes, below which a pose has settled.
    pub(super) limit: f64,
}

/// Why no block can be found.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum NoBlock {
    /// These bodies stay free.
    Free(Vec<BodyId>),
    /// The block is singular in the drawn pose.
    DeadCentre(Vec<BodyId>),
}

/// The first group of open bodies that depends on no other, and the constraints that it uses up whole.
pub(super) fn find_block(
    draft: &mut Draft,
    drawn: &[Pose],
    params: &[f64],
) -> Result<(Move, Vec<usize>), NoBlock> {
    let mechanism = draft.mechanism;
    let mut columns: Vec<usize> = Vec::new();
    for body in 1..mechanism.bodies.len() {
        let first = 3 * (body - 1);
        if !matches!(draft.seat[body], Seat::Known(_)) {
            columns.extend([first, first + 1]);
        }
        if !matches!(draft.spin[body], Spin::Known { .. }) {
            columns.push(first + 2);
        }
    }
    // The open unknowns that each equation may depend on, by their places in `columns`.
    let touched: Vec<Vec<usize>> = unknowns_of_rows(mechanism)
        .iter()
        .map(|row| {
            row.iter()
                .filter_map(|c| columns.iter().position(|d| d == c))
                .collect()
        })
        .collect();
    let rows: Vec<Row> = mechanism
        .constraints
        .iter()
        .enumerate()
        .flat_map(|(c, constraint)| (0..constraint.equations()).map(move |row| (c, row)))
        .collect();
    let numbers: Vec<usize> = (0..rows.len())
        .filter(|r| !touched[*r].is_empty())
        .collect();
    let mut j = mechanism.jacobian_by_pose(params, drawn);
    scale_columns(&mut j, draft.size);
    let j = j.select_rows(&numbers).select_columns(&columns);
    let bodies: Vec<BodyId> = columns.iter().map(|c| c / 3 + 1).collect();
    let keep = independent(&j).keep;
    if keep.len() < columns.len() {
        return Err(NoBlock::Free(free_bodies(&j.select_rows(&keep), &bodies)));
    }
    let keep: Vec<usize> = keep.iter().map(|k| numbers[*k]).collect();
    let reaches: Vec<&[usize]> = keep.iter().map(|r| touched[*r].as_slice()).collect();
    let Some(row_of) = matching(&reaches, columns.len()) else {
        return Err(NoBlock::DeadCentre(bodies));
    };
    let members = first_component(&bodies, &reaches, &row_of);
    let own = bodies
        .iter()
        .zip(&row_of)
        .filter(|(body, _)| members.contains(body));
    let mut own: Vec<Row> = own.map(|(_, row)| rows[keep[*row]]).collect();
    own.sort_unstable();
    let mut block = shape(draft, &members, &own);
    order_pivots(draft, &mut block).map_err(|()| NoBlock::DeadCentre(members))?;
    let whole = (0..mechanism.constraints.len()).filter(|c| {
        own.iter().filter(|row| row.0 == *c).count() == mechanism.constraints[*c].equations()
    });
    Ok((Move::Newton(Box::new(block)), whole.collect()))
}

/// Bodies that move although all equations hold.
fn free_bodies(j: &DMatrix<f64>, bodies: &[BodyId]) -> Vec<BodyId> {
    // Every unit motion less what the equations take from it (orthonormal rows, taken out one after another).
    let mut basis: Vec<Vec<f64>> = Vec::new();
    for r in 0..j.nrows() {
        let mut row: Vec<f64> = j.row(r).iter().copied().collect();
        for _ in 0..2 {
            for b in &basis {
                let d: f64 = row.iter().zip(b).map(|(x, y)| x * y).sum();
                row.iter_mut().zip(b).for_each(|(x, y)| *x -= d * y);
            }
        }
        let length = row.iter().map(|x| x * x).sum::<f64>().sqrt();
        row.iter_mut().for_each(|x| *x /= length);
        basis.push(row);
    }
    let mut free = Vec::new();
    for (c, body) in bodies.iter().enumerate() {
        let held: f64 = basis.iter().map(|b| b[c] * b[c]).sum();
        if 1.0 - held > 1e-9 && free.last() != Some(body) {
            free.push(*body);
        }
    }
    free
}

/// Bodies of a strongly connected group that needs no other open body: the smallest set closed under "its equations name". `bodies` are
/// those of the unknowns.
fn first_component(bodies: &[BodyId], reaches: &[&[usize]], row_of: &[usize]) -> Vec<BodyId> {
    let mut smallest: Vec<BodyId> = bodies.to_vec();
    smallest.dedup();
    for start in smallest.clone() {
        let mut set = vec![start];
        let mut next = 0;
        while let Some(&body) = set.get(next) {
            next += 1;
            let own = bodies.iter().zip(row_of).filter(|(b, _)| **b == body);
            for other in own.flat_map(|(_, row)| reaches[*row]).map(|c| bodies[*c]) {
                if !set.contains(&other) {
                    set.push(other);
                }
            }
        }
        if set.len() < smallest.len() {
            smallest = set;
        }
    }
    smallest.sort_unstable();
    smallest
}

/// Unknowns, ties and places of a block.
fn shape(draft: &Draft, bodies: &[BodyId], own: &[Row]) -> Block {
    let mechanism = draft.mechanism;
    let mut block = Block::default();
    let mut left: Vec<Row> = own.to_vec();
    let open: Vec<BodyId> = bodies
        .iter()
        .copied()
        .filter(|b| !matches!(draft.spin[*b], Spin::Known { .. }))
        .collect();
    // Turns: bodies tied by angles share one unknown.
    let mut turned: Vec<BodyId> = Vec::new();
    for &body in &open {
        if turned.contains(&body) {
            continue;
        }
        block.unknowns.push(Unknown::Turn(body));
        let mut tree = vec![body];
        let mut next = 0;
        while let Some(&from) = tree.get(next) {
            next += 1;
            for &(c, _) in own {
                let Constraint::Angle {
                    body: b, against, ..
                } = mechanism.constraints[c]
                else {
                    continue;
                };
                let to = if b == from { against } else { b };
                if (b == from || against == from) && open.contains(&to) && !tree.contains(&to) {
                    tree.push(to);
                    block.ties.push((to, c, from));
                    left.retain(|r| r.0 != c);
                }
            }
        }
        // A ratio or a rack needs the angle itself.
        let by_angle = left.iter().any(|(c, _)| match mechanism.constraints[*c] {
            Constraint::Ratio { a, b, carrier, .. } | Constraint::Course { a, b, carrier, .. } => {
                [a, b, carrier].iter().any(|x| tree.contains(x))
            }
            Constraint::Rack { gear, through, .. } => {
                tree.contains(&gear) || tree.contains(&draft.body_of(through))
            }
            Constraint::Angle { body, against, .. } => {
                tree.contains(&body) || tree.contains(&against)
            }
            _ => false,
        });
        if by_angle && let Some(last) = block.unknowns.last_mut() {
            *last = Unknown::Angle(body);
        }
        turned.extend(tree);
    }
    // Places: along pins from what stands, else unknown.
    let mut waiting: Vec<BodyId> = Vec::new();
    for &body in bodies {
        if matches!(draft.seat[body], Seat::Known(_)) {
            block.bodies.push((body, Seating::Known));
        } else {
            waiting.push(body);
        }
    }
    while !waiting.is_empty() {
        let pin = left.iter().find_map(|&(c, row)| {
            let Constraint::Pin { a, b } = mechanism.constraints[c] else {
                return None;
            };
            if row != 0 || !left.contains(&(c, 1)) {
                return None;
            }
            let stands = |anchor| {
                let body = draft.body_of(anchor);
                matches!(draft.kind(anchor), Seat::Known(_))
                    || (bodies.contains(&body) && !waiting.contains(&body))
            };
            let (a_body, b_body) = (draft.body_of(a), draft.body_of(b));
            if waiting.contains(&a_body) && stands(b) {
                Some((a_body, c))
            } else if waiting.contains(&b_body) && stands(a) {
                Some((b_body, c))
            } else {
                None
            }
        });
        if let Some((body, c)) = pin {
            block.bodies.push((body, Seating::Pin(c)));
            waiting.retain(|b| *b != body);
            left.retain(|r| r.0 != c);
        } else {
            let body = waiting.remove(0);
            block.bodies.push((body, Seating::Free));
            block.unknowns.extend([Unknown::X(body), Unknown::Y(body)]);
        }
    }
    block.rows = left;
    block.scales = block
        .unknowns
        .iter()
        .map(|u| arm_of(draft, &block, *u))
        .collect();
    block
}

/// Length of an arm of the body that an unknown turns, as drawn; 1 where there is none.
fn arm_of(draft: &Draft, block: &Block, unknown: Unknown) -> f64 {
    let (Unknown::Turn(body) | Unknown::Angle(body)) = unknown else {
        return 1.0;
    };
    let mechanism = draft.mechanism;
    let anchors = block.bodies.iter().filter_map(|(_, seating)| {
        if let Seating::Pin(c) = seating {
            Some(*c)
        } else {
            None
        }
    });
    let pins = anchors
        .chain(block.rows.iter().map(|r| r.0))
        .filter_map(|c| match mechanism.constraints[c] {
            Constraint::Pin { a, b } => Some([a, b]),
            _ => None,
        });
    let arms = pins
        .flatten()
        .filter(|a| draft.body_of(*a) == body)
        .map(|a| {
            let a = &mechanism.anchors[a];
            (draft.drawn_param(a.u).abs(), draft.drawn_param(a.v).abs())
        });
    // One along the body's own axis costs least.
    let long = |(u, v): &(f64, f64)| u.hypot(*v) > 1e-6 * draft.size;
    let on_axis = arms
        .clone()
        .filter(long)
        .find(|(_, v)| *v <= 1e-12 * draft.size);
    on_axis
        .or_else(|| arms.clone().find(long))
        .map_or(draft.size, |(u, v)| u.hypot(v))
}

/// Chooses the pivots on the drawn pose: few entries in row and column first (Markowitz), never a small one.
fn order_pivots(draft: &mut Draft, block: &mut Block) -> Result<(), ()> {
    let n = block.unknowns.len();
    if block.rows.len() != n {
        return Err(());
    }
    let mut shortest = draft.size;
    for (c, _) in &block.rows {
        if let Constraint::Rod { length: l, .. } | Constraint::Arc { radius: l, .. } =
            draft.mechanism.constraints[*c]
        {
            shortest = shortest.min(draft.param(l).fixed().unwrap_or(0.0).abs());
        }
    }
    // A rod's residual is quadratic over its own length: short rods want smaller steps for the same closing error.
    block.limit = 3e-6 * (shortest / draft.size).clamp(1e-6, 1.0).sqrt();
    let rows: Vec<Dual> = draft.drawn_rows(block);
    let mut m: Vec<Vec<Option<f64>>> = rows
        .iter()
        .map(|row| {
            let mut line = vec![None; n];
            for (u, v) in &row.by {
                line[*u] = v.fixed();
            }
            let top = line.iter().flatten().fold(0.0, |t: f64, x| t.max(x.abs()));
            if top > 0.0 {
                line.iter_mut().flatten().for_each(|x| *x /= top);
            }
            line
        })
        .collect();
    let (mut open_rows, mut open_columns): (Vec<usize>, Vec<usize>) =
        ((0..n).collect(), (0..n).collect());
    while open_rows.len() > 2 {
        let count = |r: usize, cs: &[usize]| cs.iter().filter(|c| m[r][**c].is_some()).count();
        let mut best: Option<(usize, f64, usize, usize)> = None;
        for &c in &open_columns {
            let top = open_rows
                .iter()
                .filter_map(|r| m[*r][c])
                .fold(0.0, |t: f64, x| t.max(x.abs()));
            let in_column = open_rows.iter().filter(|r| m[**r][c].is_some()).count();
            for &r in &open_rows {
                let Some(x) = m[r][c] else { continue };
                if x.abs() < 0.3 * top || x.abs() < 1e-9 {
                    continue;
                }
                let fill = (count(r, &open_columns) - 1) * (in_column - 1);
                if best.is_none_or(|(f, y, ..)| fill < f || (fill == f && x.abs() > y)) {
                    best = Some((fill, x.abs(), r, c));
                }
            }
        }
        let Some((_, _, r, c)) = best else {
            return Err(());
        };
        block.pivots.push((r, c));
        open_rows.retain(|x| *x != r);
        open_columns.retain(|x| *x != c);
        let pivot_row = m[r].clone();
        let Some(pivot) = pivot_row[c] else {
            return Err(());
        };
        for &i in &open_rows {
            let Some(x) = m[i][c] else { continue };
            for &k in &open_columns {
                if let Some(y) = pivot_row[k] {
                    m[i][k] = Some(m[i][k].unwrap_or(0.0) - x / pivot * y);
                }
            }
        }
    }
    match (open_rows[..].first(), open_rows.get(1)) {
        (Some(&r), None) => block.pivots.push((r, open_columns[0])),
        (Some(&r), Some(&q)) => {
            let entry = |r: usize, c: usize| m[r][c].unwrap_or(0.0);
            let (c, d) = (open_columns[0], open_columns[1]);
            let det = entry(r, c) * entry(q, d) - entry(r, d) * entry(q, c);
            if det.abs() < 1e-9 {
                return Err(());
            }
            block.pivots.extend([(r, c), (q, d)]);
        }
        _ => return Err(()),
    }
    block.drawn = draft.drawn_pivots(block);
    if block.drawn.iter().all(|p| p.abs() > 0.0 && p.is_finite()) {
        Ok(())
    } else {
        Err(())
    }
}

impl Draft<'_> {
    /// Equations of a block at the drawn pose.
    fn drawn_rows(&mut self, block: &Block) -> Vec<Dual> {
        let Pen::First(drawn) = self.pen else {
            return Vec::new();
        };
        let states = block.drawn_states(drawn);
        self.block_rows(block, &states)
    }
}
