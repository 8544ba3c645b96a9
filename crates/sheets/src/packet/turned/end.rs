//! The view of the right end of a turned part: what lies off the axis, and the directions of everything.

use super::profile::span;
use super::{keyways, lift, upward};
use crate::geometry::{P, at_angle};
use crate::packet::dims::{View, leader};
use crate::packet::taken::Taken;
use crate::sheet::{Fill, Group, Pen, Shape};
use machine::fitting::Fitted;
use shop::joined::Joined;
use shop::part::{Opening as _, Turned};
use shop::words;
use std::f64::consts::{FRAC_PI_2, TAU};

/// The right end, seen from the right: what lies off the axis, and the directions of everything.
pub(super) fn end(g: &mut Group, taken: &mut Taken, (t, joined): (&Turned, &[Joined]), v: View) {
    let up = upward(t);
    // Directions as they stand on the paper.
    let turned = |angle: f64| angle - up + FRAC_PI_2;
    let off = |throw: Option<[f64; 2]>| {
        throw.map_or([0.0; 2], |[e, a]| {
            [e * turned(a).cos(), e * turned(a).sin()]
        })
    };
    let mut own = Group::new("end");
    own.shift = v.origin;
    let o = v.own();
    let circle = |g: &mut Group, pen: Pen, centre: P, d: f64| {
        let shape = Shape::Circle {
            centre: o.at(centre),
            radius: o.k * d / 2.0,
        };
        g.draw(pen, shape);
    };
    // From the right: what is no larger than something before it is hidden.
    let mut before = 0.0_f64;
    for s in t.steps.iter().rev() {
        let c = off(s.throw);
        let reach = s.diameter / 2.0 + c[0].hypot(c[1]);
        let pen = if reach > before + 1e-6 {
            Pen::Wide
        } else {
            Pen::Dashed
        };
        if s.sides == 0 {
            // Of one off the axis the crescent that stands out is seen, the rest is hidden.
            let (e, r) = (c[0].hypot(c[1]), s.diameter / 2.0);
            if pen == Pen::Wide && e > 1e-6 && r - e < before - 1e-6 {
                let cos = (before * before - e * e - r * r) / (2.0 * e * r);
                let half = cos.clamp(-1.0, 1.0).acos();
                let (from, at) = (c[1].atan2(c[0]) - half, o.at(c));
                own.draw(Pen::Wide, Shape::arc(at, o.k * r, from, 2.0 * half));
                let rest = Shape::arc(at, o.k * r, from + 2.0 * half, TAU - 2.0 * half);
                own.draw(Pen::Dashed, rest);
            } else {
                circle(&mut own, pen, c, s.diameter);
            }
        }
        before = before.max(s.diameter / 2.0 - c[0].hypot(c[1]));
    }
    for s in t.steps.iter().filter(|s| s.sides > 0) {
        let corner = |i: usize| {
            // Its first side looks to 0.
            let a = turned((i as f64 + 0.5) * TAU / s.sides as f64);
            o.at([s.diameter / 2.0 * a.cos(), s.diameter / 2.0 * a.sin()])
        };
        let corners: Vec<P> = (0..s.sides).map(corner).collect();
        own.draw(Pen::Wide, Shape::poly(&corners, true));
    }
    for f in &t.flats {
        let Some(step) = t.step_at(f.at).filter(|s| s.sides == 0) else {
            continue;
        };
        let r = step.diameter / 2.0;
        let d = if f.sides == 1 {
            f.across - r
        } else {
            f.across / 2.0
        };
        let w = (r * r - d * d).max(0.0).sqrt();
        // Nothing larger stands before it.
        let larger =
            |s: &shop::part::Step| s.from >= f.at + f.length - 1e-6 && s.diameter > 2.0 * d;
        let pen = if t.steps.iter().any(larger) {
            Pen::Dashed
        } else {
            Pen::Wide
        };
        for i in 0..f.sides {
            let (s, c) = turned(i as f64 * TAU / f.sides as f64).sin_cos();
            let edge = |way: f64| o.at([d * c - way * w * s, d * s + way * w * c]);
            own.draw(pen, Shape::line(edge(1.0), edge(-1.0)));
        }
    }
    // A keyway that runs out at this end is a notch in it.
    for (j, k) in keyways(joined) {
        let Some([_, b]) = span(j, k) else { continue };
        if b < t.length() - 1e-6 {
            continue;
        }
        let (s, c) = turned(j.angle).sin_cos();
        let (r, w) = (j.shaft / 2.0, k.width / 2.0);
        let (floor, rim) = (r - k.in_shaft, (r * r - w * w).max(0.0).sqrt());
        let put = |x: f64, y: f64| o.at([x * c - y * s, x * s + y * c]);
        let over = r + 0.4 / o.k;
        let blank = [put(floor, w), put(over, w), put(over, -w), put(floor, -w)];
        own.put(None, Fill::Ground, Shape::poly(&blank, true));
        let notch = [put(rim, w), put(floor, w), put(floor, -w), put(rim, -w)];
        own.draw(Pen::Wide, Shape::poly(&notch, false));
    }
    for b in &t.bores {
        // What goes through is open at this end too.
        let seen = !b.left || b.blind.is_none();
        let c = off(b.throw);
        let pen = if seen { Pen::Wide } else { Pen::Dashed };
        match &b.fitted {
            Fitted::Tapped { thread, .. } if seen => {
                circle(&mut own, pen, c, thread.major - 1.0825 * thread.pitch);
                // Three quarters of a thin circle outside (ISO 6410-1).
                let r = o.k * thread.major / 2.0;
                own.draw(
                    Pen::Narrow,
                    Shape::arc(o.at(c), r, 1.75, 1.5 * std::f64::consts::PI),
                );
            }
            _ => circle(&mut own, pen, c, b.diameter()),
        }
        if let Some([e, _]) = b.throw {
            // The circle it lies on, and its own cross.
            circle(&mut own, Pen::Chain, [0.0; 2], 2.0 * e);
            let (m, half) = (o.at(c), o.k * b.diameter() / 2.0 + 1.5);
            own.draw(
                Pen::Chain,
                Shape::Strokes(vec![
                    [[m[0] - half, m[1]], [m[0] + half, m[1]]],
                    [[m[0], m[1] - half], [m[0], m[1] + half]],
                ]),
            );
        }
    }
    let most = t.steps.iter().map(|s| s.diameter / 2.0 + lift(t, s).abs());
    let reach = o.k * most.fold(1.0, f64::max);
    own.draw(
        Pen::Chain,
        Shape::Strokes(vec![
            [[-reach - 3.0, 0.0], [reach + 3.0, 0.0]],
            [[0.0, -reach - 3.0], [0.0, reach + 3.0]],
        ]),
    );
    let throws = t.steps.iter().filter_map(|s| s.throw);
    let bored = t.bores.iter().filter_map(|b| b.throw);
    let mut said: Vec<(f64, &str)> = throws.chain(bored).map(|x| (x[1], "")).collect();
    said.extend(t.cross.iter().map(|c| (c.from, "hole ")));
    said.extend(keyways(joined).map(|(j, _)| (j.angle, "key ")));
    let flat = !t.flats.is_empty() || t.steps.iter().any(|s| s.sides > 0);
    if flat && !said.is_empty() {
        said.push((0.0, "flat "));
    }
    // One arrow for a direction, with all that lies there.
    let mut told: Vec<(i64, Vec<&str>)> = Vec::new();
    for (angle, what) in said {
        let key = (angle.to_degrees().rem_euclid(360.0) * 100.0).round() as i64;
        match told.iter_mut().find(|t| t.0 == key) {
            Some(t) if t.1.contains(&what) => {}
            Some(t) => t.1.push(what),
            None => told.push((key, vec![what])),
        }
    }
    taken.group(&own);
    g.groups.push(own);
    for (key, whats) in told {
        let degrees = key as f64 / 100.0;
        let angle = turned(degrees.to_radians());
        let d = at_angle(angle);
        let named: Vec<&str> = whats
            .iter()
            .map(|w| w.trim())
            .filter(|w| !w.is_empty())
            .collect();
        let text = format!("{} {}°", named.join(", "), words::number(degrees, 2));
        let tip: P = std::array::from_fn(|i| v.origin[i] + d[i] * reach);
        leader(g, taken, tip, angle, text.trim());
    }
}
