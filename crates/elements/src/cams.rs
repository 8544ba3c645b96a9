//! Plate cams: laws of motion, a program of rises, dwells and returns, and the shape that makes it.
//!
//! Angles are rad of the cam, which turns counter-clockwise past its follower; a mirrored picture is a cam that turns the other way.
//! A lift is mm of a follower in line or rad of a rocker; its rates are by rad of the cam, so that speed drops out.

mod course;
mod laws;
mod least;
mod plate;
mod program;
mod spline;

pub use course::Course;
pub use laws::{Law, Motion, Peaks};
pub use least::{least_base, smallest};
pub use plate::{Follower, Place, Side, Survey, looked_at, offset_curve, survey};
pub use program::{Jump, Piece, Program};
pub use spline::Spline;

use crate::Source;

/// The laws and their peaks.
pub const LAWS: Source = Source::memory(
    "Norton, Cam Design and Manufacturing Handbook, family of sine-constant-cosine accelerations and polynomials; Rothbart, Cam Design Handbook",
);

/// The shape of the cam.
pub const SHAPE: Source = Source::derived(
    "envelope of the follower in the cam's own frame; curvature and pressure angle by differentiation of the roller's path",
);

/// Greatest pressure angle of a follower in line before it binds in its guide, rad: 30 degrees. Common practice.
pub const STEEP_IN_LINE: f64 = 30.0 * std::f64::consts::PI / 180.0;

/// The same of a rocker, rad: 35 degrees. Common practice.
pub const STEEP_ROCKER: f64 = 35.0 * std::f64::consts::PI / 180.0;
