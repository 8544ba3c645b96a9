//! What is said of loads: asks over their bands, places that somebody chose, detents in the effort, and what the file lets pass.

use crate::load_common::{EMBOSSER, case_of, joint, model, near, one};
use studies::load::answers::Loads;
use studies::load::{LoadRequest, bands, load, stretch};
use studies::{Model, Severity, Sweep, check};

const TREADLE: &str = include_str!("../../../../examples/treadle/machine.toml");
/// The rolling mill of the examples, without its shop: a text that stands in no file includes none.
fn mill() -> String {
    include_str!("../../../../examples/rolling-mill/machine.toml")
        .replace("shop = \"shop.toml\"\n", "")
}

fn sweep(model: &Model, drive: &str, step: f64) -> Sweep {
    let drives = &model.machine().drives;
    Sweep {
        drive: drives.iter().position(|d| d.name == drive).unwrap(),
        from: None,
        to: None,
        step: Some(step),
        readings: Vec::new(),
    }
}

fn over(model: &Model, drive: &str, case: usize, step: f64) -> Loads {
    let request = LoadRequest {
        case: Some(case),
        sweep: Some(sweep(model, drive, step)),
    };
    load(model, &model.drawn(), &request).unwrap()
}

fn says(loads: &Loads, severity: Severity, words: &str) -> bool {
    let mut all = loads.findings.iter();
    all.any(|f| f.severity == severity && f.sentence.contains(words))
}

/// The band of an ask is the loaded value with play and making, as the table of readings has it; its margins are distances to the limits.
#[test]
fn an_ask_is_held_against_load_and_band() {
    let model = model(EMBOSSER);
    let case = case_of(&model, "embossing");
    let asks = check(&model).asks;
    let closest = asks.iter().find(|a| a.ask == "closest").unwrap();
    let borne = &closest.borne[0];
    assert_eq!(borne.case.as_deref(), Some("embossing"));
    let mut stand = model.drawn();
    stand.put(1, 70_f64.to_radians());
    let table = bands(&model, &stand, Some(case), None).unwrap();
    let reading = table.readings.iter().position(|r| r.name == "least-gap");
    let found = table.rows[0].cells[reading.unwrap()].as_ref().unwrap();
    near(borne.loaded.unwrap(), found.loaded.unwrap(), 1e-9);
    near(borne.from, found.from, 1e-9);
    near(borne.to, found.to, 1e-9);
    let (least, most) = (closest.at_least.unwrap(), closest.at_most.unwrap());
    near(
        borne.margin_band,
        (borne.from - least).min(most - borne.to),
        1e-9,
    );
    assert!(closest.kept && borne.met_loaded() && !borne.met_band());
    assert_eq!(
        closest.met(),
        "met on paper, met under embossing, missed over its band"
    );
    // The crank stands elsewhere than the case has it: no load there.
    let room = asks.iter().find(|a| a.ask == "room").unwrap();
    assert!(
        room.borne
            .iter()
            .all(|b| b.case.as_deref() != Some("embossing"))
    );
}

/// A drive that is put where it is drawn stays there, whatever the case says.
#[test]
fn a_drive_that_is_put_stays() {
    let model = model(EMBOSSER);
    let case = case_of(&model, "embossing");
    let acted = |stand: &studies::Stand| {
        let request = LoadRequest {
            case: Some(case),
            sweep: None,
        };
        let loads = load(&model, stand, &request).unwrap();
        let acted = &loads.cases[0].rows[0].acted;
        let strap = acted.iter().find(|a| a.name == "load leather").unwrap();
        strap.force
    };
    let mut stand = model.drawn();
    assert!(acted(&stand) > 500.0);
    stand.put(0, 0.0);
    near(acted(&stand), 0.0, 1.0);
}

/// After a whole turn a reading that gains has gained: the spindle makes 6.4 turns.
#[test]
fn a_turn_gained_is_not_lost() {
    let model = model(TREADLE);
    let table = bands(
        &model,
        &model.drawn(),
        Some(0),
        Some(&sweep(&model, "crank", 1.0)),
    )
    .unwrap();
    let reading = table.readings.iter().position(|r| r.name == "spindle-turn");
    let last = table.rows.last().unwrap();
    near(last.at.unwrap(), std::f64::consts::TAU, 1e-12);
    let turned = last.cells[reading.unwrap()].as_ref().unwrap().nominal;
    near(turned, 6.4 * std::f64::consts::TAU, 1e-9);
}

/// In its notch the hand lifts the plunger too: F tan(b + phi)/(1 − mu tan(b + phi)) at 90 mm, felt at 230 mm (elements, detent).
#[test]
fn a_detent_is_felt_where_it_is_lifted() {
    let model = model(EMBOSSER);
    let loads = over(&model, "set", case_of(&model, "embossing"), 0.1);
    let row = &loads.cases[0].rows[0].drives[1];
    let mu: f64 = 0.18;
    let t = (std::f64::consts::FRAC_PI_4 + mu.atan()).tan();
    let detent = &model.machine().work.detents[0];
    assert!(detent.spring > 5.0);
    let lifts = detent.radius * detent.spring * t / (1.0 - mu * t);
    near(row.lifts.unwrap(), lifts, 1e-9);
    assert!(row.hand_on.unwrap() > lifts / 230.0);
    assert!(loads.cases[0].rows[1].drives[1].lifts.is_none());
}

/// Work that begins with its whole force has a row on both sides of its beginning.
#[test]
fn a_step_is_told_from_both_sides() {
    let text = mill().replace(
        "force    = \"1.2 kN\"",
        "begins = \"3 mm\"\nforce = \"1.2 kN\"",
    );
    let model = model(&text);
    let loads = over(&model, "lever", case_of(&model, "rolling"), 0.2);
    let rows = &loads.cases[0].rows;
    let force = |i: usize| {
        let acted = rows[i].acted.iter().find(|a| a.name == "load strip-left");
        acted.unwrap().force
    };
    let step = (1..rows.len()).find(|&i| (force(i) - force(i - 1)).abs() > 100.0);
    let step = step.unwrap();
    let (a, b) = (rows[step - 1].at.unwrap(), rows[step].at.unwrap());
    // The machine gives some hundredths: over so much of the way the force falls from full to nothing.
    assert!(b > a && b - a < 0.02, "{a} {b}");
    assert!(force(step - 1) > 1190.0 && force(step) < 1.0);
    // The beam stands 160 + 2.5 sin over the shafts, the gap is 2 at rest: 3 mm at asin(1/2.5).
    near(b, (1.0_f64 / 2.5).asin(), 1e-6);
}

/// Which hole the file names first is nothing to the metal: the mill is symmetric, and so is its stretch.
#[test]
fn stretch_does_not_hang_on_the_order_of_holes() {
    let gives = |text: &str| {
        let model = model(text);
        let case = case_of(&model, "rolling");
        let found = stretch(&model, &model.drawn(), case).unwrap();
        let of = |name: &str| {
            let r = found
                .readings
                .iter()
                .find(|r| r.reading.name == name)
                .unwrap();
            r.members.iter().find(|m| m.member == "beam").unwrap().moves
        };
        [of("gap-left"), of("gap-right")]
    };
    let [left, right] = gives(&mill());
    // Nearly: one journal is a pin, the other a slot with its two ends.
    near(left, right, 0.25);
    // A beam 25 x 50 on supports 140 apart with both loads 17.5 mm from them gives less than two thousandths (any handbook).
    assert!(left > 2e-4 && left < 4e-3, "{left}");
    let turned = mill().replace(
        "[\"left-journal\", \"slot-in\", \"slot-out\"",
        "[\"slot-out\", \"left-journal\", \"slot-in\"",
    );
    assert!(turned != mill());
    let [l, r] = gives(&turned);
    near(l, left, 0.03);
    near(r, right, 0.03);
}

/// A lever and a link on one pin: a force on the link comes through the pin, one on the lever does not.
#[test]
fn the_part_that_carries_a_force_decides_what_its_pin_carries() {
    let text = |part: &str| {
        format!(
            r#"
name = "two on a pin"
[point]
o = [0, 0]
k = [0, 100]
f = [80, 100]
p = [80, 0]
[frame]
carries = ["o", "p"]
[part.lever]
carries = ["o", "k"]
[part.link]
carries = ["k", "f"]
[part.rocker]
carries = ["p", "f"]
[drive.push]
turns = "lever"
[load.palm]
at = "k"
part = "{part}"
force = "20 N"
along = "left"
"#
        )
    };
    let pin = |part: &str| {
        joint(
            &one(&model(&text(part)), &[], None),
            "pin k of lever and link",
        )
        .value
    };
    near(pin("link"), 20.0, 1e-9);
    assert!(pin("lever").abs() < 1e-9);
}

#[test]
fn what_the_file_lets_pass_is_told() {
    let sloppy = EMBOSSER.replace(
        "[joint.bell-low]\ndiameter = \"8 h6\"",
        "[joint.bell-low]\ndiameter = \"8 h6\"\nclearance = \"2 mm\"",
    );
    assert!(sloppy != EMBOSSER);
    let told = check(&model(&sloppy)).findings;
    let loose = told.iter().find(|f| f.about == "joint.bell-low").unwrap();
    assert_eq!(loose.severity, Severity::Caution);
    // H11/c11 at 8 mm: 0 to 0.090 over −0.080 to −0.170 (ISO 286-2).
    near(loose.number.unwrap() + loose.margin.unwrap(), 0.26, 1e-9);
    let embosser = model(EMBOSSER);
    let case = case_of(&embosser, "embossing");
    let loads = over(&embosser, "set", case, 0.1);
    assert!(says(
        &loads,
        Severity::Caution,
        "a layer stiffens long before"
    ));
    assert!(says(&loads, Severity::Caution, "keep hands out"));
    let short = mill().replace(", [\"0.5 mm\", \"600 N\"], [\"0.2 mm\", \"1.1 kN\"]", "");
    assert!(short != mill());
    let soft = model(&short);
    let loads = over(&soft, "lever", case_of(&soft, "levelling"), 0.1);
    assert!(says(
        &loads,
        Severity::Caution,
        "beyond the last line of load solder-left"
    ));
    let never = mill().replace("free        = \"48 mm\"", "free        = \"30 mm\"");
    assert!(never != mill());
    let slack = model(&never);
    let loads = over(&slack, "lever", 0, 0.1);
    assert!(says(
        &loads,
        Severity::Caution,
        "spring left-lift never acts"
    ));
}

/// What nothing holds is told with the moment that is missing.
#[test]
fn a_lever_that_nothing_holds_is_told() {
    let text = r#"
name = "loose"
[point]
o = [0, 0]
p = [50, 0]
[frame]
carries = ["o"]
[part.lever]
carries = ["o", "p"]
[load.down]
at = "p"
force = "10 N"
along = "down"
"#;
    let model = model(text);
    let loads = one(&model, &[], None);
    let told = loads
        .findings
        .iter()
        .find(|f| f.sentence.contains("held by nothing"))
        .unwrap();
    near(told.number.unwrap(), 500.0, 1e-12);
}

#[test]
fn a_machine_without_loads_says_so() {
    let model = model(
        "name = \"bare\"\n[point]\no = [0, 0]\np = [9, 0]\n[frame]\ncarries = [\"o\"]\n[part.l]\ncarries = [\"o\", \"p\"]\n",
    );
    let refused = load(&model, &model.drawn(), &LoadRequest::default()).unwrap_err();
    assert!(refused.message.contains("nothing loads"), "{refused}");
}
