//! Plain bushings by pressure, speed and their product.

use crate::error::{not_negative, positive, within};
use crate::{Check, ElementError, Source};
use std::f64::consts::PI;

/// Limits of a bushing material under boundary lubrication.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Material {
    /// Name.
    pub name: &'static str,
    /// Greatest pressure on the projected area, MPa.
    pub pressure: f64,
    /// Greatest sliding speed, m/s.
    pub speed: f64,
    /// Greatest product of both, MPa·m/s.
    pub product: f64,
}

/// Where the limits come from.
pub const SOURCE: Source = Source::memory(
    "boundary-lubricated bearings, operating limits (Shigley, Mechanical Engineering Design, ch. 12; given in psi, ft/min)",
);

const PSI: f64 = 0.006_894_757;
const FEET_PER_MINUTE: f64 = 0.00508;

const fn material(name: &'static str, psi: f64, fpm: f64, product: f64) -> Material {
    Material {
        name,
        pressure: psi * PSI,
        speed: fpm * FEET_PER_MINUTE,
        product: product * PSI * FEET_PER_MINUTE,
    }
}

/// Bushing materials.
pub const MATERIALS: [Material; 9] = [
    material("cast bronze", 4500.0, 1500.0, 50_000.0),
    material("porous bronze", 4500.0, 1500.0, 50_000.0),
    material("porous iron", 8000.0, 800.0, 50_000.0),
    material("phenolic", 6000.0, 2500.0, 15_000.0),
    material("nylon", 1000.0, 1000.0, 3_000.0),
    material("acetal", 1000.0, 1000.0, 3_000.0),
    material("PTFE, plain", 500.0, 100.0, 1_000.0),
    material("PTFE, filled", 2500.0, 1000.0, 10_000.0),
    material("PTFE fabric", 60_000.0, 50.0, 25_000.0),
];

/// How the journal moves in the bushing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Motion {
    /// Turns, rev/min.
    Turns(f64),
    /// Swings to and fro.
    Swings {
        /// Each way from the middle, rad.
        half: f64,
        /// To and fro, 1/min.
        per_minute: f64,
    },
}

/// Mean sliding speed, m/s: π d n, or four half swings of d/2 in each swing.
///
/// # Errors
/// Diameters that are not positive, negative speeds.
pub fn sliding_speed(bore: f64, motion: Motion) -> Result<f64, ElementError> {
    positive("bore", "mm", bore)?;
    let path_per_minute = match motion {
        Motion::Turns(rpm) => PI * bore * not_negative("speed", "rev/min", rpm)?,
        Motion::Swings { half, per_minute } => {
            within("half swing", "rad", half, 0.0, PI)?;
            4.0 * half * bore / 2.0 * not_negative("swings per minute", "1/min", per_minute)?
        }
    };
    Ok(path_per_minute / 60_000.0)
}

/// Pressure on the projected area, sliding speed and their product against the limits of the material.
///
/// # Errors
/// Sizes that are not positive, negative loads or speeds.
///
/// ```
/// use elements::bearings::plain::{MATERIALS, Motion, check};
/// let [pressure, _, product] = check(600.0, 12.0, 15.0, Motion::Turns(90.0), &MATERIALS[0]).unwrap();
/// assert!(pressure.passes(5.0) && product.passes(5.0));
/// ```
pub fn check(
    load: f64,
    bore: f64,
    length: f64,
    motion: Motion,
    material: &Material,
) -> Result<[Check; 3], ElementError> {
    not_negative("load", "N", load)?;
    positive("length of the bushing", "mm", length)?;
    let speed = sliding_speed(bore, motion)?;
    let pressure = load / (bore * length);
    let check = |what, acts, bears, unit| Check {
        what,
        acts,
        bears,
        unit,
        source: SOURCE,
    };
    Ok([
        check(
            "pressure in the bushing",
            pressure,
            material.pressure,
            "MPa",
        ),
        check("sliding speed in the bushing", speed, material.speed, "m/s"),
        check(
            "pressure times speed of the bushing",
            pressure * speed,
            material.product,
            "MPa·m/s",
        ),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn speeds() {
        let turning = sliding_speed(20.0, Motion::Turns(100.0)).unwrap();
        assert!((turning - 0.104_72).abs() < 1e-5);
        // Half a turn each way at 50 swings a minute slides as far as 100 turns.
        let swinging = Motion::Swings {
            half: PI,
            per_minute: 50.0,
        };
        assert!((sliding_speed(20.0, swinging).unwrap() - turning).abs() < 1e-12);
        assert!(sliding_speed(0.0, swinging).is_err());
        assert!(sliding_speed(20.0, Motion::Turns(-1.0)).is_err());
    }

    #[test]
    fn limits_make_sense() {
        for m in &MATERIALS {
            assert!(m.product < m.pressure * m.speed, "{}", m.name);
        }
        let bronze = MATERIALS[0];
        assert!((bronze.pressure - 31.0).abs() < 0.1 && (bronze.product - 1.75).abs() < 0.01);
        let checks = check(0.0, 10.0, 10.0, Motion::Turns(0.0), &bronze).unwrap();
        assert!(checks.iter().all(|c| c.passes(1e6)));
        assert!(check(-5.0, 10.0, 10.0, Motion::Turns(0.0), &bronze).is_err());
    }
}
