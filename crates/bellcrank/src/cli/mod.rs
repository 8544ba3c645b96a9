//! Arguments, printing, progress, JSON and exit codes.

mod amounts;
pub(crate) mod args;
pub(crate) mod bands_table;
pub(crate) mod cams;
pub(crate) mod check;
pub(crate) mod clearance_table;
mod csv;
pub(crate) mod cycle;
pub(crate) mod cycle_text;
pub(crate) mod dial_in;
pub(crate) mod draw;
pub(crate) mod entries;
pub(crate) mod exit;
pub(crate) mod fault;
pub(crate) mod load;
pub(crate) mod load_table;
pub(crate) mod motion;
mod motion_table;
pub(crate) mod new;
pub(crate) mod numbers;
mod open;
pub(crate) mod output;
mod over;
pub(crate) mod packet;
pub(crate) mod parts;
pub(crate) mod picture;
mod progress;
pub(crate) mod question;
mod reach;
pub(crate) mod report;
mod running_table;
pub(crate) mod scale;
pub(crate) mod sensitivity;
mod slips;
pub(crate) mod spread;
mod table;
mod turning_table;

#[cfg(test)]
mod samples;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::error::ErrorKind;
use clap::{CommandFactory, Parser};

use args::{Args, Command};
use exit::Exit;
use fault::Fault;
use question::Read;
use report::{Answer, Report};

/// What is printed fits into so many columns where it can.
const WIDTH: usize = 80;

/// What a command has to print, and how it went.
pub(crate) struct Done {
    exit: Exit,
    text: String,
}

/// What a command found: the answer, and the same in words.
pub(crate) struct Worked {
    pub(crate) exit: Exit,
    pub(crate) answer: Answer,
    pub(crate) text: String,
}

impl Worked {
    /// As it is printed; warnings go to the person at the keyboard.
    fn done(self, read: &Read, json: bool) -> Done {
        let Self { exit, answer, text } = self;
        let text = if json {
            Report::answered(exit, read, answer).text()
        } else {
            output::warn(read, answer.faults(read));
            text
        };
        Done { exit, text }
    }
}

/// Does what is typed.
pub(crate) fn run(typed: impl IntoIterator<Item = OsString>) -> ExitCode {
    let typed: Vec<OsString> = typed.into_iter().collect();
    let args = match Args::try_parse_from(&typed) {
        Ok(args) => args,
        Err(error) => return not_understood(&error, &typed).into(),
    };
    let json = match &args.command {
        Command::Motion(motion) => args.json || motion.format == args::Format::Json,
        Command::Cycle(cycle) => args.json || cycle.format == args::Format::Json,
        Command::Load(load) => args.json || load.format == args::Format::Json,
        Command::Parts(parts) => args.json || parts.format == args::Format::Json,
        Command::DialIn(dial_in) => args.json || dial_in.format == args::Format::Json,
        Command::Spread(spread) => args.json || spread.format == args::Format::Json,
        _ => args.json,
    };
    finish(json, answer(&args.command, json)).into()
}

fn answer(command: &Command, json: bool) -> Result<Done, Fault> {
    match command {
        Command::New(new) => new::run(new, json),
        Command::Check(check) => check::run(check, json),
        Command::Motion(motion) => motion::run(motion, json),
        Command::Cycle(cycle) => cycle::run(cycle, json),
        Command::Draw(draw) => draw::run(draw, json),
        Command::Open(open) => open::run(open, json),
        Command::Sensitivity(sensitivity) => sensitivity::run(sensitivity, json),
        Command::Load(load) => load::run(load, json),
        Command::Parts(parts) => parts::run(parts, json),
        Command::Packet(packet) => packet::run(packet, json),
        Command::Spread(spread) => spread::run(spread, json),
        Command::DialIn(dial_in) => dial_in::run(dial_in, json),
        Command::Schema => Ok(printed(report::schema())),
        Command::Completions { shell } => Ok(printed(completions(*shell))),
        Command::Man { command } => man(command.as_deref()).map(printed),
    }
}

fn printed(text: String) -> Done {
    Done {
        exit: Exit::Kept,
        text,
    }
}

/// Prints the answer, or why there is none.
fn finish(json: bool, answer: Result<Done, Fault>) -> Exit {
    let fault = match answer {
        Ok(done) => match output::print(&done.text) {
            Ok(()) => return done.exit,
            // The screen is what fails; there is no use in printing JSON to it.
            Err(fault) => {
                output::say(&fault.text(output::colour_err()));
                return fault.exit;
            }
        },
        Err(fault) => fault,
    };
    if json {
        let text = Report::failed(&fault).text();
        if let Err(fault) = output::print(&text) {
            return fault.exit;
        }
    } else {
        output::say(&fault.text(output::colour_err()));
    }
    fault.exit
}

/// Help and version are answers; everything else that cannot be read is wrong use.
fn not_understood(error: &clap::Error, typed: &[OsString]) -> Exit {
    let asked = matches!(
        error.kind(),
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion
    );
    if asked {
        let text = if output::colour_out() {
            error.render().ansi().to_string()
        } else {
            error.render().to_string()
        };
        return finish(false, Ok(printed(text)));
    }
    if error.kind() == ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand {
        output::say(&error.render().to_string());
        return Exit::Usage;
    }
    let words: Vec<String> = typed
        .iter()
        .skip(1)
        .map(|word| word.to_string_lossy().into_owned())
        .collect();
    let json = words.iter().any(|word| word == "--json")
        || words.windows(2).any(|pair| pair == ["--format", "json"]);
    finish(json, Err(slips::fault(error, &words)))
}

fn completions(shell: clap_complete::Shell) -> String {
    let mut bytes = Vec::new();
    clap_complete::generate(shell, &mut Args::command(), "bellcrank", &mut bytes);
    String::from_utf8_lossy(&bytes).into_owned()
}

/// The man page of the program, or of one command.
fn man(command: Option<&str>) -> Result<String, Fault> {
    let mut whole = Args::command();
    // Gives the commands their full names.
    whole.build();
    let page = match command {
        None => whole,
        Some(name) => {
            let found = whole
                .get_subcommands()
                .find(|c| c.get_name() == name && !c.is_hide_set());
            let Some(found) = found else {
                return Err(slips::unknown_command(name));
            };
            found.clone()
        }
    };
    let mut bytes = Vec::new();
    // Writing into memory cannot fail.
    let _ = clap_mangen::Man::new(page).render(&mut bytes);
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
