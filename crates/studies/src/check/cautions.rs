//! Things to beware of in a machine that works.

use super::numbered;
use crate::answers::{Finding, Severity};
use crate::assemble::{Gauge, Model};
use crate::clearance::crush_words;
use crate::run::{Bench, Here, Span, Track, near};
use crate::say;
use machine::model::Measures;
use mechanics::measure_along;

/// A reading that somewhere moves this many times faster than on its way as a whole has a dead centre near. A crank moves a
/// slide at most some 1.6 times faster than on average, a quick return three to four times (common practice: stay below).
const RUNS_AWAY: f64 = 8.0;
/// A reading that changes by less from one place to the next rests, mm or rad.
const STILL: f64 = 1e-9;
/// Gap that lets a finger go unhurt, mm (from memory: ISO 13854, minimum gaps to avoid crushing).
const FINGER: f64 = 25.0;

/// The reading that runs away most while a drive goes through its reach.
pub(super) fn runs_away(
    bench: &mut Bench<'_>,
    drive: usize,
    track: &Track,
    span: &Span,
    here: &Here,
) -> Option<Finding> {
    let model = bench.model;
    let direction = bench.direction(drive);
    let inside = |at: f64| at >= span.low.at - near(at) && at <= span.high.at + near(at);
    let mut there = here.clone();
    let mut worst: Option<(f64, usize, f64)> = None;
    for (r, gauge) in model.gauges.iter().enumerate() {
        let Gauge::Pose(measure) = gauge else {
            continue;
        };
        if !bench.depends(r, drive) {
            continue;
        }
        let (mut fastest, mut at, mut way, mut last) = (0.0_f64, 0.0, 0.0, None::<[f64; 2]>);
        // What rests part of the way, as a cam or an indexing wheel lets it, is judged by the rest of it.
        let mut moving = 0.0;
        for i in 0..track.samples.len() {
            let sample = &track.samples[i];
            if !inside(sample.at) {
                continue;
            }
            track.put(model, sample, &mut there);
            let value = model
                .mechanism
                .measure(&there.params, &there.poses, measure);
            if let Some([before, from]) = last {
                let gone = (value - before).abs();
                way += gone;
                if gone > STILL {
                    moving += (sample.at - from).abs();
                }
            }
            last = Some([value, sample.at]);
            let Some(own) = track.rates_at(model, i) else {
                continue;
            };
            let rates = bench.spread(&model.groups[track.group].bodies, own);
            let rate = measure_along(
                &model.mechanism,
                &there.params,
                &there.poses,
                measure,
                &direction,
                &rates,
            )[1]
            .abs();
            if rate > fastest {
                (fastest, at) = (rate, sample.at);
            }
        }
        let times = if way > 0.0 && moving > 0.0 {
            fastest / (way / moving)
        } else {
            0.0
        };
        if times.is_finite() && worst.is_none_or(|w| times > w.0) {
            worst = Some((times, r, at));
        }
    }
    let (times, reading, at) = worst.filter(|w| w.0 > RUNS_AWAY)?;
    let (q, d) = (model.drive(drive), &model.machine.drives[drive]);
    let sentence = format!(
        "near {} of drive {} {} runs away: {times:.0} times as fast as on average, a dead centre is near",
        say::short(at, q.unit),
        d.name,
        model.machine.readings[reading].name
    );
    let mut f = numbered(
        Severity::Caution,
        sentence,
        times,
        crate::Inside::Count,
        format!("drive.{}", d.name),
        d.place,
    );
    f.what_to_try = Some(String::from(
        "keep the drive clear of it with a stop, or lengthen the rod or arm that comes into line",
    ));
    Some(f)
}

/// One word on hands between closing faces, for the gap that closes most.
pub(super) fn pinch(bench: &mut Bench<'_>, here: &Here) -> Option<Finding> {
    let model: &Model = bench.model;
    let mut least: Option<(f64, usize)> = None;
    for (r, reading) in model.machine.readings.iter().enumerate() {
        if !matches!(reading.measures, Measures::Gap(_)) {
            continue;
        }
        if let Some(gap) = farthest(bench, r, here, false)
            && least.is_none_or(|l| gap < l.0)
        {
            least = Some((gap, r));
        }
    }
    let (gap, r) = least?;
    let crushes = if gap < FINGER {
        None
    } else {
        let opens = farthest(bench, r, here, true)?;
        Some(crush_words(&model.reading(r), [gap, opens])?)
    };
    let reading = &model.machine.readings[r];
    let runs_in = gap < -near(0.0) - 1e-6;
    let sentence = if runs_in {
        format!(
            "the faces of gap {} would run {} into one another, and crush what is between them: keep hands out and guard it",
            reading.name,
            say::value(-gap, reading.unit)
        )
    } else if let Some(crushes) = crushes {
        crushes
    } else {
        format!(
            "{} closes to {}, less than the {} that leave a finger unhurt (ISO 13854): keep hands out and guard it",
            reading.name,
            say::value(gap, reading.unit),
            say::short(FINGER, reading.unit)
        )
    };
    let inside = crate::Inside::of(reading.unit);
    let mut f = numbered(
        Severity::Caution,
        sentence,
        gap,
        inside,
        format!("reading.{}", reading.name),
        reading.place,
    );
    f.what_to_try = Some(String::from(if runs_in {
        "shorten the range of the drive or set the faces farther apart; local machine guarding rules come first"
    } else {
        "local machine guarding rules come first"
    }));
    Some(f)
}

/// Rounds of the drives in which a gap is followed to where it is least, and by how little it has to close in one of them for another, mm.
const ROUNDS: usize = 40;
const GAIN: f64 = 1e-6;

/// The least or greatest value of a reading that any drive moves: one drive after the other to where it is, until none of them changes it any
/// more.
fn farthest(bench: &mut Bench<'_>, reading: usize, here: &Here, greatest: bool) -> Option<f64> {
    let drives = 0..bench.model.machine.drives.len();
    let moving: Vec<usize> = drives.filter(|&d| bench.depends(reading, d)).collect();
    let mut there = here.clone();
    let mut best = None::<f64>;
    for _ in 0..ROUNDS {
        for &drive in &moving {
            if let Some(extreme) = bench.extreme(reading, &there, drive, greatest) {
                there = extreme.here;
            }
        }
        let value = bench
            .value(reading, &there)
            .filter(|_| !moving.is_empty())?;
        let gained = best.is_none_or(|b| (value - b).abs() > GAIN);
        best = Some(value);
        if moving.len() < 2 || !gained {
            break;
        }
    }
    best
}

/// A gap lies between faces that look at each other; where they do not as drawn, the reading counts along the first face alone.
pub(super) fn look_away(model: &Model) -> Vec<Finding> {
    let m = &model.machine;
    let mut findings = Vec::new();
    for reading in &m.readings {
        let Measures::Gap([a, b]) = reading.measures else {
            continue;
        };
        let (Some(a), Some(b)) = (m.faces.get(a), m.faces.get(b)) else {
            continue;
        };
        let way = |point: usize, facing: f64| -> [f64; 3] {
            let (p, (s, c)) = (&m.planes[m.points[point].plane], facing.sin_cos());
            std::array::from_fn(|i| c * p.right[i] + s * p.up[i])
        };
        let (one, other) = (way(a.at, a.facing), way(b.at, b.facing));
        let together: f64 = (0..3).map(|i| one[i] * other[i]).sum();
        let between = (-together).clamp(-1.0, 1.0).acos();
        if between <= SQUINT {
            continue;
        }
        let sentence = format!(
            "faces {} and {} of gap {} do not look at each other: they are {} off as drawn",
            a.name,
            b.name,
            reading.name,
            say::short(between, quantity::Unit::Degree)
        );
        let mut f = numbered(
            Severity::Caution,
            sentence,
            between,
            crate::Inside::Radian,
            format!("reading.{}", reading.name),
            reading.place,
        );
        f.what_to_try = Some(format!(
            "let {} face the other way than {}; as it is the gap counts along {} alone",
            b.name, a.name, a.name
        ));
        findings.push(f);
    }
    findings
}

/// Faces that are less off than this meet all the same, rad: a wedge, a worn jaw.
const SQUINT: f64 = 0.5;
