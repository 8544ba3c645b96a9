//! A run as a table from a spreadsheet: the header tells drive, reading and units.

use quantity::{Kind as Measure, Unit};

use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::drives::drive_measure;
use crate::model::{Machine, Place};
use crate::sources::Sources;
use crate::words::clip;

const HOW: &str =
    "head the columns like `set (deg),gap (mm)`, or `set (deg),gap up (mm),gap down (mm)`";
/// Most lines.
const MOST: usize = 2000;

/// A column with readings.
struct Column {
    at: usize,
    unit: Unit,
    /// `up`, `down`, or neither.
    going: Option<&'static str>,
}

/// A cell and where it stands.
#[derive(Clone, Copy)]
struct Cell<'a> {
    text: &'a str,
    place: Place,
}

/// Turns a table into an entry of a log, to be appended and read like one written by hand. `extra` are further keys with their values
/// as typed in the log (`("uncertainty", "\"0.01 mm\"")`). Lines without a reading are left out.
///
/// # Errors
/// Everything that is wrong with the table, and its text.
pub fn from_csv(
    name: &str,
    text: &str,
    machine: &Machine,
    extra: &[(&str, String)],
) -> Result<String, (Sources, Vec<Diagnostic>)> {
    let mut sources = Sources::default();
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let source = sources.add(name.to_owned(), text.to_owned());
    let mut desk = Desk::new(&sources);
    super::head::declare(&mut desk, machine);
    let entry = table(&mut desk, source, text, machine, extra);
    let problems = desk.into_problems();
    match entry {
        Some(entry) if problems.is_empty() => Ok(entry),
        _ => Err((sources, problems)),
    }
}

fn cells(line: &str, start: usize, source: usize, between: char) -> Vec<Cell<'_>> {
    let mut found = Vec::new();
    let mut from = 0;
    for part in line.split(between) {
        let bare = part.trim();
        let bare = bare
            .strip_prefix('"')
            .and_then(|b| b.strip_suffix('"'))
            .unwrap_or(bare)
            .trim();
        let at = start + from + part.find(bare).unwrap_or(0);
        found.push(Cell {
            text: bare,
            place: Place {
                source,
                start: at,
                end: at + bare.len(),
            },
        });
        from += part.len() + between.len_utf8();
    }
    found
}

fn table(
    desk: &mut Desk,
    source: usize,
    text: &str,
    machine: &Machine,
    extra: &[(&str, String)],
) -> Option<String> {
    let mut lines = Vec::new();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let bare = line.trim_end_matches(['\n', '\r']);
        if !bare.trim().is_empty() && !bare.trim_start().starts_with('#') {
            lines.push((bare, start));
        }
        start += line.len();
    }
    let whole = Place {
        source,
        start: 0,
        end: 0,
    };
    let Some(&(head, at)) = lines.first() else {
        desk.push(
            Diagnostic::error("empty", "the table is empty")
                .at(whole, "")
                .help(HOW),
        );
        return None;
    };
    if lines.len() > MOST {
        desk.push(
            Diagnostic::error(
                "too-large",
                format!("{} lines are too many for one run", lines.len()),
            )
            .at(whole, "")
            .help(format!("write up to {MOST}")),
        );
        return None;
    }
    let between = [';', '\t']
        .into_iter()
        .find(|c| head.contains(*c))
        .unwrap_or(',');
    let heads = cells(head, at, source, between);
    let first = *heads.first()?;
    let (name, unit, _) = heading(desk, first)?;
    let drive = desk.resolve(Kind::Drive, name, first.place)?;
    let d = machine.drives.get(drive)?;
    let unit = unit_of(desk, first, unit, drive_measure(d), d.unit)?;
    let mut reading = None;
    let mut columns = Vec::new();
    for (n, head) in heads
        .iter()
        .enumerate()
        .skip(1)
        .filter(|h| !h.1.text.is_empty())
    {
        let (name, written, going) = heading(desk, *head)?;
        let found = desk.resolve(Kind::Reading, name, head.place)?;
        if reading.is_some_and(|r| r != found) {
            desk.push(
                Diagnostic::error("two-forms", "a table holds one reading")
                    .at(head.place, "another reading")
                    .help("write a table for each reading"),
            );
            return None;
        }
        reading = Some(found);
        let r = machine.readings.get(found)?;
        let unit = unit_of(desk, *head, written, r.unit.kind(), r.unit)?;
        columns.push(Column { at: n, unit, going });
    }
    let Some(reading) = reading else {
        desk.push(
            Diagnostic::error("missing-key", "the table has no column with readings")
                .at(first.place, "")
                .help(HOW),
        );
        return None;
    };
    let mut by_going: Vec<(Option<&'static str>, Vec<String>)> = Vec::new();
    for column in &columns {
        let mut rows = Vec::new();
        for &(line, start) in lines.iter().skip(1) {
            let row = cells(line, start, source, between);
            let (Some(place), Some(shown)) = (row.first(), row.get(column.at)) else {
                continue;
            };
            if shown.text.is_empty() {
                continue;
            }
            let place = value(desk, *place, drive_measure(d), unit);
            let shown = value(
                desk,
                *shown,
                machine.readings.get(reading)?.unit.kind(),
                column.unit,
            );
            if let (Some(place), Some(shown)) = (place, shown) {
                rows.push(format!("    [\"{place}\", \"{shown}\"],\n"));
            }
        }
        if column.going == Some("down") {
            // The hand comes back.
            rows.reverse();
        }
        by_going.push((column.going, rows));
    }
    if by_going.iter().all(|b| b.1.is_empty()) {
        desk.push(
            Diagnostic::error("empty", "the table has no reading in it")
                .at(first.place, "")
                .help("write what the indicator showed beside each place"),
        );
        return None;
    }
    let reading = &machine.readings.get(reading)?.name;
    let mut out = String::new();
    let mut kept = false;
    for (going, rows) in by_going.iter().filter(|b| !b.1.is_empty()) {
        out.push_str(&format!(
            "\n[[run]]\nreading = \"{reading}\"\ndrive = \"{}\"\n",
            d.name
        ));
        if let Some(going) = going {
            out.push_str(&format!("going = \"{going}\"\n"));
        }
        for (key, value) in extra {
            // The indicator was not touched between the columns of one table.
            if kept && *key == "zero" && value == "\"unknown\"" {
                continue;
            }
            out.push_str(&format!("{key} = {value}\n"));
        }
        let said = extra.iter().any(|e| e.0 == "zero" && e.1 != "\"unknown\"");
        if kept && !said {
            out.push_str("zero = \"kept\"\n");
        }
        out.push_str(&format!("rows = [\n{}]\n", rows.concat()));
        kept = true;
    }
    Some(out)
}

/// Name, unit and direction of `gap up (mm)`.
fn heading<'a>(
    desk: &mut Desk,
    cell: Cell<'a>,
) -> Option<(&'a str, Option<&'a str>, Option<&'static str>)> {
    let (name, unit) = match cell.text.split_once('(') {
        Some((name, unit)) => {
            let Some(unit) = unit.trim().strip_suffix(')') else {
                desk.push(
                    Diagnostic::error(
                        "wrong-value",
                        format!("`{}` has no end to its unit", clip(cell.text)),
                    )
                    .at(cell.place, "")
                    .help(HOW),
                );
                return None;
            };
            (name.trim(), Some(unit.trim()))
        }
        None => (cell.text, None),
    };
    for going in ["up", "down"] {
        if let Some(bare) = name.strip_suffix(going).filter(|b| b.ends_with(' ')) {
            return Some((bare.trim(), unit, Some(going)));
        }
    }
    Some((name, unit, None))
}

fn unit_of(
    desk: &mut Desk,
    cell: Cell,
    written: Option<&str>,
    measure: Measure,
    usual: Unit,
) -> Option<Unit> {
    let Some(text) = written else {
        return Some(usual);
    };
    match quantity::parse(&format!("1 {text}"), measure, usual) {
        Ok(written) => Some(written.unit),
        Err(error) => {
            desk.push(
                Diagnostic::error("quantity", error.message)
                    .at(cell.place, "")
                    .help(error.help),
            );
            None
        }
    }
}

/// A cell as it is written in a log.
fn value(desk: &mut Desk, cell: Cell, measure: Measure, bare: Unit) -> Option<String> {
    match quantity::parse(cell.text, measure, bare) {
        Ok(_) if cell.text.parse::<f64>().is_ok() => Some(format!("{} {bare}", cell.text)),
        // Quotes would end the text.
        Ok(written) if cell.text.contains(['"', '\\']) => Some(written.show().replace('"', " in")),
        Ok(_) => Some(cell.text.to_owned()),
        Err(error) => {
            desk.push(
                Diagnostic::error("quantity", error.message)
                    .at(cell.place, "")
                    .help(error.help),
            );
            None
        }
    }
}
