//! Spur gears and racks: geometry, contact ratio, undercut, centre distance and backlash, Lewis bending strength,
//! form cutters.
//!
//! Sizes by module in mm; a diametral pitch P is a module of 25.4/P. Lewis's Y stands with the module or the diametral
//! pitch, his y with the circular pitch: Y = π y.

mod form;
mod internal;
mod strength;
mod wear;

pub use form::{form_factor, of_shape};
pub use internal::{FEWEST_APART, internal_pair};
pub use strength::{Lewis, bending, lewis_y};
pub use wear::{
    BRONZE, BRONZE_BEARS, Flank, IRON, IRON_BEARS, SOURCE as WEAR, STEEL, steel_bears, wear,
};

use crate::error::{less_than, positive, sensible, within};
use crate::{ElementError, Source};
use std::f64::consts::PI;

/// The geometry.
pub const SOURCE: Source = Source::derived(
    "involute geometry of the basic rack of ISO 53 (Shigley ch. 13; Elements of Metric Gear Technology)",
);

/// Module of a diametral pitch, mm.
///
/// # Errors
/// A pitch that is not positive.
pub fn module_of_pitch(diametral_pitch: f64) -> Result<f64, ElementError> {
    Ok(25.4 / positive("diametral pitch", "1/in", diametral_pitch)?)
}

/// Modules of the first series, mm (ISO 54).
pub const MODULES: [f64; 12] = [0.5, 0.6, 0.8, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0];

/// Usual diametral pitches, 1/in.
pub const PITCHES: [f64; 12] = [
    48.0, 40.0, 32.0, 24.0, 20.0, 16.0, 14.0, 12.0, 10.0, 8.0, 6.0, 5.0,
];

/// Involute function tan φ − φ.
pub fn involute(angle: f64) -> f64 {
    angle.tan() - angle
}

/// The angle of an involute function, rad.
///
/// # Errors
/// A value outside 0 to 2.
pub fn angle_of_involute(value: f64) -> Result<f64, ElementError> {
    within("involute", "", value, 0.0, 2.0)?;
    if value == 0.0 {
        return Ok(0.0);
    }
    // Newton from above: the function is convex, so it falls monotonically to the root.
    let mut angle = (3.0 * value).cbrt().min(1.35);
    if involute(angle) < value {
        angle = 1.35;
    }
    for _ in 0..60 {
        let slope = angle.tan().powi(2);
        let step = (involute(angle) - value) / slope;
        angle -= step;
        if step.abs() < 1e-15 {
            break;
        }
    }
    Ok(angle)
}

/// A spur gear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spur {
    /// Module, mm.
    pub module: f64,
    /// Teeth.
    pub teeth: u32,
    /// Pressure angle of the tool, rad.
    pub pressure_angle: f64,
    /// Profile shift over module; zero for a standard gear.
    pub shift: f64,
    /// Addendum over module, 1 for full depth.
    pub addendum: f64,
    /// Dedendum over module, 1.25 for full depth.
    pub dedendum: f64,
}

/// Diameters and thickness, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Geometry {
    /// Pitch circle.
    pub pitch: f64,
    /// Outside.
    pub outside: f64,
    /// Root.
    pub root: f64,
    /// Base circle.
    pub base: f64,
    /// Circular pitch.
    pub circular_pitch: f64,
    /// Tooth thickness on the pitch circle.
    pub thickness: f64,
    /// Half the angle of the tooth on the pitch circle, rad.
    pub half_angle: f64,
    /// Thickness along the chord, for a tooth caliper.
    pub chordal_thickness: f64,
    /// Addendum above that chord.
    pub chordal_addendum: f64,
    /// Thickness at the tip: below 0.25 modules it chips, below zero it is pointed.
    pub tip_thickness: f64,
    /// Whether a hob or rack cutter undercuts it.
    pub undercut: bool,
}

impl Spur {
    /// A standard full-depth gear of 20°.
    pub fn standard(module: f64, teeth: u32) -> Self {
        Self {
            module,
            teeth,
            pressure_angle: 20f64.to_radians(),
            shift: 0.0,
            addendum: 1.0,
            dedendum: 1.25,
        }
    }

    fn checked(&self) -> Result<(f64, f64), ElementError> {
        positive("module", "mm", self.module)?;
        let z = within(
            "number of teeth",
            "",
            f64::from(self.teeth),
            5.0,
            1_000_000.0,
        )?;
        within("pressure angle", "rad", self.pressure_angle, 0.17, 0.62)?;
        within("profile shift", "", self.shift, -1.0, 1.5)?;
        within("addendum", "", self.addendum, 0.1, 2.0)?;
        within("dedendum", "", self.dedendum, 0.1, 2.5)?;
        Ok((z, self.module * z))
    }

    /// Diameters and thickness.
    ///
    /// # Errors
    /// A module that is not positive, teeth outside 5 to a million, proportions outside what can be cut.
    pub fn geometry(&self) -> Result<Geometry, ElementError> {
        let (z, d) = self.checked()?;
        let m = self.module;
        let (sin, cos) = self.pressure_angle.sin_cos();
        let tan = sin / cos;
        let outside = d + 2.0 * m * (self.addendum + self.shift);
        let base = d * cos;
        let thickness = m * (PI / 2.0 + 2.0 * self.shift * tan);
        let half_angle = thickness / d;
        let tip_angle = (base / outside).clamp(-1.0, 1.0).acos();
        let tip = outside * (thickness / d + involute(self.pressure_angle) - involute(tip_angle));
        let head = m * (self.addendum + self.shift);
        Ok(Geometry {
            pitch: d,
            outside,
            root: d - 2.0 * m * (self.dedendum - self.shift),
            base,
            circular_pitch: PI * m,
            thickness,
            half_angle,
            chordal_thickness: d * half_angle.sin(),
            chordal_addendum: d / 2.0 * (1.0 - half_angle.cos()) + head,
            tip_thickness: tip,
            undercut: self.shift < self.addendum - z * sin * sin / 2.0,
        })
    }

    /// Measurement over two pins of a diameter, mm; between two teeth's sides for an odd number of teeth.
    ///
    /// # Errors
    /// As for [`Spur::geometry`]; pins that do not touch the flanks.
    pub fn over_pins(&self, pin: f64) -> Result<f64, ElementError> {
        let g = self.geometry()?;
        positive("pin", "mm", pin)?;
        let z = f64::from(self.teeth);
        let space = PI / z - g.thickness / g.pitch;
        let angle = angle_of_involute(pin / g.base + involute(self.pressure_angle) - space)?;
        let centres = g.base / angle.cos();
        Ok(if self.teeth.is_multiple_of(2) {
            centres + pin
        } else {
            centres * (PI / (2.0 * z)).cos() + pin
        })
    }

    /// Span over `teeth` teeth with a disc micrometer, mm: m cos φ (π (k − ½) + z inv φ) + 2 x m sin φ.
    ///
    /// # Errors
    /// As for [`Spur::geometry`]; a span of no or of more than half the teeth.
    pub fn span(&self, teeth: u32) -> Result<f64, ElementError> {
        self.geometry()?;
        let z = f64::from(self.teeth);
        let k = within("teeth spanned", "", f64::from(teeth), 1.0, z / 2.0 + 1.0)?;
        let (sin, cos) = self.pressure_angle.sin_cos();
        let base = self.module * cos * (PI * (k - 0.5) + z * involute(self.pressure_angle));
        Ok(base + 2.0 * self.shift * self.module * sin)
    }
}

/// A pair of gears at their working centres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// Centre distance, mm.
    pub centres: f64,
    /// Pressure angle at work, rad.
    pub pressure_angle: f64,
    /// Contact ratio, the path cut off where the flanks would interfere: beyond the base circle's tangent point there is no involute. 1.2 is
    /// the least to run by.
    pub contact_ratio: f64,
    /// Backlash along the working pitch circle, mm; negative when the teeth jam.
    pub backlash: f64,
    /// Ratio of teeth, second over first.
    pub ratio: f64,
}

/// Two gears of one module and pressure angle at a centre distance, mm; `None` for the one without backlash.
///
/// # Errors
/// Gears that do not go together; centres so near or far that the teeth do not work.
///
/// ```
/// use elements::gears::{Spur, pair};
/// let p = pair(&Spur::standard(1.0, 20), &Spur::standard(1.0, 40), None).unwrap();
/// assert!((p.centres - 30.0).abs() < 1e-9 && (p.contact_ratio - 1.6352).abs() < 1e-4);
/// ```
pub fn pair(first: &Spur, second: &Spur, centres: Option<f64>) -> Result<Pair, ElementError> {
    let (a, b) = (first.geometry()?, second.geometry()?);
    within(
        "module of the second gear",
        "mm",
        second.module,
        first.module * (1.0 - 1e-9),
        first.module * (1.0 + 1e-9),
    )?;
    within(
        "pressure angle of the second gear",
        "rad",
        second.pressure_angle,
        first.pressure_angle - 1e-9,
        first.pressure_angle + 1e-9,
    )?;
    let standard = f64::midpoint(a.pitch, b.pitch);
    let bases = f64::midpoint(a.base, b.base);
    let z = f64::from(first.teeth) + f64::from(second.teeth);
    let tight = angle_of_involute(
        involute(first.pressure_angle)
            + 2.0 * (first.shift + second.shift) * first.pressure_angle.tan() / z,
    )?;
    let centres = centres.unwrap_or(bases / tight.cos());
    less_than(
        "sum of the base radii",
        "mm",
        bases,
        "centre distance",
        centres,
    )?;
    within(
        "centre distance",
        "mm",
        centres,
        0.8 * standard,
        1.3 * standard,
    )?;
    let angle = (bases / centres).acos();
    let above = |g: &Geometry| {
        ((g.outside / 2.0).powi(2) - (g.base / 2.0).powi(2))
            .max(0.0)
            .sqrt()
    };
    // From tangent point to tangent point; a tip that reaches beyond meets no involute there.
    let line = centres * angle.sin();
    let path = above(&a).min(line) + above(&b).min(line) - line;
    let base_pitch = a.circular_pitch * first.pressure_angle.cos();
    Ok(Pair {
        centres,
        pressure_angle: angle,
        contact_ratio: path / base_pitch,
        backlash: 2.0 * centres * (involute(angle) - involute(tight)),
        ratio: f64::from(second.teeth) / f64::from(first.teeth),
    })
}

/// Contact ratio of a pinion with a rack of the same proportions.
///
/// # Errors
/// As for [`Spur::geometry`].
pub fn rack_contact_ratio(pinion: &Spur) -> Result<f64, ElementError> {
    let g = pinion.geometry()?;
    let (sin, cos) = pinion.pressure_angle.sin_cos();
    let pinion_side = ((g.outside / 2.0).powi(2) - (g.base / 2.0).powi(2))
        .max(0.0)
        .sqrt()
        - g.pitch / 2.0 * sin;
    // The pinion's shift moves the rack out by as much.
    let rack_side =
        (pinion.module * (pinion.addendum - pinion.shift) / sin).min(g.pitch / 2.0 * sin);
    Ok((pinion_side + rack_side) / (g.circular_pitch * cos))
}

/// Fewest teeth of a pinion without interference, before rounding up (Shigley eqs. 13-10 to 13-13). `k` is the
/// addendum over module.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FewestTeeth {
    /// With a pinion of its own size.
    pub equal: f64,
    /// With a gear of `ratio` times as many teeth.
    pub with_ratio: f64,
    /// With a rack; also cut by a hob without undercut.
    pub with_rack: f64,
}

/// See [`FewestTeeth`].
///
/// # Errors
/// A pressure angle outside 0.17 to 0.62 rad, a ratio below 1.
pub fn fewest_teeth(pressure_angle: f64, k: f64, ratio: f64) -> Result<FewestTeeth, ElementError> {
    within("pressure angle", "rad", pressure_angle, 0.17, 0.62)?;
    within("addendum", "", k, 0.1, 2.0)?;
    within("ratio", "", ratio, 1.0, 1e6)?;
    let s2 = pressure_angle.sin().powi(2);
    let of =
        |m: f64| 2.0 * k / ((1.0 + 2.0 * m) * s2) * (m + (m * m + (1.0 + 2.0 * m) * s2).sqrt());
    Ok(FewestTeeth {
        equal: of(1.0),
        with_ratio: of(ratio),
        with_rack: 2.0 * k / s2,
    })
}

/// Backlash along the pitch circle that a larger centre distance gives, mm: 2 ΔC tan φ, for small changes.
///
/// # Errors
/// Values that are not finite.
pub fn backlash_of_centres(change: f64, pressure_angle: f64) -> Result<f64, ElementError> {
    sensible("change of the centre distance", "mm", change)?;
    within("pressure angle", "rad", pressure_angle, 0.17, 0.62)?;
    Ok(2.0 * change * pressure_angle.tan())
}

/// A cutter of the usual set of eight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FormCutter {
    /// Number in sets by diametral pitch: 1 for a rack, 8 for the fewest teeth.
    pub number: u32,
    /// Number in sets by module, which are counted the other way: 1 for the fewest teeth (common practice).
    pub module_number: u32,
    /// Fewest teeth that it cuts; its form is right for these.
    pub from: u32,
    /// Most teeth; none where it cuts racks too.
    pub to: Option<u32>,
}

/// Where the ranges of the form cutters come from.
pub const CUTTERS_SOURCE: Source = Source::practice(
    "sets of eight involute cutters; pitch sets are numbered from the rack down, module sets from 12 teeth up",
);

/// The cutters of a set: number and fewest teeth.
const CUTTERS: [(u32, u32); 8] = [
    (8, 12),
    (7, 14),
    (6, 17),
    (5, 21),
    (4, 26),
    (3, 35),
    (2, 55),
    (1, 135),
];

/// The form cutter of the set of eight for a number of teeth. Sets by diametral pitch and sets by module count the same eight
/// cutters from opposite ends; both numbers are given, and what is marked on the cutter is its range of teeth.
///
/// # Errors
/// Fewer than 12 teeth, for which the set has no cutter.
///
/// ```
/// let cutter = elements::gears::form_cutter(24).unwrap();
/// assert_eq!((cutter.number, cutter.module_number, cutter.from, cutter.to), (5, 4, 21, Some(25)));
/// ```
pub fn form_cutter(teeth: u32) -> Result<FormCutter, ElementError> {
    within("teeth", "", f64::from(teeth), 12.0, 1e10)?;
    let at = CUTTERS.partition_point(|(_, from)| *from <= teeth).max(1) - 1;
    let (number, from) = CUTTERS[at];
    Ok(FormCutter {
        number,
        module_number: 9 - number,
        from,
        to: CUTTERS.get(at + 1).map(|(_, next)| next - 1),
    })
}

/// Whether cutters of this module, mm, or of its diametral pitch are common.
pub fn is_common(module: f64) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() < 1e-4 * b;
    MODULES.iter().any(|m| near(module, *m)) || PITCHES.iter().any(|p| near(25.4 / module, *p))
}

/// Least backlash that cut gears of ordinary accuracy run with, along the pitch circle, mm: 0.03 to 0.05 modules (common
/// practice, older handbooks' rule of 0.03/P to 0.05/P).
pub fn usual_backlash(module: f64) -> (f64, f64) {
    (0.03 * module, 0.05 * module)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn undercut_begins_at_eighteen() {
        let cut = |z| Spur::standard(1.0, z).geometry().unwrap().undercut;
        assert!(cut(17) && !cut(18));
        let shifted = Spur {
            shift: 0.3,
            ..Spur::standard(1.0, 13)
        };
        assert!(!shifted.geometry().unwrap().undercut);
        let f = fewest_teeth(20f64.to_radians(), 1.0, 4.0).unwrap();
        assert!(f.equal < f.with_ratio && f.with_ratio < f.with_rack);
        assert_eq!(
            (f.equal.ceil(), f.with_ratio.ceil(), f.with_rack.ceil()),
            (13.0, 16.0, 18.0)
        );
    }

    /// The path of a pinion with too few teeth ends at its base circle: what is left is its own side, √(ro² − rb²)/pb (Shigley 13-11, path of
    /// contact; by hand).
    #[test]
    fn interference_shortens_the_path() {
        let pb = std::f64::consts::PI * 20f64.to_radians().cos();
        let rb = 5.0 * 20f64.to_radians().cos();
        let own = (36.0 - rb * rb).sqrt() / pb;
        let p = pair(&Spur::standard(1.0, 10), &Spur::standard(1.0, 62), None).unwrap();
        assert!((p.contact_ratio - own).abs() < 1e-9, "{}", p.contact_ratio);
        assert!((own - 1.264).abs() < 1e-3);
        let rack = rack_contact_ratio(&Spur::standard(1.0, 10)).unwrap();
        assert!((rack - own).abs() < 1e-9);
    }

    #[test]
    fn backlash_small_and_exact_agree() {
        let (a, b) = (Spur::standard(1.5, 24), Spur::standard(1.5, 60));
        let tight = pair(&a, &b, None).unwrap();
        assert!(tight.backlash.abs() < 1e-9);
        let apart = pair(&a, &b, Some(tight.centres + 0.1)).unwrap();
        let rule = backlash_of_centres(0.1, a.pressure_angle).unwrap();
        assert!((apart.backlash / rule - 1.0).abs() < 0.01);
        assert!(
            apart.contact_ratio < tight.contact_ratio
                && apart.pressure_angle > tight.pressure_angle
        );
        assert!(pair(&a, &b, Some(tight.centres - 0.1)).unwrap().backlash < 0.0);
    }

    #[test]
    fn a_rack_is_a_gear_of_many_teeth() {
        let pinion = Spur::standard(1.0, 24);
        let rack = rack_contact_ratio(&pinion).unwrap();
        let large = pair(&pinion, &Spur::standard(1.0, 50_000), None).unwrap();
        assert!(
            (rack - large.contact_ratio).abs() < 1e-3,
            "{rack} {}",
            large.contact_ratio
        );
    }

    #[test]
    fn cutters_and_refusals() {
        let numbers: Vec<u32> = [12, 13, 14, 17, 21, 26, 35, 55, 135]
            .iter()
            .map(|z| form_cutter(*z).unwrap().number)
            .collect();
        assert_eq!(numbers, [8, 8, 7, 6, 5, 4, 3, 2, 1]);
        assert!(form_cutter(11).is_err() && form_cutter(0).is_err());
        for teeth in 12..400 {
            let cutter = form_cutter(teeth).unwrap();
            assert!(cutter.from <= teeth && cutter.to.is_none_or(|to| teeth <= to));
            assert_eq!(cutter.number + cutter.module_number, 9);
        }
        assert_eq!(form_cutter(u32::MAX).unwrap().to, None);
        assert!(is_common(2.0) && is_common(25.4 / 12.0) && !is_common(2.1));
        assert!(
            Spur::standard(0.0, 20).geometry().is_err()
                && Spur::standard(1.0, 2).geometry().is_err()
        );
        let other = Spur::standard(2.0, 20);
        assert!(pair(&Spur::standard(1.0, 20), &other, None).is_err());
        assert!(pair(&other, &other, Some(100.0)).is_err());
        assert!(angle_of_involute(-0.1).is_err());
        assert!(MODULES.windows(2).all(|w| w[0] < w[1]) && PITCHES.windows(2).all(|w| w[0] > w[1]));
    }

    proptest! {
        #[test]
        fn involute_turns_round(a in 0.0..1.25f64) {
            prop_assert!((angle_of_involute(involute(a)).unwrap() - a).abs() < 1e-9);
        }

        #[test]
        fn geometry_scales(m in 0.3..8.0f64, z in 12u32..200, x in -0.2..0.6f64) {
            let g = Spur { shift: x, ..Spur::standard(m, z) }.geometry().unwrap();
            let h = Spur { shift: x, ..Spur::standard(2.0 * m, z) }.geometry().unwrap();
            prop_assert!((h.outside / g.outside - 2.0).abs() < 1e-12);
            prop_assert!(g.root < g.pitch && g.pitch < g.outside + m && g.base < g.pitch);
            prop_assert!(g.chordal_thickness < g.thickness);
            // Two gears with opposite shifts keep the standard centres.
            let p = pair(&Spur { shift: x, ..Spur::standard(m, z) }, &Spur { shift: -x, ..Spur::standard(m, z) }, None).unwrap();
            prop_assert!((p.centres - m * f64::from(z)).abs() < 1e-6 * p.centres);
        }
    }
}
