//! The normal law, and how surely a share is known.

use super::answers::Kept;

/// Share beyond x deviations to one side.
///
/// Near the middle by the series of Marsaglia ("Evaluating the normal distribution", 2004), further out by the continued fraction of Laplace.
pub(super) fn beyond(x: f64) -> f64 {
    if x < 0.0 {
        return 1.0 - beyond(-x);
    }
    if x > 38.0 {
        return 0.0;
    }
    let density = (-0.5 * x * x).exp() / std::f64::consts::TAU.sqrt();
    if x < 3.0 {
        let (mut sum, mut term, mut i) = (x, x, 1.0);
        while f64::abs(term) > 1e-17 {
            i += 2.0;
            term *= x * x / i;
            sum += term;
        }
        return 0.5 - density * sum;
    }
    let fraction = (1..60).rev().fold(x, |f, k| x + f64::from(k) / f);
    density / fraction
}

/// Deviations that hold 95 of 100.
const SURE: f64 = 1.959_963_984_540_054;

/// So many of so many machines, with the band in which the share of all machines lies, 95 times of 100 (Wilson, "Probable inference, the law of
/// succession, and statistical inference", 1927).
pub(super) fn kept(count: usize, machines: usize) -> Kept {
    let n = machines.max(1) as f64;
    let share = count as f64 / n;
    let z2 = SURE * SURE;
    let middle = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = SURE / (1.0 + z2 / n) * (share * (1.0 - share) / n + z2 / (4.0 * n * n)).sqrt();
    Kept {
        share,
        band: [(middle - half).max(0.0), (middle + half).min(1.0)],
        machines,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Tails as printed in Abramowitz and Stegun, table 26.2 (from memory; three sigma both sides: 0.0026998).
    #[test]
    fn tails_are_those_of_the_tables() {
        for (x, want) in [
            (0.0, 0.5),
            (1.0, 0.158_655_253_931_457_05),
            (1.959_963_984_540_054, 0.025),
            (2.999_999, 0.001_349_902_463),
            (3.0, 0.001_349_898_031_630_094_6),
            (5.0, 2.866_515_718_791_939_2e-7),
            (8.0, 6.220_960_574_271_785e-16),
        ] {
            assert!((beyond(x) / want - 1.0).abs() < 1e-9, "{x}: {}", beyond(x));
            assert!((beyond(-x) - (1.0 - want)).abs() < 1e-12);
        }
    }

    /// 81 of 263: 0.2553 to 0.3662 (Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in Medicine 17,
    /// 1998, table I, method 3).
    #[test]
    fn bands_are_those_in_print() {
        let k = kept(81, 263);
        assert!(
            (k.band[0] - 0.2553).abs() < 5e-5 && (k.band[1] - 0.3662).abs() < 5e-5,
            "{k:?}"
        );
        let all = kept(1000, 1000);
        assert!(all.share == 1.0 && all.band[1] == 1.0 && all.band[0] < 0.9963);
    }
}
