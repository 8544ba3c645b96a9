//! What a plate cannot be, or is more than it looks: holes that break out, forks without ears, tracks without a rim, pairs that face one another.

use crate::finding::{Finding, Grade};
use crate::part::{Opening as _, Plate, diameter};
use crate::words;
use machine::Machine;
use machine::making::{Of, Piece};

type P = [f64; 2];

/// Two plates of one drawing that face one another are a pair when something stands out of, or is sunk into, one face only: the one that stands
/// behind is the mirror image of what is drawn, so that both have that outside.
pub(super) fn handed(
    machine: &Machine,
    of: &Of,
    plate: &mut Plate,
    name: &str,
    findings: &mut Vec<Finding>,
) {
    if !matches!(of, Of::Frame(_)) {
        return;
    }
    let pieces = machine.work.making.pieces.iter();
    let Some(piece) = pieces.into_iter().find(|p| p.name == name && p.count > 1) else {
        return;
    };
    let hubs = plate.ends.iter().any(|e| e.hub.is_some());
    let one_face = |h: &crate::part::Hole| {
        h.blind.is_some() || h.counterbore.is_some() || h.countersink.is_some()
    };
    let sunk = plate.holes.iter().any(one_face) || plate.slots.iter().any(|s| s.depth.is_some());
    if !(hubs || sunk) || piece.stations.len() == 1 || mirrored(plate) {
        return;
    }
    let solid = plate.ends.iter().any(|e| e.hub.is_some() && e.solid);
    let what = match (hubs, solid) {
        (true, true) => "hubs stand out of",
        (true, false) => "rings stand out of",
        _ => "holes are sunk from",
    };
    if piece.stations.len() != piece.count {
        findings.push(Finding::new(
            Grade::WayRound,
            name,
            format!("{} are made, and {what} one face only: where two face one another they are a left and a right one", piece.count),
            "write the `station` of each: then it is said how many are of the opposite hand",
        ));
        return;
    }
    plate.opposite = piece.stations.iter().filter(|s| behind(piece, **s)).count();
    let drawn = piece.count - plate.opposite;
    plate.said.push(format!(
        "{drawn} as drawn (in front), {} opposite hand (behind): on that {what} the other face, so that they are outside on both.",
        plate.opposite
    ));
}

/// Whether a plate that stands at one of several stations is behind their middle: it looks the other way.
pub fn behind(piece: &Piece, station: f64) -> bool {
    let all = piece.stations.iter().copied();
    let low = all.clone().fold(f64::INFINITY, f64::min);
    let high = all.fold(f64::NEG_INFINITY, f64::max);
    high - low > 1e-6 && station < f64::midpoint(low, high) - 1e-6
}

/// Whether a plate is its own mirror image, holes and all, about x or y through the middle of its outline.
fn mirrored(plate: &Plate) -> bool {
    let [low, high] = plate.outline.bounds();
    let middle = [0, 1].map(|i| f64::midpoint(low[i], high[i]));
    (0..2).any(|axis| {
        let flip = |at: P| {
            let mut to = at;
            to[axis] = 2.0 * middle[axis] - at[axis];
            to
        };
        let corners = plate
            .outline
            .vertices
            .iter()
            .all(|v| plate.outline.distance(flip(v.at)) < 1e-4);
        let holes = plate.holes.iter().all(|h| {
            plate.holes.iter().any(|o| {
                let at = flip(h.at);
                (o.at[0] - at[0]).hypot(o.at[1] - at[1]) < 1e-4
                    && (o.diameter() - h.diameter()).abs() < 1e-6
            })
        });
        corners && holes
    })
}

/// Least thickness of an ear beside a fork's gap, mm (common practice).
const EAR: f64 = 1.5;

/// A fork that leaves no ears, cuts its part in two, or cuts through another hole.
pub(super) fn forked(plate: &Plate, name: &str, findings: &mut Vec<Finding>) {
    let Some(f) = &plate.fork else { return };
    let mut tell = |text: String, advice: &str| {
        findings.push(Finding::new(Grade::Cannot, name, text, advice));
    };
    let ear = (plate.thickness - f.gap) / 2.0;
    if ear < EAR {
        tell(
            format!(
                "the fork's gap of {} leaves ears of {} in {} thick stock",
                words::number(f.gap, 3),
                words::number(ear.max(0.0), 3),
                words::number(plate.thickness, 3)
            ),
            "thicker stock, or a narrower gap",
        );
    }
    let d = [f.open.cos(), f.open.sin()];
    let bottom = [f.at[0] - d[0] * f.depth, f.at[1] - d[1] * f.depth];
    let back = plate.outline.reach(f.at, f.open + std::f64::consts::PI);
    if f.depth >= back || !plate.outline.holds(bottom) {
        tell(
            format!(
                "the fork reaches {} behind its hole, where the part has {}",
                words::number(f.depth, 3),
                words::number(back, 3)
            ),
            "a smaller `depth`: what is behind the slot holds the ears together",
        );
    }
    let cut: Vec<String> = plate
        .holes
        .iter()
        .filter(|h| {
            let along = (h.at[0] - f.at[0]) * d[0] + (h.at[1] - f.at[1]) * d[1];
            let off = (h.at[0] - f.at[0]).hypot(h.at[1] - f.at[1]);
            off > 1e-6 && along < 0.0 && along + h.diameter() / 2.0 > -f.depth
        })
        .map(|h| words::spoken(&h.name))
        .collect();
    if !cut.is_empty() {
        tell(
            format!("the fork's slot cuts into {}", cut.join(", ")),
            "a smaller `depth`",
        );
    }
}

/// Least metal between a track and the edge, mm (common practice).
const RIM: f64 = 4.0;

/// Tracks that run into the edge or through their plate.
pub(super) fn rims(plate: &Plate, name: &str, findings: &mut Vec<Finding>) {
    for cam in &plate.cams {
        let (Some(outer), Some(depth)) = (&cam.outer, cam.depth) else {
            continue;
        };
        let sides = plate.outline.sides();
        let within = outer
            .vertices
            .iter()
            .all(|v| plate.outline.holds(v.at) && sides.iter().all(|s| s.distance(v.at) > RIM));
        if !within {
            let far = outer
                .vertices
                .iter()
                .map(|v| (v.at[0] - cam.centre[0]).hypot(v.at[1] - cam.centre[1]));
            let across = 2.0 * (far.fold(0.0, f64::max) + RIM);
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!(
                    "the track {} leaves less than {} of rim",
                    words::spoken(&cam.name),
                    words::number(RIM, 1)
                ),
                format!(
                    "it needs a disc of {} across: widen its stock",
                    words::number(across.ceil(), 0)
                ),
            ));
        }
        if depth > plate.thickness - RIM {
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!(
                    "the track {} is {} deep in a plate of {}",
                    words::spoken(&cam.name),
                    words::number(depth, 2),
                    words::number(plate.thickness, 2)
                ),
                format!(
                    "leave {} under it: thicker stock, or a narrower `face`",
                    words::number(RIM, 0)
                ),
            ));
        }
    }
}

/// Holes that break out of their plate.
pub(super) fn outside(plate: &Plate, name: &str, findings: &mut Vec<Finding>) {
    for h in &plate.holes {
        let r = diameter(&h.fitted) / 2.0;
        let near = plate.outline.distance(h.at);
        if !plate.outline.holds(h.at) || near < r + 0.5 {
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!(
                    "the hole {} of {} lies {} from the edge, its radius is {}",
                    words::spoken(&h.name),
                    words::spoken(name),
                    words::number(near, 2),
                    words::number(r, 2)
                ),
                "make the outline larger there, or the hole smaller",
            ));
        } else if near < r + 1.0 {
            findings.push(Finding::new(
                Grade::WayRound,
                name,
                format!(
                    "{} of metal is left between the hole {} and the edge",
                    words::number(near - r, 2),
                    words::spoken(&h.name)
                ),
                "it bends out under the tool: bore it with light cuts, or leave a millimetre at least",
            ));
        }
    }
}
