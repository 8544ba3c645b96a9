//! Extension springs with hooks, close-wound.

use super::wire::Wire;
use super::{Correction, SHIGLEY, index, rate, stress};
use crate::error::{not_negative, positive, within};
use crate::{Check, ElementError};
use std::f64::consts::PI;

/// An extension spring, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extension {
    /// Wire size.
    pub wire: f64,
    /// Mean coil diameter.
    pub mean: f64,
    /// Coils of the body.
    pub body_coils: f64,
    /// Pull before the coils part, N.
    pub initial: f64,
    /// Mean radius of the hook.
    pub hook: f64,
    /// Mean radius of the bend between hook and body.
    pub bend: f64,
    /// Material.
    pub material: &'static Wire,
}

/// What follows from the sizes alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figures {
    /// N/mm.
    pub rate: f64,
    /// Length inside the hooks, free, mm: 2(D−d) + (Nb+1) d for full loops.
    pub free: f64,
    /// Initial tension that can be wound with certainty, least and greatest, N.
    pub initial_preferred: (f64, f64),
}

/// The spring under a pull.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct At {
    /// Length inside the hooks, mm.
    pub length: f64,
    /// Shear of the body, bending and shear of the hook.
    pub checks: [Check; 3],
}

impl Extension {
    /// Rate, free length and preferred initial tension (Shigley eqs. 10-39 to 10-41).
    ///
    /// # Errors
    /// Sizes that are not positive.
    pub fn figures(&self) -> Result<Figures, ElementError> {
        let c = index(self.wire, self.mean)?;
        positive("coils of the body", "", self.body_coils)?;
        not_negative("initial tension", "N", self.initial)?;
        let (e, g) = self.material.moduli(self.wire);
        // The hooks give as G/E of a coil more.
        let rate = rate(g, self.wire, self.mean, self.body_coils + g / e)?;
        let middle = 231.0 / (0.105 * c).exp();
        let spread = 6.9 * (4.0 - (c - 3.0) / 6.5);
        let to_force = |stress: f64| stress.max(0.0) * PI * self.wire.powi(3) / (8.0 * self.mean);
        Ok(Figures {
            rate,
            free: 2.0 * (self.mean - self.wire) + (self.body_coils + 1.0) * self.wire,
            initial_preferred: (
                to_force(middle - spread.max(0.0)),
                to_force(middle + spread.max(0.0)),
            ),
        })
    }

    /// Length and stresses under a pull: the body in shear, the hook in bending at A and in shear at B (Shigley
    /// eqs. 10-34 to 10-37).
    ///
    /// # Errors
    /// A negative pull; a hook or bend tighter than its wire; a wire outside its strength table.
    pub fn at(&self, pull: f64) -> Result<At, ElementError> {
        let f = self.figures()?;
        not_negative("pull", "N", pull)?;
        let c1 = within(
            "hook radius over half the wire",
            "",
            2.0 * self.hook / self.wire,
            1.1,
            1e4,
        )?;
        let c2 = within(
            "bend radius over half the wire",
            "",
            2.0 * self.bend / self.wire,
            1.1,
            1e4,
        )?;
        let tensile = self.material.tensile(self.wire)?.least;
        let allowed = self.material.allowed();
        let area = PI * self.wire.powi(2);
        let ka = (4.0 * c1 * c1 - c1 - 1.0) / (4.0 * c1 * (c1 - 1.0));
        let bending = pull * (ka * 16.0 * self.mean / (area * self.wire) + 4.0 / area);
        let kb = (4.0 * c2 - 1.0) / (4.0 * c2 - 4.0);
        let shear = kb * 8.0 * pull * self.mean / (area * self.wire);
        let body = stress(pull, self.wire, self.mean, Correction::Bergstrasser)?;
        let check = |what, acts, share: f64| Check {
            what,
            acts,
            bears: share * tensile,
            unit: "MPa",
            source: SHIGLEY,
        };
        Ok(At {
            length: f.free + ((pull - self.initial) / f.rate).max(0.0),
            checks: [
                check("shear of the spring's body", body, allowed.shear),
                check(
                    "bending of the spring's hook",
                    bending,
                    allowed.hook_bending,
                ),
                check("shear of the spring's hook", shear, allowed.hook_shear),
            ],
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::wire;
    use super::*;

    fn spring() -> Extension {
        Extension {
            wire: 0.9,
            mean: 6.3,
            body_coils: 12.17,
            initial: 5.25,
            hook: 2.7,
            bend: 2.25,
            material: wire::find("A227").unwrap(),
        }
    }

    #[test]
    fn a_hard_drawn_spring() {
        // Shigley example 10-6: wire 0.035 in, outside 0.248 in, pull 5.25 lbf. Printed, from memory: rate
        // 17.91 lbf/in, factors 1.45 (body) and 1.27 (bending of the hook); shear of the hook by
        // hand: 1.1836 · 8 · 5.25 · 0.213/(π 0.035³) = 78.6 kpsi of 105.9.
        let s = Extension {
            wire: 0.035 * 25.4,
            mean: (0.248 - 0.035) * 25.4,
            body_coils: 12.17,
            initial: 1.19 * 4.448,
            hook: 0.1065 * 25.4,
            bend: 0.089 * 25.4,
            material: wire::find("A227").unwrap(),
        };
        let f = s.figures().unwrap();
        let lbf_in = f.rate / 4.448 * 25.4;
        assert!((lbf_in / 17.91 - 1.0).abs() < 0.01, "{lbf_in}");
        assert!((f.free / 25.4 - 0.817).abs() < 0.08);
        let at = s.at(5.25 * 4.448).unwrap();
        let [body, bending, shear] = at.checks;
        assert!((body.factor() - 1.45).abs() < 0.02, "{}", body.factor());
        assert!(
            (bending.factor() - 1.27).abs() < 0.03,
            "{}",
            bending.factor()
        );
        assert!((shear.factor() - 1.347).abs() < 0.01, "{}", shear.factor());
    }

    #[test]
    fn stays_closed_until_the_initial_tension() {
        let s = spring();
        let f = s.figures().unwrap();
        assert_eq!(s.at(5.0).unwrap().length, f.free);
        let at = s.at(5.25 + 2.0 * f.rate).unwrap();
        assert!((at.length - f.free - 2.0).abs() < 1e-9);
        assert!(f.initial_preferred.0 < f.initial_preferred.1);
    }

    #[test]
    fn refuses() {
        assert!(spring().at(-1.0).is_err());
        let tight = Extension {
            hook: 0.4,
            ..spring()
        };
        assert!(tight.at(1.0).is_err());
        assert!(
            Extension {
                body_coils: 0.0,
                ..spring()
            }
            .figures()
            .is_err()
        );
    }
}
