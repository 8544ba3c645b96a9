//! Hardening of what is made of tool steel and is called hard in its note, and what is left for grinding or lapping after it.

use super::Step;
use super::bits::Work;
use machine::work::Material;

/// Left for grinding or lapping after hardening, mm on each face or on diameter (common practice).
pub(crate) const LEFT: f64 = 0.1;

/// Left on fits that are lapped where nothing grinds, mm on diameter (common practice).
pub(crate) const LAPPED: f64 = 0.02;

/// Heat, quench and temper of a steel.
struct Recipe {
    /// As the trade calls it.
    name: &'static str,
    heat: [f64; 2],
    quench: &'static str,
    /// For about 58 to 60 HRC, °C.
    temper: [f64; 2],
}

/// Common practice, from memory: the sheet of whoever made the bar comes first.
const RECIPES: [(&[&str], Recipe); 3] = [
    (
        &[
            "o1",
            "1.2510",
            "115crv3",
            "1.2210",
            "silver steel",
            "drill rod",
        ],
        Recipe {
            name: "oil-hardening steel",
            heat: [790.0, 815.0],
            quench: "oil at 40 to 60 °C, moved about",
            temper: [200.0, 230.0],
        },
    ),
    (
        &["w1", "1.1545", "c105"],
        Recipe {
            name: "water-hardening steel",
            heat: [770.0, 790.0],
            quench: "brine or water at 20 °C, moved about",
            temper: [180.0, 220.0],
        },
    ),
    (
        &["a2", "1.2363"],
        Recipe {
            name: "air-hardening steel",
            heat: [940.0, 970.0],
            quench: "still air, wrapped in foil for the heat",
            temper: [200.0, 230.0],
        },
    ),
];

fn recipe(material: &Material) -> Option<&'static Recipe> {
    let name = material.taken_as.unwrap_or(&material.name).to_lowercase();
    let words: Vec<&str> = name.split_whitespace().collect();
    RECIPES
        .iter()
        .find(|(names, _)| {
            names.iter().any(|n| {
                if n.contains(' ') {
                    name.contains(n)
                } else {
                    words.contains(n)
                }
            })
        })
        .map(|(_, r)| r)
}

/// Whether a note asks for hardening.
pub(crate) fn wanted(note: &str) -> bool {
    let note = note.to_lowercase();
    (note.contains("harden") || note.contains("temper")) && !note.contains("not harden")
}

/// Whether a part is hardened by its note, in steel that hardens so: then metal is left for grinding.
pub(crate) fn hardened(note: &str, material: &Material) -> bool {
    wanted(note) && recipe(material).is_some()
}

/// What is left on a fit, on diameter, or on each face for grinding after hardening; nothing on what stays soft.
pub(super) fn left(work: &Work) -> f64 {
    if hardened(&work.part.note, &work.part.material) {
        LEFT
    } else {
        0.0
    }
}

/// The steps of hardening, when the part's note asks for it.
pub(super) fn steps(work: &mut Work) {
    if !wanted(&work.part.note) {
        return;
    }
    let Some(recipe) = recipe(&work.part.material) else {
        work.finding(
            crate::finding::Grade::Assumed,
            format!("{} does not harden by heat and quench alone as its note asks, or its recipe is not known here", work.part.material.name),
            "ask whoever sells the bar, take O1, or have it case-hardened",
        );
        return;
    };
    let (left, lapped) = (work.mm(LEFT), work.mm(LAPPED));
    let minute = work.mm(1.0);
    let [low, high] = recipe.heat;
    let [cool, warm] = recipe.temper;
    work.set_up(
        "Harden and temper",
        "hearth or furnace",
        "on a wire through a hole, or on edge on a brick: long and thin parts hang",
        "none",
        15.0,
    );
    work.step(Step {
        text: format!(
            "Look it over: every hole, thread and edge is done, what the note asks before it is done ({}), the name is on it, corners are rounded, {left} stands on faces, {lapped} on outside fits",
            work.part.note
        ),
        tool: "micrometer".to_owned(),
        check: "sizes written down: it grows and bends a little".to_owned(),
        why: "a sharp inside corner cracks in the quench".to_owned(),
        minutes: 10.0,
        ..Step::default()
    });
    work.step(Step {
        text: format!(
            "Heat evenly to {low:.0} to {high:.0} °C ({}), hold a minute for every {minute} of thickness, five at least",
            recipe.name
        ),
        tool: "furnace, or torch in a brick hearth".to_owned(),
        check: "cherry red in dim light, a magnet no longer holds".to_owned(),
        minutes: 25.0,
        ..Step::default()
    });
    work.step(Step {
        text: format!("Quench in {}, straight down", recipe.quench),
        tool: "tongs".to_owned(),
        check: "a file slides off".to_owned(),
        why: "out of the fire and into the quench within two seconds; a slanted dip bends it"
            .to_owned(),
        minutes: 5.0,
        ..Step::default()
    });
    work.step(Step {
        text: format!(
            "Temper at once: an hour at {cool:.0} to {warm:.0} °C, twice for a working edge or face"
        ),
        tool: "oven with a thermometer".to_owned(),
        check: "pale to dark straw on a polished place".to_owned(),
        why: "as quenched it is brittle as glass and may crack overnight".to_owned(),
        minutes: 15.0,
        ..Step::default()
    });
    work.step(Step {
        text: "Grind or lap faces and fits to size".to_owned(),
        tool: "fine stone, lap and paste, or emery on glass".to_owned(),
        check: "sizes of the drawing, flat against a straight edge; wiped, and once more cold"
            .to_owned(),
        minutes: 20.0,
        ..Step::default()
    });
    let holes = fits(work);
    if !holes.is_empty() {
        work.step(Step {
            text: format!(
                "Lap the fits inside, which came out of the quench a little larger or smaller: {}",
                holes.join(", ")
            ),
            tool: "split brass lap, fine paste".to_owned(),
            check: "its pin goes in as the drawing says; wiped dry".to_owned(),
            why: "no reamer cuts them any more".to_owned(),
            minutes: 15.0 * holes.len() as f64,
            ..Step::default()
        });
    }
    work.caution(super::bits::Caution::Hardening);
}

/// Close holes of a part, each size once.
fn fits(work: &Work) -> Vec<String> {
    use crate::part::{Form, cut_size};
    let fitted: Vec<&machine::fitting::Fitted> = match &work.part.form {
        Form::Plate(p) => p.holes.iter().map(|h| &h.fitted).collect(),
        Form::Turned(t) => t.bores.iter().map(|b| &b.fitted).collect(),
    };
    let mut all: Vec<String> = fitted
        .into_iter()
        .filter_map(cut_size)
        .filter(|s| s.limits.tolerance() < 0.05)
        .map(|s| {
            format!(
                "⌀{}",
                crate::words::sized(s.nominal, Some(s), work.bench.units())
            )
        })
        .collect();
    all.sort();
    all.dedup();
    all
}
