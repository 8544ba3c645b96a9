//! The dial-in sheet to take to the machine: what to set, where to read, what to measure besides, what a step of each setting does, what to
//! turn, and the scale.

use super::answers::{Correction, Effect, Goes, Next, Paper, Shape, Step};
use super::scale::{self, Wanted};
use super::{Built, correct, dial_in, sheet, standing_now};
use crate::answers::{Finding, Severity};
use crate::assemble::Model;
use crate::refusal::Refusal;
use crate::run::Bench;
use machine::logbook::Log;

/// Radius for which marks are spaced when none is given, mm.
const RADIUS: f64 = 60.0;
/// Marks that a sheet has room for.
const MARKS: usize = 60;

/// What to take to the machine. Without a log the machine is the drawn one, as uncertain as its tolerances.
///
/// # Errors
/// No reading, no drive that moves it; a log that holds nothing.
pub fn paper(model: &Model, log: Option<&Log>) -> Result<Paper, Refusal> {
    let empty = Log::default();
    let of = log.unwrap_or(&empty);
    let stand = standing_now(model, of);
    let blank = sheet::blank(model, &stand, None, None)?;
    let index = |name: &str| {
        let found = model.machine.readings.iter().position(|r| r.name == name);
        found.unwrap_or(0)
    };
    let reading = index(&blank.reading.name);
    let of_name = |d: &machine::model::Drive| d.name == blank.drive.name;
    let drive = model.machine.drives.iter().position(of_name).unwrap_or(0);
    let (built, next, correction, findings) = known(model, log)?;
    let wanted = Wanted {
        reading,
        drive,
        radius: RADIUS,
        step: None,
        shape: Shape::Arc,
        goes: Goes::Pointer,
        coming: 0.0,
        strip: 0.0,
    };
    // As built only when something was read: before that a mark says no more than the drawing.
    let fitted = built.as_ref().filter(|_| log.is_some());
    let mut marked = scale::scale(model, fitted, &stand, &wanted).ok();
    if let Some(fine) = marked.as_ref().filter(|s| s.marks.len() > MARKS) {
        let times = (fine.marks.len() as f64 / MARKS as f64).ceil();
        let unit = fine.reading.unit;
        let step = sheet::round_step(unit.from_inside(fine.step) * times);
        let coarse = Wanted {
            step: Some(unit.to_inside(step)),
            ..wanted
        };
        marked = scale::scale(model, fitted, &stand, &coarse).ok();
    }
    let travel = travel(model, &stand, reading, drive, &blank.places);
    // A drive that the reading is taken over is turned at every place.
    let over = super::system::run_over(model, reading);
    let turned = |name: &str| over.iter().any(|&d| model.machine.drives[d].name == name);
    let mut held = model.held(&stand, Some(drive));
    held.retain(|h| !turned(&h.quantity.name));
    let over = over.iter().map(|&d| model.drive(d)).collect();
    Ok(Paper {
        machine: model.machine.name.clone(),
        held,
        reading: blank.reading,
        drive: blank.drive,
        places: blank.places,
        over,
        travel,
        next,
        effects: effects(model, built.as_ref(), &stand),
        correction,
        findings,
        scale: marked,
    })
}

/// The machine as built, what to measure next, what to turn, and what is wrong.
type Known = (Option<Built>, Vec<Next>, Option<Correction>, Vec<Finding>);

fn known(model: &Model, log: Option<&Log>) -> Result<Known, Refusal> {
    if let Some(log) = log {
        let (answer, built) = dial_in(model, log)?;
        let worth = |f: &Finding| matches!(f.severity, Severity::Fault | Severity::Caution);
        let findings = answer.findings.into_iter().filter(worth).collect();
        let fit = answer.fit;
        let next = fit.as_ref().map_or_else(Vec::new, |f| f.next.clone());
        let correction = fit.and_then(|f| f.correction);
        return Ok((built, next, correction, findings));
    }
    let Some((fit, built)) = super::unread(model) else {
        return Ok((None, Vec::new(), None, Vec::new()));
    };
    Ok((Some(built), fit.next, None, Vec::new()))
}

/// How far the reading goes over these places: what the indicator must span.
fn travel(
    model: &Model,
    stand: &crate::assemble::Stand,
    reading: usize,
    drive: usize,
    places: &[f64],
) -> Option<f64> {
    let mut bench = Bench::new(model);
    let mut values = Vec::new();
    for &at in places {
        let mut stand = stand.clone();
        stand.drives[drive] = at;
        let here = bench.bring(&stand).ok()?;
        values.push(bench.value(reading, &here)?);
    }
    let (low, high) = values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(*v), h.max(*v))
        });
    (high >= low).then_some(high - low)
}

/// What one step of each setting does to the judged value of each ask.
fn effects(model: &Model, built: Option<&Built>, stand: &crate::assemble::Stand) -> Vec<Effect> {
    let Some(built) = built else {
        return Vec::new();
    };
    let asks = correct::by_step(built, &stand.settings);
    let mut all = Vec::new();
    for (setting, (step, changes)) in asks.into_iter().enumerate() {
        let quantity = model.setting(setting);
        let steps: Vec<Step> = model
            .machine
            .asks
            .iter()
            .zip(changes)
            .filter_map(|(ask, by)| {
                let change = by.filter(|b| b.abs() > 1e-9)?;
                Some(Step {
                    ask: ask.name.clone(),
                    reading: model.reading(ask.reading),
                    change,
                })
            })
            .collect();
        if steps.is_empty() {
            continue;
        }
        let now = stand.settings.get(setting).copied().unwrap_or(0.0);
        all.push(Effect {
            words: super::turns::words(model, setting, now, now + step),
            now,
            setting: quantity,
            steps,
        });
    }
    all
}
