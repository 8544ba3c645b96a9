//! Limits of unified inch threads 2A and 2B by the formulas of ASME B1.1-2003 (from memory; checked against printed
//! limits of common sizes). They are not rounded; the standard rounds to 0.0001 in.

use super::basic;
use super::metric::ThreadLimits;
use crate::error::{positive, within};
use crate::{ElementError, Limits, Source};

/// The standard.
pub const SOURCE: Source = Source::memory("ASME B1.1-2003, formulas of clause 5");

const INCH: f64 = 25.4;

/// Limits 2A and 2B, mm. `engagement` in mm is the major diameter for UNC and UNF, nine pitches for the constant-pitch
/// series; [`standard_engagement`] gives it.
///
/// # Errors
/// Sizes outside 0.06 to 4 in, a pitch that leaves no core.
///
/// ```
/// use elements::threads::unified::limits;
/// let quarter = limits(6.35, 1.27, 6.35).unwrap();
/// assert!((quarter.screw_pitch.least() / 25.4 - 0.2127).abs() < 1e-4);
/// assert!((quarter.nut_pitch.most() / 25.4 - 0.2224).abs() < 1e-4);
/// ```
pub fn limits(major: f64, pitch: f64, engagement: f64) -> Result<ThreadLimits, ElementError> {
    within("major diameter", "mm", major, 0.06 * INCH, 4.0 * INCH)?;
    positive("length of engagement", "mm", engagement)?;
    let b = basic(major, pitch)?;
    let (d, p, le) = (major / INCH, pitch / INCH, engagement / INCH);
    let root = p.powf(2.0 / 3.0);
    let screw = 0.0015 * d.cbrt() + 0.0015 * le.sqrt() + 0.015 * root;
    let allowance = 0.3 * screw;
    let crest = 0.06 * root;
    let nut = 1.3 * screw;
    let coarse_minor = 0.25 * p - 0.4 * p * p;
    let minor = if d < 0.25 {
        (0.05 * root + 0.03 * p / d - 0.002).clamp(coarse_minor, 0.394 * p)
    } else {
        coarse_minor.max(0.15 * p)
    };
    let below = |nominal: f64, tolerance: f64| Limits {
        nominal,
        upper: -allowance * INCH,
        lower: -(allowance + tolerance) * INCH,
    };
    let above = |nominal: f64, tolerance: f64| Limits {
        nominal,
        upper: tolerance * INCH,
        lower: 0.0,
    };
    Ok(ThreadLimits {
        screw_major: below(major, crest),
        screw_pitch: below(b.pitch_diameter, screw),
        nut_pitch: above(b.pitch_diameter, nut),
        nut_minor: above(b.nut_minor, minor),
    })
}

/// The length of engagement for which the limits of a series are made: the major diameter for UNC and UNF, nine
/// pitches otherwise, mm.
pub fn standard_engagement(major: f64, pitch: f64, coarse_or_fine: bool) -> f64 {
    if coarse_or_fine { major } else { 9.0 * pitch }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Printed limits, inches: thread, major max and min, pitch max and min of 2A; pitch max, minor max of 2B.
    /// (ASME B1.1, from memory.)
    const PRINTED: [(f64, f64, [f64; 6]); 5] = [
        (0.25, 20.0, [0.2489, 0.2408, 0.2164, 0.2127, 0.2224, 0.207]),
        (0.25, 28.0, [0.2490, 0.2425, 0.2258, 0.2225, 0.2311, 0.220]),
        (0.375, 16.0, [0.3737, 0.3643, 0.3331, 0.3287, 0.3401, 0.321]),
        (0.5, 13.0, [0.4985, 0.4876, 0.4485, 0.4435, 0.4565, 0.434]),
        (0.19, 32.0, [0.1891, 0.1831, 0.1688, 0.1658, 0.1736, 0.164]),
    ];

    #[test]
    fn printed_limits() {
        for (d, n, [major, major_min, pitch, pitch_min, nut, minor]) in PRINTED {
            let l = limits(d * INCH, INCH / n, d * INCH).unwrap();
            let near = |mm: f64, inches: f64, allowed: f64| {
                let miss = (mm / INCH - inches).abs();
                assert!(miss < allowed, "{d}-{n}: {} {inches}", mm / INCH);
            };
            near(l.screw_major.most(), major, 1.2e-4);
            near(l.screw_major.least(), major_min, 1.2e-4);
            near(l.screw_pitch.most(), pitch, 1.2e-4);
            near(l.screw_pitch.least(), pitch_min, 1.2e-4);
            near(l.nut_pitch.most(), nut, 1.2e-4);
            near(l.nut_minor.most(), minor, 6e-4);
        }
    }

    #[test]
    fn screw_goes_into_nut_for_every_listed_size() {
        for size in [
            "#4-40", "#6-32", "#8-32", "#10-24", "1/4-20", "5/16-18", "3/8-24", "1/2-20", "3/4-10",
            "1-8",
        ] {
            let t = quantity::thread::parse(size).unwrap();
            let l = limits(
                t.major,
                t.pitch,
                standard_engagement(t.major, t.pitch, true),
            )
            .unwrap();
            assert!(l.screw_pitch.most() < l.nut_pitch.least());
            assert!(l.screw_major.least() > l.nut_minor.most(), "{size}");
        }
        assert!(limits(1.0, 0.3, 1.0).is_err() && limits(6.35, 1.27, 0.0).is_err());
        assert_eq!(standard_engagement(25.4, 1.0, false), 9.0);
    }
}
