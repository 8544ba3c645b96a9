//! Rods between two points.

use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Fields, Shape};
use crate::ground::{CLOSE, Ground};
use crate::model::Rod;
use crate::vector::{length3, sub3};

const ROD: Shape = Shape {
    a: "a rod",
    keys: &[
        ("joins", "joins = [\"lever-pin\", \"knee\"]"),
        ("thread", "thread = \"M8\""),
        ("threads", "threads = \"both ends\""),
        (
            "stock",
            "stock = { round = \"8 mm\", material = \"steel\" }",
        ),
        ("mass", "mass = \"0.3 kg\""),
        ("station", "station = \"12 mm\""),
        ("rod-ends", "rod-ends = \"M8 female\""),
        ("rod-end-load", "rod-end-load = \"12 kN\""),
        ("column", "column = { ends = \"fixed\", threaded = true }"),
    ],
};

/// How the threads of both ends turn.
const ENDS: [&str; 3] = ["one end", "both ends", "difference"];

/// Reads all rods; those that are broken are `None`.
pub(crate) fn read(desk: &mut Desk, named: &[Named]) -> Vec<Option<Rod>> {
    named.iter().map(|n| rod(desk, n)).collect()
}

fn rod(desk: &mut Desk, named: &Named) -> Option<Rod> {
    let fields = Fields::new(desk, named.what(), &ROD, &named.entry)?;
    let joins = fields
        .need(desk, "joins")
        .and_then(|f| f.names(desk, Kind::Point));
    let (mut thread, mut other) = (None, None);
    if let Some(field) = fields.get("thread") {
        if field.is_list() {
            let [a, b] = field.pair(desk, "the threads of the two ends")?;
            thread = parsed(desk, &a);
            other = parsed(desk, &b);
            if thread.is_none() || other.is_none() {
                return None;
            }
        } else {
            thread = parsed(desk, &field);
        }
    }
    let ends = fields.get("threads").and_then(|f| {
        if fields.get("thread").is_none() {
            fields.only_with(desk, &["threads"], "`thread`");
        }
        f.word(desk, &ENDS).map(|n| (f, n))
    });
    let both_ends = matches!(ends, Some((_, 1)));
    match (&ends, &other) {
        (Some((field, 2)), None) if thread.is_some() => {
            field.bad(
                desk,
                "two ends of one thread and one hand do not move apart when the rod is turned",
                "name both: `thread = [\"M8\", \"M8x1\"]`",
            );
            return None;
        }
        (Some((field, 0)), Some(_)) => {
            field.bad(
                desk,
                "a rod with two threads turns in both",
                "write \"both ends\" for opposite hands, or \"difference\" for the same hand",
            );
            return None;
        }
        _ => {}
    }
    if let (Some(first), Some(second), false) = (&thread, &other, both_ends)
        && (first.pitch - second.pitch).abs() < 1e-9
        && let Some(field) = fields.get("thread")
    {
        field.bad(
            desk,
            "both ends have one pitch: turned, the rod does not get longer",
            "two pitches of one hand, as in `thread = [\"M8\", \"M8x1\"]`; or `threads = \"both ends\"` with opposite hands",
        );
        return None;
    }
    Some(Rod {
        name: named.entry.name.to_owned(),
        joins: joins?,
        thread,
        other,
        both_ends,
        place: named.entry.place,
    })
}

fn parsed(desk: &mut Desk, field: &Field) -> Option<quantity::Thread> {
    let text = field.text(desk, "a thread in quotes")?;
    quantity::thread::parse(text)
        .map_err(|error| field.misread(desk, &error))
        .ok()
}

/// Checks that need to know where everything is.
pub(crate) fn check(desk: &mut Desk, ground: &Ground, rods: &[Option<Rod>], named: &[Named]) {
    for (rod, named) in rods.iter().zip(named) {
        let Some(rod) = rod else { continue };
        let [a, b] = rod.joins;
        let place = joins_place(named);
        let (one, other) = (desk.name(Kind::Point, a), desk.name(Kind::Point, b));
        if let (Some(p), Some(q)) = (ground.space(a), ground.space(b))
            && length3(sub3(p, q)) <= CLOSE * ground.size
        {
            desk.push(
                Diagnostic::error("no-length", format!("{} has no length: {one} and {other} lie at the same place", named.what()))
                    .at(place, "")
                    .help("let two parts carry one point to pin them together; a rod joins points that lie apart"),
            );
            continue;
        }
        if let Some(&part) = ground
            .carriers(a)
            .iter()
            .find(|&&part| ground.carries(part, b))
        {
            let what = ground.what(part);
            desk.push(
                Diagnostic::warning(
                    "idle-rod",
                    format!(
                        "{} has nothing to do: {what} carries both {one} and {other}",
                        named.what()
                    ),
                )
                .at(place, "")
                .help("join points of different parts, or take the rod out"),
            );
        }
    }
}

/// Where a rod says what it joins.
fn joins_place(named: &Named) -> crate::model::Place {
    let joins = named
        .entry
        .node
        .entries()
        .into_iter()
        .find(|e| e.name == "joins");
    joins.map_or(named.entry.place, |e| e.node.place)
}
