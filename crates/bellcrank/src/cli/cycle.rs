//! `bellcrank cycle`.

use std::fmt::Write as _;
use std::path::Path;

use quantity::{Kind, Unit, parse, show};
use studies::cycle::{
    Asked, Closing, ClosingCurve, Cycle as Turn, Dwell, Map, MapAsked, Spot, Turned, Turning,
    TurningAsked,
};
use studies::{Inside, Severity};

use super::args::{Cycle, Format};
use super::exit::Exit;
use super::fault::Fault;
use super::numbers::{NONE, bare, bare_or_none, rate, rate_unit, standing, with_unit};
use super::progress::during;
use super::question::{self, Read, shown};
use super::report::{Answer, Cycled};
use super::table::{Column, lay_out, wrap};
use super::{
    Done, WIDTH, Worked, cams, clearance_table, csv, output, picture, reach, turning_table,
};

/// Places of the closing curve in the table.
const PLACES: usize = 13;

/// Into what the map goes.
enum Into {
    Picture(picture::Picture),
    Grid,
}

pub(crate) fn run(args: &Cycle, json: bool) -> Result<Done, Fault> {
    let read = question::read(&args.file)?;
    let into = match &args.map {
        Some(path)
            if path
                .extension()
                .is_some_and(|e| e.eq_ignore_ascii_case("csv")) =>
        {
            Some((path, Into::Grid))
        }
        Some(path) => Some((path, Into::Picture(picture::kind(path, &read.sources)?))),
        None => None,
    };
    let plotted = match &args.plot {
        Some(path) => Some((path, picture::kind(path, &read.sources)?)),
        None => None,
    };
    let worked = during("turning it", || on(args, &read))?;
    if let (Some((path, kind)), Answer::Cycle(cycled)) = (plotted, &worked.answer) {
        let figure = sheets::plot::curves(&timing(cycled, &read));
        picture::write(
            path,
            kind,
            |look| figure.svg(look),
            |look, dots| figure.png(look, dots),
        )?;
    }
    if let (Some((path, into)), Answer::Cycle(cycled)) = (into, &worked.answer)
        && let Some(map) = &cycled.map
    {
        write(path, &into, map)?;
    }
    if let (Some(path), Answer::Cycle(cycled)) = (&args.cam_table, &worked.answer)
        && let Some(table) = &cycled.cam_table
    {
        output::write(path, sheets::cam_csv(table, read.machine.unit).as_bytes())?;
    }
    Ok(worked.done(&read, json))
}

fn write(path: &Path, into: &Into, map: &Map) -> Result<(), Fault> {
    match into {
        Into::Grid => output::write(path, grid(map).as_bytes()),
        Into::Picture(kind) => {
            let figure = figure(map);
            picture::write(
                path,
                *kind,
                |look| figure.svg(look),
                |look, dots| figure.png(look, dots),
            )
        }
    }
}

/// The timing diagram.
pub(crate) fn timing(cycled: &Cycled, read: &Read) -> sheets::plot::Plot {
    sheets::plot::of_cycle(&cycled.cycle, cycled.turning.as_ref(), read.machine.unit)
}

/// The lines of equal reading.
pub(crate) fn figure(map: &Map) -> sheets::plot::Figure {
    sheets::plot::curves(&sheets::plot::of_map(map))
}

/// Place of a reading among those of the machine.
fn index(read: &Read, name: &str) -> usize {
    let found = read.machine.readings.iter().position(|r| r.name == name);
    found.unwrap_or(usize::MAX)
}

/// A reading over this drive and a second one.
pub(crate) fn map_of(
    args: &Cycle,
    read: &Read,
    reading: &str,
    across: usize,
) -> Result<Map, Fault> {
    let stand = question::stand(read, &args.pose)?;
    let index = index(read, reading);
    let up = match &args.over {
        Some(name) => Some(question::drive(&read.machine, Some(name))?),
        None => studies::cycle::second(&read.model, index, across),
    };
    let up = up.ok_or_else(|| {
        Fault::usage(
            format!("no second drive moves {reading}"),
            "a map is laid over two drives; name a reading with --reading, or a drive with --over",
        )
    })?;
    let [columns, rows] = args.grid;
    let asked = MapAsked {
        reading: index,
        across,
        up,
        columns,
        rows,
    };
    studies::cycle::map(&read.model, &stand, &asked).map_err(Fault::machine)
}

/// Turns a machine that was read.
pub(crate) fn on(args: &Cycle, read: &Read) -> Result<Worked, Fault> {
    let drive = match &args.drive {
        None => read.machine.drives.iter().position(|d| d.whole_turn),
        Some(_) => None,
    };
    let drive = match drive {
        Some(drive) => drive,
        None => question::drive(&read.machine, args.drive.as_deref())?,
    };
    if let Some(turned) = read.machine.drives.get(drive) {
        let stands = |at: &&String| {
            at.split('=')
                .next()
                .is_some_and(|n| n.trim() == turned.name)
        };
        if let Some(at) = args.pose.at.iter().find(stands) {
            return Err(Fault::usage(
                format!("--at \"{at}\": {} is the drive that is turned", turned.name),
                "leave it out, or name the drive to turn with --drive",
            ));
        }
    }
    let readings = if args.readings.is_empty() {
        Vec::new()
    } else {
        question::readings(&read.machine, &args.readings)?
    };
    let stand = question::stand(read, &args.pose)?;
    let within = within(read, &args.within)?;
    let turns = read.model.drive(drive).inside == Inside::Radian;
    let speed = match &args.speed {
        Some(text) => {
            let unit = if turns {
                Unit::TurnPerMinute
            } else {
                speed_unit(read.model.drive(drive).unit)
            };
            Some(above_zero("--speed", text, unit)?)
        }
        // Of a drive that goes there and back the file says how often, not how fast.
        None => read
            .machine
            .work
            .per_minute
            .get(drive)
            .copied()
            .flatten()
            .filter(|_| read.machine.drives[drive].whole_turn)
            .map(|n| n * std::f64::consts::TAU / 60.0),
    };
    let asked = Asked {
        drive,
        readings,
        within,
        speed,
    };
    let cycle = studies::cycle::cycle(&read.model, &stand, &asked).map_err(Fault::machine)?;
    if let (true, Some(why)) = (cycle.readings.is_empty(), cycle.left_out.first()) {
        return Err(Fault::usage(
            why.clone(),
            format!(
                "bellcrank motion {} lists such a reading over a drive",
                read.file
            ),
        ));
    }
    let turning = match speed {
        Some(speed) => turned_by(args, read, &stand, drive, speed)?,
        None if args.under.is_some() || args.unevenness.is_some() => {
            return Err(Fault::usage(
                "what turns the drive depends on how fast it goes",
                "write --speed \"60 rpm\", or `per-minute` for the drive in the machine file",
            ));
        }
        None => None,
    };
    let over = match &args.over {
        Some(name) => Some(question::drive(&read.machine, Some(name))?),
        None => None,
    };
    let mut closing = Vec::new();
    for turned in &cycle.readings {
        let reading = index(read, &turned.reading.name);
        let up = over.or_else(|| studies::cycle::second(&read.model, reading, drive));
        let Some(up) = up else { continue };
        match studies::cycle::closing(&read.model, &stand, reading, [drive, up], PLACES) {
            Ok(curve) => {
                let case = match &args.under {
                    Some(name) => Some(question::case(&read.machine, name)?),
                    None => None,
                };
                closing.push(curve.banded(&read.model, &stand, reading, [drive, up], case));
            }
            // Asked for by name it has to be there.
            Err(refusal) if over.is_some() => return Err(Fault::machine(refusal)),
            Err(_) => {}
        }
    }
    let clearance = if args.clearance {
        let other = (0..read.machine.drives.len()).find(|d| *d != drive);
        let asked = studies::clearance::ClearanceAsked {
            across: drive,
            up: over.or(other),
            poses: args.poses,
        };
        let found = studies::clearance::clearance(&read.model, &stand, &asked);
        Some(found.map_err(Fault::machine)?)
    } else {
        None
    };
    let map = match (&args.map, cycle.readings.first()) {
        (Some(_), Some(first)) => Some(map_of(args, read, &first.reading.name, drive)?),
        (Some(_), None) => {
            return Err(Fault::usage(
                "there is no reading to make a map of",
                "name one that the drive moves with --reading",
            ));
        }
        (None, _) => None,
    };
    let surveys = cams::all(read);
    let cam_table = match args.cam_table {
        Some(_) => Some(cams::asked(args, read)?),
        None => None,
    };
    let mut exit = read.judge();
    if cycle
        .falls_short
        .iter()
        .any(|f| f.severity == Severity::Fault)
    {
        exit = Exit::Missed;
    }
    let mut text = match args.format {
        Format::Csv => table(&cycle),
        Format::Text | Format::Json => {
            text(&cycle, &closing) + &cams::text(&surveys, read.machine.unit)
        }
    };
    if let Some(turning) = &turning {
        text.push_str(&match args.format {
            Format::Csv => turning_table::table(turning, read.machine.unit),
            Format::Text | Format::Json => turning_table::text(turning, read.machine.unit),
        });
    }
    if let Some(clearance) = &clearance {
        text.push_str(&match args.format {
            Format::Csv => clearance_table::table(clearance),
            Format::Text | Format::Json => clearance_table::text(clearance),
        });
    }
    if args.format == Format::Text {
        for path in [&args.map, &args.plot, &args.cam_table]
            .into_iter()
            .flatten()
        {
            let _ = writeln!(text, "\nwritten: {}", shown(path));
        }
    }
    let answer = Answer::Cycle(Box::new(Cycled {
        cycle,
        closing,
        turning,
        clearance,
        map,
        plot: args.plot.as_deref().map(shown),
        written: args.map.as_deref().map(shown),
        cams: surveys,
        cam_table,
    }));
    Ok(Worked { exit, answer, text })
}

/// What turns the drive; none where nothing weighs or loads the machine and nothing was asked of it.
fn turned_by(
    args: &Cycle,
    read: &Read,
    stand: &studies::Stand,
    drive: usize,
    speed: f64,
) -> Result<Option<Turning>, Fault> {
    let case = match &args.under {
        Some(name) => Some(question::case(&read.machine, name)?),
        None => None,
    };
    let unevenness = match &args.unevenness {
        Some(text) => Some(share(text)?),
        None => None,
    };
    let asked = TurningAsked {
        drive,
        case,
        speed,
        unevenness,
    };
    let turning = studies::cycle::turning(&read.model, stand, &asked).map_err(Fault::machine)?;
    let empty = turning.masses.is_empty() && turning.pins.is_empty();
    Ok((!empty || case.is_some() || unevenness.is_some()).then_some(turning))
}

/// A share above nothing: `0.02`, `2 %`.
fn share(text: &str) -> Result<f64, Fault> {
    let number = match text.trim().strip_suffix('%') {
        Some(percent) => percent.trim().parse::<f64>().map(|p| 0.01 * p),
        None => text.trim().parse::<f64>(),
    };
    match number {
        Ok(share) if share > 0.0 && share < 2.0 => Ok(share),
        _ => Err(Fault::usage(
            format!("--unevenness \"{text}\" is no share above nothing and below 2"),
            "write it like --unevenness 0.02 or --unevenness \"2 %\"",
        )),
    }
}

/// The speed that goes with a length.
fn speed_unit(of: Unit) -> Unit {
    if of == Unit::Inch {
        Unit::InchPerSecond
    } else {
        Unit::MillimetrePerSecond
    }
}

/// How near a reading stays to its end while it dwells: lengths and angles.
fn within(read: &Read, typed: &[String]) -> Result<[f64; 2], Fault> {
    let mut within = [0.05, 0.1_f64.to_radians()];
    for text in typed {
        let is_angle = parse(text, Kind::Angle, Unit::One).is_ok() && text.parse::<f64>().is_err();
        let unit = if is_angle {
            Unit::Degree
        } else {
            read.machine.unit
        };
        within[usize::from(is_angle)] = above_zero("--within", text, unit)?;
    }
    Ok(within)
}

/// A quantity above zero that was typed behind an option; a bare number is in this unit.
fn above_zero(option: &str, text: &str, unit: Unit) -> Result<f64, Fault> {
    match parse(text, unit.kind(), unit) {
        Ok(written) if written.value > 0.0 => Ok(written.value),
        Ok(_) => Err(Fault::usage(
            format!("{option} \"{text}\" is not above zero"),
            format!("write it like {option} \"{}\"", unit.kind().example()),
        )),
        Err(error) => Err(Fault::usage(
            format!("{option} \"{text}\": {}", error.message),
            error.help,
        )),
    }
}

fn text(cycle: &Turn, closing: &[ClosingCurve]) -> String {
    let drive = &cycle.drive;
    let span = if cycle.round {
        format!("one turn of {}", drive.name)
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
    if cycle.readings.is_empty() {
        text.push_str(
            "no reading moves with it; write one into the machine file as [reading.NAME]\n",
        );
    }
    if let (Some(seconds), Some(speed)) = (cycle.seconds, cycle.speed) {
        let _ = if cycle.round && drive.inside == Inside::Radian {
            writeln!(
                text,
                "a turn takes {}: {:.1} strokes a minute",
                time(seconds),
                60.0 * speed / std::f64::consts::TAU
            )
        } else {
            writeln!(text, "one way takes {}", time(seconds))
        };
    }
    for finding in &cycle.falls_short {
        let _ = writeln!(text, "{}", wrap(&finding.sentence, WIDTH, 2));
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
        format!(
            "{word} {} at {}; within {} of it from {} to {}, {} long{}",
            with_unit(spot.value, unit),
            with_unit(spot.at, per),
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
    let mut all = vec![
        end("least", &turned.least, &turned.low_dwell),
        end("greatest", &turned.greatest, &turned.high_dwell),
    ];
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
        if let (Some(spot), false) = (spot, steady) {
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
        all.push(format!(
            "greatest jerk {} at {}",
            jerk(turned, spot.value * speed.powi(3)),
            with_unit(spot.at, per)
        ));
    }
    if let (Some(speed), false) = (cycle.speed, steady) {
        for (word, dwell) in [
            ("least", &turned.low_dwell),
            ("greatest", &turned.high_dwell),
        ] {
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

fn acceleration(turned: &Turned, inside: f64) -> String {
    match (turned.reading.inside, turned.reading.unit) {
        (Inside::Radian, _) => format!("{inside:.2} rad/s²"),
        (_, Unit::Inch | Unit::Thou | Unit::Foot) => format!("{:.2} in/s²", inside / 25.4),
        _ => format!("{:.3} m/s²", inside / 1000.0),
    }
}

fn jerk(turned: &Turned, inside: f64) -> String {
    match (turned.reading.inside, turned.reading.unit) {
        (Inside::Radian, _) => format!("{inside:.2} rad/s³"),
        (_, Unit::Inch | Unit::Thou | Unit::Foot) => format!("{:.2} in/s³", inside / 25.4),
        _ => format!("{:.3} m/s³", inside / 1000.0),
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

fn closing_text(curve: &ClosingCurve) -> String {
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
    )
}

/// The curves for a spreadsheet, reading after reading.
fn table(cycle: &Turn) -> String {
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
