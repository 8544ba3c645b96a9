//! A pinion in a wheel with internal teeth.

use super::{Pair, Spur, angle_of_involute, involute};
use crate::ElementError;
use crate::error::{less_than, positive, within};

/// Fewest teeth that a wheel of 20 degrees and full depth has more than its pinion, so that tips clear each other on the way in
/// and out (common practice).
pub const FEWEST_APART: u32 = 12;

/// A pinion in a ring of internal teeth of the same module and pressure angle; `None` for the centres without backlash. Backlash
/// grows as the centres come nearer. A positive shift of the ring moves its teeth outwards.
///
/// # Errors
/// Gears that do not go together; a ring that is no larger than its pinion; a ring whose tips lie inside its base circle;
/// centres at which the teeth do not work.
///
/// ```
/// use elements::gears::{Spur, internal_pair};
/// let p = internal_pair(&Spur::standard(1.0, 20), &Spur::standard(1.0, 60), None).unwrap();
/// assert!((p.centres - 20.0).abs() < 1e-9 && p.contact_ratio > 1.6);
/// ```
pub fn internal_pair(
    pinion: &Spur,
    ring: &Spur,
    centres: Option<f64>,
) -> Result<Pair, ElementError> {
    let (a, b) = (pinion.geometry()?, ring.geometry()?);
    let same = |what, unit, got: f64, of: f64| {
        within(what, unit, got, of * (1.0 - 1e-9), of * (1.0 + 1e-9))
    };
    same("module of the ring", "mm", ring.module, pinion.module)?;
    same(
        "pressure angle of the ring",
        "rad",
        ring.pressure_angle,
        pinion.pressure_angle,
    )?;
    less_than(
        "teeth of the pinion",
        "",
        f64::from(pinion.teeth),
        "teeth of the ring",
        f64::from(ring.teeth),
    )?;
    let apart = f64::from(ring.teeth) - f64::from(pinion.teeth);
    let bases = 0.5 * (b.base - a.base);
    let tight = angle_of_involute(
        involute(pinion.pressure_angle)
            + 2.0 * (ring.shift - pinion.shift) * pinion.pressure_angle.tan() / apart,
    )?;
    let centres = match centres {
        Some(c) => positive("centre distance", "mm", c)?,
        None => bases / tight.cos(),
    };
    let standard = 0.5 * (b.pitch - a.pitch);
    within(
        "centre distance",
        "mm",
        centres,
        0.8 * standard,
        1.3 * standard,
    )?;
    less_than(
        "difference of the base radii",
        "mm",
        bases,
        "centre distance",
        centres,
    )?;
    let angle = (bases / centres).acos();
    let tip = 0.5 * b.pitch - ring.module * (ring.addendum - ring.shift);
    less_than(
        "base radius of the ring",
        "mm",
        0.5 * b.base,
        "radius of its tips",
        tip,
    )?;
    let along = |radius: f64, base: f64| (radius * radius - 0.25 * base * base).max(0.0).sqrt();
    let path = along(0.5 * a.outside, a.base) - along(tip, b.base) + centres * angle.sin();
    Ok(Pair {
        centres,
        pressure_angle: angle,
        contact_ratio: path / (a.circular_pitch * pinion.pressure_angle.cos()),
        backlash: 2.0 * centres * (involute(tight) - involute(angle)),
        ratio: f64::from(ring.teeth) / f64::from(pinion.teeth),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shifted_ring_of_the_handbook() {
        // Module 3, 16 and 24 teeth, ring shifted by 0.5: 31.0937 deg at work, centres 13.1683 mm (Elements of Metric Gear
        // Technology, table of internal gears, from memory).
        let pinion = Spur::standard(3.0, 16);
        let ring = Spur {
            shift: 0.5,
            ..Spur::standard(3.0, 24)
        };
        let pair = internal_pair(&pinion, &ring, None).unwrap();
        assert!((pair.pressure_angle.to_degrees() - 31.0937).abs() < 1e-3);
        assert!((pair.centres - 13.1683).abs() < 1e-3, "{}", pair.centres);
    }

    #[test]
    fn more_contact_than_outside_and_play_when_nearer() {
        let (a, b) = (Spur::standard(2.0, 20), Spur::standard(2.0, 60));
        let inside = internal_pair(&a, &b, None).unwrap();
        let outside = super::super::pair(&a, &b, None).unwrap();
        assert!(inside.contact_ratio > outside.contact_ratio);
        assert!(inside.backlash.abs() < 1e-9 && (inside.centres - 40.0).abs() < 1e-9);
        // A ring of very many teeth is a rack.
        let rack = super::super::rack_contact_ratio(&a).unwrap();
        let wide = internal_pair(&a, &Spur::standard(2.0, 60_000), None).unwrap();
        assert!((wide.contact_ratio - rack).abs() < 1e-3);
        let near = internal_pair(&a, &b, Some(39.9)).unwrap();
        assert!((near.backlash / (0.2 * 20f64.to_radians().tan()) - 1.0).abs() < 0.02);
        assert!(internal_pair(&a, &b, Some(40.1)).unwrap().backlash < 0.0);
    }

    #[test]
    fn refuses_what_does_not_go_together() {
        let (a, b) = (Spur::standard(2.0, 20), Spur::standard(2.0, 60));
        assert!(internal_pair(&b, &a, None).is_err());
        assert!(internal_pair(&a, &Spur::standard(1.0, 60), None).is_err());
        assert!(
            internal_pair(&a, &b, Some(-1.0)).is_err()
                && internal_pair(&a, &b, Some(90.0)).is_err()
        );
        // 24 internal teeth without shift have tips inside the base circle.
        assert!(internal_pair(&Spur::standard(1.0, 12), &Spur::standard(1.0, 24), None).is_err());
    }
}
