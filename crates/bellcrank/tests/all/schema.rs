//! The committed schema is the one the program prints, and what the program prints keeps to it.

use crate::common;
use crate::common::{Bench, committed};
use serde_json::Value;

#[test]
fn committed_schema_is_up_to_date() {
    let ran = Bench::empty().run(&["schema"]);
    assert_eq!(ran.code, Some(0));
    committed("docs/schema/answers.json", &ran.out);
}

#[test]
fn answers_keep_to_the_schema() {
    let schema: Value = serde_json::from_str(&Bench::empty().run(&["schema"]).out).unwrap();
    for kind in ["lever", "crank"] {
        let bench = Bench::empty();
        let (code, new) = bench.json(&["new", "--json", "--kind", kind]);
        assert_eq!(code, Some(0));
        keeps(&schema, &new);
        for args in [
            &["check", "machine.toml", "--json"][..],
            &["check", "machine.toml", "--assemblies", "--json"],
            &["motion", "machine.toml", "--json"],
            &[
                "motion",
                "machine.toml",
                "--format",
                "json",
                "--plot",
                "curves.svg",
            ],
            &["draw", "machine.toml", "-o", "machine.svg", "--json"],
            &["sensitivity", "machine.toml", "--json"],
        ] {
            let (code, answer) = bench.json(args);
            assert_eq!(code, Some(0), "{args:?}: {answer}");
            assert_eq!(answer["command"], args[0]);
            assert_eq!(answer["version"], 1);
            keeps(&schema, &answer);
        }
    }
}

#[test]
fn loads_and_spreads_keep_to_the_schema() {
    let schema: Value = serde_json::from_str(&Bench::empty().run(&["schema"]).out).unwrap();
    let machine = common::project("examples/strap-embosser/machine.toml");
    let machine = machine.to_str().unwrap();
    for args in [
        &[
            "load", machine, "--json", "--step", "35 deg", "--plot", "load.svg",
        ][..],
        &[
            "load", machine, "--json", "--drive", "crank", "--step", "60 deg",
        ],
        &["spread", machine, "--json", "--machines", "500"],
        &["dial-in", machine, "--json", "--plot", "fit.svg"],
        &[
            "dial-in",
            machine,
            "--json",
            "--scale",
            "--radius",
            "90mm",
            "-o",
            "scale.dxf",
        ],
        &["parts", machine, "--json"],
        &["cycle", machine, "--json", "--speed", "60 rpm"],
        &[
            "cycle", machine, "--json", "--map", "map.csv", "--grid", "9,5",
        ],
        &["check", machine, "--json"],
        &["motion", machine, "--json", "--drive", "set"],
    ] {
        let (_, answer) = Bench::empty().json(args);
        assert_eq!(answer["command"], args[0], "{answer}");
        keeps(&schema, &answer);
    }
}

#[test]
fn errors_keep_to_the_schema() {
    let schema: Value = serde_json::from_str(&Bench::empty().run(&["schema"]).out).unwrap();
    let bench = Bench::with("lever");
    bench.write("bad.toml", "name = \"bad\"\n[point]\na = [0, 0\n");
    for (args, exit) in [
        (&["check", "bad.toml", "--json"][..], 3),
        (&["check", "none.toml", "--json"], 4),
        (&["motion", "machine.toml", "--drive", "sett", "--json"], 2),
        (
            &[
                "motion",
                "machine.toml",
                "--format",
                "json",
                "--from",
                "5 N",
            ],
            2,
        ),
        (&["draw", "machine.toml", "--json"], 2),
        (&["new", "--json"], 4),
        (&["polish", "--json"], 2),
    ] {
        let (code, answer) = bench.json(args);
        assert_eq!(code, Some(exit), "{args:?}: {answer}");
        assert_eq!(answer["exit"], exit);
        assert_eq!(answer["version"], 1);
        assert!(
            answer["errors"][0]["message"]
                .as_str()
                .is_some_and(|m| !m.is_empty()),
            "{answer}"
        );
        keeps(&schema, &answer);
    }
    let (_, answer) = bench.json(&["check", "bad.toml", "--json"]);
    let place = &answer["errors"][0]["places"][0];
    assert_eq!(place["file"], "bad.toml");
    assert_eq!(place["line"], 3);
    assert!(place["column"].is_u64());
}

/// Panics where `value` does not keep to `schema`. Knows the words that the committed schema uses, and no others.
fn keeps(schema: &Value, value: &Value) {
    if let Err(why) = kept(schema, schema, value) {
        panic!("{why}\n{value:#}");
    }
}

fn kept(root: &Value, schema: &Value, value: &Value) -> Result<(), String> {
    let Some(words) = schema.as_object() else {
        return match schema {
            Value::Bool(false) => Err("nothing is allowed here".into()),
            _ => Ok(()),
        };
    };
    for (word, rule) in words {
        match word.as_str() {
            "$ref" => {
                let pointer = rule.as_str().unwrap().trim_start_matches('#');
                let target = root
                    .pointer(pointer)
                    .ok_or(format!("no {rule} in the schema"))?;
                kept(root, target, value)?;
            }
            "type" => {
                let one = [rule.clone()];
                let names = rule.as_array().map_or(&one[..], Vec::as_slice);
                if !names.iter().any(|name| is(name.as_str().unwrap(), value)) {
                    return Err(format!("{value} is not {rule}"));
                }
            }
            "const" if rule != value => return Err(format!("{value} is not {rule}")),
            "enum" if !rule.as_array().unwrap().contains(value) => {
                return Err(format!("{value} is none of {rule}"));
            }
            "required" => {
                for name in rule.as_array().unwrap() {
                    if value.get(name.as_str().unwrap()).is_none() {
                        return Err(format!("{name} is missing"));
                    }
                }
            }
            "properties" => {
                for (name, rule) in rule.as_object().unwrap() {
                    if let Some(value) = value.get(name) {
                        kept(root, rule, value).map_err(|why| format!("{name}: {why}"))?;
                    }
                }
            }
            "items" => {
                for (index, item) in value.as_array().into_iter().flatten().enumerate() {
                    kept(root, rule, item).map_err(|why| format!("[{index}]: {why}"))?;
                }
            }
            "anyOf" | "oneOf" => {
                let tried: Vec<_> = rule
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|s| kept(root, s, value))
                    .collect();
                let good = tried.iter().filter(|t| t.is_ok()).count();
                if good == 0 || (word == "oneOf" && good > 1) {
                    return Err(format!("{good} of {word} fit: {tried:?}"));
                }
            }
            "minimum" => {
                if value.as_f64().is_some_and(|x| x < rule.as_f64().unwrap()) {
                    return Err(format!("{value} is less than {rule}"));
                }
            }
            "maximum" => {
                if value.as_f64().is_some_and(|x| x > rule.as_f64().unwrap()) {
                    return Err(format!("{value} is more than {rule}"));
                }
            }
            "minItems" => {
                if value
                    .as_array()
                    .is_some_and(|a| (a.len() as u64) < rule.as_u64().unwrap())
                {
                    return Err(format!("fewer than {rule}"));
                }
            }
            "maxItems" => {
                if value
                    .as_array()
                    .is_some_and(|a| (a.len() as u64) > rule.as_u64().unwrap())
                {
                    return Err(format!("more than {rule}"));
                }
            }
            "$schema" | "title" | "description" | "$defs" | "format" | "const" | "enum" => {}
            other => panic!("the test does not know the word {other}"),
        }
    }
    Ok(())
}

fn is(name: &str, value: &Value) -> bool {
    match name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_i64() || value.is_u64(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        other => panic!("the test does not know the type {other}"),
    }
}
