//! Points, parts, constraints and readings as plain numbers: poses, sweeps, velocity ratios, sensitivities, mobility.
//! Never knows files, names, or units other than mm and rad.

mod blocks;
mod factor;
mod geometry;
mod jacobian;
mod lanes;
mod num;
mod rows;

pub mod assemblies;
mod build;
pub mod cam;
pub mod dense;
pub mod dynamics;
pub mod effort;
pub mod follow;
pub mod friction;
pub mod mobility;
pub mod model;
pub mod plan;
pub mod random;
mod redundant;
pub mod statics;
pub mod stretch;
pub mod tangent;

pub use assemblies::assemblies;
pub use dense::{Closing, NotClosed, close};
pub use follow::{Ended, Followed, State, follow};
pub use jacobian::{Gradient, Jacobian};
pub use lanes::LANES;
pub use mobility::{Mobility, Repeated, mobility};
pub use model::Mechanism;
pub use plan::Plan;
pub use tangent::{
    Rates, Sensitivity, Singular, Tangent, measure_along, measure_third, sensitivity,
    unit_direction,
};
