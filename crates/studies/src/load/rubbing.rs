//! Where the machine rubs, with the coefficients of friction that the file gives, low and high.
//!
//! A pin through several parts is held by the one that the file names first (the frame before all); the others turn on it.

use super::rig::{Rig, Tooth};
use super::shafts::{Push, Shaft, shares};
use crate::assemble::Joint;
use machine::work::JointAt;
use mechanics::friction::{BearingLoad, End, Rubs};
use mechanics::model::Constraint;

/// A place that rubs.
#[derive(Clone, Debug)]
pub(crate) struct Rubbing {
    /// Name of the joint.
    pub(crate) name: String,
    rubs: Rubs,
    pub(crate) low: f64,
    pub(crate) high: f64,
}

/// All places that rub, and what is missing to know more.
#[derive(Clone, Debug, Default)]
pub(crate) struct AllRubbing {
    pub(crate) places: Vec<Rubbing>,
    /// Joints whose friction is not known, and those whose pin has no diameter.
    pub(crate) without_friction: Vec<String>,
    pub(crate) without_diameter: Vec<String>,
}

pub(crate) fn rubbing(rig: &Rig<'_>) -> AllRubbing {
    let mut all = AllRubbing::default();
    for (i, joint) in rig.model.joints.iter().enumerate() {
        let Some(constraint) = rig.mechanism.constraints.get(i) else {
            continue;
        };
        let name = rig
            .reported(i)
            .map_or_else(|| rig.model.joint_name(i), |j| rig.joints[j].name.clone());
        match (*joint, *constraint) {
            (Joint::Pin { point, .. }, _) if !rig.is_hub(i) => {
                all.round(rig, JointAt::Point(point), name, |radius| Rubs::Pin {
                    constraint: i,
                    radius,
                });
            }
            (Joint::Rod(rod), _) => {
                for (end, point) in [End::A, End::B]
                    .into_iter()
                    .zip(rig.model.machine.rods[rod].joins)
                {
                    let name = format!(
                        "{name}, end on pin {}",
                        rig.model.machine.points[point].name
                    );
                    all.round(rig, JointAt::Point(point), name, |radius| Rubs::RodEnd {
                        constraint: i,
                        end,
                        radius,
                    });
                }
            }
            (Joint::SlideLine(slide), _) => {
                let Some(angle) = rig
                    .model
                    .joints
                    .iter()
                    .position(|j| *j == Joint::SlideTurn(slide))
                else {
                    continue;
                };
                let at = JointAt::Slide(slide);
                let length = rig.entry(at).and_then(|j| j.length).unwrap_or(0.0);
                all.add(
                    rig,
                    at,
                    name,
                    Rubs::Slide {
                        on_line: i,
                        angle,
                        length,
                        teeth: Vec::new(),
                    },
                );
            }
            (Joint::Slot(slot), _) => {
                // A pin in a slot rubs even when nothing is known of its size: it slides.
                let at = JointAt::Slot(slot);
                let radius = rig.radius(at).unwrap_or(0.0);
                all.add(
                    rig,
                    at,
                    name,
                    Rubs::Slot {
                        constraint: i,
                        radius,
                    },
                );
            }
            (Joint::Cam(cam), _) => {
                // A roller turns on its own pin: that rubs at a smaller radius than the cam pushes it along at. Without one the pin itself slides
                // on the cam.
                let at = JointAt::Cam(cam);
                let outside = rig.model.machine.cams[cam].diameter;
                let own = rig.entry(at).and_then(|j| j.diameter);
                let share = own.map_or(1.0, |own| own / outside);
                let before = all.places.len();
                all.add(
                    rig,
                    at,
                    name,
                    Rubs::Slot {
                        constraint: i,
                        radius: 0.5 * outside,
                    },
                );
                for place in all.places.iter_mut().skip(before) {
                    place.low *= share;
                    place.high *= share;
                }
            }
            (Joint::Ratio(ratio), Constraint::Ratio { .. }) => {
                // Rolling teeth lose far less than a sliding joint: the usual friction is not for them.
                let at = JointAt::Ratio(ratio);
                if let Some(lost) = rig.entry(at).and_then(|j| j.friction) {
                    all.places.push(Rubbing {
                        name,
                        rubs: Rubs::Mesh { constraint: i },
                        low: lost.low,
                        high: lost.high,
                    });
                }
            }
            _ => {}
        }
    }
    all
}

impl AllRubbing {
    fn add(&mut self, rig: &Rig<'_>, at: JointAt, name: String, rubs: Rubs) {
        match rig.friction(at) {
            Some(mu) => self.places.push(Rubbing {
                name,
                rubs,
                low: mu.low.max(0.0),
                high: mu.high.max(0.0),
            }),
            None => self.without_friction.push(name),
        }
    }

    fn round(&mut self, rig: &Rig<'_>, at: JointAt, name: String, rubs: impl Fn(f64) -> Rubs) {
        match rig.radius(at) {
            Some(radius) => self.add(rig, at, name, rubs(radius)),
            None if rig.friction(at).is_some() => self.without_diameter.push(name),
            None => self.without_friction.push(name),
        }
    }

    pub(crate) fn low(&self) -> Vec<f64> {
        self.places.iter().map(|p| p.low).collect()
    }

    pub(crate) fn high(&self) -> Vec<f64> {
        self.places.iter().map(|p| p.high).collect()
    }

    /// The places in one pose: shafts on two bearings rub in each under its own load, and teeth add to the pins of their wheels.
    pub(crate) fn in_pose(
        &self,
        rig: &Rig<'_>,
        shafts: &[(Shaft, Vec<Push>)],
        teeth: &[Tooth],
    ) -> Vec<Rubs> {
        self.places
            .iter()
            .map(|place| in_pose(rig, &place.rubs, shafts, teeth))
            .collect()
    }
}

fn in_pose(rig: &Rig<'_>, rubs: &Rubs, shafts: &[(Shaft, Vec<Push>)], teeth: &[Tooth]) -> Rubs {
    if let Rubs::Slide {
        on_line,
        angle,
        length,
        ..
    } = *rubs
    {
        let (line, turn) = (rig.rows[on_line], rig.rows[angle]);
        let added = teeth.iter().filter_map(|&(row, source, factor)| match row {
            row if row == line => Some((source, [factor, 0.0])),
            row if row == turn => Some((source, [0.0, factor])),
            _ => None,
        });
        return Rubs::Slide {
            on_line,
            angle,
            length,
            teeth: added.collect(),
        };
    }
    let Rubs::Pin { constraint, radius } = *rubs else {
        return rubs.clone();
    };
    let Some(&Constraint::Pin { a, b }) = rig.mechanism.constraints.get(constraint) else {
        return rubs.clone();
    };
    let journal = |bearings: Vec<BearingLoad>| Rubs::Journal {
        body: rig.mechanism.anchors[b].body,
        against: rig.mechanism.anchors[a].body,
        radius,
        bearings,
    };
    let on_two = shafts
        .iter()
        .find(|(s, _)| s.support == constraint)
        .and_then(|(s, p)| Some((s.bearings?, p)));
    if let Some((stations, pushes)) = on_two {
        let mut bearings = vec![BearingLoad::default(); 2];
        for push in pushes {
            for (bearing, share) in bearings.iter_mut().zip(shares(push, stations)) {
                match push.row() {
                    Some(row) => bearing.rows.push((row, share)),
                    None => {
                        bearing.fixed = [bearing.fixed[0] + share[0], bearing.fixed[1] + share[1]]
                    }
                }
            }
        }
        return journal(bearings);
    }
    let row = rig.rows[constraint];
    let added: Vec<(usize, [f64; 2])> = teeth
        .iter()
        .filter(|t| t.0 == row || t.0 == row + 1)
        .map(|&(r, source, factor)| {
            (
                source,
                if r == row {
                    [factor, 0.0]
                } else {
                    [0.0, factor]
                },
            )
        })
        .collect();
    if added.is_empty() {
        return rubs.clone();
    }
    let own = [(row, [1.0, 0.0]), (row + 1, [0.0, 1.0])];
    journal(vec![BearingLoad {
        fixed: [0.0; 2],
        rows: own.into_iter().chain(added).collect(),
    }])
}
