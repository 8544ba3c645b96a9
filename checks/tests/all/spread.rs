//! Sensitivities and percentiles of made machines, against a general library.
//!
//! `spread.json` is made by `spread.py`, which writes the machines down a second time and makes ten million of each with numpy; see there.

use serde_json::Value;
use studies::spread::{Request, Spread, Strayed, spread};

/// Machines made here of each.
const MADE: usize = 400_000;
/// Standard errors that are granted: one of a hundred figures is off by so much once in 17,000 runs.
const ERRORS: f64 = 5.0;

fn case(name: &str) -> Value {
    let text = include_str!("../../spread.json");
    let all: Value = serde_json::from_str(text).expect("it reads");
    let machines = all.as_array().expect("a list");
    let found = machines.iter().find(|m| m["inputs"]["machine"] == name);
    found.unwrap_or_else(|| panic!("no {name}")).clone()
}

fn numbers(value: &Value) -> Vec<f64> {
    let list = value.as_array().expect("a list");
    list.iter().map(|x| x.as_f64().expect("a number")).collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

fn made(text: &str, limits: &[f64], unit: &str) -> Spread {
    let text = format!(
        "{text}\n[ask.near]\nreading = \"read\"\nbetween = [\"{} {unit}\", \"{} {unit}\"]\n",
        limits[0], limits[1]
    );
    let found = machine::read_text("machine.toml", &text);
    let told = machine::render_all(&found.problems, &found.sources, false);
    let model = studies::assemble(&found.machine.unwrap_or_else(|| panic!("{text}\n{told}")));
    let request = Request {
        machines: MADE,
        seed: 3,
        budgets: false,
        ..Request::default()
    };
    spread(&model, &model.drawn(), &request).expect("it spreads")
}

/// Holds a spread against a case; `names` are those of the dimensions, in the case's order.
fn agrees(id: &str, spread: &Spread, strayed: &Strayed, names: &[&str]) {
    let case = case(id);
    let rate = |name: &str| {
        let dimension = spread.dimensions.iter().position(|d| d.dimension == name);
        let dimension = dimension.unwrap_or_else(|| panic!("{name} among {:?}", spread.dimensions));
        let share = strayed.shares.iter().find(|s| s.dimension == dimension);
        share.map_or(0.0, |s| s.rate)
    };
    for (name, want) in names.iter().zip(numbers(&case["rates"])) {
        let got = rate(name);
        assert!(
            (got - want).abs() <= 1e-8 * want.abs().max(1e-3),
            "{id}, {name}: {got} {want}"
        );
    }
    // Both samples stray.
    let error = (1.0 / MADE as f64 + 1e-7).sqrt();
    let near = |what: &str, got: f64, want: f64, one: f64| {
        let off = (got - want).abs();
        assert!(
            off <= ERRORS * one * error,
            "{id}, {what}: {got} {want}, off by {off}, error {}",
            one * error
        );
    };
    let told = case["percentiles"].as_array().expect("a list");
    for (got, told) in strayed.made.percentiles.iter().zip(told) {
        let told = numbers(told);
        near("percentile", got - strayed.nominal, told[0], told[1]);
    }
    let deviation = number(&case["deviation"]);
    near(
        "mean",
        strayed.made.mean - strayed.nominal,
        number(&case["mean"]),
        deviation,
    );
    near(
        "deviation",
        strayed.made.deviation,
        deviation,
        number(&case["deviation_error"]),
    );
    let kept = number(&case["kept"]);
    let got = spread.asks[0].kept;
    near("kept", got.share, kept, (kept * (1.0 - kept)).sqrt());
    assert!(got.band[0] < got.share && got.share < got.band[1]);
    assert_eq!(strayed.made.lost, 0);
}

fn four_bar(id: &str, degrees: f64) -> Spread {
    let case = case(id);
    let [crank, coupler, rocker, .., centres, _] = numbers(&case["drawn"])[..] else {
        panic!("seven numbers");
    };
    let t = numbers(&case["tolerances"]);
    let text = format!(
        r#"
name = "four-bar"
[point]
o2 = [0, 0]
o4 = [{centres}, 0]
a  = {{ from = "o2", reach = {crank}, angle = "{degrees} deg" }}
b  = {{ swing = [["a", {coupler}], ["o4", {rocker}]], take = "upper" }}
[frame]
carries = ["o2", "o4"]
[part.crank]
carries = ["o2", "a"]
[part.rocker]
carries = ["o4", "b"]
[rod.coupler]
joins = ["a", "b"]
[drive.crank]
turns = "crank"
range = ["-1 deg", "1 deg"]
[reading.read]
turn-of = "rocker"
[tolerance.a]
of = "crank"
hole = "a"
plus-minus = {}
[tolerance.l]
of = "coupler"
plus-minus = {}
[tolerance.b]
of = "rocker"
hole = "b"
plus-minus = {}
[tolerance.o2]
of = "frame"
hole = "o2"
plus-minus = {}
[tolerance.o4]
of = "frame"
hole = "o4"
plus-minus = {}
"#,
        t[0], t[1], t[2], t[3], t[5]
    );
    made(&text, &numbers(&case["limits"]), "rad")
}

const BARS: [&str; 7] = [
    "crank: centre distance o2 to a",
    "rod coupler: length",
    "rocker: centre distance o4 to b",
    "frame: o2, right",
    "frame: o2, up",
    "frame: o4, right",
    "frame: o4, up",
];

#[test]
fn a_four_bar_spreads_as_numpy_has_it() {
    let s = four_bar("four-bar", 40.0);
    agrees("four-bar", &s, &s.readings[0], &BARS);
    assert!(s.readings[0].straight);
}

#[test]
fn a_four_bar_near_its_dead_centre_spreads_as_numpy_has_it() {
    let s = four_bar("four-bar-near-dead-centre", 4.0);
    agrees("four-bar-near-dead-centre", &s, &s.readings[0], &BARS);
}

/// The extreme over a drive is found on each machine anew.
#[test]
fn the_furthest_place_of_a_slide_spreads_as_numpy_has_it() {
    let case = case("furthest-slide");
    let [crank, rod, _, beside] = numbers(&case["drawn"])[..] else {
        panic!("four numbers");
    };
    let t = numbers(&case["tolerances"]);
    let at = crank + (rod * rod - beside * beside).sqrt();
    let text = format!(
        r#"
name = "slide"
[point]
o = [0, {beside}]
k = [{crank}, {beside}]
s = [{at}, 0]
[frame]
carries = ["o"]
[part.crank]
carries = ["o", "k"]
[part.link]
carries = ["k", "s"]
[part.ram]
carries = ["s"]
[slide.way]
part = "ram"
along = "right"
[drive.turn]
turns = "crank"
range = "whole turn"
[reading.place]
place-of = "s"
along = "right"
[reading.read]
reading = "place"
over = "turn"
take = "greatest"
[tolerance.k]
of = "crank"
hole = "k"
plus-minus = {}
[tolerance.s]
of = "link"
hole = "s"
plus-minus = {}
[tolerance.o]
of = "frame"
hole = "o"
plus-minus = {}
"#,
        t[0], t[1], t[2]
    );
    // The guide stays where the slider is drawn, whatever the crank's centre does.
    let case = numbers(&case["limits"]);
    let drawn = ((crank + rod) * (crank + rod) - beside * beside).sqrt();
    let s = made(&text, &[drawn + case[0], drawn + case[1]], "mm");
    let strayed = s.readings.iter().find(|r| r.reading.name == "read");
    let names = [
        "crank: centre distance o to k",
        "link: centre distance k to s",
        "frame: o, right",
        "frame: o, up",
    ];
    agrees("furthest-slide", &s, strayed.expect("it is read"), &names);
}

#[test]
fn an_arm_that_points_up_spreads_as_numpy_has_it() {
    let case = case("clock");
    let [reach, _, clock] = numbers(&case["drawn"])[..] else {
        panic!("three numbers");
    };
    let t = numbers(&case["tolerances"]);
    let text = format!(
        r#"
name = "clock"
[point]
c = [0, 0]
p = {{ from = "c", reach = {reach}, angle = "{clock} rad" }}
q = [100, 0]
[frame]
carries = ["c"]
[shaft.s]
centre = "c"
carries = ["q"]
[part.arm]
carries = ["p"]
clamped-to = "s"
[drive.d]
turns = "s"
range = ["-5 deg", "5 deg"]
[reading.read]
place-of = "p"
along = "up"
[tolerance.p]
of = "arm"
hole = "p"
plus-minus = {}
[tolerance.c]
of = "frame"
hole = "c"
plus-minus = {}
[tolerance.clock]
of = "arm"
plus-minus = "{} rad"
"#,
        t[0], t[1], t[2]
    );
    let limits = numbers(&case["limits"]);
    let drawn = reach * clock.sin();
    let s = made(&text, &[drawn + limits[0], drawn + limits[1]], "mm");
    let strayed = &s.readings[0];
    let names = [
        "arm: centre distance c to p",
        "frame: c, up",
        "arm: clock angle",
    ];
    agrees("clock", &s, strayed, &names);
    // Straight lines are wrong here, and that is said, with whose fault it is.
    assert!(!strayed.straight && strayed.likely[0] < -3.0 * strayed.root_sum_square);
    let bend = strayed.bent_by.expect("it bends");
    assert_eq!(s.dimensions[bend.dimension].dimension, "arm: clock angle");
    let want = reach * clock.sin() * (t[2].cos() - 1.0);
    assert!((bend.change - want).abs() < 1e-9, "{} {want}", bend.change);
}
