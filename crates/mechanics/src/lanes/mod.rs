//! Many poses side by side.
//!
//! A plan is a list of short instructions ([`Op`]) over *slots*. A slot holds one number of [`LANES`] poses (or of one pose, when a
//! single pose is asked for), so that each instruction works on all of them and the cost of looking it up is shared.
//! The instruction set of the processor is chosen at run time. No instruction fuses a product with a sum, so the bits of every result are
//! the same on every processor, for one lane or many.

pub(crate) mod op;
pub(crate) mod run;
pub(crate) mod sine;

pub(crate) use op::{NONE, Op, Slot};

/// Poses that one instruction works on.
pub const LANES: usize = 32;
