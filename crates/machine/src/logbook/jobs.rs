//! Jobs that were run.

use super::Job;
use super::head::{Base, date, drives, measure_of, plus_minus, settings, text};
use crate::desk::{Desk, Kind};
use crate::fields::{Entry, Fields, Shape, Value};

const SHAPE: Shape = Shape {
    a: "a job",
    keys: &[
        ("name", "name = \"bridle leather, oak leaf die\""),
        ("note", "note = \"two strokes\""),
        ("on", "on = \"2026-03-14\""),
        ("at", "at = { set = \"41 deg\" }"),
        ("set", "set = { front-rod = \"half turn\" }"),
        ("reads", "reads = { gap = \"0.36 mm\" }"),
        ("uncertainty", "uncertainty = \"0.02 mm\""),
    ],
};

pub(super) fn one(desk: &mut Desk, base: &Base, entry: &Entry) -> Option<Job> {
    let fields = Fields::new(desk, "this job".to_owned(), &SHAPE, entry)?;
    let name = fields
        .need(desk, "name")
        .and_then(|f| f.text(desk, "a text in quotes"));
    let mut reads = Vec::new();
    let mut measures = Vec::new();
    if let Some(field) = fields.get("reads") {
        if matches!(field.node.value, Value::Table(_)) {
            for entry in field.node.entries() {
                let Some(reading) = desk.resolve(Kind::Reading, entry.name, entry.place) else {
                    continue;
                };
                let measure = measure_of(base, reading);
                measures.push(measure);
                let value = field.inner(entry.node).quantity(desk, measure);
                reads.extend(value.map(|w| (reading, w.value)));
            }
        } else {
            field.wrong(desk, "readings with their values in braces");
        }
    }
    let uncertainty = match (fields.get("uncertainty"), measures.first()) {
        (Some(field), Some(&measure)) => plus_minus(desk, &field, measure),
        _ => None,
    };
    let job = Job {
        name: name.unwrap_or_default().to_owned(),
        note: text(desk, &fields, "note"),
        on: date(desk, &fields),
        at: drives(desk, base, &fields),
        set: settings(desk, base, &fields),
        reads,
        uncertainty,
        place: fields.header,
    };
    name.map(|_| job)
}
