//! Tap drills: the drill for a wanted thread engagement, and the engagement that a drill gives.
//!
//! Two "per cent of thread" are in use. The old handbook one counts from 1.299 P (three quarters of both sharp
//! triangles); the other counts from 1.0825 P, the full height of the basic profile of the nut. 75 % of the first is
//! 90 % of the second, so each is named.

use super::metric::ThreadLimits;
use crate::error::{more_than, positive, within};
use crate::{ElementError, Source};

/// Where the percentages come from.
pub const SOURCE: Source = Source::derived("(d − drill)/(1.2990 P) and (d − drill)/(1.0825 P)");

/// Height of which the old handbook per cent counts, over the pitch: 1.5 · 0.866.
const HANDBOOK: f64 = 1.299_038_105_676_658;
/// Height of the basic profile of the nut on both sides, over the pitch: 1.25 · 0.866.
const PROFILE: f64 = 1.082_531_754_730_548;

/// The engagement that a hole gives, per cent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Engagement {
    /// Of 1.299 P: the "per cent of thread" of American handbooks. 60 to 75 is usual.
    pub handbook: f64,
    /// Of 1.0825 P: of the full basic profile.
    pub profile: f64,
}

/// The engagement of a hole of this diameter, mm.
///
/// # Errors
/// Sizes that are not positive; a hole as large as the screw.
///
/// ```
/// let e = elements::threads::tap::engagement(6.0, 1.0, 5.0).unwrap();
/// assert!((e.handbook - 76.98).abs() < 0.01 && (e.profile - 92.38).abs() < 0.01);
/// ```
pub fn engagement(major: f64, pitch: f64, hole: f64) -> Result<Engagement, ElementError> {
    positive("major diameter", "mm", major)?;
    positive("pitch", "mm", pitch)?;
    positive("hole", "mm", hole)?;
    more_than("major diameter", "mm", major, "hole", hole)?;
    let depth = 100.0 * (major - hole) / pitch;
    Ok(Engagement {
        handbook: depth / HANDBOOK,
        profile: depth / PROFILE,
    })
}

/// The hole for a handbook per cent of thread, mm.
///
/// # Errors
/// Sizes that are not positive; a per cent outside 10 to 100.
pub fn hole_for(major: f64, pitch: f64, handbook_percent: f64) -> Result<f64, ElementError> {
    positive("major diameter", "mm", major)?;
    positive("pitch", "mm", pitch)?;
    within("per cent of thread", "%", handbook_percent, 10.0, 100.0)?;
    let hole = major - HANDBOOK * pitch * handbook_percent / 100.0;
    positive("hole", "mm", hole)
}

/// Handbook per cent of thread that a tap drill should leave: least, wanted, most (common practice). 75 holds a screw as well as more
/// does, at a third of the torque on the tap.
pub const USUAL: (f64, f64, f64) = (60.0, 76.0, 85.0);

/// A drill that would do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TapDrill {
    /// Which of the drills that were offered.
    pub index: usize,
    /// Its diameter, mm.
    pub drill: f64,
    /// The engagement it gives. Drills cut a little large, so the real one is less.
    pub engagement: Engagement,
    /// Whether the hole lies within the limits of the nut's minor diameter, when these are given.
    pub in_limits: Option<bool>,
}

/// The drills of a shop whose holes give from `least` to `most` handbook per cent, nearest to `wanted` first.
///
/// # Errors
/// Sizes that are not positive; per cents outside 10 to 100 or out of order.
pub fn choose(
    major: f64,
    pitch: f64,
    (least, wanted, most): (f64, f64, f64),
    drills: &[f64],
    limits: Option<&ThreadLimits>,
) -> Result<Vec<TapDrill>, ElementError> {
    within("greatest per cent of thread", "%", most, 10.0, 100.0)?;
    within("least per cent of thread", "%", least, 10.0, most)?;
    within("wanted per cent of thread", "%", wanted, least, most)?;
    positive("major diameter", "mm", major)?;
    positive("pitch", "mm", pitch)?;
    let mut found: Vec<TapDrill> = drills
        .iter()
        .enumerate()
        .filter_map(|(index, drill)| {
            let engagement = engagement(major, pitch, *drill).ok()?;
            (least..=most)
                .contains(&engagement.handbook)
                .then(|| TapDrill {
                    index,
                    drill: *drill,
                    engagement,
                    in_limits: limits.map(|l| {
                        (l.nut_minor.least() - 1e-9..=l.nut_minor.most() + 1e-9).contains(drill)
                    }),
                })
        })
        .collect();
    let off = |t: &TapDrill| (t.engagement.handbook - wanted).abs();
    found.sort_by(|a, b| off(a).total_cmp(&off(b)).then(a.index.cmp(&b.index)));
    Ok(found)
}

/// The one drill to take: nearest to the [`USUAL`] per cent among those within the limits of the nut's minor diameter, else nearest of
/// all that leave a usual thread; none when no drill does.
///
/// ```
/// use elements::threads::{metric, tap};
/// let limits = metric::limits(8.0, 1.25).unwrap();
/// assert_eq!(tap::usual(8.0, 1.25, &[6.5, 6.8, 7.0], Some(&limits)).unwrap().drill, 6.8);
/// assert!(tap::usual(8.0, 1.25, &[6.0, 7.5], Some(&limits)).is_none());
/// ```
pub fn usual(
    major: f64,
    pitch: f64,
    drills: &[f64],
    limits: Option<&ThreadLimits>,
) -> Option<TapDrill> {
    let found = choose(major, pitch, USUAL, drills, limits).ok()?;
    let good = found.iter().find(|t| t.in_limits != Some(false));
    good.or(found.first()).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drills;
    use crate::threads::{COARSE, metric};
    use proptest::prelude::*;

    #[test]
    fn seventy_five_is_ninety() {
        let e = engagement(10.0, 1.5, hole_for(10.0, 1.5, 75.0).unwrap()).unwrap();
        assert!((e.handbook - 75.0).abs() < 1e-9 && (e.profile - 90.0).abs() < 1e-9);
    }

    #[test]
    fn common_tap_drills() {
        let shop = drills::metric(13.0);
        let sizes: Vec<f64> = shop.iter().map(|d| d.diameter).collect();
        let usual = [
            (3.0, 0.5, "2.5"),
            (4.0, 0.7, "3.3"),
            (5.0, 0.8, "4.2"),
            (6.0, 1.0, "5"),
            (10.0, 1.5, "8.5"),
        ];
        for (major, pitch, name) in usual {
            let limits = metric::limits(major, pitch).unwrap();
            let found = choose(major, pitch, (60.0, 77.0, 85.0), &sizes, Some(&limits)).unwrap();
            let first = found.first().unwrap();
            assert_eq!(shop[first.index].name, name, "M{major}");
            assert_eq!(first.in_limits, Some(true), "M{major}");
        }
        let found = choose(6.35, 1.27, (60.0, 75.0, 85.0), &[5.0, 5.1054], None).unwrap();
        assert_eq!(found.first().unwrap().index, 1);
        assert!(
            choose(
                6.0,
                1.0,
                (60.0, 75.0, 85.0),
                &[6.0, 7.0, -1.0, f64::NAN],
                None
            )
            .unwrap()
            .is_empty()
        );
    }

    #[test]
    fn refuses() {
        assert!(engagement(6.0, 1.0, 6.0).is_err() && engagement(6.0, 0.0, 5.0).is_err());
        assert!(hole_for(6.0, 1.0, 120.0).is_err() && hole_for(6.0, 1.0, f64::NAN).is_err());
        assert!(choose(6.0, 1.0, (80.0, 75.0, 60.0), &[5.0], None).is_err());
    }

    proptest! {
        #[test]
        fn there_and_back(row in 0usize..16, percent in 50.0..90.0f64) {
            let (major, pitch) = COARSE[row];
            let hole = hole_for(major, pitch, percent).unwrap();
            prop_assert!((engagement(major, pitch, hole).unwrap().handbook - percent).abs() < 1e-9);
            prop_assert!(hole_for(major, pitch, percent + 1.0).unwrap() < hole);
        }
    }
}
