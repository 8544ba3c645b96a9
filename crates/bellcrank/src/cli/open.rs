//! `bellcrank open`.

use std::process::{Command, Stdio};

use super::args::Open;
use super::exit::Exit;
use super::fault::Fault;
use super::question::shown;
use super::report::{Answer, Opened, Report};
use super::{Done, output};
use crate::page;

pub(crate) fn run(args: &Open, json: bool) -> Result<Done, Fault> {
    let page = page::open(&args.file, args.port)?;
    let (link, port) = (page.link.clone(), page.port);
    let text = if json {
        let answer = Answer::Open(Opened {
            link: link.clone(),
            port,
        });
        Report::plain(shown(&args.file), answer).text()
    } else {
        format!(
            "{link}\nThe page is open to this computer alone, for as long as this runs; Ctrl-C ends it.\n"
        )
    };
    // Said before the work begins, since that has no end.
    output::print(&text)?;
    if !args.no_browser && !show(&link) {
        output::say("No browser could be opened: open the link yourself.\n");
    }
    page.serve()?;
    Ok(Done {
        exit: Exit::Kept,
        text: String::new(),
    })
}

/// Opens a link in the browser of this computer.
fn show(link: &str) -> bool {
    let (program, args): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(windows) {
        ("rundll32", &["url.dll,FileProtocolHandler"])
    } else {
        ("xdg-open", &[])
    };
    Command::new(program)
        .args(args)
        .arg(link)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .is_ok()
}
