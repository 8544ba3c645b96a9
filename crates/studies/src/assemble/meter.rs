//! How much following one question may take.
//!
//! A slip of the pen (a point a mile off, a rise within a hundredth of a degree) makes a machine that can hardly be followed: every place takes
//! thousands of steps. Steps are counted, not seconds, so that the answer is the same on every machine.

use super::Model;
use crate::answers::{Finding, Severity};
use crate::refusal::Refusal;
use mechanics::model::Mechanism;
use mechanics::{Ended, Followed, State, follow};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Steps from one place to the next that are not counted: a machine without slips takes two or three, over a whole turn thirty.
const FREE: usize = 60;
/// Steps beyond those, each as often as there are bodies.
const MOST: u64 = 300_000;

/// Work done for one question.
#[derive(Debug, Default)]
pub(crate) struct Meter(AtomicU64);

impl Model {
    /// The same machine for one question, whose following is counted: see [`Model::within`].
    #[must_use]
    pub fn metered(&self) -> Self {
        Self {
            meter: Some(Arc::default()),
            ..self.clone()
        }
    }

    /// The question has taken more steps than any may: nothing is followed any more, and what comes out is worth nothing.
    pub(crate) fn spent(&self) -> bool {
        let meter = self.meter.as_ref();
        meter.is_some_and(|meter| meter.0.load(Ordering::Relaxed) > MOST)
    }

    /// Follows a mechanism of this machine, and counts it.
    pub(crate) fn follow(&self, mechanism: &Mechanism, from: &State, to: &[f64]) -> Followed {
        if self.spent() {
            return Followed {
                state: from.clone(),
                share: 0.0,
                ended: Ended::Lost,
                change_points: Vec::new(),
                apart: 1.0,
                steps: 0,
            };
        }
        let followed = follow(mechanism, from, to);
        if let Some(meter) = &self.meter {
            let beyond = followed.steps.saturating_sub(FREE);
            let work = beyond.saturating_mul(mechanism.bodies.len());
            meter.0.fetch_add(work as u64, Ordering::Relaxed);
        }
        followed
    }

    /// Nothing, where the question that this machine was metered for came to its end.
    ///
    /// # Errors
    /// It took more steps than any question may; the answer is not to be shown.
    pub fn within(&self) -> Result<(), Refusal> {
        if !self.spent() {
            return Ok(());
        }
        Err(Refusal::new(format!("{GIVEN_UP}{}", self.far_off()), TRY))
    }

    /// The same as a finding.
    pub(crate) fn given_up_finding(&self) -> Option<Finding> {
        self.spent().then(|| Finding {
            severity: Severity::Fault,
            sentence: format!(
                "{GIVEN_UP}{}; nothing but what stands here was looked at",
                self.far_off()
            ),
            number: None,
            margin: None,
            inside: None,
            what_to_try: Some(String::from(TRY)),
            about: String::from("machine"),
            place: machine::Place::default(),
        })
    }

    /// The point that stands farthest from all others, where it stands far off.
    fn far_off(&self) -> String {
        let points = &self.machine.points;
        let nearest = |i: usize| {
            let others = points.iter().enumerate().filter(|(j, _)| *j != i);
            others
                .map(|(_, q)| (points[i].x - q.x).hypot(points[i].y - q.y))
                .fold(f64::INFINITY, f64::min)
        };
        let mut alone: Vec<(f64, usize)> = (0..points.len()).map(|i| (nearest(i), i)).collect();
        alone.sort_by(|a, b| b.0.total_cmp(&a.0));
        let [(farthest, point), (next, _), ..] = alone[..] else {
            return String::new();
        };
        if !farthest.is_finite() || farthest < FAR * next {
            return String::new();
        }
        format!("; point {} stands far from all others", points[point].name)
    }
}

/// So many times farther from its neighbour than any other, a point stands far off.
const FAR: f64 = 4.0;
const GIVEN_UP: &str = "the machine can hardly be followed: from place to place it takes hundreds of steps, and it was given up";
const TRY: &str =
    "look for a mistyped place, length or ratio, or a rise of a cam within too small an angle";
