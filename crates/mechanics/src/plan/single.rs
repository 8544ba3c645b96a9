//! One pose alone.

use super::stage::{Stage, fill_image};
use super::{Compiled, Plan, RunError, Use, Want};
use crate::model::{ParamId, Pose};

/// Solves one pose after another; keeps its workspace, so that no pose allocates.
pub struct Single {
    compiled: Compiled,
    stage: Stage,
    image: Vec<f64>,
    bodies: usize,
    moving: Vec<bool>,
    /// Whether a pose has been solved, so that what stands still is known.
    begun: bool,
}

impl Plan {
    /// Gets ready for single poses. Any parameter may change from one to the next; it goes quicker when only those in `moving` do.
    ///
    /// # Errors
    /// [`RunError::TooLarge`].
    pub fn single(&self, moving: &[ParamId]) -> Result<Single, RunError> {
        let (bodies, params) = (self.mechanism.bodies.len(), self.mechanism.params.len());
        let wants: Vec<Want> = (1..bodies)
            .flat_map(|b| [Want::Pose(b), Want::Angle(b)])
            .collect();
        let all: Vec<ParamId> = (0..params).collect();
        let compiled = self.compile(
            &self.mechanism.params,
            &all,
            &wants,
            &Use::Moving(moving.to_vec()),
        )?;
        let stage = Stage::new(&compiled.code, 1);
        let image = vec![0.0; compiled.code.cells.len()];
        let moving = all.iter().map(|p| moving.contains(p)).collect();
        Ok(Single {
            compiled,
            stage,
            image,
            bodies,
            moving,
            begun: false,
        })
    }

    /// Moves `poses`, which should be near, to the pose for `params`. For many poses keep a [`Single`].
    ///
    /// # Errors
    /// See [`Single::pose`].
    pub fn pose(&self, params: &[f64], poses: &mut [Pose]) -> Result<(), RunError> {
        self.single(&[])?.pose(params, poses)
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
        let Some(params) = params
            .get(..inputs.len())
            .filter(|_| poses.len() >= self.bodies)
        else {
            return Err(RunError::Columns);
        };
        let mut still = self.begun;
        for ((input, param), moving) in inputs.iter_mut().zip(params).zip(&self.moving) {
            still &= *moving || input == param;
            *input = *param;
        }
        fill_image(code, poses, &mut self.image);
        self.stage
            .cells(self.image.len())
            .copy_from_slice(&self.image);
        self.stage.well().fill(1.0);
        let (first, rest) = code.ops.split_at(code.still);
        if !still {
            self.stage.run_ops(first, &code.cams);
            self.begun = true;
        }
        self.stage.run_ops(rest, &code.cams);
        if code.failed || self.stage.well()[0] != 1.0 {
            return Err(RunError::Start);
        }
        let numbers = self.stage.all();
        for (pose, slots) in poses.iter_mut().skip(1).zip(code.outputs.chunks_exact(5)) {
            let at = |i: usize| numbers[usize::from(slots[i])];
            *pose = Pose {
                x: at(0),
                y: at(1),
                angle: at(4),
            };
        }
        Ok(())
    }
}
