//! Bearings: ball bearings of the small series by name, plain bushings, rod ends.
//!
//! Boundary dimensions are those of ISO 15 (inch: the R series); they are the same for every maker. Load ratings are
//! typical: the lower of the levels that makers print. They differ by up to 8 %, so a bearing that passes by less
//! needs its own maker's figure.

pub mod life;
pub mod plain;
pub mod play;
pub mod rod_ends;
mod table;

use crate::error::not_listed;
use crate::{ElementError, Source};

/// How the balls bear.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Deep groove: radial load and thrust both ways.
    DeepGroove,
    /// Angular contact (70, 72): thrust one way, used in pairs. Ratings depend on the contact angle.
    Angular,
}

/// Load ratings, N.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rating {
    /// Basic dynamic radial rating C (ISO 281): life of a million turns.
    pub dynamic: f64,
    /// Basic static radial rating C0 (ISO 76).
    pub fixed: f64,
    /// Factor f0 of ISO 281 for thrust.
    pub f0: f64,
}

/// A ball bearing, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bearing {
    /// Basic name without suffixes: `608`, `6001`, `R8`.
    pub name: &'static str,
    /// How the balls bear.
    pub kind: Kind,
    /// Bore d.
    pub bore: f64,
    /// Outside diameter D.
    pub outside: f64,
    /// Width B, open.
    pub width: f64,
    /// Width with shields or seals; small bearings grow wider with them.
    pub closed_width: f64,
    /// Typical ratings, where known.
    pub rating: Option<Rating>,
    /// Where dimensions and ratings come from.
    pub source: Source,
}

/// A bearing with what its suffix says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Found {
    /// The bearing.
    pub bearing: &'static Bearing,
    /// Whether the suffix names shields or seals.
    pub closed: bool,
}

impl Found {
    /// The width that it really has, mm.
    pub fn width(&self) -> f64 {
        if self.closed {
            self.bearing.closed_width
        } else {
            self.bearing.width
        }
    }
}

/// All bearings of the table, by series and bore.
pub fn all() -> &'static [Bearing] {
    &table::BEARINGS
}

/// Finds `608`, `608-2RS`, `6001 ZZ`, `R8`.
///
/// # Errors
/// [`ElementError::NotListed`] with the neighbours in the same series.
///
/// ```
/// let found = elements::bearings::find("608-2RS").unwrap();
/// assert_eq!((found.bearing.bore, found.bearing.outside, found.width()), (8.0, 22.0, 7.0));
/// let small = elements::bearings::find("R6 ZZ").unwrap();
/// assert!(small.width() > small.bearing.width);
/// ```
pub fn find(name: &str) -> Result<Found, ElementError> {
    let text = name.trim().to_ascii_uppercase();
    let suffix_of = |bearing: &Bearing| {
        let rest = text.strip_prefix(bearing.name)?;
        // A dash and a number alone, as in R2-6, is another bearing and no suffix.
        let number = rest.strip_prefix('-').unwrap_or(rest);
        let other = !number.is_empty() && number.chars().all(|c| c.is_ascii_digit());
        let ends = !other && !rest.starts_with(|c: char| c.is_ascii_digit());
        ends.then(|| rest.to_owned())
    };
    let best = all()
        .iter()
        .filter_map(|bearing| suffix_of(bearing).map(|suffix| (bearing, suffix)))
        .max_by_key(|(bearing, _)| bearing.name.len());
    if let Some((bearing, suffix)) = best {
        let closed = ["Z", "RS", "LL", "DD", "VV"]
            .iter()
            .any(|mark| suffix.contains(mark));
        return Ok(Found { bearing, closed });
    }
    let series = text.get(..2).unwrap_or(&text);
    let near = all()
        .iter()
        .filter(|b| b.name.starts_with(series))
        .map(|b| b.name);
    Err(not_listed("bearing", name, near))
}

/// The bearings that pass a test, smallest first: by outside diameter, then width, then name.
pub fn smallest(passes: impl Fn(&Bearing) -> bool) -> Vec<&'static Bearing> {
    let mut found: Vec<&'static Bearing> = all().iter().filter(|b| passes(b)).collect();
    found.sort_by(|a, b| {
        a.outside
            .total_cmp(&b.outside)
            .then(a.width.total_cmp(&b.width))
            .then(a.name.cmp(b.name))
    });
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_give_the_bore() {
        for bearing in all() {
            let name = bearing.name;
            if name.starts_with('R') {
                continue;
            }
            let code: f64 = name.get(2..).unwrap().parse().unwrap();
            let bore = match (name.len(), code as i32) {
                (3, _) => code,
                (_, 0) => 10.0,
                (_, 1) => 12.0,
                (_, 2) => 15.0,
                (_, 3) => 17.0,
                _ => 5.0 * code,
            };
            assert_eq!(bearing.bore, bore, "{name}");
        }
    }

    #[test]
    fn every_row_is_a_bearing() {
        for b in all() {
            assert!(
                b.outside > 1.5 * b.bore * 0.75 && b.outside > b.bore,
                "{}",
                b.name
            );
            assert!(b.width > 0.0 && b.closed_width >= b.width, "{}", b.name);
            assert!(b.width < b.outside / 2.0, "{}", b.name);
            if let Some(r) = b.rating {
                assert!(r.dynamic > r.fixed && r.fixed > 0.0, "{}", b.name);
                assert!((6.0..17.0).contains(&r.f0), "{}", b.name);
            }
            let same = all().iter().filter(|o| o.name == b.name).count();
            assert_eq!(same, 1, "{}", b.name);
            assert_eq!(find(b.name).unwrap().bearing, b);
        }
    }

    #[test]
    fn series_grow_with_the_bore_and_with_the_series() {
        let series = |s: &'static str, metric_len: usize| {
            all()
                .iter()
                .filter(move |b| b.name.starts_with(s) && b.name.len() == metric_len)
        };
        for s in ["60", "62", "63", "68", "69", "70"] {
            for len in [3, 4] {
                let rows: Vec<&Bearing> = series(s, len).collect();
                for pair in rows.windows(2) {
                    assert!(pair[0].bore < pair[1].bore && pair[0].outside < pair[1].outside);
                    assert!(pair[0].width <= pair[1].width, "{}", pair[1].name);
                    if let (Some(a), Some(b)) = (pair[0].rating, pair[1].rating) {
                        // Miniature sizes are not all of one inner design, so only C rises there.
                        let rises = a.dynamic <= b.dynamic && (len == 3 || a.fixed <= b.fixed);
                        assert!(rises, "{}", pair[1].name);
                    }
                }
            }
        }
        // Of one bore: 68 < 69 < 60 < 62 < 63.
        for code in ["00", "01", "02", "03", "04", "05", "06", "07", "08"] {
            let of = |s: &str| find(&format!("{s}{code}")).unwrap().bearing;
            let rows = [of("68"), of("69"), of("60"), of("62"), of("63")];
            for pair in rows.windows(2) {
                assert!(pair[0].outside < pair[1].outside, "{code}");
                let (a, b) = (pair[0].rating.unwrap(), pair[1].rating.unwrap());
                assert!(a.dynamic < b.dynamic, "{code}");
            }
            assert_eq!(of("60").outside, of("70").outside);
        }
    }

    #[test]
    fn suffixes() {
        assert!(find("608ZZ").unwrap().closed && find("608-2RS1").unwrap().closed);
        assert!(!find("608 C3").unwrap().closed);
        assert_eq!(find("r4a").unwrap().bearing.name, "R4A");
        assert_eq!(find("R4").unwrap().bearing.name, "R4");
        assert_eq!(find("688 ZZ").unwrap().width(), 5.0);
        let error = find("6299").unwrap_err().to_string();
        assert!(error.contains("6204"), "{error}");
        assert_eq!(find("R2-5 ZZ").unwrap().bearing.name, "R2-5");
        for text in ["", "6082", "x", "é", "6", "R2-6", "608-3"] {
            assert!(find(text).is_err(), "{text}");
        }
    }

    #[test]
    fn smallest_first() {
        let eight = smallest(|b| b.bore == 8.0);
        assert_eq!(eight.first().unwrap().name, "688");
        assert!(eight.windows(2).all(|w| w[0].outside <= w[1].outside));
        assert!(smallest(|_| false).is_empty());
    }
}
