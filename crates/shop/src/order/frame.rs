//! The frame as it is built up: its plates, what joins them, and what has to be in before the second of a pair closes over it.

use super::comes::Loose;
use super::{Stage, stage};
use crate::bearings::{Early, Why};
use crate::finding::{Finding, Grade};
use crate::part::{Form, Part};
use crate::words;
use machine::Machine;
use machine::fitting::{Fitted, HeldBy};
use machine::making::{Of, Piece};
use machine::model::PartId;

/// Plates of the frame.
fn plates(machine: &Machine) -> impl Iterator<Item = &Piece> {
    let pieces = machine.work.making.pieces.iter();
    pieces.filter(|p| matches!(p.of, Of::Frame(_)))
}

/// The stage that builds it up.
pub(super) fn built(
    machine: &Machine,
    parts: &[Part],
    early: &[Early],
    loose: &mut Loose,
) -> Stage {
    let told: Vec<String> = plates(machine)
        .map(|p| {
            let many = if p.count > 1 {
                format!(" ({} off)", p.count)
            } else {
                String::new()
            };
            format!("{}{many}", words::spoken(&p.name))
        })
        .collect();
    if told.is_empty() {
        return stage(
            "Set the frame down square and level",
            "nothing rocks; it is screwed to the bench",
        );
    }
    let mut groups: Vec<Vec<&Early>> = Vec::new();
    for shaft in early {
        let same = |g: &&mut Vec<&Early>| {
            g.iter()
                .any(|e| e.plates == shaft.plates && keyed(e) == keyed(shaft))
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push(shaft),
            None => groups.push(vec![shaft]),
        }
    }
    let order: String = groups.iter().map(|g| group(machine, g)).collect();
    let screws = loose.screws_of_frame(machine);
    let what = format!("Build up the frame: {}{order}", told.join(", "));
    let turn = "shafts and pins that go through two plates turn freely; square and level";
    if screws.is_empty() && unjoined(machine, parts) {
        return stage(
            format!(
                "{what}; the file has nothing that joins its plates: clamp them where they stand"
            ),
            format!("{turn}, and the same when they are joined"),
        );
    }
    let screws = if screws.is_empty() {
        String::from("screws")
    } else {
        screws.join(", ")
    };
    stage(
        format!("{what}; {screws}, finger-tight"),
        format!("{turn}; then draw the screws and try again"),
    )
}

fn keyed(shaft: &Early) -> bool {
    matches!(shaft.why, Why::Keyed(_))
}

fn name(machine: &Machine, id: PartId) -> String {
    let part = machine.parts.get(id);
    part.map_or_else(String::new, |p| words::spoken(&p.name))
}

/// Shafts between the same plates.
fn group(machine: &Machine, shafts: &[&Early]) -> String {
    let l = |x: f64| words::length(x, machine.unit);
    let name = |id: PartId| name(machine, id);
    let plates = shafts.first().map(|s| &s.plates);
    let plates: Vec<String> = plates
        .into_iter()
        .flatten()
        .map(|p| words::spoken(p))
        .collect();
    // What lies over two of them goes on with both.
    let times = |arm: PartId| shafts.iter().filter(|s| s.arms.contains(&arm)).count();
    let own: Vec<String> = shafts
        .iter()
        .map(|s| {
            let arms = s.arms.iter().filter(|&&a| times(a) == 1 && !keyed(s));
            let arms: Vec<String> = arms.map(|&a| name(a)).collect();
            let first = s
                .first
                .map_or_else(String::new, |end| format!(", its {end} end first,"));
            if arms.is_empty() {
                format!("{}{first}", name(s.part))
            } else {
                format!("{} with {} on it{first}", name(s.part), arms.join(" and "))
            }
        })
        .collect();
    let mut shared: Vec<PartId> = Vec::new();
    for &arm in shafts.iter().flat_map(|s| &s.arms) {
        if times(arm) > 1 && !shared.contains(&arm) {
            shared.push(arm);
        }
    }
    let over = if shared.is_empty() {
        String::new()
    } else {
        let all: Vec<String> = shared.iter().map(|&a| name(a)).collect();
        format!(", {} over both", all.join(" and "))
    };
    let between: Vec<String> = shafts
        .iter()
        .filter(|s| keyed(s))
        .flat_map(|s| &s.arms)
        .map(|&arm| {
            let at = crate::seats::seat(machine, arm).map_or_else(String::new, |s| {
                format!(", its middle {} from the left end", l(s.middle))
            });
            let hold = machine.work.parts.get(arm).and_then(|p| p.held_by.as_ref());
            let key = matches!(hold.map(|h| &h.by), Some(HeldBy::Key(_)));
            format!("{}{}{at}", if key { "key and " } else { "" }, name(arm))
        })
        .collect();
    let between = if between.is_empty() {
        String::new()
    } else {
        format!(
            " until its seat stands free between them; onto it {};",
            between.join("; ")
        )
    };
    let why: Vec<String> = shafts
        .iter()
        .map(|s| match s.why {
            Why::Large([reach, bore]) => format!(
                "{} reaches {} from its axis, the bore is {} across",
                name(s.part),
                l(reach),
                l(bore)
            ),
            Why::Fast => format!("what is on {} does not come off again", name(s.part)),
            Why::Keyed([room, wants]) => format!(
                "{} between the plates, key and hub one beside the other want {}; a key in its seat does not pass a bore",
                l(room),
                l(wants)
            ),
        })
        .collect();
    let (it, all) = if shafts.len() > 1 {
        ("them", " at once")
    } else {
        ("it", "")
    };
    format!(
        "; {}: one plate first, then {} into it{over}{between}, then the other plate over {it}{all} ({})",
        plates.join(", "),
        own.join(" and "),
        why.join("; ")
    )
    .replace(";,", ";")
}

/// No plate of the frame has a hole or slot for what would join it to another, and nothing of the kind is bought.
fn unjoined(machine: &Machine, parts: &[Part]) -> bool {
    let many: usize = plates(machine).map(|p| p.count).sum();
    if many < 2 {
        return false;
    }
    let bought = machine.work.making.purchases.iter();
    if bought.clone().any(|p| p.what.contains("weld")) {
        return false;
    }
    let names: Vec<&str> = plates(machine).map(|p| p.name.as_str()).collect();
    let carried = |hole: &str| machine.points.iter().any(|p| p.name == hole);
    !parts
        .iter()
        .filter(|p| names.contains(&p.name.as_str()))
        .any(|p| match &p.form {
            Form::Plate(p) => {
                let plain = |f: &Fitted| matches!(f, Fitted::Plain { .. });
                !p.slots.is_empty()
                    || !p.edge_holes.is_empty()
                    || p.holes
                        .iter()
                        .any(|h| !carried(&h.name) && plain(&h.fitted))
            }
            Form::Turned(_) => false,
        })
}

/// What is not known of how the frame holds together.
pub(crate) fn findings(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    if !unjoined(machine, parts) {
        return;
    }
    let names: Vec<String> = plates(machine).map(|p| words::spoken(&p.name)).collect();
    let first = plates(machine).next().map_or("", |p| p.name.as_str());
    findings.push(Finding::new(
        Grade::WayRound,
        first,
        format!(
            "nothing joins the plates of the frame ({}): they have no hole for a screw, no slot, no foot",
            names.join(", ")
        ),
        "write their holes (`hole.NAME = { at = [x, y], drill = \"9 mm\" }`), the spacers between them as pieces, and their screws as purchases, before the first plate is drilled",
    ));
}
