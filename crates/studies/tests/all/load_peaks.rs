//! What no step of a study may miss (peaks of work, notches), hands that turn with their part, ears of a fork, ends of a guide. Every
//! expected number is worked out by hand beside it.

use crate::load_common::{joint, model, near, one, row};
use std::f64::consts::PI;
use studies::load::answers::{CaseLoads, Loads};
use studies::load::{LoadRequest, judge_effort, load, stretch};
use studies::{Model, Severity};

fn over(model: &Model, drive: &str, step: &str) -> Loads {
    let sweep = model.sweep(drive, None, None, Some(step)).unwrap();
    let request = LoadRequest {
        case: None,
        sweep: Some(sweep),
    };
    load(model, &model.drawn(), &request).unwrap()
}

/// Greatest effort at the hand of the first drive.
fn effort(case: &CaseLoads) -> f64 {
    case.drives[0].effort.unwrap()
}

/// A lever drawn at 40°, 100 N down at 100 mm, a hand at 200 mm that pushes up as drawn and turns with the lever. As drawn the load has an
/// arm of 100 cos 40° and the hand one of 200 cos 40°: 50 N. At 20° further the load's is 100 cos 60°, the hand's still 200 cos 40°.
#[test]
fn a_hand_that_turns_with_its_part_pushes_as_drawn() {
    let m = model(
        r#"
name = "lever"
[point]
o = [0, 0]
a = { from = "o", reach = 100, angle = "40 deg" }
h = { from = "o", reach = 200, angle = "40 deg" }
[frame]
carries = ["o"]
[part.lever]
carries = ["o", "a", "h"]
[drive.d]
turns = "lever"
range = ["-20 deg", "20 deg"]
hand = { at = "h", along = "up", with = "lever" }
[load.w]
at = "a"
force = "100 N"
along = "down"
"#,
    );
    let felt = |at: f64| {
        let loads = one(&m, &[("d", at.to_radians())], None);
        row(&loads).1.drives[0].hand_free.unwrap()
    };
    near(felt(0.0), 50.0, 1e-9);
    near(
        felt(20.0),
        50.0 * 60_f64.to_radians().cos() / 40_f64.to_radians().cos(),
        1e-9,
    );
}

/// 30 N at 100 mm, a hand at 300 mm, notches at 0° (40 N) and at 7° (60 N) on a radius of 80 mm; a cone of 90° without friction lifts with
/// the force of its spring. Hardest in the notch at 7°, which no step of 20° meets: (60 × 80 + 30 × 100 cos 7°) / 300 = 25.93 N, of which
/// 3000 cos 7° in 4800 + 3000 cos 7° reach the load.
#[test]
fn a_notch_between_two_rows_is_told() {
    let m = model(
        r#"
name = "lever in notches"
[point]
o = [0, 0]
h = [-300, 0]
a = [100, 0]
[frame]
carries = ["o"]
[part.lever]
carries = ["o", "a", "h"]
[drive.d]
turns = "lever"
range = ["-20 deg", "20 deg"]
hand = "h"
[load.w]
at = "a"
force = "30 N"
along = "down"
[detent.n]
drive = "d"
at = "0 deg"
radius = "80 mm"
seat = { cone = "90 deg" }
spring = "40 N"
friction = 0
[detent.m]
drive = "d"
at = "7 deg"
radius = "80 mm"
seat = { cone = "90 deg" }
spring = "60 N"
friction = 0
"#,
    );
    let useful = 3000.0 * 7_f64.to_radians().cos();
    let want = (4800.0 + useful) / 300.0;
    for step in ["20 deg", "3 deg"] {
        let loads = over(&m, "d", step);
        let case = &loads.cases[0];
        near(effort(case), want, 1e-9);
        let notches = case.rows.iter().filter(|r| r.drives[0].lifts.is_some());
        assert_eq!(notches.count(), 2);
        // Just beside the notch at 7° the ball is out: the load's moment alone, at the hand.
        for beside in [6.99_f64, 7.01] {
            let row = case
                .rows
                .iter()
                .find(|r| (r.at.unwrap() - beside.to_radians()).abs() < 1e-9);
            let force = &row.unwrap().drives[0];
            assert!(force.lifts.is_none());
            let alone = 10.0 * beside.to_radians().cos();
            near(force.hand_on.unwrap(), alone, 1e-9);
        }
        let hardest = &case.rows[case.drives[0].hardest.unwrap()].drives[0];
        near(
            hardest.efficiency_on.unwrap(),
            useful / (4800.0 + useful),
            1e-9,
        );
    }
    near(
        judge_effort(&m, &[], 0, None, &[]).unwrap().value.unwrap(),
        want,
        1e-9,
    );
}

/// A punch that breaks through: 2 kN at 55 mm, 100 N at 54 mm. Lever 100 : 300.
const PUNCH: &str = r#"
name = "punch"
[point]
o = [0, 0]
a = [100, 0]
h = [-300, 0]
ref = [100, -60]
[frame]
carries = ["o", "ref"]
[part.lever]
carries = ["o", "a", "h"]
[drive.d]
turns = "lever"
range = ["-12 deg", "15 deg"]
sense = "clockwise"
hand = "h"
[reading.y]
between = ["ref", "a"]
along = "up"
[load.p]
squeezes = "y"
table = [["60 mm", "0 N"], ["55 mm", "2 kN"], ["54 mm", "100 N"], ["30 mm", "200 N"]]
"#;

fn punch(frame: &str) -> Model {
    model(&(PUNCH.to_owned() + frame))
}

/// Stiff, y = 60 − 100 sin d: the peak stands at sin d = 0.05, where the hand gives 2000 × 100 cos d / 300 = 665.8 N, whatever the step.
#[test]
fn the_peak_of_a_table_is_told_whatever_the_step() {
    let m = punch("");
    let want = 2000.0 / 3.0 * (1.0 - 0.05_f64 * 0.05).sqrt();
    for step in ["10 deg", "9 deg", "1 deg"] {
        let loads = over(&m, "d", step);
        let case = &loads.cases[0];
        near(effort(case), want, 1e-9);
        let at = case.rows[case.drives[0].hardest.unwrap()].at.unwrap();
        near(at.sin(), 0.05, 1e-9);
    }
    near(
        judge_effort(&m, &[], 0, None, &[]).unwrap().value.unwrap(),
        want,
        1e-9,
    );
}

/// The same peak, pressed on the pivot of 12: the work's 2000 N upwards and the hand's 2000/3 cos d square to the lever, as vectors; the
/// bar of steel bends by a hair. Looked at in 73 places alone it would be a tenth less.
#[test]
fn the_peak_of_a_table_presses_the_pin() {
    let stocked = r#"
stock = { flat = ["10 mm", "40 mm"], material = "steel" }
"#;
    let text = format!(
        "{}{stocked}{}",
        PUNCH.split_once("[drive.d]").unwrap().0,
        "hole.o = { ream = \"12 H7\" }\n[drive.d]"
    ) + PUNCH.split_once("[drive.d]").unwrap().1
        + "[joint.o]\ndiameter = \"12 h6\"\n";
    let parts = crate::parts_common::study(&text);
    let pin = crate::parts_common::item(&parts, studies::parts::answers::Kind::Pin);
    let shear = crate::parts_common::check(pin, "shear of the pin").acts;
    let (sin, cos) = (0.05, (1.0 - 0.05_f64 * 0.05).sqrt());
    let hand = 2000.0 / 3.0 * cos;
    let pressed = (2000.0 + hand * cos).hypot(hand * sin);
    near(shear, pressed / (PI / 4.0 * 144.0), 1e-3);
}

/// On a frame of 0.5 kN/mm the 2 kN lift the pivot by 4 mm: the peak stands where 60 − 100 sin d + 4 = 55, sin d = 0.09. The work gives way
/// with 1.9 kN/mm, so there it snaps on to where 200 N at 30 mm and 100 N at 54 mm, 4.17 N/mm, meet the frame: y = 51 + F/500 with
/// F = 100 + (54 − y) 100/24 is y = (51 + (100 + 225)/500) / (1 + 100/(24 × 500)).
#[test]
fn work_snaps_where_it_peaks() {
    let m = punch("[stiffness.f]\nat = \"o\"\nvalue = \"0.5 kN/mm\"\n");
    for step in ["10 deg", "2 deg"] {
        let loads = over(&m, "d", step);
        let rows = &loads.cases[0].rows;
        let top = rows
            .iter()
            .max_by(|a, b| a.acted[0].force.total_cmp(&b.acted[0].force));
        let top = top.unwrap();
        near(top.at.unwrap().sin(), 0.09, 1e-9);
        near(top.acted[0].value, 55.0, 1e-9);
        let after = (51.0 + 325.0 / 500.0) / (1.0 + 100.0 / 12_000.0);
        near(top.acted[0].snaps_to.unwrap(), after, 1e-9);
        assert!(rows.iter().any(|r| (r.acted[0].value - after).abs() < 1e-6));
        let told = loads
            .findings
            .iter()
            .find(|f| f.sentence.contains("snaps on"));
        let told = told.unwrap();
        assert_eq!(told.severity, Severity::Caution);
        assert!(told.sentence.contains("from 55"), "{}", told.sentence);
    }
}

/// 10 kN through a 10 mm pin, a lug of 12 mm between two ears of 10 mm, all of 206 000 MPa (Huth, two shear planes):
/// (22/20)^(2/3) × 3/2 × (1/12 + 1/24 + 1/20 + 1/40)/206 000 = 1.5518e-6 mm/N: 0.015 518 mm. Ears of 5 mm: 0.017 968 mm.
#[test]
fn a_pin_in_a_fork_gives_less() {
    let give = |more: &str| {
        let m = model(
            &(r#"
name = "pin"
[point]
o = [0, 0]
a = [0, 100]
b = [0, 200]
[frame]
carries = ["o"]
[part.link]
carries = ["o", "a"]
stock = { flat = ["10 mm", "40 mm"], material = "given" }
[rod.r]
joins = ["a", "b"]
stock = { flat = ["12 mm", "30 mm"], material = "given" }
[part.block]
carries = ["b"]
[slide.c]
part = "block"
along = "up"
[drive.d]
turns = "link"
[material.given]
modulus = "206 GPa"
density = "7.85 g/cm3"
[reading.y]
place-of = "b"
along = "up"
[load.w]
at = "b"
force = "10 kN"
along = "down"
[joint.a]
diameter = "10 mm"
"#
            .to_owned()
                + more),
        );
        let found = stretch(&m, &m.drawn(), 0).unwrap();
        let members = found.readings.into_iter().flat_map(|r| r.members);
        let pin = members.into_iter().find(|m| m.member.contains("pin a"));
        pin.unwrap().moves.abs()
    };
    near(give("fork = \"link\"\n"), 0.015_518, 1e-4);
    let own =
        give("fork = \"link\"\n[part.link.hole]\na = { ream = \"10 H7\", length = \"5 mm\" }\n");
    near(own, 0.017_968, 1e-4);
    // One shear plane: (22/20)^(2/3) × 3 × 1.5 (1/12 + 1/10)/206 000.
    near(give(""), 0.042_675, 1e-3);
}

/// 500 N square to a guide of 50 mm, 200 mm above its middle: a couple of 100 N·m, 2000 N at either end, and 250 N of the force at each:
/// the harder pressed end bears 2250 N.
#[test]
fn the_ends_of_a_guide_bear_its_couple() {
    let text = r#"
name = "ram"
[point]
p = [0, 0]
t = [0, 200]
z = [-50, 0]
[frame]
carries = ["z"]
[part.ram]
carries = ["p", "t"]
[slide.r]
part = "ram"
along = "up"
[drive.d]
slides = "ram"
range = ["0 mm", "8 mm"]
[load.w]
at = "t"
force = "500 N"
along = "right"
[joint.r]
length = "50 mm"
"#;
    let loads = one(&model(text), &[], None);
    near(joint(&loads, "slide r").most, 2250.0, 1e-9);
    // Straight down beside the guide, 40 mm off: no force across it, a couple of 20 N·m.
    let down = text
        .replace("t = [0, 200]", "t = [40, 60]")
        .replace("\"right\"", "\"down\"");
    let loads = one(&model(&down), &[], None);
    near(joint(&loads, "slide r").most, 400.0, 1e-9);
    assert!(
        loads
            .worst
            .iter()
            .any(|w| loads.joints[w.joint].name == "slide r")
    );
    // Acting in the middle of the guide the whole of it bears.
    let middle = text.replace("t = [0, 200]", "t = [0, 1]");
    near(
        joint(&one(&model(&middle), &[], None), "slide r").most,
        500.0,
        1e-9,
    );
}
