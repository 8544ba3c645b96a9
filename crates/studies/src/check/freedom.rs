//! Freedoms in the builder's words: what is loose, what is locked, what repeats what.

use super::{looked_at, plain};
use crate::answers::{Finding, Severity};
use crate::assemble::{Joint, Loose, Model};
use crate::run::list;
use machine::Place;
use machine::model::{FRAME, PartId};
use mechanics::mobility;
use mechanics::model::{Constraint, Mechanism};

pub(super) struct Freedom {
    /// With all drives taken off.
    pub(super) freedoms: usize,
    /// With all drives held.
    pub(super) loose: usize,
    pub(super) counted: i64,
    /// Drives that cannot move.
    pub(super) locked: Vec<usize>,
    pub(super) findings: Vec<Finding>,
}

pub(super) fn freedom(model: &Model) -> Freedom {
    let mut all = Freedom {
        freedoms: 0,
        loose: 0,
        counted: 0,
        locked: Vec::new(),
        findings: Vec::new(),
    };
    let mut free_drives = 0;
    for group in &model.groups {
        // What was held for convenience is let go here, to see the machine as it is.
        let kept: Vec<usize> = (0..group.constraints.len())
            .filter(|&i| !matches!(model.joints[group.constraints[i]], Joint::Held(_)))
            .collect();
        let own = Mechanism {
            constraints: kept
                .iter()
                .map(|&i| group.mechanism.constraints[i])
                .collect(),
            ..group.mechanism.clone()
        };
        let found = mobility(&own, &own.params, &own.drawn);
        let global = |i: usize| group.constraints[kept[i]];
        let drives: Vec<usize> = (0..kept.len())
            .filter(|&i| matches!(model.joints[global(i)], Joint::Drive(_)))
            .collect();
        let repeats = |i: usize| found.repeated.iter().any(|r| r.constraint == i);
        free_drives += drives.iter().filter(|&&i| !repeats(i)).count();
        all.loose += found.freedoms;
        all.counted += (found.count + drives.len().cast_signed()) as i64;
        for r in &found.repeated {
            let by: Vec<usize> = r.by.iter().map(|&i| global(i)).collect();
            let constraint = global(r.constraint);
            if let Joint::Drive(drive) = model.joints[constraint] {
                all.locked.push(drive);
            }
            all.findings
                .push(repeated(model, constraint, &by, &own, r.constraint));
        }
    }
    all.freedoms = all.loose + free_drives;
    for loose in &model.loose {
        let finding = free(model, loose);
        // A part with two freedoms is named once.
        let told = |f: &Finding| f.sentence == finding.sentence && f.place == finding.place;
        if !all.findings.iter().any(told) {
            all.findings.push(finding);
        }
    }
    if model.machine.drives.is_empty() {
        all.findings.push(no_drive(model, all.freedoms));
    }
    all
}

fn no_drive(model: &Model, freedoms: usize) -> Finding {
    let sentence = match freedoms {
        0 => String::from("the machine is rigid: nothing can move, and no drive is given"),
        1 => String::from("the machine has 1 freedom and no drive to move it"),
        n => format!("the machine has {n} freedoms and no drive to move it"),
    };
    let try_this = (freedoms > 0).then(|| {
        String::from("name what is moved: [drive.NAME] with turns = \"PART\" or slides = \"PART\"")
    });
    let place = model
        .machine
        .parts
        .first()
        .map_or_else(Place::default, |p| p.place);
    plain(
        Severity::Caution,
        sentence,
        try_this,
        String::from("drive"),
        place,
    )
}

/// A constraint that adds nothing: a locked drive, two drives on one freedom, or a part that fits only because it is exact.
fn repeated(
    model: &Model,
    constraint: usize,
    by: &[usize],
    own: &Mechanism,
    local: usize,
) -> Finding {
    let (about, place) = heading(model, constraint);
    if let Joint::Drive(drive) = model.joints[constraint] {
        let name = &model.machine.drives[drive].name;
        let others = other_drives(model, by);
        if !others.is_empty() {
            let sentence = format!("drive {name} repeats what {} already moves", list(&others));
            let try_this = Some(format!(
                "take drive {name} out, or let it move another part"
            ));
            return plain(Severity::Fault, sentence, try_this, about, place);
        }
        let sentence = format!("drive {name} cannot move: {}", held_by(model, drive, by));
        let try_this = Some(String::from("take out one of them, or give it a slot"));
        return plain(Severity::Fault, sentence, try_this, about, place);
    }
    let what = model.joint_name(constraint);
    let fixes = names(model, by, None);
    let both = matches!(own.constraints.get(local), Some(Constraint::Pin { .. }));
    let sentence = if fixes.is_empty() {
        format!("{what} fixes nothing that is not fixed already")
    } else {
        format!(
            "{what} repeats what {} already {}",
            list(&fixes),
            if fixes.len() == 1 { "fixes" } else { "fix" }
        )
    };
    let try_this = Some(format!(
        "it goes together only as exactly as the parts are made: leave {} out, or give {} clearance",
        if both { "one part" } else { "it" },
        if both { "its hole" } else { "it" }
    ));
    plain(Severity::Caution, sentence, try_this, about, place)
}

fn other_drives(model: &Model, by: &[usize]) -> Vec<String> {
    let other = |&c: &usize| match model.joints[c] {
        Joint::Drive(other) => Some(format!("drive {}", model.machine.drives[other].name)),
        _ => None,
    };
    by.iter().filter_map(other).collect()
}

/// "rod brace holds lever fast".
fn held_by(model: &Model, drive: usize, by: &[usize]) -> String {
    let part = match model.machine.drives[drive].moves {
        machine::model::Moves::Turns(part) => part,
        machine::model::Moves::Slides(slide) => model.machine.slides[slide].part,
    };
    let held = model.body_name(part);
    let mut holds = other_drives(model, by);
    if holds.is_empty() {
        holds = names(model, by, Some(part));
    }
    match holds.as_slice() {
        [] => format!("{held} stands fast"),
        [one] => format!("{one} holds {held} fast"),
        _ => format!("{} hold {held} fast", list(&holds)),
    }
}

/// What holds a drive that cannot move, as a sentence: "drive two holds lever fast". None when nothing does.
pub(crate) fn holds_fast(model: &Model, drive: usize) -> Option<String> {
    let is_this = |c: &usize| model.joints[*c] == Joint::Drive(drive);
    let group = model
        .groups
        .iter()
        .find(|g| g.constraints.iter().any(is_this))?;
    // This drive last, so that it is the one that repeats what the others fix.
    let mut order: Vec<usize> = (0..group.constraints.len()).collect();
    order.sort_by_key(|&i| is_this(&group.constraints[i]));
    let own = Mechanism {
        constraints: order
            .iter()
            .map(|&i| group.mechanism.constraints[i])
            .collect(),
        ..group.mechanism.clone()
    };
    let found = mobility(&own, &own.params, &own.drawn);
    let this = order.len().checked_sub(1)?;
    let repeated = found.repeated.iter().find(|r| r.constraint == this)?;
    let by: Vec<usize> = repeated
        .by
        .iter()
        .map(|&i| group.constraints[order[i]])
        .filter(|&c| !matches!(model.joints[c], Joint::Held(_)))
        .collect();
    Some(held_by(model, drive, &by))
}

/// What constraints are made of, each once: rods, guides and gears by name, pins by the parts they join.
fn names(model: &Model, constraints: &[usize], but: Option<PartId>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    let mut add = |name: String| {
        if !names.contains(&name) {
            names.push(name);
        }
    };
    let (pins, others): (Vec<usize>, Vec<usize>) = constraints
        .iter()
        .partition(|&&c| matches!(model.joints[c], Joint::Pin { .. } | Joint::Clamp(_)));
    for &c in others
        .iter()
        .filter(|&&c| !matches!(model.joints[c], Joint::FreePin(_) | Joint::Held(_)))
    {
        add(model.joint_name(c));
    }
    let mut parts: Vec<PartId> = Vec::new();
    for &c in &pins {
        match model.joints[c] {
            Joint::Pin { parts: [a, b], .. } => parts.extend([a, b]),
            Joint::Clamp(part) => parts.push(part),
            _ => {}
        }
    }
    parts.sort_unstable();
    parts.dedup();
    for part in parts.into_iter().filter(|&p| p != FRAME && Some(p) != but) {
        add(model.body_name(part));
    }
    if names.len() > 4 {
        let rest = names.len() - 3;
        names.truncate(3);
        names.push(format!("{rest} more"));
    }
    names
}

/// The heading in the machine file that a constraint belongs to, and its place.
fn heading(model: &Model, constraint: usize) -> (String, Place) {
    let m = &model.machine;
    match model.joints[constraint] {
        Joint::Pin { point, .. } | Joint::FreePin(point) => (
            format!("point.{}", m.points[point].name),
            m.points[point].place,
        ),
        Joint::Rod(i) => (format!("rod.{}", m.rods[i].name), m.rods[i].place),
        Joint::SlideTurn(i) | Joint::SlideLine(i) => {
            (format!("slide.{}", m.slides[i].name), m.slides[i].place)
        }
        Joint::Slot(i) => (format!("slot.{}", m.slots[i].name), m.slots[i].place),
        Joint::Ratio(i) => {
            let belt = matches!(
                m.ratios[i].kind,
                machine::model::RatioKind::Belt | machine::model::RatioKind::CrossedBelt
            );
            (
                format!(
                    "{}.{}",
                    if belt { "belt" } else { "gear" },
                    m.ratios[i].name
                ),
                m.ratios[i].place,
            )
        }
        Joint::Rack(i) => (format!("rack.{}", m.racks[i].name), m.racks[i].place),
        Joint::Geneva(i) => (format!("geneva.{}", m.genevas[i].name), m.genevas[i].place),
        Joint::Cam(i) => (format!("cam.{}", m.cams[i].name), m.cams[i].place),
        Joint::Clamp(part) => (format!("part.{}", m.parts[part].name), m.parts[part].place),
        Joint::Drive(i) => (format!("drive.{}", m.drives[i].name), m.drives[i].place),
        Joint::Held(_) => (String::new(), Place::default()),
    }
}

/// What a freedom that no drive holds lets move.
fn free(model: &Model, loose: &Loose) -> Finding {
    let m = &model.machine;
    let names: Vec<String> = loose
        .moves
        .iter()
        .map(|&(b, _)| model.body_name(b))
        .collect();
    let first = loose.moves.first().map_or(0, |l| l.0);
    let (about, place) = match m.parts.get(first) {
        Some(part) => {
            let kind = if part.kind == machine::model::PartKind::Shaft {
                "shaft"
            } else {
                "part"
            };
            (format!("{kind}.{}", part.name), part.place)
        }
        None => match model.free_pins.get(first.wrapping_sub(m.parts.len())) {
            Some(&p) => (format!("point.{}", m.points[p].name), m.points[p].place),
            None => (String::new(), Place::default()),
        },
    };
    // A part that hangs loose and that nothing is measured on is untidy; one that a reading looks at spoils the reading.
    let read = (0..m.readings.len()).any(|r| {
        looked_at(model, r)
            .iter()
            .any(|b| loose.moves.iter().any(|l| l.0 == *b))
    });
    let severity = if read {
        Severity::Fault
    } else {
        Severity::Caution
    };
    let (sentence, try_this) = match loose.moves.as_slice() {
        [(body, turns)] => single(model, *body, *turns),
        _ => (
            format!("with every drive held {} can still move", list(&names)),
            String::from(
                "a rod, a slide or a drive is missing that holds them; until then they are taken as held where drawn",
            ),
        ),
    };
    plain(severity, sentence, Some(try_this), about, place)
}

fn single(model: &Model, body: usize, turns: bool) -> (String, String) {
    let m = &model.machine;
    let name = model.body_name(body);
    let group = model.group_of[body].map(|g| &model.groups[g]);
    let touches = |c: usize| {
        crate::assemble::touched(&model.mechanism, &model.mechanism.constraints[c]).contains(&body)
    };
    let joints: Vec<Joint> = group
        .map(|g| {
            g.constraints
                .iter()
                .copied()
                .filter(|&c| touches(c))
                .map(|c| model.joints[c])
                .collect()
        })
        .unwrap_or_default();
    let real: Vec<Joint> = joints
        .into_iter()
        .filter(|j| !matches!(j, Joint::Held(_) | Joint::FreePin(_)))
        .collect();
    match real.as_slice() {
        [] => (
            format!("{name} is held by nothing"),
            String::from("pin it to another part, or let the frame carry it"),
        ),
        [Joint::Pin { point, .. }] => (
            format!(
                "{name} is free to swing: nothing but one pin, {}, holds it",
                m.points[*point].name
            ),
            String::from(
                "a rod, a second pin or a drive is missing; until then it is taken as held where drawn",
            ),
        ),
        [Joint::SlideTurn(slide) | Joint::SlideLine(slide), ..] if !turns => (
            format!(
                "{name} is free to slide on slide {}: no drive and no rod moves it",
                m.slides[*slide].name
            ),
            String::from("a rod or a drive is missing; until then it is taken as held where drawn"),
        ),
        [Joint::Rod(rod)] => (
            format!("{name} hangs on rod {} alone", m.rods[*rod].name),
            String::from("join it to a second rod or carry it on a part"),
        ),
        _ => (
            format!(
                "{name} is free to {}",
                if turns { "swing" } else { "shift" }
            ),
            String::from(
                "a rod, a pin or a drive is missing; until then it is taken as held where drawn",
            ),
        ),
    }
}
