//! Internal clearance, tolerances of the rings, and how tight to fit them.

use crate::error::within;
use crate::{ElementError, Limits, Source};

/// Radial internal clearance groups of deep groove ball bearings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Less than normal.
    C2,
    /// Normal, not marked on the bearing.
    Normal,
    /// More than normal.
    C3,
    /// More than C3.
    C4,
}

/// Radial internal clearance, µm, for C2, normal, C3, C4: bore up to and including, mm (ISO 5753-1:2009).
const CLEARANCE: [(f64, [(f64, f64); 4]); 7] = [
    (6.0, [(0.0, 7.0), (2.0, 13.0), (8.0, 23.0), (14.0, 29.0)]),
    (10.0, [(0.0, 7.0), (2.0, 13.0), (8.0, 23.0), (14.0, 29.0)]),
    (18.0, [(0.0, 9.0), (3.0, 18.0), (11.0, 25.0), (18.0, 33.0)]),
    (24.0, [(0.0, 10.0), (5.0, 20.0), (13.0, 28.0), (20.0, 36.0)]),
    (30.0, [(1.0, 11.0), (5.0, 20.0), (13.0, 28.0), (23.0, 41.0)]),
    (40.0, [(1.0, 11.0), (6.0, 20.0), (15.0, 33.0), (28.0, 46.0)]),
    (50.0, [(1.0, 11.0), (6.0, 23.0), (18.0, 36.0), (30.0, 51.0)]),
];

/// Where a clearance comes from: normal and C3 of bores over 10 to 18, 24 to 30 and 40 to 50 mm were seen in print.
pub fn clearance_source(bore: f64, group: Group) -> Source {
    const TEXT: &str = "ISO 5753-1:2009, deep groove ball bearings";
    let seen = [(10.0, 18.0), (24.0, 30.0), (40.0, 50.0)];
    let in_print = seen.iter().any(|(over, to)| bore > *over && bore <= *to);
    if in_print && matches!(group, Group::Normal | Group::C3) {
        Source::seen(TEXT)
    } else {
        Source::memory(TEXT)
    }
}

/// Least and greatest radial internal clearance before fitting, mm.
///
/// # Errors
/// A bore outside 2.5 to 50 mm.
pub fn clearance(bore: f64, group: Group) -> Result<(f64, f64), ElementError> {
    within("bore of the bearing", "mm", bore, 2.5, 50.0)?;
    let column = match group {
        Group::C2 => 0,
        Group::Normal => 1,
        Group::C3 => 2,
        Group::C4 => 3,
    };
    let row = CLEARANCE.iter().find(|(top, _)| bore <= *top);
    let (least, most) = row
        .and_then(|(_, row)| row.get(column))
        .copied()
        .unwrap_or_default();
    Ok((least / 1000.0, most / 1000.0))
}

/// What is left of a clearance when the rings are fitted and warm, least and greatest, mm; negative is preload.
/// The losses are those of the loosest and the tightest pair.
pub fn left(clearance: (f64, f64), lost_loosest: f64, lost_tightest: f64) -> (f64, f64) {
    (clearance.0 - lost_tightest, clearance.1 - lost_loosest)
}

/// Mean bore and outside diameter, µm below nominal, Normal class: up to and including, mm (ISO 492:2014).
const BORES: [(f64, f64); 7] = [
    (2.5, 8.0),
    (10.0, 8.0),
    (18.0, 8.0),
    (30.0, 10.0),
    (50.0, 12.0),
    (80.0, 15.0),
    (120.0, 20.0),
];
const OUTSIDES: [(f64, f64); 7] = [
    (2.5, 8.0),
    (6.0, 8.0),
    (18.0, 8.0),
    (30.0, 9.0),
    (50.0, 11.0),
    (80.0, 13.0),
    (120.0, 15.0),
];

/// Where the tolerance of the bore comes from.
pub const BORE_SOURCE: Source =
    Source::seen("ISO 492:2014 Normal class, in a maker's handbook, up to 50 mm");
/// Where the tolerance of the outside diameter comes from.
pub const OUTSIDE_SOURCE: Source = Source::memory("ISO 492:2014 Normal class");

fn ring(what: &'static str, table: &[(f64, f64)], size: f64) -> Result<Limits, ElementError> {
    within(what, "mm", size, 0.6, 120.0)?;
    let below = table.iter().find(|(top, _)| size <= *top);
    Ok(Limits {
        nominal: size,
        upper: 0.0,
        lower: -below.map_or(0.0, |(_, t)| *t) / 1000.0,
    })
}

/// Limits of the bore: the hole of the fit on the shaft.
///
/// # Errors
/// A bore outside 0.6 to 120 mm.
pub fn bore_limits(bore: f64) -> Result<Limits, ElementError> {
    ring("bore of the bearing", &BORES, bore)
}

/// Limits of the outside diameter: the shaft of the fit in the housing.
///
/// # Errors
/// A diameter outside 0.6 to 120 mm.
pub fn outside_limits(outside: f64) -> Result<Limits, ElementError> {
    ring("outside diameter of the bearing", &OUTSIDES, outside)
}

/// How the load goes round the rings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turning {
    /// The load stands still and the shaft turns, or turns with the housing: it goes round the inner ring.
    InnerRing,
    /// The load stands still and the housing turns, or turns with the shaft: it goes round the outer ring.
    OuterRing,
    /// Both, or not known: swinging levers, cranks, shock.
    Unknown,
}

/// Classes to make shaft and housing to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seats {
    /// Tolerance class of the shaft.
    pub shaft: &'static str,
    /// Tolerance class of the housing bore.
    pub housing: &'static str,
    /// Why.
    pub why: &'static str,
}

/// Where the advice comes from.
pub const SEATS_SOURCE: Source =
    Source::memory("bearing makers' handbooks, seats of radial ball bearings, solid steel shafts");

/// Seats for a ball bearing by the direction of its load. A ring round which the load goes must be tight, or it
/// creeps and wears its seat; the other may slide. `share` is the equivalent load over the dynamic rating: light up
/// to 0.06, heavy over 0.12.
///
/// # Errors
/// A bore outside 0.6 to 100 mm or a share outside 0 to 1.
pub fn seats(bore: f64, turning: Turning, share: f64) -> Result<Seats, ElementError> {
    within("bore of the bearing", "mm", bore, 0.6, 100.0)?;
    within("load over dynamic rating", "", share, 0.0, 1.0)?;
    let (light, heavy) = (share <= 0.06, share > 0.12);
    let small = bore <= 18.0;
    let tight_shaft = match (small, light, heavy) {
        (true, true, _) => "js5",
        (true, false, false) => "j5",
        (true, false, true) | (false, false, false) => "k5",
        (false, true, _) => "j6",
        (false, false, true) => "m6",
    };
    Ok(match turning {
        Turning::InnerRing => Seats {
            shaft: tight_shaft,
            housing: "H7",
            why: "the load goes round the inner ring: tight on the shaft, sliding in the housing",
        },
        Turning::OuterRing => Seats {
            shaft: "g6",
            housing: if light {
                "M7"
            } else if heavy {
                "P7"
            } else {
                "N7"
            },
            why: "the load goes round the outer ring: tight in the housing, sliding on the shaft",
        },
        Turning::Unknown => Seats {
            shaft: tight_shaft,
            housing: if light {
                "J7"
            } else if heavy {
                "M7"
            } else {
                "K7"
            },
            why: "the load may go round either ring: tight on the shaft, close in the housing",
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fits_iso::{Class, limits};
    use crate::{Fit, FitKind};

    #[test]
    fn groups_rise() {
        for (_, row) in &CLEARANCE {
            assert!(row.windows(2).all(|w| w[0].0 < w[1].0 && w[0].1 < w[1].1));
            assert!(row.iter().all(|(least, most)| least < most));
        }
        assert_eq!(clearance(10.0, Group::Normal).unwrap(), (0.002, 0.013));
        assert_eq!(clearance(10.1, Group::C3).unwrap(), (0.011, 0.025));
        assert!(clearance(60.0, Group::C3).is_err() && clearance(f64::NAN, Group::C3).is_err());
    }

    #[test]
    fn left_is_ordered() {
        let (least, most) = left((0.005, 0.020), 0.001, 0.009);
        assert!((least + 0.004).abs() < 1e-12 && (most - 0.019).abs() < 1e-12);
    }

    #[test]
    fn seats_do_what_they_say() {
        for bore in [4.0, 8.0, 12.0, 20.0, 35.0] {
            for share in [0.02, 0.1, 0.2] {
                let of = |turning| seats(bore, turning, share).unwrap();
                let ring = bore_limits(bore).unwrap();
                let on = |class: &str| Fit {
                    hole: ring,
                    shaft: limits(Class::parse(class).unwrap(), bore).unwrap(),
                };
                let tight = on(of(Turning::InnerRing).shaft);
                let loose = on(of(Turning::OuterRing).shaft);
                assert!(tight.likely_clearance() < 0.0, "{bore} {share}");
                assert!(loose.likely_clearance() > 0.0, "{bore}");
                let outside = 2.5 * bore;
                let in_housing = |class: &str| Fit {
                    hole: limits(Class::parse(class).unwrap(), outside).unwrap(),
                    shaft: outside_limits(outside).unwrap(),
                };
                assert_eq!(in_housing("H7").kind(), FitKind::Clearance);
                assert!(in_housing(of(Turning::OuterRing).housing).likely_clearance() < 0.0);
            }
        }
        assert!(seats(8.0, Turning::Unknown, 1.5).is_err());
    }
}
