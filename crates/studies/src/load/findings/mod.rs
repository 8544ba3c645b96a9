//! What a machinist would say of the loads.

mod cams;
mod carried;
mod hand;
mod remarks;

use super::answers::{CaseLoads, JointKind, LetGo, Loads};
use super::row::Ready;
use super::say;
use crate::answers::{Finding, Inside, Severity};
use crate::say::at;
use machine::Place;
use machine::work::SpringKind;
pub(crate) use remarks::{roomy, wide};

/// Force from which on hands are cautioned, N: what a guard that is driven may press with when nothing sends it back (ISO 14120,
/// from memory).
const HURTS: f64 = 75.0;
/// Stored energy from which a spring is told of, N·mm: half a joule (own choice).
const STORED: f64 = 500.0;

struct Say<'l> {
    loads: &'l Loads,
    findings: Vec<Finding>,
}

impl Say<'_> {
    fn add(
        &mut self,
        severity: Severity,
        sentence: String,
        number: Option<(f64, Inside)>,
        about: String,
        place: Place,
    ) -> &mut Finding {
        self.findings.push(Finding {
            severity,
            sentence,
            number: number.map(|n| n.0),
            margin: None,
            inside: number.map(|n| n.1),
            what_to_try: None,
            about,
            place,
        });
        let last = self.findings.len() - 1;
        &mut self.findings[last]
    }

    /// The greatest force of something that acts, by its name.
    fn acted(&self, name: &str) -> f64 {
        let rows = self.loads.cases.iter().flat_map(|c| &c.rows);
        let acted = rows.flat_map(|r| &r.acted).filter(|a| a.name == name);
        acted.fold(0.0, |most: f64, a| most.max(a.force.abs()))
    }

    /// "at set = 70 deg, under embossing".
    fn place_of(&self, case: &CaseLoads, row: usize) -> String {
        let under = format!("under {}", case.case);
        match (&self.loads.drive, case.rows.get(row).and_then(|r| r.at)) {
            (Some(drive), Some(value)) => format!("at {}, {under}", at(drive, value)),
            _ => under,
        }
    }
}

pub(super) fn findings(ready: &Ready<'_, '_>, loads: &Loads) -> Vec<Finding> {
    let mut say = Say {
        loads,
        findings: Vec::new(),
    };
    for case in &loads.cases {
        unbalanced(ready, &mut say, case);
        hand::tell(ready, &mut say, case);
        carried::clamps(ready, &mut say, case);
        carried::shafts(ready, &mut say, case);
        cams::lifted(ready, &mut say, case);
    }
    carried::joints(ready, &mut say);
    hand::detents(ready, &mut say);
    hand::closing(ready, &mut say);
    remarks::work(ready, &mut say);
    say.findings.extend(remarks::roomy(ready.rig));
    say.findings.extend(remarks::wide(ready.rig));
    springs(ready, &mut say);
    let mut findings = say.findings;
    findings.sort_by_key(|f| f.severity);
    findings
}

/// What would tell how joints share a load.
pub(super) const SHARES: &str =
    "give all rods of them their stock, or leave out the joint that is one too many";

/// "under all: rod a and rod b hold the same: …".
pub(super) fn unshared(joints: &[String], case: &str) -> String {
    format!(
        "under {case}: {} repeat one another, so how they share the force is not determined; totals are right, their own rows are not to be trusted",
        crate::run::list(joints)
    )
}

fn unbalanced(ready: &Ready<'_, '_>, say: &mut Say<'_>, case: &CaseLoads) {
    let machine = &ready.rig.model.machine;
    let joints = ready.rig.joints.iter().enumerate();
    let shared = joints.filter(|(j, _)| {
        let mut forces = case.rows.iter().filter_map(|r| r.joints.get(*j));
        forces.any(|f| f.undetermined)
    });
    let shared: Vec<String> = shared.map(|(_, j)| j.name.clone()).collect();
    if !shared.is_empty() {
        let finding = say.add(
            Severity::Caution,
            unshared(&shared, &case.case),
            None,
            String::from("machine"),
            Place::default(),
        );
        finding.what_to_try = Some(String::from(SHARES));
    }
    for (i, row) in case.rows.iter().enumerate() {
        if row.dead_centre {
            let sentence = format!(
                "forces cannot be told {}: it stands at a dead centre",
                say.place_of(case, i)
            );
            say.add(
                Severity::Caution,
                sentence,
                None,
                String::from("machine"),
                Place::default(),
            );
            break;
        }
    }
    for (j, joint) in ready
        .rig
        .joints
        .iter()
        .enumerate()
        .filter(|(_, j)| j.kind == JointKind::Held)
    {
        let most = case
            .rows
            .iter()
            .filter_map(|r| r.joints.get(j))
            .fold(0.0, |m: f64, f| m.max(f.most));
        if most > 0.0 {
            let held = say::either(most, joint.is_moment, machine);
            let sentence = format!(
                "{}: what stops it must give up to {held} under {}",
                joint.name, case.case
            );
            let inside = Inside::of_load(joint.is_moment);
            say.add(
                Severity::Fault,
                sentence,
                Some((most, inside)),
                format!("part.{}", joint.on),
                Place::default(),
            );
        }
    }
}

fn springs(ready: &Ready<'_, '_>, say: &mut Say<'_>) {
    for spring in &ready.rig.work().springs {
        let name = format!("spring {}", spring.name);
        let rate = match spring.kind {
            SpringKind::Between { rate, .. } | SpringKind::Torsion { rate, .. } => rate,
        };
        let most = say.acted(&name);
        let stored = 0.5 * most * most / rate;
        if stored.is_finite() && stored >= STORED {
            let sentence = format!(
                "{name} stores up to {:.2} J: let it down before taking anything apart",
                stored / 1000.0
            );
            say.add(
                Severity::Caution,
                sentence,
                Some((stored, Inside::NewtonMillimetre)),
                format!("spring.{}", spring.name),
                spring.place,
            );
        }
    }
}
