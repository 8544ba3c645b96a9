//! What a machinist would say of the loads.

use super::answers::{CaseLoads, DriveWorst, JointKind, LetGo, Loads};
use super::row::Ready;
use super::say;
use crate::answers::{Finding, Inside, Severity};
use crate::say::at;
use machine::Place;
use machine::work::SpringKind;

/// Rods and joints that are told of beside the worst.
const TOLD: usize = 3;
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
        for (d, worst) in case.drives.iter().enumerate() {
            jams(ready, &mut say, case, d);
            idle(ready, &mut say, case, d, worst);
            effort(ready, &mut say, case, d, worst);
            let_go(ready, &mut say, case, d, worst);
        }
        clamps(ready, &mut say, case);
        shafts(ready, &mut say, case);
    }
    joints(ready, &mut say);
    detents(ready, &mut say);
    springs(ready, &mut say);
    let mut findings = say.findings;
    findings.sort_by_key(|f| f.severity);
    findings
}

fn unbalanced(ready: &Ready<'_, '_>, say: &mut Say<'_>, case: &CaseLoads) {
    let machine = &ready.rig.model.machine;
    if case.rows.iter().any(|r| r.split_undetermined) {
        let sentence = format!(
            "under {}: some joints repeat what others hold, so how they share the force is not determined; totals are right",
            case.case
        );
        say.add(
            Severity::Caution,
            sentence,
            None,
            String::from("machine"),
            Place::default(),
        );
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
            let inside = if joint.is_moment {
                Inside::NewtonMillimetre
            } else {
                Inside::Newton
            };
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

fn jams(ready: &Ready<'_, '_>, say: &mut Say<'_>, case: &CaseLoads, drive: usize) {
    let d = &ready.rig.model.machine.drives[drive];
    for (way, backwards) in [("on", false), ("back", true)] {
        let jam = case.rows.iter().enumerate().find_map(|(i, r)| {
            let force = r.drives.get(drive)?;
            Some((
                i,
                if backwards {
                    force.jams_back.clone()?
                } else {
                    force.jams_on.clone()?
                },
            ))
        });
        if let Some((row, joint)) = jam {
            let sentence = format!(
                "{} jams when moved {way} {}: {joint} binds by its friction",
                d.name,
                say.place_of(case, row)
            );
            let finding = say.add(
                Severity::Fault,
                sentence,
                None,
                format!("drive.{}", d.name),
                d.place,
            );
            finding.what_to_try = Some(String::from(
                "lengthen the guide, make its pin smaller, grease it, or let the force act nearer to it",
            ));
        }
    }
}

/// The hand cannot move the drive somewhere.
fn idle(
    ready: &Ready<'_, '_>,
    say: &mut Say<'_>,
    case: &CaseLoads,
    drive: usize,
    worst: &DriveWorst,
) {
    let idle = |r: &super::answers::LoadRow| r.drives.get(drive).is_some_and(|f| f.hand_idle);
    let (Some(row), Some(hand)) = (case.rows.iter().position(idle), &worst.hand) else {
        return;
    };
    let d = &ready.rig.model.machine.drives[drive];
    let sentence = format!(
        "{} cannot be moved from {hand} {}: {hand} stands still there, or is pushed straight across its way",
        d.name,
        say.place_of(case, row)
    );
    let finding = say.add(
        Severity::Caution,
        sentence,
        None,
        format!("drive.{}", d.name),
        d.place,
    );
    finding.what_to_try = Some(String::from(
        "something must carry it over, such as a flywheel; or let the hand push another way",
    ));
}

fn effort(
    ready: &Ready<'_, '_>,
    say: &mut Say<'_>,
    case: &CaseLoads,
    drive: usize,
    worst: &DriveWorst,
) {
    let machine = &ready.rig.model.machine;
    let d = &machine.drives[drive];
    let (Some(row), Some(effort)) = (worst.hardest, worst.effort) else {
        return;
    };
    let Some(force) = case.rows.get(row).and_then(|r| r.drives.get(drive)) else {
        return;
    };
    let turns = crate::run::turns(ready.rig.model, drive);
    let (at_hand, is_moment) = match &worst.hand {
        Some(point) => (format!(" at {point}"), false),
        None => (String::new(), turns),
    };
    let way = match (worst.hardest_closes, worst.moving_on) {
        (Some(closes), on) if closes == on => "to close",
        (Some(_), _) => "to open",
        (None, true) => "to move on",
        (None, false) => "to move back",
    };
    let efficiency = if worst.moving_on {
        force.efficiency_on
    } else {
        force.efficiency_back
    };
    let wasted = efficiency
        .map(|e| format!(", {} of it reaches the work", say::percent(e)))
        .unwrap_or_default();
    let sentence = format!(
        "{} needs up to {}{at_hand} {way} {}{wasted}",
        d.name,
        say::either(effort, is_moment, machine),
        say.place_of(case, row)
    );
    let inside = if is_moment {
        Inside::NewtonMillimetre
    } else {
        Inside::Newton
    };
    say.add(
        Severity::Note,
        sentence,
        Some((effort, inside)),
        format!("drive.{}", d.name),
        d.place,
    );
}

fn let_go(
    ready: &Ready<'_, '_>,
    say: &mut Say<'_>,
    case: &CaseLoads,
    drive: usize,
    worst: &DriveWorst,
) {
    let machine = &ready.rig.model.machine;
    let d = &machine.drives[drive];
    let (Some(row), Some(let_go)) = (worst.loosest, &worst.let_go) else {
        return;
    };
    if let_go.pushed == 0.0 {
        return;
    }
    let turns = crate::run::turns(ready.rig.model, drive);
    let place = say.place_of(case, row);
    let mostly = let_go
        .by
        .first()
        .map(|b| format!("{} ({})", b.joint, say::percent(b.share)));
    let about = format!("drive.{}", d.name);
    let inside = if turns {
        Inside::NewtonMillimetre
    } else {
        Inside::Newton
    };
    if let Some(stop) = &let_go.rests_on {
        let pressed = case
            .rows
            .get(row)
            .and_then(|r| r.drives.get(drive))
            .map_or(0.0, |f| f.free.abs());
        let sentence = format!(
            "{} stays when let go {place}: it is pressed against {stop} with {}",
            d.name,
            say::either(pressed, turns, machine)
        );
        say.add(
            Severity::Note,
            sentence,
            Some((pressed, inside)),
            about,
            d.place,
        );
        return;
    }
    if let_go.stays {
        let times = let_go.factor.map_or_else(
            || String::from("by friction alone, whatever the load"),
            |f| format!("{f:.2} times over"),
        );
        let mostly = match mostly {
            Some(joint) if let_go.friction >= let_go.detent => format!(", mostly by {joint}"),
            _ if let_go.detent > 0.0 => String::from(", mostly by its detent"),
            _ => String::new(),
        };
        let sentence = format!("{} stays when let go {place}: held {times}{mostly}", d.name);
        say.add(
            Severity::Note,
            sentence,
            let_go.factor.map(|f| (f, Inside::Count)),
            about,
            d.place,
        );
        return;
    }
    let way = if let_go.pushed > 0.0 { "on" } else { "back" };
    let lacks = |l: &LetGo| (l.to_hold - l.detent).max(0.0);
    let mut most = (row, lacks(let_go));
    for (i, r) in case.rows.iter().enumerate() {
        let lacking = r
            .drives
            .get(drive)
            .and_then(|f| f.let_go.as_ref())
            .map_or(0.0, lacks);
        if lacking > most.1 {
            most = (i, lacking);
        }
    }
    let lacking = most.1;
    let elsewhere = match (&say.loads.drive, case.rows.get(most.0).and_then(|r| r.at)) {
        (Some(moved), Some(value)) if most.0 != row => format!(" at {}", at(moved, value)),
        _ => String::new(),
    };
    let holds = if let_go.detent > 0.0 {
        "friction and detent hold"
    } else {
        "friction holds"
    };
    let sentence = format!(
        "{} runs {way} by itself when let go {place}: {holds} {} of what drives it, and up to {} is lacking{elsewhere}; keep hands and faces out of its way",
        d.name,
        let_go
            .factor
            .map_or_else(|| String::from("none"), say::percent),
        say::either(lacking, turns, machine)
    );
    let finding = say.add(
        Severity::Caution,
        sentence,
        Some((lacking, inside)),
        about,
        d.place,
    );
    finding.what_to_try = Some(String::from(
        "add a detent or a clamp, a larger journal, or a shorter arm between load and lever",
    ));
}

fn clamps(ready: &Ready<'_, '_>, say: &mut Say<'_>, case: &CaseLoads) {
    let machine = &ready.rig.model.machine;
    for clamp in case.clamps.iter().filter(|c| c.moment > 0.0) {
        let own = machine
            .work
            .clamps
            .iter()
            .find(|c| format!("clamp {}", c.name) == clamp.name);
        let (about, place) = own.map_or_else(
            || (clamp.name.clone(), Place::default()),
            |c| (format!("clamp.{}", c.name), c.place),
        );
        let at_radius = match (clamp.radius, clamp.force) {
            (Some(_), Some(force)) => format!(", {} at its radius", say::force(force, machine)),
            _ => String::new(),
        };
        let screw = clamp.screw.map(|s| {
            format!(
                "; its screw must press with {} (one rubbing face)",
                say::force(s, machine)
            )
        });
        let is_moment = clamp.radius.is_some() || own.is_none();
        let leaned = clamp.leaned.map_or_else(String::new, |f| {
            format!(", leaned on with {}", say::force(f, machine))
        });
        let sentence = format!(
            "{} must hold {}{at_radius} {}{leaned}{}",
            clamp.name,
            say::either(clamp.moment, is_moment, machine),
            say.place_of(case, clamp.row),
            screw.unwrap_or_default()
        );
        let inside = if is_moment {
            Inside::NewtonMillimetre
        } else {
            Inside::Newton
        };
        say.add(
            Severity::Note,
            sentence,
            Some((clamp.moment, inside)),
            about,
            place,
        );
    }
}

fn shafts(ready: &Ready<'_, '_>, say: &mut Say<'_>, case: &CaseLoads) {
    let machine = &ready.rig.model.machine;
    let place_of = |name: &str| {
        machine
            .parts
            .iter()
            .find(|p| p.name == name)
            .map_or_else(Place::default, |p| p.place)
    };
    for shaft in case
        .shafts
        .iter()
        .filter(|s| s.most_torsion > 0.0 || s.most_bending.is_some_and(|b| b > 0.0))
    {
        let bending = shaft
            .most_bending
            .map(|b| format!("{} bending and ", say::moment(b, machine)))
            .unwrap_or_default();
        let sentence = format!(
            "{} takes {bending}{} torsion {}",
            shaft.shaft,
            say::moment(shaft.most_torsion, machine),
            say.place_of(case, shaft.row)
        );
        let number = shaft.most_bending.unwrap_or(shaft.most_torsion);
        let about = format!("shaft.{}", shaft.shaft);
        say.add(
            Severity::Note,
            sentence,
            Some((number, Inside::NewtonMillimetre)),
            about,
            place_of(&shaft.shaft),
        );
    }
    for out in case.out_of_plane.iter().filter(|o| o.tilting > 0.0) {
        let sentence = format!(
            "rod {} leaves the plane of {}: it tilts it with {} and pushes it along its axis with {} {}",
            out.rod,
            out.part,
            say::moment(out.tilting, machine),
            say::force(out.thrust.abs(), machine),
            say.place_of(case, out.row)
        );
        let about = format!("part.{}", out.part);
        say.add(
            Severity::Note,
            sentence,
            Some((out.tilting, Inside::NewtonMillimetre)),
            about,
            place_of(&out.part),
        );
    }
}

fn joints(ready: &Ready<'_, '_>, say: &mut Say<'_>) {
    let machine = &ready.rig.model.machine;
    let loads = say.loads;
    let told = loads.worst.iter().filter(|w| {
        !matches!(
            loads.joints[w.joint].kind,
            JointKind::Drive | JointKind::Clamp | JointKind::Held
        )
    });
    for worst in told.take(TOLD) {
        let joint = &loads.joints[worst.joint];
        let most = say::either(worst.most, joint.is_moment, machine);
        let place = say.place_of(&loads.cases[worst.case], worst.row);
        let rod = match worst.pull_and_push {
            Some([pull, push]) if pull > 0.0 && push > 0.0 => ", pulled and pushed by turns",
            Some([pull, _]) if pull > 0.0 => ", always pulled",
            Some(_) => ", always pushed: look to its buckling",
            None => "",
        };
        let sentence = format!("{} carries up to {most} {place}{rod}", joint.name);
        let inside = if joint.is_moment {
            Inside::NewtonMillimetre
        } else {
            Inside::Newton
        };
        say.add(
            Severity::Note,
            sentence,
            Some((worst.most, inside)),
            joint.name.clone(),
            Place::default(),
        );
    }
}

fn detents(ready: &Ready<'_, '_>, say: &mut Say<'_>) {
    let machine = &ready.rig.model.machine;
    let loads = say.loads;
    for (detent, own) in loads.detents.iter().zip(&machine.work.detents) {
        let turns = crate::run::turns(ready.rig.model, own.drive);
        let (sentence, number) = match (detent.holds[0], detent.lifts[1]) {
            (Some(holds), Some(lifts)) => (
                format!(
                    "detent {} holds at least {} and takes up to {} across it to lift",
                    detent.name,
                    say::either(holds, turns, machine),
                    say::force(lifts, machine)
                ),
                Some((
                    holds,
                    if turns {
                        Inside::NewtonMillimetre
                    } else {
                        Inside::Newton
                    },
                )),
            ),
            _ => (
                format!(
                    "detent {} locks: its flank is too steep to be lifted across, friction high; it is drawn with {}, and more when something presses on it",
                    detent.name,
                    say::force(own.spring, machine)
                ),
                Some((own.spring, Inside::Newton)),
            ),
        };
        say.add(
            Severity::Note,
            sentence,
            number,
            format!("detent.{}", own.name),
            own.place,
        );
    }
}

fn springs(ready: &Ready<'_, '_>, say: &mut Say<'_>) {
    let loads = say.loads;
    for spring in &ready.rig.work().springs {
        let name = format!("spring {}", spring.name);
        let rate = match spring.kind {
            SpringKind::Between { rate, .. } | SpringKind::Torsion { rate, .. } => rate,
        };
        let acted = loads
            .cases
            .iter()
            .flat_map(|c| &c.rows)
            .flat_map(|r| &r.acted)
            .filter(|a| a.name == name);
        let most = acted.fold(0.0, |m: f64, a| m.max(a.force.abs()));
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
