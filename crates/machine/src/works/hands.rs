//! What a hand does at a drive: where it takes hold, what holds the drive in its place, how often it goes.

use super::{First, inner_table, lone, low_high_number, positive};
use super::{coils, stock};
use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::fields::{Field, Fields, Shape, Value};
use crate::ground::{CLOSE, direction};
use crate::model::{Drive, Moves, PartId, PointId};
use crate::work::{Clamp, Detent, Hand, Material, Seat};
use quantity::Kind as Measure;

const DRIVE: Shape = Shape {
    a: "a drive",
    keys: &[
        (
            "hand",
            "hand = \"lever-grip\"` or `hand = { at = \"pedal\", along = \"down\" }",
        ),
        ("per-minute", "per-minute = 60"),
    ],
};

const HAND: Shape = Shape {
    a: "a hand",
    keys: &[
        ("at", "at = \"lever-grip\""),
        ("along", "along = \"down\""),
        ("with", "with = \"lever\""),
        ("pushes-only", "pushes-only = true"),
    ],
};

const DETENT: Shape = Shape {
    a: "a detent",
    keys: &[
        ("drive", "drive = \"set\""),
        ("at", "at = \"0 deg\""),
        ("radius", "radius = \"60 mm\""),
        ("seat", "seat = { cone = \"90 deg\" }"),
        ("spring", "spring = \"20 N\""),
        (
            "plunger",
            "plunger = { nose = \"6 mm\", mouth = \"5 mm\", bore = \"8 mm\", length = \"20 mm\", material = \"EN 10270-1 SM\" }",
        ),
        ("friction", "friction = 0.12"),
        ("seat-material", "seat-material = \"O1 annealed\""),
    ],
};

const SEAT: Shape = Shape {
    a: "a seat",
    keys: &[
        ("cone", "cone = \"90 deg\""),
        ("hole", "hole = \"4 mm\""),
        ("ball", "ball = \"6 mm\""),
        ("square", "square = true"),
    ],
};

const CLAMP: Shape = Shape {
    a: "a clamp",
    keys: &[
        ("holds", "holds = \"set\""),
        ("radius", "radius = \"12 mm\""),
        ("leaned", "leaned = \"150 N\""),
        ("screw", "screw = \"M8\""),
        ("class", "class = \"8.8\""),
    ],
};

/// Turns a minute of each drive, or times there and back.
pub(super) fn per_minute(desk: &mut Desk, named: &[Named]) -> Vec<Option<f64>> {
    let one = |n: &Named| {
        let field = lone(n, &DRIVE, "per-minute")?;
        let x = field.number(desk)?;
        if x > 0.0 && x <= 1e5 {
            return Some(x);
        }
        field.bad(
            desk,
            format!("`per-minute` is {x}; it has to be above zero"),
            "write turns a minute, or how often it goes there and back; leave it out for what stands still in work",
        );
        None
    };
    named.iter().map(one).collect()
}

/// Where the hand takes hold of each drive, and which way it pushes.
pub(super) fn hands(desk: &mut Desk, named: &[Named], first: &First) -> Vec<Option<Hand>> {
    let found = named.iter().zip(first.drives).map(|(named, drive)| {
        let field = lone(named, &DRIVE, "hand")?;
        hand(desk, &field, drive.as_ref(), first)
    });
    found.collect()
}

fn hand(desk: &mut Desk, field: &Field, drive: Option<&Drive>, first: &First) -> Option<Hand> {
    let plain = !matches!(field.node.value, Value::Table(_));
    let (at_field, along, with, pushes_only) = if plain {
        (*field, None, None, false)
    } else {
        let fields = Fields::new(desk, "the hand".to_owned(), &HAND, &inner_table(field))?;
        let along = fields.get("along").map(|f| direction(desk, &f));
        let with = fields.get("with");
        if along.is_none()
            && let Some(with) = &with
        {
            with.bad(
                desk,
                "`with` turns a direction, and the hand has none",
                "write `along = \"down\"` beside it, or take `with` out: without a direction the hand goes the way of its point",
            );
            return None;
        }
        let only = fields.get("pushes-only");
        if along.is_none()
            && let Some(only) = &only
        {
            only.bad(
                desk,
                "`pushes-only` asks which way it pushes, and the hand has no direction",
                "write `along = \"down\"` beside it",
            );
            return None;
        }
        let only = only.map_or(Some(false), |f| f.truth(desk));
        let at = fields.need(desk, "at")?;
        let point = at.name(desk, Kind::Point);
        let part = with.map(|f| turns_with(desk, &f, point, first));
        point?;
        (
            at,
            along.map_or(Some(None), |a| a.map(Some))?,
            part.map_or(Some(None), |p| p.map(Some))?,
            only?,
        )
    };
    let at = at_field.name(desk, Kind::Point)?;
    first.moves(desk, at, &at_field)?;
    let ground = first.ground;
    if let Some(Moves::Turns(part)) = drive.map(|d| d.moves)
        && ground
            .carriers(at)
            .iter()
            .all(|&p| ground.turns_with(p) == ground.turns_with(part))
        && let Some(centre) = first.centre_of(part)
        && ground
            .flat_distance(at, centre)
            .is_some_and(|d| d <= CLOSE * ground.size)
    {
        let (point, part) = (desk.name(Kind::Point, at), ground.what(part));
        at_field.bad(
            desk,
            format!("{point} is where {part} turns: a hand there has no arm"),
            "name a point away from the pivot",
        );
        return None;
    }
    Some(Hand {
        at,
        along,
        with,
        pushes_only,
    })
}

/// The part that a direction at a point turns with; it moves in the point's plane.
pub(super) fn turns_with(
    desk: &mut Desk,
    field: &Field,
    at: Option<PointId>,
    first: &First,
) -> Option<PartId> {
    let part = field.name(desk, Kind::Part)?;
    let planes = at
        .and_then(|p| first.ground.spot(p))
        .zip(first.ground.plane_of(part));
    if let Some((spot, plane)) = planes
        && spot.plane != plane
    {
        let (here, there) = (
            desk.name(Kind::Plane, spot.plane),
            desk.name(Kind::Plane, plane),
        );
        let part = first.ground.what(part);
        field.bad(
            desk,
            format!("{part} turns in plane {there}, the force acts in plane {here}"),
            format!("name a part of plane {here}"),
        );
        return None;
    }
    Some(part)
}

pub(super) fn detents(
    desk: &mut Desk,
    named: &[Named],
    first: &First,
    materials: &mut Vec<Option<Material>>,
) -> Vec<Detent> {
    named
        .iter()
        .filter_map(|n| detent(desk, n, first, materials))
        .collect()
}

fn detent(
    desk: &mut Desk,
    named: &Named,
    first: &First,
    materials: &mut Vec<Option<Material>>,
) -> Option<Detent> {
    let fields = Fields::new(desk, named.what(), &DETENT, &named.entry)?;
    let drive = fields
        .need(desk, "drive")
        .and_then(|f| f.name(desk, Kind::Drive));
    let turns = drive.and_then(|d| {
        Some(matches!(
            first.drives.get(d)?.as_ref()?.moves,
            Moves::Turns(_)
        ))
    });
    let measure = if turns == Some(false) {
        Measure::Length
    } else {
        Measure::Angle
    };
    let at_field = fields.need(desk, "at");
    let at = at_field.and_then(|f| f.quantity(desk, measure));
    let own = drive.and_then(|d| first.drives.get(d)?.as_ref());
    if let (Some(field), Some(at), Some(own)) = (&at_field, &at, own)
        && let Some([a, b]) = own.range.filter(|_| !own.whole_turn)
        && !(a.min(b) - 1e-9..=a.max(b) + 1e-9).contains(&at.value)
    {
        field.bad(
            desk,
            format!(
                "a notch at {} is out of reach of drive {}",
                at.show(),
                own.name
            ),
            "write a value inside the range of the drive",
        );
        return None;
    }
    let radius = if turns == Some(false) {
        fields.only_with(desk, &["radius"], "a drive that turns");
        Some(1.0)
    } else {
        fields
            .need(desk, "radius")
            .and_then(|f| f.positive_length(desk))
    };
    let seat = fields.need(desk, "seat").and_then(|f| seat(desk, &f));
    let plunger = match (fields.get("plunger"), seat) {
        (None, _) => Some(None),
        (Some(f), Some(seat)) => coils::plunger(desk, &named.what(), &f, seat).map(Some),
        (Some(_), None) => None,
    };
    let plunger = plunger?;
    // The force of a spring whose wire is known is worked out where springs are.
    let spring = if plunger.as_ref().is_some_and(|p| p.coil.is_some()) {
        fields.only_with(desk, &["spring"], "a spring whose coil is not known");
        Some(0.0)
    } else {
        fields
            .need(desk, "spring")
            .and_then(|f| positive(desk, &f, Measure::Force, false))
    };
    let friction = fields
        .get("friction")
        .map(|f| low_high_number(desk, &f, 1.0));
    let seat_material = fields
        .get("seat-material")
        .map(|f| stock::named(desk, &f, materials));
    Some(Detent {
        name: named.entry.name.to_owned(),
        drive: drive?,
        at: at?.value,
        radius: radius?,
        seat: seat?,
        spring: spring?,
        plunger,
        friction: friction.map_or(Some(None), |f| f.map(Some))?,
        seat_material: seat_material.map_or(Some(None), |m| m.map(Some))?,
        place: named.entry.place,
    })
}

fn seat(desk: &mut Desk, field: &Field) -> Option<Seat> {
    let fields = Fields::new(desk, "the seat".to_owned(), &SEAT, &inner_table(field))?;
    let form = fields.one_of(desk, &["cone", "hole", "square"])?;
    if form.key == "square" {
        fields.only_with(desk, &["ball"], "`hole`");
        if form.truth(desk)? {
            return Some(Seat::Square);
        }
        form.bad(
            desk,
            "a seat that is not square has another shape",
            "write `cone = \"90 deg\"`, or `hole` and `ball`",
        );
        return None;
    }
    if form.key == "cone" {
        fields.only_with(desk, &["ball"], "`hole`");
        let angle = form.angle(desk)?;
        if !(10f64.to_radians()..=170f64.to_radians()).contains(&angle) {
            form.bad(
                desk,
                "a seat's included angle lies between 10 and 170 degrees",
                "90 deg is usual",
            );
            return None;
        }
        return Some(Seat::Cone(angle));
    }
    let (hole, ball_field) = (form.positive_length(desk), fields.need(desk, "ball")?);
    let (hole, ball) = (hole?, ball_field.positive_length(desk)?);
    if hole >= ball {
        ball_field.bad(
            desk,
            "the ball falls through the hole",
            "take a ball larger than the hole",
        );
        return None;
    }
    Some(Seat::Hole { hole, ball })
}

pub(super) fn clamps(desk: &mut Desk, named: &[Named], first: &First) -> Vec<Clamp> {
    named.iter().filter_map(|n| clamp(desk, n, first)).collect()
}

fn clamp(desk: &mut Desk, named: &Named, first: &First) -> Option<Clamp> {
    let fields = Fields::new(desk, named.what(), &CLAMP, &named.entry)?;
    let holds = fields.need(desk, "holds");
    let radius = fields
        .need(desk, "radius")
        .and_then(|f| f.positive_length(desk));
    let leaned = fields
        .get("leaned")
        .map(|f| (f, positive(desk, &f, Measure::Force, false)));
    let thread = fields.get("screw").map(|f| super::bolts::thread(desk, &f));
    let screw = match thread {
        None => {
            fields.only_with(desk, &["class"], "`screw`");
            None
        }
        Some(thread) => {
            let thread = thread?;
            let class = super::bolts::class(desk, &fields, &thread)?;
            Some((thread, class))
        }
    };
    let holds = holds?;
    let drive = holds.name(desk, Kind::Drive)?;
    if let Some((f, _)) = &leaned
        && first.hands.get(drive) != Some(&true)
    {
        let name = desk.name(Kind::Drive, drive);
        f.bad(
            desk,
            format!("drive {name} has no hand that could lean on the clamp"),
            "write `hand = \"lever-grip\"` in the drive, or take `leaned` out",
        );
        return None;
    }
    if first
        .drives
        .get(drive)
        .and_then(Option::as_ref)
        .is_some_and(|d| matches!(d.moves, Moves::Slides(_)))
    {
        holds.bad(
            desk,
            "a clamped ring holds a drive that turns",
            "name a drive that turns",
        );
        return None;
    }
    Some(Clamp {
        name: named.entry.name.to_owned(),
        drive,
        radius: radius?,
        leaned: leaned.map_or(Some(None), |(_, f)| f.map(Some))?,
        screw,
        place: named.entry.place,
    })
}
