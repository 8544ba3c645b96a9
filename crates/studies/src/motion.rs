//! How does the machine move over one drive?

use crate::answers::{Cell, ChangePoint, EndKind, Inside, Motion, MotionRow, TurningPoint};
use crate::assemble::{Model, Stand};
use crate::call::Sweep;
use crate::refusal::Refusal;
use crate::run::{Bench, By, Here, Local, Read, Span, Track, near, places, stationary};
use std::f64::consts::TAU;
use std::rc::Rc;

/// Rows beyond this are refused.
const MOST_ROWS: f64 = 100_000.0;
/// Places of the drive nearer than this share of themselves (or of one) are one row of the table.
const SAME_PLACE: f64 = 1e-9;

/// Readings over one drive, with rates, turning points, dead centres and whatever else ends the motion.
///
/// # Errors
/// Values that cannot be reached; a table without end.
pub fn motion(model: &Model, stand: &Stand, sweep: &Sweep) -> Result<Motion, Refusal> {
    let drive = sweep.drive;
    if drive >= model.machine.drives.len() {
        return Err(Refusal::new(
            "the machine has no such drive",
            "add a [drive.NAME] to the machine file",
        ));
    }
    let mut bench = Bench::new(model);
    // The drive itself starts as drawn: the table says how far it goes.
    let mut start = stand.clone();
    start.drives[drive] = model.machine.drives[drive].drawn;
    let here = bench.bring(&start)?;
    let moves_nothing = || {
        Refusal::new(
            format!("drive {} moves nothing", model.machine.drives[drive].name),
            "",
        )
    };
    let (mut track, mut span) = bench.span(&here, drive).ok_or_else(moves_nothing)?;
    let readings: Vec<usize> = if sweep.readings.is_empty() {
        (0..model.machine.readings.len()).collect()
    } else {
        sweep
            .readings
            .iter()
            .copied()
            .filter(|&r| r < model.machine.readings.len())
            .collect()
    };
    let mut values = values(model, sweep, &span)?;
    if span.round {
        // A drive that goes round can be asked for more turns than one.
        let (low, high) = values
            .iter()
            .fold((span.low.at, span.high.at), |(l, h), &v| {
                (l.min(v), h.max(v))
            });
        if low < span.low.at - near(low) || high > span.high.at + near(high) {
            track = bench
                .between(&here, drive, low, high)
                .ok_or_else(moves_nothing)?;
            span.low.at = track.low.at;
            span.high.at = track.high.at;
        }
    }
    let change_points = track.change_points(model).into_iter();
    let change_points: Vec<ChangePoint> = change_points
        .filter(|at| *at >= span.low.at && *at <= span.high.at)
        .map(|at| ChangePoint {
            at,
            cause: track.change_name(model, at),
        })
        .collect();
    for bound in [&span.low, &span.high] {
        if !matches!(
            bound.kind,
            EndKind::Range | EndKind::WholeTurn | EndKind::Open
        ) {
            put_between(&mut values, bound.at);
        }
    }
    for change in &change_points {
        put_between(&mut values, change.at);
    }
    let mut rows = Vec::with_capacity(values.len());
    let mut there = here.clone();
    for at in values {
        rows.push(row(&mut bench, &track, &span, at, &readings, &mut there));
    }
    let mut turning_points = Vec::new();
    for (i, &reading) in readings.iter().enumerate() {
        turning_points.extend(turns(&mut bench, &track, &span, reading, i, &mut there));
    }
    Ok(Motion {
        machine: model.machine.name.clone(),
        drive: model.drive(drive),
        held: model.held(&start, Some(drive)),
        readings: readings.iter().map(|&r| model.reading(r)).collect(),
        rows,
        reach: (&span).into(),
        turning_points,
        change_points,
        falls_short: crate::check::falls_short(model, sweep, &span),
    })
}

/// The values of the table.
pub(crate) fn values(model: &Model, sweep: &Sweep, span: &Span) -> Result<Vec<f64>, Refusal> {
    let d = &model.machine.drives[sweep.drive];
    let range = match (d.range, d.whole_turn) {
        (Some(range), false) => range,
        // A whole turn that is cut short is shown as far as it goes.
        _ => [span.low.at, span.high.at],
    };
    let (from, to) = (sweep.from.unwrap_or(range[0]), sweep.to.unwrap_or(range[1]));
    let width = to - from;
    let step = sweep.step.or(d.step).map_or_else(
        || round_step(width, crate::run::turns(model, sweep.drive)),
        f64::abs,
    );
    if !(from.is_finite() && to.is_finite() && step.is_finite()) {
        return Err(Refusal::of_question(
            "the table has no end",
            "write where it begins and ends",
        ));
    }
    if width.abs() <= near(from) || step <= 0.0 {
        return Ok(vec![from]);
    }
    let count = width.abs() / step;
    if count > MOST_ROWS {
        return Err(Refusal::of_question(
            "the table would have more than 100000 lines",
            "write a greater step",
        ));
    }
    let whole = (count * (1.0 + 1e-12) + 1e-9).floor();
    let mut values: Vec<f64> = (0..=whole as usize)
        .map(|i| from + width.signum() * step * i as f64)
        .collect();
    if let Some(last) = values.last_mut() {
        if (*last - to).abs() <= 1e-9 * step {
            *last = to;
        } else {
            values.push(to);
        }
    }
    Ok(values)
}

/// Puts a place of note between the steps, unless a step stands there.
fn put_between(values: &mut Vec<f64>, at: f64) {
    let (Some(&first), Some(&last)) = (values.first(), values.last()) else {
        return;
    };
    let same = |v: &f64| (v - at).abs() <= SAME_PLACE * at.abs().max(1.0);
    if at < first.min(last) || at > first.max(last) || values.iter().any(same) {
        return;
    }
    let place = if first <= last {
        values.partition_point(|v| *v < at)
    } else {
        values.partition_point(|v| *v > at)
    };
    values.insert(place, at);
}

/// A step that a person would choose: some twenty lines, in round numbers.
fn round_step(width: f64, turns: bool) -> f64 {
    let wanted = width.abs() / 20.0;
    if turns {
        let steps = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0];
        return steps
            .iter()
            .map(|d: &f64| d * TAU / 360.0)
            .find(|s| *s >= wanted * (1.0 - 1e-9))
            .unwrap_or(TAU / 12.0);
    }
    if wanted <= 0.0 {
        return 1.0;
    }
    let decade = 10_f64.powf(wanted.log10().floor());
    [1.0, 2.0, 5.0]
        .iter()
        .map(|m| m * decade)
        .find(|s| *s >= wanted * (1.0 - 1e-9))
        .unwrap_or(10.0 * decade)
}

fn row(
    bench: &mut Bench<'_>,
    track: &Rc<Track>,
    span: &Span,
    at: f64,
    readings: &[usize],
    there: &mut Here,
) -> MotionRow {
    let model = bench.model;
    // A dead centre is found to a billionth.
    let close = SAME_PLACE * at.abs().max(1.0);
    let there_at = at.clamp(span.low.at, span.high.at.max(span.low.at));
    let reached = (there_at - at).abs() <= close;
    let sample = if reached {
        track.at(model, there_at)
    } else {
        None
    };
    let Some(sample) = sample else {
        return MotionRow {
            at,
            reached: false,
            cells: vec![Cell::default(); readings.len()],
        };
    };
    track.put(model, &sample, there);
    let bodies = &model.groups[track.group].bodies;
    let rates = track
        .rates(model, &sample)
        .map(|own| bench.spread(bodies, own));
    let mut cell = |reading: usize| {
        let by = rates.as_ref().map(|r| By {
            drive: track.drive,
            rates: Some(r),
        });
        let read = bench.read(reading, there, by);
        Cell {
            value: read.map(|r| r.value),
            rate: read.and_then(|r| r.slope),
            taken_at: read.and_then(|r| r.taken_at),
            and_at: read.and_then(|r| r.and_at),
        }
    };
    MotionRow {
        at,
        reached: true,
        cells: readings.iter().map(|&r| cell(r)).collect(),
    }
}

fn model_inside(bench: &Bench<'_>, reading: usize) -> Inside {
    Inside::of(bench.model.machine.readings[reading].unit)
}

/// Where a reading turns back within the reach.
fn turns(
    bench: &mut Bench<'_>,
    track: &Rc<Track>,
    span: &Span,
    reading: usize,
    index: usize,
    there: &mut Here,
) -> Vec<TurningPoint> {
    if !bench.depends(reading, track.drive) {
        return Vec::new();
    }
    let places = places(track, span);
    let mut known: Vec<(f64, Read)> = Vec::with_capacity(places.len());
    for place in places {
        let at = place.at(track);
        // Where it has no slope, its neighbours tell on which side it turns.
        let read = bench.slope_on(reading, track, at, there);
        if let Some(read) = read.filter(|r| r.slope.is_some()) {
            known.push((at, read));
        }
    }
    let biggest = known
        .iter()
        .filter_map(|k| k.1.slope)
        .map(f64::abs)
        .filter(|s| s.is_finite())
        .fold(0.0, f64::max);
    // Slopes that are rounding alone do not turn.
    let scale = match model_inside(bench, reading) {
        Inside::Radian => 1.0,
        _ => bench.model.mechanism.size(&there.params),
    };
    if biggest <= 1e-11 * scale {
        return Vec::new();
    }
    let flat = 1e-9 * biggest;
    let mut found = Vec::new();
    let mut push = |at: f64, value: f64, greatest: bool| {
        found.push(TurningPoint {
            reading: index,
            at,
            value,
            greatest,
        });
    };
    for pair in known.windows(2) {
        let ((x, a), (y, b)) = (pair[0], pair[1]);
        let (Some(sx), Some(sy)) = (a.slope, b.slope) else {
            continue;
        };
        let mut look =
            |low: (f64, f64), high: (f64, f64), bench: &mut Bench<'_>, there: &mut Here| {
                let f = |z: f64| bench.slope_on(reading, track, z, there).map(Local::from);
                if let Some((at, value)) = stationary(low, high, None, f) {
                    push(at, value, low.1 > 0.0);
                }
            };
        if sx.abs() > flat && sy.abs() > flat && (sx > 0.0) != (sy > 0.0) {
            look((x, sx), (y, sy), bench, there);
        } else if sx.abs() > flat && sy.abs() > flat && (sx > 0.0) != (b.value > a.value) {
            // Same sense at both ends, yet the value went the other way: it turned twice between them.
            let middle = 0.5 * (x + y);
            let slope = bench
                .slope_on(reading, track, middle, there)
                .and_then(|r| r.slope);
            if let Some(s) = slope.filter(|s| (*s > 0.0) != (sx > 0.0)) {
                look((x, sx), (middle, s), bench, there);
                look((middle, s), (y, sy), bench, there);
            }
        }
    }
    // A turning point that falls on a sample has no slope there: told by its neighbours.
    for three in known.windows(3) {
        let slopes = [three[0].1.slope, three[1].1.slope, three[2].1.slope];
        if let [Some(a), Some(b), Some(c)] = slopes
            && b.abs() <= flat
            && a.abs() > flat
            && c.abs() > flat
            && (a > 0.0) != (c > 0.0)
        {
            found.push(TurningPoint {
                reading: index,
                at: three[1].0,
                value: three[1].1.value,
                greatest: a > 0.0,
            });
        }
    }
    // In a whole turn the first place is the last one too.
    if let (true, [first, .., before, last]) = (span.round, known.as_slice())
        && let (Some(b), Some(m), Some(a)) = (
            before.1.slope,
            last.1.slope,
            known.get(1).and_then(|k| k.1.slope),
        )
        && m.abs() <= flat
        && b.abs() > flat
        && a.abs() > flat
        && (b > 0.0) != (a > 0.0)
    {
        found.push(TurningPoint {
            reading: index,
            at: first.0,
            value: first.1.value,
            greatest: b > 0.0,
        });
    }
    found.sort_by(|a, b| a.at.total_cmp(&b.at));
    found
}
