//! A Geneva wheel: rim turned, slots milled along the table, locking arcs swung about the driver's centre; the table divides.

use super::Step;
use super::bits::{Work, cutting};
use super::outline::turned;
use super::plate::mill;
use crate::finding::Grade;
use crate::geneva::Wheel;
use crate::part::Plate;
use crate::resolve::of_class;
use crate::speeds::Tool;
use crate::words;

pub(super) fn wheel(work: &mut Work, p: &Plate, w: &Wheel) {
    let s = &w.shape;
    let saw = work
        .shop()
        .and_then(|s| s.saws.first())
        .map_or_else(|| "saw".to_owned(), |s| words::kept("saw", &s.name));
    work.set_up(
        "Outline, rough",
        &saw,
        "by hand on the table",
        "the scribed circle",
        3.0,
    );
    let (across, outside) = (work.mm(2.0 * s.radius), work.allowance(1.0));
    work.step(Step {
        text: format!(
            "Scribe ⌀{across} about the bore and saw {outside} outside it; the slots stay solid"
        ),
        tool: "dividers, saw".to_owned(),
        why: "a whole rim is turned round; slots and arcs are cut into it after".to_owned(),
        minutes: 8.0,
        ..Step::default()
    });
    let table = work.rotary().map(|t| (t.name.clone(), t.ratio));
    if work.shop().is_some() && (work.mill().is_none() || table.is_none()) {
        work.finding(
            Grade::Cannot,
            format!(
                "nothing in this shop divides into {} and mills slots",
                s.slots
            ),
            "order the wheel by its DXF, or add a mill and a rotary table to the shop file",
        );
    }
    let by_lathe = turned(work, p, w.centre, s.radius);
    let (mill, spindle) = mill(work);
    let on = table
        .as_ref()
        .map_or_else(String::new, |(name, _)| format!(" {name}"));
    work.set_up(
        "Slots and locking arcs",
        &format!("{mill} with rotary table{on}"),
        "rotary table, centred under the spindle; the wheel on a close plug in its bore, clamped on packing with the clamps inside the slots",
        "table at 0° with x of the wheel along the table's x; spindle over the table's middle",
        20.0,
    );
    let cutter = cutter(work, s.slot);
    let rpm = work.rpm(Tool::EndMill, cutter, spindle);
    let tool = work.tool("end mill", cutter);
    if !by_lathe {
        work.step(Step {
            text: format!(
                "Round the rim to ⌀{across}, table all the way round, against the cutter"
            ),
            tool: tool.clone(),
            rpm,
            feed: Some(0.06),
            at: format!("offset {}", work.read(s.radius + cutter / 2.0)),
            check: format!("⌀{across} with the caliper"),
            minutes: 20.0,
            ..Step::default()
        });
    }
    let turns = table.as_ref().map_or_else(String::new, |(_, ratio)| {
        format!(
            ", {} turns of the handle from one to the next",
            words::number(ratio / f64::from(s.slots), 4)
        )
    });
    // The slot that is cut lies along +x: the table stands at what brings it there.
    let angles = |all: Vec<f64>| {
        let mut shown: Vec<f64> = all
            .into_iter()
            .map(|a| (-a.to_degrees()).rem_euclid(360.0))
            .collect();
        shown.sort_by(f64::total_cmp);
        let shown: Vec<String> = shown
            .into_iter()
            .map(|a| format!("{}°", words::number(a, 3)))
            .collect();
        shown.join(", ")
    };
    let (bottom, width) = (work.read(s.bottom), of_class(s.slot, "H9"));
    let passes = (p.thickness / (cutter / 4.0)).ceil().max(1.0);
    let wide = width.as_ref().map_or_else(
        || work.mm(s.slot),
        |c| words::sized(s.slot, Some(c), work.bench.units()),
    );
    let long = s.radius - s.bottom + cutter;
    work.step(Step {
        text: format!(
            "Mill the {} slots {wide}, from outside in to their round ends, {} passes each; table locked for each{}",
            s.slots,
            words::number(passes, 0),
            if cutter < s.slot - 0.01 {
                format!(", then {} to each side", work.read((s.slot - cutter) / 2.0))
            } else {
                String::new()
            }
        ),
        tool: tool.clone(),
        rpm,
        feed: Some(0.04),
        at: format!("y 0, x from {} to {bottom}; table at {}{turns}", work.read(s.radius + cutter), angles(w.slots())),
        check: "the pin passes from mouth to end by hand, without shake".to_owned(),
        why: "the table's angle alone divides: the wheel is not moved in between".to_owned(),
        minutes: f64::from(s.slots) * (3.0 + passes * cutting(long, 0.04, rpm.unwrap_or(600.0))),
        ..Step::default()
    });
    arcs(work, p, w, &angles(w.arcs()), spindle);
}

/// The end mill for the slots: as wide as they are, else the next smaller one of the shop.
fn cutter(work: &mut Work, slot: f64) -> f64 {
    let own = work.shop().map(|s| s.tools.end_mills.clone());
    let found = own.map_or(Some(slot), |mills| {
        mills
            .into_iter()
            .filter(|d| *d <= slot + 0.01)
            .max_by(f64::total_cmp)
    });
    found.unwrap_or_else(|| {
        let wide = work.mm(slot);
        work.on_mill(
            Grade::WayRound,
            format!("no end mill goes into slots {wide} wide"),
            "buy one of their width, or drill a row of holes, saw and file to the pin",
        );
        slot
    })
}

fn arcs(
    work: &mut Work,
    p: &Plate,
    w: &Wheel,
    angles: &str,
    spindle: Option<&machine::equipment::Spindle>,
) {
    let s = &w.shape;
    let across = 2.0 * s.lock;
    let reached = work.shop().is_none_or(|t| {
        t.tools
            .boring_head
            .is_some_and(|[a, b]| (a..=b).contains(&across))
    });
    let lock = work.mm(s.lock);
    if !reached {
        work.on_mill(
            Grade::WayRound,
            format!("no boring head here swings R{lock} for the locking arcs"),
            "a fly cutter set to that radius in a bar does, or saw them out and file them to the locking disc, which is made first",
        );
    }
    let rpm = work.rpm(Tool::Turning { carbide: false }, across, spindle);
    let at = work.read(s.centres);
    work.step(Step {
        text: format!(
            "Swing the {} locking arcs R{lock}: the spindle stands where the driver's axis is, the tool comes down through the rim; in steps of 1 on the radius, slow: every cut is interrupted",
            s.slots
        ),
        tool: format!("boring head or fly cutter, ⌀{} over its point", work.mm(across)),
        rpm,
        feed: Some(0.05),
        at: format!("y 0, x {at}; table at {angles}"),
        check: format!(
            "the locking disc turns in each without shake; from the bore's middle to the arc {}",
            work.mm(s.centres - s.lock)
        ),
        why: "half way between the slots, so that the wheel stands still with the disc in it".to_owned(),
        minutes: f64::from(s.slots) * (6.0 + p.thickness / 3.0),
        ..Step::default()
    });
}
