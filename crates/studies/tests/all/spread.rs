//! Spread: against published sensitivities, closed forms, and itself on any number of threads.

use studies::spread::{Advice, Request, Spread, spread};
use studies::{Model, assemble};

fn model(text: &str) -> Model {
    let found = machine::read_text("x.toml", text);
    let told = machine::render_all(&found.problems, &found.sources, false);
    assemble(&found.machine.unwrap_or_else(|| panic!("{told}")))
}

/// Four-bar 40 / 120 / 80 / 100 at 40 degrees, open; sigma 0.05 mm on crank, coupler and rocker.
const FOUR_BAR: &str = r#"
name = "four-bar"
[point]
o2 = [0, 0]
o4 = [100, 0]
a  = { from = "o2", reach = 40, angle = "40 deg" }
b  = { swing = [["a", 120], ["o4", 80]], take = "upper" }
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
range = ["-20 deg", "20 deg"]
[reading.rocker]
turn-of = "rocker"
[tolerance.crank]
of = "crank"
hole = "a"
plus-minus = "0.15 mm"
[tolerance.rocker]
of = "rocker"
hole = "b"
plus-minus = "0.15 mm"
[tolerance.coupler]
of = "coupler"
plus-minus = "0.15 mm"
[ask.near]
reading = "rocker"
between = ["-0.1 deg", "0.2 deg"]
"#;

fn run(model: &Model, machines: usize) -> Spread {
    spread(
        model,
        &model.drawn(),
        &Request {
            machines,
            seed: 7,
            budgets: machines <= 50_000,
            ..Request::default()
        },
    )
    .unwrap()
}

/// Sensitivities of the check case `fb_sens_40` (loop closure projected on the coupler): a, b, c in rad/mm.
#[test]
fn four_bar_agrees_with_published_sensitivities() {
    let model = model(FOUR_BAR);
    let s = run(&model, 200_000);
    let rocker = &s.readings[0];
    let published = [
        -0.019_542_339_369_4,
        -0.020_757_524_550_8,
        0.016_571_808_153_5,
    ];
    let sigma = 0.05 * published.iter().map(|r| r * r).sum::<f64>().sqrt();
    assert!(
        (rocker.root_sum_square / 3.0 - sigma).abs() < 1e-9 * sigma,
        "{}",
        rocker.root_sum_square
    );
    let worst: f64 = published.iter().map(|r| 0.15 * r.abs()).sum();
    assert!((rocker.worst_case - worst).abs() < 1e-9);
    // Standard error of a deviation from n samples: σ / √(2n); five of them, and the second order of the linkage.
    assert!((rocker.made.deviation / sigma - 1.0).abs() < 5.0 / (2.0 * 200_000_f64).sqrt() + 1e-4);
    assert_eq!(rocker.made.lost, 0);
    let shares: f64 = rocker.shares.iter().map(|s| s.share).sum();
    assert!((shares - 1.0).abs() < 1e-12 && rocker.shares.len() == 3);
    // The corners hold every machine made, and lie near the linear worst case.
    let [low, high] = rocker.corners.map(Option::unwrap);
    assert!(low < rocker.made.extremes[0] && rocker.made.extremes[1] < high);
    assert!((high - worst).abs() < 0.01 * worst && (low + worst).abs() < 0.01 * worst);
    // −0.1° and 0.2° are so many sigmas off: the share kept is the difference of two normal tails.
    let z = |degrees: f64| degrees.to_radians() / sigma;
    let kept = phi(z(0.2)) - phi(z(-0.1));
    assert!(
        (s.asks[0].kept.share - kept).abs() < 0.004,
        "{:?} {kept}",
        s.asks[0].kept
    );
}

/// Normal distribution function by its series (Marsaglia 2004).
fn phi(x: f64) -> f64 {
    let (mut sum, mut term, mut i) = (x, x, 1.0);
    while f64::abs(term) > 1e-17 {
        i += 2.0;
        term *= x * x / i;
        sum += term;
    }
    0.5 + sum * (-0.5 * x * x).exp() / std::f64::consts::TAU.sqrt()
}

#[test]
fn the_same_bits_on_any_number_of_threads() {
    let model = model(FOUR_BAR);
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| run(&model, 20_000))
    };
    assert_eq!(on(1), on(2));
    assert_ne!(
        run(&model, 20_000),
        spread(
            &model,
            &model.drawn(),
            &Request {
                machines: 20_000,
                seed: 8,
                ..Request::default()
            }
        )
        .unwrap()
    );
}

fn embosser() -> Model {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../examples/strap-embosser/machine.toml"
    );
    let found = machine::read(std::path::Path::new(path));
    assemble(&found.machine.unwrap())
}

#[test]
fn least_gap_over_a_turn_is_taken_on_each_machine() {
    let model = embosser();
    let s = run(&model, 50_000);
    let least = s
        .readings
        .iter()
        .find(|r| r.reading.name == "least-gap")
        .unwrap();
    // Nearly linear: both ways agree to a few parts in a hundred, and the mean stays.
    assert!(
        (3.0 * least.made.deviation / least.root_sum_square - 1.0).abs() < 0.03,
        "{least:?}"
    );
    assert!((least.made.mean - least.nominal).abs() < 0.05 * least.made.deviation + 1e-4);
    assert!(s.refused.is_empty(), "{:?}", s.refused);
    let pressed = &s.under_load[0];
    assert!(pressed.ask == "pressed" && pressed.loaded > pressed.nominal);
    assert!(
        pressed.likely[0] < 0.0 && pressed.likely[1] > 0.0,
        "{pressed:?}"
    );
    // A machine made by hand from the corner, solved anew, is the corner.
    let closest = s.asks.iter().find(|a| a.ask == "closest").unwrap();
    assert!(closest.kept.share > 0.0 && closest.kept.share < 1.0);
    let hold = closest.hold.as_ref().unwrap();
    assert!(hold.items.iter().any(|i| i.advice == Advice::Hold));
    assert!(hold.items.iter().all(|i| i.advice != Advice::LetGo));
}

#[test]
fn rods_that_are_set_do_not_count() {
    let s = run(&embosser(), 1000);
    assert!(
        s.dimensions
            .iter()
            .all(|d| !d.dimension.starts_with("rod ")),
        "{:?}",
        s.dimensions
    );
}

#[test]
fn without_tolerances_it_says_so() {
    let text = FOUR_BAR.split("[tolerance").next().unwrap();
    let model = model(text);
    let refused = spread(&model, &model.drawn(), &Request::default()).unwrap_err();
    assert!(refused.message.contains("no tolerances") && refused.help.contains("[usual]"));
}

/// Springs in series (any handbook): work of 9 kN/mm that begins at 32 against a bed of 18 kN/mm, drawn 30 apart. The gap gives by a third of
/// what is squeezed, so it strays by two thirds of what it does without load; a machine drawn 0.05 wider stands where that says.
#[test]
fn work_and_give_share_what_a_gap_strays() {
    let text = |bed: f64| {
        format!(
            r#"
name = "press"
[point]
bed = [0, {bed}]
foot = [0, 30]
[frame]
carries = ["bed"]
[part.ram]
carries = ["foot"]
[slide.way]
part = "ram"
along = "up"
[drive.set]
slides = "ram"
range = ["0 mm", "10 mm"]
[reading.gap]
between = ["bed", "foot"]
along = "up"
[stiffness.bed]
at = "bed"
value = "18 kN/mm"
[load.work]
squeezes = "gap"
begins = "32 mm"
stiffness = "9 kN/mm"
[case.press]
loads = ["work"]
[usual]
hole-places = "0.06 mm"
[ask.pressed]
reading = "gap"
loaded = "press"
between = ["30.64 mm", "30.70 mm"]
"#
        )
    };
    let m = model(&text(0.0));
    let s = run(&m, 20_000);
    let (free, pressed) = (&s.readings[0], &s.under_load[0]);
    assert!(
        (pressed.loaded - (30.0 + 2.0 / 3.0)).abs() < 1e-9,
        "{pressed:?}"
    );
    let share = pressed.made.deviation / free.made.deviation;
    assert!((share - 2.0 / 3.0).abs() < 1e-3, "{share}");
    // What a normal spread leaves within the limits.
    let sigma = 2.0 / 3.0 * 0.02 * (free.root_sum_square / 0.06);
    let inside = |mm: f64| 0.5 * (1.0 + erf(mm / sigma / 2.0_f64.sqrt()));
    let wanted = inside(30.70 - pressed.loaded) - inside(30.64 - pressed.loaded);
    assert!(
        (pressed.kept.share - wanted).abs() < 0.01,
        "{} {wanted}",
        pressed.kept.share
    );
    let wider = model(&text(-0.05));
    let told = studies::load::judge_loaded(&wider, &wider.drawn(), 0, 0).unwrap();
    assert!((told.loaded.unwrap() - pressed.loaded - 0.05 * 2.0 / 3.0).abs() < 1e-9);
}

/// Abramowitz and Stegun 7.1.26, to 1.5e-7.
fn erf(x: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.327_591_1 * x.abs());
    let sum = [
        0.254_829_592,
        -0.284_496_736,
        1.421_413_741,
        -1.453_152_027,
        1.061_405_429,
    ]
    .iter()
    .rev()
    .fold(0.0, |s, c| (s + c) * t);
    x.signum() * (1.0 - sum * (-x * x).exp())
}
