//! What holds an arm on its shaft is made in both, and bought.

use machine::Machine;
use quantity::Unit;
use shop::part::Form;
use shop::{Grade, Job};
use std::path::{Path, PathBuf};

/// A crank on a shaft with an eccentric, held by this.
fn crank(held: &str) -> Machine {
    let text = format!(
        r#"
name = "Crank on a shaft"
unit = "mm"
shop = "shop.toml"
[point]
axis   = [0, 0]
throw  = {{ from = "axis", reach = 6, angle = "0 deg", station = 30 }}
handle = {{ from = "axis", reach = 120, angle = "90 deg", station = 75 }}
[frame]
carries = ["axis"]
[shaft.spindle]
centre  = "axis"
carries = ["throw"]
stock   = {{ round = "60 mm", material = "1045 cold drawn" }}
[part.crank]
carries = ["handle"]
clamped-to = "spindle"
stock = {{ flat = ["12 mm", "30 mm"], material = "1018 cold drawn" }}
held-by = {{ {held}, hub = "54 mm", length = "20 mm" }}
[drive.turn]
turns = "crank"
range = ["0 deg", "90 deg"]
step = "10 deg"
[reading.turned]
turn-of = "spindle"
[joint.axis]
diameter = "30 h6"
[piece.crank]
[piece.spindle]
starts = "0 mm"
steps = [
  {{ diameter = "40 mm", length = "20 mm" }},
  {{ diameter = "40 mm", length = "20 mm", offset = "throw" }},
  {{ diameter = "34 mm", length = "10 mm" }},
  {{ diameter = "30 h6", length = "50 mm" }},
]
"#
    );
    let at = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/strap-embosser/crank.toml");
    let read = machine::read_as(&at, text.as_bytes());
    read.machine
        .unwrap_or_else(|| panic!("{:?}", read.problems))
}

fn job(machine: &Machine) -> Job {
    shop::job(machine, &[])
}

fn told(job: &Job, name: &str) -> String {
    let sheet = job.sheets.iter().find(|s| s.part == name).unwrap();
    let steps = sheet.setups.iter().flat_map(|s| &s.steps);
    steps
        .map(|s| format!("{} [{}] at {} | check {}", s.text, s.tool, s.at, s.check))
        .collect::<Vec<String>>()
        .join("\n")
}

fn notes(job: &Job, name: &str) -> String {
    let part = job.parts.iter().find(|p| p.name == name).unwrap();
    let all = part.joined.iter().filter_map(|j| j.note(Unit::Millimetre));
    all.collect::<Vec<_>>().join("\n")
}

fn buys(job: &Job, what: &str) -> bool {
    job.bought.iter().any(|b| b.what.contains(what))
}

#[test]
fn a_parallel_key_has_a_seat_in_both() {
    let all = job(&crank("key = \"parallel\""));
    // ⌀30: 8 x 7, 4 deep in the shaft, 3.3 in the hub (ISO 773 / DIN 6885-1); 8 JS9 ± 0.018, P9 −0.015 to −0.051 (ISO 286-2).
    let hub = notes(&all, "crank");
    assert!(
        hub.contains("8 JS9 (+0.018 / -0.018) wide, 33.3 (+0.2 / 0)"),
        "{hub}"
    );
    let shaft = notes(&all, "spindle");
    assert!(
        shaft.contains("8 P9 (-0.015 / -0.051) wide, 4 (+0.2 / 0) deep, 20 long"),
        "{shaft}"
    );
    // The arm points to 90°, its points stand at station 75: 75 from the left end, the seat at 270°.
    assert!(shaft.contains("75 from the left face, at 270°"), "{shaft}");
    let steps = told(&all, "spindle");
    // Over the floor to the far side: 30 − 4; a cutter of 6 runs 14 for 20.
    assert!(
        steps.contains("end mill 6") && steps.contains("from 68.000 to 82.000"),
        "{steps}"
    );
    assert!(
        steps.contains("far side 26") && steps.contains("turn it by 90° counter-clockwise"),
        "{steps}"
    );
    assert!(told(&all, "crank").contains("over bore and keyway 33.3"));
    assert!(buys(&all, "parallel key 8 x 7 x 20"));
}

/// The embosser's crank and its handle arm, 30 degrees apart, are keyed on one shaft without anything else that tells a direction.
#[test]
fn a_second_keyway_is_found_from_the_first() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples/strap-embosser/machine.toml");
    let machine = machine::read(&path).machine.unwrap();
    let steps = told(&job(&machine), "crank-shaft");
    assert!(
        steps.contains(
            "A key in the keyway of crank, straight up by a square; then turn the work by 30°"
        ),
        "{steps}"
    );
    // At the end of the shaft the cutter comes in from outside.
    assert!(
        steps.contains("from -6.000 to 7.000, in from the left end"),
        "{steps}"
    );
}

#[test]
fn screws_slits_and_pins() {
    let all = job(&crank("set-screw = \"M6\", count = 2"));
    let hub = told(&all, "crank");
    assert_eq!(hub.matches("tap M6").count(), 4, "{hub}");
    assert!(notes(&all, "crank").contains("2 x M6 through the hub") && buys(&all, "set screw M6"));
    assert!(notes(&all, "spindle").contains("spot for each set screw"));

    let all = job(&crank("pinch-screw = \"M6\""));
    let hub = told(&all, "crank");
    // Axis of the screw 15 + 3.3 + 1 from the shaft's; clearance 6.6 (ISO 273 medium).
    assert!(
        hub.contains("19.300 from the bore's axis") && hub.contains("open to 6.6"),
        "{hub}"
    );
    let (screw, slit) = (
        hub.find("tap M6").unwrap(),
        hub.find("Slit the hub").unwrap(),
    );
    assert!(screw < slit && buys(&all, "cap screw M6"));

    let all = job(&crank("pin = \"8 mm\""));
    assert!(
        notes(&all, "crank").contains("drilled and reamed together") && buys(&all, "pin 8 x 54")
    );
    assert!(notes(&all, "spindle").contains("not drilled before assembly"));
}

#[test]
fn a_hub_too_thin_for_its_screw_is_told() {
    let mut m = crank("pinch-screw = \"M10\"");
    for p in &mut m.work.parts {
        if let Some(h) = &mut p.held_by {
            h.hub = Some(40.0);
        }
    }
    let all = job(&m);
    assert!(
        all.findings
            .iter()
            .any(|f| f.grade == Grade::WayRound
                && f.text.contains("does not go through a wall of 5"))
    );
}

#[test]
fn a_hole_of_the_pin_waits_for_assembly() {
    let path: PathBuf =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/strap-embosser/machine.toml");
    let text = std::fs::read_to_string(&path).unwrap();
    let hole = "[piece.cross-shaft]\ncross.pin = { at = \"222.5 mm\", from = \"90 deg\", ream = \"10 H7\" }";
    let text = text.replace("[piece.cross-shaft]", hole);
    let m = machine::read_as(&path, text.as_bytes()).machine.unwrap();
    let all = job(&m);
    // The arm's pin and the coil of the detent are bought.
    assert!(buys(&all, "pin 10 x 64") && buys(&all, "wire 0.8"));
    let shaft = told(&all, "cross-shaft");
    assert!(
        shaft.contains("Not yet") && !shaft.contains("reamer 10"),
        "{shaft}"
    );
}

/// Arms between the two plates of a frame, on a shaft that is turned thinner at its ends; the middle arm as it is held here, the shaft with
/// these steps.
fn rope_walk(held: &str, steps: &str) -> Machine {
    let text = format!(
        r#"
name = "Rope walk"
unit = "mm"
[point]
s  = [0, 0]
a1 = {{ at = [0, 60], station = 20 }}
a2 = {{ at = [60, 0], station = 0 }}
a3 = {{ at = [0, -60], station = 130 }}
[frame]
carries = ["s"]
stock = {{ flat = ["12 mm", "80 mm"], material = "S235JR to 16 mm" }}
[frame.hole]
s = {{ bearing = "6004-2RS", hub = "press" }}
[shaft.main]
centre = "s"
carries = []
stock = {{ round = "40 mm", material = "1045 cold drawn" }}
bearings = ["-100 mm", "100 mm"]
[part.key-arm]
carries = ["a1"]
clamped-to = "main"
stock = {{ flat = ["12 mm", "40 mm"], material = "1018 cold drawn" }}
held-by = {{ key = "parallel", hub = "44 mm", length = "25 mm" }}
[part.mid-arm]
carries = ["a2"]
clamped-to = "main"
stock = {{ flat = ["12 mm", "40 mm"], material = "1018 cold drawn" }}
held-by = {{ {held}, hub = "44 mm", length = "25 mm" }}
[part.out-arm]
carries = ["a3"]
clamped-to = "main"
stock = {{ flat = ["12 mm", "40 mm"], material = "1018 cold drawn" }}
held-by = {{ set-screw = "M6", hub = "44 mm", length = "25 mm" }}
[drive.t]
turns = "main"
range = ["0 deg", "20 deg"]
[piece.key-arm]
[piece.mid-arm]
[piece.out-arm]
[piece.plate]
count = 2
carries = ["s"]
stock = {{ flat = ["12 mm", "260 mm"], material = "S235JR to 16 mm" }}
outline = {{ from = [-60, -130], to = [60, 130], corner = "12 mm" }}
[piece.main]
starts = "-110 mm"
steps = [{steps}]
"#
    );
    let at = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/strap-embosser/rope.toml");
    let read = machine::read_as(&at, text.as_bytes());
    read.machine
        .unwrap_or_else(|| panic!("{:?}", read.problems))
}

const STEPS: &str = r#"
  { diameter = "20 k6", length = "20 mm" },
  { diameter = "24 h6", length = "180 mm" },
  { diameter = "20 k6", length = "60 mm" },
"#;

#[test]
fn arms_are_bored_to_the_step_at_their_station() {
    let all = job(&rope_walk("set-screw = \"M6\", count = 2", STEPS));
    let bore = |name: &str| {
        let part = all.parts.iter().find(|p| p.name == name).unwrap();
        let Form::Plate(p) = &part.form else { panic!() };
        p.holes[0].fitted.across()
    };
    // Stock 40, steps ⌀24 from station -90 to 90 and ⌀20 beyond.
    assert_eq!(
        [bore("key-arm"), bore("mid-arm"), bore("out-arm")],
        [24.0, 24.0, 20.0]
    );
    // ⌀24: key 8 x 7, 4 in the shaft; from the floor to the far side 20. Station 20 is 130 from the left end.
    let shaft = notes(&all, "main");
    assert!(shaft.contains("130 from the left face"), "{shaft}");
    let steps = told(&all, "main");
    assert!(
        steps.contains("far side 20 ") && !steps.contains("where the hub sits"),
        "{steps}"
    );
    assert!(!all.findings.iter().any(|f| f.text.contains("is not known")));
}

#[test]
fn screws_of_a_ring_stand_in_its_middle() {
    let all = job(&rope_walk("set-screw = \"M6\", count = 2", STEPS));
    // The hub is 25 long on a plate of 12: the ring is 13 high.
    assert!(notes(&all, "mid-arm").contains("in the middle of its ring, 6.5 from the ring's face"));
    let steps = told(&all, "mid-arm");
    assert!(
        steps.contains("6.500 from the face of the ring") && !steps.contains("12.500 from the hub"),
        "{steps}"
    );
}

#[test]
fn a_press_wants_its_step() {
    let all = job(&rope_walk("press = \"H7/s6\"", STEPS));
    let told = all
        .findings
        .iter()
        .find(|f| f.text.contains("is pressed on with H7/s6"));
    // 24 H7 is +0.021 / 0, h6 is 0 / -0.013 (ISO 286-2): 0.034 loose at the most.
    let f = told.unwrap_or_else(|| panic!("{:?}", all.findings));
    assert!(
        f.text
            .contains("main is ⌀24 h6 there: it may be 0.034 loose")
            && f.about == "main",
        "{f:?}"
    );
    assert!(f.advice.contains("24 s6"));
    let own = r#"
  { diameter = "20 k6", length = "20 mm" },
  { diameter = "24 h6", length = "60 mm" },
  { diameter = "24 s6", length = "40 mm" },
  { diameter = "24 h6", length = "80 mm" },
  { diameter = "20 k6", length = "60 mm" },
"#;
    let all = job(&rope_walk("press = \"H7/s6\"", own));
    assert!(
        !all.findings.iter().any(|f| f.text.contains("pressed on")),
        "{:?}",
        all.findings
    );
}

#[test]
fn arms_between_two_plates_go_on_before_the_second() {
    let m = rope_walk("press = \"H7/s6\"", STEPS);
    let all = job(&m);
    let stages = shop::order::stages(&m, &all.parts);
    let at = |what: &str| {
        stages
            .iter()
            .position(|s| s.what.contains(what))
            .unwrap_or_else(|| panic!("{what}: {stages:?}"))
    };
    // Pressed first, then the other one; then the frame closes; the arm outside comes last.
    let frame = at("then the other plate over it");
    assert!(at("Put the mid arm onto the main") < at("Put the key arm onto the main"));
    assert!(at("Put the key arm") < frame && frame < at("Put the out arm"));
    assert!(
        stages[frame]
            .what
            .contains("main with mid arm and key arm on it into it, then the other plate")
    );
}

#[test]
fn a_bored_arm_that_does_not_fit_its_step_or_pass_is_told() {
    let collar = r#"
  { diameter = "30 mm", length = "20 mm" },
  { diameter = "24 h6", length = "180 mm" },
  { diameter = "28 mm", length = "60 mm" },
"#;
    let all = job(&rope_walk("set-screw = \"M6\"", collar));
    assert!(
        all.findings.iter().any(|f| f.grade == Grade::Cannot
            && f.text
                .contains("mid arm does not come to its place on main")
            && f.text.contains("⌀30")
            && f.text.contains("⌀28")),
        "{:?}",
        all.findings
    );
}

#[test]
fn a_pinch_screw_keeps_metal_on_both_sides() {
    let all = job(&rope_walk("pinch-screw = \"M6\"", STEPS));
    // ⌀24 and hub 44: hole 6.6 (ISO 273), 1 to the bore, 10 - 6.6 - 1 = 2.4 outside, less than half of M6: hub 2 x (12 + 7.6 + 3) = 45.2, 46.
    let f = all
        .findings
        .iter()
        .find(|f| f.text.contains("outside the pinch screw M6"));
    let f = f.unwrap_or_else(|| panic!("{:?}", all.findings));
    assert!(f.text.contains("2.4") && f.advice.contains("46"), "{f:?}");
    assert!(notes(&all, "mid-arm").contains("16.3 from the axis of the bore"));
}

#[test]
fn the_hub_of_an_arm_is_written_where_it_is_held() {
    for boss in ["s", "main"] {
        let text = r#"
name = "Arm"
unit = "mm"
[point]
s  = [0, 0]
a = { at = [0, 60], station = 20 }
[frame]
carries = ["s"]
[shaft.main]
centre = "s"
carries = []
stock = { round = "25 mm" }
[part.arm]
carries = ["a"]
clamped-to = "main"
stock = { flat = ["12 mm", "40 mm"] }
held-by = { key = "parallel", hub = "44 mm", length = "25 mm" }
[drive.t]
turns = "main"
[piece.arm]
"#;
        let text = format!("{text}boss.{boss} = \"50 mm\"\n");
        let read = machine::read_as(Path::new("arm.toml"), text.as_bytes());
        assert!(read.machine.is_none());
        let all = format!("{:?}", read.problems);
        assert!(
            all.contains("the hub of arm on its shaft is no boss") && all.contains("held-by"),
            "{all}"
        );
    }
}

#[test]
fn rod_ends_that_meet_are_told_with_what_goes_in() {
    let text = r#"
name = "Short rod"
unit = "mm"
[point]
o = [0, 0]
p = [0, 50]
a = [30, 0]
b = [30, 102]
[frame]
carries = ["o", "b"]
[part.lever]
carries = ["o", "a"]
stock = { flat = ["10 mm", "30 mm"] }
[part.link]
carries = ["b", "p"]
stock = { flat = ["10 mm", "30 mm"] }
[rod.r1]
joins = ["a", "p"]
stock = { round = "12 mm" }
thread = "M8"
threads = "both ends"
rod-ends = "M8 female"
[drive.t]
turns = "lever"
range = ["0 deg", "5 deg"]
"#;
    let at = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/strap-embosser/rod.toml");
    let m = machine::read_as(&at, text.as_bytes());
    let m = m.machine.unwrap_or_else(|| panic!("{:?}", m.problems));
    let all = job(&m);
    let f = all
        .findings
        .iter()
        .find(|f| f.text.contains("meet in the middle"));
    let f = f.unwrap_or_else(|| panic!("{:?}", all.findings));
    // Between the pins √(30² + 50²) = 58.31.
    assert!(
        f.text.contains("58.31 between the pins") && !f.advice.contains("write `rod-ends`"),
        "{f:?}"
    );
    assert!(shop::order::starts(&m).iter().all(|s| s.name != "r1"));
}
