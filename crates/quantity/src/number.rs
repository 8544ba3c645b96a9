//! One number as people write it: a decimal, a fraction, or a whole number with a fraction.

use crate::Form;
use crate::error::{QuantityError, quote};

/// The fractions that have a character of their own.
pub(crate) const SIGNS: [(char, u32, u32); 15] = [
    ('½', 1, 2),
    ('⅓', 1, 3),
    ('⅔', 2, 3),
    ('¼', 1, 4),
    ('¾', 3, 4),
    ('⅕', 1, 5),
    ('⅖', 2, 5),
    ('⅗', 3, 5),
    ('⅘', 4, 5),
    ('⅙', 1, 6),
    ('⅚', 5, 6),
    ('⅛', 1, 8),
    ('⅜', 3, 8),
    ('⅝', 5, 8),
    ('⅞', 7, 8),
];

/// A number without its sign.
#[derive(Clone, Copy)]
pub(crate) struct Number {
    pub(crate) x: f64,
    pub(crate) form: Form,
    /// One past its last byte.
    pub(crate) end: usize,
}

/// The rest of `text` from the byte `at`.
pub(crate) fn tail(text: &str, at: usize) -> &str {
    text.get(at..).unwrap_or_default()
}

/// The first byte from `at` on that does not belong to a blank.
pub(crate) fn skip_blanks(text: &str, at: usize) -> usize {
    text.len() - tail(text, at).trim_start().len()
}

fn digits(text: &str, at: usize) -> usize {
    tail(text, at)
        .bytes()
        .take_while(u8::is_ascii_digit)
        .count()
}

fn next(text: &str, at: usize) -> Option<char> {
    tail(text, at).chars().next()
}

/// Reads the number that begins at the byte `at`; `None` when none begins there.
pub(crate) fn scan(text: &str, at: usize) -> Result<Option<Number>, QuantityError> {
    let whole_end = at + digits(text, at);
    if whole_end > at {
        refuse_comma(text, at, whole_end)?;
        if let Some((numerator, after)) = fraction_bar(text, whole_end) {
            return fraction(text, at, at..at, at..numerator, after).map(Some);
        }
        if let Some((top, after)) = fraction_behind(text, whole_end) {
            return fraction(text, at, at..whole_end, top, after).map(Some);
        }
        let blank = match next(text, whole_end) {
            Some('-') => whole_end + 1,
            _ => skip_blanks(text, whole_end),
        };
        if let Some((top, bottom, end)) = fraction_sign(text, blank) {
            return mixed(text, at..whole_end, (f64::from(top), bottom), end).map(Some);
        }
    } else if let Some((top, bottom, end)) = fraction_sign(text, at) {
        return mixed(text, at..at, (f64::from(top), bottom), end).map(Some);
    }
    decimal(text, at, whole_end)
}

fn decimal(text: &str, at: usize, whole_end: usize) -> Result<Option<Number>, QuantityError> {
    let mut end = whole_end;
    let mut places = 0;
    if next(text, end) == Some('.') {
        places = digits(text, end + 1);
        if places == 0 && whole_end == at {
            return Ok(None);
        }
        end += 1 + places;
        refuse_comma(text, at, end)?;
    } else if whole_end == at {
        return Ok(None);
    }
    let mantissa_end = end;
    if matches!(next(text, end), Some('e' | 'E')) {
        let sign = usize::from(matches!(next(text, end + 1), Some('+' | '-')));
        let exponent = digits(text, end + 1 + sign);
        if exponent > 0 {
            end += 1 + sign + exponent;
        }
    }
    let written = text.get(at..end).unwrap_or_default();
    let x: f64 = written.parse().unwrap_or(f64::INFINITY);
    if !x.is_finite() {
        return Err(too_large(at..end));
    }
    let mantissa = text.get(at..mantissa_end).unwrap_or_default();
    if x == 0.0 && mantissa.bytes().any(|b| matches!(b, b'1'..=b'9')) {
        return Err(QuantityError::new(
            at..end,
            "this number is too small to be told from zero",
            "write 0, or a smaller unit",
        ));
    }
    let form = Form::Decimal {
        digits: u8::try_from(places).unwrap_or(u8::MAX),
    };
    Ok(Some(Number { x, form, end }))
}

pub(crate) fn too_large(place: std::ops::Range<usize>) -> QuantityError {
    QuantityError::new(
        place,
        "this number is too large to reckon with",
        "write a smaller number",
    )
}

/// A comma in a number means thousands to one reader and decimals to the next, so it is read as neither.
fn refuse_comma(text: &str, at: usize, end: usize) -> Result<(), QuantityError> {
    if next(text, end) != Some(',') || digits(text, end + 1) == 0 {
        return Ok(());
    }
    let token: &str = tail(text, at);
    let length = token
        .bytes()
        .take_while(|b| b.is_ascii_digit() || matches!(b, b',' | b'.'))
        .count();
    let token = token.get(..length).unwrap_or_default();
    let plain: String = token.chars().filter(|c| *c != ',').collect();
    let one_comma = token.matches(',').count() == 1 && !token.contains('.');
    let thousands = token.rsplit(',').next().is_some_and(|d| d.len() == 3);
    let point = token.replacen(',', ".", 1);
    let help = match (one_comma, thousands) {
        (true, false) => format!("write {point} with a point"),
        (true, true) => format!("write {point} with a point, or {plain} without a comma"),
        _ => "write the number without commas, with a point before the decimals".to_owned(),
    };
    Err(QuantityError::new(
        at..at + length,
        format!("the number {} has a comma", quote(token)),
        help,
    ))
}

/// After digits that end at `at`: the end of the numerator and the first byte of the denominator, when a bar follows.
fn fraction_bar(text: &str, at: usize) -> Option<(usize, usize)> {
    let bar = skip_blanks(text, at);
    let c = next(text, bar).filter(|c| matches!(c, '/' | '⁄'))?;
    let bottom = skip_blanks(text, bar + c.len_utf8());
    // A bar straight behind the digits can only be a fraction, even when its denominator is missing.
    (bar == at || digits(text, bottom) > 0).then_some((at, bottom))
}

/// After a whole number that ends at `at`: the numerator and the first byte of the denominator of ` 1/8` or `-1/8`.
fn fraction_behind(text: &str, at: usize) -> Option<(std::ops::Range<usize>, usize)> {
    let top = match next(text, at)? {
        '-' => at + 1,
        c if c.is_whitespace() => skip_blanks(text, at),
        _ => return None,
    };
    let top_end = top + digits(text, top);
    let (top_end, bottom) = (top_end > top).then(|| fraction_bar(text, top_end))??;
    Some((top..top_end, bottom))
}

fn fraction_sign(text: &str, at: usize) -> Option<(u32, u32, usize)> {
    let c = next(text, at)?;
    let (_, top, bottom) = SIGNS.iter().find(|(sign, _, _)| *sign == c)?;
    Some((*top, *bottom, at + c.len_utf8()))
}

fn fraction(
    text: &str,
    start: usize,
    whole: std::ops::Range<usize>,
    top: std::ops::Range<usize>,
    bottom: usize,
) -> Result<Number, QuantityError> {
    let end = bottom + digits(text, bottom);
    if end == bottom {
        return Err(QuantityError::new(
            start..end,
            "the number under the fraction bar is missing",
            "write a fraction like 7/16",
        ));
    }
    let denominator = text.get(bottom..end).unwrap_or_default();
    let Ok(denominator) = denominator.parse::<u32>() else {
        return Err(QuantityError::new(
            bottom..end,
            "the number under the fraction bar is too large",
            "write a decimal",
        ));
    };
    let top = text.get(top).and_then(|t| t.parse().ok());
    mixed(
        text,
        whole,
        (top.unwrap_or(f64::INFINITY), denominator),
        end,
    )
    .map_err(|mut error| {
        error.start = start;
        error
    })
}

fn mixed(
    text: &str,
    whole: std::ops::Range<usize>,
    (top, bottom): (f64, u32),
    end: usize,
) -> Result<Number, QuantityError> {
    let start = whole.start;
    if bottom == 0 {
        return Err(QuantityError::new(
            start..end,
            "the number under the fraction bar is zero",
            "write a fraction like 7/16",
        ));
    }
    let divisor = f64::from(bottom);
    let has_whole = !whole.is_empty();
    if has_whole && top >= divisor {
        return Err(QuantityError::new(
            start..end,
            "the fraction behind a whole number must be less than one",
            "write a mixed number like 3 1/8, or one fraction like 25/8",
        ));
    }
    let whole: f64 = if has_whole {
        text.get(whole)
            .and_then(|w| w.parse().ok())
            .unwrap_or(f64::INFINITY)
    } else {
        0.0
    };
    // One division at the end, so that every sixty-fourth is exact.
    let x = (whole * divisor + top) / divisor;
    if !x.is_finite() {
        return Err(too_large(start..end));
    }
    let form = Form::Fraction {
        denominator: bottom,
    };
    Ok(Number { x, form, end })
}
