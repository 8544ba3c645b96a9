//! What the spread studies answer.

use crate::answers::{Finding, Held, Inside, Quantity};
use schemars::JsonSchema;
use serde::Serialize;

/// How far readings and asks stray on machines as they are made.
///
/// Convention: a tolerance of ± t is three sigma of a normal law; dimensions vary independently of one another. Root-sum-square keeps the
/// ± convention. The worst case puts every dimension at its own limit.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Spread {
    /// Name of the machine.
    pub machine: String,
    /// All drives and settings.
    pub held: Vec<Held>,
    /// Machines made.
    pub machines: usize,
    /// Seed of their numbers; the same seed makes the same machines.
    pub seed: u64,
    /// Dimensions that vary.
    pub dimensions: Vec<Varied>,
    /// One a reading asked for, with drives and settings as `held`.
    pub readings: Vec<Strayed>,
    /// One an ask on a reading, in file order.
    pub asks: Vec<AskSpread>,
    /// What to make each dimension to so that all asks are kept that can be: the closest of their budgets, what to hold first.
    pub together: Vec<BudgetItem>,
    /// Share of machines that keep all of these asks at once, 0 to 1.
    pub all_kept: f64,
    /// Correlation of the judged values of each two asks, in their order: near 1 or −1 they stray together.
    pub correlation: Vec<Vec<f64>>,
    /// Readings and asks that could not be spread, and why.
    pub refused: Vec<String>,
    /// Findings, the worst first.
    pub findings: Vec<Finding>,
}

/// A dimension that varies.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Varied {
    /// In the builder's words.
    pub dimension: String,
    /// Unit of its numbers.
    pub inside: Inside,
    /// Nominal.
    pub nominal: f64,
    /// Plus or minus.
    pub plus_minus: f64,
    /// A tolerance of the file names it; else it is the usual one.
    pub named: bool,
}

/// How far one value strays.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Strayed {
    /// What is read.
    pub reading: Quantity,
    /// As drawn and set.
    pub nominal: f64,
    /// Plus or minus, every dimension at its limit the wrong way, by sensitivities.
    pub worst_case: f64,
    /// Least and greatest value with every dimension at one of its limits, worked out exactly: all corners of the dozen that move it most,
    /// the others on the side that makes it worse. None when such a machine does not assemble.
    pub corners: [Option<f64>; 2],
    /// Plus or minus by root-sum-square.
    pub root_sum_square: f64,
    /// Of the machines made.
    pub made: Made,
    /// Dimensions by their share of the spread, the greatest first.
    pub shares: Vec<Share>,
}

/// Statistics of made machines.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Made {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub deviation: f64,
    /// Values below which 0.135, 2.5, 50, 97.5 and 99.865 % of the machines lie.
    pub percentiles: [f64; 5],
    /// Least and greatest met.
    pub extremes: [f64; 2],
    /// Machines that do not go together, or stand too near a dead centre to be sure of. They count as missing every ask.
    pub lost: usize,
}

/// Share of one dimension.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Share {
    /// Index into [`Spread::dimensions`].
    pub dimension: usize,
    /// Change of the value by the dimension, inside units of both.
    pub rate: f64,
    /// Plus or minus that its tolerance alone gives.
    pub plus_minus: f64,
    /// Share of the variance, 0 to 1.
    pub share: f64,
}

/// How an ask fares on made machines.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AskSpread {
    /// Its name.
    pub ask: String,
    /// Where it is judged, when that is not plain from the ask.
    pub at: Vec<Held>,
    /// The judged value.
    pub strayed: Strayed,
    /// Least value wanted.
    pub at_least: Option<f64>,
    /// Greatest value wanted.
    pub at_most: Option<f64>,
    /// Share of machines that keep it, 0 to 1.
    pub kept: f64,
    /// Which dimensions to hold and which to let go so that it is kept by root-sum-square: 99.87 of 100 on either side.
    pub budget: Budget,
    /// The same so that every machine keeps it, by the worst case.
    pub budget_for_all: Budget,
}

/// Tolerances with which an ask is kept at the least effort of making.
///
/// Effort of a dimension is its usual tolerance divided by the one asked for. Least total effort under root-sum-square puts each tolerance
/// in proportion to the cube root of (usual / rate²), under the worst case to the square root of (usual / rate), within what the shop can
/// hold and ten times the usual (Lagrange; Chase, "Minimum-cost tolerance allocation", 1999, for the method). Rounded down to 1, 1.5, 2, 3,
/// 5, 8 steps.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Budget {
    /// It can be met with what the shop holds.
    pub possible: bool,
    /// Distance from the nominal value to the nearer limit; negative when the nominal machine misses it.
    pub room: f64,
    /// Plus or minus with the tolerances below, by root-sum-square or worst case.
    pub reached: f64,
    /// Effort now and then, each summed over the dimensions.
    pub effort: [f64; 2],
    /// One a dimension that moves the value, the greatest share first.
    pub items: Vec<BudgetItem>,
}

/// What to do with a dimension.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Advice {
    /// Hold it closer than now.
    Hold,
    /// As now.
    Keep,
    /// It may be made looser than now.
    LetGo,
}

/// One dimension of a budget.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BudgetItem {
    /// Index into [`Spread::dimensions`].
    pub dimension: usize,
    /// Plus or minus now.
    pub now: f64,
    /// Plus or minus to make it to.
    pub to: f64,
    /// What that means.
    pub advice: Advice,
}
