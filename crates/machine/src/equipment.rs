//! What a shop has: machines, what holds the work, tools, stock in the rack. As its file says it, in mm, N, rev/min and rad.

use crate::fitting::Sized;
use quantity::{Thread, Unit};

/// A shop.
#[derive(Clone, Debug, PartialEq)]
pub struct Shop {
    /// Unit of its file, in which its dials are divided.
    pub unit: Unit,
    /// Presses and vises.
    pub squeezers: Vec<Squeezer>,
    /// Thicknesses of shim stock, mm, thinnest first.
    pub shims: Vec<f64>,
    /// Lathes.
    pub lathes: Vec<Lathe>,
    /// Mills.
    pub mills: Vec<Mill>,
    /// Drill presses.
    pub drill_presses: Vec<DrillPress>,
    /// Rotary tables.
    pub rotary_tables: Vec<RotaryTable>,
    /// Saws.
    pub saws: Vec<Saw>,
    /// Tools.
    pub tools: Tools,
    /// Bars and plates in the rack.
    pub rack: Vec<RackBar>,
    /// Lengths in which the seller cuts or sells bar, mm.
    pub sold: Vec<f64>,
    /// Sizes in which the seller cuts or sells plate, mm.
    pub sheets: Vec<[f64; 2]>,
}

impl Default for Shop {
    fn default() -> Self {
        Self {
            unit: Unit::Millimetre,
            squeezers: Vec::new(),
            shims: Vec::new(),
            lathes: Vec::new(),
            mills: Vec::new(),
            drill_presses: Vec::new(),
            rotary_tables: Vec::new(),
            saws: Vec::new(),
            tools: Tools::default(),
            rack: Vec::new(),
            sold: Vec::new(),
            sheets: Vec::new(),
        }
    }
}

/// A press or a vise of the shop.
#[derive(Clone, Debug, PartialEq)]
pub struct Squeezer {
    /// Name.
    pub name: String,
    /// A vise, else a press.
    pub vise: bool,
    /// N.
    pub force: f64,
    /// How far it opens, mm.
    pub opens: Option<f64>,
}

/// Spindle speeds, rev/min.
#[derive(Clone, Debug, PartialEq)]
pub enum Spindle {
    /// Steps of pulleys or gears, slowest first.
    Steps(Vec<f64>),
    /// Any speed between these.
    Range([f64; 2]),
}

impl Spindle {
    /// The fastest speed that is not over `wanted`, else the slowest there is.
    pub fn at_most(&self, wanted: f64) -> f64 {
        match self {
            Self::Range([low, high]) => wanted.clamp(*low, *high),
            Self::Steps(steps) => {
                let under = steps
                    .iter()
                    .copied()
                    .filter(|s| *s <= wanted * (1.0 + 1e-9));
                under
                    .max_by(f64::total_cmp)
                    .or_else(|| steps.first().copied())
                    .unwrap_or(wanted)
            }
        }
    }
}

/// What a lathe holds work with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holding {
    /// Three jaws that move together.
    ThreeJaw,
    /// Four jaws that are set one by one.
    FourJaw,
    /// Collets.
    Collets,
    /// Faceplate.
    Faceplate,
    /// Between centres with a dog.
    Centres,
}

/// A lathe.
#[derive(Clone, Debug, PartialEq)]
pub struct Lathe {
    /// Name.
    pub name: String,
    /// Largest diameter over the bed.
    pub swing: f64,
    /// Largest diameter over the cross slide.
    pub over_slide: Option<f64>,
    /// Between centres.
    pub between_centres: f64,
    /// Bore of the spindle.
    pub spindle_bore: f64,
    /// What holds the work.
    pub holds: Vec<Holding>,
    /// Width of the jaws of the three-jaw chuck.
    pub jaw_width: f64,
    /// Speeds.
    pub speeds: Spindle,
    /// Feeds, mm a turn, finest first; empty: by hand.
    pub feeds: Vec<f64>,
    /// Pitches that it cuts, mm.
    pub pitches: Vec<f64>,
    /// One division of the cross slide's dial.
    pub dial: f64,
    /// The dial counts the diameter, else the movement.
    pub on_diameter: bool,
    /// It has a steady.
    pub steady: bool,
}

/// A mill.
#[derive(Clone, Debug, PartialEq)]
pub struct Mill {
    /// Name.
    pub name: String,
    /// Travel right, back and up.
    pub travel: [f64; 3],
    /// Speeds.
    pub speeds: Spindle,
    /// One division of its dials.
    pub dial: f64,
    /// Digital readout: its resolution.
    pub readout: Option<f64>,
    /// Largest drill in steel.
    pub drills_to: f64,
}

/// A drill press.
#[derive(Clone, Debug, PartialEq)]
pub struct DrillPress {
    /// Name.
    pub name: String,
    /// Speeds.
    pub speeds: Spindle,
    /// Largest drill in steel.
    pub drills_to: f64,
    /// Stroke of the quill.
    pub stroke: f64,
}

/// A rotary table.
#[derive(Clone, Debug, PartialEq)]
pub struct RotaryTable {
    /// Name.
    pub name: String,
    /// Diameter.
    pub diameter: f64,
    /// Turns of the handle for one of the table.
    pub ratio: f64,
    /// One division of its dial or vernier, rad.
    pub dial: f64,
}

/// A saw.
#[derive(Clone, Debug, PartialEq)]
pub struct Saw {
    /// Name.
    pub name: String,
    /// Width of the cut.
    pub kerf: f64,
    /// Largest round bar.
    pub capacity: f64,
}

/// A drill.
#[derive(Clone, Debug, PartialEq)]
pub struct Drill {
    /// As it is called: `6.8 mm`, `#7`.
    pub name: String,
    /// Diameter.
    pub diameter: f64,
}

/// Tools.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tools {
    /// Drills, smallest first.
    pub drills: Vec<Drill>,
    /// Reamers.
    pub reamers: Vec<Sized>,
    /// Taps.
    pub taps: Vec<Thread>,
    /// Dies.
    pub dies: Vec<Thread>,
    /// End mills, smallest first.
    pub end_mills: Vec<f64>,
    /// Form cutters for gears.
    pub gear_cutters: Vec<GearCutters>,
    /// Bores that boring bars reach on the lathe, from and to.
    pub boring: Option<[f64; 2]>,
    /// Bores that the boring head reaches on the mill, from and to.
    pub boring_head: Option<[f64; 2]>,
    /// Carbide for turning, else high-speed steel.
    pub carbide: bool,
    /// What is left on a sawn end to face.
    pub facing: f64,
}

/// Form cutters of one size of tooth.
#[derive(Clone, Debug, PartialEq)]
pub struct GearCutters {
    /// Module, mm.
    pub module: f64,
    /// They are of a set by diametral pitch, whose numbers run the other way.
    pub by_pitch: bool,
    /// Numbers as they are marked.
    pub numbers: Vec<usize>,
}

/// A bar or plate in the rack.
#[derive(Clone, Debug, PartialEq)]
pub struct RackBar {
    /// Name.
    pub name: String,
    /// Section.
    pub section: crate::work::Section,
    /// Name of its material.
    pub material: String,
    /// Length.
    pub length: f64,
    /// How many.
    pub count: usize,
}
