//! Paths of points, made fit for drawing.

use crate::geometry::{P, along, direction, distance, dot, sub};

/// The stretches of a path that go over new ground. A point that swings to and fro runs over its own path; drawn twice, the
/// dashes of one way would fill the gaps of the other.
pub(super) fn once_over(path: &[P]) -> Vec<Vec<P>> {
    const NEAR: f64 = 0.12;
    // So many pieces back a piece is no longer the neighbour of the one that is looked at.
    const APART: usize = 4;
    let covered: Vec<bool> = (0..path.len())
        .map(|i| {
            let Some(&p) = path.get(i) else { return false };
            path.windows(2)
                .take(i.saturating_sub(APART))
                .any(|w| match w {
                    [a, b] => {
                        let d = direction(*a, *b);
                        let t = dot(sub(p, *a), d).clamp(0.0, distance(*a, *b));
                        distance(p, along(*a, d, t)) < NEAR
                    }
                    _ => false,
                })
        })
        .collect();
    let mut runs: Vec<Vec<P>> = Vec::new();
    let mut run: Vec<P> = Vec::new();
    for (i, &p) in path.iter().enumerate() {
        // Where a path merely crosses itself a few points are near; those are kept.
        let from = i.saturating_sub(APART);
        let window = covered
            .get(from..(i + APART + 1).min(covered.len()))
            .unwrap_or_default();
        let again = covered.get(i) == Some(&true) && window.iter().filter(|c| **c).count() > APART;
        run.push(p);
        if again {
            if run.len() > 1 {
                runs.push(std::mem::take(&mut run));
            }
            run = vec![p];
        }
    }
    if run.len() > 1 {
        runs.push(run);
    }
    // While ground is gone over again, each piece ended a run of its own two points; those are dropped.
    runs.retain(|r| r.len() > 2 || path.len() < 4);
    runs
}

/// A path without points that lie nearer than a hair to the one before; the first and last stay.
pub(super) fn thinned(points: &[P]) -> Vec<P> {
    let mut out: Vec<P> = Vec::new();
    for (i, &p) in points.iter().enumerate() {
        if out.last().is_none_or(|l| distance(*l, p) > 0.05) || i + 1 == points.len() {
            out.push(p);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::at_angle;

    #[test]
    fn a_path_to_and_fro_is_drawn_once() {
        let there: Vec<P> = (0..=40).map(|i| [f64::from(i), 0.0]).collect();
        let mut path = there.clone();
        path.extend(there.iter().rev().skip(1));
        let runs = once_over(&path);
        assert_eq!(runs.len(), 1, "{runs:?}");
        assert!((39..=47).contains(&runs[0].len()), "{}", runs[0].len());
        // A loop that closes is left whole.
        let ring: Vec<P> = (0..=60)
            .map(|i| at_angle(f64::from(i) / 60.0 * std::f64::consts::TAU))
            .map(|p| [p[0] * 20.0, p[1] * 20.0])
            .collect();
        assert_eq!(
            once_over(&ring).iter().map(Vec::len).sum::<usize>(),
            ring.len()
        );
    }

    #[test]
    fn paths_are_thinned_but_keep_their_ends() {
        let path: Vec<P> = (0..1000).map(|i| [f64::from(i) * 0.001, 0.0]).collect();
        let thin = thinned(&path);
        assert!(thin.len() < 30);
        assert_eq!(thin.first(), path.first());
        assert_eq!(thin.last(), path.last());
    }
}
