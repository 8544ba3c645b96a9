//! The ways that a machine is looked at: each drive through its whole reach, under every case, with other drives that are felt at both ends.

use super::super::acting::LoadCase;
use super::super::places;
use super::super::poses::{Path, stand};
use super::super::rig::Rig;
use super::super::row::Ready;
use super::follows;
use crate::assemble::{Model, Stand, measured};
use crate::run::{Bench, Here};
use machine::model::Moves;
use std::f64::consts::TAU;

/// Poses over the reach of a drive: 5 degrees of a whole turn. Fewer where many drives ask for many ways, but no fewer than the least.
const POSES: u32 = 72;
const FEWEST: u32 = 12;
/// Ways over the reach of drives, at most; of a machine that asks for more the other drives stand as the case has them.
const WAYS: usize = 2000;
/// Poses in all for a machine of as many unknowns as stand beside it; larger machines get fewer, since each costs more.
const IN_ALL: (f64, f64) = (12_000.0, 60.0);
/// A part that is off by less than this share of a turn stands where it stood.
const NO_TURN: f64 = 1e-4;
/// Turns of a drive that are looked at, and poses in each at least.
const MOST_TURNS: u32 = 60;
const FEW_A_TURN: u32 = 12;

/// One way through the reach of a drive.
pub(super) struct Way<'c> {
    pub(super) number: usize,
    pub(super) case: &'c LoadCase,
    pub(super) drive: Option<usize>,
    pub(super) round: bool,
    /// Turns of a drive that goes round, until all that it turns has gone round too.
    pub(super) turns: f64,
    pub(super) poses: Vec<(Option<f64>, Here)>,
}

pub(super) fn ways<'c>(
    ready: &Ready<'_, '_>,
    bench: &mut Bench<'_>,
    number: usize,
    case: &'c LoadCase,
    effort: &Effort,
    refused: &mut Vec<String>,
) -> Vec<Way<'c>> {
    let model = ready.rig.model;
    let base = stand(model, Some(case), &model.drawn());
    let free = follows(model, number);
    let put = |drive: usize| !free && case.when.iter().any(|w| w.0 == drive);
    let mut ways = Vec::new();
    let mut told = |message: String| {
        if !refused.contains(&message) {
            refused.push(message);
        }
    };
    for (drive, d) in model.machine.drives.iter().enumerate() {
        if put(drive) {
            continue;
        }
        for stand in stands(model, &base, drive, effort, &put) {
            let mut path = match Path::new(bench, &stand, drive) {
                Ok(path) => path,
                Err(refusal) => {
                    told(refusal.message);
                    continue;
                }
            };
            let round = path.span.round;
            let turns = if round {
                till_all_are_round(&mut path)
            } else {
                1
            };
            if turns > 1 {
                let low = path.span.low.at;
                path.go_round(bench, &[low, low + TAU * f64::from(turns)]);
            }
            let (low, high) = (path.span.low.at, path.span.high.at);
            let poses = effort.poses.max(turns * FEW_A_TURN);
            let mut values: Vec<f64> = (0..=poses)
                .map(|i| low + (high - low) * f64::from(i) / f64::from(poses))
                .collect();
            // Where the case puts it, and its notches, are looked at exactly.
            let notches = model.machine.work.detents.iter();
            let notches = notches.filter(|n| n.drive == drive).map(|n| n.at);
            let asked = base.drives.get(drive).copied().unwrap_or(d.drawn);
            for asked in notches.chain([asked]) {
                if asked > low && asked < high {
                    let at = values.partition_point(|v| *v < asked);
                    if values.get(at) != Some(&asked) {
                        values.insert(at, asked);
                    }
                }
            }
            let mut poses: Vec<(f64, Here)> = values
                .into_iter()
                .filter_map(|v| Some((v, path.at(v)?)))
                .collect();
            // Work that breaks off between two places is hardest just before.
            let known = places::known(ready, case, &poses);
            poses.extend(places::corners(ready, case, &mut path, &known));
            poses.sort_by(|a, b| a.0.total_cmp(&b.0));
            let poses = poses.into_iter().map(|(v, here)| (Some(v), here)).collect();
            ways.push(Way {
                number,
                case,
                drive: Some(drive),
                round,
                turns: ((high - low) / TAU).max(1.0),
                poses,
            });
        }
    }
    if ways.is_empty() {
        match bench.bring(&base) {
            Ok(here) => ways.push(Way {
                number,
                case,
                drive: None,
                round: false,
                turns: 1.0,
                poses: vec![(None, here)],
            }),
            Err(refusal) => told(refusal.message),
        }
    }
    ways
}

/// Turns of a drive that goes round until whatever it turns by gears and belts stands where it stood.
fn till_all_are_round(path: &mut Path<'_>) -> u32 {
    let (low, high) = (path.span.low.at, path.span.high.at);
    let (Some(first), Some(last)) = (path.at(low), path.at(high)) else {
        return 1;
    };
    // The path may be one of several turns.
    let gone = (high - low) / TAU;
    let shares: Vec<f64> = first
        .poses
        .iter()
        .zip(&last.poses)
        .map(|(a, b)| (b.angle - a.angle) / (TAU * gone))
        .filter(|share| share.abs() > NO_TURN)
        .collect();
    let whole = |turns: u32| {
        shares.iter().all(|share| {
            let gone = share * f64::from(turns);
            (gone - gone.round()).abs() < NO_TURN && gone.abs() > 0.5
        })
    };
    let turns = (1..=MOST_TURNS).find(|n| whole(*n)).unwrap_or_else(|| {
        // They never stand so together again: until the slowest has gone round.
        let slowest = shares.iter().fold(1.0_f64, |m, s| m.min(s.abs()));
        (1.0 / slowest).ceil().min(f64::from(MOST_TURNS)) as u32
    });
    turns.max(gone.round() as u32)
}

/// Which drives are felt by each other, and how finely their reach is looked at.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Effort {
    /// A label for each drive: those with the same move parts that hang together by joints, springs or work.
    together: Vec<usize>,
    /// Poses over the reach of a drive.
    poses: u32,
    /// Other drives are put to the ends of their ranges too.
    ends: bool,
}

impl Effort {
    pub(super) fn of(rig: &Rig<'_>, cases: &[LoadCase]) -> Self {
        let model = rig.model;
        let drives = &model.machine.drives;
        let mut head: Vec<usize> = (0..model.groups.len()).collect();
        for acting in cases.iter().flat_map(|c| &c.acting) {
            let bodies = measured(&rig.mechanism, &acting.measure(rig, &rig.mechanism.drawn));
            let mut groups = bodies.iter().filter_map(|&b| *model.group_of.get(b)?);
            if let Some(first) = groups.next() {
                for other in groups {
                    let (keep, drop) = (head[first], head[other]);
                    head.iter_mut()
                        .filter(|h| **h == drop)
                        .for_each(|h| *h = keep);
                }
            }
        }
        let body = |moves| match moves {
            Moves::Turns(part) => Some(part),
            Moves::Slides(slide) => model.machine.slides.get(slide).map(|s| s.part),
        };
        let group = |b: usize| *model.group_of.get(b)?;
        let label = |(i, d): (usize, &machine::model::Drive)| {
            let group = body(d.moves).and_then(group).and_then(|g| head.get(g));
            // A drive of which nothing is known stands alone.
            group.map_or(model.groups.len() + i, |g| *g)
        };
        let together: Vec<usize> = drives.iter().enumerate().map(label).collect();
        let others = |d: usize| {
            let same = together
                .iter()
                .enumerate()
                .filter(|(o, l)| *o != d && **l == together[d]);
            same.filter(|(o, _)| drives[*o].range.is_some() && !drives[*o].whole_turn)
                .count()
        };
        let each: usize = (0..drives.len()).map(|d| 1 + 2 * others(d)).sum();
        let all = cases.len().max(1) * each;
        let ends = all <= WAYS;
        let ways = if ends {
            all
        } else {
            cases.len().max(1) * drives.len()
        };
        let unknowns = rig.mechanism.unknowns() as f64;
        let cost = 1.0 + (unknowns / IN_ALL.1).powi(2);
        let share = IN_ALL.0 / cost / ways.max(1) as f64;
        // More poses than fit into the count are not wanted: the cast cannot grow.
        let poses = if share >= f64::from(POSES) {
            POSES
        } else {
            (share as u32).max(FEWEST)
        };
        Self {
            together,
            poses,
            ends,
        }
    }

    /// What is left out, if anything is.
    pub(super) fn words(&self) -> Option<String> {
        let mut text = match (self.poses < POSES, self.ends) {
            (false, true) => return None,
            (true, true) => String::new(),
            (_, false) => String::from(
                "so many drives: each is moved through its reach with the others as the case has them, not at the ends of their ranges",
            ),
        };
        if self.poses < POSES {
            if !text.is_empty() {
                text.push_str("; ");
            }
            text.push_str(&format!(
                "{} places over the reach of each drive are looked at, where a machine of fewer drives gets {POSES}",
                self.poses
            ));
        }
        Some(text)
    }
}

/// The other drives as the case has them, and each that is felt in turn at the ends of its range.
fn stands(
    model: &Model,
    base: &Stand,
    moved: usize,
    effort: &Effort,
    put: &dyn Fn(usize) -> bool,
) -> Vec<Stand> {
    let mut all = vec![base.clone()];
    if !effort.ends {
        return all;
    }
    for (other, d) in model.machine.drives.iter().enumerate() {
        let felt = effort.together.get(other) == effort.together.get(moved);
        let Some(range) = d
            .range
            .filter(|_| felt && other != moved && !put(other) && !d.whole_turn)
        else {
            continue;
        };
        for end in range {
            let mut stand = base.clone();
            if let Some(value) = stand.drives.get_mut(other) {
                *value = end;
            }
            if !all.contains(&stand) {
                all.push(stand);
            }
        }
    }
    all
}
