//! Whole studies of the strap embosser, as a person asks for them.

use crate::clock::{at_least, median, time, with_threads};
use std::time::Instant;
use studies::load::LoadRequest;
use studies::spread::Request;
use studies::{Model, assemble};

/// Poses of the load study.
const POSES: u32 = 200;
/// Machines that are made.
const MACHINES: usize = 1_000_000;
/// Machines that are made on one core and on two, to compare.
const FEWER: usize = 200_000;

fn embosser() -> Option<Model> {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../examples/strap-embosser/machine.toml"
    );
    let found = machine::read(std::path::Path::new(path)).machine;
    if found.is_none() {
        eprintln!("the strap embosser does not read");
    }
    found.as_ref().map(assemble)
}

/// Forces, effort with friction both ways and holding in 200 poses of the setting lever.
pub(crate) fn load() {
    let Some(model) = embosser() else { return };
    let Some(drive) = model.machine().drives.iter().position(|d| d.name == "set") else {
        return;
    };
    let Some([from, to]) = model.machine().drives[drive].range else {
        return;
    };
    let request = LoadRequest {
        case: Some(0),
        sweep: Some(studies::Sweep {
            drive,
            from: Some(from),
            to: Some(to),
            step: Some((to - from) / f64::from(POSES - 1)),
            readings: Vec::new(),
        }),
    };
    let stand = model.drawn();
    let mut rows = 0;
    let took = median(|| {
        rows = studies::load::load(&model, &stand, &request)
            .map_or(0, |l| l.cases.iter().map(|c| c.rows.len()).sum());
    });
    assert!(rows >= POSES as usize, "{rows} poses");
    time("load", took / 1e6, "ms", 20.0);
}

/// The gap over crank and lever.
pub(crate) fn map() {
    if let Some(model) = embosser() {
        crate::map::over_two(&model);
    }
}

/// A million embossers: all readings and asks, percentiles, shares and budgets.
pub(crate) fn spread() {
    let Some(model) = embosser() else { return };
    let stand = model.drawn();
    let make = |machines| {
        let request = Request {
            machines,
            ..Request::default()
        };
        let start = Instant::now();
        let made = studies::spread::spread(&model, &stand, &request);
        assert!(made.is_ok_and(|s| s.machines == machines));
        start.elapsed().as_secs_f64()
    };
    let best = |threads, machines| {
        let runs = (0..3).map(|_| with_threads(threads, || make(machines)));
        runs.fold(f64::INFINITY, f64::min)
    };
    time("spread", best(2, MACHINES), "s", 1.0);
    at_least(
        "spread-two-threads",
        best(1, FEWER) / best(2, FEWER),
        "times",
        1.8,
    );
}
