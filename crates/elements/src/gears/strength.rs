//! Bending strength by Lewis.

use super::Spur;
use super::form::form_factor;
use crate::error::{not_negative, positive, within};
use crate::lookup::between;
use crate::{Check, ElementError, Source};

/// Where Y comes from.
const SOURCE: Source =
    Source::memory("Lewis, 20° full depth: Shigley table 14-2 and eqs. 14-2 to 14-8");

/// Where Y comes from when the table does not cover the teeth.
const SHAPE: Source = Source::derived(
    "Lewis: σ = Kv F/(b m Y), Y from the fillet that a rack cutter of ISO 53 leaves",
);

/// Teeth and Lewis Y of 20° full-depth teeth. A second printed table is within 1.3 %.
const Y: [(f64, [f64; 1]); 26] = [
    (12.0, [0.245]),
    (13.0, [0.261]),
    (14.0, [0.277]),
    (15.0, [0.290]),
    (16.0, [0.296]),
    (17.0, [0.303]),
    (18.0, [0.309]),
    (19.0, [0.314]),
    (20.0, [0.322]),
    (21.0, [0.328]),
    (22.0, [0.331]),
    (24.0, [0.337]),
    (26.0, [0.346]),
    (28.0, [0.353]),
    (30.0, [0.359]),
    (34.0, [0.371]),
    (38.0, [0.384]),
    (43.0, [0.397]),
    (50.0, [0.409]),
    (60.0, [0.422]),
    (75.0, [0.435]),
    (100.0, [0.447]),
    (150.0, [0.460]),
    (300.0, [0.472]),
    (400.0, [0.480]),
    // A rack.
    (f64::INFINITY, [0.485]),
];

/// The two forms of Lewis's factor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lewis {
    /// Y: with the module or the diametral pitch, σ = F/(b m Y).
    pub big_y: f64,
    /// y = Y/π: with the circular pitch, σ = F/(b p y).
    pub small_y: f64,
}

/// Lewis's factor of 20° full-depth teeth; between rows on a straight line over 1/z, which is nearly how it goes.
///
/// # Errors
/// Fewer than 12 teeth.
///
/// ```
/// let f = elements::gears::lewis_y(24).unwrap();
/// assert!((f.big_y - 0.337).abs() < 1e-9);
/// assert!((f.big_y / f.small_y - std::f64::consts::PI).abs() < 1e-12);
/// ```
pub fn lewis_y(teeth: u32) -> Result<Lewis, ElementError> {
    let z = within("teeth", "", f64::from(teeth), 12.0, 1e9)?;
    let [big_y] = between(&Y, z, f64::recip);
    Ok(Lewis {
        big_y,
        small_y: big_y / std::f64::consts::PI,
    })
}

/// Barth's Kv = (6.1 + v)/6.1 for cut teeth, v in m/s: how much more teeth bear at speed.
///
/// # Errors
/// A negative speed.
pub(super) fn velocity(speed: f64) -> Result<f64, ElementError> {
    Ok((6.1 + not_negative("pitch line speed", "m/s", speed)?) / 6.1)
}

/// Bending of a tooth against what the material bears, MPa: σ = Kv F/(b m Y). The load at the tip of one tooth; shock and fatigue are for
/// the factor. A third of the tensile strength is what Lewis bore with for steady load (common practice).
///
/// # Errors
/// Values that are not positive, teeth that have no form factor, a negative force or speed.
pub fn bending(
    spur: &Spur,
    face: f64,
    tangential: f64,
    speed: f64,
    bears: f64,
) -> Result<Check, ElementError> {
    positive("module", "mm", spur.module)?;
    positive("face width", "mm", face)?;
    not_negative("tangential force", "N", tangential)?;
    let lewis = form_factor(spur)?;
    Ok(Check {
        what: "bending of the gear tooth",
        acts: velocity(speed)? * tangential / (face * spur.module * lewis.big_y),
        bears: positive("stress that the tooth bears", "MPa", bears)?,
        unit: "MPa",
        source: if spur.teeth >= 12
            && spur.shift == 0.0
            && (spur.pressure_angle - 0.349_066).abs() < 1e-4
        {
            SOURCE
        } else {
            SHAPE
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rises_to_the_rack() {
        let mut last = 0.0;
        for z in 12..2000 {
            let y = lewis_y(z).unwrap().big_y;
            assert!(y > last && y < 0.485, "{z}: {y}");
            last = y;
        }
        for (z, [y]) in Y.into_iter().take(25) {
            assert!((lewis_y(z as u32).unwrap().big_y - y).abs() < 1e-12);
        }
        assert!(lewis_y(11).is_err());
    }

    #[test]
    fn shigley_14_1() {
        // 16 teeth, 8 per inch, 1.5 in face, 1200 rev/min, 30 kpsi yield, factor 3.5: 313 lbf, 5.96 hp (from memory).
        let module = 25.4 / 8.0;
        let speed = std::f64::consts::PI * 2.0 * 25.4 * 1200.0 / 60_000.0;
        let force = 313.0 * 4.448_22;
        let check = bending(
            &Spur::standard(module, 16),
            1.5 * 25.4,
            force,
            speed,
            30.0 * 6.894_757 / 3.5,
        )
        .unwrap();
        assert!((check.factor() - 1.0).abs() < 0.01, "{}", check.factor());
        assert!(bending(&Spur::standard(0.0, 16), 10.0, 1.0, 0.0, 100.0).is_err());
    }
}
