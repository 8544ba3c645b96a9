//! Lewis's form factor of any spur tooth, from the shape that a rack cutter leaves.
//!
//! The fillet is the envelope of the cutter's rounded tip; Lewis's parabola has its top where the load at the tip of the tooth meets the
//! middle of the tooth, and touches the fillet where t²/(6 l) is least, t the thickness there and l the lever: that least value over the
//! module is Y.

use super::Spur;
use super::strength::{Lewis, lewis_y};
use crate::ElementError;
use crate::error::more_than;
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};

/// Radius of the cutter's tip over the module (ISO 53, profile A); a smaller one where a full round is smaller.
const TIP: f64 = 0.38;
/// Dedendum of the old 14½° system over the module, and the radius it is cut with (ASA B6.1-1932).
const OLD: (f64, f64) = (1.157, 0.209);
/// Old pressure angle, rad.
const OLD_ANGLE: f64 = 14.5 * PI / 180.0;
/// Places looked at along the fillet.
const PLACES: u32 = 400;

/// Lewis's factor of a spur gear: the printed table for unshifted full-depth teeth of 20° from 12 on, else from the tooth's own shape.
///
/// Beside the printed tables the shape gives 0 to 6 % less at 20° and 1 to 10 % less at 14½°: on the safe side.
///
/// # Errors
/// As for [`Spur::geometry`]; teeth so shifted that nothing is left of the fillet.
///
/// ```
/// use elements::gears::{Spur, form_factor};
/// let y = |teeth, degrees: f64| {
///     let spur = Spur { pressure_angle: degrees.to_radians(), ..Spur::standard(2.0, teeth) };
///     form_factor(&spur).unwrap().big_y
/// };
/// assert_eq!(y(20, 20.0), 0.322);
/// assert!(y(20, 25.0) > y(20, 20.0) && y(20, 14.5) < y(20, 20.0) && y(9, 20.0) < y(12, 20.0));
/// ```
pub fn form_factor(spur: &Spur) -> Result<Lewis, ElementError> {
    let full = spur.shift == 0.0
        && (spur.pressure_angle - 20f64.to_radians()).abs() < 1e-4
        && spur.addendum == 1.0
        && spur.dedendum == 1.25;
    if full && spur.teeth >= 12 {
        return lewis_y(spur.teeth);
    }
    of_shape(spur)
}

/// Lewis's factor from the tooth's shape alone.
///
/// # Errors
/// As for [`form_factor`].
pub fn of_shape(spur: &Spur) -> Result<Lewis, ElementError> {
    spur.geometry()?;
    let (tan, cos) = (spur.pressure_angle.tan(), spur.pressure_angle.cos());
    let (z, x) = (f64::from(spur.teeth), spur.shift);
    let old = (spur.pressure_angle - OLD_ANGLE).abs() < 1e-3 && spur.dedendum == 1.25;
    let (dedendum, tip) = if old { OLD } else { (spur.dedendum, TIP) };
    // All over the module. The largest round that the cutter's tooth has room for.
    let full_round = (FRAC_PI_4 - dedendum * tan) / (1.0 / cos - tan);
    let tip = tip.min(full_round.max(0.0));
    let below = dedendum - tip;
    let aside = FRAC_PI_4 - below * tan - tip / cos;
    let deep = below - x;
    more_than(
        "dedendum of the cutter",
        "modules",
        deep,
        "profile shift",
        0.0,
    )?;
    let radius = z / 2.0;
    let base = radius * cos;
    let outside = radius + spur.addendum + x;
    let at_tip = (base / outside).clamp(0.0, 1.0).acos();
    // The tooth's half angle on the base circle, and where the load at its tip meets its middle.
    let half = (FRAC_PI_2 + 2.0 * x * tan) / z + tan - spur.pressure_angle;
    let top = base / (at_tip.tan() - half).cos();
    let mut least = f64::INFINITY;
    for place in 0..=PLACES {
        let turn = (FRAC_PI_2 - spur.pressure_angle) * f64::from(place) / f64::from(PLACES);
        let rolled = deep * turn.tan() - aside;
        let (sin, cosine) = turn.sin_cos();
        let across = aside + rolled + tip * sin;
        let up = radius + x - below - tip * cosine;
        let (s, c) = (rolled / radius + PI / z).sin_cos();
        let thickness = 2.0 * (across * c - up * s).abs();
        let lever = top - (across * s + up * c);
        if lever > 0.0 {
            least = least.min(thickness * thickness / (6.0 * lever));
        }
    }
    Ok(Lewis {
        big_y: least,
        small_y: least / PI,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shape(teeth: u32, degrees: f64, shift: f64) -> f64 {
        let spur = Spur {
            pressure_angle: degrees.to_radians(),
            shift,
            ..Spur::standard(3.0, teeth)
        };
        of_shape(&spur).unwrap().big_y
    }

    /// The printed table of 20° (Shigley table 14-2, from memory).
    #[test]
    fn the_shape_agrees_with_the_table_of_20() {
        for z in [12, 15, 17, 20, 24, 30, 43, 60, 100, 300] {
            let (own, printed) = (shape(z, 20.0, 0.0), lewis_y(z).unwrap().big_y);
            let ratio = own / printed;
            assert!((0.94..1.01).contains(&ratio), "{z}: {own} {printed}");
        }
    }

    /// The printed table of 14½° (Machinery's Handbook, full depth, from memory).
    #[test]
    fn the_shape_agrees_with_the_table_of_14_and_a_half() {
        let printed = [
            (12, 0.210),
            (15, 0.236),
            (18, 0.261),
            (24, 0.298),
            (30, 0.320),
            (50, 0.352),
            (100, 0.371),
            (300, 0.383),
        ];
        for (z, y) in printed {
            let ratio = shape(z, 14.5, 0.0) / y;
            assert!((0.89..1.01).contains(&ratio), "{z}: {ratio}");
        }
    }

    #[test]
    fn more_teeth_more_angle_and_more_shift_are_stronger() {
        for degrees in [14.5, 20.0, 25.0] {
            let mut last = 0.0;
            for z in [8, 10, 12, 17, 25, 60, 400, 100_000] {
                let y = shape(z, degrees, 0.0);
                assert!(y > last && y < 0.7, "{z} {degrees}: {y} after {last}");
                last = y;
            }
        }
        for z in [9, 12, 20] {
            assert!(shape(z, 20.0, 0.3) > shape(z, 20.0, 0.0));
            assert!(shape(z, 25.0, 0.0) > shape(z, 20.0, 0.0));
        }
        // It does not hang on the module.
        let one = Spur {
            shift: 0.4,
            ..Spur::standard(1.0, 10)
        };
        let four = Spur { module: 4.0, ..one };
        assert_eq!(of_shape(&one).unwrap(), of_shape(&four).unwrap());
        assert!(of_shape(&Spur { teeth: 3, ..one }).is_err());
        assert!(of_shape(&Spur { shift: 1.2, ..one }).is_err());
    }
}
