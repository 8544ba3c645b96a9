//! Files to take away: the same bytes as the command line writes.

use std::path::PathBuf;

use axum::body::Body;
use axum::extract::{Path, Query as Words, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use serde_json::json;
use sheets::Look;
use sheets::plot::curves;
use studies::cycle::Map;

use super::api::{Answered, Said, Shared, desk, meant};
use super::ask::Query;
use super::trouble::Trouble;
use super::work::Halt;
use super::{log, make};
use crate::cli::args::{self, Format};
use crate::cli::question::Read;
use crate::cli::report::{Answer, Report};
use crate::cli::{
    Worked, cams, check, cycle, dial_in, draw, load, motion, packet, picture, scale, sensitivity,
    spread,
};

/// What can be taken away: name and kind.
const FILES: [(&str, &str); 13] = [
    ("drawing.svg", "image/svg+xml"),
    ("drawing.png", "image/png"),
    ("plot.svg", "image/svg+xml"),
    ("plot.png", "image/png"),
    ("table.csv", "text/csv; charset=utf-8"),
    ("answer.json", "application/json"),
    ("map.svg", "image/svg+xml"),
    ("map.csv", "text/csv; charset=utf-8"),
    ("cam.csv", "text/csv; charset=utf-8"),
    ("packet.pdf", "application/pdf"),
    ("scale.svg", "image/svg+xml"),
    ("scale.dxf", "image/vnd.dxf"),
    ("scale.csv", "text/csv; charset=utf-8"),
];

pub(crate) async fn export(
    State(page): Shared,
    Path((name, file)): Path<(String, String)>,
    Words(words): Said,
) -> Answered {
    let query = Query::new(words)?;
    let Some(&(file, kind)) = FILES.iter().find(|(known, _)| *known == file) else {
        let names: Vec<&str> = FILES.iter().map(|(name, _)| *name).collect();
        return Err(Trouble::not_there("there is no such file to take away")
            .what_to_do(format!("there are {}", names.join(", "))));
    };
    let desk = desk(&page, name).await?;
    let now = desk.now();
    if !now.is_good() {
        return Err(Trouble::refused("the machine file has errors")
            .what_to_do("mend the file first; what is taken away is the machine as written")
            .with("problems", json!(now.problems)));
    }
    let of_log = file.starts_with("scale") || query.get("of") == Some("dial-in");
    let good = meant(&page, &now, query.get("as").filter(|_| !of_log)).await?;
    let key = format!("{}\n{}\n{file}\n{}", desk.name, good.version, query.key());
    let (halt, read) = Halt::over(&good.read);
    let work = move || bytes(file, &query, &read);
    let bytes = page.workshop.kept(key, work).await?;
    drop(halt);
    Ok(attached(&desk.name, file, kind, bytes))
}

/// As a download named after the machine.
fn attached(name: &str, file: &str, kind: &'static str, bytes: impl Into<Body>) -> Response {
    let plain: String = name
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .collect();
    let headers = [
        (header::CONTENT_TYPE, kind.to_owned()),
        (
            header::CONTENT_DISPOSITION,
            format!("attachment; filename=\"{plain}-{file}\""),
        ),
    ];
    (headers, bytes.into()).into_response()
}

fn bytes(file: &str, query: &Query, read: &Read) -> Result<Vec<u8>, Trouble> {
    match file {
        "drawing.svg" => {
            let args = query.draw(read)?;
            let drawing = draw::drawing(&args, read)?;
            Ok(drawing.svg(args.look.into()).into_bytes())
        }
        "drawing.png" => {
            let args = query.draw(read)?;
            let drawing = draw::drawing(&args, read)?;
            drawing
                .png(args.look.into(), picture::DOTS_PER_MM)
                .map_err(|error| unpainted(&error))
        }
        "plot.svg" => Ok(figure(query, read)?.svg(query.look()?).into_bytes()),
        "plot.png" => figure(query, read)?
            .png(query.look()?, picture::DOTS_PER_MM)
            .map_err(|error| unpainted(&error)),
        "map.svg" => Ok(cycle::figure(&map(query, read)?)
            .svg(query.look()?)
            .into_bytes()),
        "map.csv" => Ok(cycle::grid(&map(query, read)?).into_bytes()),
        "cam.csv" => {
            let table = cams::asked(&query.cycle(read)?, read)?;
            Ok(sheets::cam_csv(&table, read.machine.unit).into_bytes())
        }
        "packet.pdf" => Ok(packet::pdf(
            &packet::of(read, make::paper(query)?)?.1,
            &mut |_| (),
        )?),
        "scale.svg" => Ok(
            scale::svg(&scaled(query, read, Format::Text)?.answer, Look::Print)
                .unwrap_or_default()
                .into_bytes(),
        ),
        "scale.dxf" => Ok(scale::dxf(&scaled(query, read, Format::Text)?.answer)
            .unwrap_or_default()
            .into_bytes()),
        "scale.csv" => Ok(scaled(query, read, Format::Csv)?.text.into_bytes()),
        "table.csv" => Ok(worked(query, read, Format::Csv)?.text.into_bytes()),
        _ => {
            let Worked { exit, answer, .. } = worked(query, read, Format::Json)?;
            Ok(Report::answered(exit, read, answer).text().into_bytes())
        }
    }
}

fn unpainted(error: &sheets::PngError) -> Trouble {
    Trouble::refused(error.to_string()).what_to_do("take a smaller scale, or the SVG")
}

/// One of the files that lie beside the packet.
pub(crate) async fn beside(
    State(page): Shared,
    Path((name, file)): Path<(String, String)>,
) -> Answered {
    let (made, _) = make::made(&page, name.clone(), &Query::new(Vec::new())?).await?;
    let found = made.packet.files.iter().find(|(name, _)| *name == file);
    let found = found.ok_or_else(|| Trouble::not_there("the packet has no such file"))?;
    let end = file.rsplit_once('.').map(|(_, end)| end);
    let kind = match end {
        Some("dxf") => "image/vnd.dxf",
        Some("step") => "model/step",
        Some("csv") => "text/csv; charset=utf-8",
        _ => "text/plain; charset=utf-8",
    };
    Ok(attached(&name, &file, kind, found.1.clone()))
}

/// A reading over two drives, as fine as the command makes it.
fn map(query: &Query, read: &Read) -> Result<Map, Trouble> {
    let mut args = query.cycle(read)?;
    args.grid = [721, 201];
    args.map = Some(PathBuf::new());
    match cycle::on(&args, read)?.answer {
        Answer::Cycle(cycled) => cycled.map.ok_or_else(Trouble::broke),
        _ => Err(Trouble::broke()),
    }
}

/// The scale, on the machine as built where there is a log.
fn scaled(query: &Query, read: &Read, format: Format) -> Result<Worked, Trouble> {
    let mut read = read.clone();
    let logged = log::read(&mut read)?;
    let args = query.dial_in(&read, format)?;
    Ok(scale::on(&args, &read, logged.as_ref())?)
}

/// The study that is asked for with `of`.
fn worked(query: &Query, read: &Read, format: Format) -> Result<Worked, Trouble> {
    let of = query.get("of").unwrap_or("motion");
    Ok(match of {
        "motion" => motion::on(&query.motion(read, format), read)?,
        "cycle" => cycle::on(
            &args::Cycle {
                format,
                ..query.cycle(read)?
            },
            read,
        )?,
        "load" => load::on(&query.load(read, format)?, read, false)?.0,
        "spread" => spread::on(
            &query.spread(read, format)?,
            read,
            false,
            &read.model.watch(),
        )?,
        "dial-in" => {
            let mut read = read.clone();
            let logged = log::read(&mut read)?.ok_or_else(|| log::missing(&read))?;
            dial_in::on(&query.dial_in(&read, format)?, &read, &logged, false)?
        }
        "check" if format == Format::Json => check::on(&query.check(read), read, false)?,
        "sensitivity" if format == Format::Json => {
            sensitivity::on(&query.sensitivity(read)?, read)?
        }
        _ => {
            return Err(
                Trouble::refused(format!("there is no such table of {of}")).what_to_do(
                    "motion, cycle, load, spread and dial-in; check and sensitivity as JSON alone",
                ),
            );
        }
    })
}

fn figure(query: &Query, read: &Read) -> Result<sheets::plot::Figure, Trouble> {
    let Worked { answer, .. } = worked(query, read, Format::Text)?;
    match &answer {
        Answer::Motion(moved) => {
            let args = query.motion(read, Format::Text);
            Ok(curves(&motion::plot(&args, moved, read)))
        }
        Answer::Cycle(cycled) => Ok(curves(&cycle::timing(cycled, read))),
        Answer::Load(loaded) => Ok(curves(&load::plot(loaded, read))),
        Answer::Spread(made) => Ok(spread::figure(made, query.spread(read, Format::Text)?.most)),
        _ => match dial_in::plot(&answer) {
            Some(plot) => Ok(curves(&plot)),
            None => Err(Trouble::refused("there are no curves of that")
                .what_to_do("motion, cycle, load, spread and a log that was fitted have a plot")),
        },
    }
}
