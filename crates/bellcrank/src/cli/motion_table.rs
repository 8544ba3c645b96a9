//! A motion as a table: for reading and for a spreadsheet.

use std::fmt::Write as _;

use quantity::Unit;
use studies::load::answers::{Bands, BandsTable};
use studies::{Cell, Motion};

use super::WIDTH;
use super::csv;
use super::numbers::{
    NONE, bare, bare_or_none, finer, finer_rate, more_decimals, named, rate_unit, standing,
    with_unit,
};
use super::over::{self, Over};
use super::reach;
use super::table::{Column, GAP, lay_out, wrap};

/// Room for marks.
const MARGIN: usize = 2;

/// A place of note on the way: a turning point, an end, a change point.
struct Event {
    at: f64,
    mark: &'static str,
    /// The reading that turns there, and its value.
    turns: Option<(usize, f64)>,
    note: String,
}

/// A line of the table: a step of the drive, or a place of note between two steps.
struct Line<'a> {
    at: f64,
    shown: String,
    reached: bool,
    cells: Option<&'a [Cell]>,
    events: Vec<Event>,
}

fn events(motion: &Motion) -> Vec<Event> {
    let mut events = Vec::new();
    for end in [&motion.reach.low, &motion.reach.high] {
        if let Some(mark) = reach::mark(end.kind) {
            events.push(Event {
                at: end.at,
                mark,
                turns: None,
                note: reach::why(end),
            });
        }
    }
    for change in &motion.change_points {
        events.push(Event {
            at: change.at,
            mark: "+",
            turns: None,
            note: format!("change point: {}", change.cause),
        });
    }
    for point in &motion.turning_points {
        let name = motion.readings.get(point.reading).map_or("", |r| &r.name);
        let (mark, word) = if point.greatest {
            ("^", "greatest")
        } else {
            ("v", "least")
        };
        events.push(Event {
            at: point.at,
            mark,
            turns: Some((point.reading, point.value)),
            note: format!("{name} {word}"),
        });
    }
    events
}

/// Steps and places of note in the order of the table.
fn lines(motion: &Motion) -> Vec<Line<'_>> {
    let unit = motion.drive.unit;
    let mut lines: Vec<Line> = motion
        .rows
        .iter()
        .map(|row| Line {
            at: row.at,
            shown: bare(row.at, unit),
            reached: row.reached,
            cells: Some(&row.cells),
            events: Vec::new(),
        })
        .collect();
    let (Some(first), Some(last)) = (motion.rows.first(), motion.rows.last()) else {
        return lines;
    };
    let backward = first.at > last.at;
    let (low, high) = (first.at.min(last.at), first.at.max(last.at));
    for event in events(motion) {
        let shown = bare(event.at, unit);
        if let Some(line) = lines.iter_mut().find(|line| line.shown == shown) {
            line.events.push(event);
        } else if low < event.at && event.at < high {
            let before = |line: &Line| {
                if backward {
                    line.at > event.at
                } else {
                    line.at < event.at
                }
            };
            let place = lines.partition_point(before);
            lines.insert(
                place,
                Line {
                    at: event.at,
                    shown,
                    reached: true,
                    cells: None,
                    events: vec![event],
                },
            );
        }
    }
    lines
}

impl Line<'_> {
    fn cell(&self, reading: usize) -> Option<&Cell> {
        self.cells.and_then(|cells| cells.get(reading))
    }

    /// The reading here: of the step, or of the place where it turns.
    fn value(&self, reading: usize, unit: Unit, more: usize) -> String {
        let shown = |value| finer(value, unit, more);
        if let Some(cell) = self.cell(reading) {
            return cell.value.map_or_else(|| NONE.to_owned(), shown);
        }
        self.turns(reading).map_or(String::new(), shown)
    }

    fn turns(&self, reading: usize) -> Option<f64> {
        self.events
            .iter()
            .filter_map(|event| event.turns)
            .find(|&(turning, _)| turning == reading)
            .map(|(_, value)| value)
    }

    fn rate(&self, reading: usize, unit: Unit, per: Unit, more: usize) -> String {
        let shown = |rate| finer_rate(rate, unit, per, more);
        match self.cell(reading) {
            Some(cell) => cell.rate.map_or_else(|| NONE.to_owned(), shown),
            None if self.turns(reading).is_some() => shown(0.0),
            None => String::new(),
        }
    }

    fn notes(&self) -> Vec<String> {
        let mut notes: Vec<String> = self.events.iter().map(|event| event.note.clone()).collect();
        if !self.reached {
            notes.push(String::from("cannot be reached"));
        }
        notes
    }
}

/// Columns of one reading.
fn columns(motion: &Motion, lines: &[Line], reading: usize, over: &[Over]) -> Vec<Column> {
    let per = motion.drive.unit;
    let Some(quantity) = motion.readings.get(reading) else {
        return Vec::new();
    };
    let unit = quantity.unit;
    let mut value = Column::numbers(&quantity.name, unit.symbol());
    let rows = motion.rows.iter();
    let values = rows.filter_map(|row| row.cells.get(reading)?.value);
    let more = more_decimals(values, unit);
    value.cells = lines
        .iter()
        .map(|line| line.value(reading, unit, more))
        .collect();
    let mut change = Column::numbers("rate", rate_unit(unit, per));
    change.cells = lines
        .iter()
        .map(|line| line.rate(reading, unit, per, more))
        .collect();
    let mut columns = vec![value, change];
    if let Some(drive) = over::drive(over, quantity) {
        let swing = lines
            .iter()
            .any(|line| line.cell(reading).is_some_and(|c| c.and_at.is_some()));
        let (first, second) = if swing {
            (
                format!("from {}", drive.name),
                Some(format!("to {}", drive.name)),
            )
        } else {
            (format!("at {}", drive.name), None)
        };
        for (head, of) in [
            (
                Some(first),
                (|c: &Cell| c.taken_at) as fn(&Cell) -> Option<f64>,
            ),
            (second, |c| c.and_at),
        ] {
            let Some(head) = head else { continue };
            let mut at = Column::numbers(head, drive.unit.symbol());
            let cell = |line: &Line| {
                line.cell(reading)
                    .map_or(String::new(), |cell| bare_or_none(of(cell), drive.unit))
            };
            at.cells = lines.iter().map(cell).collect();
            columns.push(at);
        }
    }
    columns
}

/// The drive's own column.
fn drive_column(motion: &Motion, lines: &[Line]) -> Column {
    let mut column = Column::numbers(&motion.drive.name, motion.drive.unit.symbol());
    column.cells = lines.iter().map(|line| line.shown.clone()).collect();
    column
}

/// For reading. Readings that do not fit beside each other go into further tables below.
pub(crate) fn text(motion: &Motion, over: &[Over]) -> String {
    let lines = lines(motion);
    let drive = drive_column(motion, &lines);
    let mut text = format!("{}: {} moved", motion.machine, motion.drive.name);
    if let Some(held) = standing(&motion.held) {
        let _ = write!(
            text,
            ", {}{held}",
            if motion.held.iter().all(|h| h.as_drawn) {
                "the rest "
            } else {
                ""
            }
        );
    }
    let mut text = wrap(&text, WIDTH, 2) + "\n";
    let (moved, still) = moved_and_still(motion);
    let mut waiting = moved.as_slice();
    while !waiting.is_empty() {
        let mut block = vec![drive.clone()];
        let mut width = MARGIN + GAP + drive.width();
        let mut shown = 0;
        for &reading in waiting {
            let more = columns(motion, &lines, reading, over);
            width += more
                .iter()
                .map(|column| GAP + column.width())
                .sum::<usize>();
            if width > WIDTH && shown > 0 {
                break;
            }
            block.extend(more);
            shown += 1;
        }
        let (here, rest) = waiting.split_at(shown);
        waiting = rest;
        let (marks, keep) = marks(&lines, here);
        for column in &mut block {
            let mut keep = keep.iter();
            column
                .cells
                .retain(|_| keep.next().copied().unwrap_or(true));
        }
        text.push('\n');
        text.push_str(&lay_out(&marks, &block));
    }
    if !still.is_empty() {
        let still: Vec<String> = still
            .iter()
            .filter_map(|&(reading, value)| Some(named(motion.readings.get(reading)?, value)))
            .collect();
        let sentence = format!("{} does not move {}", motion.drive.name, still.join(", "));
        let _ = writeln!(text, "\n{}", wrap(&sentence, WIDTH, 2));
    }
    if motion.readings.is_empty() {
        text.push_str("\nThe machine has no readings, so there is nothing to show.\n");
    }
    text.push_str(&below(motion));
    text
}

/// Readings that the drive moves, and those that stand still, with their values: to the last digit shown, and without a turning
/// point. A table of readings that all stand still is shown all the same.
fn moved_and_still(motion: &Motion) -> (Vec<usize>, Vec<(usize, f64)>) {
    let (mut moved, mut still) = (Vec::new(), Vec::new());
    for (index, reading) in motion.readings.iter().enumerate() {
        let values = motion
            .rows
            .iter()
            .filter_map(|row| row.cells.get(index)?.value);
        let first = values.clone().next();
        let shown = |value| bare(value, reading.unit);
        match first {
            Some(first)
                if values.clone().count() > 1
                    && motion.turning_points.iter().all(|t| t.reading != index)
                    && values.clone().all(|v| shown(v) == shown(first)) =>
            {
                still.push((index, first));
            }
            _ => moved.push(index),
        }
    }
    if moved.is_empty() {
        moved = still.drain(..).map(|(index, _)| index).collect();
    }
    (moved, still)
}

/// Marks in the margin for the readings of one table, and which lines belong into it: not those where another reading turns.
fn marks(lines: &[Line], readings: &[usize]) -> (Vec<String>, Vec<bool>) {
    let mut marks = Vec::new();
    let mut keep = Vec::new();
    for line in lines {
        let here = |event: &&Event| {
            event
                .turns
                .is_none_or(|(reading, _)| readings.contains(&reading))
        };
        let mut mark = String::new();
        for event in line.events.iter().filter(here) {
            if !mark.contains(event.mark) {
                mark.push_str(event.mark);
            }
        }
        let wanted = line.cells.is_some() || !mark.is_empty();
        keep.push(wanted);
        if wanted {
            marks.push(format!("{mark:<MARGIN$}"));
        }
    }
    (marks, keep)
}

/// What the marks mean, with exact places.
fn below(motion: &Motion) -> String {
    let mut text = String::new();
    if !motion.turning_points.is_empty() {
        text.push_str("\nTurning points\n");
        for point in &motion.turning_points {
            let Some(reading) = motion.readings.get(point.reading) else {
                continue;
            };
            let (mark, word) = if point.greatest {
                ("^", "greatest")
            } else {
                ("v", "least")
            };
            let value = with_unit(point.value, reading.unit);
            let _ = writeln!(
                text,
                "{mark}   {} {word}, {value}, at {}",
                reading.name,
                named(&motion.drive, point.at)
            );
        }
    }
    if !motion.change_points.is_empty() {
        text.push_str("\nChange points, from which it may go either way\n");
        for change in &motion.change_points {
            let sentence = format!(
                "+   at {}: {}",
                named(&motion.drive, change.at),
                change.cause
            );
            text.push_str(&(wrap_after(&sentence) + "\n"));
        }
    }
    let _ = writeln!(text, "\nReach of {}", motion.drive.name);
    let (unit, reach) = (motion.drive.unit, &motion.reach);
    let short: Vec<String> = motion
        .falls_short
        .iter()
        .map(|f| {
            f.what_to_try
                .as_ref()
                .map_or_else(|| f.sentence.clone(), |t| format!("{}; {t}", f.sentence))
        })
        .collect();
    let ends = [("from", &reach.low), ("to", &reach.high)];
    if ends.iter().all(|(_, end)| reach::mark(end.kind).is_none()) {
        let _ = writeln!(text, "    {}", wrap(&reach::words(reach, unit), WIDTH, 4));
        return text;
    }
    for (word, end) in ends {
        let mark = reach::mark(end.kind).unwrap_or(" ");
        let sentence = format!("{mark}   {word} {}", reach::place(end, unit));
        text.push_str(&(wrap_after(&sentence) + "\n"));
    }
    for sentence in short {
        let _ = writeln!(text, "    {}", wrap(&sentence, WIDTH, 4));
    }
    text
}

/// Breaks a line that begins with a mark; the words behind it stay in line.
fn wrap_after(sentence: &str) -> String {
    let (mark, words) = sentence.split_at(sentence.len().min(4));
    format!("{mark}{}", wrap(words, WIDTH, 4))
}

/// For a spreadsheet.
///
/// Bands follow behind each reading where they are known: one pair of columns a load case, or one without load.
pub(crate) fn csv(motion: &Motion, over: &[Over], bands: &[BandsTable]) -> String {
    let lines = lines(motion);
    let mut columns_all = vec![drive_column(motion, &lines)];
    let mut heads = vec![csv_head(&motion.drive.name, motion.drive.unit.symbol())];
    for (index, reading) in motion.readings.iter().enumerate() {
        for (n, column) in columns(motion, &lines, index, over).into_iter().enumerate() {
            let head = if n == 0 {
                reading.name.clone()
            } else {
                format!("{} {}", reading.name, column.head)
            };
            heads.push(csv_head(&head, &column.unit));
            columns_all.push(column);
        }
        for table in bands {
            for column in band_columns(&lines, table, &reading.name) {
                heads.push(csv_head(&column.head, &column.unit));
                columns_all.push(column);
            }
        }
    }
    heads.push(String::from("note"));
    let mut text = csv::line(heads.iter().map(String::as_str));
    for (index, line) in lines.iter().enumerate() {
        let note = line.notes().join("; ");
        let cells = columns_all
            .iter()
            .map(|column| column.cells.get(index).map_or("", String::as_str))
            .map(|cell| if cell == NONE { "" } else { cell });
        text.push_str(&csv::line(cells.chain([note.as_str()])));
    }
    text
}

/// From where to where a reading may lie.
fn band_columns(lines: &[Line], table: &BandsTable, reading: &str) -> Vec<Column> {
    let found = table.readings.iter().enumerate();
    let Some((index, quantity)) = found.into_iter().find(|(_, q)| q.name == reading) else {
        return Vec::new();
    };
    let under = table
        .case
        .as_ref()
        .map_or(String::new(), |c| format!(" under {c}"));
    let ends: [(&str, fn(&Bands) -> f64); 2] = [("from", |b| b.from), ("to", |b| b.to)];
    let column = |(word, end): (&str, fn(&Bands) -> f64)| {
        let mut column =
            Column::numbers(format!("{reading}{under} {word}"), quantity.unit.symbol());
        let cell = |line: &Line| {
            let row = table.rows.iter().find(|row| row.at == Some(line.at))?;
            let bands = row.cells.get(index)?.as_ref()?;
            Some(bare(end(bands), quantity.unit))
        };
        let cells = lines.iter().map(|line| cell(line).unwrap_or_default());
        column.cells = cells.collect();
        column
    };
    ends.into_iter().map(column).collect()
}

fn csv_head(name: &str, unit: &str) -> String {
    if unit.is_empty() {
        name.to_owned()
    } else {
        format!("{name} ({unit})")
    }
}
