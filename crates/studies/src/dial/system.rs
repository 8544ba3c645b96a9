//! What the readings should show on a machine with these errors, and how that changes with each error.

use super::give::Law;
use super::spans;
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
    /// The indicator slipped before this observation, within its chain, in the order in which the readings were taken.
    Slip { before: usize, order: Order },
    /// The zero of the drive's own scale is off: all its places alike, in all runs that were taken with the first of them.
    Shift { first: usize },
}

/// The order in which the readings of a chain were taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Order {
    /// Run after run: up all the way, then down all the way.
    Runs,
    /// Place after place: up and down at each before going on.
    Rows,
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
    /// Number within the chain, had up and down been taken at each place before going on; none where nothing pairs.
    pub(crate) by_rows: Option<usize>,
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
    /// Distances measured between holes.
    pub(crate) spans: Vec<spans::Measured>,
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
            // Zeros that were true on one day are true together or not at all.
            let with = (0..n).find(|&b| {
                let other = &log.runs[b];
                (other.reading, other.on, other.zero) == (run.reading, run.on, Zero::True)
            });
            chains.push(match (run.zero, before, with) {
                (Zero::Kept, Some(b), _) => chains[b],
                (Zero::True, _, Some(b)) => chains[b],
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
                    by_rows: None,
                });
            }
        }
        by_rows(&mut observations);
        let stands = log.runs.iter().map(|r| stand_of(model, r)).collect();
        let laws = log.runs.iter().map(|r| Law::of(model, r)).collect();
        let mut system = Self {
            model,
            log,
            unknowns: unknowns(model, log),
            nuisances: Vec::new(),
            observations,
            spans: spans::measured(model, log),
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
        for (n, run) in self.log.runs.iter().enumerate() {
            if run.drive_zero.is_some() {
                add(Nuisance::Shift {
                    first: self.taken_with(n),
                });
            }
        }
        all
    }

    /// The first run of the same drive and day: what was put on to read the drive stayed on.
    pub(crate) fn taken_with(&self, n: usize) -> usize {
        let key = |r: &Run| (r.drive, r.on);
        let runs = &self.log.runs;
        (0..n)
            .find(|&b| key(&runs[b]) == key(&runs[n]))
            .unwrap_or(n)
    }

    /// How surely the zero of a drive's scale is known beforehand, where it was said: one standard deviation.
    pub(crate) fn shift_known(&self, first: usize) -> Option<f64> {
        let all = self.log.runs.iter().enumerate();
        let said = all
            .filter(|(n, _)| self.taken_with(*n) == first)
            .filter_map(|(_, r)| r.drive_zero);
        said.reduce(f64::max).map(|pm| pm / 2.0)
    }

    /// By how much the places of a run are off.
    pub(crate) fn shift(&self, n: usize, x: &DVector<f64>) -> f64 {
        let first = self.taken_with(n);
        let found = self
            .nuisances
            .iter()
            .position(|k| *k == Nuisance::Shift { first });
        found
            .and_then(|k| x.get(self.unknowns.len() + k))
            .copied()
            .unwrap_or(0.0)
    }

    /// The errors of the dimensions, mm or rad, as [`Model::made`] takes them.
    pub(crate) fn errors(&self, x: &DVector<f64>) -> Vec<(usize, f64)> {
        self.unknowns
            .iter()
            .zip(x.iter())
            .map(|(u, x)| (u.dimension, u.scale * x))
            .collect()
    }

    /// The parameters of the drawn machine with these errors.
    pub(crate) fn params(&self, x: &DVector<f64>) -> Vec<f64> {
        let mut params = self.model.params(&self.model.drawn());
        for (u, x) in self.unknowns.iter().zip(x.iter()) {
            if let Some(param) = params.get_mut(u.param) {
                *param += u.sign * u.scale * x;
            }
        }
        params
    }

    /// Readings of a machine at every observation.
    ///
    /// # Errors
    /// A place that it cannot reach, with the run and what is in the way.
    pub(crate) fn rows(
        &self,
        model: &Model,
        x: &DVector<f64>,
    ) -> Result<Vec<Row>, (usize, Refusal)> {
        let runs: Vec<Result<Vec<Row>, Refusal>> = (0..self.log.runs.len())
            .into_par_iter()
            .map(|n| self.rows_of(model, n, self.shift(n, x)))
            .collect();
        let mut all = Vec::new();
        for (n, rows) in runs.into_iter().enumerate() {
            all.extend(rows.map_err(|refusal| (n, refusal))?);
        }
        Ok(all)
    }

    fn rows_of(&self, model: &Model, n: usize, shift: f64) -> Result<Vec<Row>, Refusal> {
        let run = &self.log.runs[n];
        let mut bench = Bench::new(model);
        let mut here: Option<Here> = None;
        let mut known: Vec<(f64, Row)> = Vec::new();
        let mut rows = Vec::with_capacity(run.taken.len());
        for o in self.observations.iter().filter(|o| o.run == n) {
            if let Some((_, row)) = known.iter().find(|k| k.0 == o.at) {
                rows.push(row.clone());
                continue;
            }
            match self.row_at(&mut bench, n, here.as_ref(), o.at, shift) {
                Ok((row, there)) => {
                    known.push((o.at, row.clone()));
                    rows.push(row);
                    here = Some(there);
                }
                // What is left out of the fit may lie out of reach.
                Err(_) if o.wild => rows.push(Row {
                    value: f64::NAN,
                    by_unknown: vec![0.0; self.unknowns.len()],
                    by_drive: 0.0,
                }),
                Err(refusal) => return Err(refusal),
            }
        }
        Ok(rows)
    }

    fn row_at(
        &self,
        bench: &mut Bench<'_>,
        n: usize,
        here: Option<&Here>,
        at: f64,
        shift: f64,
    ) -> Result<(Row, Here), Refusal> {
        let (model, run) = (bench.model, &self.log.runs[n]);
        let mut go = |at: f64| match here {
            Some(h) => bench
                .advance(h, run.drive, at)
                .map_err(|o| bench.refuse(run.drive, at, &o)),
            None => {
                let mut stand = self.stands[n].clone();
                stand.drives[run.drive] = at;
                bench.bring(&stand)
            }
        };
        // Beyond the end of its reach a shifted place is foretold from the end.
        let (there, rest) = match go(at + shift) {
            Ok(there) => (there, 0.0),
            Err(_) if shift != 0.0 => (go(at)?, shift),
            Err(refusal) => return Err(refusal),
        };
        let mut row = self.row(bench, run, &there).ok_or_else(|| {
            let name = &model.machine.readings[run.reading].name;
            let place = say::at(&model.drive(run.drive), at);
            Refusal::new(
                format!("{name} cannot be taken at {place}: the machine stands at a dead centre"),
                "leave that line out",
            )
        })?;
        row.value += row.by_drive * rest;
        Ok((row, there))
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

    /// How surely a drive was put to its place counts too. Readings beside a dead centre, where the last figure of the place is worth more than
    /// the reading, are left out unless that was said; they are told.
    pub(crate) fn weigh(&mut self, rows: &[Row]) -> Vec<usize> {
        for (o, row) in self.observations.iter_mut().zip(rows) {
            let run = &self.log.runs[o.run];
            let place = row.by_drive * run.position / 2.0;
            o.sd = (run.uncertainty / 2.0).hypot(place);
        }
        let mut beside = Vec::new();
        for n in 0..self.log.runs.len() {
            let of = |o: &Observation| o.run == n;
            let mut rates: Vec<f64> = self
                .observations
                .iter()
                .zip(rows)
                .filter(|(o, _)| of(o))
                .map(|(_, row)| row.by_drive.abs())
                .collect();
            rates.sort_by(f64::total_cmp);
            let usual = rates.get(rates.len() / 2).copied().unwrap_or(0.0);
            let figure = last_figure(self.model, self.log.runs[n].drive);
            if self.log.runs[n].position > 0.0 {
                continue;
            }
            for (i, (o, row)) in self.observations.iter_mut().zip(rows).enumerate() {
                let rate = row.by_drive.abs();
                if o.run == n && rate > STEEP * usual && rate * figure / 2.0 > 2.0 * o.sd {
                    o.wild = true;
                    beside.push(i);
                }
            }
        }
        beside
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
                Nuisance::Slip { before, order } if self.after(i, before, order) => 1.0,
                // What it shows changes through the row itself.
                Nuisance::Shift { first } if first == self.taken_with(o.run) => {
                    by[p + k] = run.sense * by_row * row.by_drive;
                    continue;
                }
                _ => continue,
            };
            by[p + k] = rate;
            shown += rate * extra(k);
        }
        (shown, by)
    }

    /// This observation was taken at or after that one of its chain, in this order.
    pub(crate) fn after(&self, i: usize, before: usize, order: Order) -> bool {
        let (a, b) = (&self.observations[i], &self.observations[before]);
        a.chain == b.chain
            && match order {
                Order::Runs => i >= before,
                Order::Rows => a.by_rows.zip(b.by_rows).is_some_and(|(a, b)| a >= b),
            }
    }

    /// Residuals and derivatives of all rows, each divided by its standard deviation: the observations, then what is known beforehand, then distances
    /// measured between holes.
    pub(crate) fn at(&self, x: &DVector<f64>) -> Option<(DVector<f64>, DMatrix<f64>)> {
        let made = self.model.made(&self.errors(x)).ok()?;
        let rows = self.rows(&made, x).ok()?;
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
        let shifts: Vec<(usize, f64)> = self
            .nuisances
            .iter()
            .enumerate()
            .filter_map(|(k, n)| match *n {
                Nuisance::Shift { first } => Some((p + k, self.shift_known(first)?)),
                _ => None,
            })
            .collect();
        let m = used.len() + priors + shifts.len() + self.spans.len();
        let n = p + self.nuisances.len();
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
        for (k, sd) in shifts {
            r[line] = x[k] / sd;
            j[(line, k)] = 1.0 / sd;
            line += 1;
        }
        let params = if self.spans.is_empty() {
            Vec::new()
        } else {
            self.params(x)
        };
        for m in &self.spans {
            r[line] = (m.span.length(&params) - m.value) / m.sd;
            let by = m.span.by_unknown(&params, &self.unknowns);
            for (k, b) in by.iter().enumerate() {
                j[(line, k)] = b / m.sd;
            }
            line += 1;
        }
        (r, j)
    }

    /// How the observations that count change with the place of their drive, each divided by its standard deviation.
    pub(crate) fn by_place(&self, x: &DVector<f64>) -> Option<Vec<f64>> {
        let made = self.model.made(&self.errors(x)).ok()?;
        let rows = self.rows(&made, x).ok()?;
        let all = self.observations.iter().zip(&rows).filter(|(o, _)| !o.wild);
        Some(
            all.map(|(o, row)| self.log.runs[o.run].sense * row.by_drive / (o.sd * self.inflate))
                .collect(),
        )
    }

    /// Observations that count.
    pub(crate) fn used(&self) -> usize {
        self.observations.iter().filter(|o| !o.wild).count()
    }
}

/// A rate so many times the usual one of its run stands beside a dead centre.
const STEEP: f64 = 10.0;

/// The last figure to which a place is usually written: a hundredth of a degree or of a millimetre.
pub(crate) fn last_figure(model: &Model, drive: usize) -> f64 {
    if model.drive(drive).inside == Inside::Radian {
        0.01_f64.to_radians()
    } else {
        0.01
    }
}

/// Numbers the observations of each chain by place where it was read up and down at the same places.
fn by_rows(observations: &mut [Observation]) {
    let mut chains: Vec<usize> = observations.iter().map(|o| o.chain).collect();
    chains.sort_unstable();
    chains.dedup();
    for chain in chains {
        let of: Vec<usize> = (0..observations.len())
            .filter(|&i| observations[i].chain == chain)
            .collect();
        let going = |sign: f64| {
            let all = of.iter().copied();
            all.filter(|&i| observations[i].going * sign > 0.0)
                .collect::<Vec<usize>>()
        };
        let (up, down) = (going(1.0), going(-1.0));
        let pair = |i: usize| {
            let same = down
                .iter()
                .copied()
                .filter(|&j| observations[j].at == observations[i].at);
            let found: Vec<usize> = same.collect();
            (found.len() == 1).then(|| found[0])
        };
        let pairs: Vec<(usize, usize)> = up.iter().filter_map(|&i| Some((i, pair(i)?))).collect();
        if 2 * pairs.len() != of.len() || pairs.len() < 3 {
            continue;
        }
        for (n, (i, j)) in pairs.into_iter().enumerate() {
            observations[i].by_rows = Some(2 * n);
            observations[j].by_rows = Some(2 * n + 1);
        }
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
        let measured = measured(log, i, nominal);
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

/// A dimension as measured: error and standard deviation, once for each instrument. What an instrument is off by, it is off by every time, so
/// measuring again with the same one makes the mean no surer than its surest value.
fn measured(log: &Log, dimension: usize, nominal: f64) -> Vec<(f64, f64)> {
    let all: Vec<_> = log
        .measured
        .iter()
        .filter(|m| m.dimension == dimension)
        .collect();
    let mut by: Vec<&str> = all.iter().map(|m| &*m.with).collect();
    by.sort_unstable();
    by.dedup();
    by.into_iter()
        .map(|with| {
            let of = all.iter().filter(|m| m.with == with);
            let (mut sum, mut weights, mut least) = (0.0, 0.0, f64::INFINITY);
            for m in of {
                let weight = m.uncertainty.powi(-2);
                sum += weight * (m.value - nominal);
                weights += weight;
                least = m.uncertainty.min(least);
            }
            (sum / weights, least / 2.0)
        })
        .collect()
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
