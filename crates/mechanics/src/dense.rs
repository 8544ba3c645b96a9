//! Closing a mechanism by plain dense Newton on the poses of all bodies: the reference that every plan is compared with.

use crate::factor::{Factors, Layout};
use crate::model::{Mechanism, Pose};
use crate::rows::{Rows, farthest_apart, independent, scale_columns, worst};
use nalgebra::{DMatrix, DVector};

/// How a closing ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Closing {
    /// Newton steps taken.
    pub steps: usize,
    /// Largest residual left, mm (angles weighed with the mechanism's size).
    pub residual: f64,
}

/// Why a mechanism could not be closed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NotClosed {
    /// Freedoms are left that no drive holds.
    Loose {
        /// How many.
        freedoms: usize,
    },
    /// Newton did not settle from this start.
    NotSettled {
        /// Steps taken.
        steps: usize,
        /// Largest residual left, mm.
        residual: f64,
    },
    /// The independent equations closed, but a repeated one does not agree.
    Disagrees {
        /// Index of the constraint.
        constraint: usize,
        /// Its residual, mm.
        residual: f64,
    },
}

/// Closing error accepted, as a share of the mechanism's size.
pub const CLOSED: f64 = 1e-11;
/// Error at which a repeated constraint counts as disagreeing, as a share of the size.
const DISAGREES: f64 = 1e-9;
const MAX_STEPS: usize = 40;

/// Moves `poses` to the nearest closed position for `params`.
///
/// # Errors
/// See [`NotClosed`]; `poses` is then left as it was.
pub fn close(
    mechanism: &Mechanism,
    params: &[f64],
    poses: &mut [Pose],
) -> Result<Closing, NotClosed> {
    Solver::new(mechanism, params, poses)?.close(params, poses)
}

/// The independent equations of a mechanism, chosen once, and its scale.
#[derive(Clone, Debug)]
pub(crate) struct Solver<'a> {
    pub(crate) mechanism: &'a Mechanism,
    pub(crate) rows: Rows,
    layout: Layout,
    pub(crate) size: f64,
    /// Weight of each residual row: 1 for mm, the size for rad.
    weights: Vec<f64>,
}

impl<'a> Solver<'a> {
    pub(crate) fn new(
        mechanism: &'a Mechanism,
        params: &[f64],
        poses: &[Pose],
    ) -> Result<Self, NotClosed> {
        let size = mechanism.size(params);
        let mut j = mechanism.jacobian_by_pose(params, poses);
        scale_columns(&mut j, size);
        let mut rows = independent(&j);
        let n = mechanism.unknowns();
        if rows.keep.len() < n && rows.keep.len() + rows.dependent.len() >= n {
            // Enough equations, yet dependent here: a dead centre or a drawing with a special pose. Look once nearby, where
            // the same machine stands generically, before calling it loose.
            let nearby: Vec<Pose> = poses
                .iter()
                .enumerate()
                .map(|(i, p)| {
                    let d = 1e-3 * ((i * 7 + 3) % 11) as f64;
                    Pose {
                        x: p.x + d * size * 0.1,
                        y: p.y - d * size * 0.07,
                        angle: p.angle + d,
                    }
                })
                .collect();
            let mut j = mechanism.jacobian_by_pose(params, &nearby);
            scale_columns(&mut j, size);
            let again = farthest_apart(&j);
            if again.keep.len() == n {
                rows = again;
            }
        }
        if rows.keep.len() < n {
            return Err(NotClosed::Loose {
                freedoms: n - rows.keep.len(),
            });
        }
        let weights = mechanism
            .constraints
            .iter()
            .flat_map(|c| {
                let angle = matches!(
                    c,
                    crate::model::Constraint::Angle { .. }
                        | crate::model::Constraint::Ratio { .. }
                        | crate::model::Constraint::Course { .. }
                );
                std::iter::repeat_n(if angle { size } else { 1.0 }, c.equations())
            })
            .collect();
        let layout = Layout::new(mechanism, &rows.keep);
        Ok(Self {
            mechanism,
            rows,
            layout,
            size,
            weights,
        })
    }

    /// Some equations repeat others, and could stand in for them.
    pub(crate) fn has_spare(&self) -> bool {
        !self.rows.dependent.is_empty()
    }

    /// Takes these equations from here on; returns those before.
    pub(crate) fn choose(&mut self, rows: Rows) -> Rows {
        self.layout = Layout::new(self.mechanism, &rows.keep);
        std::mem::replace(&mut self.rows, rows)
    }

    /// The equations that stand farthest apart in this pose; none when they are too few here.
    pub(crate) fn apart(&self, params: &[f64], poses: &[Pose]) -> Option<Rows> {
        let mut j = self.mechanism.jacobian_by_pose(params, poses);
        scale_columns(&mut j, self.size);
        let rows = farthest_apart(&j);
        (rows.keep.len() == self.mechanism.unknowns()).then_some(rows)
    }

    /// Square, column-scaled Jacobian of the independent equations.
    pub(crate) fn matrix(&self, params: &[f64], poses: &[Pose]) -> DMatrix<f64> {
        let mut j = self.mechanism.jacobian_by_pose(params, poses);
        if self.rows.keep.len() < j.nrows() {
            j = j.select_rows(&self.rows.keep);
        }
        scale_columns(&mut j, self.size);
        for (mut row, &r) in j.row_iter_mut().zip(&self.rows.keep) {
            row.scale_mut(self.weights[r]);
        }
        j
    }

    /// Weighs and picks the independent rows.
    pub(crate) fn kept(&self, all: &[f64]) -> DVector<f64> {
        DVector::from_iterator(
            self.rows.keep.len(),
            self.rows.keep.iter().map(|&r| all[r] * self.weights[r]),
        )
    }

    /// Applies a scaled step.
    pub(crate) fn shift(&self, poses: &mut [Pose], step: &DVector<f64>, factor: f64) {
        for (b, p) in poses.iter_mut().enumerate().skip(1) {
            let i = 3 * (b - 1);
            p.x += factor * step[i];
            p.y += factor * step[i + 1];
            p.angle += factor * step[i + 2] / self.size;
        }
    }

    /// Newton from `poses`.
    pub(crate) fn close(&self, params: &[f64], poses: &mut [Pose]) -> Result<Closing, NotClosed> {
        let mut at = poses.to_vec();
        let mut best = f64::INFINITY;
        for steps in 0..=MAX_STEPS {
            let all = self.mechanism.residuals(params, &at);
            let r = self.kept(&all);
            let residual = worst(&r);
            if !residual.is_finite() {
                break;
            }
            // Two more steps after the tolerance is met cost little and bring the last digits.
            let done = residual <= 1e-15 * self.size
                || (residual <= CLOSED * self.size && residual >= 0.25 * best);
            best = best.min(residual);
            if done || steps == MAX_STEPS {
                if residual > CLOSED * self.size {
                    return Err(NotClosed::NotSettled { steps, residual });
                }
                self.agree(&all)?;
                poses.copy_from_slice(&at);
                return Ok(Closing { steps, residual });
            }
            let factors = Factors::new(&self.matrix(params, &at), &self.layout);
            let Some(step) = factors.solve(&r) else {
                if residual <= CLOSED * self.size {
                    self.agree(&all)?;
                    poses.copy_from_slice(&at);
                    return Ok(Closing { steps, residual });
                }
                break;
            };
            let longest = worst(&step);
            let limit = 0.5 * self.size;
            self.shift(
                &mut at,
                &step,
                if longest > limit {
                    -limit / longest
                } else {
                    -1.0
                },
            );
        }
        Err(NotClosed::NotSettled {
            steps: MAX_STEPS,
            residual: best,
        })
    }

    pub(crate) fn agree(&self, all: &[f64]) -> Result<(), NotClosed> {
        for d in &self.rows.dependent {
            let residual = (all[d.row] * self.weights[d.row]).abs();
            if residual > DISAGREES * self.size {
                let constraint = self.mechanism.constraint_of_row(d.row);
                return Err(NotClosed::Disagrees {
                    constraint,
                    residual,
                });
            }
        }
        Ok(())
    }
}
