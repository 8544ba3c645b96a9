//! All integration tests of this crate, one program: a program a file would be linked, and kept, a hundred times.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test that cannot go on fails"
)]

mod bad_files;
mod documented;
mod edit;
mod good;
mod laws;
mod logbook;
mod making;
mod mutate;
mod mutated;
mod page;
mod properties;
mod reading;
