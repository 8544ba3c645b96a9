//! Bent plates as solids: the section across the bends, as long as the plate is wide.

use crate::step::{self, Across, Cuts, Layer, Region, Solid, back};
use shop::contour::{P, Side};
use shop::part::{Bend, Opening as _, Plate};
use std::f64::consts::TAU;

/// What a plate is made of from its flat middle outward: a straight stretch or a bend, by its middle line.
struct Stretch {
    /// Both faces: outward from the middle.
    faces: [Side; 2],
    /// Where it begins, its direction there, and the normal towards the front.
    at: P,
    way: P,
    normal: P,
    /// Where it begins and ends on the flat, outward; none of a bend.
    flat: Option<[f64; 2]>,
}

/// One side of the plate: its stretches, and the last place with its normal.
fn half(p: &Plate, i: usize, way: f64) -> (Vec<Stretch>, P, P) {
    let t = p.thickness;
    let middle = p.flat_middle.unwrap_or([[0.0; 2]; 2]);
    let edge = if way > 0.0 {
        middle[1][i]
    } else {
        middle[0][i]
    };
    let chain = chain(p, i, way);
    let mut at = [
        edge - way * chain.first().map_or(0.0, |b| b.setback),
        t / 2.0,
    ];
    let mut turn = 0.0_f64;
    let mut all = Vec::new();
    let normal = |turn: f64| [-way * turn.sin(), turn.cos()];
    let heads = |turn: f64| [way * turn.cos(), turn.sin()];
    for (n, b) in chain.iter().enumerate() {
        let sense = if b.front { 1.0 } else { -1.0 };
        let r = b.radius + t / 2.0;
        let m = normal(turn);
        let centre = [at[0] + sense * r * m[0], at[1] + sense * r * m[1]];
        let from = (at[1] - centre[1]).atan2(at[0] - centre[0]);
        let arc = |face: f64| Side::Arc {
            centre,
            radius: r - sense * face * t / 2.0,
            from,
            sweep: way * sense * b.angle,
        };
        all.push(Stretch {
            faces: [arc(1.0), arc(-1.0)],
            at,
            way: heads(turn),
            normal: m,
            flat: None,
        });
        turn += sense * b.angle;
        let m = normal(turn);
        at = [centre[0] - sense * r * m[0], centre[1] - sense * r * m[1]];
        let next = chain.get(n + 1).map_or(0.0, |b| b.setback);
        let long = b.length - b.setback - next;
        let heading = heads(turn);
        let end = [at[0] + long * heading[0], at[1] + long * heading[1]];
        let line = |face: f64| {
            let off = |q: P| [q[0] + face * t / 2.0 * m[0], q[1] + face * t / 2.0 * m[1]];
            Side::Line {
                from: off(at),
                to: off(end),
            }
        };
        all.push(Stretch {
            faces: [line(1.0), line(-1.0)],
            at,
            way: heading,
            normal: m,
            flat: Some([b.zone[1], b.zone[1] + b.outward[i] * long]),
        });
        at = end;
    }
    (all, at, normal(turn))
}

/// The bends of one side, outward.
fn chain(p: &Plate, i: usize, way: f64) -> Vec<&Bend> {
    let mut all = Vec::new();
    let mut next = p
        .bends
        .iter()
        .position(|b| b.beyond.is_none() && b.outward[i] * way > 0.0);
    while let Some(n) = next {
        all.extend(p.bends.get(n));
        next = p.bends.iter().position(|b| b.beyond == Some(n));
    }
    all
}

pub(super) fn solid(p: &Plate) -> Result<Solid, String> {
    let upright = p.bends.first().is_some_and(|b| b.upright);
    if p.bends.iter().any(|b| b.upright != upright) {
        return Err("its bends in two directions".to_owned());
    }
    let corners = p.outline.sides();
    if corners.len() != 4 || corners.iter().any(|s| matches!(s, Side::Arc { .. })) {
        return Err("its rounded corners, bent".to_owned());
    }
    if !p.slots.is_empty() || !p.cams.is_empty() || !p.edge_holes.is_empty() {
        return Err("what is cut into it beside round holes, bent".to_owned());
    }
    let i = usize::from(!upright);
    let [right, left] = [half(p, i, 1.0), half(p, i, -1.0)];
    let t = p.thickness;
    let begins = |h: &(Vec<Stretch>, P, P)| h.0.first().map_or(h.1[0], |s| s.at[0]);
    let (from, to) = (begins(&left), begins(&right));
    let line = |from: P, to: P| Side::Line { from, to };
    let cap = |h: &(Vec<Stretch>, P, P)| {
        let off = |face: f64| {
            [
                h.1[0] + face * t / 2.0 * h.2[0],
                h.1[1] + face * t / 2.0 * h.2[1],
            ]
        };
        [off(1.0), off(-1.0)]
    };
    // Along the back from left to right, back along the front.
    let mut sides: Vec<Side> = left.0.iter().rev().map(|s| back(&s.faces[1])).collect();
    sides.push(line([from, 0.0], [to, 0.0]));
    sides.extend(right.0.iter().map(|s| s.faces[1]));
    let [front, rear] = cap(&right);
    sides.push(line(rear, front));
    sides.extend(right.0.iter().rev().map(|s| back(&s.faces[0])));
    sides.push(line([to, t], [from, t]));
    sides.extend(left.0.iter().map(|s| s.faces[0]));
    let [front, rear] = cap(&left);
    sides.push(line(front, rear));
    sides.retain(|s| s.length() > 1e-7);
    let [low, high] = p.outline.bounds();
    let wide = [low[1 - i], high[1 - i]];
    let layers = [Layer::straight(wide, Region { loops: vec![sides] })];
    let mut across = Vec::new();
    for h in &p.holes {
        if h.counterbore.is_some() || h.countersink.is_some() || h.blind.is_some() {
            return Err("its stepped holes, bent".to_owned());
        }
        let x = h.at[i];
        let found = right.0.iter().chain(&left.0).find_map(|s| {
            let [a, b] = s.flat?;
            let inside = (x - a) * (x - b) <= 0.0;
            let far = (x - a).abs();
            inside.then(|| {
                (
                    [s.at[0] + far * s.way[0], s.at[1] + far * s.way[1]],
                    s.normal,
                )
            })
        });
        let (at, normal) = match found {
            Some(found) => found,
            None if x >= from && x <= to => ([x, t / 2.0], [0.0, 1.0]),
            None => return Err(format!("its hole {} on a bend", h.name)),
        };
        across.push(Across {
            name: h.name.clone(),
            at: [at[0], at[1], h.at[1 - i]],
            way: (-normal[1]).atan2(-normal[0]).rem_euclid(TAU),
            radius: h.diameter() / 2.0,
            long: 0.0,
            // Through this flange only.
            reach: [-t, t],
        });
    }
    let cuts = Cuts {
        across,
        ..Cuts::default()
    };
    step::build(&layers, &cuts)
}
