//! Settings: what is adjusted by hand and does not move in work.

use std::collections::HashMap;
use std::f64::consts::TAU;

use quantity::{Kind as Measure, Unit, Written};

use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::drives::{ordered, range, step, unit_of, within};
use crate::fields::{Field, Fields, Shape, Value};
use crate::ground::{Ground, direction};
use crate::model::{Adjusts, Place, Reading, Rod, Row, Setting, Stop};
use crate::readings::measure_of;
use crate::words::clip;

const SETTING: Shape = Shape {
    a: "a setting",
    keys: &[
        ("rod", "rod = \"front\""),
        ("row", "row = \"link-holes\""),
        ("clock", "clock = \"cross-arm\""),
        ("shim", "shim = \"anvil-face\""),
        ("stop", "stop = \"lever-end\""),
        ("along", "along = \"up\""),
        ("on", "on = \"bed\""),
        ("step", "step = \"0.05 mm\""),
        ("range", "range = [\"-4 mm\", \"4 mm\"]"),
    ],
};

/// What settings can adjust.
pub(crate) struct Adjustable<'a> {
    pub(crate) rods: &'a [Option<Rod>],
    pub(crate) rows: &'a [Option<Row>],
    pub(crate) stops: &'a [Option<Stop>],
    pub(crate) readings: &'a [Option<Reading>],
}

/// Reads all settings; those that are broken are `None`.
pub(crate) fn settings(
    desk: &mut Desk,
    ground: &Ground,
    on: &Adjustable,
    named: &[Named],
) -> Vec<Option<Setting>> {
    let mut taken: HashMap<(u8, usize, usize), Place> = HashMap::new();
    named
        .iter()
        .map(|n| {
            let setting = setting(desk, ground, on, n)?;
            let what = match setting.adjusts {
                Adjusts::Rod(rod) => (0, rod, 0),
                Adjusts::Row(row) => (1, row, 0),
                Adjusts::Clock(arm) => (2, arm, 0),
                Adjusts::Stop(stop) => (3, stop, 0),
                // A point may have a shim under it and another beside it.
                Adjusts::Shim { point, along, .. } => (4, point, along.to_bits() as usize),
            };
            if let Some(&first) = taken.get(&what) {
                let message = format!("{} adjusts what another setting adjusts already", n.what());
                desk.push(
                    Diagnostic::error("set-twice", message)
                        .at(setting.place, "")
                        .at(first, "adjusts it too")
                        .help("take one of the settings out"),
                );
            }
            taken.entry(what).or_insert(setting.place);
            Some(setting)
        })
        .collect()
}

/// How a setting's values are written and what they go by.
struct Scale {
    adjusts: Adjusts,
    measure: Measure,
    drawn: f64,
    /// Length of a turn of a threaded rod, mm.
    lead: Option<f64>,
}

fn setting(desk: &mut Desk, ground: &Ground, on: &Adjustable, named: &Named) -> Option<Setting> {
    let fields = Fields::new(desk, named.what(), &SETTING, &named.entry)?;
    let before = desk.errors();
    let what = fields.one_of(desk, &["rod", "row", "clock", "shim", "stop"])?;
    if what.key != "shim" {
        fields.only_with(desk, &["along", "on"], "`shim`");
    }
    let scale = scale(desk, ground, on, &fields, &what)?;
    let step = fields.get("step").map(|f| setting_step(desk, &f, &scale));
    let range = fields
        .get("range")
        .map(|f| (f, setting_range(desk, &f, &scale)));
    if desk.errors() > before {
        return None;
    }
    let (step, range) = (step.flatten(), range.and_then(|(f, r)| Some((f, r?))));
    let unit = if scale.measure == Measure::Count {
        Unit::One
    } else {
        let written = range.as_ref().map(|(_, [from, _])| from);
        unit_of(
            &[written, step.as_ref().map(|(_, w)| w)],
            scale.measure,
            named.entry.node.unit,
        )
    };
    if let Some((field, [from, to])) = &range {
        within(
            desk,
            field,
            "as drawn",
            "the range has to hold the value as drawn",
            scale.drawn,
            [from.value, to.value],
            unit,
        )?;
    }
    Some(Setting {
        name: named.entry.name.to_owned(),
        adjusts: scale.adjusts,
        step: step.map(|(value, _)| value),
        range: range.map(|(_, [from, to])| [from.value, to.value]),
        drawn: scale.drawn,
        unit,
        place: named.entry.place,
    })
}

fn scale(
    desk: &mut Desk,
    ground: &Ground,
    on: &Adjustable,
    fields: &Fields,
    what: &Field,
) -> Option<Scale> {
    let plain = |adjusts, measure| Scale {
        adjusts,
        measure,
        drawn: 0.0,
        lead: None,
    };
    match what.key {
        "rod" => {
            let rod = what.name(desk, Kind::Rod)?;
            let found = on.rods.get(rod)?.as_ref()?;
            let lead = found.lead();
            Some(Scale {
                lead,
                ..plain(Adjusts::Rod(rod), Measure::Length)
            })
        }
        "row" => {
            let row = what.name(desk, Kind::Row)?;
            let used = on.rows.get(row)?.as_ref()?.used;
            Some(Scale {
                drawn: (used + 1) as f64,
                ..plain(Adjusts::Row(row), Measure::Count)
            })
        }
        "clock" => {
            let part = what.name(desk, Kind::Part)?;
            if ground.part(part).is_some_and(|p| p.clamped_to.is_none()) {
                if ground.whole {
                    let what_part = ground.what(part);
                    desk.push(
                        Diagnostic::error(
                            "clamp",
                            format!("{what_part} is not clamped to a shaft and has no clock angle"),
                        )
                        .at(what.place(), "")
                        .help("name an arm with `clamped-to`"),
                    );
                }
                return None;
            }
            Some(plain(Adjusts::Clock(part), Measure::Angle))
        }
        "shim" => {
            let along = fields.need(desk, "along").and_then(|f| direction(desk, &f));
            let point = what.name(desk, Kind::Point)?;
            let part = ground.carrier(desk, fields, "on", point, what)?;
            Some(plain(
                Adjusts::Shim {
                    point,
                    part,
                    along: along?,
                },
                Measure::Length,
            ))
        }
        _ => {
            let stop = what.name(desk, Kind::Stop)?;
            let found = on.stops.get(stop)?.as_ref()?;
            let ((Some(drawn), None) | (None, Some(drawn))) = (found.at_least, found.at_most)
            else {
                what.bad(
                    desk,
                    format!(
                        "stop {} has two limits; a setting adjusts one",
                        clip(&found.name)
                    ),
                    "make two stops of it, each with one limit",
                );
                return None;
            };
            let measure = measure_of(on.readings, found.reading)?;
            Some(Scale {
                drawn,
                ..plain(Adjusts::Stop(stop), measure)
            })
        }
    }
}

/// The step of a setting: its value in inside units and as written.
fn setting_step(desk: &mut Desk, field: &Field, scale: &Scale) -> Option<(f64, Written)> {
    if scale.measure == Measure::Count {
        let n = field.whole(desk, 1, 1000)? as f64;
        return Some((n, quantity::number(n, Measure::Count, Unit::One).ok()?));
    }
    if in_turns(field) && scale.measure == Measure::Length {
        let turns = step(desk, field, Measure::Angle)?;
        return turned_length(desk, field, scale, &turns).map(|mm| (mm, turns));
    }
    step(desk, field, scale.measure).map(|w| (w.value, w))
}

/// Whether a text speaks of turns.
fn in_turns(field: &Field) -> bool {
    matches!(field.node.value, Value::Text(text) if text.contains("turn"))
}

/// So much of a turn in mm.
fn turned_length(desk: &mut Desk, field: &Field, scale: &Scale, turns: &Written) -> Option<f64> {
    let Some(lead) = scale.lead else {
        let message = if matches!(scale.adjusts, Adjusts::Rod(_)) {
            "the rod has no thread, so a turn has no length"
        } else {
            "turns only go with a threaded rod"
        };
        desk.push(
            Diagnostic::error("no-thread", message)
                .at(field.place(), "")
                .help("write a length, or give the rod its thread: `thread = \"M8\"`"),
        );
        return None;
    };
    Some(turns.value / TAU * lead)
}

fn setting_range(desk: &mut Desk, field: &Field, scale: &Scale) -> Option<[Written; 2]> {
    if scale.measure != Measure::Count {
        return range(desk, field, scale.measure);
    }
    let most = match scale.adjusts {
        Adjusts::Row(_) => crate::points::MOST_HOLES,
        _ => i64::from(i32::MAX),
    };
    let [from, to] = field.pair(desk, "two hole numbers")?;
    let (from, to) = (from.whole(desk, 1, most), to.whole(desk, 1, most));
    let count = |n: usize| quantity::number(n as f64, Measure::Count, Unit::One).ok();
    let (from, to) = (count(from?)?, count(to?)?);
    ordered(desk, field, &from, &to)?;
    Some([from, to])
}

/// Checks settings against what they adjust.
pub(crate) fn check(
    desk: &mut Desk,
    ground: &Ground,
    on: &Adjustable,
    settings: &[Option<Setting>],
    named: &[Named],
) {
    for (setting, named) in settings.iter().zip(named) {
        let Some((setting, [low, high])) = setting.as_ref().and_then(|s| Some((s, s.range?)))
        else {
            continue;
        };
        let place = named
            .entry
            .node
            .entries()
            .into_iter()
            .find(|e| e.name == "range")
            .map_or(setting.place, |e| e.node.place);
        match setting.adjusts {
            Adjusts::Rod(rod) => {
                let length = on.rods.get(rod).and_then(Option::as_ref).and_then(|r| {
                    let [a, b] = r.joins;
                    Some(crate::vector::length3(crate::vector::sub3(
                        ground.space(a)?,
                        ground.space(b)?,
                    )))
                });
                if let Some(length) = length.filter(|l| low <= -l) {
                    let (length, low) = (desk.show(length), desk.show(low));
                    desk.push(
                        Diagnostic::error(
                            "range",
                            format!(
                                "the rod is {length} long as drawn and cannot be shortened by {}",
                                low.trim_start_matches('-')
                            ),
                        )
                        .at(place, "")
                        .help("write a smaller range"),
                    );
                }
            }
            Adjusts::Row(row) => {
                let count = on
                    .rows
                    .get(row)
                    .and_then(Option::as_ref)
                    .map_or(0, |r| r.holes.len());
                if count > 0 && high > count as f64 {
                    desk.push(
                        Diagnostic::error(
                            "range",
                            format!("the row has {count} holes; there is no hole {high}"),
                        )
                        .at(place, "")
                        .help(format!(
                            "write `range = [1, {count}]`, or leave it out for all holes"
                        )),
                    );
                }
            }
            _ => {}
        }
    }
}
