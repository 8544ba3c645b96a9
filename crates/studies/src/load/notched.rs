//! Where a turned shaft is weakened: steps, grooves and cross holes of its piece, by station.

use super::answers::ShaftLoad;
use super::course::{Course, Turning};
use super::rig::Rig;
use super::service::Peak;
use super::stock::hub_station;
use machine::Machine;
use machine::fitting::Fitted;
use machine::making::{Of, Shape};
use machine::model::PartId;

/// What weakens a shaft at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Weak {
    /// From one diameter to another, mm.
    Step { large: f64, small: f64 },
    /// A groove from this diameter down to that, mm.
    Groove { outside: f64, bottom: f64 },
    /// A hole across, mm.
    Cross { diameter: f64, hole: f64 },
    /// A part that is held on this diameter, mm.
    Hub { diameter: f64, arm: PartId },
    /// A length of this diameter, mm, between these stations: where it is bent and twisted most.
    Neck { diameter: f64, from: f64, to: f64 },
}

impl Weak {
    /// Diameter that is left, mm.
    pub(crate) fn left(self) -> f64 {
        match self {
            Self::Step { small, .. } => small,
            Self::Groove { bottom, .. } => bottom,
            Self::Cross { diameter, .. }
            | Self::Hub { diameter, .. }
            | Self::Neck { diameter, .. } => diameter,
        }
    }
}

/// A weak place of a shaft and what it goes through.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Notched {
    pub(crate) station: f64,
    pub(crate) weak: Weak,
    /// √(M² + ¾ T²) where it is worst, N·mm.
    pub(crate) worst: Peak,
    pub(crate) bending: f64,
    pub(crate) torsion: f64,
    /// Bending as the shaft feels it, and torsion.
    pub(crate) course: (Turning, Course),
}

/// Diameters of a turned shaft between stations, where its piece says where it starts.
fn lengths(machine: &Machine, part: PartId) -> Vec<(f64, f64, f64)> {
    let pieces = machine.work.making.pieces.iter();
    let turned = pieces
        .filter(|p| p.of == Of::Part(part))
        .find_map(|p| match &p.shape {
            Shape::Turned(turned) => Some((turned.starts?, turned)),
            Shape::Plate(_) => None,
        });
    let Some((mut at, turned)) = turned else {
        return Vec::new();
    };
    let spans = turned.steps.iter().map(|step| {
        let from = at;
        at += step.length;
        (from, at, step.diameter.0)
    });
    spans.collect()
}

/// Diameter of a shaft where an arm sits on it, mm; none where its piece does not tell.
pub(crate) fn seat_of(rig: &Rig<'_>, shaft: PartId, arm: PartId) -> Option<f64> {
    let at = hub_station(rig, arm)?;
    let spans = lengths(&rig.model.machine, shaft);
    // On a corner it sits on the thinner.
    let there = spans
        .into_iter()
        .filter(|(from, to, _)| at >= from - 1e-6 && at <= to + 1e-6);
    there.map(|s| s.2).reduce(f64::min)
}

/// Weak places of a shaft whose piece says where it starts.
pub(super) fn notched(rig: &Rig<'_>, part: PartId) -> Vec<Notched> {
    let machine = &rig.model.machine;
    let mut all = Vec::new();
    let pieces = machine.work.making.pieces.iter();
    for piece in pieces.filter(|p| p.of == Of::Part(part)) {
        let Shape::Turned(turned) = &piece.shape else {
            continue;
        };
        let Some(starts) = turned.starts else {
            continue;
        };
        let mut add = |at: f64, weak: Weak| {
            all.push(Notched {
                station: starts + at,
                weak,
                worst: Peak::default(),
                bending: 0.0,
                torsion: 0.0,
                course: (Turning::default(), Course::default()),
            });
        };
        let mut at = 0.0;
        let mut before: Option<f64> = None;
        let mut spans: Vec<(f64, f64, f64)> = Vec::new();
        for step in &turned.steps {
            let diameter = step.diameter.0;
            if let Some(last) = before
                && (last - diameter).abs() > 1e-6
            {
                let (large, small) = (last.max(diameter), last.min(diameter));
                add(at, Weak::Step { large, small });
            }
            spans.push((at, at + step.length, diameter));
            at += step.length;
            before = Some(diameter);
        }
        let around = |at: f64| {
            let span = spans.iter().find(|(from, to, _)| at >= *from && at <= *to);
            span.map(|s| s.2)
        };
        for groove in &turned.grooves {
            let middle = groove.at + 0.5 * groove.width;
            if let Some(outside) = around(middle).filter(|d| *d > groove.diameter) {
                let bottom = groove.diameter;
                add(middle, Weak::Groove { outside, bottom });
            }
        }
        for cross in &turned.cross {
            let hole = match &cross.fitted {
                Fitted::Plain { size, .. } => size.nominal,
                Fitted::Tapped { thread, .. } => thread.major,
                _ => continue,
            };
            if let Some(diameter) = around(cross.at) {
                add(cross.at, Weak::Cross { diameter, hole });
            }
        }
        let widest = spans.iter().fold(0.0_f64, |m, s| m.max(s.2));
        for &(from, to, diameter) in spans.iter().filter(|s| s.2 < widest - 1e-6) {
            let [from, to] = [from, to].map(|at| starts + at);
            add(from - starts, Weak::Neck { diameter, from, to });
        }
        for (arm, p) in machine.parts.iter().enumerate() {
            let held = machine
                .work
                .parts
                .get(arm)
                .is_some_and(|m| m.held_by.is_some());
            if p.clamped_to == Some(part)
                && held
                && let (Some(at), Some(diameter)) = (hub_station(rig, arm), seat_of(rig, part, arm))
            {
                add(at - starts, Weak::Hub { diameter, arm });
            }
        }
    }
    all
}

impl Notched {
    /// Takes in what a shaft carries in one pose; its turn where that comes again.
    pub(super) fn meet(
        &mut self,
        load: &ShaftLoad,
        case: usize,
        drives: &[f64],
        turned: Option<f64>,
    ) {
        let mut found: Vec<([f64; 2], f64)> = Vec::new();
        if let Weak::Neck { from, to, .. } = self.weak {
            let within = load.stations.iter();
            for s in within.filter(|s| s.station >= from - 1e-9 && s.station <= to + 1e-9) {
                found.extend(s.bent.into_iter().zip(s.torsion));
            }
        } else {
            let there = load.stations.iter().filter(|s| s.station == self.station);
            found.extend(there.flat_map(|s| s.bent.into_iter().zip(s.torsion)));
            let before = load.stations.iter().rfind(|s| s.station <= self.station);
            let after = load.stations.iter().find(|s| s.station > self.station);
            if let (Some(before), Some(after)) = (before, after) {
                // Between two places where something presses, bending runs straight and torsion stays.
                let share = (self.station - before.station) / (after.station - before.station);
                let [from, to] = [before.bent[1], after.bent[0]];
                let bent = [0, 1].map(|k| from[k] + share * (to[k] - from[k]));
                found.push((bent, before.torsion[1]));
            }
        }
        for (bent, torsion) in found {
            let bending = bent[0].hypot(bent[1]);
            let together = bending.hypot(0.75_f64.sqrt() * torsion);
            if together > self.worst.value {
                (self.bending, self.torsion) = (bending, torsion.abs());
            }
            self.worst.meet(together, case, drives);
            if let Some(turned) = turned {
                self.course.0.meet(bent, turned);
                self.course.1.meet(torsion);
            }
        }
    }
}
