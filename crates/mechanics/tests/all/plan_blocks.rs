//! Every kind of block, one small machine each: which way it is solved, and every pose against the dense reference.

use crate::shop;
use crate::shop::{Shop, apart, check_sweep, polar};
use mechanics::model::{Constraint, Mechanism, ParamId};
use mechanics::plan::{Forms, Plan, PlanError, RunError, Track, Want};
use mechanics::{Ended, State, follow};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Values over `way` from the drawn one.
fn over(m: &Mechanism, drive: ParamId, way: f64, count: usize) -> Vec<f64> {
    (1..=count)
        .map(|i| m.params[drive] + way * i as f64 / count as f64)
        .collect()
}

/// A machine that closed forms solve alone: every pose of the way is good, by closed forms and by Newton only.
fn closed(name: &str, m: &Mechanism, drive: ParamId, way: f64) {
    let plan = Plan::new(m, &m.params, &m.drawn).unwrap_or_else(|e| panic!("{name}: {e}"));
    assert!(
        plan.blocks().is_empty(),
        "{name} is left to Newton: {:?}",
        plan.blocks()
    );
    for count in [40, 700] {
        for forms in [Forms::Closed, Forms::NewtonOnly] {
            let seen = check_sweep(name, m, forms, drive, &over(m, drive, way, count));
            assert_eq!((seen.good, seen.missed), (count, 0), "{name} {forms:?}");
        }
    }
}

/// A machine that has one block of `bodies`.
fn coupled(name: &str, m: &Mechanism, drive: ParamId, way: f64, bodies: usize) {
    let plan = Plan::new(m, &m.params, &m.drawn).unwrap_or_else(|e| panic!("{name}: {e}"));
    assert_eq!(plan.blocks(), [bodies], "{name}");
    for count in [40, 700] {
        let seen = check_sweep(name, m, Forms::Closed, drive, &over(m, drive, way, count));
        assert_eq!((seen.good, seen.missed), (count, 0), "{name}");
    }
}

fn crank_rocker() -> (Mechanism, ParamId) {
    let mut s = Shop::new();
    let (_, pin, drive) = s.crank([0.0; 2], 20.0, 0.4);
    let rocker = s.turning([90.0, -5.0], [100.0, 55.0]);
    let end = s.carry(rocker, [100.0, 55.0]);
    s.bar(pin, end);
    (s.done(), drive)
}

#[test]
fn circle_and_circle_by_pins() {
    let (m, drive) = crank_rocker();
    closed("crank and rocker", &m, drive, 2.0 * TAU);
    closed("crank and rocker backwards", &m, drive, -TAU);
}

#[test]
fn circle_and_circle_by_a_rod() {
    let mut s = Shop::new();
    let (_, pin, drive) = s.crank([0.0; 2], 20.0, 0.4);
    let rocker = s.turning([90.0, -5.0], [100.0, 55.0]);
    let end = s.carry(rocker, [100.0, 55.0]);
    s.m.rod(pin, end);
    closed("rod between crank and rocker", &s.done(), drive, TAU);
}

#[test]
fn circle_and_line() {
    let mut s = Shop::new();
    let (_, pin, drive) = s.crank([0.0; 2], 20.0, 0.4);
    let (_, ram) = s.slide([95.0, 12.0], 0.1);
    s.bar(pin, ram);
    closed("slider and crank", &s.done(), drive, TAU);
    let mut s = Shop::new();
    let (_, pin, drive) = s.crank([0.0; 2], 20.0, 0.4);
    let (_, ram) = s.slide([95.0, 12.0], 0.1);
    s.m.rod(pin, ram);
    closed("slider, rod and crank", &s.done(), drive, TAU);
}

#[test]
fn a_slide_drives() {
    let mut s = Shop::new();
    let (_, ram) = s.slide([60.0, 0.0], 0.0);
    let guide = s.fixed([0.0; 2]);
    let (direction, distance) = (s.m.param(0.0), s.m.param(60.0));
    s.m.constrain(Constraint::Along {
        pin: ram,
        through: guide,
        direction,
        distance,
    });
    let lever = s.turning([50.0, 80.0], [40.0, 30.0]);
    let end = s.carry(lever, [40.0, 30.0]);
    s.bar(ram, end);
    closed("piston and lever", &s.done(), distance, 18.0);
}

#[test]
fn line_and_line() {
    let mut s = Shop::new();
    let (_, pin, drive) = s.crank([0.0; 2], 20.0, 0.4);
    let (yoke, own) = s.slide([40.0, -30.0], 0.0);
    let slot = s.carry(yoke, [polar([0.0; 2], 20.0, 0.4)[0], -60.0]);
    s.on_line(pin, slot, FRAC_PI_2, 0.0);
    // A wedge on the yoke lifts a plunger.
    let (_, plunger) = s.slide([80.0, 10.0], FRAC_PI_2);
    let face = s.carry(yoke, [80.0, 10.0]);
    s.on_line(plunger, face, 0.3, 0.0);
    let _ = own;
    closed("yoke and wedge", &s.done(), drive, TAU);
}

#[test]
fn a_pin_in_the_slot_of_a_lever() {
    let mut s = Shop::new();
    let (_, pin, drive) = s.crank([0.0; 2], 25.0, 0.4);
    let lever = s.turning([0.0, -70.0], polar([0.0; 2], 25.0, 0.4));
    let slot = s.m.anchor(lever, 0, [0.0, 3.0, 0.0]);
    s.on_line(pin, slot, 0.0, -3.0);
    let top = s.m.anchor(lever, 0, [140.0, 0.0, 0.0]);
    let at = s.at(top);
    let (_, ram) = s.slide([at[0] + 60.0, 75.0], 0.0);
    s.bar(top, ram);
    closed("shaper drive", &s.done(), drive, TAU);
}

#[test]
fn a_block_on_a_turning_lever() {
    let mut s = Shop::new();
    let (_, pin, drive) = s.crank([0.0; 2], 25.0, 0.4);
    let at = s.at(pin);
    let lever = s.turning([0.0, -70.0], at);
    let block = s.hung(pin, [at[0] + 10.0, at[1]]);
    s.m.hold_angle(block, lever);
    let own = s.carry(block, [at[0] + 4.0, at[1] + 2.0]);
    let slot = s.m.anchor(lever, 0, [0.0; 3]);
    // Where the drawn block stands off the lever's centre line.
    let p = s.at(own);
    let turn = s.m.drawn[lever].angle;
    let off = (p[1] + 70.0) * turn.cos() - p[0] * turn.sin();
    s.on_line(own, slot, 0.0, off);
    closed("block on a lever", &s.done(), drive, TAU);
}

#[test]
fn an_arc_slot() {
    let mut s = Shop::new();
    let (_, pin, drive) = s.crank([0.0; 2], 20.0, 0.4);
    let plate = s.turning([60.0, -40.0], [70.0, 20.0]);
    let centre = s.carry(plate, [75.0, 35.0]);
    s.arc(pin, centre);
    closed("pin in an arc slot", &s.done(), drive, TAU);
}

#[test]
fn a_free_pin_on_two_rods() {
    let mut s = Shop::new();
    let (_, pin, drive) = s.crank([0.0; 2], 15.0, 0.4);
    let knee = s.m.body(0, [60.0, 40.0], 0.0);
    s.m.hold_angle(knee, 0);
    let own = s.m.anchor(knee, 0, [0.0; 3]);
    let anvil = s.fixed([70.0, -50.0]);
    s.m.rod(pin, own);
    s.m.rod(own, anvil);
    let (_, ram) = s.slide([150.0, 0.0], 0.0);
    s.m.rod(own, ram);
    closed("toggle of rods", &s.done(), drive, TAU);
}

#[test]
fn a_rod_into_a_plane_square_to_the_first() {
    let mut s = Shop::new();
    let (_, pin, drive) = s.crank([0.0; 2], 18.0, 0.4);
    let side = s.plane([20.0, -100.0, -30.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]);
    let centre = s.m.anchor(0, side, [0.0, 0.0, 5.0]);
    let bell = s.hung(centre, [35.0, 5.0]);
    let arm = s.m.anchor_drawn(bell, side, [35.0, 5.0, 8.0]);
    s.m.rod(pin, arm);
    let other = s.m.anchor_drawn(bell, side, [4.0, -45.0, 8.0]);
    // And on to a slide in the side plane.
    let ram = s.m.body(side, [90.0, -40.0], 0.0);
    let own = s.m.anchor(ram, side, [0.0, 0.0, -3.0]);
    s.m.hold_angle(ram, 0);
    let guide = s.fixed_in(side, [120.0, -40.0]);
    s.on_line(own, guide, PI, 0.0);
    s.m.rod(other, own);
    closed("rods in space", &s.done(), drive, TAU);
}

#[test]
fn gears_racks_and_clamped_arms() {
    let mut s = Shop::new();
    let (crank, _, drive) = s.crank([0.0; 2], 20.0, 0.4);
    let wheel = s.turning([60.0, 0.0], [90.0, 10.0]);
    s.gear(crank, wheel, 0, [18.0, 54.0]);
    let arm = s.m.link(0, [60.0, 0.0], [60.0, 40.0]);
    let hub = s.m.anchor(arm, 0, [0.0; 3]);
    let centre = s.fixed([60.0, 0.0]);
    s.pin(hub, centre);
    s.m.hold_angle(arm, wheel);
    let end = s.carry(arm, [60.0, 40.0]);
    let (_, ram) = s.slide([150.0, 30.0], 0.0);
    s.bar(end, ram);
    // The ram's rack turns a pinion, the pinion's crank a rocker.
    let pinion = s.turning([150.0, 60.0], [160.0, 60.0]);
    let guide = s.fixed([100.0, 30.0]);
    s.rack(pinion, ram, guide, 0.0, -40.0);
    let tip = s.carry(pinion, [165.0, 65.0]);
    let rocker = s.turning([230.0, 60.0], [225.0, 100.0]);
    let rocker_end = s.carry(rocker, [225.0, 100.0]);
    s.bar(tip, rocker_end);
    closed("train, rack and rocker", &s.done(), drive, 3.0 * TAU);
}

#[test]
fn a_gear_on_a_rocker_needs_the_unwrapped_angle() {
    let mut s = Shop::new();
    let (_, pin, drive) = s.crank([0.0; 2], 20.0, 0.4);
    let rocker = s.turning([90.0, -5.0], [100.0, 55.0]);
    let end = s.carry(rocker, [100.0, 55.0]);
    let coupler = s.bar(pin, end);
    let wheel = s.turning([90.0, -90.0], [100.0, -60.0]);
    s.gear(rocker, wheel, 0, [70.0, 15.0]);
    // A wheel on the rocker geared to the coupler.
    let planet = s.hung(end, [110.0, 60.0]);
    s.gear(coupler, planet, rocker, [20.0, 30.0]);
    closed("gears on a rocker", &s.done(), drive, 2.0 * TAU);
}

#[test]
fn a_geared_five_bar() {
    // Both cranks driven through gears; the knee by two bars.
    let mut s = Shop::new();
    let (crank, pin, drive) = s.crank([0.0; 2], 20.0, 0.4);
    let second = s.turning([80.0, 0.0], polar([80.0, 0.0], 15.0, 2.0));
    let tip = s.carry(second, polar([80.0, 0.0], 15.0, 2.0));
    s.gear(crank, second, 0, [30.0, -60.0]);
    let knee = s.hung(pin, [40.0, 70.0]);
    let end = s.carry(knee, [40.0, 70.0]);
    s.bar(tip, end);
    closed("geared five-bar", &s.done(), drive, 2.0 * TAU);
}

#[test]
fn a_ternary_coupler_on_three_legs() {
    for rods in [false, true] {
        let mut s = Shop::new();
        let (_, pin, drive) = s.crank([0.0; 2], 12.0, 0.0);
        let coupler = s.m.link(0, [60.0, 30.0], [110.0, 60.0]);
        let feet = [pin, s.fixed([70.0, 140.0]), s.fixed([180.0, -40.0])];
        for (foot, at) in feet
            .into_iter()
            .zip([[60.0, 30.0], [110.0, 60.0], [100.0, -10.0]])
        {
            let end = s.carry(coupler, at);
            if rods {
                s.m.rod(foot, end);
            } else {
                s.bar(foot, end);
            }
        }
        coupled(
            "three legs",
            &s.done(),
            drive,
            TAU,
            if rods { 1 } else { 4 },
        );
    }
}

#[test]
fn a_rolling_gear_in_a_coupled_group() {
    // A wheel rolls on a rack that it moves by its own link: angles within the block.
    let mut s = Shop::new();
    let (_, pin, drive) = s.crank([0.0; 2], 15.0, 0.4);
    let (_, ram) = s.slide([120.0, 0.0], 0.0);
    let guide = s.fixed([60.0, 0.0]);
    let pinion = s.turning([120.0, 30.0], [140.0, 45.0]);
    s.rack(pinion, ram, guide, 0.0, 30.0);
    let tip = s.carry(pinion, [135.0, 50.0]);
    let end = s.carry(2, [110.0, 10.0]);
    let knee = s.m.link(0, [60.0, 60.0], [80.0, 60.0]);
    let foot = s.fixed([60.0, 130.0]);
    for (foot, at) in [
        (pin, [60.0, 60.0]),
        (tip, [80.0, 70.0]),
        (end, [75.0, 50.0]),
        (foot, [65.0, 70.0]),
    ] {
        let own = s.carry(knee, at);
        s.m.rod(foot, own);
    }
    let m = s.done();
    let plan = Plan::new(&m, &m.params, &m.drawn).expect("it can be planned");
    assert_eq!(plan.blocks().len(), 1);
    let seen = check_sweep(
        "rolling gear",
        &m,
        Forms::Closed,
        drive,
        &over(&m, drive, 0.7, 300),
    );
    assert_eq!((seen.good, seen.missed), (300, 0));
}

/// Andrews' squeezing mechanism: test set for initial value problem solvers (CWI, Bari); Hairer and Wanner, Solving Ordinary Differential
/// Equations II, VI.9. Joints F, E, D, G, H in mm at the published start, and at crank angles from there (three circles intersected).
#[test]
fn the_squeezer_against_published_joints() {
    let (a, b) = ([-69.34, -2.27], [-36.35, 32.73]);
    let start = [
        [6.986_674_115_45, -0.431_723_064_569],
        [-20.960_022_346_4, 1.295_169_193_71],
        [-10.472_393_888_8, 25.357_788_530_3],
        [-33.997_203_885_8, 16.461_971_675],
        [-31.633_134_507_4, -15.618_868_668_3],
    ];
    let mut s = Shop::new();
    let (_, f, drive) = s.crank([0.0; 2], 7.0, -0.061_713_890_014_276_45);
    let plate = s.turning(b, start[1]);
    let [e, d] = [[35.0, 0.0, 0.0], [18.0, 20.0, 0.0]].map(|own| s.m.anchor(plate, 0, own));
    let bar = |s: &mut Shop, a, b, length| {
        let to = s.at(b);
        let body = s.hung(a, to);
        let end = s.m.anchor(body, 0, [length, 0.0, 0.0]);
        s.pin(end, b);
    };
    bar(&mut s, f, e, 28.0);
    let [g, h] = [start[3], start[4]].map(|at| {
        let lever = s.turning(a, at);
        let end = s.m.anchor(lever, 0, [40.0, 0.0, 0.0]);
        bar(&mut s, e, end, 20.0);
        end
    });
    let m = s.done();
    let plan = Plan::new(&m, &m.params, &m.drawn).expect("it can be planned");
    assert!(plan.blocks().is_empty());
    let published = [
        (
            0.5,
            [
                [6.143_077_933_23, 3.355_978_770_23],
                [-21.750_775_129_2, 0.920_211_676_74],
                [-10.664_805_310_3, 24.713_094_502_8],
                [-34.099_088_524_3, 16.652_953_214_6],
                [-31.888_704_375_5, -16.319_927_261_1],
            ],
        ),
        (
            3.0,
            [
                [-6.929_947_476_2, 0.987_840_056_419],
                [-34.744_068_057_2, -2.233_137_482_14],
                [-15.545_156_439_6, 15.666_633_262_2],
                [-34.720_284_415_6, 17.766_848_376_3],
                [-34.677_663_909_5, -22.233_027_244_1],
            ],
        ),
        (
            4.5,
            [
                [-1.475_570_596_02, -6.842_710_823_66],
                [-28.957_292_893_9, -1.480_347_581_45],
                [-12.999_266_298_9, 19.360_511_018_7],
                [-34.673_294_059_5, 17.685_437_836_2],
                [-33.919_666_950_2, -20.854_940_318_5],
            ],
        ),
    ];
    let wants: Vec<Want> = [f, e, d, g, h].map(Want::Place).to_vec();
    let sweep = plan
        .sweep(&m.params, &[drive], &wants)
        .expect("it is small");
    let values: Vec<f64> = (0..=4600).map(|i| f64::from(i) * 1e-3).collect();
    let mut track = Track::new();
    sweep
        .run(&m.drawn, &[&values], &mut track)
        .expect("the start is good");
    assert!(track.missed().is_empty());
    for (angle, joints) in published {
        let pose = values
            .iter()
            .position(|v| (v - angle).abs() < 1e-9)
            .expect("it is in the sweep");
        for (want, joint) in joints.iter().enumerate() {
            let at = track.place(pose, want);
            let off = (at[0] - joint[0]).hypot(at[1] - joint[1]);
            assert!(off < 1e-8, "joint {want} at {angle}: {off:e} mm");
        }
    }
}

fn parallelogram(third: bool) -> (Mechanism, ParamId) {
    let mut s = Shop::new();
    let (_, pin, drive) = s.crank([0.0; 2], 30.0, 0.8);
    let second = s.turning([100.0, 0.0], polar([100.0, 0.0], 30.0, 0.8));
    let end = s.carry(second, polar([100.0, 0.0], 30.0, 0.8));
    let coupler = s.bar(pin, end);
    if third {
        let lever = s.turning([50.0, 10.0], polar([50.0, 10.0], 30.0, 0.8));
        let top = s.carry(lever, polar([50.0, 10.0], 30.0, 0.8));
        let own = s.carry(coupler, polar([50.0, 10.0], 30.0, 0.8));
        s.pin(top, own);
    }
    (s.done(), drive)
}

#[test]
fn a_third_crank_repeats_and_is_checked() {
    let (mut m, drive) = parallelogram(true);
    let plan = Plan::new(&m, &m.params, &m.drawn).expect("it can be planned");
    assert_eq!(plan.repeated().len(), 1);
    for forms in [Forms::Closed, Forms::NewtonOnly] {
        let seen = check_sweep("three cranks", &m, forms, drive, &over(&m, drive, 1.8, 300));
        assert_eq!((seen.good, seen.missed), (300, 0), "{forms:?}");
    }
    // One dimension off by a hundredth: the third crank no longer fits, and no pose passes for good.
    let sweep = {
        let dimension = m.anchors[m.anchors.len() - 2].u;
        let mut base = m.params.clone();
        base[dimension] += 0.01;
        m.params.clone_from(&base);
        plan.sweep(&base, &[drive], &[]).expect("it is small")
    };
    let mut track = Track::new();
    let values = over(&m, drive, 1.8, 100);
    sweep
        .run(&m.drawn, &[&values], &mut track)
        .expect("closed forms need no start");
    assert_eq!(track.missed().len(), 100);
}

#[test]
fn a_change_point_is_never_passed_unseen() {
    let (m, drive) = parallelogram(false);
    for count in [37, 100, 360, 1000, 5000] {
        for forms in [Forms::Closed, Forms::NewtonOnly] {
            let plan = Plan::with(&m, &m.params, &m.drawn, forms).expect("it can be planned");
            let values = over(&m, drive, TAU, count);
            let sweep = plan.sweep(&m.params, &[drive], &[]).expect("it is small");
            let mut track = Track::new();
            sweep
                .run(&m.drawn, &[&values], &mut track)
                .expect("the start is good");
            // In line at π and at 2π: the pose before or after is missed each time.
            for place in [PI, TAU] {
                let next = values
                    .iter()
                    .position(|v| *v > place)
                    .expect("it is passed");
                let near = (next.saturating_sub(2)..(next + 2).min(count)).any(|i| !track.good(i));
                assert!(near, "{count} {forms:?} at {place}");
            }
        }
    }
}

#[test]
fn beyond_a_dead_centre_all_is_missed() {
    // Driven by the rocker, a crank-rocker stops at a dead centre.
    let (m, _) = crank_rocker();
    let mut m = m;
    let (crank, rocker) = (1, 2);
    let Some(Constraint::Angle { body, angle, .. }) = m.constraints.iter_mut().find_map(|c| {
        if let Constraint::Angle { .. } = c {
            Some(*c)
        } else {
            None
        }
    }) else {
        panic!("it has a drive")
    };
    assert_eq!(body, crank);
    for c in &mut m.constraints {
        if let Constraint::Angle { body, .. } = c {
            *body = rocker;
        }
    }
    m.params[angle] = m.drawn[rocker].angle;
    for way in [1.5, -1.5] {
        let mut to = m.params.clone();
        to[angle] += way;
        let followed = follow(
            &m,
            &State {
                params: m.params.clone(),
                poses: m.drawn.clone(),
            },
            &to,
        );
        assert!(matches!(followed.ended, Ended::DeadCentre { .. }));
        let values = over(&m, angle, way, 2000);
        for forms in [Forms::Closed, Forms::NewtonOnly] {
            let plan = Plan::with(&m, &m.params, &m.drawn, forms).expect("it can be planned");
            let sweep = plan.sweep(&m.params, &[angle], &[]).expect("it is small");
            let mut track = Track::new();
            sweep
                .run(&m.drawn, &[&values], &mut track)
                .expect("the start is good");
            let first = track.missed()[0];
            let reach = (followed.share * 2000.0) as usize;
            assert!(
                first <= reach && first + 20 > reach,
                "{first} of {reach}, {forms:?}"
            );
            assert_eq!(track.missed().len(), 2000 - first, "{forms:?}");
        }
    }
}

#[test]
fn there_and_back_again() {
    let (m, drive) = crank_rocker();
    let there = over(&m, drive, 3.0 * TAU, 3000);
    let values: Vec<f64> = there
        .iter()
        .copied()
        .chain(there.iter().rev().copied())
        .collect();
    let wants = shop::all_poses(&m);
    for forms in [Forms::Closed, Forms::NewtonOnly] {
        let plan = Plan::with(&m, &m.params, &m.drawn, forms).expect("it can be planned");
        let sweep = plan
            .sweep(&m.params, &[drive], &wants)
            .expect("it is small");
        let mut track = Track::new();
        sweep
            .run(&m.drawn, &[&values], &mut track)
            .expect("the start is good");
        assert!(track.missed().is_empty());
        for i in 0..3000 {
            let (out, back) = (
                shop::poses_of(&m, &track, i),
                shop::poses_of(&m, &track, 5999 - i),
            );
            assert!(apart(&out, &back, 100.0) < 1e-11, "pose {i} {forms:?}");
        }
    }
}

#[test]
fn the_bits_do_not_depend_on_threads() {
    let (m, drive) = crank_rocker();
    let values = over(&m, drive, TAU, 20_000);
    for forms in [Forms::Closed, Forms::NewtonOnly] {
        let plan = Plan::with(&m, &m.params, &m.drawn, forms).expect("it can be planned");
        let sweep = plan
            .sweep(&m.params, &[drive], &shop::all_poses(&m))
            .expect("it is small");
        let tracks = [1, 2, 3, 7].map(|threads| {
            let pool = rayon::ThreadPoolBuilder::new()
                .num_threads(threads)
                .build()
                .expect("threads");
            let mut track = Track::new();
            pool.install(|| sweep.run(&m.drawn, &[&values], &mut track))
                .expect("the start is good");
            track
        });
        for column in 0..15 {
            for pose in 0..values.len() {
                let bits = tracks[0].value(pose, column).to_bits();
                assert!(
                    tracks
                        .iter()
                        .all(|t| t.value(pose, column).to_bits() == bits),
                    "{pose} {column}"
                );
            }
        }
    }
}

#[test]
fn what_stays_free_is_named() {
    let mut s = Shop::new();
    let (_, pin, _) = s.crank([0.0; 2], 20.0, 0.4);
    let loose = s.hung(pin, [50.0, 30.0]);
    let m = s.m;
    assert_eq!(
        Plan::new(&m, &m.params, &m.drawn).err(),
        Some(PlanError::Free {
            bodies: vec![loose]
        })
    );
    let (mut m, _) = crank_rocker();
    m.constraints
        .retain(|c| !matches!(c, Constraint::Angle { .. }));
    assert_eq!(
        Plan::new(&m, &m.params, &m.drawn).err(),
        Some(PlanError::Free {
            bodies: vec![1, 2, 3]
        })
    );
}

#[test]
fn a_drawing_at_a_dead_centre_is_refused() {
    let mut s = Shop::new();
    let (_, pin, _) = s.crank([0.0; 2], 20.0, 0.0);
    let rocker = s.turning([120.0, 0.0], [80.0, 0.0]);
    let end = s.carry(rocker, [80.0, 0.0]);
    s.bar(pin, end);
    let m = s.m;
    for forms in [Forms::Closed, Forms::NewtonOnly] {
        let e = Plan::with(&m, &m.params, &m.drawn, forms).err();
        assert!(
            matches!(
                e,
                Some(
                    PlanError::DeadCentre { .. }
                        | PlanError::Special { .. }
                        | PlanError::Free { .. }
                )
            ),
            "{e:?}"
        );
    }
}

#[test]
fn bad_numbers_are_refused() {
    let (m, drive) = crank_rocker();
    let mut params = m.params.clone();
    params[drive] = f64::NAN;
    assert_eq!(
        Plan::new(&m, &params, &m.drawn).err(),
        Some(PlanError::BadNumbers)
    );
    assert_eq!(
        Plan::new(&m, &m.params[..3], &m.drawn).err(),
        Some(PlanError::BadNumbers)
    );
    let mut poses = m.drawn.clone();
    poses[2].x += 1.0;
    assert!(matches!(
        Plan::new(&m, &m.params, &poses).err(),
        Some(PlanError::NotClosed { .. })
    ));
    let plan = Plan::new(&m, &m.params, &m.drawn).expect("it can be planned");
    // A column that is not a number misses there and only there.
    let mut values = over(&m, drive, TAU, 300);
    values[100] = f64::NAN;
    values[200] = 1e300;
    let sweep = plan.sweep(&m.params, &[drive], &[]).expect("it is small");
    let mut track = Track::new();
    sweep
        .run(&m.drawn, &[&values], &mut track)
        .expect("closed forms need no start");
    assert_eq!(track.missed(), [100, 200]);
    assert!(sweep.run(&m.drawn, &[], &mut track).is_err());
    sweep
        .run(&m.drawn, &[&[]], &mut track)
        .expect("an empty sweep is one");
    assert!(track.is_empty() && track.missed().is_empty());
}

#[test]
fn a_start_that_is_not_good_is_told() {
    let (m, drive) = crank_rocker();
    let plan = Plan::new(&m, &m.params, &m.drawn).expect("it can be planned");
    let sweep = plan
        .sweep(&m.params, &[drive], &shop::all_poses(&m))
        .expect("it is small");
    let mut poses = m.drawn.clone();
    // The rocker's angle is counted from there; half a turn off it cannot be.
    poses[2].angle += PI;
    let values = over(&m, drive, TAU, 100);
    let mut track = Track::new();
    assert_eq!(
        sweep.run(&poses, &[&values], &mut track),
        Err(RunError::Start)
    );
}

#[test]
fn a_sweep_may_jump_back_and_stand_still() {
    // Values that do not run on: the walk between stretches has to turn round and to make steps of no length.
    let (m, drive) = crank_rocker();
    let mut values = Vec::new();
    for i in 0..900 {
        let saw = f64::from(i % 90) / 90.0 * 2.0;
        values.push(m.params[drive] + if i % 180 < 90 { saw } else { 2.0 - saw });
    }
    values.extend([m.params[drive]; 300]);
    for forms in [Forms::Closed, Forms::NewtonOnly] {
        let seen = check_sweep("saw", &m, forms, drive, &values);
        assert_eq!((seen.good, seen.missed), (1200, 0), "{forms:?}");
    }
}
