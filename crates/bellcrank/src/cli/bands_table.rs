//! Readings with what load, play and tolerance make of them, as tables.

use studies::Quantity;
use studies::load::answers::{Bands, BandsTable};

use super::WIDTH;
use super::numbers::{NONE, bare, signed, standing, with_unit};
use super::table::{Column, lay_out, wrap};

/// Readings with what load, play and tolerance make of them.
pub(super) fn bands_text(tables: &[BandsTable]) -> String {
    tables.iter().map(table_text).collect()
}

/// What is said beside each reading in one pose: from where to where it may be; nothing where nothing moves it.
pub(crate) fn bands_words(table: &BandsTable) -> Vec<Option<String>> {
    let Some(row) = table.rows.first() else {
        return Vec::new();
    };
    let words = |(reading, bands): (&Quantity, &Option<Bands>)| {
        let bands = bands.as_ref()?;
        let unit = reading.unit;
        let ([low, high], made) = (bands.play, bands.tolerance[1]);
        let play = (low != 0.0 || high != 0.0)
            .then(|| format!("play {} {}", signed(low, unit), signed(high, unit)));
        let made = (made != 0.0).then(|| format!("made ± {}", bare(made, unit)));
        let why: Vec<String> = play.into_iter().chain(made).collect();
        (!why.is_empty()).then(|| {
            let (from, to) = (bare(bands.from, unit), with_unit(bands.to, unit));
            format!("from {from} to {to}: {}", why.join(", "))
        })
    };
    table.readings.iter().zip(&row.cells).map(words).collect()
}

fn table_text(table: &BandsTable) -> String {
    let held = standing(&table.held).map_or(String::new(), |held| format!(": {held}"));
    let under = table
        .case
        .as_ref()
        .map_or_else(|| String::from("as made"), |case| format!("under {case}"));
    let Some(drive) = &table.drive else {
        let Some(row) = table.rows.first() else {
            return String::new();
        };
        let mut columns = Columns::new(Column::words("reading"), table);
        for (reading, cell) in table.readings.iter().zip(&row.cells) {
            if let Some(bands) = cell {
                columns.push(
                    reading.name.clone(),
                    bands,
                    |v| with_unit(v, reading.unit),
                    reading,
                );
            }
        }
        let head = format!("Readings {under}{held}");
        return columns.text(&head);
    };
    let mut text = String::new();
    for (index, reading) in table.readings.iter().enumerate() {
        let cells = table
            .rows
            .iter()
            .filter_map(|row| Some((row.at?, row.cells.get(index)?.as_ref()?)));
        let mut columns = Columns::new(Column::numbers(&drive.name, drive.unit.symbol()), table);
        let mut values: Vec<String> = Vec::new();
        for (at, bands) in cells {
            values.push(bare(bands.nominal, reading.unit));
            columns.push(
                bare(at, drive.unit),
                bands,
                |v| bare(v, reading.unit),
                reading,
            );
        }
        // What the drive does not move is told by `check`.
        let moves = values.iter().any(|value| Some(value) != values.first());
        if moves || values.len() == 1 {
            let unit = reading.unit.symbol();
            let head = format!("{}, {unit}, {under}{held}", reading.name);
            text.push_str(&columns.text(&head));
        }
    }
    text
}

/// The columns of a table of bands.
struct Columns {
    first: Column,
    nominal: Column,
    loaded: Option<Column>,
    play: Column,
    tolerance: Column,
    from: Column,
    to: Column,
}

impl Columns {
    fn new(first: Column, table: &BandsTable) -> Self {
        let loaded = table.case.is_some();
        Self {
            first,
            nominal: Column::numbers(if loaded { "no load" } else { "drawn" }, ""),
            loaded: loaded.then(|| Column::numbers("loaded", "")),
            play: Column::numbers("play", ""),
            tolerance: Column::numbers("made ±", ""),
            from: Column::numbers("from", ""),
            to: Column::numbers("to", ""),
        }
    }

    fn push(
        &mut self,
        first: String,
        bands: &Bands,
        show: impl Fn(f64) -> String,
        reading: &Quantity,
    ) {
        self.first.cells.push(first);
        self.nominal.cells.push(show(bands.nominal));
        if let Some(loaded) = &mut self.loaded {
            loaded
                .cells
                .push(bands.loaded.map_or_else(|| NONE.to_owned(), &show));
        }
        let [low, high] = bands.play.map(|v| signed(v, reading.unit));
        self.play.cells.push(format!("{low} {high}"));
        self.tolerance
            .cells
            .push(bare(bands.tolerance[1], reading.unit));
        self.from.cells.push(show(bands.from));
        self.to.cells.push(show(bands.to));
    }

    fn text(self, head: &str) -> String {
        if self.first.cells.is_empty() {
            return String::new();
        }
        let mut columns = vec![self.first, self.nominal];
        columns.extend(self.loaded);
        columns.extend([self.play, self.tolerance, self.from, self.to]);
        format!("\n{}\n{}", wrap(head, WIDTH, 2), lay_out(&[], &columns))
    }
}
