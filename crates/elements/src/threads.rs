//! Screw threads: basic dimensions, limits, tap drills, stripping, preload, joints, screws that move and screws that
//! hold.
//!
//! The basic profile is common to ISO 68-1 and ASME B1.1: a 60° triangle of height H = 0.866 P, cut off by H/8 at the
//! crest of the screw and H/4 at the crest of the nut. The minor diameter D1 of the nut is not the root d3 of the
//! screw.

pub mod group;
pub mod holding;
pub mod joint;
pub mod made;
pub mod metric;
pub mod moving;
pub mod preload;
pub mod strip;
pub mod tap;
pub mod unified;

use crate::error::{less_than, positive};
use crate::{ElementError, Source};
use std::f64::consts::PI;

/// The basic profile.
pub const SOURCE: Source =
    Source::seen("ISO 68-1, ISO 724 and ASME B1.1 basic profile; ISO 898-1 stress area");

/// Height of the sharp triangle over the pitch.
const HEIGHT: f64 = 0.866_025_403_784_438_6;

/// Basic dimensions of a 60° thread, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Basic {
    /// Major diameter d = D.
    pub major: f64,
    /// Pitch P.
    pub pitch: f64,
    /// Pitch diameter d2 = D2: d − 0.6495 P.
    pub pitch_diameter: f64,
    /// Minor diameter of the nut D1: d − 1.0825 P.
    pub nut_minor: f64,
    /// Root of the screw with a rounded root, d3: d − 1.2269 P.
    pub root: f64,
    /// Tensile stress area of ISO 898-1: of the mean of pitch and root diameter, mm².
    pub stress_area: f64,
    /// Area of the root, mm².
    pub root_area: f64,
    /// Lead angle at the pitch diameter of a single start, rad.
    pub lead_angle: f64,
}

/// Basic dimensions from major diameter and pitch, mm; an inch thread likewise in mm.
///
/// # Errors
/// Sizes that are not positive; a pitch so coarse that no core is left.
///
/// ```
/// let m6 = elements::threads::basic(6.0, 1.0).unwrap();
/// assert!((m6.pitch_diameter - 5.350).abs() < 1e-3 && (m6.nut_minor - 4.917).abs() < 1e-3);
/// assert!((m6.stress_area - 20.1).abs() < 0.05);
/// ```
pub fn basic(major: f64, pitch: f64) -> Result<Basic, ElementError> {
    positive("major diameter", "mm", major)?;
    positive("pitch", "mm", pitch)?;
    less_than(
        "pitch",
        "mm",
        pitch,
        "third of the major diameter",
        major / 3.0,
    )?;
    let h = HEIGHT * pitch;
    let pitch_diameter = major - 0.75 * h;
    let root = major - 17.0 / 12.0 * h;
    let area = |d: f64| PI * d * d / 4.0;
    Ok(Basic {
        major,
        pitch,
        pitch_diameter,
        nut_minor: major - 1.25 * h,
        root,
        stress_area: area(f64::midpoint(pitch_diameter, root)),
        root_area: area(root),
        lead_angle: (pitch / (PI * pitch_diameter)).atan(),
    })
}

/// Tensile stress area of an inch thread, mm²: π/4 (D − 0.9743 P)² (ASME B1.1). The metric formula takes 0.9382 P, so
/// the two differ by 1 to 2 % for the same sizes; each belongs to its own standard.
///
/// # Errors
/// As for [`basic`].
pub fn inch_stress_area(major: f64, pitch: f64) -> Result<f64, ElementError> {
    basic(major, pitch)?;
    Ok(PI / 4.0 * (major - 0.9743 * pitch).powi(2))
}

/// Unified coarse threads from #4 to 1 in (ASME B1.1): name, major diameter in inches, threads an inch.
pub const UNC: [(&str, f64, f64); 15] = [
    ("#4-40", 0.112, 40.0),
    ("#5-40", 0.125, 40.0),
    ("#6-32", 0.138, 32.0),
    ("#8-32", 0.164, 32.0),
    ("#10-24", 0.190, 24.0),
    ("1/4-20", 0.25, 20.0),
    ("5/16-18", 0.3125, 18.0),
    ("3/8-16", 0.375, 16.0),
    ("7/16-14", 0.4375, 14.0),
    ("1/2-13", 0.5, 13.0),
    ("9/16-12", 0.5625, 12.0),
    ("5/8-11", 0.625, 11.0),
    ("3/4-10", 0.75, 10.0),
    ("7/8-9", 0.875, 9.0),
    ("1-8", 1.0, 8.0),
];

/// Coarse metric threads up to M24, first choice of ISO 261: major diameter and pitch, mm.
pub const COARSE: [(f64, f64); 16] = [
    (1.6, 0.35),
    (2.0, 0.4),
    (2.5, 0.45),
    (3.0, 0.5),
    (4.0, 0.7),
    (5.0, 0.8),
    (6.0, 1.0),
    (8.0, 1.25),
    (10.0, 1.5),
    (12.0, 1.75),
    (14.0, 2.0),
    (16.0, 2.0),
    (18.0, 2.5),
    (20.0, 2.5),
    (22.0, 2.5),
    (24.0, 3.0),
];

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn coarse_series_is_the_one_that_is_read() {
        for (major, pitch) in COARSE {
            let read = quantity::thread::parse(&format!("M{major}")).unwrap();
            assert_eq!((read.major, read.pitch), (major, pitch));
        }
    }

    #[test]
    fn refuses() {
        assert!(basic(0.0, 1.0).is_err() && basic(6.0, 0.0).is_err() && basic(6.0, 2.5).is_err());
        assert!(basic(f64::NAN, 1.0).is_err() && basic(6.0, -1.0).is_err());
    }

    proptest! {
        #[test]
        fn diameters_are_ordered(d in 1.0..100.0f64, share in 0.02..0.3f64) {
            let p = share * d;
            let b = basic(d, p).unwrap();
            prop_assert!(b.root < b.nut_minor && b.nut_minor < b.pitch_diameter && b.pitch_diameter < d);
            prop_assert!(b.root_area < b.stress_area && b.stress_area < PI * d * d / 4.0);
            let inch = inch_stress_area(d, p).unwrap();
            let metric = PI / 4.0 * (d - 0.9382 * p).powi(2);
            prop_assert!((metric / b.stress_area - 1.0).abs() < 1e-3 && inch < b.stress_area);
            // Twice the size, four times the area.
            prop_assert!((basic(2.0 * d, 2.0 * p).unwrap().stress_area / b.stress_area - 4.0).abs() < 1e-9);
        }
    }
}
