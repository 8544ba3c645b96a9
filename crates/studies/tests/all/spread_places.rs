//! Where things are on made machines: guides that turn about their own place, drives that run to their stops.
#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use crate::common::{close, model, read};
use studies::spread::{Request, Spread, Strayed, spread};

fn made(text: &str, values: &[&str]) -> Spread {
    let model = model(text);
    let request = Request {
        budgets: false,
        machines: 50_000,
        ..Request::default()
    };
    spread(&model, &crate::common::stand(&model, values), &request).unwrap()
}

/// A crank of 30 about `o`, a rod of 120 up to a slide; everything moved by the same.
fn crank(x: f64, y: f64) -> String {
    format!(
        r#"
name = "crank and slide"
[point]
o = [{x}, {y}]
a = {{ from = "o", reach = 30, angle = "90 deg" }}
p = [{x}, {}]
q = [{x}, {}]
top = [{x}, {}]
[frame]
carries = ["o", "top"]
[part.crank]
carries = ["o", "a"]
[rod.r]
joins = ["a", "p"]
[part.ram]
carries = ["p", "q"]
[slide.guide]
part = "ram"
along = "up"
[drive.turn]
turns = "crank"
range = ["-60 deg", "60 deg"]
[reading.gap]
between = ["q", "top"]
along = "up"
[usual]
directions = "0.5 deg"
"#,
        y + 150.0,
        y + 180.0,
        y + 185.0
    )
}

/// The crank 30 degrees on stands 15 to the left of the guide, so the pin of the ram stands at 30 sin 120° + √(120² − 15²) = 145.040, which is
/// 4.960 below where it is drawn. A guide off by 0.5° moves it aside by 4.960 × 0.008727 = 0.04329, and the rod carries 15 / 119.059 of that up.
#[test]
fn a_guide_turns_about_its_own_place_wherever_the_drawing_lies() {
    let arm = (120.0_f64.powi(2) - 15.0 * 15.0).sqrt();
    let below = 150.0 - (30.0 * 120.0_f64.to_radians().sin() + arm);
    let off = below * 0.5_f64.to_radians() * 15.0 / arm;
    close(off, 0.005_454, 1e-6);
    for (x, y) in [(100.0, 0.0), (100.0, 1000.0), (0.0, -150.0), (-700.0, 33.0)] {
        let found = made(&crank(x, y), &["turn=30 deg"]);
        close(found.readings[0].root_sum_square, off, 1e-9);
        // The squareness of the ram turns its end, 30 above its pin, by 30 (1 − cos 0.5°) = 0.0011 at either limit.
        let [low, high] = found.readings[0].likely;
        close(low, -off, 1e-3);
        close(high, off, 2e-3);
    }
}

/// A drive that slides the ram puts it as far along its guide, however the guide is turned.
#[test]
fn a_driven_slide_stands_as_far_on_wherever_the_drawing_lies() {
    for x in [0.0, 100.0, 1100.0] {
        let text = format!(
            r#"
name = "driven slide"
[point]
base = [{x}, 0]
p = [{x}, 50]
q = [{x}, 80]
top = [{x}, 81]
[frame]
carries = ["base", "top"]
[part.ram]
carries = ["p", "q"]
[slide.guide]
part = "ram"
along = "up"
[drive.d]
slides = "ram"
range = ["0 mm", "1 mm"]
[reading.gap]
between = ["q", "top"]
along = "up"
[usual]
hole-places = "0.1 mm"
directions = "0.5 deg"
[tolerance.top]
of = "frame"
hole = "top"
plus-minus = "0.03 mm"
"#
        );
        let found = made(&text, &["d=0.6 mm"]);
        // The hole q and the hole top, each by itself; to first order no direction moves them.
        let want = 0.1_f64.hypot(0.03);
        close(found.readings[0].root_sum_square, want, 1e-9);
    }
}

/// A slide crank whose drive ends at a stop of the gap; drawn with the crank level and the rod upright.
fn stopped(stop: &str, rod: f64) -> String {
    format!(
        r#"
name = "two ends"
[point]
o = [0, 0]
a = [60, 0]
b = [60, {}]
t = [60, {}]
anvil = [60, 110]
[frame]
carries = ["o", "anvil"]
[part.crank]
carries = ["o", "a"]
[rod.r]
joins = ["a", "b"]
[part.ram]
carries = ["b", "t"]
[slide.guide]
part = "ram"
along = "up"
[drive.d]
turns = "crank"
range = ["-10 deg", "10 deg"]
[reading.gap]
between = ["t", "anvil"]
along = "up"
[stop.hi]
reading = "gap"
at-least = "{stop}"
[reading.turn]
turn-of = "crank"
[reading.most-turn]
reading = "turn"
over = "d"
take = "greatest"
[ask.swing]
swing-of = "gap"
over = "d"
at-least = "17.35 mm"
[ask.room]
reading = "gap"
over = "d"
at-least = "2.9 mm"
[tolerance.r]
of = "r"
plus-minus = "0.2 mm"
"#,
        80.0 + rod,
        100.0 + rod
    )
}

fn off(s: &Strayed) -> f64 {
    0.5 * (s.likely[1] - s.likely[0])
}

/// The stop is met where the gap is 3, on every machine: the swing is what the gap is at −10°, less 3. A rod 0.2 longer lets it be 0.2 less
/// there (the rod leans by 0.9 mm in 80: its cosine is 1 to 6e-5).
#[test]
fn every_machine_runs_to_its_own_stop() {
    let text = stopped("3 mm", 0.0);
    let found = made(&text, &[]);
    let swing = &found.asks[0].strayed;
    let drop = 60.0 * 10.0_f64.to_radians().sin();
    let aside = 60.0 * (1.0 - 10.0_f64.to_radians().cos());
    let at_low = |rod: f64| 110.0 - 20.0 + drop - (rod * rod - aside * aside).sqrt() - 3.0;
    close(swing.nominal, at_low(80.0), 1e-6);
    let want = 0.5 * (at_low(79.8) - at_low(80.2));
    close(want, 0.2, 2e-5);
    close(swing.root_sum_square, want, 1e-5);
    close(off(swing), want, 0.01);
    // The rod drawn longer tells the same: machines at the limits are that machine.
    let longer = model(&stopped("3 mm", 0.2));
    let here = read(&longer, &[], "most-turn").to_degrees();
    let nominal = read(&model(&text), &[], "most-turn").to_degrees();
    assert!(nominal - here > 0.15, "{nominal} {here}");
    let turn = found
        .readings
        .iter()
        .find(|r| r.reading.name == "most-turn");
    close(off(turn.unwrap()).to_degrees(), nominal - here, 0.01);
    // 17.35 is 0.0727 below 17.4227: 1.09 of 0.0667.
    let z = (swing.nominal - 17.35) / (want / 3.0);
    close(found.asks[0].kept.share, phi(z), 0.006);
    // At the stop the gap is what the stop says, whatever the rod.
    let room = &found.asks[1].strayed;
    close(room.root_sum_square, 0.0, 1e-9);
    close(off(room), 0.0, 1e-9);
}

/// Normal distribution function (Abramowitz and Stegun 26.2.17, to 7.5e-8).
fn phi(x: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.231_641_9 * x);
    let b = [
        0.319_381_530,
        -0.356_563_782,
        1.781_477_937,
        -1.821_255_978,
        1.330_274_429,
    ];
    let sum = b.iter().rev().fold(0.0, |s, b| (s + b) * t);
    1.0 - (-0.5 * x * x).exp() / std::f64::consts::TAU.sqrt() * sum
}

/// A lever 100 : 300 whose pivot yields: frame and work share the way as springs in series do. The work begins at 52.5 and the lever closes to
/// 50: with 100 N/mm of work and 300 N/mm of frame under a tip that stands as far off as the pivot, 2.5 × 100 / (100 + 300) = 0.625 of it is
/// given.
const YIELDS: &str = r#"
name = "yielding"
[point]
o = [0, 0]
a = [100, 0]
h = [-300, 0]
ref = [100, -50]
[frame]
carries = ["o", "ref"]
[part.lever]
carries = ["o", "a", "h"]
[drive.d]
turns = "lever"
range = ["-20 deg", "20 deg"]
[reading.y]
between = ["ref", "a"]
along = "up"
[load.w]
squeezes = "y"
begins = "52.5 mm"
stiffness = "100 N/mm"
[stiffness.f]
at = "o"
value = "300 N/mm"
[usual]
hole-places = "0.05 mm"
[ask.y]
reading = "y"
between = ["49.9 mm", "50.1 mm"]
[ask.pressed]
reading = "y"
loaded = "work"
at-most = "51 mm"
[ask.wide]
reading = "y"
between = ["49.9 mm", "50.675 mm"]
[ask.share]
share-of = "y"
at-least = 0.9
[case.work]
loads = ["w"]
"#;

#[test]
fn machines_are_counted_as_loads_move_them_too() {
    let found = made(YIELDS, &[]);
    let [y, wide] = found.asks.as_slice() else {
        panic!("{:#?}", found.asks)
    };
    assert_eq!(y.under.len(), 1);
    close(y.under[0].shift, 0.625, 1e-9);
    // Not one machine keeps 50.1 at 50.625.
    close(y.kept.share, 0.0, 0.0);
    close(y.room, 50.1 - 50.625, 1e-9);
    // 0.05 to spare at 50.625, 0.1 at 50: heights of two holes stray by ± 0.05 √2.
    let sigma = 0.05 * 2.0_f64.sqrt() / 3.0;
    close(wide.kept.share, phi(0.05 / sigma), 0.005);
    let told = |part: &str| found.findings.iter().any(|f| f.sentence.contains(part));
    assert!(told("by +0.625 mm under work"), "{:#?}", found.findings);
    let pressed = &found.under_load[0];
    assert_eq!(pressed.ask, "pressed");
    close(pressed.loaded - pressed.nominal, 0.625, 1e-9);
    // Without the load all of them keep it, and nothing is said of loads.
    let free = YIELDS.replace("100 N/mm", "1e-9 N/mm");
    let found = made(&free, &[]);
    assert!(found.asks[0].kept.share > 0.99 && found.asks[0].under.is_empty());
}

/// 100 N on 300 N/mm always give 0.333: what `check` says to make is kept under load too, and where the window is less than that it says so.
#[test]
fn a_remedy_leaves_room_for_the_load() {
    let text = |from: &str, to: &str| {
        YIELDS
            .replace("stiffness = \"100 N/mm\"", "force = \"100 N\"")
            .replace(
                "[\"49.9 mm\", \"50.1 mm\"]",
                &format!("[\"{from}\", \"{to}\"]"),
            )
    };
    let told = |text: &str| {
        let check = studies::check(&model(text));
        let about = |f: &&studies::Finding| f.about == "ask.y";
        let finding = check.findings.iter().find(about).unwrap();
        finding.what_to_try.clone().unwrap()
    };
    let narrow = told(&text("50.2 mm", "50.4 mm"));
    assert!(
        narrow.contains("loads move it by 0.333 mm, and it may lie within 0.200 mm"),
        "{narrow}"
    );
    // From 50 to 49.9 less 0.333.
    let wide = told(&text("48 mm", "49.9 mm"));
    assert!(wide.contains("0.433 mm"), "{wide}");
}
