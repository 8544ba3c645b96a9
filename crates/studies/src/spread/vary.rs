//! The dimensions that vary, as numbers and in words.

use super::answers::Varied;
use super::tolerances::tolerances;
use crate::assemble::Model;
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
    let (all, _) = tolerances(model);
    all.iter()
        .filter_map(|t| {
            let d = model.dimensions.get(t.dimension)?;
            let told = Varied {
                dimension: d.name.clone(),
                inside: d.inside,
                nominal: d.sign * params.get(d.param)?,
                plus_minus: t.plus_minus,
                named: t.own.is_some(),
            };
            Some(Vary {
                param: t.param,
                plus_minus: t.plus_minus,
                told,
            })
        })
        .collect()
}
