//! Bushings and bearings go in first, and bores that closed as their bushings were pressed in are opened to their size: with what, to what.

use super::{Stage, stage};
use crate::finding::{Finding, Grade};
use crate::part::{Form, Part};
use crate::{resolve, words};
use machine::Machine;
use machine::equipment::Shop;
use machine::fitting::{Fitted, Sized};
use machine::work::JointAt;

/// What opens a bore that closed.
#[derive(Clone, Debug, PartialEq)]
enum By {
    /// Left under size, and bored where it sits.
    Boring,
    /// A reamer that leaves what the file asks.
    Reamer(String),
    /// A reamer of the nominal size is here and leaves something else.
    Other(Sized),
    /// Nothing here does.
    Adjustable,
    /// It must not be cut: its pores or its lining would go.
    Drift,
}

/// Bores alike.
#[derive(Clone, Debug, PartialEq)]
struct Closed {
    size: Sized,
    by: By,
    /// Parts in whose seats they are.
    parts: Vec<String>,
    /// One of these parts is made more than once, so that two bores stand in one line.
    line: bool,
}

/// Bushings that are sized by their maker, and not by cutting (makers' handbooks, from memory).
fn uncut(material: &str) -> bool {
    material.starts_with("porous") || material.contains("fabric")
}

fn by(bore: &Sized, material: &str, shop: Option<&Shop>) -> By {
    if uncut(material) {
        return By::Drift;
    }
    if resolve::turned_here(material) && resolve::in_place(bore.nominal, shop) {
        return By::Boring;
    }
    let own: Vec<&Sized> = shop
        .into_iter()
        .flat_map(|s| &s.tools.reamers)
        .filter(|r| (r.nominal - bore.nominal).abs() < 1e-6)
        .collect();
    let leaves = |r: &&&Sized| {
        r.limits.lower >= bore.limits.lower - 1e-6 && r.limits.upper <= bore.limits.upper + 1e-6
    };
    if let Some(r) = own.iter().find(leaves) {
        return By::Reamer(r.class.clone());
    }
    own.first()
        .map_or(By::Adjustable, |r| By::Other((*r).clone()))
}

fn all(machine: &Machine, parts: &[Part]) -> Vec<Closed> {
    let shop = machine.work.shop.as_ref();
    let mut all: Vec<Closed> = Vec::new();
    for part in parts {
        let Form::Plate(plate) = &part.form else {
            continue;
        };
        // Wood does not squeeze a bushing.
        if words::is_wood(&part.material) {
            continue;
        }
        for hole in &plate.holes {
            let Fitted::Bushing {
                bore,
                outside: Some(_),
                material,
            } = &hole.fitted
            else {
                continue;
            };
            let by = by(bore, material.name, shop);
            let own = part.name.clone();
            let same = |c: &&mut Closed| {
                c.by == by && c.size.nominal == bore.nominal && c.size.class == bore.class
            };
            match all.iter_mut().find(same) {
                Some(found) => {
                    found.line |= part.count > 1;
                    if !found.parts.contains(&own) {
                        found.parts.push(own);
                    }
                }
                None => all.push(Closed {
                    size: bore.clone(),
                    by,
                    parts: vec![own],
                    line: part.count > 1,
                }),
            }
        }
    }
    all
}

/// Whether bushings or bearings sit in a part.
fn takes(part: &Part) -> bool {
    match &part.form {
        Form::Plate(p) => p.holes.iter().any(|h| {
            // A ring that slides in its plate comes with its shaft.
            match &h.fitted {
                Fitted::Bearing { hub, .. } => hub.limits.lower < -1e-9,
                Fitted::Bushing { outside, .. } => outside.is_some(),
                _ => false,
            }
        }),
        Form::Turned(_) => false,
    }
}

/// The first stages: what is pressed in, then what closed is opened.
pub(super) fn stages(machine: &Machine, parts: &[Part]) -> Vec<Stage> {
    let mut told = Vec::new();
    let named = |wood: bool| -> Vec<String> {
        parts
            .iter()
            .filter(|p| takes(p) && words::is_wood(&p.material) == wood)
            .map(|p| words::spoken(&p.name))
            .collect()
    };
    let (pressed, wooden) = (named(false), named(true));
    if !pressed.is_empty() {
        told.push(stage(
            format!(
                "Bushings and bearings into {}: forces and heat below",
                pressed.join(", ")
            ),
            "home and square, nothing spread at the mouth",
        ));
    }
    if !wooden.is_empty() {
        told.push(stage(
            format!(
                "Bushings into {}: in wood they go in by hand, glued or pinned; no press, no reamer, no oil before the glue is dry",
                wooden.join(", ")
            ),
            "square to the face; each pin goes through by hand",
        ));
    }
    told.extend(slid(machine, parts));
    let unit = machine.unit;
    let size = |c: &Closed| {
        format!(
            "⌀{} {} ({})",
            words::length(c.size.nominal, unit),
            c.size.class,
            words::limits(&c.size, unit)
        )
    };
    let closed = all(machine, parts);
    let one = |c: &Closed| {
        let seats: Vec<String> = c.parts.iter().map(|p| words::spoken(p)).collect();
        let own = format!("{} in {}", size(c), seats.join(", "));
        let nominal = words::length(c.size.nominal, unit);
        Some(match &c.by {
            By::Boring => format!(
                "{own}: boring tool, the hole set true by its seat{}",
                if c.line {
                    "; what stands in one line in one setting"
                } else {
                    ""
                }
            ),
            By::Reamer(class) => format!("{own}: reamer {nominal} {class}, by hand"),
            By::Other(r) => format!(
                "{own}: adjustable hand reamer, a little at a time (the reamer {nominal} {} leaves {}){}",
                r.class,
                words::limits(r, unit),
                line(c)
            ),
            By::Adjustable => format!(
                "{own}: adjustable hand reamer or boring tool, a little at a time{}",
                line(c)
            ),
            By::Drift => return None,
        })
    };
    let opened: Vec<String> = closed.iter().filter_map(one).collect();
    let drifted: Vec<String> = closed
        .iter()
        .filter(|c| c.by == By::Drift)
        .map(size)
        .collect();
    if !opened.is_empty() {
        told.push(stage(
            format!(
                "Open the bores that closed as their bushings went in: {}",
                opened.join("; ")
            ),
            "its limits by bore gauge or plug; each pin or shaft goes through by hand",
        ));
    }
    if !drifted.is_empty() {
        told.push(stage(
            format!(
                "Try the pins in bushings that are not cut ({}): where one is tight, a polished drift of the bore's size goes through",
                drifted.join(", ")
            ),
            "each pin goes through by hand",
        ));
    }
    told
}

/// Bearings whose outer rings slide in their plates: their inner rings are pressed on at the bench, for no press reaches a built frame, and the
/// force would go through the balls.
fn slid(machine: &Machine, parts: &[Part]) -> Option<Stage> {
    let mut all: Vec<String> = Vec::new();
    for part in parts {
        let Form::Plate(plate) = &part.form else {
            continue;
        };
        for hole in &plate.holes {
            let Fitted::Bearing { name, hub, .. } = &hole.fitted else {
                continue;
            };
            let point = machine.points.iter().position(|p| p.name == hole.name);
            let joint = machine
                .work
                .joints
                .iter()
                .find(|j| point.is_some_and(|p| j.at == JointAt::Point(p)));
            let Some(pin) = joint.and_then(|j| j.pin.as_ref()) else {
                continue;
            };
            // An inner ring is made to its size or smaller.
            if hub.limits.lower < -1e-9 || pin.limits.upper <= 1e-9 {
                continue;
            }
            let text = format!(
                "{name} for {} (⌀{} {})",
                words::spoken(&hole.name),
                words::length(pin.nominal, machine.unit),
                pin.class
            );
            if !all.contains(&text) {
                all.push(text);
            }
        }
    }
    (!all.is_empty()).then(|| {
        stage(
            format!(
                "Bearings onto their shafts before these go into the frame, pushed by the inner ring, as far apart as their plates stand: {}; their outer rings slide into the plates",
                all.join(", ")
            ),
            "each ring up to its place, and turns without a tight spot",
        )
    })
}

/// Two plates with a bore each in one line.
fn line(c: &Closed) -> &'static str {
    if c.line {
        "; the two of a pair clamped together, both bores in one pass"
    } else {
        ""
    }
}

/// Bores that closed, and that no tool of the shop brings to what the file asks.
pub(crate) fn findings(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    let Some(shop) = machine.work.shop.as_ref() else {
        return;
    };
    // A shop file that names no tools says nothing of what is missing.
    if shop.tools.drills.is_empty() && shop.tools.reamers.is_empty() {
        return;
    }
    for c in all(machine, parts) {
        let is = match &c.by {
            By::Other(r) => format!(
                "the reamer {} {} here leaves {}",
                words::length(r.nominal, machine.unit),
                r.class,
                words::limits(r, machine.unit)
            ),
            By::Adjustable => "no reamer of its size is here".to_owned(),
            _ => continue,
        };
        let size = format!(
            "⌀{} {}",
            words::length(c.size.nominal, machine.unit),
            c.size.class
        );
        for part in &c.parts {
            findings.push(Finding::new(
                Grade::WayRound,
                part,
                format!(
                    "a bushing {size} closes as it is pressed in and has to be opened to {}: {is}",
                    words::limits(&c.size, machine.unit)
                ),
                "an adjustable hand reamer over that size, tried with the pin itself; or bore it in its place",
            ));
        }
    }
}
