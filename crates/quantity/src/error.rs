//! What is wrong with a written quantity.

use std::fmt;

/// Why a text is no quantity of the kind wanted: one sentence, what to write instead, and the place.
///
/// `start..end` is a byte range inside the text that was read, on character boundaries; it is empty only
/// when the text is empty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuantityError {
    /// What is wrong, in one plain sentence without a full stop.
    pub message: String,
    /// What to write instead.
    pub help: String,
    /// First byte of the offending part.
    pub start: usize,
    /// One past the last byte of the offending part.
    pub end: usize,
}

impl QuantityError {
    pub(crate) fn new(
        place: std::ops::Range<usize>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Self {
        Self {
            message: message.into(),
            help: help.into(),
            start: place.start,
            end: place.end,
        }
    }

    /// Counts the place from `offset` bytes further left.
    pub(crate) fn shifted(mut self, offset: usize) -> Self {
        self.start += offset;
        self.end += offset;
        self
    }
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.message, self.help)
    }
}

impl std::error::Error for QuantityError {}

/// Puts a piece of somebody's text into quotes, short enough for a sentence and without control characters.
pub(crate) fn quote(text: &str) -> String {
    const LONGEST: usize = 32;
    let mut quoted = String::from("\"");
    for (count, c) in text.chars().enumerate() {
        if count == LONGEST {
            quoted.push('…');
            break;
        }
        if c.is_control() {
            quoted.extend(c.escape_default());
        } else {
            quoted.push(c);
        }
    }
    quoted.push('"');
    quoted
}

/// The text with single spaces for blanks of any kind, line ends among them.
pub(crate) fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// `a, b or c`, with the word that is to stand before the last.
pub(crate) fn list(words: &[impl AsRef<str>], joint: &str) -> String {
    let words: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
    match words.as_slice() {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} {joint} {last}", first.join(", ")),
    }
}
