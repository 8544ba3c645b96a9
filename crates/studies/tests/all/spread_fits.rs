//! Fits as made dimensions: the play of made machines against closed forms and against the load study's bands.
#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use crate::common::{close, model};
use studies::spread::{Request, Spread, spread};

/// A lever 200 long on a pin, its tip measured up; at 10 from the pivot a stop of the drive holds it.
fn lever(hole: &str, pin: &str, rest: &str) -> String {
    format!(
        r#"
name = "Lever"
[point]
pivot = [0, 0]
tip   = [200, 0]
[frame]
carries = ["pivot"]
[part.lever]
carries = ["pivot", "tip"]
stock = {{ flat = ["8 mm", "25 mm"] }}
hole.pivot = {{ {hole} }}
[drive.set]
turns = "lever"
[joint.pivot]
{pin}
[reading.height]
place-of = "tip"
along = "up"
[usual]
hole-places = "0.05 mm"
[ask.level]
reading = "height"
between = ["-0.04 mm", "0.04 mm"]
{rest}
"#
    )
}

fn made(text: &str) -> Spread {
    let model = model(text);
    let request = Request {
        budgets: false,
        machines: 20_000,
        ..Request::default()
    };
    spread(&model, &model.drawn(), &request).unwrap()
}

#[test]
fn a_fit_gives_hole_and_pin_their_limits() {
    // 8 H7: 0 to 0.015; 8 g6: −0.014 to −0.005 (ISO 286).
    let found = made(&lever("ream = \"8 H7\"", "diameter = \"8 g6\"", ""));
    let [c] = found.clearances.as_slice() else {
        panic!("{:#?}", found.clearances)
    };
    assert!(c.fit.contains("H7 on g6"), "{}", c.fit);
    close(c.least, 0.005, 1e-9);
    close(c.most, 0.029, 1e-9);
    close(c.mean, 0.017, 1e-9);
    close(
        c.deviation,
        (0.015f64.powi(2) + 0.009f64.powi(2)).sqrt() / 6.0,
        1e-12,
    );
    // A drive holds the angle, so the tip stands as far off as the pivot: half the clearance.
    let play = found.readings[0].play.as_ref().unwrap();
    close(play.plus_minus, 0.0085, 5e-5);
    close(play.worst, 0.0145, 1e-9);
    let sigma = 0.5 * c.deviation;
    close(play.band[0], 0.0085 - 3.0 * sigma, 3e-4);
    close(play.band[1], 0.0085 + 3.0 * sigma, 3e-4);
    assert!(play.band[1] < play.worst && play.band[0] > 0.0025 - 1e-4);
    // Springs and weights press nothing here.
    close(play.shift, 0.0, 1e-12);
}

#[test]
fn machines_differ_and_fewer_keep_an_ask_with_their_play() {
    let text = |fit: &str| lever("ream = \"8 H7\"", &format!("diameter = \"8 {fit}\""), "");
    let mut last = 1.1;
    for fit in ["h6", "g6", "f7", "e8", "d9"] {
        let found = made(&text(fit));
        let ask = &found.asks[0];
        let with = ask.kept_with_play.unwrap();
        assert!(
            with.share <= ask.kept.share && with.share < last,
            "{fit}: {} {last}",
            with.share
        );
        last = with.share;
    }
    // A press fit has no play, and then nothing is said of it.
    let tight = made(&text("s6"));
    assert!(tight.asks[0].kept_with_play.is_none() && tight.clearances.is_empty());
    // The same seed gives the same machines.
    let (a, b) = (made(&text("f7")), made(&text("f7")));
    assert_eq!(a, b);
}

#[test]
fn weight_takes_play_up_to_one_side() {
    let heavy = lever("ream = \"8 H7\"", "diameter = \"8 f7\"", "")
        .replace("name = \"Lever\"", "name = \"Lever\"\nweight = \"down\"");
    let found = made(&heavy);
    let play = found.readings[0].play.as_ref().unwrap();
    let mean = found.clearances[0].mean;
    // It hangs on its pin: all of it lower by half the clearance, on every machine.
    close(play.shift, -0.5 * mean, 1e-4);
    close(play.plus_minus, 0.0, 1e-9);
    assert!(play.shift_band[0] < play.shift && play.shift < play.shift_band[1]);
}

#[test]
fn a_clearance_of_the_file_strays_between_its_ends() {
    let text = lever(
        "ream = \"8 H7\"",
        "diameter = \"8 mm\"\nclearance = [\"0.02 mm\", \"0.05 mm\"]",
        "",
    );
    let found = made(&text);
    let c = &found.clearances[0];
    assert!(c.fit.is_empty());
    close(c.mean, 0.035, 1e-9);
    close(c.deviation, 0.005, 1e-9);
    // The load study's band of play has both at their greatest: never less than what made machines show.
    let play = found.readings[0].play.as_ref().unwrap();
    close(play.worst, 0.025, 1e-9);
    assert!(play.band[1] <= play.worst + 1e-9);
}

/// A pin 10 h6 (−0.009 to 0) floats in 10 F7 (0.013 to 0.028) of the crank and 10 F7 of the link (ISO 286-2): it moves in both, so the joint is
/// loose by 0.026 to 0.074. On b the hole of the link is F7 and that of the ram H7 (0 to 0.015): 0.013 to 0.061 in all.
#[test]
fn a_pin_loose_in_two_holes_moves_in_both() {
    let text = |crank: &str| {
        format!(
            r#"
name = "floating pin"
[point]
o = [0, 0]
a = [100, 0]
b = [100, 80]
t = [100, 90]
[frame]
carries = ["o"]
[part.crank]
carries = ["o", "a"]
hole.a = {{ bore = "10 {crank}" }}
[part.link]
carries = ["a", "b"]
hole.a = {{ bore = "10 F7" }}
hole.b = {{ bore = "10 F7" }}
[part.ram]
carries = ["b", "t"]
hole.b = {{ ream = "10 H7" }}
[slide.ram]
part = "ram"
along = "up"
[drive.d]
turns = "crank"
range = ["-10 deg", "10 deg"]
[reading.y]
place-of = "t"
along = "up"
[joint.a]
diameter = "10 h6"
[joint.b]
diameter = "10 h6"
[usual]
hole-places = "0.01 mm"
"#
        )
    };
    let found = made(&text("F7"));
    let at = |s: &Spread, point: &str| {
        let name = format!("pin {point} ");
        let one = s.clearances.iter().find(|c| c.joint.contains(&name));
        one.unwrap_or_else(|| panic!("{:#?}", s.clearances)).clone()
    };
    let (a, b) = (at(&found, "a"), at(&found, "b"));
    close(a.least, 0.026, 1e-9);
    close(a.most, 0.074, 1e-9);
    close(a.mean, 0.050, 1e-9);
    // Two holes of 0.015 and twice one pin of 0.009.
    let deviation = (2.0 * 0.015_f64.powi(2) + 0.018_f64.powi(2)).sqrt() / 6.0;
    close(a.deviation, deviation, 1e-12);
    close(b.least, 0.013, 1e-9);
    close(b.most, 0.061, 1e-9);
    // The link stands upright: half of both is what the ram may be off.
    let play = found.readings[0].play.as_ref().unwrap();
    close(play.worst, 0.0675, 1e-6);
    // A crank that grips the pin leaves the link's hole alone: 10 S7 (−0.032 to −0.017).
    let held = at(&made(&text("S7")), "a");
    close(held.least, 0.013, 1e-9);
    close(held.most, 0.037, 1e-9);
}
