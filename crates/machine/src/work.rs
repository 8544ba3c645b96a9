//! What a machine carries and is made of: stock, joints, tolerances, loads, cases, detents. In mm, rad, N, N·mm, MPa, kg.

use crate::equipment::Shop;
use crate::fitting::{Coil, End, Hold, Hole, Plunger, Room, Sized};
use crate::model::{PartId, Place, PointId};

/// Cross-section of stock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Section {
    /// Flat bar or plate: thickness (square to the part's plane) and width (in it), mm.
    Flat([f64; 2]),
    /// Round bar: diameter, mm.
    Round(f64),
    /// Tube: outside and inside diameter, mm.
    Tube([f64; 2]),
    /// Square bar: across flats, mm.
    Square(f64),
    /// Hexagon bar: across flats, mm.
    Hexagon(f64),
}

impl Section {
    /// Sides of a square or hexagon bar and its size across flats, mm.
    pub fn flats(self) -> Option<(usize, f64)> {
        match self {
            Self::Square(a) => Some((4, a)),
            Self::Hexagon(a) => Some((6, a)),
            _ => None,
        }
    }
}

/// Across corners of a regular bar of so many sides by its size across flats.
pub fn across_corners(sides: usize, flats: f64) -> f64 {
    flats / (std::f64::consts::PI / sides as f64).cos()
}

/// A material.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Name.
    pub name: String,
    /// Young's modulus, MPa.
    pub modulus: f64,
    /// Shear modulus, MPa.
    pub shear: f64,
    /// Density, kg/mm³.
    pub density: f64,
    /// Where the figures come from.
    pub source: &'static str,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Linear expansion, 1/K, where known.
    pub expansion: Option<f64>,
    /// Yield strength, MPa; none where it is not known or the material breaks without.
    pub yields: Option<f64>,
    /// Tensile strength, MPa, where known.
    pub tensile: Option<f64>,
    /// The grade whose strength is taken because the file names none.
    pub taken_as: Option<&'static str>,
    /// Where the strengths come from.
    pub strength_source: Option<elements::Source>,
}

/// What a part or rod is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct Stock {
    /// Cross-section.
    pub section: Section,
    /// Index into [`Work::materials`].
    pub material: usize,
    /// Where it is given.
    pub place: Place,
}

/// Low and high of something not known better.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LowHigh {
    /// Low.
    pub low: f64,
    /// High.
    pub high: f64,
}

/// What a joint is attached to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JointAt {
    /// All pins and rod ends at a point.
    Point(PointId),
    /// A slide.
    Slide(usize),
    /// A slot.
    Slot(usize),
    /// A gear pair or belt.
    Ratio(usize),
    /// A rack.
    Rack(usize),
    /// A cam and its roller.
    Cam(usize),
}

/// What is known of a joint; what is not given falls to [`Usual`].
#[derive(Clone, Debug, PartialEq)]
pub struct Joint {
    /// Where.
    pub at: JointAt,
    /// Diameter of the pin or journal, mm.
    pub diameter: Option<f64>,
    /// Diametral clearance, mm.
    pub clearance: Option<LowHigh>,
    /// Coefficient of friction.
    pub friction: Option<LowHigh>,
    /// Radial stiffness, N/mm.
    pub stiffness: Option<f64>,
    /// Length of a guide, mm.
    pub length: Option<f64>,
    /// The pin or journal with its tolerance class.
    pub pin: Option<Sized>,
    /// Material of the pin: index into [`Work::materials`].
    pub material: Option<usize>,
    /// The part whose two ears take the pin: it is in double shear. Else it stands out of its holder.
    pub fork: Option<PartId>,
    /// Stations at which it presses on its shaft, mm, evenly shared; none where that is the station of its point.
    pub stations: Vec<f64>,
    /// Where it is given.
    pub place: Place,
}

/// What holds for every joint and dimension without its own entry. `None` where the file says nothing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Usual {
    /// Pin diameter, mm.
    pub diameter: Option<f64>,
    /// Diametral clearance, mm.
    pub clearance: Option<LowHigh>,
    /// Coefficient of friction.
    pub friction: Option<LowHigh>,
    /// Plus or minus on each coordinate of a hole, mm.
    pub hole_places: Option<f64>,
    /// Plus or minus on rod lengths, mm.
    pub rod_lengths: Option<f64>,
    /// Plus or minus on clock angles, rad.
    pub clock_angles: Option<f64>,
    /// Plus or minus on the directions of slides and slots, rad.
    pub directions: Option<f64>,
    /// Best that this shop holds, mm.
    pub can_hold: Option<f64>,
    /// Factor wanted on strengths.
    pub factor: Option<f64>,
    /// Life wanted of bearings, h.
    pub life_hours: Option<f64>,
}

/// Which dimension a tolerance is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToleranceOf {
    /// The place of a hole in a part (both its coordinates there).
    Hole {
        /// The part.
        part: PartId,
        /// The hole.
        hole: PointId,
    },
    /// Length of a rod.
    Rod(usize),
    /// Clock angle of a clamped arm.
    Clock(PartId),
    /// Direction and place of a slide.
    Slide(usize),
    /// Line of a slot.
    Slot(usize),
    /// Profile of a cam.
    Cam(usize),
}

/// A tolerance on one dimension.
#[derive(Clone, Debug, PartialEq)]
pub struct Tolerance {
    /// Name.
    pub name: String,
    /// Which.
    pub of: ToleranceOf,
    /// Plus or minus, mm (rad for clock angles and directions).
    pub plus_minus: f64,
    /// Where it is given.
    pub place: Place,
}

/// How work resists.
#[derive(Clone, Debug, PartialEq)]
pub enum Resists {
    /// The same force at every value below this one.
    Constant {
        /// N.
        force: f64,
        /// Value below which it acts; infinite for always.
        below: f64,
    },
    /// Rising in proportion below a value.
    Linear {
        /// Value at which it begins, mm.
        begins: f64,
        /// N/mm.
        stiffness: f64,
        /// It is an elastic layer, as thick as the value at which it begins.
        layer: bool,
    },
    /// Straight between (value, force), in rising order of value.
    Table(Vec<[f64; 2]>),
}

/// What a load is.
#[derive(Clone, Debug, PartialEq)]
pub enum LoadKind {
    /// Work that pushes a reading open.
    Squeezes {
        /// Index into [`crate::Machine::readings`].
        reading: usize,
        /// How.
        resists: Resists,
    },
    /// A force at a point.
    Force {
        /// The point.
        at: PointId,
        /// N.
        force: f64,
        /// Direction in the point's plane as drawn, rad.
        along: f64,
        /// The direction turns with this part.
        with: Option<PartId>,
        /// The part that carries it; none where rods alone meet.
        on: Option<PartId>,
    },
    /// A moment on a part against the frame, N·mm, counter-clockwise positive.
    Moment {
        /// The part.
        on: PartId,
        /// N·mm.
        moment: f64,
    },
}

/// A load.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// A force or moment that acts only while what it acts on goes against it, as a cut does.
    pub drags: bool,
    /// Share of its force with which squeezed work pushes while its reading opens again, 0 to 1; 1 springs back whole.
    pub returns: f64,
    /// Name.
    pub name: String,
    /// What.
    pub kind: LoadKind,
    /// Where it is given.
    pub place: Place,
}

/// What a spring acts between.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SpringKind {
    /// Between two points; rate N/mm, slack at this length.
    Between {
        /// The points.
        points: [PointId; 2],
        /// N/mm.
        rate: f64,
        /// Length at which it is slack, mm.
        free: f64,
    },
    /// Between two parts; rate N·mm/rad, slack at this turn from the drawn position.
    Torsion {
        /// The part it turns.
        part: PartId,
        /// Against this part.
        against: PartId,
        /// N·mm/rad.
        rate: f64,
        /// Turn at which it is slack, rad.
        slack: f64,
    },
}

/// A spring.
#[derive(Clone, Debug, PartialEq)]
pub struct Spring {
    /// Name.
    pub name: String,
    /// What.
    pub kind: SpringKind,
    /// Its wire, when the file tells it.
    pub coil: Option<Coil>,
    /// The room in which one of its rate is to be chosen.
    pub room: Option<Room>,
    /// It cannot pull.
    pub pushes_only: bool,
    /// It cannot push.
    pub pulls_only: bool,
    /// Where it is given.
    pub place: Place,
}

/// A load case: loads that act together, and where the drives stand.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// Name.
    pub name: String,
    /// Indices into [`Work::loads`].
    pub loads: Vec<usize>,
    /// Values of drives that stand elsewhere than drawn.
    pub when: Vec<(usize, f64)>,
    /// It comes so seldom that nothing tires of it.
    pub seldom: bool,
    /// Where it is given.
    pub place: Place,
}

/// Give of the frame at a point, N/mm in every direction.
#[derive(Clone, Debug, PartialEq)]
pub struct Stiffness {
    /// Name.
    pub name: String,
    /// The point, carried by the frame.
    pub at: PointId,
    /// N/mm.
    pub value: f64,
    /// Where it is given.
    pub place: Place,
}

/// Seat of a detent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Seat {
    /// Cone of this included angle, rad.
    Cone(f64),
    /// Sharp hole and ball: diameters, mm.
    Hole {
        /// Hole.
        hole: f64,
        /// Ball.
        ball: f64,
    },
    /// Flat plunger in a notch with square sides: it does not lift by itself, it is drawn.
    Square,
}

/// A spring plunger in a notch.
#[derive(Clone, Debug, PartialEq)]
pub struct Detent {
    /// Name.
    pub name: String,
    /// Index into [`crate::Machine::drives`].
    pub drive: usize,
    /// Value of the drive at the notch.
    pub at: f64,
    /// From the drive's pivot to the plunger, mm (1 for a drive that slides).
    pub radius: f64,
    /// Seat.
    pub seat: Seat,
    /// Spring force in the notch, N.
    pub spring: f64,
    /// Its plunger, when the file tells of it.
    pub plunger: Option<Plunger>,
    /// Friction of the plunger on its seat and in its guide.
    pub friction: Option<LowHigh>,
    /// Index into [`Work::materials`] of what the seat is cut in.
    pub seat_material: Option<usize>,
    /// Where it is given.
    pub place: Place,
}

/// Where and which way a hand or foot moves a drive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hand {
    /// Where it takes hold.
    pub at: PointId,
    /// Direction in which it pushes or pulls, in the point's plane as drawn, rad; none: the way the point goes.
    pub along: Option<f64>,
    /// The direction turns with this part.
    pub with: Option<PartId>,
    /// It pushes along its direction and cannot pull, as a foot on a plank.
    pub pushes_only: bool,
}

/// A motor that turns a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Motor {
    /// Name.
    pub name: String,
    /// The part that it turns.
    pub turns: PartId,
    /// Its turns for one turn of the part.
    pub ratio: f64,
    /// Share of its power lost on the way to the part.
    pub loses: f64,
    /// Moment of inertia of its rotor, kg·mm².
    pub inertia: Option<f64>,
    /// Torque over speed.
    pub line: elements::motors::Line,
    /// Rated speed and torque, rad/s and N·mm.
    pub rated: Option<[f64; 2]>,
    /// Where it is given.
    pub place: Place,
}

/// What pushes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// A foot.
    Foot,
    /// A hand.
    Hand,
}

/// How hard somebody pushes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Strength {
    /// This force, N.
    Force(f64),
    /// Work of one turn of the drive, N·mm.
    Work(f64),
}

/// Somebody who pushes a point along while it goes that way.
#[derive(Clone, Debug, PartialEq)]
pub struct Push {
    /// Name.
    pub name: String,
    /// What pushes.
    pub by: By,
    /// Where.
    pub at: PointId,
    /// Direction in the point's plane as drawn, rad; none: the way the point goes.
    pub along: Option<f64>,
    /// The part that it presses where several meet.
    pub part: Option<PartId>,
    /// How hard.
    pub strength: Strength,
    /// Turns a minute of the drive at which whoever pushes wants no more.
    pub per_minute: Option<f64>,
    /// Where it is given.
    pub place: Place,
}

/// A clamped ring or stop that must hold a drive.
#[derive(Clone, Debug, PartialEq)]
pub struct Clamp {
    /// Name.
    pub name: String,
    /// Index into [`crate::Machine::drives`].
    pub drive: usize,
    /// Radius at which it clamps, mm.
    pub radius: f64,
    /// Force with which the hand leans on it, N; it adds to what the loads drive.
    pub leaned: Option<f64>,
    /// Its screw and the property class of that.
    pub screw: Option<(quantity::Thread, String)>,
    /// Where it is given.
    pub place: Place,
}

/// Stock of one part.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Made {
    /// Its stock.
    pub stock: Option<Stock>,
    /// Its mass when given, kg.
    pub mass: Option<f64>,
    /// Its moment of inertia about its centre of mass when given, kg·mm².
    pub inertia: Option<f64>,
    /// Its centre of mass as drawn, in its plane, when given, mm.
    pub mass_at: Option<[f64; 2]>,
    /// Station of the middle of its thickness, mm; where its points stand when the file says nothing.
    pub station: Option<f64>,
    /// Stations of the two bearings of a shaft, mm.
    pub bearings: Option<[f64; 2]>,
    /// What holds a clamped arm on its shaft.
    pub held_by: Option<Hold>,
    /// Rod ends, in the order of what the rod joins.
    pub ends: Option<[End; 2]>,
    /// How it stands as a column, when the file says.
    pub column: Option<Column>,
}

/// How a pushed part or rod stands as a column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// Its ends.
    pub ends: Option<elements::columns::Ends>,
    /// How far its load is off its middle, mm.
    pub off: f64,
    /// Its thread runs all through: the root counts.
    pub threaded: bool,
}

/// What an ask about forces, loaded readings or made machines judges.
#[derive(Clone, Debug, PartialEq)]
pub enum WorkJudges {
    /// Effort at the hand of a drive (N), or at the drive itself when it has no hand (N·mm, N), worst over its range.
    Effort {
        /// Index into [`crate::Machine::drives`].
        drive: usize,
        /// Index into [`Work::cases`]; `None`: every load acts.
        case: Option<usize>,
        /// Values of drives that stand elsewhere; the drive itself among them is judged there alone.
        when: Vec<(usize, f64)>,
    },
    /// The drive stays when it is let go: holding divided by what drives it back, worst over its range.
    Holds {
        /// Index into [`crate::Machine::drives`].
        drive: usize,
        /// Index into [`Work::cases`]; `None`: every load acts.
        case: Option<usize>,
        /// Wanted factor.
        factor: f64,
        /// Values of drives that stand elsewhere; the drive itself among them is judged there alone.
        when: Vec<(usize, f64)>,
    },
    /// A reading under load, with its band from play.
    Loaded {
        /// Index into [`crate::Machine::readings`].
        reading: usize,
        /// Index into [`Work::cases`].
        case: usize,
        /// Values of drives that stand elsewhere than in the case.
        when: Vec<(usize, f64)>,
    },
    /// Share of made machines that meet another ask.
    Share {
        /// Index into [`crate::Machine::asks`].
        ask: usize,
    },
}

/// An ask about forces, loaded readings or made machines.
#[derive(Clone, Debug, PartialEq)]
pub struct WorkAsk {
    /// Name.
    pub name: String,
    /// What it judges.
    pub judges: WorkJudges,
    /// Least wanted value in the inside unit of what is judged (a plain number for shares).
    pub at_least: Option<f64>,
    /// Greatest wanted value.
    pub at_most: Option<f64>,
    /// Where it is given.
    pub place: Place,
}

/// Everything of the second part of a machine file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Work {
    /// Direction in which weights act in the front plane, rad.
    pub weight: Option<f64>,
    /// Materials: given ones and own ones.
    pub materials: Vec<Material>,
    /// One a part, in the order of [`crate::Machine::parts`].
    pub parts: Vec<Made>,
    /// Plates of the frame where it has holes.
    pub frame: Option<Stock>,
    /// One a rod.
    pub rods: Vec<Made>,
    /// Hand of each drive, in the order of [`crate::Machine::drives`].
    pub hands: Vec<Option<Hand>>,
    /// Turns a minute of each drive, or times there and back.
    pub per_minute: Vec<Option<f64>>,
    /// Holes, bearings and bushings of parts and frame.
    pub holes: Vec<Hole>,
    /// What the shop has.
    pub shop: Option<Shop>,
    /// Joints with their own entries.
    pub joints: Vec<Joint>,
    /// The usual.
    pub usual: Usual,
    /// Tolerances.
    pub tolerances: Vec<Tolerance>,
    /// Loads.
    pub loads: Vec<Load>,
    /// Springs.
    pub springs: Vec<Spring>,
    /// Cases.
    pub cases: Vec<Case>,
    /// Frame stiffness.
    pub stiffnesses: Vec<Stiffness>,
    /// Detents.
    pub detents: Vec<Detent>,
    /// Clamps.
    pub clamps: Vec<Clamp>,
    /// Bolted joints.
    pub bolts: Vec<crate::fitting::Bolts>,
    /// Motors.
    pub motors: Vec<Motor>,
    /// Feet and hands that push.
    pub pushes: Vec<Push>,
    /// Pieces and purchases.
    pub making: crate::making::Making,
    /// Asks about forces, loaded readings and made machines; they share their names with [`crate::Machine::asks`].
    pub asks: Vec<WorkAsk>,
}
