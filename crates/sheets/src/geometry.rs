//! Plane geometry on the paper. Points are `[x, y]` in mm of paper, x to the right and y *down*, as in SVG.

use std::f64::consts::{PI, TAU};

/// A point or a vector on the paper.
pub(crate) type P = [f64; 2];

pub(crate) fn add(a: P, b: P) -> P {
    [a[0] + b[0], a[1] + b[1]]
}

pub(crate) fn sub(a: P, b: P) -> P {
    [a[0] - b[0], a[1] - b[1]]
}

pub(crate) fn times(a: P, k: f64) -> P {
    [a[0] * k, a[1] * k]
}

/// `a + d·k`.
pub(crate) fn along(a: P, d: P, k: f64) -> P {
    [a[0] + d[0] * k, a[1] + d[1] * k]
}

pub(crate) fn dot(a: P, b: P) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

pub(crate) fn cross(a: P, b: P) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

pub(crate) fn length(a: P) -> f64 {
    // Paper is never so large that the squares run over.
    (a[0] * a[0] + a[1] * a[1]).sqrt()
}

pub(crate) fn distance(a: P, b: P) -> f64 {
    length(sub(a, b))
}

pub(crate) fn lerp(a: P, b: P, t: f64) -> P {
    along(a, sub(b, a), t)
}

/// Unit vector from `a` to `b`; to the right when both are the same point.
pub(crate) fn direction(a: P, b: P) -> P {
    let d = sub(b, a);
    let l = length(d);
    if l > 1e-12 {
        times(d, 1.0 / l)
    } else {
        [1.0, 0.0]
    }
}

/// A quarter turn.
pub(crate) fn square(d: P) -> P {
    [-d[1], d[0]]
}

/// Unit vector at an angle counted as on the machine: counter-clockwise from right.
pub(crate) fn at_angle(angle: f64) -> P {
    [angle.cos(), -angle.sin()]
}

/// The angle, counted as on the machine, of a paper vector.
pub(crate) fn angle_of(d: P) -> f64 {
    (-d[1]).atan2(d[0])
}

pub(crate) fn finite(p: P) -> bool {
    p[0].is_finite() && p[1].is_finite()
}

/// The angle brought into −π .. π.
pub(crate) fn wrapped(angle: f64) -> f64 {
    let a = angle.rem_euclid(TAU);
    if a > PI { a - TAU } else { a }
}

/// An upright rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Rect {
    pub(crate) min: P,
    pub(crate) max: P,
}

impl Rect {
    /// Holds nothing; joining anything to it gives that thing.
    pub(crate) const EMPTY: Self = Self {
        min: [f64::INFINITY; 2],
        max: [f64::NEG_INFINITY; 2],
    };

    pub(crate) fn new(a: P, b: P) -> Self {
        Self {
            min: [a[0].min(b[0]), a[1].min(b[1])],
            max: [a[0].max(b[0]), a[1].max(b[1])],
        }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.min[0] > self.max[0] || self.min[1] > self.max[1]
    }

    /// Takes in a point; one that is not finite is passed over.
    pub(crate) fn take(&mut self, p: P) {
        if finite(p) {
            self.min = [self.min[0].min(p[0]), self.min[1].min(p[1])];
            self.max = [self.max[0].max(p[0]), self.max[1].max(p[1])];
        }
    }

    pub(crate) fn join(self, other: Self) -> Self {
        Self {
            min: [self.min[0].min(other.min[0]), self.min[1].min(other.min[1])],
            max: [self.max[0].max(other.max[0]), self.max[1].max(other.max[1])],
        }
    }

    pub(crate) fn grown(self, by: f64) -> Self {
        Self {
            min: [self.min[0] - by, self.min[1] - by],
            max: [self.max[0] + by, self.max[1] + by],
        }
    }

    pub(crate) fn moved(self, by: P) -> Self {
        Self {
            min: add(self.min, by),
            max: add(self.max, by),
        }
    }

    pub(crate) fn width(&self) -> f64 {
        (self.max[0] - self.min[0]).max(0.0)
    }

    pub(crate) fn height(&self) -> f64 {
        (self.max[1] - self.min[1]).max(0.0)
    }

    pub(crate) fn centre(&self) -> P {
        lerp(self.min, self.max, 0.5)
    }

    pub(crate) fn overlaps(&self, other: &Self) -> bool {
        self.min[0] < other.max[0]
            && other.min[0] < self.max[0]
            && self.min[1] < other.max[1]
            && other.min[1] < self.max[1]
    }

    pub(crate) fn common(&self, other: &Self) -> Self {
        Self {
            min: [self.min[0].max(other.min[0]), self.min[1].max(other.min[1])],
            max: [self.max[0].min(other.max[0]), self.max[1].min(other.max[1])],
        }
    }

    pub(crate) fn holds(&self, other: &Self) -> bool {
        self.min[0] <= other.min[0]
            && self.min[1] <= other.min[1]
            && self.max[0] >= other.max[0]
            && self.max[1] >= other.max[1]
    }

    /// Length of the piece of the segment `a`–`b` inside the rectangle.
    pub(crate) fn length_inside(&self, a: P, b: P) -> f64 {
        let d = sub(b, a);
        let (mut t0, mut t1) = (0.0_f64, 1.0_f64);
        for i in 0..2 {
            if d[i].abs() < 1e-12 {
                if a[i] < self.min[i] || a[i] > self.max[i] {
                    return 0.0;
                }
            } else {
                let (u, v) = ((self.min[i] - a[i]) / d[i], (self.max[i] - a[i]) / d[i]);
                t0 = t0.max(u.min(v));
                t1 = t1.min(u.max(v));
            }
        }
        if t1 > t0 { (t1 - t0) * length(d) } else { 0.0 }
    }
}

/// Where two segments cross.
pub(crate) fn crossing(a: P, b: P, c: P, d: P) -> Option<P> {
    let (r, s) = (sub(b, a), sub(d, c));
    let det = cross(r, s);
    if det.abs() < 1e-12 {
        return None;
    }
    let q = sub(c, a);
    let (t, u) = (cross(q, s) / det, cross(q, r) / det);
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then(|| along(a, r, t))
}

/// Convex hull, in order around; collinear points are left out.
pub(crate) fn hull(points: &[P]) -> Vec<P> {
    let mut sorted: Vec<P> = points.iter().copied().filter(|&p| finite(p)).collect();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    sorted.dedup_by(|a, b| distance(*a, *b) < 1e-9);
    if sorted.len() < 3 {
        return sorted;
    }
    let half = |points: &mut dyn Iterator<Item = &P>| {
        let mut chain: Vec<P> = Vec::new();
        for &p in points {
            while let [.., a, b] = chain[..] {
                if cross(sub(b, a), sub(p, b)) > 1e-9 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut out = half(&mut sorted.iter());
    out.extend(half(&mut sorted.iter().rev()));
    out
}

/// The two points farthest from each other.
pub(crate) fn farthest(points: &[P]) -> Option<(P, P)> {
    let mut best: Option<(P, P, f64)> = None;
    for (i, &a) in points.iter().enumerate() {
        for &b in points.get(i + 1..).unwrap_or_default() {
            let d = distance(a, b);
            if best.is_none_or(|(_, _, most)| d > most) {
                best = Some((a, b, d));
            }
        }
    }
    best.map(|(a, b, _)| (a, b))
}

/// Hatching of a closed polygon: strokes at `angle` (as on the machine), `pitch` apart, held `off` the outline's ends.
pub(crate) fn hatching(polygon: &[P], angle: f64, pitch: f64) -> Vec<[P; 2]> {
    let d = at_angle(angle);
    let n = square(d);
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for &p in polygon {
        low = low.min(dot(p, n));
        high = high.max(dot(p, n));
    }
    // A body so large on the paper that it would take thousands of strokes is hatched no finer than 400 across.
    let pitch = pitch.max((high - low) / 400.0);
    let mut strokes = Vec::new();
    if !(high - low).is_finite() || pitch <= 0.0 {
        return strokes;
    }
    let mut at = (low / pitch).ceil() * pitch;
    while at < high {
        let mut cuts: Vec<f64> = Vec::new();
        for (i, &a) in polygon.iter().enumerate() {
            let Some(&b) = polygon.get((i + 1) % polygon.len()) else {
                continue;
            };
            let (ha, hb) = (dot(a, n), dot(b, n));
            if (ha <= at) != (hb <= at) {
                let t = (at - ha) / (hb - ha);
                cuts.push(dot(lerp(a, b, t), d));
            }
        }
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.chunks_exact(2) {
            if let [u, v] = pair
                && v - u > 0.2
            {
                strokes.push([
                    add(times(d, *u), times(n, at)),
                    add(times(d, *v), times(n, at)),
                ]);
            }
        }
        at += pitch;
    }
    strokes
}

/// Whether a point lies inside a closed polygon.
pub(crate) fn inside(polygon: &[P], p: P) -> bool {
    let mut odd = false;
    for (i, &a) in polygon.iter().enumerate() {
        let Some(&b) = polygon.get((i + 1) % polygon.len()) else {
            continue;
        };
        if (a[1] > p[1]) != (b[1] > p[1])
            && p[0] < (b[0] - a[0]) * (p[1] - a[1]) / (b[1] - a[1]) + a[0]
        {
            odd = !odd;
        }
    }
    odd
}

/// Both straight runs of a belt on two circles; `crossed` for a crossed belt. `None` when one circle lies in the other, or when
/// a crossed belt's circles touch.
pub(crate) fn belt_runs(c1: P, r1: f64, c2: P, r2: f64, crossed: bool) -> Option<[[P; 2]; 2]> {
    let d = distance(c1, c2);
    let second = if crossed { -r2 } else { r2 };
    let ratio = (r1 - second) / d;
    if !ratio.is_finite() || ratio.abs() >= 1.0 {
        return None;
    }
    let e = direction(c1, c2);
    let n = square(e);
    let (c, s) = (ratio, (1.0 - ratio * ratio).sqrt());
    Some([1.0, -1.0].map(|side| {
        let normal = add(times(e, c), times(n, s * side));
        [along(c1, normal, r1), along(c2, normal, second)]
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hull_of_a_square_with_a_point_inside() {
        let h = hull(&[
            [0.0, 0.0],
            [2.0, 0.0],
            [1.0, 1.0],
            [2.0, 2.0],
            [0.0, 2.0],
            [1.0, 0.0],
        ]);
        assert_eq!(h.len(), 4);
    }

    #[test]
    fn length_inside_a_rectangle() {
        let r = Rect::new([0.0, 0.0], [10.0, 4.0]);
        assert_eq!(r.length_inside([-5.0, 2.0], [15.0, 2.0]), 10.0);
        assert_eq!(r.length_inside([-5.0, 5.0], [15.0, 5.0]), 0.0);
        assert_eq!(r.length_inside([3.0, 1.0], [3.0, 3.0]), 2.0);
    }

    #[test]
    fn hatching_stays_inside() {
        let triangle = [[0.0, 0.0], [10.0, 0.0], [0.0, 10.0]];
        let strokes = hatching(&triangle, PI / 4.0, 1.0);
        assert!(strokes.len() > 5);
        for [a, b] in strokes {
            assert!(inside(&triangle, lerp(a, b, 0.5)));
        }
    }

    #[test]
    fn belt_runs_touch_both_circles() {
        for crossed in [false, true] {
            for [a, b] in belt_runs([0.0, 0.0], 3.0, [20.0, 5.0], 6.0, crossed).unwrap() {
                let run = sub(b, a);
                assert!((distance(a, [0.0, 0.0]) - 3.0).abs() < 1e-12);
                assert!((distance(b, [20.0, 5.0]) - 6.0).abs() < 1e-12);
                assert!(dot(run, a).abs() < 1e-9);
            }
        }
        assert!(belt_runs([0.0, 0.0], 3.0, [1.0, 0.0], 6.0, false).is_none());
    }
}
