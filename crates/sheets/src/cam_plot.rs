//! A cam over the turn of its program: lift, pressure angle, curvature, and how hard its roller presses.

use quantity::Unit;
use studies::cams::{CamBeat, CamCurve, CamSurvey};
use studies::cycle::{CamPressed, Press};

use crate::number::unit_of_force;
use crate::plot::{Axis, Curve, Limit, Panel, Place, Plot, Sample};

/// Further apart than this two places are no neighbours, rad: the drive does not turn the cam through what lies between.
const GAP: f64 = 0.1;

/// The plot of a cam. `length` is the unit in which the machine's lengths are read, `pressed` what its roller does at speed.
pub fn of_cam(
    curve: &CamCurve,
    survey: &CamSurvey,
    pressed: Option<&CamPressed>,
    length: Unit,
) -> Plot {
    let of =
        |of: &dyn Fn(&CamBeat) -> f64, rate: &dyn Fn(&CamBeat) -> Option<f64>| -> Vec<Sample> {
            let sample = |b: &CamBeat| Sample {
                at: b.turn,
                value: of(b),
                rate: rate(b),
            };
            curve.places.iter().map(sample).collect()
        };
    let lift = if survey.swings { Unit::Degree } else { length };
    let inches = matches!(length, Unit::Inch | Unit::Thou | Unit::Foot);
    let (scale, per) = if inches {
        (25.4, "1/in")
    } else {
        (1.0, "1/mm")
    };
    let steep = |value: f64, least: bool| limit("allowed", value, least);
    let roller = 2.0 * scale / survey.roller;
    let mut panels = vec![
        panel(
            "lift",
            lift,
            of(&|b| b.lift, &|b| Some(b.velocity)),
            Vec::new(),
        ),
        panel(
            "pressure angle",
            Unit::Degree,
            of(&|b| b.pressure, &|_| None),
            vec![steep(survey.allowed, false), steep(-survey.allowed, true)],
        ),
        panel(
            &format!("curvature of the roller's path, {per}"),
            Unit::One,
            of(&|b| b.curvature * scale, &|_| None),
            std::iter::once(limit("that of the roller", roller, false))
                .chain(
                    survey
                        .track
                        .then(|| limit("that of the roller", -roller, true)),
                )
                .collect(),
        ),
    ];
    for (name, unit, of) in [
        (
            "force on the flank",
            unit_of_force(false, length),
            &(|p: &Press| Some(p.force)) as &dyn Fn(&Press) -> Option<f64>,
        ),
        ("contact pressure, MPa", Unit::One, &|p: &Press| p.pressure),
    ] {
        let points = pressed.map(|p| over_the_turn(p, of)).unwrap_or_default();
        if points.iter().filter(|s| s.value.is_finite()).count() > 1 {
            let bears = pressed
                .and_then(|p| p.allowed)
                .filter(|_| unit == Unit::One);
            let limits = bears.map(|b| limit("begins to dent", b, false));
            panels.push(panel(name, unit, points, limits.into_iter().collect()));
        }
    }
    let kind = if survey.track { "track" } else { "cam" };
    let places = survey.pieces.iter().filter(|p| p.what != "curve");
    Plot {
        title: format!("{kind} {} over its program", curve.name),
        note: format!("moves {}", survey.follower),
        across: Axis {
            name: format!("turn of {}", curve.part),
            unit: Unit::Degree,
        },
        places: places
            .map(|p| Place {
                at: p.from,
                words: p.what.clone(),
            })
            .collect(),
        panels,
    }
}

/// By the turn of the program, broken where the drive does not turn the cam through it.
fn over_the_turn(pressed: &CamPressed, of: &dyn Fn(&Press) -> Option<f64>) -> Vec<Sample> {
    let sample = |p: &Press| Sample {
        at: p.turn,
        value: of(p).unwrap_or(f64::NAN),
        rate: None,
    };
    let mut all: Vec<Sample> = pressed.places.iter().map(sample).collect();
    all.sort_by(|a, b| a.at.total_cmp(&b.at));
    // Round the end of the turn it goes on.
    let turn = std::f64::consts::TAU;
    if let (Some(&first), Some(&last)) = (all.first(), all.last())
        && first.at < 1e-9
        && turn - last.at < GAP
    {
        all.push(Sample { at: turn, ..first });
    }
    let mut broken: Vec<Sample> = Vec::with_capacity(all.len());
    for sample in all {
        if let Some(&before) = broken.last()
            && sample.at - before.at > GAP
        {
            broken.push(Sample {
                value: f64::NAN,
                ..before
            });
        }
        broken.push(sample);
    }
    broken
}

fn limit(name: &str, value: f64, least: bool) -> Limit {
    Limit {
        name: name.to_owned(),
        value,
        least,
        over: None,
    }
}

/// A limit that the curve does not come near, by this share of itself, is not drawn: the text tells it.
const NEAR: f64 = 0.4;

fn panel(name: &str, unit: Unit, points: Vec<Sample>, mut limits: Vec<Limit>) -> Panel {
    let values = points.iter().map(|s| s.value).filter(|v| v.is_finite());
    let [low, high] = values.fold([f64::INFINITY, f64::NEG_INFINITY], |[l, h], v| {
        [l.min(v), h.max(v)]
    });
    limits.retain(|l| {
        let end = if l.least { low } else { high };
        end * l.value.signum() > NEAR * l.value.abs()
    });
    Panel {
        up: Axis {
            name: name.to_owned(),
            unit,
        },
        curves: vec![Curve {
            name: name.to_owned(),
            points,
        }],
        marks: Vec::new(),
        limits,
        bands: Vec::new(),
        rests: Vec::new(),
    }
}
