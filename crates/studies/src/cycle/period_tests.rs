//! Drives that turn slow parts, and loads that bend between degrees, against closed forms.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

use super::*;
use crate::assemble::assemble;

fn model(text: &str) -> Model {
    let read = machine::read_text("t.toml", text);
    assemble(&read.machine.unwrap_or_else(|| {
        panic!(
            "{}",
            machine::render_all(&read.problems, &read.sources, false)
        )
    }))
}

fn turned_once(model: &Model, readings: Vec<usize>) -> Cycle {
    let asked = Asked {
        drive: 0,
        readings,
        within: [0.05, 1e-3],
        speed: None,
    };
    cycle(model, &model.drawn(), &asked).unwrap()
}

/// A tappet of 60 mm geared down 20:80: it points left as drawn, right after two turns of the pinion, and is back after four.
#[test]
fn a_slow_tappet_is_followed_until_it_is_back() {
    let m = model(
        r#"
[point]
a = [0, 0]
tip = [-60, 0]
m = [80, 0]
[frame]
carries = ["a", "m"]
[part.tappet]
carries = ["a", "tip"]
[part.pinion]
carries = ["m"]
[gear.g]
joins = ["pinion", "tappet"]
teeth = [20, 80]
[drive.crank]
turns = "pinion"
range = "whole turn"
[reading.x]
place-of = "tip"
along = "right"
[ask.clear]
reading = "x"
over = "crank"
at-most = "50 mm"
"#,
    );
    let found = turned_once(&m, vec![0]);
    assert_eq!((found.turns_a_cycle, found.turns_told), (4, 4));
    let x = &found.readings[0];
    assert!((x.greatest.value - 60.0).abs() < 1e-9 && (x.least.value + 60.0).abs() < 1e-9);
    assert!(
        (x.greatest.at - 2.0 * std::f64::consts::TAU).abs() < 1e-6,
        "{x:?}"
    );
    // The ask is judged over all four turns too.
    let judged = &crate::check(&m).asks[0];
    assert!(
        judged.value.is_some_and(|v| (v - 60.0).abs() < 1e-9),
        "{judged:?}"
    );
}

/// Sun 20, planet 40, ring 100 held: the arm turns a sixth of the sun, the planet back by a quarter (Willis). Both are back after twelve.
#[test]
fn a_planetary_train_is_back_after_twelve_turns_of_its_sun() {
    let text = |drive: &str| {
        format!(
            r#"
[point]
o = [0, 0]
p = [60, 0]
q = [60, 10]
[frame]
carries = ["o"]
[part.sun]
carries = ["o"]
[part.arm]
carries = ["o", "p", "q"]
[part.planet]
carries = ["p"]
[part.ring]
carries = ["o"]
[gear.a]
joins = ["sun", "planet"]
teeth = [20, 40]
carrier = "arm"
[gear.b]
joins = ["planet", "ring"]
teeth = [40, 100]
inside = true
carrier = "arm"
[drive.crank]
turns = "{drive}"
range = "whole turn"
[drive.hold]
turns = "ring"
range = ["-10 deg", "10 deg"]
[reading.x]
place-of = "q"
along = "right"
"#
        )
    };
    for (drive, turns) in [("sun", 12), ("arm", 2)] {
        let m = model(&text(drive));
        let found = turned_once(&m, vec![0]);
        assert_eq!(found.turns_a_cycle, turns, "{drive}");
        let reach = 60.0_f64.hypot(10.0);
        assert!((found.readings[0].greatest.value - reach).abs() < 1e-9);
    }
}

/// A punch through a sheet of 0.2 mm, less than a degree of the crank: its greatest moment and its work.
#[test]
fn a_load_that_bends_between_degrees_is_not_missed() {
    let m = model(
        r#"
[point]
o = [0, 0]
a = { from = "o", reach = 40, angle = "0 deg" }
axis = [500, 0]
b = { swing = ["a", 130], on = ["o", "axis"], take = "right" }
[frame]
carries = ["o"]
[part.crank]
carries = ["o", "a"]
inertia = "1 kg m2"
mass = "1 kg"
mass-at = "o"
[part.ram]
carries = ["b"]
mass = "1 kg"
[rod.push]
joins = ["a", "b"]
[slide.way]
part = "ram"
along = "right"
[drive.crank]
turns = "crank"
range = "whole turn"
[reading.x]
place-of = "b"
along = "right"
[load.sheet]
squeezes = "x"
table = [["110 mm", "0 N"], ["109.8 mm", "1000 N"], ["109.6 mm", "0 N"]]
returns = 0
[usual]
friction = 0
"#,
    );
    let asked = TurningAsked {
        drive: 0,
        case: None,
        speed: 1.0,
        unevenness: None,
    };
    let found = turning(&m, &m.drawn(), &asked).unwrap();
    // Where x is 109.8 mm: cos θ = (x² + r² − l²) / 2 r x, and dx/dθ there.
    let x = 109.8_f64;
    let c = (x * x + 1600.0 - 16900.0) / (80.0 * x);
    let s = (1.0 - c * c).sqrt();
    let rate = 40.0 * s + 1600.0 * s * c / (16900.0 - 1600.0 * s * s).sqrt();
    let most = found.most.unwrap().value;
    assert!(
        (most / (1000.0 * rate) - 1.0).abs() < 0.01,
        "{most} {}",
        1000.0 * rate
    );
    // The triangle under the table.
    let work = found.mean.unwrap() * std::f64::consts::TAU;
    assert!((work / 200.0 - 1.0).abs() < 0.01, "{work}");
}
