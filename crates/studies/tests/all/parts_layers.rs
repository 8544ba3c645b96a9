//! Pins that are loaded far from what holds them, by the stations that the file writes: by hand.
#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use crate::common::close;
use crate::parts_common::{check, item, study};
use std::f64::consts::PI;
use studies::Severity;
use studies::parts::answers::Kind;

/// A lever on a stud of the frame lifts a weight by a rod; stations of lever and rod are put in.
fn hoist(lever: &str, rod: &str) -> String {
    format!(
        r#"
name = "Hoist"
[point]
pivot = [0, 0]
tip   = [300, 0]
foot  = [300, -200]
[frame]
carries = ["pivot"]
stock = {{ flat = ["10 mm", "60 mm"], material = "S355J2 to 16 mm" }}
[part.lever]
carries = ["pivot", "tip"]
stock = {{ flat = ["8 mm", "25 mm"], material = "1018 cold drawn" }}
{lever}
hole.pivot = {{ ream = "8 H7" }}
[part.weight]
carries = ["foot"]
[slide.guide]
part  = "weight"
along = "up"
[rod.hanger]
joins = ["tip", "foot"]
{rod}
[drive.set]
turns = "lever"
range = ["0 deg", "10 deg"]
[load.work]
at = "foot"
force = "100 N"
along = "down"
[joint.pivot]
diameter = "8 h6"
"#
    )
}

/// How far out the stud is loaded: bending over shear is 8 a / d, and it is 8 thick.
fn arm(text: &str) -> f64 {
    let parts = study(text);
    let pin = item(&parts, Kind::Pin);
    let bent = check(pin, "bending of the stud at its holder").acts;
    let sheared = check(pin, "shear of the pin").acts;
    bent / sheared
}

#[test]
fn a_stud_bends_by_what_stands_between_it_and_its_holder() {
    // Beside its holder: half the lever's thickness.
    close(arm(&hoist("", "")), 4.0, 1e-9);
    // The lever 20 mm off the middle of a plate of 10.
    close(
        arm(&hoist("station = \"20 mm\"", "station = \"20 mm\"")),
        15.0,
        1e-9,
    );
    // What hangs on the lever 60 mm off tilts it, and the stud alone bears that.
    close(
        arm(&hoist("station = \"20 mm\"", "station = \"60 mm\"")),
        55.0,
        1e-9,
    );
    close(
        arm(&hoist("station = \"-20 mm\"", "station = \"-60 mm\"")),
        55.0,
        1e-9,
    );
    let parts = study(&hoist("station = \"20 mm\"", "station = \"20 mm\""));
    let pin = item(&parts, Kind::Pin);
    // p = F (6 a + 4 s)/(d s²), the plate 10 deep.
    let force = check(pin, "shear of the pin").acts * PI * 16.0;
    let pressed = check(pin, "pressure of the stud in its hole").acts;
    close(
        pressed,
        force * (6.0 * 15.0 + 4.0 * 10.0) / (8.0 * 100.0),
        1e-9,
    );
}

/// A crank whose shaft runs in two plates, moved by a rod at a station that is put in.
fn crank(rod: &str) -> String {
    format!(
        r#"
name = "Crank"
[point]
centre = [0, 0]
pin    = [0, 30]
foot   = [0, -200]
[frame]
carries = ["centre"]
stock   = {{ flat = ["12 mm", "80 mm"] }}
hole.centre = {{ bearing = "6004", hub = "H7" }}
[part.crank]
carries = ["centre", "pin"]
stock   = {{ flat = ["12 mm", "40 mm"] }}
station = "{rod}"
[part.weight]
carries = ["foot"]
[slide.guide]
part  = "weight"
along = "up"
[rod.hanger]
joins   = ["pin", "foot"]
station = "{rod}"
[drive.crank]
turns = "crank"
range = "whole turn"
[load.work]
at = "foot"
force = "500 N"
along = "down"
[joint.centre]
diameter = "20 k5"
[piece.plate]
count   = 2
carries = ["centre"]
station = ["-40 mm", "0 mm"]
outline = {{ from = [-60, -60], to = [60, 60] }}
"#
    )
}

#[test]
fn a_load_beside_both_bearings_is_told_with_what_the_nearer_one_bears() {
    let told = |rod: &str| {
        let parts = study(&crank(rod));
        let mut all = parts.findings.into_iter();
        all.find(|f| f.severity == Severity::Caution && f.sentence.contains("beside both"))
    };
    // On two supports 40 apart, 20 beyond the nearer: F (1 + 20/40).
    let found = told("20 mm").unwrap();
    assert!(found.sentence.contains("1.50 times"), "{}", found.sentence);
    assert!(found.sentence.contains("20 mm"), "{}", found.sentence);
    assert!(told("-20 mm").is_none());
}
