//! Laws of a rise from rest to rest: how the share of the lift grows with the share of the angle.

use crate::ElementError;
use crate::error::within;
use std::f64::consts::PI;

/// How a rise is shared out. Every law starts and ends at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Law {
    /// Half a cosine: acceleration steps where it meets a dwell.
    Harmonic,
    /// One whole sine of acceleration: smooth against a dwell, high in acceleration.
    Cycloidal,
    /// Polynomial of the fifth degree.
    Polynomial345,
    /// Polynomial of the seventh degree: jerk starts at nothing.
    Polynomial4567,
    /// Constant acceleration rounded by sines: the least acceleration of the smooth ones.
    ModifiedTrapezoid,
    /// Sine of two lengths: gentle on what it drives, the least torque.
    ModifiedSine,
    /// Constant velocity with half a cycloid at each end, over this share of the angle (0.02 to 0.5).
    ConstantVelocity {
        /// Share of the angle of each blend.
        blend: f64,
    },
}

/// Share of the lift and its derivatives by the share of the angle.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Motion {
    /// Lift.
    pub lift: f64,
    /// First derivative.
    pub velocity: f64,
    /// Second derivative.
    pub acceleration: f64,
    /// Third derivative.
    pub jerk: f64,
}

/// Greatest sizes over a rise of one in an angle of one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Peaks {
    /// Of velocity.
    pub velocity: f64,
    /// Of acceleration.
    pub acceleration: f64,
    /// Of jerk inside the rise.
    pub jerk: f64,
}

/// Shares of the angle in which acceleration rises and falls by a sine (`b`), stays (`c`) and crosses over by a cosine (`d`).
#[derive(Clone, Copy)]
struct Shares {
    b: f64,
    c: f64,
    d: f64,
}

impl Law {
    /// All laws, the blended one with a quarter at each end.
    pub const ALL: [Law; 7] = [
        Law::Harmonic,
        Law::Cycloidal,
        Law::Polynomial345,
        Law::Polynomial4567,
        Law::ModifiedTrapezoid,
        Law::ModifiedSine,
        Law::ConstantVelocity { blend: 0.25 },
    ];

    /// Name in the trade's words.
    pub const fn name(self) -> &'static str {
        match self {
            Law::Harmonic => "harmonic",
            Law::Cycloidal => "cycloidal",
            Law::Polynomial345 => "3-4-5",
            Law::Polynomial4567 => "4-5-6-7",
            Law::ModifiedTrapezoid => "modified trapezoid",
            Law::ModifiedSine => "modified sine",
            Law::ConstantVelocity { .. } => "constant velocity",
        }
    }

    /// The law of this name; the blended one with a quarter at each end.
    ///
    /// # Errors
    /// No law of that name.
    pub fn named(name: &str) -> Result<Law, ElementError> {
        let found = Law::ALL.into_iter().find(|law| law.name() == name);
        found.ok_or_else(|| crate::error::not_listed("law", name, Law::ALL.map(Law::name)))
    }

    /// Acceleration is nothing at both ends, so that a dwell may follow without a blow.
    pub const fn meets_a_dwell(self) -> bool {
        !matches!(self, Law::Harmonic)
    }

    /// Checks what the law is given.
    ///
    /// # Errors
    /// A blend outside 0.02 to 0.5.
    pub fn checked(self) -> Result<Law, ElementError> {
        if let Law::ConstantVelocity { blend } = self {
            within("share of each blend", "", blend, 0.02, 0.5)?;
        }
        Ok(self)
    }

    /// The rise at this share of its angle; 0 and 1 beyond its ends.
    pub fn at(self, u: f64) -> Motion {
        if u <= 0.0 || u.is_nan() {
            return Motion {
                lift: 0.0,
                ..self.inside(0.0)
            };
        }
        if u > 0.5 {
            // Every law is the same forwards and backwards.
            let back = self.inside((1.0 - u).max(0.0));
            return Motion {
                lift: 1.0 - back.lift,
                velocity: back.velocity,
                acceleration: -back.acceleration,
                jerk: back.jerk,
            };
        }
        self.inside(u)
    }

    /// The first half.
    fn inside(self, u: f64) -> Motion {
        match self {
            Law::Polynomial345 => polynomial(u, &[(3, 10.0), (4, -15.0), (5, 6.0)]),
            Law::Polynomial4567 => polynomial(u, &[(4, 35.0), (5, -84.0), (6, 70.0), (7, -20.0)]),
            Law::ConstantVelocity { blend } => blended(u, blend),
            Law::Harmonic => self.shares(0.0, 0.0).at(u),
            Law::Cycloidal => self.shares(0.5, 0.0).at(u),
            Law::ModifiedTrapezoid => self.shares(0.25, 0.5).at(u),
            Law::ModifiedSine => self.shares(0.25, 0.0).at(u),
        }
    }

    const fn shares(self, b: f64, c: f64) -> Shares {
        Shares {
            b,
            c,
            d: 1.0 - b - c,
        }
    }

    /// Greatest velocity, acceleration and jerk.
    pub fn peaks(self) -> Peaks {
        let of = |b: f64, c: f64| {
            let s = self.shares(b, c);
            let a = s.amplitude();
            Peaks {
                velocity: a * ((s.b + s.d) / PI + s.c / 2.0),
                acceleration: a,
                jerk: a * PI / if s.b > 0.0 { s.b.min(s.d) } else { s.d },
            }
        };
        match self {
            Law::Harmonic => of(0.0, 0.0),
            Law::Cycloidal => of(0.5, 0.0),
            Law::ModifiedTrapezoid => of(0.25, 0.5),
            Law::ModifiedSine => of(0.25, 0.0),
            Law::Polynomial345 => Peaks {
                velocity: 15.0 / 8.0,
                acceleration: 10.0 / 3.0_f64.sqrt(),
                jerk: 60.0,
            },
            // Acceleration is greatest where jerk is nothing: 5 u² − 5 u + 1 = 0.
            Law::Polynomial4567 => Peaks {
                velocity: 35.0 / 16.0,
                acceleration: self.at(0.5 - 0.05_f64.sqrt()).acceleration,
                jerk: 52.5,
            },
            Law::ConstantVelocity { blend } => {
                let velocity = 1.0 / (1.0 - blend);
                let acceleration = velocity * PI / (2.0 * blend);
                Peaks {
                    velocity,
                    acceleration,
                    jerk: acceleration * PI / blend,
                }
            }
        }
    }
}

/// Sum of terms of a polynomial, and its derivatives.
fn polynomial(u: f64, terms: &[(i32, f64)]) -> Motion {
    let mut m = Motion::default();
    for &(n, c) in terms {
        let k = f64::from(n);
        m.lift += c * u.powi(n);
        m.velocity += c * k * u.powi(n - 1);
        m.acceleration += c * k * (k - 1.0) * u.powi(n - 2);
        m.jerk += c * k * (k - 1.0) * (k - 2.0) * u.powi(n - 3);
    }
    m
}

fn blended(u: f64, blend: f64) -> Motion {
    let v = 1.0 / (1.0 - blend);
    if u >= blend {
        return Motion {
            lift: v * (u - blend / 2.0),
            velocity: v,
            ..Motion::default()
        };
    }
    let (sine, cosine) = (PI * u / blend).sin_cos();
    Motion {
        lift: v / 2.0 * (u - blend / PI * sine),
        velocity: v / 2.0 * (1.0 - cosine),
        acceleration: v / 2.0 * PI / blend * sine,
        jerk: v / 2.0 * (PI / blend).powi(2) * cosine,
    }
}

impl Shares {
    /// Acceleration with which the lift comes to one.
    fn amplitude(self) -> f64 {
        let Shares { b, d, .. } = self;
        4.0 * PI * PI / ((PI * PI - 8.0) * (b * b - d * d) - 2.0 * PI * (PI - 2.0) * b + PI * PI)
    }

    /// The first half of the rise.
    fn at(self, u: f64) -> Motion {
        let Shares { b, c, d } = self;
        let a = self.amplitude();
        if u < b / 2.0 {
            let (sine, cosine) = (PI * u / b).sin_cos();
            return Motion {
                lift: a * (b * u / PI - (b / PI).powi(2) * sine),
                velocity: a * b / PI * (1.0 - cosine),
                acceleration: a * sine,
                jerk: a * PI / b * cosine,
            };
        }
        let rounding = b * b * (0.125 - 1.0 / (PI * PI));
        if u < (1.0 - d) / 2.0 {
            let run = b * (1.0 / PI - 0.5);
            return Motion {
                lift: a * (u * u / 2.0 + run * u + rounding),
                velocity: a * (u + run),
                acceleration: a,
                jerk: 0.0,
            };
        }
        let (sine, cosine) = (PI / d * (u - (1.0 - d) / 2.0)).sin_cos();
        let round = (d / PI).powi(2);
        Motion {
            lift: a
                * ((b / PI + c / 2.0) * u + round + rounding
                    - ((1.0 - d) / 2.0).powi(2) / 2.0
                    - round * cosine),
            velocity: a * (b / PI + c / 2.0 + d / PI * sine),
            acceleration: a * cosine,
            jerk: -a * PI / d * sine,
        }
    }
}
