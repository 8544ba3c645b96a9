//! Over time: what jobs read against what the machine as built should read, and whether that drifts.

use super::answers::{JobNow, Told, Wear};
use super::built::Built;
use crate::answers::Inside;
use crate::assemble::Stand;
use crate::check::asks::{margin, stand as stand_of_ask, wanted};
use crate::run::Bench;
use machine::logbook::{Date, Job, Log};

/// Days of a month, on average.
const MONTH: f64 = 365.2425 / 12.0;
/// A machine that reads off by so many of its bands is no more the one that was fitted.
const STALE: f64 = 1.5;
/// Never told to look later than this, days.
const LATEST: f64 = 730.0;
/// Standard deviation of a reading whose uncertainty was not said, mm or rad: counted from the scatter, and never less than this.
const LEAST: f64 = 1e-4;

fn stand_of(built: &Built, job: &Job) -> Stand {
    let mut stand = built.stand.clone();
    stand.settings = built.model.drawn().settings;
    for &(drive, value) in &job.at {
        stand.put(drive, value);
    }
    for &(setting, value) in &job.set {
        stand.settings[setting] = value;
    }
    stand
}

/// Every job with what it read and what the machine as built reads there.
pub(crate) fn jobs(built: &Built, log: &Log) -> Vec<JobNow> {
    let mut bench = Bench::new(&built.model);
    let mut all = Vec::new();
    for job in &log.jobs {
        let stand = stand_of(built, job);
        let here = bench.bring(&stand).ok();
        let reads = job.reads.iter().map(|&(reading, value)| {
            let found = here
                .as_ref()
                .and_then(|h| built.reading(&mut bench, reading, h));
            Told {
                reading: built.model.reading(reading),
                read: value,
                built: found.as_ref().map(|f| f.0),
                plus_minus: found.as_ref().map(|f| 2.0 * built.deviation(&f.1)),
                far: false,
            }
        });
        all.push(JobNow {
            job: job.name.clone(),
            note: job.note.clone(),
            on: job.on,
            held: built.model.held(&stand, None),
            reads: reads.collect(),
        });
    }
    for reading in 0..built.model.machine.readings.len() {
        contradict(log, reading, &mut all);
    }
    all
}

/// Marks what a job read far from the machine as built, when it is no matter of all jobs alike.
fn contradict(log: &Log, reading: usize, jobs: &mut [JobNow]) {
    // Job, number of the reading in it, difference, band.
    let mut known: Vec<(usize, usize, f64, f64)> = Vec::new();
    for (n, (job, now)) in log.jobs.iter().zip(jobs.iter()).enumerate() {
        for (k, (read, told)) in job.reads.iter().zip(&now.reads).enumerate() {
            if let (true, Some(expected), Some(band)) =
                (read.0 == reading, told.built, told.plus_minus)
            {
                let usual = if told.reading.inside == Inside::Radian {
                    UNSAID[1]
                } else {
                    UNSAID[0]
                };
                let stated = job.uncertainty.unwrap_or(usual);
                known.push((n, k, told.read - expected, band.hypot(stated)));
            }
        }
    }
    let middle = |mut of: Vec<f64>| {
        of.sort_by(f64::total_cmp);
        of.get(of.len() / 2).copied().unwrap_or(0.0)
    };
    // Of three or more, one that the others do not go with is wrong; all alike are a drift.
    let (centre, spread) = if known.len() < 3 {
        (0.0, 0.0)
    } else {
        let centre = middle(known.iter().map(|k| k.2).collect());
        (
            centre,
            middle(known.iter().map(|k| (k.2 - centre).abs()).collect()),
        )
    };
    for (n, k, off, band) in known {
        if off.abs() > band
            && (off - centre).abs() > (FAR * spread).max(2.0 * band)
            && let Some(told) = jobs.get_mut(n).and_then(|j| j.reads.get_mut(k))
        {
            told.far = true;
        }
    }
}

/// What a job's reading is sure to where that was not said: ± mm and rad (common practice).
const UNSAID: [f64; 2] = [0.02, 0.1 * std::f64::consts::PI / 180.0];
/// So many times the usual difference of jobs is another matter.
const FAR: f64 = 6.0;

/// The drift of each reading that at least three dated jobs tell of.
pub(crate) fn wear(built: &Built, log: &Log, now: &[JobNow]) -> Vec<Wear> {
    let mut all = Vec::new();
    for reading in 0..built.model.machine.readings.len() {
        let mut points: Vec<(Date, f64, f64)> = Vec::new();
        let mut band = 0.0_f64;
        for (job, now) in log.jobs.iter().zip(now) {
            let found = job
                .reads
                .iter()
                .zip(&now.reads)
                .find(|(r, _)| r.0 == reading);
            if let (Some(on), Some((_, told))) = (job.on, found)
                && let Some(expected) = told.built
                && !told.far
            {
                band = band.max(told.plus_minus.unwrap_or(0.0));
                points.push((
                    on,
                    told.read - expected,
                    job.uncertainty.map_or(0.0, |u| u / 2.0),
                ));
            }
        }
        points.sort_by_key(|p| p.0);
        all.extend(drift(built, reading, &points, band));
    }
    all
}

/// A straight line through the differences, by days; `band` is that of the machine as built.
fn drift(built: &Built, reading: usize, points: &[(Date, f64, f64)], band: f64) -> Option<Wear> {
    let (first, last) = (points.first()?.0, points.last()?.0);
    if points.len() < 3 || last.number() - first.number() < 2 {
        return None;
    }
    let day = |d: Date| (d.number() - first.number()) as f64;
    let line = |sd: &dyn Fn(f64) -> f64| {
        let w: Vec<f64> = points.iter().map(|p| sd(p.2).powi(-2)).collect();
        let sum: f64 = w.iter().sum();
        let mean = points
            .iter()
            .zip(&w)
            .map(|(p, w)| w * day(p.0))
            .sum::<f64>()
            / sum;
        let level = points.iter().zip(&w).map(|(p, w)| w * p.1).sum::<f64>() / sum;
        let square: f64 = points
            .iter()
            .zip(&w)
            .map(|(p, w)| w * (day(p.0) - mean).powi(2))
            .sum();
        let slope = points
            .iter()
            .zip(&w)
            .map(|(p, w)| w * (day(p.0) - mean) * p.1)
            .sum::<f64>()
            / square;
        let left: f64 = points
            .iter()
            .zip(&w)
            .map(|(p, w)| w * (p.1 - level - slope * (day(p.0) - mean)).powi(2))
            .sum();
        (
            slope,
            square.powf(-0.5),
            left / (points.len() - 2) as f64,
            level + slope * (day(last) - mean),
            (1.0 / sum + (day(last) - mean).powi(2) / square).sqrt(),
        )
    };
    let stated = points.iter().all(|p| p.2 > 0.0);
    let (slope, sd, scatter, off, off_sd) = line(&|sd| if stated { sd } else { 1.0 });
    if !(slope.is_finite() && sd.is_finite()) {
        return None;
    }
    // Jobs that scatter more than was stated, or of which nothing was stated, are believed by their scatter.
    let times = if stated {
        scatter.max(1.0).sqrt()
    } else {
        scatter.sqrt().max(LEAST)
    };
    let (sd, off_sd) = (sd * times, off_sd * times);
    // An ask that is missed already needs no date.
    let room = room(built, reading, off);
    let fastest = slope.abs() + 2.0 * sd;
    let days = room
        .filter(|room| *room > 0.0)
        .map(|room| (room / fastest).min(LATEST));
    Some(Wear {
        reading: built.model.reading(reading),
        jobs: points.len(),
        first,
        last,
        a_month: slope * MONTH,
        plus_minus: 2.0 * sd * MONTH,
        drifts: slope.abs() > 2.0 * sd,
        off,
        off_plus_minus: 2.0 * off_sd,
        stale: off.abs() > STALE * band.hypot(2.0 * off_sd),
        look_again: days.map(|d| last.after(d.floor() as i64)),
    })
}

/// What is left to the nearest limit of an ask about this reading, drift so far taken off either way.
fn room(built: &Built, reading: usize, off: f64) -> Option<f64> {
    let mut bench = Bench::new(&built.model);
    let mut least: Option<f64> = None;
    for (n, ask) in built
        .model
        .machine
        .asks
        .iter()
        .enumerate()
        .filter(|(_, a)| a.reading == reading)
    {
        if !matches!(
            ask.judges,
            machine::model::Judges::At { .. } | machine::model::Judges::Anywhere { .. }
        ) {
            continue;
        }
        let stand = stand_of_ask(&bench, ask, &built.stand.settings);
        if let Some(found) = built.ask(&mut bench, n, &stand) {
            let by = margin(found.verdict.value + off, wanted(ask));
            least = Some(least.map_or(by, |l| l.min(by)));
        }
    }
    least
}
