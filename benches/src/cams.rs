//! Cams: one derived from a reading backwards through its mechanism, the table to cut one by, and how it is looked over.

use crate::clock::{median, ratio, time};
use mechanics::close;
use std::f64::consts::TAU;
use std::hint::black_box;
use studies::{Model, assemble};

/// A slide on a cam of 60 mm: 24 mm up over 100°, down over 140°, at rest for the rest of the turn.
const SLIDE: &str = r#"
[point]
shaft  = [0, 0]
roller = [0, 60]
[frame]
carries = ["shaft"]
[part.cam]
carries = ["shaft"]
[part.lifter]
carries = ["roller"]
[slide.lifter]
part  = "lifter"
along = "up"
[cam.feed]
on       = "cam"
roller   = "roller"
diameter = "20 mm"
law      = "cycloidal"
program  = [ { rise = "24 mm", over = "100 deg" }, { return = "24 mm", over = "140 deg" }, { dwell = "rest" } ]
[drive.crank]
turns = "cam"
range = "whole turn"
"#;
const CIRCLE: f64 = 60.0;
const ROLLER: f64 = 10.0;
const LIFT: f64 = 24.0;
const UP: f64 = 100.0;
const DOWN: f64 = 140.0;

/// Lines of the table, and places at which the floor of the survey looks.
const LINES: usize = 720;
const LOOKS: usize = 1440;
/// Poses of the floor of a cam that is derived: as many places as it is led through.
const POSES: usize = 720;

/// Lift, velocity and acceleration of the program, by hand.
fn lift(angle: f64) -> [f64; 3] {
    let (up, down) = (UP.to_radians(), DOWN.to_radians());
    let cycloid = |t: f64, over: f64| {
        let (s, c) = (TAU * t).sin_cos();
        [
            LIFT * (t - s / TAU),
            LIFT * (1.0 - c) / over,
            LIFT * TAU * s / (over * over),
        ]
    };
    if angle < up {
        cycloid(angle / up, up)
    } else if angle < up + down {
        let [s, v, a] = cycloid((angle - up) / down, down);
        [LIFT - s, -v, -a]
    } else {
        [0.0; 3]
    }
}

/// The roller's distance from the centre and that of the flank, by hand.
fn contour(angle: f64) -> [f64; 2] {
    let [s, v, _] = lift(angle);
    let up = CIRCLE + s;
    let along = up.hypot(v);
    // The normal leans by the pressure angle.
    let (x, y) = (ROLLER * v / along, up - ROLLER * up / along);
    [up, x.hypot(y)]
}

/// Greatest pressure angle and sharpest bulge over the turn, by hand.
fn looked_over() -> [f64; 2] {
    let (mut steep, mut sharp) = (0.0_f64, f64::INFINITY);
    for k in 0..LOOKS {
        let [s, v, a] = lift(TAU * k as f64 / LOOKS as f64);
        let up = CIRCLE + s;
        steep = steep.max((v / up).abs());
        let square = up * up + v * v;
        let bend = up * up + 2.0 * v * v - up * a;
        if bend > 0.0 {
            sharp = sharp.min(square * square.sqrt() / bend);
        }
    }
    [steep.atan(), sharp]
}

/// All three.
pub(crate) fn cams() {
    let Some(machine) = machine::read_text("slide.toml", SLIDE).machine else {
        eprintln!("the slide does not read");
        return;
    };
    let model = assemble(&machine);
    table(&model);
    survey(&model);
    derived();
}

fn table(model: &Model) {
    let step = TAU / LINES as f64;
    let mut made = None;
    let took = median(|| made = studies::cams::table(model, 0, None, step).ok());
    let Some(made) = made else { return };
    let mut by_hand = vec![[0.0; 2]; LINES];
    let floor = median(|| {
        for (k, line) in by_hand.iter_mut().enumerate() {
            *line = contour(step * k as f64);
        }
        black_box(&by_hand);
    });
    for (row, [roller, flank]) in made.rows.iter().zip(&by_hand) {
        let off = (row.radius - roller).abs() + (row.flank[0].hypot(row.flank[1]) - flank).abs();
        assert!(off < 1e-9, "{row:?}: {roller} {flank}");
    }
    assert!(made.rows.len() == LINES);
    time("cam-table", took / 1e6, "ms", 2.0);
    ratio("cam-table", took, floor, 60.0);
}

fn survey(model: &Model) {
    let mut seen = None;
    let took = median(|| seen = studies::cams::survey(model, 0));
    let Some(seen) = seen else { return };
    let mut by_hand = [0.0; 2];
    let floor = median(|| by_hand = black_box(looked_over()));
    assert!((seen.steepest.value - by_hand[0]).abs() < 1e-4);
    let sharp = seen.sharpest.map_or(0.0, |s| s.value);
    assert!((sharp - by_hand[1]).abs() < 1e-2, "{sharp} {by_hand:?}");
    time("cam-survey", took / 1e6, "ms", 30.0);
    ratio("cam-survey", took, floor, 1000.0);
}

/// The relief cam of the power hacksaw, led through a turn by what its arm is to do; against plain Newton through as many poses.
fn derived() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../examples/power-hacksaw/machine.toml"
    );
    let Some(machine) = machine::read(std::path::Path::new(path)).machine else {
        eprintln!("the power hacksaw does not read");
        return;
    };
    let took = median(|| {
        black_box(assemble(&machine));
    });
    let model = assemble(&machine);
    let Some(drive) = machine.drives.iter().position(|d| d.whole_turn) else {
        return;
    };
    let mechanism = model.mechanism();
    let floor = median(|| {
        let mut there = mechanism.drawn.clone();
        let mut stand = model.drawn();
        for k in 0..POSES {
            stand.drives[drive] = TAU * k as f64 / POSES as f64;
            let _ = close(mechanism, &model.params(&stand), &mut there);
        }
        black_box(&there);
    });
    time("cam-derived", took / 1e6, "ms", 100.0);
    ratio("cam-derived", took, floor, 4.0);
}
