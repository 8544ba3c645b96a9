//! The order in which a machine goes together, where adjustments start, how tight screws are drawn. In words and numbers; the frame first,
//! then outward from what stands already.

use crate::bearings;
use crate::cams::CamCut;
use crate::part::{Form, Part};
use crate::rods;
use crate::words;
use elements::threads::preload;
use machine::Machine;
use machine::fitting::{Fitted, HeldBy};
use machine::making::{Of, Shape};
use machine::model::{Adjusts, FRAME, PartId, PartKind};
use machine::work::JointAt;

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
    let mut all = Vec::new();
    let pressed: Vec<String> = parts
        .iter()
        .filter(|p| match &p.form {
            Form::Plate(p) => p.holes.iter().any(|h| {
                matches!(
                    h.fitted,
                    Fitted::Bearing { .. }
                        | Fitted::Bushing {
                            outside: Some(_),
                            ..
                        }
                )
            }),
            Form::Turned(_) => false,
        })
        .map(|p| words::spoken(&p.name))
        .collect();
    if !pressed.is_empty() {
        all.push(stage(
            format!(
                "Bushings and bearings into {}: forces and heat below",
                pressed.join(", ")
            ),
            "each pin goes through its bushing by hand: what closed is reamed or honed now",
        ));
    }
    let plates: Vec<String> = machine
        .work
        .making
        .pieces
        .iter()
        .filter(|p| matches!(p.of, Of::Frame(_)))
        .map(|p| {
            let many = if p.count > 1 {
                format!(" ({} off)", p.count)
            } else {
                String::new()
            };
            format!("{}{many}", words::spoken(&p.name))
        })
        .collect();
    let early = bearings::early(machine, parts);
    let mut loose = pieces(machine, parts);
    let mut placed = vec![FRAME];
    for shaft in &early {
        placed.push(shaft.part);
        for &arm in &shaft.arms {
            placed.push(arm);
            let own = machine.parts.get(arm).map_or("", |p| p.name.as_str());
            all.extend(fixed(&mut loose, &[own], machine, parts));
            all.extend(on_shaft(machine, parts, arm, "Put"));
        }
    }
    all.push(if plates.is_empty() {
        stage(
            "Set the frame down square and level",
            "nothing rocks; it is screwed to the bench",
        )
    } else {
        stage(
            format!(
                "Build up the frame: {}{}, screws finger-tight",
                plates.join(", "),
                early
                    .iter()
                    .map(|s| s.words(machine))
                    .collect::<String>()
            ),
            "shafts and pins that go through two plates turn freely; square and level; then draw the screws and try again",
        )
    });
    all.extend(fixed(&mut loose, &[], machine, parts));
    let mut rods_done = vec![false; machine.rods.len()];
    while let Some(next) = next_part(machine, &placed) {
        placed.push(next);
        let own = machine.parts.get(next).map_or("", |p| p.name.as_str());
        all.extend(fixed(&mut loose, &[own], machine, parts));
        all.push(part_stage(machine, parts, next, &placed, &mut loose));
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
                let pins: Vec<String> = rod
                    .joins
                    .iter()
                    .filter_map(|&p| pin_of(machine, p, &mut loose))
                    .collect();
                let with = match pins.as_slice() {
                    [] => String::new(),
                    [a, b] if a == b => format!(" with two of the {a}"),
                    many => format!(" with the {}", many.join(" and the ")),
                };
                // A flat rod has eyes and nothing to set.
                let ends = machine.work.rods.get(i).is_some_and(|r| r.ends.is_some());
                let set = if ends || rod.both_ends || rod.lead().is_some() {
                    format!(
                        "Set the {}{long} between the centres of its ends, and fit it{with}; lock nuts finger-tight",
                        words::spoken(&rod.name)
                    )
                } else {
                    format!("Fit the {}{with}", words::spoken(&rod.name))
                };
                all.push(stage(
                    set,
                    "both ends tilt freely; what it joins moves without force",
                ));
            }
        }
    }
    // A piece that went into some of its joints is told of already.
    loose.retain(|l| l.left > 0 && l.left == l.part.count);
    if !loose.is_empty() {
        let rest: Vec<String> = loose.iter().map(|l| many(l.part)).collect();
        all.push(stage(
            format!("Fit what is left: {}", rest.join(", ")),
            "its screws or pins hold it, and nothing it stands beside rubs",
        ));
    }
    all.extend(timing(parts));
    all.push(stage(
        "Turn it through by hand over its whole reach, without springs and work",
        "no tight place, nothing touches that should not",
    ));
    let mut sprung: Vec<String> = machine
        .work
        .springs
        .iter()
        .map(|s| format!("spring {}", words::spoken(&s.name)))
        .collect();
    sprung.extend(
        machine
            .work
            .detents
            .iter()
            .map(|d| format!("detent {}", words::spoken(&d.name))),
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
    all
}

/// A part's name, and how many there are when there are several.
fn many(p: &Part) -> String {
    let count = if p.count > 1 {
        format!(" ({} off)", p.count)
    } else {
        String::new()
    };
    format!("{}{count}", words::spoken(&p.name))
}

/// A piece that is no part of the motion, and how many of it are not put in yet.
struct Loose<'a> {
    part: &'a Part,
    left: usize,
}

/// Pieces that are no part of the motion: pins, studs, faces that are screwed on.
fn pieces<'a>(machine: &Machine, parts: &'a [Part]) -> Vec<Loose<'a>> {
    let loose = |p: &&Part| {
        let mut pieces = machine.work.making.pieces.iter();
        pieces.any(|m| m.name == p.name && m.of == Of::Loose)
    };
    let own = parts.iter().filter(loose);
    own.map(|part| Loose {
        part,
        left: part.count,
    })
    .collect()
}

/// Pins and studs that sit fast in one of these parts, or in the frame's plates when none is named: each is told once.
fn fixed(loose: &mut Vec<Loose>, into: &[&str], machine: &Machine, parts: &[Part]) -> Vec<Stage> {
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
            let Some(at) = loose.iter().position(|l| l.part.name == hole.name) else {
                continue;
            };
            let (own, host) = (words::spoken(&hole.name), words::spoken(&host.name));
            match &hole.fitted {
                Fitted::Tapped { thread, .. } => {
                    loose.remove(at);
                    all.push(stage(
                        format!(
                            "Screw the {own} into the {host} ({}), home against its shoulder",
                            thread.name
                        ),
                        "it stands square: try it with a square from two sides",
                    ));
                }
                Fitted::Plain { size, .. } if size.limits.upper <= 0.0 => {
                    loose.remove(at);
                    all.push(stage(
                        format!(
                            "Press the {own} into the {host} (⌀{})",
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

/// Cams are timed when all that they move stands.
fn timing(parts: &[Part]) -> Vec<Stage> {
    let degrees = |a: f64| words::number(a.to_degrees().rem_euclid(360.0), 2);
    let plates = parts.iter().filter_map(|p| match &p.form {
        Form::Plate(plate) => Some(&plate.cams),
        Form::Turned(_) => None,
    });
    let one = |cam: &CamCut| {
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
        let own = words::spoken(&cam.name);
        stage(
            format!(
                "Time the cam {own}: all drives as drawn, its line 0 to {}° in the view of the machine (0° to the right, counter-clockwise); then hold it there",
                degrees(cam.drawn)
            ),
            format!("{begins}a whole turn by hand, the roller always on its flank"),
        )
    };
    plates.flatten().map(one).collect()
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
    ids()
        .filter(|&id| clamped(id))
        .min_by(|&a, &b| from_bearings(machine, a).total_cmp(&from_bearings(machine, b)))
        .or_else(|| ids().find(|&id| kind(id) == Some(PartKind::Shaft) && shares(id)))
        .or_else(|| ids().find(|&id| on_slide(id)))
        .or_else(|| ids().find(|&id| shares(id)))
        // What nothing joins to the rest by a point goes in as the file has it.
        .or_else(|| ids().next())
}

/// How far an arm sits from its shaft's bearings: outward from them arms go on one after the other, none over the seat of another.
fn from_bearings(machine: &Machine, arm: PartId) -> f64 {
    let shaft = crate::joined::root(machine, arm);
    let bearings = shaft.and_then(|s| machine.work.parts.get(s)?.bearings);
    match (bearings, crate::seats::station(machine, arm)) {
        (Some(at), Some(station)) => at
            .iter()
            .map(|b| (b - station).abs())
            .fold(f64::INFINITY, f64::min),
        _ => 0.0,
    }
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

/// A loose piece that is turned to go through the joint at a point, or a spare one of the same size; each is told as often as it is there.
fn pin_of(machine: &Machine, point: usize, loose: &mut [Loose]) -> Option<String> {
    let made_for = |name: &str| -> Option<usize> {
        let mut pieces = machine.work.making.pieces.iter();
        match &pieces.find(|p| p.name == name)?.shape {
            Shape::Turned(t) => t.steps.iter().find_map(|s| s.joint),
            Shape::Plate(_) => None,
        }
    };
    let own = loose
        .iter()
        .position(|l| l.left > 0 && made_for(&l.part.name) == Some(point));
    let size = crate::resolve::joint_size(machine, point);
    let spare = || {
        loose.iter().position(|l| {
            l.left > 0
                && l.part.count > 1
                && size.is_some()
                && made_for(&l.part.name)
                    .is_some_and(|p| crate::resolve::joint_size(machine, p) == size)
        })
    };
    let at = own.or_else(spare)?;
    loose[at].left -= 1;
    Some(words::spoken(&loose[at].part.name))
}

fn part_stage(
    machine: &Machine,
    parts: &[Part],
    id: PartId,
    placed: &[PartId],
    loose: &mut [Loose],
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
            let on = pin_of(machine, p, loose)
                .filter(|piece| *piece != point(p))
                .map_or_else(String::new, |piece| format!(", with the {piece}"));
            format!("to the {} at {}{pin}{on}", name(other), point(p))
        })
        .collect();
    // A guide is mostly called after what it guides: then its name says enough.
    let guide = slide.map(|s| {
        let guide = words::spoken(&s.name);
        if guide.starts_with(&own) {
            format!("into the {guide}")
        } else {
            format!("into its guide, {guide}")
        }
    });
    let slots = machine.slots.iter().filter(|s| s.within == id).map(|s| {
        let slot = words::spoken(&s.name);
        format!("its slot {slot} over the pin at {}", point(s.pin))
    });
    let met: Vec<String> = guide.into_iter().chain(joints).chain(slots).collect();
    let check = if part.kind == PartKind::Shaft {
        "turns freely, end play as shimmed, nothing binds over a whole turn"
    } else if slide.is_some() {
        "slides from end to end by hand alone, no shake across"
    } else {
        "turns freely by hand over its whole reach, no shake"
    };
    let mut what = if met.is_empty() {
        format!("Put the {own} in its place")
    } else {
        format!("Fit the {own} {}", met.join("; "))
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
    stage(what, check)
}

/// Where the pin of an arm goes through its hub.
fn pinned(machine: &Machine, parts: &[Part], arm: PartId) -> String {
    let name = machine.parts.get(arm).map_or("", |p| p.name.as_str());
    let own = parts.iter().find(|p| p.name == name);
    let hub = own.and_then(|p| p.joined.iter().find(|j| !j.in_shaft));
    let Some(hub) = hub else { return String::new() };
    let from = words::length(hub.screw_from_face(), machine.unit);
    if hub.under > 0.0 {
        format!(
            ", square to the arm, {from} from the face of its ring: in the middle of the ring, clear of the seam"
        )
    } else {
        format!(", square to the arm, {from} from the hub's face")
    }
}

/// An arm goes onto its shaft; `Move` where it is on it already.
fn on_shaft(machine: &Machine, parts: &[Part], id: PartId, how: &str) -> Option<Stage> {
    let name = |id: PartId| {
        let part = machine.parts.get(id);
        part.map_or_else(String::new, |p| words::spoken(&p.name))
    };
    let shaft = machine.parts.get(id)?.clamped_to?;
    let made = machine.work.parts.get(id);
    let (held, check) = match made.and_then(|m| m.held_by.as_ref()).map(|h| &h.by) {
        Some(HeldBy::Pin { diameter }) => (
            format!(
                "; when its angle is right, drill ⌀{} and ream hub and shaft together for the pin of {}{}",
                words::length(diameter - 0.2, machine.unit),
                words::length(*diameter, machine.unit),
                pinned(machine, parts, id)
            ),
            "the pin is driven in after the readings are right, not before",
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
        Some(HeldBy::Weld { .. } | HeldBy::Braze) => (
            String::from(", tacked only until the readings are right"),
            "its angle, over pins, before and after",
        ),
        None => (String::new(), "its angle, over pins"),
    };
    let at = crate::seats::seat(machine, id).map_or_else(String::new, |s| {
        format!(
            ", its middle {} from the left end",
            words::length(s.middle, machine.unit)
        )
    });
    let what = if how == "Move" {
        format!("Move the {} to its place on the {}", name(id), name(shaft))
    } else {
        format!("{how} the {} onto the {}", name(id), name(shaft))
    };
    Some(stage(format!("{what}{at}{held}"), check))
}

/// Where an adjustment starts.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// Name of the setting, or of the rod.
    pub name: String,
    /// From closed, or the hole, the angle, the shim.
    pub from: String,
    /// How far it may go.
    pub limits: String,
    /// How it is measured at the start.
    pub measured: String,
}

/// The start of every adjustment; rods that no setting names are told too.
pub fn starts(machine: &Machine) -> Vec<Start> {
    let mut all = Vec::new();
    let set: Vec<usize> = machine
        .settings
        .iter()
        .filter_map(|s| match s.adjusts {
            Adjusts::Rod(r) => Some(r),
            _ => None,
        })
        .collect();
    for setting in &machine.settings {
        let name = words::spoken(&setting.name);
        let l = |x: f64| words::length(x, machine.unit);
        match setting.adjusts {
            Adjusts::Rod(rod) => all.extend(rod_start(machine, rod, name)),
            Adjusts::Row(row) => {
                let row = machine.rows.get(row).map_or("", |r| r.name.as_str());
                all.push(Start {
                    name,
                    from: format!(
                        "hole {} of {}",
                        words::number(setting.drawn, 0),
                        words::spoken(row)
                    ),
                    limits: String::new(),
                    measured: "count from the first hole".to_owned(),
                });
            }
            Adjusts::Clock(part) => {
                let part = machine.parts.get(part).map_or("", |p| p.name.as_str());
                all.push(Start {
                    name,
                    from: format!("{} as drawn: 0", words::spoken(part)),
                    limits: String::new(),
                    measured: "template of the machine over both pins, or the readings below"
                        .to_owned(),
                });
            }
            Adjusts::Shim { .. } => all.push(Start {
                name,
                from: if setting.drawn == 0.0 {
                    "no shim".to_owned()
                } else {
                    format!("shim {}", l(setting.drawn))
                },
                limits: setting
                    .range
                    .map_or_else(String::new, |[a, b]| format!("{} to {}", l(a), l(b))),
                measured: "micrometer on the shims, stacked".to_owned(),
            }),
            Adjusts::Stop(stop) => {
                let reading = machine
                    .stops
                    .get(stop)
                    .and_then(|s| machine.readings.get(s.reading));
                let unit = reading.map_or(machine.unit, |r| r.unit);
                all.push(Start {
                    name,
                    from: format!(
                        "{} {} {}",
                        reading.map_or_else(String::new, |r| words::spoken(&r.name)),
                        words::number(unit.from_inside(setting.drawn), 3),
                        unit.symbol()
                    ),
                    limits: String::new(),
                    measured: "drive against the stop".to_owned(),
                });
            }
        }
    }
    for (i, rod) in machine.rods.iter().enumerate() {
        if !set.contains(&i) {
            all.extend(rod_start(machine, i, words::spoken(&rod.name)));
        }
    }
    all
}

fn rod_start(machine: &Machine, rod: usize, name: String) -> Option<Start> {
    let made = machine.work.rods.get(rod)?;
    let of = machine.rods.get(rod)?;
    let own = machine
        .work
        .making
        .pieces
        .iter()
        .any(|p| p.of == Of::Rod(rod));
    // Rod ends that meet in the middle are not set: that is a finding.
    if made.ends.is_some() && made.stock.is_some() && !own && rods::bar(machine, of, made).is_err()
    {
        return None;
    }
    let centres = rods::centres(machine, of)?;
    let l = |x: f64| words::length(x, machine.unit);
    let turns = rods::turns(of, made);
    let (from, limits) = match turns {
        Some([a, b]) => {
            let t = |x: f64| words::number(x, 2);
            let lead = of.lead();
            (
                format!("ends {} and {} turns out from closed", t(a.out), t(b.out)),
                format!(
                    "no end further out than {} and {} turns{}",
                    t(a.most),
                    t(b.most),
                    lead.map_or_else(String::new, |x| format!(
                        "; a turn of the rod {}",
                        if of.both_ends || of.other.is_some() {
                            l(x)
                        } else {
                            format!("end {}", l(x))
                        }
                    ))
                ),
            )
        }
        None => (format!("as long as drawn: {}", l(centres)), String::new()),
    };
    Some(Start {
        name,
        from,
        limits,
        measured: format!("{} over pins in both ends", l(centres)),
    })
}

/// How tight a screw is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Torque {
    /// The screw, as it is bought.
    pub screw: String,
    /// Clamping force, N.
    pub preload: f64,
    /// Torque dry and oiled, N·mm.
    pub torque: [f64; 2],
}

/// Share of the proof load that a screw is drawn to (Shigley, reusable joints).
const SHARE: f64 = 0.75;
/// Torque coefficient dry and oiled (Shigley table 8-15, from memory).
const K: [f64; 2] = [0.20, 0.15];

/// Torques of the bought screws whose thread and property class are written out.
pub fn torques(machine: &Machine) -> Vec<Torque> {
    let mut all: Vec<Torque> = Vec::new();
    for p in &machine.work.making.purchases {
        let Some(found) = torque(&p.what) else {
            continue;
        };
        if !all.iter().any(|t| t.screw == found.screw) {
            all.push(found);
        }
    }
    all
}

fn torque(what: &str) -> Option<Torque> {
    let words: Vec<&str> = what.split([' ', ',']).filter(|w| !w.is_empty()).collect();
    let thread = words
        .iter()
        .find_map(|w| quantity::thread::parse(w).ok().filter(|t| !t.inch))?;
    let class = words
        .iter()
        .find_map(|w| preload::find(w, thread.major).ok())?;
    // Stress area of ISO 898-1: a circle of the mean of pitch and root diameter.
    let d2 = thread.major - 0.649_52 * thread.pitch;
    let d3 = thread.major - 1.226_87 * thread.pitch;
    let area = std::f64::consts::PI / 4.0 * f64::midpoint(d2, d3).powi(2);
    // Countersunk socket screws carry four fifths of what their class says (ISO 10642).
    let head = if what.contains("countersunk") {
        0.8
    } else {
        1.0
    };
    let force = head * preload::preload(area, class.proof, SHARE).ok()?;
    let [dry, oiled] = K.map(|k| preload::torque(k, force, thread.major).ok());
    Some(Torque {
        screw: what.to_owned(),
        preload: force,
        torque: [dry?, oiled?],
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::*;

    #[test]
    fn an_m8_screw_is_drawn_to_what_the_handbook_says() {
        // Stress area 36.6 mm² and proof 580 MPa (ISO 898-1): 0.75 of 21.2 kN is 15.9 kN; K F d = 0.2 x 15.9 x 8 = 25.5 N·m.
        let t = torque("socket head screw M8 x 25, 8.8").unwrap();
        assert!((t.preload - 0.75 * 36.6 * 580.0).abs() < 20.0, "{t:?}");
        assert!((t.torque[0] / 1000.0 - 25.5).abs() < 0.1, "{t:?}");
        assert!(torque("turning handle, M8 thread").is_none());
        // ISO 10642: a countersunk head carries 80 % of its class.
        let [plain, sunk] = ["socket head", "countersunk socket"].map(|head| {
            torque(&format!("{head} screw M8 x 25, 10.9"))
                .unwrap()
                .preload
        });
        assert!((sunk / plain - 0.8).abs() < 1e-9);
    }
}
