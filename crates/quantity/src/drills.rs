//! Number and letter drills.
//!
//! Diameters in inches after ASME B94.11M. The standard itself was not at hand: numbers 1 to 80 and letters A to Z
//! were compared with several published tables that name it, which agree.

use crate::error::{QuantityError, quote};
use crate::{Form, Length, Unit, Written};

/// #1 to #80, inches.
const NUMBERS: [f64; 80] = [
    0.2280, 0.2210, 0.2130, 0.2090, 0.2055, 0.2040, 0.2010, 0.1990, 0.1960, 0.1935, // 1-10
    0.1910, 0.1890, 0.1850, 0.1820, 0.1800, 0.1770, 0.1730, 0.1695, 0.1660, 0.1610, // 11-20
    0.1590, 0.1570, 0.1540, 0.1520, 0.1495, 0.1470, 0.1440, 0.1405, 0.1360, 0.1285, // 21-30
    0.1200, 0.1160, 0.1130, 0.1110, 0.1100, 0.1065, 0.1040, 0.1015, 0.0995, 0.0980, // 31-40
    0.0960, 0.0935, 0.0890, 0.0860, 0.0820, 0.0810, 0.0785, 0.0760, 0.0730, 0.0700, // 41-50
    0.0670, 0.0635, 0.0595, 0.0550, 0.0520, 0.0465, 0.0430, 0.0420, 0.0410, 0.0400, // 51-60
    0.0390, 0.0380, 0.0370, 0.0360, 0.0350, 0.0330, 0.0320, 0.0310, 0.0292, 0.0280, // 61-70
    0.0260, 0.0250, 0.0240, 0.0225, 0.0210, 0.0200, 0.0180, 0.0160, 0.0145, 0.0135, // 71-80
];

/// A to Z, inches.
const LETTERS: [f64; 26] = [
    0.234, 0.238, 0.242, 0.246, 0.250, 0.257, 0.261, 0.266, 0.272, 0.277, 0.281, 0.290,
    0.295, // A-M
    0.302, 0.316, 0.323, 0.332, 0.339, 0.348, 0.358, 0.368, 0.377, 0.386, 0.397, 0.404,
    0.413, // N-Z
];

/// The diameter of a number drill, #1 (the largest) to #80.
///
/// ```
/// let tap_drill = quantity::drills::number(7).unwrap();
/// assert!((tap_drill.inches() - 0.201).abs() < 1e-12);
/// assert_eq!(quantity::drills::number(81), None);
/// ```
pub fn number(number: usize) -> Option<Length> {
    let inches = NUMBERS.get(number.checked_sub(1)?)?;
    Some(Length::from_inches(*inches))
}

/// The diameter of a letter drill, `A` (the smallest) to `Z`.
///
/// ```
/// let body_drill = quantity::drills::letter('F').unwrap();
/// assert!((body_drill.inches() - 0.257).abs() < 1e-12);
/// assert_eq!(quantity::drills::letter('f'), None);
/// ```
pub fn letter(letter: char) -> Option<Length> {
    let index = u32::from(letter).checked_sub(u32::from('A'))?;
    let inches = LETTERS.get(usize::try_from(index).ok()?)?;
    Some(Length::from_inches(*inches))
}

/// The name of the drill of this diameter, number drills first: `#7`, `F`.
pub(crate) fn name(mm: f64) -> Option<String> {
    let is = |length: Option<Length>| length.is_some_and(|l| (l.mm() - mm).abs() < 1e-9);
    let number = (1..=NUMBERS.len()).find(|n| is(number(*n)));
    let letter = || ('A'..='Z').find(|c| is(letter(*c)));
    number
        .map(|n| format!("#{n}"))
        .or_else(|| letter().map(String::from))
}

/// Reads `#7`, `No. 7` or `F`; `None` when the text does not look like a drill.
pub(crate) fn read(text: &str) -> Option<Result<Written, QuantityError>> {
    let length = read_number(text).or_else(|| read_letter(text))?;
    Some(length.map(|length| Written {
        value: length.mm(),
        unit: Unit::Inch,
        form: Form::Drill,
        text: text.to_owned(),
        number_end: text.len(),
    }))
}

fn read_number(text: &str) -> Option<Result<Length, QuantityError>> {
    let digits = ["#", "No.", "no."]
        .iter()
        .find_map(|mark| text.strip_prefix(mark))?;
    let digits = digits.trim_start();
    let fault = |message: String| {
        let help = "number drills run from #1 to #80: write one like \"#7\"";
        Err(QuantityError::new(0..text.len(), message, help))
    };
    if digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return Some(fault(format!("{} is not a number drill", quote(text))));
    }
    let length = digits.parse().ok().and_then(number);
    Some(length.map_or_else(|| fault(format!("there is no drill {}", quote(text))), Ok))
}

fn read_letter(text: &str) -> Option<Result<Length, QuantityError>> {
    let mut chars = text.chars();
    let (Some(c), None) = (chars.next(), chars.next()) else {
        return None;
    };
    letter(c).map(Ok)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_fall_and_rise() {
        assert!(NUMBERS.windows(2).all(|w| w[0] > w[1]));
        assert!(LETTERS.windows(2).all(|w| w[0] < w[1]));
        assert!(number(1).unwrap() < letter('A').unwrap());
    }

    #[test]
    fn names_come_back() {
        for n in 1..=80 {
            let mm = number(n).unwrap().mm();
            assert_eq!(name(mm), Some(format!("#{n}")));
        }
        for c in 'A'..='Z' {
            assert_eq!(name(letter(c).unwrap().mm()), Some(c.to_string()));
        }
        assert_eq!(name(5.0), None);
        assert_eq!(number(0), None);
        assert_eq!(letter('@'), None);
        assert_eq!(letter('['), None);
    }
}
