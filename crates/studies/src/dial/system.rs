//! What the readings should show on a machine with these errors, and how that changes with each error.

use super::give::Law;
use crate::answers::Inside;
use crate::assemble::{Model, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use crate::say;
use crate::sensitivity::by_param;
use crate::spread::vary;
use machine::logbook::{Log, Run, Zero};
use machine::model::{Adjusts, Measures};
use mechanics::model::ParamId;
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// A dimension whose error is looked for.
#[derive(Clone, Debug)]
pub(crate) struct Unknown {
    /// Index into the model's dimensions.
    pub(crate) dimension: usize,
    pub(crate) param: ParamId,
    pub(crate) sign: f64,
    /// What the error is counted in: a third of the tolerance, or what the instrument leaves open. mm or rad.
    pub(crate) scale: f64,
    /// The tolerance says something beforehand.
    pub(crate) toleranced: bool,
    /// As measured on the part: error and its standard deviation, mm or rad.
    pub(crate) measured: Vec<(f64, f64)>,
}

/// What a reading shows besides the machine's dimensions.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Nuisance {
    /// Zero of the indicator, from this run on as long as it is kept.
    Zero { chain: usize },
    /// Lost motion between coming from below and from above.
    Backlash { reading: usize, drive: usize },
    /// Give under a load case: mm a newton with a force law, else plain mm (or rad).
    Give { reading: usize, case: usize },
    /// The indicator slipped before this observation, within its chain.
    Slip { before: usize },
}

/// One reading taken.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Observation {
    pub(crate) run: usize,
    /// Number within the run.
    pub(crate) row: usize,
    /// Runs between which the indicator was not touched have one chain.
    pub(crate) chain: usize,
    pub(crate) at: f64,
    pub(crate) shown: f64,
    pub(crate) going: f64,
    /// Standard deviation, mm or rad.
    pub(crate) sd: f64,
    /// Left out of the fit.
    pub(crate) wild: bool,
}

/// A reading of the machine and its derivatives by the unknowns, in their scale.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    pub(crate) value: f64,
    pub(crate) by_unknown: Vec<f64>,
    /// By the drive of the run.
    pub(crate) by_drive: f64,
}

/// Everything that is fitted.
pub(crate) struct System<'m> {
    pub(crate) model: &'m Model,
    pub(crate) log: &'m Log,
    pub(crate) unknowns: Vec<Unknown>,
    pub(crate) nuisances: Vec<Nuisance>,
    pub(crate) observations: Vec<Observation>,
    pub(crate) stands: Vec<Stand>,
    pub(crate) laws: Vec<Option<Law>>,
    /// Greater than one when the readings scatter more than was stated.
    pub(crate) inflate: f64,
}

impl<'m> System<'m> {
    pub(crate) fn new(model: &'m Model, log: &'m Log) -> Self {
        let mut chains: Vec<usize> = Vec::new();
        for (n, run) in log.runs.iter().enumerate() {
            let before = (0..n).rev().find(|&b| log.runs[b].reading == run.reading);
            chains.push(match (run.zero, before) {
                (Zero::Kept, Some(b)) => chains[b],
                _ => n,
            });
        }
        let mut observations = Vec::new();
        for (n, run) in log.runs.iter().enumerate() {
            for (row, taken) in run.taken.iter().enumerate() {
                observations.push(Observation {
                    run: n,
                    row,
                    chain: chains[n],
                    at: taken.at,
                    shown: taken.shown,
                    going: taken.going,
                    sd: run.uncertainty / 2.0,
                    wild: false,
                });
            }
        }
        let stands = log.runs.iter().map(|r| stand_of(model, r)).collect();
        let laws = log.runs.iter().map(|r| Law::of(model, r)).collect();
        let mut system = Self {
            model,
            log,
            unknowns: unknowns(model, log),
            nuisances: Vec::new(),
            observations,
            stands,
            laws,
            inflate: 1.0,
        };
        system.nuisances = system.possible();
        system
    }

    /// Zeros, backlash and give of which these readings could speak.
    fn possible(&self) -> Vec<Nuisance> {
        let mut all: Vec<Nuisance> = Vec::new();
        let mut add = |n: Nuisance| {
            if !all.contains(&n) {
                all.push(n);
            }
        };
        for o in &self.observations {
            if self.log.runs[o.chain].zero == Zero::Unknown {
                add(Nuisance::Zero { chain: o.chain });
            }
        }
        for o in &self.observations {
            let run = &self.log.runs[o.run];
            let both = self.observations.iter().any(|p| {
                let other = &self.log.runs[p.run];
                other.reading == run.reading && other.drive == run.drive && p.going * o.going < 0.0
            });
            if both {
                add(Nuisance::Backlash {
                    reading: run.reading,
                    drive: run.drive,
                });
            }
        }
        for run in &self.log.runs {
            if let Some(case) = run.under {
                add(Nuisance::Give {
                    reading: run.reading,
                    case,
                });
            }
        }
        all
    }

    /// The errors of the dimensions, mm or rad, as [`Model::made`] takes them.
    pub(crate) fn errors(&self, x: &DVector<f64>) -> Vec<(usize, f64)> {
        self.unknowns
            .iter()
            .zip(x.iter())
            .map(|(u, x)| (u.dimension, u.scale * x))
            .collect()
    }

    /// Readings of a machine at every observation.
    ///
    /// # Errors
    /// A place that it cannot reach, with the run and what is in the way.
    pub(crate) fn rows(&self, model: &Model) -> Result<Vec<Row>, (usize, Refusal)> {
        let runs: Vec<Result<Vec<Row>, Refusal>> = (0..self.log.runs.len())
            .into_par_iter()
            .map(|n| self.rows_of(model, n))
            .collect();
        let mut all = Vec::new();
        for (n, rows) in runs.into_iter().enumerate() {
            all.extend(rows.map_err(|refusal| (n, refusal))?);
        }
        Ok(all)
    }

    fn rows_of(&self, model: &Model, n: usize) -> Result<Vec<Row>, Refusal> {
        let run = &self.log.runs[n];
        let mut bench = Bench::new(model);
        let mut here: Option<Here> = None;
        let mut known: Vec<(f64, Row)> = Vec::new();
        let mut rows = Vec::with_capacity(run.taken.len());
        for taken in &run.taken {
            if let Some((_, row)) = known.iter().find(|k| k.0 == taken.at) {
                rows.push(row.clone());
                continue;
            }
            let there = match &here {
                Some(h) => bench
                    .advance(h, run.drive, taken.at)
                    .map_err(|o| bench.refuse(run.drive, taken.at, &o))?,
                None => {
                    let mut stand = self.stands[n].clone();
                    stand.drives[run.drive] = taken.at;
                    bench.bring(&stand)?
                }
            };
            let row = self.row(&mut bench, run, &there).ok_or_else(|| {
                let name = &model.machine.readings[run.reading].name;
                let place = say::at(&model.drive(run.drive), taken.at);
                Refusal::new(
                    format!(
                        "{name} cannot be taken at {place}: the machine stands at a dead centre"
                    ),
                    "leave that line out",
                )
            })?;
            known.push((taken.at, row.clone()));
            rows.push(row);
            here = Some(there);
        }
        Ok(rows)
    }

    fn row(&self, bench: &mut Bench<'_>, run: &Run, here: &Here) -> Option<Row> {
        let found = by_param(bench, run.reading, here)?;
        let by_unknown = self.by_unknown(&found.rates);
        let sense = bench.model.machine.drives[run.drive].sense;
        let by_drive = sense * found.rates[bench.model.drives[run.drive].0];
        let finite = found.value.is_finite() && by_unknown.iter().all(|r| r.is_finite());
        finite.then_some(Row {
            value: found.value,
            by_unknown,
            by_drive,
        })
    }

    /// Derivatives by the unknowns, in their scale, from those by all parameters.
    pub(crate) fn by_unknown(&self, rates: &[f64]) -> Vec<f64> {
        by_unknown(&self.unknowns, rates)
    }

    /// How surely a drive was put to its place counts too.
    pub(crate) fn weigh(&mut self, rows: &[Row]) {
        for (o, row) in self.observations.iter_mut().zip(rows) {
            let run = &self.log.runs[o.run];
            let place = row.by_drive * run.position / 2.0;
            o.sd = (run.uncertainty / 2.0).hypot(place);
        }
    }

    /// What observation `i` should show by this row, and its derivatives by all unknowns and nuisances.
    pub(crate) fn shown(&self, i: usize, row: &Row, x: &DVector<f64>) -> (f64, Vec<f64>) {
        let o = &self.observations[i];
        let run = &self.log.runs[o.run];
        let p = self.unknowns.len();
        let extra = |k: usize| x.get(p + k).copied().unwrap_or(0.0);
        let mut by = vec![0.0; p + self.nuisances.len()];
        // The machine gives under the load of its work, which is less when it gives.
        let give = self.nuisances.iter().position(|n| {
            run.under.is_some_and(|case| {
                *n == Nuisance::Give {
                    reading: run.reading,
                    case,
                }
            })
        });
        let mut value = row.value;
        let mut by_row = 1.0;
        if let Some(k) = give {
            match &self.laws[o.run] {
                Some(law) => {
                    let (loaded, by_unloaded, by_give) = law.loaded(row.value, extra(k));
                    value = loaded;
                    by_row = by_unloaded;
                    by[p + k] = run.sense * by_give;
                }
                None => {
                    value += extra(k);
                    by[p + k] = run.sense;
                }
            }
        }
        for (b, rate) in by.iter_mut().zip(&row.by_unknown) {
            *b = run.sense * by_row * rate;
        }
        let mut shown = run.sense * value;
        for (k, nuisance) in self.nuisances.iter().enumerate() {
            let rate = match *nuisance {
                Nuisance::Zero { chain } if chain == o.chain => 1.0,
                Nuisance::Backlash { reading, drive }
                    if reading == run.reading && drive == run.drive =>
                {
                    0.5 * run.sense * o.going
                }
                Nuisance::Slip { before }
                    if i >= before && self.observations[before].chain == o.chain =>
                {
                    1.0
                }
                _ => continue,
            };
            by[p + k] = rate;
            shown += rate * extra(k);
        }
        (shown, by)
    }

    /// Residuals and derivatives of all rows, each divided by its standard deviation: the observations, then what is known beforehand.
    pub(crate) fn at(&self, x: &DVector<f64>) -> Option<(DVector<f64>, DMatrix<f64>)> {
        let made = self.model.made(&self.errors(x)).ok()?;
        let rows = self.rows(&made).ok()?;
        Some(self.assemble(&rows, x))
    }

    pub(crate) fn assemble(&self, rows: &[Row], x: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        let p = self.unknowns.len();
        let used: Vec<usize> = (0..self.observations.len())
            .filter(|&i| !self.observations[i].wild)
            .collect();
        let priors: usize = self
            .unknowns
            .iter()
            .map(|u| usize::from(u.toleranced) + u.measured.len())
            .sum();
        let (m, n) = (used.len() + priors, p + self.nuisances.len());
        let (mut r, mut j) = (DVector::zeros(m), DMatrix::zeros(m, n));
        for (line, &i) in used.iter().enumerate() {
            let o = &self.observations[i];
            let (shown, by) = self.shown(i, &rows[i], x);
            let sd = o.sd * self.inflate;
            r[line] = (shown - o.shown) / sd;
            for (k, b) in by.iter().enumerate() {
                j[(line, k)] = b / sd;
            }
        }
        let mut line = used.len();
        for (k, u) in self.unknowns.iter().enumerate() {
            if u.toleranced {
                r[line] = x[k];
                j[(line, k)] = 1.0;
                line += 1;
            }
            for &(error, sd) in &u.measured {
                r[line] = (x[k] * u.scale - error) / sd;
                j[(line, k)] = u.scale / sd;
                line += 1;
            }
        }
        (r, j)
    }

    /// Observations that count.
    pub(crate) fn used(&self) -> usize {
        self.observations.iter().filter(|o| !o.wild).count()
    }
}

/// Derivatives by the unknowns, in their scale.
pub(crate) fn by_unknown(unknowns: &[Unknown], rates: &[f64]) -> Vec<f64> {
    unknowns
        .iter()
        .map(|u| u.sign * rates.get(u.param).copied().unwrap_or(0.0) * u.scale)
        .collect()
}

/// Dimensions with a tolerance or measured. What is set when the machine is built is no better known than the shop's usual for its kind.
fn unknowns(model: &Model, log: &Log) -> Vec<Unknown> {
    let params = model.params(&model.drawn());
    let varying = vary::varying(model, &params);
    let usual = &model.machine.work.usual;
    let mut all = Vec::new();
    for (i, d) in model.dimensions.iter().enumerate() {
        let nominal = d.sign * params[d.param];
        let measured: Vec<(f64, f64)> = log
            .measured
            .iter()
            .filter(|m| m.dimension == i)
            .map(|m| (m.value - nominal, m.uncertainty / 2.0))
            .collect();
        let adjusted = model.machine.settings.iter().any(|s| match s.adjusts {
            Adjusts::Rod(rod) => d.of == format!("rod {}", model.machine.rods[rod].name),
            _ => false,
        });
        let tolerance = varying
            .iter()
            .find(|v| v.param == d.param)
            .map(|v| v.plus_minus)
            .or(usual
                .rod_lengths
                .filter(|t| adjusted && *t > 0.0 && d.inside == Inside::Millimetre));
        let scale = match (tolerance, measured.first()) {
            (Some(t), _) => t / 3.0,
            (None, Some(m)) => m.1,
            (None, None) => continue,
        };
        all.push(Unknown {
            dimension: i,
            param: d.param,
            sign: d.sign,
            scale,
            toleranced: tolerance.is_some(),
            measured,
        });
    }
    all
}

/// Where drives and settings stood in a run; its load case puts drives where it needs them.
pub(crate) fn stand_of(model: &Model, run: &Run) -> Stand {
    let mut stand = model.drawn();
    let over = run_over(model, run.reading);
    if let Some(case) = run.under.and_then(|c| model.machine.work.cases.get(c)) {
        for &(drive, value) in &case.when {
            if drive != run.drive && !over.contains(&drive) {
                stand.drives[drive] = value;
            }
        }
    }
    for &(drive, value) in &run.at {
        stand.put(drive, value);
    }
    for &(setting, value) in &run.set {
        stand.settings[setting] = value;
    }
    stand
}

/// Drives that a reading runs through their ranges.
pub(crate) fn run_over(model: &Model, reading: usize) -> Vec<usize> {
    chain_of(model, reading)
        .into_iter()
        .filter_map(|r| match model.machine.readings[r].measures {
            Measures::Over { drive, .. } => Some(drive),
            _ => None,
        })
        .collect()
}

/// A reading and those it is worked out of.
pub(crate) fn chain_of(model: &Model, reading: usize) -> Vec<usize> {
    let mut chain = vec![reading];
    let mut here = reading;
    while let Some(Measures::Over { reading: inner, .. }) =
        model.machine.readings.get(here).map(|r| &r.measures)
    {
        if chain.contains(inner) {
            break;
        }
        chain.push(*inner);
        here = *inner;
    }
    chain
}
