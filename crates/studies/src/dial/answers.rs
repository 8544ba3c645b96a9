//! What dial-in answers. Plus or minus is 95 of 100 throughout: two standard deviations.

use crate::answers::{Finding, Held, Inside, Quantity};
use machine::logbook::Date;
use schemars::JsonSchema;
use serde::Serialize;

/// One dimension: as drawn, and as it came out.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FittedDimension {
    /// The dimension in the builder's words.
    pub dimension: String,
    /// The part, rod, slide or slot it is made in.
    pub of: String,
    /// Unit.
    pub inside: Inside,
    /// As drawn.
    pub drawn: f64,
    /// As it most likely came out.
    pub fitted: f64,
    /// Fitted less drawn.
    pub off: f64,
    /// Plus or minus before anything was measured; none when no tolerance is given.
    pub before: Option<f64>,
    /// Plus or minus now.
    pub after: f64,
    /// Share of the uncertainty that went: 0 nothing was learned, 1 it is known exactly.
    pub learned: f64,
    /// It was measured on the part.
    pub measured: bool,
}

/// Dimensions that these readings see only together.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Together {
    /// The dimensions.
    pub dimensions: Vec<String>,
    /// The reading that would tell the first two apart best.
    pub told_apart_by: Option<Next>,
}

/// Lost motion between coming from below and from above.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Backlash {
    /// The reading.
    pub reading: Quantity,
    /// Over this drive.
    pub drive: String,
    /// Lost motion at the reading; positive when it reads more coming from below.
    pub value: f64,
    /// Plus or minus.
    pub plus_minus: f64,
}

/// The zero of a drive's own scale: a protractor put on a little off.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Shift {
    /// The drive.
    pub drive: Quantity,
    /// The runs it holds for.
    pub runs: Vec<String>,
    /// The drive stood this much further than was logged, at every place.
    pub value: f64,
    /// Plus or minus.
    pub plus_minus: f64,
    /// Plus or minus as stated in the log; none when it was found without being asked for.
    pub before: Option<f64>,
    /// These readings tell it: most of what was open went.
    pub told: bool,
    /// Dimensions that act so much like it that these readings do not tell them apart.
    pub like: Vec<String>,
}

/// How the machine gives under a load case.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Give {
    /// The reading.
    pub reading: Quantity,
    /// The load case.
    pub case: String,
    /// Give a newton (mm/N), when the case squeezes the reading; else the whole give (mm or rad).
    pub value: f64,
    /// Plus or minus.
    pub plus_minus: f64,
    /// Stiffness, N/mm, when it can be told from the give.
    pub stiffness: Option<f64>,
    /// It is a give a newton.
    pub a_newton: bool,
}

/// A reading, or all readings after a slip, that were set aside.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SetAside {
    /// Name of the run.
    pub run: String,
    /// Number of the reading in its run, from 1.
    pub row: usize,
    /// Value of the drive there.
    pub at: f64,
    /// It is a slip: every reading from here on is off, not one alone.
    pub slip: bool,
    /// A slip in the order of the rows: up and down at each place before going on.
    pub by_rows: bool,
    /// Off by this much, in the unit of the reading.
    pub by: f64,
}

/// What is left over, and whether it is only noise.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LeftOver {
    /// Sum of squares, each in its stated standard deviation.
    pub sum: f64,
    /// Readings less what was fitted without knowledge beforehand.
    pub freedoms: usize,
    /// Chance of as much when it is noise of the stated size.
    pub chance: f64,
    /// Chance of as few changes of sign when it has no pattern.
    pub pattern: f64,
    /// The stated uncertainties were widened by this factor; one when they were not.
    pub widened: f64,
}

/// One reading taken beside the fit.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Point {
    /// Value of the drive, as it truly stood.
    pub at: f64,
    /// As the instrument showed it.
    pub shown: f64,
    /// As a reading of the machine: zero, sense, backlash and give taken out.
    pub true_value: f64,
    /// The machine as fitted.
    pub built: f64,
    /// The machine as drawn.
    pub drawn: f64,
    /// Shown less fitted, in stated (widened) standard deviations.
    pub left_over: f64,
    /// +1 from below, −1 from above, 0 not said.
    pub going: f64,
    /// It counted.
    pub used: bool,
}

/// A run beside the fit.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RunFit {
    /// Name.
    pub run: String,
    /// The reading.
    pub reading: Quantity,
    /// The drive that was moved.
    pub drive: Quantity,
    /// Other drives and settings.
    pub held: Vec<Held>,
    /// Zero of the indicator, when it was looked for.
    pub zero: Option<f64>,
    /// The readings.
    pub points: Vec<Point>,
    /// The reading between them, on the machine as drawn and as fitted.
    pub curve: Vec<Stretch>,
}

/// A place on the curve of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Stretch {
    /// Value of the drive.
    pub at: f64,
    /// As drawn.
    pub drawn: f64,
    /// As built.
    pub built: f64,
    /// Plus or minus of that.
    pub plus_minus: f64,
}

/// A reading on the machine as built, beside the drawn one.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BuiltReading {
    /// The reading.
    pub reading: Quantity,
    /// As drawn, with the same drives and settings.
    pub drawn: Option<f64>,
    /// As built.
    pub built: Option<f64>,
    /// Plus or minus of that.
    pub plus_minus: Option<f64>,
}

/// An ask on the machine as built.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BuiltAsk {
    /// Name.
    pub ask: String,
    /// Its reading.
    pub reading: Quantity,
    /// Judged value as drawn.
    pub drawn: Option<f64>,
    /// Judged value as built.
    pub built: Option<f64>,
    /// Plus or minus before anything was measured.
    pub before: Option<f64>,
    /// Plus or minus now.
    pub after: Option<f64>,
    /// What the reading has drifted by since, which is in the value as built.
    pub drift: Option<f64>,
    /// Half the backlash that was found, which is in the plus or minus now: the value may be read coming from either side.
    pub half_lost: Option<f64>,
    /// Distance to the nearer limit as built, negative when missed.
    pub margin: Option<f64>,
    /// Kept as built.
    pub kept: bool,
}

/// A measurement worth taking.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Next {
    /// In words: "read least-gap at set = 10 deg and at set = 60 deg", "measure rod front: length".
    pub what: String,
    /// The plus or minus it is taken with.
    pub with: f64,
    /// Unit of that.
    pub inside: Inside,
    /// Per ask that has a band: plus or minus now and with this measurement.
    pub asks: Vec<Narrowed>,
    /// Share of the variance of the asks that would go, each ask counted by how little it has to spare beside its band.
    pub gain: f64,
}

/// The band of an ask, before and after a measurement.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Narrowed {
    /// Name of the ask (for what tells two dimensions apart: their difference).
    pub ask: String,
    /// Plus or minus now.
    pub now: f64,
    /// Plus or minus with the measurement.
    pub then: f64,
}

/// The fit.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Fit {
    /// Settings and drives at which readings and asks are told: settings as last logged, drives as drawn.
    pub held: Vec<Held>,
    /// Dimensions, the most learned first.
    pub dimensions: Vec<FittedDimension>,
    /// What these readings cannot tell apart.
    pub together: Vec<Together>,
    /// Backlash, where both directions were taken.
    pub backlash: Vec<Backlash>,
    /// Zeros of drives' own scales, where they were asked for or do not hold.
    pub shifts: Vec<Shift>,
    /// Give, where loaded readings were taken.
    pub give: Vec<Give>,
    /// What was set aside.
    pub aside: Vec<SetAside>,
    /// What is left over.
    pub left_over: LeftOver,
    /// The runs beside the fit.
    pub runs: Vec<RunFit>,
    /// Readings as built.
    pub readings: Vec<BuiltReading>,
    /// Asks as built.
    pub asks: Vec<BuiltAsk>,
    /// What to measure next, the most useful first.
    pub next: Vec<Next>,
    /// What to turn; none when the machine has no asks that readings answer, or no settings.
    pub correction: Option<Correction>,
    /// Jobs, and what the machine as built reads with their settings.
    pub jobs: Vec<JobNow>,
    /// What drifts.
    pub wear: Vec<Wear>,
}

/// What a job read, beside the machine as built.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Told {
    /// The reading.
    pub reading: Quantity,
    /// As logged.
    pub read: f64,
    /// The machine as built, there.
    pub built: Option<f64>,
    /// Plus or minus of that.
    pub plus_minus: Option<f64>,
    /// It goes neither with the machine as built nor with the other jobs.
    pub far: bool,
}

/// A job.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct JobNow {
    /// Name.
    pub job: String,
    /// A line about it.
    pub note: String,
    /// When.
    pub on: Option<Date>,
    /// Drives and settings.
    pub held: Vec<Held>,
    /// What it read.
    pub reads: Vec<Told>,
}

/// The drift of a reading from job to job.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Wear {
    /// The reading.
    pub reading: Quantity,
    /// Jobs that tell of it.
    pub jobs: usize,
    /// The first of them.
    pub first: Date,
    /// The last.
    pub last: Date,
    /// Drift a month.
    pub a_month: f64,
    /// Plus or minus of that.
    pub plus_minus: f64,
    /// It drifts by more than it is uncertain.
    pub drifts: bool,
    /// Off the machine as built by this much at the last job.
    pub off: f64,
    /// Plus or minus of that.
    pub off_plus_minus: f64,
    /// That is more than the machine as built is uncertain by: asks and corrections are told for the machine as it read at the last job.
    pub stale: bool,
    /// When the drift, at its fastest, may have used up what an ask has to spare; none without such an ask.
    pub look_again: Option<Date>,
}

/// One adjustment.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Turn {
    /// The setting.
    pub setting: Quantity,
    /// As it stands.
    pub from: f64,
    /// As it should stand.
    pub to: f64,
    /// In words: "give rod front 1½ turns shorter".
    pub words: String,
    /// Steps of the setting.
    pub steps: f64,
}

/// An ask with corrected settings, solved on the machine as built.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CorrectedAsk {
    /// Name.
    pub ask: String,
    /// Its reading.
    pub reading: Quantity,
    /// Judged value; none when it cannot be judged there.
    pub value: Option<f64>,
    /// Plus or minus of that.
    pub plus_minus: Option<f64>,
    /// Distance to the nearer limit, negative when missed.
    pub margin: Option<f64>,
    /// Kept.
    pub kept: bool,
}

/// A set of adjustments and what comes of it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Corrected {
    /// What to do and what comes of it, in one sentence.
    pub sentence: String,
    /// What it costs: adjustments and steps.
    pub cost: String,
    /// The adjustments.
    pub turns: Vec<Turn>,
    /// The asks.
    pub asks: Vec<CorrectedAsk>,
    /// Every ask is kept with its whole band.
    pub sure: bool,
}

/// What to turn.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Correction {
    /// Something has to be turned: an ask is missed, or kept by less than it is uncertain.
    pub needed: bool,
    /// The best set of adjustments: most asks kept, fewest adjustments, greatest margin.
    pub best: Option<Corrected>,
    /// Why there is no best one.
    pub why: Option<String>,
    /// Others.
    pub alternatives: Vec<Corrected>,
    /// Settings that stand at their end and would have to go on.
    pub at_end: Vec<String>,
}

/// From what was drawn to what was built.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DialIn {
    /// Name of the machine.
    pub machine: String,
    /// Readings taken.
    pub readings: usize,
    /// Dimensions measured.
    pub measured: usize,
    /// Everything there is to say, the gravest first.
    pub findings: Vec<Finding>,
    /// The fit; none when the readings make no sense for this machine.
    pub fit: Option<Fit>,
}

/// What one step of a setting does to an ask.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Step {
    /// Name of the ask.
    pub ask: String,
    /// Its reading.
    pub reading: Quantity,
    /// Its judged value changes by this.
    pub change: f64,
}

/// What one step of a setting does.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Effect {
    /// The setting.
    pub setting: Quantity,
    /// As it stands.
    pub now: f64,
    /// The step in words: "give rod front ½ turn longer".
    pub words: String,
    /// By ask.
    pub steps: Vec<Step>,
}

/// The dial-in sheet to take to the machine.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Paper {
    /// Name of the machine.
    pub machine: String,
    /// Where other drives and the settings have to stand.
    pub held: Vec<Held>,
    /// What to read.
    pub reading: Quantity,
    /// What to move.
    pub drive: Quantity,
    /// Places of it.
    pub places: Vec<f64>,
    /// Drives to be turned through their ranges at each place: the reading is the least or greatest over them.
    pub over: Vec<Quantity>,
    /// How far the reading goes over them.
    pub travel: Option<f64>,
    /// What to measure besides, the most useful first.
    pub next: Vec<Next>,
    /// What one step of each setting does.
    pub effects: Vec<Effect>,
    /// What to turn, once something was read.
    pub correction: Option<Correction>,
    /// What the log says that is not as it should be.
    pub findings: Vec<Finding>,
    /// Marks for the drive.
    pub scale: Option<Scale>,
}

/// What a scale is laid on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Shape {
    /// A flat plate beside the pointer: an arc of its radius.
    Arc,
    /// A ring, marked on its face.
    Ring,
    /// A drum, marked on its outside: laid out flat as a strip.
    Drum,
}

/// Which of scale and mark goes with the drive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Goes {
    /// A pointer goes with the drive past a scale that stands.
    Pointer,
    /// The scale goes with the drive past a mark that stands: its numbers run the other way.
    Scale,
}

/// Length of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Length {
    /// Numbered.
    Long,
    /// Half way between two numbers.
    Middle,
    /// All others.
    Short,
}

/// A mark of a scale.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Mark {
    /// Its value in steps.
    pub number: i64,
    /// Value of the reading.
    pub value: f64,
    /// Place of the drive.
    pub at: f64,
    /// Place along the scale, mm.
    pub along: f64,
    /// From the first mark on, rad (mm on a slide): what a rotary table is turned by.
    pub turned: f64,
    /// The same as turns of a dividing head of 40 to 1; none on a slide.
    pub head: Option<f64>,
    /// Length of its line.
    pub length: Length,
    /// What is written at it.
    pub label: Option<String>,
    /// Plus or minus of the reading when the drive stands at this mark; none on the machine as drawn.
    pub plus_minus: Option<f64>,
    /// The same as a place of the drive.
    pub place_plus_minus: Option<f64>,
}

/// A scale.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Scale {
    /// Name of the machine.
    pub machine: String,
    /// Marks stand where the machine as built needs them, not the drawn one.
    pub as_built: bool,
    /// The reading.
    pub reading: Quantity,
    /// The drive.
    pub drive: Quantity,
    /// +1 when the drive counts counter-clockwise or forward, −1 the other way.
    pub sense: f64,
    /// Other drives and all settings.
    pub held: Vec<Held>,
    /// What it is laid on.
    pub shape: Shape,
    /// What goes with the drive.
    pub goes: Goes,
    /// Lost motion of the reading over this drive, when any was found.
    pub backlash: Option<f64>,
    /// Marks are laid for coming to them from below (+1) or from above (−1); 0 in the middle, with half the lost motion in the plus or minus.
    pub coming: f64,
    /// Radius of the marks, mm; none on a slide.
    pub radius: Option<f64>,
    /// From the first mark to the last along the scale, mm.
    pub length: f64,
    /// Once round the drum along the middle of the strip, mm.
    pub around: Option<f64>,
    /// Step from mark to mark.
    pub step: f64,
    /// The marks, by rising place of the drive.
    pub marks: Vec<Mark>,
    /// Length of a vernier of ten divisions, mm, where divisions are even.
    pub vernier: Option<f64>,
    /// What there is to say.
    pub findings: Vec<String>,
}
