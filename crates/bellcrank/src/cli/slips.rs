//! What is typed wrongly, told in the manner of all other messages.

use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{CommandFactory, Error};
use machine::nearest;

use super::args::Args;
use super::fault::Fault;

/// The message for arguments that cannot be understood; `typed` are the words behind the program's name.
pub(crate) fn fault(error: &Error, typed: &[String]) -> Fault {
    let text = |kind| match error.get(kind) {
        Some(ContextValue::String(text)) => Some(text.clone()),
        Some(ContextValue::Strings(texts)) => Some(texts.join(", ")),
        Some(ContextValue::StyledStr(text)) => Some(text.to_string()),
        _ => None,
    };
    let wrong = text(ContextKind::InvalidArg).unwrap_or_default();
    let value = text(ContextKind::InvalidValue).unwrap_or_default();
    let help = help_of(typed);
    match error.kind() {
        ErrorKind::InvalidSubcommand => {
            let word = text(ContextKind::InvalidSubcommand).unwrap_or_default();
            unknown_command(&word)
        }
        ErrorKind::MissingSubcommand => Fault::usage("a command is missing", list_of_commands()),
        ErrorKind::MissingRequiredArgument => {
            let usage = text(ContextKind::Usage).unwrap_or_default();
            let usage = usage.trim().trim_start_matches("Usage: ");
            let missing: Vec<String> = wrong.split(", ").map(plain).collect();
            let verb = if missing.len() == 1 { "is" } else { "are" };
            Fault::usage(
                format!("{} {verb} missing", missing.join(" and ")),
                format!("write {usage}"),
            )
        }
        ErrorKind::UnknownArgument
            if typed.iter().any(|word| word == "=") || !wrong.starts_with('-') =>
        {
            Fault::usage(
                format!("\"{wrong}\" is one word too many"),
                "put a value with blanks in quotes: --at \"set = 40 deg\"",
            )
        }
        ErrorKind::UnknownArgument => {
            let near = text(ContextKind::SuggestedArg)
                .map(|near| format!("perhaps \"{near}\" is meant; "));
            Fault::usage(
                format!("there is no option {wrong}"),
                near.unwrap_or_default() + &help,
            )
        }
        ErrorKind::InvalidValue if value.is_empty() => {
            Fault::usage(format!("{} has no value", plain(&wrong)), help)
        }
        ErrorKind::InvalidValue => {
            let known = text(ContextKind::ValidValue).unwrap_or_default();
            Fault::usage(
                format!("{} cannot be \"{value}\"", plain(&wrong)),
                format!("it can be {known}"),
            )
        }
        ErrorKind::ValueValidation => {
            let why = std::error::Error::source(error).map_or(help, ToString::to_string);
            Fault::usage(format!("{} cannot be \"{value}\"", plain(&wrong)), why)
        }
        ErrorKind::ArgumentConflict => {
            let other = text(ContextKind::PriorArg).filter(|other| *other != wrong);
            let sentence = match other {
                Some(other) => format!("{} does not go with {}", plain(&wrong), plain(&other)),
                None => format!("{} is given more than once", plain(&wrong)),
            };
            Fault::usage(sentence, help)
        }
        _ => {
            // Whatever else there may be is told in the words of the reader of arguments.
            let rendered = error.render().to_string();
            let first = rendered.lines().next().unwrap_or_default();
            Fault::usage(first.strip_prefix("error: ").unwrap_or(first), help)
        }
    }
}

/// `--unit` of `--unit <UNIT>`; a file stays `<FILE>`.
fn plain(argument: &str) -> String {
    match argument.split_once(' ') {
        Some((option, _)) if option.starts_with('-') => option.to_owned(),
        _ => argument.trim_matches(['<', '>', '[', ']']).to_owned(),
    }
}

fn commands() -> Vec<String> {
    let whole = Args::command();
    let shown = whole
        .get_subcommands()
        .filter(|command| !command.is_hide_set());
    shown.map(|command| command.get_name().to_owned()).collect()
}

fn list_of_commands() -> String {
    format!("commands: {}", commands().join(", "))
}

/// There is no such command.
pub(crate) fn unknown_command(word: &str) -> Fault {
    let commands = commands();
    let near = nearest(word, commands.iter().map(String::as_str));
    let near = near.map(|near| format!("perhaps \"{near}\" is meant; "));
    Fault::usage(
        format!("there is no command {word}"),
        near.unwrap_or_default() + &list_of_commands(),
    )
}

/// Where to look further.
fn help_of(typed: &[String]) -> String {
    let commands = commands();
    match typed.iter().find(|word| commands.contains(word)) {
        Some(command) => format!("`bellcrank {command} --help` tells what can be written"),
        None => String::from("`bellcrank --help` tells what can be written"),
    }
}
