//! Rods and links in compression: Euler and Johnson, end conditions, load off the middle, threaded rods.

use crate::error::{not_negative, positive, within};
use crate::{Check, ElementError, Source};
use std::f64::consts::PI;

/// The formulas.
pub const SOURCE: Source = Source::seen(
    "Euler and J. B. Johnson columns (Shigley, 9th ed., eqs. 4-42 to 4-48, table 4-2)",
);

/// How the ends are held: the constant C of Euler's formula.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ends {
    /// A pin or ball at both ends: C = 1. A rod between rod ends.
    Pinned,
    /// One held, one pinned: 2 in theory, 1.2 to count on.
    FixedPinned,
    /// Both held: 4 in theory, 1.2 to count on.
    Fixed,
    /// One held, the other free to move aside: 1/4.
    FixedFree,
}

impl Ends {
    /// C of the ideal column. A fixed and a pinned end give 2.046 exactly; the table rounds.
    pub fn theory(self) -> f64 {
        match self {
            Self::Pinned => 1.0,
            Self::FixedPinned => 2.0,
            Self::Fixed => 4.0,
            Self::FixedFree => 0.25,
        }
    }

    /// C to count on: real ends are never quite fixed.
    pub fn recommended(self) -> f64 {
        match self {
            Self::Pinned => 1.0,
            Self::FixedPinned | Self::Fixed => 1.2,
            Self::FixedFree => 0.25,
        }
    }
}

/// A cross section that can buckle, mm. The weak way counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Section {
    /// Round bar of a diameter.
    Round(f64),
    /// Tube of outside and inside diameter.
    Tube(f64, f64),
    /// Flat bar of width and thickness.
    Flat(f64, f64),
}

impl Section {
    /// Area, mm², and least second moment of area, mm⁴.
    ///
    /// # Errors
    /// Sizes that are not positive, a bore as large as its tube.
    pub fn properties(self) -> Result<(f64, f64), ElementError> {
        match self {
            Self::Round(d) => {
                positive("diameter", "mm", d)?;
                Ok((PI * d * d / 4.0, PI * d.powi(4) / 64.0))
            }
            Self::Tube(outside, inside) => {
                positive("outside diameter", "mm", outside)?;
                not_negative("inside diameter", "mm", inside)?;
                crate::error::less_than(
                    "inside diameter",
                    "mm",
                    inside,
                    "outside diameter",
                    outside,
                )?;
                Ok((
                    PI * (outside.powi(2) - inside.powi(2)) / 4.0,
                    PI * (outside.powi(4) - inside.powi(4)) / 64.0,
                ))
            }
            Self::Flat(a, b) => {
                positive("width", "mm", a)?;
                positive("thickness", "mm", b)?;
                let (wide, thin) = (a.max(b), a.min(b));
                Ok((a * b, wide * thin.powi(3) / 12.0))
            }
        }
    }
}

/// Which formula gave the load.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Formula {
    /// Slender: elastic buckling.
    Euler,
    /// Stocky: the parabola from yield to Euler.
    Johnson,
}

/// A centrally loaded column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// The load at which it fails, N.
    pub critical: f64,
    /// The formula that governs.
    pub formula: Formula,
    /// Length over radius of gyration.
    pub slenderness: f64,
    /// The slenderness at which the two formulas meet, at half the yield strength: √(2π² C E/Sy).
    pub transition: f64,
}

/// The critical load. `constant` is C of the ends, strengths in MPa.
///
/// # Errors
/// Sizes or strengths that are not positive; a constant outside 0.1 to 4.1.
///
/// ```
/// use elements::columns::{Formula, Section, column};
/// let rod = column(Section::Round(12.0), 400.0, 1.0, 207_000.0, 370.0).unwrap();
/// assert_eq!(rod.formula, Formula::Euler);
/// assert!((rod.critical - 12_997.0).abs() < 5.0);
/// ```
pub fn column(
    section: Section,
    length: f64,
    constant: f64,
    youngs: f64,
    yields: f64,
) -> Result<Column, ElementError> {
    let (area, inertia) = section.properties()?;
    positive("length", "mm", length)?;
    within("end constant", "", constant, 0.1, 4.1)?;
    positive("modulus of elasticity", "MPa", youngs)?;
    positive("yield strength", "MPa", yields)?;
    let slenderness = length / (inertia / area).sqrt();
    let transition = transition(constant, youngs, yields)?;
    let (critical, formula) = if slenderness >= transition {
        (
            area * constant * PI * PI * youngs / slenderness.powi(2),
            Formula::Euler,
        )
    } else {
        let bend = (yields * slenderness / (2.0 * PI)).powi(2) / (constant * youngs);
        (area * (yields - bend), Formula::Johnson)
    };
    Ok(Column {
        critical,
        formula,
        slenderness,
        transition,
    })
}

/// Slenderness at which Euler and Johnson meet.
///
/// # Errors
/// Values that are not positive.
pub fn transition(constant: f64, youngs: f64, yields: f64) -> Result<f64, ElementError> {
    positive("end constant", "", constant)?;
    positive("modulus of elasticity", "MPa", youngs)?;
    positive("yield strength", "MPa", yields)?;
    Ok((2.0 * PI * PI * constant * youngs / yields).sqrt())
}

/// A thrust against the critical load, N.
///
/// # Errors
/// As for [`column()`]; a negative thrust.
pub fn check(column: &Column, thrust: f64) -> Result<Check, ElementError> {
    Ok(Check {
        what: match column.formula {
            Formula::Euler => "buckling (Euler)",
            Formula::Johnson => "buckling (Johnson)",
        },
        acts: not_negative("thrust", "N", thrust)?,
        bears: column.critical,
        unit: "N",
        source: SOURCE,
    })
}

/// A threaded rod in compression counts with its root diameter over the whole length: section for [`column()`].
///
/// # Errors
/// As for [`crate::threads::basic`].
pub fn threaded(major: f64, pitch: f64) -> Result<Section, ElementError> {
    Ok(Section::Round(crate::threads::basic(major, pitch)?.root))
}

/// The diameter of a round rod by Euler for a thrust with a factor, mm; only right when [`column()`] with it says Euler.
///
/// # Errors
/// Values that are not positive.
pub fn euler_diameter(
    thrust: f64,
    factor: f64,
    length: f64,
    constant: f64,
    youngs: f64,
) -> Result<f64, ElementError> {
    positive("thrust", "N", thrust)?;
    positive("factor", "", factor)?;
    positive("length", "mm", length)?;
    within("end constant", "", constant, 0.1, 4.1)?;
    positive("modulus of elasticity", "MPa", youngs)?;
    Ok((64.0 * factor * thrust * length * length / (PI.powi(3) * constant * youngs)).powf(0.25))
}

/// The smallest of the bars offered, mm, that bears a thrust with a factor, by whichever formula governs.
///
/// # Errors
/// As for [`column()`].
pub fn smallest_round(
    bars: &[f64],
    thrust: f64,
    factor: f64,
    length: f64,
    constant: f64,
    youngs: f64,
    yields: f64,
) -> Result<Option<f64>, ElementError> {
    positive("factor", "", factor)?;
    let mut best: Option<f64> = None;
    for bar in bars {
        let column = column(Section::Round(*bar), length, constant, youngs, yields)?;
        if check(&column, thrust)?.passes(factor) && best.is_none_or(|b| *bar < b) {
            best = Some(*bar);
        }
    }
    Ok(best)
}

/// Greatest stress of a pinned column with the load off the middle by `offset`, MPa: the secant formula (Shigley
/// eq. 4-50). Infinite at and beyond the Euler load.
///
/// # Errors
/// As for [`column()`]; a negative thrust or offset; a distance to the outermost fibre that is not positive.
pub fn secant(
    section: Section,
    length: f64,
    thrust: f64,
    offset: f64,
    fibre: f64,
    youngs: f64,
) -> Result<f64, ElementError> {
    let (area, inertia) = section.properties()?;
    positive("length", "mm", length)?;
    not_negative("thrust", "N", thrust)?;
    not_negative("offset of the load", "mm", offset)?;
    positive("distance of the outermost fibre", "mm", fibre)?;
    positive("modulus of elasticity", "MPa", youngs)?;
    let angle = length / 2.0 * (thrust / (youngs * inertia)).sqrt();
    if angle >= PI / 2.0 {
        return Ok(f64::INFINITY);
    }
    let gyration2 = inertia / area;
    Ok(thrust / area * (1.0 + offset * fibre / gyration2 / angle.cos()))
}

/// The thrust at which a column yields whose load stands `offset` off its middle, N: where [`secant`] reaches the yield strength; the length of
/// a pinned column that bows alike goes in for other ends (l/√C).
///
/// # Errors
/// As for [`column()`] and [`secant`].
///
/// ```
/// use elements::columns::{Section, column, eccentric};
/// let rod = Section::Round(12.0);
/// let middle = column(rod, 300.0, 1.0, 207e3, 370.0).unwrap().critical;
/// let off = eccentric(rod, 300.0, 1.0, 2.0, 207e3, 370.0).unwrap();
/// assert!(off < 0.6 * middle);
/// ```
pub fn eccentric(
    section: Section,
    length: f64,
    constant: f64,
    offset: f64,
    youngs: f64,
    yields: f64,
) -> Result<f64, ElementError> {
    let middle = column(section, length, constant, youngs, yields)?.critical;
    let fibre = 0.5
        * match section {
            Section::Round(d) | Section::Tube(d, _) => d,
            Section::Flat(a, b) => a.min(b),
        };
    let alike = length / constant.sqrt();
    let stress = |thrust: f64| secant(section, alike, thrust, offset, fibre, youngs);
    let (mut low, mut high) = (0.0, middle);
    if stress(high)? <= yields {
        return Ok(middle);
    }
    for _ in 0..80 {
        let half = f64::midpoint(low, high);
        if stress(half)? <= yields {
            low = half;
        } else {
            high = half;
        }
    }
    Ok(low)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Off the middle the stress there is just the yield strength; with no offset it is the column itself.
    #[test]
    fn a_load_off_the_middle() {
        let rod = Section::Round(12.0);
        for offset in [0.5, 1.0, 3.0] {
            let bears = eccentric(rod, 300.0, 1.0, offset, 207e3, 370.0).unwrap();
            let there = secant(rod, 300.0, bears, offset, 6.0, 207e3).unwrap();
            assert!((there - 370.0).abs() < 1e-6, "{offset}: {there}");
        }
        let middle = column(rod, 300.0, 1.0, 207e3, 370.0).unwrap().critical;
        assert_eq!(
            eccentric(rod, 300.0, 1.0, 0.0, 207e3, 370.0).unwrap(),
            middle
        );
        // A free end bows as a pinned column of twice the length does.
        let free = eccentric(rod, 300.0, 0.25, 1.0, 207e3, 370.0).unwrap();
        let twice = eccentric(rod, 600.0, 1.0, 1.0, 207e3, 370.0).unwrap();
        assert!((free / twice - 1.0).abs() < 1e-9);
        assert!(eccentric(rod, 300.0, 1.0, -1.0, 207e3, 370.0).is_err());
    }

    #[test]
    fn secant_reaches_bending_and_euler() {
        let rod = Section::Round(12.0);
        let (area, inertia) = rod.properties().unwrap();
        let central = secant(rod, 300.0, 5000.0, 0.0, 6.0, 207e3).unwrap();
        assert!((central - 5000.0 / area).abs() < 1e-9);
        let short = secant(rod, 1.0, 5000.0, 2.0, 6.0, 207e3).unwrap();
        assert!((short - (5000.0 / area + 10_000.0 * 6.0 / inertia)).abs() < 0.01);
        assert_eq!(
            secant(rod, 400.0, 13_500.0, 0.1, 6.0, 207e3).unwrap(),
            f64::INFINITY
        );
    }

    #[test]
    fn sections() {
        assert_eq!(
            Section::Flat(30.0, 6.0).properties(),
            Section::Flat(6.0, 30.0).properties()
        );
        let (bar, tube) = (Section::Round(12.0), Section::Tube(12.0, 0.0));
        assert_eq!(bar.properties().unwrap(), tube.properties().unwrap());
        assert!(Section::Tube(12.0, 12.0).properties().is_err());
        assert!(Section::Round(f64::NAN).properties().is_err());
        let Section::Round(root) = threaded(8.0, 1.25).unwrap() else {
            panic!("round");
        };
        assert!((root - 6.466).abs() < 1e-3);
    }

    #[test]
    fn ends() {
        for e in [
            Ends::Pinned,
            Ends::FixedPinned,
            Ends::Fixed,
            Ends::FixedFree,
        ] {
            assert!(e.recommended() <= e.theory());
        }
        assert!(column(Section::Round(12.0), 400.0, 5.0, 207e3, 370.0).is_err());
    }

    proptest! {
        #[test]
        fn falls_with_length_and_never_jumps(l in 10.0..2000.0f64, d in 4.0..50.0f64, c in 0.25..4.0f64) {
            let at = |l: f64| column(Section::Round(d), l, c, 207e3, 370.0).unwrap();
            let (here, there) = (at(l), at(l * 1.001));
            prop_assert!(there.critical < here.critical && here.critical > there.critical * 0.99);
            prop_assert!(here.critical <= 370.0 * PI * d * d / 4.0);
            prop_assert!((here.formula == Formula::Euler) == (here.slenderness >= here.transition));
            // Euler is never less than Johnson below the point where they meet.
            let euler = PI.powi(3) * c * 207e3 * d.powi(4) / 64.0 / (l * l);
            prop_assert!(here.critical <= euler * (1.0 + 1e-12));
        }

        #[test]
        fn euler_diameter_turns_round(p in 100.0..1e5f64, l in 500.0..3000.0f64, n in 1.0..5.0f64) {
            let d = euler_diameter(p, n, l, 1.0, 207e3).unwrap();
            let c = column(Section::Round(d), l, 1.0, 207e3, 1e6).unwrap();
            prop_assume!(c.formula == Formula::Euler);
            prop_assert!((c.critical / (n * p) - 1.0).abs() < 1e-9);
        }
    }
}
