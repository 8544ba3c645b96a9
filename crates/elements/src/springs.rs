//! Helical springs of round wire: compression, extension, torsion; wire and its strength; choosing from preferred
//! sizes; plunger springs of detents.
//!
//! A wound spring stores force. Hold it while it goes in and out, and guide it or cover it where it could fly out.

pub mod choose;
pub mod compression;
pub mod extension;
pub mod fatigue;
pub mod pick;
pub mod plunger;
pub mod torsion;
pub mod wire;

use crate::error::{not_negative, positive, within};
use crate::{ElementError, Source};
use std::f64::consts::PI;

pub(crate) const SHIGLEY: Source =
    Source::memory("Shigley, Mechanical Engineering Design, 9th ed., ch. 10");

/// Which factor stands for curvature and direct shear in the stress of a coil.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Correction {
    /// (4C−1)/(4C−4) + 0.615/C.
    Wahl,
    /// (4C+2)/(4C−3); within 1 % of Wahl.
    #[default]
    Bergstrasser,
    /// 1 + 0.5/C: direct shear without curvature, for static load after set removal.
    ShearOnly,
}

impl Correction {
    /// The factor at spring index C = D/d.
    ///
    /// # Errors
    /// An index outside 1.5 to 1000.
    ///
    /// ```
    /// use elements::springs::Correction;
    /// assert!((Correction::Wahl.factor(4.0).unwrap() - 1.4038).abs() < 1e-4);
    /// ```
    pub fn factor(self, index: f64) -> Result<f64, ElementError> {
        let c = within("spring index", "", index, 1.5, 1000.0)?;
        Ok(match self {
            Self::Wahl => (4.0 * c - 1.0) / (4.0 * c - 4.0) + 0.615 / c,
            Self::Bergstrasser => (4.0 * c + 2.0) / (4.0 * c - 3.0),
            Self::ShearOnly => 1.0 + 0.5 / c,
        })
    }
}

/// Rate of a helical spring, N/mm: k = G d⁴/(8 D³ N). `active` coils, `mean` coil diameter.
///
/// # Errors
/// Sizes that are not positive, a coil that is not larger than its wire.
pub fn rate(shear_modulus: f64, wire: f64, mean: f64, active: f64) -> Result<f64, ElementError> {
    positive("shear modulus", "MPa", shear_modulus)?;
    positive("active coils", "", active)?;
    index(wire, mean)?;
    Ok(shear_modulus * wire.powi(4) / (8.0 * mean.powi(3) * active))
}

/// Shear stress of a helical spring, MPa: τ = K 8 F D/(π d³).
///
/// # Errors
/// As for [`rate`]; a negative force.
pub fn stress(
    force: f64,
    wire: f64,
    mean: f64,
    correction: Correction,
) -> Result<f64, ElementError> {
    not_negative("force", "N", force)?;
    let k = correction.factor(index(wire, mean)?)?;
    Ok(k * 8.0 * force * mean / (PI * wire.powi(3)))
}

/// The force at a shear stress, N: [`stress`] turned round.
///
/// # Errors
/// As for [`stress`].
pub fn force_at_stress(
    shear_stress: f64,
    wire: f64,
    mean: f64,
    correction: Correction,
) -> Result<f64, ElementError> {
    not_negative("shear stress", "MPa", shear_stress)?;
    let k = correction.factor(index(wire, mean)?)?;
    Ok(shear_stress * PI * wire.powi(3) / (8.0 * k * mean))
}

/// The wire that bears a force at a stress with a given index, mm: d = √(K 8 F C/(π τ)).
///
/// # Errors
/// Values that are not positive, an index outside 1.5 to 1000.
pub fn wire_for(
    force: f64,
    spring_index: f64,
    shear_stress: f64,
    correction: Correction,
) -> Result<f64, ElementError> {
    positive("force", "N", force)?;
    positive("shear stress", "MPa", shear_stress)?;
    let k = correction.factor(spring_index)?;
    Ok((k * 8.0 * force * spring_index / (PI * shear_stress)).sqrt())
}

/// Spring index C = D/d.
///
/// # Errors
/// Sizes that are not positive; an index below 1.5 or over 1000.
pub fn index(wire: f64, mean: f64) -> Result<f64, ElementError> {
    positive("wire", "mm", wire)?;
    positive("mean coil diameter", "mm", mean)?;
    within("spring index", "", mean / wire, 1.5, 1000.0)
}

/// An index outside 4 to 12 is hard to wind, or buckles and tangles (common practice).
pub const GOOD_INDEX: (f64, f64) = (4.0, 12.0);

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn corrections_agree_and_fall(c in 3.0..30.0f64) {
            let wahl = Correction::Wahl.factor(c).unwrap();
            let berg = Correction::Bergstrasser.factor(c).unwrap();
            prop_assert!((wahl / berg - 1.0).abs() < 0.025);
            prop_assert!(berg > Correction::ShearOnly.factor(c).unwrap());
            prop_assert!(Correction::Wahl.factor(c * 1.1).unwrap() < wahl);
        }

        #[test]
        fn formulas_turn_round(d in 0.2..8.0f64, c in 3.0..15.0f64, f in 0.1..5000.0f64) {
            for k in [Correction::Wahl, Correction::Bergstrasser, Correction::ShearOnly] {
                let tau = stress(f, d, c * d, k).unwrap();
                prop_assert!((force_at_stress(tau, d, c * d, k).unwrap() / f - 1.0).abs() < 1e-12);
                prop_assert!((wire_for(f, c, tau, k).unwrap() / d - 1.0).abs() < 1e-12);
            }
            // Drawn at twice the size, the rate doubles.
            let small = rate(80_000.0, d, c * d, 7.0).unwrap();
            let large = rate(80_000.0, 2.0 * d, 2.0 * c * d, 7.0).unwrap();
            prop_assert!((large / small - 2.0).abs() < 1e-12);
        }
    }

    #[test]
    fn refuses() {
        assert!(rate(80e3, 2.0, 2.0, 5.0).is_err() && rate(80e3, 0.0, 2.0, 5.0).is_err());
        assert!(
            rate(80e3, 1.0, 8.0, 0.0).is_err() && stress(-1.0, 1.0, 8.0, Correction::Wahl).is_err()
        );
        assert!(
            Correction::Wahl.factor(1.0).is_err() && Correction::Wahl.factor(f64::NAN).is_err()
        );
    }
}
