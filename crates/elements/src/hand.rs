//! What a hand or foot can do, and gaps that do not crush: EN 1005-3, MIL-STD-1472, ISO 13854, ISO 13857.
//!
//! Figures to design by. They do not make a machine safe; guarding rules and local codes come first.

use crate::error::{not_listed, not_negative, within};
use crate::{ElementError, Source};

/// A basic force, N.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BasicForce {
    /// What is done.
    pub action: &'static str,
    /// For working people (15th percentile).
    pub professional: f64,
    /// For everybody at home (1st percentile).
    pub domestic: f64,
    /// Where it comes from.
    pub source: Source,
}

const SEEN: Source = Source::seen("EN 1005-3:2002+A1 table 1, basic force FB");
const MEMORY: Source = Source::memory("EN 1005-3:2002+A1 table 1, basic force FB");

const fn force(
    action: &'static str,
    professional: f64,
    domestic: f64,
    source: Source,
) -> BasicForce {
    BasicForce {
        action,
        professional,
        domestic,
        source,
    }
}

/// Basic forces of one person, at rest or slowly, now and then.
pub const FORCES: [BasicForce; 13] = [
    force("hand, power grip", 250.0, 184.0, SEEN),
    force("arm up, sitting", 50.0, 31.0, SEEN),
    force("arm down, sitting", 75.0, 44.0, MEMORY),
    force("arm outward", 55.0, 31.0, SEEN),
    force("arm inward", 75.0, 49.0, SEEN),
    force("arm push, back support", 275.0, 186.0, MEMORY),
    force("arm push, no support", 62.0, 30.0, SEEN),
    force("arm pull, back support", 225.0, 169.0, SEEN),
    force("arm pull, no support", 55.0, 28.0, MEMORY),
    force("whole body push", 200.0, 119.0, SEEN),
    force("whole body pull", 145.0, 96.0, SEEN),
    force("pedal, ankle", 250.0, 154.0, SEEN),
    force("pedal, leg", 475.0, 308.0, MEMORY),
];

/// Finds a basic force.
///
/// # Errors
/// [`ElementError::NotListed`] with the actions of the table.
pub fn basic_force(action: &str) -> Result<&'static BasicForce, ElementError> {
    FORCES
        .iter()
        .find(|f| f.action == action.trim())
        .ok_or_else(|| not_listed("action", action, FORCES.iter().map(|f| f.action)))
}

/// How often and how long a force is used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Use {
    /// Whether the hand moves while it presses.
    pub moving: bool,
    /// Times a minute.
    pub per_minute: f64,
    /// Hours a day.
    pub hours: f64,
}

/// The basic force reduced for speed, repetition and duration (EN 1005-3 step B, multipliers from memory): 0.8 when
/// moving; 1, 0.8, 0.5, 0.3 up to 0.2, 2, 20 and more times a minute; 1, 0.8, 0.5 up to 1, 2 and 8 hours.
///
/// # Errors
/// Negative values, more than 8 hours.
pub fn reduced(basic: f64, work: Use) -> Result<f64, ElementError> {
    not_negative("basic force", "N", basic)?;
    not_negative("times a minute", "1/min", work.per_minute)?;
    within("hours", "h", work.hours, 0.0, 8.0)?;
    let speed = if work.moving { 0.8 } else { 1.0 };
    let often = match work.per_minute {
        n if n <= 0.2 => 1.0,
        n if n <= 2.0 => 0.8,
        n if n <= 20.0 => 0.5,
        _ => 0.3,
    };
    let long = match work.hours {
        h if h <= 1.0 => 1.0,
        h if h <= 2.0 => 0.8,
        _ => 0.5,
    };
    Ok(basic * speed * often * long)
}

/// What EN 1005-3 step C says of a force over the reduced capacity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Zone {
    /// Up to 0.5: recommended.
    Recommended,
    /// Up to 0.7: not recommended, look again at who works and how.
    NotRecommended,
    /// Above: to be avoided.
    Avoid,
}

/// Shares of the capacity at which the zones change.
pub const ZONES: (f64, f64) = (0.5, 0.7);

/// The zone of a force.
///
/// # Errors
/// Negative values, no capacity.
pub fn zone(force: f64, capacity: f64) -> Result<Zone, ElementError> {
    let share =
        not_negative("force", "N", force)? / crate::error::positive("capacity", "N", capacity)?;
    Ok(if share <= ZONES.0 {
        Zone::Recommended
    } else if share <= ZONES.1 {
        Zone::NotRecommended
    } else {
        Zone::Avoid
    })
}

/// Levers and panels (MIL-STD-1472E 5.4.3, and a control-room ergonomics text).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeverForce {
    /// The control.
    pub control: &'static str,
    /// Greatest force, from and to, N; or a multiple of another force where `times` is set.
    pub most: (f64, f64),
    /// Whether the figure multiplies the force of one hand.
    pub times: bool,
    /// Where it comes from.
    pub source: Source,
}

/// Levers.
pub const LEVERS: [LeverForce; 5] = [
    LeverForce {
        control: "panel pull with fingers",
        most: (18.0, 18.0),
        times: false,
        source: Source::seen("MIL-STD-1472E 5.4.3.1.8.7"),
    },
    LeverForce {
        control: "lever in front of the opposite arm",
        most: (0.75, 0.75),
        times: true,
        source: Source::seen("MIL-STD-1472E 5.4.3.2.1.6"),
    },
    LeverForce {
        control: "push-pull lever with two hands, 250-480 mm forward of seat reference",
        most: (2.0, 2.0),
        times: true,
        source: Source::seen("MIL-STD-1472E 5.4.3.2.1.6"),
    },
    LeverForce {
        control: "left-right lever, one hand",
        most: (80.0, 95.0),
        times: false,
        source: Source::seen("control-room ergonomics text: 9 kgf"),
    },
    LeverForce {
        control: "left-right lever, two hands",
        most: (120.0, 135.0),
        times: false,
        source: Source::seen("control-room ergonomics text: 13 kgf"),
    },
];

/// Least gap that does not crush, mm (ISO 13854:2017 table 1, the same as EN 349).
pub const CRUSH_GAPS: [(&str, f64, Source); 8] = [
    ("body", 500.0, CRUSH_SEEN),
    ("head", 300.0, CRUSH_SEEN),
    ("leg", 180.0, CRUSH_SEEN),
    ("foot", 120.0, CRUSH_SEEN),
    ("toes", 50.0, CRUSH_SEEN),
    ("arm", 120.0, CRUSH_SEEN),
    ("hand, wrist, fist", 100.0, CRUSH_SEEN),
    ("finger", 25.0, CRUSH_SEEN),
];

// Seen as the Austrian accident insurance (AUVA, topic safety distances) gives the table of EN 349.
const CRUSH_SEEN: Source = Source::seen("ISO 13854:2017 table 1");

/// The least gap for a part of the body, mm.
///
/// # Errors
/// [`ElementError::NotListed`] with the parts of the table.
pub fn crush_gap(part: &str) -> Result<f64, ElementError> {
    CRUSH_GAPS
        .iter()
        .find(|(name, ..)| *name == part.trim())
        .map(|(_, gap, _)| *gap)
        .ok_or_else(|| {
            not_listed(
                "part of the body",
                part,
                CRUSH_GAPS.iter().map(|(n, ..)| *n),
            )
        })
}

/// Shape of an opening.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Opening {
    /// Slot; the size is its width.
    Slot,
    /// Square; the size is its side.
    Square,
    /// Round; the size is its diameter.
    Round,
}

/// Opening up to, mm; distance for slot, square, round, mm (ISO 13857:2019 table 4, age 14 and over).
const REACH: [(f64, [f64; 3]); 9] = [
    (4.0, [2.0, 2.0, 2.0]),
    (6.0, [10.0, 5.0, 5.0]),
    (8.0, [20.0, 15.0, 5.0]),
    (10.0, [80.0, 25.0, 20.0]),
    (12.0, [100.0, 80.0, 80.0]),
    (20.0, [120.0, 120.0, 120.0]),
    (30.0, [850.0, 120.0, 120.0]),
    (40.0, [850.0, 200.0, 120.0]),
    (120.0, [850.0, 850.0, 850.0]),
];

/// Where a distance comes from: openings over 8 to 10 and over 20 to 30 mm were not seen in print.
pub fn guard_source(opening: f64) -> Source {
    const TEXT: &str = "ISO 13857:2019 table 4, age 14 and over";
    if (opening > 8.0 && opening <= 10.0) || (opening > 20.0 && opening <= 30.0) {
        Source::memory(TEXT)
    } else {
        Source::seen(TEXT)
    }
}

/// Least distance of a guard with this opening from the hazard, mm. A slot up to 65 mm long stops the thumb: 200 mm
/// will do there instead of 850.
///
/// # Errors
/// An opening outside 0 to 120 mm, through which the whole body can follow.
pub fn guard_distance(opening: f64, shape: Opening) -> Result<f64, ElementError> {
    within("opening", "mm", opening, 0.0, 120.0)?;
    let column = match shape {
        Opening::Slot => 0,
        Opening::Square => 1,
        Opening::Round => 2,
    };
    let row = REACH.iter().find(|(top, _)| opening <= *top);
    Ok(row
        .and_then(|(_, row)| row.get(column))
        .copied()
        .unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_are_ordered() {
        for f in &FORCES {
            assert!(f.domestic < f.professional, "{}", f.action);
            assert_eq!(basic_force(f.action).unwrap(), f);
        }
        assert!(REACH.windows(2).all(|w| w[0].0 < w[1].0
            && w[0].1[0] <= w[1].1[0]
            && w[0].1[1] <= w[1].1[1]
            && w[0].1[2] <= w[1].1[2]));
        for (_, [slot, square, round]) in REACH {
            assert!(slot >= square && square >= round);
        }
        assert!(
            LEVERS
                .iter()
                .all(|l| l.most.0 <= l.most.1 && l.times == (l.most.1 < 3.0))
        );
        assert_eq!(crush_gap("finger").unwrap(), 25.0);
        assert!(crush_gap("tail").is_err() && basic_force("wink").is_err());
        assert!(guard_distance(130.0, Opening::Slot).is_err());
    }

    #[test]
    fn repetition_tires() {
        let once = Use {
            moving: false,
            per_minute: 0.1,
            hours: 0.5,
        };
        let often = Use {
            moving: true,
            per_minute: 10.0,
            hours: 6.0,
        };
        assert_eq!(reduced(100.0, once).unwrap(), 100.0);
        assert!((reduced(100.0, often).unwrap() - 20.0).abs() < 1e-12);
        assert_eq!(zone(10.0, 20.0).unwrap(), Zone::Recommended);
        assert_eq!(zone(13.0, 20.0).unwrap(), Zone::NotRecommended);
        assert_eq!(zone(15.0, 20.0).unwrap(), Zone::Avoid);
        assert!(zone(1.0, 0.0).is_err() && reduced(1.0, Use { hours: 9.0, ..once }).is_err());
    }
}
