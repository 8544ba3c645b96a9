//! Distances between two holes of one part that no dimension of the drawing is: what a rule or a caliper takes where the drawing counts from
//! its origin, from a line or across it.

use super::system::Unknown;
use crate::assemble::Model;
use machine::Place;
use machine::logbook::Log;
use machine::model::{FRAME, Machine};
use mechanics::model::ParamId;
use nalgebra::{DMatrix, DVector};

/// Holes closer than this are one, mm.
const SAME_PLACE: f64 = 1e-9;

/// A distance between two holes.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Span {
    /// "frame: distance bell-pivot to shaft-axis", "frame: height shaft-axis to crank-centre".
    pub(crate) name: String,
    /// The part: "frame".
    pub(crate) of: String,
    way: Way,
}

/// How two holes lie apart.
#[derive(Clone, Debug, PartialEq)]
enum Way {
    /// In one plane, by the coordinates of both.
    Apart([[ParamId; 2]; 2]),
    /// In two planes with the same upward direction: by how much one hole is above the other, and the origins of their planes.
    Above { ends: [ParamId; 2], offset: f64 },
}

/// A distance that was measured.
#[derive(Clone, Debug)]
pub(crate) struct Measured {
    pub(crate) span: Span,
    pub(crate) value: f64,
    /// Standard deviation, mm.
    pub(crate) sd: f64,
    /// Where it stands in the log.
    pub(crate) place: Place,
}

impl Span {
    /// The distance with these parameters, mm.
    pub(crate) fn length(&self, params: &[f64]) -> f64 {
        let at = |param: ParamId| params.get(param).copied().unwrap_or(0.0);
        match &self.way {
            Way::Apart([a, b]) => (at(b[0]) - at(a[0])).hypot(at(b[1]) - at(a[1])),
            Way::Above { ends, offset } => at(ends[1]) - at(ends[0]) + offset,
        }
    }

    /// The rate of the distance by a parameter.
    fn by_param(&self, params: &[f64], param: ParamId) -> f64 {
        let at = |param: ParamId| params.get(param).copied().unwrap_or(0.0);
        let long = self.length(params);
        let one = |ends: [ParamId; 2], rate: f64| {
            let is = |p: ParamId| if p == param { rate } else { 0.0 };
            is(ends[1]) - is(ends[0])
        };
        match &self.way {
            Way::Apart([a, b]) if long > 0.0 => [0, 1]
                .map(|axis| one([a[axis], b[axis]], (at(b[axis]) - at(a[axis])) / long))
                .iter()
                .sum(),
            Way::Apart(_) => 0.0,
            Way::Above { ends, .. } => one(*ends, 1.0),
        }
    }

    /// Its derivatives by the unknowns, in their scale.
    pub(crate) fn by_unknown(&self, params: &[f64], unknowns: &[Unknown]) -> DVector<f64> {
        let all = unknowns
            .iter()
            .map(|u| u.sign * u.scale * self.by_param(params, u.param));
        DVector::from_iterator(unknowns.len(), all)
    }
}

/// All such distances of a machine, part by part; they come behind its dimensions where both are counted.
pub(crate) fn spans(model: &Model) -> Vec<Span> {
    let machine = &model.machine;
    let own = |param: ParamId| model.dimensions.iter().any(|d| d.param == param);
    let mut all = Vec::new();
    for (id, part) in machine.parts.iter().enumerate() {
        let holes: Vec<(usize, [ParamId; 2])> = part
            .carries
            .iter()
            .filter_map(|&point| {
                let carried = model.carriers.get(point)?;
                let &(_, anchor) = carried.iter().find(|c| c.0 == id)?;
                let a = model.mechanism.anchors.get(anchor)?;
                Some((point, [a.u, a.v]))
            })
            .collect();
        for (n, &(p, from)) in holes.iter().enumerate() {
            for &(q, to) in &holes[n + 1..] {
                let (a, b) = (&machine.points[p], &machine.points[q]);
                let open: Vec<ParamId> = from.into_iter().chain(to).filter(|&p| own(p)).collect();
                // Between the first two holes of a part the distance is a dimension itself.
                let new = open.len() > 1;
                let apart = (a.x - b.x).hypot(a.y - b.y) > SAME_PLACE;
                if new && apart && a.plane == b.plane {
                    all.push(Span {
                        name: format!("{}: distance {} to {}", part.name, a.name, b.name),
                        of: part.name.clone(),
                        way: Way::Apart([from, to]),
                    });
                } else if let Some(offset) = above(machine, a.plane, b.plane) {
                    let up = b.y - a.y + offset;
                    if id == FRAME && up.abs() > SAME_PLACE {
                        // From the lower one to the higher.
                        let (low, high, ends) = if up > 0.0 {
                            (a, b, [from[1], to[1]])
                        } else {
                            (b, a, [to[1], from[1]])
                        };
                        all.push(Span {
                            name: format!("{}: height {} to {}", part.name, low.name, high.name),
                            of: part.name.clone(),
                            way: Way::Above {
                                ends,
                                offset: offset * up.signum(),
                            },
                        });
                    }
                }
            }
        }
    }
    all
}

/// By how much the origin of one plane lies above that of another with the same upward direction.
fn above(machine: &Machine, from: usize, to: usize) -> Option<f64> {
    let (a, b) = (machine.planes.get(from)?, machine.planes.get(to)?);
    let along = |v: [f64; 3]| (0..3).map(|i| v[i] * a.up[i]).sum::<f64>();
    let origins = [0, 1, 2].map(|i| b.origin[i] - a.origin[i]);
    (from != to && along(b.up) > 1.0 - 1e-9).then(|| along(origins))
}

/// Distances that were measured, one a line of the log.
pub(crate) fn measured(model: &Model, log: &Log) -> Vec<Measured> {
    let first = model.dimensions.len();
    if log.measured.iter().all(|m| m.dimension < first) {
        return Vec::new();
    }
    let all = spans(model);
    let found = log.measured.iter().filter_map(|m| {
        let span = all.get(m.dimension.checked_sub(first)?)?.clone();
        Some(Measured {
            span,
            value: m.value,
            sd: m.uncertainty / 2.0,
            place: m.place,
        })
    });
    found.collect()
}

/// The least errors of these dimensions, pairs of an index and the error, with which the distances are what they were measured to be.
pub(crate) fn least_errors(
    model: &Model,
    params: &[f64],
    all: &[Measured],
    free: impl Fn(usize) -> bool,
) -> Vec<(usize, f64)> {
    let n = model.dimensions.len();
    if all.is_empty() {
        return Vec::new();
    }
    let mut rates = DMatrix::zeros(all.len(), n);
    let mut off = DVector::zeros(all.len());
    for (line, m) in all.iter().enumerate() {
        off[line] = m.value - m.span.length(params);
        let dimensions = model.dimensions.iter().enumerate();
        for (k, d) in dimensions.filter(|(k, _)| free(*k)) {
            rates[(line, k)] = d.sign * m.span.by_param(params, d.param);
        }
    }
    let Ok(errors) = rates.svd(true, true).solve(&off, 1e-9) else {
        return Vec::new();
    };
    let moved = errors.iter().copied().enumerate();
    moved.filter(|(_, e)| e.abs() > 0.0).collect()
}
