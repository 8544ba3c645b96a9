//! What gives under load: rods and arms from their stock, shafts in twist and bending, joints and the frame from the file.

use super::bars::{Bars, Soft, Unit};
use super::nodes::{bearings, going_with, held_by_hand, nodes, shaft_in};
use super::rig::Rig;
use super::stock::{made, second_moment, stock, torsion_constant};
use super::{beam, pins};
use crate::assemble::Joint;
use machine::model::{FRAME, PartId, PartKind, PointId};
use machine::work::JointAt;
use mechanics::model::{AnchorId, BodyId, Constraint, ParamId, Pose};
use mechanics::stretch::Give;
use mechanics::tangent::{Singular, Tangent};

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
    /// Rows of rods without stock: what they share with others is not determined.
    unsure: Vec<bool>,
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
        self.gives.iter().for_each(|g| g.yields(forces, &mut moved));
        moved
    }

    /// The equations of a pose, joints that repeat others sharing by what gives.
    pub(crate) fn tangent<'t>(
        &self,
        rig: &'t Rig<'_>,
        params: &'t [f64],
        poses: &'t [Pose],
    ) -> Result<Tangent<'t>, Singular> {
        let mut tangent = Tangent::new(&rig.mechanism, params, poses)?;
        tangent.share_by(&self.gives, &self.unsure)?;
        Ok(tangent)
    }
}

pub(crate) fn members(rig: &Rig<'_>) -> Members {
    let mut all = Members {
        unsure: vec![false; rig.mechanism.equations()],
        ..Members::default()
    };
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
            _ => {
                all.stiff.push(name.clone());
                if let Some(unsure) = all.unsure.get_mut(rig.rows[i]) {
                    *unsure = true;
                }
            }
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
    let ways = ways(rig, part, &bars);
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

/// Parameters through which a part is pressed, their sense, and where on its bars and which way.
pub(crate) fn ways(
    rig: &Rig<'_>,
    part: PartId,
    bars: &Bars,
) -> Vec<(ParamId, f64, (AnchorId, Unit))> {
    let mut ways: Vec<(ParamId, f64, (AnchorId, Unit))> = Vec::new();
    for hole in bars.holes() {
        let a = rig.mechanism.anchors[hole];
        ways.push((a.u, 1.0, (hole, Unit::Right)));
        ways.push((a.v, 1.0, (hole, Unit::Up)));
    }
    ways.extend(turned(rig, part));
    ways
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
        let mut twists: Vec<_> = nodes.iter().map(|n| n.twist.clone()).collect();
        let mut stations: Vec<f64> = nodes.iter().map(|n| n.station).collect();
        let mut held = datum;
        if let Some((station, angle)) = held_by_hand(rig, part) {
            // It is held where the hand is: the place that the drive's angle is drawn at turns against it, and everything else on the shaft
            // stays behind by its own twist.
            let behind = nodes.iter().flat_map(|n| &n.twist);
            let behind = behind.map(|&(p, k)| (p, -k));
            twists.push(behind.chain([(angle, 1.0)]).collect());
            stations.push(datum);
            held = station;
        }
        let twists: Vec<_> = twists.iter().map(Vec::as_slice).collect();
        let twist = together(&twists, |i, j| {
            beam::overlap(stations[i] - held, stations[j] - held) / gj
        });
        push("twist", vec![twist]);
    }
    let both = |coefficient: &dyn Fn(usize, usize) -> f64| {
        let axis = |k: usize| {
            let shifts: Vec<_> = nodes.iter().map(|n| n.shift[k].as_slice()).collect();
            together(&shifts, coefficient)
        };
        vec![axis(0), axis(1)]
    };
    let bearings = bearings(rig, part);
    if let (Some((stock, material)), Some(bearings)) = (&stock, bearings) {
        let ei = material.modulus * second_moment(stock.section);
        push(
            "bending",
            both(&|i, j| beam::on_two_bearings(nodes[i].station, nodes[j].station, bearings) / ei),
        );
    }
    if let Some(k) = rig.stiffness(JointAt::Point(centre)) {
        let each = going_with(&nodes, bearings);
        push(
            "bearings",
            both(&|i, j| each.iter().map(|(_, goes)| goes[i] * goes[j] / k).sum()),
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
                // A shaft has the give of its bearings in its own member.
                if shaft_in(rig, b).is_some() {
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
