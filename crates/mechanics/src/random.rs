//! Random numbers for made machines: normal ones, many side by side.
//!
//! The numbers of a machine depend on the seed and on its own number alone, never on the order of calls or on threads, and their bits are the
//! same on every processor.

use pulp::{Arch, Simd, WithSimd};

use crate::lanes::LANES;
use crate::lanes::sine::series;

/// Standard normal numbers for the machines `first` to `first + 31`, one column a dimension.
///
/// Counter-based: a pair of columns of one machine comes from one output of `SplitMix64` (Steele, Lea and Flood, "Fast splittable
/// pseudorandom number generators", 2014) at a place of its own, 32 bits each for radius and turn, by the transform of Box and Muller
/// (1958). The largest number that can come out is 6.8.
pub fn normals(seed: u64, first: u64, columns: &mut [[f64; LANES]]) {
    some_normals(seed, first, columns, &[]);
}

/// The same, but for columns that nobody reads: where neither of a pair (0 and 1, 2 and 3, …) is wanted, both are left as they are. What
/// `wanted` says nothing of is wanted.
pub fn some_normals(seed: u64, first: u64, columns: &mut [[f64; LANES]], wanted: &[bool]) {
    Arch::new().dispatch(Normals {
        seed,
        first,
        columns,
        wanted,
    });
}

struct Normals<'a> {
    seed: u64,
    first: u64,
    columns: &'a mut [[f64; LANES]],
    wanted: &'a [bool],
}

/// Step of the generator.
const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;
/// Bits of 1 and of 2^52.
const ONE: u64 = 0x3ff0_0000_0000_0000;
const WHOLE: u64 = 0x4330_0000_0000_0000;
/// Bits of √½.
const ROOT_HALF: u64 = 0x3fe6_a09e_667f_3bcd;
/// 2^-32.
const STEP: f64 = 1.0 / 4_294_967_296.0;

/// `2 atanh(t) / t` over t², for (1 − t)/(1 + t) between √½ and √2. Chebyshev fit, error 5e-14.
const LOGARITHM: [f64; 6] = [
    1.999_999_999_999_947,
    0.666_666_666_796_449_6,
    0.399_999_948_709_793_7,
    0.285_721_684_142_033_8,
    0.221_741_507_980_537_32,
    0.196_095_923_651_584_07,
];

/// `sin(π t) / t` over t², |t| ≤ ½. Chebyshev fit, error 2e-13.
const HALF_SINE: [f64; 7] = [
    3.141_592_653_589_635,
    -5.167_712_779_987_955,
    2.550_164_035_906_547,
    -0.599_264_433_931_942_1,
    0.082_144_794_638_201_98,
    -0.007_364_005_345_245_769,
    0.000_447_491_900_408_720_8,
];

/// `cos(π t)` over t², |t| ≤ ½. Chebyshev fit, error 2e-15.
const HALF_COSINE: [f64; 8] = [
    0.999_999_999_999_998_1,
    -4.934_802_200_543_686,
    4.058_712_126_333_289_5,
    -1.335_262_766_181_630_8,
    0.235_330_588_311_509_58,
    -0.025_806_531_965_241_374,
    0.001_927_870_019_045_636_3,
    -0.000_100_416_422_808_736_84,
];

impl WithSimd for Normals<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, s: S) {
        // Every machine owns so many places in a row.
        let places = self.columns.len().div_ceil(2) as u64;
        let mut counters = [0; LANES];
        for (lane, counter) in counters.iter_mut().enumerate() {
            let place = self
                .first
                .wrapping_add(lane as u64)
                .wrapping_mul(places)
                .wrapping_add(1);
            *counter = self.seed.wrapping_add(place.wrapping_mul(GOLDEN));
        }
        for (k, pair) in self.columns.chunks_mut(2).enumerate() {
            let wanted = self.wanted.get(2 * k..).unwrap_or_default();
            if !wanted.is_empty() && !wanted.iter().take(2).any(|w| *w) {
                for counter in &mut counters {
                    *counter = counter.wrapping_add(GOLDEN);
                }
                continue;
            }
            let mut mantissa = [0.0; LANES];
            let mut exponent = [0.0; LANES];
            let mut turn = [0.0; LANES];
            for lane in 0..LANES {
                let bits = mixed(counters[lane]);
                counters[lane] = counters[lane].wrapping_add(GOLDEN);
                let u = (whole(bits >> 32) + 0.5) * STEP;
                turn[lane] = (whole(bits & 0xffff_ffff) + 0.5) * STEP - 0.5;
                // u = mantissa · 2^exponent, the mantissa between √½ and √2.
                let power = u.to_bits().wrapping_add(ONE - ROOT_HALF) >> 52;
                mantissa[lane] =
                    f64::from_bits(u.to_bits().wrapping_add(ONE).wrapping_sub(power << 52));
                exponent[lane] = whole(power) - 1023.0;
            }
            let mut results = [[0.0; LANES]; 2];
            let [along, across] = &mut results;
            let inputs = [&mantissa, &exponent, &turn].map(|x| S::as_simd_f64s(x).0);
            let outs = S::as_mut_simd_f64s(along)
                .0
                .iter_mut()
                .zip(S::as_mut_simd_f64s(across).0);
            for (i, (along, across)) in outs.enumerate() {
                let [x, y] = box_muller(s, inputs.map(|input| input[i]));
                *along = x;
                *across = y;
            }
            for (column, result) in pair.iter_mut().zip(results) {
                *column = result;
            }
        }
    }
}

/// A whole number below 2^52.
#[inline(always)]
fn whole(bits: u64) -> f64 {
    f64::from_bits(WHOLE | bits) - f64::from_bits(WHOLE)
}

/// The output of `SplitMix64` when its counter stands so.
#[inline(always)]
fn mixed(counter: u64) -> u64 {
    let z = (counter ^ (counter >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// Two normal numbers from u = mantissa · 2^exponent and a turn between −½ and ½.
#[inline(always)]
fn box_muller<S: Simd>(s: S, [mantissa, exponent, turn]: [S::f64s; 3]) -> [S::f64s; 2] {
    let (one, two) = (s.splat_f64s(1.0), s.splat_f64s(2.0));
    // −ln u, the logarithm of the mantissa by 2 atanh((m − 1)/(m + 1)).
    let t = s.div_f64s(s.sub_f64s(one, mantissa), s.add_f64s(mantissa, one));
    let log = s.mul_f64s(t, series(s, &LOGARITHM, s.mul_f64s(t, t)));
    let log = s.sub_f64s(
        log,
        s.mul_f64s(exponent, s.splat_f64s(std::f64::consts::LN_2)),
    );
    let radius = s.sqrt_f64s(s.mul_f64s(two, log));
    let z = s.mul_f64s(turn, turn);
    let sin = s.mul_f64s(turn, series(s, &HALF_SINE, z));
    let twice = s.mul_f64s(two, sin);
    let cos = series(s, &HALF_COSINE, z);
    [
        s.mul_f64s(radius, s.sub_f64s(one, s.mul_f64s(twice, sin))),
        s.mul_f64s(radius, s.mul_f64s(twice, cos)),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use pulp::Scalar;

    /// First outputs of `SplitMix64` from seed 1234567, as given with its reference code.
    #[test]
    fn the_generator_is_the_published_one() {
        let expected = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
        ];
        for (i, x) in expected.into_iter().enumerate() {
            let counter = 1_234_567_u64.wrapping_add(GOLDEN.wrapping_mul(i as u64 + 1));
            assert_eq!(mixed(counter), x);
        }
    }

    #[test]
    fn the_transform_agrees_with_the_library() {
        for i in 0..200 {
            for k in 0..200 {
                let (mantissa, exponent) = (0.7072 + f64::from(i) * 0.003_535, -f64::from(i % 33));
                let turn = f64::from(k) / 200.0 - 0.4975;
                let u: f64 = mantissa * exponent.exp2();
                if u >= 1.0 {
                    continue;
                }
                let radius = (-2.0 * u.ln()).sqrt();
                let [x, y] = box_muller(Scalar, [mantissa, exponent, turn]);
                let (s, c) = (std::f64::consts::TAU * turn).sin_cos();
                assert!(
                    (x - radius * c).abs() < 1e-11 && (y - radius * s).abs() < 1e-11,
                    "{u} {turn}"
                );
            }
        }
    }

    #[test]
    fn moments_and_tails_are_those_of_the_normal_law() {
        let machines = 1 << 18;
        let mut columns = [[0.0; LANES]; 3];
        let mut sums = [[0.0; 4]; 3];
        let mut products = [0.0; 3];
        let mut beyond = 0;
        for first in (0..machines).step_by(LANES) {
            normals(42, first, &mut columns);
            for lane in 0..LANES {
                for k in 0..3 {
                    let x: f64 = columns[k][lane];
                    for (p, sum) in (1..).zip(sums[k].iter_mut()) {
                        *sum += x.powi(p);
                    }
                    products[k] += x * columns[(k + 1) % 3][lane];
                    beyond += u32::from(x.abs() > 3.0);
                }
            }
        }
        let n = machines as f64;
        for k in 0..3 {
            // Five standard errors each.
            let bounds = [
                (0.0, 1.0),
                (1.0, 2.0_f64.sqrt()),
                (0.0, 15.0_f64.sqrt()),
                (3.0, 96.0_f64.sqrt()),
            ];
            for (p, (mean, error)) in bounds.into_iter().enumerate() {
                assert!(
                    (sums[k][p] / n - mean).abs() < 5.0 * error / n.sqrt(),
                    "moment {} of {k}",
                    p + 1
                );
            }
            assert!(
                (products[k] / n).abs() < 5.0 / n.sqrt(),
                "{k} and its neighbour"
            );
        }
        // 0.27 % lie beyond three sigma.
        let expected = 3.0 * n * 0.002_699_796;
        assert!((f64::from(beyond) - expected).abs() < 5.0 * expected.sqrt());
    }

    #[test]
    fn what_nobody_reads_changes_nothing_else() {
        let (mut all, mut some) = ([[0.0; LANES]; 7], [[9.0; LANES]; 7]);
        normals(5, 64, &mut all);
        some_normals(5, 64, &mut some, &[false, false, true, false, false, false]);
        for k in 0..7 {
            let drawn = !matches!(k, 0 | 1 | 4 | 5);
            for lane in 0..LANES {
                let want = if drawn { all[k][lane] } else { 9.0 };
                assert_eq!(some[k][lane].to_bits(), want.to_bits(), "{k}");
            }
        }
    }

    #[test]
    fn a_machine_keeps_its_numbers_wherever_its_lane_begins() {
        let (mut a, mut b) = ([[0.0; LANES]; 5], [[0.0; LANES]; 5]);
        normals(3, 0, &mut a);
        normals(3, 7, &mut b);
        for k in 0..5 {
            for lane in 7..LANES {
                assert_eq!(a[k][lane].to_bits(), b[k][lane - 7].to_bits());
            }
        }
    }
}
