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
    /// It was read: dimensions vary as far as its log leaves them open, and together as the readings tie them. Then nothing has a share of its own,
    /// and there are no corners and no budgets.
    pub as_built: bool,
    /// All drives and settings.
    pub held: Vec<Held>,
    /// Machines made.
    pub machines: usize,
    /// Seed of their numbers; the same seed makes the same machines.
    pub seed: u64,
    /// Dimensions that vary.
    pub dimensions: Vec<Varied>,
    /// What one tolerance holds: a hole in both its coordinates, else a dimension by itself. Budgets speak of these.
    pub items: Vec<Item>,
    /// Clearances as made, of all that is loose and moves something.
    pub clearances: Vec<MadeClearance>,
    /// One a reading asked for, with drives and settings as `held`.
    pub readings: Vec<Strayed>,
    /// One an ask on a reading, in file order.
    pub asks: Vec<AskSpread>,
    /// Asks that are judged under load.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub under_load: Vec<LoadedSpread>,
    /// What to make everything to so that all asks are kept that can be, with the least effort of making. None when no ask can.
    pub budget: Option<Budget>,
    /// Machines that keep all of these asks at once.
    pub all_kept: Kept,
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
    /// Index into [`Spread::items`].
    pub item: usize,
}

/// What one tolerance holds.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Item {
    /// In the machine file's words.
    pub name: String,
    /// Unit of its numbers.
    pub inside: Inside,
    /// Plus or minus now.
    pub plus_minus: f64,
    /// A tolerance of the file can name it. What none can name stays as it is in a budget.
    pub can_be_named: bool,
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
    /// Least and greatest value with every dimension within its limits, worked out on such machines: all corners of the dozen that move it
    /// most, the others on the side that makes it worse, and between the limits where the value bends. None when such a machine does not
    /// assemble.
    pub corners: [Option<f64>; 2],
    /// Plus or minus by root-sum-square.
    pub root_sum_square: f64,
    /// Of the machines made.
    pub made: Made,
    /// Band that holds 99.73 of 100 machines made, off the nominal value: what `root_sum_square` stands for where it is right.
    pub likely: [f64; 2],
    /// The made band is that of `root_sum_square`, as far as so many machines tell. Where it is not, the value bends: believe `likely`.
    pub straight: bool,
    /// What the play of fits adds; none where nothing loose moves it.
    pub play: Option<Rattle>,
    /// Where the value bends: the dimension that moves it most the same way to both sides; none when they only act on one another.
    pub bent_by: Option<Bend>,
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

/// What a dimension does the same way to both its sides.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Bend {
    /// Index into [`Spread::dimensions`].
    pub dimension: usize,
    /// Mean of the changes at its two limits.
    pub change: f64,
}

/// The clearance of a joint on machines as they are made, mm on diameter.
///
/// Hole, pin and what a bushing closes stray by half their tolerance at three sigma about the middle of their limits, each by itself. A
/// clearance that the file gives itself strays between its low and its high.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MadeClearance {
    /// The joint.
    pub joint: String,
    /// "H7 on h6"; empty where the file gives the clearance itself.
    pub fit: String,
    /// Least, by the limits.
    pub least: f64,
    /// Greatest, by the limits.
    pub most: f64,
    /// Mean; below 0 most machines have none.
    pub mean: f64,
    /// Standard deviation.
    pub deviation: f64,
}

/// What the play of all fits does to a value on made machines, when nothing but springs and weights presses.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Rattle {
    /// How far it wanders either way, mean of the machines.
    pub plus_minus: f64,
    /// The same on 99.73 of 100 machines.
    pub band: [f64; 2],
    /// The same with every clearance at its greatest.
    pub worst: f64,
    /// How far springs and weights shift it off the value without play, mean of the machines.
    pub shift: f64,
    /// The same on 99.73 of 100 machines.
    pub shift_band: [f64; 2],
    /// Clearances, what moves it most first.
    pub shares: Vec<ClearanceShare>,
}

impl Rattle {
    /// How far below and above the value without play 99.73 of 100 machines may stand: shift and rattle together.
    pub fn reaches(&self) -> [f64; 2] {
        [
            self.shift_band[0] - self.band[1],
            self.shift_band[1] + self.band[1],
        ]
    }
}

/// Share of one clearance.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClearanceShare {
    /// Index into [`Spread::clearances`].
    pub clearance: usize,
    /// Either way, with its mean clearance.
    pub plus_minus: f64,
    /// Shift by springs and weights, with its mean clearance.
    pub shift: f64,
}

/// How many machines keep something.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Kept {
    /// Share, 0 to 1.
    pub share: f64,
    /// Band in which the share of all machines lies, 95 times of 100 (Wilson, 1927).
    pub band: [f64; 2],
    /// Machines made.
    pub machines: usize,
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
    /// What loads add to it as the drawn machine stretches, one entry a case that the ask may meet and that moves it. A machine keeps the ask
    /// when it does without load and under each of them.
    pub under: Vec<UnderLoad>,
    /// Machines that keep it.
    pub kept: Kept,
    /// Machines that keep it wherever their own play lets it stand; none where nothing loose moves it.
    pub kept_with_play: Option<Kept>,
    /// Share that a budget must keep: what an ask with `share-of` wants, else 0.9973, three sigma to either side.
    pub aim: f64,
    /// Distance from the nominal value, where a load takes it nearest, to the nearer limit; negative when the nominal machine misses it.
    pub room: f64,
    /// Whether tolerances can keep it.
    pub by_tolerances: ByTolerances,
    /// What to hold so that it is kept, all else made as now. None where that needs nothing, or cannot be.
    pub hold: Option<Budget>,
}

/// How an ask that is judged under load fares on made machines, play left out.
///
/// Every machine has its own readings without load; its give and its springs are taken to be those of the drawn machine, and its work begins where
/// its own gaps say.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LoadedSpread {
    /// Its name.
    pub ask: String,
    /// The load case.
    pub case: String,
    /// Where it is judged.
    pub at: Vec<Held>,
    /// What is read.
    pub reading: Quantity,
    /// Least value wanted.
    pub at_least: Option<f64>,
    /// Greatest value wanted.
    pub at_most: Option<f64>,
    /// The drawn machine without load.
    pub nominal: f64,
    /// The drawn machine under load.
    pub loaded: f64,
    /// Under load, of the machines made.
    pub made: Made,
    /// Band that holds 99.73 of 100 machines made, off the loaded value of the drawn one.
    pub likely: [f64; 2],
    /// Machines that keep it.
    pub kept: Kept,
}

/// What a load case adds to a judged value.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct UnderLoad {
    /// Its name.
    pub case: String,
    /// Added to the value without load.
    pub shift: f64,
}

/// Whether tolerances can keep an ask.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ByTolerances {
    /// Made as now it is kept.
    AsNow,
    /// Some must be held closer.
    Held,
    /// Even held as close as the shop can, too few keep it: so many.
    NotHeld(Kept),
    /// The machine as drawn misses it.
    NotDrawn,
    /// Nobody asked.
    NotAsked,
}

/// Tolerances with which asks are kept at the least effort of making.
///
/// Effort of an item is its tolerance now divided by the one asked for. Tolerances go in steps of 1, 1.5, 2, 3, 5, 8, from what the shop can
/// hold to ten times what they are now. What an item does to a value at each step is worked out on machines with it alone off (mean
/// shift and variance by Gauss and Hermite's five points). From the closest steps on, the item is let go next that spares most effort
/// for what it spends. Then machines are made to it; while too few keep an ask, it is worked out again with more to spare.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Budget {
    /// Asks that it is for, and how many machines made to it keep each.
    pub asks: Vec<AskKept>,
    /// Machines made to it that keep all of these at once.
    pub kept: Kept,
    /// Effort now and then, each summed over the items.
    pub effort: [f64; 2],
    /// Items that move an ask, what to hold first, then what to let go; those that stay as they are last.
    pub items: Vec<BudgetItem>,
}

/// An ask on machines made to a budget.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AskKept {
    /// Its name.
    pub ask: String,
    /// Machines that keep it.
    pub kept: Kept,
}

/// What to do with an item.
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

/// One item of a budget.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BudgetItem {
    /// Index into [`Spread::items`].
    pub item: usize,
    /// Plus or minus now.
    pub now: f64,
    /// Plus or minus to make it to.
    pub to: f64,
    /// What that means.
    pub advice: Advice,
}
