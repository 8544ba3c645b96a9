//! Made machines, solved block by block: many side by side by a plan, and one after the other by following where a plan misses.

use super::Watch;
use super::probe::{Leaf, Probe, Stations};
use crate::run::Here;
use mechanics::model::{Measure, Mechanism, ParamId};
use mechanics::plan::{Batch, Plan, Track, Want};
use mechanics::random::normals;
use mechanics::{Ended, LANES, State, follow};
use rayon::prelude::*;

/// Machines of one block: few enough that their dimensions stay near the processor, and memory small whatever is asked for.
const BLOCK: usize = 1 << 13;
/// Most machines that are followed one after the other where a pose cannot be planned.
const MOST_FOLLOWED: usize = 20_000;

/// Most machines of one block that may stray too far for the plan.
const MOST_MISSED: usize = 1000;

/// Machines to make.
#[derive(Clone, Copy, Debug)]
pub(super) enum Make<'a> {
    /// So many at random, from this seed; somebody watches.
    Random(usize, u64, &'a Watch),
    /// The same machines with other tolerances of the dimensions.
    To {
        count: usize,
        seed: u64,
        tolerances: &'a [f64],
        watch: &'a Watch,
    },
    /// Given departures of every dimension, one list a machine, in shares of its tolerance.
    Given(&'a [Vec<f64>]),
}

/// One pose in which machines are solved.
struct Station {
    here: Here,
    measures: Vec<Measure>,
    batch: Option<Batch>,
}

/// Weight of a leaf, and station and measure of each of its poses.
type Leg = (f64, Vec<(usize, usize)>);

/// Everything that is solved for every machine.
pub(super) struct Machines<'m> {
    mechanism: &'m Mechanism,
    varied: Vec<(ParamId, f64)>,
    stations: Vec<Station>,
    probes: Vec<Vec<Leg>>,
}

/// Departures of a block of machines: for each round of lanes one row a dimension.
struct Block {
    count: usize,
    dims: usize,
    rows: Vec<[f64; LANES]>,
}

impl Block {
    /// One dimension of one machine.
    fn of(&self, machine: usize, dim: usize) -> f64 {
        let row = self.rows.get(machine / LANES * self.dims + dim);
        row.map_or(0.0, |row| row[machine % LANES])
    }
}

impl<'m> Machines<'m> {
    pub(super) fn new(
        mechanism: &'m Mechanism,
        stations: &Stations,
        probes: &[&Probe],
        varied: Vec<(ParamId, f64)>,
    ) -> Self {
        let mut wants: Vec<Vec<Measure>> = vec![Vec::new(); stations.all.len()];
        let mut slot = |station: usize, measure: &Measure| {
            let list = &mut wants[station];
            let at = list.iter().position(|m| m == measure).unwrap_or_else(|| {
                list.push(*measure);
                list.len() - 1
            });
            (station, at)
        };
        let mut leg = |(weight, leaf): &(f64, Leaf)| match leaf {
            Leaf::Plain(s, m) => (*weight, vec![slot(*s, m)]),
            Leaf::Vertex(s, m) => (*weight, s.iter().map(|s| slot(*s, m)).collect()),
        };
        let probes = probes
            .iter()
            .map(|p| p.leaves.iter().map(&mut leg).collect())
            .collect();
        let params: Vec<ParamId> = varied.iter().map(|v| v.0).collect();
        let ready = |(here, measures): (&Here, Vec<Measure>)| {
            let wants: Vec<Want> = measures.iter().map(|m| Want::Measure(*m)).collect();
            let plan = Plan::new(mechanism, &here.params, &here.poses).ok();
            let batch = plan.and_then(|p| p.batch(&here.params, &params, &wants, &here.poses).ok());
            Station {
                here: here.clone(),
                measures,
                batch,
            }
        };
        let stations = stations.all.iter().zip(wants).map(ready).collect();
        Self {
            mechanism,
            varied,
            stations,
            probes,
        }
    }

    /// Values of some probes on all machines, one list a probe; NaN where a machine does not go together. None when there are more
    /// machines than can be solved without a plan, too many stray too far for it, or it was stopped.
    pub(super) fn values(&self, probes: &[usize], make: Make<'_>) -> Option<Vec<Vec<f64>>> {
        let count = match make {
            Make::Random(n, ..) | Make::To { count: n, .. } => n,
            Make::Given(g) => g.len(),
        };
        let used = self.used(probes);
        if count > MOST_FOLLOWED && used.iter().any(|&s| self.stations[s].batch.is_none()) {
            return None;
        }
        let mut all: Vec<Vec<f64>> = probes.iter().map(|_| Vec::with_capacity(count)).collect();
        let mut measured: Vec<Vec<Vec<f64>>> = self
            .stations
            .iter()
            .map(|s| vec![Vec::new(); s.measures.len()])
            .collect();
        let mut track = Track::new();
        for first in (0..count).step_by(BLOCK) {
            let goes_on = match make {
                Make::Random(_, _, watch) => watch.goes_on(first),
                Make::To { watch, .. } => !watch.is_stopped(),
                Make::Given(_) => true,
            };
            if !goes_on {
                return None;
            }
            let block = self.block(first, BLOCK.min(count - first), make);
            for &s in &used {
                self.measure(&self.stations[s], &block, &mut track, &mut measured[s])?;
            }
            for (all, probe) in all.iter_mut().zip(probes) {
                let legs = self.probes.get(*probe).map_or(&[][..], Vec::as_slice);
                all.par_extend(
                    (0..block.count)
                        .into_par_iter()
                        .map(|machine| value(&measured, legs, machine)),
                );
            }
        }
        Some(all)
    }

    /// Stations of these probes.
    fn used(&self, probes: &[usize]) -> Vec<usize> {
        let used = |station: usize| {
            let legs = probes.iter().filter_map(|p| self.probes.get(*p)).flatten();
            legs.flat_map(|leg| &leg.1).any(|at| at.0 == station)
        };
        (0..self.stations.len()).filter(|&s| used(s)).collect()
    }

    /// Whether plans solve all these probes: many machines at a time.
    pub(super) fn planned(&self, probes: &[usize]) -> bool {
        let used = self.used(probes);
        used.iter().all(|&s| self.stations[s].batch.is_some())
    }

    /// Departures of machines `first` and on.
    fn block(&self, first: usize, count: usize, make: Make<'_>) -> Block {
        let dims = self.varied.len();
        let mut rows = vec![[0.0; LANES]; count.div_ceil(LANES) * dims];
        rows.par_chunks_mut(dims.max(1))
            .enumerate()
            .for_each(|(round, columns)| {
                let start = first + round * LANES;
                let drawn = |columns: &mut [[f64; LANES]], seed, own: &dyn Fn(usize) -> f64| {
                    normals(seed, start as u64, columns);
                    for (k, column) in columns.iter_mut().enumerate() {
                        // A tolerance is three sigma.
                        let sigma = own(k) / 3.0;
                        column.iter_mut().for_each(|x| *x *= sigma);
                    }
                };
                match make {
                    Make::Random(_, seed, _) => drawn(columns, seed, &|k| self.varied[k].1),
                    Make::To {
                        seed, tolerances, ..
                    } => drawn(columns, seed, &|k| tolerances[k]),
                    Make::Given(given) => {
                        for (k, (column, (_, t))) in
                            columns.iter_mut().zip(&self.varied).enumerate()
                        {
                            for (lane, x) in column.iter_mut().enumerate() {
                                let share = given.get(start + lane).and_then(|g| g.get(k));
                                *x = t * share.copied().unwrap_or(0.0);
                            }
                        }
                    }
                }
            });
        Block { count, dims, rows }
    }

    /// All measures of one station, `out[measure][machine]`. None when too many of them stray too far for the plan: to follow each by itself would take for ever.
    fn measure(
        &self,
        station: &Station,
        block: &Block,
        track: &mut Track,
        out: &mut [Vec<f64>],
    ) -> Option<()> {
        out.iter_mut()
            .for_each(|column| column.resize(block.count, f64::NAN));
        let missed: Vec<usize> = if let Some(batch) = &station.batch {
            let middle: Vec<f64> = self
                .varied
                .iter()
                .map(|(p, _)| station.here.params[*p])
                .collect();
            let fill = |first: usize, columns: &mut [[f64; LANES]]| {
                let rows = block.rows.iter().skip(first / LANES * block.dims);
                for ((column, row), middle) in columns.iter_mut().zip(rows).zip(&middle) {
                    column
                        .iter_mut()
                        .zip(row)
                        .for_each(|(x, d)| *x = middle + d);
                }
            };
            batch.run(block.count, fill, track);
            for (column, out) in out.iter_mut().enumerate() {
                out.par_iter_mut()
                    .enumerate()
                    .for_each(|(machine, v)| *v = track.value(machine, column));
            }
            if track.missed().len() > MOST_MISSED {
                return None;
            }
            track.missed().to_vec()
        } else {
            (0..block.count).collect()
        };
        let followed: Vec<Option<Vec<f64>>> = missed
            .par_iter()
            .map(|&machine| self.follow(station, block, machine))
            .collect();
        for (machine, values) in missed.iter().zip(followed) {
            for (k, column) in out.iter_mut().enumerate() {
                column[*machine] = values.as_ref().map_or(f64::NAN, |v| v[k]);
            }
        }
        Some(())
    }

    /// One machine by itself, followed from the drawn one; none when it does not get there.
    fn follow(&self, station: &Station, block: &Block, machine: usize) -> Option<Vec<f64>> {
        let mut params = station.here.params.clone();
        for (dim, (param, _)) in self.varied.iter().enumerate() {
            params[*param] += block.of(machine, dim);
        }
        let start = State {
            params: station.here.params.clone(),
            poses: station.here.poses.clone(),
        };
        let followed = follow(self.mechanism, &start, &params);
        let poses = (followed.ended == Ended::Reached).then_some(followed.state.poses)?;
        Some(
            station
                .measures
                .iter()
                .map(|m| self.mechanism.measure(&params, &poses, m))
                .collect(),
        )
    }
}

fn value(measured: &[Vec<Vec<f64>>], legs: &[Leg], machine: usize) -> f64 {
    let get = |&(station, measure): &(usize, usize)| measured[station][measure][machine];
    let leg = |(weight, at): &Leg| {
        weight
            * match at.as_slice() {
                [a, b, c] => vertex(get(a), get(b), get(c)),
                other => other.iter().map(get).sum(),
            }
    };
    legs.iter().map(leg).sum()
}

/// Top or bottom of the parabola through three values at even distances.
fn vertex(a: f64, b: f64, c: f64) -> f64 {
    let (slope, bend) = (0.5 * (c - a), a - 2.0 * b + c);
    if bend == 0.0 {
        b
    } else {
        b - 0.5 * slope * slope / bend
    }
}
