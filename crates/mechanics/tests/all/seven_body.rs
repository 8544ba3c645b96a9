//! A driven run against the published state of the seven-body benchmark.

use crate::dynamics::near;
use mechanics::dynamics::{Driving, Halt, Mass, Settings, run};
use mechanics::model::{Constraint, Measure, Mechanism, ParamId};
use mechanics::statics::{Law, Load};
use mechanics::{Ended, State, follow};
use std::f64::consts::PI;

/// Published state of the seven-body mechanism at 0.03 s: IVP Test Set, problem "Andrews' squeezing mechanism" (CWI, later Bari); Hairer and
/// Wanner, Solving Ordinary Differential Equations II, chapter VII. Lengths in mm here, masses and moments as printed (kg, kg·m²).
struct Squeezer {
    m: Mechanism,
    state: State,
    drive: ParamId,
    legs: [usize; 7],
    masses: [Mass; 7],
    loads: [Load; 1],
}

fn squeezer() -> Squeezer {
    let start = [
        -0.061_713_890_014_276_45,
        0.0,
        0.455_279_819_163_070_4,
        0.222_668_390_165_885_88,
        0.487_364_979_543_842_54,
        -0.222_668_390_165_885_88,
        1.230_547_444_549_821_2,
    ];
    let [be, th, ga, ph, de, om, ep] = start;
    let ([xa, ya], [xb, yb], [xc, yc]) = ([-69.34, -2.27], [-36.35, 32.73], [14.0, 72.0]);
    let polar = |from: [f64; 2], l: f64, a: f64| [from[0] + l * a.cos(), from[1] + l * a.sin()];
    let mut m = Mechanism::new();
    let frame = |m: &mut Mechanism, x, y| m.anchor(0, 0, [x, y, 0.0]);
    let (o, a, b, c) = (
        frame(&mut m, 0.0, 0.0),
        frame(&mut m, xa, ya),
        frame(&mut m, xb, yb),
        frame(&mut m, xc, yc),
    );
    // Bodies as the problem has them, each with its own axes at its first joint.
    let k1 = m.body(0, [0.0; 2], be);
    let f = polar([0.0; 2], 7.0, be);
    let k2 = m.body(0, f, be + th + PI);
    let k3 = m.body(0, [xb, yb], ga);
    let k5 = m.body(0, [xa, ya], de);
    let g = polar([xa, ya], 40.0, de);
    let k4 = m.body(0, g, ph + de - PI / 2.0);
    let k7 = m.body(0, [xa, ya], ep);
    let h = polar([xa, ya], 40.0, ep - PI / 2.0);
    let k6 = m.body(0, h, om + ep);
    let own = |m: &mut Mechanism, body, u, v| m.anchor(body, 0, [u, v, 0.0]);
    let pin = |m: &mut Mechanism, a, b| m.constrain(Constraint::Pin { a, b });
    let at = own(&mut m, k1, 0.0, 0.0);
    pin(&mut m, o, at);
    let drive = m.param(be);
    m.constrain(Constraint::Angle {
        body: k1,
        against: 0,
        angle: drive,
    });
    let (p, q) = (own(&mut m, k1, 7.0, 0.0), own(&mut m, k2, 0.0, 0.0));
    pin(&mut m, p, q);
    let e = own(&mut m, k2, 28.0, 0.0);
    let q = own(&mut m, k3, 0.0, 0.0);
    pin(&mut m, b, q);
    let q = own(&mut m, k3, 0.0, -35.0);
    // E stands at B + 35 (sin γ, −cos γ).
    pin(&mut m, e, q);
    let d = own(&mut m, k3, 20.0, -18.0);
    for (leg, knee, [u, v], length) in [(k5, k4, [40.0, 0.0], 20.0), (k7, k6, [0.0, -40.0], 20.0)] {
        let q = own(&mut m, leg, 0.0, 0.0);
        pin(&mut m, a, q);
        let (p, q) = (own(&mut m, leg, u, v), own(&mut m, knee, 0.0, 0.0));
        pin(&mut m, p, q);
        let q = own(&mut m, knee, length, 0.0);
        pin(&mut m, e, q);
    }
    let body = |body, mass, at, inertia: f64| Mass::Body {
        body,
        mass,
        at,
        inertia: 1e6 * inertia,
    };
    let masses = [
        body(k1, 0.04325, [0.92, 0.0], 2.194e-6),
        body(k2, 0.00365, [11.5, 0.0], 4.410e-7),
        body(k3, 0.02373, [10.43, -18.74], 5.255e-6),
        body(k4, 0.00706, [20.0 - 14.21, 0.0], 5.667e-7),
        body(k5, 0.07050, [23.08, 9.16], 1.169e-5),
        body(k6, 0.00706, [20.0 - 14.21, 0.0], 5.667e-7),
        body(k7, 0.05498, [12.28, -4.49], 1.912e-5),
    ];
    let loads = [Load {
        on: Measure::Distance { a: c, b: d },
        law: Law::Spring {
            rate: 4.53,
            free: 77.85,
            only_push: false,
            only_pull: false,
        },
    }];
    let closed = State {
        params: m.params.clone(),
        poses: m.drawn.clone(),
    };
    let closed = follow(&m, &closed, &m.params);
    assert_eq!(closed.ended, Ended::Reached, "the drawing does not close");
    Squeezer {
        state: closed.state,
        m,
        drive,
        legs: [k1, k2, k3, k4, k5, k6, k7],
        masses,
        loads,
    }
}

impl Squeezer {
    /// Run for 0.03 s from a speed of the crank under a moment on it, N·mm: the seven angles as the problem counts them, and the speed.
    fn run(&self, speed: f64, moment: f64) -> ([f64; 7], f64) {
        let ran = run(
            &self.m,
            &self.state,
            &[speed],
            &self.driving(&[self.drive]),
            &Settings {
                until: 0.03,
                relative: 1e-9,
                absolute: 1e-9,
                steps: 20_000,
            },
            |_| vec![moment],
            |_| true,
        );
        assert_eq!(ran.halt, Halt::Time, "{} steps", ran.taken);
        let [k1, k2, k3, k4, k5, k6, k7] = self.legs.map(|b| ran.end.state.poses[b].angle);
        let angles = [k1, k2 - PI - k1, k3, k4 + PI / 2.0 - k5, k5, k6 - k7, k7];
        (angles, ran.end.speeds[0])
    }

    fn driving<'d>(&'d self, drives: &'d [ParamId]) -> Driving<'d> {
        Driving {
            drives,
            masses: &self.masses,
            loads: &self.loads,
        }
    }
}

fn alike(found: [f64; 7], wanted: [f64; 7]) {
    for (found, wanted) in found.iter().zip(wanted) {
        assert!(
            (found - wanted).abs() < 1e-6 * wanted.abs().max(1.0),
            "{found} {wanted}"
        );
    }
}

#[test]
fn the_seven_body_mechanism_reaches_its_published_state() {
    let squeezer = squeezer();
    let (angles, speed) = squeezer.run(0.0, 33.0);
    alike(
        angles,
        [
            15.810_771_196_299_04,
            -15.756_371_059_842_98,
            0.040_822_240_130_731_01,
            -0.534_730_116_322_694_8,
            0.524_409_965_880_530_4,
            0.534_730_116_322_694_8,
            1.048_080_741_042_263,
        ],
    );
    near(speed, 1_139.920_302_151_208, 1e-6);
    // First accelerations, as published with the start.
    let mut first = 0.0;
    run(
        &squeezer.m,
        &squeezer.state,
        &[0.0],
        &squeezer.driving(&[squeezer.drive]),
        &Settings {
            until: 0.03,
            relative: 1e-6,
            absolute: 1e-6,
            steps: 10,
        },
        |_| vec![33.0],
        |now| {
            first = now.accelerations[0];
            false
        },
    );
    near(first, 14_222.443_919_954_114, 1e-9);
}

/// Reference: `checks/squeezer.py`, a general integrator on the equation of the crank alone, which reaches the published state when driven.
#[test]
fn the_seven_body_mechanism_let_go_agrees_with_an_outside_integrator() {
    let (angles, speed) = squeezer().run(500.0, 0.0);
    alike(
        angles,
        [
            19.709_902_521_835,
            -19.532_931_219_113,
            0.391_419_841_710,
            0.096_800_206_714,
            0.500_277_275_626,
            -0.096_800_206_714,
            1.184_636_025_853,
        ],
    );
    near(speed, 562.023_845_230, 1e-6);
}
