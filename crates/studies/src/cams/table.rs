//! The numbers to cut a cam by.

use super::{in_own_axes, left_round, shape};
use crate::assemble::Model;
use crate::refusal::Refusal;
use elements::cams::{Side, offset_curve, survey};
use schemars::JsonSchema;
use serde::Serialize;
use std::f64::consts::TAU;

/// One line of the table. Places are `[out, aside]` in the cam's own axes, mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CamRow {
    /// Turn of the program, rad.
    pub at: f64,
    /// Lift, mm or rad.
    pub lift: f64,
    /// Distance of the roller's centre from that of the cam, mm.
    pub radius: f64,
    /// The roller's centre.
    pub roller: [f64; 2],
    /// Where the flank lies: the inner one of a track.
    pub flank: [f64; 2],
    /// The cutter's centre on the flank; in a track cut in one go with a cutter of the roller's size it is the roller's own.
    pub cutter: [f64; 2],
    /// The same on the outer flank of a track.
    pub outer_cutter: Option<[f64; 2]>,
    /// Pressure angle, rad.
    pub pressure: f64,
}

/// A cam as numbers.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CamTable {
    /// Name of the cam.
    pub name: String,
    /// Lifts are angles, rad, else mm.
    pub swings: bool,
    /// Diameter of roller or pin, mm.
    pub roller: f64,
    /// Diameter of the cutter, mm.
    pub cutter: f64,
    /// Turn from line to line, rad.
    pub step: f64,
    /// One line a step over the whole turn, the first not repeated.
    pub rows: Vec<CamRow>,
}

/// Lines of a table.
const MOST: f64 = 36_000.0;

/// Roller and cutter over the turn. `cutter` is a diameter, mm; without it the file's own, else the roller's. `step` in rad.
///
/// # Errors
/// No such cam or no shape; one that is undercut, or could not be derived; a cutter that does not go into the track or the hollows of the
/// flank; a step that is none.
pub fn table(
    model: &Model,
    cam: usize,
    cutter: Option<f64>,
    step: f64,
) -> Result<CamTable, Refusal> {
    let (Some(drawn), Some(shape)) = (model.machine.cams.get(cam), shape(model, cam)) else {
        return Err(Refusal::new(
            "the machine has no such cam, or the drawing leaves it no shape",
            "`check` says what is wrong with it",
        ));
    };
    let count = (TAU / step).round();
    if !step.is_finite() || step <= 0.0 || !(3.0..=MOST).contains(&count) {
        return Err(Refusal::new(
            format!("a table cannot go on by {:.4} deg", step.to_degrees()),
            "write a step between 0.01 deg and 120 deg that goes into 360 deg",
        ));
    }
    let cutter = cutter.or(drawn.cutter).unwrap_or(drawn.diameter);
    let places = count as u32;
    let cannot = |e: &dyn std::fmt::Display| {
        Refusal::new(
            format!("cam {}: {e}", drawn.name),
            "take a smaller cutter, or a larger circle or a smaller roller for the cam",
        )
    };
    let mm = |x: f64| crate::say::short(x, model.machine.unit);
    if left_round(model, cam) {
        return Err(Refusal::new(
            format!(
                "cam {} could not be derived from its reading: it is left round, and there is nothing to cut it by",
                drawn.name
            ),
            "`check` says why",
        ));
    }
    let roller = shape.follower.roller();
    let seen = survey(shape.follower, &shape.program).map_err(|e| cannot(&e))?;
    if seen.undercut(roller) {
        return Err(Refusal::new(
            format!(
                "cam {} is undercut: its roller does not go over its sharpest bulge, and no cutter makes what would lead it so",
                drawn.name
            ),
            "`check` says where, and what circle does",
        ));
    }
    if drawn.track && cutter > drawn.diameter {
        return Err(Refusal::new(
            format!(
                "cam {}: a cutter of {} does not go into its track, {} wide",
                drawn.name,
                mm(cutter),
                mm(drawn.diameter)
            ),
            "take a cutter of the roller's diameter or less",
        ));
    }
    let hollow = seen.hollowest.map(|p| 2.0 * (roller - p.radius));
    if let Some(hollow) = hollow.filter(|h| cutter >= *h) {
        return Err(Refusal::new(
            format!(
                "cam {}: a cutter of {} does not go into its sharpest hollow, a round of {}",
                drawn.name,
                mm(cutter),
                mm(hollow)
            ),
            format!(
                "take a cutter of less than {}, or a larger circle for the cam",
                mm(hollow)
            ),
        ));
    }
    let path = |side: Side| {
        offset_curve(shape.follower, &shape.program, side, 0.5 * cutter, places)
            .map_err(|e| cannot(&e))
    };
    let inner = path(Side::Inner)?;
    let outer = if drawn.track {
        Some(path(Side::Outer)?)
    } else {
        None
    };
    let own = |p: [f64; 2]| in_own_axes(shape, drawn.sense, p);
    let rows = (0..places).zip(&inner).map(|(n, cut)| {
        let at = f64::from(n) * TAU / f64::from(places);
        let motion = shape.program.at(at);
        let place = shape.follower.place(at, motion);
        CamRow {
            at,
            lift: motion.lift,
            radius: place.centre[0].hypot(place.centre[1]),
            roller: own(place.centre),
            flank: own(place.flank(Side::Inner, shape.follower.roller())),
            cutter: own(*cut),
            outer_cutter: outer
                .as_ref()
                .and_then(|o| o.get(n as usize))
                .map(|p| own(*p)),
            pressure: place.pressure,
        }
    });
    Ok(CamTable {
        name: drawn.name.clone(),
        swings: matches!(shape.follower, elements::cams::Follower::Rocker { .. }),
        roller: drawn.diameter,
        cutter,
        step: TAU / f64::from(places),
        rows: rows.collect(),
    })
}
