//! `bellcrank motion`.

use studies::Sweep;

use super::args::{Format, Motion};
use super::fault::Fault;
use super::picture::Picture;
use super::progress::during;
use super::question::{self, Read, shown};
use super::report::{Answer, Moved, Report};
use super::{Done, motion_table, output, picture};

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
    let mut sweep = sweep(args, &read, name)?;
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
        let look = sheets::Look::Print;
        let bytes = match kind {
            Picture::Svg => figure.svg(look).into_bytes(),
            Picture::Png => figure
                .png(look, picture::DOTS_PER_MM)
                .map_err(|error| picture::unpainted(path, &error))?,
        };
        output::write(path, &bytes)?;
    }
    let exit = read.judge();
    let text = if json {
        let answer = Answer::Motion(Moved {
            motion,
            plot: args.plot.as_deref().map(shown),
        });
        Report::answered(exit, &read, answer).text()
    } else {
        output::warn(&read);
        let over = &read.over;
        match args.format {
            Format::Csv => motion_table::csv(&motion, over),
            Format::Text | Format::Json => {
                motion_table::text(&motion, over) + &hint(args, &read, drive)
            }
        }
    };
    Ok(Done { exit, text })
}

/// The sweep asked for. Each value is looked at by itself first, so that a slip in one is told with its option.
fn sweep(args: &Motion, read: &Read, drive: &str) -> Result<Sweep, Fault> {
    let [from, to, step] = [&args.from, &args.to, &args.step].map(Option::as_deref);
    for (option, text, [from, to, step]) in [
        ("--from", from, [from, None, None]),
        ("--to", to, [None, to, None]),
        ("--step", step, [None, None, step]),
    ] {
        read.model
            .sweep(drive, from, to, step)
            .map_err(|refusal| Fault::wrong_value(option, text.unwrap_or_default(), refusal))?;
    }
    read.model
        .sweep(drive, from, to, step)
        .map_err(|refusal| Fault::usage(refusal.message, refusal.help))
}

/// What else could be moved, for somebody who did not say.
fn hint(args: &Motion, read: &Read, drive: usize) -> String {
    let others = read
        .machine
        .drives
        .iter()
        .enumerate()
        .filter(|&(index, _)| index != drive);
    let names: Vec<&str> = others.map(|(_, other)| other.name.as_str()).collect();
    if args.drive.is_some() || names.is_empty() {
        return String::new();
    }
    format!("\nOther drives, moved by --drive: {}\n", names.join(", "))
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
