//! Fatigue of steel shafts: endurance limit and the usual criteria (Shigley ch. 6 and 7).

use crate::error::{not_negative, positive, within};
use crate::lookup::{between, linear};
use crate::{Check, ElementError, Source};
use std::f64::consts::PI;

const SHIGLEY: Source = Source::memory(
    "Shigley, Mechanical Engineering Design, 9th ed., eqs. 6-8 to 6-20, 7-7 to 7-12",
);

/// The surface as it was left (Shigley table 6-2).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Surface {
    /// Ground.
    Ground,
    /// Turned or cold drawn.
    Machined,
    /// Hot rolled.
    HotRolled,
    /// Forged.
    Forged,
}

/// Marin factors and the endurance limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Endurance {
    /// Surface factor ka.
    pub surface: f64,
    /// Size factor kb of a turning shaft.
    pub size: f64,
    /// Reliability factor ke.
    pub reliability: f64,
    /// Endurance limit of the test bar, MPa: half the tensile strength, at most 700.
    pub bar: f64,
    /// Endurance limit of the part, MPa.
    pub limit: f64,
}

/// Endurance limit of a steel shaft in bending. `reliability` from 0.5 to 0.999 (ke = 1 − 0.08 z, Shigley table 6-5).
///
/// # Errors
/// A tensile strength outside 200 to 2500 MPa, a diameter outside 2.79 to 254 mm (thinner counts as 2.79), a
/// reliability outside 0.5 to 0.9999.
pub fn endurance(
    tensile: f64,
    surface: Surface,
    diameter: f64,
    reliability: f64,
) -> Result<Endurance, ElementError> {
    within("tensile strength", "MPa", tensile, 200.0, 2500.0)?;
    positive("shaft", "mm", diameter)?;
    within("shaft", "mm", diameter, 0.0, 254.0)?;
    within("reliability", "", reliability, 0.5, 0.9999)?;
    let (a, b) = match surface {
        Surface::Ground => (1.58, -0.085),
        Surface::Machined => (4.51, -0.265),
        Surface::HotRolled => (57.7, -0.718),
        Surface::Forged => (272.0, -0.995),
    };
    let ka = (a * tensile.powf(b)).min(1.0);
    let kb = if diameter <= 2.79 {
        1.0
    } else if diameter <= 51.0 {
        1.24 * diameter.powf(-0.107)
    } else {
        1.51 * diameter.powf(-0.157)
    };
    let ke = reliability_factor(reliability);
    let bar = (0.5 * tensile).min(700.0);
    Ok(Endurance {
        surface: ka,
        size: kb.min(1.0),
        reliability: ke,
        bar,
        limit: ka * kb.min(1.0) * ke * bar,
    })
}

/// Reliability, z of the normal distribution.
const NORMAL: [(f64, [f64; 1]); 6] = [
    (0.50, [0.0]),
    (0.90, [1.288]),
    (0.95, [1.645]),
    (0.99, [2.326]),
    (0.999, [3.091]),
    (0.9999, [3.719]),
];

fn reliability_factor(reliability: f64) -> f64 {
    let [z] = between(&NORMAL, reliability, linear);
    1.0 - 0.08 * z
}

/// How steady and alternating stress combine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Criterion {
    /// Straight line to the tensile strength; the usual safe choice.
    Goodman,
    /// Parabola to the tensile strength; nearest to tests of ductile steel.
    Gerber,
    /// Ellipse to the yield strength.
    Elliptic,
    /// Straight line to the yield strength; guards against yield too.
    Soderberg,
}

/// Moments on a shaft, N·mm, not negative, and fatigue notch factors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loads {
    /// Alternating bending moment Ma. A shaft that turns under a still load alternates fully.
    pub bending_alternating: f64,
    /// Steady bending moment Mm.
    pub bending_steady: f64,
    /// Alternating torque Ta.
    pub torque_alternating: f64,
    /// Steady torque Tm.
    pub torque_steady: f64,
    /// Kf.
    pub kf: f64,
    /// Kfs.
    pub kfs: f64,
}

/// Strengths, MPa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strengths {
    /// Endurance limit of the part.
    pub endurance: f64,
    /// Tensile.
    pub tensile: f64,
    /// Yield.
    pub yields: f64,
}

/// Equivalent stresses of a solid shaft by distortion energy, MPa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stresses {
    /// Alternating.
    pub alternating: f64,
    /// Steady.
    pub steady: f64,
    /// Greatest, with notch factors (on the safe side for ductile steel).
    pub greatest: f64,
}

/// Equivalent stresses at a diameter, mm.
///
/// # Errors
/// A diameter that is not positive, negative moments, notch factors below 1.
pub fn stresses(loads: &Loads, diameter: f64) -> Result<Stresses, ElementError> {
    positive("shaft", "mm", diameter)?;
    within("fatigue notch factor in bending", "", loads.kf, 1.0, 20.0)?;
    within("fatigue notch factor in torsion", "", loads.kfs, 1.0, 20.0)?;
    let bend = |m: f64| 32.0 * loads.kf * m / (PI * diameter.powi(3));
    let turn = |t: f64| 16.0 * loads.kfs * t / (PI * diameter.powi(3));
    let ma = not_negative(
        "alternating bending moment",
        "N·mm",
        loads.bending_alternating,
    )?;
    let mm = not_negative("steady bending moment", "N·mm", loads.bending_steady)?;
    let ta = not_negative("alternating torque", "N·mm", loads.torque_alternating)?;
    let tm = not_negative("steady torque", "N·mm", loads.torque_steady)?;
    let root3 = 3f64.sqrt();
    Ok(Stresses {
        alternating: bend(ma).hypot(root3 * turn(ta)),
        steady: bend(mm).hypot(root3 * turn(tm)),
        greatest: bend(ma + mm).hypot(root3 * turn(ta + tm)),
    })
}

/// Factor against fatigue, and against yield in the first cycle (Langer).
///
/// # Errors
/// As for [`stresses`]; strengths that are not positive.
///
/// ```
/// use elements::shafts::fatigue::{Criterion, Loads, Strengths, check};
/// // Shigley example 7-1 in N·mm and MPa: Goodman 1.62 (from memory).
/// let lbf_in = 4.448_221_6 * 25.4;
/// let kpsi = 6.894_757;
/// let loads = Loads {
///     bending_alternating: 1260.0 * lbf_in, bending_steady: 0.0,
///     torque_alternating: 0.0, torque_steady: 1100.0 * lbf_in, kf: 1.58, kfs: 1.37,
/// };
/// let strengths = Strengths { endurance: 29.3 * kpsi, tensile: 105.0 * kpsi, yields: 82.0 * kpsi };
/// let [fatigue, _] = check(&loads, 1.1 * 25.4, &strengths, Criterion::Goodman).unwrap();
/// assert!((fatigue.factor() - 1.62).abs() < 0.01);
/// ```
pub fn check(
    loads: &Loads,
    diameter: f64,
    strengths: &Strengths,
    criterion: Criterion,
) -> Result<[Check; 2], ElementError> {
    let s = stresses(loads, diameter)?;
    let se = positive("endurance limit", "MPa", strengths.endurance)?;
    let su = positive("tensile strength", "MPa", strengths.tensile)?;
    let sy = positive("yield strength", "MPa", strengths.yields)?;
    let (a, m) = (s.alternating / se, s.steady);
    // Each criterion as the share of its limit that is used; Gerber's factor solves a quadratic in it.
    let used = match criterion {
        Criterion::Goodman => a + m / su,
        Criterion::Soderberg => a + m / sy,
        Criterion::Elliptic => a.hypot(m / sy),
        Criterion::Gerber => {
            let t = m / su;
            // n a + (n t)² = 1.
            if t < 1e-12 * (1.0 + a) {
                a
            } else {
                2.0 * t * t / ((a * a + 4.0 * t * t).sqrt() - a)
            }
        }
    };
    Ok([
        Check {
            what: "fatigue of the shaft",
            acts: used,
            bears: 1.0,
            unit: "of the limit",
            source: SHIGLEY,
        },
        Check {
            what: "yield of the shaft at the notch",
            acts: s.greatest,
            bears: sy,
            unit: "MPa",
            source: SHIGLEY,
        },
    ])
}

/// Fatigue strength for a number of loads, MPa: on a straight line in logarithms from f Sut at a thousand to the endurance limit at a million
/// (Shigley eqs. 6-13 to 6-16; f of fig. 6-18 by its polynomial, 0.9 below 480 MPa). Beyond a million it is the endurance limit.
///
/// # Errors
/// Strengths that are not positive.
///
/// ```
/// // Shigley example 6-2: 630 MPa (90 kpsi), 445 MPa (64.6 kpsi) at 10 000 loads (from memory).
/// let kpsi = 6.894_757;
/// let found = elements::shafts::fatigue::finite(90.0 * kpsi, 45.0 * kpsi, 1e4).unwrap();
/// assert!((found / kpsi - 64.6).abs() < 0.5);
/// ```
pub fn finite(tensile: f64, endurance: f64, loads: f64) -> Result<f64, ElementError> {
    finite_of(tensile, endurance, KNEE, loads)
}

/// Loads from which on a part of steel that lives lives for ever (Shigley 6-8).
pub const KNEE: f64 = 1e6;

/// The same of a metal that was tested to so many loads, as those without an endurance limit are. Beyond, it is what was borne then.
///
/// # Errors
/// As for [`finite`].
///
/// ```
/// // 97 MPa at 5e8 and 0.9 · 310 = 279 MPa at a thousand: half way between in logarithms, their geometric mean.
/// let half = 10f64.powf((3.0 + 5e8_f64.log10()) / 2.0);
/// let found = elements::shafts::fatigue::finite_of(310.0, 97.0, 5e8, half).unwrap();
/// assert!((found - (279.0_f64 * 97.0).sqrt()).abs() < 1e-9);
/// ```
pub fn finite_of(tensile: f64, borne: f64, till: f64, loads: f64) -> Result<f64, ElementError> {
    let su = positive("tensile strength", "MPa", tensile)?;
    let se = positive("endurance limit", "MPa", borne)?;
    let till = within("number of loads tested", "", till, 1e4, 1e12)?.log10() - 3.0;
    let share = if su < 480.0 {
        0.9
    } else {
        (1.06 - 4.1e-4 * su + 1.5e-7 * su * su).clamp(0.75, 0.9)
    };
    let few = (share * su).max(se);
    let decades = (positive("number of loads", "", loads)?.log10() - 3.0).clamp(0.0, till);
    Ok(few * (se / few).powf(decades / till))
}

/// Share of its limit that a stress uses of whose greatest value, MPa, a share alternates and the rest stands, by Goodman; `kf` counts on
/// both. A half alternates from nothing to the greatest, all of it where it goes as far both ways.
///
/// # Errors
/// A negative stress, a share outside 0 to 1, a notch factor below 1, strengths that are not positive.
///
/// ```
/// use elements::shafts::fatigue::coming_again;
/// // Half alternates: 200/2/250 + 200/2/600. All of it: 200/250.
/// let pulses = coming_again("a pin", 200.0, 0.5, 1.0, 250.0, 600.0).unwrap();
/// assert!((pulses.acts - (0.4 + 1.0 / 6.0)).abs() < 1e-12);
/// let reversed = coming_again("a pin", 200.0, 1.0, 1.0, 250.0, 600.0).unwrap();
/// assert!((reversed.acts - 0.8).abs() < 1e-12);
/// ```
pub fn coming_again(
    what: &'static str,
    stress: f64,
    alternates: f64,
    kf: f64,
    endures: f64,
    tensile: f64,
) -> Result<Check, ElementError> {
    let most =
        not_negative("stress", "MPa", stress)? * within("fatigue notch factor", "", kf, 1.0, 20.0)?;
    let share = within("share that alternates", "", alternates, 0.0, 1.0)?;
    Ok(Check {
        what,
        acts: share * most / positive("endurance limit", "MPa", endures)?
            + (1.0 - share) * most / positive("tensile strength", "MPa", tensile)?,
        bears: 1.0,
        unit: "of the limit",
        source: SHIGLEY,
    })
}

/// The diameter for a factor, mm: stresses fall with the cube, so it follows from one trial. The size factor of the
/// endurance limit is taken as given; try again with the limit of the diameter found.
///
/// # Errors
/// As for [`check`]; a factor that is not positive.
pub fn diameter(
    loads: &Loads,
    strengths: &Strengths,
    criterion: Criterion,
    factor: f64,
) -> Result<f64, ElementError> {
    positive("factor", "", factor)?;
    // All criteria are homogeneous: scaling every stress by 1/n³… scales the share used alike.
    let [fatigue, _] = check(loads, 1.0, strengths, criterion)?;
    let d = (fatigue.acts * factor).cbrt();
    positive("load", "of the limit", d)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn loads() -> Loads {
        Loads {
            bending_alternating: 60e3,
            bending_steady: 20e3,
            torque_alternating: 10e3,
            torque_steady: 50e3,
            kf: 1.7,
            kfs: 1.4,
        }
    }

    const STEEL: Strengths = Strengths {
        endurance: 200.0,
        tensile: 625.0,
        yields: 530.0,
    };

    #[test]
    fn shigley_7_1_by_all_criteria() {
        // Goodman 1.62, Gerber 1.87, elliptic 1.88, Soderberg 1.56; yield 4.50 (from memory).
        let (lbf_in, kpsi) = (4.448_221_6 * 25.4, 6.894_757);
        let l = Loads {
            bending_alternating: 1260.0 * lbf_in,
            bending_steady: 0.0,
            torque_alternating: 0.0,
            torque_steady: 1100.0 * lbf_in,
            kf: 1.58,
            kfs: 1.37,
        };
        let s = Strengths {
            endurance: 29.3 * kpsi,
            tensile: 105.0 * kpsi,
            yields: 82.0 * kpsi,
        };
        let n = |c| check(&l, 1.1 * 25.4, &s, c).unwrap()[0].factor();
        for (criterion, printed) in [
            (Criterion::Goodman, 1.62),
            (Criterion::Gerber, 1.87),
            (Criterion::Elliptic, 1.88),
            (Criterion::Soderberg, 1.56),
        ] {
            assert!(
                (n(criterion) - printed).abs() < 0.02,
                "{criterion:?} {}",
                n(criterion)
            );
        }
        let y = check(&l, 1.1 * 25.4, &s, Criterion::Goodman).unwrap()[1].factor();
        assert!((y - 4.5).abs() < 0.05, "{y}");
    }

    /// Shigley example 6-2: a = 133.1 kpsi, b = −0.0785; 55 kpsi break it after 77 500 turns (from memory).
    #[test]
    fn fewer_loads_bear_more() {
        let kpsi = 6.894_757;
        let at = |n: f64| finite(90.0 * kpsi, 45.0 * kpsi, n).unwrap() / kpsi;
        for n in [1e4, 77_500.0, 3e5] {
            let book = 133.1 * f64::powf(n, -0.0785);
            assert!((at(n) / book - 1.0).abs() < 0.01, "{n}: {}", at(n));
        }
        assert!((at(77_500.0) - 55.0).abs() < 0.6);
        assert!((at(1e6) - 45.0).abs() < 1e-9 && (at(1e9) - 45.0).abs() < 1e-9);
        assert_eq!(at(10.0), at(1e3));
        assert!(finite(0.0, 1.0, 1e4).is_err() && finite(600.0, 200.0, f64::NAN).is_err());
        let all: Vec<f64> = (3..=7).map(|k| at(10f64.powi(k))).collect();
        assert!(all.windows(2).all(|w| w[0] >= w[1]));
    }

    #[test]
    fn endurance_limit() {
        let e = endurance(690.0, Surface::Machined, 32.0, 0.5).unwrap();
        // Shigley example 6-4 kind: ka = 4.51 · 690^−0.265 = 0.798, kb = 1.24 · 32^−0.107 = 0.856.
        assert!((e.surface - 0.798).abs() < 0.002 && (e.size - 0.856).abs() < 0.002);
        assert!((e.limit - 0.798 * 0.856 * 345.0).abs() < 1.0);
        let sure = endurance(690.0, Surface::Machined, 32.0, 0.99).unwrap();
        assert!((sure.reliability - 0.814).abs() < 0.001);
        assert!(endurance(690.0, Surface::Ground, 32.0, 0.5).unwrap().limit > e.limit);
        assert_eq!(
            endurance(2000.0, Surface::Ground, 2.0, 0.5).unwrap().bar,
            700.0
        );
        assert!(endurance(690.0, Surface::Ground, 300.0, 0.5).is_err());
    }

    #[test]
    fn refuses() {
        assert!(
            check(
                &Loads { kf: 0.5, ..loads() },
                20.0,
                &STEEL,
                Criterion::Goodman
            )
            .is_err()
        );
        assert!(check(&loads(), 0.0, &STEEL, Criterion::Goodman).is_err());
        let none = Loads {
            bending_alternating: 0.0,
            bending_steady: 0.0,
            torque_alternating: 0.0,
            torque_steady: 0.0,
            ..loads()
        };
        let [fatigue, _] = check(&none, 20.0, &STEEL, Criterion::Gerber).unwrap();
        assert_eq!(fatigue.factor(), f64::INFINITY);
        assert!(diameter(&none, &STEEL, Criterion::Goodman, 2.0).is_err());
    }

    proptest! {
        #[test]
        fn criteria_are_ordered_and_turn_round(d in 8.0..60.0f64, n in 1.0..4.0f64, m in 0.0..2e5f64, t in 0.0..2e5f64) {
            let l = Loads { bending_alternating: m + 1.0, torque_steady: t, ..loads() };
            let factor = |c| check(&l, d, &STEEL, c).unwrap()[0].factor();
            let (goodman, gerber) = (factor(Criterion::Goodman), factor(Criterion::Gerber));
            let (soderberg, elliptic) = (factor(Criterion::Soderberg), factor(Criterion::Elliptic));
            prop_assert!(soderberg <= goodman * (1.0 + 1e-12) && goodman <= gerber * (1.0 + 1e-12) && soderberg <= elliptic * (1.0 + 1e-12));
            for c in [Criterion::Goodman, Criterion::Soderberg, Criterion::Elliptic, Criterion::Gerber] {
                let size = diameter(&l, &STEEL, c, n).unwrap();
                let back = check(&l, size, &STEEL, c).unwrap()[0].factor();
                prop_assert!((back / n - 1.0).abs() < 1e-9, "{c:?} {back} {n}");
            }
        }
    }
}
