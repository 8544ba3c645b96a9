//! A piece: whose it is, what it is cut from, and which of the two shapes it has.

use super::purchase::MOST;
use super::{Of, Piece, Shape as Form, Step, Turned, plate, sense, turned};
use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Fields, Shape};
use crate::ground::Ground;
use crate::model::{FRAME, PointId};
use crate::work::{Material, Section, Stock, Work};
use crate::works::stock::stock;

/// All keys of a piece.
const PIECE: Shape = Shape {
    a: "a piece",
    keys: &[
        ("count", "count = 2"),
        ("station", "station = \"-32 mm\""),
        ("note", "note = \"case-hardened\""),
        (
            "stock",
            "stock = { flat = [\"10 mm\", \"60 mm\"], material = \"1018 cold drawn\" }",
        ),
        ("carries", "carries = [\"crank-centre\", \"lever-stud\"]"),
        (
            "outline",
            "outline = { from = [-20, -15], to = [120, 15], corner = \"5 mm\" }",
        ),
        ("boss", "boss.lever-pin = \"24 mm\""),
        ("upright", "upright = true"),
        ("arms", "arms = [[\"lever-pivot\", \"lever-pin\"]]"),
        ("fillet", "fillet = \"8 mm\""),
        ("hole", "hole.foot = { at = [10, -20], drill = \"6.6 mm\" }"),
        (
            "slot",
            "slot.travel = { from = [10, 0], to = [40, 0], width = \"8 H9\" }",
        ),
        (
            "cross",
            "cross.grub = { towards = \"lever-pivot\", from = \"90 deg\", tap = \"M6\" }",
        ),
        (
            "fork",
            "fork = { at = \"ram-pin\", gap = \"12.2 mm\", depth = \"20 mm\", open = \"up\" }",
        ),
        (
            "bend",
            "bend.foot = { side = \"bottom\", length = \"30 mm\" }",
        ),
        ("k-factor", "k-factor = 0.42"),
        (
            "steps",
            "steps = [{ diameter = \"20 h6\", length = \"30 mm\" }]",
        ),
        ("starts", "starts = \"-80 mm\""),
        (
            "bore",
            "bore = [{ from = \"left\", ream = \"8 H7\", length = \"20 mm\" }]",
        ),
        (
            "groove",
            "groove = [{ at = \"12 mm\", width = \"1.3 mm\", diameter = \"11.5 mm\" }]",
        ),
        (
            "flats",
            "flats = [{ at = \"0 mm\", length = \"15 mm\", across = \"17 mm\", sides = 2 }]",
        ),
    ],
};

const PLATE_KEYS: [&str; 10] = [
    "outline", "boss", "arms", "upright", "fillet", "hole", "slot", "fork", "bend", "k-factor",
];
const TURNED_KEYS: [&str; 4] = ["starts", "bore", "groove", "flats"];

/// What is known before pieces are read.
pub(crate) struct First<'a> {
    pub(crate) ground: &'a Ground,
    pub(crate) work: &'a Work,
}

/// Reads all pieces; `materials` grows by grades that pieces name.
pub(crate) fn pieces(
    desk: &mut Desk,
    named: &[Named],
    first: &First,
    materials: &mut Vec<Option<Material>>,
) -> Vec<Piece> {
    let read = |n: &Named| piece(desk, n, first, materials);
    named.iter().filter_map(read).collect()
}

fn piece(
    desk: &mut Desk,
    named: &Named,
    first: &First,
    materials: &mut Vec<Option<Material>>,
) -> Option<Piece> {
    let before = desk.errors();
    let what = named.what();
    let fields = Fields::new(desk, what.clone(), &PIECE, &named.entry)?;
    let name = named.entry.name;
    let count = fields
        .get("count")
        .map_or(Some(1), |f| f.whole(desk, 1, MOST));
    let stations = stations(desk, &fields, count);
    let note = fields
        .get("note")
        .map_or(Some(""), |f| f.text(desk, "a line in quotes"));
    let own = fields
        .get("stock")
        .map(|f| stock(desk, &what, &f, materials));
    let of = whose(desk, &fields, name, first);
    let said = own.is_some();
    let found = match own {
        Some(own) => own,
        None => of_part(first, of.as_ref()),
    };
    if found.is_none() && !said && of.is_some() {
        // A piece of no part has to say its stock: one that does not is most often a part's, misspelt.
        let meant = match of {
            Some(Of::Loose) => desk.nearest_of(&[Kind::Part, Kind::Rod], name),
            _ => None,
        };
        let misspelt = meant.is_some();
        let label = meant.map_or_else(String::new, |m| format!("did you mean `piece.{m}`?"));
        desk.push(
            Diagnostic::error("missing-key", format!("{what} does not say its stock"))
                .at(fields.header, label)
                .help("write `stock = { flat = [\"10 mm\", \"60 mm\"], material = \"1018 cold drawn\" }`, or `round` for a bar"),
        );
        // What else it lacks comes from the name as well.
        if misspelt {
            return None;
        }
    }
    let shape = match fields.get("steps") {
        Some(_) => {
            fields.only_with(desk, &PLATE_KEYS, "a plate, which has no `steps`");
            turned::turned(desk, &fields, of.as_ref(), first).map(Form::Turned)
        }
        None => {
            fields.only_with(desk, &TURNED_KEYS, "`steps`");
            plate::plate(desk, &fields, of.as_ref(), first).map(Form::Plate)
        }
    };
    let (of, mut shape) = (of?, shape?);
    let section = found.as_ref().map(|s| s.section);
    if let Form::Plate(p) = &mut shape {
        if let Some(Section::Flat([thickness, _])) = section {
            sense::against_thickness(desk, &fields, p, thickness);
            sense::slots(desk, &fields, p, thickness);
        }
        sense::lengths(desk, &of, p, first.work);
    }
    let fault = match (&shape, section) {
        (Form::Plate(_), Some(Section::Round(_) | Section::Tube(_) | Section::Hexagon(_))) => {
            Some((
                "has the outline of a plate, but its stock is no flat".to_owned(),
                "write `stock = { flat = [thickness, width] }`, or `steps` for a turned piece",
            ))
        }
        (Form::Turned(t), Some(section)) => out_of_bar(desk, t, section),
        _ => None,
    };
    if let Some((words, help)) = fault {
        let place = fields.get("steps").map_or(fields.header, |f| f.place());
        desk.push(
            Diagnostic::error("wrong-value", format!("{what} {words}"))
                .at(place, "")
                .help(help),
        );
    }
    if desk.errors() > before {
        return None;
    }
    Some(Piece {
        name: name.to_owned(),
        of,
        count: count?,
        stations: stations?,
        note: note?.to_owned(),
        stock: found.filter(|_| said),
        shape,
        place: named.entry.place,
    })
}

/// Where plates of the frame stand in depth: one station, or one for each of them.
fn stations(desk: &mut Desk, fields: &Fields, count: Option<usize>) -> Option<Vec<f64>> {
    let Some(field) = fields.get("station") else {
        return Some(Vec::new());
    };
    let all = if field.is_list() {
        let items = field.list(desk, "stations")?;
        items
            .iter()
            .map(|f| f.length(desk))
            .collect::<Option<Vec<f64>>>()?
    } else {
        vec![field.length(desk)?]
    };
    if fields.get("carries").is_none() {
        field.bad(
            desk,
            "only a plate of the frame says its `station` here",
            "write it below the heading of the part that this is a piece of",
        );
        return None;
    }
    if let Some(count) = count.filter(|c| all.len() > 1 && *c != all.len()) {
        field.bad(
            desk,
            format!(
                "{} stations are written for {count} of this piece",
                all.len()
            ),
            "write one station for each: `count` says how many there are",
        );
        return None;
    }
    Some(all)
}

/// Steps that do not come out of their bar.
fn out_of_bar(desk: &Desk, t: &Turned, section: Section) -> Option<(String, &'static str)> {
    let out = |s: &Step| s.diameter.0 / 2.0 + s.offset.map_or(0.0, |o| o.throw);
    match (section, section.flats()) {
        (Section::Round(bar), _) => {
            let step = t.steps.iter().find(|s| out(s) > bar / 2.0 + 1e-6)?;
            if step.sides > 0 {
                return Some((
                    format!(
                        "does not come out of its bar: {} across flats measures {} across corners",
                        desk.show(step.across),
                        desk.show(step.diameter.0)
                    ),
                    "take a larger `round`, or a bar of that section; where corners may be cut off, write `flats` on a round step",
                ));
            }
            Some((
                format!(
                    "does not come out of its bar: a step reaches {} across, the bar is {}",
                    desk.show(2.0 * out(step)),
                    desk.show(bar)
                ),
                "take a larger `round`, or smaller steps; an eccentric needs twice its throw more",
            ))
        }
        (_, Some((sides, across))) => {
            let fits = |s: &Step| {
                if s.sides == sides {
                    s.across <= across + 1e-6
                } else {
                    out(s) <= across / 2.0 + 1e-6
                }
            };
            let step = t.steps.iter().find(|s| !fits(s))?;
            Some((
                format!(
                    "does not come out of its bar, which is {} across flats: a step of {} leaves flats on it",
                    desk.show(across),
                    desk.show(2.0 * out(step))
                ),
                "take a larger bar, or smaller steps; a round one goes between the flats",
            ))
        }
        (Section::Flat([thick, _]), _) => {
            let step = t.steps.iter().find(|s| 2.0 * out(s) > thick + 1e-6)?;
            Some((
                format!(
                    "does not come out of its bar: a round of {} is more than flat {} is thick",
                    desk.show(2.0 * out(step)),
                    desk.show(thick)
                ),
                "give it round stock; a flat part with holes is a plate, which has an `outline`",
            ))
        }
        _ => None,
    }
}

fn of_part(first: &First, of: Option<&Of>) -> Option<Stock> {
    match of? {
        Of::Part(part) => first.work.parts.get(*part)?.stock.clone(),
        Of::Rod(rod) => first.work.rods.get(*rod)?.stock.clone(),
        Of::Frame(_) => first.work.frame.clone(),
        Of::Loose => None,
    }
}

fn whose(desk: &mut Desk, fields: &Fields, name: &str, first: &First) -> Option<Of> {
    let carries = fields.get("carries");
    let known = desk
        .find(Kind::Part, name)
        .filter(|&p| p != FRAME)
        .map(Of::Part)
        .or_else(|| desk.find(Kind::Rod, name).map(Of::Rod));
    match (known, carries) {
        (Some(known), None) => Some(known),
        (Some(_), Some(field)) => {
            field.bad(
                desk,
                format!("what {} carries stands with the part itself", fields.what),
                "take `carries` out here, or give the piece another name when it is a plate of the frame",
            );
            None
        }
        (None, None) => Some(Of::Loose),
        (None, Some(field)) => {
            let items = field.list(desk, "a list of points of the frame")?;
            let mut points: Vec<PointId> = Vec::new();
            for item in items {
                let point = item.name(desk, Kind::Point)?;
                let shown = desk.name(Kind::Point, point);
                if first.ground.whole && !first.ground.carries(FRAME, point) {
                    item.bad(
                        desk,
                        format!("the frame does not carry {shown}"),
                        "a piece with a name of its own is a plate of the frame: name points that the frame carries",
                    );
                    // It is said: what names the point further down is no second mistake.
                    points.push(point);
                    continue;
                }
                let plane = |p: PointId| first.ground.spot(p).map(|s| s.plane);
                if let Some(&one) = points.first()
                    && plane(one) != plane(point)
                {
                    item.bad(
                        desk,
                        format!(
                            "{shown} lies in another plane than {}",
                            desk.name(Kind::Point, one)
                        ),
                        "a plate lies in one plane; make two pieces",
                    );
                    points.push(point);
                    continue;
                }
                if points.contains(&point) {
                    item.bad(
                        desk,
                        format!("{shown} is named twice"),
                        "take one of them out",
                    );
                    continue;
                }
                points.push(point);
            }
            if points.is_empty() {
                field.bad(
                    desk,
                    "`carries` names no point",
                    "name the points of the frame that this plate carries, its datum first",
                );
                return None;
            }
            Some(Of::Frame(points))
        }
    }
}

/// The points a piece carries.
pub(super) fn carried<'a>(of: Option<&'a Of>, first: &'a First) -> &'a [PointId] {
    match of {
        Some(Of::Part(part)) => first
            .ground
            .part(*part)
            .map_or(&[], |p| p.carries.as_slice()),
        Some(Of::Frame(points)) => points,
        _ => &[],
    }
}

/// A point that the piece carries.
pub(super) fn own_point(
    desk: &mut Desk,
    of: Option<&Of>,
    first: &First,
    field: &crate::fields::Field,
) -> Option<PointId> {
    let point = field.name(desk, Kind::Point)?;
    if carried(of, first).contains(&point) || !first.ground.whole {
        return Some(point);
    }
    let shown = desk.name(Kind::Point, point);
    field.bad(
        desk,
        format!("this piece does not carry {shown}"),
        "name a point that its part carries",
    );
    None
}
