//! Numbers that sum up made machines.

use super::answers::Made;
use rayon::prelude::*;

/// Correlation between each two lists of values, over the machines that all of them have.
pub(super) fn correlation(values: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let count = values.first().map_or(0, Vec::len);
    let good: Vec<usize> = (0..count)
        .filter(|&i| values.iter().all(|v| !v[i].is_nan()))
        .collect();
    let n = good.len().max(1) as f64;
    // Off the mean and over the deviation, so that a product is a correlation.
    let scaled = values.par_iter().map(|v| {
        let mean = good.iter().map(|&i| v[i]).sum::<f64>() / n;
        let off: Vec<f64> = good.iter().map(|&i| v[i] - mean).collect();
        let deviation = (off.iter().map(|x| x * x).sum::<f64>() / n).sqrt();
        (off, deviation)
    });
    let scaled: Vec<(Vec<f64>, f64)> = scaled.collect();
    let between = |((a, s), (b, t)): (&(Vec<f64>, f64), &(Vec<f64>, f64))| {
        let product = a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>() / n;
        if s * t > 0.0 {
            (product / (s * t)).clamp(-1.0, 1.0)
        } else {
            0.0
        }
    };
    let row = |a| scaled.par_iter().map(|b| between((a, b))).collect();
    scaled.iter().map(row).collect()
}

/// Shares of machines below the percentiles told.
const PERCENTILES: [f64; 5] = [0.00135, 0.025, 0.5, 0.975, 0.99865];

/// Brings the values of these ranks, counted from `first`, to their places; the others lie on the right side of them.
fn rank(values: &mut [f64], first: usize, ranks: &[usize]) {
    let middle = ranks.len() / 2;
    let Some(place) = ranks.get(middle).and_then(|r| r.checked_sub(first)) else {
        return;
    };
    if place >= values.len() {
        return;
    }
    let (below, _, above) = values.select_nth_unstable_by(place, f64::total_cmp);
    rank(below, first, &ranks[..middle]);
    rank(above, first + place + 1, &ranks[middle + 1..]);
}

/// Sums run in the order of the machines, so that they do not depend on threads.
pub(super) fn statistics(values: &[f64]) -> Made {
    let mut good: Vec<f64> = values.iter().copied().filter(|v| !v.is_nan()).collect();
    let lost = values.len() - good.len();
    if good.is_empty() {
        return Made {
            lost,
            ..Made::default()
        };
    }
    let n = good.len() as f64;
    let mean = good.iter().sum::<f64>() / n;
    let deviation =
        (good.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0)).sqrt();
    let last = good.len() - 1;
    let places = PERCENTILES.map(|share| share * (n - 1.0));
    let mut ranks = vec![0, last];
    for x in places {
        let low = (x.floor() as usize).min(last);
        ranks.extend([low, (low + 1).min(last)]);
    }
    ranks.sort_unstable();
    ranks.dedup();
    rank(&mut good, 0, &ranks);
    let at = |x: f64| {
        let low = (x.floor() as usize).min(last);
        good[low] + x.fract() * (good[(low + 1).min(last)] - good[low])
    };
    Made {
        mean,
        deviation,
        percentiles: places.map(at),
        extremes: [good[0], good[last]],
        lost,
    }
}
