//! The drawing of a turned part: seen from the side, lengths from the left face, diameters above, each written out.

use super::dims::{DIM, Levels, Run, View, arrow, leader, linear, lines_of, tag};
use super::plate::notes;
use super::taken::Taken;
use crate::font;
use crate::geometry::{P, Rect, at_angle, hatching};
use crate::scale::Scale;
use crate::sheet::{Group, Hand, Hold, Lettering, Pen, Shape};
use machine::fitting::Fitted;
use shop::part::{Bore, Opening as _, Part, Step, Turned, diameter};
use shop::words::{self, Units};
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

/// Depth of an outside thread on the radius, over its pitch (ISO 68-1: 0.6134).
const THREAD: f64 = 0.6134;

/// The direction that stands upward on the paper: the first throw's; without one the first hole across looks at the reader.
fn upward(t: &Turned) -> f64 {
    let throws = t.steps.iter().map(|s| s.throw);
    let bores = t.bores.iter().map(|b| b.throw);
    let first = throws.chain(bores).flatten().next();
    let across = t.cross.first().map_or(FRAC_PI_2, |c| c.from);
    first.map_or(across - FRAC_PI_2, |x| x[1])
}

/// How far something off the axis lies above it on the paper, mm of the part.
fn raised(t: &Turned, throw: Option<[f64; 2]>) -> f64 {
    throw.map_or(0.0, |[e, angle]| e * (angle - upward(t)).cos())
}

/// How far a step's axis lies above the part's on the paper, mm of the part.
fn lift(t: &Turned, s: &Step) -> f64 {
    raised(t, s.throw)
}

/// Directions about the axis that cannot be read off the side view ask for a view of the right end.
fn has_end_view(t: &Turned) -> bool {
    t.steps.iter().any(|s| s.throw.is_some())
        || t.bores.iter().any(|b| b.throw.is_some())
        || t.cross.len() > 1
        || (!t.cross.is_empty() && !t.flats.is_empty())
}

/// Most height of the turned shape itself on the paper, mm; smaller ones in turn where that saves a sheet.
pub(super) const TALLEST: [f64; 3] = [70.0, 40.0, 25.0];
/// Nothing is drawn larger than this.
const MOST: f64 = 2.0;

/// The part seen from the side, its top at `at`, across `wide`: what is drawn, how far down it reaches, its scale.
pub(super) fn figure(
    t: &Turned,
    at: P,
    wide: f64,
    tallest: f64,
    units: Units,
) -> (Group, f64, Scale) {
    let long = t.length();
    let tall = t
        .steps
        .iter()
        .map(|s| s.diameter + 2.0 * lift(t, s).abs())
        .fold(1.0, f64::max);
    let end_view = has_end_view(t);
    // The end stands to the left of the side (first-angle), with room for the directions round it.
    let (round, beside) = if end_view {
        (1.0, 2.0 * AROUND)
    } else {
        (0.0, 0.0)
    };
    let most = (wide - 30.0 - beside) / (long + round * tall);
    let scale = Scale::at_most(most.min(tallest / tall).min(MOST));
    let k = scale.factor();
    let left = at[0] + beside + round * k * tall;
    let x0 = left + (at[0] + wide - left - k * long) / 2.0;
    let drawn = |axis: f64| {
        let v = View {
            origin: [x0, axis],
            k,
        };
        let mut body = Group::new("part");
        body.shift = v.origin;
        let own = v.own();
        let cut = section(&mut body, t, own);
        if !cut {
            profile(&mut body, t, own);
        }
        body.draw(Pen::Chain, Shape::line([-5.0, 0.0], [k * long + 5.0, 0.0]));
        if !cut {
            bores(&mut body, t, own);
        }
        let mut g = Group::new("turned");
        g.groups.push(body);
        let top = axis - k * tall / 2.0;
        let mut taken = Taken::within(Rect::new(
            [at[0], axis - 200.0],
            [at[0] + wide, axis + 250.0],
        ));
        taken.group(&g);
        // Diameters above, lengths below.
        let [middle, foot] = [axis, axis + 250.0];
        taken.keep(Rect::new([left, axis - 200.0], [at[0] + wide, middle]));
        diameters(&mut g, &mut taken, t, v, (top, [left, at[0] + wide]), units);
        taken.keep(Rect::new([at[0], axis - 200.0], [at[0] + wide, foot]));
        let mut low = lengths(&mut g, &mut taken, t, v, axis + k * tall / 2.0, units);
        if end_view {
            let centre = [at[0] + AROUND + k * tall / 2.0, axis];
            end(&mut g, &mut taken, t, View { origin: centre, k });
            low = low.max(axis + k * tall / 2.0 + AROUND);
        }
        (g, low)
    };
    // Drawn once to see how far its lettering stands up.
    let up = -drawn(0.0).0.extent().min[1];
    let (g, low) = drawn(at[1] + up + 2.0);
    (g, low + 3.0, scale)
}

/// Room round the view of an end for its directions, mm.
const AROUND: f64 = 14.0;

/// The right end, seen from the right: what lies off the axis, and the directions of everything.
fn end(g: &mut Group, taken: &mut Taken, t: &Turned, v: View) {
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
        circle(&mut own, pen, c, s.diameter);
        before = before.max(s.diameter / 2.0 - c[0].hypot(c[1]));
    }
    for b in &t.bores {
        let pen = if b.left { Pen::Dashed } else { Pen::Wide };
        circle(&mut own, pen, off(b.throw), b.diameter());
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

/// What is said beside the figure.
pub(super) fn words_of(part: &Part, t: &Turned, units: Units) -> Vec<String> {
    let mut all = features(t, units);
    all.extend(notes(part, units));
    all
}

/// Distance of hatching lines, mm of paper, and their angle (ISO 128-3: at 45 degrees to the main outline, as far apart as the area asks).
const HATCH: f64 = 2.2;

/// A part with bores, cut in half along its axis; says whether it could be drawn so. What is not round is seen from outside with hidden
/// lines instead.
fn section(g: &mut Group, t: &Turned, v: View) -> bool {
    if t.bores.is_empty() {
        return false;
    }
    // A thread is cut to its minor diameter; its major one is a thin line (ISO 6410-1).
    let wall = |b: &Bore| match &b.fitted {
        Fitted::Tapped { thread, .. } => (thread.major - 1.0825 * thread.pitch) / 2.0,
        _ => b.diameter() / 2.0,
    };
    let Ok(line) = super::solids::profile_by(t, &wall) else {
        return false;
    };
    for up in [1.0, -1.0] {
        let half: Vec<P> = line.iter().map(|&[r, x]| v.at([x, up * r])).collect();
        let strokes = hatching(&half, FRAC_PI_4, HATCH);
        g.draw(Pen::Hatch, Shape::Strokes(strokes));
        let sides = (0..line.len()).filter_map(|i| {
            let (a, b) = (line[i], line[(i + 1) % line.len()]);
            let on_axis = a[0] < 1e-9 && b[0] < 1e-9;
            (!on_axis).then(|| [v.at([a[1], up * a[0]]), v.at([b[1], up * b[0]])])
        });
        g.draw(Pen::Wide, Shape::Strokes(sides.collect()));
    }
    let long = t.length();
    for b in &t.bores {
        let r = wall(b);
        let deep = b.blind.map_or(long, |d| d.min(long));
        let at = |x: f64| if b.left { x } else { long - x };
        // The edge of its mouth, beyond the cut, where no wider bore has taken it.
        let wider = |end: f64| {
            t.bores.iter().any(|o| {
                let reach = o.blind.map_or(long, |d| d.min(long));
                let covers = if o.left {
                    end < reach
                } else {
                    end > long - reach
                };
                wall(o) > r + 1e-9 && covers
            })
        };
        for x in [at(0.0), at(deep)] {
            let open = x < 1e-9 || x > long - 1e-9;
            if open && !wider(x.clamp(1e-6, long - 1e-6)) {
                g.draw(Pen::Wide, Shape::line(v.at([x, -r]), v.at([x, r])));
            }
        }
        if let Fitted::Tapped { thread, depth } = &b.fitted {
            let end = depth.unwrap_or(deep).min(long);
            let major = thread.major / 2.0;
            for y in [major, -major] {
                g.draw(
                    Pen::Narrow,
                    Shape::line(v.at([at(0.0), y]), v.at([at(end), y])),
                );
            }
            if end < long - 1e-9 {
                let x = at(end);
                g.draw(Pen::Wide, Shape::line(v.at([x, -major]), v.at([x, major])));
            }
        }
    }
    for s in &t.steps {
        if let Some(thread) = &s.thread {
            let root = s.diameter / 2.0 - THREAD * thread.pitch;
            for y in [root, -root] {
                g.draw(Pen::Narrow, Shape::line(v.at([s.from, y]), v.at([s.to, y])));
            }
        }
    }
    true
}

fn profile(g: &mut Group, t: &Turned, v: View) {
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
        for s in [1.0, -1.0] {
            g.draw(
                Pen::Wide,
                Shape::poly(
                    &[
                        v.at([q.at, s * r]),
                        v.at([q.at, s * q.diameter / 2.0]),
                        v.at([q.at + q.width, s * q.diameter / 2.0]),
                        v.at([q.at + q.width, s * r]),
                    ],
                    false,
                ),
            );
        }
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

fn bores(g: &mut Group, t: &Turned, v: View) {
    for b in &t.bores {
        let r = b.diameter() / 2.0;
        let deep = b.blind.unwrap_or_else(|| t.length());
        let (from, to) = if b.left {
            (0.0, deep)
        } else {
            (t.length(), t.length() - deep)
        };
        let up = raised(t, b.throw);
        for s in [r, -r] {
            g.draw(
                Pen::Dashed,
                Shape::line(v.at([from, s + up]), v.at([to, s + up])),
            );
        }
        if b.blind.is_some() {
            g.draw(
                Pen::Dashed,
                Shape::line(v.at([to, r + up]), v.at([to, up - r])),
            );
        }
    }
}

/// Diameters stand above their steps, staggered so that none lies on another and no leader runs through lettering.
fn diameters(
    g: &mut Group,
    taken: &mut Taken,
    t: &Turned,
    v: View,
    (top, across): (f64, [f64; 2]),
    units: Units,
) {
    let tip = |s: &Step| v.at([f64::midpoint(s.from, s.to), lift(t, s) + s.diameter / 2.0]);
    let tips: Vec<P> = t.steps.iter().map(tip).collect();
    let within = |span: [f64; 2], x: f64| span[0] < x && x < span[1];
    // Beside the others' leaders where there is room, else above what they lead to.
    let texts: Vec<(Vec<String>, f64)> = t
        .steps
        .iter()
        .map(|s| lines_of(&step_text(s, units)))
        .collect();
    let most = texts.iter().map(|t| t.0.len()).max().unwrap_or(1);
    let pitch = 6.0 + (most - 1) as f64 * font::pitch(DIM);
    let spans = |i: usize| {
        let (w, x) = (texts[i].1, tips[i][0]);
        let fits = |left: f64| left.clamp(across[0], (across[1] - w).max(across[0]));
        [0.5, 1.0, 0.0, 0.75, 0.25].map(|share| {
            let inset = 2.0 * (1.0 - 2.0 * share);
            let left = fits(x - share * w - inset);
            [left - 1.5, left + w + 1.5]
        })
    };
    let over = |i: usize, span: [f64; 2]| {
        let others = tips.iter().enumerate();
        others
            .filter(|(j, p)| *j != i && within(span, p[0]))
            .count()
    };
    let least = |i: usize| spans(i).into_iter().map(|s| over(i, s)).min().unwrap_or(0);
    let mut order: Vec<usize> = (0..t.steps.len()).collect();
    order.sort_by_key(|&i| (least(i), i));
    let mut placed: Vec<(usize, [f64; 2], usize)> = Vec::new();
    let mut crowded = Vec::new();
    let mut own = Group::new("diameters");
    for i in order {
        let fits = |n: usize, span: [f64; 2]| {
            placed.iter().all(|&(j, other, level)| {
                let apart = span[1] < other[0] || other[1] < span[0];
                // Its own leader passes levels below its lettering, the other's those below that.
                (level != n || apart)
                    && !(within(other, tips[i][0]) && n > level)
                    && !(within(span, tips[j][0]) && level > n)
            })
        };
        let free = (0..=t.steps.len()).find_map(|n| {
            let mut tried = spans(i);
            tried.sort_by_key(|s| over(i, *s));
            // Those whose leaders would go through it need a level below it.
            let waiting = |s: &[f64; 2]| {
                let others = tips.iter().enumerate();
                let placed = |j: usize| placed.iter().any(|p| p.0 == j);
                others
                    .filter(|(j, p)| *j != i && !placed(*j) && within(*s, p[0]))
                    .count()
            };
            tried
                .into_iter()
                .find(|s| n >= waiting(s) && fits(n, *s))
                .map(|s| (n, s))
        });
        let Some((n, span)) = free else {
            crowded.push(i);
            continue;
        };
        placed.push((i, span, n));
        let y = top - 7.0 - pitch * n as f64;
        own.draw(Pen::Narrow, Shape::line(tips[i], [tips[i][0], y + 1.2]));
        arrow(&mut own, tips[i], [0.0, 1.0]);
        for (up, line) in texts[i].0.iter().rev().enumerate() {
            let at = [span[0] + 1.5, y - up as f64 * font::pitch(DIM)];
            own.letter(Lettering::new(
                at,
                line.clone(),
                DIM,
                Hold::Start,
                Hand::Note,
            ));
        }
    }
    taken.group(&own);
    g.groups.push(own);
    // Those without room straight above stand where there is some.
    for i in crowded {
        leader(g, taken, tips[i], FRAC_PI_2, &texts[i].0.join(" "));
    }
}

fn step_text(s: &Step, units: Units) -> String {
    if let Some(across) = s.across() {
        let what = if s.sides == 4 { "square" } else { "hexagon" };
        return format!("{what} {} across flats", words::length(across, units));
    }
    match &s.thread {
        Some(thread) => thread.name.clone(),
        None => {
            let size = words::sized(s.diameter, s.class.as_ref(), units);
            match s.throw {
                Some([e, _]) => format!("⌀{size}, throw {}", words::length(e, units)),
                None => format!("⌀{size}"),
            }
        }
    }
}

/// Lengths from the left face, the short ones next to the part; gives the lowest line.
fn lengths(g: &mut Group, taken: &mut Taken, t: &Turned, v: View, low: f64, units: Units) -> f64 {
    let mut places: Vec<f64> = t.steps.iter().map(|s| s.to).collect();
    places.extend(t.cross.iter().map(|c| c.at));
    places.extend(t.grooves.iter().map(|q| q.at));
    places.extend(t.flats.iter().map(|f| f.at).filter(|x| *x > 0.0));
    let bottom = |b: &Bore| b.blind.map(|d| if b.left { d } else { t.length() - d });
    places.extend(t.bores.iter().filter_map(bottom));
    places.sort_by(f64::total_cmp);
    places.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let zero = v.at([0.0, 0.0])[0];
    let mut y = low;
    // Where the lines of all of them will run, so that no lettering is put there.
    for (n, x) in places.iter().enumerate() {
        let x = v.at([*x, 0.0])[0];
        taken.line([x, low], [x, low + 6.0 * (n + 1) as f64 + 1.0]);
    }
    taken.line([zero, low], [zero, low + 6.0 * places.len() as f64]);
    for x in places {
        let to = v.at([x, 0.0])[0];
        // Each stands further out than the one before, so that no line runs through another's lettering.
        let levels = Levels {
            first: y + 6.0,
            side: 1.0,
        };
        let ends = [[zero, low], [to, low]];
        y = linear(g, taken, ends, Run::Level, levels, &words::length(x, units));
    }
    y
}

/// What cannot be read off the side view.
fn features(t: &Turned, units: Units) -> Vec<String> {
    let mut all = Vec::new();
    let l = |x: f64| words::length(x, units);
    for b in &t.bores {
        let deep = b
            .blind
            .map_or_else(|| "through".to_owned(), |d| format!("{} deep", l(d)));
        let off = b.throw.map_or_else(String::new, |[e, a]| {
            let angle = words::number(a.to_degrees().rem_euclid(360.0), 2);
            format!(
                ", {} off the axis at {angle}° seen from the right end",
                l(e)
            )
        });
        all.push(format!(
            "From the {}: {}, {deep}{off}.",
            if b.left { "left" } else { "right" },
            words::hole(&b.fitted, units)
        ));
    }
    for q in &t.grooves {
        all.push(format!(
            "Groove {} wide, ⌀{} at the bottom, {} from the left face.",
            l(q.width),
            l(q.diameter),
            l(q.at)
        ));
    }
    for c in &t.cross {
        let deep = c
            .blind
            .map_or_else(|| "through".to_owned(), |d| format!("{} deep", l(d)));
        all.push(format!(
            "Across at {}: {}, {deep}, at {}°.",
            l(c.at),
            words::hole(&c.fitted, units),
            words::number(c.from.to_degrees().rem_euclid(360.0), 2)
        ));
    }
    for f in &t.flats {
        all.push(format!(
            "{} flat{}, {} {}, {} long from {}.",
            f.sides,
            if f.sides == 1 { "" } else { "s" },
            l(f.across),
            if f.sides == 1 {
                "over it"
            } else {
                "across flats"
            },
            l(f.length),
            l(f.at)
        ));
    }
    let mut chamfers: Vec<String> = t
        .steps
        .iter()
        .filter(|s| s.chamfer > 0.0)
        .map(|s| format!("{} x 45° on ⌀{}", l(s.chamfer), l(s.diameter)))
        .collect();
    chamfers.dedup();
    if !chamfers.is_empty() {
        all.push(format!("Chamfers {}.", chamfers.join(", ")));
    }
    let throws: Vec<String> = t
        .steps
        .iter()
        .filter_map(|s| s.throw)
        .map(|[e, angle]| {
            format!(
                "{} at {}°",
                l(e),
                words::number(angle.to_degrees().rem_euclid(360.0), 2)
            )
        })
        .collect();
    if !throws.is_empty() {
        all.push(format!(
            "Throws, seen from the right end (the first stands up in the view): {}.",
            throws.join(", ")
        ));
    }
    let reliefs: Vec<&str> = t
        .steps
        .iter()
        .filter(|s| s.relief)
        .filter_map(|s| s.thread.as_ref())
        .map(|t| t.name.as_str())
        .collect();
    if !reliefs.is_empty() {
        all.push(format!(
            "Thread relief two pitches wide behind {}.",
            reliefs.join(", ")
        ));
    }
    all
}
