//! Sizes as they stand on a drawing and on an operation sheet: one place for all of them.

use crate::part::{cut, cut_size};
use machine::fitting::{Cut, Fitted, Sized};
use machine::work::Section;
use quantity::Unit;

/// A number without trailing zeros, at most so many decimals.
pub fn number(x: f64, decimals: usize) -> String {
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

/// A length in a unit, without the unit: three decimals of a millimetre, four of an inch.
pub fn length(mm: f64, unit: Unit) -> String {
    number(unit.from_inside(mm), decimals(unit))
}

/// Decimals of a printed length.
pub fn decimals(unit: Unit) -> usize {
    match unit {
        Unit::Inch => 4,
        Unit::Metre => 6,
        Unit::Centimetre => 4,
        _ => 3,
    }
}

/// `+0.015 / 0`: deviations as on a drawing, both written out.
pub fn deviations(size: &Sized, unit: Unit) -> String {
    let places = decimals(unit);
    let one = |x: f64| {
        let text = number(unit.from_inside(x), places);
        if x > 0.0 { format!("+{text}") } else { text }
    };
    format!("{} / {}", one(size.limits.upper), one(size.limits.lower))
}

/// `15.000 to 15.018`: the limits of size.
pub fn limits(size: &Sized, unit: Unit) -> String {
    let places = decimals(unit);
    let one = |x: f64| format!("{:.places$}", unit.from_inside(x));
    format!(
        "{} to {}",
        one(size.limits.least()),
        one(size.limits.most())
    )
}

/// `12 H7 (+0.018 / 0)`, or the bare size.
pub fn sized(size: f64, class: Option<&Sized>, unit: Unit) -> String {
    match class {
        Some(c) => format!(
            "{} {} ({})",
            length(size, unit),
            c.class,
            deviations(c, unit)
        ),
        None => length(size, unit),
    }
}

/// What a hole is, as on a drawing: `⌀8 H7 (+0.015 / 0)`, `M8`, `⌀42 N7 (…)`.
pub fn hole(fitted: &Fitted, unit: Unit) -> String {
    match fitted {
        Fitted::Tapped { thread, depth } => match depth {
            Some(depth) => format!("{} x {} deep", thread.name, length(*depth, unit)),
            None => thread.name.clone(),
        },
        other => cut_size(other).map_or_else(String::new, |size| {
            // A drilled hole is held to nothing better than the drill.
            let class = (cut(other) != Some(Cut::Drill) || !size.assumed).then_some(size);
            format!("⌀{}", sized(size.nominal, class, unit))
        }),
    }
}

/// What goes into a hole, or how it is made: `ream`, `tap`, `for bearing 6004`.
pub fn purpose(fitted: &Fitted) -> String {
    match fitted {
        Fitted::Plain { cut: Cut::Ream, .. } => "ream".to_owned(),
        Fitted::Plain { cut: Cut::Bore, .. } => "bore".to_owned(),
        Fitted::Plain {
            cut: Cut::Drill, ..
        } => "drill".to_owned(),
        Fitted::Tapped { .. } => "tap".to_owned(),
        Fitted::Bearing { name, .. } => format!("for bearing {name}"),
        Fitted::Bushing {
            outside: Some((outside, _)),
            bore,
            ..
        } => format!(
            "for bushing {}/{}",
            number(bore.nominal, 3),
            number(outside.nominal, 3)
        ),
        Fitted::Bushing { .. } => "bore".to_owned(),
    }
}

/// `flat 12 x 40`, `round 20`.
pub fn section(section: &Section, unit: Unit) -> String {
    match section {
        Section::Flat([t, w]) => format!("flat {} x {}", length(*t, unit), length(*w, unit)),
        Section::Round(d) => format!("round {}", length(*d, unit)),
        Section::Square(a) => format!("square {}", length(*a, unit)),
        Section::Hexagon(a) => format!("hexagon {}", length(*a, unit)),
        Section::Tube([o, i]) => format!("tube {} / {}", length(*o, unit), length(*i, unit)),
    }
}

/// A name as words: `bell-crank` is `bell crank`.
pub fn spoken(name: &str) -> String {
    name.replace('-', " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        assert_eq!(number(12.0, 3), "12");
        assert_eq!(number(-0.0001, 3), "0");
        assert_eq!(number(0.0125, 3), "0.013");
        assert_eq!(number(100.0, 0), "100");
        assert_eq!(length(25.4, Unit::Inch), "1");
    }
}
