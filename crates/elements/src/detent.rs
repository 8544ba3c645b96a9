//! Detents: a spring plunger or ball in a cone, groove or drilled hole.
//!
//! The plunger slides square to the moving part. At breakaway one flank carries; friction acts on the flank and, by
//! the side thrust, in the plunger's guide; nothing rubs under the moving part itself.

use crate::error::{friction, less_than, positive, within};
use crate::{ElementError, Source};
use std::f64::consts::{FRAC_PI_2, PI};

/// The balance of forces.
pub const SOURCE: Source = Source::derived(
    "rigid plunger, Coulomb friction: H = Fs tan(β±φ)/(1 ∓ µg tan(β±φ)), β the slope of the flank",
);

/// What the plunger or ball rests in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Seat {
    /// A cone or V-groove by its included angle, rad, and the width of its mouth, mm. A ball, or a cone point of the
    /// same angle.
    Cone {
        /// Included angle.
        included: f64,
        /// Width at the surface.
        mouth: f64,
    },
    /// A drilled hole with a sharp edge, mm; a ball rests on the edge.
    Hole {
        /// Diameter of the hole.
        diameter: f64,
    },
}

/// Where a ball rests.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rest {
    /// Slope of the flank against the moving part's face, rad.
    pub slope: f64,
    /// How deep the ball reaches below the face, mm: the plunger must lift as far to come out.
    pub depth: f64,
}

impl Seat {
    /// Slope and depth for a ball of this diameter.
    ///
    /// # Errors
    /// Sizes that are not positive; a hole or mouth that swallows the ball to its middle.
    pub fn rest(&self, ball: f64) -> Result<Rest, ElementError> {
        positive("ball", "mm", ball)?;
        let r = ball / 2.0;
        match *self {
            Self::Hole { diameter } => on_edge(r, positive("hole", "mm", diameter)?),
            Self::Cone { included, mouth } => {
                let half = within("included angle", "rad", included, 0.01, PI - 0.01)? / 2.0;
                positive("mouth of the cone", "mm", mouth)?;
                if r * half.cos() > mouth / 2.0 {
                    // The cone is too small for its flank to be touched.
                    return on_edge(r, mouth);
                }
                let centre_above_face = r / half.sin() - mouth / 2.0 / half.tan();
                let depth = r - centre_above_face;
                less_than("depth of the ball", "mm", depth, "radius of the ball", r)?;
                Ok(Rest {
                    slope: FRAC_PI_2 - half,
                    depth,
                })
            }
        }
    }
}

/// sin of the slope is hole over ball diameter.
fn on_edge(r: f64, hole: f64) -> Result<Rest, ElementError> {
    less_than("hole", "mm", hole, "ball", 2.0 * r)?;
    let sine = hole / 2.0 / r;
    Ok(Rest {
        slope: sine.asin(),
        depth: r - r * (1.0 - sine * sine).sqrt(),
    })
}

/// Forces across the plunger.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hold {
    /// Force on the moving part that breaks it out, N; `None` when the flank is so steep that it locks.
    pub breakaway: Option<f64>,
    /// Force with which the detent centres the part, N; zero when friction keeps it where it stands.
    pub centring: f64,
}

/// Holding and centring force of a spring force on a flank of this slope. `contact` is the friction on the flank,
/// `guide` that of the plunger in its hole.
///
/// # Errors
/// A slope outside 0 to 90°, a spring force that is not positive, friction outside 0 to 2.
///
/// ```
/// use elements::detent::hold;
/// let seat = hold(20.0, std::f64::consts::FRAC_PI_4, 0.12, 0.15).unwrap();
/// assert!((seat.breakaway.unwrap() - 31.46).abs() < 0.01);
/// assert!((seat.centring - 14.06).abs() < 0.01);
/// ```
pub fn hold(spring: f64, slope: f64, contact: f64, guide: f64) -> Result<Hold, ElementError> {
    positive("spring force", "N", spring)?;
    let (out, back) = ratios(slope, contact, guide)?;
    Ok(Hold {
        breakaway: out.map(|ratio| spring * ratio),
        centring: spring * back,
    })
}

/// The spring force that a wanted breakaway moment needs, N: the detent stands at `radius` from the pivot and acts
/// along the circle.
///
/// # Errors
/// As for [`hold`]; [`ElementError::TooLarge`] when the flank locks, so that no spring force gives the moment.
pub fn spring_for_moment(
    moment: f64,
    radius: f64,
    slope: f64,
    contact: f64,
    guide: f64,
) -> Result<f64, ElementError> {
    positive("moment", "N·mm", moment)?;
    positive("radius of the detent", "mm", radius)?;
    let (out, _) = ratios(slope, contact, guide)?;
    let Some(ratio) = out else {
        let steepest = FRAC_PI_2 - guide.atan() - contact.atan();
        less_than(
            "slope of the seat",
            "rad",
            slope,
            "slope that locks",
            steepest,
        )?;
        return Err(ElementError::NotFinite {
            what: "force of the detent",
        });
    };
    Ok(moment / radius / ratio)
}

/// Force across over spring force: out (`None` when it locks) and back to the middle.
fn ratios(slope: f64, contact: f64, guide: f64) -> Result<(Option<f64>, f64), ElementError> {
    within("slope of the seat", "rad", slope, 1e-6, FRAC_PI_2)?;
    let phi = friction(contact)?.atan();
    friction(guide)?;
    let steep = slope + phi;
    let out = (steep < FRAC_PI_2)
        .then(|| (steep.tan(), 1.0 - guide * steep.tan()))
        .filter(|(_, bottom)| *bottom > 0.0)
        .map(|(top, bottom)| top / bottom);
    let easy = (slope - phi).tan();
    let back = if slope > phi {
        easy / (1.0 + guide * easy)
    } else {
        0.0
    };
    Ok((out, back))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn ball_in_cone_and_on_edge_meet() {
        // A mouth just where the ball touches: flank and edge give the same.
        let half = 0.6f64;
        let mouth = 8.0 * half.cos();
        let cone = Seat::Cone {
            included: 2.0 * half,
            mouth: mouth * (1.0 + 1e-12),
        };
        let flank = cone.rest(8.0).unwrap();
        let edge = Seat::Hole { diameter: mouth }.rest(8.0).unwrap();
        assert!((flank.slope - edge.slope).abs() < 1e-6 && (flank.depth - edge.depth).abs() < 1e-6);
    }

    #[test]
    fn steep_flanks_lock() {
        let hold = hold(10.0, 1.45, 0.15, 0.1).unwrap();
        assert_eq!(hold.breakaway, None);
        assert!(hold.centring > 0.0);
        assert!(spring_for_moment(100.0, 20.0, 1.45, 0.15, 0.1).is_err());
        // A flat flank does not find its middle.
        assert_eq!(super::hold(10.0, 0.05, 0.15, 0.1).unwrap().centring, 0.0);
    }

    #[test]
    fn refuses() {
        assert!(Seat::Hole { diameter: 6.0 }.rest(6.0).is_err());
        assert!(Seat::Hole { diameter: -1.0 }.rest(6.0).is_err());
        let deep = Seat::Cone {
            included: 1.5,
            mouth: 30.0,
        };
        assert!(deep.rest(6.0).is_err());
        assert!(hold(0.0, 0.5, 0.1, 0.1).is_err() && hold(1.0, 2.0, 0.1, 0.1).is_err());
    }

    proptest! {
        #[test]
        fn moment_turns_round(m in 1.0..1e5f64, r in 5.0..200.0f64, slope in 0.2..1.0f64, mu in 0.0..0.25f64) {
            let spring = spring_for_moment(m, r, slope, mu, mu).unwrap();
            let held = hold(spring, slope, mu, mu).unwrap();
            prop_assert!((held.breakaway.unwrap() * r / m - 1.0).abs() < 1e-9);
            prop_assert!(held.centring <= held.breakaway.unwrap());
            // Without friction both are Fs tan β.
            let smooth = hold(spring, slope, 0.0, 0.0).unwrap();
            prop_assert!((smooth.breakaway.unwrap() - smooth.centring).abs() < 1e-9 * smooth.centring);
            prop_assert!(smooth.breakaway.unwrap() <= held.breakaway.unwrap() + 1e-9);
        }

        #[test]
        fn wider_holes_hold_harder(ball in 2.0..20.0f64, a in 0.1..0.9f64) {
            let at = |share: f64| Seat::Hole { diameter: ball * share }.rest(ball).unwrap();
            let (small, large) = (at(a), at(a + 0.05));
            prop_assert!(small.slope < large.slope && small.depth < large.depth);
        }
    }
}
