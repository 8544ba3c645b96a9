//! Plates: points become holes and round ends, in the part's own coordinates.

use super::cam;
use super::depths;
use super::joints::{default_hole, joint_size, of_class, shaft_bore, unmade};
use super::looked::{forked, handed, outside, rims};
use super::outline::outline;
use crate::cams::CamShape;
use crate::contour::{Contour, P, Side};
use crate::finding::{Finding, Grade};
use crate::part::{EdgeHole, Fork, Hole, Plate, RoundEnd, Slot};
use machine::Machine;
use machine::making::{self, Of, Towards};
use machine::model::{FRAME, PartId, PointId};
use machine::work::{JointAt, ToleranceOf};

/// A part's own coordinates.
pub(super) struct Axes {
    origin: P,
    pub(super) turn: f64,
}

impl Axes {
    pub(super) fn place(&self, at: P) -> P {
        let (x, y) = (at[0] - self.origin[0], at[1] - self.origin[1]);
        let (s, c) = self.turn.sin_cos();
        // What lies on an axis lies on it to the last figure.
        let clean = |v: f64| if v.abs() < 1e-9 { 0.0 } else { v };
        [clean(c * x + s * y), clean(c * y - s * x)]
    }
}

/// Points that a piece carries, its datum first: of an arm the centre of its shaft.
pub fn points_of(machine: &Machine, of: &Of) -> Vec<PointId> {
    match of {
        Of::Part(id) => {
            let Some(part) = machine.parts.get(*id) else {
                return Vec::new();
            };
            let mut points = Vec::new();
            if part.clamped_to.is_some() {
                points.extend(
                    shaft_of(machine, *id).and_then(|s| machine.parts.get(s)?.carries.first()),
                );
            }
            points.extend(&part.carries);
            points
        }
        Of::Frame(points) => points.clone(),
        _ => Vec::new(),
    }
}

/// The shaft at the end of a chain of clamped arms.
pub(super) fn shaft_of(machine: &Machine, part: PartId) -> Option<PartId> {
    let mut here = part;
    for _ in 0..machine.parts.len() {
        match machine.parts.get(here)?.clamped_to {
            Some(next) => here = next,
            None => return Some(here),
        }
    }
    None
}

pub(super) fn plate(
    machine: &Machine,
    shapes: &[CamShape],
    of: &Of,
    shape: &making::Plate,
    [thickness, width]: [f64; 2],
    name: &str,
    findings: &mut Vec<Finding>,
) -> Plate {
    let points = points_of(machine, of);
    let flat = |p: PointId| machine.points.get(p).map_or([0.0; 2], |p| [p.x, p.y]);
    let origin = points.first().map_or([0.0; 2], |&p| flat(p));
    let turn = match (of, points.get(1)) {
        (Of::Part(_), Some(&second)) if !shape.upright => {
            let to = flat(second);
            (to[1] - origin[1]).atan2(to[0] - origin[0])
        }
        _ => 0.0,
    };
    let axes = Axes { origin, turn };
    let part = match of {
        Of::Part(id) => Some(*id),
        Of::Frame(_) => Some(FRAME),
        _ => None,
    };
    let mut plate = Plate {
        thickness,
        ..Plate::default()
    };
    for &point in &points {
        let at = axes.place(flat(point));
        at_point(
            machine, of, part, point, at, shape, width, &axes, &mut plate,
        );
    }
    solid_hubs(machine, part, of, &mut plate);
    plate.datum_hole = plate
        .holes
        .iter()
        .any(|h| h.at[0].abs() < 1e-9 && h.at[1].abs() < 1e-9);
    for h in shape.holes.iter().filter(|h| h.on.is_none()) {
        let many = h.at.len() > 1;
        for (n, &at) in h.at.iter().enumerate() {
            plate.holes.push(Hole {
                name: if many {
                    format!("{} {}", h.name, n + 1)
                } else {
                    h.name.clone()
                },
                at,
                fitted: h.fitted.clone(),
                blind: depths::blind(&h.fitted, h.length, thickness),
                through: thickness,
                counterbore: h.counterbore,
                countersink: h.countersink,
                sink: crate::part::SINK,
                back: false,
                place: None,
            });
        }
    }
    if let Of::Part(id) = of {
        cam::cams(machine, shapes, *id, &axes, &mut plate, name, findings);
        if shape.outline == making::Outline::Arms && plate.cams.is_empty() {
            let turned = |at: P| axes.place(at);
            crate::geneva::wheel(
                machine,
                *id,
                (&turned, axes.turn),
                &mut plate,
                name,
                findings,
            );
        }
    }
    plate.outline = match plate.cams.iter().find(|c| c.is_outline()) {
        Some(cam) if shape.outline == making::Outline::Arms => {
            // Its round ends were those of an arm.
            let flank = cam.flank.clone();
            plate.ends.retain(|e| e.hub.is_some());
            flank
        }
        _ => match &plate.geneva {
            Some(wheel) => {
                let outline = wheel.outline();
                plate.ends.retain(|e| e.hub.is_some());
                outline
            }
            None => outline(&plate, shape, width, machine, name, findings),
        },
    };
    super::detents::on(machine, of, name, &axes, &mut plate, findings);
    if let Of::Part(id) = of {
        let turned = |at: P| axes.place(at);
        crate::racks::teeth(
            machine,
            *id,
            (&turned, axes.turn),
            &mut plate,
            name,
            findings,
        );
    }
    // A point on the edge or off the plate stands for a face, not for a mark.
    let outline = &plate.outline;
    plate
        .marks
        .retain(|(_, at)| outline.holds(*at) && outline.distance(*at) > 1.0);
    unmade(machine, of, &plate, name, findings);
    slots(machine, part, shape, &axes, &mut plate);
    // Nor is the end of a slot one.
    let cut: Vec<Slot> = plate.slots.clone();
    plate.marks.retain(|(_, at)| {
        cut.iter()
            .flat_map(|s| s.ends)
            .all(|end| (end[0] - at[0]).hypot(end[1] - at[1]) > 1e-6)
    });
    plate.fork = shape.fork.map(|f| Fork {
        at: axes.place(flat(f.at)),
        gap: f.gap,
        depth: f.depth,
        open: f.open,
    });
    for e in &shape.cross {
        let towards = match e.towards {
            Towards::Point(p) => axes.place(flat(p)),
            Towards::Place(at) => at,
        };
        let Some(enters) = enters(&plate.outline, towards, e.from) else {
            findings.push(Finding::new(
                Grade::Cannot,
                name,
                format!("the hole {} does not meet the edge", e.name),
                "point it at a place inside the outline",
            ));
            continue;
        };
        let far = (enters[0] - towards[0]).hypot(enters[1] - towards[1]);
        plate.edge_holes.push(EdgeHole {
            name: e.name.clone(),
            towards,
            from: e.from,
            enters,
            depth: e
                .length
                .or_else(|| depths::for_thread(&e.fitted))
                .unwrap_or(far),
            fitted: e.fitted.clone(),
        });
    }
    // What is bent is looked over when it is unfolded.
    if shape.bends.is_empty() {
        outside(&plate, name, findings);
    }
    depths::slots(&plate, name, findings);
    depths::from_the_edge(&plate, name, findings);
    depths::hubs(&plate, name, findings);
    rims(&plate, name, findings);
    forked(&plate, name, findings);
    handed(machine, of, &mut plate, name, findings);
    plate
}

/// A ring would be milled away with what lies between hubs that are cut from the solid; and aluminium melts under silver solder.
fn solid_hubs(machine: &Machine, part: Option<PartId>, of: &Of, plate: &mut Plate) {
    let stock = part.and_then(|p| machine.work.parts.get(p)?.stock.as_ref());
    let piece = machine.work.making.pieces.iter().find(|p| p.of == *of);
    let stock = piece.and_then(|p| p.stock.as_ref()).or(stock);
    let light = stock
        .and_then(|s| machine.work.materials.get(s.material))
        .is_some_and(|m| m.modulus < 90_000.0 && m.density > 2.0e-6);
    let one = plate.ends.iter().any(|e| e.solid && e.hub.is_some());
    let rings = plate.ends.iter().any(|e| !e.solid && e.hub.is_some());
    if !rings || !(one || light) {
        return;
    }
    plate.said.push(
        if one {
            "All hubs are cut from the solid, as one of them is: a brazed ring would be milled off with what lies between."
        } else {
            "Its hubs are cut from the solid: aluminium melts where silver solder flows."
        }
        .to_owned(),
    );
    for end in &mut plate.ends {
        end.solid |= end.hub.is_some();
    }
}

#[allow(clippy::too_many_arguments)]
fn at_point(
    machine: &Machine,
    of: &Of,
    part: Option<PartId>,
    point: PointId,
    at: P,
    shape: &making::Plate,
    width: f64,
    axes: &Axes,
    plate: &mut Plate,
) {
    let named = machine.points.get(point).map_or("", |p| p.name.as_str());
    let hole = machine
        .work
        .holes
        .iter()
        .find(|h| Some(h.part) == part && h.point == point);
    let boss = shape.bosses.iter().find(|b| b.point == point);
    let hold = part.and_then(|p| machine.work.parts.get(p)?.held_by.as_ref());
    let clamped =
        part.is_some_and(|p| machine.parts.get(p).is_some_and(|p| p.clamped_to.is_some()));
    let at_shaft = clamped && plate.ends.is_empty();
    let around = hole
        .and_then(|h| h.around)
        .or_else(|| hold.filter(|_| at_shaft).and_then(|h| h.hub));
    let length = boss
        .and_then(|b| b.length)
        .or_else(|| hole.and_then(|h| h.length))
        .or_else(|| hold.filter(|_| at_shaft).and_then(|h| h.length));
    let forked = shape.fork.is_some_and(|f| f.at == point);
    let hub = length.filter(|l| *l > plate.thickness + 1e-9 && !forked);
    // On an outline of its own no end is as wide as the stock: a hub is twice what is pressed into it (common practice).
    let own = matches!(
        shape.outline,
        making::Outline::Box { .. } | making::Outline::Path(_)
    );
    let wide = match hole.filter(|_| hub.is_some() && own) {
        Some(h) => width.min(2.0 * h.fitted.across()),
        None => width,
    };
    let radius = boss.map_or_else(|| around.unwrap_or(wide) / 2.0, |b| b.diameter / 2.0);
    plate.ends.push(RoundEnd {
        name: named.to_owned(),
        at,
        radius,
        hub,
        solid: boss.is_some_and(|b| b.solid),
    });
    let fitted = match hole {
        Some(h) => Some(h.fitted.clone()),
        None if at_shaft => shaft_bore(machine, part, point),
        None => default_hole(machine, of, point),
    };
    let Some(fitted) = fitted else {
        plate.marks.push((named.to_owned(), at));
        return;
    };
    let place = machine
        .work
        .tolerances
        .iter()
        .find(|t| matches!(t.of, ToleranceOf::Hole { part: p, hole } if Some(p) == part && hole == point))
        .map(|t| t.plus_minus)
        .or(machine.work.usual.hole_places);
    let blind = if forked {
        None
    } else {
        depths::blind(&fitted, length, hub.unwrap_or(plate.thickness))
    };
    let one = |name: String, at: P| Hole {
        name,
        at,
        fitted: fitted.clone(),
        blind,
        through: hub.unwrap_or(plate.thickness),
        counterbore: hole.and_then(|h| h.counterbore),
        countersink: hole.and_then(|h| h.countersink),
        sink: crate::part::SINK,
        back: false,
        place,
    };
    let row = machine
        .rows
        .iter()
        .find(|r| r.point == point && Some(r.on) == part);
    match row {
        None => plate.holes.push(one(named.to_owned(), at)),
        Some(row) => {
            let places: Vec<P> = row.holes.iter().map(|&h| axes.place(h)).collect();
            plate.ends.pop();
            for end in [places.first(), places.last()].into_iter().flatten() {
                plate.ends.push(RoundEnd {
                    name: named.to_owned(),
                    at: *end,
                    radius,
                    hub: None,
                    solid: false,
                });
            }
            let holes = places
                .iter()
                .enumerate()
                .map(|(n, &at)| one(format!("{named} {}", n + 1), at));
            let holes: Vec<Hole> = holes.collect();
            plate.holes.extend(holes);
        }
    }
}

fn slots(
    machine: &Machine,
    part: Option<PartId>,
    shape: &making::Plate,
    axes: &Axes,
    plate: &mut Plate,
) {
    for s in &shape.slots {
        plate.slots.push(Slot {
            name: s.name.clone(),
            ends: s.ends,
            centre: s.centre,
            width: s.width.0,
            class: s.width.1.clone(),
            depth: s.depth,
        });
    }
    for (i, slot) in machine.slots.iter().enumerate() {
        if Some(slot.within) != part || shape.slots.iter().any(|s| s.name == slot.name) {
            continue;
        }
        let at = |p: PointId| machine.points.get(p).map(|p| axes.place([p.x, p.y]));
        let (Some(a), Some(b)) = (at(slot.ends[0]), at(slot.ends[1])) else {
            continue;
        };
        let joint = machine
            .work
            .joints
            .iter()
            .find(|j| j.at == JointAt::Slot(i));
        let Some(width) = joint
            .and_then(|j| j.diameter)
            .or_else(|| joint_size(machine, slot.pin))
        else {
            continue;
        };
        // A flat that something rides on outside the plate is no slot.
        if plate.outline.holds(a) && plate.outline.holds(b) {
            plate.slots.push(Slot {
                name: slot.name.clone(),
                ends: [a, b],
                centre: slot.centre.and_then(at),
                width,
                class: of_class(width, "H9"),
                depth: None,
            });
        }
    }
}

/// Where a line from a place in a direction leaves the outline last.
fn enters(outline: &Contour, at: P, angle: f64) -> Option<P> {
    let d = [angle.cos(), angle.sin()];
    let mut far: Option<f64> = None;
    let mut take = |t: f64| {
        if t > -1e-9 {
            far = Some(far.map_or(t, |f: f64| f.max(t)));
        }
    };
    for side in outline.sides() {
        match side {
            Side::Line { from, to } => {
                let e = [to[0] - from[0], to[1] - from[1]];
                let det = d[0] * e[1] - d[1] * e[0];
                if det.abs() > 1e-12 {
                    let w = [from[0] - at[0], from[1] - at[1]];
                    let t = (w[0] * e[1] - w[1] * e[0]) / det;
                    let s = (w[0] * d[1] - w[1] * d[0]) / det;
                    if (-1e-9..=1.0 + 1e-9).contains(&s) {
                        take(t);
                    }
                }
            }
            Side::Arc {
                centre,
                radius,
                from,
                sweep,
            } => {
                let w = [at[0] - centre[0], at[1] - centre[1]];
                let b = w[0] * d[0] + w[1] * d[1];
                let c = w[0] * w[0] + w[1] * w[1] - radius * radius;
                let root = b * b - c;
                if root >= 0.0 {
                    for t in [-b - root.sqrt(), -b + root.sqrt()] {
                        let p = [w[0] + t * d[0], w[1] + t * d[1]];
                        let a = p[1].atan2(p[0]);
                        let along = if sweep > 0.0 { a - from } else { from - a };
                        if along.rem_euclid(std::f64::consts::TAU) <= sweep.abs() + 1e-9 {
                            take(t);
                        }
                    }
                }
            }
        }
    }
    far.map(|t| [at[0] + t * d[0], at[1] + t * d[1]])
}
