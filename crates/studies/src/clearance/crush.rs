//! Gaps that close on fingers and hands: one rule for `check`, the page and `cycle`.

use crate::answers::{Finding, Inside, Severity};
use crate::assemble::{Gauge, Model};
use crate::run::{Bench, Here};
use crate::say;
use elements::hand::crush_gap;
use machine::model::Measures;
use machine::work::{By, LoadKind};

/// Nothing gets into what never opens further than this, mm: the least opening through which a finger tip goes (ISO 13857, table 4).
const TIP: f64 = 4.0;
/// How wide a gap has to open until each part of the body gets into it, mm (common practice: as wide as the least gap of the next smaller part).
const ENTERS: [(&str, f64); 6] = [
    ("finger", TIP),
    ("hand, wrist, fist", 25.0),
    ("arm", 100.0),
    ("leg", 120.0),
    ("head", 180.0),
    ("body", 300.0),
];
/// What besides them gets in where a foot works the machine.
const FEET: [(&str, f64); 2] = [("toes", 25.0), ("foot", 50.0)];
/// Rounds of the drives, one after the other, and places of a drive from which they set out.
const ROUNDS: usize = 6;
const SETS_OUT: usize = 5;
/// A reading that changes by less has settled, mm.
const SETTLED: f64 = 1e-9;

/// Parts of the body that get into a gap that opens so far and are crushed as it closes, with the least gaps of ISO 13854.
pub(super) fn crushed(model: &Model, least: f64, most: f64) -> Vec<(&'static str, f64)> {
    let gap = |part: &str| crush_gap(part).unwrap_or(0.0);
    let feet = model.machine.work.pushes.iter().any(|p| p.by == By::Foot);
    ENTERS
        .iter()
        .chain(FEET.iter().filter(|_| feet))
        .filter(|(part, from)| least < gap(part) && most > *from && most - least > 1e-6)
        .map(|(part, _)| (*part, gap(part)))
        .collect()
}

/// Readings in which something can be crushed: gaps, and what work is squeezed in.
pub(crate) fn gaps(model: &Model) -> Vec<usize> {
    let squeezed = |r: usize| {
        let mut loads = model.machine.work.loads.iter();
        loads.any(|l| matches!(l.kind, LoadKind::Squeezes { reading, .. } if reading == r))
    };
    (0..model.machine.readings.len())
        .filter(|&r| {
            (squeezed(r) || matches!(model.machine.readings[r].measures, Measures::Gap(_)))
                && model.reading(r).inside == Inside::Millimetre
                && matches!(model.gauges.get(r), Some(Gauge::Pose(_)))
        })
        .collect()
}

/// Least and greatest of a reading over drives: each taken to its exact extreme in turn until nothing gains, from several places of those that do
/// not go round. None where no drive moves it.
pub(crate) fn ends(
    bench: &mut Bench<'_>,
    home: &Here,
    reading: usize,
    drives: &[usize],
) -> Option<[f64; 2]> {
    let drives: Vec<usize> = drives
        .iter()
        .copied()
        .filter(|&d| bench.depends(reading, d))
        .collect();
    if drives.is_empty() {
        return None;
    }
    let mut from = vec![home.clone()];
    if drives.len() > 1 {
        for &drive in &drives {
            if bench.model.machine.drives[drive].whole_turn {
                continue;
            }
            let Some((_, span)) = bench.span(home, drive) else {
                continue;
            };
            for i in 0..SETS_OUT {
                let share = i as f64 / (SETS_OUT - 1) as f64;
                let at = span.low.at + share * (span.high.at - span.low.at);
                from.extend(bench.advance(home, drive, at).ok());
            }
        }
    }
    let mut found = [f64::INFINITY, f64::NEG_INFINITY];
    for (k, greatest) in [(0, false), (1, true)] {
        let sets_out = if greatest { &from[..1] } else { &from[..] };
        for start in sets_out {
            let mut here = start.clone();
            let mut last = f64::NAN;
            for _ in 0..ROUNDS {
                for &drive in &drives {
                    if let Some(extreme) = bench.extreme(reading, &here, drive, greatest) {
                        here = extreme.here;
                    }
                }
                let value = bench.value(reading, &here)?;
                found[k] = if greatest {
                    found[k].max(value)
                } else {
                    found[k].min(value)
                };
                if drives.len() == 1 || (value - last).abs() <= SETTLED {
                    break;
                }
                last = value;
            }
        }
    }
    found.iter().all(|f| f.is_finite()).then_some(found)
}

/// What is said of a gap that crushes something; none of one that does not.
pub(crate) fn finding(model: &Model, name: &str, ends: [f64; 2]) -> Option<Finding> {
    let reading = model.machine.readings.iter().find(|r| r.name == name)?;
    let limits = crushed(model, ends[0], ends[1]);
    let limit = limits.iter().map(|l| l.1).reduce(f64::max)?;
    let length = |x: f64| say::value(x, reading.unit);
    let asks: Vec<String> = limits
        .iter()
        .map(|(what, gap)| format!("{what} {}", say::short(*gap, reading.unit)))
        .collect();
    let runs_in = ends[0] < -1e-6;
    let sentence = if runs_in {
        format!(
            "the faces of {} would run {} into one another, and crush what is between them; the least gaps of ISO 13854 are {}",
            reading.name,
            length(-ends[0]),
            asks.join(", ")
        )
    } else {
        format!(
            "{} closes to {} and opens to {}: it crushes what is in it; the least gaps of ISO 13854 are {}",
            reading.name,
            length(ends[0]),
            length(ends[1]),
            asks.join(", ")
        )
    };
    Some(Finding {
        severity: Severity::Caution,
        sentence,
        number: Some(ends[0]),
        margin: Some(ends[0] - limit),
        inside: Some(Inside::Millimetre),
        what_to_try: Some(String::from(if runs_in {
            "shorten the range of the drive or set the faces farther apart; keep hands out and guard it: local codes and guarding rules come first"
        } else {
            "a guard, or both hands on the drive; local codes and guarding rules come first"
        })),
        about: format!("reading.{}", reading.name),
        place: reading.place,
    })
}
