//! Which equations are independent of one another, and what the others repeat. Rows touch few unknowns each, so they are
//! eliminated as sparse rows: a long chain of parts costs little more than its length.

use crate::model::Mechanism;
use nalgebra::DMatrix;
use std::collections::BTreeSet;

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

/// What is left of an independent row after the rows before it: its entries over its greatest, which is the pivot.
struct Pivot {
    entries: Vec<(usize, f64)>,
    /// The greatest entry before it was divided by it.
    value: f64,
    /// How much of each earlier pivot was taken out of the row.
    taken: Vec<(usize, f64)>,
}

/// Goes through the rows of a scaled Jacobian in order.
pub(crate) fn independent(j: &DMatrix<f64>) -> Rows {
    let mut rows = Rows::default();
    let mut pivots: Vec<Pivot> = Vec::new();
    let mut pivot_of: Vec<Option<usize>> = vec![None; j.ncols()];
    let mut rest = vec![0.0; j.ncols()];
    for r in 0..j.nrows() {
        let mut touched = BTreeSet::new();
        let mut waiting = BTreeSet::new();
        for (c, &x) in j.row(r).iter().enumerate().filter(|(_, x)| **x != 0.0) {
            rest[c] = x;
            touched.insert(c);
            waiting.extend(pivot_of[c]);
        }
        let length = norm(touched.iter().map(|&c| rest[c]));
        let mut taken = Vec::new();
        while let Some(p) = waiting.pop_first() {
            let Some(&(column, _)) = pivots[p].entries.first() else {
                continue;
            };
            let much = std::mem::take(&mut rest[column]);
            touched.remove(&column);
            if much == 0.0 {
                continue;
            }
            for &(c, x) in &pivots[p].entries[1..] {
                rest[c] -= much * x;
                touched.insert(c);
                waiting.extend(pivot_of[c].filter(|q| *q > p));
            }
            taken.push((p, much));
        }
        let left: Vec<(usize, f64)> = touched
            .into_iter()
            .map(|c| (c, std::mem::take(&mut rest[c])))
            .filter(|e| e.1 != 0.0)
            .collect();
        let greatest = left
            .iter()
            .enumerate()
            .fold(None, |best: Option<(usize, f64)>, (i, e)| match best {
                Some(b) if b.1.abs() >= e.1.abs() => best,
                _ => Some((i, e.1)),
            });
        match greatest {
            Some((i, value)) if norm(left.iter().map(|e| e.1)) > NOTHING * length => {
                let mut entries: Vec<(usize, f64)> =
                    left.into_iter().map(|(c, x)| (c, x / value)).collect();
                entries.swap(0, i);
                pivot_of[entries[0].0] = Some(pivots.len());
                pivots.push(Pivot {
                    entries,
                    value,
                    taken,
                });
                rows.keep.push(r);
            }
            _ => {
                let on = mixture(&pivots, &taken);
                let on = on.into_iter().filter(|(_, m)| m.abs() > 1e-7 * length);
                rows.dependent.push(Dependent {
                    row: r,
                    on: on.map(|(p, m)| (rows.keep[p], m)).collect(),
                });
            }
        }
    }
    rows
}

/// How much of each independent row makes up a row from which so much of each pivot was taken.
fn mixture(pivots: &[Pivot], taken: &[(usize, f64)]) -> Vec<(usize, f64)> {
    let mut much = vec![0.0; pivots.len()];
    for &(p, m) in taken {
        much[p] += m;
    }
    for p in (0..pivots.len()).rev() {
        much[p] /= pivots[p].value;
        if much[p] != 0.0 {
            for &(q, m) in &pivots[p].taken {
                much[q] -= much[p] * m;
            }
        }
    }
    let much = much.into_iter().enumerate();
    much.filter(|m| m.1 != 0.0).collect()
}

/// The rows that stand farthest apart from one another: each time the one with the greatest entry left, rows counted as equally
/// long. As many as are independent; the others come after, as dependent on all.
pub(crate) fn farthest_apart(j: &DMatrix<f64>) -> Rows {
    let mut scaled = j.clone();
    for mut row in scaled.row_iter_mut() {
        let most = row.amax();
        if most > 0.0 {
            row.scale_mut(1.0 / most);
        }
    }
    let mut keep: Vec<usize> = eliminated(&scaled).iter().map(|p| p.row).collect();
    keep.sort_unstable();
    let others = (0..j.nrows()).filter(|r| keep.binary_search(r).is_err());
    let dependent = others.map(|row| Dependent {
        row,
        on: Vec::new(),
    });
    Rows {
        dependent: dependent.collect(),
        keep,
    }
}

/// A row of the echelon form: which row of the matrix, its pivot's column, and its entries.
pub(crate) struct Echelon {
    pub(crate) row: usize,
    pub(crate) column: usize,
    pub(crate) entries: Vec<(usize, f64)>,
}

/// Echelon form with full pivoting: each time the greatest entry left.
pub(crate) fn eliminated(j: &DMatrix<f64>) -> Vec<Echelon> {
    let greatest = |row: &[(usize, f64)]| {
        row.iter().fold((0, 0.0_f64), |best, e| {
            if e.1.abs() > best.1 {
                (e.0, e.1.abs())
            } else {
                best
            }
        })
    };
    let mut left: Vec<Option<Vec<(usize, f64)>>> = j
        .row_iter()
        .map(|row| {
            let entries = row.iter().copied().enumerate();
            Some(entries.filter(|e| e.1 != 0.0).collect())
        })
        .collect();
    let mut best: Vec<(usize, f64)> = left
        .iter()
        .map(|row| row.as_ref().map_or((0, 0.0), |r| greatest(r)))
        .collect();
    let nothing = NOTHING * worst(j.iter()).max(f64::MIN_POSITIVE);
    let mut found = Vec::new();
    loop {
        let rows = best.iter().enumerate().rev();
        let Some((row, &(column, _))) = rows
            .max_by(|a, b| a.1.1.total_cmp(&b.1.1))
            .filter(|b| b.1.1 > nothing)
        else {
            return found;
        };
        let Some(entries) = left[row].take() else {
            return found;
        };
        best[row] = (0, 0.0);
        let entry = |row: &[(usize, f64)]| {
            row.binary_search_by_key(&column, |e| e.0)
                .map_or(0.0, |i| row[i].1)
        };
        let pivot = entry(&entries);
        for (other, best) in left.iter_mut().zip(&mut best) {
            let Some(other) = other else { continue };
            let much = entry(other) / pivot;
            if much != 0.0 {
                *other = less(other, &entries, much, column);
                *best = greatest(other);
            }
        }
        found.push(Echelon {
            row,
            column,
            entries,
        });
    }
}

/// `a − much × b` without the column that cancels.
fn less(a: &[(usize, f64)], b: &[(usize, f64)], much: f64, cancels: usize) -> Vec<(usize, f64)> {
    let (mut a, mut b) = (a.iter().peekable(), b.iter().peekable());
    let mut sum = Vec::new();
    loop {
        let next = match (a.peek(), b.peek()) {
            (None, None) => return sum,
            (Some(&&(c, x)), None) => {
                a.next();
                (c, x)
            }
            (None, Some(&&(c, y))) => {
                b.next();
                (c, -much * y)
            }
            (Some(&&(c, x)), Some(&&(d, y))) => match c.cmp(&d) {
                std::cmp::Ordering::Less => {
                    a.next();
                    (c, x)
                }
                std::cmp::Ordering::Greater => {
                    b.next();
                    (d, -much * y)
                }
                std::cmp::Ordering::Equal => {
                    a.next();
                    b.next();
                    (c, x - much * y)
                }
            },
        };
        if next.0 != cancels && next.1 != 0.0 {
            sum.push(next);
        }
    }
}

fn norm(v: impl Iterator<Item = f64>) -> f64 {
    v.map(|x| x * x).sum::<f64>().sqrt()
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

    /// Row 2 is row 0 and row 1, and so is row 3 but for a hair: 0, 1 and 3 in order, but 4 stands far apart from all.
    #[test]
    fn chooses_the_rows_that_stand_farthest_apart() {
        let j = DMatrix::from_row_slice(
            5,
            3,
            &[1., 0., 0., 0., 1., 0., 1., 1., 0., 1., 1., 1e-6, 0., 0., 1.],
        );
        assert_eq!(independent(&j).keep, [0, 1, 3]);
        let rows = farthest_apart(&j);
        assert_eq!(rows.keep, [0, 1, 4]);
        let others: Vec<usize> = rows.dependent.iter().map(|d| d.row).collect();
        assert_eq!(others, [2, 3]);
    }

    /// Against the rank by singular values, on sparse matrices of every make.
    #[test]
    fn as_many_rows_are_independent_as_singular_values_say() {
        let mut seed = 5_u64;
        let mut next = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (seed >> 40) as usize
        };
        for _ in 0..400 {
            let (m, n) = (1 + next() % 12, 1 + next() % 12);
            let mut j = DMatrix::zeros(m, n);
            for r in 0..m {
                for _ in 0..3 {
                    j[(r, next() % n)] = (next() % 7) as f64 - 3.0;
                }
                // Some rows are made of others.
                if r > 1 && next() % 3 == 0 {
                    let made = j.row(next() % r) * 2.0 - j.row(next() % r);
                    j.set_row(r, &made);
                }
            }
            let rank = j.clone().svd(false, false).rank(1e-9);
            let rows = independent(&j);
            assert_eq!(rows.keep.len(), rank, "{j}");
            assert_eq!(farthest_apart(&j).keep.len(), rank, "{j}");
            assert_eq!(rows.keep.len() + rows.dependent.len(), m);
            for d in &rows.dependent {
                let mut left = j.row(d.row).clone_owned();
                for &(k, much) in &d.on {
                    left -= much * j.row(k);
                }
                assert!(left.amax() < 1e-6 * (1.0 + j.row(d.row).amax()), "{left}");
            }
        }
    }
}
