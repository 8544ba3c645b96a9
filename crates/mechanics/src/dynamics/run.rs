//! A machine running in time, with as many freedoms as it has drives let go.
//!
//! Lagrange's equations in the drives: `M s̈ + Σ w z' z''(ṡ) = Q`, M from the rates of each drive alone, the second rates along the actual
//! motion, Q from the loads by virtual work and from what drives. Poses are closed at every stage, so nothing drifts off the joints.
//!
//! Dormand and Prince's embedded pair of orders 5 and 4 (J. Comp. Appl. Math. 6, 1980), error held a step. It is written out here because
//! the state of a step is not a vector alone: it carries the closed poses, which are followed from stage to stage, and a step across which the
//! machine does not close is shortened and not failed.

use super::{Coordinate, Mass, NEWTON, Read};
use crate::follow::{Ended, State, follow};
use crate::model::{Mechanism, ParamId};
use crate::statics::Load;
use crate::tangent::{Singular, Tangent, unit_direction};
use nalgebra::{DMatrix, DVector};

/// What moves the machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Driving<'a> {
    /// Parameters of the drives that run.
    pub drives: &'a [ParamId],
    /// Masses.
    pub masses: &'a [Mass],
    /// Loads on measures.
    pub loads: &'a [Load],
}

/// Where a run ends, and how closely it is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// It ends at this time, s.
    pub until: f64,
    /// Error allowed of a step, as a share of a value.
    pub relative: f64,
    /// And besides: mm or rad, and mm/s or rad/s.
    pub absolute: f64,
    /// Most steps, taken and refused.
    pub steps: usize,
}

/// A moment of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Moment {
    /// s.
    pub time: f64,
    /// The machine there.
    pub state: State,
    /// Rate of each drive's parameter, rad/s or mm/s.
    pub speeds: Vec<f64>,
    /// And of the rates.
    pub accelerations: Vec<f64>,
}

/// Why a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Halt {
    /// The time was up.
    Time,
    /// Whoever watched said so.
    Told,
    /// It came to a place that it cannot pass: a dead centre, or nothing closes beyond.
    Stuck,
    /// Nothing has mass in the way of some drive.
    Massless,
    /// Too many steps.
    Steps,
}

/// A run.
#[derive(Clone, Debug, PartialEq)]
pub struct Ran {
    /// The last moment.
    pub end: Moment,
    /// Why it ended.
    pub halt: Halt,
    /// Steps taken.
    pub taken: usize,
    /// Steps refused.
    pub refused: usize,
}

const NODES: [f64; 7] = [0.0, 0.2, 0.3, 0.8, 8.0 / 9.0, 1.0, 1.0];
const STAGES: [&[f64]; 7] = [
    &[],
    &[1.0 / 5.0],
    &[3.0 / 40.0, 9.0 / 40.0],
    &[44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0],
    &[
        19372.0 / 6561.0,
        -25360.0 / 2187.0,
        64448.0 / 6561.0,
        -212.0 / 729.0,
    ],
    &[
        9017.0 / 3168.0,
        -355.0 / 33.0,
        46732.0 / 5247.0,
        49.0 / 176.0,
        -5103.0 / 18656.0,
    ],
    &[
        35.0 / 384.0,
        0.0,
        500.0 / 1113.0,
        125.0 / 192.0,
        -2187.0 / 6784.0,
        11.0 / 84.0,
    ],
];
/// Fifth order less fourth.
const ERROR: [f64; 7] = [
    71.0 / 57600.0,
    0.0,
    -71.0 / 16695.0,
    71.0 / 1920.0,
    -17253.0 / 339_200.0,
    22.0 / 525.0,
    -1.0 / 40.0,
];

/// The first step, as a share of the whole time.
const FIRST: f64 = 1e-4;
/// How often what drives is asked for at one place, and how closely two answers agree.
const AGREEMENTS: usize = 30;
const AGREED: f64 = 1e-12;
/// Steps below this share of the whole time end the run.
const SHORTEST: f64 = 1e-12;

/// Runs from a closed pose with these speeds of the drives. `push` gives what drives each of them besides the loads, in N·mm or N and in the sense
/// of the parameters: motors, and friction as what it takes. It is asked again until the accelerations, on which friction depends through the
/// forces in the joints, agree with it. `watch` sees every step and ends the run by `false`.
pub fn run(
    mechanism: &Mechanism,
    start: &State,
    speeds: &[f64],
    driving: &Driving<'_>,
    settings: &Settings,
    mut push: impl FnMut(&Moment) -> Vec<f64>,
    mut watch: impl FnMut(&Moment) -> bool,
) -> Ran {
    let count = driving.drives.len();
    let mut now = Moment {
        time: 0.0,
        state: start.clone(),
        speeds: speeds.to_vec(),
        accelerations: vec![0.0; count],
    };
    let (mut taken, mut refused) = (0, 0);
    let ended = |end: Moment, halt: Halt, taken: usize, refused: usize| Ran {
        end,
        halt,
        taken,
        refused,
    };
    let mut rate = |moment: &Moment| accelerations(mechanism, moment, driving, &mut push);
    match rate(&now) {
        Ok(a) => now.accelerations = a,
        Err(halt) => return ended(now, halt, 0, 0),
    }
    if !watch(&now) {
        return ended(now, Halt::Told, 0, 0);
    }
    let mut step = FIRST * settings.until;
    while now.time < settings.until {
        if taken + refused >= settings.steps {
            return ended(now, Halt::Steps, taken, refused);
        }
        let last = now.time + step >= settings.until;
        if last {
            step = settings.until - now.time;
        }
        let tried = stages(mechanism, &now, driving.drives, step, &mut rate);
        let (next, error) = match tried {
            Ok((next, change)) => {
                let scale = |i: usize| {
                    let (a, b) = (now.value(driving.drives, i), next.value(driving.drives, i));
                    settings.absolute + settings.relative * a.abs().max(b.abs())
                };
                let sum: f64 = change
                    .iter()
                    .enumerate()
                    .map(|(i, e)| (e / scale(i)).powi(2))
                    .sum();
                (Some(next), (sum / (2 * count) as f64).sqrt())
            }
            Err(Halt::Massless) => return ended(now, Halt::Massless, taken, refused),
            Err(_) => (None, f64::INFINITY),
        };
        match next {
            Some(mut next) if error <= 1.0 => {
                if last {
                    next.time = settings.until;
                }
                now = next;
                taken += 1;
                if !watch(&now) {
                    return ended(now, Halt::Told, taken, refused);
                }
            }
            _ => refused += 1,
        }
        step *= (0.9 * error.powf(-0.2)).clamp(0.2, 5.0);
        if step < SHORTEST * settings.until && now.time < settings.until {
            return ended(now, Halt::Stuck, taken, refused);
        }
    }
    ended(now, Halt::Time, taken, refused)
}

impl Moment {
    /// Places first, speeds behind.
    fn value(&self, drives: &[ParamId], i: usize) -> f64 {
        drives
            .get(i)
            .map_or_else(|| self.speeds[i - drives.len()], |&p| self.state.params[p])
    }
}

type Rate<'r> = dyn FnMut(&Moment) -> Result<Vec<f64>, Halt> + 'r;

/// One step, and the difference of both orders.
fn stages(
    mechanism: &Mechanism,
    now: &Moment,
    drives: &[ParamId],
    step: f64,
    rate: &mut Rate<'_>,
) -> Result<(Moment, Vec<f64>), Halt> {
    let count = drives.len();
    let mut slopes: Vec<Vec<f64>> = Vec::with_capacity(7);
    slopes.push([now.speeds.as_slice(), &now.accelerations].concat());
    let mut there = now.clone();
    for (node, weights) in NODES.iter().zip(STAGES).skip(1) {
        let value = |i: usize| {
            let moved: f64 = weights.iter().zip(&slopes).map(|(w, k)| w * k[i]).sum();
            now.value(drives, i) + step * moved
        };
        let mut params = now.state.params.clone();
        for (i, &p) in drives.iter().enumerate() {
            params[p] = value(i);
        }
        let speeds: Vec<f64> = (count..2 * count).map(value).collect();
        let followed = follow(mechanism, &there.state, &params);
        if followed.ended != Ended::Reached {
            return Err(Halt::Stuck);
        }
        there = Moment {
            time: now.time + node * step,
            state: followed.state,
            speeds,
            accelerations: there.accelerations,
        };
        there.accelerations = rate(&there)?;
        slopes.push([there.speeds.as_slice(), &there.accelerations].concat());
    }
    let error = (0..2 * count).map(|i| {
        step * ERROR
            .iter()
            .zip(&slopes)
            .map(|(w, k)| w * k[i])
            .sum::<f64>()
    });
    Ok((there, error.collect()))
}

/// Accelerations of the drives here.
fn accelerations(
    mechanism: &Mechanism,
    moment: &Moment,
    driving: &Driving<'_>,
    push: &mut impl FnMut(&Moment) -> Vec<f64>,
) -> Result<Vec<f64>, Halt> {
    let (params, poses) = (&moment.state.params, &moment.state.poses);
    let speeds = &moment.speeds;
    let solved = || -> Result<_, Singular> {
        let tangent = Tangent::new(mechanism, params, poses)?;
        let mut along: Vec<Vec<Coordinate>> = Vec::new();
        let mut works: Vec<f64> = Vec::new();
        let forces = tangent.forces(driving.loads);
        for &p in driving.drives {
            let rates = tangent.rates(&unit_direction(params.len(), p))?;
            along.push(Read::new(mechanism, params, poses, &rates).coordinates(driving.masses));
            let moved = rates.first.iter().skip(1).flatten();
            works.push(forces.iter().zip(moved).map(|(f, q)| f * q).sum());
        }
        let mut direction = vec![0.0; params.len()];
        for (&p, v) in driving.drives.iter().zip(speeds) {
            direction[p] = *v;
        }
        let rates = tangent.rates(&direction)?;
        let actual = Read::new(mechanism, params, poses, &rates).coordinates(driving.masses);
        Ok((along, works, actual))
    };
    let (along, works, actual) = solved().map_err(|Singular| Halt::Stuck)?;
    let n = along.len();
    let dot = |a: &[Coordinate], f: &dyn Fn(usize) -> f64| -> f64 {
        a.iter()
            .enumerate()
            .map(|(k, z)| z.weight * z.first * f(k))
            .sum()
    };
    let matrix = DMatrix::from_fn(n, n, |i, j| NEWTON * dot(&along[i], &|k| along[j][k].first));
    let right = DVector::from_fn(n, |i, _| {
        works[i] - NEWTON * dot(&along[i], &|k| actual[k].second)
    });
    let matrix = matrix.cholesky().ok_or(Halt::Massless)?;
    let mut there = moment.clone();
    for _ in 0..AGREEMENTS {
        let pushed = push(&there);
        let all = DVector::from_fn(n, |i, _| right[i] + pushed.get(i).copied().unwrap_or(0.0));
        let found = matrix.solve(&all).as_slice().to_vec();
        let size = found.iter().fold(0.0_f64, |m, a| m.max(a.abs()));
        let agrees = found
            .iter()
            .zip(&there.accelerations)
            .all(|(a, b)| (a - b).abs() <= AGREED * size);
        there.accelerations = found;
        if agrees {
            break;
        }
    }
    Ok(there.accelerations)
}
