//! What clamps, shafts, rods and pins carry.

use super::{CaseLoads, Inside, JointKind, Place, Ready, Say, Severity, say};

/// Rods and joints that are told of beside the worst.
const TOLD: usize = 3;

pub(super) fn clamps(ready: &Ready<'_, '_>, say: &mut Say<'_>, case: &CaseLoads) {
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
                "; its screw must press with {} (one rubbing face){}",
                say::force(s, machine),
                pressing(s, machine)
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
        let inside = Inside::of_load(is_moment);
        say.add(
            Severity::Note,
            sentence,
            Some((clamp.moment, inside)),
            about,
            place,
        );
    }
}

/// The smallest screw that presses so hard at three quarters of its proof load, and the torque that takes (Shigley eqs. 8-31 and 8-27, K 0.2).
fn pressing(force: f64, machine: &machine::Machine) -> String {
    const CLASS: &str = "8.8";
    const SHARE: f64 = 0.75;
    const K: f64 = 0.2;
    // Nobody clamps with less (common practice).
    const LEAST: f64 = 4.0;
    match elements::threads::preload::smallest_coarse(force, CLASS, 1.0 / SHARE) {
        Ok(Some((d, _))) => {
            let d = d.max(LEAST);
            format!(
                ": M{d} of {CLASS} does that, tightened to {}",
                say::moment(K * force * d, machine)
            )
        }
        _ => String::from(": two screws, or a larger clamping radius"),
    }
}

pub(super) fn shafts(ready: &Ready<'_, '_>, say: &mut Say<'_>, case: &CaseLoads) {
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
            "{} takes {bending}{} torsion {}, {}",
            shaft.shaft,
            say::moment(shaft.most_torsion, machine),
            say.place_of(case, shaft.row),
            shaft.when()
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
    for tip in &case.tipping {
        let sentence = format!(
            "{}: what lies on {} there tips {}, its end at station {} lifts with {}",
            tip.joint,
            tip.shaft,
            say.place_of(case, tip.row),
            say::station(tip.station, machine),
            say::force(tip.force, machine)
        );
        let finding = say.add(
            Severity::Caution,
            sentence,
            Some((tip.force, Inside::Newton)),
            format!("shaft.{}", tip.shaft),
            place_of(&tip.shaft),
        );
        finding.what_to_try = Some(String::from(
            "let the load stand between the stations, set them farther apart, or close the bearing on its other side",
        ));
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

pub(super) fn joints(ready: &Ready<'_, '_>, say: &mut Say<'_>) {
    let machine = &ready.rig.model.machine;
    let loads = say.loads;
    let told = loads.worst.iter().filter(|w| {
        !matches!(
            loads.joints[w.joint].kind,
            JointKind::Drive | JointKind::Clamp | JointKind::Held
        ) && !w.undetermined
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
        let inside = Inside::of_load(joint.is_moment);
        say.add(
            Severity::Note,
            sentence,
            Some((worst.most, inside)),
            joint.name.clone(),
            Place::default(),
        );
    }
}
