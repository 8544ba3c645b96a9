//! Screw threads by name: `M8`, `M8x1`, `1/4-20`, `#10-32 UNF`, `M8 LH`.
//!
//! Coarse metric pitches after ISO 261; inch series after ASME B1.1. The standards themselves were not at hand: the
//! sizes were compared with published tables that name them, but for UNF of 1 in (where tables differ: the older
//! 1-14 is read too, without a series) and of 1 1/4 to 1 1/2 in, which are from memory. An inch thread with a number has the major diameter
//! 0.060 in + 0.013 in times the number.

use crate::error::{QuantityError, list, one_line, quote};
use crate::number::{Number, scan, skip_blanks, tail};
use crate::{Form, Unit};

/// A screw thread.
#[derive(Clone, Debug, PartialEq)]
pub struct Thread {
    /// The usual name: `M8`, `M8x1`, `1/4-20 UNC`, `#10-32 UNF`, with ` LH` behind it when left-handed.
    pub name: String,
    /// Basic major diameter, mm.
    pub major: f64,
    /// Pitch, mm: how far a nut moves in one turn.
    pub pitch: f64,
    /// Whether it is an inch thread.
    pub inch: bool,
    /// Whether it is left-handed.
    pub left: bool,
}

/// Major diameter and coarse pitch, mm (ISO 261, first and second choice).
const COARSE: [(f64, f64); 30] = [
    (1.0, 0.25),
    (1.2, 0.25),
    (1.4, 0.3),
    (1.6, 0.35),
    (1.8, 0.35),
    (2.0, 0.4),
    (2.5, 0.45),
    (3.0, 0.5),
    (3.5, 0.6),
    (4.0, 0.7),
    (5.0, 0.8),
    (6.0, 1.0),
    (7.0, 1.0),
    (8.0, 1.25),
    (10.0, 1.5),
    (12.0, 1.75),
    (14.0, 2.0),
    (16.0, 2.0),
    (18.0, 2.5),
    (20.0, 2.5),
    (22.0, 2.5),
    (24.0, 3.0),
    (27.0, 3.0),
    (30.0, 3.5),
    (33.0, 3.5),
    (36.0, 4.0),
    (39.0, 4.0),
    (42.0, 4.5),
    (45.0, 4.5),
    (48.0, 5.0),
];

/// An inch size with its threads per inch, zero where the series has none (ASME B1.1).
struct InchSize {
    name: &'static str,
    inches: f64,
    unc: f64,
    unf: f64,
}

const fn size(name: &'static str, inches: f64, unc: f64, unf: f64) -> InchSize {
    InchSize {
        name,
        inches,
        unc,
        unf,
    }
}

const INCH: [InchSize; 26] = [
    size("#0", 0.060, 0.0, 80.0),
    size("#1", 0.073, 64.0, 72.0),
    size("#2", 0.086, 56.0, 64.0),
    size("#3", 0.099, 48.0, 56.0),
    size("#4", 0.112, 40.0, 48.0),
    size("#5", 0.125, 40.0, 44.0),
    size("#6", 0.138, 32.0, 40.0),
    size("#8", 0.164, 32.0, 36.0),
    size("#10", 0.190, 24.0, 32.0),
    size("#12", 0.216, 24.0, 28.0),
    size("1/4", 0.25, 20.0, 28.0),
    size("5/16", 0.3125, 18.0, 24.0),
    size("3/8", 0.375, 16.0, 24.0),
    size("7/16", 0.4375, 14.0, 20.0),
    size("1/2", 0.5, 13.0, 20.0),
    size("9/16", 0.5625, 12.0, 18.0),
    size("5/8", 0.625, 11.0, 18.0),
    size("3/4", 0.75, 10.0, 16.0),
    size("7/8", 0.875, 9.0, 14.0),
    size("1", 1.0, 8.0, 12.0),
    size("1 1/8", 1.125, 7.0, 12.0),
    size("1 1/4", 1.25, 7.0, 12.0),
    size("1 3/8", 1.375, 6.0, 12.0),
    size("1 1/2", 1.5, 6.0, 12.0),
    size("1 3/4", 1.75, 5.0, 0.0),
    size("2", 2.0, 4.5, 0.0),
];

/// A pitch coarser than this share of the diameter is no thread of these forms (the coarsest listed is 0.25);
/// more often it is the length of a screw, as in `M8x20`.
const COARSEST: f64 = 0.3;

/// Reads the name of a thread. A metric size alone has its coarse pitch; an inch size needs its threads per inch
/// or its series. A pitch that is in no table is read as it stands.
///
/// # Errors
/// A size that is in no table, with the nearest ones that are; threads per inch that the series does not have; a
/// pitch that is too coarse for the size.
///
/// ```
/// use quantity::thread;
/// let rod = thread::parse("M8").unwrap();
/// assert_eq!((rod.major, rod.pitch), (8.0, 1.25));
/// let screw = thread::parse("#10-32").unwrap();
/// assert_eq!(screw.name, "#10-32 UNF");
/// assert!(thread::parse("M9").unwrap_err().help.contains("\"M8\""));
/// ```
pub fn parse(text: &str) -> Result<Thread, QuantityError> {
    let inner = text.trim();
    let offset = text.len() - text.trim_start().len();
    if inner.is_empty() {
        return Err(QuantityError::new(
            0..text.len(),
            "nothing is written where a thread is expected",
            EXAMPLES,
        ));
    }
    let (body, left) = hand(inner);
    if let Some(size) = body.strip_prefix('m')
        && let Ok(thread) = metric(&format!("M{size}"))
    {
        let message = format!("{} is not a thread", quote(inner));
        let help = format!("write a capital M: \"{}\"", thread.name);
        return Err(QuantityError::new(0..inner.len(), message, help).shifted(offset));
    }
    let thread = match body.strip_prefix('M') {
        Some(_) => metric(body),
        None => inch(body),
    };
    let mut thread = thread.map_err(|error| error.shifted(offset))?;
    if left {
        thread.left = true;
        thread.name.push_str(" LH");
    }
    Ok(thread)
}

const EXAMPLES: &str = "write a thread such as \"M8\", \"M8x1\", \"1/4-20\" or \"#10-32\"";

/// Takes the hand off the end of the name.
fn hand(text: &str) -> (&str, bool) {
    const HANDS: [(&str, bool); 6] = [
        ("left hand", true),
        ("right hand", false),
        ("left", true),
        ("right", false),
        ("LH", true),
        ("RH", false),
    ];
    for (word, left) in HANDS {
        if let Some(body) = text.strip_suffix(word)
            && body.ends_with([' ', '-'])
            && !body.trim_matches([' ', '-']).is_empty()
        {
            return (body.trim_end_matches([' ', '-']).trim_end(), left);
        }
    }
    (text, false)
}

fn no_thread(text: &str) -> QuantityError {
    QuantityError::new(
        0..text.len(),
        format!("{} is not a thread", quote(text)),
        EXAMPLES,
    )
}

fn metric(text: &str) -> Result<Thread, QuantityError> {
    let major_at = skip_blanks(text, 1);
    let Some(major) = scan(text, major_at)?.filter(is_decimal) else {
        return Err(no_thread(text));
    };
    if major.x <= 0.0 {
        return Err(no_thread(text));
    }
    let rest_at = skip_blanks(text, major.end);
    let rest = tail(text, rest_at);
    let coarse = COARSE
        .iter()
        .find(|(size, _)| *size == major.x)
        .map(|(_, pitch)| *pitch);
    let Some(cross) = rest.chars().next() else {
        let pitch = coarse.ok_or_else(|| unknown_metric(text, major.x))?;
        return Ok(thread(format!("M{}", major.x), major.x, pitch, false));
    };
    if !matches!(cross, 'x' | 'X' | '×') {
        return Err(behind(text, rest_at, &format!("M{}x1", major.x)));
    }
    let pitch_at = skip_blanks(text, rest_at + cross.len_utf8());
    let Some(pitch) = scan(text, pitch_at)?.filter(is_decimal) else {
        return Err(no_thread(text));
    };
    let name = match coarse {
        Some(coarse) if coarse == pitch.x => format!("M{}", major.x),
        _ => format!("M{}x{}", major.x, pitch.x),
    };
    let unit_at = skip_blanks(text, pitch.end);
    if !tail(text, unit_at).is_empty() {
        return Err(behind(text, unit_at, &name));
    }
    if pitch.x <= 0.0 || pitch.x > COARSEST * major.x {
        let normal = coarse.map_or(String::new(), |p| format!("; the coarse pitch is {p} mm"));
        return Err(QuantityError::new(
            pitch_at..pitch.end,
            format!("{} mm cannot be the pitch of M{}{normal}", pitch.x, major.x),
            format!(
                "write the pitch behind the x, as in \"M8x1\", or \"M{}\" alone",
                major.x
            ),
        ));
    }
    Ok(thread(name, major.x, pitch.x, false))
}

fn is_decimal(number: &Number) -> bool {
    matches!(number.form, Form::Decimal { .. })
}

fn thread(name: String, major: f64, pitch: f64, inch: bool) -> Thread {
    Thread {
        name,
        major,
        pitch,
        inch,
        left: false,
    }
}

fn behind(text: &str, at: usize, instead: &str) -> QuantityError {
    QuantityError::new(
        at..text.len(),
        format!("{} is not read behind a thread", quote(tail(text, at))),
        format!(
            "write size and pitch only, as in \"{instead}\", and \"LH\" behind it for left hand"
        ),
    )
}

fn unknown_metric(text: &str, major: f64) -> QuantityError {
    let near = neighbours(COARSE.iter().map(|(size, _)| *size), major);
    let names: Vec<String> = near.iter().map(|size| format!("\"M{size}\"")).collect();
    unknown(
        text,
        &names,
        &format!("or give the pitch, as in \"M{major}x1\""),
    )
}

fn unknown(text: &str, names: &[String], otherwise: &str) -> QuantityError {
    QuantityError::new(
        0..text.len(),
        format!("{} is not among the listed threads", quote(text)),
        match names {
            [only] => format!("the nearest size is {only}; {otherwise}"),
            _ => format!("the nearest sizes are {}; {otherwise}", list(names, "and")),
        },
    )
}

/// The sizes next below and next above.
fn neighbours(sizes: impl Iterator<Item = f64> + Clone, wanted: f64) -> Vec<f64> {
    let below = sizes.clone().filter(|s| *s <= wanted).last();
    let above = sizes.into_iter().find(|s| *s > wanted);
    below.into_iter().chain(above).collect()
}

/// An inch thread as far as it has been read.
struct Read {
    inches: f64,
    /// As in the table, or as it was written.
    name: String,
    unc: f64,
    unf: f64,
}

fn inch(text: &str) -> Result<Thread, QuantityError> {
    let gauge = text.starts_with('#');
    let at = skip_blanks(text, usize::from(gauge));
    let Some(size) = scan(text, at)? else {
        return Err(no_thread(text));
    };
    let mut at = skip_blanks(text, size.end);
    let mut per_inch = None;
    if tail(text, at).starts_with('-') {
        let count_at = skip_blanks(text, at + 1);
        let Some(count) = scan(text, count_at)?.filter(|n| n.x > 0.0) else {
            return Err(no_thread(text));
        };
        per_inch = Some((count.x, count_at..count.end));
        at = skip_blanks(text, count.end);
    }
    let series = tail(text, at);
    let fine = match series {
        "" => None,
        "UNC" => Some(false),
        "UNF" => Some(true),
        _ if per_inch.is_some() => return Err(behind(text, at, "1/4-20 UNC")),
        _ => return Err(no_thread(text)),
    };
    let size_text = text.get(..size.end).unwrap_or_default();
    let read = resolve(
        text,
        size_text,
        gauge,
        &size,
        per_inch.as_ref().map(|p| p.0),
    )?;
    let listed = fine.map(|fine| if fine { read.unf } else { read.unc });
    let count = match (per_inch, listed) {
        (None, None) => return Err(no_count(text, &read)),
        (_, Some(0.0)) => return Err(no_series(text, at, &read)),
        (None, Some(listed)) => listed,
        (Some((count, place)), Some(listed)) if count != listed => {
            return Err(QuantityError::new(
                place,
                format!(
                    "{} {series} has {listed} threads per inch, not {count}",
                    read.name
                ),
                format!(
                    "write \"{}-{listed} {series}\", or leave {series} off",
                    read.name
                ),
            ));
        }
        (Some((count, place)), _) => {
            if count * read.inches < 1.0 / COARSEST {
                return Err(QuantityError::new(
                    place,
                    format!("{count} threads per inch are too coarse for {}", read.name),
                    "write the threads per inch behind the dash, as in \"1/4-20\"",
                ));
            }
            count
        }
    };
    let series = match count {
        c if c == read.unc => " UNC",
        c if c == read.unf => " UNF",
        _ => "",
    };
    let name = format!("{}-{count}{series}", read.name);
    Ok(thread(
        name,
        Unit::Inch.to_inside(read.inches),
        Unit::Inch.factor() / count,
        true,
    ))
}

/// Finds the size in the table. Without `#`, a whole number is a gauge size when that size has such a thread
/// (`10-32`, `2-56`), else inches (`1-8`).
fn resolve(
    text: &str,
    size_text: &str,
    gauge: bool,
    size: &Number,
    per_inch: Option<f64>,
) -> Result<Read, QuantityError> {
    let whole = matches!(size.form, Form::Decimal { digits: 0 }) && size.x <= 12.0;
    let by_number = || {
        let name = format!("#{}", size.x);
        INCH.iter().find(|s| s.name == name)
    };
    let has_thread = |s: &&InchSize| per_inch.is_none_or(|count| count == s.unc || count == s.unf);
    let found = if gauge {
        by_number()
    } else {
        let inches = INCH
            .iter()
            .find(|s| !s.name.starts_with('#') && s.inches == size.x);
        whole
            .then(by_number)
            .flatten()
            .filter(has_thread)
            .filter(|_| per_inch.is_some())
            .or(inches)
    };
    if let Some(found) = found {
        return Ok(Read {
            inches: found.inches,
            name: found.name.to_owned(),
            unc: found.unc,
            unf: found.unf,
        });
    }
    if text == size_text && COARSE.iter().any(|(major, _)| *major == size.x) {
        return Err(QuantityError::new(
            0..text.len(),
            format!("{} is not among the listed threads", quote(text)),
            format!("for a metric thread write \"M{}\"", size.x),
        ));
    }
    let sensible = (0.02..=12.0).contains(&size.x);
    if !gauge && sensible && per_inch.is_some() {
        return Ok(Read {
            inches: size.x,
            name: one_line(size_text),
            unc: 0.0,
            unf: 0.0,
        });
    }
    let wanted = if gauge {
        0.060 + 0.013 * size.x
    } else {
        size.x
    };
    let of_kind = |s: &&InchSize| s.name.starts_with('#') == gauge;
    let near = neighbours(INCH.iter().filter(of_kind).map(|s| s.inches), wanted);
    let names: Vec<String> = INCH
        .iter()
        .filter(|s| near.contains(&s.inches) && of_kind(s))
        .map(|s| {
            let (count, series) = if s.unc > 0.0 {
                (s.unc, "UNC")
            } else {
                (s.unf, "UNF")
            };
            format!("\"{}-{count} {series}\"", s.name)
        })
        .collect();
    let otherwise = "or give the size in inches with its threads per inch, as in \"0.3-32\"";
    Err(unknown(text, &names, otherwise))
}

fn choices(read: &Read) -> Vec<String> {
    [(read.unc, "UNC"), (read.unf, "UNF")]
        .iter()
        .filter(|(count, _)| *count > 0.0)
        .map(|(count, series)| format!("\"{}-{count} {series}\"", read.name))
        .collect()
}

fn no_count(text: &str, read: &Read) -> QuantityError {
    let names = choices(read);
    QuantityError::new(
        0..text.len(),
        "the threads per inch are missing",
        format!("write {}", list(&names, "or")),
    )
}

fn no_series(text: &str, at: usize, read: &Read) -> QuantityError {
    let names = choices(read);
    let help = match names.as_slice() {
        [] => "leave the series off".to_owned(),
        [only, ..] => format!("write {only}"),
    };
    let series = tail(text, at);
    QuantityError::new(
        at..text.len(),
        format!("there is no {} {series}", read.name),
        help,
    )
}
