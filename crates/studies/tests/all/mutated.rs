//! Whatever machine can be read, every question about its motion gets an answer or a refusal, and nothing that is no number.

#[path = "../../../machine/tests/all/mutate/mod.rs"]
mod mutate;

fn ask(text: &str) {
    let Some(machine) = machine::read_text("m.toml", text).machine else {
        return;
    };
    let model = studies::assemble(&machine);
    let check = studies::check(&model);
    for finding in &check.findings {
        assert!(!finding.sentence.contains("NaN"), "{}", finding.sentence);
    }
    let parts = studies::parts::parts(&model);
    for finding in &parts.findings {
        assert!(!finding.sentence.contains("NaN"), "{}", finding.sentence);
    }
    for check in parts.items.iter().flat_map(|i| &i.checks) {
        assert!(
            check.acts.is_finite() && !check.shown.contains("NaN"),
            "{check:?}"
        );
    }
    for figure in parts.items.iter().flat_map(|i| &i.figures) {
        assert!(
            !figure.sentence.contains("NaN") && !figure.value.is_nan(),
            "{figure:?}"
        );
    }
    let stand = model.drawn();
    for (drive, d) in machine.drives.iter().enumerate() {
        let sweep = studies::Sweep {
            drive,
            from: None,
            to: None,
            step: d.range.map(|[a, b]| ((b - a).abs() / 7.0).max(1e-6)),
            readings: Vec::new(),
        };
        if let Ok(motion) = studies::motion(&model, &stand, &sweep) {
            for row in &motion.rows {
                for cell in &row.cells {
                    let numbers = [cell.value, cell.rate, cell.taken_at];
                    assert!(
                        numbers.into_iter().flatten().all(f64::is_finite),
                        "{cell:?}"
                    );
                }
            }
        }
    }
    let _ = studies::sensitivity(&model, &stand, &[]);
    let _ = studies::assemblies(&model, &stand);
}

#[test]
fn machines_with_slips_are_answered() {
    let texts = mutate::texts();
    for seed in 0..mutate::count(150) {
        let text = mutate::mutated(&texts, &mut mutate::Dice::new(seed));
        let answered = std::panic::catch_unwind(|| ask(&text));
        assert!(answered.is_ok(), "seed {seed}:\n{text}");
    }
}
