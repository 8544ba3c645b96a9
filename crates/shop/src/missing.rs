//! What the machine file names and the papers do not hold: whoever has only the packet would come to the bench without it.

use crate::finding::{Finding, Grade};
use crate::part::{Form, Part};
use crate::resolve::detents;
use crate::{buying, words};
use machine::Machine;
use machine::making::{Of, Purchase};
use machine::model::{FRAME, RatioKind};
use machine::work::Detent;

/// Whether something is bought for a thing of this name.
fn bought(purchases: &[Purchase], name: &str) -> bool {
    purchases
        .iter()
        .any(|p| p.name == name || p.name.starts_with(&format!("{name}-")))
}

/// The findings.
pub(crate) fn findings(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    gears(machine, parts, findings);
    bolts(machine, parts, findings);
    let made = |name: &str| parts.iter().any(|p| p.name == name);
    let purchases = &machine.work.making.purchases;
    let has = |name: &str| made(name) || bought(purchases, name);
    let said = |kind: &str, name: &str| words::of_kind(kind, name);
    let mut all: Vec<String> = Vec::new();
    let frame: Vec<String> = uncarried(machine).into_iter().map(words::spoken).collect();
    if !frame.is_empty() {
        all.push(format!(
            "the frame where it carries {} (no piece of it has these points)",
            frame.join(", ")
        ));
    }
    for slide in &machine.slides {
        if !has(&slide.name) && !guided(machine, slide.part, purchases) {
            all.push(said("guide", &slide.name));
        }
    }
    for (id, part) in machine.parts.iter().enumerate().skip(1) {
        let gear = made(&format!("{}-gear", part.name));
        if !has(&part.name) && !gear && !spoken_of(machine, id, purchases) {
            all.push(words::spoken(&part.name));
        }
    }
    for (rod, work) in machine.rods.iter().zip(&machine.work.rods) {
        if work.stock.is_none() && !has(&rod.name) {
            all.push(said("rod", &rod.name));
        }
    }
    for ratio in &machine.ratios {
        let belt = matches!(ratio.kind, RatioKind::Belt | RatioKind::CrossedBelt);
        let any = purchases
            .iter()
            .any(|p| p.name == ratio.name || p.name.contains("belt") || p.name.contains("chain"));
        if belt && !any {
            all.push(format!("{} with its pulleys", said("belt", &ratio.name)));
        }
    }
    for cam in &machine.cams {
        let roller = machine
            .points
            .get(cam.roller)
            .map_or("", |p| p.name.as_str());
        let any = has(roller) || purchases.iter().any(|p| p.name.contains("roller"));
        if !any {
            all.push(format!("the roller of cam {}", words::spoken(&cam.name)));
        }
    }
    for spring in &machine.work.springs {
        if spring.coil.is_none() && !has(&spring.name) {
            all.push(said("spring", &spring.name));
        }
    }
    for detent in &machine.work.detents {
        let lacks = detent_lacks(machine, parts, detent);
        if !has(&detent.name) && !lacks.is_empty() {
            all.push(format!(
                "{} ({})",
                said("detent", &detent.name),
                lacks.join(", ")
            ));
        }
    }
    for clamp in &machine.work.clamps {
        if !has(&clamp.name) {
            all.push(said("clamp", &clamp.name));
        }
    }
    for motor in &machine.work.motors {
        if !has(&motor.name) && !purchases.iter().any(|p| p.name.contains("motor")) {
            all.push(said("motor", &motor.name));
        }
    }
    let plain = screw_holes(parts);
    let screws = purchases.iter().any(|p| p.what.contains("screw"));
    if !plain.is_empty() && !screws {
        all.push(format!("screws through {}", plain.join(", ")));
    }
    if !all.is_empty() {
        findings.push(Finding::new(
            Grade::Assumed,
            "",
            format!(
                "not in these papers, though the file names it: {}",
                all.join("; ")
            ),
            "make or buy it to the file, or write it as [piece.NAME] or [purchase.NAME]",
        ));
    }
}

/// What of a detent no piece has and no finding tells of.
fn detent_lacks(machine: &Machine, parts: &[Part], detent: &Detent) -> Vec<&'static str> {
    let plate = |name: &str| {
        let own = parts.iter().find(|p| p.name == name);
        own.is_some_and(|p| matches!(p.form, Form::Plate(_)))
    };
    let homes = detents::homes(machine, detent);
    let driven = homes.and_then(|h| machine.parts.get(h.driven));
    let seat = homes.and_then(|h| h.seat);
    let mut lacks = Vec::new();
    if detent.plunger.is_none() {
        lacks.push("its plunger");
    }
    if !driven.is_some_and(|p| plate(&p.name)) {
        lacks.push("the bore of its plunger: what is driven is no plate here");
    }
    if !seat.is_some_and(|p| plate(&p.name)) {
        lacks.push("its seat: no plate of the frame carries the pivot");
    }
    lacks
}

/// Points where a part turns in the frame, or that have a hole in it, and that no piece of the frame carries.
fn uncarried(machine: &Machine) -> Vec<&str> {
    let mut all: Vec<&str> = buying::unmade(machine).iter().map(|u| u.0).collect();
    let frame = machine.parts.get(FRAME).map(|f| f.carries.as_slice());
    for &point in frame.unwrap_or_default() {
        let turns = machine
            .parts
            .iter()
            .skip(1)
            .any(|p| p.carries.contains(&point));
        let made = machine.work.making.pieces.iter().any(|p| match &p.of {
            Of::Frame(points) => points.contains(&point),
            _ => false,
        });
        let name = machine.points.get(point).map_or("", |p| p.name.as_str());
        if turns && !made && !all.contains(&name) {
            all.push(name);
        }
    }
    all
}

/// A purchase that is called after what it does to a part: `bow-carriage`.
fn guided(machine: &Machine, part: usize, purchases: &[Purchase]) -> bool {
    let name = machine.parts.get(part).map_or("", |p| p.name.as_str());
    let words = ["guide", "carriage", "rail", "gib", "bearing"];
    purchases
        .iter()
        .any(|p| p.name.starts_with(name) && words.iter().any(|w| p.what.contains(w)))
}

/// What is bought is called after a part that has no stock, or after what it turns.
fn spoken_of(machine: &Machine, id: usize, purchases: &[Purchase]) -> bool {
    let part = machine.parts.get(id).map_or("", |p| p.name.as_str());
    purchases
        .iter()
        .any(|p| p.name.split('-').any(|w| w == part))
}

/// Plates with drilled holes that screws go through.
fn screw_holes(parts: &[Part]) -> Vec<String> {
    let sunk = |p: &&Part| match &p.form {
        Form::Plate(p) => p
            .holes
            .iter()
            .any(|h| h.countersink.is_some() || h.counterbore.is_some()),
        Form::Turned(_) => false,
    };
    let plates = parts.iter().filter(sunk);
    plates.map(|p| words::spoken(&p.name)).collect()
}

/// Gears whose teeth the file does not give, and that are not bought.
fn gears(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    let making = &machine.work.making;
    for ratio in &machine.ratios {
        if ratio.kind != RatioKind::Gear || ratio.teeth.is_some() {
            continue;
        }
        for (id, size) in ratio.joins.into_iter().zip(ratio.sizes) {
            let name = machine.parts.get(id).map_or("", |p| p.name.as_str());
            let elsewhere = making.purchases.iter().any(|p| {
                p.name == ratio.name || p.name == name || p.name == format!("{name}-gear")
            }) || making
                .pieces
                .iter()
                .any(|p| p.of == Of::Loose && p.name == format!("{name}-gear"));
            if elsewhere {
                continue;
            }
            let disc = parts.iter().any(|p| p.name == name);
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!(
                    "it is a gear of {} teeth in [gear.{}], and these papers give it none{}",
                    words::number(size, 3),
                    ratio.name,
                    if disc {
                        ": what is made is the plain body"
                    } else {
                        ""
                    }
                ),
                format!(
                    "write `module` and `face` at [gear.{}], or buy it: [purchase.{name}-gear]",
                    ratio.name
                ),
            ));
        }
    }
}

/// Holes of bolts that no piece has.
fn bolts(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    for b in &machine.work.bolts {
        let centre = machine.points.get(b.centre).map_or("", |p| p.name.as_str());
        let drilled = |part: &&Part| {
            let Form::Plate(p) = &part.form else {
                return false;
            };
            let middle = p
                .holes
                .iter()
                .map(|h| (&h.name, h.at))
                .chain(p.marks.iter().map(|(n, at)| (n, *at)))
                .chain(p.ends.iter().map(|e| (&e.name, e.at)))
                .find(|(n, _)| *n == centre);
            let Some((_, at)) = middle else { return false };
            // The plate may lie turned: the distances from the middle tell.
            b.at.iter().all(|q| {
                p.holes.iter().any(|h| {
                    let far = (h.at[0] - at[0]).hypot(h.at[1] - at[1]);
                    (far - q[0].hypot(q[1])).abs() < 0.05 && far > 1e-6
                })
            })
        };
        // Bolts that lie in the plane go in from an edge.
        if b.along.is_some() || parts.iter().any(|p| drilled(&p)) {
            continue;
        }
        findings.push(Finding::new(
            Grade::Cannot,
            "",
            format!(
                "the {} holes of {} (about {}) are in no piece",
                b.at.len(),
                words::of_kind("bolts", &b.name),
                words::spoken(centre)
            ),
            "write them as holes of the plates that they go through and that they are screwed into",
        ));
    }
}
