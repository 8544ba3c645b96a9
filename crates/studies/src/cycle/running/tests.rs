//! Runs in time against an outside integrator (`checks/running.py`) and closed forms.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

use super::{Ended, RunAsked, Running, running};
use crate::assemble::{Model, assemble};
use crate::refusal::Refusal;
use std::f64::consts::TAU;

fn model(text: &str) -> Model {
    let read = machine::read_text("t.toml", text);
    assemble(&read.machine.unwrap_or_else(|| {
        panic!(
            "{}",
            machine::render_all(&read.problems, &read.sources, false)
        )
    }))
}

/// The slider-crank of `checks/running.py`: fly-wheel 4000 kg·mm², slider 1.2 kg, 20 N against its motion, friction 0.2 in the guide.
fn guided(more: &str) -> Model {
    model(&format!(
        r#"
[point]
o = [0, 0]
a = {{ from = "o", reach = 40, angle = "0.3 rad" }}
b = {{ swing = ["a", 130], on = ["o", "far"], take = "right" }}
far = [200, 0]
[frame]
carries = ["o", "far"]
[part.crank]
carries = ["o", "a"]
mass    = "1 g"
inertia = "4000 kg mm2"
mass-at = [0, 0]
[part.ram]
carries = ["b"]
mass = "1.2 kg"
[rod.push]
joins = ["a", "b"]
[slide.way]
part  = "ram"
along = "right"
[drive.crank]
turns = "crank"
range = "whole turn"
[joint.way]
friction = 0.2
length   = "1000 m"
[load.out]
at    = "b"
force = "20 N"
along = "left"
drags = true
[load.back]
at    = "b"
force = "20 N"
along = "right"
drags = true
{more}
"#
    ))
}

const MOTOR: &str = r#"
[motor.main]
turns = "crank"
line  = [["0 rpm", "1.5 N m"], ["25 rad/s", "0 N m"]]
"#;

fn asked() -> RunAsked {
    RunAsked {
        drive: 0,
        case: Some(0),
        speed: 0.0,
        driven: true,
        until: 3.0,
    }
}

fn run(model: &Model, asked: &RunAsked) -> Result<Running, Refusal> {
    running(model, &model.drawn(), asked)
}

#[test]
fn a_started_slider_crank_agrees_with_an_outside_integrator() {
    let found = run(&guided(MOTOR), &asked()).unwrap();
    // Half turns on: time and speed, scipy's DOP853 at 1e-12.
    for (half, time, speed) in [
        (1, 0.291_677_654_548, 19.164_818_092_475),
        (2, 0.489_918_165_742, 18.311_523_606_451),
        (4, 0.887_784_795_190, 18.365_938_053_833),
    ] {
        let moment = found.curve.get(half * 180).unwrap();
        assert!((moment.at - f64::from(half as u32) * TAU / 2.0).abs() < 1e-9);
        // Second order in steps of a degree.
        assert!(
            (moment.time / time - 1.0).abs() < 2e-4,
            "{half}: {} {time}",
            moment.time
        );
        assert!(
            (moment.speed / speed - 1.0).abs() < 2e-4,
            "{half}: {} {speed}",
            moment.speed
        );
    }
    assert_eq!(found.high.ended, Ended::Even);
    // Energy: what the motor gives in a turn is what work and friction take.
    let last = found.high.last.unwrap();
    let given = found.drove[0].work;
    assert!(
        (given - last.loads - last.friction).abs() < 2e-3 * given,
        "{given} {last:?}"
    );
    // 20 N over twice the stroke of 80 mm.
    assert!((last.loads - 3200.0).abs() < 1.0, "{last:?}");
}

#[test]
fn let_go_it_stands_where_an_outside_integrator_says() {
    let found = run(
        &guided(""),
        &RunAsked {
            speed: 20.0,
            driven: false,
            ..asked()
        },
    )
    .unwrap();
    assert_eq!(found.high.ended, Ended::Stands);
    let stands = 0.3 + TAU * found.high.turns;
    assert!((stands - 1.496_895_264_682).abs() < 1e-3, "{stands}");
    assert!((found.high.seconds / 0.127_361_718_289 - 1.0).abs() < 1e-2);
}

#[test]
fn a_motor_behind_a_ratio_runs_up_as_its_closed_form_says() {
    // J = 40 kg·cm² + 0.5·20² kg·cm² = 240 kg·cm² on the crank; 0.1 N m at rest, 200 rad/s idle, ratio 20, a tenth lost: on the crank 1.8 N m
    // falling to nothing at 10 rad/s. T = J w0 / M0 = 0.024 · 10 / 1.8 = 0.1333 s.
    let text = r#"
[point]
o = [0, 0]
a = [40, 0]
[frame]
carries = ["o"]
[part.crank]
carries = ["o", "a"]
mass    = "1 kg"
inertia = "40 kg cm2"
mass-at = [0, 0]
[drive.crank]
turns = "crank"
range = "whole turn"
[motor.main]
turns = "crank"
ratio = 20
loses = 0.1
inertia = "0.5 kg cm2"
line  = [["0 rpm", "0.1 N m"], ["200 rad/s", "0 N m"]]
"#;
    let model = model(text);
    let found = run(&model, &asked()).unwrap();
    for m in found.curve.iter().filter(|m| m.time > 0.05) {
        let wanted = 10.0 * (1.0 - (-m.time / (0.24 / 1.8)).exp());
        assert!((m.speed - wanted).abs() < 0.01, "{m:?} {wanted}");
    }
    // 95 % after 3 T.
    let starts = found.high.starts_in.unwrap();
    assert!((starts - 3.0 * 0.24 / 1.8).abs() < 0.01, "{starts}");
}

#[test]
fn what_is_too_weak_is_told() {
    // A hand that pushes the slider 10 N one way only, against 20 N both ways, does not start it.
    let weak = r#"
[push.palm]
by = "hand"
at = "b"
along = "left"
force = "10 N"
"#;
    let found = run(&guided(weak), &asked()).unwrap();
    assert_eq!(found.high.ended, Ended::DoesNotStart);
    assert!(found.findings[0].sentence.contains("does not start"));
    // 50 N start it but do not bring the small wheel round.
    let short = weak.replace("10 N", "30 N");
    let found = run(&guided(&short), &asked()).unwrap();
    assert_eq!(found.high.ended, Ended::Stands, "{:?}", found.high);
    assert!(
        found.findings[0]
            .sentence
            .contains("does not get over its peak")
    );
    // Nothing at all is refused.
    let refused = run(&guided(""), &asked()).unwrap_err();
    assert!(
        refused.message.contains("nothing turns crank"),
        "{refused:?}"
    );
}

#[test]
fn a_stroke_told_by_its_work_gives_that_work() {
    let push = r#"
[push.palm]
by = "hand"
at = "b"
along = "left"
work = "9 J"
"#;
    let found = run(
        &guided(push),
        &RunAsked {
            speed: 15.0,
            until: 4.0,
            ..asked()
        },
    )
    .unwrap();
    // 9 J over 80 mm: 112.5 N.
    assert!(
        (found.drove[0].work - 9000.0).abs() < 2.0,
        "{:?}",
        found.drove
    );
    assert!(
        (found.drove[0].most - 112.5).abs() < 0.05,
        "{:?}",
        found.drove
    );
}
