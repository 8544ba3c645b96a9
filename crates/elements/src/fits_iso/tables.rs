//! Tables of ISO 286-1:2010, µm: standard tolerance grades and fundamental deviations, up to 120 mm.
//!
//! Written down from memory; the grades IT5 to IT11 and the common classes were compared with printed tables, and the
//! grades with the formula of the standard, as the tests do again.

/// Steps of nominal size for the grades, mm: over the one before, up to and including this one.
pub(super) const GRADE_STEPS: [f64; 8] = [3.0, 6.0, 10.0, 18.0, 30.0, 50.0, 80.0, 120.0];

/// IT01, IT0, IT1 … IT16 for each step, µm (ISO 286-1:2010 table 1).
pub(super) const GRADES: [[f64; 18]; 8] = [
    [
        0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 4.0, 6.0, 10.0, 14.0, 25.0, 40.0, 60.0, 100.0, 140.0, 250.0,
        400.0, 600.0,
    ],
    [
        0.4, 0.6, 1.0, 1.5, 2.5, 4.0, 5.0, 8.0, 12.0, 18.0, 30.0, 48.0, 75.0, 120.0, 180.0, 300.0,
        480.0, 750.0,
    ],
    [
        0.4, 0.6, 1.0, 1.5, 2.5, 4.0, 6.0, 9.0, 15.0, 22.0, 36.0, 58.0, 90.0, 150.0, 220.0, 360.0,
        580.0, 900.0,
    ],
    [
        0.5, 0.8, 1.2, 2.0, 3.0, 5.0, 8.0, 11.0, 18.0, 27.0, 43.0, 70.0, 110.0, 180.0, 270.0,
        430.0, 700.0, 1100.0,
    ],
    [
        0.6, 1.0, 1.5, 2.5, 4.0, 6.0, 9.0, 13.0, 21.0, 33.0, 52.0, 84.0, 130.0, 210.0, 330.0,
        520.0, 840.0, 1300.0,
    ],
    [
        0.6, 1.0, 1.5, 2.5, 4.0, 7.0, 11.0, 16.0, 25.0, 39.0, 62.0, 100.0, 160.0, 250.0, 390.0,
        620.0, 1000.0, 1600.0,
    ],
    [
        0.8, 1.2, 2.0, 3.0, 5.0, 8.0, 13.0, 19.0, 30.0, 46.0, 74.0, 120.0, 190.0, 300.0, 460.0,
        740.0, 1200.0, 1900.0,
    ],
    [
        1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 15.0, 22.0, 35.0, 54.0, 87.0, 140.0, 220.0, 350.0, 540.0,
        870.0, 1400.0, 2200.0,
    ],
];

/// Steps of nominal size for the deviations, mm.
pub(super) const STEPS: [f64; 13] = [
    3.0, 6.0, 10.0, 14.0, 18.0, 24.0, 30.0, 40.0, 50.0, 65.0, 80.0, 100.0, 120.0,
];

/// A row by [`STEPS`]; [`NO`] where the standard has none.
pub(super) type Row = [i16; 13];

/// No such class at this size.
pub(super) const NO: i16 = i16::MIN;

/// How far below the nominal size the upper limit of these shafts lies, µm (table 4). The holes are the mirror image.
pub(super) const BELOW: [(&str, Row); 11] = [
    (
        "a",
        [
            270, 270, 280, 290, 290, 300, 300, 310, 320, 340, 360, 380, 410,
        ],
    ),
    (
        "b",
        [
            140, 140, 150, 150, 150, 160, 160, 170, 180, 190, 200, 220, 240,
        ],
    ),
    (
        "c",
        [60, 70, 80, 95, 95, 110, 110, 120, 130, 140, 150, 170, 180],
    ),
    ("cd", [34, 46, 56, NO, NO, NO, NO, NO, NO, NO, NO, NO, NO]),
    (
        "d",
        [20, 30, 40, 50, 50, 65, 65, 80, 80, 100, 100, 120, 120],
    ),
    ("e", [14, 20, 25, 32, 32, 40, 40, 50, 50, 60, 60, 72, 72]),
    ("ef", [10, 14, 18, NO, NO, NO, NO, NO, NO, NO, NO, NO, NO]),
    ("f", [6, 10, 13, 16, 16, 20, 20, 25, 25, 30, 30, 36, 36]),
    ("fg", [4, 6, 8, NO, NO, NO, NO, NO, NO, NO, NO, NO, NO]),
    ("g", [2, 4, 5, 6, 6, 7, 7, 9, 9, 10, 10, 12, 12]),
    ("h", [0; 13]),
];

/// How far above the nominal size the lower limit of these shafts lies, µm (table 5).
pub(super) const ABOVE: [(&str, Row); 14] = [
    ("m", [2, 4, 6, 7, 7, 8, 8, 9, 9, 11, 11, 13, 13]),
    ("n", [4, 8, 10, 12, 12, 15, 15, 17, 17, 20, 20, 23, 23]),
    ("p", [6, 12, 15, 18, 18, 22, 22, 26, 26, 32, 32, 37, 37]),
    ("r", [10, 15, 19, 23, 23, 28, 28, 34, 34, 41, 43, 51, 54]),
    ("s", [14, 19, 23, 28, 28, 35, 35, 43, 43, 53, 59, 71, 79]),
    ("t", [NO, NO, NO, NO, NO, NO, 41, 48, 54, 66, 75, 91, 104]),
    ("u", [18, 23, 28, 33, 33, 41, 48, 60, 70, 87, 102, 124, 144]),
    (
        "v",
        [NO, NO, NO, NO, 39, 47, 55, 68, 81, 102, 120, 146, 172],
    ),
    (
        "x",
        [20, 28, 34, 40, 45, 54, 64, 80, 97, 122, 146, 178, 210],
    ),
    (
        "y",
        [NO, NO, NO, NO, NO, 63, 75, 94, 114, 144, 174, 214, 254],
    ),
    (
        "z",
        [26, 35, 42, 50, 60, 73, 88, 112, 136, 172, 210, 258, 310],
    ),
    (
        "za",
        [32, 42, 52, 64, 77, 98, 118, 148, 180, 226, 274, 335, 400],
    ),
    (
        "zb",
        [40, 50, 67, 90, 108, 136, 160, 200, 242, 300, 360, 445, 525],
    ),
    (
        "zc",
        [60, 80, 97, 130, 150, 188, 218, 274, 325, 405, 480, 585, 690],
    ),
];

/// Lower limit of shaft k in grades 4 to 7, µm above nominal; in the other grades it is the nominal size.
pub(super) const K: Row = [0, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2, 3, 3];

/// How far below nominal the lower limit of shafts j5 and j6, j7 and j8 lies, µm.
pub(super) const SHAFT_J: [(&[i8], Row); 3] = [
    (&[5, 6], [2, 2, 2, 3, 3, 4, 4, 5, 5, 7, 7, 9, 9]),
    (&[7], [4, 4, 5, 6, 6, 8, 8, 10, 10, 12, 12, 15, 15]),
    (&[8], [6, NO, NO, NO, NO, NO, NO, NO, NO, NO, NO, NO, NO]),
];

/// How far above nominal the upper limit of holes J6, J7 and J8 lies, µm (tables 2 and 3).
pub(super) const HOLE_J: [(i8, Row); 3] = [
    (6, [2, 5, 5, 6, 6, 8, 8, 10, 10, 13, 13, 16, 16]),
    (7, [4, 6, 8, 10, 10, 12, 12, 14, 14, 18, 18, 22, 22]),
    (8, [6, 10, 12, 15, 15, 20, 20, 24, 24, 28, 28, 34, 34]),
];
