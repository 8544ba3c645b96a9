//! Freedoms, what moves in each, and which constraint repeats which.

use crate::common::{four_bar, random_mechanism};
use mechanics::model::{BodyId, Constraint};
use mechanics::{Mechanism, Mobility, mobility};

fn of(m: &Mechanism) -> Mobility {
    mobility(m, &m.params, &m.drawn)
}

/// Bodies that one freedom moves.
fn moved(free: &[[f64; 3]]) -> Vec<BodyId> {
    (0..free.len()).filter(|&b| free[b] != [0.0; 3]).collect()
}

#[test]
fn a_square_system_of_any_kind_is_rigid() {
    for seed in 0..200 {
        let m = random_mechanism(seed, (seed % 3) as usize);
        let found = of(&m);
        assert_eq!((found.freedoms, found.count), (0, 0), "seed {seed}");
        assert!(
            found.repeated.is_empty() && found.free.is_empty() && !found.special_pose,
            "seed {seed}"
        );
    }
}

#[test]
fn without_its_last_constraint_it_has_a_freedom_that_keeps_all_others() {
    for seed in 0..200 {
        let mut m = random_mechanism(seed, (seed % 3) as usize);
        let last = m.constraints.pop().expect("it has constraints");
        let found = of(&m);
        assert_eq!(found.freedoms, last.equations(), "seed {seed}");
        let j = m.jacobian(&m.params, &m.drawn).by_pose;
        let size = m.size(&m.params);
        for motion in &found.free {
            let flat: Vec<f64> = motion[1..]
                .iter()
                .flat_map(|q| [q[0], q[1], q[2] / size])
                .collect();
            let left = &j * nalgebra::DVector::from_vec(flat);
            assert!(left.amax() < 1e-7, "seed {seed}: {}", left.amax());
            assert!(
                (motion
                    .iter()
                    .flatten()
                    .fold(0.0, |a: f64, x| a.max(x.abs()))
                    - 1.0)
                    .abs()
                    < 1e-12
            );
        }
    }
}

#[test]
fn every_repeated_constraint_is_named_with_what_it_repeats() {
    for seed in 0..200 {
        let mut m = random_mechanism(seed, (seed % 3) as usize);
        // Say one of them twice, with numbers of its own, at the end.
        let again = m.constraints[(seed as usize * 7) % m.constraints.len()];
        let index = m.constrain(again);
        let found = of(&m);
        assert_eq!(
            (found.freedoms, found.count),
            (0, -again.equations().cast_signed()),
            "seed {seed}"
        );
        let [repeated] = found.repeated.as_slice() else {
            panic!("seed {seed}: {:?}", found.repeated)
        };
        assert_eq!(repeated.constraint, index, "seed {seed}");
        assert_eq!(repeated.by, [(seed as usize * 7) % index], "seed {seed}");
    }
}

#[test]
fn a_brace_across_a_truss_names_the_whole_loop() {
    // A quadrilateral of rods between free pins, both diagonals: the second diagonal repeats the other five.
    let mut m = Mechanism::new();
    let fixed = [m.anchor(0, 0, [0.0; 3]), m.anchor(0, 0, [80.0, 0.0, 0.0])];
    let pins = [[85.0, 60.0], [5.0, 70.0]].map(|at| {
        let b = m.body(0, at, 0.0);
        m.hold_angle(b, 0);
        m.anchor(b, 0, [0.0; 3])
    });
    for (p, q) in [
        (fixed[1], pins[0]),
        (pins[0], pins[1]),
        (pins[1], fixed[0]),
        (fixed[0], pins[0]),
        (fixed[1], pins[1]),
    ] {
        m.rod(p, q);
    }
    let found = of(&m);
    assert_eq!((found.freedoms, found.count), (0, -1));
    assert_eq!(found.repeated.len(), 1);
    assert_eq!(found.repeated[0].constraint, 6);
    assert_eq!(found.repeated[0].by, [2, 3, 4, 5]);
}

#[test]
fn a_free_part_is_named_alone() {
    // A four-bar, its crank driven, with a part hanging on one pin of the coupler.
    let mut m = four_bar([40.0, 120.0, 80.0, 100.0], 1.0, true).expect("closes");
    m.hold_angle(1, 0);
    let a = m.anchor(2, 0, [50.0, 10.0, 0.0]);
    let at = m.in_plane(&m.params, &m.drawn, a);
    let hanging = m.body(0, at, 0.4);
    let b = m.anchor(hanging, 0, [0.0; 3]);
    m.constrain(Constraint::Pin { a, b });
    let found = of(&m);
    assert_eq!((found.freedoms, found.count), (1, 1));
    assert_eq!(moved(&found.free[0]), [hanging]);
    assert_eq!(found.free[0][hanging], [0.0, 0.0, 1.0]);
    assert!(found.repeated.is_empty());
}

#[test]
fn two_free_parts_are_two_freedoms() {
    let mut m = Mechanism::new();
    let bodies = [0.0, 100.0].map(|x| {
        let (b, f) = (m.body(0, [x, 0.0], 0.2), m.anchor(0, 0, [x, 0.0, 0.0]));
        let a = m.anchor(b, 0, [0.0; 3]);
        m.constrain(Constraint::Pin { a, b: f });
        b
    });
    let found = of(&m);
    assert_eq!(found.freedoms, 2);
    let mut each: Vec<Vec<BodyId>> = found.free.iter().map(|f| moved(f)).collect();
    each.sort();
    assert_eq!(each, bodies.map(|b| vec![b]));
}

#[test]
fn a_dead_centre_is_not_taken_for_a_freedom() {
    // Slide driven, rod and crank in line: the rank falls there, not nearby.
    let mut m = Mechanism::new();
    let (c, rod, ram) = (
        m.link(0, [0.0; 2], [40.0, 0.0]),
        m.link(0, [40.0, 0.0], [160.0, 0.0]),
        m.body(0, [160.0, 0.0], 0.0),
    );
    let fixed = m.anchor(0, 0, [0.0; 3]);
    let [c0, c1, r0, r1, s] = [(c, 0.0), (c, 40.0), (rod, 0.0), (rod, 120.0), (ram, 0.0)]
        .map(|(b, u)| m.anchor(b, 0, [u, 0.0, 0.0]));
    for (a, b) in [(fixed, c0), (c1, r0), (r1, s)] {
        m.constrain(Constraint::Pin { a, b });
    }
    let [direction, offset] = [0.0; 2].map(|v| m.param(v));
    m.constrain(Constraint::OnLine {
        pin: s,
        through: fixed,
        direction,
        offset,
    });
    m.hold_angle(ram, 0);
    let found = of(&m);
    assert_eq!((found.freedoms, found.special_pose), (1, false));
    assert!(found.repeated.is_empty());
}

#[test]
fn a_parallelogram_drawn_flat_has_one_freedom() {
    let m = four_bar([45.0, 100.0, 45.0, 100.0], 0.0, true).expect("closes");
    let found = of(&m);
    assert_eq!((found.freedoms, found.special_pose), (1, true));
    assert!(found.repeated.is_empty());
}

#[test]
fn a_frame_alone_has_no_freedom() {
    let found = of(&Mechanism::new());
    assert_eq!((found.freedoms, found.count), (0, 0));
    assert!(found.free.is_empty());
}
