//! A turn in words and for a spreadsheet.

use std::fmt::Write as _;

use quantity::{Unit, show};
use studies::Inside;
use studies::cycle::{Closing, ClosingCurve, Cycle as Turn, Dwell, Map, PointTurned, Spot, Turned};

use super::cycle::speed_unit;
use super::numbers::{NONE, bare, bare_or_none, rate, rate_unit, standing, with_unit};
use super::table::{Column, lay_out, wrap};
use super::{WIDTH, amounts, csv, reach};

pub(super) fn text(cycle: &Turn, closing: &[ClosingCurve]) -> String {
    let drive = &cycle.drive;
    let span = if cycle.round {
        match cycle.turns_told {
            1 => format!("one turn of {}", drive.name),
            n => format!("{n} turns of {}", drive.name),
        }
    } else {
        format!(
            "{} from {} to {}",
            drive.name,
            with_unit(cycle.from, drive.unit),
            with_unit(cycle.to, drive.unit)
        )
    };
    let at = cycle.speed.map_or_else(String::new, |speed| {
        let unit = if drive.inside == Inside::Radian {
            Unit::TurnPerMinute
        } else {
            speed_unit(drive.unit)
        };
        format!(
            " at {}",
            show(speed, unit, if unit == Unit::InchPerSecond { 3 } else { 1 })
        )
    });
    let place = standing(&cycle.held).map_or_else(String::new, |place| format!(", {place}"));
    let mut text = wrap(
        &format!("{} over {span}{at}{place}", cycle.machine),
        WIDTH,
        2,
    ) + "\n";
    if let (Some(seconds), Some(speed)) = (cycle.seconds, cycle.speed) {
        let _ = if cycle.round && drive.inside == Inside::Radian {
            let often = 60.0 * speed / std::f64::consts::TAU / f64::from(cycle.turns_a_cycle);
            match cycle.turns_a_cycle {
                1 => writeln!(
                    text,
                    "a turn takes {}: {often:.1} strokes a minute",
                    time(seconds)
                ),
                n => writeln!(
                    text,
                    "{}",
                    wrap(
                        &format!(
                            "{} goes round {n} times until the machine is back where it was, in {}: {often:.1} strokes a minute",
                            drive.name,
                            time(60.0 / often),
                        ),
                        WIDTH,
                        2
                    )
                ),
            }
        } else {
            writeln!(text, "one way takes {}", time(seconds))
        };
    }
    for sentence in cycle
        .falls_short
        .iter()
        .map(|f| &f.sentence)
        .chain(&cycle.not_back)
    {
        let _ = writeln!(text, "{}", wrap(sentence, WIDTH, 2));
    }
    if !cycle.round {
        let goes = reach::words(&cycle.reach, drive.unit);
        let _ = writeln!(
            text,
            "{}",
            wrap(&format!("{} goes {goes}", drive.name), WIDTH, 2)
        );
    }
    if cycle.readings.is_empty() && cycle.left_out.is_empty() {
        text.push_str("\nno reading moves with it; write one in the file: [reading.NAME]\n");
    }
    for turned in &cycle.readings {
        let _ = write!(text, "\n{}\n", turned.reading.name);
        for line in lines(cycle, turned) {
            let _ = writeln!(text, "  {}", wrap(&line, WIDTH - 2, 4));
        }
    }
    for curve in closing {
        text.push_str(&closing_text(curve));
    }
    for name in &cycle.left_out {
        let _ = writeln!(text, "\n{}", wrap(name, WIDTH, 2));
    }
    text
}

/// What is said of one reading.
fn lines(cycle: &Turn, turned: &Turned) -> Vec<String> {
    let (unit, per) = (turned.reading.unit, cycle.drive.unit);
    let moves = turned.greatest.value - turned.least.value;
    if moves <= 1e-9 * (1.0 + turned.greatest.value.abs()) {
        return vec![format!("stays at {}", with_unit(turned.least.value, unit))];
    }
    let turn = cycle.to - cycle.from;
    let rates = turned.curve.iter().filter_map(|b| b.rate);
    let (slow, fast) = rates.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), r| {
        (l.min(r), h.max(r))
    });
    let steady = fast - slow <= 1e-9 * fast.abs().max(slow.abs());
    let range = turned.greatest.value - turned.least.value;
    // On a level stretch no place of it is the one.
    let level = |spot: &Spot| {
        let on = turned.curve.iter();
        on.filter(|b| (b.value - spot.value).abs() <= 1e-7 * range)
            .count()
            > 3
    };
    let end = |word: &str, spot: &Spot, dwell: &Dwell| {
        if steady {
            // It runs straight through its ends and rests nowhere.
            return format!(
                "{word} {} at {}",
                with_unit(spot.value, unit),
                with_unit(spot.at, per)
            );
        }
        if dwell.long >= turn * (1.0 - 1e-9) {
            return format!(
                "{word} {} at {}; never further than {} from it",
                with_unit(spot.value, unit),
                with_unit(spot.at, per),
                with_unit(turned.within, unit)
            );
        }
        let place = if level(spot) {
            String::new()
        } else {
            format!(" at {}", with_unit(spot.at, per))
        };
        format!(
            "{word} {}{place}; within {} of it from {} to {}, {} long{}",
            with_unit(spot.value, unit),
            with_unit(turned.within, unit),
            bare(dwell.from, per),
            with_unit(dwell.to, per),
            with_unit(dwell.long, per),
            if dwell.cut {
                " and cut off by the end of the way"
            } else {
                ""
            }
        )
    };
    let mut all = match turned.goes_on {
        // What only goes on has no ends; where it rests is told below.
        Some(by) if !steady => vec![format!(
            "goes on by {} {} of {}",
            with_unit(by, unit),
            match cycle.turns_told {
                1 => String::from("a turn"),
                n => format!("in {n} turns"),
            },
            cycle.drive.name
        )],
        _ => vec![
            end("least", &turned.least, &turned.low_dwell),
            end("greatest", &turned.greatest, &turned.high_dwell),
        ],
    };
    for stay in turned.stays.iter().take(STAYS_TOLD) {
        all.push(format!(
            "rests{} from {} to {}, {} long{}",
            if turned.goes_on.is_some() { "" } else { " too" },
            bare(stay.from, per),
            with_unit(stay.to, per),
            with_unit(stay.long, per),
            if stay.cut {
                " and cut off by the end of the way"
            } else {
                ""
            }
        ));
    }
    if let Some(more) = turned.stays.len().checked_sub(STAYS_TOLD + 1) {
        all.push(format!("rests in {} more stretches, none longer", more + 1));
    }
    if steady {
        let speed = cycle
            .speed
            .map_or_else(String::new, |s| format!(", {}", speed_of(turned, fast * s)));
        all.push(format!(
            "goes at {} {} throughout{speed}",
            rate(fast, unit, per),
            rate_unit(unit, per)
        ));
    }
    for (word, spot) in [("falls", &turned.falls), ("rises", &turned.rises)] {
        let moves = |s: &&Spot| (s.value * turn).abs() > 1e-6 * range;
        if let (Some(spot), false) = (spot.as_ref().filter(moves), steady) {
            let speed = cycle.speed.map_or_else(String::new, |s| {
                format!(", {}", speed_of(turned, spot.value * s))
            });
            all.push(format!(
                "{word} fastest at {}: {} {}{speed}",
                with_unit(spot.at, per),
                rate(spot.value, unit, per),
                rate_unit(unit, per)
            ));
        }
    }
    if let (Some(speed), false) = (cycle.speed, steady) {
        let hardest: Vec<String> = [&turned.turned_up, &turned.turned_down]
            .into_iter()
            .flatten()
            .map(|spot| {
                format!(
                    "{} at {}",
                    acceleration(turned, spot.value * speed * speed),
                    with_unit(spot.at, per)
                )
            })
            .collect();
        if !hardest.is_empty() {
            all.push(format!("accelerates hardest: {}", hardest.join(", ")));
        }
    }
    if let (Some(speed), Some(spot), false) = (cycle.speed, &turned.jerks, steady) {
        let bound = if turned.steps.is_empty() {
            ""
        } else {
            ", and without bound where acceleration steps"
        };
        all.push(format!(
            "greatest jerk {} at {}{bound}",
            jerk(turned, spot.value * speed.powi(3)),
            with_unit(spot.at, per)
        ));
    }
    if !turned.steps.is_empty() && !steady {
        let each = turned.steps.iter().take(STEPS_TOLD).map(|step| {
            let by = cycle.speed.map_or_else(String::new, |speed| {
                format!(
                    " by {}",
                    acceleration(turned, step.value.abs() * speed * speed)
                )
            });
            format!("at {}{by}", with_unit(step.at, per))
        });
        let each: Vec<String> = each.collect();
        let more = turned.steps.len().saturating_sub(STEPS_TOLD);
        let more = if more > 0 {
            format!(" and at {more} more places")
        } else {
            String::new()
        };
        all.push(format!("acceleration steps {}{more}", each.join(", ")));
    }
    if let (Some(speed), false) = (cycle.speed, steady) {
        for (word, dwell) in [
            ("least", &turned.low_dwell),
            ("greatest", &turned.high_dwell),
        ] {
            if turned.goes_on.is_some() {
                continue;
            }
            if let [Some(into), Some(out)] = dwell.rates {
                all.push(format!(
                    "comes within {} of its {word} at {} and leaves it at {}, {} later",
                    with_unit(turned.within, unit),
                    speed_of(turned, into * speed),
                    speed_of(turned, out * speed),
                    time(dwell.long / speed)
                ));
            }
        }
    }
    for at in &turned.without_bound {
        all.push(format!(
            "goes ever faster towards the dead centre at {}: no speed holds there",
            with_unit(*at, per)
        ));
    }
    all
}

/// A speed in the unit that goes with the reading.
fn speed_of(turned: &Turned, inside: f64) -> String {
    match (turned.reading.inside, turned.reading.unit) {
        (Inside::Radian, _) => show(inside, Unit::DegreePerSecond, 1),
        (_, Unit::Inch | Unit::Thou | Unit::Foot) => show(inside, Unit::InchPerSecond, 3),
        _ => show(inside, Unit::MillimetrePerSecond, 2),
    }
}

/// From here on, m/s², m/s³, rad/s² …, decimals suffice; below it three figures are told.
const SLOW: f64 = 0.1;
/// Steps of acceleration that are told.
const STEPS_TOLD: usize = 6;
/// Stretches of rest that are told.
const STAYS_TOLD: usize = 6;

fn figures(value: f64, decimals: usize) -> String {
    if value.abs() < SLOW {
        amounts::three(value)
    } else {
        format!("{value:.decimals$}")
    }
}

fn acceleration(turned: &Turned, inside: f64) -> String {
    match (turned.reading.inside, turned.reading.unit) {
        (Inside::Radian, _) => format!("{} rad/s²", figures(inside, 2)),
        (_, Unit::Inch | Unit::Thou | Unit::Foot) => {
            format!("{} in/s²", figures(inside / 25.4, 2))
        }
        _ => format!("{} m/s²", figures(inside / 1000.0, 3)),
    }
}

fn jerk(turned: &Turned, inside: f64) -> String {
    match (turned.reading.inside, turned.reading.unit) {
        (Inside::Radian, _) => format!("{} rad/s³", figures(inside, 2)),
        (_, Unit::Inch | Unit::Thou | Unit::Foot) => {
            format!("{} in/s³", figures(inside / 25.4, 2))
        }
        _ => format!("{} m/s³", figures(inside / 1000.0, 3)),
    }
}

/// Seconds with three figures.
fn time(seconds: f64) -> String {
    let decimals = if seconds >= 10.0 {
        1
    } else if seconds >= 1.0 {
        2
    } else {
        3
    };
    format!("{seconds:.decimals$} s")
}

pub(crate) fn closing_text(curve: &ClosingCurve) -> String {
    let (unit, across, up) = (curve.reading.unit, curve.across.unit, curve.up.unit);
    let mut at = Column::numbers(curve.up.name.clone(), up.symbol());
    let mut least = Column::numbers("least", unit.symbol());
    let mut place = Column::numbers(format!("at {}", curve.across.name), across.symbol());
    let mut slope = Column::numbers("rate", rate_unit(unit, up));
    for Closing {
        at: x,
        least: found,
        rate: by,
    } in &curve.places
    {
        at.cells.push(bare(*x, up));
        least.cells.push(bare_or_none(found.map(|f| f.value), unit));
        place.cells.push(bare_or_none(found.map(|f| f.at), across));
        slope
            .cells
            .push(by.map_or_else(|| String::from(NONE), |by| rate(by, unit, up)));
    }
    let mut columns = vec![at, least, place, slope];
    let known = |v: fn(&studies::load::answers::Bands) -> Option<f64>| {
        curve
            .bands
            .iter()
            .map(move |b| bare_or_none(b.as_ref().and_then(v), unit))
    };
    let mut band = |head: &str, cells: Vec<String>| {
        let mut column = Column::numbers(head, unit.symbol());
        column.cells = cells;
        columns.push(column);
    };
    if curve.bands.iter().flatten().any(|b| b.loaded.is_some()) {
        band("loaded", known(|b| b.loaded).collect());
    }
    if curve.bands.iter().flatten().any(|b| b.to > b.from) {
        band("from", known(|b| Some(b.from)).collect());
        band("to", known(|b| Some(b.to)).collect());
    }
    let under = curve.case.as_ref().map_or_else(String::new, |case| {
        format!("; under {case}, with play and tolerance")
    });
    format!(
        "\n{}\n{}",
        wrap(
            &format!(
                "Least {} over {}, by {}{under}",
                curve.reading.name, curve.across.name, curve.up.name
            ),
            WIDTH,
            2
        ),
        lay_out(&[], &columns)
    ) + &stops_text(curve)
}

/// Where the drive across does not go round any more.
fn stops_text(curve: &ClosingCurve) -> String {
    let each: Vec<String> = curve
        .stops
        .iter()
        .map(|at| with_unit(*at, curve.up.unit))
        .collect();
    if each.is_empty() {
        return String::new();
    }
    wrap(
        &format!(
            "{} goes round on one side of {} = {} and stops on the way on the other",
            curve.across.name,
            curve.up.name,
            each.join(" and ")
        ),
        WIDTH,
        2,
    ) + "\n"
}

/// A closing curve for a spreadsheet, with its bands where they are known.
pub(super) fn closing_table(curve: &ClosingCurve) -> String {
    let (unit, across, up) = (curve.reading.unit, curve.across.unit, curve.up.unit);
    let mut text = csv::title(&format!(
        "least {} over {}, by {}",
        curve.reading.name, curve.across.name, curve.up.name
    ));
    let head = |what: &str, unit: Unit| format!("{what} ({})", unit.symbol());
    text.push_str(&csv::line([
        head(&curve.up.name, up).as_str(),
        &head("least", unit),
        &head(&format!("at {}", curve.across.name), across),
        &format!("rate ({})", rate_unit(unit, up)),
        &head("loaded", unit),
        &head("from", unit),
        &head("to", unit),
    ]));
    let number = |v: Option<f64>, unit: Unit| {
        v.map_or_else(String::new, |v| format!("{:.6}", unit.from_inside(v)))
    };
    for (i, place) in curve.places.iter().enumerate() {
        let band = curve.bands.get(i).and_then(Option::as_ref);
        let scale = up.to_inside(1.0) * unit.from_inside(1.0);
        text.push_str(&csv::line([
            number(Some(place.at), up).as_str(),
            &number(place.least.map(|l| l.value), unit),
            &number(place.least.map(|l| l.at), across),
            &place
                .rate
                .map_or_else(String::new, |r| format!("{:.9}", r * scale)),
            &number(band.and_then(|b| b.loaded), unit),
            &number(band.map(|b| b.from), unit),
            &number(band.map(|b| b.to), unit),
        ]));
    }
    text
}

/// Ends, dwells and rates for a spreadsheet.
pub(super) fn ends_table(cycle: &Turn) -> String {
    let per = cycle.drive.unit;
    let mut text = csv::title("ends and stretches of rest");
    text.push_str(&csv::line([
        "reading",
        "what",
        "value",
        "unit",
        &format!("at {} ({})", cycle.drive.name, per.symbol()),
        &format!("from ({})", per.symbol()),
        &format!("to ({})", per.symbol()),
    ]));
    for turned in &cycle.readings {
        let unit = turned.reading.unit;
        let place = |x: f64| format!("{:.6}", per.from_inside(x));
        let mut add = |what: &str, spot: Option<&Spot>, dwell: Option<&Dwell>| {
            text.push_str(&csv::line([
                turned.reading.name.as_str(),
                what,
                &spot.map_or_else(String::new, |s| format!("{:.6}", unit.from_inside(s.value))),
                if spot.is_some() { unit.symbol() } else { "" },
                &spot.map_or_else(String::new, |s| place(s.at)),
                &dwell.map_or_else(String::new, |d| place(d.from)),
                &dwell.map_or_else(String::new, |d| place(d.to)),
            ]));
        };
        add("least", Some(&turned.least), Some(&turned.low_dwell));
        add("greatest", Some(&turned.greatest), Some(&turned.high_dwell));
        for stay in &turned.stays {
            add("rests", None, Some(stay));
        }
    }
    text
}

/// The curves for a spreadsheet, reading after reading.
pub(super) fn table(cycle: &Turn) -> String {
    let per = cycle.drive.unit;
    let mut text = csv::line([
        "reading",
        &format!("{} ({})", cycle.drive.name, per.symbol()),
        "value",
        "unit",
        "rate",
        "second rate",
        "unit of rate",
        "unit of second rate",
        "speed",
        "unit of speed",
        "acceleration",
        "unit of acceleration",
        "jerk",
        "unit of jerk",
    ]);
    for turned in &cycle.readings {
        let unit = turned.reading.unit;
        // By the drive as shown, once and twice.
        let scale = per.to_inside(1.0) * unit.from_inside(1.0);
        let number =
            |v: Option<f64>, by: f64| v.map_or_else(String::new, |v| format!("{:.9}", v * by));
        let timed = |v: Option<f64>, power: i32| cycle.speed.zip(v).map(|(s, v)| v * s.powi(power));
        let parted = |text: Option<String>| {
            let text = text.unwrap_or_default();
            let (number, unit) = text.split_once(' ').unwrap_or((&text, ""));
            (number.to_owned(), unit.to_owned())
        };
        for beat in &turned.curve {
            let fast = parted(timed(beat.rate, 1).map(|v| speed_of(turned, v)));
            let harder = parted(timed(beat.second, 2).map(|v| acceleration(turned, v)));
            let jerks = parted(timed(beat.third, 3).map(|v| jerk(turned, v)));
            text.push_str(&csv::line([
                turned.reading.name.as_str(),
                &format!("{:.6}", per.from_inside(beat.at)),
                &format!("{:.6}", unit.from_inside(beat.value)),
                unit.symbol(),
                &number(beat.rate, scale),
                &number(beat.second, scale * per.to_inside(1.0)),
                &rate_unit(unit, per),
                &format!("{}/{}", rate_unit(unit, per), per.symbol()),
                &fast.0,
                &fast.1,
                &harder.0,
                &harder.1,
                &jerks.0,
                &jerks.1,
            ]));
        }
    }
    text
}

/// The grid for a spreadsheet: places of the first drive across, of the second downwards.
pub(crate) fn grid(map: &Map) -> String {
    let (unit, across, up) = (map.reading.unit, map.across.unit, map.up.unit);
    let corner = format!(
        "{} ({}) over {} ({}) across and {} ({}) down",
        map.reading.name,
        unit.symbol(),
        map.across.name,
        across.symbol(),
        map.up.name,
        up.symbol()
    );
    let heads: Vec<String> = map
        .columns
        .iter()
        .map(|c| format!("{:.6}", across.from_inside(*c)))
        .collect();
    let mut text =
        csv::line(std::iter::once(corner.as_str()).chain(heads.iter().map(String::as_str)));
    for (row, at) in map.values.chunks(map.columns.len().max(1)).zip(&map.rows) {
        let cells: Vec<String> = std::iter::once(format!("{:.6}", up.from_inside(*at)))
            .chain(
                row.iter()
                    .map(|v| v.map_or_else(String::new, |v| format!("{:.6}", unit.from_inside(v)))),
            )
            .collect();
        text.push_str(&csv::line(cells.iter().map(String::as_str)));
    }
    text
}

/// What is said of points: how fast they go, how hard they are accelerated, their jerk.
pub(super) fn points_text(points: &[PointTurned], cycle: &Turn, length: Unit) -> String {
    let per = cycle.drive.unit;
    let inches = matches!(length, Unit::Inch | Unit::Thou | Unit::Foot);
    let mut text = String::new();
    for point in points {
        let mut said: Vec<String> = Vec::new();
        let mut say = |what: &str, spot: Option<Spot>, power: i32| {
            let Some(spot) = spot else { return };
            let at = with_unit(spot.at, per);
            let value = match cycle.speed {
                Some(speed) => in_time(spot.value * speed.powi(power), power, inches),
                None if power == 1 => format!(
                    "{} for 1 {}",
                    with_unit(spot.value * per.to_inside(1.0), length),
                    per.symbol()
                ),
                None => return,
            };
            said.push(format!("{what} {value} at {at}"));
        };
        say("fastest", point.fastest, 1);
        say("accelerated hardest,", point.hardest, 2);
        say("greatest jerk", point.jerks, 3);
        if said.is_empty() {
            said.push(String::from(
                "goes ever faster towards a dead centre: no speed holds there",
            ));
        }
        let line = format!("point {}: {}", point.point, said.join("; "));
        let _ = writeln!(text, "\n{}", wrap(&line, WIDTH, 2));
    }
    text
}

/// A length by the time, once, twice or three times.
fn in_time(inside: f64, power: i32, inches: bool) -> String {
    match (power, inches) {
        (1, true) => show(inside, Unit::InchPerSecond, 3),
        (1, false) => show(inside, Unit::MillimetrePerSecond, 2),
        (2, true) => format!("{} in/s²", figures(inside / 25.4, 2)),
        (2, false) => format!("{} m/s²", figures(inside / 1000.0, 3)),
        (_, true) => format!("{} in/s³", figures(inside / 25.4, 1)),
        (_, false) => format!("{} m/s³", figures(inside / 1000.0, 2)),
    }
}

/// A point over the drive for a spreadsheet: lengths of its rates by the drive, and by the time where its speed is known.
pub(super) fn point_table(point: &PointTurned, cycle: &Turn) -> String {
    let per = cycle.drive.unit;
    let scale = per.to_inside(1.0);
    let mut text = csv::title(&format!("point {}", point.point));
    let by = |power: &str| format!("rate (mm/{}{power})", per.symbol());
    text.push_str(&csv::line([
        format!("{} ({})", cycle.drive.name, per.symbol()).as_str(),
        &by(""),
        &by("²"),
        &by("³"),
        "speed (mm/s)",
        "acceleration (mm/s²)",
        "jerk (mm/s³)",
    ]));
    for beat in &point.curve {
        let rates = [Some(beat.rate), Some(beat.second), beat.third];
        let number = |v: Option<f64>| v.map_or_else(String::new, |v| format!("{v:.9}"));
        let by_drive = |k: usize| number(rates[k].map(|v| (0..=k).fold(v, |v, _| v * scale)));
        let by_time = |k: usize| {
            let timed = rates[k].zip(cycle.speed);
            number(timed.map(|(v, s)| (0..=k).fold(v, |v, _| v * s)))
        };
        text.push_str(&csv::line([
            format!("{:.6}", per.from_inside(beat.at)).as_str(),
            &by_drive(0),
            &by_drive(1),
            &by_drive(2),
            &by_time(0),
            &by_time(1),
            &by_time(2),
        ]));
    }
    text
}
