//! What would bring a missed ask in: which setting or which dimension, and by how much.

use super::asks::{Verdict, Wanted, margin, weigh};
use crate::assemble::{Model, Moves, Stand};
use crate::run::Bench;
use crate::say;
use crate::sensitivity::{by_param, ranked};
use machine::model::Adjusts;
use quantity::Unit;

/// Corrections tried on a setting: the first by the exact derivative, the others by what it did.
const TRIES: usize = 8;
/// Settings tried.
const SETTINGS: usize = 2;
/// A dimension is not told to change by more than this share of itself.
const LARGE: f64 = 0.3;

pub(super) fn what_to_try(
    bench: &mut Bench<'_>,
    ask: usize,
    stand: &Stand,
    verdict: &Verdict,
    wanted: Wanted,
) -> Option<String> {
    let model = bench.model;
    let reading = model.machine.asks[ask].reading;
    let mut rates = vec![0.0; model.mechanism.params.len()];
    for (weight, here) in &verdict.terms {
        let by = by_param(bench, reading, here)?;
        for (sum, rate) in rates.iter_mut().zip(&by.rates) {
            *sum += weight * rate;
        }
    }
    let needed = limit(verdict.value, wanted)? - verdict.value;
    let mut candidates: Vec<(usize, f64)> = (0..model.settings.len())
        .filter_map(|s| {
            let rate = model.by_setting(stand, s, &rates);
            let change = needed / rate;
            (rate != 0.0 && change.is_finite()).then_some((s, change))
        })
        .filter(|&(s, change)| allowed(model, s, stand.settings[s] + change))
        .collect();
    // The least work first: fewest hand steps.
    candidates.sort_by(|a, b| effort(model, *a).total_cmp(&effort(model, *b)));
    for &(setting, change) in candidates.iter().take(SETTINGS) {
        if let Some(words) = try_setting(bench, ask, stand, wanted, setting, change) {
            return Some(words);
        }
    }
    let here = &verdict.terms.first()?.1;
    for effect in ranked(model, here, &rates).iter().take(6) {
        let change = needed / effect.rate;
        if effect.inside == crate::Inside::Millimetre && change.abs() < LARGE * effect.nominal.abs()
        {
            let amount = say::value(change.abs(), model.machine.unit);
            let way = if change > 0.0 { "greater" } else { "less" };
            return Some(format!(
                "make {} {amount} {way}, to {}",
                effect.dimension,
                say::value(effect.nominal + change, model.machine.unit)
            ));
        }
    }
    None
}

/// The limit that is missed.
fn limit(value: f64, [least, most]: Wanted) -> Option<f64> {
    least.filter(|l| value < *l).or(most.filter(|m| value > *m))
}

fn allowed(model: &Model, setting: usize, value: f64) -> bool {
    let s = &model.machine.settings[setting];
    let in_range = s
        .range
        .is_none_or(|[a, b]| value >= a.min(b) && value <= a.max(b));
    let fits = match &model.settings[setting] {
        Moves::Row { holes, .. } => value >= 0.5 && value <= holes.len() as f64 + 0.5,
        Moves::Straight(by) => !by.is_empty(),
        Moves::Limit => false,
    };
    in_range && fits
}

fn effort(model: &Model, (setting, change): (usize, f64)) -> f64 {
    let s = &model.machine.settings[setting];
    let step = match s.adjusts {
        Adjusts::Row(_) => 1.0,
        Adjusts::Clock(_) => s.step.unwrap_or(0.01),
        _ => s.step.unwrap_or(0.5),
    };
    (change / step).abs()
}

/// Finds by exact judging how far the setting must go, and says it. None when it does not bring the ask in.
fn try_setting(
    bench: &mut Bench<'_>,
    ask: usize,
    stand: &Stand,
    wanted: Wanted,
    setting: usize,
    change: f64,
) -> Option<String> {
    let model = bench.model;
    let row = matches!(model.settings[setting], Moves::Row { .. });
    let now = stand.settings[setting];
    let mut judged = |value: f64| {
        let mut other = stand.clone();
        other.settings[setting] = value;
        weigh(bench, ask, &other).ok().map(|v| v.value)
    };
    let mut value = now + change;
    if row {
        // The next whole hole that goes far enough, and one more if it bends away.
        for further in 0..2 {
            let hole = if change > 0.0 {
                value.ceil() + f64::from(further)
            } else {
                value.floor() - f64::from(further)
            };
            if !allowed(model, setting, hole) {
                break;
            }
            let there = judged(hole)?;
            if margin(there, wanted) >= 0.0 {
                return Some(words(bench, ask, setting, now, hole, there));
            }
        }
        return None;
    }
    let start = judged(now)?;
    let target = limit(start, wanted)?;
    let (mut last, mut last_value) = (now, start);
    for _ in 0..TRIES {
        if !allowed(model, setting, value) {
            return None;
        }
        let there = judged(value)?;
        let slope = (there - last_value) / (value - last);
        if (there - target).abs() <= 1e-6 * (start - target).abs() {
            return Some(words(bench, ask, setting, now, value, there));
        }
        (last, last_value) = (value, there);
        value += (target - there) / slope;
        if !value.is_finite() {
            return None;
        }
    }
    let there = judged(value)?;
    let near = (there - target).abs() <= 0.02 * (start - target).abs();
    near.then(|| words(bench, ask, setting, now, value, there))
}

fn words(
    bench: &Bench<'_>,
    ask: usize,
    setting: usize,
    now: f64,
    value: f64,
    there: f64,
) -> String {
    let model = bench.model;
    let m = &model.machine;
    let s = &m.settings[setting];
    let change = value - now;
    let more = |amount: String, up: &str, down: &str| {
        format!("{amount} {}", if change > 0.0 { up } else { down })
    };
    let result = say::of(&model.reading(m.asks[ask].reading), there);
    let what = match s.adjusts {
        Adjusts::Rod(rod) => {
            let rod = &m.rods[rod];
            let length = say::value(change.abs(), m.unit);
            let turns = crate::call::turn_of_rod(rod).map(|pitch| {
                format!(
                    " ({})",
                    quantity::show(change.abs() / pitch * std::f64::consts::TAU, Unit::Turn, 2)
                )
            });
            format!(
                "set {}: rod {} {}{}",
                s.name,
                rod.name,
                more(length, "longer", "shorter"),
                turns.unwrap_or_default()
            )
        }
        Adjusts::Row(_) => format!("set {}: hole {value:.0}", s.name),
        Adjusts::Clock(part) => {
            let angle = say::value(change.abs(), Unit::Degree);
            format!(
                "set {}: turn {} {}",
                s.name,
                m.parts[part].name,
                more(angle, "counter-clockwise", "clockwise")
            )
        }
        Adjusts::Shim { point, .. } => {
            let shim = say::value(change.abs(), m.unit);
            format!(
                "set {}: shim {} {}",
                s.name,
                m.points[point].name,
                more(shim, "more", "less")
            )
        }
        Adjusts::Stop(_) => format!("set {}", s.name),
    };
    format!("{what}, which gives {result}")
}
