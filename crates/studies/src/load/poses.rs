//! Poses at which a case is studied: one, or a row of them over a drive.

use super::acting::LoadCase;
use crate::assemble::{Model, Stand};
use crate::call::Sweep;
use crate::refusal::Refusal;
use crate::run::{Bench, Here, Span, Track, near};
use mechanics::model::Pose;
use mechanics::plan::{Plan, Single};
use std::f64::consts::TAU;
use std::rc::Rc;

/// The stand of a case: drives that it names stand as it says, unless they are asked for elsewhere than drawn.
pub(super) fn stand(model: &Model, case: Option<&LoadCase>, asked: &Stand) -> Stand {
    let mut stand = asked.clone();
    for &(drive, value) in case.map_or(&[][..], |c| &c.when) {
        if let (Some(d), Some(drawn)) =
            (stand.drives.get_mut(drive), model.machine.drives.get(drive))
            && *d == drawn.drawn
        {
            *d = value;
        }
    }
    stand
}

/// A pose of a sweep.
pub(super) struct At {
    /// Value of the drive; none for a single pose.
    pub(super) value: Option<f64>,
    /// The machine there; none when it cannot get there.
    pub(super) here: Option<Here>,
}

/// One pose at a stand, or the poses of a sweep from there; and the stand that everything else keeps.
pub(super) fn poses(
    bench: &mut Bench<'_>,
    stand: &Stand,
    sweep: Option<&Sweep>,
) -> Result<(Stand, Vec<At>), Refusal> {
    let Some(sweep) = sweep else {
        let here = bench.bring(stand)?;
        return Ok((
            stand.clone(),
            vec![At {
                value: None,
                here: Some(here),
            }],
        ));
    };
    let mut path = Path::new(bench, stand, sweep.drive)?;
    let values = crate::motion::values(path.model, sweep, &path.span)?;
    let poses = values
        .into_iter()
        .map(|v| At {
            value: Some(v),
            here: path.at(v),
        })
        .collect();
    Ok((path.start.stand.clone(), poses))
}

/// The way of a drive, everything else standing still.
pub(super) struct Path<'m> {
    model: &'m Model,
    start: Here,
    track: Rc<Track>,
    pub(super) span: Span,
    /// A plan for poses between the samples of the track.
    single: Option<Single>,
}

impl<'m> Path<'m> {
    /// From where the drive is drawn, the others as they stand.
    pub(super) fn new(bench: &mut Bench<'m>, stand: &Stand, drive: usize) -> Result<Self, Refusal> {
        let model = bench.model;
        let Some(d) = model.machine.drives.get(drive) else {
            return Err(Refusal::new(
                "the machine has no such drive",
                "add a [drive.NAME] to the machine file",
            ));
        };
        let mut start = stand.clone();
        start.drives[drive] = d.drawn;
        let start = bench.bring(&start)?;
        let Some((track, span)) = bench.span(&start, drive) else {
            return Err(Refusal::new(format!("drive {} moves nothing", d.name), ""));
        };
        let group = &model.groups[track.group];
        let poses: Vec<Pose> = group.bodies.iter().map(|&b| start.poses[b]).collect();
        let plan = Plan::new(&group.mechanism, &start.params, &poses).ok();
        let single = plan.and_then(|plan| plan.single(&[model.drives[drive].0]).ok());
        Ok(Self {
            model,
            start,
            track,
            span,
            single,
        })
    }

    /// The machine with the drive at a value; none when it cannot get there.
    pub(super) fn at(&mut self, value: f64) -> Option<Here> {
        // A drive that goes round is at the same place after a whole turn.
        let low = self.span.low.at;
        let folded = if self.span.round {
            low + (value - low).rem_euclid(TAU)
        } else {
            value
        };
        let folded = if (folded - value).abs() < 1e-9 {
            value
        } else {
            folded
        };
        if folded < low - near(value) || folded > self.span.high.at + near(value) {
            return None;
        }
        let mut there = self.start.clone();
        if self.quick(folded, &mut there).is_none() {
            let sample = self.track.at(self.model, folded)?;
            self.track.put(self.model, &sample, &mut there);
        }
        Some(there)
    }

    /// By the plan, from the nearer of the two samples around. The plan keeps the side on which the machine was put together, so
    /// its pose counts only where it lies among the path's own.
    fn quick(&mut self, value: f64, there: &mut Here) -> Option<()> {
        let samples = &self.track.samples;
        let after = samples.partition_point(|s| s.at < value);
        let (low, high) = (samples.get(after.checked_sub(1)?)?, samples.get(after)?);
        let mut sample = if value - low.at < high.at - value {
            low.clone()
        } else {
            high.clone()
        };
        if value == low.at || value == high.at {
            return None;
        }
        let far = |p: &Pose, q: &Pose| {
            [
                (p.x - q.x).abs(),
                (p.y - q.y).abs(),
                (p.angle - q.angle).abs(),
            ]
        };
        let widest = low
            .poses
            .iter()
            .zip(&high.poses)
            .fold([0.0_f64; 3], |w, (p, q)| {
                let apart = far(p, q);
                std::array::from_fn(|k| w[k].max(apart[k]))
            });
        let start = sample.poses.clone();
        sample.at = value;
        self.track.put(self.model, &sample, there);
        self.single
            .as_mut()?
            .pose(&there.params, &mut sample.poses)
            .ok()?;
        let near = sample
            .poses
            .iter()
            .zip(&start)
            .all(|(p, q)| far(p, q).iter().zip(&widest).all(|(f, w)| f <= w));
        near.then(|| self.track.put(self.model, &sample, there))
    }
}
