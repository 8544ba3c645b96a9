//! The band that tolerances make about a value, by root-sum-square: the one place where it is summed.

use super::tolerances::tolerances;
use crate::assemble::{Left, Model};
use mechanics::model::ParamId;

/// Tolerances of all dimensions of a machine, ready to make bands.
///
/// Each tolerance of ± t is three sigma of a normal law, each dimension by itself, so that a band of ± root-sum-square is three sigma of the
/// value (99.73 of 100 machines) as far as it follows its dimensions in straight lines. Of a machine that was read, what the readings leave open
/// counts instead, with what goes together.
#[derive(Clone, Debug, PartialEq)]
pub struct ToleranceBand {
    /// Each dimension by itself.
    tolerances: Vec<(ParamId, f64)>,
    /// What varies independently, three sigma of each: what it does to parameters. Empty where dimensions vary by themselves.
    together: Vec<Vec<(ParamId, f64)>>,
}

impl ToleranceBand {
    /// The tolerances of a model: own ones, else the shop's usual.
    pub fn new(model: &Model) -> Self {
        if let Some(left) = &model.left {
            return Self::left(model, left);
        }
        let (all, _) = tolerances(model);
        Self {
            tolerances: all.iter().map(|t| (t.param, t.plus_minus)).collect(),
            together: Vec::new(),
        }
    }

    fn left(model: &Model, left: &Left) -> Self {
        let dimensions = || {
            let all = left.dimensions.iter().enumerate();
            all.filter_map(|(row, d)| Some((row, model.dimensions.get(*d)?)))
        };
        let of = |column: usize| {
            dimensions()
                .map(|(row, d)| (d.param, 3.0 * d.sign * left.root[(row, column)]))
                .collect()
        };
        Self {
            tolerances: dimensions()
                .map(|(row, d)| (d.param, 3.0 * left.deviation(row)))
                .collect(),
            together: (0..left.root.ncols()).map(of).collect(),
        }
    }

    /// How far each tolerance alone moves a value either way, given its derivatives by every parameter.
    fn moves<'a>(&'a self, rates: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
        self.tolerances
            .iter()
            .map(|(p, t)| rates.get(*p).copied().unwrap_or(0.0) * t)
    }

    /// Plus or minus by root-sum-square, in the unit of the value.
    pub fn likely(&self, rates: &[f64]) -> f64 {
        if self.together.is_empty() {
            return root_sum_square(self.moves(rates));
        }
        let rate = |p: ParamId| rates.get(p).copied().unwrap_or(0.0);
        let all = self.together.iter();
        root_sum_square(all.map(|own| own.iter().map(|(p, by)| rate(*p) * by).sum()))
    }

    /// Plus or minus with every dimension at its limit the wrong way, by the same straight lines.
    pub fn at_worst(&self, rates: &[f64]) -> f64 {
        self.moves(rates).map(f64::abs).sum()
    }
}

/// The root of the sum of the squares.
pub fn root_sum_square(moves: impl IntoIterator<Item = f64>) -> f64 {
    moves.into_iter().map(|m| m * m).sum::<f64>().sqrt()
}
