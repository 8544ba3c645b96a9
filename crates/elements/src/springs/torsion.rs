//! Torsion springs: a coil that is bent by a moment in the direction of winding.

use super::wire::Wire;
use super::{SHIGLEY, index};
use crate::error::{more_than, not_negative, positive};
use crate::{Check, ElementError};
use std::f64::consts::PI;

/// A torsion spring, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Torsion {
    /// Wire size.
    pub wire: f64,
    /// Mean coil diameter.
    pub mean: f64,
    /// Coils of the body.
    pub body_coils: f64,
    /// Length of the two straight legs to where they are loaded.
    pub legs: (f64, f64),
    /// Material.
    pub material: &'static Wire,
}

/// What follows from the sizes alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figures {
    /// N·mm/rad: d⁴ E/(64 D Na), with 10.8 for 64/2π as tests show (Shigley eq. 10-51).
    pub rate: f64,
    /// Coils that work: those of the body and (l₁+l₂)/(3πD) for the legs.
    pub active: f64,
    /// Inside diameter, free, mm.
    pub inside: f64,
    /// Length of the body, free, mm.
    pub body: f64,
}

/// The spring wound up by a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct At {
    /// Wind-up, rad.
    pub angle: f64,
    /// Inside diameter as wound, mm.
    pub inside: f64,
    /// Room over the arbor, mm on diameter; negative binds.
    pub over_arbor: f64,
    /// Length of the body as wound, mm: it grows a wire for every turn.
    pub body: f64,
    /// Bending at the inside of the coil.
    pub check: Check,
}

impl Torsion {
    /// Rate and sizes.
    ///
    /// # Errors
    /// Sizes that are not positive.
    pub fn figures(&self) -> Result<Figures, ElementError> {
        index(self.wire, self.mean)?;
        positive("coils of the body", "", self.body_coils)?;
        let legs =
            not_negative("leg", "mm", self.legs.0)? + not_negative("leg", "mm", self.legs.1)?;
        let active = self.body_coils + legs / (3.0 * PI * self.mean);
        let (e, _) = self.material.moduli(self.wire);
        Ok(Figures {
            rate: self.wire.powi(4) * e / (10.8 * 2.0 * PI * self.mean * active),
            active,
            inside: self.mean - self.wire,
            body: self.wire * (self.body_coils + 1.0),
        })
    }

    /// Wind-up, room and stress at a moment that closes the coil, N·mm, over an arbor of a diameter (zero for none).
    ///
    /// # Errors
    /// A negative moment; an arbor that does not go in; a wire outside its strength table.
    pub fn at(&self, moment: f64, arbor: f64) -> Result<At, ElementError> {
        let f = self.figures()?;
        not_negative("moment", "N·mm", moment)?;
        not_negative("arbor", "mm", arbor)?;
        more_than("inside of the coil", "mm", f.inside, "arbor", arbor)?;
        let angle = moment / f.rate;
        let c = index(self.wire, self.mean)?;
        let ki = (4.0 * c * c - c - 1.0) / (4.0 * c * (c - 1.0));
        // Only the body's own coils close the body.
        let turns = angle * self.body_coils / f.active / (2.0 * PI);
        let inside = self.body_coils * self.mean / (self.body_coils + turns) - self.wire;
        Ok(At {
            angle,
            inside,
            over_arbor: inside - arbor,
            body: self.wire * (self.body_coils + 1.0 + turns),
            check: Check {
                what: "bending of the torsion spring",
                acts: ki * 32.0 * moment / (PI * self.wire.powi(3)),
                bears: self.material.allowed().bending * self.material.tensile(self.wire)?.least,
                unit: "MPa",
                source: SHIGLEY,
            },
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::wire;
    use super::*;

    /// Shigley example 10-8: music wire 0.072 in, 4.25 coils, outside 0.593 in, legs 1 in, arbor 0.4 in.
    fn stock_spring() -> Torsion {
        Torsion {
            wire: 0.072 * 25.4,
            mean: (0.593 - 0.072) * 25.4,
            body_coils: 4.25,
            legs: (25.4, 25.4),
            material: wire::find("A228 Shigley").unwrap(),
        }
    }

    #[test]
    fn shigley_10_8() {
        let s = stock_spring();
        let f = s.figures().unwrap();
        // Printed, from memory: Na 4.657, k' 29.2 lbf·in/turn, 0.234 turns at 6.83 lbf·in.
        let lbf_in = 4.448_22 * 25.4;
        assert!((f.active - 4.657).abs() < 0.01);
        assert!((f.rate * 2.0 * PI / lbf_in / 29.2 - 1.0).abs() < 0.02);
        let at = s.at(6.83 * lbf_in, 0.4 * 25.4).unwrap();
        assert!((at.angle / (2.0 * PI) - 0.234).abs() < 0.002);
        assert!(at.over_arbor > 0.0 && at.inside < f.inside && at.body > f.body);
    }

    #[test]
    fn refuses() {
        let s = stock_spring();
        assert!(s.at(-1.0, 0.0).is_err() && s.at(1.0, 20.0).is_err());
        assert!(
            Torsion {
                body_coils: 0.0,
                ..s
            }
            .figures()
            .is_err()
        );
        assert_eq!(s.at(0.0, 0.0).unwrap().angle, 0.0);
    }
}
