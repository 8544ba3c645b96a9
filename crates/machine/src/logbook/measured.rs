//! Dimensions as measured.

use super::head::{Base, date, plus_minus, text};
use super::{Known, Measured};
use crate::desk::Desk;
use crate::diagnostic::Diagnostic;
use crate::fields::{Entry, Field, Fields, Shape};
use crate::words::{LISTED, clip, list_of};

const SHAPE: Shape = Shape {
    a: "a measured dimension",
    keys: &[
        ("dimension", "dimension = \"rod front: length\""),
        ("value", "value = \"180.04 mm\""),
        ("uncertainty", "uncertainty = \"0.02 mm\""),
        ("with", "with = \"caliper\""),
        ("on", "on = \"2026-03-14\""),
    ],
};

pub(super) fn one(desk: &mut Desk, base: &Base, entry: &Entry) -> Option<Measured> {
    let fields = Fields::new(desk, "this measured dimension".to_owned(), &SHAPE, entry)?;
    let dimension = fields
        .need(desk, "dimension")
        .and_then(|f| dimension(desk, base.known, &f));
    let (value, uncertainty) = (fields.need(desk, "value"), fields.need(desk, "uncertainty"));
    let (with, on) = (text(desk, &fields, "with"), date(desk, &fields));
    let dimension = dimension?;
    let kind = base.known.get(dimension)?.kind;
    let value = value.and_then(|f| f.quantity(desk, kind));
    let uncertainty = uncertainty.and_then(|f| plus_minus(desk, &f, kind));
    Some(Measured {
        dimension,
        value: value?.value,
        uncertainty: uncertainty?,
        with,
        on,
        place: fields.header,
    })
}

/// The dimension of this name; with a slip of the pen, the nearest one is told, or those of the same part.
fn dimension(desk: &mut Desk, known: &[Known], field: &Field) -> Option<usize> {
    let name = field.text(desk, "the name of a dimension")?;
    if let Some(found) = known.iter().position(|k| k.name == name.trim()) {
        return Some(found);
    }
    let part = name.split(':').next().unwrap_or_default().trim();
    let same: Vec<&str> = known
        .iter()
        .map(|k| &*k.name)
        .filter(|n| n.split(':').next() == Some(part))
        .collect();
    let all: Vec<&str> = known.iter().map(|k| &*k.name).collect();
    let among = if same.is_empty() { &all } else { &same };
    let label = desk.suggest(name, among).map_or_else(
        || "not known".to_owned(),
        |m| format!("did you mean `{m}`?"),
    );
    let few: Vec<&str> = among.iter().take(LISTED).copied().collect();
    desk.push(
        Diagnostic::error(
            "unknown-name",
            format!("the machine has no dimension `{}`", clip(name)),
        )
        .at(field.place(), label)
        .help(if few.is_empty() {
            "this machine has no dimensions".to_owned()
        } else {
            format!(
                "dimensions{}: {}",
                if same.is_empty() { "" } else { " there" },
                list_of(&few, among.len(), "and")
            )
        }),
    );
    None
}
