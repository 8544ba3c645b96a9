//! Moving a machine by hand: one thread for each version of a machine, which keeps what it worked out for the last pose. Long work
//! elsewhere never stands in its way.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, OnceLock};
use std::thread;
use std::time::Instant;

use quantity::Unit;
use serde_json::{Map, Value, json};
use sheets::live::{self, Picture};
use studies::load;
use studies::pointing::{Grabbed, Hand, Held, Pull, words};
use studies::{Model, Quantity, Stand};
use tokio::sync::oneshot;

use super::ask::Query;
use super::trouble::Trouble;
use crate::cli::question::{self, Read};

/// Requests that may wait.
const WAITING: usize = 64;

/// Something to do with the machine in hand.
type Task = Box<dyn FnOnce(&mut Hand<'_>) + Send>;

/// The thread of one version of a machine; begun when first asked, ended when nobody holds the version any more.
pub(crate) struct HandThread {
    read: Arc<Read>,
    tasks: OnceLock<Option<SyncSender<Task>>>,
}

impl HandThread {
    pub(crate) fn new(read: Arc<Read>) -> Self {
        Self {
            read,
            tasks: OnceLock::new(),
        }
    }

    fn tasks(&self) -> Option<&SyncSender<Task>> {
        let begin = || {
            let (to, tasks) = sync_channel::<Task>(WAITING);
            let read = Arc::clone(&self.read);
            let work = move || {
                let mut hand = Hand::new(&read.model);
                for task in tasks {
                    if catch_unwind(AssertUnwindSafe(|| task(&mut hand))).is_err() {
                        // Whoever asked is told by the answer that never comes; what was half done is thrown away.
                        hand = Hand::new(&read.model);
                    }
                }
            };
            let thread = thread::Builder::new().name("hand".into()).spawn(work);
            thread.is_ok().then_some(to)
        };
        self.tasks.get_or_init(begin).as_ref()
    }

    /// Asks and waits for the answer.
    pub(crate) async fn ask<T: Send + 'static>(
        &self,
        question: impl FnOnce(&mut Hand<'_>, &Read) -> Result<T, Trouble> + Send + 'static,
    ) -> Result<T, Trouble> {
        let (tell, told) = oneshot::channel();
        let read = Arc::clone(&self.read);
        let task: Task = Box::new(move |hand| {
            // Nobody waits any more when the pointer has gone on.
            if !tell.is_closed() {
                let answer = question(hand, &read);
                let _ = tell.send(answer);
            }
        });
        let tasks = self.tasks().ok_or_else(Trouble::busy)?;
        tasks.try_send(task).map_err(|error| match error {
            TrySendError::Full(_) => Trouble::busy(),
            TrySendError::Disconnected(_) => Trouble::broke(),
        })?;
        told.await.unwrap_or_else(|_| Err(Trouble::broke()))
    }
}

/// Where the machine is to stand: what is not named stands as drawn. A number is in the unit in which the drive or setting is read.
fn stand(model: &Model, values: &Map<String, Value>) -> Result<Stand, Trouble> {
    let mut stand = model.drawn();
    for (name, value) in values {
        let text = match value {
            Value::String(text) => text.clone(),
            Value::Number(number) => {
                let unit = quantity_named(model, name).map_or(Unit::One, |q| q.unit);
                format!("{} {}", number.as_f64().unwrap_or(f64::NAN), unit.symbol())
            }
            _ => {
                return Err(Trouble::refused(format!(
                    "the value of {name} is neither a number nor a text"
                )));
            }
        };
        model.set(&mut stand, name, &text)?;
    }
    Ok(stand)
}

fn quantity_named(model: &Model, name: &str) -> Option<Quantity> {
    let machine = model.machine();
    if let Some(drive) = machine.drives.iter().position(|d| d.name == name) {
        return Some(model.drive(drive));
    }
    let setting = machine.settings.iter().position(|s| s.name == name)?;
    Some(model.setting(setting))
}

/// A value in a unit as it would be typed: 15, not 14.999999999999998.
fn tidy(unit: Unit, inside: f64) -> f64 {
    let value = unit.from_inside(inside);
    let rounded = (value * 1e10).round() / 1e10;
    if (rounded - value).abs() <= 1e-13 * value.abs() {
        rounded
    } else {
        value
    }
}

/// Every drive and setting with its value.
fn values(model: &Model, stand: &Stand) -> (Map<String, Value>, Map<String, Value>) {
    let drives = stand.drives.iter().enumerate();
    let settings = stand.settings.iter().enumerate();
    let all = drives
        .map(|(index, value)| (model.drive(index), *value))
        .chain(settings.map(|(index, value)| (model.setting(index), *value)));
    let (mut numbers, mut texts) = (Map::new(), Map::new());
    for (quantity, value) in all {
        texts.insert(quantity.name.clone(), words(&quantity, value).into());
        let number = tidy(quantity.unit, value);
        numbers.insert(quantity.name, number.into());
    }
    (numbers, texts)
}

/// A pose, as the page draws it; with forces and stretch when they are asked for.
fn pose(hand: &mut Hand<'_>, read: &Read, held: &Held, also: &Also) -> Result<Value, Trouble> {
    let readings = hand.readings(&held.stand)?;
    let (numbers, words) = values(&read.model, &held.stand);
    let mut answer = json!({
        "values": numbers,
        "words": words,
        "places": live::places(&read.machine, held),
        "readings": readings,
    });
    if let (true, Value::Object(fields)) = (also.forces || also.stretch > 0.0, &mut answer) {
        fields.extend(pressed(read, &held.stand, also));
    }
    Ok(answer)
}

/// Forces and stretch in a pose; where nothing presses, the sentence that says so.
fn pressed(read: &Read, stand: &Stand, also: &Also) -> Map<String, Value> {
    let mut fields = Map::new();
    match load::pressed(&read.model, stand, also.case, also.stretch) {
        Ok(pressed) => {
            if also.forces {
                let forces = sheets::forces(&pressed.loads, read.machine.unit);
                fields.insert("arrows".into(), json!(live::arrows(&forces)));
            }
            let stretched = pressed.stretched.as_ref();
            let places = stretched.map(|held| live::places(&read.machine, held));
            fields.insert("stretched".into(), json!(places));
            fields.insert("said".into(), json!(pressed.loads.findings));
        }
        Err(refusal) => {
            fields.insert("refused".into(), refusal.to_string().into());
        }
    }
    fields
}

/// What is asked of a pose besides where everything stands.
struct Also {
    /// Forces at the pins as arrows.
    forces: bool,
    /// Stretch drawn so many times as large as it is.
    stretch: f64,
    case: usize,
}

fn also(read: &Read, asked: &Value) -> Result<Also, Trouble> {
    Ok(Also {
        forces: asked.get("forces").and_then(Value::as_bool) == Some(true),
        stretch: asked.get("stretch").and_then(Value::as_f64).unwrap_or(0.0),
        case: match asked.get("case").and_then(Value::as_str) {
            Some(name) => question::case(&read.machine, name)?,
            None => 0,
        },
    })
}

fn asked_stand(read: &Read, asked: &Value) -> Result<Stand, Trouble> {
    match asked.get("values") {
        None => Ok(read.model.drawn()),
        Some(Value::Object(values)) => stand(&read.model, values),
        Some(_) => Err(Trouble::refused(
            "values are given by the names of drives and settings",
        )),
    }
}

/// `POST pose`: puts the machine to these values; with `runs` a drive runs on to there.
pub(crate) fn put(hand: &mut Hand<'_>, read: &Read, asked: &Value) -> Result<Value, Trouble> {
    let stand = asked_stand(read, asked)?;
    let held = match asked.get("runs").and_then(Value::as_str) {
        Some(name) => hand.run(&stand, question::drive(&read.machine, Some(name))?)?,
        None => hand.put(&stand)?,
    };
    pose(hand, read, &held, &also(read, asked)?)
}

/// The machine drawn so that it can be moved; it stands as drawn where it cannot stand as asked.
pub(crate) fn picture(
    hand: &mut Hand<'_>,
    read: &Read,
    query: &Query,
) -> Result<(Picture, Value), Trouble> {
    let drawn = read.model.drawn();
    let held = hand.put(&query.stand(read)).or_else(|_| hand.put(&drawn))?;
    let swept = hand.sweep(&held.stand).unwrap_or_default();
    let points = question::points(&read.machine, &query.all("trace"))?;
    let mut traces = Vec::new();
    for point in points {
        // Over the drive that moves it most.
        let drives = 0..read.machine.drives.len();
        let all = drives.filter_map(|d| studies::trace(&read.model, &held.stand, point, d).ok());
        traces.extend(all.max_by(|a, b| wide(&a.places).total_cmp(&wide(&b.places))));
    }
    let picture = live::picture(&read.machine, &held, &swept, &traces, &query.wanted()?);
    let (numbers, words) = values(&read.model, &held.stand);
    Ok((picture, json!({ "values": numbers, "words": words })))
}

/// How far places lie apart.
fn wide(places: &[[f64; 2]]) -> f64 {
    let reach = |i: usize| {
        let all = places.iter().map(|p| p[i]).filter(|x| x.is_finite());
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| {
            (low.min(x), high.max(x))
        });
        (high - low).max(0.0)
    };
    reach(0).hypot(reach(1))
}

/// `POST drag`: pulls at the machine.
pub(crate) fn drag(hand: &mut Hand<'_>, read: &Read, asked: &Value) -> Result<Value, Trouble> {
    let pull = pull(read, asked)?;
    let pulled = hand.pull(&asked_stand(read, asked)?, &pull)?;
    let mut answer = pose(hand, read, &pulled.held, &also(read, asked)?)?;
    if let Value::Object(fields) = &mut answer {
        let drive = read.machine.drives.get(pulled.drive);
        fields.insert("drive".into(), json!(drive.map(|drive| &drive.name)));
        fields.insert("off".into(), json!(pulled.off));
        fields.insert("met".into(), json!(pulled.met));
    }
    Ok(answer)
}

/// What the hand has taken hold of, by names.
fn pull(read: &Read, asked: &Value) -> Result<Pull, Trouble> {
    let machine = &read.machine;
    let text = |key: &str| asked.get(key).and_then(Value::as_str);
    let pair = |key: &str| {
        let list = asked.get(key)?.as_array()?;
        match list.as_slice() {
            [x, y] => Some([x.as_f64()?, y.as_f64()?]),
            _ => None,
        }
    };
    let missing = |what: &str| Trouble::refused(format!("the request does not say {what}"));
    let find = |what: &str, names: Vec<&str>, name: &str| {
        let found = names.iter().position(|known| *known == name);
        found.ok_or_else(|| Trouble::refused(format!("{} has no {what} {name}", machine.name)))
    };
    let plane = match text("plane") {
        Some(name) => find(
            "plane",
            machine.planes.iter().map(|p| p.name.as_str()).collect(),
            name,
        )?,
        None => 0,
    };
    let drive = match text("drive") {
        Some(name) => Some(find(
            "drive",
            machine.drives.iter().map(|d| d.name.as_str()).collect(),
            name,
        )?),
        None => None,
    };
    let grabbed = if let Some(name) = text("body") {
        let part = find(
            "part",
            machine.parts.iter().map(|p| p.name.as_str()).collect(),
            name,
        )?;
        Grabbed::Part(
            part,
            pair("grabbed").ok_or_else(|| missing("where it is held"))?,
        )
    } else if let Some(name) = text("point") {
        let points = machine.points.iter().map(|p| p.name.as_str());
        Grabbed::Point(find("point", points.collect(), name)?)
    } else if let Some(name) = text("rod") {
        let rods = machine.rods.iter().map(|r| r.name.as_str());
        let share = asked.get("share").and_then(Value::as_f64).unwrap_or(0.5);
        Grabbed::Rod(find("rod", rods.collect(), name)?, share)
    } else {
        return Err(missing("what is held"));
    };
    Ok(Pull {
        grabbed,
        plane,
        to: pair("to").ok_or_else(|| missing("where the pointer is"))?,
        drive,
    })
}

/// How long something took, as a header of the answer; browsers show it.
pub(crate) fn timing(begun: Instant) -> String {
    format!("work;dur={:.3}", begun.elapsed().as_secs_f64() * 1000.0)
}

/// Title, drives, settings and readings of a machine.
pub(crate) fn inventory(read: &Read) -> Map<String, Value> {
    let (machine, model) = (&read.machine, &read.model);
    let range = |range: Option<[f64; 2]>, unit: Unit| {
        range.map(|[a, b]| [tidy(unit, a.min(b)), tidy(unit, a.max(b))])
    };
    let drives: Vec<Value> = machine
        .drives
        .iter()
        .map(|drive| {
            let ends = range(drive.range, drive.unit);
            json!({
                "name": drive.name,
                "low": ends.map(|ends| ends[0]),
                "high": ends.map(|ends| ends[1]),
                "drawn": tidy(drive.unit, drive.drawn),
                "unit": drive.unit.symbol(),
                "step": drive.step.map(|step| tidy(drive.unit, step)),
                "whole_turn": drive.whole_turn,
            })
        })
        .collect();
    let settings: Vec<Value> = machine
        .settings
        .iter()
        .enumerate()
        .map(|(index, setting)| {
            let unit = model.setting(index).unit;
            let holes = match setting.adjusts {
                machine::model::Adjusts::Row(row) => machine.rows.get(row).map(|r| r.holes.len()),
                _ => None,
            };
            let ends = range(setting.range, unit).or(holes.map(|count| [1.0, count as f64]));
            json!({
                "name": setting.name,
                "low": ends.map(|ends| ends[0]),
                "high": ends.map(|ends| ends[1]),
                "drawn": tidy(unit, setting.drawn),
                "unit": unit.symbol(),
                "step": setting.step.map(|step| tidy(unit, step)),
                "holes": holes,
            })
        })
        .collect();
    let readings: Vec<Value> = machine
        .readings
        .iter()
        .map(|reading| json!({ "name": reading.name, "unit": reading.unit.symbol() }))
        .collect();
    let mut fields = Map::new();
    fields.insert("title".into(), machine.name.clone().into());
    fields.insert("about".into(), machine.note.clone().into());
    fields.insert("unit".into(), machine.unit.symbol().into());
    fields.insert("drives".into(), drives.into());
    fields.insert("settings".into(), settings.into());
    fields.insert("readings".into(), readings.into());
    let cases = machine.work.cases.iter().map(|case| case.name.clone());
    fields.insert("cases".into(), cases.collect::<Vec<_>>().into());
    let planes = machine.planes.iter().map(|plane| plane.name.clone());
    fields.insert("planes".into(), planes.collect::<Vec<_>>().into());
    fields
}
