//! The shop papers on the page: what the command says of them, each sheet, each file. The packet of the machine that is looked at is kept, so
//! that turning its sheets costs nothing.

use std::sync::{Arc, Mutex, PoisonError};

use axum::extract::{Path, Query as Words, State};
use serde_json::{Value, json};
use sheets::{Leaf, Print};

use super::Page;
use super::api::{Answered, Said, Shared, desk, good};
use super::ask::Query;
use super::trouble::{Trouble, bytes_of, json_of};
use super::work::Halt;
use crate::cli::packet;
use crate::cli::question::Read;
use crate::cli::report::Packeted;

/// The work on a machine and its papers.
pub(crate) struct Made {
    said: packet::Spoken,
    report: Packeted,
    pub(crate) packet: sheets::Packet,
}

/// The papers that were looked at last, and of what they are.
#[derive(Default)]
pub(crate) struct Papers(Mutex<Option<(String, Arc<Made>)>>);

impl Papers {
    fn of(&self, key: &str) -> Option<Arc<Made>> {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.as_ref()
            .filter(|k| k.0 == key)
            .map(|k| Arc::clone(&k.1))
    }

    fn keep(&self, key: String, made: &Arc<Made>) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        *kept = Some((key, Arc::clone(made)));
    }
}

/// The paper that a link asks for, and whether it wants both units.
pub(crate) fn paper(query: &Query) -> Result<Print, Trouble> {
    let leaf = match query.get("paper") {
        None | Some("a4") => Leaf::A4,
        Some("letter") => Leaf::Letter,
        Some(other) => {
            return Err(
                Trouble::refused(format!("nothing is printed on \"{other}\""))
                    .what_to_do("a4 or letter"),
            );
        }
    };
    let dual = query.get("dual") == Some("yes");
    Ok(Print { leaf, dual })
}

fn work(read: &Read, print: Print) -> Result<Made, Trouble> {
    let (job, packet) = packet::of(read, print)?;
    Ok(Made {
        said: packet::spoken(read, &job, &packet),
        report: Packeted::new(&job, packet.len(), Vec::new()),
        packet,
    })
}

/// The papers of a machine as it now is, and the version of that.
pub(crate) async fn made(
    page: &Page,
    name: String,
    query: &Query,
) -> Result<(Arc<Made>, u64), Trouble> {
    let paper = paper(query)?;
    let desk = desk(page, name).await?;
    let good = good(&desk.now())?;
    let key = format!("{}\n{}\n{paper:?}", desk.name, good.version);
    if let Some(made) = page.papers.of(&key) {
        return Ok((made, good.version));
    }
    let (halt, read) = Halt::over(&good.read);
    let made = page.workshop.study(move || work(&read, paper)).await?;
    drop(halt);
    let made = Arc::new(made);
    page.papers.keep(key, &made);
    Ok((made, good.version))
}

/// `GET make`: what the command says, which sheets and which files there are.
pub(crate) async fn make(
    State(page): Shared,
    Path(name): Path<String>,
    Words(words): Said,
) -> Answered {
    let query = Query::new(words)?;
    let (made, version) = made(&page, name, &query).await?;
    let findings = made.said.findings.iter();
    let findings: Vec<Value> = findings
        .map(|f| json!({ "grade": f.grade, "sentence": f.text, "what_to_try": f.advice, "about": f.about }))
        .collect();
    let solids = made.said.solids.iter();
    let solids: Vec<Value> = solids
        .map(|s| json!({ "sentence": s.text, "about": s.about }))
        .collect();
    let sheets = made.packet.titles().enumerate();
    let sheets: Vec<Value> = sheets
        .map(|(n, title)| json!({ "title": title, "about": made.packet.about(n) }))
        .collect();
    let files: Vec<&str> = made.packet.files.iter().map(|f| f.0.as_str()).collect();
    Ok(json_of(&json!({
        "version": version,
        "whole": made.said.whole,
        "findings": findings,
        "solids": solids,
        "report": made.report,
        "sheets": sheets,
        "files": files,
    })))
}

/// `GET sheet/{n}`: a sheet, true to size.
pub(crate) async fn sheet(
    State(page): Shared,
    Path((name, n)): Path<(String, usize)>,
    Words(words): Said,
) -> Answered {
    let query = Query::new(words)?;
    let (made, version) = made(&page, name, &query).await?;
    let svg = n.checked_sub(1).and_then(|n| made.packet.svg(n));
    let svg = svg.ok_or_else(|| Trouble::not_there("the packet has no such sheet"))?;
    Ok(json_of(&json!({ "version": version, "sheet": svg })))
}

/// The style of the sheets: black on white, on any page.
pub(crate) async fn style() -> axum::response::Response {
    bytes_of("text/css; charset=utf-8", sheets::paper_style())
}
