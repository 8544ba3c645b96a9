//! Friction coefficients of pairs of surfaces. They scatter with finish, oil and running-in: use the end of the range
//! that is worse for the question asked.

use crate::error::not_listed;
use crate::{ElementError, Source};

/// A pair of surfaces.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Couple {
    /// The surfaces and their state.
    pub name: &'static str,
    /// Least coefficient.
    pub least: f64,
    /// Greatest coefficient.
    pub most: f64,
    /// Where it comes from.
    pub source: Source,
}

const HANDBOOK: Source = Source::memory(
    "ranges spanning the friction tables of Marks' Handbook and Machinery's Handbook",
);
const HABIT: Source = Source::practice("range used in the trade");
const MAKER: Source = Source::memory("bearing makers' handbooks");

const fn couple(name: &'static str, least: f64, most: f64, source: Source) -> Couple {
    Couple {
        name,
        least,
        most,
        source,
    }
}

/// All couples.
pub const COUPLES: [Couple; 21] = [
    couple("steel on steel, dry, static", 0.5, 0.8, HANDBOOK),
    couple("steel on steel, dry, sliding", 0.35, 0.6, HANDBOOK),
    couple("steel on steel, greasy", 0.05, 0.2, HANDBOOK),
    couple("hardened steel on hardened steel, oiled", 0.08, 0.15, HABIT),
    couple("steel on bronze, dry", 0.2, 0.4, HANDBOOK),
    couple("steel on bronze, oiled", 0.05, 0.15, HANDBOOK),
    couple("steel on brass, dry", 0.35, 0.55, HANDBOOK),
    couple("steel on cast iron, dry", 0.2, 0.4, HANDBOOK),
    couple("steel on cast iron, oiled", 0.05, 0.15, HANDBOOK),
    couple("steel on aluminium, dry", 0.45, 0.65, HANDBOOK),
    couple("steel on PTFE", 0.04, 0.1, HANDBOOK),
    couple("steel on acetal, dry", 0.15, 0.35, HABIT),
    couple("steel on nylon, dry", 0.2, 0.45, HABIT),
    couple("steel on porous bronze, oil-filled", 0.05, 0.15, HABIT),
    couple("press fit, steel on steel, dry", 0.1, 0.2, HANDBOOK),
    couple("press fit, steel on steel, oiled", 0.06, 0.15, HABIT),
    couple("thread, steel, dry", 0.14, 0.25, HABIT),
    couple("thread, steel, oiled", 0.1, 0.16, HABIT),
    couple("leather on steel, dry", 0.3, 0.6, HANDBOOK),
    couple("brake lining on iron, dry", 0.3, 0.45, HABIT),
    couple("ball bearing, on the bore radius", 0.001, 0.002, MAKER),
];

/// Finds a couple by name.
///
/// # Errors
/// [`ElementError::NotListed`] with the names that begin alike, or all of them.
pub fn find(name: &str) -> Result<&'static Couple, ElementError> {
    let wanted = name.trim();
    if let Some(found) = COUPLES.iter().find(|c| c.name.eq_ignore_ascii_case(wanted)) {
        return Ok(found);
    }
    let start = wanted
        .split(',')
        .next()
        .unwrap_or_default()
        .to_ascii_lowercase();
    let alike: Vec<&str> = COUPLES
        .iter()
        .map(|c| c.name)
        .filter(|n| !start.is_empty() && n.to_ascii_lowercase().starts_with(&start))
        .collect();
    if alike.is_empty() {
        Err(not_listed(
            "friction couple",
            name,
            COUPLES.iter().map(|c| c.name),
        ))
    } else {
        Err(not_listed("friction couple", name, alike))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_are_ranges() {
        for c in &COUPLES {
            assert!(
                c.least > 0.0 && c.least < c.most && c.most < 1.0,
                "{}",
                c.name
            );
            assert_eq!(find(c.name).unwrap(), c);
        }
        let mu = |n: &str| find(n).unwrap();
        assert!(mu("steel on bronze, oiled").most < mu("steel on bronze, dry").least);
        assert!(
            mu("Press fit, steel on steel, oiled").most < mu("press fit, steel on steel, dry").most
        );
        let says = find("steel on bronze, wet").unwrap_err().to_string();
        assert!(says.contains("steel on bronze, oiled") && !says.contains("PTFE"));
        assert!(find("").is_err() && find("cheese on toast").is_err());
    }
}
