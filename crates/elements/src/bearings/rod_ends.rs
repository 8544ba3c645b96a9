//! Rod ends: sizes, static load, and the swivel angle that the motion asks for.

use crate::error::{not_listed, not_negative, sensible};
use crate::{Check, ElementError, Source};

/// A rod end, mm. `ROD_ENDS` are ISO 12240-4 series K (DIN 648), `INCH_ENDS` the commercial inch series.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RodEnd {
    /// Name by its thread: `M8`, `1/4-28`.
    pub name: &'static str,
    /// Made to inches.
    pub inch: bool,
    /// Bore of the ball.
    pub bore: f64,
    /// Major diameter of the shank's thread.
    pub major: f64,
    /// Pitch of the shank.
    pub pitch: f64,
    /// Width of the ball.
    pub ball_width: f64,
    /// Width of the eye.
    pub eye_width: f64,
    /// Outside diameter of the eye.
    pub eye: f64,
    /// Greatest tilt of the pin from square, each way, rad.
    pub tilt: f64,
    /// Static radial rating with a tapped shank, N.
    pub female: f64,
    /// Static radial rating with a threaded stem, N; `None` where the table has none.
    pub male: Option<f64>,
    /// From the middle of the eye to the face of a tapped shank, and how deep its thread goes.
    pub tapped: [f64; 2],
    /// From the middle of the eye to the end of a stem, and how long its thread is.
    pub stem: [f64; 2],
    /// The lowest ratings that a maker prints for the size, with a tapped shank and with a stem, N: a tenth of the others, as moulded and
    /// die-cast bodies have. None where none is known.
    pub light: Option<[f64; 2]>,
}

/// Where the sizes come from, and the loads.
pub const SOURCE: Source = Source::seen(
    "sizes ISO 12240-4 (DIN 648) series K; static loads of a printed table of that standard's rod ends, or of the shank's root at 358 MPa where that is less; half of the ultimate load that a maker prints is 1.1 to 1.8 times as much, the lowest in print a tenth: see yours",
);

const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// Lengths of a size by its bore, series K (ISO 12240-4, DIN 648; from memory): eye to face of the tapped shank, its thread; eye to end of the
/// stem, its thread.
const LENGTHS: [(f64, [f64; 4]); 9] = [
    (5.0, [27.0, 8.0, 33.0, 20.0]),
    (6.0, [30.0, 12.0, 36.0, 22.0]),
    (8.0, [36.0, 16.0, 42.0, 25.0]),
    (10.0, [43.0, 20.0, 48.0, 29.0]),
    (12.0, [50.0, 22.0, 54.0, 33.0]),
    (14.0, [57.0, 25.0, 60.0, 36.0]),
    (16.0, [64.0, 28.0, 66.0, 40.0]),
    (18.0, [71.0, 32.0, 72.0, 44.0]),
    (20.0, [77.0, 33.0, 78.0, 47.0]),
];

/// The same in inches, by the bore (makers' tables, from memory).
const INCH_LENGTHS: [(f64, [f64; 4]); 8] = [
    (0.19, [1.062, 0.562, 1.25, 0.75]),
    (0.25, [1.312, 0.75, 1.562, 1.0]),
    (0.3125, [1.375, 0.75, 1.875, 1.25]),
    (0.375, [1.625, 0.938, 1.938, 1.25]),
    (0.4375, [1.812, 1.062, 2.125, 1.375]),
    (0.5, [2.125, 1.188, 2.438, 1.5]),
    (0.625, [2.5, 1.5, 2.625, 1.625]),
    (0.75, [2.875, 1.75, 2.875, 1.75]),
];

const fn lengths(bore: f64, table: &[(f64, [f64; 4])]) -> [f64; 4] {
    let mut i = 0;
    while i + 1 < table.len() && table[i].0 < bore {
        i += 1;
    }
    table[i].1
}

const fn row(name: &'static str, sizes: [f64; 6], eye_load: f64, light: [f64; 2]) -> RodEnd {
    let [bore, pitch, ball_width, eye_width, eye, tilt] = sizes;
    let [face, tapped, end, stem] = lengths(bore, &LENGTHS);
    let root = bore - 1.226_87 * pitch;
    let shank = std::f64::consts::PI / 4.0 * root * root * SHANK;
    let rating = if shank < eye_load * 1000.0 {
        shank
    } else {
        eye_load * 1000.0
    };
    RodEnd {
        name,
        inch: false,
        bore,
        major: bore,
        pitch,
        ball_width,
        eye_width,
        eye,
        tilt: tilt * DEGREE,
        female: rating,
        male: Some(rating),
        tapped: [face, tapped],
        stem: [end, stem],
        light: Some([1000.0 * light[0], 1000.0 * light[1]]),
    }
}

/// Share of its static rating that a rod end bears when the load goes to and fro (makers' handbooks: 0.33 to 0.45).
pub const TO_AND_FRO: f64 = 0.33;

/// All rod ends, smallest first.
///
/// Static load, kN, of a printed table for the standard's rod ends (a dealer's guide to ISO 12240-4, seen), the lower of two in print. M14 and
/// M18 stand in neither: between their neighbours, which all bear 80 to 88 N for a square millimetre of bore squared.
pub const ROD_ENDS: [RodEnd; 9] = [
    row("M5", [5.0, 0.8, 8.0, 6.0, 18.0, 13.0], 2.2, [0.6, 0.3]),
    row("M6", [6.0, 1.0, 9.0, 6.8, 20.0, 13.0], 3.0, [0.7, 0.4]),
    row("M8", [8.0, 1.25, 12.0, 9.0, 24.0, 14.0], 5.0, [1.2, 0.8]),
    row("M10", [10.0, 1.5, 14.0, 10.5, 28.0, 13.0], 8.0, [1.4, 1.3]),
    row(
        "M12",
        [12.0, 1.75, 16.0, 12.0, 32.0, 13.0],
        12.0,
        [1.9, 1.7],
    ),
    row("M14", [14.0, 2.0, 19.0, 13.5, 36.0, 15.0], 16.0, [3.6, 3.6]),
    row("M16", [16.0, 2.0, 21.0, 15.0, 42.0, 15.0], 21.0, [4.8, 4.8]),
    row("M18", [18.0, 1.5, 23.0, 16.5, 46.0, 15.0], 26.0, [5.1, 5.1]),
    row("M20", [20.0, 1.5, 25.0, 18.0, 50.0, 14.0], 33.0, [5.2, 5.2]),
];

/// Whether the load of a size stands in no table and was put between its neighbours.
pub fn estimated(rod_end: &RodEnd) -> bool {
    !rod_end.inch && matches!(rod_end.name, "M14" | "M18")
}

/// Where the inch sizes come from.
pub const INCH_SOURCE: Source = Source::memory(
    "commercial inch rod ends of carbon steel, two pieces, makers' tables; load from the root of the shank at 52 000 psi, as makers reckon it",
);

/// Stress at which makers rate the shank of a body of low carbon steel, MPa: 52 000 psi.
const SHANK: f64 = 358.5;
const INCH: f64 = 25.4;

/// Bore, shank, threads an inch, width of ball and eye, eye, all in inches; tilt in degrees.
const fn inch_row(name: &'static str, sizes: [f64; 7]) -> RodEnd {
    let [bore, major, threads, ball_width, eye_width, eye, tilt] = sizes;
    let [face, tapped, end, stem] = lengths(bore, &INCH_LENGTHS);
    let root = (major - 1.226_87 / threads) * INCH;
    let rating = std::f64::consts::PI / 4.0 * root * root * SHANK;
    RodEnd {
        name,
        inch: true,
        bore: bore * INCH,
        major: major * INCH,
        pitch: INCH / threads,
        ball_width: ball_width * INCH,
        eye_width: eye_width * INCH,
        eye: eye * INCH,
        tilt: tilt * DEGREE,
        // The shank of a tapped one is thicker: as the other, on the safe side.
        female: rating,
        male: Some(rating),
        tapped: [face * INCH, tapped * INCH],
        stem: [end * INCH, stem * INCH],
        light: None,
    }
}

/// Inch rod ends with fine threads, smallest first.
pub const INCH_ENDS: [RodEnd; 8] = [
    inch_row("10-32", [0.19, 0.19, 32.0, 0.312, 0.25, 0.625, 13.0]),
    inch_row("1/4-28", [0.25, 0.25, 28.0, 0.375, 0.281, 0.75, 16.0]),
    inch_row("5/16-24", [0.3125, 0.3125, 24.0, 0.437, 0.344, 0.875, 14.0]),
    inch_row("3/8-24", [0.375, 0.375, 24.0, 0.5, 0.406, 1.0, 12.0]),
    inch_row("7/16-20", [0.4375, 0.4375, 20.0, 0.562, 0.437, 1.125, 14.0]),
    inch_row("1/2-20", [0.5, 0.5, 20.0, 0.625, 0.5, 1.312, 12.0]),
    inch_row("5/8-18", [0.625, 0.625, 18.0, 0.75, 0.562, 1.5, 16.0]),
    inch_row("3/4-16", [0.75, 0.75, 16.0, 0.875, 0.687, 1.75, 14.0]),
];

impl RodEnd {
    /// Where its row comes from.
    pub fn source(&self) -> Source {
        if self.inch { INCH_SOURCE } else { SOURCE }
    }

    /// From the middle of the eye to where it ends, and the length of its thread, mm.
    pub fn lengths(&self, male: bool) -> [f64; 2] {
        if male { self.stem } else { self.tapped }
    }

    /// How far the middle of the eye stands from the end of the bar at the nearest and the farthest, mm: at the nearest its thread is home, at
    /// the farthest its own diameter of thread is still in (common practice).
    ///
    /// ```
    /// // Series K M10: 43 to the face with 20 of thread, the bar in by 20 at most and 10 at least; 48 to the end of a stem of 29.
    /// let m10 = elements::bearings::rod_ends::find("M10").unwrap();
    /// assert_eq!(m10.from_bar(false), [23.0, 33.0]);
    /// assert_eq!(m10.from_bar(true), [19.0, 38.0]);
    /// ```
    pub fn from_bar(&self, male: bool) -> [f64; 2] {
        let [long, thread] = self.lengths(male);
        [long - thread, long - self.major.min(thread)]
    }

    /// All of its system, smallest first.
    pub fn system(&self) -> &'static [RodEnd] {
        if self.inch { &INCH_ENDS } else { &ROD_ENDS }
    }
}

/// Finds a rod end by name: `M8`, `1/4-28`, `1/4`.
///
/// # Errors
/// [`ElementError::NotListed`] with the sizes of the tables.
pub fn find(name: &str) -> Result<&'static RodEnd, ElementError> {
    let wanted = name.trim().to_ascii_uppercase();
    let all = || ROD_ENDS.iter().chain(&INCH_ENDS);
    let size = |r: &RodEnd| r.inch && r.name.split('-').next() == Some(wanted.as_str());
    all()
        .find(|r| r.name == wanted)
        .or_else(|| all().find(|r| size(r)))
        .ok_or_else(|| not_listed("rod end", name, all().map(|r| r.name)))
}

/// How far the rod stands out of square to the pin, rad: the tilt that the ball must allow. Both are directions in
/// space of any length.
///
/// # Errors
/// A direction of no length.
///
/// ```
/// let pin = [0.0, 0.0, 1.0];
/// let tilt = elements::bearings::rod_ends::tilt(pin, [100.0, 0.0, 10.0]).unwrap();
/// assert!((tilt.tan() - 0.1).abs() < 1e-12);
/// ```
pub fn tilt(pin: [f64; 3], rod: [f64; 3]) -> Result<f64, ElementError> {
    let mut lengths = [0.0; 2];
    for (slot, (what, v)) in lengths
        .iter_mut()
        .zip([("direction of the pin", pin), ("direction of the rod", rod)])
    {
        for x in v {
            sensible(what, "", x)?;
        }
        *slot = v.iter().map(|x| x * x).sum::<f64>().sqrt();
        crate::error::positive(what, "", *slot)?;
    }
    let dot: f64 = pin.iter().zip(&rod).map(|(a, b)| a * b).sum();
    let [p, r] = lengths;
    Ok((dot / (p * r)).clamp(-1.0, 1.0).abs().asin())
}

/// Load and tilt against the rod end: `radial` in the plane of the eye, `axial` along the pin, `tilt` from [`tilt`].
/// Along the pin the ball bears a fifth of its rating.
///
/// # Errors
/// Negative loads; a male rod end that the table does not have.
pub fn check(
    rod_end: &RodEnd,
    male: bool,
    radial: f64,
    axial: f64,
    tilt: f64,
) -> Result<[Check; 3], ElementError> {
    not_negative("radial load", "N", radial)?;
    not_negative("load along the pin", "N", axial)?;
    not_negative("tilt", "rad", tilt)?;
    let rating = if male {
        rod_end
            .male
            .ok_or_else(|| not_listed("rod end with a stem", rod_end.name, [""; 0]))?
    } else {
        rod_end.female
    };
    let check = |what, acts, bears, unit| Check {
        what,
        acts,
        bears,
        unit,
        source: rod_end.source(),
    };
    Ok([
        check("load of the rod end", radial, rating, "N"),
        check(
            "load along the pin of the rod end",
            axial,
            0.2 * rating,
            "N",
        ),
        check("tilt of the rod end", tilt, rod_end.tilt, "rad"),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_rise() {
        for pair in ROD_ENDS.windows(2) {
            assert!(pair[0].bore < pair[1].bore && pair[0].eye < pair[1].eye);
            assert!(pair[0].female <= pair[1].female && pair[0].male <= pair[1].male);
        }
        // A printed table of static loads for rod ends of the standard, kN; the shank at 52 000 psi and half of the ultimate loads that a maker
        // of DIN 648 rod ends prints (10, 17.5 and 25.9 kN) bear more.
        for (name, printed) in [
            ("M5", 2.2),
            ("M6", 3.0),
            ("M8", 5.0),
            ("M10", 8.0),
            ("M12", 12.0),
            ("M16", 21.0),
            ("M20", 33.0),
        ] {
            assert_eq!(find(name).unwrap().female, 1000.0 * printed, "{name}");
        }
        for (name, ultimate) in [("M6", 10.0), ("M8", 17.5), ("M12", 25.9)] {
            assert!(find(name).unwrap().female <= 500.0 * ultimate, "{name}");
        }
        for r in &ROD_ENDS {
            let share = r.female / (r.bore * r.bore);
            assert!((77.0..89.0).contains(&share), "{}: {share}", r.name);
        }
        assert!(estimated(find("M14").unwrap()) && !estimated(find("M8").unwrap()));
        // A quarter of an inch and 6 mm are nearly the same rod end.
        let near = find("1/4-28").unwrap().female / find("M6").unwrap().female;
        assert!((0.8..2.7).contains(&near), "{near}");
        for r in ROD_ENDS.iter().chain(&INCH_ENDS) {
            // A stem has its thread beyond the eye, a tapped shank more than its diameter of it but for the least size.
            assert!(r.stem[0] - r.stem[1] > 0.4 * r.eye && r.tapped[0] > r.tapped[1] + 0.5 * r.eye);
            assert!(r.tapped[1] >= 1.5 * r.bore && r.stem[1] > 2.0 * r.bore);
        }
        for r in &ROD_ENDS {
            assert!(r.eye_width < r.ball_width && r.ball_width < r.eye);
            assert_eq!(find(r.name).unwrap(), r);
            assert_eq!(r.name, format!("M{}", r.bore));
            // The eye can only tilt until its face meets a pin's shoulder: tan of the tilt stays small.
            assert!(r.tilt.to_degrees() > 12.0 && r.tilt.to_degrees() < 16.0);
        }
        assert!(find("M7").is_err());
    }

    #[test]
    fn inch_sizes_rise_and_are_found_by_thread_or_size() {
        for pair in INCH_ENDS.windows(2) {
            assert!(pair[0].bore < pair[1].bore && pair[0].eye < pair[1].eye);
            assert!(pair[0].female < pair[1].female && pair[0].ball_width < pair[1].ball_width);
        }
        for r in &INCH_ENDS {
            assert!(r.eye_width < r.ball_width && r.ball_width < r.eye && r.bore < r.eye);
            assert_eq!(find(r.name).unwrap(), r);
            assert_eq!(find(r.name.split('-').next().unwrap()).unwrap(), r);
            assert_eq!(r.system().len(), INCH_ENDS.len());
        }
        // Root of 1/4-28 by its basic form: 0.25 − 1.22687/28 in; 0.0334 in² at 52 000 psi.
        let quarter = find("1/4").unwrap();
        assert!(
            (quarter.female / 4.448_222 - 1_736.0).abs() < 5.0,
            "{}",
            quarter.female / 4.448_222
        );
        assert!(find("1/3").is_err());
    }

    #[test]
    fn tilt_of_a_rod() {
        let square = tilt([0.0, 0.0, 5.0], [1.0, 2.0, 0.0]).unwrap();
        assert_eq!(square, 0.0);
        let along = tilt([0.0, 0.0, 5.0], [0.0, 0.0, -2.0]).unwrap();
        assert!((along - std::f64::consts::FRAC_PI_2).abs() < 1e-9);
        assert!(tilt([0.0; 3], [1.0, 0.0, 0.0]).is_err());
        assert!(tilt([f64::NAN, 0.0, 1.0], [1.0, 0.0, 0.0]).is_err());
        let [load, axial, tilt] = check(find("m8").unwrap(), true, 2400.0, 480.0, 0.3).unwrap();
        assert!(load.passes(2.0) && axial.passes(2.0) && !tilt.passes(1.0));
    }
}
