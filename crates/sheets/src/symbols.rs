//! Symbols of kinematic diagrams as in ISO 3952, at fixed sizes on the paper. Where the standard shows several forms, the one
//! that keeps the centre of the joint free is drawn.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI, TAU};

use crate::geometry::{
    P, add, along, angle_of, at_angle, cross, direction, distance, hatching, square, times,
};
use crate::sheet::{Fill, Group, Pen, Shape, Step};

/// Radius of a pin, mm of paper like every size here.
pub(crate) const PIN: f64 = 1.5;
/// Radius of the cross-section of a shaft.
pub(crate) const SHAFT: f64 = 2.4;
/// Radius of the cup of a ball joint.
pub(crate) const CUP: f64 = 2.4;
/// Half length and half height of a sliding block.
pub(crate) const BLOCK: P = [4.5, 2.6];
/// Depth of hatching behind an edge of the frame.
pub(crate) const HATCH: f64 = 1.7;
/// From a fixed pivot's centre to its base line.
pub(crate) const STAND: f64 = 5.5;
/// Half width of a fixed pivot's base line.
pub(crate) const BASE: f64 = 4.6;
const HATCH_PITCH: f64 = 1.4;

/// A pin: a circle.
pub(crate) fn pin(g: &mut Group, at: P) {
    g.put(
        Some(Pen::Wide),
        Fill::Ground,
        Shape::Circle {
            centre: at,
            radius: PIN,
        },
    );
}

/// A ball joint: a circle in a cup that opens away from the rod's other end.
pub(crate) fn ball(g: &mut Group, at: P, towards: P) {
    let a = angle_of(direction(at, towards));
    g.put(
        Some(Pen::Wide),
        Fill::Ground,
        Shape::Circle {
            centre: at,
            radius: PIN - 0.25,
        },
    );
    g.draw(Pen::Wide, Shape::arc(at, CUP, a - 1.9, 3.8));
}

/// Cross-section of a shaft: a hatched circle with its centre marked.
pub(crate) fn shaft(g: &mut Group, at: P) {
    g.put(
        Some(Pen::Wide),
        Fill::Ground,
        Shape::Circle {
            centre: at,
            radius: SHAFT,
        },
    );
    let rim: Vec<P> = (0..32)
        .map(|i| along(at, at_angle(f64::from(i) / 32.0 * TAU), SHAFT))
        .collect();
    g.draw(Pen::Hatch, Shape::Strokes(hatching(&rim, FRAC_PI_4, 0.9)));
}

/// A small upright cross: the exact place of a centre.
pub(crate) fn centre_mark(g: &mut Group, at: P, half: f64) {
    let strokes = vec![
        [along(at, [-1.0, 0.0], half), along(at, [1.0, 0.0], half)],
        [along(at, [0.0, -1.0], half), along(at, [0.0, 1.0], half)],
    ];
    g.draw(Pen::Narrow, Shape::Strokes(strokes));
}

/// A point of a part with nothing pinned to it: a small dot.
pub(crate) fn dot(g: &mut Group, at: P) {
    g.put(
        None,
        Fill::Ink,
        Shape::Circle {
            centre: at,
            radius: 0.7,
        },
    );
}

/// Hatching behind an edge from `a` to `b`; the solid lies to the side `into`.
pub(crate) fn ground_edge(g: &mut Group, a: P, b: P, into: P) {
    g.draw(Pen::Wide, Shape::line(a, b));
    g.draw(Pen::Hatch, Shape::Strokes(edge_hatch(a, b, into, HATCH)));
}

/// Slanted strokes of `depth` behind an edge.
fn edge_hatch(a: P, b: P, into: P, depth: f64) -> Vec<[P; 2]> {
    let d = direction(a, b);
    let l = distance(a, b);
    // Long guides are hatched no finer than 200 strokes.
    let pitch = HATCH_PITCH.max(l / 200.0);
    let count = (l / pitch).floor().max(1.0) as usize;
    let spare = (l - count as f64 * pitch) / 2.0;
    (0..=count)
        .map(|i| along(a, d, spare + i as f64 * pitch))
        .filter(|p| distance(a, *p) >= depth * 0.5)
        .map(|p| [p, add(along(p, d, -depth), times(into, depth))])
        .collect()
}

/// The stand of a fixed pivot: two legs on a hatched base line, in the direction `down`. The circle goes on top.
pub(crate) fn stand(g: &mut Group, at: P, down: P, height: f64) {
    let t = square(down);
    let foot = along(at, down, height);
    let legs = [-1.0, 1.0].map(|s| [at, along(foot, t, s * 3.2)]);
    g.draw(Pen::Wide, Shape::Strokes(legs.to_vec()));
    ground_edge(g, along(foot, t, -BASE), along(foot, t, BASE), down);
}

/// A sliding block, along `d`.
pub(crate) fn block(g: &mut Group, at: P, d: P) {
    g.put(
        Some(Pen::Wide),
        Fill::Ground,
        Shape::poly(&box_corners(at, d, BLOCK), true),
    );
}

/// Corners of a box with these half sizes, the first along `d`.
pub(crate) fn box_corners(at: P, d: P, half: P) -> [P; 4] {
    let n = square(d);
    [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]
        .map(|[s, t]| along(along(at, d, s * half[0]), n, t * half[1]))
}

/// A rigid corner: the filled mark between two lines that leave `at` in directions `u` and `v` as one piece.
pub(crate) fn rigid_corner(g: &mut Group, at: P, u: P, v: P, clear: f64) {
    let opening = cross(u, v).atan2(u[0] * v[0] + u[1] * v[1]).abs();
    if !(0.12..3.0).contains(&opening) {
        return;
    }
    // The mark sits where the two lines are far enough apart to be told from each other.
    let from = clear;
    let to = clear + 2.6;
    let corners = [
        along(at, u, from),
        along(at, u, to),
        along(at, v, to),
        along(at, v, from),
    ];
    g.put(None, Fill::Ink, Shape::poly(&corners, true));
}

/// The mark of an arm fixed on a shaft: filled fillets on both sides of the arm where it meets the hub.
pub(crate) fn weld(g: &mut Group, hub: P, d: P, radius: f64) {
    let n = square(d);
    for s in [-1.0, 1.0] {
        let corners = [
            along(hub, d, radius - 0.3),
            along(hub, d, radius + 2.4),
            add(along(hub, d, radius * 0.7), times(n, s * radius * 0.75)),
        ];
        g.put(None, Fill::Ink, Shape::poly(&corners, true));
    }
}

/// Short strokes across a rod near one end: the thread of its rod end.
pub(crate) fn thread(g: &mut Group, end: P, d: P) {
    let n = square(d);
    let strokes = (0..3)
        .map(|i| along(end, d, CUP + 3.0 + f64::from(i) * 0.8))
        .map(|c| {
            [
                along(along(c, n, -0.9), d, -0.25),
                along(along(c, n, 0.9), d, 0.25),
            ]
        })
        .collect();
    g.draw(Pen::Narrow, Shape::Strokes(strokes));
}

/// Outline of a slot about a straight or curved centre line.
pub(crate) fn slot_outline(a: P, b: P, centre: Option<P>, half: f64) -> Shape {
    let Some(c) = centre else {
        let d = angle_of(direction(a, b));
        return Shape::Outline {
            start: along(a, at_angle(d - FRAC_PI_2), half),
            steps: vec![
                Step::To(along(b, at_angle(d - FRAC_PI_2), half)),
                Step::Arc {
                    centre: b,
                    radius: half,
                    from: d - FRAC_PI_2,
                    sweep: PI,
                },
                Step::To(along(a, at_angle(d + FRAC_PI_2), half)),
                Step::Arc {
                    centre: a,
                    radius: half,
                    from: d + FRAC_PI_2,
                    sweep: PI,
                },
            ],
            closed: true,
        };
    };
    let r = distance(c, a);
    let from = angle_of(direction(c, a));
    let sweep = crate::geometry::wrapped(angle_of(direction(c, b)) - from);
    let turn = sweep.signum();
    let to = from + sweep;
    Shape::Outline {
        start: along(c, at_angle(from), r + half),
        steps: vec![
            Step::Arc {
                centre: c,
                radius: r + half,
                from,
                sweep,
            },
            Step::Arc {
                centre: b,
                radius: half,
                from: to,
                sweep: turn * PI,
            },
            Step::Arc {
                centre: c,
                radius: (r - half).max(0.0),
                from: to,
                sweep: -sweep,
            },
            Step::Arc {
                centre: a,
                radius: half,
                from: from + PI,
                sweep: turn * PI,
            },
        ],
        closed: true,
    }
}

/// A flat: an edge square to `out` with hatching behind it; a moving part's is boxed.
pub(crate) fn face(g: &mut Group, at: P, out: P, fixed: bool) {
    let t = square(out);
    let (a, b) = (along(at, t, -5.0), along(at, t, 5.0));
    let into = times(out, -1.0);
    if fixed {
        ground_edge(g, a, b, into);
    } else {
        let depth = 2.4;
        let corners = [a, b, along(b, into, depth), along(a, into, depth)];
        g.put(Some(Pen::Narrow), Fill::Ground, Shape::poly(&corners, true));
        g.draw(
            Pen::Hatch,
            Shape::Strokes(hatching(&corners, angle_of(t) + FRAC_PI_4, 1.2)),
        );
        g.draw(Pen::Wide, Shape::line(a, b));
    }
}

/// A filled arrow head with its point at `tip`, flying along `d`.
pub(crate) fn arrow_head(g: &mut Group, tip: P, d: P) {
    let n = square(d);
    let back = along(tip, d, -2.5);
    g.put(
        None,
        Fill::DriveInk,
        Shape::poly(&[tip, along(back, n, 0.75), along(back, n, -0.75)], true),
    );
}

/// The cone that tells first-angle from third-angle projection (ISO 5456-2), 12 mm long and 5 mm high about its middle.
pub(crate) fn projection_cone(g: &mut Group, at: P, third: bool) {
    // Seen from its small end: that view stands on the side from which it is seen in third-angle, across in first-angle.
    let (cone, rings) = if third {
        ([at[0] + 3.0, at[1]], [at[0] - 3.5, at[1]])
    } else {
        ([at[0] - 3.0, at[1]], [at[0] + 3.5, at[1]])
    };
    let [x, y] = cone;
    let corners = [
        [x - 2.5, y - 1.25],
        [x + 2.5, y - 2.5],
        [x + 2.5, y + 2.5],
        [x - 2.5, y + 1.25],
    ];
    g.draw(Pen::Narrow, Shape::poly(&corners, true));
    for radius in [1.25, 2.5] {
        g.draw(
            Pen::Narrow,
            Shape::Circle {
                centre: rings,
                radius,
            },
        );
    }
    let axis = |c: P, half: f64| [[c[0] - half, c[1]], [c[0] + half, c[1]]];
    g.draw(
        Pen::Chain,
        Shape::Strokes(vec![
            axis(cone, 3.2),
            axis(rings, 3.2),
            [[rings[0], y - 3.2], [rings[0], y + 3.2]],
        ]),
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slot_goes_round_its_ends() {
        let mut g = Group::new("x");
        g.draw(Pen::Wide, slot_outline([0.0, 0.0], [20.0, 0.0], None, 2.0));
        let e = g.extent();
        assert!(
            (e.min[0] + 2.25).abs() < 1e-9 && (e.max[0] - 22.25).abs() < 1e-9,
            "{e:?}"
        );
        assert!((e.height() - 4.5).abs() < 1e-9);
    }

    #[test]
    fn an_arc_slot_is_closed_and_smooth() {
        let shape = slot_outline([10.0, 0.0], [0.0, -10.0], Some([0.0, 0.0]), 1.0);
        let mut last: Option<P> = None;
        let mut first = None;
        shape.pieces(|a, b| {
            if let Some(l) = last {
                assert!(distance(l, a) < 1e-9, "a gap of {} mm", distance(l, a));
            }
            first.get_or_insert(a);
            last = Some(b);
        });
        assert!(distance(last.unwrap(), first.unwrap()) < 1e-9);
    }
}
