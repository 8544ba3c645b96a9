//! Sweeps: poses that follow one another.
//!
//! The sweep is cut into chunks by its length alone, and each chunk into one stretch a lane. Within its stretch a lane goes from pose to
//! pose; where a pose needs the one before, a walk in long steps has given each lane its start, and afterwards the end of every stretch
//! is held against the start of the next. Such a sweep ends at the first pose that is missed; one whose poses stand on their own goes on.

use pulp::{Arch, Simd};
use rayon::prelude::*;

use super::batch::name_missed;
use super::stage::{OnLanes, Stage, Work};
use super::tape::Start;
use super::track::Lay;
use super::walk::{Moves, starts};
use super::{Compiled, Plan, RunError, Track, Use, Want};
use crate::lanes::LANES;
use crate::lanes::run::{rows, run};
use crate::model::{ParamId, Pose};

/// Poses of a lane's stretch where poses stand on their own but for the comparison with the one before.
const SHORT: usize = 72;
/// Most poses of a stretch where each pose starts from the one before.
const LONG: usize = 520;
/// Chunks that a sweep is cut into before stretches become long.
const CHUNKS: usize = 8;
/// Share of the size (or rad) by which the end of a stretch may miss the start of the next.
const SEAM: f64 = 1e-6;

/// A plan made ready for sweeps.
#[derive(Clone, Debug)]
pub struct Sweep {
    compiled: Compiled,
    wants: Vec<Want>,
    base: Vec<f64>,
    varied: Vec<ParamId>,
    size: f64,
}

impl Plan {
    /// Gets ready to sweep the parameters `varied`; all others stand as in `base`.
    ///
    /// # Errors
    /// [`RunError::Columns`] or [`RunError::TooLarge`].
    pub fn sweep(
        &self,
        base: &[f64],
        varied: &[ParamId],
        wants: &[Want],
    ) -> Result<Sweep, RunError> {
        let compiled = self.compile(base, varied, wants, &Use::Sweep)?;
        Ok(Sweep {
            compiled,
            wants: wants.to_vec(),
            base: base.to_vec(),
            varied: varied.to_vec(),
            size: self.size,
        })
    }
}

impl Sweep {
    /// Follows the machine from `poses`, its pose for the base parameters, through all poses of the sweep: pose `i` has the varied
    /// parameters `columns[..][i]`.
    ///
    /// # Errors
    /// [`RunError::Columns`] when the columns are not one a varied parameter, all of one length. [`RunError::Start`] when poses follow one
    /// another and `poses` is not a good one.
    pub fn run(
        &self,
        poses: &[Pose],
        columns: &[&[f64]],
        track: &mut Track,
    ) -> Result<(), RunError> {
        let count = columns.first().map_or(0, |c| c.len());
        if columns.len() != self.varied.len() || columns.iter().any(|c| c.len() != count) {
            return Err(RunError::Columns);
        }
        let start: Vec<f64> = self.varied.iter().map(|v| self.base[*v]).collect();
        let moves = Moves {
            columns,
            start: &start,
            count,
        };
        let follows = self.compiled.follows;
        let steps = if follows {
            count.div_ceil(LANES * CHUNKS).clamp(16, LONG)
        } else {
            SHORT
        }
        .min(count.div_ceil(LANES))
        .max(1);
        let chunks = count.div_ceil(steps * LANES);
        track.prepare(&self.wants, count, Lay::Along(steps), chunks, steps);
        let starts = if follows {
            starts(&self.compiled, &moves, poses, chunks * LANES, steps).ok_or(RunError::Start)?
        } else {
            Vec::new()
        };
        let size = steps * track.columns * LANES;
        let run = |stage: &mut Stage, i: usize, out: &mut [f64]| {
            let mut done = Done::default();
            let work = Stretch {
                sweep: self,
                stage,
                moves: &moves,
                chunk: i,
                steps,
                starts: &starts,
                out,
                done: &mut done,
            };
            Arch::new().dispatch(OnLanes(work));
            done
        };
        let stage = || Stage::new(&self.compiled.code, LANES);
        let done: Vec<Done> = if size == 0 {
            (0..chunks)
                .into_par_iter()
                .map_init(stage, |stage, i| run(stage, i, &mut []))
                .collect()
        } else {
            track
                .room()
                .par_chunks_mut(size)
                .enumerate()
                .map_init(stage, |stage, (i, out)| run(stage, i, out))
                .collect()
        };
        let torn = done.iter().filter_map(|d| d.torn).min();
        track.missed.extend(done.into_iter().flat_map(|d| d.missed));
        track.missed.sort_unstable();
        if follows {
            // Beyond a pose that was missed only the walk's long steps have gone on: nothing there is sure.
            let first = track.missed.first().copied().into_iter().chain(torn).min();
            track.tear(first.unwrap_or(count));
        }
        Ok(())
    }
}

#[derive(Default)]
struct Done {
    missed: Vec<usize>,
    /// First pose of a stretch whose start the stretch before did not arrive at.
    torn: Option<usize>,
}

struct Stretch<'a> {
    sweep: &'a Sweep,
    stage: &'a mut Stage,
    moves: &'a Moves<'a>,
    chunk: usize,
    steps: usize,
    starts: &'a [Option<Vec<f64>>],
    out: &'a mut [f64],
    done: &'a mut Done,
}

impl Work for Stretch<'_> {
    #[inline(always)]
    fn work<S: Simd, const N: usize>(mut self, simd: S) {
        let Compiled {
            code,
            follows,
            foresights,
            ..
        } = &self.sweep.compiled;
        let size = code.columns * LANES;
        let first = self.chunk * self.steps * LANES;
        let (steps, count) = (self.steps, self.moves.count);
        let out = std::mem::take(&mut self.out);
        let mut alive = [if code.failed { 0.0 } else { 1.0 }; LANES];
        self.stage.cells(code.cells.len()).fill(f64::NAN);
        if *follows {
            self.begin(&mut alive);
        }
        // Where poses stand on their own, the one before the first is only compared with.
        for step in usize::from(*follows)..=steps {
            let out: &mut [f64] = if step == 0 {
                &mut []
            } else {
                &mut out[(step - 1) * size..step * size]
            };
            self.place(step, &alive);
            run::<S, N>(
                simd,
                &code.ops,
                &code.cams,
                rows::<S, N>(self.stage.all()),
                rows::<S, N>(out),
            );
            if *follows {
                alive.copy_from_slice(self.stage.well());
                if step == 1 {
                    for [now, last] in foresights {
                        let now: [f64; LANES] = std::array::from_fn(|l| self.stage.cell(*now)[l]);
                        self.stage.cell(*last).copy_from_slice(&now);
                    }
                }
            }
            if step > 0 {
                let pose = |lane: usize| first + lane * steps + step - 1;
                let missed = &mut self.done.missed;
                name_missed(
                    self.stage.well(),
                    out,
                    |lane| missed.push(pose(lane)),
                    |lane| pose(lane) < count,
                );
            }
        }
        if *follows {
            self.compare(&alive);
        }
    }
}

impl Stretch<'_> {
    /// Sets the parameters of the pose before step `step` of every lane's stretch.
    #[inline(always)]
    fn place(&mut self, step: usize, alive: &[f64; LANES]) {
        let first = self.chunk * self.steps * LANES + step;
        let inputs = self.stage.inputs().as_chunks_mut::<LANES>().0;
        for (column, input) in inputs.iter_mut().enumerate() {
            let stretches =
                self.moves.columns[column].get(first - step..first - step + self.steps * LANES);
            if let (Some(stretches), 1..) = (stretches, step) {
                for (input, stretch) in input.iter_mut().zip(stretches.chunks_exact(self.steps)) {
                    *input = stretch[step - 1];
                }
            } else {
                for (lane, input) in input.iter_mut().enumerate() {
                    *input = self.moves.at(column, first + lane * self.steps);
                }
            }
        }
        self.stage.well().copy_from_slice(alive);
    }

    /// Sets every lane to its start.
    fn begin(&mut self, alive: &mut [f64; LANES]) {
        for (lane, alive) in alive.iter_mut().enumerate() {
            match self.starts.get(self.chunk * LANES + lane) {
                Some(Some(cells)) => {
                    for (cell, value) in cells.iter().enumerate() {
                        self.stage.cell(cell as u16)[lane] = *value;
                    }
                }
                _ => *alive = 0.0,
            }
        }
    }

    /// Holds the end of every stretch against the start of the next.
    fn compare(&mut self, alive: &[f64; LANES]) {
        let code = &self.sweep.compiled.code;
        for lane in 0..LANES {
            let next = self.chunk * LANES + lane + 1;
            if alive[lane] != 1.0 || next * self.steps >= self.moves.count {
                continue;
            }
            let Some(Some(cells)) = self.starts.get(next) else {
                continue;
            };
            let meets = code
                .cells
                .iter()
                .zip(cells)
                .enumerate()
                .all(|(cell, (kind, start))| {
                    let scale = match kind {
                        Start::Cos(_) | Start::Sin(_) | Start::Angle(_) => 1.0,
                        Start::X(_) | Start::Y(_) => self.sweep.size,
                        Start::Zero | Start::Unset => return true,
                    };
                    (self.stage.cell(cell as u16)[lane] - start).abs() <= SEAM * scale
                });
            if !meets {
                let torn = next * self.steps;
                self.done.torn = Some(self.done.torn.map_or(torn, |t| t.min(torn)));
            }
        }
    }
}
