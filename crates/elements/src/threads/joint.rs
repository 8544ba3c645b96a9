//! A bolted joint: stiffness, load in tension, load across (Shigley ch. 8).

use crate::error::{friction, not_negative, positive, within};
use crate::{Check, ElementError, Source};
use std::f64::consts::PI;

const SHIGLEY: Source =
    Source::memory("Shigley, Mechanical Engineering Design, 9th ed., eqs. 8-17 to 8-30");

/// Constants of the member stiffness k = A E d exp(B d/l) (Wileman; Shigley table 8-8, from memory).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Member {
    /// MPa.
    pub youngs: f64,
    /// A.
    pub a: f64,
    /// B.
    pub b: f64,
}

/// Steel.
pub const STEEL: Member = Member {
    youngs: 207_000.0,
    a: 0.787_15,
    b: 0.628_73,
};
/// Aluminium.
pub const ALUMINIUM: Member = Member {
    youngs: 71_000.0,
    a: 0.796_70,
    b: 0.638_16,
};
/// Grey cast iron.
pub const CAST_IRON: Member = Member {
    youngs: 100_000.0,
    a: 0.778_71,
    b: 0.616_16,
};

/// A bolt through members of one material, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bolted {
    /// Major diameter.
    pub major: f64,
    /// Stress area, mm².
    pub stress_area: f64,
    /// Length clamped.
    pub grip: f64,
    /// Part of it that is threaded.
    pub threaded: f64,
    /// Modulus of the bolt, MPa.
    pub bolt_youngs: f64,
    /// What is clamped.
    pub member: Member,
}

/// Stiffness of bolt and members, N/mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stiffness {
    /// kb.
    pub bolt: f64,
    /// km.
    pub members: f64,
    /// The share of a pull that the bolt feels, C = kb/(kb+km).
    pub share: f64,
}

impl Bolted {
    /// Stiffness of the joint.
    ///
    /// # Errors
    /// Sizes that are not positive, a threaded part longer than the grip.
    pub fn stiffness(&self) -> Result<Stiffness, ElementError> {
        positive("major diameter", "mm", self.major)?;
        positive("stress area", "mm²", self.stress_area)?;
        positive("grip", "mm", self.grip)?;
        within(
            "threaded part of the grip",
            "mm",
            self.threaded,
            0.0,
            self.grip,
        )?;
        positive("modulus of the bolt", "MPa", self.bolt_youngs)?;
        positive("modulus of the members", "MPa", self.member.youngs)?;
        let shank_area = PI * self.major.powi(2) / 4.0;
        let shank = self.grip - self.threaded;
        let bolt = self.bolt_youngs / (self.threaded / self.stress_area + shank / shank_area);
        // Wileman's fit was made for grips of half a diameter and more; a thinner one is taken as that.
        let slender = (self.major / self.grip).min(2.0);
        let members =
            self.member.a * self.member.youngs * self.major * (self.member.b * slender).exp();
        Ok(Stiffness {
            bolt,
            members,
            share: bolt / (bolt + members),
        })
    }
}

/// A pull on one bolt that was preloaded: against the proof stress, as the factor of the pull alone, and against the
/// joint coming apart. Forces in N.
///
/// # Errors
/// Negative forces, a share outside 0 to 1, values that are not positive.
pub fn tension(
    share: f64,
    preload: f64,
    pull: f64,
    stress_area: f64,
    proof: f64,
) -> Result<[Check; 3], ElementError> {
    within("share of the bolt", "", share, 0.0, 1.0)?;
    not_negative("preload", "N", preload)?;
    not_negative("pull", "N", pull)?;
    let proof_load =
        positive("stress area", "mm²", stress_area)? * positive("proof stress", "MPa", proof)?;
    let check = |what, acts, bears| Check {
        what,
        acts,
        bears,
        unit: "N",
        source: SHIGLEY,
    };
    Ok([
        check("tension of the bolt", preload + share * pull, proof_load),
        check(
            "growth of the pull until the bolt reaches proof",
            share * pull,
            (proof_load - preload).max(0.0),
        ),
        check("opening of the joint", (1.0 - share) * pull, preload),
    ])
}

/// A load across one bolt: held by friction of the preload, or carried by the bolt in shear.
///
/// # Errors
/// Negative forces, no shear plane, values that are not positive.
pub fn across(
    load: f64,
    preload: f64,
    mu: f64,
    planes: u32,
    shear_area: f64,
    yields: f64,
) -> Result<[Check; 2], ElementError> {
    not_negative("load across", "N", load)?;
    not_negative("preload", "N", preload)?;
    friction(mu)?;
    let planes = within("shear planes", "", f64::from(planes), 1.0, 100.0)?;
    positive("shear area", "mm²", shear_area)?;
    positive("yield strength", "MPa", yields)?;
    Ok([
        Check {
            what: "slip of the bolted joint",
            acts: load,
            bears: mu * preload * planes,
            unit: "N",
            source: Source::derived("Coulomb friction of the clamped faces: µ F n"),
        },
        Check {
            what: "shear of the bolt",
            acts: load / (shear_area * planes),
            bears: 0.577 * yields,
            unit: "MPa",
            source: Source::derived("F/(n A) against 0.577 of yield (von Mises)"),
        },
    ])
}

/// Diameter of a head's face, mm: socket heads of ISO 4762, of which hexagons are little short.
pub fn head(major: f64) -> f64 {
    if major <= 10.0 {
        1.5 * major + 1.0
    } else {
        1.5 * major
    }
}

/// Pressure under the head of a screw in a clearance hole of 1.1 diameters against what is clamped, MPa. Limiting pressures of VDI 2230 are
/// at or above the tensile strength of what is clamped, which stands for them.
///
/// # Errors
/// Values that are not positive.
///
/// ```
/// // M6 at 8754 N: a ring of 10 outside and 6.6 inside, 197 MPa.
/// let check = elements::threads::joint::head_pressure(6.0, 8754.0, 310.0).unwrap();
/// assert!((check.acts - 197.0).abs() < 1.0 && check.passes(1.5));
/// ```
pub fn head_pressure(major: f64, preload: f64, tensile: f64) -> Result<Check, ElementError> {
    positive("major diameter", "mm", major)?;
    not_negative("preload", "N", preload)?;
    let ring = PI / 4.0 * (head(major).powi(2) - (1.1 * major).powi(2));
    Ok(Check {
        what: "pressure under the head",
        acts: preload / ring,
        bears: positive("tensile strength", "MPa", tensile)?,
        unit: "MPa",
        source: Source::memory(
            "VDI 2230, limiting surface pressure (at least the tensile strength); heads ISO 4762, holes ISO 273",
        ),
    })
}

/// Endurance of rolled threads by class, MPa (Shigley table 8-17, from memory).
const ENDURES: [(&str, f64); 6] = [
    ("8.8", 129.0),
    ("9.8", 140.0),
    ("10.9", 162.0),
    ("12.9", 190.0),
    ("grade 5", 128.0),
    ("grade 8", 160.0),
];

/// A pull that comes and goes against the endurance of the thread (Goodman with the preload, Shigley eq. 8-38); none for classes of which no
/// endurance is known.
pub fn bolt_fatigue(
    share: f64,
    preload: f64,
    pull: f64,
    area: f64,
    class: &super::preload::Class,
) -> Option<Check> {
    let endures = ENDURES.iter().find(|(name, _)| *name == class.name)?.1;
    let stands = preload / area;
    Some(Check {
        what: "fatigue of the bolt, half the pull to and fro",
        acts: share * pull / (2.0 * area),
        bears: (endures * (class.tensile - stands) / (class.tensile + endures)).max(0.0),
        unit: "MPa",
        source: Source::memory("Shigley eqs. 8-34 to 8-38, table 8-17"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// M16 of 8.8, 157 mm², C 0.2, preload 60 kN, a pull of 40 kN to and fro: σa 25.5, σi 382, Sut 800, Se 129: 129 (800 − 382)/929 (by hand).
    #[test]
    fn bolts_tire() {
        let class = super::super::preload::find("8.8", 16.0).unwrap();
        let check = bolt_fatigue(0.2, 60e3, 40e3, 157.0, class).unwrap();
        assert!((check.acts - 25.48).abs() < 0.01 && (check.bears - 58.0).abs() < 0.2);
    }

    fn bolted() -> Bolted {
        Bolted {
            major: 10.0,
            stress_area: 58.0,
            grip: 30.0,
            threaded: 12.0,
            bolt_youngs: 207_000.0,
            member: STEEL,
        }
    }

    #[test]
    fn a_steel_joint_feels_a_fifth_of_the_pull() {
        let s = bolted().stiffness().unwrap();
        assert!((0.15..0.30).contains(&s.share), "{}", s.share);
        let soft = Bolted {
            member: ALUMINIUM,
            ..bolted()
        }
        .stiffness()
        .unwrap();
        assert!(soft.share > s.share);
        let [bolt, growth, opens] = tension(s.share, 25_000.0, 10_000.0, 58.0, 580.0).unwrap();
        assert!(bolt.factor() > 1.0 && growth.factor() > opens.factor());
        assert!((opens.factor() - 2.5 / (1.0 - s.share)).abs() < 1e-9);
    }

    #[test]
    fn across_by_friction_or_shear() {
        let [slip, shear] = across(2000.0, 20_000.0, 0.15, 2, 58.0, 640.0).unwrap();
        assert!((slip.factor() - 3.0).abs() < 1e-12);
        assert!((shear.acts - 2000.0 / 116.0).abs() < 1e-12);
        assert!(across(1.0, 1.0, 0.1, 0, 1.0, 1.0).is_err());
        assert!(tension(1.5, 1.0, 1.0, 1.0, 1.0).is_err());
        assert!(
            Bolted {
                threaded: 40.0,
                ..bolted()
            }
            .stiffness()
            .is_err()
        );
    }

    proptest! {
        #[test]
        fn a_longer_grip_softens(grip in 12.0..100.0f64) {
            let short = Bolted { grip, threaded: 10.0, ..bolted() }.stiffness().unwrap();
            let long = Bolted { grip: grip + 5.0, threaded: 10.0, ..bolted() }.stiffness().unwrap();
            prop_assert!(long.bolt < short.bolt && long.members < short.members);
            prop_assert!(long.share < short.share);
        }
    }
}
