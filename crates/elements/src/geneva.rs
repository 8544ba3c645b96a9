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

/// How much less than the pin's circle, in diameters of the pin, the arcs reach on which the wheel is locked (common practice): a lip stays
/// between arc and slot.
const LIP: f64 = 1.5;
/// Room under the pin at the bottom of a slot, mm (common practice).
const UNDER: f64 = 0.5;
/// Play between the locking disc and the arcs, mm on the radius (common practice).
const PLAY: f64 = 0.1;
/// Room round the wheel in the hollow of the locking disc, mm (common practice).
const ROUND: f64 = 0.3;

/// Sizes of a wheel and of the disc that locks it, mm and rad.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shape {
    /// Number of slots.
    pub slots: u32,
    /// Distance of centres.
    pub centres: f64,
    /// Radius of the pin's circle.
    pub reach: f64,
    /// Radius of the wheel.
    pub radius: f64,
    /// Width of a slot: that of the pin, whose play is in the slot's class.
    pub slot: f64,
    /// From the wheel's centre to the centre of the round end of a slot.
    pub bottom: f64,
    /// Radius of the arcs between the slots, about the driver's centre.
    pub lock: f64,
    /// Radius of the locking disc on the driver.
    pub disc: f64,
    /// Radius of its hollow, about the wheel's centre, on the side of the pin.
    pub hollow: f64,
}

impl Shape {
    /// Half of the angle between two slots.
    pub fn half(&self) -> f64 {
        PI / f64::from(self.slots)
    }

    /// Half of the angle that an arc takes of the wheel's rim, seen from the wheel's centre.
    pub fn arc_on_rim(&self) -> f64 {
        corner(self.centres, self.radius, self.lock)
    }

    /// Half of the angle that an arc takes, seen from its own centre.
    pub fn arc(&self) -> f64 {
        corner(self.centres, self.lock, self.radius)
    }

    /// Half of the angle of a slot's mouth on the rim, seen from the wheel's centre.
    pub fn mouth(&self) -> f64 {
        (self.slot / (2.0 * self.radius)).asin()
    }

    /// Half of the angle that the hollow takes of the locking disc, seen from the disc's centre.
    pub fn opening(&self) -> f64 {
        corner(self.centres, self.disc, self.hollow)
    }
}

/// In the triangle of the centres and a place `near` from one and `far` from the other: the angle at the first.
fn corner(centres: f64, near: f64, far: f64) -> f64 {
    let cos = (centres * centres + near * near - far * far) / (2.0 * centres * near);
    cos.clamp(-1.0, 1.0).acos()
}

impl Geneva {
    /// Sizes of the wheel for a distance of centres and a pin. The pin enters each slot along it where the rim of the wheel is, so that its
    /// circle, the rim and the line of centres make a right-angled triangle: the rim has the distance of centres times cos(π / slots).
    ///
    /// # Errors
    /// A pin that leaves no metal between the slots or between slot and locking arc.
    pub fn shape(self, centres: f64, pin: f64) -> Result<Shape, ElementError> {
        let reach = self.reach(centres)?;
        let pin = positive("diameter of the pin", "mm", pin)?;
        let lock = reach - LIP * pin;
        // The disc has to let go of the wheel where the pin goes in: there the line of centres passes the end of its hollow.
        let lets_go = reach - (lock - PLAY);
        let shape = Shape {
            slots: self.slots,
            centres,
            reach,
            radius: centres * self.half().cos(),
            slot: pin,
            bottom: centres - reach - UNDER,
            lock,
            disc: lock - PLAY,
            hollow: lets_go
                .hypot(centres * self.half().cos())
                .max(centres * self.half().cos() + ROUND),
        };
        // Half a pin of metal at the least between two slots and beside them (common practice).
        let least = 2.0 * shape.bottom * self.half().sin() / 1.5;
        within(
            "diameter of the pin",
            "mm",
            pin,
            0.0,
            least.min(reach / (LIP + 0.5)),
        )?;
        let lip = (self.half() - shape.arc_on_rim() - shape.mouth()) * shape.radius;
        within(
            "metal between slot and locking arc",
            "mm",
            lip,
            0.0,
            centres,
        )?;
        Ok(shape)
    }
}

impl Shape {
    /// Outline of the wheel, mm, counter-clockwise, its centre as origin and a slot along the first direction.
    pub fn wheel_outline(&self) -> Vec<[f64; 2]> {
        let half = self.half();
        let at = |radius: f64, angle: f64| [radius * angle.cos(), radius * angle.sin()];
        let (edge, mouth) = (self.arc_on_rim(), self.mouth());
        let mut all = Vec::new();
        for k in 0..self.slots {
            let slot = f64::from(k) * 2.0 * half;
            let (s, c) = slot.sin_cos();
            let turned = |p: [f64; 2]| [c * p[0] - s * p[1], s * p[0] + c * p[1]];
            // In along one side, round the end, out along the other.
            all.push(turned(at(self.radius, -mouth)));
            for n in 0..=CHORDS {
                let angle = -FRAC_PI_2 - PI * f64::from(n) / f64::from(CHORDS);
                let [x, y] = at(0.5 * self.slot, angle);
                all.push(turned([self.bottom + x, y]));
            }
            all.push(turned(at(self.radius, mouth)));
            // Along the edge to the locking arc, and through it.
            let middle = turned(at(self.centres, half));
            let ends = [half - edge, half + edge].map(|a| turned(at(self.radius, a)));
            let seen = ends.map(|p| (p[1] - middle[1]).atan2(p[0] - middle[0]));
            // From the one end to the other on the side of the wheel's centre, which is clockwise.
            let sweep = -(seen[0] - seen[1]).rem_euclid(TAU);
            for n in 0..=CHORDS {
                let angle = seen[0] + sweep * f64::from(n) / f64::from(CHORDS);
                let [x, y] = at(self.lock, angle);
                all.push([middle[0] + x, middle[1] + y]);
            }
        }
        all
    }

    /// Outline of the locking disc, mm, counter-clockwise, its centre as origin and the pin along the first direction: a circle, cut out
    /// where the wheel passes.
    pub fn lock_outline(&self) -> Vec<[f64; 2]> {
        let (cut, clears) = (self.opening(), self.hollow);
        let mut all = Vec::new();
        for n in 0..=4 * CHORDS {
            let angle = cut + (TAU - 2.0 * cut) * f64::from(n) / f64::from(4 * CHORDS);
            all.push([self.disc * angle.cos(), self.disc * angle.sin()]);
        }
        // Back round the wheel's edge.
        let (s, c) = cut.sin_cos();
        let ends = (self.disc * s).atan2(self.centres - self.disc * c);
        for n in 1..CHORDS {
            let angle = -ends + 2.0 * ends * f64::from(n) / f64::from(CHORDS);
            all.push([self.centres - clears * angle.cos(), clears * angle.sin()]);
        }
        all
    }
}

/// Straight pieces of a round end or an arc.
const CHORDS: u32 = 16;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wheel_of_six_by_right_angled_triangles() {
        // Centres 80 apart: pin's circle 80 sin 30° = 40, rim 80 cos 30° = 69.282 (the two legs of a right-angled triangle).
        let s = Geneva::of(6).unwrap().shape(80.0, 8.0).unwrap();
        assert!((s.reach - 40.0).abs() < 1e-9 && (s.radius - 69.282_032).abs() < 1e-6);
        assert!((s.reach.hypot(s.radius) - 80.0).abs() < 1e-9);
        assert!((s.lock - 28.0).abs() < 1e-9 && (s.bottom - 39.5).abs() < 1e-9);
        // Both ends of an arc lie on the rim and on the locking circle.
        let end = [
            s.radius * s.arc_on_rim().cos(),
            s.radius * s.arc_on_rim().sin(),
        ];
        assert!(((80.0 - end[0]).hypot(end[1]) - s.lock).abs() < 1e-9);
        assert!((s.lock * s.arc().sin() - end[1]).abs() < 1e-9);
        // The lip between arc and slot is a pin wide, or nearly.
        let lip = (s.half() - s.arc_on_rim() - s.mouth()) * s.radius;
        assert!((5.0..10.0).contains(&lip), "{lip}");
        // The disc locks until the pin is in: its hollow opens no wider than the pin stands off the line of centres.
        assert!(s.opening() <= PI / 2.0 - s.half() + 1e-9, "{}", s.opening());
        assert!(Geneva::of(6).unwrap().shape(80.0, 30.0).is_err());
        assert!(Geneva::of(3).unwrap().shape(80.0, 12.0).is_err());
        for slots in 4..=12 {
            assert!(
                Geneva::of(slots).unwrap().shape(100.0, 6.0).is_ok(),
                "{slots}"
            );
        }
    }

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

    /// Nothing of the driver runs into the wheel anywhere in a turn, and while it locks its disc lies on the wheel's arc.
    #[test]
    fn driver_and_wheel_clear_one_another() {
        let inside = |line: &[[f64; 2]], [x, y]: [f64; 2]| {
            let mut held = false;
            for (i, a) in line.iter().enumerate() {
                let b = line[(i + 1) % line.len()];
                if (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
                {
                    held = !held;
                }
            }
            held
        };
        for slots in [4, 5, 6, 8] {
            let wheel = Geneva::of(slots).unwrap();
            let shape = wheel.shape(80.0, 6.0).unwrap();
            let (star, disc) = (shape.wheel_outline(), shape.lock_outline());
            let area = |line: &[[f64; 2]]| {
                let n = line.len();
                (0..n)
                    .map(|i| {
                        let (a, b) = (line[i], line[(i + 1) % n]);
                        0.5 * (a[0] * b[1] - b[0] * a[1])
                    })
                    .sum::<f64>()
            };
            // Counter-clockwise both, the disc less than its circle, the star less than its own.
            assert!(area(&disc) > 0.0 && area(&disc) < PI * shape.disc.powi(2));
            assert!(area(&star) > 0.0 && area(&star) < PI * shape.radius.powi(2));
            for n in 0..720 {
                let turn = f64::from(n).to_radians() / 2.0 - PI;
                // The wheel stands to the right of the driver; it turns the other way.
                let own = PI - wheel.at(turn).lift;
                let in_star = |p: [f64; 2], shrink: f64| {
                    let (x, y) = (p[0] * shrink - 80.0, p[1] * shrink);
                    let (s, c) = own.sin_cos();
                    inside(&star, [c * x + s * y, c * y - s * x])
                };
                let (s, c) = turn.sin_cos();
                let turned = |p: &[f64; 2]| [c * p[0] - s * p[1], s * p[0] + c * p[1]];
                for p in &disc {
                    assert!(!in_star(turned(p), 1.0), "{slots} slots at {turn}");
                }
                for k in 0..12 {
                    let (s, c) = (f64::from(k) * TAU / 12.0).sin_cos();
                    let pin = 0.95 * 3.0;
                    let rim = [shape.reach + pin * c, pin * s];
                    assert!(!in_star(turned(&rim), 1.0), "pin, {slots} slots at {turn}");
                }
            }
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
