//! From the spelling of a unit to the unit, and to the nearest one when there is none.

use crate::{Kind, Unit};

impl Unit {
    /// The unit of this kind that is spelt so, in any of the spellings that are read.
    ///
    /// ```
    /// use quantity::{Kind, Unit};
    /// assert_eq!(Unit::spelt(Kind::Length, "in"), Some(Unit::Inch));
    /// assert_eq!(Unit::spelt(Kind::Length, "N"), None);
    /// ```
    pub fn spelt(kind: Kind, text: &str) -> Option<Unit> {
        find(kind, text.trim())
    }
}

/// Longer texts are no unit; they are not worth comparing.
const LONGEST: usize = 32;

/// The unit of this kind that is spelt so.
pub(crate) fn find(kind: Kind, text: &str) -> Option<Unit> {
    let exact = |text: &str| {
        kind.units()
            .find(|unit| unit.spellings().any(|s| s == text))
    };
    exact(text).or_else(|| exact(&plain(text)?))
}

/// The unit of any kind that is spelt so.
pub(crate) fn find_any(text: &str) -> Option<Unit> {
    Kind::ALL.iter().find_map(|kind| find(*kind, text))
}

/// The one way of writing that the table uses: `N m`, `N.m`, `N*m` and `N-m` become `N·m`, `mm²` becomes `mm2`.
fn plain(text: &str) -> Option<String> {
    if text.len() > LONGEST {
        return None;
    }
    let text = text.strip_suffix('.').unwrap_or(text);
    let mut plain = String::with_capacity(text.len());
    let mut blank = false;
    for c in text.chars() {
        let c = match c {
            '⋅' | '*' | '.' | '-' | '•' => '·',
            'μ' => 'µ',
            '²' => '2',
            'º' => '°',
            '″' | '”' | '“' => '"',
            '′' | '’' | '‘' => '\'',
            '^' => continue,
            c if c.is_whitespace() => {
                blank = true;
                continue;
            }
            c => c,
        };
        let joins = matches!(c, '·' | '/') || plain.ends_with(['·', '/']);
        if blank && !joins && !plain.is_empty() {
            plain.push('·');
        }
        blank = false;
        plain.push(c);
    }
    if plain == "''" {
        "\"".clone_into(&mut plain);
    }
    Some(plain)
}

/// The spelling of this kind that a slip of the hand may have missed. None for a unit that is merely not read here, such as kgf/mm: the
/// nearest one is another size, and the number would not fit it.
pub(crate) fn nearest(kind: Kind, text: &str) -> Option<&'static str> {
    let plain = plain(text)?;
    if plain.split(['·', '/']).all(is_unit) {
        return None;
    }
    let wanted = plain.to_lowercase();
    kind.units()
        .flat_map(Unit::spellings)
        .filter(|spelling| !spelling.is_empty())
        .map(|spelling| (distance(&wanted, &spelling.to_lowercase()), spelling))
        .filter(|(far, spelling)| *far <= spelling.chars().count() / 2)
        .min_by_key(|(far, _)| *far)
        .map(|(_, spelling)| spelling)
}

/// A unit of any kind, also with a prefix of the SI that the table does not have.
fn is_unit(text: &str) -> bool {
    let mut letters = text.chars();
    let prefixed = letters
        .next()
        .is_some_and(|first| "GMkhdcmµn".contains(first));
    find_any(text).is_some() || prefixed && find_any(letters.as_str()).is_some()
}

/// How many letters must be changed, added, left out or swapped with a neighbour (optimal string alignment).
pub(crate) fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut older: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    let mut before = None;
    for (i, ca) in a.chars().enumerate() {
        let mut row = vec![i + 1];
        let mut left = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let at = |row: &[usize], j: usize| row.get(j).copied().unwrap_or(usize::MAX / 2);
            let mut cost = at(&above, j) + usize::from(ca != *cb);
            cost = cost.min(at(&above, j + 1) + 1).min(left + 1);
            if j > 0 && before == Some(*cb) && b.get(j - 1) == Some(&ca) {
                cost = cost.min(at(&older, j - 1) + 1);
            }
            row.push(cost);
            left = cost;
        }
        older = std::mem::replace(&mut above, row);
        before = Some(ca);
    }
    above.last().copied().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances() {
        assert_eq!(distance("", "mm"), 2);
        assert_eq!(distance("mm", "mm"), 0);
        assert_eq!(distance("mn", "mm"), 1);
        assert_eq!(distance("psi", "spi"), 1);
        assert_eq!(distance("thous", "thou"), 1);
    }

    #[test]
    fn a_unit_of_another_size_is_no_slip() {
        for (kind, text) in [
            (Kind::Stiffness, "kgf/mm"),
            (Kind::Moment, "kgf cm"),
            (Kind::Force, "cN"),
            (Kind::Length, "hm"),
        ] {
            assert_eq!(nearest(kind, text), None, "{text}");
        }
        for (kind, text, meant) in [
            (Kind::Length, "mn", "mm"),
            (Kind::Force, "Kn", "kN"),
            (Kind::Stiffness, "N/mn", "N/mm"),
        ] {
            assert_eq!(nearest(kind, text), Some(meant), "{text}");
        }
    }

    #[test]
    fn every_spelling_names_one_unit() {
        let mut seen = std::collections::BTreeSet::new();
        for unit in Unit::ALL {
            for spelling in unit.spellings() {
                assert!(seen.insert(spelling), "{spelling} twice");
                assert_eq!(find(unit.kind(), spelling), Some(*unit));
                assert_eq!(find_any(spelling), Some(*unit));
            }
        }
    }

    #[test]
    fn spellings_of_products_and_quotients() {
        for text in ["N m", "N.m", "N*m", "N⋅m", "N-m", "N · m", "Nm"] {
            assert_eq!(find(Kind::Moment, text), Some(Unit::NewtonMetre), "{text}");
        }
        for text in ["N/mm²", "N / mm2", "N/mm^2", "MPa"] {
            assert_eq!(find(Kind::Pressure, text), Some(Unit::Megapascal), "{text}");
        }
        assert_eq!(find(Kind::Length, "μm"), Some(Unit::Micrometre));
        assert_eq!(find(Kind::Length, "in."), Some(Unit::Inch));
        assert_eq!(find(Kind::Length, "″"), Some(Unit::Inch));
        assert_eq!(find(Kind::Moment, "ft-lbf"), Some(Unit::PoundForceFoot));
    }
}
