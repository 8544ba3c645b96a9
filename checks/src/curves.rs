//! Linkages with a known curve: straight lines, ellipses, copies.

use crate::draft::{Draft, polar, swing};
use crate::fourbar::{By, four_bar};
use crate::{Answers, Given, Solver};
use std::f64::consts::FRAC_PI_2;

/// The values of a sweep, ends included.
fn sweep(g: &Given) -> Result<Vec<f64>, String> {
    let (from, to, steps) = (
        g.degrees("from")?,
        g.degrees("to")?,
        g.number("steps")?.max(1.0),
    );
    Ok((0..=steps as usize)
        .map(|i| from + (to - from) * i as f64 / steps)
        .collect())
}

/// Peaucellier's inversor: O is the origin, the crank turns about (crank, 0).
pub(crate) fn peaucellier(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let (r, long, short) = (g.number("crank")?, g.number("long")?, g.number("short")?);
    let mut d = Draft::new();
    let (o, q) = ([0.0; 2], [r, 0.0]);
    let p = polar(q, r, 0.3);
    let (a, b) = (
        swing(o, long, p, short, true)?,
        swing(o, long, p, short, false)?,
    );
    // The rhombus is completed on the far side.
    let s = [a[0] + b[0] - p[0], a[1] + b[1] - p[1]];
    let (fo, fq) = (d.fixed(o), d.fixed(q));
    let mut bar = |from, to, length| {
        let body = d.bar(from, to);
        (body, d.hole(body, [0.0; 2]), d.hole(body, [length, 0.0]))
    };
    let (crank, q1, p1) = bar(q, p, r);
    let [(_, oa, a1), (_, ob, b1)] = [a, b].map(|to| bar(o, to, long));
    let [(_, pa, a2), (_, pb, b2), (_, sa, a3), (_, sb, b3)] =
        [(p, a), (p, b), (s, a), (s, b)].map(|(from, to)| bar(from, to, short));
    for (x, y) in [
        (fq, q1),
        (fo, oa),
        (fo, ob),
        (p1, pa),
        (p1, pb),
        (a1, a2),
        (a1, a3),
        (b1, b2),
        (b1, b3),
        (sa, sb),
    ] {
        d.pin(x, y);
    }
    let drive = d.drive(crank, 0);
    let (mut line, mut off): (f64, f64) = (0.0, 0.0);
    let exact = (long * long - short * short) / (2.0 * r);
    for angle in sweep(g)? {
        line = d.go(solver, &[(drive, angle)])?.at(sa)[0];
        off = off.max((line - exact).abs());
    }
    Ok(Answers::default()
        .number("line", line)
        .number("off_line", off))
}

/// Watt's linkage: how far the middle of the coupler strays from Watt's curve, as the greatest difference of the squares of the
/// polar radius.
pub(crate) fn watt_curve(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let (a, b, c) = (
        g.number("half_centres")?,
        g.number("arm")?,
        g.number("half_coupler")?,
    );
    let f = four_bar(
        [b, 2.0 * c, b, 2.0 * a],
        g.degrees("drawn")?,
        false,
        By::Crank,
        [c, 0.0],
    )?;
    let mut off: f64 = 0.0;
    for angle in sweep(g)? {
        let [x, y] = f.draft.go(solver, &[(f.drive, angle)])?.at(f.point);
        let (x, square) = (x - a, (x - a).powi(2) + y * y);
        let (sin, cos) = (y / square.sqrt(), x / square.sqrt());
        let root = (c * c - (a * cos).powi(2)).max(0.0).sqrt();
        let branch = |sign: f64| (square - (b * b - (a * sin + sign * root).powi(2))).abs();
        off = off.max(branch(1.0).min(branch(-1.0)));
    }
    Ok(Answers::default().number("off_curve", off))
}

/// Pantograph with two drives. Its first bar runs from the fixed centre by A to B, its second from B by C to the pencil; the
/// tracer is the fourth corner of the parallelogram A, B, C.
pub(crate) fn pantograph(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let (near, k, side) = (g.number("near")?, g.number("ratio")?, g.number("side")?);
    let (first, second) = (0.7, 2.0);
    let mut d = Draft::new();
    let (a, b) = (
        polar([0.0; 2], near, first),
        polar([0.0; 2], k * near, first),
    );
    let (c, p) = (polar(b, side, second), polar(a, side, second));
    let fixed = d.fixed([0.0; 2]);
    let mut bar = |from, to, holes: [f64; 3]| {
        let body = d.bar(from, to);
        (body, holes.map(|u| d.hole(body, [u, 0.0])))
    };
    let (one, [o1, a1, b1]) = bar([0.0; 2], b, [0.0, near, k * near]);
    let (two, [b2, c2, pencil]) = bar(b, c, [0.0, side, k * side]);
    let (_, [a3, p3, _]) = bar(a, p, [0.0, side, 0.0]);
    let (_, [c4, p4, _]) = bar(c, p, [0.0, (k - 1.0) * near, 0.0]);
    for (x, y) in [(fixed, o1), (b1, b2), (a1, a3), (c2, c4), (p3, p4)] {
        d.pin(x, y);
    }
    let drives = [d.drive(one, 0), d.drive(two, 0)];
    let stand = d.go(
        solver,
        &[
            (drives[0], g.degrees("first")?),
            (drives[1], g.degrees("second")?),
        ],
    )?;
    Ok(Answers::default()
        .place("tracer", &stand.at(p3))
        .place("pencil", &stand.at(pencil)))
}

/// Crank pin in a slot of a slide, square to its way.
pub(crate) fn scotch_yoke(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let r = g.number("crank")?;
    let mut d = Draft::new();
    let pin = polar([0.0; 2], r, 0.8);
    let (crank, yoke) = (d.bar([0.0; 2], pin), d.m.body(0, [pin[0], 0.0], 0.0));
    let fixed = d.fixed([0.0; 2]);
    let (c0, c1, slot) = (
        d.hole(crank, [0.0; 2]),
        d.hole(crank, [r, 0.0]),
        d.hole(yoke, [0.0; 2]),
    );
    d.pin(fixed, c0);
    d.on_line(c1, slot, FRAC_PI_2);
    d.on_line(slot, fixed, 0.0);
    d.drive(yoke, 0);
    let drive = d.drive(crank, 0);
    let stand = d.go(solver, &[(drive, g.degrees("crank")?)])?;
    let [x, ..] = d.place_of(slot);
    let [slide, rate, second] = stand.moving(drive)?.along(&x);
    Ok(Answers::default()
        .number("slide", slide)
        .number("slide_rate", rate)
        .number("slide_second", second))
}

/// A bar whose ends run on two square lines.
pub(crate) fn trammel(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let (l, point) = (g.number("bar")?, g.number("point")?);
    let mut d = Draft::new();
    let drawn: f64 = 0.5;
    let bar = d.m.body(0, [-l * drawn.cos(), 0.0], drawn);
    let fixed = d.fixed([0.0; 2]);
    let [a, b, p] = [0.0, l, point].map(|u| d.hole(bar, [u, 0.0]));
    d.on_line(a, fixed, 0.0);
    d.on_line(b, fixed, FRAC_PI_2);
    let drive = d.drive(bar, 0);
    let stand = d.go(solver, &[(drive, g.degrees("bar")?)])?;
    let [first, second] = stand.moving(drive)?.place(p);
    Ok(Answers::default()
        .place("P", &stand.at(p))
        .place("P_rate", &first)
        .place("P_second", &second))
}

/// Oldham's coupling between two shafts a little apart: the middle disc slides in both at right angles.
pub(crate) fn oldham(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let e = g.number("offset")?;
    let mut d = Draft::new();
    let drawn: f64 = 0.4;
    let foot = [e * drawn.cos().powi(2), e * drawn.cos() * drawn.sin()];
    let [input, middle, output] = [[0.0; 2], foot, [e, 0.0]].map(|at| d.m.body(0, at, drawn));
    let (f0, f1) = (d.fixed([0.0; 2]), d.fixed([e, 0.0]));
    let [i, m, o] = [input, middle, output].map(|body| d.hole(body, [0.0; 2]));
    d.pin(f0, i);
    d.pin(f1, o);
    d.on_line(m, i, 0.0);
    d.on_line(m, o, FRAC_PI_2);
    d.drive(middle, input);
    d.drive(output, middle);
    let drive = d.drive(input, 0);
    let stand = d.go(solver, &[(drive, g.degrees("crank")?)])?;
    let moving = stand.moving(drive)?;
    Ok(Answers::default()
        .degrees("output", stand.angle(output))
        .number("output_rate", moving.turn(output)[0])
        .place("centre", &stand.at(m))
        .place("centre_rate", &moving.place(m)[0]))
}
