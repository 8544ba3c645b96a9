//! Why there is no answer, said in one manner: a sentence, the place in the file, what to do instead.

use std::fmt::Write as _;

use machine::{Diagnostic, Severity, Sources};
use studies::Refusal;

use super::WIDTH;
use super::exit::Exit;
use super::table::wrap;

/// Why there is no answer.
#[derive(Debug)]
pub(crate) struct Fault {
    pub(crate) exit: Exit,
    pub(crate) problems: Vec<Diagnostic>,
    pub(crate) sources: Sources,
}

impl Fault {
    fn one(exit: Exit, code: &'static str, message: String, help: String) -> Self {
        let mut problem = Diagnostic::error(code, message);
        if !help.is_empty() {
            problem = problem.help(help);
        }
        Self {
            exit,
            problems: vec![problem],
            sources: Sources::default(),
        }
    }

    /// The command was put wrongly.
    pub(crate) fn usage(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self::one(Exit::Usage, "usage", message.into(), help.into())
    }

    /// A value on the command line is not what it should be.
    pub(crate) fn wrong_value(option: &str, text: &str, refusal: Refusal) -> Self {
        Self::usage(
            format!("{option} \"{text}\": {}", refusal.message),
            refusal.help,
        )
    }

    /// The machine cannot do what is asked.
    pub(crate) fn machine(refusal: Refusal) -> Self {
        if refusal.wrong_question {
            return Self::usage(refusal.message, refusal.help);
        }
        Self::one(Exit::Missed, "machine", refusal.message, refusal.help)
    }

    /// A file could not be read or written.
    pub(crate) fn disk(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self::one(Exit::Disk, "file", message.into(), help.into())
    }

    /// As a person reads it.
    pub(crate) fn text(&self, colour: bool) -> String {
        render(&self.problems, &self.sources, colour)
    }
}

/// Messages below each other, with an empty line between those that show a piece of the file.
pub(crate) fn render(problems: &[Diagnostic], sources: &Sources, colour: bool) -> String {
    let mut texts: Vec<String> = problems
        .iter()
        .take(MOST)
        .map(|problem| match problem.labels.as_slice() {
            [] => without_place(problem, colour),
            _ => problem.render(sources, colour),
        })
        .collect();
    if let Some(more) = problems.len().checked_sub(MOST).filter(|more| *more > 0) {
        texts.push(format!("and {more} more (--json tells all)\n"));
    }
    texts.join("\n")
}

/// So many messages are shown; nobody reads more at once.
const MOST: usize = 50;

/// A message about no place in a file.
fn without_place(problem: &Diagnostic, colour: bool) -> String {
    let word = match problem.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Note => "note",
    };
    let indent = word.len() + 2;
    let word = if colour {
        format!("\u{1b}[1m{word}\u{1b}[0m")
    } else {
        word.to_owned()
    };
    let mut text = format!("{word}: {}\n", wrap(&problem.message, WIDTH, indent));
    if let Some(help) = &problem.help {
        let blanks = " ".repeat(indent);
        let _ = writeln!(text, "{blanks}{}", wrap(help, WIDTH, indent));
    }
    text
}
