//! Where a figure comes from, and how a value stands against its limit.

/// How sure a figure is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Confidence {
    /// Seen in print or in a copy of it.
    LookedUp,
    /// Worked out from a closed formula.
    Derived,
    /// The source is known, but was not at hand.
    FromMemory,
    /// A habit of the trade without a source.
    CommonPractice,
}

impl Confidence {
    /// The words used beside a figure.
    pub const fn words(self) -> &'static str {
        match self {
            Self::LookedUp => "looked up",
            Self::Derived => "derived",
            Self::FromMemory => "from memory",
            Self::CommonPractice => "common practice",
        }
    }
}

/// A standard, a book or a habit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Source {
    /// The standard or book, with table or equation where it has one.
    pub text: &'static str,
    /// How sure it is.
    pub confidence: Confidence,
}

impl Source {
    /// A closed formula that is derived where it is used.
    pub const fn of(text: &'static str) -> Self {
        Self::derived(text)
    }

    pub(crate) const fn seen(text: &'static str) -> Self {
        Self {
            text,
            confidence: Confidence::LookedUp,
        }
    }

    pub(crate) const fn derived(text: &'static str) -> Self {
        Self {
            text,
            confidence: Confidence::Derived,
        }
    }

    pub(crate) const fn memory(text: &'static str) -> Self {
        Self {
            text,
            confidence: Confidence::FromMemory,
        }
    }

    pub(crate) const fn practice(text: &'static str) -> Self {
        Self {
            text,
            confidence: Confidence::CommonPractice,
        }
    }
}

/// A value held against the most that it may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Check {
    /// What is checked: "shear of the pin".
    pub what: &'static str,
    /// What acts, not negative.
    pub acts: f64,
    /// What it would bear.
    pub bears: f64,
    /// The unit of both.
    pub unit: &'static str,
    /// The formula.
    pub source: Source,
}

impl Check {
    /// How many times the load could grow before the limit is reached; infinite when nothing acts.
    pub fn factor(&self) -> f64 {
        if self.acts == 0.0 {
            f64::INFINITY
        } else {
            self.bears / self.acts
        }
    }

    /// Whether it bears `wanted` times what acts.
    pub fn passes(&self, wanted: f64) -> bool {
        self.factor() >= wanted
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factor_and_pass() {
        let check = Check {
            what: "shear of the pin",
            acts: 50.0,
            bears: 200.0,
            unit: "MPa",
            source: Source::derived("F/A"),
        };
        assert_eq!(check.factor(), 4.0);
        assert!(check.passes(4.0) && !check.passes(4.1));
        assert!(Check { acts: 0.0, ..check }.passes(1e9));
        assert_eq!(check.source.confidence.words(), "derived");
    }
}
