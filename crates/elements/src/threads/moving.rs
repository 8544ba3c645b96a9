//! Screws that move things: torque of a power screw with its collar, running back, vises, and fine adjustment by two
//! pitches.
//!
//! The lead counts, not the pitch, and half the flank angle. A collar can hide a thread that runs back, so both are
//! told apart.

use crate::error::{friction, not_negative, positive, within};
use crate::{ElementError, Source};
use std::f64::consts::PI;

/// The formulas.
pub const SOURCE: Source = Source::derived(
    "power screw: T = F dm/2 · (tan λ ± µ′)/(1 ∓ µ′ tan λ), µ′ = µ/cos α (Shigley eqs. 8-1 to 8-7 with the exact flank)",
);

/// Torque in the thread alone, N·mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThreadTorque {
    /// Against the load.
    pub raise: f64,
    /// With the load; negative when the thread runs back by itself and must be held.
    pub lower: f64,
    /// The friction coefficient under which it runs back: tan λ · cos α.
    pub runs_back_below: f64,
}

/// `mean` is the pitch diameter, `half_flank` half the flank angle: 0 for a square thread, 15° trapezoidal, 14.5°
/// Acme, 30° metric.
///
/// # Errors
/// Sizes that are not positive; a flank outside 0 to 60°; friction so high that the thread cannot be turned.
pub fn thread_torque(
    load: f64,
    mean: f64,
    lead: f64,
    half_flank: f64,
    mu: f64,
) -> Result<ThreadTorque, ElementError> {
    not_negative("load", "N", load)?;
    positive("mean diameter of the thread", "mm", mean)?;
    positive("lead", "mm", lead)?;
    within("half the flank angle", "rad", half_flank, 0.0, PI / 3.0)?;
    let slope = lead / (PI * mean);
    let mu = friction(mu)? / half_flank.cos();
    positive("room for the friction of the thread", "", 1.0 - mu * slope)?;
    let arm = load * mean / 2.0;
    Ok(ThreadTorque {
        raise: arm * (slope + mu) / (1.0 - mu * slope),
        lower: arm * (mu - slope) / (1.0 + mu * slope),
        runs_back_below: slope * half_flank.cos(),
    })
}

/// A power screw with its collar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Screw {
    /// N·mm to move against the load, collar and all.
    pub raise: f64,
    /// N·mm to move with the load; negative when it must be held back.
    pub lower: f64,
    /// Work got out over work put in, against the load.
    pub efficiency: f64,
    /// Whether the thread by itself stays under load.
    pub thread_holds: bool,
    /// Whether thread and collar together stay. True with a thread that does not hold rests on the collar alone.
    pub holds: bool,
    /// The thread alone.
    pub thread: ThreadTorque,
}

/// Torque with a collar of mean diameter `collar_mean` (uniform wear: half of outer plus inner diameter; zero for a
/// ball thrust).
///
/// # Errors
/// As for [`thread_torque`].
///
/// ```
/// // Shigley example 8-1: 32 mm square thread, two starts of 4 mm, 6.4 kN, all friction 0.08, collar 40 mm.
/// let s = elements::threads::moving::screw(6400.0, 30.0, 8.0, 0.0, 0.08, 0.08, 40.0).unwrap();
/// assert!((s.raise - 26_177.0).abs() < 1.0 && (s.lower - 9_774.0).abs() < 1.0);
/// assert!(!s.thread_holds && s.holds);
/// ```
pub fn screw(
    load: f64,
    mean: f64,
    lead: f64,
    half_flank: f64,
    mu: f64,
    collar_mu: f64,
    collar_mean: f64,
) -> Result<Screw, ElementError> {
    let thread = thread_torque(load, mean, lead, half_flank, mu)?;
    let collar = load * friction(collar_mu)? * not_negative("collar", "mm", collar_mean)? / 2.0;
    let raise = thread.raise + collar;
    let lower = thread.lower + collar;
    Ok(Screw {
        raise,
        lower,
        efficiency: if raise > 0.0 {
            load * lead / (2.0 * PI * raise)
        } else {
            0.0
        },
        thread_holds: thread.lower >= 0.0,
        holds: lower >= 0.0,
        thread,
    })
}

/// The force that a torque on the handle of a vise or screw press gives, N: [`screw`] turned round.
///
/// # Errors
/// As for [`screw`]; a negative torque.
pub fn force_of_torque(
    torque: f64,
    mean: f64,
    lead: f64,
    half_flank: f64,
    mu: f64,
    collar_mu: f64,
    collar_mean: f64,
) -> Result<f64, ElementError> {
    not_negative("torque", "N·mm", torque)?;
    let unit = screw(1.0, mean, lead, half_flank, mu, collar_mu, collar_mean)?;
    Ok(torque / positive("torque of one newton", "N·mm", unit.raise)?)
}

/// A threaded end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct End {
    /// Lead, mm.
    pub lead: f64,
    /// Left hand.
    pub left: bool,
}

/// How far the two held ends come together in one turn of the piece between them, mm; negative apart. Left and right
/// of the same lead make a turnbuckle (the sum), the same hand a differential screw (the difference).
///
/// # Errors
/// A lead that is not positive.
pub fn per_turn(first: End, second: End) -> Result<f64, ElementError> {
    let signed =
        |end: End| positive("lead", "mm", end.lead).map(|lead| if end.left { -lead } else { lead });
    Ok(signed(first)? - signed(second)?)
}

/// Turns for a movement.
///
/// # Errors
/// As for [`per_turn`]; ends of the same lead and hand, which do not move at all.
pub fn turns_for(movement: f64, first: End, second: End) -> Result<f64, ElementError> {
    crate::error::sensible("movement", "mm", movement)?;
    let step = per_turn(first, second)?;
    positive("movement in a turn", "mm", step.abs())?;
    Ok(movement / step)
}

/// The pair of pitches of one hand whose difference comes nearest to a wanted movement per turn, mm, larger first.
/// `None` when there are not two different pitches.
pub fn nearest_pair(pitches: &[f64], wanted: f64) -> Option<(f64, f64)> {
    let pairs = pitches
        .iter()
        .flat_map(|a| pitches.iter().map(move |b| (*a, *b)))
        .filter(|(a, b)| a > b);
    pairs.min_by(|x, y| {
        let off = |p: &(f64, f64)| (p.0 - p.1 - wanted).abs();
        off(x).total_cmp(&off(y)).then(x.0.total_cmp(&y.0))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn end(lead: f64, left: bool) -> End {
        End { lead, left }
    }

    #[test]
    fn fine_adjustment() {
        assert_eq!(per_turn(end(1.25, false), end(1.0, false)).unwrap(), 0.25);
        assert_eq!(per_turn(end(1.25, false), end(1.25, true)).unwrap(), 2.5);
        assert_eq!(
            turns_for(0.1, end(1.25, false), end(1.0, false)).unwrap(),
            0.4
        );
        assert!(turns_for(0.1, end(1.0, false), end(1.0, false)).is_err());
        assert_eq!(nearest_pair(&[0.8, 1.0, 1.25, 1.5], 0.2), Some((1.0, 0.8)));
        assert_eq!(nearest_pair(&[1.0], 0.2), None);
        assert!(per_turn(end(0.0, false), end(1.0, false)).is_err());
    }

    #[test]
    fn a_collar_can_hide_a_thread_that_runs_back() {
        let s = screw(1000.0, 20.0, 20.0, 0.0, 0.1, 0.15, 60.0).unwrap();
        assert!(!s.thread_holds && s.holds && s.thread.lower < 0.0);
        let ball = screw(1000.0, 20.0, 20.0, 0.0, 0.1, 0.0, 0.0).unwrap();
        assert!(!ball.holds);
        assert!(thread_torque(1.0, 10.0, 30.0, 0.5, 1.5).is_err());
    }

    proptest! {
        #[test]
        fn work_balances_without_friction(d in 4.0..50.0f64, lead in 0.5..10.0f64, f in 1.0..1e5f64) {
            let t = thread_torque(f, d, lead, 0.26, 0.0).unwrap();
            prop_assert!((t.raise * 2.0 * PI / (f * lead) - 1.0).abs() < 1e-12);
            prop_assert!((t.raise + t.lower).abs() < 1e-9 * t.raise);
        }

        #[test]
        fn runs_back_exactly_below(d in 4.0..50.0f64, lead in 0.5..10.0f64, flank in 0.0..0.6f64) {
            let limit = thread_torque(1.0, d, lead, flank, 0.1).unwrap().runs_back_below;
            let torque = |mu: f64| thread_torque(1.0, d, lead, flank, mu).unwrap().lower;
            prop_assert!(torque(limit * 1.01) > 0.0 && torque(limit * 0.99) < 0.0);
        }

        #[test]
        fn vise_turns_round(t in 100.0..1e5f64, mu in 0.05..0.3f64) {
            let f = force_of_torque(t, 18.0, 4.0, 0.26, mu, mu, 30.0).unwrap();
            prop_assert!((screw(f, 18.0, 4.0, 0.26, mu, mu, 30.0).unwrap().raise / t - 1.0).abs() < 1e-12);
        }
    }
}
