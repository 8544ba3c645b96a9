//! What turns a crank, against closed forms.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

use super::turning::{TurningAsked, turning};
use crate::assemble::{Model, assemble};
use std::f64::consts::{PI, TAU};

const R: f64 = 40.0;
const L: f64 = 130.0;

fn model(text: &str) -> Model {
    let read = machine::read_text("t.toml", text);
    assemble(&read.machine.unwrap_or_else(|| {
        panic!(
            "{}",
            machine::render_all(&read.problems, &read.sources, false)
        )
    }))
}

fn slider_crank(more: &str) -> Model {
    model(&format!(
        r#"
[point]
o = [0, 0]
a = {{ from = "o", reach = 40, angle = "0 deg" }}
b = [170, 0]
[frame]
carries = ["o"]
[part.crank]
carries = ["o", "a"]
mass    = "3 kg"
inertia = "9 kg cm2"
mass-at = [10, 0]
[part.ram]
carries = ["b"]
mass = "2 kg"
[rod.push]
joins = ["a", "b"]
mass  = "0.8 kg"
[slide.way]
part  = "ram"
along = "right"
[drive.crank]
turns = "crank"
range = "whole turn"
[reading.x]
place-of = "b"
along = "right"
{more}
"#
    ))
}

/// Kinetic energy of crank, rod and slider at a crank speed of 1 rad/s, twice over, kg·mm².
fn inertia(t: f64) -> f64 {
    let (s, c) = t.sin_cos();
    let root = (L * L - R * R * s * s).sqrt();
    let slider = -R * s - R * R * s * c / root;
    let rod = [0.5 * (-R * s + slider), 0.5 * R * c];
    let turn = R * c / root;
    900.0
        + 3.0 * 100.0
        + 2.0 * slider * slider
        + 0.8 * (rod[0].powi(2) + rod[1].powi(2) + L * L / 12.0 * turn * turn)
}

fn asked(speed: f64) -> TurningAsked {
    TurningAsked {
        drive: 0,
        case: None,
        speed,
        unevenness: Some(0.05),
    }
}

#[test]
fn a_free_slider_crank_is_turned_by_its_inertia_alone() {
    let model = slider_crank("");
    let found = turning(&model, &model.drawn(), &asked(50.0)).unwrap();
    assert_eq!(found.curve.len(), 360);
    assert!((found.masses.iter().map(|m| m.mass).sum::<f64>() - 5.8).abs() < 1e-12);
    for e in &found.curve {
        // The slider stands still there against the crank, not at a dead centre of the drive.
        let wanted = inertia(e.at);
        assert!((e.reduced.unwrap() - wanted).abs() < 1e-7, "{e:?} {wanted}");
        let h = 1e-5;
        let slope = (inertia(e.at + h) - inertia(e.at - h)) / (2.0 * h);
        let moment = 0.5 * slope * 2500.0 * 1e-3;
        assert!((e.inertia.unwrap() - moment).abs() < 1e-3, "{e:?} {moment}");
        // Without loads and friction that is all that turns it, carried as forces through every joint.
        assert!((e.moves.unwrap() - moment).abs() < 1e-3, "{e:?} {moment}");
    }
    // Nothing is lost over a turn.
    assert!(found.mean.unwrap().abs() < 1e-9 && found.run_down.is_none());
    // Energy stays: speeds go as the root of the inertia.
    let wheel = found.flywheel.unwrap();
    let ends = (0..3600).map(|i| inertia(f64::from(i) * TAU / 3600.0));
    let (low, high) = ends.fold((f64::INFINITY, 0.0_f64), |(l, h), i| (l.min(i), h.max(i)));
    let ratio = (high / low).sqrt();
    let uneven = 2.0 * (ratio - 1.0) / (ratio + 1.0);
    assert!(
        (wheel.as_is.unwrap() - uneven).abs() < 1e-3,
        "{wheel:?} {uneven}"
    );
    let more = wheel.adds.unwrap();
    let ratio = ((high + more) / (low + more)).sqrt();
    assert!((2.0 * (ratio - 1.0) / (ratio + 1.0) - 0.05).abs() < 1e-4);
}

/// Textbook: the counterweight of a slider-crank takes what turns and half of what goes to and fro (any book on the theory of machines); a
/// uniform rod is half at either end.
#[test]
fn a_counterweight_takes_the_turning_and_half_the_reciprocating_mass() {
    let model = slider_crank("");
    let found = turning(&model, &model.drawn(), &asked(50.0)).unwrap();
    let balance = found.balance.unwrap();
    let wanted = 3.0 * 10.0 + 0.4 * R + 0.5 * (2.0 + 0.4) * R;
    assert!(
        (balance.moment - wanted).abs() < 1e-6,
        "{balance:?} {wanted}"
    );
    assert!((balance.angle - PI).abs() < 1e-9);
    // r ω² (m + ...) at the outer end: turning 46, to and fro 96 (1 + r/L).
    let most = 2500.0 * 1e-3 * (46.0 + 96.0 * (1.0 + R / L));
    assert!(
        (balance.shakes - most).abs() < 1e-6 * most,
        "{balance:?} {most}"
    );
    assert!(balance.left < 0.6 * balance.shakes);
}

/// A wheel of 10 kg on a 20 mm journal, friction 0.1: its moment is that of the friction circle, 10 mm × sin(atan 0.1) × 98.07 N; energy and
/// momentum give turns and time.
#[test]
fn a_wheel_runs_down_by_its_friction() {
    let model = model(
        r#"
weight = "down"
[point]
o = [0, 0]
a = [100, 0]
[frame]
carries = ["o"]
[part.wheel]
carries = ["o", "a"]
mass    = "10 kg"
mass-at = "o"
inertia = "0.2 kg m2"
[joint.o]
diameter = "20 mm"
friction = 0.1
[drive.wheel]
turns = "wheel"
range = "whole turn"
"#,
    );
    let speed = 12.0;
    let found = turning(&model, &model.drawn(), &asked(speed)).unwrap();
    let moment = 10.0 * 0.1_f64.atan().sin() * 98.0665;
    let energy = 0.5 * 0.2 * speed * speed * 1e3;
    assert!(
        (found.mean.unwrap() - moment).abs() < 1e-6,
        "{:?}",
        found.mean
    );
    assert!((found.power.unwrap() - moment * speed).abs() < 1e-5);
    let run = found.run_down.unwrap();
    assert!((run.energy - energy).abs() < 1e-9);
    assert!(
        (run.turns - energy / (TAU * moment)).abs() < 1e-9,
        "{run:?}"
    );
    assert!(
        (run.seconds - 0.2 * speed / (moment * 1e-3)).abs() < 1e-6,
        "{run:?}"
    );
    // A steady moment needs no fly-wheel; a wheel that is balanced does not shake.
    let wheel = found.flywheel.unwrap();
    assert!(wheel.energy.abs() < 1e-6 && wheel.adds == Some(0.0));
    assert!(found.balance.is_none());
}

/// At the outer dead centre all accelerations lie along the rod: r ω² at the crank pin, r ω² (1 + r/L) at the ram, their mean in the middle of
/// the rod (uniform bar). The crank pin moves ram and rod, the ram's pin the ram alone (free body of the rod).
#[test]
fn pins_feel_the_speed() {
    let model = slider_crank("");
    let found = turning(&model, &model.drawn(), &asked(50.0)).unwrap();
    let rod = found
        .pins
        .iter()
        .find(|p| p.joint.contains("push"))
        .unwrap();
    let outer = 2500.0 * 1e-3 * R * (1.0 + R / L);
    assert!(rod.slow.abs() < 1e-9);
    let inner = 2500.0 * 1e-3 * R;
    let wanted = 2.0 * outer + 0.8 * 0.5 * (outer + inner);
    assert!((rod.fast - wanted).abs() < 1e-6, "{rod:?} {wanted}");
    // Twice as fast presses four times as hard.
    let fast = turning(&model, &model.drawn(), &asked(100.0)).unwrap();
    let other = fast.pins.iter().find(|p| p.joint.contains("push")).unwrap();
    assert!((other.fast / rod.fast - 4.0).abs() < 1e-6);
}

/// Work that gives a tenth back: nine tenths of ½ k s² are left in it on every turn.
#[test]
fn what_is_formed_keeps_its_work() {
    let of = |more: &str| {
        let text = format!(
            "[load.strap]\nsqueezes = \"x\"\nbegins = \"150 mm\"\nstiffness = \"10 N/mm\"\n{more}\n"
        );
        let m = slider_crank(&text);
        turning(&m, &m.drawn(), &asked(1.0)).unwrap()
    };
    let work = 0.5 * 10.0 * 60.0_f64.powi(2);
    let found = of("returns = 0.1");
    let mean = found.mean.unwrap();
    assert!((mean * TAU / (0.9 * work) - 1.0).abs() < 2e-3, "{mean}");
    assert!(!found.left_out.iter().any(|l| l.contains("spring back")));
    let whole = of("");
    assert!(whole.mean.unwrap().abs() < 1e-3 * work);
    assert!(
        whole
            .left_out
            .iter()
            .any(|l| l.contains("spring back whole")),
        "{:?}",
        whole.left_out
    );
}

/// In a dwell the sign of a rate is rounding: work that was formed stays pressed with its whole force, and does not spring back and forth.
#[test]
fn in_a_dwell_formed_work_stays_pressed() {
    let m = model(
        r#"
[point]
o = [0, 0]
r = [0, 60]
[frame]
carries = ["o"]
[part.disc]
carries = ["o"]
[part.ram]
carries = ["r"]
[slide.way]
part  = "ram"
along = "up"
[cam.c]
on       = "disc"
roller   = "r"
diameter = "16 mm"
law      = "cycloidal"
program  = [
    { rise = "20 mm", over = "120 deg" },
    { dwell = "60 deg" },
    { return = "20 mm", over = "120 deg" },
    { dwell = "rest" },
]
[drive.crank]
turns = "disc"
range = "whole turn"
[reading.x]
place-of = "r"
along = "down"
[load.strap]
squeezes = "x"
begins = "-70 mm"
stiffness = "10 N/mm"
returns = 0.1
"#,
    );
    let mut found = turning(&m, &m.drawn(), &asked(1.0)).unwrap();
    let cam = found.pressed.pop().unwrap();
    let deg = PI / 180.0;
    let dwell = cam.places.iter().filter(|p| {
        let turn = p.turn.rem_euclid(TAU);
        (122.0 * deg..178.0 * deg).contains(&turn)
    });
    let forces: Vec<f64> = dwell.map(|p| p.force).collect();
    assert!(forces.len() > 40);
    // 10 N/mm over the last 10 mm of the lift.
    assert!(
        forces.iter().all(|f| (f.abs() - 100.0).abs() < 1e-3),
        "{forces:?}"
    );
}

/// The pin of a Geneva wheel presses its slot with the moment of the wheel over its distance from the wheel's centre, and both bearings with the
/// same force. Motion of the wheel by the closed form of `elements::geneva`, whose peaks are those of handbooks.
#[test]
fn the_pin_of_a_geneva_wheel_presses_as_a_force() {
    let m = model(
        r#"
[point]
c = [0, 0]
s = [80, 0]
pin = { from = "c", reach = 40, angle = "90 deg" }
[frame]
carries = ["c", "s"]
[part.drv]
carries = ["c", "pin"]
[part.star]
carries = ["s"]
mass    = "1 kg"
mass-at = [80, 0]
inertia = "40 kg cm2"
[geneva.g]
driver = "drv"
pin    = "pin"
wheel  = "star"
slots  = 6
[drive.crank]
turns = "drv"
range = "whole turn"
[reading.star]
turn-of = "star"
"#,
    );
    let speed = 30.0;
    let found = turning(&m, &m.drawn(), &asked(speed)).unwrap();
    let wheel = elements::geneva::Geneva::of(6).unwrap();
    let force = |degree: i32| {
        let by = (90.0 + f64::from(degree)).to_radians();
        let by = (by + PI).rem_euclid(TAU) - PI;
        // kg·mm² rad/s² is mN·mm.
        let moment = 1e-3 * 4000.0 * wheel.at(by).acceleration * speed * speed;
        let arm = (80.0_f64.powi(2) + 40.0_f64.powi(2) - 2.0 * 80.0 * 40.0 * by.cos()).sqrt();
        (moment / arm).abs()
    };
    // Its places are whole degrees from where it is drawn.
    let most = (0..360).map(force).fold(0.0, f64::max);
    assert!(most > 10.0);
    let about: Vec<_> = found
        .pins
        .iter()
        .filter(|p| !p.is_moment && p.fast > 1e-3 * most)
        .collect();
    assert!(about.len() == 3, "{:?}", found.pins);
    for pin in about {
        assert!((pin.fast / most - 1.0).abs() < 1e-6, "{pin:?} {most}");
    }
}

/// A slide that a cam lifts against what rubs on it, with a force across that stands still.
fn rubbed(more: &str) -> Model {
    model(&format!(
        r#"
[point]
c = [0, 0]
r = [0, 40]
t = [0, 90]
[frame]
carries = ["c"]
[part.w]
carries = ["c"]
[part.s]
carries = ["r", "t"]
[slide.s]
part = "s"
along = "up"
[cam.k]
on = "w"
roller = "r"
diameter = "16 mm"
face = "1 mm"
track = true
program = [{{ rise = "12 mm", over = "90 deg" }}, {{ dwell = "90 deg" }}, {{ return = "12 mm", over = "90 deg" }}, {{ dwell = "rest" }}]
[joint.k]
clearance = ["0.02 mm", "0.05 mm"]
[load.rub]
at = "t"
force = "20 kN"
along = "down"
drags = true
[drive.crank]
turns = "w"
range = "whole turn"
{more}
"#
    ))
}

#[test]
fn a_case_that_stands_still_is_named_and_not_dropped() {
    let still = r#"
[load.side]
at = "t"
force = "80 N"
along = "right"
[case.a]
loads = ["rub", "side"]
"#;
    let m = rubbed(still);
    let found = turning(&m, &m.drawn(), &asked(1.0)).unwrap();
    let told = |f: &super::turning::Turning| {
        let named = |l: &&String| l.contains("case a (side stands still)");
        f.left_out.iter().find(named).cloned()
    };
    assert!(told(&found).is_some(), "{:?}", found.left_out);
    let by_name = TurningAsked {
        case: Some(0),
        ..asked(1.0)
    };
    let found = turning(&m, &m.drawn(), &by_name).unwrap();
    assert!(told(&found).is_none() && found.most.is_some_and(|m| m.value > 1e4));
    // What follows by itself is taken.
    let m = rubbed("");
    let found = turning(&m, &m.drawn(), &asked(1.0)).unwrap();
    assert!(told(&found).is_none() && found.most.is_some_and(|m| m.value > 1e4));
}

/// Hertz, line contact of steel on steel, by hand: p = sqrt(F E' / (pi b R)), with E' = E / (2 (1 - nu²)), R of roller and flank together (Shigley, section
/// on contact stresses).
#[test]
fn a_flank_pressed_too_hard_is_missed_at_speed_as_by_check() {
    let m = rubbed("");
    let found = turning(&m, &m.drawn(), &asked(1.0)).unwrap();
    let [cam] = found.pressed.as_slice() else {
        panic!("{:?}", found.pressed);
    };
    assert_eq!(cam.play, Some([0.02, 0.05]));
    let most = cam.most().unwrap();
    assert!(most.force.abs() > 19_000.0, "{most:?}");
    let hardest = cam.hardest().unwrap();
    let pressure = hardest.pressure.unwrap();
    // 20 kN over a face of 1 mm, a roller of 8 mm on a flank of some 30: thousands of MPa.
    assert!(pressure > 2000.0 && pressure < 20_000.0, "{pressure}");
    match cam.allowed {
        Some(allowed) => {
            let told = found
                .findings
                .iter()
                .any(|f| f.about == "cam.k" && f.sentence.contains("MPa"));
            assert_eq!(told, pressure > allowed, "{:?}", found.findings);
        }
        None => assert!(found.findings.iter().all(|f| !f.sentence.contains("MPa"))),
    }
}
