//! How parts are made in this shop: features, operations, set-ups, cut list. Knows parts as they are made and what the shop has; never drawing
//! commands, never how the machine moves. Lengths in mm, angles in rad, speeds in rev/min, times in minutes.
//!
//! ```text
//! fn job(&Machine, &[CamShape]) -> Job
//! ```
//!
//! A machine that was read goes in, with the shapes of its cams, which follow from its motion; out come its parts in their own coordinates, a sheet of operations for each, a cut list, what is bought,
//! and what this shop cannot do.

mod arms;
mod bearings;
pub mod cams;
pub mod contour;
pub mod cut;
pub mod finding;
pub mod gears;
pub mod geneva;
pub mod joined;
pub mod letters;
pub mod nest;
pub mod ops;
pub mod order;
pub mod part;
pub mod racks;
pub mod resolve;
pub mod rods;
pub mod seats;
pub mod speeds;
pub mod stock;
pub mod tap_drill;
pub mod turning;
pub mod words;

pub use cams::{CamShape, CamTable};
pub use finding::{Finding, Grade, Told, told};
pub use part::Part;

use machine::Machine;
use machine::fitting::Fitted;
use serde::Serialize;
use std::collections::BTreeMap;

/// Something to buy.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Bought {
    /// What to ask for.
    pub what: String,
    /// How many.
    pub count: usize,
    /// What it is for.
    pub for_what: String,
}

/// All shop work of a machine.
#[derive(Clone, Debug)]
pub struct Job {
    /// Parts, in the order of the file.
    pub parts: Vec<Part>,
    /// Operation sheets, one a part, in the same order.
    pub sheets: Vec<ops::Sheet>,
    /// Cut list.
    pub cut: cut::CutList,
    /// What is bought.
    pub bought: Vec<Bought>,
    /// What this shop cannot do, and what was taken for granted; the gravest first.
    pub findings: Vec<Finding>,
}

/// Works out the shop papers of a machine whose cams have these shapes.
pub fn job(machine: &Machine, cams: &[CamShape]) -> Job {
    // A shop file of vises and presses alone says nothing of how parts are made.
    let written = machine.work.shop.as_ref();
    let shop = written.filter(|s| !bare(s));
    let (parts, mut findings) = resolve::parts(machine, cams);
    let bench = ops::Bench {
        shop,
        unit: machine.unit,
    };
    let mut sheets = Vec::new();
    for part in &parts {
        let (sheet, more) = ops::sheet(part, &bench);
        sheets.push(sheet);
        findings.extend(more);
        let (row, sure) = speeds::row(&part.material);
        if !sure {
            findings.push(Finding::new(
                Grade::Assumed,
                &part.name,
                format!("the table has no speeds for {}", part.material.name),
                format!("those of {} are taken: begin slower and listen", row.name),
            ));
        }
    }
    materials(&parts, &mut findings);
    if written.is_some() && shop.is_none() {
        findings.push(Finding::new(
            Grade::Assumed,
            "",
            "the shop file names no lathe, mill, drill press or tools",
            "every usual one is taken to be there; `bellcrank new --shop` writes a shop file with all of them to cross out",
        ));
    } else if shop.is_none() {
        findings.push(Finding::new(
            Grade::Assumed,
            "",
            "the machine file names no shop",
            "every usual tool is taken to be there; `bellcrank new --shop` writes a shop file",
        ));
    }
    let cut = cut::list(&parts, written, machine.unit);
    findings.extend(stock::findings(&parts, &cut, written, machine.unit));
    findings.sort_by_key(|f| f.grade);
    Job {
        cut,
        bought: bought(machine, &parts),
        parts,
        sheets,
        findings,
    }
}

/// What a material does not let be done to it.
fn materials(parts: &[Part], findings: &mut Vec<Finding>) {
    for part in parts {
        if speeds::hard(&part.material) {
            findings.push(Finding::new(
                Grade::WayRound,
                &part.name,
                format!(
                    "{} is over 40 HRC: high-speed steel does not drill, ream or tap it",
                    part.material.name
                ),
                "carbide throughout, or a softer temper of the same steel; or make it soft and have it hardened",
            ));
        }
        let wood = ["oak", "beech", "ash", "maple", "wood"].iter().any(|w| {
            part.material
                .name
                .to_lowercase()
                .split_whitespace()
                .any(|n| n == *w)
        });
        let fits = match &part.form {
            part::Form::Plate(p) => p
                .holes
                .iter()
                .filter_map(|h| part::cut_size(&h.fitted))
                .any(|s| s.limits.tolerance() < 0.1),
            part::Form::Turned(t) => t.steps.iter().any(|s| s.class.is_some()),
        };
        if wood && fits {
            findings.push(Finding::new(
                Grade::Assumed,
                &part.name,
                format!(
                    "limits of a few hundredths do not stay in {}: it swells and shrinks with the weather",
                    part.material.name
                ),
                "bore the seat of each bushing to fit the bushing in hand, a push fit, and glue it or pin it; ream nothing",
            ));
        }
    }
}

/// Neither machines nor tools stand in it.
fn bare(shop: &machine::equipment::Shop) -> bool {
    shop.lathes.is_empty()
        && shop.mills.is_empty()
        && shop.drill_presses.is_empty()
        && shop.tools.drills.is_empty()
}

/// What stands in the holes and bores of a part, and how much metal each goes through.
fn openings(part: &Part) -> Vec<(&Fitted, f64)> {
    match &part.form {
        part::Form::Plate(p) => p.holes.iter().map(|h| (&h.fitted, h.through)).collect(),
        part::Form::Turned(t) => t
            .bores
            .iter()
            .map(|b| (&b.fitted, b.blind.unwrap_or_else(|| t.length())))
            .collect(),
    }
}

/// Nuts of threads at the ends of a turned part, retaining rings of its grooves, and what to say of each.
fn on_shaft(t: &part::Turned, unit: quantity::Unit) -> Vec<(String, &'static str)> {
    let mut all = Vec::new();
    let last = t.steps.len().saturating_sub(1);
    for (n, s) in t.steps.iter().enumerate() {
        if let Some(thread) = s.thread.as_ref().filter(|_| n == 0 || n == last) {
            let left = if thread.left { ", left-hand" } else { "" };
            all.push((
                format!("hexagon nut {}{left}", thread.name),
                " (where it is not screwed into a part)",
            ));
        }
    }
    for g in &t.grooves {
        let d = t.step_at(g.at).map_or(0.0, |s| s.diameter);
        let deep = (d - g.diameter) / 2.0;
        // As narrow and shallow as grooves of retaining rings are (DIN 471, from memory: 1.1 and 0.4 on ⌀15, 3.15 and 1.75 on ⌀60).
        if g.width < 0.1 * d + 0.6 && deep < 0.04 * d + 0.3 {
            let l = |x: f64| words::length(x, unit);
            all.push((
                format!(
                    "retaining ring for ⌀{}, groove {} wide to ⌀{}",
                    l(d),
                    l(g.width),
                    l(g.diameter)
                ),
                "",
            ));
        }
    }
    all
}

/// Whether a made shaft has a journal of this size for a joint that it carries itself.
fn carried(machine: &Machine, parts: &[Part], point: usize, diameter: f64) -> bool {
    let own = machine.parts.iter().filter(|p| p.carries.contains(&point));
    let mut made = own.filter_map(|p| parts.iter().find(|q| q.name == p.name));
    made.any(|q| match &q.form {
        part::Form::Turned(t) => t
            .steps
            .iter()
            .any(|s| s.throw.is_none() && (s.diameter - diameter).abs() < 1e-6),
        part::Form::Plate(_) => false,
    })
}

/// Bearings and bushings that are not turned here, rod ends, springs, and what the file says is bought.
fn bought(machine: &Machine, parts: &[Part]) -> Vec<Bought> {
    let mut all: BTreeMap<String, (usize, Vec<String>)> = BTreeMap::new();
    let mut add = |what: String, count: usize, for_what: String| {
        let entry = all.entry(what).or_default();
        entry.0 += count;
        if !entry.1.contains(&for_what) {
            entry.1.push(for_what);
        }
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
                } if !parts.iter().any(|q| {
                    q.name.starts_with(&format!(
                        "bushing-{}-{}-",
                        words::number(bore.nominal, 2),
                        words::number(outside.nominal, 2)
                    ))
                }) =>
                {
                    add(
                        format!(
                            "bushing {} {} / {} x {}",
                            material.name,
                            words::number(bore.nominal, 2),
                            words::number(outside.nominal, 2),
                            words::number(through, 2)
                        ),
                        part.count,
                        words::spoken(&part.name),
                    );
                }
                _ => {}
            }
        }
    }
    // The bars of rods have lock nuts of their own.
    for part in parts
        .iter()
        .filter(|p| machine.rods.iter().all(|r| r.name != p.name))
    {
        if let part::Form::Turned(t) = &part.form {
            for (what, more) in on_shaft(t, machine.unit) {
                add(
                    what,
                    part.count,
                    format!("{}{more}", words::spoken(&part.name)),
                );
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
                format!("rod {}", words::spoken(&rod.name)),
            );
            add(
                format!(
                    "lock nut {}{}",
                    end.rod_end.name,
                    if left { " left-hand" } else { "" }
                ),
                1,
                format!("rod {}", words::spoken(&rod.name)),
            );
        }
    }
    let springs = machine.work.springs.iter();
    let springs = springs.filter_map(|s| s.coil.as_ref().map(|c| (c, &s.name)));
    let detents = machine.work.detents.iter().filter_map(|d| {
        let (coil, _) = d.plunger.as_ref()?.coil.as_ref()?;
        Some((coil, &d.name))
    });
    for (coil, name) in springs.chain(detents) {
        add(
            format!(
                "spring, wire {} {}, outside {}, {} coils (or wind it)",
                words::number(coil.wire, 2),
                coil.material.name,
                words::number(coil.outside, 2),
                words::number(coil.coils, 2)
            ),
            1,
            words::spoken(name),
        );
    }
    // A pin that is made several times over goes into other joints of its size.
    let mut spare: Vec<(f64, usize)> = Vec::new();
    for p in &machine.work.making.pieces {
        if let machine::making::Shape::Turned(t) = &p.shape
            && let Some(size) = t
                .steps
                .iter()
                .find_map(|s| resolve::joint_size(machine, s.joint?))
        {
            spare.push((size, p.count.saturating_sub(1)));
        }
    }
    for (point, diameter) in resolve::pins(machine) {
        let made = machine.work.making.pieces.iter().any(|p| {
            matches!(&p.shape, machine::making::Shape::Turned(t) if t.steps.iter().any(|s| s.joint == Some(point)))
        });
        let name = machine.points.get(point).map_or("", |p| p.name.as_str());
        let named = |n: &str| n == name || n == format!("{name}-pin");
        let other = machine.work.making.purchases.iter().any(|p| named(&p.name))
            || machine.work.making.pieces.iter().any(|p| named(&p.name));
        if made || other {
            continue;
        }
        if let Some(of) = spare
            .iter_mut()
            .find(|s| s.1 > 0 && (s.0 - diameter).abs() < 1e-9)
        {
            of.1 -= 1;
            continue;
        }
        if !carried(machine, parts, point, diameter) {
            add(
                format!(
                    "pin {} (no piece of the file makes it)",
                    words::length(diameter, machine.unit)
                ),
                1,
                words::spoken(name),
            );
        }
    }
    joined::bought(parts, machine.unit, &mut |b| {
        add(b.what, b.count, b.for_what);
    });
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
