//! Questions that are answered as the command line answers them: as data, in its words, with plots as wide as there is room for them.

use axum::body::Body;
use axum::extract::{Path, Query as Words, State};
use serde_json::{Value, json};
use sheets::plot::{self, Figure, Plot};

use super::api::{Answered, Said, Shared, desk, meant};
use super::ask::Query;
use super::trouble::{Trouble, bytes_of, json_of};
use super::work::Halt;
use super::{log, turn};
use crate::cli::args::Format;
use crate::cli::question::Read;
use crate::cli::report::{Answer, Report};
use crate::cli::{
    Worked, bands_table, check, cycle, dial_in, load, motion, parts, question, scale, sensitivity,
};

/// Questions that are answered as the command line answers them.
pub(crate) const STUDIES: [&str; 10] = [
    "check",
    "motion",
    "cycle",
    "map",
    "clearance",
    "load",
    "sensitivity",
    "parts",
    "dial-in",
    "scale",
];

/// The studies: the same answers as those of the command line, as data and in its words.
pub(crate) async fn study(
    State(page): Shared,
    Path((name, study)): Path<(String, String)>,
    Words(words): Said,
) -> Answered {
    let query = Query::new(words)?;
    if !STUDIES.contains(&study.as_str()) {
        return Err(Trouble::not_there("there is no such place on the page"));
    }
    let desk = desk(&page, name).await?;
    // The log is held against the drawing.
    let machine_as = query
        .get("as")
        .filter(|_| !["dial-in", "scale"].contains(&study.as_str()));
    let good = meant(&page, &desk.now(), machine_as).await?;
    let key = format!("{}\n{}\n{study}\n{}", desk.name, good.version, query.key());
    let (halt, read) = Halt::over(&good.read);
    let work = move || {
        let answered = told(&study, &query, &read);
        // What was given up on the way is worth nothing, whatever came out.
        question::within(&read, Ok(()))?;
        let mut told = answered?;
        if let Value::Object(fields) = &mut told {
            fields.insert("version".into(), good.version.into());
        }
        serde_json::to_vec(&told).map_err(|_| Trouble::broke())
    };
    let bytes = page.workshop.kept(key, work).await?;
    drop(halt);
    Ok(bytes_of("application/json", Body::from(bytes)))
}

/// `GET bands`: from where to where every reading may be in one pose, in words.
pub(crate) async fn bands(
    State(page): Shared,
    Path(name): Path<String>,
    Words(words): Said,
) -> Answered {
    let query = Query::new(words)?;
    let desk = desk(&page, name).await?;
    let good = meant(&page, &desk.now(), query.get("as")).await?;
    let (halt, read) = Halt::over(&good.read);
    let work = move || {
        let stand = query.stands(&read)?;
        let table = load::bands_here(&read, &stand)?;
        Ok(json!({ "version": good.version, "bands": bands_table::bands_words(&table) }))
    };
    let told = page.workshop.study(work).await?;
    drop(halt);
    Ok(json_of(&told))
}

/// A study as data, in words, and its curves with where their fields lie.
pub(crate) fn told(study: &str, query: &Query, read: &Read) -> Result<Value, Trouble> {
    // Two drives at once are a part of the command's answer.
    match study {
        "map" => return turn::map(query, read),
        "clearance" => return turn::clearance(query, read),
        _ => {}
    }
    let (mut figure, mut plots, mut said) = (None, Vec::new(), Value::Null);
    let worked = match study {
        "check" => check::on(&query.check(read), read, false)?,
        "load" => {
            let worked = load::on(&query.load(read, Format::Text)?, read, false)?.0;
            if let Answer::Load(answer) = &worked.answer {
                figure = Some(within(&load::plot(answer, read), query)?);
            }
            worked
        }
        "motion" => {
            let args = query.motion(read, Format::Text);
            let worked = motion::on(&args, read)?;
            if let Answer::Motion(moved) = &worked.answer {
                figure = Some(within(&motion::plot(&args, moved, read), query)?);
            }
            worked
        }
        "cycle" => {
            let worked = cycle::on(&query.cycle(read)?, read)?;
            if let Answer::Cycle(cycled) = &worked.answer {
                plots = turn::plots(cycled, query, read)?;
            }
            worked
        }
        "parts" => {
            let args = Query::parts(read);
            let worked = parts::on(&args, read, false);
            if let Answer::Parts(all) = &worked.answer {
                said = json!(parts::spoken(all, args.would_do));
            }
            worked
        }
        "dial-in" | "scale" => {
            let mut read = read.clone();
            let logged = log::read(&mut read)?;
            let args = query.dial_in(&read, Format::Text)?;
            let worked = match (study, &logged) {
                ("scale", logged) => scale::on(&args, &read, logged.as_ref())?,
                (_, Some(logged)) => dial_in::on(&args, &read, logged, false)?,
                (_, None) => return Err(log::missing(&read)),
            };
            if let Some(plot) = dial_in::plot(&worked.answer) {
                figure = Some(within(&plot, query)?);
            }
            worked
        }
        _ => sensitivity::on(&query.sensitivity(read)?, read)?,
    };
    let Worked { exit, answer, text } = worked;
    let scale = scale::svg(&answer, query.look()?);
    let mut told = json!({
        "report": Report::answered(exit, read, answer),
        "text": text,
        "plot": scale,
    });
    if let ("cycle", Value::Object(fields)) = (study, &mut told) {
        fields.insert("plots".into(), plots.into());
    }
    if let (Value::Object(_), Value::Object(fields)) = (&said, &mut told) {
        fields.insert("said".into(), said);
    }
    if let (Some(figure), Value::Object(fields)) = (figure, &mut told) {
        fields.insert("plot".into(), figure.svg(query.look()?).into());
        fields.insert("fields".into(), json!(figure.fields));
        fields.insert("size".into(), json!(figure.size()));
    }
    Ok(told)
}

/// Curves as wide as there is room for them.
pub(crate) fn within(plot: &Plot, query: &Query) -> Result<Figure, Trouble> {
    Ok(match query.get("room") {
        Some(_) => plot::curves_within(plot, query.wanted()?.room[0]),
        None => plot::curves(plot),
    })
}
