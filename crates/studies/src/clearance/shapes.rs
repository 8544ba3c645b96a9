//! The parts of a machine as outlines that move with its bodies.

use super::outline::{Outline, P, Placed, Stands};
use crate::assemble::Model;
use crate::load::rig::Rig;
use crate::load::stock::shaft_ends;
use crate::run::Here;
use machine::making::{Of, Shape as Piece};
use machine::model::{FRAME, PartId, PartKind, PointId};
use machine::work::{Section, Stock};
use mechanics::model::{AnchorId, Constraint};
use shop::part::Form;

/// What an outline moves with.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Carried {
    /// A part.
    Part(PartId),
    /// A rod: from the one anchor towards the other.
    Rod(usize, [AnchorId; 2]),
}

/// A part or rod.
pub(super) struct Shape {
    pub(super) name: String,
    carried: Carried,
    /// In the body's own axes; of a rod from its first end along it.
    outline: Outline,
    pub(super) plane: usize,
    /// From and to along the plane's third direction, mm.
    pub(super) depth: [f64; 2],
    /// Its points say a station.
    pub(super) layer_known: bool,
}

impl Shape {
    /// The frame does not move.
    pub(super) fn still(&self) -> bool {
        self.carried == Carried::Part(FRAME)
    }

    /// Where it stands.
    pub(super) fn placed(&self, model: &Model, here: &Here) -> Option<Placed<'_>> {
        let stands = match self.carried {
            Carried::Part(part) => {
                let p = here.poses.get(part)?;
                Stands {
                    at: [p.x, p.y],
                    turn: p.angle,
                }
            }
            Carried::Rod(_, ends) => {
                let [a, b] = ends.map(|e| model.mechanism.in_plane(&here.params, &here.poses, e));
                Stands {
                    at: a,
                    turn: (b[1] - a[1]).atan2(b[0] - a[0]),
                }
            }
        };
        Some(self.outline.placed(stands))
    }
}

/// Outlines of all parts and rods, and what was left out.
pub(super) fn shapes(model: &Model) -> (Vec<Shape>, Vec<String>) {
    let machine = &model.machine;
    let (made, _) = shop::resolve::parts(machine, &crate::cams::shapes(model));
    let rig = Rig::new(model);
    let (mut all, mut left_out) = (Vec::new(), Vec::new());
    for (id, part) in machine.parts.iter().enumerate() {
        if id == FRAME {
            continue;
        }
        let stations: Vec<f64> = part.carries.iter().map(|&p| station(model, p)).collect();
        let layer_known = stations.iter().any(|s| *s != 0.0);
        let plane = part.plane;
        if part.kind == PartKind::Shaft {
            let round = machine
                .work
                .parts
                .get(id)
                .and_then(|m| radius(m.stock.as_ref()));
            let ends = shaft_ends(&rig, id);
            let outline = round.and_then(Outline::circle);
            match (outline, ends) {
                (Some(outline), Some(depth)) => all.push(Shape {
                    name: part.name.clone(),
                    carried: Carried::Part(id),
                    outline,
                    plane,
                    depth,
                    layer_known: true,
                }),
                _ => left_out.push(format!("{}: no round stock, or no length", part.name)),
            }
            continue;
        }
        let cut = made.iter().find(|m| m.name == part.name);
        let (
            Some(shop::Part {
                form: Form::Plate(plate),
                ..
            }),
            Some(own),
        ) = (cut, own_axes(model, id))
        else {
            left_out.push(format!(
                "{}: its outline is not known; give it a `stock`",
                part.name
            ));
            continue;
        };
        let outline = Outline::of(&plate.outline).and_then(|o| o.shifted(own));
        let middle = stations.iter().sum::<f64>() / stations.len().max(1) as f64;
        match outline {
            Some(outline) => all.push(Shape {
                name: part.name.clone(),
                carried: Carried::Part(id),
                outline,
                plane,
                depth: [
                    middle - 0.5 * plate.thickness,
                    middle + 0.5 * plate.thickness,
                ],
                layer_known,
            }),
            None => left_out.push(format!("{}: its outline does not close", part.name)),
        }
    }
    for (i, joint) in model.joints.iter().enumerate() {
        let crate::assemble::Joint::Rod(rod) = *joint else {
            continue;
        };
        let Some(&Constraint::Rod { a, b, length }) = model.mechanism.constraints.get(i) else {
            continue;
        };
        let name = format!("rod {}", machine.rods[rod].name);
        let planes = [a, b].map(|e| model.mechanism.anchors[e].plane);
        if planes[0] != planes[1] {
            left_out.push(format!("{name}: it leaves its plane"));
            continue;
        }
        let stock = machine.work.rods.get(rod).and_then(|m| m.stock.as_ref());
        let stations = machine.rods[rod].joins.map(|p| station(model, p));
        let apart = stations[1] - stations[0];
        let long = model.mechanism.params[length];
        let flat = (long * long - apart * apart).max(0.0).sqrt();
        let (half, thick) = match stock.map(|s| s.section) {
            Some(Section::Flat([t, w])) => (0.5 * w, 0.5 * t),
            Some(Section::Round(d) | Section::Tube([d, _]) | Section::Square(d)) => {
                (0.5 * d, 0.5 * d)
            }
            // Across its corners: it lies as it likes.
            Some(Section::Hexagon(a)) => {
                let half = 0.5 * machine::work::across_corners(6, a);
                (half, half)
            }
            None => {
                left_out.push(format!("{name}: its stock is not known"));
                continue;
            }
        };
        if let Some(outline) = Outline::capsule(flat, half) {
            all.push(Shape {
                name,
                carried: Carried::Rod(rod, [a, b]),
                outline,
                plane: planes[0],
                depth: [
                    stations[0].min(stations[1]) - thick,
                    stations[0].max(stations[1]) + thick,
                ],
                layer_known: stations.iter().any(|s| *s != 0.0),
            });
        }
    }
    (all, left_out)
}

fn station(model: &Model, point: PointId) -> f64 {
    model.machine.points.get(point).map_or(0.0, |p| p.station)
}

fn radius(stock: Option<&Stock>) -> Option<f64> {
    match stock?.section {
        Section::Round(d) | Section::Tube([d, _]) => Some(0.5 * d),
        Section::Square(a) => Some(0.5 * machine::work::across_corners(4, a)),
        Section::Hexagon(a) => Some(0.5 * machine::work::across_corners(6, a)),
        Section::Flat(_) => None,
    }
}

/// The plate's own coordinates (first point, towards the second; upright ones as drawn) in the axes of its body.
fn own_axes(model: &Model, part: PartId) -> Option<Stands> {
    let machine = &model.machine;
    let piece = machine
        .work
        .making
        .pieces
        .iter()
        .find(|p| p.of == Of::Part(part));
    let upright = matches!(piece.map(|p| &p.shape), Some(Piece::Plate(plate)) if plate.upright);
    // The pieces' datum: of an arm the centre of its shaft.
    let points = shop::resolve::points_of(machine, &Of::Part(part));
    let flat = |p: PointId| machine.points.get(p).map(|p| [p.x, p.y]);
    let origin: P = flat(*points.first()?)?;
    let turn = match points.get(1).and_then(|&p| flat(p)) {
        Some(to) if !upright => (to[1] - origin[1]).atan2(to[0] - origin[0]),
        _ => 0.0,
    };
    let drawn = model.mechanism.drawn.get(part)?;
    let (s, c) = drawn.angle.sin_cos();
    let (x, y) = (origin[0] - drawn.x, origin[1] - drawn.y);
    Some(Stands {
        at: [c * x + s * y, c * y - s * x],
        turn: turn - drawn.angle,
    })
}

/// Two shapes share a joint: they touch there by design.
pub(super) fn joined(model: &Model, a: &Shape, b: &Shape) -> bool {
    let machine = &model.machine;
    let points = |shape: &Shape| -> Vec<PointId> {
        match shape.carried {
            Carried::Part(part) => {
                let mut all = machine
                    .parts
                    .get(part)
                    .map_or_else(Vec::new, |p| p.carries.clone());
                let shaft = machine.parts.get(part).and_then(|p| p.clamped_to);
                let centre = shaft.and_then(|s| machine.parts.get(s)?.carries.first());
                all.extend(centre);
                all
            }
            Carried::Rod(rod, _) => machine.rods[rod].joins.into(),
        }
    };
    let shared = points(b);
    if points(a).iter().any(|p| shared.contains(p)) {
        return true;
    }
    let (Carried::Part(a), Carried::Part(b)) = (a.carried, b.carried) else {
        return false;
    };
    let both = |x: PartId, y: PartId| (x, y) == (a, b) || (y, x) == (a, b);
    machine.slides.iter().any(|s| both(s.part, s.on))
        || machine.slots.iter().any(|s| both(s.of, s.within))
        || machine.ratios.iter().any(|r| both(r.joins[0], r.joins[1]))
        || machine.racks.iter().any(|r| {
            let rack = machine.slides.get(r.slide).map(|s| s.part);
            rack.is_some_and(|rack| both(r.gear, rack))
        })
}
