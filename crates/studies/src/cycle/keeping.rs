//! Whether rollers stay on their open cams at speed.
//!
//! The force between cam and roller is that of the loads plus that of inertia, and this one goes with the square of the speed: so from one speed
//! comes the greatest at which the roller stays on everywhere. Friction is left out of it.

use super::Spot;
use crate::answers::{Finding, Inside, Severity};
use crate::assemble::Joint;
use crate::load::answers::LoadRow;
use crate::load::rig::{Found, Rig};
use quantity::{Unit, show};
use schemars::JsonSchema;
use serde::Serialize;

/// Force below this share of the greatest is rounding.
const NOTHING: f64 = 1e-9;

/// The roller of an open cam at speed.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CamAtSpeed {
    /// The cam.
    pub cam: String,
    /// Least force between cam and roller at this speed, N; below nothing the roller is off the cam.
    pub least: Spot,
    /// The same slow.
    pub slow: Spot,
    /// Stretches of the drive, from and to, in which it is off.
    pub off: Vec<[f64; 2]>,
    /// Greatest speed of the drive at which it stays on, rad/s or mm/s; none where no speed lifts it off, or it is off slow too.
    pub stays_to: Option<f64>,
    /// Force at each place of the turn, N; none where that is not known.
    pub curve: Vec<Option<f64>>,
}

/// All open cams. `rows` are places of the drive on its dial, which counts to `round`, with what acts slow and at speed.
pub(super) fn kept(
    rig: &Rig<'_>,
    rows: &[(f64, [Option<&LoadRow>; 2])],
    told: &[Option<&LoadRow>],
    (speed, round): (f64, f64),
) -> Vec<CamAtSpeed> {
    let machine = &rig.model.machine;
    let cams = rig.found.iter().enumerate().filter_map(|(j, found)| {
        let Found::Slot(c) = found else { return None };
        let Some(Joint::Cam(cam)) = rig.model.joints.get(*c) else {
            return None;
        };
        Some((j, machine.cams.get(*cam).filter(|c| !c.track)?))
    });
    cams.filter_map(|(j, cam)| {
        let force = |row: Option<&LoadRow>| Some(row?.joints.get(j)?.value);
        let both: Vec<(f64, Option<[f64; 2]>)> = rows
            .iter()
            .map(|(at, [slow, fast])| (*at, force(*slow).zip(force(*fast)).map(|(s, f)| [s, f])))
            .collect();
        let known = || both.iter().filter_map(|(at, f)| Some((*at, (*f)?)));
        let least = |k: usize| {
            known()
                .map(|(at, f)| Spot { at, value: f[k] })
                .reduce(|a, b| if b.value < a.value { b } else { a })
        };
        let (slow, fast) = (least(0)?, least(1)?);
        let most = known().fold(0.0_f64, |m, (_, f)| m.max(f[0].abs()).max(f[1].abs()));
        let below = -NOTHING * most;
        // s − k ω² = 0 where the loads press with s and inertia pulls with k.
        let stays = known()
            .filter(|(_, f)| f[1] < f[0])
            .map(|(_, f)| (f[0] / (f[0] - f[1])).max(0.0).sqrt() * speed);
        let stays_to = stays.reduce(f64::min).filter(|_| slow.value > below.abs());
        Some(CamAtSpeed {
            cam: cam.name.clone(),
            least: fast,
            slow,
            off: stretches(&both, below, round),
            stays_to,
            curve: told.iter().map(|row| force(*row)).collect(),
        })
    })
    .collect()
}

/// Stretches in which the force at speed is below nothing, straight between places; one that goes on over the end is one.
fn stretches(both: &[(f64, Option<[f64; 2]>)], below: f64, round: f64) -> Vec<[f64; 2]> {
    let n = both.len();
    let force = |i: usize| both.get(i % n.max(1)).and_then(|b| b.1).map(|f| f[1]);
    let off = |i: usize| force(i).is_some_and(|f| f < below);
    let Some(first) = (0..n).find(|&i| !off(i)) else {
        return both
            .first()
            .zip(both.last())
            .map(|(a, b)| [a.0, b.0])
            .into_iter()
            .collect();
    };
    let between = |i: usize, j: usize| -> f64 {
        let (Some(a), Some(b)) = (both.get(i % n), both.get(j % n)) else {
            return 0.0;
        };
        // Over the end of the dial the later place counts on.
        let ahead = if b.0 < a.0 { b.0 + round } else { b.0 };
        match (force(i), force(j)) {
            (Some(f), Some(g)) if f != g => {
                let at = a.0 + (ahead - a.0) * (f / (f - g)).clamp(0.0, 1.0);
                if b.0 < a.0 { at.rem_euclid(round) } else { at }
            }
            _ => a.0,
        }
    };
    let mut all = Vec::new();
    let mut begun: Option<f64> = None;
    for i in first..first + n {
        match (off(i + 1), begun) {
            (true, None) => begun = Some(between(i, i + 1)),
            (false, Some(from)) => {
                all.push([from, between(i, i + 1)]);
                begun = None;
            }
            _ => {}
        }
    }
    all
}

/// What a machinist would say of them.
pub(super) fn findings(
    rig: &Rig<'_>,
    kept: &[CamAtSpeed],
    drive: &crate::answers::Quantity,
    speed: f64,
) -> Vec<Finding> {
    let machine = &rig.model.machine;
    let at = |value: f64| show(value, drive.unit, 0);
    let rate = |speed: f64| {
        if drive.inside == Inside::Radian {
            show(speed, Unit::TurnPerMinute, 1)
        } else {
            show(speed, Unit::MillimetrePerSecond, 1)
        }
    };
    let newtons = |force: f64| crate::load::say::either(force, false, machine);
    kept.iter()
        .filter_map(|cam| {
            let made = machine.cams.iter().find(|c| c.name == cam.cam)?;
            let most = cam.curve.iter().flatten().fold(0.0_f64, |m, f| m.max(f.abs()));
            let (sentence, to_try) = if cam.slow.value <= NOTHING * most {
                if cam.slow.value >= -NOTHING * most {
                    (
                        format!("cam {}: nothing presses its roller on at {}", cam.cam, at(cam.slow.at)),
                        String::from("a spring, a weight (`weight` in the head), or a closed track: `track = true`"),
                    )
                } else {
                    // Slow already: `load` tells it too.
                    (
                        format!(
                            "cam {}: its roller lifts off at {} even slow; it would have to be pulled by {}",
                            cam.cam,
                            at(cam.slow.at),
                            newtons(-cam.slow.value)
                        ),
                        String::from("a stronger spring or a weight, or a closed track: `track = true`"),
                    )
                }
            } else if cam.least.value < 0.0 {
                let stretches: Vec<String> = cam
                    .off
                    .iter()
                    .map(|[a, b]| format!("{} to {}", at(*a), at(*b)))
                    .collect();
                (
                    format!(
                        "cam {}: at {} its roller leaves it from {}: {} lack at {}, and what is told of moments and joints there is not so; up to {} it stays on",
                        cam.cam,
                        rate(speed),
                        stretches.join(" and from "),
                        newtons(-cam.least.value),
                        at(cam.least.at),
                        cam.stays_to.map_or_else(|| String::from("no speed"), rate),
                    ),
                    format!(
                        "a spring that presses {} more on the roller there, a lighter follower, a law with less peak acceleration, or a closed track: `track = true`",
                        newtons(-cam.least.value)
                    ),
                )
            } else {
                return None;
            };
            Some(Finding {
                severity: Severity::Miss,
                sentence,
                number: Some(cam.least.value),
                margin: Some(cam.least.value),
                inside: Some(Inside::Newton),
                what_to_try: Some(to_try),
                about: format!("cam.{}", cam.cam),
                place: made.place,
            })
        })
        .collect()
}
