//! Machines with known errors, read with known noise: is what is fitted right as often as it says?

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

mod beliefs;
mod correct;
mod left;
mod told;

use super::*;
use crate::assemble::assemble;
use machine::Place;
use machine::logbook::{Measured, Run, Taken, Zero};
use mechanics::random::normals;

/// A hand press: a lever turns a bell crank through a rod, the bell crank lifts a bed through another.
pub(super) const PRESS: &str = r#"
name = "hand press"
[point]
stud     = [0, 0]
pin      = { from = "stud", reach = 30, angle = "180 deg" }
grip     = { from = "stud", reach = 200, angle = "70 deg" }
pivot    = [-30, -150]
left     = { from = "pivot", reach = 55, angle = "180 deg" }
low      = { from = "pivot", reach = 40, angle = "-10 deg" }
bed-pin  = [20, -70]
bed      = [20, 0]
head     = [20, 12]
[frame]
carries = ["stud", "pivot", "head"]
[part.lever]
carries = ["stud", "pin", "grip"]
[part.bell]
carries = ["pivot", "left", "low"]
[part.bed]
carries = ["bed-pin", "bed"]
[rod.down]
joins  = ["pin", "left"]
thread = "M8"
[rod.cross]
joins = ["low", "bed-pin"]
[slide.bed]
part  = "bed"
along = "up"
[drive.set]
turns = "lever"
range = ["-30 deg", "30 deg"]
[setting.down]
rod  = "down"
step = "half turn"
[setting.shim]
shim  = "bed"
along = "up"
step  = "0.05 mm"
[reading.gap]
between = ["bed", "head"]
along   = "up"
[reading.bell]
turn-of = "bell"
[usual]
hole-places = "0.06 mm"
rod-lengths = "0.15 mm"
directions  = "0.1 deg"
[ask.close]
reading = "gap"
when    = { set = "20 deg" }
between = ["3 mm", "6 mm"]
[ask.travel]
swing-of = "gap"
over     = "set"
at-least = "2 mm"
"#;

pub(super) fn press() -> Model {
    let found = machine::read_text("press.toml", PRESS);
    assert!(
        found.machine.is_some(),
        "{}",
        machine::render_all(&found.problems, &found.sources, false)
    );
    assemble(&found.machine.unwrap())
}

/// Normal numbers of one machine.
pub(super) fn noise(seed: u64, count: usize) -> Vec<f64> {
    let mut columns = vec![[0.0; mechanics::LANES]; count + count % 2];
    normals(seed, 0, &mut columns);
    columns.iter().map(|c| c[0]).take(count).collect()
}

/// A run over places in degrees: what the made machine shows with this zero, backlash and noise.
pub(super) struct Taking {
    pub(super) reading: usize,
    pub(super) places: Vec<f64>,
    pub(super) going: f64,
    pub(super) zero: Zero,
    pub(super) offset: f64,
    pub(super) backlash: f64,
    pub(super) sd: f64,
    pub(super) sense: f64,
}

impl Taking {
    pub(super) fn plain(reading: usize) -> Self {
        Self {
            reading,
            places: (-6..=6).map(|i| f64::from(i) * 5.0).collect(),
            going: 0.0,
            zero: Zero::Unknown,
            offset: 3.217,
            backlash: 0.0,
            sd: 0.005,
            sense: 1.0,
        }
    }

    pub(super) fn take(&self, made: &Model, seed: u64) -> Run {
        let mut bench = Bench::new(made);
        let noise = noise(seed, self.places.len());
        let taken = self.places.iter().zip(noise).map(|(deg, n)| {
            let mut stand = made.drawn();
            stand.drives[0] = deg.to_radians();
            let here = bench.bring(&stand).unwrap();
            let value = bench.value(self.reading, &here).unwrap();
            let zero = if self.zero == Zero::True {
                0.0
            } else {
                self.offset
            };
            Taken {
                at: deg.to_radians(),
                shown: self.sense * (value + 0.5 * self.going * self.backlash) + zero + self.sd * n,
                going: self.going,
                place: Place::default(),
            }
        });
        Run {
            name: "a run".to_owned(),
            reading: self.reading,
            drive: 0,
            at: Vec::new(),
            set: Vec::new(),
            uncertainty: 2.0 * self.sd,
            position: 0.0,
            drive_zero: None,
            zero: self.zero,
            sense: self.sense,
            under: None,
            with: String::new(),
            on: None,
            taken: taken.collect(),
            place: Place::default(),
        }
    }
}

/// Errors within tolerance, as the machine came out.
pub(super) fn errors(model: &Model, seed: u64) -> Vec<(usize, f64)> {
    let empty = Log::default();
    let system = System::new(model, &empty);
    let n = noise(seed, system.unknowns.len());
    system
        .unknowns
        .iter()
        .zip(n)
        .map(|(u, n)| (u.dimension, u.scale * n))
        .collect()
}

pub(super) fn log(runs: Vec<Run>) -> Log {
    Log {
        runs,
        ..Log::default()
    }
}

#[test]
fn true_values_lie_in_the_stated_ranges_as_often_as_stated() {
    let model = press();
    let (mut inside, mut all) = (0, 0);
    let (mut asks_inside, mut asks_all) = (0, 0);
    let mut leftovers = 0;
    let seeds = 120;
    for seed in 1..=seeds {
        let truth = errors(&model, seed);
        let made = model.made(&truth).unwrap();
        let up = Taking {
            going: 1.0,
            backlash: 0.08,
            ..Taking::plain(0)
        };
        let down = Taking {
            going: -1.0,
            zero: Zero::Kept,
            backlash: 0.08,
            ..Taking::plain(0)
        };
        let (mut a, mut b) = (up.take(&made, 1000 + seed), down.take(&made, 2000 + seed));
        // The zero is the same in both.
        b.uncertainty = a.uncertainty;
        a.name = "up".to_owned();
        let (answer, built) = dial_in(&model, &log(vec![a, b])).unwrap();
        let fit = answer.fit.unwrap();
        let built = built.unwrap();
        for (u, (_, true_error)) in built.unknowns.iter().zip(&truth) {
            let d = &model.dimensions[u.dimension];
            let told = fit
                .dimensions
                .iter()
                .find(|t| t.dimension == d.name)
                .unwrap();
            all += 1;
            inside += i32::from((told.fitted - told.drawn - true_error).abs() <= told.after);
        }
        let mut bench = Bench::new(&made);
        for (n, told) in fit.asks.iter().enumerate() {
            let stand = stand_of_ask(&bench, &model.machine.asks[n], &model.drawn().settings);
            let real = crate::check::asks::weigh(&mut bench, n, &stand)
                .unwrap()
                .value;
            asks_all += 1;
            // The value in the middle between coming from below and from above; half the backlash comes on top.
            let half = told.half_lost.unwrap_or(0.0);
            let sure = told.after.unwrap() - half;
            asks_inside += i32::from((told.built.unwrap() - real).abs() <= sure);
            assert!(
                sure < told.before.unwrap(),
                "nothing was learned of {}",
                told.ask
            );
            let lost = fit.backlash[0].value.abs() / 2.0;
            let whole = told.ask != "travel";
            assert!((half - if whole { lost } else { 0.0 }).abs() < 1e-12);
        }
        let backlash = &fit.backlash[0];
        asks_all += 1;
        asks_inside += i32::from((backlash.value - 0.08).abs() <= backlash.plus_minus);
        leftovers += i32::from(fit.left_over.chance < 0.05);
    }
    let share = |i: i32, n: i32| f64::from(i) / f64::from(n);
    // 95.45 of 100; dimensions of one machine hang together, so that their count strays more than that of independent ones.
    assert!(
        (share(inside, all) - 0.9545).abs() < 0.02,
        "{inside} of {all}"
    );
    assert!(
        (share(asks_inside, asks_all) - 0.9545).abs() < 0.035,
        "{asks_inside} of {asks_all}"
    );
    assert!(
        leftovers <= 14,
        "{leftovers} of {seeds} look unlike noise; 6 should"
    );
}

#[test]
fn one_wild_reading_is_found_and_left_out() {
    let model = press();
    let made = model.made(&errors(&model, 5)).unwrap();
    let clean = Taking::plain(0).take(&made, 77);
    let mut run = clean.clone();
    run.taken[4].shown += 0.2;
    let (plain, _) = dial_in(&model, &log(vec![clean])).unwrap();
    let (found, _) = dial_in(&model, &log(vec![run])).unwrap();
    let (plain, found) = (plain.fit.unwrap(), found.fit.unwrap());
    assert!(plain.aside.is_empty());
    assert_eq!(found.aside.len(), 1);
    let aside = &found.aside[0];
    assert!(!aside.slip && aside.row == 5, "{aside:?}");
    assert!((aside.by - 0.2).abs() < 0.03, "{aside:?}");
    // Nothing else is moved by it.
    for (a, b) in plain.asks.iter().zip(&found.asks) {
        assert!((a.built.unwrap() - b.built.unwrap()).abs() < b.after.unwrap());
    }
}

#[test]
fn a_slipped_indicator_is_found_where_it_slipped() {
    let model = press();
    let made = model.made(&errors(&model, 6)).unwrap();
    let mut run = Taking::plain(0).take(&made, 78);
    for t in run.taken.iter_mut().skip(7) {
        t.shown -= 0.15;
    }
    let (found, _) = dial_in(&model, &log(vec![run])).unwrap();
    let said = found
        .findings
        .iter()
        .any(|f| f.sentence.contains("slipped"));
    let found = found.fit.unwrap();
    assert_eq!(found.aside.len(), 1, "{:?}", found.aside);
    assert!(
        found.aside[0].slip && found.aside[0].row == 8,
        "{:?}",
        found.aside
    );
    assert!((found.aside[0].by + 0.15).abs() < 0.03);
    assert!(said);
}

#[test]
fn mixed_units_and_a_turned_sign_are_asked_about() {
    let model = press();
    let made = model.made(&errors(&model, 9)).unwrap();
    let told = |change: &dyn Fn(&mut Run)| {
        let mut run = Taking::plain(0).take(&made, 79);
        change(&mut run);
        let (found, built) = dial_in(&model, &log(vec![run])).unwrap();
        assert!(found.fit.is_none() && built.is_none());
        found.findings[0].clone()
    };
    let scaled = |k: f64| {
        move |run: &mut Run| {
            for t in &mut run.taken {
                t.shown *= k;
            }
        }
    };
    let inches = told(&scaled(1.0 / 25.4));
    assert!(
        inches
            .sentence
            .contains("inches were written as millimetres"),
        "{}",
        inches.sentence
    );
    let mm = told(&scaled(25.4));
    assert!(
        mm.sentence.contains("millimetres were written as inches"),
        "{}",
        mm.sentence
    );
    let turned = told(&scaled(-1.0));
    assert!(turned.sentence.contains("other way"), "{}", turned.sentence);
    assert!(turned.what_to_try.unwrap().contains("opposite"));
    let other = told(&scaled(0.02));
    assert!(
        other.sentence.contains("another machine"),
        "{}",
        other.sentence
    );
    // What a wild reading does to it is no reason to ask.
    let mut run = Taking::plain(0).take(&made, 79);
    run.taken[0].shown += 1.0;
    assert!(dial_in(&model, &log(vec![run])).unwrap().0.fit.is_some());
}

#[test]
fn readings_of_another_machine_are_refused() {
    let model = press();
    let mut run = Taking::plain(0).take(&model, 80);
    for (i, t) in run.taken.iter_mut().enumerate() {
        t.shown += 0.4 * (i as f64 * 1.3).sin();
    }
    let (found, built) = dial_in(&model, &log(vec![run])).unwrap();
    assert!(built.is_none());
    assert!(
        found.findings.iter().any(|f| f.severity == Severity::Fault),
        "{:?}",
        found.findings
    );
}

#[test]
fn too_few_readings_are_told() {
    let model = press();
    let run = Taking {
        places: vec![10.0],
        ..Taking::plain(0)
    }
    .take(&model, 81);
    let (found, built) = dial_in(&model, &log(vec![run])).unwrap();
    assert!(built.is_none());
    assert!(
        found.findings[0].sentence.contains("says nothing"),
        "{:?}",
        found.findings
    );
    assert!(dial_in(&model, &Log::default()).is_err());
}

#[test]
fn an_indicator_that_counts_the_other_way_gives_the_same_machine() {
    let model = press();
    let made = model.made(&errors(&model, 11)).unwrap();
    let same = Taking {
        sd: 1e-6,
        ..Taking::plain(0)
    }
    .take(&made, 1);
    let opposite = Taking {
        sd: 1e-6,
        sense: -1.0,
        offset: -1.0,
        ..Taking::plain(0)
    }
    .take(&made, 2);
    let fit = |run: Run| dial_in(&model, &log(vec![run])).unwrap().0.fit.unwrap();
    let (a, b) = (fit(same), fit(opposite));
    for (a, b) in a.asks.iter().zip(&b.asks) {
        assert!((a.built.unwrap() - b.built.unwrap()).abs() < 2.0 * a.after.unwrap().max(1e-4));
    }
}

#[test]
fn a_measured_dimension_is_believed_as_far_as_it_was_measured() {
    let model = press();
    let (n, d) = model
        .dimensions
        .iter()
        .enumerate()
        .find(|(_, d)| d.name == "rod cross: length")
        .unwrap();
    let nominal = model.mechanism.params[d.param];
    let measured = Measured {
        dimension: n,
        value: nominal + 0.1,
        uncertainty: 0.02,
        with: "caliper".to_owned(),
        on: None,
        place: Place::default(),
    };
    let log = Log {
        measured: vec![measured],
        ..Log::default()
    };
    let (found, _) = dial_in(&model, &log).unwrap();
    let fit = found.fit.unwrap();
    let told = fit
        .dimensions
        .iter()
        .find(|t| t.dimension == d.name)
        .unwrap();
    // Two independent pieces of knowledge weigh by their certainty: ± 0.1 (two thirds of 0.15) about nothing, ± 0.02 about 0.1.
    let (p, m) = (1.0 / 0.01, 1.0 / 0.0004);
    assert!((told.fitted - told.drawn - 0.1 * m / (p + m)).abs() < 1e-9);
    assert!((told.after - (1.0_f64 / (p + m)).sqrt()).abs() < 1e-9);
    assert!(told.measured);
}

#[test]
fn a_distance_between_two_holes_of_the_frame_is_shared_by_both() {
    let model = press();
    let name = "frame: distance stud to pivot";
    let dimension = known(&model).iter().position(|k| k.name == name).unwrap();
    let nominal = 30.0_f64.hypot(150.0);
    let measured = |by: f64| Measured {
        dimension,
        value: nominal + by,
        uncertainty: 0.02,
        with: "caliper".to_owned(),
        on: None,
        place: Place::default(),
    };
    let log = Log {
        measured: vec![measured(0.05)],
        ..Log::default()
    };
    let (found, _) = dial_in(&model, &log).unwrap();
    let fit = found.fit.unwrap();
    let of = |what: &str| {
        let name = format!("frame: {what}");
        fit.dimensions.iter().find(|d| d.dimension == name).unwrap()
    };
    let [x, y] = ["right", "up"]
        .map(|axis| of(&format!("pivot, {axis}")).fitted - of(&format!("stud, {axis}")).fitted);
    // Each coordinate has a deviation of 0.02 mm (a third of ± 0.06), so their distance one of 0.02 √2; the caliper has 0.01.
    let (before, by) = (2.0 * 0.02_f64.powi(2), 0.01_f64.powi(2));
    let expected = 0.05 * before / (before + by);
    assert!(
        (x.hypot(y) - nominal - expected).abs() < 1e-4,
        "{}",
        x.hypot(y) - nominal
    );
    // Half of it comes from either hole, along the line between them.
    let moved = of("pivot, right").off.hypot(of("pivot, up").off);
    assert!((moved - 0.5 * expected).abs() < 1e-4, "{moved}");
    let told = found.findings.iter().any(|f| f.sentence.starts_with(name));
    assert!(told, "{:?}", found.findings);
    // Taken at face value it is there whole, however the holes moved.
    let made = super::measured(&model, &log).unwrap();
    let as_measured = spans::spans(&made);
    let span = as_measured.iter().find(|s| s.name == name).unwrap();
    let length = span.length(&made.mechanism.params);
    assert!((length - nominal - 0.05).abs() < 1e-4, "{length}");
    // A slip of the pen is asked about instead of fitted.
    let log = Log {
        measured: vec![measured(25.0)],
        ..Log::default()
    };
    let (found, _) = dial_in(&model, &log).unwrap();
    assert!(found.fit.is_none());
}

#[test]
fn the_next_best_measurement_is_the_best_when_each_is_tried() {
    let model = press();
    let made = model.made(&errors(&model, 21)).unwrap();
    let first = Taking {
        places: vec![-20.0, -10.0, 0.0],
        ..Taking::plain(0)
    };
    let log = log(vec![first.take(&made, 5)]);
    let (found, built) = dial_in(&model, &log).unwrap();
    let (fit, built) = (found.fit.unwrap(), built.unwrap());
    let best = &fit.next[0];
    let candidates = next::candidates(&built, &log);
    // Each is put to the fit itself, with the values that the fitted machine would show: only the certainty changes.
    let mut tried: Vec<(f64, String, Vec<f64>)> = Vec::new();
    for c in &candidates {
        let mut more = log.clone();
        match c.places {
            Some((reading, _, at)) => {
                let places = at.iter().map(|a| a.to_degrees()).collect();
                let taking = Taking {
                    places,
                    sd: 0.0,
                    ..Taking::plain(reading)
                };
                let mut run = taking.take(&built.model, 1);
                run.uncertainty = 2.0 * c.sd / 2.0_f64.sqrt();
                more.runs.push(run);
            }
            None => {
                let name = c.what.strip_prefix("measure ").unwrap();
                let dimension = known(&model).iter().position(|k| k.name == name).unwrap();
                let params = &built.model.mechanism.params;
                let value = match model.dimensions.get(dimension) {
                    Some(d) => d.sign * params[d.param],
                    None => {
                        let all = spans::spans(&model);
                        all[dimension - model.dimensions.len()].length(params)
                    }
                };
                more.measured.push(Measured {
                    dimension,
                    value,
                    uncertainty: 2.0 * c.sd,
                    with: String::new(),
                    on: None,
                    place: Place::default(),
                });
            }
        }
        // One in seven is enough to be sure, and those that matter.
        if !tried.len().is_multiple_of(7) && !fit.next.iter().any(|n| n.what == c.what) {
            tried.push((0.0, c.what.clone(), Vec::new()));
            continue;
        }
        let (then, _) = dial_in(&model, &more).unwrap();
        let then = then.fit.unwrap();
        let weighed = fit
            .asks
            .iter()
            .map(|a| next::weight(a.after.unwrap() / 2.0, a.margin.unwrap()));
        let weighed: Vec<f64> = weighed.collect();
        let shares = fit.asks.iter().zip(&then.asks).zip(&weighed);
        let gain: f64 = shares
            .map(|((a, b), w)| w * (1.0 - (b.after.unwrap() / a.after.unwrap()).powi(2)))
            .sum::<f64>()
            / weighed.iter().sum::<f64>();
        let after = then.asks.iter().map(|a| a.after.unwrap()).collect();
        tried.push((gain, c.what.clone(), after));
    }
    let most = tried.iter().map(|t| t.0).fold(0.0, f64::max);
    let told = tried.iter().find(|t| t.1 == best.what).unwrap();
    assert!(
        (told.0 - best.gain).abs() < 2e-3,
        "foretold {}, found {}",
        best.gain,
        told.0
    );
    assert!(told.0 >= most - 2e-3, "{} against {most}", told.0);
    for (narrowed, after) in best.asks.iter().zip(&told.2) {
        assert!(
            (narrowed.then - after).abs() < 0.01 * narrowed.now,
            "{narrowed:?} {after}"
        );
    }
}

#[test]
fn what_only_acts_together_is_told_together() {
    let model = press();
    let made = model.made(&errors(&model, 31)).unwrap();
    // At one narrow stretch, all that moves the gap does so alike.
    let run = Taking {
        zero: Zero::True,
        places: vec![0.0, 1.0, 2.0],
        ..Taking::plain(0)
    }
    .take(&made, 3);
    let (found, _) = dial_in(&model, &log(vec![run])).unwrap();
    let fit = found.fit.unwrap();
    assert!(
        fit.together.iter().any(|t| t.dimensions.len() > 1),
        "{:?}",
        fit.together
    );
    assert!(fit.together[0].told_apart_by.is_some());
}

/// Asks of the press that its errors miss: the gap at one place within a few hundredths.
pub(super) fn tight(between: &str) -> Model {
    let text = PRESS.replace(r#"between = ["3 mm", "6 mm"]"#, between);
    assemble(&machine::read_text("press.toml", &text).machine.unwrap())
}

pub(super) fn gap_at(model: &Model, degrees: f64) -> f64 {
    let mut bench = Bench::new(model);
    let mut stand = model.drawn();
    stand.drives[0] = degrees.to_radians();
    let here = bench.bring(&stand).unwrap();
    bench.value(0, &here).unwrap()
}
