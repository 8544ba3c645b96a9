//! Compression springs.

use super::wire::Wire;
use super::{Correction, GOOD_INDEX, SHIGLEY, index, rate, stress};
use crate::error::{less_than, not_negative, positive, within};
use crate::{Check, ElementError};
use std::f64::consts::PI;

/// How the ends are finished (Shigley table 10-1).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ends {
    /// Cut off.
    Plain,
    /// Cut off and ground.
    PlainGround,
    /// The last coils closed.
    Squared,
    /// The last coils closed and ground: stands square, the usual choice.
    SquaredGround,
}

impl Ends {
    /// Coils that do not move.
    pub fn dead_coils(self) -> f64 {
        match self {
            Self::Plain => 0.0,
            Self::PlainGround => 1.0,
            Self::Squared | Self::SquaredGround => 2.0,
        }
    }

    /// Solid length over wire size.
    pub fn solid_coils(self, total: f64) -> f64 {
        match self {
            Self::Plain | Self::Squared => total + 1.0,
            Self::PlainGround | Self::SquaredGround => total,
        }
    }
}

/// How the spring is held at its ends: the factor α of the buckling formula (Shigley table 10-2).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seats {
    /// Between flat parallel faces: α = 0.5.
    BothFixed,
    /// One flat face, one end on a pivot: α = 0.707.
    FixedPivoted,
    /// Both ends on pivots: α = 1.
    BothPivoted,
    /// One end held, the other free to wander: α = 2.
    FixedFree,
}

impl Seats {
    /// The factor α.
    pub fn alpha(self) -> f64 {
        match self {
            Self::BothFixed => 0.5,
            Self::FixedPivoted => std::f64::consts::FRAC_1_SQRT_2,
            Self::BothPivoted => 1.0,
            Self::FixedFree => 2.0,
        }
    }
}

/// A compression spring, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Compression {
    /// Wire size.
    pub wire: f64,
    /// Mean coil diameter.
    pub mean: f64,
    /// Total coils.
    pub coils: f64,
    /// Free length.
    pub free: f64,
    /// Ends.
    pub ends: Ends,
    /// Material.
    pub material: &'static Wire,
}

/// What follows from the sizes alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figures {
    /// N/mm.
    pub rate: f64,
    /// Spring index D/d.
    pub index: f64,
    /// Whether the index lies outside the range that winds and works well.
    pub odd_index: bool,
    /// Coils that work.
    pub active: f64,
    /// Length with all coils touching, mm.
    pub solid: f64,
    /// Outside diameter, free, mm.
    pub outside: f64,
    /// Outside diameter when solid, mm: the coil opens as it closes (EN 13906-1).
    pub outside_solid: f64,
    /// Inside diameter, free, mm.
    pub inside: f64,
    /// From coil to coil, free, mm.
    pub pitch: f64,
    /// Weight of the wire, kg.
    pub mass: f64,
    /// First surge frequency between two faces, Hz; a cam should stay below a fifteenth of it.
    pub surge: f64,
}

/// The spring at one length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct At {
    /// N.
    pub force: f64,
    /// Shear stress, MPa.
    pub stress: f64,
    /// Stress against what the wire may bear under static load.
    pub check: Check,
    /// Free travel left to solid, over the travel from free; 0.10 to 0.15 is the least to leave (common practice).
    pub clash: f64,
}

impl Compression {
    /// Rate, solid length, diameters.
    ///
    /// # Errors
    /// Sizes that are not positive or do not fit together: no active coils, a free length below solid.
    pub fn figures(&self) -> Result<Figures, ElementError> {
        let c = index(self.wire, self.mean)?;
        positive("coils", "", self.coils)?;
        let active = self.coils - self.ends.dead_coils();
        positive("active coils", "", active)?;
        let solid = self.wire * self.ends.solid_coils(self.coils);
        positive("free length", "mm", self.free)?;
        less_than("solid length", "mm", solid, "free length", self.free)?;
        let (_, g) = self.material.moduli(self.wire);
        let rate = rate(g, self.wire, self.mean, active)?;
        let end_length = match self.ends {
            Ends::Plain => self.wire,
            Ends::PlainGround => 0.0,
            Ends::Squared => 3.0 * self.wire,
            Ends::SquaredGround => 2.0 * self.wire,
        };
        let pitch_coils = match self.ends {
            Ends::PlainGround => active + 1.0,
            _ => active,
        };
        let pitch = (self.free - end_length) / pitch_coils;
        // EN 13906-1: ΔDe = 0.1 (m² − 0.8 m d − 0.2 d²)/D with the pitch m, ends free to turn.
        let opening = (0.1 * (pitch * pitch - 0.8 * pitch * self.wire - 0.2 * self.wire.powi(2))
            / self.mean)
            .max(0.0);
        let mass =
            self.material.density * PI * self.wire.powi(2) / 4.0 * PI * self.mean * self.coils;
        let active_mass = mass * active / self.coils;
        Ok(Figures {
            rate,
            index: c,
            odd_index: !(GOOD_INDEX.0..=GOOD_INDEX.1).contains(&c),
            active,
            solid,
            outside: self.mean + self.wire,
            outside_solid: self.mean + self.wire + opening,
            inside: self.mean - self.wire,
            pitch,
            mass,
            // k in N/m for kg gives rad/s; a rod between fixed ends surges at half √(k/m).
            surge: 0.5 * (rate * 1000.0 / active_mass).sqrt(),
        })
    }

    /// Force, stress and clash allowance at a length, as wound (`preset` false) or after the set is taken out.
    ///
    /// # Errors
    /// A length above free or below solid; a wire outside its strength table.
    pub fn at(&self, length: f64, preset: bool) -> Result<At, ElementError> {
        let f = self.figures()?;
        within("length", "mm", length, f.solid, self.free)?;
        let force = f.rate * (self.free - length);
        let tensile = self.material.tensile(self.wire)?.least;
        let allowed = self.material.allowed();
        let share = if preset {
            allowed.shear_preset
        } else {
            allowed.shear
        };
        // Set removal turns the curvature peak into residual stress of the other sign.
        let correction = if preset {
            Correction::ShearOnly
        } else {
            Correction::Bergstrasser
        };
        let stress = stress(force, self.wire, self.mean, correction)?;
        let travel = self.free - length;
        Ok(At {
            force,
            stress,
            check: Check {
                what: "stress of the spring",
                acts: stress,
                bears: share * tensile,
                unit: "MPa",
                source: SHIGLEY,
            },
            clash: if travel > 0.0 {
                (length - f.solid) / travel
            } else {
                f64::INFINITY
            },
        })
    }

    /// Buckling between these seats (Shigley eqs. 10-10 to 10-13).
    ///
    /// # Errors
    /// As for [`Compression::figures`].
    pub fn buckling(&self, seats: Seats) -> Result<Buckling, ElementError> {
        self.figures()?;
        let (e, g) = self.material.moduli(self.wire);
        buckling(e, g, self.mean, self.free, seats.alpha())
    }
}

/// When a compression spring bows out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Buckling {
    /// A free length up to this never buckles, mm.
    pub stable_below: f64,
    /// Travel from free at which it buckles, mm; `None` when it never does.
    pub at_travel: Option<f64>,
}

/// `alpha` as in [`Seats::alpha`]; moduli in MPa.
///
/// # Errors
/// Sizes or moduli that are not positive, G not below E.
pub fn buckling(
    youngs: f64,
    shear_modulus: f64,
    mean: f64,
    free: f64,
    alpha: f64,
) -> Result<Buckling, ElementError> {
    positive("mean coil diameter", "mm", mean)?;
    positive("free length", "mm", free)?;
    within("end factor", "", alpha, 0.5, 2.0)?;
    let constant = stability_constant(youngs, shear_modulus)?;
    let slenderness = alpha * free / mean;
    let c1 = youngs / (2.0 * (youngs - shear_modulus));
    let c2 = constant * constant;
    let root = 1.0 - c2 / (slenderness * slenderness);
    let at_travel = (root >= 0.0)
        .then(|| free * c1 * (1.0 - root.sqrt()))
        .filter(|travel| *travel < free);
    Ok(Buckling {
        stable_below: constant * mean / alpha,
        at_travel,
    })
}

/// The constant of absolute stability, L0 < constant·D/α: π √(2(E−G)/(2G+E)), 2.63 for steel.
///
/// # Errors
/// Moduli that are not positive, G not below E.
pub fn stability_constant(youngs: f64, shear_modulus: f64) -> Result<f64, ElementError> {
    positive("modulus of elasticity", "MPa", youngs)?;
    positive("shear modulus", "MPa", shear_modulus)?;
    less_than(
        "shear modulus",
        "MPa",
        shear_modulus,
        "modulus of elasticity",
        youngs,
    )?;
    Ok(PI * (2.0 * (youngs - shear_modulus) / (2.0 * shear_modulus + youngs)).sqrt())
}

/// How a spring sits in its pocket and over its rod, mm on diameter; negative does not go in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// Pocket less the opened coil.
    pub in_pocket: Option<f64>,
    /// Coil inside less the rod.
    pub over_rod: Option<f64>,
    /// Whether the rod guides: 0.75 to 0.95 of the inside (common practice).
    pub rod_guides: Option<bool>,
}

/// Room of a spring in a pocket and over a rod.
///
/// # Errors
/// Negative diameters; as for [`Compression::figures`].
pub fn room(
    spring: &Compression,
    pocket: Option<f64>,
    rod: Option<f64>,
) -> Result<Room, ElementError> {
    let f = spring.figures()?;
    for d in [pocket, rod].into_iter().flatten() {
        not_negative("pocket or rod", "mm", d)?;
    }
    Ok(Room {
        in_pocket: pocket.map(|p| p - f.outside_solid),
        over_rod: rod.map(|r| f.inside - r),
        rod_guides: rod.map(|r| (0.75..=0.95).contains(&(r / f.inside))),
    })
}

#[cfg(test)]
mod tests {
    use super::super::wire;
    use super::*;
    use proptest::prelude::*;

    fn spring() -> Compression {
        Compression {
            wire: 1.0,
            mean: 8.0,
            coils: 10.0,
            free: 30.0,
            ends: Ends::SquaredGround,
            material: wire::find("A228 Shigley").unwrap(),
        }
    }

    #[test]
    fn figures_of_a_common_spring() {
        let s = spring();
        let f = s.figures().unwrap();
        assert!((f.rate - 81_700.0 / (8.0 * 512.0 * 8.0)).abs() < 1e-12);
        assert_eq!(
            (f.solid, f.active, f.index, f.odd_index),
            (10.0, 8.0, 8.0, false)
        );
        assert!(f.outside_solid > f.outside && f.outside_solid < f.outside + 0.5);
        assert!((f.pitch - 3.5).abs() < 1e-12);
        let at = s.at(20.0, false).unwrap();
        assert!((at.force - 10.0 * f.rate).abs() < 1e-12 && (at.clash - 1.0).abs() < 1e-12);
        assert!((at.check.bears - 0.45 * 2211.0).abs() < 1e-9);
        let preset = s.at(20.0, true).unwrap();
        assert!(preset.check.factor() > at.check.factor());
        assert_eq!(s.at(30.0, false).unwrap().clash, f64::INFINITY);
    }

    #[test]
    fn surge_agrees_with_the_rule_for_steel() {
        // 356 000 d/(n D²) Hz in millimetres (spring makers' rule, from memory).
        let f = spring().figures().unwrap();
        let rule = 356_000.0 / (8.0 * 64.0);
        assert!((f.surge / rule - 1.0).abs() < 0.03, "{} {rule}", f.surge);
    }

    #[test]
    fn buckling_constant_and_limits() {
        assert!((stability_constant(207.0, 79.3).unwrap() - 2.63).abs() < 0.01);
        let short = spring();
        let b = short.buckling(Seats::BothFixed).unwrap();
        assert!(b.at_travel.is_none() && b.stable_below > 30.0);
        let mut long = short;
        long.free = 80.0;
        let b = long.buckling(Seats::BothPivoted).unwrap();
        let travel = b.at_travel.unwrap();
        assert!(travel > 0.0 && travel < 80.0 && b.stable_below < 80.0);
        assert!(buckling(200.0, 80.0, 10.0, 50.0, 3.0).is_err());
        assert!(stability_constant(80.0, 80.0).is_err());
    }

    #[test]
    fn room_in_pocket_and_over_rod() {
        let r = room(&spring(), Some(10.0), Some(6.0)).unwrap();
        assert!(r.in_pocket.unwrap() > 0.5 && r.over_rod.unwrap() == 1.0);
        assert_eq!(r.rod_guides, Some(true));
        let tight = room(&spring(), Some(9.0), None).unwrap();
        assert!(tight.in_pocket.unwrap() < 0.0 && tight.over_rod.is_none());
    }

    #[test]
    fn refuses_what_cannot_be_wound() {
        let bad = |change: fn(&mut Compression)| {
            let mut s = spring();
            change(&mut s);
            s.figures().is_err()
        };
        assert!(bad(|s| s.free = 9.0) && bad(|s| s.coils = 2.0) && bad(|s| s.mean = 1.2));
        assert!(bad(|s| s.wire = f64::NAN) && bad(|s| s.coils = -4.0));
        assert!(spring().at(9.0, false).is_err() && spring().at(31.0, false).is_err());
        let mut thick = spring();
        (thick.wire, thick.mean, thick.free) = (9.0, 60.0, 300.0);
        assert!(thick.at(200.0, false).is_err());
    }

    proptest! {
        #[test]
        fn shorter_is_harder(length in 10.0..29.0f64) {
            let s = spring();
            let (here, there) = (s.at(length, false).unwrap(), s.at(length + 1.0, false).unwrap());
            prop_assert!(here.force > there.force && here.stress > there.stress && here.clash < there.clash);
        }
    }
}
