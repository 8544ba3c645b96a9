//! Numbers that sum up made machines.

use super::answers::Made;
use rayon::prelude::*;

/// Correlation between each two lists of values, over the machines that all of them have.
pub(super) fn correlation(values: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let count = values.first().map_or(0, Vec::len);
    let bad = |v: &Vec<f64>| v.iter().any(|x| x.is_nan());
    let lost: Vec<bool> = if values.par_iter().any(bad) {
        let lost = |i: usize| values.iter().any(|v| v[i].is_nan());
        (0..count).map(lost).collect()
    } else {
        Vec::new()
    };
    let good = |v: f64, i: usize| if lost.get(i) == Some(&true) { 0.0 } else { v };
    let n = (count - lost.iter().filter(|l| **l).count()).max(1) as f64;
    let means: Vec<f64> = values
        .par_iter()
        .map(|v| v.iter().enumerate().map(|(i, x)| good(*x, i)).sum::<f64>() / n)
        .collect();
    let product = |a: usize, b: usize| {
        let both = values[a].iter().zip(&values[b]).enumerate();
        both.map(|(i, (x, y))| good((x - means[a]) * (y - means[b]), i))
            .sum::<f64>()
            / n
    };
    let pairs: Vec<(usize, usize)> = (0..values.len())
        .flat_map(|a| (a..values.len()).map(move |b| (a, b)))
        .collect();
    let products: Vec<f64> = pairs.par_iter().map(|&(a, b)| product(a, b)).collect();
    let of = |a: usize, b: usize| {
        let pair = (a.min(b), a.max(b));
        let at = pairs.iter().position(|p| *p == pair);
        at.map_or(0.0, |at| products[at])
    };
    let between = |a: usize, b: usize| {
        let size = (of(a, a) * of(b, b)).sqrt();
        if size > 0.0 {
            (of(a, b) / size).clamp(-1.0, 1.0)
        } else {
            0.0
        }
    };
    let row = |a: usize| (0..values.len()).map(|b| between(a, b)).collect();
    (0..values.len()).map(row).collect()
}

/// Shares of machines below the percentiles told.
const PERCENTILES: [f64; 5] = [0.00135, 0.025, 0.5, 0.975, 0.99865];

/// Values of fewer machines are sorted whole.
const FEW: usize = 1 << 12;
/// Boxes into which the values of more are counted.
const BOXES: usize = 1 << 12;

/// The values of these ranks: all are counted into boxes, and only the boxes that hold a rank are sorted.
fn of_ranks(values: &mut [f64], ranks: &[usize]) -> Vec<f64> {
    let (low, high) = values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(*v), h.max(*v))
        });
    let scale = (BOXES - 1) as f64 / (high - low);
    if values.len() <= FEW || !scale.is_finite() {
        values.sort_unstable_by(f64::total_cmp);
        return ranks.iter().map(|r| values[*r]).collect();
    }
    // Never falls as the value rises, so that ranks go by boxes.
    let in_box = |v: f64| (((v - low) * scale) as usize).min(BOXES - 1);
    let mut counts = vec![0_usize; BOXES];
    values.iter().for_each(|v| counts[in_box(*v)] += 1);
    // For each rank its box and how many values lie in boxes before it.
    let mut before = 0;
    let starts: Vec<usize> = counts
        .iter()
        .map(|c| {
            before += c;
            before - c
        })
        .collect();
    let box_of = |rank: usize| starts.partition_point(|s| *s <= rank) - 1;
    let mut wanted = vec![false; BOXES];
    ranks.iter().for_each(|r| wanted[box_of(*r)] = true);
    let mut kept: Vec<f64> = values
        .iter()
        .copied()
        .filter(|v| wanted[in_box(*v)])
        .collect();
    kept.sort_unstable_by(f64::total_cmp);
    let found = |rank: usize| {
        let own = box_of(rank);
        let left_out: usize = (0..own).filter(|b| !wanted[*b]).map(|b| counts[b]).sum();
        kept[rank - left_out]
    };
    ranks.iter().map(|r| found(*r)).collect()
}

/// Sums run in the order of the machines, so that they do not depend on threads. The values are left in any order.
pub(super) fn statistics(mut values: Vec<f64>) -> Made {
    let all = values.len();
    if values.iter().any(|v| v.is_nan()) {
        values.retain(|v| !v.is_nan());
    }
    let lost = all - values.len();
    if values.is_empty() {
        return Made {
            lost,
            ..Made::default()
        };
    }
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let deviation =
        (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0)).sqrt();
    let last = values.len() - 1;
    let places = PERCENTILES.map(|share| share * (n - 1.0));
    let mut ranks = vec![0, last];
    for x in places {
        let low = (x.floor() as usize).min(last);
        ranks.extend([low, (low + 1).min(last)]);
    }
    let found = of_ranks(&mut values, &ranks);
    let mut percentiles = [0.0; 5];
    for (k, (out, x)) in percentiles.iter_mut().zip(places).enumerate() {
        let (low, high) = (found[2 * k + 2], found[2 * k + 3]);
        *out = low + x.fract() * (high - low);
    }
    Made {
        mean,
        deviation,
        percentiles,
        extremes: [found[0], found[1]],
        lost,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranks_are_those_of_the_sorted_values() {
        // Skewed, with ties and one far off.
        let mut values: Vec<f64> = (0..50_000_u32)
            .map(|i| f64::from(i.wrapping_mul(2_654_435_761) >> 12))
            .map(|x| (x / 1e5).powi(3).floor())
            .collect();
        values[7] = -3e5;
        let mut sorted = values.clone();
        sorted.sort_unstable_by(f64::total_cmp);
        let ranks = [0, 49_999, 1, 67, 25_000, 49_990];
        let want: Vec<f64> = ranks.iter().map(|r| sorted[*r]).collect();
        assert_eq!(of_ranks(&mut values, &ranks), want);
        assert_eq!(of_ranks(&mut vec![2.5; 9000], &[0, 8999]), [2.5, 2.5]);
    }

    #[test]
    fn lost_machines_are_left_out() {
        let made = statistics(vec![1.0, f64::NAN, 3.0]);
        assert_eq!((made.lost, made.mean, made.extremes), (1, 2.0, [1.0, 3.0]));
        let c = correlation(&[vec![1.0, 5.0, 3.0], vec![-1.0, f64::NAN, -3.0]]);
        assert_eq!(c, [[1.0, -1.0], [-1.0, 1.0]]);
        assert_eq!(statistics(vec![f64::NAN]).lost, 1);
    }
}
