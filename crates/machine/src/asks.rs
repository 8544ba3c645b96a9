//! Asks: wanted results.

use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::drives::{drive_measure, within};
use crate::fields::{Field, Fields, Node, Shape, Value};
use crate::model::{Ask, Drive, Judges, Measures, Reading};
use crate::readings::{driven, limits, measure_of};
use crate::words::clip;

const ASK: Shape = Shape {
    a: "an ask",
    keys: &[
        ("reading", "reading = \"least-gap\""),
        ("swing-of", "swing-of = \"least-gap\""),
        ("over", "over = \"set\""),
        ("per", "per = \"1 deg\""),
        ("of", "of = \"set\""),
        ("when", "when = { set = \"75 deg\" }"),
        ("between", "between = [\"0.30 mm\", \"0.40 mm\"]"),
        ("at-least", "at-least = \"2 mm\""),
        ("at-most", "at-most = \"0.03 mm\""),
    ],
};

/// Reads all asks; those that are broken are `None`.
pub(crate) fn read(
    desk: &mut Desk,
    readings: &[Option<Reading>],
    drives: &[Option<Drive>],
    named: &[Named],
) -> Vec<Option<Ask>> {
    named
        .iter()
        .filter(|n| !crate::works::is_about_work(n))
        .map(|n| ask(desk, readings, drives, n))
        .collect()
}

fn ask(
    desk: &mut Desk,
    readings: &[Option<Reading>],
    drives: &[Option<Drive>],
    named: &Named,
) -> Option<Ask> {
    let fields = Fields::new(desk, named.what(), &ASK, &named.entry)?;
    let before = desk.errors();
    let field = fields.one_of(desk, &["reading", "swing-of"])?;
    let reading = field.name(desk, Kind::Reading);
    let measure = reading.and_then(|r| measure_of(readings, r));
    let when = fields
        .get("when")
        .map_or_else(Vec::new, |f| when(desk, drives, &f));
    let swing = field.key == "swing-of";
    let (over, per) = (fields.get("over"), fields.get("per"));
    let (drive_field, amount) = if let Some(per) = per.filter(|_| !swing) {
        if let Some(over) = over {
            fields.clash(desk, &per, &over);
        }
        (fields.need(desk, "of"), Some(per))
    } else {
        let with = if swing {
            "`reading`, not with `swing-of`"
        } else {
            "`per`"
        };
        fields.only_with(desk, if swing { &["per", "of"] } else { &["of"] }, with);
        (
            if swing {
                fields.need(desk, "over")
            } else {
                over
            },
            None,
        )
    };
    let drive = drive_field.and_then(|f| Some((f, driven(desk, drives, &f)?)));
    if let Some((field, drive)) = drive
        && when.iter().any(|(d, _)| *d == drive)
    {
        let name = desk.name(Kind::Drive, drive);
        field.bad(
            desk,
            format!(
                "drive {name} runs through its range here and cannot stand still in `when` as well"
            ),
            format!("take {name} out of `when`"),
        );
    }
    let amount = amount.map(|per| {
        let found = drives.get(drive?.1)?.as_ref()?;
        let amount = per.quantity(desk, drive_measure(found))?;
        if amount.value <= 0.0 {
            per.bad(
                desk,
                format!("`per` is {}; it has to be above zero", clip(amount.show())),
                "write how much of the drive: `per = \"1 deg\"`",
            );
        }
        Some(amount.value)
    });
    if let Some(reading) = reading {
        let run: Vec<(usize, Field)> = drive
            .map(|(f, d)| (d, f))
            .into_iter()
            .chain(when.iter().filter_map(|w| Some((w.0, fields.get("when")?))))
            .collect();
        already_run(desk, readings, reading, &run);
    }
    let limits = limits(desk, &fields, measure);
    if desk.errors() > before {
        return None;
    }
    let limits = limits?;
    let when: Vec<(usize, f64)> = when
        .iter()
        .filter_map(|&(d, value)| Some((d, value?)))
        .collect();
    let judges = match (drive, amount) {
        (None, None) => Judges::At { when },
        (Some((_, drive)), Some(amount)) => Judges::Per {
            drive,
            amount: amount?,
            when,
        },
        (Some((_, drive)), None) if swing => Judges::Swing { drive, when },
        (Some((_, drive)), None) => Judges::Anywhere { drive, when },
        (None, Some(_)) => return None,
    };
    Some(Ask {
        name: named.entry.name.to_owned(),
        reading: reading?,
        judges,
        at_least: limits.at_least,
        at_most: limits.at_most,
        place: named.entry.place,
    })
}

/// Values of drives; each has to lie in the drive's range.
pub(crate) fn when(
    desk: &mut Desk,
    drives: &[Option<Drive>],
    field: &Field,
) -> Vec<(usize, Option<f64>)> {
    if !matches!(field.node.value, Value::Table(_)) {
        field.wrong(desk, "drives with their values in braces");
        return Vec::new();
    }
    let mut found = Vec::new();
    for entry in field.node.entries() {
        let Some(drive) = desk.resolve(Kind::Drive, entry.name, entry.place) else {
            continue;
        };
        let value = value_of(desk, drives, field, drive, entry.node);
        found.push((drive, value));
    }
    found
}

fn value_of<'a>(
    desk: &mut Desk,
    drives: &[Option<Drive>],
    field: &Field<'a>,
    drive: usize,
    node: Node<'a>,
) -> Option<f64> {
    let found = drives.get(drive)?.as_ref()?;
    let value = field.inner(node);
    let written = value.quantity(desk, drive_measure(found))?;
    if let Some(range) = found.range {
        within(
            desk,
            &value,
            &format!("of {}", clip(&found.name)),
            "write a value inside the range, or widen the range of the drive",
            written.value,
            range,
            found.unit,
        )?;
    }
    Some(written.value)
}

/// A reading over a drive has run that drive already.
fn already_run(
    desk: &mut Desk,
    readings: &[Option<Reading>],
    reading: usize,
    drives: &[(usize, Field)],
) {
    let mut here = reading;
    for _ in 0..64 {
        let Some(Measures::Over {
            reading: inner,
            drive,
            ..
        }) = readings
            .get(here)
            .and_then(Option::as_ref)
            .map(|r| r.measures.clone())
        else {
            return;
        };
        if let Some((_, field)) = drives.iter().find(|(d, _)| *d == drive) {
            let (reading, drive) = (
                desk.name(Kind::Reading, here),
                desk.name(Kind::Drive, drive),
            );
            desk.push(
                Diagnostic::error(
                    "over-twice",
                    format!("reading {reading} runs {drive} through its range already"),
                )
                .at(field.place(), "")
                .help(format!(
                    "take {drive} out here, or ask for what {reading} reads"
                )),
            );
            return;
        }
        here = inner;
    }
}
