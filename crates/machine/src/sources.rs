//! The texts that make up a machine, and places in them as a person counts: lines and characters from 1.

use crate::model::Place;

/// One text: the machine file or a file it includes.
#[derive(Clone, Debug)]
pub struct Source {
    path: String,
    text: String,
    line_starts: Vec<usize>,
}

/// A position as a person counts it, both from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    /// Line.
    pub line: usize,
    /// Column, counted in characters.
    pub column: usize,
}

impl Source {
    fn new(path: String, text: String) -> Self {
        let line_starts = std::iter::once(0)
            .chain(
                text.bytes()
                    .enumerate()
                    .filter(|&(_, b)| b == b'\n')
                    .map(|(i, _)| i + 1),
            )
            .collect();
        Self {
            path,
            text,
            line_starts,
        }
    }

    /// The path as it is shown.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// The text, without a byte order mark; empty when the file is no text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Index from 0 of the line that holds this byte.
    pub(crate) fn line_index(&self, byte: usize) -> usize {
        self.line_starts
            .partition_point(|&start| start <= byte)
            .saturating_sub(1)
    }

    /// Byte range of a line (index from 0) without its line end; empty past the last one.
    pub(crate) fn line_range(&self, index: usize) -> (usize, usize) {
        let start = self
            .line_starts
            .get(index)
            .copied()
            .unwrap_or(self.text.len());
        let end = self
            .line_starts
            .get(index + 1)
            .map_or(self.text.len(), |&next| next - 1);
        let line = self.text.get(start..end).unwrap_or_default();
        (start, start + line.trim_end_matches('\r').len())
    }

    /// The text of a line, counted from 1, without its line end.
    pub fn line(&self, number: usize) -> &str {
        let (start, end) = self.line_range(number.saturating_sub(1));
        self.text.get(start..end).unwrap_or_default()
    }

    /// Line and column of a byte of the text.
    pub fn spot(&self, byte: usize) -> Spot {
        let byte = self.boundary(byte);
        let index = self.line_index(byte);
        let start = self.line_starts.get(index).copied().unwrap_or(0);
        let before = self.text.get(start..byte).unwrap_or_default();
        Spot {
            line: index + 1,
            column: before.chars().count() + 1,
        }
    }

    /// The nearest character boundary at or before this byte.
    pub(crate) fn boundary(&self, byte: usize) -> usize {
        let mut byte = byte.min(self.text.len());
        while !self.text.is_char_boundary(byte) {
            byte -= 1;
        }
        byte
    }
}

/// The texts that make up a machine: the machine file first, then what it includes.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    list: Vec<Source>,
}

impl Sources {
    /// Adds a text, as one that a log is made of; its index.
    pub fn add(&mut self, path: String, text: String) -> usize {
        self.list.push(Source::new(path, text));
        self.list.len() - 1
    }

    /// The text with this index.
    pub fn get(&self, index: usize) -> Option<&Source> {
        self.list.get(index)
    }

    /// All texts.
    pub fn iter(&self) -> impl Iterator<Item = &Source> {
        self.list.iter()
    }

    /// What stands at a place.
    pub fn text(&self, place: Place) -> &str {
        self.get(place.source)
            .and_then(|s| s.text.get(place.start..place.end))
            .unwrap_or_default()
    }
}
