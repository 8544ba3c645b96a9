//! Scales measured back from the sheet, as a user's ruler and protractor would.

#![expect(clippy::unwrap_used, reason = "a test ends where it fails")]

use resvg::usvg::roxmltree::{Document, Node};
use sheets::Look;
use studies::dial::scale::{Goes, Length, Scale, Shape, Wanted};
use studies::{Model, assemble};

fn model() -> Model {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../examples/strap-embosser/machine.toml"
    );
    assemble(&machine::read(std::path::Path::new(path)).machine.unwrap())
}

fn scale(shape: Shape, strip: f64) -> Scale {
    let model = model();
    let named = |list: &[&str], name: &str| list.iter().position(|n| *n == name).unwrap();
    let machine = model.machine();
    let readings: Vec<&str> = machine.readings.iter().map(|r| r.name.as_str()).collect();
    let drives: Vec<&str> = machine.drives.iter().map(|d| d.name.as_str()).collect();
    let wanted = Wanted {
        reading: named(&readings, "least-gap"),
        drive: named(&drives, "set"),
        radius: 90.0,
        step: Some(0.1),
        shape,
        goes: if shape == Shape::Drum {
            Goes::Scale
        } else {
            Goes::Pointer
        },
        coming: 0.0,
        strip,
    };
    studies::dial::scale::scale(&model, None, &model.drawn(), &wanted).unwrap()
}

/// Straight strokes of the paths of a group: x right, y down, mm on paper.
fn strokes(group: Node) -> Vec<[[f64; 2]; 2]> {
    let shift: Vec<f64> = group.attribute("transform").map_or_else(
        || vec![0.0, 0.0],
        |t| numbers(t.trim_start_matches("translate")),
    );
    let paths = group.descendants().filter(|n| n.has_tag_name("path"));
    paths
        .filter_map(|p| p.attribute("d"))
        .filter(|d| !d.contains('A'))
        .flat_map(|d| d.split('M').skip(1).collect::<Vec<_>>())
        .map(|piece| {
            let n = numbers(piece);
            assert_eq!(n.len(), 4, "{piece}");
            [
                [n[0] + shift[0], n[1] + shift[1]],
                [n[2] + shift[0], n[3] + shift[1]],
            ]
        })
        .collect()
}

fn numbers(text: &str) -> Vec<f64> {
    text.split(|c: char| !(c.is_ascii_digit() || "-.".contains(c)))
        .filter(|n| !n.is_empty())
        .map(|n| n.parse().unwrap())
        .collect()
}

fn group<'d>(sheet: &'d Document, class: &str) -> Node<'d, 'd> {
    sheet
        .descendants()
        .find(|n| n.has_tag_name("g") && n.attribute("class") == Some(class))
        .unwrap_or_else(|| panic!("no {class}"))
}

/// The sheet is true to size, and its bars are.
fn is_true_to_size(sheet: &Document) {
    let svg = sheet.root_element();
    let size = numbers(svg.attribute("viewBox").unwrap());
    for (name, mm) in [("width", size[2]), ("height", size[3])] {
        let written = svg.attribute(name).unwrap();
        assert_eq!(
            written.strip_suffix("mm").unwrap().parse::<f64>().unwrap(),
            mm
        );
    }
    let long = |s: &&[[f64; 2]; 2]| (s[1][0] - s[0][0]).abs() > 50.0;
    let bars: Vec<f64> = strokes(group(sheet, "bars"))
        .iter()
        .filter(long)
        .map(|s| s[1][0] - s[0][0])
        .collect();
    assert_eq!(bars.len(), 2);
    assert!(
        (bars[0] - 100.0).abs() < 1e-9 && (bars[1] - 101.6).abs() < 1e-9,
        "{bars:?}"
    );
}

fn long(length: Length) -> f64 {
    match length {
        Length::Long => 6.0,
        Length::Middle => 4.5,
        Length::Short => 3.0,
    }
}

#[test]
fn marks_on_an_arc_stand_at_the_angles_of_the_drive() {
    let scale = scale(Shape::Arc, 0.0);
    let svg = sheets::scale_sheet(&scale).svg(Look::Print);
    let sheet = Document::parse(&svg).unwrap();
    is_true_to_size(&sheet);
    let found = strokes(group(&sheet, "scale"));
    // The last two are the cross at the centre.
    let (marks, cross) = found.split_at(found.len() - 2);
    assert_eq!(marks.len(), scale.marks.len());
    assert!(marks.len() > 15);
    let centre = [cross[1][0][0], cross[0][0][1]];
    let about = |p: [f64; 2]| [p[0] - centre[0], centre[1] - p[1]];
    let mut first = None;
    for (stroke, mark) in marks.iter().zip(&scale.marks) {
        let [foot, end] = stroke.map(about);
        let (near, far) = (foot[0].hypot(foot[1]), end[0].hypot(end[1]));
        assert!((near - 90.0).abs() < 2e-3, "{near}");
        assert!(
            (far - near - long(mark.length)).abs() < 2e-3,
            "{far} {near}"
        );
        let angle = foot[1].atan2(foot[0]);
        let (start, at) = *first.get_or_insert((angle, mark.at));
        // A thousandth of a millimetre, as the sheet is written, at 90 mm.
        let turned = scale.sense * (angle - start);
        assert!(
            (turned - (mark.at - at)).abs() < 3e-5,
            "{turned} {}",
            mark.at - at
        );
    }
}

#[test]
fn marks_on_a_strip_stand_where_they_come_round_a_drum() {
    let scale = scale(Shape::Drum, 0.2);
    let svg = sheets::scale_sheet(&scale).svg(Look::Print);
    let sheet = Document::parse(&svg).unwrap();
    is_true_to_size(&sheet);
    let found = strokes(group(&sheet, "scale"));
    let marks = &found[..scale.marks.len()];
    for (stroke, mark) in marks.iter().zip(&scale.marks) {
        // The strip is bent about its middle: 90 mm and half of 0.2 mm.
        let along = scale.sense * (stroke[0][0] - marks[0][0][0]);
        let wanted = (mark.at - scale.marks[0].at) * 90.1;
        assert!((along - wanted).abs() < 2e-3, "{along} {wanted}");
        assert!((stroke[0][1] - stroke[1][1] - long(mark.length)).abs() < 2e-3);
    }
    // From cut to cut it goes once round.
    let cuts = &found[found.len() - 2..];
    let around = (cuts[1][0][0] - cuts[0][0][0]).abs();
    assert!(
        (around - std::f64::consts::TAU * 90.1).abs() < 3e-3,
        "{around}"
    );
}
