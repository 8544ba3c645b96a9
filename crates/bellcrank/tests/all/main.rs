//! All integration tests of this crate, one program: a program a file would be linked, and kept, a hundred times.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test that cannot go on fails"
)]

mod commands;
mod common;
mod cycle;
mod dial_in;
mod disk;
mod examples;
mod helps;
mod loads;
mod packet;
mod page_answers;
mod page_edits;
mod page_log;
mod page_safety;
mod page_watch;
mod parts;
mod schema;
