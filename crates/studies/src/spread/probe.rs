//! Values taken from made machines: a sum of measures at some poses.
//!
//! A reading over another drive is taken where it is least or greatest on each machine. That place moves a little from machine to
//! machine; so the measure is taken at three places of the drive around the nominal one, and the vertex of the parabola through them is
//! the value. Where a stop or the end of a straight slot cuts the path, every machine runs on to its own end: what the stop reads is taken at
//! three places too, and the value is that of the drive at which it reads what the stop allows. Where the range or the end of an arc slot
//! cuts it, the drive stands where it stands on the nominal machine.

use crate::assemble::Gauge;
use crate::run::{Bench, Here};
use machine::model::Take;
use mechanics::model::Measure;

/// Half the distance of the three places around an extreme, rad or share of the size.
const BESIDE: f64 = 0.02;
/// The middle one is an even number of these parts of it, so that extremes at the same place have their poses in common.
const EVEN: f64 = 1e-3;

/// One measure at one pose, or its extreme around it.
#[derive(Clone, Debug)]
pub(super) enum Leaf {
    Plain(usize, Measure),
    /// Stations of the three poses, middle one second.
    Vertex([usize; 3], Measure),
    /// The same three, what the stop reads, and what it allows.
    Stopped([usize; 3], Measure, Measure, f64),
}

/// A value of a made machine: weighted leaves.
#[derive(Clone, Debug, Default)]
pub(crate) struct Probe {
    pub(super) leaves: Vec<(f64, Leaf)>,
}

/// Poses at which made machines are looked at.
#[derive(Debug, Default)]
pub(crate) struct Stations {
    pub(super) all: Vec<Here>,
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
            Gauge::Pose(measure) => {
                let stopped = here
                    .ended
                    .and_then(|e| self.stopped(bench, here, e, measure));
                let leaf = stopped.unwrap_or_else(|| Leaf::Plain(self.at(here), measure));
                probe.leaves.push((weight, leaf));
            }
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
                    let step = beside(bench, &extreme.here, drive);
                    let even = EVEN * step;
                    let middle = (extreme.at / even).round() * even;
                    let mut at = |places: f64| {
                        let to = middle + places * step;
                        bench.advance(&extreme.here, drive, to).ok()
                    };
                    let leaf = if let Some(ended) = extreme.here.ended {
                        self.stopped(bench, &extreme.here, ended, measure)
                    } else {
                        let places = at(-1.0).zip(at(0.0)).zip(at(1.0));
                        places.map(|((low, middle), high)| {
                            Leaf::Vertex([self.at(&low), self.at(&middle), self.at(&high)], measure)
                        })
                    };
                    let leaf = leaf.unwrap_or_else(|| Leaf::Plain(self.at(&extreme.here), measure));
                    probe.leaves.push((weight * sign, leaf));
                }
            }
        }
        Some(())
    }

    /// A measure where a stop ends the path; none where what the stop reads cannot be followed to both sides of it, nor short of it.
    fn stopped(
        &mut self,
        bench: &Bench<'_>,
        here: &Here,
        (drive, limit): (usize, usize),
        measure: Measure,
    ) -> Option<Leaf> {
        let model = bench.model;
        let reads = bench.limit_measure(limit)?;
        let ended = *here.stand.drives.get(drive)?;
        let allows = model.mechanism.measure(&here.params, &here.poses, &reads);
        let around = |middle: f64, step: f64| -> Option<[Here; 3]> {
            let places = [middle - step, middle, middle + step];
            // A stop ends what can be reached, not the path of the parts.
            let (low, high) = (places[0].min(ended), places[2].max(ended));
            let track = bench.between(here, drive, low, high)?;
            let at = |place: f64| {
                let sample = track.at(model, place)?;
                let mut there = here.clone();
                track.put(model, &sample, &mut there);
                Some(there)
            };
            let [Some(a), Some(b), Some(c)] = places.map(at) else {
                return None;
            };
            Some([a, b, c])
        };
        let step = beside(bench, here, drive);
        let tries = [(0.0, step), (-step, step), (step, step), (0.0, 0.1 * step)];
        let found = tries
            .into_iter()
            .find_map(|(off, step)| around(ended + off, step))?;
        let stations = found.each_ref().map(|h| self.at(h));
        Some(Leaf::Stopped(stations, measure, reads, allows))
    }
}

/// How far apart the places of a drive are at which a value is looked at.
fn beside(bench: &Bench<'_>, here: &Here, drive: usize) -> f64 {
    if crate::run::turns(bench.model, drive) {
        BESIDE
    } else {
        BESIDE * bench.model.mechanism.size(&here.params)
    }
}
