//! What the joints of a part do to the bolts that hold it on its seat.

use super::answers::JointForce;
use super::rig::{Found, Rig};
use crate::assemble::Joint;
use crate::run::Here;
use elements::threads::group::Acts;
use machine::fitting::Bolts;
use machine::model::FRAME;
use mechanics::model::Constraint;

/// What acts on a set of bolts in one pose, friction of the joints counted; none where nothing of it presses on the part.
pub(super) fn on_bolts(
    rig: &Rig<'_>,
    bolts: &Bolts,
    here: &Here,
    forces: &[JointForce],
) -> Option<Acts> {
    let (model, m) = (rig.model, &rig.mechanism);
    let params = rig.params(here);
    let centre = model.anchor_of(bolts.part, bolts.centre)?;
    let middle = m.in_plane(&params, &here.poses, centre);
    let body = |anchor: usize| m.anchors.get(anchor).map(|a| a.body);
    let mut force = [0.0; 2];
    let mut moment = 0.0;
    let mut any = false;
    for (found, told) in rig.found.iter().zip(forces) {
        // Which way the told force acts on this part, if it is one of its joints.
        let sign = match *found {
            Found::Pin(c) => match (model.joints.get(c), m.constraints.get(c)) {
                (Some(Joint::Pin { point, .. }), Some(&Constraint::Pin { a, b }))
                    if bolts.carries.contains(point) =>
                {
                    if body(b) == Some(bolts.part) {
                        1.0
                    } else if body(a) == Some(bolts.part) {
                        -1.0
                    } else {
                        continue;
                    }
                }
                _ => continue,
            },
            Found::Rod(c) => match (model.joints.get(c), m.constraints.get(c)) {
                (Some(Joint::Rod(rod)), Some(&Constraint::Rod { a, b, .. })) => {
                    let joins = model.machine.rods.get(*rod)?.joins;
                    let end = [a, b].into_iter().zip(joins).position(|(e, p)| {
                        body(e) == Some(bolts.part) && bolts.carries.contains(&p)
                    });
                    match end {
                        Some(0) => 1.0,
                        Some(_) => -1.0,
                        None => continue,
                    }
                }
                _ => continue,
            },
            Found::Slide(c, _) => match model.joints.get(c) {
                Some(Joint::SlideLine(s)) if bolts.slides.contains(s) => {
                    if model.machine.slides.get(*s)?.part == bolts.part {
                        1.0
                    } else {
                        -1.0
                    }
                }
                _ => continue,
            },
            _ => continue,
        };
        let (Some(vector), Some(place)) = (told.vector, told.place) else {
            continue;
        };
        any = true;
        let size = vector[0].hypot(vector[1]);
        // With the friction that makes it greatest.
        let scale = if size > 0.0 {
            sign * (told.most / size).max(1.0)
        } else {
            sign
        };
        let push = vector.map(|v| v * scale);
        force = [force[0] + push[0], force[1] + push[1]];
        let arm = [place[0] - middle[0], place[1] - middle[1]];
        moment += arm[0] * push[1] - arm[1] * push[0] + sign * told.couple.unwrap_or(0.0);
    }
    if !any {
        return None;
    }
    // As the part is drawn.
    let turned = if bolts.part == FRAME {
        0.0
    } else {
        here.poses.get(bolts.part)?.angle - m.drawn.get(bolts.part)?.angle
    };
    let (s, c) = turned.sin_cos();
    let force = [c * force[0] + s * force[1], c * force[1] - s * force[0]];
    Some(match bolts.along {
        None => Acts {
            across: force,
            twist: moment,
            pull: 0.0,
            // The load stands off the seat along the bolts.
            tilt: [-bolts.out * force[1], bolts.out * force[0]],
        },
        Some(along) => {
            let (s, c) = along.sin_cos();
            let off = [bolts.out * c, bolts.out * s];
            Acts {
                across: [c * force[1] - s * force[0], 0.0],
                twist: 0.0,
                pull: (c * force[0] + s * force[1]).max(0.0),
                tilt: [0.0, moment + off[0] * force[1] - off[1] * force[0]],
            }
        }
    })
}
