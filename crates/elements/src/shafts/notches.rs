//! Stress concentration of steps, cross holes and keyways in round shafts, and what of it counts in fatigue.

use crate::error::{less_than, positive, within};
use crate::lookup::{between, linear};
use crate::{ElementError, Source};

/// Notch factors on nominal stress: of the smaller diameter at a step, of the net section at a hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Notch {
    /// Kt in bending.
    pub bending: f64,
    /// Kts in torsion.
    pub torsion: f64,
    /// Radius of the notch, mm, for its sensitivity.
    pub radius: f64,
    /// Where the factors come from.
    pub source: Source,
}

const PETERSON: Source = Source::memory(
    "Peterson, Stress Concentration Factors; polynomials of Roark's Formulas for Stress and Strain, table 17.1 (stepped round shaft)",
);

/// A step from `large` to `small` diameter with a fillet of `radius`, mm.
///
/// A second published fit to the same curves agrees within 7 %, for fillets sharper than 0.05 of the diameter within
/// 12 % (lower than this one).
///
/// The polynomials hold for a step of 0.1 to 20 fillet radii in bending and 0.25 to 4 in torsion. A step beyond
/// that is taken at the end of the range in torsion, which is on the safe side for a large step.
///
/// # Errors
/// Diameters out of order, a fillet that is not positive, or a step that is less than a tenth or more than twenty of
/// its radius.
pub fn step(large: f64, small: f64, radius: f64) -> Result<Notch, ElementError> {
    positive("smaller diameter", "mm", small)?;
    less_than("smaller diameter", "mm", small, "larger diameter", large)?;
    positive("larger diameter", "mm", large)?;
    positive("fillet", "mm", radius)?;
    let height = (large - small) / 2.0;
    let h = within("step over fillet radius", "", height / radius, 0.1, 20.0)?;
    let s = h.sqrt();
    let x = 2.0 * height / large;
    let c = if h <= 2.0 {
        [
            0.947 + 1.206 * s - 0.131 * h,
            0.022 - 3.405 * s + 0.915 * h,
            0.869 + 1.777 * s - 0.555 * h,
            -0.810 + 0.422 * s - 0.260 * h,
        ]
    } else {
        [
            1.232 + 0.832 * s - 0.008 * h,
            -3.813 + 0.968 * s - 0.260 * h,
            7.423 - 4.868 * s + 0.869 * h,
            -3.839 + 3.070 * s - 0.600 * h,
        ]
    };
    let h = h.clamp(0.25, 4.0);
    let s = h.sqrt();
    let t = [
        0.905 + 0.783 * s - 0.075 * h,
        -0.437 - 1.969 * s + 0.553 * h,
        1.557 + 1.073 * s - 0.578 * h,
        -1.061 + 0.171 * s + 0.086 * h,
    ];
    let cubic = |[a, b, c, d]: [f64; 4]| (a + x * (b + x * (c + x * d))).max(1.0);
    Ok(Notch {
        bending: cubic(c),
        torsion: cubic(t),
        radius,
        source: PETERSON,
    })
}

/// Hole over shaft diameter; net section factor A and Kt in bending, A and Kts in torsion, for a solid shaft.
const HOLES: [(f64, [f64; 4]); 11] = [
    (0.050, [0.88, 2.42, 0.95, 1.77]),
    (0.075, [0.86, 2.35, 0.93, 1.71]),
    (0.100, [0.83, 2.27, 0.92, 1.68]),
    (0.125, [0.80, 2.20, 0.89, 1.64]),
    (0.150, [0.76, 2.15, 0.87, 1.62]),
    (0.175, [0.72, 2.10, 0.85, 1.60]),
    (0.200, [0.68, 2.07, 0.83, 1.58]),
    (0.225, [0.65, 2.04, 0.80, 1.56]),
    (0.250, [0.61, 2.00, 0.78, 1.54]),
    (0.275, [0.58, 1.97, 0.75, 1.52]),
    (0.300, [0.54, 1.94, 0.72, 1.51]),
];

/// A hole across a solid shaft.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CrossHole {
    /// Factors on the net section.
    pub notch: Notch,
    /// Section modulus of the net section over that of the full shaft, in bending.
    pub net_bending: f64,
    /// The same in torsion.
    pub net_torsion: f64,
}

/// A hole of `hole` mm across a solid shaft of `diameter` mm (Shigley table A-16; from memory, torsion less sure).
///
/// # Errors
/// Sizes that are not positive, a hole outside 0.05 to 0.30 of the shaft.
pub fn cross_hole(diameter: f64, hole: f64) -> Result<CrossHole, ElementError> {
    positive("shaft", "mm", diameter)?;
    positive("cross hole", "mm", hole)?;
    let x = within("cross hole over shaft", "", hole / diameter, 0.05, 0.30)?;
    let [net_bending, bending, net_torsion, torsion] = between(&HOLES, x, linear);
    Ok(CrossHole {
        notch: Notch {
            bending,
            torsion,
            radius: hole / 2.0,
            source: Source::memory("Shigley table A-16, solid shaft with a transverse hole"),
        },
        net_bending,
        net_torsion,
    })
}

/// How a keyway was cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keyway {
    /// With an end mill, ends square.
    Profile,
    /// With a side cutter that runs out.
    SledRunner,
}

/// A keyway with a corner radius of 0.02 of the shaft, on the full section (Peterson; Shigley table 7-1). A sharper
/// corner is worse; the sled runner's end is kinder in bending, its torsion factor is that of the other.
///
/// # Errors
/// A shaft that is not positive.
pub fn keyway(diameter: f64, cut: Keyway) -> Result<Notch, ElementError> {
    positive("shaft", "mm", diameter)?;
    Ok(Notch {
        bending: match cut {
            Keyway::Profile => 2.14,
            Keyway::SledRunner => 1.7,
        },
        torsion: 3.0,
        radius: 0.02 * diameter,
        source: Source::memory("Peterson; Shigley table 7-1, keyseats with r/d = 0.02"),
    })
}

/// What a keyway leaves of the strength of a shaft, in bending and in torsion: 1 − 0.2 w/d − 1.1 h/d (H. F. Moore, University of Illinois
/// Bulletin 42; from memory).
///
/// # Errors
/// Sizes that are not positive; a keyway that leaves less than a fifth.
///
/// ```
/// // Key 6 wide, 3.5 deep in 20 mm: 1 − 0.06 − 0.1925.
/// let left = elements::shafts::notches::keyway_net(20.0, 6.0, 3.5).unwrap();
/// assert!((left - 0.7475).abs() < 1e-9);
/// ```
pub fn keyway_net(diameter: f64, width: f64, deep: f64) -> Result<f64, ElementError> {
    positive("shaft", "mm", diameter)?;
    positive("width of the keyway", "mm", width)?;
    positive("depth of the keyway", "mm", deep)?;
    let left = 1.0 - 0.2 * width / diameter - 1.1 * deep / diameter;
    within("what the keyway leaves", "of the shaft", left, 0.2, 1.0)
}

/// Hubs on smooth shafts.
pub mod fits {
    use super::{ElementError, Source, between, linear};

    /// Where the factors come from.
    pub const SOURCE: Source =
        Source::memory("DIN 743-2, fatigue notch factors of press fits; Peterson ch. 5 likewise");

    /// Tensile strength, MPa; fatigue notch factor in bending and in torsion.
    const HUBS: [(f64, [f64; 2]); 9] = [
        (400.0, [1.8, 1.2]),
        (500.0, [2.0, 1.3]),
        (600.0, [2.2, 1.4]),
        (700.0, [2.3, 1.5]),
        (800.0, [2.5, 1.6]),
        (900.0, [2.6, 1.7]),
        (1000.0, [2.7, 1.8]),
        (1100.0, [2.8, 1.8]),
        (1200.0, [2.9, 1.9]),
    ];

    /// Fatigue notch factors in bending and torsion at the edge of a hub that presses on a shaft of this tensile strength, MPa. Set screws
    /// and pinched hubs are taken alike (common practice).
    ///
    /// # Errors
    /// A strength that is not positive.
    pub fn hub(tensile: f64) -> Result<[f64; 2], ElementError> {
        crate::error::positive("tensile strength", "MPa", tensile)?;
        Ok(between(&HUBS, tensile.clamp(400.0, 1200.0), linear))
    }
}

/// A groove for a retaining ring, on the groove's diameter (Shigley table 7-1: 5.0 in bending, 3.0 in torsion).
///
/// # Errors
/// A groove radius that is not positive.
pub fn ring_groove(radius: f64) -> Result<Notch, ElementError> {
    Ok(Notch {
        bending: 5.0,
        torsion: 3.0,
        radius: positive("corner of the groove", "mm", radius)?,
        source: Source::memory("Shigley table 7-1, retaining ring groove"),
    })
}

/// Fatigue notch factors Kf = 1 + q (Kt − 1) of steel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fatigue {
    /// In bending.
    pub bending: f64,
    /// In torsion.
    pub torsion: f64,
}

/// Neuber's sensitivity q = 1/(1 + √a/√r) with the √a of steel by tensile strength, MPa (Shigley eqs. 6-34, 6-35).
///
/// # Errors
/// A tensile strength outside 340 to 1700 MPa.
pub fn fatigue(notch: &Notch, tensile: f64) -> Result<Fatigue, ElementError> {
    within("tensile strength", "MPa", tensile, 340.0, 1700.0)?;
    positive("notch radius", "mm", notch.radius)?;
    let s = tensile / 6.894_757;
    // √a in √in; kpsi.
    let bending = 0.246 - 3.08e-3 * s + 1.51e-5 * s * s - 2.67e-8 * s.powi(3);
    let torsion = 0.190 - 2.51e-3 * s + 1.35e-5 * s * s - 2.67e-8 * s.powi(3);
    let root = (notch.radius / 25.4).sqrt();
    let factor = |kt: f64, a: f64| 1.0 + (kt - 1.0) / (1.0 + a.max(0.0) / root);
    Ok(Fatigue {
        bending: factor(notch.bending, bending),
        torsion: factor(notch.torsion, torsion),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Kt = A (r/d)^b of a step by D/d (Norton, Machine Design, appendix; from memory): an independent fit to the
    /// same curves.
    const NORTON_BENDING: [(f64, f64, f64); 6] = [
        (3.0, 0.893_34, -0.308_60),
        (2.0, 0.908_79, -0.285_98),
        (1.5, 0.938_36, -0.257_59),
        (1.2, 0.970_98, -0.217_96),
        (1.1, 0.951_20, -0.237_57),
        (1.05, 0.981_37, -0.196_53),
    ];
    const NORTON_TORSION: [(f64, f64, f64); 3] = [
        (2.0, 0.863_31, -0.238_65),
        (1.33, 0.848_97, -0.231_61),
        (1.2, 0.834_25, -0.216_49),
    ];

    #[test]
    fn two_fits_agree() {
        for (ratio, a, b) in NORTON_BENDING {
            for r in [0.03, 0.05, 0.1, 0.15] {
                let Ok(n) = step(20.0 * ratio, 20.0, 20.0 * r) else {
                    continue;
                };
                let norton = a * f64::powf(r, b);
                assert!(
                    (n.bending / norton - 1.0).abs() < if r < 0.05 { 0.12 } else { 0.07 },
                    "{ratio} {r}: {} {norton}",
                    n.bending
                );
            }
        }
        for (ratio, a, b) in NORTON_TORSION {
            for r in [0.05, 0.1, 0.15] {
                let Ok(n) = step(20.0 * ratio, 20.0, 20.0 * r) else {
                    continue;
                };
                let h = (ratio - 1.0) / 2.0 / r;
                if !(0.25..=4.0).contains(&h) {
                    continue;
                }
                let norton = a * f64::powf(r, b);
                assert!(
                    (n.torsion / norton - 1.0).abs() < 0.07,
                    "{ratio} {r}: {} {norton}",
                    n.torsion
                );
            }
        }
    }

    #[test]
    fn tables() {
        for pair in HOLES.windows(2) {
            assert!(pair[0].0 < pair[1].0);
            assert!(pair[0].1.iter().zip(pair[1].1).all(|(a, b)| *a > b));
        }
        let c = cross_hole(20.0, 2.0).unwrap();
        assert_eq!((c.notch.bending, c.net_bending), (2.27, 0.83));
        assert!(cross_hole(20.0, 8.0).is_err());
        let k = keyway(20.0, Keyway::Profile).unwrap();
        let f = fatigue(&k, 600.0).unwrap();
        assert!(f.bending > 1.0 && f.bending < k.bending && f.torsion < k.torsion);
        assert!(ring_groove(0.0).is_err() && fatigue(&k, 100.0).is_err());
    }

    #[test]
    fn shigley_sensitivity() {
        // Shigley example 6-6: Sut 690 MPa, fillet 3 mm, Kt 1.65: Kf about 1.55 (from memory).
        let n = Notch {
            bending: 1.65,
            torsion: 1.4,
            radius: 3.0,
            source: PETERSON,
        };
        let f = fatigue(&n, 690.0).unwrap();
        assert!((f.bending - 1.55).abs() < 0.01, "{}", f.bending);
    }

    proptest! {
        #[test]
        fn a_sharper_fillet_is_worse(ratio in 1.1..2.0f64, r in 0.02..0.2f64) {
            let at = |r: f64| step(20.0 * ratio, 20.0, 20.0 * r);
            if let (Ok(sharp), Ok(soft)) = (at(r), at(r * 1.2)) {
                prop_assert!(sharp.bending >= soft.bending - 0.03);
                prop_assert!(sharp.bending >= 1.0 && sharp.torsion >= 1.0 && sharp.torsion < sharp.bending);
            }
        }
    }
}
