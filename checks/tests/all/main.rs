//! All integration tests of this crate, one program: a program a file would be linked, and kept, a hundred times.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test that cannot go on fails"
)]

mod dial;
mod load;
mod machines;
mod motion;
mod regression;
mod spread;
