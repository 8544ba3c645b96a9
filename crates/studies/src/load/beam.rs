//! Influence coefficients of beams and shafts: movement at one place for a unit force at another, times EI or GJ.

/// Length of a shaft that two torques, applied at these distances from where it is held, twist together.
pub(crate) fn overlap(one: f64, other: f64) -> f64 {
    if one * other > 0.0 {
        one.abs().min(other.abs())
    } else {
        0.0
    }
}

/// A beam on two bearings, overhanging ends included: deflection at `x` for a unit load at `p`, as the integral of the product
/// of both bending moments (unit-load method). The moments are straight between loads, so Simpson's rule is exact.
pub(crate) fn on_two_bearings(x: f64, p: f64, [a, b]: [f64; 2]) -> f64 {
    let moment = |load: f64, z: f64| {
        let at_b = (load - a) / (b - a);
        let after = |from: f64| (z - from).max(0.0);
        (1.0 - at_b) * after(a) + at_b * after(b) - after(load)
    };
    let mut breaks = [a, b, x, p];
    breaks.sort_by(f64::total_cmp);
    let product = |z: f64| moment(x, z) * moment(p, z);
    let pieces = breaks.windows(2).map(|w| {
        (w[1] - w[0]) / 6.0 * (product(w[0]) + 4.0 * product(0.5 * (w[0] + w[1])) + product(w[1]))
    });
    pieces.sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beams_bend_as_in_the_handbook() {
        // Load in the middle of a span of 200: L³/48. Load at the end of an overhang c = 50: c²(L + c)/3.
        let span = [10.0, 210.0];
        assert!((on_two_bearings(110.0, 110.0, span) - 200.0_f64.powi(3) / 48.0).abs() < 1e-9);
        assert!(
            (on_two_bearings(260.0, 260.0, span) - 50.0_f64.powi(2) * 250.0 / 3.0).abs() < 1e-9
        );
        assert!(
            (on_two_bearings(-40.0, -40.0, span) - 50.0_f64.powi(2) * 250.0 / 3.0).abs() < 1e-9
        );
        // An overhanging load lifts the middle: P c L² / 16.
        assert!(
            (on_two_bearings(110.0, 260.0, span) + 50.0 * 200.0_f64.powi(2) / 16.0).abs() < 1e-9
        );
        // Maxwell: the same both ways; a load over a bearing bends nothing.
        assert!(
            (on_two_bearings(60.0, 230.0, span) - on_two_bearings(230.0, 60.0, span)).abs() < 1e-9
        );
        assert!(on_two_bearings(110.0, 10.0, span).abs() < 1e-9);
        assert_eq!(overlap(30.0, 50.0), 30.0);
        assert_eq!(overlap(-30.0, 50.0), 0.0);
    }
}
