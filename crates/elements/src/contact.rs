//! Hertz contact: rollers on cams, balls in seats, pins in grooves. A concave radius is negative, a flat infinite.

use crate::error::{positive, within};
use crate::{Check, ElementError, Source};
use std::f64::consts::PI;

/// The formulas.
pub const SOURCE: Source = Source::derived("Hertz (Shigley, 9th ed., eqs. 3-68 to 3-75)");

/// Elastic constants of one body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// Radius of curvature, mm; negative when concave, infinite when flat.
    pub radius: f64,
    /// Modulus of elasticity, MPa.
    pub youngs: f64,
    /// Poisson's ratio.
    pub poisson: f64,
}

/// A contact under load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contact {
    /// Half the width of the band, or the radius of the spot, mm.
    pub half_width: f64,
    /// Greatest pressure, MPa.
    pub pressure: f64,
    /// Greatest shear below the surface, MPa: 0.30 p of a line at ν = 0.3, 0.31 p of a point.
    pub shear: f64,
    /// Its depth, mm: 0.786 b of a line, 0.48 a of a point.
    pub depth: f64,
    /// How far the bodies come together, mm; none for a line, where it depends on the bodies' shape.
    pub approach: Option<f64>,
}

/// 1/E* and the sum of curvatures.
fn pair(first: Body, second: Body) -> Result<(f64, f64), ElementError> {
    let mut compliance = 0.0;
    let mut curvature = 0.0;
    for body in [first, second] {
        positive("modulus of elasticity", "MPa", body.youngs)?;
        crate::error::poisson(body.poisson)?;
        if body.radius.is_nan() || body.radius == 0.0 {
            return Err(ElementError::NotFinite {
                what: "radius of curvature",
            });
        }
        compliance += (1.0 - body.poisson * body.poisson) / body.youngs;
        curvature += 1.0 / body.radius;
    }
    // A hollow as tight as the roller in it is no Hertz contact any more.
    within("sum of curvatures", "1/mm", curvature, 1e-9, 1e9)?;
    Ok((compliance, curvature))
}

/// Two cylinders along a line of `length` mm, pressed by `force` N.
///
/// # Errors
/// Values that are not positive; a hollow not wider than the roller in it.
///
/// ```
/// use elements::contact::{Body, line};
/// let steel = |radius| Body { radius, youngs: 207_000.0, poisson: 0.292 };
/// let roller = line(steel(10.0), steel(f64::INFINITY), 10.0, 1000.0).unwrap();
/// assert!((roller.half_width - 0.1061).abs() < 1e-4 && (roller.pressure - 600.1).abs() < 0.2);
/// ```
pub fn line(first: Body, second: Body, length: f64, force: f64) -> Result<Contact, ElementError> {
    positive("length of the line", "mm", length)?;
    positive("force", "N", force)?;
    let (compliance, curvature) = pair(first, second)?;
    let b = (4.0 * force * compliance / (PI * length * curvature)).sqrt();
    let pressure = 2.0 * force / (PI * b * length);
    Ok(Contact {
        half_width: b,
        pressure,
        shear: 0.30 * pressure,
        depth: 0.786 * b,
        approach: None,
    })
}

/// Two spheres, or a ball on a flat or in a spherical seat, pressed by `force` N.
///
/// # Errors
/// As for [`line()`].
pub fn point(first: Body, second: Body, force: f64) -> Result<Contact, ElementError> {
    positive("force", "N", force)?;
    let (compliance, curvature) = pair(first, second)?;
    let a = (3.0 * force * compliance / (4.0 * curvature)).cbrt();
    let pressure = 3.0 * force / (2.0 * PI * a * a);
    Ok(Contact {
        half_width: a,
        pressure,
        shear: 0.31 * pressure,
        depth: 0.48 * a,
        approach: Some(a * a * curvature),
    })
}

/// Pressure against the pressure that a surface bears, MPa. Hardened steel (58 to 62 HRC) bears about 1500 to 2000
/// rolling for long, 3000 to 4000 at rest; steel as bought about 1.6 of its yield strength before it dents
/// (p = 1.67 Sy of a line and 1.60 Sy of a point, where the greatest shear reaches half the yield strength; derived).
///
/// # Errors
/// A pressure that is not positive.
pub fn check(contact: &Contact, bears: f64) -> Result<Check, ElementError> {
    Ok(Check {
        what: "contact pressure",
        acts: contact.pressure,
        bears: positive("pressure that the surface bears", "MPa", bears)?,
        unit: "MPa",
        source: SOURCE,
    })
}

/// The contact pressure at which steel of a yield strength begins to dent below the surface, MPa.
///
/// # Errors
/// A strength that is not positive.
pub fn dents_at(yields: f64, is_line: bool) -> Result<f64, ElementError> {
    let shear = if is_line { 0.30 } else { 0.31 };
    Ok(positive("yield strength", "MPa", yields)? / 2.0 / shear)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn steel(radius: f64) -> Body {
        Body {
            radius,
            youngs: 207e3,
            poisson: 0.292,
        }
    }

    #[test]
    fn a_ball_on_a_flat() {
        // a³ = 3 F (1−ν²)/E · d/4 for two like bodies, one flat: 3·100·2·(0.9147/207000)/(8·(1/10)).
        let c = point(steel(5.0), steel(f64::INFINITY), 100.0).unwrap();
        let a3: f64 = 3.0 * 100.0 / 8.0 * 2.0 * (1.0 - 0.292 * 0.292) / 207e3 * 10.0;
        assert!((c.half_width - a3.cbrt()).abs() < 1e-12);
        assert!((c.approach.unwrap() - a3.cbrt().powi(2) / 5.0).abs() < 1e-12);
        assert!((dents_at(500.0, true).unwrap() - 833.3).abs() < 0.1);
        assert!(check(&c, 4000.0).unwrap().factor() > 1.0);
    }

    #[test]
    fn refuses() {
        assert!(line(steel(10.0), steel(-10.0), 10.0, 100.0).is_err());
        assert!(line(steel(10.0), steel(-9.0), 10.0, 100.0).is_err());
        assert!(line(steel(0.0), steel(9.0), 10.0, 100.0).is_err());
        assert!(point(steel(f64::NAN), steel(9.0), 100.0).is_err());
        assert!(point(steel(f64::INFINITY), steel(f64::INFINITY), 100.0).is_err());
        assert!(line(steel(10.0), steel(9.0), 0.0, 100.0).is_err());
    }

    proptest! {
        #[test]
        fn loads_balance_and_scale(r in 1.0..50.0f64, s in 1.0..50.0f64, f in 1.0..1e4f64, l in 1.0..40.0f64) {
            let c = line(steel(r), steel(s), l, f).unwrap();
            // The elliptic pressure over the band carries the load: π/2 b p l = F.
            prop_assert!((PI / 2.0 * c.half_width * c.pressure * l / f - 1.0).abs() < 1e-12);
            prop_assert!((line(steel(s), steel(r), l, f).unwrap().pressure / c.pressure - 1.0).abs() < 1e-12);
            prop_assert!((line(steel(r), steel(s), l, 4.0 * f).unwrap().pressure / c.pressure - 2.0).abs() < 1e-9);
            let p = point(steel(r), steel(s), f).unwrap();
            prop_assert!((2.0 / 3.0 * PI * p.half_width.powi(2) * p.pressure / f - 1.0).abs() < 1e-12);
            prop_assert!((point(steel(r), steel(s), 8.0 * f).unwrap().pressure / p.pressure - 2.0).abs() < 1e-9);
            // A hollow bears better than a flat, a flat better than a ball.
            let hollow = point(steel(r), steel(-3.0 * r), f).unwrap().pressure;
            let flat = point(steel(r), steel(f64::INFINITY), f).unwrap().pressure;
            prop_assert!(hollow < flat && flat < p.pressure);
        }
    }
}
