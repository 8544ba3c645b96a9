//! Outside cases of force, holding, stretch, play and spread: each machine written as a builder would, and asked through the studies.

use checks::{Answers, Case, LOAD, disagreements, read_cases};
use studies::load::answers::{DriveForce, JointForce, Loads};
use studies::load::{LoadRequest, load, lost_motion, stretch};
use studies::spread::{Request, spread};
use studies::{Model, assemble};

fn model(text: &str) -> Model {
    let found = machine::read_text("machine.toml", text);
    let told = machine::render_all(&found.problems, &found.sources, false);
    assemble(&found.machine.unwrap_or_else(|| panic!("{text}\n{told}")))
}

fn loads(model: &Model) -> Loads {
    load(model, &model.drawn(), &LoadRequest::default()).expect("it is loaded")
}

fn drive(loads: &Loads) -> &DriveForce {
    &loads.cases[0].rows[0].drives[0]
}

/// The joint whose name begins so.
fn joint<'l>(loads: &'l Loads, name: &str) -> &'l JointForce {
    let index = loads.joints.iter().position(|j| j.name.starts_with(name));
    let index = index.unwrap_or_else(|| panic!("no {name} among {:?}", loads.joints));
    &loads.cases[0].rows[0].joints[index]
}

fn number(value: Option<f64>) -> f64 {
    value.unwrap_or(f64::NAN)
}

/// Numbers and words put in place of `{names}`.
fn filled(case: &Case, text: &str) -> String {
    let mut text = text.to_owned();
    for (name, value) in case.given.all() {
        text = text.replace(&format!("{{{name}}}"), &value.to_string());
    }
    text
}

fn toggle(case: &Case) -> Answers {
    let half = case.given.degrees("half").expect("given");
    let link = case.given.number("link").expect("given");
    let (x, y) = (link * half.sin(), link * half.cos());
    let m = model(&filled(
        case,
        &format!(
            r#"
name = "toggle"
[point]
top = [0, 0]
knee = [{x}, {}]
foot = [0, {}]
face = {{ from = "foot", by = [0, -10] }}
[frame]
carries = ["top"]
[part.upper]
carries = ["top", "knee"]
[part.lower]
carries = ["knee", "foot"]
[part.ram]
carries = ["foot", "face"]
[slide.way]
part = "ram"
along = "up"
[drive.push]
turns = "upper"
sense = "clockwise"
range = ["0 deg", "1 deg"]
hand = {{ at = "knee", along = "left" }}
[load.work]
at = "face"
force = "{{work_N}} N"
along = "up"
[usual]
diameter = {{pin}}
friction = {{friction}}
[joint.way]
friction = 0
"#,
            -y,
            -2.0 * y
        )
        .replace(
            "diameter = {pin}",
            if case.given.number("pin") == Ok(0.0) {
                ""
            } else {
                "diameter = {pin}"
            },
        ),
    ));
    let l = loads(&m);
    let d = drive(&l);
    Answers::default()
        .number("hand_N", number(d.hand_free))
        .number("link_N", joint(&l, "pin foot").value)
        .number("side_N", joint(&l, "slide way").value.abs())
        .number("hand_on_N", number(d.hand_on))
        .number("hand_back_N", number(d.hand_back))
        .number("top_N", joint(&l, "pin top").most)
        .number("efficiency", number(d.efficiency_on))
}

fn bell_crank(case: &Case) -> Answers {
    let l = loads(&model(&filled(
        case,
        r#"
name = "bell crank"
[point]
pivot = [0, 0]
grip = [{hand_arm}, 0]
pin = [0, {load_arm}]
[frame]
carries = ["pivot"]
[part.crank]
carries = ["pivot", "grip", "pin"]
[drive.pull]
turns = "crank"
sense = "clockwise"
hand = "grip"
[load.w]
at = "pin"
force = "{load_N} N"
along = "left"
[usual]
diameter = {pin}
friction = {friction}
"#,
    )));
    let d = drive(&l);
    Answers::default()
        .number("hand_free_N", number(d.hand_free))
        .number("hand_on_N", number(d.hand_on))
        .number("hand_back_N", number(d.hand_back))
        .number("pivot_N", joint(&l, "pin pivot").most)
        .number("dead_band_N", number(d.hand_on) - number(d.hand_back))
}

fn lever(case: &Case) -> Answers {
    let off = case.given.number("off_square_deg").expect("given");
    let l = loads(&model(&filled(
        case,
        &format!(
            r#"
name = "lever"
[point]
pivot = [0, 0]
pin = [-{{load_arm}}, 0]
grip = [{{hand_arm}}, 0]
[frame]
carries = ["pivot"]
[part.lever]
carries = ["pivot", "grip", "pin"]
[drive.pull]
turns = "lever"
sense = "clockwise"
hand = {{ at = "grip", along = "{} deg" }}
[load.w]
at = "pin"
force = "{{load_N}} N"
along = "down"
"#,
            270.0 + off
        ),
    )));
    Answers::default().number("hand_N", number(drive(&l).hand_free))
}

fn wedge(case: &Case) -> Answers {
    let rise = 50.0 * case.given.degrees("slope").expect("given").tan();
    let l = loads(&model(&filled(
        case,
        &format!(
            r#"
name = "wedge"
[point]
face = [0, 0]
high = [-50, {rise}]
low = [50, {}]
[frame]
carries = []
[part.wedge]
carries = ["high", "low"]
[part.ram]
carries = ["face"]
[slide.bed]
part = "wedge"
along = "right"
[slide.guide]
part = "ram"
along = "up"
[slot.flank]
pin = "face"
in = "wedge"
from = "high"
to = "low"
[drive.push]
slides = "wedge"
range = ["-1 mm", "1 mm"]
[load.w]
at = "face"
force = "{{load_N}} N"
along = "down"
[usual]
friction = {{friction}}
"#,
            -rise
        ),
    )));
    let d = drive(&l);
    let let_go = d.let_go.as_ref().expect("it is let go");
    Answers::default()
        .number("push_in_N", number(d.on))
        .number("pull_out_N", number(d.back))
        .number("efficiency", number(d.efficiency_on))
        .flag("stays", let_go.stays)
}

/// A ram in a guide, moved by a hand that takes hold beside it.
fn guide(case: &Case) -> Answers {
    let m = model(&filled(
        case,
        r#"
name = "guide"
[point]
middle = [0, 0]
foot = [0, -50]
grip = [{beside}, 0]
[frame]
carries = ["foot"]
[part.ram]
carries = ["middle", "grip"]
[slide.way]
part = "ram"
along = "up"
[drive.lift]
slides = "ram"
range = ["0 mm", "10 mm"]
hand = "grip"
[load.w]
at = "middle"
force = "{load_N} N"
along = "down"
[joint.way]
length = "{guide} mm"
friction = {friction}
"#,
    ));
    let l = loads(&m);
    let d = drive(&l);
    let answers = Answers::default()
        .number("back_N", number(d.hand_back))
        .number("jams", f64::from(u8::from(d.jams_on.is_some())));
    match d.hand_on {
        Some(on) => answers.number("on_N", on),
        None => answers,
    }
}

fn shaft(case: &Case) -> Answers {
    let l = loads(&model(&filled(
        case,
        r#"
name = "shaft"
[point]
centre = [0, 0]
pin = { from = "centre", by = [{arm}, 0], station = {station} }
mark = { from = "centre", by = [5, 0] }
[frame]
carries = ["centre"]
[shaft.s]
centre = "centre"
carries = ["mark"]
bearings = ["0 mm", "{span} mm"]
stock = { round = "{bar} mm" }
[part.arm]
carries = ["pin"]
clamped-to = "s"
[drive.turn]
turns = "s"
[load.w]
at = "pin"
force = "{load_N} N"
along = "up"
"#,
    )));
    let s = &l.cases[0].shafts[0];
    let [a, b] = s.bearings.expect("it has bearings");
    Answers::default()
        .number("bearing_a_N", a[1])
        .number("bearing_b_N", b[1])
        .number("bending_Nmm", number(s.most_bending))
        .number("torsion_Nmm", s.most_torsion)
}

fn material(case: &Case, shear: bool) -> String {
    let shear = if shear {
        "shear = \"{shear_MPa} MPa\"\n"
    } else {
        ""
    };
    filled(
        case,
        &format!(
            "[material.bar]\nmodulus = \"{{modulus_MPa}} MPa\"\n{shear}density = \"7.85 g/cm3\"\n"
        ),
    )
}

fn cantilever(case: &Case) -> Answers {
    let m = model(&filled(
        case,
        &(String::from(
            r#"
name = "cantilever"
[point]
root = [0, 0]
tip = [{length}, 0]
[frame]
carries = ["root"]
[part.arm]
carries = ["root", "tip"]
stock = { flat = ["{thick} mm", "{wide} mm"], material = "bar" }
[drive.turn]
turns = "arm"
[reading.height]
place-of = "tip"
along = "up"
[load.w]
at = "tip"
force = "{load_N} N"
along = "down"
"#,
        ) + &material(case, true)),
    ));
    let s = stretch(&m, &m.drawn(), 0).expect("it gives");
    Answers::default().number("sag", s.readings[0].free - s.readings[0].loaded)
}

fn beam_on_two(case: &Case) -> Answers {
    let m = model(&filled(
        case,
        &(String::from(
            r#"
name = "beam on two"
[point]
left = [-{half}, 0]
right = [{half}, 0]
middle = [0, -{off}]
above = [{half}, 80]
[frame]
carries = ["left", "above"]
[part.beam]
carries = ["left", "right", "middle"]
stock = { flat = ["{thick} mm", "{wide} mm"], material = "bar" }
[rod.hanger]
joins = ["right", "above"]
[reading.height]
place-of = "middle"
along = "up"
[load.w]
at = "middle"
force = "{load_N} N"
along = "down"
"#,
        ) + &material(case, true)),
    ));
    let s = stretch(&m, &m.drawn(), 0).expect("it gives");
    Answers::default().number("sag", s.readings[0].free - s.readings[0].loaded)
}

fn work_and_rod(case: &Case) -> Answers {
    let m = model(&filled(
        case,
        &(String::from(
            r#"
name = "work and rod"
[point]
top = [0, {rod}]
pin = [0, 0]
bed = [0, -{gap}]
[frame]
carries = ["top", "bed"]
[part.ram]
carries = ["pin"]
[slide.way]
part = "ram"
along = "up"
[rod.post]
joins = ["top", "pin"]
stock = { round = "{bar} mm", material = "bar" }
[reading.gap]
between = ["bed", "pin"]
along = "up"
[load.work]
squeezes = "gap"
begins = "{begins} mm"
stiffness = "{work_N_per_mm} N/mm"
"#,
        ) + &material(case, false)),
    ));
    let s = stretch(&m, &m.drawn(), 0).expect("it gives");
    Answers::default()
        .number("force_N", s.acted[0].force)
        .number("gap", s.readings[0].loaded)
        .number("doubled", s.readings[0].members[0].doubled)
}

fn pin_in_lugs(case: &Case) -> Answers {
    let [one, other] = case.given.place("lugs").expect("given");
    let m = model(&filled(
        case,
        &(format!(
            r#"
name = "pin in lugs"
[point]
o = [0, 0]
p = [50, 0]
q = [100, 0]
[frame]
carries = ["o"]
[part.a]
carries = ["o", "p"]
stock = {{ flat = ["{one} mm", "1000 m"], material = "bar" }}
[part.b]
carries = ["p", "q"]
stock = {{ flat = ["{other} mm", "1000 m"], material = "bar" }}
[slide.way]
part = "b"
along = "right"
[joint.p]
diameter = {{pin}}
[reading.place]
place-of = "q"
along = "right"
[load.w]
at = "q"
force = "{{load_N}} N"
along = "right"
"#
        ) + &material(case, false)),
    ));
    let s = stretch(&m, &m.drawn(), 0).expect("it gives");
    Answers::default().number("moves", s.readings[0].loaded - s.readings[0].free)
}

fn dead_centre_spread(case: &Case) -> Answers {
    let m = model(&filled(
        case,
        &format!(
            r#"
name = "dead centre"
[point]
o = [0, 0]
mark = [5, 0]
pin = [0, {{crank}}]
top = [0, {}]
[frame]
carries = ["o"]
[shaft.main]
centre = "o"
carries = ["mark"]
[part.arm]
carries = ["pin"]
clamped-to = "main"
[rod.link]
joins = ["pin", "top"]
[part.block]
carries = ["top"]
[slide.way]
part = "block"
along = "up"
[drive.turn]
turns = "main"
range = ["-10 deg", "10 deg"]
[reading.height]
place-of = "top"
along = "up"
[tolerance.clock]
of = "arm"
plus-minus = "{{clock_deg}} deg"
"#,
            case.given.number("crank").expect("given") + case.given.number("link").expect("given")
        ),
    ));
    let r = made(&m, 400_000);
    let height = &r.readings[0];
    let fall = |p: usize| height.nominal - height.made.percentiles[p];
    Answers::default()
        .number("likely", height.root_sum_square)
        .number("mean_fall", height.nominal - height.made.mean)
        .number("fall_2p5", fall(3))
        .number("fall_50", fall(2))
        .number("fall_97p5", fall(1))
}

fn made(m: &Model, machines: usize) -> studies::spread::Spread {
    let request = Request {
        machines,
        ..Request::default()
    };
    spread(m, &m.drawn(), &request).expect("it spreads")
}

fn sum_spread(case: &Case) -> Answers {
    let [a, b, c] = case.given.place("tolerances").expect("given");
    let m = model(&format!(
        r#"
name = "sum"
[point]
head = [0, 0]
one = [50, 0]
two = [90, 0]
three = [120, 0]
[frame]
carries = ["head"]
[part.block-one]
carries = ["one"]
[part.block-two]
carries = ["two"]
[part.block-three]
carries = ["three"]
[slide.one]
part = "block-one"
along = "right"
[slide.two]
part = "block-two"
along = "right"
[slide.three]
part = "block-three"
along = "right"
[rod.a]
joins = ["head", "one"]
[rod.b]
joins = ["one", "two"]
[rod.c]
joins = ["two", "three"]
[reading.place]
place-of = "three"
along = "right"
[tolerance.a]
of = "a"
plus-minus = {a}
[tolerance.b]
of = "b"
plus-minus = {b}
[tolerance.c]
of = "c"
plus-minus = {c}
[ask.near]
reading = "place"
between = [119.95, 120.05]
"#
    ));
    let s = made(&m, 400_000);
    let place = &s.readings[0];
    let off = |p: usize| place.made.percentiles[p] - place.nominal;
    Answers::default()
        .number("likely", place.root_sum_square)
        .number("at_worst", place.worst_case)
        .number("deviation", place.made.deviation)
        .number("p2p5", off(1))
        .number("p97p5", off(3))
        .number("share_1", place.shares[0].share)
        .number("kept", s.asks[0].kept.share)
}

fn lever_play(case: &Case) -> Answers {
    let m = model(&filled(
        case,
        r#"
name = "play"
[point]
pivot = [0, 0]
pin = [-{short}, 0]
tip = [{long}, 0]
below = [-{short}, -100]
[frame]
carries = ["pivot", "below"]
[part.lever]
carries = ["pivot", "tip", "pin"]
[rod.hold]
joins = ["below", "pin"]
[joint.pivot]
clearance = {clearance}
[joint.pin]
clearance = {clearance}
[reading.tip]
place-of = "tip"
along = "up"
"#,
    ));
    let lost = lost_motion(&m, &m.drawn(), 0).expect("it rattles");
    Answers::default().number("rattles", lost.readings[0].rattles)
}

/// A lever with a weight on one arm and a hand on the other.
fn held(case: &Case, more: &str) -> Loads {
    let arm = |name: &str| case.given.number_or(name, 100.0);
    loads(&model(&filled(
        case,
        &format!(
            r#"
name = "held"
[point]
pivot = [0, 0]
pin = [-{}, 0]
grip = [{}, 0]
[frame]
carries = ["pivot"]
[part.lever]
carries = ["pivot", "grip", "pin"]
[drive.set]
turns = "lever"
hand = "grip"
[load.w]
at = "pin"
force = "{} N"
along = "down"
{more}"#,
            arm("load_arm"),
            arm("hand_arm"),
            arm("load_N")
        ),
    )))
}

fn detent(case: &Case) -> Answers {
    let l = held(
        case,
        "[detent.home]\ndrive = \"set\"\nat = \"0 deg\"\nradius = {radius}\nseat = { cone = \"{cone_deg} deg\" }\nspring = \"{spring_N} N\"\nfriction = {friction}\n",
    );
    Answers::default()
        .number("lifts_N", number(l.detents[0].lifts[0]))
        .number("holds_Nmm", number(l.detents[0].holds[0]))
}

fn clamp(case: &Case) -> Answers {
    let l = held(
        case,
        "[clamp.ring]\nholds = \"set\"\nradius = {radius}\nleaned = \"{lean_N} N\"\n",
    );
    let ring = &l.cases[0].clamps[0];
    Answers::default()
        .number("moment_Nmm", ring.moment)
        .number("force_N", number(ring.force))
}

#[test]
fn outside_cases_agree() {
    let cases = read_cases(LOAD).expect("load.json reads");
    let mut wrong = Vec::new();
    for case in &cases {
        let answers = match case.machine.as_str() {
            "toggle" => toggle(case),
            "bell-crank" => bell_crank(case),
            "lever" => lever(case),
            "wedge" => wedge(case),
            "guide" => guide(case),
            "shaft" => shaft(case),
            "cantilever" => cantilever(case),
            "beam on two" => beam_on_two(case),
            "work-and-rod" => work_and_rod(case),
            "pin-in-lugs" => pin_in_lugs(case),
            "dead-centre-spread" => dead_centre_spread(case),
            "sum-spread" => sum_spread(case),
            "lever-play" => lever_play(case),
            "detent" => detent(case),
            "clamp" => clamp(case),
            other => panic!("no machine is called {other}"),
        };
        let found = disagreements(case, &answers);
        if !found.is_empty() {
            wrong.push(format!("{}:\n    {}", case.id, found.join("\n    ")));
        }
    }
    println!(
        "outside cases of load: {}, agree: {}",
        cases.len(),
        cases.len() - wrong.len()
    );
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(cases.len() >= 28);
}
