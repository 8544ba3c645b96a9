//! Where a compiled run takes place: its slots for a number of lanes.

use pulp::{Scalar, Simd, WithSimd};

use super::lower::Code;
use super::tape::Start;
use crate::lanes::LANES;
use crate::lanes::run::{rows, run};
use crate::model::Pose;

/// Slots for `width` poses side by side.
pub(super) struct Stage {
    numbers: Vec<f64>,
    /// First number of slot 0: a place that vectors like to be loaded from.
    start: usize,
    pub(super) width: usize,
    cells: usize,
}

impl Stage {
    pub(super) fn new(code: &Code, width: usize) -> Self {
        let numbers = vec![0.0; code.slots * width + 8];
        let start = numbers.as_ptr().align_offset(64).min(8);
        let mut stage = Self { numbers, start, width, cells: 1 + code.inputs };
        for &(slot, value) in &code.fixed {
            stage.slot(usize::from(slot)).fill(value);
        }
        stage
    }

    pub(super) fn all(&mut self) -> &mut [f64] {
        let end = self.numbers.len() - 8 + self.start;
        &mut self.numbers[self.start..end]
    }

    /// One slot.
    pub(super) fn slot(&mut self, slot: usize) -> &mut [f64] {
        let width = self.width;
        let at = self.start + slot * width;
        &mut self.numbers[at..at + width]
    }

    /// Slots of the input columns.
    pub(super) fn inputs(&mut self) -> &mut [f64] {
        let (width, cells) = (self.width, self.cells);
        &mut self.all()[width..cells * width]
    }

    /// Slots of `count` cells.
    pub(super) fn cells(&mut self, count: usize) -> &mut [f64] {
        let (width, first) = (self.width, self.cells);
        &mut self.all()[first * width..(first + count) * width]
    }

    pub(super) fn cell(&mut self, cell: u16) -> &mut [f64] {
        self.slot(self.cells + usize::from(cell))
    }

    /// Whether each lane is well: 1 yes, 0 no.
    pub(super) fn well(&mut self) -> &mut [f64] {
        self.slot(0)
    }

    /// One round of a single lane.
    pub(super) fn run_one(&mut self, code: &Code) {
        run::<Scalar, 1>(Scalar, &code.ops, rows::<Scalar, 1>(self.all()));
    }
}

/// What the cells hold at the start from these poses.
pub(super) fn image(code: &Code, poses: &[Pose]) -> Vec<f64> {
    let mut image = vec![0.0; code.cells.len()];
    fill_image(code, poses, &mut image);
    image
}

/// The same into `image`, of one number a cell.
pub(super) fn fill_image(code: &Code, poses: &[Pose], image: &mut [f64]) {
    let pose = |b: usize| poses.get(b).copied().unwrap_or_default();
    for (out, cell) in image.iter_mut().zip(&code.cells) {
        *out = match *cell {
            Start::Cos(b) => pose(b).angle.cos(),
            Start::Sin(b) => pose(b).angle.sin(),
            Start::Angle(b) => pose(b).angle,
            Start::X(b) => pose(b).x,
            Start::Y(b) => pose(b).y,
            Start::Zero => 0.0,
            Start::Unset => f64::NAN,
        };
    }
}

/// Work over all lanes, with the processor's own instruction set.
pub(super) trait Work {
    /// Does it; `N` registers of `S` make up the lanes.
    fn work<S: Simd, const N: usize>(self, simd: S);
}

/// Carries work out with the best instruction set there is.
pub(super) struct OnLanes<W>(pub(super) W);

impl<W: Work> WithSimd for OnLanes<W> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        if const { S::F64_LANES == 8 } {
            self.0.work::<S, { LANES / 8 }>(simd);
        } else if const { S::F64_LANES == 4 } {
            self.0.work::<S, { LANES / 4 }>(simd);
        } else if const { S::F64_LANES == 2 } {
            self.0.work::<S, { LANES / 2 }>(simd);
        } else {
            self.0.work::<S, LANES>(simd);
        }
    }
}
