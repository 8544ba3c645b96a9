//! Text to number.

use crate::error::{QuantityError, list, one_line, quote};
use crate::number::{Number, SIGNS, scan, skip_blanks, tail, too_large};
use crate::{Form, Kind, Unit, Written, compound, drills, spell, thread};

/// Parts of a turn that have a name.
pub(crate) const TURNS: [(&str, f64); 3] = [
    ("whole turn", 1.0),
    ("half turn", 0.5),
    ("quarter turn", 0.25),
];

/// Reads `text` as a quantity of `kind`; a number without a unit takes `bare`.
///
/// When `bare` is of another kind (say [`Unit::One`]), a number without a unit is refused.
///
/// # Errors
/// Says in one sentence what is wrong, what to write instead and where.
///
/// ```
/// use quantity::{Kind, Unit, parse};
/// let reach = parse("3 1/8 in", Kind::Length, Unit::Millimetre).unwrap();
/// assert_eq!(reach.value, 79.375);
/// let error = parse("5 N", Kind::Length, Unit::Millimetre).unwrap_err();
/// assert_eq!(error.message, "\"N\" is a unit of force, but a length is expected here");
/// ```
pub fn parse(text: &str, kind: Kind, bare: Unit) -> Result<Written, QuantityError> {
    let inner = text.trim();
    if inner.is_empty() {
        return Err(QuantityError::new(
            0..text.len(),
            format!("nothing is written where {kind} is expected"),
            format!("write {kind} such as \"{}\"", kind.example()),
        ));
    }
    let offset = text.len() - text.trim_start().len();
    read(inner, kind, bare).map_err(|error| error.shifted(offset))
}

/// A bare number, as a file may hold it: takes the unit `bare`.
///
/// # Errors
/// NaN and infinities are refused, and any number when `bare` is not of this kind.
///
/// ```
/// use quantity::{Kind, Unit, number};
/// assert_eq!(number(180.0, Kind::Length, Unit::Millimetre).unwrap().show(), "180");
/// assert!(number(f64::NAN, Kind::Length, Unit::Millimetre).is_err());
/// ```
pub fn number(value: f64, kind: Kind, bare: Unit) -> Result<Written, QuantityError> {
    // Adding zero takes the sign off a negative zero.
    let value = value + 0.0;
    let plain = value == 0.0 || (1e-6..1e16).contains(&value.abs());
    let text = if plain {
        format!("{value}")
    } else {
        format!("{value:e}")
    };
    parse(&text, kind, bare)
}

fn read(text: &str, kind: Kind, bare: Unit) -> Result<Written, QuantityError> {
    if kind == Kind::Length
        && let Some(drill) = drills::read(text)
    {
        return drill.map_err(|error| as_thread(text, kind).unwrap_or(error));
    }
    let (negative, at) = sign(text, kind)?;
    if let Some(turns) = named_turn(text, at, kind) {
        let value = signed(Unit::Turn.to_inside(turns), negative);
        return Ok(written(text, value, Unit::Turn, Form::Words, text.len()));
    }
    let Some(first) = scan(text, at)? else {
        return Err(no_number(text, at, kind));
    };
    let unit_at = skip_blanks(text, first.end);
    let unit_text = tail(text, unit_at);
    let (value, unit, form) = if unit_text.is_empty() {
        if bare.kind() != kind {
            return Err(no_unit(text, at, kind));
        }
        refuse_bare_fraction(text, at, first, bare)?;
        (bare.to_inside(first.x), bare, first.form)
    } else if let Some(unit) = spell::find(kind, unit_text) {
        (unit.to_inside(first.x), unit, first.form)
    } else if let Some(compound) = compound::read(text, first, kind)? {
        compound
    } else {
        return Err(wrong_unit(text, at, first, kind, bare));
    };
    if !value.is_finite() {
        return Err(too_large(at..text.len()));
    }
    Ok(written(
        text,
        signed(value, negative),
        unit,
        form,
        first.end,
    ))
}

fn written(text: &str, value: f64, unit: Unit, form: Form, number_end: usize) -> Written {
    Written {
        value,
        unit,
        form,
        text: text.to_owned(),
        number_end,
    }
}

/// Never a negative zero: it would print as `-0`.
fn signed(value: f64, negative: bool) -> f64 {
    if negative && value != 0.0 {
        -value
    } else {
        value
    }
}

/// Whether the number is negative, and where it begins behind its sign.
fn sign(text: &str, kind: Kind) -> Result<(bool, usize), QuantityError> {
    let mut negative = None;
    let mut at = 0;
    while let Some(c) = tail(text, at).chars().next() {
        let end = at + c.len_utf8();
        let this = match c {
            '+' => false,
            '-' | '−' => true,
            '±' => {
                return Err(QuantityError::new(
                    at..end,
                    format!("± gives a tolerance, but {kind} is expected here"),
                    "write the number alone",
                ));
            }
            '–' | '—' => {
                return Err(QuantityError::new(
                    at..end,
                    "a dash stands before the number",
                    "write a minus sign: -",
                ));
            }
            _ => break,
        };
        if negative.is_some() {
            return Err(QuantityError::new(
                0..end,
                "two signs stand before the number",
                "write one sign or none",
            ));
        }
        negative = Some(this);
        at = skip_blanks(text, end);
    }
    Ok((negative.unwrap_or(false), at))
}

fn named_turn(text: &str, at: usize, kind: Kind) -> Option<f64> {
    if kind != Kind::Angle {
        return None;
    }
    let rest = tail(text, at);
    TURNS
        .iter()
        .find(|(name, _)| *name == rest)
        .map(|(_, turns)| *turns)
}

/// A thread in the place of a length is the likeliest mistake in a hole or a rod.
fn as_thread(text: &str, kind: Kind) -> Option<QuantityError> {
    let thread = (kind == Kind::Length).then(|| thread::parse(text).ok())??;
    let diameter = if thread.inch {
        format!("{} in", Unit::Inch.from_inside(thread.major))
    } else {
        format!("{} mm", thread.major)
    };
    Some(QuantityError::new(
        0..text.len(),
        format!("{} is a thread, but a length is expected here", quote(text)),
        format!("for its diameter write \"{diameter}\""),
    ))
}

fn no_number(text: &str, at: usize, kind: Kind) -> QuantityError {
    let rest = tail(text, at);
    let lower = rest.get(..3).unwrap_or_default().to_ascii_lowercase();
    let such = format!("write {kind} such as \"{}\"", kind.example());
    if lower == "nan" || lower == "inf" || rest.starts_with('∞') {
        return QuantityError::new(
            0..text.len(),
            format!("{kind} must be a finite number"),
            such,
        );
    }
    if let Some(error) = as_thread(text, kind) {
        return error;
    }
    let capital = rest.to_ascii_uppercase();
    if kind == Kind::Length
        && rest.len() == 1
        && rest != capital
        && spell::find(kind, rest).is_none()
    {
        return QuantityError::new(
            0..text.len(),
            format!("{} is not a length", quote(text)),
            format!("for the letter drill write a capital: \"{capital}\""),
        );
    }
    if kind == Kind::Angle && rest.contains("turn") {
        let help = "write \"whole turn\", \"half turn\", \"quarter turn\" or a number such as \"1 1/2 turns\"";
        return QuantityError::new(
            0..text.len(),
            format!("{} is not an angle", quote(text)),
            help,
        );
    }
    if let Some(unit) = spell::find_any(rest) {
        return QuantityError::new(
            0..text.len(),
            "the number is missing",
            if unit.kind() == kind {
                format!(
                    "write a number before the unit, such as \"5 {}\"",
                    one_line(rest)
                )
            } else {
                such
            },
        );
    }
    QuantityError::new(
        0..text.len(),
        format!("{} is not {kind}", quote(text)),
        such,
    )
}

fn no_unit(text: &str, at: usize, kind: Kind) -> QuantityError {
    QuantityError::new(
        0..text.len(),
        "the unit is missing",
        format!(
            "write {kind} with its unit, such as \"{}\"",
            in_unit(tail(text, at), kind.inside().symbol())
        ),
    )
}

/// In a metric file `7/16` may well mean inches, and a hole is soon drilled.
fn refuse_bare_fraction(
    text: &str,
    at: usize,
    number: Number,
    bare: Unit,
) -> Result<(), QuantityError> {
    let inches = matches!(bare, Unit::Inch | Unit::Foot);
    if bare.kind() != Kind::Length || inches || !matches!(number.form, Form::Fraction { .. }) {
        return Ok(());
    }
    let fraction = tail(text, at);
    Err(QuantityError::new(
        at..text.len(),
        format!("the unit of the fraction {} is missing", quote(fraction)),
        format!(
            "write \"{}\", or \"{} {bare}\"",
            in_unit(fraction, "in"),
            number.x
        ),
    ))
}

/// `1 000 mm` with its blanks taken out, when that reads.
fn thousands(text: &str, kind: Kind, bare: Unit) -> Option<String> {
    let mut groups = text.split_ascii_whitespace();
    let mut joined = groups.next()?.to_owned();
    let blanks = groups.clone().count();
    for group in groups {
        let digits = group.bytes().take_while(u8::is_ascii_digit).count();
        if digits == 3 {
            joined.push_str(group);
        } else {
            joined.push(' ');
            joined.push_str(group);
        }
    }
    // Fewer blanks than before, or this would go round for ever.
    let fewer = joined.matches(' ').count() < blanks;
    let reads = fewer && joined.len() <= 24 && parse(&joined, kind, bare).is_ok();
    reads.then(|| one_line(&joined))
}

/// The number as it was written with another unit, as long as it is short enough to repeat.
fn in_unit(number: &str, unit: &str) -> String {
    let number = if number.len() <= 16 {
        one_line(number)
    } else {
        "5".to_owned()
    };
    format!("{number} {unit}")
}

/// Units of two kinds that are taken for one another.
const MIXED_UP: [(Unit, Unit); 8] = [
    (Unit::Pound, Unit::PoundForce),
    (Unit::PoundForce, Unit::Pound),
    (Unit::Kilogram, Unit::KilogramForce),
    (Unit::KilogramForce, Unit::Kilogram),
    (Unit::NewtonPerMillimetre, Unit::Megapascal),
    (Unit::Megapascal, Unit::NewtonPerMillimetre),
    (Unit::NewtonMetre, Unit::NewtonMetrePerRadian),
    (Unit::NewtonMetrePerRadian, Unit::NewtonMetre),
];

fn wrong_unit(text: &str, at: usize, first: Number, kind: Kind, bare: Unit) -> QuantityError {
    if let Some(error) = as_thread(text, kind) {
        return error;
    }
    let unit_at = skip_blanks(text, first.end);
    let place = unit_at..text.len();
    let unit_text = tail(text, unit_at);
    let number = text.get(at..first.end).unwrap_or_default();
    let digit =
        |c: char| c.is_ascii_digit() || "+-−.,".contains(c) || SIGNS.iter().any(|s| s.0 == c);
    if unit_text.starts_with(digit) {
        if let Some(joined) = thousands(text, kind, bare) {
            return QuantityError::new(
                at..text.len(),
                "the number has a blank in it",
                format!("write \"{joined}\""),
            );
        }
        return QuantityError::new(
            place,
            format!("{} follows where one number was expected", quote(unit_text)),
            format!("write {kind} such as \"{}\"", kind.example()),
        );
    }
    let symbols: Vec<&str> = kind.units().map(Unit::symbol).collect();
    let all = format!("write {kind} in {}", list(&symbols, "or"));

    if kind == Kind::Count {
        return QuantityError::new(
            place,
            format!(
                "{} is a unit, but {kind} is expected here",
                quote(unit_text)
            ),
            "write the number alone",
        );
    }
    if let Some(unit) = spell::find_any(unit_text) {
        let usual = kind.units().next().unwrap_or(Unit::One);
        let meant = MIXED_UP
            .iter()
            .find(|(wrong, right)| *wrong == unit && right.kind() == kind)
            .map_or(usual, |(_, right)| *right);
        return QuantityError::new(
            place,
            format!(
                "{} is a unit of {}, but {kind} is expected here",
                quote(unit_text),
                unit.kind().noun()
            ),
            format!("{all}, such as \"{}\"", in_unit(number, meant.symbol())),
        );
    }
    let message = format!("{} is not a unit of {}", quote(unit_text), kind.noun());
    match spell::nearest(kind, unit_text) {
        Some(near) => QuantityError::new(
            place,
            message,
            format!("write \"{}\"", in_unit(number, near)),
        ),
        None => QuantityError::new(place, message, all),
    }
}
