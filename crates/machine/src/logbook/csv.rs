//! A run as a table from a spreadsheet: the header tells drive, reading and units.

use std::ops::Range;

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

/// A table as an entry of a log.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// The entry.
    pub text: String,
    /// The table it was made of.
    pub csv: String,
    /// Which bytes of the entry came from which bytes of the table.
    pub lines: Vec<(Range<usize>, Range<usize>)>,
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
) -> Result<Table, (Sources, Vec<Diagnostic>)> {
    let mut sources = Sources::default();
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let source = sources.add(name.to_owned(), text.to_owned());
    let mut desk = Desk::new(&sources);
    super::head::declare(&mut desk, machine);
    let entry = table(&mut desk, source, text, machine, extra);
    let problems = desk.into_problems();
    match entry {
        Some((entry, lines)) if problems.is_empty() => Ok(Table {
            text: entry,
            csv: text.to_owned(),
            lines,
        }),
        _ => Err((sources, problems)),
    }
}

fn cells(line: &str, start: usize, source: usize, between: char) -> Vec<Cell<'_>> {
    let mut found = Vec::new();
    for (from, part) in split(line, between) {
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
    }
    found
}

/// Splits a line where no quotes are open.
fn split(line: &str, between: char) -> Vec<(usize, &str)> {
    let (mut found, mut from, mut open) = (Vec::new(), 0, false);
    // An inch mark behind a figure opens nothing: a quote counts at the beginning of a cell, or when one is open.
    for (at, c) in line.char_indices() {
        if c == '"' {
            open = !open && line[from..at].trim().is_empty();
        } else if c == between && !open {
            found.push((from, &line[from..at]));
            from = at + between.len_utf8();
        }
    }
    found.push((from, &line[from..]));
    found
}

/// A number with a comma for the decimal point, with a point; where commas divide no cells, there is nothing else that it could be.
fn pointed(text: &str) -> Option<String> {
    let (whole, rest) = text.split_once(',')?;
    let digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
    let end = rest
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(rest.len());
    let bare = whole.trim_start_matches(['-', '+', '\u{2212}']);
    let after = rest[end..].trim();
    let unit = after.is_empty() || after.starts_with(char::is_alphabetic);
    (digits(bare) && digits(&rest[..end]) && unit).then(|| format!("{whole}.{rest}"))
}

/// A row as it is written in the log, and the bytes it came from.
type Line = (String, Range<usize>);

fn table(
    desk: &mut Desk,
    source: usize,
    text: &str,
    machine: &Machine,
    extra: &[(&str, String)],
) -> Option<(String, Vec<(Range<usize>, Range<usize>)>)> {
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
    for &(line, start) in lines.iter().skip(1) {
        let row = cells(line, start, source, between);
        let surplus = row.iter().skip(heads.len()).find(|c| !c.text.is_empty());
        if let Some(cell) = surplus {
            let help = if between == ',' {
                "where a comma stands for the decimal point, write a point, or divide the cells by semicolons"
            } else {
                "head every column, or take those cells out"
            };
            desk.push(
                Diagnostic::error(
                    "wrong-value",
                    format!(
                        "a line of {} cells under {} headings",
                        row.len(),
                        heads.len()
                    ),
                )
                .at(cell.place, "one too many")
                .help(help),
            );
            return None;
        }
    }
    let mut by_going: Vec<(Option<&'static str>, Vec<Line>)> = Vec::new();
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
            let whole = start..start + line.len();
            let place = value(desk, *place, between, drive_measure(d), unit);
            let shown = value(
                desk,
                *shown,
                between,
                machine.readings.get(reading)?.unit.kind(),
                column.unit,
            );
            if let (Some(place), Some(shown)) = (place, shown) {
                rows.push((format!("    [\"{place}\", \"{shown}\"],\n"), whole));
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
    let mut known = Vec::new();
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
        out.push_str("rows = [\n");
        for (row, whole) in rows {
            known.push((out.len()..out.len() + row.len(), whole.clone()));
            out.push_str(row);
        }
        out.push_str("]\n");
        kept = true;
    }
    Some((out, known))
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
fn value(
    desk: &mut Desk,
    cell: Cell,
    between: char,
    measure: Measure,
    bare: Unit,
) -> Option<String> {
    let with_point = pointed(cell.text).filter(|_| between != ',');
    let cell = Cell {
        text: with_point.as_deref().unwrap_or(cell.text),
        ..cell
    };
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
