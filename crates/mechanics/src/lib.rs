//! Points, parts, constraints and readings as plain numbers: poses, sweeps, velocity ratios, sensitivities, mobility.
//! Never knows files, names, or units other than mm and rad.

pub mod model;
