//! Gears and racks.

use crate::draft::Draft;
use crate::{Answers, Given, Solver};
use mechanics::model::{BodyId, Constraint};

/// A wheel on a pin of `carrier` at `own`, drawn at `at`.
fn wheel(d: &mut Draft, carrier: BodyId, own: [f64; 2], at: [f64; 2]) -> BodyId {
    let body = d.m.body(0, at, 0.0);
    let (pin, hub) = (d.hole(carrier, own), d.hole(body, [0.0; 2]));
    d.pin(pin, hub);
    body
}

fn mesh(d: &mut Draft, a: BodyId, b: BodyId, carrier: BodyId, sizes: [f64; 2]) {
    let offset = d.m.param(0.0);
    d.m.constrain(Constraint::Ratio {
        a,
        b,
        carrier,
        sizes,
        offset,
    });
}

/// Fixed annulus, planet on an arm, sun: the annulus is the frame.
pub(crate) fn epicyclic(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let (annulus, planet, sun) = (g.number("annulus")?, g.number("planet")?, g.number("sun")?);
    let mut d = Draft::new();
    let arm = wheel(&mut d, 0, [0.0; 2], [0.0; 2]);
    let reach = 0.5 * (sun + planet);
    let p = wheel(&mut d, arm, [reach, 0.0], [reach, 0.0]);
    let s = wheel(&mut d, 0, [0.0; 2], [0.0; 2]);
    mesh(&mut d, s, p, arm, [sun, planet]);
    mesh(&mut d, 0, p, arm, [annulus, -planet]);
    let drive = d.drive(arm, 0);
    let stand = d.go(solver, &[(drive, 1.0)])?;
    let (moving, rpm) = (stand.moving(drive)?, g.number("arm_rpm")?);
    Ok(Answers::default()
        .number("sun_rpm", rpm * moving.turn(s)[0])
        .number("planet_rpm", rpm * moving.turn(p)[0]))
}

/// An arm carries a wheel round a fixed one.
pub(crate) fn epicyclic_pair(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let (fixed, planet) = (g.number("fixed")?, g.number("planet")?);
    let mut d = Draft::new();
    let arm = wheel(&mut d, 0, [0.0; 2], [0.0; 2]);
    let reach = 0.5 * (fixed + planet);
    let p = wheel(&mut d, arm, [reach, 0.0], [reach, 0.0]);
    mesh(&mut d, 0, p, arm, [fixed, planet]);
    let drive = d.drive(arm, 0);
    let stand = d.go(solver, &[(drive, -2.0)])?;
    let rate = stand.moving(drive)?.turn(p)[0];
    Ok(Answers::default().number("planet_rpm", g.number("arm_rpm")? * rate))
}

/// A wheel rolling inside one twice as large; P lies on its rim, drawn farthest right.
pub(crate) fn cardan(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let r = g.number("radius")?;
    let mut d = Draft::new();
    let arm = wheel(&mut d, 0, [0.0; 2], [0.0; 2]);
    let planet = wheel(&mut d, arm, [r, 0.0], [r, 0.0]);
    mesh(&mut d, 0, planet, arm, [2.0, -1.0]);
    let p = d.hole(planet, [r, 0.0]);
    let drive = d.drive(arm, 0);
    let stand = d.go(solver, &[(drive, g.degrees("arm")?)])?;
    let [first, second] = stand.moving(drive)?.place(p);
    Ok(Answers::default()
        .place("P", &stand.at(p))
        .place("P_rate", &first)
        .place("P_second", &second))
}

pub(crate) fn rack(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let r = g.number("radius")?;
    let mut d = Draft::new();
    let gear = wheel(&mut d, 0, [0.0; 2], [0.0; 2]);
    let bar = d.m.body(0, [0.0, -r], 0.0);
    let (pin, through) = (d.hole(bar, [0.0; 2]), d.fixed([0.0, -r]));
    d.on_line(pin, through, 0.0);
    d.drive(bar, 0);
    let (direction, radius, offset) = (d.m.param(0.0), d.m.param(r), d.m.param(0.0));
    d.m.constrain(Constraint::Rack {
        gear,
        pin,
        through,
        direction,
        radius,
        offset,
    });
    let drive = d.drive(gear, 0);
    let stand = d.go(solver, &[(drive, g.degrees("turn")?)])?;
    let [x, ..] = d.place_of(pin);
    let [travel, rate, _] = stand.moving(drive)?.along(&x);
    Ok(Answers::default()
        .number("travel", travel)
        .number("travel_rate", rate))
}

/// Two pairs one after the other; the middle shaft carries a wheel of each.
pub(crate) fn train(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let [a, b, c, e] = g.place("teeth")?;
    let mut d = Draft::new();
    let [input, middle, output] =
        [0.0, a + b, a + b + c + e].map(|x| wheel(&mut d, 0, [0.5 * x, 0.0], [0.5 * x, 0.0]));
    mesh(&mut d, input, middle, 0, [a, b]);
    mesh(&mut d, middle, output, 0, [c, e]);
    let drive = d.drive(input, 0);
    let stand = d.go(solver, &[(drive, g.degrees("turn")?)])?;
    Ok(Answers::default().degrees("output", stand.angle(output)))
}
