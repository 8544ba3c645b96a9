//! Solids as STEP text: closed shells of planes, cylinders and cones, whose edges are lines, arcs and fine cubic splines, mm.
//!
//! A solid is built up of layers along z ([`layers`]), each with a section of straight sides and arcs ([`region`]); round holes across go through
//! it afterwards ([`across`]).

mod across;
mod keyed;
mod layers;
mod region;
mod write;

pub(crate) use across::Across;
pub(crate) use keyed::{Moon, Rounded};
pub(crate) use layers::{Cuts, Layer, build};
pub(crate) use region::{Region, back};

use std::collections::BTreeMap;

type P3 = [f64; 3];

/// Places nearer than this are one vertex, mm.
const SAME: f64 = 2e-6;
/// Width of the cells in which vertices are looked up, mm.
const CELL: f64 = 1e-3;

/// A curve between two vertices.
#[derive(Clone, Debug)]
enum Curve {
    Line,
    /// About an axis, counter-clockwise from the edge's first vertex.
    Arc {
        centre: P3,
        axis: P3,
        radius: f64,
    },
    /// Cubic, through places with tangents: each place and its derivative, the parameter runs from 0 in steps of one.
    Spline(Vec<[P3; 2]>),
}

/// An edge and the way it is gone.
type Way = (usize, bool);

#[derive(Clone, Debug)]
enum Surface {
    /// A place and the outward normal.
    Plane(P3, P3),
    /// A place on the axis, its direction, radius, outward is away from the axis.
    Cylinder(P3, P3, f64, bool),
    /// About +z or -z, the way the radius grows: a place on the axis, that way, radius there, half angle, outward is away from the axis.
    Cone(P3, f64, f64, f64, bool),
}

/// A solid that grows face by face.
#[derive(Default)]
pub(crate) struct Solid {
    cells: BTreeMap<[i64; 3], Vec<usize>>,
    places: Vec<P3>,
    lines: BTreeMap<(usize, usize), usize>,
    curves: Vec<(usize, usize, Curve)>,
    faces: Vec<(Surface, Vec<Vec<Way>>)>,
    /// What it should measure, mm³.
    pub(crate) volume: f64,
}

fn far(a: P3, b: P3) -> f64 {
    (0..3).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt()
}

fn cross(a: P3, b: P3) -> P3 {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

fn unit(a: P3) -> P3 {
    let l = far(a, [0.0; 3]).max(1e-300);
    a.map(|x| x / l)
}

impl Solid {
    fn vertex(&mut self, p: P3) -> usize {
        let cell = p.map(|x| (x / CELL).floor() as i64);
        for dx in -1..=1 {
            for dy in -1..=1 {
                for dz in -1..=1 {
                    let at = [cell[0] + dx, cell[1] + dy, cell[2] + dz];
                    let near = self.cells.get(&at).into_iter().flatten();
                    if let Some(&v) = near
                        .copied()
                        .filter(|v| far(self.places[*v], p) < SAME)
                        .collect::<Vec<_>>()
                        .first()
                    {
                        return v;
                    }
                }
            }
        }
        self.places.push(p);
        let v = self.places.len() - 1;
        self.cells.entry(cell).or_default().push(v);
        v
    }

    fn curve(&mut self, a: P3, b: P3, curve: Curve) -> Way {
        let (a, b) = (self.vertex(a), self.vertex(b));
        self.curves.push((a, b, curve));
        (self.curves.len() - 1, true)
    }

    /// A straight edge; the same one for the same vertices.
    fn line(&mut self, a: P3, b: P3) -> Way {
        let (from, to) = (self.vertex(a), self.vertex(b));
        let (low, high) = (from.min(to), from.max(to));
        if let Some(&n) = self.lines.get(&(low, high)) {
            return (n, low == from);
        }
        self.curves.push((low, high, Curve::Line));
        let n = self.curves.len() - 1;
        self.lines.insert((low, high), n);
        (n, low == from)
    }

    /// The vertices of an edge in the order in which it is gone.
    fn ends(&self, (n, forward): Way) -> [usize; 2] {
        let (a, b, _) = self.curves[n];
        if forward { [a, b] } else { [b, a] }
    }

    /// Places along an edge, the last one left out.
    fn along(&self, way: Way) -> Vec<P3> {
        let (a, b, curve) = &self.curves[way.0];
        let (a, b) = (self.places[*a], self.places[*b]);
        let mut all = match curve {
            Curve::Line => vec![a, b],
            Curve::Arc {
                centre,
                axis,
                radius,
            } => {
                let x = unit(std::array::from_fn(|i| a[i] - centre[i]));
                let y = cross(*axis, x);
                let end: P3 = std::array::from_fn(|i| b[i] - centre[i]);
                let dot = |u: P3| (0..3).map(|i| u[i] * end[i]).sum::<f64>();
                let mut sweep = dot(y).atan2(dot(x)).rem_euclid(std::f64::consts::TAU);
                if sweep < 1e-9 {
                    sweep = std::f64::consts::TAU;
                }
                (0..=12)
                    .map(|n| {
                        let (s, c) = (sweep * f64::from(n) / 12.0).sin_cos();
                        std::array::from_fn(|i| centre[i] + radius * (c * x[i] + s * y[i]))
                    })
                    .collect()
            }
            Curve::Spline(nodes) => nodes.iter().map(|n| n[0]).collect(),
        };
        if !way.1 {
            all.reverse();
        }
        all.pop();
        all
    }

    /// Closed loops of loose edges; `None` when an end is left over.
    fn loops(&self, ways: &[Way]) -> Option<Vec<Vec<Way>>> {
        let mut left: Vec<Way> = ways.to_vec();
        let mut loops = Vec::new();
        while let Some(first) = left.pop() {
            let mut line = vec![first];
            let start = self.ends(first)[0];
            let mut end = self.ends(first)[1];
            while end != start {
                let next = left.iter().position(|w| self.ends(*w)[0] == end)?;
                let way = left.swap_remove(next);
                end = self.ends(way)[1];
                line.push(way);
            }
            loops.push(line);
        }
        Some(loops)
    }
}

#[cfg(test)]
impl Solid {
    /// Whether every edge is gone twice, once each way, and every loop closes.
    pub(crate) fn is_closed(&self) -> bool {
        let mut gone = vec![[0, 0]; self.curves.len()];
        for ways in self.faces.iter().flat_map(|f| &f.1) {
            for (n, way) in ways.iter().enumerate() {
                gone[way.0][usize::from(way.1)] += 1;
                let next = ways[(n + 1) % ways.len()];
                if self.ends(*way)[1] != self.ends(next)[0] {
                    return false;
                }
            }
        }
        !self.faces.is_empty() && gone.iter().all(|g| *g == [0, 0] || *g == [1, 1])
    }
}

fn turned_back(loops: Vec<Way>) -> Vec<Way> {
    loops.into_iter().rev().map(|(n, f)| (n, !f)).collect()
}
