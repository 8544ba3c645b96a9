//! What is told to turn, tried on machines whose errors are known.

use super::*;
use crate::dial::answers::Correction;
use machine::equipment::Shop;

#[test]
fn what_is_told_to_turn_keeps_the_asks_on_the_true_machine() {
    for seed in [3, 14, 25] {
        let drawn = gap_at(&press(), 20.0);
        let model = tight(&format!(
            "between = [\"{:.3} mm\", \"{:.3} mm\"]",
            drawn - 0.03,
            drawn + 0.03
        ));
        // A machine that is well off.
        let truth: Vec<(usize, f64)> = errors(&model, seed)
            .iter()
            .map(|e| (e.0, 2.0 * e.1))
            .collect();
        let made = model.made(&truth).unwrap();
        let mut run = Taking {
            zero: Zero::True,
            sd: 0.002,
            ..Taking::plain(0)
        }
        .take(&made, seed);
        run.name = "true values".to_owned();
        let (answer, _) = dial_in(&model, &log(vec![run])).unwrap();
        let correction = answer.fit.unwrap().correction.unwrap();
        if !correction.needed {
            assert!((gap_at(&made, 20.0) - drawn).abs() < 0.03);
            continue;
        }
        let best = correction.best.unwrap();
        assert!(best.turns.len() <= 2, "{}", best.sentence);
        // Turned so on the true machine, the ask is kept, and the value is the one foretold within its band.
        let mut stand = made.drawn();
        for turn in &best.turns {
            let s = made
                .machine
                .settings
                .iter()
                .position(|s| s.name == turn.setting.name)
                .unwrap();
            stand.settings[s] = turn.to;
        }
        let mut bench = Bench::new(&made);
        for (n, ask) in best.asks.iter().enumerate() {
            let at = stand_of_ask(&bench, &model.machine.asks[n], &stand.settings);
            let real = crate::check::asks::weigh(&mut bench, n, &at).unwrap().value;
            let (told, band) = (ask.value.unwrap(), ask.plus_minus.unwrap());
            assert!(
                (real - told).abs() < 1.6 * band,
                "{}: {real} told {told} ± {band}",
                ask.ask
            );
            assert!(
                margin(real, wanted(&model.machine.asks[n])) >= -0.6 * band,
                "{}",
                best.sentence
            );
        }
        assert!(best.sentence.contains("will run from"), "{}", best.sentence);
    }
}

#[test]
fn no_single_step_beats_the_one_that_is_told() {
    let drawn = gap_at(&press(), 20.0);
    let model = tight(&format!(
        "between = [\"{:.3} mm\", \"{:.3} mm\"]",
        drawn - 0.04,
        drawn + 0.04
    ));
    let truth: Vec<(usize, f64)> = errors(&model, 40)
        .iter()
        .map(|e| (e.0, 3.0 * e.1))
        .collect();
    let made = model.made(&truth).unwrap();
    let run = Taking {
        zero: Zero::True,
        sd: 0.002,
        ..Taking::plain(0)
    }
    .take(&made, 41);
    let (answer, built) = dial_in(&model, &log(vec![run])).unwrap();
    let (correction, built) = (answer.fit.unwrap().correction.unwrap(), built.unwrap());
    let best = correction.best.unwrap();
    // Every value of every setting alone, solved.
    let score = |settings: &[f64]| {
        let mut bench = Bench::new(&built.model);
        let (mut sure, mut least) = (0, f64::INFINITY);
        for (n, ask) in built.model.machine.asks.iter().enumerate() {
            let stand = stand_of_ask(&bench, ask, settings);
            let Some(found) = built.ask(&mut bench, n, &stand) else {
                return (0, f64::NEG_INFINITY);
            };
            let ratio = margin(found.verdict.value, wanted(ask)) / (2.0 * found.sd);
            sure += i32::from(ratio >= 1.0);
            least = least.min(ratio.min(2.0));
        }
        (sure, least)
    };
    let mut most = (0, f64::NEG_INFINITY);
    for s in 0..model.machine.settings.len() {
        let step = turns::step(&model, s);
        for value in turns::values(&model, s, built.stand.settings[s], step, 30) {
            let mut settings = built.stand.settings.clone();
            settings[s] = value;
            let found = score(&settings);
            if found > most {
                most = found;
            }
        }
    }
    let mut settings = built.stand.settings.clone();
    for turn in &best.turns {
        let s = model
            .machine
            .settings
            .iter()
            .position(|s| s.name == turn.setting.name)
            .unwrap();
        settings[s] = turn.to;
    }
    let told = score(&settings);
    assert!(told.0 >= most.0, "{told:?} {most:?} {}", best.sentence);
    if best.turns.len() == 1 {
        assert!(
            told.1 >= most.1 - 1e-6,
            "{told:?} {most:?} {}",
            best.sentence
        );
    }
}

#[test]
fn a_setting_at_its_end_is_named() {
    let text = PRESS
        .replace(
            r#"between = ["3 mm", "6 mm"]"#,
            r#"between = ["1.0 mm", "1.2 mm"]"#,
        )
        .replace(
            "step  = \"half turn\"",
            "step  = \"half turn\"\nrange = [\"-1 mm\", \"1 mm\"]",
        )
        .replace(
            "step  = \"0.05 mm\"",
            "step  = \"0.05 mm\"\nrange = [\"0 mm\", \"0.2 mm\"]",
        );
    let model = assemble(&machine::read_text("press.toml", &text).machine.unwrap());
    let run = Taking {
        zero: Zero::True,
        ..Taking::plain(0)
    }
    .take(&model, 50);
    let (answer, _) = dial_in(&model, &log(vec![run])).unwrap();
    let correction = answer.fit.unwrap().correction.unwrap();
    assert!(correction.needed);
    assert!(
        correction
            .at_end
            .iter()
            .any(|e| e.contains("is at its end")),
        "{correction:?}"
    );
}

/// The press with these changes to its text.
fn changed(changes: &[(&str, &str)]) -> machine::Machine {
    let text = changes.iter().fold(PRESS.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replace(from, to)
    });
    let found = machine::read_text("press.toml", &text);
    assert!(
        found.machine.is_some(),
        "{}",
        machine::render_all(&found.problems, &found.sources, false)
    );
    found.machine.unwrap()
}

fn mm(value: f64) -> quantity::Written {
    quantity::number(value, Kind::Length, quantity::Unit::Millimetre).unwrap()
}

/// The correction of a machine that was built as drawn, and read truly.
fn correction(model: &Model) -> Correction {
    let run = Taking {
        zero: Zero::True,
        sd: 0.001,
        places: (-6..=4).map(|i| f64::from(i) * 5.0).collect(),
        ..Taking::plain(0)
    }
    .take(model, 60);
    let (answer, _) = dial_in(model, &log(vec![run])).unwrap();
    answer.fit.unwrap().correction.unwrap()
}

#[test]
fn shims_are_piled_from_what_the_shop_has() {
    let drawn = gap_at(&press(), 20.0);
    // The gap is to be 0.32 to 0.345 mm less: only one pile of these leaves does it.
    let asked = format!(
        "between = [\"{:.4} mm\", \"{:.4} mm\"]",
        drawn - 0.345,
        drawn - 0.320
    );
    let mut machine = changed(&[
        ("between = [\"3 mm\", \"6 mm\"]", &asked),
        ("step  = \"0.05 mm\"\n", ""),
        (
            "[setting.down]\nrod  = \"down\"\nstep = \"half turn\"\n",
            "",
        ),
    ]);
    machine.work.shop = Some(Shop {
        shims: vec![0.08, 0.125, 0.3],
        ..Shop::default()
    });
    let model = assemble(&machine);
    let best = correction(&model).best.unwrap();
    assert_eq!(best.turns.len(), 1);
    assert!((best.turns[0].to - 0.33).abs() < 1e-9, "{}", best.sentence);
    assert!(
        best.sentence.starts_with(
            "Shim bed with 0.33 mm (0.125 mm and 0.125 mm and 0.08 mm) instead of 0 mm"
        ),
        "{}",
        best.sentence
    );
    assert_eq!(best.cost, "1 adjustment, 3 steps");
    let mut stand = model.drawn();
    stand.settings[0] = best.turns[0].to;
    stand.drives[0] = 20_f64.to_radians();
    let mut bench = Bench::new(&model);
    let here = bench.bring(&stand).unwrap();
    let gap = bench.value(0, &here).unwrap();
    assert!((gap - (drawn - 0.33)).abs() < 1e-3, "{gap} {drawn}");
}

/// How far the gap swings with these settings, on the machine as drawn.
fn swing(model: &Model, settings: &[f64]) -> f64 {
    let mut bench = Bench::new(model);
    let n = model
        .machine
        .asks
        .iter()
        .position(|a| a.name == "travel")
        .unwrap();
    let stand = stand_of_ask(&bench, &model.machine.asks[n], settings);
    crate::check::asks::weigh(&mut bench, n, &stand)
        .unwrap()
        .value
}

#[test]
fn the_hole_of_a_row_that_is_told_is_the_one_that_does_it() {
    let row = "[row.low]\non = \"bell\"\nfirst = { from = \"pivot\", reach = 34, angle = \"-10 deg\" }\nstep = { reach = 3, angle = \"-10 deg\" }\ncount = 7\nuse = 3\n[part.lever]";
    let plain = changed(&[
        (
            "low      = { from = \"pivot\", reach = 40, angle = \"-10 deg\" }\n",
            "",
        ),
        (
            "carries = [\"pivot\", \"left\", \"low\"]",
            "carries = [\"pivot\", \"left\"]",
        ),
        ("[part.lever]", row),
        (
            "[setting.down]\nrod  = \"down\"\nstep = \"half turn\"\n",
            "[setting.link]\nrow = \"low\"\n",
        ),
        (
            "[setting.shim]\nshim  = \"bed\"\nalong = \"up\"\nstep  = \"0.05 mm\"\n",
            "",
        ),
        (
            "[ask.close]\nreading = \"gap\"\nwhen    = { set = \"20 deg\" }\nbetween = [\"3 mm\", \"6 mm\"]\n",
            "",
        ),
    ]);
    let model = assemble(&plain);
    let swings: Vec<f64> = (1..=7)
        .map(|hole| swing(&model, &[f64::from(hole)]))
        .collect();
    // Asked for what holes 5 and on give, less a little.
    let mut machine = plain;
    machine.asks[0].at_least = Some(mm(swings[4] - 0.2 * (swings[4] - swings[3])));
    let model = assemble(&machine);
    let found = correction(&model);
    let best = found.best.unwrap();
    assert_eq!(best.turns.len(), 1, "{}", best.sentence);
    let hole = best.turns[0].to;
    assert!(hole >= 5.0, "{} {swings:?}", best.sentence);
    let told = best.asks[0].value.unwrap();
    let true_swing = swings[hole as usize - 1];
    assert!((told - true_swing).abs() < 0.02, "{told} {true_swing}");
    assert!(
        best.sentence
            .starts_with(&format!("Pin link in hole {hole:.0} (now 3)")),
        "{}",
        best.sentence
    );
}

#[test]
fn a_stop_is_put_where_the_travel_is_kept() {
    let stop = "[reading.lever]\nturn-of = \"lever\"\n[stop.end]\nreading = \"lever\"\nat-most = \"25 deg\"\n[setting.end]\nstop = \"end\"\nstep = \"1 deg\"\n[usual]";
    let plain = changed(&[
        ("[usual]", stop),
        (
            "[setting.down]\nrod  = \"down\"\nstep = \"half turn\"\n",
            "",
        ),
        (
            "[setting.shim]\nshim  = \"bed\"\nalong = \"up\"\nstep  = \"0.05 mm\"\n",
            "",
        ),
        (
            "[ask.close]\nreading = \"gap\"\nwhen    = { set = \"20 deg\" }\nbetween = [\"3 mm\", \"6 mm\"]\n",
            "",
        ),
    ]);
    let model = assemble(&plain);
    let at = |degrees: f64| swing(&model, &[degrees.to_radians()]);
    // No more travel than a stop at 18.5 degrees leaves, no less than one at 15.5.
    let mut machine = plain;
    let wanted = [at(15.5), at(18.5)];
    assert!(wanted[0] < wanted[1] && wanted[1] < at(25.0), "{wanted:?}");
    machine.asks[0].at_least = Some(mm(wanted[0]));
    machine.asks[0].at_most = Some(mm(wanted[1]));
    let model = assemble(&machine);
    let found = correction(&model);
    assert!(found.needed);
    let best = found.best.unwrap();
    let place = best.turns[0].to.to_degrees();
    assert!((15.5..=18.5).contains(&place), "{}", best.sentence);
    assert!(
        best.sentence
            .starts_with(&format!("Put the stop end at {place:.0} deg")),
        "{}",
        best.sentence
    );
    let told = best.asks[0].value.unwrap();
    assert!((told - at(place)).abs() < 0.02, "{told} {}", at(place));
}
