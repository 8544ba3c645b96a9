//! Bent plates on paper: bend lines on the flat, and the plate as bent, seen along its bends.

use super::dims::{View, tag};
use super::taken::Taken;
use crate::geometry::P;
use crate::sheet::{Group, Pen, Shape};
use shop::part::{Bend, Plate};
use shop::words::{self, Units};

/// The plate as bent, seen along its bends: both faces as lines of the distance across the bends and the height over the back of the flat middle.
pub(super) struct Formed {
    faces: [Vec<P>; 2],
    /// The outside of each bend.
    pub(super) middles: Vec<Middle>,
    /// Least and greatest distance across.
    pub(super) across: [f64; 2],
    /// Least and greatest height.
    pub(super) height: [f64; 2],
}

/// The middle of a bend on its outer side.
pub(super) struct Middle {
    /// Which bend.
    pub(super) bend: usize,
    /// Distance across and height.
    pub(super) outside: P,
    /// Away from the centre it is bent about.
    pub(super) outward: P,
}

/// Steps of an arc.
const STEPS: u32 = 12;

/// How a bent plate stands.
pub(super) fn formed(p: &Plate) -> Option<Formed> {
    let first = p.bends.first()?;
    let i = usize::from(!first.upright);
    let [low, high] = p.flat_middle?;
    let t = p.thickness;
    // From the middle outward to either side: the middle line of the thickness with its normal towards the front.
    let mut middles = Vec::new();
    let mut halves: [Vec<(P, P)>; 2] = [Vec::new(), Vec::new()];
    for (half, way) in halves.iter_mut().zip([1.0, -1.0]) {
        let edge = if way > 0.0 { high[i] } else { low[i] };
        let chain = chain(p, i, way);
        let back = chain.first().map_or(0.0, |b| b.setback);
        let mut at = [edge - way * back, t / 2.0];
        let mut turn = 0.0_f64;
        let normal = |turn: f64| [-way * turn.sin(), turn.cos()];
        half.push((at, normal(turn)));
        for (n, b) in chain.iter().enumerate() {
            let sense = if b.front { 1.0 } else { -1.0 };
            let r = b.radius + t / 2.0;
            // The centre lies on the inner side.
            let m = normal(turn);
            let centre = [at[0] + sense * r * m[0], at[1] + sense * r * m[1]];
            let start = turn;
            for s in 1..=STEPS {
                turn = start + sense * b.angle * f64::from(s) / f64::from(STEPS);
                let m = normal(turn);
                at = [centre[0] - sense * r * m[0], centre[1] - sense * r * m[1]];
                half.push((at, m));
                let bend = p.bends.iter().position(|o| std::ptr::eq(o, *b));
                if let (Some(bend), true) = (bend, s == STEPS / 2) {
                    let outward = m.map(|x| -sense * x);
                    let outside = [0, 1].map(|i| at[i] + outward[i] * t / 2.0);
                    middles.push(Middle {
                        bend,
                        outside,
                        outward,
                    });
                }
            }
            let next = chain.get(n + 1).map_or(0.0, |b| b.setback);
            let long = b.length - b.setback - next;
            at = [at[0] + way * long * turn.cos(), at[1] + long * turn.sin()];
            half.push((at, normal(turn)));
        }
    }
    let [right, left] = halves;
    let line: Vec<(P, P)> = left.into_iter().rev().chain(right).collect();
    let face = |s: f64| {
        let offset = |(at, n): &(P, P)| [at[0] + s * n[0] * t / 2.0, at[1] + s * n[1] * t / 2.0];
        line.iter().map(offset).collect::<Vec<P>>()
    };
    let faces = [face(1.0), face(-1.0)];
    let mut bounds = [[f64::INFINITY, f64::NEG_INFINITY]; 2];
    for q in faces.iter().flatten() {
        for k in 0..2 {
            bounds[k] = [bounds[k][0].min(q[k]), bounds[k][1].max(q[k])];
        }
    }
    Some(Formed {
        faces,
        middles,
        across: bounds[0],
        height: bounds[1],
    })
}

/// The bends of one side, outward.
fn chain(p: &Plate, i: usize, way: f64) -> Vec<&Bend> {
    let mut all = Vec::new();
    let mut next = p
        .bends
        .iter()
        .position(|b| b.beyond.is_none() && b.outward[i] * way > 0.0);
    while let Some(n) = next {
        all.extend(p.bends.get(n));
        next = p.bends.iter().position(|b| b.beyond == Some(n));
    }
    all
}

impl Formed {
    /// Draws it with its distance across the bends upward; `x` is the paper's x of the least height, `zero` the paper's y of distance 0.
    pub(super) fn draw(&self, g: &mut Group, x: f64, zero: f64, k: f64) {
        let at = |q: &P| [x + k * (q[1] - self.height[0]), zero - k * q[0]];
        let mut outline: Vec<P> = self.faces[0].iter().map(at).collect();
        outline.extend(self.faces[1].iter().rev().map(at));
        g.draw(Pen::Wide, Shape::poly(&outline, true));
    }
}

/// Bend lines on the flat: the middle of each as a chain line, where it begins and ends as thin ones.
pub(super) fn lines(g: &mut Group, p: &Plate, v: View) {
    for b in &p.bends {
        g.draw(Pen::Chain, Shape::line(v.at(b.line[0]), v.at(b.line[1])));
        for z in b.zone {
            let i = usize::from(!b.upright);
            let [mut from, mut to] = b.line;
            from[i] = z;
            to[i] = z;
            g.draw(Pen::Hatch, Shape::line(v.at(from), v.at(to)));
        }
    }
}

/// Name of each bend on its line.
pub(super) fn letter(g: &mut Group, taken: &mut Taken, p: &Plate, v: View) {
    for b in &p.bends {
        let at = [
            b.line[0][0] * 0.72 + b.line[1][0] * 0.28,
            b.line[0][1] * 0.72 + b.line[1][1] * 0.28,
        ];
        tag(g, taken, v.at(at), 0.5, &words::spoken(&b.name));
    }
}

/// What is said of each bend.
pub(super) fn notes(p: &Plate, units: Units) -> Vec<String> {
    let l = |x: f64| words::length(x, units);
    let two = |x: f64| words::outer(x, units);
    p.bends
        .iter()
        .map(|b| {
            format!(
                "Bend {}: {}° {}, R{} inside, {} {} to {}, middle {}; flange {} outside; allowance {}, deduction {}.",
                words::spoken(&b.name),
                words::number(b.angle.to_degrees(), 2),
                if b.front { "to the front" } else { "to the back" },
                l(b.radius),
                if b.upright { "x" } else { "y" },
                two(b.zone[0].min(b.zone[1])),
                two(b.zone[0].max(b.zone[1])),
                two(b.line[0][usize::from(!b.upright)]),
                l(b.length),
                two(b.allowance),
                two(b.deduction),
            )
        })
        .collect()
}
