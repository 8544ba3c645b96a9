//! The logbook of a built machine: dimensions as measured, readings taken, jobs run. A text of its own beside the machine file.
//!
//! [`read`] resolves every name against the machine and its dimensions, and tells all problems at once like [`crate::read`]. Uncertainties
//! are those a machinist states: plus or minus, right 95 times of 100.

mod csv;
mod date;
mod head;
mod jobs;
mod measured;
mod runs;
mod write;

use std::path::{Path, PathBuf};

use quantity::Kind;
use toml_edit::Document;

use crate::desk::Desk;
use crate::diagnostic::Diagnostic;
use crate::load;
use crate::model::{Machine, Place};
use crate::sources::Sources;
use crate::syntax;

pub use csv::{Table, from_csv};
pub use date::Date;
pub use write::{append, blank, job_entry, measured_entry};

/// A dimension of a made part that a log can speak of.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// "lever: centre distance lever-pivot to lever-pin".
    pub name: String,
    /// Length or angle.
    pub kind: Kind,
}

/// A dimension as measured on the part.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// Index into the dimensions.
    pub dimension: usize,
    /// Value, mm or rad.
    pub value: f64,
    /// Plus or minus, 95 of 100, mm or rad.
    pub uncertainty: f64,
    /// The instrument.
    pub with: String,
    /// When.
    pub on: Option<Date>,
    /// Where it stands.
    pub place: Place,
}

/// Where the indicator's zero is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Zero {
    /// Set anywhere.
    Unknown,
    /// The readings are true values.
    True,
    /// Not touched since the run before of the same reading.
    Kept,
}

/// One reading taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Taken {
    /// Value of the drive, rad or mm.
    pub at: f64,
    /// What the instrument showed, mm or rad.
    pub shown: f64,
    /// +1 when the drive came from below, −1 from above, 0 when it was not said.
    pub going: f64,
    /// Where it stands.
    pub place: Place,
}

/// Readings taken in one go.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Name.
    pub name: String,
    /// Index into [`Machine::readings`].
    pub reading: usize,
    /// Index into [`Machine::drives`]: the one that was moved.
    pub drive: usize,
    /// Values of other drives.
    pub at: Vec<(usize, f64)>,
    /// Values of settings.
    pub set: Vec<(usize, f64)>,
    /// Plus or minus of one reading, 95 of 100, mm or rad.
    pub uncertainty: f64,
    /// Plus or minus with which the drive was put to its place, 95 of 100, rad or mm.
    pub position: f64,
    /// Plus or minus by which the zero of the drive's own scale may be off, all places alike, 95 of 100, rad or mm; none when it is true.
    pub drive_zero: Option<f64>,
    /// Zero of the indicator.
    pub zero: Zero,
    /// +1 when the indicator counts as the reading does, −1 when it counts the other way.
    pub sense: f64,
    /// The load case the machine stood under.
    pub under: Option<usize>,
    /// The instrument.
    pub with: String,
    /// When.
    pub on: Option<Date>,
    /// The readings in the order in which they were taken.
    pub taken: Vec<Taken>,
    /// Where it stands.
    pub place: Place,
}

/// A job that was run: how the machine was set, and what it read.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// Name: the leather, the die.
    pub name: String,
    /// A line about it.
    pub note: String,
    /// When.
    pub on: Option<Date>,
    /// Values of drives.
    pub at: Vec<(usize, f64)>,
    /// Values of settings.
    pub set: Vec<(usize, f64)>,
    /// What readings were, true values.
    pub reads: Vec<(usize, f64)>,
    /// Plus or minus of those, 95 of 100, mm or rad; none when not said.
    pub uncertainty: Option<f64>,
    /// Where it stands.
    pub place: Place,
}

/// Everything in a log.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Log {
    /// The day from which it counts.
    pub since: Option<Date>,
    /// Entries before that day, which are a record only.
    pub rest: usize,
    /// Dimensions as measured.
    pub measured: Vec<Measured>,
    /// Readings taken.
    pub runs: Vec<Run>,
    /// Jobs.
    pub jobs: Vec<Job>,
}

/// What came of reading a log.
#[derive(Clone, Debug)]
pub struct LogRead {
    /// The texts of the machine, and behind them that of the log.
    pub sources: Sources,
    /// The log, when nothing is wrong with it.
    pub log: Option<Log>,
    /// Everything there is to say about it.
    pub problems: Vec<Diagnostic>,
}

/// The log that belongs to a machine file: `embosser.toml` has `embosser.log.toml`.
pub fn beside(machine_file: &Path) -> PathBuf {
    machine_file.with_extension("log.toml")
}

/// The text of a log.
///
/// # Errors
/// It cannot be read, or is no text.
pub fn text(path: &Path) -> Result<String, Diagnostic> {
    load::text_from(path, "a logbook")
}

/// Reads a log of this machine from a text; `name` stands for the file's name in messages. Its places count on from `sources`, the
/// texts of the machine.
pub fn read(
    name: &str,
    text: &str,
    machine: &Machine,
    known: &[Known],
    sources: &Sources,
) -> LogRead {
    let mut sources = sources.clone();
    let source = sources.add(name.to_owned(), text.to_owned());
    let root = match Document::parse(text) {
        Ok(document) => document.into_table(),
        Err(error) => {
            return LogRead {
                problems: syntax::slips(text, source, &error),
                sources,
                log: None,
            };
        }
    };
    let mut desk = Desk::new(&sources);
    head::declare(&mut desk, machine);
    let log = head::read(&mut desk, source, &root, machine, known);
    let sound = desk.errors() == 0;
    let mut problems = desk.into_problems();
    problems.sort_by_key(|p| p.labels.first().map(|l| l.place.start));
    LogRead {
        problems,
        sources,
        log: log.filter(|_| sound),
    }
}
