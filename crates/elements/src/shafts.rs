//! Shafts and levers: bending, torsion, twist, deflection; notches and fatigue.

pub mod fatigue;
pub mod notches;

use crate::error::{less_than, not_negative, positive, sensible};
use crate::{Check, ElementError, Source};
use std::f64::consts::PI;

const ELASTIC: Source = Source::derived("elementary bending and torsion of round bars");

/// A round section, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Round {
    /// Outside diameter.
    pub diameter: f64,
    /// Bore, zero when solid.
    pub bore: f64,
}

impl Round {
    /// Second moment of area I, mm⁴; the polar one is twice as much.
    ///
    /// # Errors
    /// Sizes that are not positive, a bore as large as the shaft.
    pub fn inertia(self) -> Result<f64, ElementError> {
        positive("shaft", "mm", self.diameter)?;
        not_negative("bore of the shaft", "mm", self.bore)?;
        less_than("bore of the shaft", "mm", self.bore, "shaft", self.diameter)?;
        Ok(PI / 64.0 * (self.diameter.powi(4) - self.bore.powi(4)))
    }
}

/// Nominal stresses, MPa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stress {
    /// Bending: M c/I.
    pub bending: f64,
    /// Torsion: T r/J.
    pub torsion: f64,
    /// Greatest shear: √((σ/2)² + τ²).
    pub greatest_shear: f64,
    /// Equivalent by distortion energy: √(σ² + 3τ²).
    pub equivalent: f64,
}

/// Bending moment and torque, N·mm, together. An axial pull or thrust, N, adds to the bending on its side.
///
/// # Errors
/// As for [`Round::inertia`]; loads that are not finite.
///
/// ```
/// use elements::shafts::{Round, stress};
/// let s = stress(Round { diameter: 30.0, bore: 0.0 }, 200e3, 150e3, 0.0).unwrap();
/// assert!((s.greatest_shear - 47.157).abs() < 1e-3);
/// ```
pub fn stress(
    section: Round,
    moment: f64,
    torque: f64,
    axial: f64,
) -> Result<Stress, ElementError> {
    let inertia = section.inertia()?;
    sensible("bending moment", "N·mm", moment)?;
    sensible("torque", "N·mm", torque)?;
    sensible("axial load", "N", axial)?;
    let r = section.diameter / 2.0;
    let area = PI / 4.0 * (section.diameter.powi(2) - section.bore.powi(2));
    let bending = moment.abs() * r / inertia + axial.abs() / area;
    let torsion = torque.abs() * r / (2.0 * inertia);
    Ok(Stress {
        bending,
        torsion,
        greatest_shear: (bending / 2.0).hypot(torsion),
        equivalent: bending.hypot(3f64.sqrt() * torsion),
    })
}

/// Equivalent stress against yield, MPa.
///
/// # Errors
/// As for [`stress`]; a strength that is not positive.
pub fn yield_check(stress: &Stress, yields: f64) -> Result<Check, ElementError> {
    Ok(Check {
        what: "yield of the shaft",
        acts: stress.equivalent,
        bears: positive("yield strength", "MPa", yields)?,
        unit: "MPa",
        source: ELASTIC,
    })
}

/// Twist over a length, rad: T l/(G J).
///
/// # Errors
/// As for [`Round::inertia`]; a length or modulus that is not positive.
pub fn twist(
    section: Round,
    torque: f64,
    length: f64,
    shear_modulus: f64,
) -> Result<f64, ElementError> {
    sensible("torque", "N·mm", torque)?;
    positive("length", "mm", length)?;
    positive("shear modulus", "MPa", shear_modulus)?;
    Ok(torque * length / (shear_modulus * 2.0 * section.inertia()?))
}

/// A bar on two supports with one force between them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beam {
    /// Greatest bending moment, N·mm, under the force.
    pub moment: f64,
    /// Deflection under the force, mm.
    pub under_force: f64,
    /// Force on the near and the far support, N.
    pub supports: (f64, f64),
}

/// Two supports `span` apart, a force at `at` from the first; `stiffness` is E I, N·mm².
///
/// # Errors
/// Values that are not positive; a force outside the span.
pub fn supported(span: f64, at: f64, force: f64, stiffness: f64) -> Result<Beam, ElementError> {
    positive("span", "mm", span)?;
    positive("place of the force", "mm", at)?;
    less_than("place of the force", "mm", at, "span", span)?;
    sensible("force", "N", force)?;
    positive("E I", "N·mm²", stiffness)?;
    let b = span - at;
    Ok(Beam {
        moment: (force * at * b / span).abs(),
        under_force: force * (at * b).powi(2) / (3.0 * stiffness * span),
        supports: (force * b / span, force * at / span),
    })
}

/// A bar held at one end, the force at `length` from it: moment F l, deflection F l³/(3 E I).
///
/// # Errors
/// Values that are not positive.
pub fn cantilever(length: f64, force: f64, stiffness: f64) -> Result<Beam, ElementError> {
    positive("length", "mm", length)?;
    sensible("force", "N", force)?;
    positive("E I", "N·mm²", stiffness)?;
    Ok(Beam {
        moment: (force * length).abs(),
        under_force: force * length.powi(3) / (3.0 * stiffness),
        supports: (force, 0.0),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_beam_in_the_middle() {
        let i = Round {
            diameter: 16.0,
            bore: 0.0,
        }
        .inertia()
        .unwrap();
        let b = supported(300.0, 150.0, 500.0, 207e3 * i).unwrap();
        assert!((b.under_force - 500.0 * 27e6 / (48.0 * 207e3 * i)).abs() < 1e-12);
        assert_eq!(b.supports, (250.0, 250.0));
        // Near one support the bar is stiff.
        assert!(
            supported(300.0, 10.0, 500.0, 207e3 * i)
                .unwrap()
                .under_force
                < b.under_force / 10.0
        );
        assert!(supported(300.0, 300.0, 500.0, 1.0).is_err());
        let c = cantilever(100.0, -20.0, 1e9).unwrap();
        assert!(c.under_force < 0.0 && c.moment == 2000.0);
    }

    #[test]
    fn refuses() {
        let hollow = Round {
            diameter: 20.0,
            bore: 20.0,
        };
        assert!(hollow.inertia().is_err());
        assert!(
            stress(
                Round {
                    diameter: 20.0,
                    bore: 0.0
                },
                f64::NAN,
                0.0,
                0.0
            )
            .is_err()
        );
        assert!(
            twist(
                Round {
                    diameter: 20.0,
                    bore: 0.0
                },
                1.0,
                0.0,
                1.0
            )
            .is_err()
        );
    }

    proptest! {
        #[test]
        fn scales_with_the_cube(d in 3.0..80.0f64, hollow in 0.0..0.9f64, m in 0.0..1e6f64, t in 0.0..1e6f64) {
            let small = stress(Round { diameter: d, bore: hollow * d }, m, t, 0.0).unwrap();
            let large = stress(Round { diameter: 2.0 * d, bore: 2.0 * hollow * d }, m, t, 0.0).unwrap();
            prop_assert!((large.equivalent * 8.0 - small.equivalent).abs() <= 1e-9 * small.equivalent);
            // Tresca counts twice the greatest shear, never less than distortion energy.
            prop_assert!(2.0 * small.greatest_shear >= small.equivalent * (1.0 - 1e-12));
        }
    }
}
