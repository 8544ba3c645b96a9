//! Clearance against a general geometry library, dense sampling, and machines with known answers.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

use super::across::{Planes, Prism, planes};
use super::outline::{CHORD, Outline, Stands};
use super::{ClearanceAsked, as_drawn, clearance};
use crate::assemble::{Model, assemble};
use serde_json::Value;
use std::f64::consts::TAU;

fn numbers(value: &Value) -> Vec<f64> {
    let list = value.as_array().unwrap();
    list.iter().map(|x| x.as_f64().unwrap()).collect()
}

/// GEOS through Shapely; see `checks/clearance.py`.
#[test]
fn distances_and_depths_are_those_of_a_geometry_library() {
    let all: Value = serde_json::from_str(include_str!("reference.json")).unwrap();
    let cases = all["cases"].as_array().unwrap();
    assert!(cases.len() > 100);
    let mut met = 0;
    for case in cases {
        let outline = |i: usize| {
            let corners = case["outlines"][i].as_array().unwrap().iter();
            let corners = corners.map(|p| {
                let p = numbers(p);
                [p[0], p[1]]
            });
            Outline::new(corners.collect()).unwrap()
        };
        let stands = |i: usize| {
            let s = numbers(&case["stands"][i]);
            Stands {
                at: [s[0], s[1]],
                turn: s[2],
            }
        };
        let (a, b) = (outline(0), outline(1));
        let (a, b) = (a.placed(stands(0)), b.placed(stands(1)));
        let found = a.apart(&b, 1e9).unwrap().distance;
        let wanted = case["distance"].as_f64().unwrap();
        if case["meet"] == true {
            met += 1;
            let depth = case["depth"].as_f64().unwrap();
            assert!((found + depth).abs() < 1e-9, "{found} {depth}");
        } else {
            assert!((found - wanted).abs() < 1e-9, "{found} {wanted}");
            // Told only where it is asked that far.
            assert!(a.apart(&b, wanted * 0.99).is_none());
            assert!(a.apart(&b, wanted * 1.01).is_some());
        }
    }
    assert!(met > 10 && met < cases.len());
}

/// Round ends: the distance of two bars is that of their middle lines less both radii, to the chords' error.
#[test]
fn arcs_are_laid_out_closely() {
    let bar = Outline::capsule(80.0, 12.0).unwrap();
    let disc = Outline::circle(15.0).unwrap();
    for i in 0..64 {
        let (s, c) = (f64::from(i) * TAU / 64.0).sin_cos();
        let at = [40.0 + 100.0 * c, 90.0 * s];
        let (p, q) = (
            bar.placed(Stands::default()),
            disc.placed(Stands { at, turn: 0.3 }),
        );
        let on = [at[0].clamp(0.0, 80.0), 0.0];
        let wanted = (at[0] - on[0]).hypot(at[1] - on[1]) - 27.0;
        let found = p.apart(&q, 1e9).unwrap().distance;
        assert!((found - wanted).abs() <= CHORD, "{found} {wanted}");
    }
}

/// A bar that sticks in a thicker plate, or through a thin one, has to be drawn out as far as it went in; where going aside is shorter, aside.
#[test]
fn what_meets_is_told_by_how_far_it_must_go() {
    let bar = |long: f64, wide: f64| {
        let half = 0.5 * wide;
        Outline::new(vec![[0.0, -half], [long, -half], [long, half], [0.0, half]]).unwrap()
    };
    // The finger points up; the plate lies across from `low` on, 200 wide.
    let finger = bar(70.0, 20.0);
    for (low, thick, wanted) in [
        (62.0, 10.0, 8.0),
        (62.0, 2.0, 8.0),
        (20.0, 2.0, 22.0),
        (-5.0, 200.0, 75.0),
    ] {
        let plate = bar(200.0, thick);
        let placed = (
            finger.placed(Stands {
                at: [0.0; 2],
                turn: 0.25 * TAU,
            }),
            plate.placed(Stands {
                at: [-100.0, low + 0.5 * thick],
                turn: 0.0,
            }),
        );
        let found = placed.0.retreat(&placed.1);
        assert!((found - wanted).abs() < 1e-6, "{low} {thick}: {found}");
        assert!((placed.1.retreat(&placed.0) - wanted).abs() < 1e-6);
    }
    // Two discs: along the line of their centres.
    let (a, b) = (
        Outline::circle(20.0).unwrap(),
        Outline::circle(30.0).unwrap(),
    );
    for k in 0..8 {
        let (s, c) = (0.7 * f64::from(k)).sin_cos();
        let at = [30.0 * c, 30.0 * s];
        let found = a
            .placed(Stands::default())
            .retreat(&b.placed(Stands { at, turn: 0.0 }));
        assert!((found - 20.0).abs() < 0.1, "{found}");
    }
    // Apart they need not move.
    let far = b.placed(Stands {
        at: [51.0, 0.0],
        turn: 0.0,
    });
    assert!(a.placed(Stands::default()).retreat(&far) == 0.0);
}

fn model(text: &str) -> Model {
    let read = machine::read_text("t.toml", text);
    assemble(&read.machine.unwrap_or_else(|| {
        panic!(
            "{}",
            machine::render_all(&read.problems, &read.sources, false)
        )
    }))
}

/// A crank 40 long with an end of 10 radius, and a block that slides towards it.
fn crank_and_block(reach: f64, more: &str) -> Model {
    model(&format!(
        r#"
[point]
o = [0, 0]
a = [40, 0]
b = [100, 0]
[frame]
carries = ["o"]
[part.crank]
carries = ["o", "a"]
stock = {{ flat = ["8 mm", "20 mm"] }}
[part.block]
carries = ["b"]
stock = {{ flat = ["8 mm", "20 mm"] }}
[piece.block]
upright = true
outline = {{ from = [-10, -10], to = [10, 10] }}
[slide.block]
part  = "block"
along = "right"
[drive.crank]
turns = "crank"
range = "whole turn"
[drive.block]
slides = "block"
range = ["-{reach} mm", "20 mm"]
{more}
"#
    ))
}

const BOTH: ClearanceAsked = ClearanceAsked {
    across: 0,
    up: Some(1),
    poses: 5000,
};

#[test]
fn a_crank_and_a_block_come_as_close_as_they_must() {
    let model = crank_and_block(20.0, "");
    let found = clearance(&model, &model.drawn(), &BOTH).unwrap();
    assert!(found.poses >= 4500, "{}", found.poses);
    let [pair] = found.pairs.as_slice() else {
        panic!("{found:?}");
    };
    // 100 − 20 − 10 less 40 + 10.
    assert!((pair.least - 20.0).abs() <= CHORD, "{pair:?}");
    let at: Vec<f64> = pair.drives.iter().map(|d| d.value).collect();
    assert!(
        at[0].sin().abs() < 1e-2 && (at[1] + 20.0).abs() < 1e-6,
        "{at:?}"
    );
    assert!((pair.place[0] - 60.0).abs() < 0.1 && pair.place[1].abs() < 10.1);
    // They do not meet, but close on one another and open again on every turn.
    assert!(!pair.layer_known && found.findings.len() == 1);
    assert!(found.findings[0].sentence.contains("close on one another"));
    // The same on any number of cores.
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build();
    let again = pool
        .unwrap()
        .install(|| clearance(&model, &model.drawn(), &BOTH).unwrap());
    assert_eq!(found, again);
}

#[test]
fn parts_that_meet_are_told_with_how_far() {
    let model = crank_and_block(45.0, "");
    let found = clearance(&model, &model.drawn(), &BOTH).unwrap();
    // The block's face stands at 45, the crank's end reaches 50: five into it.
    assert!((found.pairs[0].least + 5.0).abs() < 0.1, "{found:?}");
    let told = &found.findings[0];
    assert!(told.sentence.contains("crank and block meet"), "{told:?}");
    assert!(told.what_to_try.as_ref().unwrap().contains("station"));
}

#[test]
fn layers_stand_beside_one_another() {
    let model = model(
        r#"
[point]
o = [0, 0]
a = [40, 0]
b = { at = [100, 0], station = "9 mm" }
[frame]
carries = ["o"]
[part.crank]
carries = ["o", "a"]
stock = { flat = ["8 mm", "20 mm"] }
[part.block]
carries = ["b"]
stock = { flat = ["8 mm", "20 mm"] }
[piece.block]
upright = true
outline = { from = [-10, -10], to = [10, 10] }
[slide.block]
part  = "block"
along = "right"
[drive.crank]
turns = "crank"
range = "whole turn"
[drive.block]
slides = "block"
range = ["-45 mm", "20 mm"]
"#,
    );
    let found = clearance(&model, &model.drawn(), &BOTH).unwrap();
    assert!(found.pairs.is_empty() && found.beside == 1, "{found:?}");
}

/// Every pair of the embosser, against all poses of a dense grid without any pruning.
#[test]
fn the_embosser_against_dense_sampling() {
    let text = include_str!("../../../../examples/strap-embosser/machine.toml");
    let model = model(text);
    let found = clearance(&model, &model.drawn(), &BOTH).unwrap();
    assert!(found.poses >= 4500 && found.joined > 3, "{found:?}");
    let (shapes, _) = super::shapes::shapes(&model);
    let mut bench = crate::run::Bench::new(&model);
    for pair in &found.pairs {
        let of = |name: &str| shapes.iter().find(|s| s.name == name).unwrap();
        let (a, b) = (of(&pair.parts[0]), of(&pair.parts[1]));
        let mut least = f64::INFINITY;
        for i in 0..48 {
            for j in 0..8 {
                let mut stand = model.drawn();
                stand.drives[0] = f64::from(i) * TAU / 48.0;
                stand.drives[1] = f64::from(j) * 10.0_f64.to_radians();
                let Ok(here) = bench.bring(&stand) else {
                    continue;
                };
                let (p, q) = (
                    a.placed(&model, &here).unwrap(),
                    b.placed(&model, &here).unwrap(),
                );
                let own = [a.plane, b.plane].map(|p| model.mechanism.planes[p]);
                let far = match planes(&own[0], &own[1]) {
                    Planes::Square(frame) => {
                        frame.apart(&a.prism(&p), &b.prism(&q), 1e9).unwrap().0
                    }
                    _ => p.apart(&q, 1e9).unwrap().distance,
                };
                least = least.min(far);
            }
        }
        // The study looks closer: it is never further off, and near by no more than one step of the sampling moves a part.
        assert!(pair.least <= least + 1e-3, "{pair:?} {least}");
        assert!(pair.least > least - 6.0, "{pair:?} {least}");
    }
    // Its gap closes on fingers and hands.
    let gap = found.crushing.iter().find(|c| c.gap.name == "gap").unwrap();
    assert!(gap.ends[0] < 0.3 && gap.on.len() == 2, "{gap:?}");
    assert!(
        found
            .findings
            .iter()
            .any(|f| f.sentence.contains("ISO 13854"))
    );
}

#[test]
fn what_cannot_be_is_refused() {
    let model = crank_and_block(20.0, "");
    let none = ClearanceAsked { across: 7, ..BOTH };
    assert!(clearance(&model, &model.drawn(), &none).is_err());
    // One drive alone.
    let one = ClearanceAsked {
        up: None,
        poses: 360,
        ..BOTH
    };
    let found = clearance(&model, &model.drawn(), &one).unwrap();
    assert!((found.pairs[0].least - 40.0).abs() <= CHORD, "{found:?}");
}

/// Two outlines that meet deepest at the end of the second drive, where the first goes on: 3.478 mm by GEOS (Shapely), the least translation at each pose
/// of a grid of 2 degrees. Climbing one hill alone finds 2.43 mm.
#[test]
fn the_deepest_of_all_meetings_is_found() {
    let model = model(
        r#"
[point]
a = [0, 0]
ax = [10, 0]
b = [167.354, 6.792]
bx = [177.354, 6.792]
[frame]
carries = ["a", "b"]
[part.one]
carries = ["a", "ax"]
stock = { flat = ["10 mm", "20 mm"] }
station = "0 mm"
[piece.one]
upright = true
outline = { path = [[68.582, 19.118], [56.810, 69.428], [9.284, 59.277], [17.732, 148.238], [4.959, 59.795], [-29.117, 5.634], [10.356, -117.625], [17.582, -5.680]] }
[part.two]
carries = ["b", "bx"]
stock = { flat = ["10 mm", "20 mm"] }
station = "2 mm"
[piece.two]
upright = true
outline = { path = [[18.172, 2.338], [20.989, 13.903], [-22.113, 15.449], [53.590, -21.295], [18.932, -0.435]] }
[drive.crank]
turns = "one"
range = "whole turn"
[drive.two]
turns = "two"
range = ["-77.22 deg", "77.22 deg"]
"#,
    );
    let found = clearance(&model, &model.drawn(), &BOTH).unwrap();
    let [pair] = found.pairs.as_slice() else {
        panic!("{found:?}");
    };
    assert!(pair.least <= -3.47, "{pair:?}");
}

/// An arm in the layer of its cam: its round end goes 12 mm about the roller's centre, the roller only 8.
fn arm_and_cam(station: &str) -> Model {
    model(&format!(
        r#"
[point]
c = [0, 0]
pv = [100, 0]
ro = {{ at = [0, 50] }}
[frame]
carries = ["c", "pv"]
[part.disc]
carries = ["c"]
{station}
stock = {{ flat = ["10 mm", "120 mm"] }}
[piece.disc]
upright = true
outline = {{ from = [-42, -42], to = [42, 42], corner = "41.9 mm" }}
[part.arm]
carries = ["pv", "ro"]
{station}
stock = {{ flat = ["10 mm", "24 mm"] }}
[cam.k]
on = "disc"
roller = "ro"
diameter = "16 mm"
program = [{{ rise = "7 deg", over = "120 deg" }}, {{ dwell = "60 deg" }}, {{ return = "7 deg", over = "120 deg" }}, {{ dwell = "rest" }}]
[drive.turn]
turns = "disc"
range = "whole turn"
"#
    ))
}

#[test]
fn an_arm_that_does_not_lie_beside_its_cam_meets_it() {
    let model = arm_and_cam("station = \"0 mm\"");
    let one = ClearanceAsked {
        up: None,
        poses: 360,
        ..BOTH
    };
    let found = clearance(&model, &model.drawn(), &one).unwrap();
    let pair = found
        .pairs
        .iter()
        .find(|p| p.parts.contains(&String::from("arm")));
    // The end of the arm reaches 12 from the roller's centre, which comes as near as 50 to the centre of a disc of 42.
    assert!(pair.is_some_and(|p| p.least < -3.0), "{found:?}");
    // Where no layers are written nobody knows, and that is said.
    let model = arm_and_cam("");
    let found = clearance(&model, &model.drawn(), &one).unwrap();
    assert!(found.pairs.is_empty(), "{found:?}");
    let told = found.left_out.iter().any(|l| l.contains("follows the cam"));
    assert!(told, "{:?}", found.left_out);
}

/// An arm that reaches 110 from its pivot, and plates of the frame with a hub of 40 about a post 140 away.
fn arm_and_posts(arm: &str, stations: &str) -> Model {
    let count = stations.split(',').count();
    model(&format!(
        r#"
[point]
c = [0, 0]
tip = [100, 0]
p = [0, 140]
q = [0, 200]
[frame]
carries = ["c", "p", "q"]
[part.arm]
carries = ["c", "tip"]
station = "{arm}"
stock = {{ flat = ["10 mm", "20 mm"] }}
[piece.cheek]
carries = ["p", "q"]
stock = {{ flat = ["10 mm", "50 mm"] }}
count = {count}
station = [{stations}]
boss.p = {{ diameter = "40 mm", length = "40 mm" }}
[drive.turn]
turns = "arm"
range = "whole turn"
"#
    ))
}

/// The least distance of two parts that are told.
fn told(model: &Model, one: &str, other: &str) -> Option<f64> {
    let asked = ClearanceAsked {
        up: None,
        poses: 360,
        ..BOTH
    };
    let found = clearance(model, &model.drawn(), &asked).unwrap();
    let of = |p: &&super::PairClearance| p.parts.iter().all(|n| [one, other].contains(&n.as_str()));
    found.pairs.iter().find(of).map(|p| p.least)
}

/// By hand: 140 - 20 - 110 = 10. The hub of a single plate stands on its upper face; of two that face one another both stand outside.
#[test]
fn hubs_of_plates_of_the_frame_stand_where_they_are_made() {
    let least =
        |arm: &str, stations: &str| told(&arm_and_posts(arm, stations), "arm", "cheek (hub at p)");
    let near = |found: Option<f64>| found.is_some_and(|f| (f - 10.0).abs() < 1e-2);
    assert!(near(least("0 mm", "\"-30 mm\"")));
    assert_eq!(least("-50 mm", "\"-30 mm\""), None);
    assert_eq!(least("0 mm", "\"-30 mm\", \"30 mm\""), None);
    assert!(near(least("50 mm", "\"-30 mm\", \"30 mm\"")));
    assert!(near(least("-50 mm", "\"-30 mm\", \"30 mm\"")));
}

/// By hand: 150 - 30 - 110 = 10.
#[test]
fn pulleys_take_the_room_that_is_written() {
    let belted = |written: &str| {
        model(&format!(
            r#"
[point]
c = [0, 0]
tip = [100, 0]
m = [0, 150]
[frame]
carries = ["c", "m"]
[part.arm]
carries = ["c", "tip"]
stock = {{ flat = ["10 mm", "20 mm"] }}
[part.motor]
carries = ["m"]
[belt.b]
joins = ["motor", "arm"]
sizes = [50, 100]
{written}
[drive.turn]
turns = "arm"
range = "whole turn"
"#
        ))
    };
    let least = |written: &str| told(&belted(written), "arm", "pulley motor of b");
    assert_eq!(least(""), None);
    let found = least("outside = [\"60 mm\", \"110 mm\"]\nwidth = \"18 mm\"");
    assert!(found.is_some_and(|f| (f - 10.0).abs() < 1e-2), "{found:?}");
    // Beside the arm, which is 10 thick, there is room for it.
    let beside = "outside = [\"60 mm\", \"110 mm\"]\nwidth = \"18 mm\"\nstation = ";
    assert!(least(&format!("{beside}\"13 mm\"")).is_some());
    assert_eq!(least(&format!("{beside}\"15 mm\"")), None);
}

/// A solid modeller, `OpenCascade`; see `checks/across.py`.
#[test]
fn prisms_of_square_planes_stand_as_far_apart_as_a_solid_modeller_says() {
    let all: Value = serde_json::from_str(include_str!("across.json")).unwrap();
    let cases = all["cases"].as_array().unwrap();
    let (mut met, mut apart) = (0, 0);
    for case in cases {
        let plane = |i: usize| {
            let three =
                |k: usize| -> [f64; 3] { numbers(&case["planes"][i][k]).try_into().unwrap() };
            mechanics::model::Plane {
                origin: three(0),
                right: three(1),
                up: three(2),
            }
        };
        let prism = |i: usize| {
            let corners = case["outlines"][i].as_array().unwrap().iter();
            Prism {
                rings: vec![corners.map(|p| numbers(p).try_into().unwrap()).collect()],
                depth: numbers(&case["depths"][i]).try_into().unwrap(),
            }
        };
        let Planes::Square(frame) = planes(&plane(0), &plane(1)) else {
            panic!("they stand square");
        };
        let Planes::Square(other) = planes(&plane(1), &plane(0)) else {
            panic!("they stand square");
        };
        let found = frame.apart(&prism(0), &prism(1), 1e9).unwrap().0;
        let turned = other.apart(&prism(1), &prism(0), 1e9).unwrap().0;
        assert!((found - turned).abs() < 1e-6, "{found} {turned}");
        let wanted = case["distance"].as_f64().unwrap();
        if case["common"].as_f64().unwrap() > 1.0 {
            met += 1;
            assert!(found < 0.0, "{found}");
            // Moved so far along one of the three lines it is free.
            let free = [0, 1, 2].iter().any(|k| {
                [-1.0, 1.0].iter().any(|way| {
                    let mut moved = plane(0);
                    let other = plane(1);
                    let (m, n) = (moved.normal(), other.normal());
                    let line = [
                        m,
                        n,
                        mechanics::model::Plane {
                            origin: [0.0; 3],
                            right: m,
                            up: n,
                        }
                        .normal(),
                    ][*k];
                    for (o, d) in moved.origin.iter_mut().zip(line) {
                        *o += way * (-found + 1e-3) * d;
                    }
                    let Planes::Square(frame) = planes(&moved, &other) else {
                        return false;
                    };
                    frame.apart(&prism(0), &prism(1), 1e9).unwrap().0 >= 0.0
                })
            });
            assert!(free, "{found}");
        } else if wanted > 0.0 {
            apart += 1;
            assert!((found - wanted).abs() < 1e-6, "{found} {wanted}");
            assert!(frame.apart(&prism(0), &prism(1), wanted * 0.99).is_none());
            assert!(
                frame.at_least(
                    [0, 1].map(|i| {
                        let far = prism(i).rings[0]
                            .iter()
                            .map(|p| p[0].hypot(p[1]))
                            .fold(0.0, f64::max);
                        ([0.0; 2], far)
                    }),
                    [0, 1].map(|i| prism(i).depth)
                ) <= wanted + 1e-9
            );
        }
    }
    assert!(met > 15 && apart > 50, "{met} {apart}");
}

/// A slab of plane `front`, 40 wide and 12 thick, and a bar of a plane that looks along it, 20 high and 10 thick.
fn slab_and_bar(slab: &str, bar: &str) -> Model {
    model(&format!(
        r#"
[plane.side]
origin = [0, 0, 0]
right = [0, 0, -1]
up = [0, 1, 0]
[point]
a = [0, 0]
b = [0, 60]
p = {{ at = [-40, 30], plane = "side" }}
q = {{ at = [40, 30], plane = "side" }}
m = [200, 0]
tip = [230, 0]
[frame]
carries = ["a", "b", "p", "q", "m"]
[part.arm]
carries = ["m", "tip"]
stock = {{ flat = ["10 mm", "20 mm"] }}
[piece.slab]
carries = ["a", "b"]
stock = {{ flat = ["12 mm", "40 mm"] }}
outline = {{ from = [-20, -20], to = [20, 80] }}
station = ["0 mm"]
{slab}
[piece.bar]
carries = ["p", "q"]
stock = {{ flat = ["10 mm", "20 mm"] }}
outline = {{ from = [-10, -10], to = [90, 10] }}
{bar}
[drive.turn]
turns = "arm"
range = "whole turn"
"#
    ))
}

/// By hand: aside it has to go 20 + 5 at its middle, and less as it stands further out; 11.18 from its middle lie its corners.
#[test]
fn plates_of_different_planes_are_held_against_one_another() {
    let deep = |slab: &str, bar: &str| -> Option<f64> {
        let found = as_drawn(&slab_and_bar(slab, bar)).unwrap();
        assert!(found.len() < 2, "{found:?}");
        found.first().map(|f| f.number.unwrap())
    };
    let near = |found: Option<f64>, wanted: f64| {
        assert!(
            found.is_some_and(|f| (f + wanted).abs() < 0.02),
            "{found:?} {wanted}"
        );
    };
    near(deep("", "station = [\"0 mm\"]"), 25.0);
    near(deep("", "station = [\"22 mm\"]"), 3.0);
    assert_eq!(deep("", "station = [\"25 mm\"]"), None);
    near(deep("", "count = 2\nstation = [\"18 mm\", \"60 mm\"]"), 7.0);
    // Through a hole it goes free.
    let hole = |d: &str| format!("hole.through = {{ at = [0, 30], drill = \"{d}\" }}");
    assert_eq!(deep(&hole("23 mm"), "station = [\"0 mm\"]"), None);
    assert!(deep(&hole("22 mm"), "station = [\"0 mm\"]").is_some());
}

/// An arm that swings past a bar of a plane that stands square to its own. By hand: its end goes round at 60, the bar stands from 55 on.
#[test]
fn a_part_that_swings_meets_what_stands_in_another_plane() {
    let machine = |plane: &str, at: &str| {
        model(&format!(
            r#"
[plane.other]
{plane}
[point]
c = [0, 0]
tip = [50, 0]
p = {{ at = {at}, plane = "other" }}
q = {{ from = "p", by = [0, 40] }}
[frame]
carries = ["c", "p", "q"]
[part.arm]
carries = ["c", "tip"]
station = "0 mm"
stock = {{ flat = ["10 mm", "20 mm"] }}
[piece.post]
carries = ["p", "q"]
stock = {{ flat = ["10 mm", "20 mm"] }}
outline = "around"
station = ["0 mm"]
[drive.turn]
turns = "arm"
range = "whole turn"
"#
        ))
    };
    // The plane looks along x from 60 on: the post is 10 thick about it and reaches from 65 down to 55.
    let square = "origin = [60, 0, 0]\nright = [0, 0, -1]\nup = [0, 1, 0]";
    let found = told(&machine(square, "[0, -20]"), "arm", "post");
    assert!(found.is_some_and(|f| (f + 5.0).abs() < 0.05), "{found:?}");
    let square = "origin = [70, 0, 0]\nright = [0, 0, -1]\nup = [0, 1, 0]";
    let found = told(&machine(square, "[0, -20]"), "arm", "post");
    assert!(found.is_some_and(|f| (f - 5.0).abs() < 0.05), "{found:?}");
    // In a parallel plane that looks from behind and lies 8 behind, they share 2 of their thickness; 80 - 10 - 60 = 10. Farther back they share none.
    for (back, wanted) in [(8.0, Some(10.0)), (12.0, None)] {
        let parallel = format!("origin = [0, 0, -{back}]\nright = [-1, 0, 0]\nup = [0, 1, 0]");
        let found = told(&machine(&parallel, "[-80, -20]"), "arm", "post");
        match wanted {
            Some(wanted) => {
                assert!(
                    found.is_some_and(|f| (f - wanted).abs() < 0.02),
                    "{found:?}"
                );
            }
            None => assert_eq!(found, None),
        }
    }
}
