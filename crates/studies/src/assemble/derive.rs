//! Cams derived backwards: the machine is led so that a reading follows the program, and the cam is what leads it so.
//!
//! In place of the cam its follower is held. At each turn of the cam the drive and the follower are set so that the cam has turned so far and the
//! reading stands where the program wants it; how both go on from there, to second order, follows from the rates of the machine. Between
//! these places the lift is a polynomial of the fifth degree.

use super::build::Builder;
use super::cams::{Drawn, Programmed, drawn};
use super::{Gauge, Joint};
use crate::answers::Severity;
use elements::cams::{Course, Program};
use machine::model::{Cam, Rides};
use mechanics::cam::Ride;
use mechanics::model::{Constraint, Measure, Mechanism, ParamId, Pose};
use mechanics::{Ended, State, Tangent, follow};
use std::cell::Cell;
use std::f64::consts::TAU;
use std::sync::Arc;

/// Places of the turn at which the machine is led.
const PLACES: u32 = 360;
/// Corrections until a place is reached.
const CORRECTIONS: usize = 12;
/// How near a turn of the cam (rad) and a reading (share of the machine's size) have to come.
const NEAR: f64 = 1e-12;
/// How near the follower has to come back after a turn, as a share of the size.
const CLOSED: f64 = 1e-7;
/// Below this share the drive and the follower do not move cam and reading apart.
const FLAT: f64 = 1e-9;

/// Just beside a place, rad.
const BESIDE: f64 = 1e-11;

/// Why a cam cannot be derived, and at what turn of its program, rad.
struct Fails {
    turn: Option<f64>,
    why: &'static str,
}

/// Steps of a whole turn: ten times what a machine without slips takes.
const MOST_STEPS: usize = 20_000;

const HARD: &str = "the machine can hardly be led there: look for a mistyped place or length";
const BINDS: &str =
    "the machine cannot be led there: it comes to a dead centre, or the reading does not go so far";
const STILL: &str =
    "its follower does not move the reading there: name a reading that its follower moves";
const UNTURNED: &str = "no drive turns the cam: give it one, or gear it to a part that has one";

impl Builder<'_> {
    /// Gives the cams whose program speaks of a reading their lift.
    pub(super) fn derive(&mut self, gauges: &[Gauge], drives: &[(ParamId, f64)]) {
        let machine = self.machine;
        for (i, cam) in machine.cams.iter().enumerate() {
            let (Some(reading), Some(at)) = (
                cam.reading,
                self.joints.iter().position(|j| *j == Joint::Cam(i)),
            ) else {
                continue;
            };
            let (Some(Gauge::Pose(measure)), Some(shape)) =
                (gauges.get(reading), drawn(machine, cam))
            else {
                continue;
            };
            match self.led(cam, at, *measure, drives, &shape) {
                Ok(course) => {
                    let program = Program::Led(course);
                    if self.reaches(cam, shape.ride, &program) {
                        self.lead(i, at, program);
                    }
                }
                Err(fails) => {
                    let at = fails.turn.map_or(String::new(), |t| {
                        format!(" at {:.1} deg of its program", t.to_degrees())
                    });
                    let sentence = format!(
                        "cam {} cannot be derived from reading {}{at}: {}; it is left round",
                        cam.name, machine.readings[reading].name, fails.why
                    );
                    let about = format!("cam.{}", cam.name);
                    let number = fails.turn.unwrap_or(0.0).to_degrees();
                    self.fault(Severity::Fault, sentence, number, about, cam.place);
                }
            }
        }
    }

    fn lead(&mut self, cam: usize, at: usize, program: Program) {
        if let Some(Constraint::Cam { cam: number, .. }) = self.mechanism.constraints.get(at)
            && let Some(own) = self.mechanism.cams.get_mut(*number)
        {
            own.lift = Arc::new(Programmed(program.clone()));
        }
        if let Some(Some(shape)) = self.cam_shapes.get_mut(cam) {
            shape.program = program;
        }
    }

    /// The machine with the follower held in place of the cam, and the parameter that holds it.
    fn held(&self, cam: &Cam, at: usize) -> Option<(Mechanism, ParamId)> {
        let mut held = self.mechanism.clone();
        let (constraint, param) = match cam.rides {
            Rides::Slide(slide) => {
                let line = *self.slide_lines.get(slide)?;
                let (p, q) = (
                    held.in_plane(&held.params, &held.drawn, line.pin),
                    held.in_plane(&held.params, &held.drawn, line.through),
                );
                let (s, c) = self.machine.slides.get(slide)?.along.sin_cos();
                let distance = held.param((p[0] - q[0]) * c + (p[1] - q[1]) * s);
                let along = Constraint::Along {
                    pin: line.pin,
                    through: line.through,
                    direction: line.direction,
                    distance,
                };
                (along, distance)
            }
            Rides::Rocker(_) => {
                let angle = held.param(held.drawn[cam.of].angle - held.drawn[cam.host].angle);
                let held = Constraint::Angle {
                    body: cam.of,
                    against: cam.host,
                    angle,
                };
                (held, angle)
            }
        };
        *held.constraints.get_mut(at)? = constraint;
        Some((held, param))
    }

    fn led(
        &self,
        cam: &Cam,
        at: usize,
        measure: Measure,
        drives: &[(ParamId, f64)],
        drawn: &Drawn,
    ) -> Result<Course, Fails> {
        let still = || Fails {
            turn: None,
            why: STILL,
        };
        let (held, follower) = self.held(cam, at).ok_or_else(still)?;
        let turned = Measure::Angle {
            body: cam.part,
            against: cam.host,
            offset: 0.0,
        };
        let start = State {
            params: held.params.clone(),
            poses: held.drawn.clone(),
        };
        let leads = Leads {
            held: &held,
            measures: [turned, measure],
            follower,
            drive: the_drive(&held, &start, turned, drives).ok_or(Fails {
                turn: None,
                why: UNTURNED,
            })?,
            sense: cam.sense,
            size: held.size(&held.params),
            as_drawn: [
                held.measure(&held.params, &held.drawn, &turned),
                held.measure(&held.params, &held.drawn, &measure),
            ],
            steps: Cell::new(0),
        };
        // The sense in which the parameter that holds the follower lifts it.
        let outwards = match (cam.rides, drawn.ride) {
            (Rides::Slide(slide), _) => {
                let along = self.machine.slides.get(slide).map_or(0.0, |s| s.along);
                if along == drawn.reference { 1.0 } else { -1.0 }
            }
            (_, Ride::Rocker { hand, .. }) => -hand * cam.sense,
            _ => 1.0,
        };
        let zero = start.params[follower];
        let mut angles: Vec<f64> = (0..PLACES)
            .map(|n| f64::from(n) * TAU / f64::from(PLACES))
            .collect();
        let seams = cam.program.seams();
        angles.extend(seams.iter().map(|s| (s - cam.at).rem_euclid(TAU)));
        angles.sort_by(f64::total_cmp);
        angles.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        let mut state = start;
        let mut places = Vec::with_capacity(angles.len());
        for by in angles.into_iter().chain([TAU]) {
            let turn = cam.at + by;
            let fails = |why| Fails {
                turn: Some(turn.rem_euclid(TAU)),
                why,
            };
            let wanted = cam.program.at(turn);
            // Where the law changes acceleration may step.
            let [before, after] = [turn - BESIDE, turn + BESIDE].map(|t| cam.program.at(t));
            let wanted = [
                wanted.lift - cam.program.at(cam.at).lift,
                wanted.velocity,
                before.acceleration,
                after.acceleration,
            ];
            let rates = leads.to(&mut state, by, wanted).map_err(fails)?;
            let lift = outwards * (state.params[follower] - zero);
            if by < TAU {
                let rates = rates.map(|r| outwards * r);
                places.push((turn.rem_euclid(TAU), [lift, rates[0], rates[1], rates[2]]));
            } else if lift.abs() > CLOSED * leads.size {
                return Err(fails(
                    "after a whole turn the follower is not where it began: the machine has gone over to its other assembly",
                ));
            }
        }
        places.sort_by(|a, b| a.0.total_cmp(&b.0));
        Course::closed(&places).map_err(|_| still())
    }
}

/// The drive that turns the cam.
fn the_drive(
    held: &Mechanism,
    start: &State,
    turned: Measure,
    drives: &[(ParamId, f64)],
) -> Option<ParamId> {
    let tangent = Tangent::new(held, &start.params, &start.poses).ok()?;
    let by = tangent.sensitivity(&turned).ok()?.by_param;
    let most = drives
        .iter()
        .max_by(|a, b| by[a.0].abs().total_cmp(&by[b.0].abs()))?;
    (by[most.0].abs() > FLAT).then_some(most.0)
}

/// What leads the machine.
struct Leads<'a> {
    held: &'a Mechanism,
    /// Turn of the cam, and the reading.
    measures: [Measure; 2],
    drive: ParamId,
    follower: ParamId,
    sense: f64,
    size: f64,
    as_drawn: [f64; 2],
    /// Steps taken so far.
    steps: Cell<usize>,
}

impl Leads<'_> {
    /// Leads the machine to where the cam has turned by so much and the reading has changed as wanted; the first rate of what holds the
    /// follower, by the turn of the program, and the second before and after.
    fn to(&self, state: &mut State, by: f64, wanted: [f64; 4]) -> Result<[f64; 3], &'static str> {
        for _ in 0..CORRECTIONS {
            let tangent = self.tangent(&state.params, &state.poses)?;
            let now: [f64; 2] = std::array::from_fn(|i| {
                self.held
                    .measure(&state.params, &state.poses, &self.measures[i])
                    - self.as_drawn[i]
            });
            let off = [self.sense * by - now[0], wanted[0] - now[1]];
            let matrix = self.matrix(&tangent)?;
            if off[0].abs() < NEAR && off[1].abs() < NEAR * self.size {
                return self.rates(&tangent, &matrix, wanted);
            }
            let step = solve(&matrix, off).ok_or(STILL)?;
            let mut params = state.params.clone();
            params[self.drive] += step[0];
            params[self.follower] += step[1];
            let followed = follow(self.held, state, &params);
            self.steps.set(self.steps.get() + followed.steps);
            if self.steps.get() > MOST_STEPS {
                return Err(HARD);
            }
            if followed.ended != Ended::Reached {
                return Err(BINDS);
            }
            *state = followed.state;
        }
        Err(BINDS)
    }

    fn tangent<'s>(
        &'s self,
        params: &'s [f64],
        poses: &'s [Pose],
    ) -> Result<Tangent<'s>, &'static str> {
        Tangent::new(self.held, params, poses).map_err(|_| BINDS)
    }

    /// Derivatives of turn and reading by drive and follower.
    fn matrix(&self, tangent: &Tangent) -> Result<[[f64; 2]; 2], &'static str> {
        let mut matrix = [[0.0; 2]; 2];
        for (row, measure) in matrix.iter_mut().zip(&self.measures) {
            let by = tangent.sensitivity(measure).map_err(|_| BINDS)?.by_param;
            *row = [by[self.drive], by[self.follower]];
        }
        Ok(matrix)
    }

    fn rates(
        &self,
        tangent: &Tangent,
        matrix: &[[f64; 2]; 2],
        wanted: [f64; 4],
    ) -> Result<[f64; 3], &'static str> {
        let first = solve(matrix, [self.sense, wanted[1]]).ok_or(STILL)?;
        let mut direction = vec![0.0; self.held.params.len()];
        direction[self.drive] = first[0];
        direction[self.follower] += first[1];
        let rates = tangent.rates(&direction).map_err(|_| BINDS)?;
        let bend: [f64; 2] =
            std::array::from_fn(|i| tangent.along(&self.measures[i], &direction, &rates)[2]);
        let [before, after] =
            [wanted[2], wanted[3]].map(|w| solve(matrix, [-bend[0], w - bend[1]]));
        Ok([first[1], before.ok_or(STILL)?[1], after.ok_or(STILL)?[1]])
    }
}

/// Two equations; none where they say the same.
fn solve([[a, b], [c, d]]: &[[f64; 2]; 2], right: [f64; 2]) -> Option<[f64; 2]> {
    let det = a * d - b * c;
    let size = a.hypot(*b) * c.hypot(*d);
    (det.abs() > FLAT * size && det.is_finite()).then(|| {
        [
            (right[0] * d - b * right[1]) / det,
            (a * right[1] - right[0] * c) / det,
        ]
    })
}
