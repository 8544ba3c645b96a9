//! The solvers that the cases are put to.

use mechanics::{Ended, Mechanism, State, follow};

/// Something that brings a machine from a drawn pose to other values of its parameters on the same branch.
pub trait Solver {
    /// Its name in messages.
    fn name(&self) -> &'static str;

    /// The closed state at the parameters `to`, followed from `from`.
    ///
    /// # Errors
    /// Why it did not get there.
    fn go(&self, mechanism: &Mechanism, from: &State, to: &[f64]) -> Result<State, String>;
}

/// The dense reference, following with controlled steps.
#[derive(Clone, Copy, Debug)]
pub struct Dense;

impl Solver for Dense {
    fn name(&self) -> &'static str {
        "dense"
    }

    fn go(&self, mechanism: &Mechanism, from: &State, to: &[f64]) -> Result<State, String> {
        let followed = follow(mechanism, from, to);
        match followed.ended {
            Ended::Reached => Ok(followed.state),
            ended => Err(format!(
                "stopped at {} of the way: {ended:?}",
                followed.share
            )),
        }
    }
}
