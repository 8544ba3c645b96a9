//! Forces, bands and made machines, as a person asks for them.

use crate::common::{Bench, project};
use serde_json::Value;

/// The embosser in a folder of its own.
fn embosser() -> Bench {
    let bench = Bench::empty();
    let text = std::fs::read(project("examples/strap-embosser/machine.toml")).unwrap();
    bench.write("machine.toml", text);
    let shop = std::fs::read(project("examples/strap-embosser/shop.toml")).unwrap();
    bench.write("shop.toml", shop);
    bench
}

/// Appends to the machine file.
fn add(bench: &Bench, text: &str) {
    let all = bench.read("machine.toml") + text;
    bench.write("machine.toml", all);
}

fn fits(text: &str) {
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}

#[test]
fn loads_are_told() {
    let ran = embosser().run(&["load", "machine.toml", "--step", "35 deg"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    fits(&ran.out);
    insta::assert_snapshot!(ran.out);
}

#[test]
fn a_spreadsheet_has_every_pose() {
    let args = [
        "load",
        "machine.toml",
        "--case",
        "embossing",
        "--step",
        "35 deg",
        "--format",
        "csv",
    ];
    let ran = embosser().run(&args);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    let lines: Vec<&str> = ran.out.lines().collect();
    // Three steps, the place between them where it is least held, and the one just beside the notch.
    assert_eq!(lines.len(), 6, "{}", ran.out);
    let columns = lines.first().unwrap().split(',').count();
    for line in &lines {
        assert_eq!(line.split(',').count(), columns, "{line}");
    }
}

#[test]
fn more_squeeze_takes_more_effort() {
    let effort = |bench: &Bench| {
        let (code, answer) = bench.json(&["load", "machine.toml", "--json", "--step", "35 deg"]);
        assert_eq!(code, Some(0), "{answer}");
        answer["answer"]["cases"][0]["drives"][1]["effort"]
            .as_f64()
            .unwrap()
    };
    let (soft, hard) = (embosser(), embosser());
    hard.change("modulus = \"4 MPa\"", "modulus = \"8 MPa\"");
    assert!(effort(&hard) > 1.3 * effort(&soft));
}

#[test]
fn the_named_drive_moves() {
    let bench = embosser();
    let args = ["load", "machine.toml", "--drive", "crank", "--json"];
    let (_, answer) = bench.json(&[&args[..], &["--from", "170 deg", "--to", "180 deg"]].concat());
    assert_eq!(answer["answer"]["drive"]["name"], "crank");
    assert!(
        answer["answer"]["cases"][0]["rows"]
            .as_array()
            .unwrap()
            .len()
            >= 2
    );
}

#[test]
fn pictures_of_loads_are_written() {
    let bench = embosser();
    let args = ["load", "machine.toml", "--step", "35 deg"];
    let ran = bench.run(&[&args[..], &["--plot", "load.svg", "--arrows", "forces.svg"]].concat());
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    let (plot, arrows) = (bench.read("load.svg"), bench.read("forces.svg"));
    assert!(plot.contains("to close") && plot.contains("play and tolerance"));
    assert!(arrows.contains("N on cross-shaft"));
    let ran = bench.run(&[&args[..], &["--arrows", "forces.png"]].concat());
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let png = std::fs::read(bench.path("forces.png")).unwrap();
    assert!(png.starts_with(b"\x89PNG\r\n\x1a\n"));
}

#[test]
fn shafts_are_drawn() {
    let bench = embosser();
    let args = ["load", "machine.toml", "--step", "35 deg"];
    let ran = bench.run(&[&args[..], &["--shafts", "shafts.svg"]].concat());
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    let svg = bench.read("shafts.svg");
    assert!(svg.contains("bending of cross-shaft") && svg.contains("torsion of cross-shaft"));
    assert!(svg.contains("weight of cross-shaft"));
}

#[test]
fn shares_are_drawn() {
    let bench = embosser();
    let args = ["spread", "machine.toml", "--machines", "500", "--plot"];
    let ran = bench.run(&[&args[..], &["shares.svg"]].concat());
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    let svg = bench.read("shares.svg");
    assert!(svg.contains("ask closest") && svg.contains("frame: shaft-axis, up"));
}

#[test]
fn a_machine_in_inches_speaks_of_pounds() {
    let args = ["load", "machine.toml", "--step", "70 deg", "--unit", "in"];
    let ran = embosser().run(&args);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert!(
        ran.out.contains("lbf") && !ran.out.contains(" N "),
        "{}",
        ran.out
    );
    fits(&ran.out);
}

#[test]
fn nothing_that_loads_is_told() {
    let ran = Bench::with("crank").run(&["load", "machine.toml"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""));
    insta::assert_snapshot!(ran.err);
}

#[test]
fn spread_is_told() {
    let ran = embosser().run(&["spread", "machine.toml", "--machines", "2000"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    fits(&ran.out);
    insta::assert_snapshot!(ran.out);
}

#[test]
fn the_seed_makes_the_machines() {
    let bench = embosser();
    let spread = |seed: &str| {
        let args = [
            "spread",
            "machine.toml",
            "--machines",
            "2000",
            "--seed",
            seed,
        ];
        bench.run(&args).out
    };
    assert_eq!(spread("3"), spread("3"));
    assert_ne!(spread("3"), spread("4").replace("seed 4", "seed 3"));
}

#[test]
fn a_share_that_is_missed_is_told() {
    let bench = embosser();
    add(
        &bench,
        "\n[ask.made]\nshare-of = \"closest\"\nat-least = 0.99\n",
    );
    let spread = bench.run(&["spread", "machine.toml", "--machines", "2000"]);
    assert_eq!(spread.code, Some(1), "{}", spread.err);
    let (code, answer) = bench.json(&["check", "machine.toml", "--json"]);
    assert_eq!(code, Some(1));
    let asks: &Vec<Value> = answer["answer"]["asks"].as_array().unwrap();
    let made = asks.iter().find(|ask| ask["ask"] == "made").unwrap();
    assert_eq!(made["kept"], false);
    bench.change("at-least = 0.99", "at-least = 0.5");
    let spread = bench.run(&["spread", "machine.toml", "--machines", "2000"]);
    assert_eq!(spread.code, Some(0), "{}", spread.err);
    assert_eq!(bench.run(&["check", "machine.toml"]).code, Some(0));
}

#[test]
fn an_effort_that_is_missed_is_told() {
    let bench = embosser();
    bench.change("at-most = \"60 N\"", "at-most = \"20 N\"");
    let ran = bench.run(&["check", "machine.toml"]);
    assert_eq!(ran.code, Some(1), "{}", ran.err);
    assert!(
        ran.out.contains("MISSED   light: set needs up to"),
        "{}",
        ran.out
    );
    fits(&ran.out);
}

#[test]
fn slips_with_loads() {
    let bench = embosser();
    let mut told = String::new();
    for args in [
        &["load", "machine.toml", "--case", "embosing"][..],
        &["load", "machine.toml", "--drive", "sett"],
        &["load", "machine.toml", "--step", "0"],
        &["load", "machine.toml", "--from", "5 N"],
        &["load", "machine.toml", "--at", "set"],
        &["load", "machine.toml", "--most", "none"],
        &["load", "machine.toml", "--plot", "load.pdf"],
        &["load", "machine.toml", "--arrows", "machine.toml"],
        &["spread", "machine.toml", "--machines", "0"],
        &["spread", "machine.toml", "--machines", "-1"],
        &["spread", "machine.toml", "--machines", "1e6"],
        &["spread", "machine.toml", "--seed", "first"],
        &["spread", "machine.toml", "--seed", "-1"],
        &["spread", "machine.toml", "--seed", "1.5"],
        &["spread", "machine.toml", "--most", "0"],
        &["spread", "machine.toml", "--most", "-3"],
        &["spread", "machine.toml", "--most", "all"],
        &["spread", "machine.toml", "--reading", "gpa"],
        &["spread", "machine.toml", "--reading", "gap,lift"],
        &["spread", "machine.toml", "--reading", "closest"],
        &["spread", "machine.toml", "--format", "xml"],
        &["spread", "machine.toml", "--plot", "shares.pdf"],
        &["spread", "machine.toml", "--plot", "machine.toml"],
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
    assert_eq!(bench.names(), ["machine.toml", "shop.toml"]);
}
