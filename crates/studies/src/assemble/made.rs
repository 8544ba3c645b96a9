//! The machine as made: some dimensions are not what the drawing says.

use super::Model;
use crate::refusal::Refusal;
use mechanics::model::Pose;
use mechanics::{Ended, State, follow};
use nalgebra::DMatrix;

/// What readings leave open about the dimensions of a machine: by how much they are off, and what goes together.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Left {
    /// Indices into [`Model::dimensions`].
    pub(crate) dimensions: Vec<usize>,
    /// One row a dimension: times independent normal numbers of deviation one, its error, mm or rad.
    pub(crate) root: DMatrix<f64>,
}

impl Left {
    /// From the covariance of these dimensions, mm or rad.
    pub(crate) fn new(dimensions: Vec<usize>, covariance: DMatrix<f64>) -> Self {
        let eigen = covariance.symmetric_eigen();
        let mut root = eigen.eigenvectors;
        for (mut column, value) in root.column_iter_mut().zip(eigen.eigenvalues.iter()) {
            column *= value.max(0.0).sqrt();
        }
        Self { dimensions, root }
    }

    /// The standard deviation of a dimension by itself.
    pub(crate) fn deviation(&self, row: usize) -> f64 {
        self.root.row(row).norm()
    }
}

impl Model {
    /// The same machine with its settings set so from the start: what was "as drawn" is then there.
    ///
    /// # Errors
    /// Settings with which the parts do not go together.
    pub fn set_to(&self, settings: &[f64]) -> Result<Self, Refusal> {
        let mut stand = self.drawn();
        stand.settings = settings.to_vec();
        let here = crate::run::Bench::new(self).set(&stand)?;
        let mut set = self.clone();
        set.mechanism.params.clone_from(&here.params);
        set.mechanism.drawn.clone_from(&here.poses);
        for group in &mut set.groups {
            group.mechanism.params.clone_from(&here.params);
            group.mechanism.drawn = group.bodies.iter().map(|&b| here.poses[b]).collect();
        }
        for (s, value) in settings.iter().enumerate() {
            if let Some(setting) = set.machine.settings.get_mut(s) {
                setting.drawn = *value;
            }
            if let Some(super::Moves::Row { holes, used, .. }) = set.settings.get_mut(s) {
                *used =
                    ((value - 1.0).max(0.0).round() as usize).min(holes.len().saturating_sub(1));
            }
        }
        Ok(set)
    }

    /// The same machine with dimensions that came out greater or less than drawn: pairs of an index into
    /// [`Model::dimensions`] and the error, mm or rad. Drives and settings keep their meaning.
    ///
    /// # Errors
    /// Errors so large that the parts do not go together; an index out of range.
    pub fn made(&self, errors: &[(usize, f64)]) -> Result<Self, Refusal> {
        let mut made = self.clone();
        let drawn = self.mechanism.params.clone();
        for &(dimension, error) in errors {
            let Some(d) = self.dimensions.get(dimension) else {
                return Err(Refusal::new(
                    format!("there is no dimension number {dimension}"),
                    "",
                ));
            };
            made.mechanism.params[d.param] += d.sign * error;
        }
        for group in &mut made.groups {
            let state = State {
                params: drawn.clone(),
                poses: group.mechanism.drawn.clone(),
            };
            let followed = follow(&group.mechanism, &state, &made.mechanism.params);
            if followed.ended != Ended::Reached {
                let names = errors
                    .iter()
                    .filter_map(|e| self.dimensions.get(e.0))
                    .map(|d| d.name.clone());
                let names: Vec<String> = names.collect();
                return Err(Refusal::new(
                    format!(
                        "the parts do not go together with other values of {}",
                        crate::run::list(&names)
                    ),
                    "",
                ));
            }
            group.mechanism.params.clone_from(&made.mechanism.params);
            let poses: Vec<Pose> = followed.state.poses;
            for (&b, pose) in group.bodies.iter().zip(&poses) {
                made.mechanism.drawn[b] = *pose;
            }
            group.mechanism.drawn = poses;
        }
        Ok(made)
    }
}
