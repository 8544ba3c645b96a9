//! The dimensions that vary, as numbers and in words.

use super::answers::{Item, Varied};
use super::tolerances::{HeldAsOne, tolerances};
use crate::assemble::{Left, Model};
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
                item: t.item,
            };
            Some(Vary {
                param: t.param,
                plus_minus: t.plus_minus,
                told,
            })
        })
        .collect()
}

/// All dimensions of a machine that was read, each by itself as far as the readings leave it open: three sigma.
pub(crate) fn left_open(model: &Model, params: &[f64], left: &Left) -> Vec<Vary> {
    let all = left.dimensions.iter().enumerate();
    all.filter_map(|(row, &dimension)| {
        let d = model.dimensions.get(dimension)?;
        let plus_minus = 3.0 * left.deviation(row);
        let told = Varied {
            dimension: d.name.clone(),
            inside: d.inside,
            nominal: d.sign * params.get(d.param)?,
            plus_minus,
            named: false,
            item: row,
        };
        Some(Vary {
            param: d.param,
            plus_minus,
            told,
        })
    })
    .collect()
}

/// The same as items: nothing of a machine that is built is made to a tolerance any more.
pub(crate) fn items_left(varied: &[Vary]) -> Vec<Item> {
    varied
        .iter()
        .map(|v| Item {
            name: v.told.dimension.clone(),
            inside: v.told.inside,
            plus_minus: v.plus_minus,
            can_be_named: false,
        })
        .collect()
}

/// What one tolerance of the file holds together, of dimensions that vary.
pub(crate) fn items(model: &Model, varied: &[Vary]) -> Vec<Item> {
    let (_, all) = tolerances(model);
    let item = |(i, held): (usize, HeldAsOne)| {
        let own = || varied.iter().filter(|v| v.told.item == i);
        let first = own().next();
        // One number of a budget cannot stand for a length and an angle, or for two tolerances.
        let alike = first.is_some_and(|f| {
            own().all(|v| v.told.inside == f.told.inside && v.plus_minus == f.plus_minus)
        });
        Item {
            name: held.name,
            inside: first.map_or(crate::Inside::Millimetre, |v| v.told.inside),
            plus_minus: first.map_or(0.0, |v| v.plus_minus),
            can_be_named: held.can_be_named && alike,
        }
    };
    all.into_iter().enumerate().map(item).collect()
}
