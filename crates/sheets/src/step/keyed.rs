//! Seats of keys in a round shaft along z that are neither holes across nor slots drawn out: the half-moon of a Woodruff key, and the round end of
//! a keyway that runs out through the end of its shaft.

use super::layers::{Layer, Rim, Round};
use super::{Curve, P3, Solid, Surface, Way};
use shop::contour::{P, Side};

/// Places nearer than this are one, mm.
const NEAR: f64 = 1e-6;
/// Steps of a spline.
const STEPS: u32 = 24;
/// Pieces of a span that is summed up, an even number.
const PIECES: u32 = 400;

/// The half-moon that a disc cutter leaves.
#[derive(Clone, Debug)]
pub(crate) struct Moon {
    /// What to call it.
    pub(crate) name: String,
    /// Direction from the axis, rad.
    pub(crate) way: f64,
    /// Height of its middle.
    pub(crate) z: f64,
    /// Width.
    pub(crate) width: f64,
    /// Diameter of the cutter.
    pub(crate) disc: f64,
    /// From the axis of the shaft to its deepest place.
    pub(crate) floor: f64,
}

/// Where a keyway that is cut out of the sections of all layers beyond ends round, as its end mill leaves it.
#[derive(Clone, Debug)]
pub(crate) struct Rounded {
    /// Direction from the axis, rad.
    pub(crate) way: f64,
    /// Height of the middle of the end mill where it stands last; the keyway lies on the other side.
    pub(crate) z: f64,
    /// The round end lies below that height.
    pub(crate) down: bool,
    /// Width.
    pub(crate) width: f64,
    /// From the axis to the floor.
    pub(crate) floor: f64,
}

/// Axes of a seat: outward, beside it.
fn axes(way: f64) -> [P3; 2] {
    let (s, c) = way.sin_cos();
    [[c, s, 0.0], [-s, c, 0.0]]
}

fn place([e, t]: [P3; 2], x: f64, y: f64, z: f64) -> P3 {
    let flat = |i: usize| x * e[i] + y * t[i];
    [flat(0), flat(1), z]
}

/// Simpson's rule over a width.
fn over(half: f64, f: impl Fn(f64) -> f64) -> f64 {
    let step = 2.0 * half / f64::from(PIECES);
    let weight = |n: u32| match n {
        0 | PIECES => 1.0,
        n if n % 2 == 1 => 4.0,
        _ => 2.0,
    };
    let sum: f64 = (0..=PIECES)
        .map(|n| weight(n) * f(-half + f64::from(n) * step))
        .sum();
    sum * step / 3.0
}

/// A cubic spline through places `(x, y, z)` of a seat and their derivatives over its parameter, from 0 to 1.
fn spline(solid: &mut Solid, own: [P3; 2], f: impl Fn(f64) -> [P3; 2]) -> Way {
    let nodes: Vec<[P3; 2]> = (0..=STEPS)
        .map(|n| {
            let [p, d] = f(f64::from(n) / f64::from(STEPS));
            let d = d.map(|x| x / f64::from(STEPS));
            [place(own, p[0], p[1], p[2]), place(own, d[0], d[1], d[2])]
        })
        .collect();
    let ends = [nodes[0][0], nodes[STEPS as usize][0]];
    solid.curve(ends[0], ends[1], Curve::Spline(nodes))
}

/// The round wall of a layer in a direction: its loop and side, its radius about the axis.
fn outside(layer: &Layer, way: f64) -> Option<([usize; 2], f64)> {
    let mut best: Option<([usize; 2], f64)> = None;
    for (l, sides) in layer.low.loops.iter().enumerate() {
        for (n, s) in sides.iter().enumerate() {
            let Side::Arc {
                centre,
                radius,
                from,
                sweep,
            } = *s
            else {
                continue;
            };
            let along = if sweep > 0.0 { way - from } else { from - way };
            let there = along.rem_euclid(std::f64::consts::TAU) < sweep.abs();
            if centre[0].hypot(centre[1]) < NEAR && there && best.is_none_or(|b| radius > b.1) {
                best = Some(([l, n], radius));
            }
        }
    }
    best
}

/// Whether nothing but the outside is near a seat: no bore comes up to its floor.
fn is_sound(layer: &Layer, floor: f64, own: [usize; 2]) -> bool {
    let sides = layer.low.loops.iter().enumerate();
    let reach = |p: P| p[0].hypot(p[1]);
    sides.filter(|(l, _)| *l != own[0]).all(|(_, sides)| {
        sides.iter().all(|s| {
            [0.0, 0.25, 0.5, 0.75]
                .iter()
                .all(|t| reach(s.at(*t)) < floor - NEAR)
        })
    })
}

/// Cuts a half-moon.
pub(super) fn moon(
    solid: &mut Solid,
    layers: &[Layer],
    rounds: &mut [Round],
    seat: &Moon,
) -> Result<(), String> {
    let error = |why: &str| format!("its seat {}, {why}", seat.name);
    let k = layers
        .iter()
        .position(|l| l.z[0] <= seat.z && seat.z < l.z[1])
        .ok_or_else(|| error("which meets no metal"))?;
    let (own, r) = outside(&layers[k], seat.way).ok_or_else(|| error("which meets no round"))?;
    let (half, rho) = (seat.width / 2.0, seat.disc / 2.0);
    // Middle of the disc, where its sides meet the outside, how long the seat is there.
    let middle = seat.floor + rho;
    let x = |y: f64| (r * r - y * y).sqrt();
    let long = |y: f64| (rho * rho - (middle - x(y)).powi(2)).max(0.0).sqrt();
    if half >= r || middle - x(half) >= rho || long(half) < half / 10.0 {
        return Err(error("which does not go into the shaft"));
    }
    if !is_sound(&layers[k], seat.floor, own) {
        return Err(error("which meets a bore"));
    }
    let tall = long(0.0).max(long(half));
    let wall = rounds
        .iter_mut()
        .find(|w| w.layers.contains(&k) && w.loops.get(k - w.layers.start()) == Some(&own[0]))
        .and_then(|w| w.walls.get_mut(own[1]))
        .ok_or("a wall that is missing")?;
    if wall.z[0] > seat.z - tall - NEAR || wall.z[1] < seat.z + tall + NEAR {
        return Err(error("which meets a shoulder or an end"));
    }
    let e = axes(seat.way);
    let at = |y: f64, up: f64| place(e, x(y), y, seat.z + up * long(y));
    // Seen from outside its mouth is gone round clockwise.
    let rise = solid.line(at(-half, -1.0), at(-half, 1.0));
    let fall = solid.line(at(half, 1.0), at(half, -1.0));
    let edge = |solid: &mut Solid, up: f64| {
        spline(solid, e, |s| {
            let y = up * half * (2.0 * s - 1.0);
            let slope = -y / x(y);
            // Along z it grows by (middle - x) x' / long.
            let dz = up * (middle - x(y)) * slope / long(y);
            let dy = up * 2.0 * half;
            [[x(y), y, seat.z + up * long(y)], [slope * dy, dy, dz * dy]]
        })
    };
    let (top, bottom) = (edge(solid, 1.0), edge(solid, -1.0));
    wall.bites.extend([rise, top, fall, bottom]);
    let round = |solid: &mut Solid, y: f64| {
        let curve = Curve::Arc {
            centre: place(e, middle, y, seat.z),
            axis: e[1],
            radius: rho,
        };
        solid.curve(at(y, -1.0), at(y, 1.0), curve)
    };
    let (low, high) = (round(solid, -half), round(solid, half));
    let not = |w: Way| (w.0, !w.1);
    let flat = |y: f64| {
        Surface::Plane(
            place(e, seat.floor, y, seat.z),
            e[1].map(|v| -v * y.signum()),
        )
    };
    solid.faces.push((flat(-half), vec![vec![not(rise), low]]));
    solid
        .faces
        .push((flat(half), vec![vec![not(fall), not(high)]]));
    solid.faces.push((
        Surface::Cylinder(place(e, middle, 0.0, seat.z), e[1], rho, false),
        vec![vec![not(top), not(low), not(bottom), high]],
    ));
    solid.volume -= over(half, |y| {
        let q = (middle - x(y)).clamp(-rho, rho);
        rho * rho * (q / rho).acos() - q * (rho * rho - q * q).sqrt()
    });
    Ok(())
}

/// Rounds the end of a keyway: `from` is where the flat faces at that height begin, `rim` the boundary of the shaft there.
pub(super) fn rounded(
    solid: &mut Solid,
    layer: &Layer,
    rim: &mut Rim,
    from: usize,
    end: &Rounded,
) -> Result<(), String> {
    let error = |why: &str| format!("a keyway's round end, {why}");
    let (own, r) = outside(layer, end.way).ok_or_else(|| error("which meets no round"))?;
    let half = end.width / 2.0;
    if layer.z[1] - layer.z[0] < half + NEAR || !layer.is_straight() {
        return Err(error("which meets a shoulder, an end or a chamfer"));
    }
    if half >= r || !is_sound(layer, end.floor, own) {
        return Err(error("which meets a bore"));
    }
    let e = axes(end.way);
    let seen = |p: P3| [0, 1].map(|i| e[i][0] * p[0] + e[i][1] * p[1]);
    // The flat that a square end would have.
    let is_it = |solid: &Solid, face: &(Surface, Vec<Vec<Way>>)| {
        face.1.len() == 1
            && face.1[0].len() == 4
            && face.1[0].iter().all(|w| {
                let [x, y] = seen(solid.places[solid.ends(*w)[0]]);
                x > end.floor - 1e-5 && (y.abs() - half).abs() < 1e-5
            })
    };
    let at = (from..solid.faces.len())
        .find(|n| is_it(solid, &solid.faces[*n]))
        .ok_or_else(|| error("which ends on an edge"))?;
    let (_, loops) = solid.faces.remove(at);
    let ways = loops.into_iter().next().unwrap_or_default();
    let arc = ways
        .iter()
        .position(|w| matches!(solid.curves[w.0].2, Curve::Arc { .. }))
        .ok_or_else(|| error("which ends on an edge"))?;
    let turned = |n: usize| ways[(arc + n) % 4];
    let (mouth, out, floor, back) = (turned(0), turned(1), turned(2), turned(3));
    let sign = if end.down { -1.0 } else { 1.0 };
    let x = |y: f64| (r * r - y * y).sqrt();
    let begins = seen(solid.places[solid.ends(mouth)[0]])[1].signum();
    // By the angle about the end mill.
    let edge = spline(solid, e, |s| {
        let a = std::f64::consts::PI * s;
        let (y, dy) = (begins * half * a.cos(), -begins * half * a.sin());
        let rate = [-y / x(y) * dy, dy, sign * half * a.cos()];
        [
            [x(y), y, end.z + sign * half * a.sin()],
            rate.map(|d| d * std::f64::consts::PI),
        ]
    });
    // From there to there over the round end: about the outward axis where it goes from the left of it (y below 0) down to the right.
    let [a, b] = solid.ends(floor).map(|v| solid.places[v]);
    let first = seen(a)[1].signum();
    let way = if (first < 0.0) == end.down { 1.0 } else { -1.0 };
    let bend = solid.curve(
        a,
        b,
        Curve::Arc {
            centre: place(e, end.floor, 0.0, end.z),
            axis: e[0].map(|v| v * way),
            radius: half,
        },
    );
    solid.faces.push((
        Surface::Cylinder(place(e, end.floor, 0.0, end.z), e[0], half, false),
        vec![vec![edge, out, bend, back]],
    ));
    solid.faces.push((
        Surface::Plane(place(e, end.floor, 0.0, end.z), e[0]),
        vec![vec![floor, (bend.0, !bend.1)]],
    ));
    for w in &mut rim.ways {
        if w.0 == mouth.0 {
            *w = (edge.0, (w.1 == mouth.1) == edge.1);
        }
    }
    solid.volume -= over_half(half, |y| x(y) - end.floor);
    Ok(())
}

/// Half a disc of this radius times a depth: by the angle, where the height of the disc has no steep ends.
fn over_half(r: f64, deep: impl Fn(f64) -> f64) -> f64 {
    over(std::f64::consts::FRAC_PI_2, |a| {
        deep(r * a.sin()) * (r * a.cos()).powi(2)
    })
}
