//! Logs that read soundly but say wild things: an answer or a refusal, never a panic or a number that is none.

use std::panic::{AssertUnwindSafe, catch_unwind};

/// Linear congruential (Knuth, MMIX): good enough to choose digits.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % n.max(1)
    }
}

/// The log with some of its digits, points and signs changed.
fn slipped(text: &str, dice: &mut Dice) -> String {
    let mut bytes = text.as_bytes().to_vec();
    // Those of readings, not of dates.
    let mut digits = Vec::new();
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        if line.trim_start().starts_with('[') && line.contains("mm\"") {
            let values = at + line.find(',').unwrap_or(0);
            digits.extend((values..at + line.len()).filter(|&i| bytes[i].is_ascii_digit()));
        }
        at += line.len();
    }
    for _ in 0..=dice.below(30) {
        let i = digits[dice.below(digits.len())];
        bytes[i] = b'0' + dice.below(10) as u8;
    }
    let mut text = String::from_utf8(bytes).unwrap();
    for (from, to) in [
        ("0.01 mm", "1e-9 mm"),
        ("0.01 mm", "1e6 mm"),
        ("0.01 mm", "1e-3 in"),
        ("-0.", "0."),
        ("going ", "sense = \"opposite\"\ngoing "),
    ] {
        if dice.below(6) == 0 {
            text = text.replace(from, to);
        }
    }
    text
}

#[test]
fn wild_logs_are_answered_or_refused() {
    let example = |name: &str| {
        let path = format!(
            "{}/../../examples/strap-embosser/{name}",
            env!("CARGO_MANIFEST_DIR")
        );
        std::fs::read_to_string(path).unwrap()
    };
    let read = machine::read_text("m.toml", &example("machine.toml"));
    let model = studies::assemble(&read.machine.unwrap());
    let known = studies::dial::known(&model);
    let log = example("machine.log.toml");
    let (mut tried, mut fitted) = (0, 0);
    for seed in 0..16 {
        let text = slipped(&log, &mut Dice(seed));
        let found =
            machine::logbook::read("m.log.toml", &text, model.machine(), &known, &read.sources);
        let Some(log) = found.log else {
            continue;
        };
        tried += 1;
        let ended = catch_unwind(AssertUnwindSafe(|| {
            let Ok((answer, _)) = studies::dial::dial_in(&model, &log) else {
                return false;
            };
            let Some(fit) = answer.fit else {
                assert!(!answer.findings.is_empty());
                return false;
            };
            for d in &fit.dimensions {
                assert!(
                    d.fitted.is_finite() && d.after.is_finite() && d.after >= 0.0,
                    "{d:?}"
                );
            }
            true
        }));
        let Ok(fit) = ended else {
            panic!("seed {seed}:\n{text}");
        };
        fitted += u32::from(fit);
    }
    assert!(tried > 8 && fitted > 0, "{tried} {fitted}");
}
