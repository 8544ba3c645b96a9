//! How far a cutter goes along an outline before it runs into another side of it.

use crate::contour::{P, Side, polar};
use crate::part::Plate;

/// How much a cutter may seem to enter the outline, mm: what arcs by chords and rounded coordinates make.
const SLACK: f64 = 0.02;
/// Looks along a path.
const LOOKS: u32 = 120;

/// The stretch of a path, in shares of it, on which a cutter of this radius stays out of the outline: the longest one.
pub(super) fn clear(p: &Plate, path: impl Fn(f64) -> P, r: f64) -> [f64; 2] {
    let free = |share: f64| {
        let at = path(share);
        !p.outline.holds(at) && p.outline.distance(at) >= r - SLACK
    };
    let at = |n: u32| f64::from(n) / f64::from(LOOKS);
    let mut best: Option<[u32; 2]> = None;
    let mut from = None;
    for n in 0..=LOOKS + 1 {
        let here = n <= LOOKS && free(at(n));
        match (here, from) {
            (true, None) => from = Some(n),
            (false, Some(f)) => {
                if best.is_none_or(|b| n - 1 - f > b[1] - b[0]) {
                    best = Some([f, n - 1]);
                }
                from = None;
            }
            _ => {}
        }
    }
    let Some([a, b]) = best else {
        return [0.5, 0.5];
    };
    // Where it ends between two looks.
    let edge = |inside: u32, outside: Option<u32>| {
        let Some(outside) = outside.filter(|o| *o <= LOOKS) else {
            return at(inside);
        };
        let (mut good, mut bad) = (at(inside), at(outside));
        for _ in 0..30 {
            let middle = f64::midpoint(good, bad);
            if free(middle) {
                good = middle;
            } else {
                bad = middle;
            }
        }
        good
    };
    [edge(a, a.checked_sub(1)), edge(b, Some(b + 1))]
}

/// The same along a straight side, the cutter outside of it.
pub(super) fn along_line(p: &Plate, from: P, to: P, r: f64) -> [f64; 2] {
    let d = [to[0] - from[0], to[1] - from[1]];
    let l = d[0].hypot(d[1]);
    let out = |way: f64, by: f64| [way * d[1] / l * by, -way * d[0] / l * by];
    let middle = [f64::midpoint(from[0], to[0]), f64::midpoint(from[1], to[1])];
    let air = |way: f64| {
        let o = out(way, 0.05);
        !p.outline.holds([middle[0] + o[0], middle[1] + o[1]])
    };
    let way = if air(1.0) { 1.0 } else { -1.0 };
    let o = out(way, r);
    clear(
        p,
        |t| [from[0] + t * d[0] + o[0], from[1] + t * d[1] + o[1]],
        r,
    )
}

/// The same round an arc, the cutter's middle so far from the arc's.
pub(super) fn along_arc(
    p: &Plate,
    centre: P,
    path: f64,
    [from, sweep]: [f64; 2],
    r: f64,
) -> [f64; 2] {
    clear(p, |t| polar(centre, path, from + t * sweep), r)
}

/// The smallest inside radius of an outline; none where there is none.
pub(super) fn inside_radius(p: &Plate) -> Option<f64> {
    p.outline
        .sides()
        .into_iter()
        .filter_map(|s| match s {
            Side::Arc { radius, sweep, .. } if sweep < 0.0 => Some(radius),
            _ => None,
        })
        .min_by(f64::total_cmp)
}
