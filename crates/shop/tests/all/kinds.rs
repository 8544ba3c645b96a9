//! Kinds of making beside plates and round bars: slots about a point, square and hexagon bar, gear cutters; sizes by closed forms, one finding
//! a cause.

use machine::Machine;
use machine::work::Section;
use shop::part::{Form, Part, Plate, Turned};
use shop::{Grade, Job, job};
use std::f64::consts::PI;
use std::path::{Path, PathBuf};

fn path(example: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples")
        .join(example)
        .join("machine.toml")
}

fn of(example: &str) -> Machine {
    machine::read(&path(example)).machine.unwrap()
}

/// A machine with pieces of these lines beside its own.
fn with(example: &str, lines: &str) -> Machine {
    let text = std::fs::read_to_string(path(example)).unwrap() + lines;
    let read = machine::read_as(&path(example), text.as_bytes());
    read.machine
        .unwrap_or_else(|| panic!("{:?}", read.problems))
}

/// What is said of a file with these lines.
fn refused(lines: &str) -> String {
    let text = std::fs::read_to_string(path("strap-embosser")).unwrap() + lines;
    let read = machine::read_as(&path("strap-embosser"), text.as_bytes());
    assert!(read.machine.is_none());
    format!("{:?}", read.problems)
}

fn part<'a>(job: &'a Job, name: &str) -> &'a Part {
    job.parts.iter().find(|p| p.name == name).unwrap()
}

fn plate(part: &Part) -> &Plate {
    match &part.form {
        Form::Plate(p) => p,
        Form::Turned(_) => panic!("a plate"),
    }
}

fn turned(part: &Part) -> &Turned {
    match &part.form {
        Form::Turned(t) => t,
        Form::Plate(_) => panic!("turned"),
    }
}

fn steps(job: &Job, name: &str) -> String {
    let sheet = job.sheets.iter().find(|s| s.part == name).unwrap();
    let all = sheet.setups.iter().flat_map(|s| {
        std::iter::once(format!("{} | {}", s.title, s.holding)).chain(
            s.steps
                .iter()
                .map(|t| format!("{} | {} | {}", t.text, t.at, t.check)),
        )
    });
    all.collect::<Vec<_>>().join("\n")
}

const SECTOR: &str = r#"
[piece.sector]
stock = { flat = ["8 mm", "120 mm"], material = "1018 cold drawn" }
outline = { from = [-20, -20], to = [100, 100], corner = "5 mm" }
hole.pivot = { at = [0, 0], ream = "12 H7" }
slot.lock = { about = [0, 0], radius = "70 mm", from = "10 deg", to = "80 deg", width = "8 mm" }
"#;

#[test]
fn a_slot_about_a_point_is_milled_on_the_rotary_table() {
    let m = with("strap-embosser", SECTOR);
    let all = job(&m, &[]);
    let p = plate(part(&all, "sector"));
    let slot = &p.slots[0];
    // A band of constant width about its middle line, with round ends: w r φ + π w²/4.
    let area = 8.0 * 70.0 * 70f64.to_radians() + PI * 16.0;
    assert!((slot.outline().area() - area).abs() < 1e-9);
    assert!((slot.line().length() - 70.0 * 70f64.to_radians()).abs() < 1e-9);
    let solid = (120.0 * 120.0 - (4.0 - PI) * 25.0) * 8.0;
    let volume = solid - area * 8.0 - PI * 36.0 * 8.0;
    assert!((part(&all, "sector").volume() - volume).abs() < 1e-6);
    let told = steps(&all, "sector");
    // 70 of 360 degrees on a worm of 90: 17.5 turns. The table turns against the angles of the work.
    assert!(
        told.contains("table from 350° to 280° (17.5 turns of the handle)"),
        "{told}"
    );
    assert!(told.contains("x 70.000 from the middle"), "{told}");
    let mut bare = m.clone();
    bare.work.shop.as_mut().unwrap().rotary_tables.clear();
    let all = job(&bare, &[]);
    assert!(all.findings.iter().any(|f| f.grade == Grade::WayRound
        && f.text.contains("no rotary table for the arc slot lock")
        && f.advice.contains("chain-drilled")));
    assert!(steps(&all, "sector").contains("Chain-drill the slot lock"));
}

#[test]
fn a_slot_of_the_motion_about_a_point_is_cut_too() {
    // About a point that the piece carries, in its own axes.
    let lines = SECTOR.replace("about = [0, 0]", "about = [0, 0.0]");
    let a = job(&with("strap-embosser", &lines), &[]);
    assert_eq!(plate(part(&a, "sector")).slots.len(), 1);
    for (from, to, said) in [
        (
            "radius = \"70 mm\", from = \"10 deg\"",
            "radius = \"70 mm\", from = [10, 0]",
            "from one direction to another",
        ),
        ("radius = \"70 mm\", ", "", "radius"),
        (
            "width = \"8 mm\"",
            "width = \"150 mm\"",
            "does not go round on a radius",
        ),
        (
            "about = [0, 0], radius = \"70 mm\", from = \"10 deg\", to = \"80 deg\"",
            "radius = \"70 mm\", from = [0, 0], to = [10, 0]",
            "about",
        ),
    ] {
        assert!(SECTOR.contains(from), "{from}");
        let text = refused(&SECTOR.replace(from, to));
        assert!(text.contains(said), "{said}: {text}");
    }
}

const NUT: &str = r#"
[piece.nut]
stock = { hexagon = "17 mm", material = "1018 cold drawn" }
steps = [{ hexagon = "17 mm", length = "8 mm" }, { diameter = "12 mm", length = "10 mm" }]
bore  = [{ from = "left", drill = "8 mm" }]

[piece.post]
stock = { round = "25 mm", material = "1018 cold drawn" }
steps = [{ square = "16 mm", length = "20 mm" }, { diameter = "20 mm", length = "30 mm" }]

[piece.key]
stock = { square = "16 mm", material = "1018 cold drawn" }
steps = [{ square = "16 mm", length = "20 mm" }, { diameter = "14 h9", length = "30 mm" }]

[piece.stem]
stock = { round = "20 mm", material = "1018 cold drawn" }
steps = [{ diameter = "20 mm", length = "50 mm" }]
flats = [{ at = "0 mm", length = "15 mm", across = "17 mm", sides = 2 }, { at = "35 mm", length = "15 mm", across = "16 mm", sides = 4 }]
"#;

#[test]
fn square_and_hexagon_parts_by_closed_forms() {
    let all = job(&with("strap-embosser", NUT), &[]);
    let nut = part(&all, "nut");
    assert_eq!(nut.section, Section::Hexagon(17.0));
    // Hexagon √3/2 a², across corners 2/√3 a.
    let hexagon = 3f64.sqrt() / 2.0 * 289.0;
    let volume = hexagon * 8.0 + PI * 36.0 * 10.0 - PI * 16.0 * 18.0;
    assert!(
        (nut.volume() - volume).abs() < 1e-6,
        "{} {volume}",
        nut.volume()
    );
    assert!((turned(nut).steps[0].diameter - 2.0 / 3f64.sqrt() * 17.0).abs() < 1e-9);
    assert!(turned(nut).flats.is_empty());
    assert!(steps(&all, "nut").contains("Hexagon 17 is the bar as it came"));
    let post = part(&all, "post");
    assert!((post.volume() - (256.0 * 20.0 + PI * 100.0 * 30.0)).abs() < 1e-6);
    let told = steps(&all, "post");
    // 16 √2 across corners goes into round 25; from it each flat lies (22.627 - 16)/2 deep.
    assert!(told.contains("4 flats 3.314 deep"), "{told}");
    assert!(told.contains("full corners, 22.627 across them"), "{told}");
    assert!(
        told.contains("table 0°, 90°, 180°, 270°, 22.5 turns of the handle each"),
        "{told}"
    );
    let told = steps(&all, "key");
    assert!(
        told.contains("four-jaw chuck") && told.contains("indicator on one flat"),
        "{told}"
    );
    // A round of 20 with two flats 17 apart loses two segments r² acos(h/r) - h √(r² - h²); a square of 16 has its corners cut off at 20.
    let segment = |h: f64| 100.0 * (h / 10.0).acos() - h * (100.0 - h * h).sqrt();
    let stem = part(&all, "stem").volume();
    let volume = PI * 100.0 * 50.0 - 2.0 * segment(8.5) * 15.0 - 4.0 * segment(8.0) * 15.0;
    assert!((stem - volume).abs() < 1e-6, "{stem} {volume}");
    assert!(steps(&all, "stem").contains("corners rounded at ⌀20: full ones would be 22.627"));
    assert!(
        refused(&NUT.replace("round = \"25 mm\"", "round = \"22 mm\"")).contains("across corners")
    );
    assert!(
        refused(&NUT.replace("diameter = \"14 h9\"", "diameter = \"18 h9\""))
            .contains("leaves flats on it")
    );
}

#[test]
fn bars_of_every_section_are_packed_apart() {
    let all = job(&with("strap-embosser", NUT), &[]);
    for stock in ["hexagon 17", "square 16"] {
        let bar = all.cut.bars.iter().find(|b| b.stock == stock).unwrap();
        assert_eq!(bar.cuts.len(), 1, "{stock}");
    }
}

#[test]
fn one_cause_is_one_finding() {
    let mut m = of("strap-embosser");
    let shop = m.work.shop.as_mut().unwrap();
    shop.lathes.clear();
    shop.tools.dies.clear();
    shop.tools.boring = None;
    let all = job(&m, &[]);
    let mut seen = 0;
    for p in &all.parts {
        if let Form::Turned(_) = p.form {
            let own: Vec<_> = all
                .findings
                .iter()
                .filter(|f| f.about == p.name && f.grade != Grade::Assumed)
                // That a keyway runs out is no matter of the shop.
                .filter(|f| !f.text.contains("keyway"))
                .collect();
            assert_eq!(own.len(), 1, "{own:#?}");
            assert!(own[0].text.contains("has no lathe"));
            seen += 1;
        }
    }
    assert!(seen > 5);
    let shop = m.work.shop.as_mut().unwrap();
    shop.mills.clear();
    shop.drill_presses.clear();
    let all = job(&m, &[]);
    for p in all
        .parts
        .iter()
        .filter(|p| matches!(p.form, Form::Plate(_)))
    {
        let own = all
            .findings
            .iter()
            .filter(|f| f.about == p.name && f.grade == Grade::Cannot)
            // What cannot be put together is no matter of the shop.
            .filter(|f| !f.text.contains("nothing holds"))
            .count();
        assert_eq!(own, 1, "{}", p.name);
    }
}

#[test]
fn what_no_test_had_called_forth() {
    let says = |m: &Machine, text: &str, advice: &str| {
        let all = job(m, &[]).findings;
        assert!(
            all.iter()
                .any(|f| f.text.contains(text) && f.advice.contains(advice)),
            "{text}\n{all:#?}"
        );
    };
    let text = std::fs::read_to_string(path("power-hacksaw")).unwrap();
    let endless = text.replacen("rod-ends = \"M12 female\"\n", "", 1);
    assert_ne!(endless, text);
    let read = machine::read_as(&path("power-hacksaw"), endless.as_bytes());
    says(
        &read.machine.unwrap(),
        "the bar of rod pull has no length: nothing says how it ends",
        "rod-ends",
    );
    let apart = r#"
[piece.tie]
carries = ["crank-centre", "lift-pivot", "counter-centre", "motor-centre"]
stock   = { flat = ["10 mm", "40 mm"], material = "S235JR to 16 mm" }
outline = "arms"
arms    = [["crank-centre", "lift-pivot"], ["counter-centre", "motor-centre"]]
"#;
    says(
        &with("power-hacksaw", apart),
        "the arms of tie do not make one outline",
        "stretched round all its bosses",
    );
    let text = std::fs::read_to_string(path("rolling-mill")).unwrap();
    let bare = text.replacen("face     = \"12 mm\"\n", "", 1);
    assert_ne!(bare, text);
    let read = machine::read_as(&path("rolling-mill"), bare.as_bytes());
    says(
        &read.machine.unwrap(),
        "nothing says how wide its teeth are",
        "write `face` at [gear.roll-drive]",
    );
    let together = apart.replace(
        "[\"counter-centre\", ",
        "[\"counter-centre\", \"crank-centre\"], [\"counter-centre\", ",
    );
    let all = job(&with("power-hacksaw", &together), &[]).findings;
    assert!(
        !all.iter()
            .any(|f| f.text.contains("do not make one outline"))
    );
}

#[test]
fn gear_cutters_of_the_shop() {
    let mut m = of("rolling-mill");
    m.work.shop.clone_from(&of("strap-embosser").work.shop);
    let lacks =
        |m: &Machine, what: &str| job(m, &[]).findings.iter().any(|f| f.text.contains(what));
    let (pinion, wheel) = ("module 1.5, 17 to 20 teeth", "module 1.5, 35 to 54 teeth");
    assert!(lacks(&m, pinion), "{:#?}", job(&m, &[]).findings);
    let cutters = |by_pitch, numbers: &[usize]| machine::equipment::GearCutters {
        module: 1.5,
        by_pitch,
        numbers: numbers.to_vec(),
    };
    let shop = m.work.shop.as_mut().unwrap();
    // No. 3 of a set by module cuts 17 to 20 (No. 6 by diametral pitch).
    shop.tools.gear_cutters = vec![cutters(false, &[3])];
    assert!(!lacks(&m, pinion));
    assert!(lacks(&m, wheel));
    let shop = m.work.shop.as_mut().unwrap();
    shop.tools.gear_cutters = vec![cutters(true, &[3])];
    assert!(lacks(&m, pinion));
    assert!(!lacks(&m, wheel));
}

const BRACKET: &str = r#"
[piece.bracket]
stock   = { flat = ["3 mm", "60 mm"], material = "S235JR to 16 mm" }
outline = { from = [0, 0], to = [80, 50] }
bend.foot = { side = "bottom", length = "30 mm", radius = "3 mm", fold = "back" }
bend.lip  = { beyond = "foot", length = "20 mm", radius = "3 mm", angle = "60 deg", fold = "front" }
bend.top  = { side = "top", length = "25 mm", radius = "4 mm" }
hole.shaft = { at = [40, 25], ream = "12 H7" }
hole.bolt  = { on = "foot", at = [17, 20], drill = "6.6 mm" }
hole.near  = { on = "top", at = [9, 40], drill = "5 mm" }
"#;

#[test]
fn a_bent_bracket_is_cut_from_its_flat() {
    let all = job(&with("strap-embosser", BRACKET), &[]);
    let bracket = part(&all, "bracket");
    let p = plate(bracket);
    // k of soft steel by the handbook: 0.64 T over π/2. Allowance A (R + k T), setback (R + T) tan(A/2).
    let k = 0.64 / (PI / 2.0);
    let deduction = |angle: f64, r: f64| {
        let a = angle.to_radians();
        2.0 * (r + 3.0) * (a / 2.0).tan() - a * (r + k * 3.0)
    };
    let (foot, lip, top) = (
        deduction(90.0, 3.0),
        deduction(60.0, 3.0),
        deduction(90.0, 4.0),
    );
    // Outside lengths less every deduction.
    let long = 50.0 + 30.0 + 20.0 + 25.0 - foot - lip - top;
    let [low, high] = p.outline.bounds();
    assert!(
        (high[1] - low[1] - long).abs() < 1e-9,
        "{low:?} {high:?} {long}"
    );
    assert!((high[0] - low[0] - 80.0).abs() < 1e-9);
    // The middle keeps its places; a hole of the foot lies so far below as it stands out, less the deduction.
    let at = |name: &str| p.holes.iter().find(|h| h.name == name).unwrap().at;
    assert_eq!(at("shaft"), [40.0, 25.0]);
    assert!((at("bolt")[1] - (foot - 17.0)).abs() < 1e-9 && at("bolt")[0] == 20.0);
    assert!((at("near")[1] - (50.0 - top + 9.0)).abs() < 1e-9);
    // Mass is kept: the flat is as heavy as what is bent of it by the line that keeps its length.
    let holes = PI / 4.0 * (144.0 + 6.6 * 6.6 + 25.0);
    assert!((bracket.volume() - (80.0 * long - holes) * 3.0).abs() < 1e-6);
    // Cut list from the flat.
    let blank = all.cut.blanks.iter().find(|b| b.part == "bracket").unwrap();
    assert!(
        blank.length >= long && blank.length < long + 4.0,
        "{blank:?}"
    );
    let told = steps(&all, "bracket");
    let place = |what: &str| told.find(what).unwrap_or_else(|| panic!("{what}\n{told}"));
    assert!(place("Bend lip by 60°") < place("Bend top by 90°"));
    assert!(place("Bend top by 90°") < place("Bend foot by 90°"));
    // The hole near the bend comes after it: 9 - 2.5 to the outside, less the setback of 7.
    assert!(place("Bend foot") < place("Holes beside the bends"));
    assert!(
        told.contains("9.000 from the outside of top, x 40.000"),
        "{told}"
    );
    assert!(
        all.findings.iter().any(|f| f.about == "bracket"
            && f.text
                .contains("the hole near stands 0 from the bend top, 4.5 is the least")),
        "{:#?}",
        all.findings
    );
    assert!(
        bracket
            .assumed
            .iter()
            .any(|a| a.contains("k-factor 0.407 (Machinery's Handbook")),
        "{:?}",
        bracket.assumed
    );
}

#[test]
fn bends_that_cannot_be_are_told() {
    let finds = |from: &str, to: &str, text: &str| {
        assert!(BRACKET.contains(from), "{from}");
        let all = job(&with("strap-embosser", &BRACKET.replacen(from, to, 1)), &[]);
        assert!(
            all.findings.iter().any(|f| f.text.contains(text)),
            "{text}: {:#?}",
            all.findings
        );
    };
    finds("radius = \"4 mm\"", "radius = \"1 mm\"", "wants R3 or more");
    finds(
        "length = \"25 mm\"",
        "length = \"14 mm\"",
        "keeps 7 of straight metal, the vise wants 9",
    );
    finds("S235JR to 16 mm", "grey iron class 30", "is not bent cold");
    finds(
        "[\"3 mm\", \"60 mm\"]",
        "[\"8 mm\", \"60 mm\"]",
        "is not bent by hand",
    );
    finds(
        "length = \"30 mm\", radius",
        "length = \"8 mm\", radius",
        "begins before the one under it ends",
    );
    for (from, to, said) in [
        ("side = \"top\"", "side = \"left\"", "in a corner"),
        ("side = \"top\"", "side = \"bottom\"", "already"),
        ("beyond = \"foot\"", "beyond = \"top\"", "no bend before"),
        (
            "angle = \"60 deg\"",
            "angle = \"170 deg\"",
            "1 to 150 degrees",
        ),
        ("on = \"top\"", "on = \"lid\"", "has no bend lid"),
        (
            "outline = { from = [0, 0], to = [80, 50] }",
            "outline = { path = [[0, 0], [80, 0], [40, 50]] }",
            "its outline is no rectangle",
        ),
    ] {
        assert!(BRACKET.contains(from), "{from}");
        let text = refused(&BRACKET.replacen(from, to, 1));
        assert!(text.contains(said), "{said}: {text}");
    }
}

#[test]
fn rings_alike_of_one_plate_are_one_part_and_names_are_never_twice() {
    // Bushings longer than their plates are thick want rings.
    let text = std::fs::read_to_string(path("rolling-mill")).unwrap();
    let text = text.replace("36 s6\", length = \"20 mm\"", "36 s6\", length = \"25 mm\"");
    let read = machine::read_as(&path("rolling-mill"), text.as_bytes());
    let all = job(&read.machine.unwrap(), &[]);
    let rings: Vec<_> = all
        .parts
        .iter()
        .filter(|p| p.name.starts_with("side-hub"))
        .map(|p| (p.name.as_str(), p.count))
        .collect();
    // Two side plates with two rings alike each.
    assert_eq!(rings, [("side-hub", 4)]);
    for name in ["strap-embosser", "rolling-mill", "power-hacksaw", "treadle"] {
        let all = job(&of(name), &[]);
        let mut names: Vec<&str> = all.parts.iter().map(|p| p.name.as_str()).collect();
        let count = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), count, "{name}");
    }
}
