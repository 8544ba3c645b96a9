//! Every command on the machines to start from: what a person reads, and how the program ends.

use crate::common;
use crate::common::Bench;

#[test]
fn a_new_machine_works() {
    for kind in ["lever", "crank"] {
        let bench = Bench::empty();
        let ran = bench.run(&["new", "--kind", kind]);
        assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
        assert_eq!(bench.names(), ["machine.toml"]);
        insta::assert_snapshot!(format!("new_{kind}"), ran.out);
        let ran = bench.run(&["check", "machine.toml"]);
        assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""), "{}", ran.out);
        insta::assert_snapshot!(format!("check_{kind}"), ran.out);
    }
}

#[test]
fn what_new_proposes_can_be_typed() {
    for kind in ["lever", "crank"] {
        let bench = Bench::empty();
        let out = bench.run(&["new", "my machine.toml", "--kind", kind]).out;
        let mut typed = 0;
        for line in out.lines() {
            let Some(words) = line.trim().strip_prefix("bellcrank ") else {
                continue;
            };
            let words = words.split("  ").next().unwrap();
            let args: Vec<&str> = words
                .split('"')
                .enumerate()
                .flat_map(|(n, piece)| {
                    if n % 2 == 1 {
                        vec![piece]
                    } else {
                        piece.split_whitespace().collect()
                    }
                })
                .collect();
            let ran = bench.run(&args);
            assert_eq!(ran.code, Some(0), "{args:?}: {}", ran.err);
            typed += 1;
        }
        assert_eq!(typed, 3, "{out}");
    }
}

#[test]
fn a_missed_ask_is_told() {
    let bench = Bench::with("lever");
    bench.change("at-least = \"1.2 mm\"", "at-least = \"1.5 mm\"");
    let ran = bench.run(&["check", "machine.toml"]);
    assert_eq!(ran.code, Some(1), "{}", ran.err);
    insta::assert_snapshot!(ran.out);
    let (code, answer) = bench.json(&["check", "machine.toml", "--json"]);
    assert_eq!(code, Some(1));
    assert_eq!(answer["exit"], 1);
    let ask = answer["answer"]["asks"]
        .as_array()
        .unwrap()
        .iter()
        .find(|a| a["ask"] == "travel")
        .unwrap();
    assert_eq!(ask["kept"], false);
    assert!(ask["margin"].as_f64().unwrap() < -0.15);
    let findings = answer["answer"]["findings"].as_array().unwrap();
    let places = answer["answer"]["finding_places"].as_array().unwrap();
    assert_eq!(findings.len(), places.len());
    let at = findings
        .iter()
        .position(|f| f["about"] == "ask.travel")
        .unwrap();
    let line = places[at]["line"].as_u64().unwrap() as usize;
    assert_eq!(
        bench.read("machine.toml").lines().nth(line - 1),
        Some("[ask.travel]")
    );
}

#[test]
fn errors_of_the_file_are_shown_in_place() {
    let bench = Bench::with("lever");
    bench.change("reach = 40, angle", "raech = 40, angle");
    bench.change("along = \"up\"\n\n# A rod", "along = \"upp\"\n\n# A rod");
    let ran = bench.run(&["check", "machine.toml"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(3), ""));
    insta::assert_snapshot!(ran.err);
    for args in [
        &["motion", "machine.toml"][..],
        &["draw", "machine.toml", "-o", "x.svg"],
        &["sensitivity", "machine.toml"],
    ] {
        let other = bench.run(args);
        assert_eq!((other.code, other.out.as_str()), (Some(3), ""));
        assert_eq!(other.err, ran.err);
    }
    assert_eq!(bench.names(), ["machine.toml"]);
}

#[test]
fn other_ways_to_put_it_together() {
    let bench = Bench::with("crank");
    let ran = bench.run(&["check", "machine.toml", "--assemblies"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    insta::assert_snapshot!(ran.out);
}

#[test]
fn a_motion_is_a_table() {
    let bench = Bench::with("lever");
    let ran = bench.run(&["motion", "machine.toml"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    insta::assert_snapshot!(ran.out);
    let bench = Bench::with("crank");
    let ran = bench.run(&["motion", "machine.toml", "--step", "30 deg"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    insta::assert_snapshot!(ran.out);
}

#[test]
fn values_are_taken_with_and_without_blanks() {
    let bench = Bench::with("lever");
    let table = |args: &[&str]| {
        let mut all = vec![
            "motion",
            "machine.toml",
            "--reading",
            "gap",
            "--from",
            "0",
            "--to",
            "20 deg",
            "--step",
            "10deg",
        ];
        all.extend(args);
        let ran = bench.run(&all);
        assert_eq!(ran.code, Some(0), "{}", ran.err);
        ran.out
    };
    let plain = table(&[]);
    let longer = table(&["--set", "front-rod=0.5mm"]);
    assert_ne!(plain, longer);
    assert_eq!(longer, table(&["--set", "front-rod = 0.5 mm"]));
    assert_eq!(longer, table(&["--set=front-rod=0.5 mm"]));
    insta::assert_snapshot!(longer);
}

#[test]
fn a_spreadsheet_gets_the_same_numbers() {
    let bench = Bench::with("lever");
    let args = [
        "motion",
        "machine.toml",
        "--reading",
        "gap",
        "--step",
        "15 deg",
    ];
    let text = bench.run(&args).out;
    let csv = bench.run(&[&args[..], &["--format", "csv"]].concat());
    assert_eq!(csv.code, Some(0));
    insta::assert_snapshot!(csv.out);
    for line in csv.out.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').take(3).collect();
        assert!(
            text.lines()
                .any(|row| row.split_whitespace().eq(cells.iter().copied())),
            "{line} is not in\n{text}"
        );
    }
}

#[test]
fn inches_on_demand() {
    let bench = Bench::with("lever");
    let ran = bench.run(&[
        "motion",
        "machine.toml",
        "--unit",
        "in",
        "--reading",
        "gap",
        "--step",
        "20 deg",
    ]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    insta::assert_snapshot!(ran.out);
    let ran = bench.run(&["check", "machine.toml", "--unit", "in"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    insta::assert_snapshot!(ran.out);
}

#[test]
fn json_is_not_rounded() {
    let bench = Bench::with("lever");
    let (_, answer) = bench.json(&[
        "motion",
        "machine.toml",
        "--json",
        "--reading",
        "gap",
        "--step",
        "10 deg",
    ]);
    let motion = &answer["answer"];
    assert_eq!(motion["drive"]["inside"], "rad");
    assert_eq!(motion["readings"][0]["inside"], "mm");
    let row = &motion["rows"][1];
    assert_eq!(row["at"].as_f64().unwrap(), 10f64.to_radians());
    let value = row["cells"][0]["value"].as_f64().unwrap();
    assert_ne!(value, (value * 1e6).round() / 1e6);
}

#[test]
fn sensitivities_are_ranked() {
    let bench = Bench::with("lever");
    let ran = bench.run(&[
        "sensitivity",
        "machine.toml",
        "--reading",
        "gap",
        "--at",
        "set=30deg",
        "--most",
        "5",
    ]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    insta::assert_snapshot!(ran.out);
}

#[test]
fn drawings_are_written() {
    let bench = Bench::with("lever");
    let ran = bench.run(&[
        "draw",
        "machine.toml",
        "-o",
        "machine.svg",
        "--at",
        "set=20deg",
        "--ghost",
        "set = 60 deg",
        "--trace",
        "arm-pin",
        "--look",
        "board",
        "--scale",
        "1:2",
    ]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    insta::assert_snapshot!(ran.out);
    let svg = bench.read("machine.svg");
    assert!(svg.contains("1:2") && svg.contains("lever-pin"));
    let ran = bench.run(&["draw", "machine.toml", "-o", "machine.PNG"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let png = std::fs::read(bench.path("machine.PNG")).unwrap();
    assert!(png.starts_with(b"\x89PNG\r\n\x1a\n"));
    let ran = bench.run(&["motion", "machine.toml", "--plot", "curves.svg"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert!(bench.read("curves.svg").contains("gap"));
}

#[test]
fn a_fault_of_the_machine_is_told_by_every_command() {
    let bench = Bench::with("lever");
    bench.change(
        "joins   = [\"lever-pin\", \"arm-pin\"]",
        "joins   = [\"lever-pin\", \"lever-pivot\"]",
    );
    let check = bench.run(&["check", "machine.toml"]);
    assert_eq!(check.code, Some(1), "{}", check.err);
    let mut told = String::new();
    for args in [
        &[
            "motion",
            "machine.toml",
            "--reading",
            "grip",
            "--step",
            "30 deg",
        ][..],
        &["sensitivity", "machine.toml", "--reading", "grip"],
        &["draw", "machine.toml", "-o", "machine.svg"],
    ] {
        let ran = bench.run(args);
        assert_eq!(ran.code, Some(1), "{args:?}: {}", ran.err);
        assert!(!ran.out.is_empty());
        told.push_str(&ran.err);
        let (code, answer) = bench.json(&[args, &["--json"]].concat());
        assert_eq!((code, &answer["exit"]), (Some(1), &1.into()));
        let sentence = answer["faults"][0]["sentence"].as_str().unwrap();
        assert!(
            check.out.replace("\n         ", " ").contains(sentence),
            "{sentence}\n{}",
            check.out
        );
    }
    insta::assert_snapshot!(told);
}

#[test]
fn every_number_has_its_unit() {
    let bench = Bench::empty();
    let machine = common::project("examples/strap-embosser/machine.toml");
    let machine = machine.to_str().unwrap();
    for command in ["check", "motion", "sensitivity"] {
        let (code, answer) = bench.json(&[command, machine, "--json"]);
        assert_eq!(code, Some(0), "{command}");
        let over = &answer["taken_over"][0];
        assert_eq!(over["reading"], "least-gap");
        assert_eq!(over["drive"]["name"], "crank");
        assert_eq!(over["drive"]["inside"], "rad");
    }
}

/// What was mistyped, and what is said about it.
#[test]
fn slips_of_the_pen() {
    let bench = Bench::with("lever");
    let mut told = String::new();
    for args in [
        &["motion", "machine.toml", "--drive", "sett"][..],
        &["motion", "machine.toml", "--drive", "crank"],
        &["motion", "machine.toml", "--reading", "gpa"],
        &["motion", "machine.toml", "--at", "set"],
        &["motion", "machine.toml", "--at", "set = 10 deg"],
        &["motion", "machine.toml", "--at", "set", "=", "10"],
        &["motion", "machine.toml", "--at", "=40deg"],
        &["sensitivity", "machine.toml", "--at", "set=5 mm"],
        &["sensitivity", "machine.toml", "--at", "front-rod=1mm"],
        &["sensitivity", "machine.toml", "--set", "set=40deg"],
        &["sensitivity", "machine.toml", "--set", "front-rd=1mm"],
        &["sensitivity", "machine.toml", "--set", "front-rod=20mm"],
        &["motion", "machine.toml", "--step", "0"],
        &["motion", "machine.toml", "--from", "NaN"],
        &["motion", "machine.toml", "--from", "5 deg", "--to", "lots"],
        &["draw", "machine.toml", "-o", "x.svg", "--trace", "armpin"],
        &["draw", "machine.toml", "-o", "x.svg", "--plane", "sied"],
        &[
            "draw",
            "machine.toml",
            "-o",
            "x.svg",
            "--ghost",
            "sett=1deg",
        ],
        &["draw", "machine.toml", "-o", "x.svg", "--scale", "half"],
        &["sensitivity", "machine.toml", "--most", "lots"],
        &["sensitivity", "machine.toml", "--mots", "3"],
        &["draw", "machine.toml"],
        &["polish", "machine.toml"],
        &["check", "machine.toml", "--unit", "furlong"],
    ] {
        let ran = bench.run(args);
        assert_eq!(
            (ran.code, ran.out.as_str()),
            (Some(2), ""),
            "{args:?}: {}",
            ran.err
        );
        told += &["$ bellcrank ", &args.join(" "), "\n", &ran.err, "\n"].concat();
    }
    insta::assert_snapshot!(told);
    assert_eq!(bench.names(), ["machine.toml"]);
}

#[test]
fn no_colour_where_nobody_sees_it() {
    let bench = Bench::with("lever");
    bench.change("at-least = \"1.2 mm\"", "at-least = \"1.5 mm\"");
    for args in [
        &["check", "machine.toml"][..],
        &["--help"],
        &["check", "none.toml"],
        &["polish"],
    ] {
        let ran = bench.run(args);
        assert!(
            !ran.out.contains('\u{1b}') && !ran.err.contains('\u{1b}'),
            "{args:?}"
        );
    }
}
