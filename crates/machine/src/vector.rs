//! Vectors of two and three numbers.

use crate::model::Plane;

pub(crate) type V2 = [f64; 2];
pub(crate) type V3 = [f64; 3];

pub(crate) fn sub(a: V2, b: V2) -> V2 {
    [a[0] - b[0], a[1] - b[1]]
}

/// `a + s·b`.
pub(crate) fn along(a: V2, s: f64, b: V2) -> V2 {
    [a[0] + s * b[0], a[1] + s * b[1]]
}

pub(crate) fn dot(a: V2, b: V2) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// Third component of the cross product.
pub(crate) fn cross(a: V2, b: V2) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

pub(crate) fn length(a: V2) -> f64 {
    a[0].hypot(a[1])
}

/// Unit vector at this angle, rad; exact at the quarter turns.
pub(crate) fn unit(angle: f64) -> V2 {
    let quarters = angle / std::f64::consts::FRAC_PI_2;
    if quarters == quarters.round() {
        return match (quarters as i64).rem_euclid(4) {
            0 => [1.0, 0.0],
            1 => [0.0, 1.0],
            2 => [-1.0, 0.0],
            _ => [0.0, -1.0],
        };
    }
    [angle.cos(), angle.sin()]
}

pub(crate) fn dot3(a: V3, b: V3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

pub(crate) fn sub3(a: V3, b: V3) -> V3 {
    std::array::from_fn(|i| a[i] - b[i])
}

pub(crate) fn cross3(a: V3, b: V3) -> V3 {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

pub(crate) fn length3(a: V3) -> f64 {
    a[0].hypot(a[1]).hypot(a[2])
}

pub(crate) fn scaled3(a: V3, s: f64) -> V3 {
    a.map(|x| x * s)
}

/// The place in space of (x, y, station) of a plane.
pub(crate) fn in_space(plane: &Plane, x: f64, y: f64, station: f64) -> V3 {
    let n = cross3(plane.right, plane.up);
    std::array::from_fn(|i| plane.origin[i] + x * plane.right[i] + y * plane.up[i] + station * n[i])
}

/// (x, y, station) of a place in space in a plane.
pub(crate) fn in_plane(plane: &Plane, p: V3) -> V3 {
    let d = sub3(p, plane.origin);
    [
        dot3(d, plane.right),
        dot3(d, plane.up),
        dot3(d, cross3(plane.right, plane.up)),
    ]
}
