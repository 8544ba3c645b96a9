//! The view of the right end of a turned part: what lies off the axis, and the directions of everything.

use super::{keyways, lift, upward};
use crate::geometry::{P, at_angle};
use crate::packet::dims::{View, arrow, tag};
use crate::packet::taken::Taken;
use crate::sheet::{Group, Pen, Shape};
use machine::fitting::Fitted;
use shop::joined::Joined;
use shop::part::{Opening as _, Turned};
use shop::words;
use std::f64::consts::FRAC_PI_2;

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
            circle(&mut own, pen, c, s.diameter);
        }
        before = before.max(s.diameter / 2.0 - c[0].hypot(c[1]));
    }
    for s in t.steps.iter().filter(|s| s.sides > 0) {
        let corner = |i: usize| {
            // Corners at the top and bottom, as the view from the side has them.
            let a = FRAC_PI_2 + i as f64 * std::f64::consts::TAU / s.sides as f64;
            o.at([s.diameter / 2.0 * a.cos(), s.diameter / 2.0 * a.sin()])
        };
        let corners: Vec<P> = (0..s.sides).map(corner).collect();
        own.draw(Pen::Wide, Shape::poly(&corners, true));
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
    let mut told: Vec<(i64, &str)> = Vec::new();
    let mut letters: Vec<(P, P, String)> = Vec::new();
    for (angle, what) in said {
        let degrees = words::number(angle.to_degrees().rem_euclid(360.0), 2);
        let key = ((angle.to_degrees() * 100.0).round() as i64, what);
        if told.contains(&key) {
            continue;
        }
        told.push(key);
        let d = at_angle(turned(angle));
        let far = [d[0] * (reach + 5.0), d[1] * (reach + 5.0)];
        let near = [d[0] * reach, d[1] * reach];
        own.draw(Pen::Narrow, Shape::line(far, near));
        arrow(&mut own, near, [-d[0], -d[1]]);
        letters.push((far, d, format!("{what}{degrees}°")));
    }
    taken.group(&own);
    g.groups.push(own);
    for (far, d, text) in letters {
        let at = [v.origin[0] + far[0] + d[0], v.origin[1] + far[1] + d[1]];
        tag(g, taken, at, 0.5, &text);
    }
}
