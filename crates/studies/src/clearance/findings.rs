//! What closes on a hand, and what a machinist would say of it.

use super::{Crushing, HAND, PairClearance, TIP, TOLD};
use crate::answers::{Finding, Quantity, Severity};
use crate::assemble::Model;
use crate::say;
use elements::hand::crush_gap;
use quantity::Unit;

/// How wide a gap has to open until each part of the body gets into it, mm (common practice: as wide as the least gap of the next smaller part).
const ENTERS: [(&str, f64); 6] = [
    ("finger", TIP),
    ("hand, wrist, fist", 25.0),
    ("arm", HAND),
    ("leg", 120.0),
    ("head", 180.0),
    ("body", 300.0),
];

/// Parts of the body that get into a gap that opens so far and are crushed as it closes, with the least gaps of ISO 13854.
fn crushed(least: f64, most: f64) -> Vec<(&'static str, f64)> {
    let gap = |part: &str| crush_gap(part).unwrap_or(0.0);
    ENTERS
        .iter()
        .filter(|(part, from)| least < gap(part) && most > *from && most - least > 1e-6)
        .map(|(part, _)| (*part, gap(part)))
        .collect()
}

/// What a gap that closes and opens so far crushes, in words; none when nothing gets into it or all of that has room.
pub(crate) fn crush_words(gap: &Quantity, [least, most]: [f64; 2]) -> Option<String> {
    let limits = crushed(least, most);
    let asks: Vec<String> = limits
        .iter()
        .map(|(what, gap)| format!("{what} {gap:.0} mm"))
        .collect();
    (!asks.is_empty()).then(|| {
        format!(
            "{} closes to {} and opens to {}: it crushes what is in it; the least gaps of ISO 13854 are {}",
            gap.name,
            say::of(gap, least),
            say::of(gap, most),
            asks.join(", ")
        )
    })
}

pub(super) fn crushing(model: &Model, gaps: &[usize], ends: &[[f64; 2]]) -> Vec<Crushing> {
    let mut all = Vec::new();
    for (&gap, &[least, most]) in gaps.iter().zip(ends) {
        let on: Vec<String> = crushed(least, most)
            .into_iter()
            .map(|(what, _)| what.to_owned())
            .collect();
        if !on.is_empty() {
            all.push(Crushing {
                gap: model.reading(gap),
                ends: [least, most],
                on,
            });
        }
    }
    all
}

pub(super) fn findings(pairs: &[PairClearance], crushing: &[Crushing]) -> Vec<Finding> {
    let mut all = Vec::new();
    for pair in pairs.iter().filter(|p| p.least < 0.0) {
        let [a, b] = &pair.parts;
        let at: Vec<String> = pair
            .drives
            .iter()
            .map(|h| say::at(&h.quantity, h.value))
            .collect();
        all.push(Finding {
            severity: if pair.layer_known {
                Severity::Fault
            } else {
                Severity::Caution
            },
            sentence: format!(
                "{a} and {b} meet at {}: one has to stand {} farther off to be free of the other there{}",
                at.join(", "),
                say::value(-pair.least, Unit::Millimetre),
                if pair.layer_known {
                    ""
                } else {
                    ", if they lie in one layer; no `station` says otherwise"
                }
            ),
            number: Some(pair.least),
            margin: Some(pair.least),
            inside: Some(crate::answers::Inside::Millimetre),
            what_to_try: Some(if pair.layer_known {
                format!("a smaller end on {a} or {b}, or another layer for one of them")
            } else {
                format!(
                    "write the `station` of the points of {a} and {b}, if one runs beside the other"
                )
            }),
            about: a.clone(),
            place: machine::model::Place::default(),
        });
    }
    let close: Vec<&PairClearance> = pairs
        .iter()
        .filter(|p| p.least >= 0.0)
        .filter(|p| p.opens.is_some_and(|o| !crushed(p.least, o).is_empty()))
        .collect();
    if let Some(first) = close.first() {
        let told: Vec<String> = close
            .iter()
            .take(TOLD)
            .map(|p| {
                format!(
                    "{} and {} to {}",
                    p.parts[0],
                    p.parts[1],
                    say::value(p.least, Unit::Millimetre)
                )
            })
            .collect();
        let more = close.len().saturating_sub(TOLD);
        let more = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        all.push(Finding {
            severity: Severity::Caution,
            sentence: format!(
                "parts close on one another and open again: {}{more}; the least gaps of ISO 13854 are 25 mm for a finger and 100 mm for a hand",
                told.join(", ")
            ),
            number: Some(first.least),
            margin: Some(first.least - 25.0),
            inside: Some(crate::answers::Inside::Millimetre),
            what_to_try: Some(String::from(
                "a guard over them; local codes and guarding rules come first",
            )),
            about: first.parts[0].clone(),
            place: machine::model::Place::default(),
        });
    }
    for crush in crushing {
        let Some(sentence) = crush_words(&crush.gap, crush.ends) else {
            continue;
        };
        let limits = crushed(crush.ends[0], crush.ends[1]);
        let limit = limits.iter().map(|l| l.1).fold(0.0, f64::max);
        all.push(Finding {
            severity: Severity::Caution,
            sentence,
            number: Some(crush.ends[0]),
            margin: Some(crush.ends[0] - limit),
            inside: Some(crate::answers::Inside::Millimetre),
            what_to_try: Some(String::from(
                "a guard, or both hands on the drive; local codes and guarding rules come first",
            )),
            about: format!("reading.{}", crush.gap.name),
            place: machine::model::Place::default(),
        });
    }
    all
}
