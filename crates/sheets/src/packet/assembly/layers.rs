//! The layers of a machine: what moves in one plane, seen along it, so that it shows in which order things lie on their shafts.

use super::bodies::Body;
use crate::geometry::P;
use shop::contour::{Contour, Vertex};

/// What lies in one plane as it is seen from its side. Bodies stand in a plane of their own: the station to the right where it is seen from
/// the left, to the left where from the right.
pub(super) struct Layers {
    pub(super) bodies: Vec<Body>,
    /// Axes that more than one of them has in common.
    pub(super) axes: Vec<[P; 2]>,
}

/// How far an axis stands out of what it goes through, mm of the machine.
const OUT: f64 = 6.0;
/// Holes closer than this lie on one axis, mm.
const ONE: f64 = 1e-3;

/// Layers of a plane that has more than one, as bodies of the plane `seen_in`; hindmost first.
pub(super) fn of(all: &[Body], plane: usize, seen_in: usize, from_left: bool) -> Option<Layers> {
    let across = |station: f64| if from_left { station } else { -station };
    let own: Vec<(&Body, [f64; 2])> = all
        .iter()
        .filter(|b| b.plane == plane)
        .filter_map(|b| Some((b, b.depth?)))
        .collect();
    let middle = |d: &[f64; 2]| f64::midpoint(d[0], d[1]);
    let first = middle(&own.first()?.1);
    if own.iter().all(|(_, d)| (middle(d) - first).abs() < 0.1) {
        return None;
    }
    let mut bodies: Vec<Body> = own
        .iter()
        .map(|(b, d)| {
            let all = std::iter::once(&b.outline).chain(&b.edges);
            let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
            for [l, h] in all.map(Contour::bounds) {
                low = [low[0].min(l[0]), low[1].min(l[1])];
                high = [high[0].max(h[0]), high[1].max(h[1])];
            }
            let (a, b_) = (across(d[0]), across(d[1]));
            // A shaft shows its steps.
            let axis = b.axes.first().map_or(0.0, |at| at[1]);
            let outline = if b.steps.is_empty() {
                Contour::rectangle([a.min(b_), low[1]], [a.max(b_), high[1]], 0.0)
            } else {
                stepped(&b.steps, axis, &|x| across(d[0] + x))
            };
            let shoulders = b.steps.windows(2).filter_map(|w| {
                let [from, _, r, up] = w[1];
                let (x, own) = (across(d[0] + from), w[0]);
                // Each shoulder is an edge right across.
                let lower = (axis + up - r).max(axis + own[3] - own[2]);
                let upper = (axis + up + r).min(axis + own[3] + own[2]);
                (upper > lower).then(|| straight(&[[x, lower], [x, upper]]))
            });
            Body {
                part: b.part,
                plane: seen_in,
                forward: [if from_left { -low[0] } else { high[0] }, 0.0],
                outline,
                edges: Vec::new(),
                open: shoulders.collect(),
                depth: None,
                axes: Vec::new(),
                steps: Vec::new(),
                pitch: Vec::new(),
            }
        })
        .collect();
    bodies.sort_by(|a, b| a.forward[0].total_cmp(&b.forward[0]));
    // From the hindmost to the foremost of what has a hole there.
    let mut through: Vec<(P, [f64; 2], usize)> = Vec::new();
    for (b, d) in &own {
        for at in &b.axes {
            let same = |t: &&mut (P, [f64; 2], usize)| (t.0[0] - at[0]).hypot(t.0[1] - at[1]) < ONE;
            match through.iter_mut().find(same) {
                Some((_, span, count)) => {
                    *span = [span[0].min(d[0]), span[1].max(d[1])];
                    *count += 1;
                }
                None => through.push((*at, *d, 1)),
            }
        }
    }
    let mut axes: Vec<[P; 2]> = through
        .iter()
        .filter(|t| t.2 > 1)
        .map(|(at, d, _)| [[across(d[0] - OUT), at[1]], [across(d[1] + OUT), at[1]]])
        .collect();
    axes.dedup();
    Some(Layers { bodies, axes })
}

/// The outline of steps along an axis.
fn stepped(steps: &[[f64; 4]], axis: f64, along: &dyn Fn(f64) -> f64) -> Contour {
    let over = steps
        .iter()
        .flat_map(|[from, to, r, up]| [*from, *to].map(|x| [along(x), axis + up + r]));
    let under = steps
        .iter()
        .rev()
        .flat_map(|[from, to, r, up]| [*to, *from].map(|x| [along(x), axis + up - r]));
    let all: Vec<P> = over.chain(under).collect();
    straight(&all)
}

/// Straight lines from corner to corner.
fn straight(corners: &[P]) -> Contour {
    let vertices = corners.iter().map(|&at| Vertex { at, bulge: 0.0 });
    Contour {
        vertices: vertices.collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn body(part: usize, depth: [f64; 2], centre: P) -> Body {
        Body {
            part,
            plane: 0,
            forward: [depth[0], 0.0],
            outline: Contour::circle(centre, 10.0),
            edges: Vec::new(),
            open: Vec::new(),
            depth: Some(depth),
            axes: vec![[0.0, 0.0], centre],
            steps: Vec::new(),
            pitch: Vec::new(),
        }
    }

    #[test]
    fn two_plates_stand_at_their_stations_on_one_axis() {
        let all = [
            body(0, [-40.0, -30.0], [5.0, 2.0]),
            body(1, [30.0, 42.0], [-5.0, 2.0]),
        ];
        let found = of(&all, 0, 7, true).expect("two layers");
        let span = |n: usize| {
            let b = found.bodies.iter().find(|b| b.part == n).expect("drawn");
            assert_eq!(b.plane, 7);
            b.outline.bounds()
        };
        let near = |a: [P; 2], b: [P; 2]| {
            for (p, q) in a.iter().flatten().zip(b.iter().flatten()) {
                assert!((p - q).abs() < 1e-9, "{a:?} {b:?}");
            }
        };
        near(span(0), [[-40.0, -8.0], [-30.0, 12.0]]);
        near(span(1), [[30.0, -8.0], [42.0, 12.0]]);
        // Seen from the left the one further left lies in front: it is drawn last.
        assert_eq!(found.bodies.last().map(|b| b.part), Some(1));
        // One hole of each lies on the same axis, the others do not.
        assert_eq!(found.axes, [[[-46.0, 0.0], [48.0, 0.0]]]);
        // From the right the stations run the other way.
        let right = of(&all, 0, 7, false).expect("two layers");
        assert_eq!(right.bodies.last().map(|b| b.part), Some(0));
        assert_eq!(right.axes, [[[46.0, 0.0], [-48.0, 0.0]]]);
    }

    #[test]
    fn what_lies_in_one_layer_has_no_view_of_layers() {
        let all = [
            body(0, [-5.0, 5.0], [0.0; 2]),
            body(1, [-6.0, 6.0], [9.0, 0.0]),
        ];
        assert!(of(&all, 0, 7, true).is_none());
    }
}
