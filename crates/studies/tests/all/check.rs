//! What `check` says: freedoms, locked and repeated parts, reach, asks with margins and what to try.

use crate::common;
use crate::common::{close, four_bar, model, read_at, stand};
use studies::{Check, Finding, Severity, check};

fn findings(text: &str) -> Check {
    check(&model(text))
}

#[track_caller]
fn says<'c>(check: &'c Check, severity: Severity, sentence: &str) -> &'c Finding {
    let found = check
        .findings
        .iter()
        .find(|f| f.severity == severity && f.sentence == sentence);
    found.unwrap_or_else(|| panic!("no {severity:?} \"{sentence}\" in {:#?}", check.findings))
}

const CRANKS: &str = r#"
name = "Three cranks"
[point]
p1 = [0, 0]
p2 = [50, 0]
p3 = [100, 0]
q1 = { from = "p1", reach = 40, angle = "40 deg" }
q2 = { from = "MIDDLE" }
q3 = { from = "p3", reach = 40, angle = "40 deg" }
[frame]
carries = ["p1", "p2", "p3"]
[part.c1]
carries = ["p1", "q1"]
[part.c2]
carries = ["p2", "q2"]
[part.bar]
carries = ["q1", "q2", "q3"]
[rod.third]
joins = ["p3", "q3"]
[drive.turn]
turns = "c1"
range = ["0 deg", "90 deg"]
drawn = "40 deg"
[reading.turn]
turn-of = "c2"
"#;

#[test]
fn a_third_crank_repeats_what_two_fix() {
    let text = CRANKS.replace(
        "q2 = { from = \"MIDDLE\" }",
        "q2 = { from = \"p2\", reach = 40, angle = \"40 deg\" }",
    );
    let check = findings(&text);
    assert_eq!((check.freedoms, check.loose, check.counted), (1, 0, 0));
    let f = says(
        &check,
        Severity::Caution,
        "rod third repeats what c1, c2 and bar already fix",
    );
    assert_eq!(f.about, "rod.third");
    assert!(
        !check.findings.iter().any(|f| f.severity == Severity::Fault),
        "{:#?}",
        check.findings
    );
}

#[test]
fn a_middle_hole_off_the_line_locks_it() {
    let text = CRANKS.replace(
        "q2 = { from = \"MIDDLE\" }",
        "q2 = { from = \"q1\", by = [50, 0.5] }",
    );
    let check = findings(&text);
    assert_eq!((check.freedoms, check.loose, check.counted), (0, 0, 0));
    let f = says(
        &check,
        Severity::Fault,
        "drive turn cannot move: rod third, c2 and bar hold c1 fast",
    );
    assert_eq!(f.about, "drive.turn");
    let refusal =
        studies::readings(&model(&text), &stand(&model(&text), &["turn = 50 deg"])).unwrap_err();
    assert!(refusal.message.starts_with("turn cannot move"), "{refusal}");
}

const LOOSE: &str = r#"
name = "Loose ends"
[point]
o = [0, 0]
a = [50, 0]
k = [80, 20]
m = [100, 50]
w = [200, 0]
w2 = [220, 0]
[frame]
carries = ["o", "w"]
[part.lever]
carries = ["o", "a"]
[part.knee]
carries = ["a", "k"]
[part.wheel]
carries = ["w", "w2"]
[part.ram]
carries = ["m"]
[slide.way]
part = "ram"
along = "up"
[drive.set]
turns = "lever"
range = ["0 deg", "60 deg"]
[reading.tip]
place-of = "k"
along = "up"
"#;

#[test]
fn what_hangs_loose_is_named_and_held() {
    let check = findings(LOOSE);
    assert_eq!((check.freedoms, check.loose, check.counted), (4, 3, 4));
    says(
        &check,
        Severity::Fault,
        "knee is free to swing: nothing but one pin, a, holds it",
    );
    says(
        &check,
        Severity::Caution,
        "wheel is free to swing: nothing but one pin, w, holds it",
    );
    says(
        &check,
        Severity::Caution,
        "ram is free to slide on slide way: no drive and no rod moves it",
    );
    // The knee goes with the lever as drawn: its tip stands at radius √(80² + 20²).
    let t = 30_f64.to_radians();
    close(
        common::read(&model(LOOSE), &["set = 30 deg"], "tip"),
        80.0 * t.sin() + 20.0 * t.cos(),
        1e-10,
    );
}

#[test]
fn a_chain_with_a_joint_too_few_names_all_that_moves() {
    let text = four_bar(40.0, 120.0, 80.0, 100.0, 40.0, "upper")
        .replace(
            "[rod.coupler]\njoins = [\"a\", \"b\"]",
            "[part.link]\ncarries = [\"a\", \"c\"]\n[rod.coupler]\njoins = [\"c\", \"b\"]",
        )
        .replace("[frame]", "c = [70, 60]\n[frame]");
    let check = findings(&text);
    assert_eq!((check.freedoms, check.loose), (2, 1));
    says(
        &check,
        Severity::Fault,
        "with every drive held rocker and link can still move",
    );
}

#[test]
fn two_drives_on_one_freedom_are_told() {
    let text = format!(
        "{}[drive.other]\nturns = \"rocker\"\n",
        four_bar(40.0, 120.0, 80.0, 100.0, 40.0, "upper")
    );
    let check = findings(&text);
    assert_eq!((check.freedoms, check.loose), (1, 0));
    says(
        &check,
        Severity::Fault,
        "drive other repeats what drive crank already moves",
    );
}

#[test]
fn a_machine_without_a_drive_is_told() {
    let text = four_bar(40.0, 120.0, 80.0, 100.0, 40.0, "upper");
    let (before, rest) = text.split_once("[drive.crank]").unwrap();
    let (_, after) = rest.split_once("[setting.coupler]").unwrap();
    let check = findings(&format!("{before}[setting.coupler]{after}"));
    assert_eq!((check.freedoms, check.loose), (1, 1));
    says(
        &check,
        Severity::Caution,
        "the machine has 1 freedom and no drive to move it",
    );
}

#[test]
fn a_range_that_is_not_reached_is_a_fault() {
    let text = four_bar(80.0, 60.0, 70.0, 100.0, 60.0, "right").replace(
        "drawn = \"60 deg\"",
        "drawn = \"60 deg\"\nrange = [\"40 deg\", \"120 deg\"]",
    );
    let check = findings(&text);
    let f = says(
        &check,
        Severity::Fault,
        "drive crank does not reach 120 deg: at 91.79 deg rocker and rod coupler stand in line",
    );
    // Stretched coupler and rocker against crank and centres, by the law of cosines.
    let limit =
        ((80.0_f64.powi(2) + 100.0_f64.powi(2) - 130.0_f64.powi(2)) / (2.0 * 80.0 * 100.0)).acos();
    close(f.number.unwrap(), limit, 1e-9);
    close(f.margin.unwrap(), limit - 120_f64.to_radians(), 1e-9);
}

#[test]
fn a_stop_passed_in_the_drawing_is_a_fault() {
    let text = format!(
        "{}[stop.high]\nreading = \"height\"\nat-most = \"90 mm\"\n",
        four_bar(40.0, 120.0, 80.0, 100.0, 40.0, "upper")
    );
    // The reader refuses such a drawing; one that is changed afterwards is told of here.
    let mut machine = model(&text).machine().clone();
    machine.stops[0].at_most = Some(50.0);
    let check = check(&studies::assemble(&machine));
    let f = &check.findings[0];
    assert_eq!(
        (f.severity, f.about.as_str()),
        (Severity::Fault, "stop.high")
    );
    assert!(
        f.sentence.starts_with("stop high is passed as drawn, by "),
        "{}",
        f.sentence
    );
}

fn asks(asks: &str) -> String {
    let text = four_bar(40.0, 120.0, 80.0, 100.0, 40.0, "upper").replace(
        "drawn = \"40 deg\"",
        "drawn = \"40 deg\"\nrange = [\"30 deg\", \"120 deg\"]",
    );
    format!("{text}{asks}")
}

#[test]
fn asks_are_judged_with_their_margins() {
    let text = asks(
        r#"
[ask.there]
reading = "height"
when = { crank = "90 deg" }
between = ["60 mm", "90 mm"]
[ask.all-over]
reading = "height"
over = "crank"
at-most = "85 mm"
[ask.far]
swing-of = "rocker"
over = "crank"
at-least = "80 deg"
[ask.fine]
reading = "height"
per = "5 deg"
of = "crank"
at-most = "4 mm"
"#,
    );
    let model = model(&text);
    let check = check(&model);
    let at = |deg: f64| {
        let mut stand = model.drawn();
        stand.drives[0] = deg.to_radians();
        (
            read_at(&model, &stand, "height"),
            read_at(&model, &stand, "rocker"),
        )
    };
    let value = |i: usize| check.asks[i].value.unwrap();
    close(value(0), at(90.0).0, 1e-11);
    assert!(check.asks[0].kept);
    close(
        check.asks[0].margin.unwrap(),
        (value(0) - 60.0).min(90.0 - value(0)),
        1e-11,
    );
    // By a fine grid, which the exact answers may beat by the square of its step.
    let grid: Vec<(f64, f64)> = (0..=1800).map(|i| at(30.0 + 0.05 * f64::from(i))).collect();
    let greatest = grid.iter().map(|g| g.0).fold(f64::MIN, f64::max);
    assert!(
        value(1) >= greatest - 1e-12 && value(1) < greatest + 1e-4,
        "{} {greatest}",
        value(1)
    );
    assert!(!check.asks[2].kept);
    let turns = grid.iter().map(|g| g.1);
    let swing = turns.clone().fold(f64::MIN, f64::max) - turns.fold(f64::MAX, f64::min);
    assert!(value(2) >= swing - 1e-12 && value(2) < swing + 1e-4);
    // 5 deg are a hundred steps of the grid.
    let steepest = (0..=1700)
        .map(|i| (grid[i + 100].0 - grid[i].0).abs())
        .fold(0.0, f64::max);
    assert!(
        value(3) >= steepest - 1e-12 && value(3) < steepest + 1e-3,
        "{} {steepest}",
        value(3)
    );
    let miss = check
        .findings
        .iter()
        .find(|f| f.about == "ask.far")
        .unwrap();
    assert_eq!(miss.severity, Severity::Miss);
    close(miss.margin.unwrap(), value(2) - 80_f64.to_radians(), 1e-12);
}

#[test]
fn a_missed_ask_is_brought_in_by_what_is_told() {
    let text = asks(
        "[ask.there]\nreading = \"height\"\nwhen = { crank = \"90 deg\" }\nat-most = \"78 mm\"\n",
    );
    let model = model(&text);
    let check = check(&model);
    let miss = check
        .findings
        .iter()
        .find(|f| f.about == "ask.there")
        .unwrap();
    assert_eq!(miss.severity, Severity::Miss, "{}", miss.sentence);
    let words = miss.what_to_try.clone().unwrap();
    assert!(words.starts_with("set coupler: rod coupler "), "{words}");
    let amount: f64 = words.split(' ').nth(4).unwrap().parse().unwrap();
    let change = if words.contains("longer") {
        amount
    } else {
        -amount
    };
    let mut stand = stand(&model, &["crank = 90 deg"]);
    stand.settings[0] = change;
    close(read_at(&model, &stand, "height"), 78.0, 2e-3);
}

#[test]
fn without_settings_a_dimension_is_told() {
    let text = asks(
        "[ask.there]\nreading = \"height\"\nwhen = { crank = \"90 deg\" }\nat-most = \"75 mm\"\n",
    )
    .replace("[setting.coupler]\nrod = \"coupler\"\n", "");
    let check = findings(&text);
    let miss = check
        .findings
        .iter()
        .find(|f| f.about == "ask.there")
        .unwrap();
    let words = miss.what_to_try.clone().unwrap();
    assert!(
        words.starts_with("make ") && words.contains(" mm "),
        "{words}"
    );
}

#[test]
fn an_ask_that_cannot_be_reached_is_a_fault() {
    let text = four_bar(80.0, 60.0, 70.0, 100.0, 60.0, "right")
        + "[ask.far]\nreading = \"height\"\nwhen = { crank = \"100 deg\" }\nat-least = \"0 mm\"\n";
    let check = findings(&text);
    says(
        &check,
        Severity::Fault,
        "ask far cannot be judged: crank cannot reach 100 deg: at 91.79 deg rocker and rod coupler stand in line",
    );
    assert!(check.asks[0].value.is_none() && !check.asks[0].kept);
}

#[test]
fn findings_come_worst_first() {
    let text = asks(
        r#"
[ask.kept]
reading = "height"
at-least = "1 mm"
[ask.missed]
reading = "height"
at-least = "1000 mm"
"#,
    );
    let order: Vec<Severity> = findings(&text)
        .findings
        .iter()
        .map(|f| f.severity)
        .collect();
    assert!(order.is_sorted(), "{order:?}");
    assert!(order.contains(&Severity::Miss) && order.contains(&Severity::Kept));
}

#[test]
fn a_reading_that_runs_away_near_a_dead_centre_is_a_caution() {
    let text = four_bar(80.0, 60.0, 70.0, 100.0, 60.0, "right").replace(
        "drawn = \"60 deg\"",
        "drawn = \"60 deg\"\nrange = [\"60 deg\", \"91.7905 deg\"]",
    );
    let check = findings(&text);
    let f = check
        .findings
        .iter()
        .find(|f| f.severity == Severity::Caution)
        .unwrap();
    assert!(
        f.sentence.contains("runs away") && f.number.unwrap() > 8.0,
        "{}",
        f.sentence
    );
    let calm = findings(&text.replace("91.7905", "85"));
    assert!(
        !calm
            .findings
            .iter()
            .any(|f| f.sentence.contains("runs away")),
        "{:#?}",
        calm.findings
    );
}

#[test]
fn a_rod_within_one_part_holds_nothing() {
    let text = LOOSE.to_owned() + "[rod.idle]\njoins = [\"o\", \"a\"]\n";
    let check = findings(&text);
    assert_eq!((check.freedoms, check.loose, check.counted), (4, 3, 4));
    assert!(
        !check
            .findings
            .iter()
            .any(|f| f.sentence.contains("cannot move")),
        "{:#?}",
        check.findings
    );
}

#[test]
fn a_part_with_two_freedoms_is_named_once() {
    let text = LOOSE.to_owned()
        + "[point.t]\nat = [150, 60]\n[part.tail]\ncarries = [\"t\", \"u\"]\n[point.u]\nat = [170, 60]\n\
           [rod.tow]\njoins = [\"w2\", \"t\"]\n";
    let check = findings(&text);
    assert_eq!(check.loose, 5);
    let tail = check
        .findings
        .iter()
        .filter(|f| f.sentence == "tail hangs on rod tow alone")
        .count();
    assert_eq!(tail, 1, "{:#?}", check.findings);
}

#[test]
fn drawn_in_a_dead_centre_no_length_is_blamed() {
    let check = findings(
        r#"
[point]
centre = [0, 0]
pin = [0, -30]
wrist = [0, -150]
[frame]
carries = ["centre"]
[part.crank]
carries = ["centre", "pin"]
[part.ram]
carries = ["wrist"]
[slide.ram]
part = "ram"
along = "up"
[rod.link]
joins = ["pin", "wrist"]
[drive.push]
slides = "ram"
range = ["0 mm", "40 mm"]
"#,
    );
    let f = says(
        &check,
        Severity::Fault,
        "drive push does not reach 40 mm: at 0 mm crank and rod link stand in line to begin with",
    );
    let help = f.what_to_try.as_deref();
    assert_eq!(
        help,
        Some("draw the machine off the dead centre, or drive another part")
    );
}

#[test]
fn an_ask_that_is_worst_as_drawn_names_the_place() {
    let text = YOKE.to_owned() + "[ask.x]\nreading = \"x\"\nover = \"turn\"\nat-most = \"22 mm\"\n";
    let check = findings(&text);
    says(
        &check,
        Severity::Miss,
        "x: x is at worst 25.00 mm over the reach of turn, at turn = 0 deg, wanted at most 22 mm, 3.000 mm too much",
    );
}

/// Drawn with the crank to the right: the yoke stands at its greatest.
const YOKE: &str = r#"
[point]
centre = [0, 0]
pin = [25, 0]
low = [25, -30]
high = [25, 30]
[frame]
carries = ["centre"]
[part.crank]
carries = ["centre", "pin"]
[part.yoke]
carries = ["low", "high"]
[slide.yoke]
part = "yoke"
along = "right"
[slot.guide]
pin = "pin"
in = "yoke"
from = "low"
to = "high"
[drive.turn]
turns = "crank"
range = "whole turn"
[reading.x]
place-of = "low"
along = "right"
"#;
