//! What cannot be put together: plates that do not come to their journal, shafts that do not pass their bearings, collars that lie inside a
//! plate, studs that carry a part beside its station, what nothing holds on its shaft. mm.

use crate::bearings::inside;
use crate::finding::{Finding, Grade};
use crate::part::{Form, Opening, Part, Plate};
use crate::pins::{self, By};
use crate::words;
use machine::Machine;
use machine::fitting::Fitted;
use machine::making::{Of, Piece, Shape, Step, Turned};
use machine::model::{FRAME, PartId, PartKind, PointId};
use machine::work::JointAt;

/// What two sizes may differ before one does not pass the other, mm.
const PASSES: f64 = 0.02;

/// All of it.
pub(crate) fn findings(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    for (id, part) in machine.parts.iter().enumerate().skip(1) {
        for (point, bore) in bores(machine, parts, id) {
            on_journal(machine, &part.name, point, bore, findings);
        }
    }
    for id in 1..machine.parts.len() {
        through_plates(machine, parts, id, findings);
    }
    in_line(machine, parts, findings);
    studs(machine, parts, findings);
    lengthwise(machine, parts, findings);
    loose_on_shafts(machine, parts, findings);
    for part in parts {
        match &part.form {
            Form::Plate(p) => rings(p, &part.name, machine, findings),
            Form::Turned(t) => lands(t, &part.name, machine, findings),
        }
    }
}

/// A retaining ring pushes against the land beside its groove: three depths of the groove of it (n and t of DIN 471, from memory: 0.6 and 0.2 on
/// 10, 1.5 and 0.5 on 20), the chamfer not counted.
fn lands(t: &crate::part::Turned, name: &str, machine: &Machine, findings: &mut Vec<Finding>) {
    let l = |x: f64| words::length(x, machine.unit);
    for g in &t.grooves {
        let Some(n) = t
            .steps
            .iter()
            .position(|s| g.at >= s.from - 1e-9 && g.at < s.to)
        else {
            continue;
        };
        let Some(s) = t.steps.get(n) else { continue };
        if !crate::buying::takes_ring(s.diameter, g.diameter, g.width) {
            continue;
        }
        let wants = 1.5 * (s.diameter - g.diameter);
        let beside = |n: Option<usize>| n.and_then(|n| t.steps.get(n)).map_or(0.0, |s| s.diameter);
        // Towards the nearer free edge of its step; a shoulder carries by itself.
        let sides = [
            (g.at - s.from, beside(n.checked_sub(1))),
            (s.to - g.at - g.width, beside(Some(n + 1))),
        ];
        let land = sides
            .iter()
            .filter(|(_, d)| *d < s.diameter - 1e-9)
            .map(|x| x.0)
            .fold(f64::INFINITY, f64::min);
        let left = land - s.chamfer;
        if left < wants - 0.1 && land < 3.0 * wants {
            findings.push(Finding::new(
                Grade::WayRound,
                name,
                format!(
                    "beside the groove of the retaining ring on ⌀{} {} of land is left, {} less a chamfer of {}: the ring wants {}",
                    l(s.diameter),
                    l(left.max(0.0)),
                    l(land),
                    l(s.chamfer),
                    l(wants)
                ),
                format!(
                    "the groove {} further from the end, a smaller `chamfer`, or a longer step",
                    l(wants - left.min(wants))
                ),
            ));
        }
    }
}

fn name(machine: &Machine, id: PartId) -> &str {
    machine.parts.get(id).map_or("", |p| p.name.as_str())
}

fn point_name(machine: &Machine, id: PointId) -> &str {
    machine.points.get(id).map_or("", |p| p.name.as_str())
}

/// The turned piece of a part.
pub(crate) fn turned(machine: &Machine, part: PartId) -> Option<&Turned> {
    let mut pieces = machine.work.making.pieces.iter();
    match &pieces.find(|p| p.of == Of::Part(part))?.shape {
        Shape::Turned(t) => Some(t),
        Shape::Plate(_) => None,
    }
}

/// Closed holes and slots of a made plate that a journal goes through: point and least width.
fn bores(machine: &Machine, parts: &[Part], id: PartId) -> Vec<(PointId, f64)> {
    let own = parts.iter().find(|p| p.name == name(machine, id));
    let Some(Form::Plate(plate)) = own.map(|p| &p.form) else {
        return Vec::new();
    };
    let Some(part) = machine.parts.get(id) else {
        return Vec::new();
    };
    let mut all: Vec<(PointId, f64)> = part
        .carries
        .iter()
        .filter_map(|&q| {
            let hole = plate
                .holes
                .iter()
                .find(|h| h.name == point_name(machine, q))?;
            Some((q, inside(&hole.fitted)))
        })
        .collect();
    for slot in machine.slots.iter().filter(|s| s.within == id) {
        if let Some(cut) = plate.slots.iter().find(|s| s.name == slot.name) {
            all.push((slot.pin, cut.width));
        }
    }
    all
}

/// Axis of a step from that of its piece.
fn axis(s: &Step) -> [f64; 2] {
    s.offset.map_or([0.0; 2], |o| {
        [o.throw * o.angle.cos(), o.throw * o.angle.sin()]
    })
}

/// The shaft that is turned about a point, and which of its steps it is.
pub(crate) fn journal(machine: &Machine, point: PointId) -> Option<(PartId, &Turned, usize)> {
    (1..machine.parts.len()).find_map(|id| {
        let t = turned(machine, id)?;
        let at = t
            .steps
            .iter()
            .position(|s| s.offset.is_some_and(|o| o.point == Some(point)))?;
        Some((id, t, at))
    })
}

/// A closed plate comes to an eccentric journal over one end of the shaft, or not at all.
fn on_journal(
    machine: &Machine,
    plate: &str,
    point: PointId,
    bore: f64,
    findings: &mut Vec<Finding>,
) {
    let Some((shaft, t, at)) = journal(machine, point) else {
        return;
    };
    let Some(own) = t.steps.get(at) else { return };
    let here = axis(own);
    // How far each step reaches from the journal's axis; sliding over it, the plate may follow it across.
    let most = |steps: &[Step]| {
        steps
            .iter()
            .filter(|s| s.diameter.0 > bore + PASSES)
            .map(|s| {
                let a = axis(s);
                (s.diameter.0, (a[0] - here[0]).hypot(a[1] - here[1]))
            })
            .reduce(|a, b| if b.0 > a.0 { b } else { a })
    };
    let (left, right) = t.steps.split_at(at);
    if let (Some(left), Some(right)) = (most(left), most(right.get(1..).unwrap_or_default())) {
        let l = |x: f64| words::length(x, machine.unit);
        let shaft = words::spoken(name(machine, shaft));
        let larger = left.0.max(right.0);
        let throw = left.1.max(right.1);
        findings.push(Finding::new(
            Grade::Cannot,
            plate,
            format!(
                "its closed hole or slot of {} at {} does not pass ⌀{} to the left and ⌀{} to the right of that journal of {shaft}: it cannot be put on",
                l(bore),
                words::spoken(point_name(machine, point)),
                l(left.0),
                l(right.0)
            ),
            format!(
                "turn the journal larger than what it has to pass (⌀{} or more), or split the plate there and screw a cap on",
                l((larger + 2.0 * throw).ceil())
            ),
        ));
    }
}

/// Plates of the frame that carry a point, with the made part of each.
fn plates<'a>(
    machine: &'a Machine,
    parts: &'a [Part],
    point: PointId,
) -> Vec<(&'a Piece, &'a Plate)> {
    let pieces = machine.work.making.pieces.iter();
    pieces
        .filter(|p| matches!(&p.of, Of::Frame(points) if points.contains(&point)))
        .filter_map(|p| {
            let made = parts.iter().find(|q| q.name == p.name)?;
            match &made.form {
                Form::Plate(plate) => Some((p, plate)),
                Form::Turned(_) => None,
            }
        })
        .collect()
}

/// Plates by name that are bored together, how many they are, and the points whose holes are.
type InLine<'a> = (Vec<&'a str>, usize, Vec<String>);

/// Plates that carry the same shafts and pins in holes that fit.
fn in_line_plates<'a>(machine: &'a Machine, parts: &'a [Part]) -> Vec<InLine<'a>> {
    // By the plates that share them.
    let mut all: Vec<InLine> = Vec::new();
    for (id, point) in machine.points.iter().enumerate() {
        let own = plates(machine, parts, id);
        let fitted = |(_, plate): &(&Piece, &Plate)| {
            plate.holes.iter().any(|h| {
                h.name == point.name
                    && !matches!(
                        h.fitted,
                        Fitted::Tapped { .. }
                            | Fitted::Plain {
                                cut: machine::fitting::Cut::Drill,
                                ..
                            }
                    )
            })
        };
        let own: Vec<_> = own.into_iter().filter(fitted).collect();
        let many: usize = own.iter().map(|(piece, _)| piece.count).sum();
        if many < 2 {
            continue;
        }
        let names: Vec<&str> = own.iter().map(|(piece, _)| piece.name.as_str()).collect();
        match all.iter_mut().find(|(n, ..)| *n == names) {
            Some((_, _, points)) => points.push(words::spoken(&point.name)),
            None => all.push((names, many, vec![words::spoken(&point.name)])),
        }
    }
    all
}

/// On the sheets of plates that are bored together a step says so, before their holes.
pub(crate) fn bored(machine: &Machine, parts: &[Part], sheets: &mut [crate::ops::Sheet]) {
    for (names, many, points) in in_line_plates(machine, parts) {
        for name in &names {
            let Some(sheet) = sheets.iter_mut().find(|s| s.part == **name) else {
                continue;
            };
            let Some(set_up) = sheet.setups.iter_mut().find(|s| {
                s.title.starts_with("Holes") && !s.title.starts_with("Holes from")
                    || s.title == "Bores"
            }) else {
                continue;
            };
            let others: Vec<String> = names
                .iter()
                .filter(|n| *n != name)
                .map(|n| words::spoken(n))
                .collect();
            let with = if others.is_empty() {
                format!("all {many}")
            } else {
                format!("it and {}, {many} plates,", others.join(" and "))
            };
            let laid = flush(machine, parts, name, &names, &points);
            set_up.steps.insert(
                0,
                crate::ops::Step {
                    text: format!(
                        "Clamp {with} together, {laid}, a close pin through the first hole as soon as it is there: {} bored or reamed through all in one setting; outsides and top marked; then apart: threads, countersinks and what only one of them has are made singly",
                        points.join(", ")
                    ),
                    tool: "clamps, pin".to_owned(),
                    why: "made one by one they stand out of line by what both places stray, more than a fit gives".to_owned(),
                    minutes: 5.0,
                    ..crate::ops::Step::default()
                },
            );
            let all = sheet.setups.iter_mut().flat_map(|s| &mut s.steps);
            for (n, step) in all.enumerate() {
                step.number = n + 1;
            }
        }
    }
}

/// How plates lie on one another so that their common holes do: where their outlines stand otherwise about them, by how much.
fn flush(
    machine: &Machine,
    parts: &[Part],
    own: &str,
    names: &[&str],
    points: &[String],
) -> String {
    let l = |x: f64| words::length(x, crate::dials(machine));
    // The left and lower edge as seen from the first common hole.
    let edges = |name: &str| {
        let part = parts.iter().find(|p| p.name == name)?;
        let Form::Plate(plate) = &part.form else {
            return None;
        };
        let mut holes = plate.holes.iter();
        let hole = holes.find(|h| points.first() == Some(&words::spoken(&h.name)))?;
        let [low, _] = plate.outline.bounds();
        Some([0, 1].map(|i| low[i] - hole.at[i]))
    };
    let Some(here) = edges(own) else {
        return String::from("edges flush");
    };
    let mut told: Vec<String> = Vec::new();
    for other in names.iter().filter(|n| **n != own) {
        let Some(there) = edges(other) else { continue };
        let off = [0, 1].map(|i| there[i] - here[i]);
        let one = |x: f64, [plus, minus]: [&str; 2]| {
            (x.abs() > 1e-6)
                .then(|| format!("{} {}", l(x.abs()), if x > 0.0 { plus } else { minus }))
        };
        let sides = [
            one(off[0], ["right of", "left of"]).map(|s| format!("its left edge {s} this one's")),
            one(off[1], ["above", "below"]).map(|s| format!("its lower edge {s} this one's")),
        ];
        let sides: Vec<String> = sides.into_iter().flatten().collect();
        if !sides.is_empty() {
            told.push(format!(
                "{} laid with {} as they are drawn (finished edges; indicate one of each)",
                words::spoken(other),
                sides.join(" and ")
            ));
        }
    }
    if told.is_empty() {
        String::from("edges flush")
    } else {
        told.join("; ")
    }
}

/// Plates that carry one shaft or pin: their fits are made through both, or they do not line up.
fn in_line(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    for (names, many, points) in in_line_plates(machine, parts) {
        let of: Vec<String> = names.iter().map(|n| words::spoken(n)).collect();
        findings.push(Finding::new(
            Grade::WayRound,
            names.first().copied().unwrap_or_default(),
            format!(
                "{many} plates ({}) carry what goes through {}: made one by one they stand out of line by what both places stray, more than a fit gives",
                of.join(", "),
                points.join(", ")
            ),
            "clamp them together, a close pin through the first hole, and bore or ream each hole through all in one setting; mark outsides and top, and keep them together",
        ));
    }
}

/// A turned part in the plates that carry it: no collar inside a plate, and a way in from one end.
fn through_plates(machine: &Machine, parts: &[Part], id: PartId, findings: &mut Vec<Finding>) {
    let (Some(part), Some(t)) = (machine.parts.get(id), turned(machine, id)) else {
        return;
    };
    let (Some(&centre), Some(starts)) = (part.carries.first(), t.starts) else {
        return;
    };
    let l = |x: f64| words::length(x, machine.unit);
    let own = words::spoken(&part.name);
    let reach = |s: &Step| s.diameter.0 / 2.0 + s.offset.map_or(0.0, |o| o.throw);
    let mut laid = Vec::new();
    let mut at = 0.0;
    for s in &t.steps {
        laid.push((s, [at, at + s.length]));
        at += s.length;
    }
    for (piece, plate) in plates(machine, parts, centre) {
        let named = point_name(machine, centre);
        let Some(hole) = plate.holes.iter().find(|h| h.name == named) else {
            continue;
        };
        let bore = inside(&hole.fitted);
        let host = words::spoken(&piece.name);
        for station in &piece.stations {
            let middle = station - starts;
            let [low, high] = [
                middle - plate.thickness / 2.0,
                middle + plate.thickness / 2.0,
            ];
            let over = |s: &&(&Step, [f64; 2])| 2.0 * reach(s.0) > bore + PASSES;
            let within = |s: &&(&Step, [f64; 2])| s.1[1] > low + 0.05 && s.1[0] < high - 0.05;
            if let Some((s, [from, to])) = laid.iter().filter(over).find(within) {
                findings.push(Finding::new(
                    Grade::Cannot,
                    &part.name,
                    format!(
                        "⌀{} of {own} ({} to {} from its left end) lies inside {host}, which stands at {} to {} there and is open ⌀{}",
                        l(s.diameter.0),
                        l(*from),
                        l(*to),
                        l(low),
                        l(high),
                        l(bore)
                    ),
                    "correct the station of the plate, `starts` or the lengths of the steps".to_owned(),
                ));
                continue;
            }
            let left = laid.iter().filter(over).find(|s| s.1[1] <= low + 0.05);
            let right = laid.iter().filter(over).find(|s| s.1[0] >= high - 0.05);
            if let (Some(left), Some(right)) = (left, right) {
                findings.push(Finding::new(
                    Grade::Cannot,
                    &part.name,
                    format!(
                        "{own} does not go into {host}: ⌀{} stands before its bore of ⌀{} from the left and ⌀{} from the right",
                        l(2.0 * reach(left.0)),
                        l(bore),
                        l(2.0 * reach(right.0))
                    ),
                    "make the seat in the plate larger than one of them, split the bearing, or make the shaft of two".to_owned(),
                ));
            }
        }
    }
}

/// A stud that is screwed into a plate of the frame carries its part where the file has it.
fn studs(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    for pin in pins::all(machine) {
        let Some(By::Loose(n)) = pin.by else { continue };
        let Some(piece) = machine.work.making.pieces.get(n) else {
            continue;
        };
        let Shape::Turned(t) = &piece.shape else {
            continue;
        };
        let carried = (1..machine.parts.len()).find(|&id| {
            machine
                .parts
                .get(id)
                .is_some_and(|p| p.carries.contains(&pin.point))
        });
        let Some((id, station)) =
            carried.and_then(|id| Some((id, station(machine, id, pin.point)?)))
        else {
            continue;
        };
        for (plate, made) in plates(machine, parts, pin.point) {
            let named = point_name(machine, pin.point);
            let tapped = made.holes.iter().find_map(|h| match &h.fitted {
                Fitted::Tapped { thread, .. } if h.name == named => Some(thread),
                _ => None,
            });
            let nearest = plate
                .stations
                .iter()
                .copied()
                .min_by(|a, b| (a - station).abs().total_cmp(&(b - station).abs()));
            let (Some(thread), Some(at)) = (tapped, nearest) else {
                continue;
            };
            let Some([from, to]) = beyond_shoulder(t, &thread.name, pin.diameter) else {
                continue;
            };
            let side = (station - at).signum();
            let face = at + side * made.thickness / 2.0;
            let ends = [face + side * from, face + side * to];
            let [low, high] = [ends[0].min(ends[1]), ends[0].max(ends[1])];
            if station >= low - 0.05 && station <= high + 0.05 {
                continue;
            }
            let l = |x: f64| words::length(x, machine.unit);
            let short = if (station - at).abs() > (high - at).abs().max((low - at).abs()) {
                (station - ends[1]).abs()
            } else {
                -(station - ends[0]).abs()
            };
            let middle = f64::midpoint(from, to);
            let collar = (station - face).abs() - (middle - from);
            findings.push(Finding::new(
                Grade::Cannot,
                &piece.name,
                format!(
                    "screwed home into {} it carries {} at {} to {}, whose station is {}: {} too {}",
                    words::spoken(&plate.name),
                    words::spoken(name(machine, id)),
                    l(low),
                    l(high),
                    l(station),
                    l(short.abs()),
                    if short > 0.0 { "short" } else { "long" }
                ),
                if collar > 0.0 {
                    format!(
                        "{} from the shoulder at the plate to where that seat begins, or correct the stations",
                        l(collar)
                    )
                } else {
                    "correct the stations of the plate and of the part".to_owned()
                },
            ));
        }
    }
}

/// Station of a part at a point: its own, else the point's.
fn station(machine: &Machine, id: PartId, point: PointId) -> Option<f64> {
    let own = machine.work.parts.get(id).and_then(|p| p.station);
    own.or_else(|| machine.points.get(point).map(|p| p.station))
}

/// From the shoulder behind the thread at one end of a stud to where the seat of this diameter begins and ends.
fn beyond_shoulder(t: &Turned, thread: &str, diameter: f64) -> Option<[f64; 2]> {
    let is = |s: &Step| s.thread.as_ref().is_some_and(|x| x.name == thread);
    let along = |steps: &mut dyn Iterator<Item = &Step>| {
        let first = steps.next()?;
        if !is(first) {
            return None;
        }
        let mut at = 0.0;
        for s in steps {
            if s.thread.is_none() && (s.diameter.0 - diameter).abs() < 1e-6 {
                return Some([at, at + s.length]);
            }
            at += s.length;
        }
        None
    };
    along(&mut t.steps.iter()).or_else(|| along(&mut t.steps.iter().rev()))
}

/// A part that sits plain on a pin which turns in rolling bearings: nothing takes its torque, nothing holds it lengthwise.
fn loose_on_shafts(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    let bearings = machine
        .work
        .holes
        .iter()
        .filter(|h| h.part == FRAME && matches!(h.fitted, Fitted::Bearing { .. }));
    for seat in bearings {
        let point = point_name(machine, seat.point);
        for (id, part) in machine.parts.iter().enumerate().skip(1) {
            if part.kind != PartKind::Part
                || part.clamped_to.is_some()
                || !part.carries.contains(&seat.point)
            {
                continue;
            }
            let made = parts.iter().find(|p| p.name == part.name);
            let Some(Form::Plate(plate)) = made.map(|p| &p.form) else {
                continue;
            };
            let plain = plate.holes.iter().find_map(|h| match &h.fitted {
                Fitted::Plain { size, .. } if h.name == point => Some(size),
                _ => None,
            });
            let pin = machine
                .work
                .joints
                .iter()
                .find(|j| j.at == JointAt::Point(seat.point))
                .and_then(|j| j.pin.as_ref());
            let Some(size) = plain else { continue };
            // Pressed on, it turns with its pin.
            let tight = pin.is_some_and(|p| {
                size.nominal + size.limits.upper < p.nominal + p.limits.lower - 1e-9
            });
            if tight {
                continue;
            }
            let l = |x: f64| words::length(x, machine.unit);
            findings.push(Finding::new(
                Grade::WayRound,
                &part.name,
                format!(
                    "nothing holds {} on its shaft: it sits plain on ⌀{} at {}, whose bearings let the shaft turn by itself",
                    words::spoken(name(machine, id)),
                    l(size.nominal),
                    words::spoken(point)
                ),
                "settle it before the bore is cut: retaining compound by its maker's sheet, or a press fit; or write the shaft as [shaft.NAME] with this part `clamped-to` it and `held-by` a key, pin or pinch, and `parts` reckons it"
                    .to_owned(),
            ));
        }
    }
}

/// Pins of one diameter that nothing keeps from walking out: no press, no thread, no ring on one side or on both. Turned pieces with a fit
/// that no hole of the file takes.
fn lengthwise(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    for piece in &machine.work.making.pieces {
        let (Of::Loose, Shape::Turned(t)) = (&piece.of, &piece.shape) else {
            continue;
        };
        let places = pins::places(machine, &piece.name);
        let holes: Vec<&Fitted> = parts
            .iter()
            .filter_map(|p| match &p.form {
                Form::Plate(p) => Some(&p.holes),
                Form::Turned(_) => None,
            })
            .flatten()
            .filter(|h| places.contains(&h.name))
            .map(|h| &h.fitted)
            .collect();
        let own = words::spoken(&piece.name);
        if holes.is_empty() {
            if t.steps.iter().any(|s| s.diameter.1.is_some()) {
                findings.push(Finding::new(
                    Grade::WayRound,
                    &piece.name,
                    format!("no hole of the file takes {own}: nothing carries it"),
                    "write the hole of its name in the part that carries it, or `joint` at the step that goes through one",
                ));
            }
            continue;
        }
        let first = t.steps.first().map_or(0.0, |s| s.diameter.0);
        let plain = t
            .steps
            .iter()
            .all(|s| s.thread.is_none() && (s.diameter.0 - first).abs() < 1e-6);
        let fast = holes.iter().any(|f| match f {
            Fitted::Plain { size, .. } => size.limits.upper <= 0.0,
            Fitted::Bearing { .. } => true,
            _ => false,
        });
        let rings = t.grooves.len();
        if plain && !fast && t.cross.is_empty() && rings < 2 {
            findings.push(Finding::new(
                Grade::WayRound,
                &piece.name,
                if rings == 0 {
                    format!("nothing holds {own} lengthwise: it walks out")
                } else {
                    format!("{own} has a groove at one end only: it walks out at the other")
                },
                "a head, a groove for a retaining ring at either end, or a press fit in one of the parts",
            ));
        }
    }
}

/// Hub rings that cover part of another hole.
fn rings(p: &Plate, part: &str, machine: &Machine, findings: &mut Vec<Finding>) {
    let l = |x: f64| words::length(x, machine.unit);
    for end in p
        .ends
        .iter()
        .filter(|e| e.hub.is_some_and(|h| h > p.thickness + 1e-6))
    {
        for h in &p.holes {
            let far = (h.at[0] - end.at[0]).hypot(h.at[1] - end.at[1]);
            let room = far - h.diameter() / 2.0;
            if far > 1e-6 && end.radius > room + 1e-6 && end.radius < far + h.diameter() / 2.0 {
                findings.push(Finding::new(
                    Grade::WayRound,
                    part,
                    format!(
                        "the hub ⌀{} about {} lies over the edge of hole {}",
                        l(2.0 * end.radius),
                        words::spoken(&end.name),
                        words::spoken(&h.name)
                    ),
                    format!(
                        "`around` of ⌀{} at most, or move the hole",
                        l((2.0 * room).floor())
                    ),
                ));
            }
        }
    }
}
