//! Limits of size and the fit of a hole and a shaft, whatever system they come from.

/// Limits of size, mm. The deviations count from the nominal size; `upper >= lower`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Nominal (basic) size.
    pub nominal: f64,
    /// Upper deviation.
    pub upper: f64,
    /// Lower deviation.
    pub lower: f64,
}

impl Limits {
    /// The largest allowed size.
    pub fn most(&self) -> f64 {
        self.nominal + self.upper
    }

    /// The smallest allowed size.
    pub fn least(&self) -> f64 {
        self.nominal + self.lower
    }

    /// The size in the middle of the limits: what to aim at.
    pub fn middle(&self) -> f64 {
        self.nominal + f64::midpoint(self.upper, self.lower)
    }

    /// The tolerance: how far apart the limits are.
    pub fn tolerance(&self) -> f64 {
        self.upper - self.lower
    }
}

/// What a fit can turn out to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FitKind {
    /// There is always clearance (or none at the tightest).
    Clearance,
    /// Clearance or interference, as the parts happen to be.
    Transition,
    /// There is always interference (or none at the loosest).
    Interference,
}

/// A hole and a shaft of the same nominal size. Clearances are on diameter, mm; negative is interference.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// Limits of the hole.
    pub hole: Limits,
    /// Limits of the shaft.
    pub shaft: Limits,
}

impl Fit {
    /// Largest hole over smallest shaft.
    pub fn most_clearance(&self) -> f64 {
        self.hole.upper - self.shaft.lower
    }

    /// Smallest hole over largest shaft.
    pub fn least_clearance(&self) -> f64 {
        self.hole.lower - self.shaft.upper
    }

    /// Both in the middle of their limits.
    pub fn likely_clearance(&self) -> f64 {
        f64::midpoint(self.most_clearance(), self.least_clearance())
    }

    /// The band in which nearly all pairs lie, least first: root of the sum of squares of the two tolerances about
    /// the middle. It holds for sizes that scatter about the middle of their limits with three standard deviations
    /// to each limit (99.7 % of pairs).
    pub fn likely_band(&self) -> (f64, f64) {
        let half = 0.5 * self.hole.tolerance().hypot(self.shaft.tolerance());
        let middle = self.likely_clearance();
        (middle - half, middle + half)
    }

    /// What the fit can turn out to be.
    pub fn kind(&self) -> FitKind {
        if self.least_clearance() >= 0.0 {
            FitKind::Clearance
        } else if self.most_clearance() <= 0.0 {
            FitKind::Interference
        } else {
            FitKind::Transition
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clearance_and_its_likely_band() {
        let limits = |upper, lower| Limits {
            nominal: 25.0,
            upper,
            lower,
        };
        let fit = Fit {
            hole: limits(0.021, 0.0),
            shaft: limits(-0.007, -0.020),
        };
        assert!((fit.most_clearance() - 0.041).abs() < 1e-12);
        assert!((fit.least_clearance() - 0.007).abs() < 1e-12);
        assert_eq!(fit.kind(), FitKind::Clearance);
        let (low, high) = fit.likely_band();
        assert!(fit.least_clearance() < low && high < fit.most_clearance());
        assert!((fit.hole.middle() - 25.0105).abs() < 1e-12);
        let press = Fit {
            shaft: limits(0.035, 0.022),
            ..fit
        };
        assert_eq!(press.kind(), FitKind::Interference);
        let push = Fit {
            shaft: limits(0.015, 0.002),
            ..fit
        };
        assert_eq!(push.kind(), FitKind::Transition);
    }
}
