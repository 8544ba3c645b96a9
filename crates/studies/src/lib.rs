//! The builder's questions, one module a question: does it assemble and move, how does it move, which dimension matters,
//! is every ask kept. Joins a machine with the mechanics and returns plain data and findings; never knows text layout or files.
//!
//! # Conventions
//! - Every number in an answer is in the inside unit named beside it (mm or rad), unrounded. Rates are in inside units too
//!   (mm per rad, mm per mm, ...). The unit in which a person wants to read it stands in [`Quantity::unit`].
//! - Values of drives and settings are those of the machine file: a drive counts from its value as drawn, in its sense.
//! - Answers depend on the machine and the request alone: no clock, no random numbers, the same bits for any number of threads.
//!
//! ```text
//! Machine ── assemble ──> Model ──┬─ check ───────> Check
//!                                 ├─ motion ──────> Motion
//!          Stand (values) ────────┼─ sensitivity ─> Sensitivities
//!                                 ├─ assemblies ──> Assemblies
//!                                 └─ standing, trace ─> Standing, Trace
//! ```
//!
//! ```text
//! fn assemble(&Machine) -> Model                                       // never fails; what is wrong shows in `check`
//! fn Model::drawn(&self) -> Stand                                      // values of all drives and settings as drawn
//! fn Model::made(&self, errors: &[(usize, f64)]) -> Result<Model, Refusal>    // with dimensions as they came out
//! fn Model::set(&self, &mut Stand, name, value_text) -> Result<(), Refusal>   // "set", "30 deg"; drives and settings
//! fn Model::set_pair(&self, &mut Stand, "set = 30 deg") -> Result<(), Refusal>
//! fn check(&Model) -> Check
//! fn faults(&Model) -> Vec<Finding>                                    // what `check` says of the machine itself
//! fn asks(&Model) -> Vec<Judged>                                       // what `check` says of asks on readings
//! fn motion(&Model, &Stand, &Sweep) -> Result<Motion, Refusal>         // Sweep { drive, from, to, step, readings }
//! fn Model::sweep(&self, drive_name, from, to, step) -> Result<Sweep, Refusal>  // texts with units
//! fn sensitivity(&Model, &Stand, readings: &[usize]) -> Result<Sensitivities, Refusal>   // empty: all
//! fn assemblies(&Model, &Stand) -> Result<Assemblies, Refusal>
//! fn readings(&Model, &Stand) -> Result<Vec<ReadingNow>, Refusal>
//! fn standing(&Model, &Stand) -> Result<Standing, Refusal>
//! fn trace(&Model, &Stand, point: PointId, drive: usize) -> Result<Trace, Refusal>
//! cams::survey(&Model, cam), cams::table(&Model, cam, cutter, step)    // shape, timing and cutting numbers of a cam
//! pointing::Hand                                                    // a hand on the machine: put, readings, pull
//! ```

pub mod answers;
pub mod assemble;
mod assemblies;
mod call;
pub mod cams;
mod check;
pub mod clearance;
pub mod cycle;
pub mod dial;
pub mod load;
mod motion;
pub mod parts;
pub mod pointing;
mod refusal;
mod run;
mod say;
mod sensitivity;
mod setting_up;
pub mod spread;
mod standing;

pub use answers::*;
pub use assemble::{Dimension, Model, Stand, assemble};
pub use assemblies::assemblies;
pub use call::Sweep;
pub use check::{asks, check, faults};
pub use dial::dial_in;
pub use motion::motion;
pub use refusal::Refusal;
pub use sensitivity::sensitivity;
pub use setting_up::{SettingStep, SettingUp, Spot, setting_up};
pub use standing::{readings, standing, trace};
