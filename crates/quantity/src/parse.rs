//! Text to number.

use crate::{Form, Kind, QuantityError, Unit, Written};

/// Reads `text` as a quantity of `kind`; a number without a unit takes `bare`.
///
/// # Errors
/// Says what is wrong, what to write instead and where.
pub fn parse(text: &str, kind: Kind, bare: Unit) -> Result<Written, QuantityError> {
    let trimmed = text.trim();
    let end = trimmed
        .find(|c: char| !(c.is_ascii_digit() || "+-.".contains(c)))
        .unwrap_or(trimmed.len());
    let fail = |message: String| QuantityError {
        message,
        help: format!("write {kind}"),
        start: 0,
        end: text.len(),
    };
    let (number, rest) = trimmed.split_at(end);
    let x: f64 = number
        .parse()
        .map_err(|_| fail(format!("\"{trimmed}\" is not {kind}")))?;
    let rest = rest.trim();
    let unit = if rest.is_empty() {
        bare
    } else {
        kind.units()
            .find(|u| u.spellings().any(|s| s == rest))
            .ok_or_else(|| fail(format!("\"{rest}\" is no unit of {kind}")))?
    };
    let digits = number
        .split_once('.')
        .map_or(0, |(_, d)| d.len().min(20) as u8);
    Ok(Written {
        value: unit.to_inside(x),
        unit,
        form: Form::Decimal { digits },
        text: trimmed.to_owned(),
        number_end: end,
    })
}

/// A bare number of the file: takes the unit `bare`.
///
/// # Errors
/// NaN and infinities are refused.
pub fn number(value: f64, kind: Kind, bare: Unit) -> Result<Written, QuantityError> {
    parse(&value.to_string(), kind, bare)
}
