//! Arms, wheels and cams as they go onto their shafts: how far along, what holds them, how a cam comes to its angle.

use super::{Stage, stage};
use crate::cams::CamCut;
use crate::finding::{Finding, Grade};
use crate::joined::{Joined, What};
use crate::part::{Form, Part};
use crate::words;
use machine::Machine;
use machine::fitting::HeldBy;
use machine::model::PartId;

fn made<'a>(machine: &Machine, parts: &'a [Part], id: PartId) -> Option<&'a Part> {
    let name = machine.parts.get(id)?.name.as_str();
    parts.iter().find(|p| p.name == name)
}

fn hub(part: &Part) -> Option<&Joined> {
    part.joined.iter().find(|j| !j.in_shaft)
}

/// A plate whose hub is longer than it is thick: where it lies from the left end of its shaft, and how far its hub or ring goes on from there to
/// the right. Rings stand on the face that is towards the right end.
fn lies(machine: &Machine, parts: &[Part], id: PartId) -> Option<([f64; 2], f64)> {
    let seat = crate::seats::seat(machine, id)?;
    let own = made(machine, parts, id)?;
    let Form::Plate(plate) = &own.form else {
        return None;
    };
    let long = hub(own)?.length;
    let from = seat.middle - plate.thickness / 2.0;
    let to = from + plate.thickness;
    (long > plate.thickness + 1e-6).then_some(([from, to], from + long))
}

/// Where the pin of an arm goes through, from the left end of its shaft.
fn pin_at(machine: &Machine, parts: &[Part], id: PartId) -> Option<f64> {
    let own = made(machine, parts, id)?;
    let j = hub(own).filter(|j| matches!(j.what, What::Pin(_)))?;
    match lies(machine, parts, id) {
        Some((_, end)) => Some(end - j.screw_from_face()),
        None => Some(crate::seats::seat(machine, id)?.middle),
    }
}

/// Arms are drilled with their shafts and pinned when the readings are right.
pub(super) fn pins(machine: &Machine, parts: &[Part]) -> Vec<Stage> {
    let l = |x: f64| words::length(x, machine.unit);
    let one = |id: PartId| {
        let part = machine.parts.get(id)?;
        let hold = machine.work.parts.get(id)?.held_by.as_ref()?;
        let HeldBy::Pin { diameter } = &hold.by else {
            return None;
        };
        let shaft = machine.parts.get(part.clamped_to?)?;
        Some(stage(
            format!(
                "Pin the {} to the {}: mark its angle across both, drill ⌀{} and ream hub and shaft together for the pin of {}{}; where no drill gets at it, both come out clamped together",
                words::spoken(&part.name),
                words::spoken(&shaft.name),
                l(diameter - 0.2),
                l(*diameter),
                pinned(machine, parts, id)
            ),
            "the marks still meet; the readings are the same after the pin is driven in",
        ))
    };
    (1..machine.parts.len()).filter_map(one).collect()
}

/// Where the pin of an arm goes through its hub.
fn pinned(machine: &Machine, parts: &[Part], arm: PartId) -> String {
    let Some(hub) = made(machine, parts, arm).and_then(hub) else {
        return String::new();
    };
    let l = |x: f64| words::length(x, machine.unit);
    let from = l(hub.screw_from_face());
    let along = pin_at(machine, parts, arm)
        .map_or_else(String::new, |at| format!(", {} from the left end", l(at)));
    if hub.under > 0.0 {
        format!(
            ", square to the arm{along}, {from} from the face of its ring: in the middle of the ring{}",
            match hub.what {
                What::Pin(d) if hub.length - hub.under > d => format!(
                    ", {} clear of the seam",
                    l((hub.length - hub.under - d) / 2.0)
                ),
                _ => String::new(),
            }
        )
    } else {
        format!(", square to the arm{along}, {from} from the hub's face")
    }
}

/// An arm goes onto its shaft; `Move` where it is on it already.
pub(super) fn on_shaft(machine: &Machine, parts: &[Part], id: PartId, how: &str) -> Option<Stage> {
    let name = |id: PartId| {
        let part = machine.parts.get(id);
        part.map_or_else(String::new, |p| words::spoken(&p.name))
    };
    let shaft = machine.parts.get(id)?.clamped_to?;
    let made = machine.work.parts.get(id);
    let (held, check) = match made.and_then(|m| m.held_by.as_ref()).map(|h| &h.by) {
        Some(HeldBy::Pin { .. }) => (
            String::from(
                ", held by a clamp across both, or a set screw in its hub, until the readings are right",
            ),
            "it still turns on the shaft with a firm hand; it is pinned when all is set",
        ),
        Some(HeldBy::SetScrew { .. }) if cam_of(machine, parts, id).is_some() => (
            cam_of(machine, parts, id)
                .map_or_else(String::new, |cam| marked(machine, parts, shaft, cam)),
            "it does not shift under a firm hand, and its line 0 stands as said",
        ),
        Some(HeldBy::Pinch { .. } | HeldBy::SetScrew { .. }) => (
            String::from(", screws just tight"),
            "it still turns on the shaft with a firm hand",
        ),
        Some(HeldBy::Key(_)) => (String::from(" on its key"), "no shake on the key"),
        Some(HeldBy::Press { fit }) => (
            format!(", pressed on {fit}: mark its angle on both before pressing"),
            "the marks meet",
        ),
        Some(HeldBy::Weld { .. }) => (
            String::from(
                ", tacked only until the readings are right; bushings, bearings and grease out, or wet rags on them, before it is welded out",
            ),
            "its angle, over pins, before and after",
        ),
        Some(HeldBy::Braze) => (
            String::from(
                ", clamped until the readings are right, marked across both, then brazed once; bushings, bearings and grease out of the heat",
            ),
            "its angle, over pins, before and after; flux washed off",
        ),
        None => (String::new(), "its angle, over pins"),
    };
    let l = |x: f64| words::length(x, machine.unit);
    let at = match (crate::seats::seat(machine, id), lies(machine, parts, id)) {
        (Some(s), Some(([from, to], end))) => format!(
            ", the middle of its plate {} from the left end ({} to {}), its hub to the right, to {}",
            l(s.middle),
            l(from),
            l(to),
            l(end)
        ),
        (Some(s), None) => format!(", its middle {} from the left end", l(s.middle)),
        (None, _) => String::new(),
    };
    let what = if how == "Move" {
        format!("Move the {} to its place on the {}", name(id), name(shaft))
    } else {
        format!("{how} the {} onto the {}", name(id), name(shaft))
    };
    Some(stage(format!("{what}{at}{held}"), check))
}

/// The cam that a part is cut as.
fn cam_of<'a>(machine: &Machine, parts: &'a [Part], id: PartId) -> Option<&'a CamCut> {
    match &made(machine, parts, id)?.form {
        Form::Plate(plate) => plate.cams.first(),
        Form::Turned(_) => None,
    }
}

fn degrees(a: f64) -> String {
    words::number(a.to_degrees().rem_euclid(360.0), 2)
}

/// The keyway of a shaft that is seen from one of its ends: its angle as the machine is drawn, and whose it is.
fn keyway<'a>(machine: &Machine, parts: &'a [Part], shaft: PartId) -> Option<&'a Joined> {
    let own = made(machine, parts, shaft)?;
    let Form::Turned(t) = &own.form else {
        return None;
    };
    let long = t.length();
    let keyed = |j: &&Joined| j.in_shaft && matches!(j.what, What::Key(_)) && j.middle.is_some();
    let outside = |j: &&Joined| {
        let at = j.middle.unwrap_or(0.0);
        at.min(long - at)
    };
    own.joined
        .iter()
        .filter(keyed)
        .min_by(|a, b| outside(a).total_cmp(&outside(b)))
}

/// How a cam with set screws comes to its angle while its shaft is still open.
fn marked(machine: &Machine, parts: &[Part], shaft: PartId, cam: &CamCut) -> String {
    let spots = "mark the shaft through its set screws, slide it back, file a flat or drill a spot at each mark, and draw the screws into them";
    match keyway(machine, parts, shaft) {
        Some(key) => format!(
            "; the shaft turned until its keyway for {} looks to {}° in the view of the machine (0° to the right, counter-clockwise), line 0 of {} to {}°; {spots}",
            words::spoken(&key.other),
            degrees(key.angle),
            words::spoken(&cam.name),
            degrees(cam.drawn)
        ),
        None => String::from(", screws just tight"),
    }
}

/// Cams are timed when all that they move stands; what was marked before is tried.
pub(super) fn timing(machine: &Machine, parts: &[Part]) -> Vec<Stage> {
    let mut all = Vec::new();
    for (id, part) in machine.parts.iter().enumerate() {
        let own = parts.iter().find(|p| p.name == part.name);
        let Some(Form::Plate(plate)) = own.map(|p| &p.form) else {
            continue;
        };
        let hold = machine.work.parts.get(id).and_then(|p| p.held_by.as_ref());
        let screws = matches!(hold.map(|h| &h.by), Some(HeldBy::SetScrew { .. }));
        let before = screws
            && part
                .clamped_to
                .is_some_and(|s| keyway(machine, parts, s).is_some());
        for cam in &plate.cams {
            let begins = cam
                .pieces
                .iter()
                .find(|p| p.1 == "rise")
                .map_or_else(String::new, |p| {
                    format!(
                        "indicator on the follower: it begins to rise at {}° of the cam; ",
                        degrees(p.0)
                    )
                });
            let drawn = format!(
                "all drives as drawn, its line 0 to {}° in the view of the machine (0° to the right, counter-clockwise)",
                degrees(cam.drawn)
            );
            let name = words::spoken(&cam.name);
            // Nothing turns a cam on its shaft that is bonded, pressed or pinned by the drawing.
            let set = hold.is_some() || part.clamped_to.is_some();
            let flank = if cam.depth.is_some() {
                "in its track"
            } else {
                "on its flank"
            };
            let what = if !set {
                format!("Try the cam {name}, which is not set but made so: {drawn}")
            } else if before {
                format!("Try how the cam {name} was timed: {drawn}")
            } else if screws {
                format!(
                    "Time the cam {name}: {drawn}; mark the shaft through its set screws, what stands before it off once more, a flat or spot at each mark, and the screws drawn into them"
                )
            } else {
                format!("Time the cam {name}: {drawn}; then hold it there")
            };
            all.push(stage(
                what,
                format!("{begins}a whole turn by hand, the roller always {flank}"),
            ));
        }
    }
    all
}

/// Pins that go through a shaft at its very end, and holes of the shaft that are not where the hub's pin is.
pub(crate) fn findings(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    for id in 1..machine.parts.len() {
        let Some(shaft) = crate::joined::root(machine, id) else {
            continue;
        };
        let (Some(arm), Some(own)) = (made(machine, parts, id), made(machine, parts, shaft)) else {
            continue;
        };
        let (Some(at), Form::Turned(t)) = (pin_at(machine, parts, id), &own.form) else {
            continue;
        };
        let Some(What::Pin(d)) = hub(arm).map(|j| j.what.clone()) else {
            continue;
        };
        let l = |x: f64| words::length(x, machine.unit);
        let to_end = at.min(t.length() - at);
        // As much metal as the pin is thick (common practice).
        if to_end < 1.5 * d - 1e-6 {
            let end = if to_end < d / 2.0 + 1e-6 {
                String::from("breaks out of its end")
            } else {
                format!("leaves {} to its end", l(to_end - d / 2.0))
            };
            findings.push(Finding::new(
                Grade::Cannot,
                &own.name,
                format!(
                    "the pin of {} goes through {} {} from the left end of {}: it {end}",
                    l(d),
                    words::spoken(&arm.name),
                    l(at),
                    l(t.length())
                ),
                format!(
                    "a shaft that goes on for {} beyond the middle of the pin, or the arm further in",
                    l(1.5 * d)
                ),
            ));
        }
        for c in &t.cross {
            let across = (crate::part::diameter(&c.fitted) - d).abs() < 1e-6;
            if across && (c.at - at).abs() > 0.1 && (c.at - at).abs() < 2.0 * d {
                findings.push(Finding::new(
                    Grade::Cannot,
                    &own.name,
                    format!(
                        "hole {} stands {} from the left end, and the pin of {} goes through {} from there",
                        words::spoken(&c.name),
                        l(c.at),
                        words::spoken(&arm.name),
                        l(at)
                    ),
                    "leave it out: hub and shaft are drilled together when the angle is right",
                ));
            }
        }
    }
}
