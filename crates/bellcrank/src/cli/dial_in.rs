//! `bellcrank dial-in`.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use machine::logbook::{self, Log, append};
use machine::{Diagnostic, Severity as Grave};
use quantity::Unit;
use studies::dial::answers::{DialIn, Fit, Next};
use studies::dial::{blank, dial_in, known};
use studies::{Inside, Quantity, Severity};

use super::args::{As, DialIn as Args, File, Format};
use super::check::finding_text;
use super::entries::{Entries, entries};
use super::exit::Exit;
use super::fault::Fault;
use super::numbers::{NONE, bare, bare_or_none, percent, signed_with_unit, standing, with_unit};
use super::progress::during;
use super::question::{self, Read, shown};
use super::report::{Answer, DialedIn};
use super::table::{Column, lay_out, wrap};
use super::{Done, WIDTH, Worked, csv, output, picture};

/// The log of a machine, with what the command line adds to it.
pub(crate) struct Logged {
    pub(crate) path: PathBuf,
    pub(crate) text: String,
    pub(crate) log: Log,
    /// Something was added.
    pub(crate) added: bool,
}

pub(crate) fn run(args: &Args, json: bool) -> Result<Done, Fault> {
    let mut read = question::read(&File {
        file: args.file.clone(),
        unit: args.unit,
        machine_as: As::Drawn,
        log: None,
    })?;
    if args.blank {
        return blank_table(args, &read);
    }
    if let Some(path) = &args.sheet {
        return sheet(args, path, read, json);
    }
    let picture = match &args.plot {
        Some(path) => Some((path, picture::kind(path, &read.sources)?)),
        None => None,
    };
    if args.scale {
        return super::scale::run(args, read, json);
    }
    let entries = entries(args, &read)?;
    if args.keep && entries.text.is_empty() {
        return Err(Fault::usage(
            "--keep has nothing to keep",
            "give readings, a measured dimension or a job with it",
        ));
    }
    let path = args
        .log
        .clone()
        .unwrap_or_else(|| logbook::beside(&args.file));
    let logged = log(&mut read, &path, &entries)?;
    if logged.added {
        not_again(&logged.log, &read)?;
    }
    let mut worked = during("fitting the machine to its readings", || {
        on(args, &read, &logged, output::colour_out())
    })?;
    if let (Some((path, kind)), Some(plot)) = (picture, plot(&worked.answer)) {
        let figure = sheets::plot::curves(&plot);
        picture::write(
            path,
            kind,
            |look| figure.svg(look),
            |look, dots| figure.png(look, dots),
        )?;
    }
    if let Answer::DialIn(answer) = &mut worked.answer {
        // Readings that make no sense are not kept: every later answer would stand on them.
        let fits = answer.dial_in.as_ref().is_some_and(|d| d.fit.is_some());
        answer.kept = args.keep && logged.added && fits;
        answer.plot = args.plot.as_deref().map(shown);
        if answer.kept {
            output::write(&logged.path, logged.text.as_bytes())?;
        }
        if args.keep && logged.added && args.format != Format::Csv {
            let log = shown(&logged.path);
            worked.text += &if fits {
                format!("\nkept in {log}\n")
            } else {
                format!("\nnot kept: {log} is as it was\n")
            };
        }
    }
    Ok(worked.done(&read, json))
}

/// Writes the sheet to take to the machine.
fn sheet(args: &Args, path: &Path, mut read: Read, json: bool) -> Result<Done, Fault> {
    if !path
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("pdf"))
    {
        return Err(Fault::usage(
            format!("{} is no .pdf file", path.display()),
            "end its name in .pdf: --sheet dial-in.pdf",
        ));
    }
    let beside = args
        .log
        .clone()
        .unwrap_or_else(|| logbook::beside(&args.file));
    let logged = if beside.exists() || args.log.is_some() {
        Some(log(&mut read, &beside, &Entries::default())?)
    } else {
        None
    };
    let paper = during("working out the sheet", || {
        studies::dial::paper(&read.model, logged.as_ref().map(|l| &l.log))
    })
    .map_err(Fault::machine)?;
    let packet = sheets::dial_in_sheets(&read.machine, &paper, args.paper.into());
    let pdf = packet
        .pdf(&mut |_| ())
        .map_err(|error| Fault::disk(error.to_string(), "this is a fault of the program"))?;
    output::write(path, &pdf)?;
    let worked = Worked {
        exit: read.judge(),
        text: format!("written: {} ({} sheets)\n", shown(path), packet.len()),
        answer: Answer::DialIn(Box::new(DialedIn {
            dial_in: None,
            scale: None,
            written: vec![shown(path)],
            log: shown(&beside),
            kept: false,
            plot: None,
        })),
    };
    Ok(worked.done(&read, json))
}

/// The readings on their curves, and how far they are off the drawing.
pub(crate) fn plot(answer: &Answer) -> Option<sheets::plot::Plot> {
    let Answer::DialIn(answer) = answer else {
        return None;
    };
    let answer = answer.dial_in.as_ref()?;
    Some(sheets::plot::of_fit(&answer.machine, answer.fit.as_ref()?))
}

/// Fits a machine that was read to its log.
pub(crate) fn on(args: &Args, read: &Read, logged: &Logged, colour: bool) -> Result<Worked, Fault> {
    let (answer, built) = dial_in(&read.model, &logged.log).map_err(Fault::machine)?;
    let missed = built.is_none()
        || answer
            .findings
            .iter()
            .any(|f| matches!(f.severity, Severity::Fault | Severity::Miss));
    let exit = match read.judge() {
        Exit::Kept if missed => Exit::Missed,
        other => other,
    };
    let text = match args.format {
        Format::Csv => table(&answer, read.machine.unit),
        _ => text(&answer, args.most, read, colour),
    };
    let answer = Answer::DialIn(Box::new(DialedIn {
        dial_in: Some(answer),
        scale: None,
        written: Vec::new(),
        log: shown(&logged.path),
        kept: false,
        plot: None,
    }));
    Ok(Worked { exit, answer, text })
}

/// A run that stands in the log already is not taken twice: it would count twice.
fn not_again(log: &logbook::Log, read: &Read) -> Result<(), Fault> {
    let same = |a: &logbook::Run, b: &logbook::Run| {
        let taken = |r: &logbook::Run| -> Vec<(f64, f64, f64)> {
            r.taken.iter().map(|t| (t.at, t.shown, t.going)).collect()
        };
        (a.reading, a.drive) == (b.reading, b.drive)
            && (&a.at, &a.set, &a.under) == (&b.at, &b.set, &b.under)
            && taken(a) == taken(b)
    };
    for (n, run) in log.runs.iter().enumerate() {
        if let Some(first) = log.runs[..n].iter().find(|r| same(r, run)) {
            let name = read
                .machine
                .readings
                .get(run.reading)
                .map_or("", |r| &r.name);
            return Err(Fault::usage(
                format!(
                    "these {} readings of {name} stand in the log already, as {}",
                    run.taken.len(),
                    first.name
                ),
                "leave --readings out: what is in the log counts without it",
            ));
        }
    }
    Ok(())
}

/// Reads the log with these entries behind it; the sources of the machine are followed by the log's and by the tables.
pub(crate) fn log(read: &mut Read, path: &Path, entries: &Entries) -> Result<Logged, Fault> {
    let there = path.exists();
    let mut text = if there || entries.text.is_empty() {
        logbook::text(path).map_err(|problem| not_there(read, path, problem, there))?
    } else {
        String::new()
    };
    let added = !entries.text.is_empty();
    if added {
        text = append(&text, &entries.text);
    }
    let mut found = logbook::read(
        &shown(path),
        &text,
        &read.machine,
        &known(&read.model),
        &read.sources,
    );
    if added {
        entries.place(&text, read.sources.iter().count(), &mut found);
    }
    let Some(log) = found.log else {
        return Err(Fault {
            exit: Exit::File,
            problems: found.problems,
            sources: found.sources,
        });
    };
    read.sources = found.sources;
    read.warnings.extend(found.problems);
    Ok(Logged {
        path: path.to_owned(),
        text,
        log,
        added,
    })
}

fn not_there(read: &Read, path: &Path, problem: Diagnostic, there: bool) -> Fault {
    let problem = if there {
        problem
    } else {
        Diagnostic::new(Grave::Error, "cannot-read", format!("{} has no log: {} is not there", read.machine.name, path.display()))
            .help(format!("bellcrank dial-in {} --blank prints a table for readings; fill it in and give it with --readings", read.file))
    };
    Fault {
        exit: Exit::Disk,
        problems: vec![problem],
        sources: read.sources.clone(),
    }
}

/// Reading and drive named, or none.
pub(crate) fn named(args: &Args, read: &Read) -> Result<(Option<usize>, Option<usize>), Fault> {
    let reading = match &args.reading {
        Some(name) => question::readings(&read.machine, std::slice::from_ref(name))?
            .first()
            .copied(),
        None => None,
    };
    let drive = match &args.drive {
        Some(name) => Some(question::drive(&read.machine, Some(name))?),
        None => None,
    };
    Ok((reading, drive))
}

fn blank_table(args: &Args, read: &Read) -> Result<Done, Fault> {
    let text = empty(args, read)?;
    Ok(Done {
        exit: Exit::Kept,
        text,
    })
}

/// An empty table for readings, as CSV.
pub(crate) fn empty(args: &Args, read: &Read) -> Result<String, Fault> {
    let (reading, drive) = named(args, read)?;
    let stand = question::stand(read, &args.pose)?;
    let sheet = blank(&read.model, &stand, reading, drive).map_err(Fault::machine)?;
    let places: Vec<String> = sheet
        .places
        .iter()
        .map(|p| bare(*p, sheet.drive.unit))
        .collect();
    Ok(logbook::blank(
        &sheet.drive.name,
        sheet.drive.unit.symbol(),
        &sheet.reading.name,
        sheet.reading.unit.symbol(),
        &places,
    ))
}

/// The unit in which a dimension is read.
fn unit_of(inside: Inside, length: Unit) -> Unit {
    if inside == Inside::Radian {
        Unit::Degree
    } else {
        length
    }
}

pub(super) fn text(answer: &DialIn, most: usize, read: &Read, colour: bool) -> String {
    let length = read.machine.unit;
    let count =
        |n: usize, one: &str, many: &str| format!("{n} {}", if n == 1 { one } else { many });
    let mut text = wrap(
        &format!(
            "{}: {}, {}; ± holds 95 times of 100",
            answer.machine,
            count(answer.readings, "reading", "readings"),
            count(answer.measured, "dimension measured", "dimensions measured")
        ),
        WIDTH,
        2,
    ) + "\n\n";
    // The table of asks tells what is kept.
    let told = answer
        .findings
        .iter()
        .filter(|f| f.severity != Severity::Kept);
    for finding in told {
        text.push_str(&finding_text(finding, &read.sources, colour));
    }
    if let Some(fit) = &answer.fit {
        text.push_str(&fit_text(fit, most, length));
    }
    text
}

fn fit_text(fit: &Fit, most: usize, length: Unit) -> String {
    let mut text = dimensions_text(fit, most, length);
    for group in &fit.together {
        let _ = writeln!(
            text,
            "\n{}",
            wrap(
                &format!(
                    "These readings see only what these do together: {}",
                    group.dimensions.join("; ")
                ),
                WIDTH,
                2
            )
        );
        if let Some(next) = &group.told_apart_by {
            let _ = writeln!(
                text,
                "  {}",
                wrap(
                    &format!("to tell the first two apart: {}", next.what),
                    WIDTH,
                    4
                )
            );
        }
    }
    text.push_str(&asks_text(fit));
    text.push_str(&correction_text(fit));
    text.push_str(&readings_text(fit));
    text.push_str(&next_text(&fit.next, fit));
    text
}

fn dimensions_text(fit: &Fit, most: usize, length: Unit) -> String {
    let mut columns = [
        Column::numbers("built", ""),
        Column::numbers("off by", ""),
        Column::numbers("± before", ""),
        Column::numbers("± now", ""),
        Column::numbers("learned", ""),
        Column::words("dimension"),
    ];
    for d in fit.dimensions.iter().take(most) {
        let unit = unit_of(d.inside, length);
        let cells = [
            with_unit(d.fitted, unit),
            signed_with_unit(d.off, unit),
            bare_or_none(d.before, unit),
            bare(d.after, unit),
            percent(d.learned),
            d.dimension.clone(),
        ];
        for (column, cell) in columns.iter_mut().zip(cells) {
            column.cells.push(cell);
        }
    }
    let mut text = format!("\n{}", lay_out(&[], &columns));
    let all = fit.dimensions.len();
    if all > most {
        let _ = writeln!(
            text,
            "and {} more of which less was learned (--most {all} shows all)",
            all - most
        );
    }
    text
}

fn asks_text(fit: &Fit) -> String {
    if fit.asks.is_empty() {
        return String::new();
    }
    let mut columns = [
        Column::words("ask"),
        Column::numbers("as drawn", ""),
        Column::numbers("as built", ""),
        Column::numbers("± before", ""),
        Column::numbers("± now", ""),
        Column::numbers("to spare", ""),
    ];
    for a in &fit.asks {
        let unit = a.reading.unit;
        let cells = [
            a.ask.clone(),
            bare_or_none(a.drawn, unit),
            a.built
                .map_or_else(|| NONE.to_owned(), |v| with_unit(v, unit)),
            bare_or_none(a.before, unit),
            bare_or_none(a.after, unit),
            a.margin
                .map_or_else(|| NONE.to_owned(), |m| signed_with_unit(m, unit)),
        ];
        for (column, cell) in columns.iter_mut().zip(cells) {
            column.cells.push(cell);
        }
    }
    format!("\n{}", lay_out(&[], &columns))
}

/// What to turn, what comes of it, and what else would do.
fn correction_text(fit: &Fit) -> String {
    let Some(correction) = fit.correction.as_ref().filter(|c| c.needed) else {
        return String::new();
    };
    let mut text = String::from("\nTo correct it\n");
    match &correction.best {
        None => {
            let why = correction.why.as_deref().unwrap_or_default();
            let _ = writeln!(text, "  {}", wrap(why, WIDTH, 4));
        }
        Some(best) => {
            let _ = writeln!(
                text,
                "  {}",
                wrap(&format!("{} ({})", best.sentence, best.cost), WIDTH, 4)
            );
            for ask in &best.asks {
                let unit = ask.reading.unit;
                let cells = [ask.value, ask.plus_minus].map(|v| bare_or_none(v, unit));
                let spare = ask
                    .margin
                    .map_or_else(|| NONE.to_owned(), |m| signed_with_unit(m, unit));
                let _ = writeln!(
                    text,
                    "    {} {} ± {}, {spare} to spare",
                    ask.ask, cells[0], cells[1]
                );
            }
            if !best.sure {
                text.push_str("    not every ask is kept with its whole band\n");
            }
        }
    }
    for end in &correction.at_end {
        let _ = writeln!(text, "  {}", wrap(end, WIDTH, 4));
    }
    for other in &correction.alternatives {
        let kept = other.asks.iter().filter(|a| a.kept).count();
        let _ = writeln!(
            text,
            "  {}",
            wrap(
                &format!(
                    "or: {} ({}; {kept} of {} asks kept)",
                    other.sentence,
                    other.cost,
                    other.asks.len()
                ),
                WIDTH,
                6
            )
        );
    }
    text
}

fn readings_text(fit: &Fit) -> String {
    let mut columns = [
        Column::words("reading"),
        Column::numbers("as drawn", ""),
        Column::numbers("as built", ""),
        Column::numbers("± now", ""),
    ];
    for r in &fit.readings {
        let unit = r.reading.unit;
        let cells = [
            r.reading.name.clone(),
            bare_or_none(r.drawn, unit),
            r.built
                .map_or_else(|| NONE.to_owned(), |v| with_unit(v, unit)),
            bare_or_none(r.plus_minus, unit),
        ];
        for (column, cell) in columns.iter_mut().zip(cells) {
            column.cells.push(cell);
        }
    }
    let place = standing(&fit.held).map_or(String::new(), |place| format!("{place}\n"));
    format!("\n{place}{}", lay_out(&[], &columns))
}

fn next_text(next: &[Next], fit: &Fit) -> String {
    if next.is_empty() {
        return String::new();
    }
    let mut text = String::from("\nTo know more, most useful first\n");
    for n in next {
        let _ = writeln!(text, "  {}", wrap(&n.what, WIDTH, 4));
        for narrowed in &n.asks {
            let quantity: Option<&Quantity> = fit
                .asks
                .iter()
                .find(|a| a.ask == narrowed.ask)
                .map(|a| &a.reading);
            let seen = |q: &&Quantity| bare(narrowed.now, q.unit) != bare(narrowed.then, q.unit);
            if let Some(q) = quantity.filter(seen) {
                let _ = writeln!(
                    text,
                    "    {} from ± {} to ± {}",
                    narrowed.ask,
                    bare(narrowed.now, q.unit),
                    with_unit(narrowed.then, q.unit)
                );
            }
        }
    }
    text
}

/// One line a dimension, for a spreadsheet.
fn table(answer: &DialIn, length: Unit) -> String {
    let mut text = csv::line([
        "dimension",
        "unit",
        "drawn",
        "built",
        "+- before",
        "+- now",
        "learned",
        "measured",
    ]);
    for d in answer.fit.iter().flat_map(|f| &f.dimensions) {
        let unit = unit_of(d.inside, length);
        let cells = [
            d.dimension.clone(),
            unit.symbol().to_owned(),
            bare(d.drawn, unit),
            bare(d.fitted, unit),
            d.before.map_or(String::new(), |b| bare(b, unit)),
            bare(d.after, unit),
            format!("{:.4}", d.learned),
            if d.measured { "yes" } else { "no" }.to_owned(),
        ];
        text.push_str(&csv::line(cells.iter().map(String::as_str)));
    }
    text
}
