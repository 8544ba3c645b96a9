//! What is on the paper already, sorted into squares: how much lies under a place that lettering or a line might take.

use crate::geometry::{P, Rect, crossing, length, lerp, sub};
use crate::sheet::{Group, Pen};

/// Side of a square, mm.
const SQUARE: f64 = 8.0;
/// Lettering on lettering, lettering on a line, a line through lettering, a line over a line; off the paper.
const ON_TEXT: f64 = 200.0;
const ON_LINE: f64 = 80.0;
const THROUGH: f64 = 150.0;
const OVER: f64 = 1.5;
const OFF: f64 = 1000.0;

#[derive(Clone, Copy)]
enum Thing {
    Text(Rect),
    Line(P, P),
}

/// What is on the paper already.
pub(super) struct Taken {
    /// All of it.
    field: Rect,
    /// What may be written on.
    room: Rect,
    columns: usize,
    rows: usize,
    squares: Vec<Vec<Thing>>,
}

impl Taken {
    /// An empty paper of which only this may be written on.
    pub(super) fn within(field: Rect) -> Self {
        let count = |x: f64| (x / SQUARE).ceil().clamp(1.0, 200.0) as usize;
        let (columns, rows) = (count(field.width()), count(field.height()));
        Self {
            field,
            room: field,
            columns,
            rows,
            squares: vec![Vec::new(); columns * rows],
        }
    }

    /// From here on only this may be written on.
    pub(super) fn keep(&mut self, field: Rect) {
        self.room = field;
    }

    /// The squares that a rectangle lies on; what is off the paper counts to its edge.
    fn over(&self, r: Rect) -> impl Iterator<Item = usize> + use<> {
        let index = |x: f64, low: f64, count: usize| {
            ((x - low) / SQUARE).floor().clamp(0.0, (count - 1) as f64) as usize
        };
        let [x0, x1] = [r.min[0], r.max[0]].map(|x| index(x, self.field.min[0], self.columns));
        let [y0, y1] = [r.min[1], r.max[1]].map(|y| index(y, self.field.min[1], self.rows));
        let columns = self.columns;
        (y0..=y1).flat_map(move |y| (x0..=x1).map(move |x| y * columns + x))
    }

    fn put(&mut self, over: Rect, thing: Thing) {
        for square in self.over(over) {
            if let Some(list) = self.squares.get_mut(square) {
                list.push(thing);
            }
        }
    }

    /// Takes in all that a group has drawn.
    pub(super) fn group(&mut self, g: &Group) {
        g.pieces(&mut |a, b, pen| {
            if pen != Pen::Grid {
                self.line(a, b);
            }
        });
        g.lettering(&mut |_, r| self.rect(r));
    }

    pub(super) fn line(&mut self, a: P, b: P) {
        // A long line lies on few of the squares round it.
        let pieces = (length(sub(b, a)) / SQUARE).ceil().clamp(1.0, 400.0) as usize;
        for i in 0..pieces {
            let [p, q] = [i, i + 1].map(|i| lerp(a, b, i as f64 / pieces as f64));
            self.put(Rect::new(p, q), Thing::Line(p, q));
        }
    }

    pub(super) fn rect(&mut self, r: Rect) {
        self.put(r, Thing::Text(r));
    }

    /// Lettering that a line would run through, or paper that it would leave.
    pub(super) fn pierced(&self, a: P, b: P) -> f64 {
        let r = Rect::new(a, b);
        let mut cost = if self.room.holds(&r) { 0.0 } else { OFF };
        for square in self.over(r) {
            for thing in self.squares.get(square).into_iter().flatten() {
                if let Thing::Text(t) = thing
                    && crosses(a, b, *t)
                {
                    cost += THROUGH;
                }
            }
        }
        cost
    }

    /// Lines that a line would cross.
    pub(super) fn crossed(&self, a: P, b: P) -> f64 {
        let mut cost = 0.0;
        for square in self.over(Rect::new(a, b)) {
            for thing in self.squares.get(square).into_iter().flatten() {
                if let Thing::Line(c, d) = thing
                    && crossing(a, b, *c, *d).is_some()
                {
                    cost += OVER;
                }
            }
        }
        cost
    }

    /// How much lies under a rectangle: lettering counts far more than lines.
    pub(super) fn under(&self, r: Rect) -> f64 {
        let mut cost = if self.room.holds(&r) { 0.0 } else { OFF };
        for square in self.over(r) {
            for thing in self.squares.get(square).into_iter().flatten() {
                cost += match thing {
                    Thing::Text(t) if t.overlaps(&r) => ON_TEXT,
                    Thing::Line(a, b) if crosses(*a, *b, r) => ON_LINE,
                    _ => 0.0,
                };
            }
        }
        cost
    }
}

/// Whether a line touches a rectangle.
pub(super) fn crosses(a: P, b: P, r: Rect) -> bool {
    let (mut t0, mut t1) = (0.0_f64, 1.0_f64);
    let d = sub(b, a);
    for i in 0..2 {
        if d[i].abs() < 1e-12 {
            if a[i] < r.min[i] || a[i] > r.max[i] {
                return false;
            }
            continue;
        }
        let (u, v) = ((r.min[i] - a[i]) / d[i], (r.max[i] - a[i]) / d[i]);
        t0 = t0.max(u.min(v));
        t1 = t1.min(u.max(v));
    }
    t0 <= t1
}
