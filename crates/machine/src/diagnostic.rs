//! What is wrong with a machine, where, and what to write instead; as text for people and as data for programs.

use annotate_snippets::{Annotation, AnnotationKind, Group, Level, Origin, Renderer, Snippet};
use schemars::JsonSchema;
use serde::Serialize;

use crate::model::Place;
use crate::sources::{Source, Sources};

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The machine cannot be worked out.
    Error,
    /// The machine can be worked out, but this is hardly meant.
    Warning,
    /// Worth knowing.
    Note,
}

/// A place and what is to be said about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// The place that is underlined.
    pub place: Place,
    /// A few words beside it, or empty.
    pub text: String,
}

/// One problem: a sentence, the places it is about (the first is the offending one), and what to write instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// Short fixed name of the kind of problem, for programs.
    pub code: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// One sentence without a full stop.
    pub message: String,
    /// Places; the first is the offending one. Empty when the file could not be opened.
    pub labels: Vec<Label>,
    /// What to write instead.
    pub help: Option<String>,
}

/// A problem whose places are turned into file, line and column.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Resolved {
    /// Short fixed name of the kind of problem.
    pub code: String,
    /// How bad it is.
    pub severity: Severity,
    /// One sentence without a full stop.
    pub message: String,
    /// Places; the first is the offending one.
    pub places: Vec<ResolvedLabel>,
    /// What to write instead.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub help: Option<String>,
}

/// A place in a file. Lines and columns count from 1, columns in characters; the end is one past the last character.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct ResolvedLabel {
    /// Path of the file.
    pub file: String,
    /// Line.
    pub line: usize,
    /// Column.
    pub column: usize,
    /// Line of the end.
    pub end_line: usize,
    /// Column of the end.
    pub end_column: usize,
    /// The text of the (first) line.
    pub text: String,
    /// A few words about the place, or empty.
    pub label: String,
}

/// Labels further apart than this many lines are shown in separate excerpts.
const FAR_APART: usize = 40;

/// Lines longer than this are shown in part: enough for any hand-written line.
const LONG_LINE: usize = 400;

impl Diagnostic {
    /// A problem without a place yet.
    pub fn new(severity: Severity, code: &'static str, message: impl Into<String>) -> Self {
        Self {
            code,
            severity,
            message: message.into(),
            labels: Vec::new(),
            help: None,
        }
    }

    /// An error without a place yet.
    pub fn error(code: &'static str, message: impl Into<String>) -> Self {
        Self::new(Severity::Error, code, message)
    }

    /// A warning without a place yet.
    pub fn warning(code: &'static str, message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, code, message)
    }

    /// Adds a place with a few words beside it.
    #[must_use]
    pub fn at(mut self, place: Place, text: impl Into<String>) -> Self {
        self.labels.push(Label {
            place,
            text: text.into(),
        });
        self
    }

    /// Says what to write instead.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// The problem with file, line and column.
    pub fn resolved(&self, sources: &Sources) -> Resolved {
        let places = self.labels.iter().filter_map(|label| {
            let source = sources.get(label.place.source)?;
            let (from, to) = (source.spot(label.place.start), source.spot(label.place.end));
            Some(ResolvedLabel {
                file: source.path().to_owned(),
                line: from.line,
                column: from.column,
                end_line: to.line,
                end_column: to.column,
                text: source.line(from.line).to_owned(),
                label: label.text.clone(),
            })
        });
        Resolved {
            code: self.code.to_owned(),
            severity: self.severity,
            message: self.message.clone(),
            places: places.collect(),
            help: self.help.clone(),
        }
    }

    /// The problem as a person reads it: the sentence, file with line and column, the offending text underlined, the help.
    /// Ends with a line end.
    pub fn render(&self, sources: &Sources, color: bool) -> String {
        let level = match self.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
            Severity::Note => Level::NOTE,
        };
        let mut group = Group::with_title(level.primary_title(&*self.message));
        // One excerpt for each file, in the order in which the labels name them.
        let mut shown: Vec<usize> = Vec::new();
        for label in &self.labels {
            let index = label.place.source;
            let Some(source) = sources.get(index) else {
                continue;
            };
            if shown.contains(&index) {
                continue;
            }
            shown.push(index);
            if source.text().is_empty() {
                group = group.element(Origin::path(source.path()));
                continue;
            }
            let labels: Vec<&Label> = self
                .labels
                .iter()
                .filter(|l| l.place.source == index)
                .collect();
            for excerpt in excerpts(source, &labels) {
                group = match excerpt {
                    Excerpt::Lines(snippet) => group.element(snippet),
                    Excerpt::PartOfLine(origin, snippet) => group.element(origin).element(snippet),
                };
            }
        }
        if let Some(help) = &self.help {
            group = group.element(Level::HELP.message(&**help));
        }
        let renderer = if color {
            Renderer::styled()
        } else {
            Renderer::plain()
        };
        let mut text = renderer.render(&[group]);
        text.push('\n');
        text
    }
}

/// A piece of a file under a message.
enum Excerpt<'a> {
    /// Whole lines.
    Lines(Snippet<'a, Annotation<'a>>),
    /// A piece of a very long line; where it stands has to be said apart.
    PartOfLine(Origin<'a>, Snippet<'a, Annotation<'a>>),
}

/// The excerpts that show these labels, the one with the first label first. Only the lines needed are handed on, so that a message
/// costs the same in a large file as in a small one; and no underline goes past its first line.
fn excerpts<'a>(source: &'a Source, labels: &[&'a Label]) -> Vec<Excerpt<'a>> {
    struct Spanned<'a> {
        line: usize,
        start: usize,
        end: usize,
        first: bool,
        text: &'a str,
    }
    let mut spans: Vec<Spanned> = labels
        .iter()
        .enumerate()
        .map(|(n, label)| {
            let start = source.boundary(label.place.start);
            let line = source.line_index(start);
            let (_, line_end) = source.line_range(line);
            let start = start.min(line_end);
            let end = source.boundary(label.place.end).clamp(start, line_end);
            Spanned {
                line,
                start,
                end,
                first: n == 0,
                text: &label.text,
            }
        })
        .collect();
    spans.sort_by_key(|s| s.line);
    let mut groups: Vec<Vec<Spanned>> = Vec::new();
    let is_long = |line| {
        let (start, end) = source.line_range(line);
        end - start > LONG_LINE
    };
    for span in spans {
        match groups.last_mut() {
            Some(group)
                if group.last().is_some_and(|last| {
                    span.line - last.line <= FAR_APART && !is_long(last.line)
                }) && !is_long(span.line) =>
            {
                group.push(span);
            }
            _ => groups.push(vec![span]),
        }
    }
    groups.sort_by_key(|group| !group.iter().any(|s| s.first));
    groups
        .into_iter()
        .filter_map(|group| {
            let (first, last) = (group.first()?, group.last()?);
            let (mut from, mut to) = (
                source.line_range(first.line).0,
                source.line_range(last.line).1,
            );
            let long = is_long(first.line);
            if long {
                from = source
                    .boundary(first.start.saturating_sub(LONG_LINE / 8))
                    .max(from);
                to = source.boundary(first.start + LONG_LINE / 4).clamp(from, to);
            }
            let line_start = first.line + 1;
            let origin = long.then(|| {
                let spot = source.spot(first.start);
                Origin::path(source.path())
                    .line(spot.line)
                    .char_column(spot.column)
            });
            let annotations = group.iter().map(|s| {
                let kind = if s.first {
                    AnnotationKind::Primary
                } else {
                    AnnotationKind::Context
                };
                let span = s.start.min(to) - from..s.end.min(to) - from;
                let annotation = kind.span(span);
                if s.text.is_empty() {
                    annotation
                } else {
                    annotation.label(s.text)
                }
            });
            let snippet = Snippet::source(source.text().get(from..to)?)
                .line_start(line_start)
                .annotations(annotations.collect::<Vec<_>>());
            Some(match origin {
                Some(origin) => Excerpt::PartOfLine(origin, snippet),
                None => Excerpt::Lines(snippet.path(source.path())),
            })
        })
        .collect()
}

/// All problems as a person reads them, with an empty line between two.
pub fn render_all(problems: &[Diagnostic], sources: &Sources, color: bool) -> String {
    let texts: Vec<String> = problems.iter().map(|p| p.render(sources, color)).collect();
    texts.join("\n")
}
