//! Plans against the dense reference on random machines: every kind of constraint, one to three planes, closed forms and Newton.

use crate::common::{Random, random_mechanism};
use crate::shop::apart;
use mechanics::model::{Mechanism, Pose};
use mechanics::plan::{Forms, Plan, Track, Want};
use mechanics::{Ended, LANES, State, close, follow, plan};

fn machines(count: u64) -> impl Iterator<Item = (u64, Mechanism)> {
    (0..count).map(|seed| {
        let mut m = random_mechanism(seed, (seed % 3) as usize);
        let mut drawn = m.drawn.clone();
        assert!(
            close(&m, &m.params, &mut drawn).is_ok(),
            "machine {seed} closes as drawn"
        );
        m.drawn = drawn;
        (seed, m)
    })
}

fn planned(m: &Mechanism, forms: Forms) -> Result<Plan, plan::PlanError> {
    Plan::with(m, &m.params, &m.drawn, forms)
}

#[test]
fn single_poses_agree_with_the_dense_reference() {
    let (mut made, mut good, mut missed) = (0, 0, 0);
    let mut refused = Vec::new();
    for (seed, m) in machines(1500) {
        let size = m.size(&m.params);
        for forms in [Forms::Closed, Forms::NewtonOnly] {
            let plan = match planned(&m, forms) {
                Ok(plan) => plan,
                Err(e) => {
                    refused.push((seed, forms, e));
                    continue;
                }
            };
            made += 1;
            let mut single = plan.single(&[]).expect("it is small");
            let mut r = Random::new(seed + 77);
            for _ in 0..4 {
                let params: Vec<f64> = m
                    .params
                    .iter()
                    .map(|p| p + r.between(-1e-3, 1e-3))
                    .collect();
                let followed = follow(
                    &m,
                    &State {
                        params: m.params.clone(),
                        poses: m.drawn.clone(),
                    },
                    &params,
                );
                let dense = followed.state.poses;
                let mut quick = m.drawn.clone();
                if followed.ended != Ended::Reached || !followed.change_points.is_empty() {
                    continue;
                }
                match single.pose(&params, &mut quick) {
                    Ok(()) => {
                        good += 1;
                        let off = apart(&dense, &quick, size);
                        assert!(off < 1e-9, "machine {seed} {forms:?}: {off:e}");
                    }
                    Err(_) => missed += 1,
                }
            }
        }
    }
    println!(
        "{made} plans, {good} good, {missed} missed, refused {}",
        refused.len()
    );
    for r in refused.iter().take(20) {
        println!("{r:?}");
    }
    assert!(good > 100 * missed, "{good} good, {missed} missed");
    assert!(
        refused.len() * 50 < made,
        "{} of {made} refused: {:?}",
        refused.len(),
        &refused[..3.min(refused.len())]
    );
}

#[test]
fn sweeps_agree_with_the_dense_reference_pose_by_pose() {
    let (mut good, mut missed) = (0, 0);
    for (seed, m) in machines(300) {
        let size = m.size(&m.params);
        let mut r = Random::new(seed + 5);
        let varied: Vec<usize> = (0..3).map(|_| r.below(m.params.len())).collect();
        let mut varied = varied;
        varied.sort_unstable();
        varied.dedup();
        let count = 150;
        let columns: Vec<Vec<f64>> = varied
            .iter()
            .map(|v| {
                let (swing, turns) = (r.between(0.2, 3.0), r.between(0.5, 2.0));
                let scale = if m.params[*v].abs() < 3.2 { 0.02 } else { 1.0 };
                (1..=count)
                    .map(|i| m.params[*v] + scale * swing * (turns * f64::from(i) / 30.0).sin())
                    .collect()
            })
            .collect();
        let columns: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
        let wants: Vec<Want> = (1..m.bodies.len())
            .flat_map(|b| [Want::Pose(b), Want::Angle(b)])
            .collect();
        // The reference, step by step.
        let mut params = m.params.clone();
        let mut poses = m.drawn.clone();
        let mut dense = Vec::new();
        for i in 0..count as usize {
            for (v, c) in varied.iter().zip(&columns) {
                params[*v] = c[i];
            }
            let ok = close(&m, &params, &mut poses).is_ok();
            dense.push(ok.then(|| poses.clone()));
            if !ok {
                break;
            }
        }
        for forms in [Forms::Closed, Forms::NewtonOnly] {
            let Ok(plan) = planned(&m, forms) else {
                continue;
            };
            let sweep = plan.sweep(&m.params, &varied, &wants).expect("it is small");
            let mut track = Track::new();
            sweep
                .run(&m.drawn, &columns, &mut track)
                .expect("the start is good");
            for (i, reference) in dense.iter().enumerate() {
                let Some(reference) = reference else { break };
                if !track.good(i) {
                    missed += 1;
                    break;
                }
                good += 1;
                for b in 1..m.bodies.len() {
                    let column = track.column_of(2 * (b - 1));
                    let at = |k: usize| track.value(i, column + k);
                    let got = Pose {
                        x: at(0),
                        y: at(1),
                        angle: at(4),
                    };
                    let off = apart(&[got], &[reference[b]], size);
                    assert!(
                        off < 1e-9,
                        "machine {seed} {forms:?} pose {i} body {b}: {off:e}"
                    );
                    let unit = (at(2) - at(4).cos()).abs().max((at(3) - at(4).sin()).abs());
                    assert!(
                        unit < 1e-11,
                        "machine {seed} {forms:?} pose {i} body {b}: unit vector {unit:e}"
                    );
                }
            }
        }
    }
    println!("{good} good, {missed} broke off");
    assert!(good > 50 * missed);
}

/// Batches of perturbed machines: every measure, and the same numbers for any number of threads.
#[test]
fn batches_agree_with_the_dense_reference() {
    let (mut good, mut missed) = (0, 0);
    for (seed, m) in machines(250) {
        let mut r = Random::new(seed + 11);
        let mut varied: Vec<usize> = (0..6).map(|_| r.below(m.params.len())).collect();
        varied.sort_unstable();
        varied.dedup();
        let wants: Vec<Want> = m.measures.iter().map(|x| Want::Measure(*x)).collect();
        let plan = planned(&m, Forms::Closed).expect("random machines can be planned");
        let batch = plan
            .batch(&m.params, &varied, &wants, &m.drawn)
            .expect("it is small");
        let count = 75;
        let value = |k: usize, i: usize| {
            m.params[varied[k]] + 2e-3 * ((i * 37 + k * 11) % 75) as f64 / 75.0
        };
        let fill = |first: usize, columns: &mut [[f64; LANES]]| {
            for (k, column) in columns.iter_mut().enumerate() {
                for (lane, x) in column.iter_mut().enumerate() {
                    *x = value(k, first + lane);
                }
            }
        };
        let mut track = Track::new();
        batch.run(count, fill, &mut track);
        assert_eq!(track.len(), count);
        let size = m.size(&m.params);
        for i in (0..count).step_by(7) {
            let mut params = m.params.clone();
            for (k, v) in varied.iter().enumerate() {
                params[*v] = value(k, i);
            }
            let mut poses = m.drawn.clone();
            if close(&m, &params, &mut poses).is_err() {
                continue;
            }
            if !track.good(i) {
                missed += 1;
                continue;
            }
            good += 1;
            for (column, measure) in m.measures.iter().enumerate() {
                let off =
                    (track.value(i, column) - m.measure(&params, &poses, measure)).abs() / size;
                assert!(
                    off < 1e-9,
                    "machine {seed}, sample {i}, {measure:?}: {off:e}"
                );
            }
        }
    }
    assert!(good > 100 * missed, "{good} good, {missed} missed");
}

/// Several poses of each machine at once give what each pose gives by itself, and a chunk is given away whole.
#[test]
fn several_poses_at_once_agree_with_one_after_the_other() {
    let mut compared = 0;
    for (seed, m) in machines(120) {
        let mut r = Random::new(seed + 5);
        let mut varied: Vec<usize> = (0..6).map(|_| r.below(m.params.len())).collect();
        varied.sort_unstable();
        varied.dedup();
        let wants: Vec<Want> = m.measures.iter().map(|x| Want::Measure(*x)).collect();
        // The drawn pose, one a little further on, and the drawn one again with its wants the other way round.
        let mut further = m.params.clone();
        for p in (0..further.len()).step_by(5) {
            further[p] += 1e-3 * (1.0 + p as f64 % 3.0);
        }
        let mut there = m.drawn.clone();
        if close(&m, &further, &mut there).is_err() {
            continue;
        }
        let Ok(second) = Plan::new(&m, &further, &there) else {
            continue;
        };
        let first = planned(&m, Forms::Closed).expect("random machines can be planned");
        let turned: Vec<Want> = wants.iter().rev().copied().collect();
        let stands = [
            (&first, &m.params, &m.drawn, &wants),
            (&second, &further, &there, &wants),
            (&first, &m.params, &m.drawn, &turned),
        ];
        let off = |k: usize, i: usize| 2e-3 * ((i * 37 + k * 11) % 75) as f64 / 75.0;
        let count = 75;
        let mut apart: Vec<Vec<f64>> = Vec::new();
        let mut missed = vec![false; count];
        for (plan, base, poses, wants) in stands {
            let batch = plan.batch(base, &varied, wants, poses).expect("small");
            let mut track = Track::new();
            let fill = |first: usize, columns: &mut [[f64; LANES]]| {
                for (k, column) in columns.iter_mut().enumerate() {
                    for (lane, x) in column.iter_mut().enumerate() {
                        *x = base[varied[k]] + off(k, first + lane);
                    }
                }
            };
            batch.run(count, fill, &mut track);
            track.missed().iter().for_each(|i| missed[*i] = true);
            apart.extend((0..wants.len()).map(|c| track.column(c).collect()));
        }
        let together: Vec<plan::Stand<'_>> = stands
            .iter()
            .map(|(plan, base, poses, wants)| plan::Stand {
                plan,
                base,
                poses,
                wants,
            })
            .collect();
        let batch = plan::Batch::of(&together, &varied).expect("small");
        assert_eq!(batch.columns(), apart.len());
        let fill = |first: usize, columns: &mut [[f64; LANES]]| {
            for (k, column) in columns.iter_mut().enumerate() {
                for (lane, x) in column.iter_mut().enumerate() {
                    *x = off(k, first + lane);
                }
            }
        };
        let mut rows = vec![Vec::new(); 1];
        let parts: Vec<&mut Vec<Vec<f64>>> = rows.iter_mut().collect();
        let lost = batch.each(count, parts, fill, |part, first, numbers| {
            assert_eq!(first, part.len());
            part.extend((0..LANES).map(|l| numbers.iter().map(|n| n[l]).collect::<Vec<f64>>()));
        });
        let size = m.size(&m.params);
        for i in 0..count {
            assert_eq!(lost.contains(&i), missed[i], "machine {seed}, sample {i}");
            for (c, own) in apart.iter().enumerate() {
                if missed[i] {
                    assert!(rows[0][i][c].is_nan());
                    continue;
                }
                compared += 1;
                let off = (rows[0][i][c] - own[i]).abs() / size;
                assert!(
                    off < 1e-11,
                    "machine {seed}, sample {i}, number {c}: {off:e}"
                );
            }
        }
    }
    assert!(compared > 10_000, "{compared}");
}
