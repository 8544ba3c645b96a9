//! Slider-cranks, in line and offset, to either side.

use crate::draft::{Draft, polar};
use crate::{Answers, Given, Solver};
use mechanics::model::{AnchorId, BodyId, ParamId};
use std::f64::consts::{PI, TAU};

struct SliderCrank {
    draft: Draft,
    drive: ParamId,
    crank: BodyId,
    rod: BodyId,
    slide: AnchorId,
}

/// Crank about the origin, slide along the line `offset` above it. Driven by the crank, or by the slide.
fn slider_crank(g: &Given, drawn: f64, by_slide: bool) -> Result<SliderCrank, String> {
    let (r, l, e) = (g.number("crank")?, g.number("rod")?, g.number("offset")?);
    let side = if g.word("side") == Ok("left") {
        -1.0
    } else {
        1.0
    };
    let mut d = Draft::new();
    let pin = polar([0.0; 2], r, drawn);
    let root = (l * l - (e - pin[1]).powi(2)).sqrt();
    if root.is_nan() {
        return Err("the rod does not reach as drawn".to_owned());
    }
    let end = [pin[0] + side * root, e];
    let (crank, rod, ram) = (d.bar([0.0; 2], pin), d.bar(pin, end), d.m.body(0, end, 0.0));
    let centre = d.fixed([0.0; 2]);
    let [c0, c1, r0, r1, slide] = [(crank, 0.0), (crank, r), (rod, 0.0), (rod, l), (ram, 0.0)]
        .map(|(b, u)| d.hole(b, [u, 0.0]));
    d.pin(centre, c0);
    d.pin(c1, r0);
    d.pin(r1, slide);
    let guide = d.fixed([0.0, e]);
    d.on_line(slide, guide, 0.0);
    d.drive(ram, 0);
    let drive = if by_slide {
        d.push(slide, guide, 0.0, end[0])
    } else {
        d.drive(crank, 0)
    };
    Ok(SliderCrank {
        draft: d,
        drive,
        crank,
        rod,
        slide,
    })
}

pub(crate) fn position(g: &Given, solver: &dyn Solver) -> Result<Answers, String> {
    let s = slider_crank(g, 1.0, false)?;
    let stand = s.draft.go(solver, &[(s.drive, g.degrees("crank")?)])?;
    let [x, ..] = s.draft.place_of(s.slide);
    let [slide, rate, second] = stand.moving(s.drive)?.along(&x);
    let rod = stand.angle(s.rod);
    let from_slide = (rod + PI) - TAU * ((rod + PI) / TAU).round();
    Ok(Answers::default()
        .number("slide", slide)
        .degrees("rod", rod)
        .degrees("rod_from_slide", from_slide)
        .number("slide_rate", rate)
        .number("slide_second", second))
}

/// The ends of the stroke are the dead centres of the machine driven by its slide.
pub(crate) fn limits(g: &Given) -> Result<Answers, String> {
    let s = slider_crank(g, 1.0, true)?;
    let (r, l) = (g.number("crank")?, g.number("rod")?);
    let outer = s.draft.dead_centre(s.drive, 2.0 * (r + l))?;
    let inner = s.draft.dead_centre(s.drive, 0.0)?;
    let (a, b) = (outer.angle(s.crank), inner.angle(s.crank));
    let stroke = outer.at(s.slide)[0] - inner.at(s.slide)[0];
    let there = b - a;
    Ok(Answers::default()
        .degrees("outer_crank", a)
        .degrees("inner_crank", b)
        .number("stroke", stroke)
        .number("time_ratio", ratio(there)))
}

/// Time ratio of two strokes when one of them takes `there` of the crank's turn: the slow one over the quick one.
pub(crate) fn ratio(there: f64) -> f64 {
    let back = TAU - there;
    (there / back).max(back / there)
}
