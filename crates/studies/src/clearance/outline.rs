//! Closed outlines of straight edges: how far two of them stand apart, or how deep one runs into the other.
//!
//! Edges are kept in short runs, each with a circle round it; two runs are looked at only where their circles stand closer than what was found
//! already. Arcs are laid out as chords that stray from them by no more than [`CHORD`].

use std::f64::consts::{PI, TAU};

/// A place in a plane, mm.
pub(crate) type P = [f64; 2];

/// Chords stray from their arcs by no more than this, mm, half of it to either side.
pub(crate) const CHORD: f64 = 0.01;
/// Edges of a run.
const RUN: usize = 8;
/// Less room than this between two stretches is none, mm.
const ROOM: f64 = 1e-9;
/// Directions all round along which two outlines are moved apart, and of how many of the longest edges of each the squares.
const WAYS: u32 = 24;
const LONG: usize = 8;

fn sub(a: P, b: P) -> P {
    [a[0] - b[0], a[1] - b[1]]
}

fn dot(a: P, b: P) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

fn cross(a: P, b: P) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

/// A place and a turn.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Stands {
    pub(crate) at: P,
    pub(crate) turn: f64,
}

impl Stands {
    pub(crate) fn place(&self, [u, v]: P) -> P {
        let (s, c) = self.turn.sin_cos();
        [self.at[0] + c * u - s * v, self.at[1] + s * u + c * v]
    }
}

/// An outline in its own coordinates, counter-clockwise or clockwise, its last corner joined to its first.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Outline {
    corners: Vec<P>,
    /// Circle round each run of edges: centre and radius.
    runs: Vec<(P, f64)>,
    /// Circle round all of it.
    pub(crate) middle: P,
    pub(crate) radius: f64,
}

/// An outline where it stands.
pub(crate) struct Placed<'o> {
    outline: &'o Outline,
    corners: Vec<P>,
    runs: Vec<P>,
    middle: P,
    stands: Stands,
}

/// How two outlines stand to one another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Apart {
    /// Distance, mm; less than nothing: how deep a corner of the one lies inside the other.
    pub(crate) distance: f64,
    /// Where, in the middle between both.
    pub(crate) place: P,
}

impl Outline {
    pub(crate) fn new(corners: Vec<P>) -> Option<Self> {
        if corners.len() < 3 || corners.iter().flatten().any(|x| !x.is_finite()) {
            return None;
        }
        let round = |points: &[P]| {
            let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
            for p in points {
                low = [low[0].min(p[0]), low[1].min(p[1])];
                high = [high[0].max(p[0]), high[1].max(p[1])];
            }
            let middle = [0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1])];
            let far = points
                .iter()
                .map(|p| (p[0] - middle[0]).hypot(p[1] - middle[1]));
            (middle, far.fold(0.0, f64::max))
        };
        let n = corners.len();
        let runs = (0..n.div_ceil(RUN))
            .map(|k| {
                let run: Vec<P> = (k * RUN..=((k + 1) * RUN).min(n))
                    .map(|i| corners[i % n])
                    .collect();
                round(&run)
            })
            .collect();
        let (middle, radius) = round(&corners);
        Some(Self {
            corners,
            runs,
            middle,
            radius,
        })
    }

    /// A bar from the origin along x with round ends.
    pub(crate) fn capsule(length: f64, radius: f64) -> Option<Self> {
        let mut corners = Vec::new();
        arc(&mut corners, [0.0; 2], radius, 0.5 * PI, PI);
        arc(&mut corners, [length, 0.0], radius, -0.5 * PI, PI);
        Self::new(corners)
    }

    /// A circle about the origin.
    pub(crate) fn circle(radius: f64) -> Option<Self> {
        let mut corners = Vec::new();
        arc(&mut corners, [0.0; 2], radius, 0.0, TAU);
        corners.pop();
        Self::new(corners)
    }

    /// What a part is cut to.
    pub(crate) fn of(contour: &shop::contour::Contour) -> Option<Self> {
        let mut corners: Vec<P> = Vec::new();
        for side in contour.sides() {
            match side {
                shop::contour::Side::Line { from, .. } => corners.push(from),
                shop::contour::Side::Arc {
                    centre,
                    radius,
                    from,
                    sweep,
                } => {
                    arc(&mut corners, centre, radius, from, sweep);
                    corners.pop();
                }
            }
        }
        Self::new(corners)
    }

    /// Moved by this placement for good: other own coordinates.
    pub(crate) fn shifted(&self, by: Stands) -> Option<Self> {
        Self::new(self.corners.iter().map(|&p| by.place(p)).collect())
    }

    /// How far it reaches from a place in its own axes.
    pub(crate) fn farthest(&self, from: P) -> f64 {
        let corners = self.corners.iter();
        corners
            .map(|p| (p[0] - from[0]).hypot(p[1] - from[1]))
            .fold(0.0, f64::max)
    }

    pub(crate) fn placed(&self, stands: Stands) -> Placed<'_> {
        let (s, c) = stands.turn.sin_cos();
        let put = |p: &P| {
            [
                stands.at[0] + c * p[0] - s * p[1],
                stands.at[1] + s * p[0] + c * p[1],
            ]
        };
        Placed {
            outline: self,
            corners: self.corners.iter().map(put).collect(),
            runs: self.runs.iter().map(|r| put(&r.0)).collect(),
            middle: put(&self.middle),
            stands,
        }
    }
}

/// Chords of an arc, both ends among them; half of what they stray lies outside of it, half inside.
fn arc(corners: &mut Vec<P>, centre: P, radius: f64, from: f64, sweep: f64) {
    let step = 2.0 * (1.0 - (CHORD / radius.max(CHORD)).min(1.0)).acos();
    let count = (sweep.abs() / step.max(1e-3)).ceil().max(1.0) as usize;
    let step = sweep / count as f64;
    // The sagitta of a chord is r (1 − cos step/2).
    let out = radius * (1.0 + 0.5 * (1.0 - (0.5 * step).cos()));
    for i in 0..=count {
        let (s, c) = (from + step * i as f64).sin_cos();
        let r = if i == 0 || i == count { radius } else { out };
        corners.push([centre[0] + r * c, centre[1] + r * s]);
    }
}

impl Placed<'_> {
    /// In other coordinates, by what takes the one to the other without stretching.
    pub(crate) fn laid(mut self, to: impl Fn(P) -> P) -> Self {
        let all = self.corners.iter_mut().chain(&mut self.runs);
        for p in all.chain([&mut self.middle]) {
            *p = to(*p);
        }
        self
    }

    /// How its outline was put there, before it was laid into other coordinates.
    pub(crate) fn stands(&self) -> Stands {
        self.stands
    }

    /// A circle round all of it: centre and radius.
    pub(crate) fn round(&self) -> (P, f64) {
        (self.middle, self.outline.radius)
    }

    fn edge(&self, i: usize) -> [P; 2] {
        [self.corners[i], self.corners[(i + 1) % self.corners.len()]]
    }

    /// How far it has moved from where it stood before: the farthest of its runs of edges.
    pub(crate) fn moved(&self, before: &Self) -> f64 {
        let far = |(p, q): (&P, &P)| {
            let d = sub(*p, *q);
            d[0].hypot(d[1])
        };
        self.runs
            .iter()
            .zip(&before.runs)
            .map(far)
            .fold(0.0, f64::max)
    }

    /// At least so far apart.
    pub(crate) fn at_least(&self, other: &Self) -> f64 {
        let d = sub(self.middle, other.middle);
        d[0].hypot(d[1]) - self.outline.radius - other.outline.radius
    }

    /// Its corners where it stands.
    pub(crate) fn corners(&self) -> &[P] {
        &self.corners
    }

    /// A place lies inside (crossings of a ray, counted).
    fn holds(&self, [x, y]: P) -> bool {
        let mut inside = false;
        for i in 0..self.corners.len() {
            let [a, b] = self.edge(i);
            if (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]) {
                inside = !inside;
            }
        }
        inside
    }

    /// Distance of a place to the edges, and the nearest place on them.
    fn to_edges(&self, p: P) -> (f64, P) {
        let mut best = (f64::INFINITY, p);
        for i in 0..self.corners.len() {
            let [a, b] = self.edge(i);
            let on = nearest(p, a, b);
            let d = sub(p, on);
            let far = dot(d, d);
            if far < best.0 {
                best = (far, on);
            }
        }
        (best.0.sqrt(), best.1)
    }

    /// How two outlines stand to one another; none when they stand further apart than `within`.
    pub(crate) fn apart(&self, other: &Self, within: f64) -> Option<Apart> {
        if self.at_least(other) > within {
            return None;
        }
        let mut best = within.max(0.0);
        let mut square = best * best;
        let mut found: Option<Apart> = None;
        let mut meet = false;
        for (k, (a, (_, r))) in self.runs.iter().zip(&self.outline.runs).enumerate() {
            for (l, (b, (_, q))) in other.runs.iter().zip(&other.outline.runs).enumerate() {
                let d = sub(*a, *b);
                let reach = best + r + q;
                if dot(d, d) > reach * reach {
                    continue;
                }
                for i in k * RUN..((k + 1) * RUN).min(self.corners.len()) {
                    let [p, p2] = self.edge(i);
                    for j in l * RUN..((l + 1) * RUN).min(other.corners.len()) {
                        let [q, q2] = other.edge(j);
                        if crosses(p, p2, q, q2) {
                            meet = true;
                            (best, square) = (0.0, 0.0);
                            continue;
                        }
                        for (x, y) in [
                            (p, nearest(p, q, q2)),
                            (p2, nearest(p2, q, q2)),
                            (nearest(q, p, p2), q),
                            (nearest(q2, p, p2), q2),
                        ] {
                            let d = sub(x, y);
                            let far = dot(d, d);
                            if far <= square {
                                square = far;
                                best = far.sqrt();
                                let place = [0.5 * (x[0] + y[0]), 0.5 * (x[1] + y[1])];
                                found = Some(Apart {
                                    distance: best,
                                    place,
                                });
                            }
                        }
                    }
                }
            }
        }
        if !meet {
            meet = self.holds(other.corners[0]) || other.holds(self.corners[0]);
        }
        if meet { Some(self.deep(other)) } else { found }
    }

    /// A place lies inside, or on the edge by less than this.
    pub(crate) fn reaches(&self, p: P, within: f64) -> bool {
        self.holds(p) || self.to_edges(p).0 <= within
    }

    /// How far this outline has to be moved, straight and the shortest way, until the two do not lie over one another; nothing where they do not
    /// meet. Ways square to the long edges of both are tried, and some all round.
    pub(crate) fn retreat(&self, other: &Self) -> f64 {
        let round = (0..WAYS).map(|k| PI * f64::from(k) / f64::from(WAYS));
        let square = [self, other].into_iter().flat_map(|one| {
            let mut edges: Vec<(f64, f64)> = (0..one.corners.len())
                .map(|i| {
                    let [a, b] = one.edge(i);
                    let d = sub(b, a);
                    (d[0].hypot(d[1]), (-d[0]).atan2(d[1]))
                })
                .collect();
            edges.sort_by(|a, b| b.0.total_cmp(&a.0));
            edges.truncate(LONG);
            edges.into_iter().map(|(_, angle)| angle)
        });
        let far = round.chain(square).map(|angle| self.along(other, angle));
        far.reduce(f64::min).unwrap_or(0.0).max(0.0)
    }

    /// The same along one direction, either way. Between two corners the stretches of both along a line run straight, so that the ways by which
    /// one of them would lie over another are known from both ends of each strip.
    fn along(&self, other: &Self, angle: f64) -> f64 {
        let (s, c) = angle.sin_cos();
        // Across and along the way.
        let seen = |one: &Self| -> Vec<P> {
            let turned = one.corners.iter();
            turned
                .map(|p| [c * p[1] - s * p[0], c * p[0] + s * p[1]])
                .collect()
        };
        let (a, b) = (seen(self), seen(other));
        let ends = |all: &[P]| {
            all.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |e, p| {
                [e[0].min(p[0]), e[1].max(p[0])]
            })
        };
        let (ea, eb) = (ends(&a), ends(&b));
        let (low, high) = (ea[0].max(eb[0]), ea[1].min(eb[1]));
        if high <= low {
            return 0.0;
        }
        let mut strips: Vec<f64> = a.iter().chain(&b).map(|p| p[0]).collect();
        strips.retain(|x| *x > low && *x < high);
        strips.extend([low, high]);
        strips.sort_by(f64::total_cmp);
        let beside = 1e-9 * (high - low);
        let mut blocked: Vec<[f64; 2]> = Vec::new();
        for pair in strips.windows(2) {
            let sides = [pair[0] + beside, pair[1] - beside];
            if sides[1] <= sides[0] {
                continue;
            }
            let own = sides.map(|x| spans(&a, x));
            let others = sides.map(|x| spans(&b, x));
            for (p, p2) in own[0].iter().zip(&own[1]) {
                for (q, q2) in others[0].iter().zip(&others[1]) {
                    blocked.push([
                        (q[0] - p[1]).min(q2[0] - p2[1]),
                        (q[1] - p[0]).max(q2[1] - p2[0]),
                    ]);
                }
            }
        }
        let forth = free(&mut blocked);
        for way in &mut blocked {
            *way = [-way[1], -way[0]];
        }
        forth.min(free(&mut blocked))
    }

    /// How deep the deepest corner of the one lies inside the other.
    fn deep(&self, other: &Self) -> Apart {
        let mut deepest = Apart {
            distance: 0.0,
            place: self.middle,
        };
        for (one, two) in [(self, other), (other, self)] {
            for &p in &one.corners {
                if two.holds(p) {
                    let (far, on) = two.to_edges(p);
                    if -far <= deepest.distance {
                        deepest = Apart {
                            distance: -far,
                            place: [0.5 * (p[0] + on[0]), 0.5 * (p[1] + on[1])],
                        };
                    }
                }
            }
        }
        deepest
    }
}

/// The least way from nothing on that no stretch blocks; one that only touches the next leaves no room between.
pub(super) fn free(blocked: &mut [[f64; 2]]) -> f64 {
    blocked.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut reach = 0.0;
    for way in blocked.iter() {
        if way[0] > reach + ROOM {
            break;
        }
        reach = way[1].max(reach);
    }
    reach
}

/// Where a line across at this place runs inside a closed outline.
fn spans(corners: &[P], x: f64) -> Vec<[f64; 2]> {
    let mut all: Vec<f64> = Vec::new();
    for (i, a) in corners.iter().enumerate() {
        let b = corners[(i + 1) % corners.len()];
        if (a[0] > x) != (b[0] > x) {
            all.push(a[1] + (x - a[0]) / (b[0] - a[0]) * (b[1] - a[1]));
        }
    }
    all.sort_by(f64::total_cmp);
    all.chunks_exact(2).map(|c| [c[0], c[1]]).collect()
}

fn nearest(p: P, a: P, b: P) -> P {
    let d = sub(b, a);
    let long = dot(d, d);
    let t = if long > 0.0 {
        (dot(sub(p, a), d) / long).clamp(0.0, 1.0)
    } else {
        0.0
    };
    [a[0] + t * d[0], a[1] + t * d[1]]
}

fn crosses(p: P, p2: P, q: P, q2: P) -> bool {
    let (d, e) = (sub(p2, p), sub(q2, q));
    let (a, b) = (cross(d, sub(q, p)), cross(d, sub(q2, p)));
    let (c, f) = (cross(e, sub(p, q)), cross(e, sub(p2, q)));
    a * b < 0.0 && c * f < 0.0
}
