//! The wire of springs.

use super::{inner_table, positive};
use crate::desk::Desk;
use crate::fields::{Field, Fields, Shape};
use crate::fitting::{Coil, Plunger, Room};
use crate::work::Seat;
use elements::springs::compression::{Ends, Seats};
use elements::springs::wire;
use quantity::Kind as Measure;

const COIL: Shape = Shape {
    a: "a coil",
    keys: &[
        ("wire", "wire = \"1.6 mm\""),
        ("outside", "outside = \"14 mm\""),
        ("coils", "coils = 9.5"),
        ("material", "material = \"EN 10270-1 SM\""),
        ("ends", "ends = \"closed and ground\""),
        ("seats", "seats = \"flat\""),
        ("preset", "preset = true"),
        ("initial", "initial = \"4 N\""),
        ("legs", "legs = [\"20 mm\", \"20 mm\"]"),
        ("pocket", "pocket = \"16 mm\""),
        ("rod", "rod = \"8 mm\""),
    ],
};

const ENDS: [(&str, Ends); 4] = [
    ("plain", Ends::Plain),
    ("plain and ground", Ends::PlainGround),
    ("closed", Ends::Squared),
    ("closed and ground", Ends::SquaredGround),
];

const SEATS: [(&str, Seats); 4] = [
    ("flat", Seats::BothFixed),
    ("flat and pivot", Seats::FixedPivoted),
    ("pivots", Seats::BothPivoted),
    ("one free", Seats::FixedFree),
];

/// What kind of spring the coil belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Works {
    Pushes,
    Pulls,
    Turns,
}

pub(super) fn coil(desk: &mut Desk, what: &str, field: &Field, works: Works) -> Option<Coil> {
    let fields = Fields::new(
        desk,
        format!("the coil of {what}"),
        &COIL,
        &inner_table(field),
    )?;
    let wire_size = fields
        .need(desk, "wire")
        .and_then(|f| f.positive_length(desk));
    let outside_field = fields.need(desk, "outside");
    let outside = outside_field.and_then(|f| f.positive_length(desk));
    let coils = fields.need(desk, "coils").and_then(|f| {
        let x = f.number(desk)?;
        if (0.5..=1000.0).contains(&x) {
            return Some(x);
        }
        f.bad(
            desk,
            format!("{x} coils are none to wind"),
            "count the coils, quarters of a turn included: 9.5",
        );
        None
    });
    let material = material(desk, &fields);
    if works != Works::Pushes {
        fields.only_with(
            desk,
            &["ends", "seats", "preset", "pocket"],
            "a spring with `pushes-only`",
        );
    }
    if works == Works::Pulls {
        fields.only_with(desk, &["rod"], "a spring that pushes or turns");
    }
    if works != Works::Pulls {
        fields.only_with(desk, &["initial"], "a spring with `pulls-only`");
    }
    if works != Works::Turns {
        fields.only_with(desk, &["legs"], "a spring that turns");
    }
    let ends = fields
        .get("ends")
        .map(|f| f.word(desk, &ENDS.map(|(w, _)| w)));
    let seats = fields
        .get("seats")
        .map(|f| f.word(desk, &SEATS.map(|(w, _)| w)));
    let preset = fields.get("preset").map_or(Some(false), |f| f.truth(desk));
    let initial = fields
        .get("initial")
        .map_or(Some(0.0), |f| positive(desk, &f, Measure::Force, true));
    let legs = fields
        .get("legs")
        .map_or(Some([0.0; 2]), |f| f.lengths(desk));
    let size = |desk: &mut Desk, key: &str| fields.get(key).map(|f| f.positive_length(desk));
    let (pocket, rod) = (size(desk, "pocket"), size(desk, "rod"));
    let (wire_size, outside) = (wire_size?, outside?);
    let material = material?;
    if outside <= 2.0 * wire_size {
        if let Some(f) = outside_field {
            f.bad(
                desk,
                "a coil of this wire has no room inside",
                "the outside is at least five wires; six to twelve wind and work well",
            );
        }
        return None;
    }
    if let Err(error) = material.tensile(wire_size) {
        field.bad(
            desk,
            format!("{}: {error}", material.name),
            "take another wire size or material",
        );
        return None;
    }
    let pick = |n: Option<Option<usize>>, usual: Ends| match n {
        None => Some(usual),
        Some(n) => ENDS.get(n?).map(|e| e.1),
    };
    Some(Coil {
        wire: wire_size,
        outside,
        coils: coils?,
        material,
        ends: pick(ends, Ends::SquaredGround)?,
        seats: match seats {
            None => Seats::BothFixed,
            Some(n) => SEATS.get(n?)?.1,
        },
        preset: preset?,
        initial: initial?,
        legs: legs?,
        pocket: pocket.map_or(Some(None), |p| p.map(Some))?,
        rod: rod.map_or(Some(None), |r| r.map(Some))?,
        place: field.place(),
    })
}

const ROOM: Shape = Shape {
    a: "the room of a spring",
    keys: &[
        ("pocket", "pocket = \"16 mm\""),
        ("rod", "rod = \"8 mm\""),
        ("material", "material = \"EN 10270-1 SM\""),
    ],
};

/// The room for a spring whose wire is to be chosen.
pub(super) fn room(desk: &mut Desk, what: &str, field: &Field, works: Works) -> Option<Room> {
    let fields = Fields::new(
        desk,
        format!("the room of {what}"),
        &ROOM,
        &inner_table(field),
    )?;
    // Over a rod a spring needs no pocket.
    let open = works != Works::Pulls && fields.get("rod").is_some();
    let pocket = if open {
        fields.get("pocket")
    } else {
        fields.need(desk, "pocket")
    };
    let pocket = pocket.map(|f| f.positive_length(desk));
    let rod = fields.get("rod").map(|f| (f, f.positive_length(desk)));
    if works == Works::Pulls {
        fields.only_with(desk, &["rod"], "a spring that pushes or turns");
    }
    let material = material(desk, &fields);
    let pocket = match pocket {
        Some(pocket) => Some(pocket?),
        None if open => None,
        None => return None,
    };
    let rod = match rod {
        None => None,
        Some((field, rod)) => {
            let rod = rod?;
            if pocket.is_some_and(|pocket| rod >= pocket) {
                field.bad(
                    desk,
                    "the rod is as thick as the pocket: no coil goes between",
                    "a coil needs about a third of the pocket for its wire and play",
                );
                return None;
            }
            Some(rod)
        }
    };
    Some(Room {
        pocket,
        rod,
        material: material?,
    })
}

const PLUNGER: Shape = Shape {
    a: "a plunger",
    keys: &[
        ("nose", "nose = \"6 mm\""),
        ("mouth", "mouth = \"5 mm\""),
        ("lift", "lift = \"4 mm\""),
        ("bore", "bore = \"8 mm\""),
        ("boss", "boss = \"16 mm\""),
        ("length", "length = \"20 mm\""),
        (
            "coil",
            "coil = { wire = \"0.8 mm\", outside = \"7 mm\", coils = 12, material = \"EN 10270-1 SM\" }",
        ),
        ("free", "free = \"28 mm\""),
        ("material", "material = \"EN 10270-1 SM\""),
    ],
};

/// The plunger of a detent in its seat.
pub(super) fn plunger(desk: &mut Desk, what: &str, field: &Field, seat: Seat) -> Option<Plunger> {
    let fields = Fields::new(
        desk,
        format!("the plunger of {what}"),
        &PLUNGER,
        &inner_table(field),
    )?;
    let size = |desk: &mut Desk, key: &str| match fields.get(key) {
        None => Some(None),
        Some(f) => f.positive_length(desk).map(Some),
    };
    let need =
        |desk: &mut Desk, key: &str| fields.need(desk, key).and_then(|f| f.positive_length(desk));
    let (bore, length) = (need(desk, "bore"), need(desk, "length"));
    let mouth = if matches!(seat, Seat::Cone(_)) {
        need(desk, "mouth").map(Some)
    } else {
        fields.only_with(desk, &["mouth", "nose"], "the seat `cone`");
        Some(None)
    };
    let lift = if seat == Seat::Square {
        need(desk, "lift").map(Some)
    } else {
        fields.only_with(desk, &["lift"], "the seat `square`: else the seat tells it");
        Some(None)
    };
    let nose = size(desk, "nose");
    let boss = size(desk, "boss");
    let (coil, material) = match fields.get("coil") {
        Some(f) => {
            fields.only_with(
                desk,
                &["material"],
                "a spring to be chosen: the coil names its own",
            );
            let coil = coil(desk, what, &f, Works::Pushes);
            let free = need(desk, "free");
            let coil = coil?;
            let material = coil.material;
            (Some((coil, free?)), Some(material))
        }
        None => {
            fields.only_with(desk, &["free"], "`coil`");
            (None, material(desk, &fields))
        }
    };
    let (bore, length, boss) = (bore?, length?, boss?);
    if let (Some(wide), Some(f)) = (boss, fields.get("boss"))
        && wide < bore + 4.0
    {
        f.bad(
            desk,
            format!("a boss of {wide} mm leaves less than 2 mm of wall round a bore of {bore} mm"),
            "a wider `boss`: twice the bore is usual",
        );
        return None;
    }
    if let Some((coil, free)) = &coil {
        if coil.outside >= bore {
            field.bad(
                desk,
                "the spring is as wide as its hole",
                "leave a tenth of the coil's diameter: a wider `bore`, or a smaller `outside`",
            );
            return None;
        }
        if *free <= length {
            field.bad(
                desk,
                "the spring is slack with the plunger home: it is no longer than its hole there",
                "a longer `free`, or a shorter `length`",
            );
            return None;
        }
    }
    Some(Plunger {
        nose: nose?,
        mouth: mouth?,
        lift: lift?,
        bore,
        boss,
        length,
        coil,
        material: material?,
    })
}

fn material(desk: &mut Desk, fields: &Fields) -> Option<&'static wire::Wire> {
    let field = fields.need(desk, "material")?;
    let text = field.text(desk, "a wire in quotes")?;
    match wire::find(text) {
        Ok(wire) => Some(wire),
        Err(error) => {
            field.bad(
                desk,
                error.to_string(),
                "name the standard: \"EN 10270-1 SM\", \"A228 Shigley\", \"302\"",
            );
            None
        }
    }
}
