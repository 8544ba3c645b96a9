//! Masses, inertias, energies and powers in the units of the machine: kilograms and watts, or pounds and horsepower where its lengths are inches.

use quantity::{Unit, show};

use super::cycle::speed_unit;

/// Kilograms in a pound (avoirdupois, exact), and millimetres in an inch.
const POUND: f64 = 0.453_592_37;
const INCH: f64 = 25.4;
/// N·mm in a foot pound-force, and watts in a horsepower of 550 of them a second.
const FOOT_POUND: f64 = 12.0 * INCH * POUND * 9.806_65;
const HORSEPOWER: f64 = 550.0 * FOOT_POUND / 1e3;

/// Lengths are read in inches.
pub(super) fn inches(length: Unit) -> bool {
    matches!(length, Unit::Inch | Unit::Foot | Unit::Thou)
}

/// Three significant figures, as many decimals as that takes; no minus before a nothing.
pub(super) fn three(value: f64) -> String {
    let size = value.abs();
    if size == 0.0 || !size.is_finite() {
        return format!("{:.0}", value.abs());
    }
    let figures = 2 - size.log10().floor() as i32;
    let decimals = figures.clamp(0, 9) as usize;
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if !rest.contains(|c: char| matches!(c, '1'..='9')) => rest.to_owned(),
        _ => text,
    }
}

/// kg.
pub(super) fn mass(kg: f64, length: Unit) -> String {
    if inches(length) {
        format!("{:.3} lb", kg / POUND)
    } else {
        format!("{kg:.3} kg")
    }
}

/// Number and unit of an inertia on a drive, kg·mm² of one that turns, kg of one that slides; large ones in the larger unit.
pub(super) fn inertia(value: f64, turns: bool, length: Unit) -> String {
    match (turns, inches(length), value) {
        (false, _, v) => mass(v, length),
        (true, true, v) => format!("{} lb in²", three(v / (POUND * INCH * INCH))),
        (true, false, v) if v.abs() >= 5e3 => format!("{:.4} kg m²", v / 1e6),
        (true, false, v) => format!("{:.3} kg cm²", v / 100.0),
    }
}

/// Scale and unit of the same for a column.
pub(super) fn inertia_column(turns: bool, length: Unit) -> (f64, &'static str) {
    match (turns, inches(length)) {
        (true, false) => (1e-6, "kg m²"),
        (true, true) => (1.0 / (POUND * INCH * INCH), "lb in²"),
        (false, false) => (1.0, "kg"),
        (false, true) => (1.0 / POUND, "lb"),
    }
}

/// N·mm.
pub(super) fn energy(value: f64, length: Unit) -> String {
    if inches(length) {
        format!("{} ft lbf", two(value / FOOT_POUND))
    } else {
        format!("{} J", two(value / 1e3))
    }
}

/// N·mm a second.
pub(super) fn power(value: f64, length: Unit) -> String {
    if inches(length) {
        format!("{} hp", three(value / 1e3 / HORSEPOWER))
    } else {
        format!("{} W", two(value / 1e3))
    }
}

fn two(value: f64) -> String {
    let text = format!("{value:.2}");
    if text == "-0.00" {
        String::from("0.00")
    } else {
        text
    }
}

/// A speed of a drive.
pub(super) fn speed(value: f64, turns: bool, length: Unit) -> String {
    if turns {
        return show(value, Unit::TurnPerMinute, 1);
    }
    let unit = speed_unit(length);
    show(value, unit, if unit == Unit::InchPerSecond { 3 } else { 1 })
}

/// A steel disc of this diameter, mm, when it is so thick, mm; in inches of three quarters of one, with the same inertia.
pub(super) fn disc(diameter: f64, thick: f64, length: Unit) -> String {
    if inches(length) {
        let own = 0.75 * INCH;
        let across = diameter * (thick / own).powf(0.25) / INCH;
        format!("a steel disc 3/4 in thick and {across:.1} in across")
    } else {
        format!("a steel disc {thick:.0} mm thick and {diameter:.0} mm across")
    }
}

/// A mass at a distance that has this moment, kg·mm.
pub(super) fn at_arm(moment: f64, length: Unit) -> String {
    if inches(length) {
        format!("{:.3} lb at 4 in", moment / (4.0 * INCH) / POUND)
    } else {
        format!("{:.3} kg at 100 mm", moment / 100.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST SP 811, appendix B: 1 lb in² is 2.926 397 × 10⁻⁴ kg m², 1 ft·lbf 1.355 818 J, 1 hp 745.699 9 W.
    #[test]
    fn inches_go_with_pounds() {
        assert_eq!(mass(1.0, Unit::Inch), "2.205 lb");
        assert_eq!(inertia(292.6397, true, Unit::Inch), "1.00 lb in²");
        assert_eq!(energy(1355.818, Unit::Inch), "1.00 ft lbf");
        assert_eq!(power(745_699.9, Unit::Inch), "1.00 hp");
        assert_eq!(power(-0.001, Unit::Millimetre), "0.00 W");
        assert_eq!(speed(25.4, false, Unit::Inch), "1.000 in/s");
    }

    #[test]
    fn three_figures_of_large_and_small() {
        assert_eq!(three(1234.6), "1235");
        assert_eq!(three(0.001_234), "0.00123");
        assert_eq!(three(-1e-30), "0.000000000");
        assert_eq!(three(0.0), "0");
    }
}
