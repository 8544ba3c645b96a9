//! How often a drive goes round until the machine is back where it was.

use crate::assemble::{Gauge, Model};
use crate::run::Track;
use machine::model::{FRAME, Moves};
use std::f64::consts::TAU;

/// Turns looked at for a period, and turns that a machine is followed through.
const MOST: u32 = 1000;
const FOLLOWED: u32 = 100;
/// A turn that comes back by this, rad.
const BACK: f64 = 1e-6;
/// A part that goes round so many times as fast as the drive is worth a fly-wheel of its own.
const FASTER: f64 = 1.2;
/// Ratios are told from this share of a turn on.
const LEAST: f64 = 1e-3;

/// How often a drive goes round until the machine is back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Period {
    /// Turns of the drive until all is back; none where none up to a thousand brings it back.
    pub(crate) back: Option<u32>,
    /// Turns that are followed: all of them, or so many that the slowest part goes round once, a hundred at most.
    pub(crate) turns: u32,
}

impl Period {
    /// Of a machine that is back after each turn.
    pub(crate) const ONE: Self = Self {
        back: Some(1),
        turns: 1,
    };

    /// What is followed ends where it began.
    pub(crate) fn comes_back(self) -> bool {
        self.back == Some(self.turns)
    }
}

/// Turns of a drive that goes round until all that gears, belts and Geneva wheels turn with it is back, from a path of any length that it was
/// followed on.
pub(crate) fn period(model: &Model, track: &Track) -> Period {
    let shares = shares(model, track).unwrap_or_default();
    let back = (1..=MOST).find(|&n| {
        shares.iter().all(|share| {
            let all = f64::from(n) * share;
            (all - all.round()).abs() * TAU <= BACK * f64::from(n)
        })
    });
    let slowest = shares
        .iter()
        .map(|share| share.abs())
        .filter(|share| *share > BACK)
        .fold(1.0, f64::min);
    let turns = back
        .filter(|n| *n <= FOLLOWED)
        .unwrap_or_else(|| (1.0 / slowest).ceil().clamp(1.0, f64::from(FOLLOWED)) as u32);
    Period { back, turns }
}

/// Turns of the parts that are turned with a drive, for one of its own, where something follows from how they are turned.
fn shares(model: &Model, track: &Track) -> Option<Vec<f64>> {
    let genevas = model.machine.genevas.iter();
    let turned = turned_with(model, track, genevas.map(|g| [g.driver, g.wheel]))?;
    let turned = turned.into_iter();
    let moving = turned.filter(|(part, _)| moves_something(model, *part));
    Some(moving.map(|(_, share)| share).collect())
}

/// The part that goes round fastest in bearings of the frame, by fixed ratios with a drive, and how often for one turn of it; none where that is
/// the driven part itself.
pub(crate) fn fastest(model: &Model, track: &Track) -> Option<(usize, f64)> {
    let parts = &model.machine.parts;
    let on_frame = |part: usize| {
        let frame = parts.get(FRAME).map_or(&[][..], |p| &p.carries);
        let own = parts.get(part).and_then(|p| p.carries.first());
        own.is_some_and(|c| frame.contains(c))
    };
    let turned = turned_with(model, track, std::iter::empty())?.into_iter();
    let whole = turned.filter(|(part, share)| share.abs() > FASTER && on_frame(*part));
    // Of equal ones the first.
    whole.reduce(|a, b| {
        if b.1.abs() > a.1.abs() * (1.0 + BACK) {
            b
        } else {
            a
        }
    })
}

/// Parts that are turned with the driven one by fixed ratios and these pairs besides, and their turns for one of its own.
fn turned_with(
    model: &Model,
    track: &Track,
    besides: impl Iterator<Item = [usize; 2]>,
) -> Option<Vec<(usize, f64)>> {
    let machine = &model.machine;
    let Some(Moves::Turns(part)) = machine.drives.get(track.drive).map(|d| d.moves) else {
        return None;
    };
    if machine.ratios.is_empty() && machine.genevas.is_empty() {
        return None;
    }
    let mut tied = vec![part];
    let joins = machine
        .ratios
        .iter()
        .flat_map(|r| [r.joins, [r.joins[0], r.carrier], [r.joins[1], r.carrier]])
        .chain(besides)
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
        if one == FRAME {
            continue;
        }
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
    if round.abs() < LEAST {
        return None;
    }
    let bodies = &model.groups.get(track.group)?.bodies;
    let turned = tied.iter().filter_map(|part| {
        let at = bodies.iter().position(|b| b == part)?;
        let by = last.poses.get(at)?.angle - first.poses.get(at)?.angle;
        Some((*part, by / (TAU * round)))
    });
    Some(turned.collect())
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

/// What is said where not even the turns that are followed bring the machine back.
pub(crate) fn words(name: &str, period: Period) -> Option<String> {
    if period.comes_back() {
        return None;
    }
    let told = format!(
        "{} told, and no dwell, mean, fly-wheel or run-down: name the slow shaft as the drive",
        if period.turns == 1 {
            String::from("one of its turns is")
        } else {
            format!("{} of its turns are", period.turns)
        }
    );
    Some(match period.back {
        Some(n) => {
            format!("{name} goes round {n} times until the machine is back where it was; {told}")
        }
        None => format!(
            "no number of turns of {name} up to {MOST} brings the machine back where it was; {told}"
        ),
    })
}
