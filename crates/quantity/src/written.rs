//! A quantity together with the way in which it was written.

use crate::Unit;

/// How a number was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// `12.50`: a decimal with so many digits behind the point.
    Decimal {
        /// Digits behind the point.
        digits: u8,
    },
    /// `3 1/8`: a fraction, with or without a whole part.
    Fraction {
        /// The denominator as written.
        denominator: u32,
    },
    /// `1' 2 1/2"`.
    FeetInches,
    /// `#7` or `F`: a number or letter drill.
    Drill,
    /// `12°30'15"`.
    DegMinSec,
    /// `half turn`.
    Words,
}

/// A quantity as somebody wrote it.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// In the inside unit of the kind: mm, rad, N, N·mm, MPa, N/mm, N·mm/rad, kg, mm/s, rad/s.
    pub value: f64,
    /// The unit that was written, or the one a bare number took.
    pub unit: Unit,
    /// How the number was written.
    pub form: Form,
    /// The text as it was written, without surrounding blanks.
    pub text: String,
    /// Where the number ends in `text` and the blank and unit begin.
    pub(crate) number_end: usize,
}

impl Written {
    /// The text exactly as it was written.
    pub fn show(&self) -> &str {
        &self.text
    }

    /// Another value (inside unit) in the same unit and manner.
    pub fn show_as(&self, value: f64) -> String {
        crate::show(value, self.unit, 3)
    }
}
