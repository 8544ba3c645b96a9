//! A case as it stands in the file, and the comparison of an answer with it.

use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// Where the expected values come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Confidence {
    /// Seen in print or in a copy.
    LookedUp,
    /// Computed independently from the closed formula.
    Derived,
    /// Remembered; the source was not seen.
    FromMemory,
}

impl Confidence {
    /// As written in the file.
    pub fn text(self) -> &'static str {
        match self {
            Self::LookedUp => "looked up",
            Self::Derived => "derived",
            Self::FromMemory => "from memory",
        }
    }
}

/// What a case gives: numbers, words, places and lists by name. Names say the unit: `_deg`, `_rad`, `_rpm`, `_N`; none is mm.
#[derive(Clone, Debug)]
pub struct Given(Map<String, Value>);

impl Given {
    /// Everything that is given, by name.
    pub fn all(&self) -> impl Iterator<Item = (&String, &Value)> {
        self.0.iter()
    }

    /// A number.
    ///
    /// # Errors
    /// It is not there, or no number.
    pub fn number(&self, name: &str) -> Result<f64, String> {
        self.0
            .get(name)
            .and_then(Value::as_f64)
            .ok_or_else(|| format!("no number `{name}` is given"))
    }

    /// A number, or another when it is not given.
    pub fn number_or(&self, name: &str, other: f64) -> f64 {
        self.number(name).unwrap_or(other)
    }

    /// An angle given in degrees, in rad. The name without `_deg`.
    ///
    /// # Errors
    /// It is not there, or no number.
    pub fn degrees(&self, name: &str) -> Result<f64, String> {
        Ok(self.number(&format!("{name}_deg"))?.to_radians())
    }

    /// A word.
    ///
    /// # Errors
    /// It is not there, or no word.
    pub fn word(&self, name: &str) -> Result<&str, String> {
        self.0
            .get(name)
            .and_then(Value::as_str)
            .ok_or_else(|| format!("no word `{name}` is given"))
    }

    /// A list of numbers.
    ///
    /// # Errors
    /// It is not there, or holds something else.
    pub fn list(&self, name: &str) -> Result<Vec<f64>, String> {
        let list = self.0.get(name).and_then(Value::as_array);
        let numbers: Option<Vec<f64>> = list.and_then(|l| l.iter().map(Value::as_f64).collect());
        numbers.ok_or_else(|| format!("no list `{name}` is given"))
    }

    /// A list of just so many numbers.
    ///
    /// # Errors
    /// It is not there, or of another length.
    pub fn place<const N: usize>(&self, name: &str) -> Result<[f64; N], String> {
        self.list(name)?
            .try_into()
            .map_err(|_| format!("`{name}` should have {N} numbers"))
    }
}

/// Named results.
#[derive(Clone, Debug, Default)]
pub struct Answers(BTreeMap<String, Value>);

impl Answers {
    /// Adds a number.
    #[must_use]
    pub fn number(mut self, name: &str, value: f64) -> Self {
        self.0.insert(name.to_owned(), Value::from(value));
        self
    }

    /// Adds an angle, in rad, as degrees.
    #[must_use]
    pub fn degrees(self, name: &str, rad: f64) -> Self {
        self.number(&format!("{name}_deg"), rad.to_degrees())
    }

    /// Adds a place.
    #[must_use]
    pub fn place(mut self, name: &str, value: &[f64]) -> Self {
        self.0.insert(name.to_owned(), Value::from(value.to_vec()));
        self
    }

    /// Adds a word.
    #[must_use]
    pub fn word(mut self, name: &str, value: &str) -> Self {
        self.0.insert(name.to_owned(), Value::from(value));
        self
    }

    /// Adds yes or no.
    #[must_use]
    pub fn flag(mut self, name: &str, value: bool) -> Self {
        self.0.insert(name.to_owned(), Value::from(value));
        self
    }
}

/// How near an answer must be.
#[derive(Clone, Debug)]
pub(crate) struct Within {
    abs: Option<f64>,
    rel: Option<f64>,
    of: BTreeMap<String, f64>,
}

impl Within {
    fn allows(&self, name: &str, expected: f64) -> f64 {
        let of = self.of.get(name).copied();
        of.or(self.abs)
            .unwrap_or_else(|| self.rel.unwrap_or(0.0) * expected.abs())
    }

    pub(crate) fn text(&self) -> String {
        let mut parts = Vec::new();
        if let Some(abs) = self.abs {
            parts.push(if abs == 0.0 {
                "exact".to_owned()
            } else {
                format!("±{abs:e}")
            });
        }
        if let Some(rel) = self.rel {
            parts.push(format!("±{rel:e} of the value"));
        }
        parts.extend(self.of.iter().map(|(name, t)| format!("{name} ±{t:e}")));
        parts.join(", ")
    }
}

/// A case from outside.
#[derive(Clone, Debug)]
pub struct Case {
    /// Its name.
    pub id: String,
    /// The subject it stands under.
    pub group: String,
    /// Which machine, and what is asked of it.
    pub machine: String,
    /// What is given, the dimensions of a machine that several cases share among it.
    pub given: Given,
    /// What is expected, by name.
    pub expected: Map<String, Value>,
    pub(crate) within: Within,
    /// Where it comes from.
    pub source: String,
    /// How sure the expected values are.
    pub confidence: Confidence,
}

impl Case {
    /// The same case with every number allowed to be off by `abs`, for a way of asking that is not as exact.
    #[must_use]
    pub fn allowing(mut self, abs: f64) -> Self {
        self.within = Within {
            abs: Some(abs),
            rel: None,
            of: BTreeMap::new(),
        };
        self
    }
}

/// Reads the cases.
///
/// # Errors
/// Which case is malformed, and how.
pub fn read_cases(json: &str) -> Result<Vec<Case>, String> {
    let file: Value = serde_json::from_str(json).map_err(|e| e.to_string())?;
    let cases = file
        .get("cases")
        .and_then(Value::as_array)
        .ok_or("there is no list `cases`")?;
    cases
        .iter()
        .map(|c| read_case(c, file.get("dimensions")))
        .collect()
}

fn read_case(case: &Value, dimensions: Option<&Value>) -> Result<Case, String> {
    let id = case
        .get("id")
        .and_then(Value::as_str)
        .unwrap_or("a case without id")
        .to_owned();
    let text = |name: &str| {
        let word = case
            .get(name)
            .and_then(Value::as_str)
            .filter(|w| !w.is_empty());
        word.map(str::to_owned)
            .ok_or_else(|| format!("{id}: `{name}` should be a word"))
    };
    let object = |name: &str| {
        let object = case.get(name).and_then(Value::as_object);
        object
            .cloned()
            .ok_or_else(|| format!("{id}: `{name}` should be an object"))
    };
    let mut given = object("given")?;
    if let Some(of) = case.get("of") {
        let shared = of.as_str().and_then(|of| dimensions?.get(of)?.as_object());
        given.extend(
            shared
                .ok_or_else(|| format!("{id}: no dimensions `{of}`"))?
                .clone(),
        );
    }
    let within = object("within")?;
    let of = within.get("of").and_then(Value::as_object);
    let of = of
        .into_iter()
        .flatten()
        .filter_map(|(k, v)| Some((k.clone(), v.as_f64()?)))
        .collect();
    let confidence = match text("confidence")?.as_str() {
        "looked up" => Confidence::LookedUp,
        "derived" => Confidence::Derived,
        "from memory" => Confidence::FromMemory,
        other => return Err(format!("{id}: no confidence `{other}`")),
    };
    Ok(Case {
        group: text("group")?,
        machine: text("machine")?,
        given: Given(given),
        expected: object("expected")?,
        within: Within {
            abs: within.get("abs").and_then(Value::as_f64),
            rel: within.get("rel").and_then(Value::as_f64),
            of,
        },
        source: text("source")?,
        confidence,
        id,
    })
}

/// In what the answers differ from what the case expects; nothing when they agree. An expected value without an answer differs.
pub fn disagreements(case: &Case, answers: &Answers) -> Vec<String> {
    let mut found = Vec::new();
    if case.expected.is_empty() {
        found.push("nothing is expected".to_owned());
    }
    for (name, expected) in &case.expected {
        match answers.0.get(name) {
            None => found.push(format!("{name}: not answered")),
            Some(answer) => compare(&case.within, name, expected, answer, &mut found),
        }
    }
    found
}

fn compare(within: &Within, name: &str, expected: &Value, answer: &Value, found: &mut Vec<String>) {
    match (expected, answer) {
        (Value::Array(e), Value::Array(a)) if e.len() == a.len() => {
            for (e, a) in e.iter().zip(a) {
                compare(within, name, e, a, found);
            }
        }
        (Value::Number(e), Value::Number(a)) => {
            let (e, a) = (
                e.as_f64().unwrap_or(f64::NAN),
                a.as_f64().unwrap_or(f64::NAN),
            );
            let (allowed, off) = (within.allows(name, e), (a - e).abs());
            // What is not a number must not agree.
            let agrees = off <= allowed;
            if !agrees {
                found.push(format!(
                    "{name}: {a} instead of {e} (off by {off:.3e}, allowed {allowed:.3e})"
                ));
            }
        }
        (e, a) if e == a => {}
        (e, a) => found.push(format!("{name}: {a} instead of {e}")),
    }
}
