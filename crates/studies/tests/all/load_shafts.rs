//! Shafts with arms clamped on them: what gives and rattles along them, and what their bearings bear.

use crate::load_common::{joint, model, near, one, row, shaft_with_arms};
use studies::load::{arrows, lost_motion, stretch};

/// A shaft of 20 mm with an arm of 80 mm clamped on it at station 100; 300 N hang on the arm.
fn arm(shaft: &str, part: &str) -> String {
    format!(
        r#"
name = "arm"
[point]
c = {{ at = [0, 0], station = 0 }}
a = {{ at = [80, 0], station = 100 }}
k = {{ at = [0, 60], station = 0 }}
[frame]
carries = ["c"]
[shaft.s]
centre = "c"
stock = {{ round = "20 mm" }}
{shaft}
{part}
[part.key]
carries = ["k"]
clamped-to = "s"
[drive.d]
turns = "s"
range = ["-10 deg", "10 deg"]
[joint.c]
clearance = "0.04 mm"
[reading.y]
place-of = "a"
along = "up"
[load.w]
at = "a"
force = "300 N"
along = "down"
"#
    )
}

const CLAMPED: &str = "[part.arm]\ncarries = [\"a\"]\nclamped-to = \"s\"";

/// Hand statics (lever law): with bearings at -50 and 50 the load at 100 drops the front pin by half its clearance of 0.04 and lifts the
/// rear one by as much: 0.02 × 150/100 + 0.02 × 50/100 = 0.04 mm at the arm. As one pin it drops by 0.02.
#[test]
fn an_overhung_load_tips_its_shaft_in_both_bearings() {
    let two = "bearings = [\"-50 mm\", \"50 mm\"]";
    for (shaft, part) in [
        (two.to_owned(), CLAMPED),
        (format!("{two}\ncarries = [\"a\"]"), ""),
    ] {
        let m = model(&arm(&shaft, part));
        let found = lost_motion(&m, &m.drawn(), 0).unwrap();
        near(found.readings[0].taken_up[0], -0.04, 1e-9);
        near(found.readings[0].rattles, 0.04, 1e-9);
        let forces: Vec<f64> = found.joints.iter().map(|j| j.force).collect();
        near(forces[0], 150.0, 1e-9);
        near(forces[1], 450.0, 1e-9);
        // The journal is pressed down in the front bearing and up in the rear one.
        near(
            found.joints[1].side.unwrap(),
            1.5 * std::f64::consts::PI,
            1e-9,
        );
        near(
            found.joints[0].side.unwrap(),
            0.5 * std::f64::consts::PI,
            1e-9,
        );
    }
    let m = model(&arm("", CLAMPED));
    let found = lost_motion(&m, &m.drawn(), 0).unwrap();
    near(found.readings[0].taken_up[0], -0.02, 1e-9);
    near(found.joints[0].force, 300.0, 1e-9);
}

/// The weight of a shaft presses both of its bearings, as its stock says: 7850 kg/m³ (any handbook) × π/4 × 20² × 150 mm × g, of which the
/// middle at 25 gives the front one three quarters.
#[test]
fn a_shaft_presses_its_bearings_by_its_weight() {
    let text = arm("bearings = [\"-50 mm\", \"50 mm\"]", CLAMPED)
        .replace(
            "[load.w]\nat = \"a\"\nforce = \"300 N\"\nalong = \"down\"\n",
            "",
        )
        .replace("name = \"arm\"", "name = \"arm\"\nweight = \"down\"");
    let m = model(&text);
    let found = lost_motion(&m, &m.drawn(), 0).unwrap();
    let weight = 7850e-9 * std::f64::consts::PI / 4.0 * 400.0 * 150.0 * 9.806_65;
    near(found.joints[0].force, 0.25 * weight, 2e-2 * weight);
    near(found.joints[1].force, 0.75 * weight, 2e-2 * weight);
}

/// Arm, shaft and a hand on a second arm at the other end of the shaft, 200 mm on.
fn two_arms(turns: &str) -> String {
    format!(
        r#"
name = "shaft"
[point]
c = [0, 0]
a1 = {{ at = [50, 0], station = -40 }}
a2 = {{ at = [0, 80], station = 160 }}
[frame]
carries = ["c"]
[shaft.s]
centre = "c"
stock = {{ round = "20 mm", material = "rod" }}
bearings = ["0 mm", "120 mm"]
[material.rod]
modulus = "207 GPa"
shear = "80 GPa"
density = "7.85 g/cm3"
[part.arm1]
carries = ["a1"]
clamped-to = "s"
[part.arm2]
carries = ["a2"]
clamped-to = "s"
[drive.d]
turns = "{turns}"
range = ["-30 deg", "30 deg"]
hand = {{ at = "a2", along = "left" }}
[reading.a1y]
place-of = "a1"
along = "up"
[load.w]
at = "a1"
force = "800 N"
along = "down"
[joint.c]
diameter = "20 mm"
friction = [0, 0.2]
"#
    )
}

/// T L / G J (any handbook): 40 N·m over the 200 mm from arm to hand in 20 mm of steel, at 50 mm: 0.3183 mm, whether the file draws the drive
/// on the shaft or on the arm in the hand.
#[test]
fn a_shaft_twists_all_the_way_to_the_hand() {
    let gj = 80_000.0 * std::f64::consts::PI / 32.0 * 160_000.0;
    let by_hand = 40_000.0 * 200.0 / gj * 50.0;
    for turns in ["s", "arm2"] {
        let m = model(&two_arms(turns));
        let found = stretch(&m, &m.drawn(), 0).unwrap();
        let twist = found.readings[0].members.iter();
        let twist = twist.filter(|m| m.member == "s, twist").map(|m| m.moves);
        near(twist.sum(), -by_hand, 1e-6);
    }
}

/// Hand statics at d = 0: 800 N down at -40 and the hand's 40 N·m / 80 mm = 500 N to the left at 160, bearings at 0 and 120. The first
/// bears 800 × 160/120 upright and 500 × 40/120 across: 1079.6 N, more than both together (943 N).
#[test]
fn the_harder_pressed_bearing_stands_for_the_joint() {
    let text = two_arms("s").replace("friction = [0, 0.2]", "friction = 0");
    let loads = one(&model(&text), &[], None);
    let support = loads
        .joints
        .iter()
        .position(|j| j.name == "pin c of frame and s");
    let most = row(&loads).1.joints[support.unwrap()].most;
    near(
        most,
        (800.0_f64 * 160.0 / 120.0).hypot(500.0 * 40.0 / 120.0),
        1e-6,
    );
}

/// Friction circle (any handbook): each bearing rubs by its own press, r sin(atan µ) times what it bears; the torsion between the two
/// bearings and the load's end differ by the first bearing's share alone.
#[test]
fn each_bearing_rubs_by_its_own_press() {
    let loads = one(&model(&two_arms("s")), &[], None);
    let case = &loads.cases[0];
    let shaft = case.shafts.iter().find(|s| s.moving.is_some()).unwrap();
    let [one, other] = shaft.bearings.unwrap().map(|[x, y]: [f64; 2]| x.hypot(y));
    let circle = 10.0 * 0.2_f64.atan().sin();
    let bearings: Vec<&studies::load::answers::Station> = shaft
        .stations
        .iter()
        .filter(|s| s.what == "friction")
        .collect();
    let jump = |s: &studies::load::answers::Station| (s.torsion[1] - s.torsion[0]).abs();
    let at = |station: f64| bearings.iter().find(|s| s.station == station).unwrap();
    near(jump(at(0.0)), circle * one, 1e-2 * circle * one);
    near(jump(at(120.0)), circle * other, 1e-2 * circle * other);
}

/// A bed on two journals of an eccentric at -50 and 50, 500 N on it at this station.
fn bed(station: f64) -> String {
    format!(
        r#"
name = "bed"
[point]
c = [0, 0]
j = {{ at = [4, 0], station = 0 }}
h = {{ at = [0, 60], station = 120 }}
s0 = [-6, 0]
s1 = [14, 0]
top = {{ at = [4, 40], station = {station} }}
[frame]
carries = ["c"]
[shaft.s]
centre = "c"
carries = ["j", "h"]
stock = {{ round = "25 mm" }}
bearings = ["-80 mm", "80 mm"]
[part.bed]
carries = ["top", "s0", "s1"]
[slide.b]
part = "bed"
along = "up"
[slot.saddle]
pin = "j"
in = "bed"
from = "s0"
to = "s1"
[drive.d]
turns = "s"
range = ["-40 deg", "40 deg"]
[load.w]
at = "top"
force = "1 kN"
along = "down"
[joint.saddle]
diameter = "30 mm"
stations = ["-50 mm", "50 mm"]
"#
    )
}

/// Lever law (any handbook): 1000 N at station 20 press the journals at -50 and 50 with 300 and 700 N; at 500 the far one lifts with 4500 N.
#[test]
fn a_bed_shares_its_load_by_the_lever_law() {
    for (station, shares) in [
        (0.0, [500.0, 500.0]),
        (20.0, [300.0, 700.0]),
        (500.0, [-4500.0, 5500.0]),
    ] {
        let loads = one(&model(&bed(station)), &[], None);
        let shaft = loads.cases[0]
            .shafts
            .iter()
            .find(|s| s.shaft == "s")
            .unwrap();
        for (at, share) in [-50.0, 50.0].into_iter().zip(shares) {
            let found = shaft
                .stations
                .iter()
                .find(|s| s.station == at && s.what.contains("saddle"));
            near(-found.unwrap().force[1], share, 1e-9);
        }
        // Bearings at -80 and 80 take what the journals give them.
        let rear = (shares[0] * 130.0 + shares[1] * 30.0) / 160.0;
        near(-shaft.bearings.unwrap()[0][1], rear, 1e-9);
        let tips = &loads.cases[0].tipping;
        assert_eq!(tips.len(), usize::from(shares[0] < 0.0), "{tips:?}");
        let told = loads.findings.iter().any(|f| f.sentence.contains("tips"));
        assert_eq!(told, shares[0] < 0.0, "{:?}", loads.findings);
    }
}

/// A picture of forces holds every part in balance (statics): those on the shaft with its two arms, the load and the hand among them, add up to
/// nothing, and so do their moments about the axis.
#[test]
fn arrows_hold_every_part_in_balance() {
    let m = model(&two_arms("s"));
    let found = arrows(&m, &m.drawn(), 0, Some(0)).unwrap();
    assert_eq!(found.hand.as_deref(), Some("d"));
    let of = |what: &str| found.arrows.iter().find(|a| a.what == what).unwrap();
    near(-of("load w").vector[1], 800.0, 1e-9);
    near(-of("hand").vector[0], 500.0, 1e-9);
    let (mut sum, mut moment) = ([0.0; 2], 0.0);
    for arrow in &found.arrows {
        // Hubs hold arm and shaft together: inner forces.
        if arrow.what.contains("of s and") {
            continue;
        }
        sum[0] += arrow.vector[0];
        sum[1] += arrow.vector[1];
        moment += arrow.at[0] * arrow.vector[1] - arrow.at[1] * arrow.vector[0];
    }
    assert!(sum[0].abs() < 1e-9 && sum[1].abs() < 1e-9, "{sum:?}");
    assert!(moment.abs() < 1e-6, "{moment}");
}

/// A shaft on bearings at 0 and 120 with arms at 30 and 90: the force across at 30, the rod's upright pull at 90.
#[test]
fn shaft_bends_and_twists_between_its_arms() {
    let model = model(&shaft_with_arms(20));
    let loads = one(&model, &[], None);
    let (case, _) = row(&loads);
    let shaft = &case.shafts[0];
    let [a, b] = shaft.bearings.unwrap();
    // The rod is pushed by arm two: moments about the axis, 100 N × 40.
    near(joint(&loads, "rod tie").value, -100.0, 1e-12);
    for (got, want) in a.iter().chain(&b).zip([75.0, 25.0, 25.0, 75.0]) {
        near(*got, want, 1e-12);
    }
    near(
        shaft.most_bending.unwrap(),
        30.0 * 75_f64.hypot(25.0),
        1e-12,
    );
    near(shaft.most_torsion, 4000.0, 1e-12);
    let stations: Vec<(f64, &str)> = shaft
        .stations
        .iter()
        .map(|s| (s.station, s.what.as_str()))
        .collect();
    assert_eq!(
        stations,
        [
            (0.0, "bearing"),
            (30.0, "one"),
            (90.0, "two"),
            (120.0, "bearing")
        ]
    );
    let last = shaft.stations.last().unwrap();
    assert!(
        last.bending[1].abs() < 1e-9 && last.torsion[1].abs() < 1e-9,
        "{last:?}"
    );
    // Torsion stands between the arms only.
    assert!(shaft.stations[1].torsion[0].abs() < 1e-9 && shaft.stations[2].torsion[1].abs() < 1e-9);
    // Key or set screw of each arm: 4 N·m, on the radius of the 20 mm shaft.
    let clamp = case
        .clamps
        .iter()
        .find(|c| c.name == "the clamp of one")
        .unwrap();
    near(clamp.moment, 4000.0, 1e-12);
    near(clamp.force.unwrap(), 400.0, 1e-12);
}
