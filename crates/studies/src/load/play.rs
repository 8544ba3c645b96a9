//! Lost motion: the play of every joint, what takes it up, and what is left of it.

use super::acting::{Acting, LoadCase, Source};
use super::answers::{
    JointPlay, LostMotion, PlayShare, ReadingPlay, Reversal, TakeUp, WantedSpring,
};
use super::gives::Members;
use super::loaded::balance;
use super::rig::Rig;
use super::terms::{Term, terms};
use super::{acting, gives, only, poses, say};
use crate::answers::{Finding, Inside, Severity};
use crate::assemble::{Joint, Model, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use machine::model::{FRAME, RatioKind};
use machine::work::{JointAt, LowHigh};
use mechanics::model::{Constraint, ParamId, Pose};
use mechanics::tangent::{Singular, Tangent};

/// Forces below this share of the greatest press nothing.
const NOTHING: f64 = 1e-9;

/// What takes less than this share of a spring's force works against it with next to nothing.
const NEXT_TO_NOTHING: f64 = 0.01;

/// Something loose: a movement of up to half its clearance along each of its axes together (a pin in its hole has two, a guide's
/// end one).
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Loose {
    pub(crate) joint: String,
    pub(crate) clearance: LowHigh,
    /// Movement of parameters for a unit along each axis.
    axes: Vec<Vec<(ParamId, f64)>>,
    /// The body whose own axes these are.
    body: usize,
    constraint: usize,
}

impl Loose {
    /// Components along the axes of derivatives by, or forces on, the parameters.
    fn along(&self, by_param: &[f64]) -> Vec<f64> {
        let one = |axis: &Vec<(ParamId, f64)>| {
            axis.iter()
                .map(|(p, k)| k * by_param.get(*p).copied().unwrap_or(0.0))
                .sum()
        };
        self.axes.iter().map(one).collect()
    }
}

fn length(v: &[f64]) -> f64 {
    v.iter().map(|x| x * x).sum::<f64>().sqrt()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Everything loose in the machine, standing as given.
pub(crate) fn loose(rig: &Rig<'_>, params: &[f64], poses: &[Pose]) -> Vec<Loose> {
    let m = &rig.mechanism;
    let mut all = Vec::new();
    for (i, joint) in rig.model.joints.iter().enumerate() {
        let mut add = |joint: String,
                       clearance: Option<LowHigh>,
                       axes: Vec<Vec<(ParamId, f64)>>,
                       body: usize| {
            if let Some(clearance) = clearance.filter(|c| c.high > 0.0) {
                all.push(Loose {
                    joint,
                    clearance,
                    axes,
                    body,
                    constraint: i,
                });
            }
        };
        let name = || {
            rig.reported(i)
                .map_or_else(|| rig.model.joint_name(i), |j| rig.joints[j].name.clone())
        };
        match (*joint, m.constraints[i]) {
            (Joint::Pin { point, .. }, Constraint::Pin { b, .. }) if !rig.is_hub(i) => {
                let hole = m.anchors[b];
                add(
                    name(),
                    rig.clearance(JointAt::Point(point)),
                    vec![vec![(hole.u, 1.0)], vec![(hole.v, 1.0)]],
                    hole.body,
                );
            }
            (Joint::Rod(rod), Constraint::Rod { length, .. }) => {
                for point in rig.model.machine.rods[rod].joins {
                    let name = format!(
                        "{}, end on pin {}",
                        name(),
                        rig.model.machine.points[point].name
                    );
                    add(
                        name,
                        rig.clearance(JointAt::Point(point)),
                        vec![vec![(length, 1.0)]],
                        FRAME,
                    );
                }
            }
            (Joint::SlideLine(slide), Constraint::OnLine { offset, .. }) => {
                let at = JointAt::Slide(slide);
                let turn = rig
                    .model
                    .joints
                    .iter()
                    .position(|j| *j == Joint::SlideTurn(slide));
                let tilt = turn.and_then(|t| {
                    if let Constraint::Angle { angle, .. } = m.constraints[t] {
                        Some(angle)
                    } else {
                        None
                    }
                });
                match (
                    rig.entry(at).and_then(|j| j.length).filter(|l| *l > 0.0),
                    tilt,
                ) {
                    // Either end of the guide may be off by half the clearance.
                    (Some(length), Some(tilt)) => {
                        for (end, sign) in [("one end", -1.0), ("other end", 1.0)] {
                            let axis = vec![(offset, 0.5), (tilt, sign / length)];
                            add(
                                format!("{}, {end}", name()),
                                rig.clearance(at),
                                vec![axis],
                                FRAME,
                            );
                        }
                    }
                    _ => add(name(), rig.clearance(at), vec![vec![(offset, 1.0)]], FRAME),
                }
            }
            (
                Joint::Slot(slot),
                Constraint::OnLine { offset: param, .. } | Constraint::Arc { radius: param, .. },
            ) => {
                add(
                    name(),
                    rig.clearance(JointAt::Slot(slot)),
                    vec![vec![(param, 1.0)]],
                    FRAME,
                );
            }
            (Joint::Rack(rack), Constraint::Rack { offset, .. }) => {
                let own = rig.entry(JointAt::Rack(rack)).and_then(|j| j.clearance);
                add(name(), own, vec![vec![(offset, 1.0)]], FRAME);
            }
            (Joint::Ratio(ratio), Constraint::Ratio { sizes, offset, .. })
                if matches!(
                    rig.model.machine.ratios[ratio].kind,
                    RatioKind::Gear | RatioKind::InternalGear
                ) =>
            {
                // Backlash along the pitch circle, whose radius is the wheel's share of the distance of centres.
                let own = rig.entry(JointAt::Ratio(ratio)).and_then(|j| j.clearance);
                if let Some(centres) = rig.centres(i, params, poses) {
                    add(
                        name(),
                        own,
                        vec![vec![(offset, (sizes[0] + sizes[1]) / centres)]],
                        FRAME,
                    );
                }
            }
            _ => {}
        }
    }
    all
}

/// Forces on all parameters in one pose under some of a case's loads.
fn pressing(
    rig: &Rig<'_>,
    here: &Here,
    case: &LoadCase,
    members: &Members,
) -> Result<Vec<f64>, Singular> {
    let params = rig.params(here);
    let tangent = Tangent::new(&rig.mechanism, &params, &here.poses)?;
    Ok(balance(rig, &tangent, &params, &here.poses, case, members)?.on_params)
}

/// Forces on one loose thing in one pose under one case.
pub(super) struct Taken {
    /// Force along its axes: the whole case, and springs and weights alone.
    all: Vec<f64>,
    always: Vec<f64>,
}

pub(super) fn taken(loose: &[Loose], all: &[f64], always: &[f64]) -> Vec<Taken> {
    let (on_all, on_always): (Vec<_>, Vec<_>) = loose
        .iter()
        .map(|l| (l.along(all), l.along(always)))
        .unzip();
    let top = on_all
        .iter()
        .chain(&on_always)
        .map(|f| length(f))
        .fold(0.0, f64::max);
    let clean = |f: Vec<f64>| {
        if length(&f) <= NOTHING * top {
            vec![0.0; f.len()]
        } else {
            f
        }
    };
    on_all
        .into_iter()
        .zip(on_always)
        .map(|(all, always)| Taken {
            all: clean(all),
            always: clean(always),
        })
        .collect()
}

/// What one loose thing does to a reading.
pub(super) struct Moves {
    /// Either way with the high clearance, when nothing presses.
    pub(super) free: f64,
    /// Signed shift under the case with the low and the high clearance; nothing where nothing presses.
    pub(super) taken: [f64; 2],
    /// Either way where nothing presses under the case; nothing where something does.
    pub(super) loose: f64,
    /// Springs and weights press it.
    seated: bool,
}

/// What everything loose does to a measure whose derivatives by every parameter are given.
pub(super) fn moves(loose: &[Loose], taken: &[Taken], by_param: &[f64], weight: f64) -> Vec<Moves> {
    let one = |(l, t): (&Loose, &Taken)| {
        let by = l.along(by_param);
        let free = weight.abs() * 0.5 * l.clearance.high * length(&by);
        let force = length(&t.all);
        let (towards, loose) = if force > 0.0 {
            (weight * 0.5 * dot(&by, &t.all) / force, 0.0)
        } else {
            (0.0, free)
        };
        let taken = [towards * l.clearance.low, towards * l.clearance.high];
        Moves {
            free,
            taken,
            loose,
            seated: length(&t.always) > 0.0,
        }
    };
    loose.iter().zip(taken).map(one).collect()
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
        let tangent = Tangent::new(&rig.mechanism, &params, &term.here.poses).ok()?;
        let sense = tangent.sensitivity(&term.measure).ok()?;
        let loose = loose(rig, &params, &term.here.poses);
        let on_all = balance(rig, &tangent, &params, &term.here.poses, case, members)
            .ok()?
            .on_params;
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
    let loose = loose(&rig, &params, &here.poses);
    let on_all = pressing(&rig, &here, &case, &members).map_err(dead)?;
    let on_always = pressing(&rig, &here, &case.only(Acting::always), &members).map_err(dead)?;
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
            && read.reversals.iter().any(|r| r.left > 0.0 && (in_cases || r.left_under > 0.0))
        {
            read.wanted = wanted(&rig, only, &case, &members);
        }
        answer
            .findings
            .extend(finding(&rig, reading, &read, &case.name));
        let spring = read.as_ref().and_then(|r| wanted_finding(&rig, reading, r));
        answer.findings.extend(spring);
        answer.readings.extend(read);
    }
    answer.findings.extend(
        answer
            .take_up
            .iter()
            .filter_map(|t| spring_finding(&rig, t, &case.name)),
    );
    Ok(answer)
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

/// The least spring on a reading that keeps what it presses seated against weights and springs.
fn wanted(rig: &Rig<'_>, term: &Term, case: &LoadCase, members: &Members) -> Option<WantedSpring> {
    let params = rig.params(&term.here);
    let tangent = Tangent::new(&rig.mechanism, &params, &term.here.poses).ok()?;
    let unit = tangent.sensitivity(&term.measure).ok()?.by_param;
    let loose = loose(rig, &params, &term.here.poses);
    let always = case.only(Acting::always);
    let rest = balance(rig, &tangent, &params, &term.here.poses, &always, members)
        .ok()?
        .on_params;
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

fn take_up(
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
        )?;
        let others = pressing(
            rig,
            here,
            &case.only(|a| a.source != acting.source),
            members,
        )?;
        let rest = pressing(
            rig,
            here,
            &case.only(|a| a.source != acting.source && a.always()),
            members,
        )?;
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
            needed_at_work: None,
            joint_at_work: None,
            cannot: Vec::new(),
        };
        if force != 0.0 {
            let (at_rest, at_work) = (taken(loose, &rest, &own), taken(loose, &others, &own));
            let (needed, joint) = least(loose, &at_rest, 1.0);
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

fn finding(
    rig: &Rig<'_>,
    reading: usize,
    read: &Option<ReadingPlay>,
    case: &str,
) -> Option<Finding> {
    let read = read.as_ref().filter(|r| r.rattles > 0.0)?;
    let r = &rig.model.machine.readings[reading];
    let show = |v: f64| say::fine(v, r.unit);
    let most = read
        .joints
        .first()
        .map(|j| format!(", most of it in {}", j.joint))
        .unwrap_or_default();
    let back = read.reversals.iter().filter(|r| r.jumps > 0.0).map(|r| {
        let lost = r
            .lost
            .map(|l| format!(" ({} of it)", crate::say::short(l, r.drive.unit)))
            .unwrap_or_default();
        let left = if r.left == 0.0 {
            String::from("springs and weights take all of that up")
        } else if r.left < r.jumps {
            format!("{} of that is left with springs and weights", show(r.left))
        } else {
            String::from("no spring or weight takes that up")
        };
        let left = match r.left_under {
            _ if r.left == 0.0 => left,
            0.0 => format!("{left}, the load takes all of it up"),
            under => format!("{left}, {} under {case}", show(under)),
        };
        format!(
            "; when {} turns back with nothing pressing it loses {}{lost}, {left}",
            r.drive.name,
            show(r.jumps)
        )
    });
    let back: String = back.collect();
    let shift = if read.taken_up[0] == read.taken_up[1] {
        show(read.taken_up[1])
    } else {
        format!("{} to {}", show(read.taken_up[0]), show(read.taken_up[1]))
    };
    let sentence = format!(
        "{} may rattle by ± {}{most}; under {case} play is taken up and shifts it by {shift}{back}",
        r.name,
        show(read.rattles)
    );
    Some(Finding {
        severity: Severity::Note,
        sentence,
        number: Some(read.rattles),
        margin: None,
        inside: Some(Inside::of(r.unit)),
        what_to_try: None,
        about: format!("reading.{}", r.name),
        place: r.place,
    })
}

fn spring_finding(rig: &Rig<'_>, up: &TakeUp, case: &str) -> Option<Finding> {
    let spring = rig.work().springs.iter().find(|s| s.name == up.spring)?;
    let turns = matches!(spring.kind, machine::work::SpringKind::Torsion { .. });
    let show = |v: f64| say::either(v, turns, &rig.model.machine);
    // What is too little to be told is nothing: nobody winds a spring to a hundredth of its force.
    let needed = up.needed?;
    let joint = up.joint.as_ref().filter(|_| needed > NEXT_TO_NOTHING * up.force);
    let inside = Inside::of_load(turns);
    let enough = up.force >= needed;
    let mut sentence = match joint {
        Some(joint) if !enough => format!(
            "spring {} is too weak to keep {joint} seated here: it gives {}, weights and other springs ask for {}",
            up.spring,
            show(up.force),
            show(needed)
        ),
        Some(_) => format!(
            "spring {} keeps every joint that it presses seated without load: it gives {}, where weights and other springs ask for {}",
            up.spring,
            show(up.force),
            show(needed)
        ),
        None => format!(
            "spring {} keeps every joint that it presses seated without load, with {}: next to nothing but friction works against it",
            up.spring,
            show(up.force)
        ),
    };
    if let (Some(at_work), Some(joint)) = (up.needed_at_work, &up.joint_at_work)
        && enough
        && at_work > up.force
    {
        sentence += &format!(
            "; under {case} {joint} goes over to its other side all the same, to stop that it would need {}",
            show(at_work)
        );
    }
    Some(Finding {
        severity: if enough {
            Severity::Note
        } else {
            Severity::Caution
        },
        sentence,
        number: Some(needed),
        margin: Some(up.force - needed),
        inside: Some(inside),
        what_to_try: (!enough).then(|| {
            String::from(
                "make the spring stronger, or let a weight press the joint to the same side",
            )
        }),
        about: format!("spring.{}", up.spring),
        place: spring.place,
    })
}

/// What spring would take up the play of a reading.
fn wanted_finding(rig: &Rig<'_>, reading: usize, read: &ReadingPlay) -> Option<Finding> {
    let wanted = read.wanted.as_ref()?;
    let r = rig.model.machine.readings.get(reading)?;
    let turns = r.unit.kind() == quantity::Kind::Angle;
    let show = |v: f64| say::either(v, turns, &rig.model.machine);
    let way = match (turns, wanted.opens) {
        (true, true) => "turns it counter-clockwise",
        (true, false) => "turns it clockwise",
        (false, true) => "pushes it open",
        (false, false) => "pulls it shut",
    };
    // A force that would be told as 0.00 asks for nothing.
    let told = show(wanted.force);
    let asks = wanted.joint.as_ref();
    let asks = asks.filter(|_| told.contains(|c: char| matches!(c, '1'..='9')));
    let force = match asks {
        Some(joint) => format!(
            "with at least {told} here, which {joint} asks for, and what friction takes on top"
        ),
        None => String::from("with a little more than friction takes: next to nothing works against it"),
    };
    let cannot = if wanted.cannot.is_empty() {
        String::new()
    } else {
        format!("; it does not reach {}", crate::run::list(&wanted.cannot))
    };
    Some(Finding {
        severity: Severity::Note,
        sentence: format!(
            "the lost motion of {} would be taken up by a spring that {way} {force}{cannot}",
            r.name
        ),
        number: Some(wanted.force),
        margin: None,
        inside: Some(Inside::of_load(turns)),
        what_to_try: None,
        about: format!("lost-motion.{}", r.name),
        place: r.place,
    })
}
