//! A turn and a map, from the command line.

use crate::common::{Bench, project};

fn embosser() -> String {
    let path = project("examples/strap-embosser/machine.toml");
    path.to_str().unwrap().to_owned()
}

#[test]
fn a_turn_is_told() {
    let ran = Bench::empty().run(&["cycle", &embosser(), "--speed", "30 rpm"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    assert!(
        ran.out.lines().all(|l| l.chars().count() <= 80),
        "{}",
        ran.out
    );
    insta::assert_snapshot!(ran.out);
}

/// A spindle that turns evenly runs through its ends; a dwell there would be one of the words only.
#[test]
fn what_goes_straight_dwells_nowhere() {
    let saw = embosser().replace("strap-embosser", "power-hacksaw");
    let told = |reading: &str| {
        let ran = Bench::empty().run(&["cycle", &saw, "--reading", reading]);
        assert_eq!(ran.code, Some(0), "{}", ran.err);
        ran.out
    };
    let motor = told("motor-turn");
    assert!(motor.contains("deg/deg throughout"), "{motor}");
    assert!(!motor.contains("within"), "{motor}");
    assert!(told("stroke").contains("within"));
}

#[test]
fn curves_and_grids_go_into_spreadsheets() {
    let bench = Bench::empty();
    let ran = bench.run(&["cycle", &embosser(), "--reading", "gap", "--format", "csv"]);
    assert_eq!(ran.code, Some(0));
    let all: Vec<&str> = ran.out.lines().collect();
    let (lines, turning) = all.split_at(all.iter().position(|l| l.is_empty()).unwrap());
    assert!(lines.len() > 700 && lines.iter().all(|l| l.split(',').count() == 14));
    // Further tables stand behind an empty line each, named on a line of their own.
    let named = |name: &str| {
        let at = turning.iter().position(|l| l.starts_with(name));
        let table = &turning[at.unwrap_or_else(|| panic!("{name}")) + 1..];
        let end = table.iter().position(|l| l.is_empty());
        table[..end.unwrap_or(table.len())].to_vec()
    };
    let moments = named("\"what turns crank at 12.0 rpm");
    assert_eq!(moments.len(), 361);
    assert!(moments.iter().all(|l| l.split(',').count() == 8));
    let closing = named("\"least gap over crank");
    assert!(closing.len() == 14 && closing[0].starts_with("set (deg),least (mm)"));
    assert!(
        closing[1..]
            .iter()
            .all(|l| l.split(',').all(|c| !c.is_empty()))
    );
    assert!(named("joints over a turn").len() > 5 && named("ends and").len() == 3);
    let map = bench.run(&[
        "cycle",
        &embosser(),
        "--reading",
        "gap",
        "--map",
        "gap.csv",
        "--grid",
        "37,11",
    ]);
    assert_eq!(map.code, Some(0), "{}", map.err);
    let grid = std::fs::read_to_string(bench.path("gap.csv")).unwrap();
    let rows: Vec<Vec<&str>> = grid.lines().map(|l| l.split(',').collect()).collect();
    assert_eq!(rows.len(), 12);
    assert!(rows.iter().all(|r| r.len() == 38));
    // The curve over the crank at the drawn lever, and the row of the map there, are the same.
    let row = rows.iter().find(|r| r[0] == "35.000000").unwrap();
    let on_curve = |deg: &str| {
        let line = lines
            .iter()
            .find(|l| l.split(',').nth(1) == Some(deg))
            .unwrap();
        line.split(',').nth(2).unwrap().parse::<f64>().unwrap()
    };
    for (column, deg) in [(1, "0.000000"), (10, "90.000000"), (19, "180.000000")] {
        let mapped: f64 = row[column].parse().unwrap();
        assert!((mapped - on_curve(deg)).abs() < 2e-6, "{deg}");
    }
}

#[test]
fn a_map_is_drawn() {
    let bench = Bench::empty();
    let ran = bench.run(&[
        "cycle",
        &embosser(),
        "--reading",
        "gap",
        "--map",
        "map.svg",
        "--grid",
        "91,31",
    ]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let svg = std::fs::read_to_string(bench.path("map.svg")).unwrap();
    for said in ["gap, mm, over crank and set", "least, 0.216 mm", ">40<"] {
        assert!(svg.contains(said), "{said}");
    }
}

#[test]
fn slips_are_told() {
    let bench = Bench::empty();
    for (args, code, said) in [
        (&["--within", "abc"][..], 2, "is not a length"),
        (&["--within", "0 mm"], 2, "not above zero"),
        (&["--speed", "3 mm"], 2, "turning speed"),
        (&["--over", "nix"], 2, "no drive called"),
        (&["--over", "crank"], 2, "both"),
        (&["--reading", "nix"], 2, "no reading called"),
        (&["--map", "map.pdf"], 2, ".svg or .png"),
        (&["--grid", "1,2"], 2, "two numbers"),
        (
            &["--grid", "20000,20000", "--map", "m.csv"],
            2,
            "cannot be made",
        ),
        (
            &["--reading", "least-gap", "--map", "m.svg"],
            2,
            "is taken over a drive itself",
        ),
        (&["--at", "crank=3"], 2, "the drive that is turned"),
    ] {
        let machine = embosser();
        let ran = bench.run(&[&["cycle", machine.as_str()][..], args].concat());
        assert_eq!(ran.code, Some(code), "{args:?}: {}", ran.err);
        assert!(ran.err.contains(said), "{args:?}: {}", ran.err);
    }
}

#[test]
fn what_turns_it_and_how_parts_clear_is_told() {
    let bench = Bench::empty();
    let ran = bench.run(&[
        "cycle",
        &embosser(),
        "--reading",
        "gap",
        "--speed",
        "60 rpm",
        "--unevenness",
        "10 %",
        "--clearance",
        "--plot",
        "timing.svg",
    ]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
    for words in [
        "What turns crank at 60.0 rpm, under embossing",
        "a fly-wheel of",
        "Clearance over crank and set",
        "bell-crank and arm",
        "ISO 13854",
    ] {
        assert!(ran.out.contains(words), "{words}: {}", ran.out);
    }
    assert!(
        ran.out.lines().all(|l| l.chars().count() <= 80),
        "{}",
        ran.out
    );
    let plot = std::fs::read_to_string(bench.path("timing.svg")).unwrap();
    for words in ["jerk, m/s³", "what turns crank", "reduced inertia, kg m²"] {
        assert!(plot.contains(words), "{words}");
    }
    for (args, told) in [
        (&["--unevenness", "0"][..], "no share above nothing"),
        (&["--under", "nothing"], "no load case"),
        (&["--clearance", "--poses", "1"], "from 4 to"),
    ] {
        let ran = bench.run(&[&["cycle", embosser().as_str()][..], args].concat());
        assert!(ran.code > Some(1) && ran.err.contains(told), "{}", ran.err);
    }
}
