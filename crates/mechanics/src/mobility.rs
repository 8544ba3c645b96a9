//! How many freedoms a mechanism has, which bodies they move, and which constraints repeat what others already fix.

use crate::dense::CLOSED;
use crate::model::{Mechanism, Pose};
use crate::rows::{Dependent, eliminated, independent, scale_columns, worst};
use nalgebra::DVector;

/// Mobility from the rank of ∂Φ/∂q in a generic position.
#[derive(Clone, Debug, PartialEq)]
pub struct Mobility {
    /// Freedoms: unknowns less rank.
    pub freedoms: usize,
    /// Gruebler–Kutzbach count: unknowns less equations. Differs from `freedoms` on machines with repeated constraints.
    pub count: isize,
    /// For each freedom a motion of all bodies (x, y, angle; largest entry 1, angles × size).
    pub free: Vec<Vec<[f64; 3]>>,
    /// Constraints that repeat what earlier ones fix.
    pub repeated: Vec<Repeated>,
    /// The pose asked about has a lower rank than a pose nearby: it is a dead centre or another special pose.
    pub special_pose: bool,
}

/// A constraint that adds nothing.
#[derive(Clone, Debug, PartialEq)]
pub struct Repeated {
    /// Its index.
    pub constraint: usize,
    /// The earlier constraints that already fix it.
    pub by: Vec<usize>,
}

/// Mobility at a closed pose. Also looks at poses a little along the machine's own motions, so that a dead centre or a
/// pose with everything in line does not pass for a freedom.
pub fn mobility(mechanism: &Mechanism, params: &[f64], poses: &[Pose]) -> Mobility {
    let size = mechanism.size(params);
    let n = mechanism.unknowns();
    let here = analyse(mechanism, params, poses, size);
    let mut best = (here, poses.to_vec());
    let first_rank = best.0.keep;
    if n > best.0.keep {
        for sign in [1.0, -1.0] {
            for (i, motion) in null_motions(mechanism, params, poses, size)
                .into_iter()
                .enumerate()
                .take(4)
            {
                let factor = sign * 0.02 * (1.0 + 0.3 * i as f64) * size;
                if let Some(moved) = move_along(mechanism, params, poses, &motion, factor, size) {
                    let there = analyse(mechanism, params, &moved, size);
                    if there.keep > best.0.keep {
                        best = (there, moved);
                    }
                }
            }
        }
    }
    let (found, at) = best;
    let mut repeated: Vec<Repeated> = Vec::new();
    for d in found.dependent {
        let constraint = mechanism.constraint_of_row(d.row);
        let mut by: Vec<usize> =
            d.on.iter()
                .map(|(r, _)| mechanism.constraint_of_row(*r))
                .collect();
        if let Some(same) = repeated.iter_mut().find(|r| r.constraint == constraint) {
            by.append(&mut same.by);
            by.sort_unstable();
            by.dedup();
            by.retain(|b| *b != constraint);
            same.by = by;
        } else {
            by.sort_unstable();
            by.dedup();
            by.retain(|b| *b != constraint);
            repeated.push(Repeated { constraint, by });
        }
    }
    Mobility {
        freedoms: n - found.keep,
        count: n.cast_signed() - mechanism.equations().cast_signed(),
        free: if n > found.keep {
            null_motions(mechanism, params, &at, size)
        } else {
            Vec::new()
        },
        repeated,
        special_pose: found.keep > first_rank,
    }
}

struct Found {
    keep: usize,
    dependent: Vec<Dependent>,
}

fn analyse(mechanism: &Mechanism, params: &[f64], poses: &[Pose], size: f64) -> Found {
    let mut j = mechanism.jacobian_by_pose(params, poses);
    scale_columns(&mut j, size);
    let rows = independent(&j);
    Found {
        keep: rows.keep.len(),
        dependent: rows.dependent,
    }
}

/// A basis of the motions that no constraint resists, one for each unknown without a pivot, so that each moves few bodies.
fn null_motions(
    mechanism: &Mechanism,
    params: &[f64],
    poses: &[Pose],
    size: f64,
) -> Vec<Vec<[f64; 3]>> {
    let n = mechanism.unknowns();
    let mut j = mechanism.jacobian_by_pose(params, poses);
    scale_columns(&mut j, size);
    let rows = eliminated(&j);
    let mut is_pivot = vec![false; n];
    for row in &rows {
        is_pivot[row.column] = true;
    }
    let mut motions = Vec::new();
    for free in (0..n).filter(|&c| !is_pivot[c]) {
        let mut v = vec![0.0; n];
        v[free] = 1.0;
        // A row of the echelon form knows no pivot of the rows before it.
        for row in rows.iter().rev() {
            let (mut others, mut pivot) = (0.0, 1.0);
            for &(c, x) in &row.entries {
                if c == row.column {
                    pivot = x;
                } else {
                    others += x * v[c];
                }
            }
            v[row.column] = -others / pivot;
        }
        let top = worst(&v);
        let mut motion = vec![[0.0; 3]];
        motion.extend(
            v.chunks_exact(3)
                .map(|c| [c[0], c[1], c[2]].map(|x| clean(x / top))),
        );
        motions.push(motion);
    }
    motions
}

fn clean(x: f64) -> f64 {
    if x.abs() < 1e-9 { 0.0 } else { x }
}

/// Moves along a null motion and closes again by least-change steps; `None` when it will not close.
fn move_along(
    mechanism: &Mechanism,
    params: &[f64],
    poses: &[Pose],
    motion: &[[f64; 3]],
    factor: f64,
    size: f64,
) -> Option<Vec<Pose>> {
    let mut at: Vec<Pose> = poses
        .iter()
        .zip(motion)
        .map(|(p, m)| Pose {
            x: p.x + factor * m[0],
            y: p.y + factor * m[1],
            angle: p.angle + factor * m[2] / size,
        })
        .collect();
    least_change(mechanism, params, &mut at, size, 30).then_some(at)
}

/// Gauss–Newton with least-norm steps (pseudo-inverse): closes loose and repeated systems alike. True when closed.
pub(crate) fn least_change(
    mechanism: &Mechanism,
    params: &[f64],
    poses: &mut [Pose],
    size: f64,
    most_steps: usize,
) -> bool {
    for _ in 0..most_steps {
        let r = DVector::from_vec(mechanism.residuals(params, poses));
        if worst(&r) <= CLOSED * size {
            return true;
        }
        let mut j = mechanism.jacobian_by_pose(params, poses);
        scale_columns(&mut j, size);
        // The decomposition does not end on what is no number, nor for certain on numbers out of all measure.
        if !j.iter().chain(&r).all(|x| x.abs() < 1e100) {
            return false;
        }
        let Some(svd) = j.try_svd(true, true, f64::EPSILON, 1000) else {
            return false;
        };
        let Ok(step) = svd.solve(&r, 1e-9) else {
            return false;
        };
        let longest = worst(&step);
        if !longest.is_finite() {
            return false;
        }
        let f = if longest > 0.3 * size {
            0.3 * size / longest
        } else {
            1.0
        };
        for (b, p) in poses.iter_mut().enumerate().skip(1) {
            let i = 3 * (b - 1);
            p.x -= f * step[i];
            p.y -= f * step[i + 1];
            p.angle -= f * step[i + 2] / size;
        }
    }
    mechanism
        .residuals(params, poses)
        .iter()
        .all(|r| r.abs() <= CLOSED * size)
}
