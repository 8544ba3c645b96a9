//! Threads for which taps and dies are sold.

use super::{Source, UNC};

/// Where the sizes come from.
pub const SOURCE: Source =
    Source::memory("ISO 261 and ISO 262 (M1.6 to M64); ASME B1.1 coarse, fine and extra fine");

/// Major diameter and pitches, mm, the coarse one first.
const METRIC: [(f64, &[f64]); 36] = [
    (1.6, &[0.35, 0.2]),
    (1.8, &[0.35, 0.2]),
    (2.0, &[0.4, 0.25]),
    (2.2, &[0.45, 0.25]),
    (2.5, &[0.45, 0.35]),
    (3.0, &[0.5, 0.35]),
    (3.5, &[0.6, 0.35]),
    (4.0, &[0.7, 0.5]),
    (5.0, &[0.8, 0.5]),
    (6.0, &[1.0, 0.75, 0.5]),
    (7.0, &[1.0, 0.75]),
    (8.0, &[1.25, 1.0, 0.75, 0.5]),
    (9.0, &[1.25, 1.0, 0.75]),
    (10.0, &[1.5, 1.25, 1.0, 0.75, 0.5]),
    (11.0, &[1.5, 1.0, 0.75]),
    (12.0, &[1.75, 1.5, 1.25, 1.0]),
    (14.0, &[2.0, 1.5, 1.25, 1.0]),
    (15.0, &[1.5, 1.0]),
    (16.0, &[2.0, 1.5, 1.0]),
    (18.0, &[2.5, 2.0, 1.5, 1.0]),
    (20.0, &[2.5, 2.0, 1.5, 1.0]),
    (22.0, &[2.5, 2.0, 1.5, 1.0]),
    (24.0, &[3.0, 2.0, 1.5, 1.0]),
    (25.0, &[2.0, 1.5, 1.0]),
    (27.0, &[3.0, 2.0, 1.5, 1.0]),
    (28.0, &[2.0, 1.5, 1.0]),
    (30.0, &[3.5, 3.0, 2.0, 1.5, 1.0]),
    (32.0, &[2.0, 1.5]),
    (33.0, &[3.5, 3.0, 2.0, 1.5]),
    (36.0, &[4.0, 3.0, 2.0, 1.5]),
    (40.0, &[3.0, 2.0, 1.5]),
    (42.0, &[4.5, 4.0, 3.0, 2.0, 1.5]),
    (48.0, &[5.0, 4.0, 3.0, 2.0, 1.5]),
    (50.0, &[3.0, 2.0, 1.5]),
    (56.0, &[5.5, 4.0, 3.0, 2.0, 1.5]),
    (64.0, &[6.0, 4.0, 3.0, 2.0]),
];

/// Major diameter, inches, and fine threads an inch.
const FINE: [(f64, &[f64]); 22] = [
    (0.060, &[80.0]),
    (0.073, &[64.0, 72.0]),
    (0.086, &[56.0, 64.0]),
    (0.099, &[48.0, 56.0]),
    (0.112, &[48.0]),
    (0.125, &[44.0]),
    (0.138, &[40.0]),
    (0.164, &[36.0]),
    (0.190, &[32.0]),
    (0.216, &[24.0, 28.0, 32.0]),
    (0.25, &[28.0, 32.0]),
    (0.3125, &[24.0, 32.0]),
    (0.375, &[24.0, 32.0]),
    (0.4375, &[20.0, 28.0]),
    (0.5, &[20.0, 28.0]),
    (0.5625, &[18.0, 24.0]),
    (0.625, &[18.0, 24.0]),
    (0.75, &[16.0, 20.0]),
    (0.875, &[14.0, 20.0]),
    (1.0, &[12.0, 14.0, 20.0]),
    (1.25, &[7.0, 12.0, 18.0]),
    (1.5, &[6.0, 12.0, 18.0]),
];

const INCH: f64 = 25.4;

/// Threads of this major diameter, mm, that are sold, or of the nearest diameter where there is none: diameter and pitch, mm.
///
/// ```
/// use elements::threads::made;
/// assert!(made::sold(12.0, 1.75, false) && !made::sold(12.0, 0.7, false));
/// assert_eq!(made::near(12.0, false)[0], (12.0, 1.75));
/// assert!(made::sold(25.4 / 4.0, 25.4 / 28.0, true));
/// ```
pub fn near(major: f64, inch: bool) -> Vec<(f64, f64)> {
    let mut all: Vec<(f64, f64)> = if inch {
        let coarse = UNC.iter().map(|(_, d, n)| (INCH * d, INCH / n));
        let fine = FINE
            .iter()
            .flat_map(|(d, n)| n.iter().map(|n| (INCH * *d, INCH / n)));
        coarse.chain(fine).collect()
    } else {
        METRIC
            .iter()
            .flat_map(|(d, p)| p.iter().map(|p| (*d, *p)))
            .collect()
    };
    let off = |d: f64| (d - major).abs();
    let least = all.iter().map(|t| off(t.0)).fold(f64::INFINITY, f64::min);
    all.retain(|t| off(t.0) <= least + 1e-6);
    all.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.total_cmp(&a.1)));
    all
}

/// Whether taps and dies of a thread are sold; sizes in mm.
pub fn sold(major: f64, pitch: f64, inch: bool) -> bool {
    near(major, inch)
        .iter()
        .any(|(d, p)| (d - major).abs() < 1e-3 && (p - pitch).abs() < 1e-4)
}

#[cfg(test)]
mod tests {
    use super::super::COARSE;
    use super::*;

    #[test]
    fn coarse_threads_are_sold() {
        for (d, p) in COARSE {
            assert!(sold(d, p, false), "M{d}");
            assert_eq!(near(d, false)[0].1, p, "M{d}");
        }
        for (name, d, n) in UNC {
            assert!(sold(INCH * d, INCH / n, true), "{name}");
        }
        for (d, pitches) in METRIC {
            assert!(pitches.windows(2).all(|w| w[0] > w[1]), "M{d}");
        }
        for odd in [(12.0, 0.7), (8.0, 0.9), (13.0, 1.5), (6.0, 1.25)] {
            assert!(!sold(odd.0, odd.1, false), "{odd:?}");
        }
        assert!(!sold(INCH / 4.0, INCH / 24.0, true) && near(200.0, false)[0].0 == 64.0);
    }
}
