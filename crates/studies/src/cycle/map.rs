//! A reading over two drives: a grid of values, and its least over the one as a function of the other.

use super::{Spot, dial, is_of_pose};
use crate::answers::{Held, Inside, Quantity};
use crate::assemble::{Gauge, Model, Stand};
use crate::call::Sweep;
use crate::load::answers::Bands;
use crate::load::bands;
use crate::refusal::Refusal;
use crate::run::{Bench, By, Here, Sample, Span, Track, near};
use machine::model::Take;
use machine::work::LoadKind;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;
use std::f64::consts::TAU;

/// What map is wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MapAsked {
    /// The reading, one that a single pose gives.
    pub reading: usize,
    /// The drive across.
    pub across: usize,
    /// The drive upwards.
    pub up: usize,
    /// Places across, two at least.
    pub columns: usize,
    /// Places upwards, two at least.
    pub rows: usize,
}

/// The least of the reading over the drive across, with the other drive here.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Closing {
    /// Value of the drive upwards.
    pub at: f64,
    /// Where the reading is least, and its value; none when the machine cannot stand there.
    pub least: Option<Spot>,
    /// Rate of that least value by the drive upwards.
    pub rate: Option<f64>,
}

/// A reading over two drives.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Map {
    /// Name of the machine.
    pub machine: String,
    /// The reading.
    pub reading: Quantity,
    /// The drive across.
    pub across: Quantity,
    /// The drive upwards.
    pub up: Quantity,
    /// All other drives, and the settings.
    pub held: Vec<Held>,
    /// Places across.
    pub columns: Vec<f64>,
    /// Places upwards.
    pub rows: Vec<f64>,
    /// Row by row, upwards; none where the machine cannot stand.
    pub values: Vec<Option<f64>>,
    /// The closing curve: one a row, found exactly and not picked from the grid.
    pub closing: Vec<Closing>,
    /// Values of the drive upwards at which the drive across stops going round, or goes round again.
    pub stops: Vec<f64>,
}

/// The least of a reading over one drive as a function of another.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClosingCurve {
    /// The reading.
    pub reading: Quantity,
    /// The drive over which it is least.
    pub across: Quantity,
    /// The drive of which it is a function.
    pub up: Quantity,
    /// Its places.
    pub places: Vec<Closing>,
    /// The load case of the bands; none where nothing loads the reading.
    pub case: Option<String>,
    /// Loaded value and band from play and tolerance at each place; empty when they were not asked for.
    pub bands: Vec<Option<Bands>>,
    /// Values of the drive upwards at which the drive across stops going round, or goes round again.
    pub stops: Vec<f64>,
}

impl ClosingCurve {
    /// Works out its bands as `load` and `spread` make them, under a load case: the one with this index, or the first that squeezes the
    /// reading, or none.
    #[must_use]
    pub fn banded(
        mut self,
        model: &Model,
        stand: &Stand,
        reading: usize,
        [across, up]: [usize; 2],
        case: Option<usize>,
    ) -> Self {
        let work = &model.machine.work;
        let squeezes = |load: &usize| {
            matches!(
                work.loads.get(*load).map(|l| &l.kind),
                Some(LoadKind::Squeezes { reading: r, .. }) if *r == reading
            )
        };
        let squeezing = work.cases.iter().position(|c| c.loads.iter().any(squeezes));
        let case = case.or(squeezing);
        let (Some(first), Some(last)) = (self.places.first(), self.places.last()) else {
            return self;
        };
        // The machine with one reading more: the least over the drive across.
        let mut model = model.clone();
        let Some(own) = model.machine.readings.get(reading).cloned() else {
            return self;
        };
        model.machine.readings.push(own);
        model.gauges.push(Gauge::Over {
            reading,
            drive: across,
            take: Take::Least,
        });
        let sweep = Sweep {
            drive: up,
            from: Some(first.at),
            to: Some(last.at),
            step: Some((last.at - first.at) / (self.places.len() - 1).max(1) as f64)
                .filter(|s| *s > 0.0),
            readings: vec![model.machine.readings.len() - 1],
        };
        let Ok(table) = bands(&model, stand, case, Some(&sweep)) else {
            return self;
        };
        self.case = table.case;
        let step = 1e-6 * (last.at - first.at);
        self.bands = self
            .places
            .iter()
            .map(|place| {
                let near = |at: f64| (at - place.at).abs() <= step;
                let row = table.rows.iter().find(|r| r.at.is_some_and(near))?;
                row.cells.first()?.clone()
            })
            .collect();
        self
    }
}

/// The closing curve alone, at so many places.
///
/// # Errors
/// As [`map`].
pub fn closing(
    model: &Model,
    stand: &Stand,
    reading: usize,
    [across, up]: [usize; 2],
    places: usize,
) -> Result<ClosingCurve, Refusal> {
    let map = map(
        model,
        stand,
        &MapAsked {
            reading,
            across,
            up,
            columns: 2,
            rows: places,
        },
    )?;
    Ok(ClosingCurve {
        reading: map.reading,
        across: map.across,
        up: map.up,
        places: map.closing,
        case: None,
        bands: Vec::new(),
        stops: map.stops,
    })
}

/// The drive that a map is laid over besides another one: the first other that moves the reading.
pub fn second(model: &Model, reading: usize, across: usize) -> Option<usize> {
    let bench = Bench::new(model);
    let moves = |&d: &usize| d != across && bench.depends(reading, d);
    (0..model.machine.drives.len())
        .find(moves)
        .filter(|_| is_of_pose(model, reading) && bench.depends(reading, across))
}

/// Values of one map at most.
const MOST: usize = 4_000_000;
/// Rows that are worked out one from the other. Fixed, so that the numbers do not depend on who works them out.
const CHUNK: usize = 12;

/// A reading over two drives.
///
/// # Errors
/// A reading that is itself taken over a drive or that a drive does not move, one drive twice, too large a grid, a machine that cannot be
/// brought there.
pub fn map(model: &Model, stand: &Stand, asked: &MapAsked) -> Result<Map, Refusal> {
    let (across, up) = (model.drive(asked.across), model.drive(asked.up));
    let reading = model.reading(asked.reading);
    if asked.across == asked.up {
        return Err(Refusal::of_question(
            format!("{} cannot go across and upwards both", across.name),
            "name another drive with --over",
        ));
    }
    let size = asked.columns.saturating_mul(asked.rows);
    if asked.columns < 2 || asked.rows < 2 || size > MOST {
        return Err(Refusal::of_question(
            format!(
                "a map of {} by {} places cannot be made",
                asked.columns, asked.rows
            ),
            format!("at least 2 either way, and {MOST} in all at most"),
        ));
    }
    if !is_of_pose(model, asked.reading) {
        return Err(Refusal::of_question(
            format!("{} is taken over a drive itself", reading.name),
            "name the reading that it is taken of",
        ));
    }
    let mut bench = Bench::new(model);
    for (drive, q) in [(asked.across, &across), (asked.up, &up)] {
        if !bench.depends(asked.reading, drive) {
            return Err(Refusal::of_question(
                format!("{} does not move {}", q.name, reading.name),
                "name another drive or another reading",
            ));
        }
    }
    let mut start = stand.clone();
    start.drives[asked.across] = model.machine.drives[asked.across].drawn;
    start.drives[asked.up] = model.machine.drives[asked.up].drawn;
    let here = bench.bring(&start)?;
    let lost = |name: &str| Refusal::new(format!("drive {name} moves nothing"), "");
    let (_, span) = bench.span(&here, asked.up).ok_or_else(|| lost(&up.name))?;
    let rows = grid(span.low.at, span.high.at, asked.rows);
    // Across as far as the drive goes from anywhere: its range, or a turn.
    let (_, wide) = bench
        .span(&here, asked.across)
        .ok_or_else(|| lost(&across.name))?;
    let moved = &model.machine.drives[asked.across];
    let range = if wide.round {
        [wide.low.at, wide.high.at]
    } else if on_dial(model, asked.across) {
        // It goes round elsewhere, or swings about another place: the whole dial.
        [0.0, TAU]
    } else {
        moved
            .range
            .map_or([wide.low.at, wide.high.at], |[a, b]| [a.min(b), a.max(b)])
    };
    let columns = grid(range[0], range[1], asked.columns);
    let done: Vec<Chunk> = rows
        .par_chunks(CHUNK)
        .map(|rows| chunk(model, &start, asked, &columns, rows))
        .collect();
    let (mut values, mut closing) = (Vec::with_capacity(size), Vec::with_capacity(asked.rows));
    let mut round = Vec::with_capacity(asked.rows);
    for (v, c, r) in done {
        values.extend(v);
        closing.extend(c);
        round.extend(r);
    }
    let stops = if on_dial(model, asked.across) {
        stops(&mut bench, &here, asked, &rows, &round)
    } else {
        Vec::new()
    };
    let held = model
        .held(&here.stand, Some(asked.across))
        .into_iter()
        .filter(|h| h.quantity.name != up.name)
        .collect();
    Ok(Map {
        machine: model.machine.name.clone(),
        reading,
        across,
        up,
        held,
        columns,
        rows,
        values,
        closing,
        stops,
    })
}

/// Values of rows, their closing places, and whether the drive across goes round there.
type Chunk = (Vec<Option<f64>>, Vec<Closing>, Vec<bool>);
/// Halvings between two rows.
const HALVINGS: usize = 30;

/// Where the drive across stops going round, between rows of which the one does and the other does not.
fn stops(
    bench: &mut Bench<'_>,
    here: &Here,
    asked: &MapAsked,
    rows: &[f64],
    round: &[bool],
) -> Vec<f64> {
    let mut all = Vec::new();
    for (pair, goes) in rows.windows(2).zip(round.windows(2)) {
        if goes[0] == goes[1] {
            continue;
        }
        let (mut from, mut to) = (pair[0], pair[1]);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(from, to);
            let there = bench.advance(here, asked.up, middle).ok();
            let span = there.and_then(|there| bench.span(&there, asked.across));
            if span.is_some_and(|(_, span)| span.round) == goes[0] {
                from = middle;
            } else {
                to = middle;
            }
        }
        all.push(f64::midpoint(from, to));
    }
    all
}

/// A drive whose values are places of a dial: one that is meant to go round.
fn on_dial(model: &Model, drive: usize) -> bool {
    model.machine.drives[drive].whole_turn && model.drive(drive).inside == Inside::Radian
}

fn grid(low: f64, high: f64, count: usize) -> Vec<f64> {
    (0..count)
        .map(|i| {
            if i + 1 == count {
                high
            } else {
                low + (high - low) * i as f64 / (count - 1) as f64
            }
        })
        .collect()
}

fn chunk(model: &Model, start: &Stand, asked: &MapAsked, columns: &[f64], rows: &[f64]) -> Chunk {
    let mut round = Vec::with_capacity(rows.len());
    let mut bench = Bench::new(model);
    let mut values = Vec::with_capacity(rows.len() * columns.len());
    let mut closing = Vec::with_capacity(rows.len());
    let home: Option<Here> = bench.bring(start).ok();
    let mut last = home.clone();
    for &at in rows {
        // A row that stands at a dead centre leads nowhere: the next is reached from the drawn pose again.
        let here = [&last, &home]
            .into_iter()
            .flatten()
            .find_map(|here| bench.advance(here, asked.up, at).ok());
        let along = here
            .as_ref()
            .and_then(|here| Some((here, bench.span(here, asked.across)?)));
        let Some((here, (track, span))) = along else {
            values.extend(columns.iter().map(|_| None));
            round.push(false);
            closing.push(Closing {
                at,
                least: None,
                rate: None,
            });
            continue;
        };
        round.push(span.round);
        values.extend(row(&mut bench, asked, here, (&track, &span), columns));
        let found = bench.extreme(asked.reading, here, asked.across, false);
        let read = found.as_ref().and_then(|extreme| {
            let by = By {
                drive: asked.up,
                rates: None,
            };
            bench.at_extreme(asked.reading, asked.across, extreme, Some(by))
        });
        closing.push(Closing {
            at,
            least: found.as_ref().zip(read).map(|(f, r)| Spot {
                at: dial(
                    model,
                    asked.across,
                    on_dial(model, asked.across),
                    if span.round { track.period.turns } else { 1 },
                    f.at,
                ),
                value: r.value,
            }),
            rate: read.and_then(|r| r.slope),
        });
        last = Some(here.clone());
    }
    (values, closing, round)
}

/// The reading at each column: laid through all of them at once, and followed there singly where that missed one.
fn row(
    bench: &mut Bench<'_>,
    asked: &MapAsked,
    here: &Here,
    (track, span): (&Track, &Span),
    columns: &[f64],
) -> Vec<Option<f64>> {
    let model = bench.model;
    let slack = near(span.high.at);
    // Where it swings instead of going round, a place of the dial may be one of its way a turn before or after.
    let turns = if on_dial(model, asked.across) && !span.round {
        [0.0, -TAU, TAU].as_slice()
    } else {
        &[0.0]
    };
    let clamped = |x: f64| {
        let inside = |x: &f64| *x >= span.low.at - slack && *x <= span.high.at + slack;
        let found = turns.iter().map(|t| x + t).find(inside)?;
        Some(found.clamp(span.low.at, span.high.at))
    };
    let mut inside: Vec<f64> = columns.iter().filter_map(|&x| clamped(x)).collect();
    inside.sort_by(f64::total_cmp);
    let laid = bench.through(here, asked.across, &inside);
    let laid: Vec<&Sample> = laid.iter().flat_map(|track| &track.samples).collect();
    let mut there = here.clone();
    let read = |&x: &f64| {
        let x = clamped(x)?;
        let at = laid.partition_point(|s| s.at < x - near(x));
        match laid.get(at).filter(|s| s.at <= x + near(x)) {
            Some(sample) => track.put(model, sample, &mut there),
            None => track.put(model, &track.at(model, x)?, &mut there),
        }
        bench.value(asked.reading, &there)
    };
    columns.iter().map(read).collect()
}
