//! A lift known at many places with its first two derivatives, as it comes out of another calculation.

use crate::ElementError;
use crate::cams::Motion;
use crate::error::{finite, more_than, within};
use std::f64::consts::TAU;

/// Polynomials of the fifth degree between places of a whole turn: lift, velocity and acceleration are those given there; acceleration may
/// step at a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    at: Vec<f64>,
    /// Lift, velocity, acceleration before and after.
    known: Vec<[f64; 4]>,
}

impl Course {
    /// Through these angles (rad, rising, within one turn) with lift, velocity, acceleration before and acceleration after, by the angle;
    /// after the last place it goes on to the first.
    ///
    /// # Errors
    /// Fewer than three places, angles that do not rise, or that go beyond a turn; numbers that are none.
    pub fn closed(places: &[(f64, [f64; 4])]) -> Result<Self, ElementError> {
        within("number of places", "", places.len() as f64, 3.0, 100_000.0)?;
        for (angle, known) in places {
            finite("angle", *angle)?;
            for x in known {
                finite("lift or a derivative of it", *x)?;
            }
        }
        for pair in places.windows(2) {
            more_than("angle", "rad", pair[1].0, "angle before", pair[0].0)?;
        }
        let turn = places[places.len() - 1].0 - places[0].0;
        within(
            "angle from first to last",
            "rad",
            turn,
            0.0,
            TAU * (1.0 - 1e-9),
        )?;
        Ok(Self {
            at: places.iter().map(|p| p.0).collect(),
            known: places.iter().map(|p| p.1).collect(),
        })
    }

    /// Lift and derivatives by the angle, at any angle.
    pub fn at(&self, angle: f64) -> Motion {
        let first = self.at[0];
        let along = first + (angle - first).rem_euclid(TAU);
        let i = self.at.partition_point(|a| *a <= along).max(1) - 1;
        let next = (i + 1) % self.at.len();
        let end = if next == 0 {
            first + TAU
        } else {
            self.at[next]
        };
        let h = end - self.at[i];
        let t = (along - self.at[i]) / h;
        let [p, v, _, a] = self.known[i];
        let [q, w, b, _] = self.known[next];
        let (v, w, a, b) = (h * v, h * w, h * h * a, h * h * b);
        // What the start leaves over for the last three terms.
        let (d, e, f) = (q - p - v - a / 2.0, w - v - a, b - a);
        let c = [
            p,
            v,
            a / 2.0,
            10.0 * d - 4.0 * e + f / 2.0,
            -15.0 * d + 7.0 * e - f,
            6.0 * d - 3.0 * e + f / 2.0,
        ];
        Motion {
            lift: c[0] + t * (c[1] + t * (c[2] + t * (c[3] + t * (c[4] + t * c[5])))),
            velocity: (c[1]
                + t * (2.0 * c[2] + t * (3.0 * c[3] + t * (4.0 * c[4] + t * 5.0 * c[5]))))
                / h,
            acceleration: (2.0 * c[2] + t * (6.0 * c[3] + t * (12.0 * c[4] + t * 20.0 * c[5])))
                / (h * h),
            jerk: (6.0 * c[3] + t * (24.0 * c[4] + t * 60.0 * c[5])) / (h * h * h),
        }
    }

    /// Least and greatest lift at its places.
    pub fn ends(&self) -> [f64; 2] {
        let lifts = self.known.iter().map(|k| k[0]);
        lifts.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], l| {
            [low.min(l), high.max(l)]
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Known at sixty places, a sine between them is off by no more than the sixth derivative allows: h⁶ / 46080 (remainder of Hermite's
    /// interpolation of the fifth degree).
    #[test]
    fn a_sine_between_its_places() {
        let places: Vec<(f64, [f64; 4])> = (0..60)
            .map(|n| {
                let (s, c) = (f64::from(n) * TAU / 60.0).sin_cos();
                (f64::from(n) * TAU / 60.0, [s, c, -s, -s])
            })
            .collect();
        let course = Course::closed(&places).unwrap();
        let bound = (TAU / 60.0).powi(6) / 46_080.0;
        for n in 0..1000 {
            let angle = f64::from(n) * 0.013 - 3.0;
            let m = course.at(angle);
            assert!((m.lift - angle.sin()).abs() <= 1.01 * bound + 1e-15);
            assert!((m.velocity - angle.cos()).abs() < 1e-8);
            assert!((m.acceleration + angle.sin()).abs() < 1e-6);
            assert!((m.jerk + angle.cos()).abs() < 1e-4);
        }
        assert!(Course::closed(&places[..2]).is_err());
        assert!(Course::closed(&[(0.0, [0.0; 4]), (2.0, [0.0; 4]), (1.0, [0.0; 4])]).is_err());
    }
}
