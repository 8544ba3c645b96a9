//! Faces, readings and stops.

use quantity::{Kind as Measure, Unit, Written};

use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Fields, Shape};
use crate::ground::{Ground, direction};
use crate::guides::{moving, planes};
use crate::model::{Drive, FRAME, Face, Measures, Place, PointId, Reading, Rod, Stop, Take};
use crate::vector::{V3, dot, dot3, length3, sub3, unit};
use crate::words::{clip, list, show};

const FACE: Shape = Shape {
    a: "a face",
    keys: &[
        ("at", "at = \"die-point\""),
        ("on", "on = \"ram\""),
        ("facing", "facing = \"down\""),
    ],
};

const READING: Shape = Shape {
    a: "a reading",
    keys: &[
        ("gap", "gap = [\"anvil\", \"die\"]"),
        ("between", "between = [\"bed\", \"ram-pin\"]"),
        ("distance", "distance = [\"lever-pin\", \"knee\"]"),
        ("turn-of", "turn-of = \"lever\""),
        ("place-of", "place-of = \"lever-grip\""),
        ("reading", "reading = \"gap\""),
        ("along", "along = \"up\""),
        ("against", "against = \"crank\""),
        ("drawn", "drawn = \"10 deg\""),
        ("over", "over = \"crank\""),
        ("take", "take = \"least\""),
    ],
};

const STOP: Shape = Shape {
    a: "a stop",
    keys: &[
        ("reading", "reading = \"swing\""),
        ("at-least", "at-least = \"0 deg\""),
        ("at-most", "at-most = \"75 deg\""),
    ],
};

/// Each kind of reading by the key that tells it, and the keys that go with it.
const FORMS: [(&str, &[&str]); 6] = [
    ("gap", &["gap"]),
    ("between", &["between", "along"]),
    ("distance", &["distance"]),
    ("turn-of", &["turn-of", "against", "drawn"]),
    ("place-of", &["place-of", "along"]),
    ("reading", &["reading", "over", "take"]),
];

/// Reads all faces; those that are broken are `None`.
pub(crate) fn faces(desk: &mut Desk, ground: &Ground, named: &[Named]) -> Vec<Option<Face>> {
    named.iter().map(|n| face(desk, ground, n)).collect()
}

fn face(desk: &mut Desk, ground: &Ground, named: &Named) -> Option<Face> {
    let fields = Fields::new(desk, named.what(), &FACE, &named.entry)?;
    let facing = fields
        .need(desk, "facing")
        .and_then(|f| direction(desk, &f));
    let field = fields.need(desk, "at")?;
    let at = field.name(desk, Kind::Point)?;
    let on = ground.carrier(desk, &fields, "on", at, &field)?;
    Some(Face {
        name: named.entry.name.to_owned(),
        at,
        on,
        facing: facing?,
        place: named.entry.place,
    })
}

/// Which points move with something: carried by a part or joined by a rod.
pub(crate) fn held(ground: &Ground, rods: &[Option<Rod>]) -> Vec<bool> {
    let mut held: Vec<bool> = ground.carriers.iter().map(|c| !c.is_empty()).collect();
    for point in rods.iter().flatten().flat_map(|r| r.joins) {
        if let Some(held) = held.get_mut(point) {
            *held = true;
        }
    }
    held
}

/// What readings stand on.
pub(crate) struct Base<'a> {
    pub(crate) ground: &'a Ground,
    pub(crate) faces: &'a [Option<Face>],
    pub(crate) drives: &'a [Option<Drive>],
    /// Points that move with something.
    pub(crate) held: &'a [bool],
    /// Every rod was read, so that what is not held is held by nothing.
    pub(crate) certain: bool,
}

/// Reads all readings; those that are broken are `None`.
pub(crate) fn readings(desk: &mut Desk, base: &Base, named: &[Named]) -> Vec<Option<Reading>> {
    let mut readings: Vec<Option<Reading>> = named.iter().map(|n| reading(desk, base, n)).collect();
    circles(desk, &mut readings, named);
    readings
}

fn reading(desk: &mut Desk, base: &Base, named: &Named) -> Option<Reading> {
    let fields = Fields::of_form(desk, named.what(), &READING, &named.entry, |fields| {
        let (_, keys) = FORMS
            .iter()
            .find(|(key, _)| fields.iter().any(|f| f.key == *key))?;
        Some(keys.to_vec())
    })?;
    let form = fields.one_of(desk, &FORMS.map(|(key, _)| key))?;
    let keys = FORMS
        .iter()
        .find(|(key, _)| *key == form.key)
        .map_or(&[][..], |(_, keys)| keys);
    let others = fields.others(keys);
    for field in &others {
        desk.push(
            Diagnostic::error(
                "two-forms",
                format!("`{}` does not go with `{}`", field.key, form.key),
            )
            .at(field.place(), "")
            .help(format!(
                "a reading by `{}` takes: {}",
                form.key,
                list(keys, "and")
            )),
        );
    }
    let measures = measures(desk, base, &fields, &form)?;
    if !others.is_empty() {
        return None;
    }
    Some(Reading {
        name: named.entry.name.to_owned(),
        measures,
        unit: Unit::One,
        place: named.entry.place,
    })
}

fn measures(desk: &mut Desk, base: &Base, fields: &Fields, form: &Field) -> Option<Measures> {
    let along = |desk: &mut Desk| fields.need(desk, "along").and_then(|f| direction(desk, &f));
    Some(match form.key {
        "gap" => Measures::Gap(form.names(desk, Kind::Face)?),
        "between" => {
            let along = along(desk);
            let points = form.names(desk, Kind::Point)?;
            held_points(desk, base, form, &points)?;
            Measures::Between {
                points,
                along: along?,
            }
        }
        "distance" => {
            let points = form.names(desk, Kind::Point)?;
            held_points(desk, base, form, &points)?;
            Measures::Distance(points)
        }
        "place-of" => {
            let along = along(desk);
            let point = form.name(desk, Kind::Point)?;
            held_points(desk, base, form, &[point])?;
            Measures::PlaceOf {
                point,
                along: along?,
            }
        }
        "turn-of" => {
            let against_field = fields.get("against");
            let against = against_field.map_or(Some(FRAME), |f| f.name(desk, Kind::Part));
            let drawn = fields.get("drawn").map_or(Some(0.0), |f| f.angle(desk));
            let part = moving(desk, form, "turns")?;
            let (against, drawn) = (against?, drawn?);
            if let Some(field) = against_field {
                if part == against {
                    field.bad(
                        desk,
                        format!(
                            "{} does not turn against itself",
                            desk.name(Kind::Part, part)
                        ),
                        "leave `against` out to measure against the frame",
                    );
                    return None;
                }
                planes(desk, base.ground, &field, part, against)?;
            }
            Measures::TurnOf {
                part,
                against,
                drawn,
            }
        }
        _ => {
            let take = fields
                .need(desk, "take")
                .and_then(|f| f.word(desk, &["least", "greatest", "swing"]));
            let drive = fields
                .need(desk, "over")
                .and_then(|f| driven(desk, base.drives, &f));
            let reading = form.name(desk, Kind::Reading)?;
            let take = *[Take::Least, Take::Greatest, Take::Swing].get(take?)?;
            Measures::Over {
                reading,
                drive: drive?,
                take,
            }
        }
    })
}

/// A drive that has a range to run through.
pub(crate) fn driven(desk: &mut Desk, drives: &[Option<Drive>], field: &Field) -> Option<usize> {
    let drive = field.name(desk, Kind::Drive)?;
    if drives.get(drive)?.as_ref()?.range.is_none() {
        let name = desk.name(Kind::Drive, drive);
        desk.push(
            Diagnostic::error(
                "no-range",
                format!("drive {name} has no range to run through"),
            )
            .at(field.place(), "")
            .at(desk.place(Kind::Drive, drive), "")
            .help(format!("give `[drive.{name}]` its `range`")),
        );
        return None;
    }
    Some(drive)
}

/// Only what moves with a part or a rod can be measured.
fn held_points(desk: &mut Desk, base: &Base, field: &Field, points: &[PointId]) -> Option<()> {
    for &point in points {
        if base.certain && base.held.get(point) == Some(&false) {
            base.ground.nobody_carries(desk, point, field);
            return None;
        }
    }
    Some(())
}

/// Readings over readings must not run in a circle, nor over a drive twice; then every reading gets its unit.
fn circles(desk: &mut Desk, readings: &mut [Option<Reading>], named: &[Named]) {
    let inner = |readings: &[Option<Reading>], r: usize| match readings.get(r)?.as_ref()?.measures {
        Measures::Over { reading, drive, .. } => Some((reading, drive)),
        _ => None,
    };
    let mut broken = vec![false; readings.len()];
    let mut met = vec![0; readings.len()];
    for start in 0..readings.len() {
        let mut walk = Vec::new();
        let mut here = start;
        while let Some(mark @ 0) = met.get_mut(here) {
            *mark = start + 1;
            walk.push(here);
            match inner(readings, here) {
                Some((next, _)) => here = next,
                None => break,
            }
        }
        let from = walk.iter().position(|&r| r == here);
        if let (Some(from), Some(_)) = (from, inner(readings, here)) {
            let circle = walk.split_off(from);
            let links: Vec<String> = circle
                .iter()
                .zip(circle.iter().cycle().skip(1))
                .map(|(&a, &b)| {
                    format!(
                        "{} reads {}",
                        desk.name(Kind::Reading, a),
                        desk.name(Kind::Reading, b)
                    )
                })
                .collect();
            let message = if circle.len() == 1 {
                format!("reading {} reads itself", desk.name(Kind::Reading, here))
            } else {
                format!("readings run in a circle: {}", list(&links, "and"))
            };
            let mut problem = Diagnostic::error("reading-circle", message);
            for &r in circle.iter().take(6) {
                problem = problem.at(desk.place(Kind::Reading, r), "");
            }
            desk.push(problem.help("one of them has to measure something by itself"));
            for r in circle {
                if let Some(broken) = broken.get_mut(r) {
                    *broken = true;
                }
            }
        }
    }
    // The same drive twice on the way down: the inner reading has run it already.
    for start in 0..readings.len() {
        let Some((mut next, drive)) = inner(readings, start) else {
            continue;
        };
        if broken.get(start) == Some(&true) {
            continue;
        }
        for _ in 0..64 {
            let Some((deeper, other)) = inner(readings, next) else {
                break;
            };
            if other == drive {
                let (reading, drive) = (
                    desk.name(Kind::Reading, next),
                    desk.name(Kind::Drive, drive),
                );
                let place = named
                    .get(start)
                    .map_or_else(Place::default, |n| over_place(n));
                desk.push(
                    Diagnostic::error(
                        "over-twice",
                        format!("reading {reading} runs {drive} through its range already"),
                    )
                    .at(place, "")
                    .help("name another drive, or read what it reads"),
                );
                if let Some(broken) = broken.get_mut(start) {
                    *broken = true;
                }
                break;
            }
            next = deeper;
        }
    }
    for (reading, broken) in readings.iter_mut().zip(broken) {
        if broken {
            *reading = None;
        }
    }
    let units: Vec<Option<Unit>> = (0..readings.len())
        .map(|r| measure_of(readings, r).map(|m| measure_unit(m, desk.unit())))
        .collect();
    for (reading, unit) in readings.iter_mut().zip(units) {
        match (reading.as_mut(), unit) {
            (Some(reading), Some(unit)) => reading.unit = unit,
            // It reads one that is broken.
            _ => *reading = None,
        }
    }
}

fn over_place(named: &Named) -> Place {
    named
        .entry
        .node
        .entries()
        .into_iter()
        .find(|e| e.name == "over")
        .map_or(named.entry.place, |e| e.node.place)
}

/// Unit to print a kind of reading in.
pub(crate) fn measure_unit(measure: Measure, length: Unit) -> Unit {
    if measure == Measure::Angle {
        Unit::Degree
    } else {
        length
    }
}

/// Whether a reading is a length or an angle. `None` when it is broken.
pub(crate) fn measure_of(readings: &[Option<Reading>], reading: usize) -> Option<Measure> {
    let mut here = reading;
    for _ in 0..=readings.len() {
        match readings.get(here)?.as_ref()?.measures {
            Measures::TurnOf { .. } => return Some(Measure::Angle),
            Measures::Over { reading, .. } => here = reading,
            _ => return Some(Measure::Length),
        }
    }
    None
}

/// Reads all stops; those that are broken are `None`.
pub(crate) fn stops(
    desk: &mut Desk,
    base: &Base,
    readings: &[Option<Reading>],
    named: &[Named],
) -> Vec<Option<Stop>> {
    named
        .iter()
        .map(|n| stop(desk, base, readings, n))
        .collect()
}

fn stop(desk: &mut Desk, base: &Base, readings: &[Option<Reading>], named: &Named) -> Option<Stop> {
    let fields = Fields::new(desk, named.what(), &STOP, &named.entry)?;
    let field = fields.need(desk, "reading")?;
    let reading = field.name(desk, Kind::Reading)?;
    let found = readings.get(reading)?.as_ref()?;
    if matches!(found.measures, Measures::Over { .. }) {
        let name = clip(&found.name);
        desk.push(
            Diagnostic::error("stop", format!("reading {name} is taken over a whole range and cannot stop the machine in one position"))
                .at(field.place(), "")
                .help("stop the reading it is worked out of"),
        );
        return None;
    }
    let measure = measure_of(readings, reading)?;
    let limits = limits(desk, &fields, Some(measure))?;
    let [at_least, at_most] =
        [&limits.at_least, &limits.at_most].map(|w| w.as_ref().map(|w| w.value));
    if let Some(drawn) = as_drawn(base, &found.measures) {
        // As near as the drawing is drawn.
        let slack = if measure == Measure::Angle {
            1e-9
        } else {
            1e-9 * base.ground.size
        };
        let short = at_least.map_or(f64::NEG_INFINITY, |l| l - drawn);
        let over = at_most.map_or(f64::NEG_INFINITY, |m| drawn - m);
        let beyond = short.max(over);
        if beyond > slack {
            let (drawn, beyond) = (show(drawn, found.unit), show(beyond, found.unit));
            let place = fields.get(if over > short { "at-most" } else { "at-least" });
            desk.push(
                Diagnostic::error("stop", format!("the machine is drawn beyond its stop: {} stands at {drawn}, {beyond} too far", clip(&found.name)))
                    .at(place.map_or(fields.header, |f| f.place()), "")
                    .help("move the stop, or draw the machine short of it"),
            );
            return None;
        }
    }
    Some(Stop {
        name: named.entry.name.to_owned(),
        reading,
        at_least,
        at_most,
        place: named.entry.place,
    })
}

/// Limits of a stop or an ask as written.
pub(crate) struct Limits {
    pub(crate) at_least: Option<Written>,
    pub(crate) at_most: Option<Written>,
}

/// Reads `at-least` and `at-most`, or `between` where the table has it; one limit has to be there and they must not cross.
pub(crate) fn limits(desk: &mut Desk, fields: &Fields, measure: Option<Measure>) -> Option<Limits> {
    let (least, most) = (fields.get("at-least"), fields.get("at-most"));
    if let Some(both) = fields.get("between") {
        if let Some(other) = least.or(most) {
            fields.clash(desk, &both, &other);
            return None;
        }
        let [from, to] = crate::drives::range(desk, &both, measure?)?;
        return Some(Limits {
            at_least: Some(from),
            at_most: Some(to),
        });
    }
    if least.is_none() && most.is_none() {
        fields.lacks_limits(desk);
        return None;
    }
    // Without a sound reading nobody knows whether a length or an angle is wanted.
    let measure = measure?;
    let at_least = least.map(|f| f.quantity(desk, measure));
    let at_most = most.map(|f| f.quantity(desk, measure));
    if at_least == Some(None) || at_most == Some(None) {
        return None;
    }
    let (at_least, at_most) = (at_least.flatten(), at_most.flatten());
    if let (Some(low), Some(high), Some(field), Some(other)) = (&at_least, &at_most, least, most)
        && low.value > high.value
    {
        desk.push(
            Diagnostic::error(
                "range",
                format!(
                    "the limits cross: at least {} and at most {}",
                    clip(low.show()),
                    clip(high.show())
                ),
            )
            .at(field.place(), "")
            .at(other.place(), "")
            .help("swap the two"),
        );
        return None;
    }
    Some(Limits { at_least, at_most })
}

/// What a reading measures in the drawn position, mm or rad. `None` over a drive, or when a point has no place.
pub(crate) fn as_drawn(base: &Base, measures: &Measures) -> Option<f64> {
    let ground = base.ground;
    let face = |f: usize| base.faces.get(f).and_then(Option::as_ref);
    match *measures {
        Measures::Gap([a, b]) => {
            let (a, b) = (face(a)?, face(b)?);
            let d = in_plane_direction(ground, a.at, a.facing)?;
            Some(dot3(d, sub3(ground.space(b.at)?, ground.space(a.at)?)))
        }
        Measures::Between {
            points: [a, b],
            along,
        } => {
            let d = in_plane_direction(ground, a, along)?;
            Some(dot3(d, sub3(ground.space(b)?, ground.space(a)?)))
        }
        Measures::Distance([a, b]) => Some(length3(sub3(ground.space(a)?, ground.space(b)?))),
        Measures::TurnOf { drawn, .. } => Some(drawn),
        Measures::PlaceOf { point, along } => Some(dot(unit(along), ground.spot(point)?.at)),
        Measures::Over { .. } => None,
    }
}

/// A direction of the plane a point lies in, in space.
fn in_plane_direction(ground: &Ground, point: PointId, along: f64) -> Option<V3> {
    let plane = ground.planes.get(ground.spot(point)?.plane)?.as_ref()?;
    let [x, y] = unit(along);
    Some(std::array::from_fn(|i| {
        x * plane.right[i] + y * plane.up[i]
    }))
}
