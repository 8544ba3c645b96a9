//! Press and shrink fits: thick cylinders of two materials (Lamé), force, torque, heat, and what a press fit does to
//! the rings of a ball bearing.
//!
//! Interference is always on diameter. Plane stress, ends free, hub and shaft of the same length, round and elastic.
//! A hub that is thin or not round is worked out all the same, with a [`Caution`] that the figure is a guide only.

use crate::error::{
    friction, less_than, more_than, not_negative, poisson, positive, sensible, within,
};
use crate::{Check, ElementError, Fit, Source};
use std::f64::consts::PI;

/// The equations of this module.
pub const LAME: Source = Source::derived(
    "Lamé thick cylinders, plane stress (Shigley, Mechanical Engineering Design, 9th ed., eqs. 3-49 to 3-57)",
);

/// Elastic constants and expansion of a material.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Elastic {
    /// Modulus of elasticity, MPa.
    pub youngs: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Linear expansion, 1/K.
    pub expansion: f64,
}

/// Steel as bearings and shafts have it (Shigley table A-5; handbook expansion).
pub const STEEL: Elastic = Elastic {
    youngs: 207_000.0,
    poisson: 0.292,
    expansion: 11.5e-6,
};

/// A hub on a shaft, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Press {
    /// Diameter of the joint.
    pub diameter: f64,
    /// Length of contact.
    pub length: f64,
    /// Outside diameter of the hub; of a hub that is not round, the largest circle about the bore that stays in it.
    pub hub_outside: f64,
    /// Bore of the shaft, zero when solid.
    pub shaft_bore: f64,
    /// Material of the hub.
    pub hub: Elastic,
    /// Material of the shaft.
    pub shaft: Elastic,
    /// Whether the hub is a ring of even wall.
    pub round: bool,
}

/// Why the figures are a guide only.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Caution {
    /// The hub is thinner than a quarter of the joint's radius: its size after pressing depends on form errors.
    ThinHub {
        /// Outside diameter over joint diameter.
        ratio: f64,
    },
    /// The wall of the shaft is thinner than a quarter of its radius.
    ThinShaft {
        /// Bore over joint diameter.
        ratio: f64,
    },
    /// The hub is not round: pressure and growth differ round the bore, and the bore goes out of round.
    NotRound,
    /// Longer than twice its diameter: the parts pick up and the force rises above the formula.
    Long {
        /// Length over diameter.
        ratio: f64,
    },
}

/// Below this ratio of diameters a hub counts as thin (common practice).
const THIN: f64 = 1.25;

/// A press fit at one interference. Stresses in MPa, tension positive.
#[derive(Clone, Debug, PartialEq)]
pub struct Joint {
    /// Interference on diameter, mm.
    pub interference: f64,
    /// Pressure in the joint.
    pub pressure: f64,
    /// Hoop stress at the bore of the hub, its greatest.
    pub hub_hoop: f64,
    /// Hoop stress at the outside of the hub.
    pub hub_hoop_outside: f64,
    /// Hoop stress at the surface of the shaft.
    pub shaft_hoop: f64,
    /// Hoop stress at the bore of a hollow shaft; at the axis of a solid one.
    pub shaft_hoop_inside: f64,
    /// Growth of the hub's outside diameter, mm.
    pub hub_growth: f64,
    /// Closing of the shaft's bore, mm.
    pub shaft_bore_closing: f64,
    /// Why this is a guide only.
    pub cautions: Vec<Caution>,
}

impl Joint {
    /// Equivalent stress (von Mises) of hub and shaft against their yield strengths, MPa.
    ///
    /// # Errors
    /// A yield strength that is not positive.
    pub fn checks(&self, hub_yield: f64, shaft_yield: f64) -> Result<[Check; 2], ElementError> {
        positive("yield strength of the hub", "MPa", hub_yield)?;
        positive("yield strength of the shaft", "MPa", shaft_yield)?;
        let equivalent = |hoop: f64, radial: f64| {
            (hoop * hoop + radial * radial - hoop * radial)
                .max(0.0)
                .sqrt()
        };
        let at_surface = equivalent(self.shaft_hoop, -self.pressure);
        let check = |what, acts, bears| Check {
            what,
            acts,
            bears,
            unit: "MPa",
            source: LAME,
        };
        Ok([
            check(
                "stress at the bore of the hub",
                equivalent(self.hub_hoop, -self.pressure),
                hub_yield,
            ),
            check(
                "stress of the shaft under the hub",
                at_surface.max(self.shaft_hoop_inside.abs()),
                shaft_yield,
            ),
        ])
    }
}

impl Press {
    fn checked(&self) -> Result<(), ElementError> {
        positive("diameter of the joint", "mm", self.diameter)?;
        positive("length of the joint", "mm", self.length)?;
        more_than(
            "outside diameter of the hub",
            "mm",
            self.hub_outside,
            "diameter of the joint",
            self.diameter,
        )?;
        positive("outside diameter of the hub", "mm", self.hub_outside)?;
        not_negative("bore of the shaft", "mm", self.shaft_bore)?;
        less_than(
            "bore of the shaft",
            "mm",
            self.shaft_bore,
            "diameter of the joint",
            self.diameter,
        )?;
        positive("modulus of the hub", "MPa", self.hub.youngs)?;
        positive("modulus of the shaft", "MPa", self.shaft.youngs)?;
        poisson(self.hub.poisson)?;
        poisson(self.shaft.poisson)?;
        within(
            "expansion of the hub",
            "1/K",
            self.hub.expansion,
            -1e-3,
            1e-2,
        )?;
        within(
            "expansion of the shaft",
            "1/K",
            self.shaft.expansion,
            -1e-3,
            1e-2,
        )?;
        Ok(())
    }

    /// Pressure, stresses and growth at an interference on diameter, mm.
    ///
    /// # Errors
    /// Diameters that do not enclose each other, or a negative interference.
    pub fn at(&self, interference: f64) -> Result<Joint, ElementError> {
        self.checked()?;
        not_negative("interference", "mm", interference)?;
        let (d2, o2, i2) = (
            self.diameter.powi(2),
            self.hub_outside.powi(2),
            self.shaft_bore.powi(2),
        );
        let hub_ratio = (o2 + d2) / (o2 - d2);
        let shaft_ratio = (d2 + i2) / (d2 - i2);
        let give = self.diameter
            * ((hub_ratio + self.hub.poisson) / self.hub.youngs
                + (shaft_ratio - self.shaft.poisson) / self.shaft.youngs);
        let pressure = interference / give;
        let hub_hoop_outside = pressure * 2.0 * d2 / (o2 - d2);
        let inside = if self.shaft_bore > 0.0 {
            -pressure * 2.0 * d2 / (d2 - i2)
        } else {
            -pressure
        };
        Ok(Joint {
            interference,
            pressure,
            hub_hoop: pressure * hub_ratio,
            hub_hoop_outside,
            shaft_hoop: -pressure * shaft_ratio,
            shaft_hoop_inside: inside,
            hub_growth: hub_hoop_outside / self.hub.youngs * self.hub_outside,
            shaft_bore_closing: -inside / self.shaft.youngs * self.shaft_bore,
            cautions: self.cautions(),
        })
    }

    /// The joint at the loosest and at the tightest pair of a fit. A pair with clearance has no pressure.
    ///
    /// # Errors
    /// As for [`Press::at`].
    pub fn of_fit(&self, fit: &Fit) -> Result<(Joint, Joint), ElementError> {
        let loose = self.at((-fit.most_clearance()).max(0.0))?;
        let tight = self.at((-fit.least_clearance()).max(0.0))?;
        Ok((loose, tight))
    }

    /// The interference that gives this pressure, mm.
    ///
    /// # Errors
    /// As for [`Press::at`].
    pub fn interference_for(&self, pressure: f64) -> Result<f64, ElementError> {
        not_negative("pressure", "MPa", pressure)?;
        let unit = self.at(1.0)?;
        Ok(pressure / unit.pressure)
    }

    /// The axial force that overcomes friction along the whole joint, N: to press home, to press out, or what an
    /// axial load may be. F = µ p π d l.
    ///
    /// # Errors
    /// A friction coefficient from 0 to 2, a pressure that is not negative.
    pub fn force(&self, pressure: f64, mu: f64) -> Result<f64, ElementError> {
        self.checked()?;
        not_negative("pressure", "MPa", pressure)?;
        Ok(friction(mu)? * pressure * PI * self.diameter * self.length)
    }

    /// The torque that the joint holds, N·mm. T = F d/2.
    ///
    /// # Errors
    /// As for [`Press::force`].
    pub fn torque(&self, pressure: f64, mu: f64) -> Result<f64, ElementError> {
        Ok(self.force(pressure, mu)? * self.diameter / 2.0)
    }

    /// Axial load and torque together against slipping: their resultant at the joint's surface against µ p π d l, N.
    ///
    /// # Errors
    /// As for [`Press::force`].
    pub fn slip(
        &self,
        pressure: f64,
        mu: f64,
        axial: f64,
        torque: f64,
    ) -> Result<Check, ElementError> {
        sensible("axial load", "N", axial)?;
        sensible("torque", "N·mm", torque)?;
        Ok(Check {
            what: "slip of the press fit",
            acts: axial.hypot(torque * 2.0 / self.diameter),
            bears: self.force(pressure, mu)?,
            unit: "N",
            source: LAME,
        })
    }

    /// How the interference changes when the whole joint is `kelvin` warmer than when it was measured, mm.
    ///
    /// # Errors
    /// As for [`Press::at`].
    pub fn interference_change(&self, kelvin: f64) -> Result<f64, ElementError> {
        self.checked()?;
        sensible("change of temperature", "K", kelvin)?;
        Ok((self.shaft.expansion - self.hub.expansion) * self.diameter * kelvin)
    }

    fn cautions(&self) -> Vec<Caution> {
        let hub = self.hub_outside / self.diameter;
        let shaft = self.shaft_bore / self.diameter;
        let long = self.length / self.diameter;
        let mut cautions = Vec::new();
        if hub < THIN {
            cautions.push(Caution::ThinHub { ratio: hub });
        }
        if shaft > 0.75 {
            cautions.push(Caution::ThinShaft { ratio: shaft });
        }
        if !self.round {
            cautions.push(Caution::NotRound);
        }
        if long > 2.0 {
            cautions.push(Caution::Long { ratio: long });
        }
        cautions
    }
}

/// How much warmer the hub (or colder the shaft) must be to slip together with `clearance` to spare, K:
/// ΔT = (interference + clearance) / (α d).
///
/// # Errors
/// A diameter or an expansion that is not positive.
pub fn temperature_difference(
    diameter: f64,
    interference: f64,
    clearance: f64,
    expansion: f64,
) -> Result<f64, ElementError> {
    positive("diameter of the joint", "mm", diameter)?;
    positive("expansion", "1/K", expansion)?;
    let gap = not_negative("interference", "mm", interference)?
        + not_negative("assembly clearance", "mm", clearance)?;
    Ok(gap / (expansion * diameter))
}

/// What is left of a measured interference when the peaks of both surfaces are pressed flat, mm:
/// U − 0.8 (Rz₁ + Rz₂) (DIN 7190-1, from memory). `rz` in µm.
///
/// # Errors
/// Negative roughness or interference.
pub fn after_smoothing(interference: f64, hub_rz: f64, shaft_rz: f64) -> Result<f64, ElementError> {
    not_negative("interference", "mm", interference)?;
    let peaks = not_negative("roughness of the hub", "µm", hub_rz)?
        + not_negative("roughness of the shaft", "µm", shaft_rz)?;
    Ok((interference - 0.8 * peaks / 1000.0).max(0.0))
}

/// How a bearing seat was finished.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Finish {
    /// Ground.
    Ground,
    /// Turned or bored.
    Turned,
}

/// The part of a measured interference that acts on a bearing's ring, mm: d/(d+2) for a ground seat, d/(d+3) for a
/// turned one (bearing makers' handbooks, from memory).
///
/// # Errors
/// A diameter that is not positive, a negative interference.
pub fn effective_on_bearing(
    diameter: f64,
    interference: f64,
    finish: Finish,
) -> Result<f64, ElementError> {
    positive("diameter of the seat", "mm", diameter)?;
    not_negative("interference", "mm", interference)?;
    let lost = match finish {
        Finish::Ground => 2.0,
        Finish::Turned => 3.0,
    };
    Ok(interference * diameter / (diameter + lost))
}

/// Diameters of the inner and outer raceway when the catalogue does not give them, mm: a quarter of the section from
/// each ring (common practice for ball bearings).
///
/// # Errors
/// An outside diameter that does not exceed the bore.
pub fn raceways(bore: f64, outside: f64) -> Result<(f64, f64), ElementError> {
    positive("bore of the bearing", "mm", bore)?;
    more_than(
        "outside diameter of the bearing",
        "mm",
        outside,
        "bore",
        bore,
    )?;
    let quarter = (outside - bore) / 4.0;
    Ok((bore + quarter, outside - quarter))
}

/// By how much the inner raceway grows, and the pressure in the seat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RingFit {
    /// Loss of radial internal clearance, mm on diameter.
    pub clearance_lost: f64,
    /// Pressure in the seat, MPa.
    pub pressure: f64,
}

/// Growth of the inner raceway by the effective interference on a shaft, exact for a ring of the raceway's diameter
/// (Lamé). The ring is bearing steel.
///
/// # Errors
/// Diameters that do not enclose each other; a negative interference.
pub fn inner_ring(
    bore: f64,
    raceway: f64,
    interference: f64,
    shaft_bore: f64,
    shaft: Elastic,
) -> Result<RingFit, ElementError> {
    let joint = Press {
        diameter: bore,
        length: bore,
        hub_outside: raceway,
        shaft_bore,
        hub: STEEL,
        shaft,
        round: true,
    }
    .at(interference)?;
    Ok(RingFit {
        clearance_lost: joint.hub_growth,
        pressure: joint.pressure,
    })
}

/// Shrinking of the outer raceway by the effective interference in a round housing, exact for a ring of the
/// raceway's diameter (Lamé).
///
/// # Errors
/// As for [`inner_ring`].
pub fn outer_ring(
    outside: f64,
    raceway: f64,
    interference: f64,
    housing_outside: f64,
    housing: Elastic,
) -> Result<RingFit, ElementError> {
    positive("diameter of the outer raceway", "mm", raceway)?;
    let joint = Press {
        diameter: outside,
        length: outside,
        hub_outside: housing_outside,
        shaft_bore: raceway,
        hub: housing,
        shaft: STEEL,
        round: true,
    }
    .at(interference)?;
    Ok(RingFit {
        clearance_lost: joint.shaft_bore_closing,
        pressure: joint.pressure,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn press(diameter: f64, outside: f64, bore: f64) -> Press {
        Press {
            diameter,
            length: 30.0,
            hub_outside: outside,
            shaft_bore: bore,
            hub: STEEL,
            shaft: STEEL,
            round: true,
        }
    }

    #[test]
    fn same_material_and_solid_shaft() {
        // p = E δ/(2 d) (1 − (d/D)²) when both are of one material and the shaft is solid.
        let joint = press(25.0, 50.0, 0.0).at(0.03).unwrap();
        assert!((joint.pressure - 207_000.0 * 0.03 / 50.0 * 0.75).abs() < 1e-9);
        assert!((joint.hub_hoop - joint.pressure * 5.0 / 3.0).abs() < 1e-9);
        assert!(joint.cautions.is_empty());
        let [hub, shaft] = joint.checks(370.0, 530.0).unwrap();
        assert!(hub.acts > joint.hub_hoop && shaft.acts < hub.acts);
    }

    #[test]
    fn growths_close_the_interference() {
        // The bore of the hub opens and the shaft closes by the interference together.
        let p = press(20.0, 36.0, 9.0);
        let joint = p.at(0.025).unwrap();
        let open = (joint.hub_hoop + STEEL.poisson * joint.pressure) / STEEL.youngs * 20.0;
        let close = (-joint.shaft_hoop - STEEL.poisson * joint.pressure) / STEEL.youngs * 20.0;
        assert!((open + close - 0.025).abs() < 1e-12);
        assert!((p.interference_for(joint.pressure).unwrap() - 0.025).abs() < 1e-12);
        // Hoop force over the section balances the pressure on the bore: mean of hoop over the wall.
        let (a, b): (f64, f64) = (10.0, 18.0);
        let steps = 4000;
        let mean: f64 = (0..steps)
            .map(|k| {
                let r = a + (b - a) * (f64::from(k) + 0.5) / f64::from(steps);
                joint.pressure * a * a / (b * b - a * a) * (1.0 + b * b / (r * r))
            })
            .sum::<f64>()
            / f64::from(steps);
        assert!((mean * (b - a) - joint.pressure * a).abs() < 1e-3);
    }

    #[test]
    fn thin_and_odd_hubs_are_flagged() {
        let mut p = press(20.0, 24.0, 16.0);
        p.round = false;
        p.length = 50.0;
        let cautions = p.at(0.01).unwrap().cautions;
        assert_eq!(cautions.len(), 4);
        assert!(cautions.contains(&Caution::NotRound));
    }

    #[test]
    fn fit_gives_loosest_and_tightest() {
        let p = press(20.0, 40.0, 0.0);
        let (loose, tight) = p
            .of_fit(&crate::fits_iso::fit("H7/k6", 20.0).unwrap())
            .unwrap();
        assert_eq!(loose.pressure, 0.0);
        assert!((tight.interference - 0.015).abs() < 1e-9);
        let slip = p.slip(tight.pressure, 0.12, 300.0, 4000.0).unwrap();
        assert!((slip.acts - 500.0).abs() < 1e-9);
        assert!((slip.bears - p.torque(tight.pressure, 0.12).unwrap() / 10.0).abs() < 1e-9);
    }

    #[test]
    fn warm_aluminium_hub_loosens() {
        let mut p = press(20.0, 40.0, 0.0);
        p.hub.expansion = 23.5e-6;
        assert!(p.interference_change(50.0).unwrap() < 0.0);
        let together = temperature_difference(20.0, 0.02, 0.01, 23.5e-6).unwrap();
        assert!((p.hub.expansion * 20.0 * together - 0.03).abs() < 1e-12);
        assert!((after_smoothing(0.02, 6.3, 4.0).unwrap() - 0.01176).abs() < 1e-9);
        assert_eq!(after_smoothing(0.001, 6.3, 4.0).unwrap(), 0.0);
    }

    #[test]
    fn refuses() {
        assert!(press(25.0, 25.0, 0.0).at(0.03).is_err());
        assert!(press(25.0, 50.0, 25.0).at(0.03).is_err());
        assert!(press(25.0, 50.0, 0.0).at(-0.03).is_err());
        assert!(press(0.0, 50.0, 0.0).at(0.03).is_err());
        assert!(press(25.0, f64::INFINITY, 0.0).at(0.03).is_err());
        assert!(press(25.0, 50.0, 0.0).force(10.0, -0.1).is_err());
        assert!(raceways(47.0, 20.0).is_err());
        assert!(temperature_difference(20.0, 0.02, 0.01, 0.0).is_err());
    }

    proptest! {
        #[test]
        fn more_interference_or_wall_presses_harder(
            d in 3.0..80.0f64, wall in 1.05..4.0f64, hollow in 0.0..0.9f64, u in 1e-4..0.1f64, e in 60e3..210e3f64,
        ) {
            let mut p = press(d, d * wall, d * hollow);
            p.hub.youngs = e;
            let here = p.at(u).unwrap();
            prop_assert!(here.pressure > 0.0 && here.hub_hoop > here.hub_hoop_outside);
            prop_assert!((p.at(2.0 * u).unwrap().pressure / here.pressure - 2.0).abs() < 1e-9);
            let mut thicker = p;
            thicker.hub_outside *= 1.1;
            prop_assert!(thicker.at(u).unwrap().pressure > here.pressure);
            let mut solid = p;
            solid.shaft_bore = 0.0;
            prop_assert!(solid.at(u).unwrap().pressure >= here.pressure);
            // The same joint drawn twice as large has the same stress at twice the interference.
            let big = Press { diameter: 2.0 * d, length: 60.0, hub_outside: 2.0 * d * wall, shaft_bore: 2.0 * d * hollow, ..p };
            prop_assert!((big.at(2.0 * u).unwrap().pressure / here.pressure - 1.0).abs() < 1e-9);
        }

        #[test]
        fn rings_lose_less_than_the_interference(d in 3.0..60.0f64, section in 1.2..3.0f64, u in 1e-4..0.05f64) {
            let outside = d * section;
            let (inner, outer) = raceways(d, outside).unwrap();
            let grown = inner_ring(d, inner, u, 0.0, STEEL).unwrap();
            prop_assert!(grown.clearance_lost > 0.0 && grown.clearance_lost < u);
            // On a solid steel shaft the growth is u d/F exactly.
            prop_assert!((grown.clearance_lost - u * d / inner).abs() < 1e-9);
            let shrunk = outer_ring(outside, outer, u, outside * 2.0, STEEL).unwrap();
            prop_assert!(shrunk.clearance_lost > 0.0 && shrunk.clearance_lost < u);
        }
    }
}
