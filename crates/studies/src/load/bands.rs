//! Every reading as sure as it is: nominal, loaded, with the bands that play and tolerance make.

use super::acting::LoadCase;
use super::answers::{Bands, BandsRow, BandsTable};
use super::gives::Members;
use super::play::play_band;
use super::rig::Rig;
use super::stretch::stretched;
use super::terms::{taken_at, terms};
use super::{acting, gives, only, poses};
use crate::assemble::{Model, Stand};
use crate::call::Sweep;
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use crate::sensitivity::by_param;
use crate::spread::tolerances::{Toleranced, tolerances};

/// Everything that bands need, worked out once.
pub(crate) struct BandMaker<'r, 'm> {
    rig: &'r Rig<'m>,
    case: Option<LoadCase>,
    members: Members,
    tolerances: Vec<Toleranced>,
}

impl<'r, 'm> BandMaker<'r, 'm> {
    pub(crate) fn new(rig: &'r Rig<'m>, case: Option<LoadCase>) -> Self {
        Self {
            rig,
            case,
            members: gives::members(rig),
            tolerances: tolerances(rig.model).0,
        }
    }

    /// A reading here; none where it cannot be taken.
    pub(crate) fn bands(
        &self,
        bench: &mut Bench<'_>,
        reading: usize,
        here: &Here,
    ) -> Option<Bands> {
        let terms = terms(bench, reading, here)?;
        let nominal = bench.value(reading, here)?;
        let loaded = match &self.case {
            Some(case) => Some(nominal + stretched(self.rig, &terms, case, &self.members)?.1),
            None => None,
        };
        let play = play_band(self.rig, &terms, self.case.as_ref(), &self.members)?;
        let rates = by_param(bench, reading, here)?.rates;
        let square: f64 = self
            .tolerances
            .iter()
            .map(|t| (rates[t.param] * t.plus_minus).powi(2))
            .sum();
        let spread = square.sqrt();
        let base = loaded.unwrap_or(nominal);
        Some(Bands {
            nominal,
            loaded,
            play,
            tolerance: [-spread, spread],
            from: base + play[0] - spread,
            to: base + play[1] + spread,
            taken_at: taken_at(&terms),
        })
    }
}

/// Readings with their bands over a drive, or in one pose; under a case or without load. The tolerance band is the root sum
/// square, three sigma of a normal spread.
///
/// # Errors
/// No such case or drive; values that cannot be reached.
pub fn bands(
    model: &Model,
    stand: &Stand,
    case: Option<usize>,
    sweep: Option<&Sweep>,
) -> Result<BandsTable, Refusal> {
    let rig = Rig::new(model);
    let case = case.map(|c| only(acting::cases(&rig), c)).transpose()?;
    let mut bench = Bench::new(model);
    let (held, poses) = poses::poses(
        &mut bench,
        &poses::stand(model, case.as_ref(), stand),
        sweep,
    )?;
    let asked: Vec<usize> = match sweep {
        Some(s) if !s.readings.is_empty() => s
            .readings
            .iter()
            .copied()
            .filter(|r| *r < model.machine.readings.len())
            .collect(),
        _ => (0..model.machine.readings.len()).collect(),
    };
    let name = case.as_ref().map(|c| c.name.clone());
    let maker = BandMaker::new(&rig, case);
    let rows = poses.iter().map(|at| {
        let mut cell = |reading: usize| maker.bands(&mut bench, reading, at.here.as_ref()?);
        BandsRow {
            at: at.value,
            cells: asked.iter().map(|&r| cell(r)).collect(),
        }
    });
    let rows = rows.collect();
    Ok(BandsTable {
        machine: model.machine.name.clone(),
        case: name,
        drive: sweep.map(|s| model.drive(s.drive)),
        held: model.held(&held, sweep.map(|s| s.drive)),
        readings: asked.iter().map(|&r| model.reading(r)).collect(),
        rows,
    })
}
