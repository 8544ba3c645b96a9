//! Places along a shaft at which something holds on to it, and how they move when the shaft twists, bends or lies over in its bearings.

use super::rig::Rig;
use super::row::hand_anchor;
use super::stock::{hub_station, made};
use crate::assemble::Joint;
use machine::model::{Moves, PartId, PartKind};
use machine::work::JointAt;
use mechanics::model::{AnchorId, Constraint, ParamId};

/// What holds on to a shaft.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Holds {
    /// A point of its own.
    Point,
    /// What acts on its axis: at the station of its centre (0), half way along (1).
    Axis(usize),
    /// The hub of an arm.
    Arm(PartId),
}

/// A place along a shaft where it is loaded: parameters that a twist there moves, and those that a shift along the shaft's own
/// axes moves.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub(crate) station: f64,
    pub(crate) twist: Vec<(ParamId, f64)>,
    pub(crate) shift: [Vec<(ParamId, f64)>; 2],
    /// What teeth there take along with such a shift.
    pub(crate) teeth: [Vec<(ParamId, f64)>; 2],
    /// What holds on there.
    pub(crate) held: Holds,
}

/// The places along a shaft: its own further points, those on its axis where forces act, the hubs of the arms on it.
pub(crate) fn nodes(rig: &Rig<'_>, part: PartId) -> Vec<Node> {
    let machine = &rig.model.machine;
    let params = &rig.mechanism.params;
    let mut nodes = Vec::new();
    for &point in machine.parts[part].carries.iter().skip(1) {
        let Some(anchor) = rig.model.anchor_of(part, point) else {
            continue;
        };
        let a = rig.mechanism.anchors[anchor];
        // Of a joint at several stations each takes its share of the force, and moves the joint by its share.
        let slot = machine.slots.iter().position(|s| s.pin == point);
        let at = slot
            .map(JointAt::Slot)
            .filter(|at| rig.entry(*at).is_some_and(|j| !j.stations.is_empty()))
            .unwrap_or(JointAt::Point(point));
        let stations = rig.stations(Some(at), params[a.w]);
        let share = 1.0 / stations.len() as f64;
        nodes.extend(stations.into_iter().map(|station| Node {
            station,
            twist: vec![(a.u, -share * params[a.v]), (a.v, share * params[a.u])],
            shift: [vec![(a.u, share)], vec![(a.v, share)]],
            teeth: Default::default(),
            held: Holds::Point,
        }));
    }
    for (i, on_axis) in rig.on_axis(part).into_iter().flatten().enumerate() {
        let a = rig.mechanism.anchors[on_axis];
        nodes.push(Node {
            station: rig.mechanism.params[a.w],
            twist: Vec::new(),
            shift: [vec![(a.u, 1.0)], vec![(a.v, 1.0)]],
            teeth: Default::default(),
            held: Holds::Axis(i),
        });
    }
    for (i, joint) in rig.model.joints.iter().enumerate() {
        let (Joint::Clamp(arm), Some(&Constraint::Angle { angle, .. })) =
            (*joint, rig.mechanism.constraints.get(i))
        else {
            continue;
        };
        if machine.parts[arm].clamped_to != Some(part) {
            continue;
        }
        let Some(station) = hub_station(rig, arm) else {
            continue;
        };
        let hub = machine.parts[part]
            .carries
            .first()
            .and_then(|&centre| rig.model.anchor_of(arm, centre));
        let (s, c) = params[angle].sin_cos();
        // The arm's own hole moves the other way for the arm to move with the shaft.
        let shift = hub.map(|hub| {
            let a = rig.mechanism.anchors[hub];
            [vec![(a.u, -c), (a.v, s)], vec![(a.u, -s), (a.v, -c)]]
        });
        nodes.push(Node {
            station,
            twist: vec![(angle, 1.0)],
            shift: shift.unwrap_or_default(),
            teeth: Default::default(),
            held: Holds::Arm(arm),
        });
    }
    nodes
}

/// Where a shaft is held against turning, when a drive turns the shaft itself: the station of the hand, on the shaft or on an arm of it. The
/// angle of that drive with it.
pub(crate) fn held_by_hand(rig: &Rig<'_>, part: PartId) -> Option<(f64, ParamId)> {
    let mut drives = rig.model.machine.drives.iter();
    let drive = drives.position(|d| d.moves == Moves::Turns(part))?;
    let &Constraint::Angle { angle, .. } = rig.mechanism.constraints.get(rig.drives[drive]?)?
    else {
        return None;
    };
    let hand = rig.mechanism.anchors[hand_anchor(rig, drive)?];
    let station = if hand.body == part {
        rig.mechanism.params[hand.w]
    } else {
        let arm = rig.model.machine.parts.get(hand.body)?;
        (arm.clamped_to == Some(part)).then(|| hub_station(rig, hand.body))??
    };
    Some((station, angle))
}

/// The shaft that turns in a hole which a pin names last; none where another part does.
pub(crate) fn shaft_in(rig: &Rig<'_>, hole: AnchorId) -> Option<PartId> {
    let part = rig.mechanism.anchors.get(hole)?.body;
    let p = rig.model.machine.parts.get(part)?;
    let centre = rig.model.anchor_of(part, *p.carries.first()?)?;
    (p.kind == PartKind::Shaft && centre == hole).then_some(part)
}

/// The stations of a shaft's two bearings, the lesser first.
pub(crate) fn bearings(rig: &Rig<'_>, part: PartId) -> Option<[f64; 2]> {
    let [a, b] = made(rig, part)?.bearings?;
    let stations = [a.min(b), a.max(b)];
    (stations[0] < stations[1]).then_some(stations)
}

/// How far the places along a shaft go with one of its bearings: by the lever law where two are known, else all alike.
pub(crate) fn going_with(
    nodes: &[Node],
    bearings: Option<[f64; 2]>,
) -> Vec<(Option<f64>, Vec<f64>)> {
    match bearings {
        Some([a, b]) => {
            let at_b = |n: &Node| (n.station - a) / (b - a);
            vec![
                (Some(a), nodes.iter().map(|n| 1.0 - at_b(n)).collect()),
                (Some(b), nodes.iter().map(at_b).collect()),
            ]
        }
        None => vec![(None, vec![1.0; nodes.len()])],
    }
}
