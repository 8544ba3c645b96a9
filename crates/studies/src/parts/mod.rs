//! Which bearing, how tight a bore, which pin, rod, screw and key: every element of the file against the worst that the machine asks
//! of it, what to buy, and what would do.
//!
//! ```text
//! fn parts(&Model) -> Parts
//! ```
//!
//! Loads, speeds, swings and tilts are those of the load study over the whole reach of every drive, under every case; other drives
//! stand as the case has them and at either end of their range. Nothing of it is typed twice: pins, fits and wires feed friction,
//! clearance and rates of the other studies, unless the file gives those itself.

pub mod answers;
mod arms;
mod bearings;
mod bolts;
mod bushings;
pub(crate) mod cams;
mod clamps;
mod fill;
pub(crate) mod gears;
mod holes;
mod layers;
mod levers;
mod pins;
mod plungers;
mod presses;
mod rods;
mod room;
mod say;
pub(crate) mod seats;
mod shafts;
mod springs;
mod study;
mod tires;
mod tools;
mod worked;

use crate::answers::{Finding, Severity};
use crate::assemble::Model;
use crate::load::rig::Rig;
use crate::load::service::{service, working};
use answers::{Kind, Parts};
use machine::Place;
use study::Study;

pub(crate) use fill::fill;

/// Every element of the file, checked.
pub fn parts(model: &Model) -> Parts {
    let machine = model.machine();
    let rig = Rig::new(model);
    let service = service(&rig);
    let working = working(&rig);
    let mut study = Study {
        machine,
        rig: &rig,
        service: &service,
        working: working.as_ref().unwrap_or(&service),
        items: Vec::new(),
        buy: Vec::new(),
        findings: Vec::new(),
        assumed: Vec::new(),
    };
    for hole in &machine.work.holes {
        study.hole(hole);
    }
    for point in study.pins() {
        study.pin(point);
    }
    for rod in 0..machine.rods.len() {
        study.rod(rod);
    }
    for part in 0..machine.parts.len() {
        study.lever(part);
    }
    for part in 0..machine.parts.len() {
        study.shaft(part);
    }
    for part in 0..machine.parts.len() {
        study.arm(part);
    }
    for spring in 0..machine.work.springs.len() {
        study.spring(spring);
    }
    for detent in 0..machine.work.detents.len() {
        study.plunger(detent);
    }
    for bolts in 0..machine.work.bolts.len() {
        study.bolts(bolts);
    }
    for clamp in 0..machine.work.clamps.len() {
        study.clamp(clamp);
    }
    for gear in 0..machine.ratios.len() {
        study.gear(gear);
    }
    for rack in 0..machine.racks.len() {
        study.rack(rack);
    }
    for cam in 0..machine.cams.len() {
        study.cam(cam);
    }
    nothing_turns(&mut study);
    cautions(&mut study);
    assumed(&mut study);
    let Study {
        mut items,
        buy,
        mut findings,
        assumed,
        ..
    } = study;
    findings.sort_by(|a, b| {
        let worse = borne(a).total_cmp(&borne(b));
        a.severity.cmp(&b.severity).then(worse)
    });
    once(&items, &mut findings);
    for index in 0..items.len() {
        let faults = faults(&items, index, &findings);
        items[index].faults = faults;
    }
    Parts {
        machine: machine.name.clone(),
        items,
        buy,
        assumed,
        findings,
    }
}

/// How much of what is wanted is borne; what is no matter of more or less comes first.
fn borne(finding: &Finding) -> f64 {
    match (finding.number, finding.margin) {
        (Some(number), Some(margin)) if number - margin > 0.0 => number / (number - margin),
        _ => 0.0,
    }
}

/// What is said of both ends of a rod in the same words is said once, of both.
fn once(items: &[answers::Item], findings: &mut Vec<Finding>) {
    let ends: Vec<_> = items.iter().filter(|i| i.kind == Kind::RodEnd).collect();
    for pair in ends.windows(2) {
        let [first, second] = pair else { continue };
        if first.about != second.about || first.what != second.what {
            continue;
        }
        let Some((_, other)) = second.at.split_once(" at ") else {
            continue;
        };
        let (here, there) = (first.at.as_str(), second.at.as_str());
        let mut at = 0;
        while at < findings.len() {
            let same = findings[at].sentence.replace(here, there);
            let twin = findings.iter().skip(at + 1).position(|f| {
                f.about == first.about && f.severity == findings[at].severity && f.sentence == same
            });
            if let (true, Some(twin)) = (findings[at].sentence.contains(here), twin) {
                findings.remove(at + 1 + twin);
                let both = format!("{} and {other}", first.at);
                findings[at].sentence = findings[at].sentence.replace(here, &both);
            }
            at += 1;
        }
    }
}

/// What is wrong with an element beside its checks.
fn faults(items: &[answers::Item], index: usize, findings: &[Finding]) -> Vec<String> {
    let Some(item) = items.get(index) else {
        return Vec::new();
    };
    let alone = items.iter().filter(|i| i.about == item.about).count() == 1;
    let wrong = |f: &&Finding| {
        matches!(f.severity, Severity::Fault | Severity::Miss)
            && f.margin.is_none()
            && f.about == item.about
            && (alone || f.sentence.starts_with(&item.what))
    };
    let all = findings.iter().filter(wrong);
    all.map(|f| f.sentence.clone()).collect()
}

/// The file tells of elements: holes, rod ends, what holds arms, coils, the factor wanted, or rods of stock under load.
pub(crate) fn spoken(model: &Model) -> bool {
    let work = &model.machine.work;
    !work.holes.is_empty()
        || !work.bolts.is_empty()
        || work.usual.factor.is_some()
        || work.rods.iter().any(|m| m.ends.is_some())
        || work.parts.iter().any(|m| m.held_by.is_some())
        || work
            .springs
            .iter()
            .any(|s| s.coil.is_some() || s.room.is_some())
        || work.detents.iter().any(|d| d.plunger.is_some())
        || work.clamps.iter().any(|c| c.screw.is_some())
        || model.machine.ratios.iter().any(|r| r.teeth.is_some())
        || model.machine.racks.iter().any(|r| r.teeth.is_some())
        || model.machine.cams.iter().any(|c| c.face.is_some())
        // A rod that is pushed may buckle, a lever bend.
        || (!work.loads.is_empty() && work.rods.iter().chain(&work.parts).any(|m| m.stock.is_some()))
}

/// A joint all of whose holes are tight on their pin cannot turn.
fn nothing_turns(study: &mut Study<'_>) {
    let machine = study.machine;
    for point in 0..machine.points.len() {
        let holes: Vec<_> = machine
            .work
            .holes
            .iter()
            .filter(|h| h.point == point)
            .collect();
        let carriers = machine
            .parts
            .iter()
            .filter(|p| p.carries.contains(&point))
            .count();
        let rods = machine.rods.iter().any(|r| r.joins.contains(&point));
        let turns = study
            .joints_at(point, None)
            .iter()
            .filter_map(|&j| study.service.joints.get(j))
            .any(|s| !s.turned.is_empty());
        if turns && !rods && carriers > 1 && holes.len() == carriers {
            may_be_tight(study, point, &holes);
        }
        let tight = holes
            .iter()
            .all(|h| seats::runs(machine, h) == Some(seats::Runs::Tight));
        if turns && !rods && tight && carriers > 1 && holes.len() == carriers {
            let name = study.point(point);
            study.findings.push(Finding {
                severity: Severity::Fault,
                sentence: format!(
                    "{name}: every hole there is tight on the pin, and the joint has to turn"
                ),
                number: None,
                margin: None,
                inside: None,
                what_to_try: Some(String::from(
                    "let one of the parts run: H7 on a pin h6 or g6",
                )),
                about: format!("joint.{name}"),
                place: holes.first().map_or_else(Place::default, |h| h.place),
            });
        }
    }
}

/// Plain holes of which none is surely free on its pin: on some machines the joint will not turn.
fn may_be_tight(study: &mut Study<'_>, point: usize, holes: &[&machine::fitting::Hole]) {
    let Some(pin) = room::pin(study.machine, point) else {
        return;
    };
    let mut loosest: Option<(f64, f64)> = None;
    for hole in holes {
        let machine::fitting::Fitted::Plain { size, .. } = &hole.fitted else {
            return;
        };
        let play = (
            size.limits.least() - pin.limits.most(),
            size.limits.most() - pin.limits.least(),
        );
        if loosest.is_none_or(|l| play.0 > l.0) {
            loosest = Some(play);
        }
    }
    let Some((least, most)) = loosest.filter(|(least, most)| *least < -1e-9 && *most > 1e-9) else {
        return;
    };
    let name = study.point(point);
    let free = elements::fits_iso::choose(pin.nominal, 0.0, f64::INFINITY)
        .ok()
        .and_then(|all| all.last().map(|(p, _)| p.name))
        .unwrap_or("H7/h6");
    let sentence = format!(
        "{name}: the joint has to turn, and its freest hole comes out between {} tight and {} free on the pin",
        say::close(-least, study.machine),
        say::close(most, study.machine)
    );
    study.findings.push(Finding {
        severity: Severity::Caution,
        sentence,
        number: Some(least),
        margin: None,
        inside: Some(crate::answers::Inside::Millimetre),
        what_to_try: Some(format!(
            "let one of the parts run surely: {free} is the closest fit of the usual ones that does, H7/g6 the next"
        )),
        about: format!("joint.{name}"),
        place: holes.first().map_or_else(Place::default, |h| h.place),
    });
}

/// The usual word on what can hurt, once.
fn cautions(study: &mut Study<'_>) {
    let mut say = |sentence: &str, about: &str| {
        study.findings.push(Finding {
            severity: Severity::Caution,
            sentence: String::from(sentence),
            number: None,
            margin: None,
            inside: None,
            what_to_try: None,
            about: String::from(about),
            place: Place::default(),
        });
    };
    let pressed = |kind: Kind| {
        study
            .items
            .iter()
            .any(|i| i.kind == kind && i.figures.iter().any(|f| f.what == "force to press it in"))
    };
    if pressed(Kind::Bearing) {
        say(
            "bearing rings are hard and can burst under a press: wear eye protection, stand aside, push through a soft sleeve and never strike them",
            "press",
        );
    } else if pressed(Kind::Bushing) || pressed(Kind::Hold) {
        say(
            "what is pressed can jump: wear eye protection, keep hands out and stand aside",
            "press",
        );
    }
    let sprung = study.items.iter().any(|i| i.kind == Kind::Spring);
    if sprung {
        say(
            "springs hold their force when the machine stands: let them down before taking anything apart",
            "spring",
        );
    }
}

fn assumed(study: &mut Study<'_>) {
    let machine = study.machine;
    if !study.service.loaded {
        study.assumed.push(String::from(
            "nothing loads this machine: strength and life are not checked",
        ));
    }
    let belts = machine.ratios.iter().any(|r| {
        matches!(
            r.kind,
            machine::model::RatioKind::Belt | machine::model::RatioKind::CrossedBelt
        )
    });
    if belts {
        study.assumed.push(String::from(
            "how tight belts are is not known: what that adds to their bearings is left out",
        ));
    }
    study.assumed.extend(study.service.sampled.clone());
    for refused in &study.service.refused {
        study.assumed.push(format!("not looked at: {refused}"));
    }
    let factor = study.factor();
    let given = machine.work.usual.factor.is_some();
    study.assumed.push(if given {
        format!("wanted against yield and rupture: {factor} times")
    } else {
        format!("wanted against yield and rupture: {factor} times (common practice; `factor` in [usual] says otherwise)")
    });
    study.assumed.push(String::from(
        "results are estimates; local codes, guarding rules and licensed practice come first",
    ));
}
