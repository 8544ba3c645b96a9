//! Random closed mechanisms of every kind of constraint and measure, the same for the same seed.

use mechanics::model::{AnchorId, BodyId, Constraint, Measure, Plane, Pose};
use mechanics::{Mechanism, close};
use nalgebra::{DMatrix, Vector3};
use std::f64::consts::PI;

/// `SplitMix64` (Steele, Lea and Flood, 2014).
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        let mut r = Self(seed.wrapping_mul(0x2545_F491_4F6C_DD1D));
        r.next();
        r
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }

    pub(crate) fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())]
    }

    fn unit(&mut self) -> Vector3<f64> {
        loop {
            let v = Vector3::from_fn(|_, _| self.between(-1.0, 1.0));
            if v.norm() > 0.1 && v.norm() < 1.0 {
                return v.normalize();
            }
        }
    }
}

/// A plane anywhere in space.
pub(crate) fn random_plane(r: &mut Random) -> Plane {
    let (right, other) = (r.unit(), r.unit());
    let normal = right.cross(&other).normalize();
    let up = normal.cross(&right);
    let origin = [0; 3].map(|_| r.between(-80.0, 80.0));
    Plane {
        origin,
        right: right.into(),
        up: up.into(),
    }
}

const NAMES: [&str; 8] = [
    "pin", "rod", "arc", "on line", "along", "angle", "ratio", "rack",
];

/// Names of the kinds of constraints a mechanism has.
pub(crate) fn kinds(m: &Mechanism) -> Vec<&'static str> {
    let kind = |c: &Constraint| match c {
        Constraint::Pin { .. } => 0,
        Constraint::Rod { .. } => 1,
        Constraint::Arc { .. } => 2,
        Constraint::OnLine { .. } => 3,
        Constraint::Along { .. } => 4,
        Constraint::Angle { .. } => 5,
        Constraint::Ratio { .. } => 6,
        Constraint::Rack { .. } => 7,
        Constraint::Cam { .. } | Constraint::Course { .. } => {
            unreachable!("no cam is drawn in these machines")
        }
    };
    m.constraints.iter().map(|c| NAMES[kind(c)]).collect()
}

/// How many kinds of constraints there are.
pub(crate) const KINDS: usize = NAMES.len();

struct Maker<'a> {
    m: Mechanism,
    r: &'a mut Random,
}

impl Maker<'_> {
    fn anchor(&mut self, body: BodyId, plane: usize) -> AnchorId {
        let own = [0; 3].map(|_| self.r.between(-90.0, 90.0));
        self.m.anchor(body, plane, own)
    }

    /// A value of a constraint in the drawn pose, read off its residual with the parameter at nought.
    fn closing(&mut self, c: impl Fn(usize) -> Constraint, per_unit: f64) {
        let p = self.m.param(0.0);
        let index = self.m.constrain(c(p));
        let before: usize = self.m.constraints[..index]
            .iter()
            .map(Constraint::equations)
            .sum();
        let left = self.m.residuals(&self.m.params, &self.m.drawn)[before];
        self.m.params[p] = left * per_unit;
    }

    /// Adds one random constraint that `body` satisfies as drawn; how many equations it has.
    fn tie(&mut self, body: BodyId, most: usize) -> usize {
        let plane = self.m.bodies[body].plane;
        let same: Vec<BodyId> = (0..body)
            .filter(|&b| b == 0 || self.m.bodies[b].plane == plane)
            .collect();
        let host = self.r.pick(&same);
        let other = self.r.below(body);
        let other_plane = if other == 0 {
            self.r.below(self.m.planes.len())
        } else {
            self.m.bodies[other].plane
        };
        match self.r.below(if most >= 2 { 9 } else { 7 }) {
            0 => {
                let (a, b) = (self.anchor(body, plane), self.anchor(other, other_plane));
                self.m.rod(a, b);
            }
            1 => {
                let (pin, centre) = (self.anchor(body, plane), self.anchor(host, plane));
                let (p, q) = (self.drawn(pin), self.drawn(centre));
                let radius = self.m.param((p[0] - q[0]).hypot(p[1] - q[1]));
                self.m.constrain(Constraint::Arc {
                    pin,
                    centre,
                    radius,
                });
            }
            2 => {
                let (mut pin, mut through) = (self.anchor(body, plane), self.anchor(host, plane));
                // The slot may be in either.
                if self.r.below(2) == 0 {
                    (pin, through) = (through, pin);
                }
                let angle = self.r.between(-PI, PI);
                let direction = self.m.param(angle);
                self.closing(
                    |offset| Constraint::OnLine {
                        pin,
                        through,
                        direction,
                        offset,
                    },
                    1.0,
                );
            }
            3 => {
                let (pin, through) = (self.anchor(body, plane), self.anchor(host, plane));
                let angle = self.r.between(-PI, PI);
                let direction = self.m.param(angle);
                self.closing(
                    |distance| Constraint::Along {
                        pin,
                        through,
                        direction,
                        distance,
                    },
                    1.0,
                );
            }
            4 => {
                self.closing(
                    |angle| Constraint::Angle {
                        body,
                        against: host,
                        angle,
                    },
                    1.0,
                );
            }
            5 => {
                let (b, carrier) = (self.r.pick(&same), self.r.pick(&same));
                let sizes = [self.r.between(10.0, 60.0), self.r.between(-60.0, 60.0)];
                let greater = sizes[0].abs().max(sizes[1].abs());
                self.closing(
                    |offset| Constraint::Ratio {
                        a: body,
                        b,
                        carrier,
                        sizes,
                        offset,
                    },
                    greater,
                );
            }
            6 => {
                // The pinion is this body or an earlier one, the rack the other.
                let (pin, through) = (self.anchor(body, plane), self.anchor(host, plane));
                let gear = if self.r.below(2) == 0 {
                    body
                } else {
                    self.r.pick(&same)
                };
                let (angle, size) = (self.r.between(-PI, PI), self.r.between(-40.0, 40.0));
                let (direction, radius) = (self.m.param(angle), self.m.param(size));
                self.closing(
                    |offset| Constraint::Rack {
                        gear,
                        pin,
                        through,
                        direction,
                        radius,
                        offset,
                    },
                    1.0,
                );
            }
            _ => {
                let a = self.anchor(body, plane);
                let at = self.drawn(a);
                let station = self.r.between(-20.0, 20.0);
                let b = self.m.anchor_drawn(host, plane, [at[0], at[1], station]);
                let (a, b) = if self.r.below(2) == 0 { (a, b) } else { (b, a) };
                self.m.constrain(Constraint::Pin { a, b });
                return 2;
            }
        }
        1
    }

    fn drawn(&self, a: AnchorId) -> [f64; 2] {
        self.m.in_plane(&self.m.params, &self.m.drawn, a)
    }

    fn measure(&mut self, kind: usize) {
        let bodies = self.m.bodies.len();
        let plane_of = |s: &mut Self, b: BodyId| {
            if b == 0 {
                s.r.below(s.m.planes.len())
            } else {
                s.m.bodies[b].plane
            }
        };
        let (p, q) = (self.r.below(bodies), 1 + self.r.below(bodies - 1));
        let (pp, qp) = (plane_of(self, p), plane_of(self, q));
        let (a, b) = (self.anchor(p, pp), self.anchor(q, qp));
        let measure = match kind {
            0 => Measure::Along {
                a,
                b,
                direction: self.r.unit().into(),
            },
            1 => {
                let body = self.r.below(bodies);
                let plane = plane_of(self, body);
                let turn = self.r.between(-PI, PI);
                let direction = self.m.param(turn);
                Measure::AlongBody {
                    a,
                    b,
                    body,
                    plane,
                    direction,
                }
            }
            2 => Measure::Distance { a, b },
            _ => Measure::Angle {
                body: q,
                against: p,
                offset: 0.3,
            },
        };
        self.m.measured(measure);
    }
}

/// A mechanism that closes as drawn, with as many equations as unknowns and every kind of measure, well away from dead centres.
/// `planes` besides the front plane.
pub(crate) fn random_mechanism(seed: u64, planes: usize) -> Mechanism {
    let mut r = Random::new(seed);
    loop {
        let m = attempt(&mut r, planes);
        if steadiness(&m, &m.params, &m.drawn) > 0.02 {
            return m;
        }
    }
}

fn attempt(r: &mut Random, planes: usize) -> Mechanism {
    let mut maker = Maker {
        m: Mechanism::new(),
        r,
    };
    for _ in 0..planes {
        let plane = random_plane(maker.r);
        maker.m.plane(plane);
    }
    let bodies = 2 + maker.r.below(4);
    for _ in 0..bodies {
        let plane = maker.r.below(planes + 1);
        let at = [0; 2].map(|_| maker.r.between(-150.0, 150.0));
        let turn = maker.r.between(-PI, PI);
        maker.m.body(plane, at, turn);
    }
    for body in 1..=bodies {
        let mut left = 3;
        while left > 0 {
            left -= maker.tie(body, left);
        }
    }
    for kind in 0..4 {
        maker.measure(kind);
    }
    // One number may stand for two dimensions.
    let (first, last) = (maker.m.anchors[0], maker.m.anchors.len() - 1);
    maker.m.anchors[last].w = first.w;
    maker.m
}

/// Least singular value over the greatest of the Jacobian, angles weighed with the size: nought at a dead centre.
pub(crate) fn steadiness(m: &Mechanism, params: &[f64], poses: &[Pose]) -> f64 {
    let size = m.size(params);
    let mut j: DMatrix<f64> = m.jacobian(params, poses).by_pose;
    for c in (2..j.ncols()).step_by(3) {
        j.column_mut(c).scale_mut(1.0 / size);
    }
    let mut row = 0;
    for c in &m.constraints {
        if matches!(c, Constraint::Angle { .. } | Constraint::Ratio { .. }) {
            j.row_mut(row).scale_mut(size);
        }
        row += c.equations();
    }
    let s = j.singular_values();
    s.min() / s.max()
}

/// All measures at other values of the parameters, closed from `poses`; `None` when it does not close.
pub(crate) fn measures_at(m: &Mechanism, params: &[f64], poses: &[Pose]) -> Option<Vec<f64>> {
    let mut poses = poses.to_vec();
    close(m, params, &mut poses).ok()?;
    Some(
        m.measures
            .iter()
            .map(|x| m.measure(params, &poses, x))
            .collect(),
    )
}

/// A four-bar of pins: crank about the origin, rocker about (centres, 0). Returns the mechanism and bodies crank, coupler, rocker.
pub(crate) fn four_bar([a, b, c, e]: [f64; 4], crank: f64, open: bool) -> Option<Mechanism> {
    let pin = [a * crank.cos(), a * crank.sin()];
    let (dx, dy) = (e - pin[0], -pin[1]);
    let d = dx.hypot(dy);
    let along = (d * d + b * b - c * c) / (2.0 * d);
    let up = (b * b - along * along).sqrt() * if open { 1.0 } else { -1.0 };
    let knee = [
        pin[0] + (along * dx - up * dy) / d,
        pin[1] + (along * dy + up * dx) / d,
    ];
    if knee[0].is_nan() {
        return None;
    }
    let mut m = Mechanism::new();
    let bodies = [
        m.link(0, [0.0; 2], pin),
        m.link(0, pin, knee),
        m.link(0, [e, 0.0], knee),
    ];
    m.drawn[1].angle = crank;
    let fixed = [[0.0; 3], [e, 0.0, 0.0]].map(|at| m.anchor(0, 0, at));
    let near = bodies.map(|body| m.anchor(body, 0, [0.0; 3]));
    let far = [(bodies[0], a), (bodies[1], b), (bodies[2], c)]
        .map(|(body, u)| m.anchor(body, 0, [u, 0.0, 0.0]));
    for (p, q) in [
        (fixed[0], near[0]),
        (far[0], near[1]),
        (far[1], far[2]),
        (fixed[1], near[2]),
    ] {
        m.constrain(Constraint::Pin { a: p, b: q });
    }
    Some(m)
}
