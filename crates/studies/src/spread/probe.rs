//! Values taken from made machines: a sum of measures at some poses.
//!
//! A reading over another drive is taken where it is least or greatest on each machine. That place moves a little from machine to
//! machine; so the measure is taken at three places of the drive around the nominal one, and the vertex of the parabola through them is
//! the value. Where the range, a stop or a slot end cuts the path, the value there is taken as it is.

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
                    let even = EVEN * step;
                    let middle = (extreme.at / even).round() * even;
                    let mut at = |places: f64| {
                        let to = middle + places * step;
                        bench.advance(&extreme.here, drive, to).ok()
                    };
                    let places = match extreme.limit {
                        Some(_) => None,
                        None => at(-1.0).zip(at(0.0)).zip(at(1.0)),
                    };
                    let leaf = match places {
                        Some(((low, middle), high)) => {
                            Leaf::Vertex([self.at(&low), self.at(&middle), self.at(&high)], measure)
                        }
                        None => Leaf::Plain(self.at(&extreme.here), measure),
                    };
                    probe.leaves.push((weight * sign, leaf));
                }
            }
        }
        Some(())
    }
}
