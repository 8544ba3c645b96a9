//! Why a request has no answer: a sentence, and what to do.

use axum::body::Body;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde_json::{Value, json};

use crate::cli::fault::Fault;

/// The sentence of a trouble and what to do, for whoever looks at it instead of reading it as data.
#[derive(Clone, Debug)]
pub(crate) struct Sorry(pub(crate) String, pub(crate) String);

/// Why a request has no answer.
#[derive(Debug)]
pub(crate) struct Trouble {
    status: StatusCode,
    body: Value,
}

impl Trouble {
    pub(crate) fn new(status: StatusCode, sentence: impl Into<String>) -> Self {
        Self {
            status,
            body: json!({ "error": sentence.into() }),
        }
    }

    /// The request cannot be understood or done; nothing was changed.
    pub(crate) fn refused(sentence: impl Into<String>) -> Self {
        Self::new(StatusCode::UNPROCESSABLE_ENTITY, sentence)
    }

    pub(crate) fn not_there(sentence: impl Into<String>) -> Self {
        Self::new(StatusCode::NOT_FOUND, sentence)
    }

    /// Something broke inside. The rest goes on.
    pub(crate) fn broke() -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "bellcrank could not work this out: that is a fault of its own",
        )
        .what_to_do("undo the last change; what happened is told where bellcrank was started")
    }

    pub(crate) fn busy() -> Self {
        Self::new(
            StatusCode::SERVICE_UNAVAILABLE,
            "too much is being worked out at once",
        )
        .what_to_do("wait a moment and try again")
    }

    pub(crate) fn what_to_do(self, help: impl Into<String>) -> Self {
        self.with("what_to_do", Value::String(help.into()))
    }

    /// Adds a field.
    pub(crate) fn with(mut self, name: &str, value: Value) -> Self {
        if let Value::Object(fields) = &mut self.body {
            fields.insert(name.to_owned(), value);
        }
        self
    }
}

impl Trouble {
    /// The trouble as part of an answer.
    pub(crate) fn into_value(self) -> Value {
        self.body
    }
}

impl From<Fault> for Trouble {
    fn from(fault: Fault) -> Self {
        let problems: Vec<_> = fault
            .problems
            .iter()
            .map(|problem| problem.resolved(&fault.sources))
            .collect();
        let first = problems.first();
        let sentence = first.map_or("", |problem| problem.message.as_str());
        let mut trouble = Self::refused(fields(sentence));
        if let Some(help) = first.and_then(|problem| problem.help.as_deref()) {
            trouble = trouble.what_to_do(fields(help));
        }
        trouble.with("problems", json!(problems))
    }
}

/// Options of the command line as the fields of the page: `--speed "x"` is the field speed.
fn fields(text: &str) -> String {
    let mut words = text.to_owned();
    for (option, field) in [
        ("--at ", ""),
        ("--set ", ""),
        ("--under", "case"),
        ("--reading", "\"of\""),
        ("--drive", "\"over\""),
        ("--over", "\"and\""),
    ] {
        words = words.replace(option, field);
    }
    let mut out = String::with_capacity(words.len());
    let mut rest = words.as_str();
    while let Some(at) = rest.find("--") {
        let (before, after) = rest.split_at(at);
        let dashes = after.chars().take_while(|c| *c == '-').count();
        let behind = after.get(dashes..).unwrap_or_default();
        let begins = before.chars().next_back().or(out.chars().next_back());
        let is_option = dashes == 2
            && begins.is_none_or(|c| !c.is_alphanumeric())
            && behind.starts_with(|c: char| c.is_ascii_lowercase());
        out.push_str(before);
        out.push_str(if is_option {
            ""
        } else {
            after.get(..dashes).unwrap_or_default()
        });
        rest = behind;
    }
    out + rest
}

impl From<studies::Refusal> for Trouble {
    fn from(refusal: studies::Refusal) -> Self {
        let trouble = Self::refused(refusal.message);
        match refusal.help.as_str() {
            "" => trouble,
            help => trouble.what_to_do(help),
        }
    }
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        let mut response = json_of(&self.body);
        *response.status_mut() = self.status;
        let word = |key: &str| self.body[key].as_str().unwrap_or_default().to_owned();
        let sorry = Sorry(word("error"), word("what_to_do"));
        response.extensions_mut().insert(sorry);
        response
    }
}

/// An answer as JSON.
pub(crate) fn json_of(value: &impl serde::Serialize) -> Response {
    match serde_json::to_vec(value) {
        Ok(bytes) => bytes_of("application/json", bytes),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

/// An answer of this kind.
pub(crate) fn bytes_of(kind: &'static str, bytes: impl Into<Body>) -> Response {
    ([(header::CONTENT_TYPE, kind)], bytes.into()).into_response()
}

#[cfg(test)]
mod tests {
    use super::fields;

    #[test]
    fn options_are_fields_on_the_page() {
        for (option, field) in [
            (
                "--speed \"fast\": it must be a speed",
                "speed \"fast\": it must be a speed",
            ),
            ("write --at \"set = 40 deg\"", "write \"set = 40 deg\""),
            (
                "name a reading with --reading, or a drive with --over",
                "name a reading with \"of\", or a drive with \"and\"",
            ),
            ("from 3--5 on -- or --- not", "from 3--5 on -- or --- not"),
            ("--under \"x\"", "case \"x\""),
        ] {
            assert_eq!(fields(option), field);
        }
    }
}
