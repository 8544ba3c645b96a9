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
mod buying;
pub mod cams;
pub mod contour;
pub mod cut;
pub mod finding;
pub mod gears;
pub mod geneva;
pub mod joined;
pub mod letters;
mod missing;
pub mod nest;
pub mod ops;
pub mod order;
pub mod part;
mod pins;
pub mod racks;
pub mod resolve;
pub mod rods;
pub mod seats;
pub mod speeds;
pub mod stock;
pub mod tap_drill;
mod together;
pub mod turning;
pub mod words;

pub use cams::{CamShape, CamTable};
pub use finding::{Finding, Grade, Told, told};
pub use part::Part;

use machine::Machine;
use serde::Serialize;

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
        vises: written.map_or(&[], |s| &s.squeezers),
        unit: dials(machine),
        drawn: machine.unit,
    };
    let mut sheets = Vec::new();
    for part in &parts {
        let (sheet, more) = ops::sheet(part, &bench);
        sheets.push(sheet);
        // Numbers of the machines' capacities are in the unit of the shop.
        findings.extend(
            more.into_iter()
                .map(|f| f.counted(bench.unit, machine.unit)),
        );
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
    together::bored(machine, &parts, &mut sheets);
    together::findings(machine, &parts, &mut findings);
    bearings::findings(machine, &parts, &mut findings);
    bearings::slack(machine, &parts, &mut findings);
    order::pin_findings(machine, &parts, &mut findings);
    order::frame_findings(machine, &parts, &mut findings);
    order::closed_findings(machine, &parts, &mut findings);
    order::tight_findings(machine, &parts, &mut findings);
    missing::findings(machine, &parts, &mut findings);
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
    let cut = cut::list(&parts, written, bench.units());
    let stock = stock::findings(&parts, &cut, written, bench.unit);
    findings.extend(
        stock
            .into_iter()
            .map(|f| f.counted(bench.unit, machine.unit)),
    );
    findings.sort_by_key(|f| f.grade);
    Job {
        cut,
        bought: buying::list(machine, &parts),
        parts,
        sheets,
        findings,
    }
}

/// The unit in which the shop's dials are divided; without a shop that of the drawings.
pub fn dials(machine: &Machine) -> quantity::Unit {
    let shop = machine.work.shop.as_ref().filter(|s| !bare(s));
    shop.map_or(machine.unit, |s| s.unit)
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
        let wood = words::is_wood(&part.material);
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
