//! Hole rows: the hole in use is a point of the machine, its neighbours stand ready.

use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Entry, Field, Fields, Shape, Value};
use crate::model::{PartId, Place};
use crate::points::{Definition, MOST_HOLES, definition};
use crate::vector::{V2, length, unit};

const ROW: Shape = Shape {
    a: "a row",
    keys: &[
        ("on", "on = \"lever\""),
        (
            "first",
            "first = { from = \"lever-pivot\", reach = 40, angle = \"-10 deg\" }",
        ),
        ("step", "step = { reach = 8, angle = \"-10 deg\" }"),
        ("count", "count = 5"),
        ("use", "use = 3"),
    ],
};

const STEP: Shape = Shape {
    a: "a step",
    keys: &[
        ("reach", "reach = 8"),
        ("angle", "angle = \"-10 deg\""),
        ("by", "by = [8, 0]"),
    ],
};

/// A row as far as it can be read before places are known.
pub(crate) struct RowDraft {
    pub(crate) on: PartId,
    /// The hole in use.
    pub(crate) definition: Definition,
    /// From hole to hole, mm.
    pub(crate) step: V2,
    pub(crate) count: usize,
    /// Index of the hole in use.
    pub(crate) used: usize,
    pub(crate) place: Place,
}

/// Reads all rows; those that are broken are `None`.
pub(crate) fn read(desk: &mut Desk, named: &[Named]) -> Vec<Option<RowDraft>> {
    named.iter().map(|n| row(desk, n)).collect()
}

fn row(desk: &mut Desk, named: &Named) -> Option<RowDraft> {
    let fields = Fields::new(desk, named.what(), &ROW, &named.entry)?;
    let on = fields
        .need(desk, "on")
        .and_then(|f| f.name(desk, Kind::Part));
    let first = fields.need(desk, "first").and_then(|f| {
        definition(
            desk,
            format!("the first hole of {}", named.what()),
            &entry(&f),
        )
    });
    let step = fields
        .need(desk, "step")
        .and_then(|f| step(desk, named, &f));
    let count = fields
        .need(desk, "count")
        .and_then(|f| f.whole(desk, 1, MOST_HOLES));
    let used = fields.need(desk, "use").and_then(|f| {
        let number = f.whole(desk, 1, MOST_HOLES)?;
        if count.is_some_and(|count| number > count) {
            f.bad(
                desk,
                format!(
                    "{} has {} holes; there is no hole {number}",
                    named.what(),
                    count.unwrap_or(0)
                ),
                format!("write a number from 1 to {}", count.unwrap_or(1)),
            );
            return None;
        }
        Some(number)
    });
    let (mut first, step, used) = (first?, step?, used? - 1);
    first.shift = step.map(|s| s * used as f64);
    Some(RowDraft {
        on: on?,
        definition: first,
        step,
        count: count?,
        used,
        place: named.entry.place,
    })
}

fn step(desk: &mut Desk, named: &Named, field: &Field) -> Option<V2> {
    if !matches!(field.node.value, Value::Table(_)) {
        field.wrong(desk, "a reach and an angle in braces");
        return None;
    }
    let fields = Fields::new(
        desk,
        format!("the step of {}", named.what()),
        &STEP,
        &entry(field),
    )?;
    let step = if let Some(by) = fields.get("by") {
        for other in ["reach", "angle"].iter().filter_map(|key| fields.get(key)) {
            fields.clash(desk, &by, &other);
        }
        by.lengths(desk)?
    } else {
        let reach = fields.one_of(desk, &["reach", "by"])?.length(desk);
        let angle = fields.need(desk, "angle")?.angle(desk);
        let (reach, direction) = (reach?, unit(angle?));
        direction.map(|d| d * reach)
    };
    if length(step) == 0.0 {
        desk.push(
            Diagnostic::error(
                "row",
                format!(
                    "the holes of {} lie on top of each other: the step is zero",
                    named.what()
                ),
            )
            .at(field.place(), "")
            .help("write the distance from hole to hole"),
        );
        return None;
    }
    Some(step)
}

/// A field as a table of its own.
fn entry<'a>(field: &Field<'a>) -> Entry<'a> {
    Entry {
        name: field.key,
        place: field.place(),
        node: field.node,
    }
}
