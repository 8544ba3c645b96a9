//! Drives and settings: what moves the machine and what adjusts it.

use std::collections::HashMap;
use std::f64::consts::TAU;

use quantity::{Kind as Measure, Unit, Written};

use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Fields, Shape, Value};
use crate::ground::{Ground, direction};
use crate::guides::moving;
use crate::model::{Adjusts, Drive, FRAME, Moves, Place, Reading, Rod, Row, Setting, Stop};
use crate::ratios::Slides;
use crate::readings::measure_of;
use crate::words::{clip, show};

const DRIVE: Shape = Shape {
    a: "a drive",
    keys: &[
        ("turns", "turns = \"lever\""),
        ("slides", "slides = \"ram\""),
        ("range", "range = [\"0 deg\", \"75 deg\"]"),
        ("drawn", "drawn = \"10 deg\""),
        ("sense", "sense = \"clockwise\""),
        ("step", "step = \"5 deg\""),
        ("hand", "hand = \"lever-grip\""),
    ],
};

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

/// Two ends of a range, the lower first and apart.
pub(crate) fn range(desk: &mut Desk, field: &Field, measure: Measure) -> Option<[Written; 2]> {
    let [from, to] = field.pair(desk, &format!("two ends, each {}", measure.words()))?;
    let (from, to) = (from.quantity(desk, measure), to.quantity(desk, measure));
    let (from, to) = (from?, to?);
    ordered(desk, field, &from, &to)?;
    Some([from, to])
}

/// The lower end comes first.
pub(crate) fn ordered(desk: &mut Desk, field: &Field, from: &Written, to: &Written) -> Option<()> {
    if from.value < to.value {
        return Some(());
    }
    let (a, b) = (clip(from.show()), clip(to.show()));
    if from.value == to.value {
        field.bad(
            desk,
            format!("both ends of the range are {a}"),
            "write two ends that lie apart, the lower one first",
        );
    } else {
        desk.push(
            Diagnostic::error(
                "range",
                format!("the range runs the wrong way: {a} is more than {b}"),
            )
            .at(field.place(), "")
            .help(format!("the lower end comes first: `[\"{b}\", \"{a}\"]`")),
        );
    }
    None
}

/// A step above zero.
fn step(desk: &mut Desk, field: &Field, measure: Measure) -> Option<Written> {
    let step = field.quantity(desk, measure)?;
    if step.value <= 0.0 {
        field.bad(
            desk,
            format!(
                "a step of {} leads nowhere; it has to be above zero",
                clip(step.show())
            ),
            "write how far one step goes",
        );
        return None;
    }
    Some(step)
}

/// Unit to print values in: the one that was written, or that of bare numbers.
fn unit_of(written: &[Option<&Written>], measure: Measure, field_unit: Unit) -> Unit {
    written
        .iter()
        .flatten()
        .map(|w| w.unit)
        .find(|u| u.kind() == measure)
        .unwrap_or(if measure == Measure::Length {
            field_unit
        } else {
            Unit::Degree
        })
}

/// Reads all drives; those that are broken are `None`.
pub(crate) fn drives(
    desk: &mut Desk,
    ground: &Ground,
    slides: &Slides,
    named: &[Named],
) -> Vec<Option<Drive>> {
    let mut taken: HashMap<(bool, usize), Place> = HashMap::new();
    named
        .iter()
        .map(|n| {
            let drive = drive(desk, ground, slides, n)?;
            let moves = match drive.moves {
                Moves::Turns(part) => (true, ground.turns_with(part)),
                Moves::Slides(slide) => (false, slide),
            };
            if let Some(&first) = taken.get(&moves) {
                let message = format!("{} moves what another drive moves already", n.what());
                desk.push(
                    Diagnostic::error("driven-twice", message)
                        .at(drive.place, "")
                        .at(first, "moves it too")
                        .help("take one of the drives out"),
                );
            }
            taken.entry(moves).or_insert(drive.place);
            Some(drive)
        })
        .collect()
}

fn drive(desk: &mut Desk, ground: &Ground, slides: &Slides, named: &Named) -> Option<Drive> {
    let fields = Fields::new(desk, named.what(), &DRIVE, &named.entry)?;
    let before = desk.errors();
    let what = fields.one_of(desk, &["turns", "slides"])?;
    let turns = what.key == "turns";
    let moves = if turns {
        turned(desk, ground, &what)
    } else {
        slides.of(desk, &what).map(Moves::Slides)
    };
    let measure = if turns {
        Measure::Angle
    } else {
        Measure::Length
    };
    let drawn = fields.get("drawn").map(|f| (f, f.quantity(desk, measure)));
    let drawn_value = drawn
        .as_ref()
        .map_or(Some(0.0), |(_, w)| w.as_ref().map(|w| w.value));
    let mut whole_turn = false;
    let range = fields.get("range").map(|f| {
        if let Value::Text(text) = f.node.value {
            if turns {
                whole_turn = text == "whole turn";
                if !whole_turn {
                    f.bad(desk, format!("\"{}\" is no range", clip(text)), "write `range = \"whole turn\"` or two angles: `range = [\"0 deg\", \"75 deg\"]`");
                }
            } else if text == "whole turn" {
                f.bad(desk, "a slide does not turn; its range is two lengths", "write `range = [\"0 mm\", \"60 mm\"]`");
            } else {
                f.wrong(desk, "two lengths");
            }
            return None;
        }
        range(desk, &f, measure)
    });
    let range = range.flatten();
    let words: [&'static str; 2] = if turns {
        ["counter-clockwise", "clockwise"]
    } else {
        ["forward", "backward"]
    };
    let sense = fields.get("sense").map_or(Some(1.0), |f| {
        f.word(desk, &words)
            .map(|n| if n == 0 { 1.0 } else { -1.0 })
    });
    let step = fields.get("step").map(|f| step(desk, &f, measure));
    let step = step.flatten();
    let unit = unit_of(
        &[
            range.as_ref().map(|[from, _]| from),
            drawn.as_ref().and_then(|(_, w)| w.as_ref()),
        ],
        measure,
        named.entry.node.unit,
    );
    let drawn_value = drawn_value?;
    if let Some([from, to]) = &range {
        let place = drawn.as_ref().map(|(f, _)| *f).or(fields.get("range"))?;
        let help = if drawn.is_some() {
            "widen the range, or write another value as drawn"
        } else {
            "write `drawn`, the value in the position as drawn; without it that is zero"
        };
        within(
            desk,
            &place,
            "drawn",
            help,
            drawn_value,
            [from.value, to.value],
            unit,
        );
    }
    let range = if whole_turn {
        Some([drawn_value, drawn_value + TAU])
    } else {
        range.map(|[a, b]| [a.value, b.value])
    };
    if desk.errors() > before {
        return None;
    }
    Some(Drive {
        name: named.entry.name.to_owned(),
        moves: moves?,
        range,
        whole_turn,
        drawn: drawn_value,
        sense: sense?,
        step: step.map(|w| w.value),
        unit,
        place: named.entry.place,
    })
}

/// The value has to lie in the range.
pub(crate) fn within(
    desk: &mut Desk,
    field: &Field,
    what: &str,
    help: &str,
    value: f64,
    [from, to]: [f64; 2],
    unit: Unit,
) -> Option<()> {
    // A degree written one way and the other may differ in the last figure.
    let slack = 1e-12 * from.abs().max(to.abs());
    let beyond = (from - value).max(value - to);
    if beyond <= slack {
        return Some(());
    }
    let (value, from, to, beyond) = (
        show(value, unit),
        show(from, unit),
        show(to, unit),
        show(beyond, unit),
    );
    desk.push(
        Diagnostic::error(
            "range",
            format!("the value {what}, {value}, lies {beyond} outside the range of {from} to {to}"),
        )
        .at(field.place(), "")
        .help(help),
    );
    None
}

/// A part that turns on the frame.
fn turned(desk: &mut Desk, ground: &Ground, field: &Field) -> Option<Moves> {
    let part = moving(desk, field, "turns")?;
    if ground.whole && !ground.is_pinned(part, FRAME) {
        let what = ground.what(part);
        let name = desk.name(Kind::Part, part);
        desk.push(
            Diagnostic::error("not-pinned", format!("{what} does not turn on the frame: no point is carried by both"))
                .at(field.place(), "")
                .help(format!("drive a part that turns on a pin of the frame, or a part on a slide by `slides = \"{name}\"`")),
        );
        return None;
    }
    Some(Moves::Turns(part))
}

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
            let ends = if found.both_ends { 2.0 } else { 1.0 };
            let lead = found.thread.as_ref().map(|t| t.pitch * ends);
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

/// Unit of a drive's values.
pub(crate) fn drive_measure(drive: &Drive) -> Measure {
    match drive.moves {
        Moves::Turns(_) => Measure::Angle,
        Moves::Slides(_) => Measure::Length,
    }
}
