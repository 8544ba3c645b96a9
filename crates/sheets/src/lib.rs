//! Draws: views of a machine in any pose and curves of readings, as SVG and PNG. Knows where things stand, from the studies;
//! never how a result came about.
//!
//! Machine and standing go in, a [`Drawing`] comes out. Sheets are measured in mm of paper, x to the right and y down.
//! Lines are those of ISO 128 in two weights, lettering has the heights of ISO 3098, joints the symbols of ISO 3952.

mod body;
mod drawing;
mod drives;
mod font;
mod geometry;
mod guides;
mod labels;
mod layout;
mod lines;
mod look;
mod motion_plot;
mod number;
mod panel;
pub mod plot;
mod png;
mod pose;
mod scale;
mod scene;
mod sheet;
mod svg;
mod symbols;
mod ticks;
mod title_block;
mod view;
mod wheels;

pub use drawing::{Drawing, ViewPlace, draw};
pub use look::Look;
pub use png::{MOST_DOTS, PngError};
pub use pose::{Names, Options, Paper, Pose, Projection};
pub use scale::Scale;
