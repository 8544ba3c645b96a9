//! Whatever is written, reading ends with a machine or with problems that can be shown.

use crate::laws;
use crate::mutate;

#[test]
fn texts_with_slips_are_read_soundly() {
    let texts = mutate::texts();
    assert!(texts.len() > 20);
    for seed in 0..mutate::count(2000) {
        let text = mutate::mutated(&texts, &mut mutate::Dice::new(seed));
        let read = std::panic::catch_unwind(|| laws::sound(&machine::read_text("m.toml", &text)));
        assert!(read.is_ok(), "seed {seed}:\n{text}");
    }
}

/// A log with slips, and a table filled in with slips, of a machine that is whole.
#[test]
fn logs_with_slips_are_read_soundly() {
    let example = |name: &str| {
        let path = format!(
            "{}/../../examples/strap-embosser/{name}",
            env!("CARGO_MANIFEST_DIR")
        );
        std::fs::read_to_string(path).expect("the example")
    };
    let read = machine::read_text("m.toml", &example("machine.toml"));
    let machine = read.machine.expect("a machine");
    let known = [machine::logbook::Known {
        name: "bell-crank: centre distance bell-pivot to bell-rear".to_owned(),
        kind: quantity::Kind::Length,
    }];
    let logs = [example("machine.log.toml")];
    let tables = ["set (deg),least-gap up (mm),least-gap down (mm)\n0,1.204,1.231\n5,1.081,1.109\n# after lunch\n10,0.96,\n15,1/2,0.9\n".to_owned()];
    let extra = [("uncertainty", "\"0.01 mm\"".to_owned())];
    let mut sound = [0, 0];
    for seed in 0..mutate::count(2000) {
        let mut dice = mutate::Dice::new(seed);
        let (log, table) = (
            mutate::mutated(&logs, &mut dice),
            mutate::mutated(&tables, &mut dice),
        );
        let read = std::panic::catch_unwind(|| {
            let read_log = |text: &str| {
                let log =
                    machine::logbook::read("m.log.toml", text, &machine, &known, &read.sources);
                // Either a log or something to say, and what is said can be shown.
                let said = machine::render_all(&log.problems, &log.sources, false);
                assert!(log.log.is_some() || !said.is_empty());
                log.log.is_some()
            };
            let as_log = read_log(&log);
            match machine::logbook::from_csv("t.csv", &table, &machine, &extra) {
                // What a table is turned into is a log.
                Ok(entry) => (as_log, read_log(&entry.text)),
                Err((sources, problems)) => {
                    assert!(!machine::render_all(&problems, &sources, false).is_empty());
                    (as_log, false)
                }
            }
        });
        let Ok((log_is, table_is)) = read else {
            panic!("seed {seed}:\n{log}\n{table}");
        };
        sound[0] += u32::from(log_is);
        sound[1] += u32::from(table_is);
    }
    // Some slips leave a log; most do not.
    assert!(sound.iter().all(|n| *n > 20), "{sound:?}");
}
