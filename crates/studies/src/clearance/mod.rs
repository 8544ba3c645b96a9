//! Where moving parts come closest, or meet, over the whole range of one or two drives.
//!
//! Parts are their outlines as they are cut (pieces, or bars of their stock), in the plane they move in, as thick as their stock about the
//! station of their points. Two parts are looked at where they lie in one plane (or in parallel ones) and their thicknesses overlap, and where their
//! planes stand square to one another; parts that share a joint are left out, for there they touch by design. The drives are laid over a grid and the least distance is refined about its best place.

mod across;
pub(crate) mod crush;
mod findings;
pub(crate) mod outline;
mod search;
mod seen;
mod shapes;
mod still;

#[cfg(test)]
mod tests;

pub use seen::{Outlines, seen};
pub use still::as_drawn;

use crate::answers::{Finding, Held, Quantity};
use crate::assemble::{Model, Stand};
use crate::refusal::Refusal;
use crate::run::{Bench, Here};
use across::{Frame, Planes};
use findings::{crushing, findings};
use rayon::prelude::*;
use schemars::JsonSchema;
use search::{Best, Look, Seen};
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
    /// Least distance of their outlines, mm; below zero they meet, and that is how far one has to be moved, the shortest way, until they do not
    /// lie over one another.
    pub least: f64,
    /// Values of all drives there.
    pub drives: Vec<Held>,
    /// Where, right and up in their plane, mm; of two planes in that of the first part.
    pub place: [f64; 2],
    /// The plane.
    pub plane: String,
    /// The plane of the second part, where it stands square to that of the first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub across: Option<String>,
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
    /// Pairs that were looked at.
    pub looked_at: usize,
    /// Pairs that share a joint.
    pub joined: usize,
    /// Pairs that lie beside one another in depth.
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
/// Hand, wrist, fist: ISO 13854:2017, table 1.
const HAND: f64 = 100.0;
/// Places of the drive across at which a close pair is looked at again for how far it opens.
const OPENS: usize = 73;
/// What opens by less does not close on anything, mm.
const OPENS_BY: f64 = 1.0;
/// Pairs that one sentence names.
const TOLD: usize = 4;
/// How far apart two parts are looked at when they open, mm.
const WIDE: f64 = 150.0;
/// Places of a drive's way at which a pair that meets is looked at again.
const ALONG: usize = 72;
/// Golden sections of a refinement along a drive.
const SECTIONS: usize = 24;
/// Rows that are worked out one from the other; fixed, so that numbers do not depend on who works them out.
const CHUNK: usize = 4;

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
    let (shapes, mut left_out) = shapes(model);
    let Pairs {
        moving: pairs,
        still,
        joined,
        beside,
        left_out: unseen,
    } = pairs(model, &shapes);
    left_out.extend(unseen);
    left_out.extend(shapes::over_one_another(model, &shapes));
    let grid = grid(&mut bench, &home, across, up, asked.poses)?;
    let gaps = crush::gaps(model);
    let look = Look {
        model,
        shapes: &shapes,
        pairs: &pairs,
        across,
        up,
    };
    let chunks: Vec<Seen> = grid
        .rows
        .par_chunks(CHUNK)
        .enumerate()
        .map(|(k, rows)| look.chunk(&start, &grid.columns, rows, k * CHUNK))
        .collect();
    if model.given_up() {
        return Err(Refusal::new("nobody waits for the answer any more", ""));
    }
    let mut all = Seen::new(pairs.len(), shapes.len());
    for seen in &chunks {
        all.join(seen);
    }
    let steps = [grid.step(&grid.columns), grid.step(&grid.rows)];
    let refined: Vec<Best> = (0..pairs.len())
        .into_par_iter()
        .map(|pair| look.least_of(&start, pair, &all, steps, &grid))
        .collect();
    let mut told: Vec<PairClearance> = pairs
        .iter()
        .zip(&refined)
        .filter_map(|(pair, best)| look.told(&start, pair, best))
        .collect();
    told.sort_by(|a, b| a.least.total_cmp(&b.least));
    let drives: Vec<usize> = [Some(across), up].into_iter().flatten().collect();
    let (gaps, ends): (Vec<usize>, Vec<[f64; 2]>) = gaps
        .into_iter()
        .filter_map(|gap| Some((gap, crush::ends(&mut bench, &home, gap, &drives)?)))
        .unzip();
    let crushing = crushing(model, &gaps, &ends);
    Ok(Clearance {
        machine: model.machine.name.clone(),
        across: model.drive(across),
        up: up.map(|u| model.drive(u)),
        poses: all.poses,
        findings: still::findings(model, &home, &shapes, &still)
            .into_iter()
            .chain(findings(model, &told, &crushing))
            .collect(),
        pairs: told,
        looked_at: pairs.len(),
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
    /// Their planes stand square to one another.
    across: Option<Frame>,
    /// They never come closer than that: the one stands still, and so far from the layer of the other.
    floor: f64,
}

/// Pairs to be looked at, and why others are not.
#[derive(Default)]
struct Pairs {
    /// Of parts that move.
    moving: Vec<Pair>,
    /// Of plates of the frame.
    still: Vec<Pair>,
    joined: usize,
    beside: usize,
    left_out: Vec<String>,
}

fn pairs(model: &Model, shapes: &[Shape]) -> Pairs {
    let mut all = Pairs::default();
    let mut aslant = Vec::new();
    for i in 0..shapes.len() {
        for j in i + 1..shapes.len() {
            let (a, b) = (&shapes[i], &shapes[j]);
            let still = a.still() && b.still();
            if a.same(b) {
                continue;
            }
            if shapes::joined(model, a, b) {
                all.joined += usize::from(!still);
                continue;
            }
            let mut pair = Pair {
                shapes: [i, j],
                layer_known: a.layer_known && b.layer_known,
                across: None,
                floor: f64::NEG_INFINITY,
            };
            if a.plane == b.plane {
                if a.depth[0] >= b.depth[1] || b.depth[0] >= a.depth[1] {
                    all.beside += usize::from(!still);
                    continue;
                }
            } else if a.prism && b.prism {
                let planes = [a, b].map(|s| model.mechanism.planes.get(s.plane));
                let [Some(p), Some(q)] = planes else { continue };
                match across::planes(p, q) {
                    Planes::Square(frame) => {
                        pair.across = Some(frame);
                        for (which, one, other) in [(0, a, b), (1, b, a)] {
                            if let Some(prism) = one.stands_still() {
                                let floor = frame.floor(which, &prism, other.depth);
                                pair.floor = pair.floor.max(floor);
                            }
                        }
                        // What never meets does not by touching either.
                        if pair.floor <= 0.0 {
                            pair.floor = f64::NEG_INFINITY;
                        }
                    }
                    Planes::Parallel => {}
                    Planes::Aslant => {
                        aslant.push([a.plane, b.plane]);
                        continue;
                    }
                }
            } else {
                let which = if a.prism { b } else { a };
                all.left_out.push(format!(
                    "{}: not held against what stands in another plane, for it is bent or leaves its layer",
                    which.name
                ));
                continue;
            }
            if still {
                all.still.push(pair);
            } else {
                all.moving.push(pair);
            }
        }
    }
    aslant.sort_unstable();
    aslant.dedup();
    let name = |p: usize| model.machine.planes.get(p).map_or("", |p| &p.name);
    all.left_out.extend(aslant.into_iter().map(|[p, q]| {
        format!(
            "parts of plane {} and of plane {}: the one stands aslant of the other",
            name(p),
            name(q)
        )
    }));
    all.left_out.sort();
    all.left_out.dedup();
    all
}
