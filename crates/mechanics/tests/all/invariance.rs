//! The same machine written differently gives the same measures: moved, turned and mirrored as a whole, redrawn in another place of
//! its planes, bodies and constraints in another order.

use crate::common::{Random, random_mechanism};
use mechanics::model::{Body, Constraint, Measure, Plane, Pose};
use mechanics::{Ended, Mechanism, State, follow};
use nalgebra::{Matrix3, Rotation3, Vector3};

const MECHANISMS: u64 = 150;

/// Where a way ends on which all parameters change a little: its share, how it ended, all measures there.
fn followed(m: &Mechanism, by: impl Fn(usize) -> f64) -> (f64, Vec<f64>) {
    let from = State {
        params: m.params.clone(),
        poses: m.drawn.clone(),
    };
    let to: Vec<f64> = m
        .params
        .iter()
        .enumerate()
        .map(|(i, x)| x + by(i))
        .collect();
    let f = follow(m, &from, &to);
    assert!(
        matches!(f.ended, Ended::Reached | Ended::DeadCentre { .. }),
        "{:?} at {}",
        f.ended,
        f.share
    );
    assert_eq!(f.ended == Ended::Reached, f.share == 1.0);
    (
        f.share,
        m.measures
            .iter()
            .map(|x| m.measure(&f.state.params, &f.state.poses, x))
            .collect(),
    )
}

fn same(seed: u64, (s, a): &(f64, Vec<f64>), (t, b): &(f64, Vec<f64>)) {
    assert!((s - t).abs() < 1e-9, "seed {seed} ends at {s} and {t}");
    for (i, (a, b)) in a.iter().zip(b).enumerate() {
        assert!(
            (a - b).abs() < 1e-8 * a.abs().max(1.0),
            "seed {seed} measure {i}: {a} and {b}"
        );
    }
}

#[test]
fn most_ways_are_followed_to_their_end() {
    let whole = (0..MECHANISMS).filter(|&seed| {
        let m = random_mechanism(seed, 2);
        let by = changes(seed, &m);
        followed(&m, |i| by[i]).0 == 1.0
    });
    let whole = whole.count() as f64;
    assert!(
        whole > 0.7 * MECHANISMS as f64 && whole < MECHANISMS as f64,
        "{whole}"
    );
}

fn changes(seed: u64, m: &Mechanism) -> Vec<f64> {
    let mut r = Random::new(seed);
    m.params.iter().map(|_| r.between(-0.05, 0.05)).collect()
}

#[test]
fn moved_and_turned_in_space() {
    for seed in 0..MECHANISMS {
        let m = random_mechanism(seed, 2);
        let by = changes(seed, &m);
        let mut r = Random::new(seed + 1000);
        let turn = Rotation3::from_euler_angles(
            r.between(-3.0, 3.0),
            r.between(-1.5, 1.5),
            r.between(-3.0, 3.0),
        );
        let shift = Vector3::from_fn(|_, _| r.between(-500.0, 500.0));
        let mut other = m.clone();
        moved(&mut other, turn.matrix(), shift);
        same(seed, &followed(&m, |i| by[i]), &followed(&other, |i| by[i]));
    }
}

/// Places everything elsewhere in space. What is fixed in space goes along.
fn moved(m: &mut Mechanism, turn: &Matrix3<f64>, shift: Vector3<f64>) {
    for p in &mut m.planes {
        let at = turn * Vector3::from(p.origin) + shift;
        *p = Plane {
            origin: at.into(),
            right: (turn * Vector3::from(p.right)).into(),
            up: (turn * Vector3::from(p.up)).into(),
        };
    }
    for x in &mut m.measures {
        if let Measure::Along { direction, .. } = x {
            *direction = (turn * Vector3::from(*direction)).into();
        }
    }
}

#[test]
fn mirrored_in_space() {
    for seed in 0..MECHANISMS {
        let m = random_mechanism(seed, 2);
        let by = changes(seed, &m);
        let mut other = m.clone();
        moved(
            &mut other,
            &Matrix3::from_diagonal(&Vector3::new(-1.0, 1.0, 1.0)),
            Vector3::zeros(),
        );
        // The third direction of a mirrored plane is the other way round, and stations with it.
        let stations: Vec<usize> = m.anchors.iter().map(|a| a.w).collect();
        // One station is the u of another anchor as well, and gets a number of its own.
        let mut by = by;
        for (i, w) in stations.iter().enumerate() {
            let p = other.param(-m.params[*w]);
            by.push(-by[*w]);
            other.anchors[i].w = p;
        }
        same(seed, &followed(&m, |i| by[i]), &followed(&other, |i| by[i]));
    }
}

/// Mirrors what is drawn in every plane about the plane's own up direction, the planes staying where they are.
fn mirrored_in_plane(m: &Mechanism) -> (Mechanism, Vec<f64>) {
    let mut other = m.clone();
    // Sign of each parameter under the mirror; a parameter in two uses gets two copies.
    let mut signs = vec![1.0; m.params.len()];
    for a in &mut other.anchors {
        for (place, sign) in [(&mut a.u, 1.0), (&mut a.v, -1.0), (&mut a.w, 1.0)] {
            other.params.push(sign * m.params[*place]);
            signs.push(sign);
            *place = other.params.len() - 1;
        }
    }
    // Body axes keep their hand by turning from right to left: a body at (x, y, t) goes to (−x, y, π − t) with v turned over.
    for (p, q) in other.drawn.iter_mut().zip(&m.drawn).skip(1) {
        *p = Pose {
            x: -q.x,
            y: q.y,
            angle: std::f64::consts::PI - q.angle,
        };
    }
    // The frame has no pose to turn: its anchors are mirrored themselves.
    for a in &other.anchors {
        if a.body == 0 {
            other.params[a.u] *= -1.0;
            other.params[a.v] *= -1.0;
            signs[a.u] *= -1.0;
            signs[a.v] *= -1.0;
        }
    }
    let mut set = |params: &mut Vec<f64>, place: &mut usize, sign: f64, shift: f64| {
        params.push(sign * m.params[*place] + shift);
        signs.push(sign);
        *place = params.len() - 1;
    };
    let pi = std::f64::consts::PI;
    for c in &mut other.constraints {
        // Directions on the frame go from t to π − t, those on bodies to −t.
        let hosted = |through: usize| {
            if m.anchors[through].body == 0 {
                pi
            } else {
                0.0
            }
        };
        match c {
            Constraint::OnLine {
                through,
                direction,
                offset,
                ..
            } => {
                set(&mut other.params, direction, -1.0, hosted(*through));
                set(&mut other.params, offset, -1.0, 0.0);
            }
            Constraint::Along {
                through, direction, ..
            } => {
                set(&mut other.params, direction, -1.0, hosted(*through));
            }
            Constraint::Rack {
                gear,
                through,
                direction,
                radius,
                offset,
                ..
            } => {
                let (host, gear) = (m.anchors[*through].body, *gear);
                set(&mut other.params, direction, -1.0, hosted(*through));
                // Turns are measured from the frame's right for the frame, from its left for bodies.
                let from = if gear == 0 { 0.0 } else { pi } - if host == 0 { 0.0 } else { pi };
                let r = m.params[*radius];
                set(&mut other.params, radius, -1.0, 0.0);
                set(&mut other.params, offset, 1.0, r * from);
            }
            Constraint::Angle {
                body,
                against,
                angle,
            } => {
                let from = |b: usize| if b == 0 { 0.0 } else { pi };
                let shift = from(*body) - from(*against);
                set(&mut other.params, angle, -1.0, shift);
            }
            Constraint::Ratio {
                a,
                b,
                carrier,
                sizes,
                offset,
            } => {
                let from = |b: usize| if b == 0 { 0.0 } else { pi };
                let shift =
                    sizes[0] * (from(*a) - from(*carrier)) + sizes[1] * (from(*b) - from(*carrier));
                set(&mut other.params, offset, -1.0, shift);
            }
            _ => {}
        }
    }
    (other, signs)
}

#[test]
fn mirrored_in_its_plane() {
    for seed in 0..MECHANISMS {
        let mut m = random_mechanism(seed, 0);
        m.measures
            .retain(|x| matches!(x, Measure::Distance { .. } | Measure::Angle { .. }));
        // The offset of an angle is no part of the mirror.
        for x in &mut m.measures {
            if let Measure::Angle {
                offset, against, ..
            } = x
            {
                (*offset, *against) = (0.0, 0);
            }
        }
        let (other, signs) = mirrored_in_plane(&m);
        let left = other
            .residuals(&other.params, &other.drawn)
            .into_iter()
            .fold(0.0, |a: f64, r| a.max(r.abs()));
        assert!(left < 1e-10 * m.size(&m.params), "seed {seed} {left:e}");
        // Each old parameter runs; so do its copies, with their signs.
        let by = changes(seed, &m);
        let mut all = by.clone();
        all.resize(other.params.len(), 0.0);
        for (a, b) in m.anchors.iter().zip(&other.anchors) {
            for (p, q) in [(a.u, b.u), (a.v, b.v), (a.w, b.w)] {
                all[q] = signs[q] * by[p];
            }
        }
        for (c, d) in m.constraints.iter().zip(&other.constraints) {
            for (p, q) in params_of(c).into_iter().zip(params_of(d)) {
                // The offset of a rack shifts with its radius by a constant turn.
                all[q] = if q < m.params.len() {
                    by[p]
                } else {
                    signs[q] * by[p]
                };
            }
            if let (
                Constraint::Rack {
                    gear,
                    through,
                    radius,
                    offset,
                    ..
                },
                Constraint::Rack { offset: o, .. },
            ) = (c, d)
            {
                let from = |b: usize| if b == 0 { 0.0 } else { std::f64::consts::PI };
                all[*o] =
                    by[*offset] + by[*radius] * (from(*gear) - from(m.anchors[*through].body));
            }
        }
        let (share, b) = followed(&other, |i| all[i]);
        let pi = std::f64::consts::PI;
        let back = |(x, v): (&Measure, f64)| {
            if matches!(x, Measure::Angle { .. }) {
                pi - v
            } else {
                v
            }
        };
        same(
            seed,
            &followed(&m, |i| by[i]),
            &(share, m.measures.iter().zip(b).map(back).collect()),
        );
    }
}

fn params_of(c: &Constraint) -> Vec<usize> {
    match *c {
        Constraint::Pin { .. } => vec![],
        Constraint::Rod { length, .. } => vec![length],
        Constraint::Arc { radius, .. } => vec![radius],
        Constraint::OnLine {
            direction, offset, ..
        } => vec![direction, offset],
        Constraint::Along {
            direction,
            distance,
            ..
        } => vec![direction, distance],
        Constraint::Angle { angle, .. } => vec![angle],
        Constraint::Ratio { offset, .. } | Constraint::Course { offset, .. } => vec![offset],
        Constraint::Rack {
            direction,
            radius,
            offset,
            ..
        } => vec![direction, radius, offset],
        Constraint::Cam {
            clock,
            swell,
            roller,
            ..
        } => vec![clock, swell, roller],
    }
}

#[test]
fn bodies_and_constraints_in_another_order() {
    for seed in 0..MECHANISMS {
        let m = random_mechanism(seed, 2);
        let by = changes(seed, &m);
        let mut r = Random::new(seed + 2000);
        let mut order: Vec<usize> = (1..m.bodies.len()).collect();
        shuffle(&mut r, &mut order);
        // Where each body goes.
        let mut to = vec![0; m.bodies.len()];
        for (i, b) in order.iter().enumerate() {
            to[*b] = i + 1;
        }
        let mut other = m.clone();
        for (b, &to) in to.iter().enumerate().skip(1) {
            other.bodies[to] = Body {
                plane: m.bodies[b].plane,
            };
            other.drawn[to] = m.drawn[b];
        }
        for a in &mut other.anchors {
            a.body = to[a.body];
        }
        for c in &mut other.constraints {
            match c {
                Constraint::Angle { body, against, .. } => {
                    (*body, *against) = (to[*body], to[*against]);
                }
                Constraint::Ratio { a, b, carrier, .. } => {
                    (*a, *b, *carrier) = (to[*a], to[*b], to[*carrier]);
                }
                Constraint::Rack { gear, .. } => *gear = to[*gear],
                _ => {}
            }
        }
        for x in &mut other.measures {
            match x {
                Measure::AlongBody { body, .. } => *body = to[*body],
                Measure::Angle { body, against, .. } => {
                    (*body, *against) = (to[*body], to[*against]);
                }
                _ => {}
            }
        }
        let mut constraints = other.constraints.clone();
        shuffle(&mut r, &mut constraints);
        other.constraints = constraints;
        same(seed, &followed(&m, |i| by[i]), &followed(&other, |i| by[i]));
        // And to the last bit the same twice.
        assert_eq!(followed(&m, |i| by[i]), followed(&m, |i| by[i]));
    }
}

fn shuffle<T>(r: &mut Random, of: &mut [T]) {
    for i in (1..of.len()).rev() {
        of.swap(i, r.below(i + 1));
    }
}

/// The same machine larger: lengths scale, angles stay.
#[test]
fn larger_and_smaller() {
    for seed in 0..MECHANISMS {
        let m = random_mechanism(seed, 1);
        let mut is_length = vec![false; m.params.len()];
        for a in &m.anchors {
            for p in [a.u, a.v, a.w] {
                is_length[p] = true;
            }
        }
        for c in &m.constraints {
            match *c {
                Constraint::Rod { length: p, .. }
                | Constraint::Arc { radius: p, .. }
                | Constraint::OnLine { offset: p, .. }
                | Constraint::Along { distance: p, .. } => is_length[p] = true,
                Constraint::Rack { radius, offset, .. } => {
                    is_length[radius] = true;
                    is_length[offset] = true;
                }
                _ => {}
            }
        }
        let by = changes(seed, &m);
        let plain = followed(&m, |i| by[i]);
        for k in [0.05, 30.0] {
            let mut other = m.clone();
            for p in &mut other.planes {
                p.origin = p.origin.map(|x| k * x);
            }
            let factor = |i: usize| if is_length[i] { k } else { 1.0 };
            for (i, x) in other.params.iter_mut().enumerate() {
                *x *= factor(i);
            }
            for p in &mut other.drawn {
                (p.x, p.y) = (k * p.x, k * p.y);
            }
            let (share, scaled) = followed(&other, |i| factor(i) * by[i]);
            let back = |(x, v): (&Measure, f64)| {
                if matches!(x, Measure::Angle { .. }) {
                    v
                } else {
                    v / k
                }
            };
            same(
                seed,
                &plain,
                &(share, m.measures.iter().zip(scaled).map(back).collect()),
            );
        }
    }
}
