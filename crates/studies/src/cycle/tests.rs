//! Turns against closed forms, maps against single poses.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

use super::*;
use crate::assemble::assemble;
use crate::run::By;
use std::f64::consts::{PI, TAU};

const CRANK: f64 = 40.0;
const ROD: f64 = 130.0;

/// A slider crank: x = r cos θ + √(L² − r² sin² θ).
fn slider_crank() -> Model {
    let text = r#"
name = "Slider crank"
[point]
o = [0, 0]
a = { from = "o", reach = 40, angle = "60 deg" }
axis = [500, 0]
b = { swing = ["a", 130], on = ["o", "axis"], take = "right" }
stop = [200, 0]
[frame]
carries = ["o", "stop"]
[part.crank]
carries = ["o", "a"]
[part.ram]
carries = ["b"]
[rod.push]
joins = ["a", "b"]
[slide.way]
part = "ram"
along = "right"
[drive.crank]
turns = "crank"
drawn = "60 deg"
[reading.x]
place-of = "b"
along = "right"
[reading.rod]
turn-of = "crank"
"#;
    let read = machine::read_text("t.toml", text);
    assemble(&read.machine.unwrap_or_else(|| {
        panic!(
            "{}",
            machine::render_all(&read.problems, &read.sources, false)
        )
    }))
}

fn x(angle: f64) -> f64 {
    let (s, c) = angle.sin_cos();
    CRANK * c + (ROD * ROD - CRANK * CRANK * s * s).sqrt()
}

/// First and second derivative of x by the angle.
fn rates(angle: f64) -> (f64, f64) {
    let (s, c) = angle.sin_cos();
    let root = (ROD * ROD - CRANK * CRANK * s * s).sqrt();
    let first = -CRANK * s - CRANK * CRANK * s * c / root;
    let second = -CRANK * c
        - CRANK * CRANK * ((c * c - s * s) / root + CRANK * CRANK * s * s * c * c / root.powi(3));
    (first, second)
}

fn close(a: f64, b: f64) -> bool {
    let d = (a - b).rem_euclid(TAU);
    d.min(TAU - d) < 1e-6
}

#[test]
fn a_slider_crank_is_its_closed_form() {
    let model = slider_crank();
    let found = cycle(
        &model,
        &model.drawn(),
        &Asked {
            drive: 0,
            readings: vec![0],
            within: [0.5, 0.1],
            speed: Some(TAU),
        },
    )
    .unwrap();
    assert!(found.round && (found.to - found.from - TAU).abs() < 1e-9);
    let t = &found.readings[0];
    assert!((t.greatest.value - (ROD + CRANK)).abs() < 1e-9 && close(t.greatest.at, 0.0));
    assert!((t.least.value - (ROD - CRANK)).abs() < 1e-9 && close(t.least.at, PI));
    assert!(t.curve.len() >= 720);
    for b in &t.curve {
        assert!((b.value - x(b.at)).abs() < 1e-8);
        let (first, second) = rates(b.at);
        assert!((b.rate.unwrap() - first).abs() < 1e-7);
        assert!((b.second.unwrap() - second).abs() < 1e-6);
        let h = 1e-4;
        let third = (rates(b.at + h).1 - rates(b.at - h).1) / (2.0 * h);
        assert!((b.third.unwrap() - third).abs() < 1e-4);
    }
    // A turn a second.
    assert!((found.seconds.unwrap() - 1.0).abs() < 1e-12);
    let hardest = (0..100_000).map(|n| {
        let (at, h) = (f64::from(n) * TAU / 100_000.0, 1e-4);
        ((rates(at + h).1 - rates(at - h).1) / (2.0 * h)).abs()
    });
    let hardest = hardest.fold(0.0, f64::max);
    assert!((t.jerks.unwrap().value.abs() - hardest).abs() < 1e-4);
    // Dwells end where the closed form has gone half a millimetre.
    for (dwell, end, middle) in [
        (t.high_dwell, ROD + CRANK, 0.0),
        (t.low_dwell, ROD - CRANK, PI),
    ] {
        assert!(
            !dwell.cut && close(dwell.from + 0.5 * dwell.long, middle),
            "{dwell:?}"
        );
        assert!(close(dwell.long, dwell.to - dwell.from));
        // On the dial, and as fast in as out.
        assert!(
            [dwell.from, dwell.to]
                .iter()
                .all(|at| (0.0..TAU).contains(at))
        );
        let [into, out] = dwell.rates.map(Option::unwrap);
        assert!((into + out).abs() < 1e-7 && (into - rates(dwell.from).0).abs() < 1e-7);
        for at in [dwell.from, dwell.to] {
            assert!(((x(at) - end).abs() - 0.5).abs() < 1e-7, "{dwell:?}");
        }
    }
    // Extremes of the rate: nothing is faster, and there the second rate vanishes.
    let fastest = (0..100_000)
        .map(|n| rates(f64::from(n) * TAU / 100_000.0).0)
        .fold(0.0, f64::max);
    let (rises, falls) = (t.rises.unwrap(), t.falls.unwrap());
    assert!((rises.value - fastest).abs() < 1e-6 && rates(rises.at).1.abs() < 1e-3);
    assert!((falls.value + fastest).abs() < 1e-6 && close(falls.at, -rises.at));
    // Textbook: r ω² (1 + r/L) at the outer end is the hardest turn.
    let down = t.turned_down.unwrap();
    assert!(
        (down.value + CRANK * (1.0 + CRANK / ROD)).abs() < 1e-6 && close(down.at, 0.0),
        "{down:?}"
    );
}

#[test]
fn what_the_drive_does_not_move_is_left_out() {
    let model = slider_crank();
    let all = Asked {
        drive: 0,
        readings: Vec::new(),
        within: [0.05, 0.01],
        speed: None,
    };
    assert_eq!(
        cycle(&model, &model.drawn(), &all).unwrap().readings.len(),
        2
    );
    let none = Asked { drive: 3, ..all };
    assert!(cycle(&model, &model.drawn(), &none).is_err());
}

fn embosser() -> Model {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../examples/strap-embosser/machine.toml"
    );
    assemble(&machine::read(std::path::Path::new(path)).machine.unwrap())
}

fn named(names: impl Iterator<Item = String>, name: &str) -> usize {
    names.into_iter().position(|n| n == name).unwrap()
}

#[test]
fn a_map_is_made_of_single_poses() {
    let model = embosser();
    let drive = |name: &str| named(model.machine.drives.iter().map(|d| d.name.clone()), name);
    let reading = |name: &str| named(model.machine.readings.iter().map(|r| r.name.clone()), name);
    let asked = MapAsked {
        reading: reading("gap"),
        across: drive("crank"),
        up: drive("set"),
        columns: 37,
        rows: 31,
    };
    let found = map(&model, &model.drawn(), &asked).unwrap();
    assert_eq!(found.values.len(), 37 * 31);
    let mut bench = Bench::new(&model);
    for (r, c) in [(0, 0), (3, 20), (17, 5), (30, 36), (13, 18), (24, 30)] {
        let mut stand = model.drawn();
        stand.drives[asked.across] = found.columns[c];
        stand.drives[asked.up] = found.rows[r];
        let here = bench.bring(&stand).unwrap();
        let value = bench.value(asked.reading, &here).unwrap();
        let mapped = found.values[r * 37 + c].unwrap();
        assert!((mapped - value).abs() < 1e-7, "{r} {c}: {mapped} {value}");
    }
    // The closing curve is the reading over the crank that the machine has anyway, with its rate.
    let least = reading("least-gap");
    for c in found.closing.iter().step_by(6) {
        let mut stand = model.drawn();
        stand.drives[asked.up] = c.at;
        let here = bench.bring(&stand).unwrap();
        let by = By {
            drive: asked.up,
            rates: None,
        };
        let read = bench.read(least, &here, Some(by)).unwrap();
        assert!((c.least.unwrap().value - read.value).abs() < 1e-8);
        assert!((c.rate.unwrap() - read.slope.unwrap()).abs() < 1e-6);
        // No value of the grid is below it.
        let r = found.rows.iter().position(|a| *a == c.at).unwrap();
        let row = &found.values[r * 37..(r + 1) * 37];
        assert!(
            row.iter()
                .flatten()
                .all(|v| *v >= c.least.unwrap().value - 1e-9)
        );
    }
    // The same whoever works it out.
    let again = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .unwrap()
        .install(|| map(&model, &model.drawn(), &asked).unwrap());
    assert_eq!(found, again);
}

#[test]
fn maps_that_cannot_be_are_refused() {
    let model = embosser();
    let base = MapAsked {
        reading: 0,
        across: 0,
        up: 1,
        columns: 10,
        rows: 10,
    };
    let refused = |asked: MapAsked| map(&model, &model.drawn(), &asked).unwrap_err().message;
    assert!(refused(MapAsked { up: 0, ..base }).contains("both"));
    assert!(refused(MapAsked { rows: 1, ..base }).contains("cannot be made"));
    assert!(
        refused(MapAsked {
            rows: 100_000,
            columns: 100_000,
            ..base
        })
        .contains("cannot be made")
    );
    let over = named(
        model.machine.readings.iter().map(|r| r.name.clone()),
        "least-gap",
    );
    assert!(
        refused(MapAsked {
            reading: over,
            ..base
        })
        .contains("taken over")
    );
}

/// The bands of the closing curve are those of the reading over the crank that the file has, as `load` makes them.
#[test]
fn a_closing_curve_has_the_bands_of_load_and_spread() {
    let model = embosser();
    let drive = |name: &str| named(model.machine.drives.iter().map(|d| d.name.clone()), name);
    let reading = |name: &str| named(model.machine.readings.iter().map(|r| r.name.clone()), name);
    let (crank, set) = (drive("crank"), drive("set"));
    let curve = closing(&model, &model.drawn(), reading("gap"), [crank, set], 5).unwrap();
    assert!(curve.bands.is_empty());
    let curve = curve.banded(&model, &model.drawn(), reading("gap"), [crank, set], None);
    assert_eq!(curve.case.as_deref(), Some("embossing"));
    let sweep = Sweep {
        drive: set,
        from: None,
        to: None,
        step: Some(17.5_f64.to_radians()),
        readings: vec![reading("least-gap")],
    };
    let table = crate::load::bands(&model, &model.drawn(), Some(0), Some(&sweep)).unwrap();
    assert_eq!((curve.bands.len(), table.rows.len()), (5, 5));
    for (found, row) in curve.bands.iter().zip(&table.rows) {
        let (found, wanted) = (found.as_ref().unwrap(), row.cells[0].as_ref().unwrap());
        assert!((found.from - wanted.from).abs() < 1e-9 && (found.to - wanted.to).abs() < 1e-9);
        assert!((found.loaded.unwrap() - wanted.loaded.unwrap()).abs() < 1e-9);
        assert!(found.from < found.to);
    }
}
