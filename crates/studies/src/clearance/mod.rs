//! Where moving parts come closest, or meet, over the whole range of one or two drives.
//!
//! Parts are their outlines as they are cut (pieces, or bars of their stock), in the plane they move in, as thick as their stock about the
//! station of their points. Two parts are looked at where they lie in one plane and their thicknesses overlap; parts that share a joint are
//! left out, for there they touch by design. The drives are laid over a grid and the least distance is refined about its best place.

pub(crate) mod outline;
mod seen;
mod shapes;

#[cfg(test)]
mod tests;

pub use seen::{Outlines, seen};

use crate::answers::{Finding, Held, Quantity, Severity};
use crate::assemble::{Gauge, Model, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use crate::say;
use elements::hand::crush_gap;
use machine::model::Measures;
use machine::work::LoadKind;
use outline::{Apart, Placed};
use quantity::Unit;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;
use shapes::{Shape, shapes};

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClearanceAsked {
    /// The drive that goes across.
    pub across: usize,
    /// A second one, if any.
    pub up: Option<usize>,
    /// Poses, about so many.
    pub poses: usize,
}

/// How close two parts come.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PairClearance {
    /// The parts.
    pub parts: [String; 2],
    /// Least distance of their outlines, mm; below zero they meet, and that is how deep a corner of the one lies in the other.
    pub least: f64,
    /// Values of all drives there.
    pub drives: Vec<Held>,
    /// Where, right and up in their plane, mm.
    pub place: [f64; 2],
    /// The plane.
    pub plane: String,
    /// Greatest distance over the turn of the drive across at that place, mm; no more than 150 is looked at. None where they stay close.
    pub opens: Option<f64>,
    /// Stations are written, so that it is known that they lie in one layer; else both lie at station 0 as nothing was written.
    pub layer_known: bool,
}

/// A gap that closes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Crushing {
    /// The reading.
    pub gap: Quantity,
    /// Least, found exactly, and greatest over the poses, mm.
    pub ends: [f64; 2],
    /// Parts of the body that it closes on, as ISO 13854 names them: "finger", "hand, wrist, fist".
    pub on: Vec<String>,
}

/// How parts clear one another.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Clearance {
    /// Name of the machine.
    pub machine: String,
    /// The drive across.
    pub across: Quantity,
    /// The other one.
    pub up: Option<Quantity>,
    /// Poses that were looked at; those that cannot be reached are not counted.
    pub poses: usize,
    /// Pairs, the closest first.
    pub pairs: Vec<PairClearance>,
    /// Pairs that share a joint.
    pub joined: usize,
    /// Pairs that lie beside one another in depth, or in different planes.
    pub beside: usize,
    /// Parts of which nothing is known but their points, and what else was left out.
    pub left_out: Vec<String>,
    /// Gaps that crush.
    pub crushing: Vec<Crushing>,
    /// Findings, the worst first.
    pub findings: Vec<Finding>,
}

/// Further apart than this over all poses a pair is not told, mm: a hand goes between (ISO 13854).
const FAR: f64 = 100.0;
/// Nothing gets into what never opens further than this, mm: the least opening through which a finger tip goes (ISO 13857, table 4).
const TIP: f64 = 4.0;
/// Hand, wrist, fist: ISO 13854:2017, table 1.
const HAND: f64 = 100.0;
/// Places of the drive across at which a close pair is looked at again for how far it opens.
const OPENS: usize = 73;
/// Pairs that one sentence names.
const TOLD: usize = 4;
/// How far apart two parts are looked at when they open, mm.
const WIDE: f64 = 150.0;
/// Golden sections of a refinement along each drive, and rounds.
const SECTIONS: usize = 24;
const ROUNDS: usize = 3;
/// Rows that are worked out one from the other; fixed, so that numbers do not depend on who works them out.
const CHUNK: usize = 4;

/// Least distance of a pair so far.
#[derive(Clone, Copy, Debug)]
struct Best {
    apart: Option<Apart>,
    at: [f64; 2],
}

impl Best {
    const NONE: Self = Self {
        apart: None,
        at: [0.0; 2],
    };

    fn within(&self) -> f64 {
        self.apart.map_or(FAR, |a| a.distance)
    }

    fn meet(&mut self, apart: Option<Apart>, at: [f64; 2]) {
        if let Some(apart) = apart
            && self.apart.is_none_or(|b| apart.distance < b.distance)
        {
            *self = Self {
                apart: Some(apart),
                at,
            };
        }
    }
}

/// Least distances over the reach of the drives.
///
/// # Errors
/// No such drive, one drive twice, a machine that cannot be brought there.
pub fn clearance(
    model: &Model,
    stand: &Stand,
    asked: &ClearanceAsked,
) -> Result<Clearance, Refusal> {
    let (across, up) = (asked.across, asked.up.filter(|u| *u != asked.across));
    let mut start = stand.clone();
    for drive in [Some(across), up].into_iter().flatten() {
        let drawn = model.machine.drives.get(drive).map(|d| d.drawn);
        match (start.drives.get_mut(drive), drawn) {
            (Some(at), Some(drawn)) => *at = drawn,
            _ => {
                return Err(Refusal::new(
                    "the machine has no such drive",
                    "add a [drive.NAME] to the machine file",
                ));
            }
        }
    }
    let mut bench = Bench::new(model);
    let home = bench.bring(&start)?;
    let (shapes, left_out) = shapes(model);
    let (pairs, joined, beside) = pairs(model, &shapes);
    let grid = grid(&mut bench, &home, across, up, asked.poses)?;
    let gaps: Vec<usize> =
        (0..model.machine.readings.len())
            .filter(|&r| {
                let is_length = model.reading(r).inside == crate::answers::Inside::Millimetre;
                let squeezed =
                    model.machine.work.loads.iter().any(
                        |l| matches!(l.kind, LoadKind::Squeezes { reading, .. } if reading == r),
                    );
                (squeezed || matches!(model.machine.readings[r].measures, Measures::Gap(_)))
                    && is_length
                    && matches!(model.gauges[r], Gauge::Pose(_))
            })
            .collect();
    let look = Look {
        model,
        shapes: &shapes,
        pairs: &pairs,
        gaps: &gaps,
        across,
        up,
    };
    let chunks: Vec<Seen> = grid
        .rows
        .par_chunks(CHUNK)
        .map(|rows| look.chunk(&start, &grid.columns, rows))
        .collect();
    if model.given_up() {
        return Err(Refusal::new("nobody waits for the answer any more", ""));
    }
    let mut all = Seen::new(pairs.len(), gaps.len());
    for seen in &chunks {
        all.join(seen);
    }
    let steps = [grid.step(&grid.columns), grid.step(&grid.rows)];
    let refined: Vec<Best> = all
        .best
        .par_iter()
        .enumerate()
        .map(|(i, best)| look.refine(&start, i, *best, steps, &grid))
        .collect();
    let mut told: Vec<PairClearance> = pairs
        .iter()
        .zip(&refined)
        .filter_map(|(pair, best)| look.told(&start, pair, best))
        .collect();
    told.sort_by(|a, b| a.least.total_cmp(&b.least));
    for (gap, ends) in gaps.iter().zip(&mut all.gaps) {
        if let Some(least) = look.least(&start, *gap, &grid) {
            ends[0] = ends[0].min(least);
        }
    }
    let crushing = crushing(model, &gaps, &all.gaps);
    Ok(Clearance {
        machine: model.machine.name.clone(),
        across: model.drive(across),
        up: up.map(|u| model.drive(u)),
        poses: all.poses,
        findings: findings(&told, &crushing),
        pairs: told,
        joined,
        beside,
        left_out,
        crushing,
    })
}

/// Places of both drives.
struct Grid {
    columns: Vec<f64>,
    rows: Vec<f64>,
}

impl Grid {
    fn step(&self, values: &[f64]) -> f64 {
        match values {
            [a, b, ..] => b - a,
            _ => 0.0,
        }
    }
}

fn grid(
    bench: &mut Bench<'_>,
    home: &Here,
    across: usize,
    up: Option<usize>,
    poses: usize,
) -> Result<Grid, Refusal> {
    let mut reach = |drive: usize| {
        let name = &bench.model.machine.drives[drive].name;
        let lost = || Refusal::new(format!("drive {name} moves nothing"), "");
        let (_, span) = bench.span(home, drive).ok_or_else(lost)?;
        Ok([span.low.at, span.high.at])
    };
    let laid = |[low, high]: [f64; 2], count: usize| -> Vec<f64> {
        let count = count.max(2);
        (0..count)
            .map(|i| low + (high - low) * i as f64 / (count - 1) as f64)
            .collect()
    };
    let columns = reach(across)?;
    let Some(up) = up else {
        return Ok(Grid {
            columns: laid(columns, poses),
            rows: vec![0.0],
        });
    };
    let rows = reach(up)?;
    // Twice as many places of the drive that goes round as of the other.
    let count = ((poses as f64 / 2.0).sqrt().round() as usize).max(2);
    Ok(Grid {
        columns: laid(columns, poses / count),
        rows: laid(rows, count),
    })
}

/// Two parts that could meet.
struct Pair {
    shapes: [usize; 2],
    layer_known: bool,
}

/// Pairs to be looked at, how many share a joint, and how many lie beside one another.
fn pairs(model: &Model, shapes: &[Shape]) -> (Vec<Pair>, usize, usize) {
    let (mut all, mut joined, mut beside) = (Vec::new(), 0, 0);
    for i in 0..shapes.len() {
        for j in i + 1..shapes.len() {
            let (a, b) = (&shapes[i], &shapes[j]);
            if (a.still() && b.still()) || a.same(b) {
                continue;
            }
            if shapes::joined(model, a, b) {
                joined += 1;
            } else if a.plane != b.plane || a.depth[0] >= b.depth[1] || b.depth[0] >= a.depth[1] {
                beside += 1;
            } else {
                all.push(Pair {
                    shapes: [i, j],
                    layer_known: a.layer_known && b.layer_known,
                });
            }
        }
    }
    (all, joined, beside)
}

/// What a chunk of poses showed.
struct Seen {
    best: Vec<Best>,
    gaps: Vec<[f64; 2]>,
    poses: usize,
}

impl Seen {
    fn new(pairs: usize, gaps: usize) -> Self {
        Self {
            best: vec![Best::NONE; pairs],
            gaps: vec![[f64::INFINITY, f64::NEG_INFINITY]; gaps],
            poses: 0,
        }
    }

    fn join(&mut self, other: &Self) {
        self.poses += other.poses;
        for (a, b) in self.best.iter_mut().zip(&other.best) {
            a.meet(b.apart, b.at);
        }
        for (a, b) in self.gaps.iter_mut().zip(&other.gaps) {
            *a = [a[0].min(b[0]), a[1].max(b[1])];
        }
    }
}

struct Look<'l> {
    model: &'l Model,
    shapes: &'l [Shape],
    pairs: &'l [Pair],
    gaps: &'l [usize],
    across: usize,
    up: Option<usize>,
}

impl Look<'_> {
    fn chunk(&self, start: &Stand, columns: &[f64], rows: &[f64]) -> Seen {
        let model = self.model;
        let mut seen = Seen::new(self.pairs.len(), self.gaps.len());
        let mut bench = Bench::new(model);
        let home = bench.bring(start).ok();
        let mut last = home.clone();
        for &row in rows {
            let here = [&last, &home]
                .into_iter()
                .flatten()
                .find_map(|here| match self.up {
                    Some(up) => bench.advance(here, up, row).ok(),
                    None => Some(here.clone()),
                });
            let Some(here) = here else { continue };
            let Some((track, span)) = bench.span(&here, self.across) else {
                continue;
            };
            // As far as it goes from here: where it swings instead of going round, that is another way at each row.
            let n = (columns.len().max(2) - 1) as f64;
            let inside: Vec<f64> = (0..columns.len())
                .map(|k| {
                    let at = span.low.at + (span.high.at - span.low.at) * k as f64 / n;
                    at.clamp(span.low.at, span.high.at)
                })
                .collect();
            let laid = bench.through(&here, self.across, &inside);
            let mut there = here.clone();
            for (i, &x) in inside.iter().enumerate() {
                let known = laid
                    .as_ref()
                    .filter(|l| l.samples.len() == inside.len())
                    .and_then(|l| l.samples.get(i));
                match known {
                    Some(sample) => track.put(model, sample, &mut there),
                    None => match track.at(model, x) {
                        Some(sample) => track.put(model, &sample, &mut there),
                        None => continue,
                    },
                }
                self.pose(&there, [x, row], &mut seen);
            }
            last = Some(here);
        }
        seen
    }

    fn pose(&self, here: &Here, at: [f64; 2], seen: &mut Seen) {
        let model = self.model;
        let placed: Vec<Option<Placed<'_>>> =
            self.shapes.iter().map(|s| s.placed(model, here)).collect();
        for (pair, best) in self.pairs.iter().zip(&mut seen.best) {
            let [i, j] = pair.shapes;
            if let (Some(a), Some(b)) = (&placed[i], &placed[j]) {
                best.meet(a.apart(b, best.within()), at);
            }
        }
        for (&gap, ends) in self.gaps.iter().zip(&mut seen.gaps) {
            if let Gauge::Pose(measure) = &model.gauges[gap] {
                let value = model.mechanism.measure(&here.params, &here.poses, measure);
                *ends = [ends[0].min(value), ends[1].max(value)];
            }
        }
        seen.poses += 1;
    }

    fn bring(&self, bench: &mut Bench<'_>, start: &Stand, at: [f64; 2]) -> Option<Here> {
        let mut stand = start.clone();
        *stand.drives.get_mut(self.across)? = at[0];
        if let Some(up) = self.up {
            *stand.drives.get_mut(up)? = at[1];
        }
        bench.bring(&stand).ok()
    }

    /// Golden section along each drive in turn about the best place of the grid.
    fn refine(&self, start: &Stand, pair: usize, best: Best, steps: [f64; 2], grid: &Grid) -> Best {
        const GOLDEN: f64 = 0.618_033_988_749_895;
        let Some(first) = best.apart else { return best };
        let [i, j] = self.pairs[pair].shapes;
        let mut bench = Bench::new(self.model);
        let mut best = best;
        let reach = |values: &[f64]| {
            [
                values.first().copied().unwrap_or(0.0),
                values.last().copied().unwrap_or(0.0),
            ]
        };
        // Across the reach is another at each row; what cannot be reached is passed over.
        let ends = [[f64::NEG_INFINITY, f64::INFINITY], reach(&grid.rows)];
        let mut steps = steps;
        for _ in 0..ROUNDS {
            for drive in 0..2 {
                if steps[drive] == 0.0 {
                    continue;
                }
                let middle = best.at[drive];
                let mut low = (middle - steps[drive]).max(ends[drive][0]);
                let mut high = (middle + steps[drive]).min(ends[drive][1]);
                for _ in 0..SECTIONS {
                    let tried = [high - GOLDEN * (high - low), low + GOLDEN * (high - low)];
                    let found = tried.map(|x| {
                        let mut at = best.at;
                        at[drive] = x;
                        let here = self.bring(&mut bench, start, at)?;
                        let a = self.shapes[i].placed(self.model, &here)?;
                        let b = self.shapes[j].placed(self.model, &here)?;
                        let apart = a.apart(&b, first.distance.max(0.0) + 1.0)?;
                        Some((apart, at))
                    });
                    for (apart, at) in found.into_iter().flatten() {
                        best.meet(Some(apart), at);
                    }
                    let far = found.map(|f| f.map_or(f64::INFINITY, |f| f.0.distance));
                    if far[0] <= far[1] {
                        high = tried[1];
                    } else {
                        low = tried[0];
                    }
                }
                steps[drive] *= 0.25;
            }
            if self.up.is_none() {
                break;
            }
        }
        best
    }

    /// Greatest distance over the drive across, the other as it is where they come closest.
    fn opens(&self, start: &Stand, pair: &Pair, best: &Best) -> Option<f64> {
        if best.apart?.distance >= HAND {
            return None;
        }
        let [i, j] = pair.shapes;
        let mut bench = Bench::new(self.model);
        let mut stand = start.clone();
        if let Some(up) = self.up {
            *stand.drives.get_mut(up)? = best.at[1];
        }
        let here = bench.bring(&stand).ok()?;
        let (track, span) = bench.span(&here, self.across)?;
        let mut there = here.clone();
        let mut most = f64::NEG_INFINITY;
        for k in 0..OPENS {
            let share = k as f64 / (OPENS - 1) as f64;
            let at = span.low.at + (span.high.at - span.low.at) * share;
            let Some(sample) = track.at(self.model, at) else {
                continue;
            };
            track.put(self.model, &sample, &mut there);
            let a = self.shapes[i].placed(self.model, &there)?;
            let b = self.shapes[j].placed(self.model, &there)?;
            most = most.max(a.apart(&b, WIDE).map_or(WIDE, |a| a.distance));
        }
        (most > best.apart?.distance + 1e-3).then_some(most)
    }

    /// The least of a gap over both drives: exactly over the one across at each row, and by golden section between the rows about the best.
    fn least(&self, start: &Stand, gap: usize, grid: &Grid) -> Option<f64> {
        const GOLDEN: f64 = 0.618_033_988_749_895;
        let mut bench = Bench::new(self.model);
        let home = bench.bring(start).ok()?;
        let mut at = |row: f64| -> f64 {
            let mut found = || {
                let here = match self.up {
                    Some(up) => bench.advance(&home, up, row).ok()?,
                    None => home.clone(),
                };
                if !bench.depends(gap, self.across) {
                    return bench.value(gap, &here);
                }
                let extreme = bench.extreme(gap, &here, self.across, false)?;
                bench.value(gap, &extreme.here)
            };
            found().unwrap_or(f64::INFINITY)
        };
        let rows: Vec<(f64, f64)> = grid.rows.iter().map(|&r| (r, at(r))).collect();
        let best = rows
            .iter()
            .enumerate()
            .reduce(|a, b| if b.1.1 < a.1.1 { b } else { a })?;
        let (i, mut least) = (best.0, best.1.1);
        let mut low = rows.get(i.wrapping_sub(1)).map_or(rows[i].0, |r| r.0);
        let mut high = rows.get(i + 1).map_or(rows[i].0, |r| r.0);
        if high > low {
            for _ in 0..SECTIONS {
                let (a, b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
                let (fa, fb) = (at(a), at(b));
                least = least.min(fa).min(fb);
                if fa <= fb {
                    high = b;
                } else {
                    low = a;
                }
            }
        }
        least.is_finite().then_some(least)
    }

    fn told(&self, start: &Stand, pair: &Pair, best: &Best) -> Option<PairClearance> {
        let apart = best.apart?;
        let mut stand = start.clone();
        *stand.drives.get_mut(self.across)? = best.at[0];
        if let Some(up) = self.up {
            *stand.drives.get_mut(up)? = best.at[1];
        }
        let drives = self.model.held(&stand, None);
        let [a, b] = pair.shapes.map(|s| &self.shapes[s]);
        Some(PairClearance {
            parts: [a.name.clone(), b.name.clone()],
            least: apart.distance,
            drives: drives
                .into_iter()
                .take(self.model.machine.drives.len())
                .collect(),
            place: apart.place,
            opens: self.opens(start, pair, best),
            plane: self
                .model
                .machine
                .planes
                .get(a.plane)
                .map_or_else(String::new, |p| p.name.clone()),
            layer_known: pair.layer_known,
        })
    }
}

/// How wide a gap has to open until each part of the body gets into it, mm (common practice: as wide as the least gap of the next smaller part).
const ENTERS: [(&str, f64); 6] = [
    ("finger", TIP),
    ("hand, wrist, fist", 25.0),
    ("arm", HAND),
    ("leg", 120.0),
    ("head", 180.0),
    ("body", 300.0),
];

/// Parts of the body that get into a gap that opens so far and are crushed as it closes, with the least gaps of ISO 13854.
fn crushed(least: f64, most: f64) -> Vec<(&'static str, f64)> {
    let gap = |part: &str| crush_gap(part).unwrap_or(0.0);
    ENTERS
        .iter()
        .filter(|(part, from)| least < gap(part) && most > *from && most - least > 1e-6)
        .map(|(part, _)| (*part, gap(part)))
        .collect()
}

fn crushing(model: &Model, gaps: &[usize], ends: &[[f64; 2]]) -> Vec<Crushing> {
    let mut all = Vec::new();
    for (&gap, &[least, most]) in gaps.iter().zip(ends) {
        let on: Vec<String> = crushed(least, most)
            .into_iter()
            .map(|(what, _)| what.to_owned())
            .collect();
        if !on.is_empty() {
            all.push(Crushing {
                gap: model.reading(gap),
                ends: [least, most],
                on,
            });
        }
    }
    all
}

fn findings(pairs: &[PairClearance], crushing: &[Crushing]) -> Vec<Finding> {
    let mut all = Vec::new();
    for pair in pairs.iter().filter(|p| p.least < 0.0) {
        let [a, b] = &pair.parts;
        let at: Vec<String> = pair
            .drives
            .iter()
            .map(|h| say::at(&h.quantity, h.value))
            .collect();
        all.push(Finding {
            severity: Severity::Caution,
            sentence: format!(
                "{a} and {b} meet at {}: the outlines run {} into one another{}",
                at.join(", "),
                say::value(-pair.least, Unit::Millimetre),
                if pair.layer_known {
                    ""
                } else {
                    ", if they lie in one layer; no `station` says otherwise"
                }
            ),
            number: Some(pair.least),
            margin: Some(pair.least),
            inside: Some(crate::answers::Inside::Millimetre),
            what_to_try: Some(if pair.layer_known {
                format!("a smaller end on {a} or {b}, or another layer for one of them")
            } else {
                format!(
                    "write the `station` of the points of {a} and {b}, if one runs beside the other"
                )
            }),
            about: a.clone(),
            place: machine::model::Place::default(),
        });
    }
    let close: Vec<&PairClearance> = pairs
        .iter()
        .filter(|p| p.least >= 0.0)
        .filter(|p| p.opens.is_some_and(|o| !crushed(p.least, o).is_empty()))
        .collect();
    if let Some(first) = close.first() {
        let told: Vec<String> = close
            .iter()
            .take(TOLD)
            .map(|p| {
                format!(
                    "{} and {} to {}",
                    p.parts[0],
                    p.parts[1],
                    say::value(p.least, Unit::Millimetre)
                )
            })
            .collect();
        let more = close.len().saturating_sub(TOLD);
        let more = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        all.push(Finding {
            severity: Severity::Caution,
            sentence: format!(
                "parts close on one another and open again: {}{more}; the least gaps of ISO 13854 are 25 mm for a finger and 100 mm for a hand",
                told.join(", ")
            ),
            number: Some(first.least),
            margin: Some(first.least - 25.0),
            inside: Some(crate::answers::Inside::Millimetre),
            what_to_try: Some(String::from(
                "a guard over them; local codes and guarding rules come first",
            )),
            about: first.parts[0].clone(),
            place: machine::model::Place::default(),
        });
    }
    for crush in crushing {
        let limits: Vec<(&str, f64)> = crushed(crush.ends[0], crush.ends[1]);
        let limit = limits.iter().map(|l| l.1).fold(0.0, f64::max);
        let asks: Vec<String> = limits
            .iter()
            .map(|(what, gap)| format!("{what} {gap:.0} mm"))
            .collect();
        all.push(Finding {
            severity: Severity::Caution,
            sentence: format!(
                "{} closes to {} and opens to {}: it crushes what is in it; the least gaps of ISO 13854 are {}",
                crush.gap.name,
                say::of(&crush.gap, crush.ends[0]),
                say::of(&crush.gap, crush.ends[1]),
                asks.join(", ")
            ),
            number: Some(crush.ends[0]),
            margin: Some(crush.ends[0] - limit),
            inside: Some(crate::answers::Inside::Millimetre),
            what_to_try: Some(String::from(
                "a guard, or both hands on the drive; local codes and guarding rules come first",
            )),
            about: format!("reading.{}", crush.gap.name),
            place: machine::model::Place::default(),
        });
    }
    all
}
