//! What does a hand on the machine do? It takes hold of a place on a part and pulls it somewhere: which drive follows, how far,
//! and what stops it.
//!
//! A [`Hand`] keeps the followed paths of a machine, so that one pull after another costs no more than a few poses.

use crate::answers::{End, Quantity, ReadingNow, Standing};
use crate::assemble::{Model, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, Here, Span, Track, near};
use crate::{say, standing};
use machine::model::{Moves, PartId, PointId};
use mechanics::model::BodyId;
use serde::Serialize;
use std::f64::consts::TAU;

/// Of two ways to come near the pointer, the one that the drive runs into by going straight on is kept while it is no worse than so
/// many times the best ...
const AS_GOOD: f64 = 2.0;
/// ... and so much of the machine's size.
const AS_NEAR: f64 = 1e-3;
/// A drive that moves a place by less than this share of the machine's size does not move it.
const MOVES: f64 = 1e-6;
/// Refinements of a value; two or three are enough but near a dead centre.
const ROUNDS: usize = 12;
/// Poses of a drive in a sweep, and ends of reach from which the next drive is swept.
const SWEPT: usize = 24;
const MOST_ENDS: usize = 4;

/// Where a hand has taken hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Grabbed {
    /// A part, at a place fixed on it. The place is told where it lies when the machine stands as drawn, right and up in the part's
    /// plane, mm.
    Part(PartId, [f64; 2]),
    /// A point.
    Point(PointId),
    /// A rod, at this share of its length from its first end.
    Rod(usize, f64),
}

/// A pull at the machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pull {
    /// Where the hand has taken hold.
    pub grabbed: Grabbed,
    /// Index of the plane in which the pointer moves.
    pub plane: usize,
    /// Where the pointer is, right and up in that plane, mm.
    pub to: [f64; 2],
    /// The drive that is to follow; when not given, the one whose own grip is held, else the one that moves the place most.
    pub drive: Option<usize>,
}

/// How a part stands against how it is drawn: turned about the origin of its plane, then shifted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Moved {
    /// Turn, rad.
    pub turn: f64,
    /// Shift to the right and up, mm.
    pub shift: [f64; 2],
}

impl Moved {
    /// Where a place of the part as drawn is now.
    pub fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let (sin, cos) = self.turn.sin_cos();
        [
            x * cos - y * sin + self.shift[0],
            x * sin + y * cos + self.shift[1],
        ]
    }
}

/// The machine in one pose, as far as it is seen.
#[derive(Clone, Debug, PartialEq)]
pub struct Held {
    /// Values of all drives and settings.
    pub stand: Stand,
    /// Where everything stands.
    pub standing: Standing,
    /// One a part of the machine.
    pub moved: Vec<Moved>,
}

/// A reading with its words.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shown {
    /// The reading and its value.
    #[serde(flatten)]
    pub now: ReadingNow,
    /// The value as it is read aloud; a dash where it cannot be taken.
    pub words: String,
}

/// Why the drive went no further than it did.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Met {
    /// The end of its reach.
    pub end: End,
    /// The same as a sentence without a full stop.
    pub sentence: String,
}

/// What a pull did.
#[derive(Clone, Debug, PartialEq)]
pub struct Pulled {
    /// Index of the drive that followed.
    pub drive: usize,
    /// The machine then.
    pub held: Held,
    /// How far the grabbed place is from the pointer, mm.
    pub off: f64,
    /// What is in the way, when the pointer is beyond it.
    pub met: Option<Met>,
}

/// A hand on the machine, with the paths it has followed so far.
pub struct Hand<'m> {
    bench: Bench<'m>,
    here: Option<Here>,
}

impl<'m> Hand<'m> {
    /// Takes a machine to hand; nothing is worked out yet.
    pub fn new(model: &'m Model) -> Self {
        Self {
            bench: Bench::new(model),
            here: None,
        }
    }

    /// Puts the machine to these values.
    ///
    /// # Errors
    /// A value that cannot be reached, and what is in the way.
    pub fn put(&mut self, stand: &Stand) -> Result<Held, Refusal> {
        let here = self.bring(stand)?;
        let held = held(self.bench.model, &here);
        self.here = Some(here);
        Ok(held)
    }

    /// The same while a drive runs on. One that goes round is told within the turns after which all parts are where they were, a hundred at most,
    /// and within one where so many do not bring them back.
    ///
    /// # Errors
    /// As [`Hand::put`].
    pub fn run(&mut self, stand: &Stand, drive: usize) -> Result<Held, Refusal> {
        let mut here = self.bring(stand)?;
        let model = self.bench.model;
        if let Some((track, span)) = self.bench.span(&here, drive)
            && span.round
        {
            let whole = TAU * turns_back(&track);
            let drawn = model.machine.drives[drive].drawn;
            let past = ((here.stand.drives[drive] - drawn) / whole).floor();
            if past != 0.0 {
                let mut within = stand.clone();
                within.drives[drive] = here.stand.drives[drive] - past * whole;
                here = self.bench.bring(&within)?;
            }
        }
        let held = held(model, &here);
        self.here = Some(here);
        Ok(held)
    }

    /// All readings with these values, in file order.
    ///
    /// # Errors
    /// As [`Hand::put`].
    pub fn readings(&mut self, stand: &Stand) -> Result<Vec<Shown>, Refusal> {
        let here = self.bring(stand)?;
        let now = standing::now(&mut self.bench, &here);
        self.here = Some(here);
        Ok(now.into_iter().map(shown).collect())
    }

    /// Poses over the reach of every drive, from the machine as it stands with these values and from both ends of each drive's reach:
    /// what a picture of it must have room for.
    ///
    /// # Errors
    /// As [`Hand::put`].
    pub fn sweep(&mut self, stand: &Stand) -> Result<Vec<Standing>, Refusal> {
        let here = self.bring(stand)?;
        let model = self.bench.model;
        let mut from = vec![here.clone()];
        let mut all = vec![standing::at(model, &here)];
        for drive in 0..model.machine.drives.len() {
            let mut ends = Vec::new();
            for start in &from {
                let Some((track, span)) = self.bench.span(start, drive) else {
                    continue;
                };
                let every = track.samples.len().div_ceil(SWEPT).max(1);
                let mut there = start.clone();
                let inside = |at: f64| at > span.low.at && at < span.high.at;
                let between = track.samples.iter().step_by(every).map(|s| s.at);
                let ats = between.filter(|&at| inside(at));
                for at in ats.chain([span.low.at, span.high.at]) {
                    if let Some(sample) = track.at(model, at) {
                        track.put(model, &sample, &mut there);
                        all.push(standing::at(model, &there));
                        if !inside(at) && ends.len() < MOST_ENDS {
                            ends.push(there.clone());
                        }
                    }
                }
            }
            from.extend(ends);
            from.truncate(MOST_ENDS);
        }
        self.here = Some(here);
        Ok(all)
    }

    /// Pulls at the machine as it stands with these values: puts one drive to the value in its reach, on the way it is assembled, that
    /// brings the grabbed place nearest to the pointer.
    ///
    /// # Errors
    /// Values that cannot be reached; a place that no drive moves, or not the one named.
    pub fn pull(&mut self, stand: &Stand, pull: &Pull) -> Result<Pulled, Refusal> {
        if !(pull.to[0].is_finite() && pull.to[1].is_finite()) {
            return Err(Refusal::new("the pointer is nowhere", ""));
        }
        let here = self.bring(stand)?;
        let drive = self.follows(&here, pull)?;
        let model = self.bench.model;
        let name = &model.machine.drives[drive].name;
        let (track, span) = self
            .bench
            .span(&here, drive)
            .ok_or_else(|| Refusal::new(format!("drive {name} moves nothing"), ""))?;
        let (at, off) = nearest(model, &track, &span, &here, pull)
            .ok_or_else(|| Refusal::new("there is nothing to hold there", ""))?;
        let mut there = here.clone();
        let sample = track.at(model, at).ok_or_else(|| {
            let q = model.drive(drive);
            Refusal::new(format!("{} could not be followed", say::at(&q, at)), "")
        })?;
        track.put(model, &sample, &mut there);
        let met = self.met(&track, &span, &there, at, pull);
        if span.round {
            self.turn_back(&track, &mut there);
        }
        let held = held(model, &there);
        self.here = Some(there);
        Ok(Pulled {
            drive,
            held,
            off,
            met,
        })
    }

    /// The machine brought to these values, from where it stood last when the way is short.
    fn bring(&mut self, stand: &Stand) -> Result<Here, Refusal> {
        let counted = |s: &Stand| (s.drives.len(), s.settings.len());
        if counted(stand) != counted(&self.bench.model.drawn()) {
            return Err(Refusal::new("values of another machine were given", ""));
        }
        if let Some(here) = self.here.take()
            && here.stand.settings == stand.settings
        {
            if here.stand.drives == stand.drives {
                return Ok(here);
            }
            if let Some(there) = self.onward(&here, stand) {
                return Ok(there);
            }
        }
        self.bench.bring(stand)
    }

    /// From one pose to another along paths that are kept; `None` when something is in the way, so that the drawn pose has to be
    /// started from.
    fn onward(&mut self, from: &Here, stand: &Stand) -> Option<Here> {
        let mut here = from.clone();
        for (drive, &to) in stand.drives.iter().enumerate() {
            if to != here.stand.drives[drive] {
                self.bench.track(&here, drive)?;
                here = self.bench.advance(&here, drive, to).ok()?;
            }
        }
        Some(here)
    }

    /// A drive that goes round is told within the turn that begins as drawn, when the whole machine comes round with it.
    fn turn_back(&self, track: &Track, there: &mut Here) {
        let model = self.bench.model;
        let drawn = model.machine.drives[track.drive].drawn;
        let all = TAU * f64::from(track.period.turns);
        let turns = ((there.stand.drives[track.drive] - drawn) / all).floor();
        if turns == 0.0 || !comes_round(track) {
            return;
        }
        let at = there.stand.drives[track.drive] - turns * all;
        if let Some(sample) = track.at(model, at) {
            track.put(model, &sample, there);
        }
    }

    /// The drive that is to follow.
    fn follows(&mut self, here: &Here, pull: &Pull) -> Result<usize, Refusal> {
        let model = self.bench.model;
        let nothing = || Refusal::new("no drive moves that place", "take hold of a moving part");
        if place(model, here, pull).is_none() {
            return Err(Refusal::new("there is nothing to hold there", ""));
        }
        if let Some(drive) = pull.drive {
            if drive >= model.machine.drives.len() {
                return Err(Refusal::new("the machine has no such drive", ""));
            }
            return match self.reach_of(here, drive, pull) {
                Some(_) => Ok(drive),
                None => Err(Refusal::new(
                    format!(
                        "drive {} does not move that place",
                        model.machine.drives[drive].name
                    ),
                    "",
                )),
            };
        }
        let held = bodies(model, pull.grabbed);
        let own = |drive: &machine::model::Drive| match drive.moves {
            Moves::Turns(part) => held.contains(&part),
            Moves::Slides(slide) => {
                let part = model.machine.slides.get(slide).map(|s| s.part);
                part.is_some_and(|p| held.contains(&p))
            }
        };
        let grips = model.machine.drives.iter().position(own);
        if let Some(drive) = grips.filter(|&d| self.reach_of(here, d, pull).is_some()) {
            return Ok(drive);
        }
        let mut most: Option<(usize, f64)> = None;
        for drive in 0..model.machine.drives.len() {
            if let Some(reach) = self.reach_of(here, drive, pull)
                && reach > most.map_or(0.0, |m| m.1 * (1.0 + 1e-9))
            {
                most = Some((drive, reach));
            }
        }
        most.map(|m| m.0).ok_or_else(nothing)
    }

    /// How far a drive can move the grabbed place from end to end of its reach, mm; `None` when it does not.
    fn reach_of(&mut self, here: &Here, drive: usize, pull: &Pull) -> Option<f64> {
        let model = self.bench.model;
        let param = model.drives.get(drive)?.0;
        let group = model.groups.iter().find(|g| g.uses[param])?;
        let held = bodies(model, pull.grabbed);
        if !held.iter().any(|b| *b != 0 && group.bodies.contains(b)) {
            return None;
        }
        let track = self.bench.track(here, drive)?;
        let mut there = here.clone();
        let mut box_ = [[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]];
        for sample in &track.samples {
            track.put(model, sample, &mut there);
            let p = place(model, &there, pull)?;
            for i in 0..2 {
                box_[0][i] = box_[0][i].min(p[i]);
                box_[1][i] = box_[1][i].max(p[i]);
            }
        }
        let reach = (box_[1][0] - box_[0][0]).hypot(box_[1][1] - box_[0][1]);
        (reach > MOVES * model.mechanism.size(&here.params)).then_some(reach)
    }

    /// What is in the way when the drive stands at an end of its reach and the pointer lies beyond it.
    fn met(&self, track: &Track, span: &Span, there: &Here, at: f64, pull: &Pull) -> Option<Met> {
        if span.round && comes_round(track) {
            return None;
        }
        let model = self.bench.model;
        let width = span.high.at - span.low.at;
        let is_at = |end: f64| (at - end).abs() <= near(end).max(1e-9 * width);
        let bound = [(&span.low, -1.0), (&span.high, 1.0)]
            .into_iter()
            .find(|(b, _)| is_at(b.at));
        let (bound, outward) = bound?;
        // A little way back the place must be farther from the pointer; if it is not, the pointer does not pull against this end.
        let back = at - outward * (1e-3 * width).min(1e-3);
        let sample = track.at(model, back)?;
        let mut inner = there.clone();
        track.put(model, &sample, &mut inner);
        let gap = |here: &Here| place(model, here, pull).map(|p| apart(p, pull.to));
        let (out, inside) = (gap(there)?, gap(&inner)?);
        if out >= inside || out <= 1e-6 * model.mechanism.size(&there.params) {
            return None;
        }
        let q = model.drive(track.drive);
        let sentence = format!(
            "{} goes no further than {}: {}",
            q.name,
            say::short(bound.at, q.unit),
            bound.sentence()
        );
        Some(Met {
            end: bound.into(),
            sentence,
        })
    }
}

fn shown(now: ReadingNow) -> Shown {
    let words = now
        .value
        .map_or_else(|| String::from("–"), |v| say::of(&now.reading, v));
    Shown { now, words }
}

/// The value of a drive or setting as it is read aloud, without idle zeros.
pub fn words(quantity: &Quantity, value: f64) -> String {
    say::short(value, quantity.unit)
}

pub(crate) fn held(model: &Model, here: &Here) -> Held {
    let m = &model.mechanism;
    let moved = (0..model.machine.parts.len()).map(|b| {
        let (Some(now), Some(drawn)) = (here.poses.get(b), m.drawn.get(b)) else {
            return Moved::default();
        };
        let turn = now.angle - drawn.angle;
        let (sin, cos) = turn.sin_cos();
        Moved {
            turn,
            shift: [
                now.x - drawn.x * cos + drawn.y * sin,
                now.y - drawn.x * sin - drawn.y * cos,
            ],
        }
    });
    Held {
        stand: here.stand.clone(),
        standing: standing::at(model, here),
        moved: moved.collect(),
    }
}

/// The bodies that a grabbed place belongs to.
fn bodies(model: &Model, grabbed: Grabbed) -> Vec<BodyId> {
    let of = |point: PointId| {
        let carriers = model.carriers.get(point).map_or(&[][..], Vec::as_slice);
        carriers.iter().map(|c| c.0).collect::<Vec<_>>()
    };
    match grabbed {
        Grabbed::Part(part, _) => vec![part],
        Grabbed::Point(point) => of(point),
        Grabbed::Rod(rod, _) => model
            .machine
            .rods
            .get(rod)
            .map(|r| r.joins.into_iter().flat_map(of).collect())
            .unwrap_or_default(),
    }
}

/// Where the grabbed place is, right and up in the pointer's plane.
fn place(model: &Model, here: &Here, pull: &Pull) -> Option<[f64; 2]> {
    let m = &model.mechanism;
    let plane = m.planes.get(pull.plane)?;
    let of_point = |point: PointId| -> Option<[f64; 2]> {
        let &(_, anchor) = model.carriers.get(point)?.first()?;
        if m.anchors.get(anchor)?.plane == pull.plane {
            return Some(m.in_plane(&here.params, &here.poses, anchor));
        }
        let at = m.in_space(&here.params, &here.poses, anchor);
        let from: [f64; 3] = std::array::from_fn(|i| at[i] - plane.origin[i]);
        let dot = |v: [f64; 3]| from[0] * v[0] + from[1] * v[1] + from[2] * v[2];
        Some([dot(plane.right), dot(plane.up)])
    };
    match pull.grabbed {
        Grabbed::Point(point) => of_point(point),
        Grabbed::Rod(rod, share) => {
            let [a, b] = model.machine.rods.get(rod)?.joins;
            let (a, b) = (of_point(a)?, of_point(b)?);
            Some([a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])])
        }
        Grabbed::Part(part, [x, y]) => {
            let (now, drawn) = (here.poses.get(part)?, m.drawn.get(part)?);
            if part >= model.machine.parts.len() || model.machine.parts[part].plane != pull.plane {
                return None;
            }
            let (sin, cos) = (now.angle - drawn.angle).sin_cos();
            let (u, v) = (x - drawn.x, y - drawn.y);
            Some([now.x + u * cos - v * sin, now.y + u * sin + v * cos])
        }
    }
    .filter(|p| p[0].is_finite() && p[1].is_finite())
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// Turns looked at.
const MOST_TURNS: u32 = 100;

/// Turns of a drive after which every part of its group has gone round whole times.
fn turns_back(track: &Track) -> f64 {
    let (Some(first), Some(last)) = (track.samples.first(), track.samples.last()) else {
        return 1.0;
    };
    let turns = ((last.at - first.at) / TAU).abs();
    let poses = first.poses.iter().zip(&last.poses);
    let shares: Vec<f64> = poses
        .map(|(a, b)| (b.angle - a.angle) / TAU / turns)
        .collect();
    let back = |n: u32| {
        let n = f64::from(n);
        shares
            .iter()
            .all(|s| (n * s - (n * s).round()).abs() < 1e-6)
    };
    f64::from((1..=MOST_TURNS).find(|&n| back(n)).unwrap_or(1))
}

/// After a turn of the drive every part of the group stands as before.
fn comes_round(track: &Track) -> bool {
    let (Some(first), Some(last)) = (track.samples.first(), track.samples.last()) else {
        return false;
    };
    track.round
        && first.poses.iter().zip(&last.poses).all(|(a, b)| {
            let turns = (b.angle - a.angle) / TAU;
            (turns - turns.round()).abs() < 1e-6
        })
}

/// A place on the track: value of the drive and distance from the pointer.
#[derive(Clone, Copy)]
struct Spot {
    at: f64,
    off: f64,
}

/// The value in reach that brings the grabbed place nearest to the pointer, and how near.
fn nearest(
    model: &Model,
    track: &Track,
    span: &Span,
    here: &Here,
    pull: &Pull,
) -> Option<(f64, f64)> {
    let mut there = here.clone();
    let mut off = |sample: &crate::run::Sample| {
        track.put(model, sample, &mut there);
        place(model, &there, pull).map(|p| apart(p, pull.to))
    };
    let (low, high) = (span.low.at, span.high.at);
    let mut spots: Vec<Spot> = Vec::with_capacity(track.samples.len() + 3);
    for value in [low, here.stand.drives[track.drive].clamp(low, high), high] {
        let sample = track.at(model, value)?;
        spots.push(Spot {
            at: value,
            off: off(&sample)?,
        });
    }
    let now = spots.get(1).copied()?;
    for sample in track.samples.iter().filter(|s| s.at > low && s.at < high) {
        spots.push(Spot {
            at: sample.at,
            off: off(sample)?,
        });
    }
    spots.sort_by(|a, b| a.at.total_cmp(&b.at));
    spots.dedup_by(|a, b| a.at == b.at);
    let valleys = valleys(&spots);
    let roughly = |i: &usize| spots[*i].off;
    let best = valleys
        .iter()
        .copied()
        .min_by(|a, b| roughly(a).total_cmp(&roughly(b)))?;
    let start = spots.iter().position(|s| s.at >= now.at)?;
    let straight_on = downhill(&spots, start, span.round);
    let mut refine = |i: usize| {
        refined(&spots, i, span.round, &mut |at| {
            let sample = track.at(model, at)?;
            off(&sample)
        })
    };
    let best_spot = refine(best);
    if straight_on == best {
        return Some((best_spot.at, best_spot.off));
    }
    let on = refine(straight_on);
    let size = model.mechanism.size(&here.params);
    // Other valleys may be deeper than their samples tell.
    let mut deepest = best_spot;
    for &i in valleys.iter().filter(|&&i| i != best && i != straight_on) {
        let step = |j: usize| (spots[j].off - spots[i].off).abs();
        let around = step(i.saturating_sub(1)).max(step((i + 1).min(spots.len() - 1)));
        if spots[i].off - around < deepest.off {
            let found = refine(i);
            if found.off < deepest.off {
                deepest = found;
            }
        }
    }
    let kept = on.off <= AS_GOOD * deepest.off + AS_NEAR * size;
    let chosen = if kept { on } else { deepest };
    Some((chosen.at, chosen.off))
}

/// Spots no farther from the pointer than both neighbours.
fn valleys(spots: &[Spot]) -> Vec<usize> {
    (0..spots.len())
        .filter(|&i| {
            let off = |j: usize| spots.get(j).map_or(f64::INFINITY, |s| s.off);
            spots[i].off <= off(i.wrapping_sub(1)) && spots[i].off <= off(i + 1)
        })
        .collect()
}

/// The valley reached by going down from a spot.
fn downhill(spots: &[Spot], start: usize, round: bool) -> usize {
    let last = spots.len() - 1;
    let mut i = start;
    for _ in 0..2 * spots.len() {
        let before = if i > 0 {
            i - 1
        } else if round {
            last - 1
        } else {
            i
        };
        let after = if i < last {
            i + 1
        } else if round {
            1
        } else {
            i
        };
        let next = if spots[before].off < spots[after].off {
            before
        } else {
            after
        };
        if spots[next].off >= spots[i].off {
            break;
        }
        i = next;
    }
    i
}

/// The bottom of a valley, by parabolas through three spots, kept between its neighbours.
fn refined(spots: &[Spot], i: usize, round: bool, off: &mut dyn FnMut(f64) -> Option<f64>) -> Spot {
    let last = spots.len() - 1;
    let mut b = spots[i];
    // Squares of distances: smooth at the bottom, even where the place is met.
    let square = |s: Spot| s.off * s.off;
    let turned = |s: Spot, by: f64| Spot { at: s.at + by, ..s };
    let span = spots[last].at - spots[0].at;
    let (mut a, mut c) = (
        if i > 0 {
            spots[i - 1]
        } else if round && last > 1 {
            turned(spots[last - 1], -span)
        } else {
            b
        },
        if i < last {
            spots[i + 1]
        } else if round && last > 1 {
            turned(spots[1], span)
        } else {
            b
        },
    );
    let within = |at: f64| {
        // The way round is the track laid again.
        if at < spots[0].at {
            at + span
        } else if at > spots[last].at {
            at - span
        } else {
            at
        }
    };
    let mut look = |at: f64| off(within(at)).map(|off| Spot { at, off });
    // At an end of the reach there is a neighbour on one side only: halve towards it until the bottom is between three.
    for _ in 0..ROUNDS {
        if a.at < b.at && b.at < c.at {
            break;
        }
        let other = if a.at < b.at { a } else { c };
        if other.at == b.at {
            return b;
        }
        let Some(m) = look(b.at + 0.25 * (other.at - b.at)) else {
            return b;
        };
        if m.off >= b.off {
            // Still uphill: the end itself is nearest, or as good as.
            if other.at < b.at { a = m } else { c = m }
        } else {
            if other.at < b.at {
                c = b
            } else {
                a = b
            }
            b = m;
        }
    }
    if !(a.at < b.at && b.at < c.at) {
        return Spot {
            at: within(b.at),
            ..b
        };
    }
    for round in 0..3 * ROUNDS {
        let (s1, s2) = (
            (square(b) - square(a)) / (b.at - a.at),
            (square(c) - square(b)) / (c.at - b.at),
        );
        let bend = (s2 - s1) / (c.at - a.at);
        let vertex = 0.5 * (a.at + b.at) - 0.5 * s1 / bend;
        let width = c.at - a.at;
        let golden = if c.at - b.at > b.at - a.at {
            b.at + 0.38 * (c.at - b.at)
        } else {
            b.at - 0.38 * (b.at - a.at)
        };
        // A parabola that creeps from one side is helped by a cut in the golden ratio.
        let at = if bend > 0.0 && vertex > a.at && vertex < c.at && round % 4 != 3 {
            vertex
        } else {
            golden
        };
        if (at - b.at).abs() <= 1e-11 * at.abs().max(1.0) || width <= 1e-10 {
            break;
        }
        let Some(m) = look(at) else { break };
        let (left, right) = if m.at < b.at { (m, b) } else { (b, m) };
        if left.off <= right.off {
            (b, c) = (left, right);
        } else {
            (a, b) = (left, right);
        }
        if b.off <= 1e-9 {
            break;
        }
    }
    Spot {
        at: within(b.at),
        ..b
    }
}
