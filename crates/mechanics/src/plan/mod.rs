//! Plan once, run many.
//!
//! A plan orders the constraints of a mechanism into the smallest blocks that can be solved one after another: closed forms where bodies
//! can be taken one or two at a time, Newton with a fixed elimination order for what remains. It then runs over sweeps and over batches
//! of perturbed machines, many poses side by side, on all cores, without allocating for a pose. The same bits come out on every
//! processor and for any number of threads.
//!
//! **What a good pose is.** It closes to 1e-10 of the largest length, every root lies on the side on which the drawn pose lies,
//! and every root and determinant is so far from zero, here and against the pose before, that the branch is sure. Any other pose is
//! *missed*: it is listed, its numbers are NaN, and it is left to [`follow`](crate::follow()). Between a missed pose and the next good
//! one the machine may have passed a place where two assemblies meet; compare the two before trusting the later one.

mod algebra;
mod batch;
mod block;
mod check;
mod closures;
mod draft;
mod dual;
mod hang;
mod instruct;
mod lower;
mod moves;
mod newton;
mod order;
mod single;
mod slots;
mod solve;
mod stage;
mod sweep;
mod tape;
mod track;
mod walk;
mod wants;

pub use batch::{Batch, CHUNK, Stand};
pub use single::Single;
pub use sweep::Sweep;
pub use track::Track;
pub use wants::Want;

use std::fmt;

use self::draft::{Draft, Pen};
use self::lower::{Code, Results, lower};
use self::moves::Move;
use self::tape::{Cell, Tape, Value};
use crate::model::{BodyId, Mechanism, ParamId, Pose};

/// Why a mechanism cannot be planned.
#[derive(Clone, Debug, PartialEq)]
pub enum PlanError {
    /// These bodies stay free: constraints and given parameters do not hold them.
    Free {
        /// Their indices.
        bodies: Vec<BodyId>,
    },
    /// Two assemblies meet in the drawn pose, so it does not say which is meant.
    DeadCentre {
        /// The constraint at which they meet.
        constraint: usize,
    },
    /// The drawn pose is a special one for these bodies (all in line, or the like); a pose a little further on can be planned.
    Special {
        /// Their indices; empty when it cannot be narrowed down.
        bodies: Vec<BodyId>,
    },
    /// The drawn poses do not satisfy the constraints.
    NotClosed {
        /// The body that is furthest off.
        body: BodyId,
        /// How far, as a share of the mechanism's size.
        off: f64,
    },
    /// A constraint that repeats what others fix does not agree with them.
    Disagrees,
    /// Parameters or poses are missing, or not finite.
    BadNumbers,
    /// The mechanism is too large for the slots of a plan.
    TooLarge,
}

impl fmt::Display for PlanError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Free { bodies } => write!(f, "bodies {bodies:?} stay free"),
            Self::DeadCentre { constraint } => write!(
                f,
                "two assemblies meet in the drawn pose, at constraint {constraint}"
            ),
            Self::Special { bodies } => {
                write!(f, "the drawn pose is a special one for bodies {bodies:?}")
            }
            Self::NotClosed { body, off } => write!(
                f,
                "the drawn poses do not close: body {body} is off by {off:.1e} of the size"
            ),
            Self::Disagrees => write!(f, "a repeated constraint does not agree with the others"),
            Self::BadNumbers => write!(f, "parameters or poses are missing or not finite"),
            Self::TooLarge => write!(f, "the mechanism is too large for a plan"),
        }
    }
}

impl std::error::Error for PlanError {}

/// A run could not begin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RunError {
    /// Columns are too few, too many or of different lengths; or parameters, bodies or anchors are asked for that the mechanism has not.
    Columns,
    /// The start is no good pose of the plan's branch.
    Start,
    /// The mechanism with these wants is too large for the slots of a plan.
    TooLarge,
}

impl fmt::Display for RunError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Columns => "columns do not fit",
            Self::Start => "the start is no good pose of this branch",
            Self::TooLarge => "the mechanism is too large for a plan",
        })
    }
}

impl std::error::Error for RunError {}

/// How a plan may solve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Forms {
    /// Closed forms wherever they apply.
    #[default]
    Closed,
    /// Newton for everything that is not simply given. For comparison.
    NewtonOnly,
}

/// The order in which a mechanism is solved.
#[derive(Clone, Debug)]
pub struct Plan {
    mechanism: Mechanism,
    moves: Vec<Move>,
    sides: Vec<f64>,
    size: f64,
}

/// What a compiled run is for.
#[derive(Clone, Debug, PartialEq)]
enum Use {
    /// Poses that follow one another.
    Sweep,
    /// Poses on their own.
    Apart,
    /// Poses on their own, from one to the next of which these parameters move and others mostly stand still.
    Moving(Vec<ParamId>),
}

/// A compiled run.
#[derive(Clone, Debug)]
struct Compiled {
    code: Code,
    /// Whether a pose depends on the one before it.
    follows: bool,
    /// Cells of the two latest steps of the unknowns that are foreseen.
    foresights: Vec<[Cell; 2]>,
    /// Where the cells of each plan end.
    cells: Vec<usize>,
}

impl Plan {
    /// Orders the constraints of `mechanism`; `poses` must close with `params` and say which assembly is meant.
    ///
    /// # Errors
    /// See [`PlanError`].
    pub fn new(mechanism: &Mechanism, params: &[f64], poses: &[Pose]) -> Result<Self, PlanError> {
        Self::with(mechanism, params, poses, Forms::Closed)
    }

    /// The same with a say in how it may solve.
    ///
    /// # Errors
    /// See [`PlanError`].
    pub fn with(
        mechanism: &Mechanism,
        params: &[f64],
        poses: &[Pose],
        forms: Forms,
    ) -> Result<Self, PlanError> {
        let finite = params.iter().all(|p| p.is_finite())
            && poses
                .iter()
                .all(|p| p.x.is_finite() && p.y.is_finite() && p.angle.is_finite());
        if !finite
            || params.len() < mechanism.params.len()
            || poses.len() < mechanism.bodies.len()
            || poses.is_empty()
        {
            return Err(PlanError::BadNumbers);
        }
        let size = mechanism.size(params);
        let mut draft = Draft::new(
            mechanism,
            Tape::new(params, &[]),
            Pen::First(poses),
            Vec::new(),
            size,
        );
        let moves = order::order(&mut draft, params, poses, forms == Forms::Closed)?;
        let mut worst = (0, 0.0);
        for (body, pose) in poses.iter().enumerate().take(mechanism.bodies.len()) {
            let (p, z) = (
                moves::fixed(draft.seated(body)),
                moves::fixed(draft.z(body)),
            );
            let (s, c) = pose.angle.sin_cos();
            let off = [
                (p[0] - pose.x) / size,
                (p[1] - pose.y) / size,
                z[0] - c,
                z[1] - s,
            ];
            let off = off.iter().fold(0.0, |m: f64, x| m.max(x.abs()));
            if off > worst.1 || off.is_nan() {
                worst = (body, off);
            }
        }
        if worst.1.is_nan() || worst.1 > DRAWN {
            return Err(PlanError::NotClosed {
                body: worst.0,
                off: worst.1,
            });
        }
        if draft.tape.failed {
            return Err(PlanError::Disagrees);
        }
        let sides = draft.sides;
        Ok(Self {
            mechanism: mechanism.clone(),
            moves,
            sides,
            size,
        })
    }

    /// The mechanism.
    pub fn mechanism(&self) -> &Mechanism {
        &self.mechanism
    }

    /// How many bodies each Newton block solves together; empty when closed forms do all.
    pub fn blocks(&self) -> Vec<usize> {
        let blocks = self.moves.iter().filter_map(|m| {
            if let Move::Newton(b) = m {
                Some(b.bodies.len())
            } else {
                None
            }
        });
        blocks.collect()
    }

    /// Constraints that repeat what others fix; every pose checks them.
    pub fn repeated(&self) -> Vec<usize> {
        self.moves
            .iter()
            .filter_map(|m| {
                if let Move::Check(c) | Move::Aim(c, _) = m {
                    Some(*c)
                } else {
                    None
                }
            })
            .collect()
    }

    /// Writes the plan again for these parameters and lowers it.
    fn compile(
        &self,
        base: &[f64],
        varied: &[ParamId],
        wants: &[Want],
        purpose: &Use,
    ) -> Result<Compiled, RunError> {
        let part = Part {
            plan: self,
            base,
            wants,
        };
        part.fits(varied)?;
        compile(&[part], varied, purpose, Tape::new(base, varied))
    }

    /// Writes the plan on a tape, on which other plans may be; gives the tape back, and the numbers of what is wanted.
    fn write(&self, tape: Tape, wants: &[Want], remembers: bool) -> (Written, Vec<Value>) {
        let mut draft = Draft::new(
            &self.mechanism,
            tape,
            Pen::Again,
            self.sides.clone(),
            self.size,
        );
        draft.remembers = remembers;
        for mv in &self.moves {
            // Only the first writing refuses.
            let _ = draft.make(mv);
        }
        let outputs = wants.iter().flat_map(|w| draft.want(w)).collect();
        let written = Written {
            tape: draft.tape,
            follows: draft.follows,
            foresights: draft.foresights,
        };
        (written, outputs)
    }
}

/// A tape after a plan was written on it.
struct Written {
    tape: Tape,
    follows: bool,
    foresights: Vec<[Cell; 2]>,
}

/// One of several plans that run together.
struct Part<'a> {
    plan: &'a Plan,
    base: &'a [f64],
    wants: &'a [Want],
}

impl Part<'_> {
    fn fits(&self, varied: &[ParamId]) -> Result<(), RunError> {
        let mechanism = &self.plan.mechanism;
        let params = mechanism.params.len();
        let fits = self.wants.iter().all(|w| w.fits(mechanism));
        if self.base.len() < params || varied.iter().any(|v| *v >= params) || !fits {
            return Err(RunError::Columns);
        }
        Ok(())
    }
}

/// Writes plans one after another on a tape and lowers it. What they have in common is worked out once.
fn compile(
    parts: &[Part<'_>],
    varied: &[ParamId],
    purpose: &Use,
    mut tape: Tape,
) -> Result<Compiled, RunError> {
    let mut outputs = Vec::new();
    let (mut follows, mut foresights) = (false, Vec::new());
    let mut cells = Vec::new();
    for part in parts {
        tape.rebase(part.base);
        let (written, own) = part.plan.write(tape, part.wants, *purpose == Use::Sweep);
        tape = written.tape;
        follows |= written.follows;
        foresights.extend(written.foresights);
        cells.push(tape.cells.len());
        outputs.extend(own);
    }
    let results = if matches!(purpose, Use::Moving(_)) {
        Results::Kept
    } else {
        Results::Given
    };
    let still =
        |column: usize| matches!(purpose, Use::Moving(moving) if !moving.contains(&varied[column]));
    let code =
        lower(&tape, varied.len(), &outputs, results, still).map_err(|_| RunError::TooLarge)?;
    Ok(Compiled {
        code,
        follows,
        foresights,
        cells,
    })
}

/// How exactly the drawn poses must close, as a share of the size.
const DRAWN: f64 = 1e-6;
