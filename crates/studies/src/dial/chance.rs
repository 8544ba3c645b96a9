//! How likely a leftover error is when it is only noise.

/// Logarithm of the gamma function of a positive number, to about 1e-14 (Lanczos, *A precision approximation of the gamma function*, 1964;
/// coefficients for g = 7, n = 9, common practice).
fn ln_gamma(x: f64) -> f64 {
    const C: [f64; 9] = [
        0.999_999_999_999_809_93,
        676.520_368_121_885_1,
        -1_259.139_216_722_402_8,
        771.323_428_777_653_13,
        -176.615_029_162_140_59,
        12.507_343_278_686_905,
        -0.138_571_095_265_720_12,
        9.984_369_578_019_571_6e-6,
        1.505_632_735_149_311_6e-7,
    ];
    let x = x - 1.0;
    let t = x + 7.5;
    let sum = C
        .iter()
        .enumerate()
        .skip(1)
        .fold(C[0], |s, (i, c)| s + c / (x + i as f64));
    0.5 * (2.0 * std::f64::consts::PI).ln() + (x + 0.5) * t.ln() - t + sum.ln()
}

/// Upper regularised incomplete gamma function Q(a, x): series below a + 1, continued fraction above (DLMF 8.7.1 and 8.9.2).
fn upper_gamma(a: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 1.0;
    }
    let front = (a * x.ln() - x - ln_gamma(a)).exp();
    if x < a + 1.0 {
        let (mut term, mut sum, mut n) = (1.0 / a, 1.0 / a, a);
        for _ in 0..10_000 {
            n += 1.0;
            term *= x / n;
            sum += term;
            if term < sum * 1e-16 {
                break;
            }
        }
        return (1.0 - front * sum).clamp(0.0, 1.0);
    }
    // Lentz's way of running a continued fraction.
    let mut b = x + 1.0 - a;
    let mut c = 1e300;
    let mut d = 1.0 / b;
    let mut h = d;
    for i in 1..10_000 {
        let k = -(i as f64) * (i as f64 - a);
        b += 2.0;
        d = 1.0 / nonzero(k * d + b);
        c = nonzero(b + k / c);
        let turn = d * c;
        h *= turn;
        if (turn - 1.0).abs() < 1e-16 {
            break;
        }
    }
    (front * h).clamp(0.0, 1.0)
}

fn nonzero(x: f64) -> f64 {
    if x.abs() < 1e-300 { 1e-300 } else { x }
}

/// Chance that the sum of squares of so many unit errors is at least this.
pub(crate) fn chi_square(sum: f64, freedoms: usize) -> f64 {
    if freedoms == 0 {
        1.0
    } else {
        upper_gamma(freedoms as f64 / 2.0, sum / 2.0)
    }
}

/// Chance that a unit error is farther from zero than this, either way.
pub(crate) fn two_sided(z: f64) -> f64 {
    upper_gamma(0.5, z * z / 2.0)
}

/// Chance that errors without a pattern change their sign as seldom as these do, each list in the order in which it was taken
/// (Wald and Wolfowitz, *On a test whether two samples are from the same population*, 1940). One when there are too few.
pub(crate) fn seldom_changes(lists: &[Vec<f64>]) -> f64 {
    let (mut runs, mut mean, mut variance) = (0.0, 0.0, 0.0);
    for list in lists {
        let up = list.iter().filter(|e| **e >= 0.0).count() as f64;
        let n = list.len() as f64;
        let down = n - up;
        if up < 1.0 || down < 1.0 {
            continue;
        }
        runs += 1.0
            + list
                .windows(2)
                .filter(|w| (w[0] >= 0.0) != (w[1] >= 0.0))
                .count() as f64;
        mean += 2.0 * up * down / n + 1.0;
        if n > 1.0 {
            variance += 2.0 * up * down * (2.0 * up * down - n) / (n * n * (n - 1.0));
        }
    }
    if variance < 1.5 {
        return 1.0;
    }
    // Half a change for the steps of a count.
    let z = (runs + 0.5 - mean) / variance.sqrt();
    if z >= 0.0 {
        1.0 - 0.5 * two_sided(z)
    } else {
        0.5 * two_sided(z)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_of_the_chi_square_are_met() {
        // NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4: upper critical values at 0.05 and 0.01.
        for (freedoms, at_5, at_1) in [
            (1, 3.841, 6.635),
            (5, 11.070, 15.086),
            (10, 18.307, 23.209),
            (30, 43.773, 50.892),
            (100, 124.342, 135.807),
        ] {
            assert!(
                (chi_square(at_5, freedoms) - 0.05).abs() < 5e-5,
                "{freedoms}"
            );
            assert!(
                (chi_square(at_1, freedoms) - 0.01).abs() < 2e-5,
                "{freedoms}"
            );
        }
        assert_eq!(chi_square(0.0, 3), 1.0);
        assert!((two_sided(1.959_963_984_540_054) - 0.05).abs() < 1e-12);
        // Two freedoms: exp(-x/2), in both branches.
        for x in [0.1, 1.0, 3.0, 8.0, 60.0] {
            assert!((chi_square(x, 2) - (-x / 2.0_f64).exp()).abs() < 1e-13);
        }
    }

    #[test]
    fn waves_are_seen_and_noise_is_not() {
        let wave: Vec<f64> = (0..40).map(|i| (f64::from(i) * 0.3).sin()).collect();
        assert!(seldom_changes(&[wave]) < 0.001);
        let zigzag: Vec<f64> = (0..40)
            .map(|i| if i % 2 == 0 { 1.0 } else { -1.0 })
            .collect();
        assert!(seldom_changes(&[zigzag]) > 0.99);
        assert_eq!(seldom_changes(&[vec![1.0, 1.0]]), 1.0);
        assert_eq!(seldom_changes(&[]), 1.0);
    }
}
