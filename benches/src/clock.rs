//! Timing and reporting.

use std::time::{Duration, Instant};

/// Runs of which the median counts.
const RUNS: usize = 9;
/// A run lasts at least this long.
const LONG: Duration = Duration::from_millis(15);

/// Time of `work`, in ns: the median of the runs, each as quick as its best call. What else the computer does only ever adds.
pub(crate) fn median(mut work: impl FnMut()) -> f64 {
    work();
    let mut runs: Vec<f64> = (0..RUNS)
        .map(|_| {
            let run = Instant::now();
            let mut best = Duration::MAX;
            while run.elapsed() < LONG {
                let call = Instant::now();
                work();
                best = best.min(call.elapsed());
            }
            best.as_nanos() as f64
        })
        .collect();
    runs.sort_by(f64::total_cmp);
    runs[RUNS / 2]
}

/// Prints a time, at most `goal`.
pub(crate) fn time(name: &str, value: f64, unit: &str, goal: f64) {
    println!("time {name} {value:.2} {unit} (goal <= {goal})");
}

/// Prints a figure of which more is better, at least `goal`.
pub(crate) fn at_least(name: &str, value: f64, unit: &str, goal: f64) {
    println!("time {name} {value:.2} {unit} (goal >= {goal})");
}

/// Prints a time as a multiple of its floor, at most `goal`.
pub(crate) fn ratio(name: &str, value: f64, floor: f64, goal: f64) {
    println!("ratio {name} {:.3} (goal <= {goal})", value / floor);
}

/// Runs `work` with so many threads.
pub(crate) fn with_threads<T: Send>(threads: usize, work: impl FnOnce() -> T + Send) -> T {
    match rayon::ThreadPoolBuilder::new().num_threads(threads).build() {
        Ok(pool) => pool.install(work),
        Err(e) => {
            eprintln!("no threads: {e}");
            std::process::exit(1)
        }
    }
}
