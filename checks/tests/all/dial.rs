//! A machine fitted to its readings, against a general least-squares library.
//!
//! `dial.json` is made by `dial.py`, which writes the machine down a second time and fits it with scipy; see there.

use serde_json::Value;
use std::fmt::Write as _;

const MACHINE: &str = r#"
name = "Four-bar"
[point]
crank-centre  = [0, 0]
rocker-centre = [100, 0]
crank-pin     = { from = "crank-centre", reach = 40, angle = "40 deg" }
knee          = { swing = [["crank-pin", 120], ["rocker-centre", 80]], take = "upper" }
[frame]
carries = ["crank-centre", "rocker-centre"]
[part.crank]
carries = ["crank-centre", "crank-pin"]
[part.rocker]
carries = ["rocker-centre", "knee"]
[rod.coupler]
joins = ["crank-pin", "knee"]
[drive.crank]
turns = "crank"
range = "whole turn"
drawn = "40 deg"
[reading.rocker]
turn-of = "rocker"
drawn   = "57.32488007036079 deg"
[reading.height]
place-of = "knee"
along    = "up"
[usual]
hole-places = "0.06 mm"
rod-lengths = "0.15 mm"
"#;

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

/// The readings as a builder's log.
fn log(case: &Value) -> String {
    // Put on by hand, its zero is known as well as was said.
    let put_on = case["drive_zero_deg"]
        .as_f64()
        .map_or(String::new(), |pm| format!("drive-zero = \"{pm} deg\"\n"));
    let mut text = format!(
        "[[run]]\nname = \"angles\"\nreading = \"rocker\"\ndrive = \"crank\"\nuncertainty = \"0.02 deg\"\n{put_on}going = \"both\"\nrows = [\n",
    );
    let rows = |key: &str| case[key].as_array().expect("rows").clone();
    for row in rows("angles_deg") {
        writeln!(
            text,
            "  [\"{} deg\", \"{} deg\", \"{} deg\"],",
            row[0], row[1], row[2]
        )
        .expect("text");
    }
    text += &format!(
        "]\n[[run]]\nname = \"heights\"\nreading = \"height\"\ndrive = \"crank\"\nuncertainty = \"0.01 mm\"\n{put_on}zero = \"true\"\nrows = [\n"
    );
    for row in rows("heights_mm") {
        writeln!(text, "  [\"{} deg\", \"{} mm\"],", row[0], row[1]).expect("text");
    }
    text + "]\n"
}

#[test]
fn a_general_library_finds_the_same_machine() {
    let cases: Vec<Value> = serde_json::from_str(include_str!("../../dial.json")).expect("reads");
    assert_eq!(cases.len(), 2);
    cases.iter().for_each(one);
}

fn one(case: &Value) {
    let read = machine::read_text("four-bar.toml", MACHINE);
    let model = studies::assemble(&read.machine.expect("a machine"));
    let known = studies::dial::known(&model);
    let log = machine::logbook::read(
        "log.toml",
        &log(case),
        model.machine(),
        &known,
        &read.sources,
    );
    assert!(log.problems.is_empty(), "{:?}", log.problems);
    let (answer, _) = studies::dial::dial_in(&model, &log.log.expect("a log")).expect("an answer");
    let fit = answer.fit.expect("a fit");
    assert!(fit.aside.is_empty(), "{:?}", fit.aside);
    assert!(
        (fit.left_over.widened - 1.0).abs() < 1e-12,
        "{:?}",
        fit.left_over
    );
    let near = |what: &str, found: f64, of: f64, within: f64| {
        assert!(
            (found - of).abs() <= within,
            "{what}: {found} instead of {of}"
        );
    };
    assert_eq!(fit.dimensions.len(), 7);
    for d in &fit.dimensions {
        let (off, band) = (
            number(&case["off_mm"][&d.dimension]),
            number(&case["plus_minus_mm"][&d.dimension]),
        );
        near(&d.dimension, d.off, off, 1e-5 * band);
        near(&d.dimension, d.after, band, 1e-5 * band);
        // The noise is known, so is the truth: it lies within the band, three times out of nothing.
        near(
            &d.dimension,
            d.off,
            number(&case["true_off_mm"][&d.dimension]),
            1.5 * band,
        );
    }
    near(
        "sum of squares",
        fit.left_over.sum,
        number(&case["sum"]),
        1e-6 * number(&case["sum"]),
    );
    match (&fit.shifts[..], case["shift_rad"].as_array()) {
        ([], None) => {}
        ([shift], Some(of)) => {
            let band = number(&of[1]);
            near("protractor", shift.value, number(&of[0]), 1e-5 * band);
            near("its band", shift.plus_minus, band, 1e-5 * band);
            assert!(shift.told, "{shift:?}");
        }
        (found, of) => panic!("{found:?} {of:?}"),
    }
    let (lost, band) = (
        number(&case["backlash_rad"][0]),
        number(&case["backlash_rad"][1]),
    );
    let [backlash] = &fit.backlash[..] else {
        panic!("one backlash: {:?}", fit.backlash)
    };
    near("backlash", backlash.value, lost, 1e-5 * band);
    near(
        "band of the backlash",
        backlash.plus_minus,
        band,
        1e-5 * band,
    );
    let angles = fit
        .runs
        .iter()
        .find(|r| r.run == "angles")
        .expect("the run");
    near(
        "zero",
        angles.zero.expect("a zero"),
        number(&case["zero_rad"]),
        1e-5 * band,
    );
}
