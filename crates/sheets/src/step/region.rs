//! Sections of solids: areas between closed lines of straight sides and arcs, taken from one another, and cut up where two of them lie on each
//! other.

use machine::making::sides::meetings;
use shop::contour::{Contour, P, Side};
use std::f64::consts::{PI, TAU};

/// Places nearer than this are one, mm.
pub(super) const SAME: f64 = 1e-6;

/// An area: closed lines with metal on their left.
#[derive(Clone, Debug, Default)]
pub(crate) struct Region {
    pub(crate) loops: Vec<Vec<Side>>,
}

/// Where a piece of one area's boundary lies in another area.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Lies {
    In,
    Out,
    /// On its boundary, metal of both on one side.
    Along,
    /// On its boundary, metal on either side of it.
    Against,
}

/// A piece of a boundary: which loop and side it is of.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piece {
    pub(super) side: Side,
    pub(super) of: [usize; 2],
    pub(super) lies: Lies,
}

/// The same side, gone along the other way.
pub(crate) fn back(side: &Side) -> Side {
    match *side {
        Side::Line { from, to } => Side::Line { from: to, to: from },
        Side::Arc {
            centre,
            radius,
            from,
            sweep,
        } => Side::Arc {
            centre,
            radius,
            from: from + sweep,
            sweep: -sweep,
        },
    }
}

pub(super) fn far(a: P, b: P) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// Area left of a closed line, mm², by Green's theorem.
pub(super) fn area(sides: &[Side]) -> f64 {
    sides
        .iter()
        .map(|s| {
            let (a, b) = (s.at(0.0), s.at(1.0));
            let chord = (a[0] * b[1] - a[1] * b[0]) / 2.0;
            match *s {
                Side::Line { .. } => chord,
                Side::Arc { radius, sweep, .. } => {
                    chord + radius * radius / 2.0 * (sweep - sweep.sin())
                }
            }
        })
        .sum()
}

impl Region {
    /// Inside of an outline; arcs of more than half a turn are halved.
    pub(crate) fn of(outline: &Contour) -> Self {
        let mut sides = Vec::new();
        for s in outline.sides() {
            match s {
                Side::Arc { sweep, .. } if sweep.abs() > PI + 1e-9 => {
                    sides.extend([s.piece(0.0, 0.5), s.piece(0.5, 1.0)]);
                }
                _ => sides.push(s),
            }
        }
        Self { loops: vec![sides] }
    }

    /// Inside of a circle, halved at a direction.
    pub(crate) fn disc(centre: P, radius: f64, halved: f64) -> Self {
        let half = |from: f64| Side::Arc {
            centre,
            radius,
            from,
            sweep: PI,
        };
        Self {
            loops: vec![vec![half(halved), half(halved + PI)]],
        }
    }

    /// The same lines with metal outside of them.
    pub(crate) fn turned_inside_out(&self) -> Self {
        let line = |l: &Vec<Side>| l.iter().rev().map(back).collect();
        Self {
            loops: self.loops.iter().map(line).collect(),
        }
    }

    /// A polygon by its corners, counter-clockwise.
    pub(crate) fn polygon(corners: &[P]) -> Self {
        let next = corners.iter().cycle().skip(1);
        let sides = corners.iter().zip(next);
        Self {
            loops: vec![sides.map(|(&from, &to)| Side::Line { from, to }).collect()],
        }
    }

    pub(crate) fn area(&self) -> f64 {
        self.loops.iter().map(|l| area(l)).sum()
    }

    fn sides(&self) -> impl Iterator<Item = &Side> {
        self.loops.iter().flatten()
    }

    /// Whether a place lies inside: a ray to the right crosses the boundary an odd number of times.
    pub(super) fn holds(&self, at: P) -> bool {
        // Off the round heights that corners have.
        let at = [at[0], at[1] + 3.1e-8];
        let mut inside = false;
        for s in self.sides() {
            match *s {
                Side::Line { from, to } => {
                    if (from[1] > at[1]) != (to[1] > at[1]) {
                        let x = from[0] + (at[1] - from[1]) / (to[1] - from[1]) * (to[0] - from[0]);
                        inside ^= at[0] < x;
                    }
                }
                Side::Arc {
                    centre,
                    radius,
                    from,
                    sweep,
                } => {
                    let rise = at[1] - centre[1];
                    if rise.abs() >= radius {
                        continue;
                    }
                    let up = (rise / radius).asin();
                    for angle in [up, PI - up] {
                        let along = if sweep > 0.0 {
                            angle - from
                        } else {
                            from - angle
                        };
                        if along.rem_euclid(TAU) < sweep.abs() {
                            inside ^= at[0] < centre[0] + radius * angle.cos();
                        }
                    }
                }
            }
        }
        inside
    }

    /// This boundary cut up wherever it meets another one, and how each piece lies in that area.
    pub(super) fn cut_by(&self, other: &Self) -> Vec<Piece> {
        let mut pieces = Vec::new();
        for (l, sides) in self.loops.iter().enumerate() {
            for (n, side) in sides.iter().enumerate() {
                let mut shares = vec![0.0, 1.0];
                for o in other.sides() {
                    meetings(side, o, &mut shares);
                }
                shares.sort_by(f64::total_cmp);
                let near = SAME / side.length().max(SAME);
                let mut kept: Vec<f64> = Vec::new();
                for s in shares {
                    let s = if s < near {
                        0.0
                    } else if s > 1.0 - near {
                        1.0
                    } else {
                        s
                    };
                    if kept.last().is_none_or(|k| s > k + near) {
                        kept.push(s);
                    }
                }
                for w in kept.windows(2) {
                    let piece = side.piece(w[0], w[1]);
                    pieces.push(Piece {
                        side: piece,
                        of: [l, n],
                        lies: other.where_is(&piece),
                    });
                }
            }
        }
        pieces
    }

    /// Where a piece lies that nowhere crosses this boundary.
    fn where_is(&self, piece: &Side) -> Lies {
        // Not the middle itself: what touches there only is not along.
        let on = |share: f64| {
            let at = piece.at(share);
            let nearest = self
                .sides()
                .map(|s| (s.distance(at), s))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            nearest.filter(|(d, _)| *d < SAME).map(|(_, s)| {
                let share_there = s.share(s_at(s, at)).unwrap_or(0.5);
                (piece.heading(share) - s.heading(share_there)).cos() > 0.0
            })
        };
        match (on(0.41), on(0.63)) {
            (Some(a), Some(_)) => {
                if a {
                    Lies::Along
                } else {
                    Lies::Against
                }
            }
            (None, _) if self.holds(piece.at(0.41)) => Lies::In,
            (Some(_), None) if self.holds(piece.at(0.63)) => Lies::In,
            _ => Lies::Out,
        }
    }

    /// What of this area lies in another one.
    pub(crate) fn and(&self, other: &Self) -> Option<Self> {
        let pick = |own: Vec<Piece>, along: bool| {
            own.into_iter()
                .filter(move |p| p.lies == Lies::In || along && p.lies == Lies::Along)
                .map(|p| p.side)
        };
        let sides = pick(self.cut_by(other), true).chain(pick(other.cut_by(self), false));
        Self::joined(&sides.collect::<Vec<_>>())
    }

    /// This area less another one.
    pub(crate) fn less(&self, other: &Self) -> Option<Self> {
        let own = self.cut_by(other).into_iter();
        let own = own
            .filter(|p| matches!(p.lies, Lies::Out | Lies::Against))
            .map(|p| p.side);
        let theirs = other.cut_by(self).into_iter();
        let theirs = theirs.filter(|p| p.lies == Lies::In).map(|p| back(&p.side));
        Self::joined(&own.chain(theirs).collect::<Vec<_>>())
    }

    /// Closed lines of loose pieces; `None` when an end is left over.
    fn joined(sides: &[Side]) -> Option<Self> {
        let loops = chained(sides)?;
        let line = |l: Vec<usize>| l.into_iter().map(|n| sides[n]).collect();
        Some(Self {
            loops: loops.into_iter().map(line).collect(),
        })
    }

    /// Loops in faces: each outer one with those of its openings.
    pub(super) fn faces(&self) -> Vec<Vec<usize>> {
        let areas: Vec<f64> = self.loops.iter().map(|l| area(l)).collect();
        let mut faces: Vec<Vec<usize>> = Vec::new();
        for (n, a) in areas.iter().enumerate() {
            if *a > 0.0 {
                faces.push(vec![n]);
            }
        }
        for (n, a) in areas.iter().enumerate() {
            if *a > 0.0 {
                continue;
            }
            let at = self.loops[n].first().map_or([0.0; 2], |s| s.at(0.37));
            let holder = faces
                .iter_mut()
                .filter(|f| {
                    let outer = Self {
                        loops: vec![self.loops[f[0]].clone()],
                    };
                    outer.holds(at) && areas[f[0]] > -a - SAME
                })
                .min_by(|a, b| areas[a[0]].total_cmp(&areas[b[0]]));
            if let Some(face) = holder {
                face.push(n);
            }
        }
        faces
    }
}

/// The place of a side that is nearest to a place near it.
fn s_at(side: &Side, at: P) -> P {
    match *side {
        Side::Line { from, to } => {
            let d = [to[0] - from[0], to[1] - from[1]];
            let t = ((at[0] - from[0]) * d[0] + (at[1] - from[1]) * d[1])
                / (d[0] * d[0] + d[1] * d[1]).max(1e-18);
            side.at(t.clamp(0.0, 1.0))
        }
        Side::Arc { centre, radius, .. } => {
            let w = [at[0] - centre[0], at[1] - centre[1]];
            let l = w[0].hypot(w[1]).max(1e-18);
            [centre[0] + w[0] / l * radius, centre[1] + w[1] / l * radius]
        }
    }
}

/// The order in which loose pieces make closed lines; `None` when an end is left over.
pub(super) fn chained(sides: &[Side]) -> Option<Vec<Vec<usize>>> {
    let ways: Vec<[P; 2]> = sides.iter().map(|s| [s.at(0.0), s.at(1.0)]).collect();
    let mut used = vec![false; sides.len()];
    let mut loops = Vec::new();
    for first in 0..sides.len() {
        if used[first] {
            continue;
        }
        let mut line = Vec::new();
        let mut at = first;
        loop {
            used[at] = true;
            line.push(at);
            let end = ways[at][1];
            if far(end, ways[first][0]) < 10.0 * SAME {
                break;
            }
            // Where several go on, the one that keeps the metal of this piece: the first clockwise from where it came.
            let came = sides[at].heading(1.0) + PI;
            let turn = |n: &usize| (came - sides[*n].heading(0.02) - 1e-9).rem_euclid(TAU);
            at = (0..sides.len())
                .filter(|n| !used[*n] && far(ways[*n][0], end) < 10.0 * SAME)
                .min_by(|a, b| turn(a).total_cmp(&turn(b)))?;
        }
        loops.push(line);
    }
    Some(loops)
}
