//! Readings taken.

use super::head::{Base, date, drive_value, drives, measure_of, plus_minus, settings, text};
use super::{Run, Taken, Zero};
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::drives::drive_measure;
use crate::fields::{Entry, Field, Fields, Shape};
use crate::model::Measures;

const SHAPE: Shape = Shape {
    a: "a run",
    keys: &[
        ("name", "name = \"lever up and down\""),
        ("reading", "reading = \"gap\""),
        ("drive", "drive = \"set\""),
        ("at", "at = { crank = \"180 deg\" }"),
        ("set", "set = { front-rod = \"half turn\" }"),
        ("uncertainty", "uncertainty = \"0.01 mm\""),
        ("position", "position = \"0.1 deg\""),
        ("drive-zero", "drive-zero = \"0.5 deg\""),
        ("zero", "zero = \"unknown\""),
        ("sense", "sense = \"same\""),
        ("going", "going = \"up\""),
        ("under", "under = \"embossing\""),
        ("with", "with = \"dial indicator\""),
        ("on", "on = \"2026-03-14\""),
        (
            "rows",
            "rows = [[\"0 deg\", \"1.204 mm\"], [\"5 deg\", \"1.118 mm\"]], and with going = \"both\" three: [\"0 deg\", \"1.204 mm\", \"1.231 mm\"]",
        ),
    ],
};

/// Most readings in one run.
const MOST: usize = 2000;

#[derive(Clone, Copy, PartialEq)]
enum Going {
    Up,
    Down,
    Both,
}

pub(super) fn one(desk: &mut Desk, base: &Base, entry: &Entry, number: usize) -> Option<Run> {
    let fields = Fields::new(desk, format!("run {}", number + 1), &SHAPE, entry)?;
    let name = text(desk, &fields, "name");
    let name = if name.is_empty() {
        format!("run {}", number + 1)
    } else {
        name
    };
    let reading = fields
        .need(desk, "reading")
        .and_then(|f| f.name(desk, Kind::Reading));
    let drive = fields
        .need(desk, "drive")
        .and_then(|f| f.name(desk, Kind::Drive));
    let at = drives(desk, base, &fields);
    let set = settings(desk, base, &fields);
    let (with, on) = (text(desk, &fields, "with"), date(desk, &fields));
    let word =
        |desk: &mut Desk, key: &str, words: &[&'static str], usual: Option<usize>| match fields
            .get(key)
        {
            Some(field) => field.word(desk, words),
            None => usual,
        };
    let zero = word(desk, "zero", &["unknown", "true", "kept"], Some(0));
    let sense = word(desk, "sense", &["same", "opposite"], Some(0));
    let going = match fields.get("going") {
        Some(field) => field
            .word(desk, &["up", "down", "both"])
            .map(|n| Some([Going::Up, Going::Down, Going::Both][n])),
        None => Some(None),
    };
    let under = match fields.get("under") {
        Some(field) => field.name(desk, Kind::Case).map(Some),
        None => Some(None),
    };
    let uncertainty = fields.need(desk, "uncertainty");
    let rows = fields.need(desk, "rows");
    let (reading, drive) = (reading?, drive?);
    already_run(desk, base, &fields, reading, drive, &at)?;
    let uncertainty = uncertainty.and_then(|f| plus_minus(desk, &f, measure_of(base, reading)));
    let position = match fields.get("position") {
        Some(field) => plus_minus(desk, &field, drive_measure(base.machine.drives.get(drive)?)),
        None => Some(0.0),
    };
    let drive_zero = match fields.get("drive-zero") {
        Some(field) => Some(plus_minus(
            desk,
            &field,
            drive_measure(base.machine.drives.get(drive)?),
        )?),
        None => None,
    };
    let taken = rows.and_then(|f| rows_of(desk, base, &f, reading, drive, going?));
    Some(Run {
        name,
        reading,
        drive,
        at,
        set,
        uncertainty: uncertainty?,
        position: position?,
        drive_zero,
        zero: match zero? {
            0 => Zero::Unknown,
            1 => Zero::True,
            _ => Zero::Kept,
        },
        sense: if sense? == 0 { 1.0 } else { -1.0 },
        under: under?,
        with,
        on,
        taken: taken?,
        place: fields.header,
    })
}

/// A drive that the reading runs through its range, or that is moved, cannot stand somewhere too.
fn already_run(
    desk: &mut Desk,
    base: &Base,
    fields: &Fields,
    reading: usize,
    drive: usize,
    at: &[(usize, f64)],
) -> Option<()> {
    let mut run = Vec::new();
    let mut here = reading;
    for _ in 0..64 {
        let Some(Measures::Over {
            reading: inner,
            drive,
            ..
        }) = base.machine.readings.get(here).map(|r| &r.measures)
        else {
            break;
        };
        run.push(*drive);
        here = *inner;
    }
    let name = |d: usize| base.machine.drives.get(d).map_or("", |d| &*d.name);
    if run.contains(&drive) {
        let reading = base.machine.readings.get(reading).map_or("", |r| &*r.name);
        fields.get("drive")?.bad(
            desk,
            format!(
                "reading {reading} runs {} through its range already",
                name(drive)
            ),
            "name the drive that was moved from reading to reading",
        );
        return None;
    }
    if at.iter().any(|a| a.0 == drive) {
        fields.get("at")?.bad(
            desk,
            format!(
                "drive {} is moved in this run and cannot stand still as well",
                name(drive)
            ),
            format!("take {} out of `at`", name(drive)),
        );
        return None;
    }
    Some(())
}

fn rows_of(
    desk: &mut Desk,
    base: &Base,
    field: &Field,
    reading: usize,
    drive: usize,
    going: Option<Going>,
) -> Option<Vec<Taken>> {
    let rows = field.list(desk, "a list of places with what was read")?;
    if rows.len() > MOST {
        field.bad(
            desk,
            format!("a run of {} readings is too long", rows.len()),
            format!("write up to {MOST} in one run"),
        );
        return None;
    }
    let measure = measure_of(base, reading);
    let (mut first, mut back) = (Vec::new(), Vec::new());
    let before = desk.errors();
    for row in &rows {
        let found = if going == Some(Going::Both) {
            row.list(desk, "a place, what was read going up, and going down")
                .and_then(|items| {
                    row.exactly::<3>(
                        desk,
                        items,
                        "three values: a place, what was read going up, and going down",
                    )
                })
        } else {
            row.pair(
                desk,
                "two values: a place of the drive and what was read there",
            )
            .map(|[a, b]| [a, b, b])
        };
        let Some([at, up, down]) = found else {
            continue;
        };
        let at = drive_value(desk, base, &at, drive);
        let shown = up.quantity(desk, measure);
        let one = |at: Option<f64>, shown: Option<f64>, going: f64, field: &Field| {
            Some(Taken {
                at: at?,
                shown: shown?,
                going,
                place: field.place(),
            })
        };
        let direction = match going {
            Some(Going::Up | Going::Both) => 1.0,
            Some(Going::Down) => -1.0,
            None => 0.0,
        };
        first.extend(one(at, shown.map(|w| w.value), direction, &up));
        if going == Some(Going::Both) {
            let shown = down.quantity(desk, measure);
            back.extend(one(at, shown.map(|w| w.value), -1.0, &down));
        }
    }
    if desk.errors() != before {
        return None;
    }
    // Up first, then back down: the order in which the hand went.
    first.sort_by(|a, b| {
        if going == Some(Going::Both) {
            a.at.total_cmp(&b.at)
        } else {
            std::cmp::Ordering::Equal
        }
    });
    back.sort_by(|a, b| b.at.total_cmp(&a.at));
    first.extend(back);
    Some(first)
}

/// A zero can only be kept from a run before.
pub(super) fn zeros(desk: &mut Desk, runs: &[Run]) {
    for (n, run) in runs.iter().enumerate() {
        if run.zero == Zero::Kept && !runs.iter().take(n).any(|r| r.reading == run.reading) {
            desk.push(
                Diagnostic::error(
                    "wrong-value",
                    format!(
                        "{} keeps the zero of a run before, but there is none of that reading",
                        run.name
                    ),
                )
                .at(run.place, "")
                .help("write zero = \"unknown\", or put the earlier run above"),
            );
        }
    }
}
