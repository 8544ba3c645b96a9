//! What the machine asks of every element: the worst force of each joint over the whole reach and all cases, how far it turns there,
//! how the load goes round, how far rods tilt on their pins, what springs and shafts go through.

mod again;
pub(crate) mod cams;
mod turning;
mod ways;

use self::ways::{Effort, Way, ways};
use super::acting;
use super::answers::LoadRow;
use super::course::{Course, Turning};
use super::felt::{self, BarEnd, plain};
use super::notched::{Notched, notched};
use super::rig::{Found, Rig};
use super::row::{Moved, Ready, Row};
use super::summary::clamp_holds;
use super::{gives, rubbing, seats, shafts};
use crate::assemble::Model;
use crate::cycle::masses::masses;
use crate::cycle::turning::at_speed;
use crate::run::{Bench, Here};
use elements::threads::group::Acts;
use machine::work::{Case, LoadKind, Resists};
use mechanics::model::Constraint;
use rayon::prelude::*;
use std::f64::consts::TAU;

/// A drive this near to a notch stands in it, rad or mm.
const IN_NOTCH: f64 = 1e-6;
/// Forces below this share of the greatest point nowhere.
const FAINT: f64 = 0.01;
/// Forces below this share of the greatest are rounding.
const NOTHING: f64 = 1e-6;

/// The greatest of something, and where.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Peak {
    /// Its size.
    pub(crate) value: f64,
    /// Index into [`Service::cases`].
    pub(crate) case: usize,
    /// Values of all drives there; empty where nothing was met.
    pub(crate) drives: Vec<f64>,
}

impl Peak {
    pub(super) fn meet(&mut self, value: f64, case: usize, drives: &[f64]) {
        if value > self.value {
            *self = Self {
                value,
                case,
                drives: drives.to_vec(),
            };
        }
    }
}

/// How a joint turns while one drive goes through its reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Turned {
    /// The drive.
    pub(crate) drive: usize,
    /// Turns of the joint for a turn of a drive that goes round; else none.
    pub(crate) turns: Option<f64>,
    /// Half the swing, rad, when it swings to and fro.
    pub(crate) half: f64,
    /// Cubic mean of the force on the way, the worst case, N.
    pub(crate) mean: f64,
}

/// What a joint goes through.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct JointService {
    /// Greatest force or moment, friction counted.
    pub(crate) most: Peak,
    /// Greatest pull of a rod.
    pub(crate) pull: Peak,
    /// Greatest push of a rod.
    pub(crate) push: Peak,
    /// The force as seen from [`super::answers::LoadedJoint::on`] and from `by`, friction counted; of a rod, from what carries its ends.
    pub(crate) felt: [Turning; 2],
    /// Turning, one a drive that turns it.
    pub(crate) turned: Vec<Turned>,
    /// The load goes round the ring that sits on [`super::answers::LoadedJoint::on`], and on `by`.
    pub(crate) round: [bool; 2],
    /// Tilt of a rod out of square to the pins of its ends, rad.
    pub(crate) tilt: [Peak; 2],
    /// How it shares its load with joints that repeat it is not determined.
    pub(crate) undetermined: bool,
}

/// What a shaft goes through.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct ShaftService {
    /// Name of the shaft.
    pub(crate) shaft: String,
    /// Where bending and torsion together are worst: √(M² + ¾ T²), N·mm.
    pub(crate) worst: Peak,
    /// Bending there; none without bearings.
    pub(crate) bending: Option<f64>,
    /// Torsion there.
    pub(crate) torsion: f64,
    /// Load of either bearing.
    pub(crate) bearings: [Peak; 2],
    /// Thrust along it.
    pub(crate) thrust: Peak,
    /// Bending as the shaft feels it and torsion, by station.
    pub(crate) courses: Vec<(f64, Turning, Course)>,
    /// Steps, grooves and cross holes of its piece.
    pub(crate) notched: Vec<Notched>,
}

/// What a spring goes through.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct SpringService {
    /// Least and greatest length or turn.
    pub(crate) range: Option<[f64; 2]>,
    /// Greatest force or moment.
    pub(crate) most: Peak,
    /// Least and greatest length or turn while one drive goes through its reach.
    pub(crate) worked: Vec<(usize, [f64; 2])>,
}

/// What acts on a set of bolts in one pose.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct OnBolts {
    pub(crate) acts: Acts,
    /// Index into [`Service::cases`].
    pub(crate) case: usize,
    /// Values of all drives.
    pub(crate) drives: Vec<f64>,
}

/// What the machine asks of every element.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Service {
    /// Names of the cases.
    pub(crate) cases: Vec<String>,
    /// One a joint of the rig.
    pub(crate) joints: Vec<JointService>,
    /// Shafts that the frame carries.
    pub(crate) shafts: Vec<ShaftService>,
    /// One a spring of the file.
    pub(crate) springs: Vec<SpringService>,
    /// Thrust out of its plane on each part.
    pub(crate) thrusts: Vec<Peak>,
    /// What drives each detent of the file out of its notch beyond what friction holds there, N·mm or N at the drive.
    pub(crate) notches: Vec<Peak>,
    /// What acts on each set of bolts of the file, pose by pose.
    pub(crate) bolts: Vec<Vec<OnBolts>>,
    /// By cam.
    pub(crate) cams: Vec<OnCam>,
    /// What each clamp of the file must hold, N·mm.
    pub(crate) clamps: Vec<Peak>,
    /// Ends of the bars of parts with stock.
    pub(crate) bars: Vec<BarEnd>,
    /// Something loads the machine.
    pub(crate) loaded: bool,
    /// Ways that could not be gone, as told.
    pub(crate) refused: Vec<String>,
    /// What was left out of a machine of many drives, in words.
    pub(crate) sampled: Option<String>,
}

/// How hard a roller and its cam press on one another where that dents them most.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct OnCam {
    /// Force times the sum of curvatures, N/mm: what the pressure of two cylinders grows with.
    pub(crate) worst: Peak,
    /// N.
    pub(crate) force: f64,
    /// Radius of the flank there, mm; negative where it is hollow.
    pub(crate) flank: f64,
}

/// What tires its elements: the same without cases that come seldom. None where there are no such cases.
pub(crate) fn working(rig: &Rig<'_>) -> Option<Service> {
    let seldom = rig.work().cases.iter().any(|c| c.seldom);
    seldom.then(|| gone_through(rig, |case| !case.seldom))
}

/// Goes through the whole reach of every drive under every case.
pub(crate) fn service(rig: &Rig<'_>) -> Service {
    gone_through(rig, |_| true)
}

fn gone_through(rig: &Rig<'_>, counts: impl Fn(&Case) -> bool) -> Service {
    let model = rig.model;
    let cases = acting::cases(rig);
    let mut ready = Ready::new(
        rig,
        shafts::shafts(rig),
        rubbing::rubbing(rig),
        gives::members(rig),
    );
    let masses = masses(rig);
    ready.felt = felt::felt(rig);
    ready.moved_only = true;
    let effort = Effort::of(rig, &cases);
    let mut bench = Bench::new(model);
    let mut service = Service {
        cases: cases.iter().map(|c| c.name.clone()).collect(),
        joints: vec![JointService::default(); rig.joints.len()],
        springs: vec![SpringService::default(); rig.work().springs.len()],
        thrusts: vec![Peak::default(); model.machine.parts.len()],
        notches: vec![Peak::default(); rig.work().detents.len()],
        clamps: vec![Peak::default(); rig.work().clamps.len()],
        bolts: vec![Vec::new(); rig.work().bolts.len()],
        cams: vec![OnCam::default(); model.machine.cams.len()],
        bars: ready.felt.iter().flat_map(|f| f.ends(rig)).collect(),
        sampled: effort.words(),
        loaded: cases.iter().any(|c| !c.acting.is_empty()),
        ..Service::default()
    };
    for (number, case) in cases.iter().enumerate() {
        if rig.work().cases.get(number).is_some_and(|c| !counts(c)) {
            continue;
        }
        for way in ways(
            &ready,
            &mut bench,
            number,
            case,
            &effort,
            &mut service.refused,
        ) {
            let moved = way.drive.map_or(Moved::None, Moved::One);
            // What goes round so often a minute presses its joints with its inertia too.
            let fast = way.drive.filter(|_| way.round).and_then(|drive| {
                let often = rig.work().per_minute.get(drive).copied().flatten()?;
                Some((drive, often * TAU / 60.0))
            });
            let rows = |fast: Option<(usize, f64)>| -> Vec<Row> {
                way.poses
                    .par_iter()
                    .enumerate()
                    .map(|(i, (at, here))| {
                        let case = fast.and_then(|(drive, speed)| {
                            at_speed(rig, way.case, here, drive, &masses, speed)
                        });
                        ready.row(case.as_ref().unwrap_or(way.case), here, *at, i, moved)
                    })
                    .collect()
            };
            service.take(rig, &way, &rows(fast));
            // Inertia relieves as well as it presses: slowly turned, all of that has to be borne too.
            if fast.is_some() {
                for ((_, here), row) in way.poses.iter().zip(&rows(None)) {
                    if row.row.reached && !row.row.dead_centre {
                        service.forces(rig, &way, here, row);
                    }
                }
            }
        }
    }
    service
}

/// Loads that follow the machine by themselves, so that it may be moved anywhere under them.
pub(crate) fn follows(model: &Model, number: usize) -> bool {
    let work = &model.machine.work;
    let Some(case) = work.cases.get(number) else {
        return true;
    };
    case.loads
        .iter()
        .filter_map(|&l| work.loads.get(l))
        .all(|load| match &load.kind {
            LoadKind::Squeezes { resists, .. } => match resists {
                Resists::Constant { below, .. } => below.is_finite(),
                Resists::Linear { .. } | Resists::Table(_) => true,
            },
            LoadKind::Force { .. } | LoadKind::Moment { .. } => load.drags,
        })
}

impl Service {
    fn take(&mut self, rig: &Rig<'_>, way: &Way<'_>, rows: &[Row]) {
        let good: Vec<(&Here, &Row)> = way
            .poses
            .iter()
            .map(|p| &p.1)
            .zip(rows)
            .filter(|(_, r)| r.row.reached && !r.row.dead_centre)
            .collect();
        for (here, row) in &good {
            self.forces(rig, way, here, row);
            self.bends(rig, way.number, here, row);
        }
        if let Some(drive) = way.drive {
            self.works(rig, drive, &good);
        }
        // How joints turn is told at dead centres too.
        let heres: Vec<&Here> = way.poses.iter().map(|p| &p.1).collect();
        for joint in 0..rig.joints.len() {
            self.turning(rig, way, joint, &heres, &good);
        }
    }

    fn bends(&mut self, rig: &Rig<'_>, case: usize, here: &Here, row: &Row) {
        for bent in &row.bent {
            let Some(stock) = super::stock::made(rig, bent.part).and_then(|m| m.stock.as_ref())
            else {
                continue;
            };
            // The machine is balanced without friction; it adds to bending what it adds to the hardest pressed joint of the part.
            let rubs = rubbed(rig, bent.part, row);
            let ends = self.bars.iter_mut();
            let ends = ends.filter(|e| e.part == bent.part && e.bar == bent.bar);
            for (end, moments) in ends.zip([bent.moments, [bent.moments[1], bent.moments[0]]]) {
                let [pulled, bends] = [[bent.pull, 0.0], [0.0, moments[0]]]
                    .map(|[n, m]| rubs * plain(stock.section, n, m));
                let pulled = pulled.copysign(bent.pull);
                let bends = bends.copysign(moments[0]);
                for (course, edge) in end.edges.iter_mut().zip([pulled + bends, pulled - bends]) {
                    course.meet(edge);
                }
                let stress = rubs * plain(stock.section, bent.pull, moments[0]);
                if stress > end.worst.value {
                    end.moments = moments.map(|m| rubs * m);
                    end.pull = rubs * bent.pull;
                }
                end.worst.meet(stress, case, &here.stand.drives);
                end.push.meet(-rubs * bent.pull, case, &here.stand.drives);
            }
        }
    }

    fn forces(&mut self, rig: &Rig<'_>, way: &Way<'_>, here: &Here, row: &Row) {
        let (case, drives) = (way.number, &here.stand.drives);
        for (joint, (service, force)) in self.joints.iter_mut().zip(&row.row.joints).enumerate() {
            if let Some(felt) = again::feels(rig, joint, here, row) {
                for (felt, (force, turned)) in service.felt.iter_mut().zip(felt) {
                    felt.meet(force, turned);
                }
            }
            service.most.meet(force.most, case, drives);
            service.pull.meet(force.value, case, drives);
            service.push.meet(-force.value, case, drives);
            service.undetermined |= force.undetermined;
        }
        for (all, bolts) in self.bolts.iter_mut().zip(&rig.work().bolts) {
            if let Some(acts) = seats::on_bolts(rig, bolts, here, &row.row.joints) {
                all.push(OnBolts {
                    acts,
                    case,
                    drives: drives.clone(),
                });
            }
        }
        for load in &row.shafts {
            let index = self.shafts.iter().position(|s| s.shaft == load.shaft);
            let mut parts = rig.model.machine.parts.iter();
            let part = parts.position(|p| p.name == load.shaft);
            let index = index.unwrap_or_else(|| {
                self.shafts.push(ShaftService {
                    shaft: load.shaft.clone(),
                    notched: part.map_or_else(Vec::new, |p| notched(rig, p)),
                    ..ShaftService::default()
                });
                self.shafts.len() - 1
            });
            let Some(shaft) = self.shafts.get_mut(index) else {
                continue;
            };
            let bending = load.most_bending.unwrap_or(0.0);
            let together = bending.hypot(0.75_f64.sqrt() * load.most_torsion);
            if together > shaft.worst.value {
                (shaft.bending, shaft.torsion) = (load.most_bending, load.most_torsion);
            }
            shaft.worst.meet(together, case, drives);
            // What goes round goes one way.
            let comes_again = !way.round || load.moving.as_ref().is_none_or(|m| m.on);
            let turned = part
                .and_then(|p| here.poses.get(p))
                .map_or(0.0, |p| p.angle);
            if comes_again {
                shaft.again(load, turned);
            }
            for weak in &mut shaft.notched {
                weak.meet(load, case, drives, comes_again.then_some(turned));
            }
            shaft.thrust.meet(load.thrust.abs(), case, drives);
            for (peak, [x, y]) in shaft
                .bearings
                .iter_mut()
                .zip(load.bearings.into_iter().flatten())
            {
                peak.meet(x.hypot(y), case, drives);
            }
        }
        for out in &row.out_of_plane {
            let part = rig
                .model
                .machine
                .parts
                .iter()
                .position(|p| p.name == out.part);
            if let Some(peak) = part.and_then(|p| self.thrusts.get_mut(p)) {
                peak.meet(out.thrust.abs(), case, drives);
            }
        }
        for (peak, detent) in self.notches.iter_mut().zip(&rig.work().detents) {
            let here = drives.get(detent.drive);
            let driven = row
                .row
                .drives
                .get(detent.drive)
                .and_then(|d| d.let_go.as_ref());
            if let (Some(here), Some(driven)) = (here, driven)
                && (here - detent.at).abs() <= IN_NOTCH
                && driven.rests_on.is_none()
            {
                peak.meet(driven.to_hold, case, drives);
            }
        }
        for (peak, clamp) in self.clamps.iter_mut().zip(&rig.work().clamps) {
            peak.meet(clamp_holds(clamp, &row.row), case, drives);
        }
        self.springs(rig, case, drives, &row.row);
        self.cams(rig, case, here, &row.row);
    }

    fn springs(&mut self, rig: &Rig<'_>, case: usize, drives: &[f64], row: &LoadRow) {
        for (service, spring) in self.springs.iter_mut().zip(&rig.work().springs) {
            let name = format!("spring {}", spring.name);
            let Some(acted) = row.acted.iter().find(|a| a.name == name) else {
                continue;
            };
            let [low, high] = service.range.unwrap_or([acted.value; 2]);
            service.range = Some([low.min(acted.value), high.max(acted.value)]);
            service.most.meet(acted.force.abs(), case, drives);
        }
    }

    /// Between which lengths one drive works the springs.
    fn works(&mut self, rig: &Rig<'_>, drive: usize, good: &[(&Here, &Row)]) {
        for (service, spring) in self.springs.iter_mut().zip(&rig.work().springs) {
            let name = format!("spring {}", spring.name);
            let lengths = good.iter().filter_map(|(_, r)| {
                let acted = r.row.acted.iter().find(|a| a.name == name)?;
                Some(acted.value)
            });
            let [low, high] = lengths.fold([f64::INFINITY, f64::NEG_INFINITY], |[l, h], v| {
                [l.min(v), h.max(v)]
            });
            if low > high {
                continue;
            }
            match service.worked.iter_mut().find(|(d, _)| *d == drive) {
                Some((_, [l, h])) => (*l, *h) = (l.min(low), h.max(high)),
                None => service.worked.push((drive, [low, high])),
            }
        }
    }
}

/// How many times friction makes the hardest pressed joint of a part press.
fn rubbed(rig: &Rig<'_>, part: usize, row: &Row) -> f64 {
    let Some(name) = rig.model.machine.parts.get(part).map(|p| &p.name) else {
        return 1.0;
    };
    // A rod stands with one of its ends; the part at the other is pushed by it as well.
    let rod = |joint: usize| match rig.found.get(joint) {
        Some(Found::Rod(c)) => match rig.mechanism.constraints.get(*c) {
            Some(Constraint::Rod { a, b, .. }) => [a, b]
                .iter()
                .any(|e| rig.mechanism.anchors[**e].body == part),
            _ => false,
        },
        _ => false,
    };
    let joints = rig.joints.iter().zip(&row.row.joints).enumerate();
    let own = joints
        .filter(|(i, (j, _))| !j.is_moment && (j.on == *name || j.by == *name || rod(*i)))
        .map(|(_, (_, f))| [f.most, f.value.abs()]);
    let [most, plain] = own.fold([0.0_f64; 2], |[m, v], [most, value]| {
        [m.max(most), v.max(value)]
    });
    let greatest = row
        .row
        .joints
        .iter()
        .fold(0.0_f64, |m, f| m.max(f.value.abs()));
    if plain > NOTHING * greatest {
        (most / plain).max(1.0)
    } else {
        1.0
    }
}
