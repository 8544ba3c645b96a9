//! `bellcrank packet`.

use std::path::Path;

use sheets::{Leaf, Pose, Print};
use shop::{Grade, Job, Told};
use studies::answers::Severity;

use super::args::{Packet as Args, Paper};
use super::exit::Exit;
use super::fault::Fault;
use super::progress::{counted, during};
use super::question::{self, Read, shown};
use super::report::{Answer, Packeted};
use super::table::wrap;
use super::{Done, WIDTH, Worked, output};

/// Name of the sheets in the folder.
const PDF: &str = "packet.pdf";

impl From<Paper> for Leaf {
    fn from(paper: Paper) -> Self {
        match paper {
            Paper::A4 => Self::A4,
            Paper::Letter => Self::Letter,
        }
    }
}

/// How the machine is made, and the papers of that.
pub(crate) fn of(read: &Read, print: Print) -> Result<(Job, sheets::Packet), Fault> {
    let mut job = shop::job(&read.machine, &studies::cams::shapes(&read.model));
    if job.parts.is_empty() {
        return Err(Fault::usage(
            "the machine file says of no part how it is made",
            "give parts a `stock`, or write pieces: docs/machine-file.md, Pieces",
        ));
    }
    // The assembly shows the machine as drawn.
    let stand = read.model.drawn();
    let standing = studies::standing(&read.model, &stand).map_err(Fault::machine)?;
    let assembly = Pose {
        standing: &standing,
        drives: &stand.drives,
        settings: &stand.settings,
    };
    let setting = sheets::Setting {
        up: studies::setting_up(&read.model),
        parts: studies::parts::parts(&read.model),
    };
    // What no cutter makes right is told before the first cut: a machine that does not hold, a cam that misses its limits.
    let shapes = studies::cams::findings(&read.model);
    let meet = studies::clearance::as_drawn(&read.model).map_err(Fault::machine)?;
    let faults = read.faults().iter().chain(&meet).chain(&shapes);
    let missed = faults.chain(&setting.parts.findings);
    let missed = missed.filter(|f| matches!(f.severity, Severity::Fault | Severity::Miss));
    let unsound = missed.map(|f| {
        let advice = f.what_to_try.as_deref();
        let advice = advice.unwrap_or(if f.about.starts_with("cam.") {
            "`bellcrank cycle FILE` tells more"
        } else {
            "`bellcrank parts FILE --would-do`"
        });
        shop::Finding::new(Grade::Unsound, "", f.sentence.as_str(), advice)
    });
    job.findings.splice(0..0, unsound);
    let dial = dialing(read)?;
    let packet = sheets::packet(
        &read.machine,
        &job,
        Some(&assembly),
        Some(&setting),
        dial.as_ref(),
        print,
    );
    Ok((job, packet))
}

/// All sheets as one file.
pub(crate) fn pdf(packet: &sheets::Packet, done: &mut dyn FnMut(usize)) -> Result<Vec<u8>, Fault> {
    let broken =
        |error: sheets::PdfError| Fault::disk(error.to_string(), "this is a fault of the program");
    packet.pdf(done).map_err(broken)
}

pub(crate) fn run(args: &Args, json: bool) -> Result<Done, Fault> {
    let read = question::read(&args.file)?;
    let print = Print {
        leaf: args.paper.into(),
        dual: args.dual,
    };
    let (job, packet) = during("planning the work", || {
        question::within(&read, of(&read, print))
    })?;
    let pdf = counted("sheet", packet.len(), |done| pdf(&packet, done))?;
    folder(&args.out)?;
    let mut written = Vec::new();
    let mut put = |name: &str, bytes: &[u8]| {
        let path = args.out.join(name);
        output::write(&path, bytes)?;
        written.push(shown(&path));
        Ok::<(), Fault>(())
    };
    put(PDF, &pdf)?;
    for (name, text) in &packet.files {
        put(name, text.as_bytes())?;
    }
    let exit = match read.judge() {
        Exit::Kept if job.findings.iter().any(|f| f.grade <= Grade::Cannot) => Exit::Missed,
        other => other,
    };
    let worked = Worked {
        exit,
        text: text(&read, &job, &packet, &args.out, written.len()) + &left(&args.out, &packet),
        answer: Answer::Packet(Packeted::new(&job, packet.len(), written)),
    };
    Ok(worked.done(&read, json))
}

/// What to take to the machine; none where nothing can be read on it.
fn dialing(read: &Read) -> Result<Option<studies::dial::answers::Paper>, Fault> {
    let path = machine::logbook::beside(Path::new(&read.file));
    let logged = if path.exists() {
        let none = super::entries::Entries::default();
        Some(super::dial_in::log(&mut read.clone(), &path, &none)?)
    } else {
        None
    };
    let log = logged.as_ref().map(|l| &l.log);
    Ok(studies::dial::paper(&read.model, log)
        .or_else(|_| studies::dial::paper(&read.model, None))
        .ok())
}

/// Files like those of a packet that lie in its folder and are not of this one: parts were renamed or changed since, and nobody cuts from
/// what is left of them.
fn left(out: &Path, packet: &sheets::Packet) -> String {
    let ours = |name: &str| name == PDF || packet.files.iter().any(|f| f.0 == name);
    let kind = |name: &str| {
        let end = Path::new(name).extension().and_then(|e| e.to_str());
        end.is_some_and(|e| ["csv", "dxf", "pdf", "step", "svg"].contains(&e))
    };
    let Ok(found) = std::fs::read_dir(out) else {
        return String::new();
    };
    let mut all: Vec<String> = found
        .filter_map(|f| Some(f.ok()?.file_name().to_string_lossy().into_owned()))
        .filter(|name| kind(name) && !ours(name))
        .collect();
    all.sort();
    if all.is_empty() {
        return String::new();
    }
    let told = format!(
        "Not of this packet, though in its folder (from an earlier one, or put there): {}",
        all.join(", ")
    );
    wrap(&told, WIDTH, 2) + "\n"
}

fn folder(out: &Path) -> Result<(), Fault> {
    std::fs::create_dir_all(out).map_err(|error| {
        Fault::disk(
            format!("the folder {} cannot be made: {error}", out.display()),
            "name a folder that can be written: --out papers",
        )
    })
}

/// The word a finding of the shop begins with.
const fn graded(grade: Grade) -> &'static str {
    match grade {
        Grade::Unsound => "MISSED",
        Grade::Cannot => "CANNOT",
        Grade::WayRound => "way round",
        Grade::Assumed => "assumed",
    }
}

/// What is said of the work: the whole, each finding, what the solids are without.
pub(crate) struct Spoken {
    pub(crate) whole: String,
    pub(crate) findings: Vec<Told>,
    pub(crate) solids: Vec<Solids>,
}

/// What is not in the solids of some parts.
pub(crate) struct Solids {
    pub(crate) text: String,
    pub(crate) about: Vec<String>,
}

/// What is said of the work.
pub(crate) fn spoken(read: &Read, job: &Job, packet: &sheets::Packet) -> Spoken {
    let minutes = |i: usize| job.sheets.iter().map(|s| s.minutes[i]).sum::<f64>() / 60.0;
    let whole = format!(
        "{}: {} parts of {} kinds, about {:.0} h at the machines ({:.0} to {:.0})",
        read.machine.name,
        job.parts.iter().map(|p| p.count).sum::<usize>(),
        job.parts.len(),
        minutes(1),
        minutes(0),
        minutes(2)
    );
    let part = |part: &str| shop::words::spoken(part);
    let without = packet.without_solid.iter();
    let without: Vec<String> = without
        .map(|(p, why)| format!("{} ({why})", part(p)))
        .collect();
    let left_out = packet.left_out.iter();
    let left_out: Vec<String> = left_out
        .map(|(p, what)| format!("{} is without {what}", part(p)))
        .collect();
    let mut solids = Vec::new();
    if !without.is_empty() {
        solids.push(Solids {
            text: format!("No STEP of {}", without.join(", ")),
            about: packet.without_solid.iter().map(|w| w.0.clone()).collect(),
        });
    }
    if !left_out.is_empty() {
        solids.push(Solids {
            text: format!("STEP: {}", left_out.join(", ")),
            about: packet.left_out.iter().map(|w| w.0.clone()).collect(),
        });
    }
    Spoken {
        whole,
        findings: shop::told(&job.findings),
        solids,
    }
}

impl Spoken {
    /// As lines.
    fn text(&self) -> String {
        let mut text = wrap(&self.whole, WIDTH, 2) + "\n\n";
        for f in &self.findings {
            let grade = graded(f.grade);
            let advice = format!("try: {}", f.advice);
            let (told, advice) = (wrap(&f.text, WIDTH, 11), wrap(&advice, WIDTH, 11));
            text += &format!("{grade:<10} {told}\n           {advice}\n");
        }
        if !self.findings.is_empty() {
            text.push('\n');
        }
        for s in &self.solids {
            text += &(wrap(&s.text, WIDTH, 2) + "\n\n");
        }
        text
    }
}

fn text(read: &Read, job: &Job, packet: &sheets::Packet, out: &Path, files: usize) -> String {
    let said = spoken(read, job, packet).text();
    format!(
        "{said}Wrote {}: {} sheets, and {} files beside it\n",
        shown(&out.join(PDF)),
        packet.len(),
        files - 1
    )
}
