//! Every finding of what a shop cannot do, or does another way: a shop or a file that calls it forth, how grave it is, and the way round.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

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

fn of(example: &str) -> Machine {
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
            WayRound,
            "no reamer 8 H7",
            "bored to size instead",
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
        ("the mill travels 400 x 145", "pick up a finished hole"),
    ];
    for (text, advice) in rows {
        says(&m, Grade::WayRound, text, advice);
    }
    let shop = m.work.shop.as_mut().unwrap();
    shop.lathes[0].spindle_bore = 60.0;
    shop.lathes[0].dial = 0.002;
    shop.mills[0].travel = [400.0, 300.0, 280.0];
    for (text, _) in rows {
        silent(&m, text);
    }
    let mut milled = of("rolling-mill");
    milled.work.shop.as_mut().unwrap().mills = m.work.shop.clone().unwrap().mills;
    says(
        &milled,
        Grade::WayRound,
        "no end mill under 22 for the slot",
        "saw and file between them",
    );
    // The setting angle: 0.1 along the slide is 0.01 across, asin 0.1 (closed form).
    assert!((0.1f64.asin().to_degrees() - 5.739_170).abs() < 1e-6);
}

#[test]
fn shapes_that_cannot_be() {
    use Grade::{Cannot, WayRound};
    says(
        &of("rolling-mill"),
        Cannot,
        "roll has stock but no shape",
        "[piece.roll]",
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
            "towards = [140, -10]",
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
    let pin = "\n[piece.left-shaft]\nsteps = [{ diameter = \"30 mm\", length = \"120 mm\" }]\n";
    says(
        &with("rolling-mill", pin),
        Cannot,
        "is not on the turned part",
        "clamped-to",
    );
}

#[test]
fn gears_are_cut_by_dividing_or_ordered() {
    let mut m = of("rolling-mill");
    let lathes = of("strap-embosser").work.shop.unwrap().lathes;
    m.work.shop.as_mut().unwrap().lathes = lathes;
    // This shop has neither mill nor rotary table.
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
