//! The frame, parts, shafts and arms clamped on shafts.

use crate::construct::Spot;
use crate::declared::{Declared, Named};
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Fields, Shape};
use crate::ground::{CLOSE, Ground};
use crate::model::{FRAME, Part, PartId, PartKind, Place, PointId};
use crate::rows::RowDraft;
use crate::words::list;

const FRAME_SHAPE: Shape = Shape {
    a: "the frame",
    keys: &[
        ("carries", "carries = [\"lever-pivot\", \"knee-pivot\"]"),
        ("hole", "hole.lever-pivot = { ream = \"12 H7\" }"),
        ("stock", "stock = { flat = [\"10 mm\", \"60 mm\"] }"),
    ],
};

const PART: Shape = Shape {
    a: "a part",
    keys: &[
        ("carries", "carries = [\"lever-pivot\", \"lever-pin\"]"),
        ("clamped-to", "clamped-to = \"cross\""),
        (
            "stock",
            "stock = { flat = [\"6 mm\", \"30 mm\"], material = \"steel\" }",
        ),
        ("mass", "mass = \"2.5 kg\""),
        ("inertia", "inertia = \"0.02 kg m2\""),
        ("mass-at", "mass-at = \"lever-grip\""),
        ("station", "station = \"12 mm\""),
        ("hole", "hole.lever-pin = { ream = \"8 H7\" }"),
        ("held-by", "held-by = { set-screw = \"M6\", count = 2 }"),
    ],
};

const SHAFT: Shape = Shape {
    a: "a shaft",
    keys: &[
        ("centre", "centre = \"shaft-centre\""),
        ("carries", "carries = [\"journal-front\", \"journal-rear\"]"),
        (
            "stock",
            "stock = { round = \"20 mm\", material = \"steel\" }",
        ),
        ("mass", "mass = \"2.5 kg\""),
        ("inertia", "inertia = \"0.02 kg m2\""),
        ("mass-at", "mass-at = \"lever-grip\""),
        ("bearings", "bearings = [\"-70 mm\", \"70 mm\"]"),
        ("hole", "hole.journal-front = { ream = \"8 H7\" }"),
    ],
};

/// Reads the frame and all parts. The second result says that nothing went wrong on the way.
pub(crate) fn read(
    desk: &mut Desk,
    declared: &Declared,
    rows: &[Option<RowDraft>],
) -> (Vec<Part>, bool) {
    let before = desk.errors();
    let mut parts = vec![frame(desk, declared)];
    for named in &declared.parts {
        let part = if named.section == "shaft" {
            shaft(desk, named)
        } else {
            part(desk, named)
        };
        parts.push(part);
    }
    clamps(desk, &mut parts, declared);
    // The hole in use of a row is carried by its part, behind what the part names itself.
    let first = declared.points.len();
    for (n, row) in rows.iter().enumerate() {
        if let Some(part) = row.as_ref().and_then(|row| parts.get_mut(row.on))
            && !part.carries.contains(&(first + n))
        {
            part.carries.push(first + n);
        }
    }
    (parts, desk.errors() == before)
}

fn empty(name: &str, kind: PartKind, place: Place) -> Part {
    Part {
        name: name.to_owned(),
        kind,
        plane: 0,
        carries: Vec::new(),
        clamped_to: None,
        place,
    }
}

fn frame(desk: &mut Desk, declared: &Declared) -> Part {
    let Some(entry) = &declared.frame else {
        if !desk.partial() {
            desk.push(
                Diagnostic::error("no-frame", "the machine has no frame")
                    .at(Place::default(), "")
                    .help("write `[frame]` and below it the points that stand still: `carries = [\"lever-pivot\"]`"),
            );
        }
        return empty("frame", PartKind::Frame, Place::default());
    };
    let mut part = empty("frame", PartKind::Frame, entry.place);
    if let Some(fields) = Fields::new(desk, "the frame".to_owned(), &FRAME_SHAPE, entry)
        && let Some(field) = fields.need(desk, "carries")
    {
        part.carries = carried(desk, &field, None).unwrap_or_default();
    }
    part
}

fn part(desk: &mut Desk, named: &Named) -> Part {
    let mut part = empty(named.entry.name, PartKind::Part, named.entry.place);
    let Some(fields) = Fields::new(desk, named.what(), &PART, &named.entry) else {
        return part;
    };
    if let Some(field) = fields.need(desk, "carries") {
        let before = desk.errors();
        part.carries = carried(desk, &field, None).unwrap_or_default();
        if part.carries.is_empty() && desk.errors() == before && !desk.partial() {
            desk.push(
                Diagnostic::error(
                    "too-few-points",
                    format!("{} carries nothing", named.what()),
                )
                .at(field.place(), "")
                .help("name the points it carries, its datum hole first"),
            );
        }
    }
    if let Some(field) = fields.get("clamped-to") {
        part.clamped_to = field.name(desk, Kind::Part);
    }
    part
}

fn shaft(desk: &mut Desk, named: &Named) -> Part {
    let mut part = empty(named.entry.name, PartKind::Shaft, named.entry.place);
    let Some(fields) = Fields::new(desk, named.what(), &SHAFT, &named.entry) else {
        return part;
    };
    let centre = fields
        .need(desk, "centre")
        .and_then(|f| f.name(desk, Kind::Point));
    part.carries.extend(centre);
    if let Some(field) = fields.get("carries") {
        part.carries
            .extend(carried(desk, &field, centre).unwrap_or_default());
    }
    part
}

/// The points of a `carries`; each may stand there once. `None` when it is no list.
fn carried(desk: &mut Desk, field: &Field, centre: Option<PointId>) -> Option<Vec<PointId>> {
    let mut points: Vec<PointId> = Vec::new();
    let mut places = std::collections::HashMap::new();
    let items = field.list(desk, "a list of points")?;
    for item in items {
        let Some(point) = item.name(desk, Kind::Point) else {
            continue;
        };
        let name = desk.name(Kind::Point, point);
        if centre == Some(point) {
            desk.push(
                Diagnostic::error(
                    "same-twice",
                    format!("{name} is the centre and is carried anyway"),
                )
                .at(item.place(), "")
                .help(format!("take \"{name}\" out of `carries`")),
            );
        } else if let Some(&first) = places.get(&point) {
            desk.push(
                Diagnostic::error("same-twice", format!("{name} is named twice"))
                    .at(item.place(), "again here")
                    .at(first, "first here")
                    .help("take one of them out"),
            );
        } else {
            places.insert(point, item.place());
            points.push(point);
        }
    }
    Some(points)
}

/// Checks that every clamped arm ends on a shaft.
fn clamps(desk: &mut Desk, parts: &mut [Part], declared: &Declared) {
    let field_place = |part: PartId| {
        let named = part.checked_sub(1).and_then(|n| declared.parts.get(n));
        named
            .and_then(|n| {
                n.entry
                    .node
                    .entries()
                    .into_iter()
                    .find(|e| e.name == "clamped-to")
            })
            .map_or_else(Place::default, |e| e.node.place)
    };
    let mut loosen: Vec<PartId> = Vec::new();
    // The walk a part was met on; 0 is none.
    let mut met = vec![0; parts.len()];
    for start in 1..parts.len() {
        let next = |p: PartId| parts.get(p).and_then(|p| p.clamped_to);
        let mut walk = Vec::new();
        let mut here = start;
        while let Some(mark @ 0) = met.get_mut(here) {
            *mark = start;
            walk.push(here);
            here = next(here).unwrap_or(here);
        }
        let from = walk.iter().position(|&p| p == here);
        if let (Some(from), Some(_)) = (from, next(here)) {
            let circle = walk.split_off(from);
            let links: Vec<String> = circle
                .iter()
                .zip(circle.iter().cycle().skip(1))
                .map(|(&a, &b)| {
                    format!(
                        "{} to {}",
                        desk.name(Kind::Part, a),
                        desk.name(Kind::Part, b)
                    )
                })
                .collect();
            let message = if circle.len() == 1 {
                format!("{} is clamped to itself", desk.name(Kind::Part, here))
            } else {
                format!("arms are clamped in a circle: {}", list(&links, "and"))
            };
            let mut problem = Diagnostic::error("clamp", message);
            for &part in circle.iter().take(6) {
                problem = problem.at(field_place(part), "");
            }
            desk.push(problem.help("one of them has to be clamped to a shaft"));
            loosen.extend(circle);
        }
        // Only the arm that is clamped to the wrong part is worth a word, not those clamped to it.
        let Some(to) = next(start) else { continue };
        if parts
            .get(to)
            .is_some_and(|t| t.clamped_to.is_none() && t.kind != PartKind::Shaft)
        {
            let name = desk.name(Kind::Part, to);
            let help = if to == FRAME {
                "what stands still is carried by the frame: add the points to `[frame]`".to_owned()
            } else {
                format!("make it a shaft: `[shaft.{name}]` with its `centre`")
            };
            let message = format!("{name} is no shaft, so no arm is clamped to it");
            desk.push(
                Diagnostic::error("clamp", message)
                    .at(field_place(start), "")
                    .help(help),
            );
            loosen.push(start);
        }
    }
    for part in loosen {
        if let Some(part) = parts.get_mut(part) {
            part.clamped_to = None;
        }
    }
}

/// Gives each part its plane and checks that its points lie in it and apart.
pub(crate) fn settle(desk: &mut Desk, parts: &mut [Part], spots: &[Option<Spot>]) -> bool {
    let before = desk.errors();
    let spot = |p: PointId| spots.get(p).copied().flatten();
    for part in parts.iter_mut().skip(1) {
        let Some((first, plane)) = part.carries.iter().find_map(|&p| Some((p, spot(p)?.plane)))
        else {
            continue;
        };
        part.plane = plane;
        for &point in &part.carries {
            let Some(other) = spot(point).filter(|s| s.plane != plane) else {
                continue;
            };
            let (a, b) = (desk.name(Kind::Point, first), desk.name(Kind::Point, point));
            let (here, there) = (
                desk.name(Kind::Plane, plane),
                desk.name(Kind::Plane, other.plane),
            );
            let what = crate::words::clip(&part.name);
            desk.push(
                Diagnostic::error("two-planes", format!("{what} carries points of two planes: {a} in {here}, {b} in {there}"))
                    .at(part.place, "")
                    .at(desk.place(Kind::Point, point), format!("plane {there}"))
                    .help("a part moves in one plane; give its points that plane, or join two parts by a rod"),
            );
            break;
        }
    }
    for index in 1..parts.len() {
        let Some(part) = parts.get(index) else {
            continue;
        };
        let Some(shaft) = part.clamped_to.and_then(|s| parts.get(s)) else {
            continue;
        };
        if !part.carries.is_empty() && !shaft.carries.is_empty() && part.plane != shaft.plane {
            let (a, b) = (
                crate::words::clip(&part.name),
                crate::words::clip(&shaft.name),
            );
            let (here, there) = (
                desk.name(Kind::Plane, part.plane),
                desk.name(Kind::Plane, shaft.plane),
            );
            desk.push(
                Diagnostic::error(
                    "two-planes",
                    format!(
                        "{a} lies in plane {here}, {b}, to which it is clamped, in plane {there}"
                    ),
                )
                .at(part.place, "")
                .help(
                    "an arm lies in the plane of its shaft; `station` says where along the shaft",
                ),
            );
        }
    }
    desk.errors() == before
}

/// Checks on parts that need to know where everything is.
pub(crate) fn check(desk: &mut Desk, ground: &Ground, row_points_from: PointId) {
    for (id, part) in ground.parts.iter().enumerate().skip(1) {
        same_place(desk, ground, part, row_points_from);
        if part.kind == PartKind::Shaft
            && ground.whole
            && let Some(&centre) = part.carries.first()
            && !ground.carries(FRAME, centre)
        {
            let name = desk.name(Kind::Point, centre);
            desk.push(
                Diagnostic::error(
                    "not-carried",
                    format!(
                        "{} turns about {name}, which the frame does not carry",
                        ground.what(id)
                    ),
                )
                .at(part.place, "")
                .help(format!("add \"{name}\" to the `carries` of `[frame]`")),
            );
        }
    }
}

/// Reports points of a part that lie on each other.
fn same_place(desk: &mut Desk, ground: &Ground, part: &Part, row_points_from: PointId) {
    let near = CLOSE * ground.size;
    let mut spots: Vec<(PointId, Spot)> = part
        .carries
        .iter()
        .filter(|&&p| p < row_points_from)
        .filter_map(|&p| Some((p, ground.spot(p)?)))
        .collect();
    // Sorted to the right, only neighbours within reach have to be compared.
    spots.sort_by(|a, b| a.1.at[0].total_cmp(&b.1.at[0]).then(a.0.cmp(&b.0)));
    for (n, (p, a)) in spots.iter().enumerate() {
        let next = spots
            .iter()
            .skip(n + 1)
            .take_while(|(_, b)| b.at[0] - a.at[0] <= near);
        for (q, b) in next.take(50) {
            if (a.at[1] - b.at[1]).abs() <= near
                && (a.station - b.station).abs() <= near
                && a.plane == b.plane
            {
                let (first, second) = (p.min(q), p.max(q));
                let (one, other) = (
                    desk.name(Kind::Point, *first),
                    desk.name(Kind::Point, *second),
                );
                desk.push(
                    Diagnostic::error(
                        "same-place",
                        format!(
                            "{} carries {one} and {other} at the same place",
                            crate::words::clip(&part.name)
                        ),
                    )
                    .at(desk.place(Kind::Point, *second), "")
                    .at(desk.place(Kind::Point, *first), "")
                    .help(
                        "one hole has one name; use the first name everywhere, or move one of them",
                    ),
                );
            }
        }
    }
}
