//! What the examples say.

use crate::common::{Bench, project};

const EXAMPLES: [&str; 4] = ["strap-embosser", "treadle", "rolling-mill", "power-hacksaw"];

/// A fresh folder with a copy of an example.
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
fn examples_keep_their_asks() {
    for name in EXAMPLES {
        let ran = example(name).run(&["check", "machine.toml"]);
        assert_eq!(
            (ran.code, ran.err.as_str()),
            (Some(0), ""),
            "{name}: {}",
            ran.out
        );
        insta::assert_snapshot!(format!("check_{name}"), ran.out);
    }
}

/// Nothing of an example is too weak, no two parts of it run into one another, and all of it can be made.
#[test]
fn examples_bear_their_loads_and_stay_clear() {
    for name in EXAMPLES {
        let mut machines = vec!["machine.toml"];
        if name == "strap-embosser" {
            machines.push("powered.toml");
        }
        let bench = example(name);
        for machine in machines {
            for args in [
                vec!["parts", machine],
                vec!["cycle", machine, "--clearance"],
                vec!["packet", machine, "--out", "papers"],
            ] {
                let ran = bench.run(&args);
                assert_eq!(
                    (ran.code, ran.err.as_str()),
                    (Some(0), ""),
                    "{name} {args:?}: {}",
                    ran.out
                );
            }
        }
    }
}

#[test]
fn examples_move() {
    for name in EXAMPLES {
        let ran = example(name).run(&["motion", "machine.toml"]);
        assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""), "{name}");
        assert!(
            ran.out.lines().all(|line| line.chars().count() <= 80),
            "{}",
            ran.out
        );
        insta::assert_snapshot!(format!("motion_{name}"), ran.out);
    }
    let ran = example("strap-embosser").run(&["motion", "machine.toml", "--drive", "set"]);
    assert_eq!(ran.code, Some(0));
    insta::assert_snapshot!(ran.out);
}

#[test]
fn examples_are_drawn_and_explained() {
    for name in EXAMPLES {
        let bench = example(name);
        for args in [
            &["draw", "machine.toml", "-o", "machine.svg"][..],
            &["motion", "machine.toml", "--plot", "curves.svg"],
            &["sensitivity", "machine.toml"],
            &["check", "machine.toml", "--assemblies"],
        ] {
            let ran = bench.run(args);
            assert_eq!(
                (ran.code, ran.err.as_str()),
                (Some(0), ""),
                "{name} {args:?}"
            );
        }
        assert_eq!(
            bench
                .names()
                .iter()
                .filter(|name| name.contains(".svg"))
                .count(),
            2
        );
    }
}

#[test]
fn a_verdict_stands_before_its_own_ask() {
    let bench = example("strap-embosser");
    let file = std::fs::read_to_string(bench.path("machine.toml")).unwrap();
    // Asks whose places are too long for a line, kept and missed by turns.
    let mut asks = String::new();
    for (n, most) in [1000.0, 0.001, 1000.0, 0.001].iter().enumerate() {
        asks += &format!(
            "\n[ask.zz{n}-strap]\nreading = \"gap\"\nwhen = {{ crank = \"181.25 deg\", set = \"33.125 deg\" }}\nat-most = \"{most} mm\"\n"
        );
    }
    bench.write("machine.toml", &(file + &asks));
    let ran = bench.run(&["check", "machine.toml"]);
    assert_eq!(ran.code, Some(1), "{}", ran.err);
    let (_, answer) = bench.json(&["check", "machine.toml", "--json"]);
    let judged = answer["answer"]["asks"].as_array().unwrap();
    assert!(judged.len() > 7, "{answer}");
    for ask in judged {
        let name = ask["ask"].as_str().unwrap();
        let line = ran
            .out
            .lines()
            .find(|l| l.split_whitespace().nth(1) == Some(name))
            .unwrap_or_else(|| panic!("{name}: {}", ran.out));
        let word = if ask["kept"] == true {
            "kept "
        } else {
            "MISSED "
        };
        assert!(line.starts_with(word), "{line}\n{}", ran.out);
    }
    assert!(
        ran.out
            .lines()
            .any(|l| l.trim_start().starts_with("set 33.12")),
        "no place went on below: {}",
        ran.out
    );
}
