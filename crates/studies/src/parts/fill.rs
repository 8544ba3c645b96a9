//! What holes, bearings, rod ends and coils say of joints and springs, so that nothing is typed twice: pin diameters for friction,
//! fits for clearance, wire for the rate of a spring. What the file says itself stands.

use super::seats::loose;
use elements::ElementError;
use elements::friction_couples;
use elements::springs::compression::Compression;
use elements::springs::extension::Extension;
use elements::springs::torsion::Torsion;
use machine::Machine;
use machine::fitting::{Coil, Fitted};
use machine::model::PointId;
use machine::work::{Joint, JointAt, LowHigh, SpringKind};

/// The machine with what its elements say of it.
pub(crate) fn fill(machine: &Machine) -> Machine {
    let mut filled = machine.clone();
    diameters(&mut filled);
    clearances(&mut filled);
    springs(&mut filled);
    plungers(&mut filled);
    filled
}

/// The entry of a joint at a point, made when there is none.
fn entry(machine: &mut Machine, point: PointId, place: machine::Place) -> &mut Joint {
    let joints = &mut machine.work.joints;
    let found = joints.iter().position(|j| j.at == JointAt::Point(point));
    let index = found.unwrap_or_else(|| {
        joints.push(Joint {
            at: JointAt::Point(point),
            diameter: None,
            clearance: None,
            friction: None,
            stiffness: None,
            length: None,
            pin: None,
            material: None,
            fork: None,
            stations: Vec::new(),
            place,
        });
        joints.len() - 1
    });
    &mut joints[index]
}

/// A pin is as large as what it goes through: first what runs on it, then what else is known.
fn diameters(machine: &mut Machine) {
    let mut found: Vec<(PointId, f64, machine::Place)> = Vec::new();
    for hole in &machine.work.holes {
        let size = match &hole.fitted {
            Fitted::Plain { size, .. } => size.nominal,
            Fitted::Bearing { bearing, .. } => bearing.bore,
            Fitted::Bushing { bore, .. } => bore.nominal,
            Fitted::Tapped { .. } => continue,
        };
        found.push((hole.point, size, hole.place));
    }
    for (rod, made) in machine.rods.iter().zip(&machine.work.rods) {
        for (point, end) in rod.joins.into_iter().zip(made.ends.into_iter().flatten()) {
            found.push((point, end.rod_end.bore, rod.place));
        }
    }
    for (point, size, place) in found {
        let joint = entry(machine, point, place);
        joint.diameter.get_or_insert(size);
    }
}

fn clearances(machine: &mut Machine) {
    let mut found: Vec<(PointId, LowHigh, bool, machine::Place)> = Vec::new();
    for hole in &machine.work.holes {
        if found.iter().all(|f| f.0 != hole.point)
            && let Some(all) = loose(machine, hole.point)
        {
            found.push((hole.point, all.play, all.rolls, hole.place));
        }
    }
    let rolling =
        friction_couples::find("ball bearing, on the bore radius").map(|couple| LowHigh {
            low: couple.least,
            high: couple.most,
        });
    for (point, play, rolls, place) in found {
        let joint = entry(machine, point, place);
        joint.clearance.get_or_insert(play);
        if let (true, Ok(rolling)) = (rolls, &rolling) {
            joint.friction.get_or_insert(*rolling);
        }
    }
}

fn springs(machine: &mut Machine) {
    for spring in &mut machine.work.springs {
        let Some(coil) = &spring.coil else { continue };
        match &mut spring.kind {
            SpringKind::Between { rate, free, .. } if spring.pulls_only => {
                if let Ok(found) = extension(coil).figures() {
                    *rate = found.rate;
                    // Wound with tension, it pulls as one that is slack so much shorter.
                    *free -= coil.initial / found.rate;
                }
            }
            SpringKind::Between { rate, free, .. } => {
                if let Ok(found) = compression(coil, *free).figures() {
                    *rate = found.rate;
                }
            }
            SpringKind::Torsion { rate, .. } => {
                if let Ok(found) = torsion(coil).figures() {
                    *rate = found.rate;
                }
            }
        }
    }
}

/// The force of a plunger's spring when it is home.
fn plungers(machine: &mut Machine) {
    for detent in &mut machine.work.detents {
        let Some(plunger) = &detent.plunger else {
            continue;
        };
        if let Some((coil, free)) = &plunger.coil
            && let Ok(at) = compression(coil, *free).at(plunger.length, coil.preset)
        {
            detent.spring = at.force;
        }
    }
}

pub(crate) fn compression(coil: &Coil, free: f64) -> Compression {
    Compression {
        wire: coil.wire,
        mean: coil.outside - coil.wire,
        coils: coil.coils,
        free,
        ends: coil.ends,
        material: coil.material,
    }
}

/// Full loops of the body's size (the usual hook); the bend beside it is half as wide.
pub(crate) fn extension(coil: &Coil) -> Extension {
    let mean = coil.outside - coil.wire;
    Extension {
        wire: coil.wire,
        mean,
        body_coils: coil.coils,
        initial: coil.initial,
        hook: mean / 2.0,
        bend: mean / 4.0,
        material: coil.material,
    }
}

pub(crate) fn torsion(coil: &Coil) -> Torsion {
    Torsion {
        wire: coil.wire,
        mean: coil.outside - coil.wire,
        body_coils: coil.coils,
        legs: (coil.legs[0], coil.legs[1]),
        material: coil.material,
    }
}

/// Why a coil cannot be wound, if it cannot.
pub(crate) fn unwound(coil: &Coil, kind: &SpringKind, pulls: bool) -> Option<ElementError> {
    match kind {
        SpringKind::Between { .. } if pulls => extension(coil).figures().err(),
        SpringKind::Between { free, .. } => compression(coil, *free).figures().err(),
        SpringKind::Torsion { .. } => torsion(coil).figures().err(),
    }
}
