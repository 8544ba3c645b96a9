//! What the study of parts answers: every element with its sizes, its checks, and what to buy. Lengths in mm, forces in N.

use crate::answers::{Finding, Held};
use schemars::JsonSchema;
use serde::Serialize;

/// What kind of element it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A ball bearing in a hole.
    Bearing,
    /// A plain bushing, or a hole that is one.
    Bushing,
    /// A plain hole.
    Hole,
    /// A tapped hole.
    Tapped,
    /// A pin, stud or journal.
    Pin,
    /// A rod, with its thread.
    Rod,
    /// A rod end.
    RodEnd,
    /// A lever, link or plate, as bars from hole to hole.
    Bar,
    /// A shaft.
    Shaft,
    /// What holds an arm on its shaft.
    Hold,
    /// A spring.
    Spring,
    /// A spring plunger in a notch.
    Plunger,
    /// A gear pair, or a rack and its pinion.
    Gear,
    /// A cam and its roller.
    Cam,
    /// A bolted joint.
    Bolts,
}

/// A size to make, with its limits.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Size {
    /// What has it: "bore for the bearing".
    pub what: String,
    /// Nominal size, mm.
    pub nominal: f64,
    /// Tolerance class, or empty.
    pub class: String,
    /// Least size, mm.
    pub least: f64,
    /// Greatest size, mm.
    pub most: f64,
    /// In words: "8 H7: 8.000 to 8.015 mm".
    pub shown: String,
    /// Where the limits come from.
    pub source: String,
}

/// A fit: clearance on diameter, negative is interference, mm.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Fits {
    /// What sits in what: "outer ring in lever".
    pub what: String,
    /// Tightest pair.
    pub least: f64,
    /// Loosest pair.
    pub most: f64,
    /// Both in the middle of their limits.
    pub likely: f64,
    /// In words: "0.005 to 0.029 mm of play".
    pub shown: String,
}

/// A figure worth knowing.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Figure {
    /// What it is: "force to press it in".
    pub what: String,
    /// Its value, the least of a range.
    pub value: f64,
    /// The greatest, of a range.
    pub to: Option<f64>,
    /// Unit of both.
    pub unit: String,
    /// Where the formula comes from.
    pub source: String,
    /// In a sentence, with the units of the machine.
    pub sentence: String,
}

/// A value held against its limit, in the worst pose of the worst case.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Checked {
    /// What is checked: "bending of the pin".
    pub what: String,
    /// What acts.
    pub acts: f64,
    /// What it would bear; none when there is no end to it.
    pub bears: Option<f64>,
    /// Unit of both.
    pub unit: String,
    /// The two in the units of the machine: "120 MPa of 370 MPa".
    pub shown: String,
    /// How many times the load could grow; none when nothing acts.
    pub factor: Option<f64>,
    /// The same in figures; none when nothing acts.
    pub times: Option<String>,
    /// How many times are wanted.
    pub wanted: f64,
    /// It passes.
    pub passes: bool,
    /// `factor` less `wanted`; negative when it fails; none when nothing acts.
    pub margin: Option<f64>,
    /// The load case.
    pub case: Option<String>,
    /// Where the drives stand.
    pub at: Vec<Held>,
    /// The worst pose and case in words: "at set = 70 deg, under embossing"; or empty.
    pub worst: String,
    /// Standard or book, with the equation.
    pub source: String,
    /// "looked up", "derived", "from memory" or "common practice".
    pub sure: String,
}

/// The smallest that passes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WouldDo {
    /// What it is: "8 mm", "608"; none when nothing in the table passes.
    pub what: Option<String>,
    /// What was tried: "round bar of 3 to 100 mm".
    pub from: String,
    /// It is smaller than what stands in the file.
    pub smaller: bool,
}

/// One element.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Item {
    /// What it is: "ball bearing 6001".
    pub what: String,
    /// Its kind.
    pub kind: Kind,
    /// Where: "lever at lever-pivot".
    pub at: String,
    /// As headed in the machine file: `part.lever.hole.lever-pivot`.
    pub about: String,
    /// Sizes to make.
    pub sizes: Vec<Size>,
    /// Fits.
    pub fits: Vec<Fits>,
    /// Figures worth knowing.
    pub figures: Vec<Figure>,
    /// Checks, the one with the least to spare first.
    pub checks: Vec<Checked>,
    /// What is wrong with it beside its checks: it cannot be made, or does not go in.
    pub faults: Vec<String>,
    /// What would do here.
    pub would_do: Option<WouldDo>,
    /// What was taken for granted.
    pub assumed: Vec<String>,
}

/// Something to buy.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Buy {
    /// How many.
    pub count: u32,
    /// What: "ball bearing 6001".
    pub what: String,
    /// For what: "lever at lever-pivot".
    pub places: Vec<String>,
}

/// Every element of the machine file with what was checked.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Parts {
    /// Name of the machine.
    pub machine: String,
    /// The elements.
    pub items: Vec<Item>,
    /// What to buy.
    pub buy: Vec<Buy>,
    /// What was taken for granted throughout.
    pub assumed: Vec<String>,
    /// Findings, the worst first.
    pub findings: Vec<Finding>,
}
