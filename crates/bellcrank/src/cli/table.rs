//! Columns of text that stand in line, with a margin for marks.

use std::fmt::Write as _;

use super::WIDTH;

/// On which side a column's text stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    Left,
    Right,
}

/// A column: its head, the unit under it, and one text a line.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    pub(crate) head: String,
    pub(crate) unit: String,
    pub(crate) side: Side,
    pub(crate) cells: Vec<String>,
}

impl Column {
    /// A column of numbers.
    pub(crate) fn numbers(head: impl Into<String>, unit: impl Into<String>) -> Self {
        Self {
            head: head.into(),
            unit: unit.into(),
            side: Side::Right,
            cells: Vec::new(),
        }
    }

    /// A column of words.
    pub(crate) fn words(head: impl Into<String>) -> Self {
        Self {
            side: Side::Left,
            ..Self::numbers(head, "")
        }
    }

    pub(crate) fn width(&self) -> usize {
        self.cells
            .iter()
            .chain([&self.head, &self.unit])
            .map(|text| text.chars().count())
            .max()
            .unwrap_or(0)
    }
}

/// Between two columns.
pub(crate) const GAP: usize = 2;

/// Words at the end of a line go on below when they have at least so much room.
const LEAST_WORDS: usize = 16;

/// The columns beside each other. `marks` fills the margin, one text a line; without any there is no margin.
pub(crate) fn lay_out(marks: &[String], columns: &[Column]) -> String {
    let margin = marks.iter().map(|m| m.chars().count()).max().unwrap_or(0);
    let lines = columns.iter().map(|c| c.cells.len()).max().unwrap_or(0);
    let widths: Vec<usize> = columns.iter().map(Column::width).collect();
    let mut text = String::new();
    let mut line = |mark: &str, cell: &dyn Fn(&Column) -> String| {
        let mut out = format!("{mark:<margin$}");
        for (index, (column, width)) in columns.iter().zip(&widths).enumerate() {
            if !out.is_empty() {
                out.push_str(&" ".repeat(GAP));
            }
            let cell = cell(column);
            let start = out.chars().count();
            match column.side {
                // Words at the end of a line may go on below.
                Side::Left
                    if index + 1 == columns.len()
                        && start + LEAST_WORDS <= WIDTH
                        && start + cell.chars().count() > WIDTH =>
                {
                    out.push_str(&wrap(&cell, WIDTH, start));
                }
                Side::Left => {
                    let _ = write!(out, "{cell:<width$}");
                }
                Side::Right => {
                    let _ = write!(out, "{cell:>width$}");
                }
            }
        }
        text.push_str(out.trim_end());
        text.push('\n');
    };
    if columns.iter().any(|c| !c.head.is_empty()) {
        line("", &|c| c.head.clone());
    }
    if columns.iter().any(|c| !c.unit.is_empty()) {
        line("", &|c| c.unit.clone());
    }
    for index in 0..lines {
        let mark = marks.get(index).map_or("", String::as_str);
        line(mark, &|c| c.cells.get(index).cloned().unwrap_or_default());
    }
    text
}

/// Breaks a sentence into lines of at most `width` characters; lines after the first are indented by `indent` blanks, and the
/// first has as much in front of it. A word longer than a line stands alone; a number keeps what it counts beside it.
pub(crate) fn wrap(text: &str, width: usize, indent: usize) -> String {
    let mut out = String::new();
    let mut column = 0;
    for word in words(text) {
        let length = word.chars().count();
        if column > indent && column + 1 + length > width {
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            column = indent;
        } else if !out.is_empty() {
            out.push(' ');
            column += 1;
        } else {
            column = indent;
        }
        out.push_str(&word);
        column += length;
    }
    out
}

/// The words of a sentence; a number and the word behind it are one.
fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut number = false;
    for word in text.split(' ') {
        match words.last_mut() {
            Some(last) if number => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
        number = word.parse::<f64>().is_ok();
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_stand_in_line() {
        let mut at = Column::numbers("set", "deg");
        at.cells = vec!["0.00".into(), "15.00".into()];
        let mut gap = Column::numbers("least-gap", "mm");
        gap.cells = vec!["2.345".into(), "-".into()];
        let mut note = Column::words("");
        note.cells = vec![String::new(), "a dead centre".into()];
        let text = lay_out(&[String::new(), "x".into()], &[at, gap, note]);
        assert_eq!(
            text,
            "     set  least-gap\n     deg         mm\n    0.00      2.345\nx  15.00          -  a dead centre\n"
        );
    }

    #[test]
    fn sentences_are_broken_between_words() {
        assert_eq!(wrap("one two three four", 9, 2), "one two\n  three\n  four");
        assert_eq!(
            wrap("unbreakably-long-name and more", 8, 0),
            "unbreakably-long-name\nand more"
        );
        assert_eq!(wrap("", 8, 2), "");
        assert_eq!(wrap("about 12.5 mm", 10, 0), "about\n12.5 mm");
    }
}
