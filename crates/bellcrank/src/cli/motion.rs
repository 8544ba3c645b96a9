//! `bellcrank motion`.

use super::args::{Format, Motion};
use super::check::borne_text;
use super::exit::Exit;
use super::fault::Fault;
use super::load_table::bands_text;
use super::progress::during;
use super::question::{self, Read, shown};
use super::report::{Answer, Moved};
use super::{Done, Worked, load, motion_table, picture};

pub(crate) fn run(args: &Motion, json: bool) -> Result<Done, Fault> {
    let read = question::read(&args.file)?;
    let picture = match &args.plot {
        Some(path) => Some((path, picture::kind(path, &read.sources)?)),
        None => None,
    };
    let worked = during("moving it", || on(args, &read))?;
    if let (Some((path, kind)), Answer::Motion(moved)) = (picture, &worked.answer) {
        let figure = sheets::plot::curves(&plot(moved, &read));
        picture::write(
            path,
            kind,
            |look| figure.svg(look),
            |look, dots| figure.png(look, dots),
        )?;
    }
    Ok(worked.done(&read, json))
}

/// The curves of a motion.
pub(crate) fn plot(moved: &Moved, read: &Read) -> sheets::plot::Plot {
    let mut plot = sheets::plot::of_motion(&moved.motion, &read.machine);
    sheets::plot::add_bands(&mut plot, &moved.motion, &moved.bands);
    plot
}

/// Moves a machine that was read.
pub(crate) fn on(args: &Motion, read: &Read) -> Result<Worked, Fault> {
    let drive = question::drive(&read.machine, args.drive.as_deref())?;
    let readings = question::readings(&read.machine, &args.readings)?;
    let stand = question::stand(read, &args.pose)?;
    not_held(args, read, drive)?;
    let name = read
        .machine
        .drives
        .get(drive)
        .map_or("", |drive| &drive.name);
    let range = [&args.from, &args.to, &args.step].map(Option::as_deref);
    let mut sweep = question::sweep(read, name, range)?;
    sweep.readings = readings;
    let motion = studies::motion(&read.model, &stand, &sweep).map_err(Fault::machine)?;
    let mut exit = read.judge();
    let fault = |f: &studies::Finding| f.severity == studies::Severity::Fault;
    if motion.falls_short.iter().any(fault) {
        exit = Exit::Missed;
    }
    let bands = if read.faults().is_empty() {
        load::bands(read, &stand, Some(&sweep))
    } else {
        Vec::new()
    };
    let over = &read.over;
    let text = match args.format {
        Format::Csv => motion_table::csv(&motion, over, &bands),
        Format::Text | Format::Json => {
            motion_table::text(&motion, over)
                + &bands_text(&bands)
                + &borne_text(read.asks(), false)
                + &question::others(read, args.drive.as_deref(), drive)
        }
    };
    let answer = Answer::Motion(Moved {
        motion,
        bands,
        asks: read.asks().to_vec(),
        plot: args.plot.as_deref().map(shown),
    });
    Ok(Worked { exit, answer, text })
}

/// The drive that is moved cannot stand somewhere as well.
fn not_held(args: &Motion, read: &Read, drive: usize) -> Result<(), Fault> {
    let name = read
        .machine
        .drives
        .get(drive)
        .map_or("", |drive| &drive.name);
    let held = args.pose.at.iter().find(|text| question::names(text, name));
    match held {
        Some(text) => Err(Fault::usage(
            format!("--at \"{text}\": {name} is the drive that is moved"),
            "say where it moves with --from and --to, or move another one with --drive",
        )),
        None => Ok(()),
    }
}
