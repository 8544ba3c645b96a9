//! The machine run in time: started by what turns it, or let go, with work, friction, inertia and fly-wheel.
//!
//! Loads, friction and inertia come from the same balance as in [`super::turning()`], at the speed and the acceleration that it has at each place;
//! motors follow their line, feet and hands push while their point goes their way. The run itself is [`mechanics::dynamics::around`].

mod answers;
mod findings;
mod powers;
#[cfg(test)]
mod tests;

pub use answers::{Drove, Ended, LastTurn, Moment, Run, RunAsked, Running};

use super::masses::{Masses, masses};
use super::turning::{
    BESIDE, chosen, coast, direction, gathered, load_knees, rates, senses, with_inertia,
};
use super::{Spot, dial};
use crate::answers::Inside;
use crate::assemble::{Model, Stand};
use crate::load::acting::{self, Acting, LoadCase};
use crate::load::poses::{Path, stand as stand_of};
use crate::load::ready;
use crate::load::rig::Rig;
use crate::load::row::Ready;
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use mechanics::Rates;
use mechanics::dynamics::{Acts, End, Passed, Reduced, around, reduced};
use powers::{Power, Unit, powers};
use rayon::prelude::*;
use std::f64::consts::TAU;

/// A turn whose speed stays within this share of the one before it is like it, if the speed is no farther than [`SETTLES`] from where it goes.
const LIKE: f64 = 2e-4;
const SETTLES: f64 = 1e-3;
/// Friction is taken again where square of the speed or acceleration changed by more than this share.
const AGAIN: f64 = 1e-4;
/// Share of the mean speed at which it has started.
const STARTED: f64 = 0.95;
/// Turns after which a run ends in any case, and times that friction is worked out.
const MOST: usize = 20_000;
const MOST_WORKED: usize = 60_000;
/// After so many turns friction is taken again the more seldom, down to this share.
const LONG_RUN: f64 = 20.0;
const SELDOM: f64 = 1e-2;
/// Starts that are tried in a turn, places up to which a machine is tried so, and halvings of the energy at each.
const STARTS: f64 = 72.0;
const STARTS_LOOKED_AT: usize = 1440;
const HALVINGS: usize = 30;
/// Moments that are told besides the last turn.
const TOLD: usize = 2000;

/// One place of the turn.
struct Place {
    here: Here,
    params: Vec<f64>,
    rates: Rates,
    /// The case as it acts while the machine goes on here; and with springs and weights alone.
    case: LoadCase,
    idle: LoadCase,
    /// What they take without friction.
    free: [f64; 2],
    units: Vec<Unit>,
}

/// Runs it.
///
/// # Errors
/// The machine cannot be brought there; no such drive or case; the drive does not go round; nothing turns it.
pub fn running(model: &Model, stand: &Stand, asked: &RunAsked) -> Result<Running, Refusal> {
    let rig = Rig::new(model);
    let cases = acting::cases(&rig);
    let (case, name) = chosen(model, &cases, asked.case)?;
    let mut bench = Bench::new(model);
    let mut put = stand_of(model, Some(&case), stand);
    // Where it starts is the asker's, not the case's.
    let from = stand.drives.get(asked.drive).copied().unwrap_or(0.0);
    if let Some(value) = put.drives.get_mut(asked.drive) {
        *value = from;
    }
    let mut path = Path::new(&mut bench, &put, asked.drive)?;
    let drive = model.drive(asked.drive);
    if !path.span.round || drive.inside != Inside::Radian {
        return Err(Refusal::of_question(
            format!("{} does not go round", drive.name),
            "a run in time is that of a drive that goes a whole turn; name one with --drive",
        ));
    }
    let period = path.track.period;
    if let Some(words) = super::period::words(&drive.name, period) {
        return Err(Refusal::of_question(
            words,
            "a run in time repeats the turns that bring the machine back, a hundred at most: name the slow shaft with --drive",
        ));
    }
    let round = Round {
        turns: f64::from(period.turns),
        count: super::turning::steps(period.turns),
    };
    let off = !asked.driven && asked.case.is_none();
    let heres: Option<Vec<Here>> = (0..round.count)
        .map(|i| path.at(from + round.step() * i as f64))
        .collect();
    let heres = heres.ok_or_else(|| at_dead_centre(&drive.name))?;
    let masses = masses(&rig);
    let ready = ready(&rig);
    let group = bench.group_of_drive(asked.drive);
    let all: Vec<Power<'_>> = if asked.driven {
        powers(&rig)
            .into_iter()
            .filter(|p| model.group_of.get(p.body(&rig)).copied().flatten() == group)
            .collect()
    } else {
        Vec::new()
    };
    if asked.driven && all.is_empty() {
        return Err(Refusal::of_question(
            format!("nothing turns {}", drive.name),
            "write what does into the machine file, [motor.NAME] or [push.NAME], or let it go from a speed: --let-go --from \"60 rpm\"",
        ));
    }
    let idle = case.only(Acting::always);
    let seen: Vec<Option<&Here>> = heres.iter().map(Some).collect();
    let senses = senses(&rig, &case, &seen, asked.drive, true);
    let knees = knees(
        &ready,
        &case,
        (&heres, senses.as_deref()),
        &mut path,
        asked.drive,
        [from, round.step()],
    );
    let places: Option<Vec<Place>> = heres
        .into_par_iter()
        .enumerate()
        .map(|(i, here)| {
            let case = senses
                .as_ref()
                .and_then(|s| s.get(i))
                .map_or_else(|| case.clone(), |s| case.moving(s));
            place(&ready, case, &idle, &all, here, asked.drive)
        })
        .collect();
    let mut places = places.ok_or_else(|| at_dead_centre(&drive.name))?;
    // What loads take between places where they bend.
    let mut free: Vec<f64> = places.iter().map(|p| p.free[0]).collect();
    gathered(&mut free, (from, round.step()), &knees);
    for (place, free) in places.iter_mut().zip(free) {
        place.free[0] = free;
    }
    if model.given_up() {
        return Err(Refusal::new("nobody waits for the answer any more", ""));
    }
    let felt: Vec<Reduced> = places
        .par_iter()
        .map(|p| {
            reduced(
                &rig.mechanism,
                &p.params,
                &p.here.poses,
                &p.rates,
                &masses.all,
            )
        })
        .collect();
    if felt.iter().any(|f| f.inertia <= 0.0) {
        return Err(Refusal::new(
            format!("nothing that {} moves has mass", drive.name),
            "give its parts `stock` or a `mass` with its `inertia`",
        ));
    }
    let step = round.step();
    let all: Vec<Power<'_>> = all
        .into_iter()
        .enumerate()
        .map(|(k, power)| {
            let travel = places.iter().filter_map(|p| Some(p.units.get(k)?.rate));
            power.sized(step * travel.sum::<f64>() / round.turns)
        })
        .collect();
    let site = Site {
        ready: &ready,
        masses: &masses,
        places: &places,
        felt: &felt,
        powers: &all,
        drive: asked.drive,
        round,
    };
    let on_dial = |count: usize, share: f64| {
        let at = from + step * (count as f64 + share);
        dial(model, asked.drive, true, period.turns, at)
    };
    let (high, low) = rayon::join(
        || site.run(asked, true, &on_dial),
        || site.run(asked, false, &on_dial),
    );
    if model.given_up() {
        return Err(Refusal::new("nobody waits for the answer any more", ""));
    }
    let fails_from = if asked.driven && asked.speed == 0.0 {
        site.fails_from(&on_dial)
    } else {
        Vec::new()
    };
    let coasts = [&high, &low].map(|gone| gone.coasts(&site));
    let drove = high.drove(&site);
    let mut left_out = masses.unknown.clone();
    for power in &all {
        if let Power::Motor(m) = power
            && m.inertia.is_none()
        {
            left_out.push(format!(
                "the rotor of motor {} is taken without inertia: write its `inertia`",
                m.name
            ));
        }
    }
    let moving: Vec<LoadCase> = places.iter().map(|p| p.case.clone()).collect();
    for name in case.never(&moving) {
        left_out.push(format!(
            "{name} never acts: nothing goes against it; turn its direction or sign round"
        ));
    }
    left_out.extend(super::turning::springs_back(model, &case).filter(|_| !off));
    let mut found = Running {
        drive,
        case: if off {
            String::from("springs and weights alone")
        } else {
            name
        },
        speed: asked.speed,
        from,
        driven: asked.driven,
        fails_from,
        held: model.held(&put, Some(asked.drive)),
        left_out,
        curve: high.curve(&site, from, off),
        high: high.told,
        low: low.told,
        drove,
        coasts: match coasts {
            [Some(high), Some(low)] if asked.driven => Some([high, low]),
            _ => None,
        },
        findings: Vec::new(),
    };
    found.findings = findings::findings(model, &found, &all);
    Ok(found)
}

fn at_dead_centre(drive: &str) -> Refusal {
    Refusal::new(
        format!(
            "{drive} passes a dead centre of the rest of the machine, where no motion follows from it"
        ),
        "bellcrank motion shows where; a run needs a drive that carries the machine all the way round",
    )
}

/// Beside each place where a load of the case bends or steps: what it takes there without friction.
fn knees(
    ready: &Ready<'_, '_>,
    case: &LoadCase,
    (heres, senses): (&[Here], Option<&[Vec<f64>]>),
    path: &mut Path<'_>,
    drive: usize,
    [from, step]: [f64; 2],
) -> Vec<(f64, f64)> {
    let mut known: Vec<(f64, &Here)> = (0..)
        .map(|i| from + step * f64::from(i))
        .zip(heres)
        .collect();
    if let Some(first) = heres.first() {
        known.push((from + step * heres.len() as f64, first));
    }
    let all = load_knees(ready.rig, case, &known, &mut |at| path.at(at));
    let sides = all.into_iter().flat_map(|at| [at - BESIDE, at + BESIDE]);
    sides
        .filter_map(|at| {
            let here = path.at(at)?;
            let before = ((at - from) / step).floor().max(0.0) as usize;
            let case = senses
                .and_then(|s| s.get(before))
                .map_or_else(|| case.clone(), |s| case.moving(s));
            Some((at, ready.turned(&case, &here, drive)?.free))
        })
        .collect()
}

fn place(
    ready: &Ready<'_, '_>,
    case: LoadCase,
    idle: &LoadCase,
    powers: &[Power<'_>],
    here: Here,
    drive: usize,
) -> Option<Place> {
    let rig = ready.rig;
    let params = rig.params(&here);
    let rates = rates(rig, &params, &here, drive)?;
    let free = [
        ready.turned(&case, &here, drive)?.free,
        ready.turned(idle, &here, drive)?.free,
    ];
    let direction = direction(rig, &params, drive);
    let units = powers
        .iter()
        .map(|p| p.unit(rig, &params, &here.poses, &direction, &rates))
        .collect();
    Some(Place {
        case,
        idle: idle.clone(),
        free,
        units,
        here,
        params,
        rates,
    })
}

/// All that stays the same during a run.
struct Site<'s, 'm> {
    ready: &'s Ready<'s, 'm>,
    masses: &'s Masses,
    places: &'s [Place],
    felt: &'s [Reduced],
    powers: &'s [Power<'m>],
    drive: usize,
    round: Round,
}

/// The turns after which the machine is back, and their places.
#[derive(Clone, Copy)]
struct Round {
    turns: f64,
    count: usize,
}

impl Round {
    /// From place to place, rad.
    fn step(self) -> f64 {
        TAU * self.turns / self.count as f64
    }

    /// Places of one turn.
    fn of_one(self) -> f64 {
        self.count as f64 / self.turns
    }
}

/// Friction as it was last found at a place.
#[derive(Clone, Copy)]
struct Known {
    square: f64,
    acceleration: f64,
    rubs: f64,
}

/// The machine as it acts on its drive.
struct OnDrive<'a, 's, 'm> {
    site: &'a Site<'s, 'm>,
    high: bool,
    /// Motors and pushes off, no work.
    off: bool,
    known: Vec<Option<Known>>,
    /// Times that friction was asked for, and worked out.
    asked: usize,
    worked: &'a std::cell::Cell<usize>,
}

impl Acts for OnDrive<'_, '_, '_> {
    fn drives(&mut self, place: usize, speed: f64) -> f64 {
        let Some(here) = self.site.places.get(place) else {
            return 0.0;
        };
        if self.off {
            return -here.free[1];
        }
        self.site.turns(here, speed) - here.free[0]
    }

    fn rubs(&mut self, place: usize, speed: f64, acceleration: f64) -> Option<f64> {
        let square = speed * speed;
        self.asked += 1;
        let turns = self.asked as f64 / self.site.round.of_one();
        let again = (AGAIN * (turns / LONG_RUN).max(1.0)).min(SELDOM);
        if let Some(Some(known)) = self.known.get(place) {
            let near = again * square.max(known.square);
            let size = acceleration.abs().max(square);
            if (known.square - square).abs() <= near
                && (known.acceleration - acceleration).abs() <= again * size
            {
                return Some(known.rubs);
            }
        }
        self.worked.set(self.worked.get() + 1);
        let rubs = self
            .site
            .rubs(place, [speed, acceleration], self.high, self.off)?;
        if let Some(known) = self.known.get_mut(place) {
            *known = Some(Known {
                square,
                acceleration,
                rubs,
            });
        }
        Some(rubs)
    }
}

impl<'m> Site<'_, 'm> {
    /// What turns the machine, on its drive.
    fn turns(&self, here: &Place, speed: f64) -> f64 {
        let each = self.powers.iter().zip(&here.units);
        each.map(|(p, u)| p.drives(u, speed)).sum()
    }

    /// What friction takes at this speed and acceleration.
    fn rubs(&self, place: usize, motion: [f64; 2], high: bool, off: bool) -> Option<f64> {
        let (rig, here) = (self.ready.rig, self.places.get(place)?);
        let case = if off { &here.idle } else { &here.case };
        let mut case = with_inertia(
            rig,
            case,
            &here.params,
            &here.here,
            &here.rates,
            self.masses,
            motion,
        );
        if !off {
            let each = self.powers.iter().zip(&here.units);
            case.acting
                .extend(each.filter_map(|(p, u)| p.acting(u, motion[0])));
        }
        let given = self.ready.turned(&case, &here.here, self.drive)?;
        let with = if high { given.high } else { given.low };
        Some(with? - given.free)
    }

    /// Stretches from which what turns the machine does not bring it once round from rest: started every few degrees, friction high and taken as
    /// it is at rest. None of a machine with more places than can be looked at.
    fn fails_from(&self, on_dial: &dyn Fn(usize, f64) -> f64) -> Vec<[f64; 2]> {
        let n = self.round.count;
        if n > STARTS_LOOKED_AT {
            return Vec::new();
        }
        let rubs: Vec<Option<f64>> = (0..n)
            .into_par_iter()
            .map(|k| self.rubs(k, [0.0; 2], true, false))
            .collect();
        let step = self.round.step();
        let speed = |k: usize, energy: f64| {
            (2e3 * energy.max(0.0) / self.felt[k].inertia.max(f64::MIN_POSITIVE)).sqrt()
        };
        let net = |k: usize, energy: f64| {
            let here = self.places.get(k)?;
            Some(self.turns(here, speed(k, energy)) - here.free[0] - rubs[k]?)
        };
        let goes = |start: usize| -> Option<bool> {
            let mut energy = 0.0;
            let mut before = net(start, 0.0)?;
            if before <= 0.0 {
                return Some(false);
            }
            for k in start..start + n {
                let next = (k + 1) % n;
                // The energy that agrees with what acts at it, between nothing and more than anything gives.
                let missing =
                    |after: f64| Some(energy + 0.5 * step * (before + net(next, after)?) - after);
                if missing(0.0)? <= 0.0 {
                    return Some(false);
                }
                let (mut low, mut high) = (
                    0.0,
                    energy + step * before.abs().max(net(next, 0.0)?.abs()) + 1.0,
                );
                for _ in 0..HALVINGS {
                    let middle = f64::midpoint(low, high);
                    if missing(middle)? > 0.0 {
                        low = middle;
                    } else {
                        high = middle;
                    }
                }
                energy = low;
                before = net(next, energy)?;
            }
            Some(true)
        };
        let every = (self.round.of_one() / STARTS).round().max(1.0) as usize;
        let starts: Vec<usize> = (0..n).step_by(every).collect();
        let fails: Vec<bool> = starts.par_iter().map(|&k| goes(k) == Some(false)).collect();
        let m = fails.len();
        let Some(first) = fails.iter().position(|f| !f) else {
            // From nowhere: that it does not start is told anyway.
            return Vec::new();
        };
        let mut all: Vec<[f64; 2]> = Vec::new();
        let mut inside = false;
        for i in (first..first + m).map(|i| i % m) {
            if fails[i] {
                let at = on_dial(starts[i], 0.0);
                match all.last_mut().filter(|_| inside) {
                    Some(last) => last[1] = at,
                    None => all.push([at; 2]),
                }
            }
            inside = fails[i];
        }
        all
    }

    fn acts<'a>(
        &'a self,
        high: bool,
        off: bool,
        worked: &'a std::cell::Cell<usize>,
    ) -> OnDrive<'a, 'a, 'm>
    where
        'm: 'a,
    {
        OnDrive {
            site: self,
            high,
            off,
            known: vec![None; self.round.count],
            asked: 0,
            worked,
        }
    }

    fn run(&self, asked: &RunAsked, high: bool, on_dial: &dyn Fn(usize, f64) -> f64) -> Gone {
        let (step, places) = (self.round.step(), self.round.count);
        let off = !asked.driven && asked.case.is_none();
        let worked = std::cell::Cell::new(0);
        let mut acts = self.acts(high, off, &worked);
        let mut passed: Vec<Passed> = Vec::new();
        let mut marks: Vec<f64> = Vec::new();
        let mut ended = Ended::Time;
        let model = self.ready.rig.model;
        let end = around(self.felt, step, 0, asked.speed, &mut acts, |now| {
            passed.push(*now);
            if now.count % places == 0 {
                marks.push(now.speed);
                if let [.., a, b, c] = marks[..] {
                    let (last, this) = (b - a, c - b);
                    let ratio = if last == 0.0 { 0.0 } else { this / last };
                    let rest = if ratio.abs() < 1.0 {
                        (this * ratio / (1.0 - ratio)).abs()
                    } else {
                        f64::INFINITY
                    };
                    if asked.driven && this.abs() <= LIKE * c && rest <= SETTLES * c {
                        ended = Ended::Even;
                        return false;
                    }
                }
            }
            now.time < asked.until
                && (now.count as f64) < MOST as f64 * self.round.of_one()
                && worked.get() < MOST_WORKED
                && !model.given_up()
        });
        let last = passed.last().copied();
        let count = last.map_or(0, |l| l.count);
        let (mut share, mut seconds) = (0.0, last.map_or(0.0, |l| l.time));
        match end {
            End::Told => {}
            End::Stands { share: s, after } => {
                (share, ended) = (s, Ended::Stands);
                seconds += after;
                if count == 0 && asked.speed == 0.0 {
                    ended = Ended::DoesNotStart;
                }
            }
            End::Jams | End::Massless => ended = Ended::Jams,
        }
        let turn = self.last_turn(&passed, off, on_dial);
        let goes = matches!(ended, Ended::Even | Ended::Time) && asked.driven;
        let wanted = turn.filter(|_| goes).map(|t| STARTED * t.mean);
        let starts_in = wanted.and_then(|w| {
            let reached = passed.iter().find(|p| p.speed >= w)?;
            (asked.speed < w).then_some(reached.time)
        });
        Gone {
            high,
            told: Run {
                ended,
                seconds,
                turns: (count as f64 + share) / self.round.of_one(),
                at: on_dial(count, share),
                starts_in,
                last: turn,
            },
            passed,
        }
    }

    fn last_turn(
        &self,
        passed: &[Passed],
        off: bool,
        on_dial: &dyn Fn(usize, f64) -> f64,
    ) -> Option<LastTurn> {
        let Round { turns, count } = self.round;
        let turn = passed.get(passed.len().checked_sub(count + 1)?..)?;
        let (first, last) = (turn.first()?, turn.last()?);
        let step = self.round.step();
        let spot = |p: &Passed| Spot {
            at: on_dial(p.count, 0.0),
            value: p.speed,
        };
        let least = turn.iter().min_by(|a, b| a.speed.total_cmp(&b.speed))?;
        let greatest = turn.iter().max_by(|a, b| a.speed.total_cmp(&b.speed))?;
        let over = |f: &dyn Fn(&Passed) -> f64| {
            turn.windows(2)
                .map(|w| 0.5 * step * (f(&w[0]) + f(&w[1])))
                .sum::<f64>()
                / turns
        };
        let place = |p: &Passed| self.places.get(p.count % count);
        // The deepest fall of the energy from any place on to a later one.
        let (mut top, mut fall) = (f64::NEG_INFINITY, 0.0_f64);
        for p in turn {
            top = top.max(p.energy);
            fall = fall.max(top - p.energy);
        }
        Some(LastTurn {
            mean: turns * TAU / (last.time - first.time),
            least: spot(least),
            greatest: spot(greatest),
            unevenness: 2.0 * (greatest.speed - least.speed) / (greatest.speed + least.speed),
            loads: over(&|p| place(p).map_or(0.0, |h| h.free[usize::from(off)])),
            friction: over(&|p| p.rubbed),
            carries: (fall > 0.0).then_some(least.energy / fall),
        })
    }
}

/// A run and what it passed.
struct Gone {
    high: bool,
    told: Run,
    passed: Vec<Passed>,
}

impl Gone {
    /// Turned off at the end, without work: turns and seconds until it stands. Friction of the forces of inertia goes with the square of the
    /// speed.
    fn coasts(&self, site: &Site<'_, '_>) -> Option<[f64; 2]> {
        let last = self
            .passed
            .last()
            .filter(|l| l.speed > 0.0 && matches!(self.told.ended, Ended::Even | Ended::Time))?;
        let Round { turns, count } = site.round;
        let takes: Vec<[f64; 2]> = (0..count)
            .into_par_iter()
            .map(|k| {
                let slow = site.rubs(k, [0.0; 2], self.high, true)?;
                let fast = site.rubs(k, [last.speed, 0.0], self.high, true)?;
                let free = site.places.get(k)?.free[1];
                Some([free + slow, (fast - slow) / (last.speed * last.speed)])
            })
            .collect::<Option<_>>()?;
        let inertia: Vec<f64> = site.felt.iter().map(|f| f.inertia).collect();
        let coasts = coast(&takes, &inertia, last.count % count, (last.speed, turns))?;
        Some([coasts.turns, coasts.seconds])
    }

    fn drove(&self, site: &Site<'_, '_>) -> Vec<Drove> {
        let Round { turns, count } = site.round;
        let Some(from) = self.passed.len().checked_sub(count + 1) else {
            return Vec::new();
        };
        let turn = self.passed.get(from..).unwrap_or_default();
        let each = site.powers.iter().enumerate();
        each.map(|(k, power)| {
            let (mut most, mut squares, mut work, mut turned) = (0.0_f64, 0.0, 0.0, 0.0);
            let mut seconds = 0.0;
            let own = |p: &Passed| -> [f64; 3] {
                let Some(unit) = site
                    .places
                    .get(p.count % count)
                    .and_then(|h| h.units.get(k))
                else {
                    return [0.0; 3];
                };
                let (gives, rate) = (power.gives(unit, p.speed), unit.rate);
                match power {
                    // On the motor's own shaft, before what is lost on the way.
                    Power::Motor(m) => {
                        let scale = m.ratio * (1.0 - m.loses);
                        [gives / scale, rate * m.ratio, gives * rate]
                    }
                    Power::Push { .. } if rate > 0.0 => [gives, 0.0, gives * rate],
                    Power::Push { .. } => [0.0; 3],
                }
            };
            for w in turn.windows(2) {
                let (a, b) = (own(&w[0]), own(&w[1]));
                let (time, angle) = (w[1].time - w[0].time, site.round.step());
                most = most.max(a[0].abs()).max(b[0].abs());
                squares += 0.5 * time * (a[0] * a[0] + b[0] * b[0]);
                work += 0.5 * angle * (a[2] + b[2]);
                turned += 0.5 * angle * (a[1] + b[1]);
                seconds += time;
            }
            let seconds = f64::max(seconds, f64::MIN_POSITIVE);
            let made = if let Power::Motor(m) = power {
                work / (1.0 - m.loses)
            } else {
                work
            };
            Drove {
                name: format!(
                    "{} {}",
                    if power.kind() == "motor" {
                        "motor"
                    } else {
                        "push"
                    },
                    power.name()
                ),
                kind: power.kind(),
                most,
                root_mean_square: (squares / seconds).sqrt(),
                speed: matches!(power, Power::Motor(_)).then_some(turned / seconds),
                power: made / seconds,
                work: made / turns,
            }
        })
        .collect()
    }

    /// The last turn in full, what was before it thinned.
    fn curve(&self, site: &Site<'_, '_>, from: f64, off: bool) -> Vec<Moment> {
        let before = self.passed.len().saturating_sub(site.round.count + 1);
        let every = before.div_ceil(TOLD).max(1);
        let step = site.round.step();
        let told = self.passed.iter().enumerate();
        told.filter(|(i, _)| *i >= before || i % every == 0)
            .filter_map(|(_, p)| {
                let here = site.places.get(p.count % site.round.count)?;
                Some(Moment {
                    time: p.time,
                    at: from + step * p.count as f64,
                    speed: p.speed,
                    drives: if off { 0.0 } else { site.turns(here, p.speed) },
                    takes: here.free[usize::from(off)] + p.rubbed,
                })
            })
            .collect()
    }
}
