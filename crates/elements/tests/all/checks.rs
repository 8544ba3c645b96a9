//! The elements against published values.

mod asks;
use serde_json::Value;
use std::collections::BTreeMap;

/// What a case gives.
pub(crate) struct Given<'a>(&'a Value);

impl Given<'_> {
    fn number(&self, name: &str) -> f64 {
        self.0[name]
            .as_f64()
            .unwrap_or_else(|| panic!("no number {name} in {}", self.0))
    }

    fn number_or(&self, name: &str, other: f64) -> f64 {
        self.0[name].as_f64().unwrap_or(other)
    }

    fn word(&self, name: &str) -> &str {
        self.0[name]
            .as_str()
            .unwrap_or_else(|| panic!("no word {name} in {}", self.0))
    }

    fn count(&self, name: &str) -> u32 {
        self.0[name]
            .as_u64()
            .and_then(|n| u32::try_from(n).ok())
            .unwrap_or_else(|| panic!("no count {name} in {}", self.0))
    }

    fn list(&self, name: &str) -> Vec<f64> {
        let list = self.0[name].as_array().expect("a list");
        list.iter().map(|v| v.as_f64().expect("a number")).collect()
    }
}

/// What comes out: one number, a range, or numbers by name. A yes is 1.
pub(crate) enum Answer {
    One(f64),
    Range(f64, f64),
    Named(BTreeMap<String, f64>),
}

/// Numbers by name.
pub(crate) fn named<const N: usize>(values: [(&str, f64); N]) -> Answer {
    Answer::Named(values.map(|(name, v)| (name.to_owned(), v)).into())
}

fn word<'a>(case: &'a Value, pointer: &str) -> &'a str {
    case.pointer(pointer)
        .and_then(Value::as_str)
        .unwrap_or_default()
}

fn within(case: &Value, got: f64, expected: f64) -> bool {
    let tol = case["tol"]["value"].as_f64().expect("a tolerance");
    let miss = (got - expected).abs();
    match word(case, "/tol/kind") {
        // Figures of a table are the same but for the last bits that a change of unit leaves.
        "exact" => miss <= 1e-9 * expected.abs().max(1e-3),
        "abs" => miss <= tol,
        "rel" => miss <= tol * expected.abs(),
        other => panic!("tolerance {other}"),
    }
}

fn value(v: &Value) -> f64 {
    v.as_bool().map_or_else(
        || v.as_f64().expect("a number"),
        |yes| f64::from(u8::from(yes)),
    )
}

/// `Err` says what was expected and what came.
fn judge(case: &Value, answer: &Answer) -> Result<(), String> {
    let expected = &case["expected"];
    let miss = |name: &str, got: f64, want: &Value| Err(format!("{name} {got}, expected {want}"));
    match (answer, expected) {
        (Answer::One(got), Value::Array(range)) => {
            let [low, high] = range.as_slice() else {
                return Err("a range has two ends".to_owned());
            };
            if value(low) <= *got && *got <= value(high) {
                Ok(())
            } else {
                miss("value", *got, expected)
            }
        }
        (Answer::Range(a, b), Value::Array(range)) => {
            let [low, high] = range.as_slice() else {
                return Err("a range has two ends".to_owned());
            };
            let (low, high) = (value(low) * (1.0 - 1e-9), value(high) * (1.0 + 1e-9));
            if low <= *a && a <= b && *b <= high {
                Ok(())
            } else {
                miss("range to", *b, expected)
            }
        }
        (Answer::One(got), Value::Number(_)) => {
            if within(case, *got, value(expected)) {
                Ok(())
            } else {
                miss("value", *got, expected)
            }
        }
        (Answer::Named(got), Value::Object(wanted)) => {
            if wanted.is_empty() {
                return Err("nothing is expected".to_owned());
            }
            for (name, want) in wanted {
                let Some(got) = got.get(name) else {
                    return Err(format!("no answer {name}"));
                };
                if !within(case, *got, value(want)) {
                    return miss(name, *got, want);
                }
            }
            Ok(())
        }
        _ => Err(format!("an answer of another kind than {expected}")),
    }
}

#[test]
fn published_values() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../checks/elements.json");
    let text = std::fs::read_to_string(path).expect("the check cases are there");
    let cases: Vec<Value> = serde_json::from_str(&text).expect("the check cases are a list");
    let mut missed = Vec::new();
    let mut ids = std::collections::BTreeSet::new();
    for case in &cases {
        for key in ["/id", "/topic", "/source", "/confidence", "/inputs/ask"] {
            assert!(!word(case, key).is_empty(), "{case} has no {key}");
        }
        assert!(ids.insert(word(case, "/id")), "{} twice", word(case, "/id"));
        let answer = asks::answer(word(case, "/inputs/ask"), &Given(&case["inputs"]));
        let verdict = answer
            .map_err(|error| error.to_string())
            .and_then(|answer| judge(case, &answer));
        if let Err(why) = verdict {
            missed.push(format!("{}: {why}", word(case, "/id")));
        }
    }
    println!(
        "outside cases: {}, agree: {}",
        cases.len(),
        cases.len() - missed.len()
    );
    assert!(missed.is_empty(), "missed:\n{}", missed.join("\n"));
    assert!(cases.len() >= 450);
}
