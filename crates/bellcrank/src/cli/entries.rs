//! What the command line adds to the log of a machine.

use std::ops::Range;

use machine::logbook::{self, Date, Known, LogRead, Table};
use machine::model::Adjusts;
use machine::{Place, nearest};
use quantity::{Kind, Unit};
use studies::dial::known;

use super::args::DialIn as Args;
use super::exit::Exit;
use super::fault::Fault;
use super::question::{self, Read, shown};

/// Entries to go behind what a log holds.
#[derive(Debug, Default)]
pub(crate) struct Entries {
    /// As they are written there.
    pub(crate) text: String,
    /// The tables that some of them were made of.
    tables: Vec<Taken>,
}

/// A table among the entries.
#[derive(Debug)]
struct Taken {
    name: String,
    csv: String,
    /// The whole of it in the entries.
    whole: Range<usize>,
    lines: Vec<(Range<usize>, Range<usize>)>,
}

impl Entries {
    /// A table behind the others.
    pub(crate) fn add(&mut self, name: &str, table: Table) {
        let start = self.text.len();
        self.text.push_str(&table.text);
        self.tables.push(Taken {
            name: name.to_owned(),
            csv: table.csv,
            whole: start..self.text.len(),
            lines: table
                .lines
                .into_iter()
                .map(|(to, from)| (start + to.start..start + to.end, from))
                .collect(),
        });
    }

    /// Everything that a log says of these entries is told of the table it came from, or of no place when it came from an option: the log
    /// itself may not be there yet.
    pub(crate) fn place(&self, text: &str, source: usize, found: &mut LogRead) {
        let own = self.text.trim_start_matches('\n');
        let skipped = self.text.len() - own.len();
        let Some(start) = text.rfind(own) else {
            // Line ends were changed on the way into the log: its own places are right once it is kept.
            return;
        };
        let tables: Vec<usize> = self
            .tables
            .iter()
            .map(|t| found.sources.add(t.name.clone(), t.csv.clone()))
            .collect();
        let of = |place: &mut Place| {
            if place.source != source || place.end <= start {
                return;
            }
            let at = place.start.saturating_sub(start) + skipped;
            for (table, &source) in self.tables.iter().zip(&tables) {
                if !table.whole.contains(&at) {
                    continue;
                }
                let line = table.lines.iter().find(|l| l.0.contains(&at));
                // What is about the whole run is told of the heading.
                let head = table.csv.lines().next().map_or(0, str::len);
                let to = line.map_or(0..head, |l| l.1.clone());
                *place = Place {
                    source,
                    start: to.start,
                    end: to.end,
                };
                return;
            }
            *place = Place::default();
        };
        for problem in &mut found.problems {
            problem.labels.iter_mut().for_each(|l| of(&mut l.place));
            problem.labels.retain(|l| l.place != Place::default());
        }
        // Up and down are two runs of one table.
        let mut seen = Vec::new();
        found.problems.retain(|p| {
            let key = (p.message.clone(), p.labels.clone());
            let new = !seen.contains(&key);
            seen.push(key);
            new
        });
        if let Some(log) = &mut found.log {
            for run in &mut log.runs {
                of(&mut run.place);
                run.taken.iter_mut().for_each(|t| of(&mut t.place));
            }
            log.measured.iter_mut().for_each(|m| of(&mut m.place));
            log.jobs.iter_mut().for_each(|j| of(&mut j.place));
        }
    }
}

/// What the command line adds to the log, as it is written there.
pub(crate) fn entries(args: &Args, read: &Read) -> Result<Entries, Fault> {
    options(args, read)?;
    let mut entries = Entries::default();
    let on = match &args.on {
        Some(text) => Some(Date::parse(text).ok_or_else(|| {
            Fault::usage(
                format!("--on \"{text}\" is no day"),
                "write year, month and day: 2026-03-14",
            )
        })?),
        None => None,
    };
    let uncertainty = |what: &str| {
        args.uncertainty.as_deref().ok_or_else(|| {
            Fault::usage(
                format!("{what} needs --uncertainty"),
                "write how far off it may be 95 times of 100: --uncertainty \"0.01 mm\"",
            )
        })
    };
    let known = known(&read.model);
    for text in &args.measured {
        let (name, value) = pair("--measured", text)?;
        let dimension = dimension(&known, name, read)?;
        let off = uncertainty("--measured")?;
        entries.text.push_str(&logbook::measured_entry(
            dimension,
            &in_unit(read, value, dimension.kind),
            &in_unit(read, off, dimension.kind),
            args.with.as_deref().unwrap_or_default(),
            on,
        ));
    }
    if let Some(name) = &args.job {
        let pairs = |option: &str, texts: &[String]| -> Result<Vec<(String, String)>, Fault> {
            texts
                .iter()
                .map(|t| pair(option, t).map(|(a, b)| (a.to_owned(), b.to_owned())))
                .collect()
        };
        let reads = pairs("--read", &args.reads)?;
        let kind = reads
            .first()
            .map_or(Kind::Length, |(name, _)| kind_of(read, name));
        let off = args.uncertainty.as_deref().map(|u| in_unit(read, u, kind));
        if let Some(off) = &off {
            sure("--uncertainty", off, kind)?;
        }
        entries.text.push_str(&logbook::job_entry(
            name,
            on,
            &in_units(pairs("--at", &args.pose.at)?, read, kind_of_drive),
            &in_units(pairs("--set", &args.pose.set)?, read, kind_of_setting),
            &in_units(reads, read, kind_of),
            off.as_deref(),
        ));
    }
    for path in &args.readings {
        if !path.exists() {
            return Err(Fault::disk(
                format!("the table {} is not there", path.display()),
                format!(
                    "bellcrank dial-in {} --blank prints one to fill in",
                    read.file
                ),
            ));
        }
        let text = logbook::text(path).map_err(|problem| Fault {
            exit: Exit::Disk,
            problems: vec![problem],
            sources: read.sources.clone(),
        })?;
        let kind = reading_of(&text, read);
        let off = in_unit(read, uncertainty("--readings")?, kind);
        sure("--uncertainty", &off, kind)?;
        let name = shown(path);
        let table = run_entry(args, read, &name, &text, &off, on)?;
        entries.add(&name, table);
    }
    Ok(entries)
}

/// A bare length on the command line is in the unit of `--unit`, else of the machine file; in the log it says so.
fn in_unit(read: &Read, text: &str, kind: Kind) -> String {
    let bare = quantity::parse(text, Kind::Count, Unit::One).is_ok();
    if kind == Kind::Length && bare {
        format!("{} {}", text.trim(), read.machine.unit.symbol())
    } else {
        text.to_owned()
    }
}

/// What the reading measures that a table is headed with.
fn reading_of(table: &str, read: &Read) -> Kind {
    let head = table.lines().find(|l| !l.trim_start().starts_with('#'));
    let of = read.machine.readings.iter().filter(|r| {
        head.is_some_and(|h| {
            h.split([',', ';', '\t']).skip(1).any(|cell| {
                let name = cell
                    .split('(')
                    .next()
                    .unwrap_or_default()
                    .trim()
                    .trim_matches('"');
                let bare = name.trim_end_matches(" up").trim_end_matches(" down");
                bare.trim() == r.name
            })
        })
    });
    of.map(|r| r.unit.kind()).next().unwrap_or(Kind::Length)
}

/// The drive that a table is headed with.
fn drive_of(table: &str, read: &Read) -> Option<Kind> {
    let head = table.lines().find(|l| !l.trim_start().starts_with('#'))?;
    let cell = head.split([',', ';', '\t']).next()?;
    let name = cell.split('(').next()?.trim().trim_matches('"');
    Some(kind_of_drive(read, name))
}

fn kind_of(read: &Read, reading: &str) -> Kind {
    let found = read.machine.readings.iter().find(|r| r.name == reading);
    found.map_or(Kind::Count, |r| r.unit.kind())
}

fn kind_of_drive(read: &Read, drive: &str) -> Kind {
    let found = read.machine.drives.iter().find(|d| d.name == drive);
    found.map_or(Kind::Count, |d| d.unit.kind())
}

fn kind_of_setting(read: &Read, setting: &str) -> Kind {
    let found = read.machine.settings.iter().find(|s| s.name == setting);
    found
        .filter(|s| !matches!(s.adjusts, Adjusts::Row(_)))
        .map_or(Kind::Count, |s| s.unit.kind())
}

fn in_units(
    pairs: Vec<(String, String)>,
    read: &Read,
    kind: fn(&Read, &str) -> Kind,
) -> Vec<(String, String)> {
    pairs
        .into_iter()
        .map(|(name, value)| {
            let value = in_unit(read, &value, kind(read, &name));
            (name, value)
        })
        .collect()
}

/// How sure something is: a quantity of this kind above zero.
fn sure(option: &str, text: &str, kind: Kind) -> Result<(), Fault> {
    let bare = if kind == Kind::Angle {
        Unit::Degree
    } else {
        Unit::Millimetre
    };
    match quantity::parse(text, kind, bare) {
        Ok(written) if written.value > 0.0 => Ok(()),
        Ok(_) => Err(Fault::usage(
            format!("{option} \"{text}\": nothing is known exactly"),
            "write how far off it may be 95 times of 100, above zero",
        )),
        Err(error) => Err(Fault::usage(
            format!("{option} \"{text}\": {}", error.message),
            error.help,
        )),
    }
}

/// Options that go with a table or a job and with nothing else, and their words.
fn options(args: &Args, read: &Read) -> Result<(), Fault> {
    let refuse = |option: &str, with: &str| {
        Err(Fault::usage(
            format!("{option} has nothing to go with"),
            format!("give it with {with}"),
        ))
    };
    let table = [
        ("--position", &args.position),
        ("--drive-zero", &args.drive_zero),
        ("--zero", &args.zero),
        ("--sense", &args.sense),
        ("--under", &args.under),
    ];
    for (option, word) in table {
        if word.is_some() && args.readings.is_empty() {
            return refuse(option, "--readings TABLE");
        }
    }
    let anything = !args.readings.is_empty() || !args.measured.is_empty() || args.job.is_some();
    for (option, word) in [
        ("--uncertainty", &args.uncertainty),
        ("--with", &args.with),
        ("--on", &args.on),
    ] {
        if word.is_some() && !anything {
            return refuse(option, "--readings, --measured or --job");
        }
    }
    if !args.reads.is_empty() && args.job.is_none() {
        return refuse("--read", "--job NAME");
    }
    if args.job.is_some()
        && args.reads.is_empty()
        && args.pose.at.is_empty()
        && args.pose.set.is_empty()
    {
        return Err(Fault::usage(
            "--job says nothing of the machine",
            "say how it was set with --at and --set, and what it read with --read \"READING = VALUE\"",
        ));
    }
    let words = [
        ("--zero", &args.zero, &["unknown", "true", "kept"][..]),
        ("--sense", &args.sense, &["same", "opposite"][..]),
    ];
    for (option, word, known) in words {
        if let Some(word) = word.as_deref().filter(|w| !known.contains(w)) {
            return Err(Fault::usage(
                format!("{option} \"{word}\" is not known"),
                format!("write {}", known.join(" or ")),
            ));
        }
    }
    if let Some(case) = &args.under {
        let cases: Vec<&str> = read.machine.work.cases.iter().map(|c| &*c.name).collect();
        if !cases.contains(&&**case) {
            return Err(Fault::usage(
                format!("{} has no load case \"{case}\"", read.machine.name),
                if cases.is_empty() {
                    "its file has none".to_owned()
                } else {
                    format!("it has {}", cases.join(", "))
                },
            ));
        }
    }
    // Drives and settings by name, within their ranges.
    question::stand(read, &args.pose).map(|_| ())
}

/// A table of readings as an entry of the log.
pub(crate) fn run_entry(
    args: &Args,
    read: &Read,
    name: &str,
    table: &str,
    uncertainty: &str,
    on: Option<Date>,
) -> Result<Table, Fault> {
    let kind = drive_of(table, read).unwrap_or(Kind::Count);
    let of_drive = |option: &str, word: &Option<String>| -> Result<Option<String>, Fault> {
        let Some(word) = word else { return Ok(None) };
        let word = in_unit(read, word, kind);
        if kind != Kind::Count {
            sure(option, &word, kind)?;
        }
        Ok(Some(word))
    };
    let position = of_drive("--position", &args.position)?;
    let drive_zero = of_drive("--drive-zero", &args.drive_zero)?;
    let mut extra = vec![("uncertainty", quoted(uncertainty))];
    let words = [
        ("zero", &args.zero),
        ("sense", &args.sense),
        ("position", &position),
        ("drive-zero", &drive_zero),
        ("under", &args.under),
        ("with", &args.with),
    ];
    extra.extend(
        words
            .into_iter()
            .filter_map(|(key, word)| Some((key, quoted(word.as_deref()?)))),
    );
    extra.extend(on.map(|on| ("on", format!("\"{on}\""))));
    let drives = kind_of_drive as fn(&Read, &str) -> Kind;
    for (key, texts, kind) in [
        ("at", &args.pose.at, drives),
        ("set", &args.pose.set, kind_of_setting),
    ] {
        let pairs: Result<Vec<String>, Fault> = texts
            .iter()
            .map(|t| {
                let (name, value) = pair(&format!("--{key}"), t)?;
                let value = in_unit(read, value, kind(read, name));
                Ok(format!("{name} = {}", typed(&value)))
            })
            .collect();
        let pairs = pairs?;
        if !pairs.is_empty() {
            extra.push((key, format!("{{ {} }}", pairs.join(", "))));
        }
    }
    logbook::from_csv(name, table, &read.machine, &extra).map_err(|(sources, problems)| Fault {
        exit: Exit::File,
        problems,
        sources,
    })
}

fn typed(text: &str) -> String {
    if text.parse::<u32>().is_ok() {
        text.to_owned()
    } else {
        quoted(text)
    }
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

/// The dimension of this name.
fn dimension<'k>(known: &'k [Known], name: &str, read: &Read) -> Result<&'k Known, Fault> {
    known.iter().find(|k| k.name == name).ok_or_else(|| {
        let near = nearest(name, known.iter().map(|k| k.name.as_str()));
        let help = match near {
            Some(near) => format!("perhaps \"{near}\" is meant"),
            None => format!("bellcrank sensitivity {} lists the dimensions", read.file),
        };
        Fault::usage(
            format!("{} has no dimension \"{name}\"", read.machine.name),
            help,
        )
    })
}

/// `NAME = VALUE`; the name of a dimension may hold anything but a `=`.
fn pair<'a>(option: &str, text: &'a str) -> Result<(&'a str, &'a str), Fault> {
    let parts = text.split_once('=').map(|(n, v)| (n.trim(), v.trim()));
    parts
        .filter(|(n, v)| !n.is_empty() && !v.is_empty())
        .ok_or_else(|| {
            Fault::usage(
                format!("{option} \"{text}\" is not a name with its value"),
                format!("write it as {option} \"NAME = VALUE\""),
            )
        })
}
