//! Welded and silver-brazed arms: a fillet round a shaft or bar, a brazed lap or socket, with a knock-down for what
//! a small shop cannot test.
//!
//! Welding anneals cold-drawn bar beside the bead: reckon the arm there with the strength of hot-rolled steel.

use crate::error::{not_negative, positive, within};
use crate::{Check, ElementError, Source};
use std::f64::consts::PI;

/// Throat over leg of an equal fillet.
const THROAT: f64 = std::f64::consts::FRAC_1_SQRT_2;

const WELD: Source = Source::memory(
    "fillet weld treated as a line (Blodgett; Shigley tables 9-1 and 9-2); allowable 0.30 of the electrode's tensile strength (AWS D1.1)",
);

/// Tensile strength of common electrodes, MPa: E60xx 427, E70xx 482 (AWS, from memory).
pub const E60: f64 = 427.0;
/// See [`E60`].
pub const E70: f64 = 482.0;

/// Fatigue factor at the toe of a fillet across the stress.
pub const TOE: f64 = 1.5;
/// Fatigue factor where a fillet along the stress starts and ends.
pub const BEAD_END: f64 = 2.7;
/// Where both come from.
pub const NOTCH: Source = Source::memory("Shigley table 9-5, fatigue factors of welds");

/// Throat shear of a fillet all round a shaft of diameter `d` that carries moment, torque and force across, MPa.
///
/// # Errors
/// Sizes that are not positive, loads that are negative.
pub fn fillet_round(
    diameter: f64,
    leg: f64,
    moment: f64,
    torque: f64,
    across: f64,
) -> Result<f64, ElementError> {
    positive("diameter", "mm", diameter)?;
    let throat = THROAT * positive("leg of the weld", "mm", leg)?;
    let m = not_negative("moment", "N·mm", moment)?;
    let t = not_negative("torque", "N·mm", torque)?;
    let v = not_negative("force across", "N", across)?;
    let r = diameter / 2.0;
    // A ring of unit width: length 2πr, Z = π r², J/r = 2π r².
    let bending = m / (PI * r * r);
    let shear = t / (2.0 * PI * r * r) + v / (2.0 * PI * r);
    Ok(bending.hypot(shear) / throat)
}

/// Throat shear of two straight fillets, `length` mm each, `apart` mm, that carry a force along them and a moment in
/// their plane of bending, MPa.
///
/// # Errors
/// Sizes that are not positive, loads that are negative.
pub fn fillet_pair(
    length: f64,
    apart: f64,
    leg: f64,
    along: f64,
    moment: f64,
) -> Result<f64, ElementError> {
    positive("length of the weld", "mm", length)?;
    positive("distance of the welds", "mm", apart)?;
    let throat = THROAT * positive("leg of the weld", "mm", leg)?;
    let shear = not_negative("force along the welds", "N", along)? / (2.0 * length);
    // Two lines b apart: each takes M/(b l).
    let bending = not_negative("moment", "N·mm", moment)? / (apart * length);
    Ok(bending.hypot(shear) / throat)
}

/// A weld against the allowable throat shear with a knock-down, MPa. 0.7 for a weld by hand that nobody tests is
/// common practice.
///
/// # Errors
/// A strength that is not positive, a knock-down outside 0.1 to 1.
pub fn weld_check(
    throat_shear: f64,
    electrode: f64,
    knock_down: f64,
) -> Result<Check, ElementError> {
    Ok(Check {
        what: "throat of the weld",
        acts: not_negative("throat shear", "MPa", throat_shear)?,
        bears: 0.30
            * positive("strength of the electrode", "MPa", electrode)?
            * within("knock-down", "", knock_down, 0.1, 1.0)?,
        unit: "MPa",
        source: WELD,
    })
}

/// Strengths in shear over those in pull: tensile (Shigley eq. 6-54), and of a load that comes again (eq. 6-26).
const SHEAR_TENSILE: f64 = 0.67;
const SHEAR_FATIGUE: f64 = 0.59;

/// Share of its limit that a weld uses of a throat shear, MPa, of which a share alternates and which comes so often, by Goodman: weld metal with
/// the surface of a forging, no size, shear (Shigley 9-6), and the factor at the end of a bead on both parts.
///
/// # Errors
/// As for the fatigue of shafts; a knock-down outside 0.1 to 1.
///
/// ```
/// // As Shigley example 9-5 reckons, with E60: ka = 272 · 427^-0.995, 0.59 · 0.5 · 427 MPa; all alternates, half of them bear it.
/// let check = elements::joints::weld_fatigue(10.0, 1.0, 1e9, 427.0, 0.5, 1.0).unwrap();
/// let bears = 272.0 * 427f64.powf(-0.995) * 0.59 * 0.5 * 427.0;
/// assert!((check.acts - 2.7 * 10.0 / bears).abs() < 1e-6);
/// ```
pub fn weld_fatigue(
    throat_shear: f64,
    alternates: f64,
    loads: f64,
    electrode: f64,
    reliability: f64,
    knock_down: f64,
) -> Result<Check, ElementError> {
    use crate::shafts::fatigue::{Surface, coming_again, endurance, finite};
    let knock = within("knock-down", "", knock_down, 0.1, 1.0)?;
    let bar = endurance(electrode, Surface::Forged, 1.0, reliability)?.limit;
    let (limit, tensile) = (SHEAR_FATIGUE * bar, SHEAR_TENSILE * electrode);
    let endures = finite(tensile, limit, loads)?;
    let check = coming_again(
        "fatigue of the weld",
        throat_shear,
        alternates,
        BEAD_END,
        knock * endures,
        knock * tensile,
    )?;
    Ok(Check {
        source: WELD_FATIGUE,
        ..check
    })
}

const WELD_FATIGUE: Source = Source::memory(
    "Shigley 9-6 and table 9-5: endurance of weld metal in shear, factor at the end of a bead; Goodman",
);

/// Least fillet leg for a plate thickness, mm: 3 up to 6.4, 5 up to 12.7, 6 up to 19, 8 beyond (AWS D1.1 table of
/// minimum fillets, from memory).
///
/// # Errors
/// A thickness that is not positive.
pub fn least_leg(thickness: f64) -> Result<f64, ElementError> {
    positive("thickness", "mm", thickness)?;
    Ok(match thickness {
        t if t <= 6.4 => 3.0,
        t if t <= 12.7 => 5.0,
        t if t <= 19.0 => 6.0,
        _ => 8.0,
    })
}

/// Shear strength to reckon a silver-brazed steel joint with, MPa, at a joint gap of 0.05 to 0.13 mm. Tests reach 150
/// to 250; a third of that is left for flux and voids (common practice).
pub const BRAZED_SHEAR: f64 = 70.0;

/// Where [`BRAZED_SHEAR`] comes from.
pub const BRAZED_SOURCE: Source =
    Source::practice("design shear of silver-brazed steel, about a third of test values");

/// A rod brazed into a bored arm: shear on the cylinder `diameter` × `depth` from a pull and a torque, MPa.
///
/// # Errors
/// Sizes that are not positive, loads that are negative.
pub fn socket(diameter: f64, depth: f64, pull: f64, torque: f64) -> Result<f64, ElementError> {
    let area =
        PI * positive("diameter", "mm", diameter)? * positive("depth of the socket", "mm", depth)?;
    let pull = not_negative("pull", "N", pull)?;
    let round = 2.0 * not_negative("torque", "N·mm", torque)? / diameter;
    Ok(pull.hypot(round) / area)
}

/// A brazed joint against [`BRAZED_SHEAR`] with a knock-down.
///
/// # Errors
/// A negative shear, a knock-down outside 0.1 to 1.
pub fn braze_check(shear: f64, knock_down: f64) -> Result<Check, ElementError> {
    Ok(Check {
        what: "shear of the brazed joint",
        acts: not_negative("shear", "MPa", shear)?,
        bears: BRAZED_SHEAR * within("knock-down", "", knock_down, 0.1, 1.0)?,
        unit: "MPa",
        source: BRAZED_SOURCE,
    })
}

/// The lap of a brazed strip as strong as the thinner part, mm: t Sut/shear strength. Three times the thickness is the
/// common rule for strong fillers on soft steel.
///
/// # Errors
/// Values that are not positive.
pub fn lap(thickness: f64, tensile: f64, shear_strength: f64) -> Result<f64, ElementError> {
    Ok(
        positive("thickness", "mm", thickness)? * positive("tensile strength", "MPa", tensile)?
            / positive("shear strength of the braze", "MPa", shear_strength)?,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ring_of_weld() {
        // Torque alone: T/(2π r² · 0.707 h).
        let s = fillet_round(25.0, 5.0, 0.0, 200e3, 0.0).unwrap();
        assert!((s - 200e3 / (2.0 * PI * 156.25 * 5.0 * THROAT)).abs() < 1e-9);
        let both = fillet_round(25.0, 5.0, 100e3, 200e3, 1000.0).unwrap();
        assert!(both > s);
        let check = weld_check(both, E70, 0.7).unwrap();
        assert!((check.bears - 101.22).abs() < 0.01);
        assert!(
            weld_check(1.0, E70, 1.5).is_err() && fillet_round(0.0, 5.0, 0.0, 0.0, 0.0).is_err()
        );
    }

    #[test]
    fn a_pair_of_fillets() {
        let s = fillet_pair(50.0, 40.0, 5.0, 3000.0, 0.0).unwrap();
        assert!((s - 3000.0 / (100.0 * 5.0 * THROAT)).abs() < 1e-9);
        assert!(fillet_pair(50.0, 40.0, 5.0, 3000.0, 1e5).unwrap() > s);
        assert!(least_leg(3.0).unwrap() < least_leg(25.0).unwrap());
    }

    #[test]
    fn brazing() {
        let s = socket(12.0, 15.0, 0.0, 30e3).unwrap();
        assert!((s - 5000.0 / (PI * 180.0)).abs() < 1e-9);
        assert!(braze_check(s, 0.8).unwrap().passes(5.0));
        assert!((lap(2.0, 400.0, 140.0).unwrap() - 5.714).abs() < 1e-3);
        assert!(socket(12.0, 0.0, 1.0, 1.0).is_err() && braze_check(1.0, 0.0).is_err());
    }
}
