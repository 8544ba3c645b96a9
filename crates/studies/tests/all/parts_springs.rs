//! Springs and plungers of a machine: chosen, checked, and where they cannot be.
#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use crate::common::close;
use crate::parts_common::{check, item, study};
use studies::parts::answers::{Kind, Parts};
use studies::{Finding, Severity};

/// A lever whose tip, 100 mm out, works a spring that stands on the frame below or hangs above it.
fn lever(spring: &str, rest: &str) -> String {
    format!(
        r#"
[point]
pivot = [0, 0]
tip   = [100, 0]
low   = [100, -40]
high  = [100, 60]
[frame]
carries = ["pivot", "low", "high"]
stock = {{ flat = ["12 mm", "80 mm"], material = "S355J2 to 16 mm" }}
[part.lever]
carries = ["pivot", "tip"]
[drive.set]
turns = "lever"
range = ["-5 deg", "5 deg"]
hand  = "tip"
{spring}
{rest}
"#
    )
}

fn told<'a>(parts: &'a Parts, severity: Severity, says: &str) -> &'a Finding {
    let found = parts
        .findings
        .iter()
        .find(|f| f.severity == severity && f.sentence.contains(says));
    found.unwrap_or_else(|| panic!("{says}: {:#?}", parts.findings))
}

/// The number behind or before a word in "spring, wire 1.6 mm, outside 16 mm, 9.5 coils, 41.2 mm free".
fn number(text: &str, behind: &str, before: &str) -> f64 {
    let rest = text.split(behind).last().unwrap();
    rest.split(before)
        .next()
        .unwrap()
        .trim()
        .rsplit(' ')
        .next()
        .unwrap()
        .parse()
        .unwrap()
}

/// Wire, outside, coils and free length of a spring in words.
fn sizes(text: &str) -> [f64; 4] {
    [
        number(text, "wire ", " mm"),
        number(text, "outside ", " mm"),
        number(text, "outside", " coils"),
        number(text, "coils,", " mm free"),
    ]
}

const WANTED: &str = r#"
[spring.push]
between = ["tip", "low"]
free = "60 mm"
rate = "2 N/mm"
pushes-only = true
room = { pocket = "20 mm", material = "EN 10270-1 SM" }
"#;

#[test]
fn a_chosen_spring_put_in_does_it() {
    let parts = study(&lever(WANTED, ""));
    let wanted = item(&parts, Kind::Spring);
    let found = wanted.would_do.as_ref().unwrap().what.clone().unwrap();
    told(&parts, Severity::Note, "does it");
    let [wire, outside, coils, free] = sizes(&found);
    let coil = format!(
        "[spring.push]\nbetween = [\"tip\", \"low\"]\nfree = \"{free} mm\"\npushes-only = true\ncoil = {{ wire = \"{wire} mm\", outside = \"{outside} mm\", coils = {coils}, material = \"EN 10270-1 SM\", pocket = \"20 mm\" }}"
    );
    let with = study(&lever(&coil, ""));
    let spring = item(&with, Kind::Spring);
    assert!(
        spring.checks.iter().all(|c| c.passes),
        "{found}: {:#?}",
        spring.checks
    );
    assert!(
        with.findings
            .iter()
            .all(|f| f.severity != Severity::Fault && f.severity != Severity::Miss)
    );
    // 2 N/mm over the way from 60 to 40 less 100 sin 5 deg; the chosen one pushes as hard there.
    let shortest = 40.0 - 100.0 * 5f64.to_radians().sin();
    let force = 2.0 * (60.0 - shortest);
    let worked = spring
        .figures
        .iter()
        .find(|f| f.what == "rate")
        .unwrap()
        .value
        * (free - shortest);
    assert!((worked / force - 1.0).abs() < 0.02, "{worked} for {force}");
}

#[test]
fn a_room_in_which_no_spring_does_it_is_told() {
    let parts = study(&lever(
        &WANTED.replace("20 mm", "4 mm").replace("2 N/mm", "40 N/mm"),
        "",
    ));
    let missed = told(&parts, Severity::Miss, "does it");
    assert!(
        missed
            .what_to_try
            .as_ref()
            .unwrap()
            .contains("a wider pocket")
    );
}

#[test]
fn an_extension_spring_longer_than_its_room() {
    let spring = |coils: f64, free: f64| {
        lever(
            &format!(
                "[spring.hold]\nbetween = [\"tip\", \"high\"]\nfree = \"{free} mm\"\npulls-only = true\ncoil = {{ wire = \"1.2 mm\", outside = \"10 mm\", coils = {coils}, material = \"EN 10270-1 SM\", initial = \"6 N\" }}"
            ),
            "",
        )
    };
    // 20 coils and loops: 2 (8.8 − 1.2) + 21 × 1.2 = 40.4 mm.
    let good = study(&spring(20.0, 45.0));
    let hung = item(&good, Kind::Spring);
    close(
        hung.figures
            .iter()
            .find(|f| f.what.starts_with("free length"))
            .unwrap()
            .value,
        40.4,
        1e-9,
    );
    assert!(
        hung.assumed
            .iter()
            .any(|a| a.contains("drawn out by 4.6 mm"))
    );
    let long = study(&spring(40.0, 45.0));
    told(
        &long,
        Severity::Fault,
        "its coils and loops alone are 64.4 mm long, and it has 45 mm",
    );
    // What would do pulls as hard and is no heavier.
    assert!(hung.would_do.as_ref().unwrap().what.is_some());
}

#[test]
fn taking_the_set_out_is_offered_where_it_helps() {
    let spring = "[spring.push]\nbetween = [\"tip\", \"low\"]\nfree = \"58 mm\"\npushes-only = true\ncoil = { wire = \"2 mm\", outside = \"16 mm\", coils = 10, material = \"EN 10270-1 SM\", pocket = \"18 mm\" }";
    let parts = study(&lever(spring, ""));
    let wound = item(&parts, Kind::Spring);
    let stress = wound.checks.first().unwrap();
    assert!(!stress.passes, "{stress:#?}");
    let gain = wound
        .figures
        .iter()
        .find(|f| f.what.starts_with("factor with the set"))
        .unwrap();
    assert!(gain.value > stress.factor.unwrap() && gain.sentence.contains("preset = true"));
    let out = study(&lever(
        &spring.replace("pocket", "preset = true, pocket"),
        "",
    ));
    let check = item(&out, Kind::Spring).checks.first().unwrap().clone();
    close(check.factor.unwrap(), gain.value, 1e-6);
    assert!(check.passes);
}

/// A lever pushed out of its notch by 5 N at 100 mm.
fn notched(detent: &str, force: f64) -> String {
    lever(
        "",
        &format!(
            "[load.push]\nat = \"tip\"\nforce = \"{force} N\"\nalong = \"up\"\nwith = \"lever\"\n[usual]\nfriction = [0.1, 0.15]\n[detent.home]\ndrive = \"set\"\nat = \"0 deg\"\nradius = \"50 mm\"\nseat = {{ cone = \"90 deg\" }}\n{detent}"
        ),
    )
}

const PLUNGER: &str = "spring = \"20 N\"\nplunger = { nose = \"6 mm\", mouth = \"5 mm\", bore = \"8 mm\", length = \"20 mm\", material = \"EN 10270-1 SM\" }";

#[test]
fn a_plunger_by_hand() {
    let parts = study(&notched(PLUNGER, 5.0));
    let plunger = item(&parts, Kind::Plunger);
    let held = check(plunger, "moment that drives it out of the notch");
    // 5 N at 100 mm against 20 N on a flank of 45 deg, friction 0.1 on flank and guide, at 50 mm.
    close(held.acts, 500.0, 1e-6);
    let steep = (45f64.to_radians() + 0.1_f64.atan()).tan();
    let holds = 20.0 * steep / (1.0 - 0.1 * steep) * 50.0;
    close(held.bears.unwrap(), holds, 1e-6 * holds);
    close(held.wanted, 1.5, 1e-12);
    // A ball of 6 in a cone of 90 deg, 5 wide: r − (r/sin 45 − 2.5).
    let lift = plunger
        .figures
        .iter()
        .find(|f| f.what == "lift")
        .unwrap()
        .value;
    close(lift, 3.0 - (3.0 / 45f64.to_radians().sin() - 2.5), 1e-9);
    // The flank at breakaway: 20/(cos 45 − 0.15 sin 45) along a line as long as the circle of contact is wide (Hertz, a
    // cylinder on a flat): p = sqrt(F E'/(π l r)).
    let normal = 20.0 / (45f64.to_radians().cos() * (1.0 - 0.15));
    let give = 2.0 * (1.0 - 0.292_f64.powi(2)) / 207_000.0;
    let touch = check(
        plunger,
        "contact pressure of the nose on one side of its cone",
    );
    let wide = 6.0 * 45f64.to_radians().cos();
    let pressure = (normal / (give * std::f64::consts::PI * wide * 3.0)).sqrt();
    assert!(
        (touch.acts / pressure - 1.0).abs() < 0.02,
        "{} for {pressure}",
        touch.acts
    );
    // And the force in the notch that would hold half as much again.
    let needed = plunger
        .figures
        .iter()
        .find(|f| f.what == "spring force needed")
        .unwrap()
        .value;
    close(needed, 20.0 * 750.0 / holds, 1e-6);
    assert!(
        plunger
            .would_do
            .as_ref()
            .unwrap()
            .what
            .as_ref()
            .unwrap()
            .starts_with("spring, wire ")
    );
}

#[test]
fn a_plunger_that_does_not_hold_names_a_spring_that_does() {
    let parts = study(&notched(PLUNGER, 20.0));
    let missed = told(
        &parts,
        Severity::Miss,
        "moment that drives it out of the notch",
    );
    let found = missed.what_to_try.clone().unwrap();
    let [wire, outside, coils, free] = sizes(&found);
    let known = format!(
        "plunger = {{ nose = \"6 mm\", mouth = \"5 mm\", bore = \"8 mm\", length = \"20 mm\", free = \"{free} mm\", coil = {{ wire = \"{wire} mm\", outside = \"{outside} mm\", coils = {coils}, material = \"EN 10270-1 SM\" }} }}"
    );
    let with = study(&notched(&known, 20.0));
    let held = check(
        item(&with, Kind::Plunger),
        "moment that drives it out of the notch",
    );
    // Its force may be off by a twelfth.
    assert!(held.factor.unwrap() > 1.5 * 0.91, "{found}: {held:#?}");
    assert!(
        item(&with, Kind::Plunger)
            .checks
            .iter()
            .filter(|c| c.what.contains("spring"))
            .all(|c| c.passes)
    );
}

#[test]
fn plungers_that_cannot_be() {
    let coil = |free: f64, coils: f64, length: f64| {
        format!(
            "plunger = {{ nose = \"6 mm\", mouth = \"5 mm\", bore = \"8 mm\", length = \"{length} mm\", free = \"{free} mm\", coil = {{ wire = \"1 mm\", outside = \"7 mm\", coils = {coils}, material = \"EN 10270-1 SM\" }} }}"
        )
    };
    let solid = study(&notched(&coil(24.0, 14.0, 14.5), 5.0));
    told(
        &solid,
        Severity::Fault,
        "its spring goes solid at 14 mm before the plunger is out",
    );
    let edge = study(&notched(&PLUNGER.replace("5 mm", "4 mm"), 5.0));
    let said = told(&edge, Severity::Caution, "rests on the edge of its seat");
    assert!(
        said.what_to_try
            .as_ref()
            .unwrap()
            .contains("mouth = \"4.3 mm\"")
    );
    let read = |detent: &str| machine::read_text("m.toml", &notched(detent, 5.0));
    let says = |detent: &str, what: &str| {
        let read = read(detent);
        assert!(
            read.problems.iter().any(|p| p.message.contains(what)),
            "{what}: {:#?}",
            read.problems
        );
    };
    says(
        &coil(10.0, 8.0, 14.0),
        "the spring is slack with the plunger home",
    );
    says(
        &coil(24.0, 8.0, 14.0).replace("bore = \"8 mm\"", "bore = \"7 mm\""),
        "the spring is as wide as its hole",
    );
    says(
        &format!("spring = \"20 N\"\n{}", coil(24.0, 8.0, 14.0)),
        "`spring` only goes with a spring whose coil is not known",
    );
    says(&PLUNGER.replace("mouth = \"5 mm\", ", ""), "mouth");
}
