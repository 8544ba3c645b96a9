//! The log as a whole, and the fields that several of its entries have.

use quantity::{Kind as Measure, Unit};
use toml_edit::Table;

use super::{Date, Job, Known, Log, Measured, Run, Zero};
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::drives::{drive_measure, within};
use crate::fields::{Entry, Field, Fields, Node, Shape, Value, entries};
use crate::model::{Adjusts, Drive, Machine, Place};
use crate::words::clip;

/// The whole file.
const FILE: Shape = Shape {
    a: "a logbook",
    keys: &[
        ("unit", "unit = \"mm\""),
        ("since", "since = \"2026-06-01\""),
        ("measured", "[[measured]]"),
        ("run", "[[run]]"),
        ("job", "[[job]]"),
    ],
};

const UNITS: [(&str, Unit); 4] = [
    ("mm", Unit::Millimetre),
    ("cm", Unit::Centimetre),
    ("m", Unit::Metre),
    ("in", Unit::Inch),
];

/// Gives the desk the names of the machine, so that a slip of the pen finds the nearest one.
pub(super) fn declare(desk: &mut Desk, machine: &Machine) {
    let place = Place::default();
    let kinds: [(Kind, Vec<&str>); 4] = [
        (
            Kind::Drive,
            machine.drives.iter().map(|d| &*d.name).collect(),
        ),
        (
            Kind::Setting,
            machine.settings.iter().map(|s| &*s.name).collect(),
        ),
        (
            Kind::Reading,
            machine.readings.iter().map(|r| &*r.name).collect(),
        ),
        (
            Kind::Case,
            machine.work.cases.iter().map(|c| &*c.name).collect(),
        ),
    ];
    for (kind, names) in kinds {
        for name in names {
            // Names of a machine that was read are given once.
            let _ = desk.declare(kind, name, place);
        }
    }
}

/// What the entries are read against.
pub(super) struct Base<'a> {
    pub(super) machine: &'a Machine,
    pub(super) drives: Vec<Option<Drive>>,
    pub(super) known: &'a [Known],
}

pub(super) fn read(
    desk: &mut Desk,
    source: usize,
    root: &Table,
    machine: &Machine,
    known: &[Known],
) -> Option<Log> {
    let start = Place {
        source,
        start: 0,
        end: 0,
    };
    let unit = root
        .get("unit")
        .and_then(|item| Field::lone(&FILE, "unit", Node::of(item, start, Unit::Millimetre)?));
    let unit = match unit {
        Some(field) => field
            .word(desk, &UNITS.map(|(word, _)| word))
            .and_then(|n| UNITS.get(n))
            .map_or(machine.unit, |u| u.1),
        None => machine.unit,
    };
    let since = root
        .get("since")
        .and_then(|item| Field::lone(&FILE, "since", Node::of(item, start, Unit::Millimetre)?))
        .and_then(|field| day(desk, &field));
    let base = Base {
        machine,
        drives: machine.drives.iter().cloned().map(Some).collect(),
        known,
    };
    for entry in entries(root, start, unit) {
        if !FILE.keys.iter().any(|(key, _)| *key == entry.name) {
            let keys: Vec<&str> = FILE.keys.iter().map(|(key, _)| *key).collect();
            let label = desk.suggest(entry.name, &keys).map_or_else(
                || "not known here".to_owned(),
                |m| format!("did you mean `{m}`?"),
            );
            desk.push(
                Diagnostic::error(
                    "unknown-key",
                    format!("a logbook has no `{}`", clip(entry.name)),
                )
                .at(entry.place, label)
                .help("a logbook holds [[measured]], [[run]] and [[job]]"),
            );
        }
    }
    let before = desk.errors();
    let measured: Vec<Option<Measured>> = list(desk, root, "measured", start, unit)
        .iter()
        .map(|entry| super::measured::one(desk, &base, entry))
        .collect();
    let runs: Vec<Option<Run>> = list(desk, root, "run", start, unit)
        .iter()
        .enumerate()
        .map(|(n, entry)| super::runs::one(desk, &base, entry, n))
        .collect();
    let jobs: Vec<Option<Job>> = list(desk, root, "job", start, unit)
        .iter()
        .map(|entry| super::jobs::one(desk, &base, entry))
        .collect();
    if desk.errors() != before {
        return None;
    }
    let mut log = Log {
        since,
        rest: 0,
        measured: measured.into_iter().collect::<Option<_>>()?,
        runs: runs.into_iter().collect::<Option<_>>()?,
        jobs: jobs.into_iter().collect::<Option<_>>()?,
    };
    super::runs::zeros(desk, &log.runs);
    rest(&mut log);
    Some(log)
}

/// What was written before the day from which the log counts is a record only; what has no day counts.
fn rest(log: &mut Log) {
    let Some(since) = log.since else {
        return;
    };
    let before = |on: Option<Date>| on.is_some_and(|on| on < since);
    let all = log.measured.len() + log.runs.len() + log.jobs.len();
    log.measured.retain(|m| !before(m.on));
    log.runs.retain(|r| !before(r.on));
    log.jobs.retain(|j| !before(j.on));
    log.rest = all - log.measured.len() - log.runs.len() - log.jobs.len();
    // A zero kept from a run that rests is set nowhere.
    for n in 0..log.runs.len() {
        let reading = log.runs[n].reading;
        if log.runs[n].zero == Zero::Kept && !log.runs[..n].iter().any(|r| r.reading == reading) {
            log.runs[n].zero = Zero::Unknown;
        }
    }
}

/// The tables of a list of tables.
fn list<'a>(
    desk: &mut Desk,
    root: &'a Table,
    key: &'static str,
    start: Place,
    unit: Unit,
) -> Vec<Entry<'a>> {
    let Some(item) = root.get(key) else {
        return Vec::new();
    };
    let place_of = |span: Option<std::ops::Range<usize>>| {
        span.map_or(start, |s| Place {
            source: start.source,
            start: s.start,
            end: s.end,
        })
    };
    if let Some(tables) = item.as_array_of_tables() {
        return tables
            .iter()
            .map(|table| {
                let place = place_of(table.span());
                Entry {
                    name: key,
                    place,
                    node: Node {
                        value: Value::Table(table),
                        place,
                        unit,
                    },
                }
            })
            .collect();
    }
    let place = place_of(root.key(key).and_then(toml_edit::Key::span));
    desk.push(
        Diagnostic::error("wrong-type", format!("`{key}` is a list of entries"))
            .at(place, "")
            .help(format!(
                "head each entry with [[{key}]], in double brackets"
            )),
    );
    Vec::new()
}

/// A text; empty when it is not written.
pub(super) fn text(desk: &mut Desk, fields: &Fields, key: &str) -> String {
    let found = fields
        .get(key)
        .and_then(|f| f.text(desk, "a text in quotes"));
    found.unwrap_or_default().to_owned()
}

/// A day.
pub(super) fn date(desk: &mut Desk, fields: &Fields) -> Option<Date> {
    day(desk, &fields.get("on")?)
}

fn day(desk: &mut Desk, field: &Field) -> Option<Date> {
    let text = field.text(desk, "a day in quotes")?;
    let day = Date::parse(text);
    if day.is_none() {
        field.bad(
            desk,
            format!("\"{}\" is no day", clip(text)),
            "write year, month and day: \"2026-03-14\"",
        );
    }
    day
}

/// Plus or minus: a quantity above zero.
pub(super) fn plus_minus(desk: &mut Desk, field: &Field, measure: Measure) -> Option<f64> {
    let written = field.quantity(desk, measure)?;
    if written.value > 0.0 {
        return Some(written.value);
    }
    field.bad(
        desk,
        format!(
            "`{}` is {}; nothing is known exactly",
            field.key,
            written.show()
        ),
        "write how far off it may be 95 times of 100: \"0.01 mm\"",
    );
    None
}

/// Values of drives.
pub(super) fn drives(desk: &mut Desk, base: &Base, fields: &Fields) -> Vec<(usize, f64)> {
    let Some(field) = fields.get("at") else {
        return Vec::new();
    };
    crate::asks::when(desk, &base.drives, &field)
        .into_iter()
        .filter_map(|(drive, value)| Some((drive, value?)))
        .collect()
}

/// A value of a drive, inside its range.
pub(super) fn drive_value(
    desk: &mut Desk,
    base: &Base,
    field: &Field,
    drive: usize,
) -> Option<f64> {
    let d = base.machine.drives.get(drive)?;
    let value = field.quantity(desk, drive_measure(d))?.value;
    if let (Some(range), false) = (d.range, d.whole_turn) {
        let of = format!("of {}", clip(&d.name));
        let help = "look at the figure and its unit; a bare angle is in degrees";
        within(desk, field, &of, help, value, range, d.unit)?;
    }
    Some(value)
}

/// Values of settings.
pub(super) fn settings(desk: &mut Desk, base: &Base, fields: &Fields) -> Vec<(usize, f64)> {
    let Some(field) = fields.get("set") else {
        return Vec::new();
    };
    if !matches!(field.node.value, Value::Table(_)) {
        field.wrong(desk, "settings with their values in braces");
        return Vec::new();
    }
    let mut found = Vec::new();
    for entry in field.node.entries() {
        if let Some(setting) = desk.resolve(Kind::Setting, entry.name, entry.place)
            && let Some(value) = setting_value(desk, base, &field.inner(entry.node), setting)
        {
            found.push((setting, value));
        }
    }
    found
}

fn setting_value(desk: &mut Desk, base: &Base, field: &Field, setting: usize) -> Option<f64> {
    let machine = base.machine;
    let s = machine.settings.get(setting)?;
    let turns = matches!(field.node.value, Value::Text(text) if text.contains("turn"));
    let value = match s.adjusts {
        Adjusts::Rod(rod) if turns => {
            let rod = machine.rods.get(rod)?;
            let angle = field.quantity(desk, Measure::Angle)?.value;
            let Some(lead) = rod.lead() else {
                field.bad(
                    desk,
                    "the rod has no thread, so a turn has no length",
                    "write a length",
                );
                return None;
            };
            angle / std::f64::consts::TAU * lead
        }
        Adjusts::Rod(_) | Adjusts::Shim { .. } => field.quantity(desk, Measure::Length)?.value,
        Adjusts::Clock(_) => field.quantity(desk, Measure::Angle)?.value,
        Adjusts::Row(row) => {
            let holes = machine.rows.get(row)?.holes.len();
            field.whole(desk, 1, i64::try_from(holes).unwrap_or(i64::MAX))? as f64
        }
        Adjusts::Stop(stop) => {
            let unit = machine.readings.get(machine.stops.get(stop)?.reading)?.unit;
            field.quantity(desk, unit.kind())?.value
        }
    };
    if let Some(range) = s.range {
        let of = format!("of {}", clip(&s.name));
        within(
            desk,
            field,
            &of,
            "write a value inside the range of the setting",
            value,
            range,
            s.unit,
        )?;
    }
    Some(value)
}

/// The kind of a reading's values.
pub(super) fn measure_of(base: &Base, reading: usize) -> Measure {
    let unit = base.machine.readings.get(reading).map(|r| r.unit);
    unit.map_or(Measure::Length, Unit::kind)
}
