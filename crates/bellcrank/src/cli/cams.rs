//! Cams in `bellcrank cycle`: their lift and timing, and the table to cut one by.

use std::fmt::Write as _;

use quantity::{Unit, parse};
use studies::Severity;
use studies::cams::{CamPiece, CamSpot, CamSurvey, CamTable, SmallestCam, table};

use super::args::Cycle;
use super::fault::Fault;
use super::numbers::{bare, with_unit};
use super::question::Read;
use super::table::{Column, lay_out, wrap};
use super::{WIDTH, csv};

/// All cams of a machine.
pub(crate) fn all(read: &Read) -> Vec<CamSurvey> {
    studies::cams::surveys(&read.model)
}

/// The smallest that each of them could be.
pub(crate) fn smallest(read: &Read) -> Vec<SmallestCam> {
    studies::cams::smallest_cams(&read.model)
}

/// The table that `--cam-table` asks for.
pub(crate) fn asked(args: &Cycle, read: &Read) -> Result<CamTable, Fault> {
    let names: Vec<&str> = read.machine.cams.iter().map(|c| c.name.as_str()).collect();
    let cam = match &args.cam {
        Some(name) => names.iter().position(|n| n == name).ok_or_else(|| {
            Fault::usage(
                format!("there is no cam {name}"),
                if names.is_empty() {
                    String::from("this machine has none; write one in the file: [cam.NAME]")
                } else {
                    format!("it has {}", names.join(", "))
                },
            )
        })?,
        None => 0,
    };
    if names.is_empty() {
        return Err(Fault::usage(
            "this machine has no cam to make a table of",
            "write one in the file: [cam.NAME]",
        ));
    }
    let name = format!("cam.{}", names.get(cam).copied().unwrap_or_default());
    let wrong = studies::cams::findings(&read.model);
    let wrong = wrong
        .iter()
        .find(|f| f.about == name && f.severity == Severity::Fault);
    if let Some(wrong) = wrong {
        return Err(Fault::usage(
            format!("{}: a table of it would be scrap", wrong.sentence),
            wrong.what_to_try.clone().unwrap_or_default(),
        ));
    }
    let size = |option: &str, text: &str, unit: Unit| match parse(text, unit.kind(), unit) {
        Ok(written) if written.value > 0.0 => Ok(written.value),
        Ok(_) => Err(Fault::usage(
            format!("{option} \"{text}\" is not above zero"),
            format!("write it like {option} \"{}\"", unit.kind().example()),
        )),
        Err(error) => Err(Fault::usage(
            format!("{option} \"{text}\": {}", error.message),
            error.help,
        )),
    };
    let cutter = match &args.cutter {
        Some(text) => Some(size("--cutter", text, read.machine.unit)?),
        None => None,
    };
    let step = match &args.cam_step {
        Some(text) => size("--cam-step", text, Unit::Degree)?,
        None => 1_f64.to_radians(),
    };
    let lines = std::f64::consts::TAU / step;
    if (lines - lines.round()).abs() > 1e-6 * lines {
        return Err(Fault::usage(
            format!(
                "--cam-step {} does not go into a whole turn",
                with_unit(step, Unit::Degree)
            ),
            "take a step that does, such as 0.5, 1, 2, 5 or 7.5 deg",
        ));
    }
    table(&read.model, cam, cutter, step).map_err(Fault::machine)
}

fn degrees(angle: f64) -> String {
    bare(angle, Unit::Degree)
}

/// What is said of every cam.
pub(crate) fn text(cams: &[CamSurvey], smallest: &[SmallestCam], length: Unit) -> String {
    let mut text = String::new();
    for cam in cams {
        let lift = if cam.swings { Unit::Degree } else { length };
        let kind = if cam.track { "track" } else { "cam" };
        let head = format!(
            "{kind} {} on {}: moves {} by {}, roller {}, its centre on {} without lift{}",
            cam.name,
            cam.part,
            cam.follower,
            with_unit(cam.lift, lift),
            with_unit(cam.roller, length),
            with_unit(cam.circle, length),
            match &cam.derived_from {
                Some(r) if cam.left_round =>
                    format!("; left round, for it could not be derived from {r}"),
                Some(r) => format!("; derived from {r}"),
                None => String::new(),
            }
        );
        let _ = writeln!(text, "\n{}", wrap(&head, WIDTH, 2));
        text.push_str(&timing(&cam.pieces, lift));
        let own = smallest.iter().find(|s| s.cam == cam.name);
        for line in lines(cam, own, length) {
            let _ = writeln!(text, "  {}", wrap(&line, WIDTH - 2, 4));
        }
    }
    text
}

/// Where its follower would have to be guided for the least circle of all.
fn placed(smallest: &SmallestCam, length: Unit) -> String {
    let circle = with_unit(smallest.circle, length);
    match (smallest.offset, smallest.centres) {
        (Some(offset), _) => format!(
            "least of all, {circle}, with its slide {} aside of the centre, {}",
            with_unit(offset.abs(), length),
            if offset >= 0.0 {
                "to the side that eases the rise"
            } else {
                "to the side that eases the return"
            }
        ),
        (None, Some(centres)) => format!(
            "least of all, {circle}, with its pivot {} from the centre{}",
            with_unit(centres, length),
            if smallest.other_hand {
                ", its roller on the other side of the line of centres"
            } else {
                ""
            }
        ),
        (None, None) => format!("least of all {circle}"),
    }
}

/// Every cam over its turn for a spreadsheet: its path, how steep and how sharp it is, and where known what presses there.
pub(crate) fn tables(read: &Read, turning: Option<&studies::cycle::Turning>) -> String {
    let length = read.machine.unit;
    let mut text = String::new();
    for (i, cam) in read.machine.cams.iter().enumerate() {
        let Ok(table) = table(&read.model, i, None, 1_f64.to_radians()) else {
            continue;
        };
        text.push_str(&csv::title(&format!("cam {}", cam.name)));
        text.push_str(&sheets::cam_csv(&table, length));
    }
    for cam in turning.iter().flat_map(|t| &t.pressed) {
        let Some(turning) = turning else { continue };
        let (per, force) = (
            turning.drive.unit,
            super::numbers::unit_of_force(false, length),
        );
        text.push_str(&csv::title(&format!("cam {} at speed", cam.cam)));
        text.push_str(&csv::line([
            format!("{} ({})", turning.drive.name, per.symbol()).as_str(),
            "turn of the program (deg)",
            &format!("force ({})", force.symbol()),
            "contact pressure (MPa)",
        ]));
        for press in &cam.places {
            text.push_str(&csv::line([
                format!("{:.4}", per.from_inside(press.at)).as_str(),
                &format!("{:.4}", press.turn.to_degrees()),
                &format!("{:.4}", force.from_inside(press.force)),
                &press
                    .pressure
                    .map_or_else(String::new, |p| format!("{p:.2}")),
            ]));
        }
    }
    text
}

fn timing(pieces: &[CamPiece], lift: Unit) -> String {
    let mut what = Column::words("piece");
    let mut law = Column::words("law");
    let mut from = Column::numbers("from", "deg");
    let mut to = Column::numbers("to", "deg");
    let mut starts = Column::numbers("lift", lift.symbol());
    let mut ends = Column::numbers("to lift", lift.symbol());
    for p in pieces {
        what.cells.push(p.what.clone());
        law.cells.push(p.law.clone());
        from.cells.push(degrees(p.from));
        to.cells.push(degrees(p.to));
        starts.cells.push(bare(p.lift_from, lift));
        ends.cells.push(bare(p.lift_to, lift));
    }
    lay_out(&[], &[what, law, from, to, starts, ends])
}

fn lines(cam: &CamSurvey, smallest: Option<&SmallestCam>, length: Unit) -> Vec<String> {
    let at = |s: &CamSpot| with_unit(s.at, Unit::Degree);
    let mut all = vec![format!(
        "pressure angle {} at {}; {} allowed",
        with_unit(cam.steepest.value, Unit::Degree),
        at(&cam.steepest),
        with_unit(cam.allowed, Unit::Degree)
    )];
    if let Some(sharp) = &cam.sharpest {
        all.push(format!(
            "the roller's path bulges to {} radius at {}",
            with_unit(sharp.value, length),
            at(sharp)
        ));
    }
    if let Some(hollow) = &cam.hollowest {
        all.push(format!(
            "it is hollow to {} radius at {}",
            with_unit(hollow.value, length),
            at(hollow)
        ));
    }
    all.push(match cam.least_circle {
        Some(circle) => format!(
            "least circle that keeps pressure angle and roller: {}, its flank {} from the centre",
            with_unit(circle, length),
            with_unit(circle - 0.5 * cam.roller, length)
        ),
        None => String::from("no circle keeps pressure angle and roller as it is guided"),
    });
    all.extend(smallest.map(|s| placed(s, length)));
    all.push(format!(
        "the roller turns at most {:.2} times as fast as the cam, at {}",
        cam.roller_turns.value,
        at(&cam.roller_turns)
    ));
    if let Some(outer) = &cam.outer_roller_turns {
        all.push(format!(
            "on the outer flank {:.2} times the other way, at {}",
            outer.value,
            at(outer)
        ));
    }
    for strike in &cam.strikes {
        all.push(format!("acceleration steps at {}", at(strike)));
    }
    all
}
