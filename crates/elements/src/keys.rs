//! Parallel keys (ISO 773, ASME B17.1), Woodruff keys (ASME B17.2), and the stress of a key.

use crate::error::{not_listed, not_negative, positive, within};
use crate::{Check, ElementError, Source};

/// A parallel key and its seats, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parallel {
    /// Width b.
    pub width: f64,
    /// Height h.
    pub height: f64,
    /// Depth in the shaft t1, from the shaft's side.
    pub in_shaft: f64,
    /// Depth in the hub t2, from the bore.
    pub in_hub: f64,
    /// Where it comes from.
    pub source: Source,
}

const ISO: Source = Source::seen("ISO 773 / DIN 6885-1 parallel keys");
const ISO_MEMORY: Source = Source::memory("ISO 773 / DIN 6885-1 parallel keys");

/// Shaft over and up to, b, h, t1, t2, mm.
const METRIC: [(f64, f64, f64, f64, f64, f64); 10] = [
    (6.0, 8.0, 2.0, 2.0, 1.2, 1.0),
    (8.0, 10.0, 3.0, 3.0, 1.8, 1.4),
    (10.0, 12.0, 4.0, 4.0, 2.5, 1.8),
    (12.0, 17.0, 5.0, 5.0, 3.0, 2.3),
    (17.0, 22.0, 6.0, 6.0, 3.5, 2.8),
    (22.0, 30.0, 8.0, 7.0, 4.0, 3.3),
    (30.0, 38.0, 10.0, 8.0, 5.0, 3.3),
    (38.0, 44.0, 12.0, 8.0, 5.0, 3.3),
    (44.0, 50.0, 14.0, 9.0, 5.5, 3.8),
    (50.0, 58.0, 16.0, 10.0, 6.0, 4.3),
];

/// The parallel key for a shaft, mm.
///
/// # Errors
/// A shaft outside 6 to 58 mm.
///
/// ```
/// let key = elements::keys::parallel(20.0).unwrap();
/// assert_eq!((key.width, key.height, key.in_shaft, key.in_hub), (6.0, 6.0, 3.5, 2.8));
/// ```
pub fn parallel(shaft: f64) -> Result<Parallel, ElementError> {
    within("shaft", "mm", shaft, 6.0, 58.0)?;
    // The table begins over 6 mm; a 6 mm shaft takes its first row, as DIN 6885 tables have it.
    let row = METRIC.iter().find(|row| shaft <= row.1);
    let (_, _, width, height, in_shaft, in_hub) = row.copied().unwrap_or_default();
    Ok(Parallel {
        width,
        height,
        in_shaft,
        in_hub,
        source: if shaft <= 50.0 { ISO } else { ISO_MEMORY },
    })
}

/// Shaft over and up to, key size, sixteenths and thirty-seconds of an inch (ASME B17.1 square keys).
const INCH: [(f64, f64, f64); 9] = [
    (0.3125, 0.4375, 3.0 / 32.0),
    (0.4375, 0.5625, 1.0 / 8.0),
    (0.5625, 0.875, 3.0 / 16.0),
    (0.875, 1.25, 1.0 / 4.0),
    (1.25, 1.375, 5.0 / 16.0),
    (1.375, 1.75, 3.0 / 8.0),
    (1.75, 2.25, 1.0 / 2.0),
    (2.25, 2.75, 5.0 / 8.0),
    (2.75, 3.25, 3.0 / 4.0),
];

/// The square inch key for a shaft, all in mm; half of it goes into the shaft.
///
/// # Errors
/// A shaft outside 5/16 to 3 1/4 in.
pub fn square_inch(shaft: f64) -> Result<Parallel, ElementError> {
    const IN: f64 = 25.4;
    const B17_1: &str = "ASME B17.1 square keys; keyseat about half the key";
    within("shaft", "mm", shaft, 0.3125 * IN, 3.25 * IN)?;
    let inches = shaft / IN - 1e-9;
    let size = INCH
        .iter()
        .find(|(_, to, _)| inches <= *to)
        .map_or(0.0, |(_, _, size)| size * IN);
    Ok(Parallel {
        width: size,
        height: size,
        in_shaft: size / 2.0,
        in_hub: size / 2.0,
        // 9/16 to 7/8 and over 1 3/4 in were not seen in print.
        source: if (0.5625..0.875).contains(&inches) || inches > 1.75 {
            Source::memory(B17_1)
        } else {
            Source::seen(B17_1)
        },
    })
}

/// A Woodruff key, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Woodruff {
    /// Number: the last two digits are eighths of an inch of diameter, those before thirty-seconds of width.
    pub number: u32,
    /// Width.
    pub width: f64,
    /// Diameter of the cutter.
    pub diameter: f64,
    /// Greatest height of the key.
    pub height: f64,
    /// Least depth of the seat below the side of the shaft.
    pub in_shaft: f64,
    /// How far the key stands out: half its width.
    pub above: f64,
    /// Where it comes from.
    pub source: Source,
}

/// Cutter diameter in eighths of an inch, greatest key height in inches.
const HEIGHTS: [(u32, f64); 10] = [
    (3, 0.172),
    (4, 0.203),
    (5, 0.250),
    (6, 0.313),
    (7, 0.375),
    (8, 0.438),
    (9, 0.484),
    (10, 0.547),
    (11, 0.594),
    (12, 0.641),
];

/// Numbers of the standard from 3/8 in cutters on.
pub const WOODRUFF_NUMBERS: [u32; 36] = [
    203, 303, 403, 204, 304, 404, 305, 405, 505, 605, 406, 506, 606, 806, 507, 607, 707, 807, 608,
    708, 808, 1008, 1208, 609, 709, 809, 1009, 610, 810, 1010, 811, 1011, 1211, 812, 1012, 1212,
];

/// A Woodruff key by its number.
///
/// # Errors
/// [`ElementError::NotListed`] for a number that is not in the standard.
///
/// ```
/// let key = elements::keys::woodruff(606).unwrap();
/// assert!((key.width / 25.4 - 3.0 / 16.0).abs() < 1e-12 && (key.in_shaft / 25.4 - 0.2143).abs() < 1e-4);
/// ```
pub fn woodruff(number: u32) -> Result<Woodruff, ElementError> {
    const IN: f64 = 25.4;
    let missing = || {
        not_listed(
            "Woodruff key",
            number.to_string(),
            WOODRUFF_NUMBERS.iter().map(ToString::to_string),
        )
    };
    if !WOODRUFF_NUMBERS.contains(&number) {
        return Err(missing());
    }
    let (thirty_seconds, eighths) = (number / 100, number % 100);
    let (_, height) = HEIGHTS
        .iter()
        .find(|(e, _)| *e == eighths)
        .ok_or_else(missing)?;
    let width = f64::from(thirty_seconds) / 32.0;
    Ok(Woodruff {
        number,
        width: width * IN,
        diameter: f64::from(eighths) / 8.0 * IN,
        height: height * IN,
        // The standard's seat leaves half the width standing out and 0.005 in below the key.
        in_shaft: (height - width / 2.0 - 0.005) * IN,
        above: width / 2.0 * IN,
        source: Source::memory(
            "ANSI/ASME B17.2-1967 (R2013): heights seen in print, seat depth by the rule of its table",
        ),
    })
}

/// Shaft up to, inches, and a Woodruff key of middling length for it.
const GUIDE: [(f64, u32); 9] = [
    (0.375, 204),
    (0.5, 304),
    (0.75, 405),
    (0.9375, 506),
    (1.1875, 607),
    (1.4375, 808),
    (1.75, 810),
    (2.125, 1011),
    (2.5, 1212),
];

/// The Woodruff key that is usual in a shaft of `shaft` mm (guide of Machinery's Handbook, from memory); none beyond 2 1/2 in.
pub fn woodruff_for(shaft: f64) -> Option<Woodruff> {
    let inches = shaft / 25.4 - 1e-9;
    let row = GUIDE.iter().find(|(to, _)| inches <= *to)?;
    woodruff(row.1).ok()
}

/// Whether the seat of a Woodruff key leaves enough of a shaft, both in mm: seats of ISO 3912 and ASME B17.2 go down to four tenths of
/// the shaft, in shafts under 16 mm to little more than half.
pub fn seat_too_deep(shaft: f64, deep: f64) -> bool {
    deep > shaft * if shaft < 16.0 { 0.55 } else { 0.4 }
}

/// Where [`cross_pin`] comes from.
pub const CROSS_PIN: Source = Source::memory(
    "pressure of a cross pin: 6 T/(d D²) in the shaft, 4 T/(d (Dh² − D²)) in the hub (Decker; Roloff and Matek, Maschinenelemente)",
);

/// Pressure of a pin `pin` across a shaft and its hub, MPa: in the shaft, where it rises from the middle to the side, and in the hub.
///
/// # Errors
/// Sizes that are not positive, a hub no wider than its shaft, a negative torque.
///
/// ```
/// // 20 N·m through a pin of 5 mm in 20 mm, hub 36 mm.
/// let [shaft, hub] = elements::keys::cross_pin(20e3, 5.0, 20.0, 36.0).unwrap();
/// assert!((shaft - 60.0).abs() < 1e-9 && (hub - 17.857).abs() < 1e-3);
/// ```
pub fn cross_pin(torque: f64, pin: f64, shaft: f64, hub: f64) -> Result<[f64; 2], ElementError> {
    not_negative("torque", "N·mm", torque)?;
    positive("pin", "mm", pin)?;
    positive("shaft", "mm", shaft)?;
    crate::error::more_than("hub", "mm", hub, "shaft", shaft)?;
    Ok([
        6.0 * torque / (pin * shaft * shaft),
        4.0 * torque / (pin * (hub * hub - shaft * shaft)),
    ])
}

/// Metric Woodruff keys: shaft over and up to, width, height, cutter, depth in the shaft, in the hub, mm (ISO 3912 and DIN 6888, series 1).
const DISCS: [[f64; 7]; 15] = [
    [4.0, 5.0, 1.5, 2.6, 7.0, 2.0, 0.8],
    [5.0, 6.0, 2.0, 2.6, 7.0, 1.8, 1.0],
    [6.0, 7.0, 2.0, 3.7, 10.0, 2.9, 1.0],
    [7.0, 8.0, 2.5, 3.7, 10.0, 2.7, 1.2],
    [8.0, 10.0, 3.0, 5.0, 13.0, 3.8, 1.4],
    [10.0, 12.0, 3.0, 6.5, 16.0, 5.3, 1.4],
    [12.0, 14.0, 4.0, 6.5, 16.0, 5.0, 1.8],
    [14.0, 16.0, 4.0, 7.5, 19.0, 6.0, 1.8],
    [16.0, 18.0, 5.0, 6.5, 16.0, 4.5, 2.3],
    [18.0, 20.0, 5.0, 7.5, 19.0, 5.5, 2.3],
    [20.0, 22.0, 5.0, 9.0, 22.0, 7.0, 2.3],
    [22.0, 25.0, 6.0, 9.0, 22.0, 6.5, 2.8],
    [25.0, 28.0, 6.0, 10.0, 25.0, 7.5, 2.8],
    [28.0, 32.0, 8.0, 11.0, 28.0, 8.0, 3.3],
    [32.0, 38.0, 10.0, 13.0, 32.0, 10.0, 3.3],
];

/// How many metric Woodruff keys there are.
pub const WOODRUFF_METRIC: usize = DISCS.len();

/// The row of a metric Woodruff key by its width, height and cutter: `5x6.5x16`.
///
/// ```
/// let row = elements::keys::woodruff_metric("5x6.5x16").unwrap();
/// assert_eq!(elements::keys::woodruff_disc(row).unwrap().in_shaft, 4.5);
/// ```
pub fn woodruff_metric(name: &str) -> Option<usize> {
    let sizes: Vec<f64> = name
        .split(['x', 'X', '×'])
        .filter_map(|n| n.trim().parse().ok())
        .collect();
    DISCS.iter().position(|row| sizes[..] == row[2..5])
}

/// A metric Woodruff key by its row; the number counts no eighths, it is 0.
pub fn woodruff_disc(row: usize) -> Option<Woodruff> {
    let [_, _, width, height, diameter, in_shaft, in_hub] = *DISCS.get(row)?;
    Some(Woodruff {
        number: 0,
        width,
        diameter,
        height,
        in_shaft,
        above: in_hub,
        source: Source::memory("ISO 3912 / DIN 6888, metric Woodruff keys, series 1"),
    })
}

/// The name of a metric Woodruff key: `5x6.5x16`.
pub fn woodruff_disc_name(row: usize) -> String {
    DISCS
        .get(row)
        .map_or_else(String::new, |r| format!("{}x{}x{}", r[2], r[3], r[4]))
}

/// The metric Woodruff key for a shaft, mm.
pub fn woodruff_disc_for(shaft: f64) -> Option<usize> {
    DISCS.iter().position(|r| shaft > r[0] && shaft <= r[1])
}

/// Stress of a key that carries a torque, MPa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stress {
    /// Force at the shaft's surface, N: 2 T/d.
    pub force: f64,
    /// Shear: F/(b L).
    pub shear: f64,
    /// Pressure on half the height: F/(h L/2). With `bearing_depth` on the depth given instead.
    pub pressure: f64,
}

/// Shear and pressure of a key. `bearing_depth` is the depth that bears in the hub, half the height of a parallel key.
///
/// # Errors
/// Sizes that are not positive, a negative torque.
pub fn stress(
    torque: f64,
    shaft: f64,
    width: f64,
    bearing_depth: f64,
    length: f64,
) -> Result<Stress, ElementError> {
    not_negative("torque", "N·mm", torque)?;
    positive("shaft", "mm", shaft)?;
    positive("width of the key", "mm", width)?;
    positive("bearing depth of the key", "mm", bearing_depth)?;
    positive("length of the key", "mm", length)?;
    let force = 2.0 * torque / shaft;
    Ok(Stress {
        force,
        shear: force / (width * length),
        pressure: force / (bearing_depth * length),
    })
}

/// Against the yield strength of the key and of the weakest of key, shaft and hub, MPa.
///
/// # Errors
/// Strengths that are not positive.
pub fn checks(stress: &Stress, key_yield: f64, weakest: f64) -> Result<[Check; 2], ElementError> {
    const SOURCE: Source = Source::derived("F = 2T/d; shear F/(b L), pressure F/(depth L)");
    positive("yield strength of the key", "MPa", key_yield)?;
    positive("yield strength of the weakest part", "MPa", weakest)?;
    let check = |what, acts, bears| Check {
        what,
        acts,
        bears,
        unit: "MPa",
        source: SOURCE,
    };
    Ok([
        check("shear of the key", stress.shear, 0.577 * key_yield),
        check("pressure on the key", stress.pressure, weakest),
    ])
}

/// Shortest parallel key by its width, mm (DIN 6885-1, from memory).
const SHORTEST: [(f64, f64); 12] = [
    (2.0, 6.0),
    (3.0, 6.0),
    (4.0, 8.0),
    (5.0, 10.0),
    (6.0, 14.0),
    (8.0, 18.0),
    (10.0, 22.0),
    (12.0, 28.0),
    (14.0, 36.0),
    (16.0, 45.0),
    (18.0, 50.0),
    (20.0, 56.0),
];

/// Lengths of parallel keys, mm (DIN 6885-1, from memory).
const LENGTHS: [f64; 29] = [
    6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 22.0, 25.0, 28.0, 32.0, 36.0, 40.0, 45.0, 50.0,
    56.0, 63.0, 70.0, 80.0, 90.0, 100.0, 110.0, 125.0, 140.0, 160.0, 180.0, 200.0, 220.0,
];

/// A key carries over so much of its length, over the shaft's diameter; beyond, the shaft twists away under it (common practice, 1.3 to 1.5).
pub const CARRIES: f64 = 1.5;

/// The shortest parallel key of the standard, mm, of this width that is as long as `needed`; none beyond its longest.
///
/// ```
/// use elements::keys::length_for;
/// assert_eq!(length_for(6.0, 5.0), Some(14.0));
/// assert_eq!(length_for(6.0, 20.5), Some(22.0));
/// ```
pub fn length_for(width: f64, needed: f64) -> Option<f64> {
    let row = SHORTEST.iter().find(|(w, _)| width <= w + 1e-6);
    let least = row.or(SHORTEST.last()).map_or(0.0, |r| r.1);
    let needed = needed.max(least);
    LENGTHS.into_iter().find(|l| *l >= needed - 1e-6)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_join_and_fit() {
        assert!(
            METRIC
                .windows(2)
                .all(|w| w[0].1 == w[1].0 && w[0].2 < w[1].2)
        );
        for (_, to, b, h, t1, t2) in METRIC {
            // The seats together hold the key with a little room above it.
            assert!(t1 + t2 > h && t1 + t2 < h + 0.6, "{b}x{h}");
            assert!(t1 < to / 3.0 && b < to / 2.0);
        }
        assert!(INCH.windows(2).all(|w| w[0].1 == w[1].0 && w[0].2 < w[1].2));
        assert!((square_inch(19.05).unwrap().width - 4.7625).abs() < 1e-9);
        assert!((square_inch(0.875 * 25.4).unwrap().width - 4.7625).abs() < 1e-9);
        assert!(parallel(5.0).is_err() && parallel(60.0).is_err() && square_inch(5.0).is_err());
        assert_eq!(parallel(6.0).unwrap().width, 2.0);
        assert_eq!(parallel(8.0).unwrap().width, 2.0);
        assert_eq!(parallel(8.1).unwrap().width, 3.0);
    }

    #[test]
    fn woodruff_seats() {
        // Printed depths in inches (ASME B17.2, from memory).
        for (number, printed) in [
            (204, 0.1668),
            (304, 0.1511),
            (404, 0.1355),
            (505, 0.1669),
            (808, 0.3080),
            (812, 0.5110),
            (1212, 0.4485),
        ] {
            let depth = woodruff(number).unwrap().in_shaft / 25.4;
            assert!((depth - printed).abs() < 1.1e-4, "{number}: {depth}");
        }
        for number in WOODRUFF_NUMBERS {
            let k = woodruff(number).unwrap();
            assert!(
                k.height < k.diameter / 2.0 && k.in_shaft > 0.0 && k.in_shaft + k.above < k.height,
                "{number}"
            );
        }
        assert!(woodruff(999).is_err() && woodruff(0).is_err());
    }

    #[test]
    fn the_guide_stays_within_its_own_depths() {
        for mm in [9.0, 12.0, 16.0, 19.0, 22.0, 30.0, 36.0, 44.0, 54.0, 60.0] {
            let key = woodruff_for(mm).unwrap();
            assert!(!seat_too_deep(mm, key.in_shaft), "{mm}: {}", key.number);
        }
        // 1212 is for shafts from 2 3/16 in on (Machinery's Handbook, from memory).
        assert!(seat_too_deep(20.0, woodruff(1212).unwrap().in_shaft));
        assert!(!seat_too_deep(25.4, woodruff(606).unwrap().in_shaft));
        assert!(woodruff_for(80.0).is_none());
    }

    /// The seats hold the key with a little room above it, and leave the shaft standing (ISO 3912: t1 + t2 is h and 0.1 to 0.3 mm).
    #[test]
    fn metric_discs() {
        for (row, line) in DISCS.iter().enumerate() {
            let key = woodruff_disc(row).unwrap();
            let room = key.in_shaft + key.above - key.height;
            assert!((0.05..=0.35).contains(&room), "{line:?}: {room}");
            assert!(key.height <= key.diameter / 2.0 && !seat_too_deep(line[1], key.in_shaft));
            assert_eq!(woodruff_metric(&woodruff_disc_name(row)), Some(row));
            assert_eq!(woodruff_disc_for(line[1]), Some(row));
        }
        assert!(DISCS.windows(2).all(|w| w[0][1] == w[1][0]));
        assert!(woodruff_metric("606").is_none() && woodruff_disc(99).is_none());
    }

    #[test]
    fn stress_of_a_key() {
        let s = stress(50_000.0, 20.0, 6.0, 3.0, 25.0).unwrap();
        assert!((s.shear - 33.333).abs() < 1e-3 && (s.pressure - 66.667).abs() < 1e-3);
        let [shear, pressure] = checks(&s, 370.0, 250.0).unwrap();
        assert!(shear.passes(2.0) && pressure.passes(3.0));
        assert!(stress(1.0, 20.0, 6.0, 3.0, 0.0).is_err());
    }
}
