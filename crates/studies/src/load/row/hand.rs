//! Where a hand takes hold of a drive, and how its push stands in place of the drive.

use super::super::acting::{LoadCase, pressed};
use super::super::rig::Rig;
use super::super::shafts::{Push, Shaft};
use super::{NOTHING, Pose, Ready};
use crate::run::Here;
use machine::model::{FRAME, Moves};
use machine::work;
use mechanics::friction::Sliding;
use mechanics::model::{AnchorId, Measure};
use mechanics::tangent::{Rates, Singular};
use mechanics::unit_direction;

/// A hand that pushes closer than this to square across its way (sine of the angle) moves nothing.
const ACROSS: f64 = 1e-6;

/// The hand of a drive.
pub(crate) fn hand_of(rig: &Rig<'_>, drive: usize) -> Option<work::Hand> {
    rig.work().hands.get(drive).copied().flatten()
}

/// The hole where the hand of a drive takes hold.
pub(crate) fn hand_anchor(rig: &Rig<'_>, drive: usize) -> Option<AnchorId> {
    let point = hand_of(rig, drive)?.at;
    let part = match rig.model.machine.drives.get(drive)?.moves {
        Moves::Turns(part) => part,
        Moves::Slides(slide) => rig.model.machine.slides.get(slide)?.part,
    };
    rig.model
        .anchor_of(part, point)
        .or_else(|| pressed(rig, point))
}

#[derive(Clone, Copy)]
pub(super) struct Hand {
    pub(super) anchor: AnchorId,
    /// Unit vector in its plane, the way it pushes to make the drive's value grow.
    pub(super) direction: [f64; 2],
    /// How far it goes that way for a unit of the drive: the arm, mm (1 for a slide).
    pub(super) arm: f64,
    /// That is the way the file names (1) or the other (-1); none when it names none.
    pub(super) way: Option<f64>,
}

impl Ready<'_, '_> {
    /// Where the hand takes hold, and which way it pushes there to move the drive on.
    pub(super) fn hand(&self, pose: &Pose<'_>, drive: usize, rates: &Rates) -> Option<Hand> {
        let rig = self.rig;
        let anchor = hand_anchor(rig, drive)?;
        let given = hand_of(rig, drive)?;
        let m = &rig.mechanism;
        let a = m.anchors[anchor];
        let [x, y, turn] = *rates.first.get(a.body)?;
        let (place, at) = (
            m.in_plane(pose.params, &pose.here.poses, anchor),
            pose.here.poses[a.body],
        );
        let v = [x - turn * (place[1] - at.y), y + turn * (place[0] - at.x)];
        let speed = v[0].hypot(v[1]);
        let (direction, arm, way) = match given.along {
            None => (v.map(|v| v / speed), speed, None),
            Some(along) => {
                // As drawn: it turns by what the part has turned since.
                let turned = given.with.map_or(0.0, |p| {
                    let [now, drawn] = [&pose.here.poses, &m.drawn].map(|all| all.get(p));
                    now.zip(drawn).map_or(0.0, |(n, d)| n.angle - d.angle)
                });
                let along = along + turned;
                let arm = v[0] * along.cos() + v[1] * along.sin();
                (
                    [along.cos(), along.sin()].map(|d| d * arm.signum()),
                    arm.abs(),
                    Some(arm.signum()),
                )
            }
        };
        let moves = speed > NOTHING && arm > ACROSS * speed && a.body != FRAME;
        moves.then_some(Hand {
            anchor,
            direction,
            arm,
            way,
        })
    }

    /// Where the hand of a drive takes hold, and the unit vector of its push in its plane; none where it has none or moves nothing.
    pub(in crate::load) fn hand_at(
        &self,
        case: &LoadCase,
        here: &Here,
        drive: usize,
    ) -> Option<(AnchorId, [f64; 2])> {
        let params = self.rig.params(here);
        let pose = self.pose(case, here, &params).ok()?;
        let sense = self.rig.model.machine.drives.get(drive)?.sense;
        let mut along = unit_direction(params.len(), self.rig.model.drives[drive].0);
        along.iter_mut().for_each(|d| *d *= sense);
        let hand = self.hand(&pose, drive, &pose.tangent.rates(&along).ok()?)?;
        Some((hand.anchor, hand.direction))
    }

    /// The motion with the hand's force in place of the drive.
    pub(super) fn by_hand(
        &self,
        pose: &Pose<'_>,
        constraint: usize,
        row: usize,
        hand: &Hand,
        rates: &Rates,
        sliding: &Sliding,
    ) -> Result<Option<Sliding>, Singular> {
        let rig = self.rig;
        let a = rig.mechanism.anchors[hand.anchor];
        let plane = &rig.mechanism.planes[a.plane];
        let [x, y] = hand.direction;
        let direction = std::array::from_fn(|i| x * plane.right[i] + y * plane.up[i]);
        let measure = Measure::Along {
            a: rig.ground,
            b: hand.anchor,
            direction,
        };
        let held = pose
            .shafts
            .iter()
            .position(|(s, _)| s.part == a.body && s.bearings.is_some());
        let Some(held) = held else {
            return sliding.moved_by(&pose.tangent, constraint, &measure);
        };
        // The hand pulls straight at a shaft on two bearings: its force is one of the pushes that they share.
        let mut shafts = pose.shafts.clone();
        let (shaft, pushes) = &mut shafts[held];
        pushes.extend(self.hand_push(pose, shaft, row, hand));
        let rubs = self.rubbing.in_pose(rig, &shafts, &pose.teeth);
        Sliding::new(&pose.tangent, rates, &rubs)?.moved_by(&pose.tangent, constraint, &measure)
    }

    /// The hand's pull at a shaft; none when it takes hold of something else.
    pub(super) fn hand_push(
        &self,
        pose: &Pose<'_>,
        shaft: &Shaft,
        row: usize,
        hand: &Hand,
    ) -> Option<Push> {
        let m = &self.rig.mechanism;
        let a = m.anchors[hand.anchor];
        let place = |anchor| m.in_plane(pose.params, &pose.here.poses, anchor);
        let (p, q) = (place(hand.anchor), place(shaft.axis()));
        let station = pose.params[a.w];
        (a.body == shaft.part)
            .then(|| Push::by_hand(station, row, [p[0] - q[0], p[1] - q[1]], hand.direction))
    }
}
