//! Batches of perturbed machines: every pose on its own.

use pulp::{Arch, Simd};
use rayon::prelude::*;

use super::stage::{OnLanes, Stage, Work, image};
use super::track::Lay;
use super::{Compiled, Plan, RunError, Track, Use, Want};
use crate::lanes::LANES;
use crate::lanes::run::{rows, run};
use crate::model::{ParamId, Pose};

/// Rounds of one chunk of work.
const ROUNDS: usize = 64;

/// A plan made ready for batches.
#[derive(Clone, Debug)]
pub struct Batch {
    compiled: Compiled,
    wants: Vec<Want>,
    image: Vec<f64>,
}

impl Plan {
    /// Gets ready to solve machines in which the parameters `varied` differ and all others stand as in `base`. `poses` is the pose from
    /// which Newton starts and from which angles are counted.
    ///
    /// # Errors
    /// [`RunError::Columns`] or [`RunError::TooLarge`].
    pub fn batch(
        &self,
        base: &[f64],
        varied: &[ParamId],
        wants: &[Want],
        poses: &[Pose],
    ) -> Result<Batch, RunError> {
        let compiled = self.compile(base, varied, wants, &Use::Apart)?;
        let image = image(&compiled.code, poses);
        Ok(Batch {
            compiled,
            wants: wants.to_vec(),
            image,
        })
    }
}

impl Batch {
    /// Solves `count` machines. `fill(first, columns)` writes the varied parameters of machines `first` to `first + 31`, one column a
    /// parameter, in any order of calls and from several threads; it must depend on `first` alone.
    pub fn run(
        &self,
        count: usize,
        fill: impl Fn(usize, &mut [[f64; LANES]]) + Sync,
        track: &mut Track,
    ) {
        let rounds = count.div_ceil(LANES);
        let chunks = rounds.div_ceil(ROUNDS);
        track.prepare(&self.wants, count, Lay::Across, chunks, ROUNDS);
        let size = ROUNDS * track.columns * LANES;
        let missed: Vec<Vec<usize>> = if size == 0 {
            (0..chunks)
                .into_par_iter()
                .map_init(
                    || self.stage(),
                    |stage, i| self.chunk(stage, i, count, &fill, &mut []),
                )
                .collect()
        } else {
            let parts = track.room().par_chunks_mut(size).enumerate();
            parts
                .map_init(
                    || self.stage(),
                    |stage, (i, out)| self.chunk(stage, i, count, &fill, out),
                )
                .collect()
        };
        track.missed.extend(missed.into_iter().flatten());
    }

    fn stage(&self) -> (Stage, Vec<f64>) {
        let cells: Vec<f64> = self.image.iter().flat_map(|x| [*x; LANES]).collect();
        (Stage::new(&self.compiled.code, LANES), cells)
    }

    fn chunk<F: Fn(usize, &mut [[f64; LANES]]) + Sync>(
        &self,
        (stage, cells): &mut (Stage, Vec<f64>),
        chunk: usize,
        count: usize,
        fill: &F,
        out: &mut [f64],
    ) -> Vec<usize> {
        let mut missed = Vec::new();
        let work = Chunk {
            compiled: &self.compiled,
            stage,
            cells,
            first: chunk * ROUNDS * LANES,
            count,
            fill,
            out,
            missed: &mut missed,
        };
        Arch::new().dispatch(OnLanes(work));
        missed
    }
}

struct Chunk<'a, F> {
    compiled: &'a Compiled,
    stage: &'a mut Stage,
    cells: &'a [f64],
    first: usize,
    count: usize,
    fill: &'a F,
    out: &'a mut [f64],
    missed: &'a mut Vec<usize>,
}

impl<F: Fn(usize, &mut [[f64; LANES]])> Work for Chunk<'_, F> {
    #[inline(always)]
    fn work<S: Simd, const N: usize>(self, simd: S) {
        let code = &self.compiled.code;
        let size = code.columns * LANES;
        for round in 0..ROUNDS {
            let first = self.first + round * LANES;
            if first >= self.count {
                break;
            }
            (self.fill)(first, self.stage.inputs().as_chunks_mut::<LANES>().0);
            self.stage
                .cells(code.cells.len())
                .copy_from_slice(self.cells);
            self.stage.well().fill(if code.failed { 0.0 } else { 1.0 });
            let out = &mut self.out[round * size..(round + 1) * size];
            run::<S, N>(
                simd,
                &code.ops,
                rows::<S, N>(self.stage.all()),
                rows::<S, N>(out),
            );
            let missed = |lane| self.missed.push(first + lane);
            name_missed(self.stage.well(), out, missed, |lane| {
                first + lane < self.count
            });
        }
    }
}

/// Names the lanes of a round that missed; their numbers become NaN.
#[inline(always)]
pub(super) fn name_missed(
    well: &[f64],
    out: &mut [f64],
    mut missed: impl FnMut(usize),
    counts: impl Fn(usize) -> bool,
) {
    // Not a sum or a search: all lanes at once.
    if well
        .iter()
        .fold(0, |off, w| off | (w.to_bits() ^ 1.0_f64.to_bits()))
        == 0
    {
        return;
    }
    for (lane, well) in well.iter().enumerate() {
        if *well != 1.0 && counts(lane) {
            missed(lane);
            for column in out.as_chunks_mut::<LANES>().0 {
                column[lane] = f64::NAN;
            }
        }
    }
}
