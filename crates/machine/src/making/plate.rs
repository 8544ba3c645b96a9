//! Plates: outline, round ends, further holes, slots, holes from the edge, forks.

use super::cuts::{edge, fork, slot};
use super::outlines::outline;
use super::read::{First, carried, own_point};
use super::{Bend, Boss, Of, Outline, Plate, PlateHole};
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Entry, Field, Fields, Shape, Value};
use crate::ground::direction;
use crate::model::PointId;
use crate::words::clip;
use crate::works::holes::{fitted, heads};
use crate::works::inner_table;
use std::f64::consts::TAU;

const BOSS: Shape = Shape {
    a: "a boss",
    keys: &[
        ("diameter", "diameter = \"32 mm\""),
        ("length", "length = \"16 mm\""),
        ("solid", "solid = true"),
    ],
};

/// Keys that say what is made at a hole stand in all shapes of holes.
const HOLE: Shape = Shape {
    a: "a hole",
    keys: &[
        ("at", "at = [10, -20]"),
        ("on", "on = \"foot\""),
        (
            "circle",
            "circle = { about = [0, 0], diameter = \"60 mm\", count = 4 }",
        ),
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
        ("counterbore", "counterbore = [\"11 mm\", \"6.5 mm\"]"),
        ("countersink", "countersink = \"12 mm\""),
    ],
};

const CIRCLE: Shape = Shape {
    a: "a circle of holes",
    keys: &[
        ("about", "about = \"crank-centre\""),
        ("diameter", "diameter = \"60 mm\""),
        ("count", "count = 4"),
        ("first", "first = \"45 deg\""),
    ],
};

pub(super) fn plate(
    desk: &mut Desk,
    fields: &Fields,
    of: Option<&Of>,
    first: &First,
) -> Option<Plate> {
    let before = desk.errors();
    let points = carried(of, first);
    let mut plate = Plate {
        upright: fields.get("upright").and_then(|f| f.truth(desk)) == Some(true),
        fillet: fields.get("fillet").and_then(|f| f.positive_length(desk)),
        ..Plate::default()
    };
    if let Some(field) = fields.get("outline") {
        plate.outline = outline(desk, fields, &field)?;
    }
    let alone = points.is_empty();
    if alone && plate.upright {
        fields.only_with(
            desk,
            &["upright"],
            "a piece that carries points: this one is drawn as its outline is written",
        );
    }
    if alone && matches!(plate.outline, Outline::Arms | Outline::Around) {
        desk.push(
            Diagnostic::error(
                "missing-key",
                format!("{} has neither points nor an outline", fields.what),
            )
            .at(fields.header, "")
            .help("write `outline = { from = [0, 0], to = [80, 30] }` for a plate, `steps` for a turned piece"),
        );
        return None;
    }
    for entry in table(desk, fields, "boss", "boss.lever-pin = \"24 mm\"") {
        plate.bosses.extend(boss(desk, fields, of, first, &entry));
    }
    if let Some(field) = fields.get("arms") {
        for item in field.list(desk, "a list of pairs of points")? {
            let [a, b] = item.pair(desk, "two points")?;
            let (a, b) = (
                own_point(desk, of, first, &a),
                own_point(desk, of, first, &b),
            );
            if let (Some(a), Some(b)) = (a, b)
                && a != b
            {
                plate.arms.push([a, b]);
            }
        }
    }
    super::bend::bends(desk, fields, &mut plate);
    for entry in table(
        desk,
        fields,
        "hole",
        "hole.foot = { at = [10, -20], drill = \"6.6 mm\" }",
    ) {
        plate.holes.extend(hole(
            desk,
            fields,
            of,
            first,
            &entry,
            (plate.upright, &plate.bends),
        ));
    }
    for entry in table(
        desk,
        fields,
        "slot",
        "slot.travel = { from = [10, 0], to = [40, 0], width = \"8 mm\" }",
    ) {
        plate
            .slots
            .extend(slot(desk, fields, of, first, &entry, plate.upright));
    }
    for entry in table(
        desk,
        fields,
        "cross",
        "cross.grub = { towards = \"lever-pivot\", from = \"90 deg\", tap = \"M6\" }",
    ) {
        plate.cross.extend(edge(desk, fields, of, first, &entry));
    }
    if let Some(field) = fields.get("fork") {
        plate.fork = fork(desk, fields, of, first, &field);
    }
    (desk.errors() == before).then_some(plate)
}

/// The entries below a key that holds named tables.
pub(super) fn table<'a>(
    desk: &mut Desk,
    fields: &Fields<'a>,
    key: &str,
    how: &str,
) -> Vec<Entry<'a>> {
    let Some(field) = fields.get(key) else {
        return Vec::new();
    };
    if !matches!(field.node.value, Value::Table(_)) {
        field.bad(
            desk,
            format!(
                "`{key}` of {} is {}, not a table",
                fields.what,
                field.node.words()
            ),
            format!("name it: `{how}`"),
        );
        return Vec::new();
    }
    field.node.entries()
}

fn boss(
    desk: &mut Desk,
    fields: &Fields,
    of: Option<&Of>,
    first: &First,
    entry: &Entry,
) -> Option<Boss> {
    if own_hub(desk, of, first, entry) {
        return None;
    }
    let point = point_of(desk, of, first, entry)?;
    let what = format!("the boss {} of {}", clip(entry.name), fields.what);
    let (diameter, length, solid) = if let Value::Table(_) = entry.node.value {
        let inner = Fields::new(desk, what, &BOSS, entry)?;
        let diameter = inner
            .need(desk, "diameter")
            .and_then(|f| f.positive_length(desk));
        let length = match inner.get("length") {
            Some(f) => Some(f.positive_length(desk)?),
            None => None,
        };
        let solid = inner.get("solid").map_or(Some(false), |f| f.truth(desk))?;
        (diameter?, length, solid)
    } else {
        let field = Field::lone(&BOSS, "diameter", entry.node)?;
        (field.positive_length(desk)?, None, false)
    };
    Some(Boss {
        point,
        diameter,
        length,
        solid,
    })
}

/// Whether the boss is the hub of an arm on its own shaft, whose size stands elsewhere: then that is said.
fn own_hub(desk: &mut Desk, of: Option<&Of>, first: &First, entry: &Entry) -> bool {
    let Some(&Of::Part(arm)) = of else {
        return false;
    };
    let shaft = first.ground.turns_with(arm);
    if shaft == arm {
        return false;
    }
    let centre = first.ground.part(shaft).and_then(|p| p.carries.first());
    let point = desk.find(Kind::Point, entry.name);
    let meant = point.is_some()
        && point.as_ref() == centre
        && !carried(of, first).contains(&point.unwrap_or_default())
        || point.is_none() && desk.find(Kind::Part, entry.name) == Some(shaft);
    if meant {
        let name = clip(&desk.name(Kind::Part, arm));
        desk.push(
            Diagnostic::error(
                "two-forms",
                format!("the hub of {name} on its shaft is no boss of the piece"),
            )
            .at(entry.place, "")
            .help(format!(
                "write its size where it is held: [part.{name}] with `held-by = {{ ..., hub = \"40 mm\", length = \"20 mm\" }}`"
            )),
        );
    }
    meant
}

fn point_of(desk: &mut Desk, of: Option<&Of>, first: &First, entry: &Entry) -> Option<PointId> {
    let point = desk.resolve(Kind::Point, entry.name, entry.place)?;
    if carried(of, first).contains(&point) || !first.ground.whole {
        return Some(point);
    }
    desk.push(
        Diagnostic::error(
            "not-carried",
            format!("this piece does not carry {}", clip(entry.name)),
        )
        .at(entry.place, "")
        .help("name a point that its part carries"),
    );
    None
}

fn hole(
    desk: &mut Desk,
    fields: &Fields,
    of: Option<&Of>,
    first: &First,
    entry: &Entry,
    (upright, bends): (bool, &[Bend]),
) -> Option<PlateHole> {
    if let Some(point) = desk.find(Kind::Point, entry.name)
        && carried(of, first).contains(&point)
    {
        desk.push(
            Diagnostic::error("two-forms", format!("the hole at the point {} belongs to {}", clip(entry.name), if matches!(of, Some(Of::Frame(_))) { "the frame" } else { "the part" }))
                .at(entry.place, "")
                .help(if matches!(of, Some(Of::Frame(_))) {
                    "write it there: `[frame]` with `hole.POINT = { ream = \"8 H7\" }`; a piece adds holes with names of their own"
                } else {
                    "write it there: `[part.NAME]` with `hole.POINT = { ream = \"8 H7\" }`; a piece adds holes with names of their own"
                }),
        );
        return None;
    }
    let what = format!("the hole {} of {}", clip(entry.name), fields.what);
    let inner = Fields::new(desk, what.clone(), &HOLE, entry)?;
    let on = match inner.get("on") {
        None => None,
        Some(f) => {
            let name = f.text(desk, "the name of a bend in quotes")?;
            let found = bends.iter().position(|b| b.name == name);
            if found.is_none() {
                // A flange that is written wrongly was told of.
                let written = table(desk, fields, "bend", "");
                if written.iter().any(|e| e.name == name) {
                    return None;
                }
                f.bad(
                    desk,
                    format!("{} has no bend {}", fields.what, clip(name)),
                    "name a flange of this piece: `bend.foot = { side = \"bottom\", length = \"30 mm\" }`",
                );
                return None;
            }
            found
        }
    };
    let at = match inner.one_of(desk, &["at", "circle"])? {
        f if f.key == "at" => f.lengths(desk).map(|p| vec![p]),
        f => circle(desk, &what, of, first, &f, upright),
    };
    let fitted = fitted(desk, &inner);
    let length = match inner.get("length") {
        Some(f) => Some(f.positive_length(desk)?),
        None => None,
    };
    let fitted = fitted?;
    super::sense::thread_fits(desk, &inner, &fitted, length)?;
    // On a flange the first of both counts outward from the bend.
    if on.is_some()
        && let (Some(places), Some(field)) = (&at, inner.get("at"))
        && places.iter().any(|p| p[0] <= 0.0)
    {
        field.bad(
            desk,
            "this place lies before the bend, not on the flange beyond it",
            "on a flange `at` counts outward from the outside of the bend: `at = [17, 20]`",
        );
        return None;
    }
    let (counterbore, countersink) = heads(desk, &inner, &fitted)?;
    Some(PlateHole {
        name: entry.name.to_owned(),
        on,
        at: at?,
        fitted,
        length,
        counterbore,
        countersink,
    })
}

/// All places of a circle of holes; without `about` it is about the datum.
fn circle(
    desk: &mut Desk,
    what: &str,
    of: Option<&Of>,
    first: &First,
    field: &Field,
    upright: bool,
) -> Option<Vec<[f64; 2]>> {
    let inner = Fields::new(
        desk,
        format!("the circle of {what}"),
        &CIRCLE,
        &inner_table(field),
    )?;
    let about = match inner.get("about") {
        None => Some([0.0, 0.0]),
        Some(f) if f.is_list() => f.lengths(desk),
        Some(f) => {
            own_point(desk, of, first, &f).and_then(|p| place_in_piece(of, first, p, upright))
        }
    };
    let diameter = inner
        .need(desk, "diameter")
        .and_then(|f| f.positive_length(desk));
    let count = inner
        .need(desk, "count")
        .and_then(|f| f.whole(desk, 2, 200));
    let from = inner
        .get("first")
        .map_or(Some(0.0), |f| direction(desk, &f));
    let (about, diameter, count, from) = (about?, diameter?, count?, from?);
    let r = diameter / 2.0;
    let at = |n: usize| {
        let angle = from + TAU * n as f64 / count as f64;
        [about[0] + r * angle.cos(), about[1] + r * angle.sin()]
    };
    Some((0..count).map(at).collect())
}

/// A carried point in the coordinates of its piece.
pub(super) fn place_in_piece(
    of: Option<&Of>,
    first: &First,
    point: PointId,
    upright: bool,
) -> Option<[f64; 2]> {
    let points = carried(of, first);
    let origin = first.ground.spot(*points.first()?)?.at;
    let turned = match (of, points.get(1)) {
        (Some(Of::Part(_)), Some(&second)) if !upright => {
            let to = first.ground.spot(second)?.at;
            (to[1] - origin[1]).atan2(to[0] - origin[0])
        }
        _ => 0.0,
    };
    let at = first.ground.spot(point)?.at;
    let (x, y) = (at[0] - origin[0], at[1] - origin[1]);
    let (s, c) = turned.sin_cos();
    Some([c * x + s * y, c * y - s * x])
}
