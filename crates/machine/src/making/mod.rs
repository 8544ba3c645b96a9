//! How pieces are made: plates, turned parts and bars, and what is bought. As the file says it, in mm and rad, names resolved.
//!
//! A piece has the name of a part, shaft or rod of the machine, or a name of its own. Points that its part carries are its holes;
//! they are not said again. Places on a plate count from its datum hole, the first that it carries, with x towards the second; a plate of the
//! frame keeps right and up of its plane. Places on a turned piece count from its left end.

mod bend;
mod cuts;
mod outlines;
pub mod path;
mod plate;
mod purchase;
mod read;
mod sense;
pub mod sides;
mod turned;

use crate::fitting::{Fitted, Sized};
use crate::model::{PartId, Place, PointId};
use crate::work::Stock;
use quantity::Thread;

pub(crate) use purchase::purchases;
pub(crate) use read::{First, pieces};

/// What is made and bought, in file order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Making {
    /// Pieces.
    pub pieces: Vec<Piece>,
    /// Bought parts that the rest of the file does not name.
    pub purchases: Vec<Purchase>,
}

/// Whose piece it is.
#[derive(Clone, Debug, PartialEq)]
pub enum Of {
    /// A part, shaft or clamped arm of the machine.
    Part(PartId),
    /// A rod, by its index.
    Rod(usize),
    /// A plate of the frame with holes at these points, all of one plane; the first is its datum.
    Frame(Vec<PointId>),
    /// No part of the motion: a pin, a spacer, a cover.
    Loose,
}

/// A piece that is made.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Name.
    pub name: String,
    /// Whose it is.
    pub of: Of,
    /// How many are wanted.
    pub count: usize,
    /// Stations of the middle of its thickness, mm, of a plate of the frame; empty where its points stand.
    pub stations: Vec<f64>,
    /// One line for the drawing, or empty.
    pub note: String,
    /// Its stock, when the piece says it; else that of the part.
    pub stock: Option<Stock>,
    /// What it looks like.
    pub shape: Shape,
    /// Where it is named.
    pub place: Place,
}

/// What a piece looks like.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Cut from plate or flat bar.
    Plate(Plate),
    /// Turned from bar.
    Turned(Turned),
}

/// A plate: an outline of one thickness with holes square to it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plate {
    /// Its outline.
    pub outline: Outline,
    /// Round ends about points, where they differ from what the holes and the stock say.
    pub bosses: Vec<Boss>,
    /// Places keep right and up of the plane as drawn; else x goes from the first point towards the second.
    pub upright: bool,
    /// Points joined by straight sides; empty: all to the datum.
    pub arms: Vec<[PointId; 2]>,
    /// Radius of inside corners.
    pub fillet: Option<f64>,
    /// Holes beside those at points.
    pub holes: Vec<PlateHole>,
    /// Slots.
    pub slots: Vec<PlateSlot>,
    /// Holes from the edge.
    pub cross: Vec<EdgeHole>,
    /// A slot across the thickness that leaves two ears.
    pub fork: Option<Fork>,
    /// Flanges bent off its sides, from the flat middle outward.
    pub bends: Vec<Bend>,
    /// How deep the line that keeps its length lies in the thickness, when the file says it.
    pub k_factor: Option<f64>,
}

/// A side of a rectangle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// That of the least x.
    Left,
    /// That of the greatest x.
    Right,
    /// That of the least y.
    Bottom,
    /// That of the greatest y.
    Top,
}

impl Edge {
    /// It runs along x.
    pub fn lies(self) -> bool {
        matches!(self, Self::Bottom | Self::Top)
    }

    /// Outward over the edge.
    pub fn outward(self) -> [f64; 2] {
        match self {
            Self::Left => [-1.0, 0.0],
            Self::Right => [1.0, 0.0],
            Self::Bottom => [0.0, -1.0],
            Self::Top => [0.0, 1.0],
        }
    }
}

/// A flange bent off a plate.
#[derive(Clone, Debug, PartialEq)]
pub struct Bend {
    /// Name.
    pub name: String,
    /// The side of the flat middle that it lies on.
    pub side: Edge,
    /// The bend that it lies beyond; none when it is bent off the flat middle itself.
    pub beyond: Option<usize>,
    /// Outside length.
    pub length: f64,
    /// How far it is bent out of the flat, rad.
    pub angle: f64,
    /// Inside radius; the least of the material when not given.
    pub radius: Option<f64>,
    /// Towards the face that is seen, else away from it.
    pub front: bool,
}

/// Outline of a plate.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Outline {
    /// Round ends joined by lines that touch both, inside corners rounded.
    #[default]
    Arms,
    /// One line stretched round all round ends.
    Around,
    /// A rectangle by two opposite corners, its corners rounded by a radius (0: sharp).
    Box {
        /// Corner with the smaller coordinates.
        low: [f64; 2],
        /// Corner with the greater ones.
        high: [f64; 2],
        /// Radius of the corners.
        corner: f64,
    },
    /// From corner to corner, counter-clockwise or clockwise, closed.
    Path(Vec<Corner>),
}

/// A corner of a free outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Where the two sides meet.
    pub at: [f64; 2],
    /// The side that comes here is an arc through this place.
    pub through: Option<[f64; 2]>,
    /// Radius that rounds the corner; 0 is sharp.
    pub round: f64,
}

/// A round end of a plate about a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Boss {
    /// The point.
    pub point: PointId,
    /// Diameter.
    pub diameter: f64,
    /// Length of the hub; the thickness of the plate when not given.
    pub length: Option<f64>,
    /// The hub is cut from the solid, else it is a ring that is brazed on.
    pub solid: bool,
}

/// A hole that no point stands for.
#[derive(Clone, Debug, PartialEq)]
pub struct PlateHole {
    /// Name.
    pub name: String,
    /// The bend on whose flange it lies; its place is then how far out from the outside of the bend, and where along it.
    pub on: Option<usize>,
    /// Its places: one, or all of a circle.
    pub at: Vec<[f64; 2]>,
    /// What is made there.
    pub fitted: Fitted,
    /// How deep it goes when not through.
    pub length: Option<f64>,
    /// Counterbore: diameter and depth.
    pub counterbore: Option<[f64; 2]>,
    /// Diameter of a 90 degree countersink.
    pub countersink: Option<f64>,
}

/// A slot in a plate.
#[derive(Clone, Debug, PartialEq)]
pub struct PlateSlot {
    /// Name.
    pub name: String,
    /// Ends of its centre line.
    pub ends: [[f64; 2]; 2],
    /// Centre of an arc slot, which runs counter-clockwise from end to end.
    pub centre: Option<[f64; 2]>,
    /// Its width, with its class when given.
    pub width: (f64, Option<Sized>),
    /// Depth when it does not go through.
    pub depth: Option<f64>,
}

/// Where a hole from the edge points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Towards {
    /// A point that the piece carries.
    Point(PointId),
    /// A place.
    Place([f64; 2]),
}

/// A hole from the edge of a plate, at half its thickness.
#[derive(Clone, Debug, PartialEq)]
pub struct EdgeHole {
    /// Name.
    pub name: String,
    /// Its axis goes through this.
    pub towards: Towards,
    /// It comes from this direction as seen from there, rad.
    pub from: f64,
    /// What is made.
    pub fitted: Fitted,
    /// How deep; to the hole it points to when not given.
    pub length: Option<f64>,
}

/// A slot across the thickness of a plate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fork {
    /// The point whose hole goes through the ears.
    pub at: PointId,
    /// Width of the slot.
    pub gap: f64,
    /// How far it reaches beyond the point, away from its open end.
    pub depth: f64,
    /// It is open in this direction, rad.
    pub open: f64,
}

/// A turned piece.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Turned {
    /// Steps from the left end on.
    pub steps: Vec<Step>,
    /// Station of the left end along the shaft, when the file says it.
    pub starts: Option<f64>,
    /// Bores from either end.
    pub bores: Vec<EndBore>,
    /// Grooves.
    pub grooves: Vec<Groove>,
    /// Holes across.
    pub cross: Vec<CrossHole>,
    /// Flats.
    pub flats: Vec<Flats>,
}

/// A step of a turned piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Diameter with its class when it has one; for a thread its major diameter.
    pub diameter: (f64, Option<Sized>),
    /// The point whose joint it goes through, when the file takes its diameter from there.
    pub joint: Option<PointId>,
    /// Length.
    pub length: f64,
    /// Thread over its whole length but for the relief.
    pub thread: Option<Thread>,
    /// A relief groove at its inner end.
    pub relief: bool,
    /// How far its axis lies off the piece's, and in which direction, mm and rad.
    pub offset: Option<Offset>,
    /// Chamfer of its outer edge; none: edges are only broken.
    pub chamfer: Option<f64>,
    /// Sides of a square or hexagon step, whose diameter is that across corners; 0 when it is round.
    pub sides: usize,
    /// Across flats of such a step.
    pub across: f64,
}

/// An eccentric.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Offset {
    /// The carried point it is turned about, when the file names one.
    pub point: Option<PointId>,
    /// Throw.
    pub throw: f64,
    /// Direction seen from the right end, counter-clockwise, rad.
    pub angle: f64,
}

/// The end of a turned piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The left one.
    Left,
    /// The right one.
    Right,
}

/// A bore from one end.
#[derive(Clone, Debug, PartialEq)]
pub struct EndBore {
    /// Which end.
    pub from: Side,
    /// What is made.
    pub fitted: Fitted,
    /// How deep; through when not given.
    pub length: Option<f64>,
    /// Off the axis: an offset bore.
    pub offset: Option<Offset>,
}

/// A groove.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Groove {
    /// Its left side.
    pub at: f64,
    /// Width.
    pub width: f64,
    /// Diameter of its bottom.
    pub diameter: f64,
}

/// A hole across a turned piece, through its axis.
#[derive(Clone, Debug, PartialEq)]
pub struct CrossHole {
    /// Name.
    pub name: String,
    /// From the left end.
    pub at: f64,
    /// Direction it comes from, seen from the right end, counter-clockwise from the first eccentric's throw, rad.
    pub from: f64,
    /// What is made.
    pub fitted: Fitted,
    /// How deep; through when not given.
    pub length: Option<f64>,
}

/// Flats on a turned piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flats {
    /// Left end.
    pub at: f64,
    /// Length.
    pub length: f64,
    /// Across flats; for a single flat what is left of the diameter.
    pub across: f64,
    /// 1, 2, 4 or 6.
    pub sides: usize,
}

/// Something bought.
#[derive(Clone, Debug, PartialEq)]
pub struct Purchase {
    /// Name.
    pub name: String,
    /// What to ask for.
    pub what: String,
    /// How many.
    pub count: usize,
    /// Where it is named.
    pub place: Place,
}
