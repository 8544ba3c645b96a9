//! Between which values something goes that comes again, as the part feels it that carries it.

use std::f64::consts::PI;

/// Directions over half a turn in which a force is looked at, 5 degrees apart.
const DIRECTIONS: usize = 36;
/// As good as all of it.
const ALL: f64 = 0.995;

/// From the least to the greatest; nothing is always between, since every load is put on and taken off.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Course {
    least: f64,
    most: f64,
}

impl Course {
    pub(crate) fn meet(&mut self, value: f64) {
        self.least = self.least.min(value);
        self.most = self.most.max(value);
    }

    /// The greatest size.
    pub(crate) fn greatest(self) -> f64 {
        self.most.max(-self.least)
    }

    /// Half of what it goes from the least to the greatest.
    fn amplitude(self) -> f64 {
        0.5 * (self.most - self.least)
    }

    /// Share of the greatest that alternates: a half where it comes and goes one way, all of it where it goes as far the other.
    pub(crate) fn alternates(self) -> f64 {
        share(self.amplitude(), self.greatest())
    }
}

/// A force or a bending moment that turns, as seen from the part that carries it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Turning {
    along: [Course; DIRECTIONS],
    greatest: f64,
}

impl Default for Turning {
    fn default() -> Self {
        Self {
            along: [Course::default(); DIRECTIONS],
            greatest: 0.0,
        }
    }
}

impl Turning {
    /// Takes in a value; `turned` is the angle of the part.
    pub(crate) fn meet(&mut self, [x, y]: [f64; 2], turned: f64) {
        for (i, course) in self.along.iter_mut().enumerate() {
            let (s, c) = (turned + PI * i as f64 / DIRECTIONS as f64).sin_cos();
            course.meet(x * c + y * s);
        }
        self.greatest = self.greatest.max(x.hypot(y));
    }

    pub(crate) fn greatest(&self) -> f64 {
        self.greatest
    }

    /// Share of the greatest that alternates where it tires the part most.
    pub(crate) fn alternates(&self) -> f64 {
        let most = self.along.iter().map(|c| c.amplitude());
        share(most.fold(0.0, f64::max), self.greatest)
    }
}

fn share(amplitude: f64, greatest: f64) -> f64 {
    if greatest <= 0.0 {
        return 0.5;
    }
    match (amplitude / greatest).clamp(0.5, 1.0) {
        s if s >= ALL => 1.0,
        s => s,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comes_and_goes_or_reverses() {
        let mut one = Course::default();
        assert_eq!((one.greatest(), one.alternates()), (0.0, 0.5));
        one.meet(8.0);
        one.meet(3.0);
        assert_eq!((one.greatest(), one.alternates()), (8.0, 0.5));
        one.meet(-4.0);
        assert_eq!(one.alternates(), 0.75);
        one.meet(-8.0);
        assert_eq!(one.alternates(), 1.0);
    }

    /// A load that stands still is a load that goes round to what goes round under it, and the other way about.
    #[test]
    fn who_turns_under_a_load_that_stands_feels_it_go_round() {
        let (mut still, mut round) = (Turning::default(), Turning::default());
        for degrees in 0..72 {
            let turned = (5.0 * f64::from(degrees)).to_radians();
            still.meet([0.0, -100.0], 0.0);
            round.meet([0.0, -100.0], turned);
        }
        assert!((still.alternates() - 0.5).abs() < 1e-9);
        assert_eq!(round.alternates(), 1.0);
        assert!((round.greatest() - 100.0).abs() < 1e-9);
        let mut with_it = Turning::default();
        for degrees in 0..72 {
            let turned = (5.0 * f64::from(degrees)).to_radians();
            with_it.meet([100.0 * turned.cos(), 100.0 * turned.sin()], turned);
        }
        assert!((with_it.alternates() - 0.5).abs() < 1e-9);
    }
}
