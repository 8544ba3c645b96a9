//! Wear of the flanks: Hertz pressure on the pitch line, and what surfaces bear for long.

use super::Spur;
use super::form::form_factor;
use super::strength::velocity;
use crate::contact::{Body, line};
use crate::error::{not_negative, positive, within};
use crate::{Check, ElementError, Source};

/// Where the pressure comes from.
pub const SOURCE: Source = Source::derived(
    "Hertz pressure of two cylinders with the curvature of the flanks on the pitch line (Shigley 14-10 to 14-14)",
);

/// What steel bears.
pub const STEEL: Source =
    Source::memory("10^8 meshes: 2.76 HB - 70 MPa, HB as tensile/3.45 (Shigley eqs. 6-66, 2-17)");
/// What cast iron bears.
pub const IRON: Source =
    Source::memory("10^7 meshes: AGMA contact strength of class 20 iron, 50 000 psi");
/// What bronze bears.
pub const BRONZE: Source =
    Source::memory("10^7 meshes: AGMA contact strength of tin bronze, 30 000 psi");

/// Pressure that flanks of iron bear, MPa.
pub const IRON_BEARS: f64 = 345.0;
/// Pressure that flanks of bronze bear, MPa.
pub const BRONZE_BEARS: f64 = 207.0;

/// Pressure that through-hardened or soft steel of a tensile strength bears on its flanks for 10^8 meshes, MPa.
///
/// Of two lines in print the lower one is used, since it also covers soft bar: AGMA's for grade 1 from 180 HB on (2.22 HB + 200 MPa at
/// 10^7 meshes) gives 5 to 40 % more.
///
/// # Errors
/// Strengths outside 300 to 1400 MPa: the line is not for them.
pub fn steel_bears(tensile: f64) -> Result<f64, ElementError> {
    within(
        "tensile strength of the steel",
        "MPa",
        tensile,
        300.0,
        1400.0,
    )?;
    Ok(2.76 * tensile / 3.45 - 70.0)
}

/// A flank: the gear, and what it is of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flank {
    /// The gear.
    pub spur: Spur,
    /// Internal teeth.
    pub inside: bool,
    /// Modulus of elasticity, MPa.
    pub youngs: f64,
    /// Poisson's ratio.
    pub poisson: f64,
}

impl Flank {
    /// Its curvature on the pitch line of the working circle.
    fn body(&self, angle: f64) -> Body {
        let base =
            0.5 * self.spur.module * f64::from(self.spur.teeth) * self.spur.pressure_angle.cos();
        let radius = base * angle.tan();
        Body {
            radius: if self.inside { -radius } else { radius },
            youngs: self.youngs,
            poisson: self.poisson,
        }
    }
}

/// Pressure between flanks in the pitch point against what the softer bears, MPa. `angle` is the pressure angle at work, rad, `tangential` the
/// force along the pitch circle, N, `speed` that of the pitch circle, m/s; one pair of teeth carries all of it.
///
/// # Errors
/// Values that are not positive; a ring that is no larger than its pinion.
///
/// ```
/// use elements::gears::{Flank, Spur, wear};
/// let of = |teeth| Flank { spur: Spur::standard(3.0, teeth), inside: false, youngs: 207_000.0, poisson: 0.292 };
/// let angle = 20f64.to_radians();
/// let four = wear(&of(18), &of(54), angle, 30.0, 4000.0, 0.0, 500.0).unwrap();
/// let one = wear(&of(18), &of(54), angle, 30.0, 1000.0, 0.0, 500.0).unwrap();
/// assert!((four.acts / one.acts - 2.0).abs() < 1e-12); // it goes with the root of the force
/// ```
pub fn wear(
    first: &Flank,
    second: &Flank,
    angle: f64,
    face: f64,
    tangential: f64,
    speed: f64,
    bears: f64,
) -> Result<Check, ElementError> {
    form_factor(&first.spur)?;
    within("pressure angle at work", "rad", angle, 0.1, 0.8)?;
    not_negative("tangential force", "N", tangential)?;
    positive("pressure that the flanks bear", "MPa", bears)?;
    let force = velocity(speed)? * tangential / angle.cos();
    let acts = if force > 0.0 {
        line(first.body(angle), second.body(angle), face, force)?.pressure
    } else {
        positive("face width", "mm", face)?;
        0.0
    };
    Ok(Check {
        what: "wear of the flanks",
        acts,
        bears,
        unit: "MPa",
        source: SOURCE,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn flank(module: f64, teeth: u32) -> Flank {
        Flank {
            spur: Spur::standard(module, teeth),
            inside: false,
            youngs: 206_843.0,
            poisson: 0.3,
        }
    }

    /// The elastic coefficient of steel on steel is 2300 √psi, 191 √MPa (Shigley table 14-8), and the geometry factor
    /// I = cos φ sin φ/2 · m/(m + 1): both told another way.
    #[test]
    fn it_is_the_elastic_coefficient_and_the_geometry_factor() {
        let angle = 20f64.to_radians();
        let found = wear(
            &flank(2.0, 17),
            &flank(2.0, 52),
            angle,
            38.0,
            1600.0,
            0.0,
            500.0,
        )
        .unwrap();
        let ratio = 52.0 / 17.0;
        let factor = angle.sin() * angle.cos() / 2.0 * ratio / (ratio + 1.0);
        let told = 191.0 * (1600.0 / (38.0 * 34.0 * factor)).sqrt();
        assert!(
            (found.acts / told - 1.0).abs() < 0.005,
            "{} {told}",
            found.acts
        );
    }

    #[test]
    fn a_ring_and_larger_wheels_press_less() {
        let angle = 20f64.to_radians();
        let press = |first: Flank, second: Flank| {
            wear(&first, &second, angle, 20.0, 1000.0, 0.5, 500.0)
                .unwrap()
                .acts
        };
        let ring = Flank {
            inside: true,
            ..flank(2.0, 60)
        };
        assert!(press(flank(2.0, 20), ring) < press(flank(2.0, 20), flank(2.0, 60)));
        assert!(press(flank(2.0, 20), flank(2.0, 60)) < press(flank(2.0, 20), flank(2.0, 20)));
        assert!(press(flank(3.0, 20), flank(3.0, 60)) < press(flank(2.0, 20), flank(2.0, 60)));
        let rack = flank(2.0, 100_000);
        assert!(press(flank(2.0, 20), rack) < press(flank(2.0, 20), flank(2.0, 60)));
        let same = Flank {
            inside: true,
            ..flank(2.0, 20)
        };
        assert!(wear(&flank(2.0, 20), &same, angle, 20.0, 1.0, 0.0, 500.0).is_err());
        assert!(wear(&flank(2.0, 20), &rack, angle, 0.0, 0.0, 0.0, 500.0).is_err());
        assert_eq!(
            wear(&flank(2.0, 20), &rack, angle, 20.0, 0.0, 0.0, 500.0)
                .unwrap()
                .acts,
            0.0
        );
    }

    /// AGMA's line for grade 1 through-hardened steel, 322 HB + 29 100 psi, as a published worked example uses it (300 HB: 125 700 psi).
    #[test]
    fn the_lower_of_two_lines() {
        let agma = |hb: f64| (322.0 * hb + 29_100.0) * 0.006_894_757;
        assert!((agma(300.0) - 866.7).abs() < 0.1);
        for hb in [180.0, 240.0, 300.0, 400.0] {
            let own = steel_bears(3.45 * hb).unwrap();
            assert!(
                own < agma(hb) && own > 0.69 * agma(hb),
                "{hb}: {own} {}",
                agma(hb)
            );
        }
        assert!(steel_bears(200.0).is_err() && steel_bears(f64::NAN).is_err());
    }
}
