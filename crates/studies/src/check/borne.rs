//! What loads, play and making leave of an ask on a reading.

use super::asks::{Verdict, Wanted, margin};
use crate::answers::Borne;
use crate::load::acting::{Acting, LoadCase, cases};
use crate::load::bands::{Asked, BandMaker, ask_sum};
use crate::load::rig::Rig;
use crate::run::{Bench, Here};
use machine::model::{Ask, Judges};

/// Places of a drive that are looked at beside the one where the ask is worst without load.
const PLACES: usize = 12;
/// A drive this near to where a case puts it stands there, rad or mm.
const THERE: f64 = 1e-9;

/// The load cases of a machine, ready to bear asks.
pub(crate) struct Bearing<'r, 'm> {
    cases: Vec<(LoadCase, BandMaker<'r, 'm>)>,
    /// Without the loads of any case: springs and weights alone, or nothing.
    rest: BandMaker<'r, 'm>,
    /// Something is known of loads, play or making.
    any: bool,
}

impl<'r, 'm> Bearing<'r, 'm> {
    pub(crate) fn new(rig: &'r Rig<'m>) -> Self {
        let work = rig.work();
        let loaded = |case: &LoadCase| case.acting.iter().any(|a| !a.always());
        let all = cases(rig);
        let rest = all.first().map(|case| case.only(Acting::always));
        let rest = rest.filter(|case| !case.acting.is_empty());
        let usual = &work.usual;
        let made = usual.hole_places.is_some()
            || usual.rod_lengths.is_some()
            || usual.clock_angles.is_some()
            || usual.directions.is_some()
            || !work.tolerances.is_empty();
        let loose = usual.clearance.is_some() || work.joints.iter().any(|j| j.clearance.is_some());
        let acting = all.iter().any(|case| !case.acting.is_empty());
        Self {
            cases: all
                .into_iter()
                .filter(loaded)
                .map(|case| (case.clone(), BandMaker::new(rig, Some(case))))
                .collect(),
            rest: BandMaker::new(rig, rest),
            any: made || loose || acting,
        }
    }

    /// What every case that an ask may meet adds to its judged value as the machine stretches.
    pub(crate) fn gives(
        &self,
        bench: &mut Bench<'_>,
        ask: &Ask,
        verdict: &Verdict,
        wanted: Wanted,
    ) -> Vec<(String, f64)> {
        if self.cases.is_empty() {
            return Vec::new();
        }
        let all = self.bear(bench, ask, verdict, wanted).into_iter();
        all.filter_map(|b| Some((b.case?, b.loaded? - verdict.value)))
            .collect()
    }

    /// An ask under every case that it may meet; without load where it meets none.
    pub(super) fn bear(
        &self,
        bench: &mut Bench<'_>,
        ask: &Ask,
        verdict: &Verdict,
        wanted: Wanted,
    ) -> Vec<Borne> {
        if !self.any || verdict.terms.is_empty() {
            return Vec::new();
        }
        let mut found = Vec::new();
        for (case, maker) in &self.cases {
            let sums = places(bench, ask, verdict, Some(case));
            found.extend(worst(bench, ask, maker, Some(&case.name), &sums, wanted));
        }
        if found.is_empty() {
            let sums = places(bench, ask, verdict, None);
            found.extend(worst(bench, ask, &self.rest, None, &sums, wanted));
        }
        found
    }
}

/// Sums of the reading to be looked at: where the ask is worst, and for one that is judged all over a reach some places of it. None under a
/// case that has its drives elsewhere.
fn places(
    bench: &mut Bench<'_>,
    ask: &Ask,
    verdict: &Verdict,
    case: Option<&LoadCase>,
) -> Vec<Vec<(f64, Here)>> {
    let mut all = vec![verdict.terms.clone()];
    if let (Judges::Anywhere { drive, .. }, Some((_, here))) = (&ask.judges, verdict.terms.first())
        && let Some((track, span)) = bench.span(here, *drive)
    {
        let mut there = here.clone();
        for i in 0..=PLACES {
            let share = i as f64 / PLACES as f64;
            let at = span.low.at + share * (span.high.at - span.low.at);
            if let Some(sample) = track.at(bench.model, at) {
                track.put(bench.model, &sample, &mut there);
                all.push(vec![(1.0, there.clone())]);
            }
        }
    }
    let Some(case) = case else { return all };
    let put = |bench: &mut Bench<'_>, here: &Here| -> Option<Here> {
        let mut stand = here.stand.clone();
        for &(drive, value) in &case.when {
            let at = stand.drives.get_mut(drive)?;
            if (*at - value).abs() <= THERE {
                continue;
            }
            if bench.depends(ask.reading, drive) {
                return None;
            }
            *at = value;
        }
        if stand == here.stand {
            Some(here.clone())
        } else {
            bench.bring(&stand).ok()
        }
    };
    all.into_iter()
        .filter_map(|sum| {
            sum.into_iter()
                .map(|(weight, here)| Some((weight, put(bench, &here)?)))
                .collect()
        })
        .collect()
}

fn worst(
    bench: &mut Bench<'_>,
    ask: &Ask,
    maker: &BandMaker<'_, '_>,
    case: Option<&String>,
    sums: &[Vec<(f64, Here)>],
    wanted: Wanted,
) -> Option<Borne> {
    let mut worst: Option<Borne> = None;
    for sum in sums {
        let asked: [Option<Asked>; 1] = [ask_sum(bench, ask.reading, sum)];
        let Some(bands) = maker.bands(&asked).pop().flatten() else {
            continue;
        };
        let loaded = bands.loaded.filter(|_| case.is_some());
        let margin_loaded = loaded.map(|v| margin(v, wanted));
        let margin_band = margin(bands.from, wanted).min(margin(bands.to, wanted));
        match &mut worst {
            None => {
                worst = Some(Borne {
                    case: case.cloned(),
                    loaded,
                    margin_loaded,
                    from: bands.from,
                    to: bands.to,
                    margin_band,
                });
            }
            Some(w) => {
                if margin_loaded < w.margin_loaded {
                    (w.loaded, w.margin_loaded) = (loaded, margin_loaded);
                }
                if margin_band < w.margin_band {
                    (w.from, w.to, w.margin_band) = (bands.from, bands.to, margin_band);
                }
            }
        }
    }
    worst
}
