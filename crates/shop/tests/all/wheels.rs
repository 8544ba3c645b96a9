//! Geneva wheels, racks, ring gears, hardened parts: made as they are in the file, sizes by closed forms.

use shop::part::{Form, Plate};
use shop::{Grade, Job};
use std::f64::consts::PI;
use std::path::Path;

fn of(text: &str) -> Job {
    let at = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/strap-embosser/some.toml");
    let read = machine::read_as(&at, text.as_bytes());
    let machine = read
        .machine
        .unwrap_or_else(|| panic!("{:?}", read.problems));
    shop::job(&machine, &[])
}

fn plate<'a>(job: &'a Job, name: &str) -> &'a Plate {
    let part = job.parts.iter().find(|p| p.name == name);
    match &part.unwrap_or_else(|| panic!("no {name}")).form {
        Form::Plate(p) => p,
        Form::Turned(_) => panic!("a plate"),
    }
}

fn told(job: &Job, name: &str) -> String {
    let sheet = job.sheets.iter().find(|s| s.part == name).unwrap();
    let steps = sheet.setups.iter().flat_map(|s| &s.steps);
    steps
        .map(|s| format!("{} [{}] at {} | check {}", s.text, s.tool, s.at, s.check))
        .collect::<Vec<String>>()
        .join("\n")
}

const INDEXER: &str = r#"
name = "Indexer"
unit = "mm"
[point]
c = [0, 0]
st = [0, 80]
pin = { from = "c", reach = 40, angle = "60 deg" }
[frame]
carries = ["c", "st"]
[part.driver]
carries = ["c", "pin"]
stock = { flat = ["12 mm", "40 mm"], material = "1018 cold drawn" }
hole.c = { ream = "12 H7" }
hole.pin = { ream = "8 H7" }
[part.star]
carries = ["st"]
stock = { flat = ["10 mm", "150 mm"], material = "1018 cold drawn" }
hole.st = { ream = "12 H7" }
[geneva.index]
driver = "driver"
pin = "pin"
wheel = "star"
slots = 6
[drive.d]
turns = "driver"
range = "whole turn"
[piece.driver]
[piece.star]
"#;

#[test]
fn a_geneva_wheel_has_its_slots_and_arcs() {
    let all = of(INDEXER);
    let star = plate(&all, "star");
    let wheel = star.geneva.as_ref().unwrap();
    assert!((wheel.shape.radius - 80.0 * (PI / 6.0).cos()).abs() < 1e-9);
    // As drawn the pin stands 30° before the line of centres, at 20, 34.64; the wheel's centre at 0, 80: it stands in a slot at
    // atan2(-45.36, 20) = -66.21°.
    let to_pin = (40.0 * (PI / 3.0).sin() - 80.0_f64).atan2(20.0);
    let near = wheel
        .slots()
        .into_iter()
        .map(|a| (a - to_pin + PI).rem_euclid(2.0 * PI) - PI)
        .fold(f64::INFINITY, |a, b: f64| a.min(b.abs()));
    assert!(near < 1e-9, "{near}");
    // In the slot, at the pin's middle, there is no metal; in the tooth beside it there is; on the driver's axis none.
    let rel = |p: [f64; 2]| [p[0], p[1] - 80.0];
    assert!(!star.outline.holds(rel([20.0, 34.641])));
    assert!(star.outline.holds(rel([20.0 + 8.0, 34.641 + 8.0])));
    // The outline is cut as one piece of 6 x 6 sides.
    assert_eq!(star.outline.sides().len(), 36);
    let steps = told(&all, "star");
    assert!(
        steps.contains("Mill the 6 slots 8 H9") && steps.contains("Turn the rim to ⌀138.564"),
        "{steps}"
    );
    assert!(
        steps.contains("6 locking arcs R28") && steps.contains("x 80.000"),
        "{steps}"
    );
    // The disc that locks it is made too, and clears the wheel.
    let lock = plate(&all, "driver-lock");
    let [low, high] = lock.outline.bounds();
    assert!(
        (low[0] + 27.9).abs() < 1e-9 && high[0] < 27.9 && (high[1] - 27.9).abs() < 1e-6,
        "{low:?} {high:?}"
    );
    let room = lock.outline.sides().into_iter().map(|s| {
        (0..=20)
            .map(|n| s.at(f64::from(n) / 20.0))
            .map(|p| (p[0] - 80.0).hypot(p[1]))
            .fold(f64::INFINITY, f64::min)
    });
    let room = room.fold(f64::INFINITY, f64::min);
    // It lets go as the pin goes in, 60 degrees before the line of centres: the end of its arc is then on that line, 27.9 from its centre.
    let wanted = (80.0_f64 - 27.9 * 0.5).hypot(27.9 * 0.75_f64.sqrt());
    assert!(
        (room - wanted).abs() < 1e-4 && room > 69.282_03 + 0.3,
        "{room} {wanted}"
    );
    assert!(
        !all.findings.iter().any(|f| f.grade == Grade::Cannot),
        "{:?}",
        all.findings
    );
}

fn rack(outline: &str) -> Job {
    of(&format!(
        r#"
name = "Feed"
unit = "mm"
[point]
pc = [-100, 0]
bar-end = [-80, 60]
[frame]
carries = ["pc"]
[part.pinion]
carries = ["pc"]
stock = {{ round = "30 mm", material = "1045 cold drawn" }}
hole.pc = {{ ream = "8 H7" }}
[part.bar]
carries = ["bar-end"]
stock = {{ flat = ["12 mm", "20 mm"], material = "1018 cold drawn" }}
hole.bar-end = {{ ream = "6 H7" }}
[slide.bar]
part = "bar"
along = "up"
[rack.r]
gear = "pinion"
rack = "bar"
teeth = 16
module = "1.5 mm"
face = "12 mm"
[drive.p]
turns = "pinion"
range = ["0 deg", "90 deg"]
[piece.bar]
outline = {{ {outline} }}
"#
    ))
}

#[test]
fn a_rack_bar_has_its_teeth() {
    // Pitch line 12 from the pinion's centre, tips a module nearer: 10.5, which is x -9.5 of the bar.
    let all = rack("from = [-9.5, -60], to = [10.5, 120]");
    let bar = plate(&all, "bar");
    let teeth = bar.rack.as_ref().unwrap();
    assert!((teeth.pitch() - 1.5 * PI).abs() < 1e-12);
    assert!((teeth.edge[0][0] + 9.5).abs() < 1e-9 && (teeth.length() - 180.0).abs() < 1e-9);
    // 180 / 4.712 = 38.2: 37 whole spaces with metal at both ends.
    assert_eq!(teeth.spaces, 37);
    assert!(
        bar.said.iter().any(|n| n.contains("pitch 4.712")
            && n.contains("3.375 deep")
            && n.contains("75.398 of travel")),
        "{:?}",
        bar.said
    );
    let steps = told(&all, "bar");
    assert!(
        steps.contains("Cut 37 spaces") && steps.contains("4.712 from space to space"),
        "{steps}"
    );
    assert!(
        !all.findings.iter().any(|f| f.grade == Grade::Cannot),
        "{:?}",
        all.findings
    );
}

#[test]
fn a_toothed_edge_in_the_wrong_place_is_told() {
    let all = rack("from = [-20, -60], to = [8, 120]");
    let f = all
        .findings
        .iter()
        .find(|f| f.text.contains("toothed edge"));
    let f = f.unwrap_or_else(|| panic!("{:?}", all.findings));
    assert!(
        f.text.contains("lies 0 from")
            && f.text.contains("belong 10.5 from it")
            && f.advice.contains("10.5 further from"),
        "{f:?}"
    );
}

#[test]
fn a_ring_gear_is_told() {
    let all = of(r#"
name = "Ring"
unit = "mm"
[point]
o = [0, 0]
p = [20, 0]
g = [60, 0]
[frame]
carries = ["o", "p"]
[part.ring]
carries = ["o", "g"]
stock = { flat = ["10 mm", "120 mm"] }
[part.pinion]
carries = ["p"]
stock = { round = "30 mm" }
[gear.inner]
joins = ["pinion", "ring"]
teeth = [20, 60]
module = "1 mm"
face = "8 mm"
inside = true
[drive.d]
turns = "pinion"
range = ["0 deg", "90 deg"]
"#);
    let f = all
        .findings
        .iter()
        .find(|f| f.text.contains("the ring gear inner"));
    let f = f.unwrap_or_else(|| panic!("{:?}", all.findings));
    // Tips m (z - 2), roots m (z + 2.5) (ISO 53).
    assert!(
        f.text.contains("tips ⌀58, roots ⌀62.5") && f.advice.contains("60 places (6°)"),
        "{f:?}"
    );
}

#[test]
fn what_is_hardened_keeps_metal_and_is_filed_before() {
    let all = of(r#"
name = "Hard"
unit = "mm"
[point]
o = [0, 0]
a = [60, 0]
[frame]
carries = ["o"]
[part.lever]
carries = ["o", "a"]
[drive.d]
turns = "lever"
range = ["0 deg", "90 deg"]
[piece.stud]
stock = { round = "6 mm", material = "O1 annealed" }
note = "harden and temper"
steps = [{ diameter = "3 h6", length = "20 mm" }, { diameter = "6 mm", length = "10 mm" }]
[piece.face]
stock = { flat = ["12 mm", "40 mm"], material = "O1 annealed" }
note = "harden, temper and lap it flat"
outline = { from = [-30, -20], to = [30, 20] }
hole.screw = { at = [0, 0], drill = "9 mm" }
"#);
    let stud = told(&all, "stud");
    // 3 h6 is 0 / -0.006 (ISO 286-2): its middle 2.997 and two hundredths to lap, since nothing here grinds it.
    assert!(
        stud.contains("Finish to ⌀3.017") && stud.contains("diameter 3.017 ± 0.005"),
        "{stud}"
    );
    let order = |text: &str, first: &str, then: &str| {
        let [a, b] = [first, then].map(|w| text.find(w).unwrap_or_else(|| panic!("{w}: {text}")));
        assert!(a < b, "{text}");
    };
    order(&stud, "Break all edges", "Heat evenly");
    order(&stud, "Heat evenly", "Grind or lap");
    let face = told(&all, "face");
    order(&face, "stamp the name", "Heat evenly");
    assert!(!face[face.find("Heat evenly").unwrap()..].contains("stamp"));
    // 12 thick out of 15, milled to 12.2: a tenth on each face.
    assert!(
        face.contains("off flat 15 x 40") && face.contains("both broad sides down to 12.2"),
        "{face}"
    );
}

#[test]
fn the_papers_of_the_examples_are_whole() {
    for example in ["power-hacksaw", "rolling-mill"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("../../examples")
            .join(example)
            .join("machine.toml");
        let machine = machine::read(&path).machine.unwrap();
        let all = shop::job(&machine, &[]);
        let cannot: Vec<_> = all
            .findings
            .iter()
            .filter(|f| f.grade == Grade::Cannot)
            .collect();
        assert!(cannot.is_empty(), "{example}: {cannot:?}");
        // Every shaft is turned, and every plate that carries one has a hole for it.
        for (part, made) in machine.parts.iter().zip(&machine.work.parts).skip(1) {
            assert!(
                made.stock.is_none() || all.parts.iter().any(|p| p.name == part.name),
                "{example}: {}",
                part.name
            );
        }
        let bare = all.parts.iter().filter(|p| match &p.form {
            Form::Plate(p) => p.holes.is_empty(),
            Form::Turned(_) => false,
        });
        assert_eq!(bare.count(), 0, "{example}");
        assert!(!all.bought.is_empty());
    }
}

#[test]
fn a_collar_outside_the_plates_goes_in_from_outside() {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/power-hacksaw/machine.toml");
    let told = |text: &str| {
        let machine = machine::read_as(&path, text.as_bytes()).machine.unwrap();
        let all = shop::job(&machine, &[]);
        let stages = shop::order::stages(&machine, &all.parts);
        stages.iter().any(|s| {
            s.what
                .contains("then main with main gear on it into it, then")
        })
    };
    // Its collar stands in front of both plates; between them it does not come out again.
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(!told(&text));
    let moved = text.replace("starts = \"-104 mm\"", "starts = \"-140 mm\"");
    assert!(moved != text && told(&moved));
}
