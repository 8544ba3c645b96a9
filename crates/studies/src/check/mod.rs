//! Does it assemble, can it move, and is every ask kept? Findings, the worst first.

pub(crate) mod asks;
pub(crate) mod borne;
mod cautions;
mod freedom;
mod remedy;
mod travel;
mod work;

pub(crate) use freedom::holds_fast;
pub(crate) use travel::falls_short;

use crate::answers::{Check, DriveReach, Finding, Inside, Judged, Severity};
use crate::assemble::{Gauge, Model};
use crate::load::rig::Rig;
use crate::run::Bench;
use machine::Place;
use machine::work::WorkJudges;

/// Everything there is to say about a machine.
pub fn check(model: &Model) -> Check {
    let mut bench = Bench::new(model);
    let here = bench.drawn();
    let freedom = freedom::freedom(model);
    let mut findings = model.faults.clone();
    findings.extend(freedom.findings);
    findings.extend(travel::passed_as_drawn(model, &here));
    let mut reach = Vec::new();
    for drive in 0..model.machine.drives.len() {
        if freedom.locked.contains(&drive) {
            continue;
        }
        if let Some((track, span)) = bench.span(&here, drive) {
            findings.extend(travel::reach(model, drive, &track, &span));
            findings.extend(cautions::runs_away(&mut bench, drive, &track, &span, &here));
            reach.push(DriveReach {
                drive: model.drive(drive),
                reach: (&span).into(),
            });
        }
    }
    let readings = crate::standing::now(&mut bench, &here);
    let mut asks = Vec::new();
    let rig = Rig::new(model);
    let bearing = borne::Bearing::new(&rig);
    for ask in 0..model.machine.asks.len() {
        let (judged, finding) = asks::judge(&mut bench, &bearing, ask);
        asks.push(judged);
        findings.push(finding);
    }
    for (judged, finding) in work::judge(model, |_| true) {
        asks.push(judged);
        findings.push(finding);
    }
    findings.extend(crate::cams::findings(model));
    findings.extend(cautions::look_away(model));
    findings.extend(crate::load::findings::roomy(&rig));
    findings.extend(crate::load::findings::wide(&rig));
    findings.extend(crate::load::unshared(&rig));
    findings.extend(crate::load::faults(model));
    findings.extend(cautions::pinch(&mut bench, &here));
    // Stable, so findings of one kind and margin keep the order in which they were met.
    if crate::parts::spoken(model) {
        let bad = |f: &Finding| matches!(f.severity, Severity::Fault | Severity::Miss);
        findings.extend(crate::parts::parts(model).findings.into_iter().filter(bad));
    }
    if let Some(given_up) = model.given_up_finding() {
        // What was judged on the way to giving it up is worth nothing.
        findings.clone_from(&model.faults);
        findings.extend(freedom::freedom(model).findings);
        findings.push(given_up);
        asks.clear();
        reach.clear();
    }
    findings.sort_by(|a, b| {
        let margin = |f: &Finding| f.margin.unwrap_or(f64::INFINITY);
        a.severity
            .cmp(&b.severity)
            .then(margin(a).total_cmp(&margin(b)))
    });
    Check {
        machine: model.machine.name.clone(),
        freedoms: freedom.freedoms,
        loose: freedom.loose,
        counted: freedom.counted,
        reach,
        readings,
        asks,
        findings,
    }
}

/// Asks on readings, judged as drawn, under load and over their bands. A share of what [`check`] says.
pub fn asks(model: &Model) -> Vec<Judged> {
    let mut bench = Bench::new(model);
    let rig = Rig::new(model);
    let bearing = borne::Bearing::new(&rig);
    let plain = (0..model.machine.asks.len()).map(|ask| asks::judge(&mut bench, &bearing, ask));
    let loaded = |judges: &WorkJudges| matches!(judges, WorkJudges::Loaded { .. });
    plain
        .chain(work::judge(model, loaded))
        .map(|(judged, _)| judged)
        .collect()
}

/// What is wrong with the machine itself, so that the numbers of any study are not to be trusted. A share of what [`check`] says.
pub fn faults(model: &Model) -> Vec<Finding> {
    let found = model
        .faults
        .iter()
        .cloned()
        .chain(freedom::freedom(model).findings);
    found
        .filter(|finding| finding.severity == Severity::Fault)
        .collect()
}

/// A finding without a number.
fn plain(
    severity: Severity,
    sentence: String,
    what_to_try: Option<String>,
    about: String,
    place: Place,
) -> Finding {
    Finding {
        severity,
        sentence,
        number: None,
        margin: None,
        inside: None,
        what_to_try,
        about,
        place,
    }
}

/// A finding with its number.
fn numbered(
    severity: Severity,
    sentence: String,
    number: f64,
    inside: Inside,
    about: String,
    place: Place,
) -> Finding {
    Finding {
        severity,
        sentence,
        number: Some(number),
        margin: None,
        inside: Some(inside),
        what_to_try: None,
        about,
        place,
    }
}

/// Bodies a reading looks at, directly or through the reading it runs over.
fn looked_at(model: &Model, reading: usize) -> Vec<usize> {
    match &model.gauges[reading] {
        Gauge::Pose(measure) => crate::assemble::measured(&model.mechanism, measure),
        Gauge::Over { reading, .. } => looked_at(model, *reading),
    }
}
