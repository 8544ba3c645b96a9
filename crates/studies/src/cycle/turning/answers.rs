//! What turning a drive takes, as it is answered.

use super::super::Spot;
use super::super::keeping::CamAtSpeed;
use super::super::masses::Weighed;
use super::super::pressed::CamPressed;
use crate::answers::{Finding, Held, Quantity};
use schemars::JsonSchema;
use serde::Serialize;

/// What is asked of a turn.
#[derive(Clone, Debug, PartialEq)]
pub struct TurningAsked {
    /// The drive.
    pub drive: usize,
    /// Index of a load case; without it the first whose loads follow the machine round, or springs and weights alone.
    pub case: Option<usize>,
    /// Speed of the drive, rad/s or mm/s, above zero.
    pub speed: f64,
    /// Greatest less least speed over their mean that a fly-wheel is to leave.
    pub unevenness: Option<f64>,
}

/// One place of the turn. Moments in N·mm, or N for a drive that slides; positive drives its value up.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Effort {
    /// Value of the drive.
    pub at: f64,
    /// What balances the loads at rest, without friction; none at a dead centre.
    pub loads: Option<f64>,
    /// What inertia alone takes at a steady speed.
    pub inertia: Option<f64>,
    /// What has to turn it at this speed: loads, inertia and friction, high. None where it jams.
    pub moves: Option<f64>,
    /// The same at the hand, N, when the drive has one.
    pub hand: Option<f64>,
    /// Inertia of all moving parts as the drive feels it, kg·mm² or kg.
    pub reduced: Option<f64>,
    /// Force of inertia on the frame along right and up of the drive's plane, N.
    pub shakes: Option<[f64; 2]>,
}

/// The same fly-wheel on a faster shaft, where it is smaller by the square of the ratio.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FastWheel {
    /// The part that goes round fastest with the drive, by gears and belts.
    pub part: String,
    /// Its turns for one of the drive.
    pub times: f64,
    /// Inertia to be added there, kg·mm².
    pub adds: f64,
    /// Diameter of a steel disc 20 mm thick that has it, mm.
    pub disc: f64,
}

/// How even the speed is, and what fly-wheel makes it so.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Flywheel {
    /// Energy that the turn stores and gives back while a steady moment drives it, N·mm.
    pub energy: f64,
    /// Greatest less least speed over their mean, as the machine is; none where it would stop on the way.
    pub as_is: Option<f64>,
    /// What was asked.
    pub wanted: Option<f64>,
    /// Inertia to be added on the drive for that, kg·mm²; none when nothing was asked or no fly-wheel does it.
    pub adds: Option<f64>,
    /// Diameter of a steel disc 20 mm thick that has it, mm.
    pub disc: Option<f64>,
    /// The same on the fastest shaft; none where that is the drive's own.
    pub fast: Option<FastWheel>,
}

/// The machine let go at speed, with springs, weights and friction, no work.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RunDown {
    /// Turns until it stands.
    pub turns: f64,
    /// s.
    pub seconds: f64,
    /// Kinetic energy at the start, N·mm.
    pub energy: f64,
}

/// A mass on the part that the drive turns, which takes off what of the shaking goes round with it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Balance {
    /// Mass times its distance from the pivot, kg·mm.
    pub moment: f64,
    /// Its direction from the pivot, counter-clockwise from the line of the part's first to its next hole, rad.
    pub angle: f64,
    /// Greatest shaking force as it is, N.
    pub shakes: f64,
    /// And with that mass.
    pub left: f64,
}

/// How hard a joint is pressed.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PinAtSpeed {
    /// The joint.
    pub joint: String,
    /// A moment, N·mm; else a force, N.
    pub is_moment: bool,
    /// Greatest over the turn, slow, friction counted.
    pub slow: f64,
    /// Greatest at this speed.
    pub fast: f64,
    /// Where that is.
    pub at: f64,
}

/// What turns the crank.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Turning {
    /// The drive.
    pub drive: Quantity,
    /// The load case.
    pub case: String,
    /// Its speed, rad/s or mm/s.
    pub speed: f64,
    /// The other drives and the settings.
    pub held: Vec<Held>,
    /// What the drive moves and what it weighs.
    pub masses: Vec<Weighed>,
    /// What is not known, or had to be left out, in words.
    pub left_out: Vec<String>,
    /// The turn.
    pub curve: Vec<Effort>,
    /// Where most has to drive it.
    pub most: Option<Spot>,
    /// Where least; below zero it drives by itself and must be held back.
    pub least: Option<Spot>,
    /// Mean over the turn; of a drive that goes round.
    pub mean: Option<f64>,
    /// Power for that, N·mm/s (a thousandth of a watt).
    pub power: Option<f64>,
    /// Hardest at the hand, N.
    pub hand: Option<Spot>,
    /// Evenness; of a drive that goes round and whose turn is known all round.
    pub flywheel: Option<Flywheel>,
    /// Run-down; none where it does not come to rest by itself.
    pub run_down: Option<RunDown>,
    /// Balancing mass; of a drive that goes round.
    pub balance: Option<Balance>,
    /// Joints, the one hardest pressed at speed first.
    pub pins: Vec<PinAtSpeed>,
    /// Rollers on their open cams.
    pub cams: Vec<CamAtSpeed>,
    /// How hard rollers press on their cams over the turn.
    pub pressed: Vec<CamPressed>,
    /// What to say of it.
    pub findings: Vec<Finding>,
}
