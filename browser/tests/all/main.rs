//! All integration tests of this crate, one program: a program a file would be linked, and kept, a hundred times.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test that cannot go on fails"
)]

mod building;
mod cams;
mod logbook;
mod looks;
mod making;
mod stages;
mod tools;
mod turning;
mod ways;
mod workbench;
