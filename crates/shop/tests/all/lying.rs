//! How plates lie on the mill: tall ones along the table, blocks on their side, bent ones flat, and what the rotary table does not hold.

use shop::{Job, job};
use std::path::{Path, PathBuf};

fn path() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/strap-embosser/machine.toml")
}

/// The embosser with pieces of these lines beside its own.
fn made(lines: &str) -> Job {
    let text = std::fs::read_to_string(path()).unwrap() + lines;
    let read = machine::read_as(&path(), text.as_bytes());
    let m = read
        .machine
        .unwrap_or_else(|| panic!("{:?}", read.problems));
    job(&m, &[])
}

fn told(job: &Job, name: &str) -> String {
    let sheet = job.sheets.iter().find(|s| s.part == name).unwrap();
    let mut text = String::new();
    for s in &sheet.setups {
        text += &format!(
            "== {} | {} | {} | {}\n",
            s.title, s.machine, s.holding, s.zero
        );
        for t in &s.steps {
            text += &format!("{} [{}] at {}\n", t.text, t.tool, t.at);
        }
    }
    text
}

#[test]
fn coordinates_of_a_tall_plate_are_those_of_the_table() {
    let lines = |to: &str, at: &str| {
        format!(
            "\n[piece.it]\nstock = {{ flat = [\"15 mm\", \"60 mm\"], material = \"1018 cold drawn\" }}\noutline = {{ from = [-30, -60], to = {to} }}\nhole.a = {{ at = [0, 0], ream = \"8 H7\" }}\nhole.b = {{ at = {at}, drill = \"6 mm\" }}\n"
        )
    };
    let tall = told(&made(&lines("[30, 20]", "[20, -40]")), "it");
    // A quarter clockwise: (x, y) lies at (y, -x). From the stop end 60 to the zero, from the jaw at the back 30 towards the reader.
    assert!(tall.contains("x 60.000 y -30.000 from them"), "{tall}");
    assert!(
        tall.contains("Drill B (b) through [drill 6.00 mm] at x -40.000  y -20.000"),
        "{tall}"
    );
    assert!(
        tall.contains("y of the drawing to the right and x towards you"),
        "{tall}"
    );
    let wide = told(&made(&lines("[90, 0]", "[20, -40]")), "it");
    assert!(wide.contains("at x 20.000  y -40.000"), "{wide}");
    assert!(!wide.contains("of the drawing to the right"), "{wide}");
}

#[test]
fn a_block_is_not_milled_on_an_edge_taller_than_the_cutter() {
    let lines = |t: f64| {
        format!(
            "\n[piece.it]\nstock = {{ flat = [\"{t} mm\", \"60 mm\"], material = \"1018 cold drawn\" }}\noutline = {{ from = [0, 0], to = [63, 50] }}\n"
        )
    };
    // The flutes of a short 16 mm end mill are some 32 long (DIN 844-1).
    let block = told(&made(&lines(136.0)), "it");
    assert!(
        !block.contains("the side of the cutter along it"),
        "{block}"
    );
    assert!(block.contains("13 rows 11 apart"), "{block}");
    // No jaw lies on the edge that is milled: it stands on edge between its broad faces, or hangs over the table.
    let plate = told(&made(&lines(20.0)), "it");
    assert!(
        plate.contains("gripped by its broad faces")
            && plate.contains("the end of the cutter along it"),
        "{plate}"
    );
    let long = told(&made(&lines(20.0).replace("[63, 50]", "[263, 50]")), "it");
    assert!(
        long.contains("over the rim of the table")
            && long.contains("the side of the cutter along it"),
        "{long}"
    );
}

// The mill travels 400 by 145. From A the hole stands 150 off the way it does not reach, turned end for end too; a quarter round it lies along
// the table: (x, y) reads (y, -x).
#[test]
fn what_the_table_does_not_reach_across_is_turned_a_quarter() {
    let text = |y: f64| {
        format!(
            "\n[piece.it]\nstock = {{ flat = [\"12 mm\", \"200 mm\"], material = \"1018 cold drawn\" }}\noutline = {{ from = [-60, -20], to = [135, 160] }}\nhole.a = {{ at = [0, {y}], ream = \"10 H7\" }}\nhole.b = {{ at = [50, 150], drill = \"6 mm\" }}\n"
        )
    };
    let far = told(&made(&text(0.0)), "it");
    assert!(far.contains("turned a quarter"), "{far}");
    assert!(far.contains("x 150.000  y -50.000"), "{far}");
    // From a hole that stands nearer the other end does it.
    let near = told(&made(&text(20.0)), "it");
    assert!(near.contains("turned end for end"), "{near}");
    assert!(near.contains("x -50.000  y -150.000"), "{near}");
}

#[test]
fn a_bent_lever_lies_flat_for_its_sides() {
    let text = told(&made(""), "lever");
    let sides = text.lines().find(|l| l.starts_with("== Straight sides"));
    assert!(
        sides.is_some_and(|l| l.contains("clamped to the table")),
        "{text}"
    );
}

#[test]
fn what_lies_beside_the_rotary_table_is_filed() {
    let job = made(
        "\n[piece.moon]\nstock = { flat = [\"6 mm\", \"120 mm\"], material = \"1018 cold drawn\" }\noutline = { path = [{ to = [0, 0], through = [50, -10] }, { to = [100, 0], through = [50, -30] }] }\nhole.m = { at = [50, -20], drill = \"4 mm\" }\n",
    );
    let text = told(&job, "moon");
    // Its hollow runs about a place 120 from the nearest metal; the table is 150 across.
    assert!(!text.contains("Mill the inside corner"), "{text}");
    assert!(text.contains("template"), "{text}");
}

/// A crank, a rod of this stock and a lever.
fn rod(stock: &str, more: &str) -> Job {
    let text = format!(
        "name = \"Four bars\"\nunit = \"mm\"\n[point]\na = [0, 0]\nb = [30, 0]\nc = [130, 60]\nd = [130, 0]\n[frame]\ncarries = [\"a\", \"d\"]\n[part.crank]\ncarries = [\"a\", \"b\"]\n[part.lever]\ncarries = [\"d\", \"c\"]\n[rod.con]\njoins = [\"b\", \"c\"]\nstock = {{ {stock}, material = \"1018 cold drawn\" }}\n{more}\n[joint.b]\ndiameter = \"12 h6\"\n[joint.c]\ndiameter = \"10 h6\"\n[drive.d]\nturns = \"crank\"\n"
    );
    let read = machine::read_as(Path::new("four.toml"), text.as_bytes());
    let m = read
        .machine
        .unwrap_or_else(|| panic!("{:?}", read.problems));
    job(&m, &[])
}

#[test]
fn a_flat_rod_is_a_plate_with_an_eye_at_each_end() {
    let job = rod("flat = [\"12 mm\", \"30 mm\"]", "");
    let part = job.parts.iter().find(|p| p.name == "con").unwrap();
    let shop::part::Form::Plate(p) = &part.form else {
        panic!("a plate");
    };
    let at = [p.holes[0].at, p.holes[1].at];
    // From (30, 0) to (130, 60), round ends of half the bar's width.
    let long = 100f64.hypot(60.0);
    assert!((at[1][0] - at[0][0] - long).abs() < 1e-6, "{at:?}");
    let sizes: Vec<f64> = p.holes.iter().map(shop::part::Opening::diameter).collect();
    assert_eq!(sizes, [12.0, 10.0]);
    let wanted = long * 30.0 + std::f64::consts::PI * 15.0 * 15.0;
    assert!((p.outline.area() - wanted).abs() < 1e-6);
    assert!(!told(&job, "con").contains("lock nut"));
    assert!(
        !job.findings
            .iter()
            .any(|f| f.text.contains("nothing says how it ends"))
    );
}

#[test]
fn a_rod_of_hexagon_bar_keeps_its_flats() {
    let job = rod(
        "hexagon = \"14 mm\"",
        "thread = \"M8\"\nthreads = \"both ends\"\nrod-ends = \"M8 female\"",
    );
    let part = job.parts.iter().find(|p| p.name == "con").unwrap();
    let shop::part::Form::Turned(t) = &part.form else {
        panic!("turned");
    };
    let bar: Vec<&shop::part::Step> = t.steps.iter().filter(|s| s.as_bar).collect();
    assert_eq!((bar.len(), bar[0].sides), (1, 6));
    assert!(!job.findings.iter().any(|f| f.text.contains("not round")));
    let text = told(&job, "con");
    assert!(text.contains("M8") && text.contains("hexagon"), "{text}");
}

/// Places in the words of the dials.
fn places(words: &str) -> Vec<f64> {
    let number = |w: &str| w.parse().ok();
    let words = words.split(|c: char| !(c.is_ascii_digit() || "-.".contains(c)));
    words.filter_map(number).collect()
}

// However the work lies when its slot's turn comes, as it was, end for end or a quarter round: once it is turned as the step says, both ends of
// the slot have one y, stand as far apart as on the drawing, and as far from the hole that the dials are set by.
#[test]
fn a_slot_aslant_lies_along_the_table() {
    let long = 40.0;
    for (lying, y) in [
        ("", 60.0),
        ("turned end for end", 20.0),
        ("turned a quarter", 0.0),
    ] {
        for degrees in (7..360).step_by(26) {
            let a = f64::from(degrees).to_radians();
            let (from, to) = (
                [100.0, 90.0],
                [100.0 + long * a.cos(), 90.0 + long * a.sin()],
            );
            let text = format!(
                "\n[piece.it]\nstock = {{ flat = [\"12 mm\", \"200 mm\"], material = \"1018 cold drawn\" }}\noutline = {{ from = [-60, -20], to = [150, 160] }}\nhole.a = {{ at = [0, {y}], ream = \"10 H7\" }}\nhole.b = {{ at = [50, {}], drill = \"6 mm\" }}\nslot.s = {{ from = [{}, {}], to = [{}, {}], width = \"12 mm\" }}\n",
                if lying.is_empty() { 80.0 } else { 150.0 },
                from[0],
                from[1],
                to[0],
                to[1]
            );
            let told = told(&made(&text), "it");
            let again = told.contains("| the work turned ");
            assert_eq!(again, !lying.is_empty(), "{told}");
            assert!(told.contains(lying), "{told}");
            let line = |what: &str| {
                told.lines()
                    .find(|l| l.contains(what))
                    .unwrap_or_else(|| panic!("{told}"))
            };
            let milled = line("Mill the slot");
            let ends = places(milled.split(" at ").last().unwrap());
            assert!(
                (ends[1] - ends[3]).abs() < 2e-3,
                "{degrees} {lying}: {milled}"
            );
            assert!(
                (ends[2] - ends[0] - long).abs() < 2e-3,
                "{degrees} {lying}: {milled}"
            );
            let turn = line("lies along the table");
            let over = places(turn.split("they read ").nth(1).unwrap());
            let off = |x: f64, y: f64| (x - over[0]).hypot(y - over[1]);
            let drawn = |p: [f64; 2]| p[0].hypot(p[1] - y);
            let mut wanted = [drawn(from), drawn(to)];
            let mut found = [off(ends[0], ends[1]), off(ends[2], ends[3])];
            wanted.sort_by(f64::total_cmp);
            found.sort_by(f64::total_cmp);
            for (w, f) in wanted.iter().zip(found) {
                assert!((w - f).abs() < 3e-3, "{degrees} {lying}: {turn} {milled}");
            }
        }
    }
}

// By hand: seats 14 across 10 apart lie 4 over one another; one that stands 5 from the edge runs 2 over it.
#[test]
fn seats_of_heads_keep_to_their_metal() {
    let findings = |x: f64, y: f64| {
        let head = "drill = \"6.6 mm\", counterbore = [\"14 mm\", \"5 mm\"]";
        let lines = format!(
            "\n[piece.it]\nstock = {{ flat = [\"12 mm\", \"60 mm\"], material = \"1018 cold drawn\" }}\noutline = {{ from = [-30, -30], to = [60, 30] }}\nhole.a = {{ at = [0, 0], {head} }}\nhole.b = {{ at = [{x}, {y}], {head} }}\n"
        );
        let all = made(&lines).findings;
        let told = all
            .iter()
            .filter(|f| f.about == "it" && f.text.contains(" across, runs "));
        told.map(|f| f.text.clone()).collect::<Vec<_>>()
    };
    assert_eq!(findings(14.0, 0.0), Vec::<String>::new());
    assert_eq!(findings(0.0, 23.0), Vec::<String>::new());
    let near = findings(10.0, 0.0);
    assert!(
        near.len() == 1 && near[0].contains("14 across, runs 4 into "),
        "{near:?}"
    );
    let edge = findings(0.0, 25.0);
    assert!(
        edge.len() == 1 && edge[0].contains("14 across, runs 2 over the edge"),
        "{edge:?}"
    );
}

// No cutter here goes into the narrow slot: its ends are drilled by the dials of the holes, before the work is turned for the wide one.
#[test]
fn what_is_sawn_is_drilled_before_the_work_is_turned() {
    let text = told(
        &made(
            "\n[piece.it]\nstock = { flat = [\"4 mm\", \"80 mm\"], material = \"1018 cold drawn\" }\noutline = { from = [0, 0], to = [120, 80] }\nhole.a = { at = [10, 10], ream = \"8 H7\" }\nslot.a = { from = [30, 20], to = [60, 50], width = \"12 mm\" }\nslot.b = { from = [70, 20], to = [100, 50], width = \"1.5 mm\" }\n",
        ),
        "it",
    );
    let at = |words: &str| {
        text.find(words)
            .unwrap_or_else(|| panic!("{words}: {text}"))
    };
    assert!(
        at("Drill both ends of the slot b") < at("Turn the work clockwise by 45°"),
        "{text}"
    );
    assert!(
        text.contains("x 70.000  y 20.000 to x 100.000  y 50.000"),
        "{text}"
    );
}
