//! Bar, plate and tube sizes that a stockist has, and what they weigh.
//!
//! Lists of common sizes (common practice, from memory); a stockist's own list goes before them.

use crate::columns::Section;
use crate::error::{more_than, not_negative, positive};
use crate::{ElementError, Source};

/// Every list here.
pub const SOURCE: Source = Source::practice("sizes commonly stocked");

const INCH: f64 = 25.4;

/// Round bar, mm (those over 60 as EN 10060 has them, from memory).
pub const ROUND_METRIC: [f64; 32] = [
    3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 15.0, 16.0, 18.0, 20.0, 22.0, 24.0, 25.0,
    28.0, 30.0, 32.0, 35.0, 40.0, 45.0, 50.0, 60.0, 65.0, 70.0, 75.0, 80.0, 85.0, 90.0, 100.0,
];

/// Round bar, inches.
pub const ROUND_INCH: [f64; 24] = [
    0.125, 0.1875, 0.25, 0.3125, 0.375, 0.4375, 0.5, 0.5625, 0.625, 0.75, 0.875, 1.0, 1.125, 1.25,
    1.375, 1.5, 1.625, 1.75, 2.0, 2.25, 2.5, 3.0, 3.5, 4.0,
];

/// Thickness of flat bar and plate, mm.
pub const PLATE_METRIC: [f64; 16] = [
    1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 16.0, 20.0, 25.0, 30.0, 40.0,
];

/// Thickness of flat bar and plate, inches.
pub const PLATE_INCH: [f64; 11] = [
    0.125, 0.1875, 0.25, 0.3125, 0.375, 0.5, 0.625, 0.75, 1.0, 1.25, 1.5,
];

/// Width of flat bar, mm.
pub const FLAT_METRIC: [f64; 14] = [
    10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 120.0,
];

/// Width of flat bar, inches.
pub const FLAT_INCH: [f64; 12] = [
    0.5, 0.625, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 4.0, 5.0,
];

/// Tube, outside diameter and wall, inches.
pub const TUBE_INCH: [(f64, f64); 9] = [
    (0.25, 0.035),
    (0.375, 0.049),
    (0.5, 0.065),
    (0.625, 0.065),
    (0.75, 0.083),
    (1.0, 0.12),
    (1.25, 0.12),
    (1.5, 0.12),
    (2.0, 0.188),
];

/// Tube, outside diameter and wall, mm.
pub const TUBE_METRIC: [(f64, f64); 12] = [
    (6.0, 1.0),
    (8.0, 1.0),
    (10.0, 1.0),
    (12.0, 1.5),
    (15.0, 1.5),
    (16.0, 2.0),
    (20.0, 2.0),
    (25.0, 2.0),
    (30.0, 3.0),
    (35.0, 3.0),
    (40.0, 3.0),
    (50.0, 4.0),
];

/// The smallest of the sizes that leaves `allowance` to machine, mm on the size; sizes in any order.
///
/// # Errors
/// A size that is not positive, a negative allowance.
///
/// ```
/// use elements::stock::{ROUND_METRIC, smallest};
/// assert_eq!(smallest(&ROUND_METRIC, 24.5, 1.0).unwrap(), Some(28.0));
/// ```
pub fn smallest(sizes: &[f64], wanted: f64, allowance: f64) -> Result<Option<f64>, ElementError> {
    let least = positive("size", "mm", wanted)? + not_negative("allowance", "mm", allowance)?;
    let enough = sizes.iter().copied().filter(|s| *s >= least - 1e-9);
    Ok(enough.min_by(f64::total_cmp))
}

/// Whether bar of this section is commonly stocked in either system; of a flat its thickness counts, since width is sawn from plate.
///
/// ```
/// use elements::{columns::Section, stock::stocked};
/// assert!(stocked(Section::Round(12.7)) && stocked(Section::Flat(30.0, 6.0)));
/// assert!(!stocked(Section::Round(11.0)) && !stocked(Section::Flat(31.7, 10.3)));
/// ```
pub fn stocked(section: Section) -> bool {
    let has =
        |list: &[f64], unit: f64, size: f64| list.iter().any(|s| (s * unit - size).abs() < 0.02);
    match section {
        Section::Round(d) => has(&ROUND_METRIC, 1.0, d) || has(&ROUND_INCH, INCH, d),
        Section::Flat(a, b) => {
            let thin = a.min(b);
            has(&PLATE_METRIC, 1.0, thin) || has(&PLATE_INCH, INCH, thin)
        }
        Section::Tube(outside, inside) => {
            let wall = 0.5 * (outside - inside);
            let of = |list: &[(f64, f64)], unit: f64| {
                list.iter().any(|(d, w)| {
                    (d * unit - outside).abs() < 0.02 && (w * unit - wall).abs() < 0.02
                })
            };
            of(&TUBE_METRIC, 1.0) || of(&TUBE_INCH, INCH)
        }
    }
}

/// Inch sizes in mm.
pub fn inches(sizes: &[f64]) -> Vec<f64> {
    sizes.iter().map(|s| s * INCH).collect()
}

/// Weight of a length of bar, kg; density in kg/mm³.
///
/// # Errors
/// Sizes that are not positive.
pub fn mass(section: Section, length: f64, density: f64) -> Result<f64, ElementError> {
    let (area, _) = section.properties()?;
    Ok(area * positive("length", "mm", length)? * positive("density", "kg/mm³", density)?)
}

/// The largest square that can be milled on a round bar, mm across, and the bar for a square or a rectangle: its
/// diagonal.
///
/// # Errors
/// Sizes that are not positive.
pub fn round_for(width: f64, height: f64) -> Result<f64, ElementError> {
    positive("width", "mm", width)?;
    more_than("height", "mm", height, "nothing", 0.0)?;
    Ok(width.hypot(height))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_rise() {
        for list in [
            &ROUND_METRIC[..],
            &ROUND_INCH,
            &PLATE_METRIC,
            &PLATE_INCH,
            &FLAT_METRIC,
            &FLAT_INCH,
        ] {
            assert!(list.windows(2).all(|w| w[0] < w[1]));
        }
        assert!(TUBE_INCH.iter().all(|(d, wall)| 2.0 * wall < *d));
        assert!(TUBE_METRIC.iter().all(|(d, wall)| 2.0 * wall < *d));
        assert!(TUBE_METRIC.windows(2).all(|w| w[0].0 < w[1].0));
    }

    #[test]
    fn choosing_and_weighing() {
        assert_eq!(smallest(&ROUND_METRIC, 38.0, 0.0).unwrap(), Some(40.0));
        assert_eq!(smallest(&ROUND_METRIC, 150.0, 0.0).unwrap(), None);
        assert_eq!(
            smallest(&inches(&ROUND_INCH), 25.4, 0.0).unwrap(),
            Some(25.4)
        );
        // A metre of 20 mm steel bar weighs 2.47 kg.
        let kg = mass(Section::Round(20.0), 1000.0, 7.85e-6).unwrap();
        assert!((kg - 2.466).abs() < 1e-3);
        assert!((round_for(30.0, 40.0).unwrap() - 50.0).abs() < 1e-12);
        assert!(smallest(&ROUND_METRIC, f64::NAN, 0.0).is_err() && round_for(1.0, 0.0).is_err());
    }
}
