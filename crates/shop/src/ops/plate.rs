//! Plates: blank, hub rings, holes at coordinates, slots, outline, fork, holes from the edge.

use super::Step;
use super::bits::{Caution, Work, cutting};
use super::coordinates::holes;
use super::holes::{On, Wanted, make};
use super::outline::{filed, outline};
use crate::contour::{P, Side};
use crate::cut::sawn;
use crate::finding::Grade;
use crate::letters::names;
use crate::part::Plate;
use crate::speeds::Tool;
use crate::words;
use machine::equipment::Spindle;
use machine::fitting::Fitted;
use machine::work::Section;

pub(super) fn plan(work: &mut Work, p: &Plate) {
    let straight = p.is_box();
    machines(work);
    blank(work, p, straight);
    hubs(work, p);
    holes(work, p);
    slots(work, p);
    if !straight {
        outline(work, p);
    }
    super::cam::cams(work, p);
    super::bends::bend(work, p);
    fork(work, p);
    edge(work, p);
    finish(work, p);
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

fn width_of(work: &Work) -> f64 {
    match work.part.section {
        Section::Flat([_, w]) => w,
        Section::Round(d) | Section::Tube([d, _]) | Section::Square(d) | Section::Hexagon(d) => d,
    }
}

fn blank(work: &mut Work, p: &Plate, straight: bool) {
    let [low, high] = p.outline.bounds();
    let (long, wide) = (
        (high[0] - low[0]).max(high[1] - low[1]),
        (high[0] - low[0]).min(high[1] - low[1]),
    );
    let facing = work.shop().map_or(1.5, |s| s.tools.facing);
    let section = words::section(&work.part.section, work.bench.unit);
    let saw = work
        .shop()
        .and_then(|s| s.saws.first())
        .map_or_else(|| "saw".to_owned(), |s| format!("saw {}", s.name));
    work.set_up("Blank", &saw, "across the bar, clamped", "none", 3.0);
    let length = work.mm(sawn(long + 2.0 * facing, work.bench.unit));
    work.step(Step {
        text: format!("Saw {length} off {section}"),
        tool: "saw".to_owned(),
        why: format!("{} on each end to clean up", work.mm(facing)),
        minutes: 3.0,
        ..Step::default()
    });
    let (mill, spindle) = mill(work);
    work.set_up(
        "Square the blank",
        &mill,
        "mill vise, on parallels, fixed jaw against the better face",
        "none: sizes are measured",
        8.0,
    );
    let cutter = work
        .shop()
        .and_then(|s| s.tools.end_mills.last().copied())
        .unwrap_or(16.0);
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    let face = |text: String, check: String, why: &str| Step {
        text,
        tool: format!("end mill {}", words::number(cutter, 2)),
        rpm,
        feed: Some(0.08),
        check,
        why: why.to_owned(),
        minutes: 4.0,
        ..Step::default()
    };
    let stock = width_of(work);
    let flat = matches!(work.part.section, Section::Flat(_) | Section::Square(_));
    if straight && stock > wide + 0.05 {
        // The four sides of a block in the order that leaves them square.
        work.step(face(
            "Face 1: clean up the broad face that is best".to_owned(),
            String::new(),
            "everything is squared from it",
        ));
        work.step(face(
            "Face 2: face 1 against the fixed jaw, round bar between work and moving jaw"
                .to_owned(),
            "square to face 1".to_owned(),
            "the round bar lets face 1 lie flat on the fixed jaw",
        ));
        let check = work.measure("width", wide, None);
        work.step(face(
            format!(
                "Face 3: face 1 against the fixed jaw, face 2 down, to {}",
                work.mm(wide)
            ),
            check,
            "",
        ));
        let check = work.measure("thickness", p.thickness, None);
        work.step(face(
            format!("Face 4: to {}", work.mm(p.thickness)),
            check,
            "",
        ));
    } else {
        let what = if flat {
            "Deburr; the bar's own faces stay"
        } else {
            "Clean up both faces"
        };
        work.step(Step {
            text: what.to_owned(),
            tool: "file".to_owned(),
            minutes: 1.0,
            ..Step::default()
        });
    }
    let both = work.measure("length", long, None);
    work.step(face(
        "Face the first sawn end square".to_owned(),
        "square to the side".to_owned(),
        "it is the stop edge of the next set-up",
    ));
    if straight {
        work.step(face(
            format!("Turn end for end, face to {}", work.mm(long)),
            both,
            "",
        ));
    }
    work.caution(Caution::SmallPart);
}

pub(super) fn mill<'a>(work: &Work<'a>) -> (String, Option<&'a Spindle>) {
    if let Some(mill) = work.mill() {
        return (format!("mill {}", mill.name), Some(&mill.speeds));
    }
    if let Some(press) = work.drill_press() {
        return (format!("drill press {}", press.name), Some(&press.speeds));
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
    work.set_up("Hub rings", &mill, "mill vise", "layout lines", 5.0);
    for end in rings {
        let rpm = work.rpm(Tool::Drill, 6.0, spindle);
        let at = work.xy(end.at);
        let ring = work.mm(2.0 * end.radius);
        let long = work.mm(end.hub.unwrap_or(0.0) - p.thickness);
        work.step(Step {
            text: format!(
                "Lay out and drill {} small, to take the pin that centres its ring",
                words::spoken(&end.name)
            ),
            tool: "drill 6".to_owned(),
            rpm,
            at,
            minutes: 3.0,
            ..Step::default()
        });
        work.step(Step {
            text: format!(
                "Silver-braze the ring ⌀{ring} x {long} on, clean and fluxed, centred on the pin"
            ),
            tool: "torch".to_owned(),
            check: "a bright line of filler all round".to_owned(),
            why: "brazed first, bored after: heat moves a finished bore".to_owned(),
            minutes: 15.0,
            ..Step::default()
        });
    }
    work.caution(Caution::Brazing);
}

fn slots(work: &mut Work, p: &Plate) {
    if p.slots.is_empty() {
        return;
    }
    let (_, spindle) = mill(work);
    let cutters = work.shop().map(|s| s.tools.end_mills.clone());
    for s in &p.slots {
        let cutter = match &cutters {
            Some(all) => all
                .iter()
                .copied()
                .filter(|d| *d < s.width - 0.05)
                .max_by(f64::total_cmp),
            None => Some((s.width * 0.8).floor()),
        };
        let Some(cutter) = cutter else {
            let width = work.mm(s.width);
            work.on_mill(
                Grade::WayRound,
                format!(
                    "no end mill under {width} for the slot {}",
                    words::spoken(&s.name)
                ),
                "drill the ends, saw and file between them, or buy the cutter",
            );
            continue;
        };
        let rpm = work.rpm(Tool::EndMill, cutter, spindle);
        let long = s.line().length();
        let at = format!("{} to {}", work.xy(s.ends[0]), work.xy(s.ends[1]));
        let deep = s.depth.unwrap_or(p.thickness);
        let passes = (deep / (cutter / 4.0)).ceil();
        let name = words::spoken(&s.name);
        if let Side::Arc { .. } = s.line() {
            super::arc_slot::mill(work, p, s, cutter, rpm);
            continue;
        }
        let along = (s.ends[1][1] - s.ends[0][1])
            .atan2(s.ends[1][0] - s.ends[0][0])
            .to_degrees();
        if along.rem_euclid(90.0) > 1e-6 && 90.0 - along.rem_euclid(90.0) > 1e-6 {
            work.step(Step {
                text: format!(
                    "Turn the work until the slot {name} lies along the table: {}° from x",
                    words::number(along, 3)
                ),
                tool: "indicator along two pins".to_owned(),
                at: at.clone(),
                minutes: 8.0,
                ..Step::default()
            });
        }
        work.step(Step {
            text: format!("Drill both ends of the slot {name} under size"),
            tool: format!("drill {}", words::number(cutter - 0.5, 2)),
            rpm: work.rpm(Tool::Drill, cutter, spindle),
            at: at.clone(),
            why: "an end mill does not like to plunge".to_owned(),
            minutes: 3.0,
            ..Step::default()
        });
        work.step(Step {
            text: format!(
                "Mill the slot {name} down the middle, {} passes of {}",
                words::number(passes, 0),
                work.mm(deep / passes)
            ),
            tool: format!("end mill {}", words::number(cutter, 2)),
            rpm,
            feed: Some(0.05),
            at: at.clone(),
            minutes: 3.0 + passes * cutting(long + cutter, 0.05, rpm.unwrap_or(500.0)),
            ..Step::default()
        });
        let off = (s.width - cutter) / 2.0;
        let check = work.measure("width", s.width, s.class.as_ref());
        work.step(Step {
            text: format!(
                "Open it to {}: {} to each side of the middle, against the feed",
                work.mm(s.width),
                work.read(off)
            ),
            tool: format!("end mill {}", words::number(cutter, 2)),
            rpm,
            feed: Some(0.05),
            at,
            check,
            why: "a cutter of full width wanders to one side".to_owned(),
            minutes: 4.0 + 2.0 * cutting(long + cutter, 0.05, rpm.unwrap_or(500.0)),
            ..Step::default()
        });
    }
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
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    let from_end = f.depth + reach(p, f.at, f.open);
    work.set_up(
        "Fork",
        &machine,
        "upright in the vise, open end up, side against the fixed jaw",
        "edge finder on both faces: zero in the middle of the thickness",
        10.0,
    );
    let off = (f.gap - cutter) / 2.0;
    let passes = (from_end / (cutter / 4.0)).ceil();
    work.step(Step {
        text: format!(
            "Mill the slot down the middle, {} deep from the end, in passes of {}",
            work.mm(from_end),
            work.mm(from_end / passes)
        ),
        tool: format!("end mill {}", words::number(cutter, 2)),
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
        tool: format!("end mill {}", words::number(cutter, 2)),
        rpm,
        feed: Some(0.05),
        at: format!("y ± {}", work.read(off)),
        check: format!("{check}; both ears alike"),
        minutes: 6.0,
        ..Step::default()
    });
}

/// From a place to the edge in a direction.
fn reach(p: &Plate, at: P, angle: f64) -> f64 {
    let (c, s) = (angle.cos(), angle.sin());
    let all = p.outline.sides();
    let far = all
        .iter()
        .flat_map(|side| [side.at(0.0), side.at(1.0)])
        .map(|q| (q[0] - at[0]) * c + (q[1] - at[1]) * s);
    far.fold(0.0, f64::max)
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
        work.set_up(
            "Holes from the edge",
            &machine,
            format!("vise, on edge: the direction {}° of the drawing straight up (square along two pins)", words::number(along, 2)),
            "edge finder on both faces for the middle of the thickness; a pin in the hole for the other",
            8.0,
        );
        for e in p
            .edge_holes
            .iter()
            .filter(|o| (o.from - e.from).abs() < 1e-9)
        {
            let at = format!("{}, half the thickness", work.xy(e.enters));
            let wanted = Wanted {
                name: words::spoken(&e.name),
                fitted: &e.fitted,
                on: On::Mill,
                at,
                blind: Some(e.depth),
                through: e.depth,
                spindle,
                count: 1,
            };
            make(work, &wanted);
        }
    }
}

fn finish(work: &mut Work, p: &Plate) {
    work.set_up("Finish", "bench", "bench vise, soft jaws", "none", 2.0);
    work.step(Step {
        text: "Break all edges 0.3, stamp the name".to_owned(),
        tool: "file, stamps".to_owned(),
        minutes: 5.0,
        ..Step::default()
    });
    filed(work, p);
    for (h, letter) in p.holes.iter().zip(names(p)) {
        let press = match &h.fitted {
            Fitted::Bushing {
                outside: Some((o, _)),
                bore,
                ..
            } => Some((
                format!(
                    "Press the bushing in, chamfered end first, square, oiled ({} in {})",
                    work.mm(o.nominal),
                    letter
                ),
                format!(
                    "its bore is {} when it came to rest: ream or hone what the press took",
                    words::limits(bore, work.bench.unit)
                ),
            )),
            Fitted::Bearing { name, .. } => Some((
                format!("Fit bearing {name} into {letter}: press on the outer ring only"),
                "turns freely by hand".to_owned(),
            )),
            _ => None,
        };
        if let Some((text, check)) = press {
            let squeezer = work.shop().and_then(|s| {
                s.squeezers
                    .iter()
                    .max_by(|a, b| a.force.total_cmp(&b.force))
            });
            let tool = squeezer.map_or_else(
                || "press".to_owned(),
                |s| format!("{} {}", s.name, if s.vise { "vise" } else { "press" }),
            );
            work.step(Step {
                text,
                tool,
                check,
                minutes: 4.0,
                ..Step::default()
            });
            work.caution(Caution::Pressing);
        }
    }
}
