//! How far a drive can go: the ends of its path, stops and slot ends on it.

use crate::answers::{End, EndKind, Reach};
use crate::assemble::{Limit, Model};
use crate::run::Here;
use crate::run::track::{Sample, Track, crosses, near};

/// An end of a path or of a reach.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Bound {
    pub(crate) at: f64,
    pub(crate) kind: EndKind,
    /// What is in the way: "rod front and knee stand in line", "stop lever-end".
    pub(crate) cause: String,
}

/// A drive did not get where it was wanted.
pub(crate) type Obstacle = Bound;

impl Bound {
    pub(crate) fn plain(at: f64, kind: EndKind) -> Self {
        Self {
            at,
            kind,
            cause: String::new(),
        }
    }

    /// What is in the way, as the end of a sentence: "rod front and knee stand in line", "stop lever-end is in the way".
    pub(crate) fn sentence(&self) -> String {
        match self.kind {
            EndKind::Stop | EndKind::SlotEnd => format!("{} is in the way", self.cause),
            EndKind::Range | EndKind::WholeTurn => String::from("its range ends"),
            EndKind::Open => String::from("nothing was met so far"),
            _ => self.cause.clone(),
        }
    }
}

impl From<&Bound> for End {
    fn from(bound: &Bound) -> Self {
        Self {
            at: bound.at,
            kind: bound.kind,
            cause: bound.cause.clone(),
        }
    }
}

/// What of a path can be reached.
#[derive(Clone, Debug)]
pub(crate) struct Span {
    pub(crate) low: Bound,
    pub(crate) high: Bound,
    /// The limits that end it, by index into the model's.
    pub(crate) low_limit: Option<usize>,
    pub(crate) high_limit: Option<usize>,
    pub(crate) round: bool,
}

impl From<&Span> for Reach {
    fn from(span: &Span) -> Self {
        Self {
            low: (&span.low).into(),
            high: (&span.high).into(),
            whole_turn: span.round,
        }
    }
}

/// Cuts a path at the limits met from where the machine stands. A limit that is passed there already is left alone: it is told
/// of elsewhere, and cannot say where the machine goes.
pub(crate) fn span(model: &Model, track: &Track, here: &Here) -> Span {
    let mut span = Span {
        low: track.low.clone(),
        high: track.high.clone(),
        low_limit: None,
        high_limit: None,
        round: track.round,
    };
    let bodies = &model.groups[track.group].bodies;
    let mut there = here.clone();
    let now = here.stand.drives[track.drive];
    for (i, limit) in model.limits.iter().enumerate() {
        if !limit.bodies.iter().any(|b| bodies.contains(b)) {
            continue;
        }
        let tolerance = 1e-9 * model.mechanism.size(&here.params);
        if room(model, limit, here) < -tolerance {
            continue;
        }
        let start = track.samples.partition_point(|s| s.at < now - near(now));
        let mut rooms = |sample: &Sample| {
            track.put(model, sample, &mut there);
            limit.room(model, &there.stand.settings, &there.params, &there.poses)
        };
        let all: Vec<f64> = track.samples.iter().map(&mut rooms).collect();
        let mut meets = |up: bool| -> Option<f64> {
            let indices: Vec<usize> = if up {
                (start..all.len()).collect()
            } else {
                (0..start.min(all.len())).rev().collect()
            };
            let mut last = (now, room(model, limit, here));
            let mut before = last;
            for i in indices {
                let this = (track.samples[i].at, all[i]);
                if (this.0 - last.0).abs() <= near(now) {
                    continue;
                }
                if this.1 < -tolerance {
                    if last.1 <= 0.0 {
                        return Some(last.0);
                    }
                    return Some(crosses(track, model, last, this, &mut rooms));
                }
                if let Some(touch) = dips(before, last, this) {
                    let sample = track.at(model, touch);
                    let depth = sample.map(|s| rooms(&s));
                    if let Some(depth) = depth.filter(|d| *d < -tolerance) {
                        let from = if (touch - last.0) * (this.0 - last.0) > 0.0 {
                            last
                        } else {
                            before
                        };
                        return Some(crosses(track, model, from, (touch, depth), &mut rooms));
                    }
                }
                before = last;
                last = this;
            }
            None
        };
        let kind = match limit.rule {
            crate::assemble::Rule::Stop { .. } => EndKind::Stop,
            _ => EndKind::SlotEnd,
        };
        let bound = |at: f64| Bound {
            at,
            kind,
            cause: limit.name(model),
        };
        if let Some(at) = meets(true).filter(|at| *at < span.high.at) {
            (span.high, span.high_limit, span.round) = (bound(at), Some(i), false);
        }
        if let Some(at) = meets(false).filter(|at| *at > span.low.at) {
            (span.low, span.low_limit, span.round) = (bound(at), Some(i), false);
        }
    }
    span
}

fn room(model: &Model, limit: &Limit, here: &Here) -> f64 {
    limit.room(model, &here.stand.settings, &here.params, &here.poses)
}

/// The vertex of the parabola through three places when the room dips below zero between them though no sample does.
fn dips(a: (f64, f64), b: (f64, f64), c: (f64, f64)) -> Option<f64> {
    if a.0 == b.0 || b.1 > a.1 || b.1 > c.1 {
        return None;
    }
    let (s1, s2) = ((b.1 - a.1) / (b.0 - a.0), (c.1 - b.1) / (c.0 - b.0));
    let bend = (s2 - s1) / (c.0 - a.0);
    let slope = s1 + bend * (b.0 - a.0);
    let vertex = b.0 - slope / (2.0 * bend);
    let depth = b.1 - slope * slope / (4.0 * bend);
    (bend > 0.0 && depth < 0.0 && (vertex - a.0) * (vertex - c.0) < 0.0).then_some(vertex)
}
