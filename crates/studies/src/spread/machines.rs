//! Made machines: many side by side by plans, all poses of a machine at once, and one after the other by following where a plan misses.

use super::Watch;
use super::probe::{Leaf, Probe, Stations};
use crate::run::Here;
use mechanics::model::{Measure, Mechanism, ParamId, Pose};
use mechanics::plan::{Batch, CHUNK, Plan, Stand, Want};
use mechanics::random::some_normals;
use mechanics::{Ended, LANES, State, follow};
use nalgebra::DMatrix;
use rayon::prelude::*;
use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Machines between two looks at whether to go on.
const STRIDE: usize = CHUNK << 6;
/// Most machines that are followed one after the other, where a pose cannot be planned or they stray too far for the plan: more would
/// take for ever.
const MOST_FOLLOWED: usize = 20_000;

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
    plan: Option<Plan>,
}

/// How the numbers of a leg make its value.
#[derive(Clone, Copy, Debug)]
enum Joined {
    /// Their sum.
    Sum,
    /// The vertex of the parabola through three.
    Vertex,
    /// The first three where the last three come to this.
    Where(f64),
}

/// Weight of a leaf, how its numbers are joined, and station and measure of each.
type Leg = (f64, Joined, Vec<(usize, Measure)>);

/// The same, ready: numbers in the order in which they are solved.
type Numbered = (f64, Joined, Vec<usize>);

/// Everything that is solved for every machine.
pub(super) struct Machines<'m> {
    mechanism: &'m Mechanism,
    varied: Vec<(ParamId, f64)>,
    /// One row a dimension: what independent normal numbers do to it. None where each varies by itself.
    tied: Option<DMatrix<f64>>,
    stations: Vec<Station>,
    probes: Vec<Vec<Leg>>,
    /// What is ready to solve some probes.
    ready: Mutex<HashMap<Vec<usize>, Arc<Ready>>>,
}

/// Some probes made ready.
struct Ready {
    /// Stations in use, and their measures; those with a plan first.
    wanted: Vec<(usize, Vec<Measure>)>,
    /// For the stations with a plan; none when there are none.
    batch: Option<Batch>,
    /// Numbers that the batch gives.
    planned: usize,
    /// For each probe weights, and numbers of each of its legs' poses.
    legs: Vec<Vec<Numbered>>,
}

impl<'m> Machines<'m> {
    pub(super) fn new(
        mechanism: &'m Mechanism,
        stations: &Stations,
        probes: &[&Probe],
        varied: Vec<(ParamId, f64)>,
    ) -> Self {
        let leg = |(weight, leaf): &(f64, Leaf)| match leaf {
            Leaf::Plain(s, m) => (*weight, Joined::Sum, vec![(*s, *m)]),
            Leaf::Vertex(s, m) => {
                let all = s.iter().map(|s| (*s, *m)).collect();
                (*weight, Joined::Vertex, all)
            }
            Leaf::Stopped(s, m, reads, allows) => {
                let of = |m: &Measure| s.map(|s| (s, *m));
                let all = [of(m), of(reads)].concat();
                (*weight, Joined::Where(*allows), all)
            }
        };
        let probes = probes
            .iter()
            .map(|p| p.leaves.iter().map(leg).collect())
            .collect();
        let station = |here: &Here| Station {
            here: here.clone(),
            plan: Plan::new(mechanism, &here.params, &here.poses).ok(),
        };
        Self {
            mechanism,
            varied,
            tied: None,
            stations: stations.all.iter().map(station).collect(),
            probes,
            ready: Mutex::default(),
        }
    }

    /// Lets the dimensions vary together: one row of the root of their covariance each, and the sign of its parameter.
    pub(super) fn tie(&mut self, root: &DMatrix<f64>, signs: &[f64]) {
        let mut root = root.clone();
        for (mut row, sign) in root.row_iter_mut().zip(signs) {
            row *= *sign;
        }
        self.tied = Some(root);
    }

    /// Makes some probes ready, once.
    fn ready(&self, probes: &[usize]) -> Arc<Ready> {
        let mut all = self.ready.lock().unwrap_or_else(PoisonError::into_inner);
        let made = all
            .entry(probes.to_vec())
            .or_insert_with(|| Arc::new(self.make_ready(probes)));
        Arc::clone(made)
    }

    fn make_ready(&self, probes: &[usize]) -> Ready {
        let legs = || {
            probes
                .iter()
                .map(|p| self.probes.get(*p).map_or(&[][..], Vec::as_slice))
        };
        let mut wanted: Vec<(usize, Vec<Measure>)> = Vec::new();
        for (station, measure) in legs().flatten().flat_map(|leg| &leg.2) {
            let at = wanted
                .iter()
                .position(|w| w.0 == *station)
                .unwrap_or_else(|| {
                    wanted.push((*station, Vec::new()));
                    wanted.len() - 1
                });
            if !wanted[at].1.contains(measure) {
                wanted[at].1.push(*measure);
            }
        }
        // A stable order: neighbours have most in common.
        wanted.sort_by_key(|w| (self.stations[w.0].plan.is_none(), w.0));
        let wants: Vec<Vec<Want>> = wanted
            .iter()
            .map(|(_, measures)| measures.iter().map(|m| Want::Measure(*m)).collect())
            .collect();
        let stands: Vec<Stand<'_>> = wanted
            .iter()
            .zip(&wants)
            .filter_map(|((station, _), wants)| {
                let station = &self.stations[*station];
                Some(Stand {
                    plan: station.plan.as_ref()?,
                    base: &station.here.params,
                    poses: &station.here.poses,
                    wants,
                })
            })
            .collect();
        let varied: Vec<ParamId> = self.varied.iter().map(|v| v.0).collect();
        let batch = if stands.is_empty() {
            None
        } else {
            Batch::of(&stands, &varied).ok()
        };
        let number = |station: usize, measure: &Measure| {
            let mut before = 0;
            for (s, measures) in &wanted {
                if *s == station {
                    return before + measures.iter().position(|m| m == measure).unwrap_or(0);
                }
                before += measures.len();
            }
            before
        };
        let numbered = |leg: &Leg| {
            let at = leg.2.iter().map(|(s, m)| number(*s, m)).collect();
            (leg.0, leg.1, at)
        };
        Ready {
            legs: legs().map(|l| l.iter().map(numbered).collect()).collect(),
            planned: batch.as_ref().map_or(0, Batch::columns),
            batch,
            wanted,
        }
    }

    /// Whether plans solve all these probes: many machines at a time.
    pub(super) fn planned(&self, probes: &[usize]) -> bool {
        let ready = self.ready(probes);
        let all: usize = ready.wanted.iter().map(|w| w.1.len()).sum();
        ready.planned == all
    }

    /// Values of some probes on all machines, one list a probe; NaN where a machine does not go together. None when there are more
    /// machines than can be solved without a plan, too many stray too far for it, or it was stopped.
    pub(super) fn values(&self, probes: &[usize], make: Make<'_>) -> Option<Vec<Vec<f64>>> {
        let count = match make {
            Make::Random(n, ..) | Make::To { count: n, .. } => n,
            Make::Given(g) => g.len(),
        };
        let ready = self.ready(probes);
        let all = self.planned(probes);
        if count > MOST_FOLLOWED && !all {
            return None;
        }
        // What the batch gives: the probes themselves, or numbers that others come to.
        let lone: Vec<Vec<Numbered>>;
        let legs = if all {
            &ready.legs
        } else {
            lone = (0..ready.planned)
                .map(|i| vec![(1.0, Joined::Sum, vec![i])])
                .collect();
            &lone
        };
        let mut out: Vec<Vec<f64>> = legs.iter().map(|_| vec![f64::NAN; count]).collect();
        let mut missed = Vec::new();
        for first in (0..count).step_by(STRIDE) {
            let goes_on = match make {
                Make::Random(_, _, watch) => watch.goes_on(first),
                Make::To { watch, .. } => !watch.is_stopped(),
                Make::Given(_) => true,
            };
            if !goes_on {
                return None;
            }
            let Some(batch) = &ready.batch else { break };
            let here = STRIDE.min(count - first);
            let mut parts: Vec<Vec<&mut [f64]>> = (0..here.div_ceil(CHUNK))
                .map(|_| Vec::with_capacity(out.len()))
                .collect();
            for column in &mut out {
                let own = column[first..first + here].chunks_mut(CHUNK);
                parts.iter_mut().zip(own).for_each(|(p, c)| p.push(c));
            }
            let lost = batch.each(
                here,
                parts,
                |round, columns| self.fill(first + round, make, columns, batch.reads()),
                |part, at, numbers| {
                    for (column, legs) in part.iter_mut().zip(legs) {
                        let values = valued(legs, |number| &numbers[number]);
                        let own = &mut column[at..];
                        let here = own.len().min(LANES);
                        own[..here].copy_from_slice(&values[..here]);
                    }
                },
            );
            missed.extend(lost.iter().map(|m| first + m));
            if missed.len() > MOST_FOLLOWED {
                return None;
            }
        }
        if all {
            let followed: Vec<(usize, Vec<f64>)> = missed
                .par_iter()
                .map(|&m| (m, self.followed(&ready, m, make, None)))
                .collect();
            for (machine, values) in followed {
                out.iter_mut().zip(values).for_each(|(o, v)| o[machine] = v);
            }
            return Some(out);
        }
        let each = |machine: usize| {
            let known: Vec<f64> = out.iter().map(|o| o[machine]).collect();
            self.followed(&ready, machine, make, Some(&known))
        };
        let rows: Vec<Vec<f64>> = (0..count).into_par_iter().map(each).collect();
        let probe = |p: usize| rows.iter().map(|r| r[p]).collect();
        Some((0..probes.len()).map(probe).collect())
    }

    /// Departures of the machines `first` to `first + 31`, of the dimensions that are wanted.
    fn fill(&self, first: usize, make: Make<'_>, columns: &mut [[f64; LANES]], wanted: &[bool]) {
        let drawn = |columns: &mut [[f64; LANES]], seed, own: &dyn Fn(usize) -> f64| {
            some_normals(seed, first as u64, columns, wanted);
            for (k, column) in columns.iter_mut().enumerate() {
                // A tolerance is three sigma.
                let sigma = own(k) / 3.0;
                column.iter_mut().for_each(|x| *x *= sigma);
            }
        };
        match (make, &self.tied) {
            (Make::Random(_, seed, _), Some(root)) => {
                let mut free = vec![[0.0; LANES]; columns.len()];
                some_normals(seed, first as u64, &mut free, &[]);
                for (k, column) in columns.iter_mut().enumerate() {
                    *column = [0.0; LANES];
                    for (by, own) in root.row(k).iter().zip(&free) {
                        for (x, z) in column.iter_mut().zip(own) {
                            *x += by * z;
                        }
                    }
                }
            }
            (Make::Random(_, seed, _), None) => drawn(columns, seed, &|k| self.varied[k].1),
            (
                Make::To {
                    seed, tolerances, ..
                },
                _,
            ) => drawn(columns, seed, &|k| tolerances[k]),
            (Make::Given(given), _) => {
                for (k, (column, (_, t))) in columns.iter_mut().zip(&self.varied).enumerate() {
                    for (lane, x) in column.iter_mut().enumerate() {
                        let share = given.get(first + lane).and_then(|g| g.get(k));
                        *x = t * share.copied().unwrap_or(0.0);
                    }
                }
            }
        }
    }

    /// All probes of one machine by itself, followed from the drawn one; of `known` the numbers of stations with a plan are taken where
    /// they are good.
    fn followed(
        &self,
        ready: &Ready,
        machine: usize,
        make: Make<'_>,
        known: Option<&[f64]>,
    ) -> Vec<f64> {
        let mut columns = vec![[0.0; LANES]; self.varied.len()];
        let lane = machine % LANES;
        self.fill(machine - lane, make, &mut columns, &[]);
        let mut numbers: Vec<f64> = Vec::new();
        for (station, measures) in &ready.wanted {
            let own = numbers.len()..numbers.len() + measures.len();
            let good = known
                .and_then(|k| k.get(own))
                .filter(|k| k.iter().all(|v| !v.is_nan()));
            if let Some(good) = good {
                numbers.extend(good);
                continue;
            }
            let station = &self.stations[*station];
            let mut params = station.here.params.clone();
            for ((param, _), column) in self.varied.iter().zip(&columns) {
                params[*param] += column[lane];
            }
            let poses = self.follow(station, &params);
            numbers.extend(measures.iter().map(|m| {
                poses
                    .as_ref()
                    .map_or(f64::NAN, |p| self.mechanism.measure(&params, p, m))
            }));
        }
        let spread: Vec<[f64; LANES]> = numbers.iter().map(|n| [*n; LANES]).collect();
        let one = |legs: &Vec<Numbered>| valued(legs, |n| &spread[n])[0];
        ready.legs.iter().map(one).collect()
    }

    /// None when it does not get there.
    fn follow(&self, station: &Station, params: &[f64]) -> Option<Vec<Pose>> {
        let start = State {
            params: station.here.params.clone(),
            poses: station.here.poses.clone(),
        };
        let followed = follow(self.mechanism, &start, params);
        (followed.ended == Ended::Reached).then_some(followed.state.poses)
    }
}

/// Values of a probe in all lanes.
#[inline(always)]
fn valued<'a>(legs: &[Numbered], number: impl Fn(usize) -> &'a [f64; LANES]) -> [f64; LANES] {
    let mut sum = [0.0; LANES];
    for (weight, joined, at) in legs {
        match (joined, at.as_slice()) {
            (Joined::Vertex, [a, b, c]) => {
                let (a, b, c) = (number(*a), number(*b), number(*c));
                for lane in 0..LANES {
                    sum[lane] += weight * vertex(a[lane], b[lane], c[lane]);
                }
            }
            (Joined::Where(allows), [a, b, c, d, e, f]) => {
                let values = [a, b, c].map(|n| number(*n));
                let reads = [d, e, f].map(|n| number(*n));
                for lane in 0..LANES {
                    let place = place(reads.map(|n| n[lane]), *allows);
                    sum[lane] += weight * parabola(values.map(|n| n[lane]), place);
                }
            }
            (_, other) => {
                for n in other {
                    let own = number(*n);
                    for lane in 0..LANES {
                        sum[lane] += weight * own[lane];
                    }
                }
            }
        }
    }
    sum
}

/// Top or bottom of the parabola through three values at even distances.
#[inline(always)]
fn vertex(a: f64, b: f64, c: f64) -> f64 {
    let (slope, bend) = (0.5 * (c - a), a - 2.0 * b + c);
    let off = 0.5 * slope * slope / bend;
    if bend == 0.0 { b } else { b - off }
}

/// Where the parabola through three values at -1, 0 and 1 comes to a value, on the side that it rises or falls as in the middle; NaN where it
/// never does.
#[inline(always)]
fn place([a, b, c]: [f64; 3], to: f64) -> f64 {
    let (slope, bend) = (0.5 * (c - a), a - 2.0 * b + c);
    let left = to - b;
    let root = (slope * slope + 2.0 * bend * left).sqrt();
    if left == 0.0 {
        0.0
    } else {
        2.0 * left / (slope + root.copysign(slope))
    }
}

/// The parabola through three values at -1, 0 and 1.
#[inline(always)]
fn parabola([a, b, c]: [f64; 3], at: f64) -> f64 {
    b + at * (0.5 * (c - a) + 0.5 * at * (a - 2.0 * b + c))
}
