//! How reactions share where equations repeat one another: so that the members that give take up the least work (least complementary
//! energy, any handbook on statically indeterminate frames). A machine is taken to go together without strain.
//!
//! Each repeating row with the mixture of kept rows that it repeats is a *state of self-stress*: forces that need no load,
//! `(∂Φ/∂q)ᵀ n = 0`. Reactions are determined up to sums of these; of all sums the one is taken whose forces on the parameters `f` make
//! `½ fᵀ C f` least. A state that no member gives way to stays as it falls out of the solve, and its rows are *undetermined*.

use crate::model::Constraint;
use crate::stretch::Give;
use crate::tangent::{Singular, Tangent};
use nalgebra::{DMatrix, SymmetricEigen};

/// States whose give is below this share of the greatest are stiff.
const STIFF: f64 = 1e-10;
/// Shares of a state below this are none.
const NOTHING: f64 = 1e-7;

/// The states of self-stress of a pose, and what gives way to them.
#[derive(Clone, Debug)]
pub(crate) struct Shared {
    /// Force in every row.
    states: Vec<Vec<f64>>,
    /// Force on every parameter that comes of it, and how far every parameter yields.
    forces: Vec<Vec<f64>>,
    yields: Vec<Vec<f64>>,
    /// Inverse of the compliance between the states, nothing for those that are stiff.
    stiffness: DMatrix<f64>,
    undetermined: Vec<bool>,
    /// An undetermined state strains members that give.
    strains: bool,
}

impl Shared {
    /// Adds states of self-stress to forces in all rows, so that the forces on all parameters that go with them strain least.
    pub(crate) fn correct(&self, rows: &mut [f64], on_params: &mut [f64]) {
        let lacking: Vec<f64> = self.yields.iter().map(|y| dot(y, on_params)).collect();
        for (i, (state, forces)) in self.states.iter().zip(&self.forces).enumerate() {
            let by = lacking.iter().enumerate();
            let x: f64 = -by.map(|(j, l)| self.stiffness[(i, j)] * l).sum::<f64>();
            add(rows, x, state);
            add(on_params, x, forces);
        }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn add(sum: &mut [f64], factor: f64, to_add: &[f64]) {
    sum.iter_mut()
        .zip(to_add)
        .for_each(|(s, a)| *s += factor * a);
}

impl Tangent<'_> {
    /// Shares reactions by what gives, where equations repeat one another; does nothing elsewhere. `unsure` names rows of members of
    /// which it is not known how they give: what they share with others stays undetermined.
    ///
    /// # Errors
    /// [`Singular`] when the solve breaks down.
    pub fn share_by(&mut self, gives: &[Give], unsure: &[bool]) -> Result<(), Singular> {
        if !self.repeated() {
            return Ok(());
        }
        let mut states = self.self_stress()?;
        let (m, params, _) = self.pose();
        let size = m.size(params);
        // Moments count by the machine's size, so that states compare.
        let weights = m.constraints.iter().flat_map(|c| {
            let angle = matches!(c, Constraint::Angle { .. } | Constraint::Ratio { .. });
            std::iter::repeat_n(if angle { 1.0 / size } else { 1.0 }, c.equations())
        });
        let weights: Vec<f64> = weights.collect();
        for state in &mut states {
            let largest = state.iter().zip(&weights);
            let largest = largest.map(|(n, w)| (n * w).abs()).fold(0.0, f64::max);
            state.iter_mut().for_each(|n| *n /= largest);
        }
        let count = params.len();
        let forces: Vec<Vec<f64>> = states
            .iter()
            .map(|state| {
                let mut on = vec![0.0; count];
                for (r, row) in state.iter().zip(self.by_param()) {
                    row.iter().for_each(|&(p, d)| on[p] += r * d);
                }
                on
            })
            .collect();
        let yields: Vec<Vec<f64>> = forces
            .iter()
            .map(|on| {
                let mut moved = vec![0.0; count];
                gives.iter().for_each(|g| g.yields(on, &mut moved));
                moved
            })
            .collect();
        let n = states.len();
        let compliance = DMatrix::from_fn(n, n, |i, j| dot(&yields[i], &forces[j]));
        let SymmetricEigen {
            eigenvectors,
            eigenvalues,
        } = SymmetricEigen::new(compliance);
        let largest = eigenvalues.amax();
        let mut stiffness = DMatrix::zeros(n, n);
        let mut undetermined = vec![false; weights.len()];
        let mut strains = false;
        for (k, give) in eigenvalues.iter().enumerate() {
            let vector = eigenvectors.column(k);
            let stiff = *give <= STIFF * largest || largest <= 0.0;
            let mut mixed = vec![0.0; weights.len()];
            for (x, state) in vector.iter().zip(&states) {
                add(&mut mixed, *x, state);
            }
            let largest = mixed.iter().zip(&weights);
            let largest = largest.map(|(n, w)| (n * w).abs()).fold(0.0, f64::max);
            let touched = |row: usize| (mixed[row] * weights[row]).abs() > NOTHING * largest;
            let not_known = (0..mixed.len()).any(|r| touched(r) && unsure.get(r) == Some(&true));
            if !stiff {
                stiffness += vector * vector.transpose() / *give;
            }
            if stiff || not_known {
                for (row, mark) in undetermined.iter_mut().enumerate() {
                    *mark |= touched(row);
                }
                strains |= !stiff;
            }
        }
        self.set_shared(Shared {
            states,
            forces,
            yields,
            stiffness,
            undetermined,
            strains,
        });
        Ok(())
    }

    /// Rows whose forces are not determined: all that repeat others, unless [`Tangent::share_by`] says how they share.
    pub fn undetermined(&self) -> Vec<bool> {
        match self.shared() {
            Some(shared) => shared.undetermined.clone(),
            None => vec![self.repeated(); self.pose().0.equations()],
        }
    }

    /// Some rows are [`Tangent::undetermined`].
    pub fn split_undetermined(&self) -> bool {
        self.shared()
            .map_or(self.repeated(), |s| s.undetermined.contains(&true))
    }

    /// How far members yield hangs on forces that are not determined.
    pub fn strain_undetermined(&self) -> bool {
        self.shared().is_some_and(|s| s.strains)
    }
}
