//! Holes from the edge that come out in another hole.

use crate::geometry::P;
use shop::letters::names;
use shop::part::{EdgeHole, Opening as _, Plate};

/// The hole that one from the edge opens into: its name, and how much metal lies before it, mm.
pub(super) fn opens(p: &Plate, e: &EdgeHole) -> Option<(String, f64)> {
    let inward: P = [-e.from.cos(), -e.from.sin()];
    let met = |at: P, radius: f64| {
        let d = [at[0] - e.enters[0], at[1] - e.enters[1]];
        let along = d[0] * inward[0] + d[1] * inward[1];
        let off = d[0] * inward[1] - d[1] * inward[0];
        let half = (radius * radius - off * off).max(0.0).sqrt();
        let wall = along - half;
        // A hole that only grazes its wall does not open into it.
        (off.abs() < 0.7 * radius && wall > 0.0 && wall < e.depth - 1e-6).then_some(wall)
    };
    let all = p
        .holes
        .iter()
        .zip(names(p))
        .filter(|(h, _)| h.blind.is_none());
    all.filter_map(|(h, name)| Some((name, met(h.at, h.diameter() / 2.0)?)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
}

/// How deep one from the edge is in metal, mm.
pub(super) fn deep(p: &Plate, e: &EdgeHole) -> f64 {
    opens(p, e).map_or(e.depth, |o| o.1)
}
