//! Loads, how work resists, and cases.

use super::hands::turns_with;
use super::{First, inner_table, positive};
use crate::asks;
use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Fields, Shape, entries};
use crate::ground::direction;
use crate::load::File;
use crate::model::{FRAME, PartId, Place, PointId};
use crate::readings::measure_of;
use crate::work::{Case, Load, LoadKind, Resists};
use quantity::Kind as Measure;

const HEAD: Shape = Shape {
    a: "a machine file",
    keys: &[("weight", "weight = \"down\"")],
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
        ("part", "part = \"lever\""),
        ("moment", "moment = \"2 N m\""),
        ("drags", "drags = true"),
        ("returns", "returns = 0.1"),
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

const CASE: Shape = Shape {
    a: "a case",
    keys: &[
        ("loads", "loads = [\"leather\"]"),
        ("when", "when = { crank = \"180 deg\" }"),
        ("seldom", "seldom = true"),
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

pub(super) fn loads(desk: &mut Desk, named: &[Named], first: &First) -> Vec<Load> {
    let mut loads = Vec::with_capacity(named.len());
    for n in named {
        // Cases count loads by their order, so a broken one must keep its place; the file is refused anyway.
        let kind = load(desk, n, first).unwrap_or(LoadKind::Moment {
            on: FRAME,
            moment: 0.0,
        });
        let drags = super::lone(n, &LOAD, "drags").and_then(|f| f.truth(desk));
        let returns = super::lone(n, &LOAD, "returns").and_then(|f| returns(desk, &f));
        loads.push(Load {
            drags: drags.unwrap_or(false),
            returns: returns.unwrap_or(1.0),
            name: n.entry.name.to_owned(),
            kind,
            place: n.entry.place,
        });
    }
    loads
}

/// How much of its force is left while it opens again.
fn returns(desk: &mut Desk, field: &Field) -> Option<f64> {
    let share = field.number(desk)?;
    if (0.0..=1.0).contains(&share) {
        return Some(share);
    }
    field.bad(
        desk,
        format!("`returns` is {share}, outside 0 to 1"),
        "write the share of the force that is left while it opens again: 0 of what stays as it was formed, 1 of rubber",
    );
    None
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
                "returns",
            ])
        } else if has("at") {
            Some(vec!["at", "force", "along", "with", "part", "drags"])
        } else if has("on") {
            Some(vec!["on", "moment", "drags"])
        } else {
            None
        }
    })?;
    let form = fields.one_of(desk, &["squeezes", "at", "on"])?;
    match form.key {
        "squeezes" => {
            fields.only_with(desk, &["along", "with", "part"], "`at`");
            fields.only_with(desk, &["moment"], "`on`");
            fields.only_with(desk, &["drags"], "`at` or `on`");
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
                &["begins", "stiffness", "table", "layer", "returns"],
                "`squeezes`",
            );
            fields.only_with(desk, &["moment"], "`on`");
            let at = form.name(desk, Kind::Point);
            let at = at.filter(|&at| first.moves(desk, at, &form).is_some());
            let force = fields
                .need(desk, "force")
                .and_then(|f| force_along(desk, &f));
            let along = fields.need(desk, "along").and_then(|f| direction(desk, &f));
            let with = fields.get("with").map(|f| turns_with(desk, &f, at, first));
            let with = with.map_or(Some(None), |w| w.map(Some));
            let on =
                at.and_then(|at| pressed(desk, &fields, at, with.flatten(), &form, first).ok());
            Some(LoadKind::Force {
                at: at?,
                force: force?,
                along: along?,
                with: with?,
                on: on?,
            })
        }
        _ => {
            fields.only_with(
                desk,
                &["begins", "stiffness", "table", "layer", "returns"],
                "`squeezes`",
            );
            fields.only_with(desk, &["along", "with", "force", "part"], "`at`");
            let on = form.name(desk, Kind::Part);
            let on = on.filter(|&on| turned(desk, on, &form, first).is_some());
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

/// The size of a force whose direction is written beside it.
fn force_along(desk: &mut Desk, field: &Field) -> Option<f64> {
    let written = field.quantity(desk, Measure::Force)?;
    if written.value > 0.0 {
        return Some(written.value);
    }
    field.bad(
        desk,
        format!("`force` is {}; it has to be above zero", written.show()),
        "write its size, and which way it goes as `along`",
    );
    None
}

/// What is wrong has been told already.
struct Told;

/// The part that a force at a point presses: the one that is named, the one that its direction turns with, or the only moving one there. None
/// where rods alone meet. Reports a pin of several moving parts: which of them is pressed decides what the pin carries.
fn pressed(
    desk: &mut Desk,
    fields: &Fields,
    at: PointId,
    with: Option<PartId>,
    form: &Field,
    first: &First,
) -> Result<Option<PartId>, Told> {
    let ground = first.ground;
    if fields.get("part").is_some() {
        return ground
            .carrier(desk, fields, "part", at, form)
            .map(Some)
            .ok_or(Told);
    }
    let moving = |p: &&PartId| **p != FRAME;
    let mut parts: Vec<PartId> = ground.carriers(at).iter().filter(moving).copied().collect();
    if let Some(with) = with.filter(|w| parts.contains(w)) {
        return Ok(Some(with));
    }
    let apart = |&p: &PartId| ground.turns_with(p) != ground.turns_with(parts[0]);
    if parts.len() > 1 && parts.iter().any(apart) {
        return ground
            .carrier(desk, fields, "part", at, form)
            .map(Some)
            .ok_or(Told);
    }
    // A shaft before the arms that are clamped on it.
    parts.sort_by_key(|&p| ground.turns_with(p) != p);
    Ok(parts.first().copied())
}

/// A moment can only turn what turns. Reports the frame, and parts that a slide keeps from turning.
pub(super) fn turned(desk: &mut Desk, part: PartId, field: &Field, first: &First) -> Option<()> {
    let slides = |s: &crate::model::Slide| s.part == part && s.on == FRAME;
    let (message, help) = if part == FRAME {
        (
            "the frame does not turn".to_owned(),
            "name a part that turns",
        )
    } else if first.slides.iter().flatten().any(slides) {
        let what = first.ground.what(part);
        (
            format!("{what} slides and does not turn"),
            "name a part that turns, or write a force with `at` and `along`",
        )
    } else {
        return Some(());
    };
    field.bad(desk, message, help);
    None
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
                layer: false,
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
                let force = positive(desk, &force, Measure::Force, true);
                pairs.push([at.length(desk)?, force?]);
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
                layer: true,
            })
        }
    }
}

pub(super) fn cases(desk: &mut Desk, named: &[Named], first: &First) -> Vec<Case> {
    let mut cases = Vec::with_capacity(named.len());
    for n in named {
        let (loads, when, seldom) = case(desk, n, first).unwrap_or_default();
        cases.push(Case {
            name: n.entry.name.to_owned(),
            loads,
            when,
            seldom,
            place: n.entry.place,
        });
    }
    cases
}

/// Warns of loads that no case names: with cases they never act.
pub(super) fn idle(desk: &mut Desk, loads: &[Load], cases: &[Case]) {
    for (index, load) in loads.iter().enumerate() {
        if !cases.is_empty() && !cases.iter().any(|c| c.loads.contains(&index)) {
            desk.push(
                Diagnostic::warning(
                    "idle",
                    format!("load {} acts in no case", crate::words::clip(&load.name)),
                )
                .at(load.place, "")
                .help("name it in the `loads` of a case, or take it out"),
            );
        }
    }
}

/// Loads of a case, values of drives, whether it comes seldom.
type LoadsAndDrives = (Vec<usize>, Vec<(usize, f64)>, bool);

fn case(desk: &mut Desk, named: &Named, first: &First) -> Option<LoadsAndDrives> {
    let fields = Fields::new(desk, named.what(), &CASE, &named.entry)?;
    let when = fields
        .get("when")
        .map_or_else(Vec::new, |f| asks::when(desk, first.drives, &f));
    let seldom = fields
        .get("seldom")
        .is_some_and(|f| f.truth(desk) == Some(true));
    let items = fields.need(desk, "loads")?.list(desk, "a list of loads")?;
    let mut loads: Vec<usize> = Vec::new();
    for item in &items {
        let Some(load) = item.name(desk, Kind::Load) else {
            continue;
        };
        if loads.contains(&load) {
            let name = desk.name(Kind::Load, load);
            desk.push(
                Diagnostic::error("same-twice", format!("`loads` names `{name}` twice"))
                    .at(item.place(), "the same again")
                    .help("a load acts once in a case: take one out"),
            );
        } else {
            loads.push(load);
        }
    }
    Some((
        loads,
        when.into_iter()
            .filter_map(|(d, v)| Some((d, v?)))
            .collect(),
        seldom,
    ))
}
