//! One pose under one load case: forces, what each drive needs, and what happens when the hand lets go.

mod drive;
mod hand;
mod motor;

use super::acting::{LoadCase, Source};
use super::answers::{
    Acted, DriveForce, JointForce, JointKind, LoadRow, OutOfPlane, ShaftLoad, Tipping,
};
use super::felt::{Bent, Felt};
use super::gives::Members;
use super::loaded::{Loaded, balance};
use super::rig::{Found, Rig, Tooth, dot, with_teeth};
use super::rubbing::AllRubbing;
use super::shafts::{Push, Shaft, diagram, pushes, tipping};
use super::stock::hub_station;
use crate::assemble::Joint;
use crate::run::Here;
use drive::Under;
use hand::Hand;
pub(crate) use hand::{hand_anchor, hand_of};
use machine::model::FRAME;
use mechanics::model::Constraint;
use mechanics::statics::Reactions;
use mechanics::tangent::{Singular, Tangent};

/// Less than this share of the greatest reaction times the machine's size drives nothing.
const NOTHING: f64 = 1e-9;

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
        for &(constraint, ends) in &case.carried {
            let along = rig.rod_along(constraint, &params, &here.poses);
            let row = rig.rows.get(constraint).and_then(|r| rows.get(*r));
            let joint = rig.reported(constraint).and_then(|j| joints.get_mut(j));
            let (Some(push), Some(joint)) = (row, joint) else {
                continue;
            };
            // The rod pushes both ends apart; its mass hangs on them besides.
            let push = joint.most.copysign(*push);
            let at = |sign: f64, own: [f64; 3]| {
                let force: [f64; 3] = std::array::from_fn(|i| sign * push * along[i] + own[i]);
                dot(force, force).sqrt()
            };
            joint.most = joint.most.max(at(1.0, ends[0])).max(at(-1.0, ends[1]));
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
