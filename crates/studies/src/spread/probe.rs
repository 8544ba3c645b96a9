//! Values taken from made machines: a sum of measures at some poses, each solved for all machines side by side.
//!
//! A reading over another drive is taken where it is least or greatest on each machine. That place moves a little from machine to
//! machine; so the measure is taken at three places of the drive around the nominal one, and the vertex of the parabola through them is
//! the value. Where the range, a stop or a slot end cuts the path, the value there is taken as it is.

use crate::assemble::{Gauge, Model};
use crate::run::{Bench, Here};
use machine::model::Take;
use mechanics::model::{Measure, ParamId, Pose};
use mechanics::plan::{Plan, Track, Want};
use mechanics::random::normals;

/// Half the distance of the three places around an extreme, rad or share of the size.
const BESIDE: f64 = 0.02;

/// One measure at one pose, or its extreme around it.
#[derive(Clone, Debug)]
enum Leaf {
    Plain(usize, Measure),
    /// Stations of the three poses, middle one second.
    Vertex([usize; 3], Measure),
}

/// A value of a made machine: weighted leaves.
#[derive(Clone, Debug, Default)]
pub(crate) struct Probe {
    leaves: Vec<(f64, Leaf)>,
}

/// Poses at which made machines are looked at.
#[derive(Debug, Default)]
pub(crate) struct Stations {
    all: Vec<Here>,
}

impl Stations {
    fn at(&mut self, here: &Here) -> usize {
        if let Some(i) = self.all.iter().position(|h| h.params == here.params) {
            return i;
        }
        self.all.push(here.clone());
        self.all.len() - 1
    }

    /// The value of readings at poses, with weights; `None` when a part of it cannot be taken.
    pub(crate) fn probe(
        &mut self,
        bench: &mut Bench<'_>,
        reading: usize,
        terms: &[(f64, Here)],
    ) -> Option<Probe> {
        let mut probe = Probe::default();
        for (weight, here) in terms {
            self.add(bench, reading, here, *weight, &mut probe)?;
        }
        Some(probe)
    }

    fn add(
        &mut self,
        bench: &mut Bench<'_>,
        reading: usize,
        here: &Here,
        weight: f64,
        probe: &mut Probe,
    ) -> Option<()> {
        match bench.model.gauges.get(reading)?.clone() {
            Gauge::Pose(measure) => probe
                .leaves
                .push((weight, Leaf::Plain(self.at(here), measure))),
            Gauge::Over {
                reading: inner,
                drive,
                take,
            } => {
                let ends: &[(bool, f64)] = match take {
                    Take::Least => &[(false, 1.0)],
                    Take::Greatest => &[(true, 1.0)],
                    Take::Swing => &[(true, 1.0), (false, -1.0)],
                };
                for &(greatest, sign) in ends {
                    let extreme = bench.extreme(inner, here, drive, greatest)?;
                    let Gauge::Pose(measure) = bench.model.gauges.get(inner)?.clone() else {
                        // An extreme of an extreme: taken where it is on the nominal machine.
                        self.add(bench, inner, &extreme.here, weight * sign, probe)?;
                        continue;
                    };
                    let step = if crate::run::turns(bench.model, drive) {
                        BESIDE
                    } else {
                        BESIDE * bench.model.mechanism.size(&here.params)
                    };
                    let beside = |bench: &mut Bench<'_>, by: f64| {
                        bench.advance(&extreme.here, drive, extreme.at + by).ok()
                    };
                    let sides = match extreme.limit {
                        Some(_) => None,
                        None => beside(bench, -step).zip(beside(bench, step)),
                    };
                    let leaf = match sides {
                        Some((low, high)) => Leaf::Vertex(
                            [self.at(&low), self.at(&extreme.here), self.at(&high)],
                            measure,
                        ),
                        None => Leaf::Plain(self.at(&extreme.here), measure),
                    };
                    probe.leaves.push((weight * sign, leaf));
                }
            }
        }
        Some(())
    }
}

/// Machines to make.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Batch<'a> {
    /// So many at random, from this seed.
    Random(usize, u64),
    /// Given departures of every dimension, one list a machine, in shares of its tolerance.
    Given(&'a [Vec<f64>]),
}

/// Values of all probes on all machines, one list a probe. NaN where a machine does not go together.
pub(crate) fn values(
    model: &Model,
    stations: &Stations,
    probes: &[Probe],
    varied: &[(ParamId, f64)],
    batch: Batch<'_>,
) -> Option<Vec<Vec<f64>>> {
    let count = match batch {
        Batch::Random(n, _) => n,
        Batch::Given(g) => g.len(),
    };
    let params: Vec<ParamId> = varied.iter().map(|v| v.0).collect();
    // Per station the wants in the order in which the leaves ask for them.
    let mut wants: Vec<Vec<Measure>> = vec![Vec::new(); stations.all.len()];
    let mut slot = |station: usize, measure: &Measure| {
        let list = &mut wants[station];
        list.iter().position(|m| m == measure).unwrap_or_else(|| {
            list.push(*measure);
            list.len() - 1
        })
    };
    let places: Vec<Vec<(f64, Vec<(usize, usize)>)>> = probes
        .iter()
        .map(|p| {
            let leaf = |(w, leaf): &(f64, Leaf)| match leaf {
                Leaf::Plain(s, m) => (*w, vec![(*s, slot(*s, m))]),
                Leaf::Vertex(s, m) => (*w, s.iter().map(|s| (*s, slot(*s, m))).collect()),
            };
            p.leaves.iter().map(leaf).collect()
        })
        .collect();
    let mut tracks = Vec::with_capacity(stations.all.len());
    for (here, wants) in stations.all.iter().zip(&wants) {
        tracks.push(solve(model, here, wants, varied, &params, count, batch)?);
    }
    let value = |machine: usize, legs: &[(f64, Vec<(usize, usize)>)]| -> f64 {
        legs.iter()
            .map(|(weight, at)| {
                let get =
                    |(station, column): &(usize, usize)| tracks[*station].value(machine, *column);
                weight
                    * match at.as_slice() {
                        [a, b, c] => vertex(get(a), get(b), get(c)),
                        other => other.iter().map(get).sum(),
                    }
            })
            .sum()
    };
    Some(
        places
            .iter()
            .map(|legs| (0..count).map(|machine| value(machine, legs)).collect())
            .collect(),
    )
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

fn solve(
    model: &Model,
    here: &Here,
    wants: &[Measure],
    varied: &[(ParamId, f64)],
    params: &[ParamId],
    count: usize,
    batch: Batch<'_>,
) -> Option<Track> {
    let poses: &[Pose] = &here.poses;
    let plan = Plan::new(&model.mechanism, &here.params, poses).ok()?;
    let wants: Vec<Want> = wants.iter().map(|m| Want::Measure(*m)).collect();
    let ready = plan.batch(&here.params, params, &wants, poses).ok()?;
    let mut track = Track::new();
    let nominal: Vec<(f64, f64)> = varied
        .iter()
        .map(|(p, t)| (here.params.get(*p).copied().unwrap_or(0.0), *t))
        .collect();
    match batch {
        Batch::Random(_, seed) => ready.run(
            count,
            |first, columns| {
                normals(seed, first as u64, columns);
                for (column, (middle, t)) in columns.iter_mut().zip(&nominal) {
                    // A tolerance is three sigma.
                    let sigma = t / 3.0;
                    column.iter_mut().for_each(|x| *x = middle + sigma * *x);
                }
            },
            &mut track,
        ),
        Batch::Given(given) => ready.run(
            count,
            |first, columns| {
                for (k, (column, (middle, t))) in columns.iter_mut().zip(&nominal).enumerate() {
                    for (lane, x) in column.iter_mut().enumerate() {
                        let share = given
                            .get(first + lane)
                            .and_then(|g| g.get(k))
                            .copied()
                            .unwrap_or(0.0);
                        *x = middle + t * share;
                    }
                }
            },
            &mut track,
        ),
    }
    Some(track)
}
