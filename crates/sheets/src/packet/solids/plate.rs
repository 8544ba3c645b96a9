//! Flat plates as solids.

use super::{add, less_all, seats, sorted};
use crate::step::{self, Across, Cuts, Layer, Region, Solid};
use shop::contour::Contour;
use shop::part::{Hole, Opening as _, Part, Plate, diameter};
use std::f64::consts::{PI, TAU};

/// Radius of a hole at a height under its mouth, counterbore and countersink counted.
fn radius(h: &Hole, under: f64) -> f64 {
    let r = h.diameter() / 2.0;
    if let Some([d, deep]) = h.counterbore
        && under < deep
    {
        return r.max(d / 2.0);
    }
    h.countersink
        .map_or(r, |d| r.max(d / 2.0 - under * (h.sink / 2.0).tan()))
}

/// How far a height is under the face that a hole is worked from.
fn under(p: &Plate, h: &Hole, z: f64) -> f64 {
    if h.back { z } else { mouth(p, h) - z }
}

/// Height of the mouth of a hole: the front of the plate, or that of a hub round it.
fn mouth(p: &Plate, h: &Hole) -> f64 {
    p.ends
        .iter()
        .filter(|e| (e.at[0] - h.at[0]).hypot(e.at[1] - h.at[1]) < 1e-9)
        .filter_map(|e| e.hub)
        .fold(p.thickness, f64::max)
}

pub(super) fn solid(part: &Part, p: &Plate) -> Result<Solid, String> {
    let through = seats::through(part);
    let t = p.thickness;
    // A hub that is brazed on is a part of its own.
    let hubs: Vec<(f64, Region)> = p
        .ends
        .iter()
        .filter(|e| e.solid)
        .filter_map(|e| e.hub.map(|hub| (hub, e)))
        .filter(|(hub, _)| *hub > t + 1e-9)
        .map(|(hub, e)| (hub, Region::of(&Contour::circle(e.at, e.radius))))
        .collect();
    let top = hubs.iter().map(|h| h.0).fold(t, f64::max);
    let mut places: Vec<f64> = hubs.iter().map(|h| h.0).collect();
    places.push(t);
    for h in &p.holes {
        let (z, way) = if h.back {
            (0.0, -1.0)
        } else {
            (mouth(p, h), 1.0)
        };
        places.extend(h.blind.map(|d| z - way * d));
        places.extend(h.counterbore.map(|c| z - way * c[1]));
        places.extend(h.countersink.map(|_| z - way * h.sunk()));
    }
    places.extend(p.slots.iter().filter_map(|s| s.depth).map(|d| t - d));
    places.extend(p.cams.iter().filter_map(|c| c.depth).map(|d| t - d));
    if let Some(f) = &p.fork {
        places.extend([-f.gap, f.gap].map(|gap| f64::midpoint(t, gap)));
    }
    let places = sorted(places, 0.0, top);
    let mut layers: Vec<Layer> = Vec::new();
    for w in places.windows(2) {
        let middle = f64::midpoint(w[0], w[1]);
        let at = |z: f64| {
            let whole = section(p, &hubs, middle, z)?;
            less_all(whole, &through)
                .ok_or_else(|| "a seat that cannot be taken out of its outline".to_owned())
        };
        let low = at(w[0])?;
        let tapers = p.holes.iter().any(|h| {
            let at = |z: f64| radius(h, under(p, h, z + (middle - z).signum() * 1e-9));
            (at(w[0]) - at(w[1])).abs() > 1e-7 && h.countersink.is_some() && cut_at(p, h, middle)
        });
        let high = if tapers { Some(at(w[1])?) } else { None };
        add(&mut layers, [w[0], w[1]], low, high)?;
    }
    let mut across = from_the_edge(p);
    across.extend(seats::across(part)?);
    let cuts = Cuts {
        across,
        ..Cuts::default()
    };
    step::build(&layers, &cuts)
}

/// Whether a hole is there at a height.
fn cut_at(p: &Plate, h: &Hole, z: f64) -> bool {
    let under = under(p, h, z);
    under > 0.0 && h.blind.is_none_or(|deep| under < deep)
}

/// The section in the layer round `middle`, with tapers as they are at `z`.
fn section(p: &Plate, hubs: &[(f64, Region)], middle: f64, z: f64) -> Result<Region, String> {
    let t = p.thickness;
    let mut metal = if middle < t {
        Region::of(&p.outline)
    } else {
        Region {
            loops: hubs
                .iter()
                .filter(|h| middle < h.0)
                .flat_map(|h| h.1.loops.clone())
                .collect(),
        }
    };
    let open = |what: &str| format!("{what} that cannot be taken out of its outline");
    if let Some(f) = p
        .fork
        .as_ref()
        .filter(|f| (middle - t / 2.0).abs() < f.gap / 2.0)
    {
        const FAR: f64 = 1e4;
        let (s, c) = f.open.sin_cos();
        let place = |along: f64, beside: f64| {
            [
                f.at[0] + c * along - s * beside,
                f.at[1] + s * along + c * beside,
            ]
        };
        metal = metal
            .less(&Region::polygon(&[
                place(-f.depth, -FAR),
                place(FAR, -FAR),
                place(FAR, FAR),
                place(-f.depth, FAR),
            ]))
            .ok_or_else(|| open("its fork"))?;
    }
    for s in &p.slots {
        if s.depth.is_none_or(|d| middle > t - d) && middle < t {
            metal = metal
                .less(&Region::of(&s.outline()))
                .ok_or_else(|| open("its slot"))?;
        }
    }
    for c in &p.cams {
        if let (Some(deep), Some(outer)) = (c.depth, &c.outer)
            && middle > t - deep
            && middle < t
        {
            let inner = metal
                .and(&Region::of(&c.flank))
                .ok_or_else(|| open("its track"))?;
            metal = metal
                .less(&Region::of(outer))
                .ok_or_else(|| open("its track"))?;
            metal.loops.extend(inner.loops);
        }
    }
    for h in p.holes.iter().filter(|h| cut_at(p, h, middle)) {
        // Just inside of the layer, so that a counterbore's floor is not its wall.
        let near = z + (middle - z).signum() * 1e-9;
        let r = radius(h, under(p, h, near));
        metal = metal
            .less(&Region::disc(h.at, r, 0.0))
            .ok_or_else(|| open("its hole"))?;
    }
    Ok(metal)
}

fn from_the_edge(p: &Plate) -> Vec<Across> {
    p.edge_holes
        .iter()
        .map(|e| {
            let way = (e.from + PI).rem_euclid(TAU);
            let r = diameter(&e.fitted) / 2.0;
            let (s, c) = way.sin_cos();
            let d = [e.enters[0] - e.towards[0], e.enters[1] - e.towards[1]];
            let begins = c * d[0] + s * d[1];
            Across {
                name: e.name.clone(),
                at: [e.towards[0], e.towards[1], p.thickness / 2.0],
                way,
                radius: r,
                long: 0.0,
                reach: [begins - r - 1.0, begins + e.depth],
            }
        })
        .collect()
}
