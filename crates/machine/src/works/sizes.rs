//! Sizes with their tolerance class: `8 H7`, `1/2 in RC4`.

use crate::desk::Desk;
use crate::fields::Field;
use crate::fitting::Sized;
use crate::words::clip;
use elements::fits_iso::{Class, Side, limits, source};
use elements::{ElementError, Limits, Source, fits_inch};
use quantity::Kind as Measure;

/// What stands behind a size that names no class.
pub(crate) enum Without {
    /// This class is usual.
    Usual(&'static str),
    /// One has to be written.
    Needed(&'static str),
}

/// A size of a hole or a shaft, with its limits.
pub(crate) fn sized(
    desk: &mut Desk,
    field: &Field,
    side: Side,
    without: &Without,
) -> Option<Sized> {
    let (nominal, class) = parts(desk, field)?;
    let (text, assumed) = match (class, without) {
        (Some(class), _) => (class, false),
        (None, Without::Usual(usual)) => (*usual, true),
        (None, Without::Needed(how)) => {
            field.bad(
                desk,
                format!("`{}` says no tolerance class", field.key),
                format!("write size and class, as in `{how}`"),
            );
            return None;
        }
    };
    of_class(desk, field, nominal, text, side, assumed)
}

/// A length above zero, with a class when one stands behind it.
pub(crate) fn sized_or_plain(
    desk: &mut Desk,
    field: &Field,
    side: Side,
) -> Option<(f64, Option<Sized>)> {
    let (nominal, class) = parts(desk, field)?;
    match class {
        None => Some((nominal, None)),
        Some(class) => {
            of_class(desk, field, nominal, class, side, false).map(|s| (nominal, Some(s)))
        }
    }
}

/// The class of a size that is known from elsewhere: the bore for a bearing.
pub(super) fn of_class(
    desk: &mut Desk,
    field: &Field,
    nominal: f64,
    class: &str,
    side: Side,
    assumed: bool,
) -> Option<Sized> {
    match looked_up(nominal, class, side) {
        Ok((limits, source)) => Some(Sized {
            nominal,
            class: class.to_owned(),
            limits,
            source,
            assumed,
        }),
        Err(Slip::OtherSide) => {
            let (is, wanted, example) = match side {
                Side::Hole => ("a shaft", "capital letters: a hole", "H7"),
                Side::Shaft => ("a hole", "small letters: a shaft or pin", "h6"),
            };
            field.bad(
                desk,
                format!("{} is the class of {is}", clip(class)),
                format!("here it has {wanted}, as in \"{example}\""),
            );
            None
        }
        Err(Slip::Element(error)) => {
            field.bad(
                desk,
                error.to_string(),
                "classes are those of ISO 286 (H7, js6) up to 120 mm, or RC, LC, LT, LN, FN of ANSI B4.1 (RC4)",
            );
            None
        }
    }
}

enum Slip {
    OtherSide,
    Element(ElementError),
}

fn looked_up(nominal: f64, class: &str, side: Side) -> Result<(Limits, Source), Slip> {
    match Class::parse(class) {
        Ok(class) if class.side() != side => Err(Slip::OtherSide),
        Ok(class) => limits(class, nominal)
            .map(|l| (l, source(class)))
            .map_err(Slip::Element),
        Err(iso) => {
            let inch = ["RC", "LC", "LT", "LN", "FN"]
                .iter()
                .any(|group| class.starts_with(group));
            if !inch {
                return Err(Slip::Element(iso));
            }
            let fit = fits_inch::fit(class, nominal).map_err(Slip::Element)?;
            let limits = match side {
                Side::Hole => fit.hole,
                Side::Shaft => fit.shaft,
            };
            Ok((limits, fits_inch::source(class)))
        }
    }
}

/// The size and the text of its class.
fn parts<'a>(desk: &mut Desk, field: &Field<'a>) -> Option<(f64, Option<&'a str>)> {
    let crate::fields::Value::Text(text) = field.node.value else {
        return field.positive_length(desk).map(|x| (x, None));
    };
    let unit = field.node.unit;
    let split = text
        .trim_end()
        .rsplit_once(char::is_whitespace)
        .filter(|(front, last)| is_class(last) && !front.trim().is_empty());
    let Some((front, class)) = split else {
        return field.positive_length(desk).map(|x| (x, None));
    };
    match quantity::parse(front.trim(), Measure::Length, unit) {
        Ok(written) if written.value > 0.0 && written.value <= crate::fields::LONGEST => {
            Some((written.value, Some(class)))
        }
        Ok(written) => {
            field.bad(
                desk,
                format!(
                    "`{}` is {}; it has to be above zero",
                    field.key,
                    written.show()
                ),
                "write size and class, as in \"8 H7\"",
            );
            None
        }
        Err(error) => {
            field.misread(desk, &error);
            None
        }
    }
}

/// Letters and then figures, and no unit of length with a power or a number of its own.
fn is_class(word: &str) -> bool {
    let figures = word.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let letters = word.len() - figures.len();
    (1..=2).contains(&letters) && !figures.is_empty() && figures.chars().all(|c| c.is_ascii_digit())
}
