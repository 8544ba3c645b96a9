//! Hand-written derivatives against automatic differentiation and against central differences. The residuals and measures are
//! written here once more, apart from the crate's own, from the conventions in the documentation.

use crate::common::{KINDS, Random, kinds, measures_at, random_mechanism};
use mechanics::model::{Constraint, Measure, Pose};
use mechanics::{Mechanism, Tangent, close, unit_direction};
use nalgebra::{DMatrix, DVector};
use num_dual::{Dual2_64, Dual64, DualNum};
use std::collections::BTreeSet;

/// Mechanisms tried, in one, two and three planes.
const MECHANISMS: u64 = 400;

fn mechanisms() -> impl Iterator<Item = (u64, Mechanism)> {
    (0..MECHANISMS).map(|seed| (seed, random_mechanism(seed, (seed % 3) as usize)))
}

/// Parameters and poses in some kind of number, written apart from the crate.
struct Apart<'a, N> {
    m: &'a Mechanism,
    p: Vec<N>,
    q: Vec<[N; 3]>,
}

impl<N: DualNum<Primitive = f64> + Copy> Apart<'_, N> {
    fn plane_place(&self, anchor: usize) -> (N, N) {
        let a = &self.m.anchors[anchor];
        let (u, v) = (self.p[a.u], self.p[a.v]);
        if a.body == 0 {
            return (u, v);
        }
        let [x, y, t] = self.q[a.body];
        (x + u * t.cos() - v * t.sin(), y + u * t.sin() + v * t.cos())
    }

    fn place(&self, anchor: usize) -> [N; 3] {
        let a = &self.m.anchors[anchor];
        let f = &self.m.planes[a.plane];
        let (x, y) = self.plane_place(anchor);
        let w = self.p[a.w];
        let third = nalgebra::Vector3::from(f.right).cross(&nalgebra::Vector3::from(f.up));
        [0, 1, 2].map(|i| x * f.right[i] + y * f.up[i] + w * third[i] + f.origin[i])
    }

    fn square(&self, a: usize, b: usize) -> N {
        let (s, t) = (self.place(a), self.place(b));
        (s[0] - t[0]).powi(2) + (s[1] - t[1]).powi(2) + (s[2] - t[2]).powi(2)
    }

    /// Direction of a line in its plane and the way from its point to the pin.
    fn line(&self, pin: usize, through: usize, direction: usize) -> ([N; 2], [N; 2]) {
        let t = self.q[self.m.anchors[through].body][2] + self.p[direction];
        let ((x, y), (fx, fy)) = (self.plane_place(pin), self.plane_place(through));
        ([t.cos(), t.sin()], [x - fx, y - fy])
    }

    fn residuals(&self) -> Vec<N> {
        let mut out = Vec::new();
        for c in &self.m.constraints {
            match *c {
                Constraint::Pin { a, b } => {
                    let ((x, y), (s, t)) = (self.plane_place(a), self.plane_place(b));
                    out.extend([x - s, y - t]);
                }
                Constraint::Rod { a, b, length } => {
                    let l = self.p[length];
                    out.push((self.square(a, b) - l * l) / (l * 2.0));
                }
                Constraint::Arc {
                    pin,
                    centre,
                    radius,
                } => {
                    let ((x, y), (s, t)) = (self.plane_place(pin), self.plane_place(centre));
                    let l = self.p[radius];
                    out.push(((x - s).powi(2) + (y - t).powi(2) - l * l) / (l * 2.0));
                }
                Constraint::OnLine {
                    pin,
                    through,
                    direction,
                    offset,
                } => {
                    let (t, d) = self.line(pin, through, direction);
                    out.push(d[1] * t[0] - d[0] * t[1] - self.p[offset]);
                }
                Constraint::Along {
                    pin,
                    through,
                    direction,
                    distance,
                } => {
                    let (t, d) = self.line(pin, through, direction);
                    out.push(d[0] * t[0] + d[1] * t[1] - self.p[distance]);
                }
                Constraint::Angle {
                    body,
                    against,
                    angle,
                } => {
                    out.push(self.q[body][2] - self.q[against][2] - self.p[angle]);
                }
                Constraint::Ratio {
                    a,
                    b,
                    carrier,
                    sizes,
                    offset,
                } => {
                    let c = self.q[carrier][2];
                    let sum = (self.q[a][2] - c) * sizes[0] + (self.q[b][2] - c) * sizes[1]
                        - self.p[offset];
                    out.push(sum / sizes[0].abs().max(sizes[1].abs()));
                }
                Constraint::Rack {
                    gear,
                    pin,
                    through,
                    direction,
                    radius,
                    offset,
                } => {
                    let (t, d) = self.line(pin, through, direction);
                    let turn = self.q[gear][2] - self.q[self.m.anchors[through].body][2];
                    out.push(d[0] * t[0] + d[1] * t[1] - self.p[radius] * turn - self.p[offset]);
                }
                // The test of cams holds them against linkages.
                Constraint::Cam { .. } | Constraint::Course { .. } => {
                    unreachable!("no cam is drawn in these machines")
                }
            }
        }
        out
    }

    fn measure(&self, measure: &Measure) -> N {
        match *measure {
            Measure::Along { a, b, direction } => {
                let (s, t) = (self.place(a), self.place(b));
                (t[0] - s[0]) * direction[0]
                    + (t[1] - s[1]) * direction[1]
                    + (t[2] - s[2]) * direction[2]
            }
            Measure::AlongBody {
                a,
                b,
                body,
                plane,
                direction,
            } => {
                let turn = self.q[body][2] + self.p[direction];
                let (s, t) = (self.place(a), self.place(b));
                let f = &self.m.planes[plane];
                let along = |axis: &[f64; 3]| {
                    (t[0] - s[0]) * axis[0] + (t[1] - s[1]) * axis[1] + (t[2] - s[2]) * axis[2]
                };
                turn.cos() * along(&f.right) + turn.sin() * along(&f.up)
            }
            Measure::Distance { a, b } => self.square(a, b).sqrt(),
            Measure::Angle {
                body,
                against,
                offset,
            } => self.q[body][2] - self.q[against][2] + offset,
        }
    }
}

/// Everything as dual numbers, one parameter or pose coordinate running.
fn dual(m: &Mechanism, running: Option<usize>) -> Apart<'_, Dual64> {
    let unknowns = m.unknowns();
    let number =
        |x: f64, index: usize| Dual64::new(x, if running == Some(index) { 1.0 } else { 0.0 });
    let p = m
        .params
        .iter()
        .enumerate()
        .map(|(i, &x)| number(x, unknowns + i))
        .collect();
    let mut q = vec![[Dual64::from(0.0); 3]];
    for (b, pose) in m.drawn.iter().enumerate().skip(1) {
        let i = 3 * (b - 1);
        q.push([
            number(pose.x, i),
            number(pose.y, i + 1),
            number(pose.angle, i + 2),
        ]);
    }
    Apart { m, p, q }
}

/// Derivatives of all residuals and measures by all poses and parameters.
fn by_dual(m: &Mechanism) -> (DMatrix<f64>, DMatrix<f64>) {
    let all = m.unknowns() + m.params.len();
    let mut residuals = DMatrix::zeros(m.equations(), all);
    let mut measures = DMatrix::zeros(m.measures.len(), all);
    for c in 0..all {
        let at = dual(m, Some(c));
        for (r, x) in at.residuals().into_iter().enumerate() {
            residuals[(r, c)] = x.eps;
        }
        for (r, x) in m.measures.iter().enumerate() {
            measures[(r, c)] = at.measure(x).eps;
        }
    }
    (residuals, measures)
}

fn near(what: &str, got: f64, want: f64, share: f64) {
    assert!(
        (got - want).abs() <= share * want.abs().max(1.0),
        "{what}: {got} instead of {want}"
    );
}

#[test]
fn every_kind_of_constraint_occurs() {
    let seen: BTreeSet<&str> = mechanisms().flat_map(|(_, m)| kinds(&m)).collect();
    assert_eq!(seen.len(), KINDS, "{seen:?}");
}

#[test]
fn residuals_and_measures_agree_with_those_written_apart() {
    for (seed, m) in mechanisms() {
        let mut r = Random::new(seed);
        // Not closed: away from the drawn pose as well.
        let poses: Vec<_> = m
            .drawn
            .iter()
            .enumerate()
            .map(|(b, p)| {
                let off = if b == 0 { 0.0 } else { 1.0 };
                Pose {
                    x: p.x + off * r.between(-9.0, 9.0),
                    y: p.y,
                    angle: p.angle + off * r.between(-1.0, 1.0),
                }
            })
            .collect();
        let off = Mechanism { drawn: poses, ..m };
        let at = dual(&off, None);
        for (got, want) in off
            .residuals(&off.params, &off.drawn)
            .iter()
            .zip(at.residuals())
        {
            near(&format!("seed {seed}"), *got, want.re, 1e-12);
        }
        for x in &off.measures {
            near(
                &format!("seed {seed} {x:?}"),
                off.measure(&off.params, &off.drawn, x),
                at.measure(x).re,
                1e-12,
            );
        }
    }
}

#[test]
fn jacobians_agree_with_automatic_differentiation() {
    for (seed, m) in mechanisms() {
        let (by_all, _) = by_dual(&m);
        let j = m.jacobian(&m.params, &m.drawn);
        let n = m.unknowns();
        for r in 0..m.equations() {
            for c in 0..n + m.params.len() {
                let got = if c < n {
                    j.by_pose[(r, c)]
                } else {
                    j.by_param[(r, c - n)]
                };
                near(
                    &format!("seed {seed} row {r} column {c}"),
                    got,
                    by_all[(r, c)],
                    1e-11,
                );
            }
        }
    }
}

#[test]
fn sensitivities_agree_with_automatic_differentiation() {
    for (seed, m) in mechanisms() {
        let n = m.unknowns();
        let (residuals, measures) = by_dual(&m);
        let by_pose = residuals.columns(0, n).into_owned();
        let moved = by_pose
            .lu()
            .solve(&residuals.columns(n, m.params.len()))
            .expect("not singular");
        let total = measures.columns(n, m.params.len()) - measures.columns(0, n) * moved;
        for (i, x) in m.measures.iter().enumerate() {
            let s = mechanics::sensitivity(&m, &m.params, &m.drawn, x).expect("not singular");
            for (p, got) in s.by_param.iter().enumerate() {
                near(
                    &format!("seed {seed} measure {i} by {p}"),
                    *got,
                    total[(i, p)],
                    1e-9,
                );
            }
            assert!(!s.split_undetermined);
        }
    }
}

/// First and second rate of every measure along a direction, by central differences over `h` and `h / 2` carried to the limit.
fn by_differences(m: &Mechanism, direction: &[f64], h: f64) -> (Vec<f64>, Vec<f64>) {
    let at = |h: f64| {
        let params: Vec<f64> = m
            .params
            .iter()
            .zip(direction)
            .map(|(x, d)| x + h * d)
            .collect();
        measures_at(m, &params, &m.drawn).expect("closes nearby")
    };
    let [more, less, half_more, half_less, middle] = [h, -h, 0.5 * h, -0.5 * h, 0.0].map(at);
    let richardson = |whole: f64, half: f64| (4.0 * half - whole) / 3.0;
    (0..m.measures.len())
        .map(|i| {
            let first = richardson(
                (more[i] - less[i]) / (2.0 * h),
                (half_more[i] - half_less[i]) / h,
            );
            let second = |a: f64, b: f64, h: f64| (a - 2.0 * middle[i] + b) / (h * h);
            (
                first,
                richardson(
                    second(more[i], less[i], h),
                    second(half_more[i], half_less[i], 0.5 * h),
                ),
            )
        })
        .unzip()
}

#[test]
fn sensitivities_agree_with_central_differences() {
    for (seed, m) in mechanisms() {
        let tangent = Tangent::new(&m, &m.params, &m.drawn).expect("not singular");
        let sensitivities: Vec<_> = m
            .measures
            .iter()
            .map(|x| tangent.sensitivity(x).expect("not singular"))
            .collect();
        for p in 0..m.params.len() {
            let (first, _) = by_differences(&m, &unit_direction(m.params.len(), p), 2e-4);
            for (i, s) in sensitivities.iter().enumerate() {
                near(
                    &format!("seed {seed} measure {i} by {p}"),
                    s.by_param[p],
                    first[i],
                    2e-6,
                );
            }
        }
    }
}

/// A mechanism moving along one random direction of all its parameters, in numbers that carry two rates.
fn running<'a>(
    m: &'a Mechanism,
    direction: &[f64],
    first: &[[f64; 3]],
    second: &[[f64; 3]],
) -> Apart<'a, Dual2_64> {
    let p = m
        .params
        .iter()
        .zip(direction)
        .map(|(&x, &d)| Dual2_64::new(x, d, 0.0))
        .collect();
    let pose = |b: usize| {
        let q = m.drawn[b];
        let value = [q.x, q.y, q.angle];
        std::array::from_fn(|i| Dual2_64::new(value[i], first[b][i], second[b][i]))
    };
    Apart {
        m,
        p,
        q: (0..m.bodies.len()).map(pose).collect(),
    }
}

#[test]
fn rates_close_to_second_order_and_measures_follow() {
    for (seed, m) in mechanisms() {
        let mut r = Random::new(seed);
        let direction: Vec<f64> = m.params.iter().map(|_| r.between(-0.1, 0.1)).collect();
        let tangent = Tangent::new(&m, &m.params, &m.drawn).expect("not singular");
        let rates = tangent.rates(&direction).expect("not singular");
        let at = running(&m, &direction, &rates.first, &rates.second);
        let most = rates
            .second
            .iter()
            .flatten()
            .fold(1.0, |a: f64, b| a.max(b.abs()));
        for (row, x) in at.residuals().iter().enumerate() {
            near(&format!("seed {seed} row {row} first"), x.v1, 0.0, 1e-10);
            near(
                &format!("seed {seed} row {row} second"),
                x.v2 / most,
                0.0,
                1e-9,
            );
        }
        let (firsts, seconds) = by_differences(&m, &direction, 2e-3);
        for (i, x) in m.measures.iter().enumerate() {
            let got = tangent.along(x, &direction, &rates);
            let want = at.measure(x);
            for (order, (g, w)) in got.into_iter().zip([want.re, want.v1, want.v2]).enumerate() {
                near(
                    &format!("seed {seed} measure {i} order {order}"),
                    g,
                    w,
                    1e-10,
                );
            }
            near(
                &format!("seed {seed} measure {i} first"),
                got[1],
                firsts[i],
                1e-6,
            );
            near(
                &format!("seed {seed} measure {i} second"),
                got[2],
                seconds[i],
                1e-4,
            );
            let s = tangent.sensitivity(x).expect("not singular");
            let dot = DVector::from_column_slice(&s.by_param)
                .dot(&DVector::from_column_slice(&direction));
            near(
                &format!("seed {seed} measure {i} both ways"),
                got[1],
                dot,
                1e-10,
            );
        }
    }
}

/// The virtual load in an equation is what the measure changes by when that equation is opened by a unit; for a drive, its effort.
#[test]
fn loads_are_efforts_at_the_drives() {
    let mut found = 0;
    for (seed, m) in mechanisms() {
        for x in &m.measures {
            let s = mechanics::sensitivity(&m, &m.params, &m.drawn, x).expect("not singular");
            let mut row = 0;
            for c in &m.constraints {
                if let Constraint::Angle { angle: p, .. }
                | Constraint::OnLine { offset: p, .. }
                | Constraint::Along { distance: p, .. }
                | Constraint::Rack { offset: p, .. } = *c
                {
                    near(
                        &format!("seed {seed} row {row}"),
                        s.load[row],
                        s.by_param[p],
                        1e-12,
                    );
                    found += 1;
                }
                row += c.equations();
            }
        }
    }
    assert!(found > 1000, "{found}");
}

#[test]
fn closing_is_as_good_as_promised() {
    for (seed, m) in mechanisms() {
        let mut r = Random::new(seed);
        let params: Vec<f64> = m
            .params
            .iter()
            .map(|x| x + r.between(-0.3, 0.3) * 1e-2)
            .collect();
        let mut poses = m.drawn.clone();
        close(&m, &params, &mut poses).expect("closes nearby");
        let most = m
            .residuals(&params, &poses)
            .into_iter()
            .fold(0.0, |a: f64, b| a.max(b.abs()));
        assert!(most <= 1e-10 * m.size(&params), "seed {seed}: {most:e}");
    }
}
