//! Screws that hold a hub on a shaft: set screws and clamp collars.

use crate::error::{friction, not_listed, not_negative, positive, within};
use crate::{Check, ElementError, Source};
use std::f64::consts::PI;

/// Where the holding power comes from.
pub const SOURCE: Source = Source::memory(
    "cup point on a shaft of HRC 15, steel socket set screws, class 3A threads (Shigley table 7-4; sizes #0 to #2 and all torques seen in a maker's chart)",
);

const POUND: f64 = 4.448_221_615_260_5;
const POUND_INCH: f64 = POUND * 25.4;

/// Name, diameter in inches, seating torque in lbf·in, axial holding power in lbf.
const ROWS: [(&str, f64, f64, f64); 19] = [
    ("#0", 0.060, 1.0, 50.0),
    ("#1", 0.073, 1.8, 65.0),
    ("#2", 0.086, 1.8, 85.0),
    ("#3", 0.099, 5.0, 120.0),
    ("#4", 0.112, 5.0, 160.0),
    ("#5", 0.125, 10.0, 200.0),
    ("#6", 0.138, 10.0, 250.0),
    ("#8", 0.164, 20.0, 385.0),
    ("#10", 0.190, 36.0, 540.0),
    ("1/4", 0.25, 87.0, 1000.0),
    ("5/16", 0.3125, 165.0, 1500.0),
    ("3/8", 0.375, 290.0, 2000.0),
    ("7/16", 0.4375, 430.0, 2500.0),
    ("1/2", 0.5, 620.0, 3000.0),
    ("9/16", 0.5625, 620.0, 3500.0),
    ("5/8", 0.625, 1325.0, 4000.0),
    ("3/4", 0.75, 2400.0, 5000.0),
    ("7/8", 0.875, 5200.0, 6000.0),
    ("1", 1.0, 7200.0, 7000.0),
];

/// The point of a set screw, by its holding power against a cup (a maker's handbook, seen).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Point {
    /// Cup: 1.
    Cup,
    /// Cone in a drilled spot: 1.07.
    Cone,
    /// Flat or dog: 0.92.
    FlatOrDog,
    /// Oval: 0.90.
    Oval,
}

impl Point {
    /// Holding power over that of a cup.
    pub fn factor(self) -> f64 {
        match self {
            Self::Cup => 1.0,
            Self::Cone => 1.07,
            Self::FlatOrDog => 0.92,
            Self::Oval => 0.90,
        }
    }
}

/// A set screw, tightened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SetScrew {
    /// Torque to which the holding power belongs, N·mm.
    pub seating: f64,
    /// Axial force that it holds, N.
    pub holds: f64,
    /// Whether the size stands in the table; else it lies between two rows.
    pub tabled: bool,
}

/// Holding power of an inch set screw by name.
///
/// # Errors
/// [`ElementError::NotListed`] with the sizes of the table.
pub fn set_screw(name: &str, point: Point) -> Result<SetScrew, ElementError> {
    let row = ROWS.iter().find(|row| row.0 == name.trim());
    let (_, _, torque, force) =
        row.ok_or_else(|| not_listed("set screw", name, ROWS.iter().map(|r| r.0)))?;
    Ok(SetScrew {
        seating: torque * POUND_INCH,
        holds: force * POUND * point.factor(),
        tabled: true,
    })
}

/// Holding power by diameter, mm: a row of the table, or between two rows by the power of the diameter that joins
/// them. Metric set screws of 45H are of the same strength (common practice).
///
/// # Errors
/// A diameter outside 0.06 to 1 in.
pub fn set_screw_of(diameter: f64, point: Point) -> Result<SetScrew, ElementError> {
    const INCH: f64 = 25.4;
    within("set screw", "mm", diameter, 0.06 * INCH, INCH)?;
    let inches = diameter / INCH;
    let mut before = ("", 0.06, 1.0, 50.0);
    for row in ROWS {
        if (inches - row.1).abs() < 1e-6 {
            return set_screw(row.0, point);
        }
        if inches < row.1 {
            let t = (inches / before.1).ln() / (row.1 / before.1).ln();
            let between = |a: f64, b: f64| a * (b / a).powf(t);
            return Ok(SetScrew {
                seating: between(before.2, row.2) * POUND_INCH,
                holds: between(before.3, row.3) * POUND * point.factor(),
                tabled: false,
            });
        }
        before = row;
    }
    set_screw("1", point)
}

/// Torque on a shaft of this diameter against the set screws, N·mm. `count` screws count fully only when they stand
/// at 60 to 120° (common practice).
///
/// # Errors
/// A shaft that is not positive, no screw, a negative torque.
pub fn set_screw_torque(
    screw: &SetScrew,
    count: u32,
    shaft: f64,
    torque: f64,
) -> Result<Check, ElementError> {
    positive("shaft", "mm", shaft)?;
    not_negative("torque", "N·mm", torque)?;
    let count = within("number of set screws", "", f64::from(count), 1.0, 10.0)?;
    Ok(Check {
        what: "torque on the set screws",
        acts: torque,
        bears: screw.holds * count * shaft / 2.0,
        unit: "N·mm",
        source: SOURCE,
    })
}

/// How a clamp lies on its shaft.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clamp {
    /// Bored to the shaft's size and slit: it wraps round, pressure nearly even. T = π µ F d for a screw force F on
    /// each side of the bore.
    CloseBore,
    /// Bored larger or stiff: it touches on two lines. T = 2 µ F d.
    TwoLines,
}

/// Torque and axial force that a clamp holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClampHold {
    /// N·mm.
    pub torque: f64,
    /// N.
    pub axial: f64,
}

/// A clamp or split collar, by the force of all its screws on one side of the bore. With one slit and a stiff back,
/// the screw's force times its distance from the back acts on the bore at the bore's distance: `lever` is the first
/// over the second, 1 for screws on both sides.
///
/// # Errors
/// Values that are not positive; friction outside 0 to 2; a lever outside 0.5 to 3.
pub fn clamp(
    shape: Clamp,
    screw_force: f64,
    lever: f64,
    shaft: f64,
    mu: f64,
) -> Result<ClampHold, ElementError> {
    not_negative("screw force", "N", screw_force)?;
    positive("shaft", "mm", shaft)?;
    within("lever of the screw", "", lever, 0.5, 3.0)?;
    let round = match shape {
        // A band under the tension F presses with F/(r l): the sum of normal forces is 2π F.
        Clamp::CloseBore => 2.0 * PI,
        // Each half is pressed on by 2 F and answers on one line.
        Clamp::TwoLines => 4.0,
    };
    let axial = friction(mu)? * round * screw_force * lever;
    Ok(ClampHold {
        torque: axial * shaft / 2.0,
        axial,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holding_rises_with_size() {
        assert!(
            ROWS.windows(2)
                .all(|w| w[0].1 < w[1].1 && w[0].2 <= w[1].2 && w[0].3 < w[1].3)
        );
        let quarter = set_screw("1/4", Point::Cup).unwrap();
        assert!((quarter.holds - 4448.2).abs() < 0.1);
        assert_eq!(set_screw_of(6.35, Point::Cup).unwrap(), quarter);
        let m6 = set_screw_of(6.0, Point::Cup).unwrap();
        let ten = set_screw("#10", Point::Cup).unwrap();
        assert!(!m6.tabled && ten.holds < m6.holds && m6.holds < quarter.holds);
        assert!(set_screw_of(30.0, Point::Cup).is_err() && set_screw("M6", Point::Cup).is_err());
        assert!(
            set_screw("#8", Point::Cone).unwrap().holds
                > set_screw("#8", Point::Cup).unwrap().holds
        );
        let check = set_screw_torque(&quarter, 1, 12.0, 13_344.7).unwrap();
        assert!((check.factor() - 2.0).abs() < 1e-4);
    }

    #[test]
    fn a_close_bore_holds_more() {
        let close = clamp(Clamp::CloseBore, 5000.0, 1.0, 20.0, 0.12).unwrap();
        let lines = clamp(Clamp::TwoLines, 5000.0, 1.0, 20.0, 0.12).unwrap();
        assert!((close.torque / lines.torque - PI / 2.0).abs() < 1e-12);
        assert!((lines.torque - 2.0 * 0.12 * 5000.0 * 20.0).abs() < 1e-9);
        assert!(clamp(Clamp::TwoLines, 5000.0, 9.0, 20.0, 0.12).is_err());
    }
}
