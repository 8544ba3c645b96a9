//! Lines of a drawing, found fast by their place: what lies under a name, and what a leader crosses.

use crate::geometry::{P, Rect, add, along, cross, crossing, direction, distance, dot, sub, times};

/// Lines of a drawing, sorted into squares so that those near a place are found fast.
pub(crate) struct Lines {
    pieces: Vec<(P, P, f64)>,
    extent: Rect,
    square: f64,
    columns: usize,
    rows: usize,
    squares: Vec<Vec<u32>>,
}

impl Lines {
    /// Takes pieces of lines with the weight of each.
    pub(crate) fn new(pieces: Vec<(P, P, f64)>) -> Self {
        let extent = pieces
            .iter()
            .fold(Rect::EMPTY, |r, &(a, b, _)| r.join(Rect::new(a, b)));
        let longest = extent.width().max(extent.height());
        let square = (longest / 64.0).max(6.0);
        let (columns, rows) = if extent.is_empty() {
            (0, 0)
        } else {
            (
                (extent.width() / square) as usize + 1,
                (extent.height() / square) as usize + 1,
            )
        };
        let mut lines = Self {
            pieces: Vec::new(),
            extent,
            square,
            columns,
            rows,
            squares: vec![Vec::new(); columns * rows],
        };
        for (i, &(a, b, _)) in pieces.iter().enumerate() {
            let Some([c0, c1, r0, r1]) = lines.range(&Rect::new(a, b)) else {
                continue;
            };
            for cell in (r0..=r1).flat_map(|r| (c0..=c1).map(move |c| r * columns + c)) {
                if lines.cell_rect(cell).grown(1e-9).length_inside(a, b) > 0.0
                    && let Some(list) = lines.squares.get_mut(cell)
                {
                    list.push(i as u32);
                }
            }
        }
        lines.pieces = pieces;
        lines
    }

    fn cell_rect(&self, cell: usize) -> Rect {
        let (c, r) = (cell % self.columns.max(1), cell / self.columns.max(1));
        let min = add(
            self.extent.min,
            [c as f64 * self.square, r as f64 * self.square],
        );
        Rect {
            min,
            max: add(min, [self.square; 2]),
        }
    }

    /// Ranges of columns and rows that a rectangle touches.
    fn range(&self, rect: &Rect) -> Option<[usize; 4]> {
        if self.columns == 0 || !rect.grown(1e-9).overlaps(&self.extent.grown(1e-9)) {
            return None;
        }
        let index = |i: usize, p: P, most: usize| {
            (((p[i] - self.extent.min[i]) / self.square).floor().max(0.0) as usize)
                .min(most.saturating_sub(1))
        };
        let (columns, rows) = (self.columns, self.rows);
        Some([
            index(0, rect.min, columns),
            index(0, rect.max, columns),
            index(1, rect.min, rows),
            index(1, rect.max, rows),
        ])
    }

    /// Every piece in every square that the rectangle touches, with that square; a long piece comes several times.
    fn near(&self, rect: &Rect, mut each: impl FnMut(&(P, P, f64), &Rect)) {
        let Some([c0, c1, r0, r1]) = self.range(rect) else {
            return;
        };
        for row in r0..=r1 {
            for column in c0..=c1 {
                let cell = row * self.columns + column;
                let square = self.cell_rect(cell);
                for &i in self.squares.get(cell).into_iter().flatten() {
                    if let Some(piece) = self.pieces.get(i as usize) {
                        each(piece, &square);
                    }
                }
            }
        }
    }

    /// The paper that the lines cover.
    pub(crate) fn extent(&self) -> Rect {
        self.extent
    }

    /// Weighted length of lines inside the rectangle.
    pub(crate) fn under(&self, rect: &Rect) -> f64 {
        let mut sum = 0.0;
        self.near(rect, |&(a, b, w), square| {
            sum += w * rect.common(square).length_inside(a, b);
        });
        sum
    }

    /// Weight of the lines that run close along the segment, so that the two are hard to tell apart.
    pub(crate) fn alongside(&self, a: P, b: P) -> f64 {
        let (d, middle) = (direction(a, b), times(add(a, b), 0.5));
        let mut most = 0.0_f64;
        self.near(&Rect::new(middle, middle).grown(1.6), |&(c, e, w), _| {
            let f = direction(c, e);
            let t = dot(sub(middle, c), f).clamp(0.0, distance(c, e));
            if w > most && cross(d, f).abs() < 0.3 && distance(middle, along(c, f, t)) < 1.6 {
                most = w;
            }
        });
        most
    }

    /// Weight of the lines that the segment crosses.
    pub(crate) fn crossed(&self, a: P, b: P) -> f64 {
        let mut sum = 0.0;
        self.near(&Rect::new(a, b), |&(c, d, w), square| {
            // A long line comes once a square; it is counted in the one where it is crossed.
            if let Some(p) = crossing(a, b, c, d)
                && (0..2).all(|i: usize| square.min[i] <= p[i] && p[i] < square.max[i])
            {
                sum += w;
            }
        });
        sum
    }
}
