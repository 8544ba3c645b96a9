//! Drives: what moves the machine.

use std::collections::HashMap;
use std::f64::consts::TAU;

use quantity::{Kind as Measure, Unit, Written};

use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Fields, Shape, Value};
use crate::ground::Ground;
use crate::guides::moving;
use crate::model::{Drive, FRAME, Moves, Place};
use crate::ratios::Slides;
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
        ("per-minute", "per-minute = 60"),
    ],
};

/// Most turns of a range: beyond, places on the way would lie too far apart to be told.
const MOST_TURNS: f64 = 100.0;

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
pub(crate) fn step(desk: &mut Desk, field: &Field, measure: Measure) -> Option<Written> {
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
pub(crate) fn unit_of(written: &[Option<&Written>], measure: Measure, field_unit: Unit) -> Unit {
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
        let found = range(desk, &f, measure);
        if let Some([from, to]) = &found
            && turns
            && to.value - from.value > MOST_TURNS * TAU
        {
            let turns = (to.value - from.value) / TAU;
            f.bad(
                desk,
                format!("this range is {turns:.0} turns; a drive runs through {MOST_TURNS:.0} at most"),
                "write the turns that matter, or `range = \"whole turn\"`",
            );
            return None;
        }
        found
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

/// Unit of a drive's values.
pub(crate) fn drive_measure(drive: &Drive) -> Measure {
    match drive.moves {
        Moves::Turns(_) => Measure::Angle,
        Moves::Slides(_) => Measure::Length,
    }
}
