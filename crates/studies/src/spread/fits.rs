//! Fits as made: every hole and every pin comes out somewhere within its limits, so that each machine has its own play.

use super::answers::{ClearanceShare, Kept, MadeClearance, Rattle};
use super::normal::kept;
use super::propose::Sought;
use super::statistics::statistics;
use crate::assemble::Model;
use crate::load::acting::{Acting, every};
use crate::load::bands::{BandMaker, Sway, ask_sum};
use crate::load::rig::Rig;
use crate::parts::seats::{loose, loose_as_made};
use crate::run::{Bench, Here};
use machine::work::{JointAt, LowHigh};
use mechanics::LANES;
use mechanics::random::some_normals;
use rayon::prelude::*;

/// Sets the play of a machine apart from its other dimensions, which go by the same seed.
const OWN: u64 = 0x5eed_0f17_c1ea_ace5;
/// Movements below this are none, mm or rad.
const NOTHING: f64 = 1e-12;

/// What the play of fits does to one value: shift and free movement for a millimetre of each clearance.
#[derive(Clone, Debug, Default)]
pub(super) struct Swayed {
    /// Index into [`Fits::clearances`], shift, and movement either way.
    by: Vec<(usize, f64, f64)>,
}

/// Clearances of a machine and what presses them when nothing works: springs and weights.
pub(super) struct Fits<'m> {
    maker: BandMaker<'m, 'm>,
    model: &'m Model,
    pub(super) clearances: Vec<MadeClearance>,
}

impl<'m> Fits<'m> {
    pub(super) fn new(rig: &'m Rig<'m>) -> Self {
        let always = every(rig).only(Acting::always);
        let always = (!always.acting.is_empty()).then_some(always);
        Self {
            maker: BandMaker::new(rig, always),
            model: rig.model,
            clearances: Vec::new(),
        }
    }

    /// What play does to a sum of readings; none where it cannot be told.
    pub(super) fn sways(
        &mut self,
        bench: &mut Bench<'_>,
        reading: usize,
        terms: &[(f64, Here)],
    ) -> Option<Swayed> {
        let asked = ask_sum(bench, reading, terms)?;
        let mut swayed = Swayed::default();
        for sway in self.maker.sways(&asked)? {
            if sway.shift.abs() + sway.free > NOTHING {
                let index = self.clearance(&sway);
                swayed.by.push((index, sway.shift, sway.free));
            }
        }
        (!swayed.by.is_empty()).then_some(swayed)
    }

    /// The clearance of a loose thing, noted once.
    fn clearance(&mut self, sway: &Sway) -> usize {
        if let Some(i) = self.clearances.iter().position(|c| c.joint == sway.joint) {
            return i;
        }
        let LowHigh { low, high } = sway.clearance;
        let (mean, deviation, fit) = self.made(sway.at, sway.clearance).unwrap_or((
            f64::midpoint(low, high),
            (high - low) / 6.0,
            String::new(),
        ));
        self.clearances.push(MadeClearance {
            joint: sway.joint.clone(),
            fit,
            least: low,
            most: high,
            mean,
            deviation,
        });
        self.clearances.len() - 1
    }

    /// Of the fit there, when the play comes from one and not from the file's own word.
    fn made(&self, at: Option<JointAt>, play: LowHigh) -> Option<(f64, f64, String)> {
        let Some(JointAt::Point(point)) = at else {
            return None;
        };
        let machine = &self.model.machine;
        let own = |p: LowHigh| (p.low - play.low).abs() + (p.high - play.high).abs() < 1e-9;
        let found = loose(machine, point).filter(|l| own(l.play))?;
        loose_as_made(machine, &found)
    }

    /// Clearances of so many machines, one list a clearance.
    pub(super) fn make(&self, machines: usize, seed: u64) -> Vec<Vec<f64>> {
        let n = self.clearances.len();
        let rows: Vec<Vec<[f64; LANES]>> = (0..machines.div_ceil(LANES))
            .into_par_iter()
            .map(|row| {
                let mut columns = vec![[0.0; LANES]; n];
                some_normals(seed ^ OWN, (row * LANES) as u64, &mut columns, &[]);
                columns
            })
            .collect();
        self.clearances
            .iter()
            .enumerate()
            .map(|(k, c)| {
                let all = rows.iter().flat_map(|row| row[k]);
                // Tight pins have no play, not less than none.
                let one = |x: f64| (c.mean + c.deviation * x).max(0.0);
                all.take(machines).map(one).collect()
            })
            .collect()
    }

    /// Play of one value over made machines.
    pub(super) fn rattle(&self, swayed: &Swayed, made: &[Vec<f64>]) -> Rattle {
        let machines = made.first().map_or(0, Vec::len);
        let of = |pick: &dyn Fn(&(usize, f64, f64)) -> f64| -> Vec<f64> {
            (0..machines)
                .map(|m| swayed.by.iter().map(|s| pick(s) * made[s.0][m]).sum())
                .collect()
        };
        let free = statistics(of(&|s| s.2));
        let shift = statistics(of(&|s| s.1));
        let mut shares: Vec<ClearanceShare> = swayed
            .by
            .iter()
            .map(|&(clearance, shift, free)| ClearanceShare {
                clearance,
                plus_minus: free * self.clearances[clearance].mean.max(0.0),
                shift: shift * self.clearances[clearance].mean.max(0.0),
            })
            .collect();
        let size = |s: &ClearanceShare| s.plus_minus + s.shift.abs();
        shares.sort_by(|a, b| size(b).total_cmp(&size(a)));
        Rattle {
            plus_minus: free.mean,
            band: [free.percentiles[0], free.percentiles[4]],
            worst: swayed
                .by
                .iter()
                .map(|s| s.2 * self.clearances[s.0].most)
                .sum(),
            shift: shift.mean,
            shift_band: [shift.percentiles[0], shift.percentiles[4]],
            shares,
        }
    }

    /// Machines that keep an ask wherever their play lets it stand.
    pub(super) fn kept(ask: &Sought, swayed: &Swayed, values: &[f64], made: &[Vec<f64>]) -> Kept {
        let machines = values.len();
        let keeps = |m: &usize| {
            let (mut shift, mut free) = (0.0, 0.0);
            for s in &swayed.by {
                shift += s.1 * made[s.0][*m];
                free += s.2 * made[s.0][*m];
            }
            let middle = values[*m] + shift;
            ask.keeps(middle - free) && ask.keeps(middle + free)
        };
        let count = (0..machines).into_par_iter().filter(keeps).count();
        kept(count, machines)
    }
}
