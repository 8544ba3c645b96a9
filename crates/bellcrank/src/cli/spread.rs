//! `bellcrank spread`.

use std::fmt::Write as _;

use machine::Sources;
use quantity::Unit;
use studies::spread::{
    Advice, AskSpread, Budget, ByTolerances, Request, Spread, Strayed, Watch, hundred,
    spread_watched,
};
use studies::{Inside, Severity};

use super::args::{Format, Spread as Args};
use super::check::{borne_text, finding_text};
use super::exit::Exit;
use super::fault::Fault;
use super::numbers::{finer, named, standing, with_unit};
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
        budgets: true,
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
fn unit_of(inside: Inside, length: Unit) -> Unit {
    match inside {
        Inside::Radian => Unit::Degree,
        _ => length,
    }
}

/// A tolerance, with a decimal more where it needs one: what is printed is what it was tried with.
fn tolerance(t: f64, inside: Inside, length: Unit) -> String {
    let unit = unit_of(inside, length);
    format!("{} {}", bare_tolerance(t, inside, length), unit.symbol())
}

/// The same without its unit.
fn bare_tolerance(t: f64, inside: Inside, length: Unit) -> String {
    let unit = unit_of(inside, length);
    let more = (0..4).find(|more| {
        let shown: f64 = finer(t, unit, *more).parse().unwrap_or(f64::NAN);
        (unit.to_inside(shown) / t - 1.0).abs() < 1e-6
    });
    finer(t, unit, more.unwrap_or(0))
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
        "{} made, seed {}; ± and `likely` are three sigma",
        machines(spread.machines),
        spread.seed
    );
    if spread.as_built {
        text.push_str(
            "each dimension strays as far as the log leaves it open, with what it ties to it\n",
        );
    }
    if !spread.findings.is_empty() {
        text.push('\n');
    }
    for finding in &spread.findings {
        text.push_str(&finding_text(finding, sources, colour));
    }
    text.push_str(&readings_text(spread));
    for ask in spread.asks.iter().filter(|_| !spread.as_built) {
        text.push_str(&ask_text(spread, ask, most, length));
    }
    text.push_str(&budget_text(spread, most, length));
    for refused in &spread.refused {
        let _ = writeln!(text, "\n{}", wrap(refused, WIDTH, 2));
    }
    text
}

/// What to make everything to for all asks at once, and how many machines made so keep them.
fn budget_text(spread: &Spread, most: usize, length: Unit) -> String {
    let left_out = |why: fn(&ByTolerances) -> bool| -> Vec<&str> {
        let asks = spread.asks.iter().filter(|a| why(&a.by_tolerances));
        asks.map(|a| a.ask.as_str()).collect()
    };
    let missed = left_out(|b| matches!(b, ByTolerances::NotDrawn));
    let cannot = left_out(|b| matches!(b, ByTolerances::NotHeld(_)));
    let Some(budget) = &spread.budget else {
        return String::new();
    };
    let mut text = String::from("\nWith the least effort of making\n");
    let mut now = Column::numbers("made to ±", "");
    let mut to = Column::numbers("make to ±", "");
    let mut advice = Column::words("");
    let mut name = Column::words("what");
    for item in budget.items.iter().take(most) {
        let Some(what) = spread.items.get(item.item) else {
            continue;
        };
        now.cells.push(tolerance(item.now, what.inside, length));
        to.cells.push(tolerance(item.to, what.inside, length));
        advice.cells.push(word(item.advice).to_owned());
        name.cells.push(what.name.clone());
    }
    text.push_str(&lay_out(&[], &[now, to, advice, name]));
    let all = budget.items.len();
    if all > most {
        let _ = writeln!(text, "and {} more (--most {all} shows all)", all - most);
    }
    let mut sentences = vec![made_so(budget)];
    for (asks, why) in [
        (missed, "the machine without any error misses it"),
        (cannot, "the shop cannot hold it so close"),
    ] {
        if !asks.is_empty() {
            sentences.push(format!("without {}: {why}", asks.join(", ")));
        }
    }
    for sentence in sentences {
        text.push_str(&wrap(&sentence, WIDTH, 0));
        text.push('\n');
    }
    text
}

/// "made so, 99.78 of 100 machines keep closest ..."
fn made_so(budget: &Budget) -> String {
    let asks: Vec<&str> = budget.asks.iter().map(|a| a.ask.as_str()).collect();
    let what = match asks.as_slice() {
        [one] => (*one).to_owned(),
        _ => format!("all of {}", asks.join(", ")),
    };
    let mut text = format!("made so, {}", budget.kept.keep(&what));
    let fewest = budget
        .asks
        .iter()
        .min_by(|a, b| a.kept.share.total_cmp(&b.kept.share));
    if let Some(fewest) = fewest.filter(|_| asks.len() > 1) {
        let _ = write!(
            text,
            "; fewest keep {}: {}",
            fewest.ask,
            fewest.kept.words()
        );
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
        Column::numbers(
            if spread.as_built {
                "as built"
            } else {
                "as drawn"
            },
            "",
        ),
        Column::numbers("likely", ""),
        Column::numbers("at worst", ""),
        Column::numbers("95 % from", ""),
        Column::numbers("to", ""),
    ];
    for s in &spread.readings {
        let unit = s.reading.unit;
        let cells = [
            s.reading.name.clone(),
            with_unit(s.nominal, unit),
            s.likely_words(|v| with_unit(v, unit)).replace(" to ", "/"),
            s.worst_words(|v| with_unit(v, unit)).replace(" to ", "/"),
            with_unit(s.made.percentiles[1], unit),
            with_unit(s.made.percentiles[3], unit),
        ];
        for (column, cell) in columns.iter_mut().zip(cells) {
            column.cells.push(cell);
        }
    }
    let mut text = format!("\n{}", lay_out(&[], &columns));
    for s in spread.readings.iter().filter(|s| !s.straight) {
        text.push_str(&bent(spread, s));
    }
    for s in &spread.readings {
        text.push_str(&played(spread, s));
    }
    text
}

/// Where the play of the fits, as they come out, puts a reading.
fn played(spread: &Spread, s: &Strayed) -> String {
    let Some(play) = s.play.as_ref() else {
        return String::new();
    };
    let unit = s.reading.unit;
    let [low, high] = play.reaches().map(|v| with_unit(v, unit));
    let low = low.split(' ').next().unwrap_or_default();
    let most = play
        .shares
        .first()
        .and_then(|c| spread.clearances.get(c.clearance))
        .map_or_else(String::new, |c| format!(", most of it in {}", c.joint));
    let sentence = format!(
        "play of the fits puts {} {low} to {high} off on 99.73 of 100 machines{most}",
        s.reading.name
    );
    wrap(&sentence, WIDTH, 2) + "\n"
}

/// Why the made machines are told and not the straight lines.
fn bent(spread: &Spread, s: &Strayed) -> String {
    let unit = s.reading.unit;
    let why = s.bent_words(&spread.dimensions, |v| with_unit(v, unit));
    let sentence = format!(
        "{} bends: 99.73 of 100 machines made stray by {}; {why}",
        s.reading.name,
        s.likely_words(|v| with_unit(v, unit)),
    );
    wrap(&sentence, WIDTH, 2) + "\n"
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
    let mut to = Column::numbers("hold to ±", "");
    let mut name = Column::words("dimension");
    for part in s.shares.iter().take(most) {
        let Some(d) = spread.dimensions.get(part.dimension) else {
            continue;
        };
        share.cells.push(format!("{:.1} %", 100.0 * part.share));
        moves.cells.push(with_unit(part.plus_minus, unit));
        now.cells.push(tolerance(d.plus_minus, d.inside, length));
        let held = held_to(ask, d.item).map(|t| tolerance(t, d.inside, length));
        to.cells.push(held.unwrap_or_default());
        name.cells.push(d.dimension.clone());
    }
    let columns = match &ask.hold {
        Some(_) => vec![share, moves, now, to, name],
        None => vec![share, moves, now, name],
    };
    text.push_str(&lay_out(&[], &columns));
    let all = s.shares.len();
    if all > most {
        let _ = writeln!(
            text,
            "and {} more that give less (--most {all} shows all)",
            all - most
        );
    }
    if !s.straight {
        text.push_str(&bent(spread, s));
    }
    let aim = format!("{} of 100", hundred(ask.aim));
    let sentence = match (&ask.hold, ask.by_tolerances) {
        (Some(hold), _) => {
            let all = hold
                .items
                .iter()
                .filter(|i| i.advice == Advice::Hold)
                .count();
            let shown = s.shares.iter().take(most);
            let mut shown: Vec<usize> = shown
                .filter_map(|p| spread.dimensions.get(p.dimension))
                .filter(|d| held_to(ask, d.item).is_some())
                .map(|d| d.item)
                .collect();
            shown.sort_unstable();
            shown.dedup();
            let more = if all > shown.len() {
                format!(" ({} of them not shown)", all - shown.len())
            } else {
                String::new()
            };
            format!("{all} to hold{more}, all else as now: {}", made_so(hold))
        }
        (None, ByTolerances::NotDrawn) => {
            format!(
                "the machine without any error misses it by {}: no tolerance mends that",
                with_unit(-ask.room, unit)
            )
        }
        (None, ByTolerances::NotHeld(kept)) => format!(
            "with all held as close as the shop can, {}, and not {aim}",
            kept.keep("it")
        ),
        (None, ByTolerances::AsNow) => {
            format!("nothing to hold: made as now, {aim} or more keep it")
        }
        (None, _) => return text,
    };
    text.push_str(&wrap(&sentence, WIDTH, 0));
    text.push('\n');
    text
}

/// What an item is to be held to for an ask alone; none where it is made as now.
fn held_to(ask: &AskSpread, item: usize) -> Option<f64> {
    let hold = ask.hold.as_ref()?;
    let found = hold.items.iter().find(|i| i.item == item)?;
    (found.advice == Advice::Hold).then_some(found.to)
}

/// One line a reading and dimension, for a spreadsheet.
fn table(spread: &Spread, length: Unit) -> String {
    let mut text = csv::line([
        "of",
        "name",
        "unit",
        "value",
        "likely from",
        "likely to",
        "straight +-",
        "worst +-",
        "share kept",
        "dimension",
        "made to +-",
        "dimension unit",
        "share of variance",
        "hold to +-",
        "for all asks +-",
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
            let own = unit_of(d.inside, length);
            let of_all = spread.budget.as_ref().and_then(|b| {
                let item = b.items.iter().find(|i| i.item == d.item)?;
                Some(item.to)
            });
            let cells = [
                of.to_owned(),
                name.to_owned(),
                unit.symbol().to_owned(),
                number(s.nominal, unit),
                number(s.likely[0], unit),
                number(s.likely[1], unit),
                number(s.root_sum_square, unit),
                number(s.worst_case, unit),
                ask.map_or(String::new(), |a| format!("{:.5}", a.kept.share)),
                d.dimension.clone(),
                bare_tolerance(d.plus_minus, d.inside, length),
                own.symbol().to_owned(),
                format!("{:.5}", part.share),
                ask.and_then(|a| held_to(a, d.item))
                    .map_or(String::new(), |t| bare_tolerance(t, d.inside, length)),
                of_all.map_or(String::new(), |t| bare_tolerance(t, d.inside, length)),
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
