//! Things to beware of in a machine that works.

use super::numbered;
use crate::answers::{Finding, Severity};
use crate::assemble::{Gauge, Model};
use crate::clearance::crush;
use crate::run::{Bench, Here, Span, Track, near};
use crate::say;
use machine::model::Measures;
use mechanics::measure_along;

/// A reading that somewhere moves this many times faster than on its way as a whole has a dead centre near. A crank moves a
/// slide at most some 1.6 times faster than on average, a quick return three to four times (common practice: stay below).
const RUNS_AWAY: f64 = 8.0;
/// A reading that changes by less from one place to the next rests, mm or rad.
const STILL: f64 = 1e-9;

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
        // An indexing wheel rests for the most part of the turn.
        let moved = crate::assemble::measured(&model.mechanism, measure);
        let indexed = |b: &usize| model.machine.genevas.iter().any(|g| g.wheel == *b);
        if !bench.depends(r, drive) || moved.iter().any(indexed) {
            continue;
        }
        let (mut fastest, mut at, mut way, mut last) = (0.0_f64, 0.0, 0.0, None::<[f64; 2]>);
        // What rests part of the way, as a cam lets it, is judged by the rest of it.
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

/// Gaps that close on fingers and hands.
pub(super) fn pinch(bench: &mut Bench<'_>, here: &Here) -> Vec<Finding> {
    let model: &Model = bench.model;
    let drives: Vec<usize> = (0..model.machine.drives.len()).collect();
    crush::gaps(model)
        .into_iter()
        .filter_map(|gap| {
            let ends = crush::ends(bench, here, gap, &drives)?;
            crush::finding(model, &model.machine.readings[gap].name, ends)
        })
        .collect()
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
