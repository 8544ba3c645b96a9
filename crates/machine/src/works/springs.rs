//! Springs between points and torsion springs.

use super::coils::{self, Works};
use super::loads::turned;
use super::{First, positive};
use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::fields::{Field, Fields, Shape};
use crate::ground::CLOSE;
use crate::model::{FRAME, PartId, PointId};
use crate::vector::{length3, sub3};
use crate::work::{Spring, SpringKind};
use quantity::Kind as Measure;

const SPRING: Shape = Shape {
    a: "a spring",
    keys: &[
        ("between", "between = [\"bed-lug\", \"frame-lug\"]"),
        ("turns", "turns = \"lever\""),
        ("against", "against = \"frame\""),
        ("rate", "rate = \"2 N/mm\""),
        (
            "coil",
            "coil = { wire = \"1.6 mm\", outside = \"14 mm\", coils = 9.5, material = \"EN 10270-1 SM\" }",
        ),
        (
            "room",
            "room = { pocket = \"16 mm\", material = \"EN 10270-1 SM\" }",
        ),
        ("free", "free = \"40 mm\""),
        ("slack", "slack = \"-20 deg\""),
        ("pushes-only", "pushes-only = true"),
        ("pulls-only", "pulls-only = true"),
    ],
};

pub(super) fn springs(desk: &mut Desk, named: &[Named], first: &First) -> Vec<Spring> {
    named
        .iter()
        .filter_map(|n| spring(desk, n, first))
        .collect()
}

/// A spring between two points has to act on something: they lie apart, and not on one part. Reports what it does nothing to.
fn apart(desk: &mut Desk, [a, b]: [PointId; 2], field: &Field, first: &First) -> Option<()> {
    let ground = first.ground;
    for point in [a, b] {
        if first.certain && first.held.get(point) == Some(&false) {
            ground.nobody_carries(desk, point, field);
            return None;
        }
    }
    for point in [a, b] {
        let parts: Vec<PartId> = ground
            .carriers(point)
            .iter()
            .copied()
            .filter(|p| *p != FRAME)
            .collect();
        let root = |p: &PartId| ground.turns_with(*p);
        if let [first, rest @ ..] = parts.as_slice()
            && let Some(other) = rest.iter().find(|p| root(p) != root(first))
        {
            let name = desk.name(Kind::Point, point);
            let (one, other) = (ground.what(*first), ground.what(*other));
            field.bad(
                desk,
                format!("{name} is where {one} and {other} are pinned together: which of them the spring pulls at decides what that pin carries"),
                "give the spring a point of its own on one of them",
            );
            return None;
        }
    }
    let (p, q) = (desk.name(Kind::Point, a), desk.name(Kind::Point, b));
    let together = ground.carriers(a).iter().find(|&&part| {
        let root = ground.turns_with(part);
        let with = |&other: &PartId| ground.turns_with(other) == root;
        ground.carriers(b).iter().any(with)
    });
    if let Some(&part) = together {
        let what = ground.what(part);
        field.bad(
            desk,
            format!("{p} and {q} are both on {what}: a spring between them moves nothing"),
            "name points of two parts",
        );
        return None;
    }
    let space = ground.space(a).zip(ground.space(b));
    if space.is_some_and(|(a, b)| length3(sub3(a, b)) <= CLOSE * ground.size) {
        field.bad(
            desk,
            format!("{p} and {q} lie at one place: a spring between them has no direction"),
            "name points that lie apart",
        );
        return None;
    }
    Some(())
}

fn spring(desk: &mut Desk, named: &Named, first: &First) -> Option<Spring> {
    let fields = Fields::new(desk, named.what(), &SPRING, &named.entry)?;
    let form = fields.one_of(desk, &["between", "turns"])?;
    let rate = fields.one_of(desk, &["rate", "coil"]);
    let coil = rate.filter(|f| f.key == "coil");
    let only =
        |desk: &mut Desk, key: &str| fields.get(key).and_then(|f| f.truth(desk)).unwrap_or(false);
    let (pushes_only, pulls_only) = (only(desk, "pushes-only"), only(desk, "pulls-only"));
    if pushes_only
        && pulls_only
        && let (Some(a), Some(b)) = (fields.get("pushes-only"), fields.get("pulls-only"))
    {
        fields.clash(desk, &a, &b);
        return None;
    }
    let kind = if form.key == "between" {
        fields.only_with(desk, &["against", "slack"], "`turns`");
        let points = form.names(desk, Kind::Point);
        let points = points.filter(|&points| apart(desk, points, &form, first).is_some());
        // The rate of a coil is worked out where springs are.
        let rate = match coil {
            Some(_) => Some(0.0),
            None => rate.and_then(|f| positive(desk, &f, Measure::Stiffness, false)),
        };
        let free = fields
            .need(desk, "free")
            .and_then(|f| positive(desk, &f, Measure::Length, true));
        SpringKind::Between {
            points: points?,
            rate: rate?,
            free: free?,
        }
    } else {
        fields.only_with(desk, &["free"], "`between`");
        let part = form.name(desk, Kind::Part);
        let part = part.filter(|&part| turned(desk, part, &form, first).is_some());
        let against_field = fields.get("against");
        let against = against_field.map_or(Some(FRAME), |f| f.name(desk, Kind::Part));
        if let (Some(part), Some(against), Some(field)) = (part, against, &against_field)
            && first.ground.turns_with(part) == first.ground.turns_with(against)
        {
            let what = first.ground.what(part);
            field.bad(
                desk,
                format!("{what} does not turn against itself"),
                "name another part, or take `against` out: then it is the frame",
            );
            return None;
        }
        let rate = match coil {
            Some(_) => Some(0.0),
            None => rate.and_then(|f| positive(desk, &f, Measure::AngularStiffness, false)),
        };
        let slack = fields.need(desk, "slack").and_then(|f| f.angle(desk));
        SpringKind::Torsion {
            part: part?,
            against: against?,
            rate: rate?,
            slack: slack?,
        }
    };
    let wound = coil.or_else(|| fields.get("room"));
    if coil.is_some() {
        fields.only_with(desk, &["room"], "`rate`: a coil is chosen already");
    }
    let (mut coil, mut room) = (None, None);
    if let Some(field) = wound {
        let works = match (&kind, pulls_only, pushes_only) {
            (SpringKind::Torsion { .. }, ..) => Works::Turns,
            (_, true, _) => Works::Pulls,
            (_, _, true) => Works::Pushes,
            _ => {
                field.bad(
                    desk,
                    "a coil between two points either pushes or pulls",
                    "add `pushes-only = true` for a compression spring, `pulls-only = true` for an extension spring",
                );
                return None;
            }
        };
        if field.key == "coil" {
            coil = Some(coils::coil(desk, &named.what(), &field, works)?);
        } else {
            room = Some(coils::room(desk, &named.what(), &field, works)?);
        }
    }
    Some(Spring {
        name: named.entry.name.to_owned(),
        kind,
        coil,
        room,
        pushes_only,
        pulls_only,
        place: named.entry.place,
    })
}
