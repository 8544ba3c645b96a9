//! The solvers that the cases are put to.

use mechanics::model::Pose;
use mechanics::plan::{Forms, Plan, Track, Want};
use mechanics::{Ended, Mechanism, State, close, follow};

/// Something that brings a machine from a drawn pose to other values of its parameters on the same branch.
pub trait Solver {
    /// Its name in messages.
    fn name(&self) -> &'static str;

    /// The closed state at the parameters `to`, followed from `from`.
    ///
    /// # Errors
    /// Why it did not get there.
    fn go(&self, mechanism: &Mechanism, from: &State, to: &[f64]) -> Result<State, String>;
}

/// The dense reference, following with controlled steps.
#[derive(Clone, Copy, Debug)]
pub struct Dense;

impl Solver for Dense {
    fn name(&self) -> &'static str {
        "dense"
    }

    fn go(&self, mechanism: &Mechanism, from: &State, to: &[f64]) -> Result<State, String> {
        let followed = follow(mechanism, from, to);
        match followed.ended {
            Ended::Reached => Ok(followed.state),
            ended => Err(format!(
                "stopped at {} of the way: {ended:?}",
                followed.share
            )),
        }
    }
}

/// The plan, its lanes swept from the drawn pose to the wanted one, with closed forms or with Newton alone.
#[derive(Clone, Copy, Debug)]
pub struct Planned(pub Forms);

/// Poses of a sweep on the way.
const ON_THE_WAY: usize = 256;

impl Solver for Planned {
    fn name(&self) -> &'static str {
        match self.0 {
            Forms::Closed => "plan",
            Forms::NewtonOnly => "plan by Newton alone",
        }
    }

    fn go(&self, mechanism: &Mechanism, from: &State, to: &[f64]) -> Result<State, String> {
        // Drawings of the cases are rough.
        let mut start = from.poses.clone();
        close(mechanism, &from.params, &mut start).map_err(|e| format!("{e:?}"))?;
        let plan =
            Plan::with(mechanism, &from.params, &start, self.0).map_err(|e| e.to_string())?;
        let varied: Vec<usize> = (0..to.len()).filter(|&p| to[p] != from.params[p]).collect();
        if varied.is_empty() {
            plan.pose(to, &mut start).map_err(|e| e.to_string())?;
            return Ok(State {
                params: to.to_vec(),
                poses: start,
            });
        }
        let bodies = 1..mechanism.bodies.len();
        let wants: Vec<Want> = bodies
            .flat_map(|b| [Want::Pose(b), Want::Angle(b)])
            .collect();
        let way = |p: usize, i: usize| {
            let (a, b) = (from.params[p], to[p]);
            // The last one exactly.
            if i == ON_THE_WAY {
                b
            } else {
                a + (b - a) * i as f64 / ON_THE_WAY as f64
            }
        };
        let columns: Vec<Vec<f64>> = varied
            .iter()
            .map(|&p| (1..=ON_THE_WAY).map(|i| way(p, i)).collect())
            .collect();
        let columns: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
        let sweep = plan
            .sweep(&from.params, &varied, &wants)
            .map_err(|e| e.to_string())?;
        let mut track = Track::new();
        sweep
            .run(&start, &columns, &mut track)
            .map_err(|e| e.to_string())?;
        let read = |pose: usize| {
            let at = |want: usize, k: usize| track.value(pose, track.column_of(want) + k);
            let body = |b: usize| Pose {
                x: at(2 * b - 2, 0),
                y: at(2 * b - 2, 1),
                angle: at(2 * b - 1, 0),
            };
            std::iter::once(Pose::default())
                .chain((1..mechanism.bodies.len()).map(body))
                .collect()
        };
        match track.missed() {
            [] => Ok(State {
                params: to.to_vec(),
                poses: read(ON_THE_WAY - 1),
            }),
            // A pose on which two assemblies meet is left to following.
            [last] if *last == ON_THE_WAY - 1 => {
                let mut params = from.params.clone();
                for &p in &varied {
                    params[p] = way(p, ON_THE_WAY - 1);
                }
                Dense.go(
                    mechanism,
                    &State {
                        params,
                        poses: read(ON_THE_WAY - 2),
                    },
                    to,
                )
            }
            [first, ..] => Err(format!("missed from pose {first} of {ON_THE_WAY} on")),
        }
    }
}
