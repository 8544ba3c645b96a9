//! Numbers of elements in sentences, in the units in which the machine is drawn.

use machine::Machine;
use quantity::Unit;

/// Hours beyond which a life says no more.
const LONG: f64 = 100_000.0;

/// Newtons in a pound-force.
const NEWTONS_A_POUND: f64 = 4.448_221_615_260_5;

/// Feet a minute in a metre a second.
const FEET_A_MINUTE: f64 = 60.0 / 0.3048;

fn inches(machine: &Machine) -> bool {
    matches!(machine.unit, Unit::Inch | Unit::Foot | Unit::Thou)
}

/// Three figures.
fn figures(value: f64) -> String {
    let size = value.abs();
    if !value.is_finite() {
        return String::from("no end");
    }
    if size >= 99.5 {
        let text = format!("{value:.0}");
        return grouped(&text);
    }
    let decimals = if size >= 9.95 {
        1
    } else if size >= 0.995 || size == 0.0 {
        2
    } else {
        3
    };
    format!("{value:.decimals$}")
}

/// Thousands apart by a blank from ten thousand on.
fn grouped(text: &str) -> String {
    let (sign, digits) = text.strip_prefix('-').map_or(("", text), |d| ("-", d));
    if digits.len() < 5 {
        return text.to_owned();
    }
    let mut out = String::from(sign);
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(' ');
        }
        out.push(c);
    }
    out
}

/// A value with the unit that an element names.
pub(super) fn value(value: f64, unit: &str, machine: &Machine) -> String {
    let convert = |unit: Unit| (unit.from_inside(value), unit.symbol().to_owned());
    let (number, unit) = match (unit, inches(machine)) {
        ("N", false) if value.abs() >= 9950.0 => convert(Unit::Kilonewton),
        ("N", false) => convert(Unit::Newton),
        ("N", true) => convert(Unit::PoundForce),
        ("N·mm", false) => convert(Unit::NewtonMetre),
        ("N·mm", true) => convert(Unit::PoundForceInch),
        ("N/mm", true) => (value * 25.4 / NEWTONS_A_POUND, String::from("lbf/in")),
        ("N·mm/deg", true) => (value / 25.4 / NEWTONS_A_POUND, String::from("lbf in/deg")),
        ("N·mm/deg", false) => (value, String::from("N mm/deg")),
        ("MPa", true) => convert(Unit::PoundPerSquareInch),
        ("h", _) if value > LONG => return format!("over {} h", grouped(&format!("{LONG:.0}"))),
        ("rad", _) => convert(Unit::Degree),
        ("mm", true) => convert(Unit::Inch),
        ("m/s", true) => (value * FEET_A_MINUTE, String::from("ft/min")),
        ("MPa·m/s", true) => {
            let psi = Unit::PoundPerSquareInch.from_inside(value);
            (psi * FEET_A_MINUTE, String::from("psi·ft/min"))
        }
        (unit, _) => (value, unit.to_owned()),
    };
    if unit.is_empty() {
        figures(number)
    } else {
        format!("{} {unit}", figures(number))
    }
}

/// A nominal size without needless noughts: "8 mm", "1/2 in" as 0.5 in.
pub(super) fn size(mm: f64, machine: &Machine) -> String {
    let unit = if inches(machine) {
        Unit::Inch
    } else {
        Unit::Millimetre
    };
    let text = format!("{:.4}", unit.from_inside(mm));
    let text = text.trim_end_matches('0').trim_end_matches('.');
    format!("{text} {}", unit.symbol())
}

/// A size of a fit: thousandths of a millimetre, ten-thousandths of an inch.
pub(super) fn close(mm: f64, machine: &Machine) -> String {
    if inches(machine) {
        quantity::show(mm, Unit::Inch, 4)
    } else {
        quantity::show(mm, Unit::Millimetre, 3)
    }
}

/// The same without its unit.
pub(super) fn close_bare(mm: f64, machine: &Machine) -> String {
    let text = close(mm, machine);
    text.split(' ').next().unwrap_or_default().to_owned()
}

/// A factor.
pub(super) fn factor(x: f64) -> String {
    figures(x)
}
