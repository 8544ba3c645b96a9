//! All integration tests of this crate, one program: a program a file would be linked, and kept, a hundred times.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test that cannot go on fails"
)]

mod cams;
mod cams_made;
mod check;
mod common;
mod dial_wild;
mod given_up;
mod laws;
mod load_closed;
mod load_common;
mod load_forces;
mod load_hold;
mod load_peaks;
mod load_redundant;
mod load_shafts;
mod load_stretch;
mod load_teeth;
mod load_told;
mod load_wild;
mod motion;
mod mutated;
mod parts;
mod parts_bolts;
mod parts_common;
mod parts_course;
mod parts_eyes;
mod parts_feedback;
mod parts_gears;
mod parts_layers;
mod parts_shafts;
mod parts_springs;
mod parts_strong;
mod parts_tools;
mod places;
mod pointing;
mod sensitivity;
mod settings;
mod slips;
mod spread;
mod spread_budgets;
mod spread_cases;
mod spread_fits;
mod spread_places;
