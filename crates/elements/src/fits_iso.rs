//! Limits and fits of ISO 286-1:2010 and -2:2010, up to 120 mm.
//!
//! A step of nominal size includes its upper end: 10 mm belongs to "over 6 up to 10". Holes K, M, N up to grade 8 and
//! P to ZC up to grade 7 are the mirror image of the shaft shifted up by Δ = IT(n) − IT(n−1), over 3 mm only.

mod tables;

use crate::error::{not_listed, within};
use crate::limits::{Fit, FitKind, Limits};
use crate::{ElementError, Source};
use tables::{ABOVE, BELOW, GRADE_STEPS, GRADES, HOLE_J, K, NO, Row, SHAFT_J, STEPS};

/// Where a class comes from: grades 5 to 11 of the common letters were compared with printed tables.
pub fn source(class: Class) -> Source {
    const TEXT: &str = "ISO 286-1:2010 tables 1 to 5, ISO 286-2:2010";
    const COMMON: [&str; 12] = ["d", "e", "f", "g", "h", "js", "k", "m", "n", "p", "r", "s"];
    if (5..=11).contains(&class.grade) && COMMON.contains(&class.letter) {
        Source::seen(TEXT)
    } else {
        Source::memory(TEXT)
    }
}

/// Largest nominal size of the tables here, mm.
pub const LARGEST: f64 = 120.0;

/// Hole or shaft.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// A hole: capital letters.
    Hole,
    /// A shaft: small letters.
    Shaft,
}

/// A tolerance class such as H7 or js6.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Class {
    side: Side,
    /// The small letters, also for a hole.
    letter: &'static str,
    /// −1 stands for IT01.
    grade: i8,
}

impl Class {
    /// Reads `H7`, `js6`, `CD9`, `h01`.
    ///
    /// # Errors
    /// [`ElementError::NotListed`] for letters or grades that ISO 286 does not have.
    ///
    /// ```
    /// use elements::fits_iso::{Class, limits};
    /// let bore = limits(Class::parse("H7").unwrap(), 10.0).unwrap();
    /// assert_eq!((bore.upper, bore.lower), (0.015, 0.0));
    /// assert!(Class::parse("hh7").is_err());
    /// ```
    pub fn parse(text: &str) -> Result<Self, ElementError> {
        let refuse = || {
            not_listed(
                "tolerance class",
                text,
                ["a hole such as H7, a shaft such as g6"],
            )
        };
        let text = text.trim();
        let split = text
            .find(|c: char| !c.is_ascii_alphabetic())
            .ok_or_else(refuse)?;
        let (letters, digits) = text.split_at(split);
        let small = letters.to_ascii_lowercase();
        let side = if letters == small {
            Side::Shaft
        } else if letters == letters.to_ascii_uppercase() {
            Side::Hole
        } else {
            return Err(refuse());
        };
        let letter = LETTERS
            .into_iter()
            .find(|l| *l == small)
            .ok_or_else(refuse)?;
        let grade = GRADE_NAMES
            .iter()
            .position(|name| *name == digits)
            .ok_or_else(refuse)?;
        Ok(Self {
            side,
            letter,
            grade: grade as i8 - 1,
        })
    }

    /// Hole or shaft.
    pub fn side(self) -> Side {
        self.side
    }

    /// As it is written on a drawing.
    pub fn name(self) -> String {
        let letter = match self.side {
            Side::Hole => self.letter.to_ascii_uppercase(),
            Side::Shaft => self.letter.to_owned(),
        };
        let grade = GRADE_NAMES.get((self.grade + 1) as usize).unwrap_or(&"");
        format!("{letter}{grade}")
    }
}

const LETTERS: [&str; 28] = [
    "a", "b", "c", "cd", "d", "e", "ef", "f", "fg", "g", "h", "js", "j", "k", "m", "n", "p", "r",
    "s", "t", "u", "v", "x", "y", "z", "za", "zb", "zc",
];

const GRADE_NAMES: [&str; 18] = [
    "01", "0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12", "13", "14", "15",
    "16",
];

/// The tolerance of a grade, µm; `grade` from −1 (IT01) to 16.
///
/// # Errors
/// [`ElementError::OutOfRange`] for a grade or size outside the table; IT14 to IT16 begin over 1 mm.
pub fn grade(grade: i8, size: f64) -> Result<f64, ElementError> {
    let size = nominal(size)?;
    within("tolerance grade", "", f64::from(grade), -1.0, 16.0)?;
    if grade >= 14 {
        within("nominal size for IT14 to IT16", "mm", size, 1.0, LARGEST)?;
    }
    let step = GRADE_STEPS.iter().position(|top| size <= *top);
    let tolerance = step
        .and_then(|step| GRADES.get(step))
        .and_then(|row| row.get((grade + 1) as usize));
    tolerance
        .copied()
        .ok_or_else(|| not_listed("tolerance grade", format!("IT{grade}"), ["IT01 to IT16"]))
}

/// Upper and lower deviation from nominal, µm.
///
/// # Errors
/// A size outside the table, or a class that the standard does not have at this size.
pub fn deviations(class: Class, size: f64) -> Result<(f64, f64), ElementError> {
    let tolerance = grade(class.grade, size)?;
    let none = || {
        not_listed(
            "deviation",
            format!("{} at {size} mm", class.name()),
            std::iter::empty::<String>(),
        )
    };
    if matches!(class.letter, "a" | "b") && size <= 1.0 {
        return Err(none());
    }
    if class.letter == "js" {
        return Ok((0.5 * tolerance, -0.5 * tolerance));
    }
    let fundamental = match class.side {
        Side::Shaft => shaft_deviation(class, size),
        Side::Hole => hole_deviation(class, size)?,
    };
    Ok(match fundamental.ok_or_else(none)? {
        Fundamental::Upper(upper) => (upper, upper - tolerance),
        Fundamental::Lower(lower) => (lower + tolerance, lower),
    })
}

/// Limits of size, mm.
///
/// # Errors
/// As for [`deviations`].
pub fn limits(class: Class, size: f64) -> Result<Limits, ElementError> {
    let (upper, lower) = deviations(class, size)?;
    Ok(Limits {
        nominal: size,
        upper: upper / 1000.0,
        lower: lower / 1000.0,
    })
}

/// A fit written `H7/g6`.
///
/// # Errors
/// As for [`Class::parse`] and [`limits`]; the hole stands first.
///
/// ```
/// let fit = elements::fits_iso::fit("H7/g6", 25.0).unwrap();
/// assert!((fit.most_clearance() - 0.041).abs() < 1e-9);
/// assert!((fit.least_clearance() - 0.007).abs() < 1e-9);
/// ```
pub fn fit(text: &str, size: f64) -> Result<Fit, ElementError> {
    let refuse = || not_listed("fit", text, ["hole and shaft such as H7/g6"]);
    let (hole, shaft) = text.split_once('/').ok_or_else(refuse)?;
    let (hole, shaft) = (Class::parse(hole)?, Class::parse(shaft)?);
    if (hole.side, shaft.side) != (Side::Hole, Side::Shaft) {
        return Err(refuse());
    }
    Ok(Fit {
        hole: limits(hole, size)?,
        shaft: limits(shaft, size)?,
    })
}

/// The classes of one side whose limits agree with the given ones to half a micrometre, in the order of the letters.
/// Deviations in mm.
///
/// # Errors
/// A size outside the tables.
pub fn named(side: Side, size: f64, upper: f64, lower: f64) -> Result<Vec<Class>, ElementError> {
    nominal(size)?;
    let agrees = |class: &Class| {
        limits(*class, size)
            .is_ok_and(|l| (l.upper - upper).abs() < 5e-4 && (l.lower - lower).abs() < 5e-4)
    };
    Ok(classes(side).filter(agrees).collect())
}

/// Every class of one side that the standard could have.
pub fn classes(side: Side) -> impl Iterator<Item = Class> {
    LETTERS.into_iter().flat_map(move |letter| {
        (-1..=16).map(move |grade| Class {
            side,
            letter,
            grade,
        })
    })
}

/// A preferred fit of the hole-basis system. The hole is made with a drill or reamer of fixed size, so the shaft,
/// which is turned or ground to any size, takes the fit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Preferred {
    /// The fit, hole first.
    pub name: &'static str,
    /// What kind it is at every size over 3 mm.
    pub kind: FitKind,
    /// What it is for.
    pub duty: &'static str,
    /// Where the preference comes from.
    pub source: Source,
}

const B4_2: Source = Source::seen("preferred fits of ANSI B4.2-1978 and ISO 286-1:2010 annex");

const fn preferred(name: &'static str, kind: FitKind, duty: &'static str) -> Preferred {
    Preferred {
        name,
        kind,
        duty,
        source: B4_2,
    }
}

/// From loosest to tightest.
pub const PREFERRED: [Preferred; 10] = [
    preferred(
        "H11/c11",
        FitKind::Clearance,
        "loose running: coarse pivots, dirt, parts that must go together in any weather",
    ),
    preferred(
        "H9/d9",
        FitKind::Clearance,
        "free running: fast shafts, large changes of temperature, no precise location",
    ),
    preferred(
        "H8/f7",
        FitKind::Clearance,
        "close running: oiled journals at moderate speed, pivots of levers",
    ),
    preferred(
        "H7/g6",
        FitKind::Clearance,
        "sliding: moves and turns by hand without shake, locates well",
    ),
    preferred(
        "H7/h6",
        FitKind::Clearance,
        "location: goes together by hand with oil, stands still in use",
    ),
    preferred(
        "H7/k6",
        FitKind::Transition,
        "location without play: goes together with a light mallet",
    ),
    preferred(
        "H7/n6",
        FitKind::Transition,
        "tight location: goes together with a mallet or arbor press",
    ),
    preferred(
        "H7/p6",
        FitKind::Interference,
        "light press: locates rigidly, carries little torque",
    ),
    preferred(
        "H7/s6",
        FitKind::Interference,
        "medium press: stays without a key in steel, the tightest for cast iron",
    ),
    preferred(
        "H7/u6",
        FitKind::Interference,
        "heavy press or shrink: for parts that bear high stress",
    ),
];

/// The preferred fits whose clearance at this size stays between the two values, mm (negative is interference),
/// loosest first.
///
/// # Errors
/// A size outside the tables.
pub fn choose(
    size: f64,
    least_clearance: f64,
    most_clearance: f64,
) -> Result<Vec<(&'static Preferred, Fit)>, ElementError> {
    let mut found = Vec::new();
    for preferred in &PREFERRED {
        let fit = fit(preferred.name, size)?;
        if fit.least_clearance() >= least_clearance - 1e-9
            && fit.most_clearance() <= most_clearance + 1e-9
        {
            found.push((preferred, fit));
        }
    }
    Ok(found)
}

fn nominal(size: f64) -> Result<f64, ElementError> {
    within("nominal size", "mm", size, 0.01, LARGEST)
}

/// The limit that the letter fixes, µm.
enum Fundamental {
    Upper(f64),
    Lower(f64),
}

fn at(row: &Row, size: f64) -> Option<f64> {
    let step = STEPS.iter().position(|top| size <= *top)?;
    row.get(step)
        .filter(|value| **value != NO)
        .map(|v| f64::from(*v))
}

fn row(table: &[(&str, Row)], letter: &str, size: f64) -> Option<f64> {
    let (_, row) = table.iter().find(|(name, _)| *name == letter)?;
    at(row, size)
}

fn shaft_deviation(class: Class, size: f64) -> Option<Fundamental> {
    if let Some(below) = row(&BELOW, class.letter, size) {
        // 0 − 0 and not −0, which prints badly.
        return Some(Fundamental::Upper(0.0 - below));
    }
    match class.letter {
        "j" => {
            let (_, row) = SHAFT_J.iter().find(|(g, _)| g.contains(&class.grade))?;
            at(row, size).map(|below| Fundamental::Lower(-below))
        }
        "k" if (4..=7).contains(&class.grade) => at(&K, size).map(Fundamental::Lower),
        "k" => Some(Fundamental::Lower(0.0)),
        letter => row(&ABOVE, letter, size).map(Fundamental::Lower),
    }
}

fn hole_deviation(class: Class, size: f64) -> Result<Option<Fundamental>, ElementError> {
    if let Some(below) = row(&BELOW, class.letter, size) {
        return Ok(Some(Fundamental::Lower(below)));
    }
    let upper = match class.letter {
        "j" => HOLE_J
            .iter()
            .find(|(g, _)| *g == class.grade)
            .and_then(|(_, row)| at(row, size)),
        "k" if class.grade <= 8 => {
            let shift = shift(class.grade, size)?;
            at(&K, size).map(|above| shift - above)
        }
        // Over grade 8 the standard keeps K for the smallest sizes only.
        "k" => (size <= 3.0).then_some(0.0),
        "n" if class.grade > 8 && size <= 1.0 => None,
        "n" if class.grade > 8 && size > 3.0 => Some(0.0),
        letter => {
            let mirrored = if matches!(letter, "m" | "n") { 8 } else { 7 };
            let shift = if class.grade <= mirrored {
                shift(class.grade, size)?
            } else {
                0.0
            };
            row(&ABOVE, letter, size).map(|above| shift - above)
        }
    };
    Ok(upper.map(Fundamental::Upper))
}

/// Δ of ISO 286-1: how far a close hole is shifted so that K7/h6 fits as H7/k6 does. Nothing up to 3 mm.
fn shift(grade_number: i8, size: f64) -> Result<f64, ElementError> {
    if size <= 3.0 || grade_number < 3 {
        return Ok(0.0);
    }
    Ok(grade(grade_number, size)? - grade(grade_number - 1, size)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dev(class: &str, size: f64) -> (f64, f64) {
        deviations(Class::parse(class).unwrap(), size).unwrap()
    }

    #[test]
    fn steps_include_their_upper_end() {
        assert_eq!(dev("h6", 10.0).1, -9.0);
        assert_eq!(dev("h6", 10.001).1, -11.0);
        assert_eq!(dev("s6", 65.0).1, 53.0);
        assert_eq!(dev("s6", 65.01).1, 59.0);
    }

    #[test]
    fn close_holes_are_shifted_over_3_mm_only() {
        assert_eq!(dev("P7", 3.0), (-6.0, -16.0));
        assert_eq!(dev("P7", 4.0), (-8.0, -20.0));
        assert_eq!(dev("N9", 10.0), (0.0, -36.0));
        assert_eq!(dev("N9", 3.0), (-4.0, -29.0));
        assert_eq!(dev("M8", 20.0), (4.0, -29.0));
        assert_eq!(dev("M9", 20.0), (-8.0, -60.0));
        assert_eq!(dev("K8", 25.0), (10.0, -23.0));
        assert_eq!(dev("P9", 8.0), (-15.0, -51.0));
        assert_eq!(dev("J7", 25.0), (12.0, -9.0));
        assert_eq!(dev("j6", 12.0), (8.0, -3.0));
        assert_eq!(dev("k8", 12.0), (27.0, 0.0));
    }

    #[test]
    fn what_the_standard_does_not_have() {
        for text in ["", "7", "H", "Hh7", "h17", "l7", "o6", "H-7", "H7.5", "jS6"] {
            assert!(Class::parse(text).is_err(), "{text}");
        }
        let refused = |class: &str, size| deviations(Class::parse(class).unwrap(), size).is_err();
        assert!(refused("H7", 0.0) && refused("H7", -5.0) && refused("H7", 121.0));
        assert!(refused("H7", f64::NAN) && refused("H7", f64::INFINITY));
        assert!(refused("t6", 20.0) && refused("j8", 10.0) && refused("j9", 10.0));
        assert!(refused("a9", 1.0) && refused("h14", 0.5) && refused("cd7", 12.0));
        assert!(fit("h6/H7", 10.0).is_err() && fit("H7g6", 10.0).is_err());
    }

    #[test]
    fn grades_follow_the_formula_of_the_standard() {
        // i = 0.45 ∛D + 0.001 D of the geometric mean of the step; IT5 is 7 i, then 10, 16, 25, 40, 64, 100 … i.
        let factors = [
            7.0, 10.0, 16.0, 25.0, 40.0, 64.0, 100.0, 160.0, 250.0, 400.0, 640.0, 1000.0,
        ];
        let mut from = 1.0;
        for (step, top) in GRADE_STEPS.iter().enumerate() {
            let mean = f64::sqrt(from * top);
            let unit = 0.45 * mean.cbrt() + 0.001 * mean;
            for (factor, tabled) in factors.iter().zip(&GRADES[step][6..]) {
                let allowed = if step == 0 { 0.16 } else { 0.095 };
                let miss = (tabled / (factor * unit) - 1.0).abs();
                assert!(
                    miss < allowed,
                    "step to {top}: {tabled} for {}",
                    factor * unit
                );
            }
            from = *top;
        }
    }

    #[test]
    fn tables_rise() {
        for row in &GRADES {
            assert!(row.windows(2).all(|w| w[0] < w[1]));
        }
        for (letter, row) in BELOW.iter().chain(&ABOVE) {
            let listed: Vec<i16> = row.iter().copied().filter(|v| *v != NO).collect();
            assert!(listed.windows(2).all(|w| w[0] <= w[1]), "{letter}");
        }
        // From a to h the shaft comes nearer to nominal, from m to zc it goes further above.
        for step in 0..STEPS.len() {
            let column = |table: &[(&str, Row)]| -> Vec<i16> {
                table
                    .iter()
                    .map(|(_, row)| row[step])
                    .filter(|v| *v != NO)
                    .collect()
            };
            assert!(column(&BELOW).windows(2).all(|w| w[0] > w[1]));
            assert!(column(&ABOVE).windows(2).all(|w| w[0] < w[1]));
        }
    }

    #[test]
    fn every_class_comes_back_from_its_limits() {
        let mut seen = 0;
        for size in [
            0.8, 2.0, 3.0, 5.0, 8.0, 12.0, 16.0, 20.0, 30.0, 35.0, 50.0, 60.0, 75.0, 90.0, 120.0,
        ] {
            for side in [Side::Hole, Side::Shaft] {
                for class in classes(side) {
                    let Ok(found) = limits(class, size) else {
                        continue;
                    };
                    seen += 1;
                    assert!(found.upper > found.lower);
                    let back = named(side, size, found.upper, found.lower).unwrap();
                    assert!(back.contains(&class), "{} at {size}", class.name());
                    assert_eq!(Class::parse(&class.name()).unwrap(), class);
                }
            }
        }
        assert!(seen > 10_000, "{seen}");
    }

    #[test]
    fn hole_basis_and_shaft_basis_fit_alike() {
        // The reason for Δ: the mirrored pair has the same clearances.
        let pairs = [
            ("H7/k6", "K7/h6"),
            ("H7/n6", "N7/h6"),
            ("H7/p6", "P7/h6"),
            ("H7/s6", "S7/h6"),
            ("H8/m7", "M8/h7"),
            ("H8/f7", "F8/h7"),
            ("H7/g6", "G7/h6"),
        ];
        for (hole_basis, shaft_basis) in pairs {
            for size in [4.0, 8.0, 15.0, 25.0, 40.0, 70.0, 110.0] {
                let (a, b) = (
                    fit(hole_basis, size).unwrap(),
                    fit(shaft_basis, size).unwrap(),
                );
                assert!(
                    (a.most_clearance() - b.most_clearance()).abs() < 1e-9,
                    "{hole_basis} at {size}"
                );
                assert!((a.least_clearance() - b.least_clearance()).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn preferred_fits_are_what_they_say() {
        for preferred in &PREFERRED {
            for size in [4.0, 8.0, 15.0, 25.0, 40.0, 70.0, 110.0] {
                let fit = fit(preferred.name, size).unwrap();
                assert_eq!(fit.kind(), preferred.kind, "{} at {size}", preferred.name);
            }
        }
        let sliding = choose(20.0, 0.0, 0.05).unwrap();
        let names: Vec<&str> = sliding.iter().map(|(p, _)| p.name).collect();
        assert_eq!(names, ["H7/g6", "H7/h6"]);
        assert!(choose(200.0, 0.0, 1.0).is_err());
    }
}
