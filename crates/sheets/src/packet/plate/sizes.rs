//! Sizes on the views of a plate: lengths from the datum and over all, radii, slots, hubs, holes from the edge.

use super::table::edge_name;
use super::views::{deepest, fork_depth};
use crate::font;
use crate::geometry::{P, Rect};
use crate::packet::dims::{Arc, FIRST, LEVEL, Levels, Run, View, arrow, leader, linear, radius};
use crate::packet::taken::Taken;
use crate::sheet::{Group, Hand, Hold, Lettering, Pen, Shape};
use shop::contour::Side;
use shop::part::Plate;
use shop::words::{self, Units};
use std::f64::consts::{FRAC_PI_2, TAU};

/// The radius of an outline that is one circle.
pub(super) fn circle(p: &Plate) -> Option<(P, f64)> {
    let mut found: Option<(P, f64)> = None;
    for s in p.outline.sides() {
        let Side::Arc { centre, radius, .. } = s else {
            return None;
        };
        match found {
            Some((c, r)) => {
                if (c[0] - centre[0]).hypot(c[1] - centre[1]) > 1e-6 || (r - radius).abs() > 1e-6 {
                    return None;
                }
            }
            None => found = Some((centre, radius)),
        }
    }
    found
}

/// From the datum both ways, over all, and the sizes of the side view, whose left edge stands at `side`.
pub(super) fn lengths(
    g: &mut Group,
    taken: &mut Taken,
    p: &Plate,
    v: View,
    (side, third): (f64, bool),
    units: Units,
) {
    let [low, high] = p.outline.bounds();
    let (l, h) = (v.at(low), v.at(high));
    let zero = v.at([0.0, 0.0]);
    let down = Levels {
        first: l[1] + FIRST,
        side: 1.0,
        alone: false,
    };
    let left = Levels {
        first: l[0] - FIRST,
        side: -1.0,
        alone: false,
    };
    // Where the lines of all of them will run, so that no lettering is put there.
    for x in [l[0], h[0]] {
        taken.line([x, l[1]], [x, l[1] + FIRST + LEVEL + 1.5]);
    }
    for y in [l[1], h[1]] {
        taken.line([l[0], y], [l[0] - FIRST - LEVEL - 1.5, y]);
    }
    let differs = |a: f64, b: f64| (a - b).abs() > 0.01;
    if differs(0.0, low[0]) && differs(0.0, high[0]) {
        taken.line([zero[0], l[1]], [zero[0], l[1] + FIRST + 1.5]);
    }
    if differs(0.0, low[1]) && differs(0.0, high[1]) {
        taken.line([l[0], zero[1]], [l[0] - FIRST - 1.5, zero[1]]);
    }
    // Extension lines of bends, before any lettering is put on them.
    for b in &p.bends {
        let line = v.at(b.line[0]);
        let (far, near) = (FIRST + LEVEL * p.bends.len() as f64, 1.0);
        if b.upright {
            taken.line([line[0], l[1] + near], [line[0], l[1] + far]);
        } else {
            taken.line([l[0] - near, line[1]], [l[0] - far, line[1]]);
        }
    }
    for b in &p.bends {
        // Where its line lies on the flat.
        let line = v.at(b.line[0]);
        if b.upright {
            let ends = [[zero[0], l[1]], [line[0], l[1]]];
            let text = words::outer(b.line[0][0].abs(), units);
            linear(g, taken, ends, Run::Level, down, &text);
        } else {
            let ends = [[l[0], zero[1]], [l[0], line[1]]];
            let text = words::outer(b.line[0][1].abs(), units);
            linear(g, taken, ends, Run::Upright, left, &text);
        }
    }
    // A chain is not closed (ISO 129-1): a rectangle is told by its outer sizes and how far the datum lies from two edges; of other outlines
    // the outer size follows from what else is told, and stands in brackets.
    let told = |size: f64, follows: bool| {
        let text = words::outer(size, units);
        if follows { format!("({text})") } else { text }
    };
    let is_box = p.is_box();
    // How far a round end about the datum reaches is told by its radius (ISO 129-1: each feature once).
    let cam = p.cams.iter().any(shop::cams::CamCut::is_outline);
    let rounded = |to: f64| {
        !cam && p.outline.sides().iter().any(|s| match s {
            Side::Arc {
                centre,
                radius,
                sweep,
                ..
            } => {
                *sweep > 0.0
                    && !differs(centre[0], 0.0)
                    && !differs(centre[1], 0.0)
                    && !differs(*radius, to.abs())
            }
            Side::Line { .. } => false,
        })
    };
    let mut across = |a: f64, b: f64, text: String| {
        let ends = [[a, l[1]], [b, l[1]]];
        linear(g, taken, ends, Run::Level, down, &text);
    };
    let round = circle(p).is_some();
    if !round {
        // What lies between the datum and an edge; the datum may lie off the part.
        let chain = differs(0.0, low[0]) && differs(0.0, high[0]);
        if chain {
            if high[0] > 0.0 && !(is_box && low[0] < 0.0) && !rounded(high[0]) {
                across(zero[0], h[0], told(high[0], false));
            }
            if low[0] < 0.0 && rounded(low[0]) {
            } else if low[0] < 0.0 {
                across(l[0], zero[0], told(-low[0], false));
            } else if !is_box {
                across(zero[0], l[0], told(low[0], false));
            }
        }
        across(l[0], h[0], told(high[0] - low[0], chain && !is_box));
    }
    let mut up = |a: f64, b: f64, text: String| {
        let ends = [[l[0], a], [l[0], b]];
        linear(g, taken, ends, Run::Upright, left, &text);
    };
    if !round {
        let chain = differs(0.0, low[1]) && differs(0.0, high[1]);
        if chain {
            if high[1] > 0.0 && (is_box && low[1] < 0.0 || rounded(high[1])) {
            } else if high[1] > 0.0 {
                up(zero[1], h[1], told(high[1], false));
            } else {
                up(h[1], zero[1], told(-high[1], false));
            }
            if low[1] < 0.0 && !(is_box && high[1] < 0.0) && !rounded(low[1]) {
                up(l[1], zero[1], told(-low[1], false));
            }
        }
        up(l[1], h[1], told(high[1] - low[1], chain && !is_box));
    }
    // The side view; of a bent plate its height and width as bent, and its bends.
    if let Some(f) = crate::packet::bent::formed(p) {
        let (wide, tall) = (f.height[1] - f.height[0], f.across[1] - f.across[0]);
        let middle = if p.bends.first().is_some_and(|b| b.upright) {
            f64::midpoint(l[1], h[1])
        } else {
            v.at([0.0, f64::midpoint(f.across[0], f.across[1])])[1]
        };
        let (top, low) = (middle - v.k * tall / 2.0, middle + v.k * tall / 2.0);
        let over = Levels {
            first: top - FIRST,
            side: -1.0,
            alone: false,
        };
        let ends = [[side, top], [side + v.k * wide, top]];
        linear(g, taken, ends, Run::Level, over, &words::outer(wide, units));
        let beside = Levels {
            first: side + v.k * wide + FIRST - 1.0,
            side: 1.0,
            alone: false,
        };
        let ends = [[side + v.k * wide, low], [side + v.k * wide, top]];
        linear(
            g,
            taken,
            ends,
            Run::Upright,
            beside,
            &words::outer(tall, units),
        );
        let zero = middle + v.k * f64::midpoint(f.across[0], f.across[1]);
        for m in &f.middles {
            let Some(b) = p.bends.get(m.bend) else {
                continue;
            };
            let [across, height] = m.outside;
            let (x, way) = if third {
                (f.height[1] - height, -1.0)
            } else {
                (height - f.height[0], 1.0)
            };
            let tip = [side + v.k * x, zero - v.k * across];
            let text = format!(
                "{}: {}°, R{}, {} outside",
                words::spoken(&b.name),
                words::number(b.angle.to_degrees(), 2),
                words::length(b.radius, units),
                words::length(b.length, units)
            );
            let outward = m.outward[0].atan2(way * m.outward[1]);
            leader(g, taken, tip, outward, &text);
        }
        return;
    }
    let over = Levels {
        first: h[1] - FIRST,
        side: -1.0,
        alone: false,
    };
    // The back, and which way from it.
    let (back, way) = if third {
        (side + v.k * deepest(p), -v.k)
    } else {
        (side, v.k)
    };
    for (n, hub) in p.ends.iter().filter_map(|e| e.hub).enumerate() {
        let far = FIRST + LEVEL * (n + 1) as f64 + 1.5;
        for x in [back, back + way * hub] {
            taken.line([x, h[1]], [x, h[1] - far]);
        }
    }
    let mut thick = |to: f64| {
        let (a, b) = (back, back + way * to);
        let ends = [[a.min(b), h[1]], [a.max(b), h[1]]];
        linear(g, taken, ends, Run::Level, over, &words::length(to, units));
    };
    thick(p.thickness);
    let mut hubs: Vec<f64> = p.ends.iter().filter_map(|e| e.hub).collect();
    hubs.sort_by(f64::total_cmp);
    hubs.dedup();
    for hub in hubs {
        thick(hub);
    }
    let Some(f) = &p.fork else { return };
    let (m, half) = (back + way * p.thickness / 2.0, v.k * f.gap / 2.0);
    let ends = [[m - half, l[1]], [m + half, l[1]]];
    linear(
        g,
        taken,
        ends,
        Run::Level,
        down,
        &words::length(f.gap, units),
    );
    if let Some(([bottom, open], deep)) = fork_depth(p) {
        let text = words::length(deep, units);
        let (a, b) = (v.at(bottom), v.at(open));
        if (a[1] - b[1]).abs() < 0.01 {
            let ends = [[a[0], h[1]], [b[0], h[1]]];
            linear(g, taken, ends, Run::Level, over, &text);
        } else if (a[0] - b[0]).abs() < 0.01 {
            let right = Levels {
                first: h[0] + FIRST,
                side: 1.0,
                alone: false,
            };
            let ends = [[h[0], a[1]], [h[0], b[1]]];
            linear(g, taken, ends, Run::Upright, right, &text);
        } else {
            leader(
                g,
                taken,
                a,
                f.open + FRAC_PI_2,
                &format!("fork {text} deep"),
            );
        }
    }
}

/// Where coordinates count from: two arrows and a zero. They stand clear of a hole that is made there.
pub(super) fn datum(g: &mut Group, taken: &mut Taken, p: &Plate, v: View) {
    let o = v.at([0.0, 0.0]);
    let hole = p.holes.iter().filter(|h| h.at == [0.0, 0.0]);
    let around = hole.map(|h| {
        use shop::part::Opening as _;
        let d = h.counterbore.map_or(0.0, |c| c[0]);
        v.k * d.max(h.diameter()).max(h.countersink.unwrap_or(0.0)) / 2.0
    });
    let long = 11.0_f64.max(around.fold(0.0, f64::max) + 6.0);
    let mut own = Group::new("datum");
    let mut letters = Vec::new();
    for (d, name) in [([1.0, 0.0], "x"), ([0.0, -1.0], "y")] {
        let tip = [o[0] + long * d[0], o[1] + long * d[1]];
        own.draw(Pen::Narrow, Shape::line(o, tip));
        arrow(&mut own, tip, d);
        // Beside the arrow or beyond it, where least is in the way.
        let n = [-d[1], d[0]];
        let mut places = Vec::new();
        for f in [2.2, -1.0, -4.0, 4.5, -7.5, 7.0] {
            for s in [0.0, 2.0, -2.0, 3.5, -3.5, 5.0, -5.0] {
                if f > 2.0 || s != 0.0 {
                    let at = [tip[0] + f * d[0] + s * n[0], tip[1] + f * d[1] + s * n[1]];
                    places.push(at);
                }
            }
        }
        letters.push((name, places));
    }
    taken.group(&own);
    let width = font::width("x", 2.0, Hand::Note);
    for (name, places) in letters {
        let rect = |c: P| {
            Rect::new(
                [c[0] - width / 2.0 - 0.2, c[1] - 1.2],
                [c[0] + width / 2.0 + 0.2, c[1] + 1.2],
            )
        };
        let cost = |c: &P| taken.under(rect(*c));
        let best = places
            .into_iter()
            .min_by(|a, b| cost(a).total_cmp(&cost(b)));
        if let Some(c) = best {
            let at = [c[0], c[1] + 0.8];
            let l = Lettering::new(at, name, 2.0, Hold::Middle, Hand::Note);
            taken.rect(l.extent());
            own.letter(l);
        }
    }
    g.groups.push(own);
}

/// One radius for all arcs that are alike.
pub(super) fn radii(g: &mut Group, taken: &mut Taken, p: &Plate, v: View, units: Units) {
    if let Some((centre, r)) = circle(p) {
        let arc = Arc {
            centre: v.at(centre),
            radius: v.k * r,
            from: 0.4,
            sweep: TAU,
        };
        let text = format!("⌀{}", words::length(2.0 * r, units));
        return radius(g, taken, &[arc], &text);
    }
    // The arcs of a cam are no radii that anybody sets.
    if p.cams.iter().any(shop::cams::CamCut::is_outline) {
        return;
    }
    let mut told: Vec<(f64, bool, Vec<Arc>)> = Vec::new();
    for s in p.outline.sides() {
        let Side::Arc {
            radius,
            from,
            sweep,
            centre,
        } = s
        else {
            continue;
        };
        let arc = Arc {
            centre: v.at(centre),
            radius: v.k * radius,
            from,
            sweep,
        };
        let alike = told
            .iter_mut()
            .find(|t| (t.0 - radius).abs() < 1e-4 && t.1 == (sweep > 0.0));
        match alike {
            Some(t) => t.2.push(arc),
            None => told.push((radius, sweep > 0.0, vec![arc])),
        }
    }
    for (r, _, arcs) in told {
        if arcs.iter().all(|a| hub_there(p, v, a)) {
            continue;
        }
        let mut text = format!("R{}", words::length(r, units));
        if arcs.len() > 1 {
            text = format!("{} x {text}", arcs.len());
        }
        radius(g, taken, &arcs, &text);
    }
}

/// Whether an arc is the round end under a hub of its size: one leader tells both.
fn hub_there(p: &Plate, v: View, a: &Arc) -> bool {
    p.ends.iter().filter(|e| e.hub.is_some()).any(|e| {
        let c = v.at(e.at);
        (c[0] - a.centre[0]).hypot(c[1] - a.centre[1]) < 0.01
            && (v.k * e.radius - a.radius).abs() < 0.01
    })
}

/// A place by the hole that stands there, else by its coordinates.
fn about(p: &Plate, at: P, units: Units) -> String {
    let mut holes = p.holes.iter().zip(shop::letters::names(p));
    let there = |h: &shop::part::Hole| (h.at[0] - at[0]).hypot(h.at[1] - at[1]) < 1e-6;
    match holes.find(|(h, _)| there(h)) {
        Some((_, name)) => name,
        None => {
            let [x, y] = at.map(|q| words::coordinate(q, units));
            format!("x {x} y {y}")
        }
    }
}

/// Slots, holes from the edge, hubs: each on its leader.
pub(super) fn features(g: &mut Group, taken: &mut Taken, p: &Plate, v: View, units: Units) {
    for s in &p.slots {
        let deep = s.depth.map_or_else(
            || "through".to_owned(),
            |d| format!("{} deep", words::length(d, units)),
        );
        let mut text = format!(
            "slot {} wide, {deep}",
            words::sized(s.width, s.class.as_ref(), units)
        );
        let middle = s.line().at(0.5);
        let n = match s.line() {
            Side::Line { from, to } => (to[1] - from[1]).atan2(to[0] - from[0]) + FRAC_PI_2,
            Side::Arc {
                centre,
                radius,
                from,
                sweep,
            } => {
                let degrees = |a: f64| words::number(a.to_degrees().rem_euclid(360.0), 3);
                text += &format!(
                    ", middle R{} about {}, {}° to {}°",
                    words::length(radius, units),
                    about(p, centre, units),
                    degrees(from),
                    degrees(from + sweep)
                );
                from + sweep / 2.0
            }
        };
        let tip = [
            middle[0] + n.cos() * s.width / 2.0,
            middle[1] + n.sin() * s.width / 2.0,
        ];
        leader(g, taken, v.at(tip), n, &text);
    }
    // What they are stands in the table.
    for (n, e) in p.edge_holes.iter().enumerate() {
        leader(g, taken, v.at(e.enters), e.from, &edge_name(p, n));
    }
    for e in p.ends.iter().filter(|e| e.hub.is_some()) {
        let mut text = format!("hub ⌀{}", words::length(2.0 * e.radius, units));
        let ends = p.outline.sides().into_iter().any(|s| {
            matches!(s, Side::Arc { centre, radius, sweep, .. }
                if sweep > 0.0 && (radius - e.radius).abs() < 1e-3
                    && (centre[0] - e.at[0]).hypot(centre[1] - e.at[1]) < 1e-3)
        });
        if ends {
            text = format!("R{}, {text}", words::length(e.radius, units));
        }
        let arc = Arc {
            centre: v.at(e.at),
            radius: v.k * e.radius,
            from: 2.2,
            sweep: TAU,
        };
        radius(g, taken, &[arc], &text);
    }
}
