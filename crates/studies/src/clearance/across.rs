//! Two parts whose planes stand square to one another: prisms, each as thick as its part, and how far they stand apart or lie in one another.
//!
//! `u` runs along the line in which both planes meet, `v` along the depth of the second and `w` along that of the first. A cut at one `u` through the
//! first prism is what its outline has there along `v`, as deep as it is along `w`; of the second it is the other way round. So all that counts
//! of an outline is how far it stands from the depth of the other part, place by place along `u`.

use super::outline::{P, free};
use mechanics::model::Plane;

/// What lies in one another by less only touches, mm.
const TOUCH: f64 = 0.01;
/// Planes further from square than this are aslant of one another, as a cosine.
const SQUARE: f64 = 1e-6;

/// How two planes stand to one another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Planes {
    /// One beside the other, or the same.
    Parallel,
    /// Square.
    Square(Frame),
    /// Neither.
    Aslant,
}

/// From the coordinates of a plane to two others by a turn, a mirror perhaps, and a shift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Laid {
    at: P,
    x: P,
    y: P,
}

impl Laid {
    pub(super) fn place(&self, [x, y]: P) -> P {
        [0, 1].map(|i| self.at[i] + self.x[i] * x + self.y[i] * y)
    }

    fn back(&self, p: P) -> P {
        let d = [p[0] - self.at[0], p[1] - self.at[1]];
        [self.x, self.y].map(|e| e[0] * d[0] + e[1] * d[1])
    }
}

/// The coordinates in which parts of two planes that stand square are held against one another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Frame {
    /// Of the first plane to u and v, of the second to u and w.
    laid: [Laid; 2],
}

/// A part where it stands: its outline and what is open in it, and its depth.
pub(super) struct Prism {
    pub(super) rings: Vec<Vec<P>>,
    pub(super) depth: [f64; 2],
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn less(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    std::array::from_fn(|i| a[i] - b[i])
}

/// A plane on two axes of space; along each counted from `from`.
fn on(plane: &Plane, axes: [[f64; 3]; 2], from: [[f64; 3]; 2]) -> Laid {
    let each = |v: [f64; 3]| [dot(v, axes[0]), dot(v, axes[1])];
    Laid {
        at: [0, 1].map(|i| dot(less(plane.origin, from[i]), axes[i])),
        x: each(plane.right),
        y: each(plane.up),
    }
}

/// How planes stand to one another.
pub(super) fn planes(a: &Plane, b: &Plane) -> Planes {
    let (m, n) = (a.normal(), b.normal());
    let cosine = dot(m, n);
    if 1.0 - cosine.abs() < SQUARE * SQUARE {
        return Planes::Parallel;
    }
    if cosine.abs() > SQUARE {
        return Planes::Aslant;
    }
    let u = Plane {
        origin: [0.0; 3],
        right: m,
        up: n,
    };
    let u = u.normal();
    Planes::Square(Frame {
        laid: [
            on(a, [u, n], [[0.0; 3], b.origin]),
            on(b, [u, m], [[0.0; 3], a.origin]),
        ],
    })
}

/// What takes the places of a plane to those of one that it is parallel to, and its stations: turned about or not, and how far off.
pub(super) fn beside(own: &Plane, base: &Plane) -> (Laid, [f64; 2]) {
    let n = base.normal();
    let turned = dot(own.normal(), n).signum();
    (
        on(own, [base.right, base.up], [base.origin; 2]),
        [turned, dot(less(own.origin, base.origin), n)],
    )
}

/// A stretch of an outline between two places along u: from and to across it at either end, straight between.
#[derive(Clone, Copy, Debug)]
struct Piece {
    u: [f64; 2],
    low: [f64; 2],
    high: [f64; 2],
    /// How far it stands from the depth of the other part at either end.
    off: [f64; 2],
    /// It lies within that depth.
    inside: bool,
}

/// Stretches of an outline between its corners and where it crosses the depth of the other part, as far along u as asked.
fn pieces(rings: &[Vec<P>], depth: [f64; 2], reach: [f64; 2]) -> Vec<Piece> {
    let mut cuts = reach.to_vec();
    let mut edges: Vec<[P; 2]> = Vec::new();
    for ring in rings {
        for (i, &p) in ring.iter().enumerate() {
            let q = ring[(i + 1) % ring.len()];
            cuts.push(p[0]);
            // Where it crosses the depth of the other.
            for x in depth {
                if (p[1] > x) != (q[1] > x) {
                    cuts.push(p[0] + (x - p[1]) / (q[1] - p[1]) * (q[0] - p[0]));
                }
            }
            let seen = p[0].max(q[0]) > reach[0] && p[0].min(q[0]) < reach[1];
            if p[0] != q[0] && seen {
                edges.push(if p[0] < q[0] { [p, q] } else { [q, p] });
            }
        }
    }
    cuts.retain(|u| *u >= reach[0] && *u <= reach[1]);
    cuts.sort_by(f64::total_cmp);
    edges.sort_by(|a, b| a[0][0].total_cmp(&b[0][0]));
    let (mut all, mut next) = (Vec::<Piece>::new(), 0);
    let mut active: Vec<[P; 2]> = Vec::new();
    let mut cut_by: Vec<[f64; 2]> = Vec::new();
    for cut in cuts.windows(2) {
        if cut[1] - cut[0] < 1e-9 {
            continue;
        }
        let middle = 0.5 * (cut[0] + cut[1]);
        while let Some(edge) = edges.get(next).filter(|e| e[0][0] < middle) {
            active.push(*edge);
            next += 1;
        }
        active.retain(|e| e[1][0] > middle);
        cut_by.clear();
        cut_by.extend(active.iter().map(|[p, q]| {
            let slope = (q[1] - p[1]) / (q[0] - p[0]);
            [cut[0], cut[1]].map(|u| p[1] + slope * (u - p[0]))
        }));
        cut_by.sort_by(|a, b| (a[0] + a[1]).total_cmp(&(b[0] + b[1])));
        // Where rings lie in one another, every other stretch is open.
        for pair in cut_by.chunks_exact(2) {
            let (low, high) = (pair[0], pair[1]);
            let off = [0, 1].map(|k| (low[k] - depth[1]).max(depth[0] - high[k]).max(0.0));
            let within = [0, 1].map(|k| high[k].min(depth[1]) - low[k].max(depth[0]));
            all.push(Piece {
                u: [cut[0], cut[1]],
                low,
                high,
                off,
                inside: 0.5 * (within[0] + within[1]) > TOUCH,
            });
        }
    }
    all
}

/// Stretches that stand as far off one after the other, as one: only how far counts where two parts do not meet.
fn even(all: &[Piece]) -> Vec<Piece> {
    let mut joined: Vec<Piece> = Vec::new();
    for p in all {
        let level = (p.off[0] - p.off[1]).abs() < 1e-9;
        match joined.last_mut() {
            Some(last)
                if level
                    && last.u[1] == p.u[0]
                    && last.off.iter().all(|o| (o - p.off[0]).abs() < 1e-9) =>
            {
                last.u[1] = p.u[1];
                last.low[1] = p.low[1];
                last.high[1] = p.high[1];
            }
            _ => joined.push(*p),
        }
    }
    joined
}

/// Stretches along u, put together where they touch.
fn together(all: &[Piece]) -> Vec<[f64; 2]> {
    let mut joined: Vec<[f64; 2]> = Vec::new();
    let mut inside: Vec<[f64; 2]> = all.iter().filter(|p| p.inside).map(|p| p.u).collect();
    inside.sort_by(|a, b| a[0].total_cmp(&b[0]));
    for [from, to] in inside {
        match joined.last_mut() {
            Some(last) if from <= last[1] + TOUCH => last[1] = last[1].max(to),
            _ => joined.push([from, to]),
        }
    }
    joined
}

/// The square of the distance of two stretches, and where: least of (s − t)² + p(s)² + q(t)², p and q straight.
fn between(a: &Piece, b: &Piece) -> (f64, P) {
    let slope = |p: &Piece| (p.off[1] - p.off[0]) / (p.u[1] - p.u[0]);
    let (m, n) = (slope(a), slope(b));
    let off = |p: &Piece, k: f64, s: f64| p.off[0] + k * (s - p.u[0]);
    let far = |s: f64, t: f64| {
        let (p, q) = (off(a, m, s), off(b, n, t));
        ((s - t) * (s - t) + p * p + q * q, [s, t])
    };
    // The place along the one that is nearest to a place along the other.
    let best_s = |t: f64| {
        let c = a.off[0] - m * a.u[0];
        ((t - m * c) / (1.0 + m * m)).clamp(a.u[0], a.u[1])
    };
    let best_t = |s: f64| {
        let c = b.off[0] - n * b.u[0];
        ((s - n * c) / (1.0 + n * n)).clamp(b.u[0], b.u[1])
    };
    let mut tried = vec![
        far(best_s(b.u[0]), b.u[0]),
        far(best_s(b.u[1]), b.u[1]),
        far(a.u[0], best_t(a.u[0])),
        far(a.u[1], best_t(a.u[1])),
    ];
    // Inside both: (1 + m²) s − t = −m c, −s + (1 + n²) t = −n e.
    let (c, e) = (a.off[0] - m * a.u[0], b.off[0] - n * b.u[0]);
    let whole = (1.0 + m * m) * (1.0 + n * n) - 1.0;
    if whole > 1e-12 {
        let s = (-m * c * (1.0 + n * n) - n * e) / whole;
        let t = (-n * e * (1.0 + m * m) - m * c) / whole;
        if s > a.u[0] && s < a.u[1] && t > b.u[0] && t < b.u[1] {
            tried.push(far(s, t));
        }
    } else {
        // Both run along u: anywhere that both have.
        let (low, high) = (a.u[0].max(b.u[0]), a.u[1].min(b.u[1]));
        if low < high {
            tried.push(far(0.5 * (low + high), 0.5 * (low + high)));
        }
    }
    tried
        .into_iter()
        .reduce(|a, b| if b.0 < a.0 { b } else { a })
        .unwrap_or((f64::INFINITY, [0.0; 2]))
}

impl Frame {
    fn rings(&self, which: usize, prism: &Prism) -> Vec<Vec<P>> {
        let put = |ring: &Vec<P>| ring.iter().map(|&p| self.laid[which].place(p)).collect();
        prism.rings.iter().map(put).collect()
    }

    /// At least so far apart however the first moves in its plane, where the second stands still: that is how far its outline stands from the
    /// depth of the first.
    pub(super) fn floor(&self, which: usize, still: &Prism, depth: [f64; 2]) -> f64 {
        let rings = self.rings(which, still);
        let all = rings.iter().flatten().map(|p| p[1]);
        let [low, high] = all.fold([f64::INFINITY, f64::NEG_INFINITY], |e, x| {
            [e[0].min(x), e[1].max(x)]
        });
        (low - depth[1]).max(depth[0] - high).max(0.0)
    }

    /// At least so far apart, by circles round both.
    pub(super) fn at_least(&self, round: [(P, f64); 2], depths: [[f64; 2]; 2]) -> f64 {
        let [(p, r), (q, s)] = round;
        let (p, q) = (self.laid[0].place(p), self.laid[1].place(q));
        let [w, v] = depths.map(|d| (0.5 * (d[0] + d[1]), 0.5 * (d[1] - d[0])));
        let far = (p[0] - q[0]).hypot(p[1] - v.0).hypot(q[1] - w.0);
        far - r.hypot(w.1) - s.hypot(v.1)
    }

    /// Distance of two parts and where in the first plane; below zero, they lie in one another, and that is how far one has to be moved, along
    /// either plane's lines, until they do not. None where they stand further apart than `within`.
    pub(super) fn apart(&self, a: &Prism, b: &Prism, within: f64) -> Option<(f64, P)> {
        let (first, second) = (self.rings(0, a), self.rings(1, b));
        let ends = |rings: &[Vec<P>], axis: usize| {
            let all = rings.iter().flatten().map(|p| p[axis]);
            all.fold([f64::INFINITY, f64::NEG_INFINITY], |e, x| {
                [e[0].min(x), e[1].max(x)]
            })
        };
        let gap = |p: [f64; 2], q: [f64; 2]| (p[0] - q[1]).max(q[0] - p[1]).max(0.0);
        let (along, other) = (ends(&first, 0), ends(&second, 0));
        let beside = gap(ends(&first, 1), b.depth).hypot(gap(ends(&second, 1), a.depth));
        let boxes = gap(along, other).hypot(beside);
        if boxes > within {
            return None;
        }
        // Where they may lie in one another all of both counts for how far they have to go.
        let reach = (within * within - beside * beside).max(0.0).sqrt();
        let within_reach = |own: [f64; 2], of: [f64; 2]| {
            if boxes > 0.0 {
                [own[0].max(of[0] - reach), own[1].min(of[1] + reach)]
            } else {
                own
            }
        };
        let first = pieces(&first, b.depth, within_reach(along, other));
        let second = pieces(&second, a.depth, within_reach(other, along));
        if let Some(found) = self.meet((&first, b.depth), (&second, a.depth)) {
            return Some(found);
        }
        // Nearest first, so that most need no look.
        let sorted = |all: &[Piece]| {
            let least = |p: &Piece| p.off[0].min(p.off[1]);
            let mut all: Vec<(f64, Piece)> =
                even(all).into_iter().map(|p| (least(&p), p)).collect();
            all.sort_by(|a, b| a.0.total_cmp(&b.0));
            all
        };
        let (first, second) = (sorted(&first), sorted(&second));
        let mut best = (within * within, None);
        for (own, p) in &first {
            if own * own > best.0 {
                break;
            }
            for (other, q) in &second {
                let off = own * own + other * other;
                if off > best.0 {
                    break;
                }
                let aside = gap(p.u, q.u);
                if off + aside * aside > best.0 {
                    continue;
                }
                let (square, [s, _]) = between(p, q);
                if square <= best.0 {
                    let share = (s - p.u[0]) / (p.u[1] - p.u[0]);
                    let [low, high] = [p.low, p.high].map(|e| e[0] + share * (e[1] - e[0]));
                    let middle = 0.5 * (b.depth[0] + b.depth[1]);
                    let v = middle.max(low.min(high)).min(high.max(low));
                    best = (square, Some([s, v]));
                }
            }
        }
        let place = self.laid[0].back(best.1?);
        Some((best.0.sqrt(), place))
    }

    /// They lie in one another: by how far, and where.
    fn meet(
        &self,
        (first, v): (&[Piece], [f64; 2]),
        (second, w): (&[Piece], [f64; 2]),
    ) -> Option<(f64, P)> {
        let both = [together(first), together(second)];
        // What both have, the longest last.
        let mut shared: Vec<[f64; 2]> = Vec::new();
        for p in &both[0] {
            for q in &both[1] {
                let s = [p[0].max(q[0]), p[1].min(q[1])];
                if s[1] - s[0] > TOUCH {
                    shared.push(s);
                }
            }
        }
        shared.sort_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])));
        let longest = *shared.last()?;
        let along = each_from(&both[0], &both[1]);
        // Across, only what lies where the other has something counts.
        let across = |own: &[Piece], depth: [f64; 2], others: &[[f64; 2]]| -> Vec<[f64; 2]> {
            own.iter()
                .flat_map(|p| {
                    let parts = others.iter().filter_map(move |o| {
                        let u = [p.u[0].max(o[0]), p.u[1].min(o[1])];
                        (u[1] - u[0] > TOUCH).then_some(u)
                    });
                    parts.map(move |u| {
                        let at = |e: [f64; 2], u: f64| {
                            e[0] + (u - p.u[0]) / (p.u[1] - p.u[0]) * (e[1] - e[0])
                        };
                        let low = at(p.low, u[0]).min(at(p.low, u[1]));
                        let high = at(p.high, u[0]).max(at(p.high, u[1]));
                        [low - depth[1], high - depth[0]]
                    })
                })
                .collect()
        };
        let ways = [
            along,
            across(first, v, &both[1]),
            across(second, w, &both[0]),
        ];
        let far = ways.into_iter().map(|mut blocked| {
            let forth = free(&mut blocked);
            for way in &mut blocked {
                *way = [-way[1], -way[0]];
            }
            forth.min(free(&mut blocked))
        });
        let far = far.fold(f64::INFINITY, f64::min);
        let u = 0.5 * (longest[0] + longest[1]);
        let here = first
            .iter()
            .find(|p| p.inside && p.u[0] <= u && u <= p.u[1]);
        let v = here.map_or(0.5 * (v[0] + v[1]), |p| {
            let ends = [p.low[0].max(v[0]), p.high[0].min(v[1])];
            0.5 * (ends[0] + ends[1])
        });
        Some((-far, self.laid[0].back([u, v])))
    }

    /// What of the second plane is seen in the first: a rectangle, as long as the part and as deep.
    pub(super) fn seen(&self, b: &Prism) -> Vec<P> {
        let rings = self.rings(1, b);
        let all = rings.iter().flatten().map(|p| p[0]);
        let [low, high] = all.fold([f64::INFINITY, f64::NEG_INFINITY], |e, x| {
            [e[0].min(x), e[1].max(x)]
        });
        let [from, to] = b.depth;
        [[low, from], [high, from], [high, to], [low, to]]
            .map(|p| self.laid[0].back(p))
            .to_vec()
    }
}

/// Ways along which the one set of stretches lies over the other.
fn each_from(own: &[[f64; 2]], others: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let one = |p: &[f64; 2]| -> Vec<[f64; 2]> {
        let all = others.iter().map(|q| [q[0] - p[1], q[1] - p[0]]);
        all.collect()
    };
    own.iter().flat_map(one).collect()
}
