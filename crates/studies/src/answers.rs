//! What the studies answer: plain data, unrounded, in inside units.

use machine::Place;
use machine::model::{PartId, PointId};
use quantity::Unit;
use schemars::JsonSchema;
use serde::{Serialize, Serializer};
use std::sync::Arc;

/// The unit in which numbers are held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub enum Inside {
    /// Millimetres.
    #[serde(rename = "mm")]
    Millimetre,
    /// Radians.
    #[serde(rename = "rad")]
    Radian,
    /// A plain number, for instance that of a hole in a row.
    #[serde(rename = "1")]
    Count,
    /// Newtons.
    #[serde(rename = "N")]
    Newton,
    /// Newton millimetres.
    #[serde(rename = "N mm")]
    NewtonMillimetre,
}

impl Inside {
    /// The inside unit of a moment, or of a force.
    pub fn of_load(is_moment: bool) -> Self {
        if is_moment {
            Self::NewtonMillimetre
        } else {
            Self::Newton
        }
    }

    /// The inside unit of values printed in `unit`.
    pub fn of(unit: Unit) -> Self {
        match unit.kind() {
            quantity::Kind::Angle => Self::Radian,
            quantity::Kind::Count => Self::Count,
            quantity::Kind::Force => Self::Newton,
            quantity::Kind::Moment => Self::NewtonMillimetre,
            _ => Self::Millimetre,
        }
    }
}

#[expect(clippy::trivially_copy_pass_by_ref)] // serde hands over a reference
fn symbol<S: Serializer>(unit: &Unit, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(unit.symbol())
}

/// A named thing with a value: a drive, a setting or a reading.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Quantity {
    /// Name in the machine file.
    pub name: String,
    /// The unit of the numbers in this answer.
    pub inside: Inside,
    /// The unit in which a person wants to read them.
    #[serde(serialize_with = "symbol")]
    #[schemars(with = "String")]
    pub unit: Unit,
}

/// A drive or a setting and the value it has.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Held {
    /// What it is.
    pub quantity: Quantity,
    /// Its value.
    pub value: f64,
    /// It stands as drawn.
    pub as_drawn: bool,
}

/// Why a drive goes no further.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EndKind {
    /// The end of the range asked for or given in the machine file.
    Range,
    /// It went a whole turn, and nothing stopped it.
    WholeTurn,
    /// A dead centre: parts stand in line and the drive can push no further.
    DeadCentre,
    /// A stop.
    Stop,
    /// The end of a slot.
    SlotEnd,
    /// A change point: two ways of assembling meet, and the machine may go on in either.
    ChangePoint,
    /// The drive cannot move at all.
    Locked,
    /// The parts could not be followed further, for a reason that could not be told.
    Lost,
    /// The drive can be pushed without end: it has no range, and nothing was met.
    Open,
}

/// One end of what a drive can reach.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct End {
    /// Value of the drive there.
    pub at: f64,
    /// Why it ends there.
    pub kind: EndKind,
    /// What is in the way, in a machinist's words: "rod front and knee stand in line", "stop lever-end".
    pub cause: String,
}

/// What a drive can reach from where it is drawn.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Reach {
    /// The lower end.
    pub low: End,
    /// The upper end.
    pub high: End,
    /// It goes round and round.
    pub whole_turn: bool,
}

/// A reading in one pose.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Cell {
    /// Its value; none where the pose cannot be reached.
    pub value: Option<f64>,
    /// Its rate: change of the reading by the drive of the table (mm or rad, per mm or rad). None at a dead centre.
    pub rate: Option<f64>,
    /// For a reading over another drive: the value of that drive where it is least or greatest (for a swing: where least).
    pub taken_at: Option<f64>,
    /// For a swing over another drive: the value of that drive where it is greatest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub and_at: Option<f64>,
}

/// A line of the table.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MotionRow {
    /// Value of the drive.
    pub at: f64,
    /// The machine can get there; if not, the cells are empty.
    pub reached: bool,
    /// One a reading, in the order of [`Motion::readings`].
    pub cells: Vec<Cell>,
}

/// A place where a reading turns back.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TurningPoint {
    /// Index into [`Motion::readings`].
    pub reading: usize,
    /// Value of the drive.
    pub at: f64,
    /// Value of the reading.
    pub value: f64,
    /// The reading is greatest there (else least) among its neighbours.
    pub greatest: bool,
}

/// A place where two ways of assembling meet without the drive being stopped.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChangePoint {
    /// Value of the drive.
    pub at: f64,
    /// What stands in line there.
    pub cause: String,
}

/// How the machine moves over one drive.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Motion {
    /// Name of the machine.
    pub machine: String,
    /// The drive that is moved.
    pub drive: Quantity,
    /// All other drives and all settings.
    pub held: Vec<Held>,
    /// The readings.
    pub readings: Vec<Quantity>,
    /// The table: the steps, and between them dead centres, stops, slot ends and change points.
    pub rows: Vec<MotionRow>,
    /// What the drive can reach.
    pub reach: Reach,
    /// Where that falls short of what was asked for, or of the drive's range: what [`Check`] finds about it too.
    pub falls_short: Vec<Finding>,
    /// Where readings turn back within the reach, by reading and then by place.
    pub turning_points: Vec<TurningPoint>,
    /// Change points within the reach.
    pub change_points: Vec<ChangePoint>,
}

/// What one dimension does to a reading.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Effect {
    /// The dimension in the builder's words: "lever: centre distance lever-pivot to lever-pin".
    pub dimension: String,
    /// The part, rod, slide or slot it is made in.
    pub of: String,
    /// Unit of the dimension.
    pub inside: Inside,
    /// Value as drawn and set.
    pub nominal: f64,
    /// Change of the reading by the dimension, inside units of both.
    pub rate: f64,
    /// 0.1 mm (0.005 in on a machine in inches) or 0.1 degree, in the inside unit of the dimension.
    pub step: f64,
    /// Change of the reading when the dimension is greater by `step`: `rate × step`.
    pub change: f64,
}

/// What all dimensions of one part do to a reading.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PartEffect {
    /// The part, rod, slide or slot.
    pub of: String,
    /// How many of its dimensions move the reading.
    pub dimensions: usize,
    /// Root of the sum of the squares of [`Effect::change`].
    pub root_sum_square: f64,
    /// Sum of their sizes: the worst when every dimension is off by its step the wrong way.
    pub worst: f64,
}

/// What a drive or a setting does to a reading.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct HandEffect {
    /// The drive or setting, and its value.
    pub held: Held,
    /// Change of the reading by it, inside units of both. For a hole row: change to the next hole.
    pub rate: f64,
    /// The step a hand can do, if one is given.
    pub step: Option<f64>,
    /// `rate × step`.
    pub change: Option<f64>,
}

/// What moves one reading.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Effects {
    /// The reading.
    pub reading: Quantity,
    /// Its value.
    pub value: f64,
    /// For a reading over another drive: where it is taken (for a swing: where least).
    pub taken_at: Option<f64>,
    /// For a swing over another drive: where it is greatest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub and_at: Option<f64>,
    /// Dimensions that move it, the greatest change first.
    pub dimensions: Vec<Effect>,
    /// Dimensions of which none can be off alone, since joints that repeat one another would not go together any more: the machine is
    /// over-determined in them. In the order of the file, and not among `dimensions`.
    pub must_agree: Vec<String>,
    /// [`Effects::dimensions`] by part, the greatest first.
    pub parts: Vec<PartEffect>,
    /// Drives.
    pub drives: Vec<HandEffect>,
    /// Settings.
    pub settings: Vec<HandEffect>,
}

/// Which dimension moves which reading how much, in one pose.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Sensitivities {
    /// Name of the machine.
    pub machine: String,
    /// All drives and settings.
    pub held: Vec<Held>,
    /// One a reading asked for.
    pub readings: Vec<Effects>,
    /// Readings that have no sensitivity in this pose, and why.
    pub refused: Vec<String>,
}

/// How grave a finding is; the worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// It cannot work.
    Fault,
    /// An ask is missed.
    Miss,
    /// It works, with something to beware of.
    Caution,
    /// Worth knowing.
    Note,
    /// An ask is kept.
    Kept,
}

/// One sentence that a machinist would say.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Finding {
    /// How grave.
    pub severity: Severity,
    /// The sentence, with its number, without a full stop.
    pub sentence: String,
    /// Its number, if it has one, in `inside`.
    pub number: Option<f64>,
    /// By how much it is kept (positive) or missed (negative), in `inside`.
    pub margin: Option<f64>,
    /// Unit of `number` and `margin`.
    pub inside: Option<Inside>,
    /// What to try, or none.
    pub what_to_try: Option<String>,
    /// What it speaks of, as headed in the machine file: `rod.front`, `ask.depth`.
    pub about: String,
    /// Where that stands in the file.
    #[serde(skip)]
    pub place: Place,
}

/// How an ask was judged.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Judged {
    /// Name of the ask.
    pub ask: String,
    /// The reading; for a change per amount, a reading all the same.
    pub reading: Quantity,
    /// Kept or missed.
    pub kept: bool,
    /// The judged value nearest to a limit or farthest beyond it; none when the pose cannot be reached.
    pub value: Option<f64>,
    /// Least value wanted.
    pub at_least: Option<f64>,
    /// Greatest value wanted.
    pub at_most: Option<f64>,
    /// Distance to the nearer limit, negative when missed.
    pub margin: Option<f64>,
    /// Drives where it was judged: for an ask over a range, where it is worst.
    pub at: Vec<Held>,
    /// The same under every load case that the ask may meet, and over the bands of play and making; empty where the file tells of
    /// neither.
    pub borne: Vec<Borne>,
}

/// An ask held against what the machine really does.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Borne {
    /// The load case; none without load.
    pub case: Option<String>,
    /// The judged value under load, where it is worst; none without load.
    pub loaded: Option<f64>,
    /// Distance of that to the nearer limit, negative when missed.
    pub margin_loaded: Option<f64>,
    /// The band about it, where that is worst: play, and making by root-sum-square at three sigma.
    pub from: f64,
    /// The upper end of the band.
    pub to: f64,
    /// Distance of the band's worse end to the nearer limit, negative beyond it.
    pub margin_band: f64,
}

impl Borne {
    /// "under embossing", or "without load".
    pub fn under(&self) -> String {
        let case = self.case.as_ref();
        case.map_or_else(|| String::from("without load"), |c| format!("under {c}"))
    }

    /// It is met under load.
    pub fn met_loaded(&self) -> bool {
        self.margin_loaded.is_none_or(|m| m >= 0.0)
    }

    /// It is met over the whole band.
    pub fn met_band(&self) -> bool {
        self.margin_band >= 0.0
    }
}

impl Judged {
    /// "met on paper, met under embossing, missed over its band": what of the ask is met, one word each.
    pub fn met(&self) -> String {
        let word = |met: bool| if met { "met" } else { "missed" };
        let paper = self.margin.map_or(self.kept, |m| m >= 0.0);
        let mut all = vec![format!("{} on paper", word(paper))];
        for borne in &self.borne {
            if borne.loaded.is_some() {
                all.push(format!("{} {}", word(borne.met_loaded()), borne.under()));
                all.push(format!("{} over its band", word(borne.met_band())));
            } else {
                all.push(format!(
                    "{} over the band without load",
                    word(borne.met_band())
                ));
            }
        }
        all.join(", ")
    }
}

/// Everything that `check` has to say.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Check {
    /// Name of the machine.
    pub machine: String,
    /// Freedoms with all drives taken off.
    pub freedoms: usize,
    /// Freedoms left with every drive held.
    pub loose: usize,
    /// Freedoms by the plain count of parts and joints (Kutzbach), drives taken off.
    pub counted: i64,
    /// What each drive can reach, the others as drawn.
    pub reach: Vec<DriveReach>,
    /// Readings as drawn.
    pub readings: Vec<ReadingNow>,
    /// Asks in file order.
    pub asks: Vec<Judged>,
    /// Findings, the worst first.
    pub findings: Vec<Finding>,
}

/// What one drive can reach.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DriveReach {
    /// The drive.
    pub drive: Quantity,
    /// Its reach.
    pub reach: Reach,
}

/// A reading and its value.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ReadingNow {
    /// The reading.
    pub reading: Quantity,
    /// Its value; none where it cannot be taken.
    pub value: Option<f64>,
    /// For a reading over another drive: where it is taken (for a swing: where least).
    pub taken_at: Option<f64>,
    /// For a swing over another drive: where it is greatest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub and_at: Option<f64>,
}

/// One way to put the same parts together.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Assembly {
    /// It is the one drawn.
    pub drawn: bool,
    /// Readings.
    pub readings: Vec<ReadingNow>,
    /// Which joints fall to the other side than drawn: "knee falls below the line from lever-pin to knee-pivot, not above".
    pub sides: Vec<String>,
    /// Where everything stands.
    pub standing: Standing,
}

/// All ways found to put the same parts together with the drives and settings held; the drawn one first.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Assemblies {
    /// Name of the machine.
    pub machine: String,
    /// All drives and settings.
    pub held: Vec<Held>,
    /// The ways.
    pub ways: Vec<Assembly>,
}

/// Where everything stands in one pose.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Standing {
    /// One a point of the machine: right, up and station in its own plane, mm.
    pub points: Vec<[f64; 3]>,
    /// One a part of the machine: turned from where it is drawn, rad.
    pub turns: Vec<f64>,
    /// Outlines of cams, the same in every pose.
    #[serde(skip)]
    pub outlines: Arc<Vec<Outline>>,
}

/// What an outline is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OutlineOf {
    /// A cam, with its roller.
    Cam,
    /// The slotted wheel of a Geneva pair, with the pin.
    Wheel,
    /// The disc that locks it.
    Lock,
}

/// The outline of a cam or of a part of a Geneva pair, as drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// What it is.
    pub what: OutlineOf,
    /// Its name.
    pub name: String,
    /// The part it goes with.
    pub part: PartId,
    /// Its centre.
    pub centre: PointId,
    /// Centre of its roller or pin.
    pub roller: PointId,
    /// The part the roller goes with.
    pub of: PartId,
    /// Radius of the roller, mm; nothing where none is drawn.
    pub radius: f64,
    /// Closed lines in the plane of its part, as drawn, mm.
    pub lines: Vec<Vec<[f64; 2]>>,
}

/// The path of a point while one drive moves.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Trace {
    /// Name of the point.
    pub point: String,
    /// Index of its plane.
    pub plane: usize,
    /// The drive.
    pub drive: Quantity,
    /// Values of the drive.
    pub at: Vec<f64>,
    /// Right and up in the point's plane at these values, mm.
    pub places: Vec<[f64; 2]>,
    /// The path closes on itself.
    pub closed: bool,
}
