//! Rollers that nothing but a push keeps on their cams.

use super::Say;
use crate::answers::{Inside, Severity};
use crate::assemble::Joint;
use crate::load::answers::{CaseLoads, JointKind};
use crate::load::rig::Found;
use crate::load::row::Ready;
use crate::load::say;

/// Tells of every open cam that its roller leaves in this case.
pub(super) fn lifted(ready: &Ready<'_, '_>, say: &mut Say<'_>, case: &CaseLoads) {
    let (rig, machine) = (ready.rig, &ready.rig.model.machine);
    for (j, joint) in rig.joints.iter().enumerate() {
        let (JointKind::Cam, Some(Found::Slot(c))) = (joint.kind, rig.found.get(j)) else {
            continue;
        };
        let Some(Joint::Cam(cam)) = rig.model.joints.get(*c).copied() else {
            continue;
        };
        let Some(cam) = machine.cams.get(cam).filter(|c| !c.track) else {
            continue;
        };
        let pulls = case.rows.iter().enumerate().filter_map(|(i, row)| {
            let force = row.joints.get(j)?.value;
            (force < -1e-9).then_some((i, -force))
        });
        let Some((row, pull)) = pulls.max_by(|a, b| a.1.total_cmp(&b.1)) else {
            continue;
        };
        let sentence = format!(
            "cam {}: its roller lifts off {}; it would have to be pulled by {} to keep to the program",
            cam.name,
            say.place_of(case, row),
            say::either(pull, false, machine)
        );
        let finding = say.add(
            Severity::Miss,
            sentence,
            Some((pull, Inside::Newton)),
            format!("cam.{}", cam.name),
            cam.place,
        );
        finding.what_to_try = Some(String::from(
            "press the follower on by a stronger spring or a weight, or cut a closed track: `track = true`",
        ));
    }
}
