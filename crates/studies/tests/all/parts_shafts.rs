//! Arms held on their shafts, and shafts at their steps: by hand, the formula beside it.
#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use crate::common::close;
use crate::parts_common::{check, item, only_fault, study};
use studies::parts::answers::{Checked, Item, Kind};
use studies::{Finding, Severity};

/// An arm on a shaft that a rod turns.
fn arm(held: &str) -> String {
    format!(
        r#"
[point]
axis = [0, 0]
pin  = [0, 60]
[frame]
carries = ["axis"]
[shaft.cross]
centre = "axis"
stock  = {{ round = "20 mm", material = "1045 cold drawn" }}
[part.arm]
carries = ["pin"]
clamped-to = "cross"
stock = {{ flat = ["12 mm", "30 mm"], material = "1018 cold drawn" }}
held-by = {{ {held} }}
[drive.set]
turns = "cross"
range = ["0 deg", "5 deg"]
[load.work]
at = "pin"
force = "200 N"
along = "right"
"#
    )
}

#[test]
fn what_holds_an_arm_by_hand() {
    // 200 N at 60 mm: 12 N m on a 20 mm shaft.
    let torque = 200.0 * 60.0;
    let hold = |held: &str| item(&study(&arm(held)), Kind::Hold).clone();
    let key = hold("key = \"parallel\", hub = \"35 mm\", length = \"18 mm\"");
    close(
        check(&key, "shear of the key").acts,
        2.0 * torque / 20.0 / (6.0 * 18.0),
        1e-6,
    );
    close(
        check(&key, "pressure on the key").acts,
        2.0 * torque / 20.0 / (3.0 * 18.0),
        1e-6,
    );
    let pin = hold("pin = \"5 mm\", hub = \"35 mm\"");
    let area = std::f64::consts::PI * 25.0 / 4.0;
    close(
        check(&pin, "shear of the cross pin").acts,
        torque / 20.0 / area,
        1e-6,
    );
    let one = hold("set-screw = \"M6\", hub = \"35 mm\"");
    let two = hold("set-screw = \"M6\", count = 2, hub = \"35 mm\"");
    let of = |item: &Item| check(item, "torque on the set screws").factor.unwrap();
    close(of(&two), 2.0 * of(&one), 1e-9);
    let braze = hold("braze = true, hub = \"35 mm\", length = \"12 mm\"");
    close(
        check(&braze, "shear of the brazed joint").acts,
        torque / 10.0 / (std::f64::consts::PI * 20.0 * 12.0),
        1e-6,
    );
    let press = hold("press = \"H7/s6\", hub = \"40 mm\", length = \"20 mm\"");
    assert!(
        check(&press, "torque on the press fit at its loosest")
            .bears
            .unwrap()
            > 0.0
    );
    let looser = hold("press = \"H7/p6\", hub = \"40 mm\", length = \"20 mm\"");
    let bears = |item: &Item| {
        check(item, "torque on the press fit at its loosest")
            .bears
            .unwrap()
    };
    assert!(bears(&looser) < bears(&press));
    only_fault(
        &study(&arm("key = \"parallel\", hub = \"20 mm\"")),
        "the hub is 20 mm and the shaft 20 mm",
        "a hub of 32 mm is usual",
    );
}

#[test]
fn a_hub_too_thin_for_its_keyway_is_told() {
    let told = |hub: &str, severity: Severity| {
        let held = format!("key = \"parallel\", hub = \"{hub}\", length = \"20 mm\"");
        let parts = study(&arm(&held));
        let of = |f: &&Finding| f.severity == severity && f.sentence.contains("keyway");
        parts
            .findings
            .iter()
            .filter(of)
            .map(|f| f.sentence.clone())
            .collect::<Vec<_>>()
    };
    // A 20 mm shaft takes a key 6 x 6, 2.8 deep in the hub.
    let through = told("24 mm", Severity::Fault);
    assert!(
        through.len() == 1 && through[0].contains("2.8 mm deep in a wall of 2 mm"),
        "{through:?}"
    );
    assert_eq!(told("28 mm", Severity::Caution).len(), 1);
    assert!(
        told("36 mm", Severity::Caution).is_empty() && told("36 mm", Severity::Fault).is_empty()
    );
}

/// A shaft on bearings 120 apart with an arm half way, pulled with 200 N, turned in steps.
fn stepped(steps: &str) -> String {
    let text = arm("pin = \"5 mm\", hub = \"36 mm\", length = \"20 mm\"");
    let bearings = "centre = \"axis\"\nbearings = [\"-60 mm\", \"60 mm\"]";
    text.replace("centre = \"axis\"", bearings)
        + &format!("\n[piece.cross]\nstarts = \"-60 mm\"\nsteps = [{steps}]\n")
}

#[test]
fn steps_of_a_shaft_are_looked_at_where_they_are() {
    let at = |steps: &str| {
        let parts = study(&stepped(steps));
        let shaft = item(&parts, Kind::Shaft).clone();
        let of = |c: &&Checked| c.what.contains("at the step");
        shaft.checks.iter().find(of).cloned()
    };
    assert!(at("{ diameter = \"20 mm\", length = \"120 mm\" }").is_none());
    let down = |small: &str| {
        at(&format!(
            "{{ diameter = \"20 mm\", length = \"90 mm\" }}, {{ diameter = \"{small}\", length = \"30 mm\" }}"
        ))
        .unwrap()
    };
    // 100 N on each bearing, 30 mm from the step: 3 N m on 12 mm, and no torsion beyond the arm.
    let step = down("12 mm");
    assert!(
        step.what
            .contains("the step from 20 mm to 12 mm, station 30 mm"),
        "{}",
        step.what
    );
    let bending = 32.0 * 3000.0 / (std::f64::consts::PI * 12.0f64.powi(3));
    close(step.acts, bending, 0.02 * bending);
    // It goes with the cube.
    let thin = down("6 mm");
    close(thin.acts / step.acts, 8.0, 0.01);
}
