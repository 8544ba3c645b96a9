//! What is wrong with a written quantity.

use std::fmt;

/// Why a text is no quantity of the kind wanted: one sentence, what to write instead, and the place.
///
/// `start..end` is a byte range inside the text that was read, on character boundaries, never empty unless
/// the text is empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuantityError {
    /// What is wrong, in one plain sentence without a full stop.
    pub message: String,
    /// What to write instead.
    pub help: String,
    /// First byte of the offending part.
    pub start: usize,
    /// One past the last byte of the offending part.
    pub end: usize,
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.message, self.help)
    }
}

impl std::error::Error for QuantityError {}
