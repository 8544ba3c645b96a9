//! Cams of a machine: it follows the program as drawn, whichever way it turns and whatever rides on it.

use crate::common::{close, model, motion, read};
use std::f64::consts::{PI, TAU};

/// A lifter straight above a disc, aside of its centre.
fn lifter(turns: &str, along: &str, at: &str, program: &str) -> String {
    format!(
        r#"
name = "Lifter"
[point]
centre = [10, -20]
roller = [16, 25]
[frame]
carries = ["centre"]
[part.disc]
carries = ["centre"]
[part.lifter]
carries = ["roller"]
[slide.lifter]
part = "lifter"
along = "{along}"
[drive.turn]
turns = "disc"
range = "whole turn"
[cam.lift]
on = "disc"
roller = "roller"
diameter = "12 mm"
turns = "{turns}"
at = "{at}"
{program}
[reading.height]
place-of = "roller"
along = "up"
"#
    )
}

const PROGRAM: &str = r#"program = [
    { rise = "9 mm", over = "100 deg", law = "cycloidal" },
    { dwell = "40 deg" },
    { return = "9 mm", over = "120 deg", law = "harmonic" },
    { dwell = "rest" },
]"#;

/// The program by hand: lift over the turn of the program in degrees.
fn lift(turn: f64) -> f64 {
    let turn = turn.rem_euclid(360.0);
    if turn < 100.0 {
        let u = turn / 100.0;
        9.0 * (u - (TAU * u).sin() / TAU)
    } else if turn < 140.0 {
        9.0
    } else if turn < 260.0 {
        4.5 * (1.0 + (PI * (turn - 140.0) / 120.0).cos())
    } else {
        0.0
    }
}

#[test]
fn a_lifter_follows_its_program_either_way() {
    for (turns, sense) in [("counter-clockwise", 1.0), ("clockwise", -1.0)] {
        for along in ["up", "down"] {
            for at in [0.0, 37.0, 205.0] {
                let text = lifter(turns, along, &format!("{at} deg"), PROGRAM);
                let model = model(&text);
                for step in 0..36 {
                    let turn = 10.0 * f64::from(step);
                    let value = read(&model, &[&format!("turn = {turn} deg")], "height");
                    close(value, 25.0 + lift(at + sense * turn) - lift(at), 1e-9);
                }
                let table = motion(&model, "turn", None, None, Some("1 deg"));
                assert_eq!(table.rows.len(), 361);
            }
        }
    }
}

/// A table is a cubic spline: through its points, and smooth.
#[test]
fn a_table_is_gone_through() {
    let text = lifter(
        "counter-clockwise",
        "up",
        "0 deg",
        r#"table = [["0 deg", 0], ["90 deg", "4 mm"], ["180 deg", "6 mm"], ["300 deg", "1 mm"]]"#,
    );
    let model = model(&text);
    for (turn, lift) in [(0.0, 0.0), (90.0, 4.0), (180.0, 6.0), (300.0, 1.0)] {
        let value = read(&model, &[&format!("turn = {turn} deg")], "height");
        close(value, 25.0 + lift, 1e-9);
    }
}

/// A rocker swings by the angles of its program, on either side of the line between the centres and whichever way the cam turns.
#[test]
fn a_rocker_follows_its_program() {
    for (turns, sense) in [("counter-clockwise", 1.0), ("clockwise", -1.0)] {
        for side in [1.0, -1.0] {
            let text = format!(
                r#"
name = "Rocker"
[point]
centre = [0, 0]
pivot = [90, 10]
roller = [20, {y}]
far = [150, 20]
[frame]
carries = ["centre", "pivot"]
[part.disc]
carries = ["centre"]
[part.arm]
carries = ["pivot", "roller", "far"]
[drive.turn]
turns = "disc"
range = "whole turn"
[cam.swing]
on = "disc"
roller = "roller"
diameter = "16 mm"
turns = "{turns}"
program = [
    {{ rise = "12 deg", over = "120 deg", law = "3-4-5" }},
    {{ return = "12 deg", over = "150 deg", law = "modified trapezoid" }},
    {{ dwell = "rest" }},
]
[reading.angle]
turn-of = "arm"
"#,
                y = 40.0 * side
            );
            let model = model(&text);
            for step in 0..36 {
                let turn = 10.0 * f64::from(step);
                let program = (sense * turn).rem_euclid(360.0);
                let swing: f64 = if program <= 120.0 {
                    let u = program / 120.0;
                    12.0 * u.powi(3) * (10.0 - 15.0 * u + 6.0 * u * u)
                } else if program >= 270.0 {
                    0.0
                } else {
                    // Half way down at half of the angle; elsewhere only between.
                    let u = (program - 120.0) / 150.0;
                    if (u - 0.5).abs() < 1e-12 {
                        6.0
                    } else {
                        f64::NAN
                    }
                };
                let value = read(&model, &[&format!("turn = {turn} deg")], "angle").to_degrees();
                if swing.is_nan() {
                    assert!((0.0..=12.0 + 1e-9).contains(&(-side * value)), "{value}");
                } else {
                    // Away from the centre of the cam: clockwise above the line, where the arm points left of the pivot.
                    close(-side * value, swing, 1e-8);
                }
            }
        }
    }
}

/// A rocker lifts a ram through a rod; the cam is derived so that the ram does what the program says.
fn derived(program: &str) -> String {
    format!(
        r#"
name = "Derived"
[point]
centre = [0, 0]
pivot = [85, -10]
roller = [20, 45]
knee = [140, 12]
ram-pin = [150, 130]
[frame]
carries = ["centre", "pivot"]
[part.disc]
carries = ["centre"]
[part.rocker]
carries = ["pivot", "roller", "knee"]
[part.ram]
carries = ["ram-pin"]
[slide.ram]
part = "ram"
along = "up"
[rod.push]
joins = ["knee", "ram-pin"]
[drive.turn]
turns = "disc"
range = "whole turn"
[cam.lead]
on = "disc"
roller = "roller"
diameter = "16 mm"
reading = "height"
{program}
[reading.height]
place-of = "ram-pin"
along = "up"
[reading.swing]
turn-of = "rocker"
"#
    )
}

/// The ram is let down by 9 mm, since the rocker's own way out lowers its other end.
const DOWN: &str = r#"program = [
    { return = "9 mm", over = "100 deg", law = "cycloidal" },
    { dwell = "40 deg" },
    { rise = "9 mm", over = "120 deg", law = "harmonic" },
    { dwell = "rest" },
]"#;

/// Height of the ram over the turn of the rocker, from the triangle of its rod.
fn height(swing: f64) -> f64 {
    let (s, c) = swing.sin_cos();
    let knee = [85.0 + 55.0 * c - 22.0 * s, -10.0 + 55.0 * s + 22.0 * c];
    let square = 10.0_f64.powi(2) + 118.0_f64.powi(2);
    knee[1] + (square - (150.0 - knee[0]).powi(2)).sqrt()
}

#[test]
fn a_derived_cam_makes_the_reading_follow() {
    let model = model(&derived(DOWN));
    for step in 0..720 {
        // Between the places at which it was derived, too.
        let turn = 0.5 * f64::from(step) + 0.137;
        let value = read(&model, &[&format!("turn = {turn} deg")], "height");
        close(value, 130.0 - lift(turn), 1e-9);
    }
}

/// Speed and acceleration of the rocker against differentiation of the ram's height by hand: with h(swing) = w(turn),
/// swing' = w' / h' and swing″ = (w″ − h″ swing'²) / h'.
#[test]
fn derived_rates_are_those_of_direct_differentiation() {
    let model = model(&derived(DOWN));
    let asked = studies::cycle::Asked {
        drive: 0,
        readings: vec![1],
        within: [0.05, 0.01],
        speed: None,
    };
    let cycle = studies::cycle::cycle(&model, &model.drawn(), &asked).unwrap();
    let mut seen = 0;
    for beat in &cycle.readings[0].curve {
        let turn = beat.at.to_degrees().rem_euclid(360.0);
        // Not astride a seam, where the harmonic return steps in acceleration.
        if [0.0, 100.0, 140.0, 260.0, 360.0]
            .iter()
            .any(|s| (turn - s).abs() < 0.6)
        {
            continue;
        }
        let (mut low, mut high) = (-0.5, 0.5);
        let wanted = 130.0 - lift(turn);
        for _ in 0..200 {
            let middle = f64::midpoint(low, high);
            if height(middle) < wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        let swing = f64::midpoint(low, high);
        close(beat.value, swing, 1e-9);
        let step = 1e-4;
        let (first, second) = (
            (height(swing + step) - height(swing - step)) / (2.0 * step),
            (height(swing + step) - 2.0 * height(swing) + height(swing - step)) / (step * step),
        );
        let by = 0.05_f64;
        let w = |turn: f64| 130.0 - lift(turn);
        let rad = by.to_radians();
        let (rate, bend) = (
            (w(turn + by) - w(turn - by)) / (2.0 * rad),
            (w(turn + by) - 2.0 * w(turn) + w(turn - by)) / (rad * rad),
        );
        let speed = rate / first;
        close(beat.rate.unwrap(), speed, 1e-5);
        close(
            beat.second.unwrap(),
            (bend - second * speed * speed) / first,
            1e-3,
        );
        seen += 1;
    }
    assert!(seen > 650, "{seen}");
}

#[test]
fn what_cannot_be_derived_is_told() {
    // The rod is too short for the one; for the other the rocker would have to go over its dead centre.
    for (way, words) in [
        (
            "400 mm",
            "cam lead cannot be derived from reading height at ",
        ),
        ("160 mm", "cam lead: its rocker comes into line"),
    ] {
        let model = model(&derived(&DOWN.replace("9 mm", way)));
        let check = studies::check(&model);
        let mut told = check.findings.iter().filter(|f| f.about == "cam.lead");
        assert!(
            told.any(|f| f.severity == studies::Severity::Fault && f.sentence.starts_with(words)),
            "{words}: {:#?}",
            check.findings
        );
    }
}

/// Steep, undercut, striking: each told with its number.
#[test]
fn shapes_that_do_not_do_are_told() {
    let program = r#"program = [
    { rise = "20 mm", over = "15 deg", law = "harmonic" },
    { dwell = "10 deg" },
    { return = "20 mm", over = "40 deg" },
    { dwell = "rest" },
]"#;
    let model = model(&lifter("counter-clockwise", "up", "0 deg", program));
    let check = studies::check(&model);
    let told: Vec<&str> = check
        .findings
        .iter()
        .filter(|f| f.about == "cam.lift")
        .map(|f| f.sentence.as_str())
        .collect();
    for words in [
        "the pressure angle comes to ",
        "it is undercut",
        "its acceleration steps at 0.0 deg",
    ] {
        assert!(told.iter().any(|t| t.contains(words)), "{words}: {told:#?}");
    }
}

/// A table to cut by: the roller's path as drawn, the cutter as far off the flank as its radius.
#[test]
fn the_table_is_the_shape() {
    let model = model(&lifter("clockwise", "up", "0 deg", PROGRAM));
    let table = studies::cams::table(&model, 0, Some(8.0), 1_f64.to_radians()).unwrap();
    assert_eq!(table.rows.len(), 360);
    for row in &table.rows {
        let turn = row.at.to_degrees();
        close(row.lift, lift(turn), 1e-9);
        // Roller as drawn 6 to the right of the centre, 45 above it.
        close(row.radius, 6_f64.hypot(45.0 + lift(turn)), 1e-9);
        close(row.roller[0].hypot(row.roller[1]), row.radius, 1e-9);
        let off = |p: [f64; 2]| (p[0] - row.flank[0]).hypot(p[1] - row.flank[1]);
        close(off(row.roller), 6.0, 1e-9);
        close(off(row.cutter), 4.0, 1e-9);
    }
    // Clockwise the place that comes under the roller lies ahead to the left, on the side to which the cam turns from.
    assert!(table.rows[30].roller[1] > 0.0, "{:?}", table.rows[30]);
    assert!(studies::cams::table(&model, 0, None, 0.0).is_err());
    assert!(studies::cams::table(&model, 1, None, 0.1).is_err());
}

/// A Geneva wheel of four slots: it stands, goes a quarter turn while the pin is in a slot, stands again. Its angle in a slot is that of the line
/// from its centre to the pin.
#[test]
fn a_geneva_wheel_goes_by_slots() {
    let reach = 60.0 * (PI / 4.0).sin();
    let text = format!(
        r#"
name = "Geneva"
[point]
centre = [0, 0]
pin = {{ from = "centre", reach = {reach}, angle = "200 deg" }}
star = [60, 0]
mark = [60, 30]
[frame]
carries = ["centre", "star"]
[part.crank]
carries = ["centre", "pin"]
[part.wheel]
carries = ["star", "mark"]
[geneva.index]
driver = "crank"
pin = "pin"
wheel = "wheel"
slots = 4
[drive.turn]
turns = "crank"
range = ["0 deg", "720 deg"]
[reading.wheel]
turn-of = "wheel"
"#
    );
    let model = model(&text);
    for turn in 0..=720 {
        // The pin's angle, and how far it is past the line of centres in its turn.
        let at = 200.0 + f64::from(turn);
        let rounds = (at / 360.0).round();
        let by = at - 360.0 * rounds;
        let before = 90.0 * (rounds - 1.0);
        let wheel = if by.abs() >= 45.0 {
            before + 45.0_f64.copysign(by)
        } else {
            let (s, c) = by.to_radians().sin_cos();
            before + (reach * s).atan2(60.0 - reach * c).to_degrees()
        };
        let value = read(&model, &[&format!("turn = {turn} deg")], "wheel").to_degrees();
        close(value, -(wheel - -45.0), 1e-9);
    }
    let table = motion(&model, "turn", None, None, Some("5 deg"));
    assert_eq!(table.rows.len(), 145);
}

/// A lifter on a disc, pulled up or down by a spring.
fn sprung(nail: &str, rate: &str, more: &str) -> String {
    format!(
        r#"
name = "Paper feeder"
[point]
shaft = [0, 0]
roller = [0, 60]
hook = [40, 60]
nail = [40, {nail}]
[frame]
carries = ["shaft", "nail"]
[part.disc]
carries = ["shaft"]
[part.lifter]
carries = ["roller", "hook"]
[slide.lifter]
part = "lifter"
along = "up"
[spring.pull]
between = ["hook", "nail"]
rate = "{rate} N/mm"
free = "20 mm"
pulls-only = true
[cam.feed]
on = "disc"
roller = "roller"
diameter = "20 mm"
law = "cycloidal"
face = "10 mm"
{more}
program = [ {{ rise = "24 mm", over = "100 deg" }}, {{ dwell = "40 deg" }}, {{ return = "24 mm", over = "140 deg" }}, {{ dwell = "rest" }} ]
[drive.turn]
turns = "disc"
range = "whole turn"
per-minute = 1
"#
    )
}

/// Greatest pressure over the turn by hand, 5 degrees apart: spring over the cosine of the pressure angle, two steel cylinders (Hertz).
fn pressure(spring: &dyn Fn(f64) -> f64, outer: bool) -> (f64, f64) {
    let steel = (1.0 - 0.292_f64.powi(2)) / 207_000.0;
    let mut worst = (0.0, 0.0);
    for n in 0..72 {
        let degrees = 5.0 * f64::from(n);
        let (over, sense, from) = match degrees {
            d if d < 100.0 => (100.0, 1.0, 0.0),
            d if d < 140.0 => (0.0, 0.0, 24.0),
            d if d < 280.0 => (140.0, -1.0, 24.0),
            _ => (0.0, 0.0, 0.0),
        };
        let (mut lift, mut first, mut second) = (from, 0.0, 0.0);
        if over > 0.0 {
            let b = f64::to_radians(over);
            let u = (degrees - if sense > 0.0 { 0.0 } else { 140.0 }) / over;
            lift = from + sense * 24.0 * (u - (TAU * u).sin() / TAU);
            first = sense * 24.0 / b * (1.0 - (TAU * u).cos());
            second = sense * 24.0 / (b * b) * TAU * (TAU * u).sin();
        }
        let r = 60.0 + lift;
        let square = r * r + first * first;
        let path = square.powf(1.5) / (r * r + 2.0 * first * first - r * second);
        let force = spring(lift) * square.sqrt() / r;
        let flank = if outer { -(path + 10.0) } else { path - 10.0 };
        let dents = force / 10.0 * (1.0 / 10.0 + 1.0 / flank);
        let p = (dents / (PI * 2.0 * steel)).sqrt();
        if p > worst.0 {
            worst = (p, degrees);
        }
    }
    worst
}

#[test]
fn the_hardest_contact_is_where_force_and_bulge_together_are_worst() {
    let touch = |text: &str| {
        let parts = studies::parts::parts(&model(text));
        let cam = parts.items.into_iter().find(|e| e.about == "cam.feed");
        let mut checks = cam.unwrap().checks.into_iter();
        checks.find(|c| c.what.contains("contact"))
    };
    // Pulled down over a long spring: the force grows a little with the lift, the flank is sharpest elsewhere.
    let found = touch(&sprung("-1000", "0.6", "")).unwrap();
    let (worst, at) = pressure(&|lift| 0.6 * (1060.0 + lift - 20.0), false);
    assert!(
        (found.acts / worst - 1.0).abs() < 1e-6,
        "{} {worst} at {at}",
        found.acts
    );
    // Pulled up in a track: the roller lies in the hollow of the outer flank.
    let found = touch(&sprung("200", "5", "track = true")).unwrap();
    let (worst, at) = pressure(&|lift| 5.0 * (140.0 - lift - 20.0), true);
    assert!(
        (found.acts / worst - 1.0).abs() < 1e-6,
        "{} {worst} at {at}",
        found.acts
    );
    // Pulled off an open cam nothing touches.
    assert!(touch(&sprung("200", "5", "")).is_none());
}

#[test]
fn tables_that_cut_nothing_are_refused() {
    let refused = |more: &str, cutter: f64| {
        let model = model(&sprung("-1000", "0.6", more));
        let table = studies::cams::table(&model, 0, Some(cutter), 1_f64.to_radians());
        table.err().map(|e| e.message).unwrap_or_default()
    };
    assert_eq!(refused("track = true", 20.0), "");
    assert!(refused("track = true", 30.0).contains("30 mm does not go into its track, 20 mm wide"));
    let text = sprung("-1000", "0.6", "").replace("diameter = \"20 mm\"", "diameter = \"110 mm\"");
    let table = studies::cams::table(&model(&text), 0, None, 1_f64.to_radians());
    assert!(table.err().unwrap().message.contains("is undercut"));
}

/// A wheel of 80 teeth of module 2.5: roots at 2.5 (40 - 1.25) = 96.875, teeth 5.625 deep, a full rim 6.75. A track for a roller of 20 whose
/// centre goes out to 40 + `circle` reaches 10 farther.
#[test]
fn a_track_leaves_the_teeth_of_its_wheel_a_rim() {
    let told = |circle: f64| {
        let text = format!(
            r#"
[point]
c = [0, 0]
p = [125, 0]
ro = [0, -{circle}]
[frame]
carries = ["c", "p"]
[part.wheel]
carries = ["c"]
[part.pinion]
carries = ["p"]
[part.ram]
carries = ["ro"]
[slide.guide]
part = "ram"
along = "up"
[gear.main]
joins = ["pinion", "wheel"]
teeth = [20, 80]
module = "2.5 mm"
[cam.k]
on = "wheel"
roller = "ro"
diameter = "20 mm"
track = true
program = [{{ rise = "40 mm", over = "150 deg" }}, {{ return = "40 mm", over = "150 deg" }}, {{ dwell = "rest" }}]
[drive.turn]
turns = "wheel"
range = "whole turn"
"#
        );
        let found = studies::check(&model(&text)).findings;
        let of = |f: studies::Finding| f.sentence.contains("teeth").then_some(f);
        found.into_iter().find_map(of)
    };
    // 96.875 - 90.1 = 6.775.
    assert!(told(40.1).is_none());
    let thin = told(40.2).unwrap();
    assert_eq!(thin.severity, studies::Severity::Caution);
    assert!((thin.number.unwrap() - 6.675).abs() < 1e-6, "{thin:?}");
    assert!((thin.margin.unwrap() + 0.075).abs() < 1e-6, "{thin:?}");
    assert_eq!(told(44.2).unwrap().severity, studies::Severity::Miss);
    let cut = told(47.0).unwrap();
    assert_eq!(cut.severity, studies::Severity::Fault);
    assert!(
        cut.sentence.contains("cuts through them"),
        "{}",
        cut.sentence
    );
}
