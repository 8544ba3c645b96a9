//! What is loose in a machine, what takes it up, and what it does to a measure.

use crate::assemble::Joint;
use crate::load::rig::Rig;
use machine::model::{FRAME, RatioKind};
use machine::work::{JointAt, LowHigh};
use mechanics::model::{Constraint, ParamId, Pose};

/// Forces below this share of the greatest press nothing.
pub(super) const NOTHING: f64 = 1e-9;

/// Something loose: a movement of up to half its clearance along each of its axes together (a pin in its hole has two, a guide's
/// end one).
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Loose {
    pub(crate) joint: String,
    pub(crate) clearance: LowHigh,
    /// The entry of the file that it belongs to.
    pub(crate) at: Option<JointAt>,
    /// Movement of parameters for a unit along each axis.
    axes: Vec<Vec<(ParamId, f64)>>,
    /// The body whose own axes these are.
    pub(super) body: usize,
    pub(super) constraint: usize,
}

impl Loose {
    /// Components along the axes of derivatives by, or forces on, the parameters.
    pub(super) fn along(&self, by_param: &[f64]) -> Vec<f64> {
        let one = |axis: &Vec<(ParamId, f64)>| {
            axis.iter()
                .map(|(p, k)| k * by_param.get(*p).copied().unwrap_or(0.0))
                .sum()
        };
        self.axes.iter().map(one).collect()
    }
}

/// Length of a vector.
pub(super) fn length(v: &[f64]) -> f64 {
    v.iter().map(|x| x * x).sum::<f64>().sqrt()
}

/// Product of two vectors.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Everything loose in the machine, standing as given.
pub(crate) fn loose(rig: &Rig<'_>, params: &[f64], poses: &[Pose]) -> Vec<Loose> {
    let m = &rig.mechanism;
    let mut all: Vec<Loose> = Vec::new();
    for (i, joint) in rig.model.joints.iter().enumerate() {
        let add = |all: &mut Vec<Loose>,
                   joint: String,
                   clearance: Option<LowHigh>,
                   axes: Vec<Vec<(ParamId, f64)>>,
                   body: usize| {
            if let Some(clearance) = clearance.filter(|c| c.high > 0.0) {
                all.push(Loose {
                    joint,
                    clearance,
                    at: rig.at(i),
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
                    &mut all,
                    name(),
                    rig.clearance(JointAt::Point(point)),
                    vec![vec![(hole.u, 1.0)], vec![(hole.v, 1.0)]],
                    hole.body,
                );
            }
            (Joint::Rod(rod), Constraint::Rod { length, .. }) => {
                for point in rig.model.machine.rods[rod].joins {
                    let at = JointAt::Point(point);
                    let Some(clearance) = rig.clearance(at).filter(|c| c.high > 0.0) else {
                        continue;
                    };
                    let end = &rig.model.machine.points[point].name;
                    all.push(Loose {
                        joint: format!("{}, end on pin {end}", name()),
                        clearance,
                        at: Some(at),
                        axes: vec![vec![(length, 1.0)]],
                        body: FRAME,
                        constraint: i,
                    });
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
                                &mut all,
                                format!("{}, {end}", name()),
                                rig.clearance(at),
                                vec![axis],
                                FRAME,
                            );
                        }
                    }
                    _ => add(
                        &mut all,
                        name(),
                        rig.clearance(at),
                        vec![vec![(offset, 1.0)]],
                        FRAME,
                    ),
                }
            }
            (
                Joint::Slot(slot),
                Constraint::OnLine { offset: param, .. } | Constraint::Arc { radius: param, .. },
            ) => {
                add(
                    &mut all,
                    name(),
                    rig.clearance(JointAt::Slot(slot)),
                    vec![vec![(param, 1.0)]],
                    FRAME,
                );
            }
            (Joint::Cam(cam), Constraint::Cam { swell, .. }) => {
                // Only a track lets the roller go from one flank to the other.
                let own = rig.entry(JointAt::Cam(cam)).and_then(|j| j.clearance);
                let own = own.filter(|_| rig.model.machine.cams[cam].track);
                add(&mut all, name(), own, vec![vec![(swell, 1.0)]], FRAME);
            }
            (Joint::Rack(rack), Constraint::Rack { offset, .. }) => {
                let own = rig.entry(JointAt::Rack(rack)).and_then(|j| j.clearance);
                add(&mut all, name(), own, vec![vec![(offset, 1.0)]], FRAME);
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
                        &mut all,
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

/// Forces on one loose thing in one pose under one case.
pub(in crate::load) struct Taken {
    /// Force along its axes: the whole case, and springs and weights alone.
    pub(super) all: Vec<f64>,
    pub(super) always: Vec<f64>,
}

pub(in crate::load) fn taken(loose: &[Loose], all: &[f64], always: &[f64]) -> Vec<Taken> {
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
pub(in crate::load) struct Moves {
    /// Either way with the high clearance, when nothing presses.
    pub(in crate::load) free: f64,
    /// Signed shift under the case with the low and the high clearance; nothing where nothing presses.
    pub(in crate::load) taken: [f64; 2],
    /// Either way where nothing presses under the case; nothing where something does.
    pub(in crate::load) loose: f64,
    /// Springs and weights press it.
    pub(super) seated: bool,
}

/// What everything loose does to a measure whose derivatives by every parameter are given.
pub(in crate::load) fn moves(
    loose: &[Loose],
    taken: &[Taken],
    by_param: &[f64],
    weight: f64,
) -> Vec<Moves> {
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
