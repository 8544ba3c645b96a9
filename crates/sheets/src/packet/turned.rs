//! The drawing of a turned part: seen from the side, lengths from the left face, diameters above, each written out.

use super::dims::{DIM, View, arrow, linear};
use super::plate::notes;
use crate::font;
use crate::geometry::{P, hatching};
use crate::scale::Scale;
use crate::sheet::{Group, Hand, Hold, Lettering, Pen, Shape};
use machine::fitting::Fitted;
use quantity::Unit;
use shop::part::{Bore, Opening as _, Part, Step, Turned, diameter};
use shop::words;
use std::f64::consts::FRAC_PI_4;

/// Depth of an outside thread on the radius, over its pitch (ISO 68-1: 0.6134).
const THREAD: f64 = 0.6134;

/// How far a step's axis lies above the part's on the paper, mm of the part: throws are drawn in one plane, the first upward.
fn lift(t: &Turned, s: &Step) -> f64 {
    let first = t.steps.iter().find_map(|s| s.throw).map_or(0.0, |x| x[1]);
    s.throw.map_or(0.0, |[e, angle]| e * (angle - first).cos())
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
    unit: Unit,
) -> (Group, f64, Scale) {
    let long = t.length();
    let tall = t
        .steps
        .iter()
        .map(|s| s.diameter + 2.0 * lift(t, s).abs())
        .fold(1.0, f64::max);
    let scale = Scale::at_most(((wide - 30.0) / long).min(tallest / tall).min(MOST));
    let k = scale.factor();
    let x0 = at[0] + (wide - k * long) / 2.0;
    let drawn = |axis: f64| {
        let v = View {
            origin: [x0, axis],
            k,
        };
        let mut g = Group::new("part");
        let cut = section(&mut g, t, v);
        if !cut {
            profile(&mut g, t, v);
        }
        let end = v.at([long, 0.0]);
        g.draw(
            Pen::Chain,
            Shape::line([x0 - 5.0, axis], [end[0] + 5.0, axis]),
        );
        if !cut {
            bores(&mut g, t, v);
        }
        diameters(
            &mut g,
            t,
            v,
            axis - k * tall / 2.0,
            [at[0], at[0] + wide],
            unit,
        );
        let low = lengths(&mut g, t, v, axis + k * tall / 2.0, unit);
        (g, low)
    };
    // Drawn once to see how far its lettering stands up.
    let up = -drawn(0.0).0.extent().min[1];
    let (g, low) = drawn(at[1] + up + 2.0);
    (g, low + 3.0, scale)
}

/// What is said beside the figure.
pub(super) fn words_of(part: &Part, t: &Turned, unit: Unit) -> Vec<String> {
    let mut all = features(t, unit);
    all.extend(notes(part, unit));
    all
}

/// Distance of hatching lines, mm of paper, and their angle (ISO 128-3: at 45 degrees to the main outline, as far apart as the area asks).
const HATCH: f64 = 2.2;

/// A part with bores, cut in half along its axis; says whether it could be drawn so. Threaded holes and what is not round are seen from
/// outside with hidden lines instead.
fn section(g: &mut Group, t: &Turned, v: View) -> bool {
    let threaded = |b: &Bore| matches!(b.fitted, Fitted::Tapped { .. });
    if t.bores.is_empty() || t.bores.iter().any(threaded) {
        return false;
    }
    let Ok(line) = super::solids::profile(t) else {
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
    // Edges of the bores beyond the cut.
    for b in &t.bores {
        let (r, long) = (b.diameter() / 2.0, t.length());
        let deep = b.blind.unwrap_or(long);
        let (from, to) = if b.left {
            (0.0, deep)
        } else {
            (long, long - deep)
        };
        let ends: &[f64] = if b.blind.is_some() {
            &[from]
        } else {
            &[from, to]
        };
        for &x in ends {
            g.draw(Pen::Wide, Shape::line(v.at([x, -r]), v.at([x, r])));
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
        let r = diameter(&c.fitted) / 2.0;
        g.draw(
            Pen::Wide,
            Shape::Circle {
                centre: v.at([c.at, 0.0]),
                radius: v.k * r,
            },
        );
        let m = v.at([c.at, 0.0]);
        let half = v.k * r + 2.0;
        g.draw(
            Pen::Chain,
            Shape::line([m[0], m[1] - half], [m[0], m[1] + half]),
        );
    }
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
    let first = t.steps.iter().find_map(|s| s.throw).map_or(0.0, |x| x[1]);
    for b in &t.bores {
        let r = b.diameter() / 2.0;
        let deep = b.blind.unwrap_or_else(|| t.length());
        let (from, to) = if b.left {
            (0.0, deep)
        } else {
            (t.length(), t.length() - deep)
        };
        let up = b.throw.map_or(0.0, |[e, angle]| e * (angle - first).cos());
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
fn diameters(g: &mut Group, t: &Turned, v: View, top: f64, across: [f64; 2], unit: Unit) {
    let tip = |s: &Step| v.at([f64::midpoint(s.from, s.to), lift(t, s) + s.diameter / 2.0]);
    let tips: Vec<P> = t.steps.iter().map(tip).collect();
    let within = |span: [f64; 2], x: f64| span[0] < x && x < span[1];
    // Beside the others' leaders where there is room, else above what they lead to.
    let place = |i: usize| {
        let text = step_text(&t.steps[i], unit);
        let w = font::width(&text, DIM, Hand::Note);
        let x = tips[i][0];
        let fits = |left: f64| left.clamp(across[0], (across[1] - w).max(across[0]));
        let spans = [x - w / 2.0, x - w + 2.0, x - 2.0].map(|left| {
            let left = fits(left);
            [left - 1.5, left + w + 1.5]
        });
        let over = |span: [f64; 2]| {
            let others = tips.iter().enumerate();
            others
                .filter(|(j, p)| *j != i && within(span, p[0]))
                .count()
        };
        let best = spans.into_iter().min_by_key(|s| over(*s));
        let span = best.unwrap_or(spans[0]);
        (i, text, span, over(span))
    };
    let mut all: Vec<_> = (0..t.steps.len()).map(place).collect();
    all.sort_by_key(|(i, _, _, over)| (*over, *i));
    let mut placed: Vec<(usize, [f64; 2], usize)> = Vec::new();
    for (i, text, span, _) in all {
        let fits = |n: usize| {
            placed.iter().all(|&(j, other, level)| {
                let apart = span[1] < other[0] || other[1] < span[0];
                // Its own leader passes levels below its lettering, the other's those below that.
                (level != n || apart)
                    && !(within(other, tips[i][0]) && n > level)
                    && !(within(span, tips[j][0]) && level > n)
            })
        };
        let free = (0..=placed.len()).find(|n| fits(*n));
        let n = free.unwrap_or_else(|| placed.iter().map(|p| p.2 + 1).max().unwrap_or(0));
        placed.push((i, span, n));
        let y = top - 7.0 - 6.0 * n as f64;
        g.draw(Pen::Narrow, Shape::line(tips[i], [tips[i][0], y + 1.2]));
        arrow(g, tips[i], [0.0, 1.0]);
        g.letter(Lettering::new(
            [span[0] + 1.5, y],
            text,
            DIM,
            Hold::Start,
            Hand::Note,
        ));
    }
}

fn step_text(s: &Step, unit: Unit) -> String {
    if let Some(across) = s.across() {
        let what = if s.sides == 4 { "square" } else { "hexagon" };
        return format!("{what} {} across flats", words::length(across, unit));
    }
    match &s.thread {
        Some(thread) => thread.name.clone(),
        None => {
            let size = words::sized(s.diameter, s.class.as_ref(), unit);
            match s.throw {
                Some([e, _]) => format!("⌀{size}, throw {}", words::length(e, unit)),
                None => format!("⌀{size}"),
            }
        }
    }
}

/// Lengths from the left face, the short ones next to the part; gives the lowest line.
fn lengths(g: &mut Group, t: &Turned, v: View, low: f64, unit: Unit) -> f64 {
    let mut places: Vec<f64> = t.steps.iter().map(|s| s.to).collect();
    places.extend(t.cross.iter().map(|c| c.at));
    places.extend(t.grooves.iter().map(|q| q.at));
    places.extend(t.flats.iter().map(|f| f.at).filter(|x| *x > 0.0));
    places.sort_by(f64::total_cmp);
    places.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let mut y = low;
    let zero = v.at([0.0, 0.0])[0];
    for x in places {
        y += 6.0;
        let to = v.at([x, 0.0])[0];
        let from: P = [zero, low];
        linear(g, from, [to, low], y, false, &words::length(x, unit));
    }
    y
}

/// What cannot be read off the side view.
fn features(t: &Turned, unit: Unit) -> Vec<String> {
    let mut all = Vec::new();
    let l = |x: f64| words::length(x, unit);
    for b in &t.bores {
        let deep = b
            .blind
            .map_or_else(|| "through".to_owned(), |d| format!("{} deep", l(d)));
        let off = b
            .throw
            .map_or_else(String::new, |[e, _]| format!(", {} off the axis", l(e)));
        all.push(format!(
            "From the {}: {}, {deep}{off}.",
            if b.left { "left" } else { "right" },
            words::hole(&b.fitted, unit)
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
            words::hole(&c.fitted, unit),
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
            "Throws, seen from the right end: {}.",
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
