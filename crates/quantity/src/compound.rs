//! Feet and inches, and degrees, minutes and seconds.

use crate::error::{QuantityError, one_line, quote};
use crate::number::{Number, scan, skip_blanks, tail};
use crate::{Form, Kind, Unit};

/// A step of a compound: the marks behind its number, and how many of it make one of the step before.
struct Step {
    marks: &'static [&'static str],
    per_step_before: f64,
    name: &'static str,
}

const FEET: [Step; 2] = [
    Step {
        marks: &["'", "′", "’", "ft", "foot", "feet"],
        per_step_before: f64::INFINITY,
        name: "feet",
    },
    Step {
        marks: &["\"", "″", "”", "''", "in", "inch", "inches"],
        per_step_before: 12.0,
        name: "inches",
    },
];

const DEGREES: [Step; 3] = [
    Step {
        marks: &["°", "º", "deg"],
        per_step_before: f64::INFINITY,
        name: "degrees",
    },
    Step {
        marks: &["'", "′", "’"],
        per_step_before: 60.0,
        name: "minutes",
    },
    Step {
        marks: &["\"", "″", "”", "''"],
        per_step_before: 60.0,
        name: "seconds",
    },
];

/// Reads on behind the first number. Gives the value in the inside unit, the leading unit and the form;
/// `None` when the text is no compound at all.
pub(crate) fn read(
    text: &str,
    first: Number,
    kind: Kind,
) -> Result<Option<(f64, Unit, Form)>, QuantityError> {
    let steps: &[Step] = match kind {
        Kind::Length => &FEET,
        Kind::Angle => &DEGREES,
        _ => return Ok(None),
    };
    let mut total = 0.0;
    let mut number = first;
    let mut start = 0;
    let mut next_step = 0;
    loop {
        let mark_at = skip_blanks(text, number.end);
        let Some((step, mark)) = mark(text, mark_at, steps, next_step) else {
            return missing_mark(text, start, mark_at, steps.get(next_step)).map(|()| None);
        };
        let Some(this) = steps.get(step) else {
            return Ok(None);
        };
        if next_step > 0 && number.x >= this.per_step_before {
            return Err(QuantityError::new(
                start..mark_at + mark,
                format!("{} {} are too many here", number.x, this.name),
                format!(
                    "write fewer than {}, and carry the rest",
                    this.per_step_before
                ),
            ));
        }
        for skipped in steps.get(next_step..=step).unwrap_or_default() {
            if skipped.per_step_before.is_finite() {
                total *= skipped.per_step_before;
            }
        }
        total += number.x;
        let mut at = skip_blanks(text, mark_at + mark);
        if at == text.len() {
            let below: f64 = steps
                .get(step + 1..)
                .unwrap_or_default()
                .iter()
                .map(|s| s.per_step_before)
                .product();
            return Ok(Some(value(kind, total * below, number.form)));
        }
        if number.x.fract() != 0.0 {
            return Err(QuantityError::new(
                start..mark_at + mark,
                "only the last part may have a fraction",
                format!("write whole {}", this.name),
            ));
        }
        if kind == Kind::Length && tail(text, at).starts_with('-') {
            at = skip_blanks(text, at + 1);
        }
        let Some(read) = scan(text, at)? else {
            return Ok(None);
        };
        (number, start, next_step) = (read, at, step + 1);
    }
}

/// The step, not before `from`, whose mark stands at `at`, and the length of the mark.
fn mark(text: &str, at: usize, steps: &[Step], from: usize) -> Option<(usize, usize)> {
    let rest = tail(text, at);
    let fits = |mark: &&str| {
        let behind = rest.strip_prefix(*mark).and_then(|r| r.chars().next());
        let in_word =
            mark.ends_with(char::is_alphabetic) && behind.is_some_and(char::is_alphabetic);
        rest.starts_with(*mark) && !in_word
    };
    steps
        .iter()
        .enumerate()
        .skip(from)
        .flat_map(|(step, s)| {
            s.marks
                .iter()
                .filter(|m| fits(m))
                .map(move |m| (step, m.len()))
        })
        .max_by_key(|(_, length)| *length)
}

fn missing_mark(
    text: &str,
    start: usize,
    at: usize,
    step: Option<&Step>,
) -> Result<(), QuantityError> {
    let (Some(step), true) = (step, start > 0 && at == text.len()) else {
        return Ok(());
    };
    let number = tail(text, start);
    let mark = step.marks.first().copied().unwrap_or_default();
    Err(QuantityError::new(
        start..text.len(),
        format!("{} stands without a mark", quote(number)),
        format!("write {}{mark} for {}", one_line(number), step.name),
    ))
}

/// `total` counts the smallest step: inches, or seconds of arc.
fn value(kind: Kind, total: f64, last: Form) -> (f64, Unit, Form) {
    let digits = match last {
        Form::Decimal { digits } => digits,
        _ => 0,
    };
    if kind == Kind::Length {
        return (
            Unit::Inch.to_inside(total),
            Unit::Foot,
            Form::FeetInches { digits },
        );
    }
    let degrees = total / 3600.0;
    (
        Unit::Degree.to_inside(degrees),
        Unit::Degree,
        Form::DegMinSec { digits },
    )
}
