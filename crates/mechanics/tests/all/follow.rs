//! Following: the branch is kept, dead centres are found and named, change points are passed straight through, and a machine that
//! cannot be followed says why.

use crate::common::{Random, four_bar};
use mechanics::model::{Anchor, Constraint, ParamId, Pose};
use mechanics::{Ended, Followed, Mechanism, NotClosed, State, follow};
use std::f64::consts::{PI, TAU};

fn drawn(m: &Mechanism) -> State {
    State {
        params: m.params.clone(),
        poses: m.drawn.clone(),
    }
}

fn go(m: &Mechanism, from: &State, drive: ParamId, to: f64) -> Followed {
    let mut params = from.params.clone();
    params[drive] = to;
    follow(m, from, &params)
}

fn reached(m: &Mechanism, from: &State, drive: ParamId, to: f64) -> State {
    let f = go(m, from, drive, to);
    assert_eq!(f.ended, Ended::Reached, "at {} of the way", f.share);
    assert_eq!(f.share, 1.0);
    f.state
}

fn apart(a: &[Pose], b: &[Pose]) -> f64 {
    let far = |(p, q): (&Pose, &Pose)| {
        (p.x - q.x)
            .abs()
            .max((p.y - q.y).abs())
            .max(100.0 * (p.angle - q.angle).abs())
    };
    a.iter().zip(b).map(far).fold(0.0, f64::max)
}

/// A crank-rocker, its crank the shortest bar; `slack` is what its shortest and longest fall short of the other two.
fn crank_rocker(r: &mut Random, slack: f64) -> [f64; 4] {
    loop {
        let (a, b, c) = (
            r.between(20.0, 60.0),
            r.between(60.0, 140.0),
            r.between(60.0, 140.0),
        );
        let e = b + c - a - slack;
        if e > b.max(c) && a < b.min(c) {
            return [a, b, c, e];
        }
    }
}

/// Whether the coupler's far end lies to the left of the way from the crank pin to the rocker's centre.
fn is_open(poses: &[Pose], [_, b, _, e]: [f64; 4]) -> bool {
    let (q, t) = (poses[2], poses[2].angle);
    (e - q.x) * b * t.sin() + q.y * b * t.cos() > 0.0
}

#[test]
fn the_branch_is_kept_round_and_round_and_back() {
    let mut r = Random::new(11);
    for i in 0..120 {
        // From roomy ones to ones that all but fold at the change point.
        let slack = 30.0 * 10.0_f64.powi(-(i % 8));
        let bars = crank_rocker(&mut r, slack);
        for open in [true, false] {
            let mut m = four_bar(bars, 1.0, open).expect("a crank-rocker closes anywhere");
            let drive = m.hold_angle(1, 0);
            let start = reached(&m, &drawn(&m), drive, 1.0);
            let mut at = start.clone();
            for to in [1.0 + 0.9, 1.0 + TAU, 1.0 + 3.0 * TAU, -4.0, 1.0] {
                at = reached(&m, &at, drive, to);
                assert_eq!(is_open(&at.poses, bars), open, "{bars:?} at {to}");
            }
            assert!(
                apart(&at.poses, &start.poses) < 1e-9,
                "{bars:?} {}",
                apart(&at.poses, &start.poses)
            );
        }
    }
}

/// Two like linkages on one crank shaft come to the place where they could jump at the same time, and keep an even number of
/// signs together.
#[test]
fn twins_do_not_jump_together() {
    let mut r = Random::new(13);
    for i in 0..40 {
        let bars = crank_rocker(&mut r, 3.0 * 10.0_f64.powi(-(i % 6)));
        let mut m = four_bar(bars, 1.0, true).expect("closes");
        let twin = four_bar(bars, 1.0, i % 2 == 0).expect("closes");
        let (anchors, params) = (m.anchors.len(), m.params.len());
        m.bodies.extend(&twin.bodies[1..]);
        m.drawn.extend(&twin.drawn[1..]);
        m.params.extend(&twin.params);
        for a in &twin.anchors {
            let body = if a.body == 0 { 0 } else { a.body + 3 };
            m.anchors.push(Anchor {
                body,
                plane: 0,
                u: a.u + params,
                v: a.v + params,
                w: a.w + params,
            });
        }
        for c in &twin.constraints {
            let Constraint::Pin { a, b } = *c else {
                panic!("a four-bar has pins")
            };
            m.constrain(Constraint::Pin {
                a: a + anchors,
                b: b + anchors,
            });
        }
        let drive = m.hold_angle(1, 0);
        m.hold_angle(4, 1);
        let mut at = drawn(&m);
        for to in [1.0 + TAU, -3.0, 1.0] {
            at = reached(&m, &at, drive, to);
            assert!(is_open(&at.poses, bars), "{bars:?}");
            assert_eq!(is_open(&at.poses[3..], bars), i % 2 == 0, "{bars:?}");
        }
    }
}

#[test]
fn dead_centres_are_found_to_a_billionth() {
    let mut r = Random::new(12);
    let mut found = 0;
    while found < 150 {
        let [a, b, c, e] = [(); 4].map(|()| r.between(30.0, 120.0));
        // The crank is stopped where coupler and rocker stand in line, stretched or folded.
        let cos = |reach: f64| (a * a + e * e - reach * reach) / (2.0 * a * e);
        let (stretched, folded) = (cos(b + c), cos(b - c));
        if stretched.abs() > 0.98
            || (folded.abs() < 1.03 && folded.abs() > 0.97)
            || (a - e).abs() < 2.0
        {
            continue;
        }
        let middle = if folded.abs() < 1.0 {
            0.5 * (folded.acos() + stretched.acos())
        } else {
            0.4 * stretched.acos()
        };
        let Some(mut m) = four_bar([a, b, c, e], middle, found % 2 == 0) else {
            continue;
        };
        let drive = m.hold_angle(1, 0);
        let low = if folded.abs() < 1.0 {
            folded.acos()
        } else {
            -stretched.acos()
        };
        for (to, want) in [
            (middle + 2.0 * PI, stretched.acos()),
            (middle - 2.0 * PI, low),
        ] {
            let f = go(&m, &drawn(&m), drive, to);
            let Ended::DeadCentre { folding } = &f.ended else {
                panic!("{:?} at {}", f.ended, f.share)
            };
            let off = f.state.params[drive] - want;
            assert!(off.abs() < 1e-9, "{a} {b} {c} {e}: {off:e}");
            let left = m
                .residuals(&f.state.params, &f.state.poses)
                .into_iter()
                .fold(0.0, |m: f64, r| m.max(r.abs()));
            assert!(left < 1e-10 * m.size(&m.params), "{left:e}");
            // What folds there is coupler and rocker, not the crank.
            assert!(
                folding[1].iter().all(|x| x.abs() < 1e-6) && folding[3][2].abs() > 1e-3,
                "{folding:?}"
            );
        }
        found += 1;
    }
}

#[test]
fn a_target_just_before_a_dead_centre_or_on_it_is_reached() {
    // Chebyshev's proportions: the crank's dead centre is where it forms the 4-3-5 triangle.
    let mut m = four_bar([125.0, 50.0, 125.0, 100.0], 1.0, false).expect("closes");
    let drive = m.hold_angle(1, 0);
    let dead = 0.8_f64.acos();
    for before in [1e-3, 1e-6, 1e-8, 1e-10, 1e-12, 0.0] {
        let state = reached(&m, &drawn(&m), drive, dead + before);
        assert_eq!(state.params[drive], dead + before);
        let left = m
            .residuals(&state.params, &state.poses)
            .into_iter()
            .fold(0.0, |m: f64, r| m.max(r.abs()));
        assert!(left < 1e-8, "{before:e}: {left:e}");
    }
    for beyond in [1e-10, 1e-6, 1e-3] {
        let f = go(&m, &drawn(&m), drive, dead - beyond);
        assert!(
            matches!(f.ended, Ended::DeadCentre { .. }),
            "{beyond:e}: {:?}",
            f.ended
        );
        assert!((f.state.params[drive] - dead).abs() < 1e-12);
    }
}

#[test]
fn a_parallelogram_goes_straight_through_its_change_points() {
    for to in [2.5 * PI, -2.5 * PI, 7.0 * PI, -7.0 * PI] {
        for open in [true, false] {
            let mut m = four_bar([45.0, 100.0, 45.0, 100.0], 0.7, open).expect("closes");
            let drive = m.hold_angle(1, 0);
            // One of the two assemblies is the parallelogram, the other the crossed one.
            let parallel = (m.drawn[3].angle - 0.7).abs() < 1e-9;
            let turns = |s: &State| (s.poses[2].angle, s.poses[3].angle - s.poses[1].angle);
            let start = turns(&drawn(&m));
            let f = go(&m, &drawn(&m), drive, to);
            assert_eq!(f.ended, Ended::Reached, "at {}", f.share);
            let passed: Vec<i64> = f
                .change_points
                .iter()
                .filter(|s| (to / PI).fract() != 0.0 || **s < 1.0 - 1e-4)
                .map(|s| {
                    let crank = 0.7 + s * (to - 0.7);
                    assert!((crank / PI - (crank / PI).round()).abs() < 0.2, "{crank}");
                    (crank / PI).round() as i64
                })
                .collect();
            // One on which the way ends may or may not count as passed.
            let (low, high) = (0.7_f64.min(to) / PI, 0.7_f64.max(to) / PI);
            let mut all: Vec<i64> = (low.ceil() as i64..=high.floor() as i64)
                .filter(|n| *n as f64 * PI != to)
                .collect();
            if to < 0.7 {
                all.reverse();
            }
            assert_eq!(passed, all, "{to} {open}");
            if (to / PI).fract() == 0.0 {
                // It ends on a change point, where nothing says which way to go on.
                assert_eq!(go(&m, &f.state, drive, 0.7).ended, Ended::StartsSingular);
                continue;
            }
            if parallel {
                let (coupler, lag) = turns(&f.state);
                assert!(
                    (coupler - start.0).abs() < 1e-9 && (lag - start.1).abs() < 1e-9,
                    "{to}"
                );
            } else {
                // Still crossed: bars of equal length that do not stand parallel.
                assert!(
                    (f.state.poses[3].angle - f.state.poses[1].angle)
                        .sin()
                        .abs()
                        > 1e-3
                );
            }
            let back = reached(&m, &f.state, drive, 0.7);
            assert!(
                apart(&back.poses, &m.drawn) < 1e-7,
                "{}",
                apart(&back.poses, &m.drawn)
            );
        }
    }
}

#[test]
fn a_change_point_itself_can_be_reached() {
    let mut m = four_bar([45.0, 100.0, 45.0, 100.0], 0.7, true).expect("closes");
    let drive = m.hold_angle(1, 0);
    for to in [PI, TAU, 0.0, -PI] {
        let f = go(&m, &drawn(&m), drive, to);
        assert_eq!(f.ended, Ended::Reached, "{to}: {}", f.share);
        assert!(
            (f.state.poses[3].angle - to).abs() < 1e-6,
            "{to}: {}",
            f.state.poses[3].angle
        );
    }
}

/// Slider-crank driven by its slide, drawn with the crank at `crank`.
fn driven_by_slide(crank: f64) -> (Mechanism, ParamId) {
    let (r, l) = (40.0, 120.0);
    let mut m = Mechanism::new();
    let pin = [r * crank.cos(), r * crank.sin()];
    let x = pin[0] + (l * l - pin[1] * pin[1]).sqrt();
    let (c, rod, ram) = (
        m.link(0, [0.0; 2], pin),
        m.link(0, pin, [x, 0.0]),
        m.body(0, [x, 0.0], 0.0),
    );
    let fixed = m.anchor(0, 0, [0.0; 3]);
    let [c0, c1, r0, r1, s] = [(c, 0.0), (c, r), (rod, 0.0), (rod, l), (ram, 0.0)]
        .map(|(b, u)| m.anchor(b, 0, [u, 0.0, 0.0]));
    for (a, b) in [(fixed, c0), (c1, r0), (r1, s)] {
        m.constrain(Constraint::Pin { a, b });
    }
    let [direction, offset, distance] = [0.0, 0.0, x].map(|v| m.param(v));
    m.constrain(Constraint::OnLine {
        pin: s,
        through: fixed,
        direction,
        offset,
    });
    m.hold_angle(ram, 0);
    m.constrain(Constraint::Along {
        pin: s,
        through: fixed,
        direction,
        distance,
    });
    (m, distance)
}

#[test]
fn drawn_at_a_dead_centre_there_is_no_way_on() {
    let (m, drive) = driven_by_slide(0.0);
    assert_eq!(
        go(&m, &drawn(&m), drive, 150.0).ended,
        Ended::StartsSingular
    );
    // Driven by its crank the same drawing is nothing special.
    let (mut m, _) = driven_by_slide(0.0);
    m.constraints.pop();
    let drive = m.hold_angle(1, 0);
    reached(&m, &drawn(&m), drive, 3.0);
}

#[test]
fn stroke_ends_are_dead_centres_of_the_slide() {
    let (m, drive) = driven_by_slide(1.0);
    for (to, want) in [(500.0, 160.0), (-500.0, 80.0)] {
        let f = go(&m, &drawn(&m), drive, to);
        assert!(matches!(f.ended, Ended::DeadCentre { .. }), "{:?}", f.ended);
        assert!(
            (f.state.params[drive] - want).abs() < 1e-9,
            "{}",
            f.state.params[drive]
        );
    }
}

#[test]
fn a_drive_on_a_locked_machine_says_so() {
    let mut m = four_bar([40.0, 120.0, 80.0, 100.0], 1.0, true).expect("closes");
    // A brace between crank and rocker.
    let ends = [
        m.anchor(1, 0, [30.0, 0.0, 0.0]),
        m.anchor(3, 0, [50.0, 0.0, 0.0]),
    ];
    m.rod(ends[0], ends[1]);
    let drive = m.hold_angle(1, 0);
    let locked = m.constraints.len() - 1;
    let f = go(&m, &drawn(&m), drive, 1.5);
    let Ended::NotClosed(NotClosed::Disagrees { constraint, .. }) = f.ended else {
        panic!("{:?}", f.ended)
    };
    assert_eq!(constraint, locked);
    assert!(f.share < 1e-6, "{}", f.share);
    assert!((f.state.params[drive] - 1.0).abs() < 1e-5);
    // Left where it stands it is at rest.
    reached(&m, &drawn(&m), drive, 1.0);
}

#[test]
fn two_drives_on_one_freedom_are_followed_while_they_agree() {
    let mut m = four_bar([45.0, 100.0, 45.0, 100.0], 0.7, true).expect("closes");
    let drives = [m.hold_angle(1, 0), m.hold_angle(3, 0)];
    let mut to = m.params.clone();
    for d in drives {
        to[d] = 1.9;
    }
    assert_eq!(follow(&m, &drawn(&m), &to).ended, Ended::Reached);
    to[drives[1]] = 1.8;
    let f = follow(&m, &drawn(&m), &to);
    assert!(
        matches!(
            f.ended,
            Ended::NotClosed(NotClosed::Disagrees { constraint: 5, .. })
        ),
        "{:?}",
        f.ended
    );
}

/// A block where two slots cross, one of which is turned until they are parallel: it runs away, and following does not run after it.
#[test]
fn what_runs_away_is_given_up() {
    let mut m = Mechanism::new();
    let block = m.body(0, [50.0, 0.0], 0.0);
    m.hold_angle(block, 0);
    let pin = m.anchor(block, 0, [0.0; 3]);
    let low = m.anchor(0, 0, [0.0; 3]);
    let high = m.anchor(0, 0, [0.0, 50.0, 0.0]);
    let [flat, turned, offset, other] = [0.0, -PI / 4.0, 0.0, 0.0].map(|x| m.param(x));
    m.constrain(Constraint::OnLine {
        pin,
        through: low,
        direction: flat,
        offset,
    });
    m.constrain(Constraint::OnLine {
        pin,
        through: high,
        direction: turned,
        offset: other,
    });
    let state = reached(&m, &drawn(&m), turned, -0.1);
    assert!((state.poses[1].x - 50.0 / 0.1_f64.tan()).abs() < 1e-9);
    for to in [0.0, 0.3] {
        let f = go(&m, &drawn(&m), turned, to);
        assert_eq!(f.ended, Ended::Lost);
        assert!(f.state.params[turned] < 0.0 && f.state.params[turned] > -0.01);
    }
}

#[test]
fn a_loose_machine_says_how_loose() {
    let mut m = four_bar([40.0, 120.0, 80.0, 100.0], 1.0, true).expect("closes");
    let to = m.params.clone();
    assert_eq!(
        follow(&m, &drawn(&m), &to).ended,
        Ended::NotClosed(NotClosed::Loose { freedoms: 1 })
    );
    m.body(0, [10.0, 10.0], 0.0);
    assert_eq!(
        follow(&m, &drawn(&m), &to).ended,
        Ended::NotClosed(NotClosed::Loose { freedoms: 4 })
    );
}

#[test]
fn a_drawing_that_does_not_close_says_so() {
    let mut m = four_bar([40.0, 120.0, 80.0, 100.0], 1.0, true).expect("closes");
    let drive = m.hold_angle(1, 0);
    // A coupler far too short.
    let u = m.anchors[6].u;
    m.params[u] = 2.0;
    assert!(matches!(
        go(&m, &drawn(&m), drive, 1.1).ended,
        Ended::NotClosed(NotClosed::NotSettled { .. })
    ));
}

#[test]
fn what_is_no_number_is_refused() {
    let mut m = four_bar([40.0, 120.0, 80.0, 100.0], 1.0, true).expect("closes");
    let drive = m.hold_angle(1, 0);
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300] {
        let f = go(&m, &drawn(&m), drive, bad);
        assert!(f.ended != Ended::Reached, "{bad}");
        assert!(f.state.poses.iter().all(|p| p.angle.is_finite()), "{bad}");
        let mut from = drawn(&m);
        from.params[m.anchors[5].u] = bad;
        assert!(
            follow(&m, &from, &m.params).ended != Ended::Reached,
            "{bad}"
        );
        let mut from = drawn(&m);
        from.poses[2].x = bad;
        let f = follow(&m, &from, &m.params);
        assert!(
            f.ended != Ended::Reached || f.state.poses[2].x.is_finite(),
            "{bad}"
        );
    }
}

#[test]
fn nothing_to_move_is_nothing_to_do() {
    let m = Mechanism::new();
    let f = follow(&m, &drawn(&m), &[]);
    assert_eq!((f.ended, f.share), (Ended::Reached, 1.0));
    let mut m = four_bar([40.0, 120.0, 80.0, 100.0], 1.0, true).expect("closes");
    let drive = m.hold_angle(1, 0);
    let f = go(&m, &drawn(&m), drive, 1.0);
    assert_eq!((f.ended, f.share), (Ended::Reached, 1.0));
    assert!(apart(&f.state.poses, &m.drawn) < 1e-12);
}

/// Cranks of one throw on the frame at these places, all on one coupler: each beyond the second repeats what the first two fix.
/// Crank `i` is body `i + 1`, the coupler the last; all cranks are drawn at `angle`.
fn side_rods(centres: &[[f64; 2]], throw: f64, angle: f64) -> (Mechanism, ParamId) {
    let mut m = Mechanism::new();
    let cranks: Vec<_> = centres.iter().map(|c| m.body(0, *c, angle)).collect();
    let pin = [throw * angle.cos(), throw * angle.sin()];
    let coupler = m.body(0, [centres[0][0] + pin[0], centres[0][1] + pin[1]], 0.0);
    for (crank, c) in cranks.iter().zip(centres) {
        let fixed = m.anchor(0, 0, [c[0], c[1], 0.0]);
        let centre = m.anchor(*crank, 0, [0.0; 3]);
        let pin = m.anchor(*crank, 0, [throw, 0.0, 0.0]);
        let hole = [c[0] - centres[0][0], c[1] - centres[0][1], 0.0];
        let hole = m.anchor(coupler, 0, hole);
        m.constrain(Constraint::Pin {
            a: fixed,
            b: centre,
        });
        m.constrain(Constraint::Pin { a: pin, b: hole });
    }
    let drive = m.hold_angle(1, 0);
    (m, drive)
}

const TRIANGLE: [[f64; 2]; 3] = [[0.0, 0.0], [100.0, 0.0], [50.0, 80.0]];
const IN_LINE: [[f64; 2]; 3] = [[0.0, 0.0], [100.0, 0.0], [200.0, 0.0]];

/// How far the cranks are from standing alike, and the coupler from not turning.
fn out_of_step(state: &State) -> f64 {
    let last = state.poses.len() - 1;
    let crank = state.poses[1].angle;
    let cranks = state.poses[2..last].iter().map(|p| (p.angle - crank).abs());
    cranks.fold(state.poses[last].angle.abs(), f64::max)
}

#[test]
fn a_third_crank_that_agrees_disturbs_nothing() {
    for angle in [0.0, 0.7, PI / 2.0, 2.0, -3.0] {
        let (m, drive) = side_rods(&TRIANGLE, 40.0, angle);
        for to in [angle + TAU, angle - TAU, angle + 7.0, angle + 0.5 * PI] {
            let f = go(&m, &drawn(&m), drive, to);
            assert_eq!(f.ended, Ended::Reached, "from {angle} to {to}: {}", f.share);
            assert_eq!(f.change_points, [], "from {angle} to {to}");
            assert!(out_of_step(&f.state) < 1e-9, "{}", out_of_step(&f.state));
            assert!((f.state.poses[1].angle - to).abs() < 1e-12);
        }
    }
}

#[test]
fn side_rods_in_line_go_straight_through_their_change_points() {
    for angle in [0.7, PI / 2.0, -2.0] {
        let (m, drive) = side_rods(&IN_LINE, 40.0, angle);
        for to in [angle + TAU, angle - TAU, angle + 7.0] {
            let f = go(&m, &drawn(&m), drive, to);
            assert_eq!(f.ended, Ended::Reached, "from {angle} to {to}: {}", f.share);
            let crossed: Vec<i64> = f
                .change_points
                .iter()
                .map(|s| ((angle + s * (to - angle)) / PI).round() as i64)
                .collect();
            let (low, high) = (angle.min(to) / PI, angle.max(to) / PI);
            let mut all: Vec<i64> = (low.ceil() as i64..=high.floor() as i64).collect();
            if to < angle {
                all.reverse();
            }
            assert_eq!(crossed, all, "from {angle} to {to}");
            assert!(out_of_step(&f.state) < 1e-9, "{}", out_of_step(&f.state));
        }
    }
}

/// From a pose on a change point, or so near that nothing tells on which side it stands, the other assembly is never taken.
#[test]
fn from_a_change_point_the_other_assembly_is_never_taken() {
    let mut parallelogram = four_bar([45.0, 100.0, 45.0, 100.0], 0.7, true).expect("closes");
    let drive = parallelogram.hold_angle(1, 0);
    let side = side_rods(&IN_LINE, 40.0, 0.7);
    for (m, drive) in [(parallelogram, drive), side] {
        let lag = |s: &State| (s.poses[3].angle - s.poses[1].angle).abs();
        let lag = if m.bodies.len() == 4 {
            lag
        } else {
            out_of_step
        };
        for off in [
            0.0, 1e-13, 1e-11, 1e-10, 1e-9, 1e-8, 1e-7, 3e-7, 1e-6, 1e-5, 1e-4,
        ] {
            for near in [PI - off, PI + off, -off, off] {
                let f = go(&m, &drawn(&m), drive, near);
                assert_eq!(f.ended, Ended::Reached);
                assert!(lag(&f.state) < 1e-6, "{near}: {}", lag(&f.state));
                for to in [0.7, 2.5, near + 1.0, near - 1.0, near + 7.0, near - 7.0] {
                    let on = go(&m, &f.state, drive, to);
                    match on.ended {
                        Ended::Reached => {
                            assert!(lag(&on.state) < 1e-6, "{near} to {to}: {}", lag(&on.state));
                        }
                        Ended::StartsSingular => assert!(off <= 1e-6, "{off}"),
                        other => panic!("{off:e} {near} to {to}: {other:?}"),
                    }
                }
            }
        }
    }
}
