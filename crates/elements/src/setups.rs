//! Set-ups in the shop: packing for eccentrics, bolt circles, sine bars, tapers, threads over wires, rounding levers on
//! a rotary table.

use crate::error::{less_than, not_negative, positive, sensible, within};
use crate::{ElementError, Source};
use std::f64::consts::PI;

/// Exact geometry throughout.
pub const SOURCE: Source = Source::derived("plane geometry of the set-up");

/// Packing under one jaw of a three-jaw chuck, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Packing {
    /// Narrow jaws that touch on their middle line: 1.5 e − R + √(R² − ¾ e²).
    pub narrow: f64,
    /// Wide flat jaws whose faces stay tangent: 1.5 e.
    pub flat: f64,
    /// Half the jaw width from which a jaw counts as wide: 0.866 e.
    pub wide_from: f64,
    /// First term of the series for narrow jaws, as it is quoted: 1.5 e (1 − e/(2 D)).
    pub series: f64,
    /// Radius of the bar.
    pub radius: f64,
}

impl Packing {
    /// For flat jaws of this width, mm. While the bar touches the faces of the other two jaws the packing is 1.5 e; once its side has
    /// wandered off a face, it touches the edge, half a width beside the middle: 1.5 e − R + √(R² − (0.866 e − w/2)²).
    pub fn under(&self, jaw_width: f64) -> f64 {
        let beside = (self.wide_from - jaw_width.max(0.0) / 2.0).max(0.0);
        self.flat - self.radius
            + (self.radius * self.radius - beside * beside)
                .max(0.0)
                .sqrt()
    }
}

/// Packing for turning an eccentric of offset `e` on a bar of diameter `d`.
///
/// # Errors
/// Values that are not positive; an offset larger than the bar's radius.
pub fn packing(diameter: f64, offset: f64) -> Result<Packing, ElementError> {
    positive("bar", "mm", diameter)?;
    positive("offset", "mm", offset)?;
    let r = diameter / 2.0;
    less_than("offset", "mm", offset, "radius of the bar", r)?;
    Ok(Packing {
        narrow: 1.5 * offset - r + (r * r - 0.75 * offset * offset).sqrt(),
        flat: 1.5 * offset,
        wide_from: 0.75f64.sqrt() * offset,
        series: 1.5 * offset * (1.0 - offset / (2.0 * diameter)),
        radius: r,
    })
}

/// Hole `index` (from 0) of `holes` on a bolt circle, x to the right and y up from the middle, mm. `start` is the angle
/// of the first hole, counter-clockwise, rad.
///
/// # Errors
/// A circle that is not positive, no holes.
pub fn bolt_hole(
    circle: f64,
    holes: u32,
    start: f64,
    index: u32,
) -> Result<(f64, f64), ElementError> {
    positive("bolt circle", "mm", circle)?;
    sensible("start angle", "rad", start)?;
    let n = within("holes", "", f64::from(holes), 1.0, 10_000.0)?;
    let angle = start + 2.0 * PI * f64::from(index) / n;
    Ok((circle / 2.0 * angle.cos(), circle / 2.0 * angle.sin()))
}

/// From hole to hole on a bolt circle, mm: D sin(π/n).
///
/// # Errors
/// A circle that is not positive, fewer than two holes.
pub fn bolt_chord(circle: f64, holes: u32) -> Result<f64, ElementError> {
    let n = within("holes", "", f64::from(holes), 2.0, 10_000.0)?;
    Ok(positive("bolt circle", "mm", circle)? * (PI / n).sin())
}

/// Stack of gauge blocks under a sine bar, mm: L sin α. Over 45° the error of the stack tells too much.
///
/// # Errors
/// A bar that is not positive, an angle outside 0 to 90°.
pub fn sine_bar(bar: f64, angle: f64) -> Result<f64, ElementError> {
    positive("sine bar", "mm", bar)?;
    Ok(bar * within("angle", "rad", angle, 0.0, PI / 2.0)?.sin())
}

/// The angle of a stack, rad.
///
/// # Errors
/// A stack longer than the bar.
pub fn sine_bar_angle(bar: f64, stack: f64) -> Result<f64, ElementError> {
    positive("sine bar", "mm", bar)?;
    Ok((within("stack", "mm", stack, 0.0, bar)? / bar).asin())
}

/// Half the angle of a taper, rad: what the top slide is set to. tan = (D − d)/(2 L).
///
/// # Errors
/// A length that is not positive, negative diameters.
pub fn taper_half_angle(large: f64, small: f64, length: f64) -> Result<f64, ElementError> {
    let difference =
        not_negative("large end", "mm", large)? - not_negative("small end", "mm", small)?;
    Ok((difference / (2.0 * positive("length of the taper", "mm", length)?)).atan())
}

/// A 60° thread measured over three wires, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wires {
    /// The wire that touches at the pitch line: P/(2 cos 30°).
    pub best: f64,
    /// Over the wires: E + 3 W − 0.866 P.
    pub over: f64,
    /// To be added for the lead angle: (W/2) tan² λ cos 30° cot 30°.
    pub lead_correction: f64,
}

/// Measurement of a pitch diameter over wires of a size (the best ones when `None`).
///
/// # Errors
/// Sizes that are not positive.
pub fn three_wires(
    pitch_diameter: f64,
    pitch: f64,
    wire: Option<f64>,
) -> Result<Wires, ElementError> {
    positive("pitch diameter", "mm", pitch_diameter)?;
    positive("pitch", "mm", pitch)?;
    let cos = (PI / 6.0).cos();
    let best = pitch / (2.0 * cos);
    let w = positive("wire", "mm", wire.unwrap_or(best))?;
    let slope = pitch / (PI * pitch_diameter);
    Ok(Wires {
        best,
        over: pitch_diameter + 3.0 * w - cos * pitch,
        lead_correction: lead_correction(w, slope.atan())?,
    })
}

/// The lead-angle term of a measurement over wires, mm.
///
/// # Errors
/// A wire that is not positive, a lead angle outside 0 to 45°.
pub fn lead_correction(wire: f64, lead_angle: f64) -> Result<f64, ElementError> {
    positive("wire", "mm", wire)?;
    let tan = within("lead angle", "rad", lead_angle, 0.0, PI / 4.0)?.tan();
    let (sin, cos) = (PI / 6.0).sin_cos();
    Ok(wire / 2.0 * tan * tan * cos * cos / sin)
}

/// A lever with two rounded ends and straight sides that touch both, for the rotary table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lever {
    /// Angle of each side to the line of centres, rad.
    pub side: f64,
    /// Sweep of the table round the small end, rad.
    pub sweep_small: f64,
    /// Sweep round the big end, rad.
    pub sweep_big: f64,
    /// Length of the straight sides, mm.
    pub straight: f64,
}

/// sin β = (R − r)/L; sweeps π ∓ 2 β.
///
/// # Errors
/// Radii that are not positive or that swallow each other.
pub fn lever(big: f64, small: f64, centres: f64) -> Result<Lever, ElementError> {
    positive("small radius", "mm", small)?;
    within("big radius", "mm", big, small, 1e6)?;
    positive("distance of centres", "mm", centres)?;
    less_than(
        "difference of the radii",
        "mm",
        big - small,
        "distance of centres",
        centres,
    )?;
    let side = ((big - small) / centres).asin();
    Ok(Lever {
        side,
        sweep_small: PI - 2.0 * side,
        sweep_big: PI + 2.0 * side,
        straight: (centres * centres - (big - small).powi(2)).sqrt(),
    })
}

/// Sweep of the table round the rounded end of a lug whose sides each lean by `taper` to the centre line, rad; less
/// than half a turn when it narrows toward the end, more when it widens.
///
/// # Errors
/// A taper outside 0 to 45°.
pub fn lug_sweep(taper: f64, narrowing: bool) -> Result<f64, ElementError> {
    let beta = within("taper of the side", "rad", taper, 0.0, PI / 4.0)?;
    Ok(if narrowing {
        PI - 2.0 * beta
    } else {
        PI + 2.0 * beta
    })
}

/// Radius from the table's middle to the cutter's for rounding an end, mm: R + d/2 outside, R − d/2 inside.
///
/// # Errors
/// Sizes that are not positive; a cutter that does not go inside the radius.
pub fn cutter_radius(radius: f64, cutter: f64, outside: bool) -> Result<f64, ElementError> {
    positive("radius", "mm", radius)?;
    positive("cutter", "mm", cutter)?;
    if outside {
        return Ok(radius + cutter / 2.0);
    }
    less_than(
        "half the cutter",
        "mm",
        cutter / 2.0,
        "inside radius",
        radius,
    )?;
    Ok(radius - cutter / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn packing_between_flat_and_narrow_jaws() {
        // Solved apart from the formula: jaws are strips of half width h, a circle of radius r is moved off their middle by e along the
        // first; how far out a strip stands when it touches is found by walking over its face.
        let touch = |r: f64, along: f64, across: f64, h: f64| {
            (0..=20_000)
                .map(|i| -h + 2.0 * h * f64::from(i) / 20_000.0 - across)
                .filter(|v| v.abs() <= r)
                .map(|v| along + (r * r - v * v).sqrt())
                .fold(f64::NEG_INFINITY, f64::max)
        };
        for (d, e, w) in [
            (30.0, 12.0, 14.0),
            (30.0, 5.0, 14.0),
            (48.0, 8.0, 14.0),
            (40.0, 15.0, 10.0),
            (25.0, 9.0, 0.001),
        ] {
            let (r, h) = (d / 2.0, w / 2.0);
            // The circle's middle lies at −e on the line of the first jaw; the others stand at ±120 degrees.
            let others = touch(r, e / 2.0, 0.75f64.sqrt() * e, h);
            let first = touch(r, -e, 0.0, h);
            let p = packing(d, e).unwrap();
            assert!((p.under(w) - (others - first)).abs() < 1e-3, "{d} {e} {w}");
        }
        // Worked by hand: 18 + √(225 − 3.392²) − 15.
        let p = packing(30.0, 12.0).unwrap();
        assert!((p.under(14.0) - 17.611).abs() < 1e-3);
        assert!((p.under(0.0) - p.narrow).abs() < 1e-12);
        assert!((packing(30.0, 5.0).unwrap().under(14.0) - 7.5).abs() < 1e-12);
    }

    #[test]
    fn refuses() {
        assert!(packing(10.0, 6.0).is_err() && packing(10.0, 0.0).is_err());
        assert!(bolt_hole(100.0, 0, 0.0, 0).is_err() && bolt_chord(100.0, 1).is_err());
        assert!(sine_bar_angle(100.0, 101.0).is_err() && lever(5.0, 6.0, 50.0).is_err());
        assert!(lever(60.0, 6.0, 50.0).is_err() && cutter_radius(4.0, 10.0, false).is_err());
        assert!(taper_half_angle(1.0, 2.0, 0.0).is_err() && lead_correction(1.0, 1.0).is_err());
        assert_eq!(cutter_radius(8.0, 10.0, false).unwrap(), 3.0);
    }

    proptest! {
        #[test]
        fn packing_puts_the_bar_off_by_e(d in 10.0..100.0f64, share in 0.01..0.8f64) {
            let (r, e) = (d / 2.0, share * d / 2.0);
            let p = packing(d, e).unwrap();
            // The jaws move alike, at the radius j. The bar's middle lies e away from the packed jaw, so its contact is
            // at r − e, and j is that plus the packing. Tips of the plain jaws must stand r from the bar's middle.
            let j = r - e + p.narrow;
            let tip = (e - j / 2.0).hypot(j * 0.75f64.sqrt());
            prop_assert!((tip - r).abs() < 1e-9 * r);
            // Flat faces lie r from the bar's middle, measured along their own jaw: j = r + e/2.
            prop_assert!((r - e + p.flat - (r + e / 2.0)).abs() < 1e-9 * r);
            prop_assert!(p.narrow < p.flat);
        }

        #[test]
        fn bolt_circle_closes(d in 5.0..500.0f64, n in 2u32..40, start in -3.0..3.0f64) {
            let (x0, y0) = bolt_hole(d, n, start, 0).unwrap();
            let (x1, y1) = bolt_hole(d, n, start, 1).unwrap();
            prop_assert!(((x1 - x0).hypot(y1 - y0) - bolt_chord(d, n).unwrap()).abs() < 1e-9 * d);
            prop_assert!((x0.hypot(y0) - d / 2.0).abs() < 1e-9 * d);
        }

        #[test]
        fn sine_bar_turns_round(l in 50.0..300.0f64, a in 0.0..1.5f64) {
            prop_assert!((sine_bar_angle(l, sine_bar(l, a).unwrap()).unwrap() - a).abs() < 1e-7);
        }

        #[test]
        fn lever_sweeps_make_a_turn(r in 3.0..20.0f64, more in 0.0..15.0f64, far in 1.0..100.0f64) {
            let l = lever(r + more, r, more + far).unwrap();
            prop_assert!((l.sweep_small + l.sweep_big - 2.0 * PI).abs() < 1e-12);
            prop_assert!((l.straight - (more + far) * l.side.cos()).abs() < 1e-9 * (more + far));
            prop_assert!((lug_sweep(l.side.min(0.7), true).unwrap() + lug_sweep(l.side.min(0.7), false).unwrap() - 2.0 * PI).abs() < 1e-12);
        }
    }
}
