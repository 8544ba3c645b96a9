//! Hubs that stand out of their plate and are cut from the solid: what lies between them is milled down when everything else is done.

use super::Step;
use super::bits::{Work, cutting};
use super::blank::by_hand;
use super::plate::mill;
use crate::finding::Grade;
use crate::part::{Plate, RoundEnd};
use crate::speeds::Tool;
use crate::words;

/// Height of the tallest hub that is cut from the solid.
pub(crate) fn tallest(p: &Plate) -> Option<f64> {
    let solid = p.ends.iter().filter(|e| e.solid).filter_map(|e| e.hub);
    solid.reduce(f64::max)
}

pub(super) fn solid(work: &mut Work, p: &Plate) {
    let Some(tallest) = tallest(p) else { return };
    if by_hand(work) {
        work.finding(
            Grade::Cannot,
            "hubs cut from the solid want a mill",
            "leave `solid` out: rings are turned and brazed on",
        );
        return;
    }
    let hubs: Vec<&RoundEnd> = p
        .ends
        .iter()
        .filter(|e| e.solid && e.hub.is_some())
        .collect();
    let (machine, spindle) = mill(work);
    let cutter = work.outline_cutter();
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    let tool = work.tool("end mill", cutter);
    let speed = rpm.unwrap_or(500.0);
    work.set_up(
        "Hubs from the solid",
        &machine,
        "flat on packing, hubs up, clamped through a finished hole, stop pins beside it; the clamp moved to another hole for the land round the first",
        "top of the tallest hub",
        10.0,
    );
    for end in &hubs {
        let hub = end.hub.unwrap_or(tallest);
        if hub < tallest - 1e-6 {
            let check = work.measure("hub", hub, None);
            work.step(Step {
                text: format!(
                    "Mill the top of the hub {} down to {} over the underside",
                    words::spoken(&end.name),
                    work.mm(hub)
                ),
                tool: tool.clone(),
                rpm,
                feed: Some(0.06),
                at: format!(
                    "{}, {} below the top",
                    work.xy(end.at),
                    work.read(tallest - hub)
                ),
                check,
                minutes: 6.0,
                ..Step::default()
            });
        }
    }
    let down = tallest - p.thickness;
    let passes = (down / (cutter / 4.0)).ceil().max(1.0);
    let rings: Vec<String> = hubs
        .iter()
        .map(|e| {
            format!(
                "⌀{} about {}",
                work.mm(2.0 * e.radius),
                words::spoken(&e.name)
            )
        })
        .collect();
    let area = p.outline.area()
        - hubs
            .iter()
            .map(|e| std::f64::consts::PI * e.radius * e.radius)
            .sum::<f64>();
    let check = work.measure("thickness", p.thickness, None);
    work.step(Step {
        text: format!(
            "Mill everything else down to {}, {}, half a millimetre outside {}",
            work.mm(p.thickness),
            words::passes(passes, &work.mm(down / passes)),
            rings.join(" and ")
        ),
        tool: tool.clone(),
        rpm,
        feed: Some(0.06),
        at: format!("{} below the top", work.read(down)),
        check,
        why: "after the holes and the outline: the full thickness is held and measured better"
            .to_owned(),
        minutes: 8.0 + passes * cutting(area.max(0.0) / (0.7 * cutter), 0.06, speed),
        ..Step::default()
    });
    let table = work.rotary().map(|t| (t.name.clone(), t.ratio));
    if work.shop().is_some() && table.is_none() {
        work.finding(
            Grade::WayRound,
            "no rotary table for the hubs from the solid",
            "step round them in x and y against a button in the bore, and file to it; or leave `solid` out: rings are turned and brazed on",
        );
    }
    for end in &hubs {
        let off = end.radius + cutter / 2.0;
        let (how, why) = match (&table, work.shop()) {
            (Some(_), _) | (None, None) => (
                format!(
                    "on the rotary table, centred on its bore, cutter {} off the middle, from the outline round to the outline",
                    work.read(off)
                ),
                "the half millimetre that was left comes off in one round",
            ),
            _ => (
                "step by step in x and y to the scribed circle, then file against a button in the bore".to_owned(),
                "",
            ),
        };
        let round = std::f64::consts::TAU * end.radius;
        work.step(Step {
            text: format!(
                "Round the hub {} to ⌀{} down to the arm: {how}",
                words::spoken(&end.name),
                work.mm(2.0 * end.radius)
            ),
            tool: tool.clone(),
            rpm,
            feed: Some(0.06),
            at: work.xy(end.at),
            check: format!(
                "⌀{} with the caliper over the hub",
                work.mm(2.0 * end.radius)
            ),
            why: why.to_owned(),
            minutes: 12.0 + 2.0 * cutting(round, 0.06, speed),
            ..Step::default()
        });
    }
}
