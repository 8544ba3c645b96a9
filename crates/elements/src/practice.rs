//! Rules of thumb of the trade. None has a source; each is a range to begin with.

use crate::error::not_listed;
use crate::{ElementError, Source};

/// A rule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// What it is about.
    pub name: &'static str,
    /// From.
    pub least: f64,
    /// To.
    pub most: f64,
    /// Of what: `x d` is times the diameter.
    pub unit: &'static str,
}

/// Every rule here.
pub const SOURCE: Source = Source::practice("common practice, no source");

const fn rule(name: &'static str, least: f64, most: f64, unit: &'static str) -> Rule {
    Rule {
        name,
        least,
        most,
        unit,
    }
}

/// All rules.
pub const RULES: [Rule; 14] = [
    rule("thread engagement, steel in steel", 1.0, 1.5, "x d"),
    rule("thread engagement, steel in aluminium", 1.5, 2.5, "x d"),
    rule("tapping speed", 0.25, 0.5, "x drilling speed"),
    rule("centre distance to edge, bolt hole", 1.5, 2.0, "x d"),
    rule("press-fit interference, medium", 0.0008, 0.0015, "x d"),
    rule("pitch of screws round a cover", 3.0, 8.0, "x d"),
    rule("parting blade stick-out", 0.5, 0.6, "x work diameter"),
    rule("unsupported lathe stick-out", 2.0, 4.0, "x d"),
    rule(
        "spring wire rod mandrel",
        0.75,
        0.95,
        "x coil inside diameter",
    ),
    rule("spring clash allowance", 0.1, 0.15, "x working deflection"),
    rule("key length", 1.0, 1.5, "x shaft"),
    rule("handle grip diameter", 25.0, 40.0, "mm"),
    rule(
        "comfortable repeated crank or lever force, one hand",
        20.0,
        60.0,
        "N",
    ),
    rule("grinding allowance, on diameter", 0.1, 0.3, "mm"),
];

/// Finds a rule by name.
///
/// # Errors
/// [`ElementError::NotListed`] with the names.
pub fn find(name: &str) -> Result<&'static Rule, ElementError> {
    RULES
        .iter()
        .find(|r| r.name.eq_ignore_ascii_case(name.trim()))
        .ok_or_else(|| not_listed("rule", name, RULES.iter().map(|r| r.name)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fits_iso::fit;

    #[test]
    fn ranges_are_ranges() {
        for r in &RULES {
            assert!(r.least > 0.0 && r.least < r.most, "{}", r.name);
            assert_eq!(find(r.name).unwrap(), r);
        }
        assert!(find("always").is_err());
    }

    #[test]
    fn medium_interference_is_about_h7_s6() {
        let rule = find("press-fit interference, medium").unwrap();
        for d in [20.0, 25.0, 30.0, 40.0] {
            let likely = -fit("H7/s6", d).unwrap().likely_clearance() / d;
            assert!(
                likely > 0.6 * rule.least && likely < 1.2 * rule.most,
                "{d}: {likely}"
            );
        }
    }
}
