//! Dial in: from what was drawn to what was built. Which errors explain the readings, what is still not known, what to measure next.
//!
//! Every dimension with a tolerance is an unknown that lies within it 99.7 times of 100; zeros of indicators, backlash and give are unknowns
//! of which nothing is known beforehand. The readings are solved for all of them at once.

pub mod answers;
mod built;
mod chance;
mod correct;
mod fit;
mod found;
mod give;
pub mod least;
mod next;
mod paper;
mod sanity;
pub mod scale;
mod sheet;
mod spans;
mod system;
mod turns;
mod wear;
mod words;

#[cfg(test)]
mod tests;

use crate::answers::{Finding, Held, Inside, Severity};
use crate::assemble::{Model, Stand};
use crate::check::asks::{margin, stand as stand_of_ask, wanted};
use crate::refusal::Refusal;
use crate::run::Bench;
use crate::say;
use answers::{
    BuiltAsk, BuiltReading, DialIn, Fit, FittedDimension, LeftOver, Point, RunFit, Stretch,
    Together,
};
use fit::{Aside, Fitted};
use machine::logbook::{Known, Log};
use nalgebra::DVector;
use quantity::Kind;
use std::sync::Arc;
use system::{Nuisance, Row, System};

pub use built::Built;
pub use paper::paper;
pub use sheet::{Blank, blank};

/// Columns this nearly in line cannot be told apart.
const IN_LINE: f64 = 0.98;

/// What a log may say was measured: the dimensions of a machine in the order of [`Model::dimensions`], then distances between two holes of one
/// part that are no dimension themselves.
pub fn known(model: &Model) -> Vec<Known> {
    let kind = |inside| {
        if inside == Inside::Radian {
            Kind::Angle
        } else {
            Kind::Length
        }
    };
    let dimensions = model.dimensions.iter().map(|d| Known {
        name: d.name.clone(),
        kind: kind(d.inside),
    });
    let spans = spans::spans(model).into_iter().map(|s| Known {
        name: s.name,
        kind: Kind::Length,
    });
    dimensions.chain(spans).collect()
}

/// Settings as last logged, drives as drawn.
pub fn standing_now(model: &Model, log: &Log) -> Stand {
    let mut stand = model.drawn();
    let sets = log
        .runs
        .iter()
        .map(|r| &r.set)
        .chain(log.jobs.iter().map(|j| &j.set));
    for &(setting, value) in sets.flatten() {
        if let Some(s) = stand.settings.get_mut(setting) {
            *s = value;
        }
    }
    stand
}

/// Fits the machine to its log. The second is the machine as built, when the readings make sense.
///
/// # Errors
/// Nothing was measured; a reading stands where the machine as drawn cannot go.
pub fn dial_in(model: &Model, log: &Log) -> Result<(DialIn, Option<Built>), Refusal> {
    let mut system = System::new(model, log);
    let mut answer = DialIn {
        machine: model.machine.name.clone(),
        readings: system.observations.len(),
        measured: log.measured.len(),
        findings: Vec::new(),
        fit: None,
    };
    // Jobs alone are held against the machine as drawn.
    let only_jobs = system.observations.is_empty() && log.measured.is_empty();
    if only_jobs && log.jobs.is_empty() {
        return Err(Refusal::new(
            "nothing was measured yet",
            "take readings on the machine (--blank prints a table for them) or measure parts, and write them in the log",
        ));
    }
    let start = DVector::zeros(system.unknowns.len() + system.nuisances.len());
    let rows = system.rows(model, &start).map_err(|(run, refusal)| {
        let name = log.runs.get(run).map_or("", |r| &*r.name);
        Refusal::new(
            format!("{name}: {}", refusal.message),
            if refusal.help.is_empty() {
                "look at the places of that run, and at its settings and other drives".to_owned()
            } else {
                refusal.help
            },
        )
    })?;
    let beside = system.weigh(&rows);
    answer
        .findings
        .extend(beside.iter().map(|&i| words::beside(&system, i, &rows[i])));
    let (few, nothing) = sanity::too_few(&system);
    answer.findings.extend(few);
    let mut objections = sanity::objections(&system, &rows);
    objections.extend(sanity::measured(&system));
    let sense = objections.is_empty() && (!nothing || only_jobs);
    answer.findings.extend(objections);
    if system.unknowns.is_empty() {
        answer.findings.push(words::no_tolerances());
    } else if sense {
        match fit::fit(&mut system) {
            None => answer.findings.push(words::no_fit()),
            Some(fitted) => {
                let absurd =
                    words::zero(&system, &fitted).or_else(|| words::absurd(&system, &fitted));
                let belongs = absurd.is_none();
                answer.findings.extend(absurd);
                if belongs && let Some((fit, built)) = told(&system, &fitted, &rows) {
                    answer
                        .findings
                        .extend(words::findings(&system, &fitted, &fit));
                    answer.findings.sort_by_key(|f| f.severity);
                    answer.fit = Some(fit);
                    return Ok((answer, Some(built)));
                }
            }
        }
    }
    answer.findings.sort_by_key(|f: &Finding| f.severity);
    Ok((answer, None))
}

/// The machine before anything was read: as drawn, and as uncertain as its tolerances.
fn unread(model: &Model) -> Option<(Fit, Built)> {
    let log = Log::default();
    let mut system = System::new(model, &log);
    if system.unknowns.is_empty() {
        return None;
    }
    let fitted = fit::fit(&mut system)?;
    told(&system, &fitted, &[])
}

/// The machine as most likely built, with its settings as last logged, for any other study. What making leaves open of it is what the log leaves
/// open.
///
/// # Errors
/// As [`dial_in`]; readings that make no sense for this machine.
pub fn built(model: &Model, log: &Log) -> Result<Model, Refusal> {
    let (answer, built) = dial_in(model, log)?;
    match built {
        Some(built) if !built.drift.is_empty() => Err(gone_by(model, &built)),
        Some(built) => {
            let mut model = named(built.model.set_to(&built.stand.settings)?, "as built");
            model.left = Some(Arc::new(built.left()));
            Ok(model)
        }
        None => {
            let first = answer.findings.into_iter().next();
            let (why, help) = first.map_or_else(Default::default, |f| {
                (f.sentence, f.what_to_try.unwrap_or_default())
            });
            Err(Refusal::new(
                format!("the log cannot be fitted: {why}"),
                help,
            ))
        }
    }
}

/// What is told of this machine is not told of the drawn one.
fn named(mut model: Model, how: &str) -> Model {
    model.machine.name = format!("{}, {how}", model.machine.name);
    model
}

/// The readings no longer hold.
fn gone_by(model: &Model, built: &Built) -> Refusal {
    let said = built.drift.iter().map(|&(reading, off, _)| {
        let q = model.reading(reading);
        format!("{} reads {} off them now", q.name, say::of(&q, off))
    });
    Refusal::new(
        format!(
            "the readings that were fitted no longer hold: {}",
            said.collect::<Vec<_>>().join(", ")
        ),
        "read the machine anew, and put since = \"DAY\" at the head of the log, so that what was read before that day rests",
    )
}

/// The machine with what was measured on its parts taken at face value (several values of one dimension by their certainty), the rest as
/// drawn. A distance between two holes moves them as little as can be.
///
/// # Errors
/// Nothing was measured; parts that do not go together.
pub fn measured(model: &Model, log: &Log) -> Result<Model, Refusal> {
    if log.measured.is_empty() {
        return Err(Refusal::new(
            "no dimension was measured yet",
            "log one with [[measured]]",
        ));
    }
    let mut params = model.params(&model.drawn());
    let mut errors = Vec::new();
    for (n, d) in model.dimensions.iter().enumerate() {
        let of = log.measured.iter().filter(|m| m.dimension == n);
        let (sum, weights) = of.fold((0.0, 0.0), |(s, w), m| {
            let weight = m.uncertainty.powi(-2);
            (s + weight * m.value, w + weight)
        });
        if weights > 0.0 {
            errors.push((n, sum / weights - d.sign * params[d.param]));
        }
    }
    for &(n, error) in &errors {
        let d = &model.dimensions[n];
        params[d.param] += d.sign * error;
    }
    let free = |n: usize| errors.iter().all(|e| e.0 != n);
    let moved = spans::least_errors(model, &params, &spans::measured(model, log), free);
    errors.extend(moved);
    Ok(named(model.made(&errors)?, "as measured"))
}

fn told(system: &System<'_>, fitted: &Fitted, drawn_rows: &[Row]) -> Option<(Fit, Built)> {
    let model = system.model;
    let p = system.unknowns.len();
    let made = model.made(&system.errors(&fitted.x)).ok()?;
    let rows = system.rows(&made, &fitted.x).ok()?;
    let mut built = Built {
        drift: Vec::new(),
        backlash: found::lost(system, fitted),
        stand: standing_now(model, system.log),
        unknowns: system.unknowns.clone(),
        covariance: fitted.covariance.view((0, 0), (p, p)).into_owned(),
        model: made,
    };
    let deviation = |k: usize| fitted.covariance[(k, k)].max(0.0).sqrt();
    let dimensions = dimensions(system, fitted, &deviation);
    let candidates = next::candidates(&built, system.log);
    let jobs = wear::jobs(&built, system.log);
    let wear = wear::wear(&built, system.log, &jobs);
    built.drift = wear
        .iter()
        .filter(|w| w.stale)
        .filter_map(|w| {
            let of = |r: &machine::model::Reading| r.name == w.reading.name;
            let reading = model.machine.readings.iter().position(of)?;
            Some((reading, w.off, w.off_plus_minus / 2.0))
        })
        .collect();
    let (asks, gradients) = asks(model, &built);
    let fit = Fit {
        held: model.held(&built.stand, None),
        dimensions,
        together: together(system, fitted, &built, &candidates),
        backlash: found::backlash(system, fitted, &deviation),
        shifts: found::shifts(system, fitted),
        give: found::give(system, fitted, &deviation),
        aside: found::aside(system, &fitted.aside),
        left_over: LeftOver {
            sum: fitted.sum,
            freedoms: fitted.freedoms,
            chance: fitted.chance,
            pattern: fitted.pattern,
            widened: system.inflate,
        },
        runs: runs(system, fitted, &built, &rows, drawn_rows),
        readings: readings(model, &built),
        asks,
        next: next::best(&built, &candidates, &gradients),
        correction: correct::correct(&built),
        wear,
        jobs,
    };
    Some((fit, built))
}

fn dimensions(
    system: &System<'_>,
    fitted: &Fitted,
    deviation: &dyn Fn(usize) -> f64,
) -> Vec<FittedDimension> {
    let model = system.model;
    let params = model.params(&model.drawn());
    let mut all: Vec<FittedDimension> = Vec::new();
    for (k, u) in system.unknowns.iter().enumerate() {
        let d = &model.dimensions[u.dimension];
        let drawn = d.sign * params[d.param];
        let after = 2.0 * u.scale * deviation(k);
        let before = u.toleranced.then_some(2.0 * u.scale);
        all.push(FittedDimension {
            dimension: d.name.clone(),
            of: d.of.clone(),
            inside: d.inside,
            drawn,
            fitted: drawn + u.scale * fitted.x[k],
            off: u.scale * fitted.x[k],
            before,
            after,
            learned: before.map_or(1.0, |b| (1.0 - after / b).max(0.0)),
            measured: !u.measured.is_empty(),
        });
    }
    all.sort_by(|a, b| b.learned.total_cmp(&a.learned));
    all
}

/// Dimensions whose columns are nearly in line once zeros and the like are taken out, and that stay uncertain for it.
fn together(
    system: &System<'_>,
    fitted: &Fitted,
    built: &Built,
    candidates: &[next::Candidate],
) -> Vec<Together> {
    let Some((_, j)) = system.at(&fitted.x) else {
        return Vec::new();
    };
    let (p, used) = (system.unknowns.len(), system.used());
    let data = j.rows(0, used).into_owned();
    let mut columns: Vec<DVector<f64>> = (0..p).map(|k| data.column(k).into_owned()).collect();
    if used > 0 && system.nuisances.len() <= used && !system.nuisances.is_empty() {
        let q = data
            .columns(p, system.nuisances.len())
            .into_owned()
            .qr()
            .q();
        for c in &mut columns {
            let along = q.transpose() * &*c;
            *c -= &q * along;
        }
    }
    let norms: Vec<f64> = columns.iter().map(DVector::norm).collect();
    let open = |k: usize| {
        norms[k] > 0.5 && system.unknowns[k].measured.is_empty() && fitted.covariance[(k, k)] > 0.25
    };
    let mut group: Vec<usize> = (0..p).collect();
    for a in 0..p {
        for b in a + 1..p {
            if open(a)
                && open(b)
                && columns[a].dot(&columns[b]).abs() > IN_LINE * norms[a] * norms[b]
            {
                let (from, to) = (group[b], group[a]);
                group
                    .iter_mut()
                    .filter(|g| **g == from)
                    .for_each(|g| *g = to);
            }
        }
    }
    let mut found: Vec<(f64, Together)> = Vec::new();
    for g in 0..p {
        let mut members: Vec<usize> = (0..p).filter(|&k| group[k] == g && open(k)).collect();
        if members.len() < 2 {
            continue;
        }
        members.sort_by(|a, b| norms[*b].total_cmp(&norms[*a]));
        let (a, b) = (members[0], members[1]);
        // What the readings do not see: one greater while the other makes up for it.
        let mut apart = DVector::zeros(p);
        apart[a] = norms[b];
        apart[b] = -norms[a] * columns[a].dot(&columns[b]).signum();
        let apart = apart / norms[a].hypot(norms[b]);
        let name = |k: usize| {
            system.model.dimensions[system.unknowns[k].dimension]
                .name
                .clone()
        };
        let best = next::best(
            built,
            candidates,
            &[next::Aim {
                name: format!("{} against {}", name(a), name(b)),
                by: apart,
                weight: 1.0,
            }],
        );
        found.push((
            norms[a],
            Together {
                dimensions: members.iter().map(|&k| name(k)).collect(),
                told_apart_by: best.into_iter().next(),
            },
        ));
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().map(|f| f.1).collect()
}

fn runs(
    system: &System<'_>,
    fitted: &Fitted,
    built: &Built,
    rows: &[Row],
    drawn: &[Row],
) -> Vec<RunFit> {
    let (model, p) = (system.model, system.unknowns.len());
    let mut all = Vec::new();
    for (n, run) in system.log.runs.iter().enumerate() {
        let chain = system
            .observations
            .iter()
            .find(|o| o.run == n)
            .map(|o| o.chain);
        let zero = system
            .nuisances
            .iter()
            .position(|k| chain.is_some_and(|chain| *k == Nuisance::Zero { chain }))
            .map(|k| fitted.x[p + k]);
        let mut points = Vec::new();
        for (i, o) in system
            .observations
            .iter()
            .enumerate()
            .filter(|(_, o)| o.run == n)
        {
            let (Some(row), Some(as_drawn)) = (rows.get(i), drawn.get(i)) else {
                continue;
            };
            if !row.value.is_finite() {
                continue;
            }
            let (expected, _) = system.shown(i, row, &fitted.x);
            // Everything but the dimensions is taken from the shown value as it is in the expected one.
            points.push(Point {
                at: o.at + system.shift(n, &fitted.x),
                shown: o.shown,
                true_value: row.value + run.sense * (o.shown - expected),
                built: row.value,
                drawn: as_drawn.value,
                left_over: (o.shown - expected) / (o.sd * system.inflate),
                going: o.going,
                used: !o.wild,
            });
        }
        let mut held: Vec<Held> = model.held(&system.stands[n], Some(run.drive));
        let over = system::run_over(model, run.reading);
        held.retain(|h| {
            !over
                .iter()
                .any(|&d| model.machine.drives[d].name == h.quantity.name)
        });
        all.push(RunFit {
            run: run.name.clone(),
            reading: model.reading(run.reading),
            drive: model.drive(run.drive),
            held,
            zero,
            points,
            curve: curve(system, built, n),
        });
    }
    all
}

/// Places between the ends of a run.
const BETWEEN: usize = 40;

/// The reading of a run between its places, as drawn and as built.
fn curve(system: &System<'_>, built: &Built, n: usize) -> Vec<Stretch> {
    let run = &system.log.runs[n];
    let ends = run.taken.iter().map(|t| t.at);
    let (low, high) = (
        ends.clone().fold(f64::INFINITY, f64::min),
        ends.fold(f64::NEG_INFINITY, f64::max),
    );
    let mut found = Vec::new();
    if high <= low {
        return found;
    }
    let mut benches = [Bench::new(system.model), Bench::new(&built.model)];
    let mut stand = system.stands[n].clone();
    stand.drives[run.drive] = low;
    let [Ok(mut drawn), Ok(mut made)] = [benches[0].bring(&stand), benches[1].bring(&stand)] else {
        return found;
    };
    for i in 0..=BETWEEN {
        let at = low + (high - low) * i as f64 / BETWEEN as f64;
        let (Ok(d), Ok(b)) = (
            benches[0].advance(&drawn, run.drive, at),
            benches[1].advance(&made, run.drive, at),
        ) else {
            break;
        };
        (drawn, made) = (d, b);
        let as_drawn = benches[0].value(run.reading, &drawn);
        let as_built = built.reading(&mut benches[1], run.reading, &made);
        if let (Some(drawn), Some((value, by))) = (as_drawn, as_built) {
            found.push(Stretch {
                at,
                drawn,
                built: value,
                plus_minus: 2.0 * built.deviation(&by),
            });
        }
    }
    found
}

fn readings(model: &Model, built: &Built) -> Vec<BuiltReading> {
    let mut as_drawn = Bench::new(model);
    let mut as_built = Bench::new(&built.model);
    let (there, here) = (
        as_drawn.bring(&built.stand).ok(),
        as_built.bring(&built.stand).ok(),
    );
    (0..model.machine.readings.len())
        .map(|reading| {
            let drawn = there.as_ref().and_then(|h| as_drawn.value(reading, h));
            let found = here
                .as_ref()
                .and_then(|h| built.reading(&mut as_built, reading, h));
            let (off, sd) = built.drifted(reading);
            BuiltReading {
                reading: model.reading(reading),
                drawn,
                built: found.as_ref().map(|f| f.0 + off),
                plus_minus: found.map(|f| 2.0 * built.deviation(&f.1).hypot(sd)),
            }
        })
        .collect()
}

/// Asks as built, and the derivatives of those that have a band.
fn asks(model: &Model, built: &Built) -> (Vec<BuiltAsk>, Vec<next::Aim>) {
    let mut as_drawn = Bench::new(model);
    let mut as_built = Bench::new(&built.model);
    let (mut all, mut gradients) = (Vec::new(), Vec::new());
    for (n, ask) in model.machine.asks.iter().enumerate() {
        let stand = stand_of_ask(&as_drawn, ask, &built.stand.settings);
        let drawn = crate::check::asks::weigh(&mut as_drawn, n, &stand)
            .ok()
            .map(|v| v.value);
        let found = built.ask(&mut as_built, n, &stand);
        let kept_by = found.as_ref().map(|f| margin(f.verdict.value, wanted(ask)));
        let after = found.as_ref().map(built::BuiltVerdict::plus_minus);
        all.push(BuiltAsk {
            ask: ask.name.clone(),
            reading: model.reading(ask.reading),
            drawn,
            built: found.as_ref().map(|f| f.verdict.value),
            before: found.as_ref().map(|f| 2.0 * built.before(&f.by)),
            after,
            drift: found.as_ref().map(|f| f.drift).filter(|d| *d != 0.0),
            half_lost: found.as_ref().map(|f| f.half_lost).filter(|h| *h > 0.0),
            margin: kept_by,
            kept: kept_by.is_some_and(|m| m >= 0.0),
        });
        if let Some(found) = found.filter(|_| after.is_some_and(|a| a > 1e-9)) {
            gradients.push(next::Aim {
                name: ask.name.clone(),
                weight: next::weight(found.sd, kept_by.unwrap_or(0.0)),
                by: found.by,
            });
        }
    }
    (all, gradients)
}

/// A finding about the log as a whole.
fn finding(severity: Severity, sentence: String, help: Option<String>, about: &str) -> Finding {
    Finding {
        severity,
        sentence,
        number: None,
        margin: None,
        inside: None,
        what_to_try: help,
        about: about.to_owned(),
        place: machine::Place::default(),
    }
}

impl Aside {
    /// The reading, or the first of those after a slip.
    pub(crate) fn observation(self) -> usize {
        match self {
            Self::Wild { observation, .. } => observation,
            Self::Slip { before, .. } => before,
        }
    }

    /// By how much it is off.
    pub(crate) fn by(self) -> f64 {
        match self {
            Self::Wild { by, .. } | Self::Slip { by, .. } => by,
        }
    }
}
