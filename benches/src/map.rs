//! A map over two drives, against plain Newton on all unknowns from one pose to the next.

use crate::clock::{ratio, time, with_threads};
use mechanics::close;
use std::hint::black_box;
use std::time::Instant;
use studies::Model;
use studies::clearance::{ClearanceAsked, clearance};
use studies::cycle::{MapAsked, map};

/// The grid of the goal.
const GRID: [usize; 2] = [721, 201];
/// Rows of it that plain Newton goes through; its time is scaled up.
const ROWS: usize = 10;

/// Poses of the clearance.
const POSES: usize = 5000;

/// Least distances of all parts of the strap embosser over crank and lever, against plain Newton through the same poses alone.
pub(crate) fn clear(model: &Model) {
    let machine = model.machine();
    let drive = |name: &str| machine.drives.iter().position(|d| d.name == name);
    let (Some(across), Some(up)) = (drive("crank"), drive("set")) else {
        eprintln!("the strap embosser has other drives");
        return;
    };
    let asked = ClearanceAsked {
        across,
        up: Some(up),
        poses: POSES,
    };
    let stand = model.drawn();
    let mut took = f64::INFINITY;
    let mut poses = 0;
    for _ in 0..5 {
        let start = Instant::now();
        let found = with_threads(2, || clearance(model, &stand, &asked).ok());
        took = took.min(start.elapsed().as_secs_f64());
        poses = black_box(found).map_or(0, |f| f.poses);
    }
    assert!(poses >= POSES * 9 / 10, "{poses} poses");
    time("clearance", took, "s", 1.0);
    let mechanism = model.mechanism();
    let mut floor = f64::INFINITY;
    for _ in 0..3 {
        let start = Instant::now();
        let mut there = mechanism.drawn.clone();
        let mut stand = stand.clone();
        for i in 0..POSES {
            stand.drives[across] = std::f64::consts::TAU * i as f64 / POSES as f64;
            let _ = close(mechanism, &model.params(&stand), &mut there);
        }
        black_box(&there);
        floor = floor.min(start.elapsed().as_secs_f64());
    }
    ratio("clearance", took, floor, 8.0);
}

/// The gap of the strap embosser over crank and lever.
pub(crate) fn over_two(model: &Model) {
    let machine = model.machine();
    let drive = |name: &str| machine.drives.iter().position(|d| d.name == name);
    let reading = machine.readings.iter().position(|r| r.name == "gap");
    let (Some(across), Some(up), Some(reading)) = (drive("crank"), drive("set"), reading) else {
        eprintln!("the strap embosser has other drives");
        return;
    };
    let asked = MapAsked {
        reading,
        across,
        up,
        columns: GRID[0],
        rows: GRID[1],
    };
    let stand = model.drawn();
    let best = |work: &mut dyn FnMut()| {
        (0..5)
            .map(|_| {
                let start = Instant::now();
                work();
                start.elapsed().as_secs_f64()
            })
            .fold(f64::INFINITY, f64::min)
    };
    let mut made = None;
    let took = best(&mut || made = with_threads(2, || map(model, &stand, &asked).ok()));
    let Some(made) = made else {
        eprintln!("there is no map");
        return;
    };
    assert!(made.values.iter().all(Option::is_some));
    time("map", took, "s", 1.0);
    // Plain Newton, each pose from the one before.
    let mechanism = model.mechanism();
    let floor = best(&mut || {
        for row in 0..ROWS {
            let mut poses = mechanism.drawn.clone();
            let mut stand = stand.clone();
            stand.drives[up] = made.rows[row * GRID[1] / ROWS];
            // To the start of the row in steps, as a hand would.
            let drawn = model.drawn();
            for step in 1..=20 {
                let share = f64::from(step) / 20.0;
                let mut there = drawn.clone();
                for d in [across, up] {
                    let to = if d == across {
                        made.columns[0]
                    } else {
                        stand.drives[up]
                    };
                    there.drives[d] = drawn.drives[d] + share * (to - drawn.drives[d]);
                }
                let _ = close(mechanism, &model.params(&there), &mut poses);
            }
            for at in &made.columns {
                stand.drives[across] = *at;
                let _ = close(mechanism, &model.params(&stand), &mut poses);
            }
            black_box(&poses);
        }
    });
    let whole = floor * GRID[1] as f64 / ROWS as f64;
    ratio("map", took, whole, 0.5);
}
