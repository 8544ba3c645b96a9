//! Turned parts as solids.

use super::{add, less_all, seats, sorted};
use crate::step::{self, Across, Cuts, Layer, Region, Solid};
use machine::making::Flats;
use machine::work::Section;
use shop::contour::Side;
use shop::part::{Opening as _, Part, Step, Turned, diameter};
use std::f64::consts::{PI, TAU};

type P = [f64; 2];

/// Short pieces of a span that is summed up.
const PIECES: u32 = 400;

/// Radius of a step at a place, with its chamfers.
fn radius(t: &Turned, n: usize, at: f64) -> f64 {
    let [left, right] = chamfers(t, n);
    let s = &t.steps[n];
    let r = s.diameter / 2.0;
    let cut = (left - (at - s.from)).max(right - (s.to - at)).max(0.0);
    r - cut
}

/// Chamfers at the ends of a step: only where what stands beside it is smaller (as on the drawing).
fn chamfers(t: &Turned, n: usize) -> P {
    let s = &t.steps[n];
    let beside = |n: Option<usize>| {
        n.and_then(|n| t.steps.get(n))
            .map_or(0.0, |s: &Step| s.diameter)
    };
    let chamfer = s.chamfer.min(s.diameter / 2.0 * 0.99).min(s.length() / 2.0);
    [n.checked_sub(1), Some(n + 1)].map(|o| if beside(o) < s.diameter { chamfer } else { 0.0 })
}

/// Grooves and thread reliefs: from, to, radius of the bottom.
fn cuts(t: &Turned) -> Vec<[f64; 3]> {
    let mut cuts: Vec<[f64; 3]> = t
        .grooves
        .iter()
        .map(|g| [g.at, g.at + g.width, g.diameter / 2.0])
        .collect();
    for (n, s) in t.steps.iter().enumerate() {
        let Some(thread) = s.thread.as_ref().filter(|_| s.relief) else {
            continue;
        };
        // Two pitches wide, below the root (as on the operation sheet).
        let (wide, bottom) = (2.0 * thread.pitch, s.diameter / 2.0 - 0.7 * thread.pitch);
        let beside = |n: Option<usize>| n.and_then(|n| t.steps.get(n)).map_or(0.0, |s| s.diameter);
        cuts.push(if beside(n.checked_sub(1)) > beside(Some(n + 1)) {
            [s.from, s.from + wide, bottom]
        } else {
            [s.to - wide, s.to, bottom]
        });
    }
    cuts
}

/// What flats leave: between two of them, inside four or six, on one side of a single one. The first faces 0 degrees.
fn between(f: &Flats) -> Vec<P> {
    const FAR: f64 = 1e4;
    let r = f.across / 2.0;
    match f.sides {
        2 => vec![[r, -FAR], [r, FAR], [-r, FAR], [-r, -FAR]],
        n => polygon(f.across, n.max(3)),
    }
}

/// A square or hexagon by its size across flats.
fn polygon(across: f64, sides: usize) -> Vec<P> {
    let n = sides as f64;
    let corner = across / 2.0 / (PI / n).cos();
    (0..sides)
        .map(|k| {
            let a = (2.0 * k as f64 + 1.0) * PI / n;
            [corner * a.cos(), corner * a.sin()]
        })
        .collect()
}

/// The round of a step less its flats.
fn outside(t: &Turned, n: usize, r: f64, flats: &[&Flats], halved: f64) -> Option<Region> {
    let s = &t.steps[n];
    let centre = s
        .throw
        .map_or([0.0, 0.0], |[e, a]| [e * a.cos(), e * a.sin()]);
    let mut section = Region::disc(centre, r, halved);
    if let Some(across) = s.across() {
        let inside = Region::polygon(&polygon(across, s.sides));
        section = if r > s.diameter / 2.0 - 1e-9 {
            // Its corners are what the diameter is measured over.
            inside
        } else {
            section.and(&inside)?
        };
    }
    for f in flats {
        section = match f.sides {
            // What is left of the diameter is measured from the far side.
            1 => section.less(&Region::polygon(&[
                [f.across - r, -1e4],
                [1e4, -1e4],
                [1e4, 1e4],
                [f.across - r, 1e4],
            ]))?,
            _ => section.and(&Region::polygon(&between(f)))?,
        };
    }
    Some(section)
}

/// A chamfer over flats: sections of straight sides and arcs whose lengths change with the radius, from where the first flat is touched to where
/// flats meet.
fn chamfered(
    layers: &mut Vec<Layer>,
    t: &Turned,
    n: usize,
    z: [f64; 2],
    flats: &[&Flats],
    inner: &[(f64, P)],
    halved: f64,
) -> Result<(), String> {
    let s = &t.steps[n];
    // One set of flats, round the axis: how far off it each stands, and how many.
    let (h, sides) = match (flats, s.across()) {
        ([], Some(across)) => (across / 2.0, s.sides),
        ([one], None) if s.throw.is_none() => {
            let r = s.diameter / 2.0;
            (
                if one.sides == 1 {
                    one.across - r
                } else {
                    one.across / 2.0
                },
                one.sides,
            )
        }
        _ => return Err("its chamfer over two sets of flats".to_owned()),
    };
    let ([r0, r1], [from, to]) = (z.map(|z| radius(t, n, z)), z);
    let rises = (r1 - r0) / (to - from);
    let corner = if sides > 2 {
        h / (PI / sides as f64).cos()
    } else {
        f64::INFINITY
    };
    let inside = |(r, c): &(f64, P)| c[0].hypot(c[1]) + r < h.min(r0).min(r1) - 1e-6;
    if !inner.iter().all(inside) || h < 1e-6 {
        return Err("its chamfer over flats that a bore cuts".to_owned());
    }
    // Where the cone touches the flats, and where the corners begin.
    let marks = [h, corner].map(|r| from + (r - r0) / rises);
    let places = sorted(marks.to_vec(), from, to);
    for w in places.windows(2) {
        let (a, b) = (r0 + (w[0] - from) * rises, r0 + (w[1] - from) * rises);
        let middle = f64::midpoint(a, b);
        let section = |r: f64| -> Region {
            if middle <= h {
                return Region::disc([0.0; 2], r, halved);
            }
            if middle >= corner {
                return Region::polygon(&polygon(2.0 * h, sides));
            }
            let half = (h / r.max(h)).acos();
            let at = |a: f64| {
                // On the flat, whatever the radius.
                let l = if r > h { r } else { h };
                [l * a.cos(), l * a.sin()]
            };
            let mut line = Vec::new();
            let pitch = TAU / sides as f64;
            for k in 0..sides {
                let middle = k as f64 * pitch;
                line.push(Side::Line {
                    from: at(middle - half),
                    to: at(middle + half),
                });
                // A single arc of more than half a turn is halved.
                let rest = (pitch - 2.0 * half).max(0.0);
                let parts = if rest > PI { 2 } else { 1 };
                for part in 0..parts {
                    line.push(Side::Arc {
                        centre: [0.0; 2],
                        radius: r,
                        from: middle + half + rest / f64::from(parts) * f64::from(part),
                        sweep: rest / f64::from(parts),
                    });
                }
            }
            Region { loops: vec![line] }
        };
        let (mut low, mut high) = (section(a), section(b));
        let mut holes = 0.0;
        for (r, c) in inner {
            // Not taken out: sides without length have to stay.
            for region in [&mut low, &mut high] {
                region
                    .loops
                    .extend(Region::disc(*c, *r, halved).turned_inside_out().loops);
            }
            holes += PI * r * r * (w[1] - w[0]);
        }
        // Two points of Gauss on each of many short pieces.
        let step = (b - a) / f64::from(PIECES);
        let node = 0.5 / 3f64.sqrt();
        let over = |r: f64| {
            let across = if sides == 1 { h + r } else { 2.0 * h };
            shop::part::flatted(2.0 * r, across, sides)
        };
        let outer: f64 = (0..PIECES)
            .flat_map(|n| [0.5 - node, 0.5 + node].map(|x| a + (f64::from(n) + x) * step))
            .map(|r| over(r) * (w[1] - w[0]) / f64::from(PIECES) / 2.0)
            .sum();
        super::put(
            layers,
            Layer {
                z: [w[0], w[1]],
                low,
                high,
                volume: (middle > h && middle < corner).then_some(outer - holes),
            },
        )?;
    }
    Ok(())
}

pub(super) fn solid(part: &Part, t: &Turned) -> Result<Solid, String> {
    let long = t.length();
    let grooves = cuts(t);
    let mut places = Vec::new();
    for (n, s) in t.steps.iter().enumerate() {
        let [left, right] = chamfers(t, n);
        places.extend([s.from, s.to, s.from + left, s.to - right]);
    }
    places.extend(grooves.iter().flat_map(|g| [g[0], g[1]]));
    places.extend(t.flats.iter().flat_map(|f| [f.at, f.at + f.length]));
    // Bores: from, to, radius, centre.
    let mut bores: Vec<([f64; 2], f64, P)> = t
        .bores
        .iter()
        .map(|b| {
            let deep = b.blind.map_or(long, |d| d.min(long));
            let span = if b.left {
                [0.0, deep]
            } else {
                [long - deep, long]
            };
            let centre = b
                .throw
                .map_or([0.0, 0.0], |[e, a]| [e * a.cos(), e * a.sin()]);
            (span, b.diameter() / 2.0, centre)
        })
        .collect();
    if let Section::Tube([_, inside]) = part.section {
        bores.push(([0.0, long], inside / 2.0, [0.0, 0.0]));
    }
    places.extend(bores.iter().flat_map(|b| b.0));
    let through = seats::through(part);
    let open = seats::open(part);
    places.extend(open.iter().flat_map(|o| o.span));
    let halved = free_of(part, t);
    let places = sorted(places, 0.0, long);
    let mut layers: Vec<Layer> = Vec::new();
    for w in places.windows(2) {
        let middle = f64::midpoint(w[0], w[1]);
        let n = t
            .steps
            .iter()
            .position(|s| middle < s.to)
            .ok_or("a place without a step")?;
        let groove = grooves.iter().find(|g| g[0] < middle && middle < g[1]);
        let flats: Vec<&Flats> = t
            .flats
            .iter()
            .filter(|f| f.at < middle && middle < f.at + f.length)
            .filter(|_| t.steps[n].sides == 0)
            .collect();
        let at = |z: f64| -> Result<Region, String> {
            // Chamfers as they are just inside of this layer.
            let r = radius(t, n, z.clamp(w[0], w[1]));
            let r = groove.map_or(r, |g| g[2].min(r));
            let mut section =
                outside(t, n, r, &flats, halved).ok_or("flats whose section does not close")?;
            // The widest of the bores on one axis is what is seen.
            let here = || bores.iter().filter(|b| b.0[0] < middle && middle < b.0[1]);
            for (k, b) in here().enumerate() {
                let hidden = here().enumerate().any(|(o, other)| {
                    let apart = (other.2[0] - b.2[0]).hypot(other.2[1] - b.2[1]);
                    apart < 1e-9 && (other.1 > b.1 + 1e-9 || other.1 > b.1 - 1e-9 && o < k)
                });
                if hidden {
                    continue;
                }
                section = section
                    .less(&Region::disc(b.2, b.1, halved))
                    .ok_or("bores whose section does not close")?;
            }
            let here = open
                .iter()
                .filter(|o| o.span[0] < middle && middle < o.span[1]);
            let here: Vec<Region> = here.map(|o| o.region.clone()).collect();
            less_all(section, &through)
                .and_then(|s| less_all(s, &here))
                .ok_or_else(|| "a seat that cannot be taken out of its section".to_owned())
        };
        let tapers = (radius(t, n, w[0]) - radius(t, n, w[1])).abs() > 1e-9 && groove.is_none();
        if tapers && (!flats.is_empty() || t.steps[n].sides > 0) {
            if !through.is_empty() {
                return Err("its chamfer over flats that a seat cuts".to_owned());
            }
            let inner: Vec<(f64, P)> = bores
                .iter()
                .filter(|b| b.0[0] < middle && middle < b.0[1])
                .map(|b| (b.1, b.2))
                .collect();
            chamfered(&mut layers, t, n, [w[0], w[1]], &flats, &inner, halved)?;
            continue;
        }
        let low = at(w[0])?;
        let keyed = open
            .iter()
            .any(|o| o.span[0] < middle && middle < o.span[1]);
        if tapers && keyed {
            // Its flanks grow longer with the radius: two points of Gauss on each of many short pieces.
            const SHORT: u32 = 60;
            let node = 0.5 / 3f64.sqrt();
            let mut volume = 0.0;
            for n in 0..SHORT {
                for x in [0.5 - node, 0.5 + node] {
                    let z = w[0] + (w[1] - w[0]) * (f64::from(n) + x) / f64::from(SHORT);
                    volume += at(z)?.area() * (w[1] - w[0]) / f64::from(SHORT) / 2.0;
                }
            }
            let layer = Layer {
                z: [w[0], w[1]],
                low,
                high: at(w[1])?,
                volume: Some(volume),
            };
            super::put(&mut layers, layer)?;
            continue;
        }
        let high = if tapers { Some(at(w[1])?) } else { None };
        add(&mut layers, [w[0], w[1]], low, high)?;
    }
    let mut across: Vec<Across> = t
        .cross
        .iter()
        .map(|c| {
            let outside = t.step_at(c.at).map_or(0.0, |s| s.diameter / 2.0);
            Across {
                name: c.name.clone(),
                at: [0.0, 0.0, c.at],
                way: (c.from + PI).rem_euclid(TAU),
                radius: diameter(&c.fitted) / 2.0,
                long: 0.0,
                reach: [
                    f64::NEG_INFINITY,
                    c.blind.map_or(f64::INFINITY, |deep| deep - outside),
                ],
            }
        })
        .collect();
    across.extend(seats::across(part)?);
    let cuts = Cuts {
        across,
        moons: seats::moons(part)?,
        rounded: open.into_iter().filter_map(|o| o.rounded).collect(),
    };
    step::build(&layers, &cuts)
}

/// A direction in which no hole across leaves the part: round walls begin there.
fn free_of(part: &Part, t: &Turned) -> f64 {
    let mut taken: Vec<f64> = t.cross.iter().map(|c| c.from).collect();
    taken.extend(seats::directions(part));
    let least = |at: f64| {
        let apart = taken.iter().map(|from| ((at - from) * 2.0).sin().abs());
        apart.fold(1.0, f64::min)
    };
    let mut best = 0.0;
    for n in 1..24 {
        let at = f64::from(n) * PI / 24.0;
        if least(at) > least(best) + 1e-6 {
            best = at;
        }
    }
    best
}
