//! The examples of `docs/machine-file.md` together are one machine that reads.

use crate::page;
use machine::model::{Adjusts, Judges, Measures, Moves, PartKind, RatioKind};
use machine::{Machine, Severity, read_text, render_all};

fn machine() -> Machine {
    let text = page::page();
    let found = read_text("page.toml", &text);
    let errors: Vec<_> = found
        .problems
        .iter()
        .filter(|p| p.severity == Severity::Error)
        .cloned()
        .collect();
    assert!(
        errors.is_empty(),
        "{}",
        render_all(&errors, &found.sources, false)
    );
    found.machine.unwrap()
}

#[test]
fn the_page_reads() {
    let machine = machine();
    assert_eq!(machine.name, "Strap embosser");
    assert_eq!(machine.note, "one line about it");
    assert_eq!(machine.planes.len(), 2);
}

/// Coordinates of a point by name.
fn at(machine: &Machine, name: &str) -> [f64; 3] {
    let point = machine.points.iter().find(|p| p.name == name).unwrap();
    [point.x, point.y, point.station]
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

#[test]
fn every_construction_of_the_page_is_where_the_words_say() {
    let m = machine();
    let [px, py, _] = at(&m, "lever-pin");
    // 1 1/4 in is 31.75 mm.
    assert!(near(px.hypot(py), 31.75) && near(py.atan2(px).to_degrees(), -10.0));
    assert_eq!(at(&m, "pad"), [12.0, -3.0, 0.0]);
    let [kx, ky, _] = at(&m, "knee");
    assert!(near((kx - px).hypot(ky - py), 180.0));
    assert!(near((kx - 210.0).hypot(ky + 60.0), 45.0));
    // The upper one of the two crossings lies above the line of the centres.
    let line = py + (kx - px) / (210.0 - px) * (-60.0 - py);
    assert!(ky > line);
    let [mx, my, _] = at(&m, "mid");
    assert!(near(mx.hypot(my), 20.0) && near(mx * py, my * px));
    assert!(near(at(&m, "centre")[0], px / 2.0) && near(at(&m, "centre")[1], py / 2.0));
    assert!(near(at(&m, "twin")[0], -px) && near(at(&m, "twin")[1], py));
    assert!(near(at(&m, "foot")[0], 0.0) && near(at(&m, "foot")[1], py));
    // Second of six, the first at 30 deg: 90 deg.
    assert!(near(at(&m, "bolt-2")[0], 0.0) && near(at(&m, "bolt-2")[1], 25.0));
    let [cx, cy, _] = at(&m, "cross");
    assert!(near(cx, 0.0) && near((cy - py) * (210.0 - px), (-60.0 - py) * (0.0 - px)));
    // The side plane looks from the right: its station is the front's x less 420, its up the front's up.
    let [sx, sy, station] = at(&m, "side-twin");
    assert!(near(sx, 0.0) && near(sy, -60.0) && near(station, -210.0));
    assert_eq!(at(&m, "shaft-end"), [30.0, 12.0, 8.0]);
    assert_eq!(at(&m, "arm-pin"), [-40.0, -120.0, 30.0]);
}

#[test]
fn the_page_becomes_the_model_it_describes() {
    let m = machine();
    let part = |name: &str| m.parts.iter().position(|p| p.name == name).unwrap();
    let reading = |name: &str| m.readings.iter().position(|r| r.name == name).unwrap();
    let drive = |name: &str| m.drives.iter().position(|d| d.name == name).unwrap();

    let shaft = &m.parts[part("cross")];
    assert_eq!(shaft.kind, PartKind::Shaft);
    assert_eq!(m.points[shaft.carries[0]].name, "shaft-centre");
    assert_eq!(shaft.carries.len(), 3);
    assert_eq!(m.parts[part("cross-arm")].clamped_to, Some(part("cross")));
    assert_eq!(m.planes[shaft.plane].name, "side");

    let front = &m.rods[0];
    assert!(front.both_ends && near(front.thread.as_ref().unwrap().pitch, 1.25));
    assert_eq!(m.ratios[0].kind, RatioKind::InternalGear);
    assert_eq!(m.ratios[1].kind, RatioKind::Belt);
    assert_eq!(m.ratios[1].sizes, [40.0, 160.0]);
    assert!(near(m.racks[0].radius, 12.0));

    let row = &m.rows[0];
    assert_eq!((row.holes.len(), row.used), (5, 2));
    assert_eq!(m.points[row.point].name, "link-holes");
    assert!(m.parts[part("lever")].carries.contains(&row.point));
    for (n, hole) in row.holes.iter().enumerate() {
        assert!(near(hole[0].hypot(hole[1]), 40.0 + 8.0 * n as f64));
    }
    assert!(near(row.holes[2][0], m.points[row.point].x));

    let set = &m.drives[drive("set")];
    assert_eq!(set.moves, Moves::Turns(part("lever")));
    assert!(near(set.range.unwrap()[1].to_degrees(), 75.0) && near(set.drawn.to_degrees(), 10.0));
    let crank = &m.drives[drive("crank")];
    assert!(crank.whole_turn && near(crank.range.unwrap()[1], std::f64::consts::TAU));

    // Half a turn of an M8 rod threaded right and left: 1.25 mm.
    assert!(near(m.settings[0].step.unwrap(), 1.25));
    assert_eq!(m.settings[1].adjusts, Adjusts::Row(0));
    assert!(near(m.settings[1].drawn, 3.0));
    assert!(near(m.settings[4].drawn.to_degrees(), 75.0));

    assert!(matches!(
        m.readings[reading("gap")].measures,
        Measures::Gap([0, 1])
    ));
    assert!(
        matches!(m.readings[reading("least-gap")].measures, Measures::Over { reading: r, .. } if r == reading("gap"))
    );
    assert!(
        matches!(&m.asks[0].judges, Judges::At { when } if when.len() == 1 && when[0].0 == drive("set"))
    );
    assert!(matches!(m.asks[1].judges, Judges::Anywhere { .. }));
    assert!(matches!(m.asks[2].judges, Judges::Swing { .. }));
    assert!(
        matches!(m.asks[3].judges, Judges::Per { amount, .. } if near(amount.to_degrees(), 1.0))
    );
    assert_eq!(m.asks[0].at_most.as_ref().unwrap().show(), "40 mm");
}
