//! The machine on the bench: brought to values of drives and settings, with followed paths kept for the next question.

use crate::answers::EndKind;
use crate::assemble::{Model, Stand};
use crate::refusal::Refusal;
use crate::run::plans::Plans;
use crate::run::track::{self, Track};
use crate::run::{Bound, Obstacle, Span, reach};
use crate::say;
use mechanics::model::Pose;
use mechanics::{Ended, State};
use std::f64::consts::TAU;
use std::rc::Rc;

/// The machine at some values, closed.
#[derive(Clone, Debug)]
pub(crate) struct Here {
    pub(crate) stand: Stand,
    pub(crate) params: Vec<f64>,
    pub(crate) poses: Vec<Pose>,
    /// A drive that stands here because a limit ends its way, and that limit: on another machine it stands where the limit is there.
    pub(crate) ended: Option<(usize, usize)>,
}

/// A model and the paths followed on it.
pub(crate) struct Bench<'m> {
    pub(crate) model: &'m Model,
    plans: Plans,
    /// Latest last.
    tracks: Vec<Rc<Track>>,
    /// Two whole turns, for drives that would go round if no stop were in the way.
    wide: Vec<Rc<Track>>,
    /// Where the last extreme of a reading over a drive was found.
    pub(super) warm: Vec<[Option<f64>; 2]>,
}

/// Tracks kept.
const KEPT: usize = 16;
/// A drive is turned so often at most, and back as often.
const MOST_TURNS: f64 = 200.0;

impl<'m> Bench<'m> {
    pub(crate) fn new(model: &'m Model) -> Self {
        Self {
            model,
            plans: Plans::new(model),
            tracks: Vec::new(),
            wide: Vec::new(),
            warm: vec![[None; 2]; model.machine.readings.len()],
        }
    }

    /// As drawn.
    pub(crate) fn drawn(&self) -> Here {
        let stand = self.model.drawn();
        let params = self.model.params(&stand);
        Here {
            stand,
            params,
            poses: self.model.mechanism.drawn.clone(),
            ended: None,
        }
    }

    /// Settings as asked, drives as drawn.
    pub(crate) fn set(&self, stand: &Stand) -> Result<Here, Refusal> {
        let model = self.model;
        if model.given_up() {
            return Err(Refusal::new("nobody waits for the answer any more", ""));
        }
        let mut here = self.drawn();
        let drawn = here.params.clone();
        here.stand.settings.clone_from(&stand.settings);
        here.params = model.params(&here.stand);
        if here.params == drawn {
            return Ok(here);
        }
        for group in &model.groups {
            let moved = group
                .uses
                .iter()
                .enumerate()
                .any(|(p, used)| *used && here.params[p] != drawn[p]);
            if !moved {
                continue;
            }
            let poses: Vec<Pose> = group.bodies.iter().map(|&b| here.poses[b]).collect();
            let followed = model.follow(
                &group.mechanism,
                &State {
                    params: drawn.clone(),
                    poses,
                },
                &here.params,
            );
            if followed.ended != Ended::Reached {
                return Err(self.not_set(stand, group, &followed));
            }
            for (&b, pose) in group.bodies.iter().zip(&followed.state.poses) {
                here.poses[b] = *pose;
            }
        }
        Ok(here)
    }

    fn not_set(
        &self,
        stand: &Stand,
        group: &crate::assemble::Group,
        followed: &mechanics::Followed,
    ) -> Refusal {
        let model = self.model;
        let changed = stand
            .settings
            .iter()
            .enumerate()
            .filter(|(i, v)| **v != model.machine.settings[*i].drawn);
        let names: Vec<String> = changed
            .map(|(i, v)| {
                let q = model.setting(i);
                say::at(&q, *v)
            })
            .collect();
        let why = match &followed.ended {
            Ended::DeadCentre { folding } => {
                let (params, poses) = (&followed.state.params, &followed.state.poses);
                super::named::folds(model, group, params, poses, folding)
            }
            Ended::NotClosed(_) => {
                String::from("the parts that repeat one another do not agree any more")
            }
            _ => String::from("the parts could not be followed there"),
        };
        Refusal::new(
            format!(
                "with {} the machine does not assemble: {why}",
                names.join(", ")
            ),
            format!(
                "it goes {:.0} % of the way from the drawn settings; set less",
                100.0 * followed.share
            ),
        )
    }

    /// Brings the machine to these values: settings first, then one drive after the other in the order of the file, as hands
    /// would, and never past a stop.
    pub(crate) fn bring(&mut self, stand: &Stand) -> Result<Here, Refusal> {
        let here = self.set(stand)?;
        let count = stand.drives.len();
        match self.bring_in(&here, stand, 0..count) {
            Ok(there) => Ok(there),
            // One drive may have to make room for another first.
            Err(refusal) if count > 1 => {
                let back = self.bring_in(&here, stand, (0..count).rev());
                back.map_err(|_| refusal)
            }
            Err(refusal) => Err(refusal),
        }
    }

    fn bring_in(
        &mut self,
        from: &Here,
        stand: &Stand,
        order: impl Iterator<Item = usize>,
    ) -> Result<Here, Refusal> {
        let mut here = from.clone();
        for drive in order {
            let to = stand.drives[drive];
            here = self
                .advance(&here, drive, to)
                .map_err(|o| self.refuse(drive, to, &o))?;
        }
        Ok(here)
    }

    /// The sentence for a drive that cannot get to a value.
    pub(crate) fn refuse(&self, drive: usize, to: f64, obstacle: &Obstacle) -> Refusal {
        let q = self.model.drive(drive);
        let message = match obstacle.kind {
            EndKind::Locked => format!("{} cannot move: {}", q.name, obstacle.cause),
            _ => format!(
                "{} cannot reach {}: at {} {}",
                q.name,
                say::short(to, q.unit),
                say::short(obstacle.at, q.unit),
                obstacle.sentence()
            ),
        };
        Refusal::new(message, "")
    }

    /// Moves one drive.
    pub(crate) fn advance(&mut self, here: &Here, drive: usize, to: f64) -> Result<Here, Obstacle> {
        let now = here.stand.drives[drive];
        if (to - now).abs() <= track::near(to) {
            return Ok(here.clone());
        }
        let lost = || Obstacle {
            at: now,
            kind: EndKind::Lost,
            cause: String::from("the drive moves nothing"),
        };
        if self.model.given_up() {
            return Err(lost());
        }
        // A case of a load may ask for what no question may: nobody waits for millions of turns.
        if super::turns(self.model, drive) && (to - now).abs() > MOST_TURNS * TAU {
            return Err(Obstacle {
                cause: String::from("it is turned a hundred times at most"),
                ..lost()
            });
        }
        let kept = self.kept(here, drive);
        let track = match kept {
            Some(track) if track.low.at <= to && to <= track.high.at => track,
            _ => Rc::new(Track::towards(self.model, here, drive, to).ok_or_else(lost)?),
        };
        let span = reach::span(self.model, &track, here);
        let end = if to > now { &span.high } else { &span.low };
        let beyond = if to > now { to - end.at } else { end.at - to };
        if beyond > track::near(to) {
            return Err(Obstacle {
                at: end.at,
                kind: end.kind,
                cause: end.cause.clone(),
            });
        }
        let sample = track.at(self.model, to).ok_or_else(lost)?;
        let mut there = here.clone();
        track.put(self.model, &sample, &mut there);
        Ok(there)
    }

    fn kept(&self, here: &Here, drive: usize) -> Option<Rc<Track>> {
        self.tracks
            .iter()
            .rev()
            .find(|t| t.fits(self.model, here, drive))
            .cloned()
    }

    /// The path over the drive's range from here; kept for the next time.
    pub(crate) fn track(&mut self, here: &Here, drive: usize) -> Option<Rc<Track>> {
        if self.model.given_up() {
            return None;
        }
        if let Some(track) = self.kept(here, drive) {
            return Some(track);
        }
        let track = Rc::new(Track::over_range(self.model, &self.plans, here, drive)?);
        Some(keep(&mut self.tracks, track))
    }

    /// The path between two values, from here.
    pub(crate) fn between(
        &self,
        here: &Here,
        drive: usize,
        low: f64,
        high: f64,
    ) -> Option<Rc<Track>> {
        if self.model.given_up() {
            return None;
        }
        Track::between(self.model, &self.plans, here, drive, low, high).map(Rc::new)
    }

    /// A path with a sample at each of these rising values, from here.
    pub(crate) fn through(&self, here: &Here, drive: usize, values: &[f64]) -> Option<Track> {
        if self.model.given_up() {
            return None;
        }
        Track::through(self.model, &self.plans, here, drive, values)
    }

    /// The path over the drive's range and how much of it can be reached.
    pub(crate) fn span(&mut self, here: &Here, drive: usize) -> Option<(Rc<Track>, Span)> {
        let track = self.track(here, drive)?;
        let span = reach::span(self.model, &track, here);
        if !track.round || span.round {
            return Some((track, span));
        }
        let all = TAU * f64::from(track.period.turns);
        // Cut by a stop: the way round begins where the machine stands, not where a turn is counted from.
        let known = self
            .wide
            .iter()
            .rev()
            .find(|t| t.fits(self.model, here, drive));
        let track = if let Some(track) = known {
            Rc::clone(track)
        } else {
            let now = here.stand.drives[drive];
            let wide = self.between(here, drive, now - all, now + all)?;
            keep(&mut self.wide, wide)
        };
        let mut span = reach::span(self.model, &track, here);
        // No more than once round of it is told of.
        if span.high.kind == EndKind::Range && span.high.at > span.low.at + all {
            span.high = Bound::plain(span.low.at + all, EndKind::WholeTurn);
        } else if span.low.kind == EndKind::Range && span.low.at < span.high.at - all {
            span.low = Bound::plain(span.high.at - all, EndKind::WholeTurn);
        }
        Some((track, span))
    }
}

/// Puts a track behind the others and drops the oldest when there are too many.
fn keep(tracks: &mut Vec<Rc<Track>>, track: Rc<Track>) -> Rc<Track> {
    if tracks.len() >= KEPT {
        tracks.remove(0);
    }
    tracks.push(Rc::clone(&track));
    track
}
