//! A solid of layers along z, each between its section below and its section above; walls that go on from layer to layer are one face.

use super::across::{self, Across};
use super::keyed::{self, Moon, Rounded};
use super::region::{self, Lies, Piece, Region, area, chained};
use super::{Curve, P3, Solid, Surface, Way, turned_back};
use shop::contour::{P, Side};

/// A layer.
#[derive(Clone, Debug)]
pub(crate) struct Layer {
    /// Where it begins and ends.
    pub(crate) z: [f64; 2],
    /// Its section below.
    pub(crate) low: Region,
    /// Its section above: the same, or the same with other radii. Where a cone is cut by flats, sides may have no length at one end.
    pub(crate) high: Region,
    /// Its volume where it is not that of cones, mm³.
    pub(crate) volume: Option<f64>,
}

impl Layer {
    /// A layer with one section.
    pub(crate) fn straight(z: [f64; 2], section: Region) -> Self {
        Self {
            z,
            low: section.clone(),
            high: section,
            volume: None,
        }
    }

    /// Whether both sections have the same sides, but for radii.
    pub(crate) fn matched(&self) -> bool {
        let form = |s: &Side| matches!(s, Side::Line { .. });
        self.low.loops.len() == self.high.loops.len()
            && self.low.loops.iter().zip(&self.high.loops).all(|(a, b)| {
                a.len() == b.len()
                    && a.iter().zip(b).all(|(a, b)| {
                        form(a) == form(b) && (!form(a) || alike(a, b) || self.volume.is_some())
                    })
            })
    }

    /// Whether another layer goes on with the section that this one ends with.
    pub(crate) fn goes_on(&self, next: &Self) -> bool {
        let both = Self {
            z: self.z,
            low: self.high.clone(),
            high: next.low.clone(),
            volume: None,
        };
        self.is_straight() && next.is_straight() && both.matched() && both.is_straight()
    }

    pub(super) fn is_straight(&self) -> bool {
        let sides = |r: &Region| r.loops.concat();
        self.low.loops.len() == self.high.loops.len()
            && sides(&self.low)
                .iter()
                .zip(&sides(&self.high))
                .all(|(a, b)| alike(a, b))
    }

    /// Its volume: by the prismoidal rule, exact for cones, where it is not told.
    fn volume(&self) -> f64 {
        if let Some(volume) = self.volume {
            return volume;
        }
        let middle: f64 = self
            .low
            .loops
            .iter()
            .zip(&self.high.loops)
            .map(|(a, b)| {
                let half: Vec<Side> = a.iter().zip(b).map(|(a, b)| between(a, b)).collect();
                area(&half)
            })
            .sum();
        (self.z[1] - self.z[0]) / 6.0 * (self.low.area() + 4.0 * middle + self.high.area())
    }
}

fn alike(a: &Side, b: &Side) -> bool {
    [0.0, 0.5, 1.0]
        .iter()
        .all(|t| region::far(a.at(*t), b.at(*t)) < 1e-9)
}

/// Halfway between two sides of one form.
fn between(a: &Side, b: &Side) -> Side {
    match (*a, *b) {
        (
            Side::Arc {
                centre,
                radius,
                from,
                sweep,
            },
            Side::Arc { radius: other, .. },
        ) => Side::Arc {
            centre,
            radius: f64::midpoint(radius, other),
            from,
            sweep,
        },
        _ => *a,
    }
}

/// Where a wall is: its layer's loop and side.
pub(super) type At = [usize; 2];

/// A wall over one side of a section.
pub(super) struct Wall {
    pub(super) side: [Side; 2],
    pub(super) z: [f64; 2],
    bottom: Vec<Way>,
    top: Vec<Way>,
    /// Edges of what was cut into it.
    pub(super) bites: Vec<Way>,
}

/// The upright edge where a wall begins.
pub(super) struct Post {
    ends: [P3; 2],
    /// Where a flat cuts a cone it is a hyperbola: places and tangents.
    bow: Option<Vec<[P3; 2]>>,
    /// Heights that were cut out.
    pub(super) cuts: Vec<[f64; 2]>,
}

/// Walls round one closed line, and the layers that they stand in.
pub(super) struct Round {
    pub(super) layers: std::ops::RangeInclusive<usize>,
    /// Which loop of each of these layers it is.
    pub(super) loops: Vec<usize>,
    pub(super) walls: Vec<Wall>,
    pub(super) posts: Vec<Post>,
}

/// An edge over a side at a height.
fn edge(solid: &mut Solid, side: &Side, z: f64) -> Way {
    let at = |p: P| [p[0], p[1], z];
    match *side {
        Side::Line { from, to } => solid.line(at(from), at(to)),
        Side::Arc {
            centre,
            radius,
            sweep,
            ..
        } => {
            let curve = Curve::Arc {
                centre: at(centre),
                axis: [0.0, 0.0, 1.0],
                radius,
            };
            let (a, b) = (side.at(0.0), side.at(1.0));
            if sweep > 0.0 {
                solid.curve(at(a), at(b), curve)
            } else {
                let (n, _) = solid.curve(at(b), at(a), curve);
                (n, false)
            }
        }
    }
}

/// Edges of one section's boundary at the height where it meets another section.
#[derive(Default)]
pub(super) struct Rim {
    pieces: Vec<Piece>,
    pub(super) ways: Vec<Way>,
}

impl Rim {
    fn of(&self, at: At) -> Vec<Way> {
        let own = self.pieces.iter().zip(&self.ways);
        own.filter(|(p, _)| p.of == at).map(|(_, w)| *w).collect()
    }
}

/// Whether two pieces are one, the same way or the other way.
fn one(a: &Side, b: &Side) -> bool {
    const NEAR: f64 = 1e-5;
    let near = |s: f64, t: f64| region::far(a.at(s), b.at(t)) < NEAR;
    near(0.5, 0.5) && (near(0.0, 0.0) && near(1.0, 1.0) || near(0.0, 1.0) && near(1.0, 0.0))
}

/// The flat faces between two sections at one height, and their edges.
fn meet(solid: &mut Solid, below: &Region, above: &Region, z: f64) -> Result<[Rim; 2], String> {
    let mut rims = [Rim::default(), Rim::default()];
    rims[0].pieces = below.cut_by(above);
    for p in &rims[0].pieces {
        rims[0].ways.push(edge(solid, &p.side, z));
    }
    rims[1].pieces = above.cut_by(below);
    for p in &rims[1].pieces {
        let shared = matches!(p.lies, Lies::Along | Lies::Against);
        let same = shared
            .then(|| rims[0].pieces.iter().position(|q| one(&q.side, &p.side)))
            .flatten();
        let way = match same {
            Some(n) if p.lies == Lies::Along => rims[0].ways[n],
            Some(_) => return Err("sections that touch along one edge only".to_owned()),
            None if shared => return Err("sections that lie on each other too closely".to_owned()),
            None => edge(solid, &p.side, z),
        };
        rims[1].ways.push(way);
    }
    for up in [true, false] {
        let (own, other) = if up { (0, 1) } else { (1, 0) };
        let keep = |rim: &Rim, lies: Lies| -> Vec<(Side, Way)> {
            let all = rim.pieces.iter().zip(&rim.ways);
            all.filter(|(p, _)| p.lies == lies)
                .map(|(p, w)| (p.side, *w))
                .collect()
        };
        let mut all = keep(&rims[own], Lies::Out);
        let theirs = keep(&rims[other], Lies::In).into_iter();
        all.extend(theirs.map(|(s, (n, f))| (region::back(&s), (n, !f))));
        let sides: Vec<Side> = all.iter().map(|a| a.0).collect();
        let loops = chained(&sides).ok_or("sections whose difference does not close")?;
        let face = Region {
            loops: loops
                .iter()
                .map(|l| l.iter().map(|n| sides[*n]).collect())
                .collect(),
        };
        for group in face.faces() {
            let ways = |l: &usize| -> Vec<Way> {
                let line: Vec<Way> = loops[*l].iter().map(|n| all[*n].1).collect();
                if up { line } else { turned_back(line) }
            };
            let normal = [0.0, 0.0, if up { 1.0 } else { -1.0 }];
            solid.faces.push((
                Surface::Plane([0.0, 0.0, z], normal),
                group.iter().map(ways).collect(),
            ));
        }
    }
    Ok(rims)
}

/// What is cut into layers that stand on one another.
#[derive(Default)]
pub(crate) struct Cuts {
    /// Round holes across, and slots.
    pub(crate) across: Vec<Across>,
    /// Half-moons.
    pub(crate) moons: Vec<Moon>,
    /// Round ends of keyways that the sections already have.
    pub(crate) rounded: Vec<Rounded>,
}

/// Layers on one another without a gap, and what is cut into them.
///
/// # Errors
/// What has no closed shell of this kind, in words.
pub(crate) fn build(layers: &[Layer], cuts: &Cuts) -> Result<Solid, String> {
    let across = &cuts.across;
    let mut solid = Solid::default();
    let nothing = Region::default();
    let mut rims: Vec<[Rim; 2]> = Vec::new();
    for n in 0..=layers.len() {
        let below = n.checked_sub(1).and_then(|n| layers.get(n));
        let above = layers.get(n);
        let z = above.map_or_else(|| below.map_or(0.0, |l| l.z[1]), |l| l.z[0]);
        let from = solid.faces.len();
        let mut found = meet(
            &mut solid,
            below.map_or(&nothing, |l| &l.high),
            above.map_or(&nothing, |l| &l.low),
            z,
        )?;
        for end in cuts.rounded.iter().filter(|e| (e.z - z).abs() < 1e-9) {
            let (own, rim) = if end.down { (below, 0) } else { (above, 1) };
            let own = own.ok_or("a keyway's round end beyond the part")?;
            keyed::rounded(&mut solid, own, &mut found[rim], from, end)?;
        }
        rims.push(found);
    }
    solid.volume += layers.iter().map(Layer::volume).sum::<f64>();
    let mut rounds = walls(&mut solid, layers, &rims);
    for (n, hole) in across.iter().enumerate() {
        across::cut(&mut solid, layers, &mut rounds, hole)?;
        if across[..n].iter().any(|o| hole.meets(o, layers)) {
            return Err(format!(
                "its hole {} across, which meets another one",
                hole.name
            ));
        }
    }
    for seat in &cuts.moons {
        keyed::moon(&mut solid, layers, &mut rounds, seat)?;
    }
    for round in &mut rounds {
        stand(&mut solid, round)?;
    }
    Ok(solid)
}

/// Walls of all layers; those that go on over several layers once.
fn walls(solid: &mut Solid, layers: &[Layer], rims: &[[Rim; 2]]) -> Vec<Round> {
    let mut rounds: Vec<Round> = Vec::new();
    for (k, layer) in layers.iter().enumerate() {
        for (l, sides) in layer.low.loops.iter().enumerate() {
            let (Some(high), Some([_, below]), Some([above, _])) =
                (layer.high.loops.get(l), rims.get(k), rims.get(k + 1))
            else {
                continue;
            };
            let goes_on = k > 0
                && layer.is_straight()
                && layers[k - 1].is_straight()
                && (0..sides.len()).all(|n| {
                    let own: Vec<&Piece> = below.pieces.iter().filter(|p| p.of == [l, n]).collect();
                    matches!(own.as_slice(), [only] if only.lies == Lies::Along)
                });
            if goes_on {
                // The loop below that is this one, side by side.
                let same = rounds.iter_mut().find(|r| {
                    *r.layers.end() == k - 1
                        && r.walls.len() == sides.len()
                        && r.walls.iter().zip(sides).all(|(w, s)| alike(&w.side[1], s))
                });
                if let Some(round) = same {
                    round.layers = *round.layers.start()..=k;
                    round.loops.push(l);
                    for (n, wall) in round.walls.iter_mut().enumerate() {
                        wall.z[1] = layer.z[1];
                        wall.top = above.of([l, n]);
                    }
                    for post in &mut round.posts {
                        post.ends[1][2] = layer.z[1];
                    }
                    continue;
                }
            }
            let at = |p: P, z: f64| [p[0], p[1], z];
            rounds.push(Round {
                layers: k..=k,
                loops: vec![l],
                walls: sides
                    .iter()
                    .zip(high)
                    .enumerate()
                    .map(|(n, (a, b))| Wall {
                        side: [*a, *b],
                        z: layer.z,
                        bottom: below.of([l, n]),
                        top: above.of([l, n]),
                        bites: Vec::new(),
                    })
                    .collect(),
                posts: (0..sides.len())
                    .map(|n| {
                        let (a, b) = (&sides[n], &high[n]);
                        let last = (n + sides.len() - 1) % sides.len();
                        Post {
                            ends: [at(a.at(0.0), layer.z[0]), at(b.at(0.0), layer.z[1])],
                            bow: bow([a, b], [&sides[last], &high[last]], layer.z),
                            cuts: Vec::new(),
                        }
                    })
                    .collect(),
            });
        }
    }
    let _ = solid;
    rounds
}

/// The edge between a flat and a cone: at a distance y from the middle of a flat that stands h off the axis the cone's radius is √(h² + y²).
fn bow(own: [&Side; 2], before: [&Side; 2], z: [f64; 2]) -> Option<Vec<[P3; 2]>> {
    const STEPS: u32 = 24;
    let (flat, cone) = match (own, before) {
        ([Side::Line { .. }, _], [Side::Arc { .. }, _]) => (own, before),
        ([Side::Arc { .. }, _], [Side::Line { .. }, _]) => (before, own),
        _ => return None,
    };
    let (
        [
            Side::Arc {
                centre, radius: r0, ..
            },
            Side::Arc { radius: r1, .. },
        ],
        [a, b],
    ) = (cone, flat)
    else {
        return None;
    };
    if (r0 - r1).abs() < 1e-9 {
        return None;
    }
    let long = if a.length() > b.length() { a } else { b };
    let (from, to) = (long.at(0.0), long.at(1.0));
    let l = region::far(from, to);
    let way = [(to[0] - from[0]) / l, (to[1] - from[1]) / l];
    let off = [from[0] - centre[0], from[1] - centre[1]];
    let along = off[0] * way[0] + off[1] * way[1];
    let foot = [from[0] - along * way[0], from[1] - along * way[1]];
    let h = region::far(foot, *centre);
    // The corner is the end of the flat or its beginning.
    let y = |r: f64| {
        let y = (r * r - h * h).max(0.0).sqrt();
        if std::ptr::eq(flat[0], own[0]) { -y } else { y }
    };
    let (y0, y1) = (y(*r0), y(*r1));
    let slope = (z[1] - z[0]) / (r1 - r0);
    let nodes = (0..=STEPS).map(|n| {
        let share = f64::from(n) / f64::from(STEPS);
        let (at, d) = (y0 + share * (y1 - y0), (y1 - y0) / f64::from(STEPS));
        let r = h.hypot(at);
        [
            [
                foot[0] + at * way[0],
                foot[1] + at * way[1],
                z[0] + (r - r0) * slope,
            ],
            [way[0] * d, way[1] * d, slope * at / r * d],
        ]
    });
    Some(nodes.collect())
}

/// What is left of an upright edge, upwards.
fn upright(solid: &mut Solid, post: &mut Post) -> Vec<Way> {
    let [a, b] = post.ends;
    if let Some(nodes) = post.bow.take() {
        return vec![solid.curve(a, b, Curve::Spline(nodes))];
    }
    let mut cuts = post.cuts.clone();
    cuts.sort_by(|x, y| x[0].total_cmp(&y[0]));
    let mut ways = Vec::new();
    let mut from = a;
    for [low, high] in cuts {
        ways.push(solid.line(from, [a[0], a[1], low]));
        from = [a[0], a[1], high];
    }
    ways.push(solid.line(from, b));
    ways
}

/// The faces of walls.
fn stand(solid: &mut Solid, round: &mut Round) -> Result<(), String> {
    let uncut = round.posts.iter().all(|p| p.cuts.is_empty());
    let posts: Vec<Vec<Way>> = round.posts.iter_mut().map(|p| upright(solid, p)).collect();
    for (n, wall) in round.walls.iter().enumerate() {
        let mut ways = wall.bottom.clone();
        ways.extend(&posts[(n + 1) % posts.len()]);
        ways.extend(turned_back(wall.top.clone()));
        ways.extend(turned_back(posts[n].clone()));
        let [low, high] = wall.side;
        let at = |p: P, z: f64| [p[0], p[1], z];
        let surface = match (low, high) {
            (Side::Line { .. }, _) => {
                let long = if low.length() > high.length() {
                    low
                } else {
                    high
                };
                let (from, to) = (long.at(0.0), long.at(1.0));
                let d = [to[0] - from[0], to[1] - from[1]];
                let l = d[0].hypot(d[1]);
                Surface::Plane(at(from, wall.z[0]), [d[1] / l, -d[0] / l, 0.0])
            }
            (
                Side::Arc {
                    centre,
                    radius,
                    sweep,
                    ..
                },
                Side::Arc {
                    radius: above,
                    sweep: over,
                    ..
                },
            ) if (radius - above).abs() > 1e-9 => {
                let grows = if above > radius { 1.0 } else { -1.0 };
                let (foot, least) = if above > radius {
                    (wall.z[0], radius)
                } else {
                    (wall.z[1], above)
                };
                let half = ((radius - above).abs() / (wall.z[1] - wall.z[0])).atan();
                Surface::Cone(at(centre, foot), grows, least, half, sweep + over > 0.0)
            }
            (
                Side::Arc {
                    centre,
                    radius,
                    sweep,
                    ..
                },
                _,
            ) => Surface::Cylinder(at(centre, wall.z[0]), [0.0, 0.0, 1.0], radius, sweep > 0.0),
        };
        if wall.bites.is_empty() && uncut {
            solid.faces.push((surface, vec![ways]));
            continue;
        }
        ways.extend(&wall.bites);
        let loops = solid.loops(&ways).ok_or("a wall that does not close")?;
        // Each loop unrolled: lengths along the side and heights.
        let flat = |way: &Vec<Way>| -> f64 {
            let places: Vec<P> = way
                .iter()
                .flat_map(|w| solid.along(*w))
                .map(|p| [unrolled(&low, [p[0], p[1]]), p[2]])
                .collect();
            places
                .iter()
                .zip(places.iter().cycle().skip(1))
                .map(|(a, b)| (a[0] * b[1] - a[1] * b[0]) / 2.0)
                .sum()
        };
        let areas: Vec<f64> = loops.iter().map(flat).collect();
        let (outer, inner): (Vec<_>, Vec<_>) =
            loops.into_iter().zip(areas).partition(|l| l.1 > 0.0);
        let inner: Vec<Vec<Way>> = inner.into_iter().map(|l| l.0).collect();
        match outer.as_slice() {
            [only] => {
                let mut loops = vec![only.0.clone()];
                loops.extend(inner);
                solid.faces.push((surface, loops));
            }
            many if inner.is_empty() => {
                for (l, _) in many {
                    solid.faces.push((surface.clone(), vec![l.clone()]));
                }
            }
            _ => return Err("a wall that its holes cut in pieces".to_owned()),
        }
    }
    Ok(())
}

/// How far along a side a place on it lies.
pub(super) fn unrolled(side: &Side, at: P) -> f64 {
    match *side {
        Side::Line { from, to } => {
            let d = [to[0] - from[0], to[1] - from[1]];
            ((at[0] - from[0]) * d[0] + (at[1] - from[1]) * d[1]) / d[0].hypot(d[1])
        }
        Side::Arc {
            centre,
            radius,
            from,
            sweep,
        } => {
            let angle = (at[1] - centre[1]).atan2(at[0] - centre[0]);
            let middle = from + sweep / 2.0;
            let off = (angle - middle + std::f64::consts::PI).rem_euclid(std::f64::consts::TAU)
                - std::f64::consts::PI;
            radius * off * sweep.signum()
        }
    }
}
