//! Loads that go both ways, metals that are no steel, seats on turned steps, who holds a stud, what does not go into its hub. By hand, the
//! formula beside it.
#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use crate::common::close;
use crate::parts_common::{check, item, study};
use studies::Severity;
use studies::parts::answers::{Item, Kind, Parts};

fn says(parts: &Parts, severity: Severity, words: &str) -> bool {
    let mut all = parts.findings.iter();
    all.any(|f| f.severity == severity && f.sentence.contains(words))
}

fn offered(item: &Item) -> Option<&str> {
    item.would_do.as_ref()?.what.as_deref()
}

/// An arm of 60 mm that goes round under 2 kN which always push down: 120 N·m one way at one side, as much the other way at the other.
fn crank(material: &str, held_by: &str, rest: &str) -> String {
    format!(
        r#"
name = "Crank"
[point]
c = [0, 0]
a = {{ from = "c", by = [60, 0], station = 30 }}
[frame]
carries = ["c"]
[shaft.s]
centre = "c"
stock = {{ round = "20 mm", material = "{material}" }}
bearings = ["-40 mm", "40 mm"]
[part.arm]
carries = ["a"]
clamped-to = "s"
stock = {{ flat = ["12 mm", "20 mm"], material = "1018 cold drawn" }}
held-by = {{ {held_by} }}
[drive.d]
turns = "s"
range = "whole turn"
per-minute = 60
[load.w]
at = "a"
force = "2 kN"
along = "down"
{rest}
"#
    )
}

const KEY: &str = "key = \"parallel\", hub = \"40 mm\", length = \"25 mm\"";

/// 2 kN · (60 − 20) mm at the edge of a hub of 40 on 12 x 20: 80 N·m on 800 mm³ are 100 MPa, to and fro. Su 440: Se = 220 · 0.90 · kb · 0.814,
/// de = 0.808 √(12 · 20) (Shigley 6-9).
#[test]
fn a_clamped_arm_that_goes_round_under_its_load_tires() {
    let parts = study(&crank("1045 cold drawn", KEY, ""));
    let bar = item(&parts, Kind::Bar);
    let kb = 1.24 * (0.808 * 240f64.sqrt()).powf(-0.107);
    let endures = 220.0 * 4.51 * 440f64.powf(-0.265) * kb * (1.0 - 0.08 * 2.326);
    let tires = check(bar, "fatigue");
    close(tires.acts, 100.0 / endures, 0.02);
    assert!(!tires.passes);
    assert!(
        bar.assumed
            .iter()
            .any(|a| a.contains("all of it alternates"))
    );
    // Torque of the shaft: + 120 and − 120 N·m.
    let shaft = item(&parts, Kind::Shaft);
    assert!(
        shaft
            .assumed
            .iter()
            .any(|a| a.contains("all the torsion alternates")),
        "{:#?}",
        shaft.assumed
    );
}

/// The same arm when the load goes round with it comes and goes: a half.
#[test]
fn what_goes_round_with_its_load_pulses() {
    let text = crank("1045 cold drawn", KEY, "")
        .replace("along = \"down\"", "along = \"down\"\nwith = \"arm\"");
    let parts = study(&text);
    let bar = item(&parts, Kind::Bar);
    assert!(
        bar.assumed
            .iter()
            .any(|a| a.contains("half of it alternates")),
        "{:#?}",
        bar.assumed
    );
}

/// 6061-T6 has no endurance limit: it bore 97 MPa 5·10⁸ times on the turning bar (Shigley table A-24, alloy data). Reversed torsion at a keyway
/// counts three times.
#[test]
fn aluminium_tires() {
    let parts = study(&crank("6061-T6", KEY, ""));
    let shaft = item(&parts, Kind::Shaft);
    let tires = check(shaft, "fatigue of the shaft");
    // √3 · 3 · 16 · 120 000/π 20³ in torsion alone over 97 · 0.986 · 0.90 · 0.814; bending adds to it.
    let torsion = 3f64.sqrt() * 3.0 * 16.0 * 120_000.0 / (std::f64::consts::PI * 8000.0);
    let endures =
        97.0 * 4.51 * 310f64.powf(-0.265) * 1.24 * 20f64.powf(-0.107) * (1.0 - 0.08 * 2.326);
    assert!(
        tires.acts > torsion / endures && tires.acts < 2.0 * torsion / endures,
        "{}",
        tires.acts
    );
    assert!(!tires.passes);
    assert_ne!(offered(shaft), Some("round bar of 12 mm"));
}

/// Nothing is known of what plastics bear of loads that come again: a word, and nothing smaller.
#[test]
fn what_is_not_known_to_tire_is_told() {
    let parts = study(&crank("acetal", KEY, ""));
    let shaft = item(&parts, Kind::Shaft);
    assert_eq!(shaft.would_do, None);
    assert!(says(&parts, Severity::Caution, "fatigue is not checked"));
    assert!(!shaft.assumed.iter().any(|a| a.contains("Goodman")));
}

/// A roll of 40 mm with necks of 20: what sits on a neck sits on 20 mm, with the key of 20 mm (DIN 6885-1: 6 x 6), and twists 20 mm: 60 N·m are
/// 38.2 MPa, √3 times that by yield over what the keyway leaves.
#[test]
fn what_sits_on_a_step_sits_on_its_diameter() {
    let text = |hub: &str| {
        format!(
            r#"
name = "Roll"
[point]
c = [0, 0]
k = {{ from = "c", by = [30, 0], station = 60 }}
[frame]
carries = ["c"]
[shaft.roll]
centre = "c"
stock = {{ round = "40 mm", material = "4140 QT 540 C" }}
bearings = ["-50 mm", "50 mm"]
[part.crank]
carries = ["k"]
clamped-to = "roll"
stock = {{ flat = ["12 mm", "40 mm"], material = "1045 cold drawn" }}
held-by = {{ key = "parallel", hub = "{hub}", length = "20 mm" }}
[piece.roll]
stock = {{ round = "40 mm", material = "4140 QT 540 C" }}
starts = "-62 mm"
steps = [
 {{ diameter = "20 h6", length = "22 mm" }},
 {{ diameter = "40 mm", length = "80 mm" }},
 {{ diameter = "20 h6", length = "30 mm" }},
]
[drive.feed]
turns = "roll"
range = "whole turn"
per-minute = 60
[load.push]
at = "k"
force = "2 kN"
along = "down"
[joint.c]
diameter = "20 h6"
"#
        )
    };
    let parts = study(&text("36 mm"));
    assert!(!says(&parts, Severity::Fault, "nothing is left round it"));
    assert!(
        parts
            .buy
            .iter()
            .any(|b| b.what.starts_with("parallel key 6 mm x 6 mm")),
        "{:?}",
        parts.buy
    );
    let shaft = item(&parts, Kind::Shaft);
    let keyed = check(shaft, "yield of the shaft at crank on its 20 mm");
    let torsion = 16.0 * 60_000.0 / (std::f64::consts::PI * 8000.0);
    let left = 1.0 - 0.2 * 0.3 - 1.1 * 3.5 / 20.0;
    assert!(
        keyed.acts >= 3f64.sqrt() * torsion / left * 0.999,
        "{}",
        keyed.acts
    );
    let wide = study(&text("70 mm"));
    check(
        item(&wide, Kind::Shaft),
        "fatigue of the shaft at crank on its 20 mm",
    );
}

fn lever(lever: &str, joint: &str, rest: &str) -> String {
    format!(
        r#"
name = "Lever"
[point]
p = [0, 0]
a = [100, 0]
[frame]
carries = ["p"]
stock = {{ flat = ["12 mm", "40 mm"], material = "S235JR to 16 mm" }}
{rest}
[part.lever]
carries = ["p", "a"]
{lever}
[drive.set]
turns = "lever"
range = ["-20 deg", "20 deg"]
per-minute = 30
[load.w]
at = "a"
force = "500 N"
along = "down"
with = "lever"
[joint.p]
{joint}
"#
    )
}

/// Tapped into a lever of 4 mm the stud stands in the lever and is loaded in the middle of the frame's 12: 500 · 6 · 32/π 12³ = 17.7 MPa; in its
/// hole F (6 a + 4 s)/(d s²) = 500 (36 + 16)/(12 · 16).
#[test]
fn a_stud_stands_in_what_is_tapped() {
    let parts = study(&lever(
        "stock = { flat = [\"4 mm\", \"30 mm\"], material = \"1018 cold drawn\" }\nhole.p = { tap = \"M12\" }",
        "diameter = \"12 h6\"",
        "",
    ));
    let pin = item(&parts, Kind::Pin);
    close(
        check(pin, "bending of the stud at its holder").acts,
        17.68,
        0.1,
    );
    close(check(pin, "pressure of the stud").acts, 135.4, 0.2);
    assert!(
        pin.assumed.iter().any(|a| a.contains("a stud in lever")),
        "{:#?}",
        pin.assumed
    );
    // Neither is tapped or tight: the worse, told.
    let free = study(&lever(
        "stock = { flat = [\"4 mm\", \"30 mm\"], material = \"1018 cold drawn\" }\nhole.p = { ream = \"12 H7\" }",
        "diameter = \"12 h6\"",
        "hole.p = { ream = \"12 H7\" }",
    ));
    let pin = item(&free, Kind::Pin);
    close(
        check(pin, "bending of the stud at its holder").acts,
        17.68,
        0.1,
    );
    assert!(
        pin.assumed.iter().any(|a| a.contains("whichever is worse")),
        "{:#?}",
        pin.assumed
    );
}

/// 12 u6 (33 to 44 µm) in 12 H7, hub 30: p = 0.044 · 207 000/24 · (1 − 0.16) = 318.8 MPa (Lamé); von Mises at the bore p √(3 + k⁴)/(1 − k²), 660.
#[test]
fn a_pin_that_is_tight_in_a_plain_hole_is_pressed_in() {
    let parts = study(&lever(
        "stock = { flat = [\"12 mm\", \"30 mm\"], material = \"1018 cold drawn\" }\nhole.p = { ream = \"12 H7\" }",
        "diameter = \"12 u6\"",
        "",
    ));
    let hole = item(&parts, Kind::Hole);
    let force = hole
        .figures
        .iter()
        .find(|f| f.what == "force to press it in")
        .unwrap();
    let pressure = 318.8;
    assert!(
        force.value > 0.1 * pressure * std::f64::consts::PI * 144.0,
        "{}",
        force.value
    );
    let hub = hole
        .checks
        .iter()
        .find(|c| c.source.contains("Lam"))
        .unwrap();
    close(
        hub.acts,
        pressure * (3.0 + 0.16f64.powi(2)).sqrt() / 0.84,
        6.0,
    );
    assert!(!hub.passes);
    let pin = item(&parts, Kind::Pin);
    assert!(pin.assumed.iter().any(|a| a.contains("a stud in lever")));
}

/// A bearing of 35 mm in a pinion of 18 teeth of module 2, whose teeth go down to 2 (18 − 2.5) = 31 mm.
#[test]
fn a_bearing_goes_into_a_pinion_by_its_root_circle() {
    let parts = study(
        r#"
name = "Pinion"
[point]
a = [0, 0]
b = [72, 0]
[frame]
carries = ["a", "b"]
[part.pinion]
carries = ["a"]
stock = { flat = ["20 mm", "50 mm"], material = "1045 cold drawn" }
hole.a = { bearing = "6202-2RS", hub = "press" }
[part.wheel]
carries = ["b"]
stock = { round = "120 mm", material = "1045 cold drawn" }
[joint.a]
diameter = "15 h6"
[gear.g]
joins = ["pinion", "wheel"]
teeth = [18, 54]
module = "2 mm"
face = "12 mm"
backlash = "0.08 mm"
[drive.feed]
turns = "pinion"
range = "whole turn"
per-minute = 20
[load.roll]
on = "wheel"
moment = "10 N m"
"#,
    );
    assert!(
        says(&parts, Severity::Fault, "31 mm"),
        "{:#?}",
        parts.findings
    );
}

/// M16 heads are 24 mm (ISO 4762) and do not go through a hub 10 mm long; a bead has no more leg than the wall of 1 mm that it joins.
#[test]
fn what_does_not_go_into_its_hub() {
    let pinched = study(&crank(
        "1045 cold drawn",
        "pinch-screw = \"M16\", hub = \"40 mm\", length = \"10 mm\"",
        "",
    ));
    assert!(says(
        &pinched,
        Severity::Fault,
        "does not go through a hub 10 mm long"
    ));
    let hold = item(&pinched, Kind::Hold);
    assert!(!hold.faults.is_empty());
    assert_ne!(offered(hold), Some("M8 of class 8.8"));
    let welded = study(&crank(
        "1018 cold drawn",
        "weld = \"20 mm\", hub = \"22 mm\", length = \"5 mm\"",
        "",
    ));
    assert!(says(
        &welded,
        Severity::Fault,
        "no place for a bead of 20 mm on a wall of 1 mm"
    ));
    let thick = study(&crank(
        "1018 cold drawn",
        "weld = \"1 mm\", hub = \"22 mm\", length = \"5 mm\"",
        "",
    ));
    let throat = |parts: &Parts| check(item(parts, Kind::Hold), "throat of the weld").acts;
    close(throat(&welded), throat(&thick), 1e-6);
    assert_eq!(offered(item(&welded, Kind::Hold)), None);
}

/// A shaft in two places has two bushings, and the worst that is said comes first.
#[test]
fn both_bushings_are_bought_and_the_worst_stands_first() {
    let text = crank("1045 cold drawn", KEY, "").replace(
        "[frame]\ncarries = [\"c\"]",
        "[frame]\ncarries = [\"c\"]\nstock = { flat = [\"20 mm\", \"80 mm\"], material = \"S355J2\" }\nhole.c = { bushing = \"cast bronze\", bore = \"20 F7\", outside = \"26 r6\" }",
    );
    let parts = study(&text);
    let bushings = parts
        .buy
        .iter()
        .find(|b| b.what.contains("bushing"))
        .unwrap();
    assert_eq!(bushings.count, 2);
    let borne = |f: &studies::Finding| f.number.zip(f.margin).map(|(n, m)| n / (n - m));
    let missed: Vec<f64> = parts
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Miss)
        .filter_map(borne)
        .collect();
    assert!(
        missed.len() > 1 && missed.windows(2).all(|w| w[0] <= w[1]),
        "{missed:?}"
    );
}

/// A crank that a motor turns by a belt of 1 to 4 goes through the same as one that is turned itself: its bar bends as hard, its bearing goes
/// round at a quarter of the speed.
#[test]
fn what_is_belted_down_goes_round_too() {
    let file = |drive: &str, often: f64, belt: &str| {
        format!(
            r#"
name = "Saw"
[point]
m = [-200, 0]
c = [0, 0]
k = {{ from = "c", reach = 50, angle = "0 deg" }}
[frame]
carries = ["c", "m"]
stock = {{ flat = ["16 mm", "80 mm"], material = "S355J2" }}
hole.c = {{ bearing = "6203-2RS", hub = "slide" }}
[part.crank]
carries = ["c", "k"]
stock = {{ flat = ["16 mm", "40 mm"], material = "1018 cold drawn" }}
[joint.c]
diameter = "17 k6"
{belt}
[drive.motor]
turns = "{drive}"
range = "whole turn"
per-minute = {often}
[load.cut]
at = "k"
force = "400 N"
along = "down"
"#
        )
    };
    let own = study(&file("crank", 90.0, ""));
    let belted = study(&file(
        "pulley",
        360.0,
        "[part.pulley]\ncarries = [\"m\"]\n[belt.b]\njoins = [\"pulley\", \"crank\"]\nsizes = [50, 200]",
    ));
    let bent = |parts: &Parts| check(item(parts, Kind::Bar), "bending").acts;
    close(bent(&belted), bent(&own), 0.01 * bent(&own));
    let life = |parts: &Parts| {
        let all = item(parts, Kind::Bearing).figures.iter();
        let life = all
            .clone()
            .find(|f| f.what.starts_with("life"))
            .map(|f| (f.value, f.sentence.clone()));
        life.unwrap_or_else(|| panic!("{:#?}", item(parts, Kind::Bearing)))
    };
    let [(hours, words), (other, same)] = [life(&own), life(&belted)];
    close(hours / other, 1.0, 0.02);
    assert!(
        words.contains("turning at 90 rev/min") && same.contains("turning at 90 rev/min"),
        "{words} {same}"
    );
}

/// A notch of S235 bears 0.56 of what the nose presses: a spring that presses no less is no help.
#[test]
fn a_dented_seat_wants_no_other_spring() {
    let parts = study(
        r#"
name = "Notch"
[point]
p = [0, 0]
a = [100, 0]
[frame]
carries = ["p"]
stock = { flat = ["12 mm", "40 mm"], material = "S235JR to 16 mm" }
[part.lever]
carries = ["p", "a"]
[drive.set]
turns = "lever"
range = ["-20 deg", "20 deg"]
[load.w]
at = "a"
force = "20 N"
along = "down"
with = "lever"
[detent.d]
drive = "set"
at = "0 deg"
radius = "40 mm"
seat = { cone = "90 deg" }
plunger = { nose = "6 mm", mouth = "5 mm", bore = "8 mm", length = "20 mm", material = "EN 10270-1 SM" }
spring = "60 N"
[usual]
friction = [0.1, 0.15]
"#,
    );
    let plunger = item(&parts, Kind::Plunger);
    assert_eq!(offered(plunger), None);
    let missed = parts
        .findings
        .iter()
        .find(|f| f.about == "detent.d" && f.severity == Severity::Miss)
        .unwrap();
    assert!(
        missed
            .what_to_try
            .as_ref()
            .unwrap()
            .contains("hardened steel"),
        "{missed:?}"
    );
}

/// Weld metal of 427 MPa as a forging, in shear: 272 · 427^-0.995 · 0.59 · 213.5 · 0.814, of which a weld by hand is given 0.7; at the end of a bead
/// 2.7 times the shear (Shigley 9-6, table 9-5). The torque reverses, so that all of it alternates.
#[test]
fn welds_tire() {
    let parts = study(&crank(
        "1018 cold drawn",
        "weld = \"5 mm\", hub = \"44 mm\", length = \"12 mm\"",
        "",
    ));
    let hold = item(&parts, Kind::Hold);
    let shear = check(hold, "throat of the weld").acts;
    let endures = 0.7 * 272.0 * 427f64.powf(-0.995) * 0.59 * 213.5 * (1.0 - 0.08 * 2.326);
    let tires = check(hold, "fatigue of the weld").acts;
    close(tires / (2.7 * shear / endures), 1.0, 0.01);
}

/// A bush of acetal in aluminium closes on its pin when the machine warms: told where it is free in the shop and grips then.
#[test]
fn what_grips_when_warm_is_told() {
    let text = |bore: &str| {
        lever(
            &format!(
                "stock = {{ flat = [\"20 mm\", \"60 mm\"], material = \"1018 cold drawn\" }}\nhole.p = {{ bushing = \"acetal\", bore = \"{bore}\", outside = \"20 n6\" }}"
            ),
            "diameter = \"12 h6\"",
            "",
        )
    };
    // (20 · 11.5 − 8 · wall − 12 · 11.5) · 10⁻⁶ · 30 K: the wall of 8 mm in all grows inward by some 25 µm.
    let warm = |bore: &str| {
        says(
            &study(&text(bore)),
            Severity::Caution,
            "warmer by 30 K at its tightest it grips",
        )
    };
    assert!(!warm("12 B11"), "a very loose one never grips");
    let figure = study(&text("12 D10"));
    let bush = item(&figure, Kind::Bushing);
    let change = bush
        .figures
        .iter()
        .find(|f| f.what == "play warm")
        .unwrap()
        .value;
    assert!(change < -0.01, "{change}");
    let tightest = bush
        .fits
        .iter()
        .find(|f| f.what.contains("pressed in"))
        .map_or(0.0, |f| f.least);
    assert_eq!(warm("12 D10"), tightest >= 0.0 && tightest + change < 0.0);
}
