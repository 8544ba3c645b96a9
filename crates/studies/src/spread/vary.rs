//! Which dimensions vary, and by how much.

use super::answers::Varied;
use crate::answers::Inside;
use crate::assemble::{Dimension, Model};
use machine::model::Adjusts;
use machine::work::ToleranceOf;
use mechanics::model::ParamId;

/// A dimension that varies.
#[derive(Clone, Debug)]
pub(crate) struct Vary {
    pub(crate) param: ParamId,
    pub(crate) plus_minus: f64,
    pub(crate) told: Varied,
}

/// All dimensions with a tolerance above zero.
pub(crate) fn varying(model: &Model, params: &[f64]) -> Vec<Vary> {
    let mut all = Vec::new();
    for d in &model.dimensions {
        let named = named(model, d);
        let plus_minus = named.or_else(|| usual(model, d)).unwrap_or(0.0);
        if plus_minus > 0.0 {
            let told = Varied {
                dimension: d.name.clone(),
                inside: d.inside,
                nominal: d.sign * params.get(d.param).copied().unwrap_or(0.0),
                plus_minus,
                named: named.is_some(),
            };
            all.push(Vary { param: d.param, plus_minus, told });
        }
    }
    all
}

/// What a `[tolerance]` of the file says about a dimension.
fn named(model: &Model, d: &Dimension) -> Option<f64> {
    let m = &model.machine;
    let last = m.work.tolerances.iter().rev().find(|t| match t.of {
        ToleranceOf::Hole { part, hole } => model.anchor_of(part, hole).is_some_and(|a| {
            let a = model.mechanism.anchors[a];
            d.param == a.u || d.param == a.v
        }),
        ToleranceOf::Rod(rod) => d.of == format!("rod {}", m.rods[rod].name),
        ToleranceOf::Clock(part) => d.of == m.parts[part].name && d.name.ends_with(": clock angle"),
        ToleranceOf::Slide(slide) => d.inside == Inside::Radian && d.of == format!("slide {}", m.slides[slide].name),
        ToleranceOf::Slot(slot) => d.inside == Inside::Radian && d.of == format!("slot {}", m.slots[slot].name),
    });
    last.map(|t| t.plus_minus)
}

/// What is usual for a dimension of its kind. What is set when the machine is built does not count.
fn usual(model: &Model, d: &Dimension) -> Option<f64> {
    let m = &model.machine;
    let usual = &m.work.usual;
    let is_set = |found: &dyn Fn(&Adjusts) -> bool| m.settings.iter().any(|s| found(&s.adjusts));
    if let Some(rod) = m.rods.iter().position(|r| d.of == format!("rod {}", r.name)) {
        return if is_set(&|a| *a == Adjusts::Rod(rod)) { None } else { usual.rod_lengths };
    }
    if d.name.ends_with(": clock angle") {
        let part = m.parts.iter().position(|p| p.name == d.of)?;
        return if is_set(&|a| *a == Adjusts::Clock(part)) { None } else { usual.clock_angles };
    }
    if d.of.starts_with("rack ") {
        return None;
    }
    if d.inside == Inside::Radian { usual.directions } else { usual.hole_places }
}
