//! The tolerance of every dimension: its own, else the shop's usual.

use crate::assemble::{Joint, Model};
use machine::model::Adjusts;
use machine::work::{Tolerance, ToleranceOf, Usual};
use mechanics::model::{Constraint, ParamId};

/// What kind of dimension it is: which usual tolerance it falls to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Class {
    Hole,
    Length,
    Clock,
    Direction,
}

/// A dimension with its tolerance.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Toleranced {
    /// Index into the model's dimensions.
    pub(crate) dimension: usize,
    pub(crate) param: ParamId,
    pub(crate) class: Class,
    /// Plus or minus, mm or rad.
    pub(crate) plus_minus: f64,
    /// Index of its own entry; none when it falls to the usual.
    pub(crate) own: Option<usize>,
    /// Dimensions that one entry holds together: both coordinates of a hole.
    pub(crate) item: usize,
}

/// What a tolerance of a machine file is on, as parameters.
fn params_of(model: &Model, tolerance: &Tolerance) -> Vec<ParamId> {
    let constraint = |joint: Joint| {
        let at = model.joints.iter().position(|j| *j == joint)?;
        model.mechanism.constraints.get(at).copied()
    };
    match tolerance.of {
        ToleranceOf::Hole { part, hole } => {
            let anchor = model
                .anchor_of(part, hole)
                .and_then(|a| model.mechanism.anchors.get(a));
            anchor.map_or_else(Vec::new, |a| vec![a.u, a.v])
        }
        ToleranceOf::Rod(rod) => match constraint(Joint::Rod(rod)) {
            Some(Constraint::Rod { length, .. }) => vec![length],
            _ => Vec::new(),
        },
        ToleranceOf::Clock(part) => match constraint(Joint::Clamp(part)) {
            Some(Constraint::Angle { angle, .. }) => vec![angle],
            _ => Vec::new(),
        },
        ToleranceOf::Slide(slide) => match constraint(Joint::SlideLine(slide)) {
            Some(Constraint::OnLine { direction, .. }) => vec![direction],
            _ => Vec::new(),
        },
        ToleranceOf::Slot(slot) => match constraint(Joint::Slot(slot)) {
            Some(Constraint::OnLine { direction, .. }) => vec![direction],
            Some(Constraint::Arc { radius, .. }) => vec![radius],
            _ => Vec::new(),
        },
    }
}

/// Lengths of rods, and of those the ones that are adjusted when the machine is built.
fn rod_lengths(model: &Model) -> Vec<(ParamId, bool)> {
    let adjusted = |rod: usize| {
        model
            .machine
            .settings
            .iter()
            .any(|s| s.adjusts == Adjusts::Rod(rod))
    };
    let rods = model.joints.iter().zip(&model.mechanism.constraints);
    rods.filter_map(|(joint, c)| match (*joint, *c) {
        (Joint::Rod(rod), Constraint::Rod { length, .. }) => Some((length, adjusted(rod))),
        _ => None,
    })
    .collect()
}

fn usual(usual: &Usual, class: Class) -> Option<f64> {
    match class {
        Class::Hole => usual.hole_places,
        Class::Length => usual.rod_lengths,
        Class::Clock => usual.clock_angles,
        Class::Direction => usual.directions,
    }
}

/// All dimensions that are not exact, with their tolerances; and names of those that the file says nothing about.
pub(crate) fn tolerances(model: &Model) -> (Vec<Toleranced>, Vec<String>) {
    let work = &model.machine.work;
    let rods = rod_lengths(model);
    let clocks: Vec<ParamId> = model
        .joints
        .iter()
        .zip(&model.mechanism.constraints)
        .filter_map(|(j, c)| match (*j, *c) {
            (Joint::Clamp(_), Constraint::Angle { angle, .. }) => Some(angle),
            _ => None,
        })
        .collect();
    let own: Vec<Vec<ParamId>> = work
        .tolerances
        .iter()
        .map(|t| params_of(model, t))
        .collect();
    let mut all: Vec<Toleranced> = Vec::new();
    let mut unknown = Vec::new();
    let mut items: Vec<(Option<usize>, String)> = Vec::new();
    for (i, d) in model.dimensions.iter().enumerate() {
        let rod = rods.iter().find(|r| r.0 == d.param);
        let class = if rod.is_some() {
            Class::Length
        } else if clocks.contains(&d.param) {
            Class::Clock
        } else if d.inside == crate::Inside::Radian {
            Class::Direction
        } else {
            Class::Hole
        };
        let entry = own.iter().position(|params| params.contains(&d.param));
        let named = entry
            .and_then(|e| work.tolerances.get(e))
            .map(|t| t.plus_minus);
        // A rod that has a setting is brought to length when the machine is built.
        if named.is_none() && rod.is_some_and(|r| r.1) {
            continue;
        }
        match named.or(usual(&work.usual, class)) {
            Some(plus_minus) if plus_minus > 0.0 => {
                let key = (entry, item_name(model, i, class));
                let item = items.iter().position(|k| *k == key).unwrap_or_else(|| {
                    items.push(key);
                    items.len() - 1
                });
                all.push(Toleranced {
                    dimension: i,
                    param: d.param,
                    class,
                    plus_minus,
                    own: entry,
                    item,
                });
            }
            Some(_) => {}
            None => unknown.push(d.name.clone()),
        }
    }
    (all, unknown)
}

/// What is held as one: a hole with both its coordinates, else the dimension itself.
pub(crate) fn item_name(model: &Model, dimension: usize, class: Class) -> String {
    let d = &model.dimensions[dimension];
    if class == Class::Hole {
        for (point, carriers) in model.carriers.iter().enumerate() {
            let on = carriers.iter().find(|c| {
                let a = model.mechanism.anchors[c.1];
                a.u == d.param || a.v == d.param
            });
            if let Some(&(body, _)) = on {
                return format!(
                    "{}: hole {}",
                    model.body_name(body),
                    model.machine.points[point].name
                );
            }
        }
    }
    d.name.clone()
}
