//! What closes on a hand, and what a machinist would say of it.

use super::crush::{crushed, finding as crush_finding};
use super::{Crushing, PairClearance, TOLD};
use crate::answers::{Finding, Severity};
use crate::assemble::Model;
use crate::say;
use quantity::Unit;

pub(super) fn crushing(model: &Model, gaps: &[usize], ends: &[[f64; 2]]) -> Vec<Crushing> {
    let mut all = Vec::new();
    for (&gap, &[least, most]) in gaps.iter().zip(ends) {
        let on: Vec<String> = crushed(model, least, most)
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

pub(super) fn findings(
    model: &Model,
    pairs: &[PairClearance],
    crushing: &[Crushing],
) -> Vec<Finding> {
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
        .filter(|p| {
            p.opens
                .is_some_and(|o| !crushed(model, p.least, o).is_empty())
        })
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
        all.extend(crush_finding(model, &crush.gap.name, crush.ends));
    }
    all
}
