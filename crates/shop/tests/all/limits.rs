//! What machines of this shop are too fast, too small or too short for: a shop that calls it forth, and what stands on the sheet then.

use machine::Machine;
use machine::equipment::{Holding, Shop, Spindle};
use shop::{Grade, Job, job};
use std::path::{Path, PathBuf};

fn path() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/strap-embosser/machine.toml")
}

/// The embosser with pieces of these lines beside its own, in a shop that was changed.
fn made(lines: &str, change: impl Fn(&mut Shop)) -> Job {
    let text = std::fs::read_to_string(path()).unwrap() + lines;
    let read = machine::read_as(&path(), text.as_bytes());
    let mut m: Machine = read
        .machine
        .unwrap_or_else(|| panic!("{:?}", read.problems));
    change(m.work.shop.as_mut().unwrap());
    job(&m, &[])
}

fn told(job: &Job, name: &str) -> String {
    let sheet = job.sheets.iter().find(|s| s.part == name).unwrap();
    let mut text = String::new();
    for s in &sheet.setups {
        text += &format!("== {} | {} | {}\n", s.title, s.machine, s.holding);
        for t in &s.steps {
            let rpm = t.rpm.map_or_else(String::new, |r| r.to_string());
            text += &format!("{} [{}] {rpm}\n", t.text, t.tool);
        }
    }
    text
}

#[track_caller]
fn says(job: &Job, grade: Grade, text: &str, advice: &str) {
    let found =
        |f: &&shop::Finding| f.grade == grade && f.text.contains(text) && f.advice.contains(advice);
    assert!(
        job.findings.iter().any(|f| found(&f)),
        "{grade:?} {text} | {advice}\n{:#?}",
        job.findings
    );
}

#[track_caller]
fn silent(job: &Job, text: &str) {
    let all = &job.findings;
    assert!(!all.iter().any(|f| f.text.contains(text)), "{text}");
}

const SPINDLE: &str = r#"
[piece.it]
stock = { round = "70 mm", material = "1045 cold drawn" }
steps = [
  { diameter = "60 mm", length = "20 mm" },
  { thread = "M12", length = "30 mm" },
]
"#;

#[test]
fn a_lathe_that_only_goes_fast() {
    let usual = made(SPINDLE, |s| s.tools.dies.clear());
    silent(&usual, "turning ⌀70");
    silent(&usual, "turns no slower than");
    let fast = made(SPINDLE, |s| {
        s.tools.dies.clear();
        s.lathes[0].speeds = Spindle::Steps(vec![400.0, 800.0, 1600.0]);
    });
    // 1045 at 65 ft/min (19.8 m/min) and ⌀70: 1000 x 19.812 / (70 pi) = 90 turns.
    says(
        &fast,
        Grade::WayRound,
        "turning ⌀70: high-speed steel wants 90 turns a minute, the slowest here is 400",
        "carbide",
    );
    // 400 turns of 1.75.
    says(
        &fast,
        Grade::WayRound,
        "the tool runs 700 a minute at M12",
        "by hand",
    );
    let text = told(&fast, "it");
    let cut = text.lines().find(|l| l.starts_with("Cut M12")).unwrap();
    assert!(
        cut.contains("the spindle turned by hand") && cut.ends_with("] "),
        "{cut}"
    );
}

#[test]
fn a_mill_that_reams_too_fast() {
    let usual = made("", |_| {});
    silent(&usual, "reaming");
    let fast = made("", |s| {
        s.mills[0].speeds = Spindle::Steps(vec![1400.0, 2800.0])
    });
    says(&fast, Grade::WayRound, "reaming ⌀", "by hand");
    let all: String = fast.sheets.iter().map(|s| told(&fast, &s.part)).collect();
    let on_mill = all
        .lines()
        .filter(|l| l.starts_with("Ream") && l.contains("by hand"));
    assert!(
        on_mill.clone().count() > 3 && on_mill.clone().all(|l| l.ends_with("] ")),
        "{all}"
    );
}

const BLOCK: &str = r#"
[piece.block]
outline = { from = ["0 mm", "0 mm"], to = ["80 mm", "40 mm"] }
stock = { flat = ["20 mm", "40 mm"], material = "1018 cold drawn" }
hole.a = { at = ["20 mm", "20 mm"], drill = "13 mm" }
hole.b = { at = ["60 mm", "20 mm"], tap = "M12" }
"#;

#[test]
fn no_drill_larger_than_its_spindle_turns() {
    let usual = made(BLOCK, |_| {});
    silent(&usual, "drills up to");
    let small = made(BLOCK, |s| {
        s.mills[0].drills_to = 9.9;
        s.tools.boring_head = Some([8.0, 60.0]);
    });
    says(
        &small,
        Grade::WayRound,
        "drills up to 9.9, the tap drill of",
        "bored",
    );
    says(
        &small,
        Grade::WayRound,
        "drills up to 9.9, A (a) is 13",
        "bored",
    );
    let drills = |text: &str| -> Vec<f64> {
        text.lines()
            .filter_map(|l| l.split("[drill ").nth(1))
            .filter_map(|l| l.split([' ', ']']).next()?.parse().ok())
            .collect()
    };
    let all = drills(&told(&small, "block"));
    assert!(!all.is_empty() && all.iter().all(|d| *d <= 9.9), "{all:?}");
    let before = drills(&told(&usual, "block"));
    assert!(before.iter().any(|d| *d > 10.0), "{before:?}");
    // In a drill press nothing bores: what it cannot drill is not on its sheet.
    let press = made(BLOCK, |s| {
        s.mills.clear();
        s.lathes[0].holds = vec![Holding::ThreeJaw];
        s.drill_presses[0].drills_to = 5.0;
    });
    says(
        &press,
        Grade::Cannot,
        "drills up to 5, the tap drill of",
        "lathe",
    );
    let all = drills(&told(&press, "block"));
    assert!(all.iter().all(|d| *d <= 5.0), "{all:?}");
    let text = told(&press, "block");
    assert!(
        !text.contains("boring head") && !text.contains("end mill"),
        "{text}"
    );
}

#[test]
fn the_quill_goes_only_so_deep() {
    let one = |stroke: f64| {
        let job = made(BLOCK, |s| {
            s.mills.clear();
            s.drill_presses[0].drills_to = 16.0;
            s.drill_presses[0].stroke = stroke;
        });
        told(&job, "block")
    };
    assert!(!one(60.0).contains("the quill goes"));
    assert!(one(20.0).contains("the quill goes 20"));
}

fn deep(length: &str) -> String {
    format!(
        r#"
[piece.it]
stock = {{ round = "40 mm", material = "1018 cold drawn" }}
steps = [{{ diameter = "38 mm", length = "170 mm" }}]
bore = [{{ from = "left", bore = "12 H7"{length} }}]
"#
    )
}

#[test]
fn boring_bars_reach_only_so_deep() {
    // A bar of 9 goes into a hole drilled 11: 45 out (five diameters, common practice).
    let short = made(&deep(", length = \"40 mm\""), |_| {});
    silent(&short, "stays straight");
    let long = made(&deep(", length = \"160 mm\""), |_| {});
    says(
        &long,
        Grade::WayRound,
        "a boring bar that goes into 11",
        "reamed",
    );
    let text = told(&long, "it");
    assert!(
        text.contains("Ream") && !text.contains("Rough-bore"),
        "{text}"
    );
    let none = made(&deep(", length = \"160 mm\""), |s| s.tools.reamers.clear());
    says(
        &none,
        Grade::Cannot,
        "stays straight for some 45",
        "two short seats",
    );
    assert!(!told(&none, "it").contains("Rough-bore"));
}

#[test]
fn what_holds_the_work() {
    let collets = made(SPINDLE, |s| s.lathes[0].holds = vec![Holding::Collets]);
    says(
        &collets,
        Grade::Cannot,
        "has no chuck, and its collets end at 21: nothing holds ⌀70",
        "order the part",
    );
    let plates = made(SPINDLE, |s| {
        s.lathes[0].holds = vec![Holding::Faceplate, Holding::Centres];
    });
    says(
        &plates,
        Grade::Cannot,
        "has no chuck: nothing holds ⌀70",
        "order",
    );
    let usual = made(SPINDLE, |_| {});
    silent(&usual, "nothing holds ⌀");
}

#[test]
fn what_is_set_off_centre_swings_round_as_a_whole() {
    let lines = r#"
[piece.it]
stock = { round = "70 mm", material = "1045 cold drawn" }
steps = [
  { diameter = "66 mm", length = "80 mm" },
  { diameter = "12 mm", length = "40 mm", offset = "25 mm" },
]
"#;
    // 70 turned 25 off: 2 (35 + 25).
    let small = made(lines, |s| s.lathes[0].over_slide = Some(110.0));
    says(&small, Grade::Cannot, "it swings 120", "order the part");
    silent(
        &made(lines, |s| s.lathes[0].over_slide = Some(125.0)),
        "it swings",
    );
}

#[test]
fn a_bearing_without_a_length_has_a_seat_as_deep_as_it_is_wide() {
    let job = made(
        r#"
[piece.housing]
stock = { round = "60 mm", material = "1018 cold drawn" }
steps = [{ diameter = "56 mm", length = "40 mm" }]
bore = [
  { from = "left", bearing = "6201", hub = "push" },
  { from = "right", bearing = "608", hub = "push" },
  { from = "left", drill = "15 mm" },
]
"#,
        |_| {},
    );
    let part = job.parts.iter().find(|p| p.name == "housing").unwrap();
    let shop::part::Form::Turned(t) = &part.form else {
        panic!("turned");
    };
    // ISO 15: 6201 is 32 x 10, 608 is 22 x 7.
    let blind: Vec<Option<f64>> = t.bores.iter().map(|b| b.blind).collect();
    assert_eq!(blind, [Some(10.0), Some(7.0), None]);
    silent(&job, "leaves nothing of the one of");
}

#[test]
fn a_carried_point_takes_a_screw_s_head() {
    let text = std::fs::read_to_string(path()).unwrap();
    let from = "hole.crank-handle = { ";
    assert!(text.contains(from));
    let sunk = text.replacen(from, "hole.crank-handle = { countersink = \"10 mm\", ", 1);
    let read = machine::read_as(&path(), sunk.as_bytes());
    let m = read
        .machine
        .unwrap_or_else(|| panic!("{:?}", read.problems));
    let job = job(&m, &[]);
    let found = job.parts.iter().any(|p| match &p.form {
        shop::part::Form::Plate(p) => p.holes.iter().any(|h| h.countersink == Some(10.0)),
        shop::part::Form::Turned(_) => false,
    });
    assert!(found);
}

#[test]
fn plates_that_carry_one_shaft_are_bored_together() {
    let job = made("", |_| {});
    let all: Vec<&shop::Finding> = job
        .findings
        .iter()
        .filter(|f| f.text.contains("carry what goes through"))
        .collect();
    let told = |piece: &str| all.iter().any(|f| f.text.contains(piece));
    // Two head plates and two cheeks, each pair with its shaft; the bed stands alone.
    assert!(
        told("head plate") && told("cheek") && !told("bed"),
        "{all:?}"
    );
    assert!(all.iter().all(|f| f.advice.contains("clamp them together")));
}

#[test]
fn bushings_without_a_reamer_are_bored_in_their_place() {
    // The embosser's shop reams to 12 H7; its cheeks take bushings of 40 F7 pressed in, which close by more than the fit has.
    let usual = made("", |_| {});
    let bores = |job: &Job| -> Vec<f64> {
        let own = job.parts.iter().find(|p| p.name == "bushing-40-46-20");
        match &own.unwrap().form {
            shop::part::Form::Turned(t) => {
                t.bores.iter().map(shop::part::Opening::diameter).collect()
            }
            shop::part::Form::Plate(_) => panic!("turned"),
        }
    };
    assert!((bores(&usual)[0] - 39.7).abs() < 1e-9);
    let reamer = made("", |s| {
        let mut own = s.tools.reamers[0].clone();
        own.nominal = 40.0;
        s.tools.reamers.push(own);
    });
    assert!((bores(&reamer)[0] - 40.0).abs() < 1e-9);
    let m = machine::read(&path()).machine.unwrap();
    let stages = shop::order::stages(&m, &usual.parts);
    let opened = stages.iter().find(|s| s.what.starts_with("Open the bores"));
    let opened = &opened.unwrap().what;
    assert!(
        opened.contains("⌀40 F7 (40.025 to 40.050) in cheek: boring tool"),
        "{opened}"
    );
}
