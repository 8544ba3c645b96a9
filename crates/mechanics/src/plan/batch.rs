//! Batches of perturbed machines: every pose on its own.

use pulp::{Arch, Simd};
use rayon::prelude::*;

use super::stage::{OnLanes, Stage, Work, fill_cells, image};
use super::tape::Tape;
use super::track::Lay;
use super::{Compiled, Part, Plan, RunError, Track, Use, Want, compile};
use crate::lanes::LANES;
use crate::lanes::run::{rows, run};
use crate::model::{ParamId, Pose};

/// Rounds of one chunk of work.
const ROUNDS: usize = 64;
/// Machines of one chunk of work.
pub const CHUNK: usize = ROUNDS * LANES;

/// A plan made ready for batches.
#[derive(Clone, Debug)]
pub struct Batch {
    compiled: Compiled,
    wants: Vec<Want>,
    image: Vec<f64>,
}

/// A pose in which every machine of a batch is solved.
#[derive(Clone, Copy, Debug)]
pub struct Stand<'a> {
    /// Its plan; all of a batch are of one mechanism.
    pub plan: &'a Plan,
    /// Its parameters as drawn.
    pub base: &'a [f64],
    /// The pose from which Newton starts and from which angles are counted.
    pub poses: &'a [Pose],
    /// What is wanted of it.
    pub wants: &'a [Want],
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
    /// Gets ready to solve each machine in several poses at once: what the poses have in common is worked out once. Here the columns hold
    /// by how much the parameters `varied` are off every stand's base. The numbers of all wants stand one after another, in order. A
    /// machine that is missed in one pose is missed.
    ///
    /// # Errors
    /// [`RunError::Columns`] or [`RunError::TooLarge`].
    pub fn of(stands: &[Stand<'_>], varied: &[ParamId]) -> Result<Self, RunError> {
        let parts: Vec<Part<'_>> = stands
            .iter()
            .map(|s| Part {
                plan: s.plan,
                base: s.base,
                wants: s.wants,
            })
            .collect();
        let params = stands.first().map_or(0, |s| s.base.len());
        for part in &parts {
            part.fits(varied)?;
            if part.base.len() != params {
                return Err(RunError::Columns);
            }
        }
        let base = stands.first().map_or(&[][..], |s| s.base);
        let tape = Tape::of_departures(base, varied);
        let compiled = compile(&parts, varied, &Use::Apart, tape)?;
        let mut image = vec![0.0; compiled.code.cells.len()];
        let mut first = 0;
        for (stand, &end) in stands.iter().zip(&compiled.cells) {
            let cells = &compiled.code.cells[first..end];
            fill_cells(cells, stand.poses, &mut image[first..end]);
            first = end;
        }
        Ok(Self {
            compiled,
            wants: stands.iter().flat_map(|s| s.wants.to_vec()).collect(),
            image,
        })
    }

    /// How many numbers come out for a machine.
    pub fn columns(&self) -> usize {
        self.compiled.code.columns
    }

    /// For each column whether anything depends on it.
    pub fn reads(&self) -> &[bool] {
        &self.compiled.code.reads
    }

    /// Instructions that solve [`LANES`] machines.
    pub fn instructions(&self) -> usize {
        self.compiled.code.ops.len()
    }

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
        let mut rest = track.room();
        let mut parts = Vec::with_capacity(chunks);
        for _ in 0..chunks {
            let (part, other) = rest.split_at_mut(size);
            parts.push(part);
            rest = other;
        }
        let missed: Vec<Vec<usize>> = parts
            .into_par_iter()
            .enumerate()
            .map_init(
                || self.stage(),
                |stage, (i, out)| self.chunk(stage, i, count, &fill, Goes::<Nobody>::Kept(out)),
            )
            .collect();
        track.missed.extend(missed.into_iter().flatten());
    }

    /// Solves `count` machines and keeps nothing: `take(part, first, numbers)` is given the numbers of machines `first` to `first + 31` of
    /// the chunk that `part` is for, one column a number, NaN where a machine is missed. There is one part for every [`CHUNK`] machines.
    /// Tells the missed machines, in order.
    pub fn each<P: Send>(
        &self,
        count: usize,
        parts: Vec<P>,
        fill: impl Fn(usize, &mut [[f64; LANES]]) + Sync,
        take: impl Fn(&mut P, usize, &[[f64; LANES]]) + Sync,
    ) -> Vec<usize> {
        let width = self.columns() * LANES;
        let missed: Vec<Vec<usize>> = parts
            .into_par_iter()
            .enumerate()
            .map_init(
                || (self.stage(), vec![0.0; width + 8]),
                |(stage, numbers), (i, mut part)| {
                    let start = numbers.as_ptr().align_offset(64).min(8);
                    let numbers = &mut numbers[start..start + width];
                    let own =
                        |first: usize, numbers: &[[f64; LANES]]| take(&mut part, first, numbers);
                    self.chunk(stage, i, count, &fill, Goes::Taken(numbers, own))
                },
            )
            .collect();
        missed.into_iter().flatten().collect()
    }

    fn stage(&self) -> (Stage, Vec<f64>) {
        let cells: Vec<f64> = self.image.iter().flat_map(|x| [*x; LANES]).collect();
        (Stage::new(&self.compiled.code, LANES), cells)
    }

    fn chunk<F, T>(
        &self,
        (stage, cells): &mut (Stage, Vec<f64>),
        chunk: usize,
        count: usize,
        fill: &F,
        goes: Goes<'_, T>,
    ) -> Vec<usize>
    where
        F: Fn(usize, &mut [[f64; LANES]]) + Sync,
        T: FnMut(usize, &[[f64; LANES]]),
    {
        let mut missed = Vec::new();
        let work = Chunk {
            compiled: &self.compiled,
            stage,
            cells,
            first: chunk * CHUNK,
            count,
            fill,
            goes,
            missed: &mut missed,
        };
        Arch::new().dispatch(OnLanes(work));
        missed
    }
}

/// Who takes numbers that are kept.
type Nobody = fn(usize, &[[f64; LANES]]);

/// Where the numbers of a chunk go.
enum Goes<'a, T> {
    /// Round after round.
    Kept(&'a mut [f64]),
    /// Each round in the same place, and then to whoever takes it.
    Taken(&'a mut [f64], T),
}

struct Chunk<'a, F, T> {
    compiled: &'a Compiled,
    stage: &'a mut Stage,
    cells: &'a [f64],
    first: usize,
    count: usize,
    fill: &'a F,
    goes: Goes<'a, T>,
    missed: &'a mut Vec<usize>,
}

impl<F: Fn(usize, &mut [[f64; LANES]]), T: FnMut(usize, &[[f64; LANES]])> Work for Chunk<'_, F, T> {
    #[inline(always)]
    fn work<S: Simd, const N: usize>(mut self, simd: S) {
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
            let out = match &mut self.goes {
                Goes::Kept(all) => &mut all[round * size..(round + 1) * size],
                Goes::Taken(numbers, _) => &mut **numbers,
            };
            run::<S, N>(
                simd,
                &code.ops,
                &code.cams,
                rows::<S, N>(self.stage.all()),
                rows::<S, N>(out),
            );
            let missed = |lane| self.missed.push(first + lane);
            name_missed(self.stage.well(), out, missed, |lane| {
                first + lane < self.count
            });
            if let Goes::Taken(numbers, take) = &mut self.goes {
                take(round * LANES, numbers.as_chunks::<LANES>().0);
            }
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
