//! What turns a machine: the torque of motors over their speed, and what a foot or a hand keeps up.
//!
//! Speeds in rad/s, torques in N·mm, power in W.

use crate::error::{not_negative, positive};
use crate::{ElementError, Source};

/// N·mm·rad/s of one watt.
const WATT: f64 = 1e3;

/// Kloss's equation of an induction motor on a stiff mains, stator resistance left out.
pub const KLOSS: Source = Source::memory(
    "Kloss's equation, M/Mk = 2/(s/sk + sk/s) (electrical machines textbooks; stator resistance left out)",
);

/// Pull-out torque over rated torque of a common induction motor.
pub const PULL_OUT: (f64, Source) = (
    2.0,
    Source::memory("NEMA MG 1, breakdown torque of design B: 200 % and more of full load"),
);

/// Torque of a motor over its speed.
#[derive(Clone, Debug, PartialEq)]
pub enum Line {
    /// An induction motor by Kloss's equation.
    Induction {
        /// Speed of the turning field, rad/s.
        synchronous: f64,
        /// Greatest torque, N·mm.
        pull_out: f64,
        /// Slip at which it gives that, a share of the synchronous speed.
        slip: f64,
    },
    /// Straight between (speed, torque), rising speeds; as the first and the last beyond them.
    Straight(Vec<[f64; 2]>),
}

impl Line {
    /// Torque at a speed, N·mm; it brakes above the synchronous speed.
    pub fn torque(&self, speed: f64) -> f64 {
        match self {
            Self::Induction {
                synchronous,
                pull_out,
                slip,
            } => {
                let s = (synchronous - speed) / synchronous;
                // 2 / (s/k + k/s), written so that no slip divides by nothing.
                2.0 * pull_out * s * slip / (s * s + slip * slip)
            }
            Self::Straight(pairs) => {
                let after = pairs.partition_point(|p| p[0] <= speed);
                match (
                    after.checked_sub(1).and_then(|i| pairs.get(i)),
                    pairs.get(after),
                ) {
                    (Some([x, y]), Some([u, v])) => y + (v - y) * (speed - x) / (u - x),
                    (Some(end), None) | (None, Some(end)) => end[1],
                    (None, None) => 0.0,
                }
            }
        }
    }

    /// Greatest torque, N·mm.
    pub fn most(&self) -> f64 {
        match self {
            Self::Induction { pull_out, .. } => *pull_out,
            Self::Straight(pairs) => pairs.iter().map(|p| p[1]).fold(0.0, f64::max),
        }
    }
}

/// Torque that goes with a power at a speed, N·mm.
///
/// # Errors
/// Neither above zero.
pub fn rated_torque(power: f64, speed: f64) -> Result<f64, ElementError> {
    Ok(WATT * positive("power", "W", power)? / positive("speed", "rad/s", speed)?)
}

/// The line of an induction motor from its rating: power at a speed, synchronous speed, pull-out over rated torque (more than 1).
/// The slip of greatest torque is that at which the rated torque comes out, `sr (k + √(k² − 1))`.
///
/// # Errors
/// Not above zero; a rated speed that is not below the synchronous one; a pull-out that is not above the rated torque.
pub fn induction(
    power: f64,
    speed: f64,
    synchronous: f64,
    pull_out: f64,
) -> Result<Line, ElementError> {
    let torque = rated_torque(power, speed)?;
    if speed >= synchronous {
        return Err(ElementError::TooSmall {
            what: "synchronous speed",
            unit: "rad/s",
            got: synchronous,
            than: "the rated speed",
            needed: speed,
        });
    }
    if pull_out <= 1.0 {
        return Err(ElementError::TooSmall {
            what: "pull-out over rated torque",
            unit: "",
            got: pull_out,
            than: "rated torque",
            needed: 1.0,
        });
    }
    let slip = (synchronous - speed) / synchronous;
    Ok(Line::Induction {
        synchronous,
        pull_out: pull_out * torque,
        slip: slip * (pull_out + (pull_out * pull_out - 1.0).sqrt()),
    })
}

/// What a person keeps up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Keeps {
    /// What does it: foot, hand.
    pub by: &'static str,
    /// Strokes or turns a minute that are comfortable, from and to.
    pub rates: [f64; 2],
    /// Where the rates come from.
    pub rates_from: Source,
    /// Power kept up through hours, W.
    pub through: f64,
    /// Power kept up for some minutes, W.
    pub minutes: f64,
    /// Where the powers come from.
    pub source: Source,
}

const LABOURER: Source = Source::seen(
    "Marks' Standard Handbook for Mechanical Engineers as quoted on human power: a labourer keeps up about 75 W over a shift; adults of good fitness 50 to 150 W for an hour of hard work",
);

/// Foot and hand. A treadle works one foot on its way down only; what it gives lies below what pedalling gives.
pub const KEEPS: [Keeps; 2] = [
    Keeps {
        by: "foot",
        rates: [50.0, 70.0],
        rates_from: Source::memory(
            "D. G. Wilson, Understanding Pedal Power, VITA technical paper 51: pedalling at 50 to 70 turns a minute",
        ),
        through: 75.0,
        minutes: 150.0,
        source: LABOURER,
    },
    Keeps {
        by: "hand",
        rates: [20.0, 40.0],
        rates_from: Source {
            text: "hand cranks of shop machines",
            confidence: crate::Confidence::CommonPractice,
        },
        through: 40.0,
        minutes: 75.0,
        source: Source {
            text: "about half of what the legs keep up",
            confidence: crate::Confidence::CommonPractice,
        },
    },
];

/// How much of its full force somebody still gives at a rate, who wants no more than `comfortable`: all of it up to there, none a tenth
/// above it, straight between. So a machine that runs light is not driven faster and faster.
///
/// # Errors
/// Negative values.
pub fn share(rate: f64, comfortable: f64) -> Result<f64, ElementError> {
    not_negative("rate", "1/min", rate)?;
    positive("comfortable rate", "1/min", comfortable)?;
    Ok((11.0 - 10.0 * rate / comfortable).clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn rpm(n: f64) -> f64 {
        n * TAU / 60.0
    }

    #[test]
    fn an_induction_motor_gives_its_rating_and_its_pull_out() {
        // 0.37 kW, 1420 of 1500 rev/min: 2.488 N m at the rating.
        let line = induction(370.0, rpm(1420.0), rpm(1500.0), 2.2).unwrap();
        assert!((line.torque(rpm(1420.0)) - 2488.2).abs() < 0.1);
        assert!((line.most() / line.torque(rpm(1420.0)) - 2.2).abs() < 1e-9);
        assert_eq!(line.torque(rpm(1500.0)), 0.0);
        assert!(line.torque(rpm(1550.0)) < 0.0);
        // Slip of greatest torque: no speed beside it gives more.
        let Line::Induction { slip, .. } = line else {
            panic!()
        };
        let at = rpm(1500.0) * (1.0 - slip);
        assert!((line.torque(at) - line.most()).abs() < 1e-6);
        assert!(line.torque(at * 1.01) < line.most() && line.torque(at * 0.99) < line.most());
    }

    #[test]
    fn a_textbook_case_of_kloss() {
        // Worked by hand from M = 2 Mk/(s/sk + sk/s): Mk = 100 N m at sk = 0.2; at standstill 200/(5 + 0.2) = 38.46, at s = 0.04
        // 200/(0.2 + 5) the same.
        let line = Line::Induction {
            synchronous: 157.08,
            pull_out: 100_000.0,
            slip: 0.2,
        };
        assert!((line.torque(0.0) - 38_461.538).abs() < 0.01);
        assert!((line.torque(157.08 * 0.96) - 38_461.538).abs() < 0.01);
    }

    #[test]
    fn a_straight_line_is_read_between_and_beyond() {
        let line = Line::Straight(vec![[0.0, 400.0], [100.0, 0.0]]);
        assert_eq!(line.torque(25.0), 300.0);
        assert_eq!((line.torque(-5.0), line.torque(200.0)), (400.0, 0.0));
        assert_eq!(line.most(), 400.0);
        assert_eq!(Line::Straight(Vec::new()).torque(3.0), 0.0);
    }

    #[test]
    fn wrong_ratings_are_refused() {
        assert!(induction(370.0, 160.0, 157.0, 2.0).is_err());
        assert!(induction(370.0, 150.0, 157.0, 1.0).is_err());
        assert!(rated_torque(0.0, 1.0).is_err() && share(1.0, 0.0).is_err());
        assert_eq!(share(60.0, 60.0).unwrap(), 1.0);
        assert!((share(63.0, 60.0).unwrap() - 0.5).abs() < 1e-9);
        assert_eq!(share(90.0, 60.0).unwrap(), 0.0);
    }
}
