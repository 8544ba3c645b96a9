//! One pose alone.

use super::stage::{Stage, fill_image};
use super::{Compiled, Plan, RunError, Use, Want};
use crate::model::Pose;

/// Solves one pose after another; keeps its workspace, so that no pose allocates.
pub struct Single {
    compiled: Compiled,
    stage: Stage,
    image: Vec<f64>,
    bodies: usize,
}

impl Plan {
    /// Gets ready for single poses: any parameter may change from one to the next.
    ///
    /// # Errors
    /// [`RunError::TooLarge`].
    pub fn single(&self) -> Result<Single, RunError> {
        let bodies = self.mechanism.bodies.len();
        let wants: Vec<Want> = (1..bodies).flat_map(|b| [Want::Pose(b), Want::Angle(b)]).collect();
        let all: Vec<usize> = (0..self.mechanism.params.len()).collect();
        let compiled = self.compile(&self.mechanism.params, &all, &wants, Use::Apart)?;
        let stage = Stage::new(&compiled.code, 1);
        Ok(Single { image: vec![0.0; compiled.code.cells.len()], compiled, stage, bodies })
    }

    /// Moves `poses`, which should be near, to the pose for `params`. For many poses keep a [`Single`].
    ///
    /// # Errors
    /// See [`Single::pose`].
    pub fn pose(&self, params: &[f64], poses: &mut [Pose]) -> Result<(), RunError> {
        self.single()?.pose(params, poses)
    }
}

impl Single {
    /// Moves `poses`, which should be near, to the pose for `params`.
    ///
    /// # Errors
    /// [`RunError::Start`] when that is no good pose of the plan's branch, or is too far away for Newton; `poses` stay as they were.
    /// [`RunError::Columns`] when numbers are missing.
    pub fn pose(&mut self, params: &[f64], poses: &mut [Pose]) -> Result<(), RunError> {
        let code = &self.compiled.code;
        let inputs = self.stage.inputs();
        if params.len() < inputs.len() || poses.len() < self.bodies {
            return Err(RunError::Columns);
        }
        inputs.copy_from_slice(&params[..inputs.len()]);
        fill_image(code, poses, &mut self.image);
        self.stage.cells(self.image.len()).copy_from_slice(&self.image);
        self.stage.well().fill(1.0);
        self.stage.run_one(code);
        if code.failed || self.stage.well()[0] != 1.0 {
            return Err(RunError::Start);
        }
        let numbers = self.stage.all();
        for (pose, slots) in poses.iter_mut().skip(1).zip(code.outputs.chunks_exact(5)) {
            let at = |i: usize| numbers[usize::from(slots[i])];
            *pose = Pose { x: at(0), y: at(1), angle: at(4) };
        }
        Ok(())
    }
}
