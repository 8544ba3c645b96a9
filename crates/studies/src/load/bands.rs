//! Every reading as sure as it is: nominal, loaded, with the bands that play and tolerance make.

use super::acting::{Acting, LoadCase};
use super::answers::{Bands, BandsRow, BandsTable};
use super::gives::Members;
use super::loaded::balance;
use super::play::{loose, moves, taken};
use super::rig::Rig;
use super::terms::{Term, taken_at, terms};
use super::{acting, gives, only, poses};
use crate::assemble::{Model, Stand};
use crate::call::Sweep;
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use crate::sensitivity::by_param;
use crate::spread::ToleranceBand;
use machine::work::{JointAt, LowHigh};
use rayon::prelude::*;

/// Everything that bands need, worked out once.
pub(crate) struct BandMaker<'r, 'm> {
    rig: &'r Rig<'m>,
    case: Option<LoadCase>,
    /// Its springs and weights.
    always: Option<LoadCase>,
    members: Members,
    tolerances: ToleranceBand,
}

/// A reading in one pose, or a sum of it in several, ready for its bands.
pub(crate) struct Asked {
    nominal: f64,
    terms: Vec<Term>,
    /// Derivatives by every parameter where a moving end makes them more than those of the terms.
    rates: Option<Vec<f64>>,
}

/// What a reading gathers term by term.
#[derive(Clone, Debug)]
struct Gathered {
    stretch: f64,
    /// One a loose thing.
    play: Vec<Shift>,
    rates: Vec<f64>,
    /// The stretch is not known; see [`super::loaded::Loaded::untold`].
    untold: bool,
}

/// What one loose thing does to a reading for each millimetre of its clearance.
#[derive(Clone, Debug)]
pub(crate) struct Sway {
    pub(crate) joint: String,
    pub(crate) at: Option<JointAt>,
    pub(crate) clearance: LowHigh,
    /// Where something presses it to one side.
    pub(crate) shift: f64,
    /// Either way, where nothing presses it.
    pub(crate) free: f64,
}

/// What one loose thing adds. Pressed the same way in all poses, it has one clearance in all of them.
#[derive(Clone, Copy, Debug, Default)]
struct Shift {
    /// Taken up, with its least and its greatest clearance.
    taken: [f64; 2],
    /// Either way, where nothing presses it.
    free: f64,
}

/// A reading here, ready for its bands; none where it cannot be taken.
pub(super) fn ask(bench: &mut Bench<'_>, reading: usize, here: &Here) -> Option<Asked> {
    let terms = terms(bench, reading, here)?;
    let nominal = bench.value(reading, here)?;
    let rates = if terms.iter().any(|t| t.cut) {
        Some(by_param(bench, reading, here)?.rates)
    } else {
        None
    };
    Some(Asked {
        nominal,
        terms,
        rates,
    })
}

/// A sum of a reading at several poses, each with its weight, ready for its bands; none where it cannot be taken.
pub(crate) fn ask_sum(bench: &mut Bench<'_>, reading: usize, sum: &[(f64, Here)]) -> Option<Asked> {
    let mut all = Asked {
        nominal: 0.0,
        terms: Vec::new(),
        rates: None,
    };
    let mut parts = Vec::new();
    for (weight, here) in sum {
        let mut one = ask(bench, reading, here)?;
        all.nominal += weight * one.nominal;
        one.terms.iter_mut().for_each(|t| t.weight *= weight);
        parts.push((*weight, one, here));
    }
    if parts.iter().any(|(_, one, _)| one.rates.is_some()) {
        let mut rates = vec![0.0; bench.model.mechanism.params.len()];
        for (weight, _, here) in &parts {
            let by = by_param(bench, reading, here)?.rates;
            rates
                .iter_mut()
                .zip(&by)
                .for_each(|(r, b)| *r += weight * b);
        }
        all.rates = Some(rates);
    }
    all.terms = parts
        .into_iter()
        .flat_map(|(_, one, _)| one.terms)
        .collect();
    Some(all)
}

impl<'r, 'm> BandMaker<'r, 'm> {
    pub(crate) fn new(rig: &'r Rig<'m>, case: Option<LoadCase>) -> Self {
        let always = case.as_ref().map(|c| c.only(Acting::always));
        Self {
            rig,
            case,
            always,
            members: gives::members(rig),
            tolerances: ToleranceBand::new(rig.model),
        }
    }

    /// Bands of readings that are asked together; poses that they share are worked out once.
    pub(crate) fn bands(&self, asked: &[Option<Asked>]) -> Vec<Option<Bands>> {
        let params = self.rig.mechanism.params.len();
        let nothing = Gathered {
            stretch: 0.0,
            play: Vec::new(),
            rates: vec![0.0; params],
            untold: false,
        };
        let mut gathered: Vec<Option<Gathered>> = asked
            .iter()
            .map(|a| a.as_ref().map(|_| nothing.clone()))
            .collect();
        let all = || {
            asked.iter().enumerate().flat_map(|(i, a)| {
                a.iter()
                    .flat_map(move |a| a.terms.iter().map(move |t| (i, t)))
            })
        };
        let mut poses: Vec<&Here> = Vec::new();
        for (_, term) in all() {
            if !poses.iter().any(|h| h.params == term.here.params) {
                poses.push(&term.here);
            }
        }
        for here in poses {
            let at_pose: Vec<(usize, &Term)> = all()
                .filter(|(_, t)| t.here.params == here.params)
                .collect();
            if self.gather(here, &at_pose, &mut gathered).is_none() {
                // A dead centre: none of these can be told.
                at_pose.iter().for_each(|(i, _)| gathered[*i] = None);
            }
        }
        asked
            .iter()
            .zip(gathered)
            .map(|(a, g)| Some(self.told(a.as_ref()?, &g?)))
            .collect()
    }

    /// What play does to a reading, one entry a loose thing; none at a dead centre.
    pub(crate) fn sways(&self, asked: &Asked) -> Option<Vec<Sway>> {
        let params = self.rig.mechanism.params.len();
        let mut gathered = [Some(Gathered {
            stretch: 0.0,
            play: Vec::new(),
            rates: vec![0.0; params],
            untold: false,
        })];
        let mut all = Vec::new();
        for term in &asked.terms {
            self.gather(&term.here, &[(0, term)], &mut gathered)?;
            if all.is_empty() {
                all = loose(
                    self.rig,
                    &self.rig.params(&term.here),
                    &term.here.poses,
                    &[],
                );
            }
        }
        let [gathered] = gathered;
        let each = all.into_iter().zip(gathered?.play);
        Some(
            each.map(|(l, shift)| Sway {
                shift: shift.taken[1] / l.clearance.high,
                free: shift.free / l.clearance.high,
                joint: l.joint,
                at: l.at,
                clearance: l.clearance,
            })
            .collect(),
        )
    }

    fn gather(
        &self,
        here: &Here,
        terms: &[(usize, &Term)],
        gathered: &mut [Option<Gathered>],
    ) -> Option<()> {
        let rig = self.rig;
        if rig.model.given_up() {
            return None;
        }
        let params = rig.params(here);
        let tangent = self.members.tangent(rig, &params, &here.poses).ok()?;
        let press = |case: &LoadCase| {
            balance(rig, &tangent, &params, &here.poses, case, &self.members).ok()
        };
        let all = |rows: &[f64]| loose(rig, &params, &here.poses, rows);
        let (loaded, loose, taken) = match (&self.case, &self.always) {
            (Some(case), Some(always)) => {
                let (loaded, alone) = (press(case)?, press(always)?);
                let loose = all(&loaded.reactions.rows);
                let taken = taken(&loose, &loaded.on_params, &alone.on_params);
                (Some(loaded), loose, taken)
            }
            _ => {
                let loose = all(&[]);
                let taken = taken(&loose, &[], &[]);
                (None, loose, taken)
            }
        };
        for (i, term) in terms {
            let sense = tangent.sensitivity(&term.measure).ok()?;
            let Some(sum) = gathered.get_mut(*i).and_then(Option::as_mut) else {
                continue;
            };
            sum.stretch +=
                term.weight * loaded.as_ref().map_or(0.0, |l| l.stretch(&sense.by_param));
            sum.untold |= loaded.as_ref().is_some_and(|l| l.untold);
            sum.play.resize(loose.len(), Shift::default());
            let moves = moves(&loose, &taken, &sense.by_param, term.weight);
            for (shift, moved) in sum.play.iter_mut().zip(moves) {
                shift.taken[0] += moved.taken[0];
                shift.taken[1] += moved.taken[1];
                shift.free += moved.loose;
            }
            sum.rates
                .iter_mut()
                .zip(&sense.by_param)
                .for_each(|(r, s)| *r += term.weight * s);
        }
        Some(())
    }

    fn told(&self, asked: &Asked, gathered: &Gathered) -> Bands {
        let rates = asked.rates.as_ref().unwrap_or(&gathered.rates);
        let spread = self.tolerances.likely(rates);
        let known = self.case.is_some() && !gathered.untold;
        let loaded = known.then_some(asked.nominal + gathered.stretch);
        let base = loaded.unwrap_or(asked.nominal);
        let mut play = [0.0; 2];
        for Shift { taken, free } in &gathered.play {
            play[0] += taken[0].min(taken[1]) - free;
            play[1] += taken[0].max(taken[1]) + free;
        }
        Bands {
            nominal: asked.nominal,
            loaded,
            play,
            tolerance: [-spread, spread],
            from: base + play[0] - spread,
            to: base + play[1] + spread,
            taken_at: taken_at(&asked.terms),
        }
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
    let poses = poses::poses(
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
    let ready: Vec<(Option<f64>, Vec<Option<Asked>>)> = poses
        .all
        .iter()
        .map(|at| {
            (
                at.value,
                asked
                    .iter()
                    .map(|&r| ask(&mut bench, r, at.here.as_ref()?))
                    .collect(),
            )
        })
        .collect();
    let rows = ready
        .par_iter()
        .map(|(at, asked)| BandsRow {
            at: *at,
            cells: maker.bands(asked),
        })
        .collect();
    Ok(BandsTable {
        machine: model.machine.name.clone(),
        case: name,
        drive: sweep.map(|s| model.drive(s.drive)),
        held: model.held(&poses.held, sweep.map(|s| s.drive)),
        readings: asked.iter().map(|&r| model.reading(r)).collect(),
        rows,
    })
}
