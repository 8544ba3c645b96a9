//! What is loose in a machine, what takes it up, and what it does to a measure.

use crate::assemble::Joint;
use crate::load::nodes::{Holds, Node, bearings, going_with, nodes, shaft_in};
use crate::load::rig::Rig;
use crate::load::rig::Tooth;
use crate::load::say;
use crate::parts::gears::backlash;
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
///
/// `rows` are the reactions that press the teeth to one flank. A wheel that goes along in its bearing takes its teeth with it: that moves the
/// other wheel or the rack as teeth press on the bearing, turned round (virtual work).
pub(crate) fn loose(rig: &Rig<'_>, params: &[f64], poses: &[Pose], rows: &[f64]) -> Vec<Loose> {
    let m = &rig.mechanism;
    let teeth = rig.teeth(params, poses, rows);
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
                if let Some(part) = shaft_in(rig, b) {
                    // Everything on a shaft goes with it; in two bearings it also tips.
                    let mut nodes = nodes(rig, part);
                    toothed(rig, part, &teeth, poses, &mut nodes);
                    let clearance = rig.clearance(JointAt::Point(point));
                    for (station, goes) in going_with(&nodes, bearings(rig, part)) {
                        let axis = |k: usize| {
                            let moved = nodes.iter().zip(&goes);
                            let moved = moved.flat_map(|(n, g)| {
                                let shift = n.shift[k].iter().chain(&n.teeth[k]);
                                shift.map(move |(p, s)| (*p, -g * s))
                            });
                            moved.collect()
                        };
                        let at = station.map_or_else(String::new, |s| {
                            format!(", bearing at {}", say::station(s, &rig.model.machine))
                        });
                        add(
                            &mut all,
                            format!("{}{at}", name()),
                            clearance,
                            vec![axis(0), axis(1)],
                            hole.body,
                        );
                    }
                    continue;
                }
                // The hole's own coordinate moves its part the other way.
                let (sin, cos) = turn_of(hole.body, poses).sin_cos();
                let axis = |param: ParamId, by: [f64; 2]| {
                    let mut moved = vec![(param, 1.0)];
                    moved.extend(meshing(rig, &teeth, i, by));
                    moved
                };
                add(
                    &mut all,
                    name(),
                    rig.clearance(JointAt::Point(point)),
                    vec![axis(hole.u, [-cos, -sin]), axis(hole.v, [sin, -cos])],
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
                        Some((t, angle))
                    } else {
                        None
                    }
                });
                match (
                    rig.entry(at).and_then(|j| j.length).filter(|l| *l > 0.0),
                    tilt,
                ) {
                    // Either end of the guide may be off by half the clearance.
                    (Some(length), Some((turn, tilt))) => {
                        for (end, sign) in [("one end", -1.0), ("other end", 1.0)] {
                            let mut axis = vec![(offset, 0.5), (tilt, sign / length)];
                            axis.extend(meshing(rig, &teeth, i, [-0.5, 0.0]));
                            axis.extend(meshing(rig, &teeth, turn, [-sign / length, 0.0]));
                            add(
                                &mut all,
                                format!("{}, {end}", name()),
                                rig.clearance(at),
                                vec![axis],
                                FRAME,
                            );
                        }
                    }
                    _ => {
                        let mut moved = vec![(offset, 1.0)];
                        moved.extend(meshing(rig, &teeth, i, [-1.0, 0.0]));
                        add(&mut all, name(), rig.clearance(at), vec![moved], FRAME);
                    }
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
                let cut = rig.model.machine.racks[rack].teeth.map(|t| t.1.backlash);
                let own = own.or(cut.map(|x| LowHigh { low: x, high: x }));
                add(&mut all, name(), own, vec![vec![(offset, 1.0)]], FRAME);
            }
            (Joint::Ratio(ratio), Constraint::Ratio { sizes, offset, .. })
                if matches!(
                    rig.model.machine.ratios[ratio].kind,
                    RatioKind::Gear | RatioKind::InternalGear
                ) =>
            {
                // Backlash along the pitch circle, whose radius is the wheel's share of the distance of centres.
                // From the file, else as the teeth are cut and the centres drawn.
                let own = rig.entry(JointAt::Ratio(ratio)).and_then(|j| j.clearance);
                if let Some(centres) = rig.centres(i, params, poses) {
                    let cut = backlash(&rig.model.machine.ratios[ratio], centres);
                    let own = own.or(cut.map(|x| LowHigh { low: x, high: x }));
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

/// Angle of a body's own axes.
fn turn_of(body: usize, poses: &[Pose]) -> f64 {
    poses
        .get(body)
        .map_or(0.0, |p| if body == FRAME { 0.0 } else { p.angle })
}

/// What goes along at the teeth when the first two rows of a joint alone would move by so much.
fn meshing(rig: &Rig<'_>, teeth: &[Tooth], joint: usize, by: [f64; 2]) -> Vec<(ParamId, f64)> {
    let first = rig.rows[joint];
    let count = rig.mechanism.constraints[joint].equations();
    let moved = teeth.iter().filter_map(|&(row, source, factor)| {
        let k = row.checked_sub(first).filter(|k| *k < count)?;
        let meshes = rig.rows.iter().position(|r| *r == source)?;
        // By its own offset a mesh falls by this much.
        let (offset, falls) = match rig.mechanism.constraints[meshes] {
            Constraint::Ratio { sizes, offset, .. } => {
                (offset, 1.0 / sizes[0].abs().max(sizes[1].abs()))
            }
            Constraint::Rack { offset, .. } => (offset, 1.0),
            _ => return None,
        };
        Some((offset, -factor * by[k] / falls))
    });
    moved.collect()
}

/// What a shaft takes along at the teeth on it and on the wheels clamped to it.
fn toothed(rig: &Rig<'_>, part: usize, teeth: &[Tooth], poses: &[Pose], nodes: &mut [Node]) {
    let (sin, cos) = turn_of(part, poses).sin_cos();
    let constraints = &rig.mechanism.constraints;
    let pin = |a_is: &dyn Fn(usize) -> bool, b_is: usize| {
        constraints.iter().position(|c| {
            let Constraint::Pin { a, b } = *c else {
                return false;
            };
            let [a, b] = [a, b].map(|x| rig.mechanism.anchors[x].body);
            a_is(a) && b == b_is
        })
    };
    // Teeth of a clamped wheel press the pin of its hub and that of the shaft; they count once, at the hub.
    let own: Vec<Tooth> = teeth
        .iter()
        .filter(|t| {
            let source = rig.rows.iter().position(|r| *r == t.1);
            source.is_some_and(|i| match constraints[i] {
                Constraint::Ratio { a, b, .. } => a == part || b == part,
                Constraint::Rack { gear, .. } => gear == part,
                _ => false,
            })
        })
        .copied()
        .collect();
    for node in nodes.iter_mut() {
        let (joint, teeth) = match node.held {
            Holds::Arm(arm) => (pin(&|a| a == part, arm), teeth),
            Holds::Axis(0) => (pin(&|a| a != part, part), own.as_slice()),
            Holds::Axis(_) | Holds::Point => continue,
        };
        // Going along moves what the pin holds away from where it was.
        if let Some(joint) = joint {
            node.teeth = [[cos, sin], [-sin, cos]].map(|by| meshing(rig, teeth, joint, by));
        }
    }
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
