//! Corners of free outlines: where their sides would meet, and how each is rounded.

use crate::geometry::P;
use shop::contour::Side;
use shop::part::Plate;

/// A corner of an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Corner {
    /// Where its sides would meet sharp.
    pub(super) at: P,
    /// How it is rounded off.
    pub(super) round: Option<f64>,
    /// An arc goes on from it: centre and radius.
    pub(super) arc: Option<(P, f64)>,
}

/// Its name on the drawing and in the table.
pub(super) fn name(n: usize) -> String {
    format!("c{}", n + 1)
}

/// Places nearer than this are one, mm.
const SAME: f64 = 1e-6;

fn near(a: P, b: P) -> bool {
    (a[0] - b[0]).hypot(a[1] - b[1]) < SAME
}

/// Direction in which a side runs at one of its ends.
fn way(s: &Side, at_end: bool) -> P {
    match *s {
        Side::Line { from, to } => {
            let long = (to[0] - from[0]).hypot(to[1] - from[1]).max(1e-12);
            [(to[0] - from[0]) / long, (to[1] - from[1]) / long]
        }
        Side::Arc { from, sweep, .. } => {
            let angle = if at_end { from + sweep } else { from };
            let turn = sweep.signum();
            [-angle.sin() * turn, angle.cos() * turn]
        }
    }
}

/// Where two straight sides would meet.
fn meet(a: &Side, b: &Side) -> Option<P> {
    let (Side::Line { from: p, to: q }, Side::Line { from: r, to: s }) = (a, b) else {
        return None;
    };
    let (d, e) = ([q[0] - p[0], q[1] - p[1]], [s[0] - r[0], s[1] - r[1]]);
    let det = d[0] * e[1] - d[1] * e[0];
    if det.abs() < 1e-9 * (d[0].hypot(d[1]) * e[0].hypot(e[1])) {
        return None;
    }
    let t = ((r[0] - p[0]) * e[1] - (r[1] - p[1]) * e[0]) / det;
    Some([p[0] + t * d[0], p[1] + t * d[1]])
}

/// Corners that neither the overall sizes of a rectangle nor round ends at known places say. Empty for rectangles and for ends that are joined
/// by lines touching both.
pub(super) fn corners(p: &Plate) -> Vec<Corner> {
    let sides = p.outline.sides();
    let count = sides.len();
    // The arcs of a cam are no corners that anybody sets.
    if p.is_box() || count < 3 || p.cams.iter().any(shop::cams::CamCut::is_outline) {
        return Vec::new();
    }
    let side = |i: usize| &sides[i % count];
    // An arc between two straight sides that it touches rounds their corner off, unless it is a round end at a known place.
    let at_an_end = |s: &Side| match s {
        Side::Arc { centre, radius, .. } => p
            .ends
            .iter()
            .any(|e| near(e.at, *centre) && (e.radius - radius).abs() < SAME),
        Side::Line { .. } => false,
    };
    let smooth = |a: &Side, b: &Side| {
        let (u, w) = (way(a, true), way(b, false));
        (u[0] * w[1] - u[1] * w[0]).abs() < 1e-6 && u[0] * w[0] + u[1] * w[1] > 0.0
    };
    let rounds = |i: usize| {
        let (before, it, after) = (side(i + count - 1), side(i), side(i + 1));
        // An end that turns nearly round has no corner to speak of: its sides meet far off.
        matches!(it, Side::Arc { sweep, .. } if sweep.abs() < 2.5)
            && !at_an_end(it)
            && smooth(before, it)
            && smooth(it, after)
            && meet(before, after).is_some()
    };
    // Lines from end to end and the fillets between them follow from the ends.
    let concave = |s: &Side| matches!(s, Side::Arc { sweep, .. } if *sweep < 0.0);
    let follows = (0..count).all(|i| {
        let s = side(i);
        at_an_end(s)
            || (smooth(side(i + count - 1), s)
                && smooth(s, side(i + 1))
                && (matches!(s, Side::Line { .. }) || concave(s)))
    });
    if follows {
        return Vec::new();
    }
    let mut all = Vec::new();
    for i in 0..count {
        let (it, next) = (side(i), side(i + 1));
        if rounds(i) {
            if let (Some(at), Side::Arc { radius, .. }) = (meet(side(i + count - 1), next), it) {
                all.push(Corner {
                    at,
                    round: Some(*radius),
                    arc: None,
                });
            }
            continue;
        }
        // Where a line touches a round end follows from the end.
        let touches = smooth(it, next) && (at_an_end(it) || at_an_end(next));
        if rounds(i + 1) || touches {
            continue;
        }
        let arc = match next {
            Side::Arc { centre, radius, .. } => Some((*centre, *radius)),
            Side::Line { .. } => None,
        };
        all.push(Corner {
            at: it.at(1.0),
            round: None,
            arc,
        });
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use shop::contour::{Contour, Vertex};

    fn plate(points: &[(P, f64)]) -> Plate {
        let vertices = points.iter().map(|&(at, bulge)| Vertex { at, bulge });
        Plate {
            outline: Contour {
                vertices: vertices.collect(),
            },
            ..Plate::default()
        }
    }

    #[test]
    fn a_wedge_has_its_corners_and_a_rectangle_none() {
        let wedge = plate(&[
            ([0.0, 0.0], 0.0),
            ([50.0, 0.0], 0.0),
            ([50.0, 25.0], 0.0),
            ([0.0, 10.0], 0.0),
        ]);
        let found: Vec<P> = corners(&wedge).iter().map(|c| c.at).collect();
        assert_eq!(found, [[50.0, 0.0], [50.0, 25.0], [0.0, 10.0], [0.0, 0.0]]);
        let square = plate(&[
            ([0.0, 0.0], 0.0),
            ([50.0, 0.0], 0.0),
            ([50.0, 25.0], 0.0),
            ([0.0, 25.0], 0.0),
        ]);
        assert!(corners(&square).is_empty());
    }

    #[test]
    fn a_rounded_corner_is_told_where_its_sides_would_meet() {
        // The corner 50, 25 of the wedge's kin, rounded by a quarter of 5.
        let quarter = (std::f64::consts::FRAC_PI_8).tan();
        let p = plate(&[
            ([0.0, 0.0], 0.0),
            ([50.0, 0.0], 0.0),
            ([50.0, 20.0], quarter),
            ([45.0, 25.0], 0.0),
            ([10.0, 25.0], 0.0),
        ]);
        let found = corners(&p);
        let round: Vec<&Corner> = found.iter().filter(|c| c.round.is_some()).collect();
        assert_eq!(round.len(), 1);
        assert!((round[0].at[0] - 50.0).abs() < 1e-9 && (round[0].at[1] - 25.0).abs() < 1e-9);
        assert!((round[0].round.unwrap_or(0.0) - 5.0).abs() < 1e-9);
        assert_eq!(found.len(), 4);
    }
}
