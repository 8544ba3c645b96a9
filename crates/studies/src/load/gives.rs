//! What gives under load: rods and arms from their stock, shafts in twist and bending, joints and the frame from the file.

use super::bars::{Bars, Soft, Unit};
use super::rig::Rig;
use super::stock::{hub_station, made, second_moment, stock, torsion_constant};
use super::{beam, pins};
use crate::assemble::Joint;
use machine::model::{FRAME, PartId, PartKind, PointId};
use machine::work::JointAt;
use mechanics::model::{AnchorId, BodyId, Constraint, ParamId};
use mechanics::stretch::Give;

/// A member that gives.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Member {
    pub(crate) name: String,
    pub(crate) gives: Vec<Give>,
}

/// All members that give, and those taken as stiff.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Members {
    pub(crate) members: Vec<Member>,
    /// All their gives.
    pub(crate) gives: Vec<Give>,
    /// Nothing is known of these.
    pub(crate) stiff: Vec<String>,
}

impl Members {
    /// The same with the give of one member multiplied by a factor.
    pub(crate) fn with(&self, member: usize, factor: f64) -> Self {
        let mut other = self.clone();
        for row in other
            .members
            .get_mut(member)
            .into_iter()
            .flat_map(|m| &mut m.gives)
            .flat_map(|g| &mut g.compliance)
        {
            row.iter_mut().for_each(|c| *c *= factor);
        }
        other.gives = other.members.iter().flat_map(|m| m.gives.clone()).collect();
        other
    }

    /// How far every parameter yields under these forces on them.
    pub(crate) fn yields(&self, forces: &[f64]) -> Vec<f64> {
        let mut moved = vec![0.0; forces.len()];
        for give in &self.gives {
            for (p, row) in give.params.iter().zip(&give.compliance) {
                if let Some(m) = moved.get_mut(*p) {
                    *m += give
                        .params
                        .iter()
                        .zip(row)
                        .map(|(q, c)| c * forces.get(*q).copied().unwrap_or(0.0))
                        .sum::<f64>();
                }
            }
        }
        moved
    }
}

pub(crate) fn members(rig: &Rig<'_>) -> Members {
    let mut all = Members::default();
    rods(rig, &mut all);
    for part in 0..rig.model.machine.parts.len() {
        if part == FRAME {
            continue;
        }
        if rig.model.machine.parts[part].kind == PartKind::Shaft {
            shaft(rig, part, &mut all);
        } else {
            bars_of(rig, part, &mut all);
        }
    }
    joints(rig, &mut all);
    frame(rig, &mut all);
    all.gives = all.members.iter().flat_map(|m| m.gives.clone()).collect();
    all
}

fn rods(rig: &Rig<'_>, all: &mut Members) {
    for (i, joint) in rig.model.joints.iter().enumerate() {
        let (Joint::Rod(rod), Some(&Constraint::Rod { length, .. })) =
            (*joint, rig.mechanism.constraints.get(i))
        else {
            continue;
        };
        let r = &rig.model.machine.rods[rod];
        let name = format!("rod {}", r.name);
        match stock(rig, rig.work().rods.get(rod)) {
            Some((stock, material)) if material.modulus > 0.0 => {
                let give = rig.mechanism.params[length]
                    / (material.modulus * super::stock::area(stock.section));
                all.members.push(Member {
                    name: name.clone(),
                    gives: vec![Give::single(length, give)],
                });
            }
            _ => all.stiff.push(name.clone()),
        }
        for point in r.joins {
            let other = carrier(rig, rod, point);
            if other == Other::Journal && rig.stiffness(JointAt::Point(point)).is_none() {
                continue;
            }
            let at = JointAt::Point(point);
            let lugs = [pins::of_rod(rig, rod), other.lug(rig, at)];
            if let Some(give) = pins::give(rig, at, lugs, [None, other.part()]) {
                let name = format!(
                    "{name}, end on pin {}",
                    rig.model.machine.points[point].name
                );
                all.members.push(Member {
                    name,
                    gives: vec![Give::single(length, give)],
                });
            }
        }
    }
}

/// What a rod is pinned to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Other {
    Part(PartId),
    Rod(usize),
    Journal,
    Frame,
}

impl Other {
    fn part(self) -> Option<PartId> {
        match self {
            Self::Part(part) => Some(part),
            Self::Frame => Some(FRAME),
            Self::Rod(_) | Self::Journal => None,
        }
    }

    fn lug(self, rig: &Rig<'_>, at: JointAt) -> Option<pins::Lug> {
        match self {
            Self::Part(part) => pins::of_part(rig, part, at),
            Self::Rod(rod) => pins::of_rod(rig, rod),
            Self::Journal | Self::Frame => None,
        }
    }
}

fn carrier(rig: &Rig<'_>, rod: usize, point: PointId) -> Other {
    let machine = &rig.model.machine;
    let mut carriers =
        (0..machine.parts.len()).filter(|&p| machine.parts[p].carries.contains(&point));
    match carriers.next() {
        Some(FRAME) => carriers.next().map_or(Other::Frame, Other::Part),
        Some(part) if pins::is_journal(rig, part) => Other::Journal,
        Some(part) => Other::Part(part),
        None => {
            let mut rods = machine.rods.iter().enumerate();
            rods.find(|(other, r)| *other != rod && r.joins.contains(&point))
                .map_or(Other::Frame, |(other, _)| Other::Rod(other))
        }
    }
}

/// A part as bars of its stock, held at its datum hole: how its other holes yield, and how far it turns where slots, drives and hubs
/// hold on to it.
fn bars_of(rig: &Rig<'_>, part: PartId, all: &mut Members) {
    let bars = Bars::of(rig, part);
    let name = rig.model.machine.parts[part].name.clone();
    let Some((stock, material)) = stock(rig, made(rig, part)).filter(|s| s.1.modulus > 0.0) else {
        if bars.length() > 0.0 {
            all.stiff.push(name);
        }
        return;
    };
    let area = super::stock::area(stock.section);
    let ga = material.shear * area / super::stock::shear_factor(stock.section);
    let soft = Soft {
        stretch: 1.0 / (material.modulus * area),
        bend: 1.0 / (material.modulus * second_moment(stock.section)),
        shear: if ga > 0.0 { 1.0 / ga } else { 0.0 },
    };
    let mut ways: Vec<(ParamId, f64, (AnchorId, Unit))> = Vec::new();
    for hole in bars.holes() {
        let a = rig.mechanism.anchors[hole];
        ways.push((a.u, 1.0, (hole, Unit::Right)));
        ways.push((a.v, 1.0, (hole, Unit::Up)));
    }
    ways.extend(turned(rig, part));
    let row = |(_, s, one): &(ParamId, f64, (AnchorId, Unit))| {
        let all = ways.iter();
        all.map(|(_, t, other)| s * t * bars.compliance(*one, *other, soft))
            .collect()
    };
    let give = Give {
        params: ways.iter().map(|w| w.0).collect(),
        compliance: ways.iter().map(row).collect(),
    };
    all.members.push(Member {
        name,
        gives: vec![give],
    });
}

/// Parameters that turn with a hole of a part, their sense, and that hole: a slot's direction with the hole it starts from, the angle of a
/// drive or hub with the pin about which it turns.
fn turned(rig: &Rig<'_>, part: PartId) -> Vec<(ParamId, f64, (AnchorId, Unit))> {
    let m = &rig.mechanism;
    let pin = |one: BodyId, other: BodyId| {
        m.constraints.iter().find_map(|c| match *c {
            Constraint::Pin { a, b } => {
                let bodies = [m.anchors[a].body, m.anchors[b].body];
                match () {
                    () if bodies == [one, other] => Some(a),
                    () if bodies == [other, one] => Some(b),
                    () => None,
                }
            }
            _ => None,
        })
    };
    let one = |constraint: &Constraint| match *constraint {
        Constraint::OnLine {
            through, direction, ..
        } if m.anchors[through].body == part => Some((direction, 1.0, (through, Unit::Turn))),
        Constraint::Angle {
            body,
            against,
            angle,
        } if body == part || against == part => {
            // The hole that turns on leaves the body behind.
            let (other, sense) = if body == part {
                (against, -1.0)
            } else {
                (body, 1.0)
            };
            Some((angle, sense, (pin(part, other)?, Unit::Turn)))
        }
        _ => None,
    };
    m.constraints.iter().filter_map(one).collect()
}

/// A place along a shaft where it is loaded: parameters that a twist there moves, and those that a shift along the shaft's own
/// axes moves.
struct Node {
    station: f64,
    twist: Vec<(ParamId, f64)>,
    shift: [Vec<(ParamId, f64)>; 2],
}

fn nodes(rig: &Rig<'_>, part: PartId) -> Vec<Node> {
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
        }));
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
        });
    }
    nodes
}

fn shaft(rig: &Rig<'_>, part: PartId, all: &mut Members) {
    let p = &rig.model.machine.parts[part];
    let Some(&centre) = p.carries.first() else {
        return;
    };
    let datum = rig.model.machine.points[centre].station;
    let nodes = nodes(rig, part);
    let made = made(rig, part);
    let stock = stock(rig, made).filter(|s| s.1.modulus > 0.0);
    if stock.is_none() && nodes.iter().any(|n| n.station != datum) {
        all.stiff.push(p.name.clone());
    }
    let mut push = |what: &str, gives: Vec<Give>| {
        if gives
            .iter()
            .any(|g| g.compliance.iter().flatten().any(|c| *c != 0.0))
        {
            all.members.push(Member {
                name: format!("{}, {what}", p.name),
                gives,
            });
        }
    };
    if let Some((stock, material)) = &stock
        && material.shear > 0.0
    {
        let gj = material.shear * torsion_constant(stock.section);
        let twists: Vec<_> = nodes.iter().map(|n| n.twist.as_slice()).collect();
        let twist = together(&twists, |i, j| {
            beam::overlap(nodes[i].station - datum, nodes[j].station - datum) / gj
        });
        push("twist", vec![twist]);
    }
    let Some([a, b]) = made
        .and_then(|m| m.bearings)
        .map(|[a, b]| [a.min(b), a.max(b)])
        .filter(|[a, b]| b > a)
    else {
        return;
    };
    let both = |coefficient: &dyn Fn(usize, usize) -> f64| {
        let axis = |k: usize| {
            let shifts: Vec<_> = nodes.iter().map(|n| n.shift[k].as_slice()).collect();
            together(&shifts, coefficient)
        };
        vec![axis(0), axis(1)]
    };
    if let Some((stock, material)) = &stock {
        let ei = material.modulus * second_moment(stock.section);
        push(
            "bending",
            both(&|i, j| beam::on_two_bearings(nodes[i].station, nodes[j].station, [a, b]) / ei),
        );
    }
    if let Some(k) = rig.stiffness(JointAt::Point(centre)) {
        let share = |i: usize| (nodes[i].station - a) / (b - a);
        push(
            "bearings",
            both(&|i, j| ((1.0 - share(i)) * (1.0 - share(j)) + share(i) * share(j)) / k),
        );
    }
}

/// The give of several places together: each place's unit movement moves its parameters, and `coefficient` is the movement of
/// one place for a unit force on another.
fn together(places: &[&[(ParamId, f64)]], coefficient: impl Fn(usize, usize) -> f64) -> Give {
    let mut params: Vec<ParamId> = Vec::new();
    for (p, _) in places.iter().copied().flatten() {
        if !params.contains(p) {
            params.push(*p);
        }
    }
    let vector = |place: &[(ParamId, f64)]| -> Vec<f64> {
        params
            .iter()
            .map(|p| place.iter().filter(|q| q.0 == *p).map(|q| q.1).sum())
            .collect()
    };
    let vectors: Vec<Vec<f64>> = places.iter().map(|p| vector(p)).collect();
    let mut compliance = vec![vec![0.0; params.len()]; params.len()];
    for (i, one) in vectors.iter().enumerate() {
        for (j, other) in vectors.iter().enumerate() {
            let c = coefficient(i, j);
            for (row, a) in compliance.iter_mut().zip(one) {
                row.iter_mut()
                    .zip(other)
                    .for_each(|(sum, b)| *sum += c * a * b);
            }
        }
    }
    Give { params, compliance }
}

fn joints(rig: &Rig<'_>, all: &mut Members) {
    let m = &rig.mechanism;
    for (i, constraint) in m.constraints.iter().enumerate() {
        let Some(at) = rig.at(i) else {
            continue;
        };
        let give = match *constraint {
            Constraint::Pin { a, b } => {
                let parts = [a, b].map(|a| m.anchors[a].body);
                if parts.iter().any(|&p| pins::is_journal(rig, p)) {
                    rig.stiffness(at).map(|k| 1.0 / k)
                } else {
                    pins::give(
                        rig,
                        at,
                        parts.map(|p| pins::of_part(rig, p, at)),
                        parts.map(Some),
                    )
                }
            }
            _ => rig.stiffness(at).map(|k| 1.0 / k),
        };
        let Some(give) = give else {
            continue;
        };
        let gives = match (*constraint, rig.model.joints[i]) {
            (Constraint::Pin { b, .. }, _) if !rig.is_hub(i) => {
                // A shaft on two bearings has their give in its own member.
                let part = rig.model.machine.parts.get(m.anchors[b].body);
                if part.is_some_and(|p| p.kind == PartKind::Shaft)
                    && made(rig, m.anchors[b].body).is_some_and(|m| m.bearings.is_some())
                {
                    continue;
                }
                vec![
                    Give::single(m.anchors[b].u, give),
                    Give::single(m.anchors[b].v, give),
                ]
            }
            (Constraint::OnLine { offset, .. } | Constraint::Rack { offset, .. }, _) => {
                vec![Give::single(offset, give)]
            }
            (Constraint::Arc { radius, .. }, _) => vec![Give::single(radius, give)],
            (Constraint::Cam { swell, .. }, _) => vec![Give::single(swell, give)],
            _ => continue,
        };
        let name = rig
            .reported(i)
            .map_or_else(|| rig.model.joint_name(i), |j| rig.joints[j].name.clone());
        all.members.push(Member { name, gives });
    }
}

fn frame(rig: &Rig<'_>, all: &mut Members) {
    for s in &rig.work().stiffnesses {
        let Some(anchor) = rig.model.anchor_of(FRAME, s.at).filter(|_| s.value > 0.0) else {
            continue;
        };
        let a = rig.mechanism.anchors[anchor];
        let gives = [a.u, a.v, a.w]
            .map(|p| Give::single(p, 1.0 / s.value))
            .to_vec();
        all.members.push(Member {
            name: format!("frame, {}", s.name),
            gives,
        });
    }
}
