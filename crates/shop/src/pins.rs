//! Which piece goes through which joint: pins and studs of the file by their joint, by their name, and by their size. mm.

use crate::resolve;
use machine::Machine;
use machine::making::{Of, Piece, Shape};
use machine::model::PointId;
use machine::work::JointAt;

/// What goes through a joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum By {
    /// One of the loose pieces, by its place among the pieces.
    Loose(usize),
    /// A journal of a part that meets there, or of a piece that is none of the loose ones.
    Own,
    /// It is bought by its name.
    Bought,
}

/// A joint's pin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pin {
    /// Its point.
    pub(crate) point: PointId,
    /// Its diameter.
    pub(crate) diameter: f64,
    /// What goes through; nothing of the file when none.
    pub(crate) by: Option<By>,
}

/// A plain step of this diameter, and of this class where both have one.
fn has_step(piece: &Piece, diameter: f64, class: Option<&str>) -> bool {
    let Shape::Turned(t) = &piece.shape else {
        return false;
    };
    t.steps.iter().any(|s| {
        s.thread.is_none()
            && s.sides == 0
            && s.offset.is_none()
            && (s.diameter.0 - diameter).abs() < 1e-6
            && match (class, &s.diameter.1) {
                (Some(a), Some(b)) => a == b.class,
                _ => true,
            }
    })
}

/// The piece is turned for this joint, or called after it.
fn meant(piece: &Piece, point: PointId, name: &str) -> bool {
    let stepped = match &piece.shape {
        Shape::Turned(t) => t.steps.iter().any(|s| s.joint == Some(point)),
        Shape::Plate(_) => false,
    };
    stepped || piece.of == Of::Loose && (piece.name == name || piece.name == format!("{name}-pin"))
}

/// All pins of the machine's joints, with what makes them.
pub(crate) fn all(machine: &Machine) -> Vec<Pin> {
    let pieces = &machine.work.making.pieces;
    let mut left: Vec<usize> = pieces.iter().map(|p| p.count).collect();
    let mut points = resolve::pins(machine);
    for g in &machine.genevas {
        if let Some(d) = resolve::joint_size(machine, g.pin)
            && points.iter().all(|p| p.0 != g.pin)
        {
            points.push((g.pin, d));
        }
    }
    let mut pins: Vec<Pin> = points
        .into_iter()
        .map(|(point, diameter)| Pin {
            point,
            diameter,
            by: None,
        })
        .collect();
    for pin in &mut pins {
        let name = machine.points.get(pin.point).map_or("", |p| &p.name);
        if let Some(n) = pieces.iter().position(|p| meant(p, pin.point, name)) {
            left[n] = left[n].saturating_sub(1);
            pin.by = Some(if pieces[n].of == Of::Loose {
                By::Loose(n)
            } else {
                By::Own
            });
            continue;
        }
        let mut bought = machine.work.making.purchases.iter();
        if bought.any(|p| p.name == name || p.name == format!("{name}-pin")) {
            pin.by = Some(By::Bought);
        }
    }
    for pin in pins.iter_mut().filter(|p| p.by.is_none()) {
        let joint = machine
            .work
            .joints
            .iter()
            .find(|j| j.at == JointAt::Point(pin.point));
        let class = joint.and_then(|j| j.pin.as_ref()).map(|p| p.class.as_str());
        let own = pieces.iter().any(|p| match p.of {
            Of::Part(id) => {
                machine
                    .parts
                    .get(id)
                    .is_some_and(|q| q.carries.contains(&pin.point))
                    && has_step(p, pin.diameter, None)
            }
            _ => false,
        });
        if own {
            pin.by = Some(By::Own);
            continue;
        }
        // Several alike go through several joints.
        let like = (0..pieces.len()).find(|&n| {
            left[n] > 0 && pieces[n].of == Of::Loose && has_step(&pieces[n], pin.diameter, class)
        });
        if let Some(n) = like {
            left[n] -= 1;
            pin.by = Some(By::Loose(n));
        }
    }
    pins
}

/// Names of the points that a loose piece goes through, its own name with them: holes of these names take it.
pub(crate) fn places(machine: &Machine, piece: &str) -> Vec<String> {
    let pieces = &machine.work.making.pieces;
    let mut all = vec![piece.to_owned()];
    for pin in self::all(machine) {
        let Some(By::Loose(n)) = pin.by else { continue };
        let name = machine.points.get(pin.point).map(|p| p.name.clone());
        if pieces.get(n).is_some_and(|p| p.name == piece) {
            all.extend(name.filter(|n| n != piece));
        }
    }
    // What it is turned for, whether anything of the file turns on it or not.
    let turned = pieces.iter().find(|p| p.name == piece).map(|p| &p.shape);
    if let Some(Shape::Turned(t)) = turned {
        for point in t.steps.iter().filter_map(|s| s.joint) {
            let name = machine.points.get(point).map(|p| p.name.clone());
            all.extend(
                name.filter(|n| !all.contains(n))
                    .into_iter()
                    .collect::<Vec<_>>(),
            );
        }
    }
    all
}
