//! What to measure next: the measurement that would narrow the bands of the asks most.
//!
//! A measurement with derivatives a and variance s² takes (gᵀCa)² / (s² + aᵀCa) from the variance of anything with derivatives g: exact for
//! as long as derivatives do not change, which errors within tolerance hardly do.

use super::answers::{Narrowed, Next};
use super::built::Built;
use super::spans;
use crate::answers::Inside;
use crate::assemble::Dimension;
use crate::run::{Bench, places};
use crate::say;
use machine::logbook::Log;
use nalgebra::DVector;

/// Standard deviation of a caliper on a part, mm: ± 0.02 mm, 95 of 100 (common practice).
const CALIPER: f64 = 0.01;
/// Of an angle taken with a bevel protractor, rad: ± 5 minutes (common practice).
const PROTRACTOR: f64 = 5.0 / 60.0 * std::f64::consts::PI / 180.0 / 2.0;
/// Of a dial indicator, mm, where none was used yet: ± 0.01 mm (common practice).
const INDICATOR: f64 = 0.005;
/// Places of a drive that are looked at.
const PLACES: usize = 9;
/// Measurements told.
const TOLD: usize = 3;

/// A measurement that could be taken.
#[derive(Clone, Debug)]
pub(crate) struct Candidate {
    pub(crate) what: String,
    pub(crate) by: DVector<f64>,
    /// Standard deviation of the whole measurement.
    pub(crate) sd: f64,
    pub(crate) inside: Inside,
    /// Reading, drive and its two places; none for a dimension.
    pub(crate) places: Option<(usize, usize, [f64; 2])>,
}

/// Everything that could be measured: each reading at two places of each drive without touching the indicator, each dimension, and each
/// distance between two holes of a part.
pub(crate) fn candidates(built: &Built, log: &Log) -> Vec<Candidate> {
    let model = &built.model;
    let mut all = Vec::new();
    for (k, u) in built.unknowns.iter().enumerate() {
        let Some(d) = model.dimensions.get(u.dimension) else {
            continue;
        };
        if from_the_drawing(d) {
            continue;
        }
        let sd = if d.inside == Inside::Radian {
            PROTRACTOR
        } else {
            CALIPER
        };
        let mut by = DVector::zeros(built.unknowns.len());
        by[k] = u.scale;
        all.push(Candidate {
            what: format!("measure {}", d.name),
            by,
            sd,
            inside: d.inside,
            places: None,
        });
    }
    let params = model.params(&model.drawn());
    for span in spans::spans(model) {
        let by = span.by_unknown(&params, &built.unknowns);
        if by.iter().any(|b| *b != 0.0) {
            all.push(Candidate {
                what: format!("measure {}", span.name),
                by,
                sd: CALIPER,
                inside: Inside::Millimetre,
                places: None,
            });
        }
    }
    let mut bench = Bench::new(model);
    let Ok(here) = bench.bring(&built.stand) else {
        return all;
    };
    for drive in 0..model.machine.drives.len() {
        let Some((track, span)) = bench.span(&here, drive) else {
            continue;
        };
        if places(&track, &span).len() < 2 {
            continue;
        }
        let (low, high) = (span.low.at, span.high.at);
        let steps = if span.round { PLACES } else { PLACES - 1 };
        for reading in 0..model.machine.readings.len() {
            if !bench.depends(reading, drive) {
                continue;
            }
            let used = log
                .runs
                .iter()
                .rev()
                .find(|r| r.reading == reading)
                .map(|r| r.uncertainty / 2.0);
            let inside = model.reading(reading).inside;
            let sd = used.unwrap_or(if inside == Inside::Radian {
                PROTRACTOR
            } else {
                INDICATOR
            });
            let mut known: Vec<(f64, DVector<f64>)> = Vec::new();
            for i in 0..PLACES {
                let at = rounded(
                    low + (high - low) * i as f64 / steps as f64,
                    low,
                    high,
                    model.machine.drives[drive].unit,
                );
                let Ok(there) = bench.advance(&here, drive, at) else {
                    continue;
                };
                if let Some((_, by)) = built.reading(&mut bench, reading, &there)
                    && by.iter().all(|b| b.is_finite())
                {
                    known.push((at, by));
                }
            }
            let (q, d) = (model.reading(reading), model.drive(drive));
            for (i, a) in known.iter().enumerate() {
                for b in &known[i + 1..] {
                    all.push(Candidate {
                        what: format!(
                            "read {} at {} and, without touching the indicator, at {}",
                            q.name,
                            say::at(&d, a.0),
                            say::at(&d, b.0)
                        ),
                        by: &b.1 - &a.1,
                        sd: sd * 2.0_f64.sqrt(),
                        inside,
                        places: Some((reading, drive, [a.0, b.0])),
                    });
                }
            }
        }
    }
    all
}

/// A coordinate of the frame counts from the origin of the drawing, where there is nothing to measure from: distances between its holes are
/// measured instead.
fn from_the_drawing(d: &Dimension) -> bool {
    d.of == "frame" && [", right", ", up"].iter().any(|end| d.name.ends_with(end))
}

/// A place that a hand would choose: whole degrees or millimetres, inside the reach.
fn rounded(at: f64, low: f64, high: f64, unit: quantity::Unit) -> f64 {
    let whole = unit.to_inside(unit.from_inside(at).round());
    if whole >= low && whole <= high && (high - low) > 16.0 * unit.to_inside(1.0) {
        whole
    } else {
        at
    }
}

/// What is taken from the variance of something.
pub(crate) fn fall(built: &Built, of: &DVector<f64>, by: &Candidate) -> f64 {
    let c = &built.covariance * &by.by;
    let along = of.dot(&c);
    along * along / (by.sd * by.sd + by.by.dot(&c).max(0.0))
}

/// Something whose band is to be narrowed.
#[derive(Clone, Debug)]
pub(crate) struct Aim {
    pub(crate) name: String,
    /// Derivatives by the unknowns.
    pub(crate) by: DVector<f64>,
    /// How much it matters: near one when the band is as wide as what there is to spare, near nothing when there is plenty.
    pub(crate) weight: f64,
}

/// How much a band matters: as the share of chance that it lets the limit be passed.
pub(crate) fn weight(deviation: f64, margin: f64) -> f64 {
    let (v, m) = (deviation * deviation, margin * margin / 4.0);
    if v + m > 0.0 { v / (v + m) } else { 0.0 }
}

/// The best measurements for these aims, by the shares of their variances that go, each by its weight.
pub(crate) fn best(built: &Built, candidates: &[Candidate], aims: &[Aim]) -> Vec<Next> {
    let variances: Vec<f64> = aims
        .iter()
        .map(|a| built.deviation(&a.by).powi(2))
        .collect();
    let all: f64 = aims.iter().map(|a| a.weight).sum();
    if all.is_nan() || all <= 0.0 {
        return Vec::new();
    }
    let mut ranked: Vec<(f64, usize)> = candidates
        .iter()
        .enumerate()
        .map(|(n, c)| {
            let shares = aims
                .iter()
                .zip(&variances)
                .filter(|(_, v)| **v > 0.0)
                .map(|(a, v)| a.weight * fall(built, &a.by, c) / v);
            (shares.sum::<f64>() / all, n)
        })
        .filter(|r| r.0 > 0.05)
        .collect();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut told: Vec<Next> = Vec::new();
    let mut kinds: Vec<Option<(usize, usize)>> = Vec::new();
    for (gain, n) in ranked {
        let c = &candidates[n];
        // Of one reading over one drive the best pair of places is enough.
        let kind = c.places.map(|p| (p.0, p.1));
        if kind.is_some() && kinds.contains(&kind) {
            continue;
        }
        kinds.push(kind);
        let asks = aims.iter().zip(&variances).map(|(a, v)| Narrowed {
            ask: a.name.clone(),
            now: 2.0 * v.sqrt(),
            then: 2.0 * (v - fall(built, &a.by, c)).max(0.0).sqrt(),
        });
        told.push(Next {
            what: c.what.clone(),
            with: 2.0 * c.sd
                / if c.places.is_some() {
                    2.0_f64.sqrt()
                } else {
                    1.0
                },
            inside: c.inside,
            asks: asks.collect(),
            gain,
        });
        if told.len() >= TOLD {
            break;
        }
    }
    told
}
