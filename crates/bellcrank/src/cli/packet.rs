//! `bellcrank packet`.

use std::path::Path;

use sheets::{Leaf, Pose, Print};
use shop::{Grade, Job};
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
    let faults = read.faults().iter().chain(&shapes);
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
        text: text(&read, &job, &packet, &args.out, written.len()),
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

fn folder(out: &Path) -> Result<(), Fault> {
    std::fs::create_dir_all(out).map_err(|error| {
        Fault::disk(
            format!("the folder {} cannot be made: {error}", out.display()),
            "name a folder that can be written: --out papers",
        )
    })
}

/// A piece of what is said, and the parts it is about.
pub(crate) struct Block {
    pub(crate) text: String,
    pub(crate) about: Vec<String>,
}

/// What is said of the work, in pieces: the whole, each finding, what has no solid.
pub(crate) fn blocks(read: &Read, job: &Job, packet: &sheets::Packet) -> Vec<Block> {
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
    let mut all = vec![Block {
        text: wrap(&whole, WIDTH, 2) + "\n\n",
        about: Vec::new(),
    }];
    for f in shop::told(&job.findings) {
        let grade = match f.grade {
            Grade::Unsound => "MISSED",
            Grade::Cannot => "CANNOT",
            Grade::WayRound => "way round",
            Grade::Assumed => "assumed",
        };
        let advice = format!("try: {}", f.advice);
        all.push(Block {
            text: format!(
                "{grade:<10} {}\n           {}\n",
                wrap(&f.text, WIDTH, 11),
                wrap(&advice, WIDTH, 11)
            ),
            about: f.about,
        });
    }
    if let (false, Some(last)) = (job.findings.is_empty(), all.last_mut()) {
        last.text.push('\n');
    }
    if !packet.without_solid.is_empty() {
        let each: Vec<String> = packet
            .without_solid
            .iter()
            .map(|(part, why)| format!("{} ({why})", shop::words::spoken(part)))
            .collect();
        let told = format!("No STEP of {}", each.join(", "));
        all.push(Block {
            text: wrap(&told, WIDTH, 2) + "\n\n",
            about: packet.without_solid.iter().map(|w| w.0.clone()).collect(),
        });
    }
    if !packet.left_out.is_empty() {
        let each: Vec<String> = packet
            .left_out
            .iter()
            .map(|(part, what)| format!("{} is without {what}", shop::words::spoken(part)))
            .collect();
        all.push(Block {
            text: wrap(&format!("STEP: {}", each.join(", ")), WIDTH, 2) + "\n\n",
            about: packet.left_out.iter().map(|w| w.0.clone()).collect(),
        });
    }
    all
}

fn text(read: &Read, job: &Job, packet: &sheets::Packet, out: &Path, files: usize) -> String {
    let said: String = blocks(read, job, packet)
        .into_iter()
        .map(|b| b.text)
        .collect();
    format!(
        "{said}Wrote {}: {} sheets, and {} files beside it\n",
        shown(&out.join(PDF)),
        packet.len(),
        files - 1
    )
}
