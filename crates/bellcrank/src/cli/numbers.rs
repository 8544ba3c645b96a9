//! How numbers look to a person: one rounding for the screen and for spreadsheets.

use quantity::{Kind, Unit, show};
use studies::{Held, Quantity};

/// Where there is no number.
pub(crate) const NONE: &str = "-";

/// Decimals that a shop can use: a thousandth of a millimetre, a ten-thousandth of an inch, a hundredth of a degree. Three figures
/// of a force, since friction allows no more.
fn decimals(value: f64, unit: Unit) -> usize {
    let size = unit.from_inside(value).abs();
    match unit {
        _ if matches!(unit.kind(), Kind::Force | Kind::Moment) => match size {
            99.5.. => 0,
            9.95.. => 1,
            _ => 2,
        },
        _ if unit.kind() == Kind::Count && (size - size.round()).abs() > 1e-9 => 3,
        Unit::Thou | Unit::Micrometre => 1,
        Unit::Degree => 2,
        Unit::Millimetre | Unit::Turn => 3,
        _ if unit.kind() == Kind::Count => 0,
        Unit::Metre => 6,
        _ => 4,
    }
}

/// A value (inside unit) with its unit: `12.500 mm`.
pub(crate) fn with_unit(value: f64, unit: Unit) -> String {
    show(value, unit, decimals(value, unit))
}

/// The same without its unit, for a column that is headed with it.
pub(crate) fn bare(value: f64, unit: Unit) -> String {
    only_number(&with_unit(value, unit))
}

/// The same with so many more decimals, for a column in which too little moves otherwise.
pub(crate) fn finer(value: f64, unit: Unit, more: usize) -> String {
    only_number(&show(value, unit, decimals(value, unit) + more))
}

/// How many more decimals a column of values needs so that at least ten of its last digit lie between its least and its greatest;
/// three at most, and none when nothing moves.
pub(crate) fn more_decimals(values: impl Iterator<Item = f64>, unit: Unit) -> usize {
    let shown: Vec<f64> = values.map(|v| unit.from_inside(v)).collect();
    let low = shown.iter().copied().fold(f64::INFINITY, f64::min);
    let high = shown.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let range = high - low;
    let nothing = 1e-12 * low.abs().max(high.abs()).max(1.0);
    if !range.is_finite() || range <= nothing {
        return 0;
    }
    let mut last = 1.0;
    for _ in 0..decimals(unit.to_inside(low), unit) {
        last *= 0.1;
    }
    for more in 0..3 {
        if range >= 10.0 * last {
            return more;
        }
        last *= 0.1;
    }
    3
}

/// A number that may be missing.
pub(crate) fn bare_or_none(value: Option<f64>, unit: Unit) -> String {
    value.map_or_else(|| String::from(NONE), |value| bare(value, unit))
}

/// A difference, always with its sign unless it rounds to nothing: `+0.048`.
pub(crate) fn signed(value: f64, unit: Unit) -> String {
    plus(bare(value, unit))
}

/// The same with its unit: `+0.048 mm`.
pub(crate) fn signed_with_unit(value: f64, unit: Unit) -> String {
    plus(with_unit(value, unit))
}

/// A change by an amount (both inside units), in `unit` for one `per`: `0.0263`. A step of a drive is often a tenth of what is
/// worth knowing, so a rate has a decimal more than its unit; an inch is long and gets two. A ratio of likes has four.
pub(crate) fn rate(value: f64, unit: Unit, per: Unit) -> String {
    finer_rate(value, unit, per, 0)
}

/// The same with so many more decimals.
pub(crate) fn finer_rate(value: f64, unit: Unit, per: Unit, more: usize) -> String {
    let decimals = more
        + match unit {
            _ if unit == per => 4,
            Unit::Inch => 6,
            _ => decimals(value, unit) + 1,
        };
    only_number(&show(per.to_inside(value), unit, decimals))
}

/// The unit of a rate: `mm/deg`.
pub(crate) fn rate_unit(unit: Unit, per: Unit) -> String {
    match (unit.symbol(), per.symbol()) {
        (unit, "") => unit.to_owned(),
        ("", per) => format!("1/{per}"),
        (unit, per) => format!("{unit}/{per}"),
    }
}

/// The unit of forces, or of moments, for a machine whose lengths are read in this unit.
pub(crate) fn unit_of_force(is_moment: bool, length: Unit) -> Unit {
    let inches = matches!(length, Unit::Inch | Unit::Foot | Unit::Thou);
    match (is_moment, inches) {
        (false, false) => Unit::Newton,
        (false, true) => Unit::PoundForce,
        (true, false) => Unit::NewtonMetre,
        (true, true) => Unit::PoundForceInch,
    }
}

/// A share as whole per cent: `42 %`.
pub(crate) fn percent(share: f64) -> String {
    if share.is_finite() {
        format!("{:.0} %", 100.0 * share)
    } else {
        String::from(NONE)
    }
}

/// A value and its name: `set 40.00 deg`.
pub(crate) fn named(quantity: &Quantity, value: f64) -> String {
    format!("{} {}", quantity.name, with_unit(value, quantity.unit))
}

/// Values and their names: `set 40.00 deg, front-rod 0.500 mm`.
pub(crate) fn held<'a>(held: impl IntoIterator<Item = &'a Held>) -> String {
    let texts: Vec<String> = held
        .into_iter()
        .map(|held| named(&held.quantity, held.value))
        .collect();
    texts.join(", ")
}

/// Where everything stands that is not moved: what differs from the drawing, by name.
pub(crate) fn standing(all: &[Held]) -> Option<String> {
    if all.is_empty() {
        return None;
    }
    let moved = held(all.iter().filter(|held| !held.as_drawn));
    let rest = all.iter().any(|held| held.as_drawn);
    Some(match (moved.is_empty(), rest) {
        (true, _) => String::from("standing as drawn"),
        (false, true) => format!("{moved}; the rest as drawn"),
        (false, false) => moved,
    })
}

fn only_number(text: &str) -> String {
    // Everything that `show` puts behind the number stands behind a blank.
    match text.split_once(' ') {
        Some((number, _)) if number.parse::<f64>().is_ok() => number.to_owned(),
        Some(_) => String::from(NONE),
        None => text.to_owned(),
    }
}

fn plus(number: String) -> String {
    let nothing = !number.contains(|c: char| matches!(c, '1'..='9'));
    if nothing || number.starts_with('-') {
        number
    } else {
        format!("+{number}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shop_can_use_these_decimals() {
        assert_eq!(with_unit(0.0456, Unit::Millimetre), "0.046 mm");
        assert_eq!(with_unit(25.4 / 16.0, Unit::Inch), "0.0625 in");
        assert_eq!(with_unit(0.5, Unit::Degree), "28.65 deg");
        assert_eq!(with_unit(3.0, Unit::One), "3");
        assert_eq!(with_unit(1.254, Unit::One), "1.254");
        assert_eq!(with_unit(34.127, Unit::Newton), "34.1 N");
        assert_eq!(with_unit(1234.5, Unit::Newton), "1234 N");
        assert_eq!(with_unit(1234.5, Unit::NewtonMetre), "1.23 N·m");
        assert_eq!(bare(-0.0001, Unit::Millimetre), "0.000");
        assert_eq!(bare(3.0, Unit::One), "3");
        assert_eq!(bare(f64::NAN, Unit::Millimetre), "-");
        assert_eq!(bare_or_none(None, Unit::Millimetre), "-");
    }

    #[test]
    fn what_moves_little_is_shown_finer() {
        let mm = |values: &[f64]| more_decimals(values.iter().copied(), Unit::Millimetre);
        assert_eq!(mm(&[1.0, 3.0]), 0);
        assert_eq!(mm(&[1.0, 1.008]), 1);
        assert_eq!(mm(&[1.0, 1.000_02]), 3);
        assert_eq!(mm(&[1.0, 1.0]), 0);
        assert_eq!(mm(&[]), 0);
        assert_eq!(finer(1.000_02, Unit::Millimetre, 3), "1.000020");
    }

    #[test]
    fn differences_carry_their_sign() {
        assert_eq!(signed(0.048, Unit::Millimetre), "+0.048");
        assert_eq!(signed(-0.048, Unit::Millimetre), "-0.048");
        assert_eq!(signed(0.0001, Unit::Millimetre), "0.000");
    }

    #[test]
    fn rates_are_per_unit_shown() {
        let degree = 1f64.to_radians();
        assert_eq!(
            rate(0.03 / degree, Unit::Millimetre, Unit::Degree),
            "0.0300"
        );
        assert_eq!(rate(1.0, Unit::Degree, Unit::Degree), "1.0000");
        assert_eq!(rate_unit(Unit::Millimetre, Unit::Degree), "mm/deg");
        assert_eq!(rate_unit(Unit::Millimetre, Unit::One), "mm");
        assert_eq!(rate_unit(Unit::One, Unit::Degree), "1/deg");
    }
}
