//! The units, drills and threads against published values.

use quantity::{Kind, Thread, Unit, parse, thread};
use serde_json::Value;

fn cases() -> Vec<Value> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../checks/quantity.json");
    let text = std::fs::read_to_string(path).expect("the check cases are there");
    serde_json::from_str(&text).expect("the check cases are a list")
}

fn word<'a>(case: &'a Value, pointer: &str) -> &'a str {
    case.pointer(pointer)
        .and_then(Value::as_str)
        .unwrap_or_default()
}

fn within(case: &Value, got: f64, expected: f64) -> bool {
    let tol = case["tol"]["value"].as_f64().expect("a tolerance");
    match word(case, "/tol/kind") {
        "exact" => got == expected,
        "abs" => (got - expected).abs() <= tol,
        "rel" => (got - expected).abs() <= tol * expected.abs(),
        other => panic!("tolerance {other}"),
    }
}

fn text_agrees(case: &Value) -> bool {
    let kind = Kind::ALL
        .into_iter()
        .find(|k| k.noun() == word(case, "/inputs/kind"))
        .expect("a kind");
    let unit = Unit::spelt(kind, word(case, "/unit")).expect("a unit");
    let written = parse(word(case, "/inputs/text"), kind, kind.inside()).expect("a quantity");
    within(
        case,
        unit.from_inside(written.value),
        case["expected"].as_f64().expect("a number"),
    )
}

/// Dimensions of the basic profile common to ISO 68-1 and ASME B1.1: the thread is 0.541266 P deep in the nut, and
/// the pitch line lies 0.324760 P below the crest.
fn dimension(thread: &Thread, name: &str) -> f64 {
    match name {
        "major" => thread.major,
        "pitch" => thread.pitch,
        "pitch_diameter" => thread.major - 2.0 * 0.324_759_5 * thread.pitch,
        "minor_internal" => thread.major - 2.0 * 0.541_265_9 * thread.pitch,
        other => panic!("dimension {other}"),
    }
}

fn thread_agrees(case: &Value) -> bool {
    let unit = Unit::spelt(Kind::Length, word(case, "/unit")).expect("a unit");
    let thread = thread::parse(word(case, "/inputs/thread")).expect("a thread");
    let expected = case["expected"].as_object().expect("dimensions");
    assert!(!expected.is_empty());
    expected.iter().all(|(name, value)| {
        let got = unit.from_inside(dimension(&thread, name));
        within(case, got, value.as_f64().expect("a number"))
    })
}

#[test]
fn published_values() {
    let cases = cases();
    let mut missed = Vec::new();
    for case in &cases {
        for key in ["/id", "/topic", "/source", "/confidence"] {
            assert!(!word(case, key).is_empty(), "{case} has no {key}");
        }
        let thread = case.pointer("/inputs/thread").is_some();
        if !(if thread {
            thread_agrees(case)
        } else {
            text_agrees(case)
        }) {
            missed.push(word(case, "/id"));
        }
    }
    println!(
        "{} of {} published values agree",
        cases.len() - missed.len(),
        cases.len()
    );
    assert!(missed.is_empty(), "missed: {missed:?}");
    assert!(cases.len() >= 60);
}
