//! Reactions, stretch and friction against textbook cases. Sources stand beside each.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test may stop at the first surprise"
)]

use mechanics::effort::{LetGo, effort, friction_to_hold};
use mechanics::friction::{Rubbing, Rubs, balance};
use mechanics::model::{AnchorId, Constraint, Measure};
use mechanics::statics::{Law, Load};
use mechanics::stretch::{Give, compliance};
use mechanics::{Mechanism, Tangent, unit_direction};

/// A free pin at a drawn place: a body whose angle is locked, so that rods alone hold it.
fn free_pin(m: &mut Mechanism, at: [f64; 2]) -> AnchorId {
    let b = m.body(0, at, 0.0);
    m.hold_angle(b, 0);
    m.anchor(b, 0, [0.0; 3])
}

/// Hibbeler, Structural Analysis, truss example of the unit-load method (printed 0.204 in; digits recomputed by the stiffness method).
#[test]
fn truss_deflects_as_in_the_book() {
    let ft = 12.0;
    let mut m = Mechanism::new();
    let a = m.anchor(0, 0, [0.0; 3]);
    let at = |x: f64, y: f64| [x * ft, y * ft];
    let (b, c, d) = (
        free_pin(&mut m, at(10., 0.)),
        free_pin(&mut m, at(20., 0.)),
        free_pin(&mut m, at(30., 0.)),
    );
    let (e, f) = (
        free_pin(&mut m, at(20., 10.)),
        free_pin(&mut m, at(10., 10.)),
    );
    let bars = [
        ("AB", a, b),
        ("BC", b, c),
        ("CD", c, d),
        ("DE", d, e),
        ("FE", f, e),
        ("EB", e, b),
        ("BF", b, f),
        ("AF", a, f),
        ("CE", c, e),
    ];
    let mut lengths = vec![];
    let mut rows = vec![];
    for (_, p, q) in bars {
        lengths.push(m.rod(p, q));
        rows.push(m.constraints.len() - 1);
    }
    let (direction, offset) = (m.param(0.0), m.param(0.0));
    m.constrain(Constraint::OnLine {
        pin: d,
        through: a,
        direction,
        offset,
    });
    let down = |p| Measure::Along {
        a,
        b: p,
        direction: [0.0, -1.0, 0.0],
    };
    let t = Tangent::new(&m, &m.params, &m.drawn).unwrap();
    let loads = [
        Load {
            on: down(b),
            law: Law::Constant(4.0),
        },
        Load {
            on: down(c),
            law: Law::Constant(4.0),
        },
    ];
    let r = t.reactions(&t.forces(&loads)).unwrap();
    // Tension positive in the book; a rod's reaction is push positive.
    let book = [
        4.0,
        4.0,
        4.0,
        -5.656_854_249_492_381,
        -4.0,
        0.0,
        4.0,
        -5.656_854_249_492_381,
        4.0,
    ];
    for ((bar, want), row) in bars.iter().zip(book).zip(&rows) {
        let got = -r.of(&m, *row)[0];
        assert!((got - want).abs() < 1e-12, "{} {got} {want}", bar.0);
    }
    let gives: Vec<Give> = lengths
        .iter()
        .map(|&p| Give::single(p, m.params[p] / (0.5 * 29_000.0)))
        .collect();
    let s = |measure: &Measure| t.sensitivity(measure).unwrap().by_param;
    let (sb, sc) = (s(&down(b)), s(&down(c)));
    let down_at = |g: &[f64]| 4.0 * compliance(&gives, g, &sb) + 4.0 * compliance(&gives, g, &sc);
    assert!((down_at(&sc) - 0.203_975_518_612_287_66).abs() < 1e-12);
    assert!((down_at(&sb) - 0.181_906_553_095_046_3).abs() < 1e-12);
    let dx = s(&Measure::Along {
        a,
        b: d,
        direction: [1.0, 0.0, 0.0],
    });
    assert!((down_at(&dx) - 0.099_310_344_827_586_2).abs() < 1e-12);
    // Maxwell: the same both ways.
    assert!((compliance(&gives, &sb, &sc) - compliance(&gives, &sc, &sb)).abs() < 1e-15);
}

/// Two equal links of a toggle, knee pushed down by P; force on the slider. Knee equilibrium: 1 / (2 tan α).
#[test]
fn toggle_gains() {
    for (degrees, gain, with_friction) in [
        (45.0, 0.5, None),
        (10.0, 2.835_640_909_808_855, Some(2.592_376_230_927_763)),
        (3.0, 9.540_568_343_926_61, Some(7.302_761_913_879_794)),
    ] {
        let alpha = f64::to_radians(degrees);
        let l = 100.0;
        let knee = [l * alpha.cos(), l * alpha.sin()];
        let x = 2.0 * knee[0];
        let mut m = Mechanism::new();
        let ground = m.anchor(0, 0, [0.0; 3]);
        let one = m.link(0, [0.0, 0.0], knee);
        let two = m.link(0, knee, [x, 0.0]);
        let slider = m.body(0, [x, 0.0], 0.0);
        let pin_body = m.body(0, knee, 0.0);
        m.hold_angle(pin_body, 0);
        let k = m.anchor(pin_body, 0, [0.0; 3]);
        let foot = m.anchor_drawn(one, 0, [0.0; 3]);
        let (k1, k2) = (
            m.anchor_drawn(one, 0, [knee[0], knee[1], 0.0]),
            m.anchor_drawn(two, 0, [knee[0], knee[1], 0.0]),
        );
        let (far, s) = (
            m.anchor_drawn(two, 0, [x, 0.0, 0.0]),
            m.anchor(slider, 0, [0.0; 3]),
        );
        let pins: Vec<usize> = [(foot, ground), (k1, k), (k2, k), (far, s)]
            .into_iter()
            .map(|(a, b)| m.constrain(Constraint::Pin { a, b }))
            .collect();
        m.hold_angle(slider, 0);
        let (direction, offset, distance) = (m.param(0.0), m.param(0.0), m.param(x));
        m.constrain(Constraint::OnLine {
            pin: s,
            through: ground,
            direction,
            offset,
        });
        let held = m.constrain(Constraint::Along {
            pin: s,
            through: ground,
            direction,
            distance,
        });
        let t = Tangent::new(&m, &m.params, &m.drawn).unwrap();
        let down = Measure::Along {
            a: ground,
            b: k,
            direction: [0.0, -1.0, 0.0],
        };
        let forces = t.forces(&[Load {
            on: down,
            law: Law::Constant(1.0),
        }]);
        let free = t.reactions(&forces).unwrap().of(&m, held)[0];
        assert!((free.abs() - gain).abs() < 1e-9, "{degrees}: {free} {gain}");
        if let Some(want) = with_friction {
            // Each link has its own pin at each end, friction circle 0.8: the link force leans by asin(2·0.8/l).
            let rubbing: Vec<Rubbing> = pins
                .iter()
                .map(|&constraint| Rubbing {
                    rubs: Rubs::Pin {
                        constraint,
                        radius: 0.8 * 2f64.sqrt(),
                    },
                    mu: 1.0,
                })
                .collect();
            let rates = t.rates(&unit_direction(m.params.len(), distance)).unwrap();
            let got = balance(&t, &forces, &rates, &rubbing)
                .unwrap()
                .reactions
                .of(&m, held)[0];
            assert!((got.abs() - want).abs() < 1e-9, "{degrees}: {got} {want}");
        }
    }
}

/// Bell crank: moment and force balance (case `bell_3` of the check set).
#[test]
fn bell_crank_balances() {
    let at = |r: f64, d: f64| [r * d.to_radians().cos(), r * d.to_radians().sin()];
    let (p, q) = (at(75.0, 135.0), at(50.0, 20.0));
    let unit = |d: f64| [d.to_radians().cos(), d.to_radians().sin(), 0.0];
    let mut m = Mechanism::new();
    let ground = m.anchor(0, 0, [0.0; 3]);
    let bell = m.link(0, [0.0, 0.0], p);
    let pivot = m.anchor(bell, 0, [0.0; 3]);
    let (a, b) = (
        m.anchor_drawn(bell, 0, [p[0], p[1], 0.0]),
        m.anchor_drawn(bell, 0, [q[0], q[1], 0.0]),
    );
    let pin = m.constrain(Constraint::Pin {
        a: pivot,
        b: ground,
    });
    // A long rod along the direction of the second force holds the bell crank.
    let f = unit(120.0);
    let far = m.anchor(0, 0, [q[0] - 1000.0 * f[0], q[1] - 1000.0 * f[1], 0.0]);
    m.rod(b, far);
    let rod = m.constraints.len() - 1;
    let t = Tangent::new(&m, &m.params, &m.drawn).unwrap();
    let push = Measure::Along {
        a: ground,
        b: a,
        direction: unit(200.0),
    };
    let r = t
        .reactions(&t.forces(&[Load {
            on: push,
            law: Law::Constant(800.0),
        }]))
        .unwrap();
    assert!((r.of(&m, rod)[0] - -1_104.346_854_619_551_3).abs() < 1e-8);
    let [x, y] = r.of(&m, pin);
    assert!((x - 199.580_669_319).abs() < 1e-6 && (y - 1_230.008_545_350_506_7).abs() < 1e-6);
    assert!(!r.split_undetermined);
}

/// An eccentric of radius `r_face` on a pin, pressing a flat that slides up and down. Returns what it does when let go with
/// its centre `alpha` round from the line of the push.
fn eccentric(
    r_face: f64,
    e: f64,
    r_pin: f64,
    mu_face: f64,
    mu_pin: f64,
    alpha: f64,
) -> (LetGo, Option<f64>) {
    let centre = [e * alpha.sin(), e * alpha.cos()];
    let mut m = Mechanism::new();
    let ground = m.anchor(0, 0, [0.0; 3]);
    let cam = m.link(0, [0.0, 0.0], centre);
    let (pivot, middle) = (
        m.anchor(cam, 0, [0.0; 3]),
        m.anchor_drawn(cam, 0, [centre[0], centre[1], 0.0]),
    );
    let flat = m.body(0, [0.0, centre[1]], 0.0);
    let face = m.anchor(flat, 0, [0.0; 3]);
    let pin = m.constrain(Constraint::Pin {
        a: pivot,
        b: ground,
    });
    m.hold_angle(flat, 0);
    let (up, zero, across, none) = (
        m.param(std::f64::consts::FRAC_PI_2),
        m.param(0.0),
        m.param(0.0),
        m.param(0.0),
    );
    m.constrain(Constraint::OnLine {
        pin: face,
        through: ground,
        direction: up,
        offset: zero,
    });
    let on_face = m.constrain(Constraint::OnLine {
        pin: middle,
        through: face,
        direction: across,
        offset: none,
    });
    let drive = m.hold_angle(cam, 0);
    let held = m.constraints.len() - 1;
    let t = Tangent::new(&m, &m.params, &m.drawn).unwrap();
    let push = Measure::Along {
        a: ground,
        b: face,
        direction: [0.0, -1.0, 0.0],
    };
    let forces = t.forces(&[Load {
        on: push,
        law: Law::Constant(100.0),
    }]);
    let rubbing = [
        Rubbing {
            rubs: Rubs::Pin {
                constraint: pin,
                radius: r_pin,
            },
            mu: mu_pin,
        },
        Rubbing {
            rubs: Rubs::Slot {
                constraint: on_face,
                radius: r_face,
            },
            mu: mu_face,
        },
    ];
    let factor = friction_to_hold(&m, &t, &forces, held, drive, &rubbing).unwrap();
    (
        effort(&m, &t, &forces, held, drive, &rubbing)
            .unwrap()
            .let_go(0.0),
        factor,
    )
}

/// Self-locking of an eccentric at every angle: e ≤ R sin φ + ρ (worst case of e cos(α + φ)); check cases `ecc_emax_1`, `_2`.
#[test]
fn eccentric_holds_up_to_the_limit() {
    for (r, pin, mu_face, mu_pin, limit) in [
        (20.0, 6.0, 0.12, 0.12, 3.097_775_736_079_196_7),
        (30.0, 8.0, 0.1, 0.0, 2.985_111_570_629_967_6),
    ] {
        let all = |e: f64| {
            (0..720).all(|i| {
                eccentric(
                    r,
                    e,
                    pin,
                    mu_face,
                    mu_pin,
                    f64::to_radians(f64::from(i) * 0.5),
                )
                .0 == LetGo::Holds
            })
        };
        assert!(all(limit - 1e-3));
        assert!(!all(limit + 1e-2));
    }
}

/// Case `ecc_angle_2`: R 20, e 4, face friction 0.12 only: holds for angles above 46.59281492° from the line square to the push.
#[test]
fn eccentric_holds_beyond_an_angle() {
    let at = |degrees: f64| {
        // The face pushes the eccentric back when its centre leans towards the falling side.
        let a = std::f64::consts::FRAC_PI_2 - degrees.to_radians();
        (
            eccentric(20.0, 4.0, 6.0, 0.12, 0.0, a).0,
            eccentric(20.0, 4.0, 6.0, 0.12, 0.0, -a).0,
        )
    };
    let hold = |d: f64| at(d).0 == LetGo::Holds && at(d).1 == LetGo::Holds;
    assert!(hold(46.592_814_919_962_4 + 1e-6), "{:?}", at(46.6));
    assert!(!hold(46.592_814_919_962_4 - 1e-6), "{:?}", at(46.5));
}

/// Wedge between a frame face and a block that a load presses down: releases or locks; case `wedge_1`, `_2`, `_3`.
#[test]
fn wedge_drives_and_locks() {
    for (degrees, mu, drive_over_load, locks, release) in [
        (
            5.0,
            0.15,
            0.390_646_742_812_503_9,
            true,
            0.211_701_607_793_586_74,
        ),
        (
            8.0,
            0.1,
            0.343_969_603_879_515_36,
            true,
            0.060_021_033_036_369_35,
        ),
        (12.0, 0.1, 0.419_344_437_226_554_57, false, 0.0),
    ] {
        let angle = f64::to_radians(degrees);
        let mut m = Mechanism::new();
        let ground = m.anchor(0, 0, [0.0; 3]);
        let (wedge, block) = (m.body(0, [0.0, 0.0], 0.0), m.body(0, [0.0, 10.0], 0.0));
        let (w, b) = (m.anchor(wedge, 0, [0.0; 3]), m.anchor(block, 0, [0.0; 3]));
        let level = m.param(0.0);
        let (zero, up) = (m.param(0.0), m.param(std::f64::consts::FRAC_PI_2));
        m.hold_angle(wedge, 0);
        m.hold_angle(block, 0);
        // Wedge on the level frame, block straight up and down without friction, block on the wedge's sloping face.
        let floor = m.constrain(Constraint::OnLine {
            pin: w,
            through: ground,
            direction: level,
            offset: zero,
        });
        m.constrain(Constraint::OnLine {
            pin: b,
            through: ground,
            direction: up,
            offset: zero,
        });
        let (slope, high) = (m.param(-angle), m.param(10.0 * angle.cos()));
        let face = m.constrain(Constraint::OnLine {
            pin: b,
            through: w,
            direction: slope,
            offset: high,
        });
        let distance = m.param(0.0);
        let held = m.constrain(Constraint::Along {
            pin: w,
            through: ground,
            direction: level,
            distance,
        });
        let t = Tangent::new(&m, &m.params, &m.drawn).unwrap();
        let press = Measure::Along {
            a: ground,
            b,
            direction: [0.0, -1.0, 0.0],
        };
        let forces = t.forces(&[Load {
            on: press,
            law: Law::Constant(1.0),
        }]);
        let rubbing = [floor, face].map(|constraint| Rubbing {
            rubs: Rubs::Slot {
                constraint,
                radius: 0.0,
            },
            mu,
        });
        let e = effort(&m, &t, &forces, held, distance, &rubbing).unwrap();
        // Driving the wedge in lifts the block; moving the wedge back needs a pull when it locks.
        let (drive, back) = (e.on(), e.off());
        assert!(
            (drive - drive_over_load).abs() < 1e-9,
            "{degrees}: {drive} {drive_over_load}"
        );
        assert_eq!(e.let_go(0.0) == LetGo::Holds, locks);
        if locks {
            assert!(
                (-back - release).abs() < 1e-9,
                "{degrees}: {back} {release}"
            );
        }
    }
}
