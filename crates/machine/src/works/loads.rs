//! Loads, springs, cases, hands, detents and clamps.

use super::coils::{self, Works};
use super::{First, inner_table, lone, low_high_number, positive};
use crate::asks;
use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::fields::{Field, Fields, Shape, entries};
use crate::ground::direction;
use crate::load::File;
use crate::model::{FRAME, Moves, Place, PointId};
use crate::readings::measure_of;
use crate::work::{Case, Clamp, Detent, Load, LoadKind, Resists, Seat, Spring, SpringKind};
use quantity::Kind as Measure;

const HEAD: Shape = Shape {
    a: "a machine file",
    keys: &[("weight", "weight = \"down\"")],
};

const HAND: Shape = Shape {
    a: "a drive",
    keys: &[
        ("hand", "hand = \"lever-grip\""),
        ("per-minute", "per-minute = 60"),
    ],
};

const LOAD: Shape = Shape {
    a: "a load",
    keys: &[
        ("squeezes", "squeezes = \"gap\""),
        ("at", "at = \"lever-grip\""),
        ("on", "on = \"crank\""),
        ("begins", "begins = \"2.4 mm\""),
        ("stiffness", "stiffness = \"9 kN/mm\""),
        ("force", "force = \"20 N\""),
        (
            "table",
            "table = [[\"2.4 mm\", \"0 N\"], [\"1.2 mm\", \"3 kN\"]]",
        ),
        (
            "layer",
            "layer = { area = [\"30 mm\", \"40 mm\"], thickness = \"2.4 mm\", modulus = \"40 MPa\" }",
        ),
        ("along", "along = \"down\""),
        ("with", "with = \"lever\""),
        ("moment", "moment = \"2 N m\""),
    ],
};

const LAYER: Shape = Shape {
    a: "a layer",
    keys: &[
        ("area", "area = [\"30 mm\", \"40 mm\"]"),
        ("thickness", "thickness = \"2.4 mm\""),
        ("modulus", "modulus = \"40 MPa\""),
    ],
};

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
        ("free", "free = \"40 mm\""),
        ("slack", "slack = \"-20 deg\""),
        ("pushes-only", "pushes-only = true"),
        ("pulls-only", "pulls-only = true"),
    ],
};

const CASE: Shape = Shape {
    a: "a case",
    keys: &[
        ("loads", "loads = [\"leather\"]"),
        ("when", "when = { crank = \"180 deg\" }"),
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
        ("friction", "friction = 0.12"),
    ],
};

const SEAT: Shape = Shape {
    a: "a seat",
    keys: &[
        ("cone", "cone = \"90 deg\""),
        ("hole", "hole = \"4 mm\""),
        ("ball", "ball = \"6 mm\""),
    ],
};

const CLAMP: Shape = Shape {
    a: "a clamp",
    keys: &[
        ("holds", "holds = \"set\""),
        ("radius", "radius = \"12 mm\""),
    ],
};

/// The way weights act, from the head of the machine file.
pub(super) fn weight(desk: &mut Desk, files: &[File]) -> Option<f64> {
    let main = files.first()?;
    let nowhere = Place {
        source: main.source,
        start: 0,
        end: 0,
    };
    let entry = entries(&main.root, nowhere, main.unit)
        .into_iter()
        .find(|e| e.name == "weight")?;
    direction(desk, &Field::lone(&HEAD, "weight", entry.node)?)
}

/// Turns a minute of each drive, or times there and back.
pub(super) fn per_minute(desk: &mut Desk, named: &[Named]) -> Vec<Option<f64>> {
    let one = |n: &Named| {
        let field = lone(n, &HAND, "per-minute")?;
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

/// Where the hand takes hold of each drive.
pub(super) fn hands(desk: &mut Desk, named: &[Named], first: &First) -> Vec<Option<PointId>> {
    named
        .iter()
        .zip(first.drives)
        .map(|(named, drive)| {
            let field = lone(named, &HAND, "hand")?;
            let point = field.name(desk, Kind::Point)?;
            let Moves::Turns(part) = drive.as_ref()?.moves else {
                return Some(point);
            };
            let root = first.ground.turns_with(part);
            let moves = first
                .ground
                .carriers(point)
                .iter()
                .any(|&p| first.ground.turns_with(p) == root);
            if !moves {
                let (point, part) = (desk.name(Kind::Point, point), first.ground.what(part));
                field.bad(
                    desk,
                    format!("{point} does not move with {part}"),
                    "name a point that the driven part carries",
                );
                return None;
            }
            Some(point)
        })
        .collect()
}

pub(super) fn loads(desk: &mut Desk, named: &[Named], first: &First) -> Vec<Load> {
    let mut loads = Vec::with_capacity(named.len());
    for n in named {
        // Cases count loads by their order, so a broken one must keep its place; the file is refused anyway.
        let kind = load(desk, n, first).unwrap_or(LoadKind::Moment {
            on: FRAME,
            moment: 0.0,
        });
        loads.push(Load {
            name: n.entry.name.to_owned(),
            kind,
            place: n.entry.place,
        });
    }
    loads
}

fn load(desk: &mut Desk, named: &Named, first: &First) -> Option<LoadKind> {
    let fields = Fields::of_form(desk, named.what(), &LOAD, &named.entry, |written| {
        let has = |key: &str| written.iter().any(|f| f.key == key);
        if has("squeezes") {
            Some(vec![
                "squeezes",
                "begins",
                "stiffness",
                "force",
                "table",
                "layer",
            ])
        } else if has("at") {
            Some(vec!["at", "force", "along", "with"])
        } else if has("on") {
            Some(vec!["on", "moment"])
        } else {
            None
        }
    })?;
    let form = fields.one_of(desk, &["squeezes", "at", "on"])?;
    match form.key {
        "squeezes" => {
            fields.only_with(desk, &["along", "with"], "`at`");
            fields.only_with(desk, &["moment"], "`on`");
            let reading = form.name(desk, Kind::Reading);
            let resists = resists(desk, &fields);
            let reading = reading?;
            if first
                .readings
                .get(reading)
                .and_then(Option::as_ref)
                .is_some_and(|r| matches!(r.measures, crate::model::Measures::Over { .. }))
            {
                let name = desk.name(Kind::Reading, reading);
                form.bad(
                    desk,
                    format!("{name} runs over a drive; work presses on one pose at a time"),
                    "name the reading inside it",
                );
                return None;
            }
            if measure_of(first.readings, reading) == Some(Measure::Angle) {
                let name = desk.name(Kind::Reading, reading);
                form.bad(
                    desk,
                    format!("{name} is an angle; work squeezes a length"),
                    "name a gap or a distance",
                );
                return None;
            }
            Some(LoadKind::Squeezes {
                reading,
                resists: resists?,
            })
        }
        "at" => {
            fields.only_with(
                desk,
                &["begins", "stiffness", "table", "layer"],
                "`squeezes`",
            );
            fields.only_with(desk, &["moment"], "`on`");
            let at = form.name(desk, Kind::Point);
            let force = fields
                .need(desk, "force")
                .and_then(|f| f.quantity(desk, Measure::Force));
            let along = fields.need(desk, "along").and_then(|f| direction(desk, &f));
            let with = fields.get("with").map(|f| f.name(desk, Kind::Part));
            Some(LoadKind::Force {
                at: at?,
                force: force?.value,
                along: along?,
                with: with.map_or(Some(None), |w| w.map(Some))?,
            })
        }
        _ => {
            fields.only_with(
                desk,
                &["begins", "stiffness", "table", "layer"],
                "`squeezes`",
            );
            fields.only_with(desk, &["along", "with", "force"], "`at`");
            let on = form.name(desk, Kind::Part);
            let moment = fields
                .need(desk, "moment")
                .and_then(|f| f.quantity(desk, Measure::Moment));
            Some(LoadKind::Moment {
                on: on?,
                moment: moment?.value,
            })
        }
    }
}

fn resists(desk: &mut Desk, fields: &Fields) -> Option<Resists> {
    let form = fields.one_of(desk, &["stiffness", "force", "table", "layer"])?;
    let begins = fields.get("begins");
    match form.key {
        "stiffness" => {
            let begins = fields.need(desk, "begins").and_then(|f| f.length(desk));
            let stiffness = positive(desk, &form, Measure::Stiffness, false);
            Some(Resists::Linear {
                begins: begins?,
                stiffness: stiffness?,
            })
        }
        "force" => {
            let below = begins.map_or(Some(f64::INFINITY), |f| f.length(desk));
            let force = positive(desk, &form, Measure::Force, true);
            Some(Resists::Constant {
                force: force?,
                below: below?,
            })
        }
        "table" => {
            fields.only_with(desk, &["begins"], "`stiffness` or `force`");
            let items = form.list(desk, "pairs of a length and a force")?;
            let mut pairs = Vec::with_capacity(items.len());
            for item in items {
                let [at, force] = item.pair(desk, "a length and a force")?;
                let (at, force) = (at.length(desk), force.quantity(desk, Measure::Force));
                pairs.push([at?, force?.value]);
            }
            pairs.sort_by(|a, b| a[0].total_cmp(&b[0]));
            if pairs.len() < 2 || pairs.windows(2).any(|w| w[0][0] == w[1][0]) {
                form.bad(
                    desk,
                    "a table needs at least two different lengths",
                    "write it like `table = [[\"2.4 mm\", \"0 N\"], [\"1.2 mm\", \"3 kN\"]]`",
                );
                return None;
            }
            Some(Resists::Table(pairs))
        }
        _ => {
            fields.only_with(desk, &["begins"], "`stiffness` or `force`");
            let layer = Fields::new(desk, "the layer".to_owned(), &LAYER, &inner_table(&form))?;
            let area = layer.need(desk, "area").and_then(|f| f.lengths(desk));
            let thickness = layer
                .need(desk, "thickness")
                .and_then(|f| f.positive_length(desk));
            let modulus = layer
                .need(desk, "modulus")
                .and_then(|f| positive(desk, &f, Measure::Pressure, false));
            let ([a, b], thickness, modulus) = (area?, thickness?, modulus?);
            if a <= 0.0 || b <= 0.0 {
                form.bad(
                    desk,
                    "the area of the layer has to be above zero",
                    "write its two sides",
                );
                return None;
            }
            Some(Resists::Linear {
                begins: thickness,
                stiffness: modulus * a * b / thickness,
            })
        }
    }
}

pub(super) fn springs(desk: &mut Desk, named: &[Named]) -> Vec<Spring> {
    named.iter().filter_map(|n| spring(desk, n)).collect()
}

fn spring(desk: &mut Desk, named: &Named) -> Option<Spring> {
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
        let against = fields
            .get("against")
            .map_or(Some(FRAME), |f| f.name(desk, Kind::Part));
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
    let coil = match coil {
        None => None,
        Some(field) => {
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
            Some(coils::coil(desk, &named.what(), &field, works)?)
        }
    };
    Some(Spring {
        name: named.entry.name.to_owned(),
        kind,
        coil,
        pushes_only,
        pulls_only,
        place: named.entry.place,
    })
}

pub(super) fn cases(desk: &mut Desk, named: &[Named], first: &First) -> Vec<Case> {
    let mut cases = Vec::with_capacity(named.len());
    for n in named {
        let (loads, when) = case(desk, n, first).unwrap_or_default();
        cases.push(Case {
            name: n.entry.name.to_owned(),
            loads,
            when,
            place: n.entry.place,
        });
    }
    cases
}

/// Loads of a case and values of drives.
type LoadsAndDrives = (Vec<usize>, Vec<(usize, f64)>);

fn case(desk: &mut Desk, named: &Named, first: &First) -> Option<LoadsAndDrives> {
    let fields = Fields::new(desk, named.what(), &CASE, &named.entry)?;
    let when = fields
        .get("when")
        .map_or_else(Vec::new, |f| asks::when(desk, first.drives, &f));
    let items = fields.need(desk, "loads")?.list(desk, "a list of loads")?;
    let loads: Vec<usize> = items
        .iter()
        .filter_map(|f| f.name(desk, Kind::Load))
        .collect();
    Some((
        loads,
        when.into_iter()
            .filter_map(|(d, v)| Some((d, v?)))
            .collect(),
    ))
}

pub(super) fn detents(desk: &mut Desk, named: &[Named], first: &First) -> Vec<Detent> {
    named
        .iter()
        .filter_map(|n| detent(desk, n, first))
        .collect()
}

fn detent(desk: &mut Desk, named: &Named, first: &First) -> Option<Detent> {
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
    let at = fields
        .need(desk, "at")
        .and_then(|f| f.quantity(desk, measure));
    let radius = if turns == Some(false) {
        fields.only_with(desk, &["radius"], "a drive that turns");
        Some(1.0)
    } else {
        fields
            .need(desk, "radius")
            .and_then(|f| f.positive_length(desk))
    };
    let spring = fields
        .need(desk, "spring")
        .and_then(|f| positive(desk, &f, Measure::Force, false));
    let seat = fields.need(desk, "seat").and_then(|f| seat(desk, &f));
    let friction = fields
        .get("friction")
        .map(|f| low_high_number(desk, &f, 1.0));
    Some(Detent {
        name: named.entry.name.to_owned(),
        drive: drive?,
        at: at?.value,
        radius: radius?,
        seat: seat?,
        spring: spring?,
        friction: friction.map_or(Some(None), |f| f.map(Some))?,
        place: named.entry.place,
    })
}

fn seat(desk: &mut Desk, field: &Field) -> Option<Seat> {
    let fields = Fields::new(desk, "the seat".to_owned(), &SEAT, &inner_table(field))?;
    let form = fields.one_of(desk, &["cone", "hole"])?;
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
    let holds = holds?;
    let drive = holds.name(desk, Kind::Drive)?;
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
        place: named.entry.place,
    })
}
