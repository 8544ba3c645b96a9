//! Groups of bodies that hang together: what joints other than through the frame connect. A drive moves its own group only, so
//! a machine of a crank side and a lever side is two small problems, not one large one.

use mechanics::model::{AnchorId, BodyId, Constraint, Measure, Mechanism, ParamId};

/// A group of bodies with the mechanism they make. The parameters are those of the whole machine.
#[derive(Clone, Debug)]
pub(crate) struct Group {
    /// Bodies renumbered; measures left out.
    pub(crate) mechanism: Mechanism,
    /// Body of the whole machine for each body of the group; the frame first.
    pub(crate) bodies: Vec<BodyId>,
    /// Constraint of the whole machine for each constraint of the group.
    pub(crate) constraints: Vec<usize>,
    /// Parameters its constraints use, by parameter.
    pub(crate) uses: Vec<bool>,
}

/// Anchors a constraint uses, and parameters beside those of the anchors.
pub(crate) fn uses(constraint: &Constraint) -> (Vec<AnchorId>, Vec<ParamId>) {
    match *constraint {
        Constraint::Pin { a, b } => (vec![a, b], vec![]),
        Constraint::Rod { a, b, length } => (vec![a, b], vec![length]),
        Constraint::Arc {
            pin,
            centre,
            radius,
        } => (vec![pin, centre], vec![radius]),
        Constraint::OnLine {
            pin,
            through,
            direction,
            offset,
        } => (vec![pin, through], vec![direction, offset]),
        Constraint::Along {
            pin,
            through,
            direction,
            distance,
        } => (vec![pin, through], vec![direction, distance]),
        Constraint::Angle { angle, .. } => (vec![], vec![angle]),
        Constraint::Ratio { offset, .. } | Constraint::Course { offset, .. } => {
            (vec![], vec![offset])
        }
        Constraint::Rack {
            pin,
            through,
            direction,
            radius,
            offset,
            ..
        } => (vec![pin, through], vec![direction, radius, offset]),
        Constraint::Cam {
            centre,
            pin,
            clock,
            swell,
            roller,
            ..
        } => (vec![pin, centre], vec![clock, swell, roller]),
    }
}

/// Bodies a constraint connects, the frame among them.
pub(crate) fn bodies(mechanism: &Mechanism, constraint: &Constraint) -> Vec<BodyId> {
    let mut bodies: Vec<BodyId> = uses(constraint)
        .0
        .iter()
        .map(|&a| mechanism.anchors[a].body)
        .collect();
    match *constraint {
        Constraint::Angle { body, against, .. } => bodies.extend([body, against]),
        Constraint::Ratio { a, b, carrier, .. } | Constraint::Course { a, b, carrier, .. } => {
            bodies.extend([a, b, carrier]);
        }
        Constraint::Rack { gear, .. } => bodies.push(gear),
        _ => {}
    }
    bodies.sort_unstable();
    bodies.dedup();
    bodies
}

/// Bodies a measure looks at, the frame left out.
pub(crate) fn measured(mechanism: &Mechanism, measure: &Measure) -> Vec<BodyId> {
    let on = |a: AnchorId| mechanism.anchors[a].body;
    let mut bodies = match *measure {
        Measure::Along { a, b, .. } | Measure::Distance { a, b } => vec![on(a), on(b)],
        Measure::AlongBody { a, b, body, .. } => vec![on(a), on(b), body],
        Measure::Angle { body, against, .. } => vec![body, against],
    };
    bodies.retain(|&b| b != 0);
    bodies
}

/// Splits a mechanism. Returns the groups in the order of their first bodies, and the group of each body.
pub(crate) fn split(mechanism: &Mechanism) -> (Vec<Group>, Vec<Option<usize>>) {
    let mut head: Vec<BodyId> = (0..mechanism.bodies.len()).collect();
    for c in &mechanism.constraints {
        let mut moving = bodies(mechanism, c).into_iter().filter(|&b| b != 0);
        if let Some(first) = moving.next() {
            for b in moving {
                let (p, q) = (find(&mut head, first), find(&mut head, b));
                head[p.max(q)] = p.min(q);
            }
        }
    }
    let mut group_of = vec![None; mechanism.bodies.len()];
    let mut members: Vec<Vec<BodyId>> = Vec::new();
    for b in 1..mechanism.bodies.len() {
        let root = find(&mut head, b);
        let index = *group_of[root].get_or_insert_with(|| {
            members.push(vec![0]);
            members.len() - 1
        });
        group_of[b] = Some(index);
        members[index].push(b);
    }
    let groups = members
        .into_iter()
        .enumerate()
        .map(|(i, bodies)| group(mechanism, i, bodies, &group_of))
        .collect();
    (groups, group_of)
}

fn group(
    mechanism: &Mechanism,
    index: usize,
    members: Vec<BodyId>,
    group_of: &[Option<usize>],
) -> Group {
    let mut local_body = vec![0; mechanism.bodies.len()];
    for (local, &b) in members.iter().enumerate() {
        local_body[b] = local;
    }
    let mut own = Mechanism {
        planes: mechanism.planes.clone(),
        bodies: members.iter().map(|&b| mechanism.bodies[b]).collect(),
        params: mechanism.params.clone(),
        cams: mechanism.cams.clone(),
        drawn: members.iter().map(|&b| mechanism.drawn[b]).collect(),
        ..Mechanism::default()
    };
    let mut local_anchor = vec![None; mechanism.anchors.len()];
    let mut used = vec![false; mechanism.params.len()];
    let mut constraints = Vec::new();
    for (i, c) in mechanism.constraints.iter().enumerate() {
        if !bodies(mechanism, c)
            .iter()
            .any(|&b| group_of[b] == Some(index))
        {
            continue;
        }
        let (anchors, params) = uses(c);
        for p in params {
            used[p] = true;
        }
        for a in anchors {
            let anchor = mechanism.anchors[a];
            local_anchor[a].get_or_insert_with(|| {
                own.anchors.push(mechanics::model::Anchor {
                    body: local_body[anchor.body],
                    ..anchor
                });
                own.anchors.len() - 1
            });
            for p in [anchor.u, anchor.v, anchor.w] {
                used[p] = true;
            }
        }
        own.constraints
            .push(renumber(c, &local_anchor, &local_body));
        constraints.push(i);
    }
    Group {
        mechanism: own,
        bodies: members,
        constraints,
        uses: used,
    }
}

fn renumber(
    constraint: &Constraint,
    anchor: &[Option<AnchorId>],
    body_of: &[BodyId],
) -> Constraint {
    let at = |a: AnchorId| anchor[a].unwrap_or(0);
    match *constraint {
        Constraint::Pin { a, b } => Constraint::Pin { a: at(a), b: at(b) },
        Constraint::Rod { a, b, length } => Constraint::Rod {
            a: at(a),
            b: at(b),
            length,
        },
        Constraint::Arc {
            pin,
            centre,
            radius,
        } => Constraint::Arc {
            pin: at(pin),
            centre: at(centre),
            radius,
        },
        Constraint::OnLine {
            pin,
            through,
            direction,
            offset,
        } => Constraint::OnLine {
            pin: at(pin),
            through: at(through),
            direction,
            offset,
        },
        Constraint::Along {
            pin,
            through,
            direction,
            distance,
        } => Constraint::Along {
            pin: at(pin),
            through: at(through),
            direction,
            distance,
        },
        Constraint::Angle {
            body,
            against,
            angle,
        } => Constraint::Angle {
            body: body_of[body],
            against: body_of[against],
            angle,
        },
        Constraint::Ratio {
            a,
            b,
            carrier,
            sizes,
            offset,
        } => Constraint::Ratio {
            a: body_of[a],
            b: body_of[b],
            carrier: body_of[carrier],
            sizes,
            offset,
        },
        Constraint::Rack {
            gear,
            pin,
            through,
            direction,
            radius,
            offset,
        } => Constraint::Rack {
            gear: body_of[gear],
            pin: at(pin),
            through: at(through),
            direction,
            radius,
            offset,
        },
        Constraint::Course {
            cam,
            a,
            b,
            carrier,
            offset,
        } => Constraint::Course {
            cam,
            a: body_of[a],
            b: body_of[b],
            carrier: body_of[carrier],
            offset,
        },
        Constraint::Cam {
            cam,
            centre,
            pin,
            clock,
            swell,
            roller,
        } => Constraint::Cam {
            cam,
            centre: at(centre),
            pin: at(pin),
            clock,
            swell,
            roller,
        },
    }
}

/// The lowest body that a body hangs together with, as far as is known.
fn find(head: &mut [BodyId], mut b: BodyId) -> BodyId {
    while head[b] != b {
        head[b] = head[head[b]];
        b = head[b];
    }
    b
}
