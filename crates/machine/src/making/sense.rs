//! What can be written and not be made: countersinks smaller than their hole, hubs shorter than their plate, bores that leave nothing.

use super::{EndBore, Flats, Plate, Step};
use crate::desk::Desk;
use crate::diagnostic::Diagnostic;
use crate::fields::{Field, Fields, Value};
use crate::fitting::Fitted;

/// A countersink or counterbore is larger than its hole.
pub(super) fn heads(desk: &mut Desk, inner: &Fields, fitted: &Fitted) {
    let hole = fitted.across();
    if let Some(f) = inner.get("countersink")
        && let Some(d) = f.positive_length(desk)
        && d <= hole + 1e-9
    {
        f.bad(
            desk,
            format!(
                "a countersink of {} in a hole of {} cuts nothing",
                desk.show(d),
                desk.show(hole)
            ),
            "write the diameter of its mouth: that of the screw's head and a little more",
        );
    }
    if let Some(f) = inner.get("counterbore")
        && let Some([d, _]) = f.pair(desk, "diameter and depth")
        && let Some(wide) = d.positive_length(desk)
        && wide <= hole + 1e-9
    {
        d.bad(
            desk,
            format!(
                "a counterbore of {} in a hole of {} cuts nothing",
                desk.show(wide),
                desk.show(hole)
            ),
            "write diameter and depth of the head's room: `counterbore = [\"11 mm\", \"6.5 mm\"]`",
        );
    }
}

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
        .map(|s| s.diameter.0)
        .reduce(f64::min)
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

/// Flats take something off.
pub(super) fn flats(desk: &mut Desk, across: &Field, made: &Flats, steps: &[Step]) -> Option<()> {
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
        return Some(());
    }
    let (wide, outside) = (desk.show(made.across), desk.show(outside));
    across.bad(
        desk,
        format!("flats {wide} across take nothing off a diameter of {outside}"),
        "`across` is the distance between opposite flats: smaller than the diameter",
    );
    None
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

/// Chamfer and relief of a step leave something of it.
pub(super) fn step(desk: &mut Desk, inner: &Fields, made: &Step) -> Option<()> {
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
