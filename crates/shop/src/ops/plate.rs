//! Plates: blank, hub rings, holes at coordinates, slots, outline, fork, holes from the edge.

use super::Step;
use super::bits::{Caution, Work, cutting};
use super::blank::{blank, by_hand, width_of};
use super::coordinates::{holes, lies};
use super::filing::filed;
use super::holes::{On, Wanted, make};
use super::outline::outline;
use super::slots::slots;
use super::solid::solid;
use crate::finding::Grade;
use crate::letters::names;
use crate::part::{Opening as _, Plate, diameter};
use crate::speeds::Tool;
use crate::words;
use machine::equipment::Spindle;
use machine::fitting::Fitted;

pub(super) fn plan(work: &mut Work, p: &Plate) {
    let straight = p.is_box();
    machines(work);
    blank(work, p, straight);
    hubs(work, p);
    let turned = lies(work, p);
    work.lay(turned);
    holes(work, p);
    slots(work, p);
    work.lay(false);
    if let Some(wheel) = &p.geneva {
        super::geneva::wheel(work, p, wheel);
    } else if !straight {
        outline(work, p);
    }
    super::teeth::teeth(work, p.thickness);
    super::racks::teeth(work, p);
    super::cam::cams(work, p);
    solid(work, p);
    super::bends::bend(work, p);
    fork(work, p);
    edge(work, p);
    super::joined::hub(work);
    finish(work, p);
    // Neither file nor stamp bites what is hard.
    super::harden::steps(work);
}

/// What a plate is made on, when the shop has not got it.
fn machines(work: &mut Work) {
    let Some(shop) = work.shop() else { return };
    if !shop.mills.is_empty() {
        return;
    }
    if shop.drill_presses.is_empty() {
        work.not_here(
            "this shop file has neither mill nor drill press",
            "order the part by its drawing and DXF, or add the machine to the shop file",
        );
    } else {
        work.finding(
            Grade::WayRound,
            "this shop file has no mill",
            "lay it out, punch and drill on the press; bore on the lathe's faceplate; saw, and file to the line",
        );
    }
}

pub(super) fn mill<'a>(work: &Work<'a>) -> (String, Option<&'a Spindle>) {
    if let Some(mill) = work.mill() {
        return (words::kept("mill", &mill.name), Some(&mill.speeds));
    }
    if let Some(press) = work.drill_press() {
        return (words::kept("drill press", &press.name), Some(&press.speeds));
    }
    ("mill".to_owned(), None)
}

fn hubs(work: &mut Work, p: &Plate) {
    let rings: Vec<_> = p
        .ends
        .iter()
        .filter(|e| e.hub.is_some() && !e.solid)
        .collect();
    if rings.is_empty() {
        return;
    }
    let (mill, spindle) = mill(work);
    let held = super::blank::held(work, width_of(work));
    let held = if by_hand(work) {
        "clamped on wood".to_owned()
    } else {
        held.words("")
    };
    work.set_up("Places of the hub rings", &mill, held, "layout lines", 5.0);
    let (drill, d) = crate::resolve::pin_drill(work.shop());
    if p.opposite > 0 {
        work.step(Step {
            text: format!(
                "Lay {} of them as drawn, {} over on the other face, side by side like a left and a right hand, and mark which face gets its rings",
                work.part.count - p.opposite,
                p.opposite
            ),
            tool: "marker".to_owned(),
            why: "they face one another in the machine with their rings outside: two alike would be one too many".to_owned(),
            minutes: 2.0,
            ..Step::default()
        });
    }
    for end in &rings {
        let rpm = work.rpm(Tool::Drill, d, spindle);
        let at = work.xy(end.at);
        work.step(Step {
            text: format!(
                "Lay out and drill {} small, to take the pin that centres its ring",
                words::spoken(&end.name)
            ),
            tool: format!("drill {drill}"),
            rpm,
            at,
            minutes: 3.0,
            ..Step::default()
        });
    }
    work.set_up(
        "Braze the rings",
        "hearth",
        "fire bricks, the plate level on two of them; no vise: it takes the heat",
        "the pins",
        5.0,
    );
    for (n, end) in rings.iter().enumerate() {
        let ring = work.mm(2.0 * end.radius);
        let long = work.mm(end.hub.unwrap_or(0.0) - p.thickness);
        work.step(Step {
            text: format!(
                "Silver-braze the ring ⌀{ring} x {long} on at {}, clean and fluxed, centred on its pin{}",
                words::spoken(&end.name),
                if n > 0 { ", in the same heat" } else { "" }
            ),
            tool: "torch".to_owned(),
            check: "a bright line of filler all round".to_owned(),
            why: "brazed first, bored after: heat moves a finished bore; a pin of stainless or rubbed with graphite comes out again".to_owned(),
            minutes: if n > 0 { 6.0 } else { 15.0 },
            ..Step::default()
        });
    }
    work.step(Step {
        text: "Let it cool by itself, pins out, flux washed off in hot water".to_owned(),
        tool: "wire brush".to_owned(),
        minutes: 10.0,
        ..Step::default()
    });
    work.caution(Caution::Brazing);
}

fn fork(work: &mut Work, p: &Plate) {
    let Some(f) = &p.fork else { return };
    let (machine, spindle) = mill(work);
    let cutter = work
        .shop()
        .and_then(|s| {
            s.tools
                .end_mills
                .iter()
                .copied()
                .filter(|d| *d < f.gap - 0.05)
                .max_by(f64::total_cmp)
        })
        .unwrap_or_else(|| (0.8 * f.gap).floor());
    if by_hand(work) {
        forked_by_hand(work, p, f);
        return;
    }
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    let from_end = f.depth + p.outline.reach(f.at, f.open);
    super::bits::long_cutter(work, cutter, from_end, "the fork");
    work.set_up(
        "Fork",
        &machine,
        "upright in the vise, open end up, side against the fixed jaw",
        "edge finder on both faces: zero in the middle of the thickness",
        10.0,
    );
    let off = (f.gap - cutter) / 2.0;
    let passes = (from_end / (cutter / 4.0)).ceil();
    let long = super::bits::mill_for(work, cutter, from_end);
    if from_end > super::bits::flute(cutter) {
        let rpm = work.rpm(Tool::Drill, cutter - 0.5, spindle);
        let drill = super::slots::drill_below(work, cutter).map_or_else(
            || "drill below the gap".to_owned(),
            |d| format!("drill {}", d.0),
        );
        work.step(Step {
            text: "Drill most of it out in a row down the middle, hole beside hole, before it is milled".to_owned(),
            tool: drill,
            rpm,
            at: "y 0".to_owned(),
            why: "a long cutter bends: it takes light passes only".to_owned(),
            minutes: 10.0,
            ..Step::default()
        });
    }
    work.step(Step {
        text: format!(
            "Mill the slot down the middle, {} deep from the end, in passes of {}",
            work.mm(from_end),
            work.mm(from_end / passes)
        ),
        tool: long.clone(),
        rpm,
        feed: Some(0.05),
        at: "y 0".to_owned(),
        why: "after the cross hole: it is drilled through solid metal and cannot wander in the gap"
            .to_owned(),
        minutes: 5.0 + passes * cutting(width_of(work), 0.05, rpm.unwrap_or(500.0)),
        ..Step::default()
    });
    let check = work.measure("gap", f.gap, None);
    work.step(Step {
        text: format!(
            "Open it to {}: {} to each side",
            work.mm(f.gap),
            work.read(off)
        ),
        tool: long,
        rpm,
        feed: Some(0.05),
        at: format!("y ± {}", work.read(off)),
        check: format!("{check}; both ears alike"),
        minutes: 6.0,
        ..Step::default()
    });
}

/// A fork without a mill: a hole at its bottom, two saw cuts down to it, and files.
fn forked_by_hand(work: &mut Work, p: &Plate, f: &crate::part::Fork) {
    let from_end = f.depth + p.outline.reach(f.at, f.open);
    let (machine, spindle) = mill(work);
    let Some((name, d)) = super::slots::drill_below(work, f.gap - 0.4) else {
        work.finding(
            Grade::Cannot,
            format!(
                "no drill here goes into the fork's gap of {}",
                work.mm(f.gap)
            ),
            "buy the drill, or order the part",
        );
        return;
    };
    work.set_up(
        "Fork",
        &machine,
        "upright in the vise on the drill press's table, then the bench vise",
        "the gap scribed on both sides and over the end",
        8.0,
    );
    let rpm = work.rpm(Tool::Drill, d, spindle);
    let along = work.mm(from_end - f.gap / 2.0);
    work.step(Step {
        text: format!(
            "Drill across at the bottom of the gap, {along} from the end, square through the full width"
        ),
        tool: format!("drill {name}"),
        rpm,
        why: "the saw cuts run out into it, and the corners stay round".to_owned(),
        minutes: 6.0,
        ..Step::default()
    });
    let check = work.measure("gap", f.gap, None);
    work.step(Step {
        text: format!(
            "Saw down both lines to the hole, half a millimetre inside, break the piece out and file the gap to {}, {} deep from the end",
            work.mm(f.gap),
            work.mm(from_end)
        ),
        tool: "hacksaw, flat file".to_owned(),
        check: format!("{check}; both ears alike"),
        why: "an end mill pulls itself out of a drill chuck: no milling on the drill press".to_owned(),
        minutes: 20.0 + from_end,
        ..Step::default()
    });
}

fn edge(work: &mut Work, p: &Plate) {
    let (machine, spindle) = mill(work);
    let mut told: Vec<f64> = Vec::new();
    for e in &p.edge_holes {
        // Holes from one side are made in one set-up.
        if told.iter().any(|a| (a - e.from).abs() < 1e-9) {
            continue;
        }
        told.push(e.from);
        let along = e.from.to_degrees();
        let tall = standing(p, e.from);
        let room = work.mill().map_or(f64::INFINITY, |m| m.travel[2]);
        let high = tall + VISE + CHUCK > room;
        if high {
            let (tall, room) = (work.mm(tall), work.mm(room));
            work.finding(
                Grade::WayRound,
                format!("upright in the vise, with chuck and drill over it, {tall} of work do not go under the spindle: the mill has {room} of height"),
                "clamp it to an angle plate at the rim of the table, its end hanging down beside it; or on the drill press, its table swung aside",
            );
        }
        work.set_up(
            "Holes from the edge",
            &machine,
            format!(
                "{}, on edge: the direction {}° of the drawing straight up ({})",
                if high {
                    "on an angle plate at the rim of the table, hanging down beside it"
                } else {
                    "vise"
                },
                words::number(along, 2),
                upright(p, e.from)
            ),
            {
                let other = across(work, p, e.from);
                // Over a hub both faces would be found of the wrong thickness.
                if p.ends.iter().any(|e| e.hub.is_some()) {
                    format!(
                        "edge finder on the back face, which no hub stands out of: the middle of the thickness lies {} from it; {other}",
                        work.read(p.thickness / 2.0)
                    )
                } else {
                    format!("edge finder on both faces for the middle of the thickness; {other}")
                }
            },
            8.0,
        );
        for e in p
            .edge_holes
            .iter()
            .filter(|o| (o.from - e.from).abs() < 1e-9)
        {
            // The direction it comes from is up: only the place beside it is dialled.
            let beside = e.from.cos() * e.enters[1] - e.from.sin() * e.enters[0];
            let at = if e.from.cos().abs() > 1.0 - 1e-9 {
                format!("y {}, half the thickness", work.read(e.enters[1]))
            } else if e.from.sin().abs() > 1.0 - 1e-9 {
                format!("x {}, half the thickness", work.read(e.enters[0]))
            } else {
                format!(
                    "{} {} of the line through the datum, the drawing's face to you, half the thickness; it enters at {}",
                    work.read(beside.abs()),
                    if beside < 0.0 {
                        "to the right"
                    } else {
                        "to the left"
                    },
                    work.near(e.enters)
                )
            };
            let slope = slope(p, e);
            if slope > SLOPE {
                spotted(work, e, slope, spindle, &at);
            }
            let wanted = Wanted {
                name: words::spoken(&e.name),
                fitted: &e.fitted,
                on: On::Mill,
                at,
                blind: Some(e.depth),
                through: e.depth,
                spindle,
                count: 1,
                open: None,
                over: 0.0,
            };
            make(work, &wanted);
            let into: Vec<String> = p
                .holes
                .iter()
                .zip(names(p))
                .filter(|(h, _)| runs_into(e, h))
                .map(|(_, letter)| letter)
                .collect();
            if !into.is_empty() {
                work.step(Step {
                    text: format!(
                        "Take the burr out of {}: scraper, then the reamer or a fine hone through by hand",
                        into.join(" and ")
                    ),
                    tool: "three-square scraper".to_owned(),
                    check: "the pin or the plug gauge goes through again".to_owned(),
                    why: "the drill came out in a finished hole: its burr scores the pin".to_owned(),
                    minutes: 3.0,
                    ..Step::default()
                });
            }
        }
    }
}

/// A drill skates on a face that slopes more than this, degrees (common practice).
const SLOPE: f64 = 15.0;

/// How much the side where a hole enters slopes to it, degrees.
fn slope(p: &Plate, e: &crate::part::EdgeHole) -> f64 {
    let sides = p.outline.sides();
    let near = sides
        .iter()
        .min_by(|a, b| a.distance(e.enters).total_cmp(&b.distance(e.enters)));
    let Some(side) = near else { return 0.0 };
    let outward = side.heading(side.share(e.enters).unwrap_or(0.5)) - std::f64::consts::FRAC_PI_2;
    (e.from - outward)
        .cos()
        .clamp(-1.0, 1.0)
        .acos()
        .to_degrees()
}

/// A flat for the drill to start on.
fn spotted(
    work: &mut Work,
    e: &crate::part::EdgeHole,
    slope: f64,
    spindle: Option<&Spindle>,
    at: &str,
) {
    let (d, name) = (diameter(&e.fitted), words::spoken(&e.name));
    let shown = words::number(slope, 0);
    work.finding(
        Grade::WayRound,
        format!("the side slopes {shown}° where the hole {name} goes in: a drill skates there and breaks"),
        "a flat is spotted with an end mill first; or turn its direction until it stands square to the side",
    );
    let mills = work.shop().map(|s| s.tools.end_mills.clone());
    let cutter = mills
        .unwrap_or_default()
        .into_iter()
        .filter(|m| *m >= d)
        .min_by(f64::total_cmp)
        .unwrap_or_else(|| (d + 1.0).ceil());
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    work.step(Step {
        text: format!(
            "Spot a flat for {name}, as wide as the drill: straight in, slowly, no sideways feed"
        ),
        tool: work.tool("end mill", cutter),
        rpm,
        at: at.to_owned(),
        why: format!("the side slopes {shown}° to the hole: a centre drill would walk down it"),
        minutes: 4.0,
        ..Step::default()
    });
}

/// Whether a hole from the edge comes out in a hole square to the plate.
pub(crate) fn runs_into(e: &crate::part::EdgeHole, h: &crate::part::Hole) -> bool {
    let d = [-e.from.cos(), -e.from.sin()];
    let to = [h.at[0] - e.enters[0], h.at[1] - e.enters[1]];
    let along = to[0] * d[0] + to[1] * d[1];
    let aside = (to[0] * d[1] - to[1] * d[0]).abs();
    let radius = h.diameter() / 2.0;
    // Nearest place of the axis, no farther than it is deep.
    let over = (along - e.depth).max(0.0);
    along > 0.0 && aside.hypot(over) < radius + diameter(&e.fitted) / 2.0
}

/// How the work is set upright for a hole from the edge.
fn upright(p: &Plate, from: f64) -> &'static str {
    if p.holes.len() > 1 {
        "square along two pins"
    } else if (from / std::f64::consts::FRAC_PI_2 - (from / std::f64::consts::FRAC_PI_2).round())
        .abs()
        < 1e-9
    {
        "square from the table to a finished side"
    } else {
        "protractor from a finished side"
    }
}

/// How far a plate stands up that is set with a direction upright, mm.
fn standing(p: &Plate, from: f64) -> f64 {
    let along = p
        .outline
        .vertices
        .iter()
        .map(|v| from.cos() * v.at[0] + from.sin() * v.at[1]);
    along.clone().fold(f64::NEG_INFINITY, f64::max) - along.fold(f64::INFINITY, f64::min)
}

/// How deep under its top a pin of upright work is still reached beside it, mm (common practice).
const REACHED: f64 = 80.0;
/// Vise under the work, chuck and drill over it, mm (common practice).
const VISE: f64 = 70.0;
const CHUCK: f64 = 100.0;

/// What the place along the edge is measured from.
fn across(work: &Work, p: &Plate, from: f64) -> String {
    let tall = standing(p, from);
    if tall > REACHED {
        let [low, high] = p.outline.bounds();
        let axis = usize::from(from.sin().abs() <= from.cos().abs());
        return format!(
            "edge finder on the sides for the other, by halves: zero of the drawing lies {} from the one and {} from the other",
            work.read(-low[axis]),
            work.read(high[axis])
        );
    }
    if let Some(n) = p.holes.iter().position(|h| h.at == [0.0, 0.0]) {
        let letter = names(p).into_iter().nth(n).unwrap_or_default();
        return format!("a pin in {letter}, the datum, for the other");
    }
    let [low, high] = p.outline.bounds();
    let (axis, end) = if from.sin().abs() > from.cos().abs() {
        (0, "left end")
    } else {
        (1, "lower edge")
    };
    format!(
        "edge finder on the {end} for the other: it stands at {} {}, {} of the drawing lies {} from it",
        if axis == 0 { "x" } else { "y" },
        work.read(low[axis]),
        if axis == 0 { "x 0" } else { "y 0" },
        work.read(-low[axis].min(high[axis]))
    )
}

fn finish(work: &mut Work, p: &Plate) {
    work.set_up("Finish", "bench", "bench vise, soft jaws", "none", 2.0);
    filed(work, p);
    let edges = if work.bench.unit == quantity::Unit::Inch {
        "0.012"
    } else {
        "0.3"
    };
    work.step(Step {
        text: format!("Break all edges {edges}, stamp the name"),
        tool: "file, stamps".to_owned(),
        minutes: 5.0,
        ..Step::default()
    });
    // Pressed in once, at assembly, where forces and heat stand.
    let pressed: Vec<String> = p
        .holes
        .iter()
        .zip(names(p))
        .filter_map(|(h, letter)| match &h.fitted {
            Fitted::Bushing {
                outside: Some((o, _)),
                ..
            } => Some(format!("bushing ⌀{} in {letter}", work.mm(o.nominal))),
            Fitted::Bearing { name, .. } => Some(format!("bearing {name} in {letter}")),
            _ => None,
        })
        .collect();
    if !pressed.is_empty() {
        work.step(Step {
            text: format!(
                "Not yet: {}. The setting sheet says how",
                pressed.join(", ")
            ),
            check: "seat and ring measured, both written down".to_owned(),
            minutes: 1.0,
            ..Step::default()
        });
        work.caution(Caution::Pressing);
    }
}
