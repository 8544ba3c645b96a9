//! `INDEX.md`, made from the cases.

use crate::Case;
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
    (
        "Friction (pins, slides, screws, wedges, detents, eccentric clamps), statics, inertia, flywheels",
        "not in this list yet; it holds motion and what follows from it by virtual work",
    ),
    (
        "One-dimensional stacks, Monte Carlo spreads",
        "belong to a study of spread",
    ),
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

/// The text of `checks/INDEX.md`.
pub fn index(cases: &[Case]) -> String {
    let mut out = String::from("# Cases from outside\n\n");
    out.push_str(
        "Made from `motion.json` by `UPDATE=1 cargo test -p checks`; a test fails when it has drifted. \
         Values are in mm and as the names in the file say. *Looked up*: seen in print or in a copy. *Derived*: computed \
         independently from the closed formula. *From memory*: the source was not seen.\n\n",
    );
    let count = |text: &str| cases.iter().filter(|c| c.confidence.text() == text).count();
    let [looked, derived, memory] = ["looked up", "derived", "from memory"].map(count);
    let total = cases.len();
    let _ = writeln!(
        out,
        "{total} cases: {looked} looked up, {derived} derived, {memory} from memory."
    );
    let mut group = "";
    let mut sources: Vec<&str> = Vec::new();
    let mut notes = String::new();
    for case in cases {
        if case.group != group {
            out.push_str(&std::mem::take(&mut notes));
            sources.clear();
            group = &case.group;
            let _ = write!(
                out,
                "\n## {}\n\n| id | what | within | confidence | source |\n| --- | --- | --- | --- | --- |\n",
                capital(group)
            );
            notes = String::from("\nSources:\n");
        }
        let number = sources
            .iter()
            .position(|s| *s == case.source)
            .unwrap_or_else(|| {
                sources.push(&case.source);
                let _ = writeln!(notes, "{}. {}", sources.len(), case.source);
                sources.len() - 1
            });
        let names: Vec<&str> = case.expected.keys().map(String::as_str).collect();
        let _ = writeln!(
            out,
            "| {} | {}: {} | {} | {} | {} |",
            case.id,
            case.machine.replace('-', " "),
            names.join(", "),
            case.within.text(),
            case.confidence.text(),
            number + 1
        );
    }
    out.push_str(&notes);
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
