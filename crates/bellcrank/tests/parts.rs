//! Parts, as a person asks for them.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod common;

use common::{Bench, project};

/// An example in a folder of its own, with its shop.
fn example(name: &str) -> Bench {
    let bench = Bench::empty();
    for file in std::fs::read_dir(project("examples").join(name)).unwrap() {
        let file = file.unwrap();
        if file.path().extension().is_some_and(|end| end == "toml") {
            std::fs::copy(file.path(), bench.path(file.file_name().to_str().unwrap())).unwrap();
        }
    }
    bench
}

#[test]
fn parts_of_the_examples_bear_their_loads() {
    for name in ["strap-embosser", "treadle", "rolling-mill"] {
        let ran = example(name).run(&["parts", "machine.toml"]);
        assert_eq!(
            (ran.code, ran.err.as_str()),
            (Some(0), ""),
            "{name}\n{}",
            ran.out
        );
        for line in ran.out.lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
        insta::assert_snapshot!(format!("parts_{name}"), ran.out);
    }
}

#[test]
fn a_part_that_fails_is_told_with_what_would_do() {
    let bench = example("rolling-mill");
    bench.change("force    = \"1.5 kN\"", "force    = \"200 kN\"");
    let ran = bench.run(&["parts", "machine.toml"]);
    assert_eq!(ran.code, Some(1), "{}", ran.out);
    assert!(
        ran.out.contains("MISSED") && ran.out.contains("would do here"),
        "{}",
        ran.out
    );
    let ran = bench.run(&["check", "machine.toml"]);
    assert_eq!(ran.code, Some(1));
    assert!(
        ran.out.contains("rod end M6 with tapped shank"),
        "{}",
        ran.out
    );
}

#[test]
fn a_spreadsheet_has_every_check() {
    let bench = example("strap-embosser");
    let ran = bench.run(&["parts", "machine.toml", "--format", "csv"]);
    let (_, answer) = bench.json(&["parts", "machine.toml", "--json"]);
    let items = answer["answer"]["items"].as_array().unwrap();
    let checks: usize = items
        .iter()
        .map(|i| i["checks"].as_array().unwrap().len())
        .sum();
    assert_eq!(ran.out.lines().count(), checks + 1);
    for check in items.iter().flat_map(|i| i["checks"].as_array().unwrap()) {
        assert!(
            !check["source"].as_str().unwrap().is_empty()
                && check["wanted"].as_f64().unwrap() >= 1.0
        );
    }
}

#[test]
fn every_element_says_what_would_do_when_asked() {
    let bench = example("treadle");
    let asked = bench.run(&["parts", "machine.toml", "--would-do"]);
    let (_, answer) = bench.json(&["parts", "machine.toml", "--json"]);
    let items = answer["answer"]["items"].as_array().unwrap();
    let known = items.iter().filter(|i| i["would_do"].is_object()).count();
    let told = asked.out.matches("would do here").count();
    assert!(known > 0 && told == known, "{told} of {known}");
}

#[test]
fn inches_are_spoken_throughout() {
    let ran = example("strap-embosser").run(&["parts", "machine.toml", "--unit", "in"]);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    assert!(
        ran.out.contains("lbf of") && ran.out.contains("psi of"),
        "{}",
        ran.out
    );
    assert!(!ran.out.contains(" MPa of"), "{}", ran.out);
}

#[test]
fn a_shop_file_is_begun() {
    let bench = Bench::empty();
    let ran = bench.run(&["new", "--shop"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert!(ran.out.contains("shop = \"shop.toml\""));
    assert!(bench.read("shop.toml").contains("[vise.bench]"));
    // It is left alone when it is there, and it reads.
    assert_ne!(bench.run(&["new", "--shop"]).code, Some(0));
    assert_eq!(bench.run(&["new"]).code, Some(0));
    let text = format!("shop = \"shop.toml\"\n{}", bench.read("machine.toml"));
    bench.write("machine.toml", text);
    assert_eq!(bench.run(&["check", "machine.toml"]).code, Some(0));
}
