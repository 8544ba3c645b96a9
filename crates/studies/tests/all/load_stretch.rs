//! What gives under load: textbook deflections, series of springs, and shares of members.

use crate::load_common::{case_of, laden, model, near, one, shaft_with_arms};
use std::f64::consts::PI;
use studies::load::answers::ReadingStretch;
use studies::load::{bands, judge_loaded, lost_motion, stretch};
use studies::{Model, readings};

const STEEL: f64 = 206_000.0;

fn reading(model: &Model, name: &str) -> ReadingStretch {
    let found = stretch(model, &model.drawn(), 0).unwrap();
    found
        .readings
        .into_iter()
        .find(|r| r.reading.name == name)
        .unwrap()
}

fn moved(model: &Model, name: &str) -> f64 {
    let r = reading(model, name);
    r.loaded - r.free
}

fn modulus(model: &Model, name: &str) -> (f64, f64) {
    let m = model
        .machine()
        .work
        .materials
        .iter()
        .find(|m| m.name == name)
        .unwrap();
    (m.modulus, m.shear)
}

/// The truss example of the unit-load method (Hibbeler, Structural Analysis; printed 0.204 in, digits by the stiffness method:
/// check case `truss_hibbeler_digits`), as rods between free pins.
#[test]
fn truss_deflects_as_in_the_book() {
    let d = (0.5 * 4.0 / PI).sqrt();
    let mut text = String::from(
        r#"
name = "truss"
unit = "in"
[point]
a = [0, 0]
b = [120, 0]
c = [240, 0]
d = [360, 0]
e = [240, 120]
f = [120, 120]
[frame]
carries = ["a"]
[part.roller]
carries = ["d"]
[slide.roller]
part = "roller"
along = "right"
[material.book]
modulus = "29000 ksi"
density = "7.85 g/cm3"
[load.b]
at = "b"
force = "4000 lbf"
along = "down"
[load.c]
at = "c"
force = "4000 lbf"
along = "down"
[reading.b]
place-of = "b"
along = "down"
[reading.c]
place-of = "c"
along = "down"
[reading.d]
place-of = "d"
along = "right"
"#,
    );
    for bar in ["ab", "bc", "cd", "de", "fe", "eb", "bf", "af", "ce"] {
        let (p, q) = bar.split_at(1);
        text += &format!(
            "[rod.{bar}]\njoins = [\"{p}\", \"{q}\"]\nstock = {{ round = \"{d} in\", material = \"book\" }}\n"
        );
    }
    let model = model(&text.replace("[slide.roller]", "[slide.rolls]"));
    let inch = 25.4;
    near(moved(&model, "c"), 0.203_975_518_612_287_66 * inch, 1e-9);
    near(moved(&model, "b"), 0.181_906_553_095_046_3 * inch, 1e-9);
    near(moved(&model, "d"), 0.099_310_344_827_586_2 * inch, 1e-9);
}

/// A press: work and machine are two springs in series, and share the squeeze.
#[test]
fn work_and_machine_are_springs_in_series() {
    let text = r#"
name = "press"
[point]
top = [0, 200]
pin = [0, 100]
die = [0, 0.9]
bed = [0, 0]
[frame]
carries = ["top", "bed"]
[part.ram]
carries = ["pin", "die"]
[slide.guide]
part = "ram"
along = "up"
[rod.strut]
joins = ["top", "pin"]
stock = { round = "10 mm" }
[face.die]
at = "die"
on = "ram"
facing = "down"
[face.bed]
at = "bed"
on = "frame"
facing = "up"
[reading.gap]
gap = ["bed", "die"]
[load.work]
squeezes = "gap"
begins = "2.4 mm"
stiffness = "9 kN/mm"
[stiffness.foot]
at = "top"
value = "50 kN/mm"
[joint.pin]
stiffness = "200 kN/mm"
"#;
    let model = model(text);
    let (e, _) = modulus(&model, "steel");
    let strut = e * PI / 4.0 * 100.0 / 100.0;
    let give = 1.0 / strut + 1.0 / 50_000.0 + 1.0 / 200_000.0;
    let force = 9000.0 * 1.5 / (1.0 + 9000.0 * give);
    let found = stretch(&model, &model.drawn(), 0).unwrap();
    near(found.acted[0].force, force, 1e-12);
    let gap = &found.readings[0];
    near(gap.loaded, 0.9 + give * force, 1e-12);
    near(gap.give.unwrap(), give, 1e-12);
    // Member by member, and with the foot twice as stiff.
    let foot = gap
        .members
        .iter()
        .find(|m| m.member == "frame, foot")
        .unwrap();
    near(foot.moves, force / 50_000.0, 1e-12);
    near(foot.share, 1.0 / 50_000.0 / give, 1e-12);
    let stiffer = give - 0.5 / 50_000.0;
    near(
        foot.doubled,
        0.9 + stiffer * 9000.0 * 1.5 / (1.0 + 9000.0 * stiffer),
        1e-12,
    );
    let names: Vec<&str> = gap.members.iter().map(|m| m.member.as_str()).collect();
    assert_eq!(
        names,
        ["frame, foot", "rod strut", "rod strut, end on pin pin"]
    );
    assert!(found.stiff.iter().any(|s| s == "ram"));
    // Work that begins with its whole force holds the faces where it begins if the machine is soft enough.
    let step = model_of(&text.replace("stiffness = \"9 kN/mm\"", "force = \"900 kN\""));
    let held = stretch(&step, &step.drawn(), 0).unwrap();
    near(held.readings[0].loaded, 2.4, 1e-9);
    near(held.acted[0].force, 1.5 / give, 1e-9);
}

fn model_of(text: &str) -> Model {
    model(text)
}

/// An arm bends and shears as a cantilever: P a³/3EI at its end, P x²(3a − x)/6EI between, 6/5 P x/GA on top; pulled along, P a/EA.
#[test]
fn an_arm_bends_as_a_cantilever() {
    let text = r#"
name = "arm"
[point]
o = [0, 0]
x = [60, 0]
a = [150, 0]
back = [-80, 0]
[frame]
carries = ["o"]
[part.arm]
carries = ["o", "x", "a", "back"]
stock = { flat = ["8 mm", "30 mm"] }
[drive.hold]
turns = "arm"
[load.down]
at = "a"
force = "500 N"
along = "down"
[load.out]
at = "a"
force = "700 N"
along = "right"
[reading.end]
place-of = "a"
along = "down"
[reading.middle]
place-of = "x"
along = "down"
[reading.out]
place-of = "a"
along = "right"
[reading.other]
place-of = "back"
along = "down"
"#;
    let model = model(text);
    let (e, g) = modulus(&model, "steel");
    assert!((e - STEEL).abs() < 6000.0);
    let (ei, ea) = (e * 8.0 * 30_f64.powi(3) / 12.0, e * 240.0);
    let shear = |x: f64| 1.2 * 500.0 * x / (g * 240.0);
    near(
        moved(&model, "end"),
        500.0 * 150_f64.powi(3) / (3.0 * ei) + shear(150.0),
        1e-9,
    );
    near(
        moved(&model, "middle"),
        500.0 * 60_f64.powi(2) * (450.0 - 60.0) / (6.0 * ei) + shear(60.0),
        1e-9,
    );
    near(moved(&model, "out"), 700.0 * 150.0 / ea, 1e-9);
    // The arm on the other side of the pivot is a cantilever of its own.
    assert!(moved(&model, "other").abs() < 1e-12);
}

/// A level bar on a pin and a rod, loaded between: the same cantilevers, turned until both ends lie on their supports, are the
/// beam on two supports: P a²b²/3EIL + 6/5 P ab/LGA under the load.
#[test]
fn cantilevers_make_a_beam_on_two_supports() {
    let text = r#"
name = "beam"
[point]
o = [0, 0]
p = [70, 0]
q = [200, 0]
up = [200, 300]
[frame]
carries = ["o", "up"]
[part.beam]
carries = ["o", "p", "q"]
stock = { flat = ["10 mm", "20 mm"] }
[rod.hang]
joins = ["q", "up"]
[load.down]
at = "p"
force = "900 N"
along = "down"
[reading.sag]
place-of = "p"
along = "down"
"#;
    let model = model(text);
    let (e, g) = modulus(&model, "steel");
    let ei = e * 10.0 * 20_f64.powi(3) / 12.0;
    near(
        moved(&model, "sag"),
        900.0 * 70_f64.powi(2) * 130_f64.powi(2) / (3.0 * ei * 200.0)
            + 1.2 * 900.0 * 70.0 * 130.0 / (200.0 * g * 200.0),
        1e-9,
    );
}

/// A shaft twists between its arms by T l/GJ, and bends on its bearings by the handbook.
#[test]
fn a_shaft_twists_and_bends() {
    let text = shaft_with_arms(12)
        + r#"
[reading.twist]
turn-of = "one"
against = "two"
[reading.across]
place-of = "p"
along = "right"
"#;
    let model = model(&text);
    let (e, g) = modulus(&model, "steel");
    let j = PI / 32.0 * 12_f64.powi(4);
    let ei = e * 0.5 * j;
    let twist = 4000.0 * 60.0 / (g * j);
    // Clockwise is less.
    near(moved(&model, "twist"), -twist, 1e-9);
    // At 30 across: its own 100 N; at 90 upwards: the rod's 100 N. The rod holds arm two's pin at its height, so the shaft turns
    // by what it rises there over 40, and the twist comes on top for arm one.
    let own = 100.0 * 30_f64.powi(2) * 90_f64.powi(2) / (3.0 * ei * 120.0);
    let turned = own / 40.0 + twist;
    near(moved(&model, "across"), own + 40.0 * turned, 1e-9);
    let members = reading(&model, "across").members;
    assert_eq!(
        members
            .iter()
            .map(|m| m.member.as_str())
            .collect::<Vec<_>>(),
        ["s, twist", "s, bending"]
    );
    near(members[0].moves, 40.0 * twist, 1e-9);
    // Springy bearings: each gives under its own load.
    let soft = model_of(&(text + "[joint.axis]\nstiffness = \"20 kN/mm\"\n"));
    let bearings = reading(&soft, "across")
        .members
        .into_iter()
        .find(|m| m.member == "s, bearings")
        .unwrap();
    let sag = 100.0 * (0.75_f64.powi(2) + 0.25_f64.powi(2)) / 20_000.0;
    near(bearings.moves, 2.0 * sag, 1e-9);
}

/// A bed that lies on two eccentric journals of one shaft loads it at both: a beam on two supports with two equal loads as far from
/// either (handbook case: M = F a, sag under each F a² (3 L − 4 a) / 6 E I).
#[test]
fn a_joint_at_two_stations_is_shared() {
    let text = r#"
name = "bed on two journals"
[point]
axis = [0, 0]
e = { at = [3, 0], station = 30 }
l = { at = [-20, 0], station = 60 }
r = { at = [20, 0], station = 60 }
[frame]
carries = ["axis"]
[shaft.s]
centre = "axis"
carries = ["e"]
stock = { round = "12 mm" }
bearings = ["0 mm", "120 mm"]
[part.bed]
carries = ["l", "r"]
[slide.way]
part = "bed"
along = "up"
[slot.under]
pin = "e"
in = "bed"
from = "l"
to = "r"
[joint.under]
stations = ["30 mm", "90 mm"]
[drive.turn]
turns = "s"
[load.on]
at = "l"
force = "1000 N"
along = "down"
[reading.height]
place-of = "l"
along = "up"
"#;
    let m = model(text);
    let (e, _) = modulus(&m, "steel");
    let ei = e * PI / 64.0 * 12_f64.powi(4);
    let sag = 500.0 * 30_f64.powi(2) * (3.0 * 120.0 - 4.0 * 30.0) / (6.0 * ei);
    let members = reading(&m, "height").members;
    let bending = members.iter().find(|m| m.member == "s, bending").unwrap();
    near(bending.moves, -sag, 1e-9);
    let loads = one(&m, &[], None);
    let shaft = &loads.cases[0].shafts[0];
    let at = |station: f64| {
        let at = shaft.stations.iter().find(|s| s.station == station);
        at.unwrap().bending[0]
    };
    near(at(30.0), 15_000.0, 1e-9);
    near(at(90.0), 15_000.0, 1e-9);
    // At its point alone: F a b / L.
    let alone = model(&text.replace("stations = [\"30 mm\", \"90 mm\"]", "diameter = 12"));
    let loads = one(&alone, &[], None);
    let most = loads.cases[0].shafts[0].stations.iter();
    near(
        most.map(|s| s.bending[0].max(s.bending[1]))
            .fold(0.0, f64::max),
        1000.0 * 30.0 * 90.0 / 120.0,
        1e-9,
    );
}

/// The loaded gap of the embosser is an equilibrium: the strap at the loaded gap gives the force that stretches it there, and
/// the members together give the whole.
#[test]
fn the_loaded_gap_agrees_with_itself() {
    let m = model(&laden());
    let case = case_of(&m, "embossing");
    let mut stand = m.drawn();
    let set = m
        .machine()
        .drives
        .iter()
        .position(|d| d.name == "set")
        .unwrap();
    stand.drives[set] = 70_f64.to_radians();
    let found = stretch(&m, &stand, case).unwrap();
    let gap = found
        .readings
        .iter()
        .find(|r| r.reading.name == "gap")
        .unwrap();
    let strap = found
        .acted
        .iter()
        .find(|a| a.name == "load leather")
        .unwrap();
    near(strap.value, gap.loaded, 1e-9);
    let machine::work::LoadKind::Squeezes { resists, .. } = &m.machine().work.loads[0].kind else {
        panic!()
    };
    let machine::work::Resists::Linear {
        begins, stiffness, ..
    } = resists
    else {
        panic!("{resists:?}")
    };
    near(strap.force, stiffness * (begins - gap.loaded), 1e-9);
    let sum: f64 = gap.members.iter().map(|m| m.moves).sum();
    near(sum, gap.loaded - gap.free, 1e-9);
    assert!((gap.members.iter().map(|m| m.share).sum::<f64>() - 1.0).abs() < 1e-9);
    // Stiffer anywhere: nearer to the gap without load, or as near.
    for member in gap.members.iter().filter(|m| m.share > 0.01) {
        assert!(
            (member.doubled - gap.free).abs() < (gap.loaded - gap.free).abs(),
            "{member:?}"
        );
    }
    // The same as bands tell it.
    let told = judge_loaded(
        &m,
        &stand,
        case,
        m.machine()
            .readings
            .iter()
            .position(|r| r.name == "gap")
            .unwrap(),
    )
    .unwrap();
    near(told.loaded.unwrap(), gap.loaded, 1e-12);
}

/// Bands hold the nominal reading, carry the loaded one, and widen with every doubt.
#[test]
fn bands_add_up() {
    let m = model(&laden());
    let case = case_of(&m, "embossing");
    let sweep = m.sweep("set", None, None, Some("10 deg")).unwrap();
    let without = bands(&m, &m.drawn(), None, Some(&sweep)).unwrap();
    let with = bands(&m, &m.drawn(), Some(case), Some(&sweep)).unwrap();
    // Springs and weights act in every case; where the leather is not reached they alone move the gap. So the same machine with next to no
    // leather is what the leather is held against.
    let soft = laden().replace("modulus = \"4 MPa\"", "modulus = \"0.000001 MPa\"");
    assert_ne!(soft, laden());
    let soft = model(&soft);
    let sagged = bands(&soft, &soft.drawn(), Some(case), Some(&sweep)).unwrap();
    assert_eq!(without.rows.len(), with.rows.len());
    let motion = studies::motion(&m, &m.drawn(), &sweep).unwrap();
    let least = m
        .machine()
        .readings
        .iter()
        .position(|r| r.name == "least-gap")
        .unwrap();
    let rows = without.rows.iter().zip(&with.rows).zip(&sagged.rows);
    for (((a, b), sagged), row) in rows.zip(&motion.rows) {
        let sagged = sagged.cells[least].as_ref().unwrap().loaded.unwrap();
        let (a, b) = (
            a.cells[least].as_ref().unwrap(),
            b.cells[least].as_ref().unwrap(),
        );
        assert!((a.nominal - row.cells[least].value.unwrap()).abs() < 1e-9);
        // Work opens a gap. Below nominal it stands only where springs and weights alone take it, by no more than they do.
        assert!(a.loaded.is_none() && b.loaded.unwrap() > sagged - 1e-9);
        assert!(b.loaded.unwrap() > b.nominal.min(sagged) - 1e-9);
        // Without load the play goes either way; under load it is taken up.
        assert!((a.play[0] + a.play[1]).abs() < 1e-12 && a.play[1] > 0.0);
        assert!(b.play[1] <= a.play[1] + 1e-12 && b.play[1] - b.play[0] < a.play[1] - a.play[0]);
        assert!(a.tolerance[1] > 0.0 && (a.tolerance[1] - b.tolerance[1]).abs() < 1e-12);
        near(a.to, a.nominal + a.play[1] + a.tolerance[1], 1e-12);
        near(
            b.from,
            b.loaded.unwrap() + b.play[0] + b.tolerance[0],
            1e-12,
        );
    }
}

/// Play of a lever: its pin off by half the clearance moves the far end by the ratio of the arms, its pivot by that and one.
#[test]
fn play_runs_through_a_lever() {
    let text = r#"
name = "lever"
[point]
in = [-40, 0]
o = [0, 0]
out = [120, 0]
drop = [-40, -90]
[frame]
carries = ["o", "drop"]
[part.lever]
carries = ["o", "in", "out"]
[rod.holds]
joins = ["in", "drop"]
[usual]
clearance = ["0.02 mm", "0.05 mm"]
[joint.drop]
clearance = "0 mm"
[reading.out]
place-of = "out"
along = "up"
[load.hang]
at = "out"
force = "30 N"
along = "down"
"#;
    let model = model(text);
    let found = lost_motion(&model, &model.drawn(), 0).unwrap();
    let out = &found.readings[0];
    // The rod's end off by r moves the end by 3 r; the pivot off by r upright moves it by 4 r.
    near(out.rattles, 0.025 * (3.0 + 4.0), 1e-9);
    // 30 N down at 120: 90 N up in the pull of the rod, 120 N on the pivot; all of it lets the end sink.
    near(out.taken_up[0], -0.025 * 7.0, 1e-9);
    near(out.taken_up[1], -0.010 * 7.0, 1e-9);
    let pivot = found
        .joints
        .iter()
        .find(|j| j.joint == "pin o of frame and lever")
        .unwrap();
    near(pivot.force, 120.0, 1e-9);
    near(pivot.side.unwrap(), 1.5 * PI, 1e-9);
    assert!(!pivot.seated && !pivot.lifted);
    let reversal = &out.reversals;
    assert!(reversal.is_empty(), "no drive moves it: {reversal:?}");
}

/// A take-up spring must outweigh what lifts the joint: with the work pulling three times as hard the other way it takes three
/// times its force.
#[test]
fn a_take_up_spring_is_sized() {
    let text = r#"
name = "slide and spring"
[point]
far = [-100, 0]
p = [0, 0]
q = [50, 0]
wall = [100, 0]
[frame]
carries = ["far", "wall"]
[part.block]
carries = ["p", "q"]
[slide.way]
part = "block"
along = "right"
[rod.tie]
joins = ["far", "p"]
[usual]
clearance = "0.04 mm"
[joint.far]
clearance = "0 mm"
[reading.place]
place-of = "q"
along = "right"
[spring.up]
between = ["q", "wall"]
rate = "2 N/mm"
free = "60 mm"
[load.pull]
at = "q"
force = "60 N"
along = "right"
"#;
    let model = model(text);
    let found = lost_motion(&model, &model.drawn(), 0).unwrap();
    let up = &found.take_up[0];
    // Spring: 2 × (60 − 50) = 20 N to the left; nothing but the work, 60 N to the right, is against it.
    near(up.force, 20.0, 1e-9);
    assert_eq!((up.needed, up.joint.as_deref()), (Some(0.0), None));
    near(up.needed_at_work.unwrap(), 60.0, 1e-9);
    assert_eq!(up.joint_at_work.as_deref(), Some("rod tie, end on pin p"));
    assert_eq!(up.cannot, ["slide way"]);
    let tie = found
        .joints
        .iter()
        .find(|j| j.joint == "rod tie, end on pin p")
        .unwrap();
    assert!(tie.seated && tie.lifted);
    near(tie.force, 40.0, 1e-9);
    // Pulled right by 40 N in all: half the clearance to the right.
    near(found.readings[0].taken_up[1], 0.02, 1e-9);
    assert!(found.findings.iter().any(|f| {
        f.sentence
            .contains("the load presses rod tie, end on pin p over to its other side")
            && f.sentence.contains("60.0 N")
    }));
}

/// Lost motion at the hand: the band over the rate of the reading.
#[test]
fn a_drive_loses_its_band_over_its_rate() {
    let m = model(&laden());
    let case = case_of(&m, "embossing");
    let found = lost_motion(&m, &m.drawn(), case).unwrap();
    let least = found
        .readings
        .iter()
        .find(|r| r.reading.name == "least-gap")
        .unwrap();
    // The least gap over the crank does not depend on the crank.
    assert_eq!(least.reversals.len(), 1);
    let set = &least.reversals[0];
    let h = 1e-5;
    let index = m
        .machine()
        .drives
        .iter()
        .position(|d| d.name == "set")
        .unwrap();
    let value = |by: f64| {
        let mut stand = m.drawn();
        stand.drives[index] += by;
        readings(&m, &stand)
            .unwrap()
            .iter()
            .find(|r| r.reading.name == "least-gap")
            .unwrap()
            .value
            .unwrap()
    };
    let rate = (value(h) - value(-h)) / (2.0 * h);
    near(set.lost.unwrap(), set.jumps / rate.abs(), 1e-6);
    // The crank's pins do not change sides when the lever turns back.
    assert!(set.jumps < 2.0 * least.rattles);
    assert!(set.left <= set.jumps);
}

/// A bent ram on a guide that holds it at `p`: 500 N at the end of a leg of 40 mm on one of 60 mm, flat 10 × 20 of steel. Unit-load method (any
/// handbook): F (40³/3 + 40² 60)/EI + F 60/EA + 1.2 F 40/GA, whatever the order in which the file names its points.
#[test]
fn a_part_is_held_in_the_middle_of_its_guide() {
    for carries in [
        r#"["p", "t", "s"]"#,
        r#"["t", "p", "s"]"#,
        r#"["s", "t", "p"]"#,
    ] {
        let text = format!(
            r#"
name = "ram"
[point]
p = [0, 0]
t = [0, 60]
s = [40, 60]
s2 = [40, 90]
[frame]
carries = ["s2"]
[part.ram]
carries = {carries}
stock = {{ flat = ["10 mm", "20 mm"] }}
[slide.r]
part = "ram"
along = "up"
middle = "p"
[drive.d]
slides = "ram"
range = ["0 mm", "8 mm"]
[reading.gap]
between = ["s", "s2"]
along = "up"
[load.w]
at = "s"
force = "500 N"
along = "down"
"#
        );
        let m = model(&text);
        let found = reading(&m, "gap");
        let (ei, ea, ga) = (
            207_000.0 * 10.0 * 8000.0 / 12.0,
            207_000.0 * 200.0,
            79_300.0 * 200.0,
        );
        let by_hand = 500.0 * ((64_000.0 / 3.0 + 1600.0 * 60.0) / ei + 60.0 / ea + 1.2 * 40.0 / ga);
        near(found.loaded - found.free, by_hand, 1e-6);
    }
}
