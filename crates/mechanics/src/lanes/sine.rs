//! Sine, cosine and arc tangent without branches.

use pulp::Simd;

/// Adding and taking away 1.5 · 2^52 rounds to the nearest whole number, halves to the even one.
const ROUND: f64 = 6_755_399_441_055_744.0;

/// Largest angle, rad, whose reduction below keeps its accuracy: the products with `HALF_PI` stay exact.
pub(crate) const GREATEST_ANGLE: f64 = 1.0e5;

/// π/2 in three parts; the first two have 33 bits each (Cody and Waite's reduction).
const HALF_PI: [f64; 3] = [
    1.570_796_326_734_125_6,
    6.077_100_506_303_966e-11,
    2.022_266_248_795_950_6e-21,
];

/// `(sin x / x − 1) / x²` over x², |x| ≤ π/4. Chebyshev fit, error 2e-17.
const SINE: [f64; 6] = [
    -0.166_666_666_666_666_66,
    0.008_333_333_333_330_948,
    -0.000_198_412_698_367_567_74,
    2.755_731_610_161_787_4e-6,
    -2.505_113_165_023_518e-8,
    1.591_811_526_326_597_4e-10,
];

/// `(cos x − 1 + x²/2) / x⁴` over x², |x| ≤ π/4. Chebyshev fit, error 1.3e-18.
const COSINE: [f64; 6] = [
    0.041_666_666_666_666_664,
    -0.001_388_888_888_888_739_8,
    2.480_158_729_876_456e-5,
    -2.755_731_727_114_514_4e-7,
    2.087_614_614_655_861e-9,
    -1.138_262_364_747_460_4e-11,
];

/// `(atan t / t − 1) / t²` over t², |t| ≤ tan(π/8). Chebyshev fit, error 3e-17.
const ARC: [f64; 11] = [
    -0.333_333_333_333_333_3,
    0.199_999_999_999_955_16,
    -0.142_857_142_846_656_82,
    0.111_111_110_151_870_18,
    -0.090_909_045_753_064_9,
    0.076_921_831_253_768_92,
    -0.066_645_105_255_089_36,
    0.058_581_409_048_663_28,
    -0.050_854_078_345_894_844,
    0.039_230_447_784_793_09,
    -0.019_175_404_711_104_935,
];

/// A polynomial, taken two terms at a time: half the waiting of one term after another.
#[inline(always)]
pub(crate) fn series<S: Simd, const N: usize>(s: S, terms: &[f64; N], z: S::f64s) -> S::f64s {
    let z2 = s.mul_f64s(z, z);
    let pair = |i: usize| match terms.get(i + 1) {
        Some(next) => s.add_f64s(s.splat_f64s(terms[i]), s.mul_f64s(s.splat_f64s(*next), z)),
        None => s.splat_f64s(terms[i]),
    };
    let mut sum = pair((N - 1) / 2 * 2);
    for i in (0..(N - 1) / 2).rev() {
        sum = s.add_f64s(s.mul_f64s(sum, z2), pair(2 * i));
    }
    sum
}

/// (cos a, sin a) for |a| ≤ [`GREATEST_ANGLE`]; absolute error below 5e-16.
///
/// The angle is taken modulo π and halved; sine and cosine of the half give the whole by `2 sin cos` and `1 − 2 sin²`, which spares
/// the exchange of sine and cosine between octants. An odd number of half turns changes both signs.
#[inline(always)]
pub(crate) fn cos_sin<S: Simd>(s: S, a: S::f64s) -> (S::f64s, S::f64s) {
    let round = s.splat_f64s(ROUND);
    let half = s.splat_f64s(0.5);
    let k = s.sub_f64s(
        s.add_f64s(
            s.mul_f64s(a, s.splat_f64s(std::f64::consts::FRAC_1_PI)),
            round,
        ),
        round,
    );
    let mut x = s.mul_f64s(a, half);
    for part in HALF_PI {
        x = s.sub_f64s(x, s.mul_f64s(k, s.splat_f64s(part)));
    }
    let z = s.mul_f64s(x, x);
    let sin = s.add_f64s(x, s.mul_f64s(s.mul_f64s(x, z), series(s, &SINE, z)));
    let one = s.splat_f64s(1.0);
    let cos = s.add_f64s(
        s.sub_f64s(one, s.mul_f64s(z, half)),
        s.mul_f64s(s.mul_f64s(z, z), series(s, &COSINE, z)),
    );
    let pairs = s.sub_f64s(s.add_f64s(s.mul_f64s(k, half), round), round);
    let odd = s.sub_f64s(k, s.add_f64s(pairs, pairs));
    let odd = s.mul_f64s(odd, odd);
    let sign = s.sub_f64s(one, s.add_f64s(odd, odd));
    let twice = s.mul_f64s(s.add_f64s(sin, sin), sign);
    (
        s.sub_f64s(sign, s.mul_f64s(twice, sin)),
        s.mul_f64s(twice, cos),
    )
}

/// Angle between −π/2 and π/2 of the unit vector (c, s), c ≥ 0; error below 5e-16. By its quarter, whose tangent is s / (1 + c + 2 cos of
/// the half).
#[inline(always)]
pub(crate) fn small_angle<S: Simd>(s: S, cos: S::f64s, sin: S::f64s) -> S::f64s {
    let whole = s.add_f64s(s.splat_f64s(1.0), cos);
    let half = s.sqrt_f64s(s.mul_f64s(whole, s.splat_f64s(0.5)));
    let t = s.div_f64s(sin, s.add_f64s(whole, s.add_f64s(half, half)));
    let z = s.mul_f64s(t, t);
    let quarter = s.add_f64s(t, s.mul_f64s(s.mul_f64s(t, z), series(s, &ARC, z)));
    s.mul_f64s(quarter, s.splat_f64s(4.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use pulp::Scalar;

    #[test]
    fn sine_and_cosine_agree_with_the_library() {
        let mut worst = 0.0_f64;
        for i in -200_000..200_000 {
            let a = f64::from(i) * 0.000_737 * (1.0 + f64::from(i % 997).abs());
            let a = a.clamp(-GREATEST_ANGLE, GREATEST_ANGLE);
            let (c, s) = cos_sin(Scalar, a);
            worst = worst.max((c - a.cos()).abs()).max((s - a.sin()).abs());
            assert!((c * c + s * s - 1.0).abs() < 1e-15, "unit length at {a}");
        }
        assert!(worst < 5e-16, "{worst}");
    }

    #[test]
    fn sine_and_cosine_at_the_quarters() {
        for (a, c, s) in [
            (0.0, 1.0, 0.0),
            (std::f64::consts::FRAC_PI_2, 0.0, 1.0),
            (std::f64::consts::PI, -1.0, 0.0),
        ] {
            let got = cos_sin(Scalar, a);
            assert!(
                (got.0 - c).abs() < 3e-16 && (got.1 - s).abs() < 3e-16,
                "{a}: {got:?}"
            );
        }
    }

    #[test]
    fn small_angle_agrees_with_the_library() {
        let mut worst = 0.0_f64;
        for i in -1570..=1570 {
            let a = f64::from(i) * 0.001;
            worst = worst.max((small_angle(Scalar, a.cos(), a.sin()) - a).abs());
        }
        assert!(worst < 5e-16, "{worst}");
    }
}
