//! Gears, belts and racks.

use std::collections::HashMap;

use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Fields, Shape};
use crate::fitting::Teeth;
use crate::ground::Ground;
use crate::guides::{moving, planes};
use crate::model::{FRAME, PartId, Pulleys, Rack, Ratio, RatioKind, Slide};
use crate::teeth::{KEYS, Told, teeth as cut};

const GEAR: Shape = Shape {
    a: "a gear pair",
    keys: &[
        ("joins", "joins = [\"pinion\", \"wheel\"]"),
        ("teeth", "teeth = [18, 54]"),
        ("inside", "inside = true"),
        ("carrier", "carrier = \"arm\""),
        KEYS[0],
        KEYS[1],
        KEYS[2],
        KEYS[3],
        KEYS[4],
        KEYS[5],
    ],
};

const BELT: Shape = Shape {
    a: "a belt",
    keys: &[
        ("joins", "joins = [\"motor\", \"crank\"]"),
        ("sizes", "sizes = [40, 160]"),
        ("crossed", "crossed = false"),
        ("outside", "outside = [\"54 mm\", \"164 mm\"]"),
        ("width", "width = \"18 mm\""),
        ("station", "station = \"-60 mm\""),
    ],
};

const RACK: Shape = Shape {
    a: "a rack",
    keys: &[
        ("gear", "gear = \"pinion\""),
        ("rack", "rack = \"ram\""),
        ("radius", "radius = 12"),
        ("sense", "sense = \"forward\""),
        ("teeth", "teeth = 24"),
        KEYS[0],
        KEYS[1],
        KEYS[2],
        KEYS[3],
        KEYS[4],
        KEYS[5],
    ],
};

/// Reads gear pairs and belts.
pub(crate) fn read(
    desk: &mut Desk,
    ground: &Ground,
    gears: &[Named],
    belts: &[Named],
) -> Vec<Option<Ratio>> {
    let gears: Vec<Option<Ratio>> = gears.iter().map(|n| gear(desk, ground, n)).collect();
    let belts = belts.iter().map(|n| belt(desk, ground, n));
    gears.into_iter().chain(belts).collect()
}

fn gear(desk: &mut Desk, ground: &Ground, named: &Named) -> Option<Ratio> {
    let fields = Fields::new(desk, named.what(), &GEAR, &named.entry)?;
    let joins_field = fields.need(desk, "joins");
    let joins = joins_field.and_then(|f| f.names(desk, Kind::Part));
    let teeth_field = fields.need(desk, "teeth");
    let teeth = teeth_field.and_then(|f| {
        let [a, b] = f.pair(desk, "two numbers of teeth")?;
        let (a, b) = (a.whole(desk, 1, 100_000), b.whole(desk, 1, 100_000));
        Some([a? as f64, b? as f64])
    });
    let inside = fields.get("inside").map_or(Some(false), |f| f.truth(desk));
    let carrier = fields
        .get("carrier")
        .map_or(Some(FRAME), |f| f.name(desk, Kind::Part));
    let cut = cut(desk, &fields);
    let (joins, sizes, inside, carrier) = (joins?, teeth?, inside?, carrier?);
    if inside && sizes[1] <= sizes[0] {
        teeth_field?.bad(
            desk,
            format!(
                "the wheel with internal teeth has {} and cannot go round a pinion of {}",
                sizes[1], sizes[0]
            ),
            "name the pinion first, the wheel with internal teeth second",
        );
        return None;
    }
    turning(desk, ground, &joins_field?, joins, carrier)?;
    let kind = if inside {
        RatioKind::InternalGear
    } else {
        RatioKind::Gear
    };
    Some(Ratio {
        name: named.entry.name.to_owned(),
        kind,
        joins,
        sizes,
        carrier,
        teeth: cut.ok()?,
        pulleys: None,
        place: named.entry.place,
    })
}

fn belt(desk: &mut Desk, ground: &Ground, named: &Named) -> Option<Ratio> {
    let fields = Fields::new(desk, named.what(), &BELT, &named.entry)?;
    let joins_field = fields.need(desk, "joins");
    let joins = joins_field.and_then(|f| f.names(desk, Kind::Part));
    let sizes = fields.need(desk, "sizes").and_then(|f| {
        let [a, b] = f.pair(desk, "two diameters or numbers of teeth")?;
        let (a, b) = (a.positive_length(desk), b.positive_length(desk));
        Some([a?, b?])
    });
    let crossed = fields.get("crossed").map_or(Some(false), |f| f.truth(desk));
    let pulleys = pulleys(desk, &fields);
    let (joins, sizes, crossed) = (joins?, sizes?, crossed?);
    turning(desk, ground, &joins_field?, joins, FRAME)?;
    let kind = if crossed {
        RatioKind::CrossedBelt
    } else {
        RatioKind::Belt
    };
    Some(Ratio {
        name: named.entry.name.to_owned(),
        kind,
        joins,
        sizes,
        carrier: FRAME,
        teeth: None,
        pulleys: pulleys.ok()?,
        place: named.entry.place,
    })
}

/// The room that pulleys take; none at all, or both of its keys.
fn pulleys(desk: &mut Desk, fields: &Fields) -> Result<Option<Pulleys>, Told> {
    let outside = fields.get("outside");
    let width = fields.get("width");
    let station = fields.get("station");
    let (Some(outside), Some(width)) = (outside, width) else {
        let Some(alone) = outside.or(width).or(station) else {
            return Ok(None);
        };
        alone.bad(
            desk,
            "the room that pulleys take is told by `outside` and `width` together, and one of them is missing",
            "write both, `outside = [\"54 mm\", \"164 mm\"]` and `width = \"18 mm\"`, or neither",
        );
        return Err(Told);
    };
    let [a, b] = outside.pair(desk, "two outside diameters").ok_or(Told)?;
    let (a, b, width) = (
        a.positive_length(desk),
        b.positive_length(desk),
        width.positive_length(desk),
    );
    let station = match station {
        Some(field) => Some(field.length(desk).ok_or(Told)?),
        None => None,
    };
    let all = || {
        Some(Pulleys {
            outside: [a?, b?],
            width: width?,
            station,
        })
    };
    all().map(Some).ok_or(Told)
}

/// Both parts have to turn on pins of the carrier, in one plane.
fn turning(
    desk: &mut Desk,
    ground: &Ground,
    field: &Field,
    joins: [PartId; 2],
    carrier: PartId,
) -> Option<()> {
    let on = ground.what(carrier);
    for part in joins {
        if part == carrier {
            field.bad(
                desk,
                format!("{on} carries the two wheels and cannot be one of them"),
                "join two parts that turn, and name the part that carries both as `carrier`",
            );
            return None;
        }
        if ground.whole && !ground.is_pinned(part, carrier) {
            let what = ground.what(part);
            desk.push(
                Diagnostic::error(
                    "not-pinned",
                    format!("{what} does not turn on {on}: no point is carried by both"),
                )
                .at(field.place(), "")
                .help(format!(
                    "let {on} carry the centre of {what}, or name the part that does as `carrier`"
                )),
            );
            return None;
        }
    }
    let [a, b] = joins;
    if ground.turns_with(a) == ground.turns_with(b) {
        let (a, b) = (ground.what(a), ground.what(b));
        field.bad(
            desk,
            format!("{a} and {b} turn together and cannot drive each other"),
            "join two parts that turn apart",
        );
        return None;
    }
    planes(desk, ground, field, a, b)
}

/// Slides by the part that slides.
pub(crate) struct Slides<'a> {
    list: &'a [Option<Slide>],
    /// First slide of a part, and whether there is a second.
    by_part: HashMap<PartId, (usize, bool)>,
    /// A broken slide may be the one that is looked for.
    sure: bool,
}

impl<'a> Slides<'a> {
    pub(crate) fn new(list: &'a [Option<Slide>], sure: bool) -> Self {
        let mut by_part = HashMap::new();
        for (n, slide) in list.iter().enumerate() {
            if let Some(slide) = slide {
                by_part
                    .entry(slide.part)
                    .and_modify(|(_, second)| *second = true)
                    .or_insert((n, false));
            }
        }
        let sure = sure && list.iter().all(Option::is_some);
        Self {
            list,
            by_part,
            sure,
        }
    }

    /// The one slide of the part that a key names.
    pub(crate) fn of(&self, desk: &mut Desk, field: &Field) -> Option<usize> {
        let part = moving(desk, field, "slides")?;
        let name = desk.name(Kind::Part, part);
        match self.by_part.get(&part) {
            Some(&(slide, false)) => Some(slide),
            Some((_, true)) => {
                field.bad(
                    desk,
                    format!("{name} is on two slides, so it moves on neither by itself"),
                    "name a part that is on one slide",
                );
                None
            }
            None if !self.sure => None,
            None => {
                desk.push(
                    Diagnostic::error("no-slide", format!("{name} is on no slide"))
                        .at(field.place(), "")
                        .help(format!(
                            "add `[slide.{name}]` with `part = \"{name}\"` and `along = \"up\"`"
                        )),
                );
                None
            }
        }
    }
}

/// Reads all racks.
pub(crate) fn racks(
    desk: &mut Desk,
    ground: &Ground,
    slides: &Slides,
    named: &[Named],
) -> Vec<Option<Rack>> {
    named
        .iter()
        .map(|n| rack(desk, ground, slides, n))
        .collect()
}

/// Half of module times teeth where both are given, else as written; both have to say the same.
fn radius(
    desk: &mut Desk,
    fields: &Fields,
    teeth: Option<usize>,
    cut: Option<Teeth>,
) -> Option<f64> {
    let of_teeth = match (teeth, cut) {
        (None, Some(_)) => {
            fields.need(desk, "teeth");
            return None;
        }
        (Some(_), None) => {
            fields.only_with(desk, &["teeth"], "`module` or `diametral-pitch`");
            return None;
        }
        (Some(n), Some(cut)) => Some(0.5 * cut.module * n as f64),
        (None, None) => None,
    };
    let written = match (fields.get("radius"), of_teeth) {
        (None, Some(radius)) => return Some(radius),
        (None, None) => fields.need(desk, "radius")?,
        (Some(field), _) => field,
    };
    let radius = written.positive_length(desk)?;
    if let Some(other) = of_teeth.filter(|r| (r - radius).abs() > 1e-3 * r) {
        written.bad(
            desk,
            format!("a pitch radius of {radius:.3} mm does not go with these teeth: half of module times teeth is {other:.3} mm"),
            "leave `radius` out, or change `teeth` or `module`",
        );
        return None;
    }
    Some(radius)
}

fn rack(desk: &mut Desk, ground: &Ground, slides: &Slides, named: &Named) -> Option<Rack> {
    let fields = Fields::new(desk, named.what(), &RACK, &named.entry)?;
    let gear_field = fields.need(desk, "gear");
    let gear = gear_field.and_then(|f| moving(desk, &f, "turns"));
    let slide = fields.need(desk, "rack").and_then(|f| slides.of(desk, &f));
    let cut = cut(desk, &fields);
    let teeth = match fields.get("teeth") {
        None => Ok(None),
        Some(f) => f.whole(desk, 1, 100_000).map(Some).ok_or(Told),
    };
    let radius = match (teeth, cut) {
        (Ok(teeth), Ok(cut)) => radius(desk, &fields, teeth, cut),
        _ => None,
    };
    let sense = fields.get("sense").map_or(Some(1.0), |f| {
        f.word(desk, &["forward", "backward"])
            .map(|n| [1.0, -1.0][n.min(1)])
    });
    let (gear, gear_field, slide) = (gear?, gear_field?, slide?);
    let (part, host) = slides.list.get(slide)?.as_ref().map(|s| (s.part, s.on))?;
    let on = ground.what(host);
    if ground.turns_with(gear) == ground.turns_with(part) {
        gear_field.bad(
            desk,
            format!(
                "{} is the rack and cannot be its own pinion",
                ground.what(gear)
            ),
            "name the part that turns",
        );
        return None;
    }
    if ground.whole && !ground.is_pinned(gear, host) {
        let what = ground.what(gear);
        desk.push(
            Diagnostic::error("not-pinned", format!("{what} does not turn on {on}, on which the rack slides: no point is carried by both"))
                .at(gear_field.place(), "")
                .help(format!("let {on} carry the centre of {what}")),
        );
        return None;
    }
    planes(desk, ground, &gear_field, gear, part)?;
    Some(Rack {
        name: named.entry.name.to_owned(),
        gear,
        slide,
        radius: radius? * sense?,
        teeth: teeth
            .ok()
            .flatten()
            .and_then(|n| u32::try_from(n).ok())
            .zip(cut.ok().flatten()),
        place: named.entry.place,
    })
}
