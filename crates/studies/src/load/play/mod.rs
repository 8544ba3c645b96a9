//! Lost motion: the play of every joint, what takes it up, and what is left of it.

mod loose;
mod springs;
mod words;

use super::acting::{Acting, LoadCase};
use super::answers::{JointPlay, LostMotion, PlayShare, ReadingPlay, Reversal};
use super::gives::Members;
use super::loaded::balance;
use super::rig::Rig;
use super::terms::{Term, terms};
use super::{acting, gives, only, poses};
use crate::assemble::{Model, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use loose::{Loose, Moves, NOTHING, dot, length};
pub(super) use loose::{loose, moves, taken};
use machine::model::FRAME;
use mechanics::tangent::Singular;
use springs::{take_up, wanted};
use words::{finding, place, spring_finding, wanted_finding};

/// Play of every joint under one case in one pose: which side it is taken up to, what it does to every reading, and what a
/// take-up spring must give.
///
/// # Errors
/// No such case; values that cannot be reached; a dead centre.
pub fn lost_motion(model: &Model, stand: &Stand, case: usize) -> Result<LostMotion, Refusal> {
    let rig = Rig::new(model);
    let case = only(acting::cases(&rig), case)?;
    let members = gives::members(&rig);
    let mut bench = Bench::new(model);
    let stand = poses::stand(model, Some(&case), stand);
    let here = bench.bring(&stand)?;
    let dead = |_: Singular| {
        Refusal::new(
            "forces cannot be told here: the machine stands at a dead centre",
            "move a drive a little",
        )
    };
    let params = rig.params(&here);
    let (on_all, rows) = pressing(&rig, &here, &case, &members).map_err(dead)?;
    let loose = loose(&rig, &params, &here.poses, &rows);
    let always = case.only(Acting::always);
    let (on_always, _) = pressing(&rig, &here, &always, &members).map_err(dead)?;
    let taken = taken(&loose, &on_all, &on_always);
    let joints = loose.iter().zip(&taken).map(|(l, t)| {
        let force = length(&t.all);
        // Own axes turn with their body.
        let turned = here
            .poses
            .get(l.body)
            .map_or(0.0, |p| if l.body == FRAME { 0.0 } else { p.angle });
        let side = match t.all.as_slice() {
            // The hole of the part named last moves by minus its own coordinate's shift.
            [x, y] if force > 0.0 => Some((-y).atan2(-x) + turned),
            _ => None,
        };
        JointPlay {
            joint: l.joint.clone(),
            clearance: [l.clearance.low, l.clearance.high],
            force,
            side: side.map(|s| s.rem_euclid(std::f64::consts::TAU)),
            seated: length(&t.always) > 0.0,
            lifted: length(&t.always) > 0.0 && dot(&t.all, &t.always) <= 0.0,
        }
    });
    let mut answer = LostMotion {
        machine: model.machine.name.clone(),
        case: case.name.clone(),
        held: model.held(&stand, None),
        joints: joints.collect(),
        readings: Vec::new(),
        take_up: take_up(&rig, &here, &case, &members, &loose).map_err(dead)?,
        assumed: Vec::new(),
        findings: Vec::new(),
    };
    if loose.is_empty() {
        answer.assumed.push(String::from(
            "no clearance is given: the joints are taken as free of play",
        ));
    }
    let here_under = place(&rig, &answer.held, &case.name);
    // Without cases all loads act all the time: what they take up needs no spring.
    let in_cases = !model.machine.work.cases.is_empty();
    for reading in 0..model.machine.readings.len() {
        let Some(terms) = terms(&mut bench, reading, &here) else {
            continue;
        };
        let Some(found) = over_terms(&rig, &terms, &case, &members) else {
            continue;
        };
        let mut read = of_reading(&mut bench, reading, &here, &loose, &found);
        if let (Some(read), [only]) = (&mut read, terms.as_slice())
            && read
                .reversals
                .iter()
                .any(|r| r.left > 0.0 && (in_cases || r.left_under > 0.0))
        {
            read.wanted = wanted(&rig, only, &case, &members);
        }
        answer
            .findings
            .extend(finding(&rig, reading, &read, &case.name));
        let wanted = read.as_ref();
        let spring = wanted.and_then(|r| wanted_finding(&rig, reading, r, &here_under));
        answer.findings.extend(spring);
        answer.readings.extend(read);
    }
    answer.findings.extend(
        answer
            .take_up
            .iter()
            .filter_map(|t| spring_finding(&rig, t, &here_under)),
    );
    Ok(answer)
}

/// Forces on all parameters in one pose under some of a case's loads, and the reactions to them.
fn pressing(
    rig: &Rig<'_>,
    here: &Here,
    case: &LoadCase,
    members: &Members,
) -> Result<(Vec<f64>, Vec<f64>), Singular> {
    let params = rig.params(here);
    let tangent = members.tangent(rig, &params, &here.poses)?;
    let loaded = balance(rig, &tangent, &params, &here.poses, case, members)?;
    Ok((loaded.on_params, loaded.reactions.rows))
}

fn over_terms(
    rig: &Rig<'_>,
    terms: &[Term],
    case: &LoadCase,
    members: &Members,
) -> Option<Vec<Moves>> {
    let mut all: Vec<Moves> = Vec::new();
    for term in terms {
        let params = rig.params(&term.here);
        let tangent = members.tangent(rig, &params, &term.here.poses).ok()?;
        let sense = tangent.sensitivity(&term.measure).ok()?;
        let loaded = balance(rig, &tangent, &params, &term.here.poses, case, members).ok()?;
        let loose = loose(rig, &params, &term.here.poses, &loaded.reactions.rows);
        let on_all = loaded.on_params;
        let always = case.only(Acting::always);
        let on_always = balance(rig, &tangent, &params, &term.here.poses, &always, members)
            .ok()?
            .on_params;
        let found = moves(
            &loose,
            &taken(&loose, &on_all, &on_always),
            &sense.by_param,
            term.weight,
        );
        for (i, moves) in found.into_iter().enumerate() {
            match all.get_mut(i) {
                // A swing: the same joint at both of its ends.
                Some(sum) => {
                    sum.free += moves.free;
                    sum.loose += moves.loose;
                    sum.seated &= moves.seated;
                    for k in 0..2 {
                        sum.taken[k] += moves.taken[k];
                    }
                }
                None => all.push(moves),
            }
        }
    }
    Some(all)
}

fn of_reading(
    bench: &mut Bench<'_>,
    reading: usize,
    here: &Here,
    loose: &[Loose],
    found: &[Moves],
) -> Option<ReadingPlay> {
    let model = bench.model;
    let value = bench.value(reading, here)?;
    let rattles: f64 = found.iter().map(|m| m.free).sum();
    let taken: [f64; 2] = std::array::from_fn(|k| found.iter().map(|m| m.taken[k]).sum::<f64>());
    let mut joints: Vec<PlayShare> = loose
        .iter()
        .zip(found)
        .filter(|(_, m)| m.free > NOTHING * rattles)
        .map(|(l, m)| PlayShare {
            joint: l.joint.clone(),
            moves: m.free,
        })
        .collect();
    joints.sort_by(|a, b| b.moves.total_cmp(&a.moves));
    let mut reversals = Vec::new();
    for drive in 0..model.machine.drives.len() {
        if !bench.depends(reading, drive) {
            continue;
        }
        let group = bench
            .group_of_drive(drive)
            .and_then(|g| model.groups.get(g));
        let turned = loose
            .iter()
            .zip(found)
            .filter(|(l, _)| group.is_some_and(|g| g.constraints.contains(&l.constraint)));
        let (mut jumps, mut left, mut left_under) = (0.0, 0.0, 0.0);
        for (_, m) in turned {
            jumps += 2.0 * m.free;
            left += if m.seated { 0.0 } else { 2.0 * m.free };
            left_under += 2.0 * m.loose;
        }
        let clean = |left: f64| if left <= NOTHING * jumps { 0.0 } else { left };
        let (left, left_under) = (clean(left), clean(left_under));
        let rate = bench
            .read(reading, here, Some(crate::run::By { drive, rates: None }))
            .and_then(|r| r.slope);
        let lost = rate
            .map(|rate| jumps / rate.abs())
            .filter(|l| l.is_finite() && *l <= widest(model, drive));
        reversals.push(Reversal {
            drive: model.drive(drive),
            jumps,
            left,
            left_under,
            lost,
        });
    }
    Some(ReadingPlay {
        reading: model.reading(reading),
        value,
        rattles,
        taken_up: [taken[0].min(taken[1]), taken[0].max(taken[1])],
        joints,
        reversals,
        wanted: None,
    })
}

/// Beyond this a drive cannot lose anything: straight on from here it would have left its range.
fn widest(model: &Model, drive: usize) -> f64 {
    let d = &model.machine.drives[drive];
    let quarter = std::f64::consts::FRAC_PI_2;
    match d.range {
        Some([a, b]) if crate::run::turns(model, drive) => (b - a).abs().min(quarter),
        Some([a, b]) => (b - a).abs(),
        None if crate::run::turns(model, drive) => quarter,
        None => f64::INFINITY,
    }
}
