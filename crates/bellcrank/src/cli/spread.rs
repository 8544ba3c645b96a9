//! `bellcrank spread`.

use std::fmt::Write as _;

use machine::Sources;
use quantity::Unit;
use studies::spread::{Advice, AskSpread, Request, Spread, Strayed, Varied, Watch, spread_watched};
use studies::{Inside, Severity};

use super::args::{Format, Spread as Args};
use super::check::{borne_text, finding_text};
use super::exit::Exit;
use super::fault::Fault;
use super::numbers::{NONE, named, signed_with_unit, standing, with_unit};
use super::progress::during;
use super::question::{self, Read};
use super::report::{Answer, Spreads};
use super::table::{Column, lay_out, wrap};
use super::{Done, WIDTH, Worked, csv, output, picture};

pub(crate) fn run(args: &Args, json: bool) -> Result<Done, Fault> {
    let read = question::read(&args.file)?;
    let picture = match &args.plot {
        Some(path) => Some((path, picture::kind(path, &read.sources)?)),
        None => None,
    };
    let watch = Watch::default();
    let worked = during("making machines", || {
        on(args, &read, output::colour_out(), &watch)
    })?;
    if let (Some((path, kind)), Answer::Spread(made)) = (picture, &worked.answer) {
        let figure = figure(made, args.most);
        picture::write(
            path,
            kind,
            |look| figure.svg(look),
            |look, dots| figure.png(look, dots),
        )?;
    }
    Ok(worked.done(&read, json))
}

/// Whose share of the spread is how great, as bars.
pub(crate) fn figure(made: &Spreads, most: usize) -> sheets::plot::Figure {
    sheets::plot::bars(&sheets::plot::of_spread(&made.spread, most))
}

/// Makes machines like the one that was read.
pub(crate) fn on(args: &Args, read: &Read, colour: bool, watch: &Watch) -> Result<Worked, Fault> {
    let readings = question::readings(&read.machine, &args.readings)?;
    let stand = question::stand(read, &args.pose)?;
    let request = Request {
        readings,
        machines: args.machines,
        seed: args.seed,
    };
    let spread = spread_watched(&read.model, &stand, &request, watch).map_err(Fault::machine)?;
    let missed = spread
        .findings
        .iter()
        .any(|f| matches!(f.severity, Severity::Fault | Severity::Miss));
    let exit = match read.judge() {
        Exit::Kept if missed => Exit::Missed,
        other => other,
    };
    let unit = read.machine.unit;
    let text = match args.format {
        Format::Csv => table(&spread, unit),
        _ => {
            text(&spread, args.most, unit, &read.sources, colour) + &borne_text(read.asks(), colour)
        }
    };
    let answer = Answer::Spread(Spreads {
        spread,
        asks: read.asks().to_vec(),
        plot: args.plot.as_deref().map(question::shown),
    });
    Ok(Worked { exit, answer, text })
}

/// Unit in which a person reads a dimension.
fn unit_of(d: &Varied, length: Unit) -> Unit {
    match d.inside {
        Inside::Radian => Unit::Degree,
        _ => length,
    }
}

pub(super) fn text(
    spread: &Spread,
    most: usize,
    length: Unit,
    sources: &Sources,
    colour: bool,
) -> String {
    let place = standing(&spread.held).map_or(String::new(), |place| format!(", {place}"));
    let mut text = wrap(&format!("{}{place}", spread.machine), WIDTH, 2) + "\n";
    let _ = writeln!(
        text,
        "{} made, seed {}; ± is three sigma",
        machines(spread.machines),
        spread.seed
    );
    if !spread.findings.is_empty() {
        text.push('\n');
    }
    for finding in &spread.findings {
        text.push_str(&finding_text(finding, sources, colour));
    }
    text.push_str(&readings_text(spread));
    for ask in &spread.asks {
        text.push_str(&ask_text(spread, ask, most, length));
    }
    text.push_str(&together_text(spread, most, length));
    for refused in &spread.refused {
        let _ = writeln!(text, "\n{}", wrap(refused, WIDTH, 2));
    }
    text
}

/// What to make each dimension to for all asks at once.
fn together_text(spread: &Spread, most: usize, length: Unit) -> String {
    if spread.asks.len() < 2 || spread.together.is_empty() {
        return String::new();
    }
    let mut now = Column::numbers("made to ±", "");
    let mut to = Column::numbers("make to ±", "");
    let mut advice = Column::words("");
    let mut name = Column::words("dimension");
    for item in spread.together.iter().take(most) {
        let Some(d) = spread.dimensions.get(item.dimension) else {
            continue;
        };
        let unit = unit_of(d, length);
        now.cells.push(with_unit(item.now, unit));
        to.cells.push(with_unit(item.to, unit));
        advice.cells.push(word(item.advice).to_owned());
        name.cells.push(d.dimension.clone());
    }
    let mut text = format!(
        "\nFor all asks together\n{}",
        lay_out(&[], &[now, to, advice, name])
    );
    let all = spread.together.len();
    if all > most {
        let _ = writeln!(text, "and {} more (--most {all} shows all)", all - most);
    }
    text
}

fn word(advice: Advice) -> &'static str {
    match advice {
        Advice::Hold => "hold",
        Advice::Keep => "",
        Advice::LetGo => "let go",
    }
}

fn readings_text(spread: &Spread) -> String {
    if spread.readings.is_empty() {
        return String::new();
    }
    let mut columns = [
        Column::words("reading"),
        Column::numbers("as drawn", ""),
        Column::numbers("likely ±", ""),
        Column::numbers("at worst ±", ""),
        Column::numbers("95 of 100 from", ""),
        Column::numbers("to", ""),
    ];
    for s in &spread.readings {
        let unit = s.reading.unit;
        let cells = [
            s.reading.name.clone(),
            with_unit(s.nominal, unit),
            with_unit(s.root_sum_square, unit),
            with_unit(s.worst_case, unit),
            with_unit(s.made.percentiles[1], unit),
            with_unit(s.made.percentiles[3], unit),
        ];
        for (column, cell) in columns.iter_mut().zip(cells) {
            column.cells.push(cell);
        }
    }
    format!("\n{}", lay_out(&[], &columns))
}

fn ask_text(spread: &Spread, ask: &AskSpread, most: usize, length: Unit) -> String {
    let s: &Strayed = &ask.strayed;
    let unit = s.reading.unit;
    let places: Vec<String> = ask.at.iter().map(|h| named(&h.quantity, h.value)).collect();
    let place = if places.is_empty() {
        String::new()
    } else {
        format!(" at {}", places.join(", "))
    };
    let mut text = format!(
        "\nask {}: {}{place}\n",
        ask.ask,
        named(&s.reading, s.nominal)
    );
    if s.made.lost > 0 {
        let verb = if s.made.lost == 1 { "does" } else { "do" };
        let _ = writeln!(text, "{} {verb} not go together", machines(s.made.lost));
    }
    if s.shares.is_empty() {
        text.push_str("no dimension with a tolerance moves it\n");
        return text;
    }
    let mut share = Column::numbers("share", "");
    let mut moves = Column::numbers("gives ±", "");
    let mut now = Column::numbers("made to ±", "");
    let mut to = Column::numbers("make to ±", "");
    let mut advice = Column::words("");
    let mut name = Column::words("dimension");
    for part in s.shares.iter().take(most) {
        let Some(d) = spread.dimensions.get(part.dimension) else {
            continue;
        };
        let item = ask
            .budget
            .items
            .iter()
            .find(|i| i.dimension == part.dimension);
        share.cells.push(format!("{:.1} %", 100.0 * part.share));
        moves.cells.push(with_unit(part.plus_minus, unit));
        now.cells.push(with_unit(d.plus_minus, unit_of(d, length)));
        to.cells
            .push(item.map_or_else(|| NONE.to_owned(), |i| with_unit(i.to, unit_of(d, length))));
        advice
            .cells
            .push(item.map_or("", |i| word(i.advice)).to_owned());
        name.cells.push(d.dimension.clone());
    }
    text.push_str(&lay_out(&[], &[share, moves, now, to, advice, name]));
    let all = s.shares.len();
    if all > most {
        let _ = writeln!(
            text,
            "and {} more that give less (--most {all} shows all)",
            all - most
        );
    }
    let b = &ask.budget;
    let sentence = if b.room <= 0.0 {
        format!(
            "the machine as drawn misses it by {}",
            with_unit(-b.room, unit)
        )
    } else if b.possible {
        format!(
            "made so, it strays by ± {} and has {} to spare on the nearer side",
            with_unit(b.reached, unit),
            signed_with_unit(b.room, unit)
        )
    } else {
        format!(
            "even held as close as the shop can it strays by ± {}, more than the {} there are",
            with_unit(b.reached, unit),
            with_unit(b.room, unit)
        )
    };
    text.push_str(&wrap(&sentence, WIDTH, 0));
    text.push('\n');
    text
}

/// One line a reading and dimension, for a spreadsheet.
fn table(spread: &Spread, length: Unit) -> String {
    let mut text = csv::line([
        "of",
        "name",
        "unit",
        "value",
        "likely +-",
        "worst +-",
        "share kept",
        "dimension",
        "made to +-",
        "dimension unit",
        "share of variance",
        "make to +-",
    ]);
    let readings = spread
        .readings
        .iter()
        .map(|s| ("reading", s.reading.name.as_str(), s, None));
    let asks = spread
        .asks
        .iter()
        .map(|a| ("ask", a.ask.as_str(), &a.strayed, Some(a)));
    for (of, name, s, ask) in readings.chain(asks) {
        let unit = s.reading.unit;
        let number = |x: f64, unit: Unit| super::numbers::bare(x, unit);
        for part in &s.shares {
            let Some(d) = spread.dimensions.get(part.dimension) else {
                continue;
            };
            let own = unit_of(d, length);
            let item = ask.and_then(|a| {
                a.budget
                    .items
                    .iter()
                    .find(|i| i.dimension == part.dimension)
            });
            let cells = [
                of.to_owned(),
                name.to_owned(),
                unit.symbol().to_owned(),
                number(s.nominal, unit),
                number(s.root_sum_square, unit),
                number(s.worst_case, unit),
                ask.map_or(String::new(), |a| format!("{:.5}", a.kept)),
                d.dimension.clone(),
                number(d.plus_minus, own),
                own.symbol().to_owned(),
                format!("{:.5}", part.share),
                item.map_or(String::new(), |i| number(i.to, own)),
            ];
            text.push_str(&csv::line(cells.iter().map(String::as_str)));
        }
    }
    text
}

/// `1 machine`, `100 machines`.
fn machines(count: usize) -> String {
    format!("{count} machine{}", if count == 1 { "" } else { "s" })
}
