//! Other ways to assemble the same parts at the same drive values.

use crate::dense::Solver;
use crate::model::{Mechanism, Pose};
use std::f64::consts::{PI, TAU};

/// Closed poses for `params`, different from one another: first the one given, then others found by closing from many
/// scattered starts (`starts` of them; the same every time). Angles come out within half a turn of the given ones.
/// Finding none more is strong evidence, not proof, that there is none. Empty when the given pose does not close.
pub fn assemblies(
    mechanism: &Mechanism,
    params: &[f64],
    poses: &[Pose],
    starts: usize,
) -> Vec<Vec<Pose>> {
    let Ok(solver) = Solver::new(mechanism, params, poses) else {
        return Vec::new();
    };
    let mut first = poses.to_vec();
    if solver.close(params, &mut first).is_err() {
        return Vec::new();
    }
    let size = solver.size;
    let mut found = vec![first.clone()];
    for start in 0..starts {
        let mut at: Vec<Pose> = first
            .iter()
            .enumerate()
            .map(|(b, p)| {
                let r = |k: usize| scattered(start * 3 * first.len() + 3 * b + k) - 0.5;
                Pose {
                    x: p.x + 2.0 * size * r(0),
                    y: p.y + 2.0 * size * r(1),
                    angle: p.angle + TAU * r(2),
                }
            })
            .collect();
        at[0] = first[0];
        if solver.close(params, &mut at).is_err() {
            continue;
        }
        for (p, q) in at.iter_mut().zip(&first) {
            // A driven or geared angle is what the parameters say; turning it by whole turns would open its constraint, so a
            // pose that needs it is dropped below by the closing check.
            p.angle -= TAU * ((p.angle - q.angle) / TAU).round();
            if (p.angle - q.angle).abs() > PI {
                p.angle = q.angle + (p.angle - q.angle).signum() * PI;
            }
        }
        let mut again = at.clone();
        if solver.close(params, &mut again).is_err() || apart(&again, &at, size) > 1e-6 * size {
            continue;
        }
        if found.iter().all(|f| apart(f, &again, size) > 1e-6 * size) {
            found.push(again);
        }
    }
    found
}

fn apart(a: &[Pose], b: &[Pose], size: f64) -> f64 {
    a.iter()
        .zip(b)
        .map(|(p, q)| {
            let turn = (p.angle - q.angle) / TAU;
            let turn = TAU * (turn - turn.round()).abs();
            (p.x - q.x).abs().max((p.y - q.y).abs()).max(size * turn)
        })
        .fold(0.0, f64::max)
}

/// Evenly scattered number in 0..1 for a counter (`SplitMix64` of Steele, Lea and Flood, 2014, top 53 bits).
fn scattered(counter: usize) -> f64 {
    let mut z = (counter as u64)
        .wrapping_add(1)
        .wrapping_mul(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}
