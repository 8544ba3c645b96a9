//! Machines with loads.

#![allow(
    dead_code,
    clippy::expect_used,
    reason = "every test file uses its own share of this; a test may stop at the first surprise"
)]

use machine::Machine;
use studies::load::answers::{CaseLoads, JointForce, LoadRow, Loads};
use studies::load::{LoadRequest, load};
use studies::{Model, assemble};

/// Reads a machine that has nothing wrong with it.
pub(crate) fn read(text: &str) -> Machine {
    let reading = machine::read_text("machine.toml", text);
    let told = machine::render_all(&reading.problems, &reading.sources, false);
    reading.machine.unwrap_or_else(|| panic!("{told}"))
}

pub(crate) fn model(text: &str) -> Model {
    assemble(&read(text))
}

/// The strap embosser of the examples.
pub(crate) const EMBOSSER: &str =
    include_str!("../../../../../examples/strap-embosser/machine.toml");

/// The embosser with weights and without its own spring: tests that add up forces by hand bring springs of their own.
pub(crate) fn weighed() -> String {
    assert!(EMBOSSER.contains("\nweight"));
    match EMBOSSER.split_once("[spring.balance]") {
        Some((before, spring)) => {
            let (_, after) = spring.split_once("\n\n").expect("something follows");
            format!("{before}{after}")
        }
        None => EMBOSSER.to_owned(),
    }
}

/// The embosser with weights, two springs, a palm on the crank and a brake.
pub(crate) fn laden() -> String {
    weighed()
        + r#"
[spring.turn]
turns = "bell-crank"
rate  = "50 N mm/deg"
slack = "-60 deg"
[spring.lift]
between = ["anvil", "shaft-axis"]
rate    = "3 N/mm"
free    = "100 mm"
[load.palm]
at    = "crank-handle"
force = "50 N"
along = "200 deg"
with  = "crank"
[load.brake]
on     = "lever"
moment = "-1.5 N m"
[case.laden]
loads = ["leather", "palm", "brake"]
when  = { crank = "170 deg" }
"#
}

/// A shaft of this diameter on two bearings, an arm on either side of the middle; 100 N on one, a rod holds the other.
pub(crate) fn shaft_with_arms(diameter: u32) -> String {
    r#"
name = "shaft with two arms"
[point]
axis = [0, 0]
p = { at = [0, 40], station = 30 }
q = { at = [40, 0], station = 90 }
foot = { at = [40, -100], station = 90 }
[frame]
carries = ["axis", "foot"]
[shaft.s]
centre = "axis"
stock = { round = "{diameter} mm" }
bearings = ["0 mm", "120 mm"]
[part.one]
carries = ["p"]
clamped-to = "s"
[part.two]
carries = ["q"]
clamped-to = "s"
[rod.tie]
joins = ["q", "foot"]
[load.across]
at = "p"
force = "100 N"
along = "right"
"#
    .replace("{diameter}", &diameter.to_string())
}

pub(crate) fn case_of(model: &Model, name: &str) -> usize {
    model
        .machine()
        .work
        .cases
        .iter()
        .position(|c| c.name == name)
        .expect("the case is there")
}

/// All forces in one pose under one case.
pub(crate) fn one(model: &Model, drives: &[(&str, f64)], case: Option<usize>) -> Loads {
    let mut stand = model.drawn();
    for (name, value) in drives {
        let drive = model
            .machine()
            .drives
            .iter()
            .position(|d| d.name == *name)
            .expect("the drive is there");
        stand.drives[drive] = *value;
    }
    load(model, &stand, &LoadRequest { case, sweep: None }).expect("it can be loaded")
}

pub(crate) fn row(loads: &Loads) -> (&CaseLoads, &LoadRow) {
    (&loads.cases[0], &loads.cases[0].rows[0])
}

/// The joint with this name.
pub(crate) fn joint<'l>(loads: &'l Loads, name: &str) -> &'l JointForce {
    let at = loads.joints.iter().position(|j| j.name == name);
    let names: Vec<&str> = loads.joints.iter().map(|j| j.name.as_str()).collect();
    &loads.cases[0].rows[0].joints[at.unwrap_or_else(|| panic!("no {name} among {names:?}"))]
}

pub(crate) fn near(got: f64, want: f64, share: f64) {
    assert!(
        (got - want).abs() <= share * want.abs().max(1e-300),
        "{got} is not {want}"
    );
}
