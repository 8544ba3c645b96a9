//! What follows from sensitivities: effects of lengths, spread and corners of a four-bar, the one-way clutch.

use crate::draft::{Draft, polar};
use crate::fourbar::{FourBar, of_case};
use crate::{Answers, Given, Solver};
use mechanics::model::{Measure, ParamId};

fn rocker_angle(f: &FourBar) -> Measure {
    Measure::Angle {
        body: f.rocker,
        against: 0,
        offset: 0.0,
    }
}

/// Parameters of the lengths of crank, coupler, rocker and the distance of the centres.
fn lengths(f: &FourBar) -> [ParamId; 4] {
    f.ends.map(|end| f.draft.m.anchors[end].u)
}

pub(crate) fn four_bar_sensitivities(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let f = of_case(g)?;
    let stand = f.draft.go(solver, &[(f.drive, g.degrees("crank")?)])?;
    let by = stand.sensitivity(&rocker_angle(&f))?.by_param;
    let [a, b, c, d] = lengths(&f).map(|p| by[p]);
    Ok(Answers::default()
        .number("by_crank", a)
        .number("by_coupler", b)
        .number("by_rocker", c)
        .number("by_centres", d)
        .number("by_crank_angle", by[f.drive]))
}

/// Spread of the rocker's angle to first order, shift of its mean to second, when all lengths have the same sigma.
pub(crate) fn four_bar_spread(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let f = of_case(g)?;
    let sigma = g.number("sigma")?;
    let stand = f.draft.go(solver, &[(f.drive, g.degrees("crank")?)])?;
    let (mut square, mut shift) = (0.0, 0.0);
    for length in lengths(&f) {
        let [_, first, second] = stand.moving(length)?.along(&rocker_angle(&f));
        square += (sigma * first).powi(2);
        shift += 0.5 * sigma * sigma * second;
    }
    Ok(Answers::default()
        .degrees("spread", f64::sqrt(square))
        .degrees("mean_shift", shift))
}

/// Limits of the rocker's angle when every length may be off by the tolerance: linear, root of squares, and over all corners.
pub(crate) fn four_bar_corners(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let f = of_case(g)?;
    let (tolerance, crank) = (g.number("tolerance")?, g.degrees("crank")?);
    let by = f
        .draft
        .go(solver, &[(f.drive, crank)])?
        .sensitivity(&rocker_angle(&f))?
        .by_param;
    let effects = lengths(&f).map(|p| (tolerance * by[p]).abs());
    let (mut least, mut greatest) = (f64::INFINITY, f64::NEG_INFINITY);
    for corner in 0..16_u32 {
        let mut to = vec![(f.drive, crank)];
        for (bit, p) in lengths(&f).into_iter().enumerate() {
            let off = if corner >> bit & 1 == 1 {
                tolerance
            } else {
                -tolerance
            };
            to.push((p, f.draft.m.params[p] + off));
        }
        let angle = f.draft.go(solver, &to)?.value(&rocker_angle(&f));
        least = least.min(angle);
        greatest = greatest.max(angle);
    }
    Ok(Answers::default()
        .degrees("linear", effects.iter().sum())
        .degrees("rss", effects.iter().map(|e| e * e).sum::<f64>().sqrt())
        .degrees("least", least)
        .degrees("greatest", greatest))
}

/// One-way clutch: the roller touches the hub's flat and the ring. Its centre is a roller radius above the flat and a roller radius
/// inside the ring; the wedge angle is that of the line of centres from upright.
pub(crate) fn clutch(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let (a, c, e) = (g.number("flat")?, g.number("roller")?, g.number("ring")?);
    let mut d = Draft::new();
    let reach = e - c;
    let line = d.bar([0.0; 2], polar([0.0; 2], reach, 1.2));
    let (fixed, hub, roller) = (
        d.fixed([0.0; 2]),
        d.hole(line, [0.0; 2]),
        d.hole(line, [reach, 0.0]),
    );
    d.pin(fixed, hub);
    let height = d.on_line(roller, fixed, 0.0);
    let drawn = d.m.drawn[line].angle.sin() * reach;
    d.m.params[height] = drawn;
    let stand = d.go(solver, &[(height, a + c)])?;
    let wedge = Measure::Angle {
        body: line,
        against: 0,
        offset: -std::f64::consts::FRAC_PI_2,
    };
    let found = stand.sensitivity(&wedge)?;
    let (by_height, by_reach) = (
        found.by_param[height],
        found.by_param[d.m.anchors[roller].u],
    );
    Ok(Answers::default()
        .degrees("wedge", -found.value)
        .number("by_flat", -by_height)
        .number("by_roller", by_reach - by_height)
        .number("by_ring", -by_reach))
}
