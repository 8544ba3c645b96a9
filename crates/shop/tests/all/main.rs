//! All integration tests of this crate, one program.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod detents;
mod examples;
mod findings;
mod joined;
mod kinds;
mod limits;
mod lying;
mod outlines;
mod simulated;
mod together;
mod turning;
mod units;
mod wheels;
