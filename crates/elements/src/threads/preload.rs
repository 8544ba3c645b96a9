//! Property classes, preload and tightening torque.

use crate::error::{friction, not_listed, not_negative, positive, within};
use crate::{ElementError, Source};
use std::f64::consts::PI;

/// Strengths of a property class, MPa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Class {
    /// As stamped on the head.
    pub name: &'static str,
    /// Largest diameter for which it holds, mm.
    pub largest: f64,
    /// Proof stress.
    pub proof: f64,
    /// Least yield strength.
    pub yields: f64,
    /// Least tensile strength.
    pub tensile: f64,
    /// Where it comes from.
    pub source: Source,
}

const ISO: Source = Source::memory("ISO 898-1:2013 tables 3 to 6");
const A2: Source =
    Source::memory("ISO 3506-1:2009; no proof stress there, 0.2 % yield stands for it");
const SAE: Source = Source::memory("SAE J429, 1/4 to 3/4 or 1 in");

const fn class(name: &'static str, largest: f64, strengths: [f64; 3], source: Source) -> Class {
    let [proof, yields, tensile] = strengths;
    Class {
        name,
        largest,
        proof,
        yields,
        tensile,
        source,
    }
}

/// All classes; of one name the smaller diameters first.
pub const CLASSES: [Class; 13] = [
    class("4.6", 39.0, [225.0, 240.0, 400.0], ISO),
    class("4.8", 39.0, [310.0, 340.0, 420.0], ISO),
    class("5.6", 39.0, [280.0, 300.0, 500.0], ISO),
    class("5.8", 39.0, [380.0, 420.0, 520.0], ISO),
    class("8.8", 16.0, [580.0, 640.0, 800.0], ISO),
    class("8.8", 39.0, [600.0, 660.0, 830.0], ISO),
    class("9.8", 16.0, [650.0, 720.0, 900.0], ISO),
    class("10.9", 39.0, [830.0, 940.0, 1040.0], ISO),
    class("12.9", 39.0, [970.0, 1100.0, 1220.0], ISO),
    class("A2-70", 24.0, [450.0, 450.0, 700.0], A2),
    class("grade 2", 19.05, [379.0, 393.0, 510.0], SAE),
    class("grade 5", 25.4, [586.0, 634.0, 827.0], SAE),
    class("grade 8", 38.1, [827.0, 896.0, 1034.0], SAE),
];

/// The class of a screw of this diameter, mm.
///
/// # Errors
/// [`ElementError::NotListed`] for a class that is not there at this size.
pub fn find(name: &str, major: f64) -> Result<&'static Class, ElementError> {
    positive("major diameter", "mm", major)?;
    CLASSES
        .iter()
        .find(|c| c.name.eq_ignore_ascii_case(name.trim()) && major <= c.largest)
        .ok_or_else(|| not_listed("property class", name, CLASSES.iter().map(|c| c.name)))
}

/// Preload as a share of the proof load, N: 0.75 for joints that are taken apart, 0.90 for those that stay (Shigley
/// eq. 8-31).
///
/// # Errors
/// Values that are not positive, a share over 1.
pub fn preload(stress_area: f64, proof: f64, share: f64) -> Result<f64, ElementError> {
    positive("stress area", "mm²", stress_area)?;
    positive("proof stress", "MPa", proof)?;
    within("share of the proof load", "", share, 0.0, 1.0)?;
    Ok(share * stress_area * proof)
}

/// The smallest coarse metric screw whose proof load bears a pull with a factor, as diameter and pitch, mm; `None` when
/// M24 does not.
///
/// # Errors
/// A negative pull, a factor that is not positive, an unknown class.
///
/// ```
/// use elements::threads::preload::smallest_coarse;
/// assert_eq!(smallest_coarse(10_000.0, "8.8", 1.5).unwrap(), Some((8.0, 1.25)));
/// ```
pub fn smallest_coarse(
    pull: f64,
    class: &str,
    factor: f64,
) -> Result<Option<(f64, f64)>, ElementError> {
    not_negative("pull", "N", pull)?;
    positive("factor", "", factor)?;
    find(class, super::COARSE[0].0)?;
    for (major, pitch) in super::COARSE {
        let Ok(class) = find(class, major) else {
            continue;
        };
        let area = super::basic(major, pitch)?.stress_area;
        if area * class.proof >= factor * pull {
            return Ok(Some((major, pitch)));
        }
    }
    Ok(None)
}

/// The smallest unified coarse screw of a grade whose proof load is `factor` times a pull, N: its row in [`super::UNC`]. None
/// when 1 in is too small.
///
/// # Errors
/// A negative pull, a factor that is not positive, an unknown grade.
pub fn smallest_unc(pull: f64, class: &str, factor: f64) -> Result<Option<usize>, ElementError> {
    const INCH: f64 = 25.4;
    not_negative("pull", "N", pull)?;
    positive("factor", "", factor)?;
    find(class, 0.5 * INCH)?;
    for (row, (_, major, threads)) in super::UNC.into_iter().enumerate() {
        // SAE J429 begins at a quarter of an inch.
        if major < 0.25 - 1e-9 && class.starts_with("grade") {
            continue;
        }
        let Ok(class) = find(class, major * INCH) else {
            continue;
        };
        let area = super::inch_stress_area(major * INCH, INCH / threads)?;
        if area * class.proof >= factor * pull {
            return Ok(Some(row));
        }
    }
    Ok(None)
}

/// Sizes and friction of a screw that is tightened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tightening {
    /// Major diameter, mm.
    pub major: f64,
    /// Pitch diameter, mm.
    pub pitch_diameter: f64,
    /// Lead, mm.
    pub lead: f64,
    /// Half the flank angle, rad: 30° for metric and unified threads.
    pub half_flank: f64,
    /// Friction in the thread.
    pub thread_friction: f64,
    /// Friction under the head.
    pub head_friction: f64,
    /// Mean diameter of the head's bearing face, mm: 1.25 d for common heads.
    pub head_mean: f64,
}

impl Tightening {
    /// Torque over preload and diameter, the K of T = K F d: the long form (Shigley eq. 8-26).
    ///
    /// # Errors
    /// Sizes that are not positive; friction so high that the thread cannot be turned.
    pub fn k(&self) -> Result<f64, ElementError> {
        let t = super::moving::thread_torque(
            1.0,
            self.pitch_diameter,
            self.lead,
            self.half_flank,
            self.thread_friction,
        )?;
        positive("major diameter", "mm", self.major)?;
        not_negative("mean diameter of the head", "mm", self.head_mean)?;
        Ok((t.raise + friction(self.head_friction)? * self.head_mean / 2.0) / self.major)
    }
}

/// T = K F d, N·mm. K is about 0.20 dry, 0.15 oiled, and scatters by 25 to 30 % (Shigley table 8-15, from memory).
///
/// # Errors
/// Values that are not positive.
pub fn torque(k: f64, preload: f64, major: f64) -> Result<f64, ElementError> {
    within("torque coefficient", "", k, 0.01, 1.0)?;
    not_negative("preload", "N", preload)?;
    positive("major diameter", "mm", major)?;
    Ok(k * preload * major)
}

/// The preload that a torque gives, N.
///
/// # Errors
/// As for [`torque`].
pub fn preload_of_torque(k: f64, torque: f64, major: f64) -> Result<f64, ElementError> {
    within("torque coefficient", "", k, 0.01, 1.0)?;
    not_negative("torque", "N·mm", torque)?;
    positive("major diameter", "mm", major)?;
    Ok(torque / (k * major))
}

/// Equivalent stress while tightening, MPa: preload with the torque of the thread alone (von Mises, as in VDI 2230).
///
/// # Errors
/// Values that are not positive.
pub fn tightening_stress(
    preload: f64,
    stress_area: f64,
    thread_torque: f64,
) -> Result<f64, ElementError> {
    not_negative("preload", "N", preload)?;
    positive("stress area", "mm²", stress_area)?;
    not_negative("torque in the thread", "N·mm", thread_torque)?;
    let diameter = (4.0 * stress_area / PI).sqrt();
    let shear = 16.0 * thread_torque / (PI * diameter.powi(3));
    Ok((preload / stress_area).hypot(3f64.sqrt() * shear))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unc_screws_by_their_printed_stress_areas() {
        // Stress areas of the printed tables, in²: 1/4-20 0.0318, 3/8-16 0.0775, 1/2-13 0.1419, 1-8 0.606 (ASME B1.1,
        // Shigley table 8-2).
        for (name, area) in [
            ("#10-24", 0.0175),
            ("1/4-20", 0.0318),
            ("3/8-16", 0.0775),
            ("1/2-13", 0.1419),
            ("1-8", 0.606),
        ] {
            let row = super::super::UNC.iter().find(|r| r.0 == name).unwrap();
            let found =
                super::super::inch_stress_area(row.1 * 25.4, 25.4 / row.2).unwrap() / 645.16;
            assert!((found / area - 1.0).abs() < 0.006, "{name}: {found}");
        }
        // Grade 5 has 85 ksi of proof: a hair under that of 3/8-16 takes it, a hair over the next.
        let proof = find("grade 5", 9.0).unwrap().proof
            * super::super::inch_stress_area(9.525, 25.4 / 16.0).unwrap();
        let name = |pull: f64| {
            smallest_unc(pull, "grade 5", 1.0)
                .unwrap()
                .map(|r| super::super::UNC[r].0)
        };
        assert_eq!(
            (name(0.999 * proof), name(1.001 * proof)),
            (Some("3/8-16"), Some("7/16-14"))
        );
        assert_eq!(name(1e7), None);
        assert!(
            smallest_unc(-1.0, "grade 5", 1.0).is_err()
                && smallest_unc(1.0, "nonsense", 1.0).is_err()
        );
    }
    use crate::threads::{COARSE, basic};

    #[test]
    fn classes_are_named_after_their_strength() {
        for c in &CLASSES {
            assert!(c.proof <= c.yields && c.yields < c.tensile, "{}", c.name);
            if let Some((a, b)) = c.name.split_once('.') {
                let nominal = 100.0 * a.parse::<f64>().unwrap();
                assert!(c.tensile >= nominal && c.tensile < 1.08 * nominal);
                let ratio = b.parse::<f64>().unwrap() / 10.0;
                assert!((c.yields / c.tensile - ratio).abs() < 0.02, "{}", c.name);
            }
        }
        assert_eq!(find("8.8", 16.0).unwrap().proof, 580.0);
        assert_eq!(find("8.8", 18.0).unwrap().proof, 600.0);
        assert!(find("9.8", 20.0).is_err() && find("7.7", 8.0).is_err());
    }

    #[test]
    fn k_is_near_a_fifth() {
        for (major, pitch) in COARSE {
            let b = basic(major, pitch).unwrap();
            let t = Tightening {
                major,
                pitch_diameter: b.pitch_diameter,
                lead: pitch,
                half_flank: PI / 6.0,
                thread_friction: 0.15,
                head_friction: 0.15,
                head_mean: 1.25 * major,
            };
            let k = t.k().unwrap();
            assert!((0.18..0.22).contains(&k), "M{major}: {k}");
            let oiled = Tightening {
                thread_friction: 0.1,
                head_friction: 0.1,
                ..t
            };
            assert!(oiled.k().unwrap() < k);
        }
    }

    #[test]
    fn torque_and_back() {
        let t = torque(0.2, 25_275.0, 10.0).unwrap();
        assert!((preload_of_torque(0.2, t, 10.0).unwrap() - 25_275.0).abs() < 1e-9);
        let s = tightening_stress(25_275.0, 58.0, 20_000.0).unwrap();
        assert!(s > 25_275.0 / 58.0 && s < 700.0);
        assert!(torque(0.0, 1.0, 1.0).is_err() && preload(1.0, 1.0, 1.2).is_err());
    }
}
