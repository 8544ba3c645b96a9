//! The results of a run.

use super::wants::Want;
use crate::lanes::LANES;

/// How poses lie in the lanes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) enum Lay {
    /// Each lane has its own stretch of so many poses.
    Along(usize),
    /// Poses next to one another lie in neighbouring lanes.
    #[default]
    Across,
}

/// Results of a sweep or a batch: for each pose the numbers of each want. Kept in the order in which the lanes made them; may be used
/// again for another run without allocating.
#[derive(Clone, Debug, Default)]
pub struct Track {
    pub(super) lay: Lay,
    pub(super) count: usize,
    pub(super) columns: usize,
    data: Vec<f64>,
    /// First number: a place that vectors like to be stored at.
    start: usize,
    pub(super) missed: Vec<usize>,
    firsts: Vec<usize>,
}

impl Track {
    /// An empty track.
    pub fn new() -> Self {
        Self::default()
    }

    /// Makes room for `chunks` chunks of `rounds` rounds each.
    pub(super) fn prepare(
        &mut self,
        wants: &[Want],
        count: usize,
        lay: Lay,
        chunks: usize,
        rounds: usize,
    ) {
        self.firsts.clear();
        self.columns = 0;
        for want in wants {
            self.firsts.push(self.columns);
            self.columns += want.columns();
        }
        self.lay = lay;
        self.count = count;
        self.missed.clear();
        self.data
            .resize(chunks * rounds * self.columns * LANES + 8, 0.0);
        self.start = self.data.as_ptr().align_offset(64).min(8);
    }

    /// Where the lanes put their numbers.
    pub(super) fn room(&mut self) -> &mut [f64] {
        let end = self.data.len() - 8 + self.start;
        &mut self.data[self.start..end]
    }

    /// Gives up all poses from `first` on.
    pub(super) fn tear(&mut self, first: usize) {
        self.missed.retain(|pose| *pose < first);
        for pose in first..self.count {
            self.missed.push(pose);
            for column in 0..self.columns {
                if let Some(number) = self.index(pose, column).and_then(|i| self.data.get_mut(i)) {
                    *number = f64::NAN;
                }
            }
        }
    }

    /// Poses in it.
    pub fn len(&self) -> usize {
        self.count
    }

    /// Whether it holds no pose.
    pub fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// Poses that are not good, in order. Their numbers are NaN.
    pub fn missed(&self) -> &[usize] {
        &self.missed
    }

    /// Whether a pose is good.
    pub fn good(&self, pose: usize) -> bool {
        self.missed.binary_search(&pose).is_err()
    }

    /// Column of the first number of a want.
    pub fn column_of(&self, want: usize) -> usize {
        self.firsts.get(want).copied().unwrap_or(self.columns)
    }

    /// One number of a pose; NaN where there is none.
    pub fn value(&self, pose: usize, column: usize) -> f64 {
        self.index(pose, column)
            .and_then(|i| self.data.get(i))
            .copied()
            .unwrap_or(f64::NAN)
    }

    /// Where it lies.
    fn index(&self, pose: usize, column: usize) -> Option<usize> {
        if pose >= self.count || column >= self.columns {
            return None;
        }
        let (round, lane) = match self.lay {
            Lay::Along(steps) => {
                let rest = pose % (steps * LANES);
                (pose / (steps * LANES) * steps + rest % steps, rest / steps)
            }
            Lay::Across => (pose / LANES, pose % LANES),
        };
        Some(self.start + (round * self.columns + column) * LANES + lane)
    }

    /// Place of an anchor: the want must be a [`Want::Place`].
    pub fn place(&self, pose: usize, want: usize) -> [f64; 2] {
        let column = self.column_of(want);
        [self.value(pose, column), self.value(pose, column + 1)]
    }

    /// One column, pose after pose.
    pub fn column(&self, column: usize) -> impl Iterator<Item = f64> {
        (0..self.count).map(move |pose| self.value(pose, column))
    }
}
