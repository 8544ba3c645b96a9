//! What is bought beside bars and plate: bearings, bushings that are not turned here, nuts, rings, rod ends, springs, pins, keys, screws.

use crate::part::{Form, Part, Turned};
use crate::{Bought, joined, pins, resolve, words};
use machine::Machine;
use machine::fitting::{Fitted, Plunger};
use machine::making::Of;
use machine::model::FRAME;
use machine::work::{Detent, Seat};
use quantity::Unit;
use std::collections::BTreeMap;

/// What stands in the holes and bores of a part, and how much metal each goes through.
fn openings(part: &Part) -> Vec<(&Fitted, f64)> {
    match &part.form {
        Form::Plate(p) => p.holes.iter().map(|h| (&h.fitted, h.through)).collect(),
        Form::Turned(t) => t
            .bores
            .iter()
            .map(|b| (&b.fitted, b.blind.unwrap_or_else(|| t.length())))
            .collect(),
    }
}

/// Grooves of external retaining rings: shaft, bottom and width, mm (DIN 471, from memory).
const RINGS: [[f64; 3]; 21] = [
    [8.0, 7.6, 0.9],
    [10.0, 9.6, 1.1],
    [12.0, 11.5, 1.1],
    [14.0, 13.4, 1.1],
    [15.0, 14.3, 1.1],
    [16.0, 15.2, 1.1],
    [17.0, 16.2, 1.1],
    [18.0, 17.0, 1.3],
    [20.0, 19.0, 1.3],
    [22.0, 21.0, 1.3],
    [24.0, 22.9, 1.3],
    [25.0, 23.9, 1.3],
    [26.0, 24.9, 1.3],
    [28.0, 26.6, 1.6],
    [30.0, 28.6, 1.6],
    [32.0, 30.3, 1.6],
    [35.0, 33.0, 1.6],
    [40.0, 37.5, 1.85],
    [45.0, 42.5, 1.85],
    [50.0, 47.0, 2.15],
    [60.0, 57.0, 2.15],
];

/// Whether a groove takes a retaining ring: by the table, and where it has no row, as narrow and shallow as its neighbours.
pub(crate) fn takes_ring(shaft: f64, bottom: f64, width: f64) -> bool {
    match RINGS.iter().find(|r| (r[0] - shaft).abs() < 0.05) {
        Some(r) => (r[1] - bottom).abs() < 0.15 && (r[2] - width).abs() < 0.11,
        None => width < 0.06 * shaft + 0.6 && (shaft - bottom) / 2.0 < 0.03 * shaft + 0.3,
    }
}

/// Nuts of threads at the ends of a turned part with the washers under them, retaining rings of its grooves. `screwed` are threads of parts
/// that it is screwed into: such an end has no nut.
pub(crate) fn on_shaft(t: &Turned, screwed: &[String], unit: Unit) -> Vec<String> {
    let l = |x: f64| words::length(x, unit);
    let mut all = Vec::new();
    let mut screwed = screwed.to_vec();
    let last = t.steps.len().saturating_sub(1);
    for (n, s) in t.steps.iter().enumerate() {
        let Some(thread) = s.thread.as_ref().filter(|_| n == 0 || n == last) else {
            continue;
        };
        if let Some(at) = screwed.iter().position(|name| *name == thread.name) {
            screwed.remove(at);
            continue;
        }
        let left = if thread.left { ", left-hand" } else { "" };
        all.push(format!("hexagon nut {}{left}", thread.name));
        let beside = if n == 0 { 1 } else { n - 1 };
        let under = t.steps.get(beside).filter(|_| beside != n);
        // Across flats a nut is some half more than its thread: over a larger bore it falls in.
        if let Some(under) = under.filter(|u| u.diameter > 1.2 * thread.major) {
            let parts = if unit == Unit::Inch { 16.0 } else { 1.0 };
            let wide =
                unit.to_inside((unit.from_inside(1.6 * under.diameter) * parts).ceil() / parts);
            all.push(format!(
                "washer {}, {} across or more",
                thread.name,
                l(wide)
            ));
        }
    }
    for g in &t.grooves {
        let d = t.step_at(g.at).map_or(0.0, |s| s.diameter);
        if takes_ring(d, g.diameter, g.width) {
            all.push(format!(
                "retaining ring for ⌀{}, groove {} wide to ⌀{}",
                l(d),
                l(g.width),
                l(g.diameter)
            ));
        }
    }
    all
}

/// Threads that parts have where a loose piece is screwed in.
pub(crate) fn taps(machine: &Machine, parts: &[Part], piece: &str) -> Vec<String> {
    let places = pins::places(machine, piece);
    let mut all = Vec::new();
    for part in parts {
        let Form::Plate(p) = &part.form else { continue };
        for hole in p.holes.iter().filter(|h| places.contains(&h.name)) {
            if let Fitted::Tapped { thread, .. } = &hole.fitted
                && !all.contains(&thread.name)
            {
                all.push(thread.name.clone());
            }
        }
    }
    all
}

/// Bearings and bushings that are not turned here, rod ends, springs, and what the file says is bought.
pub(crate) fn list(machine: &Machine, parts: &[Part]) -> Vec<Bought> {
    let mut all: BTreeMap<String, (usize, Vec<String>)> = BTreeMap::new();
    let mut add = |what: String, count: usize, for_what: String| {
        let entry = all.entry(what).or_default();
        entry.0 += count;
        if !entry.1.contains(&for_what) {
            entry.1.push(for_what);
        }
    };
    let l = |x: f64| words::length(x, machine.unit);
    let bushing = |material: &str, bore: f64, outside: f64, long: Option<f64>| {
        let long = long.map_or_else(String::new, |x| format!(" x {}", l(x)));
        format!("bushing {material} {} / {}{long}", l(bore), l(outside))
    };
    for part in parts {
        for (fitted, through) in openings(part) {
            match fitted {
                Fitted::Bearing { name, .. } => add(
                    format!("ball bearing {name}"),
                    part.count,
                    words::spoken(&part.name),
                ),
                Fitted::Bushing {
                    material,
                    bore,
                    outside: Some((outside, _)),
                } if !resolve::turned_here(material.name) => add(
                    bushing(material.name, bore.nominal, outside.nominal, Some(through)),
                    part.count,
                    words::spoken(&part.name),
                ),
                _ => {}
            }
        }
    }
    // What stands in the frame where no piece of the file carries the point.
    for (point, hole) in unmade(machine) {
        let at = format!(
            "frame at {} (no piece of the file carries it)",
            words::spoken(point)
        );
        match &hole.fitted {
            Fitted::Bearing { name, .. } => add(format!("ball bearing {name}"), 1, at),
            Fitted::Bushing {
                material,
                bore,
                outside: Some((outside, _)),
            } => add(
                bushing(material.name, bore.nominal, outside.nominal, hole.length),
                1,
                at,
            ),
            _ => {}
        }
    }
    // The bars of rods have lock nuts of their own.
    for part in parts
        .iter()
        .filter(|p| machine.rods.iter().all(|r| r.name != p.name))
    {
        if let Form::Turned(t) = &part.form {
            for what in on_shaft(t, &taps(machine, parts, &part.name), machine.unit) {
                add(what, part.count, words::spoken(&part.name));
            }
        }
    }
    for (rod, made) in machine.rods.iter().zip(&machine.work.rods) {
        for (n, end) in made.ends.iter().flatten().enumerate() {
            let left = n == 1 && rod.both_ends;
            add(
                format!(
                    "rod end {} {}{}, ISO 12240-4 series K",
                    end.rod_end.name,
                    if end.male { "male" } else { "female" },
                    if left { ", left-hand" } else { "" }
                ),
                1,
                words::of_kind("rod", &rod.name),
            );
            add(
                format!(
                    "lock nut {}{}",
                    end.rod_end.name,
                    if left { " left-hand" } else { "" }
                ),
                1,
                words::of_kind("rod", &rod.name),
            );
        }
    }
    let springs = machine.work.springs.iter();
    let springs = springs.filter_map(|s| s.coil.as_ref().map(|c| (c, &s.name)));
    let detents = machine.work.detents.iter().filter_map(|d| {
        let (coil, _) = d.plunger.as_ref()?.coil.as_ref()?;
        Some((coil, &d.name))
    });
    for d in &machine.work.detents {
        if let Some(p) = &d.plunger {
            add(
                plunger(d, p, machine.unit),
                1,
                words::of_kind("detent", &d.name),
            );
        }
    }
    for (coil, name) in springs.chain(detents) {
        add(
            format!(
                "spring, wire {} {}, outside {}, {} coils (or wind it)",
                l(coil.wire),
                coil.material.name,
                l(coil.outside),
                words::number(coil.coils, 2)
            ),
            1,
            words::spoken(name),
        );
    }
    for pin in pins::all(machine).iter().filter(|p| p.by.is_none()) {
        let name = machine
            .points
            .get(pin.point)
            .map_or("", |p| p.name.as_str());
        add(
            format!(
                "pin {} (no piece of the file makes it)",
                words::bought(pin.diameter, machine.unit)
            ),
            1,
            words::spoken(name),
        );
    }
    let rings: Vec<String> = parts
        .iter()
        .filter(|p| p.is_ring())
        .map(|p| words::spoken(&p.name))
        .collect();
    if !rings.is_empty() {
        add(
            "silver solder in wire of 1.5 mm, free of cadmium, with its flux".to_owned(),
            1,
            rings.join(", "),
        );
    }
    joined::bought(parts, machine.unit, &mut |b| {
        add(b.what, b.count, b.for_what);
    });
    let named = |name: &str| {
        let mut bought = machine.work.making.purchases.iter();
        bought.any(|p| p.name == name)
    };
    for b in machine.work.bolts.iter().filter(|b| !named(&b.name)) {
        let held = words::of_kind("bolts", &b.name);
        add(bolt(b, machine.unit), b.at.len(), held.clone());
        if b.into.is_none() {
            add(format!("hexagon nut {}", b.thread.name), b.at.len(), held);
        }
    }
    for p in &machine.work.making.purchases {
        add(p.what.clone(), p.count, words::spoken(&p.name));
    }
    all.into_iter()
        .map(|(what, (count, for_what))| Bought {
            what,
            count,
            for_what: for_what.join(", "),
        })
        .collect()
}

/// The plunger of a detent, or its ball, as it is asked for: as wide as its bore and as long as that guides it.
fn plunger(d: &Detent, p: &Plunger, unit: Unit) -> String {
    let l = |x: f64| words::length(x, unit);
    if let Seat::Hole { ball, .. } = d.seat
        && ball <= p.bore
    {
        return format!("hard ball ⌀{}, free in its bore of {}", l(ball), l(p.bore));
    }
    let long = resolve::detents::bore_deep(p) - p.length;
    let nose = match (d.seat, p.nose) {
        (Seat::Cone(_), Some(nose)) => format!("with a round nose ⌀{}", l(nose)),
        (Seat::Cone(a), None) => format!("with a point of {}°", words::number(a.to_degrees(), 1)),
        (Seat::Hole { ball, .. }, _) => format!("with a round nose ⌀{}", l(ball)),
        (Seat::Square, _) => "with a flat end".to_owned(),
    };
    format!(
        "plunger ⌀{} f7, {} long in its bore, {nose}, hardened (or turn it of silver steel)",
        l(p.bore),
        l(long)
    )
}

/// A bolt as it is asked for: what it clamps, and beyond it what it is screwed in or its nut (0.8 diameters high, ISO 4032) with two turns.
pub(crate) fn bolt(b: &machine::fitting::Bolts, unit: Unit) -> String {
    let t = &b.thread;
    let beyond = b.into.map_or(0.8 * t.major + 2.0 * t.pitch, |i| i.1);
    // As they are sold: by 5 mm, by 1/8 in.
    let step = if unit == Unit::Inch { 25.4 / 8.0 } else { 5.0 };
    let long = match b.into {
        // Not longer than the hole is deep.
        Some(_) => ((b.grip + beyond) / step + 1e-6).floor() * step,
        None => ((b.grip + beyond) / step - 1e-6).ceil() * step,
    };
    format!(
        "screw {} x {}, {}",
        t.name,
        words::length(long, unit),
        b.class
    )
}

/// Holes of the frame that no piece of it carries, with the names of their points.
pub(crate) fn unmade(machine: &Machine) -> Vec<(&str, &machine::fitting::Hole)> {
    let holes = machine.work.holes.iter().filter(|h| h.part == FRAME);
    holes
        .filter(|h| {
            !machine.work.making.pieces.iter().any(|p| match &p.of {
                Of::Frame(points) => points.contains(&h.point),
                _ => false,
            })
        })
        .filter_map(|h| Some((machine.points.get(h.point)?.name.as_str(), h)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::takes_ring;

    #[test]
    fn rings_stand_in_their_own_grooves_only() {
        // DIN 471: 1.3 wide to 22.9 on 24; a groove of 2 to 22.5 is none.
        assert!(takes_ring(24.0, 22.9, 1.3));
        assert!(!takes_ring(24.0, 22.5, 2.0));
        assert!(takes_ring(12.0, 11.5, 1.1));
        assert!(!takes_ring(40.0, 37.0, 2.0));
    }
}
