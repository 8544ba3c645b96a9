//! Benches of the solver: sweeps, batches, single poses.

use crate::clock::{at_least, median, ratio, time, with_threads};
use crate::floors;
use crate::machines::{self, Machine, TenParts, ten_parts_drawn};
use mechanics::LANES;
use mechanics::model::{Measure, Pose};
use mechanics::plan::{Forms, Plan, Track, Want};
use std::f64::consts::TAU;
use std::hint::black_box;

/// Stops with what went wrong: a bench that is not checked is no bench.
fn fail(what: &str) -> ! {
    eprintln!("bench: {what}");
    std::process::exit(1)
}

/// Drive values from `from`, `count` of them over `way`.
fn drive(from: f64, way: f64, count: usize) -> Vec<f64> {
    (0..count)
        .map(|i| from + way * i as f64 / count as f64)
        .collect()
}

fn plan_of(machine: &Machine, forms: Forms) -> Plan {
    let m = &machine.mechanism;
    Plan::with(m, &m.params, &m.drawn, forms).unwrap_or_else(|e| fail(&format!("no plan: {e}")))
}

/// Largest difference between a track of pins and the floor's pins.
fn differ<const N: usize>(track: &Track, floor: &[[f64; N]]) -> f64 {
    let mut worst: f64 = if track.missed().is_empty() {
        0.0
    } else {
        f64::NAN
    };
    for (pose, pins) in floor.iter().enumerate() {
        for (column, x) in pins.iter().enumerate() {
            worst = worst.max((track.value(pose, column) - x).abs());
        }
    }
    worst
}

/// Times a sweep of all pins on one thread and checks every pose against the floor. Says ns per pose.
fn sweep<const N: usize>(
    machine: &Machine,
    forms: Forms,
    values: &[f64],
    floor: &[[f64; N]],
    size: f64,
) -> f64 {
    let m = &machine.mechanism;
    let plan = plan_of(machine, forms);
    let wants: Vec<Want> = machine.pins.iter().map(|p| Want::Place(*p)).collect();
    let sweep = plan
        .sweep(&m.params, &[machine.drive], &wants)
        .unwrap_or_else(|e| fail(&format!("no sweep: {e}")));
    let mut track = Track::new();
    let ns = with_threads(1, || {
        median(|| {
            if let Err(e) = sweep.run(&m.drawn, &[black_box(values)], &mut track) {
                fail(&format!("no start: {e}"));
            }
        })
    });
    let off = differ(&track, floor);
    if off.is_nan() || off > 1e-9 * size {
        fail(&format!(
            "{} poses missed, the others are off by {off:e} mm",
            track.missed().len()
        ));
    }
    ns / values.len() as f64
}

pub(crate) fn four_bar() {
    let machine = machines::four_bar();
    let values = drive(0.3, TAU, 1_000_000);
    let mut pins = vec![[0.0; 4]; values.len()];
    let floor = median(|| floors::four_bar(&values, black_box(&mut pins))) / values.len() as f64;
    let ns = sweep(&machine, Forms::Closed, &values, &pins, 4.0);
    time("four-bar", ns, "ns/pose", 10.0);
    ratio("four-bar", ns, floor, 0.9);
}

/// Wheel angles over 60 degrees and the floor's pins and time.
fn ten_floor(drawn: &TenParts) -> (Vec<f64>, Vec<[f64; 16]>, f64) {
    let values = drive(0.0, TAU / 6.0, 200_000);
    let mut pins = vec![[0.0; 16]; values.len()];
    let lengths = floors::TenLengths::drawn(drawn);
    let floor = median(|| {
        floors::ten_parts(
            &lengths,
            machines::CRANK_DRAWN,
            &values,
            black_box(&mut pins),
        );
    });
    let floor = floor / values.len() as f64;
    (values, pins, floor)
}

pub(crate) fn ten_parts() {
    ten(Forms::Closed, "ten-parts", 20.0, 0.7);
}

pub(crate) fn ten_parts_newton() {
    ten(Forms::NewtonOnly, "ten-parts-newton", 60.0, 2.1);
}

fn ten(forms: Forms, name: &str, goal: f64, share: f64) {
    let (values, pins, floor) = ten_floor(&ten_parts_drawn());
    let ns = sweep(&machines::ten_parts().0, forms, &values, &pins, 110.0);
    time(name, ns, "ns/pose", goal);
    ratio(name, ns, floor, share);
}

/// Spread of a dimension, mm.
const SIGMA: f64 = 0.05;
/// Machines of a batch.
const SAMPLES: usize = 100_000;

pub(crate) fn monte_carlo() {
    let (machine, dimensions, ram) = machines::ten_parts();
    let m = &machine.mechanism;
    let nominal: Vec<f64> = dimensions.iter().map(|d| m.params[*d]).collect();
    let plan = plan_of(&machine, Forms::Closed);
    let origin = m
        .anchors
        .iter()
        .position(|a| a.body == 0)
        .unwrap_or_else(|| fail("no frame"));
    let height = Measure::Along {
        a: origin,
        b: ram,
        direction: [0.0, 1.0, 0.0],
    };
    let batch = plan
        .batch(&m.params, &dimensions, &[Want::Measure(height)], &m.drawn)
        .unwrap_or_else(|e| fail(&format!("no batch: {e}")));
    let base = m.params[m.anchors[origin].v];

    // The same numbers, by machine for the floor and by dimension for the lanes.
    let mut columns = vec![vec![0.0; SAMPLES.next_multiple_of(LANES)]; dimensions.len()];
    let mut rows = vec![[0.0; 14]; SAMPLES];
    let mut lanes = vec![[0.0; LANES]; dimensions.len()];
    for first in (0..SAMPLES).step_by(LANES) {
        mechanics::random::normals(7, first as u64, &mut lanes);
        for (k, lane) in lanes.iter().enumerate() {
            for (i, z) in lane.iter().enumerate() {
                let x = nominal[k] + SIGMA * z;
                columns[k][first + i] = x;
                if let Some(row) = rows.get_mut(first + i) {
                    row[k] = x;
                }
            }
        }
    }
    let lengths = floors::TenLengths::drawn(&ten_parts_drawn());
    let mut heights = vec![0.0; SAMPLES];
    let work = || {
        floors::ten_parts_perturbed(
            &lengths,
            machines::CRANK_DRAWN,
            &rows,
            black_box(&mut heights),
        );
    };
    let floor = median(work) / SAMPLES as f64;

    let mut track = Track::new();
    let given = |first: usize, lanes: &mut [[f64; LANES]]| {
        for (lane, column) in lanes.iter_mut().zip(&columns) {
            lane.copy_from_slice(&column[first..first + LANES]);
        }
    };
    let ns = with_threads(1, || median(|| batch.run(SAMPLES, given, &mut track))) / SAMPLES as f64;
    check_heights(&track, &heights, base);
    time("monte-carlo", ns, "ns/machine", 25.0);
    ratio("monte-carlo", ns, floor, 0.4);

    let drawn = |first: usize, lanes: &mut [[f64; LANES]]| {
        mechanics::random::normals(7, first as u64, lanes);
        for (lane, nominal) in lanes.iter_mut().zip(&nominal) {
            for x in lane {
                *x = nominal + SIGMA * *x;
            }
        }
    };
    let ns = with_threads(1, || median(|| batch.run(SAMPLES, drawn, &mut track))) / SAMPLES as f64;
    check_heights(&track, &heights, base);
    time("monte-carlo-random", ns, "ns/machine", 60.0);
}

fn check_heights(track: &Track, heights: &[f64], base: f64) {
    let worst = track
        .column(0)
        .zip(heights)
        .map(|(a, b)| (a + base - b).abs())
        .fold(0.0, f64::max);
    if !track.missed().is_empty() || worst > 1e-8 || track.len() != heights.len() {
        fail(&format!(
            "{} machines missed, the others are off by {worst:e} mm",
            track.missed().len()
        ));
    }
}

pub(crate) fn squeezer() {
    squeeze(Forms::Closed, "squeezer", 12.0, 0.73);
}

pub(crate) fn squeezer_newton() {
    squeeze(Forms::NewtonOnly, "squeezer-newton", 30.0, 1.83);
}

fn squeeze(forms: Forms, name: &str, goal: f64, share: f64) {
    let machine = machines::squeezer();
    let start = machine.mechanism.params[machine.drive];
    let values = drive(start, TAU, 100_000);
    let mut pins = vec![[0.0; 10]; values.len()];
    let floor = median(|| floors::squeezer(&values, black_box(&mut pins))) / values.len() as f64;
    let ns = sweep(&machine, forms, &values, &pins, 40.0);
    time(name, ns, "ns/pose", goal);
    ratio(name, ns, floor, share);
}

pub(crate) fn coupled_group() {
    let machine = machines::coupled_group();
    let values = drive(0.0, TAU, 100_000);
    let mut pins = vec![[0.0; 8]; values.len()];
    let floor =
        median(|| floors::coupled_group(&values, black_box(&mut pins))) / values.len() as f64;
    let ns = sweep(&machine, Forms::Closed, &values, &pins, 130.0);
    time("coupled-group", ns, "ns/pose", 40.0);
    ratio("coupled-group", ns, floor, 1.7);
}

pub(crate) fn one_pose() {
    let (machine, ..) = machines::ten_parts();
    let m = &machine.mechanism;
    let plan = plan_of(&machine, Forms::Closed);
    let mut single = plan
        .single(&[machine.drive])
        .unwrap_or_else(|e| fail(&format!("no single pose: {e}")));
    let mut params = m.params.clone();
    let mut poses: Vec<Pose> = m.drawn.clone();
    let mut count = 0_u32;
    let ns = median(|| {
        for _ in 0..1000 {
            count = (count + 1) % 600;
            params[machine.drive] = f64::from(count) * 1e-3;
            if let Err(e) = single.pose(black_box(&params), &mut poses) {
                fail(&format!("missed: {e}"));
            }
        }
    });
    let worst = m
        .residuals(&params, &poses)
        .into_iter()
        .map(f64::abs)
        .fold(0.0, f64::max);
    if worst > 1e-8 {
        fail(&format!("a pose does not close by {worst:e} mm"));
    }
    time("one-pose", ns / 1000.0, "ns", 1000.0);
}

pub(crate) fn two_threads() {
    let (machine, ..) = machines::ten_parts();
    let m = &machine.mechanism;
    let plan = plan_of(&machine, Forms::Closed);
    let wants: Vec<Want> = machine.pins.iter().map(|p| Want::Place(*p)).collect();
    let sweep = plan
        .sweep(&m.params, &[machine.drive], &wants)
        .unwrap_or_else(|e| fail(&format!("no sweep: {e}")));
    let values = drive(0.0, TAU / 6.0, 200_000);
    let run = |threads: usize| {
        let mut track = Track::new();
        let ns = with_threads(threads, || {
            median(|| {
                if let Err(e) = sweep.run(&m.drawn, &[&values], &mut track) {
                    fail(&format!("no start: {e}"));
                }
            })
        });
        (ns, track)
    };
    let (one, a) = run(1);
    let (two, b) = run(2);
    let same = (0..values.len())
        .all(|i| (0..16).all(|c| a.value(i, c).to_bits() == b.value(i, c).to_bits()));
    if !same {
        fail("one thread and two make different bits");
    }
    at_least("two-threads", one / two, "x", 1.9);
}
