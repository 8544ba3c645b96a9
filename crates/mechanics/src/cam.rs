//! Cams: a shape that turns and what rides on it, joined by one equation.
//!
//! A shape is cut for one follower: for each turn of the cam, that follower's pin has its place. Seen from the cam, the follower goes round it and
//! its pin draws the path that is cut. A pin anywhere near the path has a turn at which the follower would pass through it (found in closed
//! form), and stands off the path by how much farther out along the follower's way it is. So the equation is exact for a pin
//! guided as the shape was cut for, and stays right when the guide stands elsewhere, as made guides do.
//!
//! # Conventions
//! A pin's place is taken from the cam's centre, in axes fixed on the cam: along a *reference* and to the left of it. With the program at zero
//! the reference is the way outwards of a follower in line, or points to a rocker's pivot. A cam whose program runs as it turns clockwise is seen in a
//! mirror. Angles in rad, lengths in mm.

use crate::num::{Jet, Num};
use std::fmt::Debug;
use std::sync::Arc;

/// Lift of a follower over the turn of its cam.
pub trait Lift: Debug + Send + Sync {
    /// Lift (mm, or rad of a rocker or wheel) at a turn of the program, rad, with its first three derivatives. Repeats after a whole turn,
    /// unless it is that of a wheel.
    fn at(&self, turn: f64) -> [f64; 4];
}

/// The follower a shape is cut for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ride {
    /// Its pin goes straight.
    InLine {
        /// How far its way passes the centre, to the right as it goes outwards, mm.
        offset: f64,
        /// Where it stands without lift: distance from the foot of the perpendicular out of the centre, mm.
        from: f64,
    },
    /// Its pin is on an arm that turns about a pivot.
    Rocker {
        /// Distance of the pivot from the centre, mm.
        centres: f64,
        /// Length of the arm, mm.
        arm: f64,
        /// 1 when the pin stands to the left of the line from centre to pivot, −1 to the right.
        hand: f64,
        /// Angle at the pivot between centre and pin without lift, rad.
        from: f64,
    },
    /// A wheel that is driven at once: the lift is its turn against that of the driver, as of a Geneva wheel, and need not come back after a
    /// turn. It has no path; see [`Constraint::Course`](crate::model::Constraint::Course).
    Wheel,
}

/// The shape of a cam.
#[derive(Clone, Debug)]
pub struct Cam {
    /// What rides on it.
    pub ride: Ride,
    /// 1 when the program runs as the cam turns counter-clockwise, −1 clockwise.
    pub sense: f64,
    /// Radius of the roller or pin it is cut for, mm.
    pub roller: f64,
    /// The program.
    pub lift: Arc<dyn Lift>,
}

/// How far a pin stands off its path, along the follower's way, with derivatives.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Touch {
    /// mm; positive outwards.
    pub off: f64,
    /// By the pin's place along the reference and to the left of it. Its length is the pull of the shape: normal force over the force
    /// along the follower's way, 1 over the cosine of the pressure angle.
    pub by: [f64; 2],
    /// By how far the path lies outwards of where it was meant, square to itself.
    pub by_swell: f64,
    /// Turn of the program at which the follower passes through the pin, rad, not reduced to a turn.
    pub turn: f64,
}

impl Cam {
    /// The pin's place off the path; `swell` is how far the path lies outwards of where it was meant (a cam cut too large, a roller too large).
    pub(crate) fn off<N: Num>(&self, pin: [N; 2], swell: N) -> N {
        let place = [pin[0], N::of(self.sense) * pin[1]];
        let (own, polar, unit) = self.ride.reach(place[0] * place[0] + place[1] * place[1]);
        let turn = polar - angle(place);
        let lift = turn.chain(self.lift.at(turn.value()));
        let slope = turn.chain(self.slope(turn.value()));
        N::of(unit) * (own - N::of(self.ride.from()) - lift) - swell * slope
    }

    /// The same with its first derivatives; not a number where the follower does not reach.
    pub fn touch(&self, pin: [f64; 2], swell: f64) -> Touch {
        let (a, b) = (pin[0], self.sense * pin[1]);
        let square = a * a + b * b;
        let r = square.sqrt();
        let (own, polar, unit) = self.ride.reach(square);
        let [own_rate, polar_rate] = self.ride.rates(r, own);
        let turn = polar - b.atan2(a);
        let [lift, velocity, ..] = self.lift.at(turn);
        let [slope, slope_rate, ..] = self.slope(turn);
        // By the turn of the program at a fixed distance.
        let by_turn = unit * velocity + swell * slope_rate;
        let outwards = (unit * own_rate - by_turn * polar_rate) / r;
        let around = by_turn / square;
        Touch {
            off: unit * (own - self.ride.from() - lift) - swell * slope,
            by: [
                outwards * a - around * b,
                self.sense * (outwards * b + around * a),
            ],
            by_swell: -slope,
            turn,
        }
    }

    /// One over the cosine of the pressure angle, with its first two derivatives by the turn of the program.
    fn slope(&self, turn: f64) -> [f64; 4] {
        let [lift, velocity, acceleration, jerk] = self.lift.at(turn);
        let rate = Jet {
            value: velocity,
            rate: acceleration,
            second: jerk,
        };
        let one = Jet::of(1.0);
        let slope = match self.ride {
            Ride::InLine { offset, from } => {
                let along = Jet {
                    value: from + lift,
                    rate: velocity,
                    second: acceleration,
                };
                let lean = (rate - Jet::of(offset)) * along.recip();
                (one + lean * lean).sqrt()
            }
            Ride::Rocker {
                centres,
                arm,
                hand,
                from,
            } => {
                let at_pivot = Jet {
                    value: from + lift,
                    rate: velocity,
                    second: acceleration,
                };
                // Speed of the pin as seen from the cam, square to the arm and along it.
                let (sine, cosine) = at_pivot.sin_cos();
                let turned = Jet::of(hand) * (Jet::of(arm) - Jet::of(centres) * cosine)
                    + Jet::of(arm) * rate;
                let lean = turned * (Jet::of(centres) * sine).recip();
                (one + lean * lean).sqrt()
            }
            Ride::Wheel => Jet::of(f64::NAN),
        };
        [slope.value, slope.rate, slope.second, 0.0]
    }
}

impl Ride {
    fn from(self) -> f64 {
        match self {
            Self::InLine { from, .. } | Self::Rocker { from, .. } => from,
            Self::Wheel => f64::NAN,
        }
    }

    /// What the follower measures when its pin is so far (squared) from the centre, the angle of the pin as seen from the centre then,
    /// and mm for one of what it measures.
    fn reach<N: Num>(self, square: N) -> (N, N, f64) {
        match self {
            Self::InLine { offset, .. } => {
                let along = (square - N::of(offset * offset)).sqrt();
                (along, angle([along, N::of(-offset)]), 1.0)
            }
            Self::Rocker {
                centres, arm, hand, ..
            } => {
                let both = 2.0 * centres * arm;
                let cosine = (N::of(centres * centres + arm * arm) - square) * N::of(1.0 / both);
                let sine = (N::of(1.0) - cosine * cosine).sqrt();
                let place = [
                    N::of(centres) - N::of(arm) * cosine,
                    N::of(hand * arm) * sine,
                ];
                (angle([cosine, sine]), angle(place), arm)
            }
            Self::Wheel => (N::of(f64::NAN), N::of(f64::NAN), 1.0),
        }
    }

    /// Derivatives of both by the distance from the centre.
    fn rates(self, r: f64, own: f64) -> [f64; 2] {
        match self {
            Self::InLine { offset, .. } => [r / own, offset / (r * own)],
            Self::Rocker {
                centres, arm, hand, ..
            } => {
                let across = centres * arm * own.sin();
                [
                    r / across,
                    hand * (centres * centres - arm * arm - r * r) / (2.0 * r * across),
                ]
            }
            Self::Wheel => [f64::NAN; 2],
        }
    }
}

/// Angle of a direction, rad.
fn angle<N: Num>([x, y]: [N; 2]) -> N {
    let (c, s) = (x.value(), y.value());
    let size = c.hypot(s);
    let (c, s) = (c / size, s / size);
    let ahead = N::of(c) * x + N::of(s) * y;
    let aside = N::of(c) * y - N::of(s) * x;
    let t = aside * ahead.recip();
    let turned = t.value();
    let slope = 1.0 / (1.0 + turned * turned);
    let bend = -2.0 * turned * slope * slope;
    let twist = (6.0 * turned * turned - 2.0) * slope * slope * slope;
    N::of(s.atan2(c)) + t.chain([turned.atan(), slope, bend, twist])
}
