//! The outline of round ends joined in pairs: the union of the shapes that two circles and their touching lines make, inside corners rounded.
//!
//! Every side is cut where it meets the others, and a piece stays when its middle lies in no other shape; how far a place lies from such a shape
//! is known in closed form, so that lines that touch one circle side by side, and arcs that lie on one another, are told apart without luck.
//! Inside corners: the union grown by the fillet and brought back in. Growing a union is a union of grown shapes, and coming back moves every
//! side by itself, with an arc of the fillet about each inside corner.

use crate::contour::{Contour, P, Side, Vertex, polar};
use machine::making::sides::{cross, length, meetings, sub};
use std::f64::consts::{PI, TAU};

/// A circle: centre and radius.
type Circle = (P, f64);

/// So deep inside another shape counts as on its edge, mm.
const DEPTH: f64 = 1e-9;
/// Ends nearer than this are one, mm.
const MEET: f64 = 1e-3;
/// Pieces left over that are shorter than this together are crumbs of rounding, mm.
const CRUMBS: f64 = 1e-2;

/// How far a place lies from two circles with their touching lines; negative inside.
pub(crate) fn from_arm(at: P, a: Circle, b: Circle) -> f64 {
    let d = sub(b.0, a.0);
    let far = length(d);
    let w = sub(at, a.0);
    if far <= (a.1 - b.1).abs() {
        return (length(w) - a.1).min(length(sub(at, b.0)) - b.1);
    }
    let along = (w[0] * d[0] + w[1] * d[1]) / far;
    let off = (cross(d, w) / far).abs();
    // A touching line leans towards the smaller circle.
    let s = (a.1 - b.1) / far;
    let c = (1.0 - s * s).sqrt();
    let k = along * c - off * s;
    if k < 0.0 {
        length(w) - a.1
    } else if k > far * c {
        length(sub(at, b.0)) - b.1
    } else {
        along * s + off * c - a.1
    }
}

/// The closed line round all arms, sides in counter-clockwise order; `None` when it is more than one, or leaves a window.
fn union(arms: &[(Circle, Circle)]) -> Option<Vec<Side>> {
    let outlines: Vec<Vec<Side>> = arms
        .iter()
        .map(|&(a, b)| Contour::capsule(a, b).sides())
        .collect();
    let mut left: Vec<Side> = Vec::new();
    for (i, sides) in outlines.iter().enumerate() {
        for side in sides {
            let mut shares = vec![0.0, 1.0];
            for (j, others) in outlines.iter().enumerate() {
                if i != j {
                    others.iter().for_each(|o| meetings(side, o, &mut shares));
                }
            }
            shares.sort_by(f64::total_cmp);
            shares.dedup_by(|a, b| (*a - *b).abs() * side.length() < DEPTH);
            for pair in shares.windows(2) {
                let &[from, to] = pair else { continue };
                let middle = side.at(f64::midpoint(from, to));
                let hidden = arms.iter().enumerate().any(|(j, &(a, b))| {
                    let depth = from_arm(middle, a, b);
                    // Of sides that lie on one another the first stays.
                    j != i && (depth < -DEPTH || j < i && depth < DEPTH)
                });
                if !hidden {
                    left.push(side.piece(from, to));
                }
            }
        }
    }
    chained(left)
}

/// Pieces end to end, from the longest on; what is left over may be no more than crumbs.
fn chained(mut left: Vec<Side>) -> Option<Vec<Side>> {
    let first = (0..left.len()).max_by(|&a, &b| left[a].length().total_cmp(&left[b].length()))?;
    let mut chain = vec![left.swap_remove(first)];
    let start = chain.first()?.at(0.0);
    loop {
        let end = chain.last()?.at(1.0);
        let near = |s: &Side| length(sub(s.at(0.0), end));
        let next = (0..left.len()).min_by(|&a, &b| {
            near(&left[a])
                .total_cmp(&near(&left[b]))
                .then(left[b].length().total_cmp(&left[a].length()))
        });
        let closes = length(sub(start, end));
        match next {
            Some(n) if near(&left[n]) < MEET && near(&left[n]) < closes => {
                chain.push(left.swap_remove(n));
            }
            _ if closes < MEET => break,
            _ => return None,
        }
    }
    (left.iter().map(Side::length).sum::<f64>() < CRUMBS).then_some(chain)
}

/// All sides moved inward by a distance, an arc of it about each inside corner; arcs that run on are one.
fn drawn_in(sides: &[Side], by: f64) -> Vec<Side> {
    let moved = |s: &Side| match *s {
        Side::Line { from, to } => {
            let turn = s.heading(0.0) + PI / 2.0;
            Side::Line {
                from: polar(from, by, turn),
                to: polar(to, by, turn),
            }
        }
        Side::Arc {
            centre,
            radius,
            from,
            sweep,
        } => Side::Arc {
            centre,
            radius: radius - by,
            from,
            sweep,
        },
    };
    let mut all: Vec<Side> = Vec::new();
    for (n, side) in sides.iter().enumerate() {
        all.push(moved(side));
        let Some(next) = sides.get((n + 1) % sides.len()) else {
            continue;
        };
        let (a, b) = (side.heading(1.0), next.heading(0.0));
        let turn = (b - a + PI).rem_euclid(TAU) - PI;
        if by > 0.0 && turn < -1e-9 {
            all.push(Side::Arc {
                centre: side.at(1.0),
                radius: by,
                from: a + PI / 2.0,
                sweep: turn,
            });
        }
    }
    all
}

fn contour(sides: &[Side]) -> Contour {
    let mut vertices: Vec<Vertex> = Vec::new();
    for side in sides.iter().filter(|s| s.length() > 1e-7) {
        let sweep = match *side {
            Side::Line { .. } => 0.0,
            Side::Arc { sweep, .. } => sweep,
        };
        // Nearly a whole turn has no bulge that can be written: it is two arcs.
        let parts: u8 = if sweep.abs() > 1.9 * PI { 2 } else { 1 };
        vertices.extend((0..parts).map(|n| Vertex {
            at: side.at(f64::from(n) / f64::from(parts)),
            bulge: (sweep / f64::from(parts) / 4.0).tan(),
        }));
    }
    Contour { vertices }
}

/// Arcs about one centre that follow one another are one arc, lines in one direction one line.
fn merged(sides: Vec<Side>) -> Vec<Side> {
    let mut all: Vec<Side> = Vec::new();
    for side in sides {
        if side.length() < 1e-6 {
            continue;
        }
        match all.last().and_then(|last| joined(last, &side)) {
            Some(one) => {
                all.pop();
                all.push(one);
            }
            None => all.push(side),
        }
    }
    if all.len() > 2
        && let (Some(last), Some(first)) = (all.last().copied(), all.first().copied())
        && let Some(one) = joined(&last, &first)
    {
        all.pop();
        if let Some(first) = all.first_mut() {
            *first = one;
        }
    }
    all
}

fn joined(a: &Side, b: &Side) -> Option<Side> {
    match (*a, *b) {
        (
            Side::Arc {
                centre,
                radius,
                from,
                sweep,
            },
            Side::Arc {
                centre: c,
                radius: r,
                sweep: more,
                ..
            },
        ) if length(sub(centre, c)) < 1e-7
            && (radius - r).abs() < 1e-7
            && sweep.signum() * more.signum() > 0.0
            && (sweep + more).abs() < TAU - 1e-6 =>
        {
            Some(Side::Arc {
                centre,
                radius,
                from,
                sweep: sweep + more,
            })
        }
        (Side::Line { from, .. }, Side::Line { to, .. })
            if {
                let turn = b.heading(0.0) - a.heading(1.0);
                ((turn + PI).rem_euclid(TAU) - PI).abs() < 1e-9
            } =>
        {
            Some(Side::Line { from, to })
        }
        _ => None,
    }
}

/// The outline of round ends joined in pairs; `None` when they do not make one outline without a window.
pub(crate) fn outline(circles: &[Circle], pairs: &[[usize; 2]], fillet: f64) -> Option<Contour> {
    let mut arms: Vec<(Circle, Circle)> = Vec::new();
    for [a, b] in pairs {
        arms.push((*circles.get(*a)?, *circles.get(*b)?));
    }
    if arms.is_empty() {
        let only = circles.first()?;
        return Some(Contour::circle(only.0, only.1));
    }
    let sharp = merged(union(&arms)?);
    let mut by = fillet;
    // A fillet too large for its corner is made as large as goes.
    for _ in 0..16 {
        let grown: Vec<(Circle, Circle)> = arms
            .iter()
            .map(|&((p, r), (q, s))| ((p, r + by), (q, s + by)))
            .collect();
        let inside = union(&grown).map(|sides| merged(drawn_in(&merged(sides), by)));
        if let Some(inside) = inside.filter(|s| sound(s, &arms, by)) {
            return Some(contour(&inside));
        }
        by *= 0.75;
    }
    Some(contour(&sharp))
}

/// Every inside corner keeps the whole circle of its fillet clear of the arms and of the other sides.
fn sound(sides: &[Side], arms: &[(Circle, Circle)], by: f64) -> bool {
    const LOOK: u8 = 6;
    let from_all = |at: P| {
        let all = arms.iter().map(|&(a, b)| from_arm(at, a, b));
        all.fold(f64::INFINITY, f64::min)
    };
    let corners: Vec<P> = sides
        .iter()
        .filter_map(|s| match *s {
            Side::Arc { centre, sweep, .. } if sweep < 0.0 => Some(centre),
            _ => None,
        })
        .collect();
    sides.iter().all(|s| {
        (0..=LOOK).all(|n| {
            let at = s.at(f64::from(n) / f64::from(LOOK));
            from_all(at) > -1e-6 && corners.iter().all(|c| length(sub(at, *c)) > by - 1e-6)
        })
    })
}
