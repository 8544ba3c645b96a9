//! What turns the crank: its moment over the turn with work, friction and inertia, the fly-wheel that evens it out, how long it runs on,
//! what shakes the frame, and how hard the pins are pressed at speed.
//!
//! Inertia acts as forces on the parts (d'Alembert) at a steady speed of the drive; they go through the same balance as all other loads, so
//! that they raise friction, bend shafts and press pins as these do. The fly-wheel is worked out from the energy of each place
//! ([`elements::flywheel`]) and not from the steady speed.

mod answers;
mod moving;
mod sums;

pub use answers::{
    Balance, Effort, FastWheel, Flywheel, PinAtSpeed, RunDown, Turning, TurningAsked,
};
pub(crate) use moving::at_speed;
pub(super) use moving::{direction, gathered, load_knees, rates, senses, with_inertia};
pub(super) use sums::coast;

use super::keeping;
use super::masses::{Masses, Weighed, masses};
use super::period::Period;
use super::pressed;
use super::{Spot, dial};
use crate::answers::Inside;
use crate::assemble::{Model, Stand};
use crate::load::acting::{self, Acting, LoadCase};
use crate::load::poses::{Path, stand as stand_of};
use crate::load::rig::Rig;
use crate::load::row::{Moved, Ready, hand_of};
use crate::load::service::follows;
use crate::load::{answers::LoadRow, ready};
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use elements::flywheel;
use machine::model::Moves;
use machine::work::LoadKind;
use mechanics::dynamics::{Reduced, reduced, shaking};
use moving::moved_body;
use rayon::prelude::*;
use std::f64::consts::TAU;
use sums::{balance, pins, run_down};

/// Places of a turn, and of many turns at most.
const PLACES: usize = 360;
const MOST_PLACES: usize = 3600;
/// On either side of a step of acceleration forces are taken so near it, rad or mm.
pub(super) const BESIDE: f64 = 1e-6;
/// Thickness of the disc that is told, mm.
const DISC: f64 = 20.0;
/// Density of steel, kg/mm³ (Shigley, table of physical constants, from memory).
const STEEL: f64 = 7.85e-6;

/// One place, worked out.
struct Place {
    effort: Effort,
    reduced: Option<Reduced>,
    /// Turn of the driven part.
    turned: f64,
    /// How far the place where a hand only pushes goes its way for a unit of the drive; none where it cannot push on.
    arm: Option<f64>,
    /// What it takes at speed less what inertia alone takes: loads, and friction of all forces. And springs and weights alone with their
    /// friction, slow and at speed, again less inertia.
    resists: Option<f64>,
    idle: [Option<f64>; 2],
    rows: [Option<LoadRow>; 2],
}

/// Moments over a turn, and what follows from them.
///
/// # Errors
/// The machine cannot be brought there; no such drive or case; the drive moves nothing.
pub fn turning(model: &Model, stand: &Stand, asked: &TurningAsked) -> Result<Turning, Refusal> {
    let rig = Rig::new(model);
    let cases = acting::cases(&rig);
    let (case, name) = chosen(model, &cases, asked.case)?;
    let mut bench = Bench::new(model);
    let put = stand_of(model, Some(&case), stand);
    let mut path = Path::new(&mut bench, &put, asked.drive)?;
    let (low, high, round) = (path.span.low.at, path.span.high.at, path.span.round);
    let period = if round {
        path.track.period
    } else {
        Period::ONE
    };
    let turns = f64::from(period.turns);
    let turning = model.drive(asked.drive).inside == Inside::Radian;
    let steps = if round || !turning {
        steps(period.turns)
    } else {
        steps(((high - low) / TAU - 1e-9).ceil().max(1.0) as u32)
    };
    let count = if round { steps } else { steps + 1 };
    let grid: Vec<f64> = (0..count)
        .map(|i| low + (high - low) * i as f64 / steps as f64)
        .collect();
    let masses = masses(&rig);
    let ready = ready(&rig);
    let turn = Turn {
        ready: &ready,
        case: &case,
        idle: case.only(Acting::always),
        masses: &masses,
        drive: asked.drive,
        speed: asked.speed,
    };
    let mut nodes: Vec<Node> = Vec::new();
    for &at in &grid {
        nodes.push(Node::new(&mut path, at, Kind::Grid));
    }
    // Forces step where acceleration does, and bend where a load does: both sides of each such place.
    let seams = path.track.seams(model).into_iter();
    let knees = knees(&rig, &case, &nodes, &mut path);
    let besides = seams
        .map(|at| (at, Kind::Seam))
        .chain(knees.into_iter().map(|at| (at, Kind::Knee)));
    for (at, kind) in besides {
        for at in [at - BESIDE, at + BESIDE] {
            if at > low && at < high {
                nodes.push(Node::new(&mut path, at, kind));
            }
        }
    }
    turn.work(&mut nodes, round);
    // And between degrees about what is greatest.
    let ats: Vec<f64> = nodes.iter().map(|n| n.at).collect();
    for i in peaks(&nodes) {
        for other in [ats.get(i.wrapping_sub(1)), ats.get(i + 1)] {
            let Some(other) = other else { continue };
            for share in [0.25, 0.5, 0.75] {
                let at = ats[i] + share * (other - ats[i]);
                nodes.push(Node::new(&mut path, at, Kind::Fine));
            }
        }
    }
    turn.work(&mut nodes, round);
    if model.given_up() {
        return Err(Refusal::new("nobody waits for the answer any more", ""));
    }
    let pauses = pauses(&mut nodes);
    let all_places: Vec<&Place> = nodes.iter().filter_map(|n| n.place.as_ref()).collect();
    let places: Vec<&Place> = nodes
        .iter()
        .filter(|n| n.kind == Kind::Grid)
        .filter_map(|n| n.place.as_ref())
        .collect();
    let on_dial = |at: f64| dial(model, asked.drive, round, period.turns, at);
    let spot = |value: &dyn Fn(&Effort) -> Option<f64>, sign: f64| {
        let known = all_places
            .iter()
            .filter_map(|p| Some((p.effort.at, value(&p.effort)?)));
        known
            .reduce(|a, b| if sign * b.1 > sign * a.1 { b } else { a })
            .map(|(at, value)| Spot {
                at: on_dial(at),
                value,
            })
    };
    let all = |value: &dyn Fn(&Place) -> Option<f64>| -> Option<Vec<f64>> {
        places.iter().map(|p| value(p)).collect()
    };
    // With what loads take between degrees where they bend.
    let resists = all(&|p| p.resists).map(|mut slow| {
        let between: Vec<(f64, f64)> = nodes
            .iter()
            .filter(|n| n.kind == Kind::Knee)
            .filter_map(|n| Some((n.at, n.place.as_ref()?.resists?)))
            .collect();
        gathered(&mut slow, (low, (high - low) / steps as f64), &between);
        slow
    });
    let back = period.comes_back();
    let mean = resists
        .as_ref()
        .filter(|_| round && back)
        .map(|m| flywheel::mean(m));
    let group = bench.group_of_drive(asked.drive);
    let moving: Vec<Weighed> = masses
        .weighed
        .iter()
        .zip(&masses.on)
        .filter(|(_, body)| model.group_of.get(**body).copied().flatten() == group)
        .map(|(w, _)| w.clone())
        .collect();
    let mut left_out = masses.unknown.clone();
    let missing = places.iter().filter(|p| p.effort.moves.is_none()).count();
    if missing > 0 {
        left_out.push(format!(
            "at {missing} of {count} places it cannot be turned: a dead centre, or it jams there"
        ));
    }
    if asked.case.is_none() {
        left_out.extend(stands_still(model, &cases));
    }
    left_out.extend(behind(model, asked.drive));
    left_out.extend(cannot_push(&rig, asked.drive, &pauses, &on_dial));
    left_out.extend(super::period::words(&model.drive(asked.drive).name, period).filter(|_| !back));
    left_out.extend(springs_back(model, &case));
    let is_round = round && back && model.drive(asked.drive).inside == Inside::Radian;
    let inertia = all(&|p| p.reduced.map(|r| r.inertia));
    let wheel = resists.zip(inertia).filter(|_| is_round);
    let wheel = wheel.map(|(mut slow, inertia)| {
        // Energy is gathered over all the turns.
        slow.iter_mut().for_each(|s| *s *= turns);
        let adds = asked
            .unevenness
            .and_then(|w| flywheel::added(&slow, &inertia, asked.speed, w));
        Flywheel {
            energy: flywheel::fluctuation(&slow),
            as_is: flywheel::unevenness(&slow, &inertia, asked.speed),
            wanted: asked.unevenness,
            adds,
            disc: adds
                .filter(|a| *a > 0.0)
                .map(|a| flywheel::disc(a, DISC, STEEL)),
            fast: adds.filter(|a| *a > 0.0).and_then(|a| {
                let (part, times) = super::period::fastest(model, &path.track)?;
                let adds = a / (times * times);
                Some(FastWheel {
                    part: model.machine.parts.get(part)?.name.clone(),
                    times: times.abs(),
                    adds,
                    disc: flywheel::disc(adds, DISC, STEEL),
                })
            }),
        }
    });
    let rows: Vec<(f64, [Option<&LoadRow>; 2])> = all_places
        .iter()
        .map(|p| (on_dial(p.effort.at), p.rows.each_ref().map(Option::as_ref)))
        .collect();
    let told: Vec<Option<&LoadRow>> = places.iter().map(|p| p.rows[1].as_ref()).collect();
    let cams = keeping::kept(&rig, &rows, &told, (asked.speed, TAU * turns));
    let pressing: Vec<(f64, Option<&Here>, Option<&LoadRow>)> = nodes
        .iter()
        .map(|n| {
            let row = n.place.as_ref().and_then(|p| p.rows[1].as_ref());
            (on_dial(n.at), n.here.as_ref(), row)
        })
        .collect();
    let pressed = pressed::pressed(&rig, &pressing);
    let mut findings = keeping::findings(&rig, &cams, &model.drive(asked.drive), asked.speed);
    let unit = model.drive(asked.drive).unit;
    findings.extend(pressed::too_hard(&rig, &pressed, &|at| {
        quantity::show(on_dial(at), unit, 1)
    }));
    Ok(Turning {
        pressed,
        findings,
        cams,
        drive: model.drive(asked.drive),
        case: name,
        speed: asked.speed,
        held: model.held(&put, Some(asked.drive)),
        masses: moving,
        left_out,
        most: spot(&|e| e.moves, 1.0),
        least: spot(&|e| e.moves, -1.0),
        mean,
        power: mean.map(|m| m * asked.speed),
        hand: spot(&|e| e.hand, 1.0),
        flywheel: wheel,
        run_down: if is_round {
            run_down(&places, asked.speed, turns)
        } else {
            None
        },
        balance: if is_round {
            balance(&places, asked.speed)
        } else {
            None
        },
        pins: pins(&rig, &all_places, &on_dial),
        curve: places.iter().map(|p| p.effort).collect(),
    })
}

/// Work that is taken to give back all that it takes, as nothing says otherwise.
pub(super) fn springs_back(model: &Model, case: &LoadCase) -> Option<String> {
    let whole = |name: &str| {
        let loads = &model.machine.work.loads;
        // What acts is called `load NAME`.
        let name = name.strip_prefix("load ")?;
        let load = loads.iter().find(|l| l.name == name)?;
        let squeezes = matches!(load.kind, LoadKind::Squeezes { .. });
        (squeezes && load.returns >= 1.0).then(|| load.name.clone())
    };
    let all: Vec<String> = case.acting.iter().filter_map(|a| whole(&a.name)).collect();
    (!all.is_empty()).then(|| {
        format!(
            "{} is taken to spring back whole and so takes no work over a turn; what is formed or cut does not: write `returns = 0.1`",
            all.join(", ")
        )
    })
}

/// The case that goes round with the drive.
pub(super) fn chosen(
    model: &Model,
    cases: &[LoadCase],
    asked: Option<usize>,
) -> Result<(LoadCase, String), Refusal> {
    if let Some(index) = asked {
        let case = cases.get(index).ok_or_else(|| {
            Refusal::of_question(
                format!("the machine has no load case number {}", index + 1),
                "",
            )
        })?;
        return Ok((case.clone(), case.name.clone()));
    }
    let following = (0..cases.len()).find(|&i| follows(model, i));
    let case = following.and_then(|i| cases.get(i)).or(cases.first());
    let Some(case) = case else {
        return Err(Refusal::new("the machine has no load case", ""));
    };
    if following.is_some() && case.acting.iter().any(|a| !a.always()) {
        return Ok((case.clone(), case.name.clone()));
    }
    let mut alone = case.only(Acting::always);
    alone.when.clear();
    Ok((alone, String::from("springs and weights alone")))
}

/// Cases that are not taken of themselves, where none is: one of their loads stands still, and nobody said that the machine goes round under it.
fn stands_still(model: &Model, cases: &[LoadCase]) -> Option<String> {
    let loaded = |i: &usize| {
        cases
            .get(*i)
            .is_some_and(|c| c.acting.iter().any(|a| !a.always()))
    };
    let own: Vec<usize> = (0..cases.len()).filter(loaded).collect();
    if own.is_empty() || own.iter().any(|&i| follows(model, i)) {
        return None;
    }
    let named = |i: usize| {
        let work = &model.machine.work;
        let loads = work
            .cases
            .get(i)?
            .loads
            .iter()
            .filter_map(|&l| work.loads.get(l));
        let still = loads
            .filter(|l| !l.drags && !matches!(l.kind, LoadKind::Squeezes { .. }))
            .map(|l| l.name.clone());
        let still: Vec<String> = still.collect();
        let name = &cases.get(i)?.name;
        Some(if still.is_empty() {
            format!("case {name}")
        } else {
            format!("case {name} ({} stands still)", still.join(", "))
        })
    };
    let all: Vec<String> = own.into_iter().filter_map(named).collect();
    Some(format!(
        "not taken, for nothing says that the machine goes round under it: {}; ask for it by name",
        all.join(", ")
    ))
}

struct Turn<'t, 'r, 'm> {
    ready: &'t Ready<'r, 'm>,
    case: &'t LoadCase,
    idle: LoadCase,
    masses: &'t Masses,
    drive: usize,
    speed: f64,
}

impl Turn<'_, '_, '_> {
    /// Puts places in order and works out those that are new.
    fn work(&self, nodes: &mut Vec<Node>, round: bool) {
        nodes.sort_by(|a, b| a.at.total_cmp(&b.at));
        let heres: Vec<Option<&Here>> = nodes.iter().map(|n| n.here.as_ref()).collect();
        let senses = senses(self.ready.rig, self.case, &heres, self.drive, round);
        nodes.par_iter_mut().enumerate().for_each(|(i, node)| {
            if node.place.is_none() {
                let sense = senses.as_ref().and_then(|s| s.get(i));
                node.place = Some(self.place(node.at, node.here.as_ref(), sense));
            }
        });
    }

    fn place(&self, at: f64, here: Option<&Here>, sense: Option<&Vec<f64>>) -> Place {
        let none = Place {
            effort: Effort {
                at,
                loads: None,
                inertia: None,
                moves: None,
                hand: None,
                reduced: None,
                shakes: None,
            },
            reduced: None,
            turned: 0.0,
            arm: None,
            resists: None,
            idle: [None; 2],
            rows: [None, None],
        };
        here.and_then(|here| self.known(at, here, sense))
            .unwrap_or(none)
    }

    fn known(&self, at: f64, here: &Here, sense: Option<&Vec<f64>>) -> Option<Place> {
        let (ready, rig) = (self.ready, self.ready.rig);
        let params = rig.params(here);
        let rates = rates(rig, &params, here, self.drive)?;
        let (m, poses, all) = (&rig.mechanism, &here.poses, &self.masses.all);
        let felt = reduced(m, &params, poses, &rates, all);
        let motion = [self.speed, 0.0];
        let shaken = shaking(m, &params, poses, &rates, all, motion);
        let body = moved_body(rig.model, self.drive);
        let plane = m.planes[m.bodies[body].plane];
        let along = |d: [f64; 3]| shaken.iter().zip(d).map(|(f, d)| f * d).sum::<f64>();
        let slow = sense.map_or_else(|| self.case.clone(), |s| self.case.moving(s));
        let fast = with_inertia(rig, &slow, &params, here, &rates, self.masses, motion);
        let row = |case: &LoadCase| {
            let row = ready
                .row(case, here, Some(at), 0, Moved::One(self.drive))
                .row;
            (row.reached && !row.dead_centre).then_some(row)
        };
        let rows = [row(&slow), row(&fast)];
        let inertia = felt.effort(self.speed, 0.0);
        let given = rows[1].as_ref().and_then(|r| r.drives.get(self.drive));
        // Where a hand or foot that only pushes cannot push on, it goes on by the fly-wheel: what it takes is reckoned at the drive itself.
        let (on, hand, arm) = if only_pushes(rig, self.drive) {
            let on = given.and_then(|_| ready.turned(&fast, here, self.drive)?.high);
            let way = given.filter(|f| f.hand_way.is_some_and(|w| w > 0.0));
            let arm = way.and_then(|f| f.hand_arm).filter(|arm| *arm > 0.0);
            let hand = on.zip(arm).map(|(on, arm)| (on / arm).max(0.0));
            (on, hand, arm)
        } else {
            (
                given.and_then(|f| f.on),
                given.and_then(|f| f.hand_on),
                None,
            )
        };
        let fast = with_inertia(rig, &self.idle, &params, here, &rates, self.masses, motion);
        let idle = [(&self.idle, 0.0), (&fast, inertia)].map(|(case, inertia)| {
            let on = if only_pushes(rig, self.drive) {
                ready.turned(case, here, self.drive)?.high
            } else {
                ready.force(case, here, self.drive, true)?.on
            };
            Some(on? - inertia)
        });
        Some(Place {
            effort: Effort {
                at,
                loads: rows[0]
                    .as_ref()
                    .and_then(|r| Some(r.drives.get(self.drive)?.free)),
                inertia: Some(inertia),
                moves: on,
                hand,
                reduced: Some(felt.inertia),
                shakes: Some([along(plane.right), along(plane.up)]),
            },
            reduced: Some(felt),
            turned: poses[body].angle,
            arm,
            resists: on.map(|m| m - inertia),
            idle,
            rows,
        })
    }
}

/// Places of so many turns: by the degree, as long as they are not too many.
pub(super) fn steps(turns: u32) -> usize {
    let turns = turns.max(1) as usize;
    turns * PLACES.min((MOST_PLACES / turns).max(36))
}

/// Gears and belts between a motor and the drive carry the whole moment.
fn behind(model: &Model, drive: usize) -> Option<String> {
    let machine = &model.machine;
    let Moves::Turns(driven) = machine.drives.get(drive)?.moves else {
        return None;
    };
    let clamped = |part: usize| machine.parts.get(part).and_then(|p| p.clamped_to);
    let same = |a: usize, b: usize| a == b || clamped(a) == Some(b) || clamped(b) == Some(a);
    let motor = machine
        .work
        .motors
        .iter()
        .find(|m| !same(m.turns, driven))?;
    let turned = machine.parts.get(driven)?.name.as_str();
    (!machine.ratios.is_empty()).then(|| {
        format!(
            "motor {} gives what {turned} takes at every place, through the gears and belts between them: a fly-wheel spares those that stand before it",
            motor.name
        )
    })
}

/// Its hand or foot pushes and cannot pull.
fn only_pushes(rig: &Rig<'_>, drive: usize) -> bool {
    hand_of(rig, drive).is_some_and(|h| h.pushes_only && h.along.is_some())
}

/// A hand or foot pushes well where its place goes at least this share of the farthest for a unit of the drive: nearer to a dead centre it would
/// have to push ever harder (sin 30 deg, common practice).
const WELL: f64 = 0.5;

/// Takes the force of a hand that only pushes out where it cannot push well; returns the stretches.
fn pauses(nodes: &mut [Node]) -> Vec<[f64; 2]> {
    let arms = nodes.iter().filter_map(|n| n.place.as_ref()?.arm);
    let most = arms.fold(0.0, f64::max);
    if most <= 0.0 {
        return Vec::new();
    }
    let mut all: Vec<[f64; 2]> = Vec::new();
    let mut inside = false;
    for node in nodes {
        let Some(place) = &mut node.place else {
            continue;
        };
        if place.arm.is_some_and(|arm| arm >= WELL * most) {
            inside = false;
            continue;
        }
        place.effort.hand = None;
        match all.last_mut().filter(|_| inside) {
            Some(last) => last[1] = node.at,
            None => all.push([node.at; 2]),
        }
        inside = true;
    }
    all
}

/// Where a hand or foot does not push on, in words.
fn cannot_push(
    rig: &Rig<'_>,
    drive: usize,
    pauses: &[[f64; 2]],
    on_dial: &dyn Fn(f64) -> f64,
) -> Option<String> {
    let name = rig.model.drive(drive);
    let mut all = pauses.to_vec();
    // Over the end of the turn it is one.
    if let [first, .., last] = &mut all[..]
        && first[0] <= rig.model.machine.drives[drive].drawn
        && (last[1] - first[0]).abs() > TAU - 2.0 * TAU / PLACES as f64
    {
        first[0] = last[0];
        all.pop();
    }
    let each: Vec<String> = all
        .iter()
        .map(|[from, to]| {
            let deg = |x: f64| quantity::show(on_dial(x), name.unit, 0);
            format!("from {} to {}", deg(*from), deg(*to))
        })
        .collect();
    (!each.is_empty()).then(|| {
        format!(
            "what only pushes {} on cannot do so well {}: the fly-wheel has to carry it over there",
            name.name,
            each.join(" and ")
        )
    })
}

/// Why a place is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// One of the equal steps.
    Grid,
    /// Beside a step of acceleration.
    Seam,
    /// Beside a place where a load bends or steps.
    Knee,
    /// Between others, about a peak.
    Fine,
}

/// A place to be worked out.
struct Node {
    at: f64,
    kind: Kind,
    here: Option<Here>,
    place: Option<Place>,
}

impl Node {
    fn new(path: &mut Path<'_>, at: f64, kind: Kind) -> Self {
        Self {
            at,
            kind,
            here: path.at(at),
            place: None,
        }
    }
}

/// Where a load of the case bends or steps between places.
fn knees(rig: &Rig<'_>, case: &LoadCase, nodes: &[Node], path: &mut Path<'_>) -> Vec<f64> {
    let known: Vec<(f64, &Here)> = nodes
        .iter()
        .filter_map(|n| Some((n.at, n.here.as_ref()?)))
        .collect();
    load_knees(rig, case, &known, &mut |at| path.at(at))
}

/// Places at which something that is told is greatest or least: moments, the force at the hand, and forces in the joints.
fn peaks(nodes: &[Node]) -> Vec<usize> {
    let greatest = |value: &dyn Fn(&Place) -> Option<f64>| {
        let known = nodes.iter().enumerate();
        let known = known.filter_map(|(i, n)| Some((i, value(n.place.as_ref()?)?)));
        known
            .reduce(|a, b| if b.1 > a.1 { b } else { a })
            .map(|(i, _)| i)
    };
    let mut all: Vec<usize> = [
        greatest(&|p| p.effort.moves),
        greatest(&|p| p.effort.moves.map(|m| -m)),
        greatest(&|p| p.effort.hand),
    ]
    .into_iter()
    .flatten()
    .collect();
    let joints = nodes
        .iter()
        .filter_map(|n| n.place.as_ref())
        .flat_map(|p| p.rows.iter().flatten().map(|r| r.joints.len()))
        .max()
        .unwrap_or(0);
    for joint in 0..joints {
        for which in 0..2 {
            let of = |p: &Place| p.rows[which].as_ref()?.joints.get(joint).cloned();
            all.extend(greatest(&|p| Some(of(p)?.most)));
            all.extend(greatest(&|p| Some(-of(p)?.value)));
        }
    }
    all.sort_unstable();
    all.dedup();
    all
}
