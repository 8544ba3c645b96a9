//! A smooth curve through given lifts, which closes on itself after a whole turn.

use crate::ElementError;
use crate::cams::Motion;
use crate::error::{finite, more_than, within};
use std::f64::consts::TAU;

/// Cubic spline through points of a whole turn: lift, velocity and acceleration run on without a step, jerk steps at the points.
#[derive(Clone, Debug, PartialEq)]
pub struct Spline {
    at: Vec<f64>,
    lift: Vec<f64>,
    /// Second derivatives at the points.
    bend: Vec<f64>,
}

/// Places looked at between two points.
const SHARES: u32 = 32;

impl Spline {
    /// Through these angles (rad, rising, within one turn) and lifts; after the last point it goes on to the first.
    ///
    /// # Errors
    /// Fewer than three points, angles that do not rise, or that go beyond a turn.
    pub fn closed(points: &[(f64, f64)]) -> Result<Self, ElementError> {
        within("number of points", "", points.len() as f64, 3.0, 10_000.0)?;
        for (angle, lift) in points {
            finite("angle", *angle)?;
            finite("lift", *lift)?;
        }
        for pair in points.windows(2) {
            more_than("angle", "rad", pair[1].0, "angle before", pair[0].0)?;
        }
        let n = points.len();
        let turn = points[n - 1].0 - points[0].0;
        within(
            "angle from first to last",
            "rad",
            turn,
            0.0,
            TAU * (1.0 - 1e-9),
        )?;
        let at: Vec<f64> = points.iter().map(|p| p.0).collect();
        let lift: Vec<f64> = points.iter().map(|p| p.1).collect();
        let step = |i: usize| {
            let next = if i + 1 == n { at[0] + TAU } else { at[i + 1] };
            next - at[i]
        };
        let slope = |i: usize| (lift[(i + 1) % n] - lift[i]) / step(i);
        // Cyclic tridiagonal system of the second derivatives.
        let (mut low, mut middle, mut high, mut right) =
            (vec![0.0; n], vec![0.0; n], vec![0.0; n], vec![0.0; n]);
        for i in 0..n {
            let before = (i + n - 1) % n;
            low[i] = step(before);
            high[i] = step(i);
            middle[i] = 2.0 * (low[i] + high[i]);
            right[i] = 6.0 * (slope(i) - slope(before));
        }
        let bend = cyclic(&low, &middle, &high, &right);
        Ok(Self { at, lift, bend })
    }

    /// Where the curve swings farthest beyond the least and greatest of its points: the points before and behind, rad, the lift there and by how
    /// much it is beyond. None where it nowhere does.
    pub fn beyond(&self) -> Option<([f64; 2], f64, f64)> {
        let ends = self
            .lift
            .iter()
            .fold([f64::INFINITY, f64::NEG_INFINITY], |[l, h], y| {
                [l.min(*y), h.max(*y)]
            });
        let n = self.at.len();
        let mut found: Option<([f64; 2], f64, f64)> = None;
        for (i, &from) in self.at.iter().enumerate() {
            let to = self.at[(i + 1) % n] + if i + 1 == n { TAU } else { 0.0 };
            for k in 1..SHARES {
                let lift = self
                    .at(from + (to - from) * f64::from(k) / f64::from(SHARES))
                    .lift;
                let by = (ends[0] - lift).max(lift - ends[1]);
                if by > found.map_or(0.0, |f| f.2) {
                    found = Some(([from, to.rem_euclid(TAU)], lift, by));
                }
            }
        }
        found
    }

    /// Lift and derivatives by the angle, at any angle.
    pub fn at(&self, angle: f64) -> Motion {
        let n = self.at.len();
        let first = self.at[0];
        let along = first + (angle - first).rem_euclid(TAU);
        let i = self.at.partition_point(|a| *a <= along).max(1) - 1;
        let next = (i + 1) % n;
        let end = if next == 0 {
            first + TAU
        } else {
            self.at[next]
        };
        let h = end - self.at[i];
        let (b, a) = ((along - self.at[i]) / h, (end - along) / h);
        let (y0, y1, m0, m1) = (self.lift[i], self.lift[next], self.bend[i], self.bend[next]);
        Motion {
            lift: a * y0 + b * y1 + ((a.powi(3) - a) * m0 + (b.powi(3) - b) * m1) * h * h / 6.0,
            velocity: (y1 - y0) / h
                + ((3.0 * b * b - 1.0) * m1 - (3.0 * a * a - 1.0) * m0) * h / 6.0,
            acceleration: a * m0 + b * m1,
            jerk: (m1 - m0) / h,
        }
    }
}

/// Solves a diagonally dominant cyclic tridiagonal system (Sherman–Morrison about the two corners).
fn cyclic(low: &[f64], middle: &[f64], high: &[f64], right: &[f64]) -> Vec<f64> {
    let n = middle.len();
    let (corner_low, corner_high) = (high[n - 1], low[0]);
    let gamma = -middle[0];
    let mut diagonal = middle.to_vec();
    diagonal[0] -= gamma;
    diagonal[n - 1] -= corner_low * corner_high / gamma;
    let x = tridiagonal(low, &diagonal, high, right);
    let mut u = vec![0.0; n];
    u[0] = gamma;
    u[n - 1] = corner_low;
    let z = tridiagonal(low, &diagonal, high, &u);
    let factor =
        (x[0] + corner_high * x[n - 1] / gamma) / (1.0 + z[0] + corner_high * z[n - 1] / gamma);
    x.iter().zip(&z).map(|(x, z)| x - factor * z).collect()
}

fn tridiagonal(low: &[f64], middle: &[f64], high: &[f64], right: &[f64]) -> Vec<f64> {
    let n = middle.len();
    let (mut c, mut d) = (vec![0.0; n], vec![0.0; n]);
    for i in 0..n {
        let (before_c, before_d) = if i == 0 {
            (0.0, 0.0)
        } else {
            (c[i - 1], d[i - 1])
        };
        let l = if i == 0 { 0.0 } else { low[i] };
        let pivot = middle[i] - l * before_c;
        c[i] = high[i] / pivot;
        d[i] = (right[i] - l * before_d) / pivot;
    }
    for i in (0..n - 1).rev() {
        d[i] -= c[i] * d[i + 1];
    }
    d
}
