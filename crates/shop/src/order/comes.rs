//! What comes with a part when it is fitted: the loose pieces that it is fitted with, what is bought for it, what these papers add to it.

use super::{Stage, stage};
use crate::bearings;
use crate::part::Part;
use crate::pins::{self, By};
use crate::words;
use machine::Machine;
use machine::making::{Of, Purchase};
use machine::model::{FRAME, PartId, PartKind, PointId, RatioKind};

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
    of_piece || of_point || of_cam || of_motor
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

/// Gears and locking discs that these papers add to a part.
pub(super) fn added(machine: &Machine, parts: &[Part], own: &str) -> Vec<Stage> {
    let mut all = Vec::new();
    if own.is_empty() {
        return all;
    }
    let spoken = words::spoken(own);
    for part in parts.iter().filter(|p| p.teeth.is_some()) {
        let ours = part.note.ends_with(&format!("sits on {spoken}"));
        // What is keyed or pinned to its shaft has its stage there.
        if ours && part.joined.is_empty() {
            all.push(stage(
                format!(
                    "Put the {} onto the {spoken}, bores in line, clamped; drill and ream both for two pins, or screw it on: nothing in the file says what holds it",
                    words::spoken(&part.name)
                ),
                "its rim runs true to the bore within a few hundredths, indicator on the tips",
            ));
        }
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
    let gears = machine.ratios.iter().filter(|r| r.kind == RatioKind::Gear);
    gears
        .map(|r| {
            let backlash = r.teeth.as_ref().map(|t| t.backlash).filter(|b| *b > 0.0);
            let feel = backlash.map_or_else(String::new, |b| {
                format!(
                    ", about {} at the pitch circle by the indicator",
                    words::length(b, machine.unit)
                )
            });
            stage(
                format!(
                    "Bring {} and {} into mesh{feel}",
                    spoken(r.joins[0]),
                    spoken(r.joins[1])
                ),
                "a little play everywhere over a whole turn of the larger one, no tight place",
            )
        })
        .collect()
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
