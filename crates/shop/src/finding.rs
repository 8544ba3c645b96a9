//! What the shop has to say: sentences with a number and what to do instead.

use serde::Serialize;

/// How grave a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Grade {
    /// The part cannot be made so.
    Cannot,
    /// It can be made, another way than usual.
    WayRound,
    /// Something was taken for granted.
    Assumed,
}

/// A finding.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// How grave.
    pub grade: Grade,
    /// The part it is about.
    pub about: String,
    /// What is the matter.
    pub text: String,
    /// What to do.
    pub advice: String,
}

impl Finding {
    /// A finding about a part.
    pub fn new(
        grade: Grade,
        about: &str,
        text: impl Into<String>,
        advice: impl Into<String>,
    ) -> Self {
        Self {
            grade,
            about: about.to_owned(),
            text: text.into(),
            advice: advice.into(),
        }
    }
}
