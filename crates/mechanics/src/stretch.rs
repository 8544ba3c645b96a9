//! How far a measure gives under load, and what play in the joints lets it wander: both from exact sensitivities.
//!
//! Every elastic or loose dimension is a parameter. Under loads `F` on measures `l` the parameter `p` feels the force
//! `f_p = Σ F_l · dl/dp`; with compliance `c_p` it gives by `c_p f_p`, and a measure `g` moves by `dg/dp · c_p f_p`. Summed over
//! all parameters this is the unit-load method (Maxwell–Mohr), and the compliance between two measures is the same both ways.

use crate::model::ParamId;

/// Elastic give of some parameters together: the matrix from forces on them to their movements, row by row, mm/N (rad/N·mm).
/// Nearly always one parameter; the two coordinates of a hole at the end of a slanted arm give together.
#[derive(Clone, Debug, PartialEq)]
pub struct Give {
    /// The parameters.
    pub params: Vec<ParamId>,
    /// Symmetric, as many rows and columns as parameters.
    pub compliance: Vec<Vec<f64>>,
}

impl Give {
    /// A single parameter with its compliance, mm/N or rad/(N·mm).
    pub fn single(param: ParamId, compliance: f64) -> Self {
        Self {
            params: vec![param],
            compliance: vec![vec![compliance]],
        }
    }

    /// Adds how far its parameters yield under these forces on all parameters.
    pub fn yields(&self, forces: &[f64], moved: &mut [f64]) {
        for (p, row) in self.params.iter().zip(&self.compliance) {
            let by = self.params.iter().zip(row);
            let by = by.map(|(q, c)| c * forces.get(*q).copied().unwrap_or(0.0));
            if let Some(m) = moved.get_mut(*p) {
                *m += by.sum::<f64>();
            }
        }
    }

    /// What this give adds to the compliance between two measures, whose derivatives by every parameter are given.
    pub fn between(&self, one: &[f64], other: &[f64]) -> f64 {
        let at = |d: &[f64], p: &ParamId| d.get(*p).copied().unwrap_or(0.0);
        self.params
            .iter()
            .zip(&self.compliance)
            .map(|(p, row)| {
                at(one, p)
                    * self
                        .params
                        .iter()
                        .zip(row)
                        .map(|(q, c)| c * at(other, q))
                        .sum::<f64>()
            })
            .sum()
    }
}

/// Compliance between two measures, summed over all gives: movement of one for a unit load on the other.
pub fn compliance(gives: &[Give], one: &[f64], other: &[f64]) -> f64 {
    gives.iter().map(|g| g.between(one, other)).sum()
}

/// Play of a joint: the two coordinates of a hole may be off by up to `radius` (half the diametral clearance) in any direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Play {
    /// Own coordinate u of the hole.
    pub u: ParamId,
    /// Own coordinate v of the hole.
    pub v: ParamId,
    /// Half the diametral clearance, mm.
    pub radius: f64,
}

impl Play {
    /// How far a measure wanders, plus or minus, when the pin may lie anywhere in its hole.
    pub fn either_way(&self, measure: &[f64]) -> f64 {
        let at = |p: ParamId| measure.get(p).copied().unwrap_or(0.0);
        self.radius * at(self.u).hypot(at(self.v))
    }

    /// How far the measure moves when a load takes the play up; `force` is the force on every parameter under that load.
    /// Zero when no force passes through the joint.
    pub fn taken_up(&self, measure: &[f64], force: &[f64]) -> f64 {
        let at = |d: &[f64], p: ParamId| d.get(p).copied().unwrap_or(0.0);
        let (fu, fv) = (at(force, self.u), at(force, self.v));
        let size = fu.hypot(fv);
        if size > 0.0 {
            self.radius * (at(measure, self.u) * fu + at(measure, self.v) * fv) / size
        } else {
            0.0
        }
    }
}
