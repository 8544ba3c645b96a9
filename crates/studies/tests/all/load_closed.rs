//! Forces in joints against handbooks and closed forms.

use crate::load_common::{joint, laden, model, near, one, row};
use studies::load::{LoadRequest, load};

/// Slider-crank 50 / 200, friction circles 2, 1.5 and 1 mm, guide 0.1, 1000 N on the slider (check cases `pinfric_*`: common
/// tangent of the friction circles, derived to 12 digits). A friction of 1 on a pin of radius ρ√2 has the friction circle ρ.
#[test]
fn slider_crank_rubs_on_its_friction_circles() {
    let machine = |degrees: f64| {
        let t = degrees.to_radians();
        let (x, y) = (50.0 * t.cos(), 50.0 * t.sin());
        let w = x + (200.0_f64.powi(2) - y * y).sqrt();
        let pin = |rho: f64| format!("diameter = {}\nfriction = 1", 2.0 * rho * 2_f64.sqrt());
        format!(
            r#"
name = "slider crank"
[point]
o = [0, 0]
a = [{x}, {y}]
w = [{w}, 0]
[frame]
carries = ["o"]
[part.crank]
carries = ["o", "a"]
[part.rod]
carries = ["a", "w"]
[part.slider]
carries = ["w"]
[slide.guide]
part = "slider"
along = "right"
[drive.crank]
turns = "crank"
[joint.o]
{}
[joint.a]
{}
[joint.w]
{}
[joint.guide]
friction = 0.1
[load.push]
at = "w"
force = "1000 N"
along = "left"
with = "slider"
"#,
            pin(2.0),
            pin(1.5),
            pin(1.0)
        )
    };
    // The push turns the crank on: the drive holds back. (degrees, torque, without friction, rod, guide)
    for (degrees, torque, free, rod, guide) in [
        (
            10.0,
            6_683.322_200_716_332,
            10_822.051_921_586_039,
            997.392_921_944_564_1,
            30.839_825_065_179_84,
        ),
        (
            30.0,
            26_088.410_801_365_935,
            30_455.447_255_899_81,
            995.123_344_465_037_3,
            112.039_220_489_785_93,
        ),
        (
            80.0,
            46_608.591_263_013_76,
            51_445.902_481_868_66,
            1_004.392_103_951_730_5,
            235.095_519_714_607_22,
        ),
        (
            120.0,
            33_505.338_639_133_886,
            37_757.110_657_062_636,
            1_001.777_232_631_639_9,
            214.445_414_313_056_18,
        ),
        (
            150.0,
            15_931.251_142_575_575,
            19_544.552_744_101_9,
            995.393_079_692_555_4,
            121.943_878_629_818_03,
        ),
    ] {
        let model = model(&machine(degrees));
        let loads = one(&model, &[], None);
        let drive = &row(&loads).1.drives[0];
        near(drive.free, -free, 1e-9);
        near(drive.on.unwrap(), -torque, 1e-9);
        assert!(drive.back.unwrap() < drive.free && drive.on.unwrap() > drive.free);
        near(
            drive.dead_band.unwrap(),
            drive.on.unwrap() - drive.back.unwrap(),
            1e-12,
        );
        // The greatest force counts both ways of moving and none; with the push driving it is at least as great as published.
        assert!(joint(&loads, "pin a of crank and rod").most >= rod * (1.0 - 1e-9));
        assert!(joint(&loads, "slide guide").most >= guide * (1.0 - 1e-9));
    }
    // The crank drives the slider against the push.
    for (degrees, torque, free, rod) in [
        (
            240.0,
            42_226.046_477_040_47,
            37_757.110_657_062_636,
            1_048.391_382_086_303,
        ),
        (
            280.0,
            56_700.770_959_168_774,
            51_445.902_481_868_66,
            1_063.563_315_724_092,
        ),
        (
            340.0,
            25_493.344_799_946_66,
            21_133.196_659_798_094,
            1_014.820_617_127_960_8,
        ),
    ] {
        let model = model(&machine(degrees));
        let loads = one(&model, &[], None);
        let drive = &row(&loads).1.drives[0];
        near(drive.free, free, 1e-9);
        near(drive.on.unwrap(), torque, 1e-9);
        near(drive.efficiency_on.unwrap(), free / torque, 1e-9);
        near(joint(&loads, "pin a of crank and rod").most, rod, 1e-9);
    }
}

/// Two equal links of a toggle: knee pushed down by 1 N holds the slider with 1/(2 tan α); friction circles 0.8 at each of four
/// pins lower it to the tangent of α + asin(2·0.8/l) (check cases `toggle_*`, `toggle_friction_*`).
#[test]
fn toggle_gains() {
    for (degrees, gain, rubbed) in [
        (45.0, 0.5, None),
        (10.0, 2.835_640_909_808_854_6, Some(2.592_376_230_927_763_4)),
        (3.0, 9.540_568_343_926_61, Some(7.302_761_913_879_794)),
    ] {
        let a = f64::to_radians(degrees);
        let (x, y) = (100.0 * a.cos(), 100.0 * a.sin());
        let d = 2.0 * 0.8 * 2_f64.sqrt();
        // The pin of the knee is held by a plate that does not turn (the part named first holds it): each link turns on it by itself.
        let text = format!(
            r#"
name = "toggle"
[point]
o = [0, 0]
k = [{x}, {y}]
s = [{}, 0]
far = [{x}, {}]
car = [{x}, {}]
[frame]
carries = ["o"]
[part.plate]
carries = ["k", "far"]
[part.one]
carries = ["o", "k"]
[part.two]
carries = ["k", "s"]
[part.carriage]
carries = ["car"]
[part.slider]
carries = ["s"]
[slide.up]
part = "plate"
on = "carriage"
along = "up"
[slide.across]
part = "carriage"
along = "right"
[slide.guide]
part = "slider"
along = "right"
[drive.in]
slides = "slider"
sense = "backward"
[joint.o]
diameter = {d}
friction = 1
[joint.k]
diameter = {d}
friction = 1
[joint.s]
diameter = {d}
friction = 1
[load.knee]
at = "k"
force = "1 N"
along = "down"
with = "plate"
"#,
            2.0 * x,
            y + 50.0,
            y + 90.0
        );
        let model = model(&text);
        let loads = one(&model, &[], None);
        let drive = &row(&loads).1.drives[0];
        near(drive.free.abs(), gain, 1e-9);
        if let Some(rubbed) = rubbed {
            // Pushed down, the knee drives the slider out, which is back for a drive that counts inwards.
            near(drive.back.unwrap().abs(), rubbed, 1e-9);
        }
    }
}

/// Bell crank by moment and force balance (check case `bell_3`).
#[test]
fn bell_crank_balances() {
    let at = |r: f64, d: f64| [r * f64::to_radians(d).cos(), r * f64::to_radians(d).sin()];
    let (p, q, f) = (at(75.0, 135.0), at(50.0, 20.0), at(1000.0, 120.0));
    let text = format!(
        r#"
name = "bell crank"
[point]
o = [0, 0]
p = [{}, {}]
q = [{}, {}]
far = [{}, {}]
[frame]
carries = ["o", "far"]
[part.bell]
carries = ["o", "p", "q"]
[rod.holds]
joins = ["q", "far"]
[load.push]
at = "p"
force = "800 N"
along = "200 deg"
"#,
        p[0],
        p[1],
        q[0],
        q[1],
        q[0] - f[0],
        q[1] - f[1]
    );
    let model = model(&text);
    let loads = one(&model, &[], None);
    // The rod would have to push along 120 degrees; minus 1104.3 is a pull.
    near(
        joint(&loads, "rod holds").value,
        1_104.346_854_619_551_3,
        1e-9,
    );
    let pivot = joint(&loads, "pin o of frame and bell").vector.unwrap();
    near(pivot[0], 199.580_669_318_951_04, 1e-9);
    near(pivot[1], 1_230.008_545_350_506_7, 1e-9);
    assert_eq!(loads.worst[0].pull_and_push, None);
    assert!(loads.worst.iter().any(|w| {
        w.pull_and_push
            .is_some_and(|[pull, push]| pull > 1104.0 && push == 0.0)
    }));
}

/// A beam on two cables and a hinge (data of the TU Delft force-method exercise): one cable too many for statics, but the moment
/// of both about the hinge is that of the load, and it is said that the split is not determined.
#[test]
fn one_support_too_many_gives_right_totals() {
    let text = r#"
name = "beam on two cables"
unit = "m"
[point]
a = [0, 0]
b = [0, 3.6]
c = [1.5, 0]
p = [3.0, 0]
e = [4.8, 0]
[frame]
carries = ["a", "b"]
[part.beam]
carries = ["a", "c", "p", "e"]
[rod.short]
joins = ["b", "c"]
[rod.long]
joins = ["b", "e"]
[load.weight]
at = "p"
force = "4 kN"
along = "down"
"#;
    let model = model(text);
    let loads = one(&model, &[], None);
    let (_, row) = row(&loads);
    assert!(row.split_undetermined);
    let arm = |x: f64| 3.6 * x / (3.6_f64.powi(2) + x * x).sqrt();
    let moment =
        joint(&loads, "rod short").value * arm(1.5) + joint(&loads, "rod long").value * arm(4.8);
    near(moment, 4000.0 * 3.0, 1e-9);
    assert!(
        loads
            .findings
            .iter()
            .any(|f| f.sentence.contains("not determined")),
        "{:?}",
        loads.findings
    );
}

/// A rod that leaves the plane of its lever by 45° pushes it along its axis as hard as across, and tilts it on its pin.
#[test]
fn a_slanting_rod_tilts_its_lever() {
    let text = r#"
name = "slanting rod"
[point]
o = [0, 0]
p = [50, 0]
far = { at = [50, 100], station = 100 }
[frame]
carries = ["o", "far"]
[part.lever]
carries = ["o", "p"]
[rod.slant]
joins = ["p", "far"]
[load.turn]
on = "lever"
moment = "-5 N m"
"#;
    let model = model(text);
    let loads = one(&model, &[], None);
    near(
        joint(&loads, "rod slant").value,
        100.0 * 2_f64.sqrt(),
        1e-12,
    );
    let out = &row(&loads).0.out_of_plane[0];
    near(out.thrust, 100.0, 1e-12);
    near(out.tilting, 5000.0, 1e-12);
}

/// A short guide pulled far off its middle jams: 2·µ·arm > length (drawer rule, any handbook); a longer one runs.
#[test]
fn a_short_guide_jams_and_says_so() {
    for (length, jams) in [(20.0, true), (90.0, false)] {
        let text = format!(
            r#"
name = "drawer"
[point]
x = [-50, 0]
o = [0, 0]
h = [0, 200]
[frame]
carries = ["x"]
[part.drawer]
carries = ["o", "h"]
[slide.guide]
part = "drawer"
along = "right"
[drive.pull]
slides = "drawer"
hand = "h"
[joint.guide]
length = {length}
friction = 0.2
[load.drag]
at = "o"
force = "10 N"
along = "left"
"#
        );
        let model = model(&text);
        let loads = one(&model, &[], None);
        let drive = &row(&loads).1.drives[0];
        assert_eq!(
            drive.jams_on.as_deref() == Some("slide guide"),
            jams,
            "{drive:?}"
        );
        assert_eq!(drive.on.is_none(), jams);
        assert_eq!(
            loads
                .findings
                .iter()
                .any(|f| f.sentence.contains("jams") && f.sentence.contains("slide guide")),
            jams
        );
        if !jams {
            // F = 10 + µ·2·F·200/90.
            near(
                drive.hand_on.unwrap(),
                10.0 / (1.0 - 0.2 * 2.0 * 200.0 / 90.0),
                1e-9,
            );
        }
    }
}

/// Weights of bars from stock: a level bar 400 long of 10 × 20 steel needs half its weight times its length at the pivot.
#[test]
fn a_level_bar_weighs() {
    let text = r#"
name = "bar"
weight = "down"
[point]
o = [0, 0]
p = [400, 0]
[frame]
carries = ["o"]
[part.bar]
carries = ["o", "p"]
stock = { flat = ["10 mm", "20 mm"] }
[drive.lift]
turns = "bar"
hand = "p"
"#;
    let model = model(text);
    let loads = one(&model, &[], None);
    let kg = 10.0 * 20.0 * 400.0 * model.machine().work.materials[0].density;
    near(row(&loads).1.drives[0].free, kg * 9.806_65 * 200.0, 1e-12);
    near(
        row(&loads).1.drives[0].hand_free.unwrap(),
        kg * 9.806_65 * 0.5,
        1e-12,
    );
}

/// The same answer on any number of threads.
#[test]
fn the_same_on_any_number_of_threads() {
    let model = model(&laden());
    let sweep = model.sweep("set", None, None, Some("1 deg")).unwrap();
    let request = LoadRequest {
        case: None,
        sweep: Some(sweep),
    };
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| load(&model, &model.drawn(), &request).unwrap())
    };
    assert_eq!(on(1), on(3));
}

/// Lever, rod across two planes, bell crank, rod, eccentric shaft, link and ram: the moment on the lever that 1000 N on the ram
/// take, by virtual work to 12 digits (check cases `chain_lever_torque_*`).
#[test]
fn a_chain_across_two_planes_needs_its_moment() {
    // Lever, bell crank and shaft as they stand, degrees, and the moment, N·m (cases `chain_gap_*`).
    for (lever, bell, shaft, moment) in [
        (
            -20.0,
            209.374_168_963_428_02,
            121.606_031_227_164_98,
            -2.421_925_940_571_073,
        ),
        (
            20.0,
            147.929_790_150_102_2,
            79.255_971_731_921_83,
            -5.249_064_161_682_739,
        ),
    ] {
        let at = |c: [f64; 2], r: f64, d: f64| {
            let (s, k) = f64::to_radians(d).sin_cos();
            [c[0] + r * k, c[1] + r * s]
        };
        let pin = at([20.0, -160.0], 90.0, lever);
        let (bell_in, bell_out) = (
            at([-60.0, 40.0], 60.0, bell),
            at([-60.0, 40.0], 50.0, bell - 95.0),
        );
        let (arm, eccentric) = (
            at([120.0, 30.0], 70.0, shaft),
            at([120.0, 30.0], 6.0, shaft + 130.0),
        );
        let across = 122.0 - eccentric[0];
        let ram = [
            122.0,
            eccentric[1] - (80.0_f64.powi(2) - across * across).sqrt(),
        ];
        let text = format!(
            r#"
name = "chain"
[plane.side]
origin = [0, 0, 0]
right = [0, 0, 1]
up = [0, 1, 0]
[point]
pivot = {{ at = [20, -160], plane = "side", station = 150 }}
pin = {{ at = [{}, {}], plane = "side", station = 150 }}
bell = [-60, 40]
in = [{}, {}]
out = [{}, {}]
axis = [120, 30]
arm = [{}, {}]
throw = [{}, {}]
ram = [{}, {}]
[frame]
carries = ["pivot", "bell", "axis"]
[part.lever]
carries = ["pivot", "pin"]
[part.bell-crank]
carries = ["bell", "in", "out"]
[part.shaft]
carries = ["axis", "arm", "throw"]
[part.ram]
carries = ["ram"]
[slide.guide]
part = "ram"
along = "up"
[rod.one]
joins = ["pin", "in"]
[rod.two]
joins = ["out", "arm"]
[rod.link]
joins = ["throw", "ram"]
[drive.lever]
turns = "lever"
[load.work]
at = "ram"
force = "1000 N"
along = "up"
"#,
            pin[0],
            pin[1],
            bell_in[0],
            bell_in[1],
            bell_out[0],
            bell_out[1],
            arm[0],
            arm[1],
            eccentric[0],
            eccentric[1],
            ram[0],
            ram[1]
        );
        let model = model(&text);
        let loads = one(&model, &[], None);
        near(row(&loads).1.drives[0].free, 1000.0 * moment, 1e-8);
        // The rods are as long as they should be, so this is the chain of the cases.
        let lengths: Vec<f64> = model
            .dimensions()
            .iter()
            .filter(|d| d.name.ends_with(": length"))
            .map(|d| model.mechanism().params[d.param])
            .collect();
        for (got, want) in lengths.iter().zip([230.0, 164.0, 80.0]) {
            near(*got, want, 1e-9);
        }
    }
}
