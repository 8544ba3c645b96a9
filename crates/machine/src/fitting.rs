//! What is bought, bored, pressed in and screwed on: holes, bearings, rod ends, what holds an arm on its shaft, coils.
//! Names are looked up in the tables of `elements`; nothing is worked out here. In mm, N.

use crate::model::{PartId, Place, PointId};
use elements::bearings::play::Group;
use elements::bearings::rod_ends::RodEnd;
use elements::bearings::{Bearing, plain};
use elements::springs::compression::{Ends, Seats};
use elements::springs::wire::Wire;
use elements::threads::holding::Point;
use elements::{Limits, Source};
use quantity::Thread;

/// A size with its tolerance class.
#[derive(Clone, Debug, PartialEq)]
pub struct Sized {
    /// Nominal size, mm.
    pub nominal: f64,
    /// The class as on a drawing: `H7`, `g6`, `RC4`.
    pub class: String,
    /// Limits of size, mm.
    pub limits: Limits,
    /// Where the limits come from.
    pub source: Source,
    /// The file names no class: the usual one of the tool is taken.
    pub assumed: bool,
}

/// How a plain hole is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// With a reamer of fixed size.
    Ream,
    /// Bored to any size.
    Bore,
    /// Drilled.
    Drill,
}

/// What is made at a hole or put into it.
#[derive(Clone, Debug, PartialEq)]
pub enum Fitted {
    /// A plain hole for a pin, screw or journal.
    Plain {
        /// How it is made.
        cut: Cut,
        /// Its size.
        size: Sized,
    },
    /// A tapped hole.
    Tapped {
        /// The thread.
        thread: Thread,
        /// How deep the thread goes; through when not given.
        depth: Option<f64>,
    },
    /// A ball bearing, its outer ring in the hole.
    Bearing {
        /// As written: `6001-2RS C3`.
        name: String,
        /// The row of the table.
        bearing: &'static Bearing,
        /// Shields or seals.
        closed: bool,
        /// Internal clearance.
        group: Group,
        /// The bore it sits in.
        hub: Sized,
    },
    /// A plain bushing.
    Bushing {
        /// Its material.
        material: &'static plain::Material,
        /// Its bore, before pressing in.
        bore: Sized,
        /// Its outside, and the bore it sits in; none for a hole that is bored in the part itself.
        outside: Option<(Sized, Sized)>,
    },
}

impl Fitted {
    /// The size that is cut, with its class; none for a thread.
    pub fn size(&self) -> Option<&Sized> {
        match self {
            Self::Plain { size, .. } => Some(size),
            Self::Tapped { .. } => None,
            Self::Bearing { hub, .. } => Some(hub),
            Self::Bushing { bore, outside, .. } => {
                Some(outside.as_ref().map_or(bore, |(_, seat)| seat))
            }
        }
    }

    /// Diameter that is cut; the major diameter of a thread.
    pub fn across(&self) -> f64 {
        match self {
            Self::Tapped { thread, .. } => thread.major,
            other => other.size().map_or(0.0, |s| s.nominal),
        }
    }
}

/// A hole of a part at a point.
#[derive(Clone, Debug, PartialEq)]
pub struct Hole {
    /// The part, or the frame.
    pub part: PartId,
    /// The point.
    pub point: PointId,
    /// What is made there.
    pub fitted: Fitted,
    /// Length of the hole; the thickness of the part when not given.
    pub length: Option<f64>,
    /// Diameter of the largest circle about the hole that stays in the part; the width of the part when not given.
    pub around: Option<f64>,
    /// Counterbore of a plate's hole: diameter and depth.
    pub counterbore: Option<[f64; 2]>,
    /// Diameter of a 90 degree countersink of a plate's hole.
    pub countersink: Option<f64>,
    /// Where it is given.
    pub place: Place,
}

/// A rod end at one end of a rod.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct End {
    /// The row of the table.
    pub rod_end: &'static RodEnd,
    /// Threaded stem, else a tapped shank.
    pub male: bool,
    /// Static rating that its maker prints, N; the table's when not given.
    pub rated: Option<f64>,
}

/// The key between a hub and its shaft.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Key {
    /// The parallel key for the shaft's diameter, metric or square inch.
    Parallel {
        /// The inch key.
        inch: bool,
    },
    /// A Woodruff key by its number.
    Woodruff(u32),
    /// A metric Woodruff key: its row in [`elements::keys::WOODRUFF_METRIC`].
    WoodruffMetric(usize),
}

/// What holds an arm on its shaft.
#[derive(Clone, Debug, PartialEq)]
pub enum HeldBy {
    /// Set screws.
    SetScrew {
        /// The screw.
        thread: Thread,
        /// How many.
        count: u32,
        /// Their point.
        point: Point,
    },
    /// A key.
    Key(Key),
    /// A pin across.
    Pin {
        /// Its diameter.
        diameter: f64,
    },
    /// A slit hub and a pinch screw.
    Pinch {
        /// The screw.
        thread: Thread,
        /// How many.
        count: u32,
        /// Property class.
        class: String,
    },
    /// A press fit such as `H7/s6` or `FN2`, on the shaft's diameter.
    Press {
        /// As written.
        fit: String,
    },
    /// A fillet weld all round, by its leg.
    Weld {
        /// Leg of the fillet.
        leg: f64,
    },
    /// Silver-brazed into the bore of the hub.
    Braze,
}

/// Bolts that hold a part, or a plate of the frame, on its seat against what its joints press on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Bolts {
    /// Name.
    pub name: String,
    /// The part that they hold.
    pub part: PartId,
    /// Points whose joints press on it.
    pub carries: Vec<PointId>,
    /// Slides that press on it.
    pub slides: Vec<usize>,
    /// Middle of the bolts.
    pub centre: PointId,
    /// Places from the middle, mm: right and up in the plane; across the pull and out of the plane when they lie in it.
    pub at: Vec<[f64; 2]>,
    /// Thread.
    pub thread: Thread,
    /// Property class.
    pub class: String,
    /// Direction in the plane that lifts the part off its seat, rad; none when they stand square to the plane.
    pub along: Option<f64>,
    /// How far the load stands off the seat along the bolts, mm.
    pub out: f64,
    /// Thickness clamped, mm.
    pub grip: f64,
    /// What is clamped from the head on, thickness and material; one layer of the part's own material when empty.
    pub layers: Vec<(f64, usize)>,
    /// What it is screwed into, and how far; a nut of its class when not given.
    pub into: Option<(usize, f64)>,
    /// Friction of the faces; the usual when not given.
    pub friction: Option<f64>,
    /// Torque with which each is tightened, N·mm; three quarters of the proof load when not given.
    pub torque: Option<f64>,
    /// Where it is given.
    pub place: Place,
}

/// How an arm sits on its shaft.
#[derive(Clone, Debug, PartialEq)]
pub struct Hold {
    /// By what.
    pub by: HeldBy,
    /// Outside diameter of the hub; the width of the arm when not given.
    pub hub: Option<f64>,
    /// Length of the hub, key or socket; the thickness of the arm when not given.
    pub length: Option<f64>,
    /// Where it is given.
    pub place: Place,
}

/// The wire of a spring.
#[derive(Clone, Debug, PartialEq)]
pub struct Coil {
    /// Wire size.
    pub wire: f64,
    /// Outside diameter, free.
    pub outside: f64,
    /// Coils: all of them for a compression spring, those of the body otherwise.
    pub coils: f64,
    /// Material.
    pub material: &'static Wire,
    /// Ends of a compression spring.
    pub ends: Ends,
    /// How a compression spring is held.
    pub seats: Seats,
    /// The set was taken out.
    pub preset: bool,
    /// Pull before the coils of an extension spring part, N.
    pub initial: f64,
    /// The two legs of a torsion spring.
    pub legs: [f64; 2],
    /// Pocket that a compression spring sits in.
    pub pocket: Option<f64>,
    /// Rod inside a compression spring, or arbor of a torsion spring.
    pub rod: Option<f64>,
    /// Where it is given.
    pub place: Place,
}

/// The room in which a spring of a known rate is to be chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Room {
    /// Greatest outside diameter: the pocket of a compression spring; none where it stands over a rod in the open.
    pub pocket: Option<f64>,
    /// Rod inside a compression spring, or arbor of a torsion spring.
    pub rod: Option<f64>,
    /// Material.
    pub material: &'static Wire,
}

/// The plunger of a detent.
#[derive(Clone, Debug, PartialEq)]
pub struct Plunger {
    /// Ball, or round nose, across; none for a pointed one that fills its cone.
    pub nose: Option<f64>,
    /// Width of cone or groove at the surface.
    pub mouth: Option<f64>,
    /// How far a square plunger is drawn.
    pub lift: Option<f64>,
    /// Hole that the spring sits in.
    pub bore: f64,
    /// Diameter of a round boss round that hole, as long as the hole needs.
    pub boss: Option<f64>,
    /// Length of the spring with the plunger home.
    pub length: f64,
    /// The spring's wire and free length, when they are known; else it is to be chosen.
    pub coil: Option<(Coil, f64)>,
    /// Wire of the spring to be chosen.
    pub material: &'static Wire,
}

/// The teeth of a gear pair, or of a rack and its pinion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Teeth {
    /// Module, mm.
    pub module: f64,
    /// Written as a diametral pitch.
    pub by_pitch: bool,
    /// Width of the teeth; the thickness of the part when not given.
    pub face: Option<f64>,
    /// Pressure angle of the cutter, rad.
    pub pressure_angle: f64,
    /// Profile shift of both over the module.
    pub shift: [f64; 2],
    /// How much thinner than standard the teeth are cut along the pitch circle, both gears together.
    pub backlash: f64,
}
