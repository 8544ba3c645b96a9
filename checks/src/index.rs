//! `INDEX.md`, made from the cases.

use crate::Case;
use serde_json::Value;
use std::fmt::Write;

/// What is known but cannot be asked of the project yet.
const NOT_YET: &[(&str, &str)] = &[
    (
        "Cam laws, pressure angles, radii of curvature",
        "no cams yet; a round eccentric under a roller stands among the mobility cases",
    ),
    (
        "Squeezer: end state of the benchmark run, its energy integral",
        "needs dynamics; the published end angles are used as positions",
    ),
    ("Flywheels, driven cycles", "need dynamics"),
    (
        "Four-bar counted in space",
        "a part lies in one plane, so that its count in space (−2) does not occur; the planar one stands",
    ),
];

/// Where a case was found wrong.
const CORRECTED: &[(&str, &str)] = &[
    (
        "squeezer-angles-5",
        "Theta was given as 0.16921 at beta = 6, a whole turn above the branch that leads from 0 through −1.217, −2.885 to the \
         published −15.756 at beta = 15.81; it stands here as −6.11397",
    ),
    (
        "squeezer-end-rates",
        "the published rates miss the velocity constraints by 3e-8 rad/s, so that the small rate of epsilon is asked to 3e-8 and \
         not to 1e-8 of itself",
    ),
    (
        "geneva-3, geneva-4",
        "the greatest accelerations of the table (31.44, 5.409) are 0.2 % and 0.04 % above the closed form (31.392, 5.4070), \
         which the solver meets to 1e-8",
    ),
];

/// A line of the index.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The file it stands in, and the subject.
    pub heading: String,
    /// Its name.
    pub id: String,
    /// What is asked.
    pub what: String,
    /// How near an answer must be.
    pub within: String,
    /// How sure the expected values are.
    pub confidence: String,
    /// Where it comes from.
    pub source: String,
}

/// Lines for the cases of a file that names its machines.
pub fn of_cases(file: &str, cases: &[Case]) -> Vec<Entry> {
    let entry = |case: &Case| {
        let names: Vec<&str> = case.expected.keys().map(String::as_str).collect();
        Entry {
            heading: format!("{} ({file})", capital(&case.group)),
            id: case.id.clone(),
            what: format!("{}: {}", case.machine.replace('-', " "), names.join(", ")),
            within: case.within.text(),
            confidence: case.confidence.text().to_owned(),
            source: case.source.clone(),
        }
    };
    cases.iter().map(entry).collect()
}

/// Lines for a list of cases that another crate answers: id, topic, inputs, unit, tol, source and confidence of each.
///
/// # Errors
/// Which case is malformed.
pub fn of_list(file: &str, json: &str) -> Result<Vec<Entry>, String> {
    let list: Vec<Value> = serde_json::from_str(json).map_err(|e| format!("{file}: {e}"))?;
    let entry = |case: &Value| {
        let text = |name: &str| case.get(name).and_then(Value::as_str).map(str::to_owned);
        let tol = case.get("tol")?;
        let within = match (
            tol.get("kind")?.as_str()?,
            tol.get("value").and_then(Value::as_f64),
        ) {
            ("abs", Some(v)) => format!("±{v:e}"),
            ("rel", Some(v)) => format!("±{v:e} of the value"),
            ("standard errors", Some(v)) => format!("{v} standard errors"),
            ("exact", _) => "exact".to_owned(),
            ("range", _) => "between two".to_owned(),
            _ => return None,
        };
        let inputs = case.get("inputs")?.as_object()?.iter();
        let plain = |v: &Value| v.as_str().map_or_else(|| v.to_string(), str::to_owned);
        let inputs: Vec<String> = inputs.map(|(k, v)| format!("{k} {}", plain(v))).collect();
        Some(Entry {
            heading: format!("{} ({file})", capital(&text("topic")?)),
            id: text("id")?,
            what: format!("{} → {}", inputs.join(", "), text("unit")?),
            within,
            confidence: text("confidence")?,
            source: text("source")?,
        })
    };
    let named = |case: &Value| entry(case).ok_or_else(|| format!("{file}: malformed: {case}"));
    list.iter().map(named).collect()
}

/// The text of `checks/INDEX.md`.
pub fn index(entries: &[Entry]) -> String {
    let mut out = String::from("# Cases from outside\n\n");
    out.push_str(
        "Made from the lists beside it by `UPDATE=1 cargo test -p checks`; a test fails when it has drifted. In `motion.json` and `load.json` values \
         are in mm and as the names in the file say. *Looked up*: seen in print or in a copy. *Derived*: computed independently \
         from the closed formula. *From memory*: the source was not seen.\n\n",
    );
    let count = |text: &str| entries.iter().filter(|e| e.confidence == text).count();
    let [looked, derived, memory] = ["looked up", "derived", "from memory"].map(count);
    let total = entries.len();
    let _ = writeln!(
        out,
        "{total} cases: {looked} looked up, {derived} derived, {memory} from memory."
    );
    let mut headings: Vec<&str> = Vec::new();
    for e in entries {
        if !headings.contains(&e.heading.as_str()) {
            headings.push(&e.heading);
        }
    }
    for heading in headings {
        let _ = write!(
            out,
            "\n## {heading}\n\n| id | what | within | confidence | source |\n| --- | --- | --- | --- | --- |\n"
        );
        let mut sources: Vec<&str> = Vec::new();
        for e in entries.iter().filter(|e| e.heading == heading) {
            let known = sources.iter().position(|s| *s == e.source);
            let number = known.unwrap_or_else(|| {
                sources.push(&e.source);
                sources.len() - 1
            });
            // A bar would end the cell.
            let what = e.what.replace('|', "\\|");
            let _ = writeln!(
                out,
                "| {} | {what} | {} | {} | {} |",
                e.id,
                e.within,
                e.confidence,
                number + 1
            );
        }
        out.push_str("\nSources:\n");
        for (i, source) in sources.iter().enumerate() {
            let _ = writeln!(out, "{}. {source}", i + 1);
        }
    }
    for (heading, list) in [("Corrected", CORRECTED), ("Not yet", NOT_YET)] {
        let _ = write!(out, "\n## {heading}\n\n");
        for (what, why) in list {
            let _ = writeln!(out, "- {what}: {why}.");
        }
    }
    out
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
