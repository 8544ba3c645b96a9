//! Forces on the machine in one pose, for a picture: in every joint, of everything that acts, and of the hand.

use super::acting::Acting;
use super::answers::{Arrow, Arrows, JointKind};
use super::loaded::Loaded;
use super::rig::Rig;
use super::row::{Moved, Ready};
use super::{acting, gives, only, poses, rubbing, shafts};
use crate::assemble::{Model, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use machine::model::FRAME;
use mechanics::model::{AnchorId, Measure};

/// All forces under one case where the machine stands, without friction. With a drive, the hand holds it against the loads when the file gives
/// it one; joints bear what comes of that.
///
/// # Errors
/// No such case; values that cannot be reached; a dead centre.
pub fn arrows(
    model: &Model,
    stand: &Stand,
    case: usize,
    drive: Option<usize>,
) -> Result<Arrows, Refusal> {
    let rig = Rig::new(model);
    let case = only(acting::cases(&rig), case)?;
    let ready = Ready::new(
        &rig,
        shafts::shafts(&rig),
        rubbing::rubbing(&rig),
        gives::members(&rig),
    );
    let mut bench = Bench::new(model);
    let stand = poses::stand(model, Some(&case), stand);
    let here = bench.bring(&stand)?;
    let dead = || {
        Refusal::new(
            "forces cannot be told here: the machine stands at a dead centre",
            "move a drive a little",
        )
    };
    let moved = drive.map_or(Moved::Each, Moved::One);
    let row = ready.row(&case, &here, None, 0, moved).row;
    if row.dead_centre {
        return Err(dead());
    }
    let mut all = Vec::new();
    for (joint, force) in rig.joints.iter().zip(&row.joints) {
        if joint.is_moment || matches!(joint.kind, JointKind::Drive | JointKind::Held) {
            continue;
        }
        if let (Some(vector), Some(at)) = (force.vector, force.place) {
            all.push(Arrow {
                what: joint.name.clone(),
                on: joint.on.clone(),
                plane: joint.plane,
                at,
                vector,
                undetermined: force.undetermined,
            });
        }
    }
    let loaded = ready.loaded(&case, &here).ok_or_else(dead)?;
    for (acting, (_, force)) in case.acting.iter().zip(&loaded.acted) {
        all.extend(pushes(&rig, &here, acting, *force));
    }
    let mut hand = None;
    if let Some(drive) = drive
        && let Some((anchor, direction)) = ready.hand_at(&case, &here, drive)
        && let Some(force) = row.drives.get(drive).and_then(|f| f.hand_free)
    {
        let a = rig.mechanism.anchors[anchor];
        let params = rig.params(&here);
        all.push(Arrow {
            what: String::from("hand"),
            on: model.body_name(a.body),
            plane: a.plane,
            at: rig.mechanism.in_plane(&params, &here.poses, anchor),
            vector: direction.map(|d| force * d),
            undetermined: false,
        });
        hand = Some(model.machine.drives[drive].name.clone());
    }
    Ok(Arrows {
        case: case.name,
        hand,
        arrows: all,
    })
}

/// What a load, a spring or a weight does to the parts that it acts on.
fn pushes(rig: &Rig<'_>, here: &Here, acting: &Acting, force: f64) -> Vec<Arrow> {
    let m = &rig.mechanism;
    let params = rig.params(here);
    let space = |a: AnchorId| m.in_space(&params, &here.poses, a);
    let (a, b, along) = match acting.measure(rig, &here.poses) {
        Measure::Along { a, b, direction } => (a, b, direction),
        Measure::Distance { a, b } => {
            let (p, q) = (space(a), space(b));
            let d: [f64; 3] = std::array::from_fn(|i| q[i] - p[i]);
            let long = d.iter().map(|x| x * x).sum::<f64>().sqrt();
            (a, b, d.map(|x| x / long))
        }
        Measure::AlongBody {
            a,
            b,
            body,
            plane,
            direction,
        } => {
            let turned = if body == FRAME {
                0.0
            } else {
                here.poses[body].angle
            };
            let (s, c) = (turned + params[direction]).sin_cos();
            let p = &m.planes[plane];
            let along = std::array::from_fn(|i| c * p.right[i] + s * p.up[i]);
            (a, b, along)
        }
        Measure::Angle { .. } => return Vec::new(),
    };
    let one = |(anchor, sense): (AnchorId, f64)| {
        let at = m.anchors[anchor];
        let plane = &m.planes[at.plane];
        let in_plane = |axis: [f64; 3]| {
            let part: f64 = axis.iter().zip(&along).map(|(x, y)| x * y).sum();
            sense * force * part
        };
        (at.body != FRAME && force != 0.0).then(|| Arrow {
            what: acting.name.clone(),
            on: rig.model.body_name(at.body),
            plane: at.plane,
            at: m.in_plane(&params, &here.poses, anchor),
            vector: [in_plane(plane.right), in_plane(plane.up)],
            undetermined: false,
        })
    };
    [(b, 1.0), (a, -1.0)].into_iter().filter_map(one).collect()
}

impl Ready<'_, '_> {
    /// The loads of a case, balanced here; none at a dead centre.
    fn loaded(&self, case: &acting::LoadCase, here: &Here) -> Option<Loaded> {
        let params = self.rig.params(here);
        let tangent = self.members.tangent(self.rig, &params, &here.poses).ok()?;
        super::loaded::balance(
            self.rig,
            &tangent,
            &params,
            &here.poses,
            case,
            &self.members,
        )
        .ok()
    }
}
