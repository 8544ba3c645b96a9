//! A machine while it moves: its rates, which way each load is gone against, where loads bend, and what inertia adds to them.

use super::super::masses::Masses;
use super::sums::STILL;
use crate::assemble::Model;
use crate::load::acting::{LoadCase, inertia};
use crate::load::rig::Rig;
use crate::run::Here;
use machine::model::Moves;
use mechanics::dynamics::{Mass, pressed, pressed_ends};
use mechanics::model::Constraint;
use mechanics::tangent::Tangent;
use mechanics::{Rates, measure_along, unit_direction};
use rayon::prelude::*;

/// Where a load bends or steps on any rising row of places.
pub(in crate::cycle) fn load_knees(
    rig: &Rig<'_>,
    case: &LoadCase,
    known: &[(f64, &Here)],
    at: &mut dyn FnMut(f64) -> Option<Here>,
) -> Vec<f64> {
    let m = &rig.mechanism;
    let value = |here: &Here, measure: &mechanics::model::Measure| {
        m.measure(&rig.params(here), &here.poses, measure)
    };
    let Some((_, first)) = known.first() else {
        return Vec::new();
    };
    let mut all = Vec::new();
    for (measure, knees) in case.knees(rig, &first.poses) {
        let values: Vec<(f64, f64)> = known
            .iter()
            .map(|(x, h)| (*x, value(h, &measure)))
            .collect();
        for pair in values.windows(2) {
            for knee in &knees {
                let (from, to) = (pair[0].1 - knee, pair[1].1 - knee);
                if from * to < 0.0 {
                    let on = |x: f64| Some(value(&at(x)?, &measure) - knee);
                    all.push(crate::run::crossing((pair[0].0, from), (pair[1].0, to), on));
                }
            }
        }
    }
    all.sort_by(f64::total_cmp);
    all
}

/// Adds to values at equal steps from `low` on what the trapezoidal rule over them misses of a function that is known at more places between.
pub(in crate::cycle) fn gathered(
    values: &mut [f64],
    (low, step): (f64, f64),
    between: &[(f64, f64)],
) {
    let n = values.len();
    let plain = values.to_vec();
    let mut of_step: Vec<Vec<(f64, f64)>> = vec![Vec::new(); n];
    for (at, value) in between {
        let i = ((at - low) / step).floor();
        if i >= 0.0 && (i as usize) < n {
            of_step[i as usize].push((*at, *value));
        }
    }
    for (i, known) in of_step
        .iter_mut()
        .enumerate()
        .filter(|(_, k)| !k.is_empty())
    {
        let next = (i + 1) % n;
        known.push((low + step * i as f64, plain[i]));
        known.push((low + step * (i + 1) as f64, plain[next]));
        known.sort_by(|a, b| a.0.total_cmp(&b.0));
        let whole: f64 = known
            .windows(2)
            .map(|w| 0.5 * (w[1].0 - w[0].0) * (w[0].1 + w[1].1))
            .sum();
        let missed = 0.5 * (whole / step - 0.5 * (plain[i] + plain[next]));
        values[i] += missed;
        values[next] += missed;
    }
}

/// A rate below this share of its greatest is rounding.
const RESTS: f64 = 1e-6;

/// How fast what each load of a case pushes moves at each place of a way: where it rests, as it moved last. None where no load minds.
pub(in crate::cycle) fn senses(
    rig: &Rig<'_>,
    case: &LoadCase,
    heres: &[Option<&Here>],
    drive: usize,
    round: bool,
) -> Option<Vec<Vec<f64>>> {
    case.rates(rig, &rig.mechanism.drawn, &|_| 0.0)?;
    let mut all: Vec<Option<Vec<f64>>> = heres
        .par_iter()
        .map(|here| {
            let here = (*here)?;
            let params = rig.params(here);
            let rates = rates(rig, &params, here, drive)?;
            case_rates(rig, case, &params, here, drive, &rates)
        })
        .collect();
    let (count, none) = (case.acting.len(), Vec::new());
    let mut senses = vec![vec![0.0; count]; all.len()];
    for k in 0..count {
        let rate = |here: &Option<Vec<f64>>| here.as_ref().unwrap_or(&none).get(k).copied();
        let most = all
            .iter()
            .filter_map(rate)
            .fold(0.0_f64, |m, r| m.max(r.abs()));
        let moves = |i: usize| rate(&all[i]).filter(|r| r.abs() > RESTS * most);
        // On a way that goes round, as at its end; on another as soon as it moves.
        let first = (0..all.len()).find_map(moves);
        let last = (0..all.len()).rev().find_map(moves).filter(|_| round);
        let mut now = last.or(first).unwrap_or(0.0);
        for (i, sense) in senses.iter_mut().enumerate() {
            now = moves(i).unwrap_or(now);
            sense[k] = now;
        }
    }
    all.clear();
    Some(senses)
}

/// The part that a drive moves.
pub(super) fn moved_body(model: &Model, drive: usize) -> usize {
    match model.machine.drives[drive].moves {
        Moves::Turns(part) => part,
        Moves::Slides(slide) => model.machine.slides[slide].part,
    }
}

/// Rates of all bodies by a drive's value; none at a dead centre.
pub(in crate::cycle) fn rates(
    rig: &Rig<'_>,
    params: &[f64],
    here: &Here,
    drive: usize,
) -> Option<Rates> {
    let tangent = Tangent::new(&rig.mechanism, params, &here.poses).ok()?;
    tangent.rates(&direction(rig, params, drive)).ok()
}

/// The direction of a drive's value among the parameters.
pub(in crate::cycle) fn direction(rig: &Rig<'_>, params: &[f64], drive: usize) -> Vec<f64> {
    let mut direction = unit_direction(params.len(), rig.model.drives[drive].0);
    let sense = rig.model.machine.drives[drive].sense;
    direction.iter_mut().for_each(|d| *d *= sense);
    direction
}

/// A load case with what inertia presses here at a steady speed of a drive; none at a dead centre.
pub(crate) fn at_speed(
    rig: &Rig<'_>,
    case: &LoadCase,
    here: &Here,
    drive: usize,
    masses: &Masses,
    speed: f64,
) -> Option<LoadCase> {
    let params = rig.params(here);
    let rates = rates(rig, &params, here, drive)?;
    let case = going(rig, case, &params, here, drive, &rates);
    let motion = [speed, 0.0];
    Some(with_inertia(
        rig, &case, &params, here, &rates, masses, motion,
    ))
}

/// A load case as it acts while a drive goes on here; what rests is taken as going against it.
pub(super) fn going(
    rig: &Rig<'_>,
    case: &LoadCase,
    params: &[f64],
    here: &Here,
    drive: usize,
    rates: &Rates,
) -> LoadCase {
    let Some(mut sense) = case_rates(rig, case, params, here, drive, rates) else {
        return case.clone();
    };
    let rounding = STILL * rig.mechanism.size(params);
    for rate in &mut sense {
        if rate.abs() < rounding {
            *rate = 0.0;
        }
    }
    case.moving(&sense)
}

/// How fast what each load of a case pushes moves, by the drive's value.
pub(super) fn case_rates(
    rig: &Rig<'_>,
    case: &LoadCase,
    params: &[f64],
    here: &Here,
    drive: usize,
    rates: &Rates,
) -> Option<Vec<f64>> {
    let direction = direction(rig, params, drive);
    let (m, poses) = (&rig.mechanism, &here.poses);
    case.rates(rig, poses, &|measure| {
        measure_along(m, params, poses, measure, &direction, rates)[1]
    })
}

/// A load case with what inertia presses at this speed and acceleration of the drive whose rates these are.
pub(in crate::cycle) fn with_inertia(
    rig: &Rig<'_>,
    case: &LoadCase,
    params: &[f64],
    here: &Here,
    rates: &Rates,
    masses: &Masses,
    motion: [f64; 2],
) -> LoadCase {
    let m = &rig.mechanism;
    let on = pressed(m, params, &here.poses, rates, &masses.all, motion);
    let mut case = case.clone();
    for (body, on) in on.iter().enumerate().skip(1) {
        let size = on.force[0].hypot(on.force[1]);
        if size == 0.0 && on.moment == 0.0 {
            continue;
        }
        let Some(anchor) = m.anchors.iter().position(|a| a.body == body) else {
            continue;
        };
        let plane = m.planes[m.bodies[body].plane];
        let unit = if size > 0.0 {
            on.force.map(|f| f / size)
        } else {
            [1.0, 0.0]
        };
        let direction = std::array::from_fn(|i| unit[0] * plane.right[i] + unit[1] * plane.up[i]);
        let [x, y] = m.in_plane(params, &here.poses, anchor);
        let arm = [x - here.poses[body].x, y - here.poses[body].y];
        let moment = on.moment - (arm[0] * on.force[1] - arm[1] * on.force[0]);
        let name = rig.model.body_name(body);
        case.acting
            .extend(inertia(&name, (anchor, direction, size), (body, moment)));
    }
    let ends = pressed_ends(m, params, &here.poses, rates, &masses.all, motion);
    for (constraint, rod) in m.constraints.iter().enumerate() {
        let Constraint::Rod { a, b, .. } = *rod else {
            continue;
        };
        let own = |mass: &Mass| matches!(*mass, Mass::Bar { a: p, b: q, .. } if (p, q) == (a, b));
        let own = masses.all.iter().zip(&ends).find(|(mass, _)| own(mass));
        if let Some((_, Some(ends))) = own {
            case.carried.push((constraint, *ends));
        }
    }
    case
}
