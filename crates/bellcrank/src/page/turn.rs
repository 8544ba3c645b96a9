//! The whole turn on the page: what the command `cycle` answers, with its plots; two drives at once; where parts meet.

use quantity::Unit;
use serde_json::{Value, json};
use sheets::plot::{self, Figure};
use studies::clearance::PairClearance;
use studies::{Held, Quantity};

use super::ask::Query;
use super::study::within;
use super::trouble::Trouble;
use crate::cli::question::{self, Read};
use crate::cli::report::Cycled;
use crate::cli::{clearance_table, cycle, cycle_text, numbers};

/// Places of the closing curve with its bands.
const CLOSING: usize = 61;
/// Pairs of parts that are drawn.
const SEEN: usize = 20;

/// A figure, what it shows, where its fields lie and the drive that goes across.
fn told(what: &str, figure: &Figure, query: &Query, across: &Quantity) -> Result<Value, Trouble> {
    Ok(json!({
        "what": what,
        "plot": figure.svg(query.look()?),
        "fields": figure.fields,
        "drive": across.name,
    }))
}

fn with(mut told: Value, more: Value) -> Value {
    if let (Value::Object(fields), Value::Object(more)) = (&mut told, more) {
        fields.extend(more);
    }
    told
}

/// The timing diagram with what turns the drive, and every cam.
pub(crate) fn plots(cycled: &Cycled, query: &Query, read: &Read) -> Result<Vec<Value>, Trouble> {
    let drive = &cycled.cycle.drive;
    let timing = within(&cycle::timing(cycled, read), query)?;
    let mut all = vec![told("turn", &timing, query, drive)?];
    if let Some(running) = &cycled.running {
        let run = within(&plot::of_run(running, read.machine.unit), query)?;
        all.push(told("run", &run, query, drive)?);
    }
    for (index, cam) in read.machine.cams.iter().enumerate() {
        let Some(curve) = studies::cams::curve(&read.model, index) else {
            continue;
        };
        let survey = cycled.cams.iter().find(|s| s.name == cam.name);
        let Some(survey) = survey else { continue };
        let pressed = cycled.turning.iter().flat_map(|t| &t.pressed);
        let pressed = pressed.into_iter().find(|p| p.cam == cam.name);
        let plot = plot::of_cam(&curve, survey, pressed, read.machine.unit);
        let figure = within(&plot, query)?;
        // The page knows how far the part has turned from the drawing.
        let turn = json!({
            "cam": cam.name,
            "part": curve.part,
            "drawn": Unit::Degree.from_inside(curve.drawn),
            "sense": curve.sense,
        });
        all.push(with(told("cam", &figure, query, drive)?, turn));
    }
    Ok(all)
}

/// A reading over two drives, and its least over the one as a function of the other, with bands.
pub(crate) fn map(query: &Query, read: &Read) -> Result<Value, Trouble> {
    let args = query.cycle(read)?;
    let across = question::drive(&read.machine, args.drive.as_deref())?;
    let readings = question::readings(&read.machine, &args.readings)?;
    let mut found = None;
    let mut first = None;
    for index in readings {
        let Some(reading) = read.machine.readings.get(index) else {
            continue;
        };
        match cycle::map_of(&args, read, &reading.name, across) {
            Ok(map) => {
                found = Some((index, map));
                break;
            }
            Err(fault) => first = first.or(Some(fault)),
        }
    }
    let Some((reading, map)) = found else {
        return match (first, args.readings.is_empty(), &args.over) {
            (None, ..) => Err(Trouble::refused(
                "nothing is measured yet, so that there is nothing to map",
            )
            .what_to_do("write a reading: [reading.NAME]")),
            // The page asks for a map of whatever two drives there are; that none is to be had is an answer.
            (Some(_), true, Some(over))
                if question::drive(&read.machine, Some(over)).is_ok_and(|d| d != across) =>
            {
                let across = &read.model.drive(across).name;
                Ok(json!({
                    "none": format!("No reading moves with both {across} and {over}: take another drive, or write such a reading"),
                }))
            }
            (Some(fault), ..) => Err(fault.into()),
        };
    };
    let up = question::drive(&read.machine, Some(&map.up.name))?;
    let stand = question::stand(read, &args.pose)?;
    let drives = [across, up];
    let case = match &args.under {
        Some(name) => Some(question::case(&read.machine, name)?),
        None => None,
    };
    let closing = studies::cycle::closing(&read.model, &stand, reading, drives, CLOSING)?;
    let closing = closing.banded(&read.model, &stand, reading, drives, case);
    let figure = within(&plot::of_map(&map), query)?;
    let ends = figure
        .fields
        .first()
        .map(|f| f.up.map(|v| map.up.unit.from_inside(v)));
    let two = with(
        told("map", &figure, query, &map.across)?,
        json!({ "by": map.up.name, "up": ends }),
    );
    let figure = within(&plot::of_closing(&closing, &map.machine), query)?;
    let places = closing.places.iter().filter_map(|p| {
        let least = p.least?;
        Some([
            map.up.unit.from_inside(p.at),
            least.value,
            map.across.unit.from_inside(least.at),
        ])
    });
    let places: Vec<[f64; 3]> = places.collect();
    let one = with(
        told("closing", &figure, query, &map.up)?,
        json!({ "least_over": map.across.name, "places": places }),
    );
    Ok(json!({
        "text": cycle_text::closing_text(&closing),
        "closing": closing,
        "plots": [two, one],
    }))
}

/// Where two parts meet or come closest: the answer of `cycle --clearance`, and how each pair looks there.
pub(crate) fn clearance(query: &Query, read: &Read) -> Result<Value, Trouble> {
    let args = query.cycle(read)?;
    let drive = question::drive(&read.machine, args.drive.as_deref())?;
    let over = match &args.over {
        Some(name) => Some(question::drive(&read.machine, Some(name))?),
        None => None,
    };
    let stand = question::stand(read, &args.pose)?;
    let found = cycle::clearance_of(&args, read, &stand, drive, over)?;
    let pairs = found.pairs.get(..SEEN).unwrap_or(&found.pairs);
    let seen = studies::clearance::seen(&read.model, &stand, pairs);
    let plane = |name: &str| read.machine.planes.iter().position(|p| p.name == name);
    let all: Vec<Value> = pairs
        .iter()
        .zip(seen)
        .map(|(pair, outlines)| {
            let at = |h: &Held| {
                let value = h.quantity.unit.from_inside(h.value);
                (h.quantity.name.clone(), Value::from(value))
            };
            let values: serde_json::Map<String, Value> = pair.drives.iter().map(at).collect();
            json!({
                "parts": pair.parts,
                "words": words(pair, read.machine.unit),
                "meets": pair.least < 0.0,
                "values": values,
                "plane": plane(&pair.plane),
                "place": pair.place,
                "outlines": outlines,
            })
        })
        .collect();
    Ok(json!({
        "text": clearance_table::text(&found),
        "pairs": all,
        "clearance": found,
    }))
}

/// How close a pair comes, and where.
fn words(pair: &PairClearance, length: Unit) -> String {
    let [a, b] = &pair.parts;
    let far = numbers::with_unit(pair.least.abs(), length);
    let how = if pair.least < 0.0 {
        format!("{a} and {b} run {far} into one another")
    } else {
        format!("{a} and {b} come within {far}")
    };
    let at = pair.drives.iter();
    let at: Vec<String> = at.map(|h| numbers::named(&h.quantity, h.value)).collect();
    format!("{how} at {}", at.join(", "))
}
