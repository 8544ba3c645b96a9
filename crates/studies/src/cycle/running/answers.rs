//! What a run in time tells.

use crate::answers::{Finding, Held, Quantity};
use crate::cycle::Spot;
use schemars::JsonSchema;
use serde::Serialize;

/// What is asked of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct RunAsked {
    /// The drive; it goes round.
    pub drive: usize,
    /// Index of a load case; without it the first whose loads follow the machine round, or springs and weights alone.
    pub case: Option<usize>,
    /// Speed at the start, rad/s, from zero on.
    pub speed: f64,
    /// What turns the machine does so; else it is let go.
    pub driven: bool,
    /// It ends at this time, s.
    pub until: f64,
}

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Ended {
    /// Every turn is like the one before.
    Even,
    /// The time was up.
    Time,
    /// It came to rest.
    Stands,
    /// It never started.
    DoesNotStart,
    /// Friction jams it.
    Jams,
}

/// One moment.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Moment {
    /// s.
    pub time: f64,
    /// Value of the drive, counted on from the start.
    pub at: f64,
    /// rad/s.
    pub speed: f64,
    /// What turns it, on the drive, N·mm.
    pub drives: f64,
    /// What loads and friction take, on the drive, N·mm.
    pub takes: f64,
}

/// What turned it, over the last turn.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Drove {
    /// "motor main", "push foot".
    pub name: String,
    /// "motor", "foot", "hand".
    pub kind: &'static str,
    /// Greatest torque of a motor on its own shaft, N·mm, or force, N.
    pub most: f64,
    /// Root of its mean square over time, by which a motor warms.
    pub root_mean_square: f64,
    /// Mean speed of a motor's shaft, rad/s.
    pub speed: Option<f64>,
    /// Mean power, N·mm/s (a thousandth of a watt).
    pub power: f64,
    /// Work of the turn, N·mm.
    pub work: f64,
}

/// The last turn.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LastTurn {
    /// Mean speed, rad/s.
    pub mean: f64,
    /// Where it is slowest.
    pub least: Spot,
    /// Where it is fastest.
    pub greatest: Spot,
    /// Greatest less least over half their sum.
    pub unevenness: f64,
    /// Work that loads take, N·mm.
    pub loads: f64,
    /// Work that friction takes, N·mm.
    pub friction: f64,
    /// Least kinetic energy over the greatest shortfall that it carried the machine over; none where it was driven all the way.
    pub carries: Option<f64>,
}

/// One run.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Run {
    /// How it ended.
    pub ended: Ended,
    /// How long it took, s.
    pub seconds: f64,
    /// Turns of the drive.
    pub turns: f64,
    /// Where it ended, on the drive's dial.
    pub at: f64,
    /// Until it first went at nineteen twentieths of the mean speed of its last turn, s; of a driven one that goes.
    pub starts_in: Option<f64>,
    /// Its last whole turn.
    pub last: Option<LastTurn>,
}

/// A run in time.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Running {
    /// The drive.
    pub drive: Quantity,
    /// The load case.
    pub case: String,
    /// Speed at the start, rad/s.
    pub speed: f64,
    /// Where it started.
    pub from: f64,
    /// It was turned, not let go.
    pub driven: bool,
    /// Stretches of the drive, from and to, from which it would not come once round from rest, friction high, tried every five degrees.
    pub fails_from: Vec<[f64; 2]>,
    /// The other drives and the settings.
    pub held: Vec<Held>,
    /// What is not known, or had to be left out, in words.
    pub left_out: Vec<String>,
    /// With friction high.
    pub high: Run,
    /// With friction low.
    pub low: Run,
    /// What turned it, friction high.
    pub drove: Vec<Drove>,
    /// Turned off at the end, without work, it runs on for so many turns and seconds, friction high and low.
    pub coasts: Option<[[f64; 2]; 2]>,
    /// What to say of it.
    pub findings: Vec<Finding>,
    /// The run, friction high.
    pub curve: Vec<Moment>,
}
