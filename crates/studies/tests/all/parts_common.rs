//! Looking things up in what `parts` says.
#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use crate::common::model;
use studies::parts::answers::{Checked, Item, Kind, Parts};
use studies::parts::parts;
use studies::{Finding, Severity};

pub(crate) fn study(text: &str) -> Parts {
    parts(&model(text))
}

/// The first element of a kind.
pub(crate) fn item(parts: &Parts, kind: Kind) -> &Item {
    parts.items.iter().find(|i| i.kind == kind).unwrap()
}

/// The check of this name, else the first whose name begins so.
pub(crate) fn check<'a>(item: &'a Item, what: &str) -> &'a Checked {
    let checks = &item.checks;
    let exact = checks.iter().find(|c| c.what == what);
    let found = exact.or_else(|| checks.iter().find(|c| c.what.starts_with(what)));
    found.unwrap_or_else(|| panic!("{what}: {checks:#?}"))
}

pub(crate) fn faults(parts: &Parts) -> Vec<&Finding> {
    let of = parts.findings.iter();
    of.filter(|f| f.severity == Severity::Fault).collect()
}

/// The one fault, which says this and what to change.
pub(crate) fn only_fault(parts: &Parts, says: &str, tries: &str) {
    let faults = faults(parts);
    assert_eq!(faults.len(), 1, "{faults:#?}");
    assert!(faults[0].sentence.contains(says), "{}", faults[0].sentence);
    let advice = faults[0].what_to_try.as_deref().unwrap_or_default();
    assert!(advice.contains(tries), "{advice}");
}
