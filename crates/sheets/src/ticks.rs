//! Round steps for axes and bars.

use quantity::Unit;

/// The greatest of 1, 2, 5 times a power of ten that is at most `most`; 1 when `most` is no positive number.
pub(crate) fn round_step(most: f64) -> f64 {
    if !(most.is_finite() && most > 0.0) {
        return 1.0;
    }
    let decade = 10_f64.powf((most * (1.0 + 1e-9)).log10().floor());
    [5.0, 2.0, 1.0]
        .into_iter()
        .map(|m| m * decade)
        .find(|s| *s <= most * (1.0 + 1e-9))
        .unwrap_or(decade)
}

/// The smallest round step of at least `least`, in the unit's own round steps: degrees go 1, 2, 5, 10, 15, 30, 45, 60, 90, 180,
/// 360; turns by quarters; everything else 1, 2, 5.
fn step_at_least(least: f64, unit: Unit) -> f64 {
    let own: &[f64] = match unit {
        Unit::Degree => &[
            1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 45.0, 60.0, 90.0, 180.0, 360.0,
        ],
        Unit::Turn => &[0.25, 0.5, 1.0],
        _ => &[],
    };
    if let (Some(first), Some(step)) = (
        own.first(),
        own.iter().find(|s| **s >= least * (1.0 - 1e-9)),
    ) && least > first * 0.5
    {
        return *step;
    }
    let step = round_step(least);
    if step >= least * (1.0 - 1e-9) {
        return step;
    }
    // From 1 to 2, from 2 to 5, from 5 to 10.
    let next = round_step(step * 2.5);
    if next > step * 1.5 { next } else { step * 2.0 }
}

/// Round values of an axis.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Ticks {
    /// Values, lowest first.
    pub(crate) at: Vec<f64>,
    /// Ends of the axis.
    pub(crate) ends: [f64; 2],
    /// Step between them.
    pub(crate) step: f64,
    /// Decimals that tell them apart.
    pub(crate) decimals: usize,
}

impl Ticks {
    /// The same axis cut off at `low` and `high`, with the round values between.
    pub(crate) fn within(mut self, low: f64, high: f64) -> Self {
        if low < high {
            let hair = self.step * 1e-6;
            self.at.retain(|t| (low - hair..=high + hair).contains(t));
            self.ends = [low, high];
        }
        self
    }
}

/// Round values that take in `low` .. `high` with at most about `count` steps between; the axis ends at the outer ones.
pub(crate) fn ticks(low: f64, high: f64, count: f64, unit: Unit) -> Ticks {
    let (low, high) = if low.is_finite() && high.is_finite() && low <= high {
        (low, high)
    } else {
        (0.0, 1.0)
    };
    // A curve that stands still still gets an axis to stand on.
    let least_span = (low.abs().max(high.abs()) * 1e-6).max(1e-9);
    let (low, high) = if high - low < least_span {
        let half = if low == 0.0 { 0.5 } else { low.abs() * 0.05 };
        (low - half, high + half)
    } else {
        (low, high)
    };
    let step = step_at_least((high - low) / count.max(1.0), unit);
    let (first, last) = ((low / step + 1e-9).floor(), (high / step - 1e-9).ceil());
    let count = (last - first).clamp(1.0, 1000.0) as usize;
    let decimals = (0..9)
        .find(|d| is_whole(step * 10_f64.powi(*d)))
        .unwrap_or(9);
    let at: Vec<f64> = (0..=count).map(|i| (first + i as f64) * step).collect();
    let ends = [first * step, (first + count as f64) * step];
    Ticks {
        at,
        ends,
        step,
        decimals: decimals as usize,
    }
}

fn is_whole(x: f64) -> bool {
    (x - x.round()).abs() < 1e-6 * x.abs().max(1.0) && x.abs() > 0.5
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round() {
        assert_eq!(round_step(7.0), 5.0);
        assert_eq!(round_step(0.03), 0.02);
        assert!((round_step(1000.0) - 1000.0).abs() < 1e-9);
        assert_eq!(round_step(f64::NAN), 1.0);
        assert!((step_at_least(0.3, Unit::Millimetre) - 0.5).abs() < 1e-12);
        assert!((step_at_least(0.6, Unit::Millimetre) - 1.0).abs() < 1e-12);
        assert!((step_at_least(21.0, Unit::Millimetre) - 50.0).abs() < 1e-12);
    }

    #[test]
    fn a_whole_turn_is_cut_in_quarters_or_eighths() {
        let t = ticks(0.0, 360.0, 8.0, Unit::Degree);
        assert_eq!(
            t.at,
            [0.0, 45.0, 90.0, 135.0, 180.0, 225.0, 270.0, 315.0, 360.0]
        );
        assert_eq!(
            ticks(0.0, 1.0, 4.0, Unit::Turn).at,
            [0.0, 0.25, 0.5, 0.75, 1.0]
        );
        assert_eq!(
            ticks(0.0, 75.0, 6.0, Unit::Degree).at,
            [0.0, 15.0, 30.0, 45.0, 60.0, 75.0]
        );
    }

    #[test]
    fn ticks_take_in_the_values_and_tell_themselves_apart() {
        for (low, high) in [
            (0.31, 2.42),
            (-3.0, 17.0),
            (0.0, 0.0),
            (5.0, 5.0),
            (1e-7, 3e-7),
            (-1e6, 2e6),
            (12.0, 12.004),
        ] {
            let t = ticks(low, high, 5.0, Unit::Millimetre);
            assert!(t.at.len() >= 2 && t.at.len() <= 12, "{low} {high} {t:?}");
            assert!(
                t.at[0] <= low + t.step * 1e-6 && *t.at.last().unwrap() >= high - t.step * 1e-6,
                "{low} {high} {t:?}"
            );
            if t.decimals < 9 {
                let mut words: Vec<String> =
                    t.at.iter().map(|x| format!("{x:.*}", t.decimals)).collect();
                words.dedup();
                assert_eq!(words.len(), t.at.len());
            }
        }
        let cut = ticks(60.0, 420.0, 9.0, Unit::Degree).within(60.0, 420.0);
        assert_eq!((cut.at[0], cut.ends), (90.0, [60.0, 420.0]));
        assert_eq!(ticks(f64::NAN, 1.0, 5.0, Unit::Millimetre).at[0], 0.0);
    }
}
