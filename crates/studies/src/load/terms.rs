//! A reading as a sum of plain measures in single poses: those over a drive are taken where they are least or greatest.

use crate::assemble::Gauge;
use crate::run::{Bench, Here};
use machine::model::Take;
use mechanics::model::Measure;

/// One measure in one pose, with its weight in the reading.
#[derive(Clone, Debug)]
pub(crate) struct Term {
    pub(crate) weight: f64,
    pub(crate) here: Here,
    pub(crate) measure: Measure,
    /// Drives over which it is taken.
    pub(crate) over: Vec<usize>,
    /// It is taken where a stop or slot end cuts the way; that end moves with the dimensions too.
    pub(crate) cut: bool,
}

/// The terms of a reading here; none where it cannot be taken.
pub(crate) fn terms(bench: &mut Bench<'_>, reading: usize, here: &Here) -> Option<Vec<Term>> {
    match bench.model.gauges.get(reading)?.clone() {
        Gauge::Pose(measure) => Some(vec![Term {
            weight: 1.0,
            here: here.clone(),
            measure,
            over: Vec::new(),
            cut: here.ended.is_some(),
        }]),
        Gauge::Over {
            reading: inner,
            drive,
            take,
        } => {
            let mut end = |greatest: bool, weight: f64| -> Option<Vec<Term>> {
                let extreme = bench.extreme(inner, here, drive, greatest)?;
                let mut terms = terms(bench, inner, &extreme.here)?;
                for term in &mut terms {
                    term.weight *= weight;
                    term.over.push(drive);
                }
                Some(terms)
            };
            match take {
                Take::Least => end(false, 1.0),
                Take::Greatest => end(true, 1.0),
                Take::Swing => {
                    let mut both = end(true, 1.0)?;
                    both.extend(end(false, -1.0)?);
                    Some(both)
                }
            }
        }
    }
}

/// Where a reading over a drive is taken: the drive's value in the first of its terms.
pub(crate) fn taken_at(terms: &[Term]) -> Option<f64> {
    let first = terms.first()?;
    let drive = first.over.last()?;
    first.here.stand.drives.get(*drive).copied()
}
