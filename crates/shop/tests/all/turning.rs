//! How turned work is held: no cut that its holding does not allow, no blank that is too short for its chuck.

use machine::Machine;
use shop::part::Form;
use shop::turning::{Aside, Held, Off, way};
use shop::{Grade, Job};
use std::path::{Path, PathBuf};

fn path() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/strap-embosser/machine.toml")
}

/// The embosser with a piece of these lines beside its own.
fn with(lines: &str) -> Machine {
    let text = std::fs::read_to_string(path()).unwrap() + lines;
    let read = machine::read_as(&path(), text.as_bytes());
    read.machine
        .unwrap_or_else(|| panic!("{:?}", read.problems))
}

/// A turned piece called `it`.
fn piece(lines: &str) -> Machine {
    with(&format!("\n[piece.it]\n{lines}\n"))
}

fn job(machine: &Machine) -> Job {
    shop::job(machine, &[])
}

fn told(job: &Job, name: &str) -> String {
    let sheet = job.sheets.iter().find(|s| s.part == name).unwrap();
    let mut text = String::new();
    for s in &sheet.setups {
        text += &format!(
            "== {} | {} | {} | {}\n",
            s.title, s.machine, s.holding, s.zero
        );
        for step in &s.steps {
            text += &format!(
                "{} {} [{}] at {} | check {}\n",
                step.number, step.text, step.tool, step.at, step.check
            );
        }
    }
    if std::env::var_os("TELL").is_some() {
        println!("{text}");
    }
    text
}

/// The steps as they are told, one after another.
#[track_caller]
fn in_order(text: &str, words: &[&str]) {
    let mut at = 0;
    for w in words {
        let found = text[at..].find(w);
        assert!(found.is_some(), "{w} after {at}\n{text}");
        at += found.unwrap() + w.len();
    }
}

#[test]
fn a_part_turned_over_its_length_leaves_bar_in_the_chuck() {
    let m = of();
    let all = job(&m);
    let shop = m.work.shop.as_ref();
    for (part, blank) in all.parts.iter().zip(&all.cut.blanks) {
        let Form::Turned(t) = &part.form else {
            continue;
        };
        let way = way(part, t, shop);
        if way.held == Held::Centres {
            continue;
        }
        let turned = t
            .steps
            .iter()
            .filter(|s| s.throw.is_none() && (s.diameter < way.bar - 1e-6 || s.thread.is_some()))
            .map(shop::part::Step::length)
            .sum::<f64>();
        if turned + 1e-9 >= t.length() {
            // Three quarters of a diameter or 15 (common practice) beyond the part and what is cut off.
            let least = t.length() + 0.75f64.mul_add(way.bar, 0.0).clamp(15.0, 30.0);
            assert!(blank.length >= least, "{} {blank:?}", part.name);
            assert_ne!(way.off, Off::Nothing, "{}", part.name);
        }
    }
    // The crank shaft: 83 of 20 from bar 22: 1.5 to face, 83, 1.5 to face again, the cut, and 18.75 in the jaws.
    let text = told(&all, "crank-shaft");
    in_order(
        &text,
        &[
            "Turn the left end",
            "face",
            "⌀20",
            "off",
            "Turn round",
            "to length 83",
            "in from the left end",
        ],
    );
}

fn of() -> Machine {
    machine::read(&path()).machine.unwrap()
}

#[test]
fn bushings_alike_come_from_one_bar_and_are_parted_off() {
    let m = of();
    let all = job(&m);
    let (part, blank) = all
        .parts
        .iter()
        .zip(&all.cut.blanks)
        .find(|(p, _)| p.name == "bushing-12-16-12")
        .unwrap();
    assert!(part.count > 1 && blank.blanks == 1, "{blank:?}");
    let text = told(&all, &part.name);
    in_order(
        &text,
        &["Part off", "Turn round", "split sleeve", "to length 12"],
    );
    let cuts: usize = all
        .cut
        .bars
        .iter()
        .flat_map(|b| &b.cuts)
        .filter(|c| c.0 == part.name)
        .count();
    assert_eq!(cuts, 1);
}

#[test]
fn centres_are_made_before_work_goes_on_them() {
    let text = told(&job(&of()), "cross-shaft");
    let first = text.find("between centres").unwrap();
    assert_eq!(
        text[..first]
            .matches("Centre-drill for the tailstock")
            .count(),
        2,
        "{text}"
    );
    // ⌀50 does not go into a bore of 21: the steady carries the end while it is faced.
    assert!(text[..first].contains("steady"), "{text}");
    // A throw of 3 has no room for a second cone (A4: 8.5, ISO 866): the true ones are faced away before.
    in_order(
        &text,
        &[
            "Face the true centre",
            "Second centres",
            "x 3.000  y 0.000",
            "6.000 of swing",
            "Cut back",
        ],
    );
    assert!(!text.contains("centre drill 4 beside"));
}

#[test]
fn centre_cones_never_run_into_one_another() {
    for (throw, drill) in [("3 mm", None), ("12 mm", Some(4.0)), ("6 mm", Some(2.5))] {
        let m = piece(&format!(
            "stock = {{ round = \"60 mm\", material = \"1045 cold drawn\" }}\nsteps = [{{ diameter = \"50 h6\", length = \"90 mm\" }}, {{ diameter = \"30 mm\", length = \"40 mm\", offset = \"{throw}\" }}, {{ diameter = \"50 h6\", length = \"90 mm\" }}]"
        ));
        let all = job(&m);
        let part = all.parts.iter().find(|p| p.name == "it").unwrap();
        let Form::Turned(t) = &part.form else {
            panic!("turned")
        };
        let way = way(part, t, m.work.shop.as_ref());
        let Some(Aside::Centres {
            drill: d,
            anew,
            discs,
        }) = way.aside
        else {
            panic!("{way:?}");
        };
        assert!(!discs);
        let e: f64 = throw.trim_end_matches(" mm").parse().unwrap();
        if anew {
            assert!(way.stub > 0.0 && drill.is_none());
        } else {
            assert_eq!(Some(d.pilot), drill);
            assert!(d.cone < e && way.stub == 0.0, "{d:?}");
        }
    }
}

#[test]
fn ends_too_small_for_second_centres_keep_discs() {
    let m = piece(
        "stock = { round = \"60 mm\", material = \"1045 cold drawn\" }\nsteps = [{ diameter = \"20 mm\", length = \"40 mm\" }, { diameter = \"30 mm\", length = \"80 mm\", offset = \"8 mm\" }, { diameter = \"50 mm\", length = \"20 mm\" }, { diameter = \"30 mm\", length = \"80 mm\", offset = \"8 mm\", angle = \"180 deg\" }, { diameter = \"25 mm\", length = \"40 mm\" }]",
    );
    let all = job(&m);
    let text = told(&all, "it");
    in_order(
        &text,
        &[
            "dog on the bar",
            "from 0.000 to 40.000",
            "V-block on the bar's own diameter",
            "x -8.000",
            "Cut back",
        ],
    );
    let blank = all.cut.blanks.iter().find(|b| b.part == "it").unwrap();
    assert!(blank.length > 260.0 + 20.0, "{blank:?}");
}

#[test]
fn jaws_close_on_what_they_reach() {
    // Between two proud eccentrics no jaw gets in; the ends are too short: second centres, though it is stout.
    let m = piece(
        "stock = { round = \"60 mm\", material = \"1045 cold drawn\" }\nsteps = [{ diameter = \"56 mm\", length = \"5 mm\" }, { diameter = \"30 mm\", length = \"30 mm\", offset = \"8 mm\" }, { diameter = \"48 mm\", length = \"20 mm\" }, { diameter = \"30 mm\", length = \"30 mm\", offset = \"8 mm\" }, { diameter = \"56 mm\", length = \"5 mm\" }]",
    );
    let text = told(&job(&m), "it");
    assert!(
        !text.contains("packing") && text.contains("between the second centres"),
        "{text}"
    );
    // A stout one is held on its end: 1.5 e + √(r² − (0.866 e − w/2)²) − r = 17.611 for throw 12 on ⌀30 in jaws 14 wide.
    let m = piece(
        "stock = { round = \"50 mm\", material = \"1045 cold drawn\" }\nsteps = [{ diameter = \"30 mm\", length = \"40 mm\" }, { diameter = \"20 mm\", length = \"20 mm\", offset = \"12 mm\" }]",
    );
    let text = told(&job(&m), "it");
    assert!(
        text.contains("three-jaw chuck on ⌀30, 17.611 of packing"),
        "{text}"
    );
    assert!(text.contains("or four-jaw"));
    let mut poor = m.clone();
    poor.work.shop.as_mut().unwrap().lathes[0].holds = vec![machine::equipment::Holding::ThreeJaw];
    assert!(!told(&job(&poor), "it").contains("four-jaw"));
}

#[test]
fn chamfers_come_before_threads_and_on_every_free_edge() {
    let all = job(&of());
    let text = told(&all, "down-rod");
    // No left-hand die: out of a groove, away from the chuck.
    in_order(
        &text,
        &[
            "Groove",
            "Chamfer",
            "away from the chuck",
            "Turn round",
            "Chamfer",
            "Thread M8 with the die",
        ],
    );
    // A rod that is bar in its middle is held short.
    assert!(!text.contains("tailstock centre"), "{text}");
    // Both ends of a pin that is bar as it came.
    let pin = told(&all, "crank-pin");
    assert_eq!(pin.matches("Chamfer").count(), 2, "{pin}");
    assert!(!pin.contains("Centre-drill"), "{pin}");
}

#[test]
fn the_other_end_is_held_on_a_named_diameter() {
    let all = job(&of());
    for sheet in &all.sheets {
        for s in sheet
            .setups
            .iter()
            .filter(|s| s.title.starts_with("Turn round"))
        {
            let names = s.holding.contains('⌀') || s.holding.contains("tapped");
            assert!(names, "{} {}", sheet.part, s.holding);
        }
    }
    let stud = told(&all, "lever-stud");
    assert!(
        stud.contains("copper under the jaws") || stud.contains("slit bush"),
        "{stud}"
    );
}

#[test]
fn bores_on_one_axis_go_from_small_to_large() {
    let m = piece(
        "stock = { round = \"50 mm\", material = \"1045 cold drawn\" }\nsteps = [{ diameter = \"40 mm\", length = \"80 mm\" }]\nbore = [{ from = \"right\", ream = \"10 H7\", length = \"40 mm\" }, { from = \"right\", bore = \"14 H8\", length = \"12 mm\" }]",
    );
    let text = told(&job(&m), "it");
    assert_eq!(text.matches("Centre-drill the bore").count(), 1, "{text}");
    in_order(&text, &["Drill the bore", "Bore the bore", "Ream the bore"]);
    // A tube is open already: nothing is drilled in the air.
    let m = piece(
        "stock = { tube = [\"50 mm\", \"30 mm\"], material = \"S235JR to 16 mm\" }\nsteps = [{ diameter = \"48 h7\", length = \"60 mm\" }]\nbore = [{ from = \"left\", bore = \"40 H7\", length = \"20 mm\" }, { from = \"right\", bore = \"40 H7\", length = \"20 mm\" }, { from = \"left\", bore = \"34 H8\" }]",
    );
    let all = job(&m);
    let text = told(&all, "it");
    assert!(!text.contains("rill"), "{text}");
    // 48² less 34² over 60, less 40² over 34 on 20 at each end: 40 150 mm³ by hand.
    let part = all.parts.iter().find(|p| p.name == "it").unwrap();
    assert!((part.volume() - 40_150.0).abs() < 1.0, "{}", part.volume());
}

#[test]
fn bores_off_the_axis_say_where() {
    let m = piece(
        "stock = { round = \"60 mm\", material = \"1018 cold drawn\" }\nsteps = [{ diameter = \"58 mm\", length = \"14 mm\" }]\nbore = [{ from = \"left\", ream = \"12 H7\", offset = \"6 mm\", angle = \"90 deg\" }, { from = \"left\", drill = \"5 mm\", offset = \"20 mm\", angle = \"270 deg\", length = \"8 mm\" }]",
    );
    // Angles run counter-clockwise as the right end is seen, so from the left end y is the other way.
    let text = told(&job(&m), "it");
    in_order(
        &text,
        &[
            "Bores off the axis, from the left end | bench mill",
            "Ream the bore 6 off the axis",
            "x 0.000  y -6.000",
            "x 0.000  y 20.000",
        ],
    );
    let mut bare = m;
    bare.work.shop.as_mut().unwrap().mills.clear();
    let text = told(&job(&bare), "it");
    in_order(
        &text,
        &[
            "four-jaw chuck on ⌀58",
            "for 90°",
            "6.000 off the axis",
            "180° on from the first",
            "clockwise as this end is seen",
            "20.000 off the axis",
        ],
    );
}

#[test]
fn parts_that_went_wrong_once() {
    // A thread and a fit of one nominal size: the fit is roughed over both, nothing large is left to the finishing cut.
    let m = piece(
        "stock = { round = \"25 mm\", material = \"1018 cold drawn\" }\nsteps = [{ thread = \"M12\", length = \"16 mm\", relief = true, chamfer = \"1 mm\" }, { diameter = \"12 h6\", length = \"25 mm\" }, { diameter = \"22 mm\", length = \"6 mm\" }]",
    );
    in_order(
        &told(&job(&m), "it"),
        &["Rough to ⌀12.5, 41 long", "Finish to ⌀11.995"],
    );
    // Bar as it came between two threads: each thread is cut from its own end.
    let m = piece(
        "stock = { round = \"12 mm\", material = \"1018 cold drawn\" }\nsteps = [{ thread = \"M12\", length = \"16 mm\" }, { diameter = \"12 mm\", length = \"25 mm\" }, { thread = \"M8\", length = \"16 mm\" }]",
    );
    let text = told(&job(&m), "it");
    assert!(
        text.contains("at 16.000 from the left face") && !text.contains("at 57.000"),
        "{text}"
    );
    // A thread told by its depth alone is blind, and drilled four pitches deeper from its own end.
    let m = piece(
        "stock = { round = \"25 mm\", material = \"1018 cold drawn\" }\nsteps = [{ diameter = \"25 mm\", length = \"80 mm\" }]\nbore = [{ from = \"left\", tap = \"M5\", depth = \"12 mm\" }]",
    );
    let all = job(&m);
    let Form::Turned(t) = &all.parts.iter().find(|p| p.name == "it").unwrap().form else {
        panic!("turned");
    };
    assert!((t.bores[0].blind.unwrap() - 15.2).abs() < 1e-9);
    in_order(
        &told(&all, "it"),
        &["left end |", "Drill the thread of the left end 15.2 deep"],
    );
    // A disc with an eccentric at one end: the hub is turned as an open shoulder, not between disc and chuck.
    let m = piece(
        "stock = { round = \"55 mm\", material = \"1045 cold drawn\" }\nsteps = [{ diameter = \"46 g6\", length = \"18 mm\", offset = \"4 mm\", angle = \"90 deg\" }, { diameter = \"30 mm\", length = \"16 mm\" }]",
    );
    assert!(
        told(&job(&m), "it")
            .contains("Finish to ⌀30 [turning tool, HSS, sharp] at 16.000 from the right face")
    );
    // A short nut: the jaws have ten of it at least, in a blank for several.
    let m = piece(
        "count = 3\nstock = { hexagon = \"24 mm\", material = \"1018 cold drawn\" }\nsteps = [{ hexagon = \"24 mm\", length = \"8 mm\" }]\nbore = [{ from = \"left\", tap = \"M16\" }]",
    );
    let all = job(&m);
    let blank = all.cut.blanks.iter().find(|b| b.part == "it").unwrap();
    assert!(blank.blanks < 3 && blank.length > 30.0, "{blank:?}");
    // A hole that comes out in a reamed bore: its burr is taken out.
    let m = piece(
        "stock = { round = \"40 mm\", material = \"1018 cold drawn\" }\nsteps = [{ diameter = \"40 mm\", length = \"30 mm\" }]\nbore = [{ from = \"left\", ream = \"12 H7\" }]\ncross.grub = { at = \"15 mm\", from = \"0 deg\", tap = \"M5\", length = \"14 mm\" }",
    );
    in_order(
        &told(&job(&m), "it"),
        &["Tap grub", "Run the reamer through the bore ⌀12 again"],
    );
    // Floors of two bores: a drill's point is 0.3 of its diameter long, 4.8 of 16, through a web of 2.
    let m = piece(
        "stock = { round = \"40 mm\", material = \"1018 cold drawn\" }\nsteps = [{ diameter = \"40 mm\", length = \"30 mm\" }]\nbore = [{ from = \"left\", bore = \"20 H7\", length = \"10 mm\" }, { from = \"right\", drill = \"16 mm\", length = \"18 mm\" }]",
    );
    let all = job(&m);
    assert!(
        all.findings
            .iter()
            .any(|f| f.text.starts_with("2 of metal is left between the bores"))
    );
}

#[test]
fn the_lathe_is_the_one_that_takes_the_part_and_has_the_finest_dial() {
    let mut m = of();
    let shop = m.work.shop.as_mut().unwrap();
    let mut second = shop.lathes[0].clone();
    second.name = "large".to_owned();
    second.swing = 300.0;
    second.over_slide = Some(180.0);
    second.spindle_bore = 40.0;
    second.dial = 0.01;
    second.between_centres = 300.0;
    shop.lathes.push(second);
    let all = job(&m);
    assert!(told(&all, "crank-shaft").contains("large lathe"));
    let long = "\n[piece.it]\nstock = { round = \"20 mm\", material = \"1045 cold drawn\" }\nsteps = [{ diameter = \"18 mm\", length = \"340 mm\" }]\n";
    let mut m2 = with(long);
    m2.work.shop.clone_from(&m.work.shop);
    assert!(told(&job(&m2), "it").contains("bench lathe"));
}

#[test]
fn a_short_disc_hangs_before_the_saddle() {
    let disc = |long: &str| {
        let m = piece(&format!(
            "stock = {{ round = \"150 mm\", material = \"1045 cold drawn\" }}\nsteps = [{{ diameter = \"140 mm\", length = \"{long}\" }}]"
        ));
        job(&m)
            .findings
            .iter()
            .any(|f| f.about == "it" && f.grade == Grade::Cannot && f.text.contains("swings"))
    };
    // Swing 210 over the bed, 120 over the slide.
    assert!(!disc("12 mm") && disc("90 mm"));
}

#[test]
fn a_thin_end_takes_no_centre() {
    let m = piece(
        "count = 6\nstock = { round = \"4 mm\", material = \"O1 annealed\" }\nsteps = [{ diameter = \"3 h6\", length = \"14 mm\" }, { diameter = \"1.5 mm\", length = \"4 mm\", chamfer = \"0.3 mm\" }]",
    );
    let text = told(&job(&m), "it");
    assert!(!text.contains("Centre-drill"), "{text}");
    in_order(&text, &["Finish to ⌀1.5", "Finish to ⌀2.99"]);
}

#[test]
fn long_and_slender_work_is_told_by_how_much_it_springs() {
    let m = piece(
        "stock = { round = \"22 mm\", material = \"1144 stress relieved\" }\nsteps = [{ diameter = \"20 k6\", length = \"350 mm\" }]",
    );
    let all = job(&m);
    let found = all
        .findings
        .iter()
        .find(|f| f.about == "it" && f.text.contains("bends"));
    // Twice 6 µm on diameter, of 13 allowed (20 k6, ISO 286-2).
    assert!(
        found.is_some_and(|f| f.text.contains("0.012")
            && f.text.contains("0.013")
            && f.advice.contains("steady")),
        "{:#?}",
        all.findings
    );
}

#[test]
fn directions_are_found_from_what_is_there() {
    let all = job(&piece(
        "stock = { round = \"60 mm\", material = \"1045 cold drawn\" }\nsteps = [{ diameter = \"40 mm\", length = \"60 mm\" }, { diameter = \"40 mm\", length = \"20 mm\", offset = \"8 mm\" }, { diameter = \"40 mm\", length = \"120 mm\" }]\ncross.pin = { at = \"150 mm\", from = \"90 deg\", ream = \"8 H7\" }",
    ));
    let text = told(&all, "it");
    in_order(
        &text,
        &[
            "reads highest over the eccentric",
            "turn it by 90°",
            "22.5 turns",
            "Drill",
        ],
    );
}

#[test]
fn a_nut_without_its_tap_is_bored_and_cut_inside() {
    let m = piece(
        "stock = { round = \"40 mm\", material = \"1144 stress relieved\" }\nsteps = [{ diameter = \"38 mm\", length = \"15 mm\" }]\nbore = [{ from = \"left\", tap = \"M20x1.5\" }]",
    );
    let all = job(&m);
    let text = told(&all, "it");
    // M20x1.5 6H: minor 18.376 to 18.676 (ISO 965-1); the shop has no drill 18.5 and no tap.
    in_order(
        &text,
        &[
            "Drill the thread",
            "Rough-bore the thread to 18.5",
            "inside with a single point",
        ],
    );
    assert!(
        !all.findings
            .iter()
            .any(|f| f.about == "it" && f.grade == Grade::Cannot),
        "{:#?}",
        all.findings
    );
}

#[test]
fn a_boring_bar_has_to_enter() {
    // The shop's bars begin at 8: no bar goes into a hole under ⌀8 F7.
    let m = piece(
        "stock = { round = \"20 mm\", material = \"1144 stress relieved\" }\nsteps = [{ diameter = \"16 mm\", length = \"12 mm\" }]\nbore = [{ from = \"left\", bore = \"8 F7\" }]",
    );
    let all = job(&m);
    assert!(all.findings.iter().any(|f| f.about == "it"
        && f.grade == Grade::Cannot
        && f.text.contains("no boring bar reaches 8")));
    let m = piece(
        "stock = { round = \"20 mm\", material = \"1144 stress relieved\" }\nsteps = [{ diameter = \"16 mm\", length = \"12 mm\" }]\nbore = [{ from = \"left\", bore = \"10 F7\" }]",
    );
    assert!(
        !job(&m)
            .findings
            .iter()
            .any(|f| f.about == "it" && f.text.contains("no boring bar"))
    );
}

#[test]
fn tool_steel_that_is_called_hard_is_hardened() {
    let piece_of = |material: &str| {
        piece(&format!(
            "note = \"harden and temper\"\nstock = {{ round = \"12 mm\", material = \"{material}\" }}\nsteps = [{{ diameter = \"10 mm\", length = \"20 mm\" }}]"
        ))
    };
    let text = told(&job(&piece_of("O1 annealed")), "it");
    // O1: 790 to 815 °C, oil, 200 to 260 °C for 58 to 60 HRC (data sheets of oil-hardening steel, from memory).
    in_order(
        &text,
        &[
            "Harden and temper",
            "790 to 815 °C",
            "Quench in oil",
            "200 to 230 °C",
            "lap",
        ],
    );
    let soft = job(&piece_of("1018 cold drawn"));
    assert!(
        soft.findings
            .iter()
            .any(|f| f.about == "it" && f.text.contains("does not harden"))
    );
}

#[test]
fn a_thin_rod_and_an_open_tube_have_no_room_for_a_thread() {
    let m = piece(
        "stock = { round = \"8 mm\", material = \"1018 cold drawn\" }\nsteps = [{ diameter = \"8 mm\", length = \"80 mm\" }]\nbore = [{ from = \"left\", tap = \"M6\", length = \"15 mm\", depth = \"10 mm\" }]",
    );
    let says = |m: &Machine, text: &str| {
        job(m)
            .findings
            .iter()
            .any(|f| f.about == "it" && f.text.contains(text))
    };
    assert!(says(&m, "a wall of 1 is left round M6"));
    let m = piece(
        "stock = { tube = [\"22 mm\", \"16 mm\"], material = \"S235JR to 16 mm\" }\nsteps = [{ diameter = \"22 mm\", length = \"320 mm\" }]\nbore = [{ from = \"left\", tap = \"M8\", length = \"20 mm\", depth = \"15 mm\" }]",
    );
    assert!(says(&m, "open 16 there"));
    let all = job(&m);
    let part = all.parts.iter().find(|p| p.name == "it").unwrap();
    // π/4 (22² − 16²) 320, by hand.
    let by_hand = std::f64::consts::FRAC_PI_4 * 228.0 * 320.0;
    assert!((part.volume() - by_hand).abs() < 1e-6, "{}", part.volume());
}

/// For looking: prints every sheet of a file.
#[test]
fn look() {
    let Some(file) = std::env::var_os("LOOK") else {
        return;
    };
    let m = machine::read(Path::new(&file)).machine.unwrap();
    let all = job(&m);
    for s in &all.sheets {
        println!(
            "#### {} x{} {:?}\n{}",
            s.part,
            s.count,
            s.minutes,
            told(&all, &s.part)
        );
    }
    println!("{:#?}", shop::told(&all.findings));
    println!("{:#?} {:#?}", all.cut.blanks, all.bought);
}
