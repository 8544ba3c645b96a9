//! A closed smooth line through places with known directions, as pairs of arcs that touch (biarcs): what a DXF, a milling machine and a solid
//! take without facets.

use crate::contour::{Contour, P, Vertex};

fn dot(a: P, b: P) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// Tangent of a quarter of the angle that an arc turns through, by its chord and the direction at one end: chord and tangent make half of it.
fn bulge(first: P, second: P) -> f64 {
    let cross = first[0] * second[1] - first[1] * second[0];
    (cross.atan2(dot(first, second)) / 2.0).tan()
}

/// Where the two arcs meet when both tangents are equally long (the usual choice).
fn meeting(a: (P, P), b: (P, P)) -> P {
    let v = [b.0[0] - a.0[0], b.0[1] - a.0[1]];
    let t = [a.1[0] + b.1[0], a.1[1] + b.1[1]];
    let bend = 2.0 * (1.0 - dot(a.1, b.1));
    let (vv, vt) = (dot(v, v), dot(v, t));
    // d of |v|² − 2 d v·t − 2 d² (1 − a·b) = 0 in the form that stays sharp for nearly straight pieces.
    let d = vv / (vt + (vt * vt + bend * vv).sqrt());
    [
        f64::midpoint(a.0[0] + d * a.1[0], b.0[0] - d * b.1[0]),
        f64::midpoint(a.0[1] + d * a.1[1], b.0[1] - d * b.1[1]),
    ]
}

/// Through places with their unit directions, counter-clockwise in the end whichever way they are given.
pub(super) fn through(mut nodes: Vec<(P, P)>) -> Contour {
    let n = nodes.len();
    let area: f64 = (0..n)
        .map(|i| {
            let (a, b) = (nodes[i].0, nodes[(i + 1) % n].0);
            a[0] * b[1] - a[1] * b[0]
        })
        .sum();
    if area < 0.0 {
        nodes.reverse();
    }
    let mut vertices = Vec::with_capacity(2 * n);
    for i in 0..n {
        let (a, b) = (nodes[i], nodes[(i + 1) % n]);
        let m = meeting(a, b);
        let (first, second) = (
            [m[0] - a.0[0], m[1] - a.0[1]],
            [b.0[0] - m[0], b.0[1] - m[1]],
        );
        vertices.push(Vertex {
            at: a.0,
            bulge: bulge(a.1, first),
        });
        vertices.push(Vertex {
            at: m,
            bulge: bulge(second, b.1),
        });
    }
    Contour { vertices }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{PI, TAU};

    #[test]
    fn a_circle_comes_out_as_a_circle_and_an_ellipse_within_a_hair() {
        let of = |a: f64, b: f64, n: u32| {
            let node = |i: u32| {
                let t = f64::from(i) * TAU / f64::from(n);
                let d = [-a * t.sin(), b * t.cos()];
                let l = d[0].hypot(d[1]);
                ([a * t.cos(), b * t.sin()], [d[0] / l, d[1] / l])
            };
            through((0..n).map(node).collect())
        };
        assert!((of(10.0, 10.0, 12).area() - 100.0 * PI).abs() < 1e-9);
        // Area of an ellipse: π a b. The error falls with the fourth power of the step.
        let error = |n: u32| (of(40.0, 25.0, n).area() - 1000.0 * PI).abs();
        assert!(
            error(60) < 0.02 && error(240) < 1e-4,
            "{} {}",
            error(60),
            error(240)
        );
        // Given the other way round it is the same.
        let mut back: Vec<(P, P)> = (0..12)
            .map(|i| {
                let t = -f64::from(i) * TAU / 12.0;
                ([t.cos(), t.sin()], [-t.sin(), t.cos()])
            })
            .collect();
        back.rotate_left(3);
        assert!((through(back).area() - PI).abs() < 1e-9);
    }
}
