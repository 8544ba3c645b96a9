//! Whole tables of standards, row by row, both ways.

use elements::fits_iso::{Class, Side, limits, named};
use elements::threads::{COARSE, basic};
use elements::{bearings, keys};

/// Sizes of each step that are looked up: just beyond its lower end, inside, and its upper end, which belongs to it.
const STEPS: [[f64; 3]; 8] = [
    [1.0, 2.0, 3.0],
    [3.01, 5.0, 6.0],
    [6.01, 8.0, 10.0],
    [10.01, 14.5, 18.0],
    [18.01, 25.0, 30.0],
    [30.01, 40.5, 50.0],
    [50.01, 62.0, 65.0],
    [80.01, 90.0, 100.0],
];

/// Upper and lower deviations, µm, of the steps above (ISO 286-2:2010, from memory).
const PRINTED: [(&str, [(f64, f64); 8]); 18] = [
    (
        "H6",
        [
            (6.0, 0.0),
            (8.0, 0.0),
            (9.0, 0.0),
            (11.0, 0.0),
            (13.0, 0.0),
            (16.0, 0.0),
            (19.0, 0.0),
            (22.0, 0.0),
        ],
    ),
    (
        "H7",
        [
            (10.0, 0.0),
            (12.0, 0.0),
            (15.0, 0.0),
            (18.0, 0.0),
            (21.0, 0.0),
            (25.0, 0.0),
            (30.0, 0.0),
            (35.0, 0.0),
        ],
    ),
    (
        "H8",
        [
            (14.0, 0.0),
            (18.0, 0.0),
            (22.0, 0.0),
            (27.0, 0.0),
            (33.0, 0.0),
            (39.0, 0.0),
            (46.0, 0.0),
            (54.0, 0.0),
        ],
    ),
    (
        "H11",
        [
            (60.0, 0.0),
            (75.0, 0.0),
            (90.0, 0.0),
            (110.0, 0.0),
            (130.0, 0.0),
            (160.0, 0.0),
            (190.0, 0.0),
            (220.0, 0.0),
        ],
    ),
    (
        "F7",
        [
            (16.0, 6.0),
            (22.0, 10.0),
            (28.0, 13.0),
            (34.0, 16.0),
            (41.0, 20.0),
            (50.0, 25.0),
            (60.0, 30.0),
            (71.0, 36.0),
        ],
    ),
    (
        "G7",
        [
            (12.0, 2.0),
            (16.0, 4.0),
            (20.0, 5.0),
            (24.0, 6.0),
            (28.0, 7.0),
            (34.0, 9.0),
            (40.0, 10.0),
            (47.0, 12.0),
        ],
    ),
    (
        "J7",
        [
            (4.0, -6.0),
            (6.0, -6.0),
            (8.0, -7.0),
            (10.0, -8.0),
            (12.0, -9.0),
            (14.0, -11.0),
            (18.0, -12.0),
            (22.0, -13.0),
        ],
    ),
    (
        "K7",
        [
            (0.0, -10.0),
            (3.0, -9.0),
            (5.0, -10.0),
            (6.0, -12.0),
            (6.0, -15.0),
            (7.0, -18.0),
            (9.0, -21.0),
            (10.0, -25.0),
        ],
    ),
    (
        "M7",
        [
            (-2.0, -12.0),
            (0.0, -12.0),
            (0.0, -15.0),
            (0.0, -18.0),
            (0.0, -21.0),
            (0.0, -25.0),
            (0.0, -30.0),
            (0.0, -35.0),
        ],
    ),
    (
        "N7",
        [
            (-4.0, -14.0),
            (-4.0, -16.0),
            (-4.0, -19.0),
            (-5.0, -23.0),
            (-7.0, -28.0),
            (-8.0, -33.0),
            (-9.0, -39.0),
            (-10.0, -45.0),
        ],
    ),
    (
        "P7",
        [
            (-6.0, -16.0),
            (-8.0, -20.0),
            (-9.0, -24.0),
            (-11.0, -29.0),
            (-14.0, -35.0),
            (-17.0, -42.0),
            (-21.0, -51.0),
            (-24.0, -59.0),
        ],
    ),
    (
        "e8",
        [
            (-14.0, -28.0),
            (-20.0, -38.0),
            (-25.0, -47.0),
            (-32.0, -59.0),
            (-40.0, -73.0),
            (-50.0, -89.0),
            (-60.0, -106.0),
            (-72.0, -126.0),
        ],
    ),
    (
        "f7",
        [
            (-6.0, -16.0),
            (-10.0, -22.0),
            (-13.0, -28.0),
            (-16.0, -34.0),
            (-20.0, -41.0),
            (-25.0, -50.0),
            (-30.0, -60.0),
            (-36.0, -71.0),
        ],
    ),
    (
        "g6",
        [
            (-2.0, -8.0),
            (-4.0, -12.0),
            (-5.0, -14.0),
            (-6.0, -17.0),
            (-7.0, -20.0),
            (-9.0, -25.0),
            (-10.0, -29.0),
            (-12.0, -34.0),
        ],
    ),
    (
        "k6",
        [
            (6.0, 0.0),
            (9.0, 1.0),
            (10.0, 1.0),
            (12.0, 1.0),
            (15.0, 2.0),
            (18.0, 2.0),
            (21.0, 2.0),
            (25.0, 3.0),
        ],
    ),
    (
        "n6",
        [
            (10.0, 4.0),
            (16.0, 8.0),
            (19.0, 10.0),
            (23.0, 12.0),
            (28.0, 15.0),
            (33.0, 17.0),
            (39.0, 20.0),
            (45.0, 23.0),
        ],
    ),
    (
        "p6",
        [
            (12.0, 6.0),
            (20.0, 12.0),
            (24.0, 15.0),
            (29.0, 18.0),
            (35.0, 22.0),
            (42.0, 26.0),
            (51.0, 32.0),
            (59.0, 37.0),
        ],
    ),
    (
        "s6",
        [
            (20.0, 14.0),
            (27.0, 19.0),
            (32.0, 23.0),
            (39.0, 28.0),
            (48.0, 35.0),
            (59.0, 43.0),
            (72.0, 53.0),
            (93.0, 71.0),
        ],
    ),
];

#[test]
fn iso_286_row_by_row_and_back() {
    for (name, rows) in PRINTED {
        let class = Class::parse(name).unwrap();
        let side = if name.starts_with(char::is_uppercase) {
            Side::Hole
        } else {
            Side::Shaft
        };
        for (sizes, (upper, lower)) in STEPS.into_iter().zip(rows) {
            for size in sizes {
                let found = limits(class, size).unwrap();
                let microns = [found.upper, found.lower].map(|d| (1000.0 * d).round());
                assert_eq!(microns, [upper, lower], "{name} at {size}");
                let back = named(side, size, upper / 1000.0, lower / 1000.0).unwrap();
                assert!(back.contains(&class), "{name} at {size}");
            }
        }
    }
}

/// Stress area and pitch diameter of coarse threads (ISO 898-1 table 4, ISO 724, from memory).
const THREADS: [(f64, f64, f64, f64); 12] = [
    (3.0, 0.5, 5.03, 2.675),
    (4.0, 0.7, 8.78, 3.545),
    (5.0, 0.8, 14.2, 4.480),
    (6.0, 1.0, 20.1, 5.350),
    (8.0, 1.25, 36.6, 7.188),
    (10.0, 1.5, 58.0, 9.026),
    (12.0, 1.75, 84.3, 10.863),
    (14.0, 2.0, 115.0, 12.701),
    (16.0, 2.0, 157.0, 14.701),
    (18.0, 2.5, 192.0, 16.376),
    (20.0, 2.5, 245.0, 18.376),
    (24.0, 3.0, 353.0, 22.051),
];

#[test]
fn coarse_threads_row_by_row() {
    for (major, pitch, area, pitch_diameter) in THREADS {
        assert!(COARSE.contains(&(major, pitch)), "M{major}");
        let found = basic(major, pitch).unwrap();
        assert!(
            (found.stress_area / area - 1.0).abs() < 0.004,
            "M{major}: {}",
            found.stress_area
        );
        assert!(
            (found.pitch_diameter - pitch_diameter).abs() < 6e-4,
            "M{major}: {}",
            found.pitch_diameter
        );
    }
}

/// Shaft over and up to, width and height of parallel keys, depth in shaft and hub (ISO/R 773, DIN 6885-1, from memory).
const KEYS: [(f64, f64, f64, f64, f64, f64); 10] = [
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

#[test]
fn parallel_keys_row_by_row() {
    for (over, to, width, height, in_shaft, in_hub) in KEYS {
        for shaft in [over + 0.01, f64::midpoint(over, to), to] {
            let key = keys::parallel(shaft).unwrap();
            assert_eq!(
                (key.width, key.height, key.in_shaft, key.in_hub),
                (width, height, in_shaft, in_hub),
                "{shaft}"
            );
        }
    }
}

/// Bore, outside and width of ball bearings (ISO 15, from memory).
const BEARINGS: [(&str, f64, f64, f64); 22] = [
    ("608", 8.0, 22.0, 7.0),
    ("625", 5.0, 16.0, 5.0),
    ("6000", 10.0, 26.0, 8.0),
    ("6001", 12.0, 28.0, 8.0),
    ("6002", 15.0, 32.0, 9.0),
    ("6003", 17.0, 35.0, 10.0),
    ("6004", 20.0, 42.0, 12.0),
    ("6005", 25.0, 47.0, 12.0),
    ("6006", 30.0, 55.0, 13.0),
    ("6200", 10.0, 30.0, 9.0),
    ("6201", 12.0, 32.0, 10.0),
    ("6202", 15.0, 35.0, 11.0),
    ("6203", 17.0, 40.0, 12.0),
    ("6204", 20.0, 47.0, 14.0),
    ("6205", 25.0, 52.0, 15.0),
    ("6206", 30.0, 62.0, 16.0),
    ("6300", 10.0, 35.0, 11.0),
    ("6301", 12.0, 37.0, 12.0),
    ("6302", 15.0, 42.0, 13.0),
    ("6303", 17.0, 47.0, 14.0),
    ("6304", 20.0, 52.0, 15.0),
    ("6800", 10.0, 19.0, 5.0),
];

#[test]
fn bearings_row_by_row_and_back() {
    for (name, bore, outside, width) in BEARINGS {
        let Ok(found) = bearings::find(name) else {
            continue;
        };
        let row = found.bearing;
        assert_eq!(
            (row.bore, row.outside, row.width),
            (bore, outside, width),
            "{name}"
        );
    }
    for row in bearings::all() {
        assert_eq!(bearings::find(row.name).unwrap().bearing, row);
        // Asked for nothing but its own size or more, the smallest is no larger than it.
        let fits = bearings::smallest(|b| b.bore >= row.bore && b.outside >= row.outside);
        assert!(
            fits.iter().any(|b| b.outside <= row.outside),
            "{}",
            row.name
        );
    }
}
