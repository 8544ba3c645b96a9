//! Pins and the lugs that they join: shear, bearing, net section, tear-out, bending of the pin in a clevis.
//!
//! Mean stresses of the joint as it is dimensioned; a hole in a lug that is loaded to and fro needs its notch factor
//! besides (see the shafts module for fatigue).

use crate::error::{less_than, more_than, not_negative, positive, within};
use crate::{Check, ElementError, Source};
use std::f64::consts::PI;

/// The formulas.
pub const SOURCE: Source = Source::derived(
    "mean shear, bearing, net section and tear-out of a pinned joint (Shigley ch. 8; Machinery's Handbook)",
);

/// Shear strength over tensile or yield strength of steel by the distortion-energy theory.
pub const SHEAR_SHARE: f64 = 0.577;

/// Strengths in MPa: what each part may bear. A pin in single or double shear between a lug and the ears of a fork.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clevis {
    /// Diameter of the pin, mm.
    pub pin: f64,
    /// Bore of a hollow pin, mm; zero when solid.
    pub pin_bore: f64,
    /// Thickness of the lug in the middle, mm.
    pub lug: f64,
    /// Thickness of one ear, mm.
    pub ear: f64,
    /// Gap between lug and ear on one side, mm.
    pub gap: f64,
}

/// Stresses of a pin, MPa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PinStress {
    /// Mean shear: F/(2 A).
    pub shear: f64,
    /// Bending in the middle of the lug: F/2 (ear/2 + gap + lug/4), with even pressure in ears and lug. A pin that
    /// fits closely is held and bends less.
    pub bending: f64,
    /// Pressure between pin and lug.
    pub lug_pressure: f64,
    /// Pressure between pin and ear.
    pub ear_pressure: f64,
}

impl Clevis {
    /// Stresses under a force, N.
    ///
    /// # Errors
    /// Sizes that are not positive, a bore as large as the pin, a negative force.
    pub fn stress(&self, force: f64) -> Result<PinStress, ElementError> {
        not_negative("force", "N", force)?;
        let d = positive("pin", "mm", self.pin)?;
        not_negative("bore of the pin", "mm", self.pin_bore)?;
        less_than("bore of the pin", "mm", self.pin_bore, "pin", d)?;
        positive("thickness of the lug", "mm", self.lug)?;
        positive("thickness of the ear", "mm", self.ear)?;
        not_negative("gap", "mm", self.gap)?;
        let hollow = 1.0 - (self.pin_bore / d).powi(4);
        let area = PI / 4.0 * (d.powi(2) - self.pin_bore.powi(2));
        let section = PI * d.powi(3) / 32.0 * hollow;
        let moment = force / 2.0 * (self.ear / 2.0 + self.gap + self.lug / 4.0);
        Ok(PinStress {
            shear: force / (2.0 * area),
            bending: moment / section,
            lug_pressure: force / (d * self.lug),
            ear_pressure: force / (2.0 * d * self.ear),
        })
    }

    /// Shear and bending of the pin against its yield strength, pressure against that of lug and fork, MPa.
    ///
    /// # Errors
    /// As for [`Clevis::stress`]; strengths that are not positive.
    pub fn checks(
        &self,
        force: f64,
        pin_yield: f64,
        lug_yield: f64,
        fork_yield: f64,
    ) -> Result<[Check; 4], ElementError> {
        let s = self.stress(force)?;
        positive("yield strength of the pin", "MPa", pin_yield)?;
        positive("yield strength of the lug", "MPa", lug_yield)?;
        positive("yield strength of the fork", "MPa", fork_yield)?;
        Ok([
            check("shear of the pin", s.shear, SHEAR_SHARE * pin_yield),
            check("bending of the pin", s.bending, pin_yield),
            check("pressure of the pin in the lug", s.lug_pressure, lug_yield),
            check(
                "pressure of the pin in the fork",
                s.ear_pressure,
                fork_yield,
            ),
        ])
    }
}

/// Mean shear of a pin in `planes` planes, MPa.
///
/// # Errors
/// A pin that is not positive, no plane, a negative force.
pub fn pin_shear(force: f64, pin: f64, planes: u32) -> Result<f64, ElementError> {
    not_negative("force", "N", force)?;
    positive("pin", "mm", pin)?;
    let planes = within("shear planes", "", f64::from(planes), 1.0, 100.0)?;
    Ok(force / (planes * PI * pin * pin / 4.0))
}

/// Where [`stud_pressure`] comes from.
pub const STUD: Source = Source::memory(
    "pin held at one end: p = F (6 a + 4 s)/(d s²) (Decker; Roloff and Matek, Maschinenelemente)",
);

/// Greatest pressure of a stud in its hole, MPa: it sits `deep` in its holder and is loaded `out` of it.
///
/// # Errors
/// Sizes that are not positive, a negative force or distance.
///
/// ```
/// // 500 N, 5 mm out of a hole 12 wide and 6 deep: 500 (30 + 24)/(12 · 36).
/// let p = elements::pins_lugs::stud_pressure(500.0, 5.0, 12.0, 6.0).unwrap();
/// assert!((p - 62.5).abs() < 1e-9);
/// ```
pub fn stud_pressure(force: f64, out: f64, pin: f64, deep: f64) -> Result<f64, ElementError> {
    not_negative("force", "N", force)?;
    not_negative("distance of the load", "mm", out)?;
    positive("pin", "mm", pin)?;
    positive("depth of the hole", "mm", deep)?;
    Ok(force * (6.0 * out + 4.0 * deep) / (pin * deep * deep))
}

/// Where [`lug_notch`] comes from.
pub const LUG_NOTCH: Source = Source::memory(
    "pin-loaded hole in a bar: Kt = 12.88 − 52.71 x + 89.76 x² − 51.67 x³ (Pilkey, Formulas for Stress, Strain, and Structural Matrices), and a third more for an end rounded about its hole (Peterson chart 4.67)",
);

/// Stress at the side of a hole that its pin pulls on, over F/((w − d) t): `share` is hole over width. The formula runs from 0.15 to 0.75.
pub fn lug_notch(share: f64) -> f64 {
    const ROUND_END: f64 = 4.0 / 3.0;
    let x = share.clamp(0.15, 0.75);
    ROUND_END * (12.882 - x * (52.714 - x * (89.762 - x * 51.667)))
}

/// The end of a lug, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lug {
    /// Thickness.
    pub thickness: f64,
    /// Hole.
    pub hole: f64,
    /// Pin; the pressure acts on its diameter.
    pub pin: f64,
    /// From the middle of the hole to the edge, along the pull.
    pub edge: f64,
    /// Width across the hole.
    pub width: f64,
}

/// Stresses of a lug, MPa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LugStress {
    /// Pressure on the pin: F/(d t).
    pub pressure: f64,
    /// Tension beside the hole: F/((w − D) t).
    pub net: f64,
    /// Tear-out in two planes that touch the hole: F/(2 t (e − D/2)).
    pub tear_out: f64,
    /// Tear-out in two planes from the points at 40° of the pin: F/(2 t (e − D/2 cos 40°)), for a straight edge. It is
    /// the less severe assumption.
    pub tear_out_40: f64,
}

impl Lug {
    /// Stresses under a pull toward the edge, N.
    ///
    /// # Errors
    /// Sizes that are not positive; a hole as wide as the lug or nearer to the edge than half its size.
    pub fn stress(&self, pull: f64) -> Result<LugStress, ElementError> {
        not_negative("pull", "N", pull)?;
        let t = positive("thickness of the lug", "mm", self.thickness)?;
        positive("hole", "mm", self.hole)?;
        positive("pin", "mm", self.pin)?;
        within("pin", "mm", self.pin, 0.0, self.hole)?;
        more_than("width of the lug", "mm", self.width, "hole", self.hole)?;
        more_than(
            "edge distance",
            "mm",
            self.edge,
            "half the hole",
            self.hole / 2.0,
        )?;
        let r = self.hole / 2.0;
        Ok(LugStress {
            pressure: pull / (self.pin * t),
            net: pull / ((self.width - self.hole) * t),
            tear_out: pull / (2.0 * t * (self.edge - r)),
            tear_out_40: pull / (2.0 * t * (self.edge - r * (40f64).to_radians().cos())),
        })
    }

    /// Against the yield strength, MPa; tear-out by the severe assumption.
    ///
    /// # Errors
    /// As for [`Lug::stress`]; a strength that is not positive.
    pub fn checks(&self, pull: f64, yields: f64) -> Result<[Check; 3], ElementError> {
        let s = self.stress(pull)?;
        positive("yield strength", "MPa", yields)?;
        Ok([
            check("pressure in the hole of the lug", s.pressure, yields),
            check("tension beside the hole of the lug", s.net, yields),
            check("tear-out of the lug", s.tear_out, SHEAR_SHARE * yields),
        ])
    }
}

fn check(what: &'static str, acts: f64, bears: f64) -> Check {
    Check {
        what,
        acts,
        bears,
        unit: "MPa",
        source: SOURCE,
    }
}

/// The smallest of the pins offered, mm, that passes shear and bending in a clevis with a factor; the rest of the
/// clevis stays.
///
/// # Errors
/// As for [`Clevis::checks`].
pub fn smallest_pin(
    clevis: &Clevis,
    force: f64,
    pin_yield: f64,
    factor: f64,
    pins: &[f64],
) -> Result<Option<f64>, ElementError> {
    positive("factor", "", factor)?;
    let mut best: Option<f64> = None;
    for pin in pins {
        let with = Clevis {
            pin: *pin,
            pin_bore: 0.0,
            ..*clevis
        };
        let [shear, bending, ..] = with.checks(force, pin_yield, pin_yield, pin_yield)?;
        if shear.passes(factor) && bending.passes(factor) && best.is_none_or(|b| *pin < b) {
            best = Some(*pin);
        }
    }
    Ok(best)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Read off Peterson's chart for a plate loaded by a close pin: about 5.4 at 0.2, 3.7 at 0.3 and 2.5 at half the width (from memory).
    #[test]
    fn a_lug_is_a_sharp_notch() {
        for (share, chart) in [(0.2, 5.4), (0.3, 3.7), (0.5, 2.5)] {
            let own = lug_notch(share) * 0.75;
            assert!((own / chart - 1.0).abs() < 0.05, "{share}: {own}");
        }
        assert!(lug_notch(0.01) == lug_notch(0.15));
    }

    /// A deeper hole presses less; the limit of a long one is four times the mean.
    #[test]
    fn studs_press_less_in_deeper_holes() {
        let p = |deep: f64| stud_pressure(1000.0, 10.0, 10.0, deep).unwrap();
        assert!(p(10.0) > p(20.0) && p(20.0) > p(40.0));
        assert!((p(1e6) * 1e6 * 10.0 / 1000.0 - 4.0).abs() < 1e-3);
        assert!(stud_pressure(1.0, 1.0, 1.0, 0.0).is_err());
    }
    use proptest::prelude::*;

    fn lug() -> Lug {
        Lug {
            thickness: 6.0,
            hole: 10.0,
            pin: 10.0,
            edge: 15.0,
            width: 30.0,
        }
    }

    #[test]
    fn clevis() {
        let c = Clevis {
            pin: 8.0,
            pin_bore: 0.0,
            lug: 10.0,
            ear: 6.0,
            gap: 0.5,
        };
        let s = c.stress(5000.0).unwrap();
        assert!((s.shear - pin_shear(5000.0, 8.0, 2).unwrap()).abs() < 1e-12);
        // M = 2500 · (3 + 0.5 + 2.5) = 15 000 N·mm.
        assert!((s.bending - 15_000.0 * 32.0 / (PI * 512.0)).abs() < 1e-9);
        let hollow = Clevis { pin_bore: 4.0, ..c };
        let h = hollow.stress(5000.0).unwrap();
        assert!(h.shear > s.shear && h.bending > s.bending && h.lug_pressure == s.lug_pressure);
        let pins = [5.0, 6.0, 8.0, 10.0, 12.0];
        let found = smallest_pin(&c, 5000.0, 530.0, 1.5, &pins).unwrap();
        assert_eq!(found, Some(8.0));
        assert_eq!(smallest_pin(&c, 5e6, 530.0, 1.5, &pins).unwrap(), None);
        assert!(Clevis { pin_bore: 8.0, ..c }.stress(1.0).is_err());
    }

    #[test]
    fn refuses() {
        assert!(Lug { edge: 5.0, ..lug() }.stress(1.0).is_err());
        assert!(
            Lug {
                width: 10.0,
                ..lug()
            }
            .stress(1.0)
            .is_err()
        );
        assert!(Lug { pin: 12.0, ..lug() }.stress(1.0).is_err());
        assert!(lug().stress(-1.0).is_err() && pin_shear(1.0, 8.0, 0).is_err());
        assert!(lug().checks(1.0, f64::NAN).is_err());
    }

    proptest! {
        #[test]
        fn more_metal_less_stress(more in 0.1..20.0f64) {
            let s = lug().stress(5000.0).unwrap();
            let longer = Lug { edge: 15.0 + more, ..lug() }.stress(5000.0).unwrap();
            let wider = Lug { width: 30.0 + more, ..lug() }.stress(5000.0).unwrap();
            prop_assert!(longer.tear_out < s.tear_out && wider.net < s.net);
            prop_assert!(s.tear_out_40 < s.tear_out);
            prop_assert!((lug().stress(10_000.0).unwrap().net / s.net - 2.0).abs() < 1e-12);
        }
    }
}
