//! The drawing of a plate: front and side in first-angle projection, sizes, holes by letters with their coordinates in a table.

use super::dims::{Taken, View, leader, linear, tag};
use super::paper::{Block, Leaf, MARGIN, Page, shortened};
use crate::font;
use crate::geometry::{P, Rect};
use crate::scale::Scale;
use crate::sheet::{Group, Hand, Hold, Lettering, Pen, Shape, Step};
use quantity::Unit;
use shop::contour::{Contour, Side};
use shop::letters::{kinds, letter, names};
use shop::part::{Hole, Opening as _, Part, Plate, diameter};
use shop::words;

/// Width of the hole table, mm.
const TABLE: f64 = 104.0;
/// Room round a view for its dimensions, mm.
const ROOM: f64 = 24.0;
const LINE: f64 = 4.6;
/// Nothing is drawn larger than this: small parts look like what they are.
const MOST: f64 = 2.0;

/// An outline as it is drawn.
pub(super) fn shape(c: &Contour, v: View) -> Shape {
    let sides = c.sides();
    let start = sides.first().map_or([f64::NAN; 2], |s| v.at(s.at(0.0)));
    let steps = sides.iter().map(|s| match *s {
        Side::Line { to, .. } => Step::To(v.at(to)),
        Side::Arc {
            centre,
            radius,
            from,
            sweep,
        } => Step::Arc {
            centre: v.at(centre),
            radius: radius * v.k,
            from,
            sweep,
        },
    });
    Shape::Outline {
        start,
        steps: steps.collect(),
        closed: true,
    }
}

/// What a kind of hole is, in full.
pub(super) fn callout(h: &Hole, unit: Unit) -> String {
    let mut text = words::hole(&h.fitted, unit);
    match h.blind {
        Some(b) => text += &format!(", {} deep", words::length(b, unit)),
        None => text += ", through",
    }
    if let Some([d, deep]) = h.counterbore {
        text += &format!(
            ", counterbore ⌀{} x {}",
            words::length(d, unit),
            words::length(deep, unit)
        );
    }
    if let Some(d) = h.countersink {
        text += &format!(", countersink ⌀{} 90°", words::length(d, unit));
    }
    if matches!(
        h.fitted,
        machine::fitting::Fitted::Bearing { .. }
            | machine::fitting::Fitted::Bushing {
                outside: Some(_),
                ..
            }
    ) {
        text += &format!(", {}", words::purpose(&h.fitted));
    }
    text
}

pub(super) fn draw(part: &Part, p: &Plate, leaf: Leaf, block: Block, unit: Unit) -> Page {
    let mut page = Page::new(leaf, true, block);
    let [a, b] = page.field();
    let [low, high] = p.outline.bounds();
    let size = [high[0] - low[0], high[1] - low[1]];
    let formed = super::bent::formed(p);
    let thick = match &formed {
        Some(f) => f.height[1] - f.height[0],
        None => p
            .ends
            .iter()
            .filter_map(|e| e.hub)
            .fold(p.thickness, f64::max),
    };
    let tall = formed
        .as_ref()
        .map_or(size[1], |f| size[1].max(f.across[1] - f.across[0]));
    // The table stands beside the views or, under long parts, below them: whichever leaves them larger.
    let below = table_height(part, p, unit) + 4.0;
    let fit = |field: [f64; 2]| {
        ((field[0] - 2.0 * ROOM - 16.0) / (size[0] + thick)).min((field[1] - 2.0 * ROOM) / tall)
    };
    let (beside, under) = (
        [b[0] - a[0] - TABLE - 4.0, b[1] - a[1]],
        [b[0] - a[0], b[1] - a[1] - below],
    );
    let lies_under = fit(under) > 1.2 * fit(beside);
    let field = if lies_under { under } else { beside };
    let scale = Scale::at_most(fit(field).min(MOST));
    let k = scale.factor();
    page.block.scale = Some(scale.to_string());
    let used = [k * (size[0] + thick) + 16.0, k * size[1]];
    let corner = [
        a[0] + (field[0] - used[0]) / 2.0,
        a[1] + f64::midpoint(field[1], used[1]),
    ];
    let v = View {
        origin: [corner[0] - k * low[0], corner[1] + k * low[1]],
        k,
    };
    let mut g = Group::new("part");
    g.draw(Pen::Wide, shape(&p.outline, v));
    for h in &p.holes {
        hole(&mut g, h, v);
    }
    for s in &p.slots {
        g.draw(Pen::Wide, shape(&s.outline(), v));
        g.draw(
            Pen::Chain,
            match s.line() {
                Side::Line { from, to } => Shape::line(v.at(from), v.at(to)),
                Side::Arc {
                    centre,
                    radius,
                    from,
                    sweep,
                } => Shape::arc(v.at(centre), v.k * radius, from, sweep),
            },
        );
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
    for cam in &p.cams {
        super::cams::draw(&mut g, cam, v);
    }
    for (_, at) in &p.marks {
        cross(&mut g, v.at(*at), 3.0);
    }
    for e in &p.edge_holes {
        let r = diameter(&e.fitted) / 2.0;
        let d = [e.from.cos(), e.from.sin()];
        let n = [-d[1] * r, d[0] * r];
        let end = [e.enters[0] - d[0] * e.depth, e.enters[1] - d[1] * e.depth];
        for s in [1.0, -1.0] {
            let side = |q: P| v.at([q[0] + s * n[0], q[1] + s * n[1]]);
            g.draw(Pen::Dashed, Shape::line(side(e.enters), side(end)));
        }
        g.draw(
            Pen::Chain,
            Shape::line(
                v.at([e.enters[0] + 2.0 * d[0] / k, e.enters[1] + 2.0 * d[1] / k]),
                v.at(end),
            ),
        );
    }
    if let Some(f) = &p.fork {
        // The bottom of the slot, hidden behind the front ear.
        let d = [f.open.cos(), f.open.sin()];
        let bottom = [f.at[0] - d[0] * f.depth, f.at[1] - d[1] * f.depth];
        let reach = size[0].hypot(size[1]);
        let n = [-d[1], d[0]];
        let ends = [
            clip(&p.outline, bottom, n, reach),
            clip(&p.outline, bottom, [-n[0], -n[1]], reach),
        ];
        g.draw(Pen::Dashed, Shape::line(v.at(ends[0]), v.at(ends[1])));
    }
    super::bent::lines(&mut g, p, v);
    match &formed {
        Some(f) => {
            // Upright bends are seen along from below, turned to stand; lying ones from the left, level with the flat middle.
            let upright = p.bends.first().is_some_and(|b| b.upright);
            let zero = if upright {
                let middle = f64::midpoint(v.at(low)[1], v.at(high)[1]);
                middle + k * f64::midpoint(f.across[0], f.across[1])
            } else {
                v.at([0.0, 0.0])[1]
            };
            f.draw(&mut g, v.at(high)[0] + 16.0, zero, k);
        }
        None => side(&mut g, p, v, low, high, unit),
    }
    let mut taken = Taken::within(Rect::new(a, [a[0] + field[0], a[1] + field[1]]));
    taken.group(&g);
    dimensions(&mut g, &mut taken, p, v, low, high, unit);
    datum(&mut g, &mut taken, v);
    for cam in &p.cams {
        super::cams::letter(&mut g, &mut taken, cam, v, unit);
    }
    let named = names(p);
    for (h, name) in p.holes.iter().zip(&named) {
        tag(&mut g, &mut taken, v.at(h.at), k * h.diameter() / 2.0, name);
    }
    super::bent::letter(&mut g, &mut taken, p, v);
    for (name, at) in &p.marks {
        tag(&mut g, &mut taken, v.at(*at), 2.0, &words::spoken(name));
    }
    page.groups.push(g);
    page.groups.push(if lies_under {
        table(part, p, &named, [a[0], a[1] + under[1]], b[1], unit)
    } else {
        table(part, p, &named, [b[0] - TABLE, a[1]], b[1], unit)
    });
    page
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
    if let machine::fitting::Fitted::Tapped { thread, .. } = &h.fitted {
        let minor = v.k * (thread.major - 1.0825 * thread.pitch) / 2.0;
        g.draw(
            Pen::Wide,
            Shape::Circle {
                centre: c,
                radius: minor,
            },
        );
        g.draw(
            Pen::Narrow,
            Shape::arc(c, r, 1.75, 1.5 * std::f64::consts::PI),
        );
    } else {
        g.draw(
            Pen::Wide,
            Shape::Circle {
                centre: c,
                radius: r,
            },
        );
    }
    for d in [h.counterbore.map(|x| x[0]), h.countersink]
        .into_iter()
        .flatten()
    {
        g.draw(
            Pen::Wide,
            Shape::Circle {
                centre: c,
                radius: v.k * d / 2.0,
            },
        );
    }
    let out = h
        .counterbore
        .map_or(r, |x| v.k * x[0] / 2.0)
        .max(h.countersink.map_or(r, |d| v.k * d / 2.0));
    cross(g, c, out + 2.0);
}

/// Seen from the left, standing on the right (first-angle).
fn side(g: &mut Group, p: &Plate, v: View, low: P, high: P, unit: Unit) {
    let x0 = v.at(high)[0] + 16.0;
    let (top, bottom) = (v.at(high)[1], v.at(low)[1]);
    let t = v.k * p.thickness;
    let rect = |g: &mut Group, pen: Pen, x: [f64; 2], y: [f64; 2]| {
        g.draw(
            pen,
            Shape::poly(
                &[[x[0], y[0]], [x[1], y[0]], [x[1], y[1]], [x[0], y[1]]],
                true,
            ),
        );
    };
    rect(g, Pen::Wide, [x0, x0 + t], [top, bottom]);
    for e in &p.ends {
        if let Some(hub) = e.hub {
            let y = v.at(e.at)[1];
            let r = v.k * e.radius;
            rect(g, Pen::Wide, [x0 + t, x0 + v.k * hub], [y - r, y + r]);
        }
    }
    if let Some(f) = &p.fork {
        let (m, half) = (x0 + t / 2.0, v.k * f.gap / 2.0);
        for x in [m - half, m + half] {
            g.draw(Pen::Dashed, Shape::line([x, top], [x, bottom]));
        }
        linear(
            g,
            [m - half, bottom],
            [m + half, bottom],
            bottom + 8.0,
            false,
            &words::length(f.gap, unit),
        );
    }
    for h in &p.holes {
        let (y, r) = (v.at(h.at)[1], v.k * h.diameter() / 2.0);
        let deep = v.k * h.blind.unwrap_or(h.through).min(h.through);
        for s in [-r, r] {
            g.draw(Pen::Dashed, Shape::line([x0, y + s], [x0 + deep, y + s]));
        }
    }
    linear(
        g,
        [x0, top],
        [x0 + t, top],
        top - 8.0,
        false,
        &words::length(p.thickness, unit),
    );
    let hubs: Vec<f64> = p.ends.iter().filter_map(|e| e.hub).collect();
    if let Some(hub) = hubs.iter().copied().reduce(f64::max) {
        linear(
            g,
            [x0, top],
            [x0 + v.k * hub, top],
            top - 15.0,
            false,
            &words::length(hub, unit),
        );
    }
}

/// An outer size: general tolerances ask for no third decimal.
fn outer(mm: f64, unit: Unit) -> String {
    words::number(
        unit.from_inside(mm),
        words::decimals(unit).saturating_sub(1),
    )
}

fn dimensions(g: &mut Group, taken: &mut Taken, p: &Plate, v: View, low: P, high: P, unit: Unit) {
    let (l, h) = (v.at(low), v.at(high));
    // From the datum both ways, and overall.
    let zero = v.at([0.0, 0.0]);
    let mut level = l[1] + 8.0;
    let inside = |x: f64, a: f64, b: f64| x > a + 0.5 && x < b - 0.5;
    if inside(0.0, low[0], high[0]) {
        linear(
            g,
            [zero[0], l[1]],
            [h[0], l[1]],
            level,
            false,
            &outer(high[0], unit),
        );
        linear(
            g,
            [zero[0], l[1]],
            [l[0], l[1]],
            level,
            false,
            &outer(-low[0], unit),
        );
        level += 7.0;
    }
    linear(
        g,
        [l[0], l[1]],
        [h[0], l[1]],
        level,
        false,
        &outer(high[0] - low[0], unit),
    );
    let mut left = l[0] - 8.0;
    if inside(0.0, low[1], high[1]) {
        linear(
            g,
            [l[0], zero[1]],
            [l[0], h[1]],
            left,
            true,
            &outer(high[1], unit),
        );
        linear(
            g,
            [l[0], zero[1]],
            [l[0], l[1]],
            left,
            true,
            &outer(-low[1], unit),
        );
        left -= 7.0;
    }
    linear(
        g,
        [l[0], l[1]],
        [l[0], h[1]],
        left,
        true,
        &outer(high[1] - low[1], unit),
    );
    taken.group(g);
    // One radius for all that are alike and have no name of their own.
    let mut told: Vec<(f64, bool)> = Vec::new();
    // The arcs of a cam are no radii that anybody sets.
    let flank = p.cams.iter().any(shop::cams::CamCut::is_outline);
    for s in p.outline.sides() {
        if flank {
            break;
        }
        let Side::Arc {
            radius,
            from,
            sweep,
            ..
        } = s
        else {
            continue;
        };
        let key = ((radius * 1e4).round(), sweep > 0.0);
        if told.contains(&key) {
            continue;
        }
        told.push(key);
        let same = p.outline.sides().iter().filter(|o| matches!(o, Side::Arc { radius: r, sweep: w, .. } if (r - radius).abs() < 1e-4 && (*w > 0.0) == (sweep > 0.0))).count();
        let mut text = format!("R{}", words::length(radius, unit));
        if same > 1 {
            text = format!("{same} x {text}");
        }
        let share = 0.4;
        let angle = from + share * sweep;
        leader(
            g,
            taken,
            v.at(s.at(share)),
            if sweep > 0.0 {
                angle
            } else {
                angle + std::f64::consts::PI
            },
            &text,
        );
    }
    for s in &p.slots {
        let class = s.class.as_ref();
        let deep = s.depth.map_or_else(
            || "through".to_owned(),
            |d| format!("{} deep", words::length(d, unit)),
        );
        let mut text = format!("slot {} wide, {deep}", words::sized(s.width, class, unit));
        let (tip, n) = match s.line() {
            Side::Line { from, to } => {
                let n = (to[1] - from[1]).atan2(to[0] - from[0]) + std::f64::consts::FRAC_PI_2;
                (s.line().at(0.5), n)
            }
            Side::Arc {
                radius,
                from,
                sweep,
                ..
            } => {
                let degrees = |a: f64| words::number(a.to_degrees().rem_euclid(360.0), 3);
                text += &format!(
                    ", middle R{}, {}° to {}°",
                    words::length(radius, unit),
                    degrees(from),
                    degrees(from + sweep)
                );
                (s.line().at(0.5), from + sweep / 2.0)
            }
        };
        let tip = [
            tip[0] + n.cos() * s.width / 2.0,
            tip[1] + n.sin() * s.width / 2.0,
        ];
        leader(g, taken, v.at(tip), n, &text);
    }
    for e in &p.edge_holes {
        let text = format!(
            "{}, {} {} deep, half thickness",
            words::hole(&e.fitted, unit),
            if matches!(e.fitted, machine::fitting::Fitted::Tapped { .. }) {
                "drilled"
            } else {
                "hole"
            },
            words::length(e.depth, unit)
        );
        leader(g, taken, v.at(e.enters), e.from, &text);
    }
    for e in p.ends.iter().filter(|e| e.hub.is_some()) {
        let text = format!(
            "hub ⌀{}{}",
            words::length(2.0 * e.radius, unit),
            if e.solid { "" } else { ", brazed on" }
        );
        leader(
            g,
            taken,
            v.at([e.at[0] - 0.8 * e.radius, e.at[1] + 0.6 * e.radius]),
            2.5,
            &text,
        );
    }
}

/// Where coordinates count from: two arrows and a zero.
fn datum(g: &mut Group, taken: &mut Taken, v: View) {
    let o = v.at([0.0, 0.0]);
    let mut own = Group::new("datum");
    for (d, name) in [([1.0, 0.0], "x"), ([0.0, -1.0], "y")] {
        let tip = [o[0] + 11.0 * d[0], o[1] + 11.0 * d[1]];
        own.draw(Pen::Narrow, Shape::line(o, tip));
        super::dims::arrow(&mut own, tip, d);
        own.letter(Lettering::new(
            [tip[0] + 1.6 * d[0] + 1.0 * d[1].abs(), tip[1] + 1.0 * d[0]],
            name,
            2.0,
            Hold::Start,
            Hand::Note,
        ));
    }
    taken.group(&own);
    g.groups.push(own);
}

fn table(part: &Part, p: &Plate, names: &[String], at: P, bottom: f64, unit: Unit) -> Group {
    let mut g = Group::new("holes");
    let mut y = at[1];
    let mut line = |y: f64, cells: &[(f64, &str, Hold)], hand: Hand| {
        for (x, text, hold) in cells {
            let room = TABLE - x - 1.0;
            let text = if *hold == Hold::Start {
                shortened(text, 2.2, hand, room)
            } else {
                (*text).to_owned()
            };
            g.letter(Lettering::new(
                [at[0] + x, y + LINE - 1.3],
                text,
                2.2,
                *hold,
                hand,
            ));
        }
    };
    let mut rules: Vec<f64> = Vec::new();
    let crowded = at[1] + table_height(part, p, unit) > bottom + 1.0;
    let (_, firsts) = kinds(p);
    if !p.holes.is_empty() {
        line(
            y,
            &[
                (1.0, "hole", Hold::Start),
                (34.0, "x", Hold::End),
                (54.0, "y", Hold::End),
                (57.0, "point", Hold::Start),
            ],
            Hand::Name,
        );
        y += LINE;
        rules.push(y);
        for (h, name) in p.holes.iter().zip(names) {
            if crowded && y > bottom - 42.0 - 4.0 * LINE {
                line(
                    y,
                    &[(
                        1.0,
                        "… all places stand on the operation sheet and in holes.csv",
                        Hold::Start,
                    )],
                    Hand::Note,
                );
                y += LINE;
                break;
            }
            let places = words::decimals(unit);
            let x = format!("{:.places$}", unit.from_inside(h.at[0]));
            let yy = format!("{:.places$}", unit.from_inside(h.at[1]));
            let held = h.place.map_or_else(
                || words::spoken(&h.name),
                |t| format!("{} ± {}", words::spoken(&h.name), words::length(t, unit)),
            );
            line(
                y,
                &[
                    (1.0, name, Hold::Start),
                    (34.0, &x, Hold::End),
                    (54.0, &yy, Hold::End),
                    (57.0, &held, Hold::Start),
                ],
                Hand::Note,
            );
            y += LINE;
        }
        y += 2.0;
        rules.push(y);
        for (k, &first) in firsts.iter().enumerate() {
            let text = callout(&p.holes[first], unit);
            for (n, part) in font::wrapped(&text, 2.2, Hand::Note, TABLE - 11.0)
                .iter()
                .enumerate()
            {
                let head = if n == 0 { letter(k) } else { String::new() };
                line(y, &[(1.0, &head, Hold::Start)], Hand::Name);
                line(y, &[(9.0, part, Hold::Start)], Hand::Note);
                y += LINE;
            }
        }
        y += 2.0;
        rules.push(y);
    }
    for note in notes(part, unit) {
        for part in font::wrapped(&font::clean(&note), 2.2, Hand::Note, TABLE - 3.0) {
            if y + LINE > bottom {
                break;
            }
            line(y, &[(1.0, &part, Hold::Start)], Hand::Note);
            y += LINE;
        }
    }
    if y + super::texture::TALL < bottom {
        super::texture::marks(&mut g, [at[0], y]);
    } else {
        let text = super::texture::words();
        line(y, &[(1.0, &text, Hold::Start)], Hand::Note);
    }
    for y in rules {
        g.draw(Pen::Narrow, Shape::line([at[0], y], [at[0] + TABLE, y]));
    }
    if at[0] > MARGIN + 1.0 {
        g.draw(
            Pen::Narrow,
            Shape::line([at[0] - 2.0, MARGIN], [at[0] - 2.0, bottom]),
        );
    }
    g
}

/// How tall the table is.
fn table_height(part: &Part, p: &Plate, unit: Unit) -> f64 {
    let lines =
        |text: &str, room: f64| font::wrapped(&font::clean(text), 2.2, Hand::Note, room).len();
    let (_, firsts) = kinds(p);
    let mut rows = 0;
    if !p.holes.is_empty() {
        rows += 1 + p.holes.len();
        rows += firsts
            .iter()
            .map(|&f| lines(&callout(&p.holes[f], unit), TABLE - 11.0))
            .sum::<usize>();
    }
    rows += notes(part, unit)
        .iter()
        .map(|n| lines(n, TABLE - 3.0))
        .sum::<usize>();
    rows as f64 * LINE + 4.5 + super::texture::TALL
}

/// What holds for the whole drawing.
pub(super) fn notes(part: &Part, unit: Unit) -> Vec<String> {
    let mut all = vec![
        format!(
            "Lengths in {}. General tolerance ISO 2768-m; fits are written out in limits.",
            unit.symbol()
        ),
        "Edges broken 0.3 mm. Surfaces as marked, in µm.".to_owned(),
    ];
    if !part.note.is_empty() {
        all.insert(0, part.note.clone());
    }
    if let shop::part::Form::Plate(p) = &part.form {
        all.extend(p.cams.iter().map(|c| super::cams::note(c, unit)));
        if !p.bends.is_empty() {
            all.push("Drawn flat; beside it as bent, seen along its bends. Places and outer sizes are those of the flat.".to_owned());
            all.extend(super::bent::notes(p, unit));
        }
    }
    all.extend(part.assumed.iter().cloned());
    all
}
