//! Why a question has no answer.

use std::fmt;

/// Why a question has no answer: one sentence without a full stop, and what to do instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// What is wrong.
    pub message: String,
    /// What to write or do instead; may be empty.
    pub help: String,
    /// The question itself is wrong, not what the machine can do.
    pub wrong_question: bool,
}

impl Refusal {
    pub(crate) fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            help: help.into(),
            wrong_question: false,
        }
    }

    /// No machine could answer this question.
    pub(crate) fn of_question(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self {
            wrong_question: true,
            ..Self::new(message, help)
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        if !self.help.is_empty() {
            write!(f, "; {}", self.help)?;
        }
        Ok(())
    }
}

impl std::error::Error for Refusal {}
