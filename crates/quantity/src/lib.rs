//! Lengths, angles, forces and the like as text and as numbers. Knows units, fractions and drill sizes; never knows machines.
//!
//! A value is held in the inside unit of its kind: mm, rad, N, N·mm, MPa, N/mm, N·mm/rad, kg, mm/s, rad/s.

mod error;
mod newtypes;
mod parse;
mod print;
pub mod thread;
mod units;
mod written;

pub use error::QuantityError;
pub use newtypes::{
    Angle, AngularStiffness, Force, Length, Mass, Moment, Pressure, Speed, Stiffness, Turning,
};
pub use parse::{number, parse};
pub use print::{nearest_64th, show, show_length_both, thou};
pub use units::{Kind, Unit};
pub use written::{Form, Written};
