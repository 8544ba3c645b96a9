//! The worst of every case: which pose asks most of each drive, joint, shaft and clamp.

use super::answers::{
    CaseLoads, ClampLoad, DriveForce, DriveWorst, JointKind, JointWorst, LetGo, LoadRow,
    OutOfPlane, ShaftLoad, Tipping,
};
use super::rig::Rig;
use super::row::{Ready, Row, hand_anchor, hand_of};
use super::say;
use super::stock::{lumps, made, outside_radius};
use crate::answers::Held;
use machine::work::JointAt;

/// Forces below this share of the greatest are nothing.
const NOTHING: f64 = 1e-9;

pub(super) fn case(
    ready: &Ready<'_, '_>,
    case: &super::LoadCase,
    held: Vec<Held>,
    rows: Vec<Row>,
) -> CaseLoads {
    let rig = ready.rig;
    let drives = (0..rig.drives.len())
        .map(|d| drive(rig, d, &rows))
        .collect();
    let mut shafts: Vec<ShaftLoad> = Vec::new();
    let mut out_of_plane: Vec<OutOfPlane> = Vec::new();
    let equivalent = |s: &ShaftLoad| s.most_bending.unwrap_or(0.0).hypot(s.most_torsion);
    let mut tipping: Vec<Tipping> = Vec::new();
    for row in &rows {
        for tip in &row.tipping {
            match tipping.iter_mut().find(|t| t.joint == tip.joint) {
                Some(worst) if tip.force > worst.force => *worst = tip.clone(),
                Some(_) => {}
                None => tipping.push(tip.clone()),
            }
        }
        for shaft in &row.shafts {
            match shafts.iter_mut().find(|s| s.shaft == shaft.shaft) {
                Some(worst) if equivalent(shaft) > equivalent(worst) => *worst = shaft.clone(),
                Some(_) => {}
                None => shafts.push(shaft.clone()),
            }
        }
        for out in &row.out_of_plane {
            match out_of_plane
                .iter_mut()
                .find(|o| o.part == out.part && o.rod == out.rod)
            {
                Some(worst) if out.tilting > worst.tilting => *worst = out.clone(),
                Some(_) => {}
                None => out_of_plane.push(out.clone()),
            }
        }
    }
    let clamps = clamps(rig, &rows);
    CaseLoads {
        case: case.name.clone(),
        held,
        drives,
        shafts,
        out_of_plane,
        tipping,
        clamps,
        rows: rows.into_iter().map(|r| r.row).collect(),
    }
}

/// What moving against the loads takes in one row: effort, and whether it moves on. At the hand where there is one.
pub(super) fn against(force: &DriveForce) -> Option<(f64, bool)> {
    let on = force.hand_on.or(force.on).map(|f| (f, true));
    let back = force.hand_back.or(force.back).map(|f| (-f, false));
    [on, back]
        .into_iter()
        .flatten()
        .filter(|(f, _)| f.is_finite())
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

/// Whichever of two is less likely to stay. Where nothing pushes, nothing is loose.
fn looser(a: &LetGo, b: &LetGo) -> bool {
    let factor = |l: &LetGo| {
        if l.pushed == 0.0 || l.rests_on.is_some() {
            f64::INFINITY
        } else {
            l.factor.unwrap_or(f64::MAX)
        }
    };
    factor(a) < factor(b)
}

fn drive(rig: &Rig<'_>, drive: usize, rows: &[Row]) -> DriveWorst {
    let model = rig.model;
    let mut hardest: Option<(usize, f64, bool)> = None;
    let mut loosest: Option<(usize, &LetGo)> = None;
    for (i, row) in rows.iter().enumerate() {
        let Some(force) = row.row.drives.get(drive) else {
            continue;
        };
        if let Some((effort, on)) = against(force)
            && hardest.is_none_or(|h| effort > h.1)
        {
            hardest = Some((i, effort, on));
        }
        if let Some(let_go) = &force.let_go
            && loosest.is_none_or(|l| looser(let_go, l.1))
        {
            loosest = Some((i, let_go));
        }
    }
    let hand = hand_anchor(rig, drive).and_then(|_| hand_of(rig, drive));
    DriveWorst {
        drive: model.drive(drive),
        hand: hand.map(|h| model.machine.points[h.at].name.clone()),
        hand_ways: hand.and_then(|h| h.along).map(say::ways),
        hardest: hardest.map(|h| h.0),
        effort: hardest.map(|h| h.1.max(0.0)),
        moving_on: hardest.is_none_or(|h| h.2),
        hardest_closes: hardest.and_then(|h| rows[h.0].closes.get(drive).copied().flatten()),
        on_closes: throughout(
            rows.iter()
                .filter_map(|r| r.closes.get(drive).copied().flatten()),
        ),
        loosest: loosest.map(|l| l.0),
        let_go: loosest.map(|l| l.1.clone()),
    }
}

/// What all of them say; none when they differ or there are none.
fn throughout(mut all: impl Iterator<Item = bool>) -> Option<bool> {
    let first = all.next()?;
    all.all(|other| other == first).then_some(first)
}

/// What a clamp must hold in one pose, N·mm, or N of a drive that slides.
pub(super) fn clamp_holds(clamp: &machine::work::Clamp, row: &LoadRow) -> f64 {
    let Some(force) = row.drives.get(clamp.drive) else {
        return 0.0;
    };
    let Some(let_go) = &force.let_go else {
        return 0.0;
    };
    match (clamp.leaned, force.hand_arm) {
        // The hand leans the way in which the loads drive.
        (Some(lean), Some(arm)) => {
            (force.free.abs() + lean * arm - let_go.friction).max(let_go.to_hold)
        }
        _ => let_go.to_hold,
    }
}

fn clamps(rig: &Rig<'_>, rows: &[Row]) -> Vec<ClampLoad> {
    let machine = &rig.model.machine;
    let mut all = Vec::new();
    for clamp in &rig.work().clamps {
        let holds = |r: &Row| clamp_holds(clamp, &r.row);
        let Some((row, moment)) = greatest(rows, holds) else {
            continue;
        };
        // A drive that slides is held by a straight force.
        let turns = crate::run::turns(rig.model, clamp.drive);
        let force = if turns {
            Some(moment / clamp.radius).filter(|f| f.is_finite())
        } else {
            Some(moment)
        };
        let mu = rig
            .work()
            .usual
            .friction
            .map(|f| f.low)
            .filter(|mu| *mu > 0.0);
        all.push(ClampLoad {
            name: format!("clamp {}", clamp.name),
            row,
            moment,
            leaned: clamp.leaned,
            radius: turns.then_some(clamp.radius),
            force,
            screw: force.zip(mu).map(|(f, mu)| f / mu),
        });
    }
    for (j, joint) in rig
        .joints
        .iter()
        .enumerate()
        .filter(|(_, j)| j.kind == JointKind::Clamp)
    {
        let Some((row, moment)) = greatest(rows, |r| r.row.joints.get(j).map_or(0.0, |f| f.most))
        else {
            continue;
        };
        let shaft = machine.parts.iter().position(|p| p.name == joint.by);
        let own = shaft.and_then(|s| outside_radius(made(rig, s)?.stock.as_ref()?.section));
        let centre = shaft
            .and_then(|s| machine.parts[s].carries.first())
            .copied();
        let radius = own
            .or_else(|| centre.and_then(|p| rig.radius(JointAt::Point(p))))
            .filter(|r| *r > 0.0);
        let force = radius.map(|r| moment / r);
        all.push(ClampLoad {
            name: joint.name.clone(),
            row,
            moment,
            leaned: None,
            radius,
            force,
            screw: None,
        });
    }
    all
}

fn greatest(rows: &[Row], of: impl Fn(&Row) -> f64) -> Option<(usize, f64)> {
    let reached = rows
        .iter()
        .enumerate()
        .filter(|(_, r)| r.row.reached && !r.row.dead_centre);
    reached
        .map(|(i, r)| (i, of(r)))
        .max_by(|a, b| a.1.total_cmp(&b.1))
}

pub(super) fn worst_joints(rig: &Rig<'_>, cases: &[CaseLoads]) -> Vec<JointWorst> {
    let mut worst: Vec<JointWorst> = Vec::new();
    for joint in 0..rig.joints.len() {
        let mut found: Option<JointWorst> = None;
        let mut pull_and_push = [0.0_f64; 2];
        let mut undetermined = false;
        for (c, case) in cases.iter().enumerate() {
            for (r, row) in case.rows.iter().enumerate() {
                let Some(force) = row.joints.get(joint) else {
                    continue;
                };
                pull_and_push = [
                    pull_and_push[0].max(force.value),
                    pull_and_push[1].max(-force.value),
                ];
                undetermined |= force.undetermined;
                if found.as_ref().is_none_or(|f| force.most > f.most) {
                    found = Some(JointWorst {
                        joint,
                        case: c,
                        row: r,
                        most: force.most,
                        pull_and_push: None,
                        undetermined: false,
                    });
                }
            }
        }
        worst.extend(found.map(|f| {
            let rod = rig.joints[joint].kind == JointKind::Rod;
            JointWorst {
                pull_and_push: rod.then_some(pull_and_push),
                undetermined,
                ..f
            }
        }));
    }
    // Forces first, then moments; the greatest of each first.
    let is_moment = |w: &JointWorst| rig.joints[w.joint].is_moment;
    for moments in [false, true] {
        let of_kind = |w: &JointWorst| is_moment(w) == moments;
        let top = worst
            .iter()
            .filter(|w| of_kind(w))
            .fold(0.0, |m: f64, w| m.max(w.most));
        worst.retain(|w| !of_kind(w) || w.most > NOTHING * top || w.undetermined);
    }
    worst.sort_by(|a, b| {
        is_moment(a)
            .cmp(&is_moment(b))
            .then(b.most.total_cmp(&a.most))
    });
    worst
}

/// What was taken for granted where the file says nothing.
pub(super) fn assumed(ready: &Ready<'_, '_>) -> Vec<String> {
    let rig = ready.rig;
    let mut all = Vec::new();
    let listed = |names: &[String]| match names {
        [first @ .., _] if names.len() > 4 => {
            format!("{} and {} more", first[..3].join(", "), names.len() - 3)
        }
        names => crate::run::list(names),
    };
    if !ready.rubbing.without_friction.is_empty() {
        all.push(format!(
            "no friction is given for {}: taken as none",
            listed(&ready.rubbing.without_friction)
        ));
    }
    if !ready.rubbing.without_diameter.is_empty() {
        all.push(format!(
            "no diameter is given for {}: taken without friction",
            listed(&ready.rubbing.without_diameter)
        ));
    }
    if rig.work().weight.is_none() {
        all.push(String::from(
            "weights are left out: the file has no weight = \"down\"",
        ));
    }
    if rig.work().weight.is_some() {
        let lumps = lumps(rig);
        let bare = |part: &&machine::model::Part| lumps.iter().all(|l| l.of != part.name);
        let parts = rig.model.machine.parts.iter().skip(1);
        let bare: Vec<String> = parts.filter(bare).map(|p| p.name.clone()).collect();
        if !bare.is_empty() {
            all.push(format!(
                "no stock and no mass is given for {}: taken as weightless",
                listed(&bare)
            ));
        }
    }
    let teeth = |r: &&machine::model::Ratio| {
        matches!(
            r.kind,
            machine::model::RatioKind::Gear | machine::model::RatioKind::InternalGear
        )
    };
    let machine = &rig.model.machine;
    if machine.ratios.iter().any(|r| teeth(&r)) || !machine.racks.is_empty() {
        all.push(String::from(
            "teeth press at 20 deg (ISO 53) where the file names no angle, and lose nothing where no friction is given for them",
        ));
    }
    all.extend(stiff(ready));
    let at_two = rig.work().joints.iter().any(|j| j.stations.len() == 2);
    if at_two {
        all.push(String::from(
            "what lies on a shaft at two stations is held against tipping by these alone; a guide of it is taken not to help",
        ));
    }
    for motor in rig.work().motors.iter().filter(|m| {
        let own = |d: &machine::model::Drive| d.moves == machine::model::Moves::Turns(m.turns);
        !machine.drives.iter().any(own)
    }) {
        all.push(format!(
            "motor {} gives the whole moment at every place, through the gears and belts behind {}: a fly-wheel spares those that stand before it",
            motor.name,
            rig.model.body_name(motor.turns)
        ));
    }
    let belts = rig.model.machine.ratios.iter().any(|r| {
        matches!(
            r.kind,
            machine::model::RatioKind::Belt | machine::model::RatioKind::CrossedBelt
        )
    });
    if belts {
        all.push(String::from(
            "how tight belts are is not known: what that adds to their bearings is left out",
        ));
    }
    let unsupported = ready
        .shafts
        .iter()
        .filter(|s| s.bearings.is_none())
        .map(|s| rig.model.machine.parts[s.part].name.clone());
    let unsupported: Vec<String> = unsupported.collect();
    if !unsupported.is_empty() {
        all.push(format!(
            "no bearings are given for {}: taken as stiff in bending, its load as one",
            listed(&unsupported)
        ));
    }
    all
}

/// What is taken as stiff, and how pins give.
fn stiff(ready: &Ready<'_, '_>) -> Vec<String> {
    if ready.members.members.is_empty() {
        return vec![String::from(
            "nothing is known of stock and stiffness: the machine is taken as stiff",
        )];
    }
    let mut all = Vec::new();
    let stiff = &ready.members.stiff;
    if !stiff.is_empty() {
        all.push(format!(
            "no stock is given for {}: taken as stiff",
            crate::run::list(stiff)
        ));
    }
    if ready.rig.work().stiffnesses.is_empty() {
        all.push(String::from(
            "the frame is taken as stiff: measure what gives of it and write it as [stiffness.NAME]",
        ));
    }
    all.push(String::from(
        "pins without a stiffness give as bolts in metal lugs do (Huth); running fits give more",
    ));
    all
}
