//! A program of rises, dwells and returns over one turn of the cam.

use crate::ElementError;
use crate::cams::{Course, Law, Motion, Spline};
use crate::error::{finite, positive, within};
use std::f64::consts::TAU;

/// One piece of a program.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// Angle of the cam it takes, rad.
    pub over: f64,
    /// Lift at its end.
    pub to: f64,
    /// How it gets there; of no meaning for a dwell.
    pub law: Law,
}

/// Lift over one turn of the cam, which repeats.
#[derive(Clone, Debug, PartialEq)]
pub enum Program {
    /// Piece after piece, beginning and ending with the lift of the last.
    Pieces(Vec<Piece>),
    /// Through points.
    Through(Spline),
    /// As it came out of another calculation.
    Led(Course),
}

/// Where acceleration steps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jump {
    /// Angle of the cam, rad.
    pub at: f64,
    /// Acceleration after less before, by rad squared.
    pub by: f64,
}

impl Program {
    /// Of pieces that make one whole turn.
    ///
    /// # Errors
    /// No piece, an angle that is not positive, angles that do not add up to a whole turn, a law that cannot be.
    pub fn of_pieces(pieces: Vec<Piece>) -> Result<Self, ElementError> {
        within("number of pieces", "", pieces.len() as f64, 1.0, 1000.0)?;
        for piece in &pieces {
            positive("angle of a piece", "rad", piece.over)?;
            finite("lift", piece.to)?;
            piece.law.checked()?;
        }
        let sum: f64 = pieces.iter().map(|p| p.over).sum();
        within(
            "sum of all angles",
            "rad",
            sum,
            TAU * (1.0 - 1e-9),
            TAU * (1.0 + 1e-9),
        )?;
        Ok(Self::Pieces(pieces))
    }

    /// Lift and its derivatives by the angle of the cam (rad), at any angle.
    pub fn at(&self, angle: f64) -> Motion {
        let pieces = match self {
            Self::Through(spline) => return spline.at(angle),
            Self::Led(course) => return course.at(angle),
            Self::Pieces(pieces) => pieces,
        };
        let mut left = angle.rem_euclid(TAU);
        let mut from = pieces.last().map_or(0.0, |p| p.to);
        for (n, piece) in pieces.iter().enumerate() {
            if left < piece.over || n + 1 == pieces.len() {
                return piece.at(from, left);
            }
            left -= piece.over;
            from = piece.to;
        }
        Motion::default()
    }

    /// Angles at which a piece begins, from zero on.
    pub fn seams(&self) -> Vec<f64> {
        let Self::Pieces(pieces) = self else {
            return Vec::new();
        };
        let mut at = 0.0;
        pieces
            .iter()
            .map(|p| {
                let begins = at;
                at += p.over;
                begins
            })
            .collect()
    }

    /// Seams at which acceleration steps by more than a thousandth of its greatest: there it strikes.
    pub fn jumps(&self) -> Vec<Jump> {
        let Self::Pieces(pieces) = self else {
            return Vec::new();
        };
        let mut from = pieces.last().map_or(0.0, |p| p.to);
        let mut ends = Vec::new();
        for piece in pieces {
            ends.push((piece.at(from, 0.0), piece.at(from, piece.over)));
            from = piece.to;
        }
        let steepest = pieces
            .iter()
            .zip(
                std::iter::once(pieces.last().map_or(0.0, |p| p.to))
                    .chain(pieces.iter().map(|p| p.to)),
            )
            .map(|(p, from)| p.law.peaks().acceleration * (p.to - from).abs() / p.over.powi(2))
            .fold(0.0, f64::max);
        let n = pieces.len();
        self.seams()
            .into_iter()
            .enumerate()
            .map(|(i, at)| Jump {
                at,
                by: ends[i].0.acceleration - ends[(i + n - 1) % n].1.acceleration,
            })
            .filter(|j| j.by.abs() > 1e-3 * steepest)
            .collect()
    }

    /// Least and greatest lift at the ends of pieces, or of the spline at every half degree.
    pub fn ends(&self) -> [f64; 2] {
        let of = |lifts: &mut dyn Iterator<Item = f64>| {
            lifts.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], l| {
                [low.min(l), high.max(l)]
            })
        };
        match self {
            Self::Led(course) => course.ends(),
            Self::Pieces(pieces) => of(&mut pieces.iter().map(|p| p.to)),
            Self::Through(spline) => {
                of(&mut (0..720).map(|n| spline.at(f64::from(n).to_radians() / 2.0).lift))
            }
        }
    }
}

impl Piece {
    /// From this lift, so far into the piece.
    fn at(&self, from: f64, left: f64) -> Motion {
        let by = self.to - from;
        if by == 0.0 {
            return Motion {
                lift: from,
                ..Motion::default()
            };
        }
        let m = self.law.at(left / self.over);
        Motion {
            lift: from + by * m.lift,
            velocity: by * m.velocity / self.over,
            acceleration: by * m.acceleration / self.over.powi(2),
            jerk: by * m.jerk / self.over.powi(3),
        }
    }
}
