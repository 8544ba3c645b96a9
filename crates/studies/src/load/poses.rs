//! Poses at which a case is studied: one, or a row of them over a drive.

use super::acting::LoadCase;
use super::answers::LetGo;
use crate::answers::EndKind;
use crate::assemble::{Model, Stand};
use crate::call::Sweep;
use crate::refusal::Refusal;
use crate::run::{Bench, Here, Span, Track, near};
use mechanics::model::Pose;
use mechanics::plan::{Plan, Single};
use std::rc::Rc;

/// Poses, of the machine's size, mm, and rad, that differ by no more are the same.
const ROUNDED: f64 = 1e-9;
/// Parabolas laid through the neighbours of a worst place.
const PARABOLAS: usize = 4;

/// The stand of a case: drives that it names stand as it says, unless somebody put them where they are or they stand elsewhere
/// than drawn.
pub(crate) fn stand(model: &Model, case: Option<&LoadCase>, asked: &Stand) -> Stand {
    let mut stand = asked.clone();
    for &(drive, value) in case.map_or(&[][..], |c| &c.when) {
        if let (Some(d), Some(drawn)) =
            (stand.drives.get_mut(drive), model.machine.drives.get(drive))
            && *d == drawn.drawn
            && !asked.put.contains(&drive)
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

/// Poses, the stand that everything but the moved drive keeps, and the way of that drive.
pub(super) struct Poses<'m> {
    pub(super) held: Stand,
    pub(super) all: Vec<At>,
    pub(super) path: Option<Path<'m>>,
}

/// One pose at a stand, or the poses of a sweep from there, as far as the drive goes: the end of its reach is one of them, unless the
/// sweep says where it begins or ends.
pub(super) fn poses<'m>(
    bench: &mut Bench<'m>,
    stand: &Stand,
    sweep: Option<&Sweep>,
) -> Result<Poses<'m>, Refusal> {
    let Some(sweep) = sweep else {
        let here = bench.bring(stand)?;
        return Ok(Poses {
            held: stand.clone(),
            all: vec![At {
                value: None,
                here: Some(here),
            }],
            path: None,
        });
    };
    let mut path = Path::new(bench, stand, sweep.drive)?;
    let mut values = crate::motion::values(path.model, sweep, &path.span)?;
    if path.span.round {
        path.go_round(bench, &values);
    }
    let (low, high) = (path.span.low.at, path.span.high.at);
    if !path.span.round && values.len() > 1 {
        if sweep.from.is_none() && values[0] < low - near(low) {
            values.retain(|v| *v > low + near(low));
            values.insert(0, low);
        }
        if sweep.to.is_none() && values.last().is_some_and(|v| *v > high + near(high)) {
            values.retain(|v| *v < high - near(high));
            values.push(high);
        }
    }
    let all = values.into_iter().map(|v| At {
        value: Some(v),
        here: path.at(v),
    });
    let all = all.collect();
    Ok(Poses {
        held: path.start.stand.clone(),
        all,
        path: Some(path),
    })
}

/// Where a value that is known at rising or falling places is greatest between them, by parabolas through the greatest and its
/// neighbours; none when it is greatest at an end, or is not told there.
pub(super) fn between(
    known: &[(f64, f64)],
    mut look: impl FnMut(f64) -> Option<f64>,
) -> Option<(f64, f64)> {
    let top = (0..known.len()).max_by(|&a, &b| known[a].1.total_cmp(&known[b].1))?;
    let (before, after) = (top.checked_sub(1)?, top + 1);
    let mut three = [*known.get(before)?, known[top], *known.get(after)?];
    if three.iter().any(|p| !p.1.is_finite()) {
        return None;
    }
    let mut best = three[1];
    for _ in 0..PARABOLAS {
        let [(a, fa), (b, fb), (c, fc)] = three;
        let (p, q) = ((b - a) * (fb - fc), (b - c) * (fb - fa));
        let x = b - 0.5 * ((b - a) * p - (b - c) * q) / (p - q);
        if !x.is_finite() || (x - a) * (x - c) >= 0.0 || (x - b).abs() <= 1e-6 * (c - a).abs() {
            break;
        }
        let found = (x, look(x).filter(|f| f.is_finite())?);
        three = match ((x - b) * (c - a) > 0.0, found.1 > fb) {
            (true, true) => [(b, fb), found, (c, fc)],
            (true, false) => [(a, fa), (b, fb), found],
            (false, true) => [(a, fa), found, (b, fb)],
            (false, false) => [found, (b, fb), (c, fc)],
        };
        if found.1 > best.1 {
            best = found;
        }
    }
    Some(best)
}

/// The way of a drive, everything else standing still.
pub(crate) struct Path<'m> {
    model: &'m Model,
    start: Here,
    pub(crate) track: Rc<Track>,
    pub(crate) span: Span,
    /// A plan for poses between the samples of the track.
    single: Option<Single>,
    /// Of the machine, mm.
    size: f64,
}

impl<'m> Path<'m> {
    /// From where the drive is drawn, the others as they stand.
    pub(crate) fn new(bench: &mut Bench<'m>, stand: &Stand, drive: usize) -> Result<Self, Refusal> {
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
        let size = model.mechanism.size(&start.params);
        Ok(Self {
            model,
            start,
            track,
            span,
            single,
            size,
        })
    }

    /// More turns than one: a reading that gains with every turn is another after each.
    pub(crate) fn go_round(&mut self, bench: &mut Bench<'m>, values: &[f64]) {
        let (low, high) = values
            .iter()
            .fold((self.span.low.at, self.span.high.at), |(l, h), &v| {
                (l.min(v), h.max(v))
            });
        if low >= self.span.low.at - near(low) && high <= self.span.high.at + near(high) {
            return;
        }
        if let Some(track) = bench.between(&self.start, self.track.drive, low, high) {
            (self.span.low.at, self.span.high.at) = (track.low.at, track.high.at);
            self.track = track;
        }
    }

    /// At the end of its way a stop or the end of a slot holds a drive that is pushed against it.
    pub(super) fn rest(&self, at: f64, let_go: &mut LetGo) {
        let end = if let_go.pushed < 0.0 {
            &self.span.low
        } else {
            &self.span.high
        };
        let stops = matches!(end.kind, EndKind::Stop | EndKind::SlotEnd);
        if let_go.pushed != 0.0 && stops && (at - end.at).abs() <= near(at) {
            let_go.stays = true;
            let_go.rests_on = Some(end.cause.clone());
        }
    }

    /// The machine with the drive at a value; none when it cannot get there.
    pub(crate) fn at(&mut self, value: f64) -> Option<Here> {
        // A drive that goes round is at the same place after it has gone round as often as brings the machine back.
        let (low, high) = (self.span.low.at, self.span.high.at);
        let inside = |v: f64| v >= low - near(value) && v <= high + near(value);
        let folded = if self.span.round && !inside(value) {
            low + (value - low).rem_euclid(high - low)
        } else {
            value
        };
        if !inside(folded) {
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
        // What stands still differs by rounding only.
        let rounded = ROUNDED * self.size;
        let widest = low.poses.iter().zip(&high.poses).fold(
            [rounded, rounded, ROUNDED],
            |w: [f64; 3], (p, q)| {
                let apart = far(p, q);
                std::array::from_fn(|k| w[k].max(apart[k]))
            },
        );
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
