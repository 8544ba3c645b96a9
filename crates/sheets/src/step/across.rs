//! Round holes across a solid of layers, and slots with round ends along z: their walls, and what they take out of the walls they go through.
//!
//! Seen along the hole, its circle is cut into strips between the upright edges (and the outermost places of round walls) that it passes over: in
//! a strip the hole enters and leaves the metal through the same walls, so each strip of the hole's own wall is one face for each stretch of metal.

use super::layers::{Layer, Round};
use super::{Curve, P3, Solid, Surface, Way, turned_back};
use shop::contour::{P, Side};
use std::f64::consts::{PI, TAU};

/// Places nearer than this to the hole's wall count as on it, mm.
const NEAR: f64 = 1e-5;
/// Steps of the splines in which a hole meets walls, in half a turn.
const STEPS: f64 = 48.0;

/// A round hole square to z, or a slot: the hole drawn out along z.
#[derive(Clone, Debug)]
pub(crate) struct Across {
    /// What to call it.
    pub(crate) name: String,
    /// A place on its axis.
    pub(crate) at: P3,
    /// Direction of its axis, rad.
    pub(crate) way: f64,
    /// Radius.
    pub(crate) radius: f64,
    /// How far apart the middles of its round ends are along z; 0 for a hole.
    pub(crate) long: f64,
    /// Where it begins and ends along its axis from that place.
    pub(crate) reach: [f64; 2],
}

/// Where a line along the hole goes through the boundary.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Hit {
    of: [usize; 2],
    /// 1 or -1: which half of an arc as seen along the hole; 0 of a straight side.
    half: f64,
}

/// A stretch of metal along the hole: in through one wall, out through another or at the hole's end.
#[derive(Clone, Copy, Debug)]
struct Stretch {
    enters: Hit,
    leaves: Option<Hit>,
}

impl Stretch {
    /// From where to where it goes along the hole, so far beside its axis.
    fn span(&self, hole: &Across, section: &super::Region, w: f64) -> P {
        let stands = |h: Hit| hole.stands(&side(section, h), h.half, w)[0];
        [
            stands(self.enters),
            self.leaves.map_or(hole.reach[1], stands),
        ]
    }
}

impl Across {
    fn axis(&self) -> P3 {
        [self.way.cos(), self.way.sin(), 0.0]
    }

    /// Along and beside its axis, of a place in the section.
    fn seen(&self, p: P) -> P {
        let (s, c) = self.way.sin_cos();
        let d = [p[0] - self.at[0], p[1] - self.at[1]];
        [c * d[0] + s * d[1], -s * d[0] + c * d[1]]
    }

    fn place(&self, [s, w]: P, z: f64) -> P3 {
        let (sin, cos) = self.way.sin_cos();
        [
            self.at[0] + c_s(cos, sin, s, w),
            self.at[1] + sin * s + cos * w,
            z,
        ]
    }

    /// Height of the middle of its upper or its lower end.
    fn end(&self, up: bool) -> f64 {
        self.at[2] + if up { 0.5 } else { -0.5 } * self.long
    }

    /// How far it reaches up and down from its middle.
    fn tall(&self) -> f64 {
        self.radius + self.long / 2.0
    }

    /// Whether two holes meet, as far as the part reaches.
    pub(crate) fn meets(&self, other: &Self, layers: &[Layer]) -> bool {
        if (self.at[2] - other.at[2]).abs() > self.tall() + other.tall() {
            return false;
        }
        let size = layers
            .iter()
            .flat_map(|l| l.low.loops.iter().flatten())
            .map(|s| s.at(0.0)[0].abs().max(s.at(0.0)[1].abs()))
            .fold(0.0, f64::max)
            * 3.0
            + 10.0;
        let corners = |h: &Self| -> Vec<P> {
            let [a, b] = [h.reach[0].max(-size), h.reach[1].min(size)];
            [[a, -1.0], [b, -1.0], [b, 1.0], [a, 1.0]]
                .iter()
                .map(|[s, w]| {
                    let p = h.place([*s, w * h.radius], 0.0);
                    [p[0], p[1]]
                })
                .collect()
        };
        let (a, b) = (corners(self), corners(other));
        // Two rectangles are apart when they are along a side of one of them.
        [
            self.way,
            self.way + PI / 2.0,
            other.way,
            other.way + PI / 2.0,
        ]
        .iter()
        .all(|way| {
            let span = |c: &[P]| {
                let all = c.iter().map(|p| p[0] * way.cos() + p[1] * way.sin());
                all.fold([f64::INFINITY, f64::NEG_INFINITY], |m, x| {
                    [m[0].min(x), m[1].max(x)]
                })
            };
            let (a, b) = (span(&a), span(&b));
            a[0] < b[1] && b[0] < a[1]
        })
    }

    /// Where a line beside the axis goes through a side.
    fn hits(&self, side: &Side, w: f64) -> Vec<(f64, f64)> {
        match *side {
            Side::Line { from, to } => {
                let (a, b) = (self.seen(from), self.seen(to));
                if (a[1] > w) == (b[1] > w) {
                    return Vec::new();
                }
                vec![(a[0] + (w - a[1]) / (b[1] - a[1]) * (b[0] - a[0]), 0.0)]
            }
            Side::Arc { .. } => [1.0, -1.0]
                .into_iter()
                .filter_map(|half| {
                    let (s, angle) = self.on_arc(side, half, w)?;
                    within(side, angle + self.way).then_some((s, half))
                })
                .collect(),
        }
    }

    /// Along the axis where half a circle stands, and its angle there.
    fn on_arc(&self, side: &Side, half: f64, w: f64) -> Option<(f64, f64)> {
        let Side::Arc { centre, radius, .. } = *side else {
            return None;
        };
        let c = self.seen(centre);
        let off = (w - c[1]) / radius;
        (off.abs() <= 1.0 + 1e-9).then(|| {
            let off = off.clamp(-1.0, 1.0);
            let run = (1.0 - off * off).max(0.0).sqrt();
            (c[0] + half * radius * run, off.atan2(half * run))
        })
    }

    /// Where a wall stands along the axis, and how that changes with the place beside it.
    fn stands(&self, side: &Side, half: f64, w: f64) -> P {
        match *side {
            Side::Line { from, to } => {
                let (a, b) = (self.seen(from), self.seen(to));
                let slope = (b[0] - a[0]) / (b[1] - a[1]);
                [a[0] + (w - a[1]) * slope, slope]
            }
            Side::Arc { centre, radius, .. } => {
                let c = self.seen(centre);
                let off = w - c[1];
                let run = (radius * radius - off * off).max(1e-18).sqrt();
                [c[0] + half * run, -half * off / run]
            }
        }
    }

    fn error(&self, why: &str) -> String {
        format!("its hole {} across, {why}", self.name)
    }
}

fn c_s(cos: f64, sin: f64, s: f64, w: f64) -> f64 {
    cos * s - sin * w
}

fn within(side: &Side, angle: f64) -> bool {
    match *side {
        Side::Arc { from, sweep, .. } => {
            let along = if sweep > 0.0 {
                angle - from
            } else {
                from - angle
            };
            along.rem_euclid(TAU) < sweep.abs()
        }
        Side::Line { .. } => false,
    }
}

/// Cuts a hole.
pub(super) fn cut(
    solid: &mut Solid,
    layers: &[Layer],
    rounds: &mut [Round],
    hole: &Across,
) -> Result<(), String> {
    let (r, z, tall) = (hole.radius, hole.at[2], hole.tall());
    let k = layers
        .iter()
        .position(|l| l.z[0] <= z && z < l.z[1])
        .ok_or_else(|| hole.error("which meets no metal"))?;
    let section = &layers[k].low;
    let strips = strips(hole, &section.loops)?;
    // Other layers that it goes through have to be the same where it goes.
    let shoulder = || hole.error("which meets a shoulder, an end or a chamfer");
    let mut covered = [f64::INFINITY, f64::NEG_INFINITY];
    for l in layers
        .iter()
        .filter(|l| l.z[0] < z + tall + NEAR && l.z[1] > z - tall - NEAR)
    {
        covered = [covered[0].min(l.z[0]), covered[1].max(l.z[1])];
        for other in [&l.low, &l.high] {
            let found = self::strips(hole, &other.loops).map_err(|_| shoulder())?;
            if !same(&found, other, &strips, section) {
                return Err(shoulder());
            }
        }
    }
    if covered[0] > z - tall - NEAR || covered[1] < z + tall + NEAR {
        return Err(shoulder());
    }
    // Each wall that it goes through has to be one over its whole height.
    for hit in strips
        .iter()
        .flat_map(|s| &s.2)
        .flat_map(|m| [Some(m.enters), m.leaves])
        .flatten()
    {
        let wall = wall(rounds, k, hit).ok_or_else(shoulder)?;
        if wall.z[0] > z - tall - NEAR || wall.z[1] < z + tall + NEAR {
            return Err(shoulder());
        }
    }
    let mut ends_inside = 0;
    let mut runs = Runs::default();
    // First where each strip's edges along the hole are cut up, then the faces.
    for (a, b, metal) in &strips {
        for w in [*a, *b] {
            for up in [true, false] {
                for m in metal {
                    runs.mark(hole, w, up, m.span(hole, section, w));
                }
            }
        }
    }
    let mut disc: Vec<Way> = Vec::new();
    for (a, b, metal) in &strips {
        for m in metal {
            ends_inside += usize::from(m.leaves.is_none());
            for up in [true, false] {
                let [from, to] = angles(*a, *b, r, up);
                let mut run = |hit: Option<Hit>| {
                    meeting(
                        solid,
                        hole,
                        hit.map(|h| (side(section, h), h.half)),
                        [from, to],
                    )
                };
                let (enters, leaves) = (run(Some(m.enters))?, run(m.leaves)?);
                let mut line = |angle: f64, forward: bool| {
                    let w = r * angle.cos();
                    let high = hole.end(up) + r * angle.sin();
                    let span = m.span(hole, section, w);
                    runs.line(solid, hole, (w, up, high), span, forward)
                };
                // Seen from the hole: out along its beginning, on round where it leaves, back.
                let mut ways = line(from, true);
                ways.push(leaves);
                ways.extend(line(to, false));
                ways.push((enters.0, !enters.1));
                let axis = [hole.at[0], hole.at[1], hole.end(up)];
                let surface = Surface::Cylinder(axis, hole.axis(), r, false);
                solid.faces.push((surface, vec![ways]));
                bite(rounds, k, m.enters, enters)?;
                match m.leaves {
                    Some(hit) => bite(rounds, k, hit, (leaves.0, !leaves.1))?,
                    None => disc.push((leaves.0, !leaves.1)),
                }
            }
            solid.volume -= taken(hole, section, m, [*a, *b]);
        }
    }
    if hole.long > 0.0 {
        let outermost = [(strips.last(), r, false), (strips.first(), -r, true)];
        for (strip, w, down) in outermost {
            for m in strip.into_iter().flat_map(|s| &s.2) {
                let way = flank(solid, hole, &mut runs, w, down, m.span(hole, section, w));
                let [enters, leaves] = way;
                bite(rounds, k, m.enters, enters)?;
                match m.leaves {
                    Some(hit) => bite(rounds, k, hit, (leaves.0, !leaves.1))?,
                    None => disc.push((leaves.0, !leaves.1)),
                }
            }
        }
    }
    let straight = runs.straight;
    if ends_inside > 0 {
        if ends_inside != strips.len() {
            return Err(hole.error("which ends on an edge"));
        }
        let axis = hole.axis();
        let loops = solid
            .loops(&disc)
            .ok_or_else(|| hole.error("whose end does not close"))?;
        let at = hole.place([hole.reach[1], 0.0], z);
        solid
            .faces
            .push((Surface::Plane(at, axis.map(|x| -x)), loops));
    }
    along_walls(rounds, k, hole, section, &straight)?;
    posts(rounds, k, hole);
    Ok(())
}

/// Edges along the hole that only one strip uses lie on a wall along the hole.
fn along_walls(
    rounds: &mut [Round],
    k: usize,
    hole: &Across,
    section: &super::Region,
    straight: &[(Way, f64, P)],
) -> Result<(), String> {
    for (way, w, [s0, s1]) in straight {
        if straight.iter().filter(|o| o.0.0 == way.0).count() > 1 {
            continue;
        }
        let middle = f64::midpoint(*s0, *s1);
        let wall = section.loops.iter().enumerate().find_map(|(l, sides)| {
            let n = sides.iter().position(|s| match *s {
                Side::Line { from, to } => {
                    let (a, b) = (hole.seen(from), hole.seen(to));
                    (a[1] - w).abs() < NEAR
                        && (b[1] - w).abs() < NEAR
                        && (a[0] - middle) * (b[0] - middle) < 0.0
                }
                Side::Arc { .. } => false,
            })?;
            Some([l, n])
        });
        let of = wall.ok_or_else(|| hole.error("which touches a wall"))?;
        bite(rounds, k, Hit { of, half: 0.0 }, (way.0, !way.1))?;
    }
    Ok(())
}

fn side(section: &super::Region, hit: Hit) -> Side {
    section.loops[hit.of[0]][hit.of[1]]
}

/// Edges along a hole: where each is cut up, and those that were laid.
#[derive(Default)]
struct Runs {
    /// Beside the axis, of the upper half, and the places along it where edges end.
    cuts: Vec<(f64, bool, Vec<f64>)>,
    /// The edges with their place beside the axis and their stretch along it.
    straight: Vec<(Way, f64, P)>,
}

impl Runs {
    /// At its outermost places the two halves of a round hole have one line.
    fn same(hole: &Across, line: &(f64, bool, Vec<f64>), w: f64, up: bool) -> bool {
        let outermost = hole.long <= 0.0 && (w.abs() - hole.radius).abs() < 1e-7;
        (line.0 - w).abs() < 1e-7 && (line.1 == up || outermost)
    }

    fn mark(&mut self, hole: &Across, w: f64, up: bool, at: P) {
        let own = self.cuts.iter_mut();
        match own.into_iter().find(|l| Self::same(hole, l, w, up)) {
            Some(l) => l.2.extend(at),
            None => self.cuts.push((w, up, at.to_vec())),
        }
    }

    /// The edges of one line, cut up, from here to there or back.
    fn line(
        &mut self,
        solid: &mut Solid,
        hole: &Across,
        (w, up, high): (f64, bool, f64),
        [s0, s1]: P,
        forward: bool,
    ) -> Vec<Way> {
        let mut cuts: Vec<f64> = self
            .cuts
            .iter()
            .filter(|l| Self::same(hole, l, w, up))
            .flat_map(|l| l.2.iter().copied())
            .filter(|s| *s > s0 + 1e-6 && *s < s1 - 1e-6)
            .collect();
        cuts.extend([s0, s1]);
        cuts.sort_by(f64::total_cmp);
        cuts.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        let ways: Vec<Way> = cuts
            .windows(2)
            .map(|c| {
                let (n, f) = solid.line(hole.place([c[0], w], high), hole.place([c[1], w], high));
                self.straight.push(((n, f == forward), w, [c[0], c[1]]));
                (n, f)
            })
            .collect();
        if forward { ways } else { turned_back(ways) }
    }
}

/// The flat side of a slot between its round ends; back come its edges where it enters and leaves, as they are gone from its beginning.
fn flank(
    solid: &mut Solid,
    hole: &Across,
    runs: &mut Runs,
    w: f64,
    down: bool,
    span: P,
) -> [Way; 2] {
    let (first, last) = (hole.end(down), hole.end(!down));
    let upright =
        |solid: &mut Solid, s: f64| solid.line(hole.place([s, w], first), hole.place([s, w], last));
    let (enters, leaves) = (upright(solid, span[0]), upright(solid, span[1]));
    let mut ways = runs.line(solid, hole, (w, down, first), span, true);
    ways.push(leaves);
    ways.extend(runs.line(solid, hole, (w, !down, last), span, false));
    ways.push((enters.0, !enters.1));
    let (sin, cos) = hole.way.sin_cos();
    let out = -w.signum();
    let normal = [-sin * out, cos * out, 0.0];
    let at = hole.place([span[0], w], hole.at[2]);
    solid.faces.push((Surface::Plane(at, normal), vec![ways]));
    [enters, leaves]
}

/// Angles about the hole's axis between which a strip lies, the upper or the lower one.
fn angles(a: f64, b: f64, r: f64, up: bool) -> [f64; 2] {
    let angle = |w: f64| (w / r).clamp(-1.0, 1.0).acos();
    if up {
        [angle(b), angle(a)]
    } else {
        [TAU - angle(a), TAU - angle(b)]
    }
}

/// What a hole goes through, strip by strip: from here to there beside its axis, and each stretch of metal.
fn strips(hole: &Across, loops: &[Vec<Side>]) -> Result<Vec<Strip>, String> {
    let r = hole.radius;
    let mut places = vec![-r, r];
    for s in loops.iter().flatten() {
        let corner = hole.seen(s.at(0.0));
        let reached = |at: f64| at > hole.reach[0] - r && at < hole.reach[1] + r;
        let mut found = vec![corner[1]];
        found.retain(|_| reached(corner[0]));
        if let Side::Arc { centre, radius, .. } = *s {
            let c = hole.seen(centre);
            for (turn, w) in [(PI / 2.0, c[1] + radius), (-PI / 2.0, c[1] - radius)] {
                if within(s, turn + hole.way) && reached(c[0]) {
                    found.push(w);
                }
            }
        }
        if (corner[1].abs() - r).abs() < NEAR
            && corner[0] < hole.reach[1] + NEAR
            && corner[0] > hole.reach[0]
        {
            return Err(hole.error("which touches an edge"));
        }
        places.extend(found.into_iter().filter(|w| w.abs() < r - NEAR));
    }
    places.sort_by(f64::total_cmp);
    places.dedup_by(|a, b| (*a - *b).abs() < 1e-7);
    let mut strips = Vec::new();
    for pair in places.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let middle = f64::midpoint(a, b);
        let mut hits: Vec<(f64, Hit)> = Vec::new();
        for (l, sides) in loops.iter().enumerate() {
            for (n, s) in sides.iter().enumerate() {
                let found = hole.hits(s, middle).into_iter();
                hits.extend(found.map(|(at, half)| (at, Hit { of: [l, n], half })));
            }
        }
        hits.sort_by(|x, y| x.0.total_cmp(&y.0));
        if hits.len() % 2 == 1 {
            return Err(hole.error("which touches an edge"));
        }
        let mut metal = Vec::new();
        for w in hits.chunks_exact(2) {
            let stands = |hit: Hit| {
                let s = loops[hit.of[0]][hit.of[1]];
                [a, middle, b].map(|w| hole.stands(&s, hit.half, w)[0])
            };
            let (enters, leaves) = (stands(w[0].1), stands(w[1].1));
            if leaves.iter().all(|s| *s < hole.reach[0] + NEAR)
                || enters.iter().all(|s| *s > hole.reach[1] - NEAR)
            {
                continue;
            }
            if enters
                .iter()
                .any(|s| *s < hole.reach[0] + NEAR || *s > hole.reach[1] - NEAR)
            {
                return Err(hole.error("which ends on an edge"));
            }
            let ends = leaves.iter().filter(|s| **s > hole.reach[1] + NEAR).count();
            if ends > 0 && ends < 3 || leaves.iter().any(|s| (*s - hole.reach[1]).abs() < NEAR) {
                return Err(hole.error("which ends on an edge"));
            }
            metal.push(Stretch {
                enters: w[0].1,
                leaves: (ends == 0).then_some(w[1].1),
            });
        }
        strips.push((a, b, metal));
    }
    if strips.iter().all(|s| s.2.is_empty()) {
        return Err(hole.error("which meets no metal"));
    }
    Ok(strips)
}

/// The edge in which a hole meets a wall (or its own flat end), by angle about the hole's axis.
fn meeting(
    solid: &mut Solid,
    hole: &Across,
    wall: Option<(Side, f64)>,
    [from, to]: [f64; 2],
) -> Result<Way, String> {
    let (r, z) = (hole.radius, hole.end(from < PI));
    let stands = |w: f64| wall.map_or([hole.reach[1], 0.0], |(s, half)| hole.stands(&s, half, w));
    let [a, b] = [from, to].map(|angle| {
        let w = r * angle.cos();
        hole.place([stands(w)[0], w], z + r * angle.sin())
    });
    let level = match wall {
        Some((Side::Arc { .. }, _)) => false,
        Some(_) => stands(0.0)[1].abs() < 1e-12,
        None => true,
    };
    if level {
        let curve = Curve::Arc {
            centre: hole.place([stands(0.0)[0], 0.0], z),
            axis: hole.axis(),
            radius: r,
        };
        return Ok(solid.curve(a, b, curve));
    }
    // By the angle about the hole, or about the wall's own axis where the strip ends on the wall's outermost place.
    let steps = (STEPS * (to - from) / PI).ceil().max(6.0);
    let about = |wall: Side, half: f64| -> Option<[f64; 2]> {
        let Side::Arc { centre, radius, .. } = wall else {
            return None;
        };
        let c = hole.seen(centre)[1];
        let share = |angle: f64| (r * angle.cos() - c) / radius;
        let (f, t) = (share(from), share(to));
        let _ = half;
        (f.abs() > 1.0 - 1e-6 || t.abs() > 1.0 - 1e-6)
            .then(|| [f, t].map(|x| x.clamp(-1.0, 1.0).asin()))
    };
    let (side, half) = wall.ok_or_else(|| hole.error("which has no end"))?;
    let mut nodes = Vec::new();
    let own = about(side, half);
    for n in 0..=steps as u32 {
        let share = f64::from(n) / steps;
        // s, w, height over the axis and their derivatives by one step.
        let (place, rate) = match (own, side) {
            (Some([f, t]), Side::Arc { centre, radius, .. }) => {
                let turn = f + share * (t - f);
                let d = (t - f) / steps;
                let c = hole.seen(centre);
                let w = c[1] + radius * turn.sin();
                let up = if from < PI { 1.0 } else { -1.0 };
                let high = up * (r * r - w * w).max(0.0).sqrt();
                if high.abs() < 1e-6 {
                    return Err(hole.error("as wide as the wall that it meets"));
                }
                let dw = radius * turn.cos() * d;
                (
                    [c[0] + half * radius * turn.cos(), w, high],
                    [-half * radius * turn.sin() * d, dw, -w * dw / high],
                )
            }
            _ => {
                let angle = from + share * (to - from);
                let d = (to - from) / steps;
                let w = r * angle.cos();
                let [s, slope] = stands(w);
                let dw = -r * angle.sin() * d;
                (
                    [s, w, r * angle.sin()],
                    [slope * dw, dw, r * angle.cos() * d],
                )
            }
        };
        let at = hole.place([place[0], place[1]], z + place[2]);
        let (sin, cos) = hole.way.sin_cos();
        let tangent = [
            cos * rate[0] - sin * rate[1],
            sin * rate[0] + cos * rate[1],
            rate[2],
        ];
        nodes.push([at, tangent]);
    }
    Ok(solid.curve(a, b, Curve::Spline(nodes)))
}

fn wall(rounds: &mut [Round], k: usize, hit: Hit) -> Option<&mut super::layers::Wall> {
    rounds
        .iter_mut()
        .find(|r| r.layers.contains(&k) && r.loops.get(k - r.layers.start()) == Some(&hit.of[0]))
        .and_then(|r| r.walls.get_mut(hit.of[1]))
}

fn bite(rounds: &mut [Round], k: usize, hit: Hit, way: Way) -> Result<(), String> {
    let wall = wall(rounds, k, hit);
    wall.ok_or("a wall that is missing")?.bites.push(way);
    Ok(())
}

type Strip = (f64, f64, Vec<Stretch>);

/// Whether a hole goes through the same walls in two sections.
fn same(a: &[Strip], of: &super::Region, b: &[Strip], other: &super::Region) -> bool {
    let hit = |x: Hit, y: Hit| {
        let (s, t) = (side(of, x), side(other, y));
        x.half == y.half
            && [0.0, 0.5, 1.0]
                .iter()
                .all(|u| super::region::far(s.at(*u), t.at(*u)) < 1e-7)
    };
    a.len() == b.len()
        && a.iter().zip(b).all(|(x, y)| {
            (x.0 - y.0).abs() < 1e-7
                && x.2.len() == y.2.len()
                && x.2.iter().zip(&y.2).all(|(x, y)| {
                    hit(x.enters, y.enters)
                        && match (x.leaves, y.leaves) {
                            (Some(x), Some(y)) => hit(x, y),
                            (None, None) => true,
                            _ => false,
                        }
                })
        })
}

/// Takes out of the upright edges what the hole passes over.
fn posts(rounds: &mut [Round], k: usize, hole: &Across) {
    let (r, z, half) = (hole.radius, hole.at[2], hole.long / 2.0);
    for round in rounds.iter_mut().filter(|r| r.layers.contains(&k)) {
        for (post, wall) in round.posts.iter_mut().zip(&round.walls) {
            let [s, w] = hole.seen(wall.side[0].at(0.0));
            if w.abs() < r && s > hole.reach[0] && s < hole.reach[1] {
                let high = half + (r * r - w * w).sqrt();
                post.cuts.push([z - high, z + high]);
            }
        }
    }
}

/// Volume of a stretch of metal over a strip, mm³: Gauss's rule by the angle about the hole.
fn taken(hole: &Across, section: &super::Region, m: &Stretch, [a, b]: [f64; 2]) -> f64 {
    const PIECES: u32 = 24;
    // Two points of Gauss on each of many short pieces.
    let node = 0.5 / 3f64.sqrt();
    let r = hole.radius;
    let [from, to] = angles(a, b, r, true);
    let step = (to - from) / f64::from(PIECES);
    let mut sum = 0.0;
    for n in 0..PIECES {
        for x in [0.5 - node, 0.5 + node] {
            let angle = from + (f64::from(n) + x) * step;
            let w = r * angle.cos();
            let [s0, s1] = m.span(hole, section, w);
            let high = 2.0 * r * angle.sin() + hole.long;
            sum += (s1 - s0) * high * r * angle.sin() * step / 2.0;
        }
    }
    sum
}
