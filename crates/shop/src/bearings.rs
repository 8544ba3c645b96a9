//! Shafts that do not go in through their bearings once the frame stands: what they carry between them is larger than the bore.

use crate::part::{Form, Part, Turned, diameter};
use crate::words;
use machine::Machine;
use machine::making::Of;
use machine::model::{PartId, PartKind};

/// A shaft that has to be in before the second plate closes over it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Early {
    /// The shaft.
    pub(crate) part: PartId,
    /// Largest radius between its ends.
    reach: f64,
    /// Diameter of the bore.
    bore: f64,
}

impl Early {
    /// What stands beside the frame in the order of assembly.
    pub(crate) fn words(&self, machine: &Machine) -> String {
        let name = machine.parts.get(self.part).map_or("", |p| p.name.as_str());
        format!(
            "; one plate first, then {} into it, then the other plate over it (it reaches {} from its axis, the bore is {} across)",
            words::spoken(name),
            words::length(self.reach, machine.unit),
            words::length(self.bore, machine.unit)
        )
    }
}

/// The largest radius that lies between the two end steps.
fn between(t: &Turned) -> f64 {
    let inner = t.steps.len().saturating_sub(1);
    t.steps
        .iter()
        .enumerate()
        .filter(|(n, _)| *n > 0 && *n < inner)
        .map(|(_, s)| s.diameter / 2.0 + s.throw.map_or(0.0, |t| t[0]))
        .fold(0.0, f64::max)
}

/// Shafts that two plates of the frame carry, and that do not go through the bores.
pub(crate) fn early(machine: &Machine, parts: &[Part]) -> Vec<Early> {
    let mut all = Vec::new();
    for (id, part) in machine.parts.iter().enumerate() {
        let (PartKind::Shaft, Some(&centre)) = (part.kind, part.carries.first()) else {
            continue;
        };
        let carried = |of: &Of| matches!(of, Of::Frame(points) if points.contains(&centre));
        let plates: Vec<_> = machine
            .work
            .making
            .pieces
            .iter()
            .filter(|p| carried(&p.of))
            .collect();
        if plates.iter().map(|p| p.count).sum::<usize>() < 2 {
            continue;
        }
        let turned = parts
            .iter()
            .find(|p| p.name == part.name)
            .and_then(|p| match &p.form {
                Form::Turned(t) => Some(t),
                Form::Plate(_) => None,
            });
        let named = machine.points.get(centre).map_or("", |p| p.name.as_str());
        let bore = parts
            .iter()
            .filter(|p| plates.iter().any(|q| q.name == p.name))
            .filter_map(|p| match &p.form {
                Form::Plate(plate) => plate
                    .holes
                    .iter()
                    .find(|h| h.name == named)
                    .map(|h| inside(&h.fitted)),
                Form::Turned(_) => None,
            })
            .reduce(f64::min);
        if let (Some(t), Some(bore)) = (turned, bore) {
            let reach = between(t);
            if reach > bore / 2.0 + 1e-6 {
                all.push(Early {
                    part: id,
                    reach,
                    bore,
                });
            }
        }
    }
    all
}

/// What is left open of a hole when its bushing or bearing is in.
fn inside(fitted: &machine::fitting::Fitted) -> f64 {
    use machine::fitting::Fitted;
    match fitted {
        Fitted::Bushing { bore, .. } => bore.nominal,
        Fitted::Bearing { bearing, .. } => bearing.bore,
        other => diameter(other),
    }
}
