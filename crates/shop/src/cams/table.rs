//! The numbers to cut a cam by.

use super::CamShape;
use elements::ElementError;
use elements::cams::{Follower, Side, offset_curve};
use schemars::JsonSchema;
use serde::Serialize;
use std::f64::consts::TAU;

/// One line of the table. Places are `[out, aside]` in the cam's own axes, mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CamRow {
    /// Turn of the program, rad.
    pub at: f64,
    /// Lift, mm or rad.
    pub lift: f64,
    /// Distance of the roller's centre from that of the cam, mm.
    pub radius: f64,
    /// The roller's centre.
    pub roller: [f64; 2],
    /// Where the flank lies: the inner one of a track.
    pub flank: [f64; 2],
    /// The cutter's centre on the flank; in a track cut in one go with a cutter of the roller's size it is the roller's own.
    pub cutter: [f64; 2],
    /// The same on the outer flank of a track.
    pub outer_cutter: Option<[f64; 2]>,
    /// Pressure angle, rad.
    pub pressure: f64,
    /// Radius of curvature of the path of the roller's centre, mm; below nothing where it is hollow, none where it is straight.
    pub bend: Option<f64>,
}

/// A path of this radius is straight, mm.
const STRAIGHT: f64 = 1e7;

/// A cam as numbers.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CamTable {
    /// Name of the cam.
    pub name: String,
    /// Lifts are angles, rad, else mm.
    pub swings: bool,
    /// Diameter of roller or pin, mm.
    pub roller: f64,
    /// Diameter of the cutter, mm.
    pub cutter: f64,
    /// Turn from line to line, rad.
    pub step: f64,
    /// One line a step over the whole turn, the first not repeated.
    pub rows: Vec<CamRow>,
}

/// Roller and cutter over the turn, for a cutter of this diameter, in so many lines.
///
/// # Errors
/// Sizes that cannot be; a cutter that does not go into the hollows of the flank.
pub fn table(
    name: &str,
    shape: &CamShape,
    track: bool,
    cutter: f64,
    places: u32,
) -> Result<CamTable, ElementError> {
    let path = |side: Side| offset_curve(shape.cut(), &shape.program, side, 0.5 * cutter, places);
    let inner = path(Side::Inner)?;
    let outer = if track {
        Some(path(Side::Outer)?)
    } else {
        None
    };
    let roller = shape.follower.roller();
    let rows = (0..places).zip(&inner).map(|(n, cut)| {
        let at = f64::from(n) * TAU / f64::from(places);
        let place = shape.place(at);
        CamRow {
            at,
            lift: place.motion.lift,
            radius: place.centre[0].hypot(place.centre[1]),
            roller: shape.in_own_axes(place.centre),
            flank: shape.in_own_axes(place.flank(Side::Inner, shape.cut().roller())),
            cutter: shape.in_own_axes(*cut),
            outer_cutter: outer
                .as_ref()
                .and_then(|o| o.get(n as usize))
                .map(|p| shape.in_own_axes(*p)),
            pressure: place.pressure,
            bend: Some(place.radius).filter(|r| r.is_finite() && r.abs() < STRAIGHT),
        }
    });
    Ok(CamTable {
        name: name.to_owned(),
        swings: matches!(shape.follower, Follower::Rocker { .. }),
        roller: 2.0 * roller,
        cutter,
        step: TAU / f64::from(places),
        rows: rows.collect(),
    })
}
