//! Plots: everything stands inside, breaks stay open, limits show.

#![expect(clippy::unwrap_used, reason = "a test ends where it fails")]

use std::f64::consts::TAU;

use quantity::Unit;
use resvg::usvg::{self, roxmltree};
use sheets::Look;
use sheets::plot::{
    Axis, Curve, Figure, Limit, Mark, Panel, Place, Plot, Sample, curves, curves_within,
};

fn sine(height: f64) -> Vec<Sample> {
    (0..=24)
        .map(|i| f64::from(i) / 24.0 * TAU)
        .map(|a| Sample {
            at: a,
            value: height * a.sin(),
            rate: Some(height * a.cos()),
        })
        .collect()
}

fn panel(points: Vec<Sample>, unit: Unit) -> Panel {
    Panel {
        up: Axis {
            name: "lift".to_owned(),
            unit,
        },
        curves: vec![Curve {
            name: "lift".to_owned(),
            points,
        }],
        marks: Vec::new(),
        limits: Vec::new(),
        bands: Vec::new(),
        rests: Vec::new(),
    }
}

fn plot(panels: Vec<Panel>) -> Plot {
    Plot {
        title: "Lift over crank".to_owned(),
        note: String::new(),
        across: Axis {
            name: "crank".to_owned(),
            unit: Unit::Degree,
        },
        places: Vec::new(),
        panels,
    }
}

fn check(figure: &Figure) {
    let svg = figure.svg(Look::Print);
    let mut options = usvg::Options {
        font_family: "DejaVu Sans".to_owned(),
        ..usvg::Options::default()
    };
    for face in [dejavu::sans::regular(), dejavu::sans::bold()] {
        options.fontdb_mut().load_font_data(face.to_vec());
    }
    let tree = usvg::Tree::from_str(&svg, &options).unwrap();
    let to_mm = figure.size()[0] / f64::from(tree.size().width());
    for node in &tree.root().children()[1..] {
        let b = node.abs_bounding_box();
        let [l, t, r, d] = [b.left(), b.top(), b.right(), b.bottom()].map(|x| f64::from(x) * to_mm);
        let [w, h] = figure.size();
        assert!(
            l >= 1.0 && t >= 1.0 && r <= w - 1.0 && d <= h - 1.0,
            "{l} {t} {r} {d} of {w} × {h}"
        );
    }
}

fn paths(figure: &Figure, class: &str) -> Vec<String> {
    let svg = figure.svg(Look::Print);
    let xml = roxmltree::Document::parse(&svg).unwrap();
    xml.descendants()
        .filter(|n| n.attribute("class") == Some(class))
        .filter_map(|n| n.attribute("d").map(str::to_owned))
        .collect()
}

#[test]
fn a_full_plot_is_whole() {
    let mut p = panel(sine(8.0), Unit::Millimetre);
    p.curves.push(Curve {
        name: "with hole 5 in use".to_owned(),
        points: sine(11.0),
    });
    p.marks.push(Mark {
        at: TAU / 4.0,
        value: 8.0,
        words: String::new(),
    });
    p.limits.push(Limit {
        name: "room".to_owned(),
        value: 9.0,
        least: false,
        over: None,
    });
    p.limits.push(Limit {
        name: "far".to_owned(),
        value: 1e6,
        least: false,
        over: None,
    });
    p.limits.push(Limit {
        name: "there".to_owned(),
        value: -2.0,
        least: true,
        over: Some([1.0, 1.0]),
    });
    let mut plot = plot(vec![
        p,
        panel(sine(0.2), Unit::Inch),
        panel(sine(0.3), Unit::Degree),
    ]);
    plot.places.push(Place {
        at: 2.0,
        words: "dead centre".to_owned(),
    });
    let figure = curves(&plot);
    check(&figure);
    assert_eq!(
        paths(&figure, "limit").len(),
        2,
        "the one far off is named, not drawn"
    );
    assert!(
        figure
            .svg(Look::Board)
            .contains("far: at most 1000000 mm ↑")
    );
    assert_eq!(
        paths(&figure, "chain").len(),
        3,
        "a place is marked in every panel"
    );
}

#[test]
fn a_plot_keeps_within_its_room_whatever_stands_beside_its_fields() {
    let mut p = panel(sine(8.0), Unit::Millimetre);
    for at in [0.0, TAU] {
        p.marks.push(Mark {
            at,
            value: 0.0,
            words: "at rest here".to_owned(),
        });
    }
    let plot = plot(vec![p, panel(sine(0.3), Unit::Degree)]);
    for room in [130.0, 160.0, 240.0, 300.0, 400.0] {
        let figure = curves_within(&plot, room);
        check(&figure);
        assert!(
            figure.size()[0] <= room + 1.0,
            "{} for {room}",
            figure.size()[0]
        );
        assert!(figure.fields.iter().all(|f| f.at[2] >= 40.0));
    }
}

#[test]
fn a_curve_is_broken_where_the_machine_cannot_stand() {
    let mut points = sine(5.0);
    points[10].value = f64::NAN;
    let figure = curves(&plot(vec![panel(points, Unit::Millimetre)]));
    check(&figure);
    assert_eq!(paths(&figure, "wide").len(), 2);
}

#[test]
fn nothing_and_nonsense_give_a_plot_all_the_same() {
    let nan = vec![
        Sample {
            at: f64::NAN,
            value: f64::INFINITY,
            rate: Some(f64::NAN)
        };
        3
    ];
    let one = vec![Sample {
        at: 1.0,
        value: 1.0,
        rate: None,
    }];
    for points in [Vec::new(), nan, one] {
        check(&curves(&plot(vec![panel(points, Unit::Millimetre)])));
    }
    check(&curves(&plot(Vec::new())));
    check(&curves(&plot(
        (0..13)
            .map(|i| panel(sine(f64::from(i)), Unit::Thou))
            .collect(),
    )));
}

#[test]
fn a_plot_as_svg() {
    let mut p = panel(
        vec![0.0, 1.0, 4.0, 9.0]
            .into_iter()
            .enumerate()
            .map(|(i, v)| Sample {
                at: i as f64,
                value: v,
                rate: None,
            })
            .collect(),
        Unit::Millimetre,
    );
    p.limits.push(Limit {
        name: "least".to_owned(),
        value: 0.5,
        least: true,
        over: None,
    });
    let mut small = plot(vec![p]);
    small.across.unit = Unit::Millimetre;
    insta::assert_snapshot!(curves(&small).svg(Look::Print));
}
