//! `bellcrank dial-in --scale`.

use std::fmt::Write as _;
use std::path::Path;

use machine::logbook;
use quantity::{Kind, Unit, parse};
use studies::dial::answers::{Goes, Scale, Shape};
use studies::dial::{blank, dial_in, scale, standing_now};
use studies::{Inside, Severity};

use super::args::{Coming, DialIn as Args, Format, Goes as Going, Laid};
use super::dial_in::Logged;
use super::entries::Entries;
use super::exit::Exit;
use super::fault::Fault;
use super::numbers::{NONE, bare, standing, with_unit};
use super::progress::during;
use super::question::{self, Read, shown};
use super::report::{Answer, DialedIn};
use super::table::{Column, lay_out, wrap};
use super::{Done, WIDTH, Worked, csv, output, picture};

pub(crate) fn run(args: &Args, mut read: Read, json: bool) -> Result<Done, Fault> {
    let path = args
        .log
        .clone()
        .unwrap_or_else(|| logbook::beside(&args.file));
    // Without a log there is nothing but the drawing.
    let logged = if path.exists() || args.log.is_some() {
        Some(super::dial_in::log(&mut read, &path, &Entries::default())?)
    } else {
        None
    };
    let mut worked = during("laying out the scale", || on(args, &read, logged.as_ref()))?;
    if let Answer::DialIn(answer) = &mut worked.answer {
        for path in &args.output {
            if let Some(made) = &answer.scale {
                write(path, made, &read)?;
            }
        }
        answer.written = args.output.iter().map(|p| shown(p)).collect();
        answer.log = shown(&path);
    }
    Ok(worked.done(&read, json))
}

/// Lays out a scale of a machine that was read, as built when there is a log.
pub(crate) fn on(args: &Args, read: &Read, logged: Option<&Logged>) -> Result<Worked, Fault> {
    let (reading, drive) = super::dial_in::named(args, read)?;
    let mut built = None;
    if let Some(logged) = logged {
        let (answer, found) = dial_in(&read.model, &logged.log).map_err(Fault::machine)?;
        built = found;
        if built.is_none() {
            let why = answer
                .findings
                .iter()
                .find(|f| f.severity == Severity::Fault);
            let why = why.map_or_else(
                || String::from("the log cannot be fitted"),
                |f| f.sentence.clone(),
            );
            return Err(Fault::usage(
                format!("the scale has no machine to stand on: {why}"),
                format!("bellcrank dial-in {} tells more", read.file),
            ));
        }
    }
    let mut stand =
        logged.map_or_else(|| read.model.drawn(), |l| standing_now(&read.model, &l.log));
    let asked = question::stand(read, &args.pose)?;
    let drawn = read.model.drawn();
    stand.drives.clone_from(&asked.drives);
    for (s, (a, d)) in stand
        .settings
        .iter_mut()
        .zip(asked.settings.iter().zip(&drawn.settings))
    {
        if a != d {
            *s = *a;
        }
    }
    let chosen = blank(&read.model, &stand, reading, drive).map_err(Fault::machine)?;
    let (reading, drive) = (
        question::readings(&read.machine, &[chosen.reading.name])?
            .first()
            .copied()
            .unwrap_or(0),
        question::drive(&read.machine, Some(&chosen.drive.name))?,
    );
    let of = &read.machine;
    let length = |option: &str, text: &Option<String>| {
        quantity(option, text.as_deref(), Kind::Length, of.unit)
    };
    let unit = of.readings.get(reading).map_or(of.unit, |r| r.unit);
    if args.strip.is_some() && args.on_a != Laid::Drum {
        return Err(Fault::usage(
            "--strip goes round a drum",
            "write --on-a drum, or leave it out",
        ));
    }
    let wanted = scale::Wanted {
        reading,
        drive,
        radius: length("--radius", &args.radius)?.unwrap_or(0.0),
        step: quantity("--step", args.step.as_deref(), unit.kind(), unit)?,
        shape: match args.on_a {
            Laid::Arc => Shape::Arc,
            Laid::Ring => Shape::Ring,
            Laid::Drum => Shape::Drum,
        },
        goes: match (args.goes, args.on_a) {
            (Some(Going::Pointer), _) | (None, Laid::Arc | Laid::Ring) => Goes::Pointer,
            (Some(Going::Scale), _) | (None, Laid::Drum) => Goes::Scale,
        },
        coming: match args.coming {
            Some(Coming::Up) => 1.0,
            Some(Coming::Down) => -1.0,
            None => 0.0,
        },
        strip: length("--strip", &args.strip)?.unwrap_or(0.0),
    };
    let made =
        scale::scale(&read.model, built.as_ref(), &stand, &wanted).map_err(Fault::machine)?;
    let exit: Exit = read.judge();
    let text = match args.format {
        Format::Csv => table(&made),
        _ => text(&made, &args.output, of.unit),
    };
    let answer = Answer::DialIn(Box::new(DialedIn {
        dial_in: None,
        scale: Some(made),
        written: Vec::new(),
        log: logged.map_or_else(String::new, |l| shown(&l.path)),
        kept: false,
        plot: None,
    }));
    Ok(Worked { exit, answer, text })
}

fn made(answer: &Answer) -> Option<&Scale> {
    match answer {
        Answer::DialIn(answer) => answer.scale.as_ref(),
        _ => None,
    }
}

/// The scale that was laid out, true to size.
pub(crate) fn svg(answer: &Answer, look: sheets::Look) -> Option<String> {
    Some(sheets::scale_sheet(made(answer)?).svg(look))
}

/// The same for engraving.
pub(crate) fn dxf(answer: &Answer) -> Option<String> {
    Some(sheets::scale_dxf(made(answer)?))
}

fn quantity(
    option: &str,
    text: Option<&str>,
    kind: Kind,
    bare: Unit,
) -> Result<Option<f64>, Fault> {
    let Some(text) = text else {
        return Ok(None);
    };
    match parse(text, kind, bare) {
        Ok(written) => Ok(Some(written.value)),
        Err(error) => Err(Fault::usage(
            format!("{option} \"{text}\": {}", error.message),
            error.help,
        )),
    }
}

fn write(path: &Path, scale: &Scale, read: &Read) -> Result<(), Fault> {
    if path
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("dxf"))
    {
        return output::write(path, sheets::scale_dxf(scale).as_bytes());
    }
    let known = ["svg", "png"].into_iter().any(|known| {
        path.extension()
            .is_some_and(|e| e.eq_ignore_ascii_case(known))
    });
    if !known {
        return Err(Fault::usage(
            format!(
                "{} is no kind of file that a scale is written in",
                path.display()
            ),
            "end its name in .svg, .png or .dxf",
        ));
    }
    let kind = picture::kind(path, &read.sources)?;
    let figure = sheets::scale_sheet(scale);
    picture::write(
        path,
        kind,
        |look| figure.svg(look),
        |look, dots| figure.png(look, dots),
    )
}

fn text(scale: &Scale, written: &[std::path::PathBuf], length: Unit) -> String {
    let place = standing(&scale.held).map_or(String::new(), |place| format!(", {place}"));
    let mut text = wrap(
        &format!(
            "{}: scale of {} on {} for the machine as {}{place}",
            scale.machine,
            scale.reading.name,
            scale.drive.name,
            if scale.as_built { "built" } else { "drawn" }
        ),
        WIDTH,
        2,
    ) + "\n";
    let size = match (scale.radius, scale.around) {
        (Some(radius), Some(around)) => format!(
            "drum of {}, strip {} from cut to cut",
            with_unit(2.0 * radius, length),
            with_unit(around, length)
        ),
        (Some(radius), None) => format!("at {} radius", with_unit(radius, length)),
        _ => String::from("along the slide"),
    };
    let _ = writeln!(
        text,
        "{} marks of {}, {size}",
        scale.marks.len(),
        with_unit(scale.step, scale.reading.unit)
    );
    for finding in &scale.findings {
        let _ = writeln!(text, "{}", wrap(finding, WIDTH, 2));
    }
    if let Some(vernier) = scale.vernier {
        let _ = writeln!(
            text,
            "a vernier of ten divisions is {} long and reads {}",
            with_unit(vernier, length),
            with_unit(scale.step / 10.0, scale.reading.unit)
        );
    }
    let turns = scale.drive.inside == Inside::Radian;
    let unit = scale.drive.unit;
    let mut columns = vec![
        Column::numbers(scale.reading.name.clone(), scale.reading.unit.symbol()),
        Column::numbers(scale.drive.name.clone(), unit.symbol()),
        Column::numbers("from the first", ""),
        Column::numbers("± reading", scale.reading.unit.symbol()),
        Column::numbers("± place", unit.symbol()),
        Column::words("line"),
    ];
    if turns {
        columns.insert(3, Column::numbers("40:1 head", "turns"));
    }
    for m in &scale.marks {
        let pm = |v: Option<f64>, unit: Unit| v.map_or_else(|| NONE.to_owned(), |v| bare(v, unit));
        let mut cells = vec![
            bare(m.value, scale.reading.unit),
            bare(m.at, unit),
            if turns {
                minutes(m.turned)
            } else {
                bare(m.turned, unit)
            },
            pm(m.plus_minus, scale.reading.unit),
            pm(m.place_plus_minus, unit),
            m.label
                .as_ref()
                .map_or_else(|| word(m).to_owned(), |l| format!("{} {l}", word(m))),
        ];
        if turns {
            cells.insert(
                3,
                m.head
                    .map_or_else(|| NONE.to_owned(), |h| format!("{h:.4}")),
            );
        }
        for (column, cell) in columns.iter_mut().zip(cells) {
            column.cells.push(cell);
        }
    }
    let _ = write!(text, "\n{}", lay_out(&[], &columns));
    for path in written {
        let _ = writeln!(text, "written: {}", path.display());
    }
    text
}

fn word(m: &studies::dial::answers::Mark) -> &'static str {
    use studies::dial::answers::Length;
    match m.length {
        Length::Long => "long",
        Length::Middle => "middle",
        Length::Short => "short",
    }
}

/// Degrees, minutes and seconds, as a rotary table is read.
fn minutes(angle: f64) -> String {
    let seconds = (angle.to_degrees() * 3600.0).round().abs();
    let sign = if angle < 0.0 && seconds > 0.0 {
        "-"
    } else {
        ""
    };
    let (d, rest) = ((seconds / 3600.0).floor(), seconds % 3600.0);
    format!(
        "{sign}{d:.0}\u{b0}{:02.0}'{:02.0}\"",
        (rest / 60.0).floor(),
        rest % 60.0
    )
}

/// One line a mark, for a spreadsheet or a dividing head.
fn table(scale: &Scale) -> String {
    let turns = scale.drive.inside == Inside::Radian;
    let mut text = csv::line([
        "reading",
        "unit",
        "drive",
        "drive unit",
        "from first",
        "deg min sec",
        "turns of a 40:1 head",
        "along (mm)",
        "+- reading",
        "+- place",
        "line",
        "number",
    ]);
    for m in &scale.marks {
        let (r, d) = (scale.reading.unit, scale.drive.unit);
        let exact = |v: f64, unit: Unit| format!("{:.5}", unit.from_inside(v));
        let cells = [
            exact(m.value, r),
            r.symbol().to_owned(),
            exact(m.at, d),
            d.symbol().to_owned(),
            exact(m.turned, d),
            if turns {
                minutes(m.turned)
            } else {
                String::new()
            },
            m.head.map_or(String::new(), |h| format!("{h:.5}")),
            format!("{:.4}", m.along),
            m.plus_minus.map_or(String::new(), |p| exact(p, r)),
            m.place_plus_minus.map_or(String::new(), |p| exact(p, d)),
            word(m).to_owned(),
            m.label.clone().unwrap_or_default(),
        ];
        text.push_str(&csv::line(cells.iter().map(String::as_str)));
    }
    text
}
