//! Life and static safety of ball bearings: ISO 281, ISO 76, and swinging motion.

use super::Rating;
use crate::error::{not_negative, positive, within};
use crate::lookup::{between, linear};
use crate::{Check, ElementError, Source};
use std::f64::consts::PI;

const ISO_281: Source = Source::memory("ISO 281:2007 clauses 5 and 8, tables 3 and 12");
const ISO_76: Source = Source::memory("ISO 76:2006");

/// f0 Fa/C0, e and Y of single-row deep groove ball bearings with normal clearance; X is 0.56 (ISO 281 table 3).
const THRUST: [(f64, [f64; 2]); 9] = [
    (0.172, [0.19, 2.30]),
    (0.345, [0.22, 1.99]),
    (0.689, [0.26, 1.71]),
    (1.03, [0.28, 1.55]),
    (1.38, [0.30, 1.45]),
    (2.07, [0.34, 1.31]),
    (3.45, [0.38, 1.15]),
    (5.17, [0.42, 1.04]),
    (6.89, [0.44, 1.00]),
];

/// Load on a bearing, N. Both not negative.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Across the shaft.
    pub radial: f64,
    /// Along the shaft.
    pub axial: f64,
}

/// Equivalent loads of a deep groove ball bearing, N.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Equivalent {
    /// Dynamic equivalent P.
    pub dynamic: f64,
    /// Static equivalent P0.
    pub fixed: f64,
    /// The ratio Fa/Fr above which thrust counts.
    pub e: f64,
    /// Thrust factor at this thrust.
    pub y: f64,
}

/// P = Fr, or 0.56 Fr + Y Fa when Fa/Fr > e; P0 = 0.6 Fr + 0.5 Fa, at least Fr.
///
/// # Errors
/// Loads that are negative or not finite; ratings that are not positive.
pub fn equivalent(rating: &Rating, load: Load) -> Result<Equivalent, ElementError> {
    checked(rating)?;
    let radial = not_negative("radial load", "N", load.radial)?;
    let axial = not_negative("axial load", "N", load.axial)?;
    let [e, y] = between(&THRUST, rating.f0 * axial / rating.fixed, linear);
    let with_thrust = 0.56 * radial + y * axial;
    let dynamic = if axial > e * radial {
        with_thrust.max(radial)
    } else {
        radial
    };
    Ok(Equivalent {
        dynamic,
        fixed: (0.6 * radial + 0.5 * axial).max(radial),
        e,
        y,
    })
}

/// Life of ball bearings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Life {
    /// Millions of turns that 90 % reach; infinite without load.
    pub million_turns: f64,
    /// The same in hours at the given speed; infinite at rest.
    pub hours: f64,
}

/// L10 = (C/P)³ (ISO 281), `rpm` in rev/min.
///
/// # Errors
/// Loads or speeds that are negative.
///
/// ```
/// use elements::bearings::life::life;
/// let life = life(12_800.0, 1_500.0, 1_000.0).unwrap();
/// assert!((life.million_turns - 621.4).abs() < 0.1);
/// ```
pub fn life(dynamic_rating: f64, equivalent: f64, rpm: f64) -> Result<Life, ElementError> {
    positive("dynamic rating", "N", dynamic_rating)?;
    not_negative("equivalent load", "N", equivalent)?;
    not_negative("speed", "rev/min", rpm)?;
    let million_turns = if equivalent == 0.0 {
        f64::INFINITY
    } else {
        (dynamic_rating / equivalent).powi(3)
    };
    let hours = if rpm == 0.0 {
        f64::INFINITY
    } else {
        million_turns * 1e6 / (60.0 * rpm)
    };
    Ok(Life {
        million_turns,
        hours,
    })
}

/// The factor a1 by which the life shrinks when more than 90 % shall reach it (ISO 281:2007 table 12; the edition
/// before had 0.62 for 95 % and 0.21 for 99 %). On a straight line between the rows.
///
/// # Errors
/// A reliability outside 0.90 to 0.99.
pub fn reliability_factor(reliability: f64) -> Result<f64, ElementError> {
    const ROWS: [(f64, [f64; 1]); 6] = [
        (0.90, [1.0]),
        (0.95, [0.64]),
        (0.96, [0.55]),
        (0.97, [0.47]),
        (0.98, [0.37]),
        (0.99, [0.25]),
    ];
    within("reliability", "", reliability, 0.90, 0.99)?;
    let [a1] = between(&ROWS, reliability, linear);
    Ok(a1)
}

/// What a bearing needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Needed {
    /// Life over the million turns of the rating, xD.
    pub ratio: f64,
    /// Dynamic rating, N.
    pub dynamic: f64,
}

/// The dynamic rating that a load, a speed and a life ask for: C = a P ∛xD (Shigley, 9th ed., eq. 11-3; ISO 281
/// turned round). `application` is the factor for shock and unknowns.
///
/// # Errors
/// Values that are not positive.
pub fn needed(
    equivalent: f64,
    rpm: f64,
    hours: f64,
    application: f64,
) -> Result<Needed, ElementError> {
    not_negative("equivalent load", "N", equivalent)?;
    positive("speed", "rev/min", rpm)?;
    positive("life", "h", hours)?;
    positive("application factor", "", application)?;
    let ratio = 60.0 * rpm * hours / 1e6;
    Ok(Needed {
        ratio,
        dynamic: application * equivalent * ratio.cbrt(),
    })
}

/// Life against the life wanted, hours.
///
/// # Errors
/// As for [`equivalent`] and [`life`].
pub fn life_check(
    rating: &Rating,
    load: Load,
    rpm: f64,
    wanted_hours: f64,
) -> Result<Check, ElementError> {
    not_negative("life wanted", "h", wanted_hours)?;
    let p = equivalent(rating, load)?;
    Ok(Check {
        what: "life of the bearing",
        acts: wanted_hours,
        bears: life(rating.dynamic, p.dynamic, rpm)?.hours,
        unit: "h",
        source: ISO_281,
    })
}

/// Static equivalent load against the static rating. The factor wanted is 0.5 where rough running does not matter,
/// 1 in ordinary use, 2 and more with shock or where it must run quietly (ISO 76, from memory).
///
/// # Errors
/// As for [`equivalent`].
pub fn static_check(rating: &Rating, load: Load) -> Result<Check, ElementError> {
    Ok(Check {
        what: "static load of the bearing",
        acts: equivalent(rating, load)?.fixed,
        bears: rating.fixed,
        unit: "N",
        source: ISO_76,
    })
}

/// A bearing that swings to and fro.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swing {
    /// Swings to and fro that 90 % reach, in millions.
    pub million_swings: f64,
    /// Hours at the given rate.
    pub hours: f64,
    /// Half the swing, rad, from which the paths of neighbouring balls overlap on both races.
    pub overlap: f64,
    /// Whether the swing is smaller than that: grease is not carried back, the balls wear dents of their own
    /// (false brinelling), and the life above is not to be relied on. Grease often, and turn it fully now and then.
    pub small: bool,
}

/// Life in swings of `half` rad each way from the middle: the balls roll as far in π/(2·half) swings as in one turn
/// (Harris, Rolling Bearing Analysis, from memory). `balls` and the ratio of ball to pitch diameter `gamma` place the
/// overlap: a ball's path on the outer race is half·(1−γ) long, on the inner half·(1+γ), and the balls stand 2π/Z
/// apart (derived).
///
/// # Errors
/// A half swing outside 0 to π, fewer than three balls, γ outside 0 to 0.6.
pub fn swing(
    dynamic_rating: f64,
    equivalent: f64,
    half: f64,
    per_minute: f64,
    balls: u32,
    gamma: f64,
) -> Result<Swing, ElementError> {
    within("half swing", "rad", half, 1e-6, PI)?;
    within("number of balls", "", f64::from(balls), 3.0, 100.0)?;
    within("ball over pitch diameter", "", gamma, 0.0, 0.6)?;
    let turns = life(dynamic_rating, equivalent, 0.0)?.million_turns;
    let million_swings = turns * PI / (2.0 * half);
    not_negative("swings per minute", "1/min", per_minute)?;
    let hours = if per_minute == 0.0 {
        f64::INFINITY
    } else {
        million_swings * 1e6 / (60.0 * per_minute)
    };
    let overlap = 2.0 * PI / (f64::from(balls) * (1.0 - gamma));
    Ok(Swing {
        million_swings,
        hours,
        overlap,
        small: half < overlap,
    })
}

/// Ball over pitch diameter when the catalogue does not give it: balls of 0.6 of the section (common practice).
///
/// # Errors
/// An outside diameter that does not exceed the bore.
pub fn gamma(bore: f64, outside: f64) -> Result<f64, ElementError> {
    let (inner, outer) = crate::press::raceways(bore, outside)?;
    // raceways() leaves half the section between the races; the ball is a little larger than that.
    Ok(1.2 * (outer - inner) / (bore + outside))
}

fn checked(rating: &Rating) -> Result<(), ElementError> {
    positive("dynamic rating", "N", rating.dynamic)?;
    positive("static rating", "N", rating.fixed)?;
    within("factor f0", "", rating.f0, 1.0, 20.0)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const R6204: Rating = Rating {
        dynamic: 12_800.0,
        fixed: 6_600.0,
        f0: 13.1,
    };

    fn load(radial: f64, axial: f64) -> Load {
        Load { radial, axial }
    }

    #[test]
    fn thrust_counts_above_e() {
        let plain = equivalent(&R6204, load(1000.0, 100.0)).unwrap();
        assert_eq!(plain.dynamic, 1000.0);
        let pushed = equivalent(&R6204, load(1000.0, 1000.0)).unwrap();
        // f0 Fa/C0 = 1.985: between the rows of 1.38 and 2.07.
        assert!((pushed.y - (1.45 - 0.14 * (1.984_848 - 1.38) / 0.69)).abs() < 1e-4);
        assert!((pushed.dynamic - (560.0 + pushed.y * 1000.0)).abs() < 1e-9);
        assert_eq!(equivalent(&R6204, load(0.0, 0.0)).unwrap().dynamic, 0.0);
        let far = equivalent(&R6204, load(0.0, 1e5)).unwrap();
        assert_eq!((far.e, far.y), (0.44, 1.0));
    }

    #[test]
    fn life_by_the_cube() {
        let one = life(12_800.0, 1_500.0, 1_000.0).unwrap();
        let half = life(12_800.0, 750.0, 1_000.0).unwrap();
        assert!((half.million_turns / one.million_turns - 8.0).abs() < 1e-9);
        assert!((one.hours - one.million_turns * 1e6 / 60_000.0).abs() < 1e-6);
        assert_eq!(life(100.0, 0.0, 0.0).unwrap().hours, f64::INFINITY);
        let back = needed(1_500.0, 1_000.0, one.hours, 1.0).unwrap();
        assert!((back.dynamic - 12_800.0).abs() < 1e-6);
        assert_eq!(reliability_factor(0.90).unwrap(), 1.0);
        assert_eq!(reliability_factor(0.95).unwrap(), 0.64);
        assert!((reliability_factor(0.975).unwrap() - 0.42).abs() < 1e-9);
        assert!(reliability_factor(0.999).is_err());
    }

    #[test]
    fn a_full_swing_equals_turning() {
        // Half a turn each way rolls two turns' length in every swing to and fro.
        let s = swing(1000.0, 100.0, PI, 60.0, 8, 0.25).unwrap();
        assert!((s.million_swings - 500.0).abs() < 1e-9);
        assert!(!s.small);
        let small = swing(1000.0, 100.0, 0.1, 60.0, 8, 0.25).unwrap();
        assert!(small.small && small.million_swings > s.million_swings);
        assert!((small.overlap - 2.0 * PI / 6.0).abs() < 1e-9);
        assert!(swing(1000.0, 100.0, 0.0, 60.0, 8, 0.25).is_err());
        assert!(swing(1000.0, 100.0, 1.0, 60.0, 1, 0.25).is_err());
        let g = gamma(20.0, 47.0).unwrap();
        assert!((0.2..0.3).contains(&g));
    }

    #[test]
    fn checks() {
        let c = static_check(&R6204, load(3300.0, 0.0)).unwrap();
        assert!((c.factor() - 2.0).abs() < 1e-12);
        let c = life_check(&R6204, load(1500.0, 0.0), 1000.0, 5000.0).unwrap();
        assert!(c.passes(2.0) && !c.passes(3.0));
        assert!(equivalent(&R6204, load(-1.0, 0.0)).is_err());
        assert!(equivalent(&R6204, load(f64::NAN, 0.0)).is_err());
        assert!(life(0.0, 1.0, 1.0).is_err());
    }

    proptest! {
        #[test]
        fn more_load_never_lives_longer(r in 0.0..8e3f64, a in 0.0..4e3f64, more in 1.0..3.0f64) {
            let here = equivalent(&R6204, load(r, a)).unwrap();
            let there = equivalent(&R6204, load(r * more, a * more)).unwrap();
            prop_assert!(here.dynamic >= r - 1e-9 && here.fixed >= r - 1e-9);
            prop_assert!(there.fixed >= here.fixed - 1e-9);
            // Thrust factors fall as thrust rises, so compare at the same ratio of loads with a little slack.
            prop_assert!(there.dynamic >= here.dynamic * 0.999);
        }
    }
}
