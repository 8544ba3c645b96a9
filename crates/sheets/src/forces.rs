//! Forces in joints, to be drawn as arrows.

use quantity::Unit;
use studies::load::answers::{Arrows, JointKind, Loads};

use crate::number::of_force;
use crate::scene::is_place;

/// Forces below this share of the greatest are left out: they would be nothing but heads of arrows.
const NOTHING: f64 = 0.02;

/// A force at a joint.
#[derive(Clone, Debug, PartialEq)]
pub struct Force {
    /// The joint: `pin knee of lever and link`.
    pub joint: String,
    /// The part it acts on.
    pub on: String,
    /// Index of its plane.
    pub plane: usize,
    /// Where it acts, right and up in its plane, mm.
    pub at: [f64; 2],
    /// The force, right and up in its plane, N.
    pub vector: [f64; 2],
    /// What is written at it: `412 N on link`.
    pub words: String,
}

impl Force {
    pub(crate) fn size(&self) -> f64 {
        let size = self.vector[0].hypot(self.vector[1]);
        if size.is_finite() { size } else { 0.0 }
    }

    pub(crate) fn is_drawn(&self, greatest: f64) -> bool {
        self.size() > NOTHING * greatest && is_place(self.at)
    }
}

/// Every force of a pose: in joints, of what acts, of the hand. Moments have no arrow.
pub fn all_forces(found: &Arrows, length: Unit) -> Vec<Force> {
    let one = |arrow: &studies::load::answers::Arrow| {
        let [x, y] = arrow.vector;
        let size = of_force(x.hypot(y), length);
        let acts = arrow.what == "hand" || is_load(&arrow.what);
        Force {
            joint: arrow.what.clone(),
            on: arrow.on.clone(),
            plane: arrow.plane,
            at: arrow.at,
            vector: arrow.vector,
            words: match (arrow.undetermined, acts) {
                (true, _) => format!("not determined, on {}", arrow.on),
                (false, true) => format!("{} {size}", arrow.what),
                (false, false) => format!("{size} on {}", arrow.on),
            },
        }
    };
    found.arrows.iter().map(one).collect()
}

/// Something that acts from outside, and no joint.
fn is_load(what: &str) -> bool {
    ["load ", "spring ", "weight "]
        .iter()
        .any(|word| what.starts_with(word))
}

/// The forces of the first pose of the first case, without friction. What holds drives, and moments, have no arrow.
pub fn forces(loads: &Loads, length: Unit) -> Vec<Force> {
    let row = loads.cases.first().and_then(|case| case.rows.first());
    let joints = row.map_or(&[][..], |row| &row.joints);
    let drawn = loads.joints.iter().zip(joints).filter(|(joint, _)| {
        !joint.is_moment && !matches!(joint.kind, JointKind::Drive | JointKind::Held)
    });
    drawn
        .filter_map(|(joint, force)| {
            let (vector, at) = (force.vector?, force.place?);
            let size = vector[0].hypot(vector[1]);
            Some(Force {
                joint: joint.name.clone(),
                on: joint.on.clone(),
                plane: joint.plane,
                at,
                vector,
                words: if force.undetermined {
                    format!("not determined, on {}", joint.on)
                } else {
                    format!("{} on {}", of_force(size, length), joint.on)
                },
            })
        })
        .collect()
}
