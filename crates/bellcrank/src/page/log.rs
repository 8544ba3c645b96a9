//! The log beside a machine: readings typed on the page go into it, as the command line would write them.

use std::collections::BTreeMap;
use std::path::Path as FilePath;

use axum::extract::{Path, Query as Words, Request, State};
use machine::logbook::{self, Date};
use serde::Deserialize;
use serde_json::json;
use studies::pointing::words;

use super::api::{Answered, Said, Shared, body, change, clean, desk, good};
use super::ask::Query;
use super::desk::Unchanged;
use super::trouble::{Trouble, json_of};
use super::work::files;
use crate::cli::args::{self, Format};
use crate::cli::dial_in::{self, Logged};
use crate::cli::entries::{self, Entries};
use crate::cli::question::{self, Read};

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

/// `GET run`: an empty table of readings as CSV, with the places at which they are worth taking; the names of what can be measured; settings
/// as they were logged last, where they are not as drawn.
pub(crate) async fn blank(
    State(page): Shared,
    Path(name): Path<String>,
    Words(said): Said,
) -> Answered {
    let query = Query::new(said)?;
    let desk = desk(&page, name).await?;
    let good = good(&desk.now())?;
    let work = move || {
        let mut with_log = (*good.read).clone();
        let args = query.dial_in(&good.read, Format::Csv)?;
        let table = dial_in::empty(&args, &good.read)?;
        let known = studies::dial::known(&good.read.model);
        let dimensions: Vec<String> = known.into_iter().map(|k| k.name).collect();
        // A log with errors says nothing of settings; the errors are told where it is fitted.
        let logged = read(&mut with_log).ok().flatten();
        let standing = logged.map_or_else(Default::default, |logged| last_set(&with_log, &logged));
        Ok(json!({ "table": table, "dimensions": dimensions, "standing": standing }))
    };
    Ok(json_of(&page.workshop.study(work).await?))
}

/// Settings as logged last, in words.
fn last_set(read: &Read, logged: &Logged) -> BTreeMap<String, String> {
    let now = studies::dial::standing_now(&read.model, &logged.log).settings;
    let drawn = read.model.drawn().settings;
    let all = read.machine.settings.iter().zip(now.into_iter().zip(drawn));
    all.enumerate()
        .filter(|(_, (_, (now, drawn)))| now != drawn)
        .map(|(n, (setting, (now, _)))| {
            let q = read.model.setting(n);
            (setting.name.clone(), words(&q, now))
        })
        .collect()
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    base: u64,
    /// A table of readings, as CSV.
    table: Option<String>,
    /// A dimension measured on a part, and its value.
    dimension: Option<String>,
    value: Option<String>,
    /// A job, and what the machine read.
    job: Option<String>,
    #[serde(default)]
    reads: BTreeMap<String, String>,
    /// Drives and settings that stand elsewhere than drawn.
    #[serde(default)]
    stands: BTreeMap<String, String>,
    /// How far off a reading or value may be.
    #[serde(default)]
    uncertainty: String,
    zero: Option<String>,
    under: Option<String>,
    with: Option<String>,
    sense: Option<String>,
    drive_zero: Option<String>,
    on: Option<String>,
    #[serde(default)]
    by: String,
}

/// `POST run`: readings, a measured part or a job that was typed, behind what the log holds.
pub(crate) async fn run(
    State(page): Shared,
    Path(name): Path<String>,
    request: Request,
) -> Answered {
    let asked: Entry = body(request).await?;
    let found = desk(&page, name.clone()).await?;
    let good = good(&found.now())?;
    let entry = files(move || entry(&asked, &good.read).map(|entry| (entry, asked))).await??;
    let (entry, asked) = entry;
    let by = clean(&asked.by, "page");
    let say = match (&asked.table, &asked.job) {
        (Some(_), _) => "wrote readings",
        (_, Some(_)) => "wrote a job",
        _ => "wrote a measured part",
    };
    change(&page, name, move |desk| {
        desk.write_log(asked.base, say, &by, |log| Ok(logbook::append(log, &entry)))
    })
    .await
}

/// What was typed as an entry of the log; refused with the log's own words where it does not hold.
fn entry(asked: &Entry, read: &Read) -> Result<String, Trouble> {
    let said = |word: &Option<String>| word.clone().filter(|word| !word.trim().is_empty());
    let uncertainty = Some(asked.uncertainty.trim().to_owned()).filter(|u| !u.is_empty());
    if uncertainty.is_none() && asked.job.is_none() {
        return Err(
            Trouble::refused("a reading is worth nothing without how far off it may be")
                .what_to_do("write what holds 95 times of 100: 0.01 mm"),
        );
    }
    let on = match said(&asked.on) {
        None => None,
        Some(text) => Some(Date::parse(text.trim()).ok_or_else(|| {
            Trouble::refused(format!("\"{text}\" is no day"))
                .what_to_do("write year, month and day: 2026-03-14")
        })?),
    };
    let stands = asked.stands.iter();
    let stands = stands.map(|(name, value)| (format!("at.{name}"), value.clone()));
    let mut args = Query::new(stands.collect())?.dial_in(read, Format::Text)?;
    args.with = said(&asked.with);
    args.uncertainty.clone_from(&uncertainty);
    args.on = on.map(|on| on.to_string());
    let mut read = read.clone();
    let entries = if let Some(table) = &asked.table {
        args.zero = said(&asked.zero);
        args.under = said(&asked.under);
        args.sense = said(&asked.sense);
        args.drive_zero = said(&asked.drive_zero);
        question::stand(&read, &args.pose)?;
        let off = uncertainty.unwrap_or_default();
        let table = entries::run_entry(&args, &read, "the table", table, &off, on)?;
        let mut entries = Entries::default();
        entries.add("the table", table);
        entries
    } else {
        args.job = said(&asked.job);
        let pairs = asked
            .reads
            .iter()
            .map(|(name, value)| format!("{name} = {value}"));
        args.reads = pairs.collect();
        if let (Some(name), Some(value)) = (said(&asked.dimension), said(&asked.value)) {
            args.measured = vec![format!("{name} = {value}")];
            args.pose = args::Pose {
                at: Vec::new(),
                set: Vec::new(),
            };
        }
        entries::entries(&args, &read)?
    };
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
        desk.write_log(base, "edited its text", &by, move |_| {
            Ok::<_, Unchanged>(text)
        })
    })
    .await
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Step {
    base: u64,
    #[serde(default)]
    by: String,
}

/// `POST log/undo` and `log/redo`: steps of the log, which are its own.
pub(crate) async fn step(
    State(page): Shared,
    Path((name, which)): Path<(String, String)>,
    request: Request,
) -> Answered {
    let Step { base, by } = body(request).await?;
    let by = clean(&by, "page");
    match which.as_str() {
        "undo" => change(&page, name, move |desk| desk.undo_log(base, &by)).await,
        "redo" => change(&page, name, move |desk| desk.redo_log(base, &by)).await,
        _ => Err(Trouble::not_there("there is no such place on the page")),
    }
}
