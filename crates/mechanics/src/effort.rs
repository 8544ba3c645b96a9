//! What a drive must give to move the machine one way, the other way, and the range between in which nothing moves.

use crate::friction::{RubbedBalance, Rubbing, Sliding, Stuck};
use crate::model::{Constraint, Mechanism, ParamId};
use crate::statics::Reactions;
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
    let free = tangent.reactions(forces)?;
    let rates = tangent.rates(&unit_direction(mechanism.params.len(), param))?;
    let sliding = Sliding::new(tangent, &rates, rubbing.iter().map(|r| &r.rubs))?;
    let mu: Vec<f64> = rubbing.iter().map(|r| r.mu).collect();
    let row = mechanism
        .constraints
        .iter()
        .take(drive)
        .map(Constraint::equations)
        .sum();
    Ok(Effort::of(&sliding, &free, row, &mu))
}

impl Effort {
    /// The effort in residual row `row` under reactions `free` (from [`Sliding::free`]), with one coefficient of friction a place.
    pub fn of(sliding: &Sliding, free: &Reactions, row: usize, mu: &[f64]) -> Self {
        let one_way = |sense: f64| {
            sliding
                .balance(free, mu, sense)
                .map(|b| (b.reactions.rows[row], b))
        };
        Self {
            free: free.rows[row],
            forward: one_way(1.0),
            back: one_way(-1.0),
        }
    }
}

/// The least common factor on all coefficients of friction at which the drive holds by friction alone; `None` when even
/// ten times the friction does not hold it. Found to 1e-6 by halving. Arguments as in [`Effort::of`].
pub fn factor_to_hold(sliding: &Sliding, free: &Reactions, row: usize, mu: &[f64]) -> Option<f64> {
    let holds = |factor: f64| {
        let scaled: Vec<f64> = mu.iter().map(|m| m * factor).collect();
        Effort::of(sliding, free, row, &scaled).let_go(0.0) == LetGo::Holds
    };
    let (mut low, mut high) = (0.0, 10.0);
    if holds(low) {
        return Some(0.0);
    }
    if !holds(high) {
        return None;
    }
    while high - low > 1e-6 {
        let middle = 0.5 * (low + high);
        if holds(middle) {
            high = middle
        } else {
            low = middle
        }
    }
    Some(high)
}

/// [`factor_to_hold`] of the drive whose constraint index is `drive` and whose parameter is `param`.
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
    let free = tangent.reactions(forces)?;
    let rates = tangent.rates(&unit_direction(mechanism.params.len(), param))?;
    let sliding = Sliding::new(tangent, &rates, rubbing.iter().map(|r| &r.rubs))?;
    let mu: Vec<f64> = rubbing.iter().map(|r| r.mu).collect();
    let row = mechanism
        .constraints
        .iter()
        .take(drive)
        .map(Constraint::equations)
        .sum();
    Ok(factor_to_hold(&sliding, &free, row, &mu))
}
