//! The scale of a drive: marks for round values of a reading at their true, uneven places.

use super::answers::Mark;
pub use super::answers::{Goes, Length, Scale, Shape};
use super::built::Built;
use super::sheet::round_step;
use crate::answers::Inside;
use crate::assemble::{Model, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, crossing, places};
use crate::say;
use quantity::{Kind, Unit};
use std::f64::consts::TAU;

/// Marks nearer than this run together to the eye, mm (common practice).
const NEAREST: f64 = 0.8;
/// Room for a digit of a number of 2.5 mm height, mm.
const DIGIT: f64 = 1.9;
/// Most marks on one scale.
const MOST: usize = 2000;
/// Divisions that differ by less than this share may carry a vernier.
const EVEN: f64 = 0.02;

/// What scale is wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Index of the reading.
    pub reading: usize,
    /// Index of the drive.
    pub drive: usize,
    /// Radius at which the marks stand, mm; for a drum, half its diameter. A slide needs none.
    pub radius: f64,
    /// Step of the marks in the unit of the reading; none for the finest round one that can be read.
    pub step: Option<f64>,
    /// What it is laid on.
    pub shape: Shape,
    /// What goes with the drive.
    pub goes: Goes,
    /// From where the drive comes to a mark: +1 from below, −1 from above, 0 from either side.
    pub coming: f64,
    /// Thickness of the strip on a drum, mm.
    pub strip: f64,
}

/// The scale, on the machine as built or, without one, as drawn.
///
/// # Errors
/// The drive does not move the reading, the machine cannot be brought there, a step that gives no mark or too many.
pub fn scale(
    model: &Model,
    built: Option<&Built>,
    stand: &Stand,
    wanted: &Wanted,
) -> Result<Scale, Refusal> {
    let of = built.map_or(model, |b| &b.model);
    let mut bench = Bench::new(of);
    let (reading, drive) = (of.reading(wanted.reading), of.drive(wanted.drive));
    if !bench.depends(wanted.reading, wanted.drive)
        || super::system::run_over(of, wanted.reading).contains(&wanted.drive)
    {
        return Err(Refusal::new(
            format!(
                "{} does not move {}, so it can carry no scale for it",
                drive.name, reading.name
            ),
            "name another drive with --drive, or another reading",
        ));
    }
    let turns = drive.inside == Inside::Radian;
    if turns && !(wanted.radius.is_finite() && wanted.radius > 0.0) {
        return Err(Refusal::new(
            "a scale of a turning drive needs a radius",
            "write it as --radius \"60 mm\"",
        ));
    }
    if turns && wanted.strip > 0.25 * wanted.radius {
        return Err(Refusal::new(
            format!(
                "a strip {} thick does not go round a drum of {}",
                say::short(wanted.strip, quantity::Unit::Millimetre),
                say::short(2.0 * wanted.radius, quantity::Unit::Millimetre)
            ),
            "--strip is the thickness of what is wrapped round it, as in 0.1 mm",
        ));
    }
    // A strip laid round a drum is read at its outside and cut along its middle.
    let radius = match (turns, wanted.shape) {
        (false, _) => 1.0,
        (true, Shape::Drum) => wanted.radius + wanted.strip / 2.0,
        (true, _) => wanted.radius,
    };
    let here = bench.bring(stand)?;
    let refused = || {
        Refusal::new(
            format!("{} cannot be followed over {}", reading.name, drive.name),
            "",
        )
    };
    let (track, span) = bench.span(&here, wanted.drive).ok_or_else(refused)?;
    let mut there = here.clone();
    let backlash = built.and_then(|b| {
        let found = b.backlash.iter();
        let of = found.filter(|l| (l.0, l.1) == (wanted.reading, wanted.drive));
        of.map(|l| l.2).next()
    });
    let lost = backlash.unwrap_or(0.0);
    let (drift, drift_sd) = built.map_or((0.0, 0.0), |b| b.drifted(wanted.reading));
    // What is read at a place besides what the dimensions give, and what it may be off by besides.
    let besides = drift + 0.5 * lost * wanted.coming;
    let either = if wanted.coming == 0.0 {
        0.5 * lost.abs()
    } else {
        0.0
    };
    let band =
        |b: &Built, by: &nalgebra::DVector<f64>| 2.0 * b.deviation(by).hypot(drift_sd) + either;
    let mut known: Vec<(f64, f64)> = Vec::new();
    for place in places(&track, &span) {
        let at = place.at(&track);
        let read = bench
            .slope_on(wanted.reading, &track, at, &mut there)
            .ok_or_else(refused)?;
        known.push((at, read.value + besides));
    }
    let unit = reading.unit;
    let step = match wanted.step {
        Some(step) if step.is_finite() && step > 0.0 => unit.from_inside(step),
        Some(_) => {
            return Err(Refusal::new(
                "a step that is not above zero gives no marks",
                "write it as --step \"0.05 mm\"",
            ));
        }
        None => {
            // Marks finer than twice what they can be trusted are for show.
            let trust = built.and_then(|b| {
                let (_, by) = b.reading(&mut bench, wanted.reading, &here)?;
                Some(unit.from_inside(band(b, &by)))
            });
            finest(&known, radius, unit).max(trust.map_or(0.0, |t| round_step(2.0 * t)))
        }
    };
    let (low, high) = known
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), k| {
            (l.min(k.1), h.max(k.1))
        });
    let (low, high) = (unit.from_inside(low), unit.from_inside(high));
    let count = (high - low) / step;
    if !(1.0..=MOST as f64).contains(&count) {
        return Err(Refusal::new(
            format!(
                "{} runs from {} to {}: a step of {step} {} makes {:.0} marks",
                reading.name,
                say::value(unit.to_inside(low), unit),
                say::value(unit.to_inside(high), unit),
                unit.symbol(),
                count.max(0.0).floor(),
            ),
            "choose a step that gives 2 to 2000 marks",
        ));
    }
    let mut marks: Vec<Mark> = Vec::new();
    let (first, last) = (
        (low / step - 1e-9).ceil() as i64,
        (high / step + 1e-9).floor() as i64,
    );
    for k in first..=last {
        let value = unit.to_inside(k as f64 * step);
        for pair in known.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let (fa, fb) = (a.1 - value, b.1 - value);
            let slack = 1e-9 * (high - low).abs();
            // A value at a sample belongs to the piece that begins there; the last piece takes its end too.
            let inside = fa * fb < 0.0
                || fa.abs() <= slack
                || (fb.abs() <= slack && (b.0 - known[known.len() - 1].0).abs() < 1e-12);
            if !inside {
                continue;
            }
            let at = if fa.abs() <= slack {
                a.0
            } else if fb.abs() <= slack {
                b.0
            } else {
                crossing((a.0, fa), (b.0, fb), |x| {
                    bench
                        .slope_on(wanted.reading, &track, x, &mut there)
                        .map(|r| r.value + besides - value)
                })
            };
            if marks.iter().any(|m| (m.at - at).abs() < 1e-9) {
                continue;
            }
            let read = bench
                .slope_on(wanted.reading, &track, at, &mut there)
                .ok_or_else(refused)?;
            let plus_minus = built.and_then(|b| {
                let (_, by) = b.reading(&mut bench, wanted.reading, &there)?;
                Some(band(b, &by))
            });
            let rate = read.slope.filter(|s| *s != 0.0).map(f64::abs);
            marks.push(Mark {
                number: k,
                value,
                at,
                along: at * radius,
                turned: 0.0,
                head: None,
                length: Length::Short,
                label: None,
                plus_minus,
                place_plus_minus: plus_minus.zip(rate).map(|(p, r)| p / r),
            });
        }
    }
    marks.sort_by(|a, b| a.at.total_cmp(&b.at));
    let still = standing_still(&mut marks);
    if marks.len() < 2 {
        return Err(Refusal::new(
            format!(
                "a step of {} gives fewer than two marks",
                say::short(unit.to_inside(step), unit)
            ),
            "choose a finer step",
        ));
    }
    letter(&mut marks, step);
    let first = marks[0].at;
    for m in &mut marks {
        m.turned = m.at - first;
        m.head = turns.then(|| m.turned / TAU * 40.0);
    }
    let mut findings = findings(&marks, step, unit, &drive, radius, of.machine.unit);
    for [from, to] in still {
        findings.push(format!(
            "{} stands still from {} to {}: marks stand where it leaves and comes back",
            reading.name,
            say::value(from, drive.unit),
            say::value(to, drive.unit)
        ));
    }
    findings.extend(coming(&reading, &drive, lost, wanted.coming));
    Ok(Scale {
        machine: of.machine.name.clone(),
        as_built: built.is_some(),
        sense: of.machine.drives[wanted.drive].sense,
        vernier: vernier(&marks),
        reading,
        drive,
        held: of.held(stand, Some(wanted.drive)),
        shape: wanted.shape,
        goes: wanted.goes,
        backlash,
        coming: wanted.coming,
        radius: turns.then_some(wanted.radius),
        length: (marks[marks.len() - 1].along - marks[0].along).abs(),
        around: (turns && wanted.shape == Shape::Drum).then_some(TAU * radius),
        step: unit.to_inside(step),
        marks,
        findings,
    })
}

/// Where a reading stands still there is nothing to divide: of marks with one value that follow each other the first and the last stay. Gives
/// from where to where.
fn standing_still(marks: &mut Vec<Mark>) -> Vec<[f64; 2]> {
    let mut still = Vec::new();
    let mut kept: Vec<Mark> = Vec::with_capacity(marks.len());
    for run in marks.chunk_by(|a, b| a.number == b.number) {
        match run {
            [first, _, .., last] => {
                still.push([first.at, last.at]);
                kept.extend([first.clone(), last.clone()]);
            }
            few => kept.extend(few.iter().cloned()),
        }
    }
    *marks = kept;
    still
}

/// Distances of neighbours along the scale, but for those with one value, between which nothing is read.
fn gaps(marks: &[Mark]) -> impl Iterator<Item = f64> {
    let apart = |w: &&[Mark]| w[0].number != w[1].number;
    let gap = |w: &[Mark]| (w[1].along - w[0].along).abs();
    marks.windows(2).filter(apart).map(gap)
}

/// How to come to the marks.
fn coming(
    reading: &crate::Quantity,
    drive: &crate::Quantity,
    lost: f64,
    coming: f64,
) -> Option<String> {
    let side = |sign: f64| if sign > 0.0 { "below" } else { "above" };
    if coming != 0.0 {
        return Some(format!(
            "laid for {} coming to the mark from {}: always set it so",
            drive.name,
            side(coming)
        ));
    }
    (lost != 0.0).then(|| {
        format!(
            "{} of {} is lost between coming from below and from above; half of it is in the ±; marks that are laid for coming from one side alone do without it",
            say::of(reading, lost.abs()),
            reading.name
        )
    })
}

/// The finest round step whose marks stand apart where they are closest.
fn finest(known: &[(f64, f64)], radius: f64, unit: Unit) -> f64 {
    let steepest = known
        .windows(2)
        .filter(|w| w[1].0 > w[0].0)
        .map(|w| unit.from_inside((w[1].1 - w[0].1).abs()) / ((w[1].0 - w[0].0) * radius))
        .fold(0.0, f64::max);
    // The chord of two samples is a little less than the steepest rate between them.
    round_step(1.05 * NEAREST * steepest)
}

/// Lengths of lines and numbers: every tenth, fifth or second mark is numbered, as far as the numbers have room.
fn letter(marks: &mut [Mark], step: f64) {
    let decimals = (-(step * 1.000_001).log10().floor()).max(0.0) as usize;
    let text = |k: i64| format!("{:.decimals$}", k as f64 * step);
    let room = |every: i64| {
        let numbered: Vec<&Mark> = marks.iter().filter(|m| m.number % every == 0).collect();
        let width = numbered
            .iter()
            .map(|m| text(m.number).chars().count() as f64 * DIGIT)
            .fold(0.0, f64::max);
        numbered.len() > 1
            && numbered
                .windows(2)
                .all(|w| (w[1].along - w[0].along).abs() >= width + 1.0)
    };
    let every = [2, 5, 10, 20, 50, 100, 200, 500, 1000]
        .into_iter()
        .find(|e| room(*e))
        .unwrap_or(10);
    for m in marks.iter_mut() {
        m.length = if m.number % every == 0 {
            m.label = Some(shorter(&text(m.number)));
            Length::Long
        } else if every % 2 == 0 && m.number % (every / 2) == 0 {
            Length::Middle
        } else {
            Length::Short
        };
    }
}

/// Without idle zeros: "0.50" as "0.5".
fn shorter(text: &str) -> String {
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        text
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// Where divisions are even, ten of a vernier take the room of nine: their length along the scale, mm.
fn vernier(marks: &[Mark]) -> Option<f64> {
    let gaps: Vec<f64> = gaps(marks).collect();
    let (least, most) = gaps
        .iter()
        .fold((f64::INFINITY, 0.0_f64), |(l, m), g| (l.min(*g), m.max(*g)));
    (gaps.len() >= 9 && most - least <= EVEN * most && least >= 1.0)
        .then(|| 9.0 * gaps.iter().sum::<f64>() / gaps.len() as f64)
}

fn findings(
    marks: &[Mark],
    step: f64,
    unit: Unit,
    drive: &crate::Quantity,
    radius: f64,
    length: Unit,
) -> Vec<String> {
    let far = |mm: f64| say::value(mm, length);
    let mut all = Vec::new();
    let (least, most) =
        gaps(marks).fold((f64::INFINITY, 0.0_f64), |(l, m), g| (l.min(g), m.max(g)));
    if least < 0.99 * NEAREST {
        all.push(format!("the closest marks stand {} apart, which no eye divides; take a coarser step or a greater radius", far(least)));
    }
    if most > 1.5 * least {
        all.push(format!(
            "divisions run from {} to {} along the scale, so no vernier fits them; divide by eye",
            far(least),
            far(most)
        ));
    }
    let step = unit.to_inside(step);
    if let Some(worst) = marks.iter().filter_map(|m| m.plus_minus).reduce(f64::max) {
        let place = marks
            .iter()
            .filter_map(|m| m.place_plus_minus)
            .reduce(f64::max)
            .unwrap_or(0.0);
        let along = if drive.unit.kind() == Kind::Angle {
            format!(", {} along the scale", far(place * radius))
        } else {
            String::new()
        };
        if worst > 0.501 * step {
            all.push(format!("marks are sure to ± {} only{along}: more than half a division; read more on the machine, or take a coarser step", say::value(worst, unit)));
        } else {
            all.push(format!(
                "marks are sure to ± {}{along}",
                say::value(worst, unit)
            ));
        }
    } else {
        all.push(
            "drawn dimensions are taken as true; on the machine as built the marks shift"
                .to_owned(),
        );
    }
    all
}
