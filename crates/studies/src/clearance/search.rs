//! Going over the drives: what is seen at each pose, and the least of each pair refined between them.

use super::outline::{Apart, Placed};
use super::shapes::Shape;
use super::{ALONG, FAR, Grid, HAND, OPENS, OPENS_BY, Pair, PairClearance, SECTIONS, WIDE};
use crate::assemble::{Model, Stand};
use crate::run::{Bench, Here};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Places of the grid from which a pair is refined.
const VALLEYS: usize = 12;
/// Poses at which a pair meets that are looked at for how deeply it does.
const MET: usize = 48;
/// Hills of depth that are climbed.
const HILLS: usize = 6;
/// What a search all round stops at, as a share of the step of the grid.
const FINEST: f64 = 1e-6;
/// Rounds of the search all round a place, and its directions.
const PATTERNS: usize = 32;
const ROUND: [[f64; 2]; 8] = [
    [1.0, 0.0],
    [-1.0, 0.0],
    [0.0, 1.0],
    [0.0, -1.0],
    [1.0, 1.0],
    [-1.0, -1.0],
    [1.0, -1.0],
    [-1.0, 1.0],
];

/// Least distance of a pair so far.
#[derive(Clone, Copy, Debug)]
pub(super) struct Best {
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

    fn within_or_meets(&self) -> f64 {
        self.apart.map_or(f64::INFINITY, |a| a.distance)
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

/// What a chunk of poses showed.
pub(super) struct Seen {
    pub(super) best: Vec<Best>,
    /// Of each pair the poses that are no farther than what the parts move in a step above its best: between them it may come closer than there.
    near: Vec<Vec<Near>>,
    /// The farthest that each shape moves from pose to pose along either drive.
    ways: [Vec<f64>; 2],
    pub(super) poses: usize,
}

/// A pose of the grid at which a pair is close.
#[derive(Clone, Copy, Debug)]
struct Near {
    apart: Apart,
    at: [f64; 2],
    cell: [usize; 2],
}

impl Seen {
    pub(super) fn new(pairs: usize, shapes: usize) -> Self {
        Self {
            best: vec![Best::NONE; pairs],
            near: vec![Vec::new(); pairs],
            ways: [vec![0.0; shapes], vec![0.0; shapes]],
            poses: 0,
        }
    }

    pub(super) fn join(&mut self, other: &Self) {
        self.poses += other.poses;
        for (a, b) in self.best.iter_mut().zip(&other.best) {
            a.meet(b.apart, b.at);
        }
        for (a, b) in self.near.iter_mut().zip(&other.near) {
            a.extend(b);
        }
        for (a, b) in self.ways.iter_mut().zip(&other.ways) {
            for (a, b) in a.iter_mut().zip(b) {
                *a = a.max(*b);
            }
        }
    }

    /// Between the poses of the grid a pair comes closer by about this at most: half a step along each drive from the nearest.
    fn between(&self, pair: &Pair) -> f64 {
        let ways = self.ways.iter();
        ways.map(|w| 0.5 * pair.shapes.map(|i| w[i]).iter().sum::<f64>())
            .sum()
    }
}

/// No way is shorter than what was gone from one pose to the next.
fn gone(ways: &mut [f64], before: &[Option<Placed<'_>>], now: &[Option<Placed<'_>>]) {
    for ((way, now), before) in ways.iter_mut().zip(now).zip(before) {
        if let (Some(now), Some(before)) = (now, before) {
            *way = now.moved(before).max(*way);
        }
    }
}

/// Which of both drives moves neither of a pair towards the other: at all its places the pair stands as far apart.
fn still(near: &[Near]) -> [bool; 2] {
    [0, 1].map(|d| {
        let mut along: BTreeMap<usize, (f64, f64, usize)> = BTreeMap::new();
        for n in near {
            let far = n.apart.distance;
            let (least, most, count) = along.entry(n.cell[1 - d]).or_insert((far, far, 0));
            (*least, *most) = (least.min(far), most.max(far));
            *count += 1;
        }
        let even = along.values().all(|(least, most, _)| most - least < 1e-9);
        even && along.values().any(|(_, _, count)| *count > 1)
    })
}

pub(super) struct Look<'l> {
    pub(super) model: &'l Model,
    pub(super) shapes: &'l [Shape],
    pub(super) pairs: &'l [Pair],
    pub(super) across: usize,
    pub(super) up: Option<usize>,
}

impl Look<'_> {
    pub(super) fn chunk(&self, start: &Stand, columns: &[f64], rows: &[f64], first: usize) -> Seen {
        let model = self.model;
        let mut seen = Seen::new(self.pairs.len(), self.shapes.len());
        // Of this row as far as it is gone along, of the one before it from there on.
        let mut poses: Vec<Vec<Option<Placed<'_>>>> = Vec::new();
        poses.resize_with(columns.len(), Vec::new);
        let mut bench = Bench::new(model);
        let home = bench.bring(start).ok();
        let mut last = home.clone();
        for (r, &row) in rows.iter().enumerate() {
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
            let mut ways = vec![0.0; self.shapes.len()];
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
                let placed = self.placed(&there);
                if let Some(before) = i.checked_sub(1).and_then(|i| poses.get(i)) {
                    gone(&mut ways, before, &placed);
                }
                gone(&mut seen.ways[1], &poses[i], &placed);
                self.pose(&placed, ([x, row], [i, first + r]), &ways, &mut seen);
                poses[i] = placed;
            }
            for (all, row) in seen.ways[0].iter_mut().zip(&ways) {
                *all = all.max(*row);
            }
            last = Some(here);
        }
        seen
    }

    fn placed(&self, here: &Here) -> Vec<Option<Placed<'_>>> {
        let model = self.model;
        self.shapes.iter().map(|s| s.placed(model, here)).collect()
    }

    /// `ways` is how far each shape moves from pose to pose.
    fn pose(
        &self,
        placed: &[Option<Placed<'_>>],
        (at, cell): ([f64; 2], [usize; 2]),
        ways: &[f64],
        seen: &mut Seen,
    ) {
        let seen_pairs = seen.best.iter_mut().zip(&mut seen.near);
        for (pair, (best, near)) in self.pairs.iter().zip(seen_pairs) {
            let [i, j] = pair.shapes;
            // Nothing closer is to be found.
            if best.within_or_meets() <= pair.floor + 1e-9 {
                continue;
            }
            if let (Some(a), Some(b)) = (&placed[i], &placed[j]) {
                let within = (best.within().max(0.0) + ways[i] + ways[j]).min(FAR);
                let apart = self.apart(pair, a, b, within);
                near.extend(apart.map(|apart| Near { apart, at, cell }));
                best.meet(apart, at);
            }
        }
        seen.poses += 1;
    }

    /// How two placed shapes stand to one another, each in its own plane.
    fn apart(&self, pair: &Pair, a: &Placed<'_>, b: &Placed<'_>, within: f64) -> Option<Apart> {
        let Some(frame) = &pair.across else {
            return a.apart(b, within);
        };
        let shapes = pair.shapes.map(|s| &self.shapes[s]);
        if frame.at_least([a.round(), b.round()], shapes.map(|s| s.depth)) > within {
            return None;
        }
        let (distance, place) = frame.apart(&shapes[0].prism(a), &shapes[1].prism(b), within)?;
        Some(Apart { distance, place })
    }

    /// How far one of two that meet has to be moved until they do not.
    fn deep(&self, pair: &Pair, a: &Placed<'_>, b: &Placed<'_>, apart: Apart) -> Apart {
        match pair.across {
            // It is told so already.
            Some(_) => apart,
            None => Apart {
                distance: -a.retreat(b),
                ..apart
            },
        }
    }

    fn bring(&self, bench: &mut Bench<'_>, start: &Stand, at: [f64; 2]) -> Option<Here> {
        let mut stand = start.clone();
        *stand.drives.get_mut(self.across)? = at[0];
        if let Some(up) = self.up {
            *stand.drives.get_mut(up)? = at[1];
        }
        bench.bring(&stand).ok()
    }

    /// A place of both drives not far from one where the machine stands.
    fn beside(&self, bench: &mut Bench<'_>, base: &Here, at: [f64; 2]) -> Option<Here> {
        let Some(up) = self.up else {
            return bench.advance(base, self.across, at[0]).ok();
        };
        // One may have to make room for the other first.
        let ways = [
            [(self.across, at[0]), (up, at[1])],
            [(up, at[1]), (self.across, at[0])],
        ];
        ways.into_iter().find_map(|[first, second]| {
            let here = bench.advance(base, first.0, first.1).ok()?;
            bench.advance(&here, second.0, second.1).ok()
        })
    }

    /// The least distance of a pair: refined from every pose of the grid that is closer than its neighbours.
    pub(super) fn least_of(
        &self,
        start: &Stand,
        pair: usize,
        seen: &Seen,
        steps: [f64; 2],
        grid: &Grid,
    ) -> Best {
        let mut best = seen.best[pair];
        if best.within_or_meets() <= self.pairs[pair].floor + 1e-9 {
            return best;
        }
        let still = still(&seen.near[pair]);
        let steps = [0, 1].map(|d| if still[d] { 0.0 } else { steps[d] });
        // Along a drive that moves neither towards the other one place stands for all.
        let one = |d: usize| seen.near[pair].iter().map(|n| n.cell[d]).min();
        let near: Vec<Near> = seen.near[pair]
            .iter()
            .filter(|n| (0..2).all(|d| !still[d] || Some(n.cell[d]) == one(d)))
            .copied()
            .collect();
        // Those that cannot come closer than the best of the grid need no look.
        let least = best.within_or_meets() + seen.between(&self.pairs[pair]);
        let mut valleys = valleys(&near);
        valleys.truncate(VALLEYS);
        valleys.retain(|n| n.apart.distance <= least);
        let from = |near: &Near| Best {
            apart: Some(near.apart),
            at: near.at,
        };
        let refined: Vec<Best> = valleys
            .par_iter()
            .map(|near| self.refine(start, pair, from(near), steps, grid))
            .collect();
        for found in refined {
            best.meet(found.apart, found.at);
        }
        // At either end of the second drive the first is refined for itself: what is closest there may be no valley of both.
        let last = grid.rows.len().saturating_sub(1);
        for end in [0, last] {
            let on_edge = near.iter().filter(|n| n.cell[1] == end);
            let closest = on_edge.min_by(|a, b| a.apart.distance.total_cmp(&b.apart.distance));
            let both = self.up.is_some() && !still[0] && !still[1];
            if let Some(near) = closest.filter(|_| both) {
                let found = self.refine(start, pair, from(near), [steps[0], 0.0], grid);
                best.meet(found.apart, found.at);
            }
        }
        if best.apart.is_some_and(|a| a.distance < 0.0) {
            let met = seen.near[pair].iter().filter(|n| n.apart.distance < 0.0);
            let met: Vec<Near> = met.copied().collect();
            return self.deepest(start, pair, best, (steps, &met), grid);
        }
        best
    }

    /// Golden section along each drive in turn about a place of the grid, then all round it.
    fn refine(&self, start: &Stand, pair: usize, best: Best, steps: [f64; 2], grid: &Grid) -> Best {
        let Some(first) = best.apart else { return best };
        let [i, j] = self.pairs[pair].shapes;
        let mut bench = Bench::new(self.model);
        let mut best = best;
        let within = first.distance.max(0.0) + 1.0;
        // From the place of the grid it is a short way to all that is looked at.
        let Some(base) = self.bring(&mut bench, start, best.at) else {
            return best;
        };
        let mut look = |best: &mut Best, at: [f64; 2]| -> f64 {
            let found = || {
                let here = self.beside(&mut bench, &base, at)?;
                let a = self.shapes[i].placed(self.model, &here)?;
                let b = self.shapes[j].placed(self.model, &here)?;
                self.apart(&self.pairs[pair], &a, &b, within)
            };
            let found = { found }();
            best.meet(found, at);
            found.map_or(f64::INFINITY, |f| f.distance)
        };
        let reach = |values: &[f64]| {
            [
                values.first().copied().unwrap_or(0.0),
                values.last().copied().unwrap_or(0.0),
            ]
        };
        // Across the reach is another at each row; what cannot be reached is passed over.
        let ends = [[f64::NEG_INFINITY, f64::INFINITY], reach(&grid.rows)];
        let both = self.up.is_some() && !steps.contains(&0.0);
        // Of two drives the search all round finds what is left.
        let (rounds, sections) = if both { (2, 10) } else { (1, SECTIONS) };
        let mut width = steps;
        for _ in 0..rounds {
            for drive in 0..2 {
                if width[drive] == 0.0 {
                    continue;
                }
                let middle = best.at[drive];
                let ends = [
                    (middle - width[drive]).max(ends[drive][0]),
                    (middle + width[drive]).min(ends[drive][1]),
                ];
                golden(ends, sections, |x| {
                    let mut at = best.at;
                    at[drive] = x;
                    look(&mut best, at)
                });
                width[drive] *= 0.25;
            }
        }
        if !both {
            return best;
        }
        // What is closest may lie aslant of both drives, or at an end of one with the other going on: all round with ever smaller steps.
        let mut size = steps.map(|s| 0.5 * s.abs());
        for _ in 0..PATTERNS {
            let before = best.within_or_meets();
            for [dx, dy] in ROUND {
                let at = [
                    (best.at[0] + dx * size[0]).clamp(ends[0][0], ends[0][1]),
                    (best.at[1] + dy * size[1]).clamp(ends[1][0], ends[1][1]),
                ];
                look(&mut best, at);
            }
            if best.within_or_meets() >= before {
                size = size.map(|s| 0.5 * s);
            }
            if size[0] < FINEST * steps[0].abs() {
                break;
            }
        }
        best
    }

    /// Where one of a pair that meets has to be moved farthest to be free of the other: over the way of each drive through the place of the
    /// grid, then by golden section.
    fn deepest(
        &self,
        start: &Stand,
        pair: usize,
        best: Best,
        (steps, met): ([f64; 2], &[Near]),
        grid: &Grid,
    ) -> Best {
        let [i, j] = self.pairs[pair].shapes;
        let mut bench = Bench::new(self.model);
        let mut best = Best {
            apart: best.apart.map(|a| Apart { distance: 0.0, ..a }),
            ..best
        };
        let mut look = |best: &mut Best, at: [f64; 2]| -> f64 {
            let found = || {
                let here = self.bring(&mut bench, start, at)?;
                let a = self.shapes[i].placed(self.model, &here)?;
                let b = self.shapes[j].placed(self.model, &here)?;
                let apart = self.apart(&self.pairs[pair], &a, &b, 0.0)?;
                Some(self.deep(&self.pairs[pair], &a, &b, apart))
            };
            let found = { found }();
            best.meet(found, at);
            found.map_or(0.0, |f| f.distance)
        };
        for drive in 0..2 {
            let values = if drive == 0 {
                &grid.columns
            } else {
                &grid.rows
            };
            let every = values.len().div_ceil(ALONG).max(1);
            for &x in values.iter().step_by(every) {
                let mut at = best.at;
                at[drive] = x;
                look(&mut best, at);
            }
        }
        let first_steps = steps.map(f64::abs);
        // From the deepest of the poses at which they meet, all round with ever smaller steps, as far as both drives go: how deep they meet
        // has hills of its own, at an end of a drive as well as between.
        if self.up.is_some() {
            let ends = [&grid.columns, &grid.rows].map(|values| {
                let at = |x: Option<&f64>| x.copied().unwrap_or(0.0);
                [at(values.first()), at(values.last())]
            });
            let mut starts: Vec<Best> = Vec::new();
            for at in starts_of(met, grid.rows.len().saturating_sub(1)) {
                let mut start = Best::NONE;
                look(&mut start, at);
                best.meet(start.apart, start.at);
                starts.push(start);
            }
            starts.sort_by(|a, b| a.within_or_meets().total_cmp(&b.within_or_meets()));
            let mut taken: Vec<Best> = vec![best];
            for start in starts {
                let beside = |t: &&Best| {
                    (0..2).all(|k| (t.at[k] - start.at[k]).abs() <= 2.5 * first_steps[k])
                };
                if taken.len() < HILLS && start.apart.is_some() && !taken.iter().any(|t| beside(&t))
                {
                    taken.push(start);
                }
            }
            for mut hill in taken {
                let mut size = first_steps.map(|s| 2.0 * s);
                for _ in 0..PATTERNS / 2 {
                    let before = hill.within_or_meets();
                    for [dx, dy] in ROUND {
                        let at = [
                            (hill.at[0] + dx * size[0]).clamp(ends[0][0], ends[0][1]),
                            (hill.at[1] + dy * size[1]).clamp(ends[1][0], ends[1][1]),
                        ];
                        look(&mut hill, at);
                    }
                    if hill.within_or_meets() >= before {
                        size = size.map(|s| 0.5 * s);
                    }
                }
                best.meet(hill.apart, hill.at);
            }
        }
        let mut steps = first_steps;
        for (drive, values) in [(0, &grid.columns), (1, &grid.rows)] {
            steps[drive] *= values.len().div_ceil(ALONG).max(1) as f64;
        }
        let ends = [&grid.columns, &grid.rows].map(|values| {
            let at = |x: Option<&f64>| x.copied().unwrap_or(0.0);
            [at(values.first()), at(values.last())]
        });
        for drive in [0, 1, 0] {
            if steps[drive] == 0.0 {
                continue;
            }
            let [first, last] = ends[drive];
            let about = [
                (best.at[drive] - steps[drive]).max(first),
                (best.at[drive] + steps[drive]).min(last),
            ];
            golden(about, SECTIONS, |x| {
                let mut at = best.at;
                at[drive] = x;
                look(&mut best, at)
            });
            steps[drive] *= 0.1;
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
            most = most.max(self.apart(pair, &a, &b, WIDE).map_or(WIDE, |a| a.distance));
        }
        (most > best.apart?.distance.max(0.0) + OPENS_BY).then_some(most)
    }

    pub(super) fn told(&self, start: &Stand, pair: &Pair, best: &Best) -> Option<PairClearance> {
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
            across: pair.across.and_then(|_| {
                let plane = self.model.machine.planes.get(b.plane);
                plane.map(|p| p.name.clone())
            }),
            layer_known: pair.layer_known,
        })
    }
}

/// The golden section between two ends, each place looked at once.
fn golden([mut low, mut high]: [f64; 2], sections: usize, mut look: impl FnMut(f64) -> f64) {
    const GOLDEN: f64 = 0.618_033_988_749_895;
    let mut at = [high - GOLDEN * (high - low), low + GOLDEN * (high - low)];
    let mut far = at.map(&mut look);
    for _ in 1..sections {
        if far[0] <= far[1] {
            high = at[1];
            at = [high - GOLDEN * (high - low), at[0]];
            far = [look(at[0]), far[0]];
        } else {
            low = at[0];
            at = [at[1], low + GOLDEN * (high - low)];
            far = [far[1], look(at[1])];
        }
    }
}

/// Poses from which the deepest is looked for: where by the grid it is deeper than all about it, the same along either end of the second drive,
/// and some of all.
fn starts_of(met: &[Near], last: usize) -> Vec<[f64; 2]> {
    let mut starts: Vec<[f64; 2]> = valleys(met).iter().take(VALLEYS).map(|n| n.at).collect();
    for end in [0, last] {
        let edge: Vec<Near> = met.iter().filter(|n| n.cell[1] == end).copied().collect();
        starts.extend(valleys(&edge).iter().take(HILLS).map(|n| n.at));
    }
    let every = met.len().div_ceil(MET).max(1);
    starts.extend(met.iter().step_by(every).map(|n| n.at));
    starts
}

/// Places of a pair that are closer than all about them, the closest first.
fn valleys(near: &[Near]) -> Vec<Near> {
    let known: BTreeMap<[usize; 2], f64> =
        near.iter().map(|n| (n.cell, n.apart.distance)).collect();
    let lowest = |n: &&Near| {
        let [column, row] = n.cell;
        let about = (-1_isize..=1).flat_map(|r| (-1_isize..=1).map(move |c| [c, r]));
        about.filter(|d| *d != [0, 0]).all(|[c, r]| {
            let cell = column.checked_add_signed(c).zip(row.checked_add_signed(r));
            let other = cell.and_then(|(c, r)| known.get(&[c, r]).map(|d| ([c, r], *d)));
            // Of equal ones the first.
            other.is_none_or(|(cell, d)| {
                d > n.apart.distance || (d == n.apart.distance && cell > n.cell)
            })
        })
    };
    let mut all: Vec<Near> = near.iter().filter(lowest).copied().collect();
    all.sort_by(|a, b| a.apart.distance.total_cmp(&b.apart.distance));
    all
}
