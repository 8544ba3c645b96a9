//! Spring plungers in their notches, by the balance of forces of [`elements::detent`].

use super::answers::DetentForce;
use super::rig::Rig;
use elements::detent::{Hold, hold};
use machine::work::{Detent, LowHigh, Seat};
use std::f64::consts::FRAC_PI_2;

/// A drive this near to the notch stands in it, rad or mm.
const IN_NOTCH: f64 = 1e-6;

/// Slope of a seat's flank against the moving part, rad: of a cone 90° less half its angle; of a ball in a sharp hole the
/// angle whose sine is hole over ball; of square sides a right angle.
fn slope(seat: Seat) -> f64 {
    match seat {
        Seat::Cone(included) => FRAC_PI_2 - 0.5 * included,
        Seat::Hole { hole, ball } => (hole / ball).clamp(-1.0, 1.0).asin(),
        Seat::Square => FRAC_PI_2,
    }
}

fn friction(rig: &Rig<'_>, detent: &Detent) -> LowHigh {
    detent
        .friction
        .or(rig.work().usual.friction)
        .unwrap_or(LowHigh {
            low: 0.0,
            high: 0.0,
        })
}

fn held(detent: &Detent, mu: f64) -> Option<Hold> {
    hold(detent.spring, slope(detent.seat), mu, mu).ok()
}

/// Moment (or force) with which the detents of a drive hold it where it stands, friction low; infinite where a flank locks.
pub(crate) fn holding(rig: &Rig<'_>, drive: usize, value: f64) -> f64 {
    let here = rig
        .work()
        .detents
        .iter()
        .filter(|d| d.drive == drive && (d.at - value).abs() <= IN_NOTCH);
    here.filter_map(|d| {
        Some(
            held(d, friction(rig, d).low)?
                .breakaway
                .map_or(f64::INFINITY, |h| h * d.radius),
        )
    })
    .fold(0.0, |sum, h| sum + h)
}

/// Moment (or force) that lifts the detents of a drive out of their notches where it stands, friction high; none where it stands in
/// no notch, or where the plunger has to be drawn by hand.
pub(crate) fn lifting(rig: &Rig<'_>, drive: usize, value: f64) -> Option<f64> {
    let all = rig.work().detents.iter();
    let lifts = all
        .filter(|d| d.drive == drive && (d.at - value).abs() <= IN_NOTCH)
        .filter_map(|d| Some(held(d, friction(rig, d).high)?.breakaway? * d.radius));
    let sum: f64 = lifts.sum();
    (sum > 0.0).then_some(sum)
}

/// All detents.
pub(crate) fn detents(rig: &Rig<'_>) -> Vec<DetentForce> {
    let all = rig.work().detents.iter();
    all.map(|d| {
        let mu = friction(rig, d);
        let lifts = [mu.low, mu.high].map(|mu| held(d, mu).and_then(|h| h.breakaway));
        DetentForce {
            name: d.name.clone(),
            slope: slope(d.seat),
            lifts,
            holds: lifts.map(|h| h.map(|h| h * d.radius)),
            centring: held(d, mu.high).map_or(0.0, |h| h.centring),
        }
    })
    .collect()
}
