//! Lengths, angles, forces and the like as text and as numbers. Knows units, fractions and drill sizes; never knows machines.
//!
//! A value is held in the inside unit of its kind: mm, rad, N, N·mm, MPa, N/mm, N·mm/rad, kg, mm/s, rad/s.
//! [`parse()`] reads what a builder writes and keeps how it was written; [`Written::show`] gives it back so,
//! [`show`] prints in the unit asked for. [`Unit`] is the one table of units.
//!
//! | written | is |
//! | --- | --- |
//! | `12.5 mm`, `.060in`, `60 thou`, `-5` | a decimal with its unit; without one it takes the unit of the place |
//! | `3 1/8 in`, `3-1/8 in`, `3⅛ in`, `7/16"`, `1 1/2 turns` | a fraction |
//! | `1' 2 1/2"`, `1 ft 2.5 in` | feet and inches |
//! | `#7`, `F` | the diameter of a number or letter drill |
//! | `12°30'`, `12°30'15"` | degrees, minutes, seconds |
//! | `whole turn`, `half turn`, `quarter turn` | named parts of a turn |
//! | `8 kN`, `2 N·m`, `2 Nm`, `2 N m`, `6 bar`, `40 kN/mm`, `90 rpm` | the other kinds |
//!
//! A decimal comma, two signs, NaN, infinities, fractions over zero and units of another kind are refused, each
//! with a sentence that says what to write.

pub mod drills;
pub mod thread;

mod compound;
mod error;
mod newtypes;
mod number;
mod parse;
mod print;
mod spell;
mod units;
mod written;

pub use error::QuantityError;
pub use newtypes::{
    Angle, AngularStiffness, Force, Length, Mass, Moment, Pressure, Speed, Stiffness, Turning,
};
pub use parse::{number, parse};
pub use print::{nearest_64th, show, show_length_both, thou};
pub use thread::Thread;
pub use units::{Kind, Unit};
pub use written::{Form, Written};
