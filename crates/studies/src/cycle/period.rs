//! How often a drive goes round until the machine is back where it was.

use crate::assemble::{Gauge, Model};
use crate::run::Track;
use machine::model::{FRAME, Moves};
use std::f64::consts::TAU;

/// Turns looked at.
const MOST: u32 = 1000;
/// A turn that comes back by this, rad.
const BACK: f64 = 1e-6;

/// Turns of a drive that goes round until all that gears, belts and Geneva wheels turn with it is back; none where none up to a thousand brings
/// it back. One where nothing is geared.
pub(crate) fn period(model: &Model, track: &Track) -> Option<u32> {
    let machine = &model.machine;
    let Some(Moves::Turns(part)) = machine.drives.get(track.drive).map(|d| d.moves) else {
        return Some(1);
    };
    // Parts that turn together with the driven one by fixed ratios and Geneva wheels.
    let mut tied = vec![part];
    let joins = machine
        .ratios
        .iter()
        .map(|r| r.joins)
        .chain(machine.genevas.iter().map(|g| [g.driver, g.wheel]))
        .chain(
            machine
                .parts
                .iter()
                .enumerate()
                .filter_map(|(i, p)| Some([i, p.clamped_to?])),
        );
    let joins: Vec<[usize; 2]> = joins.collect();
    let mut known = 0;
    while known < tied.len() {
        let one = tied[known];
        known += 1;
        for pair in &joins {
            for (a, b) in [(pair[0], pair[1]), (pair[1], pair[0])] {
                if a == one && b != FRAME && !tied.contains(&b) {
                    tied.push(b);
                }
            }
        }
    }
    let (first, last) = (track.samples.first()?, track.samples.last()?);
    let round = (last.at - first.at) / TAU;
    let bodies = &model.groups.get(track.group)?.bodies;
    let turned: Vec<f64> = tied
        .iter()
        .filter(|part| moves_something(model, **part))
        .filter_map(|part| {
            let at = bodies.iter().position(|b| b == part)?;
            Some((last.poses.get(at)?.angle - first.poses.get(at)?.angle) / round)
        })
        .collect();
    (1..=MOST).find(|&n| {
        turned.iter().all(|t| {
            let all = f64::from(n) * t / TAU;
            (all - all.round()).abs() * TAU <= BACK * f64::from(n)
        })
    })
}

/// Something follows from how it is turned, not only from how fast: an arm, a cam, a pinion on a rack. A pulley or a spindle is the same at every
/// angle.
fn moves_something(model: &Model, part: usize) -> bool {
    let machine = &model.machine;
    let pinned = |point: &usize| {
        let others = model.carriers.get(*point).into_iter().flatten();
        let by_part = others.filter(|c| c.0 != part && c.0 != FRAME).count() > 0;
        by_part
            || machine.rods.iter().any(|r| r.joins.contains(point))
            || machine.slots.iter().any(|s| s.pin == *point)
    };
    // An arm, not a pulley: its outline, its mass and what is measured on it stand elsewhere after part of a turn. What has its mass in its
    // shaft and no stock is a wheel, whatever mark it carries.
    let work = machine.work.parts.get(part);
    let centred = |p: &machine::model::Part| {
        let centre = p.carries.first().and_then(|&c| machine.points.get(c));
        let at = work.and_then(|w| w.mass_at);
        let here = |at: [f64; 2]| centre.is_some_and(|c| (c.x - at[0]).hypot(c.y - at[1]) < 1e-9);
        at.is_some_and(here) && work.is_some_and(|w| w.stock.is_none())
    };
    let reaches = |p: &machine::model::Part| p.carries.len() > 1 && !centred(p);
    let measured = model.gauges.iter().enumerate().any(|(i, gauge)| {
        let is_length = model.reading(i).inside == crate::answers::Inside::Millimetre;
        matches!(gauge, Gauge::Pose(measure) if is_length
            && crate::assemble::measured(&model.mechanism, measure).contains(&part))
    });
    machine
        .parts
        .get(part)
        .is_some_and(|p| p.carries.iter().any(pinned) || reaches(p))
        || measured
        || machine.slots.iter().any(|s| s.within == part)
        || machine.cams.iter().any(|c| c.part == part)
        || machine.racks.iter().any(|r| r.gear == part)
        || machine.genevas.iter().any(|g| g.driver == part)
}

/// What is said where a turn of the drive is not the machine's.
pub(crate) fn words(name: &str, period: Option<u32>) -> Option<String> {
    match period {
        Some(1) => None,
        Some(n) => Some(format!(
            "{name} goes round {n} times until the machine is back where it was; one of its turns is told, and no dwell, mean, fly-wheel or run-down: \
             name the slow shaft as the drive"
        )),
        None => Some(format!(
            "no number of turns of {name} up to {MOST} brings the machine back where it was; one of its turns is told, and no dwell, mean, fly-wheel or run-down"
        )),
    }
}
