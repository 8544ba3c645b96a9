//! Sums over the places of a turn: how long it runs on, what balances it, the hardest pressed joints.

use super::{Balance, PinAtSpeed, Place, RunDown};
use crate::load::rig::Rig;
use elements::flywheel;
use std::f64::consts::TAU;

/// Turns after which a run-down is given up.
const MOST_TURNS: usize = 100_000;
/// Shaking below this share of the greatest force in the joints is rounding.
pub(super) const STILL: f64 = 1e-9;

/// Turn after turn the springs, weights and friction take of the energy, place by place.
pub(super) fn run_down(places: &[&Place], speed: f64, turns: f64) -> Option<RunDown> {
    // Friction of the forces of inertia goes with the square of the speed.
    let takes: Vec<[f64; 2]> = places
        .iter()
        .map(|p| Some([p.idle[0]?, (p.idle[1]? - p.idle[0]?) / (speed * speed)]))
        .collect::<Option<_>>()?;
    let inertia: Vec<f64> = places
        .iter()
        .map(|p| p.reduced.map(|r| r.inertia).filter(|i| *i > 0.0))
        .collect::<Option<_>>()?;
    coast(&takes, &inertia, 0, (speed, turns))
}

/// From a place on with a speed, until what is taken has used up the energy: at each place of so many turns what is taken slow, and with the square
/// of the speed.
pub(in crate::cycle) fn coast(
    takes: &[[f64; 2]],
    inertia: &[f64],
    start: usize,
    (speed, turns): (f64, f64),
) -> Option<RunDown> {
    let slow: Vec<f64> = takes.iter().map(|t| t[0]).collect();
    if flywheel::mean(&slow) <= 0.0 {
        return None;
    }
    let n = takes.len().min(inertia.len());
    let step = TAU * turns / n.max(1) as f64;
    let begun = 5e-4 * inertia.get(start)? * speed * speed;
    let (mut energy, mut seconds) = (begun, 0.0);
    for k in 0..MOST_TURNS * n {
        let (i, j) = ((start + k) % n, (start + k + 1) % n);
        let at = |energy: f64, i: usize| (2e3 * energy.max(0.0) / inertia[i]).sqrt();
        let now = |i: usize| takes[i][0] + takes[i][1] * at(energy, i).powi(2);
        let taken = 0.5 * step * (now(i) + now(j));
        let left = energy - taken;
        if left <= 0.0 {
            // As far as the energy lasts, slowing evenly to rest.
            let share = if taken > 0.0 { energy / taken } else { 0.0 };
            let fast = at(energy, i);
            if fast > 0.0 {
                seconds += 2.0 * share * step / fast;
            }
            return Some(RunDown {
                turns: turns * (k as f64 + share) / n as f64,
                seconds,
                energy: begun,
            });
        }
        // Exact where the speed changes evenly in time.
        seconds += 2.0 * step / (at(energy, i) + at(left, j));
        energy = left;
    }
    None
}

/// The part of the shaking that goes round once with the driven part, taken off by a mass on it (first harmonic, least squares over the turn).
pub(super) fn balance(places: &[&Place], speed: f64) -> Option<Balance> {
    let known: Vec<(f64, [f64; 2])> = places
        .iter()
        .map(|p| Some((p.turned, p.effort.shakes?)))
        .collect::<Option<_>>()?;
    let n = known.len().max(1) as f64;
    // Mean of the force as seen from the turning part.
    let (mut along, mut across) = (0.0, 0.0);
    for (turned, [x, y]) in &known {
        let (s, c) = turned.sin_cos();
        along += (x * c + y * s) / n;
        across += (y * c - x * s) / n;
    }
    let greatest = |added: [f64; 2]| {
        known
            .iter()
            .map(|(turned, [x, y])| {
                let (s, c) = turned.sin_cos();
                (x + c * added[0] - s * added[1]).hypot(y + s * added[0] + c * added[1])
            })
            .fold(0.0, f64::max)
    };
    let shakes = greatest([0.0; 2]);
    if shakes <= STILL {
        return None;
    }
    Some(Balance {
        moment: along.hypot(across) / (1e-3 * speed * speed),
        angle: (-across).atan2(-along).rem_euclid(TAU),
        shakes,
        left: greatest([-along, -across]),
    })
}

pub(super) fn pins(
    rig: &Rig<'_>,
    places: &[&Place],
    on_dial: &dyn Fn(f64) -> f64,
) -> Vec<PinAtSpeed> {
    let mut all: Vec<PinAtSpeed> = rig
        .joints
        .iter()
        .enumerate()
        .filter_map(|(j, joint)| {
            let most = |which: usize| {
                let known = places.iter().filter_map(|p| {
                    let row = p.rows[which].as_ref()?;
                    Some((p.effort.at, row.joints.get(j)?.most))
                });
                known.reduce(|a, b| if b.1 > a.1 { b } else { a })
            };
            let ((_, slow), (at, fast)) = (most(0)?, most(1)?);
            let drives = &rig.model.machine.drives;
            let own = drives
                .iter()
                .any(|d| joint.name == format!("drive {}", d.name));
            (fast > 0.0 && !own).then(|| PinAtSpeed {
                joint: joint.name.clone(),
                is_moment: joint.is_moment,
                slow,
                fast,
                at: on_dial(at),
            })
        })
        .collect();
    for is_moment in [false, true] {
        let most = all
            .iter()
            .filter(|p| p.is_moment == is_moment)
            .fold(0.0_f64, |m, p| m.max(p.fast));
        all.retain(|p| p.is_moment != is_moment || p.fast > STILL * most);
    }
    all.sort_by(|a, b| {
        (a.is_moment, b.fast)
            .partial_cmp(&(b.is_moment, a.fast))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    all
}
