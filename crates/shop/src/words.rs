//! Sizes as they stand on a drawing and on an operation sheet: one place for all of them.

use crate::part::{cut, cut_size};
use machine::equipment::RotaryTable;
use machine::fitting::{Cut, Fitted, Sized};
use machine::work::Section;
use quantity::Unit;

/// The unit of a drawing, and another that stands in square brackets behind it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Units {
    /// What sizes are made to.
    pub first: Unit,
    /// What stands in brackets, for reading only.
    pub beside: Option<Unit>,
}

impl Units {
    /// A unit with its counterpart in brackets: inches beside millimetres, millimetres beside inches.
    pub fn both(first: Unit) -> Self {
        let inches = matches!(first, Unit::Inch | Unit::Thou | Unit::Foot);
        Self {
            first,
            beside: Some(if inches { Unit::Millimetre } else { Unit::Inch }),
        }
    }

    /// The text made in the first unit, and in brackets that made in the second.
    fn each(self, text: impl Fn(Unit) -> String) -> String {
        let first = text(self.first);
        match self.beside {
            Some(unit) => format!("{first} [{}]", text(unit)),
            None => first,
        }
    }
}

impl From<Unit> for Units {
    fn from(first: Unit) -> Self {
        Self {
            first,
            beside: None,
        }
    }
}

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

/// A length without its unit: three decimals of a millimetre, four of an inch. Inches that stand beside millimetres for reading have three:
/// nothing is made to them but where limits stand.
pub fn length(mm: f64, units: impl Into<Units>) -> String {
    sized_to(mm, units.into(), 0)
}

fn sized_to(mm: f64, units: Units, fewer: usize) -> String {
    let first = number(
        units.first.from_inside(mm),
        decimals(units.first).saturating_sub(fewer),
    );
    match units.beside {
        Some(unit) => {
            let (x, places) = (unit.from_inside(mm), decimals(unit).saturating_sub(1));
            // Inches are read with as many decimals everywhere.
            let beside = if unit == Unit::Inch {
                format!("{:.places$}", x + 0.0)
            } else {
                number(x, places)
            };
            format!("{first} [{beside}]")
        }
        None => first,
    }
}

/// A length that follows from a rule of thumb or is only worked to: in inches to the thousandth, where it is no round number of ten-thousandths.
pub fn worked(mm: f64, units: impl Into<Units>) -> String {
    let units = units.into();
    let inches = mm / 25.4 * 1e4;
    let odd = units.first == Unit::Inch && (inches - inches.round()).abs() > 1e-3;
    sized_to(mm, units, usize::from(odd))
}

/// Up to the next whole millimetre or eighth of an inch.
pub fn up(mm: f64, unit: Unit) -> f64 {
    let step = if unit == Unit::Inch { 25.4 / 8.0 } else { 1.0 };
    (mm / step - 1e-9).ceil() * step
}

/// What is bought by its size: of an inch file in fractions, what is metric in it with its unit.
pub fn bought(mm: f64, unit: Unit) -> String {
    if unit == Unit::Inch {
        tool_size(mm, unit)
    } else {
        length(mm, unit)
    }
}

/// The unit that numbers are in, as a sentence says it.
pub fn unit_name(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "inches",
        other => other.symbol(),
    }
}

/// An outer size: general tolerances ask for no third decimal.
pub fn outer(mm: f64, units: impl Into<Units>) -> String {
    sized_to(mm, units.into(), 1)
}

/// A coordinate: all its decimals.
pub fn coordinate(mm: f64, units: impl Into<Units>) -> String {
    let text = |unit: Unit| {
        let places = decimals(unit);
        let text = format!("{:.places$}", unit.from_inside(mm));
        // Nothing lies at minus zero.
        match text.strip_prefix('-') {
            Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
            _ => text,
        }
    };
    units.into().each(text)
}

/// A tool by its diameter: in inches by its fraction where it has one, a metric tool in an inch shop with its unit.
pub fn tool_size(mm: f64, unit: Unit) -> String {
    if unit != Unit::Inch {
        return number(mm, 2);
    }
    let parts = mm / 25.4 * 64.0;
    if (parts - parts.round()).abs() > 0.01 {
        return format!("{} mm", number(mm, 2));
    }
    let (mut over, mut under) = (parts.round() as u32, 64);
    while over.is_multiple_of(2) && under > 1 {
        over /= 2;
        under /= 2;
    }
    match (over / under, over % under) {
        (whole, 0) => format!("{whole} in"),
        (0, rest) => format!("{rest}/{under} in"),
        (whole, rest) => format!("{whole} {rest}/{under} in"),
    }
}

/// Whether a part is of wood, by the name of its material: it is drilled dry, and no fit of a few hundredths stays in it.
pub fn is_wood(material: &machine::work::Material) -> bool {
    let name = material.name.to_lowercase();
    let mut words = name.split_whitespace();
    words.any(|n| ["oak", "beech", "ash", "maple", "wood"].contains(&n))
}

/// `1 pass of 4`, `3 passes of 2`.
pub fn passes(count: f64, of: &str) -> String {
    let word = if count > 1.5 { "passes" } else { "pass" };
    format!("{} {word} of {of}", number(count, 0))
}

/// What the handle of a rotary table shows for an angle of the table, rad: whole turns and divisions of its dial, `9 + 20`, where a turn of the
/// handle has a whole number of them; turns with their decimals else.
pub fn handle(table: &RotaryTable, angle: f64) -> String {
    let turns = angle / std::f64::consts::TAU * table.ratio;
    match divisions(table) {
        Some(a_turn) => {
            let all = (turns * a_turn).round();
            let whole = (all / a_turn).floor();
            format!("{} + {}", number(whole, 0), number(all - whole * a_turn, 0))
        }
        None => format!("{turns:.3}"),
    }
}

/// How the handle of a rotary table is read, for the head of a list of its turns.
pub fn handle_told(table: &RotaryTable) -> String {
    let ratio = number(table.ratio, 3);
    match divisions(table) {
        Some(a_turn) => format!(
            "Handle of rotary table {}: {ratio} turns for one of the table, {} divisions of {}° on its dial; whole turns + divisions from zero.",
            table.name,
            number(a_turn, 0),
            number(table.dial.to_degrees(), 4)
        ),
        None => format!(
            "Handle of rotary table {}: {ratio} turns for one of the table; turns from zero.",
            table.name
        ),
    }
}

/// Divisions of the dial for one turn of the handle, where they are a whole number.
fn divisions(table: &RotaryTable) -> Option<f64> {
    let a_turn = std::f64::consts::TAU / table.ratio / table.dial;
    let whole = a_turn.round();
    (whole >= 2.0 && (a_turn - whole).abs() < 1e-6 * whole).then_some(whole)
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

/// `+0.015 / 0`, `+0.041 / +0.020`: deviations as on a drawing, both written out with as many decimals; nothing is plain 0.
pub fn deviations(size: &Sized, unit: Unit) -> String {
    let both = [size.limits.upper, size.limits.lower].map(|x| unit.from_inside(x));
    let text = |places: usize| both.map(|x| number(x, places));
    let most = text(decimals(unit));
    let places = most
        .iter()
        .map(|t| t.split_once('.').map_or(0, |p| p.1.len()));
    let places = places.max().unwrap_or(0);
    let one = |n: usize| match most[n].as_str() {
        "0" => "0".to_owned(),
        _ if both[n] > 0.0 => format!("+{:.places$}", both[n]),
        _ => format!("{:.places$}", both[n]),
    };
    format!("{} / {}", one(0), one(1))
}

/// `15.000 to 15.018`: the limits of size.
pub fn limits(size: &Sized, units: impl Into<Units>) -> String {
    units.into().each(|unit| {
        let places = decimals(unit);
        let one = |x: f64| format!("{:.places$}", unit.from_inside(x));
        format!(
            "{} to {}",
            one(size.limits.least()),
            one(size.limits.most())
        )
    })
}

/// `12 H7 (+0.018 / 0)`, or the bare size. In brackets stand the limits, rounded to the inside of what the drawing allows, so that a part
/// made to them is good.
pub fn sized(size: f64, class: Option<&Sized>, units: impl Into<Units>) -> String {
    let units = units.into();
    let Some(c) = class else {
        return length(size, units);
    };
    let unit = units.first;
    // A metric fit keeps its name in inches: that is how its bearing, bushing or reamer is bought.
    let parts = size / 25.4 * 64.0;
    let metric =
        (2.0 * size - (2.0 * size).round()).abs() < 1e-6 && (parts - parts.round()).abs() > 0.01;
    if unit == Unit::Inch && metric {
        return format!(
            "{} mm {} ({})",
            number(size, 3),
            c.class,
            inner_limits(c, unit)
        );
    }
    let text = format!(
        "{} {} ({})",
        length(size, unit),
        c.class,
        deviations(c, unit)
    );
    match units.beside {
        Some(other) => format!("{text} [{}]", inner_limits(c, other)),
        None => text,
    }
}

/// Both limits in a unit, the upper one first as with deviations, rounded to the inside; with one more decimal where they would cross.
fn inner_limits(size: &Sized, unit: Unit) -> String {
    let [least, most] = [size.limits.least(), size.limits.most()].map(|x| unit.from_inside(x));
    let at = |places: usize| {
        let step = 10_f64.powf(places as f64);
        // What is a round number in this unit stays one.
        let (low, high) = (
            (least * step - 1e-6).ceil() / step,
            (most * step + 1e-6).floor() / step,
        );
        (low <= high).then(|| format!("{high:.places$} / {low:.places$}"))
    };
    let places = decimals(unit);
    (places..places + 3)
        .find_map(at)
        .unwrap_or_else(|| length(size.nominal, unit))
}

/// What a hole is, as on a drawing: `⌀8 H7 (+0.015 / 0)`, `M8`, `⌀42 N7 (…)`.
pub fn hole(fitted: &Fitted, units: impl Into<Units>) -> String {
    let unit = units.into();
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
pub fn purpose(fitted: &Fitted, unit: Unit) -> String {
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
            length(bore.nominal, unit),
            length(outside.nominal, unit)
        ),
        Fitted::Bushing { .. } => "bore".to_owned(),
    }
}

/// `flat 12 x 40`, `round 20`.
pub fn section(section: &Section, units: impl Into<Units>) -> String {
    let (kind, sizes, between) = match section {
        Section::Flat([t, w]) => ("flat", vec![*t, *w], " x "),
        Section::Round(d) => ("round", vec![*d], ""),
        Section::Square(a) => ("square", vec![*a], ""),
        Section::Hexagon(a) => ("hexagon", vec![*a], ""),
        Section::Tube([o, i]) => ("tube", vec![*o, *i], " / "),
    };
    let sizes = units.into().each(|unit| {
        let all: Vec<String> = sizes.iter().map(|x| length(*x, unit)).collect();
        all.join(between)
    });
    format!("{kind} {sizes}")
}

/// A kind of thing and its name, once where the name says the kind: `rod pull`, `down rod`.
pub fn of_kind(kind: &str, name: &str) -> String {
    let own = spoken(name);
    if own.split(' ').any(|w| w == kind) {
        own
    } else {
        format!("{kind} {own}")
    }
}

/// A machine or tool of the shop file as the trade says it: `[mill.bench]` is the bench mill, `[saw.band]` the band saw, `[vise.mill]` the mill vise.
pub fn kept(kind: &str, name: &str) -> String {
    let own = spoken(name);
    if own == kind || own.ends_with(&format!(" {kind}")) {
        own
    } else {
        format!("{own} {kind}")
    }
}

/// A name as words: `bell-crank` is `bell crank`; a line below between figures stands for their point.
pub fn spoken(name: &str) -> String {
    let chars: Vec<char> = name.chars().collect();
    let figure = |at: Option<usize>| {
        at.and_then(|at| chars.get(at))
            .is_some_and(char::is_ascii_digit)
    };
    let own: String = chars
        .iter()
        .enumerate()
        .map(|(n, c)| match c {
            '-' => ' ',
            '_' if figure(n.checked_sub(1)) && figure(Some(n + 1)) => '.',
            c => *c,
        })
        .collect();
    // The gear on a part that is called gear itself.
    match own.strip_suffix(" gear gear") {
        Some(rest) => format!("{rest} gear blank"),
        None if own == "gear gear" => "gear blank".to_owned(),
        None => own,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        assert_eq!(number(12.0, 3), "12");
        assert_eq!(spoken("bushing-19_05-25_4-30"), "bushing 19.05 25.4 30");
        assert_eq!(spoken("gear-gear"), "gear blank");
        assert_eq!(spoken("roll-gear"), "roll gear");
        assert_eq!(of_kind("rod", "down-rod"), "down rod");
        assert_eq!(of_kind("rod", "pull"), "rod pull");
        assert_eq!(number(-0.0001, 3), "0");
        assert_eq!(number(0.0125, 3), "0.013");
        assert_eq!(number(100.0, 0), "100");
        assert_eq!(length(25.4, Unit::Inch), "1");
        assert_eq!(coordinate(-0.000_01, Unit::Millimetre), "0.000");
    }

    #[test]
    fn a_handle_is_read_in_turns_and_divisions() {
        let mut table = RotaryTable {
            name: "small".to_owned(),
            diameter: 150.0,
            ratio: 90.0,
            dial: 0.05_f64.to_radians(),
        };
        // 90 : 1 makes 4 degrees a turn, 80 divisions of 0.05 degrees: 37 degrees are nine turns and one degree.
        assert_eq!(handle(&table, 37_f64.to_radians()), "9 + 20");
        assert_eq!(handle(&table, 3.999_f64.to_radians()), "1 + 0");
        table.dial = 0.3_f64.to_radians();
        assert_eq!(handle(&table, 37_f64.to_radians()), "9.250");
    }

    #[test]
    fn brackets_hold_the_other_unit() {
        let both = Units::both(Unit::Millimetre);
        // One rule for all sizes: three places for what is read, four where it is made to limits or dialled.
        assert_eq!(length(110.0, both), "110 [4.331]");
        assert_eq!(outer(110.0, both), "110 [4.331]");
        assert_eq!(coordinate(110.0, both), "110.000 [4.3307]");
        assert_eq!(outer(57.7, both), "57.7 [2.272]");
        assert_eq!(length(6.35, Units::both(Unit::Inch)), "0.25 [6.35]");
    }

    #[test]
    fn limits_in_brackets_lie_inside_those_of_the_drawing() {
        // 16 H7 is 16.000 to 16.018 (ISO 286-2): 0.62992 to 0.63063 in.
        let size = Sized {
            nominal: 16.0,
            class: "H7".to_owned(),
            limits: elements::Limits {
                nominal: 16.0,
                upper: 0.018,
                lower: 0.0,
            },
            source: elements::Source::of("ISO 286-2"),
            assumed: false,
        };
        let text = sized(16.0, Some(&size), Units::both(Unit::Millimetre));
        assert_eq!(text, "16 H7 (+0.018 / 0) [0.6306 / 0.6300]");
        let bracket = inner_limits(&size, Unit::Inch);
        for one in bracket.split(" / ") {
            let mm = 25.4 * one.parse::<f64>().unwrap_or(f64::NAN);
            assert!((16.0..=16.018).contains(&mm), "{bracket}");
        }
    }
}
