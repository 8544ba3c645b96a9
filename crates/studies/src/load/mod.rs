//! How hard is everything pressed, what must the hand pull, does it stay, what gives and what rattles?
//!
//! ```text
//! fn load(&Model, &Stand, &LoadRequest) -> Result<Loads, Refusal>            // forces, effort, holding; over a drive or one pose
//! fn stretch(&Model, &Stand, case) -> Result<Stretch, Refusal>               // what gives, member by member
//! fn lost_motion(&Model, &Stand, case) -> Result<LostMotion, Refusal>        // play, and what takes it up
//! fn bands(&Model, &Stand, case, sweep) -> Result<BandsTable, Refusal>       // nominal, loaded, play, tolerance
//! fn pressed(&Model, &Stand, case, exaggerated) -> Result<Pressed, Refusal>  // the very pose on show; stretch drawn larger
//! fn arrows(&Model, &Stand, case, drive) -> Result<Arrows, Refusal>          // every force, for a picture
//! fn judge_effort, judge_holds, judge_loaded                                 // what asks of load judge
//! ```
//!
//! # Conventions
//! - Moments and forces of a drive count in its sense: positive drives its value up.
//! - *Friction high* is used for what the hand must pull, *friction low* for what stays when it lets go.
//! - A case is an index into the cases of the machine file; a machine without cases has one, "all", with index 0.

pub(crate) mod acting;
pub mod answers;
mod arrows;
pub(crate) mod bands;
mod bars;
mod beam;
pub(crate) mod course;
mod detents;
pub(crate) mod felt;
pub(crate) mod findings;
pub(crate) mod gives;
mod here;
mod judge;
pub(crate) mod loaded;
mod nodes;
pub(crate) mod notched;
mod pins;
mod places;
mod play;
pub(crate) mod poses;
pub(crate) mod rig;
pub(crate) mod row;
mod rubbing;
pub(crate) mod say;
mod seats;
pub(crate) mod service;
mod shafts;
pub(crate) mod stock;
mod stretch;
mod summary;
pub(crate) mod terms;

use crate::answers::{Finding, Severity};
use crate::assemble::{Model, Stand};
use crate::call::Sweep;
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use acting::LoadCase;
use answers::{CaseLoads, DriveForce, Loads};
use places::Known;
use rayon::prelude::*;
use rig::Rig;
use row::{Moved, Ready, Row};

pub use arrows::arrows;
pub use bands::bands;
pub use here::{Pressed, pressed};
pub use judge::{Weighed, judge_effort, judge_holds, judge_loaded};
pub use play::lost_motion;
pub use stretch::stretch;

/// A place between the rows is told when it is worse by more than this share.
const TELLING: f64 = 1e-3;

/// What is asked of [`load`].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LoadRequest {
    /// One case; all when not given.
    pub case: Option<usize>,
    /// Poses over a drive; the one pose of the stand when not given.
    pub sweep: Option<Sweep>,
}

/// Everything of a machine that is the same in all poses.
pub(crate) fn ready<'r, 'm>(rig: &'r Rig<'m>) -> Ready<'r, 'm> {
    Ready::new(
        rig,
        shafts::shafts(rig),
        rubbing::rubbing(rig),
        gives::members(rig),
    )
}

/// The cases that are asked for.
fn chosen(cases: Vec<LoadCase>, case: Option<usize>) -> Result<Vec<LoadCase>, Refusal> {
    match case {
        None => Ok(cases),
        Some(i) => {
            let known: Vec<String> = cases.iter().map(|c| c.name.clone()).collect();
            let found = cases.into_iter().nth(i).map(|c| vec![c]);
            found.ok_or_else(|| {
                Refusal::new(
                    format!("the machine has no load case number {}", i + 1),
                    known.join(", "),
                )
            })
        }
    }
}

/// One case.
fn only(cases: Vec<LoadCase>, case: usize) -> Result<LoadCase, Refusal> {
    let mut found = chosen(cases, Some(case))?;
    found
        .pop()
        .ok_or_else(|| Refusal::new("the machine has no load case", "add a [load.NAME]"))
}

/// Where a machine stands under a case: drives that the case names stand as it says, unless somebody put them where they are. As
/// asked for when there is no such case.
pub fn stand_under(model: &Model, case: usize, asked: &Stand) -> Stand {
    let cases = acting::cases(&Rig::new(model));
    poses::stand(model, cases.get(case), asked)
}

/// Forces in every joint, what each drive needs, what stays when the hand lets go; with what is worst.
///
/// # Errors
/// Nothing loads the machine; values that cannot be reached; a case or drive that does not exist.
pub fn load(model: &Model, stand: &Stand, request: &LoadRequest) -> Result<Loads, Refusal> {
    let rig = Rig::new(model);
    let cases = acting::cases(&rig);
    if cases.iter().all(|c| c.acting.is_empty()) {
        return Err(Refusal::new(
            "nothing loads this machine",
            "add a [load.NAME], a [spring.NAME] or weight = \"down\"",
        ));
    }
    let cases = chosen(cases, request.case)?;
    let ready = Ready::new(
        &rig,
        shafts::shafts(&rig),
        rubbing::rubbing(&rig),
        gives::members(&rig),
    );
    let mut bench = Bench::new(model);
    let mut studied = Vec::new();
    for case in &cases {
        studied.push(study(
            &ready,
            &mut bench,
            case,
            stand,
            request.sweep.as_ref(),
        )?);
    }
    let mut loads = Loads {
        machine: model.machine.name.clone(),
        drive: request.sweep.as_ref().map(|s| model.drive(s.drive)),
        joints: rig.joints.clone(),
        worst: summary::worst_joints(&rig, &studied),
        cases: studied,
        detents: detents::detents(&rig),
        assumed: summary::assumed(&ready),
        findings: Vec::new(),
    };
    loads.findings = findings::findings(&ready, &loads);
    Ok(loads)
}

/// Joints of the machine as drawn that repeat one another and of which nothing says how they share a load.
pub(crate) fn unshared(rig: &Rig<'_>) -> Vec<Finding> {
    let m = &rig.mechanism;
    let loaded = acting::cases(rig).iter().any(|c| !c.acting.is_empty());
    let members = gives::members(rig);
    let Ok(tangent) = members.tangent(rig, &m.params, &m.drawn) else {
        return Vec::new();
    };
    if !loaded || !tangent.split_undetermined() {
        return Vec::new();
    }
    let rows = tangent.undetermined();
    let joints = rig.joints.iter().enumerate();
    let shared = joints.filter(|(j, _)| rig.rows_of(*j).iter().any(|r| rows[*r]));
    let shared: Vec<String> = shared.map(|(_, j)| j.name.clone()).collect();
    vec![Finding {
        severity: Severity::Caution,
        sentence: findings::unshared(&shared, "load"),
        number: None,
        margin: None,
        inside: None,
        what_to_try: Some(String::from(findings::SHARES)),
        about: String::from("machine"),
        place: machine::Place::default(),
    }]
}

/// Poses of a drive's reach in which faults are looked for.
const LOOKED_AT: f64 = 24.0;

/// What cannot work under load, over the reach of every drive: what jams, what nothing holds. A share of what [`load`] finds.
pub(crate) fn faults(model: &Model) -> Vec<Finding> {
    let mut found: Vec<Finding> = Vec::new();
    for (drive, d) in model.machine.drives.iter().enumerate() {
        let width = d
            .range
            .map_or(std::f64::consts::TAU, |[a, b]| (b - a).abs());
        let request = LoadRequest {
            case: None,
            sweep: Some(Sweep {
                drive,
                from: None,
                to: None,
                step: Some(width / LOOKED_AT).filter(|s| *s > 0.0),
                readings: Vec::new(),
            }),
        };
        let Ok(loads) = load(model, &model.drawn(), &request) else {
            continue;
        };
        let bad = loads.findings.into_iter();
        for finding in bad.filter(|f| f.severity == Severity::Fault) {
            if found.iter().all(|f| f.sentence != finding.sentence) {
                found.push(finding);
            }
        }
    }
    found
}

fn study(
    ready: &Ready<'_, '_>,
    bench: &mut Bench<'_>,
    case: &LoadCase,
    stand: &Stand,
    sweep: Option<&Sweep>,
) -> Result<CaseLoads, Refusal> {
    let model = ready.rig.model;
    let moved = sweep.map_or(Moved::Each, |s| Moved::One(s.drive));
    let poses = poses::poses(bench, &poses::stand(model, Some(case), stand), sweep)?;
    let mut rows: Vec<Row> = poses
        .all
        .par_iter()
        .enumerate()
        .map(|(i, at)| match &at.here {
            Some(here) => ready.row(case, here, at.value, i, moved),
            None => ready.unreached(at.value),
        })
        .collect();
    if let (Some(mut path), Moved::One(drive)) = (poses.path, moved) {
        for row in &mut rows {
            let let_go = row
                .row
                .drives
                .get_mut(drive)
                .and_then(|f| f.let_go.as_mut());
            if let (Some(at), Some(let_go)) = (row.row.at, let_go) {
                path.rest(at, let_go);
            }
        }
        let known: Vec<Known> = rows.iter().filter_map(Known::of).collect();
        let mut between = worst_between(ready, case, &mut path, drive, &rows);
        between.extend(steps(ready, case, &mut path, &rows));
        between.extend(places::corners(ready, case, &mut path, &known));
        between.extend(places::notches(ready.rig, &mut path, drive, &known));
        let falling = rows
            .first()
            .zip(rows.last())
            .is_some_and(|(a, b)| a.row.at > b.row.at);
        for (at, here) in between {
            let before = |r: &Row| {
                r.row
                    .at
                    .is_some_and(|v| if falling { v > at } else { v < at })
            };
            let index = rows.partition_point(before);
            rows.insert(index, ready.row(case, &here, Some(at), index, moved));
        }
        // Rows that stand later now have another number.
        for (i, row) in rows.iter_mut().enumerate() {
            row.number(i);
        }
    }
    let held = model.held(&poses.held, sweep.map(|s| s.drive));
    Ok(summary::case(ready, case, held, rows))
}

/// Halvings by which the place of a step is found.
const HALVINGS: usize = 40;

/// Share of a force that counts as all of it.
const WHOLE: f64 = 0.999;
/// Steps nearer than this, in the unit of the drive, are one.
const SAME: f64 = 1e-8;

/// Places on both sides of where work begins with its full force at once, so that the step is seen for what it is.
fn steps(
    ready: &Ready<'_, '_>,
    case: &LoadCase,
    path: &mut poses::Path<'_>,
    rows: &[Row],
) -> Vec<(f64, Here)> {
    let rig = ready.rig;
    let mut found = Vec::new();
    for acting in case.acting.iter().filter(|a| a.law.steps()) {
        let acts = |row: &Row| {
            let acted = row.row.acted.iter().find(|a| a.name == acting.name)?;
            Some((row.row.at?, acted.force != 0.0))
        };
        let here_acts = |here: &Here| {
            let on = acting.measure(rig, &here.poses);
            let value = rig.mechanism.measure(&rig.params(here), &here.poses, &on);
            acting.law.at(value).0 != 0.0
        };
        for pair in rows.windows(2) {
            let (Some((mut a, one)), Some((mut b, other))) = (acts(&pair[0]), acts(&pair[1]))
            else {
                continue;
            };
            if one == other {
                continue;
            }
            for _ in 0..HALVINGS {
                let middle = 0.5 * (a + b);
                let Some(here) = path.at(middle) else { break };
                if here_acts(&here) == one {
                    a = middle;
                } else {
                    b = middle;
                }
            }
            // The machine gives: the force falls from full to nothing over as much of the way as it takes to let the faces go. One row
            // stands where it is whole yet, one where the work begins.
            let begins = if one { b } else { a };
            let (mut whole, mut gone) = if one {
                (pair[0].row.at.unwrap_or(a), begins)
            } else {
                (pair[1].row.at.unwrap_or(b), begins)
            };
            let force = |at: f64, path: &mut poses::Path<'_>| {
                let row = ready.row(case, &path.at(at)?, Some(at), 0, Moved::None).row;
                Some(
                    row.acted
                        .iter()
                        .find(|x| x.name == acting.name)?
                        .force
                        .abs(),
                )
            };
            let Some(full) = force(whole, path) else {
                continue;
            };
            for _ in 0..HALVINGS {
                let middle = 0.5 * (whole + gone);
                let Some(now) = force(middle, path) else {
                    break;
                };
                if now >= WHOLE * full {
                    whole = middle;
                } else {
                    gone = middle;
                }
            }
            // Two loads may begin at one place.
            let known = found
                .iter()
                .any(|f: &(f64, Here)| (f.0 - begins).abs() < SAME);
            if !known {
                let both = [whole, begins].map(|at| Some((at, path.at(at)?)));
                found.extend(both.into_iter().flatten());
            }
        }
    }
    found
}

/// The worst places of a drive between the rows: where it takes most effort, where it is least held. Told only where they are worse than
/// any row by more than a thousandth.
fn worst_between(
    ready: &Ready<'_, '_>,
    case: &LoadCase,
    path: &mut poses::Path<'_>,
    drive: usize,
    rows: &[Row],
) -> Vec<(f64, Here)> {
    let effort = |f: &DriveForce| summary::against(f).map(|a| a.0);
    let loose = |f: &DriveForce| {
        let let_go = f.let_go.as_ref();
        let let_go = let_go.filter(|l| l.pushed != 0.0 && l.rests_on.is_none())?;
        Some(-let_go.factor?)
    };
    let kinds: [(bool, &dyn Fn(&DriveForce) -> Option<f64>); 2] =
        [(true, &effort), (false, &loose)];
    let mut found = Vec::new();
    for (with_effort, of) in kinds {
        let known: Vec<(f64, f64)> = rows
            .iter()
            .filter_map(|r| Some((r.row.at?, of(r.row.drives.get(drive)?)?)))
            .collect();
        let most = known.iter().fold(f64::NEG_INFINITY, |m, k| m.max(k.1));
        let look = |at: f64| of(&ready.force(case, &path.at(at)?, drive, with_effort)?);
        if let Some((at, value)) = poses::between(&known, look)
            && value - most > TELLING * most.abs()
            && let Some(here) = path.at(at)
        {
            found.push((at, here));
        }
    }
    found
}
