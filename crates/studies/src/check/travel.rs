//! How far every drive goes, and what ends it.

use super::{numbered, plain};
use crate::answers::{EndKind, Finding, Inside, Severity};
use crate::assemble::{Model, Rule};
use crate::call::Sweep;
use crate::run::{Bound, Here, Span, Track, near};
use crate::say;

/// Stops and slot ends that the drawing is beyond already, and drives drawn outside their range.
pub(super) fn passed_as_drawn(model: &Model, here: &Here) -> Vec<Finding> {
    let m = &model.machine;
    let mut findings = Vec::new();
    for i in model.passed(&here.stand, &here.params, &here.poses) {
        let limit = &model.limits[i];
        let beyond = -limit.room(model, &here.stand.settings, &here.params, &here.poses);
        let (about, place, unit) = match limit.rule {
            Rule::Stop { stop, .. } => {
                let s = &m.stops[stop];
                (
                    format!("stop.{}", s.name),
                    s.place,
                    m.readings[s.reading].unit,
                )
            }
            Rule::Straight { slot, .. } | Rule::Arc { slot, .. } => {
                let s = &m.slots[slot];
                (format!("slot.{}", s.name), s.place, m.unit)
            }
        };
        let sentence = format!(
            "{} is passed as drawn, by {}",
            limit.name(model),
            say::value(beyond, unit)
        );
        let mut finding = numbered(
            Severity::Fault,
            sentence,
            beyond,
            Inside::of(unit),
            about,
            place,
        );
        finding.margin = Some(-beyond);
        finding.what_to_try = Some(String::from(
            "draw the machine where it can stand, or move the limit",
        ));
        findings.push(finding);
    }
    for (i, drive) in m.drives.iter().enumerate() {
        let (Some([a, b]), false) = (drive.range, drive.whole_turn) else {
            continue;
        };
        if drive.drawn < a.min(b) - near(a) || drive.drawn > a.max(b) + near(b) {
            let q = model.drive(i);
            let sentence = format!(
                "drive {} is drawn at {}, outside its range from {} to {}",
                drive.name,
                say::short(drive.drawn, q.unit),
                say::short(a, q.unit),
                say::short(b, q.unit)
            );
            let about = format!("drive.{}", drive.name);
            findings.push(numbered(
                Severity::Caution,
                sentence,
                drive.drawn,
                q.inside,
                about,
                drive.place,
            ));
        }
    }
    findings
}

/// Where the reach of a drive falls short of what is asked for: of the values of a sweep, else of its range.
pub(crate) fn falls_short(model: &Model, sweep: &Sweep, span: &Span) -> Vec<Finding> {
    let Some(d) = model.machine.drives.get(sweep.drive) else {
        return Vec::new();
    };
    let asked = [sweep.from, sweep.to];
    if d.whole_turn && !span.round && asked == [None, None] {
        return vec![no_whole_turn(model, sweep.drive, span)];
    }
    let range = d.range.filter(|_| !d.whole_turn);
    let range = range.map_or([None; 2], |[a, b]| [Some(a.min(b)), Some(a.max(b))]);
    let mut asked: Vec<f64> = asked.into_iter().flatten().collect();
    asked.sort_by(f64::total_cmp);
    let low = asked
        .first()
        .copied()
        .filter(|_| asked.len() == 2 || sweep.from.is_some());
    let high = asked
        .last()
        .copied()
        .filter(|_| asked.len() == 2 || sweep.to.is_some());
    let mut found = Vec::new();
    if let Some(wanted) = low.or(range[0]).filter(|w| *w < span.low.at - NEAR) {
        found.push(short_of(model, sweep.drive, &span.low, wanted));
    }
    if let Some(wanted) = high.or(range[1]).filter(|w| *w > span.high.at + NEAR) {
        found.push(short_of(model, sweep.drive, &span.high, wanted));
    }
    found
}

/// A dead centre is found as near as this, mm or rad.
const NEAR: f64 = 1e-9;

/// A whole turn that is cut short.
fn no_whole_turn(model: &Model, drive: usize, span: &Span) -> Finding {
    let d = &model.machine.drives[drive];
    let q = model.drive(drive);
    let ends: Vec<String> = [&span.low, &span.high]
        .iter()
        .filter(|b| b.kind != EndKind::WholeTurn)
        .map(|b| format!("at {} {}", say::short(b.at, q.unit), b.sentence()))
        .collect();
    let sentence = format!(
        "drive {} cannot make the whole turn: {}",
        d.name,
        ends.join(", ")
    );
    let goes = span.high.at - span.low.at;
    let about = format!("drive.{}", d.name);
    let mut f = numbered(Severity::Fault, sentence, goes, q.inside, about, d.place);
    f.margin = Some(goes - std::f64::consts::TAU);
    f
}

/// What the reach of one drive is, and where it falls short of its range.
pub(super) fn reach(model: &Model, drive: usize, track: &Track, span: &Span) -> Vec<Finding> {
    let d = &model.machine.drives[drive];
    let q = model.drive(drive);
    let about = || format!("drive.{}", d.name);
    let mut findings = Vec::new();
    let ranged = if d.whole_turn { None } else { d.range };
    if d.whole_turn && !span.round {
        findings.push(no_whole_turn(model, drive, span));
    }
    if let Some([a, b]) = ranged {
        for (bound, wanted) in [(&span.low, a.min(b)), (&span.high, a.max(b))] {
            let short = (bound.at - wanted).abs();
            let falls_short = if std::ptr::eq(bound, &raw const span.low) {
                bound.at > wanted
            } else {
                bound.at < wanted
            };
            if !falls_short || short <= NEAR {
                continue;
            }
            findings.push(short_of(model, drive, bound, wanted));
        }
    }
    if ranged.is_none() && !d.whole_turn {
        let sentence = if span.round {
            format!(
                "drive {} goes round: nothing stops it in a whole turn",
                d.name
            )
        } else {
            let end = |b: &Bound| match b.kind {
                EndKind::Open => String::from("on without end"),
                EndKind::WholeTurn => say::short(b.at, q.unit),
                _ => format!("{} ({})", say::short(b.at, q.unit), b.cause),
            };
            format!(
                "drive {} has no range and goes from {} to {}",
                d.name,
                end(&span.low),
                end(&span.high)
            )
        };
        findings.push(plain(Severity::Note, sentence, None, about(), d.place));
    }
    for at in track.change_points(model) {
        if at < span.low.at || at > span.high.at {
            continue;
        }
        let sentence = format!(
            "drive {} passes a change point at {}: {}, and the machine may go on either way",
            d.name,
            say::short(at, q.unit),
            track.change_name(model, at)
        );
        let mut f = numbered(Severity::Caution, sentence, at, q.inside, about(), d.place);
        let try_this = "carry it through with a flywheel, or with a second linkage set off by a quarter turn (common practice)";
        f.what_to_try = Some(String::from(try_this));
        findings.push(f);
    }
    findings
}

fn short_of(model: &Model, drive: usize, bound: &Bound, wanted: f64) -> Finding {
    let d = &model.machine.drives[drive];
    let q = model.drive(drive);
    // A stop is meant to stop; everything else that ends a range early is in the way.
    let severity = if bound.kind == EndKind::Stop {
        Severity::Caution
    } else {
        Severity::Fault
    };
    let sentence = format!(
        "drive {} does not reach {}: at {} {}",
        d.name,
        say::short(wanted, q.unit),
        say::short(bound.at, q.unit),
        bound.sentence()
    );
    let mut f = numbered(
        severity,
        sentence,
        bound.at,
        q.inside,
        format!("drive.{}", d.name),
        d.place,
    );
    f.margin = Some(-(bound.at - wanted).abs());
    f.what_to_try = Some(match bound.kind {
        EndKind::Stop => format!(
            "set the range of drive {} to the stop, or move the stop",
            d.name
        ),
        EndKind::SlotEnd => String::from("lengthen the slot, or shorten the range"),
        // Drawn in its dead centre the drive has no side to go to; no other length helps that.
        EndKind::DeadCentre if (bound.at - d.drawn).abs() <= 1e-9 => {
            String::from("draw the machine off the dead centre, or drive another part")
        }
        EndKind::DeadCentre if bound.cause.ends_with("stand in line") => {
            String::from("lengthen the shorter of the two, or shorten the range")
        }
        _ => String::from("shorten the range"),
    });
    f
}
