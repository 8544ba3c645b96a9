//! How far the real machine strays from the drawn one, and which dimensions to hold.

mod answers;
mod band;
mod budget;
mod fits;
mod machines;
mod normal;
mod pressed;
mod probe;
mod propose;
mod statistics;
pub(crate) mod tolerances;
pub(crate) mod vary;
mod watch;
mod words;

pub use answers::{
    Advice, AskKept, AskSpread, Bend, Budget, BudgetItem, ByTolerances, ClearanceShare, Item, Kept,
    LoadedSpread, Made, MadeClearance, Rattle, Share, Spread, Strayed, UnderLoad, Varied,
};
pub use band::{ToleranceBand, root_sum_square};
pub use watch::Watch;
pub use words::hundred;

use crate::answers::Held;
use crate::assemble::{Model, Stand};
use crate::check::asks::{stand as ask_stand, under_load, wanted, weigh};
use crate::check::borne::Bearing;
use crate::load::rig::Rig;
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use crate::sensitivity::by_param;
use fits::{Fits, Swayed};
use machine::work::WorkJudges;
use machines::{Machines, Make};
use pressed::Pressed;
use probe::{Probe, Stations};
use propose::{Proposed, Proposer, Sought, count};
use rayon::prelude::*;
use statistics::{correlation, statistics};
use vary::{Vary, items, items_left, left_open, varying};
use words::findings;

/// Machines on which the play of fits is looked at: its percentiles need no more.
const WITH_PLAY: usize = 20_000;
/// Dimensions whose corners are all tried: 4096 machines on either side.
const CORNERS: usize = 12;

/// A load that moves a value by less does not move it, mm or rad.
const NO_GIVE: f64 = 1e-9;

/// What to spread.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// Readings by index; empty for all.
    pub readings: Vec<usize>,
    /// Machines to make, at least one.
    pub machines: usize,
    /// Seed.
    pub seed: u64,
    /// Whether budgets are wanted: they are tried on machines of their own.
    pub budgets: bool,
}

impl Default for Request {
    fn default() -> Self {
        Self {
            readings: Vec::new(),
            machines: 100_000,
            seed: 1,
            budgets: true,
        }
    }
}

/// A value that is spread: its sum of readings, and its rate by every parameter.
struct Subject {
    reading: usize,
    nominal: f64,
    rates: Vec<f64>,
    probe: Probe,
    /// What the play of fits does to it.
    swayed: Option<Swayed>,
}

/// Spreads readings at these values, and every ask on a reading where it is judged.
///
/// # Errors
/// Values that cannot be reached; a machine file without tolerances.
pub fn spread(model: &Model, stand: &Stand, request: &Request) -> Result<Spread, Refusal> {
    spread_watched(model, stand, request, &Watch::default())
}

/// The same, while somebody watches how far it is and may stop it.
///
/// # Errors
/// As [`spread`]; that it was stopped.
pub fn spread_watched(
    model: &Model,
    stand: &Stand,
    request: &Request,
    watch: &Watch,
) -> Result<Spread, Refusal> {
    let mut bench = Bench::new(model);
    let here = bench.bring(stand)?;
    let varied = match &model.left {
        Some(left) => left_open(model, &here.params, left),
        None => varying(model, &here.params),
    };
    if varied.is_empty() {
        let work = &model.machine.work;
        let usual = &work.usual;
        let any = !work.tolerances.is_empty()
            || [
                usual.hole_places,
                usual.rod_lengths,
                usual.clock_angles,
                usual.directions,
            ]
            .iter()
            .any(Option::is_some);
        return Err(Refusal::new(
            if any {
                "no dimension strays: the tolerances of the machine file are 0, or on nothing that this machine has"
            } else {
                "the machine file names no tolerances"
            },
            "write [usual] with hole-places = \"0.05 mm\", rod-lengths, clock-angles and directions, or a [tolerance.NAME]",
        ));
    }
    let rig = Rig::new(model);
    let mut fits = Fits::new(&rig);
    let mut stations = Stations::default();
    let mut refused = Vec::new();
    let mut subjects = Vec::new();
    let all: Vec<usize> = (0..model.machine.readings.len()).collect();
    let asked = if request.readings.is_empty() {
        &all
    } else {
        &request.readings
    };
    let mut read = Vec::new();
    for &reading in asked.iter().filter(|r| **r < all.len()) {
        match subject(
            &mut bench,
            &mut stations,
            &mut fits,
            reading,
            &[(1.0, here.clone())],
        ) {
            Some(s) => {
                read.push(reading);
                subjects.push(s);
            }
            None => refused.push(format!(
                "{} has no spread here: it cannot be taken, or the machine stands at a dead centre",
                model.machine.readings[reading].name
            )),
        }
    }
    let bearing = Bearing::new(&rig);
    let mut judged = Vec::new();
    for (i, ask) in model.machine.asks.iter().enumerate() {
        let stand = ask_stand(&bench, ask, &stand.settings);
        let found = weigh(&mut bench, i, &stand).ok().and_then(|v| {
            let s = subject(&mut bench, &mut stations, &mut fits, ask.reading, &v.terms)?;
            let under = bearing.gives(&mut bench, ask, &v, wanted(ask)).into_iter();
            let under: Vec<UnderLoad> = under
                .filter(|(_, shift)| shift.abs() > NO_GIVE)
                .map(|(case, shift)| UnderLoad { case, shift })
                .collect();
            Some((v.told, under, s))
        });
        match found {
            Some((told, under, s)) => {
                judged.push((i, told, under));
                subjects.push(s);
            }
            None => refused.push(format!(
                "ask {} has no spread: it cannot be judged, or it is judged at a dead centre",
                ask.name
            )),
        }
    }
    let mut pressed: Vec<Pressed> = Vec::new();
    for ask in &model.machine.work.asks {
        match Pressed::new(&rig, &mut bench, &mut stations, ask, stand) {
            Some(Ok(found)) => pressed.push(found),
            Some(Err(why)) => refused.push(why),
            None => {}
        }
    }
    let columns = varied.iter().map(|v| (v.param, v.plus_minus)).collect();
    let probes = subjects.iter().map(|s| &s.probe);
    let probes: Vec<&Probe> = probes
        .chain(pressed.iter().flat_map(|p| &p.probes))
        .collect();
    let mut making = Machines::new(&model.mechanism, &stations, &probes, columns);
    if let Some(left) = &model.left {
        let signs = left.dimensions.iter();
        let signs = signs.filter_map(|d| Some(model.dimensions.get(*d)?.sign));
        making.tie(&left.root, &signs.collect::<Vec<f64>>());
    }
    let machines = request.machines.max(1);
    let every: Vec<usize> = (0..subjects.len()).collect();
    let made = making.values(&every, Make::Random(machines, request.seed, watch));
    let made = made.filter(|_| watch.goes_on(machines));
    let made = made.ok_or_else(|| {
        if watch.is_stopped() {
            return stopped();
        }
        Refusal::new(
            "so many made machines do not go together as drawn",
            "the tolerances are too wide for them, or the machine stands close to a dead centre: mend that, or make 1000 machines at most",
        )
    })?;
    let mut sought: Vec<Sought> = Vec::new();
    for (k, (i, _, under)) in judged.iter().enumerate() {
        let ask = &model.machine.asks[*i];
        sought.push(Sought {
            name: ask.name.clone(),
            probe: read.len() + k,
            wanted: under_load(
                wanted(ask),
                &under.iter().map(|u| u.shift).collect::<Vec<_>>(),
            ),
            nominal: subjects[read.len() + k].nominal,
            aim: aim(model, *i),
            now: Kept::default(),
        });
    }
    let refs: Vec<&Sought> = sought.iter().collect();
    let (each, all_kept) = count(&refs, &made[read.len()..], machines);
    sought.iter_mut().zip(each).for_each(|(s, k)| s.now = k);
    let correlation = correlation(&made[read.len()..]);
    let plays = fits.make(machines.min(WITH_PLAY), request.seed);
    let kept_with_play: Vec<Option<Kept>> = sought
        .iter()
        .zip(subjects.iter().zip(&made).skip(read.len()))
        .map(|(ask, (s, values))| {
            let values = values.get(..machines.min(WITH_PLAY))?;
            Some(Fits::kept(ask, s.swayed.as_ref()?, values, &plays))
        })
        .collect();
    let mut next = subjects.len();
    let mut under_load = Vec::new();
    for ask in &pressed {
        let own: Vec<usize> = (next..next + ask.probes.len()).collect();
        next += own.len();
        let aside = watch.aside();
        let make = Make::Random(machines.min(WITH_PLAY), request.seed, &aside);
        let found = making.values(&own, make);
        under_load.extend(found.and_then(|made| ask.on(model, &made)));
    }
    let bends = if model.left.is_some() {
        vec![Vec::new(); subjects.len()]
    } else {
        bends(&making, &varied, subjects.len())
    };
    let strayed: Vec<Strayed> = subjects
        .par_iter()
        .zip(made)
        .enumerate()
        .map(|(i, (s, made))| {
            // What goes together is at no limit by itself.
            let corners = if model.left.is_some() {
                [f64::NAN; 2]
            } else {
                corners(&making, i, s, &varied)
            };
            let play = s.swayed.as_ref().map(|w| fits.rattle(w, &plays));
            strayed(model, s, &varied, corners, made, &bends[i], play)
        })
        .collect();
    let (of_readings, of_asks) = strayed.split_at(read.len());
    let items = match &model.left {
        Some(_) => items_left(&varied),
        None => items(model, &varied),
    };
    let proposed = if request.budgets && model.left.is_none() {
        Proposer {
            making: &making,
            varied: &varied,
            items: &items,
            asks: &sought,
            seed: request.seed,
            watch,
            length: model.machine.unit,
            can_hold: model.machine.work.usual.can_hold,
        }
        .propose()
    } else {
        Proposed {
            hold: vec![(ByTolerances::NotAsked, None); sought.len()],
            all: None,
        }
    };
    if watch.is_stopped() {
        return Err(stopped());
    }
    let asks: Vec<AskSpread> = judged
        .iter()
        .zip(of_asks)
        .zip(sought.iter().zip(proposed.hold).zip(kept_with_play))
        .map(
            |(((i, told, under), strayed), ((sought, (by_tolerances, hold)), with_play))| {
                AskSpread {
                    ask: sought.name.clone(),
                    at: told
                        .iter()
                        .map(|&(d, value)| held(model, d, value))
                        .collect(),
                    strayed: strayed.clone(),
                    at_least: wanted(&model.machine.asks[*i])[0],
                    at_most: wanted(&model.machine.asks[*i])[1],
                    under: under.clone(),
                    kept: sought.now,
                    kept_with_play: with_play,
                    aim: sought.aim,
                    room: sought.room(),
                    by_tolerances,
                    hold,
                }
            },
        )
        .collect();
    let mut spread = Spread {
        machine: model.machine.name.clone(),
        as_built: model.left.is_some(),
        held: model.held(stand, None),
        machines,
        seed: request.seed,
        dimensions: varied.iter().map(|v| v.told.clone()).collect(),
        items,
        clearances: fits.clearances.clone(),
        readings: of_readings.to_vec(),
        budget: proposed.all,
        all_kept,
        correlation,
        asks,
        under_load,
        refused,
        findings: Vec::new(),
    };
    spread.findings = findings(model, &spread);
    Ok(spread)
}

fn stopped() -> Refusal {
    Refusal::new("it was stopped before all machines were made", "")
}

/// Share that must keep an ask when no `share-of` says another: three sigma to either side.
const AIM: f64 = 0.9973;

fn aim(model: &Model, ask: usize) -> f64 {
    let share = model
        .machine
        .work
        .asks
        .iter()
        .find(|w| matches!(w.judges, WorkJudges::Share { ask: a } if a == ask));
    share
        .and_then(|w| w.at_least)
        .unwrap_or(AIM)
        .clamp(0.0, 1.0)
}

fn held(model: &Model, drive: usize, value: f64) -> Held {
    Held {
        quantity: model.drive(drive),
        value,
        as_drawn: value == model.machine.drives[drive].drawn,
    }
}

fn subject(
    bench: &mut Bench<'_>,
    stations: &mut Stations,
    fits: &mut Fits<'_>,
    reading: usize,
    terms: &[(f64, Here)],
) -> Option<Subject> {
    let (mut nominal, mut rates) = (0.0, vec![0.0; bench.model.mechanism.params.len()]);
    for (weight, here) in terms {
        let by = by_param(bench, reading, here)?;
        nominal += weight * by.value;
        rates
            .iter_mut()
            .zip(&by.rates)
            .for_each(|(r, b)| *r += weight * b);
    }
    let probe = stations.probe(bench, reading, terms)?;
    let swayed = fits.sways(bench, reading, terms);
    Some(Subject {
        reading,
        nominal,
        rates,
        probe,
        swayed,
    })
}

/// Least and greatest with every dimension within its limits: all corners of the dozen that move the value most, the others on the side that
/// makes it worse by their sensitivities; then each dimension by itself where it is worst between its limits, by the parabola through
/// both and the middle.
fn corners(making: &Machines<'_>, index: usize, subject: &Subject, varied: &[Vary]) -> [f64; 2] {
    let moves = |i: usize| (subject.rates[varied[i].param] * varied[i].plus_minus).abs();
    let mut leading: Vec<usize> = (0..varied.len()).filter(|&i| moves(i) > 0.0).collect();
    leading.sort_by(|a, b| moves(*b).total_cmp(&moves(*a)));
    leading.truncate(CORNERS);
    let values = |given: &[Vec<f64>]| {
        let made = making.values(&[index], Make::Given(given));
        let made = made.and_then(|mut v| v.pop()).unwrap_or_default();
        // A machine that does not assemble leaves the worst unknown.
        (!made.is_empty() && made.iter().all(|v| !v.is_nan())).then_some(made)
    };
    let end = |worse: f64| -> Option<f64> {
        let rest: Vec<f64> = varied
            .iter()
            .map(|v| worse * subject.rates[v.param].signum())
            .collect();
        let corner = |bits: usize| {
            let mut at = rest.clone();
            for (k, &dim) in leading.iter().enumerate() {
                at[dim] = if bits >> k & 1 == 1 { 1.0 } else { -1.0 };
            }
            at
        };
        let mut all: Vec<Vec<f64>> = (0..1 << leading.len()).map(corner).collect();
        let found = values(&all)?;
        let worst = |a: &usize, b: &usize| (worse * found[*a]).total_cmp(&(worse * found[*b]));
        let best = (0..found.len()).max_by(worst)?;
        let (mut at, here) = (all.swap_remove(best), found[best]);
        let beside: Vec<Vec<f64>> = (0..varied.len())
            .flat_map(|dim| {
                [0.0, -at[dim]].map(|x| {
                    let mut other = at.clone();
                    other[dim] = x;
                    other
                })
            })
            .collect();
        let found = values(&beside)?;
        for (x, pair) in at.iter_mut().zip(found.chunks_exact(2)) {
            // Against this side: 1 here, 0 in the middle, −1 at the other limit.
            let [a, b, c] = [pair[1], pair[0], here].map(|v| worse * v);
            let bend = a - 2.0 * b + c;
            let peak = if bend < 0.0 {
                (-0.5 * (c - a) / bend).clamp(-1.0, 1.0)
            } else if a > c {
                -1.0
            } else {
                1.0
            };
            // Rounding is no bend.
            if peak < 0.999 {
                *x *= peak;
            }
        }
        let inside = values(&[at])?;
        Some(worse * (worse * inside[0]).max(worse * here))
    };
    [end(-1.0), end(1.0)].map(|e| e.unwrap_or(f64::NAN))
}

fn strayed(
    model: &Model,
    s: &Subject,
    varied: &[Vary],
    corners: [f64; 2],
    made: Vec<f64>,
    bends: &[f64],
    play: Option<Rattle>,
) -> Strayed {
    let moves: Vec<f64> = varied
        .iter()
        .map(|v| s.rates[v.param] * v.plus_minus)
        .collect();
    let variance: f64 = moves.iter().map(|m| m * m).sum();
    let mut shares: Vec<Share> = moves
        .iter()
        .enumerate()
        .filter(|(_, m)| m.abs() > 1e-12)
        .map(|(dimension, m)| Share {
            dimension,
            rate: s.rates[varied[dimension].param],
            plus_minus: m.abs(),
            share: if variance > 0.0 {
                m * m / variance
            } else {
                0.0
            },
        })
        .collect();
    shares.sort_by(|a, b| b.share.total_cmp(&a.share));
    let mut root_sum_square = root_sum_square(moves.iter().copied());
    if model.left.is_some() {
        // Of what goes together none has a share of its own.
        shares.clear();
        root_sum_square = ToleranceBand::new(model).likely(&s.rates);
    }
    let machines = made.len();
    let told = statistics(made);
    let likely = [told.percentiles[0], told.percentiles[4]].map(|p| p - s.nominal);
    let straight = straight(likely, root_sum_square, machines);
    let bent_by = bends
        .iter()
        .enumerate()
        .filter(|(_, b)| b.abs() > BEND * (likely[1] - likely[0]))
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
        .map(|(dimension, &change)| Bend { dimension, change })
        .filter(|_| !straight);
    Strayed {
        reading: model.reading(s.reading),
        nominal: s.nominal,
        worst_case: moves.iter().map(|m| m.abs()).sum(),
        corners: corners.map(|c| (!c.is_nan()).then_some(c)),
        root_sum_square,
        made: told,
        likely,
        straight,
        play,
        bent_by,
        shares,
    }
}

/// The made band may be off the straight one by this share of it.
const STRAIGHT: f64 = 0.1;
/// A dimension bends a value when it moves it the same way to both sides by this share of the made band.
const BEND: f64 = 0.03;

/// Whether the made band is plus or minus this, as far as so many machines tell: the error of a percentile at three sigma is 8.3 deviations
/// over the root of their number, and four of those are granted.
fn straight(likely: [f64; 2], plus_minus: f64, machines: usize) -> bool {
    let granted = plus_minus * (STRAIGHT + 4.0 * 8.3 / 3.0 / (machines as f64).sqrt()) + 1e-9;
    (likely[0] + plus_minus).abs() <= granted && (likely[1] - plus_minus).abs() <= granted
}

/// For each probe and dimension: mean of what the dimension does at its two limits.
fn bends(making: &Machines<'_>, varied: &[Vary], probes: usize) -> Vec<Vec<f64>> {
    let mut given = vec![vec![0.0; varied.len()]];
    for dim in 0..varied.len() {
        for limit in [-1.0, 1.0] {
            let mut off = vec![0.0; varied.len()];
            off[dim] = limit;
            given.push(off);
        }
    }
    let every: Vec<usize> = (0..probes).collect();
    let made = making.values(&every, Make::Given(&given));
    let made = made.unwrap_or_else(|| vec![vec![f64::NAN; given.len()]; probes]);
    let of = |made: &Vec<f64>| {
        let ends = made[1..].chunks_exact(2);
        ends.map(|e| 0.5 * (e[0] + e[1]) - made[0]).collect()
    };
    made.iter().map(of).collect()
}
