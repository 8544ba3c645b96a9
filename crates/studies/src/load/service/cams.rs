//! How hard rollers and cams press on one another, and on which flank.

use super::super::answers::LoadRow;
use super::super::rig::Rig;
use super::Service;
use crate::assemble::Joint;
use crate::run::Here;
use elements::cams::Side;

impl Service {
    pub(super) fn cams(&mut self, rig: &Rig<'_>, case: usize, here: &Here, row: &LoadRow) {
        for (constraint, joint) in rig.model.joints.iter().enumerate() {
            let Joint::Cam(cam) = *joint else { continue };
            let force = rig.reported(constraint).and_then(|j| row.joints.get(j));
            let (Some(force), Some(worst)) = (force, self.cams.get_mut(cam)) else {
                continue;
            };
            let Some(flank) = flank(rig, cam, constraint, here, force.value) else {
                continue;
            };
            let roller = 0.5 * rig.model.machine.cams[cam].diameter;
            let dents = force.most * (1.0 / roller + 1.0 / flank);
            if dents > worst.worst.value {
                (worst.force, worst.flank) = (force.most, flank);
            }
            worst.worst.meet(dents, case, &here.stand.drives);
        }
    }
}

/// Radius of the flank that a roller is pressed against, mm: the inner one where the cam pushes it outwards, else the outer one of a track; an
/// open cam does not pull.
pub(crate) fn flank(
    rig: &Rig<'_>,
    cam: usize,
    constraint: usize,
    here: &Here,
    force: f64,
) -> Option<f64> {
    let (drawn, shape) = (rig.model.machine.cams.get(cam)?, rig.model.cams.get(cam)?);
    let shape = shape.as_ref()?;
    let side = match (force >= 0.0, drawn.track) {
        (true, _) => Side::Inner,
        (false, true) => Side::Outer,
        (false, false) => return None,
    };
    let m = &rig.mechanism;
    let (touch, _) = m.touch(&here.params, &here.poses, m.constraints.get(constraint)?)?;
    let place = shape
        .follower
        .place(touch.turn, shape.program.at(touch.turn));
    let radius = place.flank_radius(side, 0.5 * drawn.diameter);
    // The hollow of an outer flank is seen from its inside.
    Some(if side == Side::Inner { radius } else { -radius })
}
