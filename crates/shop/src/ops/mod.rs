//! Operations: set-ups and numbered steps in the order that works, for each part on the machines of this shop.

mod across;
mod angles;
mod arc_slot;
mod bends;
mod between;
mod bits;
mod blank;
mod blind;
mod bores;
mod cam;
mod coordinates;
mod diameters;
mod filing;
mod geneva;
mod gouge;
mod harden;
mod held;
mod holes;
mod joined;
mod off_axis;
mod outline;
mod pins;
mod plate;
mod racks;
mod slender;
mod slots;
pub(crate) mod solid;
mod tapped;
mod teeth;
mod threads;
mod too_fast;
mod turned;
mod walls;

pub use bits::general;
pub(crate) use blank::is_bar;
pub(crate) use harden::hardened;
pub use outline::disc as is_disc;
pub use teeth::{CUT_TEETH, reading as tooth_place};

use crate::finding::Finding;
use crate::part::{Form, Part};
use crate::words::Units;
use machine::equipment::Shop;
use quantity::Unit;
use serde::Serialize;

/// One step.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Step {
    /// Number in the sheet, from 1.
    pub number: usize,
    /// What to do.
    pub text: String,
    /// Tool.
    pub tool: String,
    /// Turns a minute to set.
    pub rpm: Option<f64>,
    /// Feed, mm a turn; by hand when not given.
    pub feed: Option<f64>,
    /// Dial or readout coordinates, or how deep, as they are read.
    pub at: String,
    /// What to measure before going on; empty when nothing.
    pub check: String,
    /// Why it comes here, or why so; empty when plain.
    pub why: String,
    /// Minutes, with the handling.
    pub minutes: f64,
}

/// A set-up: the work is held once.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct SetUp {
    /// What is done in it.
    pub title: String,
    /// On what.
    pub machine: String,
    /// How the work is held.
    pub holding: String,
    /// Where zero is.
    pub zero: String,
    /// Cautions, each once in a sheet.
    pub cautions: Vec<String>,
    /// Steps.
    pub steps: Vec<Step>,
    /// Minutes to set up.
    pub minutes: f64,
}

/// The operation sheet of a part.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sheet {
    /// The part's name.
    pub part: String,
    /// How many are made.
    pub count: usize,
    /// Set-ups in order.
    pub setups: Vec<SetUp>,
    /// Least, likely and most minutes for all of them.
    pub minutes: [f64; 3],
}

/// What sheets are worked out with.
pub struct Bench<'a> {
    /// The shop; without one every usual tool is taken to be there.
    pub shop: Option<&'a Shop>,
    /// What squeezes, also of a shop file that names nothing else.
    pub vises: &'a [machine::equipment::Squeezer],
    /// Unit of printed lengths: that of the shop's dials.
    pub unit: Unit,
    /// Unit of the drawings.
    pub drawn: Unit,
}

impl Bench<'_> {
    /// How a size of the drawing is written: as the dials read it, in brackets as it stands on the drawing where that is another.
    pub(crate) fn units(&self) -> Units {
        Units {
            first: self.unit,
            beside: (self.drawn != self.unit).then_some(self.drawn),
        }
    }
}

/// From the likely time to the least and the most: a practised hand with everything laid out, and a first go (common practice).
const SPREAD: [f64; 2] = [0.6, 2.0];

/// The operation sheet of a part, and what this shop cannot do.
pub fn sheet(part: &Part, bench: &Bench) -> (Sheet, Vec<Finding>) {
    let mut work = bits::Work::new(part, bench);
    match &part.form {
        Form::Plate(p) => plate::plan(&mut work, p),
        Form::Turned(t) => turned::plan(&mut work, t),
    }
    work.finish()
}
