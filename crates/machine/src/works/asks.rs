//! Asks about forces, loaded readings and made machines.

use super::First;
use crate::asks::when;
use crate::declared::Named;
use crate::desk::{Desk, Kind};
use crate::fields::{Fields, Shape};
use crate::model::Moves;
use crate::readings::{driven, limits, measure_of};
use crate::words::clip;
use crate::work::{WorkAsk, WorkJudges};
use quantity::Kind as Measure;

const ASK: Shape = Shape {
    a: "an ask",
    keys: &[
        ("effort", "effort = \"set\""),
        ("holds", "holds = \"set\""),
        ("loaded", "loaded = \"embossing\""),
        ("share-of", "share-of = \"depth\""),
        ("under", "under = \"embossing\""),
        ("factor", "factor = 1.5"),
        ("reading", "reading = \"gap\""),
        ("when", "when = { set = \"75 deg\" }"),
        ("between", "between = [\"0.30 mm\", \"0.40 mm\"]"),
        ("at-least", "at-least = 0.95"),
        ("at-most", "at-most = \"40 N\""),
    ],
};

/// Whether an ask belongs to this second part.
pub(crate) fn is_about_work(named: &Named) -> bool {
    named
        .entry
        .node
        .entries()
        .iter()
        .any(|e| ["effort", "holds", "loaded", "share-of"].contains(&e.name))
}

pub(super) fn read(desk: &mut Desk, named: &[Named], first: &First) -> Vec<WorkAsk> {
    named
        .iter()
        .filter(|n| is_about_work(n))
        .filter_map(|n| ask(desk, n, first, named))
        .collect()
}

/// Drives that stand elsewhere than drawn.
fn put(desk: &mut Desk, fields: &Fields, first: &First) -> Vec<(usize, f64)> {
    let written = fields
        .get("when")
        .map_or_else(Vec::new, |f| when(desk, first.drives, &f));
    written
        .into_iter()
        .filter_map(|(d, v)| Some((d, v?)))
        .collect()
}

fn ask(desk: &mut Desk, named: &Named, first: &First, all: &[Named]) -> Option<WorkAsk> {
    let fields = Fields::of_form(desk, named.what(), &ASK, &named.entry, |written| {
        let has = |key: &str| written.iter().any(|f| f.key == key);
        Some(if has("effort") {
            vec!["effort", "under", "when", "at-least", "at-most", "between"]
        } else if has("holds") {
            vec!["holds", "under", "when", "factor"]
        } else if has("loaded") {
            vec![
                "loaded", "reading", "when", "at-least", "at-most", "between",
            ]
        } else {
            vec!["share-of", "at-least"]
        })
    })?;
    let form = fields.one_of(desk, &["effort", "holds", "loaded", "share-of"])?;
    let ask = |judges, at_least, at_most| {
        Some(WorkAsk {
            name: named.entry.name.to_owned(),
            judges,
            at_least,
            at_most,
            place: named.entry.place,
        })
    };
    let stray = |desk: &mut Desk, allowed: &[&str]| {
        for field in fields.others(allowed) {
            field.bad(
                desk,
                format!("`{}` does not go with `{}`", field.key, form.key),
                format!("take `{}` out", field.key),
            );
        }
    };
    match form.key {
        "effort" => {
            stray(
                desk,
                &["effort", "under", "when", "at-least", "at-most", "between"],
            );
            let when = put(desk, &fields, first);
            let drive = driven(desk, first.drives, &form);
            let case = fields.get("under").map(|f| f.name(desk, Kind::Case));
            // With a hand it is a force; without one the drive's own moment (or force, when it slides).
            let measure = drive.and_then(|d| {
                let drive = first.drives.get(d)?.as_ref()?;
                let hand = first.hands.get(d) == Some(&true);
                Some(if hand || matches!(drive.moves, Moves::Slides(_)) {
                    Measure::Force
                } else {
                    Measure::Moment
                })
            });
            let limits = limits(desk, &fields, measure);
            if let (Some(field), Some(most)) = (
                fields.get("at-most"),
                limits.as_ref().and_then(|l| l.at_most.as_ref()),
            ) && most.value <= 0.0
            {
                field.bad(
                    desk,
                    format!("an effort of at most {} cannot be kept", most.show()),
                    "an effort is never below nothing: write it above zero",
                );
                return None;
            }
            let judges = WorkJudges::Effort {
                drive: drive?,
                case: case.map_or(Some(None), |c| c.map(Some))?,
                when,
            };
            let limits = limits?;
            ask(
                judges,
                limits.at_least.map(|w| w.value),
                limits.at_most.map(|w| w.value),
            )
        }
        "holds" => {
            stray(desk, &["holds", "under", "when", "factor"]);
            let when = put(desk, &fields, first);
            let drive = driven(desk, first.drives, &form);
            let case = fields.get("under").map(|f| f.name(desk, Kind::Case));
            let factor = fields.get("factor").map_or(Some(1.0), |f| {
                let x = f.number(desk)?;
                if x > 0.0 {
                    return Some(x);
                }
                f.bad(
                    desk,
                    format!("`factor` is {x}; it has to be above zero"),
                    "1.5 is usual where nobody can be hurt",
                );
                None
            });
            let judges = WorkJudges::Holds {
                drive: drive?,
                case: case.map_or(Some(None), |c| c.map(Some))?,
                factor: factor?,
                when,
            };
            ask(judges, factor, None)
        }
        "loaded" => {
            stray(
                desk,
                &[
                    "loaded", "reading", "when", "at-least", "at-most", "between",
                ],
            );
            let case = form.name(desk, Kind::Case);
            let reading = fields
                .need(desk, "reading")
                .and_then(|f| f.name(desk, Kind::Reading));
            let when = put(desk, &fields, first);
            let limits = limits(
                desk,
                &fields,
                reading.and_then(|r| measure_of(first.readings, r)),
            );
            let limits = limits?;
            let judges = WorkJudges::Loaded {
                reading: reading?,
                case: case?,
                when,
            };
            ask(
                judges,
                limits.at_least.map(|w| w.value),
                limits.at_most.map(|w| w.value),
            )
        }
        _ => {
            stray(desk, &["share-of", "at-least"]);
            let name = form.text(desk, "the name of an ask")?;
            desk.resolve(Kind::Ask, name, form.place())?;
            let plain: Vec<&Named> = all.iter().filter(|n| !is_about_work(n)).collect();
            let Some(index) = plain.iter().position(|n| n.entry.name == name) else {
                form.bad(
                    desk,
                    format!("{} is not an ask on a reading", clip(name)),
                    "name an ask on a reading as drawn",
                );
                return None;
            };
            let least = fields.need(desk, "at-least")?;
            let share = least.number(desk)?;
            if !(0.0..=1.0).contains(&share) {
                least.bad(
                    desk,
                    format!("a share of {share} cannot be"),
                    "write 0.95 for 95 of 100 machines",
                );
                return None;
            }
            first.asks.get(index)?.as_ref()?;
            ask(WorkJudges::Share { ask: index }, Some(share), None)
        }
    }
}
