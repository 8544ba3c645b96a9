//! A quantity together with the way in which it was written.

use crate::number::{SIGNS, tail};
use crate::parse::TURNS;
use crate::print::{decimal, fraction, mixed, same, whole_parts};
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
        if value == self.value {
            return self.text.clone();
        }
        // What rounds to nothing has no sign.
        let value = if same(value, 0.0) { 0.0 } else { value };
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
        let number = fraction(value, self.unit, 64, joint, sign)
            .or_else(|| fraction(value, self.unit, parts, joint, sign))
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
        let sixty_fourths = (digits == 0)
            .then(|| whole_parts(value, Unit::Inch, 64))
            .flatten();
        let (feet, rest) = if let Some(count) = sixty_fourths {
            (count / 768, mixed(count % 768, 64, " ", false))
        } else {
            let reads_back = |inches| same(Unit::Inch.to_inside(inches), value);
            let Some((whole, decimals)) = counted(inches, digits, reads_back) else {
                return format!("{} ft", decimal(value, Unit::Foot, 0));
            };
            (whole / 12, format!("{}{decimals}", whole % 12))
        };
        if self.text.contains('f') {
            format!("{feet} ft {rest} in")
        } else {
            format!("{feet}' {rest}\"")
        }
    }

    fn in_degrees(&self, value: f64, digits: u8) -> String {
        let degrees = Unit::Degree.from_inside(value);
        let with_seconds = self.text.contains(['"', '″', '”']) || self.text.contains("''");
        let minutes = |minutes| same(Unit::Degree.to_inside(minutes / 60.0), value);
        let seconds = |seconds| same(Unit::Degree.to_inside(seconds / 3600.0), value);
        let in_minutes = || counted(degrees * 60.0, digits, minutes);
        if !with_seconds
            && let Some((whole, decimals)) = in_minutes()
            && (digits > 0 || decimals.is_empty())
        {
            return format!("{}°{}{decimals}'", whole / 60, whole % 60);
        }
        let least = if with_seconds { digits } else { 0 };
        let Some((whole, decimals)) = counted(degrees * 3600.0, least, seconds) else {
            return format!("{} deg", decimal(value, Unit::Degree, 0));
        };
        let (minutes, seconds) = (whole / 60, whole % 60);
        format!("{}°{}'{seconds}{decimals}\"", minutes / 60, minutes % 60)
    }
}

/// A total as a whole count and its decimals (`.25`, or nothing), with at least so many of them. Counting before
/// the total is split into feet or minutes keeps `12°29'60"` out.
fn counted(total: f64, least: u8, reads_back: impl Fn(f64) -> bool) -> Option<(u64, String)> {
    for digits in u32::from(least).min(12)..=12 {
        let scale = 10_u64.pow(digits);
        let count = (total * scale as f64).round();
        if count > 1e15 {
            return None;
        }
        if reads_back(count / scale as f64) {
            let (whole, rest) = (count as u64 / scale, count as u64 % scale);
            let width = digits as usize;
            let decimals = if digits == 0 {
                String::new()
            } else {
                format!(".{rest:0width$}")
            };
            return Some((whole, decimals));
        }
    }
    None
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
    if let Some((name, _)) = TURNS
        .iter()
        .find(|(_, turns)| same(Unit::Turn.to_inside(*turns), value))
    {
        return (*name).to_owned();
    }
    let number = fraction(value, Unit::Turn, 64, " ", false)
        .unwrap_or_else(|| decimal(value, Unit::Turn, 0));
    let unit = if x <= 1.0 { "turn" } else { "turns" };
    format!("{number} {unit}")
}
