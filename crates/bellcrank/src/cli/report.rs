//! The answer as JSON: one object on the standard output, whatever happens.

use machine::{Diagnostic, Resolved, Sources};
use schemars::{JsonSchema, Schema, SchemaGenerator, generate::SchemaSettings};
use serde::Serialize;
use studies::cams::{CamSurvey, CamTable, SmallestCam};
use studies::clearance::Clearance;
use studies::cycle::{ClosingCurve, Cycle, Map, PointTurned, Running, Turning};
use studies::dial::answers::{DialIn, Scale};
use studies::load::answers::{BandsTable, Loads, LostMotion, Stretch};
use studies::parts::answers::Parts;
use studies::spread::Spread;
use studies::{Assemblies, Check, Finding, Judged, Motion, Sensitivities};

use super::exit::Exit;
use super::fault::Fault;
use super::over::Over;
use super::question::Read;

/// Counts up when a field goes away or changes its meaning; new fields may come without it.
const VERSION: u32 = 1;

/// What `bellcrank` prints under `--json`. Lengths are in mm and angles in rad throughout, unrounded; `inside` beside a
/// number says which it is, `unit` in what a person wants to read it.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(untagged)]
#[schemars(title = "Answers of bellcrank")]
pub(crate) enum Report {
    /// There is an answer.
    Answered(Box<Answered>),
    /// There is none, and why.
    Failed(Failed),
}

/// An answer.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Answered {
    /// Version of this form.
    pub(crate) version: u32,
    /// Exit code of the program: 0 all asks kept, 1 an ask missed or a fault found.
    pub(crate) exit: u8,
    /// The machine file.
    pub(crate) file: String,
    /// Warnings about the machine file.
    pub(crate) warnings: Vec<Resolved>,
    /// What is wrong with the machine, so that its numbers are not to be trusted.
    pub(crate) faults: Vec<Finding>,
    /// Readings that are taken over a drive.
    pub(crate) taken_over: Vec<Over>,
    #[serde(flatten)]
    pub(crate) answer: Answer,
}

/// The command, and its answer.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(tag = "command", content = "answer", rename_all = "kebab-case")]
pub(crate) enum Answer {
    /// Of `new`.
    New(Written),
    /// Of `check`.
    Check(Checked),
    /// Of `motion`. A rate is in the inside unit of its reading, per inside unit of the drive.
    Motion(Moved),
    /// Of `cycle`. Rates are in the inside unit of the reading by that of the drive.
    Cycle(Box<Cycled>),
    /// Of `draw`.
    Draw(Written),
    /// Of `open`. It is printed when the page can be opened; the program goes on.
    Open(Opened),
    /// Of `sensitivity`. A rate is in the inside unit of its reading, per inside unit of the dimension, drive or setting.
    Sensitivity(Sensitivities),
    /// Of `load`. Forces are in N, moments in N·mm.
    Load(Loaded),
    /// Of `parts`. Lengths are in mm, forces in N; a check says its own unit.
    Parts(Parts),
    /// Of `packet`. Lengths are in mm, masses in kg, times in minutes.
    Packet(Packeted),
    /// Of `spread`.
    Spread(Spreads),
    /// Of `dial-in`.
    DialIn(Box<DialedIn>),
}

impl Answer {
    /// Faults that make it worthless. `check` tells them among its findings.
    pub(crate) fn faults<'a>(&self, read: &'a Read) -> &'a [Finding] {
        match self {
            Self::Check(_) | Self::New(_) | Self::Open(_) => &[],
            _ => read.faults(),
        }
    }
}

/// A file was written.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Written {
    /// Its path.
    pub(crate) written: String,
}

/// Shop papers were written.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Packeted {
    /// How many sheets.
    pub(crate) sheets: usize,
    /// Least, likely and most minutes at the machines.
    pub(crate) minutes: [f64; 3],
    /// Parts.
    pub(crate) parts: Vec<PartMade>,
    /// What this shop cannot do, where another way is taken, what was taken for granted.
    pub(crate) findings: Vec<ShopFinding>,
    /// Files, the PDF first.
    pub(crate) written: Vec<String>,
}

/// A part that is made.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct PartMade {
    /// Name.
    pub(crate) name: String,
    /// How many.
    pub(crate) count: usize,
    /// Material.
    pub(crate) material: String,
    /// Stock it is cut from.
    pub(crate) stock: String,
    /// Length of the blank, mm.
    pub(crate) blank: f64,
    /// Mass of one, kg.
    pub(crate) mass: f64,
}

/// What the shop has to say.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct ShopFinding {
    /// `unsound`, `cannot`, `way-round` or `assumed`.
    pub(crate) grade: &'static str,
    /// The part; empty for all.
    pub(crate) about: String,
    /// What is the matter.
    pub(crate) text: String,
    /// What to do.
    pub(crate) advice: String,
}

impl Packeted {
    pub(crate) fn new(job: &shop::Job, sheets: usize, written: Vec<String>) -> Self {
        let part = |(p, b): (&shop::Part, &shop::cut::Blank)| PartMade {
            name: p.name.clone(),
            count: p.count,
            material: b.material.clone(),
            stock: b.stock.clone(),
            blank: b.length,
            mass: b.mass,
        };
        let finding = |f: &shop::Finding| ShopFinding {
            grade: match f.grade {
                shop::Grade::Unsound => "unsound",
                shop::Grade::Cannot => "cannot",
                shop::Grade::WayRound => "way-round",
                shop::Grade::Assumed => "assumed",
            },
            about: f.about.clone(),
            text: f.text.clone(),
            advice: f.advice.clone(),
        };
        Self {
            sheets,
            minutes: std::array::from_fn(|i| job.sheets.iter().map(|s| s.minutes[i]).sum()),
            parts: job.parts.iter().zip(&job.cut.blanks).map(part).collect(),
            findings: job.findings.iter().map(finding).collect(),
            written,
        }
    }
}

/// A page was opened.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Opened {
    /// The link that opens it. It holds the key: whoever has it can change the machines of the folder.
    pub(crate) link: String,
    /// The port on this computer.
    pub(crate) port: u16,
}

/// A motion, and the file with its curves.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Moved {
    #[serde(flatten)]
    pub(crate) motion: Motion,
    /// Readings with load, play and tolerance, when the machine file tells of any; one a case, or one without load. Drives
    /// stand as the case says.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) bands: Vec<BandsTable>,
    /// Asks on readings: met on paper, under load and over their bands.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) asks: Vec<Judged>,
    /// The file with the curves, if one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) plot: Option<String>,
}

/// A whole turn, and what came of a second drive.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Cycled {
    #[serde(flatten)]
    pub(crate) cycle: Cycle,
    /// Points that were asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) points: Vec<PointTurned>,
    /// The least of each reading over the turn as a function of a second drive, found exactly.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) closing: Vec<ClosingCurve>,
    /// What turns the drive, where its speed is known and something weighs or loads the machine.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) turning: Option<Turning>,
    /// A run in time, if that was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) running: Option<Running>,
    /// How moving parts clear one another, if that was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) clearance: Option<Clearance>,
    /// The first reading over both drives, if a map was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) map: Option<Map>,
    /// The file with the timing diagram, if one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) plot: Option<String>,
    /// The file with the map, if one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) written: Option<String>,
    /// The cams of the machine.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) cams: Vec<CamSurvey>,
    /// The smallest that each of them could be, its slide or pivot placed freely.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) smallest_cams: Vec<SmallestCam>,
    /// What is wrong with their shapes.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) cam_findings: Vec<Finding>,
    /// The numbers to cut one by, if its table was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) cam_table: Option<CamTable>,
}

/// A loaded machine.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Loaded {
    #[serde(flatten)]
    pub(crate) loads: Loads,
    /// What gives, one a case, with the drive that is moved where the joints are hardest pressed or where `--at` puts it.
    pub(crate) stretch: Vec<Stretch>,
    /// What rattles, one a case, there.
    pub(crate) lost_motion: Vec<LostMotion>,
    /// Readings with their bands over the drive, one a case.
    pub(crate) bands: Vec<BandsTable>,
    /// Asks on readings: met on paper, under load and over their bands.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) asks: Vec<Judged>,
    /// The file with the curves, if one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) plot: Option<String>,
    /// The drawing with the forces, if one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) arrows: Option<String>,
    /// The diagrams along the shafts, if they were asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) shafts: Option<String>,
}

/// Made machines, and the file with the bars.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Spreads {
    #[serde(flatten)]
    pub(crate) spread: Spread,
    /// Asks on readings: met on paper, under load and over their bands.
    #[serde(rename = "asks_met", skip_serializing_if = "Vec::is_empty")]
    pub(crate) asks: Vec<Judged>,
    /// The file with the bars, if one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) plot: Option<String>,
}

/// A machine fitted to its readings.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct DialedIn {
    /// The fit; none when only a scale was asked for and nothing was measured.
    #[serde(flatten)]
    pub(crate) dial_in: Option<DialIn>,
    /// The scale, if one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) scale: Option<Scale>,
    /// Files the scale was written into.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) written: Vec<String>,
    /// The log.
    pub(crate) log: String,
    /// What the command line added was written into it.
    pub(crate) kept: bool,
    /// The file with the curves, if one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) plot: Option<String>,
}

/// A checked machine.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Checked {
    #[serde(flatten)]
    pub(crate) check: Check,
    /// Where the findings stand in the files: one a finding, in their order.
    pub(crate) finding_places: Vec<Option<Spot>>,
    /// Readings as drawn with load, play and tolerance, when the machine file tells of any; one a case, or one without load.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) bands: Vec<BandsTable>,
    /// The other ways to put it together, if they were asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) assemblies: Option<Assemblies>,
}

/// A place in a file; line and column count from 1.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Spot {
    /// Path.
    pub(crate) file: String,
    /// Line.
    pub(crate) line: usize,
    /// Column.
    pub(crate) column: usize,
}

/// Why there is no answer.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Failed {
    /// Version of this form.
    version: u32,
    /// Exit code of the program: 1 the machine cannot do it, 2 wrong use of the command, 3 the machine file has errors, 4 a file
    /// could not be read or written.
    exit: u8,
    /// What is wrong.
    errors: Vec<Resolved>,
}

impl Report {
    pub(crate) fn answered(exit: Exit, read: &Read, answer: Answer) -> Self {
        let faults = answer.faults(read).to_vec();
        Self::Answered(Box::new(Answered {
            version: VERSION,
            exit: exit.code(),
            file: read.file.clone(),
            warnings: resolved(&read.warnings, &read.sources),
            faults,
            taken_over: read.over.clone(),
            answer,
        }))
    }

    /// A machine file was begun.
    pub(crate) fn begun(file: String) -> Self {
        let written = file.clone();
        Self::plain(file, Answer::New(Written { written }))
    }

    /// An answer that says nothing about the machine itself.
    pub(crate) fn plain(file: String, answer: Answer) -> Self {
        Self::Answered(Box::new(Answered {
            version: VERSION,
            exit: Exit::Kept.code(),
            file,
            warnings: Vec::new(),
            faults: Vec::new(),
            taken_over: Vec::new(),
            answer,
        }))
    }

    pub(crate) fn failed(fault: &Fault) -> Self {
        Self::Failed(Failed {
            version: VERSION,
            exit: fault.exit.code(),
            errors: resolved(&fault.problems, &fault.sources),
        })
    }

    /// As printed.
    pub(crate) fn text(&self) -> String {
        // Nothing in it can fail to be written: no maps with odd keys, no foreign types.
        serde_json::to_string_pretty(self).unwrap_or_default() + "\n"
    }
}

fn resolved(problems: &[Diagnostic], sources: &Sources) -> Vec<Resolved> {
    problems
        .iter()
        .map(|problem| problem.resolved(sources))
        .collect()
}

/// Where a finding stands.
pub(crate) fn spot(finding: &Finding, sources: &Sources) -> Option<Spot> {
    let source = sources.get(finding.place.source)?;
    // A finding about the machine as a whole has no place.
    if finding.place.start == finding.place.end {
        return None;
    }
    let spot = source.spot(finding.place.start);
    Some(Spot {
        file: source.path().to_owned(),
        line: spot.line,
        column: spot.column,
    })
}

/// The schema of [`Report`], as printed.
pub(crate) fn schema() -> String {
    let generator = SchemaGenerator::new(SchemaSettings::draft2020_12().for_serialize());
    let schema: Schema = generator.into_root_schema_for::<Report>();
    serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n"
}
