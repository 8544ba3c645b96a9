//! Limits of ISO metric threads 6H and 6g (ISO 965-1:2013).
//!
//! Deviations are tabulated by pitch, pitch diameter tolerances by pitch and step of diameter. Screws of M1.4 and
//! less are made to 5H/6h and are left out.

use super::basic;
use crate::error::{not_listed, within};
use crate::{ElementError, Limits, Source};

/// The standard.
pub const SOURCE: Source = Source::memory(
    "ISO 965-1:2013 tables 1 to 5 (limits of M6, M8 and M10 compared in print; the formulas of the standard checked)",
);

/// By pitch, mm: deviation g below basic, tolerance 6 of the screw's major diameter, tolerance 6 of the nut's minor
/// diameter; µm.
const BY_PITCH: [(f64, f64, f64, f64); 21] = [
    (0.35, 19.0, 85.0, 100.0),
    (0.4, 19.0, 95.0, 112.0),
    (0.45, 20.0, 100.0, 125.0),
    (0.5, 20.0, 106.0, 140.0),
    (0.6, 21.0, 125.0, 160.0),
    (0.7, 22.0, 140.0, 180.0),
    (0.75, 22.0, 140.0, 190.0),
    (0.8, 24.0, 150.0, 200.0),
    (1.0, 26.0, 180.0, 236.0),
    (1.25, 28.0, 212.0, 265.0),
    (1.5, 32.0, 236.0, 300.0),
    (1.75, 34.0, 265.0, 335.0),
    (2.0, 38.0, 280.0, 375.0),
    (2.5, 42.0, 335.0, 450.0),
    (3.0, 48.0, 375.0, 500.0),
    (3.5, 53.0, 425.0, 560.0),
    (4.0, 60.0, 475.0, 600.0),
    (4.5, 63.0, 500.0, 670.0),
    (5.0, 71.0, 530.0, 710.0),
    (5.5, 75.0, 560.0, 750.0),
    (6.0, 80.0, 600.0, 800.0),
];

/// Over and up to, mm; then by pitch: tolerance 6 of the pitch diameter of screw and nut, µm.
type Step = (f64, f64, &'static [(f64, f64, f64)]);

const BY_STEP: [Step; 6] = [
    (
        1.4,
        2.8,
        &[(0.35, 63.0, 85.0), (0.4, 67.0, 90.0), (0.45, 71.0, 95.0)],
    ),
    (
        2.8,
        5.6,
        &[
            (0.35, 67.0, 90.0),
            (0.5, 75.0, 100.0),
            (0.6, 85.0, 112.0),
            (0.7, 90.0, 118.0),
            (0.75, 90.0, 118.0),
            (0.8, 95.0, 125.0),
        ],
    ),
    (
        5.6,
        11.2,
        &[
            (0.75, 100.0, 132.0),
            (1.0, 112.0, 150.0),
            (1.25, 118.0, 160.0),
            (1.5, 132.0, 180.0),
        ],
    ),
    (
        11.2,
        22.4,
        &[
            (1.0, 118.0, 160.0),
            (1.25, 132.0, 180.0),
            (1.5, 140.0, 190.0),
            (1.75, 150.0, 200.0),
            (2.0, 160.0, 212.0),
            (2.5, 170.0, 224.0),
        ],
    ),
    (
        22.4,
        45.0,
        &[
            (1.0, 125.0, 170.0),
            (1.5, 150.0, 200.0),
            (2.0, 170.0, 224.0),
            (3.0, 200.0, 265.0),
            (3.5, 212.0, 280.0),
            (4.0, 224.0, 300.0),
            (4.5, 236.0, 315.0),
        ],
    ),
    (
        45.0,
        90.0,
        &[
            (1.5, 160.0, 212.0),
            (2.0, 180.0, 236.0),
            (3.0, 212.0, 280.0),
            (4.0, 236.0, 315.0),
            (5.0, 250.0, 335.0),
            (5.5, 265.0, 355.0),
            (6.0, 280.0, 375.0),
        ],
    ),
];

/// Limits of a screw 6g and a nut 6H, mm. Nominal is the basic diameter of each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThreadLimits {
    /// Major diameter of the screw.
    pub screw_major: Limits,
    /// Pitch diameter of the screw.
    pub screw_pitch: Limits,
    /// Pitch diameter of the nut.
    pub nut_pitch: Limits,
    /// Minor diameter of the nut.
    pub nut_minor: Limits,
}

/// Limits 6g and 6H for normal length of engagement.
///
/// # Errors
/// Diameters outside 1.6 to 90 mm, a pitch that the standard does not have at this diameter.
pub fn limits(major: f64, pitch: f64) -> Result<ThreadLimits, ElementError> {
    within("major diameter", "mm", major, 1.6, 90.0)?;
    let b = basic(major, pitch)?;
    let missing = |pitches: Vec<String>| not_listed("thread", format!("M{major}x{pitch}"), pitches);
    let step = BY_STEP
        .iter()
        .find(|(over, to, _)| major > *over && major <= *to)
        .map_or(&[][..], |(_, _, rows)| *rows);
    let known = || {
        step.iter()
            .map(|(p, _, _)| format!("M{major}x{p}"))
            .collect()
    };
    let (_, screw, nut) = step
        .iter()
        .find(|(p, _, _)| *p == pitch)
        .ok_or_else(|| missing(known()))?;
    let (_, g, crest, minor) = BY_PITCH
        .iter()
        .find(|(p, ..)| *p == pitch)
        .ok_or_else(|| missing(known()))?;
    let below = |nominal: f64, tolerance: f64| Limits {
        nominal,
        upper: -g / 1000.0,
        lower: -(g + tolerance) / 1000.0,
    };
    let above = |nominal: f64, tolerance: f64| Limits {
        nominal,
        upper: tolerance / 1000.0,
        lower: 0.0,
    };
    Ok(ThreadLimits {
        screw_major: below(major, *crest),
        screw_pitch: below(b.pitch_diameter, *screw),
        nut_pitch: above(b.pitch_diameter, *nut),
        nut_minor: above(b.nut_minor, *minor),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The next number of the R40 series, to which the standard rounds.
    fn near_r40(value: f64, tabled: f64) -> bool {
        // Neighbours of the series stand 6 % apart.
        (tabled / value - 1.0).abs() < 0.055
    }

    #[test]
    fn tables_follow_the_formulas_of_the_standard() {
        for (p, g, crest, minor) in BY_PITCH {
            assert!((g - (15.0 + 11.0 * p)).abs() < 2.5, "g at {p}");
            let formula = 180.0 * p.powf(2.0 / 3.0) - 3.15 / p.sqrt();
            assert!(near_r40(formula, crest), "crest at {p}: {formula} {crest}");
            let formula = if p < 1.0 {
                433.0 * p - 190.0 * p.powf(1.22)
            } else {
                230.0 * p.powf(0.7)
            };
            assert!(near_r40(formula, minor), "minor at {p}: {formula} {minor}");
        }
        for (over, to, rows) in BY_STEP {
            let mean = f64::sqrt(over * to);
            for (p, screw, nut) in rows {
                let formula = 90.0 * p.powf(0.4) * mean.powf(0.1);
                assert!(near_r40(formula, *screw), "{over} {p}: {formula} {screw}");
                assert!(near_r40(1.32 * screw, *nut), "{over} {p}: nut {nut}");
                assert!(BY_PITCH.iter().any(|row| row.0 == *p), "{p}");
            }
            assert!(rows.windows(2).all(|w| w[0].0 < w[1].0 && w[0].1 <= w[1].1));
        }
    }

    #[test]
    fn screw_goes_into_nut() {
        let mut seen = 0;
        for (_, to, rows) in BY_STEP {
            for (p, _, _) in rows {
                let l = limits(to.min(90.0), *p).unwrap();
                seen += 1;
                assert!(l.screw_pitch.most() < l.nut_pitch.least());
                assert!(l.screw_major.least() > l.nut_minor.most());
                assert!(l.screw_pitch.least() > l.nut_minor.most() - 1e-9 || *p < 0.7);
            }
        }
        assert_eq!(seen, 33);
    }

    #[test]
    fn every_coarse_thread_is_there() {
        for (major, pitch) in super::super::COARSE {
            assert!(limits(major, pitch).is_ok(), "M{major}");
        }
        assert!(limits(8.0, 0.9).is_err() && limits(1.2, 0.25).is_err());
        let error = limits(8.0, 2.0).unwrap_err().to_string();
        assert!(error.contains("M8x1.25"), "{error}");
    }
}
