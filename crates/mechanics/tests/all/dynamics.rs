//! Moving masses against closed forms, and a driven run against the published state of the seven-body benchmark.

use mechanics::dynamics::{Driving, Halt, Mass, Reduced, Settings, pressed, reduced, run, shaking};
use mechanics::model::{Constraint, Measure, Mechanism, ParamId};
use mechanics::statics::{Law, Load};
use mechanics::{State, Tangent, measure_third, unit_direction};
use std::f64::consts::{PI, TAU};

const R: f64 = 40.0;
const L: f64 = 130.0;

/// A slider-crank, its crank at this angle; the parameter of its drive, the anchors of crank pin and slider, and its bodies.
pub(crate) struct SliderCrank {
    pub(crate) m: Mechanism,
    pub(crate) drive: ParamId,
    pub(crate) pin: usize,
    pub(crate) slider: usize,
    pub(crate) rod: [usize; 2],
}

pub(crate) fn slider_crank(angle: f64) -> SliderCrank {
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

pub(crate) fn near(found: f64, wanted: f64, within: f64) {
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
