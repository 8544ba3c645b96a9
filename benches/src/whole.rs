//! Whole studies of the strap embosser, as a person asks for them.

use crate::clock::{at_least, median, ratio, time, with_threads};
use crate::embosser;
use std::time::Instant;
use studies::load::LoadRequest;
use studies::spread::Request;
use studies::{Model, assemble};

/// Poses of the load study.
const POSES: u32 = 200;
/// Machines that are made.
const MACHINES: usize = 1_000_000;
/// Machines of a study whose budgets are timed.
const FEWER: usize = 100_000;

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

/// Where moving parts come closest over both drives.
pub(crate) fn clear() {
    if let Some(model) = embosser() {
        crate::map::clear(&model);
    }
}

/// A million embossers: all readings and asks, percentiles, shares; and against the same values by hand, drawn from the same lots.
pub(crate) fn spread() {
    let Some(model) = embosser() else { return };
    let stand = model.drawn();
    let study = |machines, budgets| {
        let request = Request {
            machines,
            budgets,
            ..Request::default()
        };
        let start = Instant::now();
        let made = studies::spread::spread(&model, &stand, &request);
        let took = start.elapsed().as_secs_f64();
        assert!(made.as_ref().is_ok_and(|s| s.machines == machines));
        (took, made)
    };
    let best = |threads, machines, budgets| {
        let runs = (0..5).map(|_| with_threads(threads, || study(machines, budgets).0));
        runs.fold(f64::INFINITY, f64::min)
    };
    let Ok(told) = study(MACHINES, false).1 else {
        return;
    };
    let names: Vec<(String, f64)> = told
        .dimensions
        .iter()
        .map(|d| (d.dimension.clone(), d.plus_minus / 3.0))
        .collect();
    let Some(dimensions) = embosser::Dimensions::of(&names) else {
        eprintln!("the strap embosser has other dimensions than its floor: {names:?}");
        std::process::exit(1);
    };
    let fine = told.asks.iter().find(|a| a.ask == "fine");
    let fine = fine
        .and_then(|a| a.at.first())
        .map_or(0.0, |h| h.value.to_degrees());
    let mut columns = vec![vec![0.0; MACHINES]; embosser::VALUES];
    let mut by_hand = |threads| {
        let runs = (0..5).map(|_| {
            with_threads(threads, || {
                let start = Instant::now();
                embosser::made(&dimensions, 1, [fine, fine + 1.0], &mut columns);
                start.elapsed().as_secs_f64()
            })
        });
        runs.fold(f64::INFINITY, f64::min)
    };
    let (one, two) = (by_hand(1), by_hand(2));
    // The same machines: means, deviations and middles agree.
    let asks = told.asks.iter().map(|a| &a.strayed);
    for (strayed, values) in told.readings.iter().chain(asks).zip(&mut columns) {
        let n = MACHINES as f64;
        let mean = values.iter().sum::<f64>() / n;
        let deviation = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        let off = (mean - strayed.made.mean)
            .abs()
            .max((deviation - strayed.made.deviation).abs());
        if off > 1e-7 || deviation == 0.0 {
            eprintln!(
                "{}: by hand {mean} ± {deviation}, made {:?}",
                strayed.reading.name, strayed.made
            );
            std::process::exit(1);
        }
    }
    let (study_one, study_two) = (best(1, MACHINES, false), best(2, MACHINES, false));
    time("spread", study_two, "s", 1.0);
    time("spread-one-thread", study_one, "s", 2.0);
    time("spread-by-hand", one, "s", 2.0);
    ratio("spread", study_one, one, 4.0);
    ratio("spread-two-threads", study_two, two, 4.0);
    at_least("spread-two-threads", study_one / study_two, "times", 1.8);
    time(
        "spread-budgets",
        best(2, FEWER, true) - best(2, FEWER, false),
        "s",
        0.5,
    );
}
