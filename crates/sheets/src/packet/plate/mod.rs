//! The drawing of a plate: front and side in first-angle projection (third-angle on letter paper), sizes, holes by letters with their coordinates in a table, sections of
//! what cannot be seen from outside.

mod corners;
mod cuts;
mod edges;
mod patterns;
mod sizes;
mod table;
mod views;

pub(super) use patterns::of as patterns;
pub(super) use views::minor;

use super::dims::{FIRST, LEVEL, View, tag, tag_among};
use super::legible::clashes;
use super::paper::{Block, Leaf, MARGIN, Page};
use super::taken::Taken;
use crate::geometry::{P, Rect};
use crate::scale::Scale;
use crate::sheet::{Group, Pen, Shape, Step};
use cuts::Shown;
use quantity::Unit;
use shop::contour::{Contour, Side};
use shop::letters::names;
use shop::part::{Hole, Opening as _, Part, Plate};
use shop::words::{self, Units};
use table::Table;

/// Between front and side, mm.
const GAP: f64 = 18.0;
/// Over the views and to the right of them, mm.
const OVER: f64 = 15.0;
const RIGHT: f64 = 13.0;
/// With large sections the views could be larger by this much.
const SLACK: f64 = 1.12;
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
pub(super) fn callout(h: &Hole, units: impl Into<Units>) -> String {
    let units = units.into();
    let mut text = words::hole(&h.fitted, units);
    let threaded = matches!(
        h.fitted,
        machine::fitting::Fitted::Tapped { depth: Some(_), .. }
    );
    match h.blind {
        Some(b) if threaded => text += &format!(", drilled {} deep", words::length(b, units)),
        Some(b) => text += &format!(", {} deep", words::length(b, units)),
        None if threaded => text += ", drilled through",
        None => text += ", through",
    }
    if let Some([d, deep]) = h.counterbore {
        text += &format!(
            ", counterbore ⌀{} x {}",
            words::length(d, units),
            words::length(deep, units)
        );
    }
    if let Some(d) = h.countersink {
        let angle = words::number(h.sink.to_degrees(), 1);
        text += &format!(", countersink ⌀{} {angle}°", words::length(d, units));
    }
    if h.back {
        text += ", from the back";
    }
    if matches!(
        h.fitted,
        machine::fitting::Fitted::Bearing { .. }
            | machine::fitting::Fitted::Bushing {
                outside: Some(_),
                ..
            }
    ) {
        text += &format!(", {}", words::purpose(&h.fitted, units.first));
    }
    text
}

/// Where the views, the columns of the table and the sections stand on the sheet.
struct Plan {
    lying: bool,
    /// Upper left corner and size of what the views may take.
    field: [P; 2],
    holes: P,
    notes: P,
    /// How wide the notes are.
    notes_wide: f64,
    cuts: Option<[P; 2]>,
    /// A line between views and table.
    rule: Option<[P; 2]>,
}

/// Room round the views for their dimensions: left, over, right, below, mm.
fn rooms(p: &Plate, units: Units) -> [f64; 4] {
    let [low, _] = p.outline.bounds();
    let lines = |i: usize| {
        if low[i] > -0.5 && low[i] < 0.5 {
            1.0
        } else {
            2.0
        }
    };
    let side = |lines: f64| FIRST + LEVEL * (lines - 1.0) + 6.0;
    let hub = p.ends.iter().any(|e| e.hub.is_some());
    let over = OVER + if hub || p.fork.is_some() { LEVEL } else { 0.0 };
    // Two units take more room beside short lines.
    let more = if units.beside.is_some() { 3.0 } else { 0.0 };
    let left = side(lines(1)) + more;
    [left, over, RIGHT + more, side(lines(0)) + 4.0]
}

/// All ways to share a sheet between views and table in which everything has its place.
fn plans(leaf: Leaf, t: &Table, cuts: &[Shown]) -> Vec<Plan> {
    let field = |lying: bool| Page::new(leaf, lying, Block::default()).field();
    let mut all = Vec::new();
    // Beside the views.
    let [a, b] = field(true);
    let wide = t.columns.wide;
    let x = b[0] - wide;
    let written = t.holes_tall() + t.notes_tall(wide) + 2.0;
    let (cuts_tall, widest) = cuts::stacked(cuts, wide);
    let fits = |rest: f64| a[1] + written + rest <= b[1];
    if fits(0.0) {
        let notes = [x, a[1] + t.holes_tall() + 1.0];
        let cut_at = [x, a[1] + written + 3.0];
        all.push(Plan {
            lying: true,
            field: [a, [x - 4.0 - a[0], b[1] - a[1]]],
            holes: [x, a[1]],
            notes,
            notes_wide: wide,
            cuts: (widest <= wide && fits(cuts_tall + 3.0))
                .then_some([cut_at, [wide, b[1] - cut_at[1]]]),
            rule: Some([[x - 2.0, a[1]], [x - 2.0, b[1]]]),
        });
    }
    // Below them, on a lying and on an upright sheet.
    for lying in [true, false] {
        let [a, b] = field(lying);
        let holes = t.holes_tall();
        let beside = if holes > 0.0 { wide + 6.0 } else { 0.0 };
        let notes_at = a[0] + beside;
        let left = b[0] - notes_at;
        let notes_wide = left.min(table::NOTES);
        if notes_wide < 60.0 {
            // Notes under the table.
            let written = holes + t.notes_tall(wide) + 2.0;
            let rest = b[0] - a[0] - wide - 6.0;
            let (tall, narrowest) = cuts::stacked(cuts, rest);
            let apart = cuts.is_empty() || narrowest <= rest;
            let below = if cuts.is_empty() {
                written
            } else if apart {
                written.max(tall)
            } else {
                written + 3.0 + cuts::stacked(cuts, b[0] - a[0]).0
            } + 1.0;
            let top = b[1] - below;
            if top - a[1] < 60.0 {
                continue;
            }
            let cut_at = if apart {
                [a[0] + wide + 6.0, top]
            } else {
                [a[0], top + written + 3.0]
            };
            all.push(Plan {
                lying,
                field: [a, [b[0] - a[0], below.mul_add(-1.0, b[1] - a[1])]],
                holes: [a[0], top],
                notes: [a[0], top + holes + 1.0],
                notes_wide: wide,
                cuts: (!cuts.is_empty()).then_some([cut_at, [b[0] - cut_at[0], b[1] - cut_at[1]]]),
                rule: None,
            });
            continue;
        }
        let notes = t.notes_tall(notes_wide);
        let rest = left - notes_wide - 6.0;
        let (tall, widest) = cuts::stacked(cuts, rest);
        let apart = cuts.is_empty() || widest <= rest;
        // Under the notes; right across where they are too wide for that.
        let under = widest <= left;
        let across = if under { left } else { b[0] - a[0] };
        let high = cuts::stacked(cuts, across).0;
        let below = if apart {
            holes.max(notes).max(tall)
        } else if under {
            holes.max(notes + 3.0 + high)
        } else {
            holes.max(notes) + 3.0 + high
        } + 1.0;
        let top = b[1] - below;
        if top - a[1] < 60.0 {
            continue;
        }
        let cut_at = if apart {
            [notes_at + notes_wide + 6.0, top]
        } else if under {
            [notes_at, top + notes + 3.0]
        } else {
            [a[0], top + holes.max(notes) + 3.0]
        };
        all.push(Plan {
            lying,
            field: [a, [b[0] - a[0], below.mul_add(-1.0, b[1] - a[1])]],
            holes: [a[0], top],
            notes: [notes_at, top],
            notes_wide,
            cuts: (!cuts.is_empty()).then_some([cut_at, [b[0] - cut_at[0], b[1] - cut_at[1]]]),
            rule: None,
        });
    }
    all
}

/// How a drawing is tried until no lettering lies on anything: names of places before sizes or after them, and by how many scales smaller than it
/// could be.
const TRIED: [(bool, usize); 6] = [
    (true, 0),
    (false, 0),
    (true, 1),
    (false, 1),
    (true, 2),
    (false, 2),
];

pub(super) fn draw(part: &Part, p: &Plate, leaf: Leaf, block: &Block, units: Units) -> Page {
    let mut best: Option<(usize, Page)> = None;
    for how in TRIED {
        let page = drawn(part, p, leaf, block.clone(), units, how);
        let wrong = clashes(&page.groups, page.size).len();
        if best.as_ref().is_none_or(|b| wrong < b.0) {
            best = Some((wrong, page));
        }
        if wrong == 0 {
            break;
        }
    }
    let empty = || Page::new(leaf, true, block.clone());
    best.map_or_else(empty, |b| b.1)
}

fn drawn(
    part: &Part,
    p: &Plate,
    leaf: Leaf,
    block: Block,
    units: Units,
    (names_first, smaller): (bool, usize),
) -> Page {
    let [low, high] = p.outline.bounds();
    let formed = super::bent::formed(p);
    let thick = formed.as_ref().map_or_else(
        || {
            let hubs = p.ends.iter().filter_map(|e| e.hub);
            hubs.fold(p.thickness, f64::max)
        },
        |f| f.height[1] - f.height[0],
    );
    let long = high[1] - low[1];
    let tall = formed
        .as_ref()
        .map_or(long, |f| long.max(f.across[1] - f.across[0]));
    let size = [high[0] - low[0], tall];
    let corners = corners::corners(p);
    let t = Table::new(part, p, &corners, units);
    let sections = [true, false].map(|roomy| cuts::of(p, &part.joined, units, roomy));
    let [left, over, right, below] = rooms(p, units);
    let fit = |plan: &Plan| {
        let [w, h] = plan.field[1];
        ((w - left - right - GAP) / (size[0] + thick)).min((h - over - below) / size[1])
    };
    let scale = |plan: &Plan| Scale::at_most(fit(plan).min(MOST));
    // The largest scale, but rather half of it than without its sections; of those alike the first: those with large sections come first.
    let rank = |plan: &Plan| {
        let all = plan.cuts.is_some() || sections[1].is_empty();
        (scale(plan).factor() * if all { 1.0 } else { 0.5 }, all)
    };
    let mut best: Option<(Plan, &[Shown])> = None;
    for (n, cuts) in sections.iter().enumerate() {
        for plan in plans(leaf, &t, cuts) {
            // Large sections do not take the room that the sizes of the views stand in.
            if n == 0 && !cuts.is_empty() && fit(&plan) < SLACK * scale(&plan).factor() {
                continue;
            }
            let better = |(b, _): &(Plan, &[Shown])| {
                let (new, old) = (rank(&plan), rank(b));
                new.0 > old.0 * 1.001 || (new.0 > old.0 * 0.999 && new.1 && !old.1)
            };
            if fit(&plan) > 0.0 && best.as_ref().is_none_or(better) {
                best = Some((plan, cuts));
            }
        }
    }
    // A table longer than any sheet is cut short beside the views.
    let (plan, cuts) = best.unwrap_or_else(|| {
        let [a, b] = Page::new(leaf, true, Block::default()).field();
        let x = b[0] - t.columns.wide;
        let plan = Plan {
            lying: true,
            field: [a, [x - 4.0 - a[0], b[1] - a[1]]],
            holes: [x, a[1]],
            notes: [x, a[1]],
            notes_wide: t.columns.wide,
            cuts: None,
            rule: Some([[x - 2.0, a[1]], [x - 2.0, b[1]]]),
        };
        (plan, &[])
    });
    let mut page = Page::new(leaf, plan.lying, block);
    let [_, b] = page.field();
    let scale = (0..smaller).fold(scale(&plan), |s, _| s.smaller());
    let k = scale.factor();
    page.block.scale = Some(scale.to_string());
    let [at, room] = plan.field;
    let used = [k * (size[0] + thick) + GAP, k * size[1]];
    let free = [
        (room[0] - left - right - used[0]).max(0.0),
        (room[1] - over - below - used[1]).max(0.0),
    ];
    let v = View {
        origin: [
            at[0] + left + free[0] / 2.0 - k * low[0],
            at[1] + over + free[1] / 2.0 + k * (high[1] + (tall - long) / 2.0),
        ],
        k,
    };
    let mut taken = Taken::within(Rect::new([MARGIN, MARGIN], b));
    let mut written = Group::new("holes");
    t.draw(
        &mut written,
        plan.holes,
        (plan.notes, plan.notes_wide),
        b[1],
    );
    if let Some([from, to]) = plan.rule {
        written.draw(Pen::Narrow, Shape::line(from, to));
    }
    taken.group(&written);
    let mut body = Group::new("part");
    body.shift = v.origin;
    views::front(&mut body, p, v.own());
    for j in part.joined.iter().filter(|j| !j.in_shaft) {
        super::seats::cut(&mut body, j, [0.0; 2], j.angle, v.own());
    }
    for (centre, d) in patterns::of(p).iter().filter_map(patterns::Pattern::round) {
        let own = v.own();
        let shape = Shape::Circle {
            centre: own.at(centre),
            radius: k * d / 2.0,
        };
        body.draw(Pen::Chain, shape);
    }
    super::bent::lines(&mut body, p, v.own());
    if let (Some(teeth), Some((centre, _))) = (&part.teeth, sizes::circle(p)) {
        // Teeth are their pitch circle and the circle over their tips (ISO 2203).
        let own = v.own();
        let shape = Shape::Circle {
            centre: own.at(centre),
            radius: k * teeth.spur.module * f64::from(teeth.spur.teeth) / 2.0,
        };
        body.draw(Pen::Chain, shape);
    }
    for cam in &p.cams {
        super::cams::draw(&mut body, cam, v.own());
    }
    let mut side = Group::new("side");
    side.shift = [v.at(high)[0] + GAP, v.origin[1]];
    match &formed {
        Some(f) => {
            // Upright bends are seen along from below, turned to stand; lying ones from the left, level with the flat middle.
            let zero = if p.bends.first().is_some_and(|b| b.upright) {
                k * (f64::midpoint(f.across[0], f.across[1]) - f64::midpoint(low[1], high[1]))
            } else {
                0.0
            };
            f.draw(&mut side, 0.0, zero, k);
            if leaf.third_angle() {
                views::mirror(&mut side, k * thick);
            }
        }
        None => views::side(&mut side, p, k, leaf.third_angle()),
    }
    taken.group(&body);
    taken.group(&side);
    let mut g = Group::new("sizes");
    // Lettering keeps to the room of the views.
    taken.keep(Rect::new(at, [at[0] + room[0], at[1] + room[1]]));
    sizes::datum(&mut g, &mut taken, p, v);
    sizes::lengths(
        &mut g,
        &mut taken,
        p,
        v,
        (side.shift[0], leaf.third_angle()),
        units,
    );
    // What follows keeps off the view beside.
    taken.rect(side.extent().grown(1.0));
    let sized = |g: &mut Group, taken: &mut Taken| {
        sizes::radii(g, taken, p, v, units);
        sizes::features(g, taken, p, v, units);
    };
    if !names_first {
        sized(&mut g, &mut taken);
    }
    let formed = patterns::of(p);
    for (n, (h, name)) in p.holes.iter().zip(names(p)).enumerate() {
        let within = formed.iter().find(|f| f.holes.contains(&n));
        if within.is_some_and(|f| !f.named().any(|i| i == n)) {
            continue;
        }
        let r = h.counterbore.map_or(0.0, |c| c[0]);
        let r = r.max(h.countersink.unwrap_or(0.0)).max(h.diameter()) / 2.0;
        let others: Vec<P> = p.holes.iter().map(|o| v.at(o.at)).collect();
        let others: Vec<P> = others.into_iter().filter(|o| *o != v.at(h.at)).collect();
        tag_among(&mut g, &mut taken, (v.at(h.at), k * r), &name, &others);
    }
    for (name, at) in &p.marks {
        tag(&mut g, &mut taken, v.at(*at), 1.0, &words::spoken(name));
    }
    for (n, c) in corners.iter().enumerate() {
        tag(&mut g, &mut taken, v.at(c.at), 0.5, &corners::name(n));
    }
    super::bent::letter(&mut g, &mut taken, p, v);
    for cam in &p.cams {
        super::cams::letter(&mut g, &mut taken, cam, v, units);
    }
    if names_first {
        sized(&mut g, &mut taken);
    }
    page.groups.extend([body, side, g]);
    if let Some([at, room]) = plan.cuts {
        taken.keep(Rect::new(at, [at[0] + room[0], at[1] + room[1]]));
        let mut g = Group::new("sections");
        cuts::draw(&mut g, &mut taken, cuts, at, room[0]);
        page.groups.push(g);
    }
    page.groups.push(written);
    page
}

/// Edges are broken by so much, mm (common practice).
const EDGES: f64 = 0.3;

/// What holds for the whole drawing.
pub(super) fn notes(part: &Part, units: impl Into<Units>) -> Vec<String> {
    let units = units.into();
    let in_brackets = units.beside.map_or_else(String::new, |u| {
        let inner = if u == Unit::Inch { "inches" } else { "mm" };
        format!(" ({inner} in brackets, for reading only)")
    });
    let mut all = vec![
        format!(
            "Lengths in {}{in_brackets}. General tolerance ISO 2768-m; fits are written out in limits.",
            words::unit_name(units.first)
        ),
        format!(
            "Edges broken {}. Surfaces as marked, in µm.",
            words::worked(EDGES, units)
        ),
    ];
    if !part.note.is_empty() {
        all.insert(0, part.note.clone());
    }
    if let shop::part::Form::Plate(p) = &part.form {
        all.extend(p.said.iter().cloned());
        if let Some(teeth) = &part.teeth {
            let rows = teeth.table(units.first);
            let said: Vec<String> = rows.iter().map(|r| r.join(" ")).collect();
            all.push(format!("Its rim is a gear: {}.", said.join("; ")));
        }
        let cams = p.cams.iter();
        all.extend(cams.map(|c| super::cams::note(c, units)));
        if !p.bends.is_empty() {
            all.push(format!(
                "{} thick. Drawn flat; beside it as bent, seen along its bends. Places and outer sizes are those of the flat.",
                words::length(p.thickness, units)
            ));
            all.extend(super::bent::notes(p, units));
        }
    }
    all.extend(part.joined.iter().filter_map(|j| j.note(units)));
    all.extend(part.assumed.iter().cloned());
    all
}
