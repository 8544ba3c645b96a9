//! What happens over a whole turn (or stroke) of one drive: ends, dwells, speeds; and over two drives at once.

mod map;

#[cfg(test)]
mod tests;

pub use map::{Closing, ClosingCurve, Map, MapAsked, closing, map, second};

use crate::answers::{Held, Quantity};
use crate::assemble::{Gauge, Model, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, Here, Span, Track, crossing, near, places};
use schemars::JsonSchema;
use serde::Serialize;
use std::rc::Rc;

/// What is asked of a cycle.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    /// The drive that goes round.
    pub drive: usize,
    /// Readings; all that one pose gives when empty.
    pub readings: Vec<usize>,
    /// A reading dwells while it stays within this of its end: mm, and rad for angles.
    pub within: [f64; 2],
    /// How fast the drive goes, rad/s or mm/s; none when only rates by the drive are wanted.
    pub speed: Option<f64>,
}

/// A reading at a place of the drive.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Spot {
    /// Value of the drive.
    pub at: f64,
    /// The reading, its rate or its second rate there, as the field says.
    pub value: f64,
}

/// How long a reading stays near an end.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Dwell {
    /// From this value of the drive; may lie before the start of the turn.
    pub from: f64,
    /// To this one.
    pub to: f64,
    /// To less from.
    pub long: f64,
    /// It goes on beyond an end that is not the end of a turn.
    pub cut: bool,
}

/// One place of the curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Beat {
    /// Value of the drive.
    pub at: f64,
    /// The reading.
    pub value: f64,
    /// Its rate by the drive; none at a dead centre.
    pub rate: Option<f64>,
    /// Its second rate.
    pub second: Option<f64>,
}

/// A reading over the turn. Rates are in the inside unit of the reading by that of the drive, second rates by its square.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Turned {
    /// The reading.
    pub reading: Quantity,
    /// Where it is least.
    pub least: Spot,
    /// Where it is greatest.
    pub greatest: Spot,
    /// It stays within this of an end while it dwells.
    pub within: f64,
    /// Its stay at its least value.
    pub low_dwell: Dwell,
    /// Its stay at its greatest value.
    pub high_dwell: Dwell,
    /// Where it falls fastest; none when it never falls.
    pub falls: Option<Spot>,
    /// Where it rises fastest.
    pub rises: Option<Spot>,
    /// Where it is hardest turned upwards (greatest second rate).
    pub turned_up: Option<Spot>,
    /// Where it is hardest turned downwards.
    pub turned_down: Option<Spot>,
    /// The curve.
    pub curve: Vec<Beat>,
}

/// A whole turn or stroke.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Cycle {
    /// Name of the machine.
    pub machine: String,
    /// The drive.
    pub drive: Quantity,
    /// It goes round without end.
    pub round: bool,
    /// From here.
    pub from: f64,
    /// To there.
    pub to: f64,
    /// How fast it goes, inside units a second.
    pub speed: Option<f64>,
    /// The other drives and the settings.
    pub held: Vec<Held>,
    /// Readings.
    pub readings: Vec<Turned>,
    /// Readings that were asked for and that the drive does not move, or that are taken over a drive themselves.
    pub left_out: Vec<String>,
}

/// Places of the curve.
const BEATS: usize = 720;

/// Ends, dwells and rates of readings over all that a drive can do.
///
/// # Errors
/// The machine cannot be brought there; the drive moves nothing.
pub fn cycle(model: &Model, stand: &Stand, asked: &Asked) -> Result<Cycle, Refusal> {
    let mut bench = Bench::new(model);
    let (here, track, span) = reach(&mut bench, stand, asked.drive)?;
    let all: Vec<usize> = if asked.readings.is_empty() {
        (0..model.machine.readings.len())
            .filter(|&r| is_of_pose(model, r) && bench.depends(r, asked.drive))
            .collect()
    } else {
        asked.readings.clone()
    };
    let (mut readings, mut left_out) = (Vec::new(), Vec::new());
    for reading in all {
        let name = model.reading(reading).name;
        if !is_of_pose(model, reading) {
            left_out.push(format!(
                "{name} is taken over a drive itself; ask for the reading it is taken of"
            ));
        } else if !bench.depends(reading, asked.drive) {
            left_out.push(format!(
                "{} does not move {name}",
                model.drive(asked.drive).name
            ));
        } else {
            let turned = turned(&mut bench, &here, &track, &span, reading, asked);
            readings.extend(turned);
        }
    }
    Ok(Cycle {
        machine: model.machine.name.clone(),
        drive: model.drive(asked.drive),
        round: span.round,
        from: span.low.at,
        to: span.high.at,
        speed: asked.speed,
        held: model.held(&here.stand, Some(asked.drive)),
        readings,
        left_out,
    })
}

fn is_of_pose(model: &Model, reading: usize) -> bool {
    matches!(model.gauges.get(reading), Some(Gauge::Pose(_)))
}

/// The machine there, and the path of the drive.
fn reach(
    bench: &mut Bench<'_>,
    stand: &Stand,
    drive: usize,
) -> Result<(Here, Rc<Track>, Span), Refusal> {
    let model = bench.model;
    if drive >= model.machine.drives.len() {
        return Err(Refusal::new(
            "the machine has no such drive",
            "add a [drive.NAME] to the machine file",
        ));
    }
    let mut start = stand.clone();
    start.drives[drive] = model.machine.drives[drive].drawn;
    let here = bench.bring(&start)?;
    let (track, span) = bench.span(&here, drive).ok_or_else(|| {
        Refusal::new(
            format!("drive {} moves nothing", model.machine.drives[drive].name),
            "",
        )
    })?;
    Ok((here, track, span))
}

fn turned(
    bench: &mut Bench<'_>,
    here: &Here,
    track: &Rc<Track>,
    span: &Span,
    reading: usize,
    asked: &Asked,
) -> Option<Turned> {
    let quantity = bench.model.reading(reading);
    let mut there = here.clone();
    let mut curve: Vec<Beat> = Vec::with_capacity(BEATS + 64);
    let (low, high) = (span.low.at, span.high.at);
    let mut grid: Vec<f64> = (0..=BEATS)
        .map(|i| low + (high - low) * i as f64 / BEATS as f64)
        .collect();
    // The places that the path was followed by as well: it bends most where they stand closest.
    let known = places(track, span).into_iter().map(|p| p.at(track));
    grid.extend(known);
    grid.sort_by(f64::total_cmp);
    grid.dedup_by(|a, b| (*a - *b).abs() <= 1e-7 * (high - low));
    for at in grid {
        if let Some(read) = bench.slope_on(reading, track, at, &mut there) {
            curve.push(Beat {
                at,
                value: read.value,
                rate: read.slope,
                second: read.bend,
            });
        }
    }
    let mut end = |greatest: bool| {
        let found = bench.extreme(reading, here, asked.drive, greatest)?;
        let value = bench.value(reading, &found.here)?;
        Some(Spot {
            at: found.at,
            value,
        })
    };
    let (least, greatest) = (end(false)?, end(true)?);
    let within = asked.within[usize::from(quantity.inside == crate::answers::Inside::Radian)];
    let mut value_at = |at: f64| {
        bench
            .slope_on(reading, track, at, &mut there)
            .map(|r| r.value)
    };
    let low_dwell = dwell(
        &curve,
        span,
        least,
        |v| v - least.value - within,
        &mut value_at,
    );
    let high_dwell = dwell(
        &curve,
        span,
        greatest,
        |v| greatest.value - v - within,
        &mut value_at,
    );
    let rates: Vec<(f64, f64)> = curve.iter().filter_map(|b| Some((b.at, b.rate?))).collect();
    let seconds: Vec<(f64, f64)> = curve
        .iter()
        .filter_map(|b| Some((b.at, b.second?)))
        .collect();
    let mut rate_at = |at: f64| bench.slope_on(reading, track, at, &mut there)?.slope;
    let falls = peak(&rates, -1.0, &mut rate_at).filter(|s| s.value < 0.0);
    let rises = peak(&rates, 1.0, &mut rate_at).filter(|s| s.value > 0.0);
    let mut second_at = |at: f64| bench.slope_on(reading, track, at, &mut there)?.bend;
    let turned_up = peak(&seconds, 1.0, &mut second_at).filter(|s| s.value > 0.0);
    let turned_down = peak(&seconds, -1.0, &mut second_at).filter(|s| s.value < 0.0);
    Some(Turned {
        reading: quantity,
        least,
        greatest,
        within,
        low_dwell,
        high_dwell,
        falls,
        rises,
        turned_up,
        turned_down,
        curve,
    })
}

/// The stay about an end: outwards from it to where `beyond` turns positive. A round path goes on over its ends.
fn dwell(
    curve: &[Beat],
    span: &Span,
    end: Spot,
    beyond: impl Fn(f64) -> f64,
    value_at: &mut dyn FnMut(f64) -> Option<f64>,
) -> Dwell {
    let turn = span.high.at - span.low.at;
    // Once round and no further; the last place of a round curve is its first again.
    let count = if span.round {
        curve.len().saturating_sub(1)
    } else {
        curve.len()
    };
    let after = curve.partition_point(|b| b.at <= end.at + near(end.at));
    let mut side = |forwards: bool| -> (f64, bool) {
        let mut inside = (end.at, beyond(end.value));
        for step in 0..count {
            let index = if forwards {
                (after + step).checked_rem(count.max(1)).unwrap_or(0)
            } else {
                (after + 2 * count - 1 - step) % count.max(1)
            };
            let Some(beat) = curve.get(index) else { break };
            let wrapped = if forwards {
                after + step >= count
            } else {
                step >= after
            };
            if wrapped && !span.round {
                break;
            }
            let shift = match (wrapped, forwards) {
                (false, _) => 0.0,
                (true, true) => turn,
                (true, false) => -turn,
            };
            let here = (beat.at + shift, beyond(beat.value));
            if (!forwards && here.0 > end.at) || (forwards && here.0 < end.at) {
                continue;
            }
            if here.1 > 0.0 {
                let on = |x: f64| {
                    let mut x = x;
                    if span.round {
                        if x > span.high.at {
                            x -= turn;
                        } else if x < span.low.at {
                            x += turn;
                        }
                    }
                    value_at(x).map(&beyond)
                };
                return (crossing(inside, here, on), false);
            }
            inside = here;
        }
        (inside.0, !span.round)
    };
    let (to, cut_high) = side(true);
    let (from, cut_low) = side(false);
    // A reading that never leaves its end dwells all the way round.
    let long = (to - from).min(turn);
    Dwell {
        from,
        to,
        long,
        cut: cut_high || cut_low,
    }
}

/// The greatest of a sampled function (times a sign), refined by golden section between its neighbours.
fn peak(samples: &[(f64, f64)], sign: f64, f: &mut dyn FnMut(f64) -> Option<f64>) -> Option<Spot> {
    const GOLDEN: f64 = 0.618_033_988_749_895;
    // Of equal ones the first.
    let (i, best) = samples
        .iter()
        .enumerate()
        .reduce(|a, b| if sign * b.1.1 > sign * a.1.1 { b } else { a })?;
    let mut best = *best;
    let mut low = samples.get(i.wrapping_sub(1)).map_or(best.0, |s| s.0);
    let mut high = samples.get(i + 1).map_or(best.0, |s| s.0);
    for _ in 0..40 {
        let (a, b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
        let (Some(fa), Some(fb)) = (f(a), f(b)) else {
            break;
        };
        for found in [(a, fa), (b, fb)] {
            if sign * found.1 > sign * best.1 {
                best = found;
            }
        }
        if sign * fa >= sign * fb {
            high = b;
        } else {
            low = a;
        }
    }
    Some(Spot {
        at: best.0,
        value: best.1,
    })
}
