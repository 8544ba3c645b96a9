//! Slides and slots.

use std::f64::consts::TAU;

use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Fields, Shape};
use crate::ground::{CLOSE, Ground, direction_or_line};
use crate::model::{FRAME, PartId, PointId, Slide, Slot};
use crate::vector::{cross, dot, length, sub};

const SLIDE: Shape = Shape {
    a: "a slide",
    keys: &[
        ("part", "part = \"ram\""),
        ("along", "along = \"up\""),
        ("on", "on = \"frame\""),
        ("middle", "middle = \"ram-pin\""),
    ],
};

const SLOT: Shape = Shape {
    a: "a slot",
    keys: &[
        ("pin", "pin = \"roller\""),
        ("of", "of = \"follower\""),
        ("in", "in = \"plate\""),
        ("from", "from = \"slot-low\""),
        ("to", "to = \"slot-high\""),
        ("centre", "centre = \"slot-centre\""),
    ],
};

/// Reads all slides; those that are broken are `None`.
pub(crate) fn slides(desk: &mut Desk, ground: &Ground, named: &[Named]) -> Vec<Option<Slide>> {
    named.iter().map(|n| slide(desk, ground, n)).collect()
}

fn slide(desk: &mut Desk, ground: &Ground, named: &Named) -> Option<Slide> {
    let fields = Fields::new(desk, named.what(), &SLIDE, &named.entry)?;
    let part = fields
        .need(desk, "part")
        .and_then(|f| moving(desk, &f, "slides"));
    let on = fields
        .get("on")
        .map_or(Some(FRAME), |f| f.name(desk, Kind::Part));
    let plane = part.and_then(|p| ground.plane_of(p));
    let along = fields
        .need(desk, "along")
        .and_then(|f| direction_or_line(desk, ground, &f, plane));
    let (part, on) = (part?, on?);
    if let Some(field) = fields.get("on") {
        if part == on {
            field.bad(
                desk,
                format!("{} slides on itself", desk.name(Kind::Part, part)),
                "name the part or frame with the guide, or leave `on` out for the frame",
            );
            return None;
        }
        planes(desk, ground, &field, part, on)?;
    }
    let middle = match fields.get("middle") {
        None => None,
        Some(field) => {
            let point = field.name(desk, Kind::Point)?;
            if ground.whole && !ground.carries(part, point) {
                let (what, name) = (ground.what(part), desk.name(Kind::Point, point));
                field.bad(
                    desk,
                    format!("{what} does not carry {name}, so its guide cannot hold it there"),
                    "name a point of the part that slides, half way along its guide",
                );
                return None;
            }
            Some(point)
        }
    };
    Some(Slide {
        name: named.entry.name.to_owned(),
        part,
        on,
        middle,
        along: along?,
        place: named.entry.place,
    })
}

/// A part that moves: any but the frame.
pub(crate) fn moving(desk: &mut Desk, field: &Field, does: &str) -> Option<PartId> {
    let part = field.name(desk, Kind::Part)?;
    if part == FRAME {
        field.bad(
            desk,
            format!(
                "the frame stands still; `{}` names the part that {does}",
                field.key
            ),
            "name another part",
        );
        return None;
    }
    Some(part)
}

/// Two parts that work on each other have to lie in one plane.
pub(crate) fn planes(
    desk: &mut Desk,
    ground: &Ground,
    field: &Field,
    a: PartId,
    b: PartId,
) -> Option<()> {
    let Some((here, there)) = ground.planes_differ(a, b) else {
        return Some(());
    };
    let (one, other) = (ground.what(a), ground.what(b));
    let (here, there) = (desk.name(Kind::Plane, here), desk.name(Kind::Plane, there));
    desk.push(
        Diagnostic::error(
            "two-planes",
            format!("{one} lies in plane {here}, {other} in plane {there}"),
        )
        .at(field.place(), "")
        .help("parts of two planes are joined by a rod"),
    );
    None
}

/// Reads all slots; those that are broken are `None`.
pub(crate) fn slots(desk: &mut Desk, ground: &Ground, named: &[Named]) -> Vec<Option<Slot>> {
    named.iter().map(|n| slot(desk, ground, n)).collect()
}

fn slot(desk: &mut Desk, ground: &Ground, named: &Named) -> Option<Slot> {
    let fields = Fields::new(desk, named.what(), &SLOT, &named.entry)?;
    let pin_field = fields.need(desk, "pin");
    let pin = pin_field.and_then(|f| f.name(desk, Kind::Point));
    let within = fields
        .need(desk, "in")
        .and_then(|f| f.name(desk, Kind::Part));
    let end = |desk: &mut Desk, field: Option<Field>| {
        let field = field?;
        let point = field.name(desk, Kind::Point)?;
        slotted(desk, ground, &field, point, within?)?;
        Some(point)
    };
    let (from, to) = (fields.need(desk, "from"), fields.need(desk, "to"));
    let from = end(desk, from);
    let to_point = end(desk, to);
    let centre = fields.get("centre").map(|f| end(desk, Some(f)));
    let (pin, pin_field, within) = (pin?, pin_field?, within?);
    if ground.whole && ground.carries(within, pin) {
        let (what, name) = (ground.what(within), desk.name(Kind::Point, pin));
        pin_field.bad(
            desk,
            format!("{what} carries {name} itself, so {name} cannot run in its slot"),
            "name a pin of another part",
        );
        return None;
    }
    let of = ground.carrier(desk, &fields, "of", pin, &pin_field)?;
    let (from, to_point) = (from?, to_point?);
    let centre = match centre {
        None => None,
        Some(found) => Some(found?),
    };
    planes(desk, ground, &pin_field, of, within)?;
    let slot = Slot {
        name: named.entry.name.to_owned(),
        pin,
        of,
        within,
        ends: [from, to_point],
        centre,
        place: named.entry.place,
    };
    drawn_in_slot(desk, ground, &slot, &pin_field, to.map_or(pin_field, |f| f))?;
    Some(slot)
}

/// Ends and centre of a slot belong to the part that has it.
fn slotted(
    desk: &mut Desk,
    ground: &Ground,
    field: &Field,
    point: PointId,
    within: PartId,
) -> Option<()> {
    if !ground.whole || ground.carries(within, point) {
        return Some(());
    }
    let (what, name) = (ground.what(within), desk.name(Kind::Point, point));
    desk.push(
        Diagnostic::error(
            "not-carried",
            format!("{what} has the slot but does not carry {name}"),
        )
        .at(field.place(), "")
        .help(format!("add \"{name}\" to what {what} carries")),
    );
    None
}

/// The pin has to stand on the slot's centre line as drawn.
fn drawn_in_slot(
    desk: &mut Desk,
    ground: &Ground,
    slot: &Slot,
    pin_field: &Field,
    to_field: Field,
) -> Option<()> {
    let [from, to] = slot.ends;
    let (Some(pin), Some(a), Some(b)) = (ground.spot(slot.pin), ground.spot(from), ground.spot(to))
    else {
        return Some(());
    };
    let near = CLOSE * ground.size;
    let (pin_name, from_name, to_name) = (
        desk.name(Kind::Point, slot.pin),
        desk.name(Kind::Point, from),
        desk.name(Kind::Point, to),
    );
    let line = sub(b.at, a.at);
    let l = length(line);
    if l <= near {
        to_field.bad(
            desk,
            format!("{from_name} and {to_name} lie at the same place; the slot has no length"),
            "move one of the two",
        );
        return None;
    }
    let fail = |desk: &mut Desk, message: String, help: String| {
        desk.push(
            Diagnostic::error("off-slot", message)
                .at(pin_field.place(), "")
                .help(help),
        );
        None
    };
    let Some(centre) = slot.centre else {
        let p = sub(pin.at, a.at);
        let off = cross(line, p).abs() / l;
        if off > near {
            let by = desk.show(off);
            // What lies beyond an end goes to that end: the share has to put it into the slot.
            let share = (dot(line, p) / (l * l)).clamp(0.0, 1.0);
            return fail(
                desk,
                format!("{pin_name} is drawn {by} off the centre line of the slot"),
                format!(
                    "place it on the line: `{{ on = [\"{from_name}\", \"{to_name}\"], share = {share:.3} }}`"
                ),
            );
        }
        let beyond = (-dot(line, p) / l).max(dot(line, p) / l - l);
        if beyond > near {
            let by = desk.show(beyond);
            return fail(
                desk,
                format!("{pin_name} is drawn {by} beyond the end of the slot"),
                "make the slot longer or place the pin inside it".to_owned(),
            );
        }
        return Some(());
    };
    let name = desk.name(Kind::Point, centre);
    let (Some(radius), Some(other), Some(at)) = (
        ground.flat_distance(centre, from),
        ground.flat_distance(centre, to),
        ground.flat_distance(centre, slot.pin),
    ) else {
        return Some(());
    };
    if radius <= near {
        to_field.bad(
            desk,
            format!("{from_name} lies at the centre {name}; the arc has no radius"),
            "move one of the two",
        );
        return None;
    }
    if (radius - other).abs() > near {
        let message = format!(
            "the ends of the arc are not equally far from {name}: {from_name} {}, {to_name} {}",
            desk.show(radius),
            desk.show(other)
        );
        desk.push(
            Diagnostic::error("off-slot", message)
                .at(to_field.place(), "")
                .help(format!(
                    "place it on the arc: `{{ from = \"{name}\", reach = \"{}\", angle = .. }}`",
                    desk.show_exactly(radius)
                )),
        );
        return None;
    }
    if (at - radius).abs() > near {
        let (by, side) = (
            desk.show((at - radius).abs()),
            if at > radius { "outside" } else { "inside" },
        );
        let radius = desk.show_exactly(radius);
        return fail(
            desk,
            format!("{pin_name} is drawn {by} {side} the arc of the slot"),
            format!(
                "place it on the arc: `{{ from = \"{name}\", reach = \"{radius}\", angle = .. }}`"
            ),
        );
    }
    let middle = ground.spot(centre)?.at;
    let angle = |p: [f64; 2]| {
        let d = sub(p, middle);
        d[1].atan2(d[0])
    };
    // The arc runs counter-clockwise from the first end.
    let sweep = (angle(b.at) - angle(a.at)).rem_euclid(TAU);
    let turned = (angle(pin.at) - angle(a.at)).rem_euclid(TAU);
    let beyond = (turned - sweep).min(TAU - turned) * radius;
    if turned > sweep && beyond > near {
        let by = desk.show(beyond);
        return fail(
            desk,
            format!("{pin_name} is drawn {by} beyond the end of the slot"),
            format!(
                "the arc runs counter-clockwise from {from_name} to {to_name}; swap the two if the other arc is meant"
            ),
        );
    }
    Some(())
}
