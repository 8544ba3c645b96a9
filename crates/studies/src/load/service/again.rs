//! What comes again as the part feels it that carries it: bending and torsion of shafts, forces of pins and rods.

use super::super::answers::ShaftLoad;
use super::super::course::{Course, Turning};
use super::super::rig::{Found, Rig, dot};
use super::super::row::Row;
use super::ShaftService;
use crate::run::Here;
use mechanics::model::Constraint;

impl ShaftService {
    /// Takes in what it carries in one pose, turned so.
    pub(super) fn again(&mut self, load: &ShaftLoad, turned: f64) {
        for s in &load.stations {
            let known = self.courses.iter().position(|c| c.0 == s.station);
            let known = known.unwrap_or_else(|| {
                let none = (s.station, Turning::default(), Course::default());
                self.courses.push(none);
                self.courses.len() - 1
            });
            if let Some((_, bent, torsion)) = self.courses.get_mut(known) {
                s.bent.iter().for_each(|b| bent.meet(*b, turned));
                s.torsion.iter().for_each(|t| torsion.meet(*t));
            }
        }
    }

    /// Shares of its greatest bending and torsion that alternate, each where it is greatest.
    pub(crate) fn alternates(&self) -> [f64; 2] {
        let bent = self.courses.iter().map(|c| &c.1);
        let bent = bent.max_by(|a, b| a.greatest().total_cmp(&b.greatest()));
        let torsion = self.courses.iter().map(|c| c.2);
        let torsion = torsion.max_by(|a, b| a.greatest().total_cmp(&b.greatest()));
        [
            bent.map_or(0.5, Turning::alternates),
            torsion.map_or(0.5, Course::alternates),
        ]
    }
}

/// The force of a joint, friction counted, with the turn of what feels it: the part that it acts on, and the one that gives it.
pub(super) fn feels(
    rig: &Rig<'_>,
    joint: usize,
    here: &Here,
    row: &Row,
) -> Option<[([f64; 2], f64); 2]> {
    let force = row.row.joints.get(joint)?;
    let rubs = if force.value.abs() > 0.0 {
        (force.most / force.value.abs()).max(1.0)
    } else {
        1.0
    };
    let m = &rig.mechanism;
    let turned = |body: usize| here.poses.get(body).map_or(0.0, |p| p.angle);
    match *rig.found.get(joint)? {
        Found::Pin(c) => {
            let Constraint::Pin { a, b } = *m.constraints.get(c)? else {
                return None;
            };
            let vector = force.vector?.map(|f| rubs * f);
            Some([b, a].map(|anchor| (vector, turned(m.anchors[anchor].body))))
        }
        Found::Rod(c) => {
            let Constraint::Rod { a, b, .. } = *m.constraints.get(c)? else {
                return None;
            };
            let along = rig.rod_along(c, &rig.params(here), &here.poses);
            Some([a, b].map(|end| {
                let anchor = &m.anchors[end];
                let plane = &m.planes[anchor.plane];
                let seen =
                    [plane.right, plane.up].map(|axis| rubs * force.value * dot(along, axis));
                (seen, turned(anchor.body))
            }))
        }
        _ => None,
    }
}
