//! Numbers in sentences.

use crate::answers::Quantity;
use quantity::{Kind, Unit};

/// Decimals with which a person reads a value of this unit: hundredths of a millimetre at least, finer when small.
pub(crate) fn decimals(value: f64, unit: Unit) -> usize {
    let shown = unit.from_inside(value).abs();
    match unit {
        Unit::Millimetre if shown < 10.0 => 3,
        Unit::Degree if shown < 1.0 => 3,
        Unit::Millimetre | Unit::Degree => 2,
        Unit::Turn => 3,
        Unit::Thou | Unit::Micrometre => 1,
        _ if unit.kind() == Kind::Count => 0,
        _ => 4,
    }
}

/// A value in a unit, for a sentence.
pub(crate) fn value(value: f64, unit: Unit) -> String {
    let shown = unit.from_inside(value);
    if shown.abs() >= LONG {
        // Nobody counts so many digits.
        return format!("{shown:.3e} {}", unit.symbol());
    }
    quantity::show(value, unit, decimals(value, unit))
}

/// Numbers from here on are written by their powers of ten.
const LONG: f64 = 1e10;

/// A value of a reading, for a sentence.
pub(crate) fn of(quantity: &Quantity, v: f64) -> String {
    value(v, quantity.unit)
}

/// A value of a drive or setting, without idle zeros: "75 deg", "71.32 deg".
pub(crate) fn short(v: f64, unit: Unit) -> String {
    let shown = value(v, unit);
    let Some((number, rest)) = shown.split_once(' ') else {
        return shown;
    };
    if !number.contains('.') || number.contains('e') {
        return shown;
    }
    let number = number.trim_end_matches('0').trim_end_matches('.');
    let number = if number == "-0" { "0" } else { number };
    format!("{number} {rest}")
}

/// "set = 75 deg".
pub(crate) fn at(quantity: &Quantity, v: f64) -> String {
    format!("{} = {}", quantity.name, short(v, quantity.unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn idle_zeros_are_left_out() {
        assert_eq!(short(75_f64.to_radians(), Unit::Degree), "75 deg");
        assert_eq!(short(71.32_f64.to_radians(), Unit::Degree), "71.32 deg");
        assert_eq!(short(100.0, Unit::Millimetre), "100 mm");
        assert_eq!(short(-1e-9, Unit::Millimetre), "0 mm");
        assert_eq!(short(1e300, Unit::Millimetre), "1.000e300 mm");
    }
}
