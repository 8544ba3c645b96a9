//! A hand on the machine: what it pulls where, and what stops it.

#![allow(clippy::unwrap_used)] // a value that is missing fails the test

use crate::common::{close, four_bar, model, stand};
use proptest::prelude::*;
use studies::Model;
use studies::answers::EndKind;
use studies::pointing::{Grabbed, Hand, Pull};

const EMBOSSER: &str = include_str!("../../../../examples/strap-embosser/machine.toml");

fn part(model: &Model, name: &str) -> usize {
    let parts = &model.machine().parts;
    parts.iter().position(|p| p.name == name).unwrap()
}

fn point(model: &Model, name: &str) -> usize {
    let points = &model.machine().points;
    points.iter().position(|p| p.name == name).unwrap()
}

fn pull(grabbed: Grabbed, to: [f64; 2]) -> Pull {
    Pull {
        grabbed,
        plane: 0,
        to,
        drive: None,
    }
}

fn apart(a: f64, b: f64) -> f64 {
    let turns = (a - b) / std::f64::consts::TAU;
    (turns - turns.round()).abs() * std::f64::consts::TAU
}

#[test]
fn the_lever_follows_the_hand_and_stops_at_the_end_of_its_range() {
    let model = model(EMBOSSER);
    let mut hand = Hand::new(&model);
    let drawn = model.drawn();
    let lever = Grabbed::Point(point(&model, "lever-grip"));
    // Far down to the right: clockwise, past the 70 degrees of the range.
    let pulled = hand.pull(&drawn, &pull(lever, [600.0, 100.0])).unwrap();
    assert_eq!(model.machine().drives[pulled.drive].name, "set");
    close(pulled.held.stand.drives[1], 70_f64.to_radians(), 1e-9);
    let met = pulled.met.unwrap();
    assert_eq!(met.end.kind, EndKind::Range);
    assert_eq!(
        met.sentence,
        "set goes no further than 70 deg: its range ends"
    );
    // Back inside nothing is in the way.
    let inside = hand
        .pull(&pulled.held.stand, &pull(lever, [250.0, 560.0]))
        .unwrap();
    assert!(inside.met.is_none());
    assert!(inside.held.stand.drives[1] > 0.1 && inside.held.stand.drives[1] < 1.1);
}

#[test]
fn a_part_is_moved_by_the_drive_that_moves_it_most_or_by_the_one_named() {
    let model = model(EMBOSSER);
    let mut hand = Hand::new(&model);
    let drawn = model.drawn();
    let ram = Grabbed::Part(part(&model, "ram"), [0.0, 200.0]);
    let pulled = hand.pull(&drawn, &pull(ram, [0.0, 185.0])).unwrap();
    assert_eq!(model.machine().drives[pulled.drive].name, "crank");
    assert!(pulled.off < 1e-6, "{}", pulled.off);
    let named = Pull {
        drive: Some(1),
        ..pull(ram, [0.0, 185.0])
    };
    let refusal = hand.pull(&drawn, &named).unwrap_err();
    assert_eq!(refusal.message, "drive set does not move that place");
    let fixed = hand.pull(&drawn, &pull(Grabbed::Part(0, [0.0, 0.0]), [1.0, 1.0]));
    assert!(fixed.is_err());
    let nowhere = hand.pull(&drawn, &pull(ram, [f64::NAN, 0.0]));
    assert!(nowhere.is_err());
    assert!(
        hand.pull(&drawn, &pull(Grabbed::Rod(99, 0.5), [0.0; 2]))
            .is_err()
    );
    assert!(
        hand.pull(&drawn, &pull(Grabbed::Point(999), [0.0; 2]))
            .is_err()
    );
    assert!(
        hand.pull(&drawn, &pull(Grabbed::Part(999, [0.0; 2]), [0.0; 2]))
            .is_err()
    );
}

#[test]
fn a_dead_centre_stops_the_hand_and_is_named() {
    // The rocker cannot be pushed past where coupler and crank stand in line.
    let text = four_bar(40.0, 120.0, 80.0, 100.0, 40.0, "upper").replace(
        "[drive.crank]\nturns = \"crank\"",
        "[drive.crank]\nturns = \"rocker\"",
    );
    let model = model(&text);
    let mut hand = Hand::new(&model);
    let drawn = model.drawn();
    let b = Grabbed::Point(point(&model, "b"));
    let pulled = hand.pull(&drawn, &pull(b, [400.0, 0.0])).unwrap();
    let met = pulled.met.unwrap();
    assert_eq!(met.end.kind, EndKind::DeadCentre, "{met:?}");
    assert!(met.sentence.contains("in line"), "{}", met.sentence);
}

#[test]
fn a_hand_puts_the_machine_where_the_studies_say_it_stands() {
    let model = model(EMBOSSER);
    let mut hand = Hand::new(&model);
    for values in [
        &["set = 10 deg", "crank = 200 deg"][..],
        &["set = 70 deg", "crank = 20 deg", "link-hole = 5"],
        &["anvil-shim = 1 mm", "crank = 355 deg"],
        &[],
    ] {
        let stand = stand(&model, values);
        let held = hand.put(&stand).unwrap();
        let alone = studies::standing(&model, &stand).unwrap();
        for (a, b) in held.standing.points.iter().zip(&alone.points) {
            (0..3).for_each(|i| close(a[i], b[i], 1e-7));
        }
        // Every hole that no setting moved lies where its part took it.
        let m = model.machine();
        for (id, part) in m.parts.iter().enumerate().skip(1) {
            for &p in part.carries.iter().filter(|p| {
                !["link-holes", "anvil", "arm-pin"].contains(&m.points[**p].name.as_str())
            }) {
                let q = held.moved[id].place([m.points[p].x, m.points[p].y]);
                close(q[0], held.standing.points[p][0], 1e-7);
                close(q[1], held.standing.points[p][1], 1e-7);
            }
        }
        let readings = hand.readings(&stand).unwrap();
        for (a, b) in readings
            .iter()
            .zip(studies::readings(&model, &stand).unwrap())
        {
            close(a.now.value.unwrap(), b.value.unwrap(), 1e-7);
        }
    }
    let other = studies::Stand {
        drives: vec![],
        settings: vec![],
        put: vec![],
    };
    assert!(hand.put(&other).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Dragging to where a known pose puts the grabbed place gives that pose back.
    #[test]
    fn dragging_to_a_known_pose_gives_it_back(
        crank in 0.0..std::f64::consts::TAU,
        set in 0.0..70.0_f64,
        from in (0.0..std::f64::consts::TAU, 0.0..70.0_f64),
        which in 0usize..3,
    ) {
        let model = model(EMBOSSER);
        let mut hand = Hand::new(&model);
        let mut known = model.drawn();
        known.drives = vec![crank, set.to_radians()];
        let (name, at, drive) = [
            ("crank", [12.0, 391.0], 0),
            ("lever", [220.0, 400.0], 1),
            ("bell-crank", [100.0, 90.0], 1),
        ][which];
        let id = part(&model, name);
        let there = hand.put(&known).unwrap();
        let to = there.moved[id].place(at);
        let mut start = model.drawn();
        start.drives = vec![from.0, from.1.to_radians()];
        let grab = Pull {
            plane: model.machine().parts[id].plane,
            ..pull(Grabbed::Part(id, at), to)
        };
        let pulled = hand.pull(&start, &grab).unwrap();
        prop_assert_eq!(pulled.drive, drive);
        prop_assert!(pulled.off < 1e-6, "{}", pulled.off);
        let mut wanted = start.drives.clone();
        wanted[drive] = known.drives[drive];
        for (a, b) in pulled.held.stand.drives.iter().zip(&wanted) {
            prop_assert!(apart(*a, *b) < 1e-7, "{a} {b}");
        }
    }

    /// Wherever the pointer goes, every drive stays in its range and every rod and part keeps its shape and its side.
    #[test]
    fn a_wild_hand_never_breaks_the_machine(
        way in prop::collection::vec((prop::array::uniform2(-400.0..600.0_f64), 0usize..4), 1..12),
    ) {
        let model = model(EMBOSSER);
        let m = model.machine();
        let mut hand = Hand::new(&model);
        let mut stand = model.drawn();
        for (to, which) in way {
            let grabbed = [
                Grabbed::Point(point(&model, "crank-pin")),
                Grabbed::Point(point(&model, "lever-grip")),
                Grabbed::Rod(0, 0.4),
                Grabbed::Part(part(&model, "link"), [0.0, 350.0]),
            ][which];
            let pulled = hand.pull(&stand, &pull(grabbed, to)).unwrap();
            stand = pulled.held.stand.clone();
            prop_assert!((-1e-9..=70_f64.to_radians() + 1e-9).contains(&stand.drives[1]));
            prop_assert!((-1e-9..=std::f64::consts::TAU + 1e-9).contains(&stand.drives[0]));
            // Started from the drawing, these values give the same machine: no other assembly.
            let alone = studies::standing(&model, &stand).unwrap();
            for (p, (a, b)) in pulled.held.standing.points.iter().zip(&alone.points).enumerate() {
                for i in 0..3 {
                    prop_assert!((a[i] - b[i]).abs() < 1e-6, "{} {:?} {:?}", m.points[p].name, a, b);
                }
            }
        }
    }
}
