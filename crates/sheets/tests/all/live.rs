//! The picture that moves: every group is told what carries it, and a pose moves it to where a drawing of that pose has it.

#![expect(clippy::unwrap_used, reason = "a test ends where it fails")]

use std::collections::BTreeMap;
use std::path::Path;

use machine::Machine;
use resvg::usvg::roxmltree::Document;
use sheets::Names;
use sheets::live::{self, Picture, Wanted};
use studies::pointing::{Hand, Held};
use studies::{Model, Stand, assemble};

const FILES: [&str; 8] = [
    "../../examples/rolling-mill/machine.toml",
    "../../examples/strap-embosser/machine.toml",
    "../../examples/treadle/machine.toml",
    "tests/machines/everything.toml",
    "tests/machines/four-bar.toml",
    "tests/machines/gears.toml",
    "tests/machines/slider-crank.toml",
    "tests/machines/three-plane.toml",
];

fn machine(file: &str) -> Machine {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(file);
    machine::read(&path).machine.unwrap()
}

fn shown(model: &Model, stand: &Stand, wanted: &Wanted) -> (Picture, Held) {
    let mut hand = Hand::new(model);
    let held = hand.put(stand).unwrap();
    let swept = hand.sweep(stand).unwrap();
    (
        live::picture(model.machine(), &held, &swept, &[], wanted),
        held,
    )
}

/// A pose some way off the drawn one that the machine reaches.
fn moved(model: &Model) -> Stand {
    let mut stand = model.drawn();
    let mut hand = Hand::new(model);
    for i in 0..stand.drives.len() {
        for by in [0.3, -0.3, 0.05, -0.05] {
            let mut there = stand.clone();
            there.drives[i] += by;
            if hand.put(&there).is_ok() {
                stand = there;
                break;
            }
        }
    }
    stand
}

/// Numbers of a transform.
fn numbers(text: &str) -> Vec<f64> {
    let parts = text.split(|c: char| !(c.is_ascii_digit() || "-.e".contains(c)));
    parts.filter_map(|p| p.parse().ok()).collect()
}

/// Per part: where its first line starts on the view's paper, by the transforms of the groups it is in.
fn starts(picture: &Picture) -> BTreeMap<String, [f64; 2]> {
    let document = Document::parse(&picture.svg).unwrap();
    let mut starts = BTreeMap::new();
    for path in document.descendants().filter(|n| n.has_tag_name("path")) {
        let Some(group) = path
            .ancestors()
            .find(|n| n.attribute("class") == Some("part"))
        else {
            continue;
        };
        let d = numbers(path.attribute("d").unwrap());
        let mut p = [d[0], d[1]];
        for above in path
            .ancestors()
            .take_while(|n| n.attribute("data-view").is_none())
        {
            match above.attribute("transform").map(|t| (t, numbers(t))) {
                Some((t, m)) if t.starts_with("matrix") => {
                    p = [
                        m[0] * p[0] + m[2] * p[1] + m[4],
                        m[1] * p[0] + m[3] * p[1] + m[5],
                    ];
                }
                Some((t, m)) if t.starts_with("translate") => p = [p[0] + m[0], p[1] + m[1]],
                _ => {}
            }
        }
        starts
            .entry(group.attribute("id").unwrap().to_owned())
            .or_insert(p);
    }
    starts
}

#[test]
fn a_pose_moves_the_groups_to_where_a_picture_of_that_pose_has_them() {
    for file in FILES {
        let machine = machine(file);
        let model = assemble(&machine);
        let wanted = Wanted {
            scale: Some(0.5),
            ..Wanted::default()
        };
        let (drawn, _) = shown(&model, &model.drawn(), &wanted);
        let (there, held) = shown(&model, &moved(&model), &wanted);
        assert_eq!(there.places, live::places(&machine, &held));
        // The drawn picture with the matrices of the other pose.
        let mut svg = drawn.svg.clone();
        for (i, [c, s, x, y]) in there.places.parts.iter().enumerate() {
            let old = format!("data-part=\"{i}\" transform=\"");
            let k = drawn.scale;
            let new = format!("matrix({c} {} {s} {c} {} {})", -s, x * k, -y * k);
            let pieces: Vec<String> = svg.split(&old).map(str::to_owned).collect();
            let (first, rest) = pieces.split_first().unwrap();
            svg.clone_from(first);
            for piece in rest {
                let after = piece.split_once('"').unwrap().1;
                svg.push_str(&format!("{old}{new}\"{after}"));
            }
        }
        let turned = starts(&Picture { svg, ..drawn });
        let right = starts(&there);
        assert_eq!(turned.len(), right.len(), "{file}");
        for (id, p) in &turned {
            // Plates and lines may begin at another of their corners: hulls and farthest points are sorted by place.
            let q = right[id];
            let near = (p[0] - q[0]).hypot(p[1] - q[1]);
            // Circles begin on the same side of their centre in every pose.
            let corner = machine.parts.iter().any(|part| {
                part.carries.iter().any(|&c| {
                    let [x, y, _] = held.standing.points[c];
                    let from = |p: &[f64; 2]| (x * 0.5 - p[0]).hypot(-y * 0.5 - p[1]);
                    from(p) < 0.02 || from(p) < 5.0 && (from(p) - from(&q)).abs() < 1e-3
                })
            });
            assert!(near < 0.02 || corner, "{file} {id}: {p:?} {q:?}");
        }
    }
}

#[test]
fn a_picture_fits_its_room_and_is_xml() {
    for file in FILES {
        let machine = machine(file);
        let model = assemble(&machine);
        for (room, stacked) in [([300.0, 160.0], false), ([90.0, 140.0], true)] {
            // On a narrow screen points are not named.
            let names = if stacked { Names::Parts } else { Names::All };
            let wanted = Wanted {
                room,
                stacked,
                names,
                ..Wanted::default()
            };
            let (picture, _) = shown(&model, &model.drawn(), &wanted);
            let document = Document::parse(&picture.svg).unwrap();
            let parts = document
                .descendants()
                .filter(|n| n.attribute("class") == Some("part"));
            assert_eq!(
                parts.count(),
                machine.parts.len() - 1 - parts_that_are_points(&picture, &machine),
                "{file}"
            );
            assert!(picture.size[0] >= room[0] && picture.size[1] >= room[1]);
            // Names keep their size, so a narrow picture may be wider than its room and is scrolled.
            let over = if stacked { 2.0 } else { 1.3 };
            assert!(
                picture.size[0] <= room[0] * over,
                "{file} {:?} in {room:?}",
                picture.size
            );
            assert!(!picture.svg.contains("style=") && !picture.svg.contains("NaN"));
            for v in &picture.views {
                assert!(
                    v.covers[0] >= -0.01 && v.covers[2] <= picture.size[0] + 0.01,
                    "{file} {v:?}"
                );
            }
        }
    }
}

/// Parts of a single point have no line of their own.
fn parts_that_are_points(picture: &Picture, machine: &Machine) -> usize {
    let drawn = |name: &str| picture.svg.contains(&format!("Part {name}:"));
    machine
        .parts
        .iter()
        .skip(1)
        .filter(|p| !drawn(&p.name))
        .count()
}

#[test]
fn an_empty_machine_is_an_empty_picture() {
    let text = "[point]\na = [0, 0]\nb = [50, 0]\n[frame]\ncarries = [\"a\"]\n[part.arm]\ncarries = [\"a\", \"b\"]\n";
    let machine = machine::read_text("small.toml", text).machine.unwrap();
    let model = assemble(&machine);
    let (picture, _) = shown(&model, &model.drawn(), &Wanted::default());
    assert!(picture.scale > 0.0 && picture.svg.contains("arm"));
    let odd = Wanted {
        room: [f64::NAN, -3.0],
        scale: Some(f64::INFINITY),
        ..Wanted::default()
    };
    let (picture, _) = shown(&model, &model.drawn(), &odd);
    assert!(picture.size.iter().all(|s| s.is_finite()));
    let json = serde_json::to_string(&picture).unwrap();
    assert!(json.contains("\"views\""));
}
