//! Moving masses: inertia reduced to a drive, forces that inertia presses on the joints, and runs in time.
//!
//! # Conventions
//! - Masses in kg, moments of inertia in kg·mm², time in s. Forces come out in N and N·mm: 1 kg·mm/s² is a thousandth of a newton.
//! - Kinetic energy is written as `½ Σ w ż²` over plain coordinates z (places of centres, angles, places of rod ends), so that the inertia
//!   reduced to a drive is `Σ w z'²`, half its derivative `Σ w z' z''`, and the coupling of two drives `Σ w z'₁ z'₂` (Lagrange's equations;
//!   the energy of a uniform rod from its ends and its middle is exact, Simpson's rule of a quadratic).

mod around;
mod run;

pub use around::{Acts, End, Passed, around};
pub use run::{Driving, Halt, Moment, Ran, Settings, run};

use crate::geometry::At;
use crate::model::{AnchorId, BodyId, Mechanism, Pose};
use crate::num::Jet;
use crate::tangent::Rates;

/// N for one kg·mm/s².
const NEWTON: f64 = 1e-3;

/// A mass that moves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mass {
    /// A rigid body in its plane.
    Body {
        /// The body.
        body: BodyId,
        /// Its mass, kg.
        mass: f64,
        /// Its centre of mass in its own axes, mm.
        at: [f64; 2],
        /// Its moment of inertia about that centre, kg·mm².
        inertia: f64,
    },
    /// A straight uniform bar from one anchor to another, of one body or of two (a rod).
    Bar {
        /// One end.
        a: AnchorId,
        /// The other.
        b: AnchorId,
        /// Its mass, kg.
        mass: f64,
    },
}

/// One plain coordinate of the kinetic energy `½ w ż²`.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Coordinate {
    /// kg or kg·mm².
    weight: f64,
    first: f64,
    second: f64,
}

/// Inertia as a drive feels it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Reduced {
    /// kg·mm² (rad) or kg (mm).
    pub inertia: f64,
    /// Its derivative by the drive.
    pub slope: f64,
}

impl Reduced {
    /// What the drive must give beyond all else at this speed and acceleration, N·mm or N: `I φ̈ + ½ I' φ̇²` (Eksergian's equation).
    pub fn effort(self, speed: f64, acceleration: f64) -> f64 {
        NEWTON * (self.inertia * acceleration + 0.5 * self.slope * speed * speed)
    }

    /// Kinetic energy at this speed, N·mm.
    pub fn energy(self, speed: f64) -> f64 {
        0.5 * NEWTON * self.inertia * speed * speed
    }
}

/// Reads coordinates off the machine while its bodies move with these rates.
struct Read<'a> {
    mechanism: &'a Mechanism,
    params: Vec<Jet>,
    poses: Vec<[Jet; 3]>,
}

impl<'a> Read<'a> {
    fn new(mechanism: &'a Mechanism, params: &[f64], poses: &[Pose], rates: &Rates) -> Self {
        let still = |value: &f64| Jet {
            value: *value,
            ..Jet::default()
        };
        let moved = poses.iter().enumerate().map(|(b, p)| {
            let value = [p.x, p.y, p.angle];
            std::array::from_fn(|i| Jet {
                value: value[i],
                rate: rates.first[b][i],
                second: rates.second[b][i],
            })
        });
        Self {
            mechanism,
            params: params.iter().map(still).collect(),
            poses: moved.collect(),
        }
    }

    /// Centre of a body in its plane, and its angle.
    fn body(&self, body: BodyId, [u, v]: [f64; 2]) -> [Jet; 3] {
        let [x, y, angle] = self.poses[body];
        let (s, c) = crate::num::Num::sin_cos(angle);
        let of = <Jet as crate::num::Num>::of;
        [x + c * of(u) - s * of(v), y + s * of(u) + c * of(v), angle]
    }

    fn anchor(&self, anchor: AnchorId) -> [Jet; 3] {
        At {
            mechanism: self.mechanism,
            params: &self.params,
            poses: &self.poses,
        }
        .in_space(anchor)
    }

    fn coordinates(&self, masses: &[Mass]) -> Vec<Coordinate> {
        let mut all = Vec::with_capacity(4 * masses.len());
        let mut add = |weight: f64, z: Jet| {
            all.push(Coordinate {
                weight,
                first: z.rate,
                second: z.second,
            });
        };
        for mass in masses {
            match *mass {
                Mass::Body {
                    body,
                    mass,
                    at,
                    inertia,
                } => {
                    let [x, y, angle] = self.body(body, at);
                    add(mass, x);
                    add(mass, y);
                    add(inertia, angle);
                }
                Mass::Bar { a, b, mass } => {
                    let (p, q) = (self.anchor(a), self.anchor(b));
                    let half = <Jet as crate::num::Num>::of(0.5);
                    for (p, q) in p.into_iter().zip(q) {
                        add(mass / 6.0, p);
                        add(mass / 6.0, q);
                        add(mass * 2.0 / 3.0, (p + q) * half);
                    }
                }
            }
        }
        all
    }
}

/// The inertia of all masses as one drive feels it whose motion has these rates.
pub fn reduced(
    mechanism: &Mechanism,
    params: &[f64],
    poses: &[Pose],
    rates: &Rates,
    masses: &[Mass],
) -> Reduced {
    let coordinates = Read::new(mechanism, params, poses, rates).coordinates(masses);
    let sum = |f: fn(&Coordinate) -> f64| coordinates.iter().map(f).sum::<f64>();
    Reduced {
        inertia: sum(|z| z.weight * z.first * z.first),
        slope: 2.0 * sum(|z| z.weight * z.first * z.second),
    }
}

/// A force of inertia on a body, at its own origin.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OnBody {
    /// Along right and up of the body's plane, N.
    pub force: [f64; 2],
    /// About the body's own origin, N·mm.
    pub moment: f64,
}

/// What inertia presses on every body (d'Alembert) at this speed and acceleration of the drive whose motion has these rates. One a body.
/// A bar between planes also presses out of plane; that is left out, for the joints of a plane carry it in no equation.
pub fn pressed(
    mechanism: &Mechanism,
    params: &[f64],
    poses: &[Pose],
    rates: &Rates,
    masses: &[Mass],
    [speed, acceleration]: [f64; 2],
) -> Vec<OnBody> {
    let read = Read::new(mechanism, params, poses, rates);
    let pushed =
        |z: Jet, mass: f64| -NEWTON * mass * (z.rate * acceleration + z.second * speed * speed);
    let mut on = vec![OnBody::default(); mechanism.bodies.len()];
    for mass in masses {
        match *mass {
            Mass::Body {
                body,
                mass,
                at,
                inertia,
            } => {
                let [x, y, angle] = read.body(body, at);
                let force = [pushed(x, mass), pushed(y, mass)];
                let arm = [x.value - poses[body].x, y.value - poses[body].y];
                add(&mut on[body], force, arm, pushed(angle, inertia));
            }
            Mass::Bar { a, b, mass } => {
                let forces = ends(&read, [a, b], mass, [speed, acceleration]);
                for (end, force) in [a, b].into_iter().zip(forces) {
                    let anchor = mechanism.anchors[end];
                    let plane = mechanism.planes[anchor.plane];
                    let force = [plane.right, plane.up]
                        .map(|d| force.iter().zip(d).map(|(f, d)| f * d).sum());
                    let [x, y] = mechanism.in_plane(params, poses, end);
                    let arm = [x - poses[anchor.body].x, y - poses[anchor.body].y];
                    add(&mut on[anchor.body], force, arm, 0.0);
                }
            }
        }
    }
    on[0] = OnBody::default();
    on
}

/// What inertia presses a uniform bar with at either end, in space, N: a third of its mass goes with the end, a sixth with the other
/// (consistent mass).
fn ends(
    read: &Read<'_>,
    [a, b]: [AnchorId; 2],
    mass: f64,
    [speed, acceleration]: [f64; 2],
) -> [[f64; 3]; 2] {
    let pushed =
        |z: Jet, mass: f64| -NEWTON * mass * (z.rate * acceleration + z.second * speed * speed);
    let (p, q) = (read.anchor(a), read.anchor(b));
    [(p, q), (q, p)].map(|(own, other)| {
        std::array::from_fn(|i| pushed(own[i], mass / 3.0) + pushed(other[i], mass / 6.0))
    })
}

/// What the inertia of every bar presses its two ends with, in space, N, by its place in `masses`; none of bodies. The pins at the ends of a
/// rod bear it beside the rod's own push or pull.
pub fn pressed_ends(
    mechanism: &Mechanism,
    params: &[f64],
    poses: &[Pose],
    rates: &Rates,
    masses: &[Mass],
    motion: [f64; 2],
) -> Vec<Option<[[f64; 3]; 2]>> {
    let read = Read::new(mechanism, params, poses, rates);
    let one = |mass: &Mass| match *mass {
        Mass::Bar { a, b, mass } => Some(ends(&read, [a, b], mass, motion)),
        Mass::Body { .. } => None,
    };
    masses.iter().map(one).collect()
}

fn add(on: &mut OnBody, force: [f64; 2], arm: [f64; 2], moment: f64) {
    on.force = [on.force[0] + force[0], on.force[1] + force[1]];
    on.moment += arm[0] * force[1] - arm[1] * force[0] + moment;
}

/// What inertia presses on the frame all together, in space, N, at this speed and acceleration: the shaking force.
pub fn shaking(
    mechanism: &Mechanism,
    params: &[f64],
    poses: &[Pose],
    rates: &Rates,
    masses: &[Mass],
    [speed, acceleration]: [f64; 2],
) -> [f64; 3] {
    let read = Read::new(mechanism, params, poses, rates);
    let pushed =
        |z: Jet, mass: f64| -NEWTON * mass * (z.rate * acceleration + z.second * speed * speed);
    let mut all = [0.0; 3];
    for mass in masses {
        match *mass {
            Mass::Body { body, mass, at, .. } => {
                let [x, y, _] = read.body(body, at);
                let plane = mechanism.planes[mechanism.bodies[body].plane];
                let (x, y) = (pushed(x, mass), pushed(y, mass));
                all = std::array::from_fn(|i| all[i] + x * plane.right[i] + y * plane.up[i]);
            }
            Mass::Bar { a, b, mass } => {
                let (p, q) = (read.anchor(a), read.anchor(b));
                all = std::array::from_fn(|i| {
                    all[i] + pushed(p[i], 0.5 * mass) + pushed(q[i], 0.5 * mass)
                });
            }
        }
    }
    all
}
