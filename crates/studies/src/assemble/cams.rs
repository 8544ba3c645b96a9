//! Cams: the shape that follows from how the roller is drawn, as a constraint with its dimensions.

use super::Joint;
use super::build::Builder;
use crate::answers::{Inside, Severity};
use elements::cams::{Follower, Law, Piece, Program};
use machine::model::{Cam, Rides};
use mechanics::cam::{Lift, Ride};
use mechanics::model::{AnchorId, Constraint, ParamId};
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// A program as the mechanics read it.
#[derive(Debug)]
pub(crate) struct Programmed(pub(crate) Program);

impl Lift for Programmed {
    fn at(&self, turn: f64) -> [f64; 4] {
        let m = self.0.at(turn);
        [m.lift, m.velocity, m.acceleration, m.jerk]
    }
}

/// How a cam stands as drawn, before its program is known.
pub(crate) struct Drawn {
    /// The follower with what it measures as drawn in place of what it measures without lift.
    pub(crate) ride: Ride,
    /// Direction of the cam's reference, rad, in the plane as drawn.
    pub(crate) reference: f64,
}

/// The shape of a cam as its element knows it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Shape {
    /// What rides on it.
    pub(crate) follower: Follower,
    /// Its lift.
    pub(crate) program: Program,
    /// Direction of its reference in its own part.
    pub(crate) clock: ParamId,
    /// Its centre on its own part.
    pub(crate) centre: AnchorId,
}

/// The follower as the element knows it. Its picture has the way of a follower in line upwards, and a rocker's pivot to the right.
fn follower(ride: Ride, roller: f64) -> Option<Follower> {
    Some(match ride {
        Ride::InLine { offset, from } => Follower::InLine {
            pitch: offset.hypot(from),
            offset,
            roller,
        },
        Ride::Rocker {
            centres,
            arm,
            hand,
            from,
        } => {
            let square = centres * centres + arm * arm - 2.0 * centres * arm * from.cos();
            Follower::Rocker {
                hand,
                centres,
                arm,
                pitch: square.max(0.0).sqrt(),
                roller,
            }
        }
        Ride::Wheel => return None,
    })
}

/// No lift all round.
fn round() -> Program {
    Program::Pieces(vec![Piece {
        over: TAU,
        to: 0.0,
        law: Law::Cycloidal,
    }])
}

/// What the follower measures as drawn; none where the drawing leaves it open, which reading has told.
pub(crate) fn drawn(machine: &machine::Machine, cam: &Cam) -> Option<Drawn> {
    let at = |p: usize| machine.points.get(p).map(|p| [p.x, p.y]);
    let (centre, roller) = (at(cam.centre)?, at(cam.roller)?);
    let arm = [roller[0] - centre[0], roller[1] - centre[1]];
    match cam.rides {
        Rides::Slide(slide) => {
            let along = machine.slides.get(slide)?.along;
            let (s, c) = along.sin_cos();
            let out = arm[0] * c + arm[1] * s;
            // Outwards, whichever way the slide is drawn.
            let (reference, way) = if out >= 0.0 {
                (along, [c, s])
            } else {
                (along + PI, [-c, -s])
            };
            let right = arm[0] * way[1] - arm[1] * way[0];
            Some(Drawn {
                ride: Ride::InLine {
                    offset: cam.sense * right,
                    from: out.abs(),
                },
                reference,
            })
        }
        Rides::Rocker(pivot) => {
            let pivot = at(pivot)?;
            let line = [pivot[0] - centre[0], pivot[1] - centre[1]];
            let side = line[0] * arm[1] - line[1] * arm[0];
            let (centres, reach) = (
                line[0].hypot(line[1]),
                (roller[0] - pivot[0]).hypot(roller[1] - pivot[1]),
            );
            let square = arm[0] * arm[0] + arm[1] * arm[1];
            let cosine = (centres * centres + reach * reach - square) / (2.0 * centres * reach);
            Some(Drawn {
                ride: Ride::Rocker {
                    centres,
                    arm: reach,
                    hand: cam.sense * side.signum(),
                    from: cosine.clamp(-1.0, 1.0).acos(),
                },
                reference: line[1].atan2(line[0]),
            })
        }
    }
}

/// The follower without lift, when it is lifted so far as drawn.
pub(crate) fn without_lift(ride: Ride, lift: f64) -> Ride {
    match ride {
        Ride::InLine { offset, from } => Ride::InLine {
            offset,
            from: from - lift,
        },
        Ride::Rocker {
            centres,
            arm,
            hand,
            from,
        } => Ride::Rocker {
            centres,
            arm,
            hand,
            from: from - lift,
        },
        Ride::Wheel => Ride::Wheel,
    }
}

/// A table's curve that swings this share of its lift beyond its points is not what was meant.
const SWINGS: f64 = 0.1;

impl Builder<'_> {
    pub(super) fn cams(&mut self) {
        let machine = self.machine;
        for (i, cam) in machine.cams.iter().enumerate() {
            let Some(drawn) = drawn(machine, cam) else {
                continue;
            };
            // What a reading is to do becomes a lift when the whole machine stands; until then the cam is round.
            let program = if cam.reading.is_some() {
                round()
            } else {
                cam.program.clone()
            };
            let ride = without_lift(drawn.ride, program.at(cam.at).lift);
            if self.reaches(cam, ride, &program) {
                self.cam(i, cam, &drawn, ride, program);
            }
        }
    }

    /// Whether the follower can go where the program takes it; a fault of the drawing when not.
    pub(super) fn reaches(&mut self, cam: &Cam, ride: Ride, program: &Program) -> bool {
        let [low, high] = program.ends();
        let (least, what) = match ride {
            Ride::InLine { from, .. } => (from + low, "its roller comes to the centre of the cam"),
            Ride::Rocker { from, .. } => (
                (from + low).min(PI - from - high),
                "its rocker comes into line with the centre of the cam and its own pivot",
            ),
            Ride::Wheel => return true,
        };
        if least > 1e-6 {
            return true;
        }
        let swings = match program {
            Program::Through(spline) => spline.beyond(),
            _ => None,
        };
        let cure = match swings.filter(|s| s.2 > SWINGS * (high - low)) {
            Some(([from, to], lift, _)) => {
                let lift = if matches!(ride, Ride::InLine { .. }) {
                    quantity::show(lift, self.machine.unit, 1)
                } else {
                    quantity::show(lift, quantity::Unit::Degree, 1)
                };
                format!(
                    "between the points of its table at {:.0} deg and {:.0} deg the smooth curve swings to {lift}: put points there",
                    from.to_degrees(),
                    to.to_degrees()
                )
            }
            None => String::from("draw the roller farther out, or lift it less"),
        };
        let sentence = format!("cam {}: {what} within the program; {cure}", cam.name);
        let about = format!("cam.{}", cam.name);
        self.fault(Severity::Fault, sentence, least, about, cam.place);
        false
    }

    fn cam(&mut self, i: usize, cam: &Cam, drawn: &Drawn, ride: Ride, program: Program) {
        let hole = |part: usize, p: usize| {
            let on = self.carriers.get(p)?.iter().find(|c| c.0 == part);
            on.map(|c| c.1)
        };
        let Some(pin) = hole(cam.of, cam.roller) else {
            return;
        };
        let centre = match hole(cam.part, cam.centre) {
            Some(anchor) => anchor,
            None => {
                let p = &self.machine.points[cam.centre];
                self.mechanism
                    .anchor_drawn(cam.part, p.plane, [p.x, p.y, p.station])
            }
        };
        let radius = 0.5 * cam.diameter;
        let turned = self.mechanism.drawn[cam.part].angle;
        let clock = self
            .mechanism
            .param(drawn.reference - turned + cam.sense * cam.at);
        let swell = self.mechanism.param(0.0);
        let roller = self.mechanism.param(radius);
        self.mechanism.cams.push(mechanics::cam::Cam {
            ride,
            sense: cam.sense,
            roller: radius,
            lift: Arc::new(Programmed(program.clone())),
        });
        if let Some(shape) = self.cam_shapes.get_mut(i) {
            *shape = follower(ride, radius).map(|follower| Shape {
                follower,
                program,
                clock,
                centre,
            });
        }
        let number = self.mechanism.cams.len() - 1;
        self.constrain(
            Joint::Cam(i),
            Constraint::Cam {
                cam: number,
                centre,
                pin,
                clock,
                swell,
                roller,
            },
        );
        let of = format!("cam {}", cam.name);
        let mut dimension = |what: &str, param: ParamId, inside: Inside| {
            self.dimension(&of, what, param, inside, cam.place);
        };
        dimension("profile, outwards", swell, Inside::Millimetre);
        dimension("radius of the roller", roller, Inside::Millimetre);
        dimension("program on its part", clock, Inside::Radian);
    }
}
