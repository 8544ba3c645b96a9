//! Variants kept by name: the text of a machine as it was, to be compared with and gone back to. They lie beside the machine, in
//! `.bellcrank/kept`, and are machine files like any other.

use std::fs;
use std::path::{Path, PathBuf};

use axum::extract::{Path as Place, Query as Words, Request, State};
use serde::Deserialize;
use serde_json::{Value, json};

use super::api::{Answered, Said, Shared, body, change, clean, desk, good};
use super::ask::Query;
use super::desk::LARGEST_TEXT;
use super::history::own_folder;
use super::study::{told, within};
use super::trouble::{Trouble, bytes_of, json_of};
use super::work::{Halt, files};
use crate::cli::args::Format;
use crate::cli::question::{self, Read};
use crate::cli::report::Answer;
use crate::cli::{motion, output};

/// Longest name, characters.
const LONGEST_NAME: usize = 60;
/// Most variants of one machine.
const MOST_KEPT: usize = 200;

/// A name that is a plain file name on every system, and leads nowhere else.
pub(crate) fn plain(name: &str) -> Result<String, Trouble> {
    let name = name.trim();
    let allowed = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | ' ' | '.');
    let wrong = name.is_empty()
        || name.chars().count() > LONGEST_NAME
        || name.starts_with(['.', '-'])
        || name.ends_with('.')
        || !name.chars().all(allowed);
    if wrong {
        let shown: String = name.chars().filter(|c| !c.is_control()).take(80).collect();
        return Err(
            Trouble::refused(format!("\"{shown}\" is no name for a file"))
                .what_to_do("use up to 60 letters, digits, blanks and hyphens"),
        );
    }
    Ok(name.to_owned())
}

/// Where the variants of a machine lie.
fn folder(machine: &Path) -> PathBuf {
    let home = machine.parent().unwrap_or(Path::new("."));
    let stem = machine.file_stem().unwrap_or_default();
    home.join(".bellcrank").join("kept").join(stem)
}

/// The same, made if it is not there; none of its folders is a link.
fn made(machine: &Path) -> std::io::Result<PathBuf> {
    let folder = folder(machine);
    let mut above: Vec<&Path> = folder.ancestors().take(3).collect();
    above.reverse();
    for folder in above {
        own_folder(folder)?;
    }
    Ok(folder)
}

/// The text of a variant.
pub(crate) fn text(machine: &Path, name: &str) -> Result<String, String> {
    let missing = || format!("nothing is kept under the name {name}");
    let folder = made(machine).map_err(|_| missing())?;
    let path = folder.join(format!("{name}.toml"));
    let about = fs::symlink_metadata(&path).map_err(|_| missing())?;
    if !about.is_file() || about.len() > LARGEST_TEXT as u64 {
        return Err(missing());
    }
    fs::read_to_string(&path).map_err(|_| missing())
}

/// Names of all variants, in order.
fn names(machine: &Path) -> Vec<String> {
    let all = fs::read_dir(folder(machine)).into_iter().flatten();
    let mut names: Vec<String> = all
        .flatten()
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter_map(|file| file.strip_suffix(".toml").map(str::to_owned))
        .filter(|name| plain(name).is_ok_and(|plain| plain == *name))
        .take(MOST_KEPT)
        .collect();
    names.sort();
    names
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Keep {
    name: String,
}

/// Keeps the machine as it is under a name; an older one of that name is replaced.
pub(crate) async fn keep(
    State(page): Shared,
    Place(machine): Place<String>,
    request: Request,
) -> Answered {
    let Keep { name } = body(request).await?;
    let name = plain(&name)?;
    let desk = desk(&page, machine).await?;
    files(move || {
        let unwritable = |error: std::io::Error| {
            Trouble::refused(format!("nothing can be kept here: {error}"))
                .what_to_do("allow writing into the folder of the machine")
        };
        let kept = names(&desk.path);
        if kept.len() >= MOST_KEPT && !kept.contains(&name) {
            return Err(Trouble::refused(format!(
                "no more than {MOST_KEPT} variants are kept"
            )));
        }
        let folder = made(&desk.path).map_err(unwritable)?;
        let text = desk.now().text.to_string();
        output::write(&folder.join(format!("{name}.toml")), text.as_bytes())?;
        desk.news();
        Ok(json_of(&json!({ "kept": names(&desk.path) })))
    })
    .await?
}

/// The names of what is kept; with `name`, its text too.
pub(crate) async fn list(
    State(page): Shared,
    Place(machine): Place<String>,
    Words(words): Said,
) -> Answered {
    let query = Query::new(words)?;
    let desk = desk(&page, machine).await?;
    let name = query.get("name").map(plain).transpose()?;
    files(move || {
        let mut answer = json!({ "kept": names(&desk.path) });
        if let (Some(name), Value::Object(fields)) = (name, &mut answer) {
            let text = text(&desk.path, &name).map_err(Trouble::not_there)?;
            fields.insert("text".into(), text.into());
        }
        Ok(json_of(&answer))
    })
    .await?
}

/// Throws a variant away.
pub(crate) async fn forget(
    State(page): Shared,
    Place(machine): Place<String>,
    Words(words): Said,
) -> Answered {
    let query = Query::new(words)?;
    let name = plain(query.get("name").unwrap_or_default())?;
    let desk = desk(&page, machine).await?;
    files(move || {
        text(&desk.path, &name).map_err(Trouble::not_there)?;
        fs::remove_file(folder(&desk.path).join(format!("{name}.toml")))
            .map_err(|error| Trouble::refused(format!("{name} stays: {error}")))?;
        desk.news();
        Ok(json_of(&json!({ "kept": names(&desk.path) })))
    })
    .await?
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Restore {
    base: u64,
    name: String,
    #[serde(default)]
    by: String,
}

/// Goes back to a variant: a change like any other, which can be undone.
pub(crate) async fn restore(
    State(page): Shared,
    Place(machine): Place<String>,
    request: Request,
) -> Answered {
    let Restore { base, name, by } = body(request).await?;
    let (name, by) = (plain(&name)?, clean(&by, "page"));
    change(&page, machine, move |desk| desk.restore(base, &name, &by)).await
}

/// What the machine and a variant of it say to the same question: `of` is `motion` (the usual), `check`, `load` or `sensitivity`.
pub(crate) async fn compare(
    State(page): Shared,
    Place(machine): Place<String>,
    Words(words): Said,
) -> Answered {
    let query = Query::new(words)?;
    let desk = desk(&page, machine).await?;
    let name = plain(query.get("with").unwrap_or_default())?;
    let study = query.get("of").unwrap_or("motion").to_owned();
    if !["check", "motion", "load", "sensitivity"].contains(&study.as_str()) {
        return Err(Trouble::refused(format!("{study} is not compared"))
            .what_to_do("check, motion, load and sensitivity are"));
    }
    let good = good(&desk.now())?;
    let (halt, own) = Halt::over(&good.read);
    let work = move || {
        let text = text(&desk.path, &name).map_err(Trouble::not_there)?;
        // Read as though it stood where the machine stands, so that it includes the same files.
        let reading = machine::read_as(&desk.path, text.as_bytes());
        let kept = question::of(question::shown(&desk.path), reading, None);
        let plot = match (&kept, study.as_str()) {
            (Ok(kept), "motion") => Some(both(&query, [&own, kept], &name)?),
            _ => None,
        };
        let kept = kept
            .map_err(Trouble::from)
            .and_then(|read| told(&study, &query, &read));
        let told = json!({
            "version": good.version,
            "with": name,
            "plot": plot,
            "now": told(&study, &query, &own)?,
            "kept": kept.unwrap_or_else(Trouble::into_value),
        });
        serde_json::to_vec(&told).map_err(|_| Trouble::broke())
    };
    let bytes = page.workshop.study(work).await?;
    drop(halt);
    Ok(bytes_of("application/json", bytes))
}

/// The curves of the machine as it is and of a variant on the same axes; those of the machine alone where the variant has none.
fn both(query: &Query, [now, kept]: [&Read; 2], name: &str) -> Result<String, Trouble> {
    let plot = |read: &Read| {
        let args = query.motion(read, Format::Text);
        let worked = motion::on(&args, read)?;
        Ok::<_, Trouble>(match &worked.answer {
            Answer::Motion(moved) => Some(motion::bare(&args, moved, read)),
            _ => None,
        })
    };
    let Some(mut curves) = plot(now)? else {
        return Ok(String::new());
    };
    if let Ok(Some(other)) = plot(kept) {
        sheets::plot::add_other(&mut curves, "now", &other, name);
    }
    Ok(within(&curves, query)?.svg(query.look()?))
}
