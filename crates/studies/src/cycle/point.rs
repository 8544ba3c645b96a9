//! How fast any point of the machine goes over a turn, how hard it is accelerated, and its jerk.

use super::{Spot, beats, dial, peak, reach};
use crate::answers::EndKind;
use crate::assemble::{Gauge, Model, Stand};
use crate::refusal::Refusal;
use crate::run::Bench;
use machine::Place;
use machine::model::{FRAME, Measures, PointId, Reading};
use mechanics::model::Measure;
use schemars::JsonSchema;
use serde::Serialize;
use std::f64::consts::FRAC_PI_2;

/// A point at one place of the drive. Rates are by the drive, in mm by its inside unit (rad or mm), once, twice and three times.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PointBeat {
    /// Value of the drive.
    pub at: f64,
    /// Length of its first rate: times the speed of the drive, how fast it goes.
    pub rate: f64,
    /// Length of its second rate: times the square of that speed, its acceleration at a steady drive.
    pub second: f64,
    /// Length of its third rate: times the cube, its jerk.
    pub third: Option<f64>,
}

/// A point over a whole turn or stroke.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PointTurned {
    /// Its name.
    pub point: String,
    /// Where it goes fastest; none where that is right beside a dead centre and has no bound.
    pub fastest: Option<Spot>,
    /// Where it is accelerated hardest.
    pub hardest: Option<Spot>,
    /// Where its jerk is greatest.
    pub jerks: Option<Spot>,
    /// The curve.
    pub curve: Vec<PointBeat>,
}

/// So near a dead centre, as a share of the way, what is greatest has no bound.
const BESIDE: f64 = 0.01;

/// How a point goes while a drive runs through all that it can do.
///
/// # Errors
/// The machine cannot be brought there; the drive moves nothing, or not that point.
pub fn point_turned(
    model: &Model,
    stand: &Stand,
    drive: usize,
    point: PointId,
) -> Result<PointTurned, Refusal> {
    let name = model.machine.points.get(point).map(|p| p.name.clone());
    let name = name.ok_or_else(|| Refusal::new("the machine has no such point", ""))?;
    let model = &placed(model, point, &name)?;
    let [right, up] = [2, 1].map(|n| model.machine.readings.len() - n);
    let mut bench = Bench::new(model);
    if !bench.depends(right, drive) && !bench.depends(up, drive) {
        let by = model.drive(drive).name;
        return Err(Refusal::new(
            format!("{by} does not move point {name}"),
            "name a point that it moves",
        ));
    }
    let (here, track, span) = reach(&mut bench, stand, drive)?;
    let (low, high) = (span.low.at, span.high.at);
    let count = beats(track.period.turns);
    let mut grid: Vec<f64> = (0..=count)
        .map(|i| low + (high - low) * i as f64 / count as f64)
        .collect();
    // Just before and behind a place where the law of a cam changes.
    let beside = 1e-6 * (high - low);
    let seams = track.seams(model).into_iter();
    grid.extend(seams.flat_map(|x| [x - beside, x + beside]));
    grid.retain(|x| (low..=high).contains(x));
    grid.sort_by(f64::total_cmp);
    let mut there = here.clone();
    let mut at = |at: f64| -> Option<PointBeat> {
        let mut read = |reading| bench.slope_on(reading, &track, at, &mut there);
        let (x, y) = (read(right)?, read(up)?);
        let thirds = [right, up].map(|r| bench.third_on(r, &track, at, &here));
        Some(PointBeat {
            at,
            rate: x.slope?.hypot(y.slope?),
            second: x.bend?.hypot(y.bend?),
            third: thirds[0].zip(thirds[1]).map(|(x, y)| x.hypot(y)),
        })
    };
    let curve: Vec<PointBeat> = grid.into_iter().filter_map(&mut at).collect();
    let dead: Vec<f64> = [&span.low, &span.high]
        .into_iter()
        .filter(|b| b.kind == EndKind::DeadCentre)
        .map(|b| b.at)
        .collect();
    let mut most = |of: &dyn Fn(&PointBeat) -> Option<f64>| {
        let known: Vec<(f64, f64)> = curve.iter().filter_map(|b| Some((b.at, of(b)?))).collect();
        let found = peak(&known, 1.0, &mut |x| of(&at(x)?))?;
        let bounded = dead
            .iter()
            .all(|d| (found.at - d).abs() >= BESIDE * (high - low));
        bounded.then(|| Spot {
            at: dial(model, drive, span.round, track.period.turns, found.at),
            value: found.value,
        })
    };
    Ok(PointTurned {
        fastest: most(&|b| Some(b.rate)),
        hardest: most(&|b| Some(b.second)),
        jerks: most(&|b| b.third),
        point: name,
        curve,
    })
}

/// The machine with two readings more: how far the point stands right and up of a point of the frame.
fn placed(model: &Model, point: PointId, name: &str) -> Result<Model, Refusal> {
    let plane = model.machine.points[point].plane;
    let anchors = &model.mechanism.anchors;
    let fixed = anchors
        .iter()
        .position(|a| a.body == FRAME && a.plane == plane);
    let own = model.carriers.get(point).and_then(|c| c.first());
    let (Some(a), Some(&(_, b))) = (fixed, own) else {
        return Err(Refusal::new(
            format!(
                "nothing tells how point {name} moves: no part carries it, or the frame nothing in its plane"
            ),
            "let a part carry it",
        ));
    };
    let drawn = &model.mechanism.planes[plane];
    let mut model = model.clone();
    for (along, direction) in [(0.0, drawn.right), (FRAC_PI_2, drawn.up)] {
        model.machine.readings.push(Reading {
            name: String::from(name),
            measures: Measures::PlaceOf { point, along },
            unit: model.machine.unit,
            place: Place::default(),
        });
        model
            .gauges
            .push(Gauge::Pose(Measure::Along { a, b, direction }));
    }
    Ok(model)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::*;

    /// A point on a crank goes round: r, r and r by the turn, whatever the order. And the slide of a slider-crank by the closed form.
    #[test]
    fn a_crank_pin_goes_round_and_a_slide_as_the_closed_form_says() {
        let text = r#"
[point]
o = [0, 0]
a = { from = "o", reach = 40, angle = "0 deg" }
b = [170, 0]
[frame]
carries = ["o"]
[part.crank]
carries = ["o", "a"]
[part.ram]
carries = ["b"]
[rod.push]
joins = ["a", "b"]
[slide.ram]
part = "ram"
along = "right"
[drive.turn]
turns = "crank"
range = "whole turn"
"#;
        let machine = machine::read_text("t.toml", text).machine.unwrap();
        let model = crate::assemble(&machine);
        let point = |name: &str| machine.points.iter().position(|p| p.name == name).unwrap();
        let pin = point_turned(&model, &model.drawn(), 0, point("a")).unwrap();
        for beat in &pin.curve {
            for value in [beat.rate, beat.second, beat.third.unwrap()] {
                assert!((value - 40.0).abs() < 1e-6, "{beat:?}");
            }
        }
        // Acceleration of the slide is greatest at the outer dead centre: r (1 + r/l) (Shigley and Uicker, slider-crank).
        let ram = point_turned(&model, &model.drawn(), 0, point("b")).unwrap();
        let hardest = ram.hardest.unwrap();
        assert!(
            (hardest.value - 40.0 * (1.0 + 40.0 / 130.0)).abs() < 1e-6,
            "{hardest:?}"
        );
        let speed = |t: f64| {
            let root = (130.0_f64.powi(2) - (40.0 * t.sin()).powi(2)).sqrt();
            (40.0 * t.sin() + 1600.0 * t.sin() * t.cos() / root).abs()
        };
        let fastest = ram.fastest.unwrap();
        let by_hand = (0..36_000)
            .map(|n| speed(f64::from(n) * 1e-4))
            .fold(0.0, f64::max);
        assert!(
            (fastest.value - by_hand).abs() < 1e-5,
            "{fastest:?} {by_hand}"
        );
        assert!(point_turned(&model, &model.drawn(), 0, point("o")).is_err());
    }
}
