//! Asks that are judged under load, on made machines: each machine's own readings without load, pressed as the drawn machine gives.

use super::answers::{Kept, LoadedSpread};
use super::normal::kept;
use super::probe::{Probe, Stations};
use super::statistics::statistics;
use crate::answers::Held;
use crate::assemble::{Gauge, Model, Stand};
use crate::load::acting::{LoadCase, cases};
use crate::load::gives::members;
use crate::load::loaded::Soft;
use crate::load::poses;
use crate::load::rig::Rig;
use crate::run::{Bench, Here};
use machine::work::{WorkAsk, WorkJudges};
use rayon::prelude::*;

/// An ask under load, ready for made machines.
pub(super) struct Pressed {
    name: String,
    case: String,
    reading: usize,
    at: Vec<Held>,
    limits: [Option<f64>; 2],
    soft: Soft,
    /// Value without load of the drawn machine, and of every reading that is squeezed.
    nominal: f64,
    squeezed: Vec<Option<f64>>,
    /// Probes: of the reading, then of every reading that is squeezed.
    pub(super) probes: Vec<Probe>,
}

impl Pressed {
    /// None when the ask is not of this kind; a sentence when no machines can be made for it.
    pub(super) fn new(
        rig: &Rig<'_>,
        bench: &mut Bench<'_>,
        stations: &mut Stations,
        ask: &WorkAsk,
        stand: &Stand,
    ) -> Option<Result<Self, String>> {
        let WorkJudges::Loaded {
            reading,
            case,
            ref when,
        } = ask.judges
        else {
            return None;
        };
        let found = cases(rig)
            .into_iter()
            .nth(case)
            .and_then(|case| Self::of(rig, bench, stations, ask, (reading, &case, when), stand));
        Some(found.ok_or_else(|| {
            format!(
                "ask {} is judged under load, and no machines are made for it: its reading is taken in several poses, at a dead centre, or its give is not determined; `check` tells its band",
                ask.name
            )
        }))
    }

    fn of(
        rig: &Rig<'_>,
        bench: &mut Bench<'_>,
        stations: &mut Stations,
        ask: &WorkAsk,
        (reading, case, when): (usize, &LoadCase, &[(usize, f64)]),
        stand: &Stand,
    ) -> Option<Self> {
        let model = rig.model;
        let mut at = model.drawn();
        at.settings.clone_from(&stand.settings);
        for &(drive, value) in when {
            at.put(drive, value);
        }
        let at = poses::stand(model, Some(case), &at);
        let here = bench.bring(&at).ok()?;
        let Some(Gauge::Pose(measure)) = model.gauges.get(reading) else {
            return None;
        };
        let soft = Soft::new(rig, &here, case, &members(rig), measure)?;
        let mut probe = |bench: &mut Bench<'_>, reading: usize, here: &Here| {
            let value = bench.value(reading, here)?;
            Some((
                value,
                stations.probe(bench, reading, &[(1.0, here.clone())])?,
            ))
        };
        let (nominal, own) = probe(bench, reading, &here)?;
        let mut probes = vec![own];
        let mut squeezed = Vec::new();
        for reading in &soft.squeezes {
            squeezed.push(match reading {
                Some(reading) => {
                    let (value, own) = probe(bench, *reading, &here)?;
                    probes.push(own);
                    Some(value)
                }
                None => None,
            });
        }
        Some(Self {
            name: ask.name.clone(),
            case: case.name.clone(),
            reading,
            at: told(model, case, when),
            limits: [ask.at_least, ask.at_most],
            soft,
            nominal,
            squeezed,
            probes,
        })
    }

    /// What it comes to on made machines, one list of values a probe.
    pub(super) fn on(&self, model: &Model, made: &[Vec<f64>]) -> Option<LoadedSpread> {
        let (own, others) = made.split_first()?;
        let none = vec![0.0; self.squeezed.len()];
        let loaded = self.nominal + self.soft.adds(&none);
        let one = |m: usize| -> f64 {
            let mut others = others.iter();
            let off: Vec<f64> = self
                .squeezed
                .iter()
                .map(|nominal| match nominal {
                    Some(nominal) => others.next().map_or(0.0, |o| o[m] - nominal),
                    None => 0.0,
                })
                .collect();
            if own[m].is_nan() || off.iter().any(|o| o.is_nan()) {
                return f64::NAN;
            }
            own[m] + self.soft.adds(&off)
        };
        let values: Vec<f64> = (0..own.len()).into_par_iter().map(one).collect();
        let [least, most] = self.limits;
        let keeps = |v: &&f64| {
            !v.is_nan() && least.is_none_or(|l| **v >= l) && most.is_none_or(|m| **v <= m)
        };
        let kept: Kept = kept(values.iter().filter(keeps).count(), values.len());
        let made = statistics(values);
        Some(LoadedSpread {
            ask: self.name.clone(),
            case: self.case.clone(),
            at: self.at.clone(),
            reading: model.reading(self.reading),
            at_least: least,
            at_most: most,
            nominal: self.nominal,
            loaded,
            likely: [made.percentiles[0], made.percentiles[4]].map(|p| p - loaded),
            made,
            kept,
        })
    }
}

/// Where the drives stand that the ask or its case puts somewhere.
fn told(model: &Model, case: &LoadCase, when: &[(usize, f64)]) -> Vec<Held> {
    let mut at: Vec<(usize, f64)> = when.to_vec();
    for &(drive, value) in &case.when {
        if at.iter().all(|(d, _)| *d != drive) {
            at.push((drive, value));
        }
    }
    at.sort_by_key(|a| a.0);
    at.into_iter()
        .filter(|(drive, _)| *drive < model.machine.drives.len())
        .map(|(drive, value)| super::held(model, drive, value))
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::*;
    use crate::load::judge_loaded;
    use crate::spread::varying;

    /// Against full solves: embossers made off in every dimension, each pressed by itself, stand where their own gap and the give of the drawn
    /// one say, within a hundredth of what they stray.
    #[test]
    fn made_machines_press_as_full_solves_do() {
        let text = include_str!("../../../../examples/strap-embosser/machine.toml");
        let machine = machine::read_text("machine.toml", text).machine.unwrap();
        let drawn = crate::assemble(&machine);
        let rig = Rig::new(&drawn);
        let gap = machine
            .readings
            .iter()
            .position(|r| r.name == "gap")
            .unwrap();
        let set = machine.drives.iter().position(|d| d.name == "set").unwrap();
        let case = cases(&rig).remove(0);
        let put = |model: &Model| {
            let mut stand = model.drawn();
            stand.put(set, 70_f64.to_radians());
            stand
        };
        let at = poses::stand(&drawn, Some(&case), &put(&drawn));
        let mut bench = Bench::new(&drawn);
        let here = bench.bring(&at).unwrap();
        let Gauge::Pose(measure) = &drawn.gauges[gap] else {
            panic!("a gap is a pose's");
        };
        let soft = Soft::new(&rig, &here, &case, &members(&rig), measure).unwrap();
        let nominal = bench.value(gap, &here).unwrap();
        let varied = varying(&drawn, &here.params);
        let (mut most, mut off) = (0.0_f64, 0.0_f64);
        for number in 0..12 {
            let mut model = crate::assemble(&machine);
            for (i, v) in varied.iter().enumerate() {
                // Off by anything within the tolerance, the same on every run.
                let x = (((number * 7919 + i * 104_729 + 13) % 2001) as f64) / 1000.0 - 1.0;
                model.mechanism.params[v.param] += x * v.plus_minus;
            }
            let full = judge_loaded(&model, &put(&model), 0, gap).unwrap();
            let off_by = full.nominal - nominal;
            let squeezed = soft.squeezes.iter();
            let by: Vec<f64> = squeezed.map(|s| s.map_or(0.0, |_| off_by)).collect();
            let told = full.nominal + soft.adds(&by);
            most = most.max(off_by.abs());
            off = off.max((told - full.loaded.unwrap()).abs());
        }
        assert!(most > 0.02, "{most}");
        assert!(off < 0.01 * most, "{off} of {most}");
    }
}
