//! What comes with a part when it is fitted: the loose pieces that it is fitted with, what is bought for it, what these papers add to it.

use super::{Stage, stage};
use crate::bearings;
use crate::finding::{Finding, Grade};
use crate::part::{Form, Part};
use crate::pins::{self, By};
use crate::words;
use machine::Machine;
use machine::fitting::Fitted;
use machine::making::{Of, Purchase, Shape};
use machine::model::{FRAME, PartId, PartKind, PointId, Ratio, RatioKind};
use machine::work::JointAt;

/// A loose piece, and how many of it are still to be fitted.
struct Piece {
    name: String,
    count: usize,
    left: usize,
}

/// Loose pieces that are not fitted yet, and bought things that no stage has named.
pub(super) struct Loose {
    pieces: Vec<Piece>,
    /// Places that take a piece: name of the hole, point, piece.
    places: Vec<(String, Option<PointId>, usize)>,
    /// Purchases that were told.
    told: Vec<bool>,
}

impl Loose {
    /// All of a machine.
    pub(super) fn of(machine: &Machine, parts: &[Part]) -> Self {
        let making = &machine.work.making;
        let mut pieces = Vec::new();
        let mut places = Vec::new();
        let pins = pins::all(machine);
        for (n, piece) in making.pieces.iter().enumerate() {
            if piece.of != Of::Loose || !parts.iter().any(|p| p.name == piece.name) {
                continue;
            }
            let at = pieces.len();
            for pin in pins.iter().filter(|p| p.by == Some(By::Loose(n))) {
                let name = machine.points.get(pin.point).map(|p| p.name.clone());
                places.push((name.unwrap_or_default(), Some(pin.point), at));
            }
            // A stud is turned for the joint at its hole, whether anything of the file turns on it or not.
            if let Shape::Turned(t) = &piece.shape {
                for point in t.steps.iter().filter_map(|s| s.joint) {
                    let name = machine.points.get(point).map(|p| p.name.clone());
                    if places.iter().all(|p| p.1 != Some(point)) {
                        places.push((name.unwrap_or_default(), Some(point), at));
                    }
                }
            }
            if places.iter().all(|p| p.0 != piece.name) {
                places.push((piece.name.clone(), None, at));
            }
            pieces.push(Piece {
                name: piece.name.clone(),
                count: piece.count,
                left: piece.count,
            });
        }
        Self {
            pieces,
            places,
            told: vec![false; making.purchases.len()],
        }
    }

    /// The piece that a hole of this name takes, in words.
    pub(super) fn at(&self, hole: &str) -> Option<String> {
        let (.., n) = self.places.iter().find(|p| p.0 == hole)?;
        let piece = self.pieces.get(*n).filter(|p| p.left > 0)?;
        Some(words::spoken(&piece.name))
    }

    /// The same by its name in the file.
    pub(super) fn named(&self, hole: &str) -> Option<String> {
        let (.., n) = self.places.iter().find(|p| p.0 == hole)?;
        self.pieces.get(*n).map(|p| p.name.clone())
    }

    /// It is fitted.
    pub(super) fn take(&mut self, hole: &str) {
        if let Some(at) = self.places.iter().position(|p| p.0 == hole) {
            let (.., n) = self.places.remove(at);
            if let Some(p) = self.pieces.get_mut(n) {
                p.left = p.left.saturating_sub(1);
            }
        }
    }

    /// The piece that goes through a joint, taken once, in words.
    pub(super) fn pin(&mut self, point: PointId) -> Option<String> {
        let at = self.places.iter().position(|p| p.1 == Some(point))?;
        let (hole, ..) = self.places.get(at)?.clone();
        let own = self.at(&hole)?;
        self.take(&hole);
        Some(own)
    }

    /// What no stage has named: pieces, then what is bought.
    pub(super) fn rest(&self, machine: &Machine) -> Vec<String> {
        let pieces = self.pieces.iter().filter(|p| p.left > 0).map(|p| {
            let own = words::spoken(&p.name);
            match (p.left, p.count) {
                (_, 1) => own,
                (left, _) => format!("{own} ({left} off)"),
            }
        });
        let bought = machine.work.making.purchases.iter().zip(&self.told);
        let bought = bought.filter(|(_, told)| !**told).map(|(p, _)| asked(p));
        pieces.chain(bought).collect()
    }

    /// Screws that are bought for the frame's plates.
    pub(super) fn screws_of_frame(&mut self, machine: &Machine) -> Vec<String> {
        self.name(machine, |p| {
            let screw = ["screw", "bolt", "stud"].iter().any(|w| p.what.contains(w));
            screw && belongs(machine, FRAME, p)
        })
    }

    /// Bought things that this holds for and no stage has named yet, named by it.
    fn name(&mut self, machine: &Machine, holds: impl Fn(&Purchase) -> bool) -> Vec<String> {
        let mut all = Vec::new();
        for (p, told) in machine.work.making.purchases.iter().zip(&mut self.told) {
            if !*told && holds(p) {
                *told = true;
                all.push(asked(p));
            }
        }
        all
    }
}

/// A purchase in words.
fn asked(p: &Purchase) -> String {
    let count = if p.count > 1 {
        format!("{} x ", p.count)
    } else {
        String::new()
    };
    format!("{} ({count}{})", words::spoken(&p.name), p.what)
}

/// `bow-carriage` is called after `bow`, and not after `bowl`.
fn after(purchase: &str, name: &str) -> bool {
    !name.is_empty()
        && (purchase == name
            || purchase
                .strip_prefix(name)
                .is_some_and(|rest| rest.starts_with('-')))
}

/// Whether something is bought for a part: called after it, after a piece of it, a point it carries, a ratio or a cam of it.
fn belongs(machine: &Machine, id: PartId, p: &Purchase) -> bool {
    let Some(part) = machine.parts.get(id) else {
        return false;
    };
    let name = p.name.as_str();
    // What is a part by this name goes in as that part.
    if let Some(own) = machine.parts.iter().position(|q| q.name == name) {
        return own == id;
    }
    // The longest name wins: `lever-plate-screws` go into the plate, not into the lever.
    let plates = machine.work.making.pieces.iter();
    let plate = plates
        .filter(|q| matches!(q.of, Of::Frame(_)) && after(name, &q.name))
        .map(|q| q.name.len())
        .max();
    let longer = machine
        .parts
        .iter()
        .filter(|q| after(name, &q.name))
        .map(|q| q.name.len())
        .max();
    if let Some(plate) = plate.filter(|n| longer.is_none_or(|own| *n > own)) {
        return id == FRAME && plate > 0;
    }
    if let Some(own) = longer
        && id != FRAME
        && after(name, &part.name)
    {
        return part.name.len() == own;
    }
    let others = machine
        .parts
        .iter()
        .enumerate()
        .any(|(n, q)| n != id && n != FRAME && after(name, &q.name))
        || machine.rods.iter().any(|r| after(name, &r.name));
    if id != FRAME && after(name, &part.name) {
        return true;
    }
    if others {
        return false;
    }
    let pieces = machine.work.making.pieces.iter();
    let of_piece = pieces
        .filter(|q| id == FRAME && matches!(q.of, Of::Frame(_)))
        .any(|q| after(name, &q.name) || q.name.ends_with(&format!("-{}", head(name))));
    let of_point = id != FRAME
        && part.carries.iter().any(|&q| {
            let point = machine.points.get(q).map_or("", |q| q.name.as_str());
            point == name
                || point.ends_with(&format!("-{name}"))
                || point.starts_with(&format!("{name}-"))
        });
    let of_cam = machine.cams.iter().any(|c| {
        c.of == id
            && (name.contains("roller")
                || machine.points.get(c.roller).is_some_and(|q| q.name == name))
    });
    let of_motor = machine
        .work
        .motors
        .iter()
        .any(|m| m.turns == id && name.contains("motor"));
    let of_frame = id == FRAME && (name == "frame" || after(name, "frame"));
    of_frame || of_piece || of_point || of_cam || of_motor
}

/// The first word of a name.
fn head(name: &str) -> &str {
    name.split('-').next().unwrap_or(name)
}

/// What is bought for a part that stands now.
pub(super) fn bought(machine: &Machine, id: PartId, loose: &mut Loose) -> Option<Stage> {
    let own = if id == FRAME {
        String::from("frame")
    } else {
        words::spoken(machine.parts.get(id).map_or("", |p| p.name.as_str()))
    };
    // The part itself has its stage.
    loose.name(machine, |p| {
        machine.parts.get(id).is_some_and(|q| q.name == p.name)
    });
    fits(&loose.name(machine, |p| belongs(machine, id, p)), &own)
}

/// Carriages, rails and gibs of what slides: it goes into its guide with them.
pub(super) fn guides(
    machine: &Machine,
    parts: &[Part],
    id: PartId,
    loose: &mut Loose,
) -> Option<Stage> {
    if !machine.slides.iter().any(|s| s.part == id) {
        return None;
    }
    // Rollers too: nothing is got at behind a slide that stands in its guide.
    let first = |p: &Purchase| {
        ["carriage", "guide", "rail", "gib", "roller"]
            .iter()
            .any(|w| p.name.contains(w) || p.what.contains(w))
    };
    let mut all = loose.name(machine, |p| first(p) && belongs(machine, id, p));
    let rollers = machine.cams.iter().filter(|c| c.of == id);
    let ring = rollers.map(|c| closes(machine, parts, c.roller));
    if let (Some(last), Some(ring)) = (all.last_mut(), ring.reduce(|a, b| a + &b)) {
        last.push_str(&ring);
    }
    fits(
        &all,
        &words::spoken(machine.parts.get(id).map_or("", |p| p.name.as_str())),
    )
}

/// What is bought for a rod.
pub(super) fn bought_for_rod(machine: &Machine, rod: usize, loose: &mut Loose) -> Option<Stage> {
    let name = machine.rods.get(rod).map_or("", |r| r.name.as_str());
    let all = loose.name(machine, |p| after(&p.name, name));
    fits(&all, &words::of_kind("rod", name))
}

fn fits(all: &[String], to: &str) -> Option<Stage> {
    (!all.is_empty()).then(|| {
        stage(
            format!("Fit to the {to} what is bought for it: {}", all.join("; ")),
            "it is held, and nothing that turns or slides meets it",
        )
    })
}

/// Gears and pulleys between the plates of a shaft: they have to be slipped on while it goes in.
pub(super) fn between(machine: &Machine, shaft: PartId, loose: &mut Loose) -> Vec<String> {
    let Some([low, high]) = bearings::faces(machine, shaft) else {
        return Vec::new();
    };
    let station = |id: PartId| {
        let shaft = machine.parts.get(id).map(|p| p.kind) == Some(PartKind::Shaft);
        (!shaft)
            .then(|| crate::seats::station(machine, id))
            .flatten()
    };
    let mut all = Vec::new();
    for r in machine.ratios.iter().filter(|r| r.joins.contains(&shaft)) {
        // Wheels that run together stand level.
        let Some(at) = r.joins.into_iter().find_map(station) else {
            continue;
        };
        if r.kind == RatioKind::Gear && low < at && at < high {
            let own = machine.parts.get(shaft).map_or("", |p| p.name.as_str());
            let gear = format!("{own}-gear");
            all.extend(loose.name(machine, |p| p.name == gear));
        }
    }
    all
}

/// Whether a part sits pressed on its pin, which turns in bearings of the frame: its size there.
fn on_pin(machine: &Machine, parts: &[Part], id: PartId) -> Option<(PointId, f64)> {
    let part = machine.parts.get(id).filter(|p| p.kind == PartKind::Part)?;
    if part.clamped_to.is_some() {
        return None;
    }
    let made = parts.iter().find(|p| p.name == part.name)?;
    let Form::Plate(plate) = &made.form else {
        return None;
    };
    let bears = |point: PointId| {
        let mut holes = machine.work.holes.iter();
        holes.any(|h| {
            h.part == FRAME && h.point == point && matches!(h.fitted, Fitted::Bearing { .. })
        })
    };
    part.carries
        .iter()
        .copied()
        .filter(|&p| bears(p))
        .find_map(|point| {
            let name = machine.points.get(point)?.name.as_str();
            let hole = plate.holes.iter().find(|h| h.name == name)?;
            let Fitted::Plain { size, .. } = &hole.fitted else {
                return None;
            };
            let pin = machine
                .work
                .joints
                .iter()
                .find(|j| j.at == JointAt::Point(point))?;
            let pin = pin.pin.as_ref()?;
            let tight = size.nominal + size.limits.upper < pin.nominal + pin.limits.lower - 1e-9;
            tight.then_some((point, pin.nominal))
        })
}

/// The gear that these papers add to a part.
fn gear_of<'a>(parts: &'a [Part], own: &str) -> Option<&'a Part> {
    let spoken = words::spoken(own);
    let ours = |p: &&Part| {
        p.teeth.is_some() && p.joined.is_empty() && p.note.ends_with(&format!("sits on {spoken}"))
    };
    parts.iter().find(ours)
}

/// What is pressed on a pin that turns in bearings is on it before the pin goes into them: no ball carries that force.
pub(super) fn pressed(
    machine: &Machine,
    parts: &[Part],
    id: PartId,
    loose: &mut Loose,
) -> Option<Stage> {
    let (point, pin) = on_pin(machine, parts, id)?;
    let shaft = loose.pin(point).map_or_else(
        || format!("pin of {}", words::length(pin, machine.unit)),
        |own| format!("{own} (⌀{})", words::length(pin, machine.unit)),
    );
    let name = machine.parts.get(id).map_or("", |p| p.name.as_str());
    let own = words::spoken(name);
    let gear = gear_of(parts, name).map_or_else(String::new, |g| {
        format!("{}, then ", words::spoken(&g.name))
    });
    Some(stage(
        format!(
            "Press {gear}{own} onto the {shaft}, in this order from the bearing outward, before it goes into the frame"
        ),
        "the force goes through the shaft alone, not through a bearing; each runs true within a few hundredths",
    ))
}

/// A wheel that slides on a shaft of its own, and compound bought to hold such: they are joined at the bench.
pub(super) fn glued(
    machine: &Machine,
    parts: &[Part],
    id: PartId,
    loose: &mut Loose,
) -> Option<Stage> {
    let compound = |p: &Purchase| p.what.contains("retaining compound");
    if !machine.work.making.purchases.iter().any(compound) {
        return None;
    }
    let part = machine.parts.get(id).filter(|p| p.kind == PartKind::Part)?;
    let in_bearings = part.carries.iter().any(|&point| {
        let mut holes = machine.work.holes.iter();
        holes.any(|h| {
            h.part == FRAME && h.point == point && matches!(h.fitted, Fitted::Bearing { .. })
        })
    });
    if !in_bearings || part.clamped_to.is_some() || on_pin(machine, parts, id).is_some() {
        return None;
    }
    loose.name(machine, compound);
    Some(stage(
        format!(
            "Join the {} to its shaft with the retaining compound: both clean and dry, a thin coat, pushed on with a turn, left as long as its maker says before it runs",
            words::spoken(&part.name)
        ),
        "it runs true within a few hundredths; nothing of the compound gets to a bearing",
    ))
}

/// What closes the end of the loose pin or stud at a joint: nuts, washers, retaining rings.
pub(super) fn closes(machine: &Machine, parts: &[Part], point: PointId) -> String {
    let pins = pins::all(machine);
    let piece = pins.iter().find_map(|p| match p.by {
        Some(By::Loose(n)) if p.point == point => machine.work.making.pieces.get(n),
        _ => None,
    });
    // A stud of no joint between parts, as a roller's: by the step that is made for it.
    let piece = piece.or_else(|| {
        let mut pieces = machine.work.making.pieces.iter();
        pieces.find(|q| match &q.shape {
            Shape::Turned(t) => {
                matches!(q.of, Of::Loose) && t.steps.iter().any(|s| s.joint == Some(point))
            }
            Shape::Plate(_) => false,
        })
    });
    let made = piece.and_then(|q| parts.iter().find(|p| p.name == q.name));
    let Some((part, Form::Turned(t))) = made.map(|p| (p, &p.form)) else {
        return String::new();
    };
    let taps = crate::buying::taps(machine, parts, &part.name);
    let all = crate::buying::on_shaft(t, &taps, machine.unit);
    let mut told: Vec<String> = Vec::new();
    for what in all {
        let short = what.split(", ").next().unwrap_or(&what).to_owned();
        let short = match short.strip_prefix("retaining ring for ") {
            Some(size) => format!("retaining ring {size}"),
            None => short,
        };
        if !told.contains(&short) {
            told.push(short);
        }
    }
    // The washer lies under the nut.
    told.sort_by_key(|t| !t.starts_with("washer"));
    if told.is_empty() {
        String::new()
    } else {
        format!(" (then {})", told.join(", "))
    }
}

/// Gears and locking discs that these papers add to a part.
pub(super) fn added(machine: &Machine, parts: &[Part], own: &str) -> Vec<Stage> {
    let mut all = Vec::new();
    if own.is_empty() {
        return all;
    }
    let spoken = words::spoken(own);
    let id = machine.parts.iter().position(|p| p.name == own);
    let pressed = id.is_some_and(|id| on_pin(machine, parts, id).is_some());
    // A wheel that is no more than its gear was fitted as that.
    let made = parts.iter().any(|p| p.name == own);
    // What is keyed or pinned to its shaft has its stage there.
    if let Some(gear) = gear_of(parts, own).filter(|_| made && !pressed) {
        let round = parts
            .iter()
            .any(|p| p.name == own && matches!(p.form, Form::Turned(_)));
        let how = if round {
            let face = match &gear.form {
                Form::Turned(t) => t.length(),
                Form::Plate(p) => p.thickness,
            };
            format!(
                "up to its shoulder: nothing in the file says what holds it, and {} of width without a hub have no room for a cross pin: retaining compound by its maker's sheet, a key, or a gear with a hub and a pin through that",
                words::length(face, machine.unit)
            )
        } else {
            String::from(
                "bores in line, clamped; drill and ream both for two pins, or screw it on: nothing in the file says what holds it",
            )
        };
        all.push(stage(
            format!(
                "Put the {} onto the {spoken}, {how}",
                words::spoken(&gear.name)
            ),
            "its rim runs true to the bore within a few hundredths, indicator on the tips",
        ));
    }
    if parts.iter().any(|p| p.name == format!("{own}-lock")) {
        let pin = machine
            .genevas
            .iter()
            .find(|g| machine.parts.get(g.driver).is_some_and(|p| p.name == own))
            .and_then(|g| machine.points.get(g.pin))
            .map_or_else(|| String::from("pin"), |p| words::spoken(&p.name));
        all.push(stage(
            format!(
                "Put the {spoken} lock onto the {spoken}, the middle of its hollow on the line from the axis to {pin}; turn the pin into a slot and out until the disc locks on both sides alike, clamp, drill and ream both for two pins"
            ),
            "it is locked over the whole rest, and free before the pin is in its slot; a degree off jams it",
        ));
    }
    all
}

/// Gears run together.
pub(super) fn meshes(machine: &Machine) -> Vec<Stage> {
    let spoken = |id: PartId| words::spoken(machine.parts.get(id).map_or("", |p| p.name.as_str()));
    let l = |x: f64| words::length(x, machine.unit);
    let gears = machine.ratios.iter().filter(|r| r.kind == RatioKind::Gear);
    gears
        .map(|r| {
            let [a, b] = r.joins.map(spoken);
            if let Some((play, give)) = bored_play(machine, r) {
                return if play - give > 0.0 {
                    stage(
                        format!(
                            "Try how {a} and {b} run together: their centres are bored in one plate and do not move; play at the pitch circle {}, by the places of the bores {} to {}",
                            l(hundredths(play)),
                            l(hundredths(play - give)),
                            l(hundredths(play + give))
                        ),
                        "a little play everywhere over a whole turn of the larger one, no tight place",
                    )
                } else {
                    stage(
                        format!(
                            "Try how {a} and {b} run together: their centres are bored in one plate and do not move; as drawn there is {} of play, and the places of the bores may take up {}",
                            if play < 0.005 {
                                String::from("next to nothing")
                            } else {
                                l(hundredths(play))
                            },
                            l(hundredths(give))
                        ),
                        "no tight place over a whole turn of the larger one; where there is, the teeth are cut thinner",
                    )
                };
            }
            let backlash = r.teeth.as_ref().map(|t| t.backlash).filter(|b| *b > 0.0);
            let feel = backlash.map_or_else(String::new, |b| {
                format!(", about {} at the pitch circle by the indicator", l(b))
            });
            stage(
                format!("Bring {a} and {b} into mesh{feel}"),
                "a little play everywhere over a whole turn of the larger one, no tight place",
            )
        })
        .collect()
}

/// The first wheel of a pair whose teeth are cut here.
fn cut_for<'p>(machine: &Machine, parts: &'p [Part], r: &Ratio) -> Option<&'p Part> {
    let names = r
        .joins
        .map(|id| machine.parts.get(id).map_or("", |p| p.name.as_str()));
    parts.iter().find(|p| {
        let own = p.name.strip_suffix("-gear").unwrap_or(&p.name);
        p.teeth.is_some() && names.contains(&own)
    })
}

/// Gears whose centres do not move are tried before anything is fixed to its shaft: only then teeth are still thinned.
pub(super) fn tried(machine: &Machine, parts: &[Part]) -> Vec<Stage> {
    let spoken = |id: PartId| words::spoken(machine.parts.get(id).map_or("", |p| p.name.as_str()));
    let gears = machine.ratios.iter().filter(|r| r.kind == RatioKind::Gear);
    gears
        .filter(|r| bored_play(machine, r).is_some() && cut_for(machine, parts, r).is_some())
        .map(|r| {
            let [a, b] = r.joins.map(spoken);
            stage(
                format!(
                    "Before anything is fixed to its shaft: {a} and {b} on plain pins in the bores of their plate, once round with the larger one"
                ),
                "a little play everywhere, no tight place; where there is one, the teeth are cut thinner now",
            )
        })
        .collect()
}

/// Gears of one plate whose play the places of their bores may take up: their teeth bind, and the plate does not move.
pub(crate) fn tight_findings(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    let spoken = |id: PartId| words::spoken(machine.parts.get(id).map_or("", |p| p.name.as_str()));
    let l = |x: f64| words::length(x, machine.unit);
    for r in machine.ratios.iter().filter(|r| r.kind == RatioKind::Gear) {
        let (Some((play, give)), Some(made), Some(teeth)) =
            (bored_play(machine, r), cut_for(machine, parts, r), &r.teeth)
        else {
            continue;
        };
        if play - give > 1e-6 {
            continue;
        }
        let [a, b] = r.joins.map(spoken);
        // The usual backlash even where the bores take up all they may, as `parts` says it.
        let (_, usual) = elements::gears::usual_backlash(teeth.module);
        let wanted = teeth.backlash + usual + give - play;
        findings.push(Finding::new(
            Grade::Assumed,
            &made.name,
            format!(
                "{a} and {b}: as drawn there is {} of play between their teeth, and the places of the two bores may take up {}: they may bind",
                if play < 0.005 {
                    String::from("next to nothing")
                } else {
                    l(hundredths(play))
                },
                l(hundredths(give))
            ),
            format!(
                "write `backlash = \"{} {}\"`, which cuts the teeth thinner; else try both wheels on plain pins in the bores before anything is fixed to its shaft",
                l(wanted),
                machine.unit.symbol()
            ),
        ));
    }
}

fn hundredths(mm: f64) -> f64 {
    (mm * 100.0).round() / 100.0
}

/// Play at the pitch circle of gears whose centres one plate of the frame carries, and what the places of its two bores change of it, mm:
/// teeth cut thinner, and centres further apart than where the teeth touch on both flanks (any handbook on gears).
fn bored_play(machine: &Machine, r: &Ratio) -> Option<(f64, f64)> {
    let teeth = r.teeth.as_ref()?;
    let carrier = machine.parts.get(r.carrier)?;
    let centre = |id: PartId| {
        let part = machine.parts.get(id)?;
        let mut own = part.carries.iter().copied();
        own.find(|p| carrier.carries.contains(p))
    };
    let [a, b] = [centre(r.joins[0])?, centre(r.joins[1])?];
    let one = r.carrier != FRAME
        || machine.work.making.pieces.iter().any(
            |p| matches!(&p.of, Of::Frame(points) if points.contains(&a) && points.contains(&b)),
        );
    if !one {
        return None;
    }
    let at = |p: PointId| machine.points.get(p).map(|p| [p.x, p.y]);
    let ([ax, ay], [bx, by]) = (at(a)?, at(b)?);
    let apart = (ax - bx).hypot(ay - by);
    let z = r.sizes[0] + r.sizes[1];
    let alpha = teeth.pressure_angle;
    let involute = |x: f64| x.tan() - x;
    let wanted = involute(alpha) + 2.0 * (teeth.shift[0] + teeth.shift[1]) * alpha.tan() / z;
    // tan x - x rises: halved until it does not change.
    let (mut low, mut high) = (0.0_f64, 1.2_f64);
    for _ in 0..60 {
        let x = f64::midpoint(low, high);
        if involute(x) < wanted {
            low = x;
        } else {
            high = x;
        }
    }
    let touching = teeth.module * z / 2.0 * alpha.cos() / low.cos();
    let slope = 2.0 * low.tan();
    let play = teeth.backlash + slope * (apart - touching);
    let places = machine.work.usual.hole_places.unwrap_or(0.0);
    Some((play, slope * 2.0 * places))
}

/// The shaft that a part sits on: the one it turns with, else the one that it turns about.
pub(super) fn on(machine: &Machine, id: PartId) -> Option<PartId> {
    if let Some(shaft) = crate::joined::root(machine, id) {
        return Some(shaft);
    }
    let part = machine.parts.get(id)?;
    if part.kind != PartKind::Part {
        return None;
    }
    (1..machine.parts.len()).find(|&s| {
        machine.parts.get(s).is_some_and(|s| {
            s.kind == PartKind::Shaft && s.carries.first().is_some_and(|c| part.carries.contains(c))
        })
    })
}
