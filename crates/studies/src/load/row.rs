//! One pose under one load case: forces, what each drive needs, and what happens when the hand lets go.

use super::acting::{LoadCase, Source, pressed};
use super::answers::{
    Acted, DriveForce, HoldingJoint, JointForce, JointKind, LetGo, LoadRow, Moving, OutOfPlane,
    ShaftLoad, Tipping,
};
use super::detents::{holding, lifting};
use super::felt::{Bent, Felt};
use super::gives::Members;
use super::loaded::{Loaded, balance};
use super::rig::{Found, Rig, Tooth, dot, with_teeth};
use super::rubbing::AllRubbing;
use super::shafts::{Push, Shaft, diagram, pushes, rubbed, tipping};
use super::stock::hub_station;
use crate::assemble::{Gauge, Joint};
use crate::run::Here;
use machine::model::{FRAME, Moves};
use machine::work;
use mechanics::friction::{RubbedBalance, Sliding, Stuck};
use mechanics::model::{AnchorId, Constraint, Measure};
use mechanics::statics::Reactions;
use mechanics::tangent::{Rates, Singular, Tangent};
use mechanics::unit_direction;

/// Less than this share of the greatest reaction times the machine's size drives nothing.
const NOTHING: f64 = 1e-9;
/// A hand that pushes closer than this to square across its way (sine of the angle) moves nothing.
const ACROSS: f64 = 1e-6;
/// Shares of holding below this are not told.
const TOLD: f64 = 0.005;

/// Everything that is the same in all poses.
pub(crate) struct Ready<'r, 'm> {
    pub(crate) rig: &'r Rig<'m>,
    pub(crate) shafts: Vec<Shaft>,
    pub(crate) rubbing: AllRubbing,
    pub(crate) members: Members,
    /// Parts whose bending is told; none unless they are put in.
    pub(crate) felt: Vec<Felt>,
    /// What other drives than the moved one need is left out, unless they stand in a notch.
    pub(crate) moved_only: bool,
    low: Vec<f64>,
    high: Vec<f64>,
}

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

/// A row and what goes into the summary of its case.
pub(crate) struct Row {
    pub(crate) row: LoadRow,
    /// Moving each drive on closes what the case squeezes.
    pub(crate) closes: Vec<Option<bool>>,
    pub(crate) shafts: Vec<ShaftLoad>,
    pub(crate) out_of_plane: Vec<OutOfPlane>,
    /// What bends the parts that are looked at.
    pub(crate) bent: Vec<Bent>,
    pub(crate) tipping: Vec<Tipping>,
}

impl Row {
    /// Gives what it tells the number of its row.
    pub(crate) fn number(&mut self, index: usize) {
        self.shafts.iter_mut().for_each(|s| s.row = index);
        self.out_of_plane.iter_mut().for_each(|o| o.row = index);
        self.tipping.iter_mut().for_each(|t| t.row = index);
    }
}

/// A pose with its factorised equations and its loads balanced without friction.
struct Pose<'p> {
    here: &'p Here,
    params: &'p [f64],
    tangent: Tangent<'p>,
    loaded: Loaded,
    teeth: Vec<Tooth>,
    shafts: Vec<(Shaft, Vec<Push>)>,
}

/// What moving one drive makes of the rest.
struct Under<'u> {
    /// Becomes the reactions with the hand in place of the drive when this drive alone is moved.
    free: &'u mut Reactions,
    /// Grows with the reactions under friction; stays empty when it is given so.
    most: &'u mut [f64],
    /// What shafts carry then; stays empty when it is given so.
    shafts: &'u mut Vec<ShaftLoad>,
    /// The hand that pushes in place of the drive, and the row its force stands in.
    hand: &'u mut Option<(Hand, usize)>,
}

/// A drive moved both ways.
struct Both {
    on: Result<(f64, RubbedBalance), Stuck>,
    back: Result<(f64, RubbedBalance), Stuck>,
}

/// Which drives are moved with friction high.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Moved {
    /// This one.
    One(usize),
    /// Each in turn.
    Each,
    /// None.
    None,
}

impl<'r, 'm> Ready<'r, 'm> {
    pub(crate) fn new(
        rig: &'r Rig<'m>,
        shafts: Vec<Shaft>,
        rubbing: AllRubbing,
        members: Members,
    ) -> Self {
        let (low, high) = (rubbing.low(), rubbing.high());
        Self {
            rig,
            shafts,
            rubbing,
            members,
            felt: Vec::new(),
            moved_only: false,
            low,
            high,
        }
    }

    /// A row for a value that cannot be reached.
    pub(crate) fn unreached(&self, at: Option<f64>) -> Row {
        let row = LoadRow {
            at,
            reached: false,
            dead_centre: false,
            split_undetermined: false,
            acted: Vec::new(),
            joints: Vec::new(),
            drives: Vec::new(),
        };
        Row {
            row,
            closes: Vec::new(),
            shafts: Vec::new(),
            out_of_plane: Vec::new(),
            bent: Vec::new(),
            tipping: Vec::new(),
        }
    }

    /// The machine here under a case.
    pub(crate) fn row(
        &self,
        case: &LoadCase,
        here: &Here,
        at: Option<f64>,
        index: usize,
        moved: Moved,
    ) -> Row {
        if self.rig.model.given_up() {
            return self.unreached(at);
        }
        match self.work_out(case, here, at, index, moved) {
            Ok(row) => row,
            Err(Singular) => {
                let mut row = self.unreached(at);
                (row.row.reached, row.row.dead_centre) = (true, true);
                row
            }
        }
    }

    /// What one drive needs here, and nothing else; none at a dead centre. `effort` asks for what moving it takes too, not only for
    /// what happens when it is let go.
    pub(crate) fn force(
        &self,
        case: &LoadCase,
        here: &Here,
        drive: usize,
        effort: bool,
    ) -> Option<DriveForce> {
        if self.rig.model.given_up() {
            return None;
        }
        let params = self.rig.params(here);
        let pose = self.pose(case, here, &params).ok()?;
        let mut free = pose.loaded.reactions.clone();
        let moved = if effort {
            Moved::One(drive)
        } else {
            Moved::None
        };
        Some(
            self.drive(
                case,
                &pose,
                drive,
                moved,
                Under {
                    free: &mut free,
                    most: &mut [],
                    shafts: &mut Vec::new(),
                    hand: &mut None,
                },
            )
            .ok()?
            .0,
        )
    }

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

    /// Value and force of everything that acts here; none at a dead centre.
    pub(crate) fn acted(&self, case: &LoadCase, here: &Here) -> Option<Vec<(f64, f64)>> {
        let (rig, params) = (self.rig, self.rig.params(here));
        let tangent = self.members.tangent(rig, &params, &here.poses).ok()?;
        let loaded = balance(rig, &tangent, &params, &here.poses, case, &self.members);
        Some(loaded.ok()?.acted)
    }

    fn pose<'p>(
        &self,
        case: &LoadCase,
        here: &'p Here,
        params: &'p [f64],
    ) -> Result<Pose<'p>, Singular>
    where
        'r: 'p,
    {
        let rig = self.rig;
        let tangent = self.members.tangent(rig, params, &here.poses)?;
        let loaded = balance(rig, &tangent, params, &here.poses, case, &self.members)?;
        let teeth = rig.teeth(params, &here.poses, &loaded.reactions.rows);
        let shafts = self.shafts.iter().map(|s| {
            let (poses, loads) = (&here.poses, &loaded.loads);
            let pushes = pushes(rig, s, &tangent, params, poses, &teeth, loads);
            (s.clone(), pushes)
        });
        let shafts = shafts.collect();
        Ok(Pose {
            here,
            params,
            tangent,
            loaded,
            teeth,
            shafts,
        })
    }

    fn work_out(
        &self,
        case: &LoadCase,
        here: &Here,
        at: Option<f64>,
        index: usize,
        moved: Moved,
    ) -> Result<Row, Singular> {
        let rig = self.rig;
        let params = rig.params(here);
        let pose = self.pose(case, here, &params)?;
        let mut free = pose.loaded.reactions.clone();
        let mut most: Vec<f64> = vec![0.0; rig.joints.len()];
        let mut moving: Vec<ShaftLoad> = Vec::new();
        let mut drives = Vec::new();
        let mut closes = Vec::new();
        let mut hand = None;
        for drive in 0..rig.drives.len() {
            let notched = || rig.work().detents.iter().any(|d| d.drive == drive);
            if self.moved_only && moved != Moved::One(drive) && !notched() {
                drives.push(DriveForce::default());
                closes.push(None);
                continue;
            }
            let (force, closing) = self.drive(
                case,
                &pose,
                drive,
                moved,
                Under {
                    free: &mut free,
                    most: &mut most,
                    shafts: &mut moving,
                    hand: &mut hand,
                },
            )?;
            drives.push(force);
            closes.push(closing);
        }
        let bent = self.bent(&pose, &free, hand);
        let mut rows = free.rows;
        let drawn = pose.loaded.reactions.rows.clone();
        with_teeth(&mut rows, &pose.teeth);
        let mut joints: Vec<JointForce> = (0..rig.joints.len())
            .map(|j| rig.force(j, &rows, &params, &here.poses))
            .collect();
        for (j, (joint, most)) in joints.iter_mut().zip(most).enumerate() {
            // A drive moved by a hand keeps its moment in the table; the hand's force stands with the drive.
            if let (JointKind::Drive, Found::Row(row, sign)) = (rig.joints[j].kind, rig.found[j]) {
                joint.value = sign * drawn[row];
                joint.most = joint.value.abs();
            }
            joint.most = joint.most.max(most);
        }
        if pose.tangent.split_undetermined() {
            let undetermined = pose.tangent.undetermined();
            for (j, joint) in joints.iter_mut().enumerate() {
                joint.undetermined = rig.rows_of(j).iter().any(|r| undetermined[*r]);
            }
        }
        let acted = case
            .acting
            .iter()
            .zip(pose.loaded.acted.iter().zip(&pose.loaded.snaps))
            .filter(|(a, _)| a.source != Source::Weight);
        let acted = acted
            .map(|(a, (&(value, force), &snaps_to))| Acted {
                name: a.name.clone(),
                value,
                force,
                snaps_to,
            })
            .collect();
        let diagrams: Vec<ShaftLoad> = pose
            .shafts
            .iter()
            .map(|(s, pushes)| diagram(rig, s, pushes, &drawn, index, None))
            .chain(moving)
            .collect();
        for (shaft, _) in &pose.shafts {
            // Of two bearings the harder pressed one counts: beyond an overhang it bears more than both together.
            let name = &rig.model.machine.parts[shaft.part].name;
            let own = diagrams.iter().filter(|d| d.shaft == *name);
            let bearings = own.filter_map(|d| d.bearings).flatten();
            let most = bearings.map(|[x, y]| x.hypot(y)).fold(0.0, f64::max);
            if let Some(joint) = rig.reported(shaft.support).and_then(|j| joints.get_mut(j))
                && most > 0.0
            {
                joint.most = most;
            }
        }
        let row = LoadRow {
            at,
            reached: true,
            dead_centre: false,
            split_undetermined: pose.loaded.reactions.split_undetermined,
            acted,
            joints,
            drives,
        };
        let out_of_plane = self.out_of_plane(&pose, &drawn, index);
        Ok(Row {
            row,
            closes,
            tipping: diagrams.iter().filter_map(tipping).collect(),
            shafts: diagrams,
            out_of_plane,
            bent,
        })
    }

    /// What bends the parts that are looked at, a hand pushing in place of its drive.
    fn bent(&self, pose: &Pose<'_>, free: &Reactions, hand: Option<(Hand, usize)>) -> Vec<Bent> {
        if self.felt.is_empty() {
            return Vec::new();
        }
        let mut reactions = free.clone();
        let mut pushes = 0.0;
        if let Some((_, row)) = hand
            && let Some(force) = reactions.rows.get_mut(row)
        {
            pushes = std::mem::take(force);
        }
        with_teeth(&mut reactions.rows, &pose.teeth);
        let loads: Vec<_> = pose.loaded.loads.iter().map(|(_, l)| l.clone()).collect();
        let mut on = pose.tangent.on_params(&loads, &reactions);
        if let Some((hand, _)) = hand {
            let a = self.rig.mechanism.anchors[hand.anchor];
            let turn = pose.here.poses.get(a.body).map_or(0.0, |p| p.angle);
            let (s, c) = turn.sin_cos();
            let [x, y] = hand.direction.map(|d| pushes * d);
            on[a.u] += x * c + y * s;
            on[a.v] += y * c - x * s;
        }
        self.felt.iter().flat_map(|f| f.bent(&on)).collect()
    }

    /// What one drive needs.
    fn drive(
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

    /// Where the hand takes hold, and which way it pushes there to move the drive on.
    fn hand(&self, pose: &Pose<'_>, drive: usize, rates: &Rates) -> Option<Hand> {
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
    pub(super) fn hand_at(
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
    fn by_hand(
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
    fn hand_push(&self, pose: &Pose<'_>, shaft: &Shaft, row: usize, hand: &Hand) -> Option<Push> {
        let m = &self.rig.mechanism;
        let a = m.anchors[hand.anchor];
        let place = |anchor| m.in_plane(pose.params, &pose.here.poses, anchor);
        let (p, q) = (place(hand.anchor), place(shaft.axis()));
        let station = pose.params[a.w];
        (a.body == shaft.part)
            .then(|| Push::by_hand(station, row, [p[0] - q[0], p[1] - q[1]], hand.direction))
    }

    /// Rods that leave the plane of the part they are on.
    fn out_of_plane(&self, pose: &Pose<'_>, rows: &[f64], index: usize) -> Vec<OutOfPlane> {
        let rig = self.rig;
        let m = &rig.mechanism;
        let mut all = Vec::new();
        for (i, joint) in rig.model.joints.iter().enumerate() {
            let (Joint::Rod(rod), Constraint::Rod { a, b, .. }) = (*joint, m.constraints[i]) else {
                continue;
            };
            let along = rig.rod_along(i, pose.params, &pose.here.poses);
            for (end, sign) in [(a, 1.0), (b, -1.0)] {
                let anchor = m.anchors[end];
                let plane = &m.planes[anchor.plane];
                let force = sign * rows[rig.rows[i]];
                let [x, y, z] =
                    [plane.right, plane.up, plane.normal()].map(|axis| force * dot(along, axis));
                let Some(part) = rig
                    .model
                    .machine
                    .parts
                    .get(anchor.body)
                    .filter(|_| anchor.body != FRAME)
                else {
                    continue;
                };
                if dot(along, plane.normal()).abs() <= NOTHING {
                    continue;
                }
                let Some(&pivot) = part.carries.first() else {
                    continue;
                };
                let pivot = part
                    .clamped_to
                    .and_then(|s| rig.model.machine.parts[s].carries.first())
                    .copied()
                    .unwrap_or(pivot);
                let Some(pivot) = rig.model.anchor_of(anchor.body, pivot) else {
                    continue;
                };
                let (p, q) = (
                    m.in_plane(pose.params, &pose.here.poses, end),
                    m.in_plane(pose.params, &pose.here.poses, pivot),
                );
                let base = match part.clamped_to {
                    Some(_) => hub_station(rig, anchor.body).unwrap_or(pose.params[anchor.w]),
                    None => pose.params[m.anchors[pivot].w],
                };
                let [ex, ey, ez] = [p[0] - q[0], p[1] - q[1], pose.params[anchor.w] - base];
                all.push(OutOfPlane {
                    part: part.name.clone(),
                    rod: rig.model.machine.rods[rod].name.clone(),
                    row: index,
                    thrust: z,
                    tilting: (ey * z - ez * y).hypot(ez * x - ex * z),
                });
            }
        }
        all
    }
}

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
struct Hand {
    anchor: AnchorId,
    /// Unit vector in its plane, the way it pushes to make the drive's value grow.
    direction: [f64; 2],
    /// How far it goes that way for a unit of the drive: the arm, mm (1 for a slide).
    arm: f64,
    /// That is the way the file names (1) or the other (-1); none when it names none.
    way: Option<f64>,
}
