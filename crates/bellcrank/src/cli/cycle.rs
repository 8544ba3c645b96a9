//! `bellcrank cycle`.

use std::fmt::Write as _;
use std::path::Path;

use quantity::{Kind, Unit, parse};
use studies::cycle::{Asked, Map, MapAsked, RunAsked, Running, Turning, TurningAsked};
use studies::{Inside, Severity};

use super::args::{Cycle, Format};
use super::check::finding_text;
pub(crate) use super::cycle_text::grid;
use super::cycle_text::{closing_table, ends_table, point_table, points_text, table, text};
use super::exit::Exit;
use super::fault::Fault;
use super::progress::during;
use super::question::{self, Read, shown};
use super::report::{Answer, Cycled};
use super::{Done, Worked, cams, clearance_table, output, picture, running_table, turning_table};

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
    let worked = during("turning it", || question::within(&read, on(args, &read)))?;
    if let (Some((path, kind)), Answer::Cycle(cycled)) = (plotted, &worked.answer) {
        let figure = sheets::plot::curves(&match &cycled.running {
            Some(running) => sheets::plot::of_run(running, read.machine.unit),
            None => timing(cycled, &read),
        });
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
    let mut points = Vec::new();
    for point in question::points(&read.machine, &args.points)? {
        let turned = studies::cycle::point_turned(&read.model, &stand, drive, point);
        points.push(turned.map_err(Fault::machine)?);
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
        // What only goes on has no least.
        if turned.goes_on.is_some() && over.is_none() {
            continue;
        }
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
        Some(clearance_of(args, read, &stand, drive, over)?)
    } else {
        None
    };
    let mut running = if args.run {
        Some(run_of(args, read, &stand, drive, speed)?)
    } else {
        None
    };
    if let (Some(running), Some(turning)) = (&mut running, &turning) {
        running.hold_rollers(&read.model, turning);
    }
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
    let smallest = cams::smallest(read);
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
    let shapes = studies::cams::findings(&read.model);
    if shapes
        .iter()
        .any(|f| matches!(f.severity, Severity::Fault | Severity::Miss))
    {
        exit = Exit::Missed;
    }
    let mut text = match args.format {
        Format::Csv => {
            let closing: Vec<String> = closing.iter().map(closing_table).collect();
            table(&cycle)
                + &ends_table(&cycle)
                + &points
                    .iter()
                    .map(|p| point_table(p, &cycle))
                    .collect::<String>()
                + &closing.concat()
                + &cams::tables(read, turning.as_ref())
        }
        Format::Text | Format::Json => {
            let shapes: Vec<String> = shapes
                .iter()
                .filter(|f| f.severity != Severity::Note)
                .map(|f| finding_text(f, &read.sources, false))
                .collect();
            text(&cycle, &closing)
                + &points_text(&points, &cycle, read.machine.unit)
                + &cams::text(&surveys, &smallest, read.machine.unit)
                + &shapes.concat()
        }
    };
    if let Some(turning) = &turning {
        if !turning.findings.is_empty() {
            exit = Exit::Missed;
        }
        text.push_str(&match args.format {
            Format::Csv => turning_table::table(turning, read.machine.unit),
            Format::Text | Format::Json => {
                turning_table::text(turning, read.machine.unit, &read.sources)
            }
        });
    }
    if let Some(running) = &running {
        if running
            .findings
            .iter()
            .any(|f| f.severity == Severity::Fault)
        {
            exit = Exit::Missed;
        }
        text.push_str(&match args.format {
            Format::Csv => running_table::table(running, read.machine.unit),
            Format::Text | Format::Json => {
                running_table::text(running, read.machine.unit, &read.sources)
            }
        });
    }
    if let Some(clearance) = &clearance {
        let meets = |f: &studies::Finding| f.severity == Severity::Fault;
        if clearance.findings.iter().any(meets) {
            exit = Exit::Missed;
        }
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
        points,
        closing,
        turning,
        running,
        clearance,
        map,
        plot: args.plot.as_deref().map(shown),
        written: args.map.as_deref().map(shown),
        cams: surveys,
        smallest_cams: smallest,
        cam_findings: shapes,
        cam_table,
    }));
    Ok(Worked { exit, answer, text })
}

/// How moving parts clear one another over this drive and another one.
pub(crate) fn clearance_of(
    args: &Cycle,
    read: &Read,
    stand: &studies::Stand,
    drive: usize,
    over: Option<usize>,
) -> Result<studies::clearance::Clearance, Fault> {
    let other = (0..read.machine.drives.len()).find(|d| *d != drive);
    let asked = studies::clearance::ClearanceAsked {
        across: drive,
        up: over.or(other),
        poses: args.poses,
    };
    studies::clearance::clearance(&read.model, stand, &asked).map_err(Fault::machine)
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

/// The machine run in time.
fn run_of(
    args: &Cycle,
    read: &Read,
    stand: &studies::Stand,
    drive: usize,
    speed: Option<f64>,
) -> Result<Running, Fault> {
    let case = match &args.under {
        Some(name) => Some(question::case(&read.machine, name)?),
        None => None,
    };
    let from = match &args.from {
        Some(text) => Some(from_zero("--from", text, Unit::TurnPerMinute)?),
        None => None,
    };
    let speed = match (from, args.let_go) {
        (Some(from), _) => from,
        (None, false) => 0.0,
        (None, true) => speed.ok_or_else(|| {
            Fault::usage(
                "what is let go needs a speed to begin with",
                "write --from \"60 rpm\", or `per-minute` for the drive in the machine file",
            )
        })?,
    };
    let mut stand = stand.clone();
    if let (Some(text), Some(value)) = (&args.start, stand.drives.get_mut(drive)) {
        *value = match parse(text, Kind::Angle, Unit::Degree) {
            Ok(written) => written.value,
            Err(error) => {
                return Err(Fault::usage(
                    format!("--start \"{text}\": {}", error.message),
                    error.help,
                ));
            }
        };
    }
    let asked = RunAsked {
        drive,
        case,
        speed,
        driven: !args.let_go,
        until: args.until,
    };
    studies::cycle::running(&read.model, &stand, &asked).map_err(Fault::machine)
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
pub(super) fn speed_unit(of: Unit) -> Unit {
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

/// A quantity from zero on that was typed behind an option; a bare number is in this unit.
fn from_zero(option: &str, text: &str, unit: Unit) -> Result<f64, Fault> {
    match parse(text, unit.kind(), unit) {
        Ok(written) if written.value == 0.0 => Ok(0.0),
        _ => above_zero(option, text, unit),
    }
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
