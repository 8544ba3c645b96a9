//! Other ways to assemble, and numbers that no machine has.

use crate::common;
use crate::common::{Random, four_bar, random_mechanism};
use mechanics::{Mechanism, Tangent, assemblies, close, follow, mobility};
use std::time::{Duration, Instant};

const STARTS: usize = 200;

#[test]
fn a_four_bar_has_two() {
    let mut r = Random::new(21);
    let mut tried = 0;
    while tried < 40 {
        let bars = [(); 4].map(|()| r.between(30.0, 120.0));
        let crank = r.between(-3.0, 3.0);
        let (Some(mut m), Some(other)) =
            (four_bar(bars, crank, true), four_bar(bars, crank, false))
        else {
            continue;
        };
        m.hold_angle(1, 0);
        if common::steadiness(&m, &m.params, &m.drawn) < 0.02 {
            continue;
        }
        let found = assemblies(&m, &m.params, &m.drawn, STARTS);
        assert_eq!(found.len(), 2, "{bars:?} {crank}");
        for (poses, drawn) in found.iter().zip([&m.drawn, &other.drawn]) {
            for (p, q) in poses.iter().zip(drawn) {
                let turn = (p.angle - q.angle) / std::f64::consts::TAU;
                assert!((p.x - q.x).hypot(p.y - q.y) < 1e-9, "{bars:?} {crank}");
                assert!((turn - turn.round()).abs() < 1e-10, "{bars:?} {crank}");
            }
        }
        assert_eq!(found, assemblies(&m, &m.params, &m.drawn, STARTS));
        tried += 1;
    }
}

#[test]
fn every_one_closes_and_differs_from_the_others() {
    let mut most = 0;
    for seed in 0..60 {
        let m = random_mechanism(seed, (seed % 3) as usize);
        let found = assemblies(&m, &m.params, &m.drawn, STARTS);
        assert!(!found.is_empty(), "seed {seed}");
        most = most.max(found.len());
        let size = m.size(&m.params);
        for (i, poses) in found.iter().enumerate() {
            let left = m
                .residuals(&m.params, poses)
                .into_iter()
                .fold(0.0, |a: f64, r| a.max(r.abs()));
            assert!(left < 1e-10 * size, "seed {seed}: {left:e}");
            for other in &found[..i] {
                let apart = poses.iter().zip(other).any(|(p, q)| {
                    (p.x - q.x).abs().max((p.y - q.y).abs()) > 1e-7 * size
                        || (p.angle - q.angle).sin().abs() > 1e-7
                        || (p.angle - q.angle).cos() < 0.0
                });
                assert!(apart, "seed {seed}");
            }
        }
    }
    assert!(most >= 4, "{most}");
}

#[test]
fn a_drawing_that_does_not_close_has_none() {
    let mut m = four_bar([40.0, 120.0, 80.0, 100.0], 1.0, true).expect("closes");
    m.hold_angle(1, 0);
    let u = m.anchors[6].u;
    m.params[u] = 2.0;
    assert!(assemblies(&m, &m.params, &m.drawn, STARTS).is_empty());
}

/// Whatever the numbers, every question ends soon and without a panic.
#[test]
fn what_is_no_number_ends_soon() {
    let bad = [
        f64::NAN,
        f64::INFINITY,
        f64::NEG_INFINITY,
        1e300,
        -1e300,
        1e-300,
        0.0,
    ];
    let start = Instant::now();
    for seed in 0..25 {
        let m = random_mechanism(seed, (seed % 3) as usize);
        let mut r = Random::new(seed);
        for value in bad {
            let mut params = m.params.clone();
            let place = r.below(params.len());
            params[place] = value;
            ask(&m, &params, &m.drawn);
            let mut poses = m.drawn.clone();
            let body = 1 + r.below(poses.len() - 1);
            match r.below(3) {
                0 => poses[body].x = value,
                1 => poses[body].y = value,
                _ => poses[body].angle = value,
            }
            ask(&m, &m.params, &poses);
        }
    }
    assert!(
        start.elapsed() < Duration::from_mins(1),
        "{:?}",
        start.elapsed()
    );
}

fn ask(m: &Mechanism, params: &[f64], poses: &[mechanics::model::Pose]) {
    let mut at = poses.to_vec();
    if close(m, params, &mut at).is_ok() {
        let finite =
            |p: &mechanics::model::Pose| p.x.is_finite() && p.y.is_finite() && p.angle.is_finite();
        assert!(at.iter().all(finite), "{params:?} {poses:?}");
    }
    let _ = mobility(m, params, poses);
    let _ = assemblies(m, params, poses, 5);
    if let Ok(tangent) = Tangent::new(m, params, poses) {
        for x in &m.measures {
            let _ = tangent.sensitivity(x);
        }
        let _ = tangent.rates(&vec![1.0; params.len()]);
    }
    let from = mechanics::State {
        params: params.to_vec(),
        poses: poses.to_vec(),
    };
    let _ = follow(m, &from, &m.params);
    let drawn = mechanics::State {
        params: m.params.clone(),
        poses: m.drawn.clone(),
    };
    let _ = follow(m, &drawn, params);
}
