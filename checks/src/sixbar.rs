//! Six-bars of Watt and Stephenson, and Stephenson's driven from its far rocker, which does not split into dyads.

use crate::draft::{Draft, polar, swing};
use crate::{Answers, Given, Solver};
use mechanics::model::{AnchorId, BodyId, ParamId};

pub(crate) struct SixBar {
    pub(crate) draft: Draft,
    drive: ParamId,
    /// Crank, coupler, rocker, link, far rocker.
    bars: [BodyId; 5],
    /// B, C, D.
    points: [AnchorId; 3],
}

/// Crank, coupler and rocker; the hole B where coupler and rocker meet; the crank pin and B as drawn.
struct Bars {
    bodies: [BodyId; 3],
    b: AnchorId,
    pin: [f64; 2],
    knee: [f64; 2],
}

fn bars(
    d: &mut Draft,
    crank: ([f64; 2], f64),
    coupler: f64,
    rocker: ([f64; 2], f64),
    drawn: f64,
) -> Result<Bars, String> {
    let pin = polar(crank.0, crank.1, drawn);
    let knee = swing(pin, coupler, rocker.0, rocker.1, true)?;
    let bodies = [d.bar(crank.0, pin), d.bar(pin, knee), d.bar(rocker.0, knee)];
    let (f0, f1) = (d.fixed(crank.0), d.fixed(rocker.0));
    let own = [
        (bodies[0], 0.0),
        (bodies[0], crank.1),
        (bodies[1], 0.0),
        (bodies[1], coupler),
        (bodies[2], 0.0),
        (bodies[2], rocker.1),
    ];
    let [c0, c1, b0, b1, r0, r1] = own.map(|(b, u)| d.hole(b, [u, 0.0]));
    d.pin(f0, c0);
    d.pin(c1, b0);
    d.pin(b1, r1);
    d.pin(f1, r0);
    Ok(Bars {
        bodies,
        b: b1,
        pin,
        knee,
    })
}

/// Hangs a link and a far rocker on a point; the link's far end lies left or right of the way to the far rocker's centre.
fn hang(
    d: &mut Draft,
    g: &Given,
    from: AnchorId,
    at: [f64; 2],
    left: bool,
) -> Result<([BodyId; 2], AnchorId), String> {
    let (l, s) = (g.number("link")?, g.number("far_rocker")?);
    let centre = g.place("far_centre")?;
    let end = swing(at, l, centre, s, left)?;
    let (link, far) = (d.bar(at, end), d.bar(centre, end));
    let fixed = d.fixed(centre);
    let [k0, k1, f0, f1] =
        [(link, 0.0), (link, l), (far, 0.0), (far, s)].map(|(b, u)| d.hole(b, [u, 0.0]));
    d.pin(from, k0);
    d.pin(k1, f1);
    d.pin(fixed, f0);
    Ok(([link, far], f1))
}

/// Watt's (second form): the rocker is a bell crank whose other arm pulls the far rocker.
pub(crate) fn watt_chain(g: &Given, drawn: f64, driven: bool) -> Result<SixBar, String> {
    let mut d = Draft::new();
    let centre = g.place("rocker_centre")?;
    let Bars {
        bodies: [crank, coupler, rocker],
        b,
        knee,
        ..
    } = bars(
        &mut d,
        (g.place("crank_centre")?, g.number("crank")?),
        g.number("coupler")?,
        (centre, g.number("rocker")?),
        drawn,
    )?;
    let (arm, turn) = (g.number("rocker_arm")?, g.degrees("rocker_arm")?);
    let c = d.hole(rocker, polar([0.0; 2], arm, turn));
    let at = polar(
        centre,
        arm,
        (knee[1] - centre[1]).atan2(knee[0] - centre[0]) + turn,
    );
    let ([link, far], p) = hang(&mut d, g, c, at, true)?;
    let drive = if driven { d.drive(crank, 0) } else { 0 };
    Ok(SixBar {
        draft: d,
        drive,
        bars: [crank, coupler, rocker, link, far],
        points: [b, c, p],
    })
}

/// Stephenson's (third form): a point of the coupler pulls the far rocker. Driven by the crank or the far rocker, or not.
pub(crate) fn stephenson_chain(g: &Given, drawn: f64, by: Option<usize>) -> Result<SixBar, String> {
    let mut d = Draft::new();
    let Bars {
        bodies: [crank, coupler, rocker],
        b,
        pin,
        knee,
    } = bars(
        &mut d,
        (g.place("crank_centre")?, g.number("crank")?),
        g.number("coupler")?,
        (g.place("rocker_centre")?, g.number("rocker")?),
        drawn,
    )?;
    let [u, v] = g.place("coupler_point")?;
    let c = d.hole(coupler, [u, v]);
    let turn = (knee[1] - pin[1]).atan2(knee[0] - pin[0]);
    let at = polar(pin, u.hypot(v), turn + v.atan2(u));
    let ([link, far], p) = hang(&mut d, g, c, at, false)?;
    let bars = [crank, coupler, rocker, link, far];
    let drive = by.map_or(0, |i| d.drive(bars[i], 0));
    Ok(SixBar {
        draft: d,
        drive,
        bars,
        points: [b, c, p],
    })
}

fn position(s: &SixBar, to: f64, solver: &dyn Solver) -> Result<Answers, String> {
    let stand = s.draft.go(solver, &[(s.drive, to)])?;
    let mut answers = Answers::default();
    for (name, anchor) in ["B", "C", "D"].into_iter().zip(s.points) {
        answers = answers.place(name, &stand.at(anchor));
    }
    for (name, body) in ["crank", "coupler", "rocker", "link", "far_rocker"]
        .into_iter()
        .zip(s.bars)
    {
        answers = answers.number(&format!("{name}_rad"), stand.angle(body));
    }
    Ok(answers)
}

pub(crate) fn watt(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    position(&watt_chain(g, 1.4, true)?, g.degrees("crank")?, solver)
}

pub(crate) fn stephenson(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    position(
        &stephenson_chain(g, 1.0, Some(0))?,
        g.degrees("crank")?,
        solver,
    )
}

pub(crate) fn stephenson_backwards(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    position(
        &stephenson_chain(g, g.degrees("start_crank")?, Some(4))?,
        g.degrees("far_rocker")?,
        solver,
    )
}
