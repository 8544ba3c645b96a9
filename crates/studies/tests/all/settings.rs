//! Settings and joints of every kind against closed forms, and values as people write them.

use crate::common::{close, four_bar, model, motion, read, stand};
use std::f64::consts::FRAC_PI_2;

#[test]
fn a_rod_is_set_by_length_or_by_turns_of_its_thread() {
    let (a, c, d, t) = (40.0_f64, 80.0, 100.0, 40_f64.to_radians());
    let model = model(&four_bar(a, 120.0, c, d, 40.0, "upper"));
    let height = |b: f64| {
        let (p, e) = ([a * t.cos(), a * t.sin()], [d - a * t.cos(), -a * t.sin()]);
        let l = e[0].hypot(e[1]);
        let x = (l * l + b * b - c * c) / (2.0 * l);
        p[1] + (x * e[1] + (b * b - x * x).sqrt() * e[0]) / l
    };
    for (text, b) in [
        ("coupler = 1.5 mm", 121.5),
        ("coupler = -2 mm", 118.0),
        ("coupler = 2 turns", 122.5),
    ] {
        // M8 coarse: 1.25 mm a turn (ISO 261).
        close(read(&model, &[text], "height"), height(b), 1e-10);
    }
    let refusal = studies::readings(&model, &stand(&model, &["coupler = 60 mm"])).unwrap_err();
    assert!(
        refusal
            .message
            .starts_with("with coupler = 60 mm the machine does not assemble"),
        "{refusal}"
    );
}

const LEVER: &str = r#"
name = "Arm on a shaft"
[plane.side]
origin = [300, 0, 0]
right = [0, 0, -1]
up = [0, 1, 0]
[point]
axis = { at = [0, 0], plane = "side", station = 20 }
journal = { from = "axis", reach = 12, angle = "25 deg", station = -30 }
arm-pin = { from = "axis", reach = 60, angle = "110 deg" }
tip = { from = "axis", reach = 90, angle = "100 deg" }
pad = { from = "axis", by = [40, 0] }
[row.holes]
on = "arm"
first = { from = "axis", reach = 30, angle = "110 deg" }
step = { reach = 8, angle = "110 deg" }
count = 4
use = 2
[frame]
carries = ["axis", "pad"]
[shaft.cross]
centre = "axis"
carries = ["journal"]
[part.arm]
carries = ["arm-pin", "tip"]
clamped-to = "cross"
[drive.turn]
turns = "cross"
range = ["-90 deg", "90 deg"]
[setting.clock]
clock = "arm"
step = "1 deg"
[setting.hole]
row = "holes"
[setting.shim]
shim = "tip"
along = "up"
step = "0.1 mm"
range = ["0 mm", "2 mm"]
[reading.arm]
turn-of = "arm"
drawn = "110 deg"
[reading.hole-up]
place-of = "holes"
along = "up"
[reading.tip-up]
place-of = "tip"
along = "up"
[reading.journal-up]
place-of = "journal"
along = "up"
[reading.tip-from-pad]
distance = ["pad", "tip"]
[reading.journal-from-tip]
distance = ["journal", "tip"]
"#;

#[test]
fn clock_angle_hole_row_and_shim_move_what_they_say() {
    let model = model(LEVER);
    let deg = |d: f64| d.to_radians();
    close(read(&model, &["clock = 7 deg"], "arm"), deg(117.0), 1e-12);
    close(
        read(&model, &["clock = 7 deg", "turn = 20 deg"], "tip-up"),
        90.0 * deg(127.0).sin(),
        1e-10,
    );
    close(
        read(&model, &["clock = 7 deg", "turn = 20 deg"], "journal-up"),
        12.0 * deg(45.0).sin(),
        1e-11,
    );
    for hole in 1..=4 {
        let radius = 30.0 + 8.0 * f64::from(hole - 1);
        let now = read(
            &model,
            &[&format!("hole = {hole}"), "turn = -30 deg"],
            "hole-up",
        );
        close(now, radius * deg(80.0).sin(), 1e-10);
    }
    // A shim moves the hole up as drawn, and turns with the arm.
    let (x, y) = (90.0 * deg(100.0).cos(), 90.0 * deg(100.0).sin() + 0.5);
    let turned = deg(35.0).sin() * x + deg(35.0).cos() * y;
    close(
        read(&model, &["shim = 0.5 mm", "turn = 35 deg"], "tip-up"),
        turned,
        1e-10,
    );
    // Distances in space take the stations along the shaft: 20 for the tip, -30 for the journal.
    let [j, t] = [
        [12.0 * deg(25.0).cos(), 12.0 * deg(25.0).sin()],
        [90.0 * deg(100.0).cos(), 90.0 * deg(100.0).sin()],
    ];
    close(
        read(&model, &[], "journal-from-tip"),
        ((j[0] - t[0]).powi(2) + (j[1] - t[1]).powi(2) + 2500.0).sqrt(),
        1e-11,
    );
}

#[test]
fn dimensions_are_named_in_the_builders_words() {
    let model = model(LEVER);
    let names: Vec<&str> = model.dimensions().iter().map(|d| d.name.as_str()).collect();
    for name in [
        "frame: axis, right",
        "frame: pad, up",
        "cross: centre distance axis to journal",
        "arm: centre distance axis to arm-pin",
        "arm: tip, along the line axis to arm-pin",
        "arm: tip, across the line axis to arm-pin",
        "arm: holes, along the line axis to arm-pin",
        "arm: clock angle",
        "cross: station of journal",
        "arm: station of tip",
    ] {
        assert!(names.contains(&name), "{name} is not among {names:#?}");
    }
    // Stations matter for the one reading that crosses them; the pad stands at the tip's own station.
    assert_eq!(
        names.iter().filter(|n| n.contains("station")).count(),
        2,
        "{names:#?}"
    );
    let value = |name: &str| {
        let d = model.dimensions().iter().find(|d| d.name == name).unwrap();
        model.mechanism().params[d.param]
    };
    close(value("arm: clock angle"), 85_f64.to_radians(), 1e-12);
    close(
        value("arm: tip, across the line axis to arm-pin"),
        -90.0 * 10_f64.to_radians().sin(),
        1e-12,
    );
}

#[test]
fn written_values_are_checked() {
    let model = model(LEVER);
    let mut stand = model.drawn();
    let mut refused = |text: &str| model.set_pair(&mut stand, text).unwrap_err().to_string();
    assert_eq!(
        refused("trun = 3 deg"),
        "there is no drive or setting \"trun\"; perhaps \"turn\" is meant"
    );
    assert_eq!(
        refused("turn = 100 deg"),
        "100 deg is outside the range of drive turn; write a value from -90 deg to 90 deg"
    );
    assert_eq!(
        refused("hole = 9"),
        "hole has no hole number 9; write a whole number from 1 to 4"
    );
    assert_eq!(
        refused("shim = 3 mm"),
        "3 mm is outside the range of setting shim; write a value from 0 mm to 2 mm"
    );
    assert!(refused("turn 5").starts_with("\"turn 5\" is not a name with its value"));
    assert!(refused("turn = 5 mm").contains("angle"));
    assert!(!refused("turn = NaN").is_empty());
    assert!(model.sweep("turn", None, None, Some("0 deg")).is_err());
    assert!(
        model
            .sweep("tern", None, None, None)
            .unwrap_err()
            .to_string()
            .contains("\"turn\"")
    );
    assert_eq!(stand, model.drawn());
    model.set(&mut stand, "turn", "0.25 turn").unwrap();
    close(stand.drives[0], FRAC_PI_2, 1e-15);
}

#[test]
fn gears_belts_and_racks_keep_their_ratios() {
    let text = r#"
name = "Gears"
[point]
o1 = [0, 0]
o2 = [72, 0]
o3 = [200, 0]
o4 = [72, 60]
m1 = [0, 10]
m2 = [72, 10]
m3 = [200, 10]
m4 = [72, 70]
r = [84, 30]
[frame]
carries = ["o1", "o2", "o3", "o4"]
[part.pinion]
carries = ["o1", "m1"]
[part.wheel]
carries = ["o2", "m2"]
[part.pulley]
carries = ["o3", "m3"]
[part.crossed]
carries = ["o4", "m4"]
[part.bar]
carries = ["r"]
[slide.bar]
part = "bar"
along = "up"
[gear.pair]
joins = ["pinion", "wheel"]
teeth = [18, 54]
[belt.feed]
joins = ["wheel", "pulley"]
sizes = [40, 160]
[belt.back]
joins = ["wheel", "crossed"]
sizes = [40, 20]
crossed = true
[rack.lift]
gear = "wheel"
rack = "bar"
radius = 12
[drive.hand]
turns = "pinion"
sense = "clockwise"
range = ["0 deg", "720 deg"]
[reading.pinion]
turn-of = "pinion"
[reading.wheel]
turn-of = "wheel"
[reading.pulley]
turn-of = "pulley"
[reading.crossed]
turn-of = "crossed"
[reading.bar]
place-of = "r"
along = "up"
"#;
    let model = model(text);
    let table = motion(&model, "hand", None, None, Some("90 deg"));
    assert_eq!(table.rows.len(), 9);
    for row in &table.rows {
        let value = |i: usize| row.cells[i].value.unwrap();
        close(value(0), -row.at, 1e-11);
        close(value(1), row.at / 3.0, 1e-11);
        close(value(2), row.at / 12.0, 1e-11);
        close(value(3), -row.at / 1.5, 1e-11);
        close(value(4), 30.0 + 12.0 * row.at / 3.0, 1e-10);
        close(row.cells[4].rate.unwrap(), 4.0, 1e-11);
    }
}

#[test]
fn a_drive_on_a_slide_counts_from_its_drawn_value() {
    let text = r#"
name = "Wedge"
[point]
base = [0, 0]
low = [0, 0]
top = [60, 20]
[frame]
carries = ["base"]
[part.wedge]
carries = ["low"]
[part.riser]
carries = ["top"]
[slide.wedge]
part = "wedge"
along = "right"
[slide.riser]
part = "riser"
along = "up"
[slide.face]
part = "riser"
on = "wedge"
along = "10 deg"
[drive.push]
slides = "wedge"
range = ["5 mm", "45 mm"]
drawn = "25 mm"
sense = "backward"
[reading.rise]
place-of = "top"
along = "up"
"#;
    let model = model(text);
    // Three straight slides in one plane: the plain count sees no freedom, yet it moves.
    let check = studies::check(&model);
    assert_eq!((check.freedoms, check.counted), (1, 0));
    let slope = 10_f64.to_radians().tan();
    for at in [5.0, 20.0, 45.0] {
        close(
            read(&model, &[&format!("push = {at} mm")], "rise"),
            20.0 + slope * (at - 25.0),
            1e-10,
        );
    }
}
