//! How hard rollers press on their cams over the turn, at speed.

use crate::answers::{Finding, Severity};
use crate::assemble::Joint;
use crate::load::answers::LoadRow;
use crate::load::rig::Rig;
use crate::load::service::cams::flank;
use crate::parts::cams::{bears, pressure};
use crate::run::Here;
use machine::work::JointAt;
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
    /// The pressure that its flank bears before it begins to dent, MPa; none where its strength is not known.
    pub allowed: Option<f64>,
    /// How much wider a track is than its roller, least and greatest, mm; none of an open cam, and where the file does not say.
    pub play: Option<[f64; 2]>,
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
        let own = rig.model.machine.cams.get(cam)?;
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
            cam: own.name.clone(),
            allowed: bears(rig, cam),
            play: rig
                .entry(JointAt::Cam(cam))
                .and_then(|j| j.clearance)
                .filter(|_| own.track)
                .map(|c| [c.low, c.high]),
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

impl CamPressed {
    /// Where roller and flank press on one another hardest.
    pub fn hardest(&self) -> Option<&Press> {
        let known = self.places.iter().filter(|p| p.pressure.is_some());
        known.max_by(|a, b| {
            a.pressure
                .unwrap_or(0.0)
                .total_cmp(&b.pressure.unwrap_or(0.0))
        })
    }

    /// Where the roller is pressed with the greatest force.
    pub fn most(&self) -> Option<&Press> {
        let places = self.places.iter();
        places.max_by(|a, b| a.force.abs().total_cmp(&b.force.abs()))
    }
}

/// Flanks that are pressed harder than they bear. `on_dial` tells a place of the drive.
pub(super) fn too_hard(
    rig: &Rig<'_>,
    pressed: &[CamPressed],
    on_dial: &dyn Fn(f64) -> String,
) -> Vec<Finding> {
    let one = |cam: &CamPressed| {
        let (hardest, allowed) = (cam.hardest()?, cam.allowed?);
        let pressure = hardest.pressure.filter(|p| *p > allowed)?;
        let drawn = rig.model.machine.cams.iter().find(|c| c.name == cam.cam)?;
        Some(Finding {
            severity: Severity::Miss,
            sentence: format!(
                "cam {}: roller and flank press on one another with {pressure:.0} MPa at {}; from {allowed:.0} MPa on the flank begins to dent",
                cam.cam,
                on_dial(hardest.at)
            ),
            number: Some(pressure),
            margin: Some(allowed / pressure - 1.0),
            inside: None,
            what_to_try: Some(String::from(
                "a wider face, a larger roller or circle, a harder cam, or a softer law where it is pressed",
            )),
            about: format!("cam.{}", cam.cam),
            place: drawn.place,
        })
    };
    pressed.iter().filter_map(one).collect()
}
