//! What is said to do, put into the file, does: nothing of that element is missed, and nothing smaller is offered again.

use crate::parts_common::{item, study};
use studies::answers::{Finding, Severity};
use studies::parts::answers::{Kind, Parts};

fn missed<'p>(parts: &'p Parts, about: &str) -> Vec<&'p Finding> {
    let bad = |f: &&Finding| matches!(f.severity, Severity::Miss | Severity::Fault);
    parts
        .findings
        .iter()
        .filter(bad)
        .filter(|f| f.about == about)
        .collect()
}

/// Numbers in words: "a key 14 mm long" has 14.
fn numbers(words: &str) -> Vec<f64> {
    words.split(' ').filter_map(|w| w.parse().ok()).collect()
}

/// The first thread in words.
fn thread(words: &str) -> Option<&str> {
    words
        .split(' ')
        .find(|w| w.starts_with('M') && w[1..].starts_with(|c: char| c.is_ascii_digit()))
}

/// Feeds what would do back, load by load; `put` makes the file from what is in it. At least one load offers something.
fn feeds_back(
    kind: Kind,
    loads: &[f64],
    first: &str,
    file: impl Fn(&str, f64) -> String,
    put: impl Fn(&str) -> Option<String>,
) {
    let mut offered = 0;
    for force in loads {
        let parts = study(&file(first, *force));
        let own = item(&parts, kind);
        let Some(words) = own.would_do.as_ref().and_then(|w| w.what.clone()) else {
            continue;
        };
        let Some(new) = put(&words) else {
            panic!("{kind:?}: {words}");
        };
        let again = study(&file(&new, *force));
        let own = item(&again, kind);
        let bad = missed(&again, &own.about);
        assert!(
            bad.is_empty(),
            "{kind:?} {force} {words} -> {new}: {bad:#?}"
        );
        if let Some(would) = &own.would_do {
            assert!(
                !would.smaller,
                "{kind:?} {force} {words} -> {new}: {would:?}"
            );
        }
        offered += 1;
    }
    assert!(offered > 0, "{kind:?}: nothing was offered");
}

/// An arm on a shaft that swings and carries a load; what holds it is put in.
fn arm(held_by: &str, force: f64) -> String {
    format!(
        r#"
name = "Arm"
[point]
c = [0, 0]
a = {{ from = "c", by = [60, 0], station = 30 }}
[frame]
carries = ["c"]
[shaft.s]
centre = "c"
stock = {{ round = "20 mm", material = "S355J2" }}
bearings = ["-40 mm", "20 mm"]
[part.arm]
carries = ["a"]
clamped-to = "s"
stock = {{ flat = ["12 mm", "40 mm"], material = "S355J2" }}
held-by = {{ {held_by} }}
[drive.d]
turns = "s"
range = ["-10 deg", "10 deg"]
[load.w]
at = "a"
force = "{force} N"
along = "down"
"#
    )
}

const LOADS: [f64; 5] = [30.0, 100.0, 300.0, 800.0, 1500.0];

#[test]
fn what_holds_an_arm() {
    let hub = "hub = \"44 mm\"";
    let long = |words: &str| numbers(words).first().map(|n| format!("{n}"));
    feeds_back(
        Kind::Hold,
        &LOADS,
        "25",
        |l, f| {
            arm(
                &format!("key = \"parallel\", length = \"{l} mm\", {hub}"),
                f,
            )
        },
        long,
    );
    feeds_back(
        Kind::Hold,
        &LOADS,
        "M6",
        |t, f| {
            arm(
                &format!("set-screw = \"{t}\", count = 2, length = \"25 mm\", {hub}"),
                f,
            )
        },
        |words| thread(words).map(str::to_owned),
    );
    feeds_back(
        Kind::Hold,
        &LOADS,
        "M6",
        |t, f| {
            arm(
                &format!("pinch-screw = \"{t}\", length = \"25 mm\", {hub}"),
                f,
            )
        },
        |words| thread(words).map(str::to_owned),
    );
    feeds_back(
        Kind::Hold,
        &LOADS,
        "4",
        |d, f| arm(&format!("pin = \"{d} mm\", length = \"25 mm\", {hub}"), f),
        long,
    );
    feeds_back(
        Kind::Hold,
        &[300.0, 1500.0, 6000.0],
        "5",
        |l, f| arm(&format!("weld = \"{l} mm\", length = \"12 mm\", {hub}"), f),
        long,
    );
    feeds_back(
        Kind::Hold,
        &[300.0, 1500.0, 6000.0],
        "12",
        |l, f| arm(&format!("braze = true, length = \"{l} mm\", {hub}"), f),
        long,
    );
    // A press fit, or one in a longer hub.
    feeds_back(
        Kind::Hold,
        &LOADS,
        "H7/s6|25",
        |t, f| {
            let (fit, length) = t.split_once('|').unwrap();
            arm(
                &format!("press = \"{fit}\", length = \"{length} mm\", hub = \"60 mm\""),
                f,
            )
        },
        |words| {
            let fit = words.split(' ').find(|w| w.contains('/'))?;
            let length = numbers(words).first().copied().unwrap_or(25.0);
            Some(format!("{fit}|{length}"))
        },
    );
}

/// A lever on a stud, loaded at its tip, working by the minute.
fn lever(hole: &str, joint: &str, force: f64) -> String {
    format!(
        r#"
name = "Lever"
[point]
p = [0, 0]
a = [80, 0]
[frame]
carries = ["p"]
stock = {{ flat = ["20 mm", "80 mm"], material = "S355J2" }}
[part.lever]
carries = ["p", "a"]
stock = {{ flat = ["12 mm", "80 mm"], material = "S355J2" }}
hole.p = {{ {hole} }}
[joint.p]
{joint}
[drive.set]
turns = "lever"
range = ["-20 deg", "20 deg"]
per-minute = 30
[usual]
life-hours = 500
[load.w]
at = "a"
force = "{force} N"
along = "down"
with = "lever"
"#
    )
}

#[test]
fn pins_of_levers() {
    let size = |words: &str| numbers(words).first().map(|n| format!("{n}"));
    for fork in ["", "\nfork = \"frame\""] {
        feeds_back(
            Kind::Pin,
            &[50.0, 400.0, 2000.0, 6000.0],
            "8",
            |d, f| {
                let joint = format!("diameter = \"{d} h6\"\nmaterial = \"C45+C\"{fork}");
                lever(&format!("ream = \"{d} H7\""), &joint, f)
            },
            size,
        );
    }
}

#[test]
fn bushings() {
    feeds_back(
        Kind::Bushing,
        &[50.0, 400.0, 1500.0],
        "14",
        |l, f| {
            lever(
                &format!(
                    "bushing = \"cast bronze\", bore = \"16 F7\", outside = \"22 r6\", length = \"{l} mm\", around = \"60 mm\""
                ),
                "diameter = \"16 h6\"",
                f,
            )
        },
        |words| numbers(words).first().map(|n| format!("{n}")),
    );
}

/// A crank that goes round under a load that stands still.
fn crank(bearing: &str, force: f64) -> String {
    format!(
        r#"
name = "Crank"
[point]
c = [0, 0]
a = [30, 0]
[frame]
carries = ["c"]
stock = {{ flat = ["20 mm", "120 mm"], material = "S355J2" }}
hole.c = {{ bearing = "{bearing}", hub = "slide" }}
[part.crank]
carries = ["c", "a"]
[joint.c]
diameter = "12 j6"
[drive.d]
turns = "crank"
range = "whole turn"
per-minute = 100
[usual]
life-hours = 1000
[load.w]
at = "a"
force = "{force} N"
along = "down"
"#
    )
}

#[test]
fn bearings() {
    feeds_back(
        Kind::Bearing,
        &[50.0, 500.0, 1000.0, 2000.0],
        "6001",
        crank,
        |words| words.strip_prefix("a ").map(str::to_owned),
    );
}

/// A rod that holds a loaded lever.
fn rod(t: &str, force: f64) -> String {
    format!(
        r#"
name = "Rod"
[point]
p = [0, 0]
a = [80, 0]
b = [80, 150]
q = [0, 150]
[frame]
carries = ["p", "q"]
[part.lever]
carries = ["p", "a"]
[part.swing]
carries = ["q", "b"]
[rod.link]
joins = ["a", "b"]
thread = "{t}"
stock = {{ round = "30 mm", material = "S355J2" }}
rod-ends = "{t} female"
[drive.set]
turns = "lever"
range = ["-20 deg", "20 deg"]
[load.w]
at = "b"
force = "{force} N"
along = "down"
with = "swing"
"#
    )
}

#[test]
fn rod_ends() {
    feeds_back(
        Kind::RodEnd,
        &[200.0, 1200.0, 3000.0, 9000.0],
        "M8",
        |t, f| {
            // Shanks of M18 and M20 are fine.
            let t = match t {
                "M18" => "M18x1.5",
                "M20" => "M20x1.5",
                other => other,
            };
            rod(t, f).replace(
                &format!("rod-ends = \"{t} female\""),
                &format!("rod-ends = \"{} female\"", t.split('x').next().unwrap()),
            )
        },
        |words| thread(words).map(str::to_owned),
    );
}

/// A lever that works a spring by the minute; what it is made of is put in.
fn sprung(spring: &str) -> String {
    format!(
        r#"
name = "Sprung"
[point]
p = [0, 0]
a = [100, 0]
f = [100, -60]
[frame]
carries = ["p", "f"]
[part.lever]
carries = ["p", "a"]
[drive.set]
turns = "lever"
range = ["-8 deg", "0 deg"]
per-minute = 60
[usual]
life-hours = 2000
{spring}
"#
    )
}

/// A spring that works by the minute is chosen so that it does not tire, in a pocket and over a rod alone.
#[test]
fn springs_that_work() {
    for (rate, room) in [
        (1.0, "pocket = \"20 mm\""),
        (3.0, "pocket = \"26 mm\""),
        (1.0, "rod = \"10 mm\""),
        (4.0, "rod = \"12 mm\""),
    ] {
        for wire in ["EN 10270-1 SM", "1.4310", "FDC"] {
            let asked = sprung(&format!(
                "[spring.back]\nbetween = [\"a\", \"f\"]\nfree = \"70 mm\"\npushes-only = true\nrate = \"{rate} N/mm\"\nroom = {{ {room}, material = \"{wire}\" }}"
            ));
            let parts = study(&asked);
            let would = item(&parts, Kind::Spring).would_do.clone().unwrap();
            let Some(words) = would.what else {
                assert!(!would.from.is_empty());
                continue;
            };
            let [d, outside, coils, free] = numbers(&words)[..] else {
                panic!("{words}");
            };
            let again = study(&sprung(&format!(
                "[spring.back]\nbetween = [\"a\", \"f\"]\nfree = \"{free} mm\"\npushes-only = true\ncoil = {{ wire = \"{d} mm\", outside = \"{outside} mm\", coils = {coils}, material = \"{wire}\", {room} }}"
            )));
            let own = item(&again, Kind::Spring);
            assert!(
                own.checks
                    .iter()
                    .any(|c| c.what == "fatigue of the spring" && c.passes),
                "{words}: {:#?}",
                own.checks
            );
            let bad = missed(&again, &own.about);
            assert!(bad.is_empty(), "{words}: {bad:#?}");
        }
    }
}

/// A clamp that holds a loaded lever: the screw that would do does, and asks for no thinner one.
#[test]
fn clamp_screws() {
    let file = |screw: &str, force: f64| {
        format!(
            "{}\n[clamp.ring]\nholds = \"set\"\nradius = \"15 mm\"\nscrew = \"{screw}\"\n",
            lever("ream = \"12 H7\"", "diameter = \"12 h6\"", force)
        )
    };
    feeds_back(Kind::Hold, &[20.0, 100.0, 200.0], "M6", file, |words| {
        thread(words).map(str::to_owned)
    });
    // By hand: 100 N at 80 mm are 8 N·m, 533 N at 15 mm, 5.3 kN at friction 0.1.
    let parts = study(&file("M10", 100.0));
    let own = item(&parts, Kind::Hold);
    let push = own
        .checks
        .iter()
        .find(|c| c.what == "force of the clamp screw")
        .unwrap();
    assert!((push.acts / 5333.0 - 1.0).abs() < 0.1, "{}", push.acts);
}

/// A spring that pulls, and one that turns, are chosen so that they do what was asked, too.
#[test]
fn springs_that_pull_and_turn() {
    let fed = |asked: &str, put: &dyn Fn(&[f64]) -> String| {
        let parts = study(&sprung(asked));
        let would = item(&parts, Kind::Spring).would_do.clone().unwrap();
        let words = would
            .what
            .unwrap_or_else(|| panic!("{asked}: {}", would.from));
        let again = study(&sprung(&put(&numbers(&words))));
        let own = item(&again, Kind::Spring);
        let tires = own
            .checks
            .iter()
            .any(|c| c.what.contains("fatigue") && c.passes);
        assert!(tires, "{words}: {:#?}", own.checks);
        let bad = missed(&again, &own.about);
        assert!(bad.is_empty(), "{words}: {bad:#?}");
    };
    let wire = "EN 10270-1 SM";
    for rate in [0.5, 1.5] {
        fed(
            &format!(
                "[spring.back]\nbetween = [\"a\", \"f\"]\nfree = \"40 mm\"\npulls-only = true\nrate = \"{rate} N/mm\"\nroom = {{ pocket = \"20 mm\", material = \"{wire}\" }}"
            ),
            &|n| {
                let [d, outside, coils, free, initial] = *n else {
                    panic!("{n:?}");
                };
                format!(
                    "[spring.back]\nbetween = [\"a\", \"f\"]\nfree = \"{free} mm\"\npulls-only = true\ncoil = {{ wire = \"{d} mm\", outside = \"{outside} mm\", coils = {coils}, material = \"{wire}\", initial = \"{initial} N\" }}"
                )
            },
        );
    }
    for rate in [5, 20] {
        fed(
            &format!(
                "[spring.back]\nturns = \"lever\"\nrate = \"{rate} N mm/deg\"\nslack = \"20 deg\"\nroom = {{ rod = \"8 mm\", pocket = \"30 mm\", material = \"{wire}\" }}"
            ),
            &|n| {
                let [d, outside, coils] = *n else {
                    panic!("{n:?}");
                };
                format!(
                    "[spring.back]\nturns = \"lever\"\nslack = \"20 deg\"\ncoil = {{ wire = \"{d} mm\", outside = \"{outside} mm\", coils = {coils}, material = \"{wire}\", rod = \"8 mm\" }}"
                )
            },
        );
    }
}
