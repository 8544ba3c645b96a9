//! Number to text.

use crate::Unit;
use crate::number::SIGNS;

/// `value` (inside unit) in `unit` with so many decimals, at most 17: `12.50 mm`.
///
/// ```
/// use quantity::{Unit, show};
/// assert_eq!(show(12.5, Unit::Millimetre, 2), "12.50 mm");
/// assert_eq!(show(12.7, Unit::Inch, 3), "0.500 in");
/// ```
pub fn show(value: f64, unit: Unit, decimals: usize) -> String {
    let x = unit.from_inside(value);
    if !x.is_finite() {
        return "not a finite number".to_owned();
    }
    let decimals = decimals.min(17);
    let mut number = format!("{x:.decimals$}");
    if number.starts_with('-') && !number.contains(|c: char| matches!(c, '1'..='9')) {
        number.remove(0);
    }
    with_unit(&number, unit)
}

fn with_unit(number: &str, unit: Unit) -> String {
    match unit.symbol() {
        "" => number.to_owned(),
        symbol => format!("{number} {symbol}"),
    }
}

/// A length in millimetres and in inches: `3.175 mm (0.1250 in)`.
///
/// ```
/// assert_eq!(quantity::show_length_both(3.175), "3.175 mm (0.1250 in)");
/// ```
pub fn show_length_both(mm: f64) -> String {
    format!(
        "{} ({})",
        show(mm, Unit::Millimetre, 3),
        show(mm, Unit::Inch, 4)
    )
}

/// The nearest sixty-fourth of an inch, and by how much (mm) it is larger than the length.
///
/// ```
/// let (text, error) = quantity::nearest_64th(79.4);
/// assert_eq!(text, "3 1/8 in");
/// assert!((error - -0.025).abs() < 1e-9);
/// ```
pub fn nearest_64th(mm: f64) -> (String, f64) {
    let nearest = (Unit::Inch.from_inside(mm) * 64.0).round() / 64.0;
    let error = Unit::Inch.to_inside(nearest) - mm;
    let minus = if nearest < 0.0 { "-" } else { "" };
    match fraction(
        Unit::Inch.to_inside(nearest.abs()),
        Unit::Inch,
        64,
        " ",
        false,
    ) {
        Some(number) => (format!("{minus}{number} in"), error),
        None => (show(mm, Unit::Inch, 0), error),
    }
}

/// A length in thousandths of an inch with one decimal: `62.5 thou`.
///
/// ```
/// assert_eq!(quantity::thou(1.5875), "62.5 thou");
/// ```
pub fn thou(mm: f64) -> String {
    show(mm, Unit::Thou, 1)
}

/// Whether two numbers differ by rounding alone.
pub(crate) fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * a.abs().max(b.abs()).max(1.0)
}

/// A value (inside unit, not negative) as a number of `unit`, with at least so many decimals and as many more as
/// it takes to read it back.
pub(crate) fn decimal(value: f64, unit: Unit, least: usize) -> String {
    let x = unit.from_inside(value);
    let reads_back = |text: &String| text.parse().is_ok_and(|x| same(unit.to_inside(x), value));
    if x < 1e16
        && let Some(text) = (least.min(17)..=17)
            .map(|decimals| format!("{x:.decimals$}"))
            .find(reads_back)
    {
        return text;
    }
    format!("{x:e}")
}

/// How many parts of `unit` the value (inside unit, not negative) is, when it is a whole number of them.
pub(crate) fn whole_parts(value: f64, unit: Unit, parts: u32) -> Option<u64> {
    let count = (unit.from_inside(value) * f64::from(parts)).round();
    let exact = same(unit.to_inside(count / f64::from(parts)), value);
    (exact && count <= 1e15).then_some(count as u64)
}

/// The value as a whole number of `unit` with a reduced fraction, when it is a whole number of parts.
pub(crate) fn fraction(
    value: f64,
    unit: Unit,
    parts: u32,
    joint: &str,
    signs: bool,
) -> Option<String> {
    whole_parts(value, unit, parts).map(|count| mixed(count, parts, joint, signs))
}

/// `count` parts as a whole number with a reduced fraction.
pub(crate) fn mixed(count: u64, parts: u32, joint: &str, signs: bool) -> String {
    let parts = u64::from(parts);
    let (whole, top) = (count / parts, count % parts);
    if top == 0 {
        return whole.to_string();
    }
    let divisor = common_divisor(top, parts);
    let (top, bottom) = (top / divisor, parts / divisor);
    let sign = SIGNS
        .iter()
        .find(|(_, t, b)| signs && u64::from(*t) == top && u64::from(*b) == bottom);
    match (whole, sign) {
        (0, Some((sign, _, _))) => sign.to_string(),
        (_, Some((sign, _, _))) => format!("{whole}{sign}"),
        (0, None) => format!("{top}/{bottom}"),
        (_, None) => format!("{whole}{joint}{top}/{bottom}"),
    }
}

fn common_divisor(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { common_divisor(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractions_are_reduced() {
        let inches =
            |x, joint, signs| fraction(Unit::Inch.to_inside(x), Unit::Inch, 64, joint, signs);
        assert_eq!(inches(3.125, " ", false).as_deref(), Some("3 1/8"));
        assert_eq!(inches(3.125, "-", false).as_deref(), Some("3-1/8"));
        assert_eq!(inches(3.125, " ", true).as_deref(), Some("3⅛"));
        assert_eq!(inches(0.4375, " ", false).as_deref(), Some("7/16"));
        assert_eq!(inches(2.0, " ", false).as_deref(), Some("2"));
        assert_eq!(inches(0.0, " ", false).as_deref(), Some("0"));
        assert_eq!(inches(0.1, " ", false), None);
        assert_eq!(inches(f64::NAN, " ", false), None);
        assert_eq!(inches(1e300, " ", false), None);
    }

    #[test]
    fn no_negative_nothing() {
        assert_eq!(show(-0.0001, Unit::Millimetre, 2), "0.00 mm");
        assert_eq!(show(-0.006, Unit::Millimetre, 2), "-0.01 mm");
        assert_eq!(show(f64::NAN, Unit::Millimetre, 2), "not a finite number");
        assert_eq!(show(1.0, Unit::One, 99), "1.00000000000000000");
    }

    #[test]
    fn decimals_read_back() {
        assert_eq!(decimal(0.1 + 0.2, Unit::Millimetre, 0), "0.3");
        assert_eq!(decimal(12.0, Unit::Millimetre, 2), "12.00");
        assert_eq!(decimal(1e300, Unit::Millimetre, 2), "1e300");
        assert_eq!(decimal(1.524, Unit::Inch, 1), "0.06");
    }
}
