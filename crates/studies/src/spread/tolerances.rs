//! The tolerance of every dimension: its own, else the shop's usual.

use crate::assemble::{Joint, Model};
use machine::model::Adjusts;
use machine::work::{ToleranceOf, Usual};
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
    /// Index into the items: what one entry of the file holds together.
    pub(crate) item: usize,
}

/// What one tolerance of the file holds together, or a dimension that none can name.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct HeldAsOne {
    /// In the file's words.
    pub(crate) name: String,
    pub(crate) can_be_named: bool,
}

/// What a tolerance of a machine file is on, as parameters.
fn params_of(model: &Model, of: ToleranceOf) -> Vec<ParamId> {
    let constraint = |joint: Joint| {
        let at = model.joints.iter().position(|j| *j == joint)?;
        model.mechanism.constraints.get(at).copied()
    };
    match of {
        ToleranceOf::Hole { part, hole } => {
            let anchor = model
                .anchor_of(part, hole)
                .and_then(|a| model.mechanism.anchors.get(a));
            anchor.map_or_else(Vec::new, |a| vec![a.u, a.v, a.w])
        }
        ToleranceOf::Rod(rod) => match constraint(Joint::Rod(rod)) {
            Some(Constraint::Rod { length, .. }) => vec![length],
            _ => Vec::new(),
        },
        ToleranceOf::Clock(part) => match constraint(Joint::Clamp(part)) {
            Some(Constraint::Angle { angle, .. }) => vec![angle],
            _ => Vec::new(),
        },
        ToleranceOf::Slide(slide) => {
            let line = match constraint(Joint::SlideLine(slide)) {
                Some(Constraint::OnLine { direction, .. }) => Some(direction),
                _ => None,
            };
            let square = match constraint(Joint::SlideTurn(slide)) {
                Some(Constraint::Angle { angle, .. }) => Some(angle),
                _ => None,
            };
            line.into_iter().chain(square).collect()
        }
        ToleranceOf::Slot(slot) => match constraint(Joint::Slot(slot)) {
            Some(Constraint::OnLine { direction, .. }) => vec![direction],
            Some(Constraint::Arc { radius, .. }) => vec![radius],
            _ => Vec::new(),
        },
        ToleranceOf::Cam(cam) => match constraint(Joint::Cam(cam)) {
            Some(Constraint::Cam { swell, .. }) => vec![swell],
            _ => Vec::new(),
        },
    }
}

/// Everything that a tolerance of the file can name: its words, and the parameters it holds.
fn nameable(model: &Model) -> Vec<(String, Vec<ParamId>)> {
    let machine = &model.machine;
    let mut all = Vec::new();
    for (part, p) in machine.parts.iter().enumerate() {
        all.push((format!("{}: clock angle", p.name), ToleranceOf::Clock(part)));
        for (hole, point) in machine.points.iter().enumerate() {
            // Only a hole that the part's own datum is not; the file names no other.
            let placed = model.anchor_of(part, hole).is_some_and(|a| {
                let a = model.mechanism.anchors[a];
                let is = |d: &crate::Dimension| d.param == a.u || d.param == a.v;
                model.dimensions.iter().any(is)
            });
            if placed {
                let name = format!("{}: hole {}", p.name, point.name);
                all.push((name, ToleranceOf::Hole { part, hole }));
            }
        }
    }
    let rods = machine.rods.iter().enumerate();
    all.extend(rods.map(|(i, r)| (format!("rod {}: length", r.name), ToleranceOf::Rod(i))));
    let slides = machine.slides.iter().enumerate();
    all.extend(slides.map(|(i, s)| {
        let name = format!("slide {}: direction and squareness", s.name);
        (name, ToleranceOf::Slide(i))
    }));
    let slots = machine.slots.iter().enumerate();
    all.extend(slots.map(|(i, s)| (format!("slot {}: line", s.name), ToleranceOf::Slot(i))));
    let cams = machine.cams.iter().enumerate();
    all.extend(cams.map(|(i, c)| (format!("cam {}: profile", c.name), ToleranceOf::Cam(i))));
    all.into_iter()
        .map(|(name, of)| (name, params_of(model, of)))
        .filter(|(_, params)| !params.is_empty())
        .collect()
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

/// All dimensions that are not exact, with their tolerances; and what one tolerance holds together.
pub(crate) fn tolerances(model: &Model) -> (Vec<Toleranced>, Vec<HeldAsOne>) {
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
        .map(|t| params_of(model, t.of))
        .collect();
    let mut all: Vec<Toleranced> = Vec::new();
    let nameable = nameable(model);
    let mut items: Vec<HeldAsOne> = Vec::new();
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
                let named = nameable.iter().find(|n| n.1.contains(&d.param));
                let name = named.map_or_else(|| d.name.clone(), |n| n.0.clone());
                let item = items
                    .iter()
                    .position(|i| i.name == name)
                    .unwrap_or_else(|| {
                        let can_be_named = named.is_some();
                        items.push(HeldAsOne { name, can_be_named });
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
            _ => {}
        }
    }
    (all, items)
}
