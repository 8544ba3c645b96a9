//! Numbers that a residual can be written in: plain `f64`, [`Jet`] for exact first and second rates along a motion, [`Jet3`] for the third.

use std::ops::{Add, Mul, Neg, Sub};

/// What a residual needs of a number.
pub(crate) trait Num:
    Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Neg<Output = Self>
{
    /// A constant.
    fn of(value: f64) -> Self;
    /// Sine and cosine, angle in rad.
    fn sin_cos(self) -> (Self, Self);
    /// Reciprocal.
    fn recip(self) -> Self;
    /// Square root.
    fn sqrt(self) -> Self;
    /// The value alone.
    fn value(self) -> f64;
    /// A function of the number, given its value and first three derivatives there.
    fn chain(self, at: [f64; 4]) -> Self;
}

impl Num for f64 {
    fn of(value: f64) -> Self {
        value
    }
    fn sin_cos(self) -> (Self, Self) {
        f64::sin_cos(self)
    }
    fn recip(self) -> Self {
        1.0 / self
    }
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }
    fn value(self) -> f64 {
        self
    }
    fn chain(self, [value, ..]: [f64; 4]) -> Self {
        value
    }
}

/// A value with its first and second rate along one motion (a Taylor series cut after the second term).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Jet {
    /// Value.
    pub(crate) value: f64,
    /// First rate.
    pub(crate) rate: f64,
    /// Second rate.
    pub(crate) second: f64,
}

impl Jet {
    fn by(self, value: f64, first: f64, second: f64) -> Self {
        Self {
            value,
            rate: first * self.rate,
            second: first * self.second + second * self.rate * self.rate,
        }
    }
}

impl Add for Jet {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self {
            value: self.value + o.value,
            rate: self.rate + o.rate,
            second: self.second + o.second,
        }
    }
}

impl Sub for Jet {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self {
            value: self.value - o.value,
            rate: self.rate - o.rate,
            second: self.second - o.second,
        }
    }
}

impl Mul for Jet {
    type Output = Self;
    fn mul(self, o: Self) -> Self {
        Self {
            value: self.value * o.value,
            rate: self.rate * o.value + self.value * o.rate,
            second: self.second * o.value + 2.0 * self.rate * o.rate + self.value * o.second,
        }
    }
}

impl Neg for Jet {
    type Output = Self;
    fn neg(self) -> Self {
        Self {
            value: -self.value,
            rate: -self.rate,
            second: -self.second,
        }
    }
}

impl Num for Jet {
    fn of(value: f64) -> Self {
        Self {
            value,
            rate: 0.0,
            second: 0.0,
        }
    }
    fn sin_cos(self) -> (Self, Self) {
        let (s, c) = self.value.sin_cos();
        (self.by(s, c, -s), self.by(c, -s, -c))
    }
    fn recip(self) -> Self {
        let r = 1.0 / self.value;
        self.by(r, -r * r, 2.0 * r * r * r)
    }
    fn sqrt(self) -> Self {
        let r = self.value.sqrt();
        self.by(r, 0.5 / r, -0.25 / (r * self.value))
    }
    fn value(self) -> f64 {
        self.value
    }
    fn chain(self, [value, first, second, _]: [f64; 4]) -> Self {
        self.by(value, first, second)
    }
}

/// A [`Jet`] with its third rate: slower, so only where jerk is asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Jet3 {
    /// Value and the first two rates.
    pub(crate) jet: Jet,
    /// Third rate.
    pub(crate) third: f64,
}

impl Add for Jet3 {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self {
            jet: self.jet + o.jet,
            third: self.third + o.third,
        }
    }
}

impl Sub for Jet3 {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self {
            jet: self.jet - o.jet,
            third: self.third - o.third,
        }
    }
}

impl Mul for Jet3 {
    type Output = Self;
    fn mul(self, o: Self) -> Self {
        let (a, b) = (self.jet, o.jet);
        Self {
            jet: a * b,
            third: self.third * b.value
                + 3.0 * (a.second * b.rate + a.rate * b.second)
                + a.value * o.third,
        }
    }
}

impl Neg for Jet3 {
    type Output = Self;
    fn neg(self) -> Self {
        Self {
            jet: -self.jet,
            third: -self.third,
        }
    }
}

impl Num for Jet3 {
    fn of(value: f64) -> Self {
        Self {
            jet: Jet::of(value),
            third: 0.0,
        }
    }
    fn sin_cos(self) -> (Self, Self) {
        let (s, c) = self.jet.value.sin_cos();
        (self.chain([s, c, -s, -c]), self.chain([c, -s, -c, s]))
    }
    fn recip(self) -> Self {
        let r = 1.0 / self.jet.value;
        self.chain([r, -r * r, 2.0 * r.powi(3), -6.0 * r.powi(4)])
    }
    fn sqrt(self) -> Self {
        let (v, r) = (self.jet.value, self.jet.value.sqrt());
        self.chain([r, 0.5 / r, -0.25 / (r * v), 0.375 / (r * v * v)])
    }
    fn value(self) -> f64 {
        self.jet.value
    }
    /// Faà di Bruno.
    fn chain(self, at: [f64; 4]) -> Self {
        let [_, first, second, third] = at;
        let Jet {
            rate, second: bend, ..
        } = self.jet;
        Self {
            jet: self.jet.chain(at),
            third: first * self.third + 3.0 * second * rate * bend + third * rate.powi(3),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn jets_carry_exact_rates() {
        // f(t) = sqrt(2 + sin t) / (1 + t²) at t = 0.7, rates by hand-written formulas.
        let t: f64 = 0.7;
        let x = Jet {
            value: t,
            rate: 1.0,
            second: 0.0,
        };
        let f = (Jet::of(2.0) + x.sin_cos().0).sqrt() * (Jet::of(1.0) + x * x).recip();
        let g = |t: f64| (2.0 + t.sin()).sqrt() / (1.0 + t * t);
        let h = 1e-4;
        assert!((f.value - g(t)).abs() < 1e-15);
        assert!((f.rate - (g(t + h) - g(t - h)) / (2.0 * h)).abs() < 1e-8);
        assert!((f.second - (g(t + h) - 2.0 * g(t) + g(t - h)) / (h * h)).abs() < 1e-6);
    }

    #[test]
    fn third_rates_are_exact() {
        // exp-free cases with known third derivatives: sin, 1/x, √x and x³ at t = 0.7.
        let t: f64 = 0.7;
        let x = Jet3 {
            jet: Jet {
                value: t,
                rate: 1.0,
                second: 0.0,
            },
            third: 0.0,
        };
        let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-12 * wanted.abs());
        near(x.sin_cos().0.third, -t.cos());
        near(x.sin_cos().1.third, t.sin());
        near(x.recip().third, -6.0 / t.powi(4));
        near(x.sqrt().third, 0.375 * t.powf(-2.5));
        near((x * x * x).third, 6.0);
        // A function of a function: sin(t²), third derivative −12 t sin t² − 8 t³ cos t².
        let q = t * t;
        near(
            (x * x).sin_cos().0.third,
            -12.0 * t * q.sin() - 8.0 * t.powi(3) * q.cos(),
        );
    }
}
