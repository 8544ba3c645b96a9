//! Which dimension moves which reading, and by how much?

use crate::answers::{Effect, Effects, HandEffect, Inside, PartEffect, Sensitivities};
use crate::assemble::{Gauge, Model, Moves, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, Here, folds_here, turns};
use machine::model::Take;
use mechanics::Tangent;
use mechanics::model::Measure;
use quantity::Unit;

/// A tenth of a millimetre, on a machine in inches five thousandths, and a tenth of a degree: what an unmarked dimension may be off.
const STEP_MM: f64 = 0.1;
const STEP_INCH: f64 = 0.005 * 25.4;
const STEP_RAD: f64 = 0.1 * std::f64::consts::PI / 180.0;
/// A little farther on, rad or as a share of the machine's size.
const ASIDE: f64 = 0.05;
/// A dimension that changes a reading by less than this share of its step does not move it.
const NOTHING: f64 = 1e-12;

/// What moves these readings (all when none is named), with these drives and settings.
///
/// # Errors
/// Values that cannot be reached.
pub fn sensitivity(
    model: &Model,
    stand: &Stand,
    readings: &[usize],
) -> Result<Sensitivities, Refusal> {
    let mut bench = Bench::new(model);
    let here = bench.bring(stand)?;
    let all: Vec<usize> = (0..model.machine.readings.len()).collect();
    let asked = if readings.is_empty() { &all } else { readings };
    let mut answer = Sensitivities {
        machine: model.machine.name.clone(),
        held: model.held(stand, None),
        readings: Vec::new(),
        refused: Vec::new(),
    };
    for &reading in asked.iter().filter(|r| **r < model.machine.readings.len()) {
        match why_by_param(&mut bench, reading, &here) {
            Ok(mut by) => {
                agree_elsewhere(&mut bench, reading, &here, &mut by);
                answer
                    .readings
                    .push(effects(model, stand, &here, reading, &by));
            }
            Err(why) => answer.refused.push(format!(
                "{} has no sensitivity here: {why}",
                model.machine.readings[reading].name
            )),
        }
    }
    Ok(answer)
}

/// A reading and its derivative by every parameter.
#[derive(Clone, Debug)]
pub(crate) struct ByParam {
    pub(crate) value: f64,
    pub(crate) taken_at: Option<f64>,
    /// For a swing: where greatest.
    pub(crate) and_at: Option<f64>,
    pub(crate) rates: Vec<f64>,
    /// Parameters that cannot change alone, since joints that repeat one another would not agree any more.
    pub(crate) must_agree: Vec<bool>,
    /// There are such joints.
    repeated: bool,
}

/// The exact derivative of a reading by every parameter; none at a dead centre.
pub(crate) fn by_param(bench: &mut Bench<'_>, reading: usize, here: &Here) -> Option<ByParam> {
    why_by_param(bench, reading, here).ok()
}

/// Of a measure: only the groups that it looks at count, whatever the others stand in.
fn of_measure(model: &Model, measure: &Measure, here: &Here) -> Result<ByParam, String> {
    let gradient = model.mechanism.gradient(&here.params, &here.poses, measure);
    let mut by = ByParam {
        value: model.mechanism.measure(&here.params, &here.poses, measure),
        taken_at: None,
        and_at: None,
        must_agree: vec![false; gradient.by_param.len()],
        rates: gradient.by_param,
        repeated: false,
    };
    for group in &model.groups {
        let moving = group.bodies.iter().filter(|&&b| b != 0);
        let by_pose: Vec<f64> = moving
            .flat_map(|b| &gradient.by_pose[3 * (b - 1)..3 * b])
            .copied()
            .collect();
        if by_pose.iter().all(|d| *d == 0.0) {
            continue;
        }
        let poses: Vec<_> = group.bodies.iter().map(|&b| here.poses[b]).collect();
        let dead = || {
            let folds = folds_here(model, group, &here.params, &poses);
            format!("it stands at a dead centre, {folds}")
        };
        let tangent = Tangent::new(&group.mechanism, &here.params, &poses).map_err(|_| dead())?;
        tangent
            .by_way_of_poses(by_pose, &mut by.rates)
            .map_err(|_| dead())?;
        by.repeated |= tangent.repeated();
        let must = tangent.must_agree().map_err(|_| dead())?;
        for (all, own) in by.must_agree.iter_mut().zip(must) {
            *all |= own;
        }
    }
    Ok(by)
}

/// The same, and why there is none.
fn why_by_param(bench: &mut Bench<'_>, reading: usize, here: &Here) -> Result<ByParam, String> {
    let gauge = bench.model.gauges.get(reading).cloned();
    match gauge.ok_or("there is no such reading")? {
        Gauge::Pose(measure) => {
            let mut by = of_measure(bench.model, &measure, here)?;
            end_moves(bench, here, &mut by);
            Ok(by)
        }
        Gauge::Over {
            reading: inner,
            drive,
            take,
        } => {
            let mut end = |greatest: bool| {
                let extreme = bench.extreme(inner, here, drive, greatest).ok_or_else(|| {
                    let drive = &bench.model.machine.drives[drive].name;
                    format!("drive {drive}, over which it is taken, cannot move")
                })?;
                let mut by = why_by_param(bench, inner, &extreme.here)?;
                // The reading runs over this drive, so it does not depend on it.
                by.rates[bench.model.drives[drive].0] = 0.0;
                by.taken_at = Some(extreme.at);
                Ok(by)
            };
            match take {
                Take::Least => end(false),
                Take::Greatest => end(true),
                Take::Swing => {
                    let (least, most): (ByParam, ByParam) = (end(false)?, end(true)?);
                    let both = least.must_agree.iter().zip(&most.must_agree);
                    let must_agree = both.map(|(a, b)| a | b).collect();
                    let rates = most
                        .rates
                        .iter()
                        .zip(&least.rates)
                        .map(|(m, l)| m - l)
                        .collect();
                    Ok(ByParam {
                        value: most.value - least.value,
                        taken_at: least.taken_at,
                        and_at: most.taken_at,
                        rates,
                        must_agree,
                        repeated: least.repeated || most.repeated,
                    })
                }
            }
        }
    }
}

/// A dimension square to everything that repeats itself here may have to agree a little farther on.
fn agree_elsewhere(bench: &mut Bench<'_>, reading: usize, here: &Here, by: &mut ByParam) {
    if !by.repeated {
        return;
    }
    for drive in 0..bench.model.machine.drives.len() {
        let aside = if turns(bench.model, drive) {
            ASIDE
        } else {
            ASIDE * bench.model.mechanism.size(&here.params)
        };
        for to in [aside, -aside].map(|a| here.stand.drives[drive] + a) {
            let there = bench.advance(here, drive, to).ok();
            let Some(there) = there.and_then(|there| by_param(bench, reading, &there)) else {
                continue;
            };
            for (here, there) in by.must_agree.iter_mut().zip(there.must_agree) {
                *here |= there;
            }
            break;
        }
    }
}

/// Where a stop or slot end cuts the path, that end moves with the dimensions too.
fn end_moves(bench: &Bench<'_>, here: &Here, by: &mut ByParam) {
    let model = bench.model;
    let Some((drive, limit)) = here.ended else {
        return;
    };
    let param = model.drives[drive].0;
    let along = by.rates[param];
    let Some(measure) = bench.limit_measure(limit) else {
        return;
    };
    let Ok(limit) = of_measure(model, &measure, here) else {
        return;
    };
    let with_drive = limit.rates[param];
    if with_drive != 0.0 {
        for (rate, l) in by.rates.iter_mut().zip(&limit.rates) {
            *rate -= along * l / with_drive;
        }
    }
}

impl Model {
    /// Derivative of a reading by a setting's value, from its derivatives by the parameters.
    pub(crate) fn by_setting(&self, stand: &Stand, setting: usize, rates: &[f64]) -> f64 {
        match &self.settings[setting] {
            Moves::Straight(by) => by.iter().map(|(p, k)| k * rates[*p]).sum(),
            Moves::Row { u, v, holes, .. } => {
                // To the next hole, or from the one before when it is the last.
                let number = stand.settings[setting];
                let last = holes.len().saturating_sub(2) as f64;
                let low = (number - 1.0).clamp(0.0, last.max(0.0)) as usize;
                match (holes.get(low), holes.get(low + 1)) {
                    (Some(a), Some(b)) => rates[*u] * (b[0] - a[0]) + rates[*v] * (b[1] - a[1]),
                    _ => 0.0,
                }
            }
            Moves::Limit => 0.0,
        }
    }
}

fn effects(model: &Model, stand: &Stand, here: &Here, reading: usize, by: &ByParam) -> Effects {
    let mut rates = by.rates.clone();
    for (rate, must) in rates.iter_mut().zip(&by.must_agree) {
        if *must {
            *rate = 0.0;
        }
    }
    let dimensions = ranked(model, here, &rates);
    let must = |d: &&crate::Dimension| by.must_agree[d.param];
    let must_agree = model.dimensions.iter().filter(must);
    let held = model.held(stand, None);
    let (drives, settings) = held.split_at(stand.drives.len());
    let hand = |held: &crate::Held, rate: f64, step: Option<f64>| HandEffect {
        held: held.clone(),
        rate,
        step,
        change: step.map(|s| s * rate),
    };
    let drives = drives.iter().enumerate().map(|(i, h)| {
        let d = &model.machine.drives[i];
        hand(h, by.rates[model.drives[i].0] * d.sense, d.step)
    });
    let settings = settings.iter().enumerate().map(|(i, h)| {
        let s = &model.machine.settings[i];
        let step = if matches!(model.settings[i], Moves::Row { .. }) {
            Some(1.0)
        } else {
            s.step
        };
        hand(h, model.by_setting(stand, i, &by.rates), step)
    });
    Effects {
        reading: model.reading(reading),
        value: by.value,
        taken_at: by.taken_at,
        and_at: by.and_at,
        parts: parts(&dimensions),
        drives: drives.collect(),
        settings: settings.collect(),
        must_agree: must_agree.map(|d| d.name.clone()).collect(),
        dimensions,
    }
}

/// The dimensions that move a reading, the greatest change first.
pub(crate) fn ranked(model: &Model, here: &Here, rates: &[f64]) -> Vec<Effect> {
    let inches = matches!(model.machine.unit, Unit::Inch | Unit::Foot | Unit::Thou);
    let mut effects: Vec<Effect> = model
        .dimensions
        .iter()
        .map(|d| {
            let step = if d.inside == Inside::Radian {
                STEP_RAD
            } else if inches {
                STEP_INCH
            } else {
                STEP_MM
            };
            let rate = d.sign * rates[d.param];
            Effect {
                dimension: d.name.clone(),
                of: d.of.clone(),
                inside: d.inside,
                nominal: d.sign * here.params[d.param],
                rate,
                step,
                change: rate * step,
            }
        })
        .filter(|e| e.rate.abs() > NOTHING)
        .collect();
    // Equal changes keep the order of the file.
    effects.sort_by(|a, b| b.change.abs().total_cmp(&a.change.abs()));
    effects
}

fn parts(effects: &[Effect]) -> Vec<PartEffect> {
    let mut parts: Vec<PartEffect> = Vec::new();
    for e in effects {
        let square = e.change * e.change;
        match parts.iter_mut().find(|p| p.of == e.of) {
            Some(p) => {
                p.dimensions += 1;
                p.root_sum_square += square;
                p.worst += e.change.abs();
            }
            None => parts.push(PartEffect {
                of: e.of.clone(),
                dimensions: 1,
                root_sum_square: square,
                worst: e.change.abs(),
            }),
        }
    }
    for p in &mut parts {
        p.root_sum_square = p.root_sum_square.sqrt();
    }
    parts.sort_by(|a, b| b.root_sum_square.total_cmp(&a.root_sum_square));
    parts
}
