//! Numbers as they stand in a drawing: short, and the same on every run.

use quantity::Unit;

/// At most three decimals, no trailing zeros, never `-0`. A number that is not finite becomes `0`; marks with such numbers are
/// left out before they get here.
pub(crate) fn short(x: f64) -> String {
    trimmed(x, 3)
}

/// At most so many decimals, no trailing zeros, never `-0`.
pub(crate) fn trimmed(x: f64, decimals: usize) -> String {
    if !x.is_finite() {
        return "0".to_owned();
    }
    let text = format!("{x:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// A value (mm or rad) in a unit, as it is read on a drawing: `12.5 mm`, `35°`, `1.25 in`.
pub(crate) fn value(inside: f64, unit: Unit) -> String {
    value_to(inside, unit, 0)
}

/// The same with at least so many decimals to be had.
pub(crate) fn value_to(inside: f64, unit: Unit, decimals: usize) -> String {
    let usual = match unit {
        Unit::Millimetre | Unit::Radian => 3,
        Unit::Degree | Unit::Thou | Unit::Micrometre => 2,
        _ => 4,
    };
    let number = trimmed(unit.from_inside(inside), usual.max(decimals));
    match unit {
        Unit::Degree => format!("{number}°"),
        Unit::One => number,
        _ => format!("{number} {}", unit.symbol()),
    }
}

/// The unit of forces, or of moments, on a machine whose lengths are read in this unit.
pub(crate) fn unit_of_force(is_moment: bool, length: Unit) -> Unit {
    let inches = matches!(length, Unit::Inch | Unit::Foot | Unit::Thou);
    match (is_moment, inches) {
        (false, false) => Unit::Newton,
        (false, true) => Unit::PoundForce,
        (true, false) => Unit::NewtonMetre,
        (true, true) => Unit::PoundForceInch,
    }
}

/// A force with three figures: friction allows no more.
pub(crate) fn of_force(newtons: f64, length: Unit) -> String {
    of_load(newtons, unit_of_force(false, length))
}

/// A force or moment in its unit, with as many.
pub(crate) fn of_load(inside: f64, unit: Unit) -> String {
    let size = unit.from_inside(inside);
    let decimals = match size.abs() {
        99.5.. => 0,
        9.95.. => 1,
        _ => 2,
    };
    format!("{} {}", trimmed(size, decimals), unit.symbol())
}

/// A share as whole per cent, with a decimal below ten.
pub(crate) fn of_percent(share: f64) -> String {
    let percent = 100.0 * share;
    format!("{} %", trimmed(percent, usize::from(percent.abs() < 10.0)))
}

/// The sign of a unit behind a quantity's name on an axis: `°`, `mm`; empty for a plain number.
pub(crate) fn unit_sign(unit: Unit) -> &'static str {
    if unit == Unit::Degree {
        "°"
    } else {
        unit.symbol()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        assert_eq!(short(1.0), "1");
        assert_eq!(short(-0.0004), "0");
        assert_eq!(short(12.3456), "12.346");
        assert_eq!(short(-100.0), "-100");
        assert_eq!(short(f64::NAN), "0");
        assert_eq!(trimmed(100.0, 0), "100");
    }

    #[test]
    fn values_carry_their_unit() {
        assert_eq!(value(std::f64::consts::FRAC_PI_2, Unit::Degree), "90°");
        assert_eq!(value(31.75, Unit::Inch), "1.25 in");
        assert_eq!(value(0.5, Unit::Millimetre), "0.5 mm");
        assert_eq!(value(3.0, Unit::One), "3");
    }
}
