//! The spring behind a detent plunger, from the moment that it must hold.

use super::choose::{Chosen, Outsides, Wanted, choose};
use super::compression::{Ends, Seats};
use super::wire::Wire;
use crate::ElementError;
use crate::detent::{Seat, spring_for_moment};

/// A detent on a lever or disc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Detent {
    /// What the ball rests in.
    pub seat: Seat,
    /// Ball or plunger nose, mm across.
    pub ball: f64,
    /// From the pivot to the ball, mm.
    pub radius: f64,
    /// Friction on the flank.
    pub contact: f64,
    /// Friction of the plunger in its hole.
    pub guide: f64,
}

/// What the spring must do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Needed {
    /// Force when the ball is seated, N.
    pub seated: f64,
    /// How far the ball must come back to pass, mm.
    pub lift: f64,
    /// Greatest force when the ball is out that keeps the lever light to move, N: half as much again as seated
    /// (common practice: a soft spring, well compressed).
    pub lifted: f64,
}

/// The spring force and lift for a holding moment, N·mm.
///
/// # Errors
/// As for [`Seat::rest`] and [`spring_for_moment`].
pub fn needed(detent: &Detent, moment: f64) -> Result<Needed, ElementError> {
    let rest = detent.seat.rest(detent.ball)?;
    let seated = spring_for_moment(
        moment,
        detent.radius,
        rest.slope,
        detent.contact,
        detent.guide,
    )?;
    Ok(Needed {
        seated,
        lift: rest.depth,
        lifted: 1.5 * seated,
    })
}

/// Springs for a plunger hole of `bore` in which the spring has `length` with the ball seated. The sizes turned down are
/// those for the stiffest spring.
///
/// # Errors
/// As for [`needed`] and [`choose`].
pub fn springs(
    needed: &Needed,
    bore: f64,
    length: f64,
    material: &'static Wire,
    sizes: &[f64],
    coils: Outsides,
) -> Result<Chosen, ElementError> {
    // Any force from seated to lifted will do when the ball is out, so several rates are tried, softest first.
    let mut all = Chosen::default();
    for share in [0.2, 0.4, 0.6, 0.8, 1.0] {
        let wanted = Wanted {
            first_force: needed.seated,
            first_length: length,
            second_force: needed.seated + share * (needed.lifted - needed.seated),
            second_length: length - needed.lift,
            force_tolerance: 0.08,
            bore,
            pocket: true,
            rod: 0.0,
            ends: Ends::SquaredGround,
            seats: Seats::BothFixed,
            factor: 1.1,
            clash: 0.1,
            preset: false,
            coils,
        };
        let found = choose(&wanted, material, sizes)?;
        all.choices.extend(found.choices);
        all.rejected = found.rejected;
    }
    all.choices.sort_by(|a, b| {
        let wire = |c: &super::choose::Choice| (c.spring.wire, c.spring.mean, c.spring.coils);
        let (x, y) = (wire(a), wire(b));
        a.mass
            .total_cmp(&b.mass)
            .then(x.0.total_cmp(&y.0))
            .then(x.2.total_cmp(&y.2))
    });
    all.choices.dedup();
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::super::wire::{self, METRIC_SIZES};
    use super::*;
    use crate::detent::hold;

    #[test]
    fn holds_the_moment() {
        let detent = Detent {
            seat: Seat::Hole { diameter: 4.0 },
            ball: 6.0,
            radius: 60.0,
            contact: 0.12,
            guide: 0.1,
        };
        let need = needed(&detent, 900.0).unwrap();
        let rest = detent.seat.rest(6.0).unwrap();
        let held = hold(need.seated, rest.slope, 0.12, 0.1).unwrap();
        assert!((held.breakaway.unwrap() * 60.0 - 900.0).abs() < 1e-6);
        let found = springs(
            &need,
            6.5,
            20.0,
            wire::find("SM").unwrap(),
            &METRIC_SIZES,
            Outsides::Metric,
        )
        .unwrap();
        assert!(!found.choices.is_empty());
        for c in &found.choices {
            let seated = c.spring.at(20.0, false).unwrap().force;
            assert!(
                (seated / need.seated - 1.0).abs() < 0.081,
                "{seated} {}",
                need.seated
            );
            assert!(c.spring.figures().unwrap().solid < 20.0 - need.lift);
        }
    }

    #[test]
    fn a_lift_longer_than_the_spring_is_refused() {
        let need = Needed {
            seated: 10.0,
            lift: 5.0,
            lifted: 15.0,
        };
        assert!(
            springs(
                &need,
                6.0,
                4.0,
                wire::find("SM").unwrap(),
                &METRIC_SIZES,
                Outsides::Metric
            )
            .is_err()
        );
    }
}
