//! Four-bars: positions on both branches, limits of the rocker, dead centres of the crank.

use crate::draft::{Draft, polar, swing};
use crate::slidercrank::ratio;
use crate::{Answers, Given, Solver};
use mechanics::model::{AnchorId, BodyId, ParamId};

/// Which bar is driven.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum By {
    Crank,
    Coupler,
    Rocker,
    Nothing,
}

pub(crate) struct FourBar {
    pub(crate) draft: Draft,
    /// The driven angle; without meaning when nothing is driven.
    pub(crate) drive: ParamId,
    pub(crate) crank: BodyId,
    pub(crate) coupler: BodyId,
    pub(crate) rocker: BodyId,
    /// Far holes of crank, coupler and rocker, and the rocker's centre: their first own coordinate is the length.
    pub(crate) ends: [AnchorId; 4],
    pub(crate) point: AnchorId,
}

/// Lengths of crank, coupler, rocker, and the distance of the fixed centres.
pub(crate) fn lengths(g: &Given) -> Result<[f64; 4], String> {
    Ok([
        g.number("crank")?,
        g.number("coupler")?,
        g.number("rocker")?,
        g.number("centres")?,
    ])
}

/// Crank about the origin, rocker about (centres, 0), drawn with the crank at `drawn`. Open: the coupler's far end lies to the
/// left of the way from the crank pin to the rocker's centre.
pub(crate) fn four_bar(
    [a, b, c, e]: [f64; 4],
    drawn: f64,
    open: bool,
    by: By,
    point: [f64; 2],
) -> Result<FourBar, String> {
    let mut d = Draft::new();
    let pin = polar([0.0; 2], a, drawn);
    let knee = swing(pin, b, [e, 0.0], c, open)?;
    let (crank, coupler, rocker) = (
        d.bar([0.0; 2], pin),
        d.bar(pin, knee),
        d.bar([e, 0.0], knee),
    );
    let (centre, far) = (d.fixed([0.0; 2]), d.fixed([e, 0.0]));
    let [c0, c1, b0, b1, r0, r1] = [
        (crank, 0.0),
        (crank, a),
        (coupler, 0.0),
        (coupler, b),
        (rocker, 0.0),
        (rocker, c),
    ]
    .map(|(body, u)| d.hole(body, [u, 0.0]));
    d.pin(centre, c0);
    d.pin(c1, b0);
    d.pin(b1, r1);
    d.pin(far, r0);
    let point = d.hole(coupler, point);
    let drive = match by {
        By::Crank => d.drive(crank, 0),
        By::Coupler => d.drive(coupler, 0),
        By::Rocker => d.drive(rocker, 0),
        By::Nothing => 0,
    };
    Ok(FourBar {
        draft: d,
        drive,
        crank,
        coupler,
        rocker,
        ends: [c1, b1, r1, far],
        point,
    })
}

/// The four-bar of a case, driven by its crank and drawn away from where it is asked about.
pub(crate) fn of_case(g: &Given) -> Result<FourBar, String> {
    let point = match g.number("point_reach") {
        Ok(reach) => polar([0.0; 2], reach, g.degrees("point")?),
        Err(_) => [0.0; 2],
    };
    let drawn = g.number_or("drawn_deg", 75.0).to_radians();
    four_bar(
        lengths(g)?,
        drawn,
        g.word("branch")? == "open",
        By::Crank,
        point,
    )
}

pub(crate) fn position(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let f = of_case(g)?;
    let stand = f.draft.go(solver, &[(f.drive, g.degrees("crank")?)])?;
    let mut answers = Answers::default()
        .degrees("coupler", stand.angle(f.coupler))
        .degrees("rocker", stand.angle(f.rocker))
        .place("point", &stand.at(f.point));
    // A place asked for at a dead centre has no rates.
    if let Ok(moving) = stand.moving(f.drive) {
        let [rate, second] = moving.turn(f.rocker);
        answers = answers
            .number("rocker_rate", rate)
            .number("rocker_second", second)
            .number(
                "rocker_rad_per_s",
                rate * g.number_or("crank_rad_per_s", 1.0),
            );
    }
    Ok(answers)
}

/// The ends of the rocker's swing are the dead centres of the machine driven by its rocker.
pub(crate) fn limits(g: &Given) -> Result<Answers, String> {
    let f = four_bar(
        lengths(g)?,
        1.0,
        g.word("branch")? == "open",
        By::Rocker,
        [0.0; 2],
    )?;
    // With the crank drawn between the two in-line positions, turning the rocker forward leads to the folded one.
    let (extended, folded) = (
        f.draft.dead_centre(f.drive, 0.0)?,
        f.draft.dead_centre(f.drive, 3.0)?,
    );
    let [ec, er] = [extended.angle(f.crank), extended.angle(f.rocker)];
    let [fc, fr] = [folded.angle(f.crank), folded.angle(f.rocker)];
    Ok(Answers::default()
        .degrees("extended_crank", ec)
        .degrees("extended_rocker", er)
        .degrees("folded_crank", fc)
        .degrees("folded_rocker", fr)
        .degrees("swing", fr - er)
        .number("time_ratio", ratio(fc - ec)))
}

/// Both dead centres of a crank that cannot turn wholly.
pub(crate) fn dead_centres(g: &Given) -> Result<Answers, String> {
    let [a, b, c, e] = lengths(g)?;
    let f = four_bar([a, b, c, e], g.degrees("drawn")?, true, By::Crank, [0.0; 2])?;
    let (high, low) = (
        f.draft.dead_centre(f.drive, 6.0)?,
        f.draft.dead_centre(f.drive, -6.0)?,
    );
    let (up, down) = (high.angle(f.crank), low.angle(f.crank));
    if (up + down).abs() > 1e-9 {
        return Err(format!(
            "the dead centres {up} and {down} are not symmetric about the line of centres"
        ));
    }
    let stretched = |stand: &crate::draft::Stand| {
        let [x, y] = stand.at(f.ends[0]);
        ((x - e).hypot(y) - (b + c)).abs() < 1e-9
    };
    Ok(Answers::default()
        .degrees("stretched_crank", up)
        .flag("folded_exists", !(stretched(&high) && stretched(&low))))
}
