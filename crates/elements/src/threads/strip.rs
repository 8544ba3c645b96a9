//! Stripping: thread shear areas and the length of engagement (FED-STD-H28/2; Machinery's Handbook, "length of
//! engagement of mating threads").

use super::metric::ThreadLimits;
use crate::error::positive;
use crate::{Check, ElementError, Source};
use std::f64::consts::PI;

/// The formulas.
pub const SOURCE: Source =
    Source::derived("FED-STD-H28/2 thread shear areas; Machinery's Handbook length of engagement");

/// tan 30°.
const FLANK: f64 = 0.577_350_269_189_625_8;

/// Sizes that govern stripping, mm: the weakest pair within the limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// Pitch.
    pub pitch: f64,
    /// Least major diameter of the screw.
    pub screw_major: f64,
    /// Least pitch diameter of the screw.
    pub screw_pitch: f64,
    /// Greatest minor diameter of the nut, or the drilled hole.
    pub nut_minor: f64,
    /// Greatest pitch diameter of the nut.
    pub nut_pitch: f64,
}

impl Pair {
    /// The weakest pair within limits. A hole larger than the limits counts as it is.
    pub fn of_limits(limits: &ThreadLimits, pitch: f64, hole: Option<f64>) -> Self {
        Self {
            pitch,
            screw_major: limits.screw_major.least(),
            screw_pitch: limits.screw_pitch.least(),
            nut_minor: hole.unwrap_or(limits.nut_minor.most()),
            nut_pitch: limits.nut_pitch.most(),
        }
    }

    /// Shear area of the screw's thread along the nut's minor diameter, mm² per mm of engagement.
    ///
    /// # Errors
    /// Sizes that are not positive, or threads that do not reach into each other.
    pub fn screw_area(&self) -> Result<f64, ElementError> {
        positive("pitch", "mm", self.pitch)?;
        positive("minor diameter of the nut", "mm", self.nut_minor)?;
        let width = self.pitch / 2.0 + FLANK * (self.screw_pitch - self.nut_minor);
        Ok(PI * self.nut_minor / self.pitch * positive("thread of the screw", "mm", width)?)
    }

    /// Shear area of the nut's thread along the screw's major diameter, mm² per mm of engagement.
    ///
    /// # Errors
    /// As for [`Pair::screw_area`].
    pub fn nut_area(&self) -> Result<f64, ElementError> {
        positive("pitch", "mm", self.pitch)?;
        positive("major diameter of the screw", "mm", self.screw_major)?;
        let width = self.pitch / 2.0 + FLANK * (self.screw_major - self.nut_pitch);
        Ok(PI * self.screw_major / self.pitch * positive("thread of the nut", "mm", width)?)
    }
}

/// Engagement that makes the screw break before its thread strips, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Engagement {
    /// For nut and screw of the same strength: 2 As/shear area per length.
    pub equal: f64,
    /// Strength of the screw's thread over that of the nut's.
    pub j: f64,
    /// What is needed: the first, times J when the nut is the weaker.
    pub needed: f64,
}

/// Length of engagement for a screw of stress area `stress_area`, mm², and the tensile strengths of both, MPa.
///
/// # Errors
/// Sizes or strengths that are not positive.
pub fn engagement(
    pair: &Pair,
    stress_area: f64,
    screw_strength: f64,
    nut_strength: f64,
) -> Result<Engagement, ElementError> {
    positive("stress area", "mm²", stress_area)?;
    positive("tensile strength of the screw", "MPa", screw_strength)?;
    positive("tensile strength of the nut", "MPa", nut_strength)?;
    let screw = pair.screw_area()?;
    // The shear area shall be twice the stress area: shear strength is taken as half the tensile strength.
    let equal = 2.0 * stress_area / screw;
    let j = screw * screw_strength / (pair.nut_area()? * nut_strength);
    Ok(Engagement {
        equal,
        j,
        needed: equal * j.max(1.0),
    })
}

/// A pull against stripping of both threads, with half the tensile strength as shear strength, N.
///
/// # Errors
/// Sizes or strengths that are not positive; a negative pull.
pub fn checks(
    pair: &Pair,
    engaged: f64,
    pull: f64,
    screw_strength: f64,
    nut_strength: f64,
) -> Result<[Check; 2], ElementError> {
    positive("length of engagement", "mm", engaged)?;
    crate::error::not_negative("pull", "N", pull)?;
    positive("tensile strength of the screw", "MPa", screw_strength)?;
    positive("tensile strength of the nut", "MPa", nut_strength)?;
    let check = |what, bears| Check {
        what,
        acts: pull,
        bears,
        unit: "N",
        source: SOURCE,
    };
    Ok([
        check(
            "stripping of the screw's thread",
            pair.screw_area()? * engaged * 0.5 * screw_strength,
        ),
        check(
            "stripping of the tapped thread",
            pair.nut_area()? * engaged * 0.5 * nut_strength,
        ),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::threads::{COARSE, basic, metric};

    #[test]
    fn steel_in_steel_needs_less_than_a_diameter() {
        for (major, pitch) in COARSE {
            let l = metric::limits(major, pitch).unwrap();
            let pair = Pair::of_limits(&l, pitch, None);
            let area = basic(major, pitch).unwrap().stress_area;
            let e = engagement(&pair, area, 800.0, 800.0).unwrap();
            let share = e.equal / major;
            assert!((0.5..1.0).contains(&share), "M{major}: {share}");
            assert!(pair.nut_area().unwrap() > pair.screw_area().unwrap());
            assert!(e.j < 1.0 && e.needed == e.equal);
            let soft = engagement(&pair, area, 800.0, 310.0).unwrap();
            assert!(
                soft.needed > e.needed && soft.needed / major < 2.5,
                "M{major}"
            );
            // At the needed length both give way together.
            let [_, nut] = checks(&pair, soft.needed, area * 800.0, 800.0, 310.0).unwrap();
            assert!((nut.factor() - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn a_large_hole_weakens_the_screw_thread() {
        let l = metric::limits(8.0, 1.25).unwrap();
        let tight = Pair::of_limits(&l, 1.25, Some(6.8));
        let loose = Pair::of_limits(&l, 1.25, Some(7.1));
        assert!(loose.screw_area().unwrap() < tight.screw_area().unwrap());
        assert!(Pair::of_limits(&l, 1.25, Some(9.0)).screw_area().is_err());
        assert!(checks(&tight, 0.0, 1.0, 800.0, 300.0).is_err());
    }
}
