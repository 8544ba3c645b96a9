//! A turned part as it is seen from the side.

use super::{keyways, lift, upward};
use crate::geometry::P;
use crate::packet::dims::View;
use crate::packet::plate::shape;
use crate::sheet::{Fill, Group, Pen, Shape};
use shop::contour::Contour;
use shop::joined::{Joined, Keyway};
use shop::part::{Step, Turned, diameter};

/// Depth of an outside thread on the radius, over its pitch (ISO 68-1: 0.6134).
pub(super) const THREAD: f64 = 0.6134;

pub(super) fn profile(g: &mut Group, t: &Turned, joined: &[Joined], v: View) {
    for s in &t.steps {
        let (r, up) = (s.diameter / 2.0, lift(t, s));
        let c = s.chamfer.min(r).min(s.length());
        // The chamfer breaks the edge that is free: where the neighbour is smaller or there is none.
        let free = |at: f64| {
            let next = t.steps.iter().find(|o| {
                (o.to - at).abs() < 1e-9 && o.to <= s.from + 1e-9
                    || (o.from - at).abs() < 1e-9 && o.from >= s.to - 1e-9
            });
            next.is_none_or(|o| o.diameter < s.diameter)
        };
        let (l, rr) = (
            if free(s.from) { c } else { 0.0 },
            if free(s.to) { c } else { 0.0 },
        );
        let p = |x: f64, y: f64| v.at([x, y + up]);
        let outline = [
            p(s.from, -(r - l)),
            p(s.from, r - l),
            p(s.from + l, r),
            p(s.to - rr, r),
            p(s.to, r - rr),
            p(s.to, -(r - rr)),
            p(s.to - rr, -r),
            p(s.from + l, -r),
        ];
        g.draw(Pen::Wide, Shape::poly(&outline, true));
        for (x, on) in [(s.from + l, l), (s.to - rr, rr)] {
            if on > 0.0 {
                g.draw(Pen::Wide, Shape::line(p(x, r), p(x, -r)));
            }
        }
        if let Some(thread) = &s.thread {
            let root = r - THREAD * thread.pitch;
            for y in [root, -root] {
                g.draw(Pen::Narrow, Shape::line(p(s.from, y), p(s.to, y)));
            }
        }
        if s.throw.is_some() {
            g.draw(
                Pen::Chain,
                Shape::line(p(s.from - 3.0 / v.k, 0.0), p(s.to + 3.0 / v.k, 0.0)),
            );
        }
    }
    for q in &t.grooves {
        let r = t.step_at(q.at).map_or(0.0, |s| s.diameter / 2.0);
        groove(g, v, [q.at, q.at + q.width], [q.diameter / 2.0, r]);
    }
    for (i, s) in t.steps.iter().enumerate().filter(|(_, s)| s.relief) {
        let Some(thread) = &s.thread else { continue };
        // Behind the thread, where the part is thicker: two pitches wide, below the root (as on the operation sheet).
        let beside = |n: Option<usize>| n.and_then(|n| t.steps.get(n)).map_or(0.0, |s| s.diameter);
        let (wide, r) = (2.0 * thread.pitch, s.diameter / 2.0);
        let span = if beside(i.checked_sub(1)) > beside(Some(i + 1)) {
            [s.from, s.from + wide]
        } else {
            [s.to - wide, s.to]
        };
        groove(g, v, span, [r - 0.7 * thread.pitch, r]);
    }
    for s in t.steps.iter().filter(|s| s.sides > 0) {
        sided(g, s, v);
    }
    let round = |f: &&machine::making::Flats| t.step_at(f.at).is_none_or(|s| s.sides == 0);
    for f in t.flats.iter().filter(round) {
        let r = t.step_at(f.at).map_or(0.0, |s| s.diameter / 2.0);
        // Thin crossing lines mark a flat face (ISO 128-3).
        let half = (r * r - (f.across / 2.0).powi(2)).max(0.0).sqrt();
        let corners = [
            [f.at, half],
            [f.at + f.length, half],
            [f.at + f.length, -half],
            [f.at, -half],
        ]
        .map(|q| v.at(q));
        g.draw(Pen::Wide, Shape::poly(&corners, true));
        g.draw(
            Pen::Narrow,
            Shape::Strokes(vec![[corners[0], corners[2]], [corners[1], corners[3]]]),
        );
    }
    for c in &t.cross {
        cross(g, t, c, v);
    }
    for (j, k) in keyways(joined) {
        keyway(g, t, j, k, v);
    }
}

/// A groove all round: what it takes away is blank.
fn groove(g: &mut Group, v: View, [from, to]: [f64; 2], [bottom, r]: [f64; 2]) {
    for s in [1.0, -1.0] {
        let over = r + 0.4 / v.k;
        let corners = [[from, over], [from, bottom], [to, bottom], [to, over]];
        let blank = corners.map(|q| v.at([q[0], s * q[1]]));
        g.put(None, Fill::Ground, Shape::poly(&blank, true));
        let wall = [[from, r], [from, bottom], [to, bottom], [to, r]];
        let wall = wall.map(|q| v.at([q[0], s * q[1]]));
        g.draw(Pen::Wide, Shape::poly(&wall, false));
    }
    // Its edges are seen as lines across.
    for x in [from, to] {
        g.draw(Pen::Wide, Shape::line(v.at([x, r]), v.at([x, -r])));
    }
}

/// A keyway as its direction shows it: its outline facing the reader, or its bottom as a hidden line above or below.
fn keyway(g: &mut Group, t: &Turned, j: &Joined, k: &Keyway, v: View) {
    let Some(middle) = j.middle else { return };
    let r = j.shaft / 2.0;
    let floor = r - k.in_shaft;
    let half = match k.disc {
        // Where the round of its cutter leaves the shaft.
        Some(disc) => (k.in_shaft * (disc - k.in_shaft)).max(0.0).sqrt(),
        None => j.length / 2.0,
    };
    let (s, up) = (j.angle - upward(t)).sin_cos();
    let (a, b) = (middle - half, middle + half);
    if s.abs() > 0.999 {
        let pen = if s > 0.0 { Pen::Wide } else { Pen::Dashed };
        let w = k.width / 2.0;
        let outline = if k.disc.is_some() {
            Shape::poly(&[[a, w], [b, w], [b, -w], [a, -w]].map(|q| v.at(q)), true)
        } else {
            let (l, right) = ((a + w).min(middle), (b - w).max(middle));
            shape(&Contour::capsule(([l, 0.0], w), ([right, 0.0], w)), v)
        };
        g.draw(pen, outline);
    } else if s.abs() < 0.05 {
        let side = up.signum();
        let wall = [[a, r], [a, floor], [b, floor], [b, r]].map(|q| v.at([q[0], side * q[1]]));
        g.draw(Pen::Dashed, Shape::poly(&wall, false));
    }
}

/// A hole across as its direction shows it: a circle facing the reader, an ellipse, or hidden lines from above or below.
fn cross(g: &mut Group, t: &Turned, c: &shop::part::Cross, v: View) {
    let r = diameter(&c.fitted) / 2.0;
    let outside = t.step_at(c.at).map_or(0.0, |s| s.diameter / 2.0);
    let (s, up) = (c.from - upward(t)).sin_cos();
    let facing = s.abs();
    if facing < 0.05 {
        let end = c.blind.map_or(-outside, |deep| outside - deep) * up.signum();
        for x in [c.at - r, c.at + r] {
            g.draw(
                Pen::Dashed,
                Shape::line(v.at([x, outside * up.signum()]), v.at([x, end])),
            );
        }
    } else {
        // Behind the part it is hidden, unless it goes through.
        let pen = if s > 0.0 || c.blind.is_none() {
            Pen::Wide
        } else {
            Pen::Dashed
        };
        let height = if facing > 0.999 {
            0.0
        } else {
            outside * up * s.signum()
        };
        if facing > 0.999 {
            let shape = Shape::Circle {
                centre: v.at([c.at, 0.0]),
                radius: v.k * r,
            };
            g.draw(pen, shape);
        } else {
            let rim: Vec<P> = (0..48)
                .map(|i| {
                    let a = f64::from(i) * std::f64::consts::TAU / 48.0;
                    v.at([c.at + r * a.cos(), height + r * facing * a.sin()])
                })
                .collect();
            g.draw(pen, Shape::poly(&rim, true));
        }
    }
    let half = if facing < 0.05 { outside } else { r } + 2.0 / v.k;
    g.draw(
        Pen::Chain,
        Shape::line(v.at([c.at, -half]), v.at([c.at, half])),
    );
}

/// A square or hexagon step seen on its corners' side: the edges towards the eye, and thin crossing lines over each flat that is seen
/// (ISO 128-3).
fn sided(g: &mut Group, s: &Step, v: View) {
    let r = s.diameter / 2.0;
    // Corners at the top and bottom of the view: a square shows one edge in the middle, a hexagon two at half the radius.
    let edges: &[f64] = if s.sides == 4 {
        &[1.0, 0.0, -1.0]
    } else {
        &[1.0, 0.5, -0.5, -1.0]
    };
    for e in edges {
        g.draw(
            Pen::Wide,
            Shape::line(v.at([s.from, e * r]), v.at([s.to, e * r])),
        );
    }
    for pair in edges.windows(2) {
        let (a, b) = (pair[0] * r, pair[1] * r);
        g.draw(
            Pen::Narrow,
            Shape::Strokes(vec![
                [v.at([s.from, a]), v.at([s.to, b])],
                [v.at([s.from, b]), v.at([s.to, a])],
            ]),
        );
    }
}
