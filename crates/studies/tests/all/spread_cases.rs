//! Spread against a textbook stack, and its corners against machines made by hand.

use studies::spread::{ByTolerances, Request, spread};
use studies::{Model, assemble, readings};

fn model(text: &str) -> Model {
    let found = machine::read_text("machine.toml", text);
    let told = machine::render_all(&found.problems, &found.sources, false);
    assemble(&found.machine.unwrap_or_else(|| panic!("{told}")))
}

/// A shouldered screw and three washers (Shigley's Mechanical Engineering Design, ch. 1: w = a − b − c − d; mean 0.005 in, worst
/// case ±0.010, statistical ±0.006; the tail below nothing is that of 2.5 sigma: check cases `stack_shigley`, `_reject`). The
/// washers stand in line, each between two blocks on one slide.
const STACK: &str = r#"
name = "screw and washers"
unit = "in"
[point]
head = [0, 0]
one = [0.75, 0]
two = [0.87, 0]
three = [1.745, 0]
shoulder = [1.75, 0]
[frame]
carries = ["head", "shoulder"]
[part.one]
carries = ["one"]
[part.two]
carries = ["two"]
[part.three]
carries = ["three"]
[slide.one]
part = "one"
along = "right"
[slide.two]
part = "two"
along = "right"
[slide.three]
part = "three"
along = "right"
[rod.b]
joins = ["head", "one"]
[rod.c]
joins = ["one", "two"]
[rod.d]
joins = ["two", "three"]
[reading.play]
between = ["three", "shoulder"]
along = "right"
[tolerance.a]
of = "frame"
hole = "shoulder"
plus-minus = 0.003
[tolerance.b]
of = "b"
plus-minus = 0.001
[tolerance.c]
of = "c"
plus-minus = 0.005
[tolerance.d]
of = "d"
plus-minus = 0.001
[ask.goes-on]
reading = "play"
at-least = 0
"#;

#[test]
fn a_stack_adds_up_as_in_the_book() {
    let m = model(
        &STACK
            .replace("[part.one]", "[part.block-one]")
            .replace("part = \"one\"", "part = \"block-one\""),
    );
    let machines = 400_000;
    let s = spread(
        &m,
        &m.drawn(),
        &Request {
            machines,
            ..Request::default()
        },
    )
    .unwrap();
    let inch = 25.4;
    let play = &s.readings[0];
    let near = |got: f64, want: f64, within: f64| {
        assert!((got - want).abs() <= within, "{got} is not {want}")
    };
    near(play.nominal, 0.005 * inch, 1e-9);
    near(play.worst_case, 0.010 * inch, 1e-9);
    near(play.root_sum_square, 0.006 * inch, 1e-9);
    near(play.corners[0].unwrap(), -0.005 * inch, 1e-9);
    near(play.corners[1].unwrap(), 0.015 * inch, 1e-9);
    // Five standard errors of the share.
    let below = 0.006_209_665_325_776_135;
    let error = (below * (1.0 - below) / machines as f64).sqrt();
    near(s.asks[0].kept.share, 1.0 - below, 5.0 * error);
    near(
        play.made.deviation,
        0.002 * inch,
        5.0 * 0.002 * inch / (2.0 * machines as f64).sqrt(),
    );
    assert_eq!(s.all_kept, s.asks[0].kept);
    assert!((s.correlation[0][0] - 1.0).abs() < 1e-9);
    // The tail wanted is that of 2.78 sigma on one side: 0.005 holds 0.0054, so thickness c goes from 0.005 to 0.003 and all is well.
    let ask = &s.asks[0];
    let hold = ask.hold.as_ref().unwrap();
    assert_eq!(ask.by_tolerances, ByTolerances::Held);
    assert!(hold.kept.band[0] >= 0.9973, "{hold:?}");
    // Thickness c has 25 of 36 parts of the variance.
    assert_eq!(
        s.dimensions[play.shares[0].dimension].dimension,
        "rod c: length"
    );
    near(play.shares[0].share, 25.0 / 36.0, 1e-9);
}

/// A slider close to its dead centre bends so much that corners and straight lines part; the corners are those of machines made
/// by hand at every combination of limits.
#[test]
fn corners_are_those_of_machines_made_by_hand() {
    let text = r#"
name = "near its dead centre"
[point]
o = [0, 0]
a = { from = "o", reach = 40, angle = "4 deg" }
w = { swing = [["a", 103], ["far", 60]], take = "upper" }
far = [200, 0]
[frame]
carries = ["o", "far"]
[part.crank]
carries = ["o", "a"]
[part.rocker]
carries = ["far", "w"]
[rod.link]
joins = ["a", "w"]
[drive.turn]
turns = "crank"
range = ["-1 deg", "1 deg"]
[reading.rocker]
turn-of = "rocker"
[tolerance.a]
of = "crank"
hole = "a"
plus-minus = "0.3 mm"
[tolerance.w]
of = "rocker"
hole = "w"
plus-minus = "0.3 mm"
[tolerance.link]
of = "link"
plus-minus = "0.3 mm"
"#;
    let m = model(text);
    let s = spread(
        &m,
        &m.drawn(),
        &Request {
            machines: 1000,
            ..Request::default()
        },
    )
    .unwrap();
    assert_eq!(s.dimensions.len(), 3);
    let index = |name: &str| m.dimensions().iter().position(|d| d.name == name).unwrap();
    let dims: Vec<usize> = s.dimensions.iter().map(|d| index(&d.dimension)).collect();
    let mut ends = [f64::INFINITY, f64::NEG_INFINITY];
    for corner in 0..8 {
        let errors: Vec<(usize, f64)> = dims
            .iter()
            .enumerate()
            .map(|(k, &d)| (d, if corner >> k & 1 == 1 { 0.3 } else { -0.3 }))
            .collect();
        let made = m.made(&errors).unwrap();
        let value = readings(&made, &made.drawn()).unwrap()[0].value.unwrap();
        // The made machine counts its turn from where it stands itself; the parts' own axes tell.
        ends = [ends[0].min(value), ends[1].max(value)];
    }
    let corners = s.readings[0].corners.map(Option::unwrap);
    for k in 0..2 {
        assert!((corners[k] - ends[k]).abs() < 1e-9, "{corners:?} {ends:?}");
    }
    // Bent: the straight worst case is off by more than a hundredth.
    let straight = s.readings[0].worst_case;
    assert!(
        (corners[1] - straight)
            .abs()
            .max((corners[0] + straight).abs())
            > 0.01 * straight
    );
}
