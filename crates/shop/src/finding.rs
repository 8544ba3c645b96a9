//! What the shop has to say: sentences with a number and what to do instead.

use serde::Serialize;

/// How grave a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Grade {
    /// A check of the machine misses: what is made by these papers does not hold.
    Unsound,
    /// The part cannot be made so.
    Cannot,
    /// It can be made, another way than usual.
    WayRound,
    /// Something was taken for granted.
    Assumed,
}

/// A finding.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// How grave.
    pub grade: Grade,
    /// The part it is about.
    pub about: String,
    /// What is the matter.
    pub text: String,
    /// What to do.
    pub advice: String,
}

/// What is told to a person: findings with the same way round are one sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// How grave.
    pub grade: Grade,
    /// `crank, link: no reamer 20 H7; arm: …`.
    pub text: String,
    /// What to do.
    pub advice: String,
    /// The parts it is about.
    pub about: Vec<String>,
}

/// Findings as they are told, in the order in which they came.
pub fn told(findings: &[Finding]) -> Vec<Told> {
    type Said<'a> = (&'a str, Vec<String>);
    let mut all: Vec<(Grade, &str, Vec<Said>)> = Vec::new();
    for f in findings {
        let about = crate::words::spoken(&f.about);
        let at = all
            .iter()
            .position(|(g, advice, _)| *g == f.grade && *advice == f.advice);
        let at = at.unwrap_or_else(|| {
            all.push((f.grade, &f.advice, Vec::new()));
            all.len() - 1
        });
        let texts = &mut all[at].2;
        match texts.iter_mut().find(|(text, _)| *text == f.text) {
            Some((_, parts)) if !parts.contains(&about) => parts.push(about),
            Some(_) => {}
            None => texts.push((&f.text, vec![about])),
        }
    }
    let about = |grade: Grade, advice: &str| {
        let mut parts: Vec<String> = Vec::new();
        for f in findings {
            let same = f.grade == grade && f.advice == advice && !f.about.is_empty();
            if same && !parts.contains(&f.about) {
                parts.push(f.about.clone());
            }
        }
        parts
    };
    let sentence = |(text, parts): &Said| {
        let about: Vec<&str> = parts
            .iter()
            .map(String::as_str)
            .filter(|p| !p.is_empty())
            .collect();
        if about.is_empty() {
            (*text).to_owned()
        } else {
            format!("{}: {text}", about.join(", "))
        }
    };
    all.iter()
        .map(|(grade, advice, texts)| Told {
            about: about(*grade, advice),
            grade: *grade,
            text: texts.iter().map(sentence).collect::<Vec<_>>().join("; "),
            advice: (*advice).to_owned(),
        })
        .collect()
}

impl Finding {
    /// Says in which unit its numbers are, where that is not the one of the drawings.
    pub(crate) fn counted(mut self, unit: quantity::Unit, drawn: quantity::Unit) -> Self {
        let numbers = |s: &str| s.chars().any(|c| c.is_ascii_digit());
        if unit != drawn && (numbers(&self.text) || numbers(&self.advice)) {
            let name = crate::words::unit_name(unit);
            self.advice = format!("{} (lengths in {name})", self.advice);
        }
        self
    }

    /// A finding about a part.
    pub fn new(
        grade: Grade,
        about: &str,
        text: impl Into<String>,
        advice: impl Into<String>,
    ) -> Self {
        Self {
            grade,
            about: about.to_owned(),
            text: text.into(),
            advice: advice.into(),
        }
    }
}
