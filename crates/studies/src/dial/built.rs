//! The machine as it most likely came out, with what is not known of it.

use super::system::{Unknown, by_unknown};
use crate::assemble::{Left, Model, Stand};
use crate::check::asks::{Verdict, weigh};
use crate::run::{Bench, Here};
use crate::sensitivity::by_param;
use nalgebra::{DMatrix, DVector};

/// The machine as built.
#[derive(Clone, Debug)]
pub struct Built {
    /// With the dimensions as fitted; drives and settings keep their meaning.
    pub model: Model,
    /// Settings as last logged, drives as drawn.
    pub stand: Stand,
    pub(crate) unknowns: Vec<Unknown>,
    /// Covariance of the unknowns in their scale.
    pub(crate) covariance: DMatrix<f64>,
    /// Readings that have drifted since: by how much, and its standard deviation.
    pub(crate) drift: Vec<(usize, f64, f64)>,
    /// Lost motion found: reading, drive, and how much more it reads coming from below.
    pub(crate) backlash: Vec<(usize, usize, f64)>,
}

/// The judged value of an ask on the machine as built.
pub(crate) struct BuiltVerdict {
    /// With what it has drifted by.
    pub(crate) verdict: Verdict,
    /// Its derivatives by the unknowns.
    pub(crate) by: DVector<f64>,
    /// Its standard deviation.
    pub(crate) sd: f64,
    pub(crate) drift: f64,
    /// Half the lost motion that was found: the value counts from the middle between coming from below and from above.
    pub(crate) half_lost: f64,
}

impl BuiltVerdict {
    /// Plus or minus, 95 of 100, whichever way the drive comes.
    pub(crate) fn plus_minus(&self) -> f64 {
        2.0 * self.sd + self.half_lost
    }
}

impl Built {
    /// Standard deviation of something with these derivatives by the unknowns.
    pub(crate) fn deviation(&self, by: &DVector<f64>) -> f64 {
        by.dot(&(&self.covariance * by)).max(0.0).sqrt()
    }

    /// Standard deviation before anything was measured, for a list of derivatives: the unknowns are counted in it.
    pub(crate) fn before(&self, by: &DVector<f64>) -> f64 {
        let known = self
            .unknowns
            .iter()
            .zip(by.iter())
            .filter(|(u, _)| u.toleranced);
        known.map(|(_, b)| b * b).sum::<f64>().sqrt()
    }

    /// What is still open about its dimensions.
    pub(crate) fn left(&self) -> Left {
        let scales =
            DVector::from_iterator(self.unknowns.len(), self.unknowns.iter().map(|u| u.scale));
        let scales = DMatrix::from_diagonal(&scales);
        let dimensions = self.unknowns.iter().map(|u| u.dimension).collect();
        Left::new(dimensions, &scales * &self.covariance * &scales)
    }

    /// A reading here, with its derivatives by the unknowns.
    pub(crate) fn reading(
        &self,
        bench: &mut Bench<'_>,
        reading: usize,
        here: &Here,
    ) -> Option<(f64, DVector<f64>)> {
        let found = by_param(bench, reading, here)?;
        Some((
            found.value,
            DVector::from_vec(by_unknown(&self.unknowns, &found.rates)),
        ))
    }

    /// What a reading has drifted by since it was fitted, and its standard deviation.
    pub(crate) fn drifted(&self, reading: usize) -> (f64, f64) {
        let found = self.drift.iter().find(|d| d.0 == reading);
        found.map_or((0.0, 0.0), |d| (d.1, d.2))
    }

    /// The judged value of an ask now.
    pub(crate) fn ask(
        &self,
        bench: &mut Bench<'_>,
        ask: usize,
        stand: &Stand,
    ) -> Option<BuiltVerdict> {
        let mut verdict = weigh(bench, ask, stand).ok()?;
        let by = self.of_verdict(bench, ask, &verdict)?;
        // A drift of the reading itself cancels where only its travel is judged.
        let whole: f64 = verdict.terms.iter().map(|t| t.0).sum();
        let reading = bench.model.machine.asks.get(ask)?.reading;
        let (off, sd) = self.drifted(reading);
        let drift = off * whole;
        // So does lost motion, where it is judged coming from one side.
        let lost = self.backlash.iter().filter(|l| l.0 == reading);
        let lost: f64 = lost.map(|l| l.2.abs()).sum();
        verdict.value += drift;
        Some(BuiltVerdict {
            sd: self.deviation(&by).hypot(sd * whole),
            half_lost: 0.5 * lost * whole.abs(),
            by,
            drift,
            verdict,
        })
    }

    pub(crate) fn of_verdict(
        &self,
        bench: &mut Bench<'_>,
        ask: usize,
        verdict: &Verdict,
    ) -> Option<DVector<f64>> {
        let reading = bench.model.machine.asks.get(ask)?.reading;
        let mut by = DVector::zeros(self.unknowns.len());
        for (weight, here) in &verdict.terms {
            let (_, rates) = self.reading(bench, reading, here)?;
            by.axpy(*weight, &rates, 1.0);
        }
        Some(by)
    }
}
