//! Cams in `bellcrank cycle`: their lift and timing, and the table to cut one by.

use std::fmt::Write as _;

use quantity::{Unit, parse};
use studies::Severity;
use studies::cams::{CamPiece, CamSpot, CamSurvey, CamTable, survey, table};

use super::WIDTH;
use super::args::Cycle;
use super::fault::Fault;
use super::numbers::{bare, with_unit};
use super::question::Read;
use super::table::{Column, lay_out, wrap};

/// All cams of a machine.
pub(crate) fn all(read: &Read) -> Vec<CamSurvey> {
    (0..read.machine.cams.len())
        .filter_map(|cam| survey(&read.model, cam))
        .collect()
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
    table(&read.model, cam, cutter, step).map_err(Fault::machine)
}

fn degrees(angle: f64) -> String {
    bare(angle, Unit::Degree)
}

/// What is said of every cam.
pub(crate) fn text(cams: &[CamSurvey], length: Unit) -> String {
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
        for line in lines(cam, length) {
            let _ = writeln!(text, "  {}", wrap(&line, WIDTH - 2, 4));
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

fn lines(cam: &CamSurvey, length: Unit) -> Vec<String> {
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
            "least circle that keeps pressure angle and roller: {}",
            with_unit(circle, length)
        ),
        None => String::from("no circle keeps pressure angle and roller"),
    });
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
