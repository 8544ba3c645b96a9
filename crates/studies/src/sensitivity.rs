//! Which dimension moves which reading, and by how much?

use crate::answers::{Effect, Effects, HandEffect, Inside, PartEffect, Sensitivities};
use crate::assemble::{Gauge, Model, Moves, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, Extreme, Here};
use machine::model::Take;
use mechanics::Tangent;

/// A tenth of a millimetre, and a tenth of a degree: what an unmarked dimension may be off.
const STEP_MM: f64 = 0.1;
const STEP_RAD: f64 = 0.1 * std::f64::consts::PI / 180.0;
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
        match by_param(&mut bench, reading, &here) {
            Some(by) => answer
                .readings
                .push(effects(model, stand, &here, reading, &by)),
            None => answer.refused.push(format!(
                "{} has no sensitivity here: the machine stands at a dead centre",
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
    pub(crate) rates: Vec<f64>,
}

/// The exact derivative of a reading by every parameter; none at a dead centre.
pub(crate) fn by_param(bench: &mut Bench<'_>, reading: usize, here: &Here) -> Option<ByParam> {
    match bench.model.gauges.get(reading)?.clone() {
        Gauge::Pose(measure) => {
            let tangent = Tangent::new(&bench.model.mechanism, &here.params, &here.poses).ok()?;
            let found = tangent.sensitivity(&measure).ok()?;
            Some(ByParam {
                value: found.value,
                taken_at: None,
                rates: found.by_param,
            })
        }
        Gauge::Over {
            reading: inner,
            drive,
            take,
        } => {
            let mut end = |greatest: bool| {
                let extreme = bench.extreme(inner, here, drive, greatest)?;
                let mut by = by_param(bench, inner, &extreme.here)?;
                end_moves(bench, drive, &extreme, &mut by);
                // The reading runs over this drive, so it does not depend on it.
                by.rates[bench.model.drives[drive].0] = 0.0;
                by.taken_at = Some(extreme.at);
                Some(by)
            };
            match take {
                Take::Least => end(false),
                Take::Greatest => end(true),
                Take::Swing => {
                    let (least, most) = (end(false)?, end(true)?);
                    let rates = most
                        .rates
                        .iter()
                        .zip(&least.rates)
                        .map(|(m, l)| m - l)
                        .collect();
                    Some(ByParam {
                        value: most.value - least.value,
                        taken_at: least.taken_at,
                        rates,
                    })
                }
            }
        }
    }
}

/// Where a stop or slot end cuts the path, that end moves with the dimensions too.
fn end_moves(bench: &Bench<'_>, drive: usize, extreme: &Extreme, by: &mut ByParam) {
    let model = bench.model;
    let param = model.drives[drive].0;
    let along = by.rates[param];
    let Some(measure) = extreme.limit.and_then(|l| bench.limit_measure(l)) else {
        return;
    };
    let Ok(tangent) = Tangent::new(&model.mechanism, &extreme.here.params, &extreme.here.poses)
    else {
        return;
    };
    let Ok(limit) = tangent.sensitivity(&measure) else {
        return;
    };
    let with_drive = limit.by_param[param];
    if with_drive != 0.0 {
        for (rate, l) in by.rates.iter_mut().zip(&limit.by_param) {
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
    let dimensions = ranked(model, here, &by.rates);
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
        parts: parts(&dimensions),
        drives: drives.collect(),
        settings: settings.collect(),
        dimensions,
    }
}

/// The dimensions that move a reading, the greatest change first.
pub(crate) fn ranked(model: &Model, here: &Here, rates: &[f64]) -> Vec<Effect> {
    let mut effects: Vec<Effect> = model
        .dimensions
        .iter()
        .map(|d| {
            let step = if d.inside == Inside::Radian {
                STEP_RAD
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
