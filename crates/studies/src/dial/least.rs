//! Nonlinear least squares with exact derivatives.
//!
//! Levenberg's and Marquardt's damped steps with the scaling of Moré (*The Levenberg-Marquardt algorithm: implementation and theory*,
//! 1978), each solved by an orthogonal factorisation of the damped rows, never by the normal equations.

use nalgebra::{DMatrix, DVector};

/// When to stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// A step that moves the residuals by less than this share of their length is the last.
    pub relative: f64,
    /// The same in the unit of the residuals.
    pub absolute: f64,
    /// Most evaluations.
    pub most: usize,
}

/// How it ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// No step makes it better.
    Settled,
    /// Not within the evaluations allowed.
    TooMany,
}

/// What was found.
#[derive(Clone, Debug)]
pub struct Solved {
    /// The unknowns.
    pub x: DVector<f64>,
    /// Residuals there.
    pub residuals: DVector<f64>,
    /// Their derivatives, one row a residual.
    pub jacobian: DMatrix<f64>,
    /// Evaluations used.
    pub evaluations: usize,
    /// How it ended.
    pub ended: Ended,
}

/// The unknowns for which the sum of the squared residuals is least near `start`. `at` gives residuals and their derivatives, or nothing
/// where they cannot be worked out; a step there is shortened. None when there is nothing at `start`.
pub fn solve(
    start: DVector<f64>,
    limits: Limits,
    mut at: impl FnMut(&DVector<f64>) -> Option<(DVector<f64>, DMatrix<f64>)>,
) -> Option<Solved> {
    let (mut r, mut j) = at(&start)?;
    let mut x = start;
    let n = x.len();
    let mut evaluations = 1;
    let mut scale = DVector::<f64>::zeros(n);
    let mut damping = 0.0_f64;
    let mut ended = Ended::TooMany;
    while evaluations < limits.most {
        for k in 0..n {
            let norm = j.column(k).norm();
            scale[k] = scale[k].max(if norm > 0.0 {
                norm
            } else {
                f64::MIN_POSITIVE.sqrt()
            });
        }
        let Some(step) = damped_step(&j, &r, &scale, damping) else {
            damping = grown(damping);
            evaluations += 1;
            continue;
        };
        let moved = &j * &step;
        let (size, now) = (moved.norm(), r.norm_squared());
        let foretold = -2.0 * moved.dot(&r) - size * size;
        let trial = &x + &step;
        evaluations += 1;
        let undamped = damping == 0.0;
        let small = size <= limits.relative * now.sqrt() + limits.absolute;
        match at(&trial) {
            Some((r2, j2)) if r2.iter().chain(j2.iter()).all(|v| v.is_finite()) => {
                let gained = now - r2.norm_squared();
                // Near the end the gain drowns in the rounding of the sum; then the step itself, which is exact, decides.
                let drowned = foretold <= 1e-11 * now || small;
                if gained > 0.0 || (drowned && gained > -1e-10 * now) {
                    let share = if foretold > 0.0 {
                        gained / foretold
                    } else {
                        0.0
                    };
                    (x, r, j) = (trial, r2, j2);
                    damping = if share > 0.75 {
                        if damping < 1e-9 { 0.0 } else { damping / 5.0 }
                    } else if share < 0.25 {
                        grown(damping)
                    } else {
                        damping
                    };
                    if small && undamped {
                        ended = Ended::Settled;
                        break;
                    }
                    // A damped step is small too soon; the last ones are whole.
                    if drowned {
                        damping = 0.0;
                    }
                    continue;
                }
                if (small && undamped) || foretold <= 1e-16 * now {
                    ended = Ended::Settled;
                    break;
                }
            }
            _ => {}
        }
        damping = grown(damping);
        if damping > 1e15 {
            ended = Ended::Settled;
            break;
        }
    }
    Some(Solved {
        x,
        residuals: r,
        jacobian: j,
        evaluations,
        ended,
    })
}

fn grown(damping: f64) -> f64 {
    (damping * 4.0).max(1e-4)
}

/// The step that solves the rows and, weighed by the damping, stays small.
fn damped_step(
    j: &DMatrix<f64>,
    r: &DVector<f64>,
    scale: &DVector<f64>,
    damping: f64,
) -> Option<DVector<f64>> {
    let (m, n) = j.shape();
    let rows = if damping > 0.0 || m < n { m + n } else { m };
    let mut a = DMatrix::<f64>::zeros(rows, n);
    let mut b = DVector::<f64>::zeros(rows);
    // Columns of length about one keep the factorisation sharp, whatever units the unknowns have.
    for k in 0..n {
        for i in 0..m {
            a[(i, k)] = j[(i, k)] / scale[k];
        }
        if rows > m {
            a[(m + k, k)] = damping.sqrt();
        }
    }
    for i in 0..m {
        b[i] = -r[i];
    }
    let qr = a.qr();
    qr.q_tr_mul(&mut b);
    let upper = qr.r();
    let most = upper.diagonal().amax();
    if upper.diagonal().iter().any(|d| d.abs() <= 1e-14 * most) {
        return None;
    }
    let step = upper.solve_upper_triangular(&b.rows(0, n).into_owned())?;
    let step = step.component_div(scale);
    step.iter().all(|s| s.is_finite()).then_some(step)
}

/// The inverse of `JᵀJ`, by the triangle of an orthogonal factorisation. None when the columns do not stand apart.
pub fn covariance(jacobian: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let n = jacobian.ncols();
    if jacobian.nrows() < n {
        return None;
    }
    let scale: Vec<f64> = (0..n).map(|k| jacobian.column(k).norm()).collect();
    if scale.iter().any(|s| s.is_nan() || *s <= 0.0) {
        return None;
    }
    let mut a = jacobian.clone();
    for (k, s) in scale.iter().enumerate() {
        a.column_mut(k).scale_mut(1.0 / s);
    }
    let r = a.qr().r();
    if r.diagonal().iter().any(|d| d.abs() <= 1e-13) {
        return None;
    }
    let inverse = r.solve_upper_triangular(&DMatrix::identity(n, n))?;
    let mut c = &inverse * inverse.transpose();
    for i in 0..n {
        for k in 0..n {
            c[(i, k)] /= scale[i] * scale[k];
        }
    }
    Some(c)
}
