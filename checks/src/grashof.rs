//! The class of a four-bar, told by what the mechanism does: each bar is turned, and it is seen which goes round.

use crate::fourbar::{By, FourBar, four_bar};
use crate::{Answers, Given};
use mechanics::{Ended, close, follow};
use std::f64::consts::TAU;

pub(crate) fn class(g: &Given) -> Result<Answers, String> {
    let sides = [
        g.number("input")?,
        g.number("coupler")?,
        g.number("output")?,
        g.number("ground")?,
    ];
    let Some(drawn) = assembles(sides)? else {
        return Ok(Answers::default().word("class", "does not assemble"));
    };
    let input = turns(sides, drawn, By::Crank)?;
    let coupler = turns(sides, drawn, By::Coupler)?;
    let output = turns(sides, drawn, By::Rocker)?;
    let class = if input.1 || coupler.1 || output.1 {
        "change point"
    } else {
        match (input.0, output.0, coupler.0) {
            (true, true, _) => "double crank",
            (true, false, _) => "crank-rocker",
            (false, true, _) => "rocker-crank",
            (false, false, true) => "double rocker",
            (false, false, false) => "triple rocker",
        }
    };
    Ok(Answers::default().word("class", class))
}

/// A crank angle at which the bars close from a rough sketch, if there is one.
fn assembles(sides: [f64; 4]) -> Result<Option<f64>, String> {
    // The sketch has bars of such lengths that it can be drawn; closing then meets the true ones or does not.
    let rough = four_bar([40.0, 60.0, 60.0, 60.0], 1.0, true, By::Crank, [0.0; 2])?;
    for step in 0..24 {
        let drawn = 0.1 + TAU * f64::from(step) / 24.0;
        let mut f = rough.draft.clone();
        for (anchor, side) in rough.ends.iter().zip(sides) {
            let u = f.m.anchors[*anchor].u;
            f.m.params[u] = side;
        }
        f.m.params[rough.drive] = drawn;
        let mut poses = f.m.drawn.clone();
        if close(&f.m, &f.m.params, &mut poses).is_ok() {
            return Ok(Some(drawn));
        }
    }
    Ok(None)
}

/// Whether a bar goes round a whole turn, and whether a change point is met on the way.
fn turns(sides: [f64; 4], drawn: f64, by: By) -> Result<(bool, bool), String> {
    let FourBar { draft, drive, .. } = four_bar(sides, drawn, true, by, [0.0; 2])?;
    let mut to = draft.m.params.clone();
    to[drive] += TAU;
    let followed = follow(&draft.m, &draft.state(), &to);
    match followed.ended {
        Ended::Reached => Ok((true, !followed.change_points.is_empty())),
        Ended::DeadCentre { .. } => Ok((false, !followed.change_points.is_empty())),
        // The coupler of a parallelogram does not turn at all, so that turning it is no drive.
        Ended::StartsSingular => Ok((false, false)),
        ended => Err(format!("{ended:?} at {}", followed.share)),
    }
}
