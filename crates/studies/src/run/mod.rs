//! Running the machine: poses at values of drives and settings, how far a drive can go, readings and their rates.
//!
//! Everything that moves the machine goes through [`Track`] and [`Bench::advance`], so that a faster solver has one place to go.

mod bench;
mod changes;
mod extreme;
mod named;
mod plans;
mod reach;
mod reading;
mod track;

pub(crate) use bench::{Bench, Here};
pub(crate) use extreme::{Local, crossing, stationary};
pub(crate) use named::{folds_here, list};
pub(crate) use reach::{Bound, Obstacle, Span};
pub(crate) use reading::{By, Read, places};
pub(crate) use track::{Sample, Track, near, turns};
