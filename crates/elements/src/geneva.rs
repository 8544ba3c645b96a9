//! Geneva wheels: a pin that goes round turns a slotted wheel on by one slot a turn, and a disc locks it the rest of the turn.
//!
//! The pin enters and leaves a slot along it, so that the wheel starts and ends without a blow: its radius is the distance of centres times
//! sin(π / slots). Acceleration steps there all the same.

use crate::cams::Motion;
use crate::error::{positive, within};
use crate::{ElementError, Source};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Where its motion comes from.
pub const SOURCE: Source = Source::derived(
    "inverted slider and crank: the slot turns about the wheel's centre and passes through the pin",
);

/// A wheel of so many slots, with one pin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Geneva {
    slots: u32,
}

impl Geneva {
    /// A wheel of three slots or more.
    ///
    /// # Errors
    /// Fewer than 3 slots or more than 60.
    pub fn of(slots: u32) -> Result<Self, ElementError> {
        within("number of slots", "", f64::from(slots), 3.0, 60.0)?;
        Ok(Self { slots })
    }

    /// Half of the angle between two slots, rad.
    fn half(self) -> f64 {
        PI / f64::from(self.slots)
    }

    /// Radius of the pin's circle for a distance of centres, mm.
    ///
    /// # Errors
    /// A distance that is not positive.
    pub fn reach(self, centres: f64) -> Result<f64, ElementError> {
        Ok(positive("distance of centres", "mm", centres)? * self.half().sin())
    }

    /// Turn of the driver in which the wheel moves, rad.
    pub fn moves_for(self) -> f64 {
        PI - 2.0 * self.half()
    }

    /// Turn of the wheel and its derivatives by the turn of the driver (rad), both counted positive in their own, opposite senses. Nothing
    /// where the pin stands on the line of centres; a whole turn of the driver is a slot of the wheel.
    pub fn at(self, turn: f64) -> Motion {
        let rounds = (turn / TAU).round();
        let by = turn - rounds * TAU;
        let before = rounds * 2.0 * self.half();
        if by.abs() >= FRAC_PI_2 - self.half() {
            return Motion {
                lift: before + self.half().copysign(by),
                ..Motion::default()
            };
        }
        let k = self.half().sin();
        let (s, c) = by.sin_cos();
        let square = 1.0 - 2.0 * k * c + k * k;
        let rest = k * (1.0 - k * k);
        Motion {
            lift: before + (k * s).atan2(1.0 - k * c),
            velocity: k * (c - k) / square,
            acceleration: -rest * s / (square * square),
            jerk: -rest * (c * square - 4.0 * k * s * s) / square.powi(3),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Greatest angular velocity and acceleration of the wheel for a driver of one rad a second, and acceleration as it starts: the table of
    /// Geneva wheels in handbooks (from memory: 4 slots 2.41, 5.41, 1.00; 6 slots 1.00, 1.35, 0.577; 8 slots 0.620, 0.700, 0.414).
    #[test]
    fn the_table_of_handbooks() {
        for (slots, velocity, acceleration, start) in [
            (4, 2.414, 5.409, 1.000),
            (6, 1.000, 1.350, 0.577),
            (8, 0.620, 0.700, 0.414),
        ] {
            let wheel = Geneva::of(slots).unwrap();
            let half = wheel.moves_for() / 2.0;
            let places = (0..=4000).map(|n| wheel.at(-half + f64::from(n) * half / 2000.0));
            let (fast, hard) = places.fold((0.0_f64, 0.0_f64), |(v, a), m| {
                (v.max(m.velocity), a.max(m.acceleration.abs()))
            });
            assert!((fast - velocity).abs() < 2e-3, "{slots}: {fast}");
            assert!((hard - acceleration).abs() < 3e-3, "{slots}: {hard}");
            let first = wheel.at(-half + 1e-9);
            assert!(first.velocity.abs() < 1e-8);
            assert!(
                (first.acceleration - start).abs() < 1e-3,
                "{slots}: {first:?}"
            );
        }
    }

    #[test]
    fn derivatives_are_those_of_the_turn() {
        let wheel = Geneva::of(5).unwrap();
        let h = 1e-5;
        for n in 0..200 {
            let turn = -4.0 + 0.061 * f64::from(n);
            let [a, m, b] = [turn - h, turn, turn + h].map(|t| wheel.at(t));
            // Not astride its start or end.
            if (a.acceleration == 0.0) != (b.acceleration == 0.0) {
                continue;
            }
            assert!((m.velocity - (b.lift - a.lift) / (2.0 * h)).abs() < 1e-8);
            assert!((m.acceleration - (b.velocity - a.velocity) / (2.0 * h)).abs() < 1e-7);
            assert!((m.jerk - (b.acceleration - a.acceleration) / (2.0 * h)).abs() < 1e-6);
        }
        // A whole turn is a slot.
        assert!((wheel.at(1.0 + TAU).lift - wheel.at(1.0).lift - TAU / 5.0).abs() < 1e-12);
        assert!(Geneva::of(2).is_err());
    }
}
