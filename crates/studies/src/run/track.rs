//! A group of bodies followed over its drive: closed poses at a row of values, from which any value between is near.

use crate::answers::EndKind;
use crate::assemble::{Group, Model};
use crate::cycle::period::{Period, period};
use crate::run::plans::{self, Plans};
use crate::run::{Bound, Here, crossing};
use mechanics::model::{Measure, ParamId, Pose};
use mechanics::plan::Plan;
use mechanics::{Ended, Followed, NotClosed, Rates, State, Tangent, measure_third, unit_direction};
use std::cell::{OnceCell, RefCell};
use std::collections::HashMap;
use std::f64::consts::{PI, TAU};
use std::rc::Rc;

/// Values nearer than this share of themselves (or of one) are the same place.
const SAME: f64 = 1e-13;
/// Samples to a whole turn.
const ROUND: f64 = 72.0;
/// Least samples to a range.
const LEAST: f64 = 36.0;
/// Between two samples lies at most this, rad.
const WIDEST: f64 = TAU / ROUND;
/// A change point this late in a step counts as lying at its end.
const ON_IT: f64 = 0.999;
/// A step of at least this share of the next one is as long as it.
const AS_LONG: f64 = 0.99;
/// How often a plan is taken up again after a pose that it missed.
const RETRIES: usize = 3;
/// Nearer than this to a place where two assemblies meet, of one at most, nothing tells which of the two it is.
const FOLDED: f64 = 1e-5;
/// Poses between the samples that are kept, each counted as often as it has bodies: some tens of megabytes.
const KNOWN: usize = 200_000;
/// How far a slide without a range is pushed, in sizes of the machine.
const FARTHEST: f64 = 2.0;

/// One pose of the group.
#[derive(Clone, Debug)]
pub(crate) struct Sample {
    /// Value of the drive.
    pub(crate) at: f64,
    /// Poses of the group's bodies.
    pub(crate) poses: Vec<Pose>,
    /// Rates by the drive's value, once asked for; none at a dead centre. Copies share them.
    rates: Rc<OnceCell<Option<Rates>>>,
    /// Third rates of the bodies by it, likewise.
    thirds: Rc<OnceCell<Option<Vec<[f64; 3]>>>>,
    /// Stands on a change point: nothing sets out from here.
    folded: bool,
}

impl Sample {
    fn new(at: f64, poses: Vec<Pose>) -> Self {
        Self {
            at,
            poses,
            rates: Rc::default(),
            thirds: Rc::default(),
            folded: false,
        }
    }
}

/// A followed path.
#[derive(Clone, Debug)]
pub(crate) struct Track {
    pub(crate) drive: usize,
    pub(crate) group: usize,
    param: ParamId,
    /// Parameter at drive value zero, and its sense.
    zero: f64,
    sense: f64,
    /// All parameters; the drive's own has no meaning.
    pub(super) params: Vec<f64>,
    /// By rising value, at least one.
    pub(crate) samples: Vec<Sample>,
    pub(crate) low: Bound,
    pub(crate) high: Bound,
    /// Pairs of values between which two assemblies meet.
    pub(super) changes: Vec<[f64; 2]>,
    /// Nothing ended it in a whole turn, or as many as bring the machine back.
    pub(crate) round: bool,
    /// How often the drive goes round until the machine is back.
    pub(crate) period: Period,
    /// Poses found between the samples, by the bits of the value: every reading is looked at in much the same places.
    found: RefCell<HashMap<u64, Sample>>,
}

/// The model, and the plan of the group that moves.
#[derive(Clone, Copy)]
struct Way<'w> {
    model: &'w Model,
    plan: Option<&'w Plan>,
}

impl Track {
    /// Follows the drive through its range, or a whole turn, or as far as it goes.
    pub(crate) fn over_range(
        model: &Model,
        plans: &Plans,
        here: &Here,
        drive: usize,
    ) -> Option<Self> {
        let (machine, mut track) = (&model.machine, Self::start(model, here, drive)?);
        let way = Way {
            model,
            plan: plans.of(model, here, track.group),
        };
        let d = &machine.drives[drive];
        let now = here.stand.drives[drive];
        match (d.range, d.whole_turn, d.moves) {
            (Some([a, b]), false, _) => {
                let (low, high) = (a.min(b), a.max(b));
                let grid = grid(low, high, d.step, turns(model, drive));
                track.run(way, &grid, (low.min(now), high.max(now)), EndKind::Range);
            }
            (_, _, machine::model::Moves::Turns(_)) => {
                let mut low = d.drawn;
                low += TAU * ((now - low) / TAU).floor();
                if (now - low).abs() < SAME {
                    low = now;
                }
                let grid = grid(low, low + TAU, d.step, true);
                track.run(way, &grid, (low, low + TAU), EndKind::WholeTurn);
                // It turns slow parts through gears: until these are back.
                track.period = period(model, &track);
                let turns = track.period.turns;
                let all = TAU * f64::from(turns);
                if turns > 1 && track.high.kind == EndKind::WholeTurn {
                    track.run_up(
                        way,
                        &again(&grid, 1..i64::from(turns)),
                        low + all,
                        EndKind::WholeTurn,
                    );
                }
                let (stuck_low, stuck_high) = (
                    track.low.kind != EndKind::WholeTurn,
                    track.high.kind != EndKind::WholeTurn,
                );
                track.round = !stuck_low && !stuck_high;
                // Stuck one way: it may go on the other way until it has gone a whole turn.
                if stuck_high && !stuck_low {
                    let end = track.high.at - all;
                    let more = again(&grid, -i64::from(turns)..0);
                    track.run_down(way, &more, end, EndKind::WholeTurn);
                } else if stuck_low && !stuck_high {
                    let end = track.low.at + all;
                    let more = again(&grid, 1..=i64::from(turns));
                    track.run_up(way, &more, end, EndKind::WholeTurn);
                }
            }
            (_, _, machine::model::Moves::Slides(_)) => {
                let far = FARTHEST * model.mechanism.size(&here.params);
                let grid = grid(now - far, now + far, None, false);
                track.run(way, &grid, (now - far, now + far), EndKind::Open);
            }
        }
        track.lay_seams(model);
        Some(track)
    }

    /// Values at which the program of a cam passes from one piece to the next, or the pin of a Geneva wheel into a slot and out of it, straight
    /// between samples.
    pub(crate) fn seams(&self, model: &Model) -> Vec<f64> {
        let group = self.group(model);
        let m = &group.mechanism;
        let mut all = self.slots(model);
        for (constraint, &joint) in m.constraints.iter().zip(&group.constraints) {
            let Some(crate::assemble::Joint::Cam(cam)) = model.joints.get(joint) else {
                continue;
            };
            let Some(shape) = model.cams.get(*cam).and_then(Option::as_ref) else {
                continue;
            };
            let seams = shape.program.seams();
            if seams.len() < 2 {
                continue;
            }
            let turned: Vec<(f64, f64)> = self
                .samples
                .iter()
                .filter_map(|s| {
                    let (touch, _) = m.touch(&self.params_at(s.at), &s.poses, constraint)?;
                    touch.turn.is_finite().then_some((s.at, touch.turn))
                })
                .collect();
            passes(&turned, &seams, &mut all);
        }
        all.sort_by(f64::total_cmp);
        all.dedup_by(|a, b| (*a - *b).abs() <= near(*a));
        all
    }

    /// Values at which pins of Geneva wheels come into a slot or out of it: there the pin goes square to the line to the wheel's centre.
    fn slots(&self, model: &Model) -> Vec<f64> {
        let machine = &model.machine;
        let bodies = &self.group(model).bodies;
        let mut all = Vec::new();
        for geneva in &machine.genevas {
            let Some(driver) = bodies.iter().position(|b| *b == geneva.driver) else {
                continue;
            };
            let carrier = bodies.iter().position(|b| *b == geneva.carrier);
            let place = |point: usize| machine.points.get(point).map(|p| [p.x, p.y]);
            let [Some(centre), Some(wheel), Some(pin)] =
                [geneva.centres[0], geneva.centres[1], geneva.pin].map(place)
            else {
                continue;
            };
            let towards = |p: [f64; 2]| (p[1] - centre[1]).atan2(p[0] - centre[0]);
            let drawn = |body: usize| model.mechanism.drawn.get(body).map_or(0.0, |p| p.angle);
            let turned: Vec<(f64, f64)> = self
                .samples
                .iter()
                .filter_map(|s| {
                    let own = s.poses.get(driver)?.angle - drawn(geneva.driver);
                    let carried = carrier
                        .and_then(|c| s.poses.get(c))
                        .map_or(0.0, |p| p.angle - drawn(geneva.carrier));
                    Some((s.at, towards(pin) - towards(wheel) + own - carried))
                })
                .collect();
            let enters = 0.5 * PI - PI / f64::from(geneva.slots.max(1));
            passes(&turned, &[enters, -enters], &mut all);
        }
        all
    }

    /// Puts samples where a program passes from piece to piece: what is least or greatest is often just there, however short the pieces.
    fn lay_seams(&mut self, model: &Model) {
        for at in self.seams(model) {
            let known = |s: &Sample| (s.at - at).abs() <= near(at);
            if self.samples.iter().any(known) {
                continue;
            }
            if let Some(sample) = self.at(model, at) {
                let place = self.samples.partition_point(|s| s.at < at);
                self.samples.insert(place, sample);
            }
        }
    }

    /// Follows the drive both ways from where it stands, as far as these values.
    pub(crate) fn between(
        model: &Model,
        plans: &Plans,
        here: &Here,
        drive: usize,
        low: f64,
        high: f64,
    ) -> Option<Self> {
        let mut track = Self::start(model, here, drive)?;
        let way = Way {
            model,
            plan: plans.of(model, here, track.group),
        };
        let now = here.stand.drives[drive];
        let (low, high) = (low.min(now), high.max(now));
        let grid = grid(
            low,
            high,
            model.machine.drives[drive].step,
            turns(model, drive),
        );
        track.run(way, &grid, (low, high), EndKind::Range);
        Some(track)
    }

    /// Follows the drive both ways from where it stands to each of these rising values, as far as it goes.
    pub(crate) fn through(
        model: &Model,
        plans: &Plans,
        here: &Here,
        drive: usize,
        values: &[f64],
    ) -> Option<Self> {
        let mut track = Self::start(model, here, drive)?;
        let way = Way {
            model,
            plan: plans.of(model, here, track.group),
        };
        let now = here.stand.drives[drive];
        let (low, high) = (*values.first()?, *values.last()?);
        track.run(way, values, (low.min(now), high.max(now)), EndKind::Range);
        Some(track)
    }

    /// Follows the drive from where it stands towards one value.
    pub(crate) fn towards(model: &Model, here: &Here, drive: usize, to: f64) -> Option<Self> {
        let mut track = Self::start(model, here, drive)?;
        // A few steps are followed sooner than planned.
        let way = Way { model, plan: None };
        let now = here.stand.drives[drive];
        let wide = if turns(model, drive) {
            4.0 * WIDEST
        } else {
            (to - now).abs() / 8.0
        };
        let steps = ((to - now).abs() / wide).ceil().max(1.0);
        let between = (1..steps as usize)
            .map(|i| now + (to - now) * i as f64 / steps)
            .collect::<Vec<_>>();
        if to >= now {
            track.run_up(way, &between, to, EndKind::Range);
        } else {
            let falling: Vec<f64> = between.into_iter().rev().collect();
            track.run_down(way, &falling, to, EndKind::Range);
        }
        Some(track)
    }

    fn start(model: &Model, here: &Here, drive: usize) -> Option<Self> {
        let (param, zero) = *model.drives.get(drive)?;
        let constraint = model
            .joints
            .iter()
            .position(|j| *j == crate::assemble::Joint::Drive(drive))?;
        let group = model
            .groups
            .iter()
            .position(|g| g.constraints.contains(&constraint))?;
        let now = here.stand.drives[drive];
        let poses = model.groups[group]
            .bodies
            .iter()
            .map(|&b| here.poses[b])
            .collect();
        let here_bound = Bound {
            at: now,
            kind: EndKind::Range,
            cause: String::new(),
        };
        Some(Self {
            drive,
            group,
            param,
            zero,
            sense: model.machine.drives[drive].sense,
            params: here.params.clone(),
            samples: vec![Sample::new(now, poses)],
            low: here_bound.clone(),
            high: here_bound,
            changes: Vec::new(),
            round: false,
            period: Period::ONE,
            found: RefCell::default(),
        })
    }

    /// The track was laid with the same values of everything that its group depends on, its own drive aside.
    pub(crate) fn fits(&self, model: &Model, here: &Here, drive: usize) -> bool {
        self.drive == drive
            && model.groups[self.group]
                .uses
                .iter()
                .enumerate()
                .all(|(p, used)| !used || p == self.param || self.params[p] == here.params[p])
            && self.low.at <= here.stand.drives[drive]
            && here.stand.drives[drive] <= self.high.at
    }

    pub(super) fn group<'m>(&self, model: &'m Model) -> &'m Group {
        &model.groups[self.group]
    }

    pub(super) fn params_at(&self, value: f64) -> Vec<f64> {
        let mut params = self.params.clone();
        params[self.param] = self.zero + self.sense * value;
        params
    }

    fn run(&mut self, way: Way<'_>, grid: &[f64], ends: (f64, f64), kind: EndKind) {
        self.run_up(way, grid, ends.1, kind);
        self.run_down(way, grid, ends.0, kind);
    }

    fn run_up(&mut self, way: Way<'_>, grid: &[f64], end: f64, kind: EndKind) {
        let from = self.samples.last().map_or(end, |s| s.at);
        let mut values: Vec<f64> = grid
            .iter()
            .copied()
            .filter(|&x| x > from + near(from) && x < end - near(end))
            .collect();
        if end > from {
            values.push(end);
        }
        self.high = self.walk(way, &values, end, kind, true);
    }

    fn run_down(&mut self, way: Way<'_>, grid: &[f64], end: f64, kind: EndKind) {
        let from = self.samples.first().map_or(end, |s| s.at);
        let mut values: Vec<f64> = grid
            .iter()
            .copied()
            .filter(|&x| x < from - near(from) && x > end + near(end))
            .collect();
        values.reverse();
        if end < from {
            values.push(end);
        }
        self.low = self.walk(way, &values, end, kind, false);
    }

    fn walk(&mut self, way: Way<'_>, values: &[f64], end: f64, kind: EndKind, up: bool) -> Bound {
        let model = way.model;
        let mut new: Vec<Sample> = Vec::new();
        let last = if up {
            self.samples.last()
        } else {
            self.samples.first()
        };
        let Some(mut last) = last.cloned() else {
            return Bound::plain(end, EndKind::Lost);
        };
        let second = if up {
            self.samples.iter().rev().nth(1)
        } else {
            self.samples.get(1)
        };
        let mut before = second.cloned();
        let mut bound = Bound::plain(end, kind);
        let mut ahead = self.ahead(way, before.as_ref(), &last, values).into_iter();
        let mut tries = RETRIES;
        for (i, &value) in values.iter().enumerate() {
            if let Some(poses) = ahead.next() {
                before = Some(std::mem::replace(&mut last, Sample::new(value, poses)));
                new.push(last.clone());
                continue;
            }
            // A sample on a change point is left out as a start: no direction leads on from there, or a wrong one. From the one
            // before it the way is clear.
            let mut start = before.as_ref().filter(|_| last.folded).unwrap_or(&last);
            let mut followed = self.step(model, start, value);
            if let (Ended::StartsSingular, Some(before)) = (&followed.ended, &before) {
                let over = self.step(model, before, value);
                if over.ended == Ended::Reached {
                    if let Some(on_it) = new.last_mut() {
                        on_it.folded = true;
                    }
                    (start, followed) = (before, over);
                }
            }
            let from = start.at;
            let reached = if followed.ended == Ended::Reached {
                value
            } else {
                from + followed.share * (value - from)
            };
            if !followed.change_points.is_empty() {
                self.changes.push([from.min(reached), from.max(reached)]);
            }
            let folded =
                followed.change_points.iter().any(|share| *share > ON_IT) || is_folded(&followed);
            let mut sample = Sample::new(reached, followed.state.poses);
            sample.folded = folded;
            if followed.ended != Ended::Reached {
                bound = self.stuck(model, &sample, &followed.ended);
                if (sample.at - last.at).abs() > near(last.at) {
                    new.push(sample);
                }
                break;
            }
            new.push(sample.clone());
            if !last.folded {
                before = Some(last);
            }
            last = sample;
            // The plan missed a pose; past it the way may be clear again.
            if tries > 0 {
                let more = self.ahead(way, before.as_ref(), &last, &values[i + 1..]);
                tries -= usize::from(before.is_some());
                ahead = more.into_iter();
            }
        }
        if up {
            self.samples.append(&mut new);
        } else {
            new.reverse();
            new.append(&mut self.samples);
            self.samples = new;
        }
        bound
    }

    /// Planned poses at the next values, as far as they are sure. A plan sees that it stepped over a place where two assemblies meet by
    /// how much its roots change from pose to pose, and on a curve bent as a parabola that shows at the step over the place or at the one
    /// before it, if that one was no shorter. So it sets out only from a pose that such a step led to; any other step is followed.
    fn ahead(
        &self,
        way: Way<'_>,
        before: Option<&Sample>,
        from: &Sample,
        values: &[f64],
    ) -> Vec<Vec<Pose>> {
        let (Some(plan), Some(before), [next, _, ..]) = (way.plan, before, values) else {
            return Vec::new();
        };
        let (came, goes) = ((from.at - before.at).abs(), (next - from.at).abs());
        if from.folded || before.folded || came < AS_LONG * goes {
            return Vec::new();
        }
        let moved: Vec<f64> = values.iter().map(|v| self.zero + self.sense * v).collect();
        plans::ahead(
            plan,
            [before, from].map(|s| (self.params_at(s.at), s.poses.as_slice())),
            self.param,
            &moved,
        )
    }

    pub(super) fn step(&self, model: &Model, from: &Sample, to: f64) -> Followed {
        let state = State {
            params: self.params_at(from.at),
            poses: from.poses.clone(),
        };
        model.follow(&self.group(model).mechanism, &state, &self.params_at(to))
    }

    /// Why it goes no further.
    fn stuck(&self, model: &Model, sample: &Sample, ended: &Ended) -> Bound {
        let group = self.group(model);
        let (kind, cause) = match ended {
            Ended::DeadCentre { folding } => {
                let params = self.params_at(sample.at);
                (
                    EndKind::DeadCentre,
                    super::named::folds(model, group, &params, &sample.poses, folding),
                )
            }
            Ended::StartsSingular => {
                let params = self.params_at(sample.at);
                let cause = super::named::folds_here(model, group, &params, &sample.poses);
                (EndKind::DeadCentre, format!("{cause} to begin with"))
            }
            Ended::NotClosed(NotClosed::Disagrees { constraint, .. }) => {
                let holds = crate::check::holds_fast(model, self.drive).unwrap_or_else(|| {
                    let joint = group.constraints.get(*constraint);
                    let joint = joint.map(|&c| model.joint_name(c));
                    format!(
                        "{} does not go together with the rest any more",
                        joint.unwrap_or_default()
                    )
                });
                (EndKind::Locked, holds)
            }
            Ended::NotClosed(_) => (EndKind::Locked, String::from("the parts do not close")),
            _ => (
                EndKind::Lost,
                String::from("the parts could not be followed further"),
            ),
        };
        Bound {
            at: sample.at,
            kind,
            cause,
        }
    }

    /// The group's poses at a value on the track.
    pub(crate) fn at(&self, model: &Model, value: f64) -> Option<Sample> {
        let after = self.samples.partition_point(|s| s.at < value);
        let about = self
            .samples
            .get(after.saturating_sub(1)..self.samples.len().min(after + 2));
        let mut about = about.unwrap_or_default().iter();
        if let Some(sample) = about.find(|s| (s.at - value).abs() <= near(value)) {
            return Some(sample.clone());
        }
        if let Some(sample) = self.found.borrow().get(&value.to_bits()) {
            return Some(sample.clone());
        }
        let below = self.samples[..after].iter().rev().find(|s| !s.folded);
        let above = self.samples[after..].iter().find(|s| !s.folded);
        let candidates = [below, above];
        let nearest = candidates
            .into_iter()
            .flatten()
            .min_by(|a, b| (a.at - value).abs().total_cmp(&(b.at - value).abs()))?;
        let beyond = value < self.samples.first()?.at - near(value)
            || value > self.samples.last()?.at + near(value);
        if beyond || !value.is_finite() {
            return None;
        }
        let mut followed = self.step(model, nearest, value);
        if followed.ended != Ended::Reached {
            // From a dead centre there is no setting out; its neighbour on the other side lies before it.
            let other = candidates
                .into_iter()
                .flatten()
                .find(|s| s.at != nearest.at)?;
            followed = self.step(model, other, value);
        }
        if followed.ended != Ended::Reached {
            return None;
        }
        let folded = is_folded(&followed);
        let mut sample = Sample::new(value, followed.state.poses);
        sample.folded = folded;
        Some(self.keep(sample))
    }

    fn keep(&self, sample: Sample) -> Sample {
        let mut found = self.found.borrow_mut();
        if found.len() * sample.poses.len().max(1) >= KNOWN {
            found.clear();
        }
        found.insert(sample.at.to_bits(), sample.clone());
        sample
    }

    /// Rates of the group's bodies by the drive's value at a sample of this track; none at a dead centre.
    pub(crate) fn rates<'s>(&'s self, model: &Model, sample: &'s Sample) -> Option<&'s Rates> {
        sample
            .rates
            .get_or_init(|| self.work_out_rates(model, sample))
            .as_ref()
    }

    /// The same for the sample with this index; kept with the track.
    pub(crate) fn rates_at(&self, model: &Model, index: usize) -> Option<&Rates> {
        let sample = self.samples.get(index)?;
        sample
            .rates
            .get_or_init(|| self.work_out_rates(model, sample))
            .as_ref()
    }

    fn work_out_rates(&self, model: &Model, sample: &Sample) -> Option<Rates> {
        // On a change point what the joints say to first order is not what the machine does.
        if sample.folded {
            return None;
        }
        let params = self.params_at(sample.at);
        let tangent = Tangent::new(&self.group(model).mechanism, &params, &sample.poses).ok()?;
        // What is locked has no rate either: the drive cannot move alone.
        if tangent.must_agree().ok()?.get(self.param) == Some(&true) {
            return None;
        }
        let mut direction = unit_direction(params.len(), self.param);
        direction[self.param] = self.sense;
        tangent.rates(&direction).ok()
    }

    /// Third rate of a measure by the drive's value, at a value on the path; none at a dead centre.
    pub(crate) fn third(
        &self,
        model: &Model,
        at: f64,
        here: &Here,
        measure: &Measure,
    ) -> Option<f64> {
        let sample = self.at(model, at)?;
        let rates = self.rates(model, &sample)?;
        let group = self.group(model);
        let params = self.params_at(sample.at);
        let mut direction = unit_direction(params.len(), self.param);
        direction[self.param] = self.sense;
        let third = sample.thirds.get_or_init(|| {
            let tangent = Tangent::new(&group.mechanism, &params, &sample.poses).ok()?;
            tangent.third(&direction, rates).ok()
        });
        let third = third.as_ref()?;
        // Of the whole machine, in which the others stand where they are.
        let count = model.mechanism.bodies.len();
        let mut poses = here.poses.clone();
        let mut all = Rates {
            first: vec![[0.0; 3]; count],
            second: vec![[0.0; 3]; count],
        };
        let mut thirds = vec![[0.0; 3]; count];
        for (i, &b) in group.bodies.iter().enumerate() {
            poses[b] = sample.poses[i];
            (all.first[b], all.second[b]) = (rates.first[i], rates.second[i]);
            thirds[b] = third[i];
        }
        let m = &model.mechanism;
        Some(measure_third(
            m, &params, &poses, measure, &direction, &all, &thirds,
        ))
    }

    /// Puts the group's poses into those of the whole machine, and the drive's value beside them.
    pub(crate) fn put(&self, model: &Model, sample: &Sample, here: &mut Here) {
        for (&b, pose) in self.group(model).bodies.iter().zip(&sample.poses) {
            here.poses[b] = *pose;
        }
        here.ended = here.ended.filter(|e| e.0 != self.drive);
        here.stand.drives[self.drive] = sample.at;
        here.params[self.param] = self.zero + self.sense * sample.at;
    }
}

/// Two ways of assembling meet at the end of the way, or as good as meet.
fn is_folded(followed: &Followed) -> bool {
    followed.apart < FOLDED
        || matches!(
            followed.ended,
            Ended::DeadCentre { .. } | Ended::StartsSingular
        )
}

/// A drive turns (else it slides).
pub(crate) fn turns(model: &Model, drive: usize) -> bool {
    matches!(
        model.machine.drives[drive].moves,
        machine::model::Moves::Turns(_)
    )
}

pub(crate) fn near(value: f64) -> f64 {
    SAME * value.abs().max(1.0)
}

/// Values from low to high, both among them, dense enough to see every turn of a reading; the steps of tables are among them.
pub(crate) fn grid(low: f64, high: f64, step: Option<f64>, turns: bool) -> Vec<f64> {
    let width = high - low;
    let least = if turns {
        (width / WIDEST).ceil().clamp(LEAST, 20.0 * ROUND)
    } else {
        LEAST
    };
    let by_step = step.map(|s| (width / s.abs()).round()).filter(|n| {
        let whole = step.is_some_and(|s| (n * s.abs() - width).abs() <= 1e-9 * width);
        *n >= 1.0 && *n <= 2000.0 && whole
    });
    let n = by_step.map_or(least, |n| n * (least / n).ceil().max(1.0)) as usize;
    (0..=n)
        .map(|i| {
            if i == n {
                high
            } else {
                low + width * (i as f64 / n as f64)
            }
        })
        .collect()
}

/// Values at which an angle, known but for whole turns at rising values, passes one of these.
fn passes(turned: &[(f64, f64)], seams: &[f64], all: &mut Vec<f64>) {
    for pair in turned.windows(2) {
        let [(a, from), (b, to)] = [pair[0], pair[1]];
        let by = (to - from + PI).rem_euclid(TAU) - PI;
        let [low, high] = [from.min(from + by), from.max(from + by)];
        for seam in seams {
            let first = seam + TAU * ((low - seam) / TAU).ceil();
            if first < high && by != 0.0 {
                all.push(a + (b - a) * (first - from) / by);
            }
        }
    }
}

/// A grid over one turn, laid over others.
fn again(grid: &[f64], turns: impl Iterator<Item = i64>) -> Vec<f64> {
    turns
        .flat_map(|k| grid.iter().skip(1).map(move |x| x + TAU * k as f64))
        .collect()
}

/// Where a function of the drive's value changes sign between two values of the track, to 1e-9 and better.
pub(crate) fn crosses(
    track: &Track,
    model: &Model,
    from: (f64, f64),
    to: (f64, f64),
    mut f: impl FnMut(&Sample) -> f64,
) -> f64 {
    crossing(from, to, |x| track.at(model, x).map(|s| f(&s)))
}
