//! From the command line to a question: reading the machine, and looking up what is named.

use std::path::Path;
use std::sync::OnceLock;

use machine::{Diagnostic, Machine, Reading, Severity, Sources, nearest};
use quantity::{Kind, Unit};
use studies::{Finding, Judged, Model, Stand, Sweep};

use super::args::{As, File, LengthUnit, Pose};
use super::exit::Exit;
use super::fault::Fault;
use super::over::{self, Over};

/// A machine that was read, with what there is to say about its file.
#[derive(Clone)]
pub(crate) struct Read {
    /// The path as typed.
    pub(crate) file: String,
    pub(crate) machine: Machine,
    pub(crate) model: Model,
    /// Readings that are taken over a drive.
    pub(crate) over: Vec<Over>,
    faults: OnceLock<Vec<Finding>>,
    asks: OnceLock<Vec<Judged>>,
    pub(crate) sources: Sources,
    /// No errors among them.
    pub(crate) warnings: Vec<Diagnostic>,
}

impl Read {
    /// What makes every number worthless; looked for once.
    pub(crate) fn faults(&self) -> &[Finding] {
        self.faults.get_or_init(|| studies::faults(&self.model))
    }

    /// Asks on readings as they are met on paper, under load and over their bands; none where no number can be trusted. Judged once.
    pub(crate) fn asks(&self) -> &[Judged] {
        self.asks.get_or_init(|| {
            if self.faults().is_empty() {
                studies::asks(&self.model)
            } else {
                Vec::new()
            }
        })
    }

    pub(crate) fn judge(&self) -> Exit {
        if self.faults().is_empty() {
            Exit::Kept
        } else {
            Exit::Missed
        }
    }
}

/// Reads the machine file.
pub(crate) fn read(file: &File) -> Result<Read, Fault> {
    let mut read = of(
        shown(&file.file),
        machine::read(&file.file),
        file.unit.map(LengthUnit::unit),
    )?;
    let beside = || machine::logbook::beside(&file.file);
    let path = file.log.clone().unwrap_or_else(beside);
    as_logged(&mut read, file.machine_as, &path)?;
    read.model = read.model.metered();
    Ok(read)
}

/// The answer, unless finding it was given up on the way: then that is all there is to say.
pub(crate) fn within<T>(read: &Read, answer: Result<T, Fault>) -> Result<T, Fault> {
    read.model.within().map_err(Fault::machine)?;
    answer
}

/// Makes a drawn machine the one that its log speaks of.
pub(crate) fn as_logged(read: &mut Read, machine_as: As, log: &Path) -> Result<(), Fault> {
    let made = match machine_as {
        As::Drawn => return Ok(()),
        As::Built => studies::dial::built,
        As::Measured => studies::dial::measured,
    };
    let logged = super::dial_in::log(read, log, &super::entries::Entries::default())?;
    read.model = made(&read.model, &logged.log).map_err(Fault::machine)?;
    read.over = over::all(&read.model);
    // What was found of the drawn machine is not true of this one.
    (read.faults, read.asks) = (OnceLock::new(), OnceLock::new());
    Ok(())
}

/// What was read, put together; lengths are shown in this unit rather than that of the file.
pub(crate) fn of(file: String, reading: Reading, unit: Option<Unit>) -> Result<Read, Fault> {
    let warnings = reading.problems;
    let Some(mut machine) = reading.machine else {
        let exit = if could_not_be_opened(&warnings) {
            Exit::Disk
        } else {
            Exit::File
        };
        return Err(Fault {
            exit,
            problems: warnings,
            sources: reading.sources,
        });
    };
    if let Some(unit) = unit {
        show_lengths_in(&mut machine, unit);
    }
    let model = studies::assemble(&machine);
    Ok(Read {
        file,
        over: over::all(&model),
        faults: OnceLock::new(),
        asks: OnceLock::new(),
        machine,
        model,
        sources: reading.sources,
        warnings,
    })
}

/// The file itself could not be opened: then there is no text to point at.
fn could_not_be_opened(problems: &[Diagnostic]) -> bool {
    problems.iter().any(|problem| {
        problem.severity == Severity::Error
            && problem.labels.is_empty()
            && problem.code == "cannot-read"
    })
}

/// A path as a person reads it.
pub(crate) fn shown(path: &Path) -> String {
    path.display().to_string()
}

/// From here on every length is shown in this unit, and bare ones are taken in it.
fn show_lengths_in(machine: &mut Machine, unit: Unit) {
    machine.unit = unit;
    let units = machine
        .drives
        .iter_mut()
        .map(|drive| &mut drive.unit)
        .chain(machine.settings.iter_mut().map(|setting| &mut setting.unit))
        .chain(machine.readings.iter_mut().map(|reading| &mut reading.unit));
    for shown in units {
        if shown.kind() == Kind::Length {
            *shown = unit;
        }
    }
}

/// The things of one kind that a machine has, for messages.
struct Names<'a> {
    one: &'static str,
    many: &'static str,
    all: Vec<&'a str>,
}

impl Names<'_> {
    fn find(&self, name: &str, machine: &Machine) -> Result<usize, Fault> {
        let name = name.trim();
        if let Some(index) = self.all.iter().position(|&known| known == name) {
            return Ok(index);
        }
        let message = format!("{} has no {} called \"{name}\"", machine.name, self.one);
        let list = self.all.join(", ");
        let help = if self.all.is_empty() {
            format!("it has no {} at all", self.many)
        } else if let Some(near) = nearest(name, self.all.iter().copied()) {
            format!("perhaps \"{near}\" is meant; {}: {list}", self.many)
        } else {
            format!("{}: {list}", self.many)
        };
        Err(Fault::usage(message, help))
    }
}

fn drives(machine: &Machine) -> Names<'_> {
    Names {
        one: "drive",
        many: "drives",
        all: machine
            .drives
            .iter()
            .map(|drive| drive.name.as_str())
            .collect(),
    }
}

fn settings(machine: &Machine) -> Names<'_> {
    Names {
        one: "setting",
        many: "settings",
        all: machine
            .settings
            .iter()
            .map(|setting| setting.name.as_str())
            .collect(),
    }
}

/// The drive with this name; without one, the first.
pub(crate) fn drive(machine: &Machine, name: Option<&str>) -> Result<usize, Fault> {
    match name {
        Some(name) => drives(machine).find(name, machine),
        None if machine.drives.is_empty() => Err(Fault::usage(
            format!("{} has no drive, so nothing can be moved", machine.name),
            "add one to the file: [drive.NAME] with turns = \"PART\" or slides = \"PART\"",
        )),
        None => Ok(0),
    }
}

/// The readings with these names; without any, all.
pub(crate) fn readings(machine: &Machine, names: &[String]) -> Result<Vec<usize>, Fault> {
    let known = Names {
        one: "reading",
        many: "readings",
        all: machine
            .readings
            .iter()
            .map(|reading| reading.name.as_str())
            .collect(),
    };
    let mut found = Vec::new();
    for name in names {
        let index = known.find(name, machine)?;
        if !found.contains(&index) {
            found.push(index);
        }
    }
    if names.is_empty() {
        found.extend(0..machine.readings.len());
    }
    Ok(found)
}

/// The load case with this name.
pub(crate) fn case(machine: &Machine, name: &str) -> Result<usize, Fault> {
    let known = Names {
        one: "load case",
        many: "load cases",
        all: machine
            .work
            .cases
            .iter()
            .map(|case| case.name.as_str())
            .collect(),
    };
    known.find(name, machine)
}

/// The points with these names.
pub(crate) fn points(machine: &Machine, names: &[String]) -> Result<Vec<usize>, Fault> {
    let known = Names {
        one: "point",
        many: "points",
        all: machine
            .points
            .iter()
            .map(|point| point.name.as_str())
            .collect(),
    };
    names.iter().map(|name| known.find(name, machine)).collect()
}

/// The plane with this name.
pub(crate) fn plane(machine: &Machine, name: &str) -> Result<usize, Fault> {
    let known = Names {
        one: "plane",
        many: "planes",
        all: machine
            .planes
            .iter()
            .map(|plane| plane.name.as_str())
            .collect(),
    };
    known.find(name, machine)
}

/// Where the machine stands by `--at` and `--set`; what is not named stands as drawn.
pub(crate) fn stand(read: &Read, pose: &Pose) -> Result<Stand, Fault> {
    let mut stand = read.model.drawn();
    for text in &pose.at {
        put_drive(read, &mut stand, "--at", text)?;
    }
    for text in &pose.set {
        let (name, value) = pair("--set", text)?;
        if let Err(fault) = settings(&read.machine).find(name, &read.machine) {
            return Err(match drives(&read.machine).find(name, &read.machine) {
                Ok(_) => Fault::usage(
                    format!("{name} is a drive, not a setting"),
                    format!("write --at \"{name} = {value}\""),
                ),
                Err(_) => fault,
            });
        }
        read.model
            .set(&mut stand, name, value)
            .map_err(|refusal| Fault::wrong_value("--set", text, refusal))?;
    }
    Ok(stand)
}

/// Puts a drive where a text such as `set = 40 deg` says.
pub(crate) fn put_drive(
    read: &Read,
    stand: &mut Stand,
    option: &str,
    text: &str,
) -> Result<(), Fault> {
    let (name, value) = pair(option, text)?;
    if let Err(fault) = drives(&read.machine).find(name, &read.machine) {
        return Err(match settings(&read.machine).find(name, &read.machine) {
            Ok(_) => Fault::usage(
                format!("{name} is a setting, not a drive"),
                format!("write --set \"{name} = {value}\""),
            ),
            Err(_) => fault,
        });
    }
    read.model
        .set(stand, name, value)
        .map_err(|refusal| Fault::wrong_value(option, text, refusal))
}

/// The sweep asked for by `--from`, `--to` and `--step`. Each value is looked at by itself first, so that a slip in one is told
/// with its option.
pub(crate) fn sweep(read: &Read, drive: &str, range: [Option<&str>; 3]) -> Result<Sweep, Fault> {
    let [from, to, step] = range;
    for (option, text, [from, to, step]) in [
        ("--from", from, [from, None, None]),
        ("--to", to, [None, to, None]),
        ("--step", step, [None, None, step]),
    ] {
        read.model
            .sweep(drive, from, to, step)
            .map_err(|refusal| Fault::wrong_value(option, text.unwrap_or_default(), refusal))?;
    }
    read.model
        .sweep(drive, from, to, step)
        .map_err(|refusal| Fault::usage(refusal.message, refusal.help))
}

/// A machine without a drive has nothing to sweep: `--from`, `--to` and `--step` are wrong there.
pub(crate) fn drive_if_asked(machine: &Machine, range: &[Option<&str>]) -> Result<(), Fault> {
    if range.iter().any(Option::is_some) {
        drive(machine, None)?;
    }
    Ok(())
}

/// What else could be moved, for somebody who did not say.
pub(crate) fn others(read: &Read, said: Option<&str>, drive: usize) -> String {
    let others = read
        .machine
        .drives
        .iter()
        .enumerate()
        .filter(|&(index, _)| index != drive);
    let names: Vec<&str> = others.map(|(_, other)| other.name.as_str()).collect();
    if said.is_some() || names.is_empty() {
        return String::new();
    }
    format!("\nOther drives, moved by --drive: {}\n", names.join(", "))
}

/// Whether such a text is about the drive or setting with this name.
pub(crate) fn names(text: &str, name: &str) -> bool {
    text.split_once('=')
        .is_some_and(|(this, _)| this.trim() == name)
}

/// `set = 40 deg` as name and value.
fn pair<'a>(option: &str, text: &'a str) -> Result<(&'a str, &'a str), Fault> {
    let parts = text
        .split_once('=')
        .map(|(name, value)| (name.trim(), value.trim()));
    match parts {
        // No name begins with a digit.
        Some((name, value)) if name.starts_with(|c: char| c.is_ascii_digit() || c == '-') => {
            Err(Fault::usage(
                format!("{option} \"{text}\": the name comes first"),
                format!("write it as {option} \"{value} = {name}\""),
            ))
        }
        Some((name, value)) if !name.is_empty() && !value.is_empty() => Ok((name, value)),
        _ => Err(Fault::usage(
            format!("{option} \"{text}\" is not a name with its value"),
            format!("write it as {option} \"name = 40 deg\""),
        )),
    }
}
