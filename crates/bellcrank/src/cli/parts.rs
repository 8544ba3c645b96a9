//! `bellcrank parts`.

use std::fmt::Write as _;

use machine::Sources;
use serde::Serialize;
use studies::parts::answers::{Buy, Item, Parts};
use studies::{Finding, Severity};

use super::args::{Format, Parts as Args};
use super::check::finding_text;
use super::exit::Exit;
use super::fault::Fault;
use super::numbers::NONE;
use super::progress::during;
use super::question::{self, Read};
use super::report::Answer;
use super::table::wrap;
use super::{Done, WIDTH, Worked, csv, output};

pub(crate) fn run(args: &Args, json: bool) -> Result<Done, Fault> {
    let read = question::read(&args.file)?;
    let worked = during("checking parts", || {
        question::within(&read, Ok(on(args, &read, output::colour_out())))
    })?;
    Ok(worked.done(&read, json))
}

/// Checks every element of the machine that was read.
pub(crate) fn on(args: &Args, read: &Read, colour: bool) -> Worked {
    let parts = studies::parts::parts(&read.model);
    let bad = |f: &Finding| matches!(f.severity, Severity::Fault | Severity::Miss);
    let exit = match read.judge() {
        Exit::Kept if parts.findings.iter().any(bad) => Exit::Missed,
        other => other,
    };
    let text = match args.format {
        Format::Csv => table(&parts),
        _ => text(&parts, args.would_do, &read.sources, colour),
    };
    Worked {
        exit,
        answer: Answer::Parts(parts),
        text,
    }
}

/// How many elements and checks there are, and what is wrong, in a line.
fn whole(parts: &Parts) -> String {
    let checks = parts.items.iter().flat_map(|i| &i.checks);
    let count = |severity: Severity, plain: bool| {
        let all = parts.findings.iter().filter(|f| f.severity == severity);
        all.filter(|f| !plain || f.margin.is_none()).count()
    };
    // A check that is missed, or a finding that is no matter of a figure.
    let missed = checks.clone().filter(|c| !c.passes).count() + count(Severity::Miss, true);
    let faults = match count(Severity::Fault, false) {
        0 => String::new(),
        n => format!("{}, ", many(n, "fault")),
    };
    format!(
        "{}: {}, {}, {faults}{missed} missed",
        parts.machine,
        many(parts.items.len(), "element"),
        many(checks.count(), "check")
    )
}

/// What is said of one element: a word in front of each line.
#[derive(Serialize)]
pub(crate) struct Told {
    head: String,
    /// As headed in the machine file.
    about: String,
    rows: Vec<(&'static str, String)>,
}

/// Everything that the text says, line by line, for whoever shows it another way.
#[derive(Serialize)]
pub(crate) struct Spoken {
    whole: String,
    buy: Vec<(String, String)>,
    items: Vec<Told>,
    /// What the numbers behind the lines stand for.
    sources: Vec<(String, String)>,
}

pub(crate) fn spoken(parts: &Parts, would_do: bool) -> Spoken {
    let mut origins: Vec<String> = Vec::new();
    let items = parts
        .items
        .iter()
        .map(|item| Told {
            head: format!("{}, {}", item.what, item.at),
            about: item.about.clone(),
            rows: rows(item, would_do, &mut origins),
        })
        .collect();
    let bought = |buy: &Buy| {
        let what = format!("{}: {}", buy.what, buy.places.join("; "));
        (buy.count.to_string(), what)
    };
    Spoken {
        whole: whole(parts),
        buy: parts.buy.iter().map(bought).collect(),
        items,
        sources: origins
            .into_iter()
            .enumerate()
            .map(|(n, origin)| (format!("[{}]", n + 1), origin))
            .collect(),
    }
}

pub(super) fn text(parts: &Parts, would_do: bool, sources: &Sources, colour: bool) -> String {
    let said = spoken(parts, would_do);
    let mut text = wrap(&said.whole, WIDTH, 2) + "\n";
    if parts.items.is_empty() {
        text.push_str(
            "The file names no holes, bearings, rod ends or what holds arms; docs: [part.NAME] hole.POINT = { ... }\n",
        );
        return text;
    }
    let told: Vec<&Finding> = parts
        .findings
        .iter()
        .filter(|f| f.severity != Severity::Kept)
        .collect();
    if !told.is_empty() {
        text.push('\n');
    }
    for finding in told {
        text.push_str(&finding_text(finding, sources, colour));
    }
    if !said.buy.is_empty() {
        text.push_str("\nTo buy, or to make from stock\n");
    }
    for (count, what) in &said.buy {
        let _ = writeln!(text, "  {count:>2}  {}", wrap(what, WIDTH, 6));
    }
    text.push_str("\nWhat was checked, each at its worst\n");
    for item in &said.items {
        let _ = writeln!(text, "\n{}", wrap(&item.head, WIDTH, 0));
        for (word, words) in &item.rows {
            let _ = writeln!(text, "  {}{}", mark(word, colour), wrap(words, WIDTH, 10));
        }
    }
    text.push_str("\nSources\n");
    for (number, origin) in &said.sources {
        let _ = writeln!(text, "  {number:<6}{}", wrap(origin, WIDTH, 8));
    }
    text.push_str("\nTaken for granted\n");
    for line in &parts.assumed {
        let _ = writeln!(text, "  {}", wrap(line, WIDTH, 2));
    }
    text
}

fn many(count: usize, one: &str) -> String {
    format!("{count} {one}{}", if count == 1 { "" } else { "s" })
}

/// What passes, and what does not.
const OK: &str = "ok";
const MISSED: &str = "MISSED";

/// The word in front of a line, as wide as there is room for it.
fn mark(word: &str, colour: bool) -> String {
    let code = match word {
        OK => "32",
        MISSED => "1;31",
        _ => "",
    };
    if colour && !code.is_empty() {
        let blanks = " ".repeat(8_usize.saturating_sub(word.len()));
        format!("\u{1b}[{code}m{word}\u{1b}[0m{blanks}")
    } else {
        format!("{word:<8}")
    }
}

/// Number of a source in the list at the end.
fn numbered(origins: &mut Vec<String>, origin: &str) -> usize {
    let known = origins.iter().position(|o| o == origin);
    known.unwrap_or_else(|| {
        origins.push(origin.to_owned());
        origins.len() - 1
    }) + 1
}

fn rows(item: &Item, would_do: bool, origins: &mut Vec<String>) -> Vec<(&'static str, String)> {
    let mut rows: Vec<(&'static str, String)> = Vec::new();
    let mut line = |front: &'static str, words: String| rows.push((front, words));
    for size in &item.sizes {
        let number = numbered(origins, &size.source);
        line("make", format!("{} {} [{number}]", size.what, size.shown));
    }
    for fit in &item.fits {
        line("fit", format!("{}: {}", fit.what, fit.shown));
    }
    for figure in &item.figures {
        let number = numbered(origins, &figure.source);
        line("note", format!("{} [{number}]", figure.sentence));
    }
    // Where all are worst is told once.
    let mut places: Vec<&str> = item.checks.iter().map(|c| c.worst.as_str()).collect();
    places.retain(|place| !place.is_empty());
    places.dedup();
    let once = places.len() == 1;
    for check in &item.checks {
        let number = numbered(origins, &format!("{}; {}", check.source, check.sure));
        let times = check.times.as_ref().map_or_else(
            || String::from("nothing acts"),
            |times| format!("{times} times, {} wanted", check.wanted),
        );
        let worst = if once || check.worst.is_empty() {
            String::new()
        } else {
            format!(", {}", check.worst)
        };
        let words = format!("{}: {}, {times}{worst} [{number}]", check.what, check.shown);
        line(if check.passes { OK } else { MISSED }, words);
    }
    if let (true, Some(place)) = (once, places.first()) {
        line("worst", (*place).to_owned());
    }
    let failed = item.checks.iter().any(|c| !c.passes);
    if let Some(would) = item
        .would_do
        .as_ref()
        .filter(|w| would_do || w.smaller || failed)
    {
        let words = match &would.what {
            Some(what) => format!("{what} would do here"),
            None => format!("nothing would do here of {}", would.from),
        };
        line("or", words);
    }
    for assumed in &item.assumed {
        line("taken", assumed.clone());
    }
    rows
}

/// One line a check, and one for what is wrong beside them.
fn table(parts: &Parts) -> String {
    let head = [
        "element", "where", "check", "acts", "bears", "unit", "times", "wanted", "passes", "case",
        "worst", "would do", "source",
    ];
    let mut text = csv::line(head);
    for item in &parts.items {
        let would = item
            .would_do
            .as_ref()
            .and_then(|w| w.what.as_deref())
            .unwrap_or("");
        for fault in &item.faults {
            text.push_str(&csv::line([
                item.what.as_str(),
                &item.at,
                fault,
                NONE,
                NONE,
                "",
                NONE,
                NONE,
                "no",
                "",
                "",
                would,
                "",
            ]));
        }
        for check in &item.checks {
            let number =
                |x: Option<f64>| x.map_or_else(|| String::from(NONE), |x| format!("{x:.4}"));
            text.push_str(&csv::line([
                item.what.as_str(),
                &item.at,
                &check.what,
                &number(Some(check.acts)),
                &number(check.bears),
                &check.unit,
                &number(check.factor),
                &check.wanted.to_string(),
                if check.passes { "yes" } else { "no" },
                check.case.as_deref().unwrap_or(""),
                &check.worst,
                would,
                &check.source,
            ]));
        }
    }
    text
}
