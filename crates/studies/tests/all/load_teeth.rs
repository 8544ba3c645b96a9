//! Gears and racks: the angle at which teeth press, and what backlash and loose pins let them lose.

use crate::load_common::{joint, model, near, one, row};
use studies::load::lost_motion;

/// 18 teeth drive 54, module 1.5, an arm of 100 mm on the wheel, 10 N·m on it. The wheel sits on a pin, or is clamped on a shaft.
fn gears(wheel: &str, teeth: &str) -> String {
    format!(
        r#"
name = "gears"
[point]
pc = [0, 0]
wc = [54, 0]
wa = [54, 100]
[frame]
carries = ["pc", "wc"]
[part.p]
carries = ["pc"]
{wheel}
[gear.g]
joins = ["p", "w"]
teeth = [18, 54]
module = "1.5 mm"
{teeth}
[drive.d]
turns = "p"
range = ["-30 deg", "30 deg"]
[reading.x]
place-of = "wa"
along = "right"
[reading.t]
turn-of = "w"
[load.l]
on = "w"
moment = "10 N m"
[usual]
diameter = "10 mm"
clearance = "0.02 mm"
"#
    )
}

/// By hand, along the line of action at 20 deg: a wheel whose base circle is 40.5 cos 20 = 38.058 mm turns by what its flank lets through over
/// that radius. The backlash is 0.2 along the pitch circle; the pinion's pin lets its flank go by 0.02; the wheel's pin too, while it takes the
/// arm with it: right 1 − 100 sin 20 / 38.058, up 100 cos 20 / 38.058 for each mm.
#[test]
fn backlash_and_loose_pins_are_lost_at_the_wheel() {
    let pinned = "[part.w]\ncarries = [\"wc\", \"wa\"]";
    let on_shaft = "[shaft.s]\ncentre = \"wc\"\n[part.w]\ncarries = [\"wa\"]\nclamped-to = \"s\"";
    let (sin, cos) = 20_f64.to_radians().sin_cos();
    let base = 40.5 * cos;
    for wheel in [pinned, on_shaft] {
        for (teeth, cut) in [("backlash = \"0.2 mm\"", 0.2), ("", 0.0)] {
            let m = model(&gears(wheel, teeth));
            let found = lost_motion(&m, &m.drawn(), 0).unwrap();
            let turn = cut / 40.5 + 2.0 * 0.02 / base;
            near(2.0 * found.readings[1].rattles, turn, 1e-6);
            let own = 0.02 * (1.0 - 100.0 * sin / base).hypot(100.0 * cos / base);
            let arm = 100.0 * (cut / 40.5 + 0.02 / base) + own;
            near(2.0 * found.readings[0].rattles, arm, 1e-6);
            near(found.readings[1].reversals[0].jumps, turn, 1e-6);
            // Turned back under the load, nothing is loose: it lies on one flank.
            near(found.readings[1].taken_up[1], 0.5 * turn, 1e-6);
            let press = found.joints.iter().filter(|j| !j.joint.starts_with("gear"));
            for joint in press {
                near(joint.force, 10_000.0 / base, 1e-6);
            }
        }
    }
}

/// Teeth of modules 1.5 at centres 0.1 too far apart: 2 × 0.1 tan 20 more (any handbook, small changes of centres).
#[test]
fn centres_apart_add_to_the_backlash() {
    let text = gears("[part.w]\ncarries = [\"wc\", \"wa\"]", "")
        .replace("[54, ", "[54.1, ")
        .replace("clearance = \"0.02 mm\"", "");
    let m = model(&text);
    let found = lost_motion(&m, &m.drawn(), 0).unwrap();
    let turn = 2.0 * 0.1 * 20_f64.to_radians().tan() / (0.75 * 54.1);
    near(2.0 * found.readings[1].rattles, turn, 1e-2);
}

fn rack(angle: &str, friction: f64) -> String {
    format!(
        r#"
name = "rack"
[point]
wc = [0, 0]
r = [30, 60]
rt = [30, 100]
[frame]
carries = ["wc"]
[part.wheel]
carries = ["wc"]
[part.bar]
carries = ["r", "rt"]
[slide.bar]
part = "bar"
along = "up"
[rack.k]
gear = "wheel"
rack = "bar"
teeth = 40
module = "1.5 mm"
{angle}
[drive.d]
turns = "wheel"
range = ["0 deg", "60 deg"]
[joint.bar]
friction = {friction}
[load.w]
at = "rt"
force = "1 kN"
along = "down"
"#
    )
}

/// Teeth press at their angle: 1 kN along the rack is 1000 / cos on the wheel's pin, 1000 tan on the guide (any handbook); with friction µ in
/// the guide the teeth push with 1000 / (1 − µ tan) to go up.
#[test]
fn the_teeth_of_a_rack_press_at_their_angle() {
    for (angle, degrees) in [("", 20.0_f64), ("pressure-angle = \"25 deg\"", 25.0)] {
        let tan = degrees.to_radians().tan();
        let loads = one(&model(&rack(angle, 0.0)), &[], None);
        near(
            joint(&loads, "pin wc of frame and wheel").most,
            1000.0 * tan.hypot(1.0),
            1e-6,
        );
        near(joint(&loads, "slide bar").value.abs(), 1000.0 * tan, 1e-6);
        // It is pushed off the wheel, to the right; so the guide holds it to the left.
        assert!(joint(&loads, "slide bar").vector.unwrap()[0] < 0.0);
        let loads = one(&model(&rack(angle, 0.2)), &[], None);
        let drive = &loads.cases[0].rows[0].drives[0];
        near(
            drive.on.unwrap().abs().max(drive.back.unwrap().abs()),
            30.0 * 1000.0 / (1.0 - 0.2 * tan),
            1e-6,
        );
    }
}

/// Gears press at the pitch point: 2 N·m on a wheel of pitch radius 20 is 100 N along the teeth and 100 tan 20° apart, on the
/// bearings of both wheels; and an internal pair.
#[test]
fn teeth_press_on_their_bearings() {
    for (inside, centres, apart) in [(false, 60.0, 1.0), (true, 20.0, -1.0)] {
        let text = format!(
            r#"
name = "gears"
[point]
p = [0, 0]
w = [{centres}, 0]
q = [0, 10]
r = [{centres}, 10]
[frame]
carries = ["p", "w"]
[part.pinion]
carries = ["p", "q"]
[part.wheel]
carries = ["w", "r"]
[gear.pair]
joins = ["pinion", "wheel"]
teeth = [20, 40]
inside = {inside}
[drive.in]
turns = "pinion"
[joint.pair]
friction = 0.02
[load.work]
on = "wheel"
moment = "4 N m"
"#
        );
        let model = model(&text);
        let loads = one(&model, &[], None);
        let drive = &row(&loads).1.drives[0];
        near(drive.free.abs(), 2000.0, 1e-12);
        near(
            drive.on.unwrap().max(-drive.back.unwrap()).abs(),
            2000.0 * 1.02,
            0.01,
        );
        let pinion = joint(&loads, "pin p of frame and pinion").vector.unwrap();
        let wheel = joint(&loads, "pin w of frame and wheel").vector.unwrap();
        near(pinion[1].abs(), 100.0, 1e-12);
        // The bearing holds each wheel against being pushed off the other.
        near(pinion[0], apart * 100.0 * 20_f64.to_radians().tan(), 1e-12);
        for k in 0..2 {
            near(wheel[k], -pinion[k], 1e-12);
        }
    }
}

/// A rack pressed by 100 N: the pinion's bearing takes it, and the guide the couple about the line of the teeth.
#[test]
fn rack_presses_on_pinion_and_guide() {
    let text = r#"
name = "rack"
[point]
g = [0, 20]
h = [10, 20]
bar = [0, -10]
end = [100, -10]
[frame]
carries = ["g"]
[part.pinion]
carries = ["g", "h"]
[part.bar]
carries = ["bar", "end"]
[slide.guide]
part = "bar"
along = "right"
[rack.lift]
gear = "pinion"
rack = "bar"
radius = 20
[drive.in]
turns = "pinion"
[load.work]
at = "end"
force = "100 N"
along = "left"
"#;
    let model = model(text);
    let loads = one(&model, &[], None);
    near(row(&loads).1.drives[0].free, 2000.0, 1e-12);
    near(joint(&loads, "rack lift").value, 100.0, 1e-12);
    let pin = joint(&loads, "pin g of frame and pinion").vector.unwrap();
    near(pin[0], 100.0, 1e-12);
    // Teeth at 20 deg: the pinion is pushed up off the bar and its pin holds it down, the guide bears the bar.
    let apart = 100.0 * 20_f64.to_radians().tan();
    near(pin[1], -apart, 1e-9);
    // Teeth at height 0, work at −10: the guide's ends take 1 N·m.
    let guide = joint(&loads, "slide guide");
    near(guide.vector.unwrap()[1], apart, 1e-9);
    near(guide.couple.unwrap().abs(), 1000.0, 1e-9);
    // The moment of teeth and work on the bar turns it clockwise; the guide holds the other way.
    assert!(guide.couple.unwrap() > 0.0);
}

/// A motor on the pinion's shaft, 20 teeth on 60 of module 2, 100 N down on the wheel's arm of 90 mm that lies level: 9 N·m at the wheel are
/// 9 N·m in the gear's row (150 N along the teeth), whichever of the two the drive is named for; without a motor nothing goes through the teeth of a pinion
/// that nothing else holds.
#[test]
fn what_a_motor_gives_goes_through_the_teeth() {
    let along = |turns: &str, motor: &str| {
        let text = format!(
            r#"
name = "hoist"
[point]
p = [0, 0]
w = [80, 0]
q = [0, 30]
k = [170, 0]
[frame]
carries = ["p", "w"]
[part.pinion]
carries = ["p", "q"]
[part.wheel]
carries = ["w", "k"]
[gear.g]
joins = ["pinion", "wheel"]
teeth = [20, 60]
module = "2 mm"
[load.hook]
at = "k"
force = "100 N"
along = "down"
[drive.d]
turns = "{turns}"
range = ["0 deg", "10 deg"]
{motor}
"#
        );
        let model = model(&text);
        let loads = one(&model, &[], None);
        let on = row(&loads).1.drives[0].on.unwrap();
        (joint(&loads, "gear g").most, on.abs(), loads.assumed)
    };
    let motor = "[motor.m]\nturns = \"pinion\"\npower = \"250 W\"\nspeed = \"1400 rpm\"";
    // A gear's row is the moment on its greater wheel.
    let (pressed, on, assumed) = along("wheel", motor);
    near(pressed, 9000.0, 1e-6);
    near(on, 9000.0, 1e-6);
    assert!(assumed.iter().any(|a| a.contains("motor m")), "{assumed:?}");
    let (pressed, on, assumed) = along("pinion", motor);
    near(pressed, 9000.0, 1e-6);
    near(on, 3000.0, 1e-6);
    assert!(
        !assumed.iter().any(|a| a.contains("motor m")),
        "{assumed:?}"
    );
    let (pressed, ..) = along("wheel", "");
    near(pressed, 0.0, 1e-9);
}
