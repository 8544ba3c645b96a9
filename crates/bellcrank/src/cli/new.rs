//! `bellcrank new`.

use super::args::{Kind, New};
use super::exit::Exit;
use super::fault::Fault;
use super::question::shown;
use super::report::Report;
use super::{Done, output};

/// The text of a machine to start from.
pub(crate) fn starter(kind: Kind) -> &'static str {
    match kind {
        Kind::Lever => include_str!("starters/lever.toml"),
        Kind::Crank => include_str!("starters/crank.toml"),
    }
}

pub(crate) fn run(args: &New, json: bool) -> Result<Done, Fault> {
    let start = if args.shop {
        include_str!("starters/shop.toml")
    } else {
        starter(args.kind)
    };
    output::write_new(&args.file, start.as_bytes())?;
    let file = shown(&args.file);
    let text = if json {
        Report::begun(file).text()
    } else if args.shop {
        format!(
            "Wrote {file}: machines, tools and stock to put your own figures to.\n\n\
             Name it in a machine file beside it: shop = \"{file}\"\n"
        )
    } else {
        next_steps(args.kind, &file)
    };
    Ok(Done {
        exit: Exit::Kept,
        text,
    })
}

fn next_steps(kind: Kind, file: &str) -> String {
    let name = quoted(file);
    let (what, draw) = match kind {
        Kind::Lever => ("a hand lever that sets a gap", "--ghost \"set = 60 deg\""),
        Kind::Crank => ("a crank and rocker", "--trace pencil"),
    };
    format!(
        "Wrote {file}: {what}.\n\n\
         Does it go together, and are the asks kept?\n\
         \x20   bellcrank check {name}\n\
         What does it do, step by step?\n\
         \x20   bellcrank motion {name}\n\
         What does it look like?\n\
         \x20   bellcrank draw {name} -o machine.svg {draw}\n\n\
         Then open it in an editor, move a pin, and check again.\n"
    )
}

/// A path as it must be typed: one that begins with a hyphen would be read as an option.
fn quoted(file: &str) -> String {
    let file = &if file.starts_with('-') {
        format!("./{file}")
    } else {
        file.to_owned()
    };
    if file.contains(|c: char| c.is_whitespace()) {
        format!("\"{file}\"")
    } else {
        file.to_owned()
    }
}
