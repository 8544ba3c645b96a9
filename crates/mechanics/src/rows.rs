//! Which equations are independent of one another, and what the others repeat.

use crate::model::Mechanism;
use nalgebra::DMatrix;

/// Below this share of its own length, what is left of a row after taking out the rows before it counts as nothing.
/// Drawings carry 1e-13 of rounding; a hole drawn 0.001 mm off in a metre leaves 1e-6.
const NOTHING: f64 = 1e-9;

/// A row that depends on earlier rows: its number and, for each earlier independent row, how much of it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Dependent {
    pub(crate) row: usize,
    pub(crate) on: Vec<(usize, f64)>,
}

/// Independent rows in their order, and the dependent ones.
#[derive(Clone, Debug, Default)]
pub(crate) struct Rows {
    pub(crate) keep: Vec<usize>,
    pub(crate) dependent: Vec<Dependent>,
}

/// Largest absolute value; not a number when one of them is none (which a plain maximum passes over).
pub(crate) fn worst<'a>(values: impl IntoIterator<Item = &'a f64>) -> f64 {
    let pick = |most: f64, x: &f64| {
        if most.is_nan() || x.abs() <= most {
            most
        } else {
            x.abs()
        }
    };
    values.into_iter().fold(0.0, pick)
}

/// Divides the angle columns by the size, so that all unknowns are mm.
pub(crate) fn scale_columns(j: &mut DMatrix<f64>, size: f64) {
    for c in (2..j.ncols()).step_by(3) {
        j.column_mut(c).scale_mut(1.0 / size);
    }
}

/// Goes through the rows of a scaled Jacobian in order (Gram–Schmidt, twice for accuracy).
pub(crate) fn independent(j: &DMatrix<f64>) -> Rows {
    let mut rows = Rows::default();
    // Orthonormal rows, and each as a mixture of the kept rows of `j`.
    let mut basis: Vec<(Vec<f64>, Vec<f64>)> = Vec::new();
    for r in 0..j.nrows() {
        let row: Vec<f64> = j.row(r).iter().copied().collect();
        let length = norm(&row);
        let mut rest = row.clone();
        let mut mix = vec![0.0; basis.len() + 1];
        for _ in 0..2 {
            for (q, q_mix) in &basis {
                let d: f64 = q.iter().zip(&rest).map(|(a, b)| a * b).sum();
                rest.iter_mut().zip(q).for_each(|(x, q)| *x -= d * q);
                mix.iter_mut().zip(q_mix).for_each(|(m, q)| *m -= d * q);
            }
        }
        let left = norm(&rest);
        if left <= NOTHING * length || length == 0.0 {
            let on = rows
                .keep
                .iter()
                .zip(&mix)
                .filter(|(_, m)| m.abs() > 1e-7 * length);
            rows.dependent.push(Dependent {
                row: r,
                on: on.map(|(&k, &m)| (k, -m)).collect(),
            });
        } else {
            mix[basis.len()] = 1.0;
            for x in rest.iter_mut().chain(&mut mix) {
                *x /= left;
            }
            basis.push((rest, mix));
            rows.keep.push(r);
        }
    }
    rows
}

fn norm(v: &[f64]) -> f64 {
    v.iter().map(|x| x * x).sum::<f64>().sqrt()
}

impl Mechanism {
    /// The constraint a row of the residuals belongs to.
    pub(crate) fn constraint_of_row(&self, row: usize) -> usize {
        let mut next = 0;
        for (i, c) in self.constraints.iter().enumerate() {
            next += c.equations();
            if row < next {
                return i;
            }
        }
        self.constraints.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_what_a_row_repeats() {
        let j = DMatrix::from_row_slice(4, 3, &[1., 0., 2., 0., 1., 1., 2., -3., 1., 0., 0., 5.]);
        let rows = independent(&j);
        assert_eq!(rows.keep, [0, 1, 3]);
        assert_eq!(rows.dependent.len(), 1);
        assert_eq!(rows.dependent[0].row, 2);
        let on = &rows.dependent[0].on;
        assert_eq!(on.iter().map(|o| o.0).collect::<Vec<_>>(), [0, 1]);
        assert!((on[0].1 - 2.0).abs() < 1e-12 && (on[1].1 + 3.0).abs() < 1e-12);
    }
}
