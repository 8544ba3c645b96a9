//! What one drive needs: without friction, moved on and back against friction, and let go.

use super::super::acting::LoadCase;
use super::super::answers::{DriveForce, HoldingJoint, JointKind, LetGo, Moving, ShaftLoad};
use super::super::detents::{holding, lifting};
use super::super::rig::with_teeth;
use super::super::shafts::{diagram, rubbed};
use super::hand::{Hand, hand_anchor, hand_of};
use super::motor::motor_of;
use super::{Moved, NOTHING, Pose, Ready};
use crate::assemble::Gauge;
use crate::run::Here;
use mechanics::friction::{RubbedBalance, Sliding, Stuck};
use mechanics::statics::Reactions;
use mechanics::tangent::Singular;
use mechanics::unit_direction;

/// Shares of holding below this are not told.
const TOLD: f64 = 0.005;

/// What a drive has to give to go on, N·mm or N.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Given {
    /// Without friction.
    pub(crate) free: f64,
    /// Friction high; none where it jams.
    pub(crate) high: Option<f64>,
    /// Friction low.
    pub(crate) low: Option<f64>,
}

/// What moving one drive makes of the rest.
pub(super) struct Under<'u> {
    /// Becomes the reactions with the hand in place of the drive when this drive alone is moved.
    pub(super) free: &'u mut Reactions,
    /// Grows with the reactions under friction; stays empty when it is given so.
    pub(super) most: &'u mut [f64],
    /// What shafts carry then; stays empty when it is given so.
    pub(super) shafts: &'u mut Vec<ShaftLoad>,
    /// The hand that pushes in place of the drive, and the row its force stands in.
    pub(super) hand: &'u mut Option<(Hand, usize)>,
}

/// A drive moved both ways.
struct Both {
    on: Result<(f64, RubbedBalance), Stuck>,
    back: Result<(f64, RubbedBalance), Stuck>,
}

impl Ready<'_, '_> {
    /// What the drive itself has to give here to go on, whoever pushes: without friction, and with it, high and low; none at a dead centre, and
    /// of friction where it jams. Hands and notches are left out.
    pub(crate) fn turned(&self, case: &LoadCase, here: &Here, drive: usize) -> Option<Given> {
        let rig = self.rig;
        let params = rig.params(here);
        let pose = self.pose(case, here, &params).ok()?;
        let (sense, row) = (
            rig.model.machine.drives[drive].sense,
            rig.rows[rig.drives[drive]?],
        );
        let mut direction = unit_direction(params.len(), rig.model.drives[drive].0);
        direction.iter_mut().for_each(|d| *d *= sense);
        let rates = pose.tangent.rates(&direction).ok()?;
        let rubs = self.rubbing.in_pose(rig, &pose.shafts, &pose.teeth);
        let sliding = Sliding::new(&pose.tangent, &rates, &rubs).ok()?;
        let plain = &pose.loaded.reactions;
        let with = |mu: &[f64]| {
            let found = sliding.balance(plain, mu, 1.0).ok()?;
            Some(sense * found.reactions.rows[row])
        };
        Some(Given {
            free: sense * plain.rows[row],
            high: with(&self.high),
            low: with(&self.low),
        })
    }

    /// What one drive needs.
    pub(super) fn drive(
        &self,
        case: &LoadCase,
        pose: &Pose<'_>,
        drive: usize,
        moved: Moved,
        under: Under<'_>,
    ) -> Result<(DriveForce, Option<bool>), Singular> {
        let Under {
            free,
            most,
            shafts,
            hand: pushing,
        } = under;
        let rig = self.rig;
        let Some(constraint) = rig.drives[drive] else {
            return Ok((DriveForce::default(), None));
        };
        let (sense, row) = (rig.model.machine.drives[drive].sense, rig.rows[constraint]);
        let plain = &pose.loaded.reactions;
        let mut direction = unit_direction(pose.params.len(), rig.model.drives[drive].0);
        direction.iter_mut().for_each(|d| *d *= sense);
        let rates = pose.tangent.rates(&direction)?;
        let rubs = self.rubbing.in_pose(rig, &pose.shafts, &pose.teeth);
        let sliding = Sliding::new(&pose.tangent, &rates, &rubs)?;
        let mut force = DriveForce {
            free: sense * plain.rows[row],
            ..DriveForce::default()
        };
        force.let_go = Some(self.let_go(pose, &sliding, drive, row, sense));
        let hand = self.hand(pose, drive, &rates);
        force.hand_arm = hand.as_ref().map(|h| h.arm);
        force.hand_way = hand.as_ref().and_then(|h| h.way);
        let closing = case.squeezed().find_map(|reading| {
            let Some(Gauge::Pose(measure)) = rig.model.gauges.get(reading) else {
                return None;
            };
            let rate = pose.tangent.along(measure, &direction, &rates)[1];
            (rate != 0.0).then_some(rate < 0.0)
        });
        let alone = moved == Moved::One(drive);
        if !alone && moved != Moved::Each {
            return Ok((force, closing));
        }
        let both = |sliding: &Sliding, free: &Reactions, factor: f64| {
            let one = |sense: f64| {
                sliding
                    .balance(free, &self.high, sense)
                    .map(|b| (factor * b.reactions.rows[row], b))
            };
            Both {
                on: one(1.0),
                back: one(-1.0),
            }
        };
        let by_hand = hand
            .as_ref()
            .map(|hand| self.by_hand(pose, constraint, row, hand, &rates, &sliding))
            .transpose()?
            .flatten();
        if by_hand.is_none() && hand_anchor(rig, drive).is_some() {
            // What it takes at the drive itself is nothing that a hand could give.
            force.hand_idle = true;
            return Ok((force, closing));
        }
        let motor = motor_of(rig, drive, &rates).filter(|_| hand.is_none());
        let by_motor = motor
            .map(|motor| sliding.moved_by(&pose.tangent, constraint, &motor.measure()))
            .transpose()?
            .flatten();
        let motor = motor.filter(|_| by_motor.is_some());
        let moved = if let (Some(hand), Some(by_hand)) = (&hand, by_hand) {
            let handed = by_hand.free(plain);
            let at_hand = both(&by_hand, &handed, 1.0);
            if hand.way.is_some() && (at_hand.on.is_err() || at_hand.back.is_err()) {
                // Where the drive itself does not jam, the hand only pushes too straight across its way for what rubs.
                let at_drive = both(&sliding, plain, sense);
                if at_drive.on.is_ok() && at_drive.back.is_ok() {
                    force.hand_idle = true;
                    return Ok((force, closing));
                }
            }
            force.hand_free = Some(handed.rows[row]);
            force.hand_on = at_hand.on.as_ref().ok().map(|b| b.0);
            force.hand_back = at_hand.back.as_ref().ok().map(|b| b.0);
            force.on = force.hand_on.map(|f| f * hand.arm);
            force.back = force.hand_back.map(|f| f * hand.arm);
            if alone {
                *free = handed;
                *pushing = Some((*hand, row));
            }
            at_hand
        } else if let (Some(motor), Some(by_motor)) = (motor, by_motor) {
            // What the motor gives goes to the drive through gears and belts, which it presses on its way.
            let given = by_motor.free(plain);
            let at_motor = both(&by_motor, &given, motor.ratio);
            force.on = at_motor.on.as_ref().ok().map(|b| b.0);
            force.back = at_motor.back.as_ref().ok().map(|b| b.0);
            if alone {
                *free = given;
                *pushing = None;
            }
            at_motor
        } else {
            let at_drive = both(&sliding, plain, sense);
            force.on = at_drive.on.as_ref().ok().map(|b| b.0);
            force.back = at_drive.back.as_ref().ok().map(|b| b.0);
            at_drive
        };
        let pushes_only = hand_of(rig, drive).is_some_and(|h| h.pushes_only);
        if let Some(way) = force.hand_way.filter(|_| pushes_only) {
            // A push along the file's direction moves the drive on or back; the other way it would have to pull.
            let needs = [force.hand_on, force.hand_back.map(|b| -b)];
            let pushes = [way > 0.0, way < 0.0];
            for k in 0..2 {
                force.must_pull[k] = !pushes[k] && needs[k].is_some_and(|f| f > 0.0);
            }
            if force.must_pull[0] {
                (force.on, force.hand_on) = (None, None);
            }
            if force.must_pull[1] {
                (force.back, force.hand_back) = (None, None);
            }
        }
        let jams = |stuck: &Stuck| match stuck {
            Stuck::Jams(place) => self.rubbing.places.get(*place).map(|p| p.name.clone()),
            Stuck::Singular => None,
        };
        force.jams_on = moved.on.as_ref().err().and_then(jams);
        force.jams_back = moved.back.as_ref().err().and_then(jams);
        // Whichever way it leaves a notch, the plunger is lifted too.
        let at = pose.here.stand.drives.get(drive).copied();
        force.lifts = at.and_then(|at| lifting(rig, drive, at));
        if let Some(lifts) = force.lifts {
            let felt = lifts / force.hand_arm.unwrap_or(1.0);
            for (value, more) in [
                (&mut force.on, lifts),
                (&mut force.back, -lifts),
                (&mut force.hand_on, felt),
                (&mut force.hand_back, -felt),
            ] {
                *value = value.map(|v| v + more);
            }
        }
        let without = force.free;
        force.efficiency_on = force
            .on
            .filter(|on| without > 0.0 && *on > 0.0)
            .map(|on| without / on);
        force.efficiency_back = force
            .back
            .filter(|back| without < 0.0 && *back < 0.0)
            .map(|back| without / back);
        force.dead_band = force.on.zip(force.back).map(|(on, back)| on - back);
        for (on, moved) in [(true, &moved.on), (false, &moved.back)] {
            let Ok((_, balance)) = moved else { continue };
            if most.is_empty() {
                continue;
            }
            let mut rows = balance.reactions.rows.clone();
            with_teeth(&mut rows, &pose.teeth);
            for (shaft, pushes) in &pose.shafts {
                let mut pushes = pushes.clone();
                if let Some(hand) = &hand {
                    pushes.retain(|p| p.row() != Some(row));
                    pushes.extend(self.hand_push(pose, shaft, row, hand));
                }
                if let Some(motor) = motor {
                    pushes.retain(|p| p.row() != Some(row));
                    pushes.extend(motor.push(rig, shaft, pose.params, row));
                }
                let both = [balance.reactions.rows.as_slice(), rows.as_slice()];
                pushes.extend(rubbed(rig, shaft, &pushes, both, &rubs, &balance.places));
                let moving = Some(Moving {
                    drive: rig.model.machine.drives[drive].name.clone(),
                    on,
                });
                shafts.push(diagram(rig, shaft, &pushes, both[0], 0, moving));
            }
            for (j, most) in most.iter_mut().enumerate() {
                if rig.joints[j].kind != JointKind::Drive {
                    *most = most.max(rig.force(j, &rows, pose.params, &pose.here.poses).most);
                }
            }
        }
        if let Some(most) = rig.reported(constraint).and_then(|j| most.get_mut(j)) {
            *most = [force.on, force.back]
                .iter()
                .flatten()
                .fold(*most, |m, f| m.max(f.abs()));
        }
        Ok((force, closing))
    }

    fn let_go(
        &self,
        pose: &Pose<'_>,
        sliding: &Sliding,
        drive: usize,
        row: usize,
        sense: f64,
    ) -> LetGo {
        let rig = self.rig;
        let plain = &pose.loaded.reactions;
        let free = sense * plain.rows[row];
        let detent = holding(
            rig,
            drive,
            pose.here.stand.drives.get(drive).copied().unwrap_or(0.0),
        );
        let greatest = plain.rows.iter().fold(0.0, |m: f64, r| m.max(r.abs()));
        let pushed = if free.abs() <= NOTHING * greatest * rig.mechanism.size(pose.params) {
            0.0
        } else {
            -free.signum()
        };
        let drives = if pushed == 0.0 { 0.0 } else { free.abs() };
        let run = if pushed < 0.0 { -1.0 } else { 1.0 };
        // What must come from outside at the verge of running by itself; less than nothing when it must be pushed along.
        let verge = sliding.balance(plain, &self.low, run);
        let (friction, by) = match &verge {
            Ok(balance) => {
                let outside = sense * balance.reactions.rows[row];
                (run * (outside - free), self.holders(balance))
            }
            Err(Stuck::Jams(place)) => {
                let joint = self.rubbing.places.get(*place).map(|p| HoldingJoint {
                    joint: p.name.clone(),
                    share: 1.0,
                });
                (f64::INFINITY, joint.into_iter().collect())
            }
            Err(Stuck::Singular) => (0.0, Vec::new()),
        };
        let factor = (friction + detent) / drives;
        LetGo {
            stays: pushed == 0.0 || factor >= 1.0,
            pushed,
            factor: (pushed != 0.0 && factor.is_finite()).then_some(factor),
            friction: if friction.is_finite() {
                friction
            } else {
                drives
            },
            detent: if detent.is_finite() { detent } else { drives },
            to_hold: (drives - friction).max(0.0),
            rests_on: None,
            by,
        }
    }

    fn holders(&self, balance: &RubbedBalance) -> Vec<HoldingJoint> {
        let power: Vec<f64> = balance
            .places
            .iter()
            .map(|p| (p.slip * p.friction).abs())
            .collect();
        let total: f64 = power.iter().sum();
        let shares = self
            .rubbing
            .places
            .iter()
            .zip(power)
            .map(|(p, w)| (p, w / total));
        let mut by: Vec<HoldingJoint> = shares
            .filter(|(_, share)| *share >= TOLD)
            .map(|(p, share)| HoldingJoint {
                joint: p.name.clone(),
                share,
            })
            .collect();
        by.sort_by(|a, b| b.share.total_cmp(&a.share));
        by
    }
}
