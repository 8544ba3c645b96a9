//! Long work with progress: it is begun, looked at while it goes on, and may be stopped.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Instant;

use axum::extract::{Path, Request, State};
use serde::Deserialize;
use serde_json::{Map, Value, json};
use studies::spread::Watch;

use super::Page;
use super::api::{Answered, Shared, body, desk, meant};
use super::ask::Query;
use super::trouble::{Trouble, json_of};
use crate::cli::args::Format;
use crate::cli::report::{Answer, Report};
use crate::cli::spread as cli;

/// Most jobs that are remembered; the oldest that are done go first.
const MOST_JOBS: usize = 16;

/// All jobs by number.
#[derive(Default)]
pub(crate) struct Jobs {
    all: Mutex<(u64, BTreeMap<u64, Arc<Job>>)>,
}

/// One piece of long work.
pub(crate) struct Job {
    watch: Watch,
    of: usize,
    begun: Instant,
    answer: Mutex<Option<Value>>,
}

impl Job {
    fn answer(&self) -> MutexGuard<'_, Option<Value>> {
        self.answer.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// How far it is.
    fn told(&self) -> Value {
        let answer = self.answer().clone();
        let made = self.watch.made().min(self.of);
        let gone = self.begun.elapsed().as_secs_f64();
        let left = (made > 0).then(|| gone * (self.of - made) as f64 / made as f64);
        json!({
            "done": if answer.is_some() { self.of } else { made },
            "of": self.of,
            "seconds_left": if answer.is_some() { Some(0.0) } else { left.map(f64::ceil) },
            "stopped": self.watch.is_stopped(),
            "answer": answer,
        })
    }
}

impl Jobs {
    fn all(&self) -> MutexGuard<'_, (u64, BTreeMap<u64, Arc<Job>>)> {
        self.all.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn get(&self, number: u64) -> Result<Arc<Job>, Trouble> {
        let found = self.all().1.get(&number).cloned();
        found.ok_or_else(|| Trouble::not_there("there is no such work any more"))
    }

    fn begin(&self, of: usize) -> Result<(u64, Arc<Job>), Trouble> {
        let mut all = self.all();
        if all.1.len() >= MOST_JOBS {
            let done = all.1.iter().find(|(_, job)| job.answer().is_some());
            let done = done.map(|(number, _)| *number).ok_or_else(|| {
                Trouble::busy().what_to_do("stop some of the work that is going on")
            })?;
            all.1.remove(&done);
        }
        all.0 += 1;
        let (number, job) = (
            all.0,
            Arc::new(Job {
                watch: Watch::default(),
                of,
                begun: Instant::now(),
                answer: Mutex::new(None),
            }),
        );
        all.1.insert(number, Arc::clone(&job));
        Ok((number, job))
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Spread {
    #[serde(default)]
    machines: Option<usize>,
    #[serde(default)]
    seed: Option<u64>,
    /// Values of drives and settings, as texts with units.
    #[serde(default)]
    values: Map<String, Value>,
    #[serde(default, rename = "as")]
    machine_as: Option<String>,
}

/// `POST spread`: makes machines.
pub(crate) async fn spread(
    State(page): Shared,
    Path(name): Path<String>,
    request: Request,
) -> Answered {
    let asked: Spread = body(request).await?;
    let desk = desk(&page, name).await?;
    let good = meant(&page, &desk.now(), asked.machine_as.as_deref()).await?;
    let mut words: Vec<(String, String)> = Vec::new();
    for (name, value) in asked.values {
        let text = match value {
            Value::String(text) => text,
            other => other.to_string(),
        };
        words.push((format!("at.{name}"), text));
    }
    let machines = asked.machines.map(|machines| machines.to_string());
    let seed = asked.seed.map(|seed| seed.to_string());
    words.extend(machines.map(|machines| ("machines".into(), machines)));
    words.extend(seed.map(|seed| ("seed".into(), seed)));
    let query = Query::new(words)?;
    let args = query.spread(&good.read, Format::Text)?;
    let (number, job) = page.jobs.begin(args.machines)?;
    let page: Arc<Page> = Arc::clone(&page);
    tokio::spawn(async move {
        let own = Arc::clone(&job);
        let work = move || {
            let read = &good.read;
            let worked = cli::on(&args, read, false, &own.watch)?;
            let mut told = json!({ "version": good.version, "text": worked.text });
            if let (Answer::Spread(made), Value::Object(fields)) = (&worked.answer, &mut told) {
                let figure = cli::figure(made, args.most);
                fields.insert("plot".into(), figure.svg(sheets::Look::Board).into());
                fields.insert("size".into(), json!(figure.size()));
            }
            let report = Report::answered(worked.exit, read, worked.answer);
            if let Value::Object(fields) = &mut told {
                fields.insert("report".into(), json!(report));
            }
            Ok(told)
        };
        let answer = page.workshop.study(work).await;
        *job.answer() = Some(answer.unwrap_or_else(Trouble::into_value));
    });
    Ok(json_of(&json!({ "job": number })))
}

/// `GET`: how far it is, and its answer when it is done.
pub(crate) async fn look(State(page): Shared, Path(number): Path<u64>) -> Answered {
    Ok(json_of(&page.jobs.get(number)?.told()))
}

/// `DELETE`: no more of it is wanted.
pub(crate) async fn stop(State(page): Shared, Path(number): Path<u64>) -> Answered {
    let job = page.jobs.get(number)?;
    job.watch.stop();
    Ok(json_of(&job.told()))
}
