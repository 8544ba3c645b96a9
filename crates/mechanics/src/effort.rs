//! What a drive must give to move the machine one way, the other way, and the range between in which nothing moves.

use crate::friction::{RubbedBalance, Rubbing, Stuck, balance};
use crate::model::{Mechanism, ParamId};
use crate::tangent::{Singular, Tangent, unit_direction};

/// Force or moment of a drive, N or N·mm, in the sense of its growing parameter.
#[derive(Clone, Debug, PartialEq)]
pub struct Effort {
    /// Without friction.
    pub free: f64,
    /// To move on (parameter growing); the whole balance is kept for the reactions.
    pub forward: Result<(f64, RubbedBalance), Stuck>,
    /// While moving back (parameter falling).
    pub back: Result<(f64, RubbedBalance), Stuck>,
}

/// What a drive does when it is let go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LetGo {
    /// Stays.
    Holds,
    /// Runs on by itself (parameter growing).
    RunsForward,
    /// Runs back by itself.
    RunsBack,
}

impl Effort {
    /// Force or moment to move on; infinite when it jams.
    pub fn on(&self) -> f64 {
        self.forward.as_ref().map_or(f64::INFINITY, |f| f.0)
    }

    /// Force or moment while moving back; minus infinite when it jams.
    pub fn off(&self) -> f64 {
        self.back.as_ref().map_or(f64::NEG_INFINITY, |b| b.0)
    }

    /// What happens when nothing holds the drive but friction and a moment (detent, clamp) of up to `held`.
    pub fn let_go(&self, held: f64) -> LetGo {
        if self.on() < -held {
            LetGo::RunsForward
        } else if self.off() > held {
            LetGo::RunsBack
        } else {
            LetGo::Holds
        }
    }

    /// What must hold the drive beyond friction so that it stays: 0 when friction alone does.
    pub fn to_hold(&self) -> f64 {
        (-self.on()).max(self.off()).max(0.0)
    }
}

/// Effort of the drive whose constraint index is `drive` and whose parameter is `param`, under `forces` on the unknowns.
///
/// # Errors
/// [`Singular`] at a dead centre.
pub fn effort(
    mechanism: &Mechanism,
    tangent: &Tangent,
    forces: &[f64],
    drive: usize,
    param: ParamId,
    rubbing: &[Rubbing],
) -> Result<Effort, Singular> {
    let free = tangent.reactions(forces)?.of(mechanism, drive)[0];
    let direction = unit_direction(mechanism.params.len(), param);
    let rates = tangent.rates(&direction)?;
    let one_way = |rates| {
        balance(tangent, forces, rates, rubbing).map(|b| (b.reactions.of(mechanism, drive)[0], b))
    };
    let forward = one_way(&rates);
    let back = one_way(&rates.reversed());
    Ok(Effort { free, forward, back })
}

/// The least common factor on all coefficients of friction at which the drive holds by friction alone; `None` when even
/// ten times the friction does not hold it. Found to 1e-6 by halving.
///
/// # Errors
/// [`Singular`] at a dead centre.
pub fn friction_to_hold(
    mechanism: &Mechanism,
    tangent: &Tangent,
    forces: &[f64],
    drive: usize,
    param: ParamId,
    rubbing: &[Rubbing],
) -> Result<Option<f64>, Singular> {
    let holds = |factor: f64| -> Result<bool, Singular> {
        let scaled: Vec<Rubbing> = rubbing.iter().map(|r| Rubbing { mu: r.mu * factor, ..*r }).collect();
        Ok(effort(mechanism, tangent, forces, drive, param, &scaled)?.let_go(0.0) == LetGo::Holds)
    };
    let (mut low, mut high) = (0.0, 10.0);
    if holds(low)? {
        return Ok(Some(0.0));
    }
    if !holds(high)? {
        return Ok(None);
    }
    while high - low > 1e-6 {
        let middle = 0.5 * (low + high);
        if holds(middle)? { high = middle } else { low = middle }
    }
    Ok(Some(high))
}
