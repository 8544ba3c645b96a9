//! Joints, what is usual, tolerances, and named give of the frame.

use super::sizes::sized_or_plain;
use super::{First, low_high_length, low_high_number, positive, stock};
use crate::declared::{Declared, Named};
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Entry, Field, Fields, Shape};
use crate::model::{FRAME, PartId, PartKind, Place, PointId};
use crate::words::clip;
use crate::work::{Joint, JointAt, Material, Stiffness, Tolerance, ToleranceOf, Usual};
use elements::fits_iso::Side;
use quantity::Kind as Measure;

const JOINT: Shape = Shape {
    a: "a joint",
    keys: &[
        ("diameter", "diameter = \"8 h6\""),
        ("clearance", "clearance = \"0.02 mm\""),
        ("friction", "friction = [0.10, 0.18]"),
        ("stiffness", "stiffness = \"60 kN/mm\""),
        ("length", "length = \"80 mm\""),
        ("material", "material = \"1045 cold drawn\""),
        ("fork", "fork = \"lever\""),
        ("stations", "stations = [\"-50 mm\", \"50 mm\"]"),
    ],
};

const USUAL: Shape = Shape {
    a: "the usual",
    keys: &[
        ("diameter", "diameter = \"8 mm\""),
        ("clearance", "clearance = \"0.02 mm\""),
        ("friction", "friction = [0.10, 0.18]"),
        ("hole-places", "hole-places = \"0.05 mm\""),
        ("rod-lengths", "rod-lengths = \"0.1 mm\""),
        ("clock-angles", "clock-angles = \"0.25 deg\""),
        ("directions", "directions = \"0.1 deg\""),
        ("can-hold", "can-hold = \"0.01 mm\""),
        ("factor", "factor = 2"),
        ("life-hours", "life-hours = 1000"),
    ],
};

const TOLERANCE: Shape = Shape {
    a: "a tolerance",
    keys: &[
        ("of", "of = \"crank\""),
        ("hole", "hole = \"crank-pin\""),
        ("plus-minus", "plus-minus = \"0.02 mm\""),
    ],
};

const STIFFNESS: Shape = Shape {
    a: "a stiffness",
    keys: &[
        ("at", "at = \"shaft-axis\""),
        ("value", "value = \"80 kN/mm\""),
    ],
};

/// Greatest coefficient of friction that a file may give.
const MOST_FRICTION: f64 = 2.0;

pub(super) fn joints(
    desk: &mut Desk,
    declared: &Declared,
    first: &First,
    materials: &mut Vec<Option<Material>>,
) -> Vec<Joint> {
    let all = declared.joints.iter();
    all.filter_map(|n| joint(desk, n, declared, first, materials))
        .collect()
}

/// The point, slide, slot, gear, belt or rack that a joint is named after.
fn place_of(desk: &mut Desk, named: &Named, declared: &Declared) -> Option<JointAt> {
    let name = named.entry.name;
    if let Some(p) = desk.find(Kind::Point, name) {
        desk.resolve(Kind::Point, name, named.entry.place);
        return Some(JointAt::Point(p));
    }
    if let Some(i) = desk.find(Kind::Slide, name) {
        return Some(JointAt::Slide(i));
    }
    if let Some(i) = desk.find(Kind::Slot, name) {
        return Some(JointAt::Slot(i));
    }
    if let Some(i) = desk.find(Kind::Gear, name) {
        return Some(JointAt::Ratio(i));
    }
    if let Some(i) = desk.find(Kind::Belt, name) {
        // Gears come before belts in the machine.
        return Some(JointAt::Ratio(declared.gears.len() + i));
    }
    if let Some(i) = desk.find(Kind::Rack, name) {
        return Some(JointAt::Rack(i));
    }
    if let Some(i) = desk.find(Kind::Cam, name) {
        return Some(JointAt::Cam(i));
    }
    let lists = [
        &declared.points,
        &declared.slides,
        &declared.slots,
        &declared.gears,
        &declared.belts,
        &declared.racks,
        &declared.cams,
    ];
    let known: Vec<&str> = lists
        .iter()
        .flat_map(|l| l.iter().map(|n| n.entry.name))
        .collect();
    let label = desk.suggest(name, &known).map_or_else(
        || "not known".to_owned(),
        |m| format!("did you mean `{m}`?"),
    );
    desk.push(
        Diagnostic::error("unknown-name", format!("nothing is called `{name}` where parts meet"))
            .at(named.entry.place, label)
            .help("a joint is named after the point where parts meet, or after a slide, slot, gear, belt, rack or cam"),
    );
    None
}

fn joint(
    desk: &mut Desk,
    named: &Named,
    declared: &Declared,
    first: &First,
    materials: &mut Vec<Option<Material>>,
) -> Option<Joint> {
    let fields = Fields::new(desk, named.what(), &JOINT, &named.entry)?;
    let at = place_of(desk, named, declared);
    if let Some(JointAt::Point(point)) = at {
        meets(desk, named, point, first)?;
    }
    if let Some(JointAt::Slide(_)) = at {
        fields.only_with(desk, &["diameter"], "a pin or a slot");
    }
    let length = fields.get("length");
    if let (Some(JointAt::Slide(_)), _) | (_, None) = (at, length) {
    } else if at.is_some() {
        fields.only_with(desk, &["length"], "a slide");
    }
    if !matches!(at, Some(JointAt::Point(_)) | None) {
        fields.only_with(desk, &["fork"], "a joint at a point");
    }
    if !matches!(at, Some(JointAt::Point(_) | JointAt::Cam(_)) | None) {
        fields.only_with(desk, &["material"], "a joint at a point, or a cam's roller");
    }
    let (diameter, pin) = fields
        .get("diameter")
        .and_then(|f| sized_or_plain(desk, &f, Side::Shaft))
        .unzip();
    let material = fields
        .get("material")
        .and_then(|f| stock::named(desk, &f, materials));
    let fork = fields.get("fork").and_then(|f| fork(desk, &f, at, first));
    let stations = fields
        .get("stations")
        .and_then(|f| stations(desk, &f, at, first));
    let clearance = fields
        .get("clearance")
        .and_then(|f| Some((f, low_high_length(desk, &f)?)));
    if let (Some(pin), Some((field, play))) = (diameter, &clearance)
        && play.high >= pin
    {
        field.bad(
            desk,
            "the clearance is as great as the pin",
            "it is the diametral play of the pin in its hole: hundredths of a millimetre",
        );
    }
    Some(Joint {
        at: at?,
        diameter,
        clearance: clearance.map(|c| c.1),
        friction: fields
            .get("friction")
            .and_then(|f| low_high_number(desk, &f, MOST_FRICTION)),
        stiffness: fields
            .get("stiffness")
            .and_then(|f| positive(desk, &f, Measure::Stiffness, false)),
        length: length.and_then(|f| f.positive_length(desk)),
        pin: pin.flatten(),
        material,
        fork,
        stations: stations.unwrap_or_default(),
        place: named.entry.place,
    })
}

/// Stations along a shaft at which one joint presses: a point of a shaft, or a slot that takes one.
fn stations(
    desk: &mut Desk,
    field: &Field,
    at: Option<JointAt>,
    first: &First,
) -> Option<Vec<f64>> {
    let items = field.list(desk, "a list of lengths")?;
    let found: Option<Vec<f64>> = items.iter().map(|f| f.length(desk)).collect();
    let found = found?;
    let mut sorted = found.clone();
    sorted.sort_by(f64::total_cmp);
    if found.len() < 2 || sorted.windows(2).any(|w| w[0] == w[1]) {
        field.bad(
            desk,
            "a joint is shared by two places or more that stand apart",
            "give the station of each; one place alone is the `station` of its point",
        );
        return None;
    }
    let point = match at? {
        JointAt::Point(point) => Some(point),
        JointAt::Slot(slot) => first.slots.get(slot)?.as_ref().map(|s| s.pin),
        _ => None,
    };
    let on_shaft = |point: PointId| {
        let mut shafts = first.ground.parts.iter().enumerate();
        shafts.any(|(part, p)| p.kind == PartKind::Shaft && first.ground.carries(part, point))
    };
    if first.ground.whole && !point.is_some_and(on_shaft) {
        field.bad(
            desk,
            "no shaft takes that joint",
            "`stations` are places along a shaft: it goes with a point that a shaft carries, or with a slot whose pin that is",
        );
        return None;
    }
    Some(found)
}

/// The part with the two ears; it has to carry the point.
fn fork(desk: &mut Desk, field: &Field, at: Option<JointAt>, first: &First) -> Option<PartId> {
    let part = field.name(desk, Kind::Part)?;
    if let Some(JointAt::Point(point)) = at
        && first.ground.whole
        && !first.ground.carries(part, point)
    {
        let (what, point) = (first.ground.what(part), desk.name(Kind::Point, point));
        field.bad(
            desk,
            format!("{what} does not carry {point}"),
            "the fork is the part whose two ears take the pin there",
        );
        return None;
    }
    Some(part)
}

/// Something has to be pinned at the point that a joint is named after.
fn meets(desk: &mut Desk, named: &Named, point: PointId, first: &First) -> Option<()> {
    let ground = first.ground;
    let carriers = ground.carriers(point);
    let slotted = first.slots.iter().flatten().any(|s| s.pin == point);
    let joined = first
        .rods
        .iter()
        .flatten()
        .any(|r| r.joins.contains(&point));
    if carriers.len() > 1 || joined || slotted || !first.certain || !ground.whole {
        return Some(());
    }
    // The centre of a shaft is a joint of the frame; a shaft need not carry it.
    if ground
        .parts
        .iter()
        .any(|p| p.carries.first() == Some(&point))
        && !carriers.is_empty()
    {
        return Some(());
    }
    let name = desk.name(Kind::Point, point);
    desk.push(
        Diagnostic::error("wrong-value", format!("nothing is pinned at {name}"))
            .at(named.entry.place, "")
            .help("a joint is named after a point where two parts meet, or after a slide, slot, gear, belt or rack"),
    );
    None
}

pub(super) fn usual(desk: &mut Desk, entry: Option<&Entry>) -> Usual {
    let Some(entry) = entry else {
        return Usual::default();
    };
    let Some(fields) = Fields::new(desk, "the usual".to_owned(), &USUAL, entry) else {
        return Usual::default();
    };
    let mut plus_minus = |key: &str, measure: Measure| {
        fields
            .get(key)
            .and_then(|f| positive(desk, &f, measure, true))
    };
    let hole_places = plus_minus("hole-places", Measure::Length);
    let rod_lengths = plus_minus("rod-lengths", Measure::Length);
    let clock_angles = plus_minus("clock-angles", Measure::Angle);
    let directions = plus_minus("directions", Measure::Angle);
    let can_hold = fields
        .get("can-hold")
        .and_then(|f| positive(desk, &f, Measure::Length, false));
    let mut above = |key: &str, least: f64, help: &str| {
        let field = fields.get(key)?;
        let x = field.number(desk)?;
        if x >= least && x <= 1e6 {
            return Some(x);
        }
        field.bad(
            desk,
            format!("`{key}` is {x}; it has to be {least} or more"),
            help,
        );
        None
    };
    let factor = above("factor", 1.0, "2 is usual where loads are known");
    let life_hours = above(
        "life-hours",
        1.0,
        "write hours of running, as in `life-hours = 1000`",
    );
    Usual {
        diameter: fields.get("diameter").and_then(|f| f.positive_length(desk)),
        clearance: fields
            .get("clearance")
            .and_then(|f| low_high_length(desk, &f)),
        friction: fields
            .get("friction")
            .and_then(|f| low_high_number(desk, &f, MOST_FRICTION)),
        hole_places,
        rod_lengths,
        clock_angles,
        directions,
        can_hold,
        factor,
        life_hours,
    }
}

pub(super) fn tolerances(
    desk: &mut Desk,
    named: &[Named],
    first: &First,
    declared: &Declared,
) -> Vec<Tolerance> {
    let mut all: Vec<Tolerance> = Vec::new();
    for n in named {
        let Some(tolerance) = tolerance(desk, n, first, declared) else {
            continue;
        };
        match all.iter().find(|t| t.of == tolerance.of) {
            Some(other) => twice(
                desk,
                (&tolerance.name, tolerance.place),
                (&other.name, other.place),
                "tolerance",
            ),
            None => all.push(tolerance),
        }
    }
    all
}

/// Reports two entries on one thing.
fn twice(desk: &mut Desk, this: (&str, Place), other: (&str, Place), what: &str) {
    desk.push(
        Diagnostic::error(
            "same-twice",
            format!(
                "{what} {} is on the same thing as {what} {}",
                clip(this.0),
                clip(other.0)
            ),
        )
        .at(this.1, "the same again")
        .at(other.1, "")
        .help("take one of the two out"),
    );
}

/// Holes of a part that a tolerance may be given to: all but its datum.
fn own_holes(desk: &Desk, first: &First, part: PartId) -> Vec<String> {
    let Some(own) = first.ground.part(part) else {
        return Vec::new();
    };
    let datum = part != FRAME && own.kind == PartKind::Part && own.clamped_to.is_none();
    let holes = own.carries.iter().skip(usize::from(datum));
    holes.map(|h| desk.name(Kind::Point, *h)).collect()
}

fn tolerance(
    desk: &mut Desk,
    named: &Named,
    first: &First,
    declared: &Declared,
) -> Option<Tolerance> {
    let fields = Fields::new(desk, named.what(), &TOLERANCE, &named.entry)?;
    let of_field = fields.need(desk, "of");
    let size = fields.need(desk, "plus-minus");
    let (of_field, size) = (of_field?, size?);
    let name = of_field.text(desk, "the name of a part, rod, slide, slot or cam")?;
    let hole = fields.get("hole");
    let of = if let Some(part) = desk.find(Kind::Part, name) {
        if let Some(hole) = hole {
            let point = hole.name(desk, Kind::Point)?;
            let carried = first
                .ground
                .part(part)
                .is_some_and(|p| p.carries.contains(&point));
            if !carried {
                let what = first.ground.what(part);
                let point = desk.name(Kind::Point, point);
                let help = match own_holes(desk, first, part).as_slice() {
                    [] => String::from("name a point that it carries"),
                    all => format!("it has {}", all.join(", ")),
                };
                hole.bad(desk, format!("{what} has no hole {point}"), help);
                return None;
            }
            let own = first.ground.part(part);
            let datum = part != FRAME
                && own.is_some_and(|p| {
                    p.kind == PartKind::Part
                        && p.clamped_to.is_none()
                        && p.carries.first() == Some(&point)
                });
            if datum {
                let what = first.ground.what(part);
                let point = desk.name(Kind::Point, point);
                hole.bad(
                    desk,
                    format!("{point} is the datum hole of {what}: the others are placed from it"),
                    "give the tolerance to another hole of it",
                );
                return None;
            }
            ToleranceOf::Hole { part, hole: point }
        } else if first
            .ground
            .part(part)
            .is_some_and(|p| p.clamped_to.is_some())
        {
            ToleranceOf::Clock(part)
        } else {
            let help = match own_holes(desk, first, part).as_slice() {
                [] => String::from("name one of its holes: `hole = \"crank-pin\"`"),
                all => format!("write `hole = \"{}\"`; it has {}", all[0], all.join(", ")),
            };
            desk.push(
                Diagnostic::error(
                    "missing-key",
                    format!("{} does not say which hole", named.what()),
                )
                .at(fields.header, "")
                .help(help),
            );
            return None;
        }
    } else {
        if hole.is_some() {
            fields.only_with(desk, &["hole"], "a part or the frame");
        }
        if let Some(i) = desk.find(Kind::Rod, name) {
            ToleranceOf::Rod(i)
        } else if let Some(i) = desk.find(Kind::Slide, name) {
            ToleranceOf::Slide(i)
        } else if let Some(i) = desk.find(Kind::Slot, name) {
            ToleranceOf::Slot(i)
        } else if let Some(i) = desk.find(Kind::Cam, name) {
            ToleranceOf::Cam(i)
        } else {
            let lists = [
                &declared.parts,
                &declared.rods,
                &declared.slides,
                &declared.slots,
                &declared.cams,
            ];
            let known: Vec<&str> = lists
                .iter()
                .flat_map(|l| l.iter().map(|n| n.entry.name))
                .chain(["frame"])
                .collect();
            let near = desk.suggest(name, &known);
            let label = near.map_or_else(
                || "not known".to_owned(),
                |m| format!("did you mean `{m}`?"),
            );
            desk.push(
                Diagnostic::error(
                    "unknown-name",
                    format!("there is no part, rod, slide, slot or cam `{name}`"),
                )
                .at(of_field.place(), label)
                .help(format!("it has {}", known.join(", "))),
            );
            return None;
        }
    };
    let measure = match of {
        ToleranceOf::Clock(_) | ToleranceOf::Slide(_) | ToleranceOf::Slot(_) => Measure::Angle,
        ToleranceOf::Hole { .. } | ToleranceOf::Rod(_) | ToleranceOf::Cam(_) => Measure::Length,
    };
    let plus_minus = positive(desk, &size, measure, true)?;
    Some(Tolerance {
        name: named.entry.name.to_owned(),
        of,
        plus_minus,
        place: named.entry.place,
    })
}

pub(super) fn stiffnesses(desk: &mut Desk, named: &[Named], first: &First) -> Vec<Stiffness> {
    let mut all: Vec<Stiffness> = Vec::new();
    for n in named {
        let Some(stiffness) = stiffness(desk, n, first) else {
            continue;
        };
        match all.iter().find(|s| s.at == stiffness.at) {
            Some(other) => twice(
                desk,
                (&stiffness.name, stiffness.place),
                (&other.name, other.place),
                "stiffness",
            ),
            None => all.push(stiffness),
        }
    }
    all
}

fn stiffness(desk: &mut Desk, named: &Named, first: &First) -> Option<Stiffness> {
    let fields = Fields::new(desk, named.what(), &STIFFNESS, &named.entry)?;
    let at_field = fields.need(desk, "at");
    let value = fields
        .need(desk, "value")
        .and_then(|f| positive(desk, &f, Measure::Stiffness, false));
    let at_field = at_field?;
    let at = at_field.name(desk, Kind::Point)?;
    if !first.ground.carries(FRAME, at) {
        let point = desk.name(Kind::Point, at);
        at_field.bad(
            desk,
            format!("the frame does not carry {point}"),
            "name a point of the frame; for other joints give `[joint.NAME]` its stiffness",
        );
        return None;
    }
    Some(Stiffness {
        name: named.entry.name.to_owned(),
        at,
        value: value?,
        place: named.entry.place,
    })
}
