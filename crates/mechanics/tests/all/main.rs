//! All integration tests of this crate, one program: a program a file would be linked, and kept, a hundred times.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test that cannot go on fails"
)]

mod assemblies;
mod cams;
mod common;
mod derivatives;
mod dynamics;
mod follow;
mod friction;
mod invariance;
mod mobility;
mod plan_blocks;
mod plan_chains;
mod plan_random;
mod runs;
mod seven_body;
mod shop;
mod statics;
