//! Square systems of a mechanism factorised block by block: a long train of parts costs little more than its length. A small one is
//! one block, for there the bookkeeping would cost more than it saves.

use crate::blocks::{Block, blocks, unknowns_of_rows};
use crate::model::Mechanism;
use nalgebra::{DMatrix, DVector, Dyn, LU};

/// Systems with no more unknowns than this are factorised whole.
const SMALL: usize = 48;

/// Which equations are solved together, in which order, and which unknowns each may depend on.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    /// Those that others depend on come last.
    blocks: Vec<Block>,
    /// For each equation the unknowns that it may depend on; empty when all is one block.
    touched: Vec<Vec<usize>>,
}

impl Layout {
    /// Of the equations `kept`, as many as there are unknowns.
    pub(crate) fn new(mechanism: &Mechanism, kept: &[usize]) -> Self {
        let n = mechanism.unknowns();
        if n > SMALL {
            let found = blocks(mechanism, kept);
            if found.len() > 1 {
                let mut all = unknowns_of_rows(mechanism);
                return Self {
                    blocks: found,
                    touched: kept.iter().map(|&r| std::mem::take(&mut all[r])).collect(),
                };
            }
        }
        Self {
            blocks: vec![Block {
                rows: (0..kept.len()).collect(),
                columns: (0..n).collect(),
            }],
            touched: Vec::new(),
        }
    }
}

struct Factor {
    rows: Vec<usize>,
    columns: Vec<usize>,
    lu: LU<f64, Dyn, Dyn>,
    /// Entries outside the block: place among its rows, unknown, value.
    outside: Vec<(usize, usize, f64)>,
}

/// A factorised square matrix.
pub(crate) struct Factors {
    factors: Vec<Factor>,
    /// Least pivot over the greatest entry of its equation; 0 for what is not a number.
    pub(crate) steady: f64,
}

impl Factors {
    /// Factorises `square`, rows in the order of the layout's equations.
    pub(crate) fn new(square: &DMatrix<f64>, layout: &Layout) -> Self {
        let mut steady = 1.0;
        let mut factors = Vec::with_capacity(layout.blocks.len());
        let mut is_own = vec![false; square.ncols()];
        for block in &layout.blocks {
            let (rows, columns) = (block.rows.clone(), block.columns.clone());
            let mut outside = Vec::new();
            let own = if layout.touched.is_empty() {
                square.clone()
            } else {
                columns.iter().for_each(|&c| is_own[c] = true);
                for (place, &row) in rows.iter().enumerate() {
                    for &c in layout.touched[row].iter().filter(|&&c| !is_own[c]) {
                        let value = square[(row, c)];
                        if value != 0.0 {
                            outside.push((place, c, value));
                        }
                    }
                }
                columns.iter().for_each(|&c| is_own[c] = false);
                DMatrix::from_fn(rows.len(), columns.len(), |i, j| {
                    square[(rows[i], columns[j])]
                })
            };
            let mut greatest =
                DVector::from_iterator(own.nrows(), own.row_iter().map(|row| row.amax()));
            for &(place, _, value) in &outside {
                greatest[place] = greatest[place].max(value.abs());
            }
            let lu = own.lu();
            steady = f64::min(steady, steadiness(&lu, greatest));
            factors.push(Factor {
                rows,
                columns,
                lu,
                outside,
            });
        }
        Self { factors, steady }
    }

    /// `x` of `A x = b`.
    pub(crate) fn solve(&self, b: &DVector<f64>) -> Option<DVector<f64>> {
        let mut x = DVector::zeros(b.len());
        for f in self.factors.iter().rev() {
            if f.rows.is_empty() {
                continue;
            }
            let mut right = DVector::from_iterator(f.rows.len(), f.rows.iter().map(|&r| b[r]));
            for &(place, c, value) in &f.outside {
                right[place] -= value * x[c];
            }
            if !f.lu.solve_mut(&mut right) {
                return None;
            }
            for (&c, value) in f.columns.iter().zip(right.iter()) {
                x[c] = *value;
            }
        }
        Some(x)
    }

    /// `y` of `Aᵀ y = g`.
    pub(crate) fn solve_transposed(&self, g: &DVector<f64>) -> Option<DVector<f64>> {
        let mut g = g.clone();
        let mut y = DVector::zeros(g.len());
        for f in &self.factors {
            if f.rows.is_empty() {
                continue;
            }
            let mut own = DVector::from_iterator(f.columns.len(), f.columns.iter().map(|&c| g[c]));
            if !solve_transposed(&f.lu, &mut own) {
                return None;
            }
            for (&r, value) in f.rows.iter().zip(own.iter()) {
                y[r] = *value;
            }
            for &(place, c, value) in &f.outside {
                g[c] -= value * own[place];
            }
        }
        Some(y)
    }
}

/// `Aᵀ y = g` in place by the factors `P A = L U`: `Uᵀ z = g`, `Lᵀ w = z`, `y = Pᵀ w`; sums run down columns, as they lie in memory.
fn solve_transposed(lu: &LU<f64, Dyn, Dyn>, g: &mut DVector<f64>) -> bool {
    let both = lu.lu_internal();
    let n = g.len();
    let column = |i: usize| &both.as_slice()[i * n..(i + 1) * n];
    let x = g.as_mut_slice();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    for i in 0..n {
        let u = column(i);
        if u[i] == 0.0 {
            return false;
        }
        x[i] = (x[i] - dot(&u[..i], &x[..i])) / u[i];
    }
    for i in (0..n).rev() {
        x[i] -= dot(&column(i)[i + 1..], &x[i + 1..]);
    }
    lu.p().inv_permute_rows(g);
    true
}

fn steadiness(lu: &LU<f64, Dyn, Dyn>, mut greatest: DVector<f64>) -> f64 {
    lu.p().permute_rows(&mut greatest);
    let mut least: f64 = 1.0;
    for (i, g) in greatest.iter().enumerate() {
        let pivot = lu.lu_internal()[(i, i)];
        let share = if *g > 0.0 { pivot.abs() / g } else { 0.0 };
        least = if share.is_nan() {
            0.0
        } else {
            least.min(share)
        };
    }
    least
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Constraint;

    /// Cranks in a row, each driving the next by a rod: solved by blocks and whole alike, both ways.
    #[test]
    fn blocks_and_whole_agree() {
        let mut m = Mechanism::new();
        let mut last = None;
        for i in 0..20 {
            let x = 10.0 * f64::from(i);
            let crank = m.body(0, [x, 0.0], 0.4 + 0.01 * f64::from(i));
            let [fixed, centre, pin] = [
                m.anchor(0, 0, [x, 0.0, 0.0]),
                m.anchor(crank, 0, [0.0; 3]),
                m.anchor(crank, 0, [4.0, 0.0, 0.0]),
            ];
            m.constrain(Constraint::Pin {
                a: fixed,
                b: centre,
            });
            match last {
                Some(before) => {
                    m.rod(before, pin);
                }
                None => {
                    m.hold_angle(crank, 0);
                }
            }
            last = Some(pin);
        }
        let kept: Vec<usize> = (0..m.equations()).collect();
        let layout = Layout::new(&m, &kept);
        // Of the first crank each unknown by itself, of the others all three together.
        assert_eq!(layout.blocks.len(), 22);
        let j = m.jacobian_by_pose(&m.params, &m.drawn);
        let factors = Factors::new(&j, &layout);
        assert!(factors.steady > 0.1);
        let b = DVector::from_fn(60, |i, _| ((i * 7) % 11) as f64 - 5.0);
        let x = factors.solve(&b).unwrap();
        assert!((&j * &x - &b).amax() < 1e-9);
        let y = factors.solve_transposed(&b).unwrap();
        assert!((j.transpose() * &y - &b).amax() < 1e-9);
    }
}
