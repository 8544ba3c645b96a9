//! Closed outlines of straight lines and arcs: round ends joined by lines that touch both, rectangles, free outlines; offsets for cutters.

use cavalier_contours::polyline::{PlineSource as _, PlineSourceMut as _, Polyline};
use serde::Serialize;
use std::f64::consts::{PI, TAU};

pub use machine::making::sides::{P, Side, polar};
use machine::making::sides::{length, sub};

/// A corner of an outline and how the outline goes on from it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Vertex {
    /// Where.
    pub at: P,
    /// Tangent of a quarter of the angle that the following side turns through; 0 is straight, positive turns left.
    pub bulge: f64,
}

/// A closed outline, counter-clockwise.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Contour {
    /// Its corners.
    pub vertices: Vec<Vertex>,
}

/// Places nearer than this are one, mm.
const SAME: f64 = 1e-7;

impl Contour {
    /// Sides in order.
    pub fn sides(&self) -> Vec<Side> {
        let next = self.vertices.iter().cycle().skip(1);
        let sides = self.vertices.iter().zip(next).map(|(a, b)| {
            let chord = sub(b.at, a.at);
            let half = length(chord) / 2.0;
            if a.bulge == 0.0 || half < SAME {
                return Side::Line {
                    from: a.at,
                    to: b.at,
                };
            }
            let sweep = 4.0 * a.bulge.atan();
            let radius = half / (sweep / 2.0).sin().abs();
            // From the middle of the chord to the centre, to its left.
            let rise = half / (sweep / 2.0).tan();
            let centre = [
                a.at[0] + chord[0] / 2.0 - chord[1] / (2.0 * half) * rise,
                a.at[1] + chord[1] / 2.0 + chord[0] / (2.0 * half) * rise,
            ];
            let d = sub(a.at, centre);
            Side::Arc {
                centre,
                radius,
                from: d[1].atan2(d[0]),
                sweep,
            }
        });
        sides.filter(|s| s.length() > SAME).collect()
    }

    /// Area it encloses, mm².
    pub fn area(&self) -> f64 {
        self.pline().area()
    }

    /// Smallest and greatest coordinates.
    pub fn bounds(&self) -> [P; 2] {
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        let mut take = |p: P| {
            low = [low[0].min(p[0]), low[1].min(p[1])];
            high = [high[0].max(p[0]), high[1].max(p[1])];
        };
        for side in self.sides() {
            take(side.at(0.0));
            take(side.at(1.0));
            if let Side::Arc {
                centre,
                radius,
                from,
                sweep,
            } = side
            {
                for quarter in -8..=8 {
                    let angle = f64::from(quarter) * PI / 2.0;
                    let along = if sweep > 0.0 {
                        angle - from
                    } else {
                        from - angle
                    };
                    if (-1e-12..=sweep.abs() + 1e-12).contains(&along) {
                        take(polar(centre, radius, angle));
                    }
                }
            }
        }
        [low, high]
    }

    /// How far it reaches from a place in a direction (rad).
    pub fn reach(&self, from: P, direction: f64) -> f64 {
        let u = [direction.cos(), direction.sin()];
        let along = |q: P| (q[0] - from[0]) * u[0] + (q[1] - from[1]) * u[1];
        let far = self.sides().into_iter().map(|side| {
            let ends = along(side.at(0.0)).max(along(side.at(1.0)));
            match side {
                Side::Arc {
                    centre,
                    radius,
                    from,
                    sweep,
                } => {
                    let on = if sweep > 0.0 {
                        direction - from
                    } else {
                        from - direction
                    };
                    let on = on.rem_euclid(2.0 * PI);
                    if on <= sweep.abs() + 1e-12 || on >= 2.0 * PI - 1e-12 {
                        ends.max(along(polar(centre, radius, direction)))
                    } else {
                        ends
                    }
                }
                Side::Line { .. } => ends,
            }
        });
        far.fold(f64::NEG_INFINITY, f64::max)
    }

    /// Whether a place lies inside.
    pub fn holds(&self, at: P) -> bool {
        self.pline()
            .winding_number(cavalier_contours::core::math::Vector2::new(at[0], at[1]))
            != 0
    }

    /// The outline moved outward by a distance (inward when negative); `None` when nothing, or more than one outline, is left.
    pub fn moved_out(&self, distance: f64) -> Option<Self> {
        let found = self.pline().parallel_offset(-distance);
        match found.as_slice() {
            [only] => Some(Self::of(only)),
            _ => None,
        }
    }

    fn pline(&self) -> Polyline {
        let mut pline = Polyline::new_closed();
        let next = self.vertices.iter().cycle().skip(1);
        for (v, w) in self.vertices.iter().zip(next) {
            if v.bulge.abs() <= 1.0 {
                pline.add(v.at[0], v.at[1], v.bulge);
                continue;
            }
            // The library's arcs are half a circle at most: a longer one goes in two halves, whose bulge is tan(sweep / 8).
            let half = ((1.0 + v.bulge * v.bulge).sqrt() - 1.0) / v.bulge;
            let [x, y] = [w.at[0] - v.at[0], w.at[1] - v.at[1]];
            pline.add(v.at[0], v.at[1], half);
            pline.add(
                f64::midpoint(v.at[0], w.at[0]) + v.bulge * y / 2.0,
                f64::midpoint(v.at[1], w.at[1]) - v.bulge * x / 2.0,
                half,
            );
        }
        pline
    }

    fn of(pline: &Polyline) -> Self {
        let tidy = pline.remove_repeat_pos(SAME);
        let pline = tidy.as_ref().unwrap_or(pline);
        let tidy = pline.remove_redundant(SAME);
        let mut pline = tidy.as_ref().unwrap_or(pline).clone();
        if pline.area() < 0.0 {
            pline.invert_direction_mut();
        }
        let vertices = pline.iter_vertexes().map(|v| Vertex {
            at: [v.x, v.y],
            // What came out of a nearly straight meeting is straight.
            bulge: if v.bulge.abs() < 1e-9 { 0.0 } else { v.bulge },
        });
        Self {
            vertices: vertices.collect(),
        }
    }

    /// The same with a place of it laid on another, turned a quarter counter-clockwise or not.
    #[must_use]
    pub fn placed(&self, from: P, turned: bool, to: P) -> Self {
        let place = |v: &Vertex| {
            let [x, y] = sub(v.at, from);
            let [x, y] = if turned { [-y, x] } else { [x, y] };
            Vertex {
                at: [to[0] + x, to[1] + y],
                bulge: v.bulge,
            }
        };
        Self {
            vertices: self.vertices.iter().map(place).collect(),
        }
    }

    /// A circle.
    pub fn circle(centre: P, radius: f64) -> Self {
        let at = |x: f64| Vertex {
            at: [centre[0] + x, centre[1]],
            bulge: 1.0,
        };
        Self {
            vertices: vec![at(radius), at(-radius)],
        }
    }

    /// Two circles and the lines that touch both; the larger circle alone when it holds the other.
    pub fn capsule(a: (P, f64), b: (P, f64)) -> Self {
        let d = sub(b.0, a.0);
        let far = length(d);
        if far <= (a.1 - b.1).abs() + SAME {
            let big = if a.1 >= b.1 { a } else { b };
            return Self::circle(big.0, big.1);
        }
        let along = d[1].atan2(d[0]);
        // The touching lines lean towards the smaller circle by asin((R - r)/L).
        let lean = ((a.1 - b.1) / far).asin();
        let (left, right) = (along + PI / 2.0 - lean, along - PI / 2.0 + lean);
        let sweep_b = PI - 2.0 * lean;
        let sweep_a = PI + 2.0 * lean;
        let v = |c: (P, f64), angle: f64, bulge: f64| Vertex {
            at: polar(c.0, c.1, angle),
            bulge,
        };
        Self {
            vertices: vec![
                v(a, right, 0.0),
                v(b, right, (sweep_b / 4.0).tan()),
                v(b, left, 0.0),
                v(a, left, (sweep_a / 4.0).tan()),
            ],
        }
    }

    /// An arc slot: an arc about a centre, thickened by `half` to both sides, with round ends.
    pub fn banana(centre: P, radius: f64, from: f64, sweep: f64, half: f64) -> Self {
        let to = from + sweep;
        let v = |r: f64, angle: f64, bulge: f64| Vertex {
            at: polar(centre, r, angle),
            bulge,
        };
        let side = (sweep / 4.0).tan();
        Self {
            vertices: vec![
                v(radius + half, from, side),
                v(radius + half, to, 1.0),
                v(radius - half, to, -side),
                v(radius - half, from, 1.0),
            ],
        }
    }

    /// A rectangle with rounded corners.
    pub fn rectangle(low: P, high: P, corner: f64) -> Self {
        let corners = [low, [high[0], low[1]], high, [low[0], high[1]]];
        let corners: Vec<(P, f64)> = corners.into_iter().map(|c| (c, corner)).collect();
        Self::rounded(&corners)
    }

    /// Straight sides from corner to corner, each rounded by its radius as far as its sides allow.
    pub fn rounded(corners: &[(P, f64)]) -> Self {
        let n = corners.len();
        let mut vertices = Vec::new();
        for i in 0..n {
            let (before, (at, radius), after) = (
                corners[(i + n - 1) % n].0,
                corners[i],
                corners[(i + 1) % n].0,
            );
            let (u, w) = (sub(before, at), sub(after, at));
            let (lu, lw) = (length(u), length(w));
            let cos = ((u[0] * w[0] + u[1] * w[1]) / (lu * lw)).clamp(-1.0, 1.0);
            let inside = cos.acos();
            let cut = radius / (inside / 2.0).tan();
            if radius <= 0.0 || !cut.is_finite() || cut < SAME || cut > lu.min(lw) {
                vertices.push(Vertex { at, bulge: 0.0 });
                continue;
            }
            let from = [at[0] + u[0] / lu * cut, at[1] + u[1] / lu * cut];
            let to = [at[0] + w[0] / lw * cut, at[1] + w[1] / lw * cut];
            let turn = u[1] * w[0] - u[0] * w[1];
            let bulge = ((PI - inside) / 4.0).tan() * if turn >= 0.0 { 1.0 } else { -1.0 };
            vertices.push(Vertex { at: from, bulge });
            vertices.push(Vertex { at: to, bulge: 0.0 });
        }
        Self { vertices }.counter_clockwise()
    }

    /// The same with its sides in counter-clockwise order.
    #[must_use]
    pub fn counter_clockwise(self) -> Self {
        let mut pline = self.pline();
        if pline.area() < 0.0 {
            pline.invert_direction_mut();
        }
        Self::of(&pline)
    }

    /// One line stretched round circles.
    pub fn around(circles: &[(P, f64)]) -> Self {
        // The line touches a circle wherever that circle reaches furthest; the changes of hands are found by the pairs' touching lines.
        let reach = |c: &(P, f64), angle: f64| c.0[0] * angle.cos() + c.0[1] * angle.sin() + c.1;
        let mut angles: Vec<f64> = Vec::new();
        for (i, a) in circles.iter().enumerate() {
            for b in circles.iter().skip(i + 1) {
                let d = sub(b.0, a.0);
                let far = length(d);
                if far > (a.1 - b.1).abs() + SAME {
                    let along = d[1].atan2(d[0]);
                    let off = ((a.1 - b.1) / far).acos();
                    angles.extend([along + off, along - off].map(|x| x.rem_euclid(TAU)));
                }
            }
        }
        angles.sort_by(f64::total_cmp);
        angles.dedup_by(|a, b| (*a - *b).abs() < 1e-12);
        let best = |angle: f64| {
            circles
                .iter()
                .max_by(|a, b| reach(a, angle).total_cmp(&reach(b, angle)))
        };
        let mut spans: Vec<((P, f64), f64, f64)> = Vec::new();
        for (i, &from) in angles.iter().enumerate() {
            let to = angles
                .get(i + 1)
                .copied()
                .unwrap_or_else(|| angles.first().copied().unwrap_or(0.0) + TAU);
            let Some(&circle) = best(f64::midpoint(from, to)) else {
                continue;
            };
            match spans.last_mut() {
                Some(last) if last.0 == circle => last.2 = to,
                _ => spans.push((circle, from, to)),
            }
        }
        if let ([first, .., last], true) = (spans.as_slice(), spans.len() > 1)
            && first.0 == last.0
        {
            let (from, circle) = (last.1 - TAU, first.0);
            let to = first.2;
            spans.pop();
            if let Some(first) = spans.first_mut() {
                *first = (circle, from, to);
            }
        }
        if spans.len() < 2 {
            let big = circles.iter().max_by(|a, b| a.1.total_cmp(&b.1));
            return big.map_or_else(Self::default, |c| Self::circle(c.0, c.1));
        }
        let mut vertices = Vec::new();
        for (c, from, to) in spans {
            vertices.push(Vertex {
                at: polar(c.0, c.1, from),
                bulge: ((to - from) / 4.0).tan(),
            });
            vertices.push(Vertex {
                at: polar(c.0, c.1, to),
                bulge: 0.0,
            });
        }
        Self { vertices }.counter_clockwise()
    }

    /// Round ends joined in pairs, inside corners rounded by `fillet`; `None` when they do not make one outline.
    pub fn arms(circles: &[(P, f64)], pairs: &[[usize; 2]], fillet: f64) -> Option<Self> {
        crate::arms::outline(circles, pairs, fillet)
    }

    /// How far a place lies from the nearest side, mm.
    pub fn distance(&self, at: P) -> f64 {
        let all = self.sides().into_iter().map(|s| s.distance(at));
        all.fold(f64::INFINITY, f64::min)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn areas_by_closed_forms() {
        assert!((Contour::circle([1.0, 2.0], 3.0).area() - 9.0 * PI).abs() < 1e-9);
        let slot = Contour::capsule(([0.0, 0.0], 5.0), ([20.0, 0.0], 5.0));
        assert!((slot.area() - (200.0 + 25.0 * PI)).abs() < 1e-9);
        let [low, high] = slot.bounds();
        let off = [low[0] + 5.0, low[1] + 5.0, high[0] - 25.0, high[1] - 5.0];
        assert!(off.iter().all(|x| x.abs() < 1e-9), "{off:?}");
        let plate = Contour::rectangle([0.0, 0.0], [30.0, 20.0], 4.0);
        assert!((plate.area() - (600.0 - (4.0 - PI) * 16.0)).abs() < 1e-9);
        assert_eq!(plate.sides().len(), 8);
    }

    #[test]
    fn a_tapered_lever_is_that_of_the_rotary_table() {
        // The set-up of `elements::setups::lever`: sweeps and straight sides are the same.
        let lever = elements::setups::lever(12.0, 6.0, 50.0).unwrap();
        let outline = Contour::capsule(([0.0, 0.0], 12.0), ([50.0, 0.0], 6.0));
        let mut sweeps = Vec::new();
        for side in outline.sides() {
            match side {
                Side::Line { .. } => assert!((side.length() - lever.straight).abs() < 1e-9),
                Side::Arc { sweep, .. } => sweeps.push(sweep),
            }
        }
        sweeps.sort_by(f64::total_cmp);
        assert!((sweeps[0] - lever.sweep_small).abs() < 1e-9);
        assert!((sweeps[1] - lever.sweep_big).abs() < 1e-9);
    }

    #[test]
    fn a_bell_crank_gets_its_inside_corner_rounded() {
        let circles = [([0.0, 0.0], 14.0), ([55.0, 0.0], 11.0), ([0.0, 45.0], 11.0)];
        let pairs = [[0, 1], [0, 2]];
        let sharp = Contour::arms(&circles, &pairs, 1e-6).unwrap();
        let round = Contour::arms(&circles, &pairs, 8.0).unwrap();
        assert!(round.area() > sharp.area());
        let inside: Vec<f64> = round
            .sides()
            .iter()
            .filter_map(|s| match s {
                Side::Arc { radius, sweep, .. } if *sweep < 0.0 => Some(*radius),
                _ => None,
            })
            .collect();
        assert_eq!(inside.len(), 1, "{round:?}");
        assert!((inside[0] - 8.0).abs() < 1e-6);
        assert!(circles.iter().all(|c| round.holds(c.0)));
    }

    #[test]
    fn one_line_round_three_circles() {
        let circles = [
            ([0.0, 0.0], 10.0),
            ([60.0, 0.0], 5.0),
            ([0.0, 40.0], 5.0),
            ([10.0, 5.0], 2.0),
        ];
        let round = Contour::around(&circles);
        assert_eq!(round.sides().len(), 6, "{round:?}");
        assert!((round.bounds()[1][0] - 65.0).abs() < 1e-9);
        assert!(Contour::around(&circles[..1]).sides().len() == 2);
    }

    proptest! {
        #[test]
        fn a_stretched_line_is_as_long_as_a_belt(l in 30.0..100.0f64, r in 3.0..10.0f64, more in 0.0..15.0f64) {
            // Two circles: the same outline as the capsule.
            let (a, b) = (([0.0, 0.0], r + more), ([l, 0.0], r));
            let (one, other) = (Contour::around(&[a, b]), Contour::capsule(a, b));
            prop_assert!((one.area() - other.area()).abs() < 1e-6);
        }

        #[test]
        fn offsets_grow_by_perimeter(w in 10.0..80.0f64, h in 10.0..80.0f64, d in 0.5..10.0f64) {
            let plate = Contour::rectangle([0.0, 0.0], [w, h], 0.0);
            let out = plate.moved_out(d).unwrap();
            let expected = w * h + 2.0 * (w + h) * d + PI * d * d;
            prop_assert!((out.area() - expected).abs() < 1e-6 * expected);
        }
    }

    #[test]
    fn a_boss_inside_an_arc_of_more_than_half_a_circle_lies_inside() {
        let d = 222f64.to_radians();
        let circles = [([0.0, 0.0], 4.0), ([20.0 * d.cos(), 20.0 * d.sin()], 23.75)];
        let outline = Contour::arms(&circles, &[[0, 1]], 0.5).unwrap();
        assert!(circles.iter().all(|c| outline.holds(c.0)));
        assert!(!outline.holds([6.0, 6.0]));
    }
}
