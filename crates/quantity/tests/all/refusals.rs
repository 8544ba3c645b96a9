//! What a builder reads when a quantity cannot be read.

use std::fmt::Write;

use quantity::{Kind, QuantityError, Unit, number, parse, thread};

const LENGTHS: &[&str] = &[
    "",
    "  ",
    "5 N",
    "5 lb",
    "35°",
    "12,5 mm",
    "1,250 mm",
    "1,250.5 mm",
    "1 000 mm",
    "--5 mm",
    "+-5",
    "±0.05 mm",
    "–5 mm",
    "1/0 in",
    "0 1/0 in",
    "1/ in",
    "3 9/8 in",
    "1/99999999999 in",
    "7/16",
    "3½",
    "NaN",
    "nan mm",
    "-inf",
    "∞",
    "1e999 mm",
    "1e308 m",
    "1e-999 mm",
    "mm",
    "-",
    "5 mn",
    "5 inchs",
    "5 MM",
    "5 x",
    "5%",
    "5 6 mm",
    "5 mm 3",
    "1.2.3 mm",
    "½½ in",
    "1/2/3 in",
    "abc",
    "$5",
    "f",
    "#",
    "#x",
    "#0",
    "#81",
    "M8",
    "1/4-20",
    "#10-32",
    "1' 12\"",
    "1' 2",
    "1.5' 2\"",
    "5\u{7}mm",
    "a long story about a lever that is about as long as a hand",
];

const ANGLES: &[&str] = &[
    "5 mm",
    "100 gon",
    "12°60'",
    "12°30'60\"",
    "12°30",
    "12°30'5",
    "12.5°30'",
    "12°-30'",
    "turn",
    "half turns",
    "90 rpm",
];

const OTHERS: &[(&str, Kind, Unit)] = &[
    ("5 lb", Kind::Force, Unit::Newton),
    ("5 kg", Kind::Force, Unit::Newton),
    ("5 kn", Kind::Force, Unit::Newton),
    ("5 N/mm", Kind::Pressure, Unit::Megapascal),
    ("5 MPa", Kind::Stiffness, Unit::NewtonPerMillimetre),
    ("5 N·m", Kind::AngularStiffness, Unit::NewtonMetrePerRadian),
    ("5", Kind::Stiffness, Unit::One),
    ("5 RPM", Kind::TurningSpeed, Unit::TurnPerMinute),
    ("5 mm", Kind::Count, Unit::One),
    ("many", Kind::Count, Unit::One),
];

const THREADS: &[&str] = &[
    "",
    "8",
    "M",
    "M0",
    "M-8",
    "M8,5x1",
    "m8",
    "M9",
    "M1000",
    "M8x",
    "M8x0",
    "M8x20",
    "M8-1",
    "M8x1-6g",
    "M8LH",
    "1/4",
    "#10",
    "#7",
    "#99-20",
    "#0 UNC",
    "1 3/4 UNF",
    "1/4-20 UNF",
    "1/4-3",
    "1/4-0",
    "1/4-20 UNC-2A",
    "0.3 UNC",
    "3 UNC",
    "1/0-20",
    "hello",
];

/// The text with the offending part underlined, and the two sentences.
fn show(out: &mut String, what: &str, text: &str, error: &QuantityError) {
    let before: usize = text
        .get(..error.start)
        .expect("a place inside")
        .chars()
        .count();
    let part = text
        .get(error.start..error.end)
        .expect("a place inside")
        .chars()
        .count();
    writeln!(out, "{what}: {}", text.replace('\u{7}', "␇")).expect("a text grows");
    writeln!(
        out,
        "{}{}",
        " ".repeat(what.len() + 2 + before),
        "^".repeat(part)
    )
    .expect("a text grows");
    writeln!(out, "  {}\n  {}\n", error.message, error.help).expect("a text grows");
}

fn refused(out: &mut String, text: &str, kind: Kind, bare: Unit) {
    let error = parse(text, kind, bare).expect_err(text);
    show(out, kind.noun(), text, &error);
    // The place is counted from the beginning of the text that was given, blanks and all.
    let moved = parse(&format!("  {text} "), kind, bare).expect_err(text);
    if !text.trim().is_empty() {
        assert_eq!(
            (moved.start, moved.end),
            (error.start + 2, error.end + 2),
            "{text}"
        );
    }
}

#[test]
fn sentences() {
    let mut out = String::new();
    for text in LENGTHS {
        refused(&mut out, text, Kind::Length, Unit::Millimetre);
    }
    for text in ANGLES {
        refused(&mut out, text, Kind::Angle, Unit::Degree);
    }
    for (text, kind, bare) in OTHERS {
        refused(&mut out, text, *kind, *bare);
    }
    for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let error = number(value, Kind::Length, Unit::Inch).expect_err("not finite");
        show(&mut out, "bare number", &value.to_string(), &error);
    }
    for text in THREADS {
        let error = thread::parse(text).expect_err(text);
        show(&mut out, "thread", text, &error);
    }
    insta::assert_snapshot!(out);
}
