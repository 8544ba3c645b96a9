//! Andrews' squeezing mechanism: seven bodies, ten pins, one freedom. The point E joins four bodies. Dimensions in mm.
//!
//! O is the origin, F the end of the crank. F to E is the body K2. B, A and C are fixed; D is carried by the triangle B, E, D; the
//! spring hangs between C and D. E to G and G to A, E to H and H to A are the two legs.

use crate::draft::{Draft, polar, swing};
use crate::{Answers, Given, Solver};
use mechanics::model::{AnchorId, BodyId, Measure, ParamId};
use std::f64::consts::FRAC_PI_2;

pub(crate) struct Squeezer {
    pub(crate) draft: Draft,
    pub(crate) drive: ParamId,
    bodies: [BodyId; 7],
    /// F, E, D, G, H.
    points: [AnchorId; 5],
    spring: Measure,
}

pub(crate) fn squeezer(g: &Given, driven: bool) -> Result<Squeezer, String> {
    let n = |name: &str| g.number(name);
    let (a, b, c) = (
        [n("xa")?, n("ya")?],
        [n("xb")?, n("yb")?],
        [n("xc")?, n("yc")?],
    );
    let (rr, k2, ss, e) = (n("rr")?, n("d")?, n("ss")?, n("e")?);
    let (zt, zf, u) = (n("zt")?, n("zf")?, n("u")?);
    let mut d = Draft::new();
    // Drawn near the published start.
    let beta = -0.06;
    let pf = polar([0.0; 2], rr, beta);
    let pe = swing(pf, k2, b, ss, true)?;
    let pg = swing(a, zt, pe, e, true)?;
    let ph = swing(a, u, pe, zf, false)?;
    // K3 has its datum in B and points to E; gamma is measured from straight down.
    let k1 = d.bar([0.0; 2], pf);
    let [k2b, k3, k4, k5, k6, k7] =
        [(pf, pe), (b, pe), (pg, pe), (a, pg), (ph, pe), (a, ph)].map(|(p, q)| d.bar(p, q));
    let [fo, fa, fb, fc] = [[0.0; 2], a, b, c].map(|p| d.fixed(p));
    let own = [
        (k1, [0.0; 2]),
        (k1, [rr, 0.0]),
        (k2b, [0.0; 2]),
        (k2b, [k2, 0.0]),
        (k3, [0.0; 2]),
        (k3, [ss, 0.0]),
        (k3, [n("sc")?, n("sd")?]),
        (k4, [0.0; 2]),
        (k4, [e, 0.0]),
        (k5, [0.0; 2]),
        (k5, [zt, 0.0]),
        (k6, [0.0; 2]),
        (k6, [zf, 0.0]),
        (k7, [0.0; 2]),
        (k7, [u, 0.0]),
    ];
    let [o1, f1, f2, e2, b3, e3, d3, g4, e4, a5, g5, h6, e6, a7, h7] =
        own.map(|(body, at)| d.hole(body, at));
    for (p, q) in [
        (fo, o1),
        (f1, f2),
        (e2, e3),
        (e3, e4),
        (e4, e6),
        (fb, b3),
        (g4, g5),
        (fa, a5),
        (h6, h7),
        (fa, a7),
    ] {
        d.pin(p, q);
    }
    let drive = if driven { d.drive(k1, 0) } else { 0 };
    Ok(Squeezer {
        draft: d,
        drive,
        bodies: [k1, k2b, k3, k4, k5, k6, k7],
        points: [f1, e3, d3, g5, h7],
        spring: Measure::Distance { a: fc, b: d3 },
    })
}

/// The seven angles of the benchmark from the turns of the bodies, and their rates alike: how much of each body's angle and what
/// constant each takes.
fn angles(turn: impl Fn(usize) -> f64, constant: f64) -> [(&'static str, f64); 6] {
    // K2 points from F to E, the benchmark's direction beta + Theta from E to F; the triangle and K4 are measured from straight
    // down, K6 from H to E; K5 and K7 run from A.
    let half = 2.0 * FRAC_PI_2 * constant;
    let quarter = FRAC_PI_2 * constant;
    let (beta, fe, be, ge, ag, he, ah) = (
        turn(0),
        turn(1),
        turn(2),
        turn(3),
        turn(4),
        turn(5),
        turn(6),
    );
    [
        ("Theta", fe - half - beta),
        ("gamma", be + quarter),
        ("Phi", ge + quarter - ag),
        ("delta", ag),
        ("Omega", he - (ah + quarter)),
        ("epsilon", ah + quarter),
    ]
}

pub(crate) fn position(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let s = squeezer(g, true)?;
    let stand = s.draft.go(solver, &[(s.drive, g.number("beta")?)])?;
    let mut answers = Answers::default();
    for (name, value) in angles(|i| stand.angle(s.bodies[i]), 1.0) {
        answers = answers.number(name, value);
    }
    for (name, anchor) in ["F", "E", "D", "G", "H"].into_iter().zip(s.points) {
        answers = answers.place(name, &stand.at(anchor));
    }
    Ok(answers)
}

pub(crate) fn rates(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let s = squeezer(g, true)?;
    let stand = s.draft.go(solver, &[(s.drive, g.number("beta")?)])?;
    let moving = stand.moving(s.drive)?;
    let speed = g.number_or("beta_per_s", 1.0);
    let mut answers = Answers::default();
    for (name, value) in angles(|i| speed * moving.turn(s.bodies[i])[0], 0.0) {
        answers = answers.number(name, value);
    }
    Ok(answers)
}

/// The spring's tension and the crank moment that holds it, by virtual work.
pub(crate) fn spring(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let s = squeezer(g, true)?;
    let stand = s.draft.go(solver, &[(s.drive, g.number("beta")?)])?;
    let found = stand.sensitivity(&s.spring)?;
    let tension = g.number("stiffness_N_per_mm")? * (found.value - g.number("free_length")?);
    Ok(Answers::default()
        .number("length", found.value)
        .number("tension_N", tension)
        .number("crank_moment_Nmm", tension * found.by_param[s.drive]))
}
