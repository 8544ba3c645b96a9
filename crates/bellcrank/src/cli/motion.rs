//! `bellcrank motion`.

use studies::Sweep;

use super::args::{Format, Motion};
use super::bands_table::bands_text;
use super::check::borne_text;
use super::exit::Exit;
use super::fault::Fault;
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
    let worked = during("moving it", || question::within(&read, on(args, &read)))?;
    if let (Some((path, kind)), Answer::Motion(moved)) = (picture, &worked.answer) {
        let figure = sheets::plot::curves(&plot(args, moved, &read));
        picture::write(
            path,
            kind,
            |look| figure.svg(look),
            |look, dots| figure.png(look, dots),
        )?;
    }
    Ok(worked.done(&read, json))
}

/// Places of a curve, at least so many: it bends between the rows of a table, and so do its bands.
const PLACES: usize = 96;

/// The curves of a motion with their bands: those of its table, looked at more closely.
pub(crate) fn plot(args: &Motion, moved: &Moved, read: &Read) -> sheets::plot::Plot {
    let mut plot = bare(args, moved, read);
    if moved.bands.is_empty() {
        return plot;
    }
    let fine = fine(args, moved, read).and_then(|sweep| {
        let stand = question::stand(read, &args.pose).ok()?;
        Some(load::bands(read, &stand, Some(&sweep)))
    });
    sheets::plot::add_bands(
        &mut plot,
        &moved.motion,
        fine.as_ref().unwrap_or(&moved.bands),
    );
    plot
}

/// The curves alone.
pub(crate) fn bare(args: &Motion, moved: &Moved, read: &Read) -> sheets::plot::Plot {
    let fine = fine(args, moved, read).and_then(|sweep| {
        let stand = question::stand(read, &args.pose).ok()?;
        studies::motion(&read.model, &stand, &sweep).ok()
    });
    sheets::plot::of_motion(fine.as_ref().unwrap_or(&moved.motion), &read.machine)
}

/// The way of a motion in steps that go into those of its table; none where the table is fine enough.
fn fine(args: &Motion, moved: &Moved, read: &Read) -> Option<Sweep> {
    let rows = &moved.motion.rows;
    let [first, second, ..] = &rows[..] else {
        return None;
    };
    let parts = PLACES.div_ceil(rows.len() - 1);
    (parts > 1).then_some(Sweep {
        drive: question::drive(&read.machine, args.drive.as_deref()).ok()?,
        from: Some(first.at),
        to: Some(rows.last()?.at),
        step: Some((second.at - first.at).abs() / parts as f64),
        readings: question::readings(&read.machine, &args.readings).ok()?,
    })
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

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]
mod tests {
    use super::*;
    use crate::cli::args::{As, File, Pose};

    /// A band drawn from row to row would leave its curve by more than it is wide.
    #[test]
    fn curves_stay_in_their_bands_between_the_rows() {
        let file = File {
            file: concat!(
                env!("CARGO_MANIFEST_DIR"),
                "/../../examples/strap-embosser/powered.toml"
            )
            .into(),
            unit: None,
            machine_as: As::Drawn,
            log: None,
        };
        let read = question::read(&file).unwrap();
        let args = Motion {
            file,
            drive: None,
            from: None,
            to: None,
            step: Some("45 deg".into()),
            readings: Vec::new(),
            pose: Pose {
                at: Vec::new(),
                set: Vec::new(),
            },
            plot: None,
            format: Format::Text,
        };
        let worked = on(&args, &read).unwrap();
        let Answer::Motion(moved) = &worked.answer else {
            panic!("no motion");
        };
        assert_eq!(moved.motion.rows.len(), 9);
        let plot = plot(&args, moved, &read);
        let mut looked_at = 0;
        for panel in &plot.panels {
            let curve = &panel.curves[0];
            for &[at, low, high] in panel.bands.iter().flat_map(|b| &b.points) {
                let there = curve.points.iter().find(|s| (s.at - at).abs() < 1e-9);
                let value = there.unwrap().value;
                assert!(
                    low - 1e-9 <= value && value <= high + 1e-9,
                    "{}: {value} is not between {low} and {high} at {at}",
                    panel.up.name
                );
                looked_at += 1;
            }
        }
        assert!(looked_at > PLACES, "{looked_at}");
    }
}
