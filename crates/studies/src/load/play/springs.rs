//! Springs that take up play: what those of the machine do, and which would do it.

use super::loose::{Loose, Taken, dot, length, loose, taken};
use super::pressing;
use crate::load::acting::{Acting, LoadCase, Source};
use crate::load::answers::{TakeUp, WantedSpring};
use crate::load::gives::Members;
use crate::load::loaded::balance;
use crate::load::rig::Rig;
use crate::load::terms::Term;
use crate::run::Here;
use mechanics::tangent::Singular;

/// The least spring on a reading that keeps what it presses seated against weights and springs.
pub(super) fn wanted(
    rig: &Rig<'_>,
    term: &Term,
    case: &LoadCase,
    members: &Members,
) -> Option<WantedSpring> {
    let params = rig.params(&term.here);
    let tangent = members.tangent(rig, &params, &term.here.poses).ok()?;
    let unit = tangent.sensitivity(&term.measure).ok()?.by_param;
    let always = case.only(Acting::always);
    let rest = balance(rig, &tangent, &params, &term.here.poses, &always, members).ok()?;
    let loose = loose(rig, &params, &term.here.poses, &rest.reactions.rows);
    let rest = rest.on_params;
    // A unit spring on the reading and the others, on everything loose.
    let pressed = taken(&loose, &rest, &unit);
    let one_way = |sign: f64| {
        let (force, joint) = least(&loose, &pressed, sign);
        WantedSpring {
            opens: sign > 0.0,
            force,
            joint,
            cannot: Vec::new(),
        }
    };
    let (open, shut) = (one_way(1.0), one_way(-1.0));
    let mut wanted = if shut.force < open.force { shut } else { open };
    let idle = loose
        .iter()
        .zip(&pressed)
        .filter(|(_, t)| length(&t.always) <= 0.0 && length(&t.all) <= 0.0);
    wanted.cannot = idle.map(|(l, _)| l.joint.clone()).collect();
    Some(wanted)
}

/// How many times what presses as `always` does, in this sense, it takes to keep everything that it presses seated against `all`; and the
/// joint that asks for it.
fn least(loose: &[Loose], taken: &[Taken], sense: f64) -> (f64, Option<String>) {
    let (mut most, mut joint) = (0.0, None);
    for (l, t) in loose.iter().zip(taken) {
        let square = dot(&t.always, &t.always);
        if square > 0.0 {
            let factor = -sense * dot(&t.all, &t.always) / square;
            if factor > most {
                most = factor;
                joint = Some(l.joint.clone());
            }
        }
    }
    (most, joint)
}

/// What every spring of the case gives, and what it would have to give here.
pub(super) fn take_up(
    rig: &Rig<'_>,
    here: &Here,
    case: &LoadCase,
    members: &Members,
    loose: &[Loose],
) -> Result<Vec<TakeUp>, Singular> {
    let mut all = Vec::new();
    for acting in &case.acting {
        let Source::Spring(index) = acting.source else {
            continue;
        };
        let own = pressing(
            rig,
            here,
            &case.only(|a| a.source == acting.source),
            members,
        )?
        .0;
        let others = pressing(
            rig,
            here,
            &case.only(|a| a.source != acting.source),
            members,
        )?
        .0;
        let rest = pressing(
            rig,
            here,
            &case.only(|a| a.source != acting.source && a.always()),
            members,
        )?
        .0;
        let poses = &here.poses;
        let force = acting
            .law
            .at(rig
                .mechanism
                .measure(&rig.params(here), poses, &acting.measure(rig, poses)))
            .0;
        let mut up = TakeUp {
            spring: rig.work().springs[index].name.clone(),
            force: force.abs(),
            needed: None,
            joint: None,
            stays_over: false,
            needed_at_work: None,
            joint_at_work: None,
            cannot: Vec::new(),
        };
        if force != 0.0 {
            let (at_rest, at_work) = (taken(loose, &rest, &own), taken(loose, &others, &own));
            let (needed, joint) = least(loose, &at_rest, 1.0);
            // With everything that acts it lies where it lies without load.
            up.stays_over = joint.as_ref().is_some_and(|joint| {
                let sums = at_rest.iter().zip(&at_work).zip(loose);
                let of = sums.filter(|(_, l)| l.joint == *joint);
                let mut same = of.map(|((rest, work), _)| {
                    let sum = |t: &Taken| -> Vec<f64> {
                        t.all.iter().zip(&t.always).map(|(a, b)| a + b).collect()
                    };
                    dot(&sum(rest), &sum(work)) > 0.0
                });
                needed > 1.0 && same.all(|same| same)
            });
            (up.needed, up.joint) = (Some(needed * force.abs()), joint);
            let (needed, joint) = least(loose, &at_work, 1.0);
            (up.needed_at_work, up.joint_at_work) = (Some(needed * force.abs()), joint);
            let left = loose.iter().zip(&at_rest);
            let left = left.filter(|(_, t)| length(&t.always) <= 0.0 && length(&t.all) <= 0.0);
            up.cannot = left.map(|(l, _)| l.joint.clone()).collect();
        }
        all.push(up);
    }
    Ok(all)
}
