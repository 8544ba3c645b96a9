//! Numbers in circles, ringed around what they tell of, their leaders clear of one another.

use crate::geometry::{P, Rect, along, direction, distance};
use crate::sheet::{Fill, Group, Hand, Hold, Lettering, Pen, Shape};

/// Radius of a balloon, mm.
pub(super) const RADIUS: f64 = 3.6;
/// From the middle of one to that of the next, mm.
const APART: f64 = 2.0 * RADIUS + 2.0;
/// From what is drawn to the middle of a balloon, mm.
pub(super) const OUT: f64 = RADIUS + 4.5;

/// What is to be told: its number and the places it may be shown at.
pub(super) struct Told {
    pub(super) text: String,
    pub(super) tips: Vec<P>,
}

/// Places round what is drawn.
pub(super) fn ring(views: &[Rect], field: Rect) -> Vec<P> {
    let mut all: Vec<P> = Vec::new();
    let inner = field.grown(-RADIUS - 0.5);
    for (n, view) in views.iter().enumerate() {
        let r = view.grown(OUT);
        let mut put = |p: P| {
            let clear = views
                .iter()
                .enumerate()
                .all(|(m, v)| m == n || !holds(v.grown(RADIUS + 1.5), p));
            if holds(inner, p) && clear && all.iter().all(|q| distance(*q, p) >= APART - 1e-6) {
                all.push(p);
            }
        };
        let spread = |from: f64, to: f64| {
            let count = ((to - from) / APART).floor().max(1.0);
            (0..=count as usize).map(move |i| from + (to - from) * i as f64 / count)
        };
        for x in spread(r.min[0], r.max[0]) {
            put([x, r.min[1]]);
            put([x, r.max[1]]);
        }
        for y in spread(r.min[1], r.max[1]) {
            put([r.min[0], y]);
            put([r.max[0], y]);
        }
    }
    all
}

fn holds(r: Rect, p: P) -> bool {
    r.min[0] <= p[0] && p[0] <= r.max[0] && r.min[1] <= p[1] && p[1] <= r.max[1]
}

/// Tips and leaders nearer than this to one another cannot be told apart, mm.
const MIXED: f64 = 2.0;
/// A leader may be so much longer where that keeps it from another, mm.
const WORSE: f64 = 40.0;

/// Distance of a place from a line.
fn beside(p: P, a: P, b: P) -> f64 {
    let d = [b[0] - a[0], b[1] - a[1]];
    let long = (d[0] * d[0] + d[1] * d[1]).max(1e-12);
    let t = ((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / long;
    distance(p, along(a, d, t.clamp(0.0, 1.0)))
}

/// Whether two lines cross.
fn cross([a, b]: [P; 2], [c, d]: [P; 2]) -> bool {
    let side = |p: P, q: P, r: P| (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// Puts each number at a place of the ring so that all leaders together are short: where two crossed, changing their places would make them
/// shorter, so none do.
pub(super) fn draw(g: &mut Group, told: &[Told], ring: &[P]) {
    if told.is_empty() || ring.len() < told.len() {
        return;
    }
    let nearest = |n: usize, p: P| -> (f64, P) {
        let each = told[n].tips.iter().map(|t| (distance(*t, p), *t));
        each.min_by(|a, b| a.0.total_cmp(&b.0))
            .unwrap_or((f64::INFINITY, p))
    };
    // From every number to every place; the tip follows the place.
    let far: Vec<Vec<f64>> = (0..told.len())
        .map(|n| ring.iter().map(|p| nearest(n, *p).0).collect())
        .collect();
    let mut at: Vec<usize> = Vec::new();
    for row in &far {
        let free = (0..ring.len()).filter(|s| !at.contains(s));
        let best = free.min_by(|a, b| row[*a].total_cmp(&row[*b]));
        at.push(best.unwrap_or(0));
    }
    for _ in 0..100 {
        let mut better = false;
        for i in 0..at.len() {
            for s in 0..ring.len() {
                let other = at.iter().position(|x| *x == s);
                let gain = match other {
                    Some(j) if j != i => {
                        far[i][at[i]] + far[j][at[j]] - far[i][at[j]] - far[j][at[i]]
                    }
                    Some(_) => 0.0,
                    None => far[i][at[i]] - far[i][s],
                };
                if gain > 1e-9 {
                    match other {
                        Some(j) => at.swap(i, j),
                        None => at[i] = s,
                    }
                    better = true;
                }
            }
        }
        if !better {
            break;
        }
    }
    let mut placed: Vec<(P, P)> = at
        .iter()
        .enumerate()
        .map(|(n, s)| (ring[*s], nearest(n, ring[*s]).1))
        .collect();
    // A tip that another's leader runs over, or by which one runs, names nothing: another place of the part is shown then.
    for _ in 0..2 {
        for n in 0..placed.len() {
            let c = placed[n].0;
            let others: Vec<(P, P)> = placed
                .iter()
                .enumerate()
                .filter(|(m, _)| *m != n)
                .map(|(_, p)| *p)
                .collect();
            let cost = |tip: P| {
                let mixed = others.iter().filter(|(oc, ot)| {
                    beside(*ot, c, tip) < MIXED
                        || beside(tip, *oc, *ot) < MIXED
                        || cross([c, tip], [*oc, *ot])
                });
                distance(c, tip) + WORSE * mixed.count() as f64
            };
            let tips = told[n].tips.iter().copied();
            if let Some(best) = tips.min_by(|a, b| cost(*a).total_cmp(&cost(*b))) {
                placed[n].1 = best;
            }
        }
    }
    for (c, tip) in &placed {
        let edge = along(*c, direction(*c, *tip), RADIUS);
        g.draw(Pen::Narrow, Shape::line(edge, *tip));
        g.put(
            None,
            Fill::Ink,
            Shape::Circle {
                centre: *tip,
                radius: 0.6,
            },
        );
    }
    for ((c, _), t) in placed.iter().zip(told) {
        g.put(
            Some(Pen::Narrow),
            Fill::Ground,
            Shape::Circle {
                centre: *c,
                radius: RADIUS,
            },
        );
        g.letter(Lettering::new(
            [c[0], c[1] + 1.25],
            t.text.as_str(),
            2.5,
            Hold::Middle,
            Hand::Name,
        ));
    }
}
