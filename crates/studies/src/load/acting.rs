//! What acts on the machine in a load case: work that resists, forces, moments, springs and weights.

use super::nodes::shaft_in;
use super::rig::Rig;
use super::stock::lumps;
use crate::assemble::Gauge;
use machine::model::PointId;
use machine::work::{self, LoadKind, Resists, SpringKind};
use mechanics::model::{AnchorId, BodyId, Measure, Pose};
use mechanics::statics;

/// Standard gravity, m/s² (CGPM 1901).
const GRAVITY: f64 = 9.806_65;

/// How a load follows from the value it acts on.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Law {
    /// The same everywhere.
    Constant(f64),
    /// The same below a value, nothing above.
    Below { force: f64, below: f64 },
    /// Rising in proportion below a value.
    Linear { begins: f64, stiffness: f64 },
    /// Straight between (value, force).
    Table(Vec<[f64; 2]>),
    /// A spring, slack at `free`.
    Spring {
        rate: f64,
        free: f64,
        only_push: bool,
        only_pull: bool,
    },
}

impl Law {
    /// The same law with a share of its force.
    fn times(&self, share: f64) -> Self {
        match self {
            Self::Constant(force) => Self::Constant(share * force),
            Self::Below { force, below } => Self::Below {
                force: share * force,
                below: *below,
            },
            Self::Linear { begins, stiffness } => Self::Linear {
                begins: *begins,
                stiffness: share * stiffness,
            },
            Self::Table(pairs) => Self::Table(pairs.iter().map(|[x, y]| [*x, share * y]).collect()),
            Self::Spring {
                rate,
                free,
                only_push,
                only_pull,
            } => Self::Spring {
                rate: share * rate,
                free: *free,
                only_push: *only_push,
                only_pull: *only_pull,
            },
        }
    }

    /// Force at a value, and its derivative. Rises with the value in a table alone, where work gives way as it closes.
    pub(crate) fn at(&self, value: f64) -> (f64, f64) {
        match self {
            Self::Constant(force) => (*force, 0.0),
            Self::Below { force, below } => (if value < *below { *force } else { 0.0 }, 0.0),
            Self::Linear { begins, stiffness } if value < *begins => {
                (stiffness * (begins - value), -stiffness)
            }
            Self::Linear { .. } => (0.0, 0.0),
            Self::Table(pairs) => statics::Law::Table(pairs.clone()).at(value),
            Self::Spring {
                rate,
                free,
                only_push,
                only_pull,
            } => {
                let (rate, free, only_push, only_pull) = (*rate, *free, *only_push, *only_pull);
                statics::Law::Spring {
                    rate,
                    free,
                    only_push,
                    only_pull,
                }
                .at(value)
            }
        }
    }

    /// Values at which it bends or steps.
    fn knees(&self) -> Vec<f64> {
        match self {
            Self::Constant(_) => Vec::new(),
            Self::Below { below, .. } => vec![*below],
            Self::Linear { begins, .. } => vec![*begins],
            Self::Table(pairs) => pairs.iter().map(|p| p[0]).collect(),
            Self::Spring {
                free,
                only_push,
                only_pull,
                ..
            } => {
                if *only_push || *only_pull {
                    vec![*free]
                } else {
                    Vec::new()
                }
            }
        }
    }

    /// It begins with its full force at once.
    pub(crate) fn steps(&self) -> bool {
        match self {
            Self::Below { force, .. } => *force > 0.0,
            _ => false,
        }
    }

    pub(crate) fn follows(&self) -> bool {
        !matches!(self, Self::Constant(_))
    }
}

/// What a load pushes.
#[derive(Clone, Copy, Debug, PartialEq)]
enum On {
    Measure(Measure),
    /// A place along a direction as drawn in its plane, which may turn with a body.
    Place {
        anchor: AnchorId,
        plane: usize,
        along: f64,
        with: Option<BodyId>,
    },
    /// A place along a direction fixed in space.
    Space {
        anchor: AnchorId,
        direction: [f64; 3],
    },
}

/// What kind of thing acts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Source {
    /// Work that squeezes this reading.
    Work(usize),
    Load,
    Spring(usize),
    Weight,
}

/// One thing that acts.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Acting {
    pub(crate) name: String,
    pub(crate) source: Source,
    pub(crate) law: Law,
    on: On,
    /// It acts all the time: springs and weights.
    always: bool,
    /// It acts only while what it pushes goes the other way, as a cut does.
    drags: bool,
    /// Share of it that acts while what it pushes goes its way: what is formed does not spring back whole.
    returns: f64,
}

impl Acting {
    /// What it pushes up, in this pose.
    pub(crate) fn measure(&self, rig: &Rig<'_>, poses: &[Pose]) -> Measure {
        match self.on {
            On::Measure(measure) => measure,
            On::Place {
                anchor,
                plane,
                along,
                with,
            } => {
                let turned = with.map_or(0.0, |b| poses[b].angle - rig.mechanism.drawn[b].angle);
                let (p, (s, c)) = (&rig.mechanism.planes[plane], (along + turned).sin_cos());
                let direction = std::array::from_fn(|i| c * p.right[i] + s * p.up[i]);
                Measure::Along {
                    a: rig.ground,
                    b: anchor,
                    direction,
                }
            }
            On::Space { anchor, direction } => Measure::Along {
                a: rig.ground,
                b: anchor,
                direction,
            },
        }
    }

    /// The same with another force.
    pub(crate) fn sized(&self, force: f64) -> Self {
        Self {
            law: Law::Constant(force),
            ..self.clone()
        }
    }

    /// Its force or moment where that is the same everywhere, else nothing.
    pub(crate) fn size(&self) -> f64 {
        if let Law::Constant(size) = self.law {
            size
        } else {
            0.0
        }
    }

    /// Acts all the time, as springs and weights do.
    pub(crate) fn always(&self) -> bool {
        self.always
    }
}

/// What inertia presses on a body: a force at one of its anchors along a direction in space, and a moment. Told among the weights.
pub(crate) fn inertia(
    name: &str,
    (anchor, direction, force): (AnchorId, [f64; 3], f64),
    (body, moment): (BodyId, f64),
) -> [Acting; 2] {
    let one = |on: On, size: f64| Acting {
        name: format!("inertia of {name}"),
        source: Source::Weight,
        law: Law::Constant(size),
        on,
        always: true,
        drags: false,
        returns: 1.0,
    };
    [
        one(On::Space { anchor, direction }, force),
        one(
            On::Measure(Measure::Angle {
                body,
                against: 0,
                offset: 0.0,
            }),
            moment,
        ),
    ]
}

/// A unit of what a motor turns a part with, counter-clockwise, against the frame.
pub(crate) fn motor(name: &str, body: BodyId) -> Acting {
    Acting {
        name: format!("motor {name}"),
        source: Source::Load,
        law: Law::Constant(1.0),
        on: On::Measure(Measure::Angle {
            body,
            against: 0,
            offset: 0.0,
        }),
        always: false,
        drags: false,
        returns: 1.0,
    }
}

/// A unit of what a foot or hand pushes a place with, along a direction in space.
pub(crate) fn push(name: &str, anchor: AnchorId, direction: [f64; 3]) -> Acting {
    Acting {
        name: format!("push {name}"),
        source: Source::Load,
        law: Law::Constant(1.0),
        on: On::Space { anchor, direction },
        always: false,
        drags: false,
        returns: 1.0,
    }
}

/// A load case ready for the mechanics.
#[derive(Clone, Debug)]
pub(crate) struct LoadCase {
    pub(crate) name: String,
    pub(crate) when: Vec<(usize, f64)>,
    pub(crate) acting: Vec<Acting>,
    /// What a rod's own inertia presses the pins at its ends with, in space, N, beside what acts, by the rod's constraint.
    pub(crate) carried: Vec<(usize, [[f64; 3]; 2])>,
}

impl LoadCase {
    /// The same with only some of its loads.
    pub(crate) fn only(&self, pick: impl Fn(&Acting) -> bool) -> Self {
        let acting = self.acting.iter().filter(|a| pick(a)).cloned().collect();
        Self {
            name: self.name.clone(),
            when: self.when.clone(),
            acting,
            carried: self.carried.clone(),
        }
    }

    /// How fast what each load pushes moves; none where no load minds.
    pub(crate) fn rates(
        &self,
        rig: &Rig<'_>,
        poses: &[Pose],
        rate: &dyn Fn(&Measure) -> f64,
    ) -> Option<Vec<f64>> {
        let minds = |a: &Acting| a.drags || a.returns < 1.0;
        self.acting.iter().any(minds).then(|| {
            let each = self.acting.iter();
            each.map(|a| {
                if minds(a) {
                    rate(&a.measure(rig, poses))
                } else {
                    0.0
                }
            })
            .collect()
        })
    }

    /// The same while the machine moves so, by the rates of what its loads push: what drags acts only where it is gone against, and what was
    /// formed pushes back with its share.
    pub(crate) fn moving(&self, rates: &[f64]) -> Self {
        let mut moving = self.only(|_| false);
        for (acting, rate) in self.acting.iter().zip(rates) {
            let against = match acting.law {
                Law::Constant(force) => force * rate < 0.0,
                _ => true,
            };
            if acting.drags && !against {
                continue;
            }
            let mut acting = acting.clone();
            // Work pushes its reading up.
            if acting.returns < 1.0 && *rate > 0.0 {
                acting.law = acting.law.times(acting.returns);
            }
            moving.acting.push(acting);
        }
        moving
    }

    /// What follows a reading and where its force bends or steps.
    pub(crate) fn knees<'c>(
        &'c self,
        rig: &'c Rig<'_>,
        poses: &'c [Pose],
    ) -> impl Iterator<Item = (Measure, Vec<f64>)> + 'c {
        let each = self.acting.iter().map(|a| (a, a.law.knees()));
        each.filter(|(_, knees)| !knees.is_empty())
            .map(|(a, knees)| (a.measure(rig, poses), knees))
    }

    /// What drags and acts in none of these cases, which are this one at all places of a turn.
    pub(crate) fn never<'c>(&'c self, acts: &'c [Self]) -> impl Iterator<Item = &'c str> {
        let never = |a: &&Acting| {
            a.drags
                && !acts
                    .iter()
                    .any(|c| c.acting.iter().any(|b| b.name == a.name))
        };
        self.acting.iter().filter(never).map(|a| a.name.as_str())
    }

    /// Readings that this case squeezes.
    pub(crate) fn squeezed(&self) -> impl Iterator<Item = usize> {
        self.acting.iter().filter_map(|a| {
            if let Source::Work(reading) = a.source {
                Some(reading)
            } else {
                None
            }
        })
    }
}

/// Name of the one case of a machine whose file names none.
const ALL: &str = "all";

/// All load cases of the machine; one "all" when the file names none. The index is that of [`work::Work::cases`].
pub(crate) fn cases(rig: &Rig<'_>) -> Vec<LoadCase> {
    let work = rig.work();
    if work.cases.is_empty() {
        return vec![every(rig)];
    }
    work.cases
        .iter()
        .map(|c| case(rig, &c.name, &c.loads, &c.when))
        .collect()
}

/// Every load at once.
pub(crate) fn every(rig: &Rig<'_>) -> LoadCase {
    let every: Vec<usize> = (0..rig.work().loads.len()).collect();
    case(rig, ALL, &every, &[])
}

fn case(rig: &Rig<'_>, name: &str, loads: &[usize], when: &[(usize, f64)]) -> LoadCase {
    let work = rig.work();
    let mut acting: Vec<Acting> = loads
        .iter()
        .filter_map(|&l| load(rig, work.loads.get(l)?))
        .collect();
    acting.extend(
        work.springs
            .iter()
            .enumerate()
            .filter_map(|(i, s)| spring(rig, i, s)),
    );
    acting.extend(weights(rig));
    LoadCase {
        name: name.to_owned(),
        when: when.to_vec(),
        acting,
        carried: Vec::new(),
    }
}

/// The hole that a force at a point presses: the first moving part's, a shaft before the arms on it; else the frame's.
pub(crate) fn pressed(rig: &Rig<'_>, point: PointId) -> Option<AnchorId> {
    let carriers = rig.model.carriers.get(point)?;
    let clamped = |body: BodyId| {
        rig.model
            .machine
            .parts
            .get(body)
            .is_some_and(|p| p.clamped_to.is_some())
    };
    let moving = carriers.iter().filter(|c| c.0 != 0);
    let &(part, anchor) = moving.min_by_key(|c| clamped(c.0)).or(carriers.first())?;
    Some(if shaft_in(rig, anchor).is_some() {
        rig.on_axis(part).map_or(anchor, |[centre, _]| centre)
    } else {
        anchor
    })
}

fn load(rig: &Rig<'_>, load: &work::Load) -> Option<Acting> {
    let name = format!("load {}", load.name);
    Some(match &load.kind {
        LoadKind::Squeezes { reading, resists } => {
            let Gauge::Pose(measure) = rig.model.gauges.get(*reading)? else {
                return None;
            };
            let law = match resists {
                Resists::Constant { force, below } if below.is_finite() => Law::Below {
                    force: *force,
                    below: *below,
                },
                Resists::Constant { force, .. } => Law::Constant(*force),
                Resists::Linear {
                    begins, stiffness, ..
                } => Law::Linear {
                    begins: *begins,
                    stiffness: *stiffness,
                },
                Resists::Table(pairs) => Law::Table(pairs.clone()),
            };
            Acting {
                name,
                source: Source::Work(*reading),
                law,
                on: On::Measure(*measure),
                always: false,
                drags: false,
                returns: load.returns,
            }
        }
        LoadKind::Force {
            at,
            force,
            along,
            with,
            on,
        } => {
            let own = on.and_then(|part| rig.model.anchor_of(part, *at));
            let anchor = own.or_else(|| pressed(rig, *at))?;
            let plane = rig.model.machine.points.get(*at)?.plane;
            let on = On::Place {
                anchor,
                plane,
                along: *along,
                with: *with,
            };
            Acting {
                name,
                source: Source::Load,
                law: Law::Constant(*force),
                on,
                always: false,
                drags: load.drags,
                returns: 1.0,
            }
        }
        LoadKind::Moment { on, moment } => {
            let on = On::Measure(Measure::Angle {
                body: *on,
                against: 0,
                offset: 0.0,
            });
            Acting {
                name,
                source: Source::Load,
                law: Law::Constant(*moment),
                on,
                always: false,
                drags: load.drags,
                returns: 1.0,
            }
        }
    })
}

fn spring(rig: &Rig<'_>, index: usize, spring: &work::Spring) -> Option<Acting> {
    let (rate, free, measure) = match spring.kind {
        SpringKind::Between {
            points: [p, q],
            rate,
            free,
        } => (
            rate,
            free,
            Measure::Distance {
                a: pressed(rig, p)?,
                b: pressed(rig, q)?,
            },
        ),
        SpringKind::Torsion {
            part,
            against,
            rate,
            slack,
        } => {
            let drawn = &rig.mechanism.drawn;
            let offset = drawn.get(against)?.angle - drawn.get(part)?.angle;
            (
                rate,
                slack,
                Measure::Angle {
                    body: part,
                    against,
                    offset,
                },
            )
        }
    };
    let law = Law::Spring {
        rate,
        free,
        only_push: spring.pushes_only,
        only_pull: spring.pulls_only,
    };
    Some(Acting {
        name: format!("spring {}", spring.name),
        source: Source::Spring(index),
        law,
        on: On::Measure(measure),
        always: true,
        drags: false,
        returns: 1.0,
    })
}

fn weights(rig: &Rig<'_>) -> Vec<Acting> {
    let Some(along) = rig.work().weight else {
        return Vec::new();
    };
    let (front, (s, c)) = (&rig.mechanism.planes[0], along.sin_cos());
    let direction = std::array::from_fn(|i| c * front.right[i] + s * front.up[i]);
    let lumps = lumps(rig).into_iter();
    lumps
        .map(|lump| Acting {
            name: format!("weight of {}", lump.of),
            source: Source::Weight,
            law: Law::Constant(GRAVITY * lump.mass),
            on: On::Space {
                anchor: lump.at,
                direction,
            },
            always: true,
            drags: false,
            returns: 1.0,
        })
        .collect()
}
