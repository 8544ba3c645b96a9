//! A turned part as it is seen from the side.

use super::{keyways, lift, upward};
use crate::geometry::P;
use crate::packet::dims::View;
use crate::sheet::{Fill, Group, Pen, Shape};
use machine::making::Flats;
use shop::joined::{Joined, Keyway};
use shop::part::{Step, Turned, diameter};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Depth of an outside thread on the radius, over its pitch (ISO 68-1: 0.6134).
pub(super) const THREAD: f64 = 0.6134;

pub(super) fn profile(g: &mut Group, t: &Turned, joined: &[Joined], v: View) {
    for s in &t.steps {
        let (r, up) = (tall(t, s), lift(t, s));
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
        sided(g, t, s, v);
    }
    let round = |f: &&Flats| t.step_at(f.at).is_none_or(|s| s.sides == 0);
    for f in t.flats.iter().filter(round) {
        flats(g, t, f, v);
    }
    for c in &t.cross {
        cross(g, t, c, v);
    }
    for (j, k) in keyways(joined) {
        keyway(g, t, j, k, v);
    }
}

/// How far a step reaches up from its axis: a square or hexagon as it stands on the paper.
fn tall(t: &Turned, s: &Step) -> f64 {
    let r = s.diameter / 2.0;
    if s.sides == 0 {
        return r;
    }
    let corners = corners(t, s).map(|[y, _]| y.abs());
    corners.fold(0.0, f64::max)
}

/// Corners of a square or hexagon: how far up on the paper, and how far towards the reader. Its first side looks to 0.
fn corners(t: &Turned, s: &Step) -> impl Iterator<Item = [f64; 2]> + use<> {
    let (n, r, up) = (s.sides, s.diameter / 2.0, upward(t));
    (0..n).map(move |i| {
        let a = (i as f64 + 0.5) * TAU / n as f64 - up;
        [r * a.cos(), r * a.sin()]
    })
}

/// Flats on a round step, the first looking to 0: those towards the reader with thin crossing lines (ISO 128-3), those above and below as what
/// they take off the outline.
fn flats(g: &mut Group, t: &Turned, f: &Flats, v: View) {
    let Some(step) = t.step_at(f.at) else { return };
    let r = step.diameter / 2.0;
    let d = if f.sides == 1 {
        f.across - r
    } else {
        f.across / 2.0
    };
    let w = (r * r - d * d).max(0.0).sqrt();
    let span = w.atan2(d);
    let [x0, x1] = [f.at, f.at + f.length];
    let axis = lift(t, step);
    let put = |x: f64, y: f64| v.at([x, y + axis]);
    let each = |i: usize| (i as f64 * TAU / f.sides.max(1) as f64 - upward(t)).sin_cos();
    let edges = |(s, c): (f64, f64)| [d * c - w * s, d * c + w * s];
    for (s, c) in (0..f.sides).map(each) {
        for way in [1.0, -1.0] {
            if (way * c).clamp(-1.0, 1.0).acos() > span - 1e-6 {
                continue;
            }
            let [a, b] = edges((s, c)).map(|y| way * y);
            let left = a.max(b);
            // Over an end that is free nothing stands.
            let over = 0.5 / v.k;
            let [free, beyond] = [(x0 - step.from).abs() < 1e-6, (x1 - step.to).abs() < 1e-6];
            let (from, to) = (
                if free { x0 - over } else { x0 },
                if beyond { x1 + over } else { x1 },
            );
            let blank = [[from, left], [from, r + over], [to, r + over], [to, left]];
            let blank = blank.map(|q| put(q[0], way * q[1]));
            g.put(None, Fill::Ground, Shape::poly(&blank, true));
            let mut wall = vec![put(x0, way * left), put(x1, way * left)];
            if !free {
                wall.insert(0, put(x0, way * r));
            }
            if !beyond {
                wall.push(put(x1, way * r));
            }
            g.draw(Pen::Wide, Shape::poly(&wall, false));
        }
    }
    for (s, c) in (0..f.sides).map(each) {
        let [a, b] = edges((s, c));
        let face = [put(x0, a), put(x1, a), put(x1, b), put(x0, b)];
        if s > 0.02 {
            g.draw(Pen::Wide, Shape::poly(&face, true));
            if s > 0.3 {
                let crossed = vec![[face[0], face[2]], [face[1], face[3]]];
                g.draw(Pen::Narrow, Shape::Strokes(crossed));
            }
        } else if s < -0.02 && f.sides == 1 {
            g.draw(Pen::Dashed, Shape::poly(&face, true));
        }
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

/// From where to where a keyway runs along its shaft, mm.
pub(super) fn span(j: &Joined, k: &Keyway) -> Option<[f64; 2]> {
    let middle = j.middle?;
    let half = match k.disc {
        // Where the round of its cutter leaves the shaft.
        Some(disc) => (k.in_shaft * (disc - k.in_shaft)).max(0.0).sqrt(),
        None => j.length / 2.0,
    };
    Some([middle - half, middle + half])
}

/// A keyway as its direction shows it: its outline facing the reader, or its bottom as a hidden line above or below.
fn keyway(g: &mut Group, t: &Turned, j: &Joined, k: &Keyway, v: View) {
    let Some([a, b]) = span(j, k) else { return };
    let long = t.length();
    // One that runs out at an end is open there.
    let open = [a < 1e-6, b > long - 1e-6];
    let (a, b) = (a.max(0.0), b.min(long));
    let middle = f64::midpoint(a, b);
    let r = j.shaft / 2.0;
    let floor = r - k.in_shaft;
    let (s, up) = (j.angle - upward(t)).sin_cos();
    if s.abs() > 0.999 {
        let pen = if s > 0.0 { Pen::Wide } else { Pen::Dashed };
        let w = k.width / 2.0;
        if k.disc.is_some() {
            let corners = [[a, w], [b, w], [b, -w], [a, -w]].map(|q| v.at(q));
            g.draw(pen, Shape::poly(&corners, true));
            return;
        }
        let l = if open[0] { a } else { (a + w).min(middle) };
        let right = if open[1] { b } else { (b - w).max(middle) };
        for y in [w, -w] {
            g.draw(pen, Shape::line(v.at([l, y]), v.at([right, y])));
        }
        if !open[0] {
            g.draw(pen, Shape::arc(v.at([l, 0.0]), w * v.k, FRAC_PI_2, PI));
        }
        if !open[1] {
            g.draw(pen, Shape::arc(v.at([right, 0.0]), w * v.k, -FRAC_PI_2, PI));
        }
    } else if s.abs() < 0.05 {
        let side = up.signum();
        // The shaft's outline dips to the edges of the mouth.
        let w = k.width / 2.0;
        let rim = (r * r - w * w).max(0.0).sqrt();
        if k.disc.is_none() {
            let over = 0.4 / v.k;
            let (from, to) = (
                if open[0] { a - over } else { a },
                if open[1] { b + over } else { b },
            );
            let blank = [[from, r + over], [from, rim], [to, rim], [to, r + over]];
            let blank = blank.map(|q| v.at([q[0], side * q[1]]));
            g.put(None, Fill::Ground, Shape::poly(&blank, true));
            let mut edge = vec![[a, rim], [b, rim]];
            if !open[0] {
                edge.insert(0, [a, r]);
            }
            if !open[1] {
                edge.push([b, r]);
            }
            let edge: Vec<P> = edge.iter().map(|q| v.at([q[0], side * q[1]])).collect();
            g.draw(Pen::Wide, Shape::poly(&edge, false));
        }
        let wall = [[a, rim], [a, floor], [b, floor], [b, rim]].map(|q| v.at([q[0], side * q[1]]));
        g.draw(Pen::Dashed, Shape::poly(&wall, false));
    } else {
        // Aslant: its mouth, narrower by the slant and above or below the axis.
        let w = k.width / 2.0;
        let rise = up * (r * r - w * w).max(0.0).sqrt();
        let (left, right) = ((a + w).min(middle), (b - w).max(middle));
        let mouth: Vec<P> = if k.disc.is_some() {
            vec![[a, w], [b, w], [b, -w], [a, -w]]
        } else {
            let round = |i: u32| {
                let (y, x) = (f64::from(i) * std::f64::consts::TAU / 48.0).sin_cos();
                [if x > 0.0 { right } else { left } + w * x, w * y]
            };
            (0..48).map(round).collect()
        };
        let mouth: Vec<P> = mouth
            .into_iter()
            .map(|[x, y]| v.at([x, s.abs().mul_add(y, rise)]))
            .collect();
        let pen = if s > 0.0 { Pen::Wide } else { Pen::Dashed };
        g.draw(pen, Shape::poly(&mouth, true));
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

/// A square or hexagon step: the edges towards the reader, and thin crossing lines over each flat that is seen (ISO 128-3).
fn sided(g: &mut Group, t: &Turned, s: &Step, v: View) {
    let corners: Vec<[f64; 2]> = corners(t, s).collect();
    let seen = |c: &[f64; 2]| c[1] > -1e-6;
    for c in corners.iter().filter(|c| seen(c)) {
        g.draw(
            Pen::Wide,
            Shape::line(v.at([s.from, c[0]]), v.at([s.to, c[0]])),
        );
    }
    for (i, a) in corners.iter().enumerate() {
        let b = &corners[(i + 1) % corners.len()];
        // Too narrow for a cross where a side is seen nearly on its edge.
        if seen(a) && seen(b) && (a[0] - b[0]).abs() > 0.2 * s.diameter {
            g.draw(
                Pen::Narrow,
                Shape::Strokes(vec![
                    [v.at([s.from, a[0]]), v.at([s.to, b[0]])],
                    [v.at([s.from, b[0]]), v.at([s.to, a[0]])],
                ]),
            );
        }
    }
}
