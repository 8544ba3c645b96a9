//! Moving masses against closed forms, and a driven run against the published state of the seven-body benchmark.

use mechanics::dynamics::{
    Acts, Driving, End, Halt, Mass, Reduced, Settings, around, pressed, reduced, run, shaking,
};
use mechanics::friction::{Rubbing, Rubs, balance};
use mechanics::model::{Constraint, Measure, Mechanism, ParamId};
use mechanics::statics::{Law, Load};
use mechanics::{Ended, State, Tangent, follow, measure_third, unit_direction};
use std::f64::consts::{PI, TAU};

const R: f64 = 40.0;
const L: f64 = 130.0;

/// A slider-crank, its crank at this angle; the parameter of its drive, the anchors of crank pin and slider, and its bodies.
struct SliderCrank {
    m: Mechanism,
    drive: ParamId,
    pin: usize,
    slider: usize,
    rod: [usize; 2],
}

fn slider_crank(angle: f64) -> SliderCrank {
    let mut m = Mechanism::new();
    let ground = m.anchor(0, 0, [0.0; 3]);
    let (s, c) = angle.sin_cos();
    let x = R * c + (L * L - R * R * s * s).sqrt();
    let crank = m.body(0, [0.0; 2], angle);
    let ram = m.body(0, [x, 0.0], 0.0);
    let centre = m.anchor(crank, 0, [0.0; 3]);
    let pin = m.anchor(crank, 0, [R, 0.0, 0.0]);
    let slider = m.anchor(ram, 0, [0.0; 3]);
    m.constrain(Constraint::Pin {
        a: ground,
        b: centre,
    });
    let drive = m.param(angle);
    m.constrain(Constraint::Angle {
        body: crank,
        against: 0,
        angle: drive,
    });
    let (along, offset) = (m.param(0.0), m.param(0.0));
    m.constrain(Constraint::OnLine {
        pin: slider,
        through: ground,
        direction: along,
        offset,
    });
    m.constrain(Constraint::Angle {
        body: ram,
        against: 0,
        angle: along,
    });
    m.rod(pin, slider);
    SliderCrank {
        m,
        drive,
        pin,
        slider,
        rod: [crank, ram],
    }
}

fn near(found: f64, wanted: f64, within: f64) {
    assert!(
        (found - wanted).abs() <= within * (1.0 + wanted.abs()),
        "{found} {wanted}"
    );
}

/// x and its first three derivatives by the crank angle, by differences of the closed form where a closed form would be long: the
/// third from the second by a step of 1e-4 (error below 1e-7 of it).
fn place(t: f64) -> [f64; 4] {
    let root = |t: f64| (L * L - (R * t.sin()).powi(2)).sqrt();
    let second = |t: f64| {
        let (s, c) = t.sin_cos();
        -R * c - R * R * ((c * c - s * s) / root(t) + (R * s * c).powi(2) / root(t).powi(3))
    };
    let (s, c) = t.sin_cos();
    let h = 1e-4;
    [
        R * c + root(t),
        -R * s - R * R * s * c / root(t),
        second(t),
        (second(t + h) - second(t - h)) / (2.0 * h),
    ]
}

#[test]
fn velocity_acceleration_and_jerk_of_a_slider_are_its_closed_form() {
    for i in 0..24 {
        let t = f64::from(i) * TAU / 24.0 + 0.03;
        let k = slider_crank(t);
        let tangent = Tangent::new(&k.m, &k.m.params, &k.m.drawn).unwrap();
        let direction = unit_direction(k.m.params.len(), k.drive);
        let rates = tangent.rates(&direction).unwrap();
        let third = tangent.third(&direction, &rates).unwrap();
        let along = Measure::Along {
            a: 0,
            b: k.slider,
            direction: [1.0, 0.0, 0.0],
        };
        let [value, first, second] = tangent.along(&along, &direction, &rates);
        let wanted = place(t);
        near(value, wanted[0], 1e-12);
        near(first, wanted[1], 1e-12);
        near(second, wanted[2], 1e-12);
        let jerk = measure_third(
            &k.m,
            &k.m.params,
            &k.m.drawn,
            &along,
            &direction,
            &rates,
            &third,
        );
        near(jerk, wanted[3], 1e-6);
    }
}

/// Third rates of random points against differences of second rates: a distance, which is no straight measure.
#[test]
fn jerk_of_a_distance_is_the_difference_of_its_accelerations() {
    let jet = |t: f64| {
        let mut k = slider_crank(t);
        let post = k.m.anchor(0, 0, [30.0, 90.0, 12.0]);
        let tangent = Tangent::new(&k.m, &k.m.params, &k.m.drawn).unwrap();
        let direction = unit_direction(k.m.params.len(), k.drive);
        let rates = tangent.rates(&direction).unwrap();
        let third = tangent.third(&direction, &rates).unwrap();
        let on = Measure::Distance {
            a: post,
            b: k.slider,
        };
        let second = tangent.along(&on, &direction, &rates)[2];
        let poses = &k.m.drawn;
        let jerk = measure_third(&k.m, &k.m.params, poses, &on, &direction, &rates, &third);
        (second, jerk)
    };
    for t in [0.4, 1.7, 3.9, 5.5] {
        let h = 1e-4;
        let slope = (jet(t + h).0 - jet(t - h).0) / (2.0 * h);
        near(jet(t).1, slope, 1e-6);
    }
}

fn masses(k: &SliderCrank) -> Vec<Mass> {
    vec![
        Mass::Body {
            body: k.rod[0],
            mass: 3.0,
            at: [10.0, 4.0],
            inertia: 900.0,
        },
        Mass::Body {
            body: k.rod[1],
            mass: 2.0,
            at: [5.0, -3.0],
            inertia: 700.0,
        },
        Mass::Bar {
            a: k.pin,
            b: k.slider,
            mass: 0.8,
        },
    ]
}

/// Closed form: crank about its pivot, slider with its speed, rod as a rigid bar with its own centre and turn.
fn closed(t: f64) -> f64 {
    let (s, c) = t.sin_cos();
    let root = (L * L - R * R * s * s).sqrt();
    let slider = place(t)[1];
    let centre = [0.5 * (-R * s + slider), 0.5 * R * c];
    // sin(rod) = −R sin t / L.
    let turn = -R * c / root;
    let crank = 900.0 + 3.0 * (100.0 + 16.0);
    let rod = 0.8 * (centre[0].powi(2) + centre[1].powi(2)) + 0.8 * L * L / 12.0 * turn * turn;
    crank + 2.0 * slider * slider + rod
}

#[test]
fn inertia_reduced_to_the_crank_is_its_closed_form() {
    for i in 0..24 {
        let t = f64::from(i) * TAU / 24.0 + 0.03;
        let k = slider_crank(t);
        let masses = masses(&k);
        let tangent = Tangent::new(&k.m, &k.m.params, &k.m.drawn).unwrap();
        let rates = tangent
            .rates(&unit_direction(k.m.params.len(), k.drive))
            .unwrap();
        let (params, poses) = (&k.m.params, &k.m.drawn);
        let found = reduced(&k.m, params, poses, &rates, &masses);
        near(found.inertia, closed(t), 1e-12);
        let h = 1e-5;
        near(
            found.slope,
            (closed(t + h) - closed(t - h)) / (2.0 * h),
            1e-6,
        );
        // The forces of inertia, carried through all joints to the drive, are what the reduced inertia says.
        let motion = [40.0, -300.0];
        let on = pressed(&k.m, params, poses, &rates, &masses, motion);
        let forces: Vec<f64> = on
            .iter()
            .skip(1)
            .flat_map(|b| [b.force[0], b.force[1], b.moment])
            .collect();
        let reactions = tangent.reactions(&forces).unwrap();
        let drive = reactions.of(&k.m, 1)[0];
        near(drive, found.effort(motion[0], motion[1]), 1e-10);
        // What shakes the frame is all mass times acceleration of its centre.
        let shaken = shaking(&k.m, params, poses, &rates, &masses, motion);
        let summed: f64 = on.iter().map(|b| b.force[0]).sum();
        near(shaken[0], summed, 1e-12);
        // mass × r ω²: kg mm/s² are thousandths of a newton.
        let energy = Reduced {
            inertia: 2e6,
            slope: 0.0,
        };
        near(energy.energy(3.0), 9000.0, 1e-12);
    }
}

/// A pendulum of a bar let go level: ω² = 3 g / L (1 − cos) over the lowest place, and time of small swings 2π √(2L/3g).
#[test]
fn a_bar_swings_as_a_compound_pendulum() {
    let mut m = Mechanism::new();
    let ground = m.anchor(0, 0, [0.0; 3]);
    let bar = m.body(0, [0.0; 2], -PI / 2.0 + 0.02);
    let (top, tip) = (
        m.anchor(bar, 0, [0.0; 3]),
        m.anchor(bar, 0, [600.0, 0.0, 0.0]),
    );
    let middle = m.anchor(bar, 0, [300.0, 0.0, 0.0]);
    m.constrain(Constraint::Pin { a: ground, b: top });
    let drive = m.param(-PI / 2.0 + 0.02);
    m.constrain(Constraint::Angle {
        body: bar,
        against: 0,
        angle: drive,
    });
    let loads = [Load {
        on: Measure::Along {
            a: ground,
            b: middle,
            direction: [0.0, -1.0, 0.0],
        },
        law: Law::Constant(2.0 * 9.80665),
    }];
    let driving = Driving {
        drives: &[drive],
        masses: &[Mass::Bar {
            a: top,
            b: tip,
            mass: 2.0,
        }],
        loads: &loads,
    };
    let start = State {
        params: m.params.clone(),
        poses: m.drawn.clone(),
    };
    // Exact time of a swing: 2π √(2L/3g) (1 + θ²/16).
    let time = TAU * (2.0 * 600.0 / (3.0 * 9806.65_f64)).sqrt() * (1.0 + 0.02_f64.powi(2) / 16.0);
    let settings = Settings {
        until: time,
        relative: 1e-10,
        absolute: 1e-12,
        steps: 10_000,
    };
    let ran = run(
        &m,
        &start,
        &[0.0],
        &driving,
        &settings,
        |_| vec![0.0],
        |_| true,
    );
    assert_eq!(ran.halt, Halt::Time);
    near(ran.end.state.params[drive], -PI / 2.0 + 0.02, 1e-9);
    assert!(ran.end.speeds[0].abs() < 1e-6, "{:?}", ran.end.speeds);
    // A dead stop told by whoever watches.
    let told = run(
        &m,
        &start,
        &[0.0],
        &driving,
        &settings,
        |_| vec![0.0],
        |now| now.time < 0.1,
    );
    assert_eq!(told.halt, Halt::Told);
}

/// Two freedoms: a double pendulum of point masses keeps its energy, and its first instants are those of the closed form.
#[test]
fn two_freedoms_keep_their_energy() {
    let (l1, l2) = (400.0, 300.0);
    let mut m = Mechanism::new();
    let ground = m.anchor(0, 0, [0.0; 3]);
    let one = m.body(0, [0.0; 2], 0.3);
    let (s, c) = 0.3_f64.sin_cos();
    let two = m.body(0, [l1 * c, l1 * s], -0.4);
    let top = m.anchor(one, 0, [0.0; 3]);
    let elbow = m.anchor(one, 0, [l1, 0.0, 0.0]);
    let hung = m.anchor(two, 0, [0.0; 3]);
    let tip = m.anchor(two, 0, [l2, 0.0, 0.0]);
    m.constrain(Constraint::Pin { a: ground, b: top });
    m.constrain(Constraint::Pin { a: elbow, b: hung });
    let drives = [(one, 0.3), (two, -0.4)].map(|(body, at)| {
        let angle = m.param(at);
        m.constrain(Constraint::Angle {
            body,
            against: 0,
            angle,
        });
        angle
    });
    let point = |body, at| Mass::Body {
        body,
        mass: 1.5,
        at,
        inertia: 0.0,
    };
    let down = |b| Load {
        on: Measure::Along {
            a: ground,
            b,
            direction: [0.0, -1.0, 0.0],
        },
        law: Law::Constant(1.5 * 9.80665),
    };
    let (masses, loads) = (
        [point(one, [l1, 0.0]), point(two, [l2, 0.0])],
        [down(elbow), down(tip)],
    );
    let driving = Driving {
        drives: &drives,
        masses: &masses,
        loads: &loads,
    };
    let energy = |state: &State, w: &[f64]| {
        let at = |p: usize| state.params[drives[p]];
        let height = 2.0 * l1 * at(0).sin() + l2 * at(1).sin();
        let kinetic = (l1 * w[0]).powi(2)
            + 0.5 * (l2 * w[1]).powi(2)
            + l1 * l2 * w[0] * w[1] * (at(0) - at(1)).cos();
        1.5 * (1e-3 * kinetic + 9.80665 * height)
    };
    let start = State {
        params: m.params.clone(),
        poses: m.drawn.clone(),
    };
    let begun = energy(&start, &[0.0; 2]);
    let mut worst = 0.0_f64;
    let ran = run(
        &m,
        &start,
        &[0.0; 2],
        &driving,
        &Settings {
            until: 1.5,
            relative: 1e-9,
            absolute: 1e-9,
            steps: 20_000,
        },
        |_| vec![0.0; 2],
        |now| {
            worst = worst.max((energy(&now.state, &now.speeds) - begun).abs());
            true
        },
    );
    assert_eq!(ran.halt, Halt::Time);
    // Energies in N mm, some 10⁴.
    assert!(worst < 1e-3, "{worst}");
    // Textbook first acceleration from rest (Lagrange): 2 a1 + (l2/l1) cos(d) a2 = −2 g/l1 cos 1, ...
    let (d, g) = (0.7_f64, 9806.65);
    let matrix = [
        [2.0 * l1 * l1, l1 * l2 * d.cos()],
        [l1 * l2 * d.cos(), l2 * l2],
    ];
    let right = [-2.0 * g * l1 * 0.3_f64.cos(), -g * l2 * 0.4_f64.cos()];
    let det = matrix[0][0] * matrix[1][1] - matrix[0][1] * matrix[1][0];
    let a = [
        (right[0] * matrix[1][1] - right[1] * matrix[0][1]) / det,
        (matrix[0][0] * right[1] - matrix[1][0] * right[0]) / det,
    ];
    let mut first = Vec::new();
    run(
        &m,
        &start,
        &[0.0; 2],
        &driving,
        &Settings {
            until: 1.0,
            relative: 1e-6,
            absolute: 1e-6,
            steps: 10,
        },
        |_| vec![0.0; 2],
        |now| {
            first.clone_from(&now.accelerations);
            false
        },
    );
    near(first[0], a[0], 1e-10);
    near(first[1], a[1], 1e-10);
}

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

/// A slider-crank with friction in its guide alone, driven by a straight motor line and braked by a constant force on the slider: the guide
/// presses with what the rod presses sideways, so its friction depends on the acceleration. Reference: `checks/running.py`, an outside integrator
/// on the equations written out by hand.
struct Guided {
    s: SliderCrank,
    masses: Vec<Mass>,
    force: f64,
    mu: f64,
    line: [f64; 2],
}

impl Guided {
    fn new() -> Self {
        let s = slider_crank(0.3);
        // A fly-wheel on the crank, the slider, a massless rod.
        let masses = vec![
            Mass::Body {
                body: s.rod[0],
                mass: 0.0,
                at: [0.0; 2],
                inertia: 4000.0,
            },
            Mass::Body {
                body: s.rod[1],
                mass: 1.2,
                at: [0.0; 2],
                inertia: 0.0,
            },
        ];
        Self {
            s,
            masses,
            force: 20.0,
            mu: 0.2,
            line: [1500.0, 25.0],
        }
    }

    /// N·mm that the motor gives at this speed.
    fn motor(&self, speed: f64) -> f64 {
        self.line[0] * (1.0 - speed / self.line[1])
    }

    /// What the friction of the guide takes of the drive, from the general balance of friction.
    fn rubs(&self, state: &State, speed: f64, acceleration: f64) -> f64 {
        let m = &self.s.m;
        let tangent = Tangent::new(m, &state.params, &state.poses).unwrap();
        let rates = tangent
            .rates(&unit_direction(state.params.len(), self.s.drive))
            .unwrap();
        let on = pressed(
            m,
            &state.params,
            &state.poses,
            &rates,
            &self.masses,
            [speed, acceleration],
        );
        let ram = self.s.rod[1];
        let mut loads = vec![0.0; 3 * (m.bodies.len() - 1)];
        loads[3 * (ram - 1)] = on[ram].force[0] - self.force * rates.first[ram][0].signum();
        loads[3 * (self.s.rod[0] - 1) + 2] = on[self.s.rod[0]].moment;
        let rubbing = [Rubbing {
            rubs: Rubs::Slide {
                on_line: 2,
                angle: 3,
                length: 1e6,
                teeth: Vec::new(),
            },
            mu: self.mu,
        }];
        let plain = tangent.reactions(&loads).unwrap();
        let with = balance(&tangent, &loads, &rates, &rubbing).unwrap();
        // Rows: pin 0 and 1, drive 2.
        with.reactions.rows[2] - plain.rows[2]
    }

    /// Force of the work on the drive.
    fn works(&self, state: &State) -> f64 {
        let m = &self.s.m;
        let tangent = Tangent::new(m, &state.params, &state.poses).unwrap();
        let rates = tangent
            .rates(&unit_direction(state.params.len(), self.s.drive))
            .unwrap();
        -self.force * rates.first[self.s.rod[1]][0].abs()
    }
}

/// Angle and speed of the crank after times, from `checks/running.py` (scipy's DOP853 at 1e-12).
const DRIVEN: [[f64; 3]; 4] = [
    [0.05, 0.556_732_532_513, 8.487_846_809_117],
    [0.2, 2.038_075_151_595, 11.566_019_406_640],
    [0.5, 6.764_372_441_669, 17.564_150_344_750],
    [1.0, 14.522_263_968_799, 13.692_963_901_383],
];

#[test]
fn a_run_with_friction_agrees_with_an_outside_integrator() {
    let guided = Guided::new();
    let driving = Driving {
        drives: &[guided.s.drive],
        masses: &guided.masses,
        loads: &[],
    };
    let start = State {
        params: guided.s.m.params.clone(),
        poses: guided.s.m.drawn.clone(),
    };
    for [time, angle, speed] in DRIVEN {
        let ran = run(
            &guided.s.m,
            &start,
            &[0.0],
            &driving,
            &Settings {
                until: time,
                relative: 1e-9,
                absolute: 1e-9,
                steps: 20_000,
            },
            |now| {
                let speed = now.speeds[0];
                vec![
                    guided.motor(speed) + guided.works(&now.state)
                        - guided.rubs(&now.state, speed, now.accelerations[0]),
                ]
            },
            |_| true,
        );
        assert_eq!(ran.halt, Halt::Time);
        near(ran.end.state.params[guided.s.drive], angle, 1e-6);
        near(ran.end.speeds[0], speed, 1e-6);
    }
}

/// The same machine place by place: what acts on it is asked of the general balance of friction at each place.
struct Placed<'g> {
    guided: &'g Guided,
    states: Vec<State>,
    driven: bool,
}

impl Acts for Placed<'_> {
    fn drives(&mut self, place: usize, speed: f64) -> f64 {
        let motor = if self.driven {
            self.guided.motor(speed)
        } else {
            0.0
        };
        motor + self.guided.works(&self.states[place])
    }

    fn rubs(&mut self, place: usize, speed: f64, acceleration: f64) -> Option<f64> {
        Some(self.guided.rubs(&self.states[place], speed, acceleration))
    }
}

/// A turn of the slider-crank in equal steps from where it is drawn.
fn placed(guided: &Guided, count: usize) -> (Vec<State>, Vec<Reduced>) {
    let mut now = State {
        params: guided.s.m.params.clone(),
        poses: guided.s.m.drawn.clone(),
    };
    (0..count)
        .map(|i| {
            let mut params = now.params.clone();
            params[guided.s.drive] = 0.3 + TAU * i as f64 / count as f64;
            now = follow(&guided.s.m, &now, &params).state;
            let tangent = Tangent::new(&guided.s.m, &now.params, &now.poses).unwrap();
            let rates = tangent
                .rates(&unit_direction(params.len(), guided.s.drive))
                .unwrap();
            let felt = reduced(&guided.s.m, &now.params, &now.poses, &rates, &guided.masses);
            (now.clone(), felt)
        })
        .unzip()
}

#[test]
fn a_run_place_by_place_agrees_with_an_outside_integrator() {
    let guided = Guided::new();
    // Half turns, time and speed there (`checks/running.py`).
    let wanted = [
        [1.0, 0.291_677_654_548, 19.164_818_092_475],
        [2.0, 0.489_918_165_742, 18.311_523_606_451],
        [4.0, 0.887_784_795_190, 18.365_938_053_833],
    ];
    let mut errors = Vec::new();
    for count in [360, 1440] {
        let (states, felt) = placed(&guided, count);
        let mut acts = Placed {
            guided: &guided,
            states,
            driven: true,
        };
        let mut worst = 0.0_f64;
        around(&felt, TAU / count as f64, 0, 0.0, &mut acts, |now| {
            for [half, time, speed] in wanted {
                if now.count == half as usize * count / 2 {
                    worst = worst
                        .max((now.time / time - 1.0).abs())
                        .max((now.speed / speed - 1.0).abs());
                }
            }
            now.count < 2 * count
        });
        errors.push(worst);
    }
    // Second order in the step, where no dead centre lies inside one.
    assert!(errors[0] < 2e-4 && errors[1] < 2e-5, "{errors:?}");
}

#[test]
fn let_go_it_stands_where_an_outside_integrator_says() {
    let guided = Guided::new();
    let count = 1440;
    let (states, felt) = placed(&guided, count);
    let mut acts = Placed {
        guided: &guided,
        states,
        driven: false,
    };
    let step = TAU / count as f64;
    let mut last = (0, 0.0);
    let end = around(&felt, step, 0, 20.0, &mut acts, |now| {
        last = (now.count, now.time);
        true
    });
    let End::Stands { share, after } = end else {
        panic!("{end:?}")
    };
    near(
        0.3 + step * (last.0 as f64 + share),
        1.496_895_264_682,
        1e-4,
    );
    near(last.1 + after, 0.127_361_718_289, 1e-3);
}

/// Closed form: a wheel with a straight motor line runs up as `w0 (1 - exp(-t/T))`, T = J w0 / M0, however stiff the line.
#[test]
fn a_wheel_runs_up_as_its_closed_form_says() {
    struct Wheel(f64);
    impl Acts for Wheel {
        fn drives(&mut self, _: usize, speed: f64) -> f64 {
            self.0 * (1.0 - speed / 10.0)
        }
        fn rubs(&mut self, _: usize, _: f64, _: f64) -> Option<f64> {
            Some(0.0)
        }
    }
    let felt = vec![
        Reduced {
            inertia: 2e6,
            slope: 0.0
        };
        3600
    ];
    // J = 2 kg m², 10 N m: T = 2 s.
    let mut worst = 0.0_f64;
    around(&felt, TAU / 3600.0, 0, 0.0, &mut Wheel(1e4), |now| {
        if now.time > 0.5 {
            worst = worst.max((now.speed - 10.0 * (1.0 - (-now.time / 2.0).exp())).abs());
        }
        now.time < 8.0
    });
    assert!(worst < 1e-3, "{worst}");
    // A line ten thousand times as stiff does not shake.
    let mut most = 0.0_f64;
    around(&felt, TAU / 3600.0, 0, 0.0, &mut Wheel(1e8), |now| {
        most = most.max(now.speed);
        now.count < 3600
    });
    assert!((most - 10.0).abs() < 1e-6, "{most}");
}
