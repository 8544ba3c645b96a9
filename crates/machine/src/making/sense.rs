//! What can be written and not be made: countersinks smaller than their hole, hubs shorter than their plate, bores that leave nothing.

use super::{EndBore, Flats, Of, Plate, PlateHole, Step};
use crate::desk::Desk;
use crate::diagnostic::Diagnostic;
use crate::fields::{Entry, Field, Fields, Value};
use crate::fitting::Fitted;
use crate::model::FRAME;
use crate::work::Work;

/// What the thickness of the plate forbids.
pub(super) fn against_thickness(desk: &mut Desk, fields: &Fields, plate: &Plate, thickness: f64) {
    if let Some(bosses) = fields.get("boss") {
        for entry in bosses.node.entries() {
            let Value::Table(_) = entry.node.value else {
                continue;
            };
            let Some(length) = entry
                .node
                .entries()
                .into_iter()
                .find(|e| e.name == "length")
            else {
                continue;
            };
            let short = plate
                .bosses
                .iter()
                .filter(|b| desk.name(crate::desk::Kind::Point, b.point) == entry.name)
                .find_map(|b| b.length.filter(|l| *l < thickness - 1e-9));
            if let Some(short) = short {
                desk.push(
                    Diagnostic::error(
                        "wrong-value",
                        format!(
                            "a hub {} long is thinner than its plate, which is {}",
                            desk.show(short),
                            desk.show(thickness)
                        ),
                    )
                    .at(length.node.place, "")
                    .help(format!(
                        "`length` counts the plate as well: write \"{}\" or more, or leave it out",
                        desk.show(thickness + short)
                    )),
                );
            }
        }
    }
    let holes = fields
        .get("hole")
        .map_or_else(Vec::new, |f| f.node.entries());
    for entry in holes {
        let Some(hole) = plate.holes.iter().find(|h| h.name == entry.name) else {
            continue;
        };
        too_deep(desk, &entry, hole, plate, thickness);
        let Some([_, deep]) = hole.counterbore.filter(|c| c[1] >= thickness - 1e-9) else {
            continue;
        };
        desk.push(
            Diagnostic::error(
                "wrong-value",
                format!(
                    "a counterbore {} deep goes through the plate, which is {} thick",
                    desk.show(deep),
                    desk.show(thickness)
                ),
            )
            .at(entry.place, "")
            .help("leave a floor under the head: as deep as the head is high, and a little more"),
        );
    }
}

/// Holes, heads and threads that go on where the plate has ended.
fn too_deep(desk: &mut Desk, entry: &Entry, hole: &PlateHole, plate: &Plate, thickness: f64) {
    let t = desk.show(thickness);
    // A hub or a flange may stand behind it.
    let alone = plate.bosses.iter().all(|b| b.length.is_none()) && plate.bends.is_empty();
    let deep = match &hole.fitted {
        Fitted::Tapped { depth, .. } => hole.length.or(*depth),
        _ => hole.length,
    };
    if let Some(deep) = deep.filter(|d| alone && *d > thickness + 1e-6) {
        let (name, deep) = (crate::words::clip(entry.name), desk.show(deep));
        desk.push(
            Diagnostic::error(
                "wrong-value",
                format!("the hole {name} is {deep} deep, its plate is {t} thick"),
            )
            .at(entry.place, "")
            .help("leave the depth out for a hole that goes through, or take thicker stock"),
        );
    }
    // 90 degrees: as deep as it reaches out beyond its hole.
    if let Some(wide) = hole.countersink
        && (wide - hole.fitted.across()) / 2.0 >= thickness - 1e-9
    {
        let deep = desk.show((wide - hole.fitted.across()) / 2.0);
        let wide = desk.show(wide);
        desk.push(
            Diagnostic::error(
                "wrong-value",
                format!("a countersink of {wide} goes {deep} deep, its plate is {t} thick"),
            )
            .at(entry.place, "")
            .help(
                "write the diameter of the screw's head and a little more, or take thicker plate",
            ),
        );
    }
}

/// A slot is less deep than its plate; one that is as deep goes through.
pub(super) fn slots(desk: &mut Desk, fields: &Fields, plate: &mut Plate, thickness: f64) {
    let entries = fields
        .get("slot")
        .map_or_else(Vec::new, |f| f.node.entries());
    for slot in &mut plate.slots {
        let Some(deep) = slot.depth else { continue };
        if deep < thickness - 1e-6 {
            continue;
        }
        if deep <= thickness + 1e-6 {
            slot.depth = None;
            continue;
        }
        if let Some(entry) = entries.iter().find(|e| e.name == slot.name) {
            let text = format!(
                "the slot {} is {} deep, its plate is {} thick",
                crate::words::clip(entry.name),
                desk.show(deep),
                desk.show(thickness)
            );
            desk.push(
                Diagnostic::error("wrong-value", text)
                    .at(entry.place, "")
                    .help("leave `depth` out for a slot that goes through"),
            );
        }
    }
}

/// The hole at a point and its boss tell one length.
pub(super) fn lengths(desk: &mut Desk, of: &Of, plate: &Plate, work: &Work) {
    let part = match of {
        Of::Part(part) => *part,
        Of::Frame(_) => FRAME,
        _ => return,
    };
    for boss in &plate.bosses {
        let hole = work
            .holes
            .iter()
            .find(|h| h.part == part && h.point == boss.point);
        let Some((hole, length, own)) = hole.and_then(|h| Some((h, h.length?, boss.length?)))
        else {
            continue;
        };
        if (length - own).abs() < 1e-6 {
            continue;
        }
        let name = desk.name(crate::desk::Kind::Point, boss.point);
        let text = format!(
            "the hole at {name} is {} long, its boss {}",
            desk.show(length),
            desk.show(own)
        );
        desk.push(
            Diagnostic::error("two-forms", text)
                .at(hole.place, "")
                .help("write the length once, at the hole or at the boss: what is made, pressed and loaded has the same"),
        );
    }
}

/// The smallest step that runs true between two places from the left end.
fn least(steps: &[Step], from: f64, to: f64) -> Option<f64> {
    let mut at = 0.0;
    steps
        .iter()
        .filter(|s| {
            let here = at;
            at += s.length;
            s.offset.is_none() && here < to - 1e-9 && at > from + 1e-9
        })
        .map(metal)
        .reduce(f64::min)
}

/// Diameter of what is left of a step: the root of its thread (ISO 68-1: d - 1.2269 P), its flats.
fn metal(s: &Step) -> f64 {
    match &s.thread {
        Some(thread) => s.diameter.0 - 1.2269 * thread.pitch,
        None if s.sides > 0 => s.across,
        None => s.diameter.0,
    }
}

/// A thread is no deeper than the hole that it is cut in.
pub(super) fn thread_fits(
    desk: &mut Desk,
    fields: &Fields,
    fitted: &Fitted,
    length: Option<f64>,
) -> Option<()> {
    let (
        Fitted::Tapped {
            thread,
            depth: Some(full),
        },
        Some(length),
    ) = (fitted, length)
    else {
        return Some(());
    };
    if *full <= length + 1e-9 {
        return Some(());
    }
    let (shown, hole, lead) = (
        desk.show(*full),
        desk.show(length),
        desk.show(full + 4.0 * thread.pitch),
    );
    if let Some(depth) = fields.get("depth") {
        depth.bad(
            desk,
            format!("a thread {shown} deep does not go into a hole {hole} deep"),
            format!(
                "leave `length` out, and it is drilled {lead} deep: four pitches more for the lead of the tap and its chips (common practice)"
            ),
        );
    }
    None
}

/// A bore leaves metal all round.
pub(super) fn wall(desk: &mut Desk, item: &Field, bore: &EndBore, steps: &[Step]) -> Option<()> {
    let total: f64 = steps.iter().map(|s| s.length).sum();
    // A thread told by its depth alone is drilled four pitches deeper (common practice).
    let threaded = match &bore.fitted {
        Fitted::Tapped {
            thread,
            depth: Some(full),
        } => Some(full + 4.0 * thread.pitch),
        _ => None,
    };
    let deep = bore.length.or(threaded).unwrap_or(total);
    let (from, to) = match bore.from {
        super::Side::Left => (0.0, deep),
        super::Side::Right => (total - deep, total),
    };
    let across = bore.fitted.across() + 2.0 * bore.offset.map_or(0.0, |o| o.throw);
    // A thread's own wall is the root's.
    match least(steps, from, to) {
        Some(outside) if across >= outside - 1e-9 => {
            let (across, outside) = (desk.show(bore.fitted.across()), desk.show(outside));
            item.bad(
                desk,
                format!("this bore of {across} leaves nothing of a step of {outside}"),
                "make the bore smaller or shorter, or the step larger",
            );
            None
        }
        _ => Some(()),
    }
}

/// A hole across is smaller than what it goes through.
pub(super) fn across(
    desk: &mut Desk,
    form: &Field,
    fitted: &Fitted,
    at: f64,
    steps: &[Step],
) -> Option<()> {
    let wide = fitted.across();
    match least(steps, at - 1e-6, at + 1e-6) {
        Some(outside) if wide >= outside - 1e-9 => {
            let (wide, outside) = (desk.show(wide), desk.show(outside));
            form.bad(
                desk,
                format!("a hole of {wide} across a step of {outside} cuts it in two"),
                "a third of the diameter is usual for a pin (common practice)",
            );
            None
        }
        _ => Some(()),
    }
}

/// A hole across keeps off the ends and their chamfers.
pub(super) fn from_the_ends(
    desk: &mut Desk,
    field: &Field,
    fitted: &Fitted,
    at: f64,
    steps: &[Step],
) -> Option<()> {
    let total: f64 = steps.iter().map(|s| s.length).sum();
    let cut = |s: Option<&Step>| s.and_then(|s| s.chamfer).unwrap_or(0.0);
    let (left, right) = (cut(steps.first()), cut(steps.last()));
    let r = fitted.across() / 2.0;
    let (from, chamfer) = if at - left < total - right - at {
        (at, left)
    } else {
        (total - at, right)
    };
    if from >= r + chamfer - 1e-9 {
        return Some(());
    }
    let (shown, wide) = (desk.show(from), desk.show(2.0 * r));
    let least = desk.show(r + chamfer);
    field.bad(
        desk,
        format!(
            "a hole of {wide} across {shown} from the end runs over {}",
            if from < r { "it" } else { "its chamfer" }
        ),
        format!(
            "{least} from the end is the least; its own diameter more is usual (common practice)"
        ),
    );
    None
}

/// Bores beside one another leave metal between them.
pub(super) fn apart(
    desk: &mut Desk,
    item: &Field,
    bore: &EndBore,
    others: &[EndBore],
    total: f64,
) -> Option<()> {
    let axis = |b: &EndBore| {
        b.offset.map_or([0.0; 2], |o| {
            [o.throw * o.angle.cos(), o.throw * o.angle.sin()]
        })
    };
    let deep = |b: &EndBore| b.length.unwrap_or(total);
    let own = axis(bore);
    let meets = others.iter().find_map(|o| {
        let at = axis(o);
        let far = (at[0] - own[0]).hypot(at[1] - own[1]);
        let wide = f64::midpoint(o.fitted.across(), bore.fitted.across());
        // About one axis they are steps of one bore.
        let side_by_side = far > 0.01 && far < wide - 1e-9;
        let deep = o.from == bore.from || deep(o) + deep(bore) > total + 1e-9;
        (side_by_side && deep).then_some((far, wide))
    });
    let Some((far, wide)) = meets else {
        return Some(());
    };
    let (far, wide) = (desk.show(far), desk.show(wide));
    item.bad(
        desk,
        format!("this bore runs into one before it: their axes are {far} apart, and their walls meet from {wide} on"),
        "move it further away, or write one bore about one axis",
    );
    None
}

/// Flats take something off.
pub(super) fn flats(
    desk: &mut Desk,
    across: &Field,
    made: &Flats,
    steps: &[Step],
    bores: &[EndBore],
) -> Option<()> {
    let mut at = 0.0;
    let outside = steps
        .iter()
        .filter(|s| {
            let here = at;
            at += s.length;
            here < made.at + made.length - 1e-9 && at > made.at + 1e-9
        })
        .map(|s| s.diameter.0 + 2.0 * s.offset.map_or(0.0, |o| o.throw))
        .reduce(f64::max)?;
    if made.across < outside - 1e-9 {
        return leaves(desk, across, made, (steps, bores), outside);
    }
    let (wide, outside) = (desk.show(made.across), desk.show(outside));
    across.bad(
        desk,
        format!("flats {wide} across take nothing off a diameter of {outside}"),
        "`across` is the distance between opposite flats: smaller than the diameter",
    );
    None
}

/// Less than this share of a diameter between two flats is a blade that bends in the fingers (common practice).
const BLADE: f64 = 0.15;

/// Flats leave metal, and do not open a bore.
fn leaves(
    desk: &mut Desk,
    across: &Field,
    made: &Flats,
    (steps, bores): (&[Step], &[EndBore]),
    outside: f64,
) -> Option<()> {
    let total: f64 = steps.iter().map(|s| s.length).sum();
    // From the axis to a flat.
    let half = if made.sides == 1 {
        made.across - outside / 2.0
    } else {
        made.across / 2.0
    };
    let opened = bores.iter().filter(|b| b.offset.is_none()).find(|b| {
        let deep = b.length.unwrap_or(total);
        let [from, to] = match b.from {
            super::Side::Left => [0.0, deep],
            super::Side::Right => [total - deep, total],
        };
        from < made.at + made.length - 1e-9
            && made.at < to - 1e-9
            && b.fitted.across() / 2.0 >= half - 1e-9
    });
    let wide = desk.show(made.across);
    if let Some(bore) = opened {
        let bore = desk.show(bore.fitted.across());
        across.bad(
            desk,
            format!("flats {wide} across open the bore of {bore}"),
            "leave a wall round the bore: two millimetres and more (common practice)",
        );
        return None;
    }
    if made.sides > 1 && made.across < BLADE * outside {
        let outside = desk.show(outside);
        across.bad(
            desk,
            format!("flats {wide} across leave a blade of a diameter of {outside}"),
            "`across` is what is left between opposite flats, not what is taken off",
        );
        return None;
    }
    Some(())
}

/// A step stands on the one before it: their rounds share metal.
pub(super) fn touches(desk: &mut Desk, item: &Field, before: &Step, made: &Step) {
    let middle = |s: &Step| {
        s.offset.map_or([0.0; 2], |o| {
            [o.throw * o.angle.cos(), o.throw * o.angle.sin()]
        })
    };
    let (a, b) = (middle(before), middle(made));
    let apart = (a[0] - b[0]).hypot(a[1] - b[1]);
    let (r, s) = (before.diameter.0 / 2.0, made.diameter.0 / 2.0);
    // As deep as a third of the smaller one, or hardly anything holds them together.
    if apart < r + s - 2.0 / 3.0 * r.min(s).max(1e-9) + 1e-9 || apart < r.max(s) {
        return;
    }
    let least = 2.0 * (apart + s).max(r);
    let (gap, own, other) = (desk.show(apart), desk.show(s), desk.show(r));
    let web = desk.show(least.ceil());
    item.bad(
        desk,
        format!("this step hardly touches the one before it: their axes are {gap} apart, the radii {other} and {own}"),
        format!("put a web between them that both stand on, {web} across on the axis, or make one of them larger"),
    );
}

/// Thinner than this nothing is turned: the general tolerance alone is a tenth (ISO 2768-1, class m), mm.
pub(super) const THINNEST: f64 = 0.3;

/// Chamfer and relief of a step leave something of it.
pub(super) fn step(desk: &mut Desk, inner: &Fields, made: &Step) -> Option<()> {
    if made.diameter.0 < THINNEST
        && let Some(field) = inner.get("diameter")
    {
        let (d, least) = (desk.show(made.diameter.0), desk.show(THINNEST));
        field.bad(
            desk,
            format!("a step of {d} is thinner than anything that is turned"),
            format!("write a diameter of {least} or more"),
        );
        return None;
    }
    if let Some(field) = inner.get("chamfer")
        && let Some(chamfer) = made.chamfer
        && (chamfer > made.length + 1e-9 || chamfer >= made.diameter.0 / 2.0 - 1e-9)
    {
        let (c, long, d) = (
            desk.show(chamfer),
            desk.show(made.length),
            desk.show(made.diameter.0),
        );
        field.bad(
            desk,
            format!("a chamfer of {c} does not fit a step {long} long of diameter {d}"),
            "write a smaller one: a tenth of the diameter is plenty",
        );
        return None;
    }
    if let (Some(field), Some(thread)) = (inner.get("relief"), &made.thread)
        && made.relief
        && 3.0 * thread.pitch > made.length + 1e-9
    {
        let (wide, long) = (desk.show(2.0 * thread.pitch), desk.show(made.length));
        field.bad(
            desk,
            format!("a relief {wide} wide leaves no thread on a step {long} long"),
            "make the step longer: the relief is two pitches of it, and a nut wants eight tenths of its diameter",
        );
        return None;
    }
    Some(())
}
