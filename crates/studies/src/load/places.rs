//! Places of a drive between the rows that no step may miss: where the work of a table peaks or turns, and the notches of its detents.

use super::acting::{Law, LoadCase};
use super::poses::Path;
use super::rig::Rig;
use super::row::{Ready, Row};
use super::{HALVINGS, SAME};
use crate::run::Here;
use rayon::prelude::*;

/// A corner whose force is above the straight line between its neighbours by less than this share of it is none.
const STRAIGHT: f64 = 1e-9;
/// A value that jumps by more than this share of itself within the last halving snaps.
const JUMPS: f64 = 1e-6;

/// Where a drive stands, and the values on which the loads act there.
pub(super) struct Known {
    pub(super) at: f64,
    pub(super) values: Vec<f64>,
}

impl Known {
    pub(super) fn of(row: &Row) -> Option<Self> {
        let reached = row.row.reached && !row.row.dead_centre;
        let values = row.row.acted.iter().map(|a| a.value).collect();
        let at = row.row.at.filter(|_| reached)?;
        Some(Self { at, values })
    }
}

/// Values of a table at which its force bends downwards: only there and between corners can an effort be greatest.
fn peaks(law: &Law) -> Vec<f64> {
    let Law::Table(pairs) = law else {
        return Vec::new();
    };
    let above = |i: usize| {
        let [v, f] = pairs[i];
        // Beyond its ends a table goes on with its last force.
        let before = i.checked_sub(1).map_or([v - 1.0, f], |b| pairs[b]);
        let after = pairs.get(i + 1).copied().unwrap_or([v + 1.0, f]);
        let share = (v - before[0]) / (after[0] - before[0]);
        let straight = before[1] + share * (after[1] - before[1]);
        f - straight > STRAIGHT * f.abs().max(straight.abs())
    };
    let all = (0..pairs.len()).filter(|&i| above(i));
    all.map(|i| pairs[i][0]).collect()
}

/// What is known at these places, rising or falling; nothing is worked out for a case whose work has no peaks.
pub(super) fn known(ready: &Ready<'_, '_>, case: &LoadCase, poses: &[(f64, Here)]) -> Vec<Known> {
    let peaked = case.acting.iter().any(|a| !peaks(&a.law).is_empty());
    let acted = |here: &Here| peaked.then(|| ready.acted(case, here)).flatten();
    let known = poses.par_iter().map(|(at, here)| Known {
        at: *at,
        values: acted(here)
            .unwrap_or_default()
            .iter()
            .map(|a| a.0)
            .collect(),
    });
    known.collect()
}

/// Where the work of a table comes to one of its peaks between two known places. Where it then snaps on, both sides of that.
pub(super) fn corners(
    ready: &Ready<'_, '_>,
    case: &LoadCase,
    path: &mut Path<'_>,
    known: &[Known],
) -> Vec<(f64, Here)> {
    let mut found: Vec<(f64, Here)> = Vec::new();
    for (i, acting) in case.acting.iter().enumerate() {
        for corner in peaks(&acting.law) {
            for pair in known.windows(2) {
                let [one, other] = [&pair[0], &pair[1]].map(|k| Some((k.at, *k.values.get(i)?)));
                let (Some(mut a), Some(mut b)) = (one, other) else {
                    continue;
                };
                if (a.1 - corner) * (b.1 - corner) >= 0.0 {
                    continue;
                }
                for _ in 0..HALVINGS {
                    let middle = 0.5 * (a.0 + b.0);
                    let here = path.at(middle);
                    let value = here.and_then(|h| Some(ready.acted(case, &h)?.get(i)?.0));
                    let Some(value) = value else { break };
                    if (value - corner) * (a.1 - corner) > 0.0 {
                        a = (middle, value);
                    } else {
                        b = (middle, value);
                    }
                }
                let snaps = (a.1 - b.1).abs() > JUMPS * corner.abs().max(1.0);
                let old = |at: f64| {
                    known.iter().any(|k| (k.at - at).abs() < SAME)
                        || found.iter().any(|f| (f.0 - at).abs() < SAME)
                };
                let sides = if snaps {
                    vec![a.0, b.0]
                } else if old(b.0) {
                    Vec::new()
                } else {
                    vec![b.0]
                };
                let told = sides.into_iter().filter_map(|at| Some((at, path.at(at)?)));
                found.extend(told);
            }
        }
    }
    found
}

/// As near beside a notch as is told apart in a table: a hundredth of a degree or millimetre.
const BESIDE: [f64; 2] = [1e-2, std::f64::consts::PI / 18_000.0];

/// Notches of a drive between the known places, and places just beside each: the plunger that is lifted there adds to the effort at this one
/// place only.
pub(super) fn notches(
    rig: &Rig<'_>,
    path: &mut Path<'_>,
    drive: usize,
    known: &[Known],
) -> Vec<(f64, Here)> {
    let least = known.iter().fold(f64::INFINITY, |m, k| m.min(k.at));
    let most = known.iter().fold(f64::NEG_INFINITY, |m, k| m.max(k.at));
    let mut found: Vec<(f64, Here)> = Vec::new();
    for detent in rig.work().detents.iter().filter(|d| d.drive == drive) {
        let at = detent.at;
        let old = known.iter().any(|k| (k.at - at).abs() < SAME)
            || found.iter().any(|f| (f.0 - at).abs() < SAME);
        if at > least && at < most && !old {
            found.extend(path.at(at).map(|here| (at, here)));
        }
        let beside = BESIDE[usize::from(crate::run::turns(rig.model, drive))];
        for at in [at - beside, at + beside] {
            let near = known.iter().any(|k| (k.at - at).abs() < 0.5 * beside)
                || found.iter().any(|f| (f.0 - at).abs() < 0.5 * beside);
            if at > least && at < most && !near {
                found.extend(path.at(at).map(|here| (at, here)));
            }
        }
    }
    found
}
