//! Plates: blank, hub rings, holes at coordinates, slots, outline, fork, holes from the edge.

use super::Step;
use super::bits::{Caution, Work, cutting};
use super::holes::{On, Wanted, make};
use crate::contour::{P, Side};
use crate::finding::Grade;
use crate::part::{Hole, Opening as _, Plate, cut, diameter};
use crate::speeds::Tool;
use crate::words;
use machine::equipment::Spindle;
use machine::fitting::{Cut, Fitted};
use machine::work::Section;

/// Left on the outline for the cutter, mm (common practice).
const SAWN: f64 = 1.0;
/// Depth of a finishing cut with an end mill, mm (common practice for a bench mill).
const CUT: f64 = 1.0;

pub(super) fn plan(work: &mut Work, p: &Plate) {
    let straight = p
        .outline
        .sides()
        .iter()
        .all(|s| matches!(s, Side::Line { .. }));
    blank(work, p, straight);
    hubs(work, p);
    holes(work, p);
    slots(work, p);
    if !straight {
        outline(work, p);
    }
    fork(work, p);
    edge(work, p);
    finish(work, p);
}

fn width_of(work: &Work) -> f64 {
    match work.part.section {
        Section::Flat([_, w]) => w,
        Section::Round(d) | Section::Tube([d, _]) => d,
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
    let length = work.mm(long + 2.0 * facing);
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
    let flat = matches!(work.part.section, Section::Flat(_));
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

fn mill<'a>(work: &Work<'a>) -> (String, Option<&'a Spindle>) {
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

/// How finely a place is held, in words.
fn place(work: &Work, hole: &Hole) -> String {
    hole.place
        .map_or_else(String::new, |p| format!("place ± {}", work.mm(p)))
}

fn holes(work: &mut Work, p: &Plate) {
    if p.holes.is_empty() && p.marks.is_empty() {
        return;
    }
    let [low, _] = p.outline.bounds();
    let (machine, spindle) = mill(work);
    let readout = work.mill().and_then(|m| m.readout);
    let zero = if p.datum_hole {
        format!(
            "edge finder on the stop end and the fixed jaw, then move to x {} y {} from them: there the datum hole is made and the dials are set to zero",
            work.read(-low[0]),
            work.read(-low[1])
        )
    } else {
        "edge finder on the stop end and the fixed jaw; zero where x and y of the drawing are zero"
            .to_owned()
    };
    let vise = format!(
        "mill vise, on parallels clear of the holes, stop against the end{}",
        if p.ends.iter().any(|e| e.hub.is_some()) {
            "; hub up"
        } else {
            ""
        }
    );
    work.set_up("Holes at coordinates", &machine, vise, zero, 12.0);
    if let Some(m) = work.mill() {
        let [a, b] = p.outline.bounds();
        let (x, y) = (b[0] - a[0], b[1] - a[1]);
        if x.max(y) > m.travel[0] || x.min(y) > m.travel[1] {
            work.finding(
                Grade::WayRound,
                format!(
                    "the plate is {} x {}, the mill travels {} x {}",
                    work.mm(x),
                    work.mm(y),
                    work.mm(m.travel[0]),
                    work.mm(m.travel[1])
                ),
                "clamp it twice and pick up a finished hole with a pin or an indicator in between",
            );
        }
    }
    // The datum first, then as they lie; screws after what has to be true.
    let mut order: Vec<&Hole> = p.holes.iter().collect();
    let rank = |h: &Hole| match cut(&h.fitted) {
        _ if h.at[0].abs() < 1e-9 && h.at[1].abs() < 1e-9 => 0,
        Some(Cut::Bore | Cut::Ream) => 1,
        None => 2,
        Some(Cut::Drill) => 3,
    };
    let far = |h: &Hole| h.at[0].hypot(h.at[1]);
    order.sort_by(|a, b| rank(a).cmp(&rank(b)).then(far(a).total_cmp(&far(b))));
    let mut done = 0;
    while done < order.len() {
        let first = order[done];
        // Like holes go through their tools together when a readout finds them again, or when drills alone make them.
        let alone = readout.is_none() && cut(&first.fitted) != Some(Cut::Drill) || rank(first) == 0;
        let group: Vec<&Hole> = if alone {
            vec![first]
        } else {
            order[done..]
                .iter()
                .copied()
                .take_while(|h| h.fitted == first.fitted && h.blind == first.blind && rank(h) != 0)
                .collect()
        };
        done += group.len();
        let name = match group.as_slice() {
            [one] => words::spoken(&one.name),
            many => format!(
                "{} holes {}",
                many.len(),
                words::spoken(
                    first
                        .name
                        .trim_end_matches(|c: char| c.is_ascii_digit() || c == ' ')
                )
            ),
        };
        let at: Vec<String> = group.iter().map(|h| work.xy(h.at)).collect();
        let held = place(work, first);
        let wanted = Wanted {
            name: name.clone(),
            fitted: &first.fitted,
            on: On::Mill,
            at: if held.is_empty() {
                at.join("; ")
            } else {
                format!("{}; {held}", at.join("; "))
            },
            blind: first.blind,
            through: first.through,
            spindle,
            count: group.len(),
        };
        make(work, &wanted);
        counter(work, first, &name, group.len(), spindle);
    }
    for (name, at) in &p.marks {
        let at = work.xy(*at);
        work.step(Step {
            text: format!("Mark {} with the centre drill", words::spoken(name)),
            tool: "centre drill 3".to_owned(),
            at,
            why: "no hole is called for there".to_owned(),
            minutes: 1.0,
            ..Step::default()
        });
    }
    if readout.is_none() && p.holes.len() > 1 {
        work.step(Step {
            text: "Measure the centre distances over pins before the work leaves the vise".to_owned(),
            tool: "pins, caliper or micrometer".to_owned(),
            check: distances(work, p),
            why: "dials come to every place from the same side, so that the screw's backlash is taken up; here it shows".to_owned(),
            minutes: 4.0,
            ..Step::default()
        });
    }
}

/// Centre distances from the datum, as they are measured over pins.
fn distances(work: &Work, p: &Plate) -> String {
    let first = p
        .holes
        .iter()
        .find(|h| h.at == [0.0, 0.0])
        .or(p.holes.first());
    let Some(first) = first else {
        return String::new();
    };
    let mut all = Vec::new();
    for h in p
        .holes
        .iter()
        .filter(|h| h.name != first.name && h.place.is_some())
        .take(6)
    {
        let far = (h.at[0] - first.at[0]).hypot(h.at[1] - first.at[1]);
        all.push(format!(
            "{} to {} {}",
            words::spoken(&first.name),
            words::spoken(&h.name),
            work.read(far)
        ));
    }
    all.join("; ")
}

fn counter(work: &mut Work, h: &Hole, name: &str, count: usize, spindle: Option<&Spindle>) {
    if let Some([d, depth]) = h.counterbore {
        let rpm = work.rpm(Tool::EndMill, d, spindle);
        let (d, depth) = (work.mm(d), work.mm(depth));
        work.step(Step {
            text: format!("Counterbore {name} ⌀{d} x {depth} deep"),
            tool: format!("counterbore or end mill {d}"),
            rpm,
            check: format!("depth {depth}: the head lies below the face"),
            minutes: 2.0 * count as f64,
            ..Step::default()
        });
    }
    if let Some(d) = h.countersink {
        let rpm = work.rpm(Tool::Tap, d, spindle);
        let d = work.mm(d);
        work.step(Step {
            text: format!("Countersink {name} to ⌀{d}"),
            tool: "countersink 90°".to_owned(),
            rpm,
            check: "try it with a screw".to_owned(),
            minutes: 1.0 * count as f64,
            ..Step::default()
        });
    }
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
            work.finding(
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
        let long = (s.ends[1][0] - s.ends[0][0]).hypot(s.ends[1][1] - s.ends[0][1]);
        let at = format!("{} to {}", work.xy(s.ends[0]), work.xy(s.ends[1]));
        let deep = s.depth.unwrap_or(p.thickness);
        let passes = (deep / (cutter / 4.0)).ceil();
        let name = words::spoken(&s.name);
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

fn outline(work: &mut Work, p: &Plate) {
    let saw = work
        .shop()
        .and_then(|s| s.saws.first())
        .map_or_else(|| "saw".to_owned(), |s| format!("saw {}", s.name));
    work.set_up(
        "Outline, rough",
        &saw,
        "by hand on the table, template glued on",
        "the template's cross over the datum",
        3.0,
    );
    work.step(Step {
        text: format!(
            "Glue the template on over the finished holes and saw {} outside its line",
            work.mm(SAWN)
        ),
        tool: "saw".to_owned(),
        why: "holes first: a blank with straight edges is held better than a shaped one".to_owned(),
        minutes: 8.0,
        ..Step::default()
    });
    let (machine, spindle) = mill(work);
    let cutter = work
        .shop()
        .and_then(|s| {
            s.tools
                .end_mills
                .iter()
                .copied()
                .filter(|d| *d >= 8.0)
                .min_by(f64::total_cmp)
        })
        .unwrap_or(10.0);
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    let tool = format!("end mill {}", words::number(cutter, 2));
    let sides = p.outline.sides();
    let lines: Vec<(P, P)> = sides
        .iter()
        .filter_map(|s| match *s {
            Side::Line { from, to } if s.length() > 1.0 => Some((from, to)),
            _ => None,
        })
        .collect();
    if !lines.is_empty() {
        work.set_up(
            "Straight sides",
            &machine,
            "vise, side level: two pins in the holes on parallels, or an indicator along the line",
            "top of the pins",
            8.0 + 4.0 * lines.len() as f64,
        );
        for (from, to) in lines {
            let angle = (to[1] - from[1]).atan2(to[0] - from[0]).to_degrees();
            let near = |at: P| {
                p.ends
                    .iter()
                    .find(|e| ((at[0] - e.at[0]).hypot(at[1] - e.at[1]) - e.radius).abs() < 1e-3)
            };
            let long = (to[0] - from[0]).hypot(to[1] - from[1]);
            let (over, check) = match (near(from), near(to)) {
                (Some(a), Some(b)) if a.name != b.name => (
                    format!(
                        "from the end about {} to that about {}",
                        words::spoken(&a.name),
                        words::spoken(&b.name)
                    ),
                    format!(
                        "{} and {} from the two centres",
                        work.mm(a.radius),
                        work.mm(b.radius)
                    ),
                ),
                _ => (
                    format!("from {} to {}", work.xy(from), work.xy(to)),
                    String::new(),
                ),
            };
            work.step(Step {
                text: format!(
                    "Mill the side {over}, at {}° to x, between the touching points",
                    words::number((angle + 360.0) % 180.0, 3)
                ),
                tool: tool.clone(),
                rpm,
                feed: Some(0.08),
                at: format!("{} to {}", work.xy(from), work.xy(to)),
                check,
                minutes: 5.0 + 2.0 * cutting(long, 0.08, rpm.unwrap_or(500.0)),
                ..Step::default()
            });
        }
    }
    match work.rotary() {
        Some(table) => rotary(work, p, &sides, table, &machine, cutter, rpm),
        None => step_off(work, p, &sides, cutter),
    }
}

fn rotary(
    work: &mut Work,
    p: &Plate,
    sides: &[Side],
    table: &machine::equipment::RotaryTable,
    machine: &str,
    cutter: f64,
    rpm: Option<f64>,
) {
    let reach = sides.iter().filter_map(|s| match *s {
        Side::Arc { centre, .. } => p
            .holes
            .iter()
            .map(|h| (h.at[0] - centre[0]).hypot(h.at[1] - centre[1]))
            .max_by(f64::total_cmp),
        Side::Line { .. } => None,
    });
    let holding = "rotary table, centred under the spindle; the work on a close pin in its hole, clamped on packing";
    work.set_up(
        "Round ends",
        &format!("{machine} with rotary table {}", table.name),
        holding,
        "table at 0° with x of the work along the table's x; spindle over the table's middle",
        15.0,
    );
    let _ = reach;
    for side in sides {
        let Side::Arc {
            centre,
            radius,
            from,
            sweep,
        } = *side
        else {
            continue;
        };
        let outside = sweep > 0.0;
        let hole = p
            .holes
            .iter()
            .find(|h| (h.at[0] - centre[0]).hypot(h.at[1] - centre[1]) < 1e-6);
        let name = p
            .ends
            .iter()
            .find(|e| (e.at[0] - centre[0]).hypot(e.at[1] - centre[1]) < 1e-6)
            .map(|e| words::spoken(&e.name));
        let path = elements::setups::cutter_radius(radius, cutter, outside);
        let to = from + sweep;
        let degrees = |a: f64| words::number(a.to_degrees().rem_euclid(360.0), 3);
        let turns = sweep.abs() / std::f64::consts::TAU * table.ratio;
        let Ok(path) = path else {
            let r = work.mm(radius);
            work.step(Step {
                text: format!("File the inside corner to radius {r}"),
                tool: "round file".to_owned(),
                at: work.xy(centre),
                why: "the cutter is too large for it".to_owned(),
                minutes: 5.0,
                ..Step::default()
            });
            continue;
        };
        let what = match (&name, outside) {
            (Some(name), true) => {
                format!("Round the end about {name} to radius {}", work.mm(radius))
            }
            (_, true) => format!(
                "Round the corner to radius {} about {}",
                work.mm(radius),
                work.xy(centre)
            ),
            (_, false) => format!(
                "Mill the inside corner to radius {} about {}",
                work.mm(radius),
                work.xy(centre)
            ),
        };
        work.step(Step {
            text: format!("{what}: cutter {} from the middle, turn the table from {}° to {}° ({} turns of the handle), against the cutter", work.read(path), degrees(-to), degrees(-from), words::number(turns, 3)),
            tool: format!("end mill {}", words::number(cutter, 2)),
            rpm,
            feed: Some(0.06),
            at: format!("offset {}", work.read(path)),
            check: format!("radius {}: over the pin {}", work.mm(radius), work.mm(radius + hole.map_or(0.0, |h| h.diameter() / 2.0))),
            why: if hole.is_some() { "about the finished hole, so that the end runs round it".to_owned() } else { "picked up at its coordinates: there is no hole to sit on".to_owned() },
            minutes: 8.0 + 3.0 * cutting(radius * sweep.abs(), 0.06, rpm.unwrap_or(500.0)) + 3.0 * (p.thickness / CUT / 4.0).ceil(),
            ..Step::default()
        });
    }
}

/// Flats that touch an arc, so many that filing takes off no more than a tenth.
fn step_off(work: &mut Work, p: &Plate, sides: &[Side], cutter: f64) {
    let (machine, spindle) = mill(work);
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    work.finding(
        Grade::WayRound,
        "no rotary table for the round ends".to_owned(),
        "flats that touch the arc are stepped off in the vise and blended with a file against two hardened buttons; the table stands on the sheet",
    );
    work.set_up(
        "Round ends, stepped off",
        &machine,
        "vise, a close pin through the hole resting on the jaws so that the pin's height stays",
        "top of the pin",
        10.0,
    );
    for side in sides {
        let Side::Arc {
            centre,
            radius,
            from,
            sweep,
        } = *side
        else {
            continue;
        };
        if sweep <= 0.0 || radius < 3.0 {
            continue;
        }
        let (count, angles) = facets(radius, from, sweep);
        let list: Vec<String> = angles
            .iter()
            .map(|a| words::number(a.to_degrees().rem_euclid(360.0), 1))
            .collect();
        let name = p
            .ends
            .iter()
            .find(|e| (e.at[0] - centre[0]).hypot(e.at[1] - centre[1]) < 1e-6)
            .map_or_else(|| work.xy(centre), |e| words::spoken(&e.name));
        let half = sweep / (2.0 * count as f64);
        let proud = radius * (1.0 / half.cos() - 1.0);
        let pin = p
            .holes
            .iter()
            .find(|h| (h.at[0] - centre[0]).hypot(h.at[1] - centre[1]) < 1e-6)
            .map_or(0.0, |h| diameter(&h.fitted) / 2.0);
        work.step(Step {
            text: format!("Step off the end about {name}: {count} flats, each {} above the pin, square to {}°; then file the ridges of {} down to buttons of radius {}", work.read(radius - pin), list.join("°, "), work.mm(proud), work.mm(radius)),
            tool: format!("end mill {}, file", words::number(cutter, 2)),
            rpm,
            feed: Some(0.06),
            at: format!("height {} over the pin", work.read(radius - pin)),
            check: format!("radius gauge {}", work.mm(radius)),
            minutes: 4.0 * count as f64 + 8.0,
            ..Step::default()
        });
    }
}

/// How many flats, and the directions of their faces: ridges of at most a tenth of a millimetre.
pub(crate) fn facets(radius: f64, from: f64, sweep: f64) -> (usize, Vec<f64>) {
    const RIDGE: f64 = 0.1;
    let half = (radius / (radius + RIDGE)).acos();
    let count = (sweep / (2.0 * half)).ceil().max(1.0) as usize;
    let each = sweep / count as f64;
    (
        count,
        (0..count).map(|n| from + each * (n as f64 + 0.5)).collect(),
    )
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
    for e in &p.edge_holes {
        let along = e.from.to_degrees();
        work.set_up(
            "Hole from the edge",
            &machine,
            format!("vise, on edge: the direction {}° of the drawing straight up (square along two pins)", words::number(along, 2)),
            "edge finder on both faces for the middle of the thickness; a pin in the hole for the other",
            8.0,
        );
        let at = format!("{} , half the thickness", work.xy(e.enters));
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

fn finish(work: &mut Work, p: &Plate) {
    work.set_up("Finish", "bench", "bench vise, soft jaws", "none", 2.0);
    work.step(Step {
        text: "Break all edges 0.3, stamp the name".to_owned(),
        tool: "file, stamps".to_owned(),
        minutes: 5.0,
        ..Step::default()
    });
    for h in &p.holes {
        let press = match &h.fitted {
            Fitted::Bushing {
                outside: Some((o, _)),
                bore,
                ..
            } => Some((
                format!(
                    "Press the bushing in, chamfered end first, square, oiled ({} in {})",
                    work.mm(o.nominal),
                    words::spoken(&h.name)
                ),
                format!(
                    "its bore is {} when it came to rest: ream or hone what the press took",
                    words::limits(bore, work.bench.unit)
                ),
            )),
            Fitted::Bearing { name, .. } => Some((
                format!(
                    "Fit bearing {name} into {}: press on the outer ring only",
                    words::spoken(&h.name)
                ),
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
                |s| format!("{} {}", if s.vise { "vise" } else { "press" }, s.name),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ridges_stay_under_a_tenth() {
        for radius in [5.0, 12.0, 40.0] {
            let (count, angles) = facets(radius, 0.0, std::f64::consts::PI);
            assert_eq!(count, angles.len());
            let half = std::f64::consts::PI / (2.0 * count as f64);
            assert!(radius * (1.0 / half.cos() - 1.0) <= 0.1 + 1e-12);
            // One flat less would be too coarse.
            if count > 1 {
                let half = std::f64::consts::PI / (2.0 * (count - 1) as f64);
                assert!(radius * (1.0 / half.cos() - 1.0) > 0.1);
            }
        }
    }
}
