//! Diameters and lengths of a turned part, and what is said beside its figure.

use super::profile::span;
use super::{keyways, lift, section};
use crate::font;
use crate::geometry::P;
use crate::packet::dims::{
    DIM, Levels, Run, View, arrow, broken_at, leader, leader_of, linear, lines_of,
};
use crate::packet::taken::Taken;
use crate::sheet::{Group, Hand, Hold, Lettering, Pen, Shape};
use machine::fitting::Fitted;
use shop::joined::Joined;
use shop::part::{Bore, Opening as _, Step, Turned};
use shop::words::{self, Units};
use std::f64::consts::{FRAC_PI_2, PI};

/// Diameters stand above their steps, staggered so that none lies on another and no leader runs through lettering.
pub(super) fn diameters(
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
pub(super) fn lengths(
    g: &mut Group,
    taken: &mut Taken,
    (t, joined): (&Turned, &[Joined]),
    v: View,
    low: f64,
    units: Units,
) -> f64 {
    let mut places: Vec<f64> = t.steps.iter().map(|s| s.to).collect();
    places.extend(t.cross.iter().map(|c| c.at));
    places.extend(t.grooves.iter().map(|q| q.at));
    places.extend(t.flats.iter().map(|f| f.at).filter(|x| *x > 0.0));
    // Depths from the right are said with the bore: they are measured from its own face.
    places.extend(t.bores.iter().filter(|b| b.left).filter_map(|b| b.blind));
    // Where keyways begin and end, Woodruff's where the cutter stands.
    for (j, k) in keyways(joined) {
        match (k.disc, j.middle) {
            (Some(_), middle) => places.extend(middle),
            (None, _) => places.extend(span(j, k).into_iter().flatten()),
        }
    }
    // What begins at the left face needs no size, and what runs out at the right one ends with the part.
    let long = t.length();
    places.retain(|x| *x > 1e-9 && *x < long + 1e-9);
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
            alone: false,
        };
        let ends = [[zero, low], [to, low]];
        y = linear(g, taken, ends, Run::Level, levels, &words::length(x, units));
    }
    y
}

/// Texts of bores are broken where they are wider, mm: there is little room beside a face.
const NARROW: f64 = 28.0;

/// Diameters of bores at the faces they open to, on leaders; says how much is in their way.
pub(super) fn bores(
    g: &mut Group,
    taken: &mut Taken,
    (t, keyed): (&Turned, bool),
    v: View,
    units: Units,
) -> f64 {
    let mut cost = 0.0;
    for (b, face) in section::mouths(t, keyed) {
        let mut text = words::hole(&b.fitted, units);
        if let Some(deep) = b.blind {
            let drilled = if matches!(b.fitted, Fitted::Tapped { .. }) {
                "drilled "
            } else {
                ""
            };
            text = format!("{text}, {drilled}{} deep", words::length(deep, units));
        }
        let tip = v.at([face, b.diameter() / 2.0]);
        let outward = if face > 0.0 { 0.35 } else { PI - 0.35 };
        cost += leader_of(g, taken, tip, outward, broken_at(&text, NARROW));
    }
    cost
}

/// What cannot be read off the side view.
pub(super) fn features(
    (t, keyed): (&Turned, bool),
    inside: Option<f64>,
    units: Units,
) -> Vec<String> {
    let mut all = Vec::new();
    let l = |x: f64| words::length(x, units);
    if let Some(d) = inside {
        all.push(format!("Inside ⌀{} as the tube came.", l(d)));
    }
    let shown = section::mouths(t, keyed);
    let said = |b: &&Bore| !shown.iter().any(|(o, _)| std::ptr::eq(*o, *b));
    for b in t.bores.iter().filter(said) {
        let deep = b
            .blind
            .map_or_else(|| "through".to_owned(), |d| format!("{} deep", l(d)));
        let deep = match &b.fitted {
            Fitted::Tapped { .. } => format!("drilled {deep}"),
            _ => deep,
        };
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
    // By what the step is called; where two are called alike, by the end at which they stand too.
    let called = |s: &Step| match &s.thread {
        Some(thread) => thread.name.clone(),
        None => format!("⌀{}", l(s.diameter)),
    };
    let last = t.steps.len().saturating_sub(1);
    let mut chamfers: Vec<String> = Vec::new();
    for (n, s) in t.steps.iter().enumerate().filter(|(_, s)| s.chamfer > 0.0) {
        let own = called(s);
        let differs =
            |o: &Step| o.chamfer > 0.0 && called(o) == own && (o.chamfer - s.chamfer).abs() > 1e-9;
        let end = match n {
            _ if !t.steps.iter().any(differs) => "",
            0 => " (left)",
            n if n == last => " (right)",
            _ => " (within)",
        };
        let text = format!("{} x 45° on {own}{end}", words::worked(s.chamfer, units));
        if !chamfers.contains(&text) {
            chamfers.push(text);
        }
    }
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
    let reliefs: Vec<String> = t
        .steps
        .iter()
        .filter(|s| s.relief)
        .filter_map(|s| Some((s, s.thread.as_ref()?)))
        .map(|(s, thread)| {
            format!(
                "{} wide, ⌀{} behind {}",
                words::worked(2.0 * thread.pitch, units),
                words::worked(s.diameter - 1.4 * thread.pitch, units),
                thread.name
            )
        })
        .collect();
    if !reliefs.is_empty() {
        all.push(format!("Thread relief {}.", reliefs.join(", ")));
    }
    all
}
