//! `bellcrank parts`.

use std::fmt::Write as _;

use machine::Sources;
use studies::parts::answers::{Checked, Item, Parts};
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

pub(super) fn text(parts: &Parts, would_do: bool, sources: &Sources, colour: bool) -> String {
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
    let mut text = wrap(
        &format!(
            "{}: {}, {}, {faults}{missed} missed",
            parts.machine,
            many(parts.items.len(), "element"),
            many(checks.count(), "check")
        ),
        WIDTH,
        2,
    ) + "\n";
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
    text.push_str(&buy_text(parts));
    text.push_str("\nWhat was checked, each at its worst\n");
    let mut origins: Vec<String> = Vec::new();
    for item in &parts.items {
        text.push_str(&item_text(item, would_do, colour, &mut origins));
    }
    text.push_str("\nSources\n");
    for (index, origin) in origins.iter().enumerate() {
        let front = format!("  {:<6}", format!("[{}]", index + 1));
        let _ = writeln!(text, "{front}{}", wrap(origin, WIDTH, 8));
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

fn buy_text(parts: &Parts) -> String {
    if parts.buy.is_empty() {
        return String::new();
    }
    let mut text = String::from("\nTo buy, or to make from stock\n");
    for buy in &parts.buy {
        let front = format!("  {:>2}  ", buy.count);
        let _ = writeln!(
            text,
            "{front}{}",
            wrap(
                &format!("{}: {}", buy.what, buy.places.join("; ")),
                WIDTH,
                6
            )
        );
    }
    text
}

fn mark(check: &Checked, colour: bool) -> String {
    let (word, code) = if check.passes {
        ("ok", "32")
    } else {
        ("MISSED", "1;31")
    };
    let blanks = " ".repeat(8 - word.len());
    if colour {
        format!("  \u{1b}[{code}m{word}\u{1b}[0m{blanks}")
    } else {
        format!("  {word}{blanks}")
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

fn item_text(item: &Item, would_do: bool, colour: bool, origins: &mut Vec<String>) -> String {
    let head = wrap(&format!("{}, {}", item.what, item.at), WIDTH, 0);
    let mut text = format!("\n{head}\n");
    let mut line = |front: &str, words: &str| {
        let _ = writeln!(text, "  {front:<8}{}", wrap(words, WIDTH, 10));
    };
    for size in &item.sizes {
        let number = numbered(origins, &size.source);
        line("make", &format!("{} {} [{number}]", size.what, size.shown));
    }
    for fit in &item.fits {
        line("fit", &format!("{}: {}", fit.what, fit.shown));
    }
    for figure in &item.figures {
        let number = numbered(origins, &figure.source);
        line("note", &format!("{} [{number}]", figure.sentence));
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
        let _ = writeln!(text, "{}{}", mark(check, colour), wrap(&words, WIDTH, 10));
    }
    let mut line = |front: &str, words: &str| {
        let _ = writeln!(text, "  {front:<8}{}", wrap(words, WIDTH, 10));
    };
    if let (true, Some(place)) = (once, places.first()) {
        line("worst", place);
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
        line("or", &words);
    }
    for assumed in &item.assumed {
        line("taken", assumed);
    }
    text
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
