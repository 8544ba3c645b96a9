//! Cams: how steep, how sharp, how large they must be; their lift over the turn; the numbers to cut them by.
//!
//! ```text
//! fn survey(&Model, cam) -> Option<CamSurvey>        what there is to say of one
//! fn table(&Model, cam, cutter, step) -> CamTable    roller and cutter over the turn
//! ```
//!
//! Angles are those of the program: how far the cam has turned since its program began. Places are in the cam's own axes, with its centre as
//! origin: at the start of the program `out` points along the way of a follower in line, or to a rocker's pivot, and `aside` lies to its left, on
//! the face that is seen in the machine's view.

mod curves;
mod findings;
mod indexing;
mod room;
mod table;

pub use curves::{CamBeat, CamCurve, curve};
pub use findings::findings;
pub use shop::cams::{CamRow, CamTable};
pub use table::{shapes, table};

use crate::answers::{Outline, OutlineOf};
use crate::assemble::Model;
use crate::assemble::cams::Shape;
use elements::cams::{
    Follower, Law, Program, STEEP_IN_LINE, STEEP_ROCKER, Side, least_base, looked_at, smallest,
    survey as look_over,
};
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Serialize;
use std::f64::consts::TAU;

/// A number at a turn of the program.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CamSpot {
    /// Turn of the program, rad.
    pub at: f64,
    /// What is told there.
    pub value: f64,
}

/// One piece of a program.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CamPiece {
    /// "rise", "return", "dwell"; "curve" for a table or a derived cam.
    pub what: String,
    /// Its law, as the file names it; empty for a dwell.
    pub law: String,
    /// From this turn of the program, rad.
    pub from: f64,
    /// To this one.
    pub to: f64,
    /// Lift at its start, mm or rad.
    pub lift_from: f64,
    /// At its end.
    pub lift_to: f64,
    /// Greatest velocity, mm or rad by rad of the cam.
    pub velocity: f64,
    /// Greatest acceleration, by rad squared.
    pub acceleration: f64,
}

/// What there is to say of one cam.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CamSurvey {
    /// Its name.
    pub name: String,
    /// The part that it is.
    pub part: String,
    /// The part that follows.
    pub follower: String,
    /// It swings; lifts are angles then, rad, else mm.
    pub swings: bool,
    /// A closed track.
    pub track: bool,
    /// Diameter of roller or pin, mm.
    pub roller: f64,
    /// Radius of the circle of the roller's centre without lift, mm.
    pub circle: f64,
    /// Greatest less least lift.
    pub lift: f64,
    /// Where the pressure angle is greatest, and that, rad.
    pub steepest: CamSpot,
    /// What it may be.
    pub allowed: f64,
    /// Where the roller's path bulges most sharply, and its radius there, mm; none when it nowhere bulges.
    pub sharpest: Option<CamSpot>,
    /// Where it is most sharply hollow.
    pub hollowest: Option<CamSpot>,
    /// Least circle on which pressure angle and roller are within their limits, mm; none when no circle is.
    pub least_circle: Option<f64>,
    /// Greatest turns of the roller on its stud for a turn of the cam, while it rolls on the inner flank.
    pub roller_turns: CamSpot,
    /// The same on the outer flank of a track, where it turns the other way.
    pub outer_roller_turns: Option<CamSpot>,
    /// Turns at which acceleration steps, and by how much.
    pub strikes: Vec<CamSpot>,
    /// The program piece by piece, as lifts of the follower.
    pub pieces: Vec<CamPiece>,
    /// The reading it is derived from.
    pub derived_from: Option<String>,
    /// The reading it should be derived from, and could not: it is left round.
    pub left_round: bool,
}

/// The shape of a cam, when the drawing leaves one.
pub(crate) fn shape(model: &Model, cam: usize) -> Option<&Shape> {
    model.cams.get(cam)?.as_ref()
}

/// It should follow a reading and could not be derived: it is left round.
fn left_round(model: &Model, cam: usize) -> bool {
    let drawn = model.machine.cams.get(cam).and_then(|c| c.reading);
    drawn.is_some() && shape(model, cam).is_some_and(|s| !matches!(s.program, Program::Led(_)))
}

/// The pressure angle allowed, rad, and where that comes from.
pub(crate) fn allowed(model: &Model, cam: usize) -> (f64, &'static str) {
    let swings = shape(model, cam).is_some_and(|s| matches!(s.follower, Follower::Rocker { .. }));
    match model.machine.cams.get(cam).and_then(|c| c.steepest) {
        Some(own) => (own, "its own limit"),
        None if swings => (STEEP_ROCKER, "common practice for a rocker"),
        None => (STEEP_IN_LINE, "common practice for a slide"),
    }
}

/// Looks over a cam. None when the machine has no such cam, or the drawing leaves it no shape.
pub fn survey(model: &Model, cam: usize) -> Option<CamSurvey> {
    let (drawn, shape) = (model.machine.cams.get(cam)?, shape(model, cam)?);
    let seen = look_over(shape.follower, &shape.program).ok()?;
    let roller = shape.follower.roller();
    let (allowed, _) = allowed(model, cam);
    let [low, high] = shape.program.ends();
    let spot = |at: f64, value: f64| CamSpot {
        at: at.rem_euclid(TAU),
        value,
    };
    let name = |part: usize| {
        model
            .machine
            .parts
            .get(part)
            .map_or(String::new(), |p| p.name.clone())
    };
    let fastest = |side: Side| {
        let turns = looked_at(&shape.program).into_iter().map(|angle| {
            let place = shape.follower.place(angle, shape.program.at(angle));
            spot(angle, place.roller_turns(side, roller).abs())
        });
        let known = turns.filter(|s| s.value.is_finite());
        known
            .max_by(|a, b| a.value.total_cmp(&b.value))
            .unwrap_or(spot(0.0, 0.0))
    };
    Some(CamSurvey {
        name: drawn.name.clone(),
        part: name(drawn.part),
        follower: name(drawn.of),
        swings: matches!(shape.follower, Follower::Rocker { .. }),
        track: drawn.track,
        roller: drawn.diameter,
        circle: shape.follower.circle(),
        lift: high - low,
        steepest: spot(seen.steepest.angle, seen.steepest.pressure.abs()),
        allowed,
        sharpest: seen.sharpest.map(|p| spot(p.angle, p.radius)),
        hollowest: seen.hollowest.map(|p| spot(p.angle, -p.radius)),
        least_circle: least_circle(shape, allowed),
        roller_turns: fastest(Side::Inner),
        outer_roller_turns: drawn.track.then(|| fastest(Side::Outer)),
        strikes: drawn
            .program
            .jumps()
            .into_iter()
            .map(|j| spot(j.at, j.by))
            .collect(),
        pieces: pieces(&shape.program),
        left_round: left_round(model, cam),
        derived_from: drawn
            .reading
            .and_then(|r| model.machine.readings.get(r))
            .map(|r| r.name.clone()),
    })
}

/// Least circle on which the pressure angle stays within its limit and the roller fits over the sharpest bulge.
pub(crate) fn least_circle(shape: &Shape, allowed: f64) -> Option<f64> {
    let roller = shape.follower.roller();
    least_base(shape.follower, &shape.program, allowed, roller)
        .ok()
        .flatten()
}

/// The smallest cam that does the same, its slide or rocker placed freely.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SmallestCam {
    /// Its name.
    pub cam: String,
    /// Radius of the circle of the roller's centre without lift, mm.
    pub circle: f64,
    /// How far the way of the slide passes the centre, mm; to the right as it goes outwards where the program runs counter-clockwise, to the
    /// left where it runs clockwise: the side that eases the rise. None of a rocker.
    pub offset: Option<f64>,
    /// Distance of a rocker's pivot from the centre, mm.
    pub centres: Option<f64>,
    /// The rocker's roller stands on the other side of the line of centres than drawn.
    pub other_hand: bool,
}

/// Searches for it. None where no place keeps the limits, or the cam has no shape.
pub fn smallest_cam(model: &Model, cam: usize) -> Option<SmallestCam> {
    let (drawn, shape) = (model.machine.cams.get(cam)?, shape(model, cam)?);
    let (limit, _) = allowed(model, cam);
    let roller = shape.follower.roller();
    let found = smallest(shape.follower, &shape.program, limit, roller).ok()??;
    let hand = |f: Follower| match f {
        Follower::Rocker { hand, .. } => hand,
        _ => 0.0,
    };
    Some(SmallestCam {
        cam: drawn.name.clone(),
        circle: found.circle(),
        offset: match found {
            Follower::InLine { offset, .. } => Some(offset),
            _ => None,
        },
        centres: match found {
            Follower::Rocker { centres, .. } => Some(centres),
            _ => None,
        },
        other_hand: hand(found) * hand(shape.follower) < 0.0,
    })
}

/// Every cam of the machine.
pub fn surveys(model: &Model) -> Vec<CamSurvey> {
    (0..model.machine.cams.len())
        .into_par_iter()
        .filter_map(|cam| survey(model, cam))
        .collect()
}

/// The smallest that each of them could be.
pub fn smallest_cams(model: &Model) -> Vec<SmallestCam> {
    (0..model.machine.cams.len())
        .into_par_iter()
        .filter_map(|cam| smallest_cam(model, cam))
        .collect()
}

/// Where the pressure angle of a cam is greatest, and that, rad.
pub(crate) fn steepest(model: &Model, cam: usize) -> Option<CamSpot> {
    let shape = shape(model, cam)?;
    let seen = look_over(shape.follower, &shape.program).ok()?;
    Some(CamSpot {
        at: seen.steepest.angle.rem_euclid(TAU),
        value: seen.steepest.pressure.abs(),
    })
}

fn pieces(program: &Program) -> Vec<CamPiece> {
    let Program::Pieces(all) = program else {
        let [low, high] = program.ends();
        let (mut velocity, mut acceleration) = (0.0_f64, 0.0_f64);
        for n in 0..720 {
            let m = program.at(f64::from(n).to_radians() / 2.0);
            velocity = velocity.max(m.velocity.abs());
            acceleration = acceleration.max(m.acceleration.abs());
        }
        return vec![CamPiece {
            what: String::from("curve"),
            law: String::new(),
            from: 0.0,
            to: TAU,
            lift_from: low,
            lift_to: high,
            velocity,
            acceleration,
        }];
    };
    let (mut at, mut lift) = (0.0, all.last().map_or(0.0, |p| p.to));
    let mut pieces = Vec::new();
    for piece in all {
        let by = piece.to - lift;
        let (what, law) = if by == 0.0 {
            ("dwell", "")
        } else if by > 0.0 {
            ("rise", piece.law.name())
        } else {
            ("return", piece.law.name())
        };
        let peaks = Law::peaks(piece.law);
        pieces.push(CamPiece {
            what: what.to_owned(),
            law: law.to_owned(),
            from: at,
            to: at + piece.over,
            lift_from: lift,
            lift_to: piece.to,
            velocity: by.abs() * peaks.velocity / piece.over,
            acceleration: by.abs() * peaks.acceleration / piece.over.powi(2),
        });
        at += piece.over;
        lift = piece.to;
    }
    pieces
}

/// Places of a flank in a picture.
const PLACES: u32 = 360;

/// The outlines of all cams as drawn, and behind them those of Geneva wheels.
pub(crate) fn outlines(model: &Model) -> Vec<Outline> {
    let mut all = Vec::new();
    for own in shapes(model) {
        let (Some(cam), Some(shape)) = (model.machine.cams.get(own.cam), shape(model, own.cam))
        else {
            continue;
        };
        let m = &model.mechanism;
        let [cx, cy] = m.in_plane(&m.params, &m.drawn, shape.centre);
        let (s, c) = own.direction.sin_cos();
        let roller = shape.follower.roller();
        let flank = |side: Side| -> Vec<[f64; 2]> {
            (0..PLACES)
                .map(|n| {
                    let angle = f64::from(n) * TAU / f64::from(PLACES);
                    let place = shape.follower.place(angle, shape.program.at(angle));
                    let [out, aside] = own.in_own_axes(place.flank(side, roller));
                    [cx + c * out - s * aside, cy + s * out + c * aside]
                })
                .collect()
        };
        let mut lines = vec![flank(Side::Inner)];
        if cam.track {
            lines.push(flank(Side::Outer));
        }
        all.push(Outline {
            what: OutlineOf::Cam,
            name: cam.name.clone(),
            part: cam.part,
            centre: cam.centre,
            roller: cam.roller,
            of: cam.of,
            radius: roller,
            lines,
        });
    }
    all.extend(indexing::outlines(model));
    all
}
