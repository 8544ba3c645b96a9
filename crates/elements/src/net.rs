//! What a hole through the middle of a bar leaves of its section: bending in the plane of the bar, the hole square to that plane.

use crate::columns::Section;
use crate::error::{less_than, not_negative, positive, sensible};
use crate::{Check, ElementError, Source};

/// The formulas.
pub const SOURCE: Source = Source::derived(
    "M/Z + F/A of the section that the hole leaves (Shigley eqs. 3-24 and 3-22; second moments of area less the hole)",
);

/// A section less its hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Net {
    /// Area, mm².
    pub area: f64,
    /// Section modulus, mm³.
    pub modulus: f64,
}

/// Area and second moment of a slice of a circle of `radius`, `half` to either side of its middle.
fn slice(radius: f64, half: f64) -> (f64, f64) {
    let reach = (half / radius).clamp(0.0, 1.0).asin();
    (
        radius * radius * (2.0 * reach + (2.0 * reach).sin()),
        0.5 * radius.powi(4) * (reach - 0.25 * (4.0 * reach).sin()),
    )
}

/// What a hole leaves; `hole` is zero where there is none. A flat bends across its width.
///
/// # Errors
/// Sizes that are not positive, a hole as large as the bar is wide.
///
/// ```
/// use elements::{columns::Section, net::net};
/// // A flat 15 wide, 3 thick: t w²/6.
/// assert!((net(Section::Flat(15.0, 3.0), 0.0).unwrap().modulus - 112.5).abs() < 1e-9);
/// ```
pub fn net(section: Section, hole: f64) -> Result<Net, ElementError> {
    not_negative("hole", "mm", hole)?;
    section.properties()?;
    let width = match section {
        Section::Flat(width, _) => width,
        Section::Round(d) | Section::Tube(d, _) => d,
    };
    less_than("hole", "mm", hole, "width of the bar", width)?;
    let (area, inertia) = match section {
        Section::Flat(w, t) => (t * (w - hole), t * (w.powi(3) - hole.powi(3)) / 12.0),
        Section::Round(_) | Section::Tube(..) => {
            let inside = match section {
                Section::Tube(_, inside) => 0.5 * inside,
                _ => 0.0,
            };
            let left = |radius: f64| {
                let (full, out) = (slice(radius, radius), slice(radius, 0.5 * hole));
                (full.0 - out.0, full.1 - out.1)
            };
            let (outer, inner) = (
                left(0.5 * width),
                if inside > 0.0 {
                    left(inside)
                } else {
                    (0.0, 0.0)
                },
            );
            (outer.0 - inner.0, outer.1 - inner.1)
        }
    };
    Ok(Net {
        area: positive("what is left of the bar", "mm²", area)?,
        modulus: inertia / (0.5 * width),
    })
}

/// Bending and pull together against a strength, MPa.
///
/// # Errors
/// Loads that are not finite, a strength that is not positive.
pub fn check(net: Net, moment: f64, pull: f64, bears: f64) -> Result<Check, ElementError> {
    let moment = sensible("bending moment", "N·mm", moment)?.abs();
    let pull = sensible("pull", "N", pull)?.abs();
    Ok(Check {
        what: "bending and pull of the bar",
        acts: moment / net.modulus + pull / net.area,
        bears: positive("strength", "MPa", bears)?,
        unit: "MPa",
        source: SOURCE,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// Machinery's Handbook, moments of inertia of sections: a rectangle with a hole in its middle is t (w³ − d³)/6w; round bars by summing
    /// thin strips.
    #[test]
    fn sections_with_holes() {
        let flat = net(Section::Flat(15.0, 3.0), 8.0).unwrap();
        assert!((flat.modulus - 3.0 * (3375.0 - 512.0) / 90.0).abs() < 1e-9);
        assert!((flat.area - 21.0).abs() < 1e-9);
        for (section, inside) in [
            (Section::Round(20.0), 0.0),
            (Section::Tube(20.0, 14.0), 7.0),
        ] {
            for hole in [0.0, 5.0, 15.0] {
                let (mut area, mut inertia) = (0.0, 0.0);
                let steps = 200_000;
                for k in 0..steps {
                    let y = -10.0 + 20.0 * (f64::from(k) + 0.5) / f64::from(steps);
                    if y.abs() < hole / 2.0 {
                        continue;
                    }
                    let chord = |r: f64| 2.0 * f64::max(r * r - y * y, 0.0).sqrt();
                    let strip = (chord(10.0) - chord(inside)) * 20.0 / f64::from(steps);
                    area += strip;
                    inertia += y * y * strip;
                }
                let found = net(section, hole).unwrap();
                assert!(
                    (found.area - area).abs() < 1e-2,
                    "{hole} {} {area}",
                    found.area
                );
                assert!((found.modulus - inertia / 10.0).abs() < 1e-2, "{hole}");
            }
        }
        let full = net(Section::Round(20.0), 0.0).unwrap();
        assert!((full.modulus - PI * 8000.0 / 32.0).abs() < 1e-9);
        assert!(net(Section::Round(20.0), 20.0).is_err());
        assert!(check(full, f64::NAN, 0.0, 1.0).is_err());
    }
}
