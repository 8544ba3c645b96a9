//! Number to text.

use crate::Unit;

/// `value` (inside unit) in `unit` with so many decimals: `12.50 mm`.
pub fn show(value: f64, unit: Unit, decimals: usize) -> String {
    format!("{:.decimals$} {unit}", unit.from_inside(value))
}

/// A length in millimetres and in inches: `3.175 mm (0.1250 in)`.
pub fn show_length_both(mm: f64) -> String {
    format!(
        "{} ({})",
        show(mm, Unit::Millimetre, 3),
        show(mm, Unit::Inch, 4)
    )
}

/// The nearest sixty-fourth of an inch, and how much larger (mm) it is than the length.
pub fn nearest_64th(mm: f64) -> (String, f64) {
    let k = (mm / 25.4 * 64.0).round();
    (format!("{k}/64 in"), k / 64.0 * 25.4 - mm)
}

/// A length in thousandths of an inch with one decimal: `62.5 thou`.
pub fn thou(mm: f64) -> String {
    show(mm, Unit::Thou, 1)
}
