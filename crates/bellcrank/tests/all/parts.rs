//! Parts, as a person asks for them.

use crate::common::{Bench, project};

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
    bench.change("force    = \"1.2 kN\"", "force    = \"12 kN\"");
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
        ran.out.contains("pin 8 mm h6, at left-arm-pin"),
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

/// A lever on a stud with a return spring; what is fitted is put in.
const LEVER: &str = r#"name = "Lever"
[point]
pivot = [0, 0]
tip   = [300, 0]
seat  = [300, -30]
[frame]
carries = ["pivot", "seat"]
stock = { flat = ["10 mm", "60 mm"], material = "S355J2 to 16 mm" }
[part.lever]
carries = ["pivot", "tip"]
stock = { flat = ["8 mm", "25 mm"], material = "1018 cold drawn" }
hole.pivot = { ream = "12 H7" }
[drive.set]
turns = "lever"
range = ["0 deg", "10 deg"]
[load.work]
at = "tip"
force = "100 N"
along = "down"
[joint.pivot]
diameter = "12 h6"
[spring.back]
between = ["tip", "seat"]
free = "40 mm"
pushes-only = true
coil = { wire = "2 mm", outside = "16 mm", coils = 8, material = "EN 10270-1 SM", pocket = "18 mm" }
"#;

/// What cannot be, each with one clear fault: what is changed, what it says, and what to change.
const CANNOT: [(&str, &str, &str, &str); 8] = [
    (
        "{ ream = \"12 H7\" }",
        "{ bearing = \"6001\", hub = \"press\" }",
        "it is 28 mm across and lever is 25 mm wide there: nothing is left round it",
        "a bar of 35 mm, or a boss",
    ),
    (
        "{ ream = \"12 H7\" }",
        "{ bearing = \"608\", hub = \"press\", around = \"40 mm\" }",
        "its bore is 8 mm, the pin there 12 mm",
        "make the pin 8 mm, or take a",
    ),
    (
        "{ ream = \"12 H7\" }",
        "{ bushing = \"cast bronze\", bore = \"12 F7\", outside = \"25 s6\" }",
        "it is as wide as lever, 25 mm: nothing is left round it",
        "or a thinner bushing",
    ),
    (
        "{ ream = \"12 H7\" }",
        "{ tap = \"M12\", depth = \"20 mm\" }",
        "the thread is 20 mm deep and lever only 8 mm thick",
        "tap it through, 8 mm deep, or take thicker stock",
    ),
    (
        "{ ream = \"12 H7\" }",
        "{ ream = \"26 H7\" }",
        "the bar is 25 mm wide there: nothing is left beside the hole",
        "a smaller hole, or a bar or boss of 52 mm",
    ),
    (
        "coils = 8",
        "coils = 16",
        "it goes solid at 32 mm before the stroke ends at",
        "fewer coils, thinner wire, or a seat",
    ),
    (
        "pocket = \"18 mm\"",
        "pocket = \"15 mm\"",
        "its pocket is too tight by",
        "leave a tenth of the coil's diameter",
    ),
    (
        "coils = 8",
        "coils = 1.5",
        "the active coils is -0.5; it must be above 0",
        "bring the active coils above 0",
    ),
];

#[test]
fn what_cannot_be_is_one_fault_with_what_to_change() {
    let bench = Bench::empty();
    bench.write("machine.toml", LEVER);
    let good = bench.run(&["parts", "machine.toml"]);
    assert!(!good.out.contains("FAULT"), "{}", good.out);
    for (from, to, says, tries) in CANNOT {
        assert!(LEVER.contains(from));
        bench.write("machine.toml", LEVER.replace(from, to));
        let ran = bench.run(&["parts", "machine.toml"]);
        assert_eq!(ran.code, Some(1), "{to}\n{}", ran.out);
        let flat = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(says), "{to}: {says}\n{}", ran.out);
        assert!(flat.contains(tries), "{to}: {tries}\n{}", ran.out);
        // The line of the file stands beside it.
        assert!(ran.out.contains("machine.toml:"), "{}", ran.out);
        assert_eq!(flat.matches("FAULT").count(), 1, "{to}\n{}", ran.out);
        // `check` tells it too.
        let checked = bench.run(&["check", "machine.toml"]);
        assert!(
            checked
                .out
                .split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
                .contains(says),
            "{}",
            checked.out
        );
    }
}
