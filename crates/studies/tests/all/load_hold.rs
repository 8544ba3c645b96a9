//! What the hand must pull, what happens when it lets go, detents and clamps.

use crate::load_common::{laden, model, near, one, row};
use studies::load::{LoadRequest, judge_effort, judge_holds, load};

/// An eccentric of radius R, eccentricity e, on a pin of radius r, lifts a plate that a load presses down on its face. Drawn with
/// the eccentric's centre at an angle from the line of the load.
fn eccentric(face: f64, e: f64, pin: f64, mu: [f64; 2], degrees: f64) -> String {
    let a = degrees.to_radians();
    let (x, y) = (e * a.sin(), e * a.cos());
    format!(
        r#"
name = "eccentric"
[point]
o = [0, 0]
c = [{x}, {y}]
grip = [100, 0]
left = [{}, {y}]
right = [{}, {y}]
[frame]
carries = ["o"]
[part.cam]
carries = ["o", "c", "grip"]
[part.plate]
carries = ["left", "right"]
[slide.up]
part = "plate"
along = "up"
[slot.face]
pin = "c"
in = "plate"
from = "left"
to = "right"
[drive.turn]
turns = "cam"
hand = "grip"
[joint.o]
diameter = {}
friction = {}
[joint.face]
diameter = {}
friction = {}
[load.press]
at = "left"
force = "100 N"
along = "down"
"#,
        x - 50.0,
        x + 50.0,
        2.0 * pin,
        mu[1],
        2.0 * face,
        mu[0]
    )
}

/// An eccentric holds itself while e ≤ R sin φ + r sin φ of the pin, at its worst angle (check cases `ecc_emax_1` and `_2`).
#[test]
fn an_eccentric_holds_itself_up_to_its_limit() {
    for (face, pin, mu, limit) in [
        (20.0, 6.0, [0.12, 0.12], 3.097_775_736_079_196_7),
        (30.0, 8.0, [0.1, 0.0], 2.985_111_570_629_967_6),
    ] {
        // The worst angle leans by the friction angle of the face; moment e cos(a + φ) against both friction circles.
        let worst = 90.0 + f64::atan(mu[0]).to_degrees();
        let stays = |e: f64, degrees: f64| {
            let loads = one(&model(&eccentric(face, e, pin, mu, degrees)), &[], None);
            row(&loads).1.drives[0].let_go.clone().unwrap()
        };
        for sign in [1.0, -1.0] {
            let held = stays(limit - 1e-6, sign * worst);
            assert!(held.stays && held.factor.unwrap() < 1.001, "{held:?}");
            let runs = stays(limit + 1e-4, sign * worst);
            assert!(
                !runs.stays && runs.factor.unwrap() < 1.0 && runs.to_hold > 0.0,
                "{runs:?}"
            );
            // The plate is pressed on the right of the pin: it pushes the cam clockwise there, the way its value falls.
            assert_eq!(runs.pushed, -sign);
        }
    }
}

/// Holding as a number: what friction and detent hold over what drives.
#[test]
fn the_factor_is_what_holds_over_what_drives() {
    let text = eccentric(20.0, 6.0, 6.0, [0.12, 0.12], 70.0);
    let without = one(&model(&text), &[], None);
    let drive = &row(&without).1.drives[0];
    let let_go = drive.let_go.as_ref().unwrap();
    assert!(!let_go.stays);
    // Driving moment without friction: P e sin(a).
    near(
        drive.free.abs(),
        100.0 * 6.0 * 70_f64.to_radians().sin(),
        1e-9,
    );
    near(let_go.to_hold, drive.free.abs() - let_go.friction, 1e-9);
    // Friction low and high are the same here, so what it takes to hold is what is left while it moves back by itself.
    near(let_go.to_hold, drive.back.or(drive.on).unwrap().abs(), 0.2);
    assert!((let_go.by.iter().map(|b| b.share).sum::<f64>() - 1.0).abs() < 1e-9);
    assert_eq!(let_go.by[0].joint, "slot face");
    // A detent that breaks away at H holds H times its radius more: check case `detent_cone_3`, 27.1086 N and 15.1133 N.
    let detent = "\n[detent.home]\ndrive = \"turn\"\nat = \"0 deg\"\nradius = \"30 mm\"\nseat = { cone = \"120 deg\" }\nspring = \"35 N\"\nfriction = 0.1\n";
    let with = one(&model(&(text.clone() + detent)), &[], None);
    let held = row(&with).1.drives[0].let_go.clone().unwrap();
    near(
        with.detents[0].lifts[0].unwrap(),
        27.108_573_612_233_15,
        1e-10,
    );
    near(with.detents[0].centring, 15.113_262_782_319_005, 1e-10);
    near(held.detent, 30.0 * 27.108_573_612_233_15, 1e-10);
    near(
        held.factor.unwrap(),
        (let_go.friction + held.detent) / drive.free.abs(),
        1e-9,
    );
    assert!(held.stays);
    // Out of its notch it does nothing.
    let beside = one(
        &model(&(text + &detent.replace("0 deg\"\nradius", "5 deg\"\nradius"))),
        &[],
        None,
    );
    assert_eq!(
        row(&beside).1.drives[0].let_go.as_ref().unwrap().detent,
        0.0
    );
}

/// A clamp must hold what friction does not; its screw presses with that over friction and radius.
#[test]
fn a_clamp_holds_what_friction_does_not() {
    let text = eccentric(20.0, 6.0, 6.0, [0.12, 0.12], 70.0)
        + "\n[usual]\nfriction = [0.1, 0.2]\n[clamp.ring]\nholds = \"turn\"\nradius = \"25 mm\"\n";
    let loads = one(&model(&text), &[], None);
    let (case, row) = row(&loads);
    let clamp = case.clamps.iter().find(|c| c.name == "clamp ring").unwrap();
    let to_hold = row.drives[0].let_go.as_ref().unwrap().to_hold;
    near(clamp.moment, to_hold, 1e-12);
    near(clamp.force.unwrap(), to_hold / 25.0, 1e-12);
    near(clamp.screw.unwrap(), to_hold / 25.0 / 0.1, 1e-12);
}

/// The hand pulls square to its arm, and its pull presses the pivot too: with friction the whole is a little off moment over arm.
#[test]
fn the_hand_presses_the_pivot_too() {
    let text = r#"
name = "lever"
[point]
o = [0, 0]
p = [40, 0]
grip = [0, 200]
[frame]
carries = ["o"]
[part.lever]
carries = ["o", "p", "grip"]
[drive.pull]
turns = "lever"
hand = "grip"
[joint.o]
diameter = 20
friction = 0.2
[load.down]
at = "p"
force = "100 N"
along = "down"
"#;
    let loads = one(&model(text), &[], None);
    let drive = &row(&loads).1.drives[0];
    // Counter-clockwise lifts the load; the grip then goes left. F·200 = 4000 + ρ·|(F, 100)|, ρ = 10 sin(atan 0.2).
    let rho = 10.0 * 0.2_f64.atan().sin();
    let f = drive.hand_on.unwrap();
    near(200.0 * f, 4000.0 + rho * f.hypot(100.0), 1e-10);
    let b = drive.hand_back.unwrap();
    near(200.0 * b, 4000.0 - rho * b.hypot(100.0), 1e-10);
    near(drive.hand_free.unwrap(), 20.0, 1e-12);
    near(drive.on.unwrap(), 200.0 * f, 1e-12);
    near(drive.efficiency_on.unwrap(), 20.0 / f, 1e-12);
    // In a study over the drive the pivot shows the hand's pull.
    let m = model(text);
    let sweep = m
        .sweep("pull", Some("0 deg"), Some("30 deg"), Some("10 deg"))
        .unwrap();
    let swept = load(
        &m,
        &m.drawn(),
        &LoadRequest {
            case: None,
            sweep: Some(sweep),
        },
    )
    .unwrap();
    let pivot = swept
        .joints
        .iter()
        .position(|j| j.name == "pin o of frame and lever")
        .unwrap();
    near(
        swept.cases[0].rows[0].joints[pivot].value,
        20_f64.hypot(100.0),
        1e-10,
    );
    near(
        swept.cases[0].rows[0].joints[pivot].most,
        f.hypot(100.0),
        1e-10,
    );
    assert_eq!(swept.cases[0].drives[0].hand.as_deref(), Some("grip"));
}

/// A shaft on two bearings rubs in each under its own load: r sin(atan µ)(|A| + |B|), not under their sum.
#[test]
fn each_bearing_rubs_under_its_own_load() {
    let text = r#"
name = "two arms opposed"
[point]
axis = [0, 0]
p = { at = [0, 40], station = 30 }
q = { at = [0, -40], station = 90 }
[frame]
carries = ["axis"]
[shaft.s]
centre = "axis"
bearings = ["0 mm", "120 mm"]
[part.one]
carries = ["p"]
clamped-to = "s"
[part.two]
carries = ["q"]
clamped-to = "s"
[drive.turn]
turns = "s"
[joint.axis]
diameter = 20
friction = 0.1
[load.a]
at = "p"
force = "100 N"
along = "up"
[load.b]
at = "q"
force = "100 N"
along = "down"
"#;
    let loads = one(&model(text), &[], None);
    let drive = &row(&loads).1.drives[0];
    // 100 up at 30 and 100 down at 90 on bearings at 0 and 120: 50 on each, the sum is nothing.
    let rho = 10.0 * 0.1_f64.atan().sin();
    assert!(drive.free.abs() < 1e-9);
    near(drive.on.unwrap(), rho * 100.0, 1e-9);
    // Without bearings it is one support under the sum.
    let one_support = one(
        &model(&text.replace("bearings = [\"0 mm\", \"120 mm\"]\n", "")),
        &[],
        None,
    );
    assert!(row(&one_support).1.drives[0].on.unwrap().abs() < 1e-9);
    assert!(
        one_support
            .assumed
            .iter()
            .any(|a| a.contains("no bearings are given for s"))
    );
}

/// What is judged is the worst over the whole reach, closed in upon between the poses looked at.
#[test]
fn the_worst_over_the_reach_is_found() {
    let m = model(&laden());
    let case = m
        .machine()
        .work
        .cases
        .iter()
        .position(|c| c.name == "embossing")
        .unwrap();
    let set = m
        .machine()
        .drives
        .iter()
        .position(|d| d.name == "set")
        .unwrap();
    let judged = judge_effort(&m, &[], set, Some(case), &[]).unwrap();
    let sweep = m.sweep("set", None, None, Some("0.25 deg")).unwrap();
    let loads = load(
        &m,
        &m.drawn(),
        &LoadRequest {
            case: Some(case),
            sweep: Some(sweep),
        },
    )
    .unwrap();
    let swept = loads.cases[0].drives[set].effort.unwrap();
    assert!(
        judged.value.unwrap() >= swept * (1.0 - 1e-6),
        "{judged:?} {swept}"
    );
    near(judged.value.unwrap(), swept, 1e-3);
    // Let go anywhere, not only in its notch at 0, it is held no better than in any pose swept.
    let holds = judge_holds(&m, &[], set, Some(case), &[])
        .unwrap()
        .value
        .unwrap();
    let least = loads.cases[0]
        .rows
        .iter()
        .filter_map(|r| r.drives[set].let_go.as_ref()?.factor);
    assert!(holds <= least.fold(f64::INFINITY, f64::min) * (1.0 + 1e-6));
    assert!(judge_effort(&m, &[], 9, Some(case), &[]).is_err());
    assert!(judge_holds(&m, &[], set, Some(99), &[]).is_err());
}

/// A spring that holds much energy is told of, and a lever that the load drives back.
#[test]
fn what_may_hurt_is_told() {
    let text = eccentric(20.0, 6.0, 6.0, [0.12, 0.12], 70.0)
        + "\n[spring.strong]\nturns = \"cam\"\nrate = \"200 N mm/deg\"\nslack = \"-90 deg\"\n";
    let loads = one(&model(&text), &[], None);
    assert!(
        loads
            .findings
            .iter()
            .any(|f| f.sentence.contains("spring strong stores up to")),
        "{:?}",
        loads.findings
    );
    assert!(
        loads
            .findings
            .iter()
            .any(|f| f.sentence.contains("by itself when let go")
                && f.sentence.contains("keep hands"))
    );
}

/// A crank of 100 mm turned by a foot on its pin that points down; a brake of 3 N·m.
fn crank(hand: &str, friction: f64) -> String {
    format!(
        r#"
name = "crank"
[point]
c = [0, 0]
h = [100, 0]
[frame]
carries = ["c"]
[part.crank]
carries = ["c", "h"]
[drive.d]
turns = "crank"
range = "whole turn"
hand = {{ at = "h", along = "down"{hand} }}
[joint.c]
diameter = "20 mm"
friction = {friction}
[load.brake]
on = "crank"
moment = "-3 N m"
"#
    )
}

/// Hand statics: 3 N·m on 100 mm are 30 N. The pin goes up at 0 deg and down at 180 deg, so a foot pushes it on at 180 alone.
#[test]
fn a_foot_pushes_one_way() {
    let at = |hand: &str, friction: f64, degrees: f64| {
        let m = model(&crank(hand, friction));
        let loads = one(&m, &[("d", degrees.to_radians())], None);
        let force = row(&loads).1.drives[0].clone();
        (force, loads)
    };
    let foot = ", pushes-only = true";
    let (down, loads) = at(foot, 0.0, 180.0);
    near(down.hand_on.unwrap(), 30.0, 1e-9);
    assert!(down.hand_way == Some(1.0) && !down.must_pull[0]);
    let told = |loads: &studies::load::answers::Loads, words: &str| {
        loads.findings.iter().any(|f| f.sentence.contains(words))
    };
    assert!(
        told(&loads, "30.0 N at h, pushed down, to go on"),
        "{:?}",
        loads.findings
    );
    // A hand can pull as well, and is told that it must.
    let (up, loads) = at("", 0.0, 0.0);
    near(up.hand_on.unwrap(), 30.0, 1e-9);
    assert_eq!(up.hand_way, Some(-1.0));
    assert!(told(&loads, "pushed up, to go on"), "{:?}", loads.findings);
    let (up, loads) = at(foot, 0.0, 0.0);
    assert!(up.must_pull[0] && up.hand_on.is_none());
    assert!(
        told(&loads, "would have to be pulled"),
        "{:?}",
        loads.findings
    );
    // Friction circle: 10 sin(atan 0.2) = 1.96 mm. Within that much of the dead centre a push of any size misses its way round it; that is no
    // jam of the machine, something must carry it over.
    let circle: f64 = 10.0 * 0.2_f64.atan().sin();
    let limit = (circle / 100.0).asin().to_degrees();
    let (near_by, loads) = at(foot, 0.2, 90.0 + 0.8 * limit);
    assert!(near_by.hand_idle && near_by.jams_on.is_none());
    assert!(
        told(&loads, "cannot be moved from h"),
        "{:?}",
        loads.findings
    );
    let fault = loads
        .findings
        .iter()
        .any(|f| f.severity == studies::Severity::Fault);
    assert!(!fault, "{:?}", loads.findings);
    let (beyond, _) = at(foot, 0.2, 90.0 + 1.5 * limit);
    assert!(!beyond.hand_idle && beyond.hand_on.unwrap() > 0.0);
}
