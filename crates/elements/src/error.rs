//! Why an element cannot be worked out.

use std::fmt;

/// What is wrong with an input, with what was given and what is needed.
#[derive(Clone, Debug, PartialEq)]
pub enum ElementError {
    /// Infinite or not a number.
    NotFinite {
        /// The input.
        what: &'static str,
    },
    /// Outside the range in which the formula or table holds; both ends belong to it.
    OutOfRange {
        /// The input.
        what: &'static str,
        /// Its unit, empty for a plain number.
        unit: &'static str,
        /// What was given.
        got: f64,
        /// The least that is allowed.
        least: f64,
        /// The most that is allowed.
        most: f64,
    },
    /// Must be more than something else that was given.
    TooSmall {
        /// The input.
        what: &'static str,
        /// Its unit.
        unit: &'static str,
        /// What was given.
        got: f64,
        /// What it must exceed.
        than: &'static str,
        /// How much that is.
        needed: f64,
    },
    /// Must be less than something else that was given.
    TooLarge {
        /// The input.
        what: &'static str,
        /// Its unit.
        unit: &'static str,
        /// What was given.
        got: f64,
        /// What it must stay under.
        than: &'static str,
        /// How much that is.
        needed: f64,
    },
    /// A name or a size that is not in the table.
    NotListed {
        /// What was looked up.
        what: &'static str,
        /// What was given.
        got: String,
        /// What the table has, or the nearest of it.
        known: Vec<String>,
    },
}

impl fmt::Display for ElementError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let with = |value: f64, unit: &str| {
            let space = if unit.is_empty() { "" } else { " " };
            format!("{}{space}{unit}", short(value))
        };
        match self {
            Self::NotFinite { what } => write!(f, "the {what} is not a number"),
            Self::OutOfRange {
                what,
                unit,
                got,
                least,
                most,
            } => {
                write!(f, "the {what} is {}; it must be ", with(*got, unit))?;
                if *least <= SMALLEST && *least > 0.0 && *most >= LARGEST {
                    write!(f, "above 0")
                } else if *least == 0.0 && *most >= LARGEST {
                    write!(f, "0 or more")
                } else if *most >= 1e6 {
                    write!(f, "{} or more", with(*least, unit))
                } else {
                    write!(f, "from {} to {}", short(*least), with(*most, unit))
                }
            }
            Self::TooSmall {
                what,
                unit,
                got,
                than,
                needed,
            } => write!(
                f,
                "the {what} is {}; it must be more than the {than}, {}",
                with(*got, unit),
                with(*needed, unit)
            ),
            Self::TooLarge {
                what,
                unit,
                got,
                than,
                needed,
            } => write!(
                f,
                "the {what} is {}; it must be less than the {than}, {}",
                with(*got, unit),
                with(*needed, unit)
            ),
            Self::NotListed { what, got, known } => {
                write!(f, "there is no {what} \"{got}\" in the table")?;
                if known.is_empty() {
                    return Ok(());
                }
                write!(f, "; it has {}", known.join(", "))
            }
        }
    }
}

impl std::error::Error for ElementError {}

/// Six figures are more than any of these tables has.
fn short(value: f64) -> String {
    if value == 0.0 || (1e-4..1e7).contains(&value.abs()) {
        let text = format!("{value:.6}");
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        format!("{value:e}")
    }
}

/// Nothing in a shop is smaller or larger than these, in any of the units; within them no formula overflows.
const SMALLEST: f64 = 1e-9;
const LARGEST: f64 = 1e12;

pub(crate) fn finite(what: &'static str, value: f64) -> Result<f64, ElementError> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(ElementError::NotFinite { what })
    }
}

pub(crate) fn within(
    what: &'static str,
    unit: &'static str,
    value: f64,
    least: f64,
    most: f64,
) -> Result<f64, ElementError> {
    if (least..=most).contains(&finite(what, value)?) {
        Ok(value)
    } else {
        Err(ElementError::OutOfRange {
            what,
            unit,
            got: value,
            least,
            most,
        })
    }
}

pub(crate) fn positive(
    what: &'static str,
    unit: &'static str,
    value: f64,
) -> Result<f64, ElementError> {
    within(what, unit, value, SMALLEST, LARGEST)
}

pub(crate) fn not_negative(
    what: &'static str,
    unit: &'static str,
    value: f64,
) -> Result<f64, ElementError> {
    within(what, unit, value, 0.0, LARGEST)
}

pub(crate) fn sensible(
    what: &'static str,
    unit: &'static str,
    value: f64,
) -> Result<f64, ElementError> {
    within(what, unit, value, -LARGEST, LARGEST)
}

pub(crate) fn more_than(
    what: &'static str,
    unit: &'static str,
    value: f64,
    than: &'static str,
    needed: f64,
) -> Result<f64, ElementError> {
    if finite(what, value)? > finite(than, needed)? {
        Ok(value)
    } else {
        Err(ElementError::TooSmall {
            what,
            unit,
            got: value,
            than,
            needed,
        })
    }
}

pub(crate) fn less_than(
    what: &'static str,
    unit: &'static str,
    value: f64,
    than: &'static str,
    needed: f64,
) -> Result<f64, ElementError> {
    if finite(what, value)? < finite(than, needed)? {
        Ok(value)
    } else {
        Err(ElementError::TooLarge {
            what,
            unit,
            got: value,
            than,
            needed,
        })
    }
}

/// A Poisson's ratio of a solid that is not a sponge.
pub(crate) fn poisson(value: f64) -> Result<f64, ElementError> {
    within("Poisson's ratio", "", value, 0.0, 0.5)
}

/// A friction coefficient, frictionless included.
pub(crate) fn friction(value: f64) -> Result<f64, ElementError> {
    within("friction coefficient", "", value, 0.0, 2.0)
}

pub(crate) fn not_listed(
    what: &'static str,
    got: impl Into<String>,
    known: impl IntoIterator<Item = impl Into<String>>,
) -> ElementError {
    ElementError::NotListed {
        what,
        got: got.into(),
        known: known.into_iter().map(Into::into).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_what_is_needed() {
        let says = |e: Result<f64, ElementError>| e.unwrap_err().to_string();
        assert_eq!(
            says(within("size", "mm", 130.0, 0.1, 120.0)),
            "the size is 130 mm; it must be from 0.1 to 120 mm"
        );
        assert_eq!(
            says(more_than("hub outside diameter", "mm", 20.0, "bore", 25.0)),
            "the hub outside diameter is 20 mm; it must be more than the bore, 25 mm"
        );
        assert_eq!(
            says(less_than("shaft bore", "mm", 30.0, "shaft", 25.0)),
            "the shaft bore is 30 mm; it must be less than the shaft, 25 mm"
        );
        assert_eq!(says(finite("load", f64::NAN)), "the load is not a number");
        assert_eq!(
            not_listed("bearing", "6299", ["6200", "6201"]).to_string(),
            "there is no bearing \"6299\" in the table; it has 6200, 6201"
        );
        assert_eq!(short(1e-9), "1e-9");
        assert_eq!(short(-0.5), "-0.5");
    }

    #[test]
    fn ends_belong_to_the_range() {
        assert!(within("x", "", 1.0, 1.0, 2.0).is_ok());
        assert!(within("x", "", 2.0, 1.0, 2.0).is_ok());
        assert!(more_than("x", "", 1.0, "y", 1.0).is_err());
        assert!(less_than("x", "", 1.0, "y", 1.0).is_err());
    }
}
