//! Turned pieces: steps, bores, grooves, cross holes, flats.

use super::plate::table;
use super::read::{First, own_point};
use super::sense;
use super::{CrossHole, EndBore, Flats, Groove, Of, Offset, Side, Step, Turned};
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Entry, Field, Fields, Shape, Value};
use crate::fitting::{Fitted, Sized};
use crate::ground::direction;
use crate::model::PointId;
use crate::words::clip;
use crate::work::{JointAt, across_corners};
use crate::works::holes::fitted;
use crate::works::inner_table;
use crate::works::sizes::sized_or_plain;
use elements::fits_iso::Side as Fitting;

const STEP: Shape = Shape {
    a: "a step",
    keys: &[
        ("diameter", "diameter = \"20 h6\""),
        ("joint", "joint = \"crank-pin\""),
        ("thread", "thread = \"M12\""),
        ("square", "square = \"16 mm\""),
        ("hexagon", "hexagon = \"17 mm\""),
        ("length", "length = \"30 mm\""),
        ("offset", "offset = \"3 mm\""),
        ("angle", "angle = \"180 deg\""),
        ("chamfer", "chamfer = \"1 mm\""),
        ("relief", "relief = true"),
    ],
};

const BORE: Shape = Shape {
    a: "a bore",
    keys: &[
        ("from", "from = \"left\""),
        ("ream", "ream = \"8 H7\""),
        ("bore", "bore = \"12 H7\""),
        ("drill", "drill = \"8.4 mm\""),
        ("tap", "tap = \"M8\""),
        ("bearing", "bearing = \"6001\""),
        ("bushing", "bushing = \"cast bronze\""),
        ("hub", "hub = \"N7\""),
        ("outside", "outside = \"16 s6\""),
        ("depth", "depth = \"12 mm\""),
        ("length", "length = \"20 mm\""),
        ("offset", "offset = \"3 mm\""),
        ("angle", "angle = \"180 deg\""),
    ],
};

const GROOVE: Shape = Shape {
    a: "a groove",
    keys: &[
        ("at", "at = \"12 mm\""),
        ("width", "width = \"1.3 mm\""),
        ("diameter", "diameter = \"11.5 mm\""),
    ],
};

const CROSS: Shape = Shape {
    a: "a hole across",
    keys: &[
        ("at", "at = \"30 mm\""),
        ("from", "from = \"90 deg\""),
        ("ream", "ream = \"8 H7\""),
        ("drill", "drill = \"5 mm\""),
        ("tap", "tap = \"M6\""),
        ("depth", "depth = \"12 mm\""),
        ("length", "length = \"20 mm\""),
    ],
};

const FLATS: Shape = Shape {
    a: "flats",
    keys: &[
        ("at", "at = \"0 mm\""),
        ("length", "length = \"15 mm\""),
        ("across", "across = \"17 mm\""),
        ("sides", "sides = 2"),
    ],
};

pub(super) fn turned(
    desk: &mut Desk,
    fields: &Fields,
    of: Option<&Of>,
    first: &First,
) -> Option<Turned> {
    let before = desk.errors();
    let mut turned = Turned::default();
    if let Some(field) = fields.get("starts") {
        turned.starts = field.length(desk);
    }
    let steps = fields.get("steps")?;
    let items = steps.list(desk, "a list of steps")?;
    if items.is_empty() {
        steps.bad(
            desk,
            "a turned piece has at least one step",
            "write diameter and length of each step, from the left end on",
        );
        return None;
    }
    for item in &items {
        if let Some(made) = step(desk, fields, of, first, item, &turned) {
            if let Some(before) = turned.steps.last() {
                sense::touches(desk, item, before, &made);
            }
            turned.steps.push(made);
        }
    }
    if desk.errors() > before {
        return None;
    }
    let total: f64 = turned.steps.iter().map(|s| s.length).sum();
    if let Some(field) = fields.get("bore") {
        for item in field.list(desk, "a list of bores")? {
            if let Some(bore) = bore(desk, fields, of, first, &item, total) {
                sense::wall(desk, &item, &bore, &turned.steps);
                sense::apart(desk, &item, &bore, &turned.bores, total);
                turned.bores.push(bore);
            }
        }
    }
    if let Some(field) = fields.get("groove") {
        for item in field.list(desk, "a list of grooves")? {
            turned
                .grooves
                .extend(groove(desk, fields, &item, &turned.steps));
        }
    }
    for entry in table(
        desk,
        fields,
        "cross",
        "cross.pin = { at = \"30 mm\", drill = \"5 mm\" }",
    ) {
        turned
            .cross
            .extend(cross(desk, fields, &entry, &turned.steps));
    }
    if let Some(field) = fields.get("flats") {
        for item in field.list(desk, "a list of flats")? {
            let made = flats(desk, fields, &item, &turned);
            turned.flats.extend(made);
        }
    }
    (desk.errors() == before).then_some(turned)
}

/// The pin or journal of a joint, so that its size is not said twice.
fn of_joint(
    desk: &mut Desk,
    first: &First,
    field: &Field,
) -> Option<(PointId, (f64, Option<Sized>))> {
    let point: PointId = field.name(desk, Kind::Point)?;
    let joint = first
        .work
        .joints
        .iter()
        .find(|j| j.at == JointAt::Point(point));
    let found = joint.and_then(|j| {
        j.pin
            .clone()
            .map(|p| (p.nominal, Some(p)))
            .or(j.diameter.map(|d| (d, None)))
    });
    if found.is_none() {
        let name = desk.name(Kind::Point, point);
        field.bad(
            desk,
            format!("the joint at {name} says no diameter"),
            format!("write `[joint.{name}]` with `diameter = \"12 h6\"`, or the diameter here"),
        );
    }
    found.map(|size| (point, size))
}

fn step(
    desk: &mut Desk,
    fields: &Fields,
    of: Option<&Of>,
    first: &First,
    item: &Field,
    so_far: &Turned,
) -> Option<Step> {
    let inner = Fields::new(
        desk,
        format!("a step of {}", fields.what),
        &STEP,
        &inner_table(item),
    )?;
    let form = inner.one_of(desk, &["diameter", "joint", "thread", "square", "hexagon"]);
    let length = inner
        .need(desk, "length")
        .and_then(|f| f.positive_length(desk));
    let chamfer = match inner.get("chamfer") {
        Some(f) => Some(f.positive_length(desk)?),
        None => None,
    };
    let form = form?;
    if form.key != "thread" {
        inner.only_with(desk, &["relief"], "`thread`");
    }
    let mut flats = (0, 0.0);
    if matches!(form.key, "square" | "hexagon") {
        inner.only_with(desk, &["offset", "angle"], "a round step");
        let across = form.positive_length(desk)?;
        flats = (if form.key == "square" { 4 } else { 6 }, across);
    }
    let mut joint = None;
    let (diameter, thread) = match form.key {
        "square" | "hexagon" => ((across_corners(flats.0, flats.1), None), None),
        "diameter" => (sized_or_plain(desk, &form, Fitting::Shaft)?, None),
        "joint" => {
            let (point, diameter) = of_joint(desk, first, &form)?;
            joint = Some(point);
            (diameter, None)
        }
        _ => {
            let text = form.text(desk, "a thread in quotes")?;
            let thread = quantity::thread::parse(text)
                .map_err(|error| form.misread(desk, &error))
                .ok()?;
            ((thread.major, None), Some(thread))
        }
    };
    let relief = inner.get("relief").map_or(Some(false), |f| f.truth(desk))?;
    let offset = offset(desk, &inner, of, first).ok()?;
    let length = length?;
    let starts: f64 = so_far.steps.iter().map(|s| s.length).sum();
    // Where the machine says at which station an eccentric stands, the step has to be there.
    if let (
        Some(at),
        Some(Offset {
            point: Some(point), ..
        }),
    ) = (so_far.starts, offset)
    {
        let station = first.ground.spot(point).map(|s| s.station);
        let (a, b) = (at + starts, at + starts + length);
        if let Some(station) = station.filter(|s| *s < a - 1e-6 || *s > b + 1e-6) {
            let name = desk.name(Kind::Point, point);
            let (station, a, b) = (desk.show(station), desk.show(a), desk.show(b));
            item.bad(
                desk,
                format!("{name} stands at station {station}, but this step runs from {a} to {b}"),
                "make the steps before it longer or shorter, or move the point",
            );
            return None;
        }
    }
    let made = Step {
        diameter,
        joint,
        length,
        thread,
        relief,
        offset,
        chamfer,
        sides: flats.0,
        across: flats.1,
    };
    sense::step(desk, &inner, &made)?;
    Some(made)
}

/// An eccentric, where one is written; an error was said.
fn offset(
    desk: &mut Desk,
    inner: &Fields,
    of: Option<&Of>,
    first: &First,
) -> Result<Option<Offset>, ()> {
    let Some(field) = inner.get("offset") else {
        inner.only_with(desk, &["angle"], "`offset`");
        return Ok(None);
    };
    // A name is a point; everything that begins with a figure is a length.
    let named = matches!(field.node.value, Value::Text(text) if text.starts_with(|c: char| c.is_alphabetic()));
    if !named {
        let throw = field.positive_length(desk);
        let angle = inner
            .get("angle")
            .map_or(Some(0.0), |f| direction(desk, &f));
        return Ok(Some(Offset {
            point: None,
            throw: throw.ok_or(())?,
            angle: angle.ok_or(())?,
        }));
    }
    inner.only_with(desk, &["angle"], "an offset that is a length");
    let point = own_point(desk, of, first, &field).ok_or(())?;
    let Some(Of::Part(part)) = of else {
        return Err(());
    };
    let centre = first
        .ground
        .part(*part)
        .and_then(|p| p.carries.first().copied())
        .ok_or(())?;
    let spot = |p| first.ground.spot(p).map(|s| s.at).ok_or(());
    let (a, b) = (spot(centre)?, spot(point)?);
    let d = [b[0] - a[0], b[1] - a[1]];
    let throw = d[0].hypot(d[1]);
    if throw < 1e-9 {
        let name = desk.name(Kind::Point, point);
        field.bad(
            desk,
            format!("{name} lies on the axis"),
            "an eccentric's point lies off the axis; leave `offset` out for a step that runs true",
        );
        return Err(());
    }
    Ok(Some(Offset {
        point: Some(point),
        throw,
        angle: d[1].atan2(d[0]),
    }))
}

fn bore(
    desk: &mut Desk,
    fields: &Fields,
    of: Option<&Of>,
    first: &First,
    item: &Field,
    total: f64,
) -> Option<EndBore> {
    let inner = Fields::new(
        desk,
        format!("a bore of {}", fields.what),
        &BORE,
        &inner_table(item),
    )?;
    let from = inner
        .need(desk, "from")
        .and_then(|f| f.word(desk, &["left", "right"]));
    let fitted = fitted(desk, &inner);
    let length = match inner.get("length") {
        Some(f) => Some(within(desk, &f, total)?),
        // A bearing's seat is as deep as the bearing is wide.
        None => match &fitted {
            Some(Fitted::Bearing { bearing, .. }) => {
                Some(bearing.width).filter(|w| *w < total - 1e-6)
            }
            _ => None,
        },
    };
    if let Some(fitted) = &fitted {
        sense::thread_fits(desk, &inner, fitted, length)?;
    }
    let offset = offset(desk, &inner, of, first).ok()?;
    let from = if from? == 0 { Side::Left } else { Side::Right };
    Some(EndBore {
        from,
        fitted: fitted?,
        length,
        offset,
    })
}

/// A length that lies on the piece.
fn within(desk: &mut Desk, field: &Field, total: f64) -> Option<f64> {
    let x = field.length(desk)?;
    if (0.0..=total + 1e-9).contains(&x) {
        return Some(x);
    }
    let (x, total) = (desk.show(x), desk.show(total));
    field.bad(
        desk,
        format!("{x} lies off the piece, which is {total} long"),
        "lengths count from the left end",
    );
    None
}

fn groove(desk: &mut Desk, fields: &Fields, item: &Field, steps: &[Step]) -> Option<Groove> {
    let inner = Fields::new(
        desk,
        format!("a groove of {}", fields.what),
        &GROOVE,
        &inner_table(item),
    )?;
    let total: f64 = steps.iter().map(|s| s.length).sum();
    let at = inner.need(desk, "at").and_then(|f| within(desk, &f, total));
    let width = inner
        .need(desk, "width")
        .and_then(|f| f.positive_length(desk));
    let bottom = inner.need(desk, "diameter");
    let diameter = bottom.and_then(|f| f.positive_length(desk));
    let (at, width, diameter) = (at?, width?, diameter?);
    let mut end = 0.0;
    let step = steps.iter().find(|s| {
        end += s.length;
        at < end
    });
    if let (Some(step), Some(bottom)) = (step, bottom)
        && diameter >= step.diameter.0
    {
        bottom.bad(
            desk,
            "the bottom of this groove lies outside its step",
            "a groove is smaller than what it is cut into",
        );
        return None;
    }
    if let Some(bottom) = bottom.filter(|_| diameter < sense::THINNEST) {
        let (d, least) = (desk.show(diameter), desk.show(sense::THINNEST));
        bottom.bad(
            desk,
            format!("a groove down to {d} parts the piece"),
            format!("write a diameter of {least} or more"),
        );
        return None;
    }
    if at + width > total + 1e-9
        && let Some(field) = inner.get("width")
    {
        let (end, total) = (desk.show(at + width), desk.show(total));
        field.bad(
            desk,
            format!("this groove ends {end} from the left end, the piece is {total} long"),
            "`at` is the left side of the groove, from the left end: bring it in, or write a step of that diameter",
        );
        return None;
    }
    Some(Groove {
        at,
        width,
        diameter,
    })
}

fn cross(desk: &mut Desk, fields: &Fields, entry: &Entry, steps: &[Step]) -> Option<CrossHole> {
    let total = steps.iter().map(|s| s.length).sum();
    let what = format!("the hole {} of {}", clip(entry.name), fields.what);
    let inner = Fields::new(desk, what, &CROSS, entry)?;
    let at = inner.need(desk, "at").and_then(|f| within(desk, &f, total));
    let from = inner.get("from").map_or(Some(0.0), |f| direction(desk, &f));
    let fitted = fitted(desk, &inner);
    let length = match inner.get("length") {
        Some(f) => Some(f.positive_length(desk)?),
        None => None,
    };
    let (at, fitted) = (at?, fitted?);
    sense::thread_fits(desk, &inner, &fitted, length)?;
    let form = inner
        .get("ream")
        .or(inner.get("drill"))
        .or(inner.get("tap"));
    if let Some(form) = form {
        sense::across(desk, &form, &fitted, at, steps)?;
    }
    if let Some(field) = inner.get("at") {
        sense::from_the_ends(desk, &field, &fitted, at, steps)?;
    }
    Some(CrossHole {
        name: entry.name.to_owned(),
        at,
        from: from?,
        fitted,
        length,
    })
}

fn flats(desk: &mut Desk, fields: &Fields, item: &Field, turned: &Turned) -> Option<Flats> {
    let total = turned.steps.iter().map(|s| s.length).sum::<f64>();
    let inner = Fields::new(
        desk,
        format!("flats of {}", fields.what),
        &FLATS,
        &inner_table(item),
    )?;
    let at = inner.need(desk, "at").and_then(|f| within(desk, &f, total));
    let length = inner
        .need(desk, "length")
        .and_then(|f| f.positive_length(desk));
    let across = inner
        .need(desk, "across")
        .and_then(|f| f.positive_length(desk));
    let sides = match inner.get("sides") {
        Some(f) => {
            let n = f.whole(desk, 1, 6)?;
            if ![1, 2, 4, 6].contains(&n) {
                f.bad(
                    desk,
                    format!("{n} flats are not cut here"),
                    "write 1, 2, 4 or 6",
                );
                return None;
            }
            n
        }
        None => 2,
    };
    let (at, length) = (at?, length?);
    if at + length > total + 1e-9 {
        desk.push(
            Diagnostic::error("wrong-value", "these flats run off the piece")
                .at(item.place(), "")
                .help("`at` counts from the left end"),
        );
        return None;
    }
    let made = Flats {
        at,
        length,
        across: across?,
        sides,
    };
    if let Some(field) = inner.get("across") {
        sense::flats(desk, &field, &made, &turned.steps, &turned.bores)?;
    }
    Some(made)
}
