//! Rods on their pins: the metal about their eyes, what bends their pins, how long they may be, how they tire. By hand, the formula beside it.
#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use crate::common::close;
use crate::parts_common::{check, study};
use studies::parts::answers::{Item, Kind, Parts};
use studies::{Finding, Severity};

fn item<'p>(parts: &'p Parts, about: &str, kind: Kind) -> &'p Item {
    let found = parts
        .items
        .iter()
        .find(|i| i.kind == kind && i.about == about);
    found.unwrap_or_else(|| panic!("{about}: {:#?}", parts.items))
}

fn told(parts: &Parts, severity: Severity) -> Vec<&Finding> {
    let all = parts.findings.iter();
    all.filter(|f| f.severity == severity).collect()
}

fn offered(item: &Item) -> Option<&str> {
    item.would_do.as_ref()?.what.as_deref()
}

/// A lever that holds a ram by a rod straight up: the ram's load is the rod's pull.
fn ram(length: f64, rod: &str, joints: &str, pull: f64, rest: &str) -> String {
    let (b, w) = (length, length + 40.0);
    format!(
        r#"
name = "Ram"
[point]
p = [0, 0]
a = [100, 0]
b = {{ at = [100, {b}], station = 0 }}
w = {{ at = [100, {w}], station = 0 }}
[frame]
carries = ["p"]
stock = {{ flat = ["20 mm", "60 mm"], material = "S355J2 to 16 mm" }}
[part.lever]
carries = ["p", "a"]
stock = {{ flat = ["16 mm", "60 mm"], material = "1045 cold drawn" }}
hole.p = {{ ream = "20 H7" }}
{rest}
[part.ram]
carries = ["b", "w"]
stock = {{ flat = ["20 mm", "40 mm"], material = "1045 cold drawn" }}
[slide.ram]
part = "ram"
along = "up"
[rod.r]
joins = ["a", "b"]
{rod}
[joint.p]
diameter = "20 h6"
{joints}
[drive.set]
turns = "lever"
range = ["-5 deg", "5 deg"]
{work}
[load.w]
at = "w"
force = "{pull} N"
along = "up"
"#,
        work = if rest.contains("# works") {
            "per-minute = 60"
        } else {
            ""
        }
    )
}

fn pins(size: &str) -> String {
    format!("[joint.a]\ndiameter = \"{size} h6\"\n[joint.b]\ndiameter = \"{size} h6\"\n")
}

/// 3 kN on a flat 4 x 14 with 12 mm pins: 3000/(4 · 2) beside the pin, 3000/(2 · 4 · 1) to tear out; F/A of the full bar would be 53.6 MPa.
#[test]
fn a_flat_rod_has_eyes() {
    let file = |stock: &str| {
        let rod = format!("stock = {{ flat = [{stock}], material = \"1018 cold drawn\" }}");
        study(&ram(120.0, &rod, &pins("12"), 3000.0, ""))
    };
    let parts = file("\"4 mm\", \"14 mm\"");
    let rod = item(&parts, "rod.r", Kind::Rod);
    close(
        check(rod, "tension beside the hole of the eye").acts,
        375.0,
        0.01,
    );
    let tear = check(rod, "tear-out of the eye");
    close(tear.acts, 375.0, 0.01);
    close(tear.bears.unwrap(), 0.577 * 370.0, 0.01);
    assert!(!tear.passes);
    // Nothing round goes onto a pin, and half the pin stays on either side.
    let words = offered(rod).unwrap();
    assert_eq!(words, "a bar 25 mm wide");
    let wide = file("\"4 mm\", \"25 mm\"");
    assert!(
        item(&wide, "rod.r", Kind::Rod)
            .checks
            .iter()
            .all(|c| c.passes)
    );
    // No metal at all.
    let none = file("\"4 mm\", \"10 mm\"");
    let faults = told(&none, Severity::Fault);
    assert_eq!(faults.len(), 1, "{faults:#?}");
    assert!(faults[0].sentence.contains("nothing is left beside it"));
    assert_eq!(item(&none, "rod.r", Kind::Rod).faults.len(), 1);
}

/// Two ears of 8 about a rod of 12, 6 kN: M = 3000 (4 + 3) = 21 N·m (Shigley, pin in a clevis); on 10 mm 32 M/π d³ = 213.9 MPa, on 8 mm 417.8.
#[test]
fn a_rod_bends_its_pin() {
    let rod = "stock = { flat = [\"12 mm\", \"25 mm\"], material = \"1045 cold drawn\" }";
    let joints =
        "[joint.a]\nfork = \"lever\"\ndiameter = \"10 h6\"\n[joint.b]\ndiameter = \"10 h6\"\n";
    let parts = study(&ram(
        200.0,
        rod,
        joints,
        6000.0,
        "hole.a = { ream = \"10 H7\", length = \"8 mm\" }",
    ));
    let pin = item(&parts, "joint.a", Kind::Pin);
    let bent = check(pin, "bending of the pin");
    close(bent.acts, 213.9, 1.0);
    assert!(!bent.passes);
    assert_ne!(offered(pin), Some("a pin of 8 mm"));
    // A stud in the ram, 6 mm out: 6000 · 6.
    let stud = item(&parts, "joint.b", Kind::Pin);
    assert!(stud.checks.len() > 1, "{stud:#?}");
}

/// A pin under a rod of round bar, whose ends nobody tells of: shear alone is known, and nothing is offered.
#[test]
fn nothing_is_offered_where_bending_is_not_known() {
    let rod = "stock = { round = \"16 mm\", material = \"1018 cold drawn\" }";
    let parts = study(&ram(
        200.0,
        rod,
        &pins("12"),
        500.0,
        "hole.a = { ream = \"12 H7\" }",
    ));
    let pin = item(&parts, "joint.a", Kind::Pin);
    assert_eq!(pin.would_do, None);
    assert!(
        pin.assumed
            .iter()
            .any(|a| a.contains("nothing else is offered"))
    );
    let rod = item(&parts, "rod.r", Kind::Rod);
    assert_eq!(rod.would_do, None);
}

/// Series K M10 (ISO 12240-4): 43 mm from eye to face, tapped 20 deep; 48 to the end of a stem with 29 of thread.
#[test]
fn a_rod_is_as_long_as_its_ends() {
    let file = |length: f64, ends: &str, rest: &str| {
        let rod = format!(
            "stock = {{ round = \"16 mm\", material = \"1018 cold drawn\" }}\nthread = \"M10\"\nthreads = \"both ends\"\nrod-ends = \"{ends}\""
        );
        let mut text = ram(
            length,
            &rod,
            &pins("10"),
            500.0,
            "hole.a = { ream = \"10 H7\" }",
        );
        text.push_str(rest);
        study(&text)
    };
    let short = |parts: &Parts| {
        told(parts, Severity::Fault)
            .iter()
            .any(|f| f.sentence.contains("its rod ends alone are"))
    };
    // Stems sawn off to 10 mm: 2 (19 + 10); faces of shanks: 2 · 43.
    assert!(short(&file(40.0, "M10 male", "")) && short(&file(57.0, "M10 male", "")));
    assert!(!short(&file(59.0, "M10 male", "")));
    assert!(short(&file(85.0, "M10 female", "")) && !short(&file(87.0, "M10 female", "")));
    // Half in: 200 − 2 (43 − 15) of bar between shanks, 200 − 2 · 28.5 between stems.
    let bought = |parts: &Parts| {
        parts
            .buy
            .iter()
            .any(|b| b.what.contains("cut 144 mm, 200 mm"))
    };
    assert!(bought(&file(200.0, "M10 female", "")));
    let stems = file(200.0, "M10 male", "");
    assert!(
        stems.buy.iter().any(|b| b.what.contains("cut 143 mm")),
        "{:?}",
        stems.buy
    );
    // Each shank gives 10 mm with its own diameter of thread left in it.
    let set = |range: &str| {
        let parts = file(
            200.0,
            "M10 female",
            &format!("[setting.r]\nrod = \"r\"\nrange = [{range}]\n"),
        );
        told(&parts, Severity::Fault).iter().any(|f| {
            f.sentence
                .contains("the threads of its rod ends give 20 mm")
        })
    };
    assert!(set("\"-30 mm\", \"60 mm\"") && !set("\"-9 mm\", \"9 mm\""));
}

/// 4.5 kN sixty times a minute on M8 cut in 1018 CD (Su 440): As 36.6, half of 123 MPa alternates; Se = 220 · 0.90 · 0.814 without size in
/// pull, the stress over 0.85, Kf 2.8 (Shigley tables 6-2, 6-5, 8-16): (2.8 · 72.3)(1/161 + 1/440) = 1.72 of the limit.
#[test]
fn threads_of_rods_tire() {
    let rod = "stock = { round = \"8 mm\", material = \"1018 cold drawn\" }\nthread = \"M8\"";
    let parts = study(&ram(
        200.0,
        rod,
        &pins("14"),
        4500.0,
        "hole.a = { ream = \"14 H7\" }\n# works",
    ));
    let rod = item(&parts, "rod.r", Kind::Rod);
    let tires = check(rod, "fatigue of the rod at its thread");
    let half = 0.5 * 4500.0 / 36.61 / 0.85;
    let endures = 220.0 * 4.51 * 440f64.powf(-0.265) * (1.0 - 0.08 * 2.326);
    close(tires.acts, 2.8 * half * (1.0 / endures + 1.0 / 440.0), 0.02);
    assert!(!tires.passes);
    assert_eq!(offered(rod), None);
    // The ram on its slide tires with the lever that works it.
    let bar = item(&parts, "part.lever", Kind::Bar);
    assert!(bar.checks.iter().any(|c| c.what.starts_with("fatigue")));
}
