//! Cams against published peaks and closed forms (checks/cams.json), and against laws that any cam keeps.

use elements::cams::{
    Follower, Law, Motion, Piece, Program, Side, Spline, least_base, offset_curve, smallest, survey,
};
use serde_json::Value;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

fn number(case: &Value, key: &str) -> f64 {
    case["inputs"][key]
        .as_f64()
        .unwrap_or_else(|| panic!("{key} of {case}"))
}

/// A rise over an angle from zero, a dwell, and a return as long as the rise.
fn rise(law: Law, lift: f64, over: f64) -> Program {
    let dwell = |over| Piece {
        over,
        to: lift,
        law,
    };
    Program::of_pieces(vec![
        Piece {
            over,
            to: lift,
            law,
        },
        dwell(PI - over),
        Piece { over, to: 0.0, law },
        Piece {
            over: PI - over,
            to: 0.0,
            law,
        },
    ])
    .unwrap()
}

/// The program of a case: its lift is `h` mm or `swing_deg`.
fn program(case: &Value) -> Program {
    let law = Law::named(case["inputs"]["law"].as_str().unwrap()).unwrap();
    let lift = case["inputs"]
        .get("swing_deg")
        .map_or_else(|| number(case, "h"), |s| s.as_f64().unwrap().to_radians());
    rise(law, lift, number(case, "B_deg").to_radians())
}

fn follower(case: &Value) -> Follower {
    let inputs = &case["inputs"];
    let roller = number(case, "Rf");
    match inputs["follower"].as_str() {
        Some("oscillating roller") => Follower::Rocker {
            hand: 1.0,
            centres: number(case, "C"),
            arm: number(case, "l"),
            pitch: number(case, "Rp"),
            roller,
        },
        _ => Follower::InLine {
            pitch: inputs
                .get("Rp")
                .map_or_else(|| number(case, "Rb") + roller, |r| r.as_f64().unwrap()),
            offset: number(case, "offset"),
            roller,
        },
    }
}

/// What our code says for each expected name, or for the one value.
fn answer(case: &Value, name: &str) -> f64 {
    let inputs = &case["inputs"];
    let theta = || number(case, "theta_deg").to_radians();
    let place = || {
        let program = program(case);
        follower(case).place(theta(), program.at(theta()))
    };
    // Over the rise only.
    let worst = || {
        let over = number(case, "B_deg").to_radians();
        let dwell = TAU - over;
        let law = Law::named(inputs["law"].as_str().unwrap()).unwrap();
        let up = Program::of_pieces(vec![
            Piece {
                over,
                to: number(case, "h"),
                law,
            },
            // So slow a return that the rise is the worst.
            Piece {
                over: dwell,
                to: 0.0,
                law: Law::Polynomial345,
            },
        ])
        .unwrap();
        survey(follower(case), &up).unwrap()
    };
    let law = || Law::named(inputs["law"].as_str().unwrap()).unwrap();
    match name {
        "Cv" => law().peaks().velocity,
        "Ca" => law().peaks().acceleration,
        "Cj" => law().peaks().jerk,
        "s" => place().motion.lift,
        "psi_deg" => {
            let Follower::Rocker {
                centres,
                arm,
                pitch,
                ..
            } = follower(case)
            else {
                panic!("{case}")
            };
            let start =
                ((centres * centres + arm * arm - pitch * pitch) / (2.0 * centres * arm)).acos();
            (start + place().motion.lift).to_degrees()
        }
        "pressure_angle_deg" => place().pressure.to_degrees(),
        "rho_pitch" => place().radius,
        "rho_cam" => place().flank_radius(Side::Inner, number(case, "Rf")),
        "max_pressure_angle_deg" => worst().steepest.pressure.to_degrees(),
        "at_deg" => worst().steepest.angle.to_degrees(),
        "min_convex_rho_pitch" => worst().sharpest.unwrap().radius,
        "at2_deg" => worst().sharpest.unwrap().angle.to_degrees(),
        "undercut" => f64::from(u8::from(worst().undercut(number(case, "Rf")))),
        "Rp_where_rho_min_equals_Rf" => {
            let program = program(case);
            let follower = Follower::InLine {
                pitch: 50.0,
                offset: number(case, "offset"),
                roller: number(case, "Rf"),
            };
            least_base(follower, &program, FRAC_PI_2, number(case, "Rf"))
                .unwrap()
                .unwrap()
        }
        "min_base_radius_no_undercut" => {
            let program = program(case);
            least_base(Follower::Flat { base: 10.0 }, &program, FRAC_PI_2, 0.0)
                .unwrap()
                .unwrap()
        }
        "max_contact_offset" => {
            law().peaks().velocity * number(case, "h") / number(case, "B_deg").to_radians()
        }
        other => panic!("{other} is not answered"),
    }
}

#[test]
fn published_peaks_and_closed_forms() {
    let cases: Vec<Value> =
        serde_json::from_str(include_str!("../../../../checks/cams.json")).unwrap();
    assert!(cases.len() > 30);
    for case in &cases {
        let id = case["id"].as_str().unwrap();
        let tol = case["tol"]["value"].as_f64().unwrap();
        let relative = case["tol"]["kind"] == "rel";
        let near = |name: &str, found: f64, wanted: f64| {
            let within = if relative { tol * wanted.abs() } else { tol };
            assert!(
                (found - wanted).abs() <= within,
                "{id}: {name} is {found}, not {wanted}"
            );
        };
        let law = || Law::named(case["inputs"]["law"].as_str().unwrap()).unwrap();
        match &case["expected"] {
            Value::Array(lifts) => {
                let at = case["inputs"]["u"].as_array().unwrap();
                for (u, lift) in at.iter().zip(lifts) {
                    let found = law().at(u.as_f64().unwrap()).lift;
                    near("lift", found, lift.as_f64().unwrap());
                }
            }
            Value::Object(expected) => {
                for (name, wanted) in expected {
                    let wanted = wanted
                        .as_f64()
                        .unwrap_or_else(|| f64::from(u8::from(wanted == true)));
                    // A place where a curve is flat is known as well as the root of what the value is known to.
                    let found = answer(case, name);
                    if name == "at_deg" || name == "at2_deg" {
                        assert!(
                            (found - wanted).abs() < 1e-4,
                            "{id}: {name} is {found}, not {wanted}"
                        );
                    } else {
                        near(name, found, wanted);
                    }
                }
            }
            single => {
                let at = match case["inputs"]["what"].as_str().unwrap() {
                    "crossover jerk" => 0.5,
                    _ => (1.0 - 0.6_f64.sqrt()) / 2.0,
                };
                near("jerk", law().at(at).jerk, single.as_f64().unwrap());
            }
        }
    }
}

/// Every law rises from 0 to 1 without a step, its rates are its derivatives, and nothing exceeds its peaks.
#[test]
fn laws_are_what_their_rates_say() {
    let mut laws = Law::ALL.to_vec();
    for blend in [0.02, 0.1, 0.33, 0.5] {
        laws.push(Law::ConstantVelocity { blend });
    }
    for law in laws {
        let name = law.name();
        let (start, end) = (law.at(0.0), law.at(1.0));
        assert!(
            start.lift.abs() < 1e-14 && (end.lift - 1.0).abs() < 1e-12,
            "{name}"
        );
        assert!(
            start.velocity.abs() < 1e-12 && end.velocity.abs() < 1e-12,
            "{name}"
        );
        assert_eq!(
            law.meets_a_dwell(),
            start.acceleration.abs() < 1e-9,
            "{name}"
        );
        let peaks = law.peaks();
        let (mut fastest, mut hardest, mut roughest) = (0.0_f64, 0.0_f64, 0.0_f64);
        for n in 1..2000 {
            let u = f64::from(n) / 2000.0;
            let m = law.at(u);
            let h = 1e-5;
            let (before, after) = (law.at(u - h), law.at(u + h));
            let slope = |a: f64, b: f64| (b - a) / (2.0 * h);
            assert!(
                (slope(before.lift, after.lift) - m.velocity).abs() < 1e-6 * peaks.jerk,
                "{name} at {u}"
            );
            // Jerk may step: the difference is then between two of its values.
            let limit = 1e-3 * peaks.acceleration + 2.0 * h * peaks.jerk;
            assert!(
                (slope(before.velocity, after.velocity) - m.acceleration).abs() < limit,
                "{name} at {u}"
            );
            assert!(
                after.acceleration - before.acceleration
                    <= 2.0 * h * peaks.jerk * (1.0 + 1e-6) + 1e-9,
                "{name} at {u}"
            );
            assert!(m.lift >= before.lift - 1e-12, "{name} goes back at {u}");
            fastest = fastest.max(m.velocity.abs());
            hardest = hardest.max(m.acceleration.abs());
            roughest = roughest.max(m.jerk.abs());
        }
        roughest = roughest.max(start.jerk.abs());
        for (found, peak) in [
            (fastest, peaks.velocity),
            (hardest, peaks.acceleration),
            (roughest, peaks.jerk),
        ] {
            assert!(
                found <= peak * (1.0 + 1e-9) && found > 0.97 * peak,
                "{name}: {found} of {peak}"
            );
        }
    }
}

/// The roller touches the flank and nowhere cuts it: every point of the flank is a roller's radius from the path, none nearer.
#[test]
fn a_flank_is_a_rollers_radius_from_its_path() {
    let program = rise(Law::ModifiedSine, 18.0, 1.6);
    let follower = Follower::InLine {
        pitch: 45.0,
        offset: 6.0,
        roller: 8.0,
    };
    assert!(!survey(follower, &program).unwrap().undercut(8.0));
    let at = |n: u32| {
        let angle = f64::from(n) * TAU / 720.0;
        follower.place(angle, program.at(angle))
    };
    let centres: Vec<[f64; 2]> = (0..720).map(|n| at(n).centre).collect();
    for n in (0..720).step_by(7) {
        let place = at(n);
        for side in [Side::Inner, Side::Outer] {
            let p = place.flank(side, 8.0);
            let nearest = centres
                .iter()
                .map(|c| (c[0] - p[0]).hypot(c[1] - p[1]))
                .fold(f64::INFINITY, f64::min);
            assert!((nearest - 8.0).abs() < 2e-3, "{n} {side:?} {nearest}");
        }
    }
    // A cutter as large as the roller follows the roller; a smaller one touches the same flank.
    for side in [Side::Inner, Side::Outer] {
        let same = offset_curve(follower, &program, side, 8.0, 720).unwrap();
        for (a, b) in same.iter().zip(&centres) {
            assert!((a[0] - b[0]).hypot(a[1] - b[1]) < 1e-12);
        }
        let small = offset_curve(follower, &program, side, 3.0, 720).unwrap();
        for (n, c) in (0..720).zip(&small) {
            let touched = at(n).flank(side, 8.0);
            assert!(((c[0] - touched[0]).hypot(c[1] - touched[1]) - 3.0).abs() < 1e-9);
        }
    }
}

/// Curvature and speed along the path agree with differences of the path itself.
#[test]
fn curvature_is_that_of_the_path() {
    let program = rise(Law::Polynomial4567, 0.35, 1.4);
    let follower = Follower::Rocker {
        hand: 1.0,
        centres: 90.0,
        arm: 70.0,
        pitch: 45.0,
        roller: 6.0,
    };
    for n in 0..200 {
        let angle = 0.01 + f64::from(n) * TAU / 200.0;
        let h = 1e-4;
        let [a, b, c] =
            [-h, 0.0, h].map(|d| follower.place(angle + d, program.at(angle + d)).centre);
        let place = follower.place(angle, program.at(angle));
        let chord = |p: [f64; 2], q: [f64; 2]| (p[0] - q[0]).hypot(p[1] - q[1]);
        assert!((chord(a, c) / (2.0 * h) - place.along).abs() < 1e-5 * place.along);
        // Menger: four times the area over the product of the sides.
        let area = ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) / 2.0;
        let curvature = -4.0 * area / (chord(a, b) * chord(b, c) * chord(a, c));
        assert!(
            (curvature - 1.0 / place.radius).abs() < 1e-4,
            "{angle} {curvature} {}",
            place.radius
        );
    }
}

#[test]
fn a_harmonic_rise_strikes_where_it_meets_a_dwell() {
    let jumps = rise(Law::Harmonic, 10.0, 1.0).jumps();
    assert_eq!(jumps.len(), 4);
    // h π²/2 over the angle squared.
    assert!(
        (jumps[0].by - 10.0 * PI * PI / 2.0).abs() < 1e-9,
        "{jumps:?}"
    );
    assert!(rise(Law::ModifiedTrapezoid, 10.0, 1.0).jumps().is_empty());
    // Harmonic up and harmonic down without a dwell is one smooth eccentric.
    let half = |to| Piece {
        over: PI,
        to,
        law: Law::Harmonic,
    };
    let eccentric = Program::of_pieces(vec![half(10.0), half(0.0)]).unwrap();
    assert!(eccentric.jumps().is_empty());
    for n in 0..360 {
        let angle = f64::from(n).to_radians();
        assert!((eccentric.at(angle).lift - 5.0 * (1.0 - angle.cos())).abs() < 1e-12);
    }
}

/// A flat face on a circle set off by `e` lifts by e(1 − cos θ): the cam is that circle.
#[test]
fn an_eccentric_circle_is_found_again() {
    let half = |to| Piece {
        over: PI,
        to,
        law: Law::Harmonic,
    };
    let program = Program::of_pieces(vec![half(10.0), half(0.0)]).unwrap();
    let follower = Follower::Flat { base: 20.0 };
    let mut centre = [0.0, 0.0];
    let places: Vec<_> = (0..360)
        .map(|n| {
            let angle = f64::from(n).to_radians();
            follower.place(angle, program.at(angle))
        })
        .collect();
    for p in &places {
        assert!((p.radius - 25.0).abs() < 1e-9, "{}", p.radius);
        centre[0] += p.centre[0] / 360.0;
        centre[1] += p.centre[1] / 360.0;
    }
    assert!(
        (centre[0].hypot(centre[1]) - 5.0).abs() < 1e-6,
        "{centre:?}"
    );
    for p in &places {
        let r = (p.centre[0] - centre[0]).hypot(p.centre[1] - centre[1]);
        assert!((r - 25.0).abs() < 1e-6, "{r}");
    }
}

#[test]
fn the_least_circle_is_just_large_enough() {
    let program = rise(Law::Cycloidal, 20.0, 1.2);
    let limit = 30_f64.to_radians();
    for follower in [
        Follower::InLine {
            pitch: 1.0,
            offset: 0.0,
            roller: 8.0,
        },
        Follower::Rocker {
            hand: 1.0,
            centres: 120.0,
            arm: 90.0,
            pitch: 60.0,
            roller: 8.0,
        },
    ] {
        let program = if matches!(follower, Follower::Rocker { .. }) {
            rise(Law::Cycloidal, 0.25, 1.2)
        } else {
            program.clone()
        };
        let least = least_base(follower, &program, limit, 12.0)
            .unwrap()
            .unwrap();
        let on = |circle: f64| survey(follower.on(circle), &program).unwrap();
        let keeps = |circle: f64| {
            let s = on(circle);
            s.steepest.pressure.abs() <= limit && s.sharpest.is_none_or(|p| p.radius >= 12.0)
        };
        assert!(keeps(least * (1.0 + 1e-9)), "{least}");
        assert!(!keeps(least * (1.0 - 1e-4)), "{least}");
    }
    // No circle makes 2 degrees of a steep rocker.
    let steep = rise(Law::Cycloidal, 0.6, 0.5);
    let rocker = Follower::Rocker {
        hand: 1.0,
        centres: 100.0,
        arm: 80.0,
        pitch: 60.0,
        roller: 5.0,
    };
    assert_eq!(least_base(rocker, &steep, 0.03, 0.0).unwrap(), None);
}

/// A smooth curve through points of a sine is that sine, nearly, and closes without a step.
#[test]
fn a_spline_closes_on_itself() {
    let points: Vec<(f64, f64)> = (0..24)
        .map(|n| f64::from(n) * TAU / 24.0 + 0.03 * f64::from(n % 3))
        .map(|a| (a, 5.0 * a.sin()))
        .collect();
    let spline = Spline::closed(&points).unwrap();
    for (a, lift) in &points {
        assert!((spline.at(*a).lift - lift).abs() < 1e-12);
    }
    for n in 0..1000 {
        let a = f64::from(n) * TAU / 1000.0 - 1.0;
        let m = spline.at(a);
        assert!((m.lift - 5.0 * a.sin()).abs() < 5e-4);
        assert!((m.velocity - 5.0 * a.cos()).abs() < 1e-2);
    }
    for (a, _) in &points {
        let (before, after) = (spline.at(a - 1e-9), spline.at(a + 1e-9));
        assert!((before.velocity - after.velocity).abs() < 1e-6);
        assert!((before.acceleration - after.acceleration).abs() < 1e-5);
    }
}

#[test]
fn what_cannot_be_is_refused() {
    let piece = |over, to| Piece {
        over,
        to,
        law: Law::Cycloidal,
    };
    for pieces in [
        vec![],
        vec![piece(3.0, 1.0)],
        vec![piece(-1.0, 1.0), piece(TAU + 1.0, 0.0)],
        vec![piece(PI, f64::NAN), piece(PI, 0.0)],
        vec![
            Piece {
                law: Law::ConstantVelocity { blend: 0.7 },
                ..piece(PI, 1.0)
            },
            piece(PI, 0.0),
        ],
    ] {
        assert!(Program::of_pieces(pieces.clone()).is_err(), "{pieces:?}");
    }
    assert!(Spline::closed(&[(0.0, 1.0), (1.0, 2.0)]).is_err());
    assert!(Spline::closed(&[(0.0, 1.0), (2.0, 2.0), (1.0, 2.0)]).is_err());
    assert!(Spline::closed(&[(0.0, 1.0), (2.0, 2.0), (7.0, 2.0)]).is_err());
    assert!(Law::named("cycloid").is_err());
    let program = rise(Law::Cycloidal, 10.0, 1.0);
    for follower in [
        Follower::InLine {
            pitch: 10.0,
            offset: 12.0,
            roller: 2.0,
        },
        Follower::InLine {
            pitch: 10.0,
            offset: 0.0,
            roller: 11.0,
        },
        Follower::Flat { base: -1.0 },
        Follower::Rocker {
            hand: 1.0,
            centres: 100.0,
            arm: 20.0,
            pitch: 30.0,
            roller: 2.0,
        },
    ] {
        assert!(survey(follower, &program).is_err(), "{follower:?}");
    }
    // A cutter that is larger than the hollow.
    let hollow = rise(Law::Cycloidal, 25.0, 0.8);
    let follower = Follower::InLine {
        pitch: 40.0,
        offset: 0.0,
        roller: 3.0,
    };
    assert!(survey(follower, &hollow).unwrap().hollowest.is_some());
    assert!(offset_curve(follower, &hollow, Side::Inner, 500.0, 100).is_err());
}

/// A roller on an eccentric disc: the rod of a slider-crank joins their centres, and both turn against it as two wheels that roll on one another.
#[test]
fn a_roller_turns_about_its_stud_as_a_planet_does() {
    let (eccentric, disc, roller, offset): (f64, f64, f64, f64) = (9.0, 34.0, 8.0, 5.0);
    let long = disc + roller;
    let pitch = 40.0;
    let follower = Follower::InLine {
        pitch,
        offset,
        roller,
    };
    for n in 0..72 {
        let angle = f64::from(n) * TAU / 72.0;
        let (sine, cosine) = angle.sin_cos();
        let (across, rate) = (offset - eccentric * cosine, eccentric * sine);
        let up = (long * long - across * across).sqrt();
        let motion = Motion {
            lift: eccentric * sine + up - (pitch * pitch - offset * offset).sqrt(),
            velocity: eccentric * cosine - across * rate / up,
            acceleration: -eccentric * sine
                - (rate * rate + across * eccentric * cosine) / up
                - (across * rate).powi(2) / up.powi(3),
            ..Motion::default()
        };
        let place = follower.place(angle, motion);
        assert!((place.radius - long).abs() < 1e-9, "{}", place.radius);
        // The rod swings so fast; seen from it the roller turns back by the disc's turn times the ratio of radii.
        let swing = -rate / up;
        let wanted = swing - (1.0 - swing) * disc / roller;
        let turns = place.roller_turns(Side::Inner, roller);
        assert!((turns - wanted).abs() < 1e-9, "{turns} {wanted}");
        // Inside a ring about the same centre it turns the other way, by the larger radius.
        let ring = swing + (1.0 - swing) * (disc + 2.0 * roller) / roller;
        let turns = place.roller_turns(Side::Outer, roller);
        assert!((turns - ring).abs() < 1e-9, "{turns} {ring}");
    }
}

/// The same with a rocker: its own swing comes off. A disc about its own centre does not move it, and the roller turns as an idler does.
#[test]
fn a_roller_on_a_still_rocker_is_an_idler() {
    let follower = Follower::Rocker {
        hand: 1.0,
        centres: 90.0,
        arm: 70.0,
        pitch: 40.0,
        roller: 8.0,
    };
    let still = follower.place(1.0, Motion::default());
    assert!((still.roller_turns(Side::Inner, 8.0) + 32.0 / 8.0).abs() < 1e-12);
    assert!((still.roller_turns(Side::Outer, 8.0) - 48.0 / 8.0).abs() < 1e-12);
    // Swung outwards by 0.1 rad a rad of the cam it turns clockwise itself.
    let swung = Motion {
        velocity: 0.1,
        ..Motion::default()
    };
    assert!((follower.place(1.0, swung).swing + 0.1).abs() < 1e-12);
}

/// The cam centre of a slide by the diagram of lift over velocity: two tangents at the allowed angle to either side. Cycloidal rise and return give
/// it in closed form by the greatest of `s' / tan φ − s`, here found by dense sampling of the law itself.
#[test]
fn the_smallest_cam_of_a_slide_stands_where_both_tangents_cross() {
    for (up, down) in [(100.0_f64, 140.0_f64), (90.0, 90.0), (160.0, 70.0)] {
        let piece = |over: f64, to: f64| Piece {
            over: over.to_radians(),
            to,
            law: Law::Cycloidal,
        };
        let rest = 360.0 - up - down;
        let program =
            Program::of_pieces(vec![piece(up, 24.0), piece(down, 0.0), piece(rest, 0.0)]).unwrap();
        let limit = 30_f64.to_radians();
        let tangent = limit.tan();
        let (mut right, mut left) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        for k in 0..200_000 {
            let t = f64::from(k) / 200_000.0;
            // s = h (t − sin 2πt / 2π), s' = h (1 − cos 2πt) / β
            let s = 24.0 * (t - (TAU * t).sin() / TAU);
            let v = 24.0 * (1.0 - (TAU * t).cos());
            right = right.max(v / up.to_radians() / tangent - s);
            left = left.max(v / down.to_radians() / tangent - (24.0 - s));
        }
        let (offset, reach) = (0.5 * tangent * (right - left), 0.5 * (right + left));
        let follower = Follower::InLine {
            pitch: 60.0,
            offset: 0.0,
            roller: 2.0,
        };
        let found = smallest(follower, &program, limit, 2.0).unwrap().unwrap();
        let Follower::InLine { offset: e, .. } = found else {
            panic!("{found:?}")
        };
        assert!((e - offset).abs() < 1e-3, "{e} {offset}");
        let circle = offset.hypot(reach);
        assert!(
            (found.circle() - circle).abs() < 1e-3 * circle,
            "{found:?} {circle}"
        );
        // No offset in line makes it smaller.
        for k in -20..=20 {
            let other = Follower::InLine {
                pitch: 60.0,
                offset: offset + f64::from(k),
                roller: 2.0,
            };
            let least = least_base(other, &program, limit, 2.0).unwrap().unwrap();
            assert!(least >= found.circle() * (1.0 - 1e-6), "{k} {least}");
        }
    }
}

/// Over all distances of the pivot and both hands, laid out coarsely.
#[test]
fn the_smallest_cam_of_a_rocker_beats_every_other_pivot() {
    let piece = |over: f64, to: f64| Piece {
        over: over.to_radians(),
        to,
        law: Law::Cycloidal,
    };
    let program = Program::of_pieces(vec![
        piece(120.0, 0.3),
        piece(120.0, 0.0),
        piece(120.0, 0.0),
    ])
    .unwrap();
    let limit = 35_f64.to_radians();
    let drawn = Follower::Rocker {
        hand: 1.0,
        centres: 80.0,
        arm: 70.0,
        pitch: 60.0,
        roller: 8.0,
    };
    let found = smallest(drawn, &program, limit, 8.0).unwrap().unwrap();
    assert!(survey(found, &program).unwrap().steepest.pressure.abs() <= limit * (1.0 + 1e-9));
    let mut others = 0;
    for hand in [1.0, -1.0] {
        for k in 2..10 {
            let other = Follower::Rocker {
                hand,
                centres: 20.0 * f64::from(k),
                arm: 70.0,
                pitch: 60.0,
                roller: 8.0,
            };
            if let Some(least) = least_base(other, &program, limit, 8.0).unwrap() {
                others += 1;
                assert!(
                    least >= found.circle() * (1.0 - 1e-3),
                    "{k} {least} {found:?}"
                );
            }
        }
    }
    assert!(others > 3);
}

/// Three points in a row and a long way back: the slope of the steep flank carries the curve far below its points.
#[test]
fn a_curve_tells_where_it_swings_beyond_its_points() {
    let deg = f64::to_radians;
    let steep = Spline::closed(&[(0.0, 0.0), (deg(10.0), 30.0), (deg(20.0), 0.0)]).unwrap();
    let ([from, to], lift, by) = steep.beyond().unwrap();
    assert!((from - deg(20.0)).abs() < 1e-12 && to.abs() < 1e-12);
    assert!(lift < -30.0 && (by + lift).abs() < 1e-9, "{lift} {by}");
    // Nothing lies lower on the whole curve, to what steps of half a degree tell.
    let low = (0..720)
        .map(|n| steep.at(deg(0.5 * f64::from(n))).lift)
        .fold(0.0, f64::min);
    assert!((low - lift).abs() < 0.01 * lift.abs(), "{low} {lift}");
    // Through even points of one wave it hardly does.
    let even: Vec<(f64, f64)> = (0..12)
        .map(|n| deg(30.0 * f64::from(n)))
        .map(|a| (a, a.sin()))
        .collect();
    let by = Spline::closed(&even).unwrap().beyond().map_or(0.0, |b| b.2);
    assert!(by < 1e-3, "{by}");
}
