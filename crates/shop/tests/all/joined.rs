//! What holds an arm on its shaft is made in both, and bought.

use machine::Machine;
use quantity::Unit;
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
    // Over the floor to the far side: 30 − 4; the cutter of 8 runs 12 for 20.
    assert!(
        steps.contains("slot drill 8") && steps.contains("from 69.000 to 81.000"),
        "{steps}"
    );
    assert!(
        steps.contains("far side 26") && steps.contains("turn it by 270°"),
        "{steps}"
    );
    assert!(told(&all, "crank").contains("over bore and keyway 33.3"));
    assert!(buys(&all, "parallel key 8 x 7 x 20"));
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
    // Axis of the screw 15 + 3 + 1 from the shaft's; clearance 6.6 (ISO 273 medium).
    assert!(
        hub.contains("19.000 from the bore's axis") && hub.contains("open to 6.6"),
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
    let m = machine::read(&path).machine.unwrap();
    let all = job(&m);
    // The arm's pin and the coil of the detent are bought.
    assert!(buys(&all, "pin 10 x 64") && buys(&all, "wire 0.8"));
    let shaft = told(&all, "cross-shaft");
    assert!(
        shaft.contains("Not yet") && !shaft.contains("reamer 10"),
        "{shaft}"
    );
}
