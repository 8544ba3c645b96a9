//! How far the real machine strays from the drawn one, and which dimensions to hold.

mod answers;
mod band;
mod budget;
mod machines;
mod probe;
pub(crate) mod tolerances;
mod vary;
mod watch;

pub use answers::{Advice, AskSpread, Budget, BudgetItem, Made, Share, Spread, Strayed, Varied};
pub use band::{ToleranceBand, root_sum_square};
pub use watch::Watch;

use crate::answers::{Finding, Held, Quantity, Severity};
use crate::assemble::{Model, Stand};
use crate::check::asks::{margin, stand as ask_stand, wanted, weigh};
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use crate::say;
use crate::sensitivity::by_param;
use budget::Stack;
use machine::work::WorkJudges;
use machines::{Machines, Make};
use probe::{Probe, Stations};
use rayon::prelude::*;
use vary::{Vary, varying};

/// Dimensions whose corners are all tried: 4096 machines on either side.
const CORNERS: usize = 12;

/// What to spread.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// Readings by index; empty for all.
    pub readings: Vec<usize>,
    /// Machines to make, at least one.
    pub machines: usize,
    /// Seed.
    pub seed: u64,
}

impl Default for Request {
    fn default() -> Self {
        Self {
            readings: Vec::new(),
            machines: 100_000,
            seed: 1,
        }
    }
}

/// A value that is spread: its sum of readings, and its rate by every parameter.
struct Subject {
    reading: usize,
    nominal: f64,
    rates: Vec<f64>,
    probe: Probe,
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
    let varied = varying(model, &here.params);
    if varied.is_empty() {
        return Err(Refusal::new(
            "the machine file names no tolerances",
            "write [usual] with hole-places = \"0.05 mm\", rod-lengths, clock-angles and directions, or a [tolerance.NAME]",
        ));
    }
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
        match subject(&mut bench, &mut stations, reading, &[(1.0, here.clone())]) {
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
    let mut judged = Vec::new();
    for (i, ask) in model.machine.asks.iter().enumerate() {
        let stand = ask_stand(&bench, ask, &stand.settings);
        let found = weigh(&mut bench, i, &stand).ok().and_then(|v| {
            let s = subject(&mut bench, &mut stations, ask.reading, &v.terms)?;
            Some((v.told, s))
        });
        match found {
            Some((told, s)) => {
                judged.push((i, told));
                subjects.push(s);
            }
            None => refused.push(format!(
                "ask {} has no spread: it cannot be judged, or it is judged at a dead centre",
                ask.name
            )),
        }
    }
    let columns = varied.iter().map(|v| (v.param, v.plus_minus)).collect();
    let probes: Vec<&Probe> = subjects.iter().map(|s| &s.probe).collect();
    let making = Machines::new(&model.mechanism, &stations, &probes, columns);
    let machines = request.machines.max(1);
    let every: Vec<usize> = (0..subjects.len()).collect();
    let made = making.values(&every, Make::Random(machines, request.seed, watch));
    let made = made.filter(|_| watch.goes_on(machines));
    let made = made.ok_or_else(|| {
        if watch.is_stopped() {
            return Refusal::new("it was stopped before all machines were made", "");
        }
        Refusal::new(
            "so many made machines do not go together as drawn",
            "the tolerances are too wide for them, or the machine stands close to a dead centre: mend that, or make 1000 machines at most",
        )
    })?;
    let strayed: Vec<Strayed> = subjects
        .par_iter()
        .enumerate()
        .map(|(i, s)| strayed(model, s, &varied, corners(&making, i, s, &varied), &made[i]))
        .collect();
    let (of_readings, of_asks) = strayed.split_at(read.len());
    let mut asks = Vec::new();
    let mut all_keep = vec![true; machines];
    for (k, ((i, told), strayed)) in judged.iter().zip(of_asks).enumerate() {
        let ask = &model.machine.asks[*i];
        let wanted = wanted(ask);
        let values = &made[read.len() + k];
        let keep = |v: f64| !v.is_nan() && margin(v, wanted) >= 0.0;
        let keeps = values.iter().filter(|v| keep(**v)).count();
        for (all, v) in all_keep.iter_mut().zip(values) {
            *all &= keep(*v);
        }
        let room = margin(strayed.nominal, wanted);
        let can_hold = model.machine.work.usual.can_hold;
        let budget = |stack| budget::allocate(stack, &strayed.shares, &varied, room, can_hold);
        asks.push(AskSpread {
            ask: ask.name.clone(),
            at: told
                .iter()
                .map(|&(d, value)| held(model, d, value))
                .collect(),
            strayed: strayed.clone(),
            at_least: wanted[0],
            at_most: wanted[1],
            kept: keeps as f64 / machines as f64,
            budget: budget(Stack::RootSumSquare),
            budget_for_all: budget(Stack::WorstCase),
        });
    }
    let mut spread = Spread {
        machine: model.machine.name.clone(),
        held: model.held(stand, None),
        machines,
        seed: request.seed,
        dimensions: varied.iter().map(|v| v.told.clone()).collect(),
        readings: of_readings.to_vec(),
        together: together(&asks),
        all_kept: all_keep.iter().filter(|k| **k).count() as f64 / machines as f64,
        correlation: correlation(&made[read.len()..]),
        asks,
        refused,
        findings: Vec::new(),
    };
    spread.findings = findings(model, &spread);
    Ok(spread)
}

/// The closest that any ask wants of each dimension.
fn together(asks: &[AskSpread]) -> Vec<BudgetItem> {
    let mut all: Vec<BudgetItem> = Vec::new();
    for item in asks
        .iter()
        .filter(|a| a.budget.possible)
        .flat_map(|a| &a.budget.items)
    {
        match all.iter_mut().find(|i| i.dimension == item.dimension) {
            Some(i) if i.to <= item.to => {}
            Some(i) => *i = item.clone(),
            None => all.push(item.clone()),
        }
    }
    // What to hold first, the greatest step first.
    all.sort_by(|a, b| (a.to / a.now).total_cmp(&(b.to / b.now)));
    all
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
    Some(Subject {
        reading,
        nominal,
        rates,
        probe,
    })
}

/// Least and greatest with every dimension at one of its limits: all corners of the dozen that move the value most, the others on
/// the side that makes it worse by their sensitivities.
fn corners(making: &Machines<'_>, index: usize, subject: &Subject, varied: &[Vary]) -> [f64; 2] {
    let moves = |i: usize| (subject.rates[varied[i].param] * varied[i].plus_minus).abs();
    let mut leading: Vec<usize> = (0..varied.len()).filter(|&i| moves(i) > 0.0).collect();
    leading.sort_by(|a, b| moves(*b).total_cmp(&moves(*a)));
    leading.truncate(CORNERS);
    let end = |worse: f64| {
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
        let all: Vec<Vec<f64>> = (0..1 << leading.len()).map(corner).collect();
        let found = making
            .values(&[index], Make::Given(&all))
            .and_then(|mut v| v.pop());
        let found = found.unwrap_or_default();
        // A corner that does not assemble leaves the worst unknown.
        if found.iter().any(|v| v.is_nan()) {
            return f64::NAN;
        }
        let worst = found.into_iter().map(|v| worse * v).reduce(f64::max);
        worst.map_or(f64::NAN, |v| worse * v)
    };
    [end(-1.0), end(1.0)]
}

fn strayed(
    model: &Model,
    s: &Subject,
    varied: &[Vary],
    corners: [f64; 2],
    made: &[f64],
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
    Strayed {
        reading: model.reading(s.reading),
        nominal: s.nominal,
        worst_case: moves.iter().map(|m| m.abs()).sum(),
        corners: corners.map(|c| (!c.is_nan()).then_some(c)),
        root_sum_square: root_sum_square(moves.iter().copied()),
        made: statistics(made),
        shares,
    }
}

/// Correlation between each two lists of values, over the machines that all of them have.
fn correlation(values: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let count = values.first().map_or(0, Vec::len);
    let good: Vec<usize> = (0..count)
        .filter(|&i| values.iter().all(|v| !v[i].is_nan()))
        .collect();
    let n = good.len().max(1) as f64;
    // Off the mean and over the deviation, so that a product is a correlation.
    let scaled = values.par_iter().map(|v| {
        let mean = good.iter().map(|&i| v[i]).sum::<f64>() / n;
        let off: Vec<f64> = good.iter().map(|&i| v[i] - mean).collect();
        let deviation = (off.iter().map(|x| x * x).sum::<f64>() / n).sqrt();
        (off, deviation)
    });
    let scaled: Vec<(Vec<f64>, f64)> = scaled.collect();
    let between = |((a, s), (b, t)): (&(Vec<f64>, f64), &(Vec<f64>, f64))| {
        let product = a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>() / n;
        if s * t > 0.0 {
            (product / (s * t)).clamp(-1.0, 1.0)
        } else {
            0.0
        }
    };
    let row = |a| scaled.par_iter().map(|b| between((a, b))).collect();
    scaled.iter().map(row).collect()
}

/// Shares of machines below the percentiles told.
const PERCENTILES: [f64; 5] = [0.00135, 0.025, 0.5, 0.975, 0.99865];

/// Brings the values of these ranks, counted from `first`, to their places; the others lie on the right side of them.
fn rank(values: &mut [f64], first: usize, ranks: &[usize]) {
    let middle = ranks.len() / 2;
    let Some(place) = ranks.get(middle).and_then(|r| r.checked_sub(first)) else {
        return;
    };
    if place >= values.len() {
        return;
    }
    let (below, _, above) = values.select_nth_unstable_by(place, f64::total_cmp);
    rank(below, first, &ranks[..middle]);
    rank(above, first + place + 1, &ranks[middle + 1..]);
}

/// Sums run in the order of the machines, so that they do not depend on threads.
fn statistics(values: &[f64]) -> Made {
    let mut good: Vec<f64> = values.iter().copied().filter(|v| !v.is_nan()).collect();
    let lost = values.len() - good.len();
    if good.is_empty() {
        return Made {
            lost,
            ..Made::default()
        };
    }
    let n = good.len() as f64;
    let mean = good.iter().sum::<f64>() / n;
    let deviation =
        (good.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0)).sqrt();
    let last = good.len() - 1;
    let places = PERCENTILES.map(|share| share * (n - 1.0));
    let mut ranks = vec![0, last];
    for x in places {
        let low = (x.floor() as usize).min(last);
        ranks.extend([low, (low + 1).min(last)]);
    }
    ranks.sort_unstable();
    ranks.dedup();
    rank(&mut good, 0, &ranks);
    let at = |x: f64| {
        let low = (x.floor() as usize).min(last);
        good[low] + x.fract() * (good[(low + 1).min(last)] - good[low])
    };
    Made {
        mean,
        deviation,
        percentiles: places.map(at),
        extremes: [good[0], good[last]],
        lost,
    }
}

fn findings(model: &Model, spread: &Spread) -> Vec<Finding> {
    let mut all = Vec::new();
    for a in &spread.asks {
        let Some(ask) = model.machine.asks.iter().find(|x| x.name == a.ask) else {
            continue;
        };
        let share_ask = model.machine.work.asks.iter().find(|w| {
            matches!(w.judges, WorkJudges::Share { ask } if model.machine.asks.get(ask).is_some_and(|x| x.name == a.ask))
        });
        let wanted = share_ask.and_then(|w| w.at_least).unwrap_or(0.95);
        let severity = match (a.kept >= wanted, share_ask.is_some()) {
            (true, _) => Severity::Kept,
            (false, true) => Severity::Miss,
            (false, false) => Severity::Caution,
        };
        let q = &a.strayed.reading;
        let (about, place) = match share_ask {
            Some(w) => (format!("ask.{}", w.name), w.place),
            None => (format!("ask.{}", a.ask), ask.place),
        };
        all.push(Finding {
            severity,
            sentence: format!(
                "{} of 100 machines made to these tolerances keep {}: {} of {} strays by ± {} (root-sum-square, ± is three sigma)",
                hundred(a.kept),
                a.ask,
                say::of(q, a.strayed.nominal),
                q.name,
                say::of(q, a.strayed.root_sum_square)
            ),
            number: Some(a.kept),
            margin: Some(a.kept - wanted),
            inside: Some(crate::answers::Inside::Count),
            what_to_try: (a.kept < wanted).then(|| advice(spread, a, q, model.machine.unit)),
            about,
            place,
        });
    }
    all.sort_by(|a, b| {
        a.severity
            .cmp(&b.severity)
            .then(a.margin.unwrap_or(0.0).total_cmp(&b.margin.unwrap_or(0.0)))
    });
    all
}

/// Never rounds a share up to all.
fn hundred(share: f64) -> String {
    let x = 100.0 * share;
    if share < 1.0 && x > 99.9 {
        String::from("more than 99.9")
    } else {
        format!("{}", (x * 10.0).floor() / 10.0)
    }
}

fn advice(spread: &Spread, a: &AskSpread, q: &Quantity, length: quantity::Unit) -> String {
    if a.budget.room <= 0.0 {
        return String::from(
            "the machine as drawn misses it: mend the drawing or a setting first, `check` says which",
        );
    }
    let hold: Vec<String> = a
        .budget
        .items
        .iter()
        .filter(|i| i.advice == Advice::Hold)
        .take(3)
        .map(|i| {
            let d = &spread.dimensions[i.dimension];
            format!("{} to ± {}", d.dimension, tolerance(d, i.to, length))
        })
        .collect();
    let loose = a
        .budget
        .items
        .iter()
        .filter(|i| i.advice == Advice::LetGo)
        .count();
    let and = if loose > 0 {
        format!("; {loose} others may be made looser")
    } else {
        String::new()
    };
    if a.budget.possible && !hold.is_empty() {
        format!("hold {}{and}", hold.join(", "))
    } else if a.budget.possible {
        String::from(
            "the tolerances are close enough; move the nominal value to the middle of what is wanted",
        )
    } else {
        format!(
            "even held as close as the shop can, it strays by ± {}: set it after assembly by an adjustment, or ask for less",
            say::of(q, a.budget.reached)
        )
    }
}

/// A tolerance, for a sentence.
fn tolerance(d: &Varied, t: f64, length: quantity::Unit) -> String {
    match d.inside {
        crate::answers::Inside::Radian => say::short(t, quantity::Unit::Degree),
        _ => say::short(t, length),
    }
}
