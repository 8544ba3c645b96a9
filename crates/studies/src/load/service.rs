//! What the machine asks of every element: the worst force of each joint over the whole reach and all cases, how far it turns there,
//! how the load goes round, how far rods tilt on their pins, what springs and shafts go through.

use super::acting::{self, LoadCase};
use super::answers::LoadRow;
use super::notched::{Notched, notched};
use super::poses::{Path, stand};
use super::rig::{Found, Rig, dot};
use super::row::{Moved, Ready, Row};
use super::{gives, rubbing, seats, shafts};
use crate::assemble::{Model, Stand};
use crate::run::{Bench, Here};
use elements::threads::group::Acts;
use machine::work::{LoadKind, Resists};
use mechanics::model::{BodyId, Constraint};
use rayon::prelude::*;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Poses over the reach of a drive: 5 degrees of a whole turn.
const POSES: u32 = 72;
/// A drive this near to a notch stands in it, rad or mm.
const IN_NOTCH: f64 = 1e-6;
/// Forces below this share of the greatest point nowhere.
const FAINT: f64 = 0.01;

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
    /// Something loads the machine.
    pub(crate) loaded: bool,
    /// Ways that could not be gone, as told.
    pub(crate) refused: Vec<String>,
}

/// One way through the reach of a drive.
struct Way<'c> {
    number: usize,
    case: &'c LoadCase,
    drive: Option<usize>,
    round: bool,
    poses: Vec<(Option<f64>, Here)>,
}

/// Goes through the whole reach of every drive under every case.
pub(crate) fn service(rig: &Rig<'_>) -> Service {
    let model = rig.model;
    let cases = acting::cases(rig);
    let ready = Ready::new(
        rig,
        shafts::shafts(rig),
        rubbing::rubbing(rig),
        gives::members(rig),
    );
    let mut bench = Bench::new(model);
    let mut service = Service {
        cases: cases.iter().map(|c| c.name.clone()).collect(),
        joints: vec![JointService::default(); rig.joints.len()],
        springs: vec![SpringService::default(); rig.work().springs.len()],
        thrusts: vec![Peak::default(); model.machine.parts.len()],
        notches: vec![Peak::default(); rig.work().detents.len()],
        bolts: vec![Vec::new(); rig.work().bolts.len()],
        loaded: cases.iter().any(|c| !c.acting.is_empty()),
        ..Service::default()
    };
    for (number, case) in cases.iter().enumerate() {
        for way in ways(model, &mut bench, number, case, &mut service.refused) {
            let moved = way.drive.map_or(Moved::None, Moved::One);
            let rows: Vec<Row> = way
                .poses
                .par_iter()
                .enumerate()
                .map(|(i, (at, here))| ready.row(way.case, here, *at, i, moved))
                .collect();
            service.take(rig, &way, &rows);
        }
    }
    service
}

/// Loads that follow the machine by themselves, so that it may be moved anywhere under them.
fn follows(model: &Model, number: usize) -> bool {
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
            LoadKind::Force { .. } | LoadKind::Moment { .. } => false,
        })
}

fn ways<'c>(
    model: &Model,
    bench: &mut Bench<'_>,
    number: usize,
    case: &'c LoadCase,
    refused: &mut Vec<String>,
) -> Vec<Way<'c>> {
    let base = stand(model, Some(case), &model.drawn());
    let free = follows(model, number);
    let put = |drive: usize| !free && case.when.iter().any(|w| w.0 == drive);
    let mut ways = Vec::new();
    let mut told = |message: String| {
        if !refused.contains(&message) {
            refused.push(message);
        }
    };
    for (drive, d) in model.machine.drives.iter().enumerate() {
        if put(drive) {
            continue;
        }
        for stand in stands(model, &base, drive, &put) {
            let mut path = match Path::new(bench, &stand, drive) {
                Ok(path) => path,
                Err(refusal) => {
                    told(refusal.message);
                    continue;
                }
            };
            let (low, high) = (path.span.low.at, path.span.high.at);
            let round = path.span.round;
            let mut values: Vec<f64> = (0..=POSES)
                .map(|i| low + (high - low) * f64::from(i) / f64::from(POSES))
                .collect();
            // Where the case puts it, and its notches, are looked at exactly.
            let notches = model.machine.work.detents.iter();
            let notches = notches.filter(|n| n.drive == drive).map(|n| n.at);
            let asked = base.drives.get(drive).copied().unwrap_or(d.drawn);
            for asked in notches.chain([asked]) {
                if asked > low && asked < high {
                    let at = values.partition_point(|v| *v < asked);
                    if values.get(at) != Some(&asked) {
                        values.insert(at, asked);
                    }
                }
            }
            let poses = values
                .into_iter()
                .filter_map(|v| Some((Some(v), path.at(v)?)))
                .collect();
            ways.push(Way {
                number,
                case,
                drive: Some(drive),
                round,
                poses,
            });
        }
    }
    if ways.is_empty() {
        match bench.bring(&base) {
            Ok(here) => ways.push(Way {
                number,
                case,
                drive: None,
                round: false,
                poses: vec![(None, here)],
            }),
            Err(refusal) => told(refusal.message),
        }
    }
    ways
}

/// The other drives as the case has them, and each in turn at the ends of its range.
fn stands(model: &Model, base: &Stand, moved: usize, put: &dyn Fn(usize) -> bool) -> Vec<Stand> {
    let mut all = vec![base.clone()];
    for (other, d) in model.machine.drives.iter().enumerate() {
        let Some(range) = d
            .range
            .filter(|_| other != moved && !put(other) && !d.whole_turn)
        else {
            continue;
        };
        for end in range {
            let mut stand = base.clone();
            if let Some(value) = stand.drives.get_mut(other) {
                *value = end;
            }
            if !all.contains(&stand) {
                all.push(stand);
            }
        }
    }
    all
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
            self.forces(rig, way.number, here, row);
        }
        // How joints turn is told at dead centres too.
        let heres: Vec<&Here> = way.poses.iter().map(|p| &p.1).collect();
        for joint in 0..rig.joints.len() {
            self.turning(rig, way, joint, &heres, &good);
        }
    }

    fn forces(&mut self, rig: &Rig<'_>, case: usize, here: &Here, row: &Row) {
        let drives = &here.stand.drives;
        for (service, force) in self.joints.iter_mut().zip(&row.row.joints) {
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
            let index = index.unwrap_or_else(|| {
                self.shafts.push(ShaftService {
                    shaft: load.shaft.clone(),
                    notched: rig
                        .model
                        .machine
                        .parts
                        .iter()
                        .position(|p| p.name == load.shaft)
                        .map_or_else(Vec::new, |p| notched(&rig.model.machine, p)),
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
            for weak in &mut shaft.notched {
                weak.meet(load, case, drives);
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
        self.springs(rig, case, drives, &row.row);
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

    fn turning(
        &mut self,
        rig: &Rig<'_>,
        way: &Way<'_>,
        joint: usize,
        heres: &[&Here],
        good: &[(&Here, &Row)],
    ) {
        let (Some(drive), Some(service)) = (way.drive, self.joints.get_mut(joint)) else {
            return;
        };
        let Some(path) = rig.found.get(joint).and_then(|f| relative(rig, *f, heres)) else {
            return;
        };
        for (peak, tilts) in service.tilt.iter_mut().zip(&path.tilts) {
            for (here, tilt) in heres.iter().zip(tilts) {
                peak.meet(*tilt, way.number, &here.stand.drives);
            }
        }
        let cubes: f64 = good
            .iter()
            .filter_map(|(_, r)| r.row.joints.get(joint))
            .map(|f| f.most.powi(3))
            .sum();
        let mean = (cubes / good.len().max(1) as f64).cbrt();
        for angles in &path.angles {
            let (Some(first), Some(last)) = (angles.first(), angles.last()) else {
                continue;
            };
            let low = angles.iter().copied().fold(f64::INFINITY, f64::min);
            let high = angles.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let net = (last - first) / TAU;
            let turns = (way.round && net.abs() > 0.5).then_some(net.abs());
            let half = if turns.is_some() {
                PI
            } else {
                0.5 * (high - low)
            };
            if half < 1e-9 {
                continue;
            }
            match service.turned.iter_mut().find(|t| t.drive == drive) {
                Some(known) => {
                    known.half = known.half.max(half);
                    known.turns = known.turns.or(turns);
                    known.mean = known.mean.max(mean);
                }
                None => service.turned.push(Turned {
                    drive,
                    turns,
                    half,
                    mean,
                }),
            }
        }
        if way.round
            && let Some(round) = going_round(rig, joint, good)
        {
            for (known, found) in service.round.iter_mut().zip(round) {
                *known |= found;
            }
        }
    }
}

/// Relative turns at a joint over a row of poses, and tilts of a rod at both ends.
struct Relative {
    angles: Vec<Vec<f64>>,
    tilts: [Vec<f64>; 2],
}

fn relative(rig: &Rig<'_>, found: Found, heres: &[&Here]) -> Option<Relative> {
    let m = &rig.mechanism;
    match found {
        Found::Pin(c) | Found::Slot(c) => {
            let (a, b) = match *m.constraints.get(c)? {
                Constraint::Pin { a, b } => (m.anchors[a].body, m.anchors[b].body),
                _ => return None,
            };
            let angle = |here: &&Here| Some(here.poses.get(b)?.angle - here.poses.get(a)?.angle);
            let angles: Option<Vec<f64>> = heres.iter().map(angle).collect();
            Some(Relative {
                angles: vec![unwrapped(&angles?)],
                tilts: [Vec::new(), Vec::new()],
            })
        }
        Found::Rod(c) => {
            let Constraint::Rod { a, b, .. } = *m.constraints.get(c)? else {
                return None;
            };
            let mut angles = Vec::new();
            let mut tilts = [Vec::new(), Vec::new()];
            for (anchor, tilts) in [a, b].into_iter().zip(&mut tilts) {
                let body = m.anchors[anchor].body;
                let plane = &m.planes[m.anchors[anchor].plane];
                let normal = plane.normal();
                let mut turns = Vec::with_capacity(heres.len());
                for here in heres {
                    let params = rig.params(here);
                    let along = rig.rod_along(c, &params, &here.poses);
                    let (x, y, z) = (
                        dot(along, plane.right),
                        dot(along, plane.up),
                        dot(along, normal),
                    );
                    tilts.push(z.clamp(-1.0, 1.0).abs().asin().min(FRAC_PI_2));
                    turns.push(y.atan2(x) - here.poses.get(body)?.angle);
                }
                angles.push(unwrapped(&turns));
            }
            Some(Relative { angles, tilts })
        }
        Found::Slide(..) | Found::Row(..) => None,
    }
}

/// Angles without jumps of a turn from one to the next.
fn unwrapped(angles: &[f64]) -> Vec<f64> {
    let mut out: Vec<f64> = Vec::with_capacity(angles.len());
    for &angle in angles {
        let last = out.last().copied().unwrap_or(angle);
        let step = (angle - last + PI).rem_euclid(TAU) - PI;
        out.push(last + step);
    }
    out
}

/// Whether the force goes round as seen from the two bodies of a pin, while a drive goes round.
fn going_round(rig: &Rig<'_>, joint: usize, good: &[(&Here, &Row)]) -> Option<[bool; 2]> {
    let Some(&Found::Pin(c)) = rig.found.get(joint) else {
        return None;
    };
    let Constraint::Pin { a, b } = *rig.mechanism.constraints.get(c)? else {
        return None;
    };
    let bodies: [BodyId; 2] = [b, a].map(|anchor| rig.mechanism.anchors[anchor].body);
    let force = |row: &Row| row.row.joints.get(joint).and_then(|f| f.vector);
    let greatest = good
        .iter()
        .filter_map(|(_, r)| force(r))
        .fold(0.0_f64, |m, [x, y]| m.max(x.hypot(y)));
    if greatest <= 0.0 {
        return None;
    }
    let mut round = [false; 2];
    for (round, body) in round.iter_mut().zip(bodies) {
        let seen = good.iter().filter_map(|(here, row)| {
            let [x, y] = force(row)?;
            (x.hypot(y) > FAINT * greatest).then_some(())?;
            Some(y.atan2(x) - here.poses.get(body)?.angle)
        });
        let angles = unwrapped(&seen.collect::<Vec<f64>>());
        if let (Some(first), Some(last)) = (angles.first(), angles.last()) {
            *round = (last - first).abs() > 1.5 * PI;
        }
    }
    Some(round)
}
