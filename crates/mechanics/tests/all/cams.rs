//! Cams against linkages that move the same way. A roller on an eccentric disc goes as a rod would lead it that reaches from the disc's
//! centre to its own: slider and crank for a follower in line, four bars for a rocker. So every answer about the cam has an
//! answer about a linkage beside it, worked out by other constraints. Besides, pressure angle and forces of a follower in line by hand.

use crate::shop::{Shop, check_sweep, polar};
use mechanics::cam::{Cam, Lift, Ride};
use mechanics::model::{Constraint, Measure, Mechanism, ParamId};
use mechanics::plan::{Forms, Plan, Track, Want};
use mechanics::statics::{Law, Load};
use mechanics::{State, Tangent, close, follow, mobility, unit_direction};
use std::f64::consts::{PI, TAU};
use std::sync::Arc;

/// The first four terms of a series of Taylor.
#[derive(Clone, Copy, Debug)]
struct Series([f64; 4]);

impl Series {
    fn of(x: f64) -> Self {
        Self([x, 0.0, 0.0, 0.0])
    }
    fn add(self, o: Self) -> Self {
        Self(std::array::from_fn(|i| self.0[i] + o.0[i]))
    }
    fn times(self, o: Self) -> Self {
        Self(std::array::from_fn(|i| {
            (0..=i).map(|j| self.0[j] * o.0[i - j]).sum()
        }))
    }
    fn scaled(self, k: f64) -> Self {
        Self(self.0.map(|x| k * x))
    }
    fn over(self, o: Self) -> Self {
        let mut q = [0.0; 4];
        for i in 0..4 {
            let before: f64 = (0..i).map(|j| q[j] * o.0[i - j]).sum();
            q[i] = (self.0[i] - before) / o.0[0];
        }
        Self(q)
    }
    fn root(self) -> Self {
        let mut r = [self.0[0].sqrt(), 0.0, 0.0, 0.0];
        for i in 1..4 {
            let before: f64 = (1..i).map(|j| r[j] * r[i - j]).sum();
            r[i] = (self.0[i] - before) / (2.0 * r[0]);
        }
        Self(r)
    }
    fn rate(self) -> Self {
        Self([self.0[1], 2.0 * self.0[2], 3.0 * self.0[3], 0.0])
    }
    /// The series with this rate that starts here.
    fn from(start: f64, rate: Self) -> Self {
        Self([start, rate.0[0], rate.0[1] / 2.0, rate.0[2] / 3.0])
    }
    /// (cos, sin) of a start and of a turn from it.
    fn around(start: f64) -> [Self; 2] {
        let (s, c) = start.sin_cos();
        [
            Self([c, -s, -c / 2.0, s / 6.0]),
            Self([s, c, -s / 2.0, -c / 6.0]),
        ]
    }
    fn acos(self) -> Self {
        let slope = Self::of(1.0).add(self.times(self).scaled(-1.0)).root();
        Self::from(self.0[0].acos(), self.rate().scaled(-1.0).over(slope))
    }
    fn angle(x: Self, y: Self) -> Self {
        let turn = x.times(y.rate()).add(y.times(x.rate()).scaled(-1.0));
        let square = x.times(x).add(y.times(y));
        Self::from(y.0[0].atan2(x.0[0]), turn.over(square))
    }
    fn derivatives(self) -> [f64; 4] {
        let [a, b, c, d] = self.0;
        [a, b, 2.0 * c, 6.0 * d]
    }
}

/// Lift of a follower in line on an eccentric disc: centre of the disc `throw` off, at `lead` ahead of the way out.
#[derive(Debug)]
struct InLine {
    throw: f64,
    lead: f64,
    reach: f64,
    offset: f64,
}

impl Lift for InLine {
    fn at(&self, turn: f64) -> [f64; 4] {
        let [c, s] = Series::around(turn + self.lead);
        // The pin stands `offset` to the right, which is −offset to the left.
        let aside = s.scaled(self.throw).add(Series::of(self.offset));
        let along = Series::of(self.reach * self.reach).add(aside.times(aside).scaled(-1.0));
        c.scaled(self.throw).add(along.root()).derivatives()
    }
}

/// Angle at the pivot of a rocker on the same disc.
#[derive(Debug)]
struct Rocking {
    throw: f64,
    lead: f64,
    reach: f64,
    centres: f64,
    arm: f64,
    hand: f64,
}

impl Lift for Rocking {
    fn at(&self, turn: f64) -> [f64; 4] {
        let [c, s] = Series::around(turn + self.lead);
        // From the pivot to the disc's centre, its angle from the line to the cam's centre, and the triangle with arm and rod.
        let x = Series::of(self.centres).add(c.scaled(-self.throw));
        let y = s.scaled(self.throw * self.hand);
        let square = x.times(x).add(y.times(y));
        let cosine = square
            .add(Series::of(self.arm * self.arm - self.reach * self.reach))
            .over(square.root().scaled(2.0 * self.arm));
        Series::angle(x, y).add(cosine.acos()).derivatives()
    }
}

const THROW: f64 = 9.0;
const REACH: f64 = 32.0;
const START: f64 = 0.7;

struct Pair {
    cam: Mechanism,
    bar: Mechanism,
    drive: ParamId,
    /// Length of the rod, and what makes the cam's path as much larger.
    swells: [ParamId; 2],
    measure: [Measure; 2],
}

/// Takes the parts that both have, adds the rod to one and the cam to the other.
fn pair(offset: f64, rocks: bool, sense: f64, clock: f64) -> Pair {
    let centre = [12.0, -5.0];
    let way: f64 = 1.1;
    let mut s = Shop::new();
    let (cam, disc, drive) = s.crank(centre, THROW, START);
    let at = s.at(disc);
    // Where the roller stands: on its line, or on its arm's circle.
    let (pin, reference, ride, lift): (_, f64, Ride, Arc<dyn Lift>) = if rocks {
        let (pivot, arm) = (polar(centre, 70.0, 0.3), 55.0);
        let far = (pivot[0] - at[0]).hypot(pivot[1] - at[1]);
        let base = (at[1] - pivot[1]).atan2(at[0] - pivot[0]);
        let open = ((far * far + arm * arm - REACH * REACH) / (2.0 * far * arm)).acos();
        // Seen from centre to pivot the roller stands to the left.
        let roller = polar(pivot, arm, base - open);
        let rocker = s.turning(pivot, roller);
        let ride = Ride::Rocker {
            centres: 70.0,
            arm,
            hand: sense,
            from: 0.0,
        };
        let lead = sense * (START - 0.3) - clock;
        let lift = Rocking {
            throw: THROW,
            lead,
            reach: REACH,
            centres: 70.0,
            arm,
            hand: sense,
        };
        (s.carry(rocker, roller), 0.3, ride, Arc::new(lift))
    } else {
        let (u, right) = ([way.cos(), way.sin()], [way.sin(), -way.cos()]);
        let off = [at[0] - centre[0], at[1] - centre[1]];
        let aside = off[0] * right[0] + off[1] * right[1] - offset;
        let along = off[0] * u[0] + off[1] * u[1] + (REACH * REACH - aside * aside).sqrt();
        let roller = std::array::from_fn(|i| centre[i] + along * u[i] + offset * right[i]);
        let (_, pin) = s.slide(roller, way);
        let ride = Ride::InLine {
            offset: sense * offset,
            from: 0.0,
        };
        let lead = sense * (START - way) - clock;
        let lift = InLine {
            throw: THROW,
            lead,
            reach: REACH,
            offset: sense * offset,
        };
        (pin, way, ride, Arc::new(lift))
    };
    let foot = s.fixed([1.0, 2.0]);
    let measure = [Measure::Along {
        a: foot,
        b: pin,
        direction: [0.6, 0.8, 0.0],
    }; 2];
    let base = s.m;
    let mut bar = base.clone();
    let length = bar.rod(disc, pin);
    let mut m = base;
    let turned = m.drawn[cam].angle;
    let clock = m.param(reference - turned + sense * clock);
    let (swell, roller) = (m.param(0.0), m.param(8.0));
    m.cams.push(Cam {
        ride,
        sense,
        roller: 8.0,
        lift,
    });
    let hub = m.anchor(cam, 0, [0.0; 3]);
    m.constrain(Constraint::Cam {
        cam: 0,
        centre: hub,
        pin,
        clock,
        swell,
        roller,
    });
    Pair {
        cam: m,
        bar,
        drive,
        swells: [swell, length],
        measure,
    }
}

fn all() -> Vec<(String, Pair)> {
    let mut all = Vec::new();
    for sense in [1.0, -1.0] {
        for (offset, rocks) in [(0.0, false), (7.0, false), (-7.0, false), (0.0, true)] {
            let name = format!("sense {sense}, offset {offset}, rocker {rocks}");
            all.push((name, pair(offset, rocks, sense, 0.4)));
        }
    }
    all
}

fn near(name: &str, a: f64, b: f64, within: f64) {
    assert!(
        (a - b).abs() <= within * (1.0 + b.abs()),
        "{name}: {a} and {b}"
    );
}

#[test]
fn a_roller_on_an_eccentric_goes_as_a_rod_leads_it() {
    for (name, p) in all() {
        let (mut on_cam, mut on_bar) = (p.cam.drawn.clone(), p.bar.drawn.clone());
        let (mut params, mut others) = (p.cam.params.clone(), p.bar.params.clone());
        for step in 0..72 {
            let turn = START + f64::from(step) * TAU / 72.0;
            (params[p.drive], others[p.drive]) = (turn, turn);
            close(&p.cam, &params, &mut on_cam).unwrap_or_else(|e| panic!("{name}: {e:?}"));
            close(&p.bar, &others, &mut on_bar).expect("the linkage closes");
            for (a, b) in on_cam.iter().zip(&on_bar) {
                near(&name, a.x, b.x, 1e-9);
                near(&name, a.y, b.y, 1e-9);
                near(&name, a.angle, b.angle, 1e-9);
            }
            // Rates to second order, sensitivities and forces.
            let here = Tangent::new(&p.cam, &params, &on_cam).expect("no dead centre");
            let there = Tangent::new(&p.bar, &others, &on_bar).expect("no dead centre");
            let (a, b) = (
                here.rates(&unit_direction(params.len(), p.drive))
                    .expect("rates"),
                there
                    .rates(&unit_direction(others.len(), p.drive))
                    .expect("rates"),
            );
            for (x, y) in a.first.iter().flatten().zip(b.first.iter().flatten()) {
                near(&name, *x, *y, 1e-9);
            }
            for (x, y) in a.second.iter().flatten().zip(b.second.iter().flatten()) {
                near(&name, *x, *y, 1e-8);
            }
            let (a, b) = (
                here.sensitivity(&p.measure[0]).expect("sensitivity"),
                there.sensitivity(&p.measure[1]).expect("sensitivity"),
            );
            // A cam cut larger is a longer rod; so is a larger roller. All that both have counts the same.
            near(
                &name,
                a.by_param[p.swells[0]],
                b.by_param[p.swells[1]],
                1e-9,
            );
            near(
                &name,
                a.by_param[p.swells[0] + 1],
                b.by_param[p.swells[1]],
                1e-9,
            );
            near(&name, a.by_param[p.drive], b.by_param[p.drive], 1e-9);
            let loads = |m: &Measure| {
                vec![Load {
                    on: *m,
                    law: Law::Constant(-50.0),
                }]
            };
            let (a, b) = (
                here.reactions(&here.forces(&loads(&p.measure[0])))
                    .expect("balance"),
                there
                    .reactions(&there.forces(&loads(&p.measure[1])))
                    .expect("balance"),
            );
            let last = a.rows.len() - 1;
            for (x, y) in a.rows[..last].iter().zip(&b.rows[..last]) {
                near(&name, *x, *y, 1e-8);
            }
            // The normal force is the rod's push.
            let (touch, normal) = p
                .cam
                .touch(
                    &params,
                    &on_cam,
                    &p.cam.constraints[p.cam.constraints.len() - 1],
                )
                .expect("a cam");
            near(
                &name,
                a.rows[last] * normal[0].hypot(normal[1]),
                b.rows[last],
                1e-8,
            );
            near(&name, normal[0].hypot(normal[1]), -touch.by_swell, 1e-9);
        }
    }
}

/// A cam is cut once; when it is cut too large, or its follower stands elsewhere than it was cut for, the roller goes as the larger disc leads it.
#[test]
fn made_otherwise_than_meant() {
    for (name, p) in all() {
        let (mut params, mut others) = (p.cam.params.clone(), p.bar.params.clone());
        // All that the disc does not carry is a little off, the same in both.
        let on_disc = |i: usize| {
            let mut anchors = p.bar.anchors.iter();
            anchors.any(|a| a.body == 1 && [a.u, a.v, a.w].contains(&i))
        };
        for i in 0..p.swells[1] {
            let still = i == p.drive || on_disc(i);
            let by = if still {
                0.0
            } else {
                1e-3 * ((i * 7 % 11) as f64 - 5.0)
            };
            params[i] += by;
            others[i] += by;
        }
        params[p.swells[0]] += 2e-3;
        params[p.swells[0] + 1] += 1e-3;
        others[p.swells[1]] += 3e-3;
        for step in 0..12 {
            let turn = START + f64::from(step) * TAU / 12.0;
            let (mut a, mut b) = (p.cam.drawn.clone(), p.bar.drawn.clone());
            (params[p.drive], others[p.drive]) = (turn, turn);
            for (m, params, poses) in [(&p.cam, &params, &mut a), (&p.bar, &others, &mut b)] {
                let from = State {
                    params: m.params.clone(),
                    poses: m.drawn.clone(),
                };
                let to = follow(m, &from, params);
                *poses = to.state.poses;
            }
            for (a, b) in a.iter().zip(&b) {
                // Only the curvature of how much larger it is cut is left out.
                near(&name, a.x, b.x, 2e-7);
                near(&name, a.y, b.y, 2e-7);
                near(&name, a.angle, b.angle, 2e-7);
            }
        }
    }
}

#[test]
fn plans_of_cams() {
    for (name, p) in all() {
        for forms in [Forms::Closed, Forms::NewtonOnly] {
            let values: Vec<f64> = (1..=700)
                .map(|i| START + f64::from(i) * TAU / 700.0)
                .collect();
            let seen = check_sweep(&name, &p.cam, forms, p.drive, &values);
            assert_eq!((seen.good, seen.missed), (700, 0), "{name} {forms:?}");
        }
        // A batch of perturbed machines against the reference.
        let plan = Plan::new(&p.cam, &p.cam.params, &p.cam.drawn).expect("it can be planned");
        let varied: Vec<ParamId> = (0..p.cam.params.len()).collect();
        let batch = plan
            .batch(
                &p.cam.params,
                &varied,
                &[Want::Measure(p.measure[0])],
                &p.cam.drawn,
            )
            .expect("it is small");
        let value = |i: usize, n: usize| {
            let by = if i == p.drive { 0.02 } else { 1e-3 };
            p.cam.params[i] + by * (((i * 5 + n * 13) % 17) as f64 / 17.0 - 0.5)
        };
        let mut track = Track::new();
        batch.run(
            64,
            |first, columns| {
                for (i, column) in columns.iter_mut().enumerate() {
                    for (lane, x) in column.iter_mut().enumerate() {
                        *x = value(i, first + lane);
                    }
                }
            },
            &mut track,
        );
        assert!(track.missed().is_empty(), "{name}");
        for n in 0..64 {
            let params: Vec<f64> = varied.iter().map(|i| value(*i, n)).collect();
            let mut poses = p.cam.drawn.clone();
            close(&p.cam, &params, &mut poses).expect("it closes");
            near(
                &name,
                track.value(n, 0),
                p.cam.measure(&params, &poses, &p.measure[0]),
                1e-9,
            );
        }
    }
}

#[test]
fn a_cam_takes_one_freedom() {
    for (name, p) in all() {
        let mut m = p.cam.clone();
        assert!(mobility(&m, &m.params, &m.drawn).free.is_empty(), "{name}");
        // Without the drive one is left.
        let drive = m
            .constraints
            .iter()
            .position(|c| matches!(c, Constraint::Angle { angle, .. } if *angle == p.drive));
        m.constraints.remove(drive.expect("there is a drive"));
        assert_eq!(mobility(&m, &m.params, &m.drawn).free.len(), 1, "{name}");
    }
}

/// A harmonic rise of 20 in half a turn.
#[derive(Debug)]
struct Harmonic;

impl Lift for Harmonic {
    fn at(&self, turn: f64) -> [f64; 4] {
        let (s, c) = turn.sin_cos();
        [10.0 * (1.0 - c), 10.0 * s, 10.0 * c, -10.0 * s]
    }
}

/// Pressure angle of a follower in line: tan φ = (velocity − offset) / (base + lift) (the usual equation of handbooks, from memory). The slide
/// is pressed sideways by the load times tan φ, the cam is held by the load times the velocity, its bearing takes the whole normal force.
#[test]
fn forces_by_the_pressure_angle() {
    let (offset, base, load) = (6.0, 40.0, 300.0);
    for step in 0..16 {
        let turn = f64::from(step) * PI / 8.0;
        let [lift, velocity, acceleration, _] = Harmonic.at(turn);
        let mut s = Shop::new();
        let centre = [3.0, 4.0];
        let (cam, _, drive) = s.crank(centre, 10.0, turn);
        let roller = [centre[0] + offset, centre[1] + base + lift];
        let (ram, pin) = s.slide(roller, PI / 2.0);
        let mut m = s.m;
        let (clock, swell, radius) = (m.param(PI / 2.0), m.param(0.0), m.param(9.0));
        let ride = Ride::InLine { offset, from: base };
        m.cams.push(Cam {
            ride,
            sense: 1.0,
            roller: 9.0,
            lift: Arc::new(Harmonic),
        });
        let hub = m.anchor(cam, 0, [0.0; 3]);
        let on = m.constrain(Constraint::Cam {
            cam: 0,
            centre: hub,
            pin,
            clock,
            swell,
            roller: radius,
        });
        let foot = m.anchor(0, 0, [0.0; 3]);
        let up = Measure::Along {
            a: foot,
            b: pin,
            direction: [0.0, 1.0, 0.0],
        };
        let (params, poses) = (m.params.clone(), m.drawn.clone());
        assert!(m.residuals(&params, &poses).iter().all(|r| r.abs() < 1e-12));
        let t = Tangent::new(&m, &params, &poses).expect("no dead centre");
        let rates = t
            .rates(&unit_direction(params.len(), drive))
            .expect("rates");
        near("velocity", rates.first[ram][1], velocity, 1e-12);
        near("acceleration", rates.second[ram][1], acceleration, 1e-12);
        let loads = [Load {
            on: up,
            law: Law::Constant(-load),
        }];
        let r = t.reactions(&t.forces(&loads)).expect("balance");
        let lean = (velocity - offset) / (base + lift);
        let (_, normal) = m.touch(&params, &poses, &m.constraints[on]).expect("a cam");
        near(
            "normal",
            r.of(&m, on)[0] * normal[0].hypot(normal[1]),
            load * (1.0 + lean * lean).sqrt(),
            1e-12,
        );
        near("up", r.of(&m, on)[0] * normal[1], load, 1e-12);
        near(
            "sideways",
            (r.of(&m, on)[0] * normal[0]).abs(),
            load * lean.abs(),
            1e-12,
        );
        let held = m
            .constraints
            .iter()
            .position(|c| matches!(c, Constraint::Angle { angle, .. } if *angle == drive));
        near(
            "torque",
            r.of(&m, held.expect("a drive"))[0],
            load * velocity,
            1e-12,
        );
        // The bearing takes the normal force whole.
        let bearing = r.of(&m, 0);
        near(
            "bearing",
            bearing[0].hypot(bearing[1]),
            load * (1.0 + lean * lean).sqrt(),
            1e-12,
        );
    }
}
