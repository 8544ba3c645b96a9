//! Checks on the machine as a whole: whether every part hangs together with the frame.

use std::collections::HashMap;

use crate::declared::{Declared, Named, names};
use crate::desk::{Desk, Kind};
use crate::diagnostic::Diagnostic;
use crate::ground::Ground;
use crate::model::{FRAME, Machine, PartId, PartKind, PointId, Rod, Slide, Slot};
use crate::words::clip;

/// What connects parts.
pub(crate) struct Joints<'a> {
    pub(crate) rods: &'a [Option<Rod>],
    pub(crate) slides: &'a [Option<Slide>],
    pub(crate) slots: &'a [Option<Slot>],
    /// Parts that gears, belts, racks or drives give their angle, by index.
    pub(crate) turned: &'a [bool],
}

/// Sets of things that hang together.
struct Sets(Vec<usize>);

impl Sets {
    fn root(&mut self, mut here: usize) -> usize {
        while let Some(&up) = self.0.get(here) {
            if up == here {
                break;
            }
            let above = self.0.get(up).copied().unwrap_or(up);
            if let Some(slot) = self.0.get_mut(here) {
                *slot = above;
            }
            here = above;
        }
        here
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        // The lower index leads, so that the frame leads whatever hangs on it.
        if let Some(slot) = self.0.get_mut(a.max(b)) {
            *slot = a.min(b);
        }
    }
}

/// Warns of parts that nothing carries, groups of parts that nothing joins to the frame, and rods with a loose end: they stay where
/// they are drawn until they are joined to something, so that a machine can be drawn in any order.
pub(crate) fn connected(desk: &mut Desk, ground: &Ground, joints: &Joints, declared: &Declared) {
    let parts = ground.parts.len();
    // Parts first, then points: a point is one with every part that carries it.
    let node = |point: PointId| parts + point;
    let mut sets = Sets((0..parts + ground.spots.len()).collect());
    for (id, part) in ground.parts.iter().enumerate() {
        for &point in &part.carries {
            sets.join(id, node(point));
        }
        if let Some(shaft) = part.clamped_to {
            sets.join(id, shaft);
        }
    }
    for rod in joints.rods.iter().flatten() {
        sets.join(node(rod.joins[0]), node(rod.joins[1]));
    }
    for slide in joints.slides.iter().flatten() {
        sets.join(slide.part, slide.on);
    }
    for slot in joints.slots.iter().flatten() {
        sets.join(slot.of, slot.within);
    }
    let mut groups: Vec<Vec<PartId>> = Vec::new();
    let mut group_of: HashMap<usize, usize> = HashMap::new();
    for part in 1..parts {
        let root = sets.root(part);
        if root == FRAME {
            continue;
        }
        let group = *group_of.entry(root).or_insert(groups.len());
        match groups.get_mut(group) {
            Some(group) => group.push(part),
            None => groups.push(vec![part]),
        }
    }
    for group in groups {
        let Some(&first) = group.first() else {
            continue;
        };
        let place = desk.place(Kind::Part, first);
        let problem = if group.len() == 1 {
            let what = ground.what(first);
            Diagnostic::warning("carried-nowhere", format!("{what} is carried nowhere: nothing pins, slides, clamps or rods it"))
                .at(place, "")
                .help("let it share a point with another part or the frame, put it on a slide, or join one of its points by a rod")
        } else {
            let all = names(desk, Kind::Part, &group);
            Diagnostic::warning(
                "carried-nowhere",
                format!("{all} hang together, but nothing joins them to the frame"),
            )
            .at(place, "")
            .help("let one of them share a point with the frame, or slide on it")
        };
        desk.push(problem);
    }
    loose_ends(desk, ground, joints, &declared.rods);
}

/// A point that only one rod joins and no part carries would swing about freely.
fn loose_ends(desk: &mut Desk, ground: &Ground, joints: &Joints, named: &[Named]) {
    let mut joined = vec![0_usize; ground.spots.len()];
    for point in joints.rods.iter().flatten().flat_map(|r| r.joins) {
        if let Some(joined) = joined.get_mut(point) {
            *joined += 1;
        }
    }
    for (rod, named) in joints.rods.iter().zip(named) {
        for point in rod.iter().flat_map(|r| r.joins) {
            if ground.carriers(point).is_empty() && joined.get(point) == Some(&1) {
                let name = desk.name(Kind::Point, point);
                let place = named
                    .entry
                    .node
                    .entries()
                    .into_iter()
                    .find(|e| e.name == "joins")
                    .map_or(named.entry.place, |e| e.node.place);
                desk.push(
                    Diagnostic::warning(
                        "loose-end",
                        format!("{} ends at {name}, which nothing else holds", named.what()),
                    )
                    .at(place, "")
                    .help(format!(
                        "let a part carry {name}, or join it by a second rod"
                    )),
                );
            }
        }
    }
}

/// Reports parts with too few points to have a direction.
pub(crate) fn enough_points(desk: &mut Desk, ground: &Ground, joints: &Joints) {
    let mut kept = joints.turned.to_vec();
    for slide in joints.slides.iter().flatten() {
        if let Some(kept) = kept.get_mut(slide.part) {
            *kept = true;
        }
    }
    for (id, part) in ground.parts.iter().enumerate().skip(1) {
        let needs_two = part.kind == PartKind::Part
            && part.clamped_to.is_none()
            && kept.get(id) == Some(&false);
        if needs_two && part.carries.len() == 1 {
            let name = clip(&part.name);
            desk.push(
                Diagnostic::error(
                    "too-few-points",
                    format!("{name} carries one point and needs two: one point gives no direction"),
                )
                .at(part.place, "")
                .help(
                    "name a second point of it, put it on a slide, or let a gear or drive turn it",
                ),
            );
        }
    }
}

/// Warns of a machine in which nothing moves: an empty sheet.
pub(crate) fn something_moves(desk: &mut Desk, declared: &Declared) {
    if declared.parts.is_empty() && declared.rods.is_empty() {
        desk.push(
            Diagnostic::warning("nothing-moves", "the machine has no part: nothing but the frame")
                .at(declared.frame.as_ref().map(|f| f.place).unwrap_or_default(), "")
                .help("write a part and below it the points it carries: `[part.lever]`, `carries = [\"lever-pivot\", \"lever-pin\"]`"),
        );
    }
}

/// Warns of points that nothing carries, joins or is built from.
pub(crate) fn idle_points(desk: &mut Desk, machine: &Machine) {
    // Points of rows stand behind the others and are carried.
    let rows_from = machine.points.len() - machine.rows.len().min(machine.points.len());
    for (index, point) in machine.points.iter().enumerate() {
        let held = desk.is_used(index) || index >= rows_from;
        if !held {
            desk.push(
                Diagnostic::warning(
                    "idle-point",
                    format!("nothing uses the point {}", clip(&point.name)),
                )
                .at(point.place, "")
                .help("let a part carry it, or take it out"),
            );
        }
    }
}
