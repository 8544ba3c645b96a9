//! Runs with friction against an outside integrator, and a wheel against its closed form.

use crate::dynamics::{SliderCrank, near, slider_crank};
use mechanics::dynamics::{
    Acts, Driving, End, Halt, Mass, Reduced, Settings, around, pressed, reduced, run,
};
use mechanics::friction::{Rubbing, Rubs, balance};
use mechanics::{State, Tangent, follow, unit_direction};
use std::f64::consts::TAU;

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
