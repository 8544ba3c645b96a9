//! The machine as read: names, drawn places, and where each stands in the file. Plain data, checked, in mm and rad.
//!
//! Conventions: angles counter-clockwise from *right*; a plane's third direction is right × up; stations lie along it.
//! Everything refers to everything else by index into the vectors of [`Machine`]; all indices are valid once
//! [`crate::read`] has returned a machine.

use crate::fitting::Teeth;
use elements::cams::Program;
use quantity::{Unit, Written, thread::Thread};

/// Index into [`Machine::points`].
pub type PointId = usize;
/// Index into [`Machine::parts`]. Part 0 is the frame.
pub type PartId = usize;

/// The frame is a part like any other, but stands still.
pub const FRAME: PartId = 0;

/// A place in one of the texts that make up a machine: byte range in the source with this index.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Place {
    /// Index into [`crate::Sources`].
    pub source: usize,
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

/// A machine: what a machine file says, checked and with its points constructed.
#[derive(Clone, Debug)]
pub struct Machine {
    /// Name, as a person reads it.
    pub name: String,
    /// One line about it, or empty.
    pub note: String,
    /// Unit of bare lengths and of printed lengths.
    pub unit: Unit,
    /// Planes; 0 is `front`.
    pub planes: Vec<Plane>,
    /// Points in file order.
    pub points: Vec<Point>,
    /// Parts; 0 is the frame. Shafts and clamped arms are parts. Free pins joined only by rods are not.
    pub parts: Vec<Part>,
    /// Rods.
    pub rods: Vec<Rod>,
    /// Straight slides.
    pub slides: Vec<Slide>,
    /// Slots.
    pub slots: Vec<Slot>,
    /// Gear pairs and belts: fixed ratios between two turning parts.
    pub ratios: Vec<Ratio>,
    /// Rack drives.
    pub racks: Vec<Rack>,
    /// Cams.
    pub cams: Vec<Cam>,
    /// Geneva wheels.
    pub genevas: Vec<Geneva>,
    /// Hole rows.
    pub rows: Vec<Row>,
    /// Drives.
    pub drives: Vec<Drive>,
    /// Settings.
    pub settings: Vec<Setting>,
    /// Faces.
    pub faces: Vec<Face>,
    /// Readings; a reading over a drive refers to an earlier or later one, never in a circle.
    pub readings: Vec<Reading>,
    /// Stops.
    pub stops: Vec<Stop>,
    /// Asks.
    pub asks: Vec<Ask>,
    /// Stock, joints, tolerances, loads, cases, detents.
    pub work: crate::work::Work,
}

/// A plane in space.
#[derive(Clone, Debug)]
pub struct Plane {
    /// Name.
    pub name: String,
    /// Origin in space, mm.
    pub origin: [f64; 3],
    /// Unit vector.
    pub right: [f64; 3],
    /// Unit vector, square to right.
    pub up: [f64; 3],
    /// Where it is named.
    pub place: Place,
}

/// A point as drawn.
#[derive(Clone, Debug)]
pub struct Point {
    /// Name.
    pub name: String,
    /// Index into [`Machine::planes`].
    pub plane: usize,
    /// Coordinate to the right, mm.
    pub x: f64,
    /// Coordinate up, mm.
    pub y: f64,
    /// Station along the plane's third direction, mm.
    pub station: f64,
    /// Where it is named.
    pub place: Place,
}

/// What kind of part it is, in the file's words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PartKind {
    /// The frame.
    Frame,
    /// An ordinary part.
    Part,
    /// A shaft; its first carried point is its centre, which the frame carries too.
    Shaft,
}

/// A part: the points it carries.
#[derive(Clone, Debug)]
pub struct Part {
    /// Name (`frame` for the frame).
    pub name: String,
    /// Kind.
    pub kind: PartKind,
    /// Plane of all its points; for the frame 0 and without meaning.
    pub plane: usize,
    /// Carried points; the first is the datum hole, the second gives the direction.
    pub carries: Vec<PointId>,
    /// The shaft or arm it is clamped to, if it is a clamped arm; its datum is the centre of the shaft at the end of the chain.
    pub clamped_to: Option<PartId>,
    /// Where it is named.
    pub place: Place,
}

/// A rod between two points.
#[derive(Clone, Debug)]
pub struct Rod {
    /// Name.
    pub name: String,
    /// Its two ends.
    pub joins: [PointId; 2],
    /// Thread of its ends.
    pub thread: Option<Thread>,
    /// Thread of the second end where it is another.
    pub other: Option<Thread>,
    /// Right and left hand at the two ends: the pitches of both add up.
    pub both_ends: bool,
    /// Where it is named.
    pub place: Place,
}

impl Rod {
    /// How much longer it gets by a turn, mm: the pitch of the end that is turned, the sum of both where they are of opposite
    /// hand, their difference where two threads of one hand are cut at the ends.
    pub fn lead(&self) -> Option<f64> {
        let first = self.thread.as_ref()?.pitch;
        let second = self.other.as_ref().map(|t| t.pitch);
        Some(match (second, self.both_ends) {
            (None, false) => first,
            (None, true) => 2.0 * first,
            (Some(second), true) => first + second,
            (Some(second), false) => (first - second).abs(),
        })
    }

    /// Thread of an end, 0 or 1.
    pub fn thread_of(&self, end: usize) -> Option<&Thread> {
        match &self.other {
            Some(other) if end == 1 => Some(other),
            _ => self.thread.as_ref(),
        }
    }
}

/// A part that moves straight on another without turning.
#[derive(Clone, Debug)]
pub struct Slide {
    /// Name.
    pub name: String,
    /// The part that slides.
    pub part: PartId,
    /// The part it slides on.
    pub on: PartId,
    /// Direction as drawn in their plane, rad.
    pub along: f64,
    /// A point of the part half way along its guide; the part's first point when not given.
    pub middle: Option<PointId>,
    /// Where it is named.
    pub place: Place,
}

/// A pin of one part in a slot of another.
#[derive(Clone, Debug)]
pub struct Slot {
    /// Name.
    pub name: String,
    /// The pin.
    pub pin: PointId,
    /// The part that carries the pin.
    pub of: PartId,
    /// The part with the slot.
    pub within: PartId,
    /// Ends of the slot's centre line, both carried by `within`.
    pub ends: [PointId; 2],
    /// Centre of an arc slot, carried by `within`; the arc runs counter-clockwise from the first end to the second.
    pub centre: Option<PointId>,
    /// Where it is named.
    pub place: Place,
}

/// What makes a fixed ratio.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RatioKind {
    /// External gear pair: opposite senses.
    Gear,
    /// One wheel has internal teeth: same sense.
    InternalGear,
    /// Open belt or chain: same sense.
    Belt,
    /// Crossed belt: opposite senses.
    CrossedBelt,
}

/// A fixed ratio between two turning parts: the first size times its turn is ± the second size times its turn, against the carrier.
#[derive(Clone, Debug)]
pub struct Ratio {
    /// Name.
    pub name: String,
    /// Kind; gives the sense.
    pub kind: RatioKind,
    /// The two parts.
    pub joins: [PartId; 2],
    /// Teeth or diameters, both positive.
    pub sizes: [f64; 2],
    /// The part that carries both centres.
    pub carrier: PartId,
    /// The teeth of a gear pair, when the file gives their size.
    pub teeth: Option<Teeth>,
    /// How much room the pulleys of a belt take, when the file gives it.
    pub pulleys: Option<Pulleys>,
    /// Where it is named.
    pub place: Place,
}

/// The room that two pulleys take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pulleys {
    /// Outside diameters, mm.
    pub outside: [f64; 2],
    /// Width of the rims along the shafts, mm.
    pub width: f64,
    /// Where their middle lies along the shafts, mm; that of the parts when it is not written.
    pub station: Option<f64>,
}

/// A pinion that moves a sliding rack.
#[derive(Clone, Debug)]
pub struct Rack {
    /// Name.
    pub name: String,
    /// The pinion.
    pub gear: PartId,
    /// Index into [`Machine::slides`].
    pub slide: usize,
    /// Pitch radius, mm; negative when turning counter-clockwise moves the rack backward.
    pub radius: f64,
    /// Number of teeth of the pinion, and the teeth, when the file gives their size.
    pub teeth: Option<(u32, Teeth)>,
    /// Where it is named.
    pub place: Place,
}

/// A wheel that a pin turns on by a slot a turn.
#[derive(Clone, Debug, PartialEq)]
pub struct Geneva {
    /// Name.
    pub name: String,
    /// The part with the pin.
    pub driver: PartId,
    /// The slotted wheel.
    pub wheel: PartId,
    /// The part that carries both centres.
    pub carrier: PartId,
    /// The pin.
    pub pin: PointId,
    /// Centres of driver and wheel.
    pub centres: [PointId; 2],
    /// Number of slots.
    pub slots: u32,
    /// Where it is named.
    pub place: Place,
}

/// What rides on a cam.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rides {
    /// A part on a slide (index into [`Machine::slides`]).
    Slide(usize),
    /// A rocker with its pivot here.
    Rocker(PointId),
}

/// A cam: a part that turns, whose edge or track moves a roller or pin by a program. Its shape follows from the place in which the roller is drawn.
#[derive(Clone, Debug)]
pub struct Cam {
    /// Name.
    pub name: String,
    /// The part that is the cam.
    pub part: PartId,
    /// The part on which both the cam and its follower are guided.
    pub host: PartId,
    /// Where the cam turns on it.
    pub centre: PointId,
    /// Centre of the roller or pin.
    pub roller: PointId,
    /// The part that carries it.
    pub of: PartId,
    /// How that part is guided.
    pub rides: Rides,
    /// Diameter of the roller or pin, mm.
    pub diameter: f64,
    /// 1 when the program runs as the cam turns counter-clockwise, −1 clockwise.
    pub sense: f64,
    /// Turn of the program as drawn, rad.
    pub at: f64,
    /// Lift outwards over the turn: mm on a slide, rad of a rocker; or change of the reading.
    pub program: Program,
    /// The reading that the program speaks of: the cam is derived from it.
    pub reading: Option<usize>,
    /// A closed track holds the roller on both sides; else a spring or a weight has to.
    pub track: bool,
    /// Width in which roller and cam touch, mm.
    pub face: Option<f64>,
    /// Greatest pressure angle allowed, rad.
    pub steepest: Option<f64>,
    /// Diameter of the cutter, mm.
    pub cutter: Option<f64>,
    /// Where it is named.
    pub place: Place,
}

/// A row of holes in a part; the hole in use is a point of the machine.
#[derive(Clone, Debug)]
pub struct Row {
    /// Name; also the name of the point in use.
    pub name: String,
    /// The part that carries it.
    pub on: PartId,
    /// The point in use.
    pub point: PointId,
    /// Places of all holes as drawn in the part's plane, mm.
    pub holes: Vec<[f64; 2]>,
    /// Index into `holes` of the hole in use as drawn (the file counts from 1).
    pub used: usize,
    /// Where it is named.
    pub place: Place,
}

/// What a drive moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moves {
    /// Turns a part against the frame.
    Turns(PartId),
    /// Moves a slide (index into [`Machine::slides`]).
    Slides(usize),
}

/// A drive: what is moved by hand or motor. Values in rad or mm.
#[derive(Clone, Debug)]
pub struct Drive {
    /// Name.
    pub name: String,
    /// What it moves.
    pub moves: Moves,
    /// Ends of its range, first to last; `None` when not given. A whole turn is drawn .. drawn + 2π.
    pub range: Option<[f64; 2]>,
    /// The range was given as a whole turn.
    pub whole_turn: bool,
    /// Value as drawn.
    pub drawn: f64,
    /// +1 counter-clockwise or forward, −1 the other way.
    pub sense: f64,
    /// Step of tables.
    pub step: Option<f64>,
    /// Unit to print values in.
    pub unit: Unit,
    /// Where it is named.
    pub place: Place,
}

/// What a setting changes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Adjusts {
    /// Length of a rod; value in mm, longer positive, 0 as drawn.
    Rod(usize),
    /// Hole in use of a row; value is the hole number from 1.
    Row(usize),
    /// Clock angle of a clamped arm; rad, 0 as drawn.
    Clock(PartId),
    /// A shim under a point: moves it within its part along this drawn direction (rad); mm, 0 as drawn.
    Shim {
        /// The point.
        point: PointId,
        /// The part that carries it.
        part: PartId,
        /// Direction as drawn in the part's plane, rad.
        along: f64,
    },
    /// Limit of a stop; value is the limit itself.
    Stop(usize),
}

/// A setting: adjustable by hand, not moved in work.
#[derive(Clone, Debug)]
pub struct Setting {
    /// Name.
    pub name: String,
    /// What it changes.
    pub adjusts: Adjusts,
    /// Step a hand can do, in the setting's inside unit (turns of a threaded rod are turned into mm).
    pub step: Option<f64>,
    /// Least and greatest value.
    pub range: Option<[f64; 2]>,
    /// Value as drawn.
    pub drawn: f64,
    /// Unit to print values in.
    pub unit: Unit,
    /// Where it is named.
    pub place: Place,
}

/// A flat on a part.
#[derive(Clone, Debug)]
pub struct Face {
    /// Name.
    pub name: String,
    /// A point on it.
    pub at: PointId,
    /// The part it belongs to.
    pub on: PartId,
    /// Outward direction as drawn in the plane of the point, rad.
    pub facing: f64,
    /// Where it is named.
    pub place: Place,
}

/// Least, greatest or swing over a drive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Take {
    /// Least value.
    Least,
    /// Greatest value.
    Greatest,
    /// Greatest less least.
    Swing,
}

/// What a reading measures.
#[derive(Clone, Debug)]
pub enum Measures {
    /// Second face's point off the first face, square to the first.
    Gap([usize; 2]),
    /// Second point from the first along a drawn direction (rad) in the plane of the first.
    Between {
        /// The two points.
        points: [PointId; 2],
        /// Direction, rad.
        along: f64,
    },
    /// Distance between two points in space.
    Distance([PointId; 2]),
    /// Turn of a part from the drawn position against another part, plus the value as drawn.
    TurnOf {
        /// The part that turns.
        part: PartId,
        /// Against this part.
        against: PartId,
        /// Value as drawn, rad.
        drawn: f64,
    },
    /// Coordinate of a point along a direction (rad) of its plane.
    PlaceOf {
        /// The point.
        point: PointId,
        /// Direction, rad.
        along: f64,
    },
    /// Least, greatest or swing of another reading while a drive runs through its range.
    Over {
        /// Index into [`Machine::readings`].
        reading: usize,
        /// Index into [`Machine::drives`].
        drive: usize,
        /// What is taken.
        take: Take,
    },
}

/// A reading: a measured quantity, mm or rad.
#[derive(Clone, Debug)]
pub struct Reading {
    /// Name.
    pub name: String,
    /// What it measures.
    pub measures: Measures,
    /// Unit to print values in.
    pub unit: Unit,
    /// Where it is named.
    pub place: Place,
}

/// A stop: the machine cannot go beyond.
#[derive(Clone, Debug)]
pub struct Stop {
    /// Name.
    pub name: String,
    /// Index into [`Machine::readings`] (never one over a drive).
    pub reading: usize,
    /// Least value allowed.
    pub at_least: Option<f64>,
    /// Greatest value allowed.
    pub at_most: Option<f64>,
    /// Where it is named.
    pub place: Place,
}

/// What an ask judges.
#[derive(Clone, Debug)]
pub enum Judges {
    /// The reading at these drive values (drive, value); empty with `over` none: as drawn.
    At {
        /// Values of the drives named; others stand as drawn.
        when: Vec<(usize, f64)>,
    },
    /// The reading anywhere in the range of a drive.
    Anywhere {
        /// Index into [`Machine::drives`].
        drive: usize,
        /// Values of other drives.
        when: Vec<(usize, f64)>,
    },
    /// Greatest less least over a drive.
    Swing {
        /// Index into [`Machine::drives`].
        drive: usize,
        /// Values of other drives.
        when: Vec<(usize, f64)>,
    },
    /// Greatest change of the reading for this much of a drive, anywhere in its range.
    Per {
        /// Index into [`Machine::drives`].
        drive: usize,
        /// How much of the drive, rad or mm.
        amount: f64,
        /// Values of other drives.
        when: Vec<(usize, f64)>,
    },
}

/// An ask: a wanted result.
#[derive(Clone, Debug)]
pub struct Ask {
    /// Name.
    pub name: String,
    /// Index into [`Machine::readings`].
    pub reading: usize,
    /// What is judged.
    pub judges: Judges,
    /// Least wanted value, as written.
    pub at_least: Option<Written>,
    /// Greatest wanted value, as written.
    pub at_most: Option<Written>,
    /// Where it is named.
    pub place: Place,
}
