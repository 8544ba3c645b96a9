//! `bellcrank motion`.

use super::args::{Format, Motion};
use super::fault::Fault;
use super::load_table::bands_text;
use super::progress::during;
use super::question::{self, Read, shown};
use super::report::{Answer, Moved, Report};
use super::{Done, load, motion_table, output, picture};

pub(crate) fn run(args: &Motion, json: bool) -> Result<Done, Fault> {
    let mut read = question::read(&args.file)?;
    let drive = question::drive(&read.machine, args.drive.as_deref())?;
    let readings = question::readings(&read.machine, &args.readings)?;
    let stand = question::stand(&read, &args.pose)?;
    not_held(args, &read, drive)?;
    let name = read
        .machine
        .drives
        .get(drive)
        .map_or("", |drive| &drive.name);
    let range = [&args.from, &args.to, &args.step].map(Option::as_deref);
    let mut sweep = question::sweep(&read, name, range)?;
    sweep.readings = readings;
    let picture = match &args.plot {
        Some(path) => Some((path, picture::kind(path, &read.sources)?)),
        None => None,
    };
    let motion = during(&format!("moving {name}"), || {
        studies::motion(&read.model, &stand, &sweep)
    })
    .map_err(Fault::machine)?;
    if let Some((path, kind)) = picture {
        let figure = sheets::plot::curves(&sheets::plot::of_motion(&motion, &read.machine));
        picture::write(
            path,
            kind,
            |look| figure.svg(look),
            |look, dots| figure.png(look, dots),
        )?;
    }
    let exit = read.judge();
    let bands = if read.faults.is_empty() {
        load::bands(&read, &stand, Some(&sweep))
    } else {
        Vec::new()
    };
    let text = if json {
        let answer = Answer::Motion(Moved {
            motion,
            bands,
            plot: args.plot.as_deref().map(shown),
        });
        Report::answered(exit, &read, answer).text()
    } else {
        output::warn(&read);
        let over = &read.over;
        match args.format {
            Format::Csv => motion_table::csv(&motion, over),
            Format::Text | Format::Json => {
                motion_table::text(&motion, over)
                    + &bands_text(&bands)
                    + &question::others(&read, args.drive.as_deref(), drive)
            }
        }
    };
    Ok(Done { exit, text })
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
