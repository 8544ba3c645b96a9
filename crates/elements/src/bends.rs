//! Plate bent cold: how long the flat is, how sharp a bend may be. Lengths in mm, angles in rad: how far the plate is bent out of the flat.

use crate::error::{positive, within};
use crate::materials::{Family, Material};
use crate::{ElementError, Source};
use std::f64::consts::PI;

/// Bends of steel plate: length of the flat, least radii.
const DIN: &str = "DIN 6935, length of flats and least bending radii";
/// Allowances by material.
const HANDBOOK: &str = "Machinery's Handbook, lengths of straight stock before bending";

/// One bend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// From the outside corner back to where the bend begins, on each side.
    pub setback: f64,
    /// Length of the flat that goes into the bend.
    pub allowance: f64,
    /// What the flat is shorter than both outside lengths together.
    pub deduction: f64,
}

/// A bend by its inside radius and its k-factor: how deep the line that keeps its length lies, from the inside, over the thickness.
/// Allowance A (R + K T), setback (R + T) tan(A/2).
///
/// # Errors
/// Sizes that are not positive, an angle beyond 170 degrees, a factor outside 0.2 to 0.5.
///
/// ```
/// // 2 mm plate round 3 mm by 90 degrees: π/2 (3 + 0.4 x 2) = 5.97.
/// let b = elements::bends::bend(90f64.to_radians(), 3.0, 2.0, 0.4).unwrap();
/// assert!((b.allowance - 5.969).abs() < 1e-3 && (b.setback - 5.0).abs() < 1e-9);
/// assert!((b.deduction - 4.031).abs() < 1e-3);
/// ```
pub fn bend(angle: f64, radius: f64, thickness: f64, k: f64) -> Result<Bend, ElementError> {
    within("angle of the bend", "rad", angle, 1e-3, 170f64.to_radians())?;
    positive("radius of the bend", "mm", radius)?;
    positive("thickness", "mm", thickness)?;
    within("k-factor", "", k, 0.2, 0.5)?;
    let allowance = angle * (radius + k * thickness);
    let setback = (radius + thickness) * (angle / 2.0).tan();
    Ok(Bend {
        setback,
        allowance,
        deduction: 2.0 * setback - allowance,
    })
}

/// The k-factor of a material. The handbook's allowances for a right angle are 1.57 R and 0.55 T for soft brass and copper, 0.64 T for soft
/// steel, half hard brass and aluminium, 0.71 T for bronze and cold rolled steel; over π/2 that is 0.35, 0.41, 0.45. None for what is not bent
/// cold.
pub fn factor(material: &Material) -> Option<(f64, Source)> {
    let cold = ["cold drawn", "cold rolled", "+C"]
        .iter()
        .any(|w| material.name.contains(w));
    let per_right_angle = match material.family {
        Family::Steel if cold => 0.71,
        Family::Steel | Family::Aluminium => 0.64,
        Family::Stainless | Family::Bronze => 0.71,
        Family::Brass if material.name.contains("annealed") => 0.55,
        Family::Brass => 0.64,
        Family::Iron | Family::Plastic => return None,
    };
    let cast = ["cast", "bearing bronze", "CC493K"]
        .iter()
        .any(|w| material.name.contains(w));
    (!cast).then_some((per_right_angle / (PI / 2.0), Source::memory(HANDBOOK)))
}

/// The k-factor of steel by DIN 6935: half of 0.65 + ½ lg(r/s), at most one half. It grows with the radius; against the handbook's it tells how far
/// such factors lie apart.
///
/// # Errors
/// Sizes that are not positive.
pub fn din_factor(radius: f64, thickness: f64) -> Result<f64, ElementError> {
    let ratio =
        positive("radius of the bend", "mm", radius)? / positive("thickness", "mm", thickness)?;
    Ok((0.65 + 0.5 * ratio.log10()).clamp(0.4, 1.0) / 2.0)
}

/// Source of [`din_factor`].
pub const DIN_SOURCE: Source = Source::memory(DIN);

/// Up to a thickness, least radius: steel up to 390, 490 and 640 MPa (DIN 6935, bent across the direction of rolling).
const STEEL: [(f64, [f64; 3]); 11] = [
    (1.0, [1.0, 1.2, 1.6]),
    (1.5, [1.6, 2.0, 2.5]),
    (2.5, [2.5, 3.0, 4.0]),
    (3.0, [3.0, 4.0, 5.0]),
    (4.0, [5.0, 5.0, 6.0]),
    (5.0, [6.0, 8.0, 8.0]),
    (6.0, [8.0, 10.0, 10.0]),
    (7.0, [10.0, 12.0, 12.0]),
    (8.0, [12.0, 16.0, 16.0]),
    (10.0, [16.0, 20.0, 20.0]),
    (12.0, [20.0, 25.0, 25.0]),
];

/// The least inside radius, mm, to 90 degrees and across the direction of rolling. None for what breaks when it is bent cold, and for steel that
/// is thicker than 12 mm or stronger than 640 MPa.
pub fn least_radius(material: &Material, thickness: f64) -> Option<(f64, Source)> {
    factor(material)?;
    let times = |n: f64| {
        Some((
            n * thickness,
            Source::practice("least bend radii of the trade"),
        ))
    };
    match material.family {
        Family::Steel => {
            let column = [390.0, 490.0, 640.0]
                .iter()
                .position(|most| material.tensile <= *most)?;
            let row = STEEL.iter().find(|r| thickness <= r.0 + 1e-9)?;
            Some((*row.1.get(column)?, Source::memory(DIN)))
        }
        Family::Stainless if material.name.contains("annealed") => times(1.0),
        // Age hardened alloys crack where soft ones do not.
        Family::Aluminium if material.name.starts_with("6063") => times(1.5),
        Family::Aluminium if material.name.starts_with("60") => times(3.0),
        Family::Aluminium if material.name.starts_with("2024") => times(4.0),
        Family::Aluminium if material.name.starts_with("7075") => times(6.0),
        Family::Brass if material.name.contains("annealed") => times(0.5),
        Family::Brass => times(1.5),
        Family::Bronze => times(2.0),
        _ => None,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::*;
    use crate::materials::find;

    #[test]
    fn factors_lie_where_a_table_of_the_handbook_has_them() {
        // Factors drawn from the handbook's 26th edition, as tabled at vedge.org/kfac.html (looked up): cold rolled steel 0.420 to 0.467,
        // aluminium 0.380 to 0.407.
        let (steel, _) = factor(find("1018 cold drawn").unwrap()).unwrap();
        assert!((0.420..=0.467).contains(&steel), "{steel}");
        let (aluminium, _) = factor(find("6061-T6").unwrap()).unwrap();
        assert!((0.380..=0.408).contains(&aluminium), "{aluminium}");
        assert!(factor(find("grey iron class 30").unwrap()).is_none());
        assert!(factor(find("C93200 bearing bronze").unwrap()).is_none());
    }

    #[test]
    fn the_standard_and_the_closed_form_are_one() {
        // DIN 6935: v = π β/180 (r + s k/2) - 2 (r + s) for right angles; the flat is a + b + v. r/s = 1: k = 0.65; r/s = 5: k = 0.9995.
        for (r, s, k) in [(3.0, 3.0, 0.65), (10.0, 2.0, 0.999_485)] {
            let v = PI / 2.0 * (r + s * k / 2.0) - 2.0 * (r + s);
            let own = bend(PI / 2.0, r, s, din_factor(r, s).unwrap()).unwrap();
            assert!((own.deduction + v).abs() < 1e-5, "{own:?} {v}");
        }
        assert!((din_factor(100.0, 1.0).unwrap() - 0.5).abs() < 1e-12);
        // Bent by nothing, nothing is lost.
        assert!(bend(2e-3, 3.0, 2.0, 0.4).unwrap().deduction < 1e-2);
        assert!(bend(PI, 3.0, 2.0, 0.4).is_err());
    }

    #[test]
    fn harder_and_thicker_bends_less_sharply() {
        let r = |name: &str, t: f64| least_radius(find(name).unwrap(), t).map(|x| x.0);
        assert_eq!(r("S235JR to 16 mm", 3.0), Some(3.0));
        assert_eq!(r("S355J2 to 16 mm", 3.0), Some(4.0));
        assert_eq!(r("4140 QT 540 C", 3.0), None);
        assert_eq!(r("S235JR to 16 mm", 14.0), None);
        assert!(r("6061-T6", 3.0) > r("6063-T5", 3.0));
        for row in STEEL.windows(2) {
            assert!((0..3).all(|i| row[0].1[i] <= row[1].1[i]));
        }
    }
}
