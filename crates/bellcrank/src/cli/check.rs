//! `bellcrank check`.

use std::fmt::Write as _;

use machine::Sources;
use studies::{Assemblies, Finding, Judged, Severity};

use super::args::Check;
use super::bands_table::bands_text;
use super::exit::Exit;
use super::fault::Fault;
use super::numbers::{NONE, held, named, signed, with_unit};
use super::over::{self, Over};
use super::progress::during;
use super::question::{self, Read};
use super::reach;
use super::report::{Answer, Checked, spot};
use super::table::{Column, GAP, lay_out, wrap};
use super::{Done, WIDTH, Worked, load, output};

pub(crate) fn run(args: &Check, json: bool) -> Result<Done, Fault> {
    let read = question::read(&args.file)?;
    let worked = during("checking", || on(args, &read, output::colour_out()))?;
    Ok(worked.done(&read, json))
}

/// Checks a machine that was read.
pub(crate) fn on(args: &Check, read: &Read, colour: bool) -> Result<Worked, Fault> {
    let check = studies::check(&read.model);
    let assemblies = if args.assemblies {
        let drawn = read.model.drawn();
        Some(studies::assemblies(&read.model, &drawn).map_err(Fault::machine)?)
    } else {
        None
    };
    let exit = verdict(&check);
    let bands = load::bands(read, &read.model.drawn(), None);
    let mut text = check_text(&check, &read.over, &read.sources, colour);
    text.push_str(&bands_text(&bands));
    if let Some(assemblies) = &assemblies {
        text.push_str(&assemblies_text(assemblies));
    }
    let places = check.findings.iter();
    let answer = Answer::Check(Checked {
        finding_places: places.map(|finding| spot(finding, &read.sources)).collect(),
        check,
        bands,
        assemblies,
    });
    Ok(Worked { exit, answer, text })
}

fn verdict(check: &studies::Check) -> Exit {
    let bad = |finding: &Finding| matches!(finding.severity, Severity::Fault | Severity::Miss);
    if check.findings.iter().any(bad) || check.asks.iter().any(|ask| !ask.kept) {
        Exit::Missed
    } else {
        Exit::Kept
    }
}

/// How a word is coloured on a terminal.
fn coloured(word: &str, severity: Severity, colour: bool) -> String {
    let code = match severity {
        Severity::Fault | Severity::Miss => "1;31",
        Severity::Caution => "33",
        Severity::Kept => "32",
        Severity::Note => return word.to_owned(),
    };
    if colour {
        format!("\u{1b}[{code}m{word}\u{1b}[0m")
    } else {
        word.to_owned()
    }
}

fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Fault => "FAULT",
        Severity::Miss => "MISSED",
        Severity::Caution => "caution",
        Severity::Note => "note",
        Severity::Kept => "kept",
    }
}

/// Room for the word in front of a finding or an ask.
const LABEL: usize = 9;

fn label(severity: Severity, colour: bool) -> String {
    let word = word(severity);
    let blanks = " ".repeat(LABEL.saturating_sub(word.len()));
    coloured(word, severity, colour) + &blanks
}

pub(super) fn check_text(
    check: &studies::Check,
    over: &[Over],
    sources: &Sources,
    colour: bool,
) -> String {
    let mut text = format!("{}: {}\n", check.machine, summary(check));
    let findings: Vec<&Finding> = check
        .findings
        .iter()
        .filter(|finding| finding.severity != Severity::Kept)
        .collect();
    if !findings.is_empty() {
        text.push('\n');
    }
    for finding in findings {
        text.push_str(&finding_text(finding, sources, colour));
    }
    text.push_str(&asks_text(&check.asks, colour));
    text.push_str(&borne_text(&check.asks, colour));
    text.push_str(&reach_text(check));
    text.push_str(&readings_text(check, over));
    text
}

/// The whole in half a line.
fn summary(check: &studies::Check) -> String {
    let count = |severity| {
        check
            .findings
            .iter()
            .filter(|f| f.severity == severity)
            .count()
    };
    let mut parts = Vec::new();
    if let faults @ 1.. = count(Severity::Fault) {
        parts.push(many(faults, "fault", "faults"));
    }
    let missed = check.asks.iter().filter(|ask| !ask.kept).count();
    if let others @ 1.. = count(Severity::Miss).saturating_sub(missed) {
        parts.push(many(
            others,
            "part or drive falls short",
            "parts or drives fall short",
        ));
    }
    parts.push(match (check.asks.len(), missed) {
        (0, _) => String::from("no asks"),
        (1, 0) => String::from("its one ask is kept"),
        (2, 0) => String::from("both asks are kept"),
        (all, 0) => format!("all {all} asks are kept"),
        (1, _) => String::from("its one ask is missed"),
        (all, missed) => format!("{missed} of {all} asks missed"),
    });
    if let cautions @ 1.. = count(Severity::Caution) {
        parts.push(many(cautions, "caution", "cautions"));
    }
    parts.join(", ")
}

fn many(count: usize, one: &str, more: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { more })
}

pub(super) fn finding_text(finding: &Finding, sources: &Sources, colour: bool) -> String {
    let wrapped = |words: &str| wrap(words, WIDTH, LABEL);
    let mut text = label(finding.severity, colour) + &wrapped(&finding.sentence) + "\n";
    let indent = " ".repeat(LABEL);
    if let Some(help) = &finding.what_to_try {
        let _ = writeln!(text, "{indent}{}", wrapped(&format!("try: {help}")));
    }
    match spot(finding, sources) {
        Some(spot) => {
            let _ = writeln!(
                text,
                "{indent}{}:{}  {}",
                spot.file, spot.line, finding.about
            );
        }
        None if finding.about.is_empty() => {}
        None => {
            let _ = writeln!(text, "{indent}{}", finding.about);
        }
    }
    text
}

fn wanted(ask: &Judged) -> String {
    let unit = ask.reading.unit;
    match (ask.at_least, ask.at_most) {
        (Some(low), Some(high)) => format!(
            "{} to {}",
            super::numbers::bare(low, unit),
            with_unit(high, unit)
        ),
        (Some(low), None) => format!("at least {}", with_unit(low, unit)),
        (None, Some(high)) => format!("at most {}", with_unit(high, unit)),
        (None, None) => String::new(),
    }
}

/// Where an ask was judged: what does not stand as drawn there.
fn place_of(ask: &Judged) -> String {
    let moved = held(ask.at.iter().filter(|held| !held.as_drawn));
    if moved.is_empty() && !ask.at.is_empty() {
        return String::from("as drawn");
    }
    moved
}

fn asks_text(asks: &[Judged], colour: bool) -> String {
    if asks.is_empty() {
        return String::new();
    }
    let mut names = Column::words("ask");
    let mut is = Column::numbers("is", "");
    let mut limits = Column::words("wanted");
    let mut margins = Column::numbers("to spare", "");
    let mut places = Column::words("where");
    let none = || String::from(NONE);
    for ask in asks {
        let unit = ask.reading.unit;
        names.cells.push(ask.ask.clone());
        is.cells
            .push(ask.value.map_or_else(none, |value| with_unit(value, unit)));
        limits.cells.push(wanted(ask));
        margins
            .cells
            .push(ask.margin.map_or_else(none, |margin| signed(margin, unit)));
        places.cells.push(place_of(ask));
    }
    let columns = [names, is, limits, margins, places];
    let verdict = |ask: &Judged| {
        if ask.kept {
            Severity::Kept
        } else {
            Severity::Miss
        }
    };
    // The margin of the columns is two blanks short of the room for a word.
    let marks: Vec<String> = asks
        .iter()
        .map(|ask| format!("{:<1$}", word(verdict(ask)), LABEL - GAP))
        .collect();
    let mut text = String::from("\n");
    let mut each = asks.iter();
    // Words at the end of a line may go on below: only a line with a verdict begins an ask.
    for line in lay_out(&marks, &columns).lines() {
        match each.as_slice().first().map(verdict) {
            Some(severity) if line.starts_with(word(severity)) => {
                each.next();
                let rest = line.get(word(severity).len()..).unwrap_or_default();
                let _ = writeln!(text, "{}{rest}", coloured(word(severity), severity, colour));
            }
            _ => {
                let _ = writeln!(text, "{line}");
            }
        }
    }
    text
}

/// Asks as they are met under load and over their bands, where the file tells of loads, play or tolerances.
pub(super) fn borne_text(asks: &[Judged], colour: bool) -> String {
    let mut names = Column::words("ask");
    let mut paper = Column::words("paper");
    let mut under = Column::words("under");
    let mut loaded = Column::numbers("loaded", "");
    let mut margin = Column::numbers("spare", "");
    let mut from = Column::numbers("from", "");
    let mut to = Column::numbers("to", "");
    let mut spare = Column::numbers("spare", "");
    let mut units = Column::words("");
    let mut labels = Vec::new();
    let all = asks
        .iter()
        .flat_map(|ask| ask.borne.iter().map(move |b| (ask, b)));
    for (ask, borne) in all {
        let unit = ask.reading.unit;
        let none = || String::from(NONE);
        let met = ask.margin.map_or(ask.kept, |m| m >= 0.0);
        names.cells.push(ask.ask.clone());
        paper
            .cells
            .push(String::from(if met { "met" } else { "missed" }));
        under
            .cells
            .push(borne.case.clone().unwrap_or_else(|| "no load".into()));
        loaded.cells.push(
            borne
                .loaded
                .map_or_else(none, |v| super::numbers::bare(v, unit)),
        );
        margin
            .cells
            .push(borne.margin_loaded.map_or_else(none, |m| signed(m, unit)));
        from.cells.push(super::numbers::bare(borne.from, unit));
        to.cells.push(super::numbers::bare(borne.to, unit));
        spare.cells.push(signed(borne.margin_band, unit));
        units.cells.push(unit.symbol().to_owned());
        labels.push(match (met && borne.met_loaded(), borne.met_band()) {
            (false, _) => Severity::Miss,
            (true, false) => Severity::Caution,
            (true, true) => Severity::Kept,
        });
    }
    if labels.is_empty() {
        return String::new();
    }
    let columns = [names, paper, under, loaded, margin, from, to, spare, units];
    let plain = lay_out(&[], &columns);
    let mut text = String::from("\nAsks under load, and over their bands of play and making\n");
    for (index, line) in plain.lines().enumerate() {
        let front = match index.checked_sub(1).and_then(|index| labels.get(index)) {
            Some(severity) => label(*severity, colour),
            None => " ".repeat(LABEL),
        };
        let _ = writeln!(text, "{front}{line}");
    }
    text
}

fn reach_text(check: &studies::Check) -> String {
    if check.reach.is_empty() {
        return String::new();
    }
    let mut text = String::from("\nDrives, and how far they go with the others as drawn\n");
    let width = check
        .reach
        .iter()
        .map(|r| r.drive.name.chars().count())
        .max()
        .unwrap_or(0);
    for each in &check.reach {
        let words = reach::words(&each.reach, each.drive.unit);
        let _ = writeln!(
            text,
            "  {:<width$}  {}",
            each.drive.name,
            wrap(&words, WIDTH, width + 4)
        );
    }
    text
}

fn readings_text(check: &studies::Check, over: &[Over]) -> String {
    if check.readings.is_empty() {
        return String::new();
    }
    let mut names = Column::words("");
    let mut values = Column::numbers("", "");
    let mut places = Column::words("");
    for now in &check.readings {
        let unit = now.reading.unit;
        names.cells.push(now.reading.name.clone());
        values.cells.push(
            now.value
                .map_or_else(|| String::from(NONE), |value| with_unit(value, unit)),
        );
        places
            .cells
            .push(over::place(over, &now.reading, now.taken_at, now.and_at));
    }
    let table = lay_out(&[], &[names, values, places]);
    let mut text = String::from("\nReadings as drawn\n");
    for line in table.lines() {
        let _ = writeln!(text, "  {line}");
    }
    text
}

pub(super) fn assemblies_text(assemblies: &Assemblies) -> String {
    let others = assemblies.ways.len().saturating_sub(1);
    let mut text = String::from("\n");
    if others == 0 {
        text.push_str("These parts go together in one way only, as drawn\n");
        return text;
    }
    let count = if others == 1 {
        String::from("one other way")
    } else {
        format!("{others} other ways")
    };
    let _ = writeln!(text, "These parts go together in {count}");
    for (number, way) in assemblies.ways.iter().filter(|way| !way.drawn).enumerate() {
        let front = format!("  {}  ", number + 1);
        let indent = front.chars().count();
        let sides = way.sides.join("; ");
        let readings: Vec<String> = way
            .readings
            .iter()
            .filter_map(|now| Some(named(&now.reading, now.value?)))
            .collect();
        let _ = writeln!(text, "{front}{}", wrap(&sides, WIDTH, indent));
        if !readings.is_empty() {
            let _ = writeln!(
                text,
                "{}{}",
                " ".repeat(indent),
                wrap(&readings.join(", "), WIDTH, indent)
            );
        }
    }
    text
}
