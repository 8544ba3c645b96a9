//! One pose after another along a sweep, in long steps, to give each lane its start.

use super::Compiled;
use super::stage::{Stage, image};
use super::tape::Start;
use crate::model::Pose;

/// Shortest step, as a share of the way between two poses of the sweep.
const SHORTEST: f64 = 1.0 / 1024.0;

/// Parameters of a sweep: columns, and where they stand before its first pose.
#[derive(Clone, Copy)]
pub(super) struct Moves<'a> {
    pub(super) columns: &'a [&'a [f64]],
    pub(super) start: &'a [f64],
    pub(super) count: usize,
}

impl Moves<'_> {
    /// Parameter `column` at pose `i − 1`; 0 is the start. Beyond the end it stands still.
    #[inline(always)]
    pub(super) fn at(&self, column: usize, i: usize) -> f64 {
        if i == 0 {
            self.start[column]
        } else {
            self.columns[column][i.min(self.count) - 1]
        }
    }
}

/// Cells of every lane at the pose before its first; lanes that cannot be reached have none. `None` when the start itself is not good.
pub(super) fn starts(
    compiled: &Compiled,
    moves: &Moves,
    poses: &[Pose],
    lanes: usize,
    steps: usize,
) -> Option<Vec<Option<Vec<f64>>>> {
    let mut walker = Walker {
        compiled,
        moves,
        stage: Stage::new(&compiled.code, 1),
        cells: image(&compiled.code, poses),
        at: 0.0,
    };
    let mut starts = Vec::with_capacity(lanes);
    if !walker.step(0.0) {
        return None;
    }
    let mut well = true;
    let mut stride = f64::INFINITY;
    for lane in 0..lanes {
        let goal = (lane * steps).min(moves.count) as f64;
        while well && walker.at < goal {
            let left = goal - walker.at;
            let step = stride.min(left);
            let to = if step < left { walker.at + step } else { goal };
            if walker.step(to) {
                stride = 2.0 * step;
            } else {
                stride = 0.5 * step;
                well = stride >= SHORTEST;
            }
        }
        starts.push(well.then(|| walker.cells.clone()));
    }
    Some(starts)
}

struct Walker<'a> {
    compiled: &'a Compiled,
    moves: &'a Moves<'a>,
    stage: Stage,
    /// Cells at the last good pose.
    cells: Vec<f64>,
    at: f64,
}

impl Walker<'_> {
    /// Tries to reach the place `to`, in poses from the start.
    fn step(&mut self, to: f64) -> bool {
        let code = &self.compiled.code;
        let (low, share) = (to.floor() as usize, to - to.floor());
        for (column, input) in self.stage.inputs().iter_mut().enumerate() {
            let a = self.moves.at(column, low);
            *input = if share == 0.0 {
                a
            } else {
                a + share * (self.moves.at(column, low + 1) - a)
            };
        }
        self.stage
            .cells(self.cells.len())
            .copy_from_slice(&self.cells);
        self.stage.well().fill(1.0);
        self.stage.run_one(code);
        if code.failed || self.stage.well()[0] != 1.0 {
            return false;
        }
        let count = self.cells.len();
        self.cells.copy_from_slice(self.stage.cells(count));
        // Rounding makes unit vectors drift; here is the place to put them right.
        for i in 1..count {
            if matches!(
                (code.cells[i - 1], code.cells[i]),
                (Start::Cos(_), Start::Sin(_))
            ) {
                let length = self.cells[i - 1].hypot(self.cells[i]);
                self.cells[i - 1] /= length;
                self.cells[i] /= length;
            }
        }
        for foresight in &self.compiled.foresights {
            for cell in foresight {
                self.cells[usize::from(*cell)] = 0.0;
            }
        }
        self.at = to;
        true
    }
}
