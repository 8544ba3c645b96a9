//! Zeros and turning points of a smooth function of one value, known at samples and anywhere between at a price.

/// A function at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Local {
    /// Value.
    pub(crate) value: f64,
    /// First derivative, if it exists.
    pub(crate) slope: Option<f64>,
    /// Second derivative, if it is known.
    pub(crate) bend: Option<f64>,
}

/// Places are found to this, in the unit of the drive.
const EXACT: f64 = 1e-11;

/// Where `f` changes sign between two places with values of different sign: false position with halving of the stale end
/// (the Illinois rule), which always keeps the sign change between its ends. Ends at the last place known when `f` fails.
pub(crate) fn crossing(
    from: (f64, f64),
    to: (f64, f64),
    mut f: impl FnMut(f64) -> Option<f64>,
) -> f64 {
    let ((mut a, mut fa), (mut b, mut fb)) = (from, to);
    if fa == 0.0 {
        return a;
    }
    if fb == 0.0 {
        return b;
    }
    for turn in 0..100 {
        if (b - a).abs() <= EXACT * (1.0 + a.abs()) {
            break;
        }
        let mut x = (a * fb - b * fa) / (fb - fa);
        let between = (x - a) * (x - b) < 0.0;
        if !between || turn % 8 == 7 {
            x = 0.5 * (a + b);
        }
        let Some(fx) = f(x) else { break };
        if fx == 0.0 || !fx.is_finite() {
            return x;
        }
        // Less than rounding of the function is left.
        if fx.abs() <= 1e-15 * fa.abs().max(fb.abs()) {
            return x;
        }
        if (fx < 0.0) == (fb < 0.0) {
            fa *= 0.5;
        } else {
            (a, fa) = (b, fb);
        }
        (b, fb) = (x, fx);
    }
    b
}

/// A place between `low` and `high` where the slope vanishes, given slopes of different sign at both: Newton kept between
/// the ends, or the Illinois rule where the bend is unknown. Returns the place and the value.
pub(crate) fn stationary(
    (mut low, slope_low): (f64, f64),
    (mut high, slope_high): (f64, f64),
    start: Option<f64>,
    mut f: impl FnMut(f64) -> Option<Local>,
) -> Option<(f64, f64)> {
    let rising = slope_high > slope_low;
    let (mut s_low, mut s_high) = (slope_low, slope_high);
    let mut x = start
        .filter(|x| *x > low && *x < high)
        .unwrap_or_else(|| secant(low, s_low, high, s_high));
    let mut last = None;
    for turn in 0..60 {
        let at = f(x)?;
        let slope = at.slope?;
        last = Some((x, at.value));
        let newton = at
            .bend
            .filter(|b| *b != 0.0 && (*b > 0.0) == rising)
            .map(|b| x - slope / b);
        if slope == 0.0 || newton.is_some_and(|n| (n - x).abs() <= EXACT * (1.0 + x.abs())) {
            break;
        }
        if (slope > 0.0) == rising {
            (high, s_high) = (x, slope);
            s_low *= 0.5;
        } else {
            (low, s_low) = (x, slope);
            s_high *= 0.5;
        }
        if high - low <= EXACT * (1.0 + low.abs()) {
            break;
        }
        x = newton
            .filter(|n| *n > low && *n < high && turn < 12)
            .unwrap_or_else(|| {
                if turn % 4 == 3 {
                    0.5 * (low + high)
                } else {
                    secant(low, s_low, high, s_high)
                }
            });
        if !(x > low && x < high) {
            x = 0.5 * (low + high);
        }
    }
    last
}

fn secant(low: f64, s_low: f64, high: f64, s_high: f64) -> f64 {
    let x = (low * s_high - high * s_low) / (s_high - s_low);
    if x > low && x < high {
        x
    } else {
        0.5 * (low + high)
    }
}

/// The samples at which the least or greatest value may lie: those that are extreme among their neighbours and near enough
/// to the best for a parabola through them to beat it.
pub(crate) fn extremes(values: &[f64], greatest: bool) -> Vec<usize> {
    let sign = if greatest { -1.0 } else { 1.0 };
    let at = |i: usize| sign * values[i];
    let n = values.len();
    let mut candidates: Vec<(usize, f64)> = Vec::new();
    for i in 0..n {
        if !at(i).is_finite() {
            continue;
        }
        let (before, after) = (i.checked_sub(1).map(at), (i + 1 < n).then(|| at(i + 1)));
        if before.is_some_and(|b| b < at(i)) || after.is_some_and(|a| a < at(i)) {
            continue;
        }
        // How far below the sample the vertex may lie: a quarter of the second difference bounds it for a parabola; at an
        // end, where only one side is seen, the next second difference stands in.
        let second = match (before, after) {
            (Some(b), Some(a)) => b - 2.0 * at(i) + a,
            (None, Some(_)) if n > 2 => (at(0) - 2.0 * at(1) + at(2)).abs(),
            (Some(_), None) if n > 2 => (at(n - 1) - 2.0 * at(n - 2) + at(n - 3)).abs(),
            _ => 0.0,
        };
        // A neighbour that could not be taken tells nothing.
        let below = if second.is_finite() {
            0.5 * second.abs()
        } else {
            0.0
        };
        candidates.push((i, at(i) - below));
    }
    let best = (0..n)
        .map(at)
        .filter(|v| v.is_finite())
        .fold(f64::INFINITY, f64::min);
    candidates.retain(|c| c.1 <= best);
    candidates.into_iter().map(|c| c.0).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_crossing_is_found_to_the_last_digits() {
        let f = |x: f64| x.cos() - x;
        let x = crossing((0.0, f(0.0)), (1.0, f(1.0)), |x| Some(f(x)));
        // The fixed point of the cosine (Dottie number, OEIS A003957).
        assert!((x - 0.739_085_133_215_160_6).abs() < 1e-11, "{x}");
    }

    #[test]
    fn a_turning_point_is_found_with_and_without_the_bend() {
        for bend in [true, false] {
            let f = |x: f64| {
                Some(Local {
                    value: x.sin(),
                    slope: Some(x.cos()),
                    bend: bend.then(|| -x.sin()),
                })
            };
            let (x, y) = stationary((1.0, 1_f64.cos()), (2.5, 2.5_f64.cos()), None, f).unwrap();
            assert!((x - std::f64::consts::FRAC_PI_2).abs() < 1e-10, "{x}");
            assert!((y - 1.0).abs() < 1e-15);
        }
    }

    #[test]
    fn every_sample_that_may_hide_the_least_value_is_named() {
        let values: Vec<f64> = (0..=36)
            .map(|i| (f64::from(i) * 10.0_f64.to_radians() * 2.0 + 0.7).sin())
            .collect();
        let near = extremes(&values, false);
        assert_eq!(near.len(), 2, "{near:?}");
        assert_eq!(extremes(&[3.0, 2.0, 1.0], false), [2]);
        assert_eq!(extremes(&[1.0, f64::NAN, 0.5], true), [0]);
    }
}
