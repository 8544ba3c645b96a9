//! Every finding of what a shop cannot do, or does another way: a shop or a file that calls it forth, how grave it is, and the way round.

use machine::Machine;
use machine::equipment::Shop;
use shop::{Grade, job};
use std::path::{Path, PathBuf};

fn path(example: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../examples")
        .join(example)
        .join("machine.toml")
}

pub(crate) fn of(example: &str) -> Machine {
    machine::read(&path(example)).machine.unwrap()
}

/// The machine of a file that was changed.
fn changed(example: &str, from: &str, to: &str) -> Machine {
    let text = std::fs::read_to_string(path(example)).unwrap();
    assert!(text.contains(from), "{from}");
    let read = machine::read_as(&path(example), text.replacen(from, to, 1).as_bytes());
    read.machine
        .unwrap_or_else(|| panic!("{:?}", read.problems))
}

/// A machine with pieces of these lines beside its own.
fn with(example: &str, lines: &str) -> Machine {
    let text = std::fs::read_to_string(path(example)).unwrap() + lines;
    let read = machine::read_as(&path(example), text.as_bytes());
    read.machine
        .unwrap_or_else(|| panic!("{:?}", read.problems))
}

#[track_caller]
fn says(machine: &Machine, grade: Grade, text: &str, advice: &str) {
    let all = job(machine, &[]).findings;
    let found = all
        .iter()
        .any(|f| f.grade == grade && f.text.contains(text) && f.advice.contains(advice));
    assert!(found, "{grade:?} {text} | {advice}\n{all:#?}");
}

#[track_caller]
fn silent(machine: &Machine, text: &str) {
    let all = job(machine, &[]).findings;
    assert!(!all.iter().any(|f| f.text.contains(text)), "{text}");
}

#[test]
fn tools_that_are_not_there() {
    use Grade::{Cannot, WayRound};
    // What is taken out of the embosser's shop, and what is said then and not before.
    type Row = (fn(&mut Shop), Grade, &'static str, &'static str);
    let rows: &[Row] = &[
        (
            |s| s.tools.reamers.clear(),
            Cannot,
            "no reamer 8 H7",
            "buy reamer 8 H7 and drill 7.8",
        ),
        (|s| s.tools.taps.clear(), WayRound, "no tap M8", ""),
        (
            |s| s.tools.drills.clear(),
            Cannot,
            "no drill below 7.8",
            "buy one a quarter",
        ),
        (
            |s| s.tools.drills.clear(),
            Cannot,
            "no drill to start",
            "buy one smaller",
        ),
        (
            |s| s.tools.drills.clear(),
            Cannot,
            "no tap drill for M8",
            "buy drill 6.8",
        ),
        (
            |s| s.tools.drills.clear(),
            WayRound,
            "no drill 4.5",
            "buy the drill",
        ),
        (
            |s| s.tools.drills.retain(|d| d.diameter < 7.05),
            WayRound,
            "leaves 1 for the reamer",
            "bore out all but a quarter",
        ),
        (
            |s| s.tools.boring_head = None,
            WayRound,
            "no boring head reaches",
            "four-jaw chuck of the lathe",
        ),
        (
            |s| {
                s.tools.boring_head = None;
                s.lathes.clear();
            },
            Cannot,
            "no boring head reaches",
            "",
        ),
        (
            |s| s.tools.boring = None,
            Cannot,
            "no boring bar reaches",
            "nearest reamer or drill, or order",
        ),
        (
            |s| s.rotary_tables.clear(),
            WayRound,
            "no rotary table for the round ends",
            "stepped off in the vise",
        ),
        (
            |s| s.tools.dies.clear(),
            WayRound,
            "no die M10",
            "single point",
        ),
        (
            |s| {
                s.tools.dies.clear();
                s.lathes[0].pitches.clear();
            },
            Cannot,
            "no die M10 and no such pitch",
            "buy the die",
        ),
        (
            |s| s.lathes.clear(),
            Cannot,
            "this shop file has no lathe",
            "order the part",
        ),
        (
            |s| {
                s.lathes[0].swing = 30.0;
                s.lathes[0].over_slide = None;
            },
            Cannot,
            "it swings",
            "make it of two",
        ),
        (
            |s| s.lathes[0].between_centres = 50.0,
            Cannot,
            "the lathe takes 50 between centres",
            "of two pieces",
        ),
        (
            |s| s.lathes[0].holds.clear(),
            Cannot,
            "no chuck to set work off centre",
            "order the part",
        ),
        (
            |s| s.mills.clear(),
            WayRound,
            "this shop file has no mill",
            "file to the line",
        ),
        (
            |s| {
                s.mills.clear();
                s.drill_presses.clear();
            },
            Cannot,
            "neither mill nor drill press",
            "order the part",
        ),
    ];
    for (take, grade, text, advice) in rows {
        let mut m = of("strap-embosser");
        silent(&m, text);
        take(m.work.shop.as_mut().unwrap());
        says(&m, *grade, text, advice);
    }
}

#[test]
fn what_the_machines_of_this_shop_do_another_way() {
    let mut m = of("strap-embosser");
    let rows = [
        (
            "does not go into the spindle's bore of 21",
            "tailstock or the steady",
        ),
        ("⌀12 within 0.011", "5.74 degrees"),
        ("the mill travels 145 that way", "pick up a finished hole"),
        ("the mill vise opens 125", "clamp it to the table"),
        ("the band saw takes 100", "by hand from both sides"),
    ];
    for (text, advice) in rows {
        says(&m, Grade::WayRound, text, advice);
    }
    let shop = m.work.shop.as_mut().unwrap();
    shop.lathes[0].spindle_bore = 60.0;
    shop.lathes[0].dial = 0.002;
    shop.mills[0].travel = [400.0, 300.0, 280.0];
    for vise in &mut shop.squeezers {
        vise.opens = Some(250.0);
    }
    shop.saws[0].capacity = 250.0;
    for (text, _) in rows {
        silent(&m, text);
    }
    let mut mill = of("rolling-mill");
    mill.work.shop.clone_from(&m.work.shop);
    mill.work.shop.as_mut().unwrap().tools.end_mills = vec![40.0];
    says(
        &mill,
        Grade::WayRound,
        "no end mill under 36 for the slot",
        "saw and file between them",
    );
    // The setting angle: 0.1 along the slide is 0.01 across, asin 0.1 (closed form).
    assert!((0.1f64.asin().to_degrees() - 5.739_170).abs() < 1e-6);
}

#[test]
fn shapes_that_cannot_be() {
    use Grade::{Cannot, WayRound};
    says(
        &changed("power-hacksaw", "[piece.main]", "[piece.other]"),
        Cannot,
        "main has stock but no shape",
        "[piece.main]",
    );
    let near = changed("strap-embosser", "reach = 24, angle", "reach = 30, angle");
    silent(&near, "no metal is left");
    let none = changed(
        "strap-embosser",
        "step  = { reach = 11",
        "step  = { reach = 8",
    );
    says(
        &none,
        WayRound,
        "no metal is left between B1 and B2",
        "the step of a row",
    );
    says(
        &changed(
            "strap-embosser",
            "around = \"32 mm\"",
            "around = \"16.4 mm\"",
        ),
        Cannot,
        "from the edge, its radius is 8",
        "the hole smaller",
    );
    says(
        &changed(
            "strap-embosser",
            "towards = [128, -10]",
            "towards = [240, -10]",
        ),
        Cannot,
        "does not meet the edge",
        "inside the outline",
    );
    let tube = |bore: &str| {
        let lines = format!(
            "\n[piece.quill]\nstock = {{ round = \"20 mm\", material = \"1144 stress relieved\" }}\nsteps = [{{ diameter = \"16 mm\", length = \"92 mm\" }}]\nbore = [{{ from = \"left\", drill = \"{bore}\" }}]\n"
        );
        with("strap-embosser", &lines)
    };
    says(
        &tube("4 mm"),
        WayRound,
        "23 times as long as wide",
        "drill from both ends",
    );
    silent(&tube("10 mm"), "as long as wide");
    says(
        &changed(
            "rolling-mill",
            "carries = [\"left-journal\"]",
            "carries = [\"left-journal\", \"left-foot\"]\nhole.left-foot = { tap = \"M6\" }",
        ),
        Cannot,
        "is not on the turned part",
        "clamped-to",
    );
}

#[test]
fn gears_are_cut_by_dividing_or_ordered() {
    // This shop file has vises and a press alone: it says nothing of how parts are made.
    let mut m = of("rolling-mill");
    says(
        &m,
        Grade::Assumed,
        "names no lathe, mill, drill press",
        "new --shop",
    );
    silent(&m, "divides into");
    m.work.shop.clone_from(&of("strap-embosser").work.shop);
    let shop = m.work.shop.as_mut().unwrap();
    shop.rotary_tables.clear();
    says(
        &m,
        Grade::Cannot,
        "nothing in this shop divides into 18",
        "cut by the table on its drawing",
    );
    let mut better = m.clone();
    better.work.shop.clone_from(&of("strap-embosser").work.shop);
    says(
        &better,
        Grade::WayRound,
        "module 1.5, 17 to 20 teeth, No. 3 of a module set",
        "order the gear",
    );
    silent(&better, "divides into");
    let mut few = changed("rolling-mill", "teeth    = [18, 54]", "teeth    = [9, 63]");
    few.work.shop.clone_from(&better.work.shop);
    says(
        &few,
        Grade::Cannot,
        "9 teeth: sets of form cutters begin at 12",
        "hobbed",
    );
}

#[test]
fn what_is_taken_for_granted_is_told() {
    let m = of("treadle");
    says(&m, Grade::Assumed, "no speeds for oak", "begin slower");
    says(&m, Grade::Assumed, "names no shop", "new --shop");
}

#[test]
fn a_blank_is_turned_to_the_tip_circle_and_its_teeth_are_measured() {
    let job = job(&of("rolling-mill"), &[]);
    let gear = job.parts.iter().find(|p| p.name == "pinion-gear").unwrap();
    let teeth = gear.teeth.as_ref().unwrap();
    // Module 1.5 and 18 teeth: 27 on the pitch circle, 30 over the tips, 3.375 deep (ISO 53 proportions).
    let shop::part::Form::Turned(t) = &gear.form else {
        panic!("turned");
    };
    assert!((t.largest() - 30.0).abs() < 1e-9 && (t.length() - 12.0).abs() < 1e-9);
    assert!((teeth.depth() - 3.375).abs() < 1e-9);
    // W = m cos 20° ((k − 1/2) π + z inv 20°), less half the backlash of 0.04 along the base circle: k = 2 or 3.
    let inv = 20f64.to_radians().tan() - 20f64.to_radians();
    let cos = 20f64.to_radians().cos();
    let (k, span) = teeth.span().unwrap();
    let by_hand = 1.5 * cos * ((f64::from(k) - 0.5) * std::f64::consts::PI + 18.0 * inv);
    assert!((span - (by_hand - 0.02 * cos)).abs() < 1e-9, "{k} {span}");
    // Over pins falls with thickness: dM = -thin cos φ / sin φ' by the closed form, near 2.4 times the thinning at 20°.
    let (pin, over) = teeth.over_pins().unwrap();
    let sharp = teeth.spur.over_pins(pin).unwrap();
    assert!((0.02..0.08).contains(&(sharp - over)), "{sharp} {over}");
    let table = teeth.table(quantity::Unit::Millimetre);
    let says = |what: &str, value: &str| {
        assert!(
            table.iter().any(|[w, v]| w == what && v == value),
            "{what} {value} {table:?}"
        );
    };
    says("teeth", "18");
    says("tip circle", "⌀30");
    says("root circle", "⌀23.25");
    says("depth of cut", "3.375");
}

/// The embosser's machine and shop with a file of our own in place of its pieces.
fn own(text: &str) -> Machine {
    let read = machine::read_as(&path("strap-embosser"), text.as_bytes());
    read.machine
        .unwrap_or_else(|| panic!("{:?}", read.problems))
}

const ARM: &str = r#"name = "Arm on a shaft"
unit = "mm"
shop = "shop.toml"
[point]
a = [0, 0]
b = [90, 0]
[frame]
carries = ["a"]
[shaft.main]
centre = "a"
carries = []
stock = { round = "20 mm" }
[part.arm]
carries = ["b"]
clamped-to = "main"
stock = { flat = ["16 mm", "50 mm"] }
held-by = HELD
[drive.turn]
turns = "main"
range = ["0 deg", "30 deg"]
[joint.a]
diameter = "20 h6"
[piece.main]
steps = [{ diameter = "20 h6", length = "80 mm" }]
"#;

fn steps_of(m: &Machine, part: &str) -> String {
    let job = job(m, &[]);
    let sheet = job.sheets.iter().find(|s| s.part == part).unwrap();
    let all = sheet.setups.iter().flat_map(|s| &s.steps);
    all.map(|s| format!("{} | {} | {}", s.text, s.at, s.check))
        .collect::<Vec<String>>()
        .join("\n")
}

#[test]
fn what_holds_an_arm_is_made_in_its_hub() {
    // What is written, what a step of the arm says, what is bought.
    let rows = [
        (
            "{ pinch-screw = \"M6\" }",
            "Slit the hub 2 wide",
            Some("screw M6"),
        ),
        ("{ set-screw = \"M5\" }", "tap M5", Some("set screw M5")),
        // DIN 6885-1: shaft over 17 to 22: 6 x 6, 2.8 in the hub.
        ("{ key = \"parallel\" }", "22.8", Some("parallel key 6 x 6")),
        ("{ pin = \"6 mm\" }", "Bore A", Some("pin 6 x")),
        ("{ press = \"H7/s6\" }", "Bore A", None),
    ];
    for (held, step, bought) in rows {
        let m = own(&ARM.replace("HELD", held));
        let job = job(&m, &[]);
        let steps = steps_of(&m, "arm");
        assert!(steps.contains(step), "{held}:\n{steps}");
        if let Some(what) = bought {
            assert!(
                job.bought.iter().any(|b| b.what.contains(what)),
                "{:?}",
                job.bought
            );
        }
    }
}

#[test]
fn small_holes_that_nothing_bores_want_their_reamer() {
    let hole = "hole.d = { at = [30, 30], ream = \"4 H7\" }\n";
    let m = own(&format!("{BLOCK}{hole}"));
    says(
        &m,
        Grade::Cannot,
        "no reamer 4 H7 for A (d), and nothing here bores it",
        "buy reamer 4 H7 and drill 3.9",
    );
    let steps = steps_of(&m, "block");
    assert!(steps.contains("Ream") && !steps.contains("Bore"), "{steps}");
}

#[test]
fn blind_seats_keep_their_floor() {
    let m = own(&format!(
        "{BLOCK}hole.seat = {{ at = [40, 30], bearing = \"608\", hub = \"push\", length = \"7 mm\" }}\nhole.fit = {{ at = [70, 30], ream = \"8 H7\", length = \"8 mm\" }}\n"
    ));
    let steps = steps_of(&m, "block");
    // A point of 118° is 0.3 of the diameter high: 6.8 for 16 mm leaves 2 at the lips.
    assert!(steps.contains("6.8 deep at its point"), "{steps}");
    assert!(steps.contains("7 deep, the floor faced flat"), "{steps}");
    assert!(
        steps.contains("10.5 deep") && steps.contains("8 deep full"),
        "{steps}"
    );
}

#[test]
fn an_arm_without_a_hole_for_its_pin_says_so() {
    let text = ARM
        .replace("held-by = HELD", "")
        .replace("clamped-to = \"main\"\n", "")
        .replace("carries = [\"b\"]", "carries = [\"a\", \"b\"]")
        .replace(
            "[shaft.main]\ncentre = \"a\"\ncarries = []\nstock = { round = \"20 mm\" }\n",
            "",
        )
        .replace("turns = \"main\"", "turns = \"arm\"")
        .replace("[joint.a]\ndiameter = \"20 h6\"\n", "")
        .replace(
            "[piece.main]\nsteps = [{ diameter = \"20 h6\", length = \"80 mm\" }]\n",
            "",
        );
    says(
        &own(&text),
        Grade::WayRound,
        "arm turns about a, but no hole",
        "hole.a = { ream",
    );
}

const BLOCK: &str = r#"name = "Block"
unit = "mm"
shop = "shop.toml"
[point]
a = [0, 0]
b = [90, 0]
[frame]
carries = ["a"]
[part.arm]
carries = ["a", "b"]
stock = { flat = ["8 mm", "30 mm"] }
hole.a = { ream = "10 H7" }
[joint.a]
diameter = "10 h6"
[drive.turn]
turns = "arm"
range = ["0 deg", "30 deg"]
[piece.block]
stock = { flat = ["15 mm", "60 mm"] }
outline = { from = [0, 0], to = [100, 60] }
"#;

#[test]
fn holes_slots_and_walls_of_a_block() {
    use Grade::{Cannot, WayRound};
    let block = |lines: &str| own(&format!("{BLOCK}{lines}\n"));
    says(
        &block("slot.s = { from = [120, 20], to = [140, 20], width = \"8 mm\" }"),
        Cannot,
        "the slot s of block lies outside the plate",
        "count from the datum",
    );
    says(
        &block(
            "slot.s = { from = [20, 20], to = [40, 20], width = \"8 mm\" }\nhole.d = { at = [30, 27], drill = \"8 mm\" }",
        ),
        WayRound,
        "the slot s cuts 1 into the hole d",
        "apart",
    );
    says(
        &block(
            "hole.c = { at = [20, 20], drill = \"15 mm\" }\nhole.d = { at = [32, 20], tap = \"M8\" }",
        ),
        WayRound,
        "0.5 of metal is left",
        "a wall of one millimetre",
    );
    says(
        &block(
            "cross.long = { towards = [50, 1], from = \"90 deg\", drill = \"5 mm\" }\nhole.d = { at = [50, 30], ream = \"10 H7\" }",
        ),
        WayRound,
        "runs through d",
        "ream them after",
    );
    says(
        &block("cross.none = { towards = [50, 60], from = \"90 deg\", drill = \"5 mm\" }"),
        Cannot,
        "has no depth",
        "write `length",
    );
    // A thread's depth is enough, at the edge and in the face.
    let tapped = block(
        "cross.tie = { towards = [50, 60], from = \"90 deg\", tap = \"M5\", depth = \"12 mm\" }\nhole.d = { at = [20, 30], tap = \"M5\", depth = \"9 mm\" }",
    );
    silent(&tapped, "no depth");
    let steps = steps_of(&tapped, "block");
    assert!(
        steps.contains("15.2 deep") && steps.contains("12.2 deep"),
        "{steps}"
    );
    assert!(!steps.contains(" 0 deep"), "{steps}");
    // Bar as it comes: both broad faces stay, and so do sides that lie on its edges.
    assert!(!steps.contains("broad face that is best"), "{steps}");
    says(
        &block("hole.d = { at = [20, 30], drill = \"9 mm\", counterbore = [\"15 mm\", \"5 mm\"] }"),
        WayRound,
        "neither end mill nor counterbore 15",
        "make it 16",
    );
}

#[test]
fn a_shop_without_a_mill_files_and_lays_out() {
    let mut m = own(&format!(
        "{BLOCK}slot.s = {{ from = [20, 20], to = [40, 20], width = \"8 mm\" }}\nhole.d = {{ at = [70, 30], bore = \"20 H7\" }}\n"
    ));
    let shop = m.work.shop.as_mut().unwrap();
    shop.mills.clear();
    let steps = steps_of(&m, "block") + &steps_of(&m, "arm");
    for said in [
        "scribe every place",
        "File one end square",
        "file the slot s to 8",
    ] {
        assert!(steps.contains(said), "{said}\n{steps}");
    }
    assert!(
        !steps.contains("Mill ") && !steps.contains("boring head"),
        "{steps}"
    );
}

#[test]
fn a_long_plate_is_clamped_again() {
    let m = own(&format!(
        "{}hole.c = {{ at = [20, 30], ream = \"8 H7\" }}\nhole.d = {{ at = [380, 30], ream = \"8 H7\" }}\nhole.e = {{ at = [640, 30], ream = \"8 H7\" }}\n",
        BLOCK.replace("to = [100, 60]", "to = [700, 60]")
    ));
    says(
        &m,
        Grade::WayRound,
        "the mill travels 400",
        "picked up with a pin",
    );
    let job = job(&m, &[]);
    let sheet = job.sheets.iter().find(|s| s.part == "block").unwrap();
    let again = sheet
        .setups
        .iter()
        .find(|s| s.title.contains("again"))
        .unwrap();
    assert!(
        again.zero.contains("a pin in") && again.zero.contains("380"),
        "{}",
        again.zero
    );
    // No set-up reaches over more than the table travels.
    for s in sheet.setups.iter().filter(|s| s.title.starts_with("Holes")) {
        let xs: Vec<f64> = s
            .steps
            .iter()
            .filter_map(|s| {
                s.at.strip_prefix("x ")?
                    .split_whitespace()
                    .next()?
                    .parse()
                    .ok()
            })
            .collect();
        let wide = xs.iter().copied().fold(f64::NEG_INFINITY, f64::max)
            - xs.iter().copied().fold(f64::INFINITY, f64::min);
        assert!(wide <= 400.0, "{xs:?}");
    }
}

#[test]
fn hubs_from_the_solid_are_milled_from_thick_stock() {
    let m = own(&format!(
        "{BLOCK}[piece.arm]\nboss.a = {{ diameter = \"24 mm\", length = \"18 mm\", solid = true }}\nboss.b = {{ diameter = \"20 mm\", length = \"14 mm\", solid = true }}\n"
    ));
    let job = job(&m, &[]);
    let arm = job.parts.iter().find(|p| p.name == "arm").unwrap();
    let machine::work::Section::Flat([thick, _]) = arm.section else {
        panic!("flat");
    };
    assert_eq!(thick, 20.0);
    let steps = steps_of(&m, "arm");
    for said in [
        "Saw ",
        "hub b down to 14",
        "down to 8",
        "Round the hub a to ⌀24",
    ] {
        assert!(steps.contains(said), "{said}\n{steps}");
    }
}

#[test]
fn the_seller_is_asked_for_what_he_has() {
    let mut m = own(BLOCK);
    m.work.shop.as_mut().unwrap().sold = vec![30.0];
    says(
        &m,
        Grade::WayRound,
        "the seller's longest flat 8 x 30 is 30",
        "`lengths` of [seller]",
    );
}

/// A bushing longer than its plate stands in a hub: twice its outside across on an outline of its own, and one as wide as is written is told where
/// it leaves the plate or covers a hole.
#[test]
fn hubs_stay_on_their_plate() {
    let file = |boss: &str| {
        let text = format!(
            r#"
[point]
a = [0, 0]
b = [60, 0]
[frame]
carries = ["a"]
stock = {{ flat = ["12 mm", "200 mm"] }}
hole.a = {{ bushing = "cast bronze", bore = "16 F7", outside = "20 s6", length = "16 mm" }}
[part.arm]
carries = ["a", "b"]
stock = {{ flat = ["12 mm", "30 mm"] }}
[piece.plate]
carries = ["a"]
outline = {{ from = [-60, -50], to = [140, 50] }}
hole.foot = {{ at = [50, 0], drill = "9 mm" }}
{boss}
"#
        );
        let read = machine::read_as(&path("treadle"), text.as_bytes());
        read.machine
            .unwrap_or_else(|| panic!("{:?}", read.problems))
    };
    let plain = file("");
    let all = job(&plain, &[]);
    let plate = all.parts.iter().find(|p| p.name == "plate").unwrap();
    let shop::part::Form::Plate(plate) = &plate.form else {
        panic!("a plate");
    };
    assert_eq!(plate.ends[0].radius, 20.0);
    assert!(
        all.findings.iter().all(|f| !f.text.contains("hub")),
        "{:?}",
        all.findings
    );
    let wide = file("boss.a = { diameter = \"110 mm\", length = \"16 mm\" }");
    says(
        &wide,
        Grade::WayRound,
        "stands 5 over the edge",
        "boss.POINT",
    );
    says(&wide, Grade::WayRound, "covers foot", "smaller diameter");
}
