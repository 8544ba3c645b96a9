//! The routes, and what each of them answers.

use std::sync::Arc;
use std::time::{Duration, Instant};

use axum::Router;
use axum::extract::{Path, Query as Words, Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use machine::edit::Change;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use studies::pointing::Hand;

use super::ask::Query;
use super::desk::{Desk, Good, Now, Unchanged};
use super::shell;
use super::trouble::{Trouble, bytes_of, json_of};
use super::work::files;
use super::{Page, assets, export, guard, hand, jobs, kept, log, make, study};
use crate::cli::args::{self, Kind};
use crate::cli::new;

/// Largest body: a whole text with every character of it escaped once.
const LARGEST_BODY: usize = 8 << 20;
/// A body has to be there after so long.
const BODY: Duration = Duration::from_secs(15);
/// Most changes in one edit.
const MOST_CHANGES: usize = 1000;
/// Longest word on what was done, characters.
const LONGEST_SAY: usize = 200;

pub(crate) type Answered = Result<Response, Trouble>;
pub(crate) type Shared = State<Arc<Page>>;
pub(crate) type Said = Words<Vec<(String, String)>>;

/// All routes, behind the guard.
pub(crate) fn router(page: Arc<Page>) -> Router {
    let guard = Arc::clone(&page.guard);
    Router::new()
        .route("/", get(door))
        .route("/m/{machine}/{view}", get(view))
        .route("/assets/paper.css", get(make::style))
        .route("/assets/{name}", get(asset))
        .route("/api/machines", get(machines))
        .route("/api/events", get(events))
        .route("/api/m/{machine}/state", get(state))
        .route("/api/new", post(begin))
        .route("/api/m/{machine}/picture", get(picture))
        .route(
            "/api/m/{machine}/kept",
            get(kept::list).delete(kept::forget),
        )
        .route("/api/m/{machine}/keep", post(kept::keep))
        .route("/api/m/{machine}/restore", post(kept::restore))
        .route("/api/m/{machine}/compare", get(kept::compare))
        .route("/api/m/{machine}/spread", post(jobs::spread))
        .route("/api/jobs/{job}", get(jobs::look).delete(jobs::stop))
        .route("/api/m/{machine}/pose", post(pose))
        .route("/api/m/{machine}/drag", post(drag))
        .route("/api/m/{machine}/edit", post(edit))
        .route("/api/m/{machine}/trial", post(trial))
        .route("/api/m/{machine}/text", post(text))
        .route("/api/m/{machine}/undo", post(undo))
        .route("/api/m/{machine}/redo", post(redo))
        .route("/api/m/{machine}/log", post(log::write))
        .route("/api/m/{machine}/log/{which}", post(log::step))
        .route("/api/m/{machine}/run", get(log::blank).post(log::run))
        .route("/api/m/{machine}/bands", get(study::bands))
        .route("/api/m/{machine}/export/{file}", get(export::export))
        .route("/api/m/{machine}/packet/{file}", get(export::beside))
        .route("/api/m/{machine}/make", get(make::make))
        .route("/api/m/{machine}/sheet/{number}", get(make::sheet))
        .route("/api/m/{machine}/{study}", get(study::study))
        .fallback(async || Trouble::not_there("there is no such place on the page"))
        .method_not_allowed_fallback(async || {
            Trouble::new(StatusCode::METHOD_NOT_ALLOWED, "nothing is done that way")
        })
        .with_state(page)
        .layer(axum::middleware::from_fn_with_state(guard, guard::watch))
}

/// The link from the terminal: leaves the key in a cookie and goes on to the machine.
async fn door(State(page): Shared, Words(words): Said, headers: HeaderMap) -> Answered {
    let query = Query::new(words)?;
    let key = query.get("key").unwrap_or_default();
    if !page.guard.is_key(key) && !page.guard.has_cookie(&headers) {
        return Err(guard::no_key());
    }
    let bench = Arc::clone(&page.bench);
    let name = files(move || bench.first()).await?;
    let to = format!("/m/{}/motion", escaped(&name));
    let cookie = page.guard.set_cookie();
    let headers = [(header::LOCATION, to), (header::SET_COOKIE, cookie)];
    Ok((StatusCode::SEE_OTHER, headers).into_response())
}

/// A name as one piece of a link.
pub(crate) fn escaped(name: &str) -> String {
    let mut text = String::with_capacity(name.len());
    for byte in name.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' | b'~' => {
                text.push(char::from(byte));
            }
            _ => text.push_str(&format!("%{byte:02X}")),
        }
    }
    text
}

async fn asset(Path(name): Path<String>, headers: HeaderMap) -> Response {
    assets::answer(&name, &headers)
}

/// The machine with this name.
pub(crate) async fn desk(page: &Page, name: String) -> Result<Arc<Desk>, Trouble> {
    if let Some(desk) = page.bench.open_desk(&name) {
        return Ok(desk);
    }
    let bench = Arc::clone(&page.bench);
    let desk = files(move || bench.desk(&name)).await?;
    desk.ok_or_else(|| {
        Trouble::not_there("there is no such machine in this folder")
            .what_to_do("take one from the list of machines")
    })
}

/// The machine as last read without errors.
pub(crate) fn good(now: &Now) -> Result<Arc<Good>, Trouble> {
    now.good.clone().ok_or_else(|| {
        Trouble::refused("the machine file has errors")
            .what_to_do("mend the file; every error is told with its line")
            .with("problems", json!(now.problems))
    })
}

/// The machine that is asked about: as drawn, or as measured or built, as its log tells.
pub(crate) async fn meant(
    page: &Page,
    now: &Now,
    machine_as: Option<&str>,
) -> Result<Arc<Good>, Trouble> {
    let good = good(now)?;
    let machine_as = match machine_as {
        None | Some("" | "drawn") => return Ok(good),
        Some("measured") => args::As::Measured,
        Some("built") => args::As::Built,
        Some(other) => {
            return Err(
                Trouble::refused(format!("there is no machine as \"{other}\""))
                    .what_to_do("drawn, measured or built"),
            );
        }
    };
    let work = move || good.as_logged(machine_as).map_err(Trouble::from);
    page.workshop.study(work).await
}

async fn view(
    State(page): Shared,
    Path((name, view)): Path<(String, String)>,
    Words(words): Said,
) -> Answered {
    let query = Query::new(words)?;
    if !shell::VIEWS.iter().any(|(known, _)| *known == view) {
        let names: Vec<&str> = shell::VIEWS.iter().map(|(name, _)| *name).collect();
        return Err(Trouble::not_there("there is no such view")
            .what_to_do(format!("there are {}", names.join(", "))));
    }
    let desk = desk(&page, name).await?;
    let picture = match &desk.now().good {
        Some(good) => good
            .hand
            .ask(move |hand, read| hand::picture(hand, read, &query))
            .await
            .ok(),
        None => None,
    };
    let html = files(move || {
        let state = desk.state();
        let picture = picture.map(|(picture, _)| picture.svg);
        shell::page(&shell::Shown {
            machine: &desk.name,
            view: &view,
            title: state["title"].as_str().unwrap_or(&desk.name),
            picture: &picture.unwrap_or_default(),
            state: &state,
        })
    })
    .await?;
    Ok(bytes_of("text/html; charset=utf-8", html))
}

/// The machine drawn so that it can be moved.
async fn picture(State(page): Shared, Path(name): Path<String>, Words(words): Said) -> Answered {
    let query = Query::new(words)?;
    let desk = desk(&page, name).await?;
    let good = meant(&page, &desk.now(), query.get("as")).await?;
    let drawn = good
        .hand
        .ask(move |hand, read| hand::picture(hand, read, &query));
    let (picture, mut answer) = drawn.await?;
    if let Value::Object(fields) = &mut answer {
        fields.insert("version".into(), good.version.into());
        fields.insert("picture".into(), json!(picture));
    }
    Ok(json_of(&answer))
}

async fn machines(State(page): Shared) -> Answered {
    let bench = Arc::clone(&page.bench);
    Ok(json_of(&files(move || bench.list()).await?))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Begin {
    name: String,
    #[serde(default)]
    starter: Option<String>,
    /// Unit of a bare sheet.
    #[serde(default)]
    unit: Option<String>,
}

/// Writes a new machine into the folder.
async fn begin(State(page): Shared, request: Request) -> Answered {
    let Begin {
        name,
        starter,
        unit,
    } = body(request).await?;
    let unit = unit
        .as_deref()
        .filter(|unit| shell::NEW_UNITS.contains(unit));
    let unit = unit.unwrap_or("mm");
    // A bare sheet, no machine yet. A quoted name is the same in TOML and in JSON.
    let empty = format!(
        "name = {}\nunit = \"{unit}\"\n\n[point]\n\n[frame]\ncarries = []\n",
        Value::from(name.trim())
    );
    let text = match starter.as_deref() {
        Some("empty") => &empty,
        None | Some("lever") => new::starter(Kind::Lever),
        Some("crank") => new::starter(Kind::Crank),
        Some(other) => {
            return Err(Trouble::refused(format!("there is no starter \"{other}\""))
                .what_to_do("lever, crank or empty"));
        }
    };
    let text = text.to_owned();
    let name = kept::plain(&name)?;
    let bench = Arc::clone(&page.bench);
    files(move || {
        bench.begin(&name, &text)?;
        bench.hub.machines();
        Ok(json_of(&json!({ "name": name })))
    })
    .await?
}

async fn events(State(page): Shared, Words(words): Said) -> Answered {
    let query = Query::new(words)?;
    let machine = query.get("m").map(str::to_owned);
    let stream = page.bench.hub.listen(machine).ok_or_else(|| {
        Trouble::busy().what_to_do("close some of the windows in which the page is open")
    })?;
    Ok(bytes_of("text/event-stream", stream))
}

async fn state(State(page): Shared, Path(name): Path<String>) -> Answered {
    let desk = desk(&page, name).await?;
    Ok(json_of(&files(move || desk.state()).await?))
}

/// The body of a request as JSON. It has to come as JSON, in time and in size; forms of other pages cannot send such a one.
pub(crate) async fn body<T: DeserializeOwned>(request: Request) -> Result<T, Trouble> {
    let kind = request.headers().get(header::CONTENT_TYPE);
    let kind = kind.and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    if kind.split(';').next().map(str::trim) != Some("application/json") {
        return Err(Trouble::new(
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "the request is not JSON",
        ));
    }
    let too_large = || {
        let sentence = format!("no more than {} MB are taken at once", LARGEST_BODY >> 20);
        Trouble::new(StatusCode::PAYLOAD_TOO_LARGE, sentence)
    };
    let length = request.headers().get(header::CONTENT_LENGTH);
    let length = length.and_then(|length| length.to_str().ok()?.parse::<usize>().ok());
    if length.is_some_and(|length| length > LARGEST_BODY) {
        return Err(too_large());
    }
    let read = axum::body::to_bytes(request.into_body(), LARGEST_BODY);
    let bytes = match tokio::time::timeout(BODY, read).await {
        Ok(Ok(bytes)) => bytes,
        Ok(Err(_)) => return Err(too_large()),
        Err(_) => {
            let sentence = "the request did not come to its end";
            return Err(Trouble::new(StatusCode::REQUEST_TIMEOUT, sentence));
        }
    };
    serde_json::from_slice(&bytes).map_err(|error| {
        let sentence = format!("the request is not understood: {error}");
        Trouble::new(StatusCode::BAD_REQUEST, sentence)
    })
}

async fn pose(State(page): Shared, Path(name): Path<String>, request: Request) -> Answered {
    let asked: Value = body(request).await?;
    let desk = desk(&page, name).await?;
    let machine_as = asked.get("as").and_then(Value::as_str);
    let good = meant(&page, &desk.now(), machine_as).await?;
    let begun = Instant::now();
    let put = good
        .hand
        .ask(move |hand, read| hand::put(hand, read, &asked));
    Ok(moved(&good, put.await?, begun))
}

async fn drag(State(page): Shared, Path(name): Path<String>, request: Request) -> Answered {
    let asked: Value = body(request).await?;
    let desk = desk(&page, name).await?;
    let machine_as = asked.get("as").and_then(Value::as_str);
    let good = meant(&page, &desk.now(), machine_as).await?;
    let begun = Instant::now();
    let pulled = good
        .hand
        .ask(move |hand, read| hand::drag(hand, read, &asked));
    Ok(moved(&good, pulled.await?, begun))
}

/// A pose with its version and how long it took.
fn moved(good: &Good, mut pose: Value, begun: Instant) -> Response {
    if let Value::Object(fields) = &mut pose {
        fields.insert("version".into(), good.version.into());
    }
    let mut response = json_of(&pose);
    if let Ok(timing) = hand::timing(begun).parse() {
        response.headers_mut().insert("server-timing", timing);
    }
    response
}

/// A change, and the version it was meant for.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Edit {
    base: u64,
    #[serde(default)]
    say: String,
    changes: Vec<Change>,
    /// Only looked at, not written.
    #[serde(default)]
    only_try: bool,
    #[serde(default)]
    by: String,
}

/// Changes to be seen, and the words of the query for the picture.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Trial {
    changes: Vec<Change>,
    look: Vec<(String, String)>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Text {
    base: u64,
    #[serde(default)]
    say: String,
    text: String,
    #[serde(default)]
    by: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Step {
    base: u64,
    #[serde(default)]
    by: String,
}

/// Words from outside, cut to a length and without control characters.
pub(crate) fn clean(text: &str, usual: &str) -> String {
    let text: String = text
        .chars()
        .filter(|c| !c.is_control())
        .take(LONGEST_SAY)
        .collect();
    match text.trim() {
        "" => usual.to_owned(),
        text => text.to_owned(),
    }
}

/// Makes a change and tells how things stand then.
pub(crate) async fn change(
    page: &Page,
    name: String,
    make: impl FnOnce(&Desk) -> Result<Arc<Now>, Unchanged> + Send + 'static,
) -> Answered {
    let desk = desk(page, name).await?;
    files(move || match make(&desk) {
        Ok(_) => Ok(json_of(&desk.state())),
        Err(why) => Err(unchanged(why, &desk)),
    })
    .await?
}

/// Why a change was not made.
fn unchanged(why: Unchanged, desk: &Desk) -> Trouble {
    match why {
        Unchanged::Old => Trouble::new(StatusCode::CONFLICT, "the machine was changed meanwhile")
            .what_to_do("look at what it says now, and make the change again")
            .with("state", desk.state()),
        Unchanged::Refused(sentence, help) => {
            let trouble = Trouble::refused(sentence);
            match help {
                Some(help) => trouble.what_to_do(help),
                None => trouble,
            }
        }
        Unchanged::Breaks(problems, headings) => {
            let first = problems.first();
            let trouble = Trouble::refused(first.map_or("", |p| p.message.as_str()));
            let help = first.and_then(|p| p.help.clone());
            let trouble = help.into_iter().fold(trouble, Trouble::what_to_do);
            trouble
                .with("needed_by", json!(headings))
                .with("problems", json!(problems))
        }
    }
}

fn few(changes: &[Change]) -> Result<(), Trouble> {
    if (1..=MOST_CHANGES).contains(&changes.len()) {
        return Ok(());
    }
    let sentence = format!("an edit makes 1 to {MOST_CHANGES} changes");
    Err(Trouble::refused(sentence))
}

async fn edit(State(page): Shared, Path(name): Path<String>, request: Request) -> Answered {
    let Edit {
        base,
        say,
        changes,
        only_try,
        by,
    } = body(request).await?;
    few(&changes)?;
    let (say, by) = (clean(&say, "edited"), clean(&by, "page"));
    change(&page, name, move |desk| {
        desk.edit(base, &say, &changes, only_try, &by)
    })
    .await
}

/// The machine drawn as it would be with some changes, while a hand still decides on them: nothing is written.
async fn trial(State(page): Shared, Path(name): Path<String>, request: Request) -> Answered {
    let Trial { changes, look } = body(request).await?;
    few(&changes)?;
    let desk = desk(&page, name).await?;
    let query = Query::new(look)?;
    files(move || {
        let read = desk.tried(&changes).map_err(|why| unchanged(why, &desk))?;
        let (picture, _) = hand::picture(&mut Hand::new(&read.model), &read, &query)?;
        Ok(json_of(&json!({ "picture": picture })))
    })
    .await?
}

async fn text(State(page): Shared, Path(name): Path<String>, request: Request) -> Answered {
    let Text {
        base,
        say,
        text,
        by,
    } = body(request).await?;
    let (say, by) = (clean(&say, "edited the text"), clean(&by, "page"));
    change(&page, name, move |desk| {
        desk.replace(base, &say, &text, &by)
    })
    .await
}

async fn undo(State(page): Shared, Path(name): Path<String>, request: Request) -> Answered {
    let Step { base, by } = body(request).await?;
    let by = clean(&by, "page");
    change(&page, name, move |desk| desk.undo(base, &by)).await
}

async fn redo(State(page): Shared, Path(name): Path<String>, request: Request) -> Answered {
    let Step { base, by } = body(request).await?;
    let by = clean(&by, "page");
    change(&page, name, move |desk| desk.redo(base, &by)).await
}
