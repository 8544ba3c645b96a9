//! The numbers to cut a cam by, as the shop works them out.

use super::{left_round, shape};
use crate::assemble::Model;
use crate::refusal::Refusal;
use elements::cams::survey;
use shop::cams::{CamShape, CamTable};
use std::f64::consts::TAU;

/// Lines of a table.
const MOST: f64 = 36_000.0;

/// What the shop has to know of the cams of a machine to make them; those that the drawing leaves no shape, or that
/// could not be derived, are not among them.
pub fn shapes(model: &Model) -> Vec<CamShape> {
    let one = |(i, cam): (usize, &machine::model::Cam)| {
        let shape = shape(model, i).filter(|_| !left_round(model, i))?;
        let drawn = model.mechanism.drawn.get(cam.part)?;
        Some(CamShape {
            cam: i,
            follower: shape.follower,
            program: shape.program.clone(),
            direction: drawn.angle + model.mechanism.params.get(shape.clock)?,
            sense: cam.sense,
            play: if cam.track {
                play(&model.machine, i)
            } else {
                0.0
            },
        })
    };
    model
        .machine
        .cams
        .iter()
        .enumerate()
        .filter_map(one)
        .collect()
}

/// How much wider than its roller a track is: the clearance of its joint, else the usual one, at the middle of what may be, mm.
fn play(machine: &machine::Machine, cam: usize) -> f64 {
    let at = machine::work::JointAt::Cam(cam);
    let own = machine.work.joints.iter().find(|j| j.at == at);
    let found = own
        .and_then(|j| j.clearance)
        .or(machine.work.usual.clearance);
    found.map_or(0.0, |c| f64::midpoint(c.low, c.high))
}

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
    if let (Some(drawn), true) = (model.machine.cams.get(cam), left_round(model, cam)) {
        return Err(Refusal::new(
            format!(
                "cam {} could not be derived from its reading: it is left round, and there is nothing to cut it by",
                drawn.name
            ),
            "`check` says why",
        ));
    }
    let shapes = shapes(model);
    let (Some(drawn), Some(shape)) = (
        model.machine.cams.get(cam),
        shapes.iter().find(|s| s.cam == cam),
    ) else {
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
    let cannot = |e: elements::ElementError| {
        Refusal::new(
            format!("cam {}: {e}", drawn.name),
            "take a smaller cutter, or a larger circle or a smaller roller for the cam",
        )
    };
    let mm = |x: f64| crate::say::short(x, model.machine.unit);
    let roller = shape.follower.roller();
    let seen = survey(shape.follower, &shape.program).map_err(cannot)?;
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
    shop::cams::table(&drawn.name, shape, drawn.track, cutter, count as u32).map_err(cannot)
}
