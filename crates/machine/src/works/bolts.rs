//! Bolted joints: what holds a plate, cap or die on its seat.

use super::{First, inner_table, positive};
use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::fields::{Field, Fields, Shape};
use crate::fitting::Bolts;
use crate::ground::direction;
use crate::model::{FRAME, PartId};
use crate::work::Material;
use elements::threads::preload;
use quantity::Kind as Measure;
use std::f64::consts::TAU;

const BOLTS: Shape = Shape {
    a: "a set of bolts",
    keys: &[
        ("carries", "carries = [\"crank-centre\"]"),
        ("slides", "slides = [\"ram-guide\"]"),
        ("part", "part = \"frame\""),
        ("centre", "centre = \"crank-centre\""),
        ("thread", "thread = \"M8\""),
        ("class", "class = \"8.8\""),
        ("circle", "circle = { diameter = \"80 mm\", count = 4 }"),
        ("at", "at = [[-30, 0], [30, 0]]"),
        ("along", "along = \"up\""),
        ("out", "out = \"20 mm\""),
        ("grip", "grip = \"12 mm\""),
        (
            "into",
            "into = { material = \"6061-T6\", engaged = \"12 mm\" }",
        ),
        ("friction", "friction = 0.12"),
        ("torque", "torque = \"25 N m\""),
    ],
};

const CIRCLE: Shape = Shape {
    a: "a bolt circle",
    keys: &[
        ("diameter", "diameter = \"80 mm\""),
        ("count", "count = 4"),
        ("first", "first = \"45 deg\""),
    ],
};

const INTO: Shape = Shape {
    a: "what the bolts are screwed into",
    keys: &[
        ("material", "material = \"6061-T6\""),
        ("engaged", "engaged = \"12 mm\""),
    ],
};

/// Most bolts of one joint.
const MOST: i64 = 48;

pub(super) fn bolts(
    desk: &mut Desk,
    named: &[Named],
    first: &First,
    materials: &mut Vec<Option<Material>>,
) -> Vec<Bolts> {
    let all = named.iter();
    all.filter_map(|n| one(desk, n, first, materials)).collect()
}

/// The thickness clamped: one length, or layers from the head on, each with its material.
fn clamped(
    desk: &mut Desk,
    field: &Field,
    materials: &mut Vec<Option<Material>>,
) -> Option<(f64, Vec<(f64, usize)>)> {
    if !field.is_list() {
        return Some((field.positive_length(desk)?, Vec::new()));
    }
    let mut layers = Vec::new();
    for item in field.list(desk, "layers from the head on")? {
        let [thick, material] = item.pair(desk, "a thickness and a material")?;
        let thick = thick.positive_length(desk);
        let material = super::stock::named(desk, &material, materials);
        layers.push((thick?, material?));
    }
    if layers.is_empty() {
        field.bad(
            desk,
            "nothing is clamped",
            "write `grip = \"20 mm\"`, or layers: `grip = [[\"12 mm\", \"steel\"], [\"8 mm\", \"6061-T6\"]]`",
        );
        return None;
    }
    Some((layers.iter().map(|l| l.0).sum(), layers))
}

/// A thread by its name.
pub(super) fn thread(desk: &mut Desk, field: &Field) -> Option<quantity::Thread> {
    let text = field.text(desk, "a thread in quotes")?;
    quantity::thread::parse(text)
        .map_err(|error| field.misread(desk, &error))
        .ok()
}

/// The property class of screws, the usual one when none is written.
pub(super) fn class(desk: &mut Desk, fields: &Fields, thread: &quantity::Thread) -> Option<String> {
    let Some(field) = fields.get("class") else {
        return Some(if thread.inch { "grade 5" } else { "8.8" }.to_owned());
    };
    let text = field.text(desk, "a property class in quotes")?;
    match preload::find(text, thread.major) {
        Ok(class) => Some(class.name.to_owned()),
        Err(error) => {
            field.bad(
                desk,
                error.to_string(),
                "write it as stamped on the head: \"8.8\", \"12.9\", \"grade 5\"",
            );
            None
        }
    }
}

fn one(
    desk: &mut Desk,
    named: &Named,
    first: &First,
    materials: &mut Vec<Option<Material>>,
) -> Option<Bolts> {
    let fields = Fields::new(desk, named.what(), &BOLTS, &named.entry)?;
    let part = match fields.get("part") {
        Some(field) => field.name(desk, Kind::Part)?,
        None => FRAME,
    };
    let names = |desk: &mut Desk, key: &str, kind: Kind| -> Option<Vec<(Field<'_>, usize)>> {
        let Some(field) = fields.get(key) else {
            return Some(Vec::new());
        };
        let mut all = Vec::new();
        for item in field.list(desk, "a list of names")? {
            let index = item.name(desk, kind)?;
            all.push((item, index));
        }
        Some(all)
    };
    let points = names(desk, "carries", Kind::Point)?;
    let slides = names(desk, "slides", Kind::Slide)?;
    if points.is_empty() && slides.is_empty() {
        fields.need(desk, "carries")?;
        return None;
    }
    for (field, point) in &points {
        carried(desk, field, part, *point, first)?;
    }
    let centre = match (fields.get("centre"), points.first()) {
        (Some(field), _) => {
            let point = field.name(desk, Kind::Point)?;
            carried(desk, &field, part, point, first)?;
            point
        }
        (None, Some((_, point))) => *point,
        (None, None) => fields
            .need(desk, "centre")
            .and_then(|f| f.name(desk, Kind::Point))?,
    };
    let thread = fields
        .need(desk, "thread")
        .and_then(|field| thread(desk, &field));
    let grip = fields
        .need(desk, "grip")
        .and_then(|f| clamped(desk, &f, materials));
    let into = fields.get("into").map(|f| {
        let what = "what the bolts are screwed into".to_owned();
        let inner = Fields::new(desk, what, &INTO, &inner_table(&f))?;
        let material = inner
            .need(desk, "material")
            .and_then(|f| super::stock::named(desk, &f, materials));
        let engaged = inner
            .need(desk, "engaged")
            .and_then(|f| f.positive_length(desk));
        Some((material?, engaged?))
    });
    let at = fields
        .one_of(desk, &["circle", "at"])
        .and_then(|f| places(desk, &f));
    let thread = thread?;
    let class = class(desk, &fields, &thread);
    let along = fields.get("along").map(|f| direction(desk, &f));
    let out = fields
        .get("out")
        .map_or(Some(0.0), |f| positive(desk, &f, Measure::Length, true));
    let friction = fields.get("friction").map(|f| {
        let x = f.number(desk)?;
        if x > 0.0 && x <= 1.0 {
            return Some(x);
        }
        f.bad(
            desk,
            format!("`friction` is {x}, outside 0 to 1"),
            "steel faces as machined have about 0.12 to 0.2",
        );
        None
    });
    let torque = fields
        .get("torque")
        .map(|f| positive(desk, &f, Measure::Moment, false));
    let (grip, layers) = grip?;
    Some(Bolts {
        name: named.entry.name.to_owned(),
        part,
        carries: points.into_iter().map(|p| p.1).collect(),
        slides: slides.into_iter().map(|s| s.1).collect(),
        centre,
        at: at?,
        thread,
        class: class?,
        along: along.map_or(Some(None), |a| a.map(Some))?,
        out: out?,
        grip,
        layers,
        into: into.map_or(Some(None), |i| i.map(Some))?,
        friction: friction.map_or(Some(None), |f| f.map(Some))?,
        torque: torque.map_or(Some(None), |t| t.map(Some))?,
        place: named.entry.place,
    })
}

/// The part that the bolts hold has to carry the point.
fn carried(
    desk: &mut Desk,
    field: &Field,
    part: PartId,
    point: usize,
    first: &First,
) -> Option<()> {
    if !first.ground.whole || first.ground.carries(part, point) {
        return Some(());
    }
    let (what, point) = (first.ground.what(part), desk.name(Kind::Point, point));
    field.bad(
        desk,
        format!("{what} does not carry {point}"),
        "the bolts hold the part that carries it: `part = \"ram\"`; without `part` it is a plate of the frame",
    );
    None
}

fn places(desk: &mut Desk, field: &Field) -> Option<Vec<[f64; 2]>> {
    if field.key == "at" {
        let mut all: Vec<[f64; 2]> = Vec::new();
        for item in field.list(desk, "a list of places")? {
            let place = item.lengths(desk)?;
            if all.contains(&place) {
                item.bad(
                    desk,
                    "two bolts at one place",
                    "write each place once, right and up from the middle of the bolts",
                );
                return None;
            }
            all.push(place);
        }
        if all.is_empty() || all.len() > MOST as usize {
            field.bad(
                desk,
                format!("{} bolts", all.len()),
                format!("write 1 to {MOST} places, as in `at = [[-30, 0], [30, 0]]`"),
            );
            return None;
        }
        return Some(all);
    }
    let inner = Fields::new(
        desk,
        "the bolt circle".to_owned(),
        &CIRCLE,
        &inner_table(field),
    )?;
    let diameter = inner
        .need(desk, "diameter")
        .and_then(|f| f.positive_length(desk));
    let count = inner
        .need(desk, "count")
        .and_then(|f| f.whole(desk, 2, MOST));
    let from = inner.get("first").map_or(Some(0.0), |f| f.angle(desk))?;
    let (radius, count) = (0.5 * diameter?, count?);
    let one = |n: usize| {
        let angle = from + TAU * n as f64 / count as f64;
        [radius * angle.cos(), radius * angle.sin()]
    };
    Some((0..count).map(one).collect())
}
