//! How hard rollers press on their cams over the turn, at speed.

use crate::assemble::Joint;
use crate::load::answers::LoadRow;
use crate::load::rig::Rig;
use crate::load::service::cams::flank;
use crate::parts::cams::pressure;
use crate::run::Here;
use schemars::JsonSchema;
use serde::Serialize;
use std::f64::consts::TAU;

/// A roller on its cam at one place of the drive.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Press {
    /// Value of the drive.
    pub at: f64,
    /// Turn of the program, rad.
    pub turn: f64,
    /// Force, friction counted, N; below nothing on the outer flank of a track.
    pub force: f64,
    /// Pressure of roller and flank on one another (Hertz), MPa; none where no `face` is given or nothing presses.
    pub pressure: Option<f64>,
}

/// A roller on its cam over the turn.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CamPressed {
    /// The cam.
    pub cam: String,
    /// Its places, as the drive goes.
    pub places: Vec<Press>,
}

/// All cams. `rows` are places of the drive with the machine there and what acts at speed.
pub(super) fn pressed(
    rig: &Rig<'_>,
    rows: &[(f64, Option<&Here>, Option<&LoadRow>)],
) -> Vec<CamPressed> {
    let m = &rig.mechanism;
    let one = |constraint: usize, cam: usize| {
        let joint = rig.reported(constraint)?;
        let places = rows.iter().filter_map(|(at, here, row)| {
            let (here, load) = ((*here)?, (*row)?.joints.get(joint)?);
            let (touch, _) = m.touch(&here.params, &here.poses, m.constraints.get(constraint)?)?;
            let force = load.most.abs();
            let pressure = flank(rig, cam, constraint, here, load.value)
                .and_then(|radius| pressure(rig, cam, force, radius));
            Some(Press {
                at: *at,
                turn: touch.turn.rem_euclid(TAU),
                force: force.copysign(load.value),
                pressure,
            })
        });
        Some(CamPressed {
            cam: rig.model.machine.cams.get(cam)?.name.clone(),
            places: places.collect(),
        })
    };
    let joints = rig.model.joints.iter().enumerate();
    let cams = joints.filter_map(|(constraint, joint)| match *joint {
        Joint::Cam(cam) => one(constraint, cam),
        _ => None,
    });
    cams.filter(|c| !c.places.is_empty()).collect()
}
