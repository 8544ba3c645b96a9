//! Published machine elements and shop tables as pure functions on plain numbers. Knows standards, handbooks and
//! the habits of the trade; never knows machines or files.
//!
//! - Units: mm, N, N·mm, MPa, rad, K, and rev/min where a speed is meant. A unit that differs stands in the name.
//! - What an input may be is checked: an [`ElementError`] says what was given and what is needed. Nothing panics.
//! - A table or a figure names its [`Source`]. *From memory* means that no print was at hand when it was written down;
//!   *common practice* is a habit of the trade without a source.
//! - A result that is held against a limit is a [`Check`]: what acts, what it may be, and how many times it would bear.

mod error;
mod lookup;
mod source;

pub mod bearings;
pub mod bends;
pub mod cams;
pub mod centres;
pub mod columns;
pub mod contact;
pub mod cutting;
pub mod detent;
pub mod drills;
pub mod fits_inch;
pub mod fits_iso;
pub mod flywheel;
pub mod friction_couples;
pub mod gears;
pub mod geneva;
pub mod hand;
pub mod joints;
pub mod keys;
pub mod limits;
pub mod materials;
pub mod motors;
pub mod net;
pub mod pins_lugs;
pub mod practice;
pub mod press;
pub mod setups;
pub mod shafts;
pub mod springs;
pub mod stock;
pub mod threads;

pub use error::ElementError;
pub use limits::{Fit, FitKind, Limits};
pub use source::{Check, Confidence, Source};
