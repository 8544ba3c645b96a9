//! Bolts in a group: what a load on the plate that they hold does to each of them.

use crate::error::sensible;
use crate::{ElementError, Source};

/// The method.
pub const SOURCE: Source = Source::derived(
    "bolts as a group about their middle: force and twist across them, pull and tilt along them (Shigley 8-12, eqs. 8-55 to 8-57)",
);

/// What acts on a group of bolts about its middle. x and y lie in the joint's face, z along the bolts, off the seat.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Acts {
    /// Force across the bolts, N.
    pub across: [f64; 2],
    /// Twist about z, N·mm.
    pub twist: f64,
    /// Pull along z, N; a push counts for nothing.
    pub pull: f64,
    /// Tilt: moments about x and y, N·mm.
    pub tilt: [f64; 2],
}

/// What one bolt bears, N.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bears {
    /// Across it.
    pub across: f64,
    /// Along it; negative presses the faces together.
    pub pull: f64,
}

/// Each bolt of a group at places `at` about its middle, mm.
///
/// Every bolt is as stiff as the others and the plate stiffer than they are: the share of a bolt goes with its distance from the middle of all.
///
/// # Errors
/// Values that are not numbers; a twist or tilt on bolts that have no distance from their middle to bear it.
///
/// ```
/// use elements::threads::group::{Acts, share};
/// let square = [[30.0, 30.0], [-30.0, 30.0], [-30.0, -30.0], [30.0, -30.0]];
/// let even = share(&square, &Acts { across: [0.0, 400.0], pull: 800.0, ..Acts::default() }).unwrap();
/// assert!(even.iter().all(|b| (b.across - 100.0).abs() < 1e-9 && (b.pull - 200.0).abs() < 1e-9));
/// ```
pub fn share(at: &[[f64; 2]], acts: &Acts) -> Result<Vec<Bears>, ElementError> {
    let n = at.len() as f64;
    for x in at.iter().flatten() {
        sensible("place of a bolt", "mm", *x)?;
    }
    for (what, unit, x) in [
        ("force across the bolts", "N", acts.across[0]),
        ("force across the bolts", "N", acts.across[1]),
        ("twist of the bolts", "N·mm", acts.twist),
        ("pull of the bolts", "N", acts.pull),
        ("tilt of the bolts", "N·mm", acts.tilt[0]),
        ("tilt of the bolts", "N·mm", acts.tilt[1]),
    ] {
        sensible(what, unit, x)?;
    }
    if at.is_empty() {
        return Err(ElementError::NotFinite {
            what: "share of no bolts",
        });
    }
    let mean = [0, 1].map(|k| at.iter().map(|p| p[k]).sum::<f64>() / n);
    let own: Vec<[f64; 2]> = at
        .iter()
        .map(|p| [p[0] - mean[0], p[1] - mean[1]])
        .collect();
    let [xx, yy] = [0, 1].map(|k| own.iter().map(|p| p[k] * p[k]).sum::<f64>());
    let xy: f64 = own.iter().map(|p| p[0] * p[1]).sum();
    // The moments are given about the places' origin.
    let twist = acts.twist - mean[0] * acts.across[1] + mean[1] * acts.across[0];
    let tilt = [
        acts.tilt[0] - mean[1] * acts.pull,
        acts.tilt[1] + mean[0] * acts.pull,
    ];
    let polar = xx + yy;
    let size = 1e-9 * (1.0 + acts.pull.abs() + acts.across[0].abs() + acts.across[1].abs());
    let refuse = |what: &'static str, x: f64| {
        Err(ElementError::OutOfRange {
            what,
            unit: "N·mm",
            got: x,
            least: 0.0,
            most: 0.0,
        })
    };
    if polar <= 0.0 && twist.abs() > size {
        return refuse("twist on a single bolt", twist);
    }
    // Pull of a bolt at [x, y] is a x + b y beside the even share: the plate tilts as a plane.
    let det = xx * yy - xy * xy;
    let (a, b) = if tilt[0].abs() <= size && tilt[1].abs() <= size {
        (0.0, 0.0)
    } else if det > 1e-9 * polar * polar {
        // Σ F y = tilt about x, −Σ F x = tilt about y.
        (
            (-tilt[1] * yy - tilt[0] * xy) / det,
            (tilt[0] * xx + tilt[1] * xy) / det,
        )
    } else if polar > 0.0 {
        // All in one line: they bear a tilt about the line across it alone.
        let along = if xx >= yy {
            [xx.sqrt(), xy / xx.sqrt()]
        } else {
            [xy / yy.sqrt(), yy.sqrt()]
        };
        let length = along[0].hypot(along[1]);
        let d = along.map(|c| c / length);
        let borne = d[1] * tilt[0] - d[0] * tilt[1];
        let rest = d[0] * tilt[0] + d[1] * tilt[1];
        if rest.abs() > size.max(1e-6 * borne.abs()) {
            return refuse("tilt about the line of bolts in one row", rest);
        }
        (d[0] * borne / polar, d[1] * borne / polar)
    } else {
        return refuse("tilt on a single bolt", tilt[0].hypot(tilt[1]));
    };
    Ok(own
        .iter()
        .map(|p| {
            let turn = if polar > 0.0 { twist / polar } else { 0.0 };
            let across = [
                acts.across[0] / n - turn * p[1],
                acts.across[1] / n + turn * p[0],
            ];
            Bears {
                across: across[0].hypot(across[1]),
                pull: acts.pull / n + a * p[0] + b * p[1],
            }
        })
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SQUARE: [[f64; 2]; 4] = [[75.0, 60.0], [-75.0, 60.0], [-75.0, -60.0], [75.0, -60.0]];

    /// Shigley example 8-7 (from memory): four bolts 150 by 120 mm, 16 kN at 425 mm from their middle: each bears 4 kN of it and 17.7 kN of the
    /// moment; 21.0 kN on the nearer two and 14.8 kN on the others (there rounded to 21.0 and 14.8).
    #[test]
    fn a_bracket_of_four() {
        let acts = Acts {
            across: [0.0, -16_000.0],
            twist: -16_000.0 * 425.0,
            ..Acts::default()
        };
        let found = share(&SQUARE, &acts).unwrap();
        let most = found.iter().map(|b| b.across).fold(0.0, f64::max);
        let least = found.iter().map(|b| b.across).fold(f64::MAX, f64::min);
        assert!((most - 21_000.0).abs() < 50.0, "{most}");
        assert!((least - 14_800.0).abs() < 50.0, "{least}");
    }

    #[test]
    fn a_row_and_a_single_bolt() {
        let row = [[-30.0, 0.0], [30.0, 0.0]];
        let tilted = |tilt| {
            share(
                &row,
                &Acts {
                    tilt,
                    ..Acts::default()
                },
            )
        };
        let found = tilted([0.0, 6000.0]).unwrap();
        assert!((found[0].pull - 100.0).abs() < 1e-9 && (found[1].pull + 100.0).abs() < 1e-9);
        assert!(tilted([6000.0, 0.0]).is_err());
        let one = [[0.0, 0.0]];
        assert!(
            share(
                &one,
                &Acts {
                    twist: 5.0,
                    ..Acts::default()
                }
            )
            .is_err()
        );
        assert!(
            share(
                &one,
                &Acts {
                    pull: 5.0,
                    ..Acts::default()
                }
            )
            .is_ok()
        );
        assert!(share(&[], &Acts::default()).is_err());
        assert!(
            share(
                &one,
                &Acts {
                    pull: f64::NAN,
                    ..Acts::default()
                }
            )
            .is_err()
        );
    }

    proptest! {
        /// What the bolts bear together is what acts.
        #[test]
        fn they_bear_what_acts(
            places in prop::collection::vec([-50.0..50.0f64, -50.0..50.0f64], 3..8),
            pull in -1e4..1e4f64, tx in -1e5..1e5f64, ty in -1e5..1e5f64,
        ) {
            let acts = Acts { pull, tilt: [tx, ty], ..Acts::default() };
            if let Ok(found) = share(&places, &acts) {
                let sum = |of: &dyn Fn(&Bears, &[f64; 2]) -> f64| -> f64 {
                    found.iter().zip(&places).map(|(b, p)| of(b, p)).sum()
                };
                prop_assert!((sum(&|b, _| b.pull) - pull).abs() < 1e-4);
                prop_assert!((sum(&|b, p| b.pull * p[1]) - tx).abs() < 1e-2);
                prop_assert!((sum(&|b, p| -b.pull * p[0]) - ty).abs() < 1e-2);
            }
        }
    }
}
