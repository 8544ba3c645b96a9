//! Slips in the TOML itself, in a builder's words. Only asked when a text is broken: `toml_edit` stops at the first slip, its lexer
//! and parser go on, and a person wants all of them at once.

use std::borrow::Cow;

use toml_parser::decoder::{Encoding, ScalarKind};
use toml_parser::parser::{Event, EventKind, RecursionGuard, ValidateWhitespace, parse_document};
use toml_parser::{ParseError, Source, Span};

use crate::diagnostic::Diagnostic;
use crate::model::Place;
use crate::twice::twice;
use crate::words::clip;

/// Same depth as `toml_edit` goes to; a machine file needs four.
pub(crate) const DEPTH: u32 = 80;

/// One slip: where, what, what to do.
pub(crate) struct Slip {
    pub(crate) start: usize,
    pub(crate) end: usize,
    pub(crate) message: String,
    pub(crate) label: String,
    pub(crate) help: String,
    /// The first of two, for a name that is written twice.
    pub(crate) first: Option<(usize, usize)>,
    /// It is about one value and says nothing about what follows on its line.
    pub(crate) alone: bool,
}

/// All slips of a text, in its order; `fallback` is what `toml_edit` said, in case nothing is found here.
pub(crate) fn slips(text: &str, source: usize, fallback: &toml_edit::TomlError) -> Vec<Diagnostic> {
    let toml = Source::new(text);
    let tokens = toml.lex().into_vec();
    let mut events: Vec<Event> = Vec::with_capacity(tokens.len());
    let mut errors: Vec<ParseError> = Vec::new();
    let mut checked = ValidateWhitespace::new(&mut events, toml);
    let mut guarded = RecursionGuard::new(&mut checked, DEPTH);
    parse_document(&tokens, &mut guarded, &mut errors);

    // What follows a bracket that is never closed is read as if it stood inside: only the bracket is worth a word.
    let unclosed = errors
        .iter()
        .filter(|e| e.description().starts_with("unclosed") && e.description() != "unclosed table")
        .filter_map(|e| Some((e.context()?, e.description().contains("inline"))))
        .min_by_key(|(span, _)| span.start());
    let until = unclosed.map_or(usize::MAX, |(span, _)| span.start());

    let mut slips: Vec<Slip> = errors.iter().filter_map(|e| structure(text, e)).collect();
    for event in &events {
        slips.extend(atom(text, toml, event));
    }
    slips.extend(twice(toml, &events));
    slips.retain(|slip| slip.start < until);
    if let Some((span, inline)) = unclosed {
        let (open, close, what) = if inline {
            ("{", "}", "braces are")
        } else {
            ("[", "]", "list is")
        };
        slips.push(Slip {
            start: span.start(),
            end: span.end(),
            message: format!("the {what} never closed: `{close}` is missing"),
            label: "opens here".to_owned(),
            help: format!(
                "put `{close}` behind the last entry that belongs between `{open}` and `{close}`"
            ),
            first: None,
            alone: false,
        });
    }
    slips.sort_by_key(|slip| slip.start);
    if slips.is_empty() {
        let span = fallback.span().unwrap_or(text.len()..text.len());
        slips.push(Slip {
            start: span.start,
            end: span.end,
            message: format!("this cannot be read: {}", fallback.message()),
            label: String::new(),
            help: "one entry a line, `name = value`; text in quotes".to_owned(),
            first: None,
            alone: false,
        });
    }
    // One slip often trips the parser several times: what follows it on its line counts no more, unless each is about one value.
    let mut line_end = 0;
    let mut disturbed = false;
    let mut found = Vec::new();
    for slip in slips {
        if slip.start >= line_end {
            let rest = text.get(slip.start..).and_then(|rest| rest.find('\n'));
            line_end = rest.map_or(text.len() + 1, |n| slip.start + n + 1);
        } else if disturbed || !slip.alone {
            continue;
        }
        disturbed = !slip.alone;
        let place = |(start, end)| Place { source, start, end };
        let mut problem = Diagnostic::error("toml", slip.message)
            .at(place((slip.start, slip.end)), slip.label)
            .help(slip.help);
        if let Some(first) = slip.first {
            problem = problem.at(place(first), "first written here");
        }
        found.push(problem);
    }
    found
}

/// The line from this byte on, as far as a look ahead has to go: a line may be as long as the file.
fn ahead(text: &str, byte: usize) -> &str {
    const FAR: usize = 200;
    let rest = text.get(byte..).unwrap_or_default();
    let far = rest.char_indices().map(|(n, _)| n).find(|&n| n > FAR);
    let rest = far.and_then(|n| rest.get(..n)).unwrap_or(rest);
    rest.lines().next().unwrap_or_default()
}

/// The character at this byte as a span, or nothing at the end of a line.
fn one_char(text: &str, byte: usize) -> usize {
    text.get(byte..)
        .and_then(|rest| rest.chars().next())
        .filter(|&c| c != '\n' && c != '\r')
        .map_or(byte, |c| byte + c.len_utf8())
}

/// A slip in how entries, lists and headings are put together. `None` for one that is reported elsewhere.
fn structure(text: &str, error: &ParseError) -> Option<Slip> {
    let span = error
        .unexpected()
        .or_else(|| error.context())
        .unwrap_or_default();
    let (start, mut end) = (span.start(), span.end());
    if start == end {
        end = one_char(text, start);
    }
    let here = text.get(start..end).unwrap_or_default();
    let before = text.get(..start).unwrap_or_default();
    let rest = ahead(text, start);
    let after = rest.get(here.len()..).unwrap_or_default();
    let word = |c: char| c.is_alphanumeric() || c == '-' || c == '_' || c == ' ';
    let slip = |message: &str, label: &str, help: &str| {
        Some(Slip {
            start,
            end,
            message: message.to_owned(),
            label: label.to_owned(),
            help: help.to_owned(),
            first: None,
            alone: false,
        })
    };
    match error.description() {
        "unclosed table" if rest.trim_start_matches(word).starts_with(']') => slip(
            "two words where one name belongs",
            "",
            "join the words with a hyphen: `[part.lower-arm]`",
        ),
        d if d.starts_with("unclosed array table") || d == "unclosed table" => slip(
            "the heading is not closed: `]` is missing",
            "`]` belongs here",
            "write the heading like `[part.lever]`",
        ),
        d if d.starts_with("unclosed") => None,
        "missing table open" => slip(
            "a `]` without its `[`",
            "",
            "write the heading like `[part.lever]`",
        ),
        "key with no value"
            if !rest.trim().is_empty() && rest.trim_start_matches(word).starts_with('=') =>
        {
            slip(
                "two words where one name belongs",
                "",
                "join the words with a hyphen: `lower-arm = ..`",
            )
        }
        "key with no value" | "missing value for key" => slip(
            "`=` is missing behind this name",
            "`=` belongs here",
            "one entry a line: `name = value`; a heading stands in brackets: `[part.lever]`",
        ),
        "extra `=`" => slip("one `=` too many", "", "one entry a line: `name = value`"),
        "missing value" => slip(
            "the value is missing",
            "",
            "write a value behind `=`, or take the line out",
        ),
        "unexpected key or value" => {
            let digit = |c: char| c.is_ascii_digit();
            if here == "," && before.ends_with(digit) && !after.starts_with(digit) {
                slip(
                    "a list without brackets",
                    "",
                    "a list stands in brackets: `[30, 12]`",
                )
            } else if here == "," && before.ends_with(digit) {
                slip(
                    "a comma inside a number",
                    "",
                    "write decimals with a point: `0.5`",
                )
            } else {
                slip(
                    "more on this line than one value",
                    "not expected here",
                    "one entry a line; a quantity with its unit stands in one pair of quotes: \"1 1/4 in\"",
                )
            }
        }
        "missing comma between array elements" | "missing comma between key-value pairs" => slip(
            "a comma is missing before this",
            "`,` belongs before this",
            "put a comma between two entries",
        ),
        "extra comma in array" | "extra comma in inline table" => {
            slip("one comma too many", "", "one comma between two entries")
        }
        "unexpected `=` in array" => slip(
            "`=` inside a list",
            "",
            "entries with names stand in braces: `{ reach = 40 }`",
        ),
        "missing array opening" => slip(
            "a `]` without its `[`",
            "",
            "put `[` before the first entry of the list",
        ),
        "missing inline table opening" => slip(
            "a `}` without its `{`",
            "",
            "put `{` before the first entry",
        ),
        "missing assignment between key-value pairs" => slip(
            "`=` is missing before this",
            "`=` belongs before this",
            "entries in braces are written `{ reach = 40, angle = 30 }`",
        ),
        "extra assignment between key-value pairs" => slip(
            "one `=` too many",
            "",
            "entries in braces are written `{ reach = 40, angle = 30 }`",
        ),
        "missing key for inline table element" | "invalid inline table element" => slip(
            "an entry without a name",
            "",
            "entries in braces are written `{ reach = 40, angle = 30 }`",
        ),
        d if d.starts_with("cannot recurse") => slip(
            "lists or braces nested too deep",
            "",
            "nothing in a machine file nests deeper than a list of lists in braces",
        ),
        "carriage return must be followed by newline" | "invalid comment character" => slip(
            "a control character that no text file should hold",
            "",
            "take it out; a line ends with a line feed",
        ),
        other => {
            let message = format!("this cannot be read: {other}");
            slip(
                &message,
                "",
                "one entry a line, `name = value`; text in quotes",
            )
        }
    }
}

/// Whether a number that is written rightly also fits, and a date is one of the calendar.
fn is_held(decoded: &str, kind: ScalarKind) -> bool {
    match kind {
        ScalarKind::Integer(radix) => i64::from_str_radix(decoded, radix.value()).is_ok(),
        ScalarKind::Float => {
            let written_inf = decoded.ends_with("inf");
            decoded
                .parse()
                .is_ok_and(|x: f64| written_inf || !x.is_infinite())
        }
        ScalarKind::DateTime => decoded.parse::<toml_edit::Datetime>().is_ok(),
        ScalarKind::String | ScalarKind::Boolean(_) => true,
    }
}

/// A slip in one name, number or text.
fn atom(text: &str, toml: Source<'_>, event: &Event) -> Option<Slip> {
    let raw = toml.get(event)?;
    let mut errors: Vec<ParseError> = Vec::new();
    let mut decoded = Cow::Borrowed("");
    let (start, end) = (event.span().start(), event.span().end());
    let here = text.get(start..end).unwrap_or_default();
    let is_key = match event.kind() {
        EventKind::SimpleKey => {
            raw.decode_key(&mut decoded, &mut errors);
            true
        }
        EventKind::Scalar => {
            let kind = raw.decode_scalar(&mut decoded, &mut errors);
            if errors.is_empty() && !is_held(&decoded, kind) {
                let date = kind == ScalarKind::DateTime;
                return Some(Slip {
                    start,
                    end,
                    message: format!(
                        "{} is {}",
                        clip(here),
                        if date {
                            "no day or time"
                        } else {
                            "too large a number"
                        }
                    ),
                    label: String::new(),
                    help: if date {
                        "text stands in quotes"
                    } else {
                        "write a smaller number"
                    }
                    .to_owned(),
                    first: None,
                    alone: true,
                });
            }
            false
        }
        _ => return None,
    };
    let error = errors.first()?;
    let slip = |message: String, label: &str, help: String| {
        Some(Slip {
            start,
            end: end.max(one_char(text, start)),
            message,
            label: label.to_owned(),
            help,
            first: None,
            alone: true,
        })
    };
    if event.encoding().is_some() {
        return in_quotes(text, error, event, is_key);
    }
    if here.is_empty() {
        return if is_key {
            slip(
                "a name is missing here".to_owned(),
                "",
                "one entry a line: `name = value`; a heading is `[part.lever]`".to_owned(),
            )
        } else {
            slip(
                "the value is missing".to_owned(),
                "",
                "write a value behind `=`, or take the line out".to_owned(),
            )
        };
    }
    let shown = clip(here);
    if is_key {
        return slip(
            format!("`{shown}` cannot be a name"),
            "",
            "names are small letters, digits and hyphens: `lever-pin`".to_owned(),
        );
    }
    let bare = here.trim_start_matches(['+', '-']);
    let help = match bare {
        b if b.starts_with('.') && b.len() > 1 && b.bytes().skip(1).all(|c| c.is_ascii_digit()) => {
            Some(format!(
                "write a digit before the point: `{}0{b}`",
                here.strip_suffix(b).unwrap_or_default()
            ))
        }
        b if b.ends_with('.')
            && b.len() > 1
            && b.bytes().take(b.len() - 1).all(|c| c.is_ascii_digit()) =>
        {
            Some(format!("write a digit behind the point: `{here}0`"))
        }
        b if b.len() > 1
            && b.starts_with('0')
            && b.bytes().all(|c| c.is_ascii_digit() || c == b'.') =>
        {
            let digits = b.trim_start_matches('0');
            let digits = if digits.is_empty() || digits.starts_with('.') {
                format!("0{digits}")
            } else {
                digits.to_owned()
            };
            Some(format!(
                "write it without the leading zero: `{}{digits}`",
                here.strip_suffix(b).unwrap_or_default()
            ))
        }
        _ => None,
    };
    if let Some(help) = help {
        return slip(format!("{shown} is not written as a number here"), "", help);
    }
    // Numbers side by side in a list are no text: the comma between them was left out.
    let numbers: Vec<&str> = here.split_whitespace().collect();
    let in_list = text
        .get(..start)
        .is_some_and(|before| before.trim_end().ends_with(['[', ',']));
    if in_list && numbers.len() > 1 && numbers.iter().all(|n| n.parse::<f64>().is_ok()) {
        return slip(
            format!("a comma is missing in `{shown}`"),
            "",
            format!("write `{}`", clip(&numbers.join(", "))),
        );
    }
    match bare.to_lowercase().as_str() {
        word @ ("true" | "false") => slip(
            format!("`{shown}` is not known"),
            "",
            format!("write `{word}` in small letters"),
        ),
        _ => slip(
            format!("`{shown}` needs quotes"),
            "",
            format!("write \"{shown}\""),
        ),
    }
}

/// A slip in a text in quotes.
fn in_quotes(text: &str, error: &ParseError, event: &Event, is_key: bool) -> Option<Slip> {
    let (start, end) = (event.span().start(), event.span().end());
    let here = text.get(start..end).unwrap_or_default();
    let quote = if matches!(
        event.encoding(),
        Some(Encoding::LiteralString | Encoding::MlLiteralString)
    ) {
        "'"
    } else {
        "\""
    };
    // Errors of an atom are counted from its own start only when they carry no place of their own.
    let inner = error
        .unexpected()
        .unwrap_or(Span::new_unchecked(start, end));
    let inside = |span: Span| span.start() >= start && span.end() <= end;
    let (from, to) = if inside(inner) {
        (inner.start(), inner.end())
    } else {
        (start, end)
    };
    let slip = |start: usize, end: usize, message: &str, help: String| {
        Some(Slip {
            start,
            end,
            message: message.to_owned(),
            label: String::new(),
            help,
            first: None,
            alone: false,
        })
    };
    let closed = here.len() > 1 && here.ends_with(quote);
    let first_line = here.lines().next().unwrap_or_default();
    if is_key
        && matches!(
            event.encoding(),
            Some(Encoding::MlBasicString | Encoding::MlLiteralString)
        )
    {
        return slip(
            start,
            end,
            "a name in triple quotes",
            "names are small letters, digits and hyphens: `lever-pin`".to_owned(),
        );
    }
    if !closed {
        return slip(
            start,
            start + first_line.len(),
            &format!("the text is not closed: `{quote}` is missing"),
            "close the quotes on the same line".to_owned(),
        );
    }
    if here.contains('\\') && quote == "\"" {
        return slip(
            from,
            to,
            "a backslash in double quotes begins a special character, and this one is not known",
            "write text with backslashes in single quotes: 'a\\b'".to_owned(),
        );
    }
    slip(
        from,
        to,
        "a control character inside a text",
        "take it out".to_owned(),
    )
}
