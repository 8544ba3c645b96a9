//! Dimensions after ISO 129-1 and the placing of lettering: nothing on top of anything.

use crate::font;
use crate::geometry::{P, Rect, add, along, direction, length, square, sub};
use crate::sheet::{Fill, Group, Hand, Hold, Lettering, Pen, Shape};

/// Height of dimensions, mm.
pub(super) const DIM: f64 = 2.5;
/// Length of an arrow, mm.
const ARROW: f64 = 2.5;

/// From a part to the paper.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    /// Where the part's origin lies.
    pub(super) origin: P,
    /// Paper for one mm of the part.
    pub(super) k: f64,
}

impl View {
    pub(super) fn at(&self, p: P) -> P {
        [
            self.origin[0] + self.k * p[0],
            self.origin[1] - self.k * p[1],
        ]
    }
}

/// What is on the paper already.
#[derive(Default)]
pub(super) struct Taken {
    rects: Vec<Rect>,
    lines: Vec<[P; 2]>,
    /// Nothing is placed outside of it.
    field: Option<Rect>,
}

impl Taken {
    /// An empty paper of which only this may be written on.
    pub(super) fn within(field: Rect) -> Self {
        Self {
            field: Some(field),
            ..Self::default()
        }
    }

    /// Takes in all that a group has drawn.
    pub(super) fn group(&mut self, g: &Group) {
        g.pieces(&mut |a, b, _| self.lines.push([a, b]));
        g.lettering(&mut |_, r| self.rects.push(r));
    }

    pub(super) fn line(&mut self, a: P, b: P) {
        self.lines.push([a, b]);
    }

    pub(super) fn rect(&mut self, r: Rect) {
        self.rects.push(r);
    }

    /// Lettering that a line would run through.
    pub(super) fn pierced(&self, a: P, b: P) -> f64 {
        40.0 * self.rects.iter().filter(|r| crosses(a, b, **r)).count() as f64
    }

    /// How much lies under a rectangle: lettering counts far more than lines.
    pub(super) fn under(&self, r: Rect) -> f64 {
        let mut cost = 0.0;
        if let Some(f) = self.field
            && (r.min[0] < f.min[0]
                || r.min[1] < f.min[1]
                || r.max[0] > f.max[0]
                || r.max[1] > f.max[1])
        {
            cost += 1000.0;
        }
        for t in &self.rects {
            if t.overlaps(&r) {
                cost += 100.0;
            }
        }
        for [a, b] in &self.lines {
            if crosses(*a, *b, r) {
                cost += 5.0;
            }
        }
        cost
    }
}

/// Whether a line touches a rectangle.
fn crosses(a: P, b: P, r: Rect) -> bool {
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

/// A filled arrow at `tip`, pointing along `d`.
pub(super) fn arrow(g: &mut Group, tip: P, d: P) {
    let back = along(tip, d, -ARROW);
    let n = square(d);
    g.put(
        Some(Pen::Narrow),
        Fill::Ink,
        Shape::poly(
            &[
                tip,
                along(back, n, ARROW / 6.0),
                along(back, n, -ARROW / 6.0),
            ],
            true,
        ),
    );
}

/// A length between two places on the paper, its line `off` away from them (positive: to the left going from `a` to `b` on the paper as
/// it is seen); horizontal or vertical.
pub(super) fn linear(g: &mut Group, a: P, b: P, off: f64, upright: bool, text: &str) {
    let (p, q) = if upright {
        ([off, a[1]], [off, b[1]])
    } else {
        ([a[0], off], [b[0], off])
    };
    for (from, to) in [(a, p), (b, q)] {
        let d = direction(from, to);
        if length(sub(to, from)) > 2.0 {
            g.draw(
                Pen::Narrow,
                Shape::line(along(from, d, 1.0), along(to, d, 1.5)),
            );
        }
    }
    let long = length(sub(q, p));
    let width = font::width(text, DIM, Hand::Note);
    let d = direction(p, q);
    let middle = [f64::midpoint(p[0], q[0]), f64::midpoint(p[1], q[1])];
    if long > 2.0 * ARROW + 1.0 {
        g.draw(Pen::Narrow, Shape::line(p, q));
        arrow(g, p, [-d[0], -d[1]]);
        arrow(g, q, d);
    } else {
        // Arrows from outside, where there is no room between them.
        g.draw(
            Pen::Narrow,
            Shape::line(along(p, d, -5.0), along(q, d, 5.0)),
        );
        arrow(g, p, d);
        arrow(g, q, [-d[0], -d[1]]);
    }
    let fits = long > width + 1.0;
    let lettered = |at: P| {
        let mut l = if upright {
            let mut l = Lettering::new([at[0] - 1.0, at[1]], text, DIM, Hold::Middle, Hand::Note);
            l.upright = true;
            l
        } else {
            Lettering::new([at[0], at[1] - 1.0], text, DIM, Hold::Middle, Hand::Note)
        };
        l.text = font::clean(text);
        l
    };
    // Clear of what is written there already: along the line, or beyond one of its arrows where there is no room between them.
    let mut written = Vec::new();
    g.lettering(&mut |_, r| written.push(r));
    let beyond = |far: f64, second: bool| {
        if second {
            along(q, d, far + width / 2.0)
        } else {
            along(p, d, -(far + width / 2.0))
        }
    };
    let room = (long - width - 1.0) / 2.0;
    let within = [0.0, 0.5, -0.5, 1.0, -1.0].map(|share| along(middle, d, share * room));
    let outside = [6.0, 9.0, 13.0]
        .into_iter()
        .flat_map(|far| [beyond(far, true), beyond(far, false)]);
    let places: Vec<P> = if fits {
        within.to_vec()
    } else {
        outside.collect()
    };
    let clear = |at: &P| {
        let r = lettered(*at).extent().grown(0.3);
        !written.iter().any(|w| w.overlaps(&r))
    };
    let first = places.first().copied().unwrap_or(middle);
    let at = places.into_iter().find(clear).unwrap_or(first);
    g.letter(lettered(at));
}

/// A text on a leader to `tip` (with an arrow) from one of many places round it, where least is in the way.
pub(super) fn leader(g: &mut Group, taken: &mut Taken, tip: P, outward: f64, text: &str) {
    let width = font::width(text, DIM, Hand::Note);
    let mut best: Option<(f64, P, P, Rect, bool)> = None;
    for ring in 0..6 {
        for turn in 0..23 {
            let off = f64::from((turn + 1) / 2) * if turn % 2 == 0 { 0.26 } else { -0.26 };
            let angle = outward + off;
            let far = 7.0 + 4.5 * f64::from(ring);
            let d = [angle.cos(), -angle.sin()];
            let elbow = along(tip, d, far);
            let right = d[0] >= 0.0;
            let end = add(elbow, [if right { 2.0 } else { -2.0 }, 0.0]);
            let left = if right {
                end[0] + 0.6
            } else {
                end[0] - 0.6 - width
            };
            let rect = Rect::new(
                [left, end[1] - font::above(DIM) + DIM / 2.0 - 0.3],
                [left + width, end[1] + DIM / 2.0 + 0.8],
            );
            let cost = taken.under(rect.grown(0.5))
                + taken.pierced(tip, elbow)
                + 0.8 * f64::from(ring)
                + 0.4 * off.abs();
            if best.as_ref().is_none_or(|b| cost < b.0) {
                best = Some((cost, elbow, end, rect, right));
            }
        }
    }
    let Some((_, elbow, end, rect, right)) = best else {
        return;
    };
    g.draw(Pen::Narrow, Shape::poly(&[tip, elbow, end], false));
    arrow(g, tip, direction(elbow, tip));
    let at = if right {
        [end[0] + 0.6, end[1] + DIM / 2.0]
    } else {
        [end[0] - 0.6, end[1] + DIM / 2.0]
    };
    let hold = if right { Hold::Start } else { Hold::End };
    g.letter(Lettering::new(at, text, DIM, hold, Hand::Note));
    taken.rect(rect);
    taken.lines.push([tip, elbow]);
    taken.lines.push([elbow, end]);
}

/// A short mark beside a place: where least is in the way.
pub(super) fn tag(g: &mut Group, taken: &mut Taken, centre: P, clear: f64, text: &str) {
    let width = font::width(text, DIM, Hand::Name);
    let mut best: Option<(f64, P, Rect)> = None;
    for ring in 0..4 {
        for turn in 0..12 {
            let angle = 0.785 + f64::from(turn) * std::f64::consts::TAU / 12.0;
            let far = clear + 1.2 + 2.0 * f64::from(ring);
            let c = [
                centre[0] + angle.cos() * (far + width / 2.0),
                centre[1] - angle.sin() * (far + DIM / 2.0),
            ];
            let rect = Rect::new(
                [c[0] - width / 2.0, c[1] - DIM / 2.0],
                [c[0] + width / 2.0, c[1] + DIM / 2.0],
            )
            .grown(0.4);
            let cost = taken.under(rect) + 1.5 * f64::from(ring) + 0.05 * f64::from(turn);
            if best.as_ref().is_none_or(|b| cost < b.0) {
                best = Some((cost, c, rect));
            }
        }
    }
    if let Some((_, c, rect)) = best {
        g.letter(Lettering::new(
            [c[0], c[1] + DIM / 2.0],
            text,
            DIM,
            Hold::Middle,
            Hand::Name,
        ));
        taken.rect(rect);
    }
}
