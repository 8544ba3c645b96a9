//! Cutting speeds, feeds and reaming stock. Speeds in m/min, feeds in mm a turn, diameters in mm.
//!
//! Starting values for a rigid set-up with coolant; on a light machine begin at the low end.

use crate::error::{not_listed, not_negative, positive, within};
use crate::{ElementError, Source};
use std::f64::consts::PI;

const FOOT: f64 = 0.3048;
const INCH: f64 = 25.4;

/// Spindle speed, rev/min: 1000 v/(π d). (The shop rule 4 V/D in feet and inches reads 4.7 % high.)
///
/// # Errors
/// A diameter that is not positive, a negative speed.
///
/// ```
/// assert!((elements::cutting::spindle(30.0, 20.0).unwrap() - 477.46).abs() < 0.01);
/// ```
pub fn spindle(speed: f64, diameter: f64) -> Result<f64, ElementError> {
    Ok(1000.0 * not_negative("cutting speed", "m/min", speed)?
        / (PI * positive("diameter", "mm", diameter)?))
}

/// Cutting speed of a spindle speed, m/min.
///
/// # Errors
/// As for [`spindle`].
pub fn speed(rpm: f64, diameter: f64) -> Result<f64, ElementError> {
    Ok(
        not_negative("spindle speed", "rev/min", rpm)? * PI * positive("diameter", "mm", diameter)?
            / 1000.0,
    )
}

/// From and to.
pub type Range = (f64, f64);

/// Speeds for one work material, m/min.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Speeds {
    /// Material and hardness.
    pub name: &'static str,
    /// Turning with high-speed steel.
    pub turn: Range,
    /// Turning with carbide.
    pub turn_carbide: Range,
    /// Drilling with high-speed steel; spread 25 % either way.
    pub drill: f64,
    /// Reaming with high-speed steel; spread 25 % either way.
    pub ream: f64,
    /// Where turning comes from.
    pub turn_source: Source,
    /// Where drilling and reaming come from.
    pub drill_source: Source,
}

const TURN: Source = Source::memory(
    "handbook-level turning speeds (published shop tables for high-speed steel span these; carbide from memory)",
);
const DRILL: Source =
    Source::seen("reamer maker's table in the form of the machining data handbook");
const DRILL_MEMORY: Source = Source::memory("machining data handbook level, high-speed steel");

const fn feet(range: (f64, f64)) -> Range {
    (range.0 * FOOT, range.1 * FOOT)
}

/// In feet a minute.
const fn row(
    name: &'static str,
    turn: (f64, f64),
    carbide: (f64, f64),
    drill: (f64, f64),
    drill_source: Source,
) -> Speeds {
    Speeds {
        name,
        turn: feet(turn),
        turn_carbide: feet(carbide),
        drill: drill.0 * FOOT,
        ream: drill.1 * FOOT,
        turn_source: TURN,
        drill_source,
    }
}

/// All work materials.
pub const SPEEDS: [Speeds; 14] = [
    row(
        "1018, 100-125 HB",
        (80.0, 130.0),
        (300.0, 500.0),
        (100.0, 65.0),
        DRILL,
    ),
    row(
        "1018, 175-225 HB",
        (70.0, 110.0),
        (250.0, 450.0),
        (70.0, 45.0),
        DRILL,
    ),
    row(
        "1045, 175-225 HB",
        (65.0, 100.0),
        (250.0, 450.0),
        (75.0, 50.0),
        DRILL,
    ),
    row(
        "4140 resulphurised, 200-250 HB",
        (60.0, 100.0),
        (220.0, 400.0),
        (80.0, 50.0),
        DRILL,
    ),
    row(
        "4140, 28-32 HRC",
        (40.0, 70.0),
        (180.0, 320.0),
        (45.0, 30.0),
        DRILL_MEMORY,
    ),
    row(
        "O1, annealed 175-225 HB",
        (45.0, 75.0),
        (180.0, 320.0),
        (45.0, 30.0),
        DRILL,
    ),
    row(
        "303 stainless, annealed",
        (60.0, 110.0),
        (250.0, 400.0),
        (60.0, 40.0),
        DRILL_MEMORY,
    ),
    row(
        "304 stainless, annealed",
        (40.0, 75.0),
        (200.0, 350.0),
        (45.0, 30.0),
        DRILL_MEMORY,
    ),
    row(
        "grey iron class 20",
        (80.0, 150.0),
        (250.0, 450.0),
        (100.0, 65.0),
        DRILL,
    ),
    row(
        "grey iron class 45-50",
        (50.0, 90.0),
        (150.0, 300.0),
        (60.0, 40.0),
        DRILL,
    ),
    row(
        "free-cutting brass",
        (150.0, 350.0),
        (500.0, 1000.0),
        (200.0, 130.0),
        DRILL_MEMORY,
    ),
    row(
        "bearing bronze",
        (100.0, 200.0),
        (300.0, 600.0),
        (120.0, 80.0),
        DRILL_MEMORY,
    ),
    row(
        "6061 aluminium",
        (200.0, 600.0),
        (600.0, 1500.0),
        (250.0, 160.0),
        DRILL_MEMORY,
    ),
    row(
        "acetal",
        (200.0, 500.0),
        (400.0, 800.0),
        (200.0, 130.0),
        DRILL_MEMORY,
    ),
];

/// Finds a work material by name.
///
/// # Errors
/// [`ElementError::NotListed`] with the names of the table.
pub fn find(name: &str) -> Result<&'static Speeds, ElementError> {
    SPEEDS
        .iter()
        .find(|s| s.name.eq_ignore_ascii_case(name.trim()))
        .ok_or_else(|| not_listed("work material", name, SPEEDS.iter().map(|s| s.name)))
}

/// Drill diameter up to, inches; feed in inches a turn.
const DRILL_FEEDS: [(f64, f64, f64); 5] = [
    (0.125, 0.001, 0.003),
    (0.25, 0.002, 0.006),
    (0.5, 0.004, 0.010),
    (1.0, 0.007, 0.015),
    (2.0, 0.010, 0.025),
];

/// Where the drill feeds come from.
pub const FEED_SOURCE: Source =
    Source::memory("Machinery's Handbook, feeds of high-speed steel drills by diameter");

/// Feed of a drill, mm a turn.
///
/// # Errors
/// A diameter outside 0.3 to 50.8 mm.
pub fn drill_feed(diameter: f64) -> Result<Range, ElementError> {
    within("drill", "mm", diameter, 0.3, 2.0 * INCH)?;
    let inches = diameter / INCH - 1e-9;
    let row = DRILL_FEEDS.iter().find(|(top, ..)| inches <= *top);
    let (_, least, most) = row.copied().unwrap_or_default();
    Ok((least * INCH, most * INCH))
}

/// Hole from and to, inches; stock on diameter, inches.
const REAM_INCH: [(f64, f64, f64); 3] = [
    (0.281, 0.008, 0.012),
    (0.881, 0.010, 0.016),
    (2.5, 0.015, 0.030),
];

/// Hole up to, mm; stock on diameter, mm.
const REAM_METRIC: [(f64, f64, f64); 3] = [(5.0, 0.1, 0.2), (20.0, 0.2, 0.3), (50.0, 0.3, 0.5)];

/// Where the inch reaming stock comes from.
pub const REAM_INCH_SOURCE: Source = Source::seen("reamer maker's stock table");
/// Where the metric reaming stock over 5 mm comes from.
pub const REAM_SOURCE: Source = Source::seen("trade-school reaming table");
/// Where the metric reaming stock up to 5 mm comes from.
pub const REAM_SMALL_SOURCE: Source = Source::memory("trade-school reaming table");

/// Stock for a machine reamer by a maker's inch table, mm on diameter.
///
/// # Errors
/// A hole outside 4.34 to 63.5 mm (0.171 to 2.5 in).
pub fn ream_stock_inch(hole: f64) -> Result<Range, ElementError> {
    within("hole", "mm", hole, 0.171 * INCH, 2.5 * INCH)?;
    let inches = hole / INCH;
    let row = REAM_INCH
        .iter()
        .find(|(below, ..)| inches < *below)
        .or(REAM_INCH.last());
    let (_, least, most) = row.copied().unwrap_or_default();
    Ok((least * INCH, most * INCH))
}

/// Stock for a reamer by the metric table, mm on diameter. The two tables agree within a tenth of a millimetre.
///
/// # Errors
/// A hole outside 1 to 50 mm.
pub fn ream_stock(hole: f64) -> Result<Range, ElementError> {
    within("hole", "mm", hole, 1.0, 50.0)?;
    let row = REAM_METRIC.iter().find(|(top, ..)| hole <= *top);
    let (_, least, most) = row.copied().unwrap_or_default();
    Ok((least, most))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn rows_are_sound() {
        for s in &SPEEDS {
            assert!(s.turn.0 < s.turn.1 && s.turn_carbide.0 < s.turn_carbide.1);
            assert!(s.turn.0 < s.turn_carbide.0 && s.turn.1 < s.turn_carbide.1);
            assert!(s.ream < s.drill && s.drill <= s.turn.1 * 1.05, "{}", s.name);
            assert_eq!(find(s.name).unwrap(), s);
        }
        assert!(find("cheese").is_err());
    }

    #[test]
    fn two_reaming_tables_agree() {
        for hole in [5.0, 6.0, 8.0, 10.0, 16.0, 20.0, 24.0, 40.0] {
            let (a, b) = (ream_stock(hole).unwrap(), ream_stock_inch(hole).unwrap());
            assert!(a.0 < b.1 + 0.1 && b.0 < a.1 + 0.1, "{hole}: {a:?} {b:?}");
        }
        assert!(ream_stock(60.0).is_err() && ream_stock_inch(2.0).is_err());
        assert!(drill_feed(0.1).is_err());
        assert_eq!(drill_feed(6.35).unwrap(), (0.002 * INCH, 0.006 * INCH));
    }

    proptest! {
        #[test]
        fn spindle_turns_round(v in 1.0..500.0f64, d in 0.5..300.0f64) {
            prop_assert!((speed(spindle(v, d).unwrap(), d).unwrap() / v - 1.0).abs() < 1e-12);
        }

        #[test]
        fn feeds_rise(d in 0.5..40.0f64) {
            let (a, b) = (drill_feed(d).unwrap(), drill_feed(d * 1.2).unwrap());
            prop_assert!(a.0 <= b.0 && a.1 <= b.1 && a.0 < a.1);
        }
    }
}
