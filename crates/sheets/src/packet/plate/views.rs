//! Front and side of a plate without its lettering.

use super::super::dims::View;
use super::shape;
use crate::geometry::P;
use crate::sheet::{Group, Pen, Shape, Step};
use machine::fitting::Fitted;
use shop::contour::{Contour, Side};
use shop::part::{Hole, Opening as _, Plate, diameter};
use std::f64::consts::PI;

/// Minor diameter of a thread on a drawing: five eighths of the sharp height of ISO 68-1 off each side.
pub(in crate::packet) fn minor(thread: &quantity::Thread) -> f64 {
    thread.major - 1.0825 * thread.pitch
}

pub(super) fn front(g: &mut Group, p: &Plate, v: View) {
    let k = v.k;
    g.draw(Pen::Wide, shape(&p.outline, v));
    for h in &p.holes {
        hole(g, h, v);
    }
    for s in &p.slots {
        g.draw(Pen::Wide, shape(&s.outline(), v));
        let middle = match s.line() {
            Side::Line { from, to } => Shape::line(v.at(from), v.at(to)),
            Side::Arc {
                centre,
                radius,
                from,
                sweep,
            } => Shape::arc(v.at(centre), k * radius, from, sweep),
        };
        g.draw(Pen::Chain, middle);
        for end in s.ends {
            cross(g, v.at(end), 1.5);
        }
    }
    for e in p.ends.iter().filter(|e| e.hub.is_some()) {
        g.draw(
            Pen::Wide,
            Shape::Circle {
                centre: v.at(e.at),
                radius: k * e.radius,
            },
        );
    }
    for (_, at) in &p.marks {
        cross(g, v.at(*at), 3.0);
    }
    for e in &p.edge_holes {
        let r = diameter(&e.fitted) / 2.0;
        let d = [e.from.cos(), e.from.sin()];
        let n = [-d[1], d[0]];
        let deep = super::edges::deep(p, e);
        let end = [e.enters[0] - d[0] * deep, e.enters[1] - d[1] * deep];
        for s in [r, -r] {
            let side = |q: P| v.at([q[0] + s * n[0], q[1] + s * n[1]]);
            g.draw(Pen::Dashed, Shape::line(side(e.enters), side(end)));
        }
        g.draw(
            Pen::Chain,
            Shape::line(
                v.at([e.enters[0] + d[0] * 3.0 / k, e.enters[1] + d[1] * 3.0 / k]),
                v.at(end),
            ),
        );
    }
    if let Some(ends) = fork_bottom(p) {
        // Hidden behind the front ear.
        g.draw(Pen::Dashed, Shape::line(v.at(ends[0]), v.at(ends[1])));
    }
}

/// The line at the bottom of a fork, from edge to edge.
fn fork_bottom(p: &Plate) -> Option<[P; 2]> {
    let f = p.fork.as_ref()?;
    let [low, high] = p.outline.bounds();
    let d = [f.open.cos(), f.open.sin()];
    let bottom = [f.at[0] - d[0] * f.depth, f.at[1] - d[1] * f.depth];
    let reach = (high[0] - low[0]).hypot(high[1] - low[1]);
    let n = [-d[1], d[0]];
    Some([
        clip(&p.outline, bottom, n, reach),
        clip(&p.outline, bottom, [-n[0], -n[1]], reach),
    ])
}

/// How deep a fork is, from its open end to its bottom: both places and the length.
pub(super) fn fork_depth(p: &Plate) -> Option<([P; 2], f64)> {
    let f = p.fork.as_ref()?;
    let [low, high] = p.outline.bounds();
    let d = [f.open.cos(), f.open.sin()];
    let bottom = [f.at[0] - d[0] * f.depth, f.at[1] - d[1] * f.depth];
    let reach = (high[0] - low[0]).hypot(high[1] - low[1]);
    let open = clip(&p.outline, f.at, d, reach);
    let long = (open[0] - bottom[0]).hypot(open[1] - bottom[1]);
    Some(([bottom, open], long))
}

/// From a place inside an outline along a direction to its edge.
fn clip(c: &Contour, at: P, d: P, reach: f64) -> P {
    let (mut inside, mut outside) = (0.0, reach);
    if !c.holds(at) {
        return at;
    }
    for _ in 0..50 {
        let t = f64::midpoint(inside, outside);
        if c.holds([at[0] + t * d[0], at[1] + t * d[1]]) {
            inside = t;
        } else {
            outside = t;
        }
    }
    [at[0] + inside * d[0], at[1] + inside * d[1]]
}

fn cross(g: &mut Group, c: P, half: f64) {
    g.draw(
        Pen::Chain,
        Shape::Strokes(vec![
            [[c[0] - half, c[1]], [c[0] + half, c[1]]],
            [[c[0], c[1] - half], [c[0], c[1] + half]],
        ]),
    );
}

/// A hole seen from its end; a thread has three quarters of a thin circle outside (ISO 6410-1).
fn hole(g: &mut Group, h: &Hole, v: View) {
    let c = v.at(h.at);
    let r = v.k * h.diameter() / 2.0;
    let circle = |radius: f64| Shape::Circle { centre: c, radius };
    // What does not come through from the back is not seen.
    let pen = if h.back && h.blind.is_some() {
        Pen::Dashed
    } else {
        Pen::Wide
    };
    if let Fitted::Tapped { thread, .. } = &h.fitted {
        g.draw(pen, circle(v.k * minor(thread) / 2.0));
        g.draw(
            Pen::Narrow,
            Shape::arc(c, r, 1.75, 1.5 * std::f64::consts::PI),
        );
    } else {
        g.draw(pen, circle(r));
    }
    let pen = if h.back { Pen::Dashed } else { Pen::Wide };
    for d in [h.counterbore.map(|x| x[0]), h.countersink]
        .into_iter()
        .flatten()
    {
        g.draw(pen, circle(v.k * d / 2.0));
    }
    let out = h
        .counterbore
        .map_or(r, |x| v.k * x[0] / 2.0)
        .max(h.countersink.map_or(r, |d| v.k * d / 2.0));
    cross(g, c, out + 2.0);
}

/// The side view, standing on the right: in first-angle seen from the left, the face that is seen in front looking to the right and the back at
/// zero; in third-angle seen from the right, the other way round, its foremost face at zero.
pub(super) fn side(g: &mut Group, p: &Plate, k: f64, third: bool) {
    let mut own = Group::new("side");
    as_side(&mut own, p, k, third);
    if third {
        mirror(&mut own, k * deepest(p));
    }
    g.marks.extend(own.marks);
}

/// How far the plate with its hubs reaches from its back, mm.
pub(super) fn deepest(p: &Plate) -> f64 {
    let hubs = p.ends.iter().filter_map(|e| e.hub);
    hubs.fold(p.thickness, f64::max)
}

/// Turns what was drawn between 0 and `wide` left for right.
pub(super) fn mirror(g: &mut Group, wide: f64) {
    let over = |q: &mut P| q[0] = wide - q[0];
    for m in &mut g.marks {
        match &mut m.shape {
            Shape::Strokes(all) => all.iter_mut().flatten().for_each(over),
            Shape::Circle { centre, .. } => over(centre),
            Shape::Outline { start, steps, .. } => {
                over(start);
                for s in steps {
                    match s {
                        Step::To(q) => over(q),
                        Step::Arc {
                            centre,
                            from,
                            sweep,
                            ..
                        } => {
                            over(centre);
                            *from = PI - *from;
                            *sweep = -*sweep;
                        }
                    }
                }
            }
        }
    }
}

fn as_side(g: &mut Group, p: &Plate, k: f64, third: bool) {
    let [low, high] = p.outline.bounds();
    let up = |y: f64| -k * y;
    let t = k * p.thickness;
    let rect = |g: &mut Group, x: [f64; 2], y: [f64; 2]| {
        g.draw(
            Pen::Wide,
            Shape::poly(
                &[[x[0], y[0]], [x[1], y[0]], [x[1], y[1]], [x[0], y[1]]],
                true,
            ),
        );
    };
    rect(g, [0.0, t], [up(high[1]), up(low[1])]);
    for e in &p.ends {
        if let Some(hub) = e.hub {
            let (y, r) = (up(e.at[1]), k * e.radius);
            rect(g, [t, k * hub], [y - r, y + r]);
        }
    }
    if let Some(f) = &p.fork {
        let (m, half) = (t / 2.0, k * f.gap / 2.0);
        // Its open end is seen where it looks that way.
        let towards = if third { 1.0 } else { -1.0 };
        let pen = if (f.open.cos() - towards).abs() < 1e-6 {
            Pen::Wide
        } else {
            Pen::Dashed
        };
        for x in [m - half, m + half] {
            g.draw(pen, Shape::line([x, up(high[1])], [x, up(low[1])]));
        }
    }
    // Tracks are cut into the face.
    let tracks = p
        .cams
        .iter()
        .filter_map(|c| Some((c.outer.as_ref()?, c.depth?)));
    for (outer, depth) in tracks {
        let [low, high] = outer.bounds();
        let floor = t - k * depth;
        let [a, b] = [up(high[1]), up(low[1])];
        g.draw(
            Pen::Dashed,
            Shape::poly(&[[t, a], [floor, a], [floor, b], [t, b]], false),
        );
    }
    let hidden = |g: &mut Group, from: f64, to: f64, y: f64, r: f64| {
        for s in [-r, r] {
            g.draw(Pen::Dashed, Shape::line([from, y + s], [to, y + s]));
        }
    };
    let mut axes: Vec<(f64, f64, f64)> = Vec::new();
    for h in &p.holes {
        let (y, r) = (up(h.at[1]), k * h.diameter() / 2.0);
        // Worked from the front, over a hub from its face.
        let front = k * h.through.max(p.thickness);
        let deep = h.blind.map_or(front, |b| k * b.min(h.through));
        // From the back inwards the other way.
        let (face, way) = if h.back { (0.0, -1.0) } else { (front, 1.0) };
        let mut from = face;
        if let Some([d, depth]) = h.counterbore {
            hidden(g, face - way * k * depth, face, y, k * d / 2.0);
            from = face - way * k * depth;
            let half = k * d / 2.0;
            g.draw(Pen::Dashed, Shape::line([from, y - half], [from, y + half]));
        }
        if let Some(d) = h.countersink {
            let (big, cone) = (k * d / 2.0, k * h.sunk());
            from = face - way * cone;
            for s in [-1.0, 1.0] {
                g.draw(
                    Pen::Dashed,
                    Shape::line([face, y + s * big], [from, y + s * r]),
                );
            }
        }
        let end = face - way * deep;
        hidden(g, end, from, y, r);
        axes.push((end.min(face), end.max(face), y));
        if h.blind.is_some() {
            g.draw(Pen::Dashed, Shape::line([end, y - r], [end, y + r]));
        }
    }
    // One centre line for all holes at a height.
    axes.sort_by(|a, b| a.2.total_cmp(&b.2));
    for alike in axes.chunk_by(|a, b| (a.2 - b.2).abs() < 1e-6) {
        let from = alike.iter().map(|a| a.0).fold(f64::INFINITY, f64::min);
        let to = alike.iter().map(|a| a.1).fold(f64::NEG_INFINITY, f64::max);
        if let Some((.., y)) = alike.first() {
            g.draw(Pen::Chain, Shape::line([from - 2.5, *y], [to + 2.5, *y]));
        }
    }
    // Holes from the edge that looks at the eye are seen from their end, those from the far one are hidden.
    let towards = if third { 1.0 } else { -1.0 };
    for e in &p.edge_holes {
        let seen = (e.from.cos() - towards).abs() < 1e-6;
        let behind = (e.from.cos() + towards).abs() < 1e-6;
        let c = [t / 2.0, up(e.enters[1])];
        let r = k * diameter(&e.fitted) / 2.0;
        if seen || behind {
            let pen = if seen { Pen::Wide } else { Pen::Dashed };
            g.draw(
                pen,
                Shape::Circle {
                    centre: c,
                    radius: r,
                },
            );
            cross(g, c, r + 2.0);
        } else if e.from.cos().abs() < 1e-6 {
            // From above or below it is hidden along its depth.
            let into = e.from.sin() * k * super::edges::deep(p, e);
            for x in [c[0] - r, c[0] + r] {
                g.draw(Pen::Dashed, Shape::line([x, c[1]], [x, c[1] + into]));
            }
            let over = c[1] - 3.0 * e.from.sin();
            g.draw(
                Pen::Chain,
                Shape::line([c[0], over], [c[0], c[1] + into + 2.0 * e.from.sin()]),
            );
        }
    }
}
