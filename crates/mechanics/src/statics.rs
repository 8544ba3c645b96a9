//! Loads, and the forces in every constraint that balance them.
//!
//! A load acts on a [`Measure`]: a force at a point is a load on that point's place along a direction, a spring is a load on a
//! distance, a moment a load on an angle, work that resists is a load on the gap. Its magnitude may follow from the measure's
//! value. Positive loads push the measure up.
//!
//! Signs of reactions: the constraint's force pushes its residual up. So of a pin, `a − b`, the two rows are the force on the
//! body of `a`; of a rod, plus is push (compression) and minus is pull; of an angle it is the moment on `body`.

use crate::model::{Constraint, Measure, Mechanism};
use crate::tangent::{Singular, Tangent};

/// How a load follows from the value of its measure. Values in mm or rad; loads in N or N·mm.
#[derive(Clone, Debug, PartialEq)]
pub enum Law {
    /// The same at every value.
    Constant(f64),
    /// `rate × (free − value)`: a spring. `only_push` leaves it slack where it would pull, `only_pull` the other way.
    Spring {
        /// N/mm or N·mm/rad.
        rate: f64,
        /// Value at which it is slack.
        free: f64,
        /// It cannot pull (work in a gap, a compression spring that is not held).
        only_push: bool,
        /// It cannot push (an extension spring, a rope).
        only_pull: bool,
    },
    /// Straight between (value, load) pairs in rising order of value; the end loads go on outside.
    Table(Vec<[f64; 2]>),
}

impl Law {
    /// Load and its derivative at a value of the measure.
    pub fn at(&self, value: f64) -> (f64, f64) {
        match self {
            Self::Constant(load) => (*load, 0.0),
            Self::Spring {
                rate,
                free,
                only_push,
                only_pull,
            } => {
                let load = rate * (free - value);
                if (*only_push && load < 0.0) || (*only_pull && load > 0.0) {
                    (0.0, 0.0)
                } else {
                    (load, -rate)
                }
            }
            Self::Table(pairs) => {
                let after = pairs.partition_point(|p| p[0] <= value);
                match (
                    after.checked_sub(1).and_then(|i| pairs.get(i)),
                    pairs.get(after),
                ) {
                    (Some(a), Some(b)) => {
                        let slope = (b[1] - a[1]) / (b[0] - a[0]);
                        (a[1] + slope * (value - a[0]), slope)
                    }
                    (Some(end), None) | (None, Some(end)) => (end[1], 0.0),
                    (None, None) => (0.0, 0.0),
                }
            }
        }
    }
}

/// A load on a measure.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// What it pushes up.
    pub on: Measure,
    /// How hard.
    pub law: Law,
}

/// Forces in all constraints.
#[derive(Clone, Debug, PartialEq)]
pub struct Reactions {
    /// One a residual row: N for rows in mm, N·mm for rows in rad (a [`Constraint::Ratio`] row: N·mm on its greater wheel).
    pub rows: Vec<f64>,
    /// Some constraints repeat others; totals are right, their split is not determined by the geometry alone.
    pub split_undetermined: bool,
}

impl Reactions {
    /// The rows of one constraint; the second is zero unless it is a pin.
    pub fn of(&self, mechanism: &Mechanism, constraint: usize) -> [f64; 2] {
        let first: usize = mechanism
            .constraints
            .iter()
            .take(constraint)
            .map(Constraint::equations)
            .sum();
        let Some(c) = mechanism.constraints.get(constraint) else {
            return [0.0; 2];
        };
        let second = if c.equations() == 2 {
            self.rows.get(first + 1).copied()
        } else {
            None
        };
        [
            self.rows.get(first).copied().unwrap_or(0.0),
            second.unwrap_or(0.0),
        ]
    }
}

impl Tangent<'_> {
    /// Force on every unknown (x, y, angle of each moving body) by these loads at this pose.
    pub fn forces(&self, loads: &[Load]) -> Vec<f64> {
        let (m, params, poses) = self.pose();
        let mut forces = vec![0.0; m.unknowns()];
        for load in loads {
            let (f, _) = load.law.at(m.measure(params, poses, &load.on));
            if f != 0.0 {
                let g = m.gradient(params, poses, &load.on);
                forces
                    .iter_mut()
                    .zip(&g.by_pose)
                    .for_each(|(q, d)| *q += f * d);
            }
        }
        forces
    }

    /// Reactions to loads, and the force on every parameter under both: what each dimension feels, N (N·mm for angles). With
    /// its give this is how far it yields; see [`crate::stretch`].
    ///
    /// # Errors
    /// [`Singular`] when the solve breaks down.
    pub fn under(&self, loads: &[Load]) -> Result<(Reactions, Vec<f64>), Singular> {
        let mut on = self.loads_on_params(loads);
        let mut rows = self.balance_kept(&self.forces(loads))?;
        self.add_on_params(&rows, &mut on);
        if let Some(shared) = self.shared() {
            shared.correct(&mut rows, &mut on);
        }
        let split_undetermined = self.split_undetermined();
        let reactions = Reactions {
            rows,
            split_undetermined,
        };
        Ok((reactions, on))
    }

    /// Force on every parameter under these loads and reactions that balance them, N (N·mm for angles).
    pub fn on_params(&self, loads: &[Load], reactions: &Reactions) -> Vec<f64> {
        let mut on = self.loads_on_params(loads);
        self.add_on_params(&reactions.rows, &mut on);
        on
    }

    fn loads_on_params(&self, loads: &[Load]) -> Vec<f64> {
        let (m, params, poses) = self.pose();
        let mut on = vec![0.0; params.len()];
        for load in loads {
            let (f, _) = load.law.at(m.measure(params, poses, &load.on));
            if f != 0.0 {
                let g = m.gradient(params, poses, &load.on);
                on.iter_mut()
                    .zip(&g.by_param)
                    .for_each(|(q, d)| *q += f * d);
            }
        }
        on
    }

    /// The constraint forces that balance forces on the unknowns: `(∂Φ/∂q)ᵀ R + Q = 0`.
    ///
    /// # Errors
    /// [`Singular`] when the solve breaks down.
    pub fn reactions(&self, forces: &[f64]) -> Result<Reactions, Singular> {
        let rows = self.balance(forces)?;
        Ok(Reactions {
            rows,
            split_undetermined: self.split_undetermined(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn laws() {
        let spring = Law::Spring {
            rate: 2.0,
            free: 10.0,
            only_push: true,
            only_pull: false,
        };
        assert_eq!(spring.at(7.0), (6.0, -2.0));
        assert_eq!(spring.at(11.0), (0.0, 0.0));
        let table = Law::Table(vec![[0.0, 100.0], [1.0, 50.0], [3.0, 0.0]]);
        assert_eq!(table.at(-1.0), (100.0, 0.0));
        assert_eq!(table.at(2.0), (25.0, -25.0));
        assert_eq!(table.at(3.0), (0.0, 0.0));
        assert_eq!(Law::Table(Vec::new()).at(3.0), (0.0, 0.0));
    }
}
