//! Names and headings that stand twice in a text. TOML's own parser stops at the first.

use std::borrow::Cow;
use std::collections::HashMap;

use toml_parser::parser::{Event, EventKind};
use toml_parser::{Source, Span};

use crate::syntax::{DEPTH, Slip};
use crate::words::clip;

/// How a path of names came to be.
#[derive(Clone, Copy, PartialEq)]
enum How {
    /// `[part.lever]`.
    Heading,
    /// `name = value`.
    Value,
    /// `part` in `[part.lever]`.
    Through,
}

/// Names written twice in one table, and headings written twice.
#[derive(Default)]
struct Twice {
    seen: HashMap<String, (How, Span)>,
    slips: Vec<Slip>,
}

/// All names that are written twice.
pub(crate) fn twice(toml: Source<'_>, events: &[Event]) -> Vec<Slip> {
    let mut twice = Twice::default();
    // Names read so far of a heading or in front of `=`.
    let mut path: Vec<(String, Span)> = Vec::new();
    // The table of the last heading, and the braces (`Some`) and lists (`None`) that are open inside it.
    let mut table = String::new();
    let mut open: Vec<Option<String>> = Vec::new();
    let mut value = String::new();
    let mut heading = false;
    for event in events {
        match event.kind() {
            EventKind::StdTableOpen | EventKind::ArrayTableOpen => {
                heading = true;
                open.clear();
                path.clear();
            }
            EventKind::StdTableClose => {
                table = twice.record("", &path, How::Heading);
                heading = false;
                path.clear();
            }
            EventKind::ArrayTableClose => {
                twice.list_heading(&path);
                // Each entry of a list of tables is a table of its own.
                table = format!("\u{1e}{}", event.span().start());
                heading = false;
                path.clear();
            }
            EventKind::SimpleKey => {
                if let Some(raw) = toml.get(event) {
                    let mut decoded = Cow::Borrowed("");
                    raw.decode_key(&mut decoded, &mut ());
                    path.push((decoded.into_owned(), event.span()));
                }
            }
            EventKind::KeyValSep if !heading => {
                let inside = open.iter().rev().flatten().next().unwrap_or(&table);
                value = twice.record(inside, &path, How::Value);
                path.clear();
            }
            EventKind::ArrayOpen => open.push(None),
            EventKind::InlineTableOpen => {
                let in_list = matches!(open.last(), Some(None));
                open.push(Some(if in_list {
                    format!("\u{1e}{}", event.span().start())
                } else {
                    value.clone()
                }));
            }
            EventKind::ArrayClose | EventKind::InlineTableClose => {
                open.pop();
                path.clear();
            }
            _ => {}
        }
    }
    twice.slips
}

impl Twice {
    /// `[[part]]` where `[part.lever]` stands already: TOML takes no list and table of one name.
    fn list_heading(&mut self, path: &[(String, Span)]) {
        let [(name, span)] = path else { return };
        if let Some(&(_, first)) = self.seen.get(&format!("\u{1f}{name}")) {
            self.slips.push(Slip {
                start: span.start(),
                end: span.end(),
                message: format!("`[[{}]]` has one pair of brackets too many", clip(name)),
                label: String::new(),
                help: format!("write the name in the heading: `[{}.NAME]`", clip(name)),
                first: Some((first.start(), first.end())),
                alone: true,
            });
        }
    }

    /// Notes a path of names inside a table; returns the whole path as one text.
    fn record(&mut self, inside: &str, path: &[(String, Span)], how: How) -> String {
        if let Some((_, span)) = path.get(DEPTH as usize) {
            self.slips.push(Slip {
                start: span.start(),
                end: span.end(),
                message: "too many names in a row".to_owned(),
                label: String::new(),
                help: "a heading has two: `[part.lever]`".to_owned(),
                first: None,
                alone: true,
            });
            return format!("\u{1e}{}", span.start());
        }
        let mut whole = inside.to_owned();
        for (n, (name, span)) in path.iter().enumerate() {
            whole.push('\u{1f}');
            whole.push_str(name);
            let here = if n + 1 == path.len() {
                how
            } else {
                How::Through
            };
            match self.seen.get(&whole) {
                None => {
                    self.seen.insert(whole.clone(), (here, *span));
                }
                Some((How::Through, _)) if here != How::Value => {
                    self.seen.insert(whole.clone(), (here, *span));
                }
                Some((How::Heading, _)) if here == How::Through => {}
                Some(&(_, first)) => {
                    // What stands below a second heading is a table of its own, or all of it would be told again.
                    whole = format!("\u{1e}{}", span.start());
                    self.slips.push(written_twice(
                        name,
                        *span,
                        first,
                        inside.is_empty() && path.len() == 1,
                    ));
                    break;
                }
            }
        }
        whole
    }
}

fn written_twice(name: &str, again: Span, first: Span, outermost: bool) -> Slip {
    let (message, help) = if outermost && name == "frame" {
        (
            "two frames: a machine has one".to_owned(),
            "put all points that stand still into one `[frame]`",
        )
    } else if outermost {
        (
            format!("`{}` is written twice", clip(name)),
            "put everything that belongs there under one heading",
        )
    } else {
        (
            format!("`{}` is written twice", clip(name)),
            "give one of them another name, or take it out",
        )
    };
    Slip {
        start: again.start(),
        end: again.end(),
        message,
        label: "again here".to_owned(),
        help: help.to_owned(),
        first: Some((first.start(), first.end())),
        alone: true,
    }
}
