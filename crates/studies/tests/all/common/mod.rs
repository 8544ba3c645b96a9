//! Small machines for tests, written as a builder would write them.
#![allow(dead_code)]
#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use studies::{Model, Motion, Stand};

/// Reads and assembles; a file with problems fails the test and shows them.
pub(crate) fn model(text: &str) -> Model {
    let reading = machine::read_text("test.toml", text);
    let problems: Vec<String> = reading
        .problems
        .iter()
        .map(|p| format!("{}: {:?}", p.message, p.help))
        .collect();
    let machine = reading
        .machine
        .unwrap_or_else(|| panic!("{problems:#?}\n{text}"));
    studies::assemble(&machine)
}

/// Everything as drawn but for these.
pub(crate) fn stand(model: &Model, values: &[&str]) -> Stand {
    let mut stand = model.drawn();
    for value in values {
        model.set_pair(&mut stand, value).unwrap();
    }
    stand
}

pub(crate) fn index(model: &Model, reading: &str) -> usize {
    model
        .machine()
        .readings
        .iter()
        .position(|r| r.name == reading)
        .unwrap()
}

/// A reading at these values.
pub(crate) fn read(model: &Model, values: &[&str], reading: &str) -> f64 {
    let all = studies::readings(model, &stand(model, values)).unwrap();
    all[index(model, reading)].value.unwrap()
}

pub(crate) fn read_at(model: &Model, stand: &Stand, reading: &str) -> f64 {
    studies::readings(model, stand).unwrap()[index(model, reading)]
        .value
        .unwrap()
}

/// The table of a drive over all readings.
pub(crate) fn motion(
    model: &Model,
    drive: &str,
    from: Option<&str>,
    to: Option<&str>,
    step: Option<&str>,
) -> Motion {
    let sweep = model.sweep(drive, from, to, step).unwrap();
    studies::motion(model, &model.drawn(), &sweep).unwrap()
}

#[track_caller]
pub(crate) fn close(a: f64, b: f64, tolerance: f64) {
    assert!(
        (a - b).abs() <= tolerance,
        "{a} and {b} differ by {:e}, allowed {tolerance:e}",
        (a - b).abs()
    );
}

/// A four-bar: crank a, coupler rod b, rocker c, centres d along the right; drawn with the crank at this angle.
pub(crate) fn four_bar(a: f64, b: f64, c: f64, d: f64, crank_deg: f64, take: &str) -> String {
    format!(
        r#"
name = "Four-bar"
[point]
a0 = [0, 0]
b0 = [{d}, 0]
a = {{ from = "a0", reach = {a}, angle = "{crank_deg} deg" }}
b = {{ swing = [["a", {b}], ["b0", {c}]], take = "{take}" }}
[frame]
carries = ["a0", "b0"]
[part.crank]
carries = ["a0", "a"]
[part.rocker]
carries = ["b0", "b"]
[rod.coupler]
joins = ["a", "b"]
thread = "M8"
[drive.crank]
turns = "crank"
drawn = "{crank_deg} deg"
[setting.coupler]
rod = "coupler"
[reading.rocker]
turn-of = "rocker"
[reading.height]
place-of = "b"
along = "up"
[reading.reach]
place-of = "b"
along = "right"
"#
    )
}
