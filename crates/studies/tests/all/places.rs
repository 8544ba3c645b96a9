//! Where everything stands, the paths of points, and the other ways to assemble.

use crate::common;
use crate::common::{close, four_bar, model, stand};
use std::f64::consts::TAU;

#[test]
fn everything_stands_as_drawn_and_as_moved() {
    let model = model(&four_bar(40.0, 120.0, 80.0, 100.0, 40.0, "upper"));
    let m = model.machine();
    let drawn = studies::standing(&model, &model.drawn()).unwrap();
    for (point, now) in m.points.iter().zip(&drawn.points) {
        close(point.x, now[0], 1e-12);
        close(point.y, now[1], 1e-12);
    }
    assert!(drawn.turns.iter().all(|t| t.abs() < 1e-14));
    let moved = studies::standing(&model, &stand(&model, &["crank = 130 deg"])).unwrap();
    let at = |name: &str| moved.points[m.points.iter().position(|p| p.name == name).unwrap()];
    let (a, b) = (at("a"), at("b"));
    close(a[0], 40.0 * 130_f64.to_radians().cos(), 1e-12);
    close((a[0] - b[0]).hypot(a[1] - b[1]), 120.0, 1e-11);
    close((100.0 - b[0]).hypot(b[1]), 80.0, 1e-11);
    let crank = m.parts.iter().position(|p| p.name == "crank").unwrap();
    close(moved.turns[crank], 90_f64.to_radians(), 1e-14);
}

#[test]
fn a_crank_pin_runs_round_a_circle() {
    let model = model(&four_bar(40.0, 120.0, 80.0, 100.0, 40.0, "upper"));
    let point = |name: &str| {
        model
            .machine()
            .points
            .iter()
            .position(|p| p.name == name)
            .unwrap()
    };
    let trace = studies::trace(&model, &model.drawn(), point("a"), 0).unwrap();
    assert!(trace.closed && trace.places.len() >= 73);
    for (at, [x, y]) in trace.at.iter().zip(&trace.places) {
        close(*x, 40.0 * at.cos(), 1e-11);
        close(*y, 40.0 * at.sin(), 1e-11);
    }
    close(trace.at.last().unwrap() - trace.at[0], TAU, 1e-12);
    let rocker = studies::trace(&model, &model.drawn(), point("b"), 0).unwrap();
    assert!(
        rocker
            .places
            .iter()
            .all(|[x, y]| ((x - 100.0).hypot(*y) - 80.0).abs() < 1e-10)
    );
    assert!(studies::trace(&model, &model.drawn(), 99, 0).is_err());
    assert!(studies::trace(&model, &model.drawn(), 0, 7).is_err());
}

#[test]
fn a_four_bar_goes_together_in_two_ways() {
    let model = model(&four_bar(40.0, 120.0, 80.0, 100.0, 40.0, "upper"));
    let answer = studies::assemblies(&model, &model.drawn()).unwrap();
    assert_eq!(answer.ways.len(), 2);
    assert!(answer.ways[0].drawn && answer.ways[0].sides.is_empty());
    assert_eq!(
        answer.ways[1].sides,
        ["b falls below the line from b0 to a, as drawn it stands above it"]
    );
    // The crossed way has the rocker where the two circles meet a second time.
    let lower = common::model(&four_bar(40.0, 120.0, 80.0, 100.0, 40.0, "lower"));
    let height = common::index(&model, "height");
    close(
        answer.ways[1].readings[height].value.unwrap(),
        common::read(&lower, &[], "height"),
        1e-9,
    );
}

#[test]
fn a_slider_falls_to_the_other_side_of_its_crank() {
    let text = r#"
name = "Slider"
[point]
o = [0, 0]
a = { from = "o", reach = 50, angle = "30 deg" }
b = [140, 0]
[frame]
carries = ["o"]
[part.crank]
carries = ["o", "a"]
[part.ram]
carries = ["b"]
[rod.link]
joins = ["a", "b"]
[slide.guide]
part = "ram"
along = "right"
[drive.crank]
turns = "crank"
[reading.ram]
place-of = "b"
along = "right"
"#;
    let model = model(text);
    let answer = studies::assemblies(&model, &model.drawn()).unwrap();
    assert_eq!(answer.ways.len(), 2);
    let x = 50.0 * 30_f64.to_radians().cos();
    close(
        answer.ways[1].readings[0].value.unwrap(),
        2.0 * x - 140.0,
        1e-9,
    );
    assert_eq!(
        answer.ways[1].sides,
        ["ram stands 193.40 mm from where it stands as drawn"]
    );
}

#[test]
fn nobody_turns_a_crank_a_million_times() {
    let model = model(&four_bar(40.0, 120.0, 80.0, 100.0, 40.0, "upper"));
    let mut stand = model.drawn();
    let refusal = model.set(&mut stand, "crank", "1e9 deg").unwrap_err();
    assert!(
        refusal.message.contains("a hundred times at most"),
        "{refusal}"
    );
    assert!(model.set(&mut stand, "crank", "-99 turn").is_ok());
}
