//! A quantity together with the way in which it was written.

use crate::number::{SIGNS, tail};
use crate::parse::TURNS;
use crate::print::{decimal, fraction, same};
use crate::{Kind, Unit, drills};

/// How a number was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// `12.50`: a decimal.
    Decimal {
        /// Digits behind the point.
        digits: u8,
    },
    /// `7/16`, `3 1/8`, `3-1/8` or `3½`: a fraction, with or without a whole part.
    Fraction {
        /// The denominator as written.
        denominator: u32,
    },
    /// `1' 2 1/2"` or `1 ft 2.5 in`.
    FeetInches {
        /// Digits behind the point of the inches.
        digits: u8,
    },
    /// `#7` or `F`: a number or letter drill.
    Drill,
    /// `12°30'` or `12°30'15.5"`.
    DegMinSec {
        /// Digits behind the point of the last part.
        digits: u8,
    },
    /// `half turn`.
    Words,
}

/// A quantity as somebody wrote it.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// In the inside unit of the kind: mm, rad, N, N·mm, MPa, N/mm, N·mm/rad, kg, mm/s, rad/s.
    pub value: f64,
    /// The unit that was written, or the one that a bare number took. Feet and inches count as feet, drills as
    /// inches, degrees with minutes as degrees, named parts of a turn as turns.
    pub unit: Unit,
    /// How the number was written.
    pub form: Form,
    /// The text as it was written, without surrounding blanks.
    pub text: String,
    /// Where the number ends in `text` and the blank and the unit begin.
    pub(crate) number_end: usize,
}

/// One and many of the unit names that differ.
const PLURALS: [(&str, &str); 16] = [
    ("turn", "turns"),
    ("inch", "inches"),
    ("foot", "feet"),
    ("degree", "degrees"),
    ("radian", "radians"),
    ("millimetre", "millimetres"),
    ("millimeter", "millimeters"),
    ("centimetre", "centimetres"),
    ("centimeter", "centimeters"),
    ("metre", "metres"),
    ("meter", "meters"),
    ("newton", "newtons"),
    ("pound", "pounds"),
    ("ounce", "ounces"),
    ("gram", "grams"),
    ("kilogram", "kilograms"),
];

impl Written {
    /// What was measured.
    pub fn kind(&self) -> Kind {
        self.unit.kind()
    }

    /// The text exactly as it was written.
    pub fn show(&self) -> &str {
        &self.text
    }

    /// Another value (inside unit) in the same unit and manner.
    ///
    /// At least as many decimals as were written, and as many more as it takes to read the same value back to
    /// within 1e-12 of the larger of itself and one inside unit. Round the value first where fewer are wanted.
    /// A fraction stays a fraction when the value is a whole number of sixty-fourths (or of the parts that were
    /// written), a drill stays a drill when there is one of that size; else it becomes a decimal.
    ///
    /// ```
    /// use quantity::{Kind, Unit, parse};
    /// let written = parse("3-1/8 in", Kind::Length, Unit::Millimetre).unwrap();
    /// assert_eq!(written.show_as(25.4 * 2.75), "2-3/4 in");
    /// assert_eq!(written.show_as(25.4 * 2.8), "2.800 in");
    /// ```
    pub fn show_as(&self, value: f64) -> String {
        if !value.is_finite() {
            return "not a finite number".to_owned();
        }
        let value = if value == 0.0 { 0.0 } else { value };
        if value == self.value {
            return self.text.clone();
        }
        let plus = if self.text.starts_with('+') && value > 0.0 {
            "+"
        } else {
            ""
        };
        let minus = if value < 0.0 { "-" } else { "" };
        let text = match self.form {
            Form::Decimal { digits } => self.in_decimals(value.abs(), digits),
            Form::Fraction { .. } => self.in_fractions(value.abs()),
            Form::FeetInches { digits } => self.in_feet(value.abs(), digits),
            Form::Drill => return drill(value),
            Form::DegMinSec { digits } => self.in_degrees(value.abs(), digits),
            Form::Words => turns(value.abs()),
        };
        // A value that rounds to nothing has no sign.
        let nothing = !text.contains(|c: char| matches!(c, '1'..='9')) && !text.contains("turn");
        let minus = if nothing { "" } else { minus };
        format!("{minus}{plus}{text}")
    }

    fn in_decimals(&self, value: f64, digits: u8) -> String {
        let mut number = decimal(value, self.unit, usize::from(digits));
        let written = self.text.trim_start_matches(['+', '-', '−', ' ']);
        if written.starts_with('.') && number.starts_with("0.") {
            number.remove(0);
        }
        let suffix = self.suffix(&number);
        number + &suffix
    }

    fn in_fractions(&self, value: f64) -> String {
        let x = self.unit.from_inside(value);
        let written = self.text.get(..self.number_end).unwrap_or_default();
        let joint = if written.trim_start_matches('-').contains('-') {
            "-"
        } else {
            " "
        };
        let sign = written.contains(|c: char| SIGNS.iter().any(|s| s.0 == c));
        let parts = match self.form {
            Form::Fraction { denominator } => denominator,
            _ => 64,
        };
        let number = fraction(x, 64, joint, sign)
            .or_else(|| fraction(x, parts, joint, sign))
            .unwrap_or_else(|| decimal(value, self.unit, 3));
        let suffix = self.suffix(&number);
        number + &suffix
    }

    /// The blank and the unit as they were written, in the singular or plural that fits the number.
    fn suffix(&self, number: &str) -> String {
        let suffix = tail(&self.text, self.number_end);
        let word = suffix.trim_start();
        let Some((one, many)) = PLURALS
            .iter()
            .find(|(one, many)| word == *one || word == *many)
        else {
            return suffix.to_owned();
        };
        // `1/2 turn` and `0.5 turn`, but `1 1/2 turns`.
        let small = number == "1"
            || number.starts_with("0.")
            || !number.contains([' ', '-', '.']) && number.contains('/');
        let blank = suffix.strip_suffix(word).unwrap_or_default();
        format!("{blank}{}", if small { one } else { many })
    }

    fn in_feet(&self, value: f64, digits: u8) -> String {
        let inches = Unit::Inch.from_inside(value);
        let (feet, rest) = split(inches, 12.0);
        let number = match fraction(rest, 64, " ", false) {
            Some(number) if digits == 0 => number,
            _ => decimal(Unit::Inch.to_inside(rest), Unit::Inch, usize::from(digits)),
        };
        if self.text.contains('f') {
            format!("{feet} ft {number} in")
        } else {
            format!("{feet}' {number}\"")
        }
    }

    fn in_degrees(&self, value: f64, digits: u8) -> String {
        let (degrees, minutes) = split(Unit::Degree.from_inside(value) * 60.0, 60.0);
        let with_seconds = self.text.contains(['"', '″', '”']) || self.text.contains("''");
        if !with_seconds && (digits > 0 || same(minutes, minutes.round())) {
            let minutes = shortest(minutes, digits);
            return format!("{degrees}°{minutes}'");
        }
        let (minutes, seconds) = split(minutes * 60.0, 60.0);
        let seconds = shortest(seconds, if with_seconds { digits } else { 0 });
        format!("{degrees}°{minutes}'{seconds}\"")
    }
}

/// Whole parts of `size`, and the rest. A rest that is a whole part but for rounding is carried.
fn split(total: f64, size: f64) -> (f64, f64) {
    let whole = (total / size).floor();
    let rest = total - whole * size;
    if same(rest, size) {
        (whole + 1.0, 0.0)
    } else {
        (whole, rest)
    }
}

/// Minutes or seconds of arc with at least so many decimals, to a ten-thousand-millionth.
fn shortest(x: f64, digits: u8) -> String {
    let least = usize::from(digits).min(10);
    (least..=10)
        .map(|d| format!("{x:.d$}"))
        .find(|text| {
            text.parse::<f64>()
                .is_ok_and(|back| (back - x).abs() < 1e-10)
        })
        .unwrap_or_else(|| format!("{x:.10}"))
}

fn drill(value: f64) -> String {
    drills::name(value).unwrap_or_else(|| {
        format!(
            "{}{} in",
            if value < 0.0 { "-" } else { "" },
            decimal(value.abs(), Unit::Inch, 3)
        )
    })
}

fn turns(value: f64) -> String {
    let x = Unit::Turn.from_inside(value);
    if let Some((name, _)) = TURNS.iter().find(|(_, turns)| same(*turns, x)) {
        return (*name).to_owned();
    }
    let number = fraction(x, 64, " ", false).unwrap_or_else(|| decimal(value, Unit::Turn, 0));
    let unit = if x <= 1.0 { "turn" } else { "turns" };
    format!("{number} {unit}")
}
