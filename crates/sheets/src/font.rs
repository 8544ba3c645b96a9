//! Widths of lettering, from the advance widths of the two faces that are used: `DejaVu Sans`, and its bold for names of parts.
//!
//! Lettering heights are those of capital letters, as in ISO 3098.

use std::sync::LazyLock;

use ttf_parser::Face;

use crate::sheet::Hand;

/// Family named in the style sheet. The others are asked for when it is not there; they are as wide or narrower.
pub(crate) const FAMILY: &str = "DejaVu Sans";

/// Lettering height of names, values and notes, mm.
pub(crate) const SMALL: f64 = 2.5;
/// Lettering height of titles, mm.
pub(crate) const LARGE: f64 = 3.5;

/// Height of capitals, of the tallest letters and depth of the lowest in em: 1493, 1556 and 492 of 2048 units.
const CAPITALS: f64 = 1493.0 / 2048.0;
const ASCENT: f64 = 1556.0 / 2048.0;
const DESCENT: f64 = 492.0 / 2048.0;

struct Metrics {
    /// Advance widths in em by code point, for the code points of the basic Latin block.
    latin: Vec<f64>,
    face: Option<Face<'static>>,
}

static REGULAR: LazyLock<Metrics> = LazyLock::new(|| Metrics::new(dejavu::sans::regular()));
static BOLD: LazyLock<Metrics> = LazyLock::new(|| Metrics::new(dejavu::sans::bold()));

impl Metrics {
    fn new(font: &'static [u8]) -> Self {
        let mut metrics = Self {
            latin: Vec::new(),
            face: Face::parse(font, 0).ok(),
        };
        metrics.latin = (0_u8..128)
            .map(|c| metrics.look_up(char::from(c)))
            .collect();
        metrics
    }

    fn look_up(&self, c: char) -> f64 {
        let Some(face) = &self.face else { return 0.65 };
        let em = f64::from(face.units_per_em());
        face.glyph_index(c)
            .and_then(|g| face.glyph_hor_advance(g))
            .map_or(0.65, |a| f64::from(a) / em)
    }
}

/// Font size (em) in mm for a lettering height in mm.
pub(crate) fn em(height: f64) -> f64 {
    height / CAPITALS
}

/// Width of one line of lettering, mm.
pub(crate) fn width(text: &str, height: f64, hand: Hand) -> f64 {
    let m = if hand.is_bold() { &*BOLD } else { &*REGULAR };
    let ems: f64 = text
        .chars()
        .map(|c| {
            m.latin
                .get(c as usize)
                .copied()
                .unwrap_or_else(|| m.look_up(c))
        })
        .sum();
    ems * em(height)
}

/// How far letters stand above the base line, mm.
pub(crate) fn above(height: f64) -> f64 {
    ASCENT * em(height)
}

/// How far letters hang below the base line, mm.
pub(crate) fn below(height: f64) -> f64 {
    DESCENT * em(height)
}

/// From one base line to the next, mm.
pub(crate) fn pitch(height: f64) -> f64 {
    1.15 * em(height)
}

/// Breaks a text at its plain spaces (not at no-break ones) so that no line is wider than `most`; a single word that is wider stands alone, and an empty text
/// has one empty line.
pub(crate) fn wrapped(text: &str, height: f64, hand: Hand, most: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split(' ').filter(|w| !w.is_empty()) {
        if line.is_empty() {
            word.clone_into(&mut line);
        } else if width(&line, height, hand) + width(" ", height, hand) + width(word, height, hand)
            <= most
        {
            line.push(' ');
            line.push_str(word);
        } else {
            lines.push(std::mem::replace(&mut line, word.to_owned()));
        }
    }
    lines.push(line);
    lines
}

/// Text without characters that XML cannot hold.
pub(crate) fn clean(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .filter(|c| !matches!(c, '\u{fffe}' | '\u{ffff}'))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_font_is_there_and_measured() {
        assert!(REGULAR.face.is_some() && BOLD.face.is_some());
        // Units of DejaVu Sans 2.37: 2048 an em, capitals 1493 high, "0" 1303 wide.
        assert!((em(2.5) - 2.5 * 2048.0 / 1493.0).abs() < 1e-9);
        assert!((width("00", 2.5, Hand::Note) - 2.0 * 1303.0 / 1493.0 * 2.5).abs() < 1e-9);
        assert!(width("°", 2.5, Hand::Note) > 0.5);
        assert!(width("lever", 2.5, Hand::Name) > width("lever", 2.5, Hand::Note));
    }

    #[test]
    fn long_text_is_broken_at_spaces() {
        let lines = wrapped("set 10° crank 20° table 3.5 mm", 2.5, Hand::Note, 25.0);
        assert!(lines.len() > 1);
        assert!(
            lines.iter().all(|l| width(l, 2.5, Hand::Note) <= 25.0),
            "{lines:?}"
        );
        assert_eq!(lines.join(" "), "set 10° crank 20° table 3.5 mm");
        assert_eq!(wrapped("", 2.5, Hand::Note, 10.0), [""]);
    }

    #[test]
    fn control_characters_are_blanked() {
        assert_eq!(clean("a\u{1}b\nc"), "a b c");
    }
}
