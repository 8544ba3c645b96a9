//! Holes that stand evenly on a circle or in a row: said once instead of one by one.

use crate::geometry::P;
use shop::letters::{kinds, letter};
use shop::part::Plate;
use shop::words::{self, Units};
use std::f64::consts::TAU;

/// So many holes are seen at a glance; more are said as what they form.
const FEW: usize = 6;
/// Places nearer than this are one, mm.
const SAME: f64 = 1e-5;

/// Holes that form something.
pub(in crate::packet) struct Pattern {
    /// Which holes, in their order.
    pub(in crate::packet) holes: Vec<usize>,
    /// Their names: `A1 to A24`.
    pub(in crate::packet) name: String,
    form: Form,
}

enum Form {
    /// Centre, diameter, direction of the first, from one to the next, rad.
    Circle(P, f64, f64, f64),
    /// The first, the last, from one to the next.
    Row(P, P, f64),
}

/// What the holes of a plate form; each hole is in one at the most.
pub(in crate::packet) fn of(p: &Plate) -> Vec<Pattern> {
    let (kind, firsts) = kinds(p);
    let mut all = Vec::new();
    for k in 0..firsts.len() {
        let of_kind: Vec<usize> = (0..p.holes.len()).filter(|&i| kind[i] == k).collect();
        let base = |i: usize| {
            p.holes[i]
                .name
                .trim_end_matches(|c: char| c.is_ascii_digit())
        };
        // Holes that were written together follow each other and bear one name.
        let mut at = 0;
        for family in of_kind.chunk_by(|a, b| base(*a) == base(*b)) {
            let (first, last) = (at + 1, at + family.len());
            at = last;
            if family.len() < FEW {
                continue;
            }
            let places: Vec<P> = family.iter().map(|&i| p.holes[i].at).collect();
            if let Some(form) = circle(&places).or_else(|| row(&places)) {
                let l = letter(k);
                all.push(Pattern {
                    holes: family.to_vec(),
                    name: format!("{l}{first}–{l}{last}"),
                    form,
                });
            }
        }
    }
    all
}

/// Evenly all round a circle, one after the other.
fn circle(places: &[P]) -> Option<Form> {
    let count = places.len() as f64;
    let centre = [0, 1].map(|i| places.iter().map(|p| p[i]).sum::<f64>() / count);
    let from = |p: &P| [p[0] - centre[0], p[1] - centre[1]];
    let first = from(places.first()?);
    let (radius, angle) = (first[0].hypot(first[1]), first[1].atan2(first[0]));
    let second = from(places.get(1)?);
    let turn = second[1].atan2(second[0]) - angle;
    let step = if turn.rem_euclid(TAU) < TAU / 2.0 {
        TAU / count
    } else {
        -TAU / count
    };
    let stands = |(n, p): (usize, &P)| {
        let a = angle + step * n as f64;
        let d = from(p);
        (d[0] - radius * a.cos()).hypot(d[1] - radius * a.sin()) < SAME
    };
    (radius > SAME && places.iter().enumerate().all(stands)).then_some(Form::Circle(
        centre,
        2.0 * radius,
        angle,
        step.abs(),
    ))
}

/// Evenly on a straight line.
fn row(places: &[P]) -> Option<Form> {
    let (first, last) = (*places.first()?, *places.last()?);
    let gaps = (places.len() - 1) as f64;
    let step = [(last[0] - first[0]) / gaps, (last[1] - first[1]) / gaps];
    let stands = |(n, p): (usize, &P)| {
        let n = n as f64;
        (p[0] - first[0] - n * step[0]).hypot(p[1] - first[1] - n * step[1]) < SAME
    };
    let long = step[0].hypot(step[1]);
    (long > SAME && places.iter().enumerate().all(stands)).then_some(Form::Row(first, last, long))
}

impl Pattern {
    /// Where they stand, in words.
    pub(in crate::packet) fn words(&self, units: Units) -> String {
        let count = self.holes.len();
        let xy = |p: P| {
            let [x, y] = p.map(|q| words::coordinate(q, units));
            format!("x {x} y {y}")
        };
        match self.form {
            Form::Circle(centre, d, from, step) => format!(
                "{count} on ⌀{} about {}, the first at {}°, {}° apart",
                words::length(d, units),
                xy(centre),
                words::number(from.to_degrees().rem_euclid(360.0), 3),
                words::number(step.to_degrees(), 4)
            ),
            Form::Row(first, last, step) => format!(
                "{count} in a row from {} to {}, {} apart",
                xy(first),
                xy(last),
                words::length(step, units)
            ),
        }
    }

    /// The circle they stand on: centre and diameter.
    pub(in crate::packet) fn round(&self) -> Option<(P, f64)> {
        match self.form {
            Form::Circle(centre, d, ..) => Some((centre, d)),
            Form::Row(..) => None,
        }
    }

    /// Holes that bear their name on the drawing: the first, of a row the last too.
    pub(in crate::packet) fn named(&self) -> impl Iterator<Item = usize> + '_ {
        let last = self.holes.last().filter(|_| self.round().is_none());
        self.holes.first().into_iter().chain(last).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn circles_and_rows_are_seen_and_others_are_not() {
        let ring = |n: usize, way: f64| -> Vec<P> {
            let at = |i: usize| {
                let a = 0.3 + way * TAU * i as f64 / n as f64;
                [5.0 + 30.0 * a.cos(), -2.0 + 30.0 * a.sin()]
            };
            (0..n).map(at).collect()
        };
        for way in [1.0, -1.0] {
            let Some(Form::Circle(c, d, from, step)) = circle(&ring(24, way)) else {
                panic!("a circle")
            };
            assert!((c[0] - 5.0).abs() < 1e-9 && (d - 60.0).abs() < 1e-9);
            assert!((from - 0.3).abs() < 1e-9 && (step - TAU / 24.0).abs() < 1e-9);
        }
        let mut off = ring(12, 1.0);
        off[5][0] += 0.001;
        assert!(circle(&off).is_none() && row(&off).is_none());
        let line: Vec<P> = (0..7)
            .map(|i| [2.0 * f64::from(i), 1.0 + f64::from(i)])
            .collect();
        assert!(
            matches!(row(&line), Some(Form::Row(_, [12.0, 7.0], s)) if (s - 5_f64.sqrt()).abs() < 1e-9)
        );
    }
}
