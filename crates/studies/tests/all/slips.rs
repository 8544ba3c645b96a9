//! A mistyped place, length or ratio makes no question run on: it is refused, followed in a few steps, or given up with a word.

use crate::common::model;
use mechanics::{State, follow};
use std::f64::consts::TAU;
use studies::{Severity, assemble, check};

/// A belt from a motor to a pulley so many times as large; the motor carries a crank that moves a slide, or not.
fn belt(large: &str, arm: &str) -> String {
    format!(
        r#"
[point]
m = [-100, 0]
c = [0, 0]
arm = [-80, 0]
s = [-20, 0]
[frame]
carries = ["m", "c"]
[part.motor]
carries = ["m"{arm}]
[part.wheel]
carries = ["c"]
[belt.b]
joins = ["motor", "wheel"]
sizes = [40, {large}]
[drive.turn]
turns = "wheel"
range = "whole turn"
"#
    )
}

const SLIDE: &str = r#"
[part.ram]
carries = ["s"]
[slide.ram]
part = "ram"
along = "right"
[rod.l]
joins = ["arm", "s"]
[reading.x]
place-of = "s"
along = "right"
"#;

#[test]
fn a_shaft_that_only_spins_is_followed_in_a_step() {
    let model = model(&belt("60000", ""));
    let from = State {
        params: model.params(&model.drawn()),
        poses: model.mechanism().drawn.clone(),
    };
    let mut there = model.drawn();
    there.drives[0] += TAU;
    let found = follow(model.mechanism(), &from, &model.params(&there));
    assert_eq!(found.share, 1.0);
    // 1500 turns of the motor, which in steps of a quarter of a radian are 38 000.
    assert!(found.steps < 100, "{}", found.steps);
    let motor = found.state.poses[1].angle - from.poses[1].angle;
    assert!((motor - 1500.0 * TAU).abs() < 1e-6, "{motor}");
}

#[test]
fn what_can_hardly_be_followed_is_given_up_with_a_word() {
    let text = belt("600000", ", \"arm\"") + SLIDE;
    let machine = machine::read_text("t.toml", &text).machine.unwrap();
    let model = assemble(&machine).metered();
    let found = check(&model);
    let told = |f: &studies::Finding| {
        f.severity == Severity::Fault && f.sentence.contains("can hardly be followed")
    };
    assert!(found.findings.iter().any(told), "{:?}", found.findings);
    assert!(found.asks.is_empty() && found.reach.is_empty());
    assert!(model.within().is_err());
    // The same each time.
    assert_eq!(found, check(&assemble(&machine).metered()));
    // And a machine without the slip is not.
    let text = belt("60", ", \"arm\"") + SLIDE;
    let machine = machine::read_text("t.toml", &text).machine.unwrap();
    let model = assemble(&machine).metered();
    let found = check(&model);
    assert!(!found.findings.iter().any(told), "{:?}", found.findings);
    assert!(model.within().is_ok());
}
