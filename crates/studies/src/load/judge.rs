//! Asks of load: how hard the hand pulls, whether the setting stays, what a reading is under load.

use super::acting::LoadCase;
use super::answers::{Bands, DriveForce};
use super::bands::{BandMaker, ask};
use super::places;
use super::poses::Path;
use super::rig::Rig;
use super::row::{Ready, hand_anchor, hand_of};
use super::summary::against;
use super::{acting, gives, only, poses, rubbing, say, shafts};
use crate::answers::{Held, Inside};
use crate::assemble::{Model, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use rayon::prelude::*;

/// Poses over a drive's range that are looked at first.
const LOOKED_AT: u32 = 48;
/// Rounds of closing in on the worst.
const CLOSER: usize = 12;

/// A judged value.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighed {
    /// Its value; none when nothing is finite: it jams, or nothing drives it.
    pub value: Option<f64>,
    /// Unit of the value.
    pub inside: Inside,
    /// "set needs up to 34.1 N at lever-grip".
    pub what: String,
    /// Where it is worst.
    pub at: Vec<Held>,
}

/// The worst of something over the reach of a drive under a case.
struct Over<'r, 'm> {
    ready: Ready<'r, 'm>,
    case: LoadCase,
    path: Path<'m>,
    drive: usize,
    /// The one value of the drive that is asked about; else all that it reaches.
    only: Option<f64>,
}

impl<'r, 'm> Over<'r, 'm> {
    fn new(
        rig: &'r Rig<'m>,
        settings: &[f64],
        drive: usize,
        case: Option<usize>,
        when: &[(usize, f64)],
    ) -> Result<Self, Refusal> {
        let model = rig.model;
        if drive >= model.machine.drives.len() {
            return Err(Refusal::new(
                "the machine has no such drive",
                "add a [drive.NAME] to the machine file",
            ));
        }
        let case = case.map_or_else(|| Ok(acting::every(rig)), |c| only(acting::cases(rig), c))?;
        let mut stand = model.drawn();
        if settings.len() == stand.settings.len() {
            stand.settings = settings.to_vec();
        }
        for &(other, value) in when {
            stand.put(other, value);
        }
        let stand = poses::stand(model, Some(&case), &stand);
        let ready = Ready::new(
            rig,
            shafts::shafts(rig),
            rubbing::rubbing(rig),
            gives::members(rig),
        );
        let mut path = Path::new(&mut Bench::new(model), &stand, drive)?;
        let asked = when.iter().find(|w| w.0 == drive).map(|w| w.1);
        if let Some(at) = asked.filter(|at| path.at(*at).is_none()) {
            let quantity = model.drive(drive);
            return Err(Refusal::new(
                format!(
                    "the machine does not get to {}",
                    crate::say::at(&quantity, at)
                ),
                "ask about a place that it reaches: `motion` tells how far it goes",
            ));
        }
        Ok(Self {
            ready,
            case,
            path,
            drive,
            only: asked,
        })
    }

    /// Place and value where `of` is greatest (`effort`: of what moving the drive takes; else of what happens when it is let go),
    /// closed in upon between the poses looked at first.
    fn worst(
        &mut self,
        effort: bool,
        of: impl Fn(&DriveForce) -> Option<f64> + Sync,
    ) -> Option<(f64, f64)> {
        let (low, high) = (self.path.span.low.at, self.path.span.high.at);
        let place = |i: u32| low + (high - low) * f64::from(i) / f64::from(LOOKED_AT);
        let places: Vec<f64> = match self.only {
            Some(at) => vec![at],
            None => (0..=LOOKED_AT).map(place).collect(),
        };
        let mut poses: Vec<(f64, Here)> = places
            .into_iter()
            .filter_map(|at| Some((at, self.path.at(at)?)))
            .collect();
        let (ready, case, drive) = (&self.ready, &self.case, self.drive);
        if self.only.is_none() {
            let known = places::known(ready, case, &poses);
            let path = &mut self.path;
            let mut more = places::corners(ready, case, path, &known);
            more.extend(places::notches(ready.rig, path, drive, &known));
            poses.extend(more);
            poses.sort_by(|a, b| a.0.total_cmp(&b.0));
        }
        let rests = |at: f64, force: Option<DriveForce>, path: &Path<'_>| {
            let mut force = force?;
            if let Some(let_go) = &mut force.let_go {
                path.rest(at, let_go);
            }
            of(&force)
        };
        let force = |here: &Here| ready.force(case, here, drive, effort);
        let path = &self.path;
        let forces: Vec<(f64, Option<DriveForce>)> = poses
            .par_iter()
            .map(|(at, here)| (*at, force(here)))
            .collect();
        let known: Vec<(f64, f64)> = forces
            .into_iter()
            .filter_map(|(at, f)| Some((at, rests(at, f, path)?)))
            .collect();
        let top = (0..known.len()).max_by(|&a, &b| known[a].1.total_cmp(&known[b].1))?;
        let mut best = known[top];
        if !best.1.is_finite() || self.only.is_some() {
            return Some(best);
        }
        // Golden section between the neighbours; the ends of the reach are looked at already.
        let (mut low, mut high) = (
            known[top.saturating_sub(1)].0,
            known[(top + 1).min(known.len() - 1)].0,
        );
        let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
        let path = &mut self.path;
        let mut at = |x: f64| {
            let here = path.at(x)?;
            rests(x, force(&here), path)
        };
        for _ in 0..CLOSER {
            let (a, b) = (high - golden * (high - low), low + golden * (high - low));
            let (Some(p), Some(q)) = (at(a), at(b)) else {
                break;
            };
            for found in [(a, p), (b, q)] {
                if found.1 > best.1 {
                    best = found;
                }
            }
            if p >= q {
                high = b;
            } else {
                low = a;
            }
        }
        Some(best)
    }

    fn held(&self, value: f64) -> Vec<Held> {
        let model = self.ready.rig.model;
        vec![Held {
            quantity: model.drive(self.drive),
            value,
            as_drawn: value == model.machine.drives[self.drive].drawn,
        }]
    }
}

/// The greatest effort that a drive takes over its reach under a case, friction high: at the hand, N, or at the drive without a
/// hand, N·mm (N when it slides). `settings` as in a [`Stand`]; as drawn when empty. Without a case every load acts. `when` puts drives
/// elsewhere; if it names this drive, it is judged there alone.
///
/// # Errors
/// No such drive or case; values that cannot be reached.
pub fn judge_effort(
    model: &Model,
    settings: &[f64],
    drive: usize,
    case: Option<usize>,
    when: &[(usize, f64)],
) -> Result<Weighed, Refusal> {
    let rig = Rig::new(model);
    let mut over = Over::new(&rig, settings, drive, case, when)?;
    let d = &model.machine.drives[drive];
    let pushes_only = hand_of(&rig, drive).is_some_and(|h| h.pushes_only);
    let jammed = |f: &DriveForce| f.jams_on.clone().or(f.jams_back.clone());
    let worst = over.worst(true, |force| {
        // A foot that only pushes leaves dead centres to what carries it over them.
        if (force.hand_idle && !pushes_only) || jammed(force).is_some() {
            return Some(f64::INFINITY);
        }
        against(force).map(|a| a.0)
    });
    let hand = hand_anchor(&rig, drive).and_then(|_| hand_of(&rig, drive));
    let is_moment = hand.is_none() && crate::run::turns(model, drive);
    let inside = Inside::of_load(is_moment);
    let at_hand = hand
        .map(|h| format!(" at {}", model.machine.points[h.at].name))
        .unwrap_or_default();
    Ok(match worst {
        Some((at, value)) if value.is_finite() => {
            let value = value.max(0.0);
            let effort = say::either(value, is_moment, &model.machine);
            Weighed {
                value: Some(value),
                inside,
                what: format!("{} needs up to {effort}{at_hand}", d.name),
                at: over.held(at),
            }
        }
        Some((at, _)) => {
            let here = over.path.at(at);
            let joint =
                here.and_then(|here| jammed(&over.ready.force(&over.case, &here, drive, true)?));
            let what = match joint {
                Some(joint) => format!("{} jams: {joint} binds by its friction", d.name),
                None => format!(
                    "{} cannot be moved{at_hand}: that stands still there, or is pushed straight across its way",
                    d.name
                ),
            };
            Weighed {
                value: None,
                inside,
                what,
                at: over.held(at),
            }
        }
        None => Weighed {
            value: None,
            inside,
            what: format!("{} stands at a dead centre", d.name),
            at: Vec::new(),
        },
    })
}

/// How many times over a drive is held when the hand lets go, friction low, detents counted where it stands in one; the least over
/// its reach. No value when nothing drives it, it is held whatever the load, or rests on a stop. Without a case every load acts; `when` as
/// for [`judge_effort`].
///
/// # Errors
/// No such drive or case; values that cannot be reached.
pub fn judge_holds(
    model: &Model,
    settings: &[f64],
    drive: usize,
    case: Option<usize>,
    when: &[(usize, f64)],
) -> Result<Weighed, Refusal> {
    let rig = Rig::new(model);
    let mut over = Over::new(&rig, settings, drive, case, when)?;
    let d = &model.machine.drives[drive];
    let looseness = |force: &DriveForce| {
        let let_go = force.let_go.as_ref()?;
        Some(
            -let_go
                .factor
                .filter(|_| let_go.pushed != 0.0 && let_go.rests_on.is_none())
                .unwrap_or(f64::MAX),
        )
    };
    let worst = over.worst(false, looseness);
    let always = format!("{} stays when let go", d.name);
    Ok(match worst.map(|(at, l)| (at, -l)) {
        Some((at, factor)) if factor < f64::MAX => {
            let holds = if factor >= 1.0 {
                "is held"
            } else {
                "runs by itself: it is held only"
            };
            let what = format!("{} {holds} {factor:.2} times over", d.name);
            Weighed {
                value: Some(factor),
                inside: Inside::Count,
                what,
                at: over.held(at),
            }
        }
        Some((at, _)) => {
            let here = over.path.at(at);
            let force = here.and_then(|here| over.ready.force(&over.case, &here, drive, false));
            let let_go = force.and_then(|f| f.let_go).map(|mut let_go| {
                over.path.rest(at, &mut let_go);
                let_go
            });
            let rests = let_go.and_then(|l| l.rests_on);
            Weighed {
                value: None,
                inside: Inside::Count,
                what: rests.map_or(always, |stop| {
                    format!("{} stays when let go: it rests on {stop}", d.name)
                }),
                at: over.held(at),
            }
        }
        None => Weighed {
            value: None,
            inside: Inside::Count,
            what: always,
            at: Vec::new(),
        },
    })
}

/// A reading under a case with its bands, drives as in `stand` and, where that leaves them as drawn, as the case says.
///
/// # Errors
/// No such case; values that cannot be reached; a reading that cannot be taken there.
pub fn judge_loaded(
    model: &Model,
    stand: &Stand,
    case: usize,
    reading: usize,
) -> Result<Bands, Refusal> {
    let rig = Rig::new(model);
    let case = only(acting::cases(&rig), case)?;
    let mut bench = Bench::new(model);
    let here = bench.bring(&poses::stand(model, Some(&case), stand))?;
    let name = model
        .machine
        .readings
        .get(reading)
        .map_or("", |r| r.name.as_str())
        .to_owned();
    let asked = [ask(&mut bench, reading, &here)];
    let found = BandMaker::new(&rig, Some(case))
        .bands(&asked)
        .pop()
        .flatten();
    let found = found
        .ok_or_else(|| Refusal::new(format!("{name} cannot be taken there"), String::new()))?;
    if found.loaded.is_none() {
        return Err(Refusal::new(
            format!(
                "what {name} gives under load hangs on joints that repeat one another, and how they share it is not determined"
            ),
            "give all of their rods their stock",
        ));
    }
    Ok(found)
}
