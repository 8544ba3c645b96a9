//! The order in which a machine goes together, where adjustments start, how tight screws are drawn. In words and numbers; the frame first,
//! then outward from what stands already.

mod comes;
mod frame;
mod opened;
mod seated;
mod setup;
mod stands;

pub(crate) use comes::tight_findings;
pub(crate) use frame::findings as frame_findings;
pub(crate) use opened::findings as closed_findings;
pub(crate) use seated::findings as pin_findings;
pub use setup::{Start, Torque, starts, torques};
pub use stands::{Stand, planes, stands};

use crate::bearings;
use crate::part::{Form, Opening as _, Part};
use crate::rods;
use crate::words;
use comes::Loose;
use machine::Machine;
use machine::fitting::Fitted;
use machine::making::Of;
use machine::model::{FRAME, PartId, PartKind, PointId};
use machine::work::{JointAt, SpringKind};
use seated::on_shaft;

/// A step of assembly.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stage {
    /// What to do.
    pub what: String,
    /// What has to be true before the next.
    pub check: String,
}

fn stage(what: impl Into<String>, check: impl Into<String>) -> Stage {
    Stage {
        what: what.into(),
        check: check.into(),
    }
}

/// The stages in order.
pub fn stages(machine: &Machine, parts: &[Part]) -> Vec<Stage> {
    let mut all = opened::stages(machine, parts);
    let early = bearings::early(machine, parts);
    let mut loose = Loose::of(machine, parts);
    let mut placed = vec![FRAME];
    all.extend(comes::tried(machine, parts));
    for shaft in &early {
        placed.push(shaft.part);
        for &arm in &shaft.arms {
            if placed.contains(&arm) {
                continue;
            }
            placed.push(arm);
            let own = machine.parts.get(arm).map_or("", |p| p.name.as_str());
            all.extend(fixed(&mut loose, &[own], machine, parts));
            // A key does not come in through the first plate: what is keyed goes on between the plates.
            if !matches!(shaft.why, bearings::Why::Keyed(_)) {
                all.extend(on_shaft(machine, parts, arm, "Put"));
            }
        }
    }
    all.push(frame::built(machine, parts, &early, &mut loose));
    all.extend(fixed(&mut loose, &[], machine, parts));
    for shaft in &early {
        // What goes on outside the plates goes on now.
        let own = machine
            .parts
            .get(shaft.part)
            .map_or("", |p| p.name.as_str());
        all.extend(comes::added(machine, parts, own));
        all.extend(comes::bought(machine, shaft.part, &mut loose));
        for &arm in &shaft.arms {
            all.extend(comes::bought(machine, arm, &mut loose));
        }
    }
    all.extend(comes::bought(machine, FRAME, &mut loose));
    let mut rods_done = vec![false; machine.rods.len()];
    while let Some(next) = next_part(machine, &placed) {
        placed.push(next);
        let own = machine.parts.get(next).map_or("", |p| p.name.as_str());
        all.extend(comes::pressed(machine, parts, next, &mut loose));
        all.extend(comes::glued(machine, parts, next, &mut loose));
        all.extend(fixed(&mut loose, &[own], machine, parts));
        all.extend(comes::guides(machine, parts, next, &mut loose));
        all.push(part_stage(machine, parts, next, &placed, &mut loose));
        all.extend(comes::added(machine, parts, own));
        all.extend(comes::bought(machine, next, &mut loose));
        for (i, rod) in machine.rods.iter().enumerate() {
            let held = |point| {
                placed.iter().any(|&p| {
                    machine
                        .parts
                        .get(p)
                        .is_some_and(|p| p.carries.contains(&point))
                })
            };
            if !rods_done[i] && rod.joins.iter().all(|&p| held(p)) {
                rods_done[i] = true;
                let long = rods::centres(machine, rod).map_or_else(String::new, |c| {
                    format!(" to {}", words::length(c, machine.unit))
                });
                // What it is fitted with comes with it.
                let on: Vec<String> = rod
                    .joins
                    .iter()
                    .filter_map(|&p| {
                        let pin = loose.pin(p)?;
                        let at = machine.points.get(p).map_or("", |p| p.name.as_str());
                        let ends = comes::closes(machine, parts, p);
                        Some(if pin == words::spoken(at) {
                            format!("on the {pin}{ends}")
                        } else {
                            format!("on the {pin} at {}{ends}", words::spoken(at))
                        })
                    })
                    .collect();
                let on = if on.is_empty() {
                    String::new()
                } else {
                    format!(" {}", on.join(" and "))
                };
                let ends = machine.work.rods.get(i).is_some_and(|m| m.ends.is_some());
                // Its eyes are on it when it is set.
                all.extend(comes::bought_for_rod(machine, i, &mut loose));
                all.push(stage(
                    format!(
                        "Set the {}{long} between the centres of its ends, and fit it{on}{}",
                        words::of_kind("rod", &rod.name),
                        if ends { "; lock nuts finger-tight" } else { "" }
                    ),
                    "both ends turn freely; what it joins moves without force",
                ));
            }
        }
    }
    let rest = loose.rest(machine);
    if !rest.is_empty() {
        all.push(stage(
            format!("Fit what is left: {}", rest.join(", ")),
            "its screws or pins hold it, and nothing it stands beside rubs",
        ));
    }
    all.extend(comes::meshes(machine));
    all.extend(seated::timing(machine, parts));
    all.push(stage(
        "Turn it through by hand over its whole reach, without springs and work",
        "no tight place, nothing touches that should not",
    ));
    let mut sprung: Vec<String> = machine
        .work
        .springs
        .iter()
        .map(|s| {
            let own = words::of_kind("spring", &s.name);
            match s.kind {
                SpringKind::Torsion { slack, .. } if slack != 0.0 => format!(
                    "{own}, wound {}° from where it is slack to the drawn position (hold its free end with pliers until it is hooked in; gloves, eyes away)",
                    words::number(slack.to_degrees().abs(), 1)
                ),
                _ => own,
            }
        })
        .collect();
    sprung.extend(
        machine
            .work
            .detents
            .iter()
            .map(|d| words::of_kind("detent", &d.name)),
    );
    if !sprung.is_empty() {
        all.push(stage(
            format!("Last: {}", sprung.join(", ")),
            "the drive still comes to both ends of its range",
        ));
    }
    all.push(stage(
        "Set every adjustment to its start, take the readings, correct, draw the lock nuts, take the readings again",
        "the readings below",
    ));
    all.extend(seated::pins(machine, parts));
    if !machine.work.motors.is_empty() {
        all.push(stage(
            "Before the first start under power: guards over gears, belts and whatever closes; a switch in reach that does not start by itself",
            "isolated and locked off while a hand is inside; mains wiring by who is licensed for it, guarding by the local rules",
        ));
    }
    all
}

/// Pins and studs that sit fast in one of these parts, or in the frame's plates when none is named: each is told once.
fn fixed(loose: &mut Loose, into: &[&str], machine: &Machine, parts: &[Part]) -> Vec<Stage> {
    let frame = |name: &str| {
        let mut plates = machine.work.making.pieces.iter();
        plates.any(|p| p.name == name && matches!(p.of, Of::Frame(_)))
    };
    let takes = |p: &&Part| {
        if into.is_empty() {
            frame(&p.name)
        } else {
            into.contains(&p.name.as_str())
        }
    };
    let mut all = Vec::new();
    for host in parts.iter().filter(takes) {
        let Form::Plate(plate) = &host.form else {
            continue;
        };
        for hole in &plate.holes {
            let own_name = loose.named(&hole.name);
            let Some(own) = loose.at(&hole.name) else {
                continue;
            };
            let host = which(machine, &host.name, &hole.name);
            match &hole.fitted {
                Fitted::Tapped { thread, .. } => {
                    loose.take(&hole.name);
                    all.push(stage(
                        format!(
                            "Screw the {own} into the {host} ({}), home against its shoulder",
                            thread.name
                        ),
                        "it stands square: try it with a square from two sides",
                    ));
                }
                Fitted::Plain { size, .. } if size.limits.upper <= 0.0 => {
                    loose.take(&hole.name);
                    let out = stands_out(machine, parts, own_name.as_deref(), hole);
                    all.push(stage(
                        format!(
                            "Press the {own} into the {host} (⌀{}){out}",
                            words::sized(size.nominal, Some(size), machine.unit)
                        ),
                        "it stands square: try it with a square from two sides",
                    ));
                }
                _ => {}
            }
        }
    }
    all
}

/// A plate in words; of two alike the one that is nearer to where what it carries stands.
fn which(machine: &Machine, plate: &str, hole: &str) -> String {
    let own = words::spoken(plate);
    let mut pieces = machine.work.making.pieces.iter();
    let stations = pieces.find(|p| p.name == plate).map(|p| &p.stations);
    let point = machine.points.iter().find(|p| p.name == hole);
    let (Some([a, b]), Some(point)) = (stations.map(Vec::as_slice), point) else {
        return own;
    };
    let (low, high) = (a.min(*b), a.max(*b));
    // In the middle it may be either.
    if (point.station - f64::midpoint(low, high)).abs() < 1e-6 {
        return own;
    }
    if point.station > f64::midpoint(low, high) {
        format!("{own} on the right")
    } else {
        format!("{own} on the left")
    }
}

/// How far a pressed pin stands out of its plate, and towards what.
fn stands_out(
    machine: &Machine,
    parts: &[Part],
    pin: Option<&str>,
    hole: &crate::part::Hole,
) -> String {
    let made = pin.and_then(|pin| parts.iter().find(|p| p.name == pin));
    let Some(Form::Turned(t)) = made.map(|p| &p.form) else {
        return String::new();
    };
    let plain = t
        .steps
        .iter()
        .all(|s| (s.diameter - hole.diameter()).abs() < 1e-6 && s.thread.is_none());
    let out = t.length() - hole.through;
    if !plain || out < 1e-6 {
        return String::new();
    }
    let point = machine.points.iter().position(|p| p.name == hole.name);
    let stations = |id: PartId| crate::seats::station(machine, id);
    let carries = |p: PointId, id: PartId| {
        machine
            .parts
            .get(id)
            .is_some_and(|q| q.carries.contains(&p))
    };
    // What hangs on it lies in another layer than what it is pressed in.
    let towards = point.and_then(|p| {
        let own: Vec<PartId> = (1..machine.parts.len())
            .filter(|&id| carries(p, id))
            .collect();
        let name = |id: PartId| machine.parts.get(id).map_or("", |q| q.name.as_str());
        let host = own.iter().copied().find(|&id| {
            parts.iter().any(|q| {
                q.name == name(id)
                    && matches!(&q.form, Form::Plate(f) if f.holes.iter().any(|h| h == hole))
            })
        })?;
        let other = own.iter().copied().find(|&id| id != host)?;
        (stations(host) != stations(other)).then(|| words::spoken(name(other)))
    });
    let towards = towards.map_or_else(String::new, |other| format!(" towards the {other}"));
    format!(
        ", flush with its far face: {} stand out{towards}",
        words::length(out, machine.unit)
    )
}

/// The next part that meets what stands: shafts and slides first, then what hangs on them, in file order.
fn next_part(machine: &Machine, placed: &[PartId]) -> Option<PartId> {
    let waiting = |id: &PartId| !placed.contains(id);
    let on_slide = |id: PartId| {
        machine
            .slides
            .iter()
            .any(|s| s.part == id && placed.contains(&s.on))
    };
    let shares = |id: PartId| shared(machine, id, placed).next().is_some();
    let clamped = |id: PartId| {
        machine
            .parts
            .get(id)
            .and_then(|p| p.clamped_to)
            .is_some_and(|s| placed.contains(&s))
    };
    let kind = |id: PartId| machine.parts.get(id).map(|p| p.kind);
    let ids = || (1..machine.parts.len()).filter(waiting);
    // What was slipped on between the plates is moved to its place first.
    let inside = |id: PartId| {
        let shaft = crate::joined::root(machine, id);
        shaft.is_some_and(|s| bearings::between(machine, s).contains(&id))
    };
    let found = ids()
        .find(|&id| clamped(id) && inside(id))
        .or_else(|| ids().find(|&id| clamped(id)))
        .or_else(|| ids().find(|&id| kind(id) == Some(PartKind::Shaft) && shares(id)))
        .or_else(|| ids().find(|&id| on_slide(id)))
        .or_else(|| ids().find(|&id| shares(id)))
        // What nothing joins to the rest by a point goes in as the file has it.
        .or_else(|| ids().next())?;
    // A roller goes into a track that stands already.
    let found = machine
        .cams
        .iter()
        .find(|c| c.of == found && c.track && waiting(&c.part))
        .map_or(found, |c| c.part);
    Some(before(machine, found, placed).unwrap_or(found))
}

/// What sits on the same shaft nearer to where it goes in, and is not on it yet: what is further out does not come off again to let it pass.
fn before(machine: &Machine, id: PartId, placed: &[PartId]) -> Option<PartId> {
    let shaft = comes::on(machine, id)?;
    let far = |id: PartId| {
        let from = bearings::faces(machine, shaft)?;
        let at = crate::seats::station(machine, id)?;
        // Beyond the last plate to the right it counts upward, to the left downward.
        if at > from[1] {
            Some((true, at - from[1]))
        } else {
            (at < from[0]).then_some((false, from[0] - at))
        }
    };
    let own = far(id)?;
    (1..machine.parts.len())
        .filter(|other| *other != id && !placed.contains(other))
        .filter(|&other| comes::on(machine, other) == Some(shaft))
        .filter_map(|other| Some((far(other)?, other)))
        .filter(|((side, at), _)| *side == own.0 && *at < own.1 - 1e-6)
        .min_by(|a, b| a.0.1.total_cmp(&b.0.1))
        .map(|found| found.1)
}

/// Points that a part shares with what stands already.
fn shared<'a>(
    machine: &'a Machine,
    id: PartId,
    placed: &'a [PartId],
) -> impl Iterator<Item = (usize, PartId)> + 'a {
    let carries = machine.parts.get(id).map_or(&[][..], |p| &p.carries);
    carries.iter().filter_map(move |&point| {
        let other = placed.iter().find(|&&p| {
            p != id
                && machine
                    .parts
                    .get(p)
                    .is_some_and(|p| p.carries.contains(&point))
        })?;
        Some((point, *other))
    })
}

fn part_stage(
    machine: &Machine,
    parts: &[Part],
    id: PartId,
    placed: &[PartId],
    loose: &mut Loose,
) -> Stage {
    let name = |id: PartId| {
        machine
            .parts
            .get(id)
            .map_or_else(String::new, |p| words::spoken(&p.name))
    };
    let point = |p: usize| {
        machine
            .points
            .get(p)
            .map_or_else(String::new, |p| words::spoken(&p.name))
    };
    let Some(part) = machine.parts.get(id) else {
        return stage("", "");
    };
    let own = name(id);
    if let Some(shaft) = part.clamped_to {
        // Between two plates it is on the shaft already: it went on as that came through.
        let held = bearings::between(machine, shaft).contains(&id);
        let how = if held { "Move" } else { "Put" };
        if let Some(stage) = on_shaft(machine, parts, id, how) {
            return stage;
        }
    }
    let slide = machine.slides.iter().find(|s| s.part == id);
    // A closed track lets no roller in from the side.
    let track = machine
        .cams
        .iter()
        .find(|c| c.of == id && c.track && placed.contains(&c.part))
        .map(|c| name(c.part));
    let joints: Vec<String> = shared(machine, id, placed)
        .map(|(p, other)| {
            let pin = machine
                .work
                .joints
                .iter()
                .find(|j| j.at == JointAt::Point(p))
                .and_then(|j| j.pin.as_ref())
                .map_or_else(String::new, |s| {
                    let size = words::length(s.nominal, machine.unit);
                    format!(" (⌀{size} {})", s.class)
                });
            let on = loose
                .pin(p)
                .filter(|piece| *piece != point(p))
                .map_or_else(String::new, |piece| format!(", with the {piece}"));
            let on = format!("{on}{}", comes::closes(machine, parts, p));
            format!("to the {} at {}{pin}{on}", name(other), point(p))
        })
        .collect();
    // A guide is mostly called after what it guides: then its name says enough.
    let guide = slide.map(|s| {
        let guide = words::spoken(&s.name);
        if let Some(track) = &track {
            format!(
                "in front of the {track}: its roller goes straight into the track, along its own axis, so the guide is off or open; then {guide} is closed round it"
            )
        } else if guide == own {
            String::from("into its guide")
        } else if guide.starts_with(&own) {
            format!("into the {guide}")
        } else {
            format!("into its guide, {guide}")
        }
    });
    let slots = machine.slots.iter().filter(|s| s.within == id).map(|s| {
        let slot = words::spoken(&s.name);
        let cut = parts.iter().any(|p| match &p.form {
            Form::Plate(plate) => plate.slots.iter().any(|q| q.name == s.name),
            Form::Turned(_) => false,
        });
        // A slot of the motion that is not cut is a flat that lies on its pin.
        if cut {
            format!("its slot {slot} over the pin at {}", point(s.pin))
        } else {
            format!("laid on {}", point(s.pin))
        }
    });
    let met: Vec<String> = guide.into_iter().chain(joints).chain(slots).collect();
    let check = if part.kind == PartKind::Shaft {
        "turns freely, end play to be felt and no more, nothing binds over a whole turn"
    } else if track.is_some() {
        "goes to and fro as the track is turned by hand, over a whole turn, no shake across"
    } else if slide.is_some() {
        "slides from end to end by hand alone, no shake across"
    } else {
        "turns freely by hand over its whole reach, no shake"
    };
    let mut what = if met.is_empty() {
        format!("Put the {own} in its place")
    } else {
        let kind = if part.kind == PartKind::Shaft {
            words::of_kind("shaft", &own)
        } else {
            own
        };
        format!("Fit the {kind} {}", met.join("; "))
    };
    let held: Vec<String> = bearings::between(machine, id)
        .into_iter()
        .filter(|arm| !placed.contains(arm))
        .map(name)
        .collect();
    if part.kind == PartKind::Shaft && !held.is_empty() {
        what += &format!(
            "; {} between the plates, each slipped on as the shaft comes through",
            held.join(", ")
        );
    }
    let gears = comes::between(machine, id, loose);
    if !gears.is_empty() {
        what += &format!(
            "; between the plates, slipped on as the shaft comes through: {}",
            gears.join(", ")
        );
    }
    stage(what, check)
}
