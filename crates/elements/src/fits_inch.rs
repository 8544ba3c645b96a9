//! Inch fits of ANSI B4.1-1967: running (RC), locational clearance (LC), transition (LT) and interference (LN), and
//! force fits (FN), up to 4.73 in.
//!
//! Every fit is a hole grade, the nearer limit of the shaft, and a shaft grade, as the standard itself builds them
//! (RC 4 is H8/f7). Three numbers a step of size are kept; the clearances follow. Two printed tables were compared.
//! One of them prints 1.12 for the greatest clearance of RC 3 at 0.12 to 0.24 in, where its own limits give 1.2;
//! the limits are used here.

use crate::error::{not_listed, within};
use crate::limits::{Fit, Limits};
use crate::{ElementError, Source};

/// Where a class comes from: RC, LC 6 to LC 11, LT and FN were seen in printed tables, LC 1 to LC 5 and LN not.
pub fn source(name: &str) -> Source {
    const TEXT: &str = "ANSI B4.1-1967 tables";
    let name = spelt(name);
    let unseen =
        name.starts_with("LN") || matches!(name.as_str(), "LC1" | "LC2" | "LC3" | "LC4" | "LC5");
    if unseen {
        Source::memory(TEXT)
    } else {
        Source::seen(TEXT)
    }
}

/// `fn 2` is FN2.
fn spelt(name: &str) -> String {
    name.chars()
        .filter(|c| !c.is_whitespace())
        .map(|c| c.to_ascii_uppercase())
        .collect()
}

const INCH: f64 = 25.4;

/// Largest nominal size, mm.
pub const LARGEST: f64 = 4.73 * INCH;

/// Upper ends of the steps of nominal size, inches; each belongs to its step.
const STEPS: [f64; 8] = [0.12, 0.24, 0.40, 0.71, 1.19, 1.97, 3.15, 4.73];

/// Thousandths of an inch by [`STEPS`].
type Row = [f64; 8];

/// Not in the standard at this size.
const NO: f64 = f64::NAN;

/// Tolerances of grades 4 to 13 as the fits use them.
const GRADES: [Row; 10] = [
    [0.15, 0.15, 0.15, 0.2, 0.25, 0.3, 0.3, 0.4],
    [0.2, 0.2, 0.25, 0.3, 0.4, 0.4, 0.5, 0.6],
    [0.25, 0.3, 0.4, 0.4, 0.5, 0.6, 0.7, 0.9],
    [0.4, 0.5, 0.6, 0.7, 0.8, 1.0, 1.2, 1.4],
    [0.6, 0.7, 0.9, 1.0, 1.2, 1.6, 1.8, 2.2],
    [1.0, 1.2, 1.4, 1.6, 2.0, 2.5, 3.0, 3.5],
    [1.6, 1.8, 2.2, 2.8, 3.5, 4.0, 4.5, 5.0],
    [2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.0, 9.0],
    [4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 12.0, 14.0],
    [6.0, 7.0, 9.0, 10.0, 12.0, 16.0, 18.0, 22.0],
];

/// Upper limit of the shaft below nominal, by letter.
const C: Row = [2.5, 2.8, 3.0, 3.5, 4.5, 5.0, 6.0, 7.0];
const D: Row = [1.0, 1.2, 1.6, 2.0, 2.5, 3.0, 4.0, 5.0];
const E: Row = [0.6, 0.8, 1.0, 1.2, 1.6, 2.0, 2.5, 3.0];
const F: Row = [0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.4];
const G: Row = [0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.4, 0.5];
const H: Row = [0.0; 8];
const RC9: Row = [4.0, 4.5, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0];
const LC10: Row = [4.0, 4.5, 5.0, 6.0, 7.0, 8.0, 10.0, 11.0];
const LC11: Row = [5.0, 6.0, 7.0, 8.0, 10.0, 12.0, 14.0, 16.0];

/// Lower limit of the shaft above nominal, by letter.
const K: Row = [NO, NO, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1];
const N: Row = [0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 1.0];
const P: Row = [0.4, 0.5, 0.6, 0.7, 0.8, 1.0, 1.4, 1.6];
const R: Row = [0.5, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 2.0];

/// Half the tolerance of the js shafts as printed, rounded by the standard.
const JS6: Row = [0.12, 0.15, 0.2, 0.2, 0.25, 0.3, 0.3, 0.4];
const JS7: Row = [0.2, 0.25, 0.3, 0.35, 0.4, 0.5, 0.6, 0.7];

enum Shaft {
    /// The upper limit lies below nominal; tolerance grade.
    Below(Row, usize),
    /// The lower limit lies above nominal; tolerance grade.
    Above(Row, usize),
    /// Equally above and below.
    About(Row),
}

struct Class {
    name: &'static str,
    hole: usize,
    shaft: Shaft,
    duty: &'static str,
}

const fn class(name: &'static str, hole: usize, shaft: Shaft, duty: &'static str) -> Class {
    Class {
        name,
        hole,
        shaft,
        duty,
    }
}

const LOCATES: &str = "location: stands still in use, goes together freely";
const BETWEEN: &str = "location between clearance and interference";
const PRESSED: &str = "location with interference, little torque";

const CLASSES: [Class; 29] = [
    class(
        "RC1",
        5,
        Shaft::Below(G, 4),
        "close sliding without perceptible play",
    ),
    class(
        "RC2",
        6,
        Shaft::Below(G, 5),
        "sliding: moves and turns easily, not for running",
    ),
    class(
        "RC3",
        7,
        Shaft::Below(F, 6),
        "precision running at slow speed and light pressure",
    ),
    class(
        "RC4",
        8,
        Shaft::Below(F, 7),
        "close running at moderate speed and pressure",
    ),
    class(
        "RC5",
        8,
        Shaft::Below(E, 7),
        "medium running at higher speed or pressure",
    ),
    class(
        "RC6",
        9,
        Shaft::Below(E, 8),
        "medium running, wider tolerances",
    ),
    class(
        "RC7",
        9,
        Shaft::Below(D, 8),
        "free running, large changes of temperature",
    ),
    class(
        "RC8",
        10,
        Shaft::Below(C, 9),
        "loose running, commercial tolerances",
    ),
    class(
        "RC9",
        11,
        Shaft::Below(RC9, 10),
        "loose running, cold-drawn shafting as it comes",
    ),
    class("LC1", 6, Shaft::Below(H, 5), LOCATES),
    class("LC2", 7, Shaft::Below(H, 6), LOCATES),
    class("LC3", 8, Shaft::Below(H, 7), LOCATES),
    class("LC4", 10, Shaft::Below(H, 9), LOCATES),
    class("LC5", 7, Shaft::Below(G, 6), LOCATES),
    class("LC6", 9, Shaft::Below(F, 8), LOCATES),
    class("LC7", 10, Shaft::Below(E, 9), LOCATES),
    class("LC8", 10, Shaft::Below(D, 9), LOCATES),
    class("LC9", 11, Shaft::Below(C, 10), LOCATES),
    class(
        "LC10",
        12,
        Shaft::Below(LC10, 12),
        "fastener fit: goes together with room to spare",
    ),
    class(
        "LC11",
        13,
        Shaft::Below(LC11, 13),
        "fastener fit: goes together with room to spare",
    ),
    class("LT1", 7, Shaft::About(JS6), BETWEEN),
    class("LT2", 8, Shaft::About(JS7), BETWEEN),
    class("LT3", 7, Shaft::Above(K, 6), BETWEEN),
    class("LT4", 8, Shaft::Above(K, 7), BETWEEN),
    class("LT5", 7, Shaft::Above(N, 6), BETWEEN),
    class("LT6", 7, Shaft::Above(N, 7), BETWEEN),
    class("LN1", 6, Shaft::Above(N, 5), PRESSED),
    class("LN2", 7, Shaft::Above(P, 6), PRESSED),
    class("LN3", 7, Shaft::Above(R, 6), PRESSED),
];

/// Upper ends of the finer steps of the force fits, inches.
const FORCE_STEPS: [f64; 14] = [
    0.12,
    0.24,
    0.40,
    0.56,
    0.71,
    0.95,
    1.19,
    1.58,
    1.97,
    2.56,
    3.15,
    3.94,
    4.73,
    f64::MAX,
];

/// FN 1 to FN 5: hole grade, duty, and lower and upper limit of the shaft, thousandths above nominal, by
/// [`FORCE_STEPS`].
struct Force {
    name: &'static str,
    hole: usize,
    duty: &'static str,
    shaft: [(f64, f64); 13],
}

const FORCE: [Force; 5] = [
    Force {
        name: "FN1",
        hole: 6,
        duty: "light drive: thin sections, long fits, cast iron hubs",
        shaft: [
            (0.3, 0.5),
            (0.4, 0.6),
            (0.5, 0.75),
            (0.5, 0.8),
            (0.6, 0.9),
            (0.7, 1.1),
            (0.8, 1.2),
            (0.9, 1.3),
            (1.0, 1.4),
            (1.3, 1.8),
            (1.4, 1.9),
            (1.8, 2.4),
            (2.0, 2.6),
        ],
    },
    Force {
        name: "FN2",
        hole: 7,
        duty: "medium drive: ordinary steel parts, shrink fits on light sections",
        shaft: [
            (0.6, 0.85),
            (0.7, 1.0),
            (1.0, 1.4),
            (1.2, 1.6),
            (1.2, 1.6),
            (1.4, 1.9),
            (1.4, 1.9),
            (1.8, 2.4),
            (1.8, 2.4),
            (2.0, 2.7),
            (2.2, 2.9),
            (2.8, 3.7),
            (3.0, 3.9),
        ],
    },
    Force {
        name: "FN3",
        hole: 7,
        duty: "heavy drive: heavier steel parts, shrink fits on medium sections",
        shaft: [
            (NO, NO),
            (NO, NO),
            (NO, NO),
            (NO, NO),
            (NO, NO),
            (NO, NO),
            (1.6, 2.1),
            (2.0, 2.6),
            (2.2, 2.8),
            (2.5, 3.2),
            (3.0, 3.7),
            (3.5, 4.4),
            (4.0, 4.9),
        ],
    },
    Force {
        name: "FN4",
        hole: 7,
        duty: "force: parts that bear high stress, shrink fits",
        shaft: [
            (0.7, 0.95),
            (0.9, 1.2),
            (1.2, 1.6),
            (1.4, 1.8),
            (1.4, 1.8),
            (1.6, 2.1),
            (1.8, 2.3),
            (2.5, 3.1),
            (2.8, 3.4),
            (3.5, 4.2),
            (4.0, 4.7),
            (5.0, 5.9),
            (6.0, 6.9),
        ],
    },
    Force {
        name: "FN5",
        hole: 8,
        duty: "force: parts that bear the highest stress, shrink fits",
        shaft: [
            (0.9, 1.3),
            (1.2, 1.7),
            (1.4, 2.0),
            (1.6, 2.3),
            (1.8, 2.5),
            (2.2, 3.0),
            (2.5, 3.3),
            (3.0, 4.0),
            (4.0, 5.0),
            (5.0, 6.2),
            (6.0, 7.2),
            (7.0, 8.4),
            (8.0, 9.4),
        ],
    },
];

/// The names of all classes, loosest of each group first, with what they are for.
pub fn classes() -> impl Iterator<Item = (&'static str, &'static str)> {
    let named = CLASSES.iter().map(|c| (c.name, c.duty));
    named.chain(FORCE.iter().map(|f| (f.name, f.duty)))
}

/// Limits of hole and shaft of a class such as `RC4` or `FN 2`, mm, for a nominal size in mm.
///
/// # Errors
/// A class or a size that the standard does not have: up to 4.73 in here; LT 3 and LT 4 begin over 0.24 in, FN 3
/// over 0.95 in.
///
/// ```
/// let fit = elements::fits_inch::fit("RC4", 25.4).unwrap();
/// assert!((fit.least_clearance() / 25.4 - 0.0008).abs() < 1e-9);
/// assert!((fit.most_clearance() / 25.4 - 0.0028).abs() < 1e-9);
/// ```
pub fn fit(name: &str, size: f64) -> Result<Fit, ElementError> {
    within("nominal size", "mm", size, 0.01, LARGEST)?;
    // A size written in inches must not leave its step by the rounding of 25.4.
    let inches = (size / INCH * 1e9).round() / 1e9;
    let wanted = spelt(name);
    let missing = || {
        not_listed(
            "fit",
            format!("{name} at {inches} in"),
            std::iter::empty::<String>(),
        )
    };
    let (hole, lower, upper) = if let Some(class) = CLASSES.iter().find(|c| c.name == wanted) {
        let at = |row: &Row| pick(&STEPS, row, inches);
        let tolerance = |grade: usize| grade_row(grade).and_then(at);
        let bounds = match &class.shaft {
            // The standard rounds this one tolerance down.
            Shaft::Below(row, _) if class.name == "RC9" && inches > 0.12 && inches <= 0.24 => {
                at(row).map(|below| (-below - 1.5, -below))
            }
            Shaft::Below(row, grade) => at(row)
                .zip(tolerance(*grade))
                .map(|(below, t)| (-below - t, 0.0 - below)),
            Shaft::Above(row, grade) => at(row)
                .zip(tolerance(*grade))
                .map(|(above, t)| (above, above + t)),
            Shaft::About(row) => at(row).map(|half| (-half, half)),
        };
        let (lower, upper) = bounds.filter(|(l, _)| !l.is_nan()).ok_or_else(missing)?;
        (class.hole, lower, upper)
    } else if let Some(force) = FORCE.iter().find(|f| f.name == wanted) {
        let (lower, upper) = pick(&FORCE_STEPS, &force.shaft, inches)
            .filter(|(l, _)| !l.is_nan())
            .ok_or_else(missing)?;
        (force.hole, lower, upper)
    } else {
        return Err(not_listed("inch fit", name, classes().map(|(n, _)| n)));
    };
    let hole = grade_row(hole)
        .and_then(|row| pick(&STEPS, row, inches))
        .ok_or_else(missing)?;
    let mm = |thousandths: f64| thousandths * INCH / 1000.0;
    Ok(Fit {
        hole: Limits {
            nominal: size,
            upper: mm(hole),
            lower: 0.0,
        },
        shaft: Limits {
            nominal: size,
            upper: mm(upper),
            lower: mm(lower),
        },
    })
}

fn grade_row(grade: usize) -> Option<&'static Row> {
    GRADES.get(grade.checked_sub(4)?)
}

fn pick<T: Copy>(steps: &[f64], row: &[T], inches: f64) -> Option<T> {
    let step = steps.iter().position(|top| inches <= *top)?;
    row.get(step).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::FitKind;

    /// Least and greatest clearance, thousandths.
    fn clearance(name: &str, inches: f64) -> (f64, f64) {
        let fit = fit(name, inches * INCH).unwrap();
        let round = |mm: f64| (mm / INCH * 1e6).round() / 1e3;
        (round(fit.least_clearance()), round(fit.most_clearance()))
    }

    #[test]
    fn printed_clearances() {
        // Smallest step, 0.71 to 1.19 and the largest step, as printed.
        assert_eq!(clearance("RC1", 0.1), (0.1, 0.45));
        assert_eq!(clearance("RC2", 1.0), (0.3, 1.2));
        assert_eq!(clearance("RC3", 4.0), (1.4, 3.7));
        assert_eq!(clearance("RC4", 0.5), (0.6, 2.3));
        assert_eq!(clearance("RC5", 0.75), (1.6, 3.6));
        assert_eq!(clearance("RC6", 0.75), (1.6, 4.8));
        assert_eq!(clearance("RC7", 2.0), (4.0, 8.8));
        assert_eq!(clearance("RC8", 0.5), (3.5, 7.9));
        assert_eq!(clearance("RC9", 0.2), (4.5, 9.0));
        assert_eq!(clearance("RC9", 0.1), (4.0, 8.1));
        assert_eq!(clearance("RC9", 1.5), (8.0, 18.0));
        assert_eq!(clearance("LC6", 0.75), (0.8, 4.0));
        assert_eq!(clearance("LC7", 1.0), (1.6, 7.1));
        assert_eq!(clearance("LC9", 0.3), (3.0, 8.7));
        assert_eq!(clearance("LC10", 0.2), (4.5, 14.5));
        assert_eq!(clearance("LC11", 1.0), (10.0, 34.0));
        assert_eq!(clearance("LT1", 0.75), (-0.25, 1.05));
        assert_eq!(clearance("LT2", 0.75), (-0.4, 1.6));
        assert_eq!(clearance("LT3", 0.75), (-0.6, 0.7));
        assert_eq!(clearance("LT4", 1.5), (-1.1, 1.5));
        assert_eq!(clearance("LT5", 0.5), (-0.9, 0.2));
        assert_eq!(clearance("LT6", 2.5), (-2.0, 0.4));
        assert_eq!(clearance("LN2", 0.5), (-1.1, 0.0));
        assert_eq!(clearance("LN3", 1.0), (-1.7, -0.4));
        assert_eq!(clearance("FN1", 0.5), (-0.8, -0.1));
        assert_eq!(clearance("FN2", 1.0), (-1.9, -0.6));
        assert_eq!(clearance("FN3", 2.0), (-3.2, -1.3));
        assert_eq!(clearance("FN4", 1.5), (-3.1, -1.5));
        assert_eq!(clearance("fn 5", 3.0), (-7.2, -4.2));
    }

    #[test]
    fn every_row_is_of_its_kind() {
        for (name, duty) in classes() {
            assert!(!duty.is_empty());
            let mut listed = 0;
            for inches in [
                0.1, 0.12, 0.2, 0.3, 0.5, 0.6, 0.75, 1.0, 1.5, 1.75, 2.25, 3.0, 3.5, 4.73,
            ] {
                let Ok(fit) = fit(name, inches * INCH) else {
                    continue;
                };
                listed += 1;
                assert!(fit.hole.tolerance() > 0.0 && fit.shaft.tolerance() > 0.0);
                let expected = match name.get(..2) {
                    Some("RC" | "LC") => FitKind::Clearance,
                    Some("LT") => FitKind::Transition,
                    _ => FitKind::Interference,
                };
                assert_eq!(fit.kind(), expected, "{name} at {inches}");
            }
            let expected = match name {
                "FN3" => 7,
                "LT3" | "LT4" => 11,
                _ => 14,
            };
            assert_eq!(listed, expected, "{name}");
        }
    }

    #[test]
    fn sources_say_what_was_seen() {
        use crate::Confidence;
        assert_eq!(source("rc 4").confidence, Confidence::LookedUp);
        assert_eq!(source("LN2").confidence, Confidence::FromMemory);
        assert_eq!(source("LC10").confidence, Confidence::LookedUp);
    }

    #[test]
    fn steps_include_their_upper_end() {
        assert_eq!(clearance("RC4", 0.40), (0.5, 2.0));
        assert_eq!(clearance("RC4", 0.401), (0.6, 2.3));
        assert_eq!(clearance("FN2", 0.12), (-0.85, -0.2));
    }

    #[test]
    fn looser_classes_have_more_clearance() {
        for inches in [0.1, 0.2, 0.3, 0.5, 1.0, 1.5, 2.5, 4.0] {
            let most: Vec<f64> = (1..=9)
                .map(|n| clearance(&format!("RC{n}"), inches).1)
                .collect();
            assert!(most.windows(2).all(|w| w[0] < w[1]), "{most:?}");
            let tight: Vec<f64> = [1, 2, 4, 5]
                .iter()
                .map(|n| clearance(&format!("FN{n}"), inches).0)
                .collect();
            assert!(tight.windows(2).all(|w| w[0] > w[1]), "{tight:?}");
        }
    }

    #[test]
    fn refuses() {
        assert!(fit("RC10", 25.4).is_err() && fit("", 25.4).is_err());
        assert!(
            fit("RC4", 0.0).is_err() && fit("RC4", 130.0).is_err() && fit("RC4", f64::NAN).is_err()
        );
        assert!(fit("FN3", 0.5 * INCH).is_err() && fit("LT3", 0.2 * INCH).is_err());
    }
}
