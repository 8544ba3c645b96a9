//! Sensitivities against machines made a little larger and a little smaller.
#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use crate::common;
use crate::common::{close, model, stand};
use std::path::Path;
use studies::{Inside, Model};

fn example(name: &str) -> Model {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples")
        .join(name)
        .join("machine.toml");
    studies::assemble(&machine::read(&path).machine.unwrap())
}

/// Every reading's rate by every dimension and every setting, against central differences of made machines.
fn against_differences(model: &Model, values: &[&str], tolerance: f64) {
    let stand = stand(model, values);
    let exact = studies::sensitivity(model, &stand, &[]).unwrap();
    assert!(exact.refused.is_empty(), "{:?}", exact.refused);
    let value = |model: &Model, stand: &studies::Stand, r: usize| {
        studies::readings(model, stand).unwrap()[r].value.unwrap()
    };
    let mut moved = 0;
    for (i, d) in model.dimensions().iter().enumerate() {
        let h = if d.inside == Inside::Radian {
            1e-5
        } else {
            1e-3
        };
        let (more, less) = (
            model.made(&[(i, h)]).unwrap(),
            model.made(&[(i, -h)]).unwrap(),
        );
        for (r, effects) in exact.readings.iter().enumerate() {
            let by_difference = (value(&more, &stand, r) - value(&less, &stand, r)) / (2.0 * h);
            let told = effects
                .dimensions
                .iter()
                .find(|e| e.dimension == d.name)
                .map_or(0.0, |e| e.rate);
            moved += usize::from(told != 0.0);
            close(
                told,
                by_difference,
                tolerance * by_difference.abs().max(1.0),
            );
        }
    }
    assert!(moved > 3);
    for s in 0..stand.settings.len() {
        let (mut more, mut less) = (stand.clone(), stand.clone());
        let row = model.setting(s).inside == Inside::Count;
        if row {
            continue;
        }
        more.settings[s] += 1e-4;
        less.settings[s] -= 1e-4;
        for (r, effects) in exact.readings.iter().enumerate() {
            let by_difference = (value(model, &more, r) - value(model, &less, r)) / 2e-4;
            close(
                effects.settings[s].rate,
                by_difference,
                tolerance * by_difference.abs().max(1.0),
            );
        }
    }
}

#[test]
fn the_embosser_moves_with_its_dimensions_as_told() {
    let model = example("strap-embosser");
    against_differences(&model, &["set = 52 deg", "crank = 130 deg"], 1e-6);
    against_differences(&model, &[], 1e-6);
}

#[test]
fn the_treadle_and_the_mill_move_with_their_dimensions_as_told() {
    against_differences(&example("treadle"), &["crank = 75 deg"], 1e-6);
    against_differences(&example("rolling-mill"), &["lever = 20 deg"], 1e-6);
}

/// A slider-crank with a stop that cuts the crank's turn: the least place of the ram is the stop's, however it is made; the
/// greatest height of the crank pin on the way there is not.
const CUT: &str = r#"
name = "Cut short"
[point]
o = [0, 0]
a = { from = "o", reach = 50, angle = "20 deg" }
b = [150, 10]
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
drawn = "20 deg"
range = "whole turn"
[reading.ram]
place-of = "b"
along = "right"
[reading.pin]
place-of = "a"
along = "right"
[reading.least]
reading = "ram"
over = "crank"
take = "least"
[reading.least-pin]
reading = "pin"
over = "crank"
take = "least"
[stop.front]
reading = "ram"
at-least = "120 mm"
"#;

#[test]
fn the_end_at_a_stop_moves_with_the_dimensions() {
    let model = model(CUT);
    against_differences(&model, &[], 1e-5);
    let all = studies::sensitivity(&model, &model.drawn(), &[]).unwrap();
    let least = &all.readings[2];
    assert!(
        least.dimensions.iter().all(|d| d.rate.abs() < 1e-6),
        "{:#?}",
        least.dimensions
    );
    assert!(
        all.readings[3]
            .dimensions
            .iter()
            .any(|d| d.rate.abs() > 0.1)
    );
}

#[test]
fn dimensions_are_ranked_and_summed_by_part() {
    let model = example("strap-embosser");
    let all = studies::sensitivity(&model, &model.drawn(), &[1]).unwrap();
    let [least] = all.readings.as_slice() else {
        panic!("one reading was asked for")
    };
    assert_eq!(least.reading.name, "least-gap");
    assert!(
        least
            .dimensions
            .is_sorted_by(|a, b| a.change.abs() >= b.change.abs())
    );
    for part in &least.parts {
        let own: Vec<f64> = least
            .dimensions
            .iter()
            .filter(|d| d.of == part.of)
            .map(|d| d.change)
            .collect();
        assert_eq!(own.len(), part.dimensions);
        close(part.worst, own.iter().map(|c| c.abs()).sum(), 1e-15);
        close(
            part.root_sum_square,
            own.iter().map(|c| c * c).sum::<f64>().sqrt(),
            1e-15,
        );
    }
    // The die comes down by crank and link: their centre distances count one to one.
    let rate = |name: &str| {
        least
            .dimensions
            .iter()
            .find(|d| d.dimension == name)
            .unwrap()
            .rate
    };
    close(
        rate("crank: centre distance crank-centre to crank-pin"),
        -1.0,
        1e-9,
    );
    close(rate("ram: centre distance ram-pin to die"), -1.0, 1e-9);
}

#[test]
fn parts_too_far_off_do_not_go_together() {
    let model = model(&common::four_bar(40.0, 120.0, 80.0, 100.0, 40.0, "upper"));
    let length = model
        .dimensions()
        .iter()
        .position(|d| d.name == "rod coupler: length")
        .unwrap();
    let refusal = model.made(&[(length, 80.0)]).unwrap_err();
    assert_eq!(
        refusal.message,
        "the parts do not go together with other values of rod coupler: length"
    );
}

/// A toggle drawn in line, with a reading of its own, beside a plain crank with a slide: only what hangs on the toggle is refused.
#[test]
fn a_dead_centre_of_one_side_leaves_the_other_alone() {
    let model = model(
        r#"
[point]
c = [0, 0]
p = [0, -30]
w = [0, -150]
c2 = [300, 0]
p2 = [330, 0]
w2 = [450, 0]
[frame]
carries = ["c", "c2"]
[part.crank]
carries = ["c", "p"]
[part.ram]
carries = ["w"]
[rod.con]
joins = ["p", "w"]
[slide.ram]
part = "ram"
along = "up"
[drive.ram]
slides = "ram"
[part.crank2]
carries = ["c2", "p2"]
[part.ram2]
carries = ["w2"]
[rod.con2]
joins = ["p2", "w2"]
[slide.ram2]
part = "ram2"
along = "right"
[drive.crank2]
turns = "crank2"
[reading.t]
turn-of = "crank"
[reading.x]
place-of = "w2"
along = "right"
[reading.both]
distance = ["p", "w2"]
"#,
    );
    let answer = studies::sensitivity(&model, &model.drawn(), &[]).unwrap();
    let told: Vec<&str> = answer
        .readings
        .iter()
        .map(|r| r.reading.name.as_str())
        .collect();
    assert_eq!(told, ["x"]);
    assert_eq!(answer.refused.len(), 2);
    assert_eq!(
        answer.refused[0],
        "t has no sensitivity here: it stands at a dead centre, crank and rod con stand in line"
    );
    // Rod length and crank throw each move the ram by as much as they are off.
    let rod = answer.readings[0]
        .dimensions
        .iter()
        .find(|d| d.of.contains("con2"))
        .unwrap();
    close(rod.rate, 1.0, 1e-9);
}

/// Three cranks on one coupler: no dimension of them can be off alone. The pointer on the third crank moves nothing else, and its
/// own dimensions are told.
#[test]
fn dimensions_of_repeated_joints_must_agree() {
    let model = model(
        r#"
[point]
a = [0, 0]
b = [100, 0]
c = [50, 80]
a2 = [0, 40]
b2 = [100, 40]
c2 = [50, 120]
tip = [80, 90]
[frame]
carries = ["a", "b", "c"]
[part.k1]
carries = ["a", "a2"]
[part.k2]
carries = ["b", "b2"]
[part.k3]
carries = ["c", "c2", "tip"]
[part.coupler]
carries = ["a2", "b2", "c2"]
[drive.k]
turns = "k1"
[reading.y]
place-of = "tip"
along = "up"
"#,
    );
    for at in ["k = 0 deg", "k = 90 deg", "k = 130 deg"] {
        let answer = studies::sensitivity(&model, &stand(&model, &[at]), &[]).unwrap();
        assert!(answer.refused.is_empty());
        let effects = &answer.readings[0];
        assert_eq!(effects.must_agree.len(), 12, "{:?}", effects.must_agree);
        let told: Vec<&str> = effects.dimensions.iter().map(|d| d.of.as_str()).collect();
        assert!(
            !told.is_empty() && told.iter().all(|of| *of == "k3"),
            "{told:?}"
        );
        for d in &effects.dimensions {
            assert!(d.dimension.contains("tip"), "{}", d.dimension);
        }
        assert!(effects.drives[0].rate != 0.0);
        // What must agree does not go together alone; the others do.
        for (i, d) in model.dimensions().iter().enumerate() {
            let made = model
                .made(&[(i, 0.05)])
                .map(|m| studies::readings(&m, &stand(&m, &[at])));
            let closes = matches!(made, Ok(Ok(_)));
            assert_eq!(closes, !effects.must_agree.contains(&d.name), "{}", d.name);
        }
    }
}
