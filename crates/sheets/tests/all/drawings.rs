//! Drawings of whole machines: nothing overlaps, nothing is clipped, everything is named once.

#![expect(clippy::unwrap_used, reason = "a test ends where it fails")]

use std::collections::BTreeSet;
use std::path::Path;

use machine::Machine;
use resvg::usvg::{self, roxmltree};
use sheets::{Drawing, Look, Names, Options, Paper, PngError, Pose, Projection, Scale, draw};
use studies::{Stand, Standing, Trace, assemble, standing, trace};

/// The machine files that are drawn: the examples, and small ones that have what those lack.
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
    let reading = machine::read(&path);
    reading
        .machine
        .unwrap_or_else(|| panic!("{file}: {:?}", reading.problems))
}

fn as_drawn(machine: &Machine) -> (Standing, Stand) {
    let standing = Standing {
        points: machine
            .points
            .iter()
            .map(|p| [p.x, p.y, p.station])
            .collect(),
        turns: vec![0.0; machine.parts.len()],
        outlines: std::sync::Arc::default(),
    };
    let stand = Stand {
        drives: machine.drives.iter().map(|d| d.drawn).collect(),
        settings: machine.settings.iter().map(|s| s.drawn).collect(),
        put: Vec::new(),
    };
    (standing, stand)
}

fn plain(machine: &Machine, options: &Options) -> Drawing {
    let (standing, stand) = as_drawn(machine);
    let pose = Pose {
        standing: &standing,
        drives: &stand.drives,
        settings: &stand.settings,
    };
    draw(machine, &pose, &[], &[], options)
}

/// The first drive at five places of its range as ghosts, and the paths of all points.
fn moving(machine: &Machine, options: &Options) -> Drawing {
    let (here, stand) = as_drawn(machine);
    let model = assemble(machine);
    let mut ghosts: Vec<Standing> = Vec::new();
    let mut traces: Vec<Trace> = Vec::new();
    if let Some(range) = machine.drives.first().and_then(|d| d.range) {
        for i in 0..5 {
            let mut other = stand.clone();
            other.drives[0] = range[0] + (range[1] - range[0]) * f64::from(i) / 4.0;
            ghosts.extend(standing(&model, &other));
        }
        traces.extend((0..machine.points.len()).filter_map(|p| trace(&model, &stand, p, 0).ok()));
    }
    let pose = Pose {
        standing: &here,
        drives: &stand.drives,
        settings: &stand.settings,
    };
    draw(
        machine,
        &pose,
        &ghosts.iter().collect::<Vec<_>>(),
        &traces,
        options,
    )
}

fn tree(svg: &str) -> usvg::Tree {
    let mut options = usvg::Options {
        font_family: "DejaVu Sans".to_owned(),
        ..usvg::Options::default()
    };
    for face in [dejavu::sans::regular(), dejavu::sans::bold()] {
        options.fontdb_mut().load_font_data(face.to_vec());
    }
    usvg::Tree::from_str(svg, &options).unwrap()
}

#[test]
fn no_name_covers_another() {
    for file in FILES {
        let m = machine(file);
        for drawing in [
            plain(&m, &Options::default()),
            moving(&m, &Options::default()),
        ] {
            assert!(!drawing.names.is_empty(), "{file}");
            for (i, a) in drawing.names.iter().enumerate() {
                for b in &drawing.names[i + 1..] {
                    let apart = a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];
                    assert!(apart, "{file}: {a:?} {b:?}");
                }
            }
        }
    }
}

#[test]
fn names_of_two_thousand_points_are_placed_or_counted() {
    let mut file = String::from("name = \"Plate\"\n[point]\npivot = [0, 0]\ngrip = [0, 80]\n");
    let mut carried = String::from("\"pivot\"");
    for i in 0..2000 {
        file += &format!("hole-{i} = [{}, {}]\n", 7 * (i % 50) + 20, 7 * (i / 50));
        carried += &format!(", \"hole-{i}\"");
    }
    file +=
        &format!("[frame]\ncarries = [{carried}]\n[part.lever]\ncarries = [\"pivot\", \"grip\"]\n");
    file += "[drive.set]\nturns = \"lever\"\nrange = [0, 60]\n";
    let reading = machine::read_text("plate.toml", &file);
    let m = reading
        .machine
        .unwrap_or_else(|| panic!("{:?}", reading.problems));
    let drawing = plain(&m, &Options::default());
    let names = &drawing.names;
    for (i, a) in names.iter().enumerate() {
        for b in &names[i + 1..] {
            let apart = a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];
            assert!(apart, "{a:?} {b:?}");
        }
    }
    // Beside the names of points stand those of the lever and its drive, and the words that count the rest.
    let out = 2004 - (names.len() - 1);
    let svg = drawing.svg(Look::Print);
    assert!(svg.contains(&format!("and {out} names left out")), "{out}");
    assert!(svg.contains(">lever<"));
}

#[test]
fn a_slide_and_its_part_of_one_name_are_labelled_once() {
    let file = r#"
name = "Press"
[point]
foot = [0, 0]
top = [0, 40]
[frame]
carries = []
[part.bed]
carries = ["foot", "top"]
[slide.bed]
part = "bed"
along = "90 deg"
[drive.lift]
slides = "bed"
range = [0, 20]
"#;
    let reading = machine::read_text("press.toml", file);
    let m = reading
        .machine
        .unwrap_or_else(|| panic!("{:?}", reading.problems));
    let svg = plain(&m, &Options::default()).svg(Look::Print);
    assert_eq!(svg.matches(">bed</text>").count(), 1, "{svg}");
}

/// Measured by the picture library with the letters' true outlines, not by our own widths.
#[test]
fn nothing_is_clipped() {
    for file in FILES {
        let m = machine(file);
        for drawing in [
            plain(&m, &Options::default()),
            moving(&m, &Options::default()),
        ] {
            let tree = tree(&drawing.svg(Look::Print));
            let to_mm = drawing.size()[0] / f64::from(tree.size().width());
            // The first child is the ground of the sheet.
            for node in &tree.root().children()[1..] {
                let b = node.abs_stroke_bounding_box();
                let [l, t, r, d] =
                    [b.left(), b.top(), b.right(), b.bottom()].map(|x| f64::from(x) * to_mm);
                let [w, h] = drawing.size();
                assert!(
                    l >= 4.5 && t >= 4.5 && r <= w - 4.5 && d <= h - 4.5,
                    "{file}: {l} {t} {r} {d} of {w} × {h}"
                );
            }
        }
    }
}

#[test]
fn every_drawing_fits_a_sheet_of_a4() {
    for file in FILES {
        let m = machine(file);
        let [w, h] = plain(&m, &Options::default()).size();
        let (short, long) = (w.min(h), w.max(h));
        assert!(
            short <= Paper::A4.short && long <= Paper::A4.long,
            "{file}: {w} × {h}"
        );
    }
}

#[test]
fn the_source_is_well_formed_named_and_short() {
    for file in FILES {
        let m = machine(file);
        for look in [Look::Print, Look::Board] {
            let svg = moving(&m, &Options::default()).svg(look);
            let xml = roxmltree::Document::parse(&svg).unwrap_or_else(|e| panic!("{file}: {e}"));
            let mut ids = BTreeSet::new();
            for id in xml.descendants().filter_map(|n| n.attribute("id")) {
                assert!(ids.insert(id.to_owned()), "{file}: {id} twice");
            }
            let names: BTreeSet<&str> = xml
                .descendants()
                .filter_map(|n| n.attribute("data-name"))
                .collect();
            for part in m.parts.iter().filter(|p| p.name != "frame") {
                assert!(
                    names.contains(part.name.as_str()),
                    "{file}: {} is not drawn",
                    part.name
                );
            }
            assert!(xml.descendants().any(|n| n.has_tag_name("title")));
            for path in xml.descendants().filter_map(|n| n.attribute("d")) {
                for number in path.split(|c: char| !(c.is_ascii_digit() || c == '.')) {
                    let decimals = number.split_once('.').map_or(0, |(_, d)| d.len());
                    assert!(decimals <= 3, "{file}: {number}");
                }
            }
        }
    }
}

#[test]
fn the_same_machine_gives_the_same_bytes() {
    let m = machine("../../examples/strap-embosser/machine.toml");
    let twice = [0, 1].map(|_| moving(&m, &Options::default()).svg(Look::Board));
    assert_eq!(twice[0], twice[1]);
}

#[test]
fn views_stand_where_the_projection_puts_them() {
    let m = machine("../../examples/strap-embosser/machine.toml");
    let at = |projection| {
        let drawing = plain(
            &m,
            &Options {
                projection,
                ..Options::default()
            },
        );
        let names: Vec<&str> = drawing.views.iter().map(|v| v.name.as_str()).collect();
        assert_eq!(names, ["front", "side"]);
        [drawing.views[0].origin, drawing.views[1].origin]
    };
    let [front, side] = at(Projection::ThirdAngle);
    assert!(side[0] > front[0]);
    assert!(
        (side[1] - front[1]).abs() < 1e-9,
        "the same height on both views"
    );
    let [front, side] = at(Projection::FirstAngle);
    assert!(side[0] < front[0]);
}

#[test]
fn one_plane_can_be_drawn_alone() {
    let m = machine("../../examples/strap-embosser/machine.toml");
    let options = Options {
        plane: Some(1),
        ..Options::default()
    };
    let drawing = plain(&m, &options);
    assert_eq!(drawing.views.len(), 1);
    assert_eq!(drawing.views[0].name, "side");
    let both = plain(&m, &Options::default());
    assert!(
        drawing.scale.factor() > both.scale.factor(),
        "alone it has more room"
    );
}

#[test]
fn a_scale_asked_for_is_kept_and_true() {
    let m = machine("tests/machines/four-bar.toml");
    let scale = Scale {
        paper: 2.0,
        machine: 1.0,
    };
    let drawing = plain(
        &m,
        &Options {
            scale: Some(scale),
            names: Names::None,
            ..Options::default()
        },
    );
    assert!(drawing.names.is_empty());
    let svg = drawing.svg(Look::Print);
    let xml = roxmltree::Document::parse(&svg).unwrap();
    let centre = |name: &str| -> [f64; 2] {
        let pin = xml.descendants().find(|n| {
            n.attribute("class") == Some("pin") && n.attribute("data-name") == Some(name)
        });
        let circle = pin
            .unwrap()
            .descendants()
            .find(|n| n.has_tag_name("circle"))
            .unwrap();
        ["cx", "cy"].map(|a| circle.attribute(a).unwrap().parse().unwrap())
    };
    let (a, d) = (centre("a"), centre("d"));
    assert!((d[0] - a[0] - 180.0).abs() < 0.002 && (d[1] - a[1]).abs() < 0.002);
}

#[test]
fn a_pose_without_places_gives_a_sheet_with_its_block() {
    let m = machine("../../examples/strap-embosser/machine.toml");
    let nowhere = Standing {
        points: vec![[f64::NAN; 3]; m.points.len()],
        turns: vec![f64::INFINITY; m.parts.len()],
        outlines: std::sync::Arc::default(),
    };
    let nothing = Standing {
        points: Vec::new(),
        turns: Vec::new(),
        outlines: std::sync::Arc::default(),
    };
    let far = Standing {
        points: m
            .points
            .iter()
            .enumerate()
            .map(|(i, _)| [1e300 * i as f64, -1e300, 0.0])
            .collect(),
        turns: vec![1e300; m.parts.len()],
        outlines: std::sync::Arc::default(),
    };
    for standing in [&nowhere, &nothing, &far] {
        let pose = Pose {
            standing,
            drives: &[f64::NAN],
            settings: &[],
        };
        let drawing = draw(&m, &pose, &[&nowhere, &far], &[], &Options::default());
        assert!(drawing.size().iter().all(|s| s.is_finite() && *s > 50.0));
        assert!(roxmltree::Document::parse(&drawing.svg(Look::Print)).is_ok());
    }
}

#[test]
fn pictures_have_the_size_asked_for_and_something_on_them() {
    let m = machine("tests/machines/slider-crank.toml");
    let drawing = plain(&m, &Options::default());
    let png = drawing.png(Look::Board, 4.0).unwrap();
    let picture = resvg::tiny_skia::Pixmap::decode_png(&png).unwrap();
    let [w, h] = drawing.size();
    assert_eq!(
        (picture.width(), picture.height()),
        ((w * 4.0).ceil() as u32, (h * 4.0).ceil() as u32)
    );
    let ground = picture.pixel(0, 0).unwrap();
    let drawn = picture.pixels().iter().filter(|p| **p != ground).count();
    assert!(
        drawn * 50 > picture.pixels().len(),
        "hardly anything is drawn"
    );
    assert!(matches!(
        drawing.png(Look::Print, 0.0),
        Err(PngError::NoSize { .. })
    ));
    assert!(matches!(
        drawing.png(Look::Print, f64::NAN),
        Err(PngError::NoSize { .. })
    ));
    assert!(matches!(
        drawing.png(Look::Print, 1e4),
        Err(PngError::TooLarge { .. })
    ));
}

#[test]
fn a_four_bar_as_svg() {
    let m = machine("tests/machines/four-bar.toml");
    let svg = plain(&m, &Options::default()).svg(Look::Print);
    insta::assert_snapshot!(svg);
}
