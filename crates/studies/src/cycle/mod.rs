//! What happens over a whole turn (or stroke) of one drive: ends, dwells, speeds; and over two drives at once.

mod keeping;
mod map;
pub(crate) mod masses;
pub(crate) mod period;
mod point;
mod pressed;
mod running;
pub(crate) mod turning;

#[cfg(test)]
mod period_tests;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod turning_tests;

pub use keeping::CamAtSpeed;
pub use map::{Closing, ClosingCurve, Map, MapAsked, closing, map, second};
pub use masses::Weighed;
use period::Period;
pub use point::{PointBeat, PointTurned, point_turned};
pub use pressed::{CamPressed, Press};
pub use running::{Drove, Ended, LastTurn, Moment, Run, RunAsked, Running, running};
pub use turning::{
    Balance, Effort, FastWheel, Flywheel, PinAtSpeed, RunDown, Turning, TurningAsked, turning,
};

use crate::answers::{EndKind, Finding, Held, Quantity, Reach};
use crate::assemble::{Gauge, Model, Stand};
use crate::call::Sweep;
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
    /// Value of the drive, on its dial: of one that goes round from nothing to a whole turn.
    pub at: f64,
    /// The reading, its rate or its second rate there, as the field says.
    pub value: f64,
}

/// How long a reading stays near an end.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Dwell {
    /// From this value of the drive, on its dial.
    pub from: f64,
    /// To this one; less than `from` where the dial comes round between them.
    pub to: f64,
    /// From the one to the other.
    pub long: f64,
    /// Rate of the reading by the drive where it comes in, and where it goes out: how fast it closes and opens. None at a dead centre, or
    /// where the way begins or ends inside.
    pub rates: [Option<f64>; 2],
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
    /// Its third rate, of which jerk comes.
    pub third: Option<f64>,
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
    /// All other stretches in which it rests: within the tolerance of its least or greatest value, or standing still anywhere. The longest first.
    pub stays: Vec<Dwell>,
    /// Where it falls fastest; none when it never falls.
    pub falls: Option<Spot>,
    /// Where it rises fastest.
    pub rises: Option<Spot>,
    /// Where it is hardest turned upwards (greatest second rate).
    pub turned_up: Option<Spot>,
    /// Where it is hardest turned downwards.
    pub turned_down: Option<Spot>,
    /// Where its jerk is greatest either way (third rate).
    pub jerks: Option<Spot>,
    /// Where its second rate steps, and by how much: its third rate has no bound there.
    pub steps: Vec<Spot>,
    /// It does not come back after a turn, but for the turn itself: by so much it goes on. Its ends mean nothing then.
    pub goes_on: Option<f64>,
    /// Places of dead centres towards which its rates grow without bound: the fastest place is there, and has no number.
    pub without_bound: Vec<f64>,
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
    /// Turns of the drive until the machine is back where it was; more than one where it turns the slow parts through gears.
    pub turns_a_cycle: u32,
    /// Turns that are told here: all of those, a hundred at most.
    pub turns_told: u32,
    /// From here.
    pub from: f64,
    /// To there.
    pub to: f64,
    /// How fast it goes, inside units a second.
    pub speed: Option<f64>,
    /// How long all of those turns, or the way from one end to the other, takes at that speed, s.
    pub seconds: Option<f64>,
    /// The other drives and the settings.
    pub held: Vec<Held>,
    /// How far it goes, and why no further.
    pub reach: Reach,
    /// What it should do and does not: a whole turn, its range.
    pub falls_short: Vec<Finding>,
    /// Readings.
    pub readings: Vec<Turned>,
    /// Readings that were asked for and that the drive does not move, or that are taken over a drive themselves.
    pub left_out: Vec<String>,
    /// What is to be said where a turn of the drive is not the machine's.
    pub not_back: Option<String>,
}

/// Places of the curve, and of one of many turns at most.
const BEATS: usize = 720;
const MOST_BEATS: usize = 7200;
/// Places of it in a piece of a cam's program.
const IN_A_PIECE: u32 = 24;

/// Ends, dwells and rates of readings over all that a drive can do.
///
/// # Errors
/// The machine cannot be brought there; the drive moves nothing.
pub fn cycle(model: &Model, stand: &Stand, asked: &Asked) -> Result<Cycle, Refusal> {
    if let Some(refusal) = too_steep(model) {
        return Err(refusal);
    }
    let mut bench = Bench::new(model);
    let (here, track, mut span) = reach(&mut bench, stand, asked.drive)?;
    let round = span.round;
    let period = if round { track.period } else { Period::ONE };
    let name = model.drive(asked.drive).name;
    let sweep = Sweep {
        drive: asked.drive,
        from: None,
        to: None,
        step: None,
        readings: Vec::new(),
    };
    let falls_short = crate::check::falls_short(model, &sweep, &span);
    // A turn after which the machine is not back is a way with two ends.
    let not_back = period::words(&name, period);
    span.round &= not_back.is_none();
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
        round,
        turns_a_cycle: period.back.unwrap_or(period.turns),
        turns_told: period.turns,
        from: span.low.at,
        to: span.high.at,
        speed: asked.speed,
        seconds: asked
            .speed
            .filter(|s| *s > 0.0)
            .map(|s| (span.high.at - span.low.at) / s),
        held: model.held(&here.stand, Some(asked.drive)),
        reach: (&span).into(),
        falls_short,
        readings,
        left_out,
        not_back,
    })
}

/// Places of the curve over so many turns.
fn beats(turns: u32) -> usize {
    let turns = turns.max(1) as usize;
    (BEATS * turns).min(MOST_BEATS.max(36 * turns))
}

/// Steeper than this a cam moves its follower as good as at once, and no turn of it is followed, rad.
const AT_ONCE: f64 = 89.9 * std::f64::consts::PI / 180.0;

/// A cam that no turn can be told of.
fn too_steep(model: &Model) -> Option<Refusal> {
    let steep = (0..model.machine.cams.len())
        .find(|&c| crate::cams::steepest(model, c).is_some_and(|s| s.value > AT_ONCE))?;
    let steep = crate::cams::survey(model, steep)?;
    let at = steep.steepest.at;
    let piece = steep.pieces.iter().find(|p| (p.from..=p.to).contains(&at));
    let deg = |x: f64| quantity::show(x, quantity::Unit::Degree, 2);
    Some(Refusal::new(
        format!(
            "cam {} is {} steep at {} of its program: it throws its follower at once, and no turn of it can be told",
            steep.name,
            deg(steep.steepest.value),
            deg(at)
        ),
        piece.map_or_else(
            || String::from("let its lift take more of the turn"),
            |p| {
                format!(
                    "let the {} from {} to {} take more of the turn",
                    p.what,
                    deg(p.from),
                    deg(p.to)
                )
            },
        ),
    ))
}

/// A value of a drive as its dial shows it: one that goes round counts from nothing to a whole turn, or over as many as bring the machine back.
pub(crate) fn dial(model: &Model, drive: usize, round: bool, turns: u32, at: f64) -> f64 {
    if round && model.drive(drive).inside == crate::answers::Inside::Radian {
        at.rem_euclid(std::f64::consts::TAU * f64::from(turns))
    } else {
        at
    }
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
    let (low, high) = (span.low.at, span.high.at);
    let beats = beats(track.period.turns);
    let mut curve: Vec<Beat> = Vec::with_capacity(beats + 64);
    let mut grid: Vec<f64> = (0..=beats)
        .map(|i| low + (high - low) * i as f64 / beats as f64)
        .collect();
    // The places that the path was followed by as well: it bends most where they stand closest.
    let known = places(track, span).into_iter().map(|p| p.at(track));
    grid.extend(known);
    // And a piece of a program too short for its share of them.
    let seams = track.seams(bench.model);
    for pair in seams.windows(2) {
        let long = pair[1] - pair[0];
        if long < f64::from(IN_A_PIECE) * (high - low) / beats as f64 {
            let at = |n| pair[0] + long * f64::from(n) / f64::from(IN_A_PIECE);
            grid.extend((1..IN_A_PIECE).map(at).filter(|x| *x > low && *x < high));
        }
    }
    grid.sort_by(f64::total_cmp);
    grid.dedup_by(|a, b| (*a - *b).abs() <= 1e-7 * (high - low));
    for at in grid {
        if let Some(read) = bench.slope_on(reading, track, at, &mut there) {
            curve.push(Beat {
                at,
                value: read.value,
                rate: read.slope,
                second: read.bend,
                third: bench.third_on(reading, track, at, here),
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
    let mut low_dwell = dwell(
        &curve,
        span,
        least,
        |v| v - least.value - within,
        &mut value_at,
    );
    let mut high_dwell = dwell(
        &curve,
        span,
        greatest,
        |v| greatest.value - v - within,
        &mut value_at,
    );
    let mut stays = others(&curve, span, [least, greatest], within, &mut value_at);
    stays.retain(|s| [&low_dwell, &high_dwell].iter().all(|d| !meets(s, d, span)));
    let rates: Vec<(f64, f64)> = curve.iter().filter_map(|b| Some((b.at, b.rate?))).collect();
    let seconds: Vec<(f64, f64)> = curve
        .iter()
        .filter_map(|b| Some((b.at, b.second?)))
        .collect();
    let mut rate_at = |at: f64| bench.slope_on(reading, track, at, &mut there)?.slope;
    let mut without_bound: Vec<f64> = Vec::new();
    // What is greatest right beside a dead centre only tells how near a sample came to it.
    let dead: Vec<f64> = [&span.low, &span.high]
        .into_iter()
        .filter(|b| b.kind == EndKind::DeadCentre)
        .map(|b| b.at)
        .collect();
    let mut bounded = |spot: &Spot| {
        let beside = dead
            .iter()
            .find(|d| (spot.at - **d).abs() < 0.01 * (high - low));
        if let Some(&at) = beside
            && !without_bound.contains(&at)
        {
            without_bound.push(at);
        }
        beside.is_none()
    };
    let falls = peak(&rates, -1.0, &mut rate_at).filter(|s| s.value < 0.0 && bounded(s));
    let rises = peak(&rates, 1.0, &mut rate_at).filter(|s| s.value > 0.0 && bounded(s));
    for stay in [&mut low_dwell, &mut high_dwell] {
        stay.rates = [(stay.from, low), (stay.to, high)].map(|(at, end)| {
            let inside = span.round || (at - end).abs() > near(end);
            let turn = high - low;
            let folded = if span.round {
                low + (at - low).rem_euclid(turn)
            } else {
                at
            };
            rate_at(folded).filter(|_| inside && stay.long < turn)
        });
    }
    let mut second_at = |at: f64| bench.slope_on(reading, track, at, &mut there)?.bend;
    let turned_up = peak(&seconds, 1.0, &mut second_at).filter(|s| s.value > 0.0 && bounded(s));
    let turned_down = peak(&seconds, -1.0, &mut second_at).filter(|s| s.value < 0.0 && bounded(s));
    let steps = steps(&seconds, &mut second_at);
    let thirds: Vec<(f64, f64)> = curve
        .iter()
        .filter_map(|b| Some((b.at, b.third?.abs())))
        .collect();
    let mut third_at = |at: f64| Some(bench.third_on(reading, track, at, here)?.abs());
    let jerks = peak(&thirds, 1.0, &mut third_at).filter(|s| s.value > 0.0 && bounded(s));
    let jerks = jerks.and_then(|s| {
        Some(Spot {
            at: s.at,
            value: bench.third_on(reading, track, s.at, here)?,
        })
    });
    let model = bench.model;
    let on_dial = |at: f64| dial(model, asked.drive, span.round, track.period.turns, at);
    let spot = |s: Spot| Spot {
        at: on_dial(s.at),
        ..s
    };
    let stay = |d: Dwell| Dwell {
        from: on_dial(d.from),
        to: on_dial(d.to),
        ..d
    };
    Some(Turned {
        reading: quantity,
        least: spot(least),
        greatest: spot(greatest),
        within,
        low_dwell: stay(low_dwell),
        high_dwell: stay(high_dwell),
        stays: stays.into_iter().map(stay).collect(),
        falls: falls.map(spot),
        rises: rises.map(spot),
        turned_up: turned_up.map(spot),
        turned_down: turned_down.map(spot),
        jerks: jerks.map(spot),
        steps: steps.into_iter().map(spot).collect(),
        goes_on: on_by(&curve, span, least.value, greatest.value),
        without_bound,
        curve,
    })
}

/// Between two places of the curve a second rate that changes by more than this share of its greatest may step.
const LEAPS: f64 = 0.01;
/// A step is told from this share on.
const STEPS: f64 = 2e-3;
const HALVINGS: u32 = 24;
/// Least stretch that is told besides those about the ends: this share of the way.
const TELLING: f64 = 1.0 / 120.0;
/// A rate below this share of the greatest is standing still.
const STANDS: f64 = 1e-7;

/// Two stretches share a place; of a round way also over its end.
fn meets(a: &Dwell, b: &Dwell, span: &Span) -> bool {
    let turn = span.high.at - span.low.at;
    let shifts: &[f64] = if span.round {
        &[0.0, turn, -turn]
    } else {
        &[0.0]
    };
    shifts
        .iter()
        .any(|s| a.from + s <= b.to + near(b.to) && b.from <= a.to + s + near(b.from))
}

/// All stretches in which a reading rests: runs of places within the tolerance of an end, and runs where it does not move at all.
fn others(
    curve: &[Beat],
    span: &Span,
    [least, greatest]: [Spot; 2],
    within: f64,
    value_at: &mut dyn FnMut(f64) -> Option<f64>,
) -> Vec<Dwell> {
    let turn = span.high.at - span.low.at;
    let mut all: Vec<Dwell> = Vec::new();
    let keep = |found: Dwell, all: &mut Vec<Dwell>| {
        if found.long >= TELLING * turn
            && found.long < turn * (1.0 - 1e-9)
            && all.iter().all(|known| !meets(&found, known, span))
        {
            all.push(found);
        }
    };
    let beyond = |end: Spot, up: bool| {
        move |v: f64| {
            if up {
                end.value - v - within
            } else {
                v - end.value - within
            }
        }
    };
    for (end, up) in [(least, false), (greatest, true)] {
        let beyond = beyond(end, up);
        let mut run: Option<Beat> = None;
        for beat in curve.iter().copied().map(Some).chain([None]) {
            let inside = beat.filter(|b| beyond(b.value) <= 0.0);
            match (inside, run) {
                (Some(beat), None) => run = Some(beat),
                (Some(beat), Some(best)) if beyond(beat.value) < beyond(best.value) => {
                    run = Some(beat);
                }
                (None, Some(best)) => {
                    let spot = Spot {
                        at: best.at,
                        value: best.value,
                    };
                    keep(dwell(curve, span, spot, beyond, value_at), &mut all);
                    run = None;
                }
                _ => {}
            }
        }
    }
    // Standing still in the middle of its way: a wheel between two indexes.
    let fastest = curve
        .iter()
        .filter_map(|b| b.rate)
        .fold(0.0_f64, |m, r| m.max(r.abs()));
    let mut begun: Option<(f64, f64)> = None;
    for beat in curve.iter().copied().map(Some).chain([None]) {
        let still = beat.filter(|b| b.rate.is_some_and(|r| r.abs() <= STANDS * fastest));
        match (still, begun) {
            (Some(beat), None) => begun = Some((beat.at, beat.at)),
            (Some(beat), Some((from, _))) => begun = Some((from, beat.at)),
            (None, Some((from, to))) => {
                let found = Dwell {
                    from,
                    to,
                    long: to - from,
                    rates: [None; 2],
                    cut: !span.round && (from <= span.low.at || to >= span.high.at),
                };
                keep(found, &mut all);
                begun = None;
            }
            (None, None) => {}
        }
    }
    all.sort_by(|a, b| b.long.total_cmp(&a.long));
    all
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
        rates: [None; 2],
        cut: cut_high || cut_low,
    }
}

/// How far a reading has gone on after a turn; none where it is back, as it is when only the turn of the drive is over.
fn on_by(curve: &[Beat], span: &Span, least: f64, greatest: f64) -> Option<f64> {
    let (first, last) = (curve.first()?, curve.last()?);
    let by = last.value - first.value;
    (span.round && by.abs() > 1e-6 * (greatest - least)).then_some(by)
}

/// Places at which a sampled function steps: halved down until it does so within next to nothing.
fn steps(samples: &[(f64, f64)], f: &mut dyn FnMut(f64) -> Option<f64>) -> Vec<Spot> {
    let most = samples.iter().fold(0.0_f64, |m, s| m.max(s.1.abs()));
    let mut all: Vec<Spot> = Vec::new();
    for pair in samples.windows(2) {
        let ([mut low, mut high], whole) = ([pair[0], pair[1]], pair[1].0 - pair[0].0);
        if (high.1 - low.1).abs() <= LEAPS * most {
            continue;
        }
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low.0, high.0);
            let Some(value) = f(middle) else { break };
            if (value - low.1).abs() >= (high.1 - value).abs() {
                high = (middle, value);
            } else {
                low = (middle, value);
            }
            if (high.1 - low.1).abs() <= STEPS * most {
                break;
            }
        }
        let by = high.1 - low.1;
        let at = f64::midpoint(low.0, high.0);
        let sharp = high.0 - low.0 <= 1e-6 * whole;
        if sharp && by.abs() > STEPS * most && all.last().is_none_or(|s| at - s.at > 1e-6 * whole) {
            all.push(Spot { at, value: by });
        }
    }
    all
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
