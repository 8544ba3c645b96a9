//! Motors, feet and hands of the machine as they act at each place of a turn.

use crate::assemble::Model;
use crate::load::acting::{Acting, motor, pressed, push};
use crate::load::rig::Rig;
use elements::motors;
use machine::work::{By, Motor, Push, Strength};
use mechanics::model::Pose;
use mechanics::model::{AnchorId, BodyId, Measure};
use mechanics::{Rates, measure_along};
use std::f64::consts::TAU;

/// Something that turns the machine.
#[derive(Clone, Copy, Debug)]
pub(super) enum Power<'m> {
    Motor(&'m Motor),
    Push {
        push: &'m Push,
        anchor: AnchorId,
        /// N at full strength.
        force: f64,
    },
}

/// How it acts at one place: a unit of it, and how fast it goes for a unit of the drive.
#[derive(Clone, Debug)]
pub(super) struct Unit {
    /// One N·mm or one N, the way it drives.
    acting: Option<Acting>,
    /// rad or mm a unit of the drive; not below zero.
    pub(super) rate: f64,
}

/// All that turns the machine and moves with a drive.
pub(super) fn powers<'m>(rig: &Rig<'m>) -> Vec<Power<'m>> {
    let model: &'m Model = rig.model;
    let work = &model.machine.work;
    let motors = work.motors.iter().map(Power::Motor);
    let pushes = work.pushes.iter().filter_map(|p| {
        let own = p.part.and_then(|part| model.anchor_of(part, p.at));
        Some(Power::Push {
            push: p,
            anchor: own.or_else(|| pressed(rig, p.at))?,
            force: 0.0,
        })
    });
    motors.chain(pushes).collect()
}

impl<'m> Power<'m> {
    pub(super) fn name(&self) -> &'m str {
        match self {
            Self::Motor(m) => &m.name,
            Self::Push { push, .. } => &push.name,
        }
    }

    /// `motor.main`, as it is headed in the file.
    pub(super) fn about(&self) -> String {
        match self {
            Self::Motor(m) => format!("motor.{}", m.name),
            Self::Push { push, .. } => format!("push.{}", push.name),
        }
    }

    pub(super) fn body(&self, rig: &Rig<'_>) -> BodyId {
        match self {
            Self::Motor(m) => m.turns,
            Self::Push { anchor, .. } => rig.mechanism.anchors[*anchor].body,
        }
    }

    /// Here, the machine moving at these rates of the drive.
    pub(super) fn unit(
        &self,
        rig: &Rig<'_>,
        params: &[f64],
        poses: &[Pose],
        direction: &[f64],
        rates: &Rates,
    ) -> Unit {
        let m = &rig.mechanism;
        match self {
            Self::Motor(made) => {
                let turns = rates.first.get(made.turns).map_or(0.0, |r| r[2]);
                let acting = motor(&made.name, made.turns);
                Unit {
                    acting: (turns != 0.0).then(|| acting.sized(turns.signum())),
                    rate: turns.abs(),
                }
            }
            Self::Push {
                push: p, anchor, ..
            } => {
                let plane = &m.planes[m.anchors[*anchor].plane];
                let along = |way: [f64; 3]| {
                    let measure = Measure::Along {
                        a: rig.ground,
                        b: *anchor,
                        direction: way,
                    };
                    measure_along(m, params, poses, &measure, direction, rates)[1]
                };
                let way: [f64; 3] = match p.along {
                    Some(angle) => {
                        let (s, c) = angle.sin_cos();
                        std::array::from_fn(|i| c * plane.right[i] + s * plane.up[i])
                    }
                    None => {
                        let (x, y) = (along(plane.right), along(plane.up));
                        let size = x.hypot(y);
                        if size == 0.0 {
                            [0.0; 3]
                        } else {
                            std::array::from_fn(|i| (x * plane.right[i] + y * plane.up[i]) / size)
                        }
                    }
                };
                let rate = along(way);
                Unit {
                    acting: (rate > 0.0).then(|| push(&p.name, *anchor, way)),
                    rate: rate.max(0.0),
                }
            }
        }
    }

    /// Makes the force of a push that is told by its work a turn from how far its point goes (mm a turn).
    pub(super) fn sized(self, travel: f64) -> Self {
        match self {
            Self::Motor(_) => self,
            Self::Push { push, anchor, .. } => Self::Push {
                push,
                anchor,
                force: match push.strength {
                    Strength::Force(force) => force,
                    Strength::Work(work) if travel > 0.0 => work / travel,
                    Strength::Work(_) => 0.0,
                },
            },
        }
    }

    /// N·mm on the part it turns, or N, at this speed of the drive.
    pub(super) fn gives(&self, unit: &Unit, speed: f64) -> f64 {
        match self {
            Self::Motor(m) => {
                m.line.torque(speed * unit.rate * m.ratio) * m.ratio * (1.0 - m.loses)
            }
            Self::Push { push, force, .. } => {
                let share = push.per_minute.map_or(1.0, |rate| {
                    motors::share(60.0 * speed / TAU, rate).unwrap_or(0.0)
                });
                force * share
            }
        }
    }

    /// N·mm or N on the drive.
    pub(super) fn drives(&self, unit: &Unit, speed: f64) -> f64 {
        self.gives(unit, speed) * unit.rate
    }

    /// As a load of the case.
    pub(super) fn acting(&self, unit: &Unit, speed: f64) -> Option<Acting> {
        let gives = self.gives(unit, speed);
        let acting = unit.acting.as_ref()?;
        Some(match self {
            Self::Motor(_) => acting.sized(gives * acting.size()),
            Self::Push { .. } => acting.sized(gives),
        })
    }

    /// What kind it is, in a word.
    pub(super) fn kind(&self) -> &'static str {
        match self {
            Self::Motor(_) => "motor",
            Self::Push { push, .. } => match push.by {
                By::Foot => "foot",
                By::Hand => "hand",
            },
        }
    }
}
