//! Friction against closed forms: the friction-circle construction on a slider-crank and on a toggle.
//! Expected values: common tangent to the friction circles, derived to 12 digits (see `checks/`).

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test may stop at the first surprise"
)]

use mechanics::friction::{End, Rubbing, Rubs, balance};
use mechanics::model::{Constraint, Measure};
use mechanics::statics::{Law, Load};
use mechanics::{Mechanism, Tangent, unit_direction};

struct SliderCrank {
    m: Mechanism,
    drive: usize,
    push: Measure,
    rubbing: Vec<Rubbing>,
    drive_constraint: usize,
    on_line: usize,
}

/// Crank 50 at the origin, rod 200, slider on the x axis; `as_rod` makes the rod a rod, else a link with two pins.
fn slider_crank(degrees: f64, as_rod: bool) -> SliderCrank {
    let t = degrees.to_radians();
    let pin = [50.0 * t.cos(), 50.0 * t.sin()];
    let x = pin[0] + (200.0_f64.powi(2) - pin[1] * pin[1]).sqrt();
    let mut m = Mechanism::new();
    let crank = m.link(0, [0.0, 0.0], pin);
    let slider = m.body(0, [x, 0.0], 0.0);
    let ground = m.anchor(0, 0, [0.0; 3]);
    let main = m.anchor_drawn(crank, 0, [0.0; 3]);
    let crankpin = m.anchor_drawn(crank, 0, [pin[0], pin[1], 0.0]);
    let wrist = m.anchor_drawn(slider, 0, [x, 0.0, 0.0]);
    // Friction-circle radii 2, 1.5, 1: radius r sin(atan mu) = rho with mu = 1 and r = rho √2.
    let circle = |rubs: fn(usize, f64) -> Rubs, c: usize, rho: f64| Rubbing {
        rubs: rubs(c, rho * 2f64.sqrt()),
        mu: 1.0,
    };
    let as_pin: fn(usize, f64) -> Rubs = |constraint, radius| Rubs::Pin { constraint, radius };
    let mut rubbing = vec![];
    let c = m.constrain(Constraint::Pin { a: main, b: ground });
    rubbing.push(circle(as_pin, c, 2.0));
    if as_rod {
        m.rod(crankpin, wrist);
        let c = m.constraints.len() - 1;
        rubbing.push(circle(
            |constraint, radius| Rubs::RodEnd {
                constraint,
                end: End::A,
                radius,
            },
            c,
            1.5,
        ));
        rubbing.push(circle(
            |constraint, radius| Rubs::RodEnd {
                constraint,
                end: End::B,
                radius,
            },
            c,
            1.0,
        ));
    } else {
        let rod = m.link(0, pin, [x, 0.0]);
        let near = m.anchor_drawn(rod, 0, [pin[0], pin[1], 0.0]);
        let far = m.anchor_drawn(rod, 0, [x, 0.0, 0.0]);
        let c = m.constrain(Constraint::Pin {
            a: crankpin,
            b: near,
        });
        rubbing.push(circle(as_pin, c, 1.5));
        let c = m.constrain(Constraint::Pin { a: wrist, b: far });
        rubbing.push(circle(as_pin, c, 1.0));
    }
    m.hold_angle(slider, 0);
    let angle = m.constraints.len() - 1;
    let (direction, offset) = (m.param(0.0), m.param(0.0));
    let on_line = m.constrain(Constraint::OnLine {
        pin: wrist,
        through: ground,
        direction,
        offset,
    });
    rubbing.push(Rubbing {
        rubs: Rubs::Slide {
            on_line,
            angle,
            length: 0.0,
            teeth: Vec::new(),
        },
        mu: 0.1,
    });
    let drive = m.hold_angle(crank, 0);
    let drive_constraint = m.constraints.len() - 1;
    let push = Measure::Along {
        a: ground,
        b: wrist,
        direction: [-1.0, 0.0, 0.0],
    };
    SliderCrank {
        m,
        drive,
        push,
        rubbing,
        drive_constraint,
        on_line,
    }
}

/// Torque at the crank with and without friction when 1000 N push the slider towards the crank and it moves by `sense`.
fn torque(degrees: f64, as_rod: bool, sense: f64) -> (f64, f64, f64) {
    let s = slider_crank(degrees, as_rod);
    let t = Tangent::new(&s.m, &s.m.params, &s.m.drawn).unwrap();
    let forces = t.forces(&[Load {
        on: s.push,
        law: Law::Constant(1000.0),
    }]);
    let free = t.reactions(&forces).unwrap().of(&s.m, s.drive_constraint)[0];
    let direction: Vec<f64> = unit_direction(s.m.params.len(), s.drive)
        .iter()
        .map(|d| sense * d)
        .collect();
    let rates = t.rates(&direction).unwrap();
    let b = balance(&t, &forces, &rates, &s.rubbing).unwrap();
    (
        free,
        b.reactions.of(&s.m, s.drive_constraint)[0],
        b.reactions.of(&s.m, s.on_line)[0].abs(),
    )
}

#[test]
fn slider_drives_crank_through_friction_circles() {
    // (crank angle, torque, torque without friction, guide force), N·mm and N.
    let cases = [
        (
            10.0,
            6_683.322_200_716_332,
            10_822.051_921_586_039,
            30.839_825_065_179_84,
        ),
        (
            30.0,
            26_088.410_801_365_935,
            30_455.447_255_899_81,
            112.039_220_489_785_93,
        ),
        (
            80.0,
            46_608.591_263_013_76,
            51_445.902_481_868_66,
            235.095_519_714_607_22,
        ),
        (
            120.0,
            33_505.338_639_133_886,
            37_757.110_657_062_636,
            214.445_414_313_056_18,
        ),
        (
            150.0,
            15_931.251_142_575_575,
            19_544.552_744_101_9,
            121.943_878_629_818_03,
        ),
    ];
    for (degrees, with, without, guide) in cases {
        for as_rod in [false, true] {
            // The push turns the crank forwards here; the drive holds back.
            let (free, rubbed, n) = torque(degrees, as_rod, 1.0);
            assert!(
                (free.abs() - without).abs() < 1e-6,
                "{degrees}: {free} {without}"
            );
            assert!(
                (rubbed.abs() - with).abs() < 1e-6,
                "{degrees} {as_rod}: {rubbed} {with}"
            );
            assert!((n - guide).abs() < 1e-8, "{degrees}: {n} {guide}");
        }
    }
}

#[test]
fn crank_drives_slider_against_its_push() {
    let cases = [
        (240.0, 42_226.046_477_040_47, 229.541_495_191_0),
        (280.0, 56_700.770_959_168_774, 274.716_208_1),
        (340.0, 25_493.344_799_946_66, 99.404_294_862_482_96),
    ];
    for (degrees, with, guide) in cases {
        for as_rod in [false, true] {
            let (_, rubbed, n) = torque(degrees, as_rod, 1.0);
            assert!(
                (rubbed.abs() - with).abs() < 1e-6,
                "{degrees}: {rubbed} {with}"
            );
            assert!((n - guide).abs() < 1e-6, "{degrees}: {n} {guide}");
        }
    }
}

#[test]
fn no_torque_comes_out_near_the_dead_centre() {
    // Root of the output torque: 3.7846784920436143 degrees.
    let out = |d: f64| torque(d, false, 1.0).1;
    let at = 3.784_678_492_043_614;
    assert!(out(at).abs() < 1e-6, "{}", out(at));
    assert!(out(at - 0.01) * out(at + 0.01) < 0.0);
}
