//! Shafts that do not go in through their bearings once the frame stands, and arms that have to be on them before.

use crate::finding::{Finding, Grade};
use crate::joined::What;
use crate::part::{Form, Part, Turned, cut, diameter};
use crate::words;
use machine::Machine;
use machine::fitting::{Cut, HeldBy};
use machine::making::{Of, Piece, Shape};
use machine::model::{PartId, PartKind, PointId};

/// A shaft that has to be in before the second plate closes over it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Early {
    /// The shaft.
    pub(crate) part: PartId,
    /// Arms between its bearings, in the order in which they go on.
    pub(crate) arms: Vec<PartId>,
    /// Plates that carry it.
    pub(crate) plates: Vec<String>,
    /// Why it is in before the second plate.
    pub(crate) why: Why,
    /// What of it is too large for the bores lies outside the plates: the other end goes in first.
    pub(crate) first: Option<&'static str>,
}

/// Why a shaft is in before the second plate closes over it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Why {
    /// Between its ends it reaches this far from its axis, and does not go through the bore of this diameter.
    Large([f64; 2]),
    /// What is fast on it does not come off again.
    Fast,
    /// There is so much room between the plates, and a key with its hub wants so much: neither passes the other there.
    Keyed([f64; 2]),
}

/// Stations of the two outermost bearings of a shaft that plates of the frame carry.
pub(crate) fn faces(machine: &Machine, shaft: PartId) -> Option<[f64; 2]> {
    let centre = machine.parts.get(shaft)?.carries.first()?;
    stands(machine, shaft, &carriers(machine, *centre))
}

/// Arms that sit on a shaft between its bearings, in the order in which they go on: what is pressed or joined by heat first, then from the
/// middle outward.
pub(crate) fn between(machine: &Machine, shaft: PartId) -> Vec<PartId> {
    let centre = machine.parts.get(shaft).and_then(|p| p.carries.first());
    let Some(&centre) = centre else {
        return Vec::new();
    };
    let plates = carriers(machine, centre);
    if plates.iter().map(|p| p.count).sum::<usize>() < 2 {
        return Vec::new();
    }
    let Some([low, high]) = stands(machine, shaft, &plates) else {
        return Vec::new();
    };
    let middle = f64::midpoint(low, high);
    let mut arms: Vec<(bool, f64, PartId)> = (1..machine.parts.len())
        .filter(|&id| crate::joined::root(machine, id) == Some(shaft) || hangs(machine, id, shaft))
        .filter_map(|id| {
            let at = crate::seats::station(machine, id)?;
            (low < at && at < high).then_some((!fast(machine, id), (at - middle).abs(), id))
        })
        .collect();
    arms.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)));
    arms.into_iter().map(|a| a.2).collect()
}

/// A part with a closed hole or slot over an eccentric of a shaft.
fn hangs(machine: &Machine, id: PartId, shaft: PartId) -> bool {
    let on = |p: &PointId| {
        let found = crate::together::journal(machine, *p);
        found.is_some_and(|(s, ..)| s == shaft)
    };
    let slots = machine.slots.iter().filter(|s| s.within == id);
    let cut = |name: &str| {
        machine.work.making.pieces.iter().any(|p| {
            p.of == Of::Part(id)
                && matches!(&p.shape, Shape::Plate(s) if s.slots.iter().any(|s| s.name == name))
        })
    };
    let carries = machine.parts.get(id).map(|p| p.carries.as_slice());
    id != shaft
        && (carries.unwrap_or_default().iter().any(on)
            || slots.filter(|s| cut(&s.name)).any(|s| on(&s.pin)))
}

/// What holds it does not slide off again at the bench.
fn fast(machine: &Machine, arm: PartId) -> bool {
    let hold = machine.work.parts.get(arm).and_then(|p| p.held_by.as_ref());
    matches!(
        hold.map(|h| &h.by),
        Some(HeldBy::Press { .. } | HeldBy::Weld { .. } | HeldBy::Braze)
    )
}

/// Plates of the frame that carry a point.
fn carriers(machine: &Machine, point: usize) -> Vec<&Piece> {
    let carried = |of: &Of| matches!(of, Of::Frame(points) if points.contains(&point));
    let pieces = machine.work.making.pieces.iter();
    pieces.filter(|p| carried(&p.of)).collect()
}

/// The largest radius that lies between the bearings, or between the two end steps where it is not known where those stand along the piece.
fn between_ends(t: &Turned, bearings: Option<[f64; 2]>) -> f64 {
    let inner = t.steps.len().saturating_sub(1);
    t.steps
        .iter()
        .enumerate()
        .filter(|(n, s)| match bearings {
            Some([low, high]) => s.to > low + 1e-6 && s.from < high - 1e-6,
            None => *n > 0 && *n < inner,
        })
        .map(|(_, s)| s.diameter / 2.0 + s.throw.map_or(0.0, |t| t[0]))
        .fold(0.0, f64::max)
}

/// Stations of the two bearings of a shaft: its own, else those of the plates that carry it.
fn stands(machine: &Machine, shaft: PartId, plates: &[&Piece]) -> Option<[f64; 2]> {
    let own = machine.work.parts.get(shaft).and_then(|p| p.bearings);
    let at: Vec<f64> = own.map_or_else(
        || {
            plates
                .iter()
                .flat_map(|p| p.stations.iter().copied())
                .collect()
        },
        |b| b.to_vec(),
    );
    let low = at.iter().copied().reduce(f64::min)?;
    let high = at.iter().copied().reduce(f64::max)?;
    (low < high).then_some([low, high])
}

/// Station of the left end of a turned piece, where it is written.
fn starts(machine: &Machine, id: PartId) -> Option<f64> {
    let mut pieces = machine.work.making.pieces.iter();
    pieces.find_map(|p| match &p.shape {
        Shape::Turned(t) if p.of == Of::Part(id) => t.starts,
        _ => None,
    })
}

/// Shafts that two plates of the frame carry, and that do not go through the bores, by themselves or with what is fast on them.
pub(crate) fn early(machine: &Machine, parts: &[Part]) -> Vec<Early> {
    let mut all = Vec::new();
    for (id, part) in machine.parts.iter().enumerate() {
        let Some(&centre) = part.carries.first() else {
            continue;
        };
        // A roll that is one turned piece goes in like a shaft.
        let roll = part.kind == PartKind::Part && crate::together::turned(machine, id).is_some();
        if part.kind != PartKind::Shaft && !roll {
            continue;
        }
        let plates = carriers(machine, centre);
        if plates.iter().map(|p| p.count).sum::<usize>() < 2 {
            continue;
        }
        let turned = parts
            .iter()
            .find(|p| p.name == part.name)
            .and_then(|p| match &p.form {
                Form::Turned(t) => Some(t),
                Form::Plate(_) => None,
            });
        let named = machine.points.get(centre).map_or("", |p| p.name.as_str());
        let bore = parts
            .iter()
            .filter(|p| plates.iter().any(|q| q.name == p.name))
            .filter_map(|p| match &p.form {
                Form::Plate(plate) => plate
                    .holes
                    .iter()
                    .find(|h| h.name == named)
                    .map(|h| inside(&h.fitted)),
                Form::Turned(_) => None,
            })
            .reduce(f64::min);
        // Along the piece.
        let along = stands(machine, id, &plates)
            .zip(starts(machine, id))
            .map(|(at, starts)| at.map(|x| x - starts));
        let large = turned
            .zip(bore)
            .map(|(t, bore)| [between_ends(t, along), bore])
            .filter(|[reach, bore]| *reach > bore / 2.0 + 1e-6);
        let mut arms = between(machine, id);
        for arm in slotted(machine, parts, id) {
            if !arms.contains(&arm) {
                arms.push(arm);
            }
        }
        let keyed = || {
            let own = parts.iter().find(|p| p.name == part.name)?;
            let room = room(machine, parts, id, &plates)?;
            let names: Vec<&str> = arms
                .iter()
                .filter_map(|&arm| machine.parts.get(arm).map(|p| p.name.as_str()))
                .collect();
            let wants = own
                .joined
                .iter()
                .filter(|j| j.in_shaft && names.contains(&j.other.as_str()))
                .filter_map(|j| match &j.what {
                    What::Key(k) => Some(k.disc.unwrap_or(j.length) + j.length),
                    _ => None,
                })
                .fold(0.0, f64::max);
            (wants > room + 1e-6).then_some(Why::Keyed([room, wants]))
        };
        let why = large.map(Why::Large).or_else(|| {
            let fast = arms.iter().any(|&arm| fast(machine, arm));
            fast.then_some(Why::Fast).or_else(keyed)
        });
        if let Some(why) = why {
            all.push(Early {
                part: id,
                arms,
                plates: plates.iter().map(|p| p.name.clone()).collect(),
                why,
                first: turned
                    .zip(bore)
                    .zip(along)
                    .and_then(|((t, bore), along)| first(t, along, bore)),
            });
        }
    }
    all
}

/// The end that goes in first: the one away from what is too large for the bores, where that lies outside of the plates on one side.
fn first(t: &Turned, [low, high]: [f64; 2], bore: f64) -> Option<&'static str> {
    let large = |s: &crate::part::Step| {
        s.diameter / 2.0 + s.throw.map_or(0.0, |t| t[0]) > bore / 2.0 + 1e-6
    };
    let left = t.steps.iter().any(|s| large(s) && s.to < high - 1e-6);
    let right = t.steps.iter().any(|s| large(s) && s.from > low + 1e-6);
    match (left, right) {
        (false, true) => Some("left"),
        (true, false) => Some("right"),
        _ => None,
    }
}

/// Between the inner faces of the two outermost plates of a shaft, mm.
fn room(machine: &Machine, parts: &[Part], shaft: PartId, plates: &[&Piece]) -> Option<f64> {
    let [low, high] = stands(machine, shaft, plates)?;
    let thick = plates
        .iter()
        .filter_map(|q| parts.iter().find(|p| p.name == q.name))
        .filter_map(|p| match &p.form {
            Form::Plate(p) => Some(p.thickness),
            Form::Turned(_) => None,
        })
        .fold(0.0, f64::max);
    Some(high - low - thick)
}

/// Parts with a slot, cut in them, over an eccentric of a shaft.
fn slotted(machine: &Machine, parts: &[Part], shaft: PartId) -> Vec<PartId> {
    let on = |p: PointId| {
        let found = crate::together::journal(machine, p);
        found.is_some_and(|(s, ..)| s == shaft)
    };
    let cut = |id: PartId, slot: &str| {
        let name = machine.parts.get(id).map_or("", |p| p.name.as_str());
        parts.iter().any(|p| {
            p.name == name
                && matches!(&p.form, Form::Plate(p) if p.slots.iter().any(|s| s.name == slot))
        })
    };
    let slots = machine.slots.iter();
    slots
        .filter(|s| on(s.pin) && cut(s.within, &s.name))
        .map(|s| s.within)
        .collect()
}

/// What is left open of a hole when its bushing or bearing is in.
pub(crate) fn inside(fitted: &machine::fitting::Fitted) -> f64 {
    use machine::fitting::Fitted;
    match fitted {
        Fitted::Bushing { bore, .. } => bore.nominal,
        Fitted::Bearing { bearing, .. } => bearing.bore,
        other => diameter(other),
    }
}

/// A shaft that is thinner than a bore of the frame by more than this, both as they are written before any class, does not run in it, mm (common
/// practice).
const SLACK: f64 = 0.3;

/// Steps of shafts that do not reach the bores of the frame which they stand in.
pub(crate) fn slack(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    let l = |x: f64| words::length(x, machine.unit);
    for (id, shaft) in machine.parts.iter().enumerate() {
        let Some(&centre) = shaft.carries.first() else {
            continue;
        };
        let own = parts.iter().find(|p| p.name == shaft.name);
        let (PartKind::Shaft, Some(Form::Turned(t))) = (shaft.kind, own.map(|p| &p.form)) else {
            continue;
        };
        let Some(starts) = starts(machine, id) else {
            continue;
        };
        let named = machine.points.get(centre).map_or("", |p| p.name.as_str());
        for piece in carriers(machine, centre) {
            let made = parts.iter().find(|p| p.name == piece.name);
            let Some(Form::Plate(plate)) = made.map(|p| &p.form) else {
                continue;
            };
            let Some(hole) = plate.holes.iter().find(|h| h.name == named) else {
                continue;
            };
            // What is only drilled lets a shaft through.
            if !matches!(cut(&hole.fitted), Some(Cut::Bore | Cut::Ream)) {
                continue;
            }
            let bore = inside(&hole.fitted);
            for at in piece.stations.iter().map(|x| x - starts) {
                let [from, to] = [-0.5, 0.5].map(|k| at + k * plate.thickness);
                let thickest = t
                    .steps
                    .iter()
                    .filter(|s| s.to > from + 1e-6 && s.from < to - 1e-6 && s.throw.is_none())
                    .map(|s| s.diameter)
                    .reduce(f64::max);
                let Some(d) = thickest.filter(|d| bore - d > SLACK) else {
                    continue;
                };
                findings.push(Finding::new(
                    Grade::Unsound,
                    &shaft.name,
                    format!(
                        "where it stands in {}, {} to {} from its left end, it is ⌀{}, and the bore there is ⌀{}: it hangs in it with {} of play",
                        words::spoken(&piece.name),
                        l(from.max(0.0)),
                        l(to.min(t.length())),
                        l(d),
                        l(bore),
                        l(bore - d)
                    ),
                    format!(
                        "a step of ⌀{} there, a bore of ⌀{}, or other stations of the plate, the shaft (`starts`) or its steps",
                        l(bore),
                        l(d)
                    ),
                ));
            }
        }
    }
}

/// Outer rings that slide in straight seats: their shaft walks with them.
pub(crate) fn findings(machine: &Machine, parts: &[Part], findings: &mut Vec<Finding>) {
    let frame = |name: &str| {
        let mut pieces = machine.work.making.pieces.iter();
        pieces.any(|p| p.name == name && matches!(p.of, Of::Frame(_)))
    };
    // By hole: plates, and whether one of them holds its ring.
    let mut seats: Vec<(&str, &str, Vec<&Part>, bool)> = Vec::new();
    for part in parts.iter().filter(|p| frame(&p.name)) {
        let Form::Plate(plate) = &part.form else {
            continue;
        };
        for hole in &plate.holes {
            let machine::fitting::Fitted::Bearing { name, hub, .. } = &hole.fitted else {
                continue;
            };
            let held =
                hub.limits.lower < -1e-9 || hole.blind.is_some() || hole.counterbore.is_some();
            match seats.iter_mut().find(|s| s.0 == hole.name) {
                Some(found) => {
                    found.2.push(part);
                    found.3 |= held;
                }
                None => seats.push((&hole.name, name, vec![part], held)),
            }
        }
    }
    for (hole, bearing, plates, _) in seats.iter().filter(|s| !s.3) {
        for part in plates {
            findings.push(Finding::new(
                Grade::WayRound,
                &part.name,
                format!(
                    "nothing holds the outer ring of {bearing} lengthwise at {}: its seat is straight, and it slides in it",
                    words::spoken(hole)
                ),
                "hold one ring of the shaft: a cover plate, a ring in a groove (DIN 472), or retaining compound by its maker's sheet; the other may slide",
            ));
        }
    }
}
