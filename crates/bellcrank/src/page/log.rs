//! The log beside a machine: readings typed on the page go into it, as the command line would write them.

use std::path::Path as FilePath;

use axum::extract::{Path, Query as Words, Request, State};
use machine::logbook::{self, Date};
use serde::Deserialize;
use serde_json::json;

use super::api::{Answered, Said, Shared, body, change, clean, desk, good};
use super::ask::Query;
use super::desk::Unchanged;
use super::trouble::{Trouble, json_of};
use super::work::files;
use crate::cli::args::Format;
use crate::cli::dial_in::{self, Logged};
use crate::cli::entries::{self, Entries};
use crate::cli::question::Read;

/// The log of a machine; none where it has none.
pub(crate) fn read(read: &mut Read) -> Result<Option<Logged>, Trouble> {
    let path = logbook::beside(FilePath::new(&read.file));
    if !path.exists() {
        return Ok(None);
    }
    Ok(Some(dial_in::log(read, &path, &Entries::default())?))
}

/// There is no log.
pub(crate) fn missing(read: &Read) -> Trouble {
    Trouble::refused(format!(
        "nothing is written down yet of {} as built",
        read.machine.name
    ))
    .what_to_do("type what the indicator shows into the table")
}

/// `GET run`: an empty table of readings as CSV, with the places at which they are worth taking.
pub(crate) async fn blank(
    State(page): Shared,
    Path(name): Path<String>,
    Words(words): Said,
) -> Answered {
    let query = Query::new(words)?;
    let desk = desk(&page, name).await?;
    let good = good(&desk.now())?;
    let work = move || {
        let args = query.dial_in(&good.read, Format::Csv)?;
        Ok(json!({ "table": dial_in::empty(&args, &good.read)? }))
    };
    Ok(json_of(&page.workshop.study(work).await?))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Run {
    base: u64,
    /// The table, as CSV.
    table: String,
    /// How far off a reading may be.
    uncertainty: String,
    #[serde(default)]
    zero: Option<String>,
    #[serde(default)]
    under: Option<String>,
    #[serde(default)]
    with: Option<String>,
    #[serde(default)]
    sense: Option<String>,
    #[serde(default)]
    drive_zero: Option<String>,
    #[serde(default)]
    on: Option<String>,
    #[serde(default)]
    by: String,
}

/// `POST run`: readings that were typed, behind what the log holds.
pub(crate) async fn run(
    State(page): Shared,
    Path(name): Path<String>,
    request: Request,
) -> Answered {
    let asked: Run = body(request).await?;
    let found = desk(&page, name.clone()).await?;
    let good = good(&found.now())?;
    let entry = files(move || entry(&asked, &good.read).map(|entry| (entry, asked))).await??;
    let (entry, asked) = entry;
    let by = clean(&asked.by, "page");
    change(&page, name, move |desk| {
        desk.write_log(asked.base, &by, |log| Ok(logbook::append(log, &entry)))
    })
    .await
}

/// A table as an entry of the log; refused with the log's own words where it does not hold.
fn entry(asked: &Run, read: &Read) -> Result<String, Trouble> {
    if asked.uncertainty.trim().is_empty() {
        return Err(
            Trouble::refused("a reading is worth nothing without how far off it may be")
                .what_to_do("write what holds 95 times of 100: 0.01 mm"),
        );
    }
    let on = match asked.on.as_deref().filter(|on| !on.trim().is_empty()) {
        None => None,
        Some(text) => Some(Date::parse(text).ok_or_else(|| {
            Trouble::refused(format!("\"{text}\" is no day"))
                .what_to_do("write year, month and day: 2026-03-14")
        })?),
    };
    let said = |word: &Option<String>| word.clone().filter(|word| !word.trim().is_empty());
    let mut args = Query::default().dial_in(read, Format::Text)?;
    args.zero = said(&asked.zero);
    args.under = said(&asked.under);
    args.with = said(&asked.with);
    args.sense = said(&asked.sense);
    args.drive_zero = said(&asked.drive_zero);
    let mut read = read.clone();
    let uncertainty = asked.uncertainty.trim();
    let table = entries::run_entry(&args, &read, "the table", &asked.table, uncertainty, on)?;
    let mut entries = Entries::default();
    entries.add("the table", table);
    // The whole log has to hold with it.
    let path = logbook::beside(FilePath::new(&read.file));
    dial_in::log(&mut read, &path, &entries)?;
    Ok(entries.text)
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Text {
    base: u64,
    text: String,
    #[serde(default)]
    by: String,
}

/// `POST log`: the whole log, as typed.
pub(crate) async fn write(
    State(page): Shared,
    Path(name): Path<String>,
    request: Request,
) -> Answered {
    let Text { base, text, by } = body(request).await?;
    let by = clean(&by, "page");
    change(&page, name, move |desk| {
        desk.write_log(base, &by, move |_| Ok::<_, Unchanged>(text))
    })
    .await
}
