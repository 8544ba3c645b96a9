//! Springs that work: shear of coils by Zimmerli, bending of torsion springs, both with the life wanted.

use super::wire::Family;
use crate::error::{not_negative, positive};
use crate::{Check, ElementError, Source};

/// Zimmerli's endurance, and what fewer loads add.
pub const SOURCE: Source = Source::seen(
    "Zimmerli: steel wire to 10 mm, unpeened, bears 241 MPa about 379 MPa for ever (Shigley 10-9), by Goodman; a tenth more at 10^6 and a fifth more at 10^5 loads (Associated Spring's table, from memory)",
);
const BENT: Source = Source::memory(
    "bending of torsion springs that work: 0.53 of the tensile strength at 10^5 and 0.50 at 10^6 loads from nothing (Shigley table 10-10), by Goodman",
);

/// Alternating and middle shear of Zimmerli's springs, MPa.
const ZIMMERLI: (f64, f64) = (241.0, 379.0);
/// Torsional strength over tensile strength (Shigley eq. 10-30).
const SHEAR: f64 = 0.67;
/// Shear strength over tensile strength by distortion energy.
const DISTORTION: f64 = 0.577;

/// How much more is borne for fewer loads than ten million.
fn fewer(loads: f64) -> f64 {
    let decades = (7.0 - loads.max(1.0).log10()).clamp(0.0, 2.0);
    1.0 + 0.1 * decades
}

/// Whether the figures are for this wire: steel, not bronze.
pub fn known(family: Family) -> bool {
    family != Family::Nonferrous
}

/// Alternating shear that a coil bears for ever without a mean, MPa, by Goodman's line through Zimmerli's point.
fn endures(tensile: f64, loads: f64) -> f64 {
    let (alternating, middle) = ZIMMERLI;
    // Soft wire bears less than that point: the line is not drawn beyond half of its strength.
    let left = (1.0 - middle / (SHEAR * tensile)).max(0.5);
    fewer(loads) * alternating / left
}

/// Share of its limit that the shear of a coil uses which works between two stresses, MPa.
///
/// # Errors
/// Stresses that are negative, a strength or number of loads that is not positive.
///
/// ```
/// // The spring of Shigley example 10-4, 29.7 kpsi about 39.6 kpsi in wire of 284 kpsi: 49.2 kpsi endured without a mean, 1.23 (by hand).
/// let kpsi = 6.894_757;
/// let found = elements::springs::fatigue::shear("a coil", [9.9 * kpsi, 69.3 * kpsi], 284.1 * kpsi, 1e8).unwrap();
/// assert!((found.factor() - 1.23).abs() < 0.01);
/// ```
pub fn shear(
    what: &'static str,
    [least, most]: [f64; 2],
    tensile: f64,
    loads: f64,
) -> Result<Check, ElementError> {
    not_negative("stress of the spring", "MPa", least)?;
    not_negative("stress of the spring", "MPa", most)?;
    positive("tensile strength", "MPa", tensile)?;
    positive("number of loads", "", loads)?;
    let (low, high) = (least.min(most), least.max(most));
    Ok(Check {
        what,
        acts: 0.5 * (high - low) / endures(tensile, loads) + 0.5 * (high + low) / (SHEAR * tensile),
        bears: 1.0,
        unit: "of the limit",
        source: SOURCE,
    })
}

/// The same of a hook in bending: by distortion energy from shear (Shigley 10-11).
///
/// # Errors
/// As for [`shear`].
pub fn hook(
    what: &'static str,
    [least, most]: [f64; 2],
    tensile: f64,
    loads: f64,
) -> Result<Check, ElementError> {
    let check = shear(what, [least, most], tensile, loads)?;
    let (low, high) = (least.min(most), least.max(most));
    Ok(Check {
        acts: 0.5 * (high - low) * DISTORTION / endures(tensile, loads)
            + 0.5 * (high + low) / tensile,
        ..check
    })
}

/// The same of a torsion spring, whose wire bends.
///
/// # Errors
/// As for [`shear`].
pub fn bending(
    what: &'static str,
    [least, most]: [f64; 2],
    tensile: f64,
    loads: f64,
) -> Result<Check, ElementError> {
    let check = shear(what, [least, most], tensile, loads)?;
    let (low, high) = (least.min(most), least.max(most));
    let decades = (6.0 - loads.max(1.0).log10()).clamp(0.0, 1.0);
    let half = 0.5 * (0.50 + 0.03 * decades);
    let endures = half * tensile / (1.0 - half);
    Ok(Check {
        acts: 0.5 * (high - low) / endures + 0.5 * (high + low) / tensile,
        source: BENT,
        ..check
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits() {
        let at = |least: f64, most: f64, n: f64| {
            shear("coil", [least, most], 1900.0, n).unwrap().factor()
        };
        // Zimmerli's own point is just borne, whatever the strength.
        for tensile in [1600.0, 1900.0, 2400.0] {
            let point = shear("coil", [138.0, 620.0], tensile, 1e9).unwrap();
            assert!((point.factor() - 1.0).abs() < 1e-3, "{tensile}");
        }
        assert!(
            at(0.0, 500.0, 1e5) > at(0.0, 500.0, 1e6) && at(0.0, 500.0, 1e6) > at(0.0, 500.0, 1e7)
        );
        assert_eq!(at(0.0, 500.0, 1e3), at(0.0, 500.0, 1e5));
        assert!(at(300.0, 500.0, 1e7) > at(0.0, 500.0, 1e7));
        assert_eq!(at(500.0, 300.0, 1e7), at(300.0, 500.0, 1e7));
        // From nothing to half its strength a torsion spring bears a million loads just so.
        let bent = bending("leg", [0.0, 950.0], 1900.0, 1e6).unwrap();
        assert!((bent.factor() - 1.0).abs() < 1e-9);
        assert!(
            hook("hook", [0.0, 500.0], 1900.0, 1e7).unwrap().acts
                < shear("coil", [0.0, 500.0], 1900.0, 1e7).unwrap().acts
        );
        assert!(
            shear("coil", [-1.0, 1.0], 1900.0, 1e7).is_err()
                && shear("coil", [0.0, 1.0], 1900.0, f64::NAN).is_err()
        );
        assert!(known(Family::ColdDrawn) && !known(Family::Nonferrous));
    }
}
